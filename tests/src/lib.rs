//! Readers of the check values in `vectors/`, which the tests of all languages share.

use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Published values of one quantity, or of several where each check names its own.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Vectors {
    /// Quantity of every check that names none.
    pub quantity: Option<String>,
    /// SI unit of that quantity.
    pub unit: Option<String>,
    /// Substance.
    pub fluid: String,
    /// Sources, by the key that the checks give.
    pub sources: BTreeMap<String, Source>,
    /// Meaning of the flags.
    pub notes: BTreeMap<String, String>,
    /// The checks.
    pub tests: Vec<Check>,
}

/// Where a value was published.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Authors.
    pub author: String,
    /// Year.
    pub year: u16,
    /// Journal, volume and pages.
    pub journal: String,
    /// Digital object identifier.
    pub doi: String,
    /// Table, or the equation that was evaluated.
    pub table: String,
    /// How the value came here.
    pub read: String,
}

/// One published value with the state that it belongs to.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Name of the check.
    pub id: String,
    /// Quantity, where it is not that of the file.
    pub quantity: Option<String>,
    /// Unit of that quantity.
    pub unit: Option<String>,
    /// Key of the source.
    pub source: String,
    /// Line of coexistence that the state lies on: `saturation`, `melting` or `sublimation`.
    pub line: Option<String>,
    /// Phase: `liquid`, `vapour` or `solid`.
    pub phase: Option<String>,
    /// Temperature in K.
    #[serde(rename = "T / K")]
    pub temperature: Option<f64>,
    /// Pressure in Pa.
    #[serde(rename = "p / Pa")]
    pub pressure: Option<f64>,
    /// Density in kg/m3.
    #[serde(rename = "rho / (kg/m3)")]
    pub density: Option<f64>,
    /// Molar density in mol/m3.
    #[serde(rename = "rho_m / (mol/m3)")]
    pub molar_density: Option<f64>,
    /// Published value in SI.
    pub value: f64,
    /// What the published value leaves open: half a unit of its last digit.
    pub u: f64,
    /// Keys of the notes that hold for the check.
    pub flags: Vec<String>,
}

impl Check {
    /// Whether the computed value agrees with the published one to the printed digit.
    pub fn agrees(&self, computed: f64) -> bool {
        // The decimal digits of both numbers are themselves rounded to binary.
        (computed - self.value).abs() <= self.u + 4.0 * f64::EPSILON * self.value.abs()
    }
}

/// Independently computed examples of one part of the instrument.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Examples {
    /// What the examples are about.
    pub subject: String,
    /// Substance.
    pub fluid: String,
    /// Programs that computed them.
    pub source: String,
    /// Tolerance of each class.
    pub tolerances: BTreeMap<String, Tolerance>,
    /// The examples.
    pub examples: Vec<Example>,
}

/// Largest relative deviation of one class of results.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tolerance {
    /// Largest relative deviation.
    pub relative: f64,
    /// Why it is that large.
    pub reason: String,
}

/// One example: inputs and results in SI.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Example {
    /// Name of the example.
    pub id: String,
    /// Calculation that it belongs to.
    pub case: String,
    /// Numbers that go in, with the unit in the key.
    pub inputs: BTreeMap<String, f64>,
    /// Choices that go in.
    #[serde(default)]
    pub choices: BTreeMap<String, String>,
    /// What comes out.
    pub results: Vec<Expected>,
}

/// One result of an example.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expected {
    /// What it is.
    pub output: String,
    /// Its SI unit.
    pub unit: String,
    /// Its value in SI.
    pub value: f64,
    /// Class of its tolerance.
    pub tolerance: String,
}

impl Example {
    /// An input by its key, such as `pressure / Pa`.
    ///
    /// # Panics
    ///
    /// If the example has no such input.
    pub fn input(&self, key: &str) -> f64 {
        match self.inputs.get(key) {
            Some(value) => *value,
            None => panic!("{} has no input `{key}`", self.id),
        }
    }

    /// A choice by its key.
    ///
    /// # Panics
    ///
    /// If the example has no such choice.
    pub fn choice(&self, key: &str) -> &str {
        match self.choices.get(key) {
            Some(value) => value,
            None => panic!("{} has no choice `{key}`", self.id),
        }
    }
}

/// Reads one file of `vectors/`, named without its ending.
///
/// # Panics
///
/// If the file is missing or does not fit its form.
pub fn read<T: DeserializeOwned>(name: &str) -> T {
    read_from("vectors", name)
}

/// Reads a file of `published/`, the account of every gathered row.
///
/// # Panics
///
/// If the file cannot be read or does not have the form asked for.
pub fn published<T: DeserializeOwned>(name: &str) -> T {
    read_from("published", name)
}

fn read_from<T: DeserializeOwned>(folder_name: &str, name: &str) -> T {
    let path = folder(folder_name).join(format!("{name}.json"));
    let text = std::fs::read_to_string(&path)
        .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    serde_json::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Names of the files of `vectors/` that are wanted, without their ending.
///
/// # Panics
///
/// If the folder cannot be read.
pub fn names(is_wanted: fn(&str) -> bool) -> Vec<String> {
    let entries =
        std::fs::read_dir(folder("vectors")).expect("the folder of check values is there");
    let mut names: Vec<String> = entries
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter_map(|name| name.strip_suffix(".json").map(str::to_owned))
        .filter(|name| name != "schema" && is_wanted(name))
        .collect();
    names.sort();
    names
}

fn folder(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(name)
}
