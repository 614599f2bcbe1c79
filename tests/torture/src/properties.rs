//! Properties and states of every substance and of some mixtures at any numbers.

use densepath::{Error, Fluid, ModelChoice, PROPERTIES, Quantity, State, substances};

use crate::Round;
use crate::chance::Chance;
use crate::tally::Tally;

/// Share of the calls that go to mixtures, and of those that make a state of other variables.
const MIXTURES: f64 = 0.01;
const STATES: f64 = 0.02;
/// Share of the answers that are checked by another way.
const CHECKED: f64 = 0.05;

/// Invented mixtures, one of them of five substances.
const MADE: [&[(&str, f64)]; 8] = [
    &[("carbon dioxide", 0.9), ("methanol", 0.1)],
    &[("carbon dioxide", 0.6), ("ethanol", 0.4)],
    &[("carbon dioxide", 0.95), ("propan-2-ol", 0.05)],
    &[("carbon dioxide", 0.8), ("acetonitrile", 0.2)],
    &[("carbon dioxide", 0.7), ("water", 0.3)],
    &[("carbon dioxide", 0.98), ("nitrogen", 0.02)],
    &[
        ("carbon dioxide", 0.85),
        ("methanol", 0.14),
        ("water", 0.01),
    ],
    &[
        ("carbon dioxide", 0.5),
        ("n-hexane", 0.2),
        ("toluene", 0.1),
        ("methanol", 0.1),
        ("acetone", 0.1),
    ],
];

/// The mixtures by the best model and by the cubic equation, those that have parameters.
pub fn mixtures() -> Vec<Fluid> {
    let choices = [ModelChoice::Best, ModelChoice::Cubic];
    let made = MADE
        .iter()
        .flat_map(|parts| choices.map(|choice| Fluid::mixture_with_model(parts, choice)));
    made.filter_map(Result::ok).collect()
}

/// A call that makes a state of two numbers.
type Maker = fn(&Fluid, f64, f64) -> Result<State, Error>;
/// A number by chance.
type Draw = fn(&mut Chance) -> f64;

const MAKERS: [(&str, Maker, [Draw; 2]); 8] = [
    (
        "from_tp",
        State::from_tp,
        [Chance::temperature, Chance::pressure],
    ),
    (
        "from_t_rho",
        State::from_t_rho,
        [Chance::temperature, Chance::density],
    ),
    (
        "from_ph",
        State::from_ph,
        [Chance::pressure, Chance::energy],
    ),
    (
        "from_ps",
        State::from_ps,
        [Chance::pressure, Chance::energy],
    ),
    (
        "from_th",
        State::from_th,
        [Chance::temperature, Chance::energy],
    ),
    (
        "from_p_rho",
        State::from_p_rho,
        [Chance::pressure, Chance::density],
    ),
    (
        "from_rho_u",
        State::from_rho_u,
        [Chance::density, Chance::energy],
    ),
    ("from_hs", State::from_hs, [Chance::energy, Chance::energy]),
];

pub fn rounds() -> Round {
    let (pure, mixed) = (substances().unwrap_or_default(), mixtures());
    assert!(
        !pure.is_empty() && !mixed.is_empty(),
        "no fluid could be made"
    );
    Box::new(move |tally, chance| {
        let fluid = if chance.share() < MIXTURES {
            chance.one(&mixed)
        } else {
            chance.one(pure)
        };
        if chance.share() < STATES {
            state(tally, chance, fluid);
        } else {
            property(tally, chance, fluid);
        }
    })
}

fn property(tally: &mut Tally, chance: &mut Chance, fluid: &Fluid) {
    let quantity = *chance.one(PROPERTIES);
    let (t, p) = (chance.temperature(), chance.pressure());
    let what = || {
        format!(
            "{quantity} of {} ({}) at {t:?} K, {p:?} Pa",
            fluid.name(),
            fluid.model()
        )
    };
    let answer = tally.number(what, || fluid.property(quantity, t, p));
    if answer.is_some() && chance.share() < CHECKED {
        leads_back(tally, fluid, t, p);
    }
}

/// Pressure from temperature and density leads back to that of the state, within what the last bits of the density mean for it.
fn leads_back(tally: &mut Tally, fluid: &Fluid, t: f64, p: f64) {
    let what = || format!("{} ({}) at {t:?} K, {p:?} Pa", fluid.name(), fluid.model());
    let Some(state) = tally.call(what, || State::from_tp(fluid, t, p)) else {
        return;
    };
    if !state.is_one_phase() {
        return;
    }
    let density = state.density();
    let Some(back) = tally.call(what, || State::one_phase_from_t_rho(fluid, t, density)) else {
        tally.holds(false, || format!("no way back to {}", what()));
        return;
    };
    let stiffness = state.dp_drho_t().unwrap_or(0.0) * density;
    let allowed = 1e-9 * (p + stiffness);
    tally.holds((back.pressure() - p).abs() <= allowed, || {
        format!("{:?} Pa for {}", back.pressure(), what())
    });
    let positive = [
        Quantity::Density,
        Quantity::SpecificIsobaricHeatCapacity,
        Quantity::SpeedOfSound,
        Quantity::IsothermalCompressibility,
    ];
    for quantity in positive {
        if let Ok(value) = state.get(quantity) {
            tally.holds(value > 0.0, || format!("{quantity} {value} of {}", what()));
        }
    }
}

fn state(tally: &mut Tally, chance: &mut Chance, fluid: &Fluid) {
    let (name, make, of) = *chance.one(&MAKERS);
    let (first, second) = (of[0](chance), of[1](chance));
    let what = || {
        format!(
            "{name} of {} ({}): {first:?}, {second:?}",
            fluid.name(),
            fluid.model()
        )
    };
    let Some(state) = tally.call(what, || make(fluid, first, second)) else {
        return;
    };
    for value in [
        state.temperature(),
        state.pressure(),
        state.density(),
        state.specific_enthalpy(),
    ] {
        tally.holds(value.is_finite(), || format!("{value} in {}", what()));
    }
    let outlet = chance.pressure();
    let expanded = tally.call(
        || format!("to {outlet:?} Pa: {}", what()),
        || state.expand_to(outlet),
    );
    if let Some(expanded) = expanded {
        let off = expanded.specific_enthalpy() - state.specific_enthalpy();
        let size = state.specific_enthalpy().abs() + 1e3 * fluid.specific_gas_constant();
        tally.holds(off.abs() <= 1e-6 * size, || {
            format!("{off} J/kg at {outlet:?} Pa: {}", what())
        });
    }
}
