//! What is fitted for each pair, and how: `data/pairs/plan.json`.

use std::collections::BTreeMap;
use std::path::Path;

use densepath_fluid::fluids::binary::{DepartureRecord, ExcessRecord};
use serde::Deserialize;

/// The plans of all pairs, by the names of their files.
pub type Plans = BTreeMap<String, Plan>;

/// The plan of a pair.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Names of both substances.
    pub substances: [String; 2],
    /// Series kept apart to judge the fit by.
    #[serde(default)]
    pub kept_apart: Vec<String>,
    /// Series that contradict several others; shown, not fitted and not counted.
    #[serde(default)]
    pub left_out: Vec<String>,
    /// Compositions whose densities are kept apart.
    #[serde(default)]
    pub kept_apart_fractions: Vec<f64>,
    /// The multi-fluid equation; none where the published one stays or there is none.
    pub multi_fluid: Option<MultiFluidPlan>,
    /// The cubic equation: start of k_0, k_1/(100 K) and l.
    pub cubic: Option<[f64; 3]>,
    /// Whether the sizes of the deviations of its bubble pressures count in its fit, not their squares.
    #[serde(default)]
    pub cubic_by_sizes: bool,
    /// Temperature in K and pressure in Pa above which the pair is one phase at every composition.
    #[serde(default)]
    pub stable: Vec<[f64; 2]>,
    /// Temperature in K below which no state is asked to be one phase, since a substance is solid there.
    #[serde(default)]
    pub least_temperature: f64,
    /// The same just above the critical line, where a second summit would rise first; these weigh more.
    #[serde(default)]
    pub stable_along_line: Vec<[f64; 2]>,
    /// Temperatures in K at which the fluid is stable against small changes at every density of liquids under high pressure.
    #[serde(default)]
    pub stable_when_dense: Vec<f64>,
    /// Highest pressure in Pa at which that is asked; none for all, far beyond the measurements.
    pub stable_to: Option<f64>,
}

/// How the multi-fluid equation is fitted.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MultiFluidPlan {
    /// Start of the reducing parameters.
    pub start: [f64; 4],
    /// Whether smooth stand-ins take the common variables.
    pub smooth: bool,
    /// Where the start was published, an equation of a pair that parts into liquids: guides draw to that one, not to the cubic equation,
    /// and nothing is asked to mix.
    pub published: Option<String>,
    /// Relative uncertainty of the densities, which settles how the fit shares out its deviations.
    pub density_uncertainty: f64,
    /// Densities that the fit is drawn to where none were measured.
    pub density_guide: Option<DensityGuide>,
    /// The same from relative excess volumes given one by one.
    pub excess_volumes: Option<ExcessVolumes>,
    /// The departure; its coefficients are the start.
    #[serde(default)]
    pub departures: Vec<DepartureRecord>,
    /// More of them, each times twice the fraction of the second substance: they vanish with its square beside the first, so that
    /// there the reducing functions alone lead the critical line.
    #[serde(default)]
    pub steep_departures: Vec<DepartureRecord>,
    /// The excess Gibbs energy; its coefficients are the start.
    pub excess: Option<ExcessRecord>,
    /// How closely, relative to it, the second virial coefficient of the unlike pair is drawn to that of the cubic equation; where it
    /// is, what a gas holds is drawn closely too.
    pub virial_guide: Option<f64>,
    /// Points that the critical line is drawn to where none were measured.
    #[serde(default)]
    pub line_guide: Vec<LineGuide>,
    /// Where these points come from.
    #[serde(default, rename = "line_guide_source")]
    _line_guide_source: String,
    /// Points of the critical line, temperature in K, pressure in Pa and amount fraction of the first substance, on whose
    /// side of pure carbon dioxide one phase is asked for.
    #[serde(default)]
    pub beside_line: Vec<[f64; 3]>,
    /// Standard deviation of the coefficients, to which they are drawn back from their start.
    #[serde(default)]
    pub coefficient_spread: Option<f64>,
    /// Temperatures in K at which the critical line is drawn to that of the cubic equation.
    #[serde(default)]
    pub line_temperatures: Vec<f64>,
    /// How closely, as a relative uncertainty of the pressure.
    #[serde(default = "line_uncertainty")]
    pub line_uncertainty: f64,
    /// The same of its composition, as an uncertainty of the fraction; none where only the pressure counts.
    pub line_fraction_uncertainty: Option<f64>,
}

/// Densities by the relative excess volume of another pair.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DensityGuide {
    /// The pair whose multi-fluid equation is stored; none for the cubic equation of the pair itself.
    pub pair: Option<String>,
    /// Relative uncertainty of the densities, an estimate.
    pub uncertainty: f64,
}

/// Relative excess volumes of the pair by an equation that is not in this library.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExcessVolumes {
    /// Where they come from.
    #[serde(rename = "source")]
    _source: String,
    /// Relative uncertainty of the densities, an estimate.
    pub uncertainty: f64,
    /// Temperature in K, pressure in Pa, amount fraction of the first substance, and molar volume over that of both substances
    /// side by side.
    pub points: Vec<[f64; 4]>,
}

/// Relative uncertainty of a critical pressure of the cubic equation, an estimate.
fn line_uncertainty() -> f64 {
    0.05
}

/// A point that the critical line is drawn to.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineGuide {
    /// Temperature in K.
    pub temperature: f64,
    /// Pressure in Pa.
    pub pressure: f64,
    /// Amount fraction of the first substance at which the search starts.
    pub fraction: f64,
    /// Relative uncertainty of the pressure.
    pub uncertainty: f64,
    /// Uncertainty of the fraction; none where it only starts the search.
    pub fraction_uncertainty: Option<f64>,
    /// Molar density in mol/m3 where the line is to pass the critical density of the first substance far from its critical
    /// temperature, or not at all: the terms that make that point sharp would bend the line.
    pub molar_density: Option<f64>,
}

/// Reads the plans.
pub fn read(folder: &Path) -> Result<Plans, String> {
    let path = folder.join("plan.json");
    let text = std::fs::read_to_string(&path).map_err(|e| format!("plan.json: {e}"))?;
    serde_json::from_str(&text).map_err(|e| format!("plan.json: {e}"))
}
