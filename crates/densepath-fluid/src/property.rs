//! Properties by name and by the slice: what the interfaces of other languages are made of.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::error::{Error, Result};
use crate::fluids::uncertainty::{EquationUncertainty, StatedUncertainty};
use crate::notice::Notice;
use crate::num::share;
use crate::quantity::Quantity;
use crate::state::bulk;
use crate::state::{Fluid, Saturation, State};
use crate::transport::relative_uncertainty;

macro_rules! properties {
    ($($(#[doc = $doc:literal])* $variant:ident $method:ident $of:expr;)*) => {
        /// The properties of a state that a temperature and a pressure determine, in the order of the reports.
        pub const PROPERTIES: &[Quantity] = &[$(Quantity::$variant,)*];

        impl State {
            /// A property by its quantity; error 202 for a quantity that is no property of a state.
            ///
            /// ```
            /// use densepath_fluid::{Fluid, Quantity, State};
            /// let state = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e6)?;
            /// assert!((state.get(Quantity::Density)? - 780.233).abs() < 1e-3);
            /// assert_eq!(state.get(Quantity::Length).unwrap_err().code(), 202);
            /// # Ok::<(), densepath_fluid::Error>(())
            /// ```
            pub fn get(&self, quantity: Quantity) -> Result<f64> {
                match quantity {
                    Quantity::Temperature => Ok(self.temperature()),
                    Quantity::Pressure => Ok(self.pressure()),
                    $(Quantity::$variant => $of(self),)*
                    property => Err(Error::MissingModel {
                        property,
                        fluid: self.fluid().name().to_owned(),
                        need: "it is no property of a state, or no model of it is known",
                    }),
                }
            }
        }

        impl Fluid {
            $(
                $(#[doc = $doc])*
                ///
                /// At a temperature T in K and a pressure p in Pa; errors as [`State::from_tp`].
                ///
                /// ```
                /// # use densepath_fluid::{Fluid, Quantity, State};
                /// let co2 = Fluid::new("carbon dioxide")?;
                /// // As of the state, at 40 degC and 150 bar.
                #[doc = concat!("let found = co2.", stringify!($method), "(313.15, 150e5)?;")]
                #[doc = concat!("let known = State::from_tp(&co2, 313.15, 150e5)?.get(Quantity::", stringify!($variant), ")?;")]
                /// assert!((found / known - 1.0).abs() < 1e-9);
                /// # Ok::<(), densepath_fluid::Error>(())
                /// ```
                pub fn $method(&self, temperature: f64, pressure: f64) -> Result<f64> {
                    self.property(Quantity::$variant, temperature, pressure)
                }
            )*
        }
    };
}

properties! {
    /// Density rho in kg/m3.
    Density density |state: &State| Ok(state.density());
    /// Compression factor Z, dimensionless.
    CompressionFactor compression_factor |state: &State| Ok(state.compression_factor());
    /// Specific enthalpy h in J/kg.
    SpecificEnthalpy specific_enthalpy |state: &State| Ok(state.specific_enthalpy());
    /// Specific entropy s in J/(kg K).
    SpecificEntropy specific_entropy |state: &State| Ok(state.specific_entropy());
    /// Specific internal energy u in J/kg.
    SpecificInternalEnergy specific_internal_energy |state: &State| Ok(state.specific_internal_energy());
    /// Specific Gibbs energy g in J/kg.
    SpecificGibbsEnergy specific_gibbs_energy |state: &State| Ok(state.specific_gibbs_energy());
    /// Specific Helmholtz energy a in J/kg.
    SpecificHelmholtzEnergy specific_helmholtz_energy |state: &State| Ok(state.specific_helmholtz_energy());
    /// Specific isobaric heat capacity c_p in J/(kg K).
    SpecificIsobaricHeatCapacity specific_isobaric_heat_capacity State::specific_isobaric_heat_capacity;
    /// Specific isochoric heat capacity c_v in J/(kg K).
    SpecificIsochoricHeatCapacity specific_isochoric_heat_capacity State::specific_isochoric_heat_capacity;
    /// Speed of sound c in m/s.
    SpeedOfSound speed_of_sound State::speed_of_sound;
    /// Joule-Thomson coefficient mu_JT in K/Pa.
    JouleThomsonCoefficient joule_thomson_coefficient State::joule_thomson_coefficient;
    /// Isothermal compressibility kappa_T in 1/Pa.
    IsothermalCompressibility isothermal_compressibility State::isothermal_compressibility;
    /// Isobaric expansivity alpha_V in 1/K.
    IsobaricExpansivity isobaric_expansivity State::isobaric_expansivity;
    /// Dynamic viscosity eta in Pa s.
    DynamicViscosity dynamic_viscosity State::dynamic_viscosity;
    /// Kinematic viscosity nu in m2/s.
    KinematicViscosity kinematic_viscosity State::kinematic_viscosity;
    /// Thermal conductivity lambda in W/(m K).
    ThermalConductivity thermal_conductivity State::thermal_conductivity;
    /// Relative permittivity, dimensionless.
    RelativePermittivity relative_permittivity State::relative_permittivity;
    /// Refractive index n at the sodium D line, dimensionless.
    RefractiveIndex refractive_index State::refractive_index;
}

impl State {
    /// Relative standard uncertainty that the source of its model states for a property here, or that a comparison by this project
    /// bounds, or, where there is neither, that this project judges; for the refractive index relative to n - 1.
    ///
    /// The compression factor has that of the density, from which it follows alone, and the kinematic viscosity the root of the sum
    /// of the squares of those of viscosity and density. Error 202 where none is known: near the critical point, in the vapour of acids
    /// by a cubic equation, and for other properties.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, Quantity, State};
    /// let co2 = Fluid::new("CO2")?;
    /// // Span and Wagner 1996 state 0.03 % to 0.05 % for densities up to 30 MPa.
    /// let column = State::from_tp(&co2, 313.15, 15e6)?;
    /// assert!((1e-4..=5e-4).contains(&column.uncertainty(Quantity::Density)?));
    /// // Close to the critical point nothing is stated, and nothing is made up.
    /// let near = State::from_tp(&co2, 304.5, 7.4e6)?;
    /// assert_eq!(near.uncertainty(Quantity::Density).unwrap_err().code(), 202);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn uncertainty(&self, property: Quantity) -> Result<f64> {
        Ok(self.stated_uncertainty(property)?.relative)
    }

    /// The uncertainty of [`State::uncertainty`] and where it comes from.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, Quantity, State};
    /// let boiled = State::from_tp(&Fluid::new("ethyl acetate")?, 300.0, 1e5)?;
    /// let known = boiled.stated_uncertainty(Quantity::Density)?;
    /// assert!(known.compared_with.is_some_and(|with| with.contains("Perry")));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn stated_uncertainty(&self, property: Quantity) -> Result<StatedUncertainty<'static>> {
        match property {
            // Z = p M/(rho R T), at a temperature and a pressure that are given.
            Quantity::CompressionFactor => self.stated_uncertainty(Quantity::Density),
            Quantity::KinematicViscosity => {
                let viscosity = self.stated_uncertainty(Quantity::DynamicViscosity)?;
                let density = self.stated_uncertainty(Quantity::Density)?;
                Ok(StatedUncertainty {
                    relative: viscosity.relative.hypot(density.relative),
                    compared_with: viscosity.compared_with.or(density.compared_with),
                    is_judged: viscosity.is_judged || density.is_judged,
                })
            }
            _ => self.of_model().uncertainty_of_its_own(property),
        }
    }

    /// The uncertainty of a property that does not follow from others.
    fn uncertainty_of_its_own(&self, property: Quantity) -> Result<StatedUncertainty<'static>> {
        if let Some(relative) = relative_uncertainty(self, property) {
            self.get(property)?;
            return Ok(StatedUncertainty::of_source(relative));
        }
        let fluid = self.fluid();
        let unknown = |need| Error::MissingModel {
            property,
            fluid: format!("the uncertainty in {}", fluid.name()),
            need,
        };
        // One substance by the cubic equation is a mixture of one.
        if let Some(mixed) = fluid.mixed().filter(|_| fluid.is_mixture()) {
            let stated = mixed.density_uncertainty(self);
            let relative = stated
                .filter(|_| property == Quantity::Density)
                .ok_or_else(|| {
                    unknown("measurements of this property of every pair, compared with the model")
                })?;
            return Ok(StatedUncertainty::of_source(relative));
        }
        if self.is_near_critical() {
            return Err(unknown("near the critical point no source states it"));
        }
        self.uncertainty_of_record(property)?
            .ok_or_else(|| unknown("no source states it"))
    }

    /// What the record of a substance says of the uncertainty of a property that its equation of state gives.
    fn uncertainty_of_record(
        &self,
        property: Quantity,
    ) -> Result<Option<StatedUncertainty<'static>>> {
        let record = self.fluid().record()?;
        let Some(phase) = self.phase().fluid() else {
            return Ok(None);
        };
        let (temperature, pressure) = (self.temperature(), self.pressure());
        let of_equation = |uncertainty: &'static EquationUncertainty| {
            uncertainty.at(property, temperature, pressure, phase)
        };
        let stated = match (&record.equation_of_state, &record.cubic) {
            (Some(equation), _) => of_equation(&equation.uncertainty),
            (None, Some(cubic)) if property == Quantity::Density => {
                let deviation = &cubic.liquid_density;
                deviation.of_liquid(temperature, pressure, phase)
            }
            _ => None,
        };
        let judged = record.judged_uncertainty.as_ref();
        Ok(stated.or_else(|| Some(of_equation(judged?)?.judged())))
    }
}

impl State {
    /// The doubts that belong to the state itself, then those of its transport properties.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, NoticeCode, State};
    /// let near = State::from_tp(&Fluid::new("CO2")?, 305.0, 7.5e6)?;
    /// assert!(near.all_notices().iter().any(|notice| notice.code == NoticeCode::NearCritical));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn all_notices(&self) -> Vec<Notice> {
        let mut notices = self.notices();
        notices.extend(self.transport_notices());
        notices
    }
}

impl Saturation {
    /// Relative standard uncertainty of the vapour pressure or of the surface tension at this temperature that its source states,
    /// or that a comparison by this project bounds.
    ///
    /// Error 202 where neither is known, and for other quantities: each phase answers for itself.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, Quantity};
    /// let boiling = Fluid::new("propan-2-ol")?.saturation_at_temperature(330.0)?;
    /// assert_eq!(boiling.uncertainty(Quantity::Pressure)?, 0.005);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn uncertainty(&self, property: Quantity) -> Result<f64> {
        Ok(self.stated_uncertainty(property)?.relative)
    }

    /// The uncertainty of [`Saturation::uncertainty`] and where it comes from.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, Quantity};
    /// let boiling = Fluid::new("CO2")?.saturation_at_temperature(280.0)?;
    /// let stated = boiling.stated_uncertainty(Quantity::Pressure)?;
    /// assert_eq!(stated.relative, boiling.uncertainty(Quantity::Pressure)?);
    /// assert_eq!(stated.compared_with, None);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn stated_uncertainty(&self, property: Quantity) -> Result<StatedUncertainty<'static>> {
        let fluid = self.liquid.fluid();
        let known = match property {
            Quantity::Pressure => fluid.record().ok().and_then(|record| {
                let equation = record.equation_of_state.as_ref();
                let cubic = record.cubic.as_ref();
                match equation {
                    Some(equation) => equation.uncertainty.of_vapour_pressure(self.temperature),
                    None => cubic?.vapour_pressure.on_saturation_line(self.temperature),
                }
            }),
            Quantity::SurfaceTension => {
                relative_uncertainty(&self.liquid, property).map(StatedUncertainty::of_source)
            }
            _ => None,
        };
        known.ok_or_else(|| Error::MissingModel {
            property,
            fluid: format!("the uncertainty of the saturation of {}", fluid.name()),
            need: "no source states it",
        })
    }
}

impl Fluid {
    /// Relative standard uncertainty of a property at a temperature T in K and a pressure p in Pa; as [`State::uncertainty`].
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, Quantity, State};
    /// let co2 = Fluid::new("CO2")?;
    /// let state = State::from_tp(&co2, 313.15, 15e6)?;
    /// assert_eq!(co2.uncertainty(Quantity::Density, 313.15, 15e6)?, state.uncertainty(Quantity::Density)?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn uncertainty(&self, property: Quantity, temperature: f64, pressure: f64) -> Result<f64> {
        State::from_tp(self, temperature, pressure)?.uncertainty(property)
    }

    /// A property by its quantity at a temperature T in K and a pressure p in Pa.
    ///
    /// Of one substance its density comes from polynomials that were compared with the equation before they answer, within 1e-11
    /// relative, and the property from the equation at that density; where there is no polynomial, from [`State::from_tp`].
    /// The first call in a neighbourhood fills it, which takes some 50 microseconds. Of a mixture of two substances so does the
    /// density where they mix in all proportions, and by the cubic equation where it is far from parting, which takes a few hundred
    /// microseconds. Every call of this and of the functions on lists gives the same bits, whatever was asked before.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// use densepath_fluid::Quantity;
    /// // An independent implementation of Span and Wagner 1996 has 780.233 kg/m3.
    /// assert!((fluid.property(Quantity::Density, 313.15, 150e5)? - 780.233).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn property(&self, quantity: Quantity, temperature: f64, pressure: f64) -> Result<f64> {
        let mut value = f64::NAN;
        let out = core::slice::from_mut(&mut value);
        bulk::rows(self, &[quantity], &[temperature], &[pressure], out);
        if value.is_nan() {
            value = State::from_tp(self, temperature, pressure)?.get(quantity)?;
        }
        Ok(value)
    }

    /// Pressure p in Pa at a temperature T in K and a density rho in kg/m3; the vapour pressure inside the dome.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert!((fluid.pressure(313.15, 780.233)? / 1e5 - 150.0).abs() < 1e-3);
    /// // Inside the dome it is the vapour pressure.
    /// assert!((fluid.pressure(293.15, 500.0)? / 1e5 - 57.29).abs() < 0.01);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn pressure(&self, temperature: f64, density: f64) -> Result<f64> {
        Ok(State::from_t_rho(self, temperature, density)?.pressure())
    }

    /// Pressure p in Pa on an isopycnic: of one phase at a temperature T in K and a density rho in kg/m3.
    ///
    /// *Valid* as [`State::from_t_rho`]; error 301 where the density is that of several phases together, 303 of a solid, so that a
    /// line ends at the dome and at the melting line.
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// assert!((co2.isopycnic(313.15, 780.233)? / 15e6 - 1.0).abs() < 1e-5);
    /// assert_eq!(co2.isopycnic(280.0, 780.233).unwrap_err().code(), 301);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn isopycnic(&self, temperature: f64, density: f64) -> Result<f64> {
        let state = State::from_t_rho(self, temperature, density)?;
        if state.is_one_phase() {
            return Ok(state.pressure());
        }
        Err(state.not_one_fluid(Quantity::Pressure))
    }

    /// Pressure p in Pa on an isopycnic for each pair of temperature (K) and density (kg/m3), written to `out`; else as
    /// [`Fluid::property_into`] and [`Fluid::isopycnic`].
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let (mut pressures, mut status) = ([0.0; 2], [0; 2]);
    /// // The second density is that of liquid and vapour together.
    /// let first = fluid.isopycnic_into(&[313.15, 293.15], &[780.233, 500.0], &mut pressures, Some(&mut status));
    /// assert!(first.is_err_and(|error| error.index == 1) && status == [0, 301]);
    /// assert!((pressures[0] / 1e5 - 150.0).abs() < 1e-3 && pressures[1].is_nan());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn isopycnic_into(
        &self,
        temperature: &[f64],
        density: &[f64],
        out: &mut [f64],
        status: Option<&mut [i32]>,
    ) -> core::result::Result<(), BatchError> {
        fill(temperature, density, out, status, |block| {
            block.fill(|t, rho, _| self.isopycnic(t, rho))
        })
    }

    /// Density rho in kg/m3 for each pair of temperature (K) and pressure (Pa), written to `out`.
    ///
    /// Long lists are shared among the threads of the current pool of rayon: a pool of one thread, or `RAYON_NUM_THREADS=1` in
    /// the environment, keeps them on one.
    ///
    /// An element that fails becomes NaN; the first error is returned with its index after all others are done.
    /// Error 104 if the slices differ in length.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let mut densities = [0.0; 2];
    /// assert!(fluid.density_into(&[313.15, 333.15], &[150e5, 150e5], &mut densities).is_ok());
    /// assert_eq!(densities, [fluid.density(313.15, 150e5)?, fluid.density(333.15, 150e5)?]);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn density_into(
        &self,
        temperature: &[f64],
        pressure: &[f64],
        out: &mut [f64],
    ) -> core::result::Result<(), BatchError> {
        self.property_into(Quantity::Density, temperature, pressure, out, None)
    }

    /// A property for each pair of temperature (K) and pressure (Pa), written to `out`, with the error code of each element
    /// (0 where it succeeded) in `status` if given.
    ///
    /// An element that fails becomes NaN; the first error is returned with its index after all others are done.
    /// Error 104 if the slices differ in length.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// use densepath_fluid::Quantity;
    /// let mut speeds = [0.0; 2];
    /// assert!(fluid.property_into(Quantity::SpeedOfSound, &[313.15, 313.15], &[100e5, 150e5], &mut speeds, None).is_ok());
    /// assert_eq!(speeds[1], fluid.speed_of_sound(313.15, 150e5)?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn property_into(
        &self,
        quantity: Quantity,
        temperature: &[f64],
        pressure: &[f64],
        out: &mut [f64],
        status: Option<&mut [i32]>,
    ) -> core::result::Result<(), BatchError> {
        let solved = |t, p| State::from_tp(self, t, p)?.get(quantity);
        fill(temperature, pressure, out, status, |block| {
            bulk::rows(self, &[quantity], block.first, block.second, block.out);
            if block.is_complete() {
                return None;
            }
            block.fill(|t, p, quick| {
                if quick.is_nan() {
                    solved(t, p)
                } else {
                    Ok(quick)
                }
            })
        })
    }

    /// Several properties for each pair of temperature (K) and pressure (Pa), each state solved once: row after row of `out`, one
    /// row a pair, in the order of the quantities.
    ///
    /// A value that fails becomes NaN; the first error is returned with the index of its pair after all others are done. Error 104
    /// if the slices do not fit each other.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// use densepath_fluid::Quantity;
    /// let mut rows = [0.0; 4];
    /// let wanted = [Quantity::Density, Quantity::DynamicViscosity];
    /// assert!(fluid.properties_into(&wanted, &[313.15, 333.15], &[150e5, 150e5], &mut rows).is_ok());
    /// // Row after row, one row a state.
    /// assert_eq!((rows[0], rows[3]), (fluid.density(313.15, 150e5)?, fluid.dynamic_viscosity(333.15, 150e5)?));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn properties_into(
        &self,
        quantities: &[Quantity],
        temperature: &[f64],
        pressure: &[f64],
        out: &mut [f64],
    ) -> core::result::Result<(), BatchError> {
        let (points, width) = (temperature.len(), quantities.len());
        let length = points * width;
        if let Some(other) = [(pressure.len(), points), (out.len(), length)]
            .into_iter()
            .find(|(got, wanted)| got != wanted)
        {
            return Err(BatchError::shape(other.1, other.0));
        }
        if width == 0 {
            return Ok(());
        }
        let block = |index: usize, t: &[f64], p: &[f64], rows: &mut [f64]| {
            let failed = self.rows(quantities, t, p, rows)?;
            Some(BatchError {
                index: index * BLOCK + failed.index,
                ..failed
            })
        };
        let failed = if points <= BLOCK {
            block(0, temperature, pressure, out)
        } else {
            let points = temperature.chunks(BLOCK).zip(pressure.chunks(BLOCK));
            let rows = points.zip(out.chunks_mut(BLOCK * width)).enumerate();
            first_failure(share::map(rows.collect(), |(index, ((t, p), rows))| {
                block(index, t, p, rows)
            }))
        };
        failed.map_or(Ok(()), Err)
    }

    /// Several properties of a block of states; the first error is returned.
    fn rows(
        &self,
        quantities: &[Quantity],
        temperatures: &[f64],
        pressures: &[f64],
        out: &mut [f64],
    ) -> Option<BatchError> {
        bulk::rows(self, quantities, temperatures, pressures, out);
        // Without a way out, so that several values are looked at at a time.
        if !out.iter().fold(false, |any, value| any | value.is_nan()) {
            return None;
        }
        let mut failed = None;
        let points = temperatures.iter().zip(pressures);
        let rows = points.zip(out.chunks_mut(quantities.len())).enumerate();
        for (index, ((t, p), row)) in rows {
            if !row.iter().any(|value| value.is_nan()) {
                continue;
            }
            if let Err(error) = self.complete(quantities, (*t, *p), row) {
                failed.get_or_insert(BatchError { index, error });
            }
        }
        failed
    }

    /// Fills what is not a number by the state itself; what fails stays so, the first error is returned.
    fn complete(
        &self,
        quantities: &[Quantity],
        (temperature, pressure): (f64, f64),
        row: &mut [f64],
    ) -> Result<()> {
        let state = State::from_tp(self, temperature, pressure)?;
        let mut first = Ok(());
        for (value, quantity) in row.iter_mut().zip(quantities) {
            if value.is_nan() {
                match state.get(*quantity) {
                    Ok(found) => *value = found,
                    Err(error) => first = first.and(Err(error)),
                }
            }
        }
        first
    }

    /// Pressure p in Pa for each pair of temperature (K) and density (kg/m3), written to `out`; else as
    /// [`Fluid::property_into`].
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let mut pressures = [0.0];
    /// assert!(fluid.pressure_into(&[293.15], &[500.0], &mut pressures, None).is_ok());
    /// assert_eq!(pressures[0], fluid.pressure(293.15, 500.0)?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn pressure_into(
        &self,
        temperature: &[f64],
        density: &[f64],
        out: &mut [f64],
        status: Option<&mut [i32]>,
    ) -> core::result::Result<(), BatchError> {
        fill(temperature, density, out, status, |block| {
            block.fill(|t, rho, _| self.pressure(t, rho))
        })
    }
}

/// Elements that one thread works on at a time.
const BLOCK: usize = 2048;

/// Part of a batch.
struct Block<'a> {
    /// Index of the first element.
    start: usize,
    first: &'a [f64],
    second: &'a [f64],
    out: &'a mut [f64],
    status: Option<&'a mut [i32]>,
}

impl Block<'_> {
    /// Whether every element is a number already and no codes are asked for, in a loop without branches.
    fn is_complete(&self) -> bool {
        let is_open = |open: bool, value: &f64| open | value.is_nan();
        self.status.is_none() && !self.out.iter().fold(false, is_open)
    }

    /// Evaluates a function of both variables and of what stands in `out` element by element.
    fn fill(self, of: impl Fn(f64, f64, f64) -> Result<f64>) -> Option<BatchError> {
        let mut failed = None;
        let mut status = self.status.into_iter().flatten();
        let points = self.first.iter().zip(self.second);
        for (index, ((&x, &y), value)) in points.zip(self.out).enumerate() {
            let result = of(x, y, *value);
            if let Some(code) = status.next() {
                *code = result.as_ref().err().map_or(0, Error::code);
            }
            *value = match result {
                Ok(value) => value,
                Err(error) => {
                    failed.get_or_insert_with(|| BatchError {
                        index: self.start + index,
                        error,
                    });
                    f64::NAN
                }
            };
        }
        failed
    }
}

/// Evaluates block by block, on several threads where there are several blocks.
fn fill(
    first: &[f64],
    second: &[f64],
    out: &mut [f64],
    status: Option<&mut [i32]>,
    of: impl Fn(Block<'_>) -> Option<BatchError> + Sync + Send,
) -> core::result::Result<(), BatchError> {
    let points = first.len();
    let lengths = [
        second.len(),
        out.len(),
        status.as_ref().map_or(points, |status| status.len()),
    ];
    if let Some(other) = lengths.into_iter().find(|&length| length != points) {
        return Err(BatchError::shape(points, other));
    }
    let mut status = status.map(|status| status.chunks_mut(BLOCK));
    let points = first.chunks(BLOCK).zip(second.chunks(BLOCK));
    let blocks = points.zip(out.chunks_mut(BLOCK)).enumerate();
    let blocks = blocks.map(|(index, ((first, second), out))| Block {
        start: index * BLOCK,
        first,
        second,
        out,
        status: status.as_mut().and_then(Iterator::next),
    });
    let failed = if first.len() <= BLOCK {
        first_failure(blocks.map(of))
    } else {
        first_failure(share::map(blocks.collect(), of))
    };
    failed.map_or(Ok(()), Err)
}

fn first_failure(failed: impl IntoIterator<Item = Option<BatchError>>) -> Option<BatchError> {
    let failed = failed.into_iter().flatten();
    failed.min_by_key(|failed| failed.index)
}

/// The first error of a batch, with the index of its element.
///
/// ```
/// use densepath_fluid::Fluid;
/// let co2 = Fluid::new("CO2")?;
/// let mut density = [0.0; 3];
/// let failed = co2.density_into(&[313.15, 40.0, 313.15], &[10e6, 10e6, 15e6], &mut density).unwrap_err();
/// assert_eq!((failed.index, failed.error.code()), (1, 102));
/// // The others are there all the same: 628.612 and 780.233 kg/m3 in an independent implementation.
/// assert!((density[0] - 628.612).abs() < 1e-3 && density[1].is_nan() && (density[2] - 780.233).abs() < 1e-3);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct BatchError {
    /// Index of the element.
    pub index: usize,
    /// What went wrong there.
    pub error: Error,
}

impl BatchError {
    pub(crate) fn shape(expected: usize, got: usize) -> Self {
        let error = Error::Argument {
            argument: "pressure or density, out, status".to_owned(),
            expected: "as long as the temperatures",
            got: format!("{got} elements for {expected} temperatures"),
        };
        Self { index: 0, error }
    }
}

impl core::fmt::Display for BatchError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "element {}: {}", self.index, self.error)
    }
}

impl core::error::Error for BatchError {
    fn source(&self) -> Option<&(dyn core::error::Error + 'static)> {
        Some(&self.error)
    }
}

#[cfg(test)]
mod shifted;
#[cfg(test)]
mod tests;
