//! The linear restrictor: a short narrow capillary that holds the pressure and lets the fluid expand along its bore.

use fluid::error::positive;
use fluid::{Fluid, Quantity, Result};

use super::bored::{BoredRestrictor, RestrictorHeating, isotherm};
use super::{
    BandWay, Choking, Restrictor, RestrictorEnd, RestrictorFlow, inlet_pressure_for,
    inlet_pressure_where,
};
use crate::flow::bore::{Bore, Stretch};
use crate::flow::capillary::{CapillaryEnd, CapillaryFlow, Isotherm};
use crate::flow::friction::{Regime, Transition, Wall};
use crate::fluid;
use crate::hardware::ProfilePoint;

/// Points of the profile.
const POINTS: u32 = 24;
/// Pressure in Pa up to which an inlet pressure is sought on one isotherm: above most instruments.
const ORDINARY_PRESSURE: f64 = 6e7;
/// Relative uncertainty of the law by regime (common practice, no source).
const LAMINAR: f64 = 0.02;
const TURBULENT: f64 = 0.1;

/// A capillary of constant bore, from the dense phase to the outlet pressure.
///
/// At one temperature the flow follows the isothermal balance of friction and kinetic energy with choking at the isothermal speed
/// of sound, integrated in density ([`crate::flow::capillary`]). A restrictor that is not heated cools inside, passes more and
/// may flash: the isothermal flow is the bound of a heater that keeps up. With another [`RestrictorHeating`] the flow follows the
/// same balances along the bore ([`crate::flow::passage`]).
///
/// ```
/// use densepath::hardware::LinearRestrictor;
/// let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
/// assert_eq!((restrictor.diameter(), restrictor.length()), (10e-6, 0.2));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LinearRestrictor {
    diameter: f64,
    length: f64,
    wall: Wall,
    calibration_factor: f64,
    heating: RestrictorHeating,
}

impl LinearRestrictor {
    /// A restrictor of a bore d and a length L in m with a smooth wall, at the temperature of the fluid that enters.
    ///
    /// Turbulent friction by the law of Haaland. The bore counts with its fourth power: 5 % more bore is 22 % more flow.
    ///
    /// Errors: 101 for a bore or length not above zero; 102 for a length under ten bores.
    ///
    /// ```
    /// use densepath::hardware::LinearRestrictor;
    /// // No law for a bore that is nearly as wide as long.
    /// assert_eq!(LinearRestrictor::new(50e-6, 100e-6).unwrap_err().code(), 102);
    /// ```
    pub fn new(diameter: f64, length: f64) -> Result<Self> {
        Bore::new(vec![Stretch::straight(diameter, length)])?;
        Ok(Self {
            diameter,
            length,
            wall: Wall::SMOOTH,
            calibration_factor: 1.0,
            heating: RestrictorHeating::Isothermal(None),
        })
    }

    /// The restrictor at a temperature T in K of its own. Error 101 if it is not above zero.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// // A restrictor with a temperature of its own takes no notice of that of the fluid.
    /// let own = restrictor.with_temperature(373.15)?;
    /// let flow = |temperature| own.mass_flow_rate(&fluid, temperature, 200e5, 101_325.0);
    /// assert_eq!(flow(313.15)?, flow(353.15)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_temperature(self, temperature: f64) -> Result<Self> {
        self.with_heating(RestrictorHeating::Isothermal(Some(temperature)))
    }

    /// The restrictor with a way to exchange heat. Error 101 for a temperature not above zero.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// use densepath::hardware::restrictor::RestrictorHeating;
    /// let insulated = restrictor.clone().with_heating(RestrictorHeating::Adiabatic)?;
    /// // What is not heated cools inside, stays denser, and passes more.
    /// let flow = |restrictor: &LinearRestrictor| restrictor.mass_flow_rate(&fluid, 373.15, 200e5, 60e5);
    /// assert!(flow(&insulated)? > flow(&restrictor)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_heating(self, heating: RestrictorHeating) -> Result<Self> {
        if let RestrictorHeating::Isothermal(Some(temperature)) = &heating {
            positive(Quantity::Temperature, *temperature)?;
        }
        Ok(Self { heating, ..self })
    }

    /// The restrictor with a wall of a roughness in m. Errors: 101 if negative, 102 if too rough for the law.
    ///
    /// ```
    /// use densepath::hardware::LinearRestrictor;
    /// assert!(LinearRestrictor::new(50e-6, 0.1)?.with_roughness(0.1e-6).is_ok());
    /// assert_eq!(LinearRestrictor::new(50e-6, 0.1)?.with_roughness(-1e-6).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_roughness(self, roughness: f64) -> Result<Self> {
        let wall = Wall {
            roughness,
            ..self.wall
        };
        wall.relative_roughness(self.diameter)?;
        Ok(Self { wall, ..self })
    }

    /// Bore d in m.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::LinearRestrictor::new(10e-6, 0.2)?.diameter(), 10e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn diameter(&self) -> f64 {
        self.diameter
    }

    /// Length L in m.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::LinearRestrictor::new(10e-6, 0.2)?.length(), 0.2);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Mass flow rate `q_m` in kg/s of a fluid at a temperature T in K between two pressures in Pa.
    ///
    /// *Valid*: one phase from inlet to outlet at one temperature; see [`BoredRestrictor`] for other heat. *Uncertainty*: 2 % of
    /// friction and viscosity below Re = 2300, 5 to 10 % above; in practice that of the bore, so calibrate. *Source*: see
    /// [`crate::flow::capillary`].
    ///
    /// ```
    /// use densepath::{Fluid, hardware::LinearRestrictor};
    /// let restrictor = LinearRestrictor::new(10e-6, 0.20)?;
    /// let flow = restrictor.mass_flow_rate(&Fluid::new("carbon dioxide")?, 373.15, 200e5, 1.013e5)?;
    /// assert!((flow * 60e6 - 11.570).abs() < 1e-3); // mg/min
    /// # Ok::<(), densepath::Error>(())
    /// ```
    ///
    /// Errors: 503 if the outlet pressure is not below that of the inlet; 502 if the fluid boils on the way; 501 if it reaches
    /// the isothermal speed of sound on the way, as wide bores do within some kelvin of the critical temperature, where the
    /// model fails; 101 and 102 of the state.
    pub fn mass_flow_rate(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        Restrictor::mass_flow_rate(self, fluid, temperature, inlet_pressure, outlet_pressure)
    }

    /// The flow as calculated, with its ends, without the calibration factor.
    ///
    /// Valid, source and errors as for [`LinearRestrictor::mass_flow_rate`].
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// let flow = restrictor.flow(&fluid, 373.15, 200e5, 101_325.0)?;
    /// assert_eq!(flow.mass_flow_rate, restrictor.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn flow(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<CapillaryFlow> {
        let Some(temperature) = self.held(temperature) else {
            let passage =
                self.bored()?
                    .passage(fluid, temperature, inlet_pressure, outlet_pressure)?;
            return self.capillary_flow(fluid, &passage);
        };
        self.isotherm(fluid, temperature, inlet_pressure, outlet_pressure)?
            .flow(self.diameter, self.length, self.wall)
    }

    /// Mass flow rate in kg/s by the viscous law alone, without kinetic energy, choking and turbulence: what the integral
    /// of density over viscosity gives. It is right within some percent up to bores of 10 um and useless above 20 um;
    /// [`RestrictorFlow::viscous_deviation`] tells how far it is off.
    ///
    /// *Source*: law of Hagen and Poiseuille, integrated. Errors as for [`LinearRestrictor::mass_flow_rate`].
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// let viscous = restrictor.viscous_mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
    /// let full = restrictor.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
    /// // Kinetic energy only takes from the flow.
    /// assert!(viscous > full && viscous < 1.1 * full);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn viscous_mass_flow_rate(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        let temperature = self.held(temperature).unwrap_or(temperature);
        let viscous = self
            .isotherm(fluid, temperature, inlet_pressure, outlet_pressure)?
            .viscous_mass_flow_rate(self.diameter, self.length)?;
        Ok(viscous * self.calibration_factor)
    }

    /// Length in m with which a restrictor of this bore passes a mass flow rate in kg/s.
    ///
    /// Errors: 402 if the bore cannot pass it; otherwise as for [`LinearRestrictor::mass_flow_rate`].
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// let flow = restrictor.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
    /// assert!((restrictor.length_for(flow, &fluid, 373.15, 200e5, 101_325.0)? / 0.2 - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn length_for(
        &self,
        mass_flow_rate: f64,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        let Some(held) = self.held(temperature) else {
            let factor = self.bored()?.length_factor_for(
                mass_flow_rate / self.calibration_factor,
                fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )?;
            return Ok(factor * self.length);
        };
        let flow = self
            .isotherm(fluid, held, inlet_pressure, outlet_pressure)?
            .flow_of_length_for(
                self.diameter,
                mass_flow_rate / self.calibration_factor,
                self.wall,
            )?;
        Ok(flow.length)
    }

    /// Bore in m with which a restrictor of this length passes a mass flow rate in kg/s.
    ///
    /// Errors: 102 if the bore would be above a tenth of the length; otherwise as for [`LinearRestrictor::mass_flow_rate`].
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// let flow = restrictor.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
    /// assert!((restrictor.diameter_for(flow, &fluid, 373.15, 200e5, 101_325.0)? / 10e-6 - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn diameter_for(
        &self,
        mass_flow_rate: f64,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        let Some(held) = self.held(temperature) else {
            let factor = self.bored()?.bore_factor_for(
                mass_flow_rate / self.calibration_factor,
                fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )?;
            return Ok(factor * self.diameter);
        };
        let flow = self
            .isotherm(fluid, held, inlet_pressure, outlet_pressure)?
            .flow_of_diameter_for(
                self.length,
                mass_flow_rate / self.calibration_factor,
                self.wall,
            )?;
        Ok(flow.diameter)
    }

    /// The isotherm between two pressures in Pa, from which any number of flows and sizes follow without the equation of state:
    /// for maps and programs at one temperature in K.
    ///
    /// Errors as for [`LinearRestrictor::mass_flow_rate`].
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// // Flows of other bores follow from the one isotherm.
    /// let isotherm = restrictor.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
    /// assert!((isotherm.inlet().pressure / 200e5 - 1.0).abs() < 1e-9);
    /// let viscous = restrictor.viscous_mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
    /// assert!((isotherm.viscous_mass_flow_rate(10e-6, 0.2)? / viscous - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn isotherm(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<Isotherm> {
        isotherm(
            fluid,
            temperature,
            [inlet_pressure, outlet_pressure],
            self.length,
        )
    }

    /// Temperature in K that the fluid keeps, if it keeps one.
    fn held(&self, temperature: f64) -> Option<f64> {
        match &self.heating {
            RestrictorHeating::Isothermal(own) => Some(own.unwrap_or(temperature)),
            _ => None,
        }
    }

    /// The same restrictor for the march along its bore.
    fn bored(&self) -> Result<BoredRestrictor> {
        BoredRestrictor::new(self.bore()?)
            .with_wall(self.wall)
            .with_heating(self.heating.clone())
    }

    fn bore(&self) -> Result<Bore> {
        Bore::new(vec![Stretch::straight(self.diameter, self.length)])
    }

    fn capillary_flow(&self, fluid: &Fluid, passage: &RestrictorFlow) -> Result<CapillaryFlow> {
        let end = |end: &RestrictorEnd| {
            let state = fluid::State::from_t_rho(fluid, end.temperature, end.density)?;
            Ok(CapillaryEnd {
                pressure: end.pressure,
                density: end.density,
                velocity: end.velocity,
                // At constant temperature the pressure of two phases does not change with their density.
                isothermal_speed_of_sound: state.dp_drho_t().map_or(0.0, f64::sqrt),
                reynolds_number: end.reynolds_number,
            })
        };
        let ends: Result<(CapillaryEnd, CapillaryEnd)> =
            end(&passage.inlet).and_then(|inlet| Ok((inlet, end(&passage.exit)?)));
        let (inlet, exit) = ends?;
        Ok(CapillaryFlow {
            diameter: self.diameter,
            length: self.length,
            mass_flow_rate: passage.mass_flow_rate,
            mass_flux: passage.inlet.density * passage.inlet.velocity,
            inlet,
            exit,
            is_choked: passage.choking != Choking::None,
            regime: passage.regime,
        })
    }

    /// The passage at one temperature.
    fn held_passage(
        &self,
        fluid: &Fluid,
        temperature: f64,
        isotherm: &Isotherm,
    ) -> Result<RestrictorFlow> {
        let flow = isotherm.flow(self.diameter, self.length, self.wall)?;
        let mut bracket = None;
        if flow.regime == Regime::Transitional {
            let late = Wall {
                transition: Transition::Late,
                ..self.wall
            };
            let other = isotherm.flow(self.diameter, self.length, late)?;
            let ends = [flow, other].map(|flow| flow.mass_flow_rate * self.calibration_factor);
            bracket = Some((ends[0].min(ends[1]), ends[0].max(ends[1])));
        }
        let end = |end: &CapillaryEnd| RestrictorEnd {
            temperature,
            pressure: end.pressure,
            density: end.density,
            velocity: end.velocity,
            mach_number: end.velocity / end.isothermal_speed_of_sound,
            reynolds_number: end.reynolds_number,
            vapour_fraction: None,
        };
        let total = |end: &CapillaryEnd| -> Result<f64> {
            let state = fluid::State::from_t_rho(fluid, temperature, end.density)?;
            Ok(state.specific_enthalpy() + 0.5 * end.velocity * end.velocity)
        };
        let mass_flow_rate = flow.mass_flow_rate * self.calibration_factor;
        Ok(RestrictorFlow {
            mass_flow_rate,
            viscous_mass_flow_rate: Some(
                self.calibration_factor
                    * isotherm.viscous_mass_flow_rate(self.diameter, self.length)?,
            ),
            bracket,
            inlet: end(&flow.inlet),
            exit: end(&flow.exit),
            choking: if flow.is_choked {
                Choking::Isothermal
            } else {
                Choking::None
            },
            regime: flow.regime,
            heat_flow_rate: mass_flow_rate * (total(&flow.exit)? - total(&flow.inlet)?),
            hold_up_time: isotherm.hold_up_time(&flow, self.wall)? / self.calibration_factor,
            profile: self.profile(isotherm, &flow, temperature)?,
            wall_temperatures: Vec::new(),
            law: "real gas with friction at one temperature",
            uncertainty: if flow.regime == Regime::Laminar {
                LAMINAR
            } else {
                TURBULENT
            },
            notices: Vec::new(),
        })
    }

    fn profile(
        &self,
        isotherm: &Isotherm,
        flow: &CapillaryFlow,
        temperature: f64,
    ) -> Result<Vec<ProfilePoint>> {
        let (inlet, exit) = (flow.inlet.density, flow.exit.density);
        let point = |density: f64| -> Result<ProfilePoint> {
            Ok(ProfilePoint {
                position: isotherm.position(flow, self.wall, density)?,
                temperature,
                pressure: isotherm.at(density).pressure,
                density,
                velocity: flow.mass_flux / density,
                retention_factor: 0.0,
                plate_height: 0.0,
            })
        };
        (0..=POINTS)
            .map(|index| {
                let share = f64::from(index) / f64::from(POINTS);
                // Evenly in the logarithm; the ends exactly.
                let density = (inlet * (exit / inlet).powf(share)).clamp(exit, inlet);
                point(if index == POINTS { exit } else { density })
            })
            .collect()
    }
}

impl Restrictor for LinearRestrictor {
    fn word(&self) -> &'static str {
        "linear_restrictor"
    }

    fn band_way(&self) -> Result<Option<BandWay>> {
        Ok(Some(BandWay::Bore(self.bore()?)))
    }

    fn passage(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<RestrictorFlow> {
        match self.held(temperature) {
            Some(held) => {
                let isotherm = self.isotherm(fluid, held, inlet_pressure, outlet_pressure)?;
                self.held_passage(fluid, held, &isotherm)
            }
            None => self
                .bored()?
                .with_calibration_factor(self.calibration_factor)?
                .passage(fluid, temperature, inlet_pressure, outlet_pressure),
        }
    }

    fn mass_flow_rate(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        let calculated = match self.held(temperature) {
            Some(held) => {
                let isotherm = self.isotherm(fluid, held, inlet_pressure, outlet_pressure)?;
                isotherm
                    .flow(self.diameter, self.length, self.wall)?
                    .mass_flow_rate
            }
            None => {
                self.bored()?
                    .mass_flow_rate(fluid, temperature, inlet_pressure, outlet_pressure)?
            }
        };
        Ok(calculated * self.calibration_factor)
    }

    fn inlet_pressure_for(
        &self,
        mass_flow_rate: f64,
        fluid: &Fluid,
        temperature: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        let (held, calculated) = (
            self.held(temperature),
            mass_flow_rate / self.calibration_factor,
        );
        if let Some(held) = held
            && let Ok(isotherm) = self.isotherm(fluid, held, ORDINARY_PRESSURE, outlet_pressure)
            && let Some(density) =
                isotherm.inlet_density_for(self.diameter, self.length, calculated, self.wall)?
        {
            return fluid.pressure(held, density);
        }
        inlet_pressure_for(self, mass_flow_rate, fluid, temperature, outlet_pressure)
    }

    fn inlet_pressure_for_volume_flow(
        &self,
        volume_flow_rate: f64,
        fluid: &Fluid,
        temperature: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        positive(Quantity::VolumeFlowRate, volume_flow_rate)?;
        let held = self.held(temperature);
        let isotherm = held.and_then(|held| {
            self.isotherm(fluid, held, ORDINARY_PRESSURE, outlet_pressure)
                .ok()
        });
        let passed = |pressure: f64| match &isotherm {
            Some(isotherm) if pressure <= ORDINARY_PRESSURE => {
                let flow = isotherm.below(pressure)?;
                let flow = flow.flow(self.diameter, self.length, self.wall)?;
                Ok(flow.mass_flow_rate * self.calibration_factor)
            }
            _ => self.mass_flow_rate(fluid, temperature, pressure, outlet_pressure),
        };
        inlet_pressure_where(fluid, outlet_pressure, |pressure| {
            let passed = passed(pressure)?;
            let wanted = volume_flow_rate * fluid.density(temperature, pressure)?;
            Ok((passed - wanted) / (passed + wanted))
        })
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
        let resized = Self {
            diameter: self.diameter * factor,
            ..self.clone()
        };
        resized.bore()?;
        Ok(resized)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::circular_area;
    use crate::fluid::num::root::{Tolerance, bracketed};
    use crate::hardware::testing::{close, co2, fact, naphthalene, stream_at, surroundings};
    use crate::hardware::{Element, OpenTubularColumn, Retention, Solute, Thermal};
    use fluid::{Error, NoticeCode, State};
    use proptest::prelude::*;

    const OUTSIDE: f64 = 1.013e5;
    /// 1 mg/min in kg/s.
    const MILLIGRAM: f64 = 1e-6 / 60.0;

    /// Bore in um, length in m, temperature in degC, inlet pressure in bar; then mass flow in mg/min by the viscous integral
    /// and by the full balance, exit pressure in bar, exit velocity in m/s and the Reynolds numbers at inlet and exit: an
    /// independent computation with CoolProp 8.0.0 and scipy 1.17.1, outlet at 1.013 bar.
    const CASES: [([f64; 4], [f64; 6]); 8] = [
        (
            [10.0, 0.2, 100.0, 100.0],
            [3.094295, 3.086514, 1.739056, 264.438, 298.814, 355.316],
        ),
        (
            [10.0, 0.2, 100.0, 200.0],
            [11.667159, 11.570333, 6.519373, 261.4627, 668.852, 1327.064],
        ),
        (
            [10.0, 0.2, 100.0, 400.0],
            [29.691062, 26.907396, 15.163653, 256.0025, 853.041, 3063.259],
        ),
        (
            [15.0, 0.5, 100.0, 200.0],
            [23.625997, 23.462693, 5.875602, 261.8652, 904.213, 1794.963],
        ),
        (
            [10.0, 0.2, 200.0, 200.0],
            [7.028727, 6.998439, 4.440168, 297.7386, 514.092, 649.842],
        ),
        (
            [10.0, 0.2, 350.0, 200.0],
            [4.125962, 4.117031, 2.997654, 342.9134, 272.869, 303.684],
        ),
        (
            [25.0, 0.1, 60.0, 200.0],
            [
                1078.985432,
                280.219177,
                23.923615,
                228.756,
                3934.654,
                14029.036,
            ],
        ),
        (
            [50.0, 0.3, 60.0, 150.0],
            [
                3834.577669,
                705.755429,
                15.041637,
                237.3559,
                6528.362,
                17850.976,
            ],
        ),
    ];

    #[test]
    fn flows_to_the_atmosphere_agree_with_an_independent_computation() {
        let fluid = co2();
        for ([micrometres, length, degc, bar], expected) in CASES {
            let restrictor = LinearRestrictor::new(micrometres * 1e-6, length).unwrap();
            let (t, p) = (degc + 273.15, bar * 1e5);
            let flow = restrictor.flow(&fluid, t, p, OUTSIDE).unwrap();
            let viscous = restrictor.viscous_mass_flow_rate(&fluid, t, p, OUTSIDE);
            let ours = [
                viscous.unwrap() / MILLIGRAM,
                flow.mass_flow_rate / MILLIGRAM,
                flow.exit.pressure / 1e5,
                flow.exit.velocity,
                flow.inlet.reynolds_number,
                flow.exit.reynolds_number,
            ];
            for (ours, expected) in ours.iter().zip(expected) {
                assert!(
                    close(*ours, expected, 1e-5),
                    "{micrometres} um, {bar} bar: {ours} against {expected}"
                );
            }
            assert!(flow.is_choked);
        }
    }

    #[test]
    fn lengths_and_bores_for_a_flow_are_found() {
        let fluid = co2();
        let of = |d: f64, l: f64| LinearRestrictor::new(d, l).unwrap();
        let conditions = (&fluid, 373.15, 200e5, OUTSIDE);
        let (fluid, t, p, out) = conditions;
        // 2 cm/s in a column of 50 um: 1.132 mg/min through 7 um asks 49.48 cm, through 15 um 10.43 m, by the viscous
        // integral (CoolProp 8.0.0, scipy 1.17.1); the full balance asks a little less.
        let density = State::from_tp(fluid, t, p).unwrap().density();
        let q_m = 0.02 * circular_area(50e-6).unwrap() * density;
        for (d, length) in [(7e-6, 0.494831), (15e-6, 10.4335)] {
            let viscous = of(d, 1.0).viscous_mass_flow_rate(fluid, t, p, out).unwrap() / q_m;
            assert!(close(viscous, length, 1e-5));
            let full = of(d, 1.0).length_for(q_m, fluid, t, p, out).unwrap();
            assert!(full < length && full > 0.995 * length);
            let back = of(1e-5, full).diameter_for(q_m, fluid, t, p, out).unwrap();
            assert!(close(back, d, 1e-9));
        }
        // A calibrated restrictor that passes half as much is half as long for the same flow.
        let half = of(7e-6, 1.0).with_calibration_factor(0.5).unwrap();
        let full = of(7e-6, 1.0)
            .length_for(2.0 * q_m, fluid, t, p, out)
            .unwrap();
        assert!(close(
            half.length_for(q_m, fluid, t, p, out).unwrap(),
            full,
            1e-9
        ));
    }

    /// 10 um x 2.061 m at 100 degC drives a column of 50 um: velocity in cm/s at other pressures in bar by the viscous
    /// integral (CoolProp 8.0.0, scipy 1.17.1).
    #[test]
    fn one_restrictor_over_a_pressure_program() {
        let (fluid, restrictor) = (co2(), LinearRestrictor::new(10e-6, 2.061).unwrap());
        for (bar, velocity) in [(150.0, 1.72598), (300.0, 2.61883), (400.0, 3.23223)] {
            let viscous = restrictor.viscous_mass_flow_rate(&fluid, 373.15, bar * 1e5, OUTSIDE);
            let density = State::from_tp(&fluid, 373.15, bar * 1e5).unwrap().density();
            let ours = viscous.unwrap() / density / circular_area(50e-6).unwrap();
            assert!(close(ours * 100.0, velocity, 1e-4));
        }
    }

    #[test]
    fn a_gas_at_low_pressure_obeys_the_closed_form() {
        // 2 to 1 bar at 100 degC: the viscous integral over that of a perfect gas is 1.00358 (CoolProp 8.0.0).
        let (fluid, d, length) = (co2(), 10e-6, 0.2);
        let viscous = LinearRestrictor::new(d, length)
            .unwrap()
            .viscous_mass_flow_rate(&fluid, 373.15, 2e5, 1e5)
            .unwrap();
        let viscosity = State::from_tp(&fluid, 373.15, 1.5e5).unwrap();
        let viscosity = viscosity.dynamic_viscosity().unwrap();
        let perfect = std::f64::consts::PI * d.powi(4) * 3e10 * fluid.molar_mass()
            / (256.0 * viscosity * 8.314_462_618 * 373.15 * length);
        assert!(
            close(viscous / perfect, 1.00358, 1e-4),
            "{}",
            viscous / perfect
        );
    }

    /// Column 50 um x 10 m at 100 degC and 200 bar before 7 um x 49.5 cm at 100 degC, k = 3: mass flow in mg/min, pressure
    /// drop in bar, retention time in s and variance in s2, integrated along the column (CoolProp 8.0.0, scipy 1.17.1).
    #[test]
    fn a_capillary_column_with_its_restrictor_agrees_with_an_independent_computation() {
        let oven = Thermal::Isothermal {
            temperature: 373.15,
        };
        let column = OpenTubularColumn::new(50e-6, 10.0, 0.25e-6, 1e-10)
            .and_then(|column| column.with_thermal(oven))
            .unwrap();
        let restrictor = LinearRestrictor::new(7e-6, 0.495).unwrap();
        let solute = Solute {
            retention: Retention::Constant {
                retention_factor: 3.0,
            },
            ..naphthalene()
        };
        let inlet = |milligrams: f64| stream_at(100.0, 200.0, milligrams * MILLIGRAM);
        let around = surroundings(Some(&solute));
        let milligrams = bracketed("test", 0.5, 2.0, Tolerance::default(), |milligrams| {
            let outlet = column.pass(&inlet(milligrams), &around)?;
            restrictor.excess(&outlet.stream, &around)
        })
        .unwrap();
        let outlet = column.pass(&inlet(milligrams), &around).unwrap();
        let band = outlet.band.as_ref().unwrap();
        for (ours, expected) in [
            (milligrams, 1.122626),
            (fact(&outlet, "pressure drop") / 1e5, 0.9318224),
            (band.time, 2011.9753),
            (band.time_variance, 63.49957),
        ] {
            assert!(close(ours, expected, 1e-5), "{ours} against {expected}");
        }
        let end = restrictor.pass(&outlet.stream, &around).unwrap();
        assert!(close(
            fact(&end, "mass flow rate it passes"),
            milligrams * MILLIGRAM,
            1e-9
        ));
        let share = end.band.unwrap();
        assert!(share.time_variance < 1e-4 * band.time_variance && share.time > 0.0);
        assert!(close(end.profile.last().unwrap().position, 0.495, 1e-9));
        assert_eq!(end.stream.state.pressure(), around.room_pressure);
    }

    /// 10 um x 20 cm at 100 degC from 200 bar: 27.5517 mW raise the enthalpy to that of the exit (CoolProp 8.0.0); the
    /// kinetic energy of 261.4627 m/s comes on top.
    #[test]
    fn heat_and_doubts_of_a_restrictor_to_the_atmosphere() {
        let restrictor = LinearRestrictor::new(10e-6, 0.2).unwrap();
        let q_m = 11.570333 * MILLIGRAM;
        let inlet = stream_at(100.0, 200.0, q_m);
        let outlet = restrictor.pass(&inlet, &surroundings(None)).unwrap();
        let heat = 27.5517e-3 + q_m * 0.5 * 261.4627f64.powi(2);
        assert!(close(outlet.heat_flow_rate, heat, 1e-4));
        assert!(
            restrictor
                .excess(&inlet, &surroundings(None))
                .unwrap()
                .abs()
                < 1e-5
        );
        let codes: Vec<_> = outlet.notices.iter().map(|notice| notice.code).collect();
        assert!(codes.contains(&NoticeCode::Choked) && codes.contains(&NoticeCode::HotSurface));
        // Outside, the jet at rest is warmer than the gas of the exit.
        assert!(outlet.stream.state.temperature() > 373.15);
    }

    #[test]
    fn choking_near_the_critical_point_is_told() {
        let wide = LinearRestrictor::new(100e-6, 0.05).unwrap();
        let outlet = wide
            .pass(&stream_at(32.0, 200.0, 1e-3), &surroundings(None))
            .unwrap();
        let codes: Vec<_> = outlet.notices.iter().map(|notice| notice.code).collect();
        assert!(
            codes.contains(&NoticeCode::NearCritical),
            "{:?}",
            outlet.notices
        );
    }

    #[test]
    fn the_excess_rises_with_the_inlet_pressure_and_survives_a_vacuum() {
        let restrictor = LinearRestrictor::new(10e-6, 0.2).unwrap();
        let excess = |bar: f64| {
            let inlet = stream_at(100.0, bar, 10.0 * MILLIGRAM);
            restrictor.excess(&inlet, &surroundings(None)).unwrap()
        };
        assert_eq!(excess(0.5), -1.0);
        assert!(excess(2.0) < excess(100.0) && excess(100.0) < 0.0 && excess(200.0) > 0.0);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let fluid = co2();
        for (d, l, code) in [(0.0, 0.2, 101), (1e-5, f64::NAN, 101), (1e-3, 5e-3, 102)] {
            assert_eq!(LinearRestrictor::new(d, l).unwrap_err().code(), code);
        }
        let restrictor = LinearRestrictor::new(1e-5, 0.2).unwrap();
        let code = |t, p, out| {
            restrictor
                .mass_flow_rate(&fluid, t, p, out)
                .unwrap_err()
                .code()
        };
        assert_eq!(code(373.15, 1e5, 200e5), 503);
        assert_eq!(code(373.15, 1e5, 1e5), 503);
        assert_eq!(code(70.0, 200e5, 1e5), 102);
        assert_eq!(code(100.0, 200e5, 1e5), 303);
        assert_eq!(code(f64::NAN, 200e5, 1e5), 101);
        assert_eq!(code(373.15, -200e5, 1e5), 101);
        // A liquid at 20 degC boils at 57.29 bar on its way out.
        let Err(Error::PhaseChange { pressure, .. }) =
            restrictor.mass_flow_rate(&fluid, 293.15, 200e5, 1e5)
        else {
            panic!("a boiling liquid passed");
        };
        assert!(close(pressure, 57.291e5, 1e-4));
        // It does not boil if the outlet stays above that.
        assert!(
            restrictor
                .mass_flow_rate(&fluid, 293.15, 200e5, 60e5)
                .is_ok()
        );
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        #[test]
        fn the_flow_rises_with_the_inlet_pressure_at_any_temperature(
            temperature in 304.2..600.0f64, bar in 5.0..500.0f64, more in 1.0001..1.2f64, micrometres in 3.0..100.0f64,
        ) {
            let (fluid, restrictor) = (co2(), LinearRestrictor::new(micrometres * 1e-6, 0.3).unwrap());
            let flow = |bar: f64| restrictor.mass_flow_rate(&fluid, temperature, bar * 1e5, OUTSIDE);
            match (flow(bar), flow(bar * more)) {
                (Ok(less), Ok(more)) => prop_assert!(more > less),
                (Err(fault), _) | (_, Err(fault)) => {
                    prop_assert_eq!(fault.code(), 501);
                    prop_assert!(temperature < 330.0 && micrometres > 15.0);
                }
            }
        }
    }
}
