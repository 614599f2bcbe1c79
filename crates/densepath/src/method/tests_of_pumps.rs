//! Tests of what a document says of pumps and of programs.

use super::tests::{CAPILLARY, DENSITIES, MODIFIED, PACKED, changed, close, geometries, refused};
use super::*;
use densepath_fluid::units::BAR;
use densepath_fluid::{Fluid, NoticeCode, State};

/// A segment of each shape, by its closed form.
#[test]
fn segments_bend_and_step() {
    let shaped = |shape: &str| {
        let text = format!(
            "{CAPILLARY}\n[[program]]\npart = \"pump\"\nkey = \"pressure\"\ntime = [\"0 s\", \"1000 s\"]\n\
             value = [\"100 bar\", \"200 bar\"]\nshape = [\"{shape}\"]\n"
        );
        let method = read_method(&text).unwrap();
        [0.0, 500.0, 998.9, 999.5, 1000.0].map(|time| method.programs[0].value(time) / BAR)
    };
    for (shape, expected) in [
        ("linear", [100.0, 150.0, 199.89, 199.95, 200.0]),
        ("convex", [100.0, 125.0, 199.780_121, 199.900_025, 200.0]),
        ("concave", [100.0, 175.0, 199.999_879, 199.999_975, 200.0]),
        ("step", [100.0, 100.0, 100.0, 150.0, 200.0]),
    ] {
        let found = shaped(shape);
        for (found, expected) in found.into_iter().zip(expected) {
            assert!(close(found, expected, 1e-9), "{shape}: {found} {expected}");
        }
    }
}

/// The pressures of a density program give its densities back, in every shape of segment, everywhere between their points.
#[test]
fn a_program_of_density_becomes_pressures() {
    let method = read_method(&format!("{CAPILLARY}\n{DENSITIES}")).unwrap();
    let program = &method.programs[0];
    assert_eq!(program.quantity, Quantity::Pressure);
    let co2 = Fluid::new("carbon dioxide").unwrap();
    let wanted = |minutes: f64| match minutes {
        minutes if minutes <= 5.0 => 300.0,
        minutes if minutes <= 20.0 => 300.0 + 200.0 * ((minutes - 5.0) / 15.0).powi(2),
        minutes if minutes <= 30.0 => 600.0 - 100.0 * ((30.0 - minutes) / 10.0).powi(2),
        _ => 600.0,
    };
    for step in 0..=399 {
        let minutes = f64::from(step) * 0.1;
        let pressure = program.value(60.0 * minutes);
        let density = State::from_tp(&co2, 373.15, pressure).unwrap().density();
        // 0.1 % of the schedule and 1/(4 32^2) of the change of a bent segment.
        let allowed = 1e-3 + 200.0 / (4.0 * 1024.0) / 300.0;
        assert!(
            close(density, wanted(minutes), allowed),
            "{minutes} min: {density}"
        );
    }
    let end = State::from_tp(&co2, 373.15, program.value(2400.0)).unwrap();
    assert!(close(end.density(), 620.0, 1e-9));
}

#[test]
fn programs_that_cannot_be_are_refused() {
    let with = |text: &str, keys: &str| read_method(&format!("{text}\n[[program]]\n{keys}"));
    let times = "time = [\"0 s\", \"60 s\"]\n";
    let pump = "part = \"pump\"\nkey = \"pressure\"\n";
    let densities = "density = [\"0.3 g/mL\", \"0.6 g/mL\"]\n";
    let values = "value = [\"100 bar\", \"200 bar\"]\n";
    let barrel = "part = \"pump\"\nkey = \"barrel_temperature\"\n";
    for (keys, code, words) in [
        (format!("{pump}{times}"), 603, "value"),
        (
            format!("{pump}{times}{values}{densities}"),
            606,
            "one of the two",
        ),
        (format!("{pump}{times}{densities}"), 603, "temperature"),
        (
            format!("{barrel}{times}{densities}temperature = [\"100 degC\"]\n"),
            606,
            "is a pressure",
        ),
        (
            format!("{pump}{times}{values}shape = [\"linear\", \"step\"]\n"),
            606,
            "each segment",
        ),
        (
            format!("{pump}{times}{values}shape = [\"bent\"]\n"),
            604,
            "convex",
        ),
        // Through the dome: there is no density of one phase.
        (
            format!(
                "{pump}{times}density = [\"0.1 g/mL\", \"0.9 g/mL\"]\ntemperature = [\"20 degC\"]\n"
            ),
            301,
            "belongs to one phase",
        ),
    ] {
        let error = with(CAPILLARY, &keys).unwrap_err();
        let text = error.to_string();
        assert!(
            error.code() == code && text.contains(words),
            "{keys}: {} {text}",
            error.code()
        );
    }
}

/// A ramp that the pumps cannot follow is refused with the fastest that they can; a slow one runs, and so does a fall.
#[test]
fn a_ramp_beyond_what_the_pumps_can_is_refused() {
    let regulated = |from: u32, to: u32, seconds: f64| {
        let program = format!(
            "[[program]]\npart = \"regulator\"\nkey = \"pressure\"\ntime = [\"0 s\", \"{seconds} s\"]\n\
             value = [\"{from} bar\", \"{to} bar\"]\n"
        );
        read_method(&format!("{PACKED}\n{program}"))
            .unwrap()
            .programmed_run()
    };
    let refused = regulated(120, 200, 5.0).unwrap_err();
    assert_eq!(
        (refused.code(), refused.quantity()),
        (505, Some(Quantity::PressureRate))
    );
    let limit = refused.max().unwrap();
    assert!(limit < refused.value().unwrap());
    // Slower than the lowest limit on the way it runs.
    assert!(regulated(120, 200, 600.0).is_ok());
    assert!(regulated(200, 120, 5.0).is_ok());
    let held = |displacement: &str| {
        let keys = format!("pressure = \"200 bar\"\nlargest_displacement = \"{displacement}\"");
        let text = changed(CAPILLARY, "pressure = \"200 bar\"", &keys);
        let program = "[[program]]\npart = \"pump\"\nkey = \"pressure\"\ntime = [\"0 min\", \"20 min\"]\n\
                       value = [\"150 bar\", \"250 bar\"]\n";
        read_method(&format!("{text}\n{program}"))
            .unwrap()
            .programmed_run()
    };
    assert_eq!(held("10 uL/min").unwrap_err().code(), 505);
    assert!(held("2 mL/min").is_ok());
}

/// A clearance told as a volume is the ratio that it makes, to the last bit, and losses told apart are their sum.
#[test]
fn a_geometry_is_the_clearance_that_it_makes() {
    let plain = read_method(PACKED).unwrap().solve().unwrap();
    let heads = "heads = 2\nswept_volume = \"50 uL\"\nclearance_volume = \"10 uL\"";
    let told = changed(PACKED, "clearance_ratio = 0.2", heads);
    let same = read_method(&told).unwrap().solve().unwrap();
    assert_eq!(same.mass_flow_rate, plain.mass_flow_rate);
    assert_eq!(same.delivery_pressure, plain.delivery_pressure);
    let fact = |solution: &crate::path::Solution, name: &str| {
        let mut facts = solution.facts.iter();
        let found = facts.find(|fact| fact.part == "pump" && fact.fact.name == name);
        found.map(|fact| fact.fact.value)
    };
    let efficiency = "volumetric efficiency by mass";
    assert!(close(
        fact(&same, efficiency).unwrap(),
        fact(&plain, efficiency).unwrap(),
        1e-14
    ));
    assert_eq!(fact(&plain, "strokes of each head"), None);
    // 3 mL/min at delivery are some 3.3 mL/min of strokes of twice 50 uL.
    let strokes = fact(&same, "strokes of each head").unwrap() * 60.0;
    assert!((32.0..36.0).contains(&strokes), "{strokes} 1/min");
    let apart = read_method(&geometries()[0]).unwrap().solve().unwrap();
    // Some 0.08 s of compression of a stroke of 0.9 s against 0.2 s: about a fifth of the heat goes.
    let share = fact(&apart, "isothermal share of the stroke").unwrap();
    assert!((0.1..0.3).contains(&share), "{share}");
    assert!(fact(&apart, "heat of friction in the head").unwrap() > 0.0);
}

/// At suction the pistons sweep the volume that is set, and the clearance holds part of it back: the flow of the path comes from the
/// geometry.
#[test]
fn a_flow_counted_at_suction_comes_from_the_geometry() {
    let flow = |clearance: &str| {
        let keys =
            format!("heads = 2\nswept_volume = \"50 uL\"\nclearance_volume = \"{clearance}\"");
        let text = changed(PACKED, "clearance_ratio = 0.2", &keys);
        let text = changed(
            &text,
            "counted_at = \"delivery\"",
            "counted_at = \"suction\"",
        );
        read_method(&text).unwrap().solve().unwrap()
    };
    let (tight, wide) = (flow("0 uL"), flow("40 uL"));
    let held = wide
        .facts
        .iter()
        .find(|fact| fact.fact.name == "volumetric efficiency by mass");
    let efficiency = held.unwrap().fact.value;
    assert!(efficiency < 0.95);
    assert!(close(
        wide.mass_flow_rate / tight.mass_flow_rate,
        efficiency,
        1e-9
    ));
}

#[test]
fn what_a_pump_cannot_have_is_refused() {
    for (keys, code, words) in [
        ("heads = 2", 603, "swept_volume"),
        ("swept_volume = \"50 uL\"", 603, "heads"),
        ("relaxation_time = \"1 s\"", 603, "heads"),
        ("clearance_volume = \"1 uL\"", 603, "heads"),
        (
            "heads = 2\nswept_volume = \"50 uL\"\nclearance_volume = \"51 uL\"",
            590,
            "swept volume must not be smaller",
        ),
        (
            "clearance_ratio = 1.2",
            590,
            "swept volume must not be smaller",
        ),
        (
            "heads = 2\nswept_volume = \"50 uL\"\nclearance_volume = \"1 uL\"\nclearance_ratio = 0.1",
            606,
            "one of the two",
        ),
        (
            "heads = 2\nswept_volume = \"50 uL\"\nrelaxation_time = \"1 s\"\nisothermal_share = 1.0",
            606,
            "one of the two",
        ),
        ("heads = -1\nswept_volume = \"50 uL\"", 604, "whole number"),
    ] {
        let (found, text) = refused("clearance_ratio = 0.2", keys);
        assert!(
            found == code && text.contains(words),
            "{keys}: {found} {text}"
        );
    }
}

/// 40 L with 30 kg are full of liquid from 22.06 degC on (CoolProp 8.0.0).
#[test]
fn a_document_says_that_its_full_cylinder_is_meant() {
    let full = |leave: &str| {
        let text = changed(PACKED, "mass = \"28 kg\"", "mass = \"30 kg\"");
        let warm = format!("temperature = \"25 degC\"\n{leave}");
        read_method(&changed(&text, "temperature = \"20 degC\"", &warm))
            .unwrap()
            .solve()
    };
    for leave in ["", "allow_liquid_full = false"] {
        let error = full(leave).unwrap_err();
        assert_eq!(
            (error.root().code(), error.element()),
            (506, Some("supply cylinder"))
        );
    }
    let notices = full("allow_liquid_full = true").unwrap().notices;
    let told = notices.iter().any(|notice| {
        notice.code == NoticeCode::BlockedInLiquid && notice.station == "supply cylinder"
    });
    assert!(told);
}

/// A cell at 215 nm sees methanol, 205 nm, and not through acetic acid in it, 230 nm; an additive without a known cut-off is told.
#[test]
fn an_additive_counts_where_light_is_needed() {
    let cell = changed(
        MODIFIED,
        "wavelength = \"254 nm\"",
        "wavelength = \"215 nm\"",
    );
    let told = |additive: &str| {
        let key = format!("fluid = \"methanol\"\n{additive}");
        let solution = read_method(&changed(&cell, "fluid = \"methanol\"", &key))
            .unwrap()
            .solve()
            .unwrap();
        let notices = solution.notices.into_iter();
        let of_light = notices.filter(|notice| notice.code == NoticeCode::DetectorUnsuited);
        of_light
            .map(|notice| notice.text)
            .collect::<Vec<_>>()
            .join(" ")
    };
    let dissolved =
        |name: &str| format!("additive = \"{name}\"\nadditive_concentration = \"20 mmol/L\"");
    assert_eq!(told(""), "");
    assert!(told(&dissolved("acetic acid")).contains("acetic acid, whose cut-off is 230 nm"));
    assert!(told(&dissolved("unobtainium")).contains("unobtainium is not known"));
    let lone = "fluid = \"methanol\"\nadditive = \"acetic acid\"";
    let error = read_method(&changed(&cell, "fluid = \"methanol\"", lone)).unwrap_err();
    assert_eq!(error.code(), 603, "{error}");
}

/// Methanol with a twentieth of water: no model reaches the end of the expansion without heat, and the heated outlet is told.
#[test]
fn a_wet_modifier_passes_a_heated_regulator() {
    let wet = changed(
        MODIFIED,
        "fluid = \"methanol\"",
        "fluid = { methanol = 0.95, water = 0.05 }",
    );
    let solution = read_method(&wet).unwrap().solve().unwrap();
    let outlet = solution.station("regulator").unwrap();
    assert!(close(outlet.state.temperature(), 283.15, 1e-12));
    let is_told =
        |notice: &densepath_fluid::Notice| notice.text.contains("dry ice cannot be excluded");
    assert!(solution.notices.iter().any(is_told));
    // Without heat there is no answer, and the refusal names the limit that is in the way.
    let heat = "outlet_temperature = \"10 degC\"\nheater_power = \"40 W\"\n";
    let error = read_method(&changed(&wet, heat, ""))
        .unwrap()
        .solve()
        .unwrap_err();
    assert_eq!(error.root().code(), 102, "{error}");
    assert!(error.to_string().contains("is below"), "{error}");
}
