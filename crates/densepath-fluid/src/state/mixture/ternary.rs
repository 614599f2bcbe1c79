//! Three substances by their pairs: carbon dioxide, methanol and the water that methanol brings along.

use super::*;
use crate::notice::NoticeCode;
use crate::state::State;

const SUBSTANCES: [&str; 3] = ["carbon dioxide", "methanol", "water"];

fn mixture(amounts: [f64; 3]) -> Fluid {
    let parts: Vec<(&str, f64)> = SUBSTANCES.into_iter().zip(amounts).collect();
    Fluid::mixture_with_model(&parts, ModelChoice::MultiFluid).unwrap()
}

fn numbers(state: &State) -> [f64; 5] {
    [
        state.density(),
        state.specific_enthalpy(),
        state.specific_entropy(),
        state.specific_isobaric_heat_capacity().unwrap(),
        state.speed_of_sound().unwrap(),
    ]
}

/// Without one of them the mixture is the pair of the others, and a trace of it changes as little.
#[test]
fn the_sides_of_the_triangle_are_the_pairs() {
    for (amounts, trace) in [
        ([0.9, 0.1, 0.0], [0.9, 0.1 - 1e-9, 1e-9]),
        ([0.997, 0.0, 0.003], [0.997 - 1e-9, 1e-9, 0.003]),
        ([0.0, 0.6, 0.4], [1e-9, 0.6, 0.4 - 1e-9]),
    ] {
        let sides = SUBSTANCES.iter().zip(amounts).filter(|(_, x)| *x > 0.0);
        let pair: Vec<(&str, f64)> = sides.map(|(name, x)| (*name, x)).collect();
        let pair = Fluid::mixture(&pair).unwrap();
        let of = |fluid: &Fluid| numbers(&State::from_tp(fluid, 333.15, 2.5e7).unwrap());
        let wanted = of(&pair);
        for (fluid, within) in [(mixture(amounts), 1e-12), (mixture(trace), 1e-6)] {
            for (found, wanted) in of(&fluid).into_iter().zip(wanted) {
                assert!(
                    (found - wanted).abs() < within * wanted.abs(),
                    "{amounts:?}: {found} for {wanted}"
                );
            }
        }
    }
}

/// A modifier of methanol with 1 % of water by volume stays dissolved at 15 MPa; more water parts from the fluid as a second
/// liquid, and each substance has one fugacity in both. By the pairs alone the fluid parts too early, see the next test.
#[test]
fn water_of_the_modifier_dissolves_until_there_is_too_much() {
    let dissolved = State::from_tp(&mixture([0.85, 0.147, 0.003]), 313.15, 1.5e7).unwrap();
    assert!(dissolved.is_one_phase());
    for amounts in [[0.5, 0.25, 0.25], [0.6, 0.1, 0.3], [0.3, 0.1, 0.6]] {
        let fluid = mixture(amounts);
        let found = fluid.flash(313.15, 1.2e7).unwrap();
        assert_eq!(found.phases.len(), 2, "{amounts:?}");
        let fugacities = found.phases.iter().map(|phase| {
            let coefficients = phase.state.fugacity_coefficients().unwrap();
            let fractions = phase.state.fluid().amount_fractions().iter();
            let products = fractions.zip(coefficients).map(|(x, phi)| x * phi);
            products.collect::<Vec<f64>>()
        });
        let fugacities: Vec<Vec<f64>> = fugacities.collect();
        for (place, amount) in amounts.into_iter().enumerate() {
            let ratio = fugacities[0][place] / fugacities[1][place];
            assert!((ratio - 1.0).abs() < 1e-8, "{amounts:?} {place}: {ratio}");
            let shares = found
                .phases
                .iter()
                .map(|phase| phase.amount_fraction * phase.state.fluid().amount_fractions()[place]);
            assert!((shares.sum::<f64>() - amount).abs() < 1e-12);
        }
        let waters = found.phases.iter();
        let [dense, thin] = waters
            .map(|phase| phase.state.fluid().amount_fractions()[2])
            .collect::<Vec<f64>>()[..]
        else {
            unreachable!()
        };
        // The methanol carries some water into the fluid of carbon dioxide, but most stays with the aqueous liquid.
        assert!(dense > 10.0 * thin && thin > 1e-3, "{dense} {thin}");
    }
}

/// With 5 and 10 % of water by volume in a modifier of methanol or ethanol, of which 5 to 30 % are taken (40 degC, 15 MPa; the
/// amounts are those of 940, 790 and 998 kg/m3), practice knows one phase (common practice, no source). So does the cubic equation,
/// whose three pairs are fitted, and which therefore stands in. (PC-SAFT in feos does too for methanol, with pairs fitted to the same
/// measurements.)
#[test]
fn the_best_model_keeps_the_water_of_the_modifier_dissolved() {
    let alcohols = [("methanol", 0.032_042), ("ethanol", 0.046_068)];
    let shares = [0.05, 0.1, 0.2, 0.3].into_iter();
    let cases = shares.flat_map(|share| [0.01, 0.05, 0.1].map(|water| (share, water)));
    for (share, water) in cases {
        for (alcohol, molar_mass) in alcohols {
            let amounts = [
                ("carbon dioxide", (1.0 - share) * 940.0 / 0.044_009_5),
                (alcohol, share * (1.0 - water) * 790.0 / molar_mass),
                ("water", share * water * 998.0 / 0.018_015_3),
            ];
            let total: f64 = amounts.iter().map(|(_, amount)| amount).sum();
            let fractions = amounts.map(|(name, amount)| (name, amount / total));
            let fluid = Fluid::mixture(&fractions).unwrap();
            let state = State::from_tp(&fluid, 313.15, 1.5e7).unwrap();
            assert!(state.is_one_phase(), "{alcohol} {share} {water}");
            let told = state.notices();
            let reason = told
                .iter()
                .find(|notice| notice.code == NoticeCode::CubicStandsIn);
            assert!(reason.unwrap().text.contains("a second liquid"));
        }
    }
}
