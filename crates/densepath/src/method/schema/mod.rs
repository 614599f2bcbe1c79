//! What may stand in a method document: every table and every key, with meaning and units.

mod json;
pub(crate) mod parts;

use std::fmt::Write as _;

use densepath_fluid::Quantity;

use super::reader::{Field, Holds};
pub use json::json_schema;

/// Version of the schema that this library reads.
pub(crate) const VERSION: u64 = 1;

/// One sort of table with its keys.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Table {
    /// Its heading: the name of the table, or the word for the sort of part.
    pub heading: &'static str,
    /// What it means, in words.
    pub meaning: &'static str,
    /// Its keys.
    pub fields: &'static [Field],
}

/// Words for the equation of mixtures.
pub(crate) const MODEL: &[&str] = &["best", "multi-fluid", "cubic"];

/// The keys before the first heading.
pub(crate) const ROOT: Table = Table {
    heading: "document",
    meaning: "a method: one instrument with its mobile phase, in steady flow",
    fields: &[
        Field::required(
            "document",
            Holds::Whole,
            "version of the rules that the document follows, 1",
        ),
        Field::required("title", Holds::Text, "what the method is called"),
        Field::optional(
            "scenario",
            Holds::Text,
            "where it comes from: a real instrument, or an invented one for demonstration",
        ),
        Field::required(
            "fluid",
            Holds::Fluid,
            "what the cylinder holds: a substance such as \"carbon dioxide\", or a mixture",
        ),
        Field::optional(
            "model",
            Holds::Word(MODEL),
            "equation of mixtures: \"best\" takes the multi-fluid equation where every pair has parameters from measurements, else \
             the cubic one; \"best\" if not stated",
        ),
        Field::optional(
            "viscosity_factor",
            Holds::Measure(Quantity::Ratio),
            "what the viscosity of the model is multiplied by all along the path, 1 if not stated: a measured ratio, or, with its \
             uncertainty in a budget, how sure the model is",
        ),
        Field::optional(
            "density_factor",
            Holds::Measure(Quantity::Ratio),
            "what the density of the model is multiplied by at `density_temperature` and `density_pressure`, which it needs, and \
             everywhere by the constant shift of the specific volume that this takes: a measured ratio, or, with its uncertainty in \
             a budget, how sure the model is",
        ),
        Field::optional(
            "density_temperature",
            Holds::Measure(Quantity::Temperature),
            "temperature at which `density_factor` holds, such as that of the column",
        ),
        Field::optional(
            "density_pressure",
            Holds::Measure(Quantity::Pressure),
            "pressure at which `density_factor` holds, of one dense phase",
        ),
        Field::optional(
            "ambient_pressure",
            Holds::Measure(Quantity::Pressure),
            "pressure of the room, from which gauge pressures count and into which the path ends; 101325 Pa if not stated",
        ),
        Field::optional("room", Holds::Table, "the room the instrument stands in"),
        Field::optional(
            "solute",
            Holds::Tables,
            "the solutes whose bands are followed; one alone may stand under [solute]",
        ),
        Field::optional(
            "program",
            Holds::Tables,
            "keys of parts whose values change in time after the injection",
        ),
        Field::required(
            "part",
            Holds::Tables,
            "the parts of the instrument in the order of the flow, from the cylinder to the outlet",
        ),
    ],
};

/// The room.
pub(crate) const ROOM: Table = Table {
    heading: "room",
    meaning: "the room the instrument stands in; with volume and ventilation the gas let out into it is judged",
    fields: &[
        Field::optional(
            "temperature",
            Holds::Measure(Quantity::Temperature),
            "temperature of the room; 20 degC if not stated",
        ),
        Field::optional("volume", Holds::Measure(Quantity::Volume), "volume of air"),
        Field::optional(
            "air_change_rate",
            Holds::Measure(Quantity::Frequency),
            "how often the air is changed",
        ),
    ],
};

/// Words for the law of retention.
pub(crate) const RETENTION: &[&str] = &["constant", "log_linear_in_density", "law"];
/// Words for how a law of retention counts the modifier.
pub(crate) const MODIFIER_BASIS: &[&str] = &["amount_fraction", "mass_fraction"];
/// Words for the diffusion coefficient: stated, or one of the estimates.
pub(crate) const DIFFUSION: &[&str] = &[
    "constant",
    "wilke_chang",
    "scheibel",
    "lusis_ratcliff",
    "he_yu",
    "schmidt_number",
];

/// The solute.
pub(crate) const SOLUTE: Table = Table {
    heading: "solute",
    meaning: "the solute whose band is followed through the path",
    fields: &[
        Field::required("name", Holds::Text, "what it is called"),
        Field::required(
            "retention",
            Holds::Word(RETENTION),
            "law of its retention factor k: the same everywhere; ln k = intercept - slope x density; or \"law\", ln k = a + b density + \
             c density^2 + e/T + s x + q x^2 - n ln x + 2 ln(1 + S2 x) - S1 x/(1 + S2 x) with the terms whose keys are given",
        ),
        Field::optional(
            "retention_factor",
            Holds::Measure(Quantity::RetentionFactor),
            "k, where it is constant",
        ),
        Field::optional(
            "intercept",
            Holds::Measure(Quantity::Ratio),
            "intercept a of ln k, where it depends on anything",
        ),
        Field::optional(
            "slope",
            Holds::Measure(Quantity::SpecificVolume),
            "slope of ln k, where it is log-linear in density",
        ),
        Field::optional(
            "density_min",
            Holds::Measure(Quantity::Density),
            "lowest density of the fit; below it the method is refused",
        ),
        Field::optional(
            "density_max",
            Holds::Measure(Quantity::Density),
            "highest density of the fit; above it the method is refused",
        ),
        Field::optional(
            "density_coefficient",
            Holds::Measure(Quantity::SpecificVolume),
            "b of a law, of the density; negative as a rule",
        ),
        Field::optional(
            "density_squared_coefficient",
            Holds::Measure(Quantity::SquaredSpecificVolume),
            "c of a law, of the square of the density",
        ),
        Field::optional(
            "reciprocal_temperature_coefficient",
            Holds::Measure(Quantity::TemperatureDifference),
            "e of a law, of 1/T",
        ),
        Field::optional(
            "modifier_coefficient",
            Holds::Measure(Quantity::Ratio),
            "s of a law, of the fraction x of the modifier; negative as a rule",
        ),
        Field::optional(
            "modifier_squared_coefficient",
            Holds::Measure(Quantity::Ratio),
            "q of a law, of x^2",
        ),
        Field::optional(
            "log_modifier_exponent",
            Holds::Measure(Quantity::Ratio),
            "n of a law, of -ln x",
        ),
        Field::optional(
            "gradient_slope",
            Holds::Measure(Quantity::Ratio),
            "S1 of a law in the form of Neue and Kuss",
        ),
        Field::optional(
            "gradient_curvature",
            Holds::Measure(Quantity::Ratio),
            "S2 of a law in the form of Neue and Kuss",
        ),
        Field::optional(
            "modifier_basis",
            Holds::Word(MODIFIER_BASIS),
            "what x is; \"amount_fraction\" if not stated",
        ),
        Field::optional(
            "temperature_min",
            Holds::Measure(Quantity::Temperature),
            "lowest temperature of the fit of a law",
        ),
        Field::optional(
            "temperature_max",
            Holds::Measure(Quantity::Temperature),
            "highest temperature of the fit of a law",
        ),
        Field::optional(
            "modifier_min",
            Holds::Measure(Quantity::Ratio),
            "smallest x of the fit of a law",
        ),
        Field::optional(
            "modifier_max",
            Holds::Measure(Quantity::Ratio),
            "largest x of the fit of a law",
        ),
        Field::required(
            "diffusion",
            Holds::Word(DIFFUSION),
            "how its diffusion coefficient in the mobile phase is known: stated, or an estimate from its molar volume",
        ),
        Field::optional(
            "diffusion_coefficient",
            Holds::Measure(Quantity::DiffusionCoefficient),
            "diffusion coefficient, where it is stated",
        ),
        Field::optional(
            "diffusion_factor",
            Holds::Measure(Quantity::Ratio),
            "what an estimated diffusion coefficient is multiplied by, 1 if not stated: a measured one, or, with its uncertainty in a \
             budget, how sure the estimate is",
        ),
        Field::optional(
            "molar_volume",
            Holds::Measure(Quantity::MolarVolume),
            "molar volume at the normal boiling point, for an estimate",
        ),
        Field::optional(
            "molar_mass",
            Holds::Measure(Quantity::MolarMass),
            "molar mass, for the estimates `he_yu` and `schmidt_number` and with `diffusion_volume`",
        ),
        Field::optional(
            "diffusion_volume",
            Holds::Measure(Quantity::MolarVolume),
            "diffusion volume of Fuller, Ensley and Giddings, which spreads the band in thin gas behind the part that lets the pressure \
             go: in cm3/mol 15.9 for each atom C, 2.31 H, 6.11 O, 4.54 N, 14.7 F, 21.0 Cl, 21.9 Br, 29.8 I, 22.9 S, less 18.3 for each \
             aromatic or heterocyclic ring; needs `molar_mass`",
        ),
        Field::optional(
            "melting_temperature",
            Holds::Measure(Quantity::Temperature),
            "melting point; a restrictor whose tip comes below it is told to plug",
        ),
    ],
};

/// Words for the shapes of a segment of a program.
pub(crate) const SHAPES: &[&str] = &["linear", "convex", "concave", "step"];

/// A key of a part that changes in time.
pub(crate) const PROGRAM: Table = Table {
    heading: "program",
    meaning: "a key of a part whose value changes in time after the injection, from time to time in straight or bent segments",
    fields: &[
        Field::required("part", Holds::Text, "name of the part"),
        Field::required(
            "key",
            Holds::Text,
            "its key, one that holds a value with a unit",
        ),
        Field::required("time", Holds::Measures, "times after the injection, rising"),
        Field::optional(
            "value",
            Holds::Measures,
            "the values at these times; this or `density`",
        ),
        Field::optional(
            "density",
            Holds::Measures,
            "densities at these times, of a key that is a pressure: the pressures that give them follow, within 0.1 %; needs `temperature`",
        ),
        Field::optional(
            "temperature",
            Holds::Measures,
            "temperatures at which these densities are meant, one for each or one for all",
        ),
        Field::optional(
            "shape",
            Holds::Words(SHAPES),
            "shape of each segment, one less than times: \"convex\" starts slowly, as the square of the time, \"concave\" ends slowly, \
             \"step\" keeps the value until the last thousandth of the segment; \"linear\" if not stated. Equal values hold",
        ),
    ],
};

/// The keys that every part has.
pub(crate) const COMMON: &[Field] = &[
    Field::required("kind", Holds::Word(parts::KINDS), "what the part is"),
    Field::required(
        "name",
        Holds::Text,
        "what it is called; each name only once",
    ),
    Field::optional(
        "branch_of",
        Holds::Text,
        "name of the part at whose outlet a branch begins that this part stands in; parts of the same branch stand in the order of the \
         flow, and one of them holds the pressure. What flows there follows from the pressure at the tee, and the bands are followed to \
         every detector",
    ),
];

/// The key that tells the sort of a part.
pub(crate) const KIND: Field =
    Field::required("kind", Holds::Word(parts::KINDS), "what the part is");

/// Every table and key of the document, as text in Markdown.
///
/// ```
/// let text = densepath::method::schema::description();
/// assert!(text.contains("| `counted_at` | \"suction\", \"delivery\", \"oven\", \"normal\" |"));
/// ```
pub fn description() -> String {
    let mut text = String::new();
    for table in [&ROOT, &ROOM, &SOLUTE, &PROGRAM] {
        let heading = if table.heading == ROOT.heading {
            "Before the first heading".to_owned()
        } else {
            match table.heading {
                "program" | "solute" => format!("`[[{}]]`", table.heading),
                heading => format!("`[{heading}]`"),
            }
        };
        describe(&mut text, &heading, table.meaning, table.fields);
    }
    describe(
        &mut text,
        "`[[part]]`, every kind",
        "what every part has",
        COMMON,
    );
    for table in parts::PARTS {
        let heading = format!("`[[part]]`, `kind = \"{}\"`", table.heading);
        describe(&mut text, &heading, table.meaning, table.fields);
    }
    text
}

fn describe(text: &mut String, heading: &str, meaning: &str, fields: &[Field]) {
    // Writing to a String cannot fail.
    let _ = writeln!(text, "### {heading}\n\n{meaning}\n");
    if fields.is_empty() {
        return;
    }
    let _ = writeln!(
        text,
        "| key | holds | needed | meaning |\n|---|---|---|---|"
    );
    for field in fields {
        let holds = match field.holds {
            Holds::Word(words) => format!("\"{}\"", words.join("\", \"")),
            Holds::Measure(_) => field.expected(),
            Holds::Text => "text".to_owned(),
            Holds::Fluid => "name of a substance, or table of amount fractions".to_owned(),
            Holds::Boolean => "true, false".to_owned(),
            Holds::Whole => "whole number".to_owned(),
            Holds::Table => "table".to_owned(),
            Holds::Tables => "list of tables".to_owned(),
            Holds::Measures => "list of values with units".to_owned(),
            Holds::Words(words) => format!("list of \"{}\"", words.join("\", \"")),
        };
        let needed = if field.required { "yes" } else { "no" };
        let _ = writeln!(
            text,
            "| `{}` | {holds} | {needed} | {} |",
            field.key, field.meaning
        );
    }
    text.push('\n');
}

#[cfg(test)]
mod tests {
    use super::*;
    use densepath_fluid::ModelChoice;
    use densepath_fluid::transport::diffusion::DiffusionModel;

    #[test]
    fn the_list_of_kinds_is_that_of_the_parts() {
        let kinds: Vec<_> = parts::PARTS.iter().map(|table| table.heading).collect();
        assert_eq!(parts::KINDS, kinds);
    }

    #[test]
    fn the_estimates_of_diffusion_are_those_of_the_library() {
        let estimates: Vec<_> = DiffusionModel::ALL.iter().map(|law| law.name()).collect();
        assert_eq!(DIFFUSION[1..], estimates);
    }

    #[test]
    fn the_detectors_of_a_cell_are_those_of_the_dense_side() {
        use crate::hardware::{Side, detectors};
        let dense = detectors()
            .unwrap()
            .iter()
            .filter(|detector| detector.side == Side::Dense);
        let names: Vec<_> = dense.map(|detector| detector.name.as_str()).collect();
        assert_eq!(parts::DENSE_DETECTOR, names);
    }

    #[test]
    fn the_models_of_mixtures_are_those_of_the_library() {
        let models: Vec<_> = ModelChoice::ALL.iter().map(|model| model.name()).collect();
        assert_eq!(MODEL, models);
    }

    #[test]
    fn keys_are_unique_in_their_table() {
        let tables = [ROOT, ROOM, SOLUTE, PROGRAM];
        for table in tables.iter().chain(parts::PARTS) {
            let mut keys: Vec<_> = table
                .fields
                .iter()
                .chain(
                    COMMON
                        .iter()
                        .filter(|_| parts::KINDS.contains(&table.heading)),
                )
                .map(|field| field.key)
                .collect();
            let count = keys.len();
            keys.sort_unstable();
            keys.dedup();
            assert_eq!(keys.len(), count, "{}", table.heading);
        }
    }

    #[test]
    fn the_description_names_every_key() {
        let text = description();
        for table in [ROOT, ROOM, SOLUTE].iter().chain(parts::PARTS) {
            for field in table.fields {
                assert!(text.contains(&format!("| `{}` |", field.key)));
            }
        }
    }
}
