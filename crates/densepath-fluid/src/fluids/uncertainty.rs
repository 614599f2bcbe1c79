//! What the authors of a model state of its uncertainty, region by region.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use serde::Deserialize;

use crate::quantity::Quantity;

/// Uncertainty stated by the authors of a model, region by region.
///
/// ```
/// use densepath_fluid::{Fluid, Quantity, State};
/// // What the record says of a place is what the state tells.
/// let state = State::from_tp(&Fluid::new("carbon dioxide")?, 313.15, 150e5)?;
/// let relative = state.uncertainty(Quantity::DynamicViscosity)?;
/// assert!(relative > 0.0 && relative < 0.1);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
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
    ///
    /// ```
    /// use densepath_fluid::fluids::uncertainty::{FluidPhase, RegionalUncertainty};
    /// let stated = RegionalUncertainty { note: String::new(), coverage_factor: 2.0, regions: Vec::new(), elsewhere: 0.04 };
    /// // An expanded uncertainty of 4 % with k = 2 is a standard one of 2 %.
    /// assert!((stated.at(313.15, 150e5, FluidPhase::Supercritical) - 0.02).abs() < 1e-12);
    /// ```
    pub fn at(&self, temperature: f64, pressure: f64, phase: FluidPhase) -> f64 {
        first(&self.regions, temperature, pressure, phase).unwrap_or(self.elsewhere)
            / self.coverage_factor
    }
}

/// One region with its uncertainty.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let stated = &Fluid::new("carbon dioxide")?.record()?.reference_equation()?.uncertainty;
/// use densepath_fluid::Quantity;
/// assert!(stated.regions(Quantity::Density).iter().all(|region| region.relative > 0.0 && region.temperature_min < region.temperature_max));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
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
///
/// ```
/// # use densepath_fluid::Fluid;
/// let stated = &Fluid::new("carbon dioxide")?.record()?.reference_equation()?.uncertainty;
/// use densepath_fluid::{Quantity, fluids::uncertainty::FluidPhase};
/// assert!(stated.at(Quantity::Density, 313.15, 150e5, FluidPhase::Supercritical).is_some());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
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
///
/// ```
/// # use densepath_fluid::Fluid;
/// let stated = &Fluid::new("carbon dioxide")?.record()?.reference_equation()?.uncertainty;
/// assert!(!stated.density.is_empty() && stated.coverage_factor >= 1.0);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
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
    /// Where the authors' figures could not be read: what a comparison by this project bounds.
    #[serde(default)]
    pub compared: Vec<ComparedRecord>,
}

/// The largest deviation of a property from something independent that was fitted to measurements, along the saturation line.
///
/// ```
/// use densepath_fluid::Fluid;
/// let record = Fluid::new("methanol")?.record()?;
/// // Where nothing is stated a comparison bounds it, and says with what.
/// let compared = &record.reference_equation()?.uncertainty.compared;
/// assert!(!compared.is_empty() && compared.iter().all(|known| known.largest > 0.0 && !known.against.is_empty()));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ComparedRecord {
    /// Name of the quantity: the pressure, or a property of the boiling liquid.
    pub quantity: String,
    /// With what it was compared.
    pub against: String,
    /// Lowest temperature of the comparison in K.
    #[serde(rename = "T_min / K")]
    pub temperature_min: f64,
    /// Highest temperature of the comparison in K.
    #[serde(rename = "T_max / K")]
    pub temperature_max: f64,
    /// Largest relative deviation, taken for an expanded uncertainty with k = 2.
    pub largest: f64,
}

/// A relative standard uncertainty and where it comes from.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let stated = &Fluid::new("carbon dioxide")?.record()?.reference_equation()?.uncertainty;
/// use densepath_fluid::{Quantity, fluids::uncertainty::FluidPhase};
/// // Span and Wagner 1996 state 0.03 % to 0.05 % for densities up to 30 MPa.
/// let density = stated.at(Quantity::Density, 313.15, 150e5, FluidPhase::Supercritical);
/// assert!(density.is_some_and(|known| known.relative <= 5e-4 && known.compared_with.is_none()));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StatedUncertainty<'a> {
    /// Relative standard uncertainty.
    pub relative: f64,
    /// With what this project compared the model; nothing where the source of the model states the figure, or, if its note says
    /// so, an estimate stands in for it.
    pub compared_with: Option<&'a str>,
    /// Whether this project judges it, since no source states it and nothing was compared here.
    pub is_judged: bool,
}

/// Coverage factor of the largest deviation of a comparison.
const OF_COMPARISONS: f64 = 2.0;

/// Highest pressure in Pa to which what was compared along the saturation line speaks for the liquid: common practice, no source.
const NEAR_SATURATION: f64 = 1e7;

impl<'a> StatedUncertainty<'a> {
    /// Where the figure comes from, in words.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, Quantity};
    /// let boiling = Fluid::new("argon")?.saturation_at_temperature(100.0)?;
    /// let known = boiling.stated_uncertainty(Quantity::Pressure)?;
    /// assert!(known.basis().starts_with("largest deviation from the Wagner equation"));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn basis(&self) -> String {
        match self.compared_with {
            Some(with) => format!("largest deviation from {with}, taken for k = 2"),
            None if self.is_judged => {
                "judged by this project, since no source states it".to_owned()
            }
            None => "stated with the model".to_owned(),
        }
    }

    /// As the source of a model states it.
    pub(crate) fn of_source(relative: f64) -> Self {
        Self {
            relative,
            compared_with: None,
            is_judged: false,
        }
    }

    /// As this project judges it.
    pub(crate) fn judged(self) -> Self {
        Self {
            is_judged: true,
            ..self
        }
    }

    /// From the largest deviation of a comparison.
    pub(crate) fn from_comparison(largest: f64, against: &'a str) -> Self {
        Self {
            relative: largest / OF_COMPARISONS,
            compared_with: Some(against),
            is_judged: false,
        }
    }

    /// Whether a comparison along the saturation line between two temperatures in K speaks for a liquid at a pressure in Pa.
    pub(crate) fn speaks_for(
        (low, high): (f64, f64),
        temperature: f64,
        pressure: f64,
        phase: FluidPhase,
    ) -> bool {
        phase == FluidPhase::Liquid
            && (low..=high).contains(&temperature)
            && pressure <= NEAR_SATURATION
    }
}

/// Temperatures between which an uncertainty of the vapour pressure is stated.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let stated = &Fluid::new("carbon dioxide")?.record()?.reference_equation()?.uncertainty;
/// assert!(!stated.vapour_pressure.is_empty() && stated.vapour_pressure.iter().all(|region| region.relative > 0.0));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
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
    /// Relative standard uncertainty of the vapour pressure at a temperature in K; nothing where none is known.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let stated = &Fluid::new("carbon dioxide")?.record()?.reference_equation()?.uncertainty;
    /// assert!(stated.of_vapour_pressure(293.15).is_some_and(|known| known.relative < 1e-3));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn of_vapour_pressure(&self, temperature: f64) -> Option<StatedUncertainty<'_>> {
        let holds = |region: &&VapourPressureRegion| {
            (region.temperature_min..=region.temperature_max).contains(&temperature)
        };
        let stated = self.vapour_pressure.iter().find(holds);
        stated
            .map(|region| StatedUncertainty::of_source(region.relative / self.coverage_factor))
            .or_else(|| {
                let holds = |known: &&ComparedRecord| {
                    (known.temperature_min..=known.temperature_max).contains(&temperature)
                };
                let found = self.comparisons(Quantity::Pressure).find(holds)?;
                Some(StatedUncertainty::from_comparison(
                    found.largest,
                    &found.against,
                ))
            })
    }

    /// What comparisons are known of a quantity.
    fn comparisons(&self, quantity: Quantity) -> impl Iterator<Item = &ComparedRecord> {
        let about = move |known: &&ComparedRecord| known.quantity == quantity.name();
        self.compared.iter().filter(about)
    }

    /// Whether anything is known of a property.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let stated = &Fluid::new("carbon dioxide")?.record()?.reference_equation()?.uncertainty;
    /// use densepath_fluid::Quantity;
    /// assert!(stated.speaks_of(Quantity::SpeedOfSound) && !stated.speaks_of(Quantity::RefractiveIndex));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn speaks_of(&self, property: Quantity) -> bool {
        !self.regions(property).is_empty() || self.comparisons(property).next().is_some()
    }

    /// The regions stated for a property; none for one that the source does not speak of.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let stated = &Fluid::new("carbon dioxide")?.record()?.reference_equation()?.uncertainty;
    /// use densepath_fluid::Quantity;
    /// assert_eq!(stated.regions(Quantity::Density).len(), stated.density.len());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn regions(&self, property: Quantity) -> &[UncertaintyRegion] {
        match property {
            Quantity::Density => &self.density,
            Quantity::SpeedOfSound => &self.speed_of_sound,
            Quantity::SpecificIsobaricHeatCapacity => &self.specific_isobaric_heat_capacity,
            _ => &[],
        }
    }

    /// Relative standard uncertainty of a property in a phase at a temperature in K and a pressure in Pa; nothing where none is
    /// known.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let stated = &Fluid::new("carbon dioxide")?.record()?.reference_equation()?.uncertainty;
    /// use densepath_fluid::{Quantity, fluids::uncertainty::FluidPhase};
    /// // Of a viscosity an equation of state says nothing.
    /// assert!(stated.at(Quantity::DynamicViscosity, 313.15, 150e5, FluidPhase::Supercritical).is_none());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn at(
        &self,
        property: Quantity,
        temperature: f64,
        pressure: f64,
        phase: FluidPhase,
    ) -> Option<StatedUncertainty<'_>> {
        let stated = first(self.regions(property), temperature, pressure, phase);
        stated
            .map(|relative| StatedUncertainty::of_source(relative / self.coverage_factor))
            .or_else(|| {
                let holds = |known: &&ComparedRecord| {
                    let span = (known.temperature_min, known.temperature_max);
                    StatedUncertainty::speaks_for(span, temperature, pressure, phase)
                };
                let found = self.comparisons(property).find(holds)?;
                Some(StatedUncertainty::from_comparison(
                    found.largest,
                    &found.against,
                ))
            })
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

#[cfg(test)]
mod tests {
    use crate::fluids;

    #[test]
    fn comparisons_lie_along_the_saturation_line() {
        let mut compared = 0;
        for index in 0..fluids::count() {
            let Some(equation) = &fluids::record(index).unwrap().equation_of_state else {
                continue;
            };
            for known in &equation.uncertainty.compared {
                let (low, high) = (known.temperature_min, known.temperature_max);
                let name = &equation.name;
                assert!(
                    low > equation.triple_point.temperature - 1.0 && low < high,
                    "{name}: {low} K"
                );
                assert!(
                    high < equation.critical_point.temperature,
                    "{name}: {high} K"
                );
                compared += 1;
            }
        }
        assert!(compared > 10);
    }
}
