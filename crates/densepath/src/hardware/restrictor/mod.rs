//! Restrictors: narrow bores that hold the pressure before them and let the fluid expand, in every shape.
//!
//! | shape | type | law | range |
//! |---|---|---|---|
//! | one bore | [`LinearRestrictor`] | isothermal balance by quadrature; with other heat the march | length above ten bores |
//! | cone, either way; stretches | [`BoredRestrictor`] | the march of [`crate::flow::passage`] | cone below 0.2, steps of any ratio |
//! | hole in a closed end, nozzle, crimp | [`OrificeRestrictor`] | isentropic expansion in equilibrium to its largest mass flux | no friction; hole short |
//! | plug of frit | [`FritRestrictor`] | law of Darcy with slip at the pores after Klinkenberg | slow flow in the pores |
//!
//! The inlet of a bore is inside it: what the fluid needs to get there from rest, about `1.1 rho v^2`, is told beside the flow and
//! left out of it, being small beside the pressures that drive restrictors. All of them: flow from pressures, plain viscous flow beside it, inlet pressure for a flow, calibration by one measured
//! flow, sensitivity to the bore, drift along a program.

mod bored;
mod frit;
mod jacket;
mod judge;
mod linear;
mod medium;
mod orifice;
mod throat;

use std::cell::Cell;

use fluid::error::{Error, positive};
use fluid::num::root::{Tolerance, bracketed};
use fluid::{Fluid, Notice, Quantity, Result, State};

use super::{Element, Outlet, ProfilePoint, Stream, Surroundings};
use crate::flow::bore::Bore;
use crate::flow::friction::Regime;
use crate::fluid;

pub use bored::{BoredRestrictor, Jacket, RestrictorHeating};
pub use frit::FritRestrictor;
pub use judge::tip_notices;
pub use linear::LinearRestrictor;
pub use orifice::OrificeRestrictor;
pub(crate) use throat::throat_near;
pub use throat::{Throat, throat};

/// What limits the flow.
///
/// ```
/// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
/// // From 200 bar into the room a narrow bore is choked at the isothermal speed of sound.
/// use densepath::hardware::restrictor::Choking;
/// assert_eq!(restrictor.passage(&fluid, 373.15, 200e5, 101_325.0)?.choking, Choking::Isothermal);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Choking {
    /// The pressure outside: the flow is slower than sound everywhere.
    None,
    /// The isothermal speed of sound, of a fluid that keeps the temperature of the wall.
    Isothermal,
    /// The speed of sound of a fluid of one phase.
    Adiabatic,
    /// The speed of sound of liquid and vapour in equilibrium, the border at which they appear, or the triple point, at which they freeze
    /// and sound in equilibrium stands still.
    TwoPhase,
}

impl Choking {
    /// The words used in reports.
    ///
    /// ```
    /// use densepath::hardware::restrictor::Choking;
    /// assert_ne!(Choking::None.name(), Choking::TwoPhase.name());
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            Choking::None => "not choked",
            Choking::Isothermal => "choked at the isothermal speed of sound",
            Choking::Adiabatic => "choked at the speed of sound",
            Choking::TwoPhase => "choked by boiling",
        }
    }
}

/// State of the flow at one end of a restrictor, inside its bore.
///
/// ```
/// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
/// let flow = restrictor.passage(&fluid, 373.15, 200e5, 101_325.0)?;
/// // The fluid expands along the bore and comes out faster.
/// assert!(flow.exit.density < flow.inlet.density && flow.exit.velocity > flow.inlet.velocity);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RestrictorEnd {
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Velocity v in m/s.
    pub velocity: f64,
    /// Velocity over the speed of the waves that choke the flow; not a number where the law knows none.
    pub mach_number: f64,
    /// Reynolds number Re; not a number where the law knows none.
    pub reynolds_number: f64,
    /// Mass fraction of vapour, where liquid and vapour are side by side.
    pub vapour_fraction: Option<f64>,
}

/// A steady flow through a restrictor.
///
/// ```
/// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
/// let flow = restrictor.passage(&fluid, 373.15, 200e5, 101_325.0)?;
/// // All the mass that enters leaves: rho u is the same at both ends of a straight bore.
/// let flux = |end: &densepath::hardware::restrictor::RestrictorEnd| end.density * end.velocity;
/// assert!((flux(&flow.exit) / flux(&flow.inlet) - 1.0).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct RestrictorFlow {
    /// Mass flow rate `q_m` in kg/s, the calibration factor included.
    pub mass_flow_rate: f64,
    /// Mass flow rate in kg/s by the plain law alone, the integral of density over viscosity, with the calibration factor; none
    /// where the law has no meaning: for a hole, and where the fluid boils at the temperature of the inlet.
    pub viscous_mass_flow_rate: Option<f64>,
    /// Smallest and largest mass flow rate in kg/s where part of the bore lies between laminar and turbulent flow.
    pub bracket: Option<(f64, f64)>,
    /// Inlet.
    pub inlet: RestrictorEnd,
    /// Exit, inside the bore.
    pub exit: RestrictorEnd,
    /// What limits the flow.
    pub choking: Choking,
    /// Regime of the flow.
    pub regime: Regime,
    /// Heat flow rate into the fluid in W.
    pub heat_flow_rate: f64,
    /// Time of the fluid in the restrictor in s; not a number for a frit whose porosity is not stated.
    pub hold_up_time: f64,
    /// Points from inlet to exit; empty for a hole.
    pub profile: Vec<ProfilePoint>,
    /// Distance from the inlet in m and temperature in K of the outer face of the wall; empty but for a jacket.
    pub wall_temperatures: Vec<(f64, f64)>,
    /// The law, in words.
    pub law: &'static str,
    /// Relative standard uncertainty of the law, that of the bore not included.
    pub uncertainty: f64,
    /// Doubts and cautions.
    pub notices: Vec<Notice>,
}

impl RestrictorFlow {
    /// How far the plain law is off: its mass flow rate over the full one, less one.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// // At 10 um the plain law is right within some percent, and tells too much.
    /// let off = restrictor.passage(&fluid, 373.15, 200e5, 101_325.0)?.viscous_deviation();
    /// assert!(off.is_some_and(|off| off > 0.0 && off < 0.1));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn viscous_deviation(&self) -> Option<f64> {
        self.viscous_mass_flow_rate
            .map(|viscous| viscous / self.mass_flow_rate - 1.0)
    }

    /// Temperature in K of the outer face of the wall at a distance in m from the inlet, linear between places; none but for a jacket.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// // At a given temperature the wall is nothing of its own.
    /// assert_eq!(restrictor.passage(&fluid, 373.15, 200e5, 101_325.0)?.wall_temperature_at(0.1), None);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn wall_temperature_at(&self, position: f64) -> Option<f64> {
        let places = &self.wall_temperatures;
        let behind = places.partition_point(|(z, _)| *z <= position);
        let before = behind.checked_sub(1).and_then(|place| places.get(place));
        match (before, places.get(behind)) {
            (Some((z0, t0)), Some((z, t))) => Some(t0 + (t - t0) * (position - z0) / (z - z0)),
            (Some((_, nearest)), None) | (None, Some((_, nearest))) => Some(*nearest),
            (None, None) => None,
        }
    }
}

/// The way along which a band spreads in a restrictor.
///
/// ```
/// # use densepath::hardware::{FritRestrictor, Restrictor, restrictor::BandWay};
/// let frit = FritRestrictor::new(100e-6, 20e-3, 1e-15, 0.0)?;
/// // Without its porosity nothing is known of the band in a frit.
/// assert_eq!(frit.band_way()?, None);
/// assert!(matches!(frit.with_porosity(0.4)?.band_way()?, Some(BandWay::Bed { porosity: 0.4, .. })));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub enum BandWay {
    /// A bore.
    Bore(Bore),
    /// A short bed of grains that hold nothing back.
    Bed {
        /// Diameter of the grains `d_p` in m.
        particle_diameter: f64,
        /// Share of the volume between them.
        porosity: f64,
    },
}

/// How the flow answers to the bore; of a frit, to its pores.
///
/// ```
/// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
/// let answer = restrictor.bore_sensitivity(0.05, &fluid, 373.15, 200e5, 101_325.0)?;
/// assert!(answer.lowest < answer.highest);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoreSensitivity {
    /// Exponent `d ln q_m/d ln d`: 4 for slow laminar flow, 2 for a hole and for the pores of a frit, about 2.5 for turbulent choked
    /// flow.
    pub exponent: f64,
    /// Mass flow rate in kg/s of a bore at the lower end of its tolerance.
    pub lowest: f64,
    /// Mass flow rate in kg/s of a bore at the upper end of its tolerance.
    pub highest: f64,
}

/// One point of a program with the flow there.
///
/// ```
/// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
/// let points = restrictor.drift(&fluid, &[(373.15, 150e5), (373.15, 200e5)], 101_325.0)?;
/// assert!((points[1].volume_flow_rate * points[1].inlet_density / points[1].mass_flow_rate - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriftPoint {
    /// Temperature of the restrictor's inlet in K.
    pub temperature: f64,
    /// Pressure before the restrictor in Pa.
    pub inlet_pressure: f64,
    /// Density before the restrictor in kg/m3.
    pub inlet_density: f64,
    /// Mass flow rate in kg/s.
    pub mass_flow_rate: f64,
    /// Volume flow rate before the restrictor in m3/s, to which the velocity in a column is proportional.
    pub volume_flow_rate: f64,
}

/// Highest inlet pressure tried in Pa: above any instrument.
const HIGHEST_PRESSURE: f64 = 1.5e8;
/// Factor between inlet pressures tried.
const FACTOR: f64 = 1.3;
const ROOT: Tolerance = Tolerance {
    relative: 1e-13,
    iterations: 200,
};
/// Relative step of the bore for its exponent.
const STEP: f64 = 1e-4;

/// What every restrictor can be asked for.
///
/// The temperature is that of the fluid that enters; a restrictor with a temperature of its own takes that instead.
///
/// ```
/// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
/// let flow = restrictor.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
/// // Some ten milligrams a minute, and what passes finds its pressure again.
/// assert!(flow * 60e6 > 5.0 && flow * 60e6 < 50.0);
/// assert!((restrictor.inlet_pressure_for(flow, &fluid, 373.15, 101_325.0)? / 200e5 - 1.0).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
pub trait Restrictor: Sized + std::fmt::Debug + Send + Sync {
    /// The word for this sort of restrictor.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// assert!(!restrictor.word().is_empty());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn word(&self) -> &'static str;

    /// The way along which a band spreads, where it is known. Errors as of its constructor.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// use densepath::hardware::restrictor::BandWay;
    /// assert!(matches!(restrictor.band_way()?, Some(BandWay::Bore(bore)) if (bore.length() - 0.2).abs() < 1e-12));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn band_way(&self) -> Result<Option<BandWay>> {
        Ok(None)
    }

    /// The steady flow of a fluid at a temperature in K between two pressures in Pa.
    ///
    /// Errors: 503 if the outlet pressure is not below that of the inlet; 502 where the fluid boils or freezes and the law
    /// does not hold for that; 501 where it chokes on the way; those of the state.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// let flow = restrictor.passage(&fluid, 373.15, 200e5, 101_325.0)?;
    /// assert_eq!(flow.mass_flow_rate, restrictor.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?);
    /// // Nothing flows uphill.
    /// assert_eq!(restrictor.passage(&fluid, 373.15, 1e5, 2e5).unwrap_err().code(), 503);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn passage(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<RestrictorFlow>;

    /// Mass flow rate in kg/s; errors as [`Restrictor::passage`].
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// let flow = |bar: f64| restrictor.mass_flow_rate(&fluid, 373.15, bar * 1e5, 101_325.0);
    /// // Twice the pressure is more than twice the flow: the fluid is denser too.
    /// assert!(flow(200.0)? > 2.0 * flow(100.0)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn mass_flow_rate(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<f64>;

    /// Measured over calculated mass flow rate, 1 where nothing was measured.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// assert_eq!(restrictor.calibration_factor(), 1.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn calibration_factor(&self) -> f64;

    /// The restrictor with a measured over a calculated mass flow rate. Error 101 if it is not above zero.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// let flow = |restrictor: &LinearRestrictor| restrictor.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0);
    /// let calibrated = restrictor.clone().with_calibration_factor(1.2)?;
    /// assert!((flow(&calibrated)? / flow(&restrictor)? - 1.2).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn with_calibration_factor(self, calibration_factor: f64) -> Result<Self>;

    /// The restrictor with all its bores times a factor: of a frit the pores, with its permeability times the square, not the diameter
    /// of the plug. Error 101 if it is not above zero; 102 outside the range of its law.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// // 5 % more bore is 22 % more flow.
    /// let flow = |restrictor: &LinearRestrictor| restrictor.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0);
    /// let wider = restrictor.with_bores_times(1.05)?;
    /// assert!((flow(&wider)? / flow(&restrictor)? - 1.215).abs() < 0.02);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn with_bores_times(&self, factor: f64) -> Result<Self>;

    /// The restrictor calibrated by one measured mass flow rate in kg/s.
    ///
    /// The factor stands for the bore that is not the one stated, and holds at other pressures and temperatures as far as the
    /// flow depends on the bore alike there: for slow laminar flow everywhere. Real restrictors: 0.5 to 2 (common practice, no
    /// source). Errors: 101 for a flow not above zero; those of [`Restrictor::passage`].
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// let measured = 1.1 * restrictor.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
    /// let calibrated = restrictor.calibrated(measured, &fluid, 373.15, 200e5, 101_325.0)?;
    /// assert!((calibrated.calibration_factor() - 1.1).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn calibrated(
        self,
        mass_flow_rate: f64,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<Self> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let calculated =
            self.mass_flow_rate(fluid, temperature, inlet_pressure, outlet_pressure)?;
        let factor = self.calibration_factor() * mass_flow_rate / calculated;
        self.with_calibration_factor(factor)
    }

    /// Inlet pressure in Pa at which a mass flow rate in kg/s passes.
    ///
    /// Errors: 101 for a flow not above zero; 402 if no pressure up to 1.5 kbar, or up to the end of the equation of state,
    /// drives it; 501 and 502 if the pressure would lie where the law does not hold.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// let pressure = restrictor.inlet_pressure_for(0.2e-6, &fluid, 373.15, 101_325.0)?;
    /// let flow = restrictor.mass_flow_rate(&fluid, 373.15, pressure, 101_325.0)?;
    /// assert!((flow / 0.2e-6 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn inlet_pressure_for(
        &self,
        mass_flow_rate: f64,
        fluid: &Fluid,
        temperature: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        inlet_pressure_for(self, mass_flow_rate, fluid, temperature, outlet_pressure)
    }

    /// Inlet pressure in Pa at which a volume flow rate in m3/s enters, counted before the restrictor: that of a column of a
    /// cross-section times the velocity in it.
    ///
    /// The lowest, should there be several, as there may be near the critical point, where the density leaps. Errors as
    /// [`Restrictor::inlet_pressure_for`].
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// use densepath::State;
    /// // 2 cm/s in a capillary column of 50 um.
    /// let wanted = 2e-2 * densepath::flow::circular_area(50e-6)?;
    /// let pressure = restrictor.inlet_pressure_for_volume_flow(wanted, &fluid, 373.15, 101_325.0)?;
    /// let flow = restrictor.mass_flow_rate(&fluid, 373.15, pressure, 101_325.0)?;
    /// assert!((flow / State::from_tp(&fluid, 373.15, pressure)?.density() / wanted - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn inlet_pressure_for_volume_flow(
        &self,
        volume_flow_rate: f64,
        fluid: &Fluid,
        temperature: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        positive(Quantity::VolumeFlowRate, volume_flow_rate)?;
        inlet_pressure_where(fluid, outlet_pressure, |pressure| {
            let passed = self.mass_flow_rate(fluid, temperature, pressure, outlet_pressure)?;
            let wanted = volume_flow_rate * State::from_tp(fluid, temperature, pressure)?.density();
            Ok((passed - wanted) / (passed + wanted))
        })
    }

    /// How the flow answers to a relative tolerance of the bore, such as 0.05; of a frit, of its pores in a plug that stays as wide.
    ///
    /// Errors: 101 for a tolerance not above zero or not below one; those of [`Restrictor::passage`].
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// // Slow laminar flow goes with the fourth power of the bore, kinetic energy takes a little of it.
    /// let exponent = restrictor.bore_sensitivity(0.05, &fluid, 373.15, 200e5, 101_325.0)?.exponent;
    /// assert!(exponent > 3.7 && exponent < 4.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn bore_sensitivity(
        &self,
        tolerance: f64,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<BoreSensitivity> {
        fluid::error::within(
            Quantity::Ratio,
            positive(Quantity::Ratio, tolerance)?,
            0.0,
            0.5,
            "the tolerance of a bore",
        )?;
        let of = |factor: f64| {
            self.with_bores_times(factor)?.mass_flow_rate(
                fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        };
        let slope = (of(1.0 + STEP)? / of(1.0 - STEP)?).ln();
        Ok(BoreSensitivity {
            exponent: slope / ((1.0 + STEP) / (1.0 - STEP)).ln(),
            lowest: of(1.0 - tolerance)?,
            highest: of(1.0 + tolerance)?,
        })
    }

    /// The flow along a program of temperatures in K and inlet pressures in Pa, steady at every point; a density program is one
    /// of pressures, by the equation of state.
    ///
    /// *Valid* where the program is slow beside the time of the fluid between pump and restrictor. Errors as
    /// [`Restrictor::passage`], at the first point that has one.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{LinearRestrictor, Restrictor}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let restrictor = LinearRestrictor::new(10e-6, 0.2)?;
    /// let points = restrictor.drift(&fluid, &[(373.15, 100e5), (373.15, 150e5), (373.15, 200e5)], 101_325.0)?;
    /// // A pressure program through a fixed restrictor raises the flow with it.
    /// assert!(points.windows(2).all(|two| two[1].mass_flow_rate > two[0].mass_flow_rate));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn drift(
        &self,
        fluid: &Fluid,
        program: &[(f64, f64)],
        outlet_pressure: f64,
    ) -> Result<Vec<DriftPoint>> {
        let point = |&(temperature, inlet_pressure): &(f64, f64)| {
            let mass_flow_rate =
                self.mass_flow_rate(fluid, temperature, inlet_pressure, outlet_pressure)?;
            let density = State::from_tp(fluid, temperature, inlet_pressure)?.density();
            Ok(DriftPoint {
                temperature,
                inlet_pressure,
                inlet_density: density,
                mass_flow_rate,
                volume_flow_rate: mass_flow_rate / density,
            })
        };
        program.iter().map(point).collect()
    }
}

/// [`Restrictor::inlet_pressure_for`] of any of them.
fn inlet_pressure_for(
    restrictor: &impl Restrictor,
    mass_flow_rate: f64,
    fluid: &Fluid,
    temperature: f64,
    outlet_pressure: f64,
) -> Result<f64> {
    positive(Quantity::MassFlowRate, mass_flow_rate)?;
    inlet_pressure_where(fluid, outlet_pressure, |pressure| {
        let passed = restrictor.mass_flow_rate(fluid, temperature, pressure, outlet_pressure)?;
        Ok((passed - mass_flow_rate) / (passed + mass_flow_rate))
    })
}

/// The lowest inlet pressure in Pa above that of the outlet at which an excess that rises through it vanishes.
fn inlet_pressure_where(
    fluid: &Fluid,
    outlet_pressure: f64,
    excess: impl Fn(f64) -> Result<f64>,
) -> Result<f64> {
    positive(Quantity::Pressure, outlet_pressure)?;
    let highest = fluid.range().pressure_max.min(HIGHEST_PRESSURE);
    let between =
        |low: f64, high: f64| root_between("inlet pressure of a restrictor", [low, high], &excess);
    // Just above the outlet pressure nothing flows.
    let (mut low, mut fault) = (outlet_pressure * (1.0 + 1e-9), None);
    while low < highest {
        let high = (FACTOR * low).min(highest);
        match excess(high) {
            Ok(found) if found >= 0.0 => {
                let Some(fault) = fault else {
                    return between(low, high);
                };
                let (above, below) =
                    towards_end(high, low, &excess, |found| found < 0.0).ok_or(fault)?;
                return between(below, above);
            }
            Ok(_) => fault = None,
            Err(error @ (Error::PhaseChange { .. } | Error::Choked { .. })) => {
                if fault.is_none()
                    && let Some((below, above)) =
                        towards_end(low, high, &excess, |found| found >= 0.0)
                {
                    return between(below, above);
                }
                fault = Some(error);
            }
            Err(error) => return Err(error),
        }
        low = high;
    }
    Err(Error::Unreachable {
        quantity: Quantity::Pressure,
        min: outlet_pressure,
        max: highest,
        reason: "no inlet pressure drives this flow through the restrictor",
    })
}

/// The root of an excess between two places of different signs; where the law does not hold at a place between them, as far as it holds
/// from either of the two.
fn root_between(
    solver: &'static str,
    ends: [f64; 2],
    excess: &impl Fn(f64) -> Result<f64>,
) -> Result<f64> {
    let hole = Cell::new(None);
    let noted = |place: f64| excess(place).inspect_err(|_| hole.set(Some(place)));
    let root =
        |[one, other]: [f64; 2]| bracketed(solver, one.min(other), one.max(other), ROOT, noted);
    let (found, hole) = (root(ends), hole.get());
    let (Err(fault), Some(hole)) = (&found, hole) else {
        return found;
    };
    for end in ends {
        let at_end = excess(end)?;
        let crosses = |found: f64| (found < 0.0) != (at_end < 0.0);
        if let Some((one, other)) = towards_end(end, hole, excess, crosses) {
            return root([one, other]);
        }
    }
    Err(fault.clone())
}

/// The last place before and the first behind a change of sign between a place where a law holds and one where it does not, sought by
/// halving towards where it ends.
fn towards_end(
    mut held: f64,
    mut end: f64,
    excess: &impl Fn(f64) -> Result<f64>,
    crosses: impl Fn(f64) -> bool,
) -> Option<(f64, f64)> {
    for _ in 0..RETREATS {
        let middle = 0.5 * (held + end);
        match excess(middle) {
            Ok(found) if crosses(found) => return Some((held, middle)),
            Ok(_) => held = middle,
            Err(_) => end = middle,
        }
    }
    None
}

/// As a part of a path every restrictor holds the pressure before it and lets the fluid out into the room.
impl<R: Restrictor> Element for R {
    fn kind(&self) -> &'static str {
        self.word()
    }

    fn holds_pressure(&self) -> bool {
        true
    }

    fn excess(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<f64> {
        judge::excess(self, inlet, surroundings)
    }

    fn pass(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Outlet> {
        let flow = judge::flow_of(self, inlet, surroundings)?;
        judge::outlet_of(&flow, inlet, surroundings, self.band_way()?.as_ref())
    }
}

/// Halvings by which the end of the range of a law is closed in on, before which the root may lie.
const RETREATS: u32 = 20;

/// Logarithms of factors to begin with, where the law does not hold at those before.
const STARTS: [f64; 9] = [0.0, -0.1, 0.1, -0.2, 0.2, -0.4, 0.4, -0.8, 0.8];

/// Root of a falling or rising excess over a factor around 1, sought outwards in both directions from the first place at which the
/// law holds.
fn factor_for(
    quantity: Quantity,
    reason: &'static str,
    excess: impl Fn(f64) -> Result<f64>,
) -> Result<f64> {
    let known = |place: &f64| Some((*place, excess(*place).ok()?));
    let Some((origin, start)) = STARTS.iter().find_map(known) else {
        return Err(excess(0.0).err().unwrap_or(Error::Unreachable {
            quantity,
            min: 0.0,
            max: f64::INFINITY,
            reason,
        }));
    };
    if start == 0.0 {
        return Ok(origin.exp());
    }
    let crosses = |found: f64| (found < 0.0) != (start < 0.0);
    let between = |one: f64, other: f64| {
        root_between("size of a restrictor", [one, other], &excess).map(f64::exp)
    };
    let step = f64::ln(2.0);
    let mut faults = [None, None];
    let mut last = [origin, origin];
    for reach in 1..=40 {
        for (side, sign) in [1.0, -1.0].into_iter().enumerate() {
            if faults[side].is_some() {
                continue;
            }
            let next = origin + sign * step * f64::from(reach);
            match excess(next) {
                Ok(found) if crosses(found) => return between(next, last[side]),
                Ok(_) => last[side] = next,
                Err(fault) => {
                    faults[side] = Some(fault);
                    if let Some((one, other)) = towards_end(last[side], next, &excess, crosses) {
                        return between(one, other);
                    }
                }
            }
        }
    }
    Err(faults
        .into_iter()
        .flatten()
        .next()
        .unwrap_or(Error::Unreachable {
            quantity,
            min: 0.0,
            max: f64::INFINITY,
            reason,
        }))
}

#[cfg(test)]
mod tests;
