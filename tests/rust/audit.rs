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

/// Row, fluid, quantity, phase on the saturation line, T / K, p / Pa, rho / (kg/m3), rho_m / (mol/m3), value, u, doi, check or
/// reason, outcome of an exception.
#[derive(Deserialize)]
struct Row(
    String,
    String,
    String,
    Option<String>,
    Option<f64>,
    Option<f64>,
    Option<f64>,
    Option<f64>,
    f64,
    Option<f64>,
    String,
    String,
    Option<String>,
);

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
        let same_quantity = named.is_some_and(|named| *named == self.2)
            || self.2.ends_with("_pressure")
            || self.2.ends_with("_temperature")
            || self.2 == "pressure";
        vectors.fluid == self.1
            && same_quantity
            && same(self.8, check.value)
            && agree(self.4, check.temperature)
            && agree(self.5, check.pressure)
            && agree(self.6, check.density)
            && agree(self.7, check.molar_density)
            && self.9.is_none_or(|u| check.u <= u * (1.0 + SAME))
    }

    /// What the library answers.
    fn answer(&self) -> Result<f64, Error> {
        let fluid = Fluid::new(&self.1)?;
        let of_amount = self.7.map(|molar| molar * fluid.molar_mass());
        let density = of_amount.or(self.6).map(|density| density.max(THIN));
        if self.2 == "triple_point_pressure" {
            return Ok(fluid
                .saturation_at_temperature(fluid.triple_temperature()?)?
                .pressure);
        }
        let state = match (self.4, self.5, density) {
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
        let of_amount = self.2.strip_prefix("molar_");
        let name = of_amount.map_or(self.2.clone(), |rest| format!("specific_{rest}"));
        let value = state.get(
            name.parse()
                .unwrap_or_else(|()| panic!("{}: {name}", self.0)),
        )?;
        Ok(value * of_amount.map_or(1.0, |_| fluid.molar_mass()))
    }

    fn side(&self, saturation: densepath::Saturation) -> State {
        match self.3.as_deref() {
            Some("vapour") => saturation.vapour,
            _ => saturation.liquid,
        }
    }

    /// The answer beside the row: its relative difference, or the number of the error.
    fn outcome(&self) -> String {
        match self.answer() {
            Ok(value) => format!("{:+.1e}", value / self.8 - 1.0),
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
        if let Some((vectors, check)) = checks.get(row.11.as_str()) {
            if row.is_held_by(vectors, check) {
                met += 1;
            } else {
                failures.push(format!(
                    "{}: {} is another value or state, or less strict",
                    row.0, row.11
                ));
            }
            continue;
        }
        let Some(count) = counts.get_mut(row.11.as_str()) else {
            failures.push(format!(
                "{}: neither a check nor a reason: {}",
                row.0, row.11
            ));
            continue;
        };
        *count += 1;
        // Energies that count from another zero say nothing.
        let is_energy = row.2.ends_with("enthalpy") || row.2.ends_with("entropy");
        let is_no_state = row.11 == "acentric_factor" || row.11 == "sublimation_point";
        let other_zero = row.11 == "ethanol_other_equation" && is_energy;
        let compared = !is_no_state && !other_zero;
        assert!(!row.10.is_empty(), "{}: no source", row.0);
        let outcome = compared.then(|| row.outcome());
        if outcome != row.12 {
            failures.push(format!("{}: {outcome:?} instead of {:?}", row.0, row.12));
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
