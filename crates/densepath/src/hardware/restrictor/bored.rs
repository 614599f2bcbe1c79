//! Restrictors of any bore: cones, stretches one behind the other, one bore with other heat than a constant temperature.

use fluid::error::{Error, not_negative, positive};
use fluid::{Fluid, Quantity, Result, State};

use super::medium::RealFluid;
use super::{BandWay, Choking, Restrictor, RestrictorEnd, RestrictorFlow, factor_for};
use crate::flow::balance::Local;
use crate::flow::bore::{Bore, Stretch};
use crate::flow::capillary::Isotherm;
use crate::flow::friction::{Regime, Transition, Wall};
use crate::flow::passage::{End, Heating, Medium, Passage, Passed, Place, Point, Profile};
use crate::fluid;
use crate::hardware::ProfilePoint;
use crate::hardware::channel::one_phase;

pub use super::jacket::Jacket;

/// How a restrictor exchanges heat.
///
/// ```
/// use densepath::{Fluid, hardware::{BoredRestrictor, Restrictor, restrictor::RestrictorHeating}};
/// let fluid = Fluid::new("carbon dioxide")?;
/// let cone = BoredRestrictor::tapered(30e-6, 8e-6, 0.1)?.with_heating(RestrictorHeating::Adiabatic)?;
/// // No heat but for the rounding of the march.
/// assert!(cone.passage(&fluid, 373.15, 200e5, 101_325.0)?.heat_flow_rate.abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub enum RestrictorHeating {
    /// The fluid keeps one temperature in K: that given, or else that with which it enters. The bound of a heater that keeps up.
    Isothermal(Option<f64>),
    /// The fluid takes on the temperatures of the wall along the bore.
    Wall(Profile),
    /// No heat is exchanged: the bound of perfect insulation. The fluid cools, and one substance may flash inside.
    Adiabatic,
    /// Film, wall of the tube and surroundings in series, with conduction along the wall where it asks for it.
    Jacket(Jacket),
}

/// A restrictor whose bore is a row of stretches, straight or conical.
///
/// Flow: momentum and energy along the bore with friction of any regime, kinetic energy, steps and cones, choking; see
/// [`crate::flow::passage`]. *Valid*: cones up to 0.2 of bore per length, stretches above ten bores; mixtures as long as they
/// stay one phase; one substance through the dome in equilibrium, down to its triple point, where it chokes. *Uncertainty*: 2 % laminar, 10 %
/// turbulent, 30 % where it flashes; in practice that of the bore, so calibrate.
///
/// ```
/// use densepath::{Fluid, hardware::{BoredRestrictor, LinearRestrictor, Restrictor}};
/// let fluid = Fluid::new("carbon dioxide")?;
/// let flow = |part: &BoredRestrictor| part.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0);
/// // A taper from 30 um to 8 um passes more than 8 um all along.
/// let wide = flow(&BoredRestrictor::tapered(30e-6, 8e-6, 0.1)?)?;
/// assert!(wide > LinearRestrictor::new(8e-6, 0.1)?.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct BoredRestrictor {
    bore: Bore,
    wall: Wall,
    heating: RestrictorHeating,
    calibration_factor: f64,
}

/// Relative uncertainty of the law by regime (common practice, no source).
const LAMINAR: f64 = 0.02;
const TURBULENT: f64 = 0.1;
const FLASHING: f64 = 0.3;

/// Relative error allowed of one step of a march: that of the flow is some hundred times as large.
const PRECISION: f64 = 1e-12;
/// Mach number below which a choked flow stopped at a border of phases, beyond which sound is slower.
const NEARLY_SONIC: f64 = 0.99;

impl BoredRestrictor {
    /// A restrictor of a bore with smooth walls, at the temperature of the fluid that enters.
    ///
    /// ```
    /// use densepath::{flow::bore::{Bore, Stretch}, hardware::BoredRestrictor};
    /// let bore = Bore::new(vec![Stretch::straight(50e-6, 0.3), Stretch::straight(10e-6, 0.1)])?;
    /// assert!((BoredRestrictor::new(bore).bore().length() - 0.4).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn new(bore: Bore) -> Self {
        Self {
            bore,
            wall: Wall::SMOOTH,
            heating: RestrictorHeating::Isothermal(None),
            calibration_factor: 1.0,
        }
    }

    /// A cone from one bore to another over a length, all in m: tapered if it narrows, diverging if it widens.
    ///
    /// Errors: 101 and 102 as [`Bore::new`].
    ///
    /// ```
    /// use densepath::hardware::BoredRestrictor;
    /// assert!((BoredRestrictor::tapered(30e-6, 8e-6, 0.1)?.bore().length() - 0.1).abs() < 1e-12);
    /// // A cone of this slope is no bore any more.
    /// assert_eq!(BoredRestrictor::tapered(1e-3, 8e-6, 1e-3).unwrap_err().code(), 102);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn tapered(inlet_diameter: f64, outlet_diameter: f64, length: f64) -> Result<Self> {
        let cone = Stretch {
            length,
            inlet_diameter,
            outlet_diameter,
        };
        Ok(Self::new(Bore::new(vec![cone])?))
    }

    /// The restrictor with a way to exchange heat. Error 101 for a temperature not above zero.
    ///
    /// ```
    /// use densepath::hardware::{BoredRestrictor, restrictor::RestrictorHeating};
    /// let cone = BoredRestrictor::tapered(30e-6, 8e-6, 0.1)?;
    /// assert_eq!(cone.with_heating(RestrictorHeating::Isothermal(Some(-1.0))).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_heating(self, heating: RestrictorHeating) -> Result<Self> {
        if let RestrictorHeating::Isothermal(Some(temperature)) = &heating {
            positive(Quantity::Temperature, *temperature)?;
        }
        Ok(Self { heating, ..self })
    }

    /// The restrictor with a wall of a roughness in m. Errors: 101 if negative, 102 if too rough for the narrowest bore.
    ///
    /// ```
    /// use densepath::hardware::BoredRestrictor;
    /// assert_eq!(BoredRestrictor::tapered(30e-6, 8e-6, 0.1)?.with_roughness(-1e-7).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_roughness(self, roughness: f64) -> Result<Self> {
        let wall = Wall {
            roughness: not_negative(Quantity::Roughness, roughness)?,
            ..self.wall
        };
        wall.relative_roughness(self.bore.narrowest())?;
        Ok(Self { wall, ..self })
    }

    /// The bore.
    ///
    /// ```
    /// use densepath::hardware::BoredRestrictor;
    /// assert_eq!(BoredRestrictor::tapered(30e-6, 8e-6, 0.1)?.bore().stretches().len(), 1);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn bore(&self) -> &Bore {
        &self.bore
    }

    /// How it exchanges heat.
    ///
    /// ```
    /// use densepath::hardware::{BoredRestrictor, restrictor::RestrictorHeating};
    /// // Unless something else is said, the fluid keeps the temperature with which it enters.
    /// let cone = BoredRestrictor::tapered(30e-6, 8e-6, 0.1)?;
    /// assert!(matches!(cone.heating(), RestrictorHeating::Isothermal(None)));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn heating(&self) -> &RestrictorHeating {
        &self.heating
    }

    pub(super) fn with_wall(self, wall: Wall) -> Self {
        Self { wall, ..self }
    }

    /// Factor on all lengths with which a mass flow rate in kg/s passes; of one bore its length for the flow over its own.
    ///
    /// Errors: 101 for a flow not above zero; 402 if no length passes it; otherwise as [`Restrictor::passage`].
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{BoredRestrictor, Restrictor}};
    /// let (fluid, cone) = (Fluid::new("carbon dioxide")?, BoredRestrictor::tapered(30e-6, 8e-6, 0.1)?);
    /// let flow = cone.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
    /// assert!((cone.length_factor_for(flow, &fluid, 373.15, 200e5, 101_325.0)? - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn length_factor_for(
        &self,
        mass_flow_rate: f64,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let reason = "no length of these bores passes this mass flow rate";
        factor_for(Quantity::Length, reason, |logarithm| {
            let scaled = Self {
                bore: self.bore.scaled(1.0, f64::exp(logarithm))?,
                ..self.clone()
            };
            let passed =
                scaled.mass_flow_rate(fluid, temperature, inlet_pressure, outlet_pressure)?;
            Ok((passed - mass_flow_rate) / (passed + mass_flow_rate))
        })
    }

    /// Factor on all bores with which a mass flow rate in kg/s passes. Errors as [`BoredRestrictor::length_factor_for`].
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{BoredRestrictor, Restrictor}};
    /// let (fluid, cone) = (Fluid::new("carbon dioxide")?, BoredRestrictor::tapered(30e-6, 8e-6, 0.1)?);
    /// let flow = cone.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
    /// // More flow asks for wider bores.
    /// assert!(cone.bore_factor_for(1.2 * flow, &fluid, 373.15, 200e5, 101_325.0)? > 1.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn bore_factor_for(
        &self,
        mass_flow_rate: f64,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let reason = "no bores of this length pass this mass flow rate";
        factor_for(Quantity::Diameter, reason, |logarithm| {
            let scaled = self.with_bores_times(f64::exp(logarithm))?;
            let passed =
                scaled.mass_flow_rate(fluid, temperature, inlet_pressure, outlet_pressure)?;
            Ok((passed - mass_flow_rate) / (passed + mass_flow_rate))
        })
    }

    /// Temperature in K with which the fluid begins its way along the bore.
    fn entering_temperature(&self, temperature: f64) -> f64 {
        match &self.heating {
            RestrictorHeating::Isothermal(own) => own.unwrap_or(temperature),
            RestrictorHeating::Wall(profile) => profile.at(0.0).0,
            RestrictorHeating::Adiabatic | RestrictorHeating::Jacket(_) => temperature,
        }
    }

    /// The march, without calibration, and the temperatures in K of the wall at distances in m where it has its own.
    fn march(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<(Passed, Vec<(f64, f64)>)> {
        let temperature = self.entering_temperature(temperature);
        let inlet = State::from_tp(fluid, temperature, inlet_pressure)?;
        one_phase(&inlet, 0.0)?;
        if outlet_pressure >= inlet_pressure {
            return Err(Error::FlowReversed {
                inlet: inlet_pressure,
                outlet: positive(Quantity::Pressure, outlet_pressure)?,
            });
        }
        let real = RealFluid::new(fluid);
        let along = |heating: &Heating| {
            self.passage_of(&real, heating, &inlet, outlet_pressure)
                .flow()
        };
        let mut wall = Vec::new();
        let passed = match &self.heating {
            RestrictorHeating::Isothermal(_) => {
                let ends = [inlet_pressure, outlet_pressure];
                let isotherm = isotherm(fluid, temperature, ends, self.bore.length())?;
                let medium = IsothermMedium(&isotherm);
                let heating = Heating::Wall(Profile::constant(temperature)?);
                let passage = self.passage_of(&medium, &heating, &inlet, outlet_pressure);
                return Ok((passage.flow()?, wall));
            }
            RestrictorHeating::Wall(profile) => along(&Heating::Wall(profile.clone()))?,
            RestrictorHeating::Adiabatic => along(&Heating::Adiabatic)?,
            RestrictorHeating::Jacket(jacket) => {
                let passed;
                (passed, wall) = jacket.flow(&real, self.bore.narrowest(), along)?;
                passed
            }
        };
        self.refuse_other_phases(fluid, &passed)?;
        Ok((passed, wall))
    }

    fn passage_of<'a, M: Medium>(
        &'a self,
        medium: &'a M,
        heating: &'a Heating,
        inlet: &State,
        outlet_pressure: f64,
    ) -> Passage<'a, M> {
        Passage {
            medium,
            bore: &self.bore,
            wall: self.wall,
            heating,
            temperature: inlet.temperature(),
            density: inlet.density(),
            outlet_pressure,
            precision: PRECISION,
        }
    }

    /// Error 502 for what the march does not see: phases of a mixture, and boiling at a temperature that the wall holds, where
    /// the pressure could not fall.
    fn refuse_other_phases(&self, fluid: &Fluid, passed: &Passed) -> Result<()> {
        let held = matches!(self.heating, RestrictorHeating::Wall(_)) && passed.end == End::Choked;
        for place in &passed.places {
            // A flow that stops short of its speed of sound has come to the border of boiling.
            let stops = held && passed.exit() == Some(place) && place.mach_number < NEARLY_SONIC;
            let boils = stops || (held && place.point.vapour_fraction.is_some());
            let splits =
                || Ok(!State::from_t_rho(fluid, place.temperature, place.density)?.is_one_phase());
            if boils || (fluid.is_mixture() && splits()?) {
                return Err(Error::PhaseChange {
                    position: place.position,
                    temperature: place.temperature,
                    pressure: place.point.pressure,
                });
            }
        }
        Ok(())
    }

    /// Plain viscous flow in kg/s, where it has a meaning.
    fn viscous(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Option<f64> {
        let ends = [inlet_pressure, outlet_pressure];
        let isotherm = isotherm(fluid, temperature, ends, self.bore.length()).ok()?;
        Some(self.calibration_factor * isotherm.viscous_integral() / self.bore.viscous_resistance())
    }

    /// Heat flow rate in W that the fluid takes up on its way, from the march or from what it brings to the exit.
    fn heat(&self, fluid: &Fluid, passed: &Passed) -> Result<f64> {
        let (RestrictorHeating::Isothermal(_), Some(inlet), Some(exit)) =
            (&self.heating, passed.inlet(), passed.exit())
        else {
            return Ok(passed.heat_flow_rate);
        };
        let total = |place: &Place| -> Result<f64> {
            let state = State::from_t_rho(fluid, place.temperature, place.density)?;
            Ok(state.specific_enthalpy() + 0.5 * place.velocity * place.velocity)
        };
        Ok(passed.mass_flow_rate * (total(exit)? - total(inlet)?))
    }
}

impl Restrictor for BoredRestrictor {
    fn word(&self) -> &'static str {
        match self.bore.stretches() {
            [_] => "tapered_restrictor",
            _ => "segmented_restrictor",
        }
    }

    fn band_way(&self) -> Result<Option<BandWay>> {
        Ok(Some(BandWay::Bore(self.bore.clone())))
    }

    fn passage(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<RestrictorFlow> {
        let (passed, wall_temperatures) =
            self.march(fluid, temperature, inlet_pressure, outlet_pressure)?;
        let missing = Error::Internal {
            place: "hardware::restrictor::bored, a march without places",
        };
        let (Some(inlet), Some(exit)) = (passed.inlet(), passed.exit()) else {
            return Err(missing);
        };
        let regime = passed.regime();
        let mut bracket = None;
        if regime == Regime::Transitional {
            let late = Wall {
                transition: Transition::Late,
                ..self.wall
            };
            let other = self.clone().with_wall(late);
            let (other, _) = other.march(fluid, temperature, inlet_pressure, outlet_pressure)?;
            let ends = [passed.mass_flow_rate, other.mass_flow_rate]
                .map(|flow| flow * self.calibration_factor);
            bracket = Some((ends[0].min(ends[1]), ends[0].max(ends[1])));
        }
        let flashes = passed
            .places
            .iter()
            .any(|place| place.point.vapour_fraction.is_some());
        let entering = self.entering_temperature(temperature);
        Ok(RestrictorFlow {
            mass_flow_rate: passed.mass_flow_rate * self.calibration_factor,
            viscous_mass_flow_rate: self.viscous(fluid, entering, inlet_pressure, outlet_pressure),
            bracket,
            inlet: end(inlet),
            exit: end(exit),
            choking: self.choking(&passed, exit),
            regime,
            heat_flow_rate: self.heat(fluid, &passed)? * self.calibration_factor,
            hold_up_time: passed.hold_up_time / self.calibration_factor,
            profile: passed.places.iter().map(profile_point).collect(),
            wall_temperatures,
            law: self.law(),
            uncertainty: match regime {
                _ if flashes => FLASHING,
                Regime::Laminar => LAMINAR,
                Regime::Transitional | Regime::Turbulent => TURBULENT,
            },
            notices: Vec::new(),
        })
    }

    fn mass_flow_rate(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        let (passed, _) = self.march(fluid, temperature, inlet_pressure, outlet_pressure)?;
        Ok(passed.mass_flow_rate * self.calibration_factor)
    }

    fn calibration_factor(&self) -> f64 {
        self.calibration_factor
    }

    fn with_calibration_factor(self, calibration_factor: f64) -> Result<Self> {
        Ok(Self {
            calibration_factor: positive(Quantity::Ratio, calibration_factor)?,
            ..self
        })
    }

    fn with_bores_times(&self, factor: f64) -> Result<Self> {
        positive(Quantity::Ratio, factor)?;
        Ok(Self {
            bore: self.bore.scaled(factor, 1.0)?,
            ..self.clone()
        })
    }
}

impl BoredRestrictor {
    fn choking(&self, passed: &Passed, exit: &Place) -> Choking {
        match (passed.end, &self.heating) {
            (End::Outside | End::Left, _) => Choking::None,
            (End::Choked, RestrictorHeating::Isothermal(_) | RestrictorHeating::Wall(_)) => {
                Choking::Isothermal
            }
            // Boiling stops a flow at its border where it runs slower than sound before and faster behind.
            (End::Choked, _)
                if exit.point.vapour_fraction.is_some() || exit.mach_number < NEARLY_SONIC =>
            {
                Choking::TwoPhase
            }
            (End::Choked, _) => Choking::Adiabatic,
        }
    }

    fn law(&self) -> &'static str {
        match self.heating {
            RestrictorHeating::Isothermal(_) => "real gas with friction at one temperature",
            RestrictorHeating::Wall(_) => "real gas with friction at the temperatures of the wall",
            RestrictorHeating::Adiabatic => {
                "real gas with friction without heat (Fanno), two phases in equilibrium"
            }
            RestrictorHeating::Jacket(_) => {
                "real gas with friction and heat through film and wall, two phases in equilibrium"
            }
        }
    }
}

fn end(place: &Place) -> RestrictorEnd {
    RestrictorEnd {
        temperature: place.temperature,
        pressure: place.point.pressure,
        density: place.density,
        velocity: place.velocity,
        mach_number: place.mach_number,
        reynolds_number: place.reynolds_number,
        vapour_fraction: place.point.vapour_fraction,
    }
}

fn profile_point(place: &Place) -> ProfilePoint {
    ProfilePoint {
        position: place.position,
        temperature: place.temperature,
        pressure: place.point.pressure,
        density: place.density,
        velocity: place.velocity,
        retention_factor: 0.0,
        plate_height: 0.0,
    }
}

/// The isotherm from an inlet pressure to an outlet pressure, in this order. A liquid that boils on the way is refused: the place
/// given is the end of the restrictor, where it happens at the latest.
pub(super) fn isotherm(
    fluid: &Fluid,
    temperature: f64,
    ends: [f64; 2],
    length: f64,
) -> Result<Isotherm> {
    let [inlet_pressure, outlet_pressure] = ends;
    let high = fluid.density(temperature, inlet_pressure)?;
    let low = fluid.density(temperature, outlet_pressure)?;
    if outlet_pressure >= inlet_pressure {
        return Err(Error::FlowReversed {
            inlet: inlet_pressure,
            outlet: outlet_pressure,
        });
    }
    if let Some(pressure) = boiling_between(fluid, temperature, outlet_pressure, inlet_pressure)? {
        return Err(Error::PhaseChange {
            position: length,
            temperature,
            pressure,
        });
    }
    let series = fluid.isothermal(temperature)?.series([low, high])?;
    Isotherm::of_series(low, high, series.pressures, series.viscosities)
}

/// A pressure in Pa between two at which a second phase appears at a temperature in K.
fn boiling_between(fluid: &Fluid, temperature: f64, low: f64, high: f64) -> Result<Option<f64>> {
    let between = |pressure: &f64| (low..=high).contains(pressure);
    if fluid.is_mixture() {
        let borders = fluid.boundaries_at_temperature(temperature)?;
        let mut pressures = borders.iter().map(|border| border.pressure);
        return Ok(pressures.rfind(between));
    }
    let found = fluid.coexistence_at_temperature(temperature).ok();
    Ok(found.map(|found| found.pressure).filter(between))
}

/// An isotherm as the march asks for it: at one temperature nothing but its slope of pressure counts.
struct IsothermMedium<'a>(&'a Isotherm);

impl Medium for IsothermMedium<'_> {
    fn point(&self, temperature: f64, density: f64) -> Result<Point> {
        let point = self.0.at(density);
        Ok(Point {
            local: Local {
                temperature,
                density,
                dp_drho_t: point.dp_drho_t,
                dp_dt_rho: 0.0,
                specific_isochoric_heat_capacity: 1.0,
            },
            pressure: point.pressure,
            dynamic_viscosity: point.dynamic_viscosity,
            specific_enthalpy: f64::NAN,
            vapour_fraction: None,
        })
    }

    fn film_conductance(&self, _: &Point, _: f64) -> Result<f64> {
        Err(Error::Internal {
            place: "hardware::restrictor::bored, a film on an isotherm",
        })
    }
}
