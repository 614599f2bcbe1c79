//! Facts of the trade that every practitioner knows: common practice, no source.

use densepath::hardware::{LinearRestrictor, SampleLoop};
use densepath::units::{BAR, MICROLITRE, MILLILITRE_PER_MINUTE, from_celsius};
use densepath::{Fluid, Solution, read_method};

const PACKED: &str = include_str!("../methods/packed.toml");
const CAPILLARY: &str = include_str!("../methods/capillary.toml");

/// The solution of a document with some of its text replaced; every replacement must be found.
fn solve(text: &str, replacements: &[(&str, &str)]) -> Solution {
    let edited = replacements
        .iter()
        .fold(text.to_owned(), |text, (from, to)| {
            assert!(text.contains(from), "{from} is not in the document");
            text.replace(from, to)
        });
    read_method(&edited)
        .and_then(|method| method.solve())
        .unwrap()
}

#[test]
fn a_loop_injects_no_more_than_it_holds() {
    let overfilled = SampleLoop::new(20.0 * MICROLITRE, 25.0 * MICROLITRE)
        .unwrap()
        .filling()
        .unwrap();
    assert_eq!(overfilled.injected_volume, 20.0 * MICROLITRE);
    let partial = SampleLoop::new(20.0 * MICROLITRE, 8.0 * MICROLITRE)
        .unwrap()
        .filling()
        .unwrap();
    assert_eq!(partial.injected_volume, 8.0 * MICROLITRE);
}

#[test]
fn a_longer_or_narrower_restrictor_holds_more_pressure() {
    let co2 = Fluid::new("carbon dioxide").unwrap();
    let oven = from_celsius(100.0);
    let flow = |diameter: f64, length: f64, bar: f64| {
        LinearRestrictor::new(diameter, length)
            .and_then(|restrictor| restrictor.mass_flow_rate(&co2, oven, bar * BAR, 1.013 * BAR))
            .unwrap()
    };
    let reference = flow(10e-6, 0.20, 200.0);
    let pressure_for = |diameter: f64, length: f64| {
        let enough = (100..600).find(|&bar| flow(diameter, length, f64::from(bar)) >= reference);
        enough.expect("600 bar is enough")
    };
    assert_eq!(pressure_for(10e-6, 0.20), 200);
    assert!(pressure_for(10e-6, 0.30) > 230);
    assert!(pressure_for(9e-6, 0.20) > 230);
}

#[test]
fn a_regulator_holds_its_pressure_whatever_the_flow() {
    for flow in ["1.0 mL/min", "2.0 mL/min", "4.0 mL/min"] {
        let solution = solve(PACKED, &[("3.0 mL/min", flow)]);
        let before = solution.station("regulator tube").unwrap();
        assert!(
            (before.state.pressure() / (150.0 * BAR) - 1.0).abs() < 1e-9,
            "{flow}"
        );
    }
}

#[test]
fn injections_up_to_sixty_nanolitres_suit_an_open_tube_and_microlitres_a_packed_column() {
    let loss = |solution: &Solution, part: &str| {
        let bands = solution.bands.as_ref().unwrap();
        bands
            .rows
            .iter()
            .find(|row| row.part == part)
            .unwrap()
            .share
    };
    let near_one = ("retention_factor = 3.0", "retention_factor = 1.0");
    // The rule speaks of 1 % for some 40000 plates; this column has 100000, and the share grows with them.
    let narrow = solve(CAPILLARY, &[near_one]);
    let plates = narrow.bands.as_ref().unwrap().column_plate_number;
    assert!(loss(&narrow, "rotor") < 0.01 * plates / 40_000.0);
    let wide = [near_one, ("60 nL", "1000 nL"), ("300 nL", "3000 nL")];
    assert!(loss(&solve(CAPILLARY, &wide), "rotor") > 0.5);
    assert!(loss(&solve(PACKED, &[]), "loop") < 0.01);
}

#[test]
fn pumps_reach_from_a_microlitre_to_ten_millilitres_a_minute() {
    let slow = solve(CAPILLARY, &[]);
    let pump = slow.station("pump").unwrap();
    let displaced = slow.mass_flow_rate / pump.state.density();
    assert!((0.5e-3..5e-3).contains(&(displaced / MILLILITRE_PER_MINUTE)));
    for barrel in ["50 mL", "250 mL"] {
        let time =
            |solution: &Solution| solution.fact("pump", "running time of a filling").unwrap();
        assert!(time(&solve(CAPILLARY, &[("150 mL", barrel)])) > 8.0 * 3600.0);
    }
    let wide = [
        ("3.0 mL/min", "10 mL/min"),
        ("4.6 mm", "10 mm"),
        ("0.17 mm", "0.5 mm"),
        ("0.25 mm", "0.5 mm"),
    ];
    let fast = solve(PACKED, &wide);
    assert!(fast.mass_flow_rate > 9e-3 / 60.0);
}
