//! Equations of pure substances.

/// Fits the substances named, or all.
pub fn run(names: &[String]) -> Result<(), String> {
    Err(format!("no fit of a substance is known: {names:?}"))
}
