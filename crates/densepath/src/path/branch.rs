//! Where the stream divides: a branch takes what the pressure at its tee drives through it, the rest goes on.

use std::cell::RefCell;
use std::collections::BTreeMap;

use fluid::{Error, Quantity, Result};

use super::march::{Part, Pass, march};
use super::solve::{Start, close_flow, trial_along};
use super::watch::Watch;
use crate::fluid;
use crate::hardware::{Fact, Outlet, Stream, Surroundings};

/// Words of the results at a tee.
const INTO_BRANCH: &str = "mass flow rate into the branch";
const SHARE: &str = "share of the stream that the branch takes";
/// Smallest share of the stream that goes on while the pressures are sought, so that a branch that could take all leaves the balance
/// of the path a sense; an answer with less is refused.
const LEAST: f64 = 1e-6;

/// The tees of a path while it is solved: what may stop the work, and the flow into each branch that was found last, by the name of its
/// tee. The pressures of a search lie close together, and so do these flows; the march at its end meets the streams of its last trial.
pub(crate) struct Tees<'a> {
    watch: &'a Watch,
    last: RefCell<BTreeMap<String, Found>>,
}

/// A mass flow rate in kg/s into a branch.
struct Found {
    arriving: Stream,
    into: f64,
    /// Where the next search may begin.
    next: Option<Start>,
}

impl Found {
    /// Whether it was found for this very stream.
    fn is_of(&self, arriving: &Stream) -> bool {
        let numbers = |stream: &Stream| {
            let state = &stream.state;
            [stream.mass_flow_rate, state.temperature(), state.density()]
        };
        let fractions = |stream: &Stream| stream.state.fluid().amount_fractions().to_vec();
        numbers(&self.arriving) == numbers(arriving)
            && fractions(&self.arriving) == fractions(arriving)
    }
}

impl<'a> Tees<'a> {
    /// No flow known yet.
    pub(super) fn new(watch: &'a Watch) -> Self {
        Self {
            watch,
            last: RefCell::default(),
        }
    }

    /// Mass flow rate in kg/s into the branch of a part from the stream that leaves it: the one that closes the balance of the part
    /// that holds the pressure there, as for a whole path.
    fn flow(&self, tee: &Part, arriving: &Stream, around: &Surroundings<'_>) -> Result<f64> {
        let known = {
            let last = self.last.borrow();
            let found = last.get(&tee.name);
            if let Some(found) = found.filter(|found| found.is_of(arriving)) {
                return Ok(found.into);
            }
            found.and_then(|found| found.next)
        };
        let (closed, next) = close_flow(known, |mass_flow_rate| {
            self.watch.check()?;
            let stream = Stream {
                mass_flow_rate,
                ..arriving.clone()
            };
            trial_along(&tee.branch, stream, around, self)
        })?;
        let into = closed.delivered()?.mass_flow_rate;
        let found = Found {
            arriving: arriving.clone(),
            into,
            next: next.or(known),
        };
        self.last.borrow_mut().insert(tee.name.clone(), found);
        Ok(into)
    }
}

/// What goes on behind a part, while the pressures of the path are sought: all of it where the pressure tried is too low for the branch,
/// as below that of a regulator.
pub(super) fn kept(
    tee: &Part,
    arriving: Stream,
    surroundings: &Surroundings<'_>,
    tees: &Tees<'_>,
) -> Result<Stream> {
    if tee.branch.is_empty() {
        return Ok(arriving);
    }
    let into = match tees.flow(tee, &arriving, surroundings) {
        Err(Error::Unreachable { .. }) => 0.0,
        found => found?,
    };
    let least = LEAST * arriving.mass_flow_rate;
    Ok(Stream {
        mass_flow_rate: (arriving.mass_flow_rate - into).max(least),
        ..arriving
    })
}

/// What leaves a part once its branch is fed, and the passages along the branch. A share of what was injected has come to the tee, if the
/// injector lies before.
///
/// Error 402 if the branch would take all that arrives.
pub(super) fn split(
    tee: &Part,
    mut outlet: Outlet,
    injected_share: Option<f64>,
    surroundings: &Surroundings<'_>,
    tees: &Tees<'_>,
) -> Result<(Outlet, Vec<Pass>)> {
    if tee.branch.is_empty() {
        return Ok((outlet, Vec::new()));
    }
    // Before the injector there is no band to follow.
    let surroundings = &Surroundings {
        solute: surroundings.solute.filter(|_| injected_share.is_some()),
        ..*surroundings
    };
    let arriving = outlet.stream.mass_flow_rate;
    let into = tees.flow(tee, &outlet.stream, surroundings)?;
    if arriving - into <= LEAST * arriving {
        return Err(Error::Unreachable {
            quantity: Quantity::MassFlowRate,
            min: 0.0,
            max: arriving,
            reason: "the branch alone would take all that arrives at its tee: narrow or lengthen its restrictor, or raise the flow",
        });
    }
    let stream = Stream {
        mass_flow_rate: into,
        ..outlet.stream.clone()
    };
    let injected_share = injected_share.map(|share| share * into / arriving);
    let passes = march(&tee.branch, stream, injected_share, surroundings, tees)?;
    outlet.stream.mass_flow_rate = arriving - into;
    outlet.facts.extend([
        Fact::new(INTO_BRANCH, Quantity::MassFlowRate, into),
        Fact::new(SHARE, Quantity::Ratio, into / arriving),
    ]);
    Ok((outlet, passes))
}
