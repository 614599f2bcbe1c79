//! A plug of frit: many pores side by side, in which the flow is slow.

use fluid::error::{Error, not_negative, positive, within};
use fluid::{Fluid, Notice, NoticeCode, Quantity, Result, State};

use super::bored::isotherm;
use super::{BandWay, Choking, Restrictor, RestrictorEnd, RestrictorFlow};
use crate::flow::capillary::{Isotherm, IsothermPoint, Sample};
use crate::flow::circular_area;
use crate::flow::friction::Regime;
use crate::flow::packed_bed::{KOZENY_CARMAN_CONSTANT, particle_diameter_for};
use crate::fluid;
use crate::hardware::ProfilePoint;
use std::f64::consts::PI;

/// A porous plug at one temperature.
///
/// `q_m = A B_0/L integral of rho/eta (1 + 8 l/d_p) dp`, the law of Darcy with slip at the walls of pores of a diameter `d_p`,
/// where the mean free path is `l = eta/p sqrt(pi R T/(2 M))`. *Valid*: slow flow, with a Reynolds number of the pores below 1
/// and one of `sqrt(B_0)` below 0.18, which is tested where the pores are not stated too, and a velocity far below sound; a frit
/// beyond that is refused. *Uncertainty*: that of its permeability, so calibrate.
/// *Source*: H. Darcy, Les fontaines publiques de la ville de Dijon, 1856; L. J. Klinkenberg, Drilling and Production Practice,
/// API, 1941, 200; J. C. Ward, J. Hydraul. Div. ASCE 90 (HY5), 1964, 1 (all from memory).
///
/// The time of the fluid in the plug is known where its porosity is, and so is what the plug does to a band: that of a short bed of
/// grains of the same permeability, [`crate::flow::packed_bed::AxialDispersion`]. What is told of the bore of a restrictor
/// ([`Restrictor::with_bores_times`], [`Restrictor::bore_sensitivity`]) is that of the pores here, with which the permeability goes
/// squared; the plug stays as wide as it is.
///
/// ```
/// use densepath::hardware::FritRestrictor;
/// assert!(FritRestrictor::new(100e-6, 20e-3, 1e-15, 0.0).is_ok());
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FritRestrictor {
    diameter: f64,
    length: f64,
    permeability: f64,
    pore_diameter: f64,
    porosity: Option<f64>,
    temperature: Option<f64>,
    calibration_factor: f64,
}

/// Largest Reynolds number of the pores `G d_p/eta` for which the law of Darcy counts (common practice, no source: 1 to 10).
const LARGEST_REYNOLDS: f64 = 1.0;
/// Share `c` in the pressure gradient `eta v/B_0 + c rho v^2/sqrt(B_0)` of packed grains: J. C. Ward, J. Hydraul. Div. ASCE 90 (HY5),
/// 1964, 1; D. A. Nield and A. Bejan, Convection in Porous Media, chapter 1 (both from memory).
const INERTIA: f64 = 0.55;
/// Largest Reynolds number `G sqrt(B_0)/eta`: the inertia then adds the stated uncertainty to the pressure gradient. Parallel
/// capillaries come to their own limit first, since their `sqrt(B_0)` is at most `d_p/sqrt(32)`.
const LARGEST_OF_PERMEABILITY: f64 = UNCERTAINTY / INERTIA;
/// Largest velocity in the plug, as a share of the isothermal speed of sound: the kinetic energy is then below 2 % of the pressure.
const LARGEST_MACH: f64 = 0.1;
/// Relative uncertainty with a stated permeability (common practice, no source).
const UNCERTAINTY: f64 = 0.1;
/// Points of the profile.
const POINTS: u32 = 16;

impl FritRestrictor {
    /// A plug of a diameter and a length in m, a permeability `B_0` in m2, and pores of a diameter in m for the slip; zero leaves
    /// the slip out.
    ///
    /// Errors: 101 for a value not above zero, or negative pores.
    ///
    /// ```
    /// use densepath::hardware::FritRestrictor;
    /// assert_eq!(FritRestrictor::new(100e-6, 20e-3, 0.0, 0.0).unwrap_err().code(), 101);
    /// ```
    pub fn new(diameter: f64, length: f64, permeability: f64, pore_diameter: f64) -> Result<Self> {
        Ok(Self {
            diameter: positive(Quantity::Diameter, diameter)?,
            length: positive(Quantity::Length, length)?,
            permeability: positive(Quantity::Permeability, permeability)?,
            pore_diameter: not_negative(Quantity::Diameter, pore_diameter)?,
            porosity: None,
            temperature: None,
            calibration_factor: 1.0,
        })
    }

    /// A plug of parallel capillaries of one diameter: `B_0 = eps d_p^2/(32 tau)` with the share eps of the volume that is open
    /// and the ratio tau of the way in the pores to the length, squared.
    ///
    /// *Source*: law of Hagen and Poiseuille in parallel tubes; tau 1.5 to 3 (common practice, no source). Errors: 101 for a
    /// value not above zero; 102 for a porosity above 1 or a tortuosity below 1.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{FritRestrictor, LinearRestrictor, Restrictor}};
    /// let fluid = Fluid::new("carbon dioxide")?;
    /// // Straight pores are capillaries side by side: 0.4 (100 / 0.5)^2 of them. Slip adds a little.
    /// let frit = FritRestrictor::of_capillaries(100e-6, 20e-3, 0.5e-6, 0.4, 1.0)?;
    /// let one = LinearRestrictor::new(0.5e-6, 20e-3)?.viscous_mass_flow_rate(&fluid, 373.15, 200e5, 190e5)?;
    /// let ratio = frit.mass_flow_rate(&fluid, 373.15, 200e5, 190e5)? / one;
    /// assert!((ratio / 16_000.0 - 1.0).abs() < 0.01);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn of_capillaries(
        diameter: f64,
        length: f64,
        pore_diameter: f64,
        porosity: f64,
        tortuosity: f64,
    ) -> Result<Self> {
        positive(Quantity::Diameter, pore_diameter)?;
        let porosity = open_share(porosity)?;
        within(
            Quantity::Ratio,
            tortuosity,
            1.0,
            f64::MAX,
            "the tortuosity of pores",
        )?;
        let permeability = porosity * pore_diameter * pore_diameter / (32.0 * tortuosity);
        Self::new(diameter, length, permeability, pore_diameter)?.with_porosity(porosity)
    }

    /// The frit with an open share of its volume, from which the time of the fluid in it follows. Error 101 if it is not above zero;
    /// 102 above 1.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{FritRestrictor, Restrictor}};
    /// let (fluid, frit) = (Fluid::new("carbon dioxide")?, FritRestrictor::new(100e-6, 20e-3, 1e-15, 0.0)?);
    /// let time = |frit: FritRestrictor| Ok::<f64, densepath::Error>(frit.passage(&fluid, 373.15, 200e5, 101_325.0)?.hold_up_time);
    /// assert!(time(frit)?.is_nan());
    /// assert!((time(frit.with_porosity(0.4)?)? / time(frit.with_porosity(0.2)?)? - 2.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_porosity(self, porosity: f64) -> Result<Self> {
        Ok(Self {
            porosity: Some(open_share(porosity)?),
            ..self
        })
    }

    /// The frit at a temperature in K of its own. Error 101 if it is not above zero.
    ///
    /// ```
    /// use densepath::hardware::FritRestrictor;
    /// assert_eq!(FritRestrictor::new(100e-6, 20e-3, 1e-15, 0.0)?.with_temperature(0.0).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_temperature(self, temperature: f64) -> Result<Self> {
        Ok(Self {
            temperature: Some(positive(Quantity::Temperature, temperature)?),
            ..self
        })
    }

    /// Length in m with which a plug of this diameter passes a mass flow rate in kg/s: the flow goes with its inverse.
    ///
    /// Errors: 101 for a flow not above zero; those of [`Restrictor::passage`].
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{FritRestrictor, Restrictor}};
    /// let (fluid, frit) = (Fluid::new("carbon dioxide")?, FritRestrictor::new(100e-6, 20e-3, 1e-15, 0.0)?);
    /// let flow = frit.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
    /// // Half the flow through twice the length.
    /// assert!((frit.length_for(flow / 2.0, &fluid, 373.15, 200e5, 101_325.0)? - 40e-3).abs() < 1e-9);
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
        let drive = self.drive(fluid, temperature, inlet_pressure, outlet_pressure)?;
        let length =
            self.calibration_factor * circular_area(self.diameter)? * self.permeability * drive.1
                / positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let sized = Self { length, ..*self };
        sized.judged(&drive.0, mass_flow_rate / self.calibration_factor)?;
        Ok(length)
    }

    /// Diameter in m with which a plug of this length passes a mass flow rate in kg/s. Errors as [`FritRestrictor::length_for`].
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{FritRestrictor, Restrictor}};
    /// let (fluid, frit) = (Fluid::new("carbon dioxide")?, FritRestrictor::new(100e-6, 20e-3, 1e-15, 0.0)?);
    /// let flow = frit.mass_flow_rate(&fluid, 373.15, 200e5, 101_325.0)?;
    /// // Four times the flow through four times the area.
    /// assert!((frit.diameter_for(4.0 * flow, &fluid, 373.15, 200e5, 101_325.0)? - 200e-6).abs() < 1e-12);
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
        Ok(self.diameter * (mass_flow_rate / passed).sqrt())
    }

    /// The isotherm, and the integral of `rho/eta (1 + 8 l/d_p)` over the pressure.
    fn drive(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<(Isotherm, f64)> {
        let temperature = self.temperature.unwrap_or(temperature);
        let isotherm = isotherm(
            fluid,
            temperature,
            [inlet_pressure, outlet_pressure],
            self.length,
        )?;
        let drive = self.drive_from(&isotherm, fluid, temperature, isotherm.outlet_density());
        Ok((isotherm, drive))
    }

    fn drive_from(
        &self,
        isotherm: &Isotherm,
        fluid: &Fluid,
        temperature: f64,
        density: f64,
    ) -> f64 {
        self.driven_from(isotherm, fluid, temperature, density, |_| 1.0)
    }

    /// The integral of the drive from the inlet to a density, weighed with a function of the density.
    fn driven_from(
        &self,
        isotherm: &Isotherm,
        fluid: &Fluid,
        temperature: f64,
        density: f64,
        weight: impl Fn(f64) -> f64,
    ) -> f64 {
        let thermal = (0.5 * PI * fluid.specific_gas_constant() * temperature).sqrt();
        let drive_at = |Sample { density, point, .. }: Sample| {
            let free_path = point.dynamic_viscosity / point.pressure * thermal;
            let slip = if self.pore_diameter > 0.0 {
                8.0 * free_path / self.pore_diameter
            } else {
                0.0
            };
            let fluidity = density * density * point.dp_drho_t / point.dynamic_viscosity;
            [weight(density) * fluidity * (1.0 + slip)]
        };
        let [drive] = isotherm.integrate(density, &[], |samples| samples.map(drive_at));
        drive
    }

    /// Error 102 for a flow in kg/s too fast for the law of Darcy, 501 for one near the speed of sound.
    fn judged(&self, isotherm: &Isotherm, mass_flow_rate: f64) -> Result<f64> {
        let flux = mass_flow_rate / circular_area(self.diameter)?;
        let of_pores =
            "the law of Darcy, by the Reynolds number of the pores (common practice, no source)";
        let of_permeability = "the law of Darcy, by the Reynolds number of the square root of the permeability (inertia after \
                               J. C. Ward, J. Hydraul. Div. ASCE 90 (HY5), 1964, 1, from memory)";
        let limits = [
            (self.pore_diameter, LARGEST_REYNOLDS, of_pores),
            (
                self.permeability.sqrt(),
                LARGEST_OF_PERMEABILITY,
                of_permeability,
            ),
        ];
        for point in [isotherm.inlet(), isotherm.outlet()] {
            for (size, limit, model) in limits {
                let reynolds = flux * size / point.dynamic_viscosity;
                within(Quantity::ReynoldsNumber, reynolds, 0.0, limit, model)?;
            }
        }
        let outlet = isotherm.outlet();
        if flux / isotherm.outlet_density() > LARGEST_MACH * outlet.dp_drho_t.sqrt() {
            return Err(Error::Choked {
                position: self.length,
                pressure: outlet.pressure,
            });
        }
        Ok(mass_flow_rate)
    }

    fn calculated(&self, isotherm: &Isotherm, drive: f64) -> Result<f64> {
        let flow = circular_area(self.diameter)? * self.permeability * drive / self.length;
        self.judged(isotherm, flow)
    }
}

/// The open share of a volume. Error 101 if it is not above zero; 102 above 1.
fn open_share(porosity: f64) -> Result<f64> {
    positive(Quantity::TotalPorosity, porosity)?;
    within(Quantity::TotalPorosity, porosity, 0.0, 1.0, "a porosity")
}

impl Restrictor for FritRestrictor {
    fn word(&self) -> &'static str {
        "frit_restrictor"
    }

    /// The bed of spheres of the same permeability and porosity: [`particle_diameter_for`] with [`KOZENY_CARMAN_CONSTANT`].
    fn band_way(&self) -> Result<Option<BandWay>> {
        let Some(porosity) = self.porosity.filter(|open| *open < 1.0) else {
            return Ok(None);
        };
        let particle_diameter =
            particle_diameter_for(self.permeability, porosity, KOZENY_CARMAN_CONSTANT)?;
        Ok(Some(BandWay::Bed {
            particle_diameter,
            porosity,
        }))
    }

    fn passage(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<RestrictorFlow> {
        let (isotherm, drive) = self.drive(fluid, temperature, inlet_pressure, outlet_pressure)?;
        let flow = self.calculated(&isotherm, drive)?;
        let flux = flow / circular_area(self.diameter)?;
        let temperature = self.temperature.unwrap_or(temperature);
        let end = |density: f64, point: IsothermPoint| RestrictorEnd {
            temperature,
            pressure: point.pressure,
            density,
            velocity: flux / density,
            mach_number: flux / density / point.dp_drho_t.sqrt(),
            reynolds_number: if self.pore_diameter > 0.0 {
                flux * self.pore_diameter / point.dynamic_viscosity
            } else {
                f64::NAN
            },
            vapour_fraction: None,
        };
        let (first, last) = (isotherm.inlet_density(), isotherm.outlet_density());
        let mut profile = Vec::new();
        for index in 0..=POINTS {
            let density = first * (last / first).powf(f64::from(index) / f64::from(POINTS));
            let driven = self.drive_from(&isotherm, fluid, temperature, density);
            profile.push(ProfilePoint {
                position: self.length * driven / drive,
                temperature,
                pressure: isotherm.at(density).pressure,
                density,
                velocity: flux / density,
                retention_factor: 0.0,
                plate_height: 0.0,
            });
        }
        let mut notices = Vec::new();
        let hold_up_time = if let Some(porosity) = self.porosity {
            // The length between two densities goes with the drive between them.
            let weighed = self.driven_from(&isotherm, fluid, temperature, last, |rho| rho);
            porosity * self.length * (weighed / drive) / (flux * self.calibration_factor)
        } else {
            let text = "the time of the fluid in the frit is not known, since its porosity is not stated; nor is any sum of times \
                        over it, nor what it does to a band";
            notices.push(Notice::new(NoticeCode::Unknown, text).about(Quantity::HoldUpTime));
            f64::NAN
        };
        let enthalpy =
            |density: f64| Ok(State::from_t_rho(fluid, temperature, density)?.specific_enthalpy());
        let heat: Result<f64> = enthalpy(last).and_then(|out| Ok(out - enthalpy(first)?));
        let plain = self.calibration_factor * circular_area(self.diameter)? * self.permeability
            / self.length;
        Ok(RestrictorFlow {
            mass_flow_rate: flow * self.calibration_factor,
            viscous_mass_flow_rate: Some(plain * isotherm.viscous_integral()),
            bracket: None,
            inlet: end(first, isotherm.inlet()),
            exit: end(last, isotherm.outlet()),
            choking: Choking::None,
            regime: Regime::Laminar,
            heat_flow_rate: flow * self.calibration_factor * heat?,
            hold_up_time,
            profile,
            wall_temperatures: Vec::new(),
            law: "law of Darcy with slip at the pores after Klinkenberg, at one temperature",
            uncertainty: UNCERTAINTY,
            notices,
        })
    }

    fn mass_flow_rate(
        &self,
        fluid: &Fluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Result<f64> {
        let (isotherm, drive) = self.drive(fluid, temperature, inlet_pressure, outlet_pressure)?;
        Ok(self.calculated(&isotherm, drive)? * self.calibration_factor)
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
            permeability: self.permeability * factor * factor,
            pore_diameter: self.pore_diameter * factor,
            ..*self
        })
    }
}
