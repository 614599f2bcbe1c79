//! The project's commands: `cargo xtask <command>`.

mod api;
mod bare;
mod bench;
mod c;
mod campaigns;
mod clang;
mod demo;
mod dependencies;
mod faults;
mod fit;
mod header;
mod install;
mod layers;
mod manual;
mod package;
mod packages;
mod pages;
mod python;
mod reference;
mod sanitize;
mod shell;
mod site;
mod test;
mod torture;
mod wheel;

use shell::Workspace;
use std::process::ExitCode;

/// One command of the list that `cargo xtask` prints.
struct Command {
    name: &'static str,
    arguments: &'static str,
    purpose: &'static str,
    action: fn(&Workspace, &[String]) -> Result<(), String>,
}

const COMMANDS: &[Command] = &[
    Command {
        name: "demo",
        arguments: "",
        purpose: "set up what is missing, solve the example methods, leave tables, figures and reports",
        action: demo::run,
    },
    Command {
        name: "test",
        arguments: "[--only STEP[,STEP]]",
        purpose: "set up what is missing, then run every check and test; `--only` runs some steps",
        action: test::run,
    },
    Command {
        name: "check-layers",
        arguments: "",
        purpose: "check that every module uses only the layers below it",
        action: layers::run,
    },
    Command {
        name: "python",
        arguments: "",
        purpose: "build the Python module and install it in target/venv",
        action: python::run,
    },
    Command {
        name: "wheel",
        arguments: "",
        purpose: "build the wheel and the archive of sources, and install each in an environment of its own",
        action: wheel::run,
    },
    Command {
        name: "c",
        arguments: "",
        purpose: "build the C library in target/c, check what it exports, compile and run its programs",
        action: c::run,
    },
    Command {
        name: "clang",
        arguments: "",
        purpose: "compile the C and C++ programs by clang, which is fetched where the machine has none, and run them",
        action: c::run_with_clang,
    },
    Command {
        name: "sanitize",
        arguments: "",
        purpose: "run the Rust tests with the checks of the compiler for memory, which takes minutes",
        action: sanitize::run,
    },
    Command {
        name: "install",
        arguments: "--prefix FOLDER",
        purpose: "build the C library and lay it in a folder with headers, pkg-config and CMake files",
        action: install::run,
    },
    Command {
        name: "header",
        arguments: "[--check]",
        purpose: "write the C header and the tables behind it, or check that they agree with the library",
        action: header::run,
    },
    Command {
        name: "api",
        arguments: "[--check]",
        purpose: "write the lists of what the crates offer in tests/api, or check that they still hold",
        action: api::run,
    },
    Command {
        name: "package",
        arguments: "",
        purpose: "pack the crates as for a registry, and build them from what was packed",
        action: package::run,
    },
    Command {
        name: "fit",
        arguments: "[pure|pair [NAME...]]",
        purpose: "fit the equations of substances and pairs to the measurements anew",
        action: fit::run,
    },
    Command {
        name: "bench",
        arguments: "",
        purpose: "time the library beside general-purpose ones on one processor; table, CSV and figure in target/bench",
        action: bench::run,
    },
    Command {
        name: "dependencies",
        arguments: "",
        purpose: "check licences, origins and known faults of what is built upon; installs cargo-deny, which takes minutes",
        action: dependencies::run,
    },
    Command {
        name: "torture",
        arguments: "[--minutes N | --campaign] [--seed N] [--only PART[,PART]]",
        purpose: "bad input by chance for Rust, C and Python, guided by coverage where it pays, until the time is up",
        action: torture::run,
    },
    Command {
        name: "campaigns",
        arguments: "",
        purpose: "the tests that the default run leaves out because they take minutes",
        action: campaigns::run,
    },
    Command {
        name: "faults",
        arguments: "[--seed N] [--only N[,N]]",
        purpose: "deliberate faults of the core, drawn by chance, and the tests that catch them; takes an hour",
        action: faults::run,
    },
    Command {
        name: "pages",
        arguments: "",
        purpose: "write the pages on substances and pairs in python/docs",
        action: pages::run,
    },
    Command {
        name: "site",
        arguments: "",
        purpose: "build the documentation as a static site in target/site",
        action: site::run,
    },
];

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let Some((name, rest)) = arguments.split_first() else {
        print_commands();
        return ExitCode::SUCCESS;
    };
    let Some(command) = COMMANDS.iter().find(|command| command.name == name) else {
        eprintln!("unknown command `{name}`");
        print_commands();
        return ExitCode::FAILURE;
    };
    match Workspace::find().and_then(|workspace| (command.action)(&workspace, rest)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}

fn print_commands() {
    println!("Commands of `cargo xtask`:\n");
    for command in COMMANDS {
        println!(
            "  {:<38}{}",
            format!("{} {}", command.name, command.arguments),
            command.purpose
        );
    }
}
