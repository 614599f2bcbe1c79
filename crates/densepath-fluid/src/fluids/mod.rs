//! Substances as data: one record a substance, read once, found by any of its names.

pub mod record;
pub mod solid;
pub mod transport;

use std::sync::OnceLock;

use crate::error::{Error, Result};
use crate::num::text::nearest;
pub use record::FluidRecord;

/// The data files, one a substance.
const FILES: &[&str] = &[include_str!("../../data/fluids/carbon_dioxide.json")];

/// Every record of the library.
///
/// Error 901 if a data file of the library cannot be read, which the tests exclude.
pub fn records() -> Result<&'static [FluidRecord]> {
    static RECORDS: OnceLock<Option<Vec<FluidRecord>>> = OnceLock::new();
    RECORDS
        .get_or_init(|| {
            FILES
                .iter()
                .map(|text| serde_json::from_str(text).ok())
                .collect()
        })
        .as_deref()
        .ok_or(Error::Internal {
            place: "the data files of the substances",
        })
}

/// Index in [`records`] of the substance called `name`: its name in words, a trade name or its formula, in any case.
///
/// Error 201 names the nearest known substance.
pub fn find(name: &str) -> Result<usize> {
    let wanted = name.trim().to_lowercase();
    let known = records()?;
    known
        .iter()
        .position(|record| {
            record
                .names()
                .any(|candidate| candidate.to_lowercase() == wanted)
        })
        .ok_or_else(|| Error::UnknownFluid {
            name: name.to_owned(),
            nearest: nearest(&wanted, known.iter().flat_map(FluidRecord::names)).map(str::to_owned),
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_record_reads_and_keeps_its_digits() {
        let records = records().unwrap();
        assert_eq!(records.len(), FILES.len());
        let co2 = &records[find("co2").unwrap()].equation_of_state;
        assert_eq!(co2.critical_point.temperature, 304.1282);
        assert!((co2.critical_point.molar_density * co2.molar_mass - 467.6).abs() < 1e-5);
    }

    #[test]
    fn an_unknown_name_suggests_the_nearest() {
        let error = find("carbon dioxyde").unwrap_err();
        assert_eq!(
            error.hint().as_deref(),
            Some("did you mean \"carbon dioxide\"?")
        );
    }
}
