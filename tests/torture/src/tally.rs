//! What became of many calls.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::time::Duration;

use cpu_time::ThreadTime;
use densepath::Error;
use serde::Serialize;

/// Time of a processor that no call may take.
const SLOW: Duration = Duration::from_secs(1);
/// Findings that are written out.
const SHOWN: usize = 50;

/// Counts of a campaign, as they are kept in its summary.
#[derive(Default, Serialize)]
pub struct Tally {
    /// Calls.
    pub calls: u64,
    /// Those that answered.
    pub answered: u64,
    /// Answers that were checked by another way, by the identity that must hold.
    pub identities: BTreeMap<&'static str, u64>,
    /// Panics, slow calls, answers that are no numbers, and wrong ones.
    pub findings: usize,
    /// The first of them, each with what repeats it.
    pub told: Vec<String>,
    /// Refusals, by the number of their error.
    pub refused: BTreeMap<i32, u64>,
    /// The call that took most of a processor, and how much, in ms.
    pub slowest: String,
    /// Time of a processor of that call in ms.
    pub slowest_ms: f64,
    #[serde(skip)]
    longest: Duration,
    /// Where each call is written before it is made, so that one that ends the program is known.
    #[serde(skip)]
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
        if taken > self.longest {
            self.longest = taken;
            self.slowest_ms = taken.as_secs_f64() * 1e3;
            self.slowest = what();
        }
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
        self.holds("answers are finite", answer.is_finite(), || {
            format!("{answer} of {}", what())
        });
        Some(answer)
    }

    /// An identity that an answer must keep.
    pub fn holds(&mut self, identity: &'static str, holds: bool, what: impl FnOnce() -> String) {
        *self.identities.entry(identity).or_default() += 1;
        if !holds {
            self.finding(&format!("WRONG ({identity})"), &what());
        }
    }

    /// Something that must not be.
    pub fn finding(&mut self, kind: &str, what: &str) {
        self.findings += 1;
        if self.told.len() < SHOWN {
            println!("{kind}: {what}");
            self.told.push(format!("{kind}: {what}"));
        }
    }
}
