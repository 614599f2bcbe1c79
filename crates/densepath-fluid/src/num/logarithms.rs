//! Natural logarithms of several numbers side by side.

use super::lanes::{Kind, Task, run};
use super::number::Number;

struct Logarithms<const N: usize>([f64; N]);

impl<const N: usize> Task for Logarithms<N> {
    type Output = [f64; N];

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> [f64; N] {
        let mut found = [0.0; N];
        for (values, found) in self.0.chunks(K::LANES).zip(found.chunks_mut(K::LANES)) {
            kind.store(kind.load(values).ln(), found);
        }
        found
    }
}

/// Natural logarithms of normal positive numbers, to the last bits.
///
/// ```
/// use densepath_fluid::num::logarithms::logarithms;
/// let found = logarithms([0.5, 1.0, 1e-7, 3e8, 2.0]);
/// assert!(found[1] == 0.0 && (found[3] / 3e8_f64.ln() - 1.0).abs() < 1e-15);
/// ```
pub fn logarithms<const N: usize>(values: [f64; N]) -> [f64; N] {
    run(Logarithms(values))
}
