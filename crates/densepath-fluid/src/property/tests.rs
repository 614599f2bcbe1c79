use super::*;

#[test]
fn a_batch_keeps_every_good_element() {
    let co2 = Fluid::new("carbon dioxide").unwrap();
    let mut out = [0.0; 3];
    let mut status = [-1; 3];
    let failed = co2
        .property_into(
            Quantity::Density,
            &[313.15, 40.0, 313.15],
            &[150e5, 1e5, 100e5],
            &mut out,
            Some(&mut status),
        )
        .unwrap_err();
    assert_eq!(
        (failed.index, failed.error.code(), status),
        (1, 102, [0, 102, 0])
    );
    assert!((out[0] - 780.233).abs() < 1e-3 && out[1].is_nan() && (out[2] - 628.612).abs() < 1e-3);
    assert_eq!(
        co2.density_into(&[1.0], &[], &mut [])
            .unwrap_err()
            .error
            .code(),
        104
    );
}

/// Also beside states of other temperatures, for which another form of the ideal part holds.
#[test]
fn several_properties_at_once_are_those_of_single_states() {
    let co2 = Fluid::new("carbon dioxide").unwrap();
    let point = |i: u32| {
        let place = (f64::from(i) * 0.618_033_988_749_895).fract();
        (216.0 + 280.0 * place, 1e5 + 1e4 * f64::from(i))
    };
    let (temperature, mut pressure): (Vec<f64>, Vec<f64>) = (0..3000).map(point).unzip();
    pressure[7] = -1.0;
    for wanted in [
        [Quantity::SpeedOfSound, Quantity::DynamicViscosity],
        [Quantity::SpecificEntropy, Quantity::SpeedOfSound],
    ] {
        let mut out = vec![0.0; 2 * temperature.len()];
        let failed = co2
            .properties_into(&wanted, &temperature, &pressure, &mut out)
            .unwrap_err();
        assert_eq!((failed.index, failed.error.code()), (7, 101));
        for ((t, p), row) in temperature.iter().zip(&pressure).zip(out.chunks(2)) {
            let single = wanted.map(|quantity| co2.property(quantity, *t, *p).unwrap_or(f64::NAN));
            let mut pairs = single.iter().zip(row);
            assert!(pairs.all(|(a, b)| a.to_bits() == b.to_bits()), "{t} {p}");
        }
    }
    let wanted = [Quantity::SpeedOfSound, Quantity::DynamicViscosity];
    let short = co2.properties_into(&wanted, &[300.0], &[1e7], &mut [0.0]);
    assert_eq!(short.unwrap_err().error.code(), 104);
}

/// Properties that follow from a density within 1e-11 differ by more where a small change of density means much.
#[test]
fn properties_are_those_of_states() {
    let mut compared = 0;
    for (name, range) in [("carbon dioxide", 217.0..400.0), ("ethanol", 260.0..500.0)] {
        let fluid = Fluid::new(name).unwrap();
        for step in 0..400 {
            let place = (f64::from(step) * 0.754_877_666_246_693).fract();
            let t = range.start + place * (range.end - range.start);
            let p = 1e4 * 7e3_f64.powf((f64::from(step) * 0.569_840_290_998_053).fract());
            let mut row = vec![0.0; PROPERTIES.len()];
            let failed = fluid.properties_into(PROPERTIES, &[t], &[p], &mut row);
            let Ok(state) = State::from_tp(&fluid, t, p) else {
                assert!(failed.is_err() && row.iter().all(|value| value.is_nan()));
                continue;
            };
            for (quantity, value) in PROPERTIES.iter().zip(row) {
                let Ok(exact) = state.get(*quantity) else {
                    assert!(failed.is_err() && value.is_nan());
                    continue;
                };
                compared += 1;
                let scale = exact.abs() + size(*quantity, &state);
                let difference = (value - exact).abs() / scale;
                assert!(
                    difference < 2e-10,
                    "{name} {quantity} {t} {p}: {difference:e}"
                );
            }
        }
    }
    assert!(compared > 10_000, "{compared}");
}

/// The size beside which a property counts that may be zero.
fn size(quantity: Quantity, state: &State) -> f64 {
    let gas_constant = state.fluid().specific_gas_constant();
    match quantity {
        Quantity::SpecificEntropy => gas_constant,
        Quantity::JouleThomsonCoefficient => 1e-7,
        Quantity::SpecificEnthalpy
        | Quantity::SpecificInternalEnergy
        | Quantity::SpecificGibbsEnergy
        | Quantity::SpecificHelmholtzEnergy => gas_constant * state.temperature(),
        _ => 0.0,
    }
}

/// A list of many blocks, shared among threads, names its first failure and fills every status.
#[test]
fn a_long_batch_is_that_of_its_elements() {
    let co2 = Fluid::new("carbon dioxide").unwrap();
    let count = 3 * BLOCK + 5;
    let temperature: Vec<f64> = (0..count)
        .map(|i| 250.0 + 0.01 * (i % 9000) as f64)
        .collect();
    let mut pressure = vec![9e6; count];
    pressure[BLOCK + 1] = -1.0;
    pressure[2 * BLOCK] = 1.0;
    let (mut out, mut status) = (vec![0.0; count], vec![-1; count]);
    let failed = co2
        .property_into(
            Quantity::Density,
            &temperature,
            &pressure,
            &mut out,
            Some(&mut status),
        )
        .unwrap_err();
    assert_eq!((failed.index, failed.error.code()), (BLOCK + 1, 101));
    assert_eq!(status.iter().filter(|code| **code != 0).count(), 2);
    for index in (0..count).step_by(97).filter(|index| status[*index] == 0) {
        let single = co2.density(temperature[index], pressure[index]).unwrap();
        assert_eq!(out[index], single);
    }
}

#[test]
fn an_uncertainty_is_told_only_where_one_is_known() {
    let co2 = Fluid::new("CO2").unwrap();
    let of = |property, t, p| {
        co2.uncertainty(property, t, p)
            .map_err(|error| error.code())
    };
    assert_eq!(of(Quantity::Density, 313.15, 150e5), Ok(0.0005));
    assert_eq!(of(Quantity::Density, 305.0, 75e5), Err(202));
    assert_eq!(of(Quantity::SpecificEntropy, 313.15, 150e5), Err(202));
    assert!(of(Quantity::DynamicViscosity, 313.15, 150e5).unwrap() > 0.0);
}

/// Carbon dioxide at 313.15 K and 15 MPa: 0.05 % of the density (Span and Wagner 1996) and 2 % of the viscosity (Laesecke and Muzny
/// 2017, half of 4 % with k = 2). `Z = p M/(rho R T)` and `nu = eta/rho` are products of powers, whose relative uncertainties are
/// roots of sums of squares.
#[test]
fn what_follows_from_others_has_their_uncertainty() {
    let co2 = Fluid::new("CO2").unwrap();
    let of = |property, p| {
        co2.uncertainty(property, 313.15, p)
            .map_err(|error| error.code())
    };
    assert_eq!(of(Quantity::CompressionFactor, 150e5), Ok(0.0005));
    let nu = of(Quantity::KinematicViscosity, 150e5).unwrap();
    assert!((nu - (0.02f64 * 0.02 + 0.0005 * 0.0005).sqrt()).abs() < 1e-12);
    assert_eq!(of(Quantity::CompressionFactor, 250e5), Ok(0.0005));
    // At the critical point nothing is known of the density.
    let near = |property| {
        co2.uncertainty(property, 304.2, 73.8e5)
            .map_err(|error| error.code())
    };
    assert_eq!(near(Quantity::CompressionFactor), Err(202));
    assert_eq!(near(Quantity::KinematicViscosity), Err(202));
    assert!(near(Quantity::DynamicViscosity).is_ok());
}

/// Beyond 30 MPa the abstract of Span and Wagner 1996 says nothing of the density: what stands there is marked as judged, and is never
/// smaller than what is stated.
#[test]
fn what_no_source_states_is_marked_as_judged() {
    let co2 = Fluid::new("CO2").unwrap();
    let of = |pressure| {
        let state = State::from_tp(&co2, 313.15, pressure).unwrap();
        state.stated_uncertainty(Quantity::Density).unwrap()
    };
    let (stated, judged) = (of(150e5), of(400e5));
    assert!(!stated.is_judged && stated.basis() == "stated with the model");
    assert!(judged.is_judged && judged.relative > stated.relative);
    assert!(judged.basis().contains("judged"), "{}", judged.basis());
    let nu = State::from_tp(&co2, 313.15, 400e5).unwrap();
    assert!(
        nu.stated_uncertainty(Quantity::KinematicViscosity)
            .unwrap()
            .is_judged
    );
}

/// Every substance tells an uncertainty of its density, speed of sound and heat capacity as a liquid, a vapour and a fluid above its
/// critical pressure, but the vapour of acids, whose pairs of molecules the cubic equation does not know.
#[test]
fn every_substance_tells_its_uncertainty() {
    let properties = [
        Quantity::Density,
        Quantity::SpeedOfSound,
        Quantity::SpecificIsobaricHeatCapacity,
    ];
    for fluid in crate::substances().unwrap() {
        let Ok(critical) = fluid.critical_point() else {
            continue;
        };
        for (share, pressure) in [(0.65, 2.0), (0.75, 5.0), (0.75, 0.01), (1.2, 3.0)] {
            let (t, p) = (share * critical.temperature, pressure * critical.pressure);
            let state = State::from_tp(fluid, t, p).ok();
            let Some(state) = state.filter(|state| !state.is_near_critical()) else {
                continue;
            };
            let acid = fluid.name().ends_with("acid") && pressure < 1.0;
            for property in properties {
                let told = state.uncertainty(property);
                let name = fluid.name();
                assert_eq!(told.is_err(), acid, "{name} {property} {t} {p}");
                assert!(told.is_err() || told.is_ok_and(|u| u > 0.0 && u <= 0.33));
            }
        }
    }
}

/// What is judged of the substances that only the cubic equation knows is what it misses of those with an equation of their own, from
/// 270 to 420 K and up to 60 MPa.
#[test]
fn the_cubic_equation_is_as_wrong_as_it_is_judged() {
    const ALCOHOLS: [&str; 3] = ["methanol", "ethanol", "propan-2-ol"];
    const OTHERS: [&str; 8] = [
        "acetone",
        "cyclohexane",
        "n-heptane",
        "n-hexane",
        "toluene",
        "n-pentane",
        "tetrahydrofuran",
        "acetonitrile",
    ];
    let cases = [
        (Quantity::Density, 0.04, 0.05),
        (Quantity::SpeedOfSound, 0.25, 0.62),
        (Quantity::SpecificIsobaricHeatCapacity, 0.12, 0.21),
    ];
    for (property, of_others, of_alcohols) in cases {
        for (names, judged) in [(&OTHERS[..], of_others), (&ALCOHOLS[..], of_alcohols)] {
            for name in names {
                let known = Fluid::new(name).unwrap();
                let cubic = Fluid::new_with_model(name, crate::ModelChoice::Cubic).unwrap();
                let mut missed: Vec<f64> = (0..60)
                    .filter_map(|step| {
                        let share = f64::from(step) / 60.0;
                        let (t, p) = (270.0 + 150.0 * share, 6e7 * (7.0 * share).fract());
                        let value = |fluid| State::from_tp(fluid, t, p).ok()?.get(property).ok();
                        Some((value(&cubic)? / value(&known)? - 1.0).abs())
                    })
                    .collect();
                missed.sort_by(f64::total_cmp);
                let high = missed[missed.len() * 95 / 100];
                assert!(high < judged, "{name} {property} {high}");
            }
        }
    }
}

/// Of toluene the source tells the liquid from the rest, 0.05 % and 0.5 % with k = 2; of water two boxes of pressure.
#[test]
fn each_region_has_its_own_uncertainty() {
    let of = |name, t, p| {
        let fluid = Fluid::new(name).unwrap();
        fluid.uncertainty(Quantity::Density, t, p).unwrap()
    };
    assert_eq!(of("toluene", 300.0, 1e6), 0.00025);
    assert_eq!(of("toluene", 500.0, 1e5), 0.0025);
    assert_eq!(of("water", 300.0, 50e6), 0.0001);
    assert_eq!(of("water", 300.0, 500e6), 0.0005);
}

#[test]
fn pressures_of_a_batch_are_those_of_single_states() {
    let co2 = Fluid::new("carbon dioxide").unwrap();
    let mut out = [0.0; 2];
    let mut status = [-1; 2];
    let failed = co2
        .pressure_into(
            &[313.15, 313.15],
            &[780.233, -1.0],
            &mut out,
            Some(&mut status),
        )
        .unwrap_err();
    assert_eq!(
        (failed.index, failed.error.code(), status),
        (1, 101, [0, 101])
    );
    assert_eq!(out[0], co2.pressure(313.15, 780.233).unwrap());
    assert!(out[1].is_nan());
}

/// Carbon dioxide of 900 kg/m3 boils below 282.4 K and is one phase above; of 1250 kg/m3 it melts before it boils.
#[test]
fn an_isopycnic_ends_where_a_second_phase_begins() {
    let co2 = Fluid::new("CO2").unwrap();
    let temperatures = [270.0, 290.0, 310.0, 330.0];
    let (mut out, mut status) = ([0.0; 4], [-1; 4]);
    let failed = co2.isopycnic_into(&temperatures, &[900.0; 4], &mut out, Some(&mut status));
    assert_eq!(failed.unwrap_err().index, 0);
    assert!(out[0].is_nan() && status == [301, 0, 0, 0]);
    for (temperature, pressure) in temperatures.into_iter().zip(out).skip(1) {
        let back = co2.density(temperature, pressure).unwrap();
        assert!((back / 900.0 - 1.0).abs() < 1e-12);
    }
    assert!(out[1] < out[2] && out[2] < out[3]);
    assert_eq!(co2.isopycnic(218.0, 1250.0).unwrap_err().code(), 301);
    assert_eq!(co2.isopycnic(218.0, 1600.0).unwrap_err().code(), 303);
}

#[test]
fn every_listed_property_is_defined() {
    let state = State::from_tp(&Fluid::new("CO2").unwrap(), 313.15, 150e5).unwrap();
    for &quantity in PROPERTIES {
        assert!(state.get(quantity).unwrap().is_finite(), "{quantity}");
    }
}
