//! Measurements of pairs of substances, read from `data/pairs`.

use std::collections::BTreeMap;
use std::path::Path;

use serde::Deserialize;

/// What was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// Density in kg/m3 at given temperature, pressure and composition.
    Density,
    /// Pressure at which a liquid of given composition begins to boil.
    BubblePressure,
    /// Amount fraction of the first substance in the vapour in equilibrium with a liquid of given composition.
    VapourFraction,
    /// Critical point of a composition.
    CriticalPoint,
    /// A pressure below that of the critical line at the temperature.
    CriticalPressureBound,
}

impl Quantity {
    /// The quantity in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Density => "density",
            Self::BubblePressure => "bubble pressure",
            Self::VapourFraction => "amount fraction of the second substance in the vapour",
            Self::CriticalPoint => "critical pressure at given temperature",
            Self::CriticalPressureBound => "lower bound of the critical pressure",
        }
    }
}

/// One measurement.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Row {
    /// What was measured.
    pub quantity: Quantity,
    /// Temperature in K.
    pub temperature: f64,
    /// Pressure in Pa.
    pub pressure: f64,
    /// Amount fraction of the first substance in the liquid or in the one phase.
    pub fraction: f64,
    /// The value, where it is none of the above.
    pub value: Option<f64>,
    /// Key of the series in [`Sources`].
    pub series: String,
    /// `discordant` for rows that no other series supports.
    #[serde(default)]
    pub flag: String,
}

impl Row {
    /// Whether the row disagrees with all others.
    pub fn is_discordant(&self) -> bool {
        self.flag == "discordant"
    }
}

/// Where a series was published or read.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct SeriesSource {
    /// Authors or collection.
    pub source: String,
    /// Digital object identifier; empty where it is not known.
    pub doi: String,
}

/// The sources of all series by their keys.
pub type Sources = BTreeMap<String, SeriesSource>;

/// The rows of a pair; none where the pair has no file. Vapour pressures of one substance alone, which some series hold, say
/// nothing of the pair and are left out.
pub fn rows(folder: &Path, pair: &str) -> Result<Vec<Row>, String> {
    let path = folder.join(format!("{pair}.csv"));
    if !path.exists() {
        return Ok(Vec::new());
    }
    let mut reader = csv::Reader::from_path(&path).map_err(|e| format!("{pair}.csv: {e}"))?;
    let rows: Result<Vec<Row>, _> = reader.deserialize().collect();
    let mut rows = rows.map_err(|e| format!("{pair}.csv: {e}"))?;
    let is_alone = |fraction: f64| fraction <= 0.0 || fraction >= 1.0;
    rows.retain(|row| row.quantity != Quantity::BubblePressure || !is_alone(row.fraction));
    Ok(rows)
}
