//! What the authors of a model state of its uncertainty, region by region.

use serde::Deserialize;

use crate::quantity::Quantity;

/// Uncertainty stated by the authors of a model, region by region.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RegionalUncertainty {
    /// What the numbers mean and where they stand.
    pub note: String,
    /// Coverage factor of the relative uncertainties below.
    pub coverage_factor: f64,
    /// Regions; the first that holds a state counts.
    #[serde(default)]
    pub regions: Vec<UncertaintyRegion>,
    /// Relative uncertainty outside all regions.
    pub elsewhere: f64,
}

impl RegionalUncertainty {
    /// Relative standard uncertainty in a phase at a temperature in K and a pressure in Pa.
    pub fn at(&self, temperature: f64, pressure: f64, phase: FluidPhase) -> f64 {
        first(&self.regions, temperature, pressure, phase).unwrap_or(self.elsewhere)
            / self.coverage_factor
    }
}

/// One region with its uncertainty.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UncertaintyRegion {
    /// The phase; left out where it holds for all.
    pub phase: Option<FluidPhase>,
    /// Lowest temperature in K.
    #[serde(rename = "T_min / K")]
    pub temperature_min: f64,
    /// Highest temperature in K.
    #[serde(rename = "T_max / K")]
    pub temperature_max: f64,
    /// Highest pressure in Pa.
    #[serde(rename = "p_max / Pa")]
    pub pressure_max: f64,
    /// Relative uncertainty.
    pub relative: f64,
}

impl UncertaintyRegion {
    fn contains(&self, temperature: f64, pressure: f64, phase: FluidPhase) -> bool {
        self.phase.is_none_or(|stated| stated == phase)
            && (self.temperature_min..=self.temperature_max).contains(&temperature)
            && pressure <= self.pressure_max
    }
}

/// The fluid phases that sources tell apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FluidPhase {
    /// Below the critical temperature, above the vapour pressure.
    Liquid,
    /// Below the critical pressure and not liquid.
    Vapour,
    /// Above both the critical temperature and the critical pressure.
    Supercritical,
}

/// Uncertainty of an equation of state, for each property that its authors speak of; none outside the regions.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EquationUncertainty {
    /// What the numbers mean and where they stand.
    pub note: String,
    /// Coverage factor of the relative uncertainties below.
    pub coverage_factor: f64,
    /// Of the density.
    #[serde(default)]
    pub density: Vec<UncertaintyRegion>,
    /// Of the speed of sound.
    #[serde(default)]
    pub speed_of_sound: Vec<UncertaintyRegion>,
    /// Of the specific isobaric heat capacity.
    #[serde(default)]
    pub specific_isobaric_heat_capacity: Vec<UncertaintyRegion>,
    /// Of the vapour pressure.
    #[serde(default)]
    pub vapour_pressure: Vec<VapourPressureRegion>,
}

/// Temperatures between which an uncertainty of the vapour pressure is stated.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VapourPressureRegion {
    /// Lowest temperature in K.
    #[serde(rename = "T_min / K")]
    pub temperature_min: f64,
    /// Highest temperature in K.
    #[serde(rename = "T_max / K")]
    pub temperature_max: f64,
    /// Relative uncertainty.
    pub relative: f64,
}

impl EquationUncertainty {
    /// Relative standard uncertainty of the vapour pressure at a temperature in K; nothing where none is stated.
    pub fn of_vapour_pressure(&self, temperature: f64) -> Option<f64> {
        let holds = |region: &&VapourPressureRegion| {
            (region.temperature_min..=region.temperature_max).contains(&temperature)
        };
        let region = self.vapour_pressure.iter().find(holds)?;
        Some(region.relative / self.coverage_factor)
    }

    /// The regions stated for a property; none for one that the source does not speak of.
    pub fn regions(&self, property: Quantity) -> &[UncertaintyRegion] {
        match property {
            Quantity::Density => &self.density,
            Quantity::SpeedOfSound => &self.speed_of_sound,
            Quantity::SpecificIsobaricHeatCapacity => &self.specific_isobaric_heat_capacity,
            _ => &[],
        }
    }

    /// Relative standard uncertainty of a property in a phase at a temperature in K and a pressure in Pa; nothing where none is
    /// stated.
    pub fn at(
        &self,
        property: Quantity,
        temperature: f64,
        pressure: f64,
        phase: FluidPhase,
    ) -> Option<f64> {
        let stated = first(self.regions(property), temperature, pressure, phase)?;
        Some(stated / self.coverage_factor)
    }
}

/// The relative uncertainty of the first region that holds a state.
fn first(
    regions: &[UncertaintyRegion],
    temperature: f64,
    pressure: f64,
    phase: FluidPhase,
) -> Option<f64> {
    let mut holding = regions
        .iter()
        .filter(|region| region.contains(temperature, pressure, phase));
    Some(holding.next()?.relative)
}
