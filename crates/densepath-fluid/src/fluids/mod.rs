//! Substances as data: one record a substance, read when first asked for, found by any of its names.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

pub mod binary;
pub mod composition;
pub mod cubic;
pub(crate) mod forms;
pub mod ideal_gas;
pub mod record;
pub mod solid;
pub mod transport;
pub mod uncertainty;

use crate::num::once::OnceLock;

use serde::Deserialize;
use serde::de::DeserializeOwned;

use crate::error::{Error, Result};
use crate::num::text::nearest;
pub use composition::Composition;
pub use record::FluidRecord;

/// The data files, one a substance, those asked for most often first.
const FILES: &[&str] = &[
    include_str!("../../data/fluids/carbon_dioxide.json"),
    include_str!("../../data/fluids/nitrous_oxide.json"),
    include_str!("../../data/fluids/methanol.json"),
    include_str!("../../data/fluids/ethanol.json"),
    include_str!("../../data/fluids/propan-2-ol.json"),
    include_str!("../../data/fluids/acetonitrile.json"),
    include_str!("../../data/fluids/water.json"),
    include_str!("../../data/fluids/ethane.json"),
    include_str!("../../data/fluids/propane.json"),
    include_str!("../../data/fluids/n-butane.json"),
    include_str!("../../data/fluids/n-pentane.json"),
    include_str!("../../data/fluids/n-hexane.json"),
    include_str!("../../data/fluids/n-heptane.json"),
    include_str!("../../data/fluids/cyclohexane.json"),
    include_str!("../../data/fluids/toluene.json"),
    include_str!("../../data/fluids/acetone.json"),
    include_str!("../../data/fluids/tetrahydrofuran.json"),
    include_str!("../../data/fluids/dimethyl_ether.json"),
    include_str!("../../data/fluids/trifluoromethane.json"),
    include_str!("../../data/fluids/1,1,1,2-tetrafluoroethane.json"),
    include_str!("../../data/fluids/sulfur_hexafluoride.json"),
    include_str!("../../data/fluids/xenon.json"),
    include_str!("../../data/fluids/ammonia.json"),
    include_str!("../../data/fluids/nitrogen.json"),
    include_str!("../../data/fluids/helium.json"),
    include_str!("../../data/fluids/argon.json"),
    include_str!("../../data/fluids/oxygen.json"),
    include_str!("../../data/fluids/air.json"),
    include_str!("../../data/fluids/ethyl_acetate.json"),
    include_str!("../../data/fluids/propan-1-ol.json"),
    include_str!("../../data/fluids/butan-1-ol.json"),
    include_str!("../../data/fluids/dichloromethane.json"),
    include_str!("../../data/fluids/chloroform.json"),
    include_str!("../../data/fluids/methyl_tert-butyl_ether.json"),
    include_str!("../../data/fluids/1,4-dioxane.json"),
    include_str!("../../data/fluids/diethylamine.json"),
    include_str!("../../data/fluids/triethylamine.json"),
    include_str!("../../data/fluids/isopropylamine.json"),
    include_str!("../../data/fluids/formic_acid.json"),
    include_str!("../../data/fluids/acetic_acid.json"),
    include_str!("../../data/fluids/dimethyl_sulfoxide.json"),
    include_str!("../../data/fluids/N,N-dimethylformamide.json"),
];

/// What of each data file has been read.
static READ: [Entry<Names, FluidRecord>; FILES.len()] = [const { Entry::unread() }; FILES.len()];

/// A data file as far as it has been read: the record takes ten times as long as the names `H` at its head.
struct Entry<H, R> {
    head: OnceLock<Option<H>>,
    record: OnceLock<Option<R>>,
}

impl<H: DeserializeOwned, R: DeserializeOwned> Entry<H, R> {
    const fn unread() -> Self {
        Self {
            head: OnceLock::new(),
            record: OnceLock::new(),
        }
    }

    fn head(&self, text: &str) -> Result<&H> {
        let read = self.head.get_or_init(|| serde_json::from_str(text).ok());
        read.as_ref().ok_or(UNREADABLE)
    }

    fn record(&self, text: &str) -> Result<&R> {
        let read = self.record.get_or_init(|| serde_json::from_str(text).ok());
        read.as_ref().ok_or(UNREADABLE)
    }
}

/// The names of a substance.
#[derive(Debug, Deserialize)]
struct Names {
    name: String,
    aliases: Vec<String>,
}

impl Names {
    fn all(&self) -> impl Iterator<Item = &str> {
        core::iter::once(self.name.as_str()).chain(self.aliases.iter().map(String::as_str))
    }
}

const UNREADABLE: Error = Error::Internal {
    place: "the data files of the substances",
};

/// Number of the records of the library.
///
/// ```
/// use densepath_fluid::fluids;
/// assert!((0..fluids::count()).all(|index| fluids::record(index).is_ok()));
/// ```
pub const fn count() -> usize {
    FILES.len()
}

/// The record at an index from 0 to [`count`].
///
/// Error 901 beyond, or if a data file of the library cannot be read, which the tests exclude.
///
/// ```
/// use densepath_fluid::fluids;
/// let record = fluids::record(fluids::find("CO2")?)?;
/// assert_eq!((record.name.as_str(), record.cas_number.as_str()), ("carbon dioxide", "124-38-9"));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn record(index: usize) -> Result<&'static FluidRecord> {
    let found = READ.get(index).zip(FILES.get(index));
    let (entry, text) = found.ok_or(UNREADABLE)?;
    entry.record(text)
}

/// The names of each substance, in the order of the records.
fn names() -> impl Iterator<Item = Result<&'static Names>> {
    READ.iter().zip(FILES).map(|(entry, text)| entry.head(text))
}

/// Index of the record of the substance called `name`: its name in words, a trade name or its formula, in any case.
///
/// Error 201 names the nearest known substance.
///
/// ```
/// use densepath_fluid::fluids;
/// assert_eq!(fluids::find("CO2")?, fluids::find("carbon dioxide")?);
/// assert_eq!(fluids::find("carbon dioxid").unwrap_err().code(), 201);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn find(name: &str) -> Result<usize> {
    let wanted = name.trim().to_lowercase();
    for (index, known) in names().enumerate() {
        if known?.all().any(|known| known.to_lowercase() == wanted) {
            return Ok(index);
        }
    }
    let known = names().flatten().flat_map(Names::all);
    Err(Error::UnknownFluid {
        name: name.to_owned(),
        nearest: nearest(&wanted, known).map(str::to_owned),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn every_record_reads_and_keeps_its_digits() {
        for index in 0..count() {
            record(index).unwrap();
        }
        let co2 = record(find("co2").unwrap()).unwrap();
        let co2 = co2.reference_equation().unwrap();
        assert_eq!(co2.critical_point.temperature, 304.1282);
        assert!((co2.critical_point.molar_density * co2.molar_mass - 467.6).abs() < 1e-5);
        assert_eq!(record(count()).unwrap_err().code(), 901);
    }

    #[test]
    fn no_two_substances_share_a_name() {
        let mut seen = HashSet::new();
        for (index, known) in names().enumerate() {
            for name in known.unwrap().all() {
                assert!(seen.insert(name.to_lowercase()), "{name}");
                assert_eq!(find(name).unwrap(), index);
            }
        }
    }

    /// A supplement, a release, a report, a conference paper, and two papers that were announced, the equations of
    /// this project. Books have none either.
    const WITHOUT_IDENTIFIER: [(&str, &str); 9] = [
        ("propan-2-ol", "equation of state"),
        ("acetonitrile", "equation of state"),
        ("helium", "viscosity"),
        ("trifluoromethane", "viscosity"),
        ("trifluoromethane", "thermal conductivity"),
        ("n-pentane", "equation of state"),
        ("n-hexane", "equation of state"),
        ("oxygen", "melting line"),
        ("water", "melting line"),
    ];

    #[test]
    fn every_model_tells_its_source() {
        for index in 0..count() {
            let record = record(index).unwrap();
            let models = record.models();
            assert!(record.equation_of_state.is_some() || record.cubic.is_some());
            for model in models {
                let identified = model.source.to_string().contains(", doi 10.");
                let known = WITHOUT_IDENTIFIER.contains(&(record.name.as_str(), model.subject))
                    || model.source.journal.contains("(book)");
                assert!(identified != known, "{model:?}");
            }
        }
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
