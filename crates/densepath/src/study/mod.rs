//! Questions about a method: what to set for a wanted result, how sure a result is, what differs, where in a plane of two
//! inputs it works. Each solves the method as often as it needs; an input is a value of the document
//! ([`Input`](crate::method::Input)), an output a value of its solution ([`Output`]).

mod compare;
mod find;
mod hold;
mod map;
mod models;
mod output;
#[cfg(test)]
mod tests;
mod uncertainty;

pub use compare::{Difference, compare};
pub use find::{Answer, Found, Question, Unresolved, find};
pub use hold::{Held, hold};
pub use map::{Axis, Map, map};
pub use models::{ModelUncertainties, model_uncertainties};
pub use output::{METHOD, Output, Told, outputs};
pub use uncertainty::{Budget, Contribution, Trials, UncertainInput, budget, trials};

use densepath_fluid::error::{Error, Result};

/// Most solutions that one question asks for: at a millisecond each they take a quarter of an hour, and their results fit into memory.
const MOST_SOLUTIONS: usize = 1_000_000;

/// Error 104 for a question that asks for no countable number of solutions, or for more than [`MOST_SOLUTIONS`].
fn check_solutions(argument: &'static str, count: Option<usize>) -> Result<()> {
    match count {
        Some(count) if count <= MOST_SOLUTIONS => Ok(()),
        _ => Err(Error::Argument {
            argument: argument.to_owned(),
            expected: "for no more than a million solutions",
            got: count.map_or("more than can be counted".to_owned(), |count| {
                count.to_string()
            }),
        }),
    }
}
