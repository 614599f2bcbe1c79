//! The fit of an equation to the rows of a pair.

use std::collections::BTreeMap;

use densepath_fluid::eos::mixture::{Branch, MixtureModel};

use super::compare::{Comparison, Equation, compare, near_boundary};
use super::measurements::{Quantity, Row};
use super::phases;
use super::plan::{LineGuide, Plan};
use super::problem::{Family, Kind, Term, minimize};
use super::simplex;

/// Relative uncertainty of bubble pressures before the series have been compared, and bounds of that of a series
/// in the multi-fluid equation.
const BUBBLE_PRESSURE: f64 = 0.04;
pub const SERIES_BOUNDS: (f64, f64) = (0.012, 0.035);
/// The same for the cubic equation, which cannot follow the better series.
pub const CUBIC_SERIES_BOUNDS: (f64, f64) = (0.015, 0.06);
/// Standard deviation over the median size, for a normal distribution.
const OVER_MEDIAN: f64 = 1.4826;
/// Deviations, in standard deviations of the series, beyond which a row counts less.
const OUTLIER: f64 = 2.5;
/// Relative uncertainty of the amount of the second substance in the vapour.
const VAPOUR: f64 = 0.2;
/// Relative uncertainty of the measured critical pressures, and uncertainty of the composition.
const CRITICAL_PRESSURE: f64 = 0.02;
const CRITICAL_FRACTION: f64 = 0.02;
/// Relative uncertainty of a lower bound.
const BOUND: f64 = 0.02;
/// Relative uncertainty of the density of the critical line, an estimate.
const CRITICAL_DENSITY: f64 = 0.01;
/// Uncertainty of the thermodynamic factor of a stable liquid.
const MIXING: f64 = 0.007;
/// The same along the critical line.
const MIXING_ALONG_LINE: f64 = 0.0035;
/// Compositions at which stability is asked.
const COMPOSITIONS: [f64; 16] = [
    0.05, 0.15, 0.3, 0.4, 0.5, 0.57, 0.63, 0.68, 0.73, 0.77, 0.81, 0.85, 0.89, 0.93, 0.96, 0.98,
];
/// Temperatures in K and pressures in Pa at which liquids that mix freely are one phase, with the least thermodynamic factor
/// asked there: just above the vapour pressure of carbon dioxide, and far above every critical line.
const ONE_PHASE: [(f64, f64, f64); 16] = [
    (220.0, 0.99e6, 0.04),
    (250.0, 2.36e6, 0.04),
    (275.0, 4.48e6, 0.04),
    (300.0, 8.0e6, 0.04),
    (220.0, 2e7, 0.07),
    (250.0, 2e7, 0.07),
    (275.0, 2e7, 0.07),
    (300.0, 2e7, 0.07),
    (220.0, 6e7, 0.07),
    (250.0, 6e7, 0.07),
    (275.0, 6e7, 0.07),
    (300.0, 6e7, 0.07),
    (345.0, 2.5e7, 0.04),
    (345.0, 6e7, 0.07),
    (400.0, 2.5e7, 0.04),
    (400.0, 6e7, 0.07),
];
/// The factor asked where the plan names the state, near the critical line, and the share asked near pure carbon dioxide.
const NEAR_LINE: f64 = 0.01;
const CARBON_DIOXIDE_RICH: (f64, f64) = (0.9, 0.6);
/// Beside the critical line: how far in composition towards pure carbon dioxide the mixture is one phase again, at what share
/// of the critical pressure, and with what factor.
const BESIDE_LINE: [(f64, f64, f64); 16] = [
    (0.03, 0.98, 0.01),
    (0.03, 1.0, 0.02),
    (0.045, 0.98, 0.01),
    (0.045, 1.0, 0.02),
    (0.06, 0.95, 0.01),
    (0.06, 1.0, 0.02),
    (0.09, 0.95, 0.01),
    (0.09, 1.0, 0.02),
    (0.12, 0.95, 0.01),
    (0.12, 1.0, 0.02),
    (0.16, 0.95, 0.01),
    (0.16, 1.0, 0.02),
    (0.2, 0.95, 0.01),
    (0.2, 1.0, 0.02),
    (0.25, 0.95, 0.01),
    (0.25, 1.0, 0.02),
];
/// Pressures in Pa of both substances alone, between whose densities, in proportion to the volumes, no limit of stability may
/// lie; the smallest eigenvalue asked there, and its uncertainty.
const DENSE: [f64; 5] = [3e7, 1e8, 2e8, 4e8, 8e8];
const DENSE_EIGENVALUE: (f64, f64) = (0.08, 0.01);
/// Amount fraction of carbon dioxide beyond which it is not asked.
const ALONE: f64 = 0.985;
/// Uncertainty to which reducing parameters are drawn to their start.
const REDUCING: f64 = 0.1;
/// Amount of the second substance in the vapour below which it is not asked.
const LEAST_IN_VAPOUR: f64 = 1e-6;
/// Temperatures in K, pressures in Pa and fractions of the guide of densities: dense everywhere, as mixtures of carbon dioxide
/// with solvents are above their critical lines.
const DENSITY_GUIDE: ([f64; 4], [f64; 3], [f64; 6]) = (
    [290.0, 313.15, 340.0, 375.0],
    [2e7, 3e7, 5e7],
    [0.15, 0.3, 0.45, 0.6, 0.75, 0.9],
);
/// Every how many bubble pressures the vapour is drawn to that of the cubic equation, how closely, in the logarithm of the amount of the
/// second substance, and from what difference of the composition of both phases on: beside its own critical line, which lies elsewhere,
/// the cubic equation says nothing of the vapour.
pub type VapourGuide = (usize, f64, f64);
pub const VAPOUR_GUIDE: VapourGuide = (8, 0.4, -1.0);
pub const CLOSE_VAPOUR_GUIDE: VapourGuide = (3, 0.15, 0.3);
/// The same of a published equation of the pair.
pub const PUBLISHED_VAPOUR_GUIDE: VapourGuide = (2, 0.05, 0.3);
/// Temperatures in K and fractions at which the second virial coefficient of the unlike pair is drawn to that of the cubic
/// equation.
const VIRIAL_GUIDE: ([f64; 7], [f64; 5]) = (
    [275.0, 290.0, 305.0, 320.0, 340.0, 370.0, 420.0],
    [0.7, 0.8, 0.9, 0.95, 0.99],
);
/// Times that the weights are found anew.
const ROUNDS: u32 = 3;

/// Whether a row takes part in the fit.
pub fn is_fitted(plan: &Plan, row: &Row) -> bool {
    let apart = row.quantity == Quantity::Density
        && plan
            .kept_apart_fractions
            .iter()
            .any(|x| (x - row.fraction).abs() < 1e-6);
    !is_left_out(plan, row) && !apart && !plan.kept_apart.contains(&row.series)
}

/// Whether a row is shown only.
pub fn is_left_out(plan: &Plan, row: &Row) -> bool {
    row.is_discordant() || plan.left_out.contains(&row.series)
}

/// A fit.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// The parameters.
    pub parameters: Vec<f64>,
    /// Relative uncertainty of the bubble pressures of each series, by which it was weighed.
    pub series: BTreeMap<String, f64>,
}

/// The terms of the rows that are fitted, and those of the plan.
pub fn terms(plan: &Plan, rows: &[Row], density: f64) -> Vec<Term> {
    let mut terms = Vec::new();
    for (index, row) in rows.iter().enumerate() {
        if !is_fitted(plan, row) {
            continue;
        }
        let pressure = row.pressure;
        let kinds = match (row.quantity, row.value) {
            (Quantity::Density, Some(value)) => {
                vec![(Kind::Density { pressure, value }, density)]
            }
            (Quantity::BubblePressure, _) => vec![(Kind::Boundary { pressure }, BUBBLE_PRESSURE)],
            (Quantity::VapourFraction, Some(value)) => {
                let value = 1.0 - value;
                vec![(Kind::Vapour { pressure, value }, VAPOUR)]
            }
            (Quantity::CriticalPoint, _) => vec![
                (Kind::CriticalPressure { pressure }, CRITICAL_PRESSURE),
                (Kind::CriticalFraction { pressure }, CRITICAL_FRACTION),
            ],
            (Quantity::CriticalPressureBound, _) => {
                vec![(Kind::CriticalBound { pressure }, BOUND)]
            }
            (Quantity::Density | Quantity::VapourFraction, None) => Vec::new(),
        };
        terms.extend(kinds.into_iter().map(|(kind, uncertainty)| Term {
            kind,
            temperature: row.temperature,
            fraction: row.fraction,
            uncertainty,
            row: Some(index),
        }));
    }
    terms
}

/// The terms that ask for liquids that mix.
pub fn mixing_terms(plan: &Plan) -> Vec<Term> {
    let everywhere = ONE_PHASE
        .iter()
        .map(|(t, p, least)| (*t, *p, *least, MIXING));
    let named = plan.stable.iter().map(|[t, p]| (*t, *p, NEAR_LINE, MIXING));
    let along = plan.stable_along_line.iter();
    let along = along.map(|[t, p]| (*t, *p, NEAR_LINE, MIXING_ALONG_LINE));
    let states = everywhere.chain(named).chain(along);
    let states = states.filter(|(temperature, ..)| *temperature >= plan.least_temperature);
    let terms = states.flat_map(|(temperature, pressure, factor, uncertainty)| {
        COMPOSITIONS.into_iter().map(move |fraction| {
            let (rich, share) = CARBON_DIOXIDE_RICH;
            let share = if fraction > rich { share } else { 1.0 };
            let least = share * factor;
            Term {
                kind: Kind::Mixing { pressure, least },
                temperature,
                fraction,
                uncertainty,
                row: None,
            }
        })
    });
    terms.collect()
}

/// The terms that ask for no limit of stability in dense fluids far beyond the pressures of the measurements, where false
/// branches would lie: densities are those of both substances alone, whose equations are the ends of every family.
pub fn dense_terms(plan: &Plan, own: &dyn MixtureModel) -> Vec<Term> {
    let (least, uncertainty) = DENSE_EIGENVALUE;
    let volumes = |temperature: f64, pressure: f64| {
        let alone = |fractions: &[f64]| {
            let density = own.at(temperature, fractions).densities(pressure).ok()?;
            Some(1.0 / density.liquid)
        };
        Some([alone(&[1.0, 0.0])?, alone(&[0.0, 1.0])?])
    };
    let pressures = || {
        let most = plan.stable_to.unwrap_or(f64::INFINITY);
        DENSE.into_iter().filter(move |pressure| *pressure <= most)
    };
    let states = plan.stable_when_dense.iter().flat_map(|temperature| {
        pressures().map(|pressure| Some((*temperature, volumes(*temperature, pressure)?)))
    });
    let terms = states.flatten().flat_map(|(temperature, [one, two])| {
        COMPOSITIONS.map(|fraction| Term {
            kind: Kind::Dense {
                molar_density: 1.0 / (fraction * one + (1.0 - fraction) * two),
                least,
            },
            temperature,
            fraction,
            uncertainty,
            row: None,
        })
    });
    terms.collect()
}

/// The terms that ask for one phase on the side of pure carbon dioxide of the critical line, so that no second summit rises
/// there; points of the line are temperature in K, pressure in Pa and amount fraction of carbon dioxide.
pub fn beside_line_terms(line: &[[f64; 3]]) -> Vec<Term> {
    let states = line.iter().flat_map(|[temperature, pressure, fraction]| {
        let offsets = BESIDE_LINE.into_iter();
        let terms = offsets.map(move |(offset, share, least)| Term {
            kind: Kind::Mixing {
                pressure: share * pressure,
                least,
            },
            temperature: *temperature,
            fraction: fraction + offset,
            uncertainty: MIXING,
            row: None,
        });
        terms.filter(|term| term.fraction < ALONE)
    });
    states.collect()
}

/// The terms that draw the vapour to that of another equation of the pair, where no vapour was measured.
pub fn vapour_terms(
    plan: &Plan,
    rows: &[Row],
    other: &dyn MixtureModel,
    (every, uncertainty, apart): VapourGuide,
) -> Vec<Term> {
    let bubbles = rows.iter().enumerate().filter(|(index, row)| {
        row.quantity == Quantity::BubblePressure && index % every == 0 && is_fitted(plan, row)
    });
    let terms = bubbles.filter_map(|(_, row)| {
        let (temperature, fraction, pressure) = (row.temperature, row.fraction, row.pressure);
        let found = near_boundary(other, temperature, fraction, pressure)?;
        let value = 1.0 - found.other_fraction();
        let is_told = value > LEAST_IN_VAPOUR && found.other_fraction() - fraction > apart;
        is_told.then_some(Term {
            kind: Kind::Vapour { pressure, value },
            temperature,
            fraction,
            uncertainty,
            row: None,
        })
    });
    terms.collect()
}

/// The terms that draw the second virial coefficient of the unlike pair to that of another equation, at every composition:
/// the fugacity of a trace in a gas hangs on it, and no bubble pressure tells it.
pub fn virial_terms(plan: &Plan, other: &dyn MixtureModel, uncertainty: f64) -> Vec<Term> {
    let (temperatures, fractions) = VIRIAL_GUIDE;
    let known = temperatures
        .into_iter()
        .filter(|t| *t >= plan.least_temperature);
    let states = known.flat_map(|t| fractions.map(|x| (t, x)));
    let terms = states.map(|(temperature, fraction)| Term {
        kind: Kind::CrossVirial {
            value: phases::cross_virial(other, temperature, fraction),
        },
        temperature,
        fraction,
        uncertainty,
        row: None,
    });
    terms.collect()
}

/// The terms that draw densities to those with the relative excess volume of another equation at the same temperature, pressure
/// and fraction, where the fluid is dense; `masses` and `own` are of both substances of this pair by themselves.
pub fn density_terms(
    other: &dyn MixtureModel,
    masses: [f64; 2],
    own: &dyn MixtureModel,
    uncertainty: f64,
) -> Vec<Term> {
    let (temperatures, pressures, fractions) = DENSITY_GUIDE;
    let states = temperatures.into_iter().flat_map(|temperature| {
        let of = move |pressure| fractions.map(|x| [temperature, pressure, x]);
        pressures.into_iter().flat_map(of)
    });
    let points = states.filter_map(|[temperature, pressure, x]| {
        let mixed = molar_volume(other, temperature, pressure, x)?;
        let ratio = mixed / ideal_volume(other, temperature, pressure, x)?;
        Some([temperature, pressure, x, ratio])
    });
    let points: Vec<[f64; 4]> = points.collect();
    excess_volume_terms(&points, masses, own, uncertainty)
}

/// The terms that draw densities to those with given relative excess volumes: temperature in K, pressure in Pa, amount fraction
/// of the first substance, and molar volume over that of both substances side by side.
pub fn excess_volume_terms(
    points: &[[f64; 4]],
    masses: [f64; 2],
    own: &dyn MixtureModel,
    uncertainty: f64,
) -> Vec<Term> {
    let of = |&[temperature, pressure, fraction, ratio]: &[f64; 4]| {
        let molar_mass = fraction * masses[0] + (1.0 - fraction) * masses[1];
        let value = molar_mass / (ratio * ideal_volume(own, temperature, pressure, fraction)?);
        Some(Term {
            kind: Kind::Density { pressure, value },
            temperature,
            fraction,
            uncertainty,
            row: None,
        })
    };
    points.iter().filter_map(of).collect()
}

fn molar_volume(model: &dyn MixtureModel, temperature: f64, pressure: f64, x: f64) -> Option<f64> {
    let isotherm = model.at(temperature, &[x, 1.0 - x]);
    Some(1.0 / isotherm.molar_density(pressure, Branch::Stable).ok()?)
}

/// The molar volume of both substances side by side.
fn ideal_volume(model: &dyn MixtureModel, temperature: f64, pressure: f64, x: f64) -> Option<f64> {
    let alone = |x| molar_volume(model, temperature, pressure, x);
    Some(x * alone(1.0)? + (1.0 - x) * alone(0.0)?)
}

/// The terms that draw the critical line to points of a guide.
pub fn guide_terms(guide: impl Iterator<Item = LineGuide>) -> Vec<Term> {
    let of = |point: &LineGuide, kind, uncertainty| Term {
        kind,
        temperature: point.temperature,
        fraction: point.fraction,
        uncertainty,
        row: None,
    };
    let terms = guide.flat_map(|point| {
        let pressure = point.pressure;
        let fraction = point.fraction_uncertainty;
        let fraction = fraction.map(|u| of(&point, Kind::CriticalFraction { pressure }, u));
        let density = point.molar_density.map(|value| {
            let kind = Kind::CriticalDensity { pressure, value };
            of(&point, kind, CRITICAL_DENSITY)
        });
        let pressure = of(
            &point,
            Kind::CriticalPressure { pressure },
            point.uncertainty,
        );
        [pressure].into_iter().chain(fraction).chain(density)
    });
    terms.collect()
}

/// The terms that draw the critical line to that of another equation of the pair, with the relative uncertainty of the
/// pressure and that of the fraction.
pub fn line_terms(
    other: &dyn MixtureModel,
    temperatures: &[f64],
    (uncertainty, fraction_uncertainty): (f64, Option<f64>),
) -> Vec<Term> {
    let line = phases::line(other, temperatures);
    let points = line.into_iter().map(|(temperature, point)| LineGuide {
        temperature,
        pressure: point.pressure,
        fraction: point.fraction,
        uncertainty,
        fraction_uncertainty,
        molar_density: None,
    });
    guide_terms(points)
}

/// The terms that draw the parameters to their start: the reducing ones, and where a spread is given the coefficients that
/// follow them.
pub fn prior_terms(start: &[f64], spread: Option<f64>) -> Vec<Term> {
    let terms = start.iter().enumerate().filter_map(|(index, value)| {
        let uncertainty = if index < 4 { REDUCING } else { spread? };
        Some(Term {
            kind: Kind::Prior {
                index,
                value: *value,
            },
            temperature: f64::NAN,
            fraction: f64::NAN,
            uncertainty,
            row: None,
        })
    });
    terms.collect()
}

/// Fits a family from a start, and weighs the series by how they agree with it.
pub fn fit(
    family: &dyn Family,
    rows: &[Row],
    mut terms: Vec<Term>,
    start: &[f64],
    bounds: (f64, f64),
) -> Fitted {
    let mut parameters = start.to_vec();
    let mut series = BTreeMap::new();
    for round in 0..ROUNDS {
        let (found, residuals) = minimize(family, &terms, &parameters);
        parameters = found;
        if round + 1 < ROUNDS {
            series = weigh(rows, &mut terms, &residuals, bounds);
        }
    }
    Fitted { parameters, series }
}

/// What a row counts for which the equation has no bubble point, as a relative deviation: more than any that it may have.
const NO_BUBBLE_POINT: f64 = 1.0;

/// Fits the bubble pressures of a pair from a start so that the sizes of the deviations count, not their squares, and every row has a
/// bubble point: where two series contradict each other, a few rows do not draw the equation from all others.
pub fn fit_sizes(
    family: &dyn Family,
    plan: &Plan,
    rows: &[Row],
    start: &[f64],
) -> Result<Fitted, String> {
    let fitted = rows
        .iter()
        .filter(|row| row.quantity == Quantity::BubblePressure && is_fitted(plan, row));
    let size = |equation: &Equation, row: &Row| match compare(equation, row) {
        Comparison {
            deviation: Some(found),
            is_dew: false,
            ..
        } => found.abs(),
        _ => NO_BUBBLE_POINT,
    };
    let sizes = |parameters: &[f64]| {
        let equation = Equation {
            model: family.model(parameters),
            molar_masses: family.molar_masses(),
        };
        fitted.clone().map(|row| size(&equation, row)).sum()
    };
    Ok(Fitted {
        parameters: simplex::least(sizes, start)?,
        series: BTreeMap::new(),
    })
}

/// Sets the uncertainty of each bubble pressure from the deviations of its series and its own.
fn weigh(
    rows: &[Row],
    terms: &mut [Term],
    residuals: &[f64],
    (least, most): (f64, f64),
) -> BTreeMap<String, f64> {
    let mut sizes: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    let series_of = |term: &Term| match (term.kind, term.row.and_then(|row| rows.get(row))) {
        (Kind::Boundary { .. }, Some(row)) => Some(row.series.clone()),
        _ => None,
    };
    for (term, residual) in terms.iter().zip(residuals) {
        if let Some(series) = series_of(term) {
            let size = (residual * term.uncertainty).abs();
            sizes.entry(series).or_default().push(size);
        }
    }
    let weights: BTreeMap<String, f64> = sizes
        .into_iter()
        .map(|(series, mut sizes)| {
            sizes.sort_by(f64::total_cmp);
            let median = sizes.get(sizes.len() / 2).copied().unwrap_or(0.0);
            (series, (OVER_MEDIAN * median).clamp(least, most))
        })
        .collect();
    for (term, residual) in terms.iter_mut().zip(residuals) {
        let Some(weight) = series_of(term).and_then(|series| weights.get(&series).copied()) else {
            continue;
        };
        let size = (residual * term.uncertainty).abs() / weight;
        term.uncertainty = weight * (size / OUTLIER).max(1.0).sqrt();
    }
    weights
}
