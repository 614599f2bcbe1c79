//! The tables of `data/pairs/scores.md`: the deviations of every pair, and its equations beside those of other libraries.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use densepath_fluid::fluids::binary::BinaryRecord;
use serde::Deserialize;

use super::ratchet::{Figures, QUANTITIES, of_evidence};
use super::{Records, score};

const HEAD: &str = "# Deviations of the pairs from measurements\n\nIn percent, calculated less measured; `x` is the \
amount fraction of the first substance. Rows without a value are those for which the equation has no border of the stable mixture \
within a factor of 2.5; where it has a dew point and no bubble point, mostly since the composition lies beyond its critical point, that one \
is compared, and these rows are also told apart. Series left out are not counted. Written by `cargo xtask fit pair`.\n\n\
| pair | equation | quantity | region | rows | without a value | median | mean | bias | largest |\n\
| --- | --- | --- | --- | ---: | ---: | ---: | ---: | ---: | ---: |\n";

const SIDE_BY_SIDE: &str = "\n# Equations side by side\n\nMedian / mean in percent at the same rows, densities away from the \
critical region; in brackets the rows without a value. PC-SAFT in feos with those of the published parameters (their sources are in \
`crates/densepath-fit/data/pairs/pc_saft.json`) that do best on the rows, k_ij(T) and the energy of a bond of carbon dioxide with a hydroxyl \
group fitted to all of these bubble pressures, while the library's equations are fitted without the series kept apart; its liquids, \
other than those of the library, are not asked to stay whole (`parting` in `peers.json` counts the rows where they do not). CoolProp \
where it has the pair; both by `python/fitting/peers.py`. Among the equations with the fewest rows without a value the least mean \
wins.\n\n\
| pair | quantity | rows | multi-fluid | cubic | PC-SAFT | CoolProp | wins |\n\
| --- | --- | ---: | --- | --- | --- | --- | --- |\n";

/// How the equations of another library do, as `python/fitting/peers.py` found: bubble pressures, and densities where there are.
#[derive(Debug, Clone, Copy, Deserialize)]
struct Peer {
    rows: u32,
    without_value: u32,
    median: f64,
    mean: f64,
    density: Option<Figures>,
}

impl Peer {
    fn figures(self, quantity: &str) -> Option<Figures> {
        if quantity == "density" {
            return self.density;
        }
        Some(Figures {
            rows: self.rows,
            without_value: self.without_value,
            median: self.median,
            mean: self.mean,
            greatest: None,
        })
    }
}

/// The peers of each pair by the names of the equations.
type Peers = BTreeMap<String, BTreeMap<String, Peer>>;

/// Writes all tables.
pub fn write(folder: &Path, records: &Records) -> Result<(), String> {
    let text = fs::read_to_string(folder.join("peers.json"));
    let text = text.map_err(|e| format!("peers.json: {e}"))?;
    let peers: Peers = serde_json::from_str(&text).map_err(|e| format!("peers.json: {e}"))?;
    let mut text = HEAD.to_owned();
    text.extend(records.iter().map(|(name, record)| lines(name, record)));
    text += SIDE_BY_SIDE;
    for (name, record) in records {
        for (quantity, _) in QUANTITIES {
            text += &side_by_side(name, record, peers.get(name), quantity);
        }
    }
    fs::write(folder.join("scores.md"), text).map_err(|e| format!("scores.md: {e}"))
}

/// The lines of a pair in the table of deviations.
pub fn lines(name: &str, record: &BinaryRecord) -> String {
    let multi = record.multi_fluid.as_ref();
    let cubic = record.cubic.as_ref();
    [
        (
            "multi-fluid",
            multi.and_then(|block| block.evidence.as_ref()),
        ),
        ("cubic", cubic.and_then(|block| block.evidence.as_ref())),
    ]
    .iter()
    .filter_map(|(equation, evidence)| {
        evidence.map(|found| score::lines(name, equation, &found.deviations))
    })
    .collect()
}

/// The line of a pair in the table of all equations; nothing where no equation was compared.
fn side_by_side(
    name: &str,
    record: &BinaryRecord,
    peers: Option<&BTreeMap<String, Peer>>,
    quantity: &str,
) -> String {
    let multi = record.multi_fluid.as_ref();
    let cubic = record.cubic.as_ref();
    let own = |evidence| of_evidence(evidence).get(quantity).copied();
    let peer = |equation: &str| peers?.get(equation)?.figures(quantity);
    let all = [
        (
            "multi-fluid",
            multi.and_then(|m| m.evidence.as_ref()).and_then(own),
        ),
        (
            "cubic",
            cubic.and_then(|c| c.evidence.as_ref()).and_then(own),
        ),
        ("PC-SAFT", peer("PC-SAFT")),
        ("CoolProp", peer("CoolProp")),
    ];
    let known = all
        .iter()
        .filter_map(|(name, found)| Some((name, (*found)?)));
    let best = known
        .filter(|(_, found)| found.rows > 0)
        .min_by(|(_, a), (_, b)| {
            let failed = a.without_value.cmp(&b.without_value);
            failed.then(a.mean.total_cmp(&b.mean))
        });
    let Some((best, figures)) = best else {
        return String::new();
    };
    let cells = all.map(|(_, found)| {
        found.map_or_else(String::new, |found| {
            let (median, mean) = (100.0 * found.median, 100.0 * found.mean);
            format!("{median:.2} / {mean:.2} ({})", found.without_value)
        })
    });
    let rows = figures.rows + figures.without_value;
    format!(
        "| {name} | {quantity} | {rows} | {} | {best} |\n",
        cells.join(" | ")
    )
}
