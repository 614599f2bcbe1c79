//! Carbon dioxide below its triple point, as vapour and with the solid, and beyond the ranges of its models.

use super::*;
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
    let below = State::from_ph(&co2(), 10e6, -450e3);
    assert_eq!(below.unwrap_err().code(), 303);
    assert_eq!(cold.unwrap_err().code(), 303);
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
