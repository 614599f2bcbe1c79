//! Bad input, hostile documents and extreme states by chance, until a time or a count is reached: `torture PART SECONDS COUNT SEED
//! [TRACE]`, where TRACE is a file that tells the call that is being made.
//!
//! Nothing may panic, take a second of a processor, or answer with what is no number; what is answered is checked by another way. The end is
//! a line of figures; findings go before it, each with what repeats it.

mod chance;
mod documents;
mod equilibria;
mod properties;
mod sealed;
mod tables;
mod tally;

use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use chance::Chance;
use tally::Tally;

/// A part of the campaign: what it does in one round.
type Round = Box<dyn FnMut(&mut Tally, &mut Chance)>;

fn part(name: &str) -> Option<Round> {
    Some(match name {
        "properties" => properties::rounds(),
        "equilibria" => equilibria::rounds(),
        "documents" => documents::rounds(),
        "tables" => tables::rounds(),
        _ => return None,
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
        eprintln!("torture properties|equilibria|documents|tables SECONDS COUNT SEED [TRACE]");
        return ExitCode::FAILURE;
    };
    // A panic is a finding with its place, not a page of text.
    std::panic::set_hook(Box::new(|panic| eprintln!("PANIC {panic}")));
    let end = Instant::now() + Duration::from_secs(seconds);
    let (mut tally, mut chance) = (
        Tally::new(arguments.get(4).map(PathBuf::from)),
        Chance::new(seed),
    );
    while Instant::now() < end && tally.calls < count {
        round(&mut tally, &mut chance);
    }
    println!("{name}: {tally}");
    if tally.findings == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}
