//! A composition that changes in time, on its way from the pumps to a column: made where pumps join the stream, mixed in mixers, delayed
//! in all other parts.

use fluid::{Fluid, Result};

use super::march::Pass;
use super::program::layout;
use crate::flow::mixing::mixed;
use crate::fluid;
use crate::hardware::Role;

/// Amount fractions that differ by less count as the same composition.
const SAME: f64 = 1e-12;
/// Points of the composition behind a mixer, beside those before it.
const POINTS: u32 = 4096;
/// Time constants after which a mixer has forgotten the last change: what is left is 1e-13 of it.
const FORGOTTEN: f64 = 30.0;

/// The way of the stream to a column: the passages from the pump on, through the tees, the last of them that through the column.
pub(super) type Way<'a> = Vec<&'a Pass>;

/// The ways to all columns: those of a line, then those of its branches.
pub(super) fn ways_to_columns(passes: &[Pass]) -> Vec<Way<'_>> {
    ways_behind(&[], passes)
}

fn ways_behind<'a>(before: &[&'a Pass], passes: &'a [Pass]) -> Vec<Way<'a>> {
    let (mut found, mut of_branches) = (Vec::new(), Vec::new());
    let mut way = before.to_vec();
    for pass in passes {
        way.push(pass);
        if pass.role == Role::Column {
            found.push(way.clone());
        }
        of_branches.extend(ways_behind(&way, &pass.branch));
    }
    found.extend(of_branches);
    found
}

/// Whether a pump joins the stream in a passage.
pub(super) fn joins(pass: &Pass) -> bool {
    let (before, after) = (pass.inlet.state.fluid(), pass.outlet.stream.state.fluid());
    before.amount_fractions() != after.amount_fractions()
}

/// The points around a time, and how far it is from the first to the second; beyond the ends the last one twice. Nothing without points.
pub(super) fn around<T>(
    points: &[T],
    time: f64,
    time_of: impl Fn(&T) -> f64,
) -> Option<(&T, &T, f64)> {
    let next = points.partition_point(|point| time_of(point) <= time);
    let before = next.checked_sub(1).and_then(|before| points.get(before));
    match (before, points.get(next)) {
        (Some(one), Some(other)) => {
            let share = (time - time_of(one)) / (time_of(other) - time_of(one));
            Some((one, other, share))
        }
        (held, None) | (None, held) => held.map(|held| (held, held, 0.0)),
    }
}

/// A value at rising times, straight between them, and held before the first and behind the last.
#[derive(Debug, Clone)]
struct Course(Vec<(f64, f64)>);

impl Course {
    fn new(times: &[f64], values: impl IntoIterator<Item = f64>) -> Self {
        Self(times.iter().copied().zip(values).collect())
    }

    fn times(&self) -> impl Iterator<Item = f64> {
        self.0.iter().map(|(time, _)| *time)
    }

    fn at(&self, time: f64) -> f64 {
        match around(&self.0, time, |point| point.0) {
            Some((one, other, share)) => one.1 + share * (other.1 - one.1),
            None => f64::NAN,
        }
    }

    /// When what entered at some times leaves, where this is the delay by the time of leaving.
    fn leaving(&self, entering: impl Iterator<Item = f64>) -> impl Iterator<Item = f64> {
        let by_entering = self.0.iter().map(|(time, delay)| (time - delay, *delay));
        let by_entering = Self(by_entering.collect());
        entering.map(move |time| time + by_entering.at(time))
    }
}

/// The composition at a column in time.
#[derive(Debug, Clone)]
pub(super) struct Arrival {
    /// The composition at the last mixer or joint before the column, or at the pump.
    gradient: Gradient,
    /// Time in s that the mobile phase needs from there, by the time at which it arrives.
    delay: Course,
}

impl Arrival {
    /// Along the ways to one column at the times of a program.
    ///
    /// Error 606 for ways through different parts or with different substances.
    pub fn along(times: &[f64], ways: &[&Way<'_>]) -> Result<Self> {
        let mut gradient = Gradient::fed(times, &at_place(ways, 0)?)?;
        let mut delay = vec![0.0; times.len()];
        let parts = ways.first().map_or(0, |way| way.len());
        for place in 0..parts.saturating_sub(1) {
            let passes = at_place(ways, place)?;
            let mixes = passes.iter().any(|pass| pass.role == Role::Mixing);
            let joined = passes.iter().any(|pass| joins(pass));
            if mixes || joined {
                let before = std::mem::replace(&mut delay, vec![0.0; times.len()]);
                gradient = gradient.delayed(&Course::new(times, before));
            }
            let hold_up_times = passes.iter().map(|pass| pass.outlet.hold_up_time);
            if joined {
                gradient = gradient.joined(times, &passes)?;
            } else if mixes {
                gradient = gradient.mixed(&Course::new(times, hold_up_times))?;
            } else {
                require_known(&gradient, &passes)?;
                delay = delay
                    .iter()
                    .zip(hold_up_times)
                    .map(|(sum, own)| sum + own)
                    .collect();
            }
        }
        let delay = Course::new(times, delay);
        Ok(Self { gradient, delay })
    }

    /// Whether the composition changes at all.
    pub fn changes(&self) -> bool {
        self.gradient.changes()
    }

    /// The mobile phase at a time in s where it is some seconds behind the inlet of the column.
    pub fn fluid(&self, time: f64, behind: f64) -> Result<Fluid> {
        self.gradient.fluid_at(time - self.delay.at(time) - behind)
    }
}

/// The passages at one place of the ways to a column.
fn at_place<'a>(ways: &[&Way<'a>], place: usize) -> Result<Vec<&'a Pass>> {
    let passes: Option<Vec<_>> = ways.iter().map(|way| way.get(place).copied()).collect();
    passes.ok_or_else(|| layout("the settings of a program must have the same parts"))
}

/// Error 606 for a composition that changes where the time through a part is not known.
fn require_known(gradient: &Gradient, passes: &[&Pass]) -> Result<()> {
    let unknown = passes
        .iter()
        .find(|pass| !pass.outlet.hold_up_time.is_finite());
    match unknown.filter(|_| gradient.changes()) {
        Some(pass) => Err(layout(&format!(
            "a change of composition cannot be followed through \"{}\", whose hold-up time is not known: state its porosity",
            pass.name
        ))),
        None => Ok(()),
    }
}

/// The composition of the stream at a place in time.
#[derive(Debug, Clone)]
struct Gradient {
    /// The one at the first of the times.
    fluid: Fluid,
    /// Amount fractions, a course for each substance, all with the same times; a single one where nothing changes.
    fractions: Vec<Course>,
}

impl Gradient {
    /// The composition that the main pump feeds, straight between the points of the program.
    fn fed(times: &[f64], passes: &[&Pass]) -> Result<Self> {
        let fluids: Vec<&Fluid> = passes.iter().map(|pass| pass.inlet.state.fluid()).collect();
        let fluid = of_one_kind(&fluids)?;
        let fractions = fluids.iter().map(|fluid| fluid.amount_fractions().to_vec());
        Ok(Self::of(fluid, times, &fractions.collect::<Vec<_>>()))
    }

    /// Amount fractions of all substances of a fluid at each of some times.
    fn of(fluid: &Fluid, times: &[f64], fractions: &[Vec<f64>]) -> Self {
        let mut pairs = fractions
            .iter()
            .flat_map(|now| now.iter().zip(fractions.iter().flatten()));
        let held = pairs.all(|(now, first)| (now - first).abs() <= SAME);
        let kept = if held { 1 } else { times.len() };
        let course = |substance: usize| {
            let values = fractions.iter().filter_map(|now| now.get(substance));
            Course::new(times, values.take(kept).copied())
        };
        Self {
            fluid: fluid.clone(),
            fractions: (0..fluid.amount_fractions().len()).map(course).collect(),
        }
    }

    fn changes(&self) -> bool {
        self.times().nth(1).is_some()
    }

    fn times(&self) -> impl Iterator<Item = f64> {
        self.fractions.iter().take(1).flat_map(Course::times)
    }

    fn fractions_at(&self, time: f64) -> Vec<f64> {
        self.fractions
            .iter()
            .map(|course| course.at(time))
            .collect()
    }

    fn fluid_at(&self, time: f64) -> Result<Fluid> {
        if !self.changes() {
            return Ok(self.fluid.clone());
        }
        self.fluid.with_amount_fractions(&self.fractions_at(time))
    }

    /// What comes of it behind parts that delay it.
    fn delayed(self, delay: &Course) -> Self {
        if !self.changes() {
            return self;
        }
        let times = rising(delay.times().chain(delay.leaving(self.times())));
        let at = times
            .iter()
            .map(|time| self.fractions_at(time - delay.at(*time)));
        Self::of(&self.fluid, &times, &at.collect::<Vec<_>>())
    }

    /// What comes of it behind a mixer of a time constant in s.
    fn mixed(self, time_constant: &Course) -> Result<Self> {
        if !self.changes() {
            return Ok(self);
        }
        let first = self.times().fold(f64::INFINITY, f64::min);
        let last = self.times().fold(first, f64::max);
        let longest = time_constant
            .0
            .iter()
            .fold(0.0, |most: f64, (_, value)| most.max(*value));
        let step = (last + FORGOTTEN * longest - first) / f64::from(POINTS);
        let more = (1..=POINTS).map(|n| first + step * f64::from(n));
        let times = rising(self.times().chain(time_constant.times()).chain(more));
        let constants: Vec<f64> = times.iter().map(|time| time_constant.at(*time)).collect();
        let fractions = self.fractions.iter().map(|course| {
            let inflow: Vec<f64> = times.iter().map(|time| course.at(*time)).collect();
            Ok(Course::new(&times, mixed(&times, &inflow, &constants)?))
        });
        Ok(Self {
            fractions: fractions.collect::<Result<_>>()?,
            ..self
        })
    }

    /// What comes of it where a pump joins: the amounts that the stream brings and those that the pump adds, which do not depend on what
    /// comes. Flow rates are straight between the points of the program.
    ///
    /// *Source*: balance of amounts.
    fn joined(&self, times: &[f64], passes: &[&Pass]) -> Result<Self> {
        let made: Vec<&Fluid> = passes
            .iter()
            .map(|pass| pass.outlet.stream.state.fluid())
            .collect();
        let fluid = of_one_kind(&made)?;
        let flow = passes.iter().map(|pass| pass.inlet.mass_flow_rate);
        let flow = Course::new(times, flow);
        let added = fluid.substances().into_iter().map(|name| {
            let added = passes.iter().map(|pass| {
                let behind = pass.mass_flow_rate_before_tee();
                behind * amount_of(name, pass.outlet.stream.state.fluid())
                    - pass.inlet.mass_flow_rate * amount_of(name, pass.inlet.state.fluid())
            });
            (name, Course::new(times, added))
        });
        let added: Vec<(&str, Course)> = added.collect();
        let knots = rising(times.iter().copied().chain(self.times()));
        let at = knots.iter().map(|time| {
            let comes = self.fluid_at(*time)?;
            let amounts = added.iter().map(|(name, added)| {
                (flow.at(*time) * amount_of(name, &comes) + added.at(*time)).max(0.0)
            });
            let amounts: Vec<f64> = amounts.collect();
            let sum: f64 = amounts.iter().sum();
            Ok(amounts.iter().map(|amount| amount / sum).collect())
        });
        Ok(Self::of(fluid, &knots, &at.collect::<Result<Vec<_>>>()?))
    }
}

/// Amount in mol of a substance in 1 kg of a fluid.
fn amount_of(substance: &str, fluid: &Fluid) -> f64 {
    let mut pairs = fluid.substances().into_iter().zip(fluid.amount_fractions());
    let fraction = pairs.find_map(|(name, fraction)| (name == substance).then_some(*fraction));
    fraction.unwrap_or(0.0) / fluid.molar_mass()
}

/// The first of some fluids, if all have the same substances.
fn of_one_kind<'a>(fluids: &[&'a Fluid]) -> Result<&'a Fluid> {
    let first = fluids
        .first()
        .ok_or_else(|| layout("a program needs settings"))?;
    if fluids
        .iter()
        .any(|fluid| fluid.substances() != first.substances())
    {
        return Err(layout(
            "the settings of a program must have the same substances",
        ));
    }
    Ok(first)
}

/// Times in order, each once.
fn rising(times: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut times: Vec<f64> = times.collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    times
}
