//! The state of a fluid: fixed once by two variables, then asked for its properties.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use alloc::sync::Arc;

pub(crate) mod bulk;
mod cells;
mod close;
mod fluid;
mod ideal_gas;
mod isentrope;
mod isobar;
mod isochore;
mod isotherm;
mod mixture;
mod numbers;
mod pair;
mod properties;
mod pure;
mod shift;
mod solve;
mod transition;

pub use fluid::{CriticalPoint, Fluid, substances};
pub use mixture::ModelChoice;
pub(crate) use mixture::{Constituent, Mixed};

use crate::eos::EnergyPoint;
use crate::eos::solid::SolidPoint;
use crate::error::Result;
use crate::fluids::uncertainty::FluidPhase;
use crate::num::once::OnceLock;

/// Which phases a state consists of.
///
/// ```
/// use densepath_fluid::{Fluid, Phase, State};
/// let co2 = Fluid::new("carbon dioxide")?;
/// let column = State::from_tp(&co2, 313.15, 15e6)?;
/// assert_eq!(column.phase(), Phase::Supercritical);
/// assert_eq!(State::from_tp(&co2, 278.15, 6e6)?.phase(), Phase::Liquid);
/// assert_eq!(column.expand_to(101_325.0)?.phase(), Phase::SolidVapour);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
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
    /// Two liquids side by side.
    LiquidLiquid,
    /// Two or more liquids and vapour side by side.
    LiquidLiquidVapour,
    /// A solid beside liquid.
    SolidLiquid,
    /// A solid beside liquid and vapour.
    SolidLiquidVapour,
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
        Phase::LiquidLiquid,
        Phase::LiquidLiquidVapour,
        Phase::SolidLiquid,
        Phase::SolidLiquidVapour,
    ];

    /// The word used in reports.
    ///
    /// ```
    /// assert_eq!(densepath_fluid::Phase::LiquidVapour.name(), "liquid + vapour");
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            Phase::Liquid => "liquid",
            Phase::Vapour => "vapour",
            Phase::Supercritical => "supercritical",
            Phase::LiquidVapour => "liquid + vapour",
            Phase::SolidVapour => "solid + vapour",
            Phase::Solid => "solid",
            Phase::LiquidLiquid => "liquid + liquid",
            Phase::LiquidLiquidVapour => "liquid + liquid + vapour",
            Phase::SolidLiquid => "solid + liquid",
            Phase::SolidLiquidVapour => "solid + liquid + vapour",
        }
    }

    /// Whether the fluid is one phase without solid.
    ///
    /// ```
    /// use densepath_fluid::Phase;
    /// assert!(Phase::Supercritical.is_single_fluid());
    /// assert!(!Phase::LiquidVapour.is_single_fluid() && !Phase::Solid.is_single_fluid());
    /// ```
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
///
/// ```
/// use densepath_fluid::{Fluid, State};
/// let co2 = Fluid::new("carbon dioxide")?;
/// let state = State::from_tp(&co2, 313.15, 15e6)?;
/// // An independent implementation of Span and Wagner 1996 has 780.233 kg/m3.
/// assert!((state.density() - 780.233).abs() < 1e-3);
/// // Any other pair of variables leads to the same state.
/// let same = State::from_ph(&co2, 15e6, state.specific_enthalpy())?;
/// assert!((same.temperature() - 313.15).abs() < 1e-8);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct State {
    fluid: Fluid,
    temperature: f64,
    pressure: f64,
    density: f64,
    /// None for one phase of a mixture, whose word is sought when it is asked for.
    phase: Option<Phase>,
    /// Whether the phase lies beside another one, where none is supercritical.
    is_beside: bool,
    content: Content,
    /// The state as the model has it, of a fluid whose volume is shifted.
    of_model: Option<Arc<State>>,
}

/// What a state consists of.
#[derive(Debug, Clone)]
enum Content {
    /// One fluid phase.
    One(Energy),
    /// Several phases, the solid first, then by falling density, or the solid alone.
    Several(Vec<Part>),
}

/// The derivatives of the Helmholtz energy of one fluid phase.
#[derive(Debug, Clone)]
enum Energy {
    Known(EnergyPoint),
    /// Of a phase of a mixture, computed when it is first asked for.
    Sought(OnceLock<EnergyPoint>),
}

/// One of several phases.
#[derive(Debug, Clone)]
struct Part {
    body: Body,
    /// The word of the phase beside its body, so that asking for it reads nothing that only one kind of body has.
    word: Option<Phase>,
    mass_fraction: f64,
}

/// What a phase is made of.
#[derive(Debug, Clone)]
enum Body {
    Fluid(State),
    Solid(SolidPoint),
}

impl Part {
    fn of_fluid(state: State, mass_fraction: f64) -> Self {
        Self {
            word: state.phase,
            body: Body::Fluid(state),
            mass_fraction,
        }
    }

    fn of_solid(solid: SolidPoint, mass_fraction: f64) -> Self {
        Self {
            word: Some(Phase::Solid),
            body: Body::Solid(solid),
            mass_fraction,
        }
    }

    fn fluid(&self) -> Option<&State> {
        match &self.body {
            Body::Fluid(state) => Some(state),
            Body::Solid(_) => None,
        }
    }

    fn solid(&self) -> Option<&SolidPoint> {
        match &self.body {
            Body::Solid(solid) => Some(solid),
            Body::Fluid(_) => None,
        }
    }

    /// Gives a fluid phase its word, if it has none yet.
    fn name(&mut self, phase: Phase) {
        if let Body::Fluid(state) = &mut self.body {
            state.phase = state.phase.or(Some(phase));
            self.word = state.phase;
        }
    }

    fn is(&self, phase: Phase) -> bool {
        self.word == Some(phase)
    }

    fn density(&self) -> f64 {
        self.body.density()
    }
}

/// Mass fraction of several parts together; the sum of none is zero without a sign.
fn whole<'a>(parts: impl Iterator<Item = &'a Part>) -> f64 {
    parts.fold(0.0, |sum, part| sum + part.mass_fraction)
}

/// The phase of a state of several.
fn phase_of(parts: &[Part]) -> Phase {
    let liquids = parts.iter().filter(|part| part.is(Phase::Liquid)).count();
    let has_vapour = parts.iter().any(|part| part.is(Phase::Vapour));
    if parts.iter().any(|part| part.solid().is_some()) {
        return match (liquids, has_vapour) {
            _ if parts.len() == 1 => Phase::Solid,
            (0, _) => Phase::SolidVapour,
            (_, false) => Phase::SolidLiquid,
            (_, true) => Phase::SolidLiquidVapour,
        };
    }
    match (liquids, has_vapour) {
        (0 | 1, _) => Phase::LiquidVapour,
        (_, false) => Phase::LiquidLiquid,
        (_, true) => Phase::LiquidLiquidVapour,
    }
}

/// Liquid and vapour in equilibrium, each as a state.
///
/// ```
/// use densepath_fluid::Fluid;
/// // Span and Wagner, J. Phys. Chem. Ref. Data 25, 1509 (1996), Table 34: triple point.
/// let boiling = Fluid::new("carbon dioxide")?.saturation_at_temperature(216.592)?;
/// assert!((boiling.pressure - 517.96e3).abs() < 5.0);
/// assert!((boiling.liquid.density() - 1178.46).abs() < 0.005);
/// assert!((boiling.vapour.density() - 13.761).abs() < 0.0005);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
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
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// assert_eq!(state.fluid().name(), "carbon dioxide");
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn fluid(&self) -> &Fluid {
        &self.fluid
    }

    /// Temperature T in K.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// // Dry ice at 1 atm lies at 194.686 K.
    /// let snow = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?.expand_to(101_325.0)?;
    /// assert!((snow.temperature() - 194.686).abs() < 0.1);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn temperature(&self) -> f64 {
        self.temperature
    }

    /// Pressure p in Pa, absolute.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let state = State::from_t_rho(&Fluid::new("CO2")?, 313.15, 780.233)?;
    /// assert!((state.pressure() / 15e6 - 1.0).abs() < 1e-5);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn pressure(&self) -> f64 {
        self.pressure
    }

    /// Density rho in kg/m3, of all phases together.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// // A syringe barrel at 5 degC and 200 bar holds liquid denser than 40 degC and 100 bar in the column.
    /// let (barrel, column) = (State::from_tp(&co2, 278.15, 20e6)?, State::from_tp(&co2, 313.15, 10e6)?);
    /// assert!((column.density() - 628.612).abs() < 1e-3 && barrel.density() > column.density());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn density(&self) -> f64 {
        self.density
    }

    /// Which phases the state consists of.
    ///
    /// One phase of a mixture is named around the stable critical point of liquid and vapour of its composition, which is
    /// sought once: supercritical at or above both its temperature and its pressure, else liquid if denser and colder than
    /// it, else vapour.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, Phase, State};
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// assert_eq!(State::from_tp(&blend, 313.15, 15e6)?.phase(), Phase::Liquid);
    /// assert_eq!(State::from_tp(&blend, 313.15, 5e6)?.phase(), Phase::LiquidVapour);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn phase(&self) -> Phase {
        match (self.phase, self.of_model().fluid.mixed()) {
            (Some(phase), _) => phase,
            (None, Some(mixed)) => {
                let density = self.of_model().density;
                match mixed.phase_alone(self.temperature, self.pressure, density) {
                    Phase::Supercritical if self.is_beside => Phase::Vapour,
                    phase => phase,
                }
            }
            (None, None) => Phase::Vapour,
        }
    }

    /// Whether the state is one fluid phase; cheaper to ask than its word.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let column = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// assert!(column.is_one_phase() && !column.expand_to(101_325.0)?.is_one_phase());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn is_one_phase(&self) -> bool {
        matches!(self.content, Content::One(_))
    }

    /// The derivatives of the Helmholtz energy; nothing for several phases.
    fn energy(&self) -> Option<&EnergyPoint> {
        match &self.content {
            Content::One(Energy::Known(energy)) => Some(energy),
            Content::One(Energy::Sought(energy)) => {
                let mixed = self.fluid.mixed()?;
                Some(energy.get_or_init(|| mixed.energy(self.temperature, self.density)))
            }
            Content::Several(_) => None,
        }
    }

    /// The phases, none where there is one fluid phase alone.
    fn parts(&self) -> &[Part] {
        match &self.content {
            Content::One(_) => &[],
            Content::Several(parts) => parts,
        }
    }

    /// The fluid phases by falling density, each with its mass fraction; the state itself where it is one phase.
    ///
    /// Each is a state of its own, whose fluid has the composition of the phase.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// let state = State::from_tp(&blend, 313.15, 5e6)?;
    /// let phases = state.fluid_phases();
    /// assert_eq!(phases.len(), 2);
    /// assert!((phases.iter().map(|(w, _)| w).sum::<f64>() - 1.0).abs() < 1e-12);
    /// // The denser phase holds the methanol.
    /// let methanol = |k: usize| phases[k].1.fluid().amount_fractions()[1];
    /// assert!(methanol(0) > 0.1 && methanol(1) < 0.1);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn fluid_phases(&self) -> Vec<(f64, &State)> {
        match &self.content {
            Content::One(_) => vec![(1.0, self)],
            Content::Several(parts) => {
                let fluid = |part: &'_ Part| part.mass_fraction;
                let pairs = parts.iter().map(|part| (fluid(part), part.fluid()));
                pairs.filter_map(|(w, state)| Some((w, state?))).collect()
            }
        }
    }

    /// As [`State::fluid_phases`], the phases themselves.
    pub(crate) fn into_fluid_phases(self) -> impl Iterator<Item = (f64, State)> {
        let (one, several) = match self.content {
            Content::One(_) => (Some((1.0, self)), Vec::new()),
            Content::Several(parts) => (None, parts),
        };
        let fluids = several.into_iter().filter_map(|part| match part.body {
            Body::Fluid(state) => Some((part.mass_fraction, state)),
            Body::Solid(_) => None,
        });
        one.into_iter().chain(fluids)
    }

    /// Mass fraction of vapour: 1 for a vapour, 0 for a liquid, between for two phases; nothing above the critical point.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let boiling = co2.saturation_at_temperature(293.15)?;
    /// let h = |share: f64| (1.0 - share) * boiling.liquid.specific_enthalpy() + share * boiling.vapour.specific_enthalpy();
    /// let half = State::from_ph(&co2, boiling.pressure, h(0.5))?;
    /// assert!(half.vapour_fraction().is_some_and(|share| (share - 0.5).abs() < 1e-9));
    /// assert_eq!(State::from_tp(&co2, 313.15, 15e6)?.vapour_fraction(), None);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn vapour_fraction(&self) -> Option<f64> {
        match &self.content {
            Content::Several(parts) => {
                let vapour = parts.iter().filter(|part| part.is(Phase::Vapour));
                Some(whole(vapour))
            }
            Content::One(_) => match self.phase() {
                Phase::Vapour => Some(1.0),
                Phase::Liquid | Phase::Solid => Some(0.0),
                _ => None,
            },
        }
    }

    /// Mass fraction of solid.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let column = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// // A quarter of it becomes dry ice in an unheated outlet, none of what comes at 100 degC.
    /// let snow = column.expand_to(101_325.0)?.solid_fraction();
    /// assert!((snow - 0.24).abs() < 0.005);
    /// let hot = State::from_tp(column.fluid(), 373.15, 15e6)?;
    /// assert_eq!(hot.expand_to(101_325.0)?.solid_fraction(), 0.0);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn solid_fraction(&self) -> f64 {
        let solid = self.parts().iter().filter(|part| part.solid().is_some());
        whole(solid)
    }

    /// The liquid of a state of several phases, the densest if there are more.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let cylinder = State::from_t_rho(&co2, 293.15, 600.0)?;
    /// let boiling = co2.saturation_at_temperature(293.15)?;
    /// assert!(cylinder.liquid().is_some_and(|liquid| (liquid.density() / boiling.liquid.density() - 1.0).abs() < 1e-9));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn liquid(&self) -> Option<&State> {
        let mut parts = self.parts().iter();
        parts.find(|part| part.is(Phase::Liquid))?.fluid()
    }

    /// The solid, alone or beside fluid phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let end = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?.expand_to(101_325.0)?;
    /// // Dry ice is denser than the liquid of the triple point.
    /// assert!(end.solid().is_some_and(|solid| solid.density > 1178.46));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn solid(&self) -> Option<&SolidPoint> {
        self.parts().iter().find_map(Part::solid)
    }

    /// The vapour of a state of several phases.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let cylinder = State::from_t_rho(&Fluid::new("CO2")?, 293.15, 600.0)?;
    /// assert!(cylinder.vapour().is_some_and(|vapour| vapour.density() < 600.0));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn vapour(&self) -> Option<&State> {
        let mut parts = self.parts().iter();
        parts.find(|part| part.is(Phase::Vapour))?.fluid()
    }

    /// The phases, or the state itself where it is one phase.
    fn whole_or_parts(&self) -> Vec<Part> {
        match &self.content {
            Content::One(_) => vec![Part::of_fluid(self.clone(), 1.0)],
            Content::Several(parts) => parts.clone(),
        }
    }

    /// A state of several phases at one temperature and pressure.
    fn of_parts(fluid: Fluid, temperature: f64, pressure: f64, parts: Vec<Part>) -> Self {
        let volume = |part: &Part| part.mass_fraction / part.density();
        let density = 1.0 / parts.iter().map(volume).sum::<f64>();
        Self {
            fluid,
            temperature,
            pressure,
            density,
            phase: Some(phase_of(&parts)),
            is_beside: false,
            content: Content::Several(parts),
            of_model: None,
        }
    }

    /// The state after throttling to a pressure in Pa: same enthalpy, solid included.
    ///
    /// *Valid* for a valve or orifice without heat exchange, once the velocity has died out.
    /// *Source*: first law for an adiabatic steady flow.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, Phase, State};
    /// let before = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
    /// let after = before.expand_to(101_325.0)?;
    /// assert_eq!(after.phase(), Phase::SolidVapour);
    /// assert!((after.specific_enthalpy() / before.specific_enthalpy() - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn expand_to(&self, pressure: f64) -> Result<State> {
        State::from_ph(&self.fluid, pressure, self.specific_enthalpy())
    }

    /// The state of the same density at a temperature in K, as [`State::from_t_rho`] but sought from this one: quicker for a mixture.
    ///
    /// *Valid* for a closed vessel that is warmed or cooled. *Source*: balance of mass.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// let closed = State::from_tp(&blend, 293.15, 10e6)?;
    /// // A liquid shut in between two valves and warmed by ten kelvin.
    /// let warmer = closed.isochoric_to(303.15)?;
    /// assert!(warmer.pressure() > 15e6 && (warmer.density() / closed.density() - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn isochoric_to(&self, temperature: f64) -> Result<State> {
        if let Some(of_model) = &self.of_model {
            let found = of_model.isochoric_to(temperature)?;
            return found.shifted(self.fluid.volume_shift());
        }
        match self.fluid.mixed() {
            Some(mixed) => mixed.state_on_isochore_at(self, temperature),
            None => State::from_t_rho(&self.fluid, temperature, self.density),
        }
    }

    /// The state of the same entropy at a pressure in Pa, as [`State::from_ps`] but sought from this one: quicker for a mixture.
    ///
    /// *Valid* for a pump, a nozzle or a bursting part without friction and heat exchange. *Source*: second law.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// let suction = State::from_tp(&blend, 278.15, 6e6)?;
    /// let delivery = suction.isentropic_to(20e6)?;
    /// let same = State::from_ps(&blend, 20e6, suction.specific_entropy())?;
    /// assert!((delivery.temperature() - same.temperature()).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn isentropic_to(&self, pressure: f64) -> Result<State> {
        if let Some(of_model) = &self.of_model {
            let found = of_model.isentropic_to(pressure)?;
            return found.shifted(self.fluid.volume_shift());
        }
        match self.fluid.mixed() {
            Some(mixed) => mixed.state_on_isentrope(self, pressure),
            None => State::from_ps(&self.fluid, pressure, self.specific_entropy()),
        }
    }
}

#[cfg(test)]
mod every_fluid;
#[cfg(test)]
mod identities;
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

    /// Its entropy would be lost in the smallest numbers: at 5e-324 kg/m3 it was infinite.
    #[test]
    fn a_gas_too_thin_for_numbers_is_refused() {
        let mixed = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)]).unwrap();
        for fluid in [co2(), mixed] {
            for (density, code) in [(5e-324, 101), (1e-300, 101), (1e-50, 102), (0.99e-16, 102)] {
                for state in [
                    State::from_t_rho(&fluid, 300.0, density),
                    State::from_p_rho(&fluid, 1e5, density),
                    State::from_rho_u(&fluid, density, 4e5),
                ] {
                    assert_eq!(state.unwrap_err().code(), code, "{density:e}");
                }
            }
            let thin = State::from_t_rho(&fluid, 300.0, 1.01e-16).unwrap();
            assert!(thin.specific_entropy().is_finite());
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
