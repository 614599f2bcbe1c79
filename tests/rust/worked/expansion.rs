use super::{assert_examples, at, counted_mass_flow, unknown};
use densepath::flow::injection::plug_time;
use densepath::hardware::regulator::{
    BackPressureRegulator, dry_inlet_temperature, inlet_temperature_for,
};
use densepath::hardware::vent::gas_volume_flow_rate;
use densepath::{Fluid, State};
use densepath_tests::Example;

fn inlet(fluid: &Fluid, example: &Example) -> State {
    at(
        fluid,
        example.input("temperature / K"),
        example.input("pressure / Pa"),
    )
}

/// Heat flow rate of a regulator that brings a mass flow rate to the outlet temperature of the example.
fn duty(fluid: &Fluid, example: &Example, mass_flow_rate: f64) -> f64 {
    let inlet = inlet(fluid, example);
    let outlet_pressure = example.input("outlet pressure / Pa");
    let regulator = BackPressureRegulator::new(inlet.pressure())
        .and_then(|regulator| {
            regulator.with_outlet_temperature(example.input("outlet temperature / K"))
        })
        .unwrap();
    let expansion = regulator.expand(&inlet, mass_flow_rate, outlet_pressure);
    expansion.unwrap().heater_duty.unwrap()
}

fn computed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let input = |key: &str| example.input(key);
    match (example.case.as_str(), output) {
        ("isenthalpic", output) => {
            let end = inlet(fluid, example).expand_to(input("outlet pressure / Pa"));
            let end = end.unwrap();
            match output {
                "solid_fraction" => end.solid_fraction(),
                "vapour_fraction" => end.vapour_fraction().unwrap(),
                "temperature" => end.temperature(),
                _ => unknown(example, output),
            }
        }
        ("heating", "specific heat") => duty(fluid, example, 1.0),
        ("heater", "heat_flow_rate") => duty(fluid, example, counted_mass_flow(fluid, example)),
        ("inlet_temperature", "inlet temperature without solid") => {
            dry_inlet_temperature(fluid, input("pressure / Pa"), input("outlet pressure / Pa"))
                .unwrap()
        }
        ("inlet_temperature", "inlet temperature") => inlet_temperature_for(
            fluid,
            input("pressure / Pa"),
            input("outlet temperature / K"),
            input("outlet pressure / Pa"),
        )
        .unwrap(),
        ("vent", "volume_flow_rate") => {
            gas_volume_flow_rate(fluid, input("mass_flow_rate / (kg/s)")).unwrap()
        }
        ("delay", "time") => {
            plug_time(input("volume / m3"), input("volume_flow_rate / (m3/s)")).unwrap()
        }
        _ => unknown(example, output),
    }
}

#[test]
fn expansions() {
    assert_examples("worked_expansion", computed);
}
