//! Powers of one number with several exponents, each from two smaller ones.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use smallvec::SmallVec;

use crate::num::number::Number;

/// The powers of a number, in the order of the places that [`Powers::place`] gives.
pub(super) type PowersAt<N> = SmallVec<[N; 32]>;

/// Exponents counted in quarters that are known from the start: 0, 1, 1/2, 1/4 and -1.
const QUARTERS: [i32; 5] = [0, 4, 2, 1, -4];

/// How the powers of one number follow from each other. A place is an index into the list of powers, given when the list was planned,
/// so that indexing by it cannot fail.
#[derive(Debug, Clone, Default)]
pub(super) struct Powers {
    /// The exponent of each place in quarters; nothing for one that is no multiple of a quarter.
    quarters: Vec<Option<i32>>,
    steps: Vec<Step>,
    /// Whether roots or the reciprocal are among them.
    has_roots: bool,
    /// Whether an exponential is.
    has_exponentials: bool,
}

/// How a power is made.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Step {
    /// Product of the powers at two places.
    Product(usize, usize),
    /// Exponential of the logarithm times an exponent.
    Exponential(f64),
}

impl Powers {
    /// No powers yet.
    pub(super) fn new() -> Self {
        Self {
            quarters: QUARTERS.into_iter().map(Some).collect(),
            ..Self::default()
        }
    }

    /// The place of a power, which is added if it is new.
    #[allow(clippy::cast_possible_truncation, reason = "a small whole number")]
    pub(super) fn place(&mut self, exponent: f64) -> usize {
        let quarters = 4.0 * exponent;
        if quarters.fract() == 0.0 && (-16.0..1e3).contains(&quarters) {
            return self.place_of_quarters(quarters as i32);
        }
        self.has_exponentials = true;
        self.step(None, Step::Exponential(exponent))
    }

    fn place_of_quarters(&mut self, quarters: i32) -> usize {
        let known = self.quarters.iter().position(|q| *q == Some(quarters));
        if let Some(place) = known {
            self.has_roots |= (2..5).contains(&place);
            return place;
        }
        // A fraction is split off first; of the rest each power is the product of two halves, which keeps rounding small.
        let (one, other) = match quarters {
            3 => (1, 2),
            ..0 => (-4, quarters + 4),
            _ if quarters % 4 != 0 => (quarters % 4, quarters - quarters % 4),
            _ => (quarters / 8 * 4, quarters - quarters / 8 * 4),
        };
        let (one, other) = (self.place_of_quarters(one), self.place_of_quarters(other));
        self.step(Some(quarters), Step::Product(one, other))
    }

    fn step(&mut self, quarters: Option<i32>, step: Step) -> usize {
        let first = self.quarters.len() - self.steps.len();
        if let Some(known) = self.steps.iter().position(|s| *s == step) {
            return first + known;
        }
        self.quarters.push(quarters);
        self.steps.push(step);
        self.quarters.len() - 1
    }

    /// All powers of a positive number, written to an empty list: a list returned would be moved.
    #[inline(always)]
    pub(super) fn fill<N: Number>(&self, x: N, powers: &mut PowersAt<N>) {
        let one = x.like(1.0);
        let (root, fourth, inverse) = if self.has_roots {
            let root = x.sqrt();
            (root, root.sqrt(), x.recip())
        } else {
            (one, one, one)
        };
        for power in [one, x, root, fourth, inverse] {
            powers.push(power);
        }
        let ln = if self.has_exponentials { x.ln() } else { one };
        for step in &self.steps {
            let power = match *step {
                Step::Product(a, b) => powers[a] * powers[b],
                Step::Exponential(exponent) => ln.times(exponent).exp(),
            };
            powers.push(power);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn powers_are_those_of_the_standard_library() {
        let exponents = [
            0.0, 1.0, 28.0, 0.75, -0.5, 2.125, 16.0, 1.25, 50.0, 0.137, -2.0, 3.0,
        ];
        let mut powers = Powers::new();
        let places = exponents.map(|exponent| powers.place(exponent));
        for x in [0.3, 1.0, 1.7] {
            let mut all = PowersAt::new();
            powers.fill(x, &mut all);
            for (exponent, place) in exponents.into_iter().zip(places) {
                let power = f64::powf(x, exponent);
                assert!((all[place] / power - 1.0).abs() < 1e-14, "{x}^{exponent}");
            }
        }
    }
}
