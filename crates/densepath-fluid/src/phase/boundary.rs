//! Borders between one and two phases of a fluid as states: bubble and dew points, the phases at a temperature and pressure,
//! the distance to a second phase.

pub use crate::eos::equilibrium::BoundaryKind;
use crate::eos::equilibrium::{Boundary, Given};
use crate::error::{Error, Result};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;
use crate::state::{Fluid, Mixed, Saturation, State};

/// A state at which a fluid begins to part into two phases.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
/// let bubble = blend.bubble_point_at_temperature(313.15)?;
/// // The first bubble has less methanol than the liquid.
/// assert!(bubble.vapour.fluid().amount_fractions()[1] < 0.1 && bubble.liquid.density() > bubble.vapour.density());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct PhaseBoundary {
    /// What appears first: a bubble, a phase less dense than the fluid, or a dew, one denser.
    pub kind: BoundaryKind,
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// The denser of both phases: the fluid itself at a bubble point, the first drop at a dew point.
    pub liquid: State,
    /// The thinner of both phases: the first bubble at a bubble point, the fluid itself at a dew point.
    pub vapour: State,
}

impl PhaseBoundary {
    fn of_saturation(kind: BoundaryKind, found: Saturation) -> Self {
        Self {
            kind,
            temperature: found.temperature,
            pressure: found.pressure,
            liquid: found.liquid,
            vapour: found.vapour,
        }
    }

    fn new(mixed: Mixed<'_>, found: &Boundary) -> Result<Self> {
        let (liquid, vapour) = mixed.states_at(found)?;
        Ok(Self {
            kind: found.kind,
            temperature: found.temperature,
            pressure: found.pressure,
            liquid,
            vapour,
        })
    }

    fn shifted(self, shift: f64) -> Result<Self> {
        Ok(Self {
            liquid: self.liquid.shifted(shift)?,
            vapour: self.vapour.shifted(shift)?,
            ..self
        })
    }
}

/// The phases of a fluid at a temperature and a pressure.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
/// let flash = blend.flash(313.15, 50e5)?;
/// assert_eq!(flash.phases.len(), 2);
/// // The phases by falling density.
/// assert!(flash.phases[0].state.density() > flash.phases[1].state.density());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Flash {
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// The fluid phases by falling density. Where a solid lies beside them, the shares of amount are those of what is fluid, and the
    /// shares of mass sum to less than 1: the rest is solid.
    pub phases: Vec<FlashPhase>,
}

/// One of the phases of a fluid.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
/// let phases = blend.flash(313.15, 50e5)?.phases;
/// // What of the methanol is in the phases is all there is.
/// let methanol: f64 = phases.iter().map(|phase| phase.amount_fraction * phase.state.fluid().amount_fractions()[1]).sum();
/// assert!((methanol - 0.1).abs() < 1e-9);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct FlashPhase {
    /// Share of the amount of the whole fluid that is in the phase.
    pub amount_fraction: f64,
    /// Share of the mass of the whole fluid that is in the phase.
    pub mass_fraction: f64,
    /// The phase, whose fluid has its composition.
    pub state: State,
}

impl Fluid {
    /// The bubble point at a temperature T in K: the ordinary one, where a liquid begins to boil as the pressure falls. Errors 101 and
    /// 102 as [`State::from_tp`].
    ///
    /// Of a substance its saturation. Of several bubble points that of the lowest pressure; [`Fluid::boundaries_at_temperature`]
    /// gives all. Error 402 if there is none from 1 kPa to the highest pressure of the range.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// let bubble = blend.bubble_point_at_temperature(298.15)?;
    /// // Just above there is one phase, just below there are two.
    /// assert_eq!(blend.flash(298.15, bubble.pressure * 1.01)?.phases.len(), 1);
    /// assert_eq!(blend.flash(298.15, bubble.pressure * 0.99)?.phases.len(), 2);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn bubble_point_at_temperature(&self, temperature: f64) -> Result<PhaseBoundary> {
        self.ordinary(Given::Temperature(temperature), BoundaryKind::Bubble)
    }

    /// The bubble point at a pressure p in Pa; as [`Fluid::bubble_point_at_temperature`], of several that of the highest
    /// temperature.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// let pressure = blend.bubble_point_at_temperature(298.15)?.pressure;
    /// assert!((blend.bubble_point_at_pressure(pressure)?.temperature - 298.15).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn bubble_point_at_pressure(&self, pressure: f64) -> Result<PhaseBoundary> {
        self.ordinary(Given::Pressure(pressure), BoundaryKind::Bubble)
    }

    /// The dew point at a temperature T in K: the ordinary one, where a vapour begins to condense as the pressure rises.
    ///
    /// Of a substance its saturation. Of several dew points that of the lowest pressure; the others are retrograde ones, and
    /// [`Fluid::boundaries_at_temperature`] gives all. Error 402 if there is none from 1 kPa to the highest pressure of the
    /// range.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// let dew = blend.dew_point_at_temperature(298.15)?;
    /// // The first drop is nearly all methanol.
    /// assert!(dew.liquid.fluid().amount_fractions()[1] > 0.9 && dew.pressure < blend.bubble_point_at_temperature(298.15)?.pressure);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dew_point_at_temperature(&self, temperature: f64) -> Result<PhaseBoundary> {
        self.ordinary(Given::Temperature(temperature), BoundaryKind::Dew)
    }

    /// The dew point at a pressure p in Pa; as [`Fluid::dew_point_at_temperature`], of several that of the highest temperature.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// let dew = blend.dew_point_at_temperature(298.15)?;
    /// assert!((blend.dew_point_at_pressure(dew.pressure)?.pressure / dew.pressure - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn dew_point_at_pressure(&self, pressure: f64) -> Result<PhaseBoundary> {
        self.ordinary(Given::Pressure(pressure), BoundaryKind::Dew)
    }

    /// Every border between one and two phases at a temperature T in K, by rising pressure: bubble and dew points, the
    /// retrograde ones and those between liquids too.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// let pressures: Vec<f64> = blend.boundaries_at_temperature(298.15)?.iter().map(|border| border.pressure).collect();
    /// assert!(pressures.len() >= 2 && pressures.is_sorted());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn boundaries_at_temperature(&self, temperature: f64) -> Result<Vec<PhaseBoundary>> {
        self.all(Given::Temperature(temperature))
    }

    /// Every border between one and two phases at a pressure p in Pa, by rising temperature.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// let temperatures: Vec<f64> = blend.boundaries_at_pressure(50e5)?.iter().map(|border| border.temperature).collect();
    /// assert!(temperatures.len() >= 2 && temperatures.is_sorted());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn boundaries_at_pressure(&self, pressure: f64) -> Result<Vec<PhaseBoundary>> {
        self.all(Given::Pressure(pressure))
    }

    /// The phases at a temperature T in K and a pressure p in Pa. Errors as [`State::from_tp`].
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// let gas = Fluid::mixture(&[("carbon dioxide", 0.5), ("nitrogen", 0.5)])?;
    /// let found = gas.flash(230.0, 5e6)?;
    /// assert_eq!(found.phases.len(), 2);
    /// assert!(found.phases[0].state.fluid().amount_fractions()[0] > 0.9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn flash(&self, temperature: f64, pressure: f64) -> Result<Flash> {
        let state = State::from_tp(self, temperature, pressure)?;
        let mut phases: Vec<FlashPhase> = state
            .into_fluid_phases()
            .map(|(mass_fraction, state)| FlashPhase {
                amount_fraction: mass_fraction * state.fluid().specific_gas_constant(),
                mass_fraction,
                state,
            })
            .collect();
        let whole: f64 = phases.iter().map(|phase| phase.amount_fraction).sum();
        for phase in &mut phases {
            phase.amount_fraction /= whole;
        }
        Ok(Flash {
            temperature,
            pressure,
            phases,
        })
    }

    /// Temperature in K by which a state of one phase is away from the nearest temperature at which a second phase appears at
    /// its pressure; negative in two phases, infinite where there is none in the range. Errors as [`State::from_tp`].
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // Liquid of 60 bar at 5 degC: it boils at 22 degC.
    /// let boiling = fluid.saturation_at_pressure(60e5)?.liquid.temperature();
    /// assert!((fluid.single_phase_temperature_margin(278.15, 60e5)? - (boiling - 278.15)).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn single_phase_temperature_margin(&self, temperature: f64, pressure: f64) -> Result<f64> {
        if let Some((of_model, _)) = self.unshifted() {
            return of_model.single_phase_temperature_margin(temperature, pressure);
        }
        let state = State::from_tp(self, temperature, pressure)?;
        let Some(mixed) = self.mixed().filter(|_| self.is_mixture()) else {
            return match self.saturation_at_pressure(pressure) {
                Ok(found) => Ok((found.temperature - temperature).abs()),
                Err(Error::NoCoexistence { .. }) => Ok(f64::INFINITY),
                Err(other) => Err(other),
            };
        };
        let borders = mixed.borders(Given::Pressure(pressure));
        let distance = |found: Option<Boundary>| {
            found.map_or(f64::INFINITY, |border| {
                (border.temperature - temperature).abs()
            })
        };
        let below = distance(borders.below(temperature)?);
        // No farther than that the other way.
        let above = distance(borders.above(temperature, below)?);
        let nearest = below.min(above);
        Ok(if state.is_one_phase() {
            nearest
        } else {
            -nearest
        })
    }

    fn all(&self, given: Given) -> Result<Vec<PhaseBoundary>> {
        if let Some((of_model, shift)) = self.unshifted() {
            let found = of_model.all(given)?.into_iter();
            return found.map(|border| border.shifted(shift)).collect();
        }
        let Some(mixed) = self.mixed().filter(|_| self.is_mixture()) else {
            let found = self.saturation_at(given)?;
            return Ok(vec![PhaseBoundary::of_saturation(
                BoundaryKind::Bubble,
                found,
            )]);
        };
        mixed.check_given(given)?;
        let found = mixed.boundaries(given)?;
        found.iter().map(|b| PhaseBoundary::new(mixed, b)).collect()
    }

    fn saturation_at(&self, given: Given) -> Result<Saturation> {
        match given {
            Given::Temperature(temperature) => self.saturation_at_temperature(temperature),
            Given::Pressure(pressure) => self.saturation_at_pressure(pressure),
        }
    }

    fn ordinary(&self, given: Given, kind: BoundaryKind) -> Result<PhaseBoundary> {
        if let Some((of_model, shift)) = self.unshifted() {
            return of_model.ordinary(given, kind)?.shifted(shift);
        }
        let Some(mixed) = self.mixed().filter(|_| self.is_mixture()) else {
            let found = self.saturation_at(given)?;
            return Ok(PhaseBoundary::of_saturation(kind, found));
        };
        mixed.check_given(given)?;
        if let Some(found) = mixed.estimated_boundary(given, kind)? {
            return PhaseBoundary::new(mixed, &found);
        }
        let all = mixed.boundaries(given)?;
        let mut of_kind = all.iter().filter(|boundary| boundary.kind == kind);
        let ordinary = match given {
            Given::Temperature(_) => of_kind.next(),
            Given::Pressure(_) => of_kind.next_back(),
        };
        let found = ordinary.ok_or_else(|| none(self, given, kind))?;
        PhaseBoundary::new(mixed, found)
    }
}

/// The error of a border that does not exist.
fn none(fluid: &Fluid, given: Given, kind: BoundaryKind) -> Error {
    let range = fluid.range();
    let (quantity, min, max) = match given {
        Given::Temperature(_) => (Quantity::Pressure, 0.0, range.pressure_max),
        Given::Pressure(_) => (
            Quantity::Temperature,
            range.temperature_min,
            range.temperature_max,
        ),
    };
    Error::Unreachable {
        quantity,
        min,
        max,
        reason: match kind {
            BoundaryKind::Bubble => "the mixture has no bubble point there",
            BoundaryKind::Dew => "the mixture has no dew point there",
        },
    }
}

/// As [`Fluid::single_phase_margin`], of a state of a mixture.
///
/// In two phases that no pressure of the range ends, it counts from the highest pressure of the range.
pub(super) fn pressure_margin(mixed: Mixed<'_>, state: &State) -> Result<f64> {
    let pressure = state.pressure();
    if !state.fluid().is_mixture() {
        let found = state.fluid().saturation_at_temperature(state.temperature());
        return match found {
            Ok(found) => Ok(pressure - found.pressure),
            Err(Error::NoCoexistence { .. }) => Ok(f64::INFINITY),
            Err(other) => Err(other),
        };
    }
    let borders = mixed.borders(Given::Temperature(state.temperature()));
    let mut border = None;
    if state.is_one_phase() {
        border = borders.below(pressure)?;
    }
    if border.is_none() {
        border = borders.above(pressure, f64::INFINITY)?;
    }
    let highest = state.fluid().range().pressure_max;
    Ok(match border {
        Some(border) => pressure - border.pressure,
        None if state.is_one_phase() => f64::INFINITY,
        None => pressure - highest,
    })
}
