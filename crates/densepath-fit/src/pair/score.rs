//! How an equation of a pair does against its measurements, series by series and region by region.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use densepath_fluid::fluids::binary::{
    Deviation, DeviationRecord, EvidenceRecord, PairRange, PairUncertainty, Role, SeriesRecord,
};

use super::compare::{Comparison, Equation, compare, summary};
use super::fit::{is_fitted, is_left_out};
use super::measurements::{Quantity, Row, Sources};
use super::plan::Plan;

/// A row with what an equation gives for it.
type Compared<'a> = (&'a Row, Comparison);

/// The name of a region and what lies in it.
type Region = (&'static str, fn(&Row, &Comparison) -> bool);

const REGIONS: [(Quantity, &[Region]); 5] = [
    (
        Quantity::Density,
        &[
            ("away from the critical region", |_, c| !c.near_critical),
            ("where (d ln rho/d ln p)_T exceeds 1", |_, c| {
                c.near_critical
            }),
            ("x from 0.7, away from the critical region", |r, c| {
                r.fraction >= 0.7 && !c.near_critical
            }),
        ],
    ),
    (
        Quantity::BubblePressure,
        &[
            ("everywhere", |_, _| true),
            ("x below 0.5", |r, _| r.fraction < 0.5),
            ("x from 0.5 to 0.7", |r, _| (0.5..0.7).contains(&r.fraction)),
            ("x from 0.7 to 0.9", |r, _| (0.7..0.9).contains(&r.fraction)),
            ("x from 0.9", |r, _| r.fraction >= 0.9),
            ("below 290 K", |r, _| r.temperature < 290.0),
            ("where the equation has a dew point instead", |_, c| {
                c.is_dew
            }),
        ],
    ),
    (Quantity::VapourFraction, &[("everywhere", |_, _| true)]),
    (Quantity::CriticalPoint, &[("everywhere", |_, _| true)]),
    (
        Quantity::CriticalPressureBound,
        &[("shortfall", |_, _| true)],
    ),
];

/// What the deviations of a pair become outside the box of its measurements, over those inside, at least.
const OUTSIDE: f64 = 2.0;
/// Standard deviation over the mean size, for a normal distribution.
const OVER_MEAN: f64 = 1.2533;

/// Compares an equation with every row.
pub fn compared<'a>(equation: &Equation, rows: &'a [Row]) -> Vec<Compared<'a>> {
    rows.iter()
        .map(|row| (row, compare(equation, row)))
        .collect()
}

/// Deviations of the rows that count, region by region; those kept apart from the fit apart.
pub fn by_region(plan: &Plan, compared: &[Compared]) -> Vec<DeviationRecord> {
    let mut records = Vec::new();
    for (quantity, regions) in REGIONS {
        for (region, contains) in regions {
            let inside = compared
                .iter()
                .filter(|(r, c)| r.quantity == quantity && !is_left_out(plan, r) && contains(r, c));
            let apart = inside.clone().filter(|(r, _)| !is_fitted(plan, r));
            let all = summary(inside.map(|(_, c)| *c));
            push(&mut records, quantity, (*region).to_owned(), all);
            let apart = summary(apart.map(|(_, c)| *c));
            push(
                &mut records,
                quantity,
                format!("{region}, kept apart"),
                apart,
            );
        }
    }
    records
}

fn push(records: &mut Vec<DeviationRecord>, quantity: Quantity, region: String, found: Deviation) {
    if found.rows + found.without_value > 0 {
        records.push(DeviationRecord {
            quantity: quantity.words().to_owned(),
            region,
            deviation: found,
        });
    }
}

/// Deviations series by series.
pub fn by_series(
    plan: &Plan,
    compared: &[Compared],
    sources: &Sources,
    uncertainties: &BTreeMap<String, f64>,
) -> Vec<SeriesRecord> {
    let mut groups: BTreeMap<(Quantity, &str, Role), Vec<Comparison>> = BTreeMap::new();
    for (row, comparison) in compared {
        let role = if is_left_out(plan, row) {
            Role::LeftOut
        } else if is_fitted(plan, row) {
            Role::Fitted
        } else {
            Role::KeptApart
        };
        let key = (row.quantity, row.series.as_str(), role);
        groups.entry(key).or_default().push(*comparison);
    }
    let least = uncertainties
        .values()
        .copied()
        .fold(f64::INFINITY, f64::min);
    let records = groups.into_iter().map(|((quantity, series, role), found)| {
        let source = sources.get(series);
        let weight = match (role, quantity, uncertainties.get(series)) {
            (Role::Fitted, Quantity::BubblePressure, Some(own)) => (least / own).powi(2),
            (Role::Fitted, ..) => 1.0,
            _ => 0.0,
        };
        SeriesRecord {
            quantity: quantity.words().to_owned(),
            source: source.map_or_else(|| series.to_owned(), |s| s.source.clone()),
            doi: source.map_or_else(String::new, |s| s.doi.clone()),
            role,
            weight: (weight * 1e3).round() / 1e3,
            deviation: summary(found),
        }
    });
    records.collect()
}

/// Everything that stands behind an equation; none where there is no row that counts.
pub fn evidence(
    plan: &Plan,
    compared: &[Compared],
    sources: &Sources,
    uncertainties: &BTreeMap<String, f64>,
) -> Option<EvidenceRecord> {
    let deviations = by_region(plan, compared);
    Some(EvidenceRecord {
        valid: range(plan, compared)?,
        data: by_series(plan, compared, sources, uncertainties),
        uncertainty: uncertainty(&deviations),
        deviations,
    })
}

/// The box around the densities and bubble pressures that count.
fn range(plan: &Plan, compared: &[Compared]) -> Option<PairRange> {
    let rows = compared.iter().map(|(row, _)| *row).filter(|row| {
        let counts = matches!(row.quantity, Quantity::Density | Quantity::BubblePressure);
        counts && !is_left_out(plan, row)
    });
    rows.map(|row| PairRange {
        temperature_min: row.temperature,
        temperature_max: row.temperature,
        pressure_max: row.pressure,
        fraction_min: row.fraction,
        fraction_max: row.fraction,
    })
    .reduce(|a, b| PairRange {
        temperature_min: a.temperature_min.min(b.temperature_min),
        temperature_max: a.temperature_max.max(b.temperature_max),
        pressure_max: a.pressure_max.max(b.pressure_max),
        fraction_min: a.fraction_min.min(b.fraction_min),
        fraction_max: a.fraction_max.max(b.fraction_max),
    })
}

fn uncertainty(deviations: &[DeviationRecord]) -> PairUncertainty {
    let of = |quantity: Quantity, region: &str| {
        let chosen = deviations.iter().filter(|record| {
            record.quantity == quantity.words() && record.region.starts_with(region)
        });
        let largest = chosen.map(|record| record.deviation.mean).reduce(f64::max);
        largest.map(|mean| (OVER_MEAN * mean * 1e4).round() / 1e4)
    };
    let density = of(Quantity::Density, "away from the critical region");
    let bubble_pressure = of(Quantity::BubblePressure, "everywhere");
    let outside =
        |inside: Option<f64>, least: f64| inside.map(|value| (OUTSIDE * value).max(least));
    PairUncertainty {
        note: "Inside the box: 1.25 times the mean deviation, of all rows or of those kept apart, whichever is larger; the box \
               does not hold a measurement everywhere. Outside: twice that, at least 2 % in density and 10 % in bubble \
               pressure, an estimate without a source."
            .to_owned(),
        density,
        density_near_critical: of(Quantity::Density, "where (d ln rho/d ln p)_T exceeds 1"),
        density_outside: outside(density, 0.02),
        bubble_pressure,
        bubble_pressure_outside: outside(bubble_pressure, 0.1),
    }
}

/// The deviations as lines of a table in Markdown, in percent.
pub fn lines(pair: &str, equation: &str, deviations: &[DeviationRecord]) -> String {
    let mut text = String::new();
    for record in deviations {
        let d = record.deviation;
        // A String takes every line.
        let _ = writeln!(
            text,
            "| {pair} | {equation} | {} | {} | {} | {} | {:.2} | {:.2} | {:.2} | {:.2} |",
            record.quantity,
            record.region,
            d.rows,
            d.without_value,
            100.0 * d.median,
            100.0 * d.mean,
            100.0 * d.bias,
            100.0 * d.greatest
        );
    }
    text
}
