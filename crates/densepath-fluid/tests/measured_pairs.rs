//! The stored parameters of pairs against measurements, and against what is known of the shape of their phase diagrams.

mod fitted;

use densepath_fluid::Fluid;
use densepath_fluid::consts::MOLAR_GAS_CONSTANT;
use densepath_fluid::eos::cubic::{Cubic, CubicSubstance, Interaction};
use densepath_fluid::eos::equilibrium::{
    Given, LocusBounds, boundaries, critical_locus, stability,
};
use densepath_fluid::eos::mixture::{Branch, MixtureModel};
use densepath_fluid::eos::multifluid::{MultiFluid, PairTerms};
use densepath_fluid::fluids::binary::{self, BinaryRecord, PairUncertainty};
use densepath_fluid::fluids::{find, record};
use fitted::FITTED;
use serde::Deserialize;

#[derive(Deserialize)]
struct Vectors {
    rows: Vec<Row>,
}

#[derive(Debug, Deserialize)]
struct Row {
    substances: [String; 2],
    quantity: String,
    temperature: f64,
    pressure: f64,
    first_fraction: f64,
    value: f64,
}

fn pair(names: [&str; 2]) -> BinaryRecord {
    binary::find(names[0], names[1])
        .unwrap()
        .unwrap()
        .into_owned()
}

/// The multi-fluid equation of a pair with the molar masses that it counts amounts in, where it has one.
fn multi_fluid(record: &BinaryRecord) -> Option<(Box<dyn MixtureModel>, [f64; 2])> {
    let block = record.multi_fluid.as_ref()?;
    let equations = record.substances.each_ref().map(|name| {
        let fluid = densepath_fluid::fluids::record(find(name).unwrap()).unwrap();
        fluid.reference_equation().unwrap()
    });
    let of_pair = |_, _| PairTerms::from(block);
    let model = MultiFluid::new("pair", &equations, block.smooth, of_pair);
    let masses = equations.map(|e| e.molar_mass * MOLAR_GAS_CONSTANT / e.gas_constant);
    Some((Box::new(model), masses))
}

/// The cubic equation of a pair with its molar masses, where it has one.
fn cubic(pair: &BinaryRecord) -> Option<(Box<dyn MixtureModel>, [f64; 2])> {
    let interaction = Interaction::from(pair.cubic.as_ref()?);
    let substances = pair.substances.each_ref().map(|name| {
        let constants = &record(find(name).unwrap()).unwrap().cubic;
        CubicSubstance::new(name.as_str(), constants.as_ref().unwrap())
    });
    let masses = pair
        .substances
        .each_ref()
        .map(|name| Fluid::new(name).unwrap().molar_mass());
    let model = Cubic::new("pair", substances.to_vec(), |_, _| interaction);
    Some((Box::new(model), masses))
}

/// The relative deviation from a row; none where the equation has no value.
fn deviation((model, masses): &(Box<dyn MixtureModel>, [f64; 2]), row: &Row) -> Option<f64> {
    let x = [row.first_fraction, 1.0 - row.first_fraction];
    if row.quantity == "density" {
        let isotherm = model.at(row.temperature, &x);
        let density = isotherm.molar_density(row.pressure, Branch::Liquid).ok()?;
        let mass = x[0] * masses[0] + x[1] * masses[1];
        return Some(density * mass / row.value - 1.0);
    }
    let range = (0.5 * row.value, 2.0 * row.value);
    let found = boundaries(
        model.as_ref(),
        Given::Temperature(row.temperature),
        &x,
        range,
    );
    let ratios = found
        .ok()?
        .into_iter()
        .map(|b| b.pressure / row.value - 1.0);
    ratios.min_by(|a, b| a.abs().total_cmp(&b.abs()))
}

/// Of single rows, which scatter, most lie within twice the uncertainty stated and all within six times.
#[test]
fn measurements_lie_within_what_is_stated() {
    let vectors: Vectors = serde_json::from_str(include_str!("measured_pairs.json")).unwrap();
    let (mut all, mut far) = (0, 0);
    for row in &vectors.rows {
        let record = pair(row.substances.each_ref().map(String::as_str));
        let stated = |u: &PairUncertainty| match row.quantity.as_str() {
            "density" => u.density.into_iter().chain(u.density_near_critical),
            _ => u.bubble_pressure.into_iter().chain(None),
        };
        let blocks = [
            (
                multi_fluid(&record),
                record.multi_fluid.as_ref().and_then(|b| b.evidence.clone()),
            ),
            (
                cubic(&record),
                record.cubic.as_ref().and_then(|b| b.evidence.clone()),
            ),
        ];
        for (equation, evidence) in blocks {
            let (Some(equation), Some(evidence)) = (equation, evidence) else {
                continue;
            };
            let stated = stated(&evidence.uncertainty).fold(0.0, f64::max);
            let found = deviation(&equation, row).unwrap_or(f64::INFINITY);
            all += 1;
            far += i32::from(found.abs() > 2.0 * stated);
            assert!(found.abs() < 6.0 * stated, "{row:?}: {found} with {stated}");
        }
    }
    assert!(all > 80 && far * 8 < all, "{far} of {all}");
}

/// A fit to bubble pressures alone can leave the volume far off: that of one liquid phase differs little from those of its
/// substances side by side (bounds by common practice, no source; ethanol, fitted to densities, contracts by 3.5 %).
#[test]
fn volumes_of_mixing_are_small() {
    for name in FITTED {
        let (model, _) = multi_fluid(&pair(["carbon dioxide", name])).unwrap();
        let volume = |x: f64| {
            let isotherm = model.at(290.0, &[x, 1.0 - x]);
            1.0 / isotherm.molar_density(2e7, Branch::Liquid).unwrap()
        };
        for x in [0.5, 0.7, 0.85] {
            let ratio = volume(x) / (x * volume(1.0) + (1.0 - x) * volume(0.0));
            assert!((0.9..1.06).contains(&ratio), "{name} {x}: {ratio}");
        }
    }
}

#[test]
fn there_is_no_false_split_above_the_vapour() {
    for name in FITTED {
        let (model, _) = multi_fluid(&pair(["carbon dioxide", name])).unwrap();
        for (temperature, pressure) in [
            (270.0, 6e6),
            (285.0, 4e7),
            (300.0, 1e7),
            (330.0, 2.5e7),
            (390.0, 4e7),
        ] {
            for step in 1..10 {
                let x = f64::from(step) / 10.0;
                let found = stability(model.as_ref(), temperature, pressure, &[x, 1.0 - x]);
                let found = found.unwrap();
                assert!(
                    found.is_stable(),
                    "{name} {temperature} {pressure} {x}: {found:?}"
                );
            }
        }
    }
}

/// Carbon dioxide + ethanol: Gil et al., J. Supercrit. Fluids 71, 26 (2012), doi 10.1016/j.supflu.2012.07.008, read in a
/// public file that reproduces the table; temperature in K, pressure in Pa, and the deviation recorded for the equation.
const LINE_OF_ETHANOL: [(f64, f64, f64); 5] = [
    (319.07, 8.605e6, 0.03),
    (326.9, 9.817e6, 0.03),
    (368.18, 13.842e6, 0.02),
    (428.65, 14.439e6, 0.02),
    (474.58, 11.056e6, 0.03),
];

#[test]
fn the_critical_line_of_ethanol_is_that_measured() {
    let (model, _) = multi_fluid(&pair(["carbon dioxide", "ethanol"])).unwrap();
    let bounds = LocusBounds {
        temperature_min: 290.0,
        temperature_max: 530.0,
        pressure_max: 6e7,
    };
    let line = critical_locus(model.as_ref(), &bounds).unwrap();
    for (temperature, measured, recorded) in LINE_OF_ETHANOL {
        let points = line.at_temperature(model.as_ref(), temperature);
        let stable = points.iter().filter(|p| p.point.is_stable);
        let found = stable.map(|p| p.point.pressure).fold(0.0, f64::max);
        assert!(
            (found / measured - 1.0).abs() < recorded,
            "{temperature}: {found} for {measured}"
        );
    }
}

/// At 40 degC and 100 bar both equations know one phase of carbon dioxide and methanol, whatever the composition.
#[test]
fn methanol_mixes_at_40_degc_and_100_bar() {
    let record = pair(["carbon dioxide", "methanol"]);
    for (model, _) in [multi_fluid(&record), cubic(&record)].into_iter().flatten() {
        for step in 1..40 {
            let x = f64::from(step) / 40.0;
            let found = stability(model.as_ref(), 313.15, 1e7, &[x, 1.0 - x]).unwrap();
            assert!(found.is_stable(), "{}: {x}", model.name());
        }
    }
}

/// Where carbon dioxide and methanol cease to part, in Pa at 40, 60 and 80 degC, as the multi-fluid and the cubic equation
/// say: the highest pressure of a stable critical point. Values of this library, not measured: no measured point of the line
/// was found. The multi-fluid equation is drawn to a line from memory; the equation of Peng and Robinson with one k_ij of
/// 0.0583 has 10.46 and 13.60 MPa at the higher two (`tests/vectors/mixtures/critical_points.json`). The cubic equation here,
/// whose k_ij(T) was fitted to bubble pressures alone, lies 10 to 22 % above both: it is the one to doubt.
const END_OF_PARTING: [(f64, f64, f64); 3] = [
    (313.15, 8.184e6, 9.01e6),
    (333.15, 11.05e6, 12.73e6),
    (353.15, 13.574e6, 15.82e6),
];

#[test]
fn both_equations_tell_where_methanol_ceases_to_part() {
    let record = pair(["carbon dioxide", "methanol"]);
    let bounds = LocusBounds {
        temperature_min: 300.0,
        temperature_max: 400.0,
        pressure_max: 6e7,
    };
    let mut far = Vec::new();
    for (temperature, multi, other) in END_OF_PARTING {
        for (equation, recorded) in [(multi_fluid(&record), multi), (cubic(&record), other)] {
            let (model, _) = equation.unwrap();
            let line = critical_locus(model.as_ref(), &bounds).unwrap();
            let points = line.at_temperature(model.as_ref(), temperature);
            let stable = points.iter().filter(|p| p.point.is_stable);
            let found = stable.map(|p| p.point.pressure).fold(0.0, f64::max);
            if (found / recorded - 1.0).abs() > 2e-3 {
                far.push((temperature, found, recorded));
            }
        }
    }
    assert!(far.is_empty(), "{far:?}");
}
