//! A composition that changes in time, on its way from the pumps to the column: mixed in mixers, delayed in all other parts.

use std::ops::Range;

use fluid::{Error, Fluid, Result};

use super::march::{Part, Pass};
use super::program::layout;
use crate::flow::mixing::mixed;
use crate::fluid;
use crate::hardware::Role;

/// Amount fractions that differ by less count as the same composition.
const SAME: f64 = 1e-12;
/// Points of the composition behind mixers, beside those of the program.
const POINTS: u32 = 4096;
/// Time constants after which a mixer has forgotten the last change: what is left is 1e-13 of it.
const FORGOTTEN: f64 = 30.0;

/// What the way from the pumps to the column does to a composition, in steady flow.
#[derive(Debug, Clone, Default)]
pub(super) struct Way {
    /// Time in s in which the mobile phase passes the parts that do not mix.
    pub delay: f64,
    /// Time constants in s of the mixers.
    pub mixing_times: Vec<f64>,
}

impl Way {
    /// The way from where the first modifier joins, or from the pump if none does, to a column.
    pub fn of(parts: &[Part], passes: &[Pass], column: usize) -> Self {
        let between = between_joint_and(passes, column);
        let mut way = Self::default();
        for (index, (part, pass)) in parts.iter().zip(passes).enumerate() {
            if !between.contains(&index) {
                continue;
            }
            if part.element.role() == Role::Mixing {
                way.mixing_times.push(pass.outlet.hold_up_time);
            } else {
                way.delay += pass.outlet.hold_up_time;
            }
        }
        way
    }
}

/// The places of the parts from where the first modifier joins, or from the pump if none does, to a column.
pub(super) fn between_joint_and(passes: &[Pass], column: usize) -> Range<usize> {
    let joined = passes.iter().position(|pass| {
        let (before, after) = (pass.inlet.state.fluid(), pass.outlet.stream.state.fluid());
        before.amount_fractions() != after.amount_fractions()
    });
    joined.map_or(0, |joined| joined + 1).min(column)..column
}

/// One point of a program: what the pumps make from there on.
#[derive(Debug)]
pub(super) struct Made<'a> {
    pub time: f64,
    pub fluid: &'a Fluid,
    pub mixing_times: &'a [f64],
}

/// The composition behind all mixers in time.
#[derive(Debug, Clone)]
pub(super) struct Gradient {
    fluid: Fluid,
    times: Vec<f64>,
    /// One list a substance.
    fractions: Vec<Vec<f64>>,
}

impl Gradient {
    /// The composition of a program, linear between its points.
    ///
    /// Error 606 for points of different substances or different mixers.
    pub fn of(points: &[Made<'_>]) -> Result<Self> {
        let missing = || layout("a program needs settings");
        let (first, last) = points.first().zip(points.last()).ok_or_else(missing)?;
        let mixers = first.mixing_times.len();
        for point in points {
            if point.fluid.substances() != first.fluid.substances() {
                return Err(layout(
                    "the settings of a program must have the same substances",
                ));
            }
            if point.mixing_times.len() != mixers {
                return Err(layout("the settings of a program must have the same parts"));
            }
        }
        let at_first = first.fluid.amount_fractions();
        let is_same = |point: &Made<'_>| {
            let pairs = point.fluid.amount_fractions().iter().zip(at_first);
            pairs.into_iter().all(|(a, b)| (a - b).abs() <= SAME)
        };
        let mut gradient = Self {
            fluid: first.fluid.clone(),
            times: vec![first.time],
            fractions: at_first.iter().map(|x| vec![*x]).collect(),
        };
        if points.iter().all(is_same) {
            return Ok(gradient);
        }
        let longest: f64 = points
            .iter()
            .map(|point| point.mixing_times.iter().sum::<f64>())
            .fold(0.0, f64::max);
        gradient.times = knots(
            points,
            (mixers > 0).then_some(last.time + FORGOTTEN * longest),
        );
        let at = |of: &dyn Fn(&Made<'_>) -> f64| {
            gradient
                .times
                .iter()
                .map(|t| linear(points, *t, of))
                .collect::<Vec<f64>>()
        };
        let constants: Vec<Vec<f64>> = (0..mixers)
            .map(|mixer| at(&|point| point.mixing_times.get(mixer).copied().unwrap_or(f64::NAN)))
            .collect();
        let fractions = (0..at_first.len()).map(|substance| {
            let inflow = at(&|point| {
                point
                    .fluid
                    .amount_fractions()
                    .get(substance)
                    .copied()
                    .unwrap_or(f64::NAN)
            });
            constants.iter().try_fold(inflow, |inflow, constants| {
                mixed(&gradient.times, &inflow, constants)
            })
        });
        gradient.fractions = fractions.collect::<Result<_>>()?;
        Ok(gradient)
    }

    /// Whether the composition changes at all.
    pub fn changes(&self) -> bool {
        self.times.len() > 1
    }

    /// The mobile phase behind the mixers at a time in s, if nothing else delayed it.
    pub fn fluid(&self, time: f64) -> Result<Fluid> {
        if !self.changes() {
            return Ok(self.fluid.clone());
        }
        let next = self
            .times
            .partition_point(|knot| *knot <= time)
            .clamp(1, self.times.len() - 1);
        let share = match self.times.get(next - 1..=next) {
            Some([before, after]) => ((time - before) / (after - before)).clamp(0.0, 1.0),
            _ => {
                return Err(Error::Internal {
                    place: "gradient without knots",
                });
            }
        };
        let fractions: Vec<f64> = self
            .fractions
            .iter()
            .map(|values| match values.get(next - 1..=next) {
                Some([before, after]) => before + share * (after - before),
                _ => f64::NAN,
            })
            .collect();
        self.fluid.with_amount_fractions(&fractions)
    }
}

/// The times of the points, and as many between and behind them as the answer of the mixers needs up to an end, if there are any.
fn knots(points: &[Made<'_>], end: Option<f64>) -> Vec<f64> {
    let own = points.iter().map(|point| point.time);
    let (Some(end), Some(first)) = (end, points.first()) else {
        return own.collect();
    };
    let step = (end - first.time) / f64::from(POINTS);
    let more = (1..=POINTS).map(|n| first.time + step * f64::from(n));
    let mut times: Vec<f64> = own.chain(more).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    times
}

/// A value between the points; before the first and behind the last it stays.
fn linear(points: &[Made<'_>], time: f64, of: &dyn Fn(&Made<'_>) -> f64) -> f64 {
    let next = points.partition_point(|point| point.time <= time);
    match (
        next.checked_sub(1).and_then(|last| points.get(last)),
        points.get(next),
    ) {
        (Some(before), Some(after)) => {
            let share = (time - before.time) / (after.time - before.time);
            of(before) + share * (of(after) - of(before))
        }
        (Some(held), None) | (None, Some(held)) => of(held),
        (None, None) => f64::NAN,
    }
}
