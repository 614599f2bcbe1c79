//! Borders of the phases as states know them: margins against a second phase, nearness to the critical region.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

mod boundary;
mod isothermal;
mod locus;
mod mixing;
mod pseudo_critical;

use crate::error::Result;
use crate::fluids::FluidRecord;
use crate::notice::{Notice, NoticeCode};
use crate::quantity::Quantity;
use crate::state::{Fluid, State};
use crate::units::BAR;

pub use boundary::{BoundaryKind, Flash, FlashPhase, PhaseBoundary};
pub use isothermal::{
    IsothermalDiagram, ThreePhaseLine, TieLine, TieLineEnd, TwoPhaseRegion,
    isothermal_phase_diagram,
};
pub use locus::{
    CriticalLine, CriticalLineBranch, CriticalLineEnd, CriticalLineKind, critical_locus,
};
pub use pseudo_critical::PseudoCritical;

/// Compressibility in 1/Pa above which a state counts as near the pseudo-critical line: the density then moves by more than
/// 2 % for each bar (common practice, no source).
pub const NEAR_CRITICAL_COMPRESSIBILITY: f64 = 0.02 / BAR;

/// Models that belong to a line or to the solid, not to a fluid state.
const OF_LINES: &[&str] = &[
    "surface tension",
    "solid",
    "melting line",
    "sublimation line",
];

impl Fluid {
    /// Pressure p in Pa by which a state lies above the pressure where a second phase appears at its temperature.
    ///
    /// Infinite where no second phase appears at any pressure of the range: of a substance at and above its critical
    /// temperature. Negative in two phases, where it counts from the pressure that brings back one phase, and for a vapour,
    /// where it counts from the vapour pressure or the dew point; zero on the border itself. Errors as [`State::from_tp`].
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // Liquid at 5 degC and 60 bar lies above its vapour pressure of 39.7 bar.
    /// assert!((fluid.single_phase_margin(278.15, 60e5)? / 1e5 - 20.3).abs() < 0.1);
    /// // Above the critical temperature no pressure brings a second phase.
    /// assert_eq!(fluid.single_phase_margin(313.15, 150e5)?, f64::INFINITY);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn single_phase_margin(&self, temperature: f64, pressure: f64) -> Result<f64> {
        State::from_tp(self, temperature, pressure)?.single_phase_margin()
    }
}

impl State {
    /// As [`Fluid::single_phase_margin`], for this state.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// // How far the liquid in the pump head is from boiling.
    /// let head = State::from_tp(&co2, 278.15, 5.5e6)?;
    /// let boiling = co2.saturation_at_temperature(278.15)?.pressure;
    /// assert!((head.single_phase_margin()? - (5.5e6 - boiling)).abs() < 1e-3);
    /// assert_eq!(State::from_tp(&co2, 313.15, 15e6)?.single_phase_margin()?, f64::INFINITY);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn single_phase_margin(&self) -> Result<f64> {
        if let Some(mixed) = self.of_model().fluid().mixed() {
            return boundary::pressure_margin(mixed, self.of_model());
        }
        let need = "its phases are not known";
        let fluid = self.fluid().pure_for(Quantity::SinglePhaseMargin, need)?;
        let temperature = self.temperature();
        if let Some((bubble, dew)) = fluid.bubble_and_dew_pressure(temperature) {
            let border = if self.pressure() >= bubble {
                bubble
            } else {
                dew
            };
            return Ok(self.pressure() - border);
        }
        if temperature >= fluid.helmholtz().dome_top.temperature {
            return Ok(f64::INFINITY);
        }
        let border = match fluid.solid() {
            Some(solid) if temperature < fluid.triple_temperature() => {
                let found = solid.sublimation(fluid.helmholtz(), temperature)?;
                found.solid.pressure
            }
            _ => fluid.coexistence_at_temperature(temperature)?.pressure,
        };
        Ok(self.pressure() - border)
    }

    /// Whether it is known without a search that no second phase appears within a pressure in Pa above and below this state.
    ///
    /// False says nothing: the state may be in two phases, or far from a second one. Known of two substances that mix in all
    /// proportions at this temperature and these pressures.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// // Of one substance nothing is known without a search.
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// assert!(!state.is_known_single_within(5e5));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn is_known_single_within(&self, pressure: f64) -> bool {
        let state = self.of_model();
        let mixture = state.fluid().mixed().filter(|_| state.fluid().is_mixture());
        mixture.is_some_and(|mixed| mixed.is_clear_within(state, pressure))
    }

    /// Whether small errors of temperature or pressure become large errors of density here.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// assert!(State::from_tp(&co2, 305.0, 7.5e6)?.is_near_critical());
    /// assert!(!State::from_tp(&co2, 313.15, 15e6)?.is_near_critical());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn is_near_critical(&self) -> bool {
        self.isothermal_compressibility()
            .is_ok_and(|kappa| kappa > NEAR_CRITICAL_COMPRESSIBILITY)
            && self
                .fluid()
                .critical_point()
                .is_ok_and(|critical| self.density() > 0.3 * critical.density)
    }

    /// The doubts that belong to the state itself.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, NoticeCode, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let near = State::from_tp(&co2, 305.0, 7.5e6)?.notices();
    /// assert_eq!(near[0].code, NoticeCode::NearCritical);
    /// assert!(State::from_tp(&co2, 313.15, 15e6)?.notices().is_empty());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn notices(&self) -> Vec<Notice> {
        let soft = self.is_near_critical().then(|| self.softness());
        let state = self.of_model();
        let of_mixture = state.fluid().mixed().map(|mixed| mixed.notices(state));
        let of_models = self.extrapolations().into_iter();
        let all = soft.into_iter().chain(of_models);
        all.chain(of_mixture.into_iter().flatten()).collect()
    }

    /// One for each model of a state that is asked beyond its range, which only a fluid that extrapolates admits.
    fn extrapolations(&self) -> Vec<Notice> {
        let record = self.fluid().record().ok();
        let record = record.filter(|_| self.fluid().is_extrapolating());
        let models = record.into_iter().flat_map(FluidRecord::models);
        models
            .filter(|model| !OF_LINES.contains(&model.subject))
            .filter(|model| !model.valid.contains(self.temperature(), self.pressure()))
            .map(|model| {
                let valid = model.valid;
                let (low, high) = (valid.temperature_min, valid.temperature_max);
                let text = format!(
                    "{}: {} is stated from {low} to {high} K and up to {} MPa; its uncertainty here is unknown",
                    model.subject,
                    model.name,
                    valid.pressure_max / 1e6
                );
                Notice::new(NoticeCode::Extrapolated, text)
            })
            .collect()
    }

    fn softness(&self) -> Notice {
        let percent = self.isothermal_compressibility().unwrap_or(f64::NAN) * BAR * 100.0;
        let text = format!(
            "near the pseudo-critical line: the density moves by {percent:.1} % for each bar"
        );
        Notice::new(NoticeCode::NearCritical, text).about(Quantity::Density)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::from_celsius;

    fn co2() -> Fluid {
        Fluid::new("carbon dioxide").unwrap()
    }

    /// Vapour pressure 60.03 bar at 22 degC: independent computation with CoolProp 8.0.0 (Span and Wagner 1996).
    #[test]
    fn the_margin_is_counted_from_the_vapour_pressure() {
        let margin = co2()
            .single_phase_margin(from_celsius(22.0), 100.0 * BAR)
            .unwrap();
        assert!((margin / BAR - (100.0 - 60.03)).abs() < 0.01);
        assert!(
            co2()
                .single_phase_margin(from_celsius(22.0), 50.0 * BAR)
                .unwrap()
                < 0.0
        );
        assert_eq!(
            co2()
                .single_phase_margin(from_celsius(40.0), 50.0 * BAR)
                .unwrap(),
            f64::INFINITY
        );
    }

    /// Below the triple point the border is the sublimation line, on which a mixture of solid and vapour lies.
    #[test]
    fn the_margin_goes_on_below_the_triple_point() {
        let expanded = |degc, bar| {
            State::from_tp(&co2(), from_celsius(degc), bar * BAR)
                .and_then(|state| state.expand_to(101_325.0))
                .unwrap()
        };
        assert!(expanded(40.0, 150.0).single_phase_margin().unwrap().abs() < 1e-6);
        let vapour = expanded(100.0, 200.0);
        assert!(vapour.temperature() < co2().triple_temperature().unwrap());
        assert!((-0.5 * BAR..-0.1 * BAR).contains(&vapour.single_phase_margin().unwrap()));
    }

    #[test]
    fn soft_states_carry_a_notice() {
        let notices = |degc, bar| {
            State::from_tp(&co2(), from_celsius(degc), bar * BAR)
                .unwrap()
                .notices()
        };
        assert_eq!(notices(35.0, 80.0)[0].code, NoticeCode::NearCritical);
        assert!(notices(40.0, 150.0).is_empty());
        assert!(notices(40.0, 1.0).is_empty());
    }
}
