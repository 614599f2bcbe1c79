//! Nearness of words, for suggestions in errors.

/// The candidate nearest to `word`, if it is near enough to be a slip.
///
/// ```
/// use densepath_fluid::num::text::nearest;
/// assert_eq!(nearest("presure", ["pressure", "temperature"]), Some("pressure"));
/// assert_eq!(nearest("length", ["pressure", "temperature"]), None);
/// ```
#[cfg(feature = "std")]
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let limit = (word.chars().count() / 2).max(2);
    candidates
        .into_iter()
        .map(|candidate| {
            let edits =
                strsim::damerau_levenshtein(&candidate.to_lowercase(), &word.to_lowercase());
            (edits, candidate)
        })
        .filter(|(edits, _)| *edits <= limit)
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, candidate)| candidate)
}

/// Without the standard library no word is suggested.
#[cfg(not(feature = "std"))]
pub fn nearest<'a>(_: &str, _: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn suggests_what_is_like_the_word() {
        assert_eq!(
            nearest("diametre", ["length", "diameter"]),
            Some("diameter")
        );
        assert_eq!(nearest("xyz", ["temperature"]), None);
    }
}
