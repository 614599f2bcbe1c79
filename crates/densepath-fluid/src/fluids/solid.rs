//! The shape of the blocks on the solid and its lines in a substance's data file.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use serde::Deserialize;

use super::record::{Range, Source, SumRecord};

/// Gibbs energy of a solid in the form of Jäger and Span 2012.
///
/// ```
/// use densepath_fluid::Fluid;
/// // Jäger and Span 2012.
/// let solid = Fluid::new("carbon dioxide")?.record()?.solid.as_ref();
/// assert!(solid.is_some_and(|solid| solid.source.doi == "10.1021/je2011677"));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SolidRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where it was published.
    pub source: Source,
    /// Range stated by the authors.
    pub valid: Range,
    /// What is known of the uncertainty.
    pub uncertainty: String,
    /// Gas constant used, in J/(mol K).
    #[serde(rename = "gas_constant / (J/(mol K))")]
    pub gas_constant: f64,
    /// Reference temperature T_0 in K.
    #[serde(rename = "T_0 / K")]
    pub temperature_reference: f64,
    /// Reference pressure p_0 in Pa.
    #[serde(rename = "p_0 / Pa")]
    pub pressure_reference: f64,
    /// Constants g_0 to g_10.
    pub g: [f64; 11],
    /// Constants of the thermal expansion f_alpha, g_0 to g_8.
    pub g_alpha: [f64; 9],
    /// Constants of the compressibility K, g_0 to g_2.
    pub g_kappa: [f64; 3],
    /// Exponent n of the pressure.
    pub n: f64,
    /// Molar enthalpy of fusion at the triple point, which fixes the zero of enthalpy and entropy, in J/mol.
    #[serde(rename = "molar_enthalpy_of_fusion / (J/mol)")]
    pub molar_enthalpy_of_fusion: f64,
}

/// A line of the solid in the p,T plane.
///
/// Melting: `p/p_t = 1 + sum n (T/T_t - 1)^t + sum n ((T/T_t)^t - 1)`. Sublimation: `ln(p/p_t) = T_t/T sum n (1 - T/T_t)^t`.
///
/// ```
/// use densepath_fluid::{Fluid, eos::lines::Line};
/// let line = Fluid::new("carbon dioxide")?.record()?.sublimation_line.as_ref();
/// assert!(line.is_some_and(|line| Line::sublimation(line).pressure(200.0).is_ok()));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where it was published.
    pub source: Source,
    /// Range.
    pub valid: Range,
    /// What is known of the uncertainty.
    pub uncertainty: String,
    /// Temperature of the triple point in K.
    #[serde(rename = "T_triple / K")]
    pub temperature_triple: f64,
    /// Pressure of the triple point in Pa.
    #[serde(rename = "p_triple / Pa")]
    pub pressure_triple: f64,
    /// The sum, of melting the first one.
    #[serde(default)]
    pub terms: SumRecord,
    /// The second sum of melting.
    #[serde(default)]
    pub powers: SumRecord,
}
