//! The published check values, to the printed digit.

use densepath_fluid::eos::lines::Line;
use densepath_fluid::eos::solid::{Solid, SolidPoint, TriplePoint};
use densepath_fluid::{Fluid, Quantity, State};
use densepath_tests::{Check, Vectors, names, read};

/// Density in kg/m3 that stands for the limit of zero density.
const THIN: f64 = 1e-9;

fn fluid(vectors: &Vectors) -> Fluid {
    Fluid::new(&vectors.fluid).unwrap()
}

/// The state on the saturation line that a check belongs to; for the temperature and the pressure either phase will do.
fn saturated(fluid: &Fluid, check: &Check) -> State {
    let saturation = match check.temperature {
        Some(temperature) => fluid.saturation_at_temperature(temperature),
        None => fluid.saturation_at_pressure(check.pressure.unwrap()),
    };
    let saturation = saturation.unwrap();
    match (check.phase.as_deref(), check.quantity.as_deref()) {
        (Some("liquid"), _) | (None, Some("temperature" | "pressure")) => saturation.liquid,
        (Some("vapour"), _) => saturation.vapour,
        other => panic!("{}: {other:?} on the saturation line", check.id),
    }
}

/// The density in kg/m3 that a check gives, by mass or by amount.
fn density(fluid: &Fluid, check: &Check) -> Option<f64> {
    let of_amount = check.molar_density.map(|molar| molar * fluid.molar_mass());
    of_amount.or(check.density).map(|density| density.max(THIN))
}

/// The state that a check belongs to.
fn state(fluid: &Fluid, check: &Check) -> State {
    if check.line.as_deref() == Some("saturation") {
        return saturated(fluid, check);
    }
    let temperature = check.temperature.unwrap();
    match (check.line.as_deref(), check.phase.as_deref()) {
        // The state that the table prints lies on the melting line to the printed digit of its temperature.
        (Some("melting"), None) => {
            let pressure = check.pressure.unwrap();
            let line = Line::melting(fluid.record().unwrap().melting_line.as_ref().unwrap());
            let melting = line.temperature(pressure).unwrap();
            assert!((melting - temperature).abs() < 5e-4, "{}", check.id);
            State::from_tp(fluid, melting * (1.0 + 1e-12), pressure).unwrap()
        }
        (None, None) => match (density(fluid, check), check.pressure) {
            (Some(density), _) => State::from_t_rho(fluid, temperature, density).unwrap(),
            (None, Some(pressure)) => State::from_tp(fluid, temperature, pressure).unwrap(),
            (None, None) => panic!("{}: half a state", check.id),
        },
        other => panic!("{}: no state for {other:?}", check.id),
    }
}

/// Fails with every check of the file that does not agree.
fn assert_all(name: &str, computed: impl Fn(&Vectors, &Check) -> f64) {
    let vectors: Vectors = read(name);
    let failures: Vec<String> = vectors
        .tests
        .iter()
        .filter_map(|check| {
            let value = computed(&vectors, check);
            let report = format!(
                "{}: {value} instead of {} +- {}",
                check.id, check.value, check.u
            );
            (!check.agrees(value)).then_some(report)
        })
        .collect();
    assert!(failures.is_empty(), "{name}\n{}", failures.join("\n"));
}

/// Checks a file whose quantity is a property of a state.
fn assert_property(name: &str) {
    assert_all(name, |vectors, check| {
        let quantity: Quantity = vectors.quantity.as_deref().unwrap().parse().unwrap();
        state(&fluid(vectors), check).get(quantity).unwrap()
    });
}

#[test]
fn caloric_and_thermal_properties_of_the_reference_equation() {
    for name in [
        "density",
        "specific_enthalpy",
        "specific_entropy",
        "specific_internal_energy",
        "specific_isobaric_heat_capacity",
        "specific_isochoric_heat_capacity",
        "speed_of_sound",
    ] {
        assert_property(name);
    }
}

/// A property of a state, or one per amount of substance that the library gives per mass.
fn property(state: &State, quantity: &str) -> f64 {
    let molar_mass = state.fluid().molar_mass();
    match quantity.strip_prefix("molar_") {
        None => state.get(quantity.parse().unwrap()).unwrap(),
        Some("density") => state.density() / molar_mass,
        Some(rest) => property(state, &format!("specific_{rest}")) * molar_mass,
    }
}

#[test]
fn properties_of_the_other_fluids() {
    let of_fluids = |name: &str| name.starts_with("state_of_") || name.starts_with("transport_of_");
    let files = names(of_fluids);
    assert!(files.len() >= 31);
    for name in files {
        assert_all(&name, |vectors, check| {
            let mut fluid = fluid(vectors);
            if check.flags.iter().any(|flag| flag == "beyond_range") {
                let density = density(&fluid, check).unwrap();
                let refused = State::from_t_rho(&fluid, check.temperature.unwrap(), density);
                assert_eq!(refused.unwrap_err().code(), 102, "{}", check.id);
                fluid = fluid.extrapolating();
            }
            property(&state(&fluid, check), check.quantity.as_deref().unwrap())
        });
    }
}

#[test]
fn transport_properties_and_permittivity() {
    for name in [
        "dynamic_viscosity",
        "thermal_conductivity",
        "relative_permittivity",
    ] {
        assert_property(name);
    }
}

#[test]
fn surface_tension() {
    assert_all("surface_tension", |vectors, check| {
        let fluid = fluid(vectors);
        fluid.surface_tension(check.temperature.unwrap()).unwrap()
    });
}

#[test]
fn melting_and_sublimation_lines() {
    for name in ["melting_line", "sublimation_line"] {
        assert_all(name, |vectors, check| {
            let fluid = fluid(vectors);
            let record = fluid.record().unwrap();
            let line = match check.line.as_deref() {
                Some("melting") => Line::melting(record.melting_line.as_ref().unwrap()),
                Some("sublimation") => Line::sublimation(record.sublimation_line.as_ref().unwrap()),
                other => panic!("{}: unknown line {other:?}", check.id),
            };
            match check.temperature {
                Some(temperature) => line.pressure(temperature).unwrap(),
                None => line.temperature(check.pressure.unwrap()).unwrap(),
            }
        });
    }
}

/// The solid of a check, and its enthalpy below that of the liquid at the triple point.
fn solid(fluid: &Fluid, check: &Check) -> (SolidPoint, f64) {
    let triple = fluid.saturation_at_temperature(fluid.triple_temperature().unwrap());
    let triple = triple.unwrap();
    let point = TriplePoint {
        temperature: fluid.triple_temperature().unwrap(),
        pressure: triple.pressure,
        liquid_density: triple.liquid.density(),
        vapour_density: triple.vapour.density(),
    };
    let record = fluid.record().unwrap().solid.as_ref().unwrap();
    let solid = Solid::new(
        record,
        fluid.molar_mass(),
        fluid.helmholtz().unwrap(),
        point,
    );
    let at_triple = solid.at(point.temperature, point.pressure).unwrap();
    let pressure = check.pressure.unwrap_or(point.pressure);
    (
        solid.at(check.temperature.unwrap(), pressure).unwrap(),
        triple.liquid.specific_enthalpy() - at_triple.specific_enthalpy(),
    )
}

/// Enthalpy in J/kg between the solid and its vapour at a temperature in K.
fn sublimation(fluid: &Fluid, temperature: f64) -> f64 {
    let helmholtz = fluid.helmholtz().unwrap();
    let pair = fluid
        .solid()
        .unwrap()
        .sublimation(helmholtz, temperature)
        .unwrap();
    helmholtz
        .isotherm(temperature)
        .specific_enthalpy(pair.fluid_density)
        - pair.solid.specific_enthalpy()
}

#[test]
fn solid_carbon_dioxide() {
    assert_all("solid", |vectors, check| {
        let fluid = fluid(vectors);
        let molar_mass = fluid.molar_mass();
        let (solid, fusion) = solid(&fluid, check);
        match check.quantity.as_deref().unwrap() {
            "density" => solid.density,
            "isobaric_expansivity" => solid.isobaric_expansivity,
            "isothermal_compressibility" => solid.isothermal_compressibility,
            "molar_enthalpy_of_fusion" => fusion * molar_mass,
            "molar_enthalpy_of_sublimation" => {
                sublimation(&fluid, check.temperature.unwrap()) * molar_mass
            }
            "molar_isobaric_heat_capacity" => solid.specific_isobaric_heat_capacity * molar_mass,
            "molar_volume" => molar_mass / solid.density,
            other => panic!("{}: unknown quantity {other}", check.id),
        }
    });
}

#[test]
fn vapour_pressure() {
    assert_all("saturation_pressure", |vectors, check| {
        let temperature = check.temperature.unwrap();
        let saturation = fluid(vectors).saturation_at_temperature(temperature);
        saturation.unwrap().pressure
    });
}

#[test]
fn constants() {
    assert_all("constants", |vectors, check| {
        let fluid = fluid(vectors);
        match check.quantity.as_deref().unwrap() {
            "critical_temperature" => fluid.critical_point().unwrap().temperature,
            "critical_pressure" => fluid.critical_point().unwrap().pressure,
            "critical_density" => fluid.critical_point().unwrap().density,
            "triple_point_temperature" => fluid.triple_temperature().unwrap(),
            "molar_mass" => fluid.molar_mass(),
            other => panic!("{}: unknown constant {other}", check.id),
        }
    });
}

#[test]
fn every_file_is_well_formed() {
    for name in names(|name| !name.starts_with("worked")) {
        let vectors: Vectors = read(&name);
        assert!(!vectors.tests.is_empty(), "{name}");
        for (index, check) in vectors.tests.iter().enumerate() {
            assert_eq!(check.id, format!("{name}-{}", index + 1));
            assert!(vectors.sources.contains_key(&check.source), "{}", check.id);
            assert!(
                check
                    .flags
                    .iter()
                    .all(|flag| vectors.notes.contains_key(flag)),
                "{}",
                check.id
            );
            let unit = check.unit.as_ref().or(vectors.unit.as_ref()).unwrap();
            let quantity = check.quantity.as_ref().or(vectors.quantity.as_ref());
            if let Ok(quantity) = quantity.unwrap().parse::<Quantity>() {
                assert_eq!(unit, quantity.unit(), "{}", check.id);
            }
        }
    }
}
