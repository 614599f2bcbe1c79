//! Bad input, hostile documents and extreme states by chance, until a time or a count is reached: `torture PART SECONDS COUNT SEED
//! [TRACE]`, where TRACE is a file that tells the call that is being made.
//!
//! Nothing may panic, take a second of a processor, or answer with what is no number; every answer is checked by another way. Findings are
//! told, each with what repeats it; the last line is the summary as JSON.

#[path = "../../rust/balance.rs"]
mod balance;
mod chance;
mod documents;
mod equilibria;
mod memory;
mod properties;
mod sealed;
mod tables;
mod tally;

use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use serde::Serialize;

use chance::Chance;
use memory::Memory;
use tally::Tally;

/// A part of the campaign: what it does in one round.
type Round = Box<dyn FnMut(&mut Tally, &mut Chance)>;

/// What a part leaves behind.
#[derive(Serialize)]
struct Summary<'a> {
    part: &'a str,
    seed: u64,
    seconds: f64,
    #[serde(flatten)]
    tally: &'a Tally,
    /// Resident memory in MiB at the beginning and after each tenth of the way.
    memory_mib: &'a [f64],
}

fn part(name: &str) -> Option<Round> {
    Some(match name {
        "properties" => properties::rounds(),
        "equilibria" => equilibria::rounds(),
        "documents" => documents::rounds(),
        "tables" => tables::rounds(),
        "soak" => soak(),
        _ => return None,
    })
}

/// All parts in one process, by the shares of the rounds.
fn soak() -> Round {
    let mut parts = [
        (0.8, properties::rounds()),
        (0.99, equilibria::rounds()),
        (0.995, tables::rounds()),
        (1.0, documents::rounds()),
    ];
    Box::new(move |tally, chance| {
        let drawn = chance.share();
        let part = parts.iter_mut().find(|(until, _)| drawn < *until);
        if let Some((_, round)) = part {
            round(tally, chance);
        }
    })
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |index: usize| {
        arguments
            .get(index)
            .and_then(|word| word.parse::<u64>().ok())
    };
    let name = arguments.first().map_or("", String::as_str);
    let (Some(mut round), Some(seconds), Some(count), Some(seed)) =
        (part(name), number(1), number(2), number(3))
    else {
        eprintln!("torture properties|equilibria|documents|tables|soak SECONDS COUNT SEED [TRACE]");
        return ExitCode::FAILURE;
    };
    // A panic is a finding with its place, not a page of text.
    std::panic::set_hook(Box::new(|panic| eprintln!("PANIC {panic}")));
    let (start, whole) = (Instant::now(), Duration::from_secs(seconds));
    let mut tally = Tally::new(arguments.get(4).map(PathBuf::from));
    let (mut chance, mut memory) = (Chance::new(seed), Memory::new());
    loop {
        let by_time = start.elapsed().as_secs_f64() / whole.as_secs_f64().max(1e-9);
        let way = by_time.max(tally.calls as f64 / count.max(1) as f64);
        memory.look(way);
        if way >= 1.0 {
            break;
        }
        round(&mut tally, &mut chance);
    }
    memory.judge(&mut tally);
    let summary = Summary {
        part: name,
        seed,
        seconds: start.elapsed().as_secs_f64(),
        tally: &tally,
        memory_mib: memory.sizes(),
    };
    match serde_json::to_string(&summary) {
        Ok(line) => println!("{line}"),
        Err(error) => eprintln!("the summary cannot be written: {error}"),
    }
    if tally.findings == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
