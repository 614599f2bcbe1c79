//! Tests of fluids whose volume is shifted.

use crate::quantity::Quantity;
use crate::state::{Fluid, ModelChoice, Phase, State};
use crate::transport::diffusion::{Diffusing, DiffusionModel};

const SHIFT: f64 = 2e-5;

fn fluids() -> [Fluid; 3] {
    let mixture = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)]).unwrap();
    let cubic = Fluid::new_with_model("carbon dioxide", ModelChoice::Cubic).unwrap();
    [Fluid::new("carbon dioxide").unwrap(), cubic, mixture]
}

fn both(plain: &Fluid) -> [Fluid; 2] {
    [plain.clone(), plain.with_volume_shift(SHIFT).unwrap()]
}

fn close(one: f64, other: f64, within: f64) -> bool {
    (one / other - 1.0).abs() < within
}

#[test]
fn no_shift_leaves_every_bit() {
    for plain in fluids() {
        let shifted = plain.with_volume_shift(1e-5).unwrap();
        let back = shifted.with_volume_shift(0.0).unwrap();
        assert_eq!(back, plain);
        assert_ne!(shifted, plain);
        assert_eq!(back.fingerprint(), plain.fingerprint());
        let numbers = |fluid| State::from_tp(fluid, 313.15, 15e6).unwrap().to_numbers();
        assert_eq!(numbers(&plain), numbers(&back));
    }
}

/// `v' = v + c`, `h' = h + c p`, `g' = g + c p`; `s`, `u`, `a`, `c_p`, `c_v` stay, `w' = w v'/v`, and what the density of the model tells.
#[test]
fn properties_move_as_the_volume_does() {
    for plain in fluids() {
        let fluids = both(&plain);
        for (t, p) in [(313.15, 15e6), (280.0, 8e6), (313.15, 1e5), (340.0, 12e6)] {
            let [one, other] = fluids
                .each_ref()
                .map(|fluid| State::from_tp(fluid, t, p).unwrap());
            if !one.is_one_phase() {
                continue;
            }
            let [v, shifted] = [&one, &other].map(|state| 1.0 / state.density());
            assert!((shifted - v - SHIFT).abs() < 1e-14 * v);
            let work = SHIFT * p;
            let difference = |quantity| other.get(quantity).unwrap() - one.get(quantity).unwrap();
            for (quantity, expected) in [
                (Quantity::SpecificEnthalpy, work),
                (Quantity::SpecificGibbsEnergy, work),
                (Quantity::SpecificInternalEnergy, 0.0),
                (Quantity::SpecificHelmholtzEnergy, 0.0),
                (Quantity::SpecificEntropy, 0.0),
            ] {
                let found = difference(quantity);
                assert!(
                    (found - expected).abs() < 1e-9 * v * p + 1e-8,
                    "{quantity} {found}"
                );
            }
            let stretch = shifted / v;
            let mut factors = vec![
                (Quantity::SpecificIsobaricHeatCapacity, 1.0),
                (Quantity::SpecificIsochoricHeatCapacity, 1.0),
                (Quantity::SpeedOfSound, stretch),
                (Quantity::IsothermalCompressibility, 1.0 / stretch),
                (Quantity::IsobaricExpansivity, 1.0 / stretch),
                (Quantity::CompressionFactor, stretch),
            ];
            if one.dynamic_viscosity().is_ok() {
                factors.push((Quantity::DynamicViscosity, 1.0));
                factors.push((Quantity::ThermalConductivity, 1.0));
            }
            for (quantity, factor) in factors {
                let [before, after] = [&one, &other].map(|state| state.get(quantity).unwrap());
                assert!(close(after, factor * before, 1e-10), "{quantity} {t} {p}");
            }
            // (dT/dp)_h by differences of the states themselves.
            let step = 1e-5 * p;
            let expanded = other.expand_to(p - step).unwrap();
            let slope = (other.temperature() - expanded.temperature()) / step;
            assert!(
                close(slope, other.joule_thomson_coefficient().unwrap(), 1e-3),
                "{t} {p}"
            );
            assert_eq!(
                (one.phase(), other.uncertainty(Quantity::Density).ok()),
                (other.phase(), one.uncertainty(Quantity::Density).ok())
            );
            let dv_dp = -v * one.isothermal_compressibility().unwrap();
            assert!(close(
                -shifted * other.isothermal_compressibility().unwrap(),
                dv_dp,
                1e-10
            ));
        }
    }
}

#[test]
fn every_pair_leads_to_the_same_state() {
    use Quantity::{
        Density, Pressure, SpecificEnthalpy, SpecificEntropy, SpecificInternalEnergy, Temperature,
    };
    for plain in fluids() {
        let shifted = &both(&plain)[1];
        let state = State::from_tp(shifted, 318.15, 14e6).unwrap();
        let mut pairs = vec![
            [Temperature, Density],
            [Pressure, Density],
            [Pressure, SpecificEnthalpy],
            [Pressure, SpecificEntropy],
            [Pressure, SpecificInternalEnergy],
            [Temperature, SpecificEntropy],
            [Density, SpecificEnthalpy],
            [Density, SpecificEntropy],
            [Density, SpecificInternalEnergy],
        ];
        if plain.pure().is_some() {
            pairs.push([SpecificEnthalpy, SpecificEntropy]);
            pairs.push([Temperature, SpecificInternalEnergy]);
        }
        for [one, other] in pairs {
            let given = [one, other].map(|quantity| (quantity, state.get(quantity).unwrap()));
            let found = State::from_pair(shifted, given[0], given[1]).unwrap();
            assert!(close(found.temperature(), 318.15, 1e-9), "{one} {other}");
            assert!(close(found.pressure(), 14e6, 1e-7), "{one} {other}");
            assert!(
                close(found.density(), state.density(), 1e-9),
                "{one} {other}"
            );
        }
        let warmer = state.isochoric_to(320.0).unwrap();
        assert!(close(warmer.density(), state.density(), 1e-12));
        let pumped = state.isentropic_to(20e6).unwrap();
        assert!((pumped.specific_entropy() - state.specific_entropy()).abs() < 1e-8);
        let twin = State::from_numbers(shifted, &state.to_numbers()).unwrap();
        assert_eq!(twin.to_numbers(), state.to_numbers());
        assert_eq!(twin.density(), state.density());
    }
}

/// Equal potentials stay equal: phases at the same temperature and pressure, of the same compositions and shares.
#[test]
fn phases_stay_in_equilibrium() {
    for plain in fluids() {
        let fluids = both(&plain);
        let [one, other] = fluids
            .each_ref()
            .map(|fluid| fluid.bubble_point_at_temperature(285.0).unwrap());
        assert_eq!(one.pressure, other.pressure);
        for (before, after) in [(&one.liquid, &other.liquid), (&one.vapour, &other.vapour)] {
            assert!((1.0 / after.density() - 1.0 / before.density() - SHIFT).abs() < 1e-15);
        }
        let potentials = |state: &State| {
            let x = state.fluid().amount_fractions().to_vec();
            let phi = state.fugacity_coefficients().unwrap();
            phi.into_iter()
                .zip(x)
                .map(|(phi, x)| phi * x)
                .collect::<Vec<_>>()
        };
        for (liquid, vapour) in potentials(&other.liquid)
            .iter()
            .zip(potentials(&other.vapour))
        {
            assert!(close(*liquid, vapour, 1e-7));
        }
        let p = 0.7 * one.pressure;
        let [before, after] = fluids.each_ref().map(|fluid| {
            let start = State::from_tp(fluid, 285.0, 20e6).unwrap();
            let boiling = start.expand_to(p).unwrap();
            assert!((boiling.specific_enthalpy() - start.specific_enthalpy()).abs() < 1e-6);
            boiling
        });
        assert_eq!(after.phase(), Phase::LiquidVapour);
        assert!(before.vapour_fraction() != after.vapour_fraction());
        let same = State::from_t_rho(&fluids[1], after.temperature(), after.density()).unwrap();
        assert!((same.vapour_fraction().unwrap() - after.vapour_fraction().unwrap()).abs() < 1e-7);
        let sounds = [&before, &after].map(|state| state.equilibrium_speed_of_sound().unwrap());
        assert!(sounds.iter().all(|speed| *speed > 0.0));
        let twin = State::from_numbers(&fluids[1], &after.to_numbers()).unwrap();
        assert_eq!(twin.to_numbers(), after.to_numbers());
        assert_eq!(twin.density(), after.density());
    }
    let [plain, shifted] = both(&fluids()[0]);
    let [before, after] =
        [&plain, &shifted].map(|fluid| fluid.coexistence_at_pressure(5e6).unwrap());
    assert_eq!(before.temperature, after.temperature);
    assert!((1.0 / after.liquid_density - 1.0 / before.liquid_density - SHIFT).abs() < 1e-16);
    // Dry ice beside vapour carries the enthalpy of what expanded.
    let start = State::from_tp(&shifted, 313.15, 15e6).unwrap();
    let snow = start.expand_to(101_325.0).unwrap();
    assert_eq!(snow.phase(), Phase::SolidVapour);
    assert!(close(
        snow.specific_enthalpy(),
        start.specific_enthalpy(),
        1e-12
    ));
    let plain_snow = State::from_tp(&plain, 313.15, 15e6)
        .and_then(|state| state.expand_to(101_325.0))
        .unwrap();
    assert_eq!(snow.temperature(), plain_snow.temperature());
}

#[test]
fn lists_isotherms_and_lines_follow() {
    for plain in fluids() {
        let shifted = &both(&plain)[1];
        let state = State::from_tp(shifted, 313.15, 15e6).unwrap();
        assert!(close(
            shifted.density(313.15, 15e6).unwrap(),
            state.density(),
            1e-12
        ));
        let mut rows = [0.0; 2];
        let wanted = [Quantity::Density, Quantity::SpecificEnthalpy];
        assert!(
            shifted
                .properties_into(&wanted, &[313.15], &[15e6], &mut rows)
                .is_ok()
        );
        assert!(
            close(rows[0], state.density(), 1e-12)
                && close(rows[1], state.specific_enthalpy(), 1e-12)
        );
        let critical = [&plain, shifted].map(|fluid| fluid.critical_point().unwrap());
        assert!((1.0 / critical[1].density - 1.0 / critical[0].density - SHIFT).abs() < 1e-15);
    }
    let [plain, shifted] = both(&fluids()[0]);
    shifted
        .prepare_densities([310.0, 316.0], [14e6, 16e6])
        .unwrap();
    assert_eq!(
        shifted.prepared_density(313.15, 15e6).unwrap(),
        shifted.density(313.15, 15e6).unwrap()
    );
    let ends = [200.0, 700.0];
    let series = shifted.isothermal(330.0).unwrap().series(ends).unwrap();
    for density in [250.0, 430.0, 690.0] {
        let state = State::from_t_rho(&shifted, 330.0, density).unwrap();
        let piece = series
            .pressures
            .iter()
            .rev()
            .find(|piece| piece.ends()[0] <= density);
        let [[over_density, dp_drho]] = piece.unwrap().at([density]);
        assert!(close(over_density * density, state.pressure(), 1e-7));
        assert!(close(dp_drho, state.dp_drho_t().unwrap(), 1e-6));
        let piece = series
            .viscosities
            .iter()
            .rev()
            .find(|piece| piece.ends()[0] <= density);
        let [[viscosity]] = piece.unwrap().at([density]);
        assert!(close(viscosity, state.dynamic_viscosity().unwrap(), 1e-7));
    }
    let naphthalene = Diffusing {
        molar_volume: 150e-6,
        molar_mass: None,
    };
    let [one, other] = [&plain, &shifted].map(|fluid| {
        let state = State::from_tp(fluid, 313.15, 15e6).unwrap();
        state
            .diffusion_coefficient(DiffusionModel::WilkeChang, naphthalene)
            .unwrap()
    });
    assert_eq!(one, other);
}

#[test]
fn a_factor_is_met_where_it_is_stated() {
    for plain in fluids() {
        for factor in [0.98, 1.01] {
            let corrected = plain.with_density_factor(factor, 313.15, 15e6).unwrap();
            let ratio = |t, p| corrected.density(t, p).unwrap() / plain.density(t, p).unwrap();
            assert!(close(ratio(313.15, 15e6), factor, 1e-12));
            // It replaces one in force.
            let again = corrected.with_density_factor(factor, 313.15, 15e6).unwrap();
            assert_eq!(again, corrected);
            assert!((ratio(313.15, 1e5) - 1.0).abs() < 1e-4);
        }
        let blend = plain.with_corrections_of(&plain.with_volume_shift(SHIFT).unwrap());
        assert_eq!(blend.volume_shift(), SHIFT);
    }
    let co2 = &fluids()[0];
    assert_eq!(
        co2.with_density_factor(1.5, 313.15, 15e6)
            .unwrap_err()
            .code(),
        102
    );
    assert_eq!(co2.with_volume_shift(f64::NAN).unwrap_err().code(), 101);
    // A quarter of the volume of this liquid.
    let wide = co2.with_volume_shift(4e-4).unwrap();
    assert_eq!(State::from_tp(&wide, 280.0, 15e6).unwrap_err().code(), 102);
    assert_eq!(wide.density(280.0, 15e6).unwrap_err().code(), 102);
    assert!(State::from_tp(&wide, 313.15, 1e5).is_ok());
    let mixture = &fluids()[2];
    assert_eq!(
        mixture
            .with_density_factor(1.01, 313.15, 5e6)
            .unwrap_err()
            .code(),
        301
    );
}
