use super::injection::column_variance;
use super::{assert_examples, unknown};
use densepath::Fluid;
use densepath::flow::bands::{MIXED, PLUG, plate_loss, variance};
use densepath::hardware::GasDetector;
use densepath_tests::Example;

fn computed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    match (example.case.as_str(), output) {
        ("cell", "plate loss") => {
            let divisor = match example.choice("cell flow") {
                "plug" => PLUG,
                _ => MIXED,
            };
            let cell = variance(example.input("cell volume / m3"), divisor).unwrap();
            plate_loss(column_variance(example), cell).unwrap()
        }
        ("time_constant", output) => {
            let volume =
                example.input("time constant / s") * example.input("volume_flow_rate / (m3/s)");
            let own = variance(volume, MIXED).unwrap();
            match output {
                "volume_variance" => own,
                _ => plate_loss(column_variance(example), own).unwrap(),
            }
        }
        ("gas_flow", "volume_flow_rate") => {
            let gas = GasDetector::new().gas(fluid, example.input("mass_flow_rate / (kg/s)"));
            gas.unwrap().gas_volume_flow_rate
        }
        _ => unknown(example, output),
    }
}

#[test]
fn detectors() {
    assert_examples("worked_detector", computed);
}
