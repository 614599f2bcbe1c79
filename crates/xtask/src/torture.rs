//! `cargo xtask torture`: bad input by chance for every interface, until a time is up; findings are repeatable and fail the command.

use std::fmt::Write as _;
use std::path::PathBuf;

use crate::c;
use crate::python;
use crate::reference::Reference;
use crate::shell::{self, Workspace};

const FOLDER: &str = "tests/torture";
/// The parts of the Rust program, with their shares of the time.
const PARTS: [(&str, f64); 4] = [
    ("properties", 0.25),
    ("equilibria", 0.3),
    ("documents", 0.2),
    ("tables", 0.05),
];
/// What is guided by the code that it reaches, with the longest input.
const GUIDED: [(&str, u32); 2] = [("guided_document", 4096), ("guided_table", 8192)];
const SHARE_GUIDED: f64 = 0.04;
const SHARE_PYTHON: f64 = 0.06;
const SHARE_C: f64 = 0.06;
/// What the compiler adds so that libFuzzer sees which parts of the code an input reaches (SanitizerCoverage of LLVM).
const COVERAGE: &str = "-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
     -Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
     -Cllvm-args=-sanitizer-coverage-trace-compares -Ccodegen-units=1";

/// What is asked for.
struct Order {
    minutes: f64,
    seed: u64,
}

/// The command `torture`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    let order = order(arguments)?;
    let mut report = String::new();
    let mut failed = Vec::new();
    let mut note = |name: &str, outcome: Result<(bool, String), String>| match outcome {
        Ok((success, text)) => {
            let last = text.lines().rev().find(|line| !line.trim().is_empty());
            let _ = writeln!(report, "- {}", last.unwrap_or("no figures"));
            if !success {
                failed.push(name.to_owned());
            }
        }
        Err(message) => failed.push(format!("{name}: {message}")),
    };
    for (name, share) in PARTS {
        note(name, by_rust(workspace, &order, name, share));
    }
    note("c", by_c(workspace, &order));
    note("python", by_python(workspace, &order));
    for (name, longest) in GUIDED {
        note(name, guided(workspace, &order, name, longest));
    }
    println!("\n{report}");
    if failed.is_empty() {
        Ok(())
    } else {
        Err(format!("findings in: {}", failed.join(", ")))
    }
}

fn order(arguments: &[String]) -> Result<Order, String> {
    let usage = || "`torture` takes `--minutes N` and `--seed N`".to_owned();
    let mut order = Order {
        minutes: 10.0,
        seed: 20_261_126,
    };
    for pair in arguments.chunks(2) {
        match pair {
            [option, value] if option == "--minutes" => {
                order.minutes = value.parse().map_err(|_| usage())?;
            }
            [option, value] if option == "--seed" => {
                order.seed = value.parse().map_err(|_| usage())?;
            }
            _ => return Err(usage()),
        }
    }
    if order.minutes > 0.0 && order.minutes.is_finite() {
        Ok(order)
    } else {
        Err(usage())
    }
}

impl Order {
    /// Whole seconds of a share of the time, at least one.
    fn seconds(&self, share: f64) -> String {
        format!("{:.0}", (self.minutes * 60.0 * share).max(1.0))
    }
}

fn by_rust(
    workspace: &Workspace,
    order: &Order,
    name: &str,
    share: f64,
) -> Result<(bool, String), String> {
    let mut command = workspace.cargo(&["run", "--quiet", "--release", "-p", "densepath-torture"]);
    command
        .args(["--bin", "torture", "--", name])
        .arg(order.seconds(share))
        .arg(u64::MAX.to_string())
        .arg(order.seed.to_string());
    shell::run_and_read(&mut command)
}

fn by_c(workspace: &Workspace, order: &Order) -> Result<(bool, String), String> {
    let prefix = c::build(workspace)?;
    Reference::write(&prefix.join("programs"), &workspace.root)?;
    let source = PathBuf::from(FOLDER).join("adversary.c");
    let program = c::compile(workspace, &prefix, &source, c::Linkage::Checked)?;
    let mut command = workspace.command(program);
    command
        .arg(order.seconds(SHARE_C))
        .arg(order.seed.to_string())
        .env("LD_LIBRARY_PATH", prefix.join("lib"));
    shell::run_and_read(&mut command)
}

fn by_python(workspace: &Workspace, order: &Order) -> Result<(bool, String), String> {
    let python = python::install(workspace)?;
    let mut command = workspace.command(python);
    command
        .arg(format!("{FOLDER}/adversary.py"))
        .arg(order.seconds(SHARE_PYTHON))
        .arg(order.seed.to_string());
    shell::run_and_read(&mut command)
}

/// Inputs guided by libFuzzer, which keeps what reaches new code, and writes what breaks to `target/torture`.
fn guided(
    workspace: &Workspace,
    order: &Order,
    name: &str,
    longest: u32,
) -> Result<(bool, String), String> {
    let folder = workspace.target.join("torture").join(name);
    std::fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let host = host(workspace)?;
    let mut build = workspace.cargo(&["build", "--quiet", "--release", "-p", "densepath-torture"]);
    // A named target keeps the flags away from build scripts, and the results away from those of other commands.
    build
        .args(["--features", "guided", "--bin", name, "--target", &host])
        .env("RUSTFLAGS", COVERAGE);
    shell::run(&mut build)?;
    let program = workspace.target.join(host).join("release").join(name);
    let mut command = workspace.command(program);
    command
        .arg(&folder)
        .arg(workspace.root.join("tests/methods"))
        .arg(format!("-max_total_time={}", order.seconds(SHARE_GUIDED)))
        .arg(format!("-max_len={longest}"))
        .arg(format!("-seed={}", order.seed % u64::from(u32::MAX)))
        .arg("-timeout=10")
        .arg("-print_final_stats=1")
        .arg(format!("-artifact_prefix={}/", folder.display()))
        .stderr(std::process::Stdio::piped());
    println!("$ {name} for {} s", order.seconds(SHARE_GUIDED));
    let output = command
        .output()
        .map_err(|error| format!("{name}: {error}"))?;
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    if !output.status.success() {
        eprintln!("{told}");
    }
    Ok((
        output.status.success(),
        format!("{name}: {}", figures(&told)),
    ))
}

/// The target that the compiler makes programs for by itself.
fn host(workspace: &Workspace) -> Result<String, String> {
    let told = shell::read(workspace.command("rustc").arg("-vV"))?;
    let host = told.lines().find_map(|line| line.strip_prefix("host: "));
    host.map(str::to_owned)
        .ok_or_else(|| "rustc does not tell its host".to_owned())
}

/// Runs and coverage out of what libFuzzer tells at its end.
fn figures(told: &str) -> String {
    let runs = told
        .lines()
        .find_map(|line| line.strip_prefix("stat::number_of_executed_units:"))
        .map_or("?", str::trim);
    let reached = told
        .lines()
        .rev()
        .find_map(|line| line.split_once("cov: ")?.1.split_whitespace().next())
        .unwrap_or("?");
    format!("{runs} inputs, {reached} edges of the code reached")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn orders_are_read() {
        let words = |text: &str| -> Vec<String> { text.split(' ').map(str::to_owned).collect() };
        let read = order(&words("--minutes 0.5 --seed 7")).unwrap();
        assert_eq!((read.minutes, read.seed), (0.5, 7));
        assert_eq!(read.seconds(0.5), "15");
        for wrong in ["--minutes", "--minutes x", "--minutes -1", "--hours 1"] {
            assert!(order(&words(wrong)).is_err());
        }
    }

    #[test]
    fn figures_are_found() {
        let told = "#9\tNEW    cov: 12 ft: 3\n#20\tDONE   cov: 34 ft: 5\nstat::number_of_executed_units: 20\n";
        assert_eq!(figures(told), "20 inputs, 34 edges of the code reached");
    }
}
