//! The fit of an equation to the rows of a pair.

use std::collections::BTreeMap;

use super::measurements::{Quantity, Row};
use super::phases;
use super::plan::Plan;
use super::problem::{Family, Kind, Term, minimize};

/// Relative uncertainty of bubble pressures before the series have been compared, and bounds of that of a series.
const BUBBLE_PRESSURE: f64 = 0.04;
const SERIES_BOUNDS: (f64, f64) = (0.015, 0.06);
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
/// Uncertainty of the eigenvalue of a stable state.
const STABLE: f64 = 0.003;
/// Relative uncertainty of a critical pressure of the cubic equation.
const LINE: f64 = 0.05;
/// Compositions at which stability is asked.
const COMPOSITIONS: [f64; 15] = [
    0.03, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.66, 0.72, 0.78, 0.84, 0.9, 0.94, 0.97, 0.99,
];
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

/// The terms that ask for one stable phase.
pub fn stability_terms(plan: &Plan) -> Vec<Term> {
    let states = plan.stable.iter().flat_map(|[temperature, pressure]| {
        COMPOSITIONS.iter().map(|fraction| Term {
            kind: Kind::Stable {
                pressure: *pressure,
            },
            temperature: *temperature,
            fraction: *fraction,
            uncertainty: STABLE,
            row: None,
        })
    });
    states.collect()
}

/// The terms that draw the critical line to that of another equation of the pair.
pub fn line_terms(
    other: &dyn densepath_fluid::eos::mixture::MixtureModel,
    temperatures: &[f64],
) -> Vec<Term> {
    let line = phases::line(other, temperatures);
    let points = line.into_iter().map(|(temperature, point)| Term {
        kind: Kind::CriticalPressure {
            pressure: point.pressure,
        },
        temperature,
        fraction: point.fraction,
        uncertainty: LINE,
        row: None,
    });
    points.collect()
}

/// The terms that draw the coefficients of the departure, which follow four reducing parameters, to their start.
pub fn prior_terms(start: &[f64], spread: Option<f64>) -> Vec<Term> {
    let coefficients = start.iter().enumerate().skip(4);
    let of = |uncertainty| {
        coefficients.map(move |(index, value)| Term {
            kind: Kind::Prior {
                index,
                value: *value,
            },
            temperature: f64::NAN,
            fraction: f64::NAN,
            uncertainty,
            row: None,
        })
    };
    spread.map_or_else(Vec::new, |uncertainty| of(uncertainty).collect())
}

/// Fits a family from a start, and weighs the series by how they agree with it.
pub fn fit(family: &dyn Family, rows: &[Row], mut terms: Vec<Term>, start: &[f64]) -> Fitted {
    let mut parameters = start.to_vec();
    let mut series = BTreeMap::new();
    for round in 0..ROUNDS {
        let (found, residuals) = minimize(family, &terms, &parameters);
        parameters = found;
        if round + 1 < ROUNDS {
            series = weigh(rows, &mut terms, &residuals);
        }
    }
    Fitted { parameters, series }
}

/// Sets the uncertainty of each bubble pressure from the deviations of its series and its own.
fn weigh(rows: &[Row], terms: &mut [Term], residuals: &[f64]) -> BTreeMap<String, f64> {
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
            let (least, most) = SERIES_BOUNDS;
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
