//! The published parameters of pairs against an independent implementation of the same equations.

use densepath_fluid::consts::MOLAR_GAS_CONSTANT;
use densepath_fluid::eos::mixture::MixtureModel;
use densepath_fluid::eos::multifluid::MultiFluid;
use densepath_fluid::fluids::record::EquationOfState;
use densepath_fluid::fluids::{binary, find, record};
use serde::Deserialize;

#[derive(Deserialize)]
struct Vectors {
    source: String,
    states: Vec<State>,
}

#[derive(Deserialize)]
struct State {
    substances: [String; 2],
    temperature: f64,
    molar_density: f64,
    first_fraction: f64,
    pressure: f64,
    alphar: f64,
    ln_fugacity_coefficients: [f64; 2],
}

/// The equation of a substance with the one gas constant, as the independent values were computed.
fn equation(name: &str) -> EquationOfState {
    let mut equation = record(find(name).unwrap())
        .unwrap()
        .reference_equation()
        .unwrap()
        .clone();
    equation.gas_constant = MOLAR_GAS_CONSTANT;
    equation
}

#[test]
fn published_parameters_give_the_values_of_an_independent_library() {
    let vectors: Vectors = serde_json::from_str(include_str!("published_pairs.json")).unwrap();
    assert!(vectors.source.contains("CoolProp 8.0.0"));
    assert!(vectors.states.len() > 50);
    for state in vectors.states {
        let [first, second] = &state.substances;
        let pair = binary::find(first, second).unwrap().unwrap();
        let Some(multi_fluid) = &pair.multi_fluid else {
            panic!("{first} + {second}")
        };
        if multi_fluid.source.authors == "densepath" {
            continue;
        }
        let equations = [equation(first), equation(second)];
        let model = MultiFluid::new("published", &equations.each_ref(), false, |_, _| {
            (multi_fluid.reducing, &multi_fluid.departures[..])
        });
        let x = [state.first_fraction, 1.0 - state.first_fraction];
        let isotherm = model.at(state.temperature, &x);
        let rho = state.molar_density;
        let pressure = isotherm.pressure(rho);
        let phi = isotherm.ln_fugacity_coefficients(rho, pressure);
        // The scale of what is added up: a pressure near zero is a difference of two large ones.
        let scale = rho * isotherm.thermal_energy();
        let errors = [
            (pressure - state.pressure) / (scale + state.pressure),
            (isotherm.residual(rho).a - state.alphar) / (1.0 + state.alphar.abs()),
            phi[0] - state.ln_fugacity_coefficients[0],
            phi[1] - state.ln_fugacity_coefficients[1],
        ];
        for error in errors {
            assert!(error.abs() < 1e-9, "{first} + {second}: {errors:?}");
        }
    }
}
