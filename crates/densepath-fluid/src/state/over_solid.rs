//! Carbon dioxide below its triple point and beside its solid, and beyond the ranges of its models.

use super::*;
use crate::eos::lines::Line;
use crate::error::Error;
use crate::notice::NoticeCode;
use crate::quantity::Quantity;
use proptest::prelude::*;

fn co2() -> Fluid {
    Fluid::new("carbon dioxide").unwrap()
}

/// Densities: independent computation with CoolProp 8.0.0 (Span and Wagner 1996), its check of the range switched off.
#[test]
fn vapour_is_given_down_to_the_solid() {
    let vapour = State::from_tp(&co2(), 200.0, 1e5).unwrap();
    assert_eq!(vapour.phase(), Phase::Vapour);
    assert!((vapour.density() / 2.6980389994811373 - 1.0).abs() < 1e-11);
    let colder = State::from_tp(&co2(), 180.0, 2e4).unwrap();
    assert!((colder.density() / 0.5913480771910576 - 1.0).abs() < 1e-11);
    let Err(Error::Solid { limit, .. }) = State::from_tp(&co2(), 200.0, 2e5) else {
        panic!("the solid is stable at 200 K and 2 bar");
    };
    assert!(limit > 1.5e5 && limit < 1.6e5, "{limit}");
    assert_eq!(co2().melting_pressure(200.0), limit);
    let refused = vapour.uncertainty(Quantity::Density).unwrap_err();
    assert_eq!(refused.code(), 202);
}

#[test]
fn a_liquid_below_its_triple_temperature_is_refused_as_solid() {
    let cold = State::from_tp(&co2(), 216.592, 10e6);
    assert_eq!(cold.unwrap_err().code(), 303);
}

/// The auxiliary line alone decides where it is far enough from the line of equal Gibbs energies.
#[test]
fn the_two_melting_lines_stay_as_near_as_is_relied_upon() {
    let fluid = co2();
    let pure = fluid.pure().unwrap();
    let line = Line::melting(pure.record().melting_line.as_ref().unwrap());
    let (start, end) = (pure.triple_temperature(), *pure.melting_end().unwrap());
    assert!((end.solid.pressure / 5e8 - 1.0).abs() < 1e-10);
    for step in 0..=400 {
        let temperature = start + (end.solid.temperature - start) * f64::from(step) / 400.0;
        let pressure = fluid.melting_pressure(temperature);
        let apart = line.pressure(temperature).unwrap() / pressure - 1.0;
        assert!(apart.abs() < 0.0125, "{temperature}: {apart}");
        let warmer = pure.surely_molten(pressure).unwrap();
        assert!(
            warmer > temperature && warmer < 1.01 * temperature,
            "{temperature}: {warmer}"
        );
    }
}

#[test]
fn a_solid_answers_for_itself_alone() {
    let fluid = co2();
    let point = fluid.solid().unwrap().at(220.0, 40e6).unwrap();
    let solid = State::from_ph(&fluid, 40e6, point.specific_enthalpy()).unwrap();
    assert_eq!((solid.phase(), solid.solid_fraction()), (Phase::Solid, 1.0));
    assert_eq!(solid.vapour_fraction(), Some(0.0));
    assert!((solid.density() / point.density - 1.0).abs() < 1e-12);
    let capacity = solid.specific_isobaric_heat_capacity().unwrap();
    assert!((capacity / point.specific_isobaric_heat_capacity - 1.0).abs() < 1e-12);
    for refused in [solid.speed_of_sound(), solid.dynamic_viscosity()] {
        assert_eq!(refused.unwrap_err().code(), 303);
    }
    // Both phases beside each other at the melting point have one Gibbs energy.
    let melting = State::from_t_rho(&fluid, 230.0, 1300.0).unwrap();
    assert_eq!(melting.phase(), Phase::SolidLiquid);
    let liquid = melting.liquid().unwrap().specific_gibbs_energy();
    let frozen = melting.solid().unwrap().specific_gibbs_energy;
    assert!((liquid - frozen).abs() < 1e-6, "{liquid} {frozen}");
    assert!((melting.pressure() / fluid.melting_pressure(230.0) - 1.0).abs() < 1e-12);
    let twin = State::from_numbers(&fluid, &melting.to_numbers()).unwrap();
    assert_eq!(format!("{twin:?}"), format!("{melting:?}"));
    let twin = State::from_numbers(&fluid, &solid.to_numbers()).unwrap();
    assert_eq!(format!("{twin:?}"), format!("{solid:?}"));
}

#[test]
fn beyond_the_equation_of_the_solid_states_are_refused() {
    let fluid = co2();
    // At 310 K the melting pressure is beyond the 500 MPa of the solid; at 290 K the solid is more compressed than that.
    let warm = State::from_t_rho(&fluid, 310.0, 1480.0).unwrap_err();
    assert_eq!(warm.code(), 303);
    let dense = State::from_t_rho(&fluid, 250.0, 1800.0).unwrap_err();
    assert_eq!(dense.code(), 102);
    let cold = State::from_ph(&fluid, 1e6, -1e6).unwrap_err();
    assert_eq!(cold.code(), 102);
}

proptest! {
    /// At the triple point the density with an energy or the entropy tells the shares of all three phases.
    #[test]
    fn three_phases_come_back_with_their_shares(solid in 0.01..0.9_f64, of_rest in 0.01..0.99_f64) {
        let fluid = co2();
        let triple = fluid.solid().unwrap().triple_point();
        let boiling = fluid.saturation_at_temperature(triple.temperature).unwrap();
        let frozen = fluid.solid().unwrap().at(triple.temperature, triple.pressure).unwrap();
        let vapour = (1.0 - solid) * of_rest;
        let mean = |of_solid: f64, of_liquid: f64, of_vapour: f64| {
            solid * of_solid + (1.0 - solid - vapour) * of_liquid + vapour * of_vapour
        };
        let density = 1.0 / mean(1.0 / frozen.density, 1.0 / triple.liquid_density, 1.0 / triple.vapour_density);
        let (l, v) = (&boiling.liquid, &boiling.vapour);
        let energy = mean(frozen.specific_internal_energy(), l.specific_internal_energy(), v.specific_internal_energy());
        let entropy = mean(frozen.specific_entropy, l.specific_entropy(), v.specific_entropy());
        let enthalpy = mean(frozen.specific_enthalpy(), l.specific_enthalpy(), v.specific_enthalpy());
        for state in [
            State::from_rho_u(&fluid, density, energy),
            State::from_rho_s(&fluid, density, entropy),
            State::from_rho_h(&fluid, density, enthalpy),
            State::from_su(&fluid, entropy, energy),
        ] {
            let state = state.unwrap();
            prop_assert_eq!(state.phase(), Phase::SolidLiquidVapour);
            prop_assert_eq!(state.temperature(), triple.temperature);
            prop_assert!((state.solid_fraction() - solid).abs() < 1e-9);
            prop_assert!((state.vapour_fraction().unwrap() - vapour).abs() < 1e-9);
            prop_assert!((state.density() / density - 1.0).abs() < 1e-9);
        }
    }

    /// Solid with liquid and solid alone, given by temperature and density, come back from every other pair.
    #[test]
    fn melting_and_frozen_states_come_back(warmth in 0.001..0.999_f64, share in 0.001..0.999_f64, alone: bool) {
        let fluid = co2();
        let pure = fluid.pure().unwrap();
        let solid = pure.solid().unwrap();
        let end = pure.melting_end().unwrap().solid.temperature;
        let coldest = if alone { 90.0 } else { pure.triple_temperature() };
        let temperature = coldest + warmth * (end - coldest);
        let border = fluid.melting_pressure(temperature);
        let frozen = solid.at(temperature, border).unwrap();
        let density = if alone {
            let most = solid.at(temperature, 5e8).unwrap().density;
            frozen.density + share * (most - frozen.density)
        } else {
            let liquid = pure.melting(temperature).unwrap().unwrap().fluid_density;
            1.0 / (share / frozen.density + (1.0 - share) / liquid)
        };
        let state = State::from_t_rho(&fluid, temperature, density).unwrap();
        let phase = if alone { Phase::Solid } else { Phase::SolidLiquid };
        prop_assert_eq!(state.phase(), phase);
        let (pressure, enthalpy, entropy) = (state.pressure(), state.specific_enthalpy(), state.specific_entropy());
        // Below the lowest pressure of an instrument there are no pairs with the pressure.
        prop_assume!(pressure > 1e3);
        let energy = state.specific_internal_energy();
        let pairs = [
            ("ph", State::from_ph(&fluid, pressure, enthalpy)),
            ("ps", State::from_ps(&fluid, pressure, entropy)),
            ("pu", State::from_pu(&fluid, pressure, energy)),
            ("p rho", State::from_p_rho(&fluid, pressure, density)),
            ("Ts", State::from_ts(&fluid, temperature, entropy)),
            ("rho u", State::from_rho_u(&fluid, density, energy)),
            ("rho h", State::from_rho_h(&fluid, density, enthalpy)),
            ("rho s", State::from_rho_s(&fluid, density, entropy)),
            ("hs", State::from_hs(&fluid, enthalpy, entropy)),
            ("su", State::from_su(&fluid, entropy, energy)),
        ];
        for (pair, back) in pairs {
            let back = back.unwrap_or_else(|error| panic!("{pair} {temperature} {pressure}: {error}"));
            let place = format!("{pair} {temperature} {pressure} {density}: {} {}", back.temperature(), back.pressure());
            prop_assert!(back.phase() == phase, "{place}");
            prop_assert!((back.temperature() / temperature - 1.0).abs() < 1e-9, "{place}");
            prop_assert!((back.density() / density - 1.0).abs() < 1e-9, "{place}");
            prop_assert!((back.pressure() / pressure - 1.0).abs() < 1e-7, "{place}");
            prop_assert!((back.solid_fraction() - state.solid_fraction()).abs() < 1e-9, "{place}");
        }
        for back in [State::from_th(&fluid, temperature, enthalpy), State::from_tu(&fluid, temperature, energy)] {
            match back {
                Ok(back) => prop_assert!((back.density() / density - 1.0).abs() < 1e-9),
                Err(error) => prop_assert_eq!(error.code(), 403),
            }
        }
    }
}

proptest! {
    /// Vapour alone and solid with vapour, given by temperature and density, come back from every other pair.
    #[test]
    fn states_over_the_solid_come_back(temperature in 165.0..216.0_f64, share in 0.2..0.999_f64, all_vapour: bool) {
        let fluid = co2();
        let border = State::from_tp(&fluid, temperature, fluid.melting_pressure(temperature)).unwrap();
        let density = if all_vapour { share * border.density() } else { border.density() / share };
        let state = State::from_t_rho(&fluid, temperature, density).unwrap();
        let phase = if all_vapour { Phase::Vapour } else { Phase::SolidVapour };
        prop_assert_eq!(state.phase(), phase);
        let (pressure, enthalpy, entropy) = (state.pressure(), state.specific_enthalpy(), state.specific_entropy());
        let energy = state.specific_internal_energy();
        let pairs = [
            State::from_ph(&fluid, pressure, enthalpy),
            State::from_ps(&fluid, pressure, entropy),
            State::from_ts(&fluid, temperature, entropy),
            State::from_rho_u(&fluid, density, energy),
        ];
        for back in pairs {
            let back = back.unwrap();
            prop_assert_eq!(back.phase(), phase);
            prop_assert!((back.temperature() / temperature - 1.0).abs() < 1e-9);
            prop_assert!((back.density() / density - 1.0).abs() < 1e-9);
            prop_assert!((back.solid_fraction() - state.solid_fraction()).abs() < 1e-9);
        }
    }
}

#[test]
fn beyond_the_range_states_are_given_on_request_with_a_notice() {
    let inside = State::from_tp(&co2(), 313.15, 15e6).unwrap();
    let wide = co2().extrapolating();
    assert_ne!(wide, co2());
    let same = State::from_tp(&wide, 313.15, 15e6).unwrap();
    assert_eq!(same.density(), inside.density());
    assert!(same.notices().is_empty());
    assert_eq!(State::from_tp(&co2(), 1500.0, 1e6).unwrap_err().code(), 102);
    let hot = State::from_tp(&wide, 1500.0, 1e6).unwrap();
    assert!(
        hot.notices()
            .iter()
            .all(|notice| notice.code == NoticeCode::Extrapolated)
    );
    assert_eq!(hot.uncertainty(Quantity::Density).unwrap_err().code(), 202);
    assert!(hot.thermal_conductivity().unwrap() > 0.0);
    assert_eq!(
        hot.uncertainty(Quantity::ThermalConductivity)
            .unwrap_err()
            .code(),
        202
    );
    assert_eq!(State::from_tp(&wide, 1700.0, 1e6).unwrap_err().code(), 102);
}
