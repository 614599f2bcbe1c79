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
mod ratchet;
mod score;
mod simplex;
mod tables;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use densepath_fluid::Fluid;
use densepath_fluid::eos::cubic::CubicSubstance;
use densepath_fluid::eos::mixture::MixtureModel;
use densepath_fluid::fluids::binary::{
    BinaryRecord, CubicPairRecord, EvidenceRecord, MultiFluidRecord, SeriesRecord,
};
use densepath_fluid::fluids::record::{EquationOfState, Source};
use densepath_fluid::fluids::{FluidRecord, find, record};

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
            println!("{}", tables::lines(name, &record));
            files.write(name, &record)?;
        }
    }
    let records = files.all(&plans)?;
    tables::write(&files.data, &records)?;
    ratchet::tighten(&records)
}

/// The records of pairs by the names of their files.
type Records = BTreeMap<String, BinaryRecord>;

/// The files of the fits.
struct Files {
    data: PathBuf,
    library: PathBuf,
}

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
        let record = self.stored(name)?;
        if record.substances == plan.substances {
            Ok(record)
        } else {
            Err(format!("{name}.json: substances in another order"))
        }
    }

    /// The records of all pairs that have a plan.
    fn all(&self, plans: &plan::Plans) -> Result<Records, String> {
        let of = |(name, plan): (&String, &Plan)| Ok((name.clone(), self.read(name, plan)?));
        plans.iter().map(of).collect()
    }

    /// The record of a pair that is stored.
    fn stored(&self, name: &str) -> Result<BinaryRecord, String> {
        let path = self.library.join(format!("{name}.json"));
        let text = fs::read_to_string(&path).map_err(|e| format!("{name}.json: {e}"))?;
        serde_json::from_str(&text).map_err(|e| format!("{name}.json: {e}"))
    }

    fn write(&self, name: &str, record: &BinaryRecord) -> Result<(), String> {
        let text = serde_json::to_string_pretty(record).map_err(|e| e.to_string())?;
        let path = self.library.join(format!("{name}.json"));
        fs::write(&path, text + "\n").map_err(|e| format!("{name}.json: {e}"))
    }
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
            let fitted = if self.plan.cubic_by_sizes {
                fit::fit_sizes(&family, self.plan, self.rows, &start)?
            } else {
                fit::fit(&family, self.rows, terms, &start, bounds)
            };
            cubic_model = Some(family.model(&fitted.parameters));
            record.cubic = Some(cubic_record(&fitted));
            weights.cubic = fitted.series;
        }
        if let Some(plan) = &self.plan.multi_fluid {
            let (family, fitted) = self.fit_multi_fluid(plan, cubic_model.as_deref())?;
            record.multi_fluid = Some(multi_fluid_record(&family, &fitted, plan));
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
            steep: plan.steep_departures.clone(),
            excess: plan.excess.clone(),
        };
        let start = family.start(plan.start);
        let mut terms = fit::terms(self.plan, self.rows, plan.density_uncertainty);
        let own = family.model(&start);
        let is_published = plan.published.is_some();
        let guide = if is_published {
            Some(own.as_ref())
        } else {
            cubic
        };
        if !is_published {
            terms.extend(fit::mixing_terms(self.plan));
            terms.extend(fit::dense_terms(self.plan, own.as_ref()));
        }
        terms.extend(fit::beside_line_terms(&plan.beside_line));
        terms.extend(fit::guide_terms(plan.line_guide.iter().copied()));
        if let Some(other) = guide {
            let closeness = match plan.virial_guide {
                Some(uncertainty) => {
                    terms.extend(fit::virial_terms(self.plan, other, uncertainty));
                    if is_published {
                        fit::PUBLISHED_VAPOUR_GUIDE
                    } else {
                        fit::CLOSE_VAPOUR_GUIDE
                    }
                }
                None => fit::VAPOUR_GUIDE,
            };
            terms.extend(fit::vapour_terms(self.plan, self.rows, other, closeness));
            terms.extend(fit::line_terms(
                other,
                &plan.line_temperatures,
                (plan.line_uncertainty, plan.line_fraction_uncertainty),
            ));
        }
        if let Some(guide) = &plan.density_guide {
            let stored = guide.pair.as_deref().map(stored_multi_fluid).transpose()?;
            let other = stored.as_deref().or(cubic);
            let other = other.ok_or("no equation to take excess volumes from")?;
            let masses = family.molar_masses();
            terms.extend(fit::density_terms(
                other,
                masses,
                own.as_ref(),
                guide.uncertainty,
            ));
        }
        if let Some(given) = &plan.excess_volumes {
            terms.extend(fit::excess_volume_terms(
                &given.points,
                family.molar_masses(),
                own.as_ref(),
                given.uncertainty,
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
            let equations = [equation(first)?, equation(second)?];
            let (family, parameters) = stored_family(equations, block);
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
            let is_same = |old: &&SeriesRecord| {
                (&old.doi, &old.quantity, old.role) == (&series.doi, &series.quantity, series.role)
            };
            let same = kept.iter().find(is_same);
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

/// The multi-fluid equation of another pair as it is stored.
fn stored_multi_fluid(name: &str) -> Result<Box<dyn MixtureModel>, String> {
    let record = Files::new().stored(name)?;
    let block = record
        .multi_fluid
        .ok_or_else(|| format!("{name}: no multi-fluid equation"))?;
    let [first, second] = &record.substances;
    let (family, parameters) = stored_family([equation(first)?, equation(second)?], &block);
    Ok(family.model(&parameters))
}

/// An equation that is stored as a family with its parameters.
fn stored_family(
    equations: [&'static EquationOfState; 2],
    block: &MultiFluidRecord,
) -> (MultiFluidFamily, Vec<f64>) {
    let family = MultiFluidFamily {
        equations,
        smooth: block.smooth,
        form: block.departures.clone(),
        steep: Vec::new(),
        excess: block.excess.clone(),
    };
    let reducing = block.reducing;
    let parameters = family.start([
        reducing.beta_temperature,
        reducing.gamma_temperature,
        reducing.beta_volume,
        reducing.gamma_volume,
    ]);
    (family, parameters)
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

fn multi_fluid_record(
    family: &MultiFluidFamily,
    fitted: &Fitted,
    plan: &MultiFluidPlan,
) -> MultiFluidRecord {
    let parameters: Vec<f64> = fitted.parameters.iter().map(|p| rounded(*p)).collect();
    let departures = family.departures(&parameters);
    let form = if departures.is_empty() {
        "reducing functions"
    } else {
        "reducing functions and departure"
    };
    let start = plan.published.as_ref().map_or(String::new(), |published| {
        format!(" Its form, its start and the gas of the start are those of {published}.")
    });
    let note = format!(
        "Fitted together to densities, bubble pressures and what is known of the critical line, with one stable phase asked for where the \
         pair mixes freely; `cargo xtask fit pair` repeats the fit.{start}"
    );
    MultiFluidRecord {
        name: format!("{form} fitted by this project in 2026"),
        source: this_project("Multi-fluid equation of a pair", &note),
        smooth: family.smooth,
        reducing: reducing(&parameters),
        departures,
        excess: family.excess(&parameters),
        false_limit: None,
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
    use densepath_fluid::fluids::binary::{self, Deviation, EvidenceRecord};

    use super::*;

    /// Pairs with the highest median and mean deviation of bubble pressures, and of densities away from the critical region,
    /// that their multi-fluid equation is to have.
    const GOALS: [(&str, [f64; 2], [f64; 2]); 6] = [
        ("carbon_dioxide+methanol", [0.03, 0.05], [0.004, 0.004]),
        ("carbon_dioxide+ethanol", [0.03, 0.045], [0.004, 0.004]),
        ("carbon_dioxide+propan-2-ol", [0.03, 0.045], [0.004, 0.008]),
        ("carbon_dioxide+n-heptane", [0.03, 0.045], [0.004, 0.006]),
        ("carbon_dioxide+propane", [0.011, 0.014], [0.004, 0.004]),
        ("carbon_dioxide+nitrogen", [0.03, 0.045], [0.004, 0.008]),
    ];

    /// The record that the library has built in.
    fn shipped(record: &BinaryRecord) -> BinaryRecord {
        let [first, second] = record.substances.each_ref();
        binary::find(first, second).unwrap().unwrap().into_owned()
    }

    /// The deviations of both equations, by region and by paper.
    fn deviations(record: &BinaryRecord) -> Vec<(String, Deviation)> {
        let multi = record
            .multi_fluid
            .as_ref()
            .and_then(|block| block.evidence.as_ref());
        let cubic = record
            .cubic
            .as_ref()
            .and_then(|block| block.evidence.as_ref());
        let of = |evidence: &EvidenceRecord| {
            let regions = evidence.deviations.iter();
            let regions = regions.map(|found| {
                (
                    format!("{} {}", found.quantity, found.region),
                    found.deviation,
                )
            });
            let papers = evidence.data.iter();
            let papers =
                papers.map(|found| (format!("{} {}", found.quantity, found.doi), found.deviation));
            regions.chain(papers).collect::<Vec<_>>()
        };
        multi.into_iter().chain(cubic).flat_map(of).collect()
    }

    /// Every equation compared with the measurements anew: none is worse than it once was, the goals are met, and the records
    /// say what is found.
    #[test]
    fn no_equation_agrees_worse_with_the_measurements_than_before() {
        let files = Files::new();
        let (plans, sources) = (plan::read(&files.data).unwrap(), files.sources().unwrap());
        let mut records = Records::new();
        for (name, plan) in &plans {
            let rows = measurements::rows(&files.data, name).unwrap();
            let mut record = shipped(&files.read(name, plan).unwrap());
            let pair = Pair {
                plan,
                rows: &rows,
                sources: &sources,
            };
            pair.compare(&mut record, &Weights::default()).unwrap();
            assert_eq!(deviations(&record), deviations(&shipped(&record)), "{name}");
            records.insert(name.clone(), record);
        }
        let now = ratchet::figures(&records);
        assert_eq!(ratchet::worse(&now).unwrap(), Vec::<String>::new());
        assert_eq!(now, ratchet::figures(&files.all(&plans).unwrap()));
        for (name, bubbles, densities) in GOALS {
            for (quantity, limits) in [("bubble pressure", bubbles), ("density", densities)] {
                let found = now[name]["multi-fluid"][quantity];
                assert!(
                    found.without_value == 0
                        && found.median <= limits[0]
                        && found.mean <= limits[1],
                    "{name} {quantity}: {found:?}"
                );
            }
        }
    }
}
