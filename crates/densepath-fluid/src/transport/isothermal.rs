//! A fluid at one temperature, as the flow at that temperature asks for it.

use alloc::borrow::Cow;

use super::Point;
use super::properties::{in_range, model};
use super::viscosity::Gas;
use crate::eos::{Coexistence, Column, Helmholtz, Isotherm};
use crate::error::{Error, Result, positive, within};
use crate::fluids::transport::ViscosityRecord;
use crate::num::series::{Sampler, Series};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;
use crate::state::{Fluid, State};

/// One phase at one temperature between two densities in kg/m3, as series in density, by rising density.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// let series = fluid.isothermal(373.15)?.series([1.5, 481.0])?;
/// let [thin, dense] = series.viscosities[0].at([1.5, 481.0]);
/// assert!(dense[0] > 1.5 * thin[0]);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct IsothermalSeries {
    /// Pressure over density in J/kg, and `(dp/drho)_T` in m2/s2, the square of the isothermal speed of sound.
    pub pressures: Vec<Series<2>>,
    /// Dynamic viscosity eta in Pa s.
    pub viscosities: Vec<Series<1>>,
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
        Self::at(helmholtz, viscosity, temperature).map(Some)
    }

    fn at(
        helmholtz: &'a Helmholtz,
        viscosity: &'static ViscosityRecord,
        temperature: f64,
    ) -> Result<Self> {
        let critical = viscosity.critical.as_ref();
        let reference = critical.map(|critical| critical.correlation_length.temperature_reference);
        let border = if temperature < helmholtz.dome_top.temperature {
            Some(helmholtz.coexistence_at_temperature(temperature)?)
        } else {
            None
        };
        let isotherm = helmholtz.isotherm(temperature);
        Ok(Self {
            ideal_heat_capacity: -isotherm.ideal().second,
            isotherm,
            reference: reference.map(|temperature| helmholtz.isotherm(temperature)),
            border,
            viscosity,
            gas: viscosity.gas(temperature),
        })
    }

    /// Points at densities in kg/m3, of a substance of a molar mass in kg/mol.
    fn points(&self, molar_mass: f64, densities: &[f64]) -> impl Iterator<Item = Point> {
        let residuals = self.isotherm.residuals(densities);
        densities.iter().zip(residuals).map(move |(&density, of)| {
            let reference = self.reference.as_ref();
            let reference = reference.map(|isotherm| isotherm.pressure(density).dp_drho);
            let heat_capacity = self.ideal_heat_capacity;
            Point::on_isotherm(
                &self.isotherm,
                heat_capacity,
                molar_mass,
                density,
                &of,
                reference,
            )
        })
    }

    fn viscosity(&self, point: &Point) -> f64 {
        self.viscosity.above_gas(self.gas, point)
    }
}

/// How far the reduced temperature may be from one for the critical density to count as a corner: farther away the terms that are not
/// analytic there have faded by `exp(-275 (Tc/T - 1)^2)` below 1e-3.
///
/// These terms hold powers of the distance from the critical density with exponents of 10/3 and 7 (R. Span and W. Wagner, J. Phys.
/// Chem. Ref. Data 25, 1509 (1996), doi 10.1063/1.555991, table 31), which are whole in its cube root.
const NEARLY_CRITICAL: f64 = 0.16;

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

    /// The fluid of one phase between two densities in kg/m3, the lower one first, as series in density.
    ///
    /// *Valid*, *Uncertainty* and *Source*: as [`State::from_t_rho`] and [`State::dynamic_viscosity`], which these meet to about 1e-8
    /// of the least value on the way, except that solid is not looked for: a fluid that is one at its highest density is none below.
    /// Errors as there; 301 for a density inside the dome.
    ///
    /// ```
    /// # use densepath_fluid::{Fluid, State};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let state = State::from_tp(&fluid, 313.15, 150e5)?;
    /// let series = fluid.isothermal(313.15)?.series([2.0, state.density()])?;
    /// let (Some(pressures), Some(viscosities)) = (series.pressures.last(), series.viscosities.last()) else { unreachable!() };
    /// let [[over_density, dp_drho_t]] = pressures.at([state.density()]);
    /// assert!((over_density * state.density() / 150e5 - 1.0).abs() < 1e-7);
    /// // (dp/drho)_T is 1 / (rho kappa_T).
    /// assert!((dp_drho_t * state.density() * state.isothermal_compressibility()? - 1.0).abs() < 1e-7);
    /// let [[viscosity]] = viscosities.at([state.density()]);
    /// assert!((viscosity / state.dynamic_viscosity()? - 1.0).abs() < 1e-7);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn series(&self, ends: [f64; 2]) -> Result<IsothermalSeries> {
        if let Some(series) = self.of_column(ends)? {
            return Ok(series);
        }
        // What is in the range of the models at both ends is between them too.
        self.pressures(&ends)?;
        self.viscosities(&ends)?;
        let corner = self.corner();
        let mut pressures = Sampler {
            properties: |densities: &[f64]| self.pressures(densities),
        };
        let mut viscosities = Sampler {
            properties: |densities: &[f64]| self.viscosities(densities),
        };
        Ok(IsothermalSeries {
            pressures: pressures.series(ends, corner)?,
            viscosities: viscosities.smooth_series(ends, corner)?,
        })
    }

    /// The series of prepared isotherms between two densities, if there are any.
    fn of_column(&self, ends: [f64; 2]) -> Result<Option<IsothermalSeries>> {
        let column = self.prepared().filter(|column| column.holds(ends));
        let (Some(known), Some(column)) = (&self.of_reference, column) else {
            return Ok(None);
        };
        let (pressures, viscosities) = column.at(self.temperature, ends);
        for density in ends {
            let holding = pressures.iter().find(|piece| density <= piece.ends()[1]);
            let [[over_density, _]] = holding.map_or([[f64::NAN; 2]], |piece| piece.at([density]));
            self.refuse_range(density, over_density * density, known.viscosity)?;
        }
        let factor = self.fluid.viscosity_factor();
        let viscosities = viscosities.into_iter().map(|series| series.times(factor));
        Ok(Some(IsothermalSeries {
            pressures,
            viscosities: viscosities.collect(),
        }))
    }

    /// The column of prepared isotherms of this temperature, of a substance that has one.
    fn prepared(&self) -> Option<&Column> {
        let known = self.of_reference.as_ref()?;
        if self.fluid.volume_shift() != 0.0 {
            return None;
        }
        let substance = self.fluid.pure()?;
        let (helmholtz, molar_mass) = (substance.helmholtz(), self.fluid.molar_mass());
        let viscosities = |temperature: f64, densities: &[f64]| {
            let at = OfReference::at(helmholtz, known.viscosity, temperature).ok()?;
            let points = at.points(molar_mass, densities);
            Some(points.map(|point| [at.viscosity(&point)]).collect())
        };
        let isotherms = substance.isotherms();
        isotherms.column(helmholtz, self.temperature, viscosities)
    }

    /// The critical density of an equation that is not analytic there, near its temperature.
    fn corner(&self) -> Option<f64> {
        let equation = self.fluid.helmholtz().ok()?;
        let distance = equation.temperature_reducing / self.temperature - 1.0;
        let corner = self.fluid.density_from_model(equation.density_reducing);
        (distance.abs() < NEARLY_CRITICAL).then_some(corner)
    }

    /// Pressures over density in J/kg and slopes `(dp/drho)_T` in m2/s2 at densities in kg/m3.
    fn pressures(&self, densities: &[f64]) -> Result<Vec<[f64; 2]>> {
        let Some(known) = &self.of_reference else {
            let of_state = |&density: &f64| {
                let state = State::from_t_rho(self.fluid, self.temperature, density)?;
                stable(density, [state.pressure() / density, state.dp_drho_t()?])
            };
            return densities.iter().map(of_state).collect();
        };
        let highest = self.fluid.admitted(self.fluid.range()).pressure_max;
        let (model, energy) = (self.fluid.model(), known.isotherm.thermal_energy());
        let of_model = self.of_model(densities);
        let derivatives = known.isotherm.density_derivatives(&of_model);
        let points = densities.iter().zip(of_model.iter()).zip(derivatives);
        points
            .map(|((&density, &of_model), of)| {
                self.refuse_dome(Quantity::IsothermalCompressibility, of_model, known)?;
                let stretch = of_model / density;
                let shares = [
                    stretch * (1.0 + of.a_d),
                    stretch * stretch * (1.0 + 2.0 * of.a_d + of.a_dd),
                ];
                let found = shares.map(|share| energy * share);
                within(Quantity::Pressure, density * found[0], 0.0, highest, model)?;
                stable(density, found)
            })
            .collect()
    }

    /// Viscosities eta in Pa s at densities in kg/m3.
    fn viscosities(&self, densities: &[f64]) -> Result<Vec<[f64; 1]>> {
        let Some(known) = &self.of_reference else {
            let of_state = |density: &f64| {
                let state = State::from_t_rho(self.fluid, self.temperature, *density)?;
                Ok([state.dynamic_viscosity()?])
            };
            return densities.iter().map(of_state).collect();
        };
        let factor = self.fluid.viscosity_factor();
        let of_model = self.of_model(densities);
        let points = known.points(self.fluid.molar_mass(), &of_model);
        points
            .map(|point| {
                self.refuse_dome(Quantity::DynamicViscosity, point.density, known)?;
                self.refuse_range(point.density, point.pressure, known.viscosity)?;
                let viscosity = factor * known.viscosity(&point);
                Ok([positive(Quantity::DynamicViscosity, viscosity)?])
            })
            .collect()
    }

    /// The densities in kg/m3 that the model has where those of the fluid, whose volume may be shifted, are given.
    fn of_model<'d>(&self, densities: &'d [f64]) -> Cow<'d, [f64]> {
        if self.fluid.volume_shift() == 0.0 {
            return Cow::Borrowed(densities);
        }
        let of_model = |density: &f64| self.fluid.density_of_model(*density);
        Cow::Owned(densities.iter().map(of_model).collect())
    }

    /// Error 301 for a density in the dome, where one phase has the property no longer.
    fn refuse_dome(&self, property: Quantity, density: f64, known: &OfReference<'_>) -> Result<()> {
        positive(Quantity::Density, density)?;
        let inside = |border: &&Coexistence| {
            density > border.vapour_density && density < border.liquid_density
        };
        let Some(border) = known.border.as_ref().filter(inside) else {
            return Ok(());
        };
        let (v, v_l) = (1.0 / density, 1.0 / border.liquid_density);
        Err(Error::TwoPhase {
            property,
            temperature: self.temperature,
            pressure: border.pressure,
            vapour_fraction: (v - v_l) / (1.0 / border.vapour_density - v_l),
        })
    }

    /// The range of the viscosity at a density in kg/m3 of the model.
    fn refuse_range(&self, density: f64, pressure: f64, record: &ViscosityRecord) -> Result<()> {
        let (fluid, temperature) = (self.fluid, self.temperature);
        let highest = fluid.admitted(fluid.range()).pressure_max;
        within(Quantity::Pressure, pressure, 0.0, highest, fluid.model())?;
        in_range(fluid, temperature, pressure, &record.valid, &record.name)?;
        match &record.valid_dense {
            Some(dense) if fluid.density_from_model(density) > fluid.critical_point()?.density => {
                in_range(fluid, temperature, pressure, dense, &record.name)
            }
            _ => Ok(()),
        }
    }
}

/// Pressure over density and its slope, of one stable fluid at a density in kg/m3: error 101 where it is none.
fn stable(density: f64, [over_density, dp_drho_t]: [f64; 2]) -> Result<[f64; 2]> {
    positive(Quantity::Pressure, over_density * density)?;
    let compressibility = 1.0 / (density * dp_drho_t);
    positive(Quantity::IsothermalCompressibility, compressibility)?;
    Ok([over_density, dp_drho_t])
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
                let found = isothermal.viscosities(&[density]);
                if !state.is_one_phase() {
                    assert!(matches!(found, Err(Error::TwoPhase { .. })));
                    let pressure = isothermal.pressures(&[density]);
                    assert!(matches!(pressure, Err(Error::TwoPhase { .. })));
                    continue;
                }
                let Ok(viscosity) = state.dynamic_viscosity() else {
                    assert!(found.is_err());
                    continue;
                };
                let [over_density, dp_drho_t] = isothermal.pressures(&[density]).unwrap()[0];
                // The slope of the pressure is a small difference of large terms near the critical point.
                let thermal_energy = fluid.specific_gas_constant() * temperature;
                for (ours, expected, scale) in [
                    (over_density * density, state.pressure(), state.pressure()),
                    (dp_drho_t, state.dp_drho_t().unwrap(), thermal_energy),
                    (found.unwrap()[0][0], viscosity, viscosity),
                ] {
                    assert!((ours - expected).abs() < 1e-10 * scale, "{name} {density}");
                }
                compared += 1;
            }
            assert!(compared >= 4, "{name}");
        }
    }

    /// Prepared or not, above and below the critical temperature, the series meet the fluid to what they promise.
    #[test]
    fn series_meet_the_fluid() {
        let mut prepared = 0;
        for (name, temperatures) in [
            (
                "carbon dioxide",
                [280.0, 304.2, 304.6, 306.0, 313.15, 333.15, 380.0, 600.0],
            ),
            (
                "ethane",
                [280.0, 305.4, 306.0, 310.0, 313.15, 333.15, 380.0, 500.0],
            ),
            (
                "nitrogen",
                [120.0, 126.3, 127.0, 130.0, 150.0, 200.0, 300.0, 350.0],
            ),
        ] {
            let fluid = Fluid::new(name).unwrap();
            let critical = fluid.critical_point().unwrap().density;
            for temperature in temperatures {
                let isothermal = fluid.isothermal(temperature).unwrap();
                prepared += u32::from(isothermal.prepared().is_some());
                let liquid = isothermal.of_reference.as_ref().unwrap().border;
                let low = liquid.map_or(4e-3 * critical, |border| border.liquid_density * 1.0001);
                let high = (1.6 * critical).max(1.02 * low);
                let series = isothermal.series([low, high]).unwrap();
                for step in 0..=60 {
                    let density = low * (high / low).powf(f64::from(step) / 60.0);
                    let density = density.clamp(low, high);
                    let [exact] = isothermal.pressures(&[density]).unwrap()[..] else {
                        panic!()
                    };
                    let pressures = series.pressures.iter();
                    let piece = pressures.rev().find(|piece| piece.ends()[0] <= density);
                    let [found] = piece.unwrap().at([density]);
                    for (found, exact) in found.into_iter().zip(exact) {
                        assert!(
                            (found / exact - 1.0).abs() < 1e-7,
                            "{name} {temperature} {density}"
                        );
                    }
                    let exact = isothermal.viscosities(&[density]).unwrap()[0][0];
                    let pieces = series.viscosities.iter();
                    let piece = pieces.rev().find(|piece| piece.ends()[0] <= density);
                    let [[found]] = piece.unwrap().at([density]);
                    assert!(
                        (found / exact - 1.0).abs() < 1e-7,
                        "{name} {temperature} {density}"
                    );
                }
            }
        }
        assert!(prepared >= 12, "{prepared}");
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
                let pressure = points.pressures(&[state.density()]).unwrap()[0];
                let viscosity = points.viscosities(&[state.density()]).unwrap()[0];
                let mut listed = [0.0];
                let wanted = [Quantity::DynamicViscosity];
                let filled = fluid.properties_into(&wanted, &[340.0], &[200e5], &mut listed);
                assert!(filled.is_ok());
                (state, (pressure, viscosity), listed[0])
            });
            let ratio = other.0.dynamic_viscosity().unwrap() / one.0.dynamic_viscosity().unwrap();
            assert!((ratio - 1.25).abs() < 1e-15);
            assert!((other.1.1[0] / one.1.1[0] - 1.25).abs() < 1e-15);
            assert!((other.2 / one.2 - 1.25).abs() < 1e-15);
            assert_eq!(other.1.0, one.1.0);
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
        let [over_density, _] = found.pressures(&[state.density()]).unwrap()[0];
        assert!((over_density * state.density() / 200e5 - 1.0).abs() < 1e-9);
        assert_eq!(found.viscosities(&[state.density()]).unwrap()[0][0], {
            let same = State::from_t_rho(&mixture, 340.0, state.density()).unwrap();
            same.dynamic_viscosity().unwrap()
        });
        let co2 = Fluid::new("carbon dioxide").unwrap();
        assert_eq!(co2.isothermal(f64::NAN).unwrap_err().code(), 101);
        assert_eq!(co2.isothermal(70.0).unwrap_err().code(), 102);
        let hot = co2.isothermal(373.15).unwrap();
        assert_eq!(hot.pressures(&[-1.0]).unwrap_err().code(), 101);
        assert_eq!(hot.viscosities(&[-1.0]).unwrap_err().code(), 101);
        assert_eq!(hot.pressures(&[1800.0]).unwrap_err().code(), 102);
        assert_eq!(hot.viscosities(&[1800.0]).unwrap_err().code(), 102);
    }
}
