//! Isothermal flow through a capillary at any pressure ratio: friction along the whole isotherm, kinetic energy, choking.
//!
//! The momentum balance of a channel of constant bore at constant temperature,
//! `dp (1 - G^2/(rho^2 c_T^2)) = -f G^2/(2 d rho) dz` with `c_T^2 = (dp/drho)_T`,
//! is integrated in the logarithm of density:
//! `L = integral of 2 d (rho^2 c_T^2 - G^2)/(f G^2) d ln rho` from the exit to the inlet.
//! The flow chokes where the mass flux G reaches `rho c_T`; the exit then stands above the pressure outside.
//!
//! *Source*: A. H. Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow, vol. 1, Ronald Press, 1953, ch. 6
//! (from memory), for the balance; written here for a real fluid and a friction factor that varies along the tube.

pub use super::isotherm::{Isotherm, IsothermPoint};
pub(crate) use super::isotherm::{SAMPLES, Sample, Samples};

use super::circular_area;
use super::friction::{Regime, Wall, conductances, kinks};
use crate::fluid::error::{Error, Result, positive};
use crate::fluid::num::root::{Tolerance, bracketed, newton};
use crate::fluid::quantity::Quantity;
use std::f64::consts::PI;

/// Shortest tube in diameters that the law of developed friction is asked for (common practice, no source).
const SHORTEST: f64 = 10.0;

/// State of the flow at one end of a capillary.
///
/// ```
/// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
/// let flow = isotherm.flow(10e-6, 0.2, Wall::SMOOTH)?;
/// // Choked: the exit runs at the isothermal speed of sound.
/// assert!((flow.exit.velocity / flow.exit.isothermal_speed_of_sound - 1.0).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CapillaryEnd {
    /// Pressure p in Pa inside the end.
    pub pressure: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Velocity v in m/s.
    pub velocity: f64,
    /// Isothermal speed of sound `c_T` in m/s.
    pub isothermal_speed_of_sound: f64,
    /// Reynolds number Re.
    pub reynolds_number: f64,
}

/// A steady flow through a capillary.
///
/// ```
/// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
/// let flow = isotherm.flow(10e-6, 0.2, Wall::SMOOTH)?;
/// assert!((flow.mass_flux * densepath::flow::circular_area(10e-6)? / flow.mass_flow_rate - 1.0).abs() < 1e-12);
/// assert!((flow.inlet.density * flow.inlet.velocity / flow.mass_flux - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CapillaryFlow {
    /// Bore d in m.
    pub diameter: f64,
    /// Length L in m.
    pub length: f64,
    /// Mass flow rate `q_m` in kg/s.
    pub mass_flow_rate: f64,
    /// Mass flux G in kg/(m2 s).
    pub mass_flux: f64,
    /// Inlet.
    pub inlet: CapillaryEnd,
    /// Exit, inside the end of the bore.
    pub exit: CapillaryEnd,
    /// Whether the exit runs at the isothermal speed of sound, so that the pressure outside has no influence.
    pub is_choked: bool,
    /// Regime of the flow: transitional if it is so anywhere in the tube, otherwise that of the higher Reynolds number.
    pub regime: Regime,
}

/// The viscous limit: slow laminar flow, which the integral of density over viscosity describes in full.
impl Isotherm {
    /// Integral of rho/eta dp in kg/(m3 s), from the pressure of the outlet to that of the inlet.
    ///
    /// ```
    /// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
    /// // Hagen and Poiseuille: q_m = pi d^4 / (128 L) times the integral.
    /// let factor = std::f64::consts::PI * 10e-6f64.powi(4) / (128.0 * 0.2);
    /// let flow = isotherm.viscous_mass_flow_rate(10e-6, 0.2)?;
    /// assert!((isotherm.viscous_integral() * factor / flow - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn viscous_integral(&self) -> f64 {
        self.laminar_integrals(self.outlet_density())[0]
    }

    /// Mass flow rate `q_m = pi d^4/(128 L) integral of rho/eta dp` in kg/s through a bore d and length L in m.
    ///
    /// *Valid*: laminar flow far below the speed of sound; above about 15 um of bore it overstates the flow of a
    /// restrictor to the atmosphere, by a factor of several. *Source*: law of Hagen and Poiseuille, integrated.
    ///
    /// Errors: 101 for a length that is not above zero or a bore that is not.
    ///
    /// ```
    /// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
    /// // The fourth power of the bore.
    /// let flow = |bore| isotherm.viscous_mass_flow_rate(bore, 0.2);
    /// assert!((flow(20e-6)? / flow(10e-6)? - 16.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn viscous_mass_flow_rate(&self, diameter: f64, length: f64) -> Result<f64> {
        positive(Quantity::Diameter, diameter)?;
        positive(Quantity::Length, length)?;
        Ok(PI * diameter.powi(4) / (128.0 * length) * self.viscous_integral())
    }

    /// Length `L = pi d^4/(128 q_m) integral of rho/eta dp` in m for a bore d in m and a mass flow rate in kg/s.
    ///
    /// Valid and source as for [`Isotherm::viscous_mass_flow_rate`]; errors alike.
    ///
    /// ```
    /// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
    /// let flow = isotherm.viscous_mass_flow_rate(10e-6, 0.2)?;
    /// assert!((isotherm.viscous_length(10e-6, flow)? - 0.2).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn viscous_length(&self, diameter: f64, mass_flow_rate: f64) -> Result<f64> {
        positive(Quantity::Diameter, diameter)?;
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        Ok(PI * diameter.powi(4) / (128.0 * mass_flow_rate) * self.viscous_integral())
    }

    /// Bore d in m by the viscous law, for a length L in m and a mass flow rate in kg/s.
    ///
    /// Valid and source as for [`Isotherm::viscous_mass_flow_rate`]; errors alike.
    ///
    /// ```
    /// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
    /// let flow = isotherm.viscous_mass_flow_rate(10e-6, 0.2)?;
    /// assert!((isotherm.viscous_diameter(0.2, flow)? / 10e-6 - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn viscous_diameter(&self, length: f64, mass_flow_rate: f64) -> Result<f64> {
        positive(Quantity::Length, length)?;
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        Ok((128.0 * length * mass_flow_rate / (PI * self.viscous_integral())).powf(0.25))
    }
}

/// The full balance: friction of any regime, kinetic energy and choking.
impl Isotherm {
    /// Flow through a capillary of bore d and length L in m with the wall given.
    ///
    /// *Valid*: developed flow of one phase at constant temperature; friction above Re = 2300 that of turbulent flow.
    /// *Uncertainty*: of the balance 1e-8; of the friction see [`Wall::friction_factor`]; that of the bore counts four
    /// times.
    ///
    /// Errors: 101 for a bore or length not above zero; 102 for a length under ten bores or too rough a wall; 501 if the
    /// flow reaches the isothermal speed of sound on the way, as it can within some kelvin of the critical temperature.
    ///
    /// ```
    /// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
    /// let flow = isotherm.flow(10e-6, 0.2, Wall::SMOOTH)?;
    /// // Kinetic energy takes part of the pressure.
    /// assert!(flow.is_choked && flow.mass_flow_rate < isotherm.viscous_mass_flow_rate(10e-6, 0.2)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn flow(&self, diameter: f64, length: f64, wall: Wall) -> Result<CapillaryFlow> {
        self.flow_near(diameter, length, wall, &mut Neighbours::default())
    }

    /// As [`Isotherm::flow`], begun from flows nearby, among which the flow found takes its place.
    fn flow_near(
        &self,
        diameter: f64,
        length: f64,
        wall: Wall,
        neighbours: &mut Neighbours,
    ) -> Result<CapillaryFlow> {
        let tube = Tube::new(self, diameter, wall)?;
        long_enough(length, diameter)?;
        let sonic = (BELOW_SOUND * self.sonic_flux()).ln();
        let pressure = self.inlet().pressure;
        let (start, exit) = (
            neighbours.fluxes.at(pressure),
            neighbours.exits.at(pressure),
        );
        let beside =
            start.and_then(|start| tube.flux_near((start.min(sonic), exit), sonic, length));
        let flow = match beside {
            Some(Ended { mass_flux, exit }) => {
                let exit = self.choking_point_near(mass_flux, exit)?;
                self.describe(&tube, mass_flux, exit, length)?
            }
            None => self.flow_alone(&tube, length, exit)?,
        };
        neighbours.keep(&flow);
        Ok(flow)
    }

    /// The flow through a tube, begun as a laminar one; with the density at which a flow nearby chokes.
    fn flow_alone(&self, tube: &Tube<'_>, length: f64, near: Option<f64>) -> Result<CapillaryFlow> {
        let diameter = tube.diameter;
        let laminar = self.settled_laminar(near, |[push, drag]| {
            // d^2/(32 G) (push - G^2 drag) = L is quadratic in G.
            let friction = 32.0 * length / (diameter * diameter);
            2.0 * push / (friction + (friction * friction + 4.0 * push * drag).sqrt())
        })?;
        if tube.is_laminar(laminar.mass_flux) {
            return self.describe(tube, laminar.mass_flux, laminar.exit, length);
        }
        // Turbulence and kinetic energy only take flow away, and the flux of sound at the inlet is never passed. The
        // margins keep the root inside the bracket in spite of rounding.
        let viscous = self.viscous_mass_flow_rate(diameter, length)? / circular_area(diameter)?;
        let highest = (1.000_001 * viscous).min(BELOW_SOUND * self.sonic_flux());
        // Beside the flux of sound at the inlet, where the length vanishes, no start leads away soon.
        let start = if laminar.mass_flux < highest {
            laminar.mass_flux
        } else {
            HALFWAY * highest
        };
        let flux = match tube.flux_near((start.ln(), near), highest.ln(), length) {
            Some(Ended { mass_flux, .. }) => mass_flux,
            None => tube.flux_in_bracket(highest, length)?,
        };
        self.describe(tube, flux, self.choking_point(flux)?, length)
    }

    /// Flows at inlet pressures in Pa up to that of the isotherm: a map of flow over pressure from one isotherm.
    ///
    /// Errors as [`Isotherm::flow`] and [`Isotherm::below`], at the first pressure that has one.
    ///
    /// ```
    /// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
    /// let flows = isotherm.flows(10e-6, 0.2, Wall::SMOOTH, &[100e5, 150e5, 200e5])?;
    /// assert!(flows.windows(2).all(|two| two[1].mass_flow_rate > two[0].mass_flow_rate));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn flows(
        &self,
        diameter: f64,
        length: f64,
        wall: Wall,
        inlet_pressures: &[f64],
    ) -> Result<Vec<CapillaryFlow>> {
        let mut neighbours = Neighbours::default();
        let flow = |pressure: &f64| {
            self.below(*pressure)?
                .flow_near(diameter, length, wall, &mut neighbours)
        };
        inlet_pressures.iter().map(flow).collect()
    }

    /// Flow of a mass flow rate in kg/s through a bore d in m, with the length that makes it so.
    ///
    /// Errors: 101 for an argument not above zero; 402 if the bore cannot pass the flow at the speed of sound; 501 as for
    /// [`Isotherm::flow`].
    ///
    /// ```
    /// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
    /// let flow = isotherm.flow(10e-6, 0.2, Wall::SMOOTH)?;
    /// let found = isotherm.flow_of_length_for(10e-6, flow.mass_flow_rate, Wall::SMOOTH)?;
    /// assert!((found.length / 0.2 - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn flow_of_length_for(
        &self,
        diameter: f64,
        mass_flow_rate: f64,
        wall: Wall,
    ) -> Result<CapillaryFlow> {
        let tube = Tube::new(self, diameter, wall)?;
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let area = circular_area(diameter)?;
        let flux = mass_flow_rate / area;
        if flux >= self.sonic_flux() {
            return Err(Error::Unreachable {
                quantity: Quantity::Length,
                min: 0.0,
                max: f64::INFINITY,
                reason: "the bore is too narrow to pass this mass flow rate at the speed of sound",
            });
        }
        let exit = self.choking_point(flux)?;
        self.describe(&tube, flux, exit, tube.length_from(self.end(exit), flux))
    }

    /// Flow of a mass flow rate in kg/s through a length L in m, with the bore that makes it so.
    ///
    /// Errors: 101 for an argument not above zero; 102 if the bore found is above a tenth of the length, or too rough; 501
    /// as for [`Isotherm::flow`].
    ///
    /// ```
    /// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
    /// let flow = isotherm.flow(10e-6, 0.2, Wall::SMOOTH)?;
    /// let found = isotherm.flow_of_diameter_for(0.2, flow.mass_flow_rate, Wall::SMOOTH)?;
    /// assert!((found.diameter / 10e-6 - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn flow_of_diameter_for(
        &self,
        length: f64,
        mass_flow_rate: f64,
        wall: Wall,
    ) -> Result<CapillaryFlow> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let viscous = self.viscous_diameter(length, mass_flow_rate)?;
        let flux = |diameter: f64| 4.0 * mass_flow_rate / (PI * diameter * diameter);
        let mut diameter = viscous;
        let laminar = self.settled_laminar(None, |[push, drag]| {
            // The same with G = 4 q_m/(pi d^2): pi d^4 push/(128 q_m) = L + q_m drag/(8 pi).
            let long = length + mass_flow_rate * drag / (8.0 * PI);
            diameter = (128.0 * mass_flow_rate * long / (PI * push)).powf(0.25);
            flux(diameter)
        })?;
        if laminar.mass_flux.is_finite() {
            long_enough(length, diameter)?;
            let tube = Tube::new(self, diameter, wall)?;
            if tube.is_laminar(laminar.mass_flux) {
                return self.describe(&tube, laminar.mass_flux, laminar.exit, length);
            }
        }
        let sonic = (4.0 * mass_flow_rate / (PI * self.sonic_flux())).sqrt();
        let narrowest = (0.999_999 * viscous).max(1.000_000_001 * sonic);
        let near = |logarithm: f64| {
            let diameter = logarithm.exp();
            let tube = Tube::new(self, diameter, wall).ok()?;
            let (found, _) = tube.length(flux(diameter), None).ok()?;
            Some(((found.length / length).ln(), found.exponent_of_bore()))
        };
        let start = diameter.max(narrowest).ln();
        let bounds = (narrowest.ln(), f64::INFINITY);
        let diameter = match newton(start, bounds, NEWTON, near) {
            Some(found) => found.exp(),
            None => self.diameter_in_bracket(narrowest, length, mass_flow_rate, wall)?,
        };
        long_enough(length, diameter)?;
        let tube = Tube::new(self, diameter, wall)?;
        let flux = flux(diameter);
        self.describe(&tube, flux, self.choking_point(flux)?, length)
    }

    /// The bore by bisection, from one that is too narrow.
    fn diameter_in_bracket(
        &self,
        narrowest: f64,
        length: f64,
        mass_flow_rate: f64,
        wall: Wall,
    ) -> Result<f64> {
        let excess = |diameter: f64| {
            let flux = 4.0 * mass_flow_rate / (PI * diameter * diameter);
            Tube::new(self, diameter, wall)?.excess(flux, length)
        };
        let mut widest = narrowest;
        while excess(widest)? < 0.0 {
            widest *= 1.5;
            long_enough(length, widest / 1.5)?;
        }
        bracketed(
            "bore of a capillary",
            narrowest.max(widest / 1.5),
            widest,
            ROOT,
            excess,
        )
    }

    /// Density in kg/m3 at the inlet, up to that of the isotherm, with which a mass flow rate in kg/s passes a bore d and a length L in
    /// m; none if the isotherm has none, or if the flow might choke on the way.
    ///
    /// The flux tells where the flow ends, and the length from there grows with the density of the inlet.
    ///
    /// Errors: 101 and 102 as [`Isotherm::flow`].
    pub(crate) fn inlet_density_for(
        &self,
        diameter: f64,
        length: f64,
        mass_flow_rate: f64,
        wall: Wall,
    ) -> Result<Option<f64>> {
        let tube = Tube::new(self, diameter, wall)?;
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        long_enough(length, diameter)?;
        let flux = mass_flow_rate / circular_area(diameter)?;
        if flux >= self.sonic_flux() || self.reopens(flux * (1.0 + BESIDE)) {
            return Ok(None);
        }
        let from = self.end(self.choking_point(flux)?);
        self.density_where(from, &tube.kinks(flux), length, |samples| {
            tube.steps(flux, samples).dz
        })
    }

    /// Distance in m from the inlet at which a flow has expanded to a density in kg/m3.
    ///
    /// Errors: 101 for a density that the flow does not reach between inlet and exit.
    ///
    /// ```
    /// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
    /// let flow = isotherm.flow(10e-6, 0.2, Wall::SMOOTH)?;
    /// let place = |density| isotherm.position(&flow, Wall::SMOOTH, density);
    /// // The fluid thins out along the way, and reaches the density of its exit at the end.
    /// assert!(place(200.0)? < place(50.0)?);
    /// assert!((place(flow.exit.density)? / 0.2 - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn position(&self, flow: &CapillaryFlow, wall: Wall, density: f64) -> Result<f64> {
        if density < flow.exit.density || density > flow.inlet.density || density.is_nan() {
            return Err(Error::Domain {
                quantity: Quantity::Density,
                value: density,
                rule: "between those of the exit and the inlet of the capillary",
            });
        }
        Ok(Tube::new(self, flow.diameter, wall)?.length_from(density, flow.mass_flux))
    }

    /// Time in s that the fluid of a flow stays in the capillary.
    ///
    /// Errors: 101 and 102 for too rough a wall.
    ///
    /// ```
    /// # use densepath::{Fluid, flow::friction::Wall, hardware::LinearRestrictor};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let isotherm = LinearRestrictor::new(10e-6, 0.2)?.isotherm(&fluid, 373.15, 200e5, 101_325.0)?;
    /// let flow = isotherm.flow(10e-6, 0.2, Wall::SMOOTH)?;
    /// // Between the times at the velocity of the exit and at that of the inlet.
    /// let time = isotherm.hold_up_time(&flow, Wall::SMOOTH)?;
    /// assert!(time < 0.2 / flow.inlet.velocity && time > 0.2 / flow.exit.velocity);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn hold_up_time(&self, flow: &CapillaryFlow, wall: Wall) -> Result<f64> {
        let tube = Tube::new(self, flow.diameter, wall)?;
        let (flux, kinks) = (flow.mass_flux, tube.kinks(flow.mass_flux));
        let mut time = 0.0;
        self.visit(flow.exit.density, &kinks, |samples| {
            let Steps { dz, .. } = tube.steps(flux, samples);
            let times = std::array::from_fn(|k| samples.densities[k] / flux * dz[k]);
            time += samples.integral(&times);
        });
        Ok(time)
    }

    /// The laminar flow whose flux follows from [`Isotherm::laminar_integrals`] up to its exit, begun with the density at which a
    /// flow nearby chokes; an infinite flux where that does
    /// not settle, which is not laminar then.
    ///
    /// The exit of a choked flow depends on the flux, but there the length has no slope in it (`rho^2 c_T^2 = G^2`), so that the
    /// error of each flux is the square of that of the exit it is found with: an exit that stays, nearly, is enough.
    fn settled_laminar<F: FnMut([f64; 2]) -> f64>(
        &self,
        near: Option<f64>,
        mut flux_of: F,
    ) -> Result<Ended> {
        let inlet = self.inlet_density();
        let (mut before, mut exit) = (f64::INFINITY, near.filter(|exit| *exit < inlet));
        for _ in 0..LAMINAR_STEPS {
            let mass_flux = flux_of(self.laminar_integrals(self.end(exit)));
            if !(mass_flux > 0.0 && mass_flux < self.sonic_flux()) {
                break;
            }
            let next = self.choking_point_near(mass_flux, exit)?;
            let stays = match (exit, next) {
                (Some(exit), Some(next)) => (next / exit - 1.0).abs() <= NEARLY,
                (exit, next) => exit == next,
            };
            let settles = (mass_flux / before - 1.0).abs() <= ROOT.relative;
            (before, exit) = (mass_flux, next);
            if settles || stays {
                return Ok(Ended { mass_flux, exit });
            }
        }
        Ok(Ended {
            mass_flux: f64::INFINITY,
            exit: None,
        })
    }

    /// Density at the exit: that of the outlet where nothing chokes.
    fn end(&self, choked: Option<f64>) -> f64 {
        choked.unwrap_or_else(|| self.outlet_density())
    }

    /// Error 501 if a flow reaches the speed of sound at a density above that of its exit: near the critical point the
    /// isothermal speed of sound all but vanishes, and a flow at constant temperature cannot pass there.
    fn refuse_inner_choking(&self, tube: &Tube<'_>, mass_flux: f64, length: f64) -> Result<()> {
        let beyond = mass_flux * (1.0 + BESIDE);
        if !self.reopens(beyond) {
            return Ok(());
        }
        match self.choking_point(beyond)? {
            Some(point) => Err(Error::Choked {
                position: tube.length_from(point, mass_flux).min(length),
                pressure: self.at(point).pressure,
            }),
            None => Ok(()),
        }
    }

    /// Mass flux in kg/(m2 s) at which the inlet itself runs at the isothermal speed of sound.
    fn sonic_flux(&self) -> f64 {
        self.inlet_density() * self.inlet().dp_drho_t.sqrt()
    }

    /// A flow with the density at which it chokes.
    fn describe(
        &self,
        tube: &Tube<'_>,
        mass_flux: f64,
        exit: Option<f64>,
        length: f64,
    ) -> Result<CapillaryFlow> {
        self.refuse_inner_choking(tube, mass_flux, length)?;
        let end = |density: f64, point: IsothermPoint| CapillaryEnd {
            pressure: point.pressure,
            density,
            velocity: mass_flux / density,
            isothermal_speed_of_sound: point.dp_drho_t.sqrt(),
            reynolds_number: mass_flux * tube.diameter / point.dynamic_viscosity,
        };
        let inlet = end(self.inlet_density(), self.inlet());
        let exit_end = match exit {
            Some(density) => end(density, self.at(density)),
            None => end(self.outlet_density(), self.outlet()),
        };
        Ok(CapillaryFlow {
            diameter: tube.diameter,
            length,
            mass_flow_rate: mass_flux * circular_area(tube.diameter)?,
            mass_flux,
            inlet,
            exit: exit_end,
            is_choked: exit.is_some(),
            regime: regime_of(inlet.reynolds_number, exit_end.reynolds_number),
        })
    }
}

/// How many flows tell of the next one on a map: with one more a map of a thousand pressures asks for no length less.
const NEIGHBOURS: usize = 4;

/// What flows tell of the next one on a map.
#[derive(Default)]
struct Neighbours {
    /// Logarithms of the fluxes of the last turbulent flows.
    fluxes: Trend,
    /// Densities at which the last flows choke.
    exits: Trend,
}

impl Neighbours {
    /// A laminar flow needs no neighbours but its exit, and is none of a turbulent one.
    fn keep(&mut self, flow: &CapillaryFlow) {
        let pressure = flow.inlet.pressure;
        let turbulent = flow.regime != Regime::Laminar;
        let flux = turbulent.then(|| flow.mass_flux.ln());
        self.fluxes.push(pressure, flux);
        let exit = flow.is_choked.then_some(flow.exit.density);
        self.exits.push(pressure, exit);
    }
}

/// Pressures at the inlets of the last flows with a quantity of each, the last first.
#[derive(Default)]
struct Trend {
    known: [(f64, f64); NEIGHBOURS],
    count: usize,
}

impl Trend {
    /// The quantity at a pressure on the polynomial through all that are known (E. H. Neville, J. Indian Math. Soc. 20, 87 (1934), from
    /// memory); none where none is, or where two are of one pressure.
    fn at(&self, pressure: f64) -> Option<f64> {
        let mut through = self.known.map(|(_, at)| at);
        for order in 1..self.count {
            for k in 0..self.count - order {
                let (here, there) = (self.known[k].0, self.known[k + order].0);
                let share = (pressure - here) / (there - here);
                through[k] += share * (through[k + 1] - through[k]);
            }
        }
        let [found, ..] = through;
        (self.count > 0 && found.is_finite()).then_some(found)
    }

    /// What a flow tells; if it tells nothing, those before it do no more.
    fn push(&mut self, pressure: f64, found: Option<f64>) {
        self.known.rotate_right(1);
        self.known[0] = (pressure, found.unwrap_or(f64::NAN));
        self.count = found.map_or(0, |_| NEIGHBOURS.min(self.count + 1));
    }
}

/// A mass flux with the density at which it chokes.
struct Ended {
    mass_flux: f64,
    exit: Option<f64>,
}

/// Share of the flux of sound at the inlet that a flow stays below.
const BELOW_SOUND: f64 = 0.999_999_999;
/// Share of the highest flux to begin with where no lower one is known.
const HALFWAY: f64 = 0.5;
/// Steps after which a laminar flux has settled.
const LAMINAR_STEPS: u32 = 12;
/// Step relative to the density to which an exit is sought for its length alone, which has no slope in it there.
const NEARLY: f64 = 1e-7;
/// Relative step of the flux that tells on which side of a sonic minimum a root lies.
const BESIDE: f64 = 1e-9;

const ROOT: Tolerance = Tolerance {
    relative: 1e-12,
    iterations: 200,
};

/// Steps along a capillary per ln density.
struct Steps {
    /// Their lengths in m.
    dz: [f64; SAMPLES],
    /// The parts of them that kinetic energy takes, `2 d/f`, in m.
    lost: [f64; SAMPLES],
    /// Exponents of the Reynolds number in the friction factor.
    exponents: [f64; SAMPLES],
}

/// A length in m and the parts of it by which it answers to flux and bore.
#[derive(Default)]
struct Answer {
    length: f64,
    /// Integral of what kinetic energy takes.
    lost: f64,
    /// Integral of the exponent of the friction factor.
    bent: f64,
}

impl std::ops::AddAssign for Answer {
    fn add_assign(&mut self, other: Self) {
        self.length += other.length;
        self.lost += other.lost;
        self.bent += other.bent;
    }
}

impl Answer {
    /// `d ln L/d ln G` at the same bore: `dz = (2 d/f) (rho^2 c_T^2/G^2 - 1) d ln rho`, and Re goes with G.
    fn exponent_of_flux(&self) -> f64 {
        -(2.0 * (self.length + self.lost) + self.bent) / self.length
    }

    /// `d ln L/d ln d` at the same mass flow rate, where G goes with `d^-2` and Re with `d^-1`.
    fn exponent_of_bore(&self) -> f64 {
        (self.length + 4.0 * (self.length + self.lost) + self.bent) / self.length
    }
}

/// Newton step of a logarithm that leaves its root known to its square, beyond [`ROOT`].
const NEWTON: f64 = 1e-7;

/// One bore on one isotherm.
struct Tube<'a> {
    isotherm: &'a Isotherm,
    diameter: f64,
    relative_roughness: f64,
    wall: Wall,
}

impl<'a> Tube<'a> {
    fn new(isotherm: &'a Isotherm, diameter: f64, wall: Wall) -> Result<Self> {
        Ok(Self {
            isotherm,
            diameter,
            relative_roughness: wall.relative_roughness(diameter)?,
            wall,
        })
    }

    /// Whether a mass flux is laminar all along the isotherm, up to the bridge to the turbulent law.
    fn is_laminar(&self, mass_flux: f64) -> bool {
        let [first, _] = kinks(self.wall);
        mass_flux * self.diameter < first * self.isotherm.least_viscosity()
    }

    /// Length over which a mass flux falls from the inlet to the exit, choked or not, with what it answers to and the density at which it
    /// chokes, sought near one: the exit itself does not count, as the length has no slope there.
    fn length(&self, mass_flux: f64, near: Option<f64>) -> Result<(Answer, Option<f64>)> {
        let exit = self
            .isotherm
            .choking_point_within(mass_flux, near, NEARLY)?;
        Ok((self.answer_from(self.isotherm.end(exit), mass_flux), exit))
    }

    /// Length from the inlet to a point of the isotherm.
    fn length_from(&self, from: f64, mass_flux: f64) -> f64 {
        self.answer_from(from, mass_flux).length
    }

    /// As [`Tube::length_from`], with what it answers to.
    fn answer_from(&self, from: f64, mass_flux: f64) -> Answer {
        let mut answer = Answer::default();
        self.isotherm
            .visit(from, &self.kinks(mass_flux), |samples| {
                answer += self.answer_of(mass_flux, samples);
            });
        answer
    }

    /// The share of one stretch.
    fn answer_of(&self, mass_flux: f64, samples: &Samples) -> Answer {
        let [first, _] = kinks(self.wall);
        let limit = mass_flux * self.diameter / first;
        if samples
            .viscosities
            .iter()
            .all(|viscosity| *viscosity >= limit)
        {
            return self.laminar_answer(mass_flux, samples.laminar());
        }
        let Steps {
            dz,
            lost,
            exponents,
        } = self.steps(mass_flux, samples);
        Answer {
            length: samples.integral(&dz),
            lost: samples.integral(&lost),
            bent: samples.integral(&std::array::from_fn(|k| exponents[k] * dz[k])),
        }
    }

    /// The share of a stretch of laminar flow, where `2 d/f = G d^2/(32 eta)`, of its [`Isotherm::laminar_integrals`].
    fn laminar_answer(&self, mass_flux: f64, [push, drag]: [f64; 2]) -> Answer {
        let scale = self.diameter * self.diameter / 32.0;
        let length = scale * (push / mass_flux - mass_flux * drag);
        Answer {
            length,
            lost: scale * mass_flux * drag,
            bent: -length,
        }
    }

    /// The viscosities at which the slope of the friction factor jumps.
    fn kinks(&self, mass_flux: f64) -> [f64; 2] {
        kinks(self.wall).map(|reynolds| mass_flux * self.diameter / reynolds)
    }

    fn steps(&self, mass_flux: f64, samples: &Samples) -> Steps {
        let (d, g) = (self.diameter, mass_flux);
        let reynolds_numbers = samples.viscosities.map(|viscosity| g * d / viscosity);
        let found = conductances(self.wall, reynolds_numbers, self.relative_roughness);
        let lost = found.inverse.map(|inverse| 2.0 * d * inverse);
        let (squares, per_square) = (samples.sonic_squares(), 1.0 / (g * g));
        Steps {
            dz: std::array::from_fn(|k| lost[k] * (squares[k] * per_square - 1.0)),
            lost,
            exponents: found.exponents,
        }
    }

    /// The flux for a length, from the logarithm of one near it, up to that of the highest, and its exit: in logarithms the length is a
    /// power of the flow, or nearly so, and a few Newton steps find it. Nothing where they do not.
    fn flux_near(
        &self,
        (start, mut exit): (f64, Option<f64>),
        highest: f64,
        length: f64,
    ) -> Option<Ended> {
        let excess = |logarithm: f64| {
            let (found, end) = self.length(logarithm.exp(), exit).ok()?;
            exit = end;
            Some(((length / found.length).ln(), -found.exponent_of_flux()))
        };
        let bounds = (f64::NEG_INFINITY, highest);
        let mass_flux = newton(start, bounds, NEWTON, excess)?.exp();
        Some(Ended { mass_flux, exit })
    }

    /// The flux for a length in a bracket below the highest that can be.
    fn flux_in_bracket(&self, highest: f64, length: f64) -> Result<f64> {
        let excess = |share: f64| self.excess(share * highest, length);
        let mut lowest = 1.0;
        while excess(lowest)? < 0.0 {
            lowest *= 0.25;
        }
        let share = bracketed(
            "mass flow rate of a capillary",
            lowest,
            (4.0 * lowest).min(1.0),
            ROOT,
            excess,
        )?;
        Ok(share * highest)
    }

    /// How much longer than `length` the tube of this flux is, between -1 and 1.
    fn excess(&self, mass_flux: f64, length: f64) -> Result<f64> {
        let own = self.length(mass_flux, None)?.0.length;
        Ok((own - length) / (own + length))
    }
}

/// Error 102 for a tube too short for developed friction.
fn long_enough(length: f64, diameter: f64) -> Result<()> {
    positive(Quantity::Length, length)?;
    if length >= SHORTEST * diameter {
        return Ok(());
    }
    Err(Error::OutOfRange {
        quantity: Quantity::Length,
        value: length,
        min: SHORTEST * diameter,
        max: f64::INFINITY,
        model: "developed friction in a tube (ten diameters)".to_owned(),
    })
}

/// The Reynolds number runs between those of the ends, so the tube is transitional if that interval meets the limits.
fn regime_of(inlet: f64, exit: f64) -> Regime {
    match (Regime::of(inlet.min(exit)), Regime::of(inlet.max(exit))) {
        (Regime::Laminar, Regime::Laminar) => Regime::Laminar,
        (Regime::Turbulent, _) => Regime::Turbulent,
        _ => Regime::Transitional,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::{close, units};
    use proptest::prelude::*;

    /// A perfect gas of constant viscosity, with the square of its isothermal speed of sound RT/M in J/kg.
    const WAVE: f64 = 7.05e4;
    const VISCOSITY: f64 = 1.9e-5;

    fn gas(inlet_pressure: f64, outlet_pressure: f64) -> Isotherm {
        Isotherm::new(outlet_pressure / WAVE, inlet_pressure / WAVE, |rho| {
            Ok(IsothermPoint {
                pressure: rho * WAVE,
                dp_drho_t: WAVE,
                dynamic_viscosity: VISCOSITY,
            })
        })
        .unwrap()
    }

    /// A stiff liquid: p = p0 + K ln(rho/rho0).
    fn liquid(inlet_pressure: f64, outlet_pressure: f64) -> Isotherm {
        let (stiffness, rho0, eta) = (2e9, 1000.0, 1e-3);
        let density = |p: f64| rho0 * (p / stiffness).exp();
        Isotherm::new(density(outlet_pressure), density(inlet_pressure), |rho| {
            Ok(IsothermPoint {
                pressure: stiffness * (rho / rho0).ln(),
                dp_drho_t: stiffness / rho,
                dynamic_viscosity: eta,
            })
        })
        .unwrap()
    }

    /// A dense fluid whose viscosity rises with density, so that the Reynolds number rises along the tube.
    fn dense(inlet_density: f64, outlet_density: f64) -> Result<Isotherm> {
        Isotherm::new(outlet_density, inlet_density, |rho| Ok(dense_point(rho)))
    }

    fn dense_point(rho: f64) -> IsothermPoint {
        let stiff = (rho / 500.0).powi(3);
        IsothermPoint {
            pressure: WAVE * rho * (1.0 + stiff / 4.0),
            dp_drho_t: WAVE * (1.0 + stiff),
            dynamic_viscosity: 1.8e-5 * (1.0 + (rho / 400.0).powi(2)),
        }
    }

    /// Slow and fast, laminar and turbulent, choked and not, rising and falling: what a flow takes from the one before changes nothing.
    #[test]
    fn a_map_consists_of_the_flows_of_its_pressures() {
        let highest = dense(900.0, 1.5).unwrap();
        let top = highest.inlet().pressure;
        let rising: Vec<f64> = (1..=60).map(|step| top * f64::from(step) / 60.0).collect();
        let falling: Vec<f64> = rising.iter().rev().copied().collect();
        let (mut choked, mut turbulent) = (0, 0);
        for (diameter, length) in [(8e-6, 0.3), (15e-6, 0.2), (50e-6, 0.5), (50e-6, 0.02)] {
            for pressures in [&rising, &falling] {
                let map = highest.flows(diameter, length, Wall::SMOOTH, pressures);
                for (found, pressure) in map.unwrap().iter().zip(pressures) {
                    let below = highest.below(*pressure).unwrap();
                    let single = below.flow(diameter, length, Wall::SMOOTH).unwrap();
                    assert!(close(found.mass_flow_rate, single.mass_flow_rate, 1e-11));
                    assert!(close(found.exit.density, single.exit.density, 1e-7));
                    assert_eq!(found.is_choked, single.is_choked);
                    choked += u32::from(found.is_choked);
                    turbulent += u32::from(found.regime == Regime::Turbulent);
                }
            }
        }
        assert!(choked > 50 && turbulent > 50, "{choked} {turbulent}");
    }

    #[test]
    fn a_laminar_stretch_has_the_sums_of_its_steps() {
        let isotherm = dense(900.0, 1.5).unwrap();
        let tube = Tube::new(&isotherm, 1e-5, Wall::SMOOTH).unwrap();
        let flux = 2000.0;
        assert!(tube.is_laminar(flux));
        isotherm.visit(3.0, &tube.kinks(flux), |samples| {
            let (found, steps) = (tube.answer_of(flux, samples), tube.steps(flux, samples));
            let length = samples.integral(&steps.dz);
            assert!((found.length - length).abs() <= 1e-12 * (length.abs() + found.lost));
            assert!(close(found.lost, samples.integral(&steps.lost), 1e-12));
            assert_eq!(
                (found.bent, steps.exponents),
                (-found.length, [-1.0; SAMPLES])
            );
        });
    }

    #[test]
    fn a_trend_is_met_by_its_cubic_and_forgotten_with_what_ends_it() {
        let cubic = |x: f64| 1.0 + x * (2.0 - x * (0.5 - 0.1 * x));
        let mut trend = Trend::default();
        assert_eq!(trend.at(1.0), None);
        for pressure in [9.0, 1.0, 2.5, 3.0, 4.5] {
            trend.push(pressure, Some(cubic(pressure)));
        }
        assert!(close(trend.at(6.0).unwrap(), cubic(6.0), 1e-13));
        trend.push(4.5, Some(cubic(4.5)));
        assert_eq!(trend.at(6.0), None);
        trend.push(5.0, None);
        trend.push(6.0, Some(7.0));
        assert_eq!(trend.at(8.0), Some(7.0));
    }

    #[test]
    fn laminar_flow_of_a_perfect_gas_is_the_closed_form() {
        let (d, length) = (1e-5, 0.2);
        let isotherm = gas(10e5, 1e5);
        // pi d^4 (p1^2 - p2^2)/(256 eta (RT/M) L), the integral of Hagen and Poiseuille for a perfect gas.
        let closed = PI * f64::powi(d, 4) * (1e12 - 1e10) / (256.0 * VISCOSITY * WAVE * length);
        let viscous = isotherm.viscous_mass_flow_rate(d, length).unwrap();
        assert!(close(viscous, closed, 1e-12));
        // With kinetic energy: d^2/(32 G eta) [(rho1^2 - rho2^2) c^2/2 - G^2 ln(rho1/rho2)] = L.
        let flow = isotherm.flow(d, length, Wall::SMOOTH).unwrap();
        let (g, rho1, rho2) = (flow.mass_flux, 10e5 / WAVE, 1e5 / WAVE);
        let bracket = 0.5 * (rho1 * rho1 - rho2 * rho2) * WAVE - g * g * f64::ln(rho1 / rho2);
        assert!(close(
            d * d / (32.0 * g * VISCOSITY) * bracket,
            length,
            1e-11
        ));
        assert!(!flow.is_choked && flow.mass_flow_rate < viscous);
        assert!(close(flow.exit.pressure, 1e5, 1e-12));
    }

    #[test]
    fn choked_turbulent_flow_of_a_perfect_gas_is_the_closed_form() {
        let (d, length) = (2e-4, 0.05);
        let isotherm = gas(100e5, 1e5);
        let flow = isotherm.flow(d, length, Wall::SMOOTH).unwrap();
        // The exit runs at c_T; f L/d = (p1^2/p*^2 - 1) - 2 ln(p1/p*), with one Reynolds number along the tube.
        assert!(flow.is_choked && flow.regime == Regime::Turbulent);
        assert!(close(flow.exit.velocity, WAVE.sqrt(), 1e-12));
        let ratio = 100e5 / flow.exit.pressure;
        let re = flow.inlet.reynolds_number;
        let f = Wall::SMOOTH.friction_factor(re, d).unwrap().value;
        let right = (ratio * ratio - 1.0) - 2.0 * ratio.ln();
        assert!(close(f * length / d, right, 1e-10));
        // The pressure outside has no influence.
        let vacuum = gas(100e5, 1e3).flow(d, length, Wall::SMOOTH).unwrap();
        assert!(close(vacuum.mass_flow_rate, flow.mass_flow_rate, 1e-9));
    }

    #[test]
    fn a_stiff_liquid_obeys_the_law_of_hagen_and_poiseuille() {
        let (d, length, drop) = (5e-5, 1.0, 1e5);
        let flow = liquid(1e6 + drop, 1e6)
            .flow(d, length, Wall::SMOOTH)
            .unwrap();
        let closed = PI * f64::powi(d, 4) * drop * 1000.5 / (128.0 * 1e-3 * length);
        assert!(close(flow.mass_flow_rate, closed, 1e-4));
        // And that of Darcy and Weisbach when it is turbulent.
        let wall = Wall {
            roughness: 1e-6,
            ..Wall::default()
        };
        let flow = liquid(50e5, 1e5).flow(1e-3, length, wall).unwrap();
        let f = wall
            .friction_factor(flow.inlet.reynolds_number, 1e-3)
            .unwrap()
            .value;
        let drop = f * length / 1e-3 * flow.mass_flux.powi(2) / (2.0 * 1001.3);
        assert!(flow.regime == Regime::Turbulent && close(drop, 49e5, 2e-3));
    }

    #[test]
    fn length_and_bore_are_found_back() {
        let wall = Wall::SMOOTH;
        for (d, length) in [(1e-5, 0.2), (2.5e-5, 0.1), (5e-5, 0.3), (1e-3, 2.0)] {
            let isotherm = dense(600.0, 1.4).unwrap();
            let flow = isotherm.flow(d, length, wall).unwrap();
            let q_m = flow.mass_flow_rate;
            let by_length = isotherm.flow_of_length_for(d, q_m, wall).unwrap();
            assert!(close(by_length.length, length, 1e-9));
            let by_bore = isotherm.flow_of_diameter_for(length, q_m, wall).unwrap();
            assert!(close(by_bore.diameter, d, 1e-9));
            assert!(isotherm.viscous_length(d, q_m).unwrap() > length);
            assert!(isotherm.viscous_diameter(length, q_m).unwrap() < d);
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let isotherm = dense(600.0, 1.4).unwrap();
        let wall = Wall::SMOOTH;
        assert_eq!(isotherm.flow(1e-5, 5e-5, wall).unwrap_err().code(), 102);
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(isotherm.flow(bad, 0.2, wall).unwrap_err().code(), 101);
            assert_eq!(isotherm.flow(1e-5, bad, wall).unwrap_err().code(), 101);
        }
        let narrow = isotherm.flow_of_length_for(1e-6, 1.0, wall).unwrap_err();
        assert_eq!(narrow.code(), 402);
        let short = isotherm.flow_of_diameter_for(1e-5, 1.0, wall).unwrap_err();
        assert_eq!(short.code(), 102);
    }

    #[test]
    fn a_flow_that_would_have_to_pass_the_speed_of_sound_on_the_way_is_refused() {
        // A van der Waals fluid just above its critical temperature, whose isothermal speed of sound nearly vanishes at
        // its critical density, 1; in reduced units, with 1/8 of a pressure unit for each unit of temperature and density.
        let isotherm = Isotherm::new(1e-3, 1.6, |rho| {
            Ok(IsothermPoint {
                pressure: 8.0 * 1.001 * rho / (3.0 - rho) - 3.0 * rho * rho,
                dp_drho_t: 24.0 * 1.001 / (3.0 - rho).powi(2) - 6.0 * rho,
                dynamic_viscosity: 1e-6,
            })
        })
        .unwrap();
        let slow = isotherm.flow(1e-4, 10.0, Wall::SMOOTH).unwrap();
        assert!(slow.exit.density < 0.5);
        let error = isotherm.flow(1e-2, 10.0, Wall::SMOOTH).unwrap_err();
        let Error::Choked { position, pressure } = error else {
            panic!("{error}");
        };
        assert!(position > 0.0 && position <= 10.0);
        assert!((pressure - 1.0).abs() < 0.1);
    }

    #[test]
    fn positions_run_from_inlet_to_exit() {
        let isotherm = dense(600.0, 1.4).unwrap();
        let wall = Wall::SMOOTH;
        let flow = isotherm.flow(1e-5, 0.2, wall).unwrap();
        let at = |rho: f64| isotherm.position(&flow, wall, rho).unwrap();
        assert!(close(at(flow.exit.density), 0.2, 1e-9));
        assert_eq!(at(flow.inlet.density), 0.0);
        assert!(at(500.0) < at(300.0) && at(300.0) < at(100.0));
        // The time by the trapezoid over many stretches.
        let time = isotherm.hold_up_time(&flow, wall).unwrap();
        let density = |i: u32| 600.0 + f64::from(i) / 4000.0 * (flow.exit.density - 600.0);
        let sum: f64 = (0..4000)
            .map(|i| {
                let mean = 0.5 * (density(i) + density(i + 1));
                (at(density(i + 1).max(flow.exit.density)) - at(density(i))) * mean / flow.mass_flux
            })
            .sum();
        assert!(close(time, sum, 1e-5), "{time} {sum}");
        assert_eq!(
            isotherm.position(&flow, wall, 700.0).unwrap_err().code(),
            101
        );
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn flow_rises_with_inlet_density_and_falls_with_length(
            rho in 100.0..900.0f64, more in 1.001..1.5f64, exponent in -5.3..-3.0f64, length in 0.05..5.0f64,
        ) {
            let d = 10f64.powf(exponent);
            let at = |rho: f64, length: f64| dense(rho, 1.4).unwrap().flow(d, length, Wall::SMOOTH).unwrap();
            let flow = at(rho, length);
            prop_assert!(at(rho * more, length).mass_flow_rate >= flow.mass_flow_rate);
            prop_assert!(at(rho, length * more).mass_flow_rate <= flow.mass_flow_rate);
            prop_assert!(flow.exit.velocity <= flow.exit.isothermal_speed_of_sound * (1.0 + 1e-9));
        }

        #[test]
        fn lengths_and_integrals_add_up(rho in 300.0..900.0f64, middle in 0.3..0.7f64, exponent in -5.3..-3.0f64) {
            let d = 10f64.powf(exponent);
            let whole = dense(rho, 1.4).unwrap();
            let (first, second) = (dense(rho, rho * middle).unwrap(), dense(rho * middle, 1.4).unwrap());
            let sum = first.viscous_integral() + second.viscous_integral();
            prop_assert!(close(whole.viscous_integral(), sum, 1e-9));
            let flow = whole.flow(d, 1.0, Wall::SMOOTH).unwrap();
            prop_assume!(flow.exit.density < rho * middle);
            let part = |isotherm: &Isotherm| {
                isotherm.flow_of_length_for(d, flow.mass_flow_rate, Wall::SMOOTH).unwrap().length
            };
            prop_assert!(close(part(&first) + part(&second), 1.0, 1e-8));
        }

        #[test]
        fn dimensions_are_right(units in units(), exponent in -5.3..-3.5f64) {
            let d = 10f64.powf(exponent);
            let (rho1, rho2) = (700.0, 1.4);
            let flow = dense(rho1, rho2).unwrap().flow(d, 0.3, Wall::SMOOTH).unwrap();
            let scaled = Isotherm::new(rho2 * units.density(), rho1 * units.density(), |rho| {
                let point = dense_point(rho / units.density());
                Ok(IsothermPoint {
                    pressure: point.pressure * units.pressure(),
                    dp_drho_t: point.dp_drho_t * units.factor(2, 0, -2),
                    dynamic_viscosity: point.dynamic_viscosity * units.viscosity(),
                })
            }).unwrap();
            let other = scaled.flow(d * units.length, 0.3 * units.length, Wall::SMOOTH).unwrap();
            prop_assert!(close(flow.mass_flow_rate * units.mass_flow(), other.mass_flow_rate, 1e-7));
            prop_assert!(close(flow.exit.pressure * units.pressure(), other.exit.pressure, 1e-7));
            prop_assert!(close(flow.exit.velocity * units.velocity(), other.exit.velocity, 1e-7));
            let viscous = dense(rho1, rho2).unwrap().viscous_mass_flow_rate(d, 0.3).unwrap();
            let viscous_scaled = scaled.viscous_mass_flow_rate(d * units.length, 0.3 * units.length).unwrap();
            prop_assert!(close(viscous * units.mass_flow(), viscous_scaled, 1e-8));
        }
    }
}
