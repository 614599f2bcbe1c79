//! Roots inside a bracket: Newton steps where they help, bisection where they do not.

use crate::error::{Error, Result};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// How a bracketed iteration ends.
///
/// ```
/// use densepath_fluid::num::root::{Tolerance, bracketed};
/// let coarse = Tolerance { relative: 1e-3, ..Tolerance::default() };
/// let root = bracketed("square root", 1.0, 2.0, coarse, |x| Ok(x * x - 2.0))?;
/// assert!((root - 2.0_f64.sqrt()).abs() < 2e-3);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// Width of the bracket, relative to the root, at which the root is known.
    pub relative: f64,
    /// Largest number of function evaluations.
    pub iterations: u32,
}

impl Default for Tolerance {
    fn default() -> Self {
        Self {
            relative: 4.0 * f64::EPSILON,
            iterations: 200,
        }
    }
}

/// Root of a function that rises through it and whose derivative is known, inside a bracket.
///
/// `f` returns the value and the derivative; it is never asked at the ends of the bracket, so that a root that rounding
/// puts a hair outside is found at the end. The bracket never opens; a step that leaves it, or a residual that has not
/// halved in two steps, brings a bisection, so that the work is bounded by twice that of bisection.
/// Error 401 if `f` yields a value that is not a number or the iterations run out.
///
/// ```
/// use densepath_fluid::num::root::{Tolerance, newton_bisect};
/// let root = newton_bisect("square root", 1.0, 2.0, 1.5, Tolerance::default(), |x| Ok((x * x - 2.0, 2.0 * x)))?;
/// assert!((root - 2.0_f64.sqrt()).abs() < 1e-14);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn newton_bisect<F>(
    solver: &'static str,
    mut low: f64,
    mut high: f64,
    start: f64,
    tolerance: Tolerance,
    mut f: F,
) -> Result<f64>
where
    F: FnMut(f64) -> Result<(f64, f64)>,
{
    let failed = |iterations, residual| Error::NoConvergence {
        solver,
        iterations,
        residual,
        tolerance: tolerance.relative,
    };
    let mut x = if start > low && start < high {
        start
    } else {
        0.5 * (low + high)
    };
    let (mut earlier, mut before) = (f64::INFINITY, f64::INFINITY);
    for iteration in 0..tolerance.iterations {
        let (value, slope) = f(x)?;
        if value.is_nan() {
            return Err(failed(iteration, value));
        }
        if value == 0.0 {
            return Ok(x);
        }
        if value < 0.0 {
            low = x;
        } else {
            high = x;
        }
        let newton = x - value / slope;
        let helps = newton > low && newton < high && value.abs() <= 0.5 * earlier;
        let next = if helps { newton } else { 0.5 * (low + high) };
        (earlier, before) = (before, value.abs());
        let small = tolerance.relative * x.abs();
        if (next - x).abs() <= small || high - low <= small {
            return Ok(next);
        }
        x = next;
    }
    Err(failed(tolerance.iterations, before))
}

/// Newton or secant steps tried before a root is given up.
const STEPS: u32 = 12;

/// Root of a function whose derivative is known by Newton steps from a start, once a step and the value before it are below `settled`;
/// the step is taken, so that what is left is about its square. For functions and arguments of which 1 is much, such as logarithms:
/// a short step alone says nothing near a pole of the function, where every step is short.
///
/// Nothing where the function has no value, a step leaves the bounds, or the steps do not settle: for functions with one root, to
/// be sought in a bracket then.
///
/// ```
/// use densepath_fluid::num::root::newton;
/// let root = newton(1.5, (1.0, 2.0), 1e-8, |x| Some((x * x - 2.0, 2.0 * x)));
/// assert!(root.is_some_and(|x| (x - 2.0_f64.sqrt()).abs() < 1e-15));
/// assert_eq!(newton(1.5, (1.0, 2.0), 1e-8, |x| Some((x * x + 2.0, 2.0 * x))), None);
/// // Beside the pole of a logarithm all steps are short.
/// let found = newton(1.0 - 1e-12, (-1.0, 1.0), 1e-8, |x| Some(((1.0 - x).ln(), 1.0 / (x - 1.0))));
/// assert!(found.is_none_or(|x| x.abs() < 1e-15));
/// ```
pub fn newton<F>(start: f64, (low, high): (f64, f64), settled: f64, mut f: F) -> Option<f64>
where
    F: FnMut(f64) -> Option<(f64, f64)>,
{
    let mut x = start;
    for _ in 0..STEPS {
        let (value, slope) = f(x)?;
        let step = value / slope;
        x -= step;
        // A step that is no number leaves the bounds too.
        if !(low..=high).contains(&x) {
            return None;
        }
        if step.abs().max(value.abs()) <= settled {
            return Some(x);
        }
    }
    None
}

/// Root of a function by secant steps from a start and a rough slope there; the last place at which the function was asked, once
/// the next step would be below `settled`.
///
/// Nothing where the function has no value, a step leaves the bounds, or the steps do not settle: for functions with one root, to
/// be sought in a bracket then.
///
/// ```
/// use densepath_fluid::num::root::secant;
/// let root = secant((1.5, 3.0), (1.0, 2.0), 1e-12, |x| Some(x * x - 2.0));
/// assert!(root.is_some_and(|x| (x - 2.0_f64.sqrt()).abs() < 1e-10));
/// ```
pub fn secant<F>(start: (f64, f64), bounds: (f64, f64), settled: f64, f: F) -> Option<f64>
where
    F: FnMut(f64) -> Option<f64>,
{
    secant_with_slope(start, bounds, settled, f).map(|(root, _)| root)
}

/// As [`secant`], with the slope between the last two places: a start for the next of a row of roots.
///
/// ```
/// use densepath_fluid::num::root::secant_with_slope;
/// let root = secant_with_slope((1.5, 3.0), (1.0, 2.0), 1e-12, |x| Some(x * x - 2.0));
/// assert!(root.is_some_and(|(x, slope)| (slope - 2.0 * x).abs() < 1e-3));
/// ```
pub fn secant_with_slope<F>(
    (start, slope): (f64, f64),
    (low, high): (f64, f64),
    settled: f64,
    mut f: F,
) -> Option<(f64, f64)>
where
    F: FnMut(f64) -> Option<f64>,
{
    let (mut x, mut slope, mut known) = (start, slope, None);
    for _ in 0..STEPS {
        let value = f(x)?;
        if let Some((other, at_other)) = known.replace((x, value)) {
            slope = (value - at_other) / (x - other);
        }
        let step = value / slope;
        if step.abs() <= settled {
            return Some((x, slope));
        }
        x -= step;
        // A step that is no number leaves the bounds too.
        if !(low..=high).contains(&x) {
            return None;
        }
    }
    None
}

/// Root of a function without a derivative in a bracket, by the method of Chandrupatla (Adv. Eng. Softw. 28, 145 (1997)).
///
/// Error 401 if the ends of the bracket have values of the same sign, if `f` yields a value that is not a number, or if
/// the iterations run out.
///
/// ```
/// use densepath_fluid::num::root::{Tolerance, bracketed};
/// let root = bracketed("square root", 1.0, 2.0, Tolerance::default(), |x| Ok(x * x - 2.0))?;
/// assert!((root - 2.0_f64.sqrt()).abs() < 1e-14);
/// // Without a change of sign there is nothing to find.
/// assert_eq!(bracketed("none", 2.0, 3.0, Tolerance::default(), |x| Ok(x * x - 2.0)).unwrap_err().code(), 401);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn bracketed<F>(
    solver: &'static str,
    low: f64,
    high: f64,
    tolerance: Tolerance,
    mut f: F,
) -> Result<f64>
where
    F: FnMut(f64) -> Result<f64>,
{
    let failed = |iterations, residual| Error::NoConvergence {
        solver,
        iterations,
        residual,
        tolerance: tolerance.relative,
    };
    let (mut a, mut b) = (low, high);
    let (mut fa, mut fb) = (f(a)?, f(b)?);
    if fa == 0.0 {
        return Ok(a);
    }
    if fb == 0.0 {
        return Ok(b);
    }
    if fa.is_nan() || fb.is_nan() || (fa < 0.0) == (fb < 0.0) {
        return Err(failed(2, if fa.is_nan() { fa } else { fb }));
    }
    let mut fraction = 0.5;
    for iteration in 0..tolerance.iterations {
        let x = a + fraction * (b - a);
        let fx = f(x)?;
        if fx.is_nan() {
            return Err(failed(iteration, fx));
        }
        let (c, fc);
        if (fx < 0.0) == (fa < 0.0) {
            (c, fc) = (a, fa);
        } else {
            (c, fc) = (b, fb);
            (b, fb) = (a, fa);
        }
        (a, fa) = (x, fx);
        let best = if fa.abs() < fb.abs() { a } else { b };
        let width = (b - a).abs();
        let smallest = tolerance.relative * best.abs() / width;
        if fa == 0.0 || fb == 0.0 || smallest > 0.5 || width == 0.0 {
            return Ok(best);
        }
        fraction = share_between((a, fa), (b, fb), (c, fc));
        fraction = fraction.clamp(smallest, 1.0 - smallest);
    }
    Err(failed(tolerance.iterations, fa))
}

/// Share of the way from the last point of a bracket to its other side at which the root is sought next, by the point that was left
/// before: on a quadratic of the place through all three where it is one that rises or falls throughout, else in the middle.
pub(crate) fn share_between((a, fa): (f64, f64), (b, fb): (f64, f64), (c, fc): (f64, f64)) -> f64 {
    let (xi, phi) = ((a - b) / (c - b), (fa - fb) / (fc - fb));
    if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
        fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    } else {
        0.5
    }
}

/// Roots in a bracket of a function that turns at most once, with known derivative; the lower one first.
///
/// A root at an end counts. Errors as [`newton_bisect`].
///
/// ```
/// use densepath_fluid::num::root::{Tolerance, roots_of_two_branches};
/// let found = roots_of_two_branches("parabola", -3.0, 2.0, Tolerance::default(), |x| Ok((x * x - 1.0, 2.0 * x)))?;
/// assert!(found.len() == 2 && (found[0] + 1.0).abs() < 1e-12 && (found[1] - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn roots_of_two_branches<F>(
    solver: &'static str,
    low: f64,
    high: f64,
    tolerance: Tolerance,
    mut f: F,
) -> Result<Vec<f64>>
where
    F: FnMut(f64) -> Result<(f64, f64)>,
{
    let ((at_low, rise_low), (at_high, rise_high)) = (f(low)?, f(high)?);
    let mut ends = vec![(low, at_low)];
    if (rise_low < 0.0) != (rise_high < 0.0) {
        let turn = bracketed(solver, low, high, tolerance, |x| Ok(f(x)?.1))?;
        ends.push((turn, f(turn)?.0));
    }
    ends.push((high, at_high));
    let mut roots = Vec::new();
    for pair in ends.windows(2) {
        let [(a, at_a), (b, at_b)] = [pair[0], pair[1]];
        let root = if at_a == 0.0 {
            a
        } else if at_b == 0.0 {
            b
        } else if (at_a < 0.0) != (at_b < 0.0) {
            let sign = at_b.signum();
            let start = a - at_a * (b - a) / (at_b - at_a);
            newton_bisect(solver, a, b, start, tolerance, |x| {
                let (value, slope) = f(x)?;
                Ok((sign * value, sign * slope))
            })?
        } else {
            continue;
        };
        if roots.last() != Some(&root) {
            roots.push(root);
        }
    }
    Ok(roots)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_both_roots_of_a_function_that_turns() {
        let roots = |shift: f64, low: f64, high: f64| {
            let parabola = |x: f64| Ok((x * x - shift, 2.0 * x));
            roots_of_two_branches("test", low, high, Tolerance::default(), parabola).unwrap()
        };
        assert_eq!(roots(4.0, -3.0, 5.0), [-2.0, 2.0]);
        assert_eq!(roots(4.0, 1.0, 5.0), [2.0]);
        assert_eq!(roots(4.0, -1.0, 2.0), [2.0]);
        assert!(roots(-1.0, -3.0, 5.0).is_empty());
    }

    #[test]
    fn finds_the_root_of_a_hard_function() {
        // A triple root: Newton alone converges linearly, bisection bounds the work.
        let root = newton_bisect("test", 0.0, 3.0, 2.9, Tolerance::default(), |x| {
            Ok(((x - 1.0).powi(3), 3.0 * (x - 1.0).powi(2)))
        })
        .unwrap();
        assert!((root - 1.0).abs() < 1e-5);
        let root = bracketed(
            "test",
            0.0,
            4.0,
            Tolerance::default(),
            |x| Ok(x.exp() - 7.0),
        )
        .unwrap();
        assert!((root - 7f64.ln()).abs() < 1e-15);
    }

    #[test]
    fn secants_settle_from_a_good_start_and_are_given_up_from_a_bad_one() {
        let mut calls = 0;
        let root = secant((1.9, 7.0), (0.0, 4.0), 1e-13, |x: f64| {
            calls += 1;
            Some(x.exp() - 7.0)
        });
        assert!(
            (root.unwrap() - 7f64.ln()).abs() < 1e-13 && calls <= 6,
            "{calls}"
        );
        let given_up = |slope: f64, f: fn(f64) -> Option<f64>| {
            secant((1.0, slope), (0.0, 4.0), 1e-13, f).is_none()
        };
        assert!(given_up(1e-3, |x| Some(x - 2.0)));
        assert!(given_up(1.0, |_| None));
        assert!(given_up(1.0, |x| Some(x * x + 1.0)));
        assert!(given_up(1.0, |_| Some(f64::NAN)));
    }

    #[test]
    fn a_bad_bracket_and_a_nan_are_errors() {
        assert_eq!(
            bracketed("test", 1.0, 2.0, Tolerance::default(), Ok)
                .unwrap_err()
                .code(),
            401
        );
        assert_eq!(
            bracketed("test", -1.0, 2.0, Tolerance::default(), |_| Ok(f64::NAN))
                .unwrap_err()
                .code(),
            401
        );
    }
}
