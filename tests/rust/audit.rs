//! Every row of the gathered published values: held by a check to its printed digit, or an exception with its reason.

use std::collections::BTreeMap;

use densepath::{Error, Fluid, State};
use densepath_tests::{Check, Vectors, names, published, read};
use serde::Deserialize;

/// The rows, in the order of `columns`.
#[derive(Deserialize)]
struct Rows {
    rows: Vec<Row>,
}

/// One row; the columns stand in this order.
#[derive(Deserialize)]
struct Row {
    id: String,
    fluid: String,
    quantity: String,
    /// On the saturation line.
    phase: Option<String>,
    /// In K.
    temperature: Option<f64>,
    /// In Pa.
    pressure: Option<f64>,
    /// In kg/m3.
    density: Option<f64>,
    /// In mol/m3.
    molar_density: Option<f64>,
    value: f64,
    /// Half a unit of the last digit printed.
    half_digit: Option<f64>,
    doi: String,
    /// The check that holds the row, or the reason why it is none.
    check_or_reason: String,
    /// What the library answers instead, of an exception.
    outcome: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Exceptions {
    about: String,
    reasons: BTreeMap<String, String>,
}

/// Density in kg/m3 that stands for the limit of zero density.
const THIN: f64 = 1e-9;
/// The same decimal read from two files.
const SAME: f64 = 1e-9;

fn same(one: f64, other: f64) -> bool {
    (one - other).abs() <= SAME * one.abs().max(other.abs())
}

impl Row {
    /// Whether a check is about the value and the state of the row, and no less strict.
    fn is_held_by(&self, vectors: &Vectors, check: &Check) -> bool {
        let agree = |row: Option<f64>, check: Option<f64>| match (row, check) {
            (Some(row), Some(check)) => same(row, check),
            _ => true,
        };
        let named = check.quantity.as_ref().or(vectors.quantity.as_ref());
        // Files of one line and the triple point call the same number by another name.
        let same_quantity = named.is_some_and(|named| *named == self.quantity)
            || self.quantity.ends_with("_pressure")
            || self.quantity.ends_with("_temperature")
            || self.quantity == "pressure";
        vectors.fluid == self.fluid
            && same_quantity
            && same(self.value, check.value)
            && agree(self.temperature, check.temperature)
            && agree(self.pressure, check.pressure)
            && agree(self.density, check.density)
            && agree(self.molar_density, check.molar_density)
            && self.half_digit.is_none_or(|u| check.u <= u * (1.0 + SAME))
    }

    /// What the library answers.
    fn answer(&self) -> Result<f64, Error> {
        let fluid = Fluid::new(&self.fluid)?;
        let of_amount = self.molar_density.map(|molar| molar * fluid.molar_mass());
        let density = of_amount.or(self.density).map(|density| density.max(THIN));
        if self.quantity == "triple_point_pressure" {
            return Ok(fluid
                .saturation_at_temperature(fluid.triple_temperature()?)?
                .pressure);
        }
        let state = match (self.temperature, self.pressure, density) {
            (Some(temperature), _, Some(density)) => {
                State::from_t_rho(&fluid, temperature, density)?
            }
            (Some(temperature), Some(pressure), None) => {
                State::from_tp(&fluid, temperature, pressure)?
            }
            (Some(temperature), None, None) => {
                self.side(fluid.saturation_at_temperature(temperature)?)
            }
            (None, Some(pressure), None) => self.side(fluid.saturation_at_pressure(pressure)?),
            (None, ..) => {
                self.side(fluid.saturation_at_temperature(fluid.critical_point()?.temperature)?)
            }
        };
        let of_amount = self.quantity.strip_prefix("molar_");
        let name = of_amount.map_or(self.quantity.clone(), |rest| format!("specific_{rest}"));
        let value = state.get(
            name.parse()
                .unwrap_or_else(|()| panic!("{}: {name}", self.id)),
        )?;
        Ok(value * of_amount.map_or(1.0, |_| fluid.molar_mass()))
    }

    fn side(&self, saturation: densepath::Saturation) -> State {
        match self.phase.as_deref() {
            Some("vapour") => saturation.vapour,
            _ => saturation.liquid,
        }
    }

    /// The answer beside the row: its relative difference, or the number of the error.
    fn found(&self) -> String {
        match self.answer() {
            Ok(value) => format!("{:+.1e}", value / self.value - 1.0),
            Err(error) => format!("error {}", error.code()),
        }
    }
}

#[test]
fn every_published_row_is_met_or_an_exception_with_its_reason() {
    let rows: Rows = published("rows");
    let exceptions: Exceptions = published("exceptions");
    assert!(!exceptions.about.is_empty());
    let files: Vec<Vectors> = names(|name| !name.starts_with("worked"))
        .iter()
        .map(|name| read(name))
        .collect();
    let checks: BTreeMap<&str, (&Vectors, &Check)> = files
        .iter()
        .flat_map(|vectors| {
            vectors
                .tests
                .iter()
                .map(move |check| (check.id.as_str(), (vectors, check)))
        })
        .collect();
    let mut met = 0;
    let mut counts: BTreeMap<&str, u32> = exceptions
        .reasons
        .keys()
        .map(|reason| (reason.as_str(), 0))
        .collect();
    let mut failures = Vec::new();
    for row in &rows.rows {
        if let Some((vectors, check)) = checks.get(row.check_or_reason.as_str()) {
            if row.is_held_by(vectors, check) {
                met += 1;
            } else {
                failures.push(format!(
                    "{}: {} is another value or state, or less strict",
                    row.id, row.check_or_reason
                ));
            }
            continue;
        }
        let Some(count) = counts.get_mut(row.check_or_reason.as_str()) else {
            failures.push(format!(
                "{}: neither a check nor a reason: {}",
                row.id, row.check_or_reason
            ));
            continue;
        };
        *count += 1;
        // Energies that count from another zero say nothing.
        let is_energy = row.quantity.ends_with("enthalpy") || row.quantity.ends_with("entropy");
        let is_no_state =
            row.check_or_reason == "acentric_factor" || row.check_or_reason == "sublimation_point";
        let other_zero = row.check_or_reason == "ethanol_other_equation" && is_energy;
        let compared = !is_no_state && !other_zero;
        assert!(!row.doi.is_empty(), "{}: no source", row.id);
        let outcome = compared.then(|| row.found());
        if outcome != row.outcome {
            failures.push(format!(
                "{}: {outcome:?} instead of {:?}",
                row.id, row.outcome
            ));
        }
    }
    println!(
        "{} rows, {met} met to the printed digit, {} exceptions",
        rows.rows.len(),
        counts.values().sum::<u32>()
    );
    for (reason, count) in &counts {
        println!("{count:4} {reason}: {}", exceptions.reasons[*reason]);
        assert!(*count > 0, "no row of the reason {reason}");
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
    assert_eq!(rows.rows.len(), 1515);
}
