//! What became of many calls.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::time::Duration;

use cpu_time::ThreadTime;
use densepath::Error;

/// Time of a processor that no call may take.
const SLOW: Duration = Duration::from_secs(1);
/// Findings that are written out.
const SHOWN: usize = 50;

/// Counts of a campaign.
#[derive(Default)]
pub struct Tally {
    /// Calls.
    pub calls: u64,
    /// Those that answered.
    pub answered: u64,
    /// Answers that were checked by another way.
    pub checked: u64,
    /// Panics, slow calls, answers that are no numbers, and wrong ones.
    pub findings: usize,
    refused: BTreeMap<i32, u64>,
    longest: Duration,
    /// Where each call is written before it is made, so that one that ends the program is known.
    trace: Option<PathBuf>,
}

impl Tally {
    /// Nothing counted yet.
    pub fn new(trace: Option<PathBuf>) -> Self {
        Self {
            trace,
            ..Self::default()
        }
    }

    /// A call: its answer, if it has one. `what` says how to repeat it.
    pub fn call<T>(
        &mut self,
        what: impl Fn() -> String,
        call: impl FnOnce() -> Result<T, Error>,
    ) -> Option<T> {
        self.calls += 1;
        if let Some(path) = &self.trace {
            // A trace that cannot be written must not end the campaign.
            let _ = std::fs::write(path, what());
        }
        let start = ThreadTime::now();
        let outcome = catch_unwind(AssertUnwindSafe(call));
        let taken = start.elapsed();
        self.longest = self.longest.max(taken);
        if taken > SLOW {
            self.finding(&format!("SLOW {} ms", taken.as_millis()), &what());
        }
        match outcome {
            Ok(Ok(answer)) => {
                self.answered += 1;
                Some(answer)
            }
            Ok(Err(error)) => {
                *self.refused.entry(error.root().code()).or_default() += 1;
                if error.root().code() == 901 || error.to_string().is_empty() {
                    self.finding("INTERNAL", &what());
                }
                None
            }
            Err(_) => {
                self.finding("PANIC", &what());
                None
            }
        }
    }

    /// A call whose answer must be a number.
    pub fn number(
        &mut self,
        what: impl Fn() -> String,
        call: impl FnOnce() -> Result<f64, Error>,
    ) -> Option<f64> {
        let answer = self.call(&what, call)?;
        self.holds(answer.is_finite(), || format!("{answer} of {}", what()));
        Some(answer)
    }

    /// A check of an answer by another way.
    pub fn holds(&mut self, holds: bool, what: impl FnOnce() -> String) {
        self.checked += 1;
        if !holds {
            self.finding("WRONG", &what());
        }
    }

    fn finding(&mut self, kind: &str, what: &str) {
        self.findings += 1;
        if self.findings <= SHOWN {
            println!("{kind}: {what}");
        }
    }
}

impl std::fmt::Display for Tally {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let refused: Vec<String> = self
            .refused
            .iter()
            .map(|(code, count)| format!("{count} by {code}"))
            .collect();
        write!(
            f,
            "{} calls, {} answered, {} checks of answers, {} findings, the longest {:.1} ms; refused {}",
            self.calls,
            self.answered,
            self.checked,
            self.findings,
            self.longest.as_secs_f64() * 1e3,
            refused.join(", ")
        )
    }
}
