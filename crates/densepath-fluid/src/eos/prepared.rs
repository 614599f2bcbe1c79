//! Isotherms above the critical temperature, prepared as series in density whose coefficients are series in temperature.
//!
//! The temperatures are divided into columns, each by the same factor farther from the critical temperature than the one before, where
//! the isotherms bend ever more slowly, and the densities of a column into pieces of a low degree. A column is made when it is first
//! asked for, in some tenths of a millisecond; one in which the series do not meet the fluid is left to the equation. What a column
//! holds depends on nothing but the fluid.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::helmholtz::Helmholtz;
use crate::num::once::OnceLock;
use crate::num::series::{Family, Series, Surface};

/// Number of columns, those by which their distance from the critical temperature doubles, and the distance of the hottest, relative
/// to that temperature, in powers of two.
const COLUMNS: i32 = 30;
const DOUBLING: i32 = 2;
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
    /// Pressure over density in J/kg and slope of the pressure, by rising density, on both sides of the reducing one, where equations
    /// with terms that are not analytic at the critical point have a corner.
    pressures: Vec<Family<2>>,
    /// Viscosity in Pa s.
    viscosities: Vec<Family<1>>,
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
        let coldest = DOUBLING * HOTTEST - COLUMNS;
        let distance = f64::from(DOUBLING) * (temperature / critical - 1.0).log2();
        let found = (0..COLUMNS).find(|column| f64::from(coldest + column) == distance.floor())?;
        let at = |step: i32| critical * (1.0 + (f64::from(step) / f64::from(DOUBLING)).exp2());
        let range = [at(coldest + found), at(coldest + found + 1)];
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
        let densities = DENSITIES.map(|share| share * corner);
        let pressures = |temperature: f64, densities: &[f64]| {
            let isotherm = helmholtz.isotherm(temperature);
            let energy = isotherm.thermal_energy();
            let found = isotherm.density_derivatives(densities).into_iter();
            let pair = found.map(|of| [1.0 + of.a_d, 1.0 + 2.0 * of.a_d + of.a_dd]);
            Some(pair.map(|pair| pair.map(|share| energy * share)).collect())
        };
        let mut pressures = Surface {
            corner,
            parameters: temperatures,
            functions: pressures,
        };
        let mut viscosities = Surface {
            corner,
            parameters: temperatures,
            functions: viscosities,
        };
        Some(Self {
            pressures: pressures.families(densities)?,
            viscosities: viscosities.families(densities)?,
            densities,
        })
    }

    /// Whether it has the isotherms between two densities in kg/m3.
    pub(crate) fn holds(&self, [from, to]: [f64; 2]) -> bool {
        let [low, high] = self.densities;
        from >= low && to <= high
    }

    /// The series of pressure over density and its slope, and of the viscosity, at a temperature in K, that hold the densities
    /// between two in kg/m3.
    pub(crate) fn at(
        &self,
        temperature: f64,
        densities: [f64; 2],
    ) -> (Vec<Series<2>>, Vec<Series<1>>) {
        let pressures = holding(&self.pressures, temperature, densities);
        (
            pressures,
            holding(&self.viscosities, temperature, densities),
        )
    }
}

fn holding<const N: usize>(
    families: &[Family<N>],
    temperature: f64,
    [from, to]: [f64; 2],
) -> Vec<Series<N>> {
    let holds = |family: &&Family<N>| {
        let [low, high] = family.ends();
        high >= from && low <= to
    };
    let families = families.iter().filter(holds);
    families.map(|family| family.at(temperature)).collect()
}
