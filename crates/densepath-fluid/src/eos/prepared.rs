//! Isotherms above the critical temperature, prepared as series in density whose coefficients are series in temperature.
//!
//! The temperatures are divided into columns, each twice as far from the critical temperature as the one before, where the isotherms
//! bend ever more slowly. A column is made when it is first asked for, in some tenths of a millisecond; one in which the series do not
//! meet the fluid is left to the equation. What a column holds depends on nothing but the fluid.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::helmholtz::Helmholtz;
use crate::num::once::OnceLock;
use crate::num::series::{Family, Series};

/// Number of columns, and the distance of the hottest from the critical temperature, relative to that, in powers of two.
const COLUMNS: i32 = 10;
const HOTTEST: i32 = 0;
/// Lowest and highest density over the reducing one.
const DENSITIES: [f64; 2] = [1e-6, 2.4];

/// The columns of a substance.
#[derive(Debug, Default)]
pub(crate) struct Prepared {
    columns: [OnceLock<Option<Column>>; COLUMNS as usize],
}

/// The isotherms of one column.
#[derive(Debug)]
pub(crate) struct Column {
    /// Pressure over density in J/kg and slope of the pressure, below and above the reducing density, where equations with terms that
    /// are not analytic at the critical point have a corner.
    pressures: [Family<2>; 2],
    /// Viscosity in Pa s.
    viscosities: Family<1>,
    densities: [f64; 2],
}

impl Prepared {
    /// The column of a temperature in K, made of the equation and a viscosity at temperatures and densities; nothing where there is
    /// none.
    pub(crate) fn column(
        &self,
        helmholtz: &Helmholtz,
        temperature: f64,
        viscosities: impl FnMut(f64, &[f64]) -> Option<Vec<[f64; 1]>>,
    ) -> Option<&Column> {
        let critical = helmholtz.dome_top.temperature;
        let place = (temperature / critical - 1.0).log2().floor() - f64::from(HOTTEST - COLUMNS);
        let found = (0..COLUMNS).find(|column| f64::from(*column) == place)?;
        let at = |power: i32| critical * (1.0 + f64::from(power).exp2());
        let coldest = found + HOTTEST - COLUMNS;
        let range = [at(coldest), at(coldest + 1)];
        let make = || Column::new(helmholtz, range, viscosities);
        let column = self.columns.get(usize::try_from(found).ok()?)?;
        column.get_or_init(make).as_ref()
    }
}

impl Column {
    fn new(
        helmholtz: &Helmholtz,
        temperatures: [f64; 2],
        viscosities: impl FnMut(f64, &[f64]) -> Option<Vec<[f64; 1]>>,
    ) -> Option<Self> {
        let corner = helmholtz.density_reducing;
        let [low, high] = DENSITIES.map(|share| share * corner);
        let family = |ends| {
            Family::new(
                ends,
                Some(corner),
                temperatures,
                |temperature, densities| {
                    let isotherm = helmholtz.isotherm(temperature);
                    let energy = isotherm.thermal_energy();
                    let found = isotherm.density_derivatives(densities).into_iter();
                    let pair = found.map(|of| [1.0 + of.a_d, 1.0 + 2.0 * of.a_d + of.a_dd]);
                    Some(pair.map(|pair| pair.map(|share| energy * share)).collect())
                },
            )
        };
        Some(Self {
            pressures: [family([low, corner])?, family([corner, high])?],
            viscosities: Family::new([low, high], None, temperatures, viscosities)?,
            densities: [low, high],
        })
    }

    /// Whether it has the isotherms between two densities in kg/m3.
    pub(crate) fn holds(&self, [from, to]: [f64; 2]) -> bool {
        let [low, high] = self.densities;
        from >= low && to <= high
    }

    /// The series of pressure over density and its slope, and of the viscosity, at a temperature in K.
    pub(crate) fn at(&self, temperature: f64) -> (Vec<Series<2>>, Vec<Series<1>>) {
        let pressures = self.pressures.iter().map(|family| family.at(temperature));
        (pressures.collect(), vec![self.viscosities.at(temperature)])
    }
}
