use super::{assert_examples, at, unknown};
use densepath::Fluid;
use densepath::hardware::safety::{
    Room, blocked_in, gas_fraction_at_oxygen, hammer, heated_shut_in,
};
use densepath::hardware::vent::gas_volume_flow_rate;
use densepath_tests::Example;

fn room(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let room = Room::new(
        example.input("room volume / m3"),
        example.input("air changes / (1/s)"),
    )
    .and_then(|room| room.with_background(example.input("background fraction / 1")))
    .unwrap();
    let gas = gas_volume_flow_rate(fluid, example.input("mass_flow_rate / (kg/s)")).unwrap();
    if output == "steady volume fraction" {
        return room.steady_fraction(gas).unwrap();
    }
    let time = room.time_to(gas, example.input("limit fraction / 1"));
    time.unwrap().unwrap()
}

fn computed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let input = |key: &str| example.input(key);
    let state = || at(fluid, input("temperature / K"), input("pressure / Pa"));
    match (example.case.as_str(), output) {
        ("room", output) => room(fluid, example, output),
        ("room_mass", "mass") => Room::new(input("room volume / m3"), 0.0)
            .and_then(|room| room.mass_for_fraction(fluid, input("volume fraction / 1")))
            .unwrap(),
        ("oxygen", "volume fraction") => gas_fraction_at_oxygen(input("oxygen limit / 1")).unwrap(),
        ("blocked_in_liquid", "dp_dt_rho") => state().dp_dt_rho().unwrap(),
        ("blocked_in_liquid", "pressure") => {
            let end = blocked_in(&state(), input("final temperature / K"), None);
            end.unwrap().warmed.pressure()
        }
        ("hammer", "pressure rise") => {
            let found = hammer(&state(), input("velocity / (m/s)"));
            found.unwrap().pressure_rise
        }
        ("relief", "volume_flow_rate") => {
            let (volume, heat) = (input("volume / m3"), input("heat_flow_rate / W"));
            let heated = heated_shut_in(&state(), volume, heat);
            heated.unwrap().relief_volume_flow_rate
        }
        _ => unknown(example, output),
    }
}

#[test]
fn safety() {
    assert_examples("worked_safety", computed);
}
