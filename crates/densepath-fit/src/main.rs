//! The fits behind the data files of substances and pairs: `cargo xtask fit [pure|pair|transport] [NAME...]`.
//!
//! Every fit reads measurements with their sources from `data/`, calls the equations of `densepath-fluid`, and writes the
//! parameters with data, weights, deviations and range to the file that the library reads.

mod pair;
mod pure;
mod transport;

use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let names = arguments.get(1..).unwrap_or_default();
    let outcome = match arguments.first().map(String::as_str) {
        None => pure::run(&[])
            .and_then(|()| pair::run(&[]))
            .and_then(|()| transport::run(&[])),
        Some("pure") => pure::run(names),
        Some("pair") => pair::run(names),
        Some("transport") => transport::run(names),
        Some(other) => Err(format!("unknown fit `{other}`: pure, pair or transport")),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}
