//! `cargo xtask faults`: deliberate faults of the core, drawn by chance, and the tests that catch them (`tests/faults`).

use crate::shell::{self, Workspace};

const USAGE: &str = "`faults` takes `--seed N` and `--only N[,N...]`";
/// The seed of the draw whose results are kept.
const SEED: &str = "20261126";

/// The command `faults`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    let (mut seed, mut only) = (SEED.to_owned(), String::new());
    for pair in arguments.chunks(2) {
        match pair {
            [option, value] if option == "--seed" => seed.clone_from(value),
            [option, value] if option == "--only" => only.clone_from(value),
            _ => return Err(USAGE.to_owned()),
        }
    }
    let mut command = workspace.cargo(&["run", "--quiet", "-p", "densepath-faults", "--"]);
    command
        .arg(&workspace.root)
        .arg(workspace.target.join("faults"))
        .arg(seed)
        .args(only.split(',').filter(|number| !number.is_empty()));
    shell::run(&mut command)
}
