//! `cargo xtask bench`: speed beside general-purpose libraries, in an environment of its own under `target/`.

use crate::c::{self, Linkage};
use crate::python;
use crate::shell::{self, Workspace};
use std::path::Path;

/// The peers, and what draws the figure.
const PEERS: &[&str] = &[
    "CoolProp==8.0.0",
    "feos==0.10.5",
    "si-units==0.11.5",
    "teqp==0.23.2",
    "numpy",
    "pandas",
    "matplotlib",
];
const PROGRAM: &str = "benches/compare.py";
/// The program whose twin in Rust has its name too, and how often both run.
const CALLS: &str = "benches/calls.c";
const TURNS: u32 = 5;
/// Instructions for each point, counted on x86-64 with AVX2 and FMA.
const RECORD: &str = "benches/instructions.csv";
/// The processor that everything runs on.
const PROCESSOR: &str = "0";

/// The command `bench`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`bench` takes no argument".to_owned());
    }
    let folder = workspace.target.join("bench");
    let python = folder.join("venv/bin/python");
    let stamp = workspace.stamp("bench");
    let state = PEERS.join("\n");
    if !(python.exists() && stamp.is(&state)) {
        let mut make = workspace.command(python::environment(workspace)?);
        make.args(["-m", "venv", "--clear"])
            .arg(folder.join("venv"));
        shell::run(&mut make)?;
        let mut pip = workspace.command(&python);
        shell::run(pip.args(["-m", "pip", "install", "--quiet"]).args(PEERS))?;
        stamp.write(&state)?;
    }
    python::install_for(workspace, &python)?;
    shell::run(pinned(workspace, &python).arg(PROGRAM).arg(&folder))?;
    shell::run(&mut workspace.cargo(&["build", "--release", "-p", "densepath-benches", "--bins"]))?;
    calls(workspace, &folder)?;
    count(workspace, &folder)
}

/// What a call through the C library takes longer than the same call of Rust: both programs in turns, of each the quickest.
fn calls(workspace: &Workspace, folder: &Path) -> Result<(), String> {
    let prefix = c::build(workspace)?;
    let through = c::compile(workspace, &prefix, Path::new(CALLS), Linkage::Quick)?;
    let direct = workspace.target.join("release/densepath-calls");
    let mut quickest: Vec<(String, [f64; 2])> = Vec::new();
    for _ in 0..TURNS {
        let [rust, c] = [&direct, &through].map(|program| {
            let mut command = pinned(workspace, program);
            timed(&shell::read(
                command.env("LD_LIBRARY_PATH", prefix.join("lib")),
            )?)
        });
        for ((name, rust), (twin, c)) in rust?.into_iter().zip(c?) {
            if name != twin {
                return Err(format!("`{CALLS}` and its twin part at `{name}`"));
            }
            match quickest.iter_mut().find(|(known, _)| *known == name) {
                Some((_, [least, of_c])) => (*least, *of_c) = (least.min(rust), of_c.min(c)),
                None => quickest.push((name, [rust, c])),
            }
        }
    }
    let mut table = "call,Rust / ns,C / ns,difference / ns\n".to_owned();
    for (name, [rust, c]) in quickest {
        let more = c - rust;
        println!("{name:36} {rust:6.1} ns in Rust, {c:6.1} ns in C: {more:+.1} ns");
        let row = format!("\"{name}\",{rust:.2},{c:.2},{more:.2}\n");
        table.push_str(&row);
    }
    let file = folder.join("calls.csv");
    std::fs::write(&file, table).map_err(|error| format!("{}: {error}", file.display()))
}

/// Names and nanoseconds of lines of a name, nanoseconds and the sum of the answers.
fn timed(text: &str) -> Result<Vec<(String, f64)>, String> {
    let line = |line: &str| -> Option<(String, f64)> {
        let (name, rest) = line.split_once(',')?;
        let (each, _) = rest.split_once(',')?;
        Some((name.to_owned(), each.parse().ok()?))
    };
    let lines = text.lines();
    lines
        .map(|text| line(text).ok_or_else(|| format!("not a time: {text}")))
        .collect()
}

/// Counts the instructions of every kernel for each point, where valgrind is there, beside what is recorded in the repository.
fn count(workspace: &Workspace, folder: &Path) -> Result<(), String> {
    if shell::read(workspace.command("valgrind").arg("--version")).is_err() {
        println!("no valgrind: instructions are not counted");
        return Ok(());
    }
    let recorded = std::fs::read_to_string(workspace.root.join(RECORD)).unwrap_or_default();
    let program = workspace.target.join("release/densepath-count");
    let kernels = shell::read(&mut workspace.command(&program))?;
    let mut table = "kernel,instructions per point\n".to_owned();
    for line in kernels.lines() {
        let (points, name) = line.split_once(' ').ok_or("a kernel without points")?;
        let points: u64 = points.parse().map_err(|_| "points are a number")?;
        let [few, many] = [1, 3].map(|rounds| instructions(workspace, folder, name, rounds));
        let each = (many?.saturating_sub(few?)) / (2 * points);
        let before = recorded.lines().find_map(|line| {
            let number = line.strip_prefix(&format!("\"{name}\","))?;
            number.parse::<u64>().ok()
        });
        let verdict = match before {
            Some(before) if 100 * each > 105 * before => format!("{before} recorded: MORE"),
            Some(before) => format!("{before} recorded"),
            None => "not recorded".to_owned(),
        };
        println!("{name:36} {each:9} instructions per point, {verdict}");
        table.push_str(&["\"", name, "\",", &each.to_string(), "\n"].concat());
    }
    let file = folder.join("instructions.csv");
    std::fs::write(&file, table).map_err(|error| format!("{}: {error}", file.display()))
}

/// Instructions of so many rounds of a kernel.
fn instructions(
    workspace: &Workspace,
    folder: &Path,
    name: &str,
    rounds: u32,
) -> Result<u64, String> {
    let file = folder.join("callgrind.out");
    let mut command = workspace.command("valgrind");
    command
        .env("RAYON_NUM_THREADS", "1")
        .args(["--quiet", "--tool=callgrind"])
        .arg(format!("--callgrind-out-file={}", file.display()))
        .arg(workspace.target.join("release/densepath-count"))
        .args([name, &rounds.to_string()]);
    shell::read(&mut command)?;
    let text =
        std::fs::read_to_string(&file).map_err(|error| format!("{}: {error}", file.display()))?;
    let total = text.lines().find_map(|line| line.strip_prefix("totals: "));
    let total = total.and_then(|total| total.trim().parse().ok());
    total.ok_or_else(|| format!("{}: no total", file.display()))
}

/// A program on one processor, where the system can hold it there.
fn pinned(workspace: &Workspace, program: &Path) -> std::process::Command {
    if shell::read(workspace.command("taskset").arg("--version")).is_err() {
        return workspace.command(program);
    }
    let mut command = workspace.command("taskset");
    command.args(["-c", PROCESSOR]).arg(program);
    command
}
