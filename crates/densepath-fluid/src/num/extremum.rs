//! The largest value of a function on an interval.

use crate::error::Result;
/// Points of the first look, from which the hump is bracketed.
const FIRST_LOOK: u32 = 64;
/// Share by which a golden section shortens the bracket.
const GOLDEN: f64 = 0.618_033_988_749_894_8;

/// Argument at which a function of one hump is largest on `[low, high]`, to about the square root of the rounding error.
///
/// Nothing if it is largest at an end of the interval. Kiefer, Proc. Am. Math. Soc. 4, 502 (1953), after a first look at
/// equal distances.
///
/// ```
/// use densepath_fluid::num::extremum::maximum;
/// let top = maximum(0.0, 3.0, |x: f64| Ok(x * (-x).exp()))?;
/// assert!(top.is_some_and(|x| (x - 1.0).abs() < 1e-6));
/// assert_eq!(maximum(0.0, 0.5, |x: f64| Ok(x * (-x).exp()))?, None);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn maximum<F>(low: f64, high: f64, mut f: F) -> Result<Option<f64>>
where
    F: FnMut(f64) -> Result<f64>,
{
    let step = (high - low) / f64::from(FIRST_LOOK);
    let (mut best, mut top) = (0, f64::NEG_INFINITY);
    for index in 0..=FIRST_LOOK {
        let value = f(low + step * f64::from(index))?;
        if value > top {
            (best, top) = (index, value);
        }
    }
    if best == 0 || best == FIRST_LOOK {
        return Ok(None);
    }
    let (mut a, mut b) = (
        low + step * f64::from(best - 1),
        low + step * f64::from(best + 1),
    );
    let (mut left, mut right) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
    let (mut at_left, mut at_right) = (f(left)?, f(right)?);
    while b - a > 1e-9 * (a.abs() + b.abs()) {
        if at_left > at_right {
            (b, right, at_right) = (right, left, at_left);
            left = b - GOLDEN * (b - a);
            at_left = f(left)?;
        } else {
            (a, left, at_left) = (left, right, at_right);
            right = a + GOLDEN * (b - a);
            at_right = f(right)?;
        }
    }
    Ok(Some(0.5 * (a + b)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_a_hump_and_refuses_an_end() {
        let found = maximum(0.0, 10.0, |x| Ok(-(x - std::f64::consts::E).powi(2)))
            .unwrap()
            .unwrap();
        assert!((found - std::f64::consts::E).abs() < 1e-7);
        assert_eq!(maximum(0.0, 1.0, Ok).unwrap(), None);
    }
}
