//! What an equation is fitted to: measurements, recommended values and constants with their sources.

use std::fs;
use std::path::PathBuf;

use densepath_fluid::fluids::record::{CriticalRecord, Source, TripleRecord};
use densepath_fluid::fluids::uncertainty::EquationUncertainty;
use serde::Deserialize;

use super::cubic::Correlated;
use super::file::Names;

/// The constants of a substance and all that is known of it besides measurements.
#[derive(Debug, Deserialize)]
pub struct Definition {
    #[serde(flatten)]
    pub names: Names,
    #[serde(rename = "molar_mass / (kg/mol)")]
    pub molar_mass: f64,
    pub critical_point: CriticalRecord,
    pub critical_source: String,
    pub triple_point: TripleRecord,
    pub triple_source: String,
    /// Highest temperature in K and pressure in Pa of the equation.
    #[serde(rename = "T_max / K")]
    pub temperature_max: f64,
    #[serde(rename = "p_max / Pa")]
    pub pressure_max: f64,
    /// Substance whose equation lends the terms and is the start.
    pub relative: String,
    /// Why that one.
    pub relative_note: String,
    /// How closely the coefficients keep to those of the relative, where no measurement moves them.
    pub adherence: f64,
    /// The same of the exponents.
    pub exponent_adherence: f64,
    /// Weight of the shape inside the dome.
    pub shape: f64,
    pub ideal_gas: IdealGas,
    /// Coefficients of `B/(cm3/mol) = sum a_i (298.15 K/T - 1)^i`.
    pub second_virial: Virial,
    /// Recommended values.
    pub recommended: Vec<Recommended>,
    /// Relative standard deviations at which one measurement counts as one: vapour pressure, density, heat capacity,
    /// speed of sound.
    pub deviations: [f64; 4],
    /// Uncertainty that is stated for the result.
    pub uncertainty: EquationUncertainty,
}

/// Heat capacity of the ideal gas: pairs of temperature in K and molar isobaric heat capacity in J/(mol K).
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct IdealGas {
    pub source: Source,
    pub values: Vec<[f64; 2]>,
    /// Oscillator temperatures in K from which the fit starts.
    pub start: Vec<f64>,
    /// Relative uncertainty, where it is not that of the tables.
    #[serde(default = "of_tables")]
    pub uncertainty: f64,
}

/// Relative uncertainty of heat capacities from statistical mechanics: an allowance, no source.
fn of_tables() -> f64 {
    0.02
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Virial {
    pub source: Source,
    pub coefficients: Vec<f64>,
    /// Temperatures of the fit in K.
    pub temperatures: Vec<f64>,
    pub deviation: f64,
}

/// Values of one quantity that a review or a handbook recommends.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Recommended {
    pub quantity: Quantity,
    pub source: Source,
    /// Relative standard deviation.
    pub deviation: f64,
    /// Temperature in K, pressure in Pa or 0 for saturation, value.
    pub values: Vec<[f64; 3]>,
}

/// What was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
pub enum Quantity {
    #[serde(rename = "vapour pressure")]
    VapourPressure,
    #[serde(rename = "density")]
    Density,
    #[serde(rename = "molar isobaric heat capacity")]
    HeatCapacity,
    #[serde(rename = "speed of sound")]
    SpeedOfSound,
}

impl Quantity {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::VapourPressure => "vapour pressure",
            Self::Density => "density",
            Self::HeatCapacity => "molar isobaric heat capacity",
            Self::SpeedOfSound => "speed of sound",
        }
    }
}

/// One measured value.
#[derive(Debug, Clone)]
pub struct Measurement {
    pub quantity: Quantity,
    /// K.
    pub temperature: f64,
    /// Pa; none of the saturated liquid.
    pub pressure: Option<f64>,
    /// SI.
    pub value: f64,
    /// Digital object identifier of the paper, or the authors of a recommendation.
    pub paper: String,
    /// Why it is shown and not fitted, if so.
    pub excluded: Option<&'static str>,
}

impl Measurement {
    /// Quantity and paper.
    pub fn key(&self) -> (Quantity, String) {
        (self.quantity, self.paper.clone())
    }

    /// Temperature, pressure and value.
    pub fn point(&self) -> [f64; 3] {
        [self.temperature, self.pressure.unwrap_or(0.0), self.value]
    }
}

impl Virial {
    /// `B` in m3/mol.
    pub fn at(&self, temperature: f64) -> f64 {
        let x = 298.15 / temperature - 1.0;
        1e-6 * self
            .coefficients
            .iter()
            .rev()
            .fold(0.0, |sum, a| sum * x + a)
    }
}

/// Above this share of the critical temperature vapour pressures are left to the critical point: there the papers differ
/// from its recommended pressure by more than the pressures differ from it.
const NEAR_CRITICAL: f64 = 0.985;

fn folder() -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/data/pure"))
}

/// Path of a file of the data.
pub fn path(file: &str) -> PathBuf {
    folder().join(file)
}

fn read(file: &str) -> Result<String, String> {
    fs::read_to_string(folder().join(file)).map_err(|error| format!("{file}: {error}"))
}

/// The substances in `data/pure/cubic`, which have no reference equation, by name.
pub fn correlated() -> Result<Vec<Correlated>, String> {
    let entries = fs::read_dir(path("cubic")).map_err(|error| format!("cubic: {error}"))?;
    let mut files: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    files.sort();
    let parsed = files.iter().map(|file| {
        let text = fs::read_to_string(file).map_err(|error| error.to_string());
        let parsed = text.and_then(|text| serde_json::from_str(&text).map_err(|e| e.to_string()));
        parsed.map_err(|error| format!("{}: {error}", file.display()))
    });
    parsed.collect()
}

impl Definition {
    /// The definition in `data/pure/NAME.json`.
    pub fn read(name: &str) -> Result<Self, String> {
        let file = format!("{name}.json");
        serde_json::from_str(&read(&file)?).map_err(|error| format!("{file}: {error}"))
    }

    /// The measurements in `data/pure/NAME.csv`: one line each, quantity, temperature in K, pressure in Pa, value, paper,
    /// and `yes` where discordant.
    pub fn measurements(&self) -> Result<Vec<Measurement>, String> {
        let file = format!("{}.csv", self.names.name);
        let text = read(&file)?;
        let parsed = text.lines().skip(1).map(|line| {
            let mut found =
                parse(line).ok_or_else(|| format!("{file}: `{line}` is no measurement"))?;
            let near = found.temperature > NEAR_CRITICAL * self.critical_point.temperature;
            if near && found.quantity == Quantity::VapourPressure {
                found.excluded = Some("close to the critical point and not fitted");
            }
            Ok(found)
        });
        parsed.collect()
    }
}

fn parse(line: &str) -> Option<Measurement> {
    let mut fields = line.split(',');
    let quantity = match fields.next()? {
        "vapour pressure" => Quantity::VapourPressure,
        "density" => Quantity::Density,
        "molar isobaric heat capacity" => Quantity::HeatCapacity,
        "speed of sound" => Quantity::SpeedOfSound,
        _ => return None,
    };
    let temperature = fields.next()?.parse().ok()?;
    let pressure = match fields.next()? {
        "" => None,
        text => Some(text.parse().ok()?),
    };
    Some(Measurement {
        quantity,
        temperature,
        pressure,
        value: fields.next()?.parse().ok()?,
        paper: fields.next()?.to_owned(),
        excluded: (fields.next()? == "yes").then_some("discordant and not fitted"),
    })
}
