//! Substances whose equations were made by this project, against open measurements (NIST ThermoML archive, converted public
//! copy), within the uncertainty that the data files state; and the liquids of the cubic equation against theirs.

use densepath_fluid::{Fluid, State, substances};

/// Temperature in K, pressure in Pa, density in kg/m3, bound, doi.
const DENSITIES: [(&str, f64, f64, f64, f64, &str); 8] = [
    (
        "propan-2-ol",
        293.15,
        10000000.0,
        793.6,
        0.002,
        "10.1016/j.jct.2018.12.018",
    ),
    (
        "propan-2-ol",
        353.15,
        80000000.0,
        796.7,
        0.002,
        "10.1016/j.jct.2018.12.018",
    ),
    (
        "propan-2-ol",
        393.15,
        140000000.0,
        801.97,
        0.002,
        "10.1016/j.fluid.2013.08.007",
    ),
    (
        "propan-2-ol",
        313.15,
        40000000.0,
        799.8,
        0.002,
        "10.1016/j.jct.2012.05.016",
    ),
    (
        "acetonitrile",
        298.15,
        100000.0,
        776.714,
        0.001,
        "10.1021/acs.jced.8b00176",
    ),
    (
        "acetonitrile",
        323.15,
        101300.0,
        749.056,
        0.001,
        "10.1021/je7001946",
    ),
    (
        "acetonitrile",
        343.15,
        101000.0,
        726.43,
        0.001,
        "10.1021/je300316a",
    ),
    (
        "acetonitrile",
        393.15,
        2000000.0,
        666.0,
        0.006,
        "10.1021/je900048r",
    ),
];

/// Temperature in K, vapour pressure in Pa, bound, doi.
const VAPOUR_PRESSURES: [(&str, f64, f64, f64, &str); 6] = [
    (
        "propan-2-ol",
        330.26,
        33770.0,
        0.01,
        "10.1016/j.jct.2017.02.005",
    ),
    (
        "propan-2-ol",
        368.65,
        166610.0,
        0.01,
        "10.1016/j.jct.2004.09.009",
    ),
    ("propan-2-ol", 313.15, 13939.0, 0.01, "10.1021/je034197x"),
    ("acetonitrile", 287.667, 7165.0, 0.002, "10.1021/je034144f"),
    (
        "acetonitrile",
        405.236,
        399500.0,
        0.002,
        "10.1021/je034144f",
    ),
    (
        "acetonitrile",
        523.151,
        3512890.0,
        0.002,
        "10.1021/je034144f",
    ),
];

fn near(found: f64, value: f64, bound: f64, place: &str) {
    let deviation = found / value - 1.0;
    assert!(deviation.abs() < bound, "{place}: {found} and {value}");
}

#[test]
fn densities_lie_within_the_stated_uncertainty() {
    for (name, temperature, pressure, density, bound, doi) in DENSITIES {
        let fluid = Fluid::new(name).unwrap();
        let state = State::from_tp(&fluid, temperature, pressure).unwrap();
        near(
            state.density(),
            density,
            bound,
            &format!("{name} {temperature} K, {doi}"),
        );
    }
}

#[test]
fn vapour_pressures_lie_within_the_stated_uncertainty() {
    for (name, temperature, pressure, bound, doi) in VAPOUR_PRESSURES {
        let fluid = Fluid::new(name).unwrap();
        let found = fluid.saturation_at_temperature(temperature).unwrap();
        near(
            found.liquid.pressure(),
            pressure,
            bound,
            &format!("{name} {temperature} K, {doi}"),
        );
    }
}

/// Doi 10.1016/j.tca.2010.05.012 and, of the speeds of sound, 10.1016/j.tca.2009.03.014 and 10.1007/s10765-009-0648-5.
#[test]
fn caloric_properties_lie_within_the_stated_uncertainty() {
    let propanol = Fluid::new("propan-2-ol").unwrap();
    for (temperature, pressure, molar) in [
        (273.15, 1e5, 138.0),
        (298.15, 20e6, 153.3),
        (318.15, 40e6, 167.8),
    ] {
        let state = State::from_tp(&propanol, temperature, pressure).unwrap();
        let specific = molar / propanol.molar_mass();
        near(
            state.specific_isobaric_heat_capacity().unwrap(),
            specific,
            0.02,
            "propan-2-ol",
        );
    }
    for (name, temperature, speed) in [
        ("propan-2-ol", 298.15, 1135.9),
        ("acetonitrile", 288.15, 1319.14),
        ("acetonitrile", 308.15, 1238.4),
    ] {
        let state = State::from_tp(&Fluid::new(name).unwrap(), temperature, 101_325.0).unwrap();
        near(state.speed_of_sound().unwrap(), speed, 0.01, name);
    }
}

/// The critical point has the pressure stated, the liquid at the triple point that of Ewing and Sanchez Ochoa 2004
/// (10.1021/je034144f): 167 Pa.
#[test]
fn the_ends_of_the_dome_are_those_published() {
    let acetonitrile = Fluid::new("ACN").unwrap();
    let lowest = acetonitrile.saturation_at_temperature(229.35).unwrap();
    near(lowest.liquid.pressure(), 167.0, 0.005, "triple point");
    for (name, temperature, pressure) in [("IPA", 508.3, 4.764e6), ("ACN", 545.46, 4.835e6)] {
        let critical = Fluid::new(name).unwrap().critical_point().unwrap();
        near(critical.temperature, temperature, 1e-9, name);
        near(critical.pressure, pressure, 1e-6, name);
    }
}

/// Every substance that only the cubic equation knows gives a liquid at 298.15 K and 10 MPa or, where it freezes near there,
/// at 310 K, between the density of the boiling liquid and a tenth more.
#[test]
fn cubic_substances_have_liquids() {
    let cubic = substances().unwrap().iter().filter(|fluid| {
        fluid
            .record()
            .is_ok_and(|record| record.equation_of_state.is_none())
    });
    let mut count = 0;
    for fluid in cubic {
        let record = fluid.record().unwrap();
        let constants = record.cubic.as_ref().unwrap();
        assert!(record.ideal_gas.is_some());
        assert!(constants.vapour_pressure.mean < 0.05 && constants.liquid_density.mean < 0.05);
        let (low, top) = (
            fluid.saturation_temperature_min().unwrap(),
            fluid.saturation_temperature_max().unwrap(),
        );
        for step in 0..=20 {
            let temperature = low + (0.9999 * top - low) * f64::from(step) / 20.0;
            let found = fluid.saturation_at_temperature(temperature);
            assert!(found.is_ok(), "{} {temperature}: {found:?}", fluid.name());
        }
        assert!(fluid.source().starts_with("Peng"));
        let temperature = constants.valid.temperature_min.max(298.15) + 5.0;
        let boiling = fluid.saturation_at_temperature(temperature).unwrap().liquid;
        let pressed = State::from_tp(fluid, temperature, 1e7).unwrap();
        let ratio = pressed.density() / boiling.density();
        assert!(ratio > 1.0 && ratio < 1.1, "{}: {ratio}", fluid.name());
        assert!(
            pressed.specific_isobaric_heat_capacity().unwrap() > 800.0,
            "{}",
            fluid.name()
        );
        count += 1;
    }
    assert!(count >= 12);
}

/// Open densities of ethyl acetate (10.1021/je060339m) against the cubic equation: within 2 %.
#[test]
fn ethyl_acetate_is_as_dense_as_measured() {
    let fluid = Fluid::new("ethyl acetate").unwrap();
    for (temperature, pressure, density) in [
        (303.15, 100000.0, 887.6),
        (298.15, 20000000.0, 912.0),
        (348.15, 10000000.0, 845.5),
        (393.15, 35000000.0, 832.4),
    ] {
        let state = State::from_tp(&fluid, temperature, pressure).unwrap();
        near(state.density(), density, 0.02, "ethyl acetate");
    }
}
