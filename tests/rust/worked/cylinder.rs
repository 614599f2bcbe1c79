use super::{assert_examples, unknown};
use densepath::Fluid;
use densepath::hardware::{Cylinder, Withdrawal};
use densepath_tests::Example;

/// Content that leaves liquid and vapour side by side, for what does not depend on the mass.
const SOME_MASS: f64 = 20.0;

fn computed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let temperature = example.input("temperature / K");
    let saturation = || fluid.saturation_at_temperature(temperature).unwrap();
    let content = |mass: f64| {
        let cylinder = Cylinder::new(example.input("volume / m3"), mass, Withdrawal::Liquid);
        cylinder.unwrap().content(fluid, temperature).unwrap()
    };
    match output {
        "pressure" if example.case == "saturation" => saturation().pressure,
        "liquid density" => saturation().liquid.density(),
        "vapour density" => saturation().vapour.density(),
        "mass of vapour that fills the cylinder" => content(SOME_MASS).heel,
        "pressure" => content(example.input("mass / kg")).state.pressure(),
        "liquid mass by the lever rule" => {
            let (volume, mass) = (example.input("volume / m3"), example.input("mass / kg"));
            let pair = saturation();
            let (liquid, vapour) = (pair.liquid.density(), pair.vapour.density());
            let by_lever_rule = (mass - vapour * volume) / (1.0 - vapour / liquid);
            let content = content(mass);
            // The rule holds as long as it leaves room for vapour; the cylinder itself must know when it does not.
            if by_lever_rule < mass {
                content.liquid_mass
            } else {
                assert!(content.state.pressure() > pair.pressure);
                by_lever_rule
            }
        }
        _ => unknown(example, output),
    }
}

#[test]
fn cylinders() {
    assert_examples("worked_cylinder", computed);
}
