//! The outer root: the one unknown of a path. The excess rises with it, so that the few secant steps that find it as a rule and
//! the bracket that finds it otherwise come to the same result.

use fluid::num::root::{Tolerance, bracketed, secant};
use fluid::{Error, Quantity, Result, State};

use super::Path;
use super::branch::Tees;
use super::detection::detections;
use super::march::{Part, in_part, march, streams};
use super::solution::Solution;
use super::source::{FIRST_PART, Feed, Pump};
use crate::fluid;
use crate::hardware::{
    CountedAt, ReciprocatingPump, Role, SetFlow, Stream, Surroundings, carrier_of,
};

/// Excess that stands for a march that ends before the part that holds the pressure: too little pressure for the flow.
const EXHAUSTED: f64 = -1e3;
/// Smallest and largest mass flow rate tried, in kg/s: far beyond any instrument on both sides.
const FLOWS: (f64, f64) = (1e-15, 1e3);
/// Highest pressure tried in Pa where the pump states no limit: above any instrument.
const HIGHEST_PRESSURE: f64 = 1.5e8;
/// Tolerance of the unknown.
const CLOSED: Tolerance = Tolerance {
    relative: 1e-14,
    iterations: 200,
};
/// Excess above which the balance is not closed, where hardly any pressure is lost on the way to the part that holds it.
const OPEN: f64 = 1e-6;
/// Step of the logarithm of a flow to the place beside it that tells the slope.
const BESIDE: f64 = 1e-3;
/// Step of the unknown, relative, below which the next would be rounding.
const SETTLED: f64 = 1e-13;
/// Excess below which one that does not halve any more is rounding, or as close as the throat of a boiling mixture is known.
const ROUNDING: f64 = 1e-9;
/// Distance of two places, relative, below which what is between them is no slope but rounding.
const TOO_NEAR: f64 = 1e-6;
/// Excess at the lowest flow above which a part passes what its pressure drives, and no regulator holds it.
const DRIVEN: f64 = 1e3;
/// Share of the bracket by which a trial lies beside a jump of the excess.
const STEP_ASIDE: f64 = 1e-6;
/// Rounds in which the flow counted at the column inlet must agree with the state there.
const COUNTING_ROUNDS: u32 = 60;

/// A march for one value of the unknown.
pub(super) struct Trial {
    /// The streams before each part up to the one that holds the pressure.
    streams: Vec<Stream>,
    /// How far the last of them is from the steady flow of that part.
    excess: f64,
}

impl Trial {
    /// Where a search of a flow may begin that lies near this one: its place, and the slope to one beside it.
    fn start(&self, trial: impl Fn(f64) -> Result<Trial>) -> Option<Start> {
        let place = -self.streams.first()?.mass_flow_rate.ln();
        let beside = trial(place + BESIDE).ok()?;
        let slope = (beside.excess.ln_1p() - self.excess.ln_1p()) / BESIDE;
        Some((place, slope))
    }

    /// Excess above which the balance is not closed: marches err in the pressure at their beginning, of which that at the part that
    /// holds it may be a small share.
    fn open(&self) -> f64 {
        let pressure = |stream: Option<&Stream>| stream.map_or(f64::NAN, |s| s.state.pressure());
        OPEN * (pressure(self.streams.first()) / pressure(self.streams.last())).max(1.0)
    }

    /// The stream at the beginning.
    pub fn delivered(self) -> Result<Stream> {
        self.streams.into_iter().next().ok_or(Error::Internal {
            place: "path::solve, a trial without a stream",
        })
    }
}

impl Path {
    /// Everything that follows from the path in steady flow.
    ///
    /// A flow-controlled pump leaves its delivery pressure to be found, a pressure-controlled one the mass flow rate; the
    /// part that holds the pressure closes the balance. Trial values at which the fluid leaves the dense phase count as too
    /// little pressure; if the answer itself does so, the error is returned with the part it occurs in.
    ///
    /// Error 402 if no value within the limits of the pump closes the balance, 606 if no part holds the pressure, 406 if its watch
    /// stops it.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let solution = method.path.solve()?;
    /// // Pressure falls from part to part.
    /// let pressures: Vec<f64> = solution.stations.iter().skip_while(|s| s.name != "mixer").map(|s| s.state.pressure()).collect();
    /// assert!(pressures.windows(2).all(|pair| pair[0] >= pair[1]));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn solve(&self) -> Result<Solution> {
        let solution = self.solve_steady();
        self.watch.advance();
        solution
    }

    fn solve_steady(&self) -> Result<Solution> {
        let feed = self.source.feed(&self.fluid)?;
        let tees = Tees::new(&self.watch);
        let trial = match &self.source.pump.part {
            Pump::Reciprocating(pump) => self.close_pressure(&feed, pump, &tees)?,
            Pump::Syringe(pump) => {
                let along = |flow| self.trial(&feed, pump.set_pressure(), flow, &tees);
                close_flow(None, along)?.0
            }
        };
        let stream = trial.delivered()?;
        let surroundings = self.surroundings(&feed, stream.state.pressure(), true);
        self.watch.check()?;
        let passes = march(&self.parts, stream.clone(), None, &surroundings, &tees)?;
        let detections = detections(&self.parts, &passes, &self.solutes, &surroundings)?;
        Solution::assemble(self, &feed, &surroundings, &stream, passes, detections)
    }

    /// Flow set at the pump, delivery pressure unknown.
    fn close_pressure(
        &self,
        feed: &Feed,
        pump: &ReciprocatingPump,
        tees: &Tees<'_>,
    ) -> Result<Trial> {
        let low = feed.suction.state.pressure();
        let high = pump.pressure_limit().unwrap_or(HIGHEST_PRESSURE);
        let trial = |pressure: f64| self.trial_at_pressure(feed, pump, pressure, tees);
        let set = self.parts.get(holder(&self.parts)?);
        if let Some(set) = set.and_then(|part| part.element.set_pressure())
            && (low..high).contains(&set)
        {
            // From the pressure held the drop before it is still missing; where it exceeds that pressure, from the highest.
            let from = |start| settle((start, 1.0 / set), (low, high), |excess| excess, trial);
            if let Some((closed, _)) = from(set).or_else(|| from(high)) {
                return Ok(closed);
            }
        }
        close(Quantity::Pressure, low, high, trial)
    }

    /// Pressure tried, mass flow rate by the setting of the pump.
    fn trial_at_pressure(
        &self,
        feed: &Feed,
        pump: &ReciprocatingPump,
        pressure: f64,
        tees: &Tees<'_>,
    ) -> Result<Trial> {
        let column = self
            .parts
            .iter()
            .position(|part| part.element.role() == Role::Column);
        let at_oven = matches!(pump.set_flow(), SetFlow::Volume(_, CountedAt::Oven));
        if at_oven && column.is_none() {
            return Err(Error::Layout {
                line: None,
                key: "counted_at".to_owned(),
                rule: "a flow counted at the inlet of the column needs a column on the main line"
                    .to_owned(),
            });
        }
        let mut counted = (pump.head_temperature(), pressure);
        for _ in 0..COUNTING_ROUNDS {
            let suction = &feed.suction.state;
            let flow = pump.mass_flow_rate(suction, pressure, counted.0, counted.1)?;
            let trial = self.trial(feed, pressure, flow, tees)?;
            let inlet = column
                .and_then(|index| trial.streams.get(index))
                .map(|stream| &stream.state);
            let Some(inlet) = inlet.filter(|_| at_oven) else {
                return Ok(trial);
            };
            if (inlet.pressure() / counted.1 - 1.0).abs() < 1e-13
                && inlet.temperature() == counted.0
            {
                return Ok(trial);
            }
            counted = (inlet.temperature(), inlet.pressure());
        }
        Err(Error::NoConvergence {
            solver: "flow counted at the column inlet",
            iterations: COUNTING_ROUNDS,
            residual: counted.1,
            tolerance: 1e-13,
        })
    }

    /// The march up to the part that holds the pressure.
    fn trial(
        &self,
        feed: &Feed,
        delivery_pressure: f64,
        mass_flow_rate: f64,
        tees: &Tees<'_>,
    ) -> Result<Trial> {
        self.watch.check()?;
        let surroundings = self.surroundings(feed, delivery_pressure, false);
        let stream = Stream {
            state: State::from_tp(
                feed.suction.state.fluid(),
                self.source.pump.part.temperature(),
                delivery_pressure,
            )?,
            mass_flow_rate,
        };
        trial_along(&self.parts, stream, &surroundings, tees)
    }

    fn surroundings(
        &self,
        feed: &Feed,
        delivery_pressure: f64,
        with_solute: bool,
    ) -> Surroundings<'_> {
        Surroundings {
            delivery_pressure,
            room_temperature: self.room.temperature,
            room_pressure: self.room.pressure,
            solute: self.solutes.first().filter(|_| with_solute),
            carrier: carrier_of(feed.suction.state.fluid()),
            additives: &[],
        }
    }
}

/// Index of the part that holds the pressure. Error 606 if none does.
fn holder(parts: &[Part]) -> Result<usize> {
    parts
        .iter()
        .position(|part| part.element.holds_pressure())
        .ok_or_else(|| Error::Layout {
            line: None,
            key: "part".to_owned(),
            rule: "no part holds the pressure: end the dense path with a regulator or a restrictor"
                .to_owned(),
        })
}

/// The march along parts up to the one that holds the pressure.
pub(super) fn trial_along(
    parts: &[Part],
    stream: Stream,
    surroundings: &Surroundings<'_>,
    tees: &Tees<'_>,
) -> Result<Trial> {
    let holder = holder(parts)?;
    let (before, holding) = parts.split_at(holder);
    let streams = streams(before, stream, surroundings, tees)?;
    let excess = match (streams.last(), holding.first()) {
        (Some(inlet), Some(part)) => part
            .element
            .excess(inlet, surroundings)
            .map_err(|error| in_part(part, FIRST_PART + holder, error))?,
        _ => 0.0,
    };
    Ok(Trial { streams, excess })
}

/// A place of the unknown and the slope of the excess there: where the next search of a row of them begins.
pub(super) type Start = (f64, f64);

/// The trial whose excess is zero, of those with a mass flow rate in kg/s from a pressure that is held, and where the next search may
/// begin.
///
/// The unknown is the negative logarithm of the flow, since the excess falls as the flow rises. Sought from a start, if there is one;
/// else from where hardly anything flows, or by its decade.
pub(super) fn close_flow(
    known: Option<Start>,
    along: impl Fn(f64) -> Result<Trial>,
) -> Result<(Trial, Option<Start>)> {
    let trial = |negative: f64| along((-negative).exp());
    let (low, high) = (-FLOWS.1.ln(), -FLOWS.0.ln());
    let from = |start| settle(start, (low, high), f64::ln_1p, trial);
    if let Some((closed, next)) = known.and_then(from) {
        return Ok((closed, Some(next)));
    }
    let driven = survive(trial(high))?;
    if driven > DRIVEN {
        // With hardly any flow the part that holds the pressure has that of the beginning before it.
        if let Some((closed, next)) = from((high - driven.ln_1p(), 1.0)) {
            return Ok((closed, Some(next)));
        }
    }
    let decade = std::f64::consts::LN_10;
    let mut most = high;
    while most > low && survive(trial(most - decade))? > 0.0 {
        most -= decade;
    }
    let closed = close(Quantity::MassFlowRate, most - decade, most, trial)?;
    let next = closed.start(trial);
    Ok((closed, next))
}

/// The trial whose excess is zero, by secant steps from a start and a slope of a function of the excess that is zero with it, and the
/// place with its slope.
///
/// Nothing where a trial fails, a step leaves the bounds or the steps do not settle: the bracket then finds the trial or tells
/// why there is none.
fn settle(
    start: Start,
    bounds: (f64, f64),
    of_excess: impl Fn(f64) -> f64,
    trial: impl Fn(f64) -> Result<Trial>,
) -> Option<(Trial, Start)> {
    let (mut last, mut slope, mut before) = (None, start.1, None);
    let root = secant(start, bounds, SETTLED * start.0.abs(), |unknown| {
        let tried = trial(unknown).ok()?;
        let value = of_excess(tried.excess);
        last = Some(tried);
        let Some((place, excess)) = before.replace((unknown, value)) else {
            return Some(value);
        };
        if (unknown - place).abs() > TOO_NEAR * unknown.abs() {
            slope = (value - excess) / (unknown - place);
        }
        let halves = value.abs() <= 0.5 * excess.abs();
        Some(if halves || value.abs() > ROUNDING {
            value
        } else {
            0.0
        })
    })?;
    last.map(|closed| (closed, (root, slope)))
}

/// The trial whose excess is zero; the excess rises with the unknown.
fn close(
    unknown: Quantity,
    low: f64,
    high: f64,
    trial: impl Fn(f64) -> Result<Trial>,
) -> Result<Trial> {
    let excess = |value: f64| survive(trial(value));
    if excess(high)? < 0.0 {
        // Two phases at the highest pressure are no lack of pressure, and neither is a speed of sound on the way.
        if let Err(error) = trial(high)
            && matches!(
                error.root(),
                Error::PhaseChange { .. } | Error::Choked { .. }
            )
        {
            return Err(error);
        }
        let reason = "even at the limit the pressure is used up before the part that holds it; lower the flow, widen a part, or \
             lower the pressure held";
        return Err(Error::Unreachable {
            quantity: unknown,
            min: low,
            max: high,
            reason,
        });
    }
    if excess(low)? > 0.0 {
        let reason = "the feed alone would drive more than the set flow; raise the pressure held or the flow";
        return Err(Error::Unreachable {
            quantity: unknown,
            min: low,
            max: high,
            reason,
        });
    }
    let found = bracketed("balance of the path", low, high, CLOSED, excess)?;
    let closed = trial(found)?;
    if closed.excess.abs() <= closed.open() {
        return Ok(closed);
    }
    // The excess jumps where trials begin to leave the dense phase: the balance would close only beyond, and the fault of the
    // trials there says why it does not.
    match trial(found - STEP_ASIDE * (high - low)) {
        Err(error) => Err(error),
        Ok(aside) => Err(Error::NoConvergence {
            solver: "balance of the path",
            iterations: CLOSED.iterations,
            residual: aside.excess,
            tolerance: closed.open(),
        }),
    }
}

/// The excess of a trial; a trial that leaves the dense phase or runs out of pressure has too little of it.
fn survive(trial: Result<Trial>) -> Result<f64> {
    match trial {
        Ok(trial) => Ok(trial.excess),
        Err(error) if runs_out(error.root()) => Ok(EXHAUSTED),
        Err(error) => Err(error),
    }
}

fn runs_out(error: &Error) -> bool {
    match error {
        Error::PhaseChange { .. } | Error::Choked { .. } | Error::FlowReversed { .. } => true,
        Error::OutOfRange {
            quantity: Quantity::Pressure | Quantity::Density,
            value,
            min,
            ..
        } => value < min,
        Error::Domain {
            quantity: Quantity::Pressure | Quantity::PressureDrop,
            value,
            ..
        } => *value <= 0.0,
        _ => false,
    }
}
