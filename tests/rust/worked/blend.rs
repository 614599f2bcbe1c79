use super::{assert_examples, unknown};
use densepath::Fluid;
use densepath::hardware::{Blend, BlendBasis, Head, WholeFlow, blend, feeds_for};
use densepath_tests::Example;

fn made(carbon_dioxide: &Fluid, example: &Example) -> Blend {
    let head = |fluid: &Fluid, name: &str| Head {
        fluid: fluid.clone(),
        temperature: example.input(&format!("{name} temperature / K")),
        pressure: example.input(&format!("{name} pressure / Pa")),
    };
    let methanol = Fluid::new("methanol").unwrap();
    let heads = [
        head(carbon_dioxide, "carbon dioxide"),
        head(&methanol, "methanol"),
    ];
    let share = example.input("set volume fraction of methanol / 1");
    let flow = WholeFlow::Volume(example.input("volume_flow_rate / (m3/s)"));
    let feeds = feeds_for(&heads, &[1.0 - share, share], BlendBasis::Volume, flow);
    blend(&feeds.unwrap()).unwrap()
}

#[test]
fn blending_two_pure_streams() {
    assert_examples("worked_blend", |fluid, example, output| {
        let made = made(fluid, example);
        match output {
            "mass_fraction of methanol" => made.composition.mass_fractions()[1],
            "amount_fraction of methanol" => made.composition.amount_fractions()[1],
            "mass_flow_rate" => made.mass_flow_rate,
            "volume_flow_rate in the oven with additive volumes" => {
                let temperature = example.input("oven temperature / K");
                let pressure = example.input("oven pressure / Pa");
                made.additive_volume_flow_rate(temperature, pressure)
                    .unwrap()
            }
            _ => unknown(example, output),
        }
    });
}
