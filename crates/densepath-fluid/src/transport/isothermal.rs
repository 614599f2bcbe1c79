//! A fluid at one temperature, as the flow at that temperature asks for it.

use super::Point;
use super::properties::{in_range, model};
use super::viscosity::Gas;
use crate::eos::{Coexistence, Isotherm};
use crate::error::{Error, Result, finite, positive, within};
use crate::fluids::transport::ViscosityRecord;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;
use crate::state::{Fluid, State};

/// What the flow of one phase at constant temperature depends on, at one density.
///
/// ```
/// # use densepath_fluid::{Fluid, State};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// let state = State::from_tp(&fluid, 313.15, 150e5)?;
/// let point = fluid.isothermal(313.15)?.flow_points(&[state.density()])?[0];
/// assert!((point.pressure / 150e5 - 1.0).abs() < 1e-9);
/// assert!((point.dynamic_viscosity / state.dynamic_viscosity()? - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlowPoint {
    /// Pressure p in Pa.
    pub pressure: f64,
    /// `(dp/drho)_T` in m2/s2, the square of the isothermal speed of sound.
    pub dp_drho_t: f64,
    /// Dynamic viscosity eta in Pa s.
    pub dynamic_viscosity: f64,
}

/// A fluid at one temperature, with all that depends on temperature alone computed once.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// assert_eq!(fluid.isothermal(313.15)?.temperature(), 313.15);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug)]
pub struct Isothermal<'a> {
    fluid: &'a Fluid,
    temperature: f64,
    of_reference: Option<OfReference<'a>>,
}

/// One substance with a reference equation and a viscosity.
#[derive(Debug)]
struct OfReference<'a> {
    isotherm: Isotherm<'a>,
    /// Isochoric heat capacity of the ideal gas over the gas constant.
    ideal_heat_capacity: f64,
    /// The isotherm of the reference temperature of a critical enhancement.
    reference: Option<Isotherm<'a>>,
    border: Option<Coexistence>,
    viscosity: &'static ViscosityRecord,
    gas: Gas,
}

impl Fluid {
    /// The fluid at a temperature T in K. Error 101 for a temperature that is none, 102 outside the range of the equation of
    /// state.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert_eq!(fluid.isothermal(-1.0).unwrap_err().code(), 101);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn isothermal(&self, temperature: f64) -> Result<Isothermal<'_>> {
        positive(Quantity::Temperature, temperature)?;
        let range = self.admitted(self.range());
        let (low, high) = (range.temperature_min, range.temperature_max);
        within(Quantity::Temperature, temperature, low, high, self.model())?;
        Ok(Isothermal {
            fluid: self,
            temperature,
            of_reference: OfReference::new(self, temperature)?,
        })
    }
}

impl<'a> OfReference<'a> {
    /// Nothing for fluids whose states or viscosity follow other models.
    fn new(fluid: &'a Fluid, temperature: f64) -> Result<Option<Self>> {
        let viscosity = model(fluid, Quantity::DynamicViscosity, |record| {
            record.viscosity.as_ref()
        });
        let (Ok(helmholtz), Ok(viscosity)) = (fluid.helmholtz(), viscosity) else {
            return Ok(None);
        };
        if fluid.is_pseudo_pure() {
            return Ok(None);
        }
        let critical = viscosity.critical.as_ref();
        let reference = critical.map(|critical| critical.correlation_length.temperature_reference);
        let border = if temperature < helmholtz.dome_top.temperature {
            Some(helmholtz.coexistence_at_temperature(temperature)?)
        } else {
            None
        };
        let isotherm = helmholtz.isotherm(temperature);
        Ok(Some(Self {
            ideal_heat_capacity: -isotherm.ideal().second,
            isotherm,
            reference: reference.map(|temperature| helmholtz.isotherm(temperature)),
            border,
            viscosity,
            gas: viscosity.gas(temperature),
        }))
    }
}

impl Isothermal<'_> {
    /// Temperature T in K.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert_eq!(fluid.isothermal(333.15)?.temperature(), 333.15);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn temperature(&self) -> f64 {
        self.temperature
    }

    /// Pressure, its slope and viscosity of one phase at densities in kg/m3.
    ///
    /// *Valid*, *Uncertainty* and *Source*: as [`State::from_t_rho`] and [`State::dynamic_viscosity`], with whose values these
    /// agree to the rounding of the exponentials, except that solid is not looked for: a fluid that is one at its highest
    /// density is none below. Errors as there; 301 for a density inside the dome.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// let points = fluid.isothermal(313.15)?.flow_points(&[100.0, state.density()])?;
    /// // (dp/drho)_T is 1 / (rho kappa_T).
    /// let expected = 1.0 / (state.density() * state.isothermal_compressibility()?);
    /// assert!((points[1].dp_drho_t / expected - 1.0).abs() < 1e-9 && points[0].pressure < points[1].pressure);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn flow_points(&self, densities: &[f64]) -> Result<Vec<FlowPoint>> {
        let Some(known) = &self.of_reference else {
            return densities.iter().map(|rho| self.by_state(*rho)).collect();
        };
        let residuals = known.isotherm.residuals(densities);
        let (molar_mass, factor) = (self.fluid.molar_mass(), self.fluid.viscosity_factor());
        let points = densities.iter().zip(&residuals);
        points
            .map(|(&density, residual)| {
                self.refuse_dome(density, known)?;
                let reference = known.reference.as_ref();
                let reference = reference.map(|isotherm| isotherm.pressure(density).dp_drho);
                let point = Point::on_isotherm(
                    &known.isotherm,
                    known.ideal_heat_capacity,
                    molar_mass,
                    density,
                    residual,
                    reference,
                );
                self.refuse_range(&point, known.viscosity)?;
                let viscosity = factor * known.viscosity.above_gas(known.gas, &point);
                Ok(FlowPoint {
                    pressure: point.pressure,
                    dp_drho_t: known.isotherm.thermal_energy() * residual.stiffness(),
                    dynamic_viscosity: finite(Quantity::DynamicViscosity, viscosity)?,
                })
            })
            .collect()
    }

    fn by_state(&self, density: f64) -> Result<FlowPoint> {
        let state = State::from_t_rho(self.fluid, self.temperature, density)?;
        Ok(FlowPoint {
            dp_drho_t: state.dp_drho_t()?,
            dynamic_viscosity: state.dynamic_viscosity()?,
            pressure: state.pressure(),
        })
    }

    fn refuse_dome(&self, density: f64, known: &OfReference<'_>) -> Result<()> {
        positive(Quantity::Density, density)?;
        let inside = |border: &&Coexistence| {
            density > border.vapour_density && density < border.liquid_density
        };
        let Some(border) = known.border.as_ref().filter(inside) else {
            return Ok(());
        };
        let (v, v_l) = (1.0 / density, 1.0 / border.liquid_density);
        Err(Error::TwoPhase {
            property: Quantity::DynamicViscosity,
            temperature: self.temperature,
            pressure: border.pressure,
            vapour_fraction: (v - v_l) / (1.0 / border.vapour_density - v_l),
        })
    }

    fn refuse_range(&self, point: &Point, record: &ViscosityRecord) -> Result<()> {
        let (fluid, temperature, pressure) = (self.fluid, point.temperature, point.pressure);
        let highest = fluid.admitted(fluid.range()).pressure_max;
        within(Quantity::Pressure, pressure, 0.0, highest, fluid.model())?;
        in_range(fluid, temperature, pressure, &record.valid, &record.name)?;
        match &record.valid_dense {
            Some(dense) if point.density > fluid.critical_point()?.density => {
                in_range(fluid, temperature, pressure, dense, &record.name)
            }
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Error;

    #[test]
    fn points_are_those_of_states() {
        for (name, temperature) in [
            ("carbon dioxide", 373.15),
            ("carbon dioxide", 280.0),
            ("carbon dioxide", 304.2),
            ("water", 620.0),
            ("ethane", 330.0),
            ("ammonia", 420.0),
        ] {
            let fluid = Fluid::new(name).unwrap();
            let isothermal = fluid.isothermal(temperature).unwrap();
            let critical = fluid.critical_point().unwrap().density;
            let densities = [1e-3, 0.05, 0.2, 1.6, 1.8, 2.0, 2.1].map(|share| share * critical);
            let mut compared = 0;
            for density in densities {
                let state = State::from_t_rho(&fluid, temperature, density).unwrap();
                let point = isothermal.flow_points(&[density]);
                if !state.is_one_phase() {
                    assert!(matches!(point, Err(Error::TwoPhase { .. })));
                    continue;
                }
                let Ok(viscosity) = state.dynamic_viscosity() else {
                    assert!(point.is_err());
                    continue;
                };
                let [point] = point.unwrap()[..] else {
                    panic!("one density has one point");
                };
                // The slope of the pressure is a small difference of large terms near the critical point.
                let thermal_energy = fluid.specific_gas_constant() * temperature;
                for (ours, expected, scale) in [
                    (point.pressure, state.pressure(), state.pressure()),
                    (point.dp_drho_t, state.dp_drho_t().unwrap(), thermal_energy),
                    (point.dynamic_viscosity, viscosity, viscosity),
                ] {
                    assert!((ours - expected).abs() < 1e-10 * scale, "{name} {density}");
                }
                compared += 1;
            }
            assert!(compared >= 4, "{name}");
        }
    }

    /// A factor on the viscosity is in every way to it, and in nothing else.
    #[test]
    fn a_viscosity_can_be_corrected() {
        let mixture = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)]).unwrap();
        for plain in [Fluid::new("carbon dioxide").unwrap(), mixture] {
            let thick = plain.with_viscosity_factor(1.25).unwrap();
            let [one, other] = [&plain, &thick].map(|fluid| {
                let state = State::from_tp(fluid, 340.0, 200e5).unwrap();
                let points = fluid.isothermal(340.0).unwrap();
                let point = points.flow_points(&[state.density()]).unwrap()[0];
                let mut listed = [0.0];
                let wanted = [Quantity::DynamicViscosity];
                let filled = fluid.properties_into(&wanted, &[340.0], &[200e5], &mut listed);
                assert!(filled.is_ok());
                (state, point, listed[0])
            });
            let ratio = other.0.dynamic_viscosity().unwrap() / one.0.dynamic_viscosity().unwrap();
            assert!((ratio - 1.25).abs() < 1e-15);
            assert!((other.1.dynamic_viscosity / one.1.dynamic_viscosity - 1.25).abs() < 1e-15);
            assert!((other.2 / one.2 - 1.25).abs() < 1e-15);
            assert_eq!(other.1.pressure, one.1.pressure);
            assert_eq!(
                other.0.thermal_conductivity().unwrap(),
                one.0.thermal_conductivity().unwrap()
            );
            assert_ne!(plain, thick);
            assert_ne!(plain.fingerprint(), thick.fingerprint());
            let blended = thick
                .with_amount_fractions(thick.amount_fractions())
                .unwrap();
            assert_eq!(blended.viscosity_factor(), 1.25);
        }
    }

    #[test]
    fn mixtures_and_what_is_out_of_range() {
        let mixture = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)]).unwrap();
        let state = State::from_tp(&mixture, 340.0, 200e5).unwrap();
        let found = mixture.isothermal(340.0).unwrap();
        let found = found.flow_points(&[state.density()]).unwrap();
        assert!((found[0].pressure / 200e5 - 1.0).abs() < 1e-9);
        assert_eq!(found[0].dynamic_viscosity, {
            let same = State::from_t_rho(&mixture, 340.0, state.density()).unwrap();
            same.dynamic_viscosity().unwrap()
        });
        let co2 = Fluid::new("carbon dioxide").unwrap();
        assert_eq!(co2.isothermal(f64::NAN).unwrap_err().code(), 101);
        assert_eq!(co2.isothermal(70.0).unwrap_err().code(), 102);
        let hot = co2.isothermal(373.15).unwrap();
        assert_eq!(hot.flow_points(&[-1.0]).unwrap_err().code(), 101);
        assert_eq!(hot.flow_points(&[1800.0]).unwrap_err().code(), 102);
    }
}
