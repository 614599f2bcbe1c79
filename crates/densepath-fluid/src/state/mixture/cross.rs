//! The state at which a quantity that rises with one variable reaches a value, through phase boundaries and jumps.
//!
//! Newton's method leads there where phases tell their slopes, elsewhere a quadratic, always inside a bracket. Where the bracket closes on
//! a jump - a substance or an azeotrope that boils, a line of three phases - the answer is a share of both of its sides.

use core::cell::Cell;

use crate::error::{Error, Result};
use crate::num::root::share_between;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::edge::Edge;
use super::solve::named;
use crate::state::{Part, Phase, State};

/// Evaluations of the state at most: a bracket of 100 K that is halved each time closes on a jump after about 50.
const EVALUATIONS: u32 = 400;
/// Evaluations while the bracket is sought.
const WIDENINGS: u32 = 60;
/// Refusals while the bracket is sought.
const REFUSALS: u32 = 12;
/// Width of a bracket, relative, at which both of its ends count as one place, and of one about an edge: the phases of both sides are
/// told as those of one state.
const CLOSED: f64 = 1e-14;
const CLOSED_AT_EDGE: f64 = 1e-11;

/// Multiple of the tolerance that rounding of phases in equilibrium can feign: below it a step of Newton's method that does not
/// halve the excess has nothing more to find.
const NOISE: f64 = 5e4;

/// States at a temperature and a pressure that a solver inside another may ask for in all; a bisection in both would ask for 2000.
pub(super) const STATES_MAX: u32 = 1000;

/// What a solver inside another keeps from one of its searches to the next.
#[derive(Debug, Default)]
pub(super) struct Inner {
    states: Cell<u32>,
    found: Cell<Option<f64>>,
}

impl Inner {
    /// Counts one more state; error 401 beyond [`STATES_MAX`].
    pub(super) fn count(&self, solver: &'static str) -> Result<()> {
        self.states.set(self.states.get() + 1);
        if self.states.get() <= STATES_MAX {
            return Ok(());
        }
        Err(Error::NoConvergence {
            solver,
            iterations: STATES_MAX,
            residual: f64::NAN,
            tolerance: 0.0,
        })
    }

    /// Where the last search ended: the start of the next.
    pub(super) fn last(&self) -> Option<f64> {
        self.found.get()
    }

    /// Keeps where a search has ended.
    pub(super) fn keep(&self, found: f64) {
        self.found.set(Some(found));
    }

    /// How many states there were.
    #[cfg(test)]
    pub(super) fn states(&self) -> u32 {
        self.states.get()
    }
}

/// What is sought: a quantity of the state at a variable.
pub(super) struct Crossing<'a> {
    /// Name of the solver in errors.
    pub solver: &'static str,
    /// The state at the variable.
    pub at: &'a dyn Fn(f64) -> Result<State>,
    /// The quantity less the value wanted and, in one phase, its derivative in the variable.
    pub excess: &'a dyn Fn(&State) -> (f64, Option<f64>),
    /// Where three phases lie side by side between two states, if that can be told: there the quantity may jump.
    pub edge: &'a dyn Fn(&State, &State) -> Option<Edge>,
    /// The quantity below which the difference counts as rounding.
    pub tolerance: f64,
}

/// The edge of a variable on which none is looked for.
pub(super) fn no_edge(_: &State, _: &State) -> Option<Edge> {
    None
}

/// One end of a bracket.
#[derive(Debug, Clone)]
struct End {
    place: f64,
    excess: f64,
    state: State,
}

impl End {
    fn point(&self) -> (f64, f64) {
        (self.place, self.excess)
    }

    /// Where Newton's method leads from here with a slope, and the size of the excess that it comes from.
    fn newton(&self, slope: Option<f64>) -> Option<(f64, f64)> {
        slope.map(|slope| (self.place - self.excess / slope, self.excess.abs()))
    }
}

/// What becomes of Newton's method from a start value.
enum Approach {
    /// The value itself.
    Met(State),
    /// An end on each side of the value, and where Newton's method leads from the second.
    Passed {
        first: End,
        second: End,
        newton: Option<(f64, f64)>,
    },
    /// The last end before a step that does not help, with the slope there.
    Left { first: End, slope: Option<f64> },
}

impl Crossing<'_> {
    fn end(&self, place: f64) -> Result<(End, Option<f64>)> {
        let state = (self.at)(place)?;
        let (excess, slope) = (self.excess)(&state);
        let end = End {
            place,
            excess,
            state,
        };
        Ok((end, slope))
    }

    /// The state between two values of the variable, from a start value; nothing if the value is not reached between them.
    pub(super) fn solve(&self, low: f64, high: f64, start: f64) -> Result<Option<State>> {
        let (first, second, newton) = match self.approach(low, high, start)? {
            Approach::Met(state) => return Ok(Some(state)),
            Approach::Passed {
                first,
                second,
                newton,
            } => (first, second, newton),
            Approach::Left { first, slope } => {
                let limit = if first.excess < 0.0 { high } else { low };
                let Some(second) = self.other_side(&first, slope, limit)? else {
                    return Ok(None);
                };
                (first, second, None)
            }
        };
        let (below, above) = if first.excess < 0.0 {
            (first, second)
        } else {
            (second, first)
        };
        self.close(below, above, newton).map(Some)
    }

    /// Newton's method from a start value as long as it stays on one side of the value and each step halves the excess.
    fn approach(&self, low: f64, high: f64, start: f64) -> Result<Approach> {
        let (mut first, mut slope) = self.end(start.clamp(low, high))?;
        loop {
            let size = first.excess.abs();
            if size <= self.tolerance {
                return Ok(Approach::Met(first.state));
            }
            let place = slope.map(|slope| first.place - first.excess / slope);
            let next = place
                .filter(|place| low < *place && *place < high)
                .and_then(|place| self.end(place).ok());
            let Some((end, slope_there)) = next else {
                return Ok(Approach::Left { first, slope });
            };
            if (end.excess < 0.0) != (first.excess < 0.0) {
                let newton = end
                    .newton(slope_there)
                    .filter(|(_, there)| *there <= 0.5 * size);
                let second = end;
                return Ok(Approach::Passed {
                    first,
                    second,
                    newton,
                });
            }
            if end.excess.abs() > 0.5 * size {
                return Ok(Approach::Left { first, slope });
            }
            (first, slope) = (end, slope_there);
        }
    }

    /// An end on the other side of the value, sought in growing steps up to a limit.
    fn other_side(&self, first: &End, slope: Option<f64>, limit: f64) -> Result<Option<End>> {
        let room = limit - first.place;
        if room == 0.0 {
            return Ok(None);
        }
        let newton = slope.map(|slope| -1.2 * first.excess / slope);
        let mut step = newton
            .filter(|step| step.is_finite() && step * room > 0.0)
            .unwrap_or(0.02 * room);
        let mut refusals = REFUSALS;
        for _ in 0..WIDENINGS {
            let place = if step.abs() < room.abs() {
                first.place + step
            } else {
                limit
            };
            let end = match self.end(place) {
                Ok((end, _)) => end,
                // A state beyond those that are known; the value may still lie before it.
                Err(error) if refusals == 0 => return Err(error),
                Err(_) => {
                    refusals -= 1;
                    step *= 0.5;
                    continue;
                }
            };
            if (end.excess < 0.0) != (first.excess < 0.0) {
                return Ok(Some(end));
            }
            if place == limit {
                return Ok(None);
            }
            step *= 2.0;
        }
        Ok(None)
    }

    /// Closes a bracket: by Newton's method as long as each of its steps halves the excess, else by the method of Chandrupatla.
    ///
    /// Begins where Newton's method leads, if it is told, with the size of the excess that it comes from.
    fn close(&self, below: End, above: End, newton: Option<(f64, f64)>) -> Result<State> {
        let (mut below, mut above, mut newton) = (below, above, newton);
        let mut next = secant(&below, &above);
        // Both sides of an edge between the ends are looked at first.
        let edge = (self.edge)(&below.state, &above.state);
        let sides = |edge: Edge| [-1.0, 1.0].map(|side| edge.place * (1.0 + side * edge.blur));
        let mut beside_edge = edge.map_or_else(Vec::new, |edge| sides(edge).to_vec());
        let closed = if edge.is_some() {
            CLOSED_AT_EDGE
        } else {
            CLOSED
        };
        for _ in 0..EVALUATIONS {
            let (low, high) = (below.place.min(above.place), below.place.max(above.place));
            if high - low <= closed * high.abs().max(1e-300) {
                return self.share(&below, &above);
            }
            let inside = |place: &f64| low < *place && *place < high;
            let aside = beside_edge.pop().filter(inside);
            let taken = newton.filter(|(place, _)| aside.is_none() && inside(place));
            next = aside.or(taken.map(|(place, _)| place)).unwrap_or(next);
            if !inside(&next) {
                next = 0.5 * (low + high);
            }
            if next == low || next == high {
                return self.share(&below, &above);
            }
            let (end, slope) = self.end(next)?;
            let size = end.excess.abs();
            if size <= self.tolerance {
                return Ok(end.state);
            }
            let helped = taken.is_none_or(|(_, before)| size <= 0.5 * before);
            // A step of Newton's method that does not help where rounding can rule tells that it does.
            if taken.is_some_and(|(_, before)| before <= NOISE * self.tolerance) && !helped {
                return Ok(nearer(&end, nearer(&below, &above)).state.clone());
            }
            newton = end.newton(slope).filter(|_| helped);
            let (side, other) = if end.excess < 0.0 {
                (&mut below, &above)
            } else {
                (&mut above, &below)
            };
            let left = core::mem::replace(side, end);
            // Where Newton's method has not helped, a step from beside its end would not either.
            let share = if helped {
                share_between(side.point(), other.point(), left.point())
            } else {
                0.5
            };
            next = side.place + share * (other.place - side.place);
        }
        Err(Error::NoConvergence {
            solver: self.solver,
            iterations: EVALUATIONS,
            residual: above.excess - below.excess,
            tolerance: self.tolerance,
        })
    }

    /// The answer where a bracket has closed: the side nearer to the value where both agree, else a share of both.
    fn share(&self, below: &End, above: &End) -> Result<State> {
        let jump = above.excess - below.excess;
        if jump <= 2.0 * self.tolerance {
            return Ok(nearer(below, above).state.clone());
        }
        let share = -below.excess / jump;
        let nearer = &nearer(below, above).state;
        shared([&below.state, &above.state], share, nearer).ok_or(Error::NoConvergence {
            solver: self.solver,
            iterations: EVALUATIONS,
            residual: jump,
            tolerance: self.tolerance,
        })
    }
}

fn nearer<'a>(one: &'a End, other: &'a End) -> &'a End {
    if one.excess.abs() < other.excess.abs() {
        one
    } else {
        other
    }
}

fn secant(below: &End, above: &End) -> f64 {
    let share = -below.excess / (above.excess - below.excess);
    below.place + share * (above.place - below.place)
}

/// Phases that differ less than this in density are one.
const SAME_PHASE: f64 = 1e-3;

/// A state of which a share by mass is in the phases of the second of two states and the rest in those of the first, at one temperature
/// and pressure to within rounding; the nearer of both where all are one phase, and only rounding lies between them.
fn shared([one, other]: [&State; 2], share: f64, nearer: &State) -> Option<State> {
    let mut parts: Vec<Part> = Vec::new();
    let weighed = [(one, 1.0 - share), (other, share)];
    for (state, weight) in weighed {
        let state = named(state.clone());
        for part in state.whole_or_parts() {
            let twin = parts.iter_mut().find(|known| {
                let same_kind = known.solid().is_some() == part.solid().is_some();
                same_kind && (known.density() / part.density() - 1.0).abs() < SAME_PHASE
            });
            match twin {
                Some(known) => known.mass_fraction += weight * part.mass_fraction,
                None => parts.push(Part {
                    mass_fraction: weight * part.mass_fraction,
                    ..part
                }),
            }
        }
    }
    if parts
        .iter()
        .any(|part| !(0.0..=1.0).contains(&part.mass_fraction))
    {
        return None;
    }
    if parts.len() == 1 {
        return Some(nearer.clone());
    }
    parts.sort_by(|a, b| {
        let solid_first = b.solid().is_some().cmp(&a.solid().is_some());
        solid_first.then(b.density().total_cmp(&a.density()))
    });
    let last = parts.len().checked_sub(1)?;
    for (index, part) in parts.iter_mut().enumerate() {
        part.name(if index == last {
            Phase::Vapour
        } else {
            Phase::Liquid
        });
    }
    let (temperature, pressure) = (one.temperature, one.pressure);
    Some(State::of_parts(
        one.fluid.clone(),
        temperature,
        pressure,
        parts,
    ))
}
