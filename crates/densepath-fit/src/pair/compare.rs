//! Deviations of an equation from measurements.

use densepath_fluid::eos::equilibrium::{self, BoundaryKind, Given, boundaries};
use densepath_fluid::eos::mixture::MixtureModel;
use densepath_fluid::fluids::binary::Deviation;

use super::measurements::{Quantity, Row};
use super::phases::{self, Boundary, Critical};

/// An equation with the molar masses in kg/mol of the amounts that it counts.
pub struct Equation {
    /// The equation.
    pub model: Box<dyn MixtureModel>,
    /// Molar masses in kg/mol.
    pub molar_masses: [f64; 2],
}

/// What an equation gives for a row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comparison {
    /// Relative deviation, calculated less measured; none where the equation has no value.
    pub deviation: Option<f64>,
    /// `(d ln rho/d ln p)_T` of the equation exceeds 1 at a density.
    pub near_critical: bool,
    /// The equation has a dew point where a bubble point was measured, mostly since the composition lies beyond its critical point.
    pub is_dew: bool,
}

/// Widest ratio of a calculated to a measured bubble pressure that counts as a value.
const WIDEST: f64 = 2.5;

/// Compares an equation with a row.
pub fn compare(equation: &Equation, row: &Row) -> Comparison {
    let (temperature, pressure, x) = (row.temperature, row.pressure, row.fraction);
    let model = equation.model.as_ref();
    let far = |deviation| Comparison {
        deviation,
        near_critical: false,
        is_dew: false,
    };
    match row.quantity {
        Quantity::Density => compare_density(equation, row),
        Quantity::BubblePressure => {
            let found = measured_boundary(model, temperature, x, pressure);
            Comparison {
                is_dew: found.is_some_and(|(_, kind)| kind == BoundaryKind::Dew),
                ..far(found.map(|(found, _)| found / pressure - 1.0))
            }
        }
        Quantity::VapourFraction => far(row.value.and_then(|value| {
            let found = near_boundary(model, temperature, x, pressure)?;
            // Of the substance of which there is little: of the other all equations are right within a percent.
            Some((1.0 - found.other_fraction()) / (1.0 - value) - 1.0)
        })),
        Quantity::CriticalPoint => {
            let found = near_critical_point(model, temperature, x, pressure);
            far(found.map(|found| found.pressure / pressure - 1.0))
        }
        Quantity::CriticalPressureBound => {
            let found = highest_critical_pressure(model, temperature, x, pressure);
            far(found.map(|found| (found / pressure - 1.0).min(0.0)))
        }
    }
}

fn compare_density(equation: &Equation, row: &Row) -> Comparison {
    let x = row.fraction;
    let mass = x * equation.molar_masses[0] + (1.0 - x) * equation.molar_masses[1];
    let isotherm = equation.model.at(row.temperature, &[x, 1.0 - x]);
    let found = row.value.and_then(|value| {
        let near = phases::density(isotherm.as_ref(), row.pressure, value / mass);
        let density = near.or_else(|| isotherm.densities(row.pressure).ok().map(|d| d.liquid))?;
        let slope = row.pressure / (density * isotherm.dp_drho(density));
        Some((density * mass / value - 1.0, slope > 1.0))
    });
    Comparison {
        deviation: found.map(|(deviation, _)| deviation),
        near_critical: found.is_some_and(|(_, near)| near),
        is_dew: false,
    }
}

/// The boundary that a measured pressure leads to: the nearest of those that Newton's method finds from there.
pub fn near_boundary(
    model: &dyn MixtureModel,
    temperature: f64,
    x: f64,
    pressure: f64,
) -> Option<Boundary> {
    let distance = |found: &Boundary| (found.pressure / pressure).ln().abs();
    let found = [1.0, 0.9, 1.05, 0.75, 1.2].iter().filter_map(|factor| {
        let trial = phases::trial(model, temperature, factor * pressure, x)?;
        phases::boundary(model, temperature, x, trial.start)
    });
    let nearest = found.min_by(|a, b| distance(a).total_cmp(&distance(b)));
    nearest.filter(|found| distance(found) < WIDEST.ln())
}

/// The pressure in Pa of the boundary that a measured bubble pressure is compared with, and its kind: the nearest bubble point, else the
/// nearest dew point. Both are borders of the stable mixture, as the library tells them.
fn measured_boundary(
    model: &dyn MixtureModel,
    temperature: f64,
    x: f64,
    pressure: f64,
) -> Option<(f64, BoundaryKind)> {
    let range = (pressure / WIDEST, pressure * WIDEST);
    let found = boundaries(model, Given::Temperature(temperature), &[x, 1.0 - x], range);
    let found = found.unwrap_or_default();
    let distance = |found: &&equilibrium::Boundary| (found.pressure / pressure).ln().abs();
    let nearest = |kind| {
        let found = found.iter().filter(|found| found.kind == kind);
        let nearest = found.min_by(|a, b| distance(a).total_cmp(&distance(b)))?;
        Some((nearest.pressure, kind))
    };
    nearest(BoundaryKind::Bubble).or_else(|| nearest(BoundaryKind::Dew))
}

/// The highest pressure in Pa of the critical points at a temperature in K that are found near a bound.
fn highest_critical_pressure(
    model: &dyn MixtureModel,
    temperature: f64,
    x: f64,
    pressure: f64,
) -> Option<f64> {
    let followed = phases::line(model, &[temperature]).pop();
    let near = SHIFTS.iter().filter_map(|shift| {
        let fraction = (x + shift).clamp(0.02, 0.995);
        critical_from(model, temperature, fraction, pressure)
    });
    let pressures = followed.map(|(_, found)| found).into_iter().chain(near);
    let within = pressures
        .map(|found| found.pressure)
        .filter(|p| (p / pressure).ln().abs() < WIDEST.ln());
    within.max_by(f64::total_cmp)
}

const SHIFTS: [f64; 7] = [0.0, 0.03, -0.03, 0.08, -0.08, 0.15, -0.15];

/// The critical point at a temperature in K that is found from a composition and a pressure.
fn critical_from(
    model: &dyn MixtureModel,
    temperature: f64,
    fraction: f64,
    pressure: f64,
) -> Option<Critical> {
    let isotherm = model.at(temperature, &[fraction, 1.0 - fraction]);
    let density = isotherm.densities(pressure).ok()?.liquid;
    let start = Critical {
        fraction,
        ln_density: density.ln(),
        pressure,
    };
    phases::critical(model, temperature, start)
}

/// The critical point at a temperature in K near a measured one.
pub fn near_critical_point(
    model: &dyn MixtureModel,
    temperature: f64,
    x: f64,
    pressure: f64,
) -> Option<Critical> {
    let near = |found: &Critical| (found.pressure / pressure).ln().abs() < WIDEST.ln();
    // The line from the first substance on is the stable one; another point may lie inside a dome.
    let followed = phases::line(model, &[temperature]).pop();
    let followed = followed.map(|(_, found)| found).filter(near);
    if followed.is_some() {
        return followed;
    }
    SHIFTS.iter().find_map(|shift| {
        let fraction = (x + shift).clamp(0.02, 0.995);
        let found = critical_from(model, temperature, fraction, pressure)?;
        near(&found).then_some(found)
    })
}

/// Summary of comparisons.
pub fn summary(comparisons: impl IntoIterator<Item = Comparison>) -> Deviation {
    let all: Vec<Option<f64>> = comparisons.into_iter().map(|c| c.deviation).collect();
    let mut known: Vec<f64> = all.iter().copied().flatten().collect();
    let count = known.len();
    let bias = known.iter().sum::<f64>() / count as f64;
    let mean = known.iter().map(|d| d.abs()).sum::<f64>() / count as f64;
    known.sort_by(|a, b| a.abs().total_cmp(&b.abs()));
    let at = |index: usize| known.get(index).map_or(f64::NAN, |d| d.abs());
    let median = if count % 2 == 1 {
        at(count / 2)
    } else {
        0.5 * (at(count / 2) + at((count / 2).wrapping_sub(1)))
    };
    let digits = |value: f64| if count == 0 { 0.0 } else { rounded(value) };
    let counted = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    Deviation {
        rows: counted(count),
        without_value: counted(all.len() - count),
        median: digits(median),
        mean: digits(mean),
        bias: digits(bias),
        greatest: digits(at(count.saturating_sub(1))),
    }
}

/// A deviation to a hundredth of a percent.
fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}
