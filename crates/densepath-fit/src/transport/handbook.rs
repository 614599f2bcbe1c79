//! Curves over the residual entropy of substances without a published correlation: fitted to the boiling liquid of a handbook.
//!
//! The table knows the liquid alone, whose residual entropy is high. Where it is low, in dense gas and in most mixtures with
//! carbon dioxide, the curve is held near those of like substances with a correlation, which lie close together. How well such
//! a curve carries the boiling liquid to other pressures is told by the same fit of substances whose correlation is known.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use densepath_fluid::fluids::record::{Range, Source};
use densepath_fluid::transport::Dense;
use densepath_fluid::{Fluid, ModelChoice, Quantity, State};
use serde::Deserialize;

use super::{Residual, curve, digits, halton};
use crate::pure::file::{self, Target};
use crate::pure::least_squares::minimize;

/// Exponents of the residual entropy.
const EXPONENTS: [f64; 5] = [1.0, 1.5, 2.0, 2.5, 3.0];
/// Temperatures of a boiling liquid.
const POINTS: u32 = 24;
/// Up to this share of the critical temperature a cubic equation has a liquid worth its name.
const LIQUID: f64 = 0.9;
/// Relative deviation of a value of the table that weighs as much as the spread of like curves.
const OF_TABLE: f64 = 0.01;
/// Residual entropies at which the curve is held near the like ones.
const LOW: [f64; 6] = [0.25, 0.5, 1.0, 1.5, 2.0, 3.0];
/// Lowest temperature of a sample in K: colder liquids are so viscous that they would bend the curve for all others.
const COLDEST: f64 = 230.0;
/// Temperatures of use in K.
const LOWEST: f64 = 250.0;
const HIGHEST: f64 = 550.0;
/// Highest pressure in Pa, and the one to which the table speaks for the liquid.
const HIGHEST_PRESSURE: f64 = 1e8;
const NEAR_SATURATION: f64 = 1e7;
/// Expanded uncertainty of a value of the handbook, which states none, where nothing else tells more: common practice, no source.
const LEAST: f64 = 0.05;
/// Two equations that differ by less come from the same values.
const SAME: f64 = 0.003;
/// States at which a like fit is compared with a correlation, their temperatures in K and highest pressure in Pa.
const PEER_STATES: u32 = 200;
const PEER_TEMPERATURES: [f64; 2] = [270.0, 420.0];
const PEER_PRESSURE: f64 = 6e7;
/// Density over the critical one above which they count: the fluid of a pump or column.
const DENSE: f64 = 1.0;

/// What is to be fitted.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Plan {
    /// The handbook.
    source: Source,
    /// Substances with a correlation, by which the fit is judged.
    peers: Vec<String>,
    /// Like substances.
    like: Like,
    /// The substances.
    substances: Vec<Planned>,
}

/// Names of substances with a correlation whose curves are like those sought.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Like {
    /// For alcohols.
    alcohols: Vec<String>,
    /// For all others.
    others: Vec<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Planned {
    name: String,
    /// The properties sought, by the name of their block, with what deviations do not tell of their uncertainty.
    blocks: BTreeMap<String, Doubt>,
}

/// What deviations do not tell of an uncertainty.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct Doubt {
    /// Least expanded uncertainty near saturation, and elsewhere.
    near: f64,
    elsewhere: f64,
    /// What a reader must know.
    note: String,
}

/// A row of a table: five constants and the range in K.
#[derive(Debug, Clone, Deserialize)]
struct Row {
    substance: String,
    #[serde(alias = "equation")]
    table: String,
    #[serde(rename = "C1", alias = "A")]
    c_1: f64,
    #[serde(rename = "C2", alias = "B")]
    c_2: f64,
    #[serde(rename = "C3", alias = "C")]
    c_3: f64,
    #[serde(rename = "C4", alias = "D")]
    c_4: f64,
    #[serde(rename = "C5", alias = "E")]
    c_5: f64,
    #[serde(rename = "T_min / K")]
    temperature_min: Option<f64>,
    #[serde(rename = "T_max / K")]
    temperature_max: Option<f64>,
}

impl Row {
    fn range(&self) -> [f64; 2] {
        [
            self.temperature_min.unwrap_or(0.0),
            self.temperature_max.unwrap_or(f64::INFINITY),
        ]
    }

    /// Viscosity in Pa s or conductivity in W/(m K) at a temperature in K; not a number for an equation that is not known.
    fn at(&self, t: f64) -> f64 {
        let (a, b, c, d, e) = (self.c_1, self.c_2, self.c_3, self.c_4, self.c_5);
        let polynomial = a + t * (b + t * (c + t * (d + t * e)));
        match self.table.as_str() {
            "2-312" | "2-314" => a * t.powf(b) / (1.0 + c / t + d / (t * t)),
            "2-313" => (a + b / t + c * t.ln() + d * t.powf(e)).exp(),
            "2-315" | "the VDI Heat Atlas (2010), conductivity" => polynomial,
            "the VDI Heat Atlas (2010), viscosity" => {
                let x = (c - t) / (t - d);
                e * (a * x.cbrt() + b * x.cbrt() * x).exp()
            }
            "Viswanath and Natarajan (1989)" | "Dutt and Prasad (2007)" => {
                1e-3 * 10_f64.powf(a + b / (c - t))
            }
            _ => f64::NAN,
        }
    }
}

/// A transport property with the numbers of its tables.
struct Property {
    block: &'static str,
    quantity: Quantity,
    gas: &'static str,
    liquid: &'static str,
    /// The equations that the liquid of the table is compared with.
    others: &'static [&'static str],
    residual: Residual,
    /// Spread of like curves, over the residual entropy.
    spread: f64,
    /// What the gas is beyond a product of powers.
    form: &'static str,
}

const PROPERTIES: [Property; 2] = [
    Property {
        block: "viscosity",
        quantity: Quantity::DynamicViscosity,
        gas: "2-312",
        liquid: "2-313",
        others: &[
            "the VDI Heat Atlas (2010), viscosity",
            "Viswanath and Natarajan (1989)",
            "Dutt and Prasad (2007)",
        ],
        residual: Dense::residual_viscosity,
        spread: 0.05,
        form: "",
    },
    Property {
        block: "thermal_conductivity",
        quantity: Quantity::ThermalConductivity,
        gas: "2-314",
        liquid: "2-315",
        others: &["the VDI Heat Atlas (2010), conductivity"],
        residual: Dense::residual_conductivity,
        spread: 0.1,
        form: "\"form\": \"product\",\n        ",
    },
];

/// The handbook and what it is compared with.
struct Library {
    plan: Plan,
    tables: Vec<Row>,
    others: Vec<Row>,
}

fn path(file: &str) -> PathBuf {
    PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/data/transport")).join(file)
}

fn rows(file: &str) -> Result<Vec<Row>, String> {
    let path = path(file);
    let place = |error: csv::Error| format!("{}: {error}", path.display());
    let mut reader = csv::Reader::from_path(&path).map_err(place)?;
    reader.deserialize().map(|row| row.map_err(place)).collect()
}

impl Library {
    fn read() -> Result<Self, String> {
        let path = path("plan.json");
        let place = |error: &dyn std::fmt::Display| format!("{}: {error}", path.display());
        let text = fs::read_to_string(&path).map_err(|error| place(&error))?;
        Ok(Self {
            plan: serde_json::from_str(&text).map_err(|error| place(&error))?,
            tables: rows("handbook.csv")?,
            others: rows("compared.csv")?,
        })
    }

    fn row(&self, name: &str, table: &str) -> Result<&Row, String> {
        let of = |row: &&Row| row.substance == name && row.table == table;
        self.tables
            .iter()
            .find(of)
            .ok_or_else(|| format!("{name}: no row of table {table}"))
    }

    /// The curves that are like the one of a substance.
    fn like(&self, name: &str) -> impl Iterator<Item = &String> {
        let like = &self.plan.like;
        let chosen = if name.ends_with("ol") {
            &like.alcohols
        } else {
            &like.others
        };
        chosen.iter().filter(move |other| *other != name)
    }
}

/// Fits what the plan asks for of the substances named, or of all.
pub fn run(target: Target, names: &[&String]) -> Result<(), String> {
    let library = Library::read()?;
    let wanted = |planned: &&Planned| names.is_empty() || names.contains(&&planned.name);
    let planned: Vec<&Planned> = library.plan.substances.iter().filter(wanted).collect();
    if planned.is_empty() {
        return Ok(());
    }
    for property in &PROPERTIES {
        let judged = judge(&library, property)?;
        println!(
            "{}: the same fit of {} substances with a correlation, mean {:.3}, 95 of 100 below {:.3}",
            property.block, judged.substances, judged.mean, judged.high
        );
        for planned in &planned {
            if let Some(doubt) = planned.blocks.get(property.block) {
                let fluid = Fluid::new(&planned.name).map_err(|error| error.to_string())?;
                let fitted = Fitted::of(&library, property, &fluid)?;
                let block = fitted
                    .block(&library, doubt, &judged)
                    .ok_or_else(|| format!("{}: no liquid", planned.name))?;
                file::put_block(&planned.name, property.block, &block, target)?;
            }
        }
    }
    Ok(())
}

/// The boiling liquid at one temperature.
struct Sample {
    temperature: f64,
    dense: Dense,
    gas: f64,
    value: f64,
}

/// A curve with its data.
struct Fitted<'a> {
    property: &'a Property,
    name: String,
    valid: Range,
    gas: &'a Row,
    samples: Vec<Sample>,
    terms: Vec<f64>,
    mean: f64,
    high: f64,
}

/// An equation of the boiling liquid that the table was compared with.
struct Compared {
    with: String,
    /// In K.
    temperatures: [f64; 2],
    largest: f64,
}

impl Compared {
    fn sentence(&self) -> String {
        let Self {
            with,
            temperatures: [from, to],
            largest,
        } = self;
        if *largest < SAME {
            return format!(
                "The equation of {with} gives the same values, so that it is no second opinion."
            );
        }
        let largest = percent(*largest);
        format!(
            "The table differs from the equation of {with}, as the same package carries it, by {largest} % at most from \
             {from:.0} to {to:.0} K."
        )
    }
}

/// How far a curve is from correlations that it has not seen.
struct Judged {
    substances: usize,
    mean: f64,
    high: f64,
}

impl<'a> Fitted<'a> {
    fn of(library: &'a Library, property: &'a Property, fluid: &Fluid) -> Result<Self, String> {
        let name = fluid.name();
        let place =
            |error: densepath_fluid::Error| format!("{} of {name}: {error}", property.block);
        let gas = library.row(name, property.gas)?;
        let liquid = library.row(name, property.liquid)?;
        let samples = samples(fluid, gas, liquid).map_err(place)?;
        let like = like_curve(library, property, name)?;
        let residuals = |terms: &[f64]| -> Vec<f64> {
            let of_table = missed(property, &samples, terms);
            let weight = (f64::from(POINTS) / samples.len() as f64).sqrt() / OF_TABLE;
            let of_like = LOW.iter().zip(&like);
            let of_like = of_like
                .map(|(s, like)| (curve(terms, &EXPONENTS, *s) - like) / (property.spread * s));
            of_table.map(|miss| weight * miss).chain(of_like).collect()
        };
        let found = minimize(&[0.5, 0.1, -0.05, 0.01, 0.0], residuals)
            .map_err(|error| format!("{} of {name}: {error}", property.block))?;
        let terms: Vec<f64> = found.iter().map(|c| digits(*c, 7)).collect();
        let mut deviations: Vec<f64> = missed(property, &samples, &terms).map(f64::abs).collect();
        let (mean, high) = mean_and_high(&mut deviations);
        let range = fluid.range();
        Ok(Self {
            property,
            name: name.to_owned(),
            valid: Range {
                temperature_min: range.temperature_min,
                temperature_max: range.temperature_max.max(HIGHEST),
                pressure_max: HIGHEST_PRESSURE,
            },
            gas,
            samples,
            terms,
            mean,
            high,
        })
    }

    /// What lies farthest from the table of the liquid among other equations at the temperatures of use.
    fn compared(&self, library: &Library) -> Option<Compared> {
        let others = library.others.iter();
        let of = |row: &&Row| {
            row.substance == self.name && self.property.others.contains(&row.table.as_str())
        };
        let found = others.filter(of).filter_map(|row| self.compared_with(row));
        found.max_by(|one, other| one.largest.total_cmp(&other.largest))
    }

    fn compared_with(&self, row: &Row) -> Option<Compared> {
        let [low, high] = self.temperatures_of_use()?;
        let [low_of_row, high_of_row] = row.range();
        let (low, high) = (low.max(low_of_row), high.min(high_of_row));
        let inside = |sample: &&Sample| (low..=high).contains(&sample.temperature);
        let apart = |sample: &Sample| (sample.value / row.at(sample.temperature) - 1.0).abs();
        let samples = self.samples.iter();
        Some(Compared {
            with: row.table.split(", ").next()?.to_owned(),
            temperatures: [low, high],
            largest: samples.filter(inside).map(apart).reduce(f64::max)?,
        })
    }

    /// The block of the data file.
    fn block(&self, library: &Library, doubt: &Doubt, judged: &Judged) -> Option<String> {
        let Source {
            authors,
            title,
            journal,
            year,
            ..
        } = &library.plan.source;
        let Range {
            temperature_min,
            temperature_max,
            pressure_max,
        } = self.valid;
        let (gas, form) = (self.gas, self.property.form);
        let note = self.note(library)?;
        let uncertainty = self.uncertainty(library, doubt, judged)?;
        let denominator = denominator(gas);
        let terms: Vec<String> = self
            .terms
            .iter()
            .zip(EXPONENTS)
            .map(|(c, t)| format!("[{c}, {t}]"))
            .collect();
        Some(format!(
            "{{
    \"name\": \"residual-entropy scaling of handbook values\",
    \"source\": {{
      \"authors\": \"{authors}\",
      \"title\": \"{title}\",
      \"journal\": \"{journal}\",
      \"year\": {year},
      \"note\": \"{note}\"
    }},
    \"valid\": {{ \"T_min / K\": {temperature_min}, \"T_max / K\": {temperature_max}, \"p_max / Pa\": {pressure_max:.1} }},
    \"uncertainty\": {uncertainty},
    \"dilute\": [
      {{
        {form}\"T_reducing / K\": 1,
        \"numerator\": {{ \"powers\": [[{}, {}]] }}{denominator}
      }}
    ],
    \"parts\": [],
    \"entropy_scaling\": {{
      \"note\": \"Fitted here to the liquid of the handbook.\",
      \"mean_deviation\": {},
      \"deviation_95\": {},
      \"terms\": [{}]
    }}
  }}",
            gas.c_1,
            gas.c_2,
            digits(self.mean, 1),
            digits(self.high, 1),
            terms.join(", ")
        ))
    }

    /// Where the numbers come from.
    fn note(&self, library: &Library) -> Option<String> {
        let [low, high] = self.temperatures()?;
        let [low_of_gas, high_of_gas] = self.gas.range();
        let like: Vec<&str> = library.like(&self.name).map(String::as_str).collect();
        let like = like.join(", ");
        let Property { gas, liquid, .. } = self.property;
        Some(format!(
            "Limit of zero density of table {gas}, which ends at {low_of_gas} and {high_of_gas} K. The dense fluid follows the \
             residual entropy of the equation of state, by a curve fitted by this project (crates/densepath-fit/data/transport) to \
             table {liquid} of the liquid from {low:.0} to {high:.0} K along the saturation line; where that entropy is low the \
             curve is held near those of {like}. Coefficients as the Python package chemicals 1.5.2 carries them."
        ))
    }

    /// The uncertainty: near saturation by the table and what it was compared with, elsewhere by the fits of substances whose
    /// correlation is known.
    fn uncertainty(&self, library: &Library, doubt: &Doubt, judged: &Judged) -> Option<String> {
        let [low, high] = self.temperatures_of_use()?;
        let compared = self.compared(library);
        let apart = compared.as_ref().map_or(0.0, |known| known.largest);
        let near = doubt.near.max(LEAST).max(2.0 * self.high).max(apart);
        let far = near.hypot(judged.high).max(doubt.elsewhere);
        let [near, far, beyond] = [near, far, 2.0 * far].map(upwards);
        let Judged {
            substances,
            mean,
            high: off,
        } = judged;
        let (mean, off) = (percent(*mean), percent(*off));
        let [coldest, hottest] = PEER_TEMPERATURES;
        let highest = 1e-6 * PEER_PRESSURE;
        let met = percent(self.high);
        let is_conductivity = self.property.quantity == Quantity::ThermalConductivity;
        let sentences = [
            format!("An estimate. The curve meets the table within {met} % (95 of 100)."),
            compared.map_or_else(String::new, |known| known.sentence()),
            format!(
                "How it depends on pressure is the model's: the same fit of {substances} substances with a published correlation \
                 meets these within {mean} % on average and {off} % (95 of 100) from {coldest:.0} to {hottest:.0} K and to \
                 {highest:.0} MPa; beyond that pressure twice the figure is stated."
            ),
            if is_conductivity {
                "The critical enhancement is left out."
            } else {
                ""
            }
            .to_owned(),
            doubt.note.clone(),
        ];
        let told: Vec<String> = sentences
            .into_iter()
            .filter(|words| !words.is_empty())
            .collect();
        let note = told.join(" ");
        let Range {
            temperature_min,
            temperature_max,
            ..
        } = self.valid;
        Some(format!(
            "{{
      \"note\": \"{note}\",
      \"coverage_factor\": 2,
      \"regions\": [
        {{ \"phase\": \"liquid\", \"T_min / K\": {low:.0}, \"T_max / K\": {high:.0}, \"p_max / Pa\": {NEAR_SATURATION:.1}, \"relative\": {near} }},
        {{ \"T_min / K\": {temperature_min}, \"T_max / K\": {temperature_max}, \"p_max / Pa\": {PEER_PRESSURE:.1}, \"relative\": {far} }}
      ],
      \"elsewhere\": {beyond}
    }}"
        ))
    }

    /// As [`Fitted::temperatures`], without those lower than of use.
    fn temperatures_of_use(&self) -> Option<[f64; 2]> {
        let [low, high] = self.temperatures()?;
        Some([low.max(LOWEST), high])
    }

    /// Lowest and highest temperature of the liquid in K, within which whole numbers are.
    fn temperatures(&self) -> Option<[f64; 2]> {
        let (first, last) = (self.samples.first()?, self.samples.last()?);
        Some([first.temperature.ceil(), last.temperature.floor()])
    }
}

/// The denominator `1 + C3/T + C4/T^2` of a gas, where it is none of one.
fn denominator(gas: &Row) -> String {
    let powers: Vec<String> = [(1.0, 0), (gas.c_3, -1), (gas.c_4, -2)]
        .iter()
        .filter(|(c, _)| *c != 0.0)
        .map(|(c, power)| format!("[{c}, {power}]"))
        .collect();
    if powers.len() == 1 {
        return String::new();
    }
    let powers = powers.join(", ");
    format!(",\n        \"denominators\": [{{ \"powers\": [{powers}] }}]")
}

/// The boiling liquid of a table where the equation of state has one too.
fn samples(fluid: &Fluid, gas: &Row, liquid: &Row) -> densepath_fluid::Result<Vec<Sample>> {
    let [low, high] = liquid.range();
    let low = low.max(COLDEST).max(fluid.saturation_temperature_min()?);
    let critical = fluid.critical_point()?.temperature;
    let high = high
        .min(fluid.range().temperature_max)
        .min(LIQUID * critical);
    let at = |step: u32| low + (high - low) * f64::from(step) / f64::from(POINTS - 1);
    (0..POINTS)
        .map(|step| {
            let temperature = at(step);
            let boiling = fluid.saturation_at_temperature(temperature)?;
            Ok(Sample {
                temperature,
                dense: boiling.liquid.dense()?,
                gas: gas.at(temperature),
                value: liquid.at(temperature),
            })
        })
        .collect()
}

/// Relative deviations of a curve from the samples.
fn missed(property: &Property, samples: &[Sample], terms: &[f64]) -> impl Iterator<Item = f64> {
    samples.iter().map(move |sample| {
        let logarithm = curve(terms, &EXPONENTS, sample.dense.residual_entropy);
        (sample.gas + (property.residual)(&sample.dense, logarithm)) / sample.value - 1.0
    })
}

/// Mean of the curves of like substances at the low residual entropies.
fn like_curve(library: &Library, property: &Property, name: &str) -> Result<Vec<f64>, String> {
    let curves: Vec<Vec<f64>> = library
        .like(name)
        .map(|other| stored(other, property))
        .collect::<Result<_, _>>()?;
    let mean =
        |place: usize| curves.iter().map(|curve| curve[place]).sum::<f64>() / curves.len() as f64;
    Ok((0..LOW.len()).map(mean).collect())
}

/// The curve of a substance with a correlation at the low residual entropies.
fn stored(name: &str, property: &Property) -> Result<Vec<f64>, String> {
    let text = fs::read_to_string(file::path(name)).map_err(|error| format!("{name}: {error}"))?;
    let record: serde_json::Value =
        serde_json::from_str(&text).map_err(|error| format!("{name}: {error}"))?;
    let terms = &record[property.block]["entropy_scaling"]["terms"];
    let terms: Vec<[f64; 2]> =
        serde_json::from_value(terms.clone()).map_err(|error| format!("{name}: {error}"))?;
    let at = |s: &f64| terms.iter().map(|[c, t]| c * s.powf(*t)).sum();
    Ok(LOW.iter().map(at).collect())
}

/// Fits the substances whose correlation is known in the same way, by the cubic equation, and compares in dense fluid.
fn judge(library: &Library, property: &Property) -> Result<Judged, String> {
    let mut deviations = Vec::new();
    let mut substances = 0;
    for name in &library.plan.peers {
        let place = |error: densepath_fluid::Error| format!("{name}: {error}");
        let known = Fluid::new(name).map_err(place)?;
        let cubic = Fluid::new_with_model(name, ModelChoice::Cubic).map_err(place)?;
        let fitted = Fitted::of(library, property, &cubic)?;
        let found = (1..=PEER_STATES).filter_map(|index| fitted.apart(&known, &cubic, index));
        let before = deviations.len();
        deviations.extend(found.map(f64::abs));
        if deviations.len() > before {
            substances += 1;
        }
    }
    let (mean, high) = mean_and_high(&mut deviations);
    Ok(Judged {
        substances,
        mean,
        high,
    })
}

impl Fitted<'_> {
    /// Relative deviation from the correlation at one of a sequence of states; nothing where the fluid is thin or has none.
    fn apart(&self, known: &Fluid, cubic: &Fluid, index: u32) -> Option<f64> {
        let [low, high] = PEER_TEMPERATURES;
        let temperature = low + (high - low) * halton(index, 2);
        let pressure = PEER_PRESSURE * halton(index, 3);
        let state = State::from_tp(known, temperature, pressure).ok()?;
        if state.density() < DENSE * known.critical_point().ok()?.density {
            return None;
        }
        let dense = State::from_tp(cubic, temperature, pressure)
            .ok()?
            .dense()
            .ok()?;
        let logarithm = curve(&self.terms, &EXPONENTS, dense.residual_entropy);
        let value = self.gas.at(temperature) + (self.property.residual)(&dense, logarithm);
        Some(value / state.get(self.property.quantity).ok()? - 1.0)
    }
}

/// Mean of sizes, and the one that 95 of 100 stay below.
fn mean_and_high(deviations: &mut [f64]) -> (f64, f64) {
    deviations.sort_by(f64::total_cmp);
    let count = deviations.len();
    let mean = deviations.iter().sum::<f64>() / count as f64;
    (
        mean,
        deviations
            .get(count * 95 / 100)
            .copied()
            .unwrap_or(f64::NAN),
    )
}

/// An uncertainty rounded upwards to a whole percent.
fn upwards(relative: f64) -> f64 {
    digits((100.0 * relative - 1e-9).ceil() / 100.0, 4)
}

fn percent(relative: f64) -> String {
    format!("{:.1}", 100.0 * relative)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the records state for the dependence on pressure is what fits of known substances miss, and the stored blocks are what
    /// the program writes.
    #[test]
    fn curves_carry_the_boiling_liquid_to_pressure() {
        let library = Library::read().unwrap();
        for (property, mean, high) in [(&PROPERTIES[0], 0.06, 0.15), (&PROPERTIES[1], 0.03, 0.07)] {
            let judged = judge(&library, property).unwrap();
            assert_eq!(judged.substances, library.plan.peers.len());
            assert!(
                judged.mean < mean && judged.high < high,
                "{} {}",
                judged.mean,
                judged.high
            );
        }
        run(Target::Check, &[]).unwrap();
    }

    /// The Python package chemicals 1.5.2, which carries the equations of both files: dichloromethane at 298.15 K.
    #[test]
    fn equations_are_read_as_they_are_meant() {
        let library = Library::read().unwrap();
        for (table, expected) in [
            ("2-312", 1.049_902_965_161_149_2e-5),
            ("2-313", 4.133_519_796_537_443_6e-4),
            ("2-314", 7.842_239_398_308_899e-3),
            ("2-315", 0.138_989_271),
            (
                "the VDI Heat Atlas (2010), viscosity",
                4.126_048_435_121_987_4e-4,
            ),
            ("Viswanath and Natarajan (1989)", 4.129_863_344_639_970_3e-4),
        ] {
            let mut rows = library.tables.iter().chain(&library.others);
            let of = |row: &&Row| row.substance == "dichloromethane" && row.table == table;
            let value = rows.find(of).unwrap().at(298.15);
            assert!((value / expected - 1.0).abs() < 1e-9, "{table} {value}");
        }
    }
}
