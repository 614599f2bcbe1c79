//! What the Rust interface gives, written down for the programs in other languages to compare with, to the last bit.

use densepath::path::Solution;
use densepath::{Error, Fluid, PROPERTIES, Quantity, method, report};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// The documents solved.
const METHODS: &[&str] = &["packed", "capillary"];
const DOCUMENTS: &str = "tests/methods";
const VALUES: &str = "values.csv";

/// The files of a folder that programs compare with.
pub struct Reference {
    folder: PathBuf,
    documents: PathBuf,
}

impl Reference {
    /// Writes the files to a folder; `root` is that of the workspace.
    pub fn write(folder: &Path, root: &Path) -> Result<Self, String> {
        let reference = Self {
            folder: folder.to_path_buf(),
            documents: root.join(DOCUMENTS),
        };
        std::fs::create_dir_all(folder)
            .map_err(|error| format!("{}: {error}", folder.display()))?;
        reference.file(VALUES, &values()?)?;
        // One line for each property, so that a property without its functions does not compile.
        let list = PROPERTIES
            .iter()
            .map(|property| format!("PROPERTY({property}),\n"));
        reference.file("properties.h", &list.collect::<String>())?;
        for name in METHODS {
            let document = reference.document(name);
            let solution = method::read_method_file(&document)
                .and_then(|method| method.solve())
                .map_err(|error| format!("{}: {error}", document.display()))?;
            let json = report::to_json(&solution);
            reference.file(&format!("{name}.json"), &format!("{json:#}"))?;
            reference.file(&format!("{name}.csv"), &stations(&solution))?;
        }
        Ok(reference)
    }

    fn file(&self, name: &str, text: &str) -> Result<(), String> {
        let path = self.folder.join(name);
        std::fs::write(&path, text).map_err(|error| format!("{}: {error}", path.display()))
    }

    /// A method document.
    pub fn document(&self, name: &str) -> PathBuf {
        self.documents.join(format!("{name}.toml"))
    }

    /// The table of values: lines of quantity, temperature in K, pressure in Pa, status, value.
    pub fn values(&self) -> PathBuf {
        self.folder.join(VALUES)
    }

    /// Of each method its document, its solution as JSON, and lines of station, quantity, status, value.
    pub fn methods(&self) -> Vec<PathBuf> {
        let files = |name: &&str| {
            let solved = |ending: &str| self.folder.join(format!("{name}.{ending}"));
            [self.document(name), solved("json"), solved("csv")]
        };
        METHODS.iter().flat_map(files).collect()
    }
}

/// Every property on a grid that covers liquid, vapour, supercritical and refused states.
fn values() -> Result<String, String> {
    let fluid = Fluid::new("carbon dioxide").map_err(|error| error.to_string())?;
    let temperatures = (0..24).map(|step| 210.0 + 8.3 * f64::from(step));
    let points = temperatures
        .flat_map(|temperature| (0..14).map(move |step| (temperature, 1e4 * 2.17_f64.powi(step))));
    let mut text = String::new();
    for (temperature, pressure) in points {
        for &property in PROPERTIES {
            let result = fluid.property(property, temperature, pressure);
            let _ = write!(text, "{property},{temperature:e},{pressure:e},");
            line(&mut text, result);
        }
    }
    Ok(text)
}

/// Every quantity at every station, defined there or not.
fn stations(solution: &Solution) -> String {
    let mut text = String::new();
    for (index, station) in solution.stations.iter().enumerate() {
        for &quantity in Quantity::ALL {
            let _ = write!(text, "{index},{quantity},");
            line(&mut text, station.get(quantity));
        }
    }
    text
}

/// Status and value; the shortest digits that give the same number again.
fn line(text: &mut String, result: Result<f64, Error>) {
    let status = result.as_ref().err().map_or(0, Error::code);
    let _ = writeln!(text, "{status},{:e}", result.unwrap_or(f64::NAN));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_values_cover_good_and_refused_states() {
        let text = values().unwrap();
        for part in ["density,", ",0,", ",102,NaN", ",303,NaN"] {
            assert!(text.contains(part), "{part}");
        }
    }
}
