//! Nearness of words, for suggestions in errors.

/// Number of single-letter edits that turn `a` into `b` (Levenshtein distance).
pub fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut diagonal = i;
        let mut left = i + 1;
        for (cell, to) in row.iter_mut().skip(1).zip(&b) {
            let next = (diagonal + usize::from(from != *to))
                .min(*cell + 1)
                .min(left + 1);
            diagonal = std::mem::replace(cell, next);
            left = next;
        }
        if let Some(first) = row.first_mut() {
            *first = i + 1;
        }
    }
    row.last().copied().unwrap_or_default()
}

/// The candidate nearest to `word`, if it is near enough to be a slip.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let limit = (word.chars().count() / 2).max(2);
    candidates
        .into_iter()
        .map(|candidate| {
            (
                distance(&candidate.to_lowercase(), &word.to_lowercase()),
                candidate,
            )
        })
        .filter(|(edits, _)| *edits <= limit)
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_edits() {
        assert_eq!(
            (
                distance("kitten", "sitting"),
                distance("", "abc"),
                distance("abc", "abc")
            ),
            (3, 3, 0)
        );
        assert_eq!(
            nearest("diametre", ["length", "diameter"]),
            Some("diameter")
        );
        assert_eq!(nearest("xyz", ["temperature"]), None);
    }
}
