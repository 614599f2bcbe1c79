//! `cargo xtask torture`: bad input by chance for every interface, until a time is up; findings are repeatable and fail the command. With
//! `--campaign`, as much as the committed summary tells of, which it then writes.

mod control;
mod entries;
mod summary;

use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use crate::c;
use crate::python;
use crate::shell::{self, Workspace};

const FOLDER: &str = "tests/torture";
/// What is guided by the code that it reaches, with the longest input.
const GUIDED: [(&str, u32); 3] = [
    ("guided_document", 4096),
    ("guided_table", 8192),
    (GUIDED_ENTRIES, 1024),
];
/// The entries of the C interface, a program in C.
const GUIDED_ENTRIES: &str = "guided_entries";
/// What the compiler adds so that libFuzzer sees which parts of the code an input reaches (SanitizerCoverage of LLVM).
const COVERAGE: &str = "-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
     -Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
     -Cllvm-args=-sanitizer-coverage-trace-compares -Ccodegen-units=1";

/// A part: what it tries, its share of the time, and how far it goes in a campaign.
struct Part {
    name: &'static str,
    share: f64,
    whole: Whole,
}

/// How far a part goes in a campaign: to a count of calls, or for seconds.
#[derive(Clone, Copy)]
enum Whole {
    Calls(u64),
    Seconds(u64),
}

const fn part(name: &'static str, share: f64, whole: Whole) -> Part {
    Part { name, share, whole }
}

const PARTS: [Part; 11] = [
    part("properties", 0.16, Whole::Calls(50_000_000)),
    part("equilibria", 0.25, Whole::Calls(5_000_000)),
    part("documents", 0.2, Whole::Calls(200_000)),
    part("tables", 0.05, Whole::Calls(1_000_000)),
    part("soak", 0.1, Whole::Seconds(3600)),
    part("control", 0.02, Whole::Calls(100_000_000)),
    part("c", 0.04, Whole::Seconds(600)),
    part("python", 0.06, Whole::Seconds(600)),
    part("guided_document", 0.04, Whole::Seconds(300)),
    part("guided_table", 0.04, Whole::Seconds(300)),
    part(GUIDED_ENTRIES, 0.04, Whole::Seconds(600)),
];
/// Seconds after which a part that goes to a count is given up: a day.
const GIVEN_UP: u64 = 86_400;

/// What is asked for.
struct Order {
    minutes: f64,
    seed: u64,
    /// The parts; all if none is named.
    only: Vec<String>,
    campaign: bool,
}

/// How far a part goes.
struct Limits {
    seconds: String,
    calls: String,
    seed: u64,
}

/// The command `torture`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    let order = order(arguments)?;
    let wanted =
        |part: &&Part| order.only.is_empty() || order.only.iter().any(|name| name == part.name);
    let mut failed = Vec::new();
    let mut report = String::new();
    for part in PARTS.iter().filter(wanted) {
        match try_part(workspace, &order, part) {
            Ok((success, record)) => {
                report.push_str(&summary::row(part.name, &record));
                if !success {
                    failed.push(part.name.to_owned());
                }
            }
            Err(message) => failed.push(format!("{}: {message}", part.name)),
        }
    }
    println!("\n{}{report}", summary::HEAD);
    if failed.is_empty() {
        Ok(())
    } else {
        Err(format!("findings in: {}", failed.join(", ")))
    }
}

/// Runs a part, and keeps its record if it belongs to a campaign.
fn try_part(workspace: &Workspace, order: &Order, part: &Part) -> Result<(bool, Value), String> {
    let limits = order.limits(part);
    // What is recorded is the commit that the part began with.
    let place = summary::place(workspace)?;
    let (success, text) = match part.name {
        "control" => control::run(workspace, &limits)?,
        "c" => by_c(workspace, &limits)?,
        "python" => by_python(workspace, &limits)?,
        name => match GUIDED.iter().find(|(guided, _)| *guided == name) {
            Some((name, longest)) => guided(workspace, &limits, name, *longest)?,
            None => by_rust(workspace, &limits, name)?,
        },
    };
    let last = text.lines().rev().find(|line| !line.trim().is_empty());
    let mut record: Value = serde_json::from_str(last.unwrap_or_default())
        .map_err(|error| format!("no figures ({error})"))?;
    if record["told"].is_null() {
        let found = text.lines().filter(|line| line.starts_with("FOUND"));
        record["told"] = found.collect();
    }
    if order.campaign {
        summary::keep(workspace, part.name, &record, place)?;
    }
    Ok((success, record))
}

fn order(arguments: &[String]) -> Result<Order, String> {
    let usage = || {
        let names: Vec<&str> = PARTS.iter().map(|part| part.name).collect();
        format!(
            "`torture` takes `--minutes N` or `--campaign`, `--seed N`, and `--only PART,...` of {}",
            names.join(", ")
        )
    };
    let mut order = Order {
        minutes: 10.0,
        seed: 20_261_126,
        only: Vec::new(),
        campaign: false,
    };
    let mut words = arguments.iter();
    while let Some(option) = words.next() {
        if option == "--campaign" {
            order.campaign = true;
            continue;
        }
        let value = words.next().ok_or_else(usage)?;
        match option.as_str() {
            "--minutes" => order.minutes = value.parse().map_err(|_| usage())?,
            "--seed" => order.seed = value.parse().map_err(|_| usage())?,
            "--only" => order.only = value.split(',').map(str::to_owned).collect(),
            _ => return Err(usage()),
        }
    }
    let known = |name: &String| PARTS.iter().any(|part| part.name == name);
    if order.minutes > 0.0 && order.minutes.is_finite() && order.only.iter().all(known) {
        Ok(order)
    } else {
        Err(usage())
    }
}

impl Order {
    /// How far a part goes: in a campaign to its whole, else for its share of the time, at least a second.
    fn limits(&self, part: &Part) -> Limits {
        let (seconds, calls) = match part.whole {
            _ if !self.campaign => {
                let seconds = format!("{:.0}", (self.minutes * 60.0 * part.share).max(1.0));
                (seconds, u64::MAX)
            }
            Whole::Calls(calls) => (GIVEN_UP.to_string(), calls),
            Whole::Seconds(seconds) => (seconds.to_string(), u64::MAX),
        };
        Limits {
            seconds,
            calls: calls.to_string(),
            seed: self.seed,
        }
    }
}

fn by_rust(workspace: &Workspace, limits: &Limits, name: &str) -> Result<(bool, String), String> {
    let mut command = workspace.cargo(&["run", "--quiet", "--release", "-p", "densepath-torture"]);
    command
        .args(["--bin", "torture", "--", name])
        .arg(&limits.seconds)
        .arg(&limits.calls)
        .arg(limits.seed.to_string());
    shell::run_and_read(&mut command)
}

fn by_c(workspace: &Workspace, limits: &Limits) -> Result<(bool, String), String> {
    let prefix = c::build(workspace)?;
    write_entries(workspace, &prefix)?;
    let program = c::compile(workspace, &prefix, &adversary(), c::Linkage::Checked)?;
    let mut command = workspace.command(program);
    command
        .arg(&limits.seconds)
        .arg(limits.seed.to_string())
        .env("LD_LIBRARY_PATH", prefix.join("lib"));
    shell::run_and_read(&mut command)
}

fn adversary() -> PathBuf {
    PathBuf::from(FOLDER).join("adversary.c")
}

/// Writes the calls of all entries to where the programs look for headers.
fn write_entries(workspace: &Workspace, prefix: &Path) -> Result<(), String> {
    let folder = prefix.join("programs");
    let failure = |path: &Path, error: std::io::Error| format!("{}: {error}", path.display());
    std::fs::create_dir_all(&folder).map_err(|error| failure(&folder, error))?;
    let header = workspace.root.join("bindings/c/include/densepath.h");
    let text = std::fs::read_to_string(&header).map_err(|error| failure(&header, error))?;
    let made = entries::write(&text, &workspace.root.join("tests/methods/packed.toml"))?;
    let path = folder.join("entries.h");
    std::fs::write(&path, made).map_err(|error| failure(&path, error))
}

fn by_python(workspace: &Workspace, limits: &Limits) -> Result<(bool, String), String> {
    let python = python::install(workspace)?;
    let mut command = workspace.command(python);
    command
        .arg(format!("{FOLDER}/adversary.py"))
        .arg(&limits.seconds)
        .arg(limits.seed.to_string());
    shell::run_and_read(&mut command)
}

/// Inputs guided by libFuzzer, which keeps what reaches new code, and writes what breaks to `target/torture`.
fn guided(
    workspace: &Workspace,
    limits: &Limits,
    name: &str,
    longest: u32,
) -> Result<(bool, String), String> {
    let folder = workspace.target.join("torture").join(name);
    std::fs::create_dir_all(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let program = if name == GUIDED_ENTRIES {
        guided_entries(workspace)?
    } else {
        guided_by_rust(workspace, name)?
    };
    let mut command = workspace.command(program);
    command
        .arg(&folder)
        .arg(workspace.root.join("tests/methods"))
        .arg(format!("-max_total_time={}", limits.seconds))
        .arg(format!("-max_len={longest}"))
        .arg(format!("-seed={}", limits.seed % u64::from(u32::MAX)))
        .arg("-timeout=10")
        .arg("-print_final_stats=1")
        .arg(format!("-artifact_prefix={}/", folder.display()))
        .stderr(std::process::Stdio::piped());
    println!("$ {name} for {} s", limits.seconds);
    let output = command
        .output()
        .map_err(|error| format!("{name}: {error}"))?;
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    if !output.status.success() {
        eprintln!("{told}");
    }
    let success = output.status.success();
    let mut record = figures(&told);
    record["part"] = json!(name);
    record["seed"] = json!(limits.seed);
    record["seconds"] = json!(limits.seconds.parse::<f64>().unwrap_or(f64::NAN));
    record["findings"] = json!(u8::from(!success));
    Ok((success, record.to_string()))
}

/// Builds a package whose code counts what it reaches; returns the folder of the results.
fn counted(workspace: &Workspace, arguments: &[&str]) -> Result<PathBuf, String> {
    let host = host(workspace)?;
    // A named target keeps the flags away from build scripts, and the results away from those of other commands.
    let mut build = workspace.cargo(&["build", "--quiet", "--release", "--target", &host]);
    build.args(arguments).env("RUSTFLAGS", COVERAGE);
    shell::run(&mut build)?;
    Ok(workspace.target.join(host).join("release"))
}

/// A program in Rust with libFuzzer in it.
fn guided_by_rust(workspace: &Workspace, name: &str) -> Result<PathBuf, String> {
    let arguments = [
        "-p",
        "densepath-torture",
        "--features",
        "guided",
        "--bin",
        name,
    ];
    Ok(counted(workspace, &arguments)?.join(name))
}

/// The program in C with libFuzzer, which was built for those in Rust, and the static library.
fn guided_entries(workspace: &Workspace) -> Result<PathBuf, String> {
    let [(document, _), ..] = GUIDED;
    let built = guided_by_rust(workspace, document)?;
    let release = built.parent().unwrap_or(&built);
    let fuzzer = newest_fuzzer(&release.join("build"))?;
    let library = counted(workspace, &["-p", "densepath-c"])?.join("libdensepath.a");
    let folder = workspace.target.join("torture");
    let prefix = folder.join("entries");
    write_entries(workspace, &prefix)?;
    let (object, program) = (prefix.join("entries.o"), prefix.join(GUIDED_ENTRIES));
    let mut compile = workspace.command("gcc");
    compile
        .args(["-std=c99", "-g", "-O1", "-DGUIDED", "-c", "-I"])
        .arg(workspace.root.join("bindings/c/include"))
        .arg("-I")
        .arg(prefix.join("programs"))
        .arg(adversary())
        .arg("-o")
        .arg(&object);
    shell::run(&mut compile)?;
    let mut link = workspace.command("g++");
    link.arg(&object)
        .arg(fuzzer)
        .arg(library)
        .args(["-lpthread", "-ldl", "-lm", "-o"])
        .arg(&program);
    shell::run(&mut link)?;
    Ok(program)
}

/// The library of libFuzzer that was built last.
fn newest_fuzzer(builds: &Path) -> Result<PathBuf, String> {
    let folders =
        std::fs::read_dir(builds).map_err(|error| format!("{}: {error}", builds.display()))?;
    let libraries = folders
        .flatten()
        .map(|folder| folder.path().join("out/libfuzzer.a"));
    libraries
        .filter(|path| path.exists())
        .max_by_key(|path| path.metadata().and_then(|data| data.modified()).ok())
        .ok_or_else(|| format!("no libfuzzer.a in {}", builds.display()))
}

/// The target that the compiler makes programs for by itself.
fn host(workspace: &Workspace) -> Result<String, String> {
    let told = shell::read(workspace.command("rustc").arg("-vV"))?;
    let host = told.lines().find_map(|line| line.strip_prefix("host: "));
    host.map(str::to_owned)
        .ok_or_else(|| "rustc does not tell its host".to_owned())
}

/// Inputs, coverage and memory out of what libFuzzer tells at its end; what it does not tell is missing.
fn figures(told: &str) -> Value {
    let statistic = |name: &str| -> Option<u64> {
        let mut lines = told.lines();
        lines.find_map(|line| line.strip_prefix(name)?.trim().parse().ok())
    };
    let reached = told
        .lines()
        .rev()
        .find_map(|line| line.split_once("cov: ")?.1.split_whitespace().next())
        .and_then(|edges| edges.parse::<u64>().ok());
    json!({
        "calls": statistic("stat::number_of_executed_units:"),
        "edges": reached,
        "memory_mib": [statistic("stat::peak_rss_mb:")],
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn orders_are_read() {
        let words = |text: &str| -> Vec<String> { text.split(' ').map(str::to_owned).collect() };
        let read = order(&words("--minutes 0.5 --seed 7")).unwrap();
        assert_eq!((read.minutes, read.seed), (0.5, 7));
        assert_eq!(
            read.limits(&part("any", 0.5, Whole::Calls(3))).seconds,
            "15"
        );
        let read = order(&words("--campaign --only c,soak")).unwrap();
        assert_eq!(read.only, ["c", "soak"]);
        assert_eq!(read.limits(&part("any", 0.5, Whole::Calls(3))).calls, "3");
        for wrong in [
            "--minutes",
            "--minutes x",
            "--minutes -1",
            "--hours 1",
            "--only d",
        ] {
            assert!(order(&words(wrong)).is_err());
        }
    }

    #[test]
    fn figures_are_found() {
        let told = "#9\tNEW    cov: 12 ft: 3\n#20\tDONE   cov: 34 ft: 5\nstat::number_of_executed_units: 20\n\
            stat::peak_rss_mb:              61\n";
        let found = json!({"calls": 20, "edges": 34, "memory_mib": [61]});
        assert_eq!(figures(told), found);
        assert_eq!(figures("")["calls"], Value::Null);
    }
}
