//! The critical lines of two substances.

use crate::eos::equilibrium::{LocusBounds, critical_locus as traced};
pub use crate::eos::equilibrium::{LocusEnd as CriticalLineEnd, LocusKind as CriticalLineKind};
use crate::error::{Error, Result};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;
use crate::state::{CriticalPoint, Fluid, ModelChoice};

/// The critical lines of two substances.
///
/// ```
/// use densepath_fluid::{ModelChoice, critical_locus, phase::CriticalLineKind};
/// let line = critical_locus("carbon dioxide", "ethanol", ModelChoice::Best)?;
/// // One line joins the critical points of both.
/// assert_eq!(line.kind, CriticalLineKind::Joined);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CriticalLine {
    /// How the lines hang together.
    pub kind: CriticalLineKind,
    /// The lines: first that from the first substance, then, if it does not end there, that from the second, then others.
    pub branches: Vec<CriticalLineBranch>,
}

/// One line, point by point.
///
/// ```
/// use densepath_fluid::{ModelChoice, critical_locus};
/// let branch = &critical_locus("carbon dioxide", "ethanol", ModelChoice::Best)?.branches[0];
/// assert_eq!(branch.points.len(), branch.amount_fraction.len());
/// // From nearly no ethanol to nothing else.
/// assert!(branch.amount_fraction[0] < 0.01 && branch.amount_fraction.last().is_some_and(|last| *last > 0.99));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CriticalLineBranch {
    /// Where it begins and where it ends.
    pub ends: (CriticalLineEnd, CriticalLineEnd),
    /// Amount fraction of the second substance at each point.
    pub amount_fraction: Vec<f64>,
    /// The critical point of that composition. Of three in a row one is tested for stability, and where two that are tested differ the
    /// place of the change is sought; those between two that agree have their answer.
    pub points: Vec<CriticalPoint>,
}

/// Every critical line of two substances told by their names, within the range of their mixtures.
///
/// Error 202 if the pair has no parameters.
///
/// *Source*: conditions of Heidemann and Khalil, AIChE J. 26, 769 (1980), doi 10.1002/aic.690260510, followed by arc length.
///
/// ```
/// use densepath_fluid::{ModelChoice, critical_locus};
/// let points = &critical_locus("carbon dioxide", "ethanol", ModelChoice::Best)?.branches[0].points;
/// // From 304.13 K (Span and Wagner 1996) to 514.71 K (Schroeder, Penoncello and Schroeder 2014), over a pressure above both.
/// assert!((points[0].temperature - 304.13).abs() < 0.1);
/// assert!(points.last().is_some_and(|last| (last.temperature - 514.71).abs() < 0.1));
/// assert!(points.iter().any(|point| point.pressure > 14e6));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn critical_locus(first: &str, second: &str, choice: ModelChoice) -> Result<CriticalLine> {
    let fluid = Fluid::mixture_with_model(&[(first, 0.5), (second, 0.5)], choice)?;
    let missing = || Error::MissingModel {
        property: Quantity::AmountFraction,
        fluid: fluid.name().to_owned(),
        need: "two different substances",
    };
    let mixed = fluid.mixed().ok_or_else(missing)?;
    let range = fluid.range();
    let bounds = LocusBounds {
        temperature_min: range.temperature_min,
        temperature_max: range.temperature_max,
        pressure_max: range.pressure_max,
    };
    let found = traced(mixed.model(), &bounds)?;
    let mut branches = Vec::with_capacity(found.branches.len());
    for branch in found.branches {
        let mut amount_fraction = Vec::with_capacity(branch.points.len());
        let mut points = Vec::with_capacity(branch.points.len());
        for place in branch.points {
            let x = place.amount_fraction.clamp(0.0, 1.0);
            amount_fraction.push(x);
            points.push(CriticalPoint {
                temperature: place.point.temperature,
                pressure: place.point.pressure,
                density: mixed.density_in(&[1.0 - x, x], place.point.molar_density),
                is_stable: place.point.is_stable,
            });
        }
        branches.push(CriticalLineBranch {
            ends: branch.ends,
            amount_fraction,
            points,
        });
    }
    Ok(CriticalLine {
        kind: found.kind,
        branches,
    })
}
