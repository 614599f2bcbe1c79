//! The state of a fluid: fixed once by two variables, then asked for its properties.

mod fluid;
mod isentrope;
mod isobar;
mod isochore;
mod isotherm;
mod numbers;
mod pair;
mod properties;
mod pure;
mod solve;

pub use fluid::{CriticalPoint, Fluid, substances};

use crate::eos::solid::SolidPoint;
use crate::eos::{PointDerivatives, TauDerivatives};
use crate::error::Result;
use crate::fluids::uncertainty::FluidPhase;

/// Which phases a state consists of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Phase {
    /// Liquid: below the critical temperature and above the vapour pressure.
    Liquid,
    /// Gas or vapour: below the critical pressure and not liquid.
    Vapour,
    /// At or above both the critical temperature and the critical pressure.
    Supercritical,
    /// Liquid and vapour side by side.
    LiquidVapour,
    /// Solid and vapour side by side.
    SolidVapour,
    /// Solid alone.
    Solid,
}

impl Phase {
    /// Every phase.
    pub const ALL: &[Phase] = &[
        Phase::Liquid,
        Phase::Vapour,
        Phase::Supercritical,
        Phase::LiquidVapour,
        Phase::SolidVapour,
        Phase::Solid,
    ];

    /// The word used in reports.
    pub const fn name(self) -> &'static str {
        match self {
            Phase::Liquid => "liquid",
            Phase::Vapour => "vapour",
            Phase::Supercritical => "supercritical",
            Phase::LiquidVapour => "liquid + vapour",
            Phase::SolidVapour => "solid + vapour",
            Phase::Solid => "solid",
        }
    }

    /// Whether the fluid is one phase without solid.
    pub const fn is_single_fluid(self) -> bool {
        self.fluid().is_some()
    }

    /// The one fluid phase; nothing for a solid and for several phases.
    pub(crate) const fn fluid(self) -> Option<FluidPhase> {
        match self {
            Phase::Liquid => Some(FluidPhase::Liquid),
            Phase::Vapour => Some(FluidPhase::Vapour),
            Phase::Supercritical => Some(FluidPhase::Supercritical),
            _ => None,
        }
    }
}

/// The state of a fluid at one point; immutable.
#[derive(Debug, Clone)]
pub struct State {
    fluid: Fluid,
    temperature: f64,
    pressure: f64,
    density: f64,
    phase: Phase,
    content: Content,
}

/// What a state consists of.
#[derive(Debug, Clone)]
enum Content {
    /// One fluid phase with the derivatives of its Helmholtz energy.
    One {
        /// The part of the ideal gas, its dependence on density included.
        ideal: TauDerivatives,
        residual: PointDerivatives,
    },
    /// Two phases.
    Two(Box<TwoPhases>),
}

/// Two phases side by side.
#[derive(Debug, Clone)]
struct TwoPhases {
    dense: Dense,
    vapour: State,
    /// Mass fraction of the vapour.
    vapour_fraction: f64,
}

/// The denser of two phases.
#[derive(Debug, Clone)]
enum Dense {
    Liquid(State),
    Solid(SolidPoint),
}

/// Liquid and vapour in equilibrium, each as a state.
#[derive(Debug, Clone)]
pub struct Saturation {
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// The boiling liquid.
    pub liquid: State,
    /// The dry vapour.
    pub vapour: State,
}

impl State {
    /// The fluid.
    pub fn fluid(&self) -> &Fluid {
        &self.fluid
    }

    /// Temperature T in K.
    pub fn temperature(&self) -> f64 {
        self.temperature
    }

    /// Pressure p in Pa, absolute.
    pub fn pressure(&self) -> f64 {
        self.pressure
    }

    /// Density rho in kg/m3, of all phases together.
    pub fn density(&self) -> f64 {
        self.density
    }

    /// Which phases the state consists of.
    pub fn phase(&self) -> Phase {
        self.phase
    }

    /// Mass fraction of vapour: 1 for a vapour, 0 for a liquid, between for two phases; nothing above the critical point.
    pub fn vapour_fraction(&self) -> Option<f64> {
        match (&self.content, self.phase) {
            (Content::Two(two), _) => Some(two.vapour_fraction),
            (_, Phase::Vapour) => Some(1.0),
            (_, Phase::Liquid | Phase::Solid) => Some(0.0),
            _ => None,
        }
    }

    /// Mass fraction of solid.
    pub fn solid_fraction(&self) -> f64 {
        match &self.content {
            Content::One { .. } => 0.0,
            Content::Two(two) => match two.dense {
                Dense::Liquid(_) => 0.0,
                Dense::Solid(_) => 1.0 - two.vapour_fraction,
            },
        }
    }

    /// The liquid of a state of liquid and vapour.
    pub fn liquid(&self) -> Option<&State> {
        match &self.content {
            Content::One { .. } => None,
            Content::Two(two) => match &two.dense {
                Dense::Liquid(state) => Some(state),
                Dense::Solid(_) => None,
            },
        }
    }

    /// The solid of a state of solid and vapour.
    pub fn solid(&self) -> Option<&SolidPoint> {
        match &self.content {
            Content::Two(two) => match &two.dense {
                Dense::Solid(solid) => Some(solid),
                Dense::Liquid(_) => None,
            },
            Content::One { .. } => None,
        }
    }

    /// The vapour of a state of two phases.
    pub fn vapour(&self) -> Option<&State> {
        match &self.content {
            Content::One { .. } => None,
            Content::Two(two) => Some(&two.vapour),
        }
    }

    /// The state after throttling to a pressure in Pa: same enthalpy, solid included.
    ///
    /// *Valid* for a valve or orifice without heat exchange, once the velocity has died out.
    /// *Source*: first law for an adiabatic steady flow.
    pub fn expand_to(&self, pressure: f64) -> Result<State> {
        State::from_ph(&self.fluid, pressure, self.specific_enthalpy())
    }
}

#[cfg(test)]
mod every_fluid;
#[cfg(test)]
mod near_critical;
#[cfg(test)]
mod over_solid;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{BAR, from_celsius};
    use proptest::prelude::*;

    fn co2() -> Fluid {
        Fluid::new("carbon dioxide").unwrap()
    }

    /// Independent computation with CoolProp 8.0.0 (Span and Wagner 1996), density in kg/m3.
    #[test]
    fn density_agrees_with_an_independent_implementation() {
        for (degc, bar, density) in [
            (35.0, 80.0, 419.088),
            (40.0, 100.0, 628.612),
            (40.0, 150.0, 780.233),
            (60.0, 150.0, 604.092),
        ] {
            let state = State::from_tp(&co2(), from_celsius(degc), bar * BAR).unwrap();
            assert!(
                (state.density() - density).abs() < 6e-4,
                "{degc} degC, {bar} bar: {}",
                state.density()
            );
        }
    }

    /// Enthalpy 571.1 kJ/kg of sublimation and the auxiliary line give 0.2401, 0.1332, 0.1918 and 0.1718 in an independent
    /// computation with CoolProp 8.0.0; the Gibbs equation of the solid gives 572.9 kJ/kg and 194.658 K.
    #[test]
    fn throttled_fluid_freezes_in_part() {
        for (degc, bar, solid) in [
            (40.0, 150.0, 0.2401),
            (60.0, 150.0, 0.1332),
            (40.0, 100.0, 0.1918),
            (60.0, 200.0, 0.1718),
        ] {
            let end = State::from_tp(&co2(), from_celsius(degc), bar * BAR)
                .and_then(|state| state.expand_to(101_325.0))
                .unwrap();
            assert_eq!(end.phase(), Phase::SolidVapour);
            assert!(
                (end.solid_fraction() / solid - 1.0).abs() < 0.005,
                "{} {solid}",
                end.solid_fraction()
            );
            assert!((end.temperature() - 194.66).abs() < 0.01);
        }
        let warm = State::from_tp(&co2(), from_celsius(100.0), 150.0 * BAR).unwrap();
        let end = warm.expand_to(101_325.0).unwrap();
        assert_eq!((end.phase(), end.solid_fraction()), (Phase::Vapour, 0.0));
        // -28.2 degC in the same independent computation.
        assert!((end.temperature() - from_celsius(-28.2)).abs() < 0.05);
        assert!((end.specific_enthalpy() / warm.specific_enthalpy() - 1.0).abs() < 1e-12);
    }

    /// Independent computation: enthalpies of CoolProp 8.0.0 (Span and Wagner 1996, vapour extrapolated below the triple
    /// point) and of a separate evaluation of the Gibbs energy of Jäger and Span 2012: p in bar, T in degC, then the mass
    /// fraction of solid, or the temperature in degC of the vapour, at 101325 Pa.
    #[test]
    fn throttling_agrees_with_an_independent_computation() {
        let expanded = |degc: f64, bar: f64| {
            State::from_tp(&co2(), from_celsius(degc), bar * BAR)
                .and_then(|state| state.expand_to(101_325.0))
                .unwrap()
        };
        for (bar, degc, solid) in SOLID_FRACTIONS {
            let end = expanded(degc, bar);
            assert!((end.solid_fraction() - solid).abs() < 1e-7, "{bar} {degc}");
            assert!((end.temperature() - 194.6582).abs() < 5e-5);
        }
        for (bar, degc, celsius) in WARM_EXPANSIONS {
            let end = expanded(degc, bar);
            assert_eq!((end.phase(), end.solid_fraction()), (Phase::Vapour, 0.0));
            assert!(
                (end.temperature() - from_celsius(celsius)).abs() < 1e-5,
                "{bar} {degc}"
            );
        }
    }

    const SOLID_FRACTIONS: [(f64, f64, f64); 4] = [
        (150.0, 40.0, 0.23929421),
        (150.0, 60.0, 0.13272679),
        (100.0, 40.0, 0.19118907),
        (200.0, 60.0, 0.17118975),
    ];
    const WARM_EXPANSIONS: [(f64, f64, f64); 2] =
        [(200.0, 100.0, -73.801354), (200.0, 150.0, 45.164453)];

    #[test]
    fn the_boiling_liquid_of_the_triple_point_is_no_solid() {
        let fluid = co2();
        let temperature = fluid.triple_temperature().unwrap();
        let boiling = fluid.saturation_at_temperature(temperature).unwrap();
        let liquid = State::from_tp(&fluid, temperature, boiling.pressure).unwrap();
        assert_eq!(liquid.phase(), Phase::Liquid);
    }

    #[test]
    fn saturated_states_come_back_on_their_side_of_the_dome() {
        let fluid = co2();
        for step in 0..400 {
            let saturation = fluid
                .saturation_at_temperature(217.0 + 0.2175 * f64::from(step))
                .unwrap();
            for (state, vapour_fraction) in [(&saturation.liquid, 0.0), (&saturation.vapour, 1.0)] {
                for back in [
                    State::from_ph(&fluid, saturation.pressure, state.specific_enthalpy()).unwrap(),
                    State::from_ps(&fluid, saturation.pressure, state.specific_entropy()).unwrap(),
                ] {
                    assert!(
                        (back.vapour_fraction().unwrap() - vapour_fraction).abs() < 1e-8,
                        "{back:?}"
                    );
                    assert!((back.density() / state.density() - 1.0).abs() < 1e-7);
                }
            }
        }
    }

    #[test]
    fn frozen_states_are_refused() {
        assert_eq!(State::from_tp(&co2(), 220.0, 40e6).unwrap_err().code(), 303);
    }

    #[test]
    fn bad_input_names_the_limit() {
        let fluid = co2();
        for (temperature, pressure, code) in [
            (f64::NAN, 1e7, 101),
            (300.0, f64::INFINITY, 101),
            (300.0, -1.0, 101),
            (40.0, 150e5, 102),
            (313.15, 9e8, 102),
            (313.15, 150.0, 102),
        ] {
            assert_eq!(
                State::from_tp(&fluid, temperature, pressure)
                    .unwrap_err()
                    .code(),
                code
            );
        }
    }

    proptest! {
        #[test]
        fn any_pair_of_variables_gives_the_same_state(temperature in 217.0..400.0, log_pressure in 4.0..7.6) {
            let fluid = co2();
            prop_assume!(10f64.powf(log_pressure) < fluid.melting_pressure(temperature));
            let state = State::from_tp(&fluid, temperature, 10f64.powf(log_pressure)).unwrap();
            let density = state.density();
            let others = [
                State::from_t_rho(&fluid, temperature, density).unwrap(),
                State::from_ph(&fluid, state.pressure(), state.specific_enthalpy()).unwrap(),
                State::from_ps(&fluid, state.pressure(), state.specific_entropy()).unwrap(),
            ];
            // Near the critical point the density is as soft as the compressibility is large.
            let softness = 1.0 + state.pressure() * state.isothermal_compressibility().unwrap();
            for other in others {
                prop_assert!((other.density() / density - 1.0).abs() < 1e-10 * softness);
                prop_assert!((other.pressure() / state.pressure() - 1.0).abs() < 1e-9);
            }
        }

        #[test]
        fn heat_capacities_obey_their_difference(temperature in 217.0..400.0, log_pressure in 4.0..7.6) {
            let fluid = co2();
            prop_assume!(10f64.powf(log_pressure) < fluid.melting_pressure(temperature));
            let state = State::from_tp(&fluid, temperature, 10f64.powf(log_pressure)).unwrap();
            let expansivity = state.isobaric_expansivity().unwrap();
            let compressibility = state.isothermal_compressibility().unwrap();
            let expected = temperature * expansivity * expansivity / (compressibility * state.density());
            let cp = state.specific_isobaric_heat_capacity().unwrap();
            let difference = cp - state.specific_isochoric_heat_capacity().unwrap();
            prop_assert!((difference - expected).abs() < 1e-11 * cp);
        }
    }
}
