//! Mixtures for tests: invented ones, from alike to very unlike, and some of real substances.

use proptest::prelude::*;

use crate::eos::cubic::{Attraction, Cubic, CubicSubstance, Interaction};
use crate::eos::mixture::{CriticalConstants, MixtureIsotherm, MixtureModel};
use crate::eos::multifluid::MultiFluid;
use crate::fluids::binary::ReducingRecord;
use crate::fluids::{find, record};

/// A model that tells nothing that would spare the general search: neither where its substances mix nor a closed form.
#[derive(Debug)]
pub(crate) struct Forgetful<'a>(pub(crate) &'a dyn MixtureModel);

impl MixtureModel for Forgetful<'_> {
    fn len(&self) -> usize {
        self.0.len()
    }

    fn name(&self) -> &str {
        self.0.name()
    }

    fn at<'a>(&'a self, temperature: f64, fractions: &[f64]) -> Box<dyn MixtureIsotherm + 'a> {
        self.0.at(temperature, fractions)
    }

    fn critical_constants(&self, index: usize) -> CriticalConstants {
        self.0.critical_constants(index)
    }
}

/// A substance of the Peng-Robinson equation by its critical temperature in K, critical pressure in Pa and acentric factor.
pub(crate) fn cubic_substance(temperature: f64, pressure: f64, omega: f64) -> CubicSubstance {
    CubicSubstance {
        name: "sample".to_owned(),
        critical: CriticalConstants {
            temperature,
            pressure,
            acentric_factor: omega,
        },
        attraction: Attraction::by_acentric_factor(omega),
        translation: 0.0,
    }
}

/// Critical temperature in K, critical pressure in Pa and acentric factor as the peer computations of the check values use
/// them (thermo 0.6.1 and its sources).
pub(crate) const CARBON_DIOXIDE: (f64, f64, f64) = (304.1282, 7377300.0, 0.22394);
pub(crate) const METHANOL: (f64, f64, f64) = (512.5, 8215850.0, 0.5625);
pub(crate) const WATER: (f64, f64, f64) = (647.096, 22064000.0, 0.3443);
pub(crate) const HEXANE: (f64, f64, f64) = (507.82, 3044115.0, 0.3003);

/// The Peng-Robinson equation with `k_ij` for each pair in the order 01, 02, 12.
pub(crate) fn peng_robinson(substances: &[(f64, f64, f64)], k: &[f64]) -> Cubic {
    let of = |&(t, p, omega): &(f64, f64, f64)| cubic_substance(t, p, omega);
    Cubic::new(
        "Peng-Robinson",
        substances.iter().map(of).collect(),
        |i, j| Interaction {
            k_0: k[i + j - 1],
            ..Interaction::default()
        },
    )
}

/// The multi-fluid equation of two substances with `beta_T, gamma_T, beta_v, gamma_v`.
pub(crate) fn multi_fluid(names: [&str; 2], numbers: [f64; 4]) -> MultiFluid {
    let [
        beta_temperature,
        gamma_temperature,
        beta_volume,
        gamma_volume,
    ] = numbers;
    let reducing = ReducingRecord {
        beta_temperature,
        gamma_temperature,
        beta_volume,
        gamma_volume,
    };
    let equations = names.map(|name| {
        let record = record(find(name).unwrap()).unwrap();
        record.equation_of_state.as_ref().unwrap()
    });
    MultiFluid::new("multi-fluid", &equations, true, |_, _| (reducing, &[][..]))
}

/// Carbon dioxide + methanol with parameters fitted to open measurements; a sample, not the equation of the library.
pub(crate) fn carbon_dioxide_methanol() -> MultiFluid {
    multi_fluid(
        ["carbon dioxide", "methanol"],
        [0.98989, 1.06731, 1.17529, 1.02282],
    )
}

fn substance() -> impl Strategy<Value = CubicSubstance> {
    (120.0..700.0f64, 2e6..2e7f64, -0.05..0.7f64)
        .prop_map(|(t, p, omega)| cubic_substance(t, p, omega))
}

fn interaction() -> impl Strategy<Value = Interaction> {
    (-0.15..0.3f64, -0.03..0.03f64).prop_map(|(k_0, l)| Interaction { k_0, k_1: 0.0, l })
}

pub(crate) fn binary() -> impl Strategy<Value = Cubic> {
    (substance(), substance(), interaction())
        .prop_map(|(a, b, pair)| Cubic::new("invented", vec![a, b], |_, _| pair))
}

pub(crate) fn ternary() -> impl Strategy<Value = Cubic> {
    let substances = (substance(), substance(), substance());
    let pairs = (interaction(), interaction(), interaction());
    (substances, pairs).prop_map(|((a, b, c), (ab, ac, bc))| {
        Cubic::new("invented", vec![a, b, c], |i, j| match (i, j) {
            (0, 1) => ab,
            (0, _) => ac,
            _ => bc,
        })
    })
}
