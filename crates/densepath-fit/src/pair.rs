//! Equations of pairs of substances.

/// Fits the pairs named, or all.
pub fn run(names: &[String]) -> Result<(), String> {
    Err(format!("no fit of a pair is known: {names:?}"))
}
