//! Questions about a method: what to set for a wanted result, how sure a result is, what differs, where in a plane of two
//! inputs it works. Each solves the method as often as it needs; an input is a value of the document
//! ([`Input`](crate::method::Input)), an output a value of its solution ([`Output`]).

mod compare;
mod find;
mod map;
mod output;
#[cfg(test)]
mod tests;
mod uncertainty;

pub use compare::{Difference, compare};
pub use find::{Answer, Found, Question, Unresolved, find};
pub use map::{Axis, Map, map};
pub use output::{METHOD, Output, Told, outputs};
pub use uncertainty::{Budget, Contribution, Trials, UncertainInput, budget, trials};
