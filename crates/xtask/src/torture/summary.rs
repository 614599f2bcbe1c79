//! What a campaign leaves in the repository: `tests/torture/summary.json`, and a page written from it.

use std::fmt::Write as _;

use serde_json::{Map, Value, json};

use crate::shell::{self, Workspace};

const RECORDS: &str = "tests/torture/summary.json";
const PAGE: &str = "tests/torture/summary.md";
/// What stands over the rows.
pub const HEAD: &str = "| part | seed | s | calls | answered | checks of answers | findings | slowest, ms of a processor | memory, MiB |\n\
                        |---|---|---|---|---|---|---|---|---|\n";

/// Where and of what a part ran: the commit, whether files differ from it, and the machine.
pub fn place(workspace: &Workspace) -> Result<Value, String> {
    let git = |arguments: &[&str]| shell::read(workspace.command("git").args(arguments));
    let changed = git(&[
        "status",
        "--porcelain",
        "--",
        ".",
        ":!tests/torture/summary.*",
    ])?;
    let compiler = shell::read(workspace.command("rustc").arg("-V"))?;
    let processors = std::thread::available_parallelism().map_or(1, usize::from);
    Ok(json!({
        "commit": git(&["rev-parse", "--short=12", "HEAD"])?.trim(),
        "committed": git(&["show", "-s", "--format=%cI", "HEAD"])?.trim(),
        "changed_files": changed.lines().count(),
        "machine": format!(
            "{} {}, {processors} processors, {}",
            std::env::consts::OS,
            std::env::consts::ARCH,
            compiler.trim()
        ),
    }))
}

/// Keeps the record of a part beside those of the others, and writes the page anew.
pub fn keep(workspace: &Workspace, part: &str, record: &Value, place: Value) -> Result<(), String> {
    let failure = |error: &dyn std::fmt::Display| format!("{RECORDS}: {error}");
    let path = workspace.root.join(RECORDS);
    let mut records: Map<String, Value> = match std::fs::read_to_string(&path) {
        Ok(text) => serde_json::from_str(&text).map_err(|error| failure(&error))?,
        Err(_) => Map::new(),
    };
    let mut record = record.clone();
    record["place"] = place;
    records.insert(part.to_owned(), record);
    let text = serde_json::to_string_pretty(&records).map_err(|error| failure(&error))?;
    std::fs::write(&path, text + "\n").map_err(|error| failure(&error))?;
    std::fs::write(workspace.root.join(PAGE), page(&records)).map_err(|error| failure(&error))
}

/// One row of figures; a dash where a part has none.
pub fn row(part: &str, record: &Value) -> String {
    let count = |name: &str| {
        record[name]
            .as_u64()
            .map_or("-".to_owned(), |count| count.to_string())
    };
    let figure = |value: &Value| {
        value
            .as_f64()
            .map_or("-".to_owned(), |value| format!("{value:.0}"))
    };
    let checks = record["identities"]
        .as_object()
        .map_or("-".to_owned(), |identities| {
            let sum: u64 = identities.values().filter_map(Value::as_u64).sum();
            sum.to_string()
        });
    let sizes = record["memory_mib"]
        .as_array()
        .map_or(&[][..], Vec::as_slice);
    let places = match sizes {
        [] => Vec::new(),
        [only] => vec![only],
        [first, .., last] => vec![first, &sizes[sizes.len() / 2], last],
    };
    let memory: Vec<String> = places.into_iter().map(figure).collect();
    format!(
        "| {part} | {} | {} | {} | {} | {checks} | {} | {} | {} |\n",
        count("seed"),
        figure(&record["seconds"]),
        count("calls"),
        count("answered"),
        count("findings"),
        figure(&record["slowest_ms"]),
        if memory.is_empty() {
            "-".to_owned()
        } else {
            memory.join(", ")
        },
    )
}

fn page(records: &Map<String, Value>) -> String {
    let mut page = "# Campaign of bad input\n\nWritten by `cargo xtask torture --campaign` from what it counted (`summary.json`). Memory is that at \
                    the beginning, in the middle and at the end.\n\n"
        .to_owned();
    page.push_str(HEAD);
    for (part, record) in records {
        page.push_str(&row(part, record));
    }
    for (part, record) in records {
        let place = &record["place"];
        let word = |value: &Value| value.as_str().unwrap_or("-").to_owned();
        let _ = writeln!(
            page,
            "\n## {part}\n\nCommit {} of {}, {} files changed; {}.\n",
            word(&place["commit"]),
            word(&place["committed"]),
            place["changed_files"],
            word(&place["machine"]),
        );
        for (title, key) in [("Checks of answers", "identities"), ("Refused", "refused")] {
            if let Some(counts) = record[key].as_object().filter(|counts| !counts.is_empty()) {
                let counts: Vec<String> = counts
                    .iter()
                    .map(|(name, count)| format!("{name}: {count}"))
                    .collect();
                let _ = writeln!(page, "- {title}: {}", counts.join("; "));
            }
        }
        for bound in record["bounds"].as_array().into_iter().flatten() {
            let _ = writeln!(page, "- {}", word(bound));
        }
        for (call, found) in record["control"].as_object().into_iter().flatten() {
            let (ways, blocks) = (&found["ways"], &found["blocks"]);
            let _ = writeln!(
                page,
                "- {call}: ways through the code: {ways}; blocks in one: {blocks} at most"
            );
        }
        if let Some(edges) = record["edges"].as_u64() {
            let _ = writeln!(page, "- Edges of the code reached: {edges}");
        }
        // A document is told by its first line.
        if let Some(slowest) = record["slowest"]
            .as_str()
            .and_then(|call| call.lines().next())
        {
            let _ = writeln!(page, "- Slowest: {slowest}");
        }
        for finding in record["told"].as_array().into_iter().flatten() {
            let _ = writeln!(
                page,
                "- Finding: {}",
                word(finding).lines().next().unwrap_or_default()
            );
        }
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_tell_what_was_counted() {
        let record = json!({
            "seed": 7, "seconds": 1.6, "calls": 20, "answered": 5, "findings": 1, "slowest_ms": 12.4,
            "identities": {"a": 3, "b": 4}, "memory_mib": [1.0, 2.0, 3.0, 4.0, 5.0],
        });
        assert_eq!(
            row("any", &record),
            "| any | 7 | 2 | 20 | 5 | 7 | 1 | 12 | 1, 3, 5 |\n"
        );
        assert_eq!(
            row("none", &json!({})),
            "| none | - | - | - | - | - | - | - | - |\n"
        );
        let mut records = Map::new();
        records.insert("any".to_owned(), record);
        assert!(page(&records).contains("- Checks of answers: a: 3; b: 4\n"));
    }
}
