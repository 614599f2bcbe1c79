use super::*;
use crate::flow::bore::Stretch;
use crate::flow::capillary::{Isotherm, IsothermPoint};
use crate::flow::testing::close;
use proptest::prelude::*;

/// A perfect gas of constant heat capacity and viscosity.
struct Gas {
    r: f64,
    c_v: f64,
    viscosity: f64,
}

const GAS: Gas = Gas {
    r: 188.9,
    c_v: 660.0,
    viscosity: 1.5e-5,
};

impl Medium for Gas {
    fn point(&self, temperature: f64, density: f64) -> Result<Point> {
        Ok(Point {
            local: Local {
                temperature,
                density,
                dp_drho_t: self.r * temperature,
                dp_dt_rho: self.r * density,
                specific_isochoric_heat_capacity: self.c_v,
            },
            pressure: density * self.r * temperature,
            dynamic_viscosity: self.viscosity,
            specific_enthalpy: (self.c_v + self.r) * temperature,
            vapour_fraction: None,
        })
    }

    fn film_conductance(&self, _: &Point, _: f64) -> Result<f64> {
        Ok(PI * 3.66 * 0.02)
    }
}

fn entropy(place: &Place) -> f64 {
    GAS.c_v * place.temperature.ln() - GAS.r * place.density.ln()
}

fn bore(stretches: &[(f64, f64, f64)]) -> Bore {
    let stretch = |&(inlet_diameter, outlet_diameter, length): &(f64, f64, f64)| Stretch {
        length,
        inlet_diameter,
        outlet_diameter,
    };
    Bore::new(stretches.iter().map(stretch).collect()).unwrap()
}

fn flow(bore: &Bore, heating: &Heating, temperature: f64, inlet: f64, outlet: f64) -> Passed {
    passage(bore, heating, temperature, inlet, outlet)
        .flow()
        .unwrap()
}

fn passage<'a>(
    bore: &'a Bore,
    heating: &'a Heating,
    temperature: f64,
    inlet: f64,
    outlet: f64,
) -> Passage<'a, Gas> {
    Passage {
        medium: &GAS,
        bore,
        wall: Wall::SMOOTH,
        heating,
        temperature,
        density: inlet / (GAS.r * temperature),
        outlet_pressure: outlet,
        precision: 1e-11,
    }
}

fn warm(temperature: f64) -> Heating {
    Heating::Wall(Profile::constant(temperature).unwrap())
}

/// The Fanno relation of a perfect gas, `f L/d` from a Mach number to 1 (Shapiro 1953, eq. 6.20, from memory).
fn fanno(mach: f64) -> f64 {
    let gamma = 1.0 + GAS.r / GAS.c_v;
    let m2 = mach * mach;
    let bracket = (gamma + 1.0) * m2 / (2.0 + (gamma - 1.0) * m2);
    (1.0 - m2) / (gamma * m2) + (gamma + 1.0) / (2.0 * gamma) * bracket.ln()
}

#[test]
fn a_choked_adiabatic_tube_is_the_closed_form_of_fanno() {
    let tube = bore(&[(2e-4, 2e-4, 0.1)]);
    let found = flow(&tube, &Heating::Adiabatic, 350.0, 60e5, 1e5);
    assert_eq!(found.end, End::Choked);
    let (inlet, exit) = (found.inlet().unwrap(), found.exit().unwrap());
    assert!(close(exit.mach_number, 1.0, 1e-6), "{}", exit.mach_number);
    // One viscosity, one Reynolds number, one friction factor.
    let f = Wall::SMOOTH
        .friction_factor(inlet.reynolds_number, 2e-4)
        .unwrap()
        .value;
    assert!(close(fanno(inlet.mach_number), f * 0.1 / 2e-4, 1e-8));
    assert!(found.heat_flow_rate.abs() < 1e-12);
    let total = |place: &Place| place.point.specific_enthalpy + 0.5 * place.velocity.powi(2);
    assert!(close(total(inlet), total(exit), 1e-9));
}

#[test]
fn one_temperature_gives_the_flow_of_the_quadrature() {
    for (d, length, outlet) in [(1e-5, 0.2, 1e5), (1e-4, 0.05, 1e5), (1e-4, 0.05, 40e5)] {
        let tube = bore(&[(d, d, length)]);
        let found = flow(&tube, &warm(373.15), 373.15, 60e5, outlet);
        let wave = GAS.r * 373.15;
        let isotherm = Isotherm::new(outlet / wave, 60e5 / wave, |rho| {
            Ok(IsothermPoint {
                pressure: rho * wave,
                dp_drho_t: wave,
                dynamic_viscosity: GAS.viscosity,
            })
        })
        .unwrap();
        let expected = isotherm.flow(d, length, Wall::SMOOTH).unwrap();
        assert!(close(found.mass_flow_rate, expected.mass_flow_rate, 1e-8));
        assert!(close(
            found.hold_up_time,
            isotherm.hold_up_time(&expected, Wall::SMOOTH).unwrap(),
            1e-7
        ));
        assert_eq!(found.end == End::Choked, expected.is_choked);
        let exit = found.exit().unwrap();
        assert!(close(exit.point.pressure, expected.exit.pressure, 1e-5));
        // A perfect gas keeps its enthalpy: the heat is the kinetic energy gained.
        let inlet = found.inlet().unwrap();
        let gained = 0.5 * (exit.velocity.powi(2) - inlet.velocity.powi(2));
        assert!(close(
            found.heat_flow_rate,
            found.mass_flow_rate * gained,
            1e-5
        ));
    }
}

#[test]
fn a_slow_cone_is_the_closed_form_of_hagen_and_poiseuille() {
    let cone = bore(&[(30e-6, 8e-6, 0.3)]);
    let (p1, p2, t) = (1.02e5, 1e5, 300.0);
    let found = flow(&cone, &warm(t), t, p1, p2);
    let closed =
        (p1 * p1 - p2 * p2) / (2.0 * GAS.r * t * GAS.viscosity * cone.viscous_resistance());
    assert!(close(found.mass_flow_rate, closed, 1e-5));
    // Slow flow does not know its direction.
    let back = flow(&bore(&[(8e-6, 30e-6, 0.3)]), &warm(t), t, p1, p2);
    assert!(close(found.mass_flow_rate, back.mass_flow_rate, 1e-4));
}

#[test]
fn a_throat_passes_what_the_laws_of_nozzles_allow() {
    // Smooth enough that friction is a small correction: a converging cone chokes at its exit, and a widening behind the throat
    // does not let more through.
    let gamma = 1.0 + GAS.r / GAS.c_v;
    let (p, t) = (60e5, 350.0);
    let factor =
        f64::sqrt(gamma) * (2.0 / (gamma + 1.0)).powf((gamma + 1.0) / (2.0 * (gamma - 1.0)));
    let ideal = p / (GAS.r * t).sqrt() * factor * 0.25 * PI * 1e-6;
    let short = bore(&[(5e-3, 1e-3, 20.1e-3)]);
    let found = flow(&short, &Heating::Adiabatic, t, p, 1e5);
    // The stream enters with its velocity and its pressure, not from rest.
    assert!(found.mass_flow_rate < 1.002 * ideal && found.mass_flow_rate > 0.97 * ideal);
    assert!(close(found.exit().unwrap().mach_number, 1.0, 1e-5));
    let widening = bore(&[(5e-3, 1e-3, 20.1e-3), (1e-3, 2e-3, 30e-3)]);
    let with = flow(&widening, &Heating::Adiabatic, t, p, 1e5);
    assert_eq!(with.end, End::Choked);
    assert!(with.mass_flow_rate < 1.001 * found.mass_flow_rate);
    assert!(with.mass_flow_rate > 0.97 * found.mass_flow_rate);
}

#[test]
fn a_step_loses_what_borda_and_carnot_say() {
    // Dense and slow, so that the gas hardly changes: the loss of a widening from 1 mm to 2 mm, and that of the narrowing back.
    let (t, p) = (300.0, 50e5);
    for (first, second) in [(1e-3, 2e-3), (2e-3, 1e-3)] {
        let stretches = [(first, first, 0.2), (second, second, 0.2)];
        let (steps, heating) = (bore(&stretches), warm(t));
        let found = flow(&steps, &heating, t, p, p - 2e3);
        let q_m = found.mass_flow_rate;
        let rho = p / (GAS.r * t);
        let velocity = |d: f64| q_m / (rho * 0.25 * PI * d * d);
        let friction: f64 = stretches
            .iter()
            .map(|&(d, _, length)| {
                let re = velocity(d) * rho * d / GAS.viscosity;
                let f = Wall::SMOOTH.friction_factor(re, d).unwrap().value;
                f * length / d * 0.5 * rho * velocity(d).powi(2)
            })
            .sum();
        let (v1, v2) = (velocity(first), velocity(second));
        let loss = if v2 < v1 {
            0.5 * rho * (v1 - v2).powi(2)
        } else {
            0.5 * 0.5 * (1.0 - (second / first).powi(2)) * rho * v2 * v2
        };
        let kinetic = 0.5 * rho * (v2 * v2 - v1 * v1);
        assert!(
            close(friction + loss + kinetic, 2e3, 1e-3),
            "{}",
            friction + loss + kinetic
        );
    }
}

#[test]
fn a_wall_warms_what_passes_between_its_bounds() {
    let tube = bore(&[(5e-5, 5e-5, 0.3)]);
    let of = |heating: &Heating| flow(&tube, heating, 300.0, 60e5, 1e5);
    let through = |conductance: f64| {
        of(&Heating::Conductance {
            outside: Profile::constant(400.0).unwrap(),
            conductance,
        })
    };
    let (none, little, full) = (
        of(&Heating::Adiabatic),
        through(1e-3),
        through(f64::INFINITY),
    );
    // Warmer gas is thinner, and less of it passes.
    assert!(close(
        through(1e-12).mass_flow_rate,
        none.mass_flow_rate,
        1e-6
    ));
    assert!(
        little.mass_flow_rate < none.mass_flow_rate && full.mass_flow_rate < little.mass_flow_rate
    );
    assert!(little.heat_flow_rate > 0.0 && full.heat_flow_rate > little.heat_flow_rate);
    // What came in is in the stream.
    for found in [&little, &full] {
        let total = |place: &Place| place.point.specific_enthalpy + 0.5 * place.velocity.powi(2);
        let gained = total(found.exit().unwrap()) - total(found.inlet().unwrap());
        assert!(close(
            found.heat_flow_rate,
            found.mass_flow_rate * gained,
            1e-7
        ));
    }
    // Along a wall of rising temperature the fluid has that of the wall.
    let ramp = Heating::Wall(Profile::new(vec![(0.0, 300.0), (0.3, 400.0)]).unwrap());
    let ramped = of(&ramp);
    assert!(close(ramped.exit().unwrap().temperature, 400.0, 1e-9));
    assert!(ramped.mass_flow_rate < of(&warm(300.0)).mass_flow_rate);
    assert!(ramped.mass_flow_rate > flow(&tube, &warm(400.0), 400.0, 60e5, 1e5).mass_flow_rate);
}

#[test]
fn profiles_are_linear_between_their_points() {
    let profile = Profile::new(vec![(0.0, 300.0), (0.2, 400.0)]).unwrap();
    assert_eq!(profile.at(-1.0), (300.0, 0.0));
    assert!(close(profile.at(0.1).0, 350.0, 1e-14) && close(profile.at(0.1).1, 500.0, 1e-14));
    assert_eq!(profile.at(0.5), (400.0, 0.0));
    assert!(!profile.is_constant() && Profile::constant(300.0).unwrap().is_constant());
    assert_eq!(Profile::new(vec![]).unwrap_err().code(), 101);
    assert_eq!(
        Profile::new(vec![(0.0, 300.0), (0.0, 310.0)])
            .unwrap_err()
            .code(),
        101
    );
    assert_eq!(Profile::constant(-1.0).unwrap_err().code(), 101);
}

#[test]
fn what_cannot_be_is_refused() {
    let tube = bore(&[(5e-5, 5e-5, 0.3)]);
    let heating = Heating::Adiabatic;
    let reversed = passage(&tube, &heating, 300.0, 1e5, 2e5);
    assert_eq!(reversed.flow().unwrap_err().code(), 503);
    let narrow = passage(&tube, &heating, 300.0, 60e5, 1e5);
    assert_eq!(narrow.reach(1.0).unwrap_err().code(), 402);
    assert_eq!(narrow.reach(-1.0).unwrap_err().code(), 101);
}

/// In a wide diverging bore the pressure at the exit changes by forty thousand times as much as the flow, so that the 5e-9 to which the
/// march knows the flow leave 2e-4 of the pressure: the flow is slower than sound all along, and the pressure outside counts.
#[test]
fn a_flow_far_from_the_speed_of_sound_is_not_choked() {
    let diverging = bore(&[(14.92e-6, 2.929 * 14.92e-6, 0.639)]);
    for heating in [Heating::Adiabatic, warm(350.0)] {
        for bar in [80.0, 88.0, 88.5, 88.8, 88.89, 89.0, 90.0] {
            let found = flow(&diverging, &heating, 350.0, bar * 1e5, 1e5);
            let exit = found.exit().unwrap();
            assert!(exit.mach_number < 0.9, "{}", exit.mach_number);
            assert_eq!(found.end, End::Outside, "{bar} bar {heating:?}");
            assert!(
                close(exit.point.pressure, 1e5, 1e-3),
                "{}",
                exit.point.pressure
            );
            let vacuum = flow(&diverging, &heating, 350.0, bar * 1e5, 0.5e5);
            assert_eq!(vacuum.end, End::Choked);
            assert!(vacuum.mass_flow_rate > found.mass_flow_rate);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn laws_of_every_passage(
        d in 5e-6..3e-4f64, cone in 0.3..3.0f64, length in 0.02..1.0f64, bar in 2.0..400.0f64, more in 1.01..1.5f64,
        share in 0.2..0.8f64, adiabatic in any::<bool>(),
    ) {
        let t = 350.0;
        let heating = if adiabatic { Heating::Adiabatic } else { warm(t) };
        let whole = bore(&[(d, d * cone, length)]);
        let found = flow(&whole, &heating, t, bar * 1e5, 1e5);
        // More pressure, more flow.
        let higher = flow(&whole, &heating, t, bar * more * 1e5, 1e5);
        prop_assert!(higher.mass_flow_rate > found.mass_flow_rate);
        // A choked flow does not know the pressure outside.
        let vacuum = flow(&whole, &heating, t, bar * 1e5, 0.5e5);
        if found.end == End::Choked {
            prop_assert!(close(vacuum.mass_flow_rate, found.mass_flow_rate, 1e-7));
        } else {
            prop_assert!(vacuum.mass_flow_rate > found.mass_flow_rate);
        }
        // Two parts make the whole.
        let middle = d * (1.0 + (cone - 1.0) * share);
        let parts = bore(&[(d, middle, length * share), (middle, d * cone, length * (1.0 - share))]);
        let joined = flow(&parts, &heating, t, bar * 1e5, 1e5);
        prop_assert!(close(joined.mass_flow_rate, found.mass_flow_rate, 1e-8));
        // Friction makes entropy.
        if adiabatic {
            for pair in found.places.windows(2) {
                prop_assert!(entropy(&pair[1]) >= entropy(&pair[0]) - 1e-9 * GAS.c_v);
            }
        }
        // Nothing runs faster than what chokes it.
        prop_assert!(found.places.iter().all(|place| place.mach_number <= 1.0 + 1e-6));
    }
}
