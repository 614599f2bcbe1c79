//! The project's commands: `cargo xtask <command>`.

fn main() {}
