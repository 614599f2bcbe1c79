//! A short hole: the closed end of an integral restrictor, a pinhole, a nozzle, a crimp.

use fluid::error::{not_negative, positive};
use fluid::{Fluid, Quantity, Result, State};

use super::throat::{Throat, throat};
use super::{Choking, Restrictor, RestrictorEnd, RestrictorFlow};
use crate::flow::circular_area;
use crate::flow::friction::Regime;
use crate::fluid;
use crate::hardware::channel::one_phase;

/// A short hole in the way of the fluid, which expands in it without friction and heat.
///
/// `q_m = C_d A max_p rho sqrt(2 (h_0 - h(p, s_0)))`: the largest mass flux of the isentropic expansion, liquid and vapour in
/// equilibrium, or that at the pressure outside where this lies above the pressure of the largest. A fluid that boils late in
/// a short hole passes more. *Valid* for a hole without length; for a real one the coefficient of discharge stands for its
/// friction and its jet. *Uncertainty*: 10 % with a measured coefficient, 30 % where it boils (common practice, no source).
/// *Source*: A. H. Shapiro 1953, ch. 4 (from memory), for the nozzle; homogeneous equilibrium for two phases (from memory).
///
/// ```
/// use densepath::hardware::OrificeRestrictor;
/// let pinhole = OrificeRestrictor::new(10e-6, 0.85)?;
/// assert!((pinhole.area() - densepath::flow::circular_area(10e-6)?).abs() < 1e-20);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrificeRestrictor {
    area: f64,
    discharge_coefficient: f64,
    is_crimp: bool,
    calibration_factor: f64,
}

/// Relative uncertainty with one phase and with two (common practice, no source).
const ONE_PHASE: f64 = 0.1;
const TWO_PHASES: f64 = 0.3;
impl OrificeRestrictor {
    /// A hole of a diameter d in m with a coefficient of discharge.
    ///
    /// About 0.6 for a dense fluid through a sharp edge, 0.8 to 0.85 for a choked gas there, 0.95 and more for a rounded
    /// nozzle (common practice, no source). Errors: 101 for a diameter or coefficient not above zero; 102 for a coefficient
    /// above 1.
    ///
    /// ```
    /// use densepath::hardware::OrificeRestrictor;
    /// assert_eq!(OrificeRestrictor::new(10e-6, 1.2).unwrap_err().code(), 102);
    /// ```
    pub fn new(diameter: f64, discharge_coefficient: f64) -> Result<Self> {
        positive(Quantity::Ratio, discharge_coefficient)?;
        fluid::error::within(
            Quantity::Ratio,
            discharge_coefficient,
            0.0,
            1.0,
            "a coefficient of discharge",
        )?;
        Ok(Self {
            area: circular_area(diameter)?,
            discharge_coefficient,
            is_crimp: false,
            calibration_factor: 1.0,
        })
    }

    /// A crimped tube by the area in m2 that one measured mass flow rate in kg/s is equivalent to: that of a hole without loss.
    ///
    /// *Valid* near the conditions of the measurement: a crimp has friction too, so that its area seems to change with them.
    /// Errors: 101 for a flow not above zero; those of [`throat`].
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{OrificeRestrictor, Restrictor}};
    /// let fluid = Fluid::new("carbon dioxide")?;
    /// let crimp = OrificeRestrictor::crimped(1e-6, &fluid, 373.15, 200e5, 101_325.0)?;
    /// assert!((crimp.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)? / 1e-6 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn crimped(
        mass_flow_rate: f64,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<Self> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let inlet = State::from_tp(fluid, temperature, inlet_pressure)?;
        one_phase(&inlet, 0.0)?;
        Self::of_area(mass_flow_rate / throat(&inlet, outlet_pressure)?.mass_flux)
    }

    /// A crimped tube of an equivalent area in m2. Error 101 if it is not above zero.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::OrificeRestrictor::of_area(1e-10)?.area(), 1e-10);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn of_area(area: f64) -> Result<Self> {
        Ok(Self {
            area: positive(Quantity::Area, area)?,
            discharge_coefficient: 1.0,
            is_crimp: true,
            calibration_factor: 1.0,
        })
    }

    /// Area in m2.
    ///
    /// ```
    /// // Twice the bore has four times the area.
    /// use densepath::hardware::OrificeRestrictor;
    /// let area = |diameter| OrificeRestrictor::new(diameter, 0.85).map(|hole| hole.area());
    /// assert!((area(20e-6)? / area(10e-6)? - 4.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn area(&self) -> f64 {
        self.area
    }

    /// Diameter in m of the hole, for a crimp that of a hole of its area.
    ///
    /// ```
    /// use densepath::hardware::OrificeRestrictor;
    /// assert!((OrificeRestrictor::new(10e-6, 0.85)?.diameter() - 10e-6).abs() < 1e-18);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn diameter(&self) -> f64 {
        (4.0 * self.area / std::f64::consts::PI).sqrt()
    }

    /// Coefficient of discharge.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::OrificeRestrictor::new(10e-6, 0.85)?.discharge_coefficient(), 0.85);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn discharge_coefficient(&self) -> f64 {
        self.discharge_coefficient
    }

    /// Diameter in m with which a hole of this coefficient passes a mass flow rate in kg/s.
    ///
    /// Errors: 101 for a flow not above zero; those of [`throat`].
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{OrificeRestrictor, Restrictor}};
    /// let (fluid, hole) = (Fluid::new("carbon dioxide")?, OrificeRestrictor::new(10e-6, 0.85)?);
    /// let flow = hole.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
    /// // Four times the flow through twice the diameter.
    /// assert!((hole.diameter_for(4.0 * flow, &fluid, 373.15, 200e5, 101_325.0)? / 20e-6 - 1.0).abs() < 1e-6);
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
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let passed = self.mass_flow_rate(fluid, temperature, inlet_pressure, outlet_pressure)?;
        Ok(self.diameter() * (mass_flow_rate / passed).sqrt())
    }

    fn passed(&self, throat: &Throat) -> f64 {
        self.calibration_factor * self.discharge_coefficient * self.area * throat.mass_flux
    }
}

/// The fluid at rest and its throat.
fn throat_of(
    fluid: &Fluid,
    temperature: f64,
    inlet_pressure: f64,
    outlet_pressure: f64,
) -> Result<(State, Throat)> {
    let inlet = State::from_tp(fluid, temperature, inlet_pressure)?;
    one_phase(&inlet, 0.0)?;
    let throat = throat(&inlet, outlet_pressure)?;
    Ok((inlet, throat))
}

impl Restrictor for OrificeRestrictor {
    fn word(&self) -> &'static str {
        if self.is_crimp {
            "crimped_restrictor"
        } else {
            "orifice_restrictor"
        }
    }

    fn passage(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<RestrictorFlow> {
        let (inlet, throat) = throat_of(fluid, temperature, inlet_pressure, outlet_pressure)?;
        let boils = !throat.state.is_one_phase();
        let end = |state: &State, velocity: f64, mach_number: f64| RestrictorEnd {
            temperature: state.temperature(),
            pressure: state.pressure(),
            density: state.density(),
            velocity,
            mach_number,
            reynolds_number: f64::NAN,
            vapour_fraction: state.vapour_fraction().filter(|_| boils),
        };
        let mach_number = if throat.is_choked {
            1.0
        } else {
            throat
                .state
                .speed_of_sound()
                .map_or(f64::NAN, |sound| throat.velocity / sound)
        };
        Ok(RestrictorFlow {
            mass_flow_rate: self.passed(&throat),
            viscous_mass_flow_rate: None,
            bracket: None,
            inlet: end(&inlet, 0.0, 0.0),
            exit: end(&throat.state, throat.velocity, mach_number),
            choking: match (throat.is_choked, boils) {
                (false, _) => Choking::None,
                (true, false) => Choking::Adiabatic,
                (true, true) => Choking::TwoPhase,
            },
            regime: Regime::Turbulent,
            heat_flow_rate: 0.0,
            hold_up_time: 0.0,
            profile: Vec::new(),
            wall_temperatures: Vec::new(),
            law: "isentropic expansion in equilibrium to the largest mass flux",
            uncertainty: if boils { TWO_PHASES } else { ONE_PHASE },
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
        let (_, throat) = throat_of(fluid, temperature, inlet_pressure, outlet_pressure)?;
        Ok(self.passed(&throat))
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
        let area = self.area * positive(Quantity::Ratio, factor)?.powi(2);
        Ok(Self {
            area: not_negative(Quantity::Area, area)?,
            ..*self
        })
    }
}
