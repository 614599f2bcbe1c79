//! What goes in and does not come out is stored: cylinders, barrels, blends and volumes under changing pressure.

use densepath_fluid::units::{BAR, MILLILITRE_PER_MINUTE, MINUTE};
use densepath_fluid::{Fluid, State};
use proptest::prelude::*;

use super::schedule::storage_mass_flow_rate;
use super::testing::{close, co2};
use super::{Cylinder, Feed, Filling, SyringePump, Withdrawal, blend};

proptest! {
    /// A cylinder that is drawn from: liquid and vapour are what is left, and fill the vessel.
    #[test]
    fn a_cylinder_keeps_what_is_not_drawn(
        filling in 0.15_f64..0.75, temperature in 260.0_f64..303.0, draws in prop::collection::vec(0.01_f64..0.3, 1..6),
    ) {
        let volume = 0.04;
        let mut left = 1000.0 * filling * volume;
        for draw in draws {
            let cylinder = Cylinder::new(volume, left, Withdrawal::Liquid).unwrap();
            let content = cylinder.content(&co2(), temperature).unwrap();
            prop_assert!(close(content.liquid_mass + content.vapour_mass, left, 1e-12));
            let boiling = co2().coexistence_at_temperature(temperature).unwrap();
            if content.filling == Filling::LiquidAndVapour {
                let filled = content.liquid_mass / boiling.liquid_density
                    + content.vapour_mass / boiling.vapour_density;
                prop_assert!(close(filled, volume, 1e-9));
                // What is drawn as liquid leaves the heel.
                prop_assert!(close(content.heel + content.usable_mass, left, 1e-12));
            }
            let drawn = draw * content.usable_mass;
            let after = Cylinder::new(volume, left - drawn, Withdrawal::Liquid).unwrap();
            let rest = after.content(&co2(), temperature).unwrap();
            prop_assert!(close(rest.liquid_mass + rest.vapour_mass + drawn, left, 1e-12));
            left -= drawn;
        }
    }

    /// A barrel in any program of pressure and outflow: what the piston displaces is what keeps its mass balance.
    #[test]
    fn a_barrel_loses_what_leaves_it(
        pressures in prop::collection::vec(80.0_f64..400.0, 2..5), flow in 0.0_f64..2.0,
    ) {
        let at = |pressure| State::from_tp(&co2(), 278.15, pressure).unwrap();
        let mass_flow_rate = flow * MILLILITRE_PER_MINUTE * 900.0;
        let leg = 10.0 * MINUTE;
        let mut volume = 250e-6;
        let before = volume * at(pressures[0] * BAR).density();
        let steps = 40;
        let dt = leg / f64::from(steps);
        for pair in pressures.windows(2) {
            let rate = (pair[1] - pair[0]) * BAR / leg;
            let displaced = |volume: f64, time: f64| {
                let barrel = at(pair[0] * BAR + rate * time);
                SyringePump::displacement_rate(&barrel, volume, rate, mass_flow_rate).unwrap()
            };
            for step in 0..steps {
                // Runge and Kutta's fourth order.
                let time = f64::from(step) * dt;
                let a = displaced(volume, time);
                let b = displaced(volume - 0.5 * dt * a, time + 0.5 * dt);
                let c = displaced(volume - 0.5 * dt * b, time + 0.5 * dt);
                let d = displaced(volume - dt * c, time + dt);
                volume -= dt / 6.0 * (a + 2.0 * b + 2.0 * c + d);
            }
        }
        let legs = f64::from(u32::try_from(pressures.len() - 1).unwrap());
        let left = volume * at(pressures[pressures.len() - 1] * BAR).density();
        prop_assert!(close(left + legs * leg * mass_flow_rate, before, 1e-8), "{left} kg of {before} kg");
    }

    /// A blend holds what its pumps feed, of every substance, and its fractions sum to one.
    #[test]
    fn a_blend_holds_what_is_fed(
        flows in prop::array::uniform3(0.01_f64..3.0), heads in prop::array::uniform3(275.0_f64..300.0), bar in 80.0_f64..400.0,
        water in 0.01_f64..0.3,
    ) {
        let wet = Fluid::mixture(&[("methanol", 1.0 - water), ("water", water)]).unwrap();
        let fluids = [co2(), wet, Fluid::new("ethanol").unwrap()];
        let feeds: Vec<Feed> = fluids.into_iter().zip(flows).zip(heads)
            .map(|((fluid, flow), temperature)| Feed {
                fluid,
                volume_flow_rate: flow * MILLILITRE_PER_MINUTE,
                temperature,
                pressure: bar * BAR,
            })
            .collect();
        let made = blend(&feeds).unwrap();
        for fractions in [made.composition.mass_fractions(), made.composition.amount_fractions()] {
            prop_assert!(close(fractions.iter().sum::<f64>(), 1.0, 1e-14));
        }
        prop_assert!(close(made.feed_mass_flow_rates.iter().sum::<f64>(), made.mass_flow_rate, 1e-14));
        for (name, fraction) in made.substances.iter().zip(made.composition.mass_fractions()) {
            let fed: f64 = feeds.iter().zip(&made.feed_mass_flow_rates)
                .map(|(feed, rate)| {
                    let names = feed.fluid.substances();
                    let own = names.iter().position(|own| own == name);
                    own.map_or(0.0, |place| rate * feed.fluid.mass_fractions()[place])
                })
                .sum();
            prop_assert!(close(fed, fraction * made.mass_flow_rate, 1e-13), "{name}");
        }
    }

    /// Flow in less flow out, over any ramp of the pressure, is the change of what the volume holds; away from the critical point, where the
    /// steps of the sum are small against the bend of the compressibility.
    #[test]
    fn a_volume_stores_what_does_not_leave_it(
        from in 80.0_f64..400.0, to in 80.0_f64..400.0, degc in 55.0_f64..100.0, seconds in 10.0_f64..1000.0,
    ) {
        let at = |bar: f64| State::from_tp(&co2(), degc + 273.15, bar * BAR).unwrap();
        let (volume, steps) = (5e-6, 400);
        let rate = (to - from) * BAR / seconds;
        // Simpson's rule in time.
        let stored: f64 = (0..=2 * steps)
            .map(|node| {
                let part = f64::from(node) / f64::from(2 * steps);
                let weight = match node {
                    0 => 1.0,
                    node if node == 2 * steps => 1.0,
                    node if node % 2 == 1 => 4.0,
                    _ => 2.0,
                };
                let state = at(from + part * (to - from));
                weight * storage_mass_flow_rate(&state, volume, rate).unwrap()
            })
            .sum::<f64>() * seconds / f64::from(6 * steps);
        let held = volume * (at(to).density() - at(from).density());
        prop_assert!((stored - held).abs() < 1e-6 * volume * 1000.0, "{stored} {held}");
    }
}
