//! Where the stream divides: a branch takes what the pressure at its tee drives through it, the rest goes on.

use fluid::{Error, Quantity, Result};

use super::march::{Part, Pass, march};
use super::solve::{close_flow, holder, trial_along};
use crate::fluid;
use crate::hardware::{Fact, Outlet, Stream, Surroundings};

/// Words of the results at a tee.
const INTO_BRANCH: &str = "mass flow rate into the branch";
const SHARE: &str = "share of the stream that the branch takes";
/// Smallest share of the stream that goes on while the pressures are sought, so that a branch that could take all leaves the balance
/// of the path a sense; an answer with less is refused.
const LEAST: f64 = 1e-6;

/// Mass flow rate in kg/s into a branch from a stream that reaches its tee: the one that closes the balance of the part that holds the
/// pressure there, as for a whole path.
fn flow(branch: &[Part], arriving: &Stream, surroundings: &Surroundings<'_>) -> Result<f64> {
    let holder = holder(branch)?;
    let closed = close_flow(|mass_flow_rate| {
        let stream = Stream {
            mass_flow_rate,
            ..arriving.clone()
        };
        trial_along(branch, holder, stream, surroundings)
    })?;
    let first = closed.streams.first();
    first
        .map(|stream| stream.mass_flow_rate)
        .ok_or(Error::Internal {
            place: "path::branch, a trial without a stream",
        })
}

/// What goes on behind a tee, while the pressures of the path are sought.
pub(super) fn kept(
    branch: &[Part],
    arriving: Stream,
    surroundings: &Surroundings<'_>,
) -> Result<Stream> {
    if branch.is_empty() {
        return Ok(arriving);
    }
    let into = flow(branch, &arriving, surroundings)?;
    let least = LEAST * arriving.mass_flow_rate;
    Ok(Stream {
        mass_flow_rate: (arriving.mass_flow_rate - into).max(least),
        ..arriving
    })
}

/// What leaves a part once its branch is fed, and the passages along the branch.
///
/// Error 402 if the branch would take all that arrives.
pub(super) fn split(
    branch: &[Part],
    mut outlet: Outlet,
    surroundings: &Surroundings<'_>,
) -> Result<(Outlet, Vec<Pass>)> {
    if branch.is_empty() {
        return Ok((outlet, Vec::new()));
    }
    // The bands are followed along the main line.
    let surroundings = &Surroundings {
        solute: None,
        ..*surroundings
    };
    let arriving = outlet.stream.mass_flow_rate;
    let into = flow(branch, &outlet.stream, surroundings)?;
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
    let passes = march(branch, stream, surroundings)?;
    outlet.stream.mass_flow_rate = arriving - into;
    outlet.facts.extend([
        Fact::new(INTO_BRANCH, Quantity::MassFlowRate, into),
        Fact::new(SHARE, Quantity::Ratio, into / arriving),
    ]);
    Ok((outlet, passes))
}
