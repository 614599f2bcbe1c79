//! The phases of two substances at one temperature, over composition and pressure.

pub use crate::eos::equilibrium::TieLineEnd;
use crate::eos::equilibrium::{TieLine as Pair, TwoPhaseLine, isothermal_phases};
use crate::error::{Error, Result, within};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;
use crate::state::{CriticalPoint, Fluid, Mixed, ModelChoice};

/// Everything in which two substances part at one temperature.
///
/// ```
/// # use densepath_fluid::{ModelChoice, isothermal_phase_diagram};
/// let diagram = isothermal_phase_diagram("carbon dioxide", "methanol", 313.15, ModelChoice::Best)?;
/// assert_eq!(diagram.temperature, 313.15);
/// // Liquid and vapour: one region, from the boiling of methanol to a critical point near 81 bar.
/// assert_eq!(diagram.regions.iter().filter(|region| !region.is_of_liquids).count(), 1);
/// assert!((diagram.critical_points[0].1.pressure / 1e5 - 81.0).abs() < 3.0);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct IsothermalDiagram {
    /// Temperature T in K.
    pub temperature: f64,
    /// The regions of two phases, each by its tie lines.
    pub regions: Vec<TwoPhaseRegion>,
    /// The pressures at which three phases meet.
    pub three_phase_lines: Vec<ThreePhaseLine>,
    /// The states in which liquid and vapour have one composition.
    pub azeotropes: Vec<TieLine>,
    /// The critical points at which regions end, each with its amount fraction of the second substance.
    pub critical_points: Vec<(f64, CriticalPoint)>,
}

/// A region of two phases.
///
/// ```
/// # use densepath_fluid::{ModelChoice, isothermal_phase_diagram};
/// let diagram = isothermal_phase_diagram("carbon dioxide", "methanol", 313.15, ModelChoice::Best)?;
/// assert!(!diagram.regions[0].is_of_liquids && diagram.regions[0].tie_lines.len() > 10);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct TwoPhaseRegion {
    /// Whether both phases are liquids, which is so where even the thinner one is denser than its substances at their critical
    /// points.
    pub is_of_liquids: bool,
    /// Where it begins and where it ends.
    pub ends: (TieLineEnd, TieLineEnd),
    /// Its tie lines, in order; each phase keeps its place along the region.
    pub tie_lines: Vec<TieLine>,
}

/// Two phases in equilibrium.
///
/// ```
/// # use densepath_fluid::{ModelChoice, isothermal_phase_diagram};
/// let diagram = isothermal_phase_diagram("carbon dioxide", "methanol", 313.15, ModelChoice::Best)?;
/// // The thinner phase has less methanol, on every line.
/// for line in &diagram.regions[0].tie_lines {
///     let thin = usize::from(line.densities[1] < line.densities[0]);
///     assert!(line.amount_fractions[thin] <= line.amount_fractions[1 - thin]);
/// }
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TieLine {
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Amount fractions of the second substance in both phases.
    pub amount_fractions: [f64; 2],
    /// Densities of both phases in kg/m3.
    pub densities: [f64; 2],
}

/// Three phases in equilibrium.
///
/// ```
/// # use densepath_fluid::{ModelChoice, isothermal_phase_diagram};
/// let diagram = isothermal_phase_diagram("carbon dioxide", "methanol", 313.15, ModelChoice::Best)?;
/// // Carbon dioxide and methanol make no two liquids.
/// assert!(diagram.three_phase_lines.is_empty());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThreePhaseLine {
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Amount fractions of the second substance in the phases, rising.
    pub amount_fractions: [f64; 3],
    /// Densities of the same phases in kg/m3.
    pub densities: [f64; 3],
}

/// The fluid phases of two substances at a temperature T in K, from 1 kPa to the highest pressure of the range of their mixtures.
///
/// Every line is followed from the boiling of a substance, from the highest pressure or from a line of three phases; a region
/// that touches none of them, an isle, is not seen. Solids are left out.
///
/// Error 102 outside the temperatures of the range, 202 if the pair has no parameters.
///
/// *Uncertainty*: that of the model. *Source*: the conditions of equilibrium, followed by arc length; critical points by the
/// conditions of Heidemann and Khalil, AIChE J. 26, 769 (1980), doi 10.1002/aic.690260510.
///
/// ```
/// use densepath_fluid::{ModelChoice, isothermal_phase_diagram};
/// let found = isothermal_phase_diagram("carbon dioxide", "ethane", 250.0, ModelChoice::Best)?;
/// assert_eq!(found.azeotropes.len(), 1);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn isothermal_phase_diagram(
    first: &str,
    second: &str,
    temperature: f64,
    choice: ModelChoice,
) -> Result<IsothermalDiagram> {
    let fluid = Fluid::mixture_with_model(&[(first, 0.5), (second, 0.5)], choice)?;
    let missing = || Error::MissingModel {
        property: Quantity::AmountFraction,
        fluid: fluid.name().to_owned(),
        need: "two different substances",
    };
    let mixed = fluid.mixed().ok_or_else(missing)?;
    let range = fluid.range();
    let (low, high) = (range.temperature_min, range.temperature_max);
    within(Quantity::Temperature, temperature, low, high, fluid.name())?;
    let found = isothermal_phases(mixed.model(), temperature, (LOWEST, range.pressure_max))?;
    let regions = found.lines.iter().map(|line| region(&fluid, mixed, line));
    Ok(IsothermalDiagram {
        temperature,
        regions: regions.collect::<Result<_>>()?,
        three_phase_lines: found
            .three_phases
            .iter()
            .map(|three| ThreePhaseLine {
                pressure: three.pressure,
                amount_fractions: three.fractions,
                densities: [0, 1, 2]
                    .map(|k| density(mixed, three.fractions[k], three.molar_densities[k])),
            })
            .collect(),
        azeotropes: found
            .azeotropes
            .iter()
            .map(|pair| tie_line(mixed, pair))
            .collect(),
        critical_points: found
            .critical_points
            .iter()
            .map(|(x, point)| {
                let point = CriticalPoint {
                    temperature: point.temperature,
                    pressure: point.pressure,
                    density: density(mixed, *x, point.molar_density),
                    is_stable: point.is_stable,
                };
                (*x, point)
            })
            .collect(),
    })
}

/// Lowest pressure in Pa that is looked at.
const LOWEST: f64 = 1e3;

fn density(mixed: Mixed<'_>, fraction: f64, molar_density: f64) -> f64 {
    mixed.density_in(&[1.0 - fraction, fraction], molar_density)
}

fn tie_line(mixed: Mixed<'_>, pair: &Pair) -> TieLine {
    TieLine {
        pressure: pair.pressure,
        amount_fractions: pair.fractions,
        densities: [0, 1].map(|k| density(mixed, pair.fractions[k], pair.molar_densities[k])),
    }
}

fn region(fluid: &Fluid, mixed: Mixed<'_>, line: &TwoPhaseLine) -> Result<TwoPhaseRegion> {
    let lowest = line
        .points
        .iter()
        .min_by(|a, b| a.pressure.total_cmp(&b.pressure));
    let mut is_of_liquids = !line.points.is_empty();
    for (fraction, molar_density) in lowest
        .iter()
        .flat_map(|pair| pair.fractions.into_iter().zip(pair.molar_densities))
    {
        let phase = fluid.with_amount_fractions(&[1.0 - fraction, fraction])?;
        is_of_liquids &= phase
            .mixed()
            .is_none_or(|phase| phase.is_dense(molar_density));
    }
    Ok(TwoPhaseRegion {
        is_of_liquids,
        ends: line.ends,
        tie_lines: line
            .points
            .iter()
            .map(|pair| tie_line(mixed, pair))
            .collect(),
    })
}
