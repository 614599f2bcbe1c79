//! What the equations of all pairs once reached, below which they are not to fall again: `tests/deviations/pairs.json`.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use densepath_fluid::fluids::binary::EvidenceRecord;
use serde::{Deserialize, Serialize};

use super::Records;

/// How an equation does for a quantity, at the rows that count and, for densities, lie away from the critical region.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figures {
    /// Rows with a value.
    pub rows: u32,
    /// Rows for which the equation has none.
    pub without_value: u32,
    /// Median of the sizes of the relative deviations.
    pub median: f64,
    /// Their mean.
    pub mean: f64,
    /// Their greatest; it was not kept of other libraries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub greatest: Option<f64>,
}

/// The figures by pair, equation and quantity.
pub type All = BTreeMap<String, BTreeMap<String, BTreeMap<String, Figures>>>;

/// The quantities that count, with their regions in the evidence.
pub const QUANTITIES: [(&str, &str); 2] = [
    ("density", "away from the critical region"),
    ("bubble pressure", "everywhere"),
];

/// Half a unit of the last digit that the records keep.
const ROUNDING: f64 = 0.6e-4;

/// The figures of the evidence for an equation.
pub fn of_evidence(evidence: &EvidenceRecord) -> BTreeMap<String, Figures> {
    let found = QUANTITIES.iter().filter_map(|(quantity, region)| {
        let mut known = evidence.deviations.iter();
        let found = known.find(|d| d.quantity == *quantity && d.region == *region)?;
        let deviation = found.deviation;
        let figures = Figures {
            rows: deviation.rows,
            without_value: deviation.without_value,
            median: deviation.median,
            mean: deviation.mean,
            greatest: Some(deviation.greatest),
        };
        Some(((*quantity).to_owned(), figures))
    });
    found.collect()
}

/// The figures of all records.
pub fn figures(records: &Records) -> All {
    let of = |record: &densepath_fluid::fluids::binary::BinaryRecord| {
        let multi = record.multi_fluid.as_ref();
        let cubic = record.cubic.as_ref();
        let blocks = [
            ("multi-fluid", multi.and_then(|m| m.evidence.as_ref())),
            ("cubic", cubic.and_then(|c| c.evidence.as_ref())),
        ];
        let known = blocks.into_iter().filter_map(|(equation, evidence)| {
            evidence.map(|evidence| (equation.to_owned(), of_evidence(evidence)))
        });
        known.collect()
    };
    records
        .iter()
        .map(|(name, record)| (name.clone(), of(record)))
        .collect()
}

fn path() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/deviations/pairs.json")
}

fn best() -> Result<All, String> {
    let text = fs::read_to_string(path()).map_err(|e| format!("pairs.json: {e}"))?;
    serde_json::from_str(&text).map_err(|e| format!("pairs.json: {e}"))
}

fn is_farther(now: Option<f64>, before: Option<f64>) -> bool {
    let both = now.zip(before);
    both.is_some_and(|(now, before)| now > before + ROUNDING)
}

fn least(found: Option<f64>, known: Option<f64>) -> Option<f64> {
    found.into_iter().chain(known).reduce(f64::min)
}

/// In words, what is worse than it once was, or gone.
pub fn worse(now: &All) -> Result<Vec<String>, String> {
    let mut found = Vec::new();
    for (pair, equations) in best()? {
        for (equation, quantities) in equations {
            for (quantity, before) in quantities {
                let place = format!("{pair}, {equation}, {quantity}");
                let now = now
                    .get(&pair)
                    .and_then(|of| of.get(&equation)?.get(&quantity));
                let Some(now) = now else {
                    found.push(format!("{place}: gone"));
                    continue;
                };
                let is_worse = now.without_value > before.without_value
                    || now.rows + now.without_value < before.rows + before.without_value
                    || now.median > before.median + ROUNDING
                    || now.mean > before.mean + ROUNDING
                    || is_farther(now.greatest, before.greatest);
                if is_worse {
                    found.push(format!("{place}: {now:?} after {before:?}"));
                }
            }
        }
    }
    Ok(found)
}

/// Keeps the figures of new pairs and those that are better than before. What is worse is an error, unless the file is first
/// changed by hand for a reason that the change tells.
pub fn tighten(records: &Records) -> Result<(), String> {
    let now = figures(records);
    let worse = worse(&now)?;
    let mut kept = best()?;
    for (pair, equations) in now {
        for (equation, quantities) in equations {
            let of = kept.entry(pair.clone()).or_default();
            let of = of.entry(equation).or_default();
            for (quantity, found) in quantities {
                let better = |known: &Figures| Figures {
                    rows: found.rows.max(known.rows),
                    without_value: found.without_value.min(known.without_value),
                    median: found.median.min(known.median),
                    mean: found.mean.min(known.mean),
                    greatest: least(found.greatest, known.greatest),
                };
                let figures = of.get(&quantity).map_or(found, better);
                of.insert(quantity, figures);
            }
        }
    }
    let text = serde_json::to_string_pretty(&kept).map_err(|e| e.to_string())?;
    fs::write(path(), text + "\n").map_err(|e| format!("pairs.json: {e}"))?;
    if worse.is_empty() {
        Ok(())
    } else {
        Err(format!("worse than before: {}", worse.join("; ")))
    }
}
