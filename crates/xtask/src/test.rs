//! `cargo xtask test`: every check and test, one named step after the other.

use crate::api;
use crate::bare;
use crate::c;
use crate::header;
use crate::layers;
use crate::package;
use crate::python;
use crate::shell::{self, Workspace};
use crate::wheel;
use std::time::Instant;

/// What a step counted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// Tests, or checks, that passed.
    pub passed: usize,
    /// Those that failed.
    pub failed: usize,
}

impl Tally {
    /// One check that passed.
    pub const ONE: Tally = Tally {
        passed: 1,
        failed: 0,
    };

    /// Counts one check, and says what went wrong with it.
    pub fn count(&mut self, name: &str, result: Result<(), String>) {
        match result {
            Ok(()) => self.passed += 1,
            Err(message) => {
                eprintln!("{name}: {message}");
                self.failed += 1;
            }
        }
    }
}

/// One step, with the name that `--only` takes.
struct Step {
    name: &'static str,
    purpose: &'static str,
    action: fn(&Workspace) -> Result<Tally, String>,
}

const STEPS: &[Step] = &[
    Step {
        name: "format",
        purpose: "the sources are formatted",
        action: |workspace| check(workspace, &["fmt", "--all", "--check"]),
    },
    Step {
        name: "layers",
        purpose: "every module uses only the layers below it",
        action: |workspace| layers::run(workspace, &[]).map(|()| Tally::ONE),
    },
    Step {
        name: "clippy",
        purpose: "no lint in any target",
        action: |workspace| {
            check(
                workspace,
                &[
                    "clippy",
                    "--workspace",
                    "--all-targets",
                    "--",
                    "-D",
                    "warnings",
                ],
            )
        },
    },
    Step {
        name: "rust",
        purpose: "unit, integration and documentation tests of Rust",
        action: rust_tests,
    },
    Step {
        name: "documentation",
        purpose: "the documentation builds without a warning",
        action: documentation,
    },
    Step {
        name: "header",
        purpose: "the C header and the tables behind it follow from the library",
        action: |workspace| header::check(workspace).map(|()| Tally::ONE),
    },
    Step {
        name: "api",
        purpose: "the crates offer what the lists in tests/api say",
        action: api::check,
    },
    Step {
        name: "package",
        purpose: "the crates can be packed",
        action: package::check,
    },
    Step {
        name: "bare",
        purpose: "the crate of fluids needs an allocator, and no standard library",
        action: bare::test,
    },
    Step {
        name: "c",
        purpose: "the C library exports what its header says, and every program in C passes",
        action: c::test,
    },
    Step {
        name: "python",
        purpose: "the Python module builds, and its tests pass",
        action: python::test,
    },
    Step {
        name: "wheel",
        purpose: "the wheel works with numpy alone",
        action: wheel::check,
    },
];

/// Runs the steps asked for, all of them by default, and fails if any of them did.
fn run_steps(workspace: &Workspace, steps: &[&Step]) -> Result<(), String> {
    let mut total = Tally::default();
    let mut failed = Vec::new();
    let begin = Instant::now();
    for (index, step) in steps.iter().enumerate() {
        let place = format!("[{}/{}] {}", index + 1, steps.len(), step.name);
        println!("\n{place}: {}", step.purpose);
        let start = Instant::now();
        let tally = (step.action)(workspace).unwrap_or_else(|message| {
            eprintln!("{message}");
            Tally {
                passed: 0,
                failed: 1,
            }
        });
        let seconds = start.elapsed().as_secs_f64();
        let verdict = if tally.failed == 0 {
            "passed"
        } else {
            "FAILED"
        };
        println!("{place}: {verdict} after {seconds:.1} s");
        if tally.failed > 0 {
            failed.push(step.name);
        }
        total.passed += tally.passed;
        total.failed += tally.failed;
    }
    println!();
    for name in &failed {
        println!("{name} failed; run it alone with: cargo xtask test --only {name}");
    }
    println!(
        "{} passed, {} failed in {:.0} s",
        total.passed,
        total.failed,
        begin.elapsed().as_secs_f64()
    );
    if failed.is_empty() {
        Ok(())
    } else {
        Err(format!("failed: {}", failed.join(", ")))
    }
}

/// The command `test`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    run_steps(workspace, &chosen(arguments)?)
}

fn chosen(arguments: &[String]) -> Result<Vec<&'static Step>, String> {
    let usage = || {
        let names: Vec<_> = STEPS.iter().map(|step| step.name).collect();
        format!("`test` takes `--only` and steps of: {}", names.join(", "))
    };
    match arguments {
        [] => Ok(STEPS.iter().collect()),
        [option, names] if option == "--only" => names
            .split(',')
            .map(|name| {
                let step = STEPS.iter().find(|step| step.name == name);
                step.ok_or_else(|| format!("unknown step `{name}`; {}", usage()))
            })
            .collect(),
        _ => Err(usage()),
    }
}

fn check(workspace: &Workspace, arguments: &[&str]) -> Result<Tally, String> {
    shell::run(&mut workspace.cargo(arguments)).map(|()| Tally::ONE)
}

/// The variable that seeds the random cases of the tests, and its value where the caller gives none: two runs of the same code
/// take the same cases.
const SEED: (&str, &str) = ("PROPTEST_RNG_SEED", "20261125");

fn rust_tests(workspace: &Workspace) -> Result<Tally, String> {
    let mut command = workspace.cargo(&["test", "--workspace", "--no-fail-fast"]);
    if std::env::var_os(SEED.0).is_none() {
        command.env(SEED.0, SEED.1);
    }
    let (success, text) = shell::run_and_read(&mut command)?;
    tally_of("cargo test", success, counted(&text, "test result:"))
}

fn documentation(workspace: &Workspace) -> Result<Tally, String> {
    let mut command = workspace.cargo(&["doc", "--workspace", "--no-deps"]);
    shell::run(command.env("RUSTDOCFLAGS", "-D warnings")).map(|()| Tally::ONE)
}

/// The count of a program that also says by its exit status whether all went well.
pub fn tally_of(program: &str, success: bool, tally: Tally) -> Result<Tally, String> {
    match (success, tally) {
        (true, Tally { passed: 0, .. }) => Err(format!("{program} ran no test")),
        (true, Tally { failed: 0, .. }) => Ok(tally),
        (true, _) => Err(format!("{program} reports success in spite of failures")),
        (false, Tally { failed: 0, .. }) => {
            Err(format!("{program} failed before its tests could run"))
        }
        (false, _) => Ok(tally),
    }
}

/// Sums `N passed` and `N failed` (or `N errors`) over the closing lines that contain `mark`.
pub fn counted(text: &str, mark: &str) -> Tally {
    let mut tally = Tally::default();
    for line in text.lines().filter(|line| line.contains(mark)) {
        let words: Vec<&str> = line
            .split(|c: char| !c.is_alphanumeric())
            .filter(|word| !word.is_empty())
            .collect();
        for pair in words.windows(2) {
            match (pair[0].parse::<usize>(), pair[1]) {
                (Ok(count), "passed") => tally.passed += count,
                (Ok(count), "failed" | "error" | "errors") => tally.failed += count,
                _ => {}
            }
        }
    }
    tally
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closing_lines_are_summed() {
        let text = "test result: ok. 12 passed; 0 failed; 1 ignored; 0 measured; 0 filtered out\n\
                    3 passed somewhere else\n\
                    test result: FAILED. 3 passed; 2 failed; 0 ignored; 0 measured";
        let tally = Tally {
            passed: 15,
            failed: 2,
        };
        assert_eq!(counted(text, "test result:"), tally);
        let text = "===== 2 failed, 7 passed, 1 error in 0.12s =====";
        let tally = Tally {
            passed: 7,
            failed: 3,
        };
        assert_eq!(counted(text, " in "), tally);
    }

    #[test]
    fn a_verdict_needs_tests_and_agreement() {
        let good = Tally {
            passed: 3,
            failed: 0,
        };
        let bad = Tally {
            passed: 3,
            failed: 1,
        };
        assert_eq!(tally_of("x", true, good), Ok(good));
        assert_eq!(tally_of("x", false, bad), Ok(bad));
        assert!(tally_of("x", true, Tally::default()).is_err());
        assert!(tally_of("x", true, bad).is_err());
        assert!(tally_of("x", false, good).is_err());
    }

    #[test]
    fn steps_are_chosen_by_name() {
        let words = |text: &str| -> Vec<String> { text.split(' ').map(str::to_owned).collect() };
        let names = |arguments: &[String]| -> Vec<&str> {
            let steps = chosen(arguments).unwrap();
            steps.iter().map(|step| step.name).collect()
        };
        assert_eq!(names(&[]).len(), STEPS.len());
        assert_eq!(names(&words("--only rust,layers")), ["rust", "layers"]);
        assert!(chosen(&words("--only nothing")).is_err());
        assert!(chosen(&words("rust")).is_err());
    }
}
