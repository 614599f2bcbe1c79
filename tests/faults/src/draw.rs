//! Which faults are tried: so many of each region of the fluid's path, drawn by chance.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{RngCore, SeedableRng};

use crate::places::{Place, of_data, of_source, test_modules};
use crate::tree::read;

/// A fault that is tried.
#[derive(Debug, Clone)]
pub struct Drawn {
    /// Its number, from one.
    pub number: u32,
    /// The region.
    pub region: &'static str,
    /// The file, from the root of the workspace.
    pub file: String,
    /// The place in it.
    pub place: Place,
}

const FLUID: &str = "crates/densepath-fluid/src/";
const PATH: &str = "crates/densepath/src/";

/// Regions: how many faults, and the beginnings of the names of their files behind a folder.
const REGIONS: [(&str, usize, &str, &[&str]); 26] = [
    ("equations of state", 5, FLUID, &["eos/"]),
    (
        "phase equilibrium",
        4,
        FLUID,
        &["eos/equilibrium/", "phase/"],
    ),
    ("states", 4, FLUID, &["state/"]),
    (
        "remembered densities and lists",
        2,
        FLUID,
        &["state/cells", "state/bulk", "property"],
    ),
    ("transport", 4, FLUID, &["transport/"]),
    ("tables", 2, FLUID, &["table/"]),
    ("records", 1, FLUID, &["fluids/"]),
    ("mathematics", 2, FLUID, &["num/"]),
    (
        "units and constants",
        2,
        FLUID,
        &["units", "consts", "quantity"],
    ),
    (
        "data of substances",
        5,
        "crates/densepath-fluid/data/",
        &["fluids/"],
    ),
    (
        "data of pairs",
        3,
        "crates/densepath-fluid/data/",
        &["binary/"],
    ),
    ("data of hardware", 1, "crates/densepath/data/", &[""]),
    (
        "laws of flow",
        3,
        PATH,
        &[
            "flow/friction",
            "flow/passage/",
            "flow/capillary",
            "flow/packed_bed",
            "flow/heat",
            "flow/bore",
            "flow/valve",
            "flow/conjugate",
        ],
    ),
    ("bands and retention", 4, PATH, &["flow/"]),
    ("restrictor", 2, PATH, &["hardware/restrictor/"]),
    ("regulator", 1, PATH, &["hardware/regulator/"]),
    (
        "pumps",
        2,
        PATH,
        &[
            "hardware/reciprocating_pump",
            "hardware/syringe_pump",
            "hardware/modifier_pump",
            "hardware/pump_",
            "hardware/stroke",
            "hardware/head_cooling",
            "hardware/suction_line",
        ],
    ),
    (
        "cylinder and supply",
        2,
        PATH,
        &[
            "hardware/cylinder",
            "hardware/gas_supply",
            "hardware/vent",
            "hardware/decompression",
        ],
    ),
    (
        "column, tube, cell",
        2,
        PATH,
        &[
            "hardware/packed_column",
            "hardware/open_tubular_column",
            "hardware/channel",
            "hardware/tube",
            "hardware/detector_cell",
            "hardware/sample_",
        ],
    ),
    (
        "program and blend",
        2,
        PATH,
        &[
            "hardware/schedule",
            "hardware/blend",
            "hardware/mixer",
            "hardware/transfer",
            "method/program",
            "path/program",
            "path/blending",
        ],
    ),
    (
        "safety",
        2,
        PATH,
        &["hardware/safety/", "hardware/gas_detector"],
    ),
    (
        "march and solution",
        3,
        PATH,
        &[
            "path/march",
            "path/solve",
            "path/solution",
            "path/mod",
            "path/source",
            "path/phases",
        ],
    ),
    (
        "bands of the path",
        2,
        PATH,
        &[
            "path/band",
            "path/detection",
            "path/gradient",
            "path/plug",
            "path/chromatogram",
            "path/history",
        ],
    ),
    ("reader of documents", 3, PATH, &["method/"]),
    ("studies", 3, PATH, &["study/"]),
    ("reports", 1, PATH, &["report/"]),
];

/// A way of naming a place that stays the same: the file and where in it.
pub type Key = (String, usize, usize);

/// What a drawn place is left out for: that no switch can stand there.
pub fn key(file: &str, place: &Place) -> Key {
    (file.to_owned(), place.range.start, place.range.end)
}

/// The faults of a seed; `left_out` are places at which no switch can stand.
pub fn draw(root: &Path, seed: u64, left_out: &[Key]) -> Result<Vec<Drawn>, String> {
    let files = files(root)?;
    let mut drawn: Vec<Drawn> = Vec::new();
    for (index, (region, count, folder, names)) in REGIONS.into_iter().enumerate() {
        // Each region has its own chance, so that a change of one leaves the others alone.
        let mut chance = ChaCha8Rng::seed_from_u64(seed.wrapping_add(1000 * index as u64));
        let mut by_kind: BTreeMap<&str, Vec<(String, Place)>> = BTreeMap::new();
        for file in &files {
            let inside = file.strip_prefix(folder);
            if inside.is_some_and(|inside| names.iter().any(|name| inside.starts_with(name))) {
                let text = read(&root.join(file))?;
                let found = if folder.ends_with("data/") {
                    of_data(&text)
                } else {
                    of_source(&text)
                };
                for place in found {
                    by_kind
                        .entry(place.kind)
                        .or_default()
                        .push((file.clone(), place));
                }
            }
        }
        let mut taken = 0;
        while taken < count {
            // A kind first, then a place of it: else most would be numbers.
            let kinds: Vec<&str> = by_kind.keys().copied().collect();
            if kinds.is_empty() {
                return Err(format!("no places in {region}"));
            }
            let kind = kinds[index_below(&mut chance, kinds.len())];
            let places = by_kind.get_mut(kind).filter(|places| !places.is_empty());
            let Some(places) = places else {
                by_kind.remove(kind);
                continue;
            };
            let (file, place) = places.swap_remove(index_below(&mut chance, places.len()));
            let overlaps = |one: &Drawn| {
                one.file == file
                    && one.place.range.start < place.range.end
                    && place.range.start < one.place.range.end
            };
            if !left_out.contains(&key(&file, &place)) && !drawn.iter().any(overlaps) {
                taken += 1;
                let number = u32::try_from(drawn.len() + 1).map_err(|_| "too many faults")?;
                drawn.push(Drawn {
                    number,
                    region,
                    file,
                    place,
                });
            }
        }
    }
    Ok(drawn)
}

fn index_below(chance: &mut ChaCha8Rng, count: usize) -> usize {
    usize::try_from(chance.next_u64() % count.max(1) as u64).unwrap_or(0)
}

/// The files of the core without its tests, in the order of their names.
fn files(root: &Path) -> Result<Vec<String>, String> {
    let mut found = Vec::new();
    for folder in [
        FLUID,
        PATH,
        "crates/densepath-fluid/data",
        "crates/densepath/data",
    ] {
        collect(root, &root.join(folder), &mut found)?;
    }
    found.sort_unstable();
    let mut tests = Vec::new();
    for file in found.iter().filter(|file| is_source(file)) {
        let folder = Path::new(file).with_extension("");
        let is_root = folder.ends_with("mod") || folder.ends_with("lib");
        let folder = if is_root {
            folder.parent().map(PathBuf::from).unwrap_or_default()
        } else {
            folder
        };
        for module in test_modules(&read(&root.join(file))?) {
            tests.push(folder.join(module).to_string_lossy().into_owned());
        }
    }
    found.retain(|file| {
        !tests.iter().any(|test| {
            file.strip_prefix(test.as_str())
                .is_some_and(|rest| rest == ".rs" || rest.starts_with('/'))
        })
    });
    Ok(found)
}

fn is_source(file: &str) -> bool {
    Path::new(file).extension().is_some_and(|end| end == "rs")
}

fn collect(root: &Path, folder: &Path, found: &mut Vec<String>) -> Result<(), String> {
    let failure = |error: std::io::Error| format!("{}: {error}", folder.display());
    for entry in std::fs::read_dir(folder).map_err(failure)? {
        let path = entry.map_err(failure)?.path();
        if path.is_dir() {
            collect(root, &path, found)?;
        } else if path
            .extension()
            .is_some_and(|end| end == "rs" || end == "json")
        {
            let name = path.strip_prefix(root).map_err(|error| error.to_string())?;
            found.push(name.to_string_lossy().into_owned());
        }
    }
    Ok(())
}
