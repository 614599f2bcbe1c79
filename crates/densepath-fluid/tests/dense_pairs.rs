//! Where the multi-fluid equations of pairs have limits of stability far above the pressures of their measurements.
//!
//! Critical points lie on these limits, and densities beyond them are met by no stable state, so that the way from a temperature
//! and a density leads astray there. Nothing was measured of most pairs above 60 MPa; a limit found at the pressures told here
//! is false, but for those pairs whose liquids part.

use densepath_fluid::eos::mixture::MixtureModel;
use densepath_fluid::eos::multifluid::{MultiFluid, PairTerms};
use densepath_fluid::fluids::binary::{self, BinaryRecord};
use densepath_fluid::fluids::{find, record};
use densepath_fluid::{Fluid, State};

/// Pairs with the lowest pressure of a limit in Pa that this walk once found and their records do not tell. Water and helium part
/// from carbon dioxide at such pressures; of acetone and water no parting is known, and cold states beyond are not to be
/// trusted. The records of all other pairs tell theirs, or there is none.
const LOWEST_LIMITS: [([&str; 2], f64); 3] = [
    (["carbon dioxide", "water"], 3.0e7),
    (["carbon dioxide", "helium"], 3.0e7),
    (["acetone", "water"], 3.0e7),
];

/// Temperatures in K, fractions of the first substance in fortieths, and pressures in Pa of the walk.
const TEMPERATURES: [f64; 12] = [
    220.0, 230.0, 245.0, 260.0, 280.0, 300.0, 330.0, 370.0, 410.0, 460.0, 510.0, 560.0,
];
const FORTIETHS: u32 = 40;
const FROM: f64 = 3e7;
const TO: f64 = 8e8;
/// Factor from one density of the walk to the next.
const STEP: f64 = 1.01;

fn multi_fluid(pair: &BinaryRecord) -> Option<MultiFluid> {
    let block = pair.multi_fluid.as_ref()?;
    let equations = pair.substances.each_ref().map(|name| {
        let fluid = record(find(name).unwrap()).unwrap();
        fluid.reference_equation().unwrap()
    });
    let of_pair = |_, _| PairTerms::from(block);
    Some(MultiFluid::new("pair", &equations, block.smooth, of_pair))
}

/// The lowest pressure in Pa, from 30 to 800 MPa, of a dense state that is unstable against small changes, with its temperature
/// in K and the fraction of the first substance.
fn lowest_limit(model: &MultiFluid, least_temperature: f64) -> Option<[f64; 3]> {
    let mut lowest: Option<[f64; 3]> = None;
    let temperatures = TEMPERATURES.into_iter().filter(|t| *t >= least_temperature);
    for temperature in temperatures {
        for step in 1..FORTIETHS {
            let x = f64::from(step) / f64::from(FORTIETHS);
            let isotherm = model.at(temperature, &[x, 1.0 - x]);
            let highest = isotherm.molar_density_max();
            let mut density = isotherm.densities(FROM).unwrap().liquid;
            let end = lowest.map_or(TO, |[pressure, ..]| pressure);
            while density < highest && isotherm.pressure(density) < end {
                if isotherm.softest(density).0 < 0.0 {
                    lowest = Some([isotherm.pressure(density), temperature, x]);
                    break;
                }
                density *= STEP;
            }
        }
    }
    lowest
}

#[test]
fn dense_mixtures_are_stable_but_where_told() {
    let mut differ = Vec::new();
    for index in 0..binary::count() {
        let pair = binary::record(index).unwrap();
        let Some(model) = multi_fluid(pair) else {
            continue;
        };
        let [first, second] = &pair.substances;
        let fluid = Fluid::mixture(&[(first, 0.5), (second, 0.5)]).unwrap();
        let found = lowest_limit(&model, fluid.range().temperature_min);
        let parting = LOWEST_LIMITS
            .iter()
            .find(|(names, _)| names == &[first, second]);
        let recorded = pair
            .multi_fluid
            .as_ref()
            .and_then(|block| block.false_limit);
        let told = parting.map(|(_, pressure)| *pressure).or(recorded);
        let agree = match (found, told) {
            (None, None) => true,
            (Some([pressure, ..]), Some(told)) => (pressure / told - 1.0).abs() < 0.02,
            _ => false,
        };
        if !agree {
            differ.push(format!("{first} + {second}: {found:?} for {told:?}"));
        }
    }
    assert!(differ.is_empty(), "{}", differ.join("\n"));
}

/// Where no measurement was compared, pressures near a false limit are refused unless the fluid may extrapolate.
#[test]
fn pressures_beyond_a_false_limit_are_refused() {
    let fluid = Fluid::mixture(&[("carbon dioxide", 0.5), ("n-butane", 0.5)]).unwrap();
    assert!((fluid.range().pressure_max / 3.8e7 - 1.0).abs() < 1e-12);
    assert!(State::from_tp(&fluid, 300.0, 3.7e7).is_ok());
    let refused = State::from_tp(&fluid, 300.0, 3.9e7).unwrap_err();
    assert_eq!(refused.code(), 102, "{refused}");
    assert!(State::from_tp(&fluid.extrapolating(), 300.0, 3.9e7).is_ok());
}
