//! Properties and states of every substance and of some mixtures at any numbers.

use densepath::{Error, Fluid, ModelChoice, PROPERTIES, Quantity, State, substances};

use crate::Round;
use crate::chance::Chance;
use crate::tally::Tally;

/// Share of the calls that go to mixtures, and of those that make a state of other variables.
const MIXTURES: f64 = 0.01;
const STATES: f64 = 0.02;
/// Relative difference of an answer that is found by two ways, beyond what a part of 1e-10 in density means for it.
const SAME: f64 = 1e-9;
const DENSITY_STEP: f64 = 1e-10;
/// Relative rise of the pressure with which the density must rise.
const RISE: f64 = 1.001;

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

/// A quantity that a call is given, with its number by chance.
type Given = (Quantity, Draw);

/// Calls that make a state, with what they are given.
const MAKERS: [(&str, Maker, [Given; 2]); 8] = {
    const T: Given = (Quantity::Temperature, Chance::temperature);
    const P: Given = (Quantity::Pressure, Chance::pressure);
    const RHO: Given = (Quantity::Density, Chance::density);
    const H: Given = (Quantity::SpecificEnthalpy, Chance::energy);
    const S: Given = (Quantity::SpecificEntropy, Chance::entropy);
    const U: Given = (Quantity::SpecificInternalEnergy, Chance::energy);
    [
        ("from_tp", State::from_tp, [T, P]),
        ("from_t_rho", State::from_t_rho, [T, RHO]),
        ("from_ph", State::from_ph, [P, H]),
        ("from_ps", State::from_ps, [P, S]),
        ("from_th", State::from_th, [T, H]),
        ("from_p_rho", State::from_p_rho, [P, RHO]),
        ("from_rho_u", State::from_rho_u, [RHO, U]),
        ("from_hs", State::from_hs, [H, S]),
    ]
};

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
    let Some(answer) = answer else { return };
    let state = State::from_tp(fluid, t, p);
    tally.holds("a property has a state", state.is_ok(), what);
    let Ok(state) = state else { return };
    agrees(tally, &state, quantity, answer, &what);
    leads_back(tally, &state, &what);
    rises(tally, &state, &what);
}

/// The size of one that rounding of a quantity is measured by: R T, R, or none.
fn size(quantity: Quantity, state: &State) -> f64 {
    let gas_constant = state.fluid().specific_gas_constant();
    match quantity.unit() {
        "J/kg" => gas_constant * state.temperature(),
        "J/(kg K)" => gas_constant,
        _ => 0.0,
    }
}

/// A property comes from remembered densities and sums of its own; that of the state comes from the equation, solved for its density.
fn agrees(
    tally: &mut Tally,
    state: &State,
    quantity: Quantity,
    answer: f64,
    what: &dyn Fn() -> String,
) {
    let expected = state.get(quantity).unwrap_or(f64::NAN);
    let allowed = SAME * (expected.abs() + size(quantity, state));
    let off = (answer - expected).abs();
    let agrees = off <= allowed || off <= allowed + spread(state, quantity);
    tally.holds("a property is that of the state", agrees, || {
        format!("{answer:?} not {expected:?}: {}", what())
    });
}

/// What a small change of density means for a property.
fn spread(state: &State, quantity: Quantity) -> f64 {
    let beside = [1.0 - DENSITY_STEP, 1.0 + DENSITY_STEP].map(|factor| {
        let density = state.density() * factor;
        State::one_phase_from_t_rho(state.fluid(), state.temperature(), density)
            .and_then(|state| state.get(quantity))
    });
    match beside {
        [Ok(below), Ok(above)] => (above - below).abs(),
        _ => 0.0,
    }
}

/// Pressure from temperature and density leads back to that of the state, within what the last bits of the density mean for it.
fn leads_back(tally: &mut Tally, state: &State, what: &dyn Fn() -> String) {
    if !state.is_one_phase() {
        return;
    }
    let (t, p, density) = (state.temperature(), state.pressure(), state.density());
    let back = State::one_phase_from_t_rho(state.fluid(), t, density);
    let back = back.map_or(f64::NAN, |back| back.pressure());
    let stiffness = state.dp_drho_t().unwrap_or(0.0) * density;
    tally.holds(
        "density leads back to the pressure",
        (back - p).abs() <= 1e-9 * (p + stiffness),
        || format!("{back:?} Pa for {}", what()),
    );
    let positive = [
        Quantity::Density,
        Quantity::SpecificIsobaricHeatCapacity,
        Quantity::SpecificIsochoricHeatCapacity,
        Quantity::SpeedOfSound,
        Quantity::IsothermalCompressibility,
    ];
    for quantity in positive {
        if let Ok(value) = state.get(quantity) {
            tally.holds("what is positive is", value > 0.0, || {
                format!("{quantity} {value} of {}", what())
            });
        }
    }
}

/// Density rises with the pressure at constant temperature, through changes of phase too.
fn rises(tally: &mut Tally, state: &State, what: &dyn Fn() -> String) {
    let above = RISE * state.pressure();
    if let Ok(denser) = state.fluid().density(state.temperature(), above) {
        let rises = denser > state.density();
        tally.holds("density rises with pressure", rises, || {
            format!("{denser:?} at {above:?} Pa: {}", what())
        });
    }
}

fn state(tally: &mut Tally, chance: &mut Chance, fluid: &Fluid) {
    let (name, make, [first, second]) = *chance.one(&MAKERS);
    let given = [(first.0, first.1(chance)), (second.0, second.1(chance))];
    let [(_, first), (_, second)] = given;
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
    for (quantity, value) in given {
        let back = state.get(quantity).unwrap_or(f64::NAN);
        let allowed = SAME * (value.abs() + size(quantity, &state));
        tally.holds(
            "a state has what it was made of",
            (back - value).abs() <= allowed,
            || format!("{quantity} {back:?}: {}", what()),
        );
    }
    adds_up(tally, &state, &what);
    let outlet = chance.pressure();
    let expanded = tally.call(
        || format!("to {outlet:?} Pa: {}", what()),
        || state.expand_to(outlet),
    );
    if let Some(expanded) = expanded {
        let off = expanded.specific_enthalpy() - state.specific_enthalpy();
        let size = state.specific_enthalpy().abs() + 1e3 * fluid.specific_gas_constant();
        tally.holds(
            "enthalpy stays in an expansion",
            off.abs() <= 1e-6 * size,
            || format!("{off} J/kg at {outlet:?} Pa: {}", what()),
        );
    }
}

/// `h = u + p v`, `g = h - T s`; the volumes and enthalpies of phases are those of the whole.
fn adds_up(tally: &mut Tally, state: &State, what: &dyn Fn() -> String) {
    let (t, p, density) = (state.temperature(), state.pressure(), state.density());
    let thermal = state.fluid().specific_gas_constant() * t;
    let enthalpy = state.specific_enthalpy();
    let energies = [
        state.specific_internal_energy() + p / density - enthalpy,
        enthalpy - t * state.specific_entropy() - state.specific_gibbs_energy(),
    ];
    for off in energies {
        tally.holds(
            "energies add up",
            off.abs() <= SAME * (thermal + enthalpy.abs() + p / density),
            || format!("{off} J/kg: {}", what()),
        );
    }
    let phases = state.fluid_phases();
    let fluid_share: f64 = phases.iter().map(|(share, _)| share).sum();
    if phases.len() < 2 || (fluid_share - 1.0).abs() > SAME {
        return;
    }
    let volume: f64 = phases.iter().map(|(w, phase)| w / phase.density()).sum();
    let heat: f64 = phases
        .iter()
        .map(|(w, phase)| w * phase.specific_enthalpy())
        .sum();
    tally.holds(
        "phases add up",
        (volume * density - 1.0).abs() <= SAME
            && (heat - enthalpy).abs() <= SAME * (thermal + enthalpy.abs()),
        || format!("{volume} m3/kg, {heat} J/kg: {}", what()),
    );
}
