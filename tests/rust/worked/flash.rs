use super::{assert_examples, unknown};
use densepath::fluid::eos::cubic::{Attraction, Cubic, CubicSubstance, Interaction};
use densepath::fluid::eos::equilibrium::flash;
use densepath::fluid::eos::mixture::CriticalConstants;
use densepath_tests::Example;

fn substance(example: &Example, place: &str) -> CubicSubstance {
    let omega = example.input(&format!("{place} acentric factor / 1"));
    CubicSubstance {
        name: place.to_owned(),
        critical: CriticalConstants {
            temperature: example.input(&format!("{place} critical temperature / K")),
            pressure: example.input(&format!("{place} critical pressure / Pa")),
            acentric_factor: omega,
        },
        attraction: Attraction::by_acentric_factor(omega),
        translation: 0.0,
    }
}

#[test]
fn phases_of_a_cubic_mixture() {
    assert_examples("worked_flash", |_, example, output| {
        let substances = ["first", "second"].map(|place| substance(example, place));
        let pair = Interaction {
            k_0: example.input("interaction / 1"),
            ..Interaction::default()
        };
        let model = Cubic::new("Peng and Robinson", substances.to_vec(), |_, _| pair);
        let state = ["temperature / K", "pressure / Pa"].map(|key| example.input(key));
        // Any composition between both phases parts into them.
        let expected = |place: usize| example.results[place].value;
        let between = 0.5 * (expected(0) + expected(1));
        let found = flash(&model, state[0], state[1], &[between, 1.0 - between]).unwrap();
        let [vapour, liquid] = found.phases.as_slice() else {
            panic!("{}: {} phases", example.id, found.phases.len());
        };
        match output {
            "amount_fraction of the first in the liquid" => liquid.fractions[0],
            "amount_fraction of the first in the vapour" => vapour.fractions[0],
            "molar_density of the liquid" => liquid.molar_density,
            "molar_density of the vapour" => vapour.molar_density,
            _ => unknown(example, output),
        }
    });
}
