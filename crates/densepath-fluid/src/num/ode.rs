//! Initial value problems by an embedded Runge-Kutta pair with step control.

use super::root::{Tolerance, bracketed, secant};
use crate::error::{Error, Result};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// Nodes, weights and error weights of the pair of order 5(4) by J. R. Dormand and P. J. Prince, J. Comput. Appl. Math. 6,
/// 19 (1980), doi 10.1016/0771-050X(80)90013-3, table 2.
const NODES: [f64; 5] = [1.0 / 5.0, 3.0 / 10.0, 4.0 / 5.0, 8.0 / 9.0, 1.0];
const STAGES: [[f64; 5]; 5] = [
    [1.0 / 5.0, 0.0, 0.0, 0.0, 0.0],
    [3.0 / 40.0, 9.0 / 40.0, 0.0, 0.0, 0.0],
    [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0, 0.0, 0.0],
    [
        19372.0 / 6561.0,
        -25360.0 / 2187.0,
        64448.0 / 6561.0,
        -212.0 / 729.0,
        0.0,
    ],
    [
        9017.0 / 3168.0,
        -355.0 / 33.0,
        46732.0 / 5247.0,
        49.0 / 176.0,
        -5103.0 / 18656.0,
    ],
];
const WEIGHTS: [f64; 6] = [
    35.0 / 384.0,
    0.0,
    500.0 / 1113.0,
    125.0 / 192.0,
    -2187.0 / 6784.0,
    11.0 / 84.0,
];
const ERROR_WEIGHTS: [f64; 7] = [
    71.0 / 57600.0,
    0.0,
    -71.0 / 16695.0,
    71.0 / 1920.0,
    -17253.0 / 339200.0,
    22.0 / 525.0,
    -1.0 / 40.0,
];

/// Weights of the interpolant of order 4 that needs no further slopes: E. Hairer, S. P. Norsett and G. Wanner, Solving Ordinary
/// Differential Equations I, 2nd ed., Springer, 1993, section II.6 (coefficients of their program, from memory; the order is tested).
const BETWEEN_WEIGHTS: [f64; 7] = [
    -12715105075.0 / 11282082432.0,
    0.0,
    87487479700.0 / 32700410799.0,
    -10690763975.0 / 1880347072.0,
    701980252875.0 / 199316789632.0,
    -1453857185.0 / 822651844.0,
    69997945.0 / 29380423.0,
];

/// One accepted step of an integration, with the solution anywhere inside it.
///
/// ```
/// use densepath_fluid::num::ode::{Control, integrate};
/// // A decay, seen in the middle of every step.
/// let mut worst: f64 = 0.0;
/// integrate("decay", 0.0, 1.0, [1.0], Control::new(1e-8, [1.0]), |_, y| Ok([-y[0]]), |step| {
///     let middle = 0.5 * (step.from + step.to);
///     worst = worst.max((step.at(middle)[0] - (-middle).exp()).abs());
///     Ok(())
/// })?;
/// assert!(worst < 1e-6);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step<const N: usize> {
    /// Where the step begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// The solution at the end.
    pub end: [f64; N],
    start: [f64; N],
    slopes: [[f64; N]; 7],
}

impl<const N: usize> Step<N> {
    /// The solution at a place inside the step, to the fourth order of its width.
    ///
    /// ```
    /// use densepath_fluid::num::ode::{Control, integrate};
    /// integrate("decay", 0.0, 1.0, [1.0], Control::new(1e-8, [1.0]), |_, y| Ok([-y[0]]), |step| {
    ///     assert_eq!(step.at(step.to), step.end);
    ///     Ok(())
    /// })?;
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn at(&self, x: f64) -> [f64; N] {
        if x == self.to {
            return self.end;
        }
        let (width, mut value) = (self.to - self.from, [0.0; N]);
        let share = (x - self.from) / width;
        let rest = 1.0 - share;
        for (i, value) in value.iter_mut().enumerate() {
            let rise = self.end[i] - self.start[i];
            let bent = width * self.slopes[0][i] - rise;
            let twice = rise - width * self.slopes[6][i] - bent;
            let weighed = BETWEEN_WEIGHTS.iter().zip(&self.slopes);
            let last: f64 = weighed.map(|(weight, slope)| weight * slope[i]).sum();
            let inner = twice + rest * width * last;
            *value = self.start[i] + share * (rise + rest * (bent + share * inner));
        }
        value
    }
}

/// How an integration controls its steps.
///
/// ```
/// use densepath_fluid::num::ode::{Control, integrate};
/// let few = Control { steps: 1, ..Control::new(1e-12, [1.0]) };
/// let failed = integrate("decay", 0.0, 10.0, [1.0], few, |_, y| Ok([-y[0]]), |_| Ok(()));
/// assert_eq!(failed.unwrap_err().code(), 401);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Control<const N: usize> {
    /// Error of one step allowed, relative to the magnitude of the component plus its scale.
    pub relative: f64,
    /// Magnitude of each component below which its error no longer matters; infinite to leave it out of the control.
    pub scale: [f64; N],
    /// First step, as a share of the interval.
    pub first: f64,
    /// Largest step, as a share of the interval.
    pub largest: f64,
    /// Smallest step, as a share of the interval; the march stops with the error met if it would need a smaller one.
    pub smallest: f64,
    /// Largest number of steps, accepted or not.
    pub steps: u32,
}

impl<const N: usize> Control<N> {
    /// Control with a relative tolerance and the scales of the components; one step over the whole interval is tried first.
    ///
    /// ```
    /// use densepath_fluid::num::ode::Control;
    /// let control = Control::new(1e-8, [1.0, 1e5]);
    /// assert_eq!((control.relative, control.scale), (1e-8, [1.0, 1e5]));
    /// ```
    pub fn new(relative: f64, scale: [f64; N]) -> Self {
        Self {
            relative,
            scale,
            first: 1.0,
            largest: 1.0,
            smallest: 1e-9,
            steps: 10_000,
        }
    }
}

/// Solution at `to` of dy/dx = `f(x, y)` from `start` at `from`; `observe` sees every accepted step.
///
/// A trial step on which `f` fails is not accepted but halved, so that a trial state outside the domain of `f` does no
/// harm; only where the solution itself runs into the fault does the step shrink to the smallest, and the error of `f` is
/// returned. Error 401 if the tolerance is not met with the smallest step or the steps run out.
///
/// ```
/// use densepath_fluid::num::ode::{Control, integrate};
/// let end = integrate("decay", 0.0, 2.0, [1.0], Control::new(1e-10, [1.0]), |_, y| Ok([-y[0]]), |_| Ok(()))?;
/// assert!((end[0] - (-2.0_f64).exp()).abs() < 1e-9);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn integrate<const N: usize, F, O>(
    solver: &'static str,
    from: f64,
    to: f64,
    start: [f64; N],
    control: Control<N>,
    f: F,
    observe: O,
) -> Result<[f64; N]>
where
    F: FnMut(f64, &[f64; N]) -> Result<[f64; N]>,
    O: FnMut(&Step<N>) -> Result<()>,
{
    integrate_in_legs(solver, [from, to], start, control, f, |_| None, observe)
}

/// As [`integrate`] for a slope that bends on the way: `bend` tells the place inside a step where it does, and the step is taken again as
/// far as there. Over such a place the error of a step is not what it seems.
///
/// ```
/// use densepath_fluid::num::ode::{Control, Step, integrate_in_legs};
/// // A climb that grows steeper from the height 0.3 on.
/// let slope = |y: f64| 1.0 + 4.0 * (y - 0.3).max(0.0);
/// let bend = |step: &Step<1>| (step.from < 0.3 - 1e-9 && step.to > 0.3 + 1e-9).then_some(0.3);
/// let control = Control::new(1e-8, [1.0]);
/// let end = integrate_in_legs("climb", [0.0, 1.0], [0.0], control, |_, y| Ok([slope(y[0])]), bend, |_| Ok(()))?;
/// assert!((end[0] - (0.3 + (2.8_f64.exp() - 1.0) / 4.0)).abs() < 1e-6);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn integrate_in_legs<const N: usize, F, B, O>(
    solver: &'static str,
    [from, to]: [f64; 2],
    start: [f64; N],
    control: Control<N>,
    mut f: F,
    mut bend: B,
    mut observe: O,
) -> Result<[f64; N]>
where
    F: FnMut(f64, &[f64; N]) -> Result<[f64; N]>,
    B: FnMut(&Step<N>) -> Option<f64>,
    O: FnMut(&Step<N>) -> Result<()>,
{
    let span = to - from;
    let (mut x, mut y) = (from, start);
    if span == 0.0 {
        return Ok(y);
    }
    let mut slope = f(x, &y)?;
    let mut share = control.first.max(control.smallest);
    let mut done = 0.0;
    for step in 0..control.steps {
        share = share.min(control.largest).min(1.0 - done);
        let last = share >= 1.0 - done;
        let (next, slopes, error) = match attempt(x, share * span, &y, slope, &control, &mut f) {
            Ok(result) => result,
            Err(fault) if share <= control.smallest => return Err(fault),
            Err(_) => {
                share = (0.5 * share).max(control.smallest);
                continue;
            }
        };
        if error <= 1.0 {
            let reached = if last { 1.0 } else { done + share };
            let step = Step {
                from: x,
                to: from + reached * span,
                end: next,
                start: y,
                slopes,
            };
            let cut = bend(&step).filter(|_| share > control.smallest);
            if let Some(place) = cut {
                share = ((place - x) / span).max(control.smallest);
                continue;
            }
            done = reached;
            (x, y, slope) = (step.to, next, slopes[6]);
            observe(&step)?;
            if last {
                return Ok(y);
            }
        } else if share <= control.smallest {
            return Err(Error::NoConvergence {
                solver,
                iterations: step,
                residual: error * control.relative,
                tolerance: control.relative,
            });
        }
        // Step factor of a method of order 5 with the usual margin; an error of zero takes the largest.
        share = (share * (0.9 * error.powf(-0.2)).clamp(0.2, 5.0)).max(control.smallest);
    }
    Err(Error::NoConvergence {
        solver,
        iterations: control.steps,
        residual: 1.0 - done,
        tolerance: 0.0,
    })
}

/// Where an integration up to an event came to its end.
///
/// ```
/// use densepath_fluid::num::ode::{Control, integrate_until};
/// let stop = integrate_until("fall", [1.0], Control::new(1e-10, [1.0]), |_| Ok([-2.0]), |y, _| y[0], |_| Ok(()))?;
/// assert!((stop.x - 0.5).abs() < 1e-9 && stop.slope == [-2.0]);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrival<const N: usize> {
    /// The independent variable.
    pub x: f64,
    /// The solution there.
    pub y: [f64; N],
    /// Its slope there.
    pub slope: [f64; N],
}

/// Width relative to a step to which an event is placed in it.
const LAST: f64 = 1e-13;

/// Solution of the autonomous dy/dx = `f(y)` from `start` on, up to the first accepted step at whose end the `margin`, of the
/// solution and its slope, is no longer above zero; the place where it vanishes is found inside that step.
///
/// The steps of the control are those of a unit of x. A slope that jumps is met with the smallest step, whose error then counts
/// no longer. `observe` sees the start, every accepted step and the end. Errors as [`integrate`], and 401 if the margin has not
/// vanished when the steps run out.
///
/// ```
/// use densepath_fluid::num::ode::{Control, integrate_until};
/// // A decay that has come down to a tenth: x = ln 10.
/// let stop = integrate_until("decay", [1.0], Control::new(1e-10, [1.0]), |y| Ok([-y[0]]), |y, _| y[0] - 0.1, |_| Ok(()))?;
/// assert!((stop.x - 10.0_f64.ln()).abs() < 1e-7);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn integrate_until<const N: usize, F, G, O>(
    solver: &'static str,
    start: [f64; N],
    control: Control<N>,
    mut f: F,
    margin: G,
    mut observe: O,
) -> Result<Arrival<N>>
where
    F: FnMut(&[f64; N]) -> Result<[f64; N]>,
    G: Fn(&[f64; N], &[f64; N]) -> f64,
    O: FnMut(&Arrival<N>) -> Result<()>,
{
    let mut f = |_: f64, y: &[f64; N]| f(y);
    let mut here = Arrival {
        x: 0.0,
        y: start,
        slope: f(0.0, &start)?,
    };
    observe(&here)?;
    if margin(&here.y, &here.slope) <= 0.0 {
        return Ok(here);
    }
    let mut width = control.first;
    for _ in 0..control.steps {
        width = width.clamp(control.smallest, control.largest);
        let step = attempt(0.0, width, &here.y, here.slope, &control, &mut f);
        let (y, slope, error) = match step {
            Ok((y, slopes, error)) => (y, slopes[6], error),
            Err(fault) if width <= control.smallest => return Err(fault),
            Err(_) => {
                width *= 0.5;
                continue;
            }
        };
        let grown = width * (0.9 * error.powf(-0.2)).clamp(0.2, 5.0);
        if error > 1.0 && width > control.smallest {
            width = grown;
            continue;
        }
        let beyond = Arrival {
            x: here.x + width,
            y,
            slope,
        };
        if margin(&y, &slope) > 0.0 {
            observe(&beyond)?;
            (here, width) = (beyond, grown);
            continue;
        }
        let between = |share: f64| {
            let (y, slopes, _) = attempt(0.0, share, &here.y, here.slope, &control, &mut f)?;
            let (x, slope) = (here.x + share, slopes[6]);
            Ok(Arrival { x, y, slope })
        };
        let end = event(solver, [here, beyond], width, between, margin)?;
        observe(&end)?;
        return Ok(end);
    }
    Err(Error::NoConvergence {
        solver,
        iterations: control.steps,
        residual: margin(&here.y, &here.slope),
        tolerance: 0.0,
    })
}

/// The place between two at which the margin vanishes, by the step of a width between them, which rounding leaves different from the
/// difference of their places.
fn event<const N: usize>(
    solver: &'static str,
    [here, beyond]: [Arrival<N>; 2],
    width: f64,
    mut between: impl FnMut(f64) -> Result<Arrival<N>>,
    margin: impl Fn(&[f64; N], &[f64; N]) -> f64,
) -> Result<Arrival<N>> {
    let left = |place: &Arrival<N>| margin(&place.y, &place.slope);
    let mut end = here;
    let rise = (left(&beyond) - left(&here)) / width;
    let start = (-left(&here) / rise, rise);
    let steps = secant(start, (0.0, width), LAST * width, |share| {
        end = between(share).ok()?;
        Some(left(&end))
    });
    if let Some(share) = steps {
        // Where it was passed, back to this side of it.
        let mut back = LAST * width;
        while left(&end) < 0.0 && back < 1e3 * LAST * width {
            end = between(share - back)?;
            back *= 10.0;
        }
        if left(&end) >= 0.0 {
            return Ok(end);
        }
    }
    end = here;
    let tolerance = Tolerance {
        relative: LAST,
        ..Tolerance::default()
    };
    bracketed(solver, 0.0, width, tolerance, |share| {
        let place = between(share)?;
        // The last place on this side of the event is the end.
        if left(&place) >= 0.0 && place.x >= end.x {
            end = place;
        }
        Ok(left(&place))
    })?;
    Ok(end)
}

/// One step: the new value, the slopes met, that of the new value last, and the error in units of the tolerance.
fn attempt<const N: usize, F>(
    x: f64,
    width: f64,
    y: &[f64; N],
    slope: [f64; N],
    control: &Control<N>,
    f: &mut F,
) -> Result<([f64; N], [[f64; N]; 7], f64)>
where
    F: FnMut(f64, &[f64; N]) -> Result<[f64; N]>,
{
    let mut slopes = [slope; 7];
    for stage in 0..5 {
        let mut trial = *y;
        for (weight, slope) in STAGES[stage].iter().zip(&slopes).take(stage + 1) {
            add(&mut trial, width * weight, slope);
        }
        slopes[stage + 1] = f(x + NODES[stage] * width, &trial)?;
    }
    let mut next = *y;
    for (weight, slope) in WEIGHTS.iter().zip(&slopes) {
        add(&mut next, width * weight, slope);
    }
    slopes[6] = f(x + width, &next)?;
    let mut fault = [0.0; N];
    for (weight, slope) in ERROR_WEIGHTS.iter().zip(&slopes) {
        add(&mut fault, width * weight, slope);
    }
    let mut worst: f64 = 0.0;
    for i in 0..N {
        let size = control.scale[i] + y[i].abs().max(next[i].abs());
        let error = fault[i].abs() / (control.relative * size);
        // `max` would drop an error that is not a number.
        worst = if error <= worst { worst } else { error };
    }
    Ok((
        next,
        slopes,
        if worst.is_nan() { f64::INFINITY } else { worst },
    ))
}

fn add<const N: usize>(y: &mut [f64; N], factor: f64, slope: &[f64; N]) {
    for (value, slope) in y.iter_mut().zip(slope) {
        *value += factor * slope;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The smallest steps are shorter than what rounding leaves of the place.
    #[test]
    fn an_event_at_a_jump_is_found() {
        for jump in [0.7, 1.1, 2.3, 3.7] {
            let turns = |y: &[f64; 1]| Ok([if y[0] < jump { 1.0 } else { -1.0 }]);
            let control = Control {
                first: 0.02,
                largest: 0.25,
                smallest: 1e-14,
                ..Control::new(1e-12, [1.0])
            };
            let margin = |_: &[f64; 1], slope: &[f64; 1]| slope[0];
            let found = integrate_until("turn", [0.0], control, turns, margin, |_| Ok(()));
            assert!((found.unwrap().y[0] - jump).abs() < 1e-12, "{jump}");
        }
    }

    #[test]
    fn an_event_is_placed_inside_a_step() {
        // A fall from rest, with the end where the height vanishes: sqrt(2 h/g).
        let control = Control {
            largest: 10.0,
            ..Control::new(1e-10, [1.0; 2])
        };
        let fall = |y: &[f64; 2]| Ok([y[1], -9.81]);
        let end = integrate_until("test", [20.0, 0.0], control, fall, |y, _| y[0], |_| Ok(()));
        let expected = f64::sqrt(40.0 / 9.81);
        assert!((end.unwrap().x / expected - 1.0).abs() < 1e-12);
        // A slope that jumps on the way: 1 up to y = 1, then 3.
        let jump = |y: &[f64; 1]| Ok([if y[0] < 1.0 { 1.0 } else { 3.0 }]);
        let end = integrate_until(
            "test",
            [0.0],
            Control::new(1e-10, [1.0]),
            jump,
            |y, _| 2.0 - y[0],
            |_| Ok(()),
        );
        assert!((end.unwrap().x - 4.0 / 3.0).abs() < 1e-8);
    }

    #[test]
    fn a_circle_closes() {
        let turn = 2.0 * std::f64::consts::PI;
        let end = integrate(
            "test",
            0.0,
            turn,
            [1.0, 0.0],
            Control::new(1e-12, [1.0; 2]),
            |_, y| Ok([-y[1], y[0]]),
            |_| Ok(()),
        )
        .unwrap();
        assert!((end[0] - 1.0).abs() < 1e-10 && end[1].abs() < 1e-10);
    }

    #[test]
    fn the_order_is_five() {
        let error = |steps: u32| {
            let control = Control::new(1.0, [1.0]);
            let width = 1.0 / f64::from(steps);
            let mut y = [1.0];
            for _ in 0..steps {
                let slope = [y[0]];
                (y, _, _) = attempt(0.0, width, &y, slope, &control, &mut |_, y| Ok(*y)).unwrap();
            }
            (y[0] - 1f64.exp()).abs()
        };
        let order = (error(8) / error(16)).log2();
        assert!((order - 5.0).abs() < 0.2, "{order}");
    }

    #[test]
    fn inside_a_step_the_order_is_four() {
        let error = |width: f64| {
            let control = Control::new(1.0, [1.0]);
            let mut worst = 0.0_f64;
            let step = |step: &Step<1>| {
                for share in [0.1, 0.35, 0.5, 0.8] {
                    let x = step.from + share * (step.to - step.from);
                    worst = worst.max((step.at(x)[0] - x.exp()).abs());
                }
                assert!((step.at(step.to)[0] - step.end[0]).abs() < 1e-14);
                Ok(())
            };
            integrate("test", 0.0, width, [1.0], control, |_, y| Ok(*y), step).unwrap();
            worst
        };
        // The error of one step is of one order more.
        let order = (error(0.1) / error(0.05)).log2();
        assert!((order - 5.0).abs() < 0.2, "{order}");
    }

    #[test]
    fn a_trial_outside_the_domain_is_survived_and_a_solution_outside_it_is_not() {
        // The slope of y = sqrt(1 - x) exists above y = 0 only, and trial steps overshoot.
        let wall = Error::Internal { place: "test" };
        let mut f = |_: f64, y: &[f64; 1]| {
            if y[0] > 0.0 {
                Ok([-0.5 / y[0]])
            } else {
                Err(wall.clone())
            }
        };
        let control = Control::new(1e-9, [0.0]);
        let end = integrate("test", 0.0, 0.9999, [1.0], control, &mut f, |_| Ok(())).unwrap();
        assert!((end[0] - 1e-2).abs() < 1e-6);
        let mut reached = 0.0;
        let error = integrate("test", 0.0, 2.0, [1.0], control, &mut f, |step| {
            reached = step.to;
            Ok(())
        })
        .unwrap_err();
        assert!(error.code() == 901 || error.code() == 401);
        assert!((reached - 1.0).abs() < 1e-6);
    }

    #[test]
    fn backwards_and_nowhere() {
        let control = Control::new(1e-10, [0.0]);
        let rhs = |_: f64, y: &[f64; 1]| Ok(*y);
        let end = integrate("test", 1.0, 0.0, [1f64.exp()], control, rhs, |_| Ok(())).unwrap();
        assert!((end[0] - 1.0).abs() < 1e-8);
        assert_eq!(
            integrate("test", 1.0, 1.0, [3.0], control, rhs, |_| Ok(())),
            Ok([3.0])
        );
    }
}
