//! Deliberate faults of the core, drawn by chance from a seed, and the tests that catch them: `faults ROOT TARGET SEED [NUMBER...]`.
//!
//! All faults are written into one copy of the tree, each behind a switch that the environment turns on, so that one build serves them. The
//! result is `tests/faults/faults.csv`; numbers after the seed run these faults alone anew. Faults that change nothing which can be seen
//! stand with the reason in `tests/faults/equal.csv`, told apart by hand.

mod draw;
mod places;
mod run;
mod tree;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use draw::{Drawn, draw, key};
use run::Verdict;

const RESULT: &str = "tests/faults/faults.csv";
const EQUAL: &str = "tests/faults/equal.csv";
const HEAD: &str = "number,region,kind,place,right,wrong,caught by";
/// Builds that may complain of switches that cannot stand where they were drawn.
const BUILDS: u32 = 12;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match work(&arguments) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}

fn work(arguments: &[String]) -> Result<bool, String> {
    let usage = "faults ROOT TARGET SEED [NUMBER...]";
    let [root, target, seed, numbers @ ..] = arguments else {
        return Err(usage.to_owned());
    };
    let (root, target) = (PathBuf::from(root), PathBuf::from(target));
    let seed: u64 = seed.parse().map_err(|_| usage.to_owned())?;
    let wanted: Vec<u32> = numbers
        .iter()
        .map(|word| word.parse().map_err(|_| usage.to_owned()))
        .collect::<Result<_, _>>()?;
    let tree = target.join("tree");
    let drawn = with_switches(&root, &tree, &target, seed)?;
    let tests = run::Tests::list(&tree, &target)?;
    println!(
        "left out, as they fail without a fault: {:?}",
        tests.left_out
    );
    let mut rows = known(&root);
    let mut missed = 0;
    for one in &drawn {
        if wanted.is_empty() || wanted.contains(&one.number) {
            let verdict = tests.run(one.number, &one.file);
            println!(
                "{} {:?} {}: {verdict:?}",
                one.number, one.file, one.place.line
            );
            rows.insert(one.number, row(&root, one, &verdict));
            missed += u32::from(verdict == Verdict::Missed && equal(&root, one).is_none());
            let text: Vec<&str> = rows.values().map(String::as_str).collect();
            let text = format!("{HEAD}\n{}\n", text.join("\n"));
            std::fs::write(root.join(RESULT), text)
                .map_err(|error| format!("{RESULT}: {error}"))?;
        }
    }
    println!("{missed} faults were not caught");
    Ok(missed == 0)
}

/// Draws, and draws others where the compiler refuses a switch, until the copy compiles.
fn with_switches(root: &Path, tree: &Path, target: &Path, seed: u64) -> Result<Vec<Drawn>, String> {
    let mut left_out = Vec::new();
    for _ in 0..BUILDS {
        let drawn = draw(root, seed, &left_out)?;
        tree::write(root, tree, &drawn)?;
        let complaints = run::complaints(tree, target)?;
        let before = left_out.len();
        for (file, line) in &complaints {
            let here = |one: &&Drawn| {
                let lines = one.place.right.matches('\n').count();
                one.file == *file && (one.place.line..=one.place.line + lines).contains(line)
            };
            let guilty: Vec<_> = drawn.iter().filter(here).collect();
            let of_file = drawn
                .iter()
                .filter(|one| one.file == *file && guilty.is_empty());
            left_out.extend(
                guilty
                    .iter()
                    .copied()
                    .chain(of_file)
                    .map(|one| key(&one.file, &one.place)),
            );
        }
        if complaints.is_empty() {
            return Ok(drawn);
        }
        if left_out.len() == before {
            return Err(format!("the copy does not compile: {complaints:?}"));
        }
    }
    Err("no draw compiles".to_owned())
}

/// The rows that are known, by number.
fn known(root: &Path) -> std::collections::BTreeMap<u32, String> {
    let text = std::fs::read_to_string(root.join(RESULT)).unwrap_or_default();
    let rows = text.lines().skip(1).filter_map(|line| {
        let number = line.split(',').next()?.parse().ok()?;
        Some((number, line.to_owned()))
    });
    rows.collect()
}

fn quoted(text: &str) -> String {
    let one_line: Vec<&str> = text.split_whitespace().collect();
    format!("\"{}\"", one_line.join(" ").replace('"', "\"\""))
}

/// The reason for which a fault changes nothing that can be seen, if one was told.
fn equal(root: &Path, one: &Drawn) -> Option<String> {
    let text = std::fs::read_to_string(root.join(EQUAL)).unwrap_or_default();
    let start = format!("{},{},", one.file, quoted(&one.place.wrong));
    let reason = text.lines().find_map(|line| line.strip_prefix(&start));
    reason.map(|reason| reason.trim_matches('"').to_owned())
}

fn row(root: &Path, one: &Drawn, verdict: &Verdict) -> String {
    let caught = match verdict {
        Verdict::Caught(test) => test.clone(),
        Verdict::Missed => equal(root, one).map_or("NOT CAUGHT".to_owned(), |reason| {
            format!("nothing to catch: {reason}")
        }),
    };
    format!(
        "{},{},{},{}:{},{},{},{}",
        one.number,
        quoted(one.region),
        one.place.kind,
        one.file,
        one.place.line,
        quoted(&one.place.right),
        quoted(&one.place.wrong),
        quoted(&caught)
    )
}
