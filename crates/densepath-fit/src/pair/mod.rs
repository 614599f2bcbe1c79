//! Equations of pairs of substances: the reducing functions and departures of the multi-fluid equation, and the interaction of
//! the cubic one.
//!
//! `pair NAME...` fits the pairs named, or all, by the plans in `data/pairs/plan.json`, and writes their records for the
//! library; then, and with `--score` alone, every equation stored is compared with the measurements anew and the tables in
//! `data/pairs/scores.md` are written.

mod compare;
mod families;
mod fit;
mod measurements;
mod phases;
mod plan;
mod problem;
mod score;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use densepath_fluid::Fluid;
use densepath_fluid::eos::cubic::CubicSubstance;
use densepath_fluid::eos::mixture::MixtureModel;
use densepath_fluid::fluids::binary::{
    BinaryRecord, CubicPairRecord, Deviation, EvidenceRecord, MultiFluidRecord,
};
use densepath_fluid::fluids::record::{EquationOfState, Source};
use densepath_fluid::fluids::{FluidRecord, find, record};

use serde::Deserialize;

use compare::Equation;
use families::{CubicFamily, MultiFluidFamily, interaction, reducing};
use fit::Fitted;
use measurements::{Row, Sources};
use plan::{MultiFluidPlan, Plan};
use problem::{Family, Kind};

/// Fits the pairs named, or all; with `--score` compares only.
pub fn run(arguments: &[String]) -> Result<(), String> {
    let (options, names): (Vec<&String>, Vec<&String>) =
        arguments.iter().partition(|a| a.starts_with("--"));
    let score_only = match options.as_slice() {
        [] => false,
        [only] if *only == "--score" => true,
        [other, ..] => return Err(format!("unknown option `{other}`: --score")),
    };
    let files = Files::new();
    let plans = plan::read(&files.data)?;
    let sources = files.sources()?;
    if let Some(unknown) = names.iter().find(|name| !plans.contains_key(**name)) {
        return Err(format!("no plan for `{unknown}`"));
    }
    for (name, plan) in &plans {
        if names.is_empty() || names.contains(&name) {
            let rows = measurements::rows(&files.data, name)?;
            let pair = Pair {
                plan,
                rows: &rows,
                sources: &sources,
            };
            let mut record = files.read(name, plan)?;
            let weights = if score_only {
                Weights::default()
            } else {
                pair.fit(&mut record)?
            };
            pair.compare(&mut record, &weights)?;
            println!("{}", table(name, &record));
            files.write(name, &record)?;
        }
    }
    files.write_tables(&plans)
}

/// The files of the fits.
struct Files {
    data: PathBuf,
    library: PathBuf,
}

const TABLE_HEAD: &str = "# Deviations of the pairs from measurements\n\nIn percent, calculated less measured; `x` is the \
amount fraction of carbon dioxide. Rows without a value are those for which the equation has no boundary within a factor of 2.5. \
Series left out are not counted. Written by `cargo xtask fit pair`.\n\n\
| pair | equation | quantity | region | rows | without a value | median | mean | bias |\n\
| --- | --- | --- | --- | ---: | ---: | ---: | ---: | ---: |\n";

impl Files {
    fn new() -> Self {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        Self {
            data: root.join("data/pairs"),
            library: root.join("../densepath-fluid/data/binary"),
        }
    }

    fn sources(&self) -> Result<Sources, String> {
        let text = fs::read_to_string(self.data.join("sources.json"))
            .map_err(|e| format!("sources.json: {e}"))?;
        serde_json::from_str(&text).map_err(|e| format!("sources.json: {e}"))
    }

    /// The record of a pair as it is stored; without equations where there is none.
    fn read(&self, name: &str, plan: &Plan) -> Result<BinaryRecord, String> {
        let path = self.library.join(format!("{name}.json"));
        if !path.exists() {
            return Ok(BinaryRecord {
                substances: plan.substances.clone(),
                multi_fluid: None,
                cubic: None,
            });
        }
        let text = fs::read_to_string(&path).map_err(|e| format!("{name}.json: {e}"))?;
        let record: BinaryRecord =
            serde_json::from_str(&text).map_err(|e| format!("{name}.json: {e}"))?;
        if record.substances == plan.substances {
            Ok(record)
        } else {
            Err(format!("{name}.json: substances in another order"))
        }
    }

    fn write(&self, name: &str, record: &BinaryRecord) -> Result<(), String> {
        let text = serde_json::to_string_pretty(record).map_err(|e| e.to_string())?;
        let path = self.library.join(format!("{name}.json"));
        fs::write(&path, text + "\n").map_err(|e| format!("{name}.json: {e}"))
    }

    /// The deviations of every pair as one table.
    fn write_tables(&self, plans: &plan::Plans) -> Result<(), String> {
        let mut text = TABLE_HEAD.to_owned();
        for (name, plan) in plans {
            text += &table(name, &self.read(name, plan)?);
        }
        text += PEERS_HEAD;
        let peers = self.peers()?;
        for (name, plan) in plans {
            text += &side_by_side(name, &self.read(name, plan)?, peers.get(name));
        }
        fs::write(self.data.join("scores.md"), text).map_err(|e| format!("scores.md: {e}"))
    }

    /// What other libraries make of the same bubble pressures, as `python/fitting/peers.py` found.
    fn peers(&self) -> Result<BTreeMap<String, Peers>, String> {
        let text = fs::read_to_string(self.data.join("peers.json"))
            .map_err(|e| format!("peers.json: {e}"))?;
        serde_json::from_str(&text).map_err(|e| format!("peers.json: {e}"))
    }
}

/// Deviations of the equations of other libraries, by their names.
type Peers = BTreeMap<String, Peer>;

/// How an equation of another library does.
#[derive(Debug, Clone, Copy, Deserialize)]
struct Peer {
    rows: u32,
    without_value: u32,
    median: f64,
    mean: f64,
}

const PEERS_HEAD: &str = "\n# Bubble pressures side by side\n\nMedian / mean in percent at the same rows, and in brackets the rows \
without a value. PC-SAFT in feos with published parameters (from memory), k_ij(T) fitted to these rows; CoolProp where it has the pair; both by \
`python/fitting/peers.py`. The least mean wins among the equations with the fewest rows without a value.\n\n\
| pair | multi-fluid | cubic | PC-SAFT | CoolProp | wins |\n| --- | --- | --- | --- | --- | --- |\n";

/// The line of a pair in the table of all equations.
fn side_by_side(name: &str, record: &BinaryRecord, peers: Option<&Peers>) -> String {
    let own = |evidence: Option<&EvidenceRecord>| {
        let mut known = evidence?.deviations.iter();
        let found = known.find(|d| d.quantity == "bubble pressure" && d.region == "everywhere")?;
        let Deviation {
            rows,
            without_value,
            median,
            mean,
            ..
        } = found.deviation;
        Some(Peer {
            rows,
            without_value,
            median,
            mean,
        })
    };
    let multi = record.multi_fluid.as_ref();
    let cubic = record.cubic.as_ref();
    let peer = |equation: &str| peers.and_then(|peers| peers.get(equation)).copied();
    let all = [
        ("multi-fluid", own(multi.and_then(|m| m.evidence.as_ref()))),
        ("cubic", own(cubic.and_then(|c| c.evidence.as_ref()))),
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
    let Some((best, _)) = best else {
        return String::new();
    };
    let cells = all.map(|(_, found)| {
        found.map_or_else(String::new, |found| {
            format!(
                "{:.2} / {:.2} ({})",
                100.0 * found.median,
                100.0 * found.mean,
                found.without_value
            )
        })
    });
    format!("| {name} | {} | {best} |\n", cells.join(" | "))
}

/// The lines of a pair in the table.
fn table(name: &str, record: &BinaryRecord) -> String {
    let multi = record.multi_fluid.as_ref();
    let multi = multi.and_then(|block| block.evidence.as_ref());
    let cubic = record.cubic.as_ref();
    let cubic = cubic.and_then(|block| block.evidence.as_ref());
    [("multi-fluid", multi), ("cubic", cubic)]
        .iter()
        .filter_map(|(equation, evidence)| {
            evidence.map(|found| score::lines(name, equation, &found.deviations))
        })
        .collect()
}

/// A pair with what is known of it.
struct Pair<'a> {
    plan: &'a Plan,
    rows: &'a [Row],
    sources: &'a Sources,
}

/// Relative uncertainties of the bubble pressures of each series, as the fits of both equations left them.
#[derive(Debug, Default)]
struct Weights {
    multi_fluid: BTreeMap<String, f64>,
    cubic: BTreeMap<String, f64>,
}

/// Relative uncertainty of densities in the fit of the cubic equation.
const CUBIC_DENSITY: f64 = 0.04;

impl Pair<'_> {
    fn fit(&self, record: &mut BinaryRecord) -> Result<Weights, String> {
        let mut weights = Weights::default();
        let mut cubic_model = None;
        if let Some(start) = self.plan.cubic {
            let family = self.cubic_family()?;
            let mut terms = fit::terms(self.plan, self.rows, CUBIC_DENSITY);
            terms.retain(|term| {
                !matches!(
                    term.kind,
                    Kind::CriticalPressure { .. }
                        | Kind::CriticalFraction { .. }
                        | Kind::CriticalBound { .. }
                )
            });
            let bounds = fit::CUBIC_SERIES_BOUNDS;
            let fitted = fit::fit(&family, self.rows, terms, &start, bounds);
            cubic_model = Some(family.model(&fitted.parameters));
            record.cubic = Some(cubic_record(&fitted));
            weights.cubic = fitted.series;
        }
        if let Some(plan) = &self.plan.multi_fluid {
            let (family, fitted) = self.fit_multi_fluid(plan, cubic_model.as_deref())?;
            record.multi_fluid = Some(multi_fluid_record(&family, &fitted));
            weights.multi_fluid = fitted.series;
        }
        Ok(weights)
    }

    fn fit_multi_fluid(
        &self,
        plan: &MultiFluidPlan,
        cubic: Option<&dyn MixtureModel>,
    ) -> Result<(MultiFluidFamily, Fitted), String> {
        let [first, second] = &self.plan.substances;
        let family = MultiFluidFamily {
            equations: [equation(first)?, equation(second)?],
            smooth: plan.smooth,
            form: plan.departures.clone(),
            excess: plan.excess.clone(),
        };
        let start = family.start(plan.start);
        let mut terms = fit::terms(self.plan, self.rows, plan.density_uncertainty);
        terms.extend(fit::mixing_terms(self.plan));
        terms.extend(fit::beside_line_terms(&plan.beside_line));
        terms.extend(fit::guide_terms(plan.line_guide.iter().copied()));
        if let Some(cubic) = cubic {
            terms.extend(fit::vapour_terms(self.plan, self.rows, cubic));
            terms.extend(fit::line_terms(
                cubic,
                &plan.line_temperatures,
                (plan.line_uncertainty, plan.line_fraction_uncertainty),
            ));
        }
        terms.extend(fit::prior_terms(&start, plan.coefficient_spread));
        let fitted = fit::fit(&family, self.rows, terms, &start, fit::SERIES_BOUNDS);
        Ok((family, fitted))
    }

    /// Puts the comparison of both equations with the measurements into their record.
    fn compare(&self, record: &mut BinaryRecord, weights: &Weights) -> Result<(), String> {
        if let Some(block) = &mut record.multi_fluid {
            let [first, second] = &self.plan.substances;
            let family = MultiFluidFamily {
                equations: [equation(first)?, equation(second)?],
                smooth: block.smooth,
                form: block.departures.clone(),
                excess: block.excess.clone(),
            };
            let reducing = block.reducing;
            let parameters = family.start([
                reducing.beta_temperature,
                reducing.gamma_temperature,
                reducing.beta_volume,
                reducing.gamma_volume,
            ]);
            block.evidence = self.evidence(
                &family,
                &parameters,
                &weights.multi_fluid,
                block.evidence.as_ref(),
            );
        }
        if let Some(block) = &mut record.cubic {
            let parameters = [block.k_0, 0.01 * block.k_1, block.l];
            let family = self.cubic_family()?;
            block.evidence = self.evidence(
                &family,
                &parameters,
                &weights.cubic,
                block.evidence.as_ref(),
            );
        }
        Ok(())
    }

    /// The evidence for an equation; the weights are those that the fit left, if any.
    fn evidence(
        &self,
        family: &dyn Family,
        parameters: &[f64],
        weights: &BTreeMap<String, f64>,
        before: Option<&EvidenceRecord>,
    ) -> Option<EvidenceRecord> {
        let equation = Equation {
            model: family.model(parameters),
            molar_masses: family.molar_masses(),
        };
        let compared = score::compared(&equation, self.rows);
        let mut found = score::evidence(self.plan, &compared, self.sources, weights)?;
        let kept = before.map_or(&[][..], |evidence| &evidence.data);
        for series in &mut found.data {
            let same = kept
                .iter()
                .find(|old| old.doi == series.doi && old.quantity == series.quantity);
            if let Some(old) = same {
                series.weight = old.weight;
            }
        }
        Some(found)
    }

    fn cubic_family(&self) -> Result<CubicFamily, String> {
        let of = |name: &str| -> Result<(CubicSubstance, f64), String> {
            let record = fluid(name)?;
            let constants = record.cubic.as_ref();
            let constants = constants.ok_or_else(|| format!("{name}: no cubic equation"))?;
            let fluid = Fluid::new(name).map_err(|e| e.to_string())?;
            Ok((CubicSubstance::new(name, constants), fluid.molar_mass()))
        };
        let [first, second] = &self.plan.substances;
        let (first, second) = (of(first)?, of(second)?);
        Ok(CubicFamily {
            substances: [first.0, second.0],
            molar_masses: [first.1, second.1],
        })
    }
}

fn fluid(name: &str) -> Result<&'static FluidRecord, String> {
    find(name).and_then(record).map_err(|e| e.to_string())
}

fn equation(name: &str) -> Result<&'static EquationOfState, String> {
    let known = fluid(name)?.equation_of_state.as_ref();
    known.ok_or_else(|| format!("{name}: no reference equation"))
}

fn this_project(title: &str, note: &str) -> Source {
    Source {
        authors: "densepath".to_owned(),
        title: title.to_owned(),
        journal: "fitted by this project".to_owned(),
        year: 2026,
        doi: String::new(),
        note: note.to_owned(),
    }
}

fn multi_fluid_record(family: &MultiFluidFamily, fitted: &Fitted) -> MultiFluidRecord {
    let parameters: Vec<f64> = fitted.parameters.iter().map(|p| rounded(*p)).collect();
    let departures = family.departures(&parameters);
    let form = if departures.is_empty() {
        "reducing functions"
    } else {
        "reducing functions and departure"
    };
    MultiFluidRecord {
        name: format!("{form} fitted by this project in 2026"),
        source: this_project(
            "Multi-fluid equation of a pair",
            "Fitted together to densities, bubble pressures and what is known of the critical line, with one stable phase \
             asked for where the pair mixes freely; `cargo xtask fit pair` repeats the fit.",
        ),
        smooth: family.smooth,
        reducing: reducing(&parameters),
        departures,
        excess: family.excess(&parameters),
        evidence: None,
    }
}

fn cubic_record(fitted: &Fitted) -> CubicPairRecord {
    let parameters: Vec<f64> = fitted.parameters.iter().map(|p| rounded(*p)).collect();
    let pair = interaction(&parameters);
    CubicPairRecord {
        name: "interaction in the translated equation of Peng and Robinson, fitted by this project in 2026".to_owned(),
        source: this_project(
            "Cubic equation of a pair",
            "Belongs to the attractions and translations of the `cubic` blocks of both substances. Fitted to bubble pressures \
             and densities; `cargo xtask fit pair` repeats the fit.",
        ),
        k_0: pair.k_0,
        k_1: rounded(pair.k_1),
        l: pair.l,
        evidence: None,
    }
}

/// A parameter with seven digits.
fn rounded(value: f64) -> f64 {
    format!("{value:.6e}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pairs with the highest median and mean deviation of bubble pressures, and of densities away from the critical region,
    /// of their multi-fluid equation. A fit that does worse is not to be stored.
    const LIMITS: [(&str, [f64; 2], [f64; 2]); 3] = [
        ("carbon_dioxide+methanol", [0.03, 0.05], [0.004, 0.004]),
        ("carbon_dioxide+ethanol", [0.03, 0.045], [0.004, 0.004]),
        ("carbon_dioxide+n-heptane", [0.03, 0.045], [0.004, 0.006]),
    ];

    #[test]
    fn the_stored_equations_agree_with_the_measurements() {
        let files = Files::new();
        let (plans, sources) = (plan::read(&files.data).unwrap(), files.sources().unwrap());
        for (name, bubbles, densities) in LIMITS {
            let plan = &plans[name];
            let rows = measurements::rows(&files.data, name).unwrap();
            let mut record = files.read(name, plan).unwrap();
            record.cubic = None;
            let pair = Pair {
                plan,
                rows: &rows,
                sources: &sources,
            };
            pair.compare(&mut record, &Weights::default()).unwrap();
            let evidence = record.multi_fluid.unwrap().evidence.unwrap();
            for (quantity, region, limits) in [
                ("bubble pressure", "everywhere", bubbles),
                ("density", "away from the critical region", densities),
            ] {
                let mut known = evidence.deviations.iter();
                let found = known
                    .find(|d| d.quantity == quantity && d.region == region)
                    .unwrap()
                    .deviation;
                assert_eq!(found.without_value, 0, "{name} {quantity}");
                assert!(
                    found.median <= limits[0] && found.mean <= limits[1],
                    "{name} {quantity}: {found:?}"
                );
            }
        }
    }
}
