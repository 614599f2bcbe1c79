//! The examples of the method document, changed in every way the schema allows.

use super::*;
use crate::flow::retention::{ModifierBasis, Span, Term};
use crate::hardware::Retention;
use densepath_fluid::NoticeCode;
use densepath_fluid::units::{BAR, GRAM_PER_MINUTE, MILLIGRAM_PER_MINUTE};
use proptest::prelude::*;

pub(super) const PACKED: &str = include_str!("../../../../tests/methods/packed.toml");
pub(super) const CAPILLARY: &str = include_str!("../../../../tests/methods/capillary.toml");
pub(super) const MODIFIED: &str = include_str!("../../../../tests/methods/packed_modifier.toml");

pub(super) fn close(a: f64, b: f64, relative: f64) -> bool {
    (a - b).abs() <= relative * b.abs()
}

/// The same instrument in an independent computation with CoolProp 8.0.0, scipy 1.17.1 and fluids 1.3.1.
#[test]
fn the_packed_example_is_read_and_solved() {
    let solution = read_method(PACKED).unwrap().solve().unwrap();
    assert!(close(solution.delivery_pressure, 193.608 * BAR, 2e-3));
    assert!(close(
        solution.mass_flow_rate,
        2.99376 * GRAM_PER_MINUTE,
        2e-3
    ));
    let column = &solution.columns[0];
    assert!(close(column.pressure_drop, 27.7719 * BAR, 2e-3));
    assert!((column.outlet.temperature() - 311.183).abs() < 0.02);
    let bands = solution.bands.unwrap();
    assert!(close(bands.retention_time, 112.566, 2e-3));
    assert!(close(bands.column_plate_number, 21_699.2, 2e-3));
}

/// The same instrument in an independent computation with CoolProp 8.0.0 and scipy 1.17.1.
#[test]
fn the_capillary_example_is_read_and_solved() {
    let solution = read_method(CAPILLARY).unwrap().solve().unwrap();
    let flow = solution.mass_flow_rate / MILLIGRAM_PER_MINUTE;
    assert!(close(flow, 1.12263, 2e-3), "{flow}");
    let bands = solution.bands.unwrap();
    assert!(close(bands.retention_time, 2011.97, 2e-3));
    assert!(close(bands.column_plate_number, 63_749.0, 2e-3));
}

/// Changes of the packed example: a line, and what takes its place.
const CHANGES: &[(&str, &str)] = &[
    (
        "[room]",
        "ambient_pressure = \"97 kPa\"\nviscosity_factor = 1.01\ndensity_factor = 1.002\ndensity_temperature = \"40 degC\"\n\
         density_pressure = \"150 bar\"\n[room]",
    ),
    (
        "mass = \"28 kg\"",
        "mass = \"28 kg\"\nwithdrawal = \"liquid\"",
    ),
    (
        "pressure_drop = \"1.5 bar\"",
        "pressure_drop = \"1.5 bar\"\nheight = \"-1 m\"\naccelerated_length = \"2 m\"\nacceleration = \"0.5 m/s2\"",
    ),
    (
        "length = \"30 cm\"",
        "length = \"30 cm\"\nloss_coefficient = 1.5",
    ),
    (
        "drawn_volume = \"30 uL\"",
        "drawn_volume = \"30 uL\"\nvariance_divisor = 8",
    ),
    (
        "transfer = 0.06",
        "bed = \"kozeny_carman\"\nviscous_constant = 185\nwall_temperature = \"313 K\"",
    ),
    (
        "transfer = 0.06",
        "bed = \"measured\"\npermeability = \"2.4e-14 m2\"",
    ),
    (
        "transfer = 0.06",
        "bed = \"ergun\"\nplate_height = \"knox\"\neddy = 0.9\nlongitudinal = 2.1",
    ),
    (
        "transfer = 0.06",
        "plate_height = \"van_deemter\"\neddy_height = \"5 um\"\nlongitudinal_coefficient = \"2e-8 m2/s\"\n\
         transfer_time = \"5 ms\"",
    ),
    (
        "volume = \"8 uL\"",
        "volume = \"8 uL\"\nvariance_divisor = 6",
    ),
    (
        "heater_power",
        "outlet_pressure = \"0.2 bar(g)\"\nheater_power",
    ),
    (
        "heater_power",
        "valve_size = true\npulse_frequency = \"5 Hz\"\nopen_share = 0.5\nvolume = \"1 mL\"\nheater_power",
    ),
    ("\"outdoors\"", "\"room\""),
    (
        "diffusion = \"wilke_chang\"\nmolar_volume = \"147.6 cm3/mol\"",
        "diffusion = \"constant\"\ndiffusion_coefficient = \"1.2e-8 m2/s\"",
    ),
    (
        "diffusion = \"wilke_chang\"",
        "diffusion = \"he_yu\"\nmolar_mass = \"128.17 g/mol\"\ndiffusion_factor = 1.1\nmelting_temperature = \"80.2 degC\"\n\
         diffusion_volume = \"140.88 cm3/mol\"",
    ),
    (
        "transfer = 0.06",
        "plate_height = \"power\"\nexponent = 0.4\nwall_temperature = \"313 K\"\nwall_conductance = \"0.5 W/(m K)\"",
    ),
    (
        "transfer = 0.06",
        "plate_height = \"coupled\"\ncoupling = 3",
    ),
    (
        "length = \"50 cm\"",
        "length = \"50 cm\"\ncoil_diameter = \"3 cm\"\nvolume_variance = \"2 uL2\"\nwall_temperature = \"313 K\"\n\
         wall_conductance = \"0.5 W/(m K)\"",
    ),
    (
        "drawn_volume = \"30 uL\"",
        "drawn_volume = \"30 uL\"\nopen_time = \"0.1 s\"\nsplit_ratio = 4\nsolvent = \"methanol\"",
    ),
    ("[room]", LAW),
];

/// Both examples, and changes that together use every key of the schema.
fn documents() -> Vec<String> {
    const AFTER_COUNTED_AT: &str = "isothermal_share = 0.5\nleak_fraction = \"1 %\"\n";
    let pumped_by_mass = [
        (
            "volume_flow_rate = \"3.0 mL/min\"",
            "mass_flow_rate = \"2.9 g/min\"",
        ),
        ("counted_at = \"delivery\"\n", AFTER_COUNTED_AT),
    ];
    let mut by_mass = PACKED.to_owned();
    for (from, to) in pumped_by_mass {
        by_mass = changed(&by_mass, from, to);
    }
    let modifier_by_mass = changed(
        MODIFIED,
        "volume_flow_rate = \"0.3 mL/min\"\ncounted_at = \"delivery\"",
        "mass_flow_rate = \"0.24 g/min\"\nisothermal_share = 0.5\nleak_fraction = \"1 %\"\nadditive = \"ammonium formate\"\n\
         additive_concentration = \"20 mmol/L\"\nadditive_molar_mass = \"63.06 g/mol\"",
    );
    let mut documents = vec![
        PACKED.to_owned(),
        CAPILLARY.to_owned(),
        MODIFIED.to_owned(),
        by_mass,
        modifier_by_mass,
    ];
    for (from, to) in CHANGES {
        documents.push(changed(PACKED, from, to));
    }
    documents.extend(capillaries());
    documents.extend(geometries());
    documents.push(format!("{CAPILLARY}\n{DENSITIES}"));
    documents.extend(restrictors());
    documents.push(changed(PACKED, "[solute]", "[[solute]]") + SOLUTE);
    documents
}

/// A program of density in bent and straight segments with a hold and a step.
pub(super) const DENSITIES: &str = "[[program]]\npart = \"pump\"\nkey = \"pressure\"\n\
    time = [\"0 min\", \"5 min\", \"20 min\", \"30 min\", \"40 min\"]\n\
    density = [\"0.3 g/mL\", \"0.3 g/mL\", \"0.5 g/mL\", \"0.6 g/mL\", \"0.62 g/mL\"]\n\
    temperature = [\"100 degC\"]\nshape = [\"linear\", \"convex\", \"concave\", \"step\"]\n";

/// Keys of a pump's heads in place of its clearance ratio.
const HEADS: &str = "heads = 2\nswept_volume = \"50 uL\"\nclearance_volume = \"10 uL\"\nrelaxation_time = \"0.2 s\"\n\
                     mechanical_efficiency = 0.8";

/// The examples with pumps of known geometry, and a supply with all that may stand in it.
pub(super) fn geometries() -> [String; 4] {
    let geometry = |text: &str| text.replace("clearance_ratio = 0.2", HEADS);
    let supply = changed(
        &geometry(PACKED),
        "pressure_drop = \"1.5 bar\"",
        "pressure_drop = \"1 bar\"\nfilter_pressure_drop = \"0.3 bar\"\npurifier_pressure_drop = \"0.2 bar\"",
    );
    let padded = changed(
        PACKED,
        "mass = \"28 kg\"",
        "mass = \"28 kg\"\nhelium_padded = true\nallow_liquid_full = true",
    );
    let piston = "pressure = \"200 bar\"\nlargest_displacement = \"2 mL/min\"";
    let barrel = changed(CAPILLARY, "pressure = \"200 bar\"", piston);
    [supply, padded, barrel, geometry(MODIFIED)]
}

/// The capillary example with a mixture, and with a calibrated restrictor.
fn capillaries() -> [String; 2] {
    let premixed = changed(
        CAPILLARY,
        "fluid = \"carbon dioxide\"",
        "fluid = { \"carbon dioxide\" = 0.98, acetone = 0.02 }\nmodel = \"cubic\"",
    );
    let factor = "length = \"49.5 cm\"\ncalibration_factor = 1.1\nroughness = \"0.01 um\"";
    [premixed, changed(CAPILLARY, "length = \"49.5 cm\"", factor)]
}

/// The capillary example with restrictors of every shape.
fn restrictors() -> Vec<String> {
    const HEAT: &str = "heat = \"jacket\"\ntemperature = \"200 degC\"\noutlet_temperature = \"250 degC\"\n\
                        outer_diameter = \"375 um\"\nwall_conductivity = \"1.4 W/(m K)\"\n\
                        outside_coefficient = \"1000 W/(m2 K)\"\nconducts_along_wall = true\nroughness = \"0.01 um\"\ncalibration_factor = 1.1\n";
    let start = CAPILLARY
        .find("[[part]]\nkind = \"linear_restrictor\"")
        .unwrap();
    let end = start + 1 + CAPILLARY[start + 1..].find("[[part]]").unwrap();
    let with = |kind: &str, keys: &str| {
        let part = format!("[[part]]\nkind = \"{kind}\"\nname = \"restrictor\"\n{keys}\n\n");
        CAPILLARY.replacen(&CAPILLARY[start..end], &part, 1)
    };
    let stretches = "stretch = [{ length = \"30 cm\", inlet_diameter = \"50 um\" }, \
                     { length = \"1 cm\", inlet_diameter = \"50 um\", outlet_diameter = \"5 um\" }]\n";
    let pores = "diameter = \"0.1 mm\"\nlength = \"1 cm\"\npore_diameter = \"0.3 um\"\n";
    vec![
        with(
            "linear_restrictor",
            &format!("diameter = \"7 um\"\nlength = \"49.5 cm\"\n{HEAT}"),
        ),
        with(
            "tapered_restrictor",
            &format!(
                "inlet_diameter = \"20 um\"\noutlet_diameter = \"5 um\"\nlength = \"20 cm\"\n{HEAT}"
            ),
        ),
        with("segmented_restrictor", &format!("{stretches}{HEAT}")),
        with(
            "orifice_restrictor",
            "diameter = \"0.7 um\"\ndischarge_coefficient = 0.8\ncalibration_factor = 1.1",
        ),
        with(
            "crimped_restrictor",
            "equivalent_area = \"0.3 um2\"\ncalibration_factor = 1.1",
        ),
        with(
            "frit_restrictor",
            &format!(
                "{pores}permeability = \"1e-15 m2\"\ntemperature = \"100 degC\"\ncalibration_factor = 1.1"
            ),
        ),
        with(
            "frit_restrictor",
            &format!("{pores}porosity = 0.3\ntortuosity = 2.5"),
        ),
        changed(
            CAPILLARY,
            "kind = \"gas_detector\"",
            "kind = \"gas_detector\"\ndetector = \"flame_ionisation\"",
        ),
    ]
}

/// A path is solved until as much comes to its restrictor as passes it.
#[test]
fn a_restrictor_of_a_path_passes_what_comes() {
    let solved = read_method(CAPILLARY).unwrap().solve().unwrap();
    let told = |name: &str| solved.facts.iter().any(|fact| fact.fact.name == name);
    assert!(told("mass flow rate it passes"));
    let mut codes = solved.notices.iter().map(|notice| notice.code);
    assert!(codes.all(|code| code != NoticeCode::Unsteady));
}

#[test]
fn restrictors_of_every_shape_hold_a_path() {
    for document in restrictors().iter().skip(3) {
        let solution = read_method(document).unwrap().solve().unwrap();
        assert!(solution.mass_flow_rate > 0.0);
    }
}

/// A second solute with every term of the law, and a program.
const LAW: &str = r#"
[[program]]
part = "regulator"
key = "pressure"
time = ["0 min", "2 min", "3 min"]
value = ["150 bar", "180 bar", "180 bar"]

[room]"#;
const SOLUTE: &str = r#"
[[solute]]
name = "second"
retention = "law"
intercept = 3.0
density_coefficient = "-6 mL/g"
density_squared_coefficient = "1.5 mL2/g2"
reciprocal_temperature_coefficient = "900 K"
modifier_coefficient = -8
modifier_squared_coefficient = 6
log_modifier_exponent = 0.3
gradient_slope = 4
gradient_curvature = 1.2
modifier_basis = "mass_fraction"
temperature_min = "300 K"
temperature_max = "80 degC"
density_min = "0.5 g/mL"
density_max = "0.9 g/mL"
modifier_min = 0.01
modifier_max = "30 %"
diffusion = "constant"
diffusion_coefficient = "1.2e-8 m2/s"
"#;

#[test]
fn solutes_and_programs_are_read() {
    let text = changed(&changed(PACKED, "[solute]", "[[solute]]"), "[room]", LAW) + SOLUTE;
    let method = read_method(&text).unwrap();
    assert_eq!(method.path.solutes.len(), 2);
    let Retention::Law(law) = method.path.solutes[1].retention else {
        panic!("no law");
    };
    assert_eq!(law.coefficient(Term::DensitySquared), 1.5e-6);
    assert_eq!(law.basis(), ModifierBasis::MassFraction);
    assert_eq!(
        law.fitted().modifier_fraction,
        Span {
            min: 0.01,
            max: 0.3
        }
    );
    let [program] = &method.programs[..] else {
        panic!("no program");
    };
    assert_eq!(program.value(-1.0), 150e5);
    assert!((program.value(60.0) / 165e5 - 1.0).abs() < 1e-12);
    assert_eq!(program.value(1e4), 180e5);
    for (from, to, code) in [
        ("\"regulator\"\nkey", "\"nobody\"\nkey", 604),
        ("key = \"pressure\"", "key = \"name\"", 604),
        ("\"2 min\"", "\"4 min\"", 606),
        ("\"180 bar\", ", "", 606),
        ("\"180 bar\", ", "\"180 mL\", ", 604),
        ("\"180 bar\", ", "\"0 Pa\", ", 590),
        ("modifier_min = 0.01", "modifier_min = 0", 606),
        (
            "density_min = \"0.5 g/mL\"",
            "density_min = \"1.5 g/mL\"",
            606,
        ),
    ] {
        let error = read_method(&changed(&text, from, to)).unwrap_err();
        assert_eq!(error.code(), code, "{to}: {error}");
    }
}

pub(super) fn changed(document: &str, from: &str, to: &str) -> String {
    assert!(document.contains(from), "{from}");
    document.replacen(from, to, 1)
}

#[test]
fn a_solvent_of_the_sample_is_read() {
    let with = |solvent: &str| {
        let line = format!("drawn_volume = \"30 uL\"\nsolvent = {solvent}");
        read_method(&changed(PACKED, "drawn_volume = \"30 uL\"", &line))
    };
    let solvent = |text: &str| {
        let method = with(text).unwrap();
        let mut parts = method.path.parts.iter();
        let solvent = parts.find_map(|part| part.element.sample_solvent().cloned());
        solvent.unwrap()
    };
    assert_eq!(solvent("\"methanol\"").name(), "methanol");
    let mixed = solvent("{ methanol = 0.5, water = 0.5 }");
    assert_eq!(mixed.amount_fractions(), [0.5, 0.5]);
    assert_eq!(with("\"methanoll\"").unwrap_err().root().code(), 201);
}

#[test]
fn fluids_are_named_or_mixed() {
    let with = |fluid: &str| read_method(&changed(PACKED, "\"carbon dioxide\"", fluid));
    let mixed = with("{ \"carbon dioxide\" = 0.9, acetone = 0.1 }").unwrap();
    assert_eq!(mixed.path.fluid.name(), "carbon dioxide + acetone");
    assert_eq!(mixed.path.fluid.amount_fractions(), [0.9, 0.1]);
    for (fluid, code) in [
        ("\"carbon dioxid\"", 201),
        ("{ \"carbon dioxide\" = 0.9 }", 103),
        ("{ \"carbon dioxide\" = \"most\" }", 604),
        ("7", 604),
    ] {
        assert_eq!(with(fluid).unwrap_err().code(), code, "{fluid}");
    }
}

#[test]
fn a_modifier_joins_before_what_needs_it() {
    let document: toml::Table = MODIFIED.parse().unwrap();
    let place = |position: usize| {
        let mut document = document.clone();
        let parts = document["part"].as_array_mut().unwrap();
        let pump = parts.remove(3);
        parts.insert(position, pump);
        read_method(&document.to_string()).map(|_| ())
    };
    assert_eq!(place(3), Ok(()));
    // Behind the column it is the pump of a make-up.
    assert_eq!(place(8), Ok(()));
    for position in [4, 5, 6] {
        let error = place(position).unwrap_err();
        assert_eq!(error.code(), 606, "{error}");
        assert!(error.to_string().contains("modifier_pump"), "{error}");
    }
    let elsewhere = changed(
        MODIFIED,
        "\"0.3 mL/min\"\ncounted_at = \"delivery\"",
        "\"0.3 mL/min\"\ncounted_at = \"oven\"",
    );
    assert_eq!(read_method(&elsewhere).unwrap_err().code(), 604);
    let unknown = changed(MODIFIED, "\"methanol\"", "\"methanal\"");
    let error = read_method(&unknown).unwrap_err();
    assert_eq!(
        (error.root().code(), error.element()),
        (201, Some("modifier pump"))
    );
}

#[test]
fn every_key_of_the_schema_is_read() {
    let mut seen = std::collections::BTreeSet::new();
    for text in documents() {
        let method = read_method(&text);
        assert!(method.is_ok(), "{}", method.unwrap_err());
        let table: toml::Table = text.parse().unwrap();
        let parts = table["part"].as_array().unwrap();
        seen.extend(table.keys().map(|key| format!("document.{key}")));
        for heading in ["room", "solute", "program"] {
            let tables = match table.get(heading) {
                Some(toml::Value::Array(tables)) => tables.clone(),
                Some(table) => vec![table.clone()],
                None => Vec::new(),
            };
            let keys = tables
                .iter()
                .flat_map(|table| table.as_table().unwrap().keys());
            seen.extend(keys.map(|key| format!("{heading}.{key}")));
        }
        for part in parts {
            let kind = part["kind"].as_str().unwrap();
            let keys = part.as_table().unwrap().keys();
            seen.extend(keys.map(|key| format!("{kind}.{key}")));
        }
    }
    let tables = [schema::ROOT, schema::ROOM, schema::SOLUTE, schema::PROGRAM];
    for table in tables.iter().chain(schema::parts::PARTS) {
        for field in table.fields {
            let key = format!("{}.{}", table.heading, field.key);
            assert!(seen.contains(&key), "no document uses {key}");
        }
    }
}

/// The refusal of a changed packed example: its code and its words.
pub(super) fn refused(from: &str, to: &str) -> (i32, String) {
    let error = read_method(&changed(PACKED, from, to)).unwrap_err();
    (error.code(), error.to_string())
}

#[test]
fn what_is_wrong_is_refused_with_its_place() {
    for (from, to, code, words) in [
        ("document = 1", "document = 2", 604, "version 1"),
        ("title =", "titel =", 602, "did you mean `title`?"),
        (
            "\"carbon dioxide\"",
            "\"carbon dioxid\"",
            201,
            "did you mean \"carbon dioxide\"?",
        ),
        (
            "counted_at = \"delivery\"\n",
            "",
            605,
            "`\"oven\"` (column inlet)",
        ),
        (
            "\"delivery\"",
            "\"delivry\"",
            604,
            "did you mean \"delivery\"?",
        ),
        (
            "pressure = \"150 bar\"",
            "pressure = \"150\"",
            604,
            "line 108, `part[11].pressure`",
        ),
        (
            "pressure_drop = \"2 bar\"",
            "pressure_drop = \"2 bar(g)\"",
            604,
            "neither gauge",
        ),
        (
            "diameter = \"4.6 mm\"",
            "diametre = \"4.6 mm\"",
            602,
            "did you mean `diameter`?",
        ),
        ("mass = \"28 kg\"\n", "", 603, "mass of the fluid"),
        (
            "mass = \"28 kg\"",
            "mass = \"-28 kg\"",
            590,
            "in \"supply cylinder\" (part 0)",
        ),
        (
            "volume_flow_rate",
            "mass_flow_rate = \"3 g/min\"\nvolume_flow_rate",
            606,
            "one of the two",
        ),
        (
            "volume_flow_rate = \"3.0 mL/min\"\n",
            "",
            606,
            "needs a set flow",
        ),
        (
            "outlet_temperature = \"10 degC\"\n",
            "",
            606,
            "`part[11].heater_power`",
        ),
        (
            "eter = \"2 mm\"",
            "eter = \"-2 mm\"",
            590,
            "in \"vent\" (part 12)",
        ),
        ("volume = \"60 m3\"\n", "", 603, "room.volume"),
        ("volume = \"60 m3\"", "volume = \"-60 m3\"", 606, "`room`"),
        (
            "temperature = \"22 degC\"",
            "temperature = \"-300 degC\"",
            604,
            "above zero",
        ),
        ("\"0.3 g/mL\"", "\"1.3 g/mL\"", 606, "above `density_min`"),
        (
            "\"147.6 cm3/mol\"",
            "\"0 cm3/mol\"",
            604,
            "solute.molar_volume",
        ),
    ] {
        let (found, text) = refused(from, to);
        assert_eq!(found, code, "{to}: {text}");
        assert!(text.contains(words), "{to}: {text}");
    }
}

/// The parts of the packed example in another order.
fn reordered(order: &[usize]) -> String {
    let (head, parts) = PACKED.split_once("[[part]]").unwrap();
    let parts: Vec<_> = parts.split("[[part]]").collect();
    let chosen: Vec<_> = order.iter().map(|index| parts[*index].trim()).collect();
    format!("{head}[[part]]\n{}\n", chosen.join("\n[[part]]\n"))
}

#[test]
fn parts_that_make_no_instrument_are_refused() {
    for (order, words) in [
        (&[1, 0, 2][..], "here a cylinder must stand"),
        (&[0, 2], "here a suction_line must stand"),
        (
            &[0, 1, 3],
            "here a reciprocating_pump or syringe_pump must stand",
        ),
        (&[0, 1], "the list ends where"),
        (&[0, 1, 2, 4, 7], "no part holds the pressure"),
        (&[0, 1, 2, 12], "looks at gas"),
        (&[0, 1, 2, 11, 12, 8], "nothing can follow the vent"),
        (&[0, 1, 2, 4, 11, 7], "which lets the pressure go"),
        (&[0, 1, 2, 7, 4, 11], "must stand before the column"),
        (&[0, 1, 2, 4, 11], "a band needs an injector and a column"),
    ] {
        let error = read_method(&reordered(order)).unwrap_err();
        assert_eq!(error.code(), 606, "{error}");
        assert!(error.to_string().contains(words), "{error}");
    }
    let again = changed(PACKED, "name = \"preheater\"", "name = \"injector tube\"");
    let error = read_method(&again).unwrap_err().to_string();
    assert!(
        error.contains("the name \"injector tube\" is taken"),
        "{error}"
    );
    let second = changed(
        PACKED,
        "kind = \"mixer\"\nname = \"mixer\"\nvolume = \"200 uL\"\npressure_drop = \"2 bar\"\nwall_temperature = \"22 degC\"",
        "kind = \"suction_line\"\nname = \"again\"\npressure_drop = \"2 bar\"",
    );
    let error = read_method(&second).unwrap_err().to_string();
    assert!(error.contains("only at the beginning"), "{error}");
}

#[test]
fn a_vent_into_the_room_needs_the_room_and_is_judged() {
    let indoors = changed(PACKED, "\"outdoors\"", "\"room\"");
    assert!(read_method(&indoors).unwrap().path.room.air.is_some());
    assert!(read_method(PACKED).unwrap().path.room.air.is_none());
    assert!(read_method(CAPILLARY).unwrap().path.room.air.is_some());
    let room = "volume = \"60 m3\"\nair_change_rate = \"6 1/h\"\n";
    let bare = changed(&indoors, room, "");
    assert_eq!(read_method(&bare).unwrap_err().code(), 603);
}

#[test]
fn gauge_pressures_count_from_the_pressure_of_the_room() {
    let text = changed(PACKED, "[room]", "ambient_pressure = \"850 mbar\"\n[room]");
    let text = changed(
        &text,
        "pressure = \"150 bar\"",
        "pressure = \"149.15 bar(g)\"",
    );
    let solution = read_method(&text).unwrap().solve().unwrap();
    let absolute = read_method(PACKED).unwrap().solve().unwrap();
    assert!(close(
        solution.delivery_pressure,
        absolute.delivery_pressure,
        1e-9
    ));
}

#[test]
fn a_document_in_json_is_the_same_method() {
    let table: toml::Table = PACKED.parse().unwrap();
    let json = serde_json::to_string(&table).unwrap();
    let (from_json, from_toml) = (
        read_method_json(&json).unwrap(),
        read_method(PACKED).unwrap(),
    );
    // What a fluid has prepared grows while other work uses it, so that its text may differ between two looks.
    assert_eq!(from_json.path.fluid, from_toml.path.fluid);
    let rest =
        |Path {
             title,
             source,
             parts,
             solutes,
             room,
             ..
         }: Path| { format!("{title} {source:?} {parts:?} {solutes:?} {room:?}") };
    assert_eq!(rest(from_json.path), rest(from_toml.path));
    let error = read_method_json(&json.replace("4.6 mm", "4.6")).unwrap_err();
    assert!(
        error
            .to_string()
            .starts_with("`part[7].diameter` = \"4.6\""),
        "{error}"
    );
    assert_eq!(
        read_method_json("{\"title\": null}").unwrap_err().code(),
        601
    );
    assert_eq!(read_method_json("[1]").unwrap_err().code(), 601);
}

/// A device has no end, and a text of JSON is as long as it likes.
#[cfg(unix)]
#[test]
fn what_has_no_end_is_refused() {
    assert_eq!(read_method_file("/dev/zero").unwrap_err().code(), 606);
    let long = format!("{{\"title\": \"{}\"}}", "x".repeat(1 << 20));
    assert_eq!(read_method_json(&long).unwrap_err().code(), 606);
    let deep = format!(
        "{{\"title\": {}{}}}",
        "[".repeat(10_000),
        "]".repeat(10_000)
    );
    assert_eq!(read_method_json(&deep).unwrap_err().code(), 601);
}

#[test]
fn a_file_that_is_not_there_is_an_error() {
    let error = read_method_file("no/such/method.toml").unwrap_err();
    assert_eq!(error.code(), 610);
}

proptest! {
    #[test]
    fn a_damaged_document_is_read_or_refused(
        at in 0usize..3000, cut in 0usize..40, with in "[ -~\\n]{0,6}", capillary: bool,
    ) {
        let text = if capillary { CAPILLARY } else { PACKED };
        let start = at.min(text.len());
        let end = (start + cut).min(text.len());
        let damaged = format!("{}{with}{}", &text[..start], &text[end..]);
        match read_method(&damaged) {
            Ok(method) => prop_assert!(!method.path.parts.is_empty()),
            Err(error) => prop_assert!((101..700).contains(&error.code()), "{}", error),
        }
    }
}

#[test]
fn a_regulator_tells_its_valve_and_pulses() {
    let told = "heater_power = \"30 W\"\nvalve_size = true\npulse_frequency = \"5 Hz\"\nopen_share = 0.5\nvolume = \"1 mL\"";
    let document = PACKED.replace("heater_power = \"30 W\"", told);
    let solution = read_method(&document).unwrap().solve().unwrap();
    let fact = |name| solution.fact("regulator", name).unwrap();
    assert!(fact("ripple of the pressure before it") > 0.0);
    assert!(fact("flow coefficient K_v, the flow of cold water at 1 bar") > 0.0);
    let missing = read_method(&document.replace("open_share = 0.5\n", "")).unwrap_err();
    assert_eq!(missing.code(), 603);
}
