//! Saturations, borders of phases and flashes at any numbers; what is answered has equal pressures and fugacities, and keeps the amounts.

use densepath::fluid::phase::Flash;
use densepath::{Fluid, State, substances};

use crate::Round;
use crate::chance::Chance;
use crate::properties::mixtures;
use crate::tally::Tally;

/// Share of the calls that go to single substances, which take a fraction of the time.
const PURE: f64 = 0.8;
/// Relative difference of fugacities, and of amounts, that counts as none.
const EQUAL: f64 = 1e-6;
const KEPT: f64 = 1e-9;
/// Amount fractions below which a substance plays no part.
const TRACE: f64 = 1e-12;

pub fn rounds() -> Round {
    let pure = substances().unwrap_or_default();
    let mixed = mixtures();
    assert!(
        !pure.is_empty() && !mixed.is_empty(),
        "no fluid could be made"
    );
    Box::new(move |tally, chance| {
        if chance.share() < PURE {
            let fluid = chance.one(pure);
            saturation(tally, chance, fluid);
        } else {
            let fluid = chance.one(&mixed);
            if chance.share() < 0.5 {
                flash(tally, chance, fluid);
            } else {
                boundary(tally, chance, fluid);
            }
        }
    })
}

fn saturation(tally: &mut Tally, chance: &mut Chance, fluid: &Fluid) {
    let by_temperature = chance.share() < 0.5;
    let given = if by_temperature {
        chance.temperature()
    } else {
        chance.pressure()
    };
    let what = || {
        format!(
            "saturation of {} at {given:?} ({by_temperature})",
            fluid.name()
        )
    };
    let found = tally.call(what, || {
        if by_temperature {
            fluid.saturation_at_temperature(given)
        } else {
            fluid.saturation_at_pressure(given)
        }
    });
    if let Some(found) = found {
        let thermal = fluid.specific_gas_constant() * found.temperature;
        let off = found.liquid.specific_gibbs_energy() - found.vapour.specific_gibbs_energy();
        let positive = found.pressure > 0.0 && found.temperature > 0.0;
        tally.holds("what is positive is", positive, what);
        // Mixtures taken for one substance boil over a range.
        if !fluid.is_pseudo_pure() {
            let equal = off.abs() <= 1e-7 * thermal;
            tally.holds("Gibbs energies are equal", equal, || {
                format!("{off} J/kg: {}", what())
            });
        }
        let falls = found.liquid.density() >= found.vapour.density();
        tally.holds("liquids are denser", falls, || {
            format!("densities of {}", what())
        });
        for phase in [&found.liquid, &found.vapour] {
            of_its_density(tally, phase, &what);
        }
    }
}

/// The pressure of a phase is that of its temperature and density, within what the last bits of the density mean for it.
fn of_its_density(tally: &mut Tally, phase: &State, what: &dyn Fn() -> String) {
    let density = phase.density();
    let back = State::one_phase_from_t_rho(phase.fluid(), phase.temperature(), density);
    // Beside a critical point a phase may be unstable by rounding.
    let Ok(back) = back else { return };
    let stiffness = phase.dp_drho_t().unwrap_or(0.0).abs() * density;
    let off = (back.pressure() - phase.pressure()).abs();
    tally.holds(
        "density leads back to the pressure",
        off <= 1e-9 * (phase.pressure() + stiffness),
        || format!("{off} Pa: {}", what()),
    );
}

/// Mean of the logarithms of the ratios of fugacities is not enough: each substance has the same in both phases.
fn same_fugacities(tally: &mut Tally, one: &State, other: &State, what: &dyn Fn() -> String) {
    let (Ok(first), Ok(second)) = (one.fugacity_coefficients(), other.fugacity_coefficients())
    else {
        return;
    };
    let [x, y] = [one, other].map(|state| state.fluid().amount_fractions());
    for (((x, y), first), second) in x.iter().zip(y).zip(first).zip(second) {
        if *x > TRACE && *y > TRACE {
            let ratio = (x * first) / (y * second);
            let equal = (ratio - 1.0).abs() <= EQUAL;
            tally.holds("fugacities are equal", equal, || {
                format!("{ratio}: {}", what())
            });
        }
    }
}

fn boundary(tally: &mut Tally, chance: &mut Chance, fluid: &Fluid) {
    let kind = chance.index(4);
    let given = if kind < 2 {
        chance.temperature()
    } else {
        chance.pressure()
    };
    let what = || {
        format!(
            "border {kind} of {} ({}) at {given:?}",
            fluid.name(),
            fluid.model()
        )
    };
    let found = tally.call(what, || match kind {
        0 => fluid.bubble_point_at_temperature(given),
        1 => fluid.dew_point_at_temperature(given),
        2 => fluid.bubble_point_at_pressure(given),
        _ => fluid.dew_point_at_pressure(given),
    });
    if let Some(found) = found {
        let off = found.liquid.pressure() / found.vapour.pressure() - 1.0;
        let equal = off.abs() <= KEPT && found.liquid.temperature() == found.vapour.temperature();
        tally.holds("pressures are equal", equal, || {
            format!("pressures of {}", what())
        });
        let of = if kind.is_multiple_of(2) {
            &found.liquid
        } else {
            &found.vapour
        };
        let pairs = of.fluid().amount_fractions();
        let pairs = pairs.iter().zip(fluid.amount_fractions());
        let is_whole = pairs
            .into_iter()
            .all(|(one, other)| (one - other).abs() <= KEPT);
        tally.holds("a border has the whole composition", is_whole, what);
        for phase in [&found.liquid, &found.vapour] {
            of_its_density(tally, phase, &what);
        }
        same_fugacities(tally, &found.liquid, &found.vapour, &what);
    }
}

fn flash(tally: &mut Tally, chance: &mut Chance, fluid: &Fluid) {
    let (t, p) = (chance.temperature(), chance.pressure());
    let what = || {
        format!(
            "flash of {} ({}) at {t:?} K, {p:?} Pa",
            fluid.name(),
            fluid.model()
        )
    };
    if let Some(found) = tally.call(what, || fluid.flash(t, p)) {
        let fluid_share: f64 = found.phases.iter().map(|phase| phase.mass_fraction).sum();
        // Beside a solid the rest is in it.
        if fluid_share > 1.0 - KEPT {
            keeps_amounts(tally, fluid, &found, &what);
        }
        for phase in &found.phases {
            let state = &phase.state;
            let same = state.temperature() == found.temperature
                && (state.pressure() / found.pressure - 1.0).abs() <= KEPT;
            tally.holds("pressures are equal", same, what);
            of_its_density(tally, state, &what);
        }
        for pair in found.phases.windows(2) {
            if let [one, other] = pair {
                same_fugacities(tally, &one.state, &other.state, &what);
            }
        }
    }
}

fn keeps_amounts(tally: &mut Tally, fluid: &Fluid, found: &Flash, what: &dyn Fn() -> String) {
    for (place, whole) in fluid.amount_fractions().iter().enumerate() {
        let parts = found.phases.iter().map(|phase| {
            let fractions = phase.state.fluid().amount_fractions();
            phase.amount_fraction * fractions.get(place).copied().unwrap_or(f64::NAN)
        });
        let sum: f64 = parts.sum();
        let kept = (sum - whole).abs() <= KEPT;
        tally.holds("amounts are kept", kept, || {
            format!("{sum}, {whole}: {}", what())
        });
    }
}
