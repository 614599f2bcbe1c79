use super::*;
use crate::flow::bore::{Bore, Stretch};
use crate::flow::friction::Wall;
use crate::flow::passage::{Heating, Passage, Profile};
use crate::hardware::testing::{SURROUNDINGS, close, co2, fact, naphthalene, stream_at};
use crate::hardware::{BandShare, Element, Surroundings};
use fluid::{NoticeCode, State};
use proptest::prelude::*;

const OUTSIDE: f64 = 1.013e5;
const MILLIGRAM: f64 = 1e-6 / 60.0;

fn heated(heating: RestrictorHeating) -> LinearRestrictor {
    LinearRestrictor::new(10e-6, 0.2)
        .and_then(|restrictor| restrictor.with_heating(heating))
        .unwrap()
}

fn passage(restrictor: &impl Restrictor, degc: f64, bar: f64) -> RestrictorFlow {
    restrictor
        .passage(&co2(), degc + 273.15, bar * 1e5, OUTSIDE)
        .unwrap()
}

/// At 11.570333 mg/min through 10 um, from 200 bar and 100 degC without heat, the fluid is dry vapour at 41.53224 bar and
/// 6.7785 degC, after 24.3 cm: first law with CoolProp 8.0.0, and an independent march.
#[test]
fn a_restrictor_without_heat_flashes_where_an_independent_march_does() {
    let fluid = co2();
    let bore = Bore::new(vec![Stretch::straight(10e-6, 0.2)]).unwrap();
    let inlet = State::from_tp(&fluid, 373.15, 200e5).unwrap();
    let (_, passed) = Passage {
        medium: &medium::RealFluid::new(&fluid),
        bore: &bore,
        wall: Wall::SMOOTH,
        heating: &Heating::Adiabatic,
        temperature: 373.15,
        density: inlet.density(),
        outlet_pressure: 6e5,
        precision: 1e-10,
    }
    .reach(11.570333 * MILLIGRAM)
    .unwrap();
    let first = passed
        .places
        .iter()
        .find(|place| place.point.vapour_fraction.is_some())
        .unwrap();
    assert!(
        close(first.point.pressure, 41.53224e5, 1e-4),
        "{}",
        first.point.pressure
    );
    assert!(
        (first.temperature - 273.15 - 6.7785).abs() < 0.01,
        "{}",
        first.temperature
    );
    assert!((first.position - 0.243).abs() < 1e-3, "{}", first.position);
    // Total enthalpy stays, entropy does not fall, through the border too.
    let total = |place: &crate::flow::passage::Place| {
        place.point.specific_enthalpy + 0.5 * place.velocity.powi(2)
    };
    let mut before = inlet.specific_entropy();
    for place in &passed.places {
        assert!((total(place) - total(&passed.places[0])).abs() < 2e-6 * 4e5);
        let entropy = State::from_t_rho(&fluid, place.temperature, place.density)
            .unwrap()
            .specific_entropy();
        assert!(entropy >= before - 1e-5, "{entropy} {before}");
        before = entropy;
    }
}

#[test]
fn an_unheated_restrictor_passes_more_and_boils_in_its_exit() {
    let held = passage(&heated(RestrictorHeating::Isothermal(None)), 100.0, 200.0);
    let cold = passage(&heated(RestrictorHeating::Adiabatic), 100.0, 200.0);
    assert!(
        cold.mass_flow_rate > 1.02 * held.mass_flow_rate,
        "{}",
        cold.mass_flow_rate / MILLIGRAM
    );
    assert_eq!(
        (held.choking, cold.choking),
        (Choking::Isothermal, Choking::TwoPhase)
    );
    assert!(cold.exit.temperature < held.exit.temperature - 50.0);
    assert!(cold.heat_flow_rate.abs() < 1e-9 && held.heat_flow_rate > 0.02);
    // The pressure outside has no influence on a choked flow.
    let fluid = co2();
    let vacuum = heated(RestrictorHeating::Adiabatic)
        .passage(&fluid, 373.15, 200e5, 0.5e5)
        .unwrap();
    let change = vacuum.mass_flow_rate / cold.mass_flow_rate - 1.0;
    assert!(change.abs() < 1e-7, "{change}");
    // Plain law, full law, and what lies between.
    assert!(close(
        held.viscous_deviation().unwrap(),
        11.667159 / 11.570333 - 1.0,
        1e-2
    ));
    assert!(close(
        cold.viscous_mass_flow_rate.unwrap(),
        11.667159 * MILLIGRAM,
        1e-5
    ));
}

#[test]
fn a_jacket_lies_between_its_bounds() {
    let outside = || Profile::constant(373.15).unwrap();
    let jacket = |coefficient: f64| {
        let jacket = Jacket::new(375e-6, 1.4, coefficient, outside()).unwrap();
        passage(&heated(RestrictorHeating::Jacket(jacket)), 100.0, 200.0)
    };
    let held = passage(&heated(RestrictorHeating::Isothermal(None)), 100.0, 200.0);
    let cold = passage(&heated(RestrictorHeating::Adiabatic), 100.0, 200.0);
    let (air, block) = (jacket(10.0), jacket(2000.0));
    for found in [&air, &block] {
        assert!(found.mass_flow_rate < cold.mass_flow_rate * (1.0 + 1e-9));
        assert!(found.mass_flow_rate > 0.99 * held.mass_flow_rate);
        assert!(found.exit.temperature > cold.exit.temperature);
    }
    assert!(block.heat_flow_rate > air.heat_flow_rate && air.heat_flow_rate > 0.0);
    assert!(block.mass_flow_rate < air.mass_flow_rate);
}

/// Surroundings that end at a cold wall 5 mm before the tip: conduction carries heat on to it, and what the wall takes up outside
/// the fluid takes up inside.
#[test]
fn heat_flows_along_the_wall_to_a_tip_outside_the_heater() {
    let outside = || {
        Profile::new(vec![
            (0.0, 373.15),
            (0.194, 373.15),
            (0.196, 293.15),
            (0.2, 293.15),
        ])
        .unwrap()
    };
    let (coefficient, diameter) = (500.0, 375e-6);
    let jacket = || Jacket::new(diameter, 1.4, coefficient, outside()).unwrap();
    let flow = |jacket: Jacket| passage(&heated(RestrictorHeating::Jacket(jacket)), 100.0, 200.0);
    let (plain, along) = (flow(jacket()), flow(jacket().with_conduction_along()));
    let at = |flow: &RestrictorFlow, position: f64| {
        let behind = flow.wall_temperatures.iter().find(|(z, _)| *z >= position);
        behind.unwrap().1
    };
    // Just behind the edge of the heater the wall is warmer than its surroundings alone would have it, and before it colder.
    assert!(at(&along, 0.1965) > at(&plain, 0.1965) + 1.0);
    assert!(at(&along, 0.1935) < at(&plain, 0.1935) - 1.0);
    // Far from it nothing changes.
    assert!((at(&along, 0.1) - at(&plain, 0.1)).abs() < 0.05);
    let outer = std::f64::consts::PI * diameter * coefficient;
    let mut gained = 0.0;
    for pair in along.wall_temperatures.windows(2) {
        let [(one, t_one), (other, t_other)] = [pair[0], pair[1]];
        let difference = |z: f64, t: f64| outside().at(z).0 - t;
        let mean = 0.5 * (difference(one, t_one) + difference(other, t_other));
        gained += outer * mean * (other - one);
    }
    assert!(
        (gained / along.heat_flow_rate - 1.0).abs() < 0.02,
        "{gained} against {}",
        along.heat_flow_rate
    );
    // Hardly any conduction is none.
    let thin = Jacket::new(
        diameter,
        1.4,
        coefficient,
        Profile::constant(373.15).unwrap(),
    );
    let (one, other) = (
        flow(thin.clone().unwrap()),
        flow(thin.unwrap().with_conduction_along()),
    );
    assert!(close(one.mass_flow_rate, other.mass_flow_rate, 1e-3));
}

/// Surroundings that fall steadily from 100 to 0 degC: the fluid boils dry against them and flows on.
fn falling(thermal_conductivity: f64) -> Jacket {
    let outside = Profile::new(vec![(0.0, 373.15), (0.2, 273.15)]).unwrap();
    Jacket::new(375e-6, thermal_conductivity, 1000.0, outside).unwrap()
}

#[test]
fn surroundings_that_cool_steadily_are_marched_along() {
    let flow = passage(
        &heated(RestrictorHeating::Jacket(falling(1.4))),
        100.0,
        200.0,
    );
    // Colder and denser than at 100 degC all along (11.570333 mg/min, CoolProp 8.0.0), more passes.
    assert!(flow.mass_flow_rate > 1.3 * 11.570333 * MILLIGRAM);
    assert!(
        flow.profile
            .windows(2)
            .all(|pair| pair[1].pressure <= pair[0].pressure)
    );
    // What left through the wall is missing in the stream.
    let total = |end: &RestrictorEnd| {
        let state = State::from_t_rho(&co2(), end.temperature, end.density).unwrap();
        state.specific_enthalpy() + 0.5 * end.velocity.powi(2)
    };
    let gained = flow.mass_flow_rate * (total(&flow.exit) - total(&flow.inlet));
    assert!(
        close(gained, flow.heat_flow_rate, 1e-5),
        "{gained} {}",
        flow.heat_flow_rate
    );
}

/// Minutes without optimisation: `cargo test --release -p densepath cools_steadily -- --ignored`.
#[test]
#[ignore = "a campaign"]
fn a_wall_that_conducts_and_cools_steadily_is_solved() {
    for conductivity in [1.4, 16.0] {
        let flow =
            |jacket: Jacket| passage(&heated(RestrictorHeating::Jacket(jacket)), 100.0, 200.0);
        let plain = flow(falling(conductivity));
        let along = flow(falling(conductivity).with_conduction_along());
        assert!(close(along.mass_flow_rate, plain.mass_flow_rate, 1e-3));
        // Conduction fills up the coldest end of the wall.
        let end = |flow: &RestrictorFlow| flow.wall_temperatures.last().unwrap().1;
        assert!(end(&along) > end(&plain), "{} {}", end(&along), end(&plain));
    }
}

#[test]
fn a_wall_profile_counts_along_the_bore() {
    let ramp = Profile::new(vec![(0.0, 373.15), (0.2, 473.15)]).unwrap();
    let ramped = passage(&heated(RestrictorHeating::Wall(ramp)), 100.0, 200.0);
    let (cold, hot) = (7.0287, 11.5703);
    let flow = ramped.mass_flow_rate / MILLIGRAM;
    assert!(flow > cold && flow < hot);
    assert!(close(ramped.exit.temperature, 473.15, 1e-9));
    assert_eq!(ramped.choking, Choking::Isothermal);
}

#[test]
fn sizes_are_found_back_in_every_shape() {
    let fluid = co2();
    let (t, p) = (373.15, 200e5);
    let linear = LinearRestrictor::new(10e-6, 0.2).unwrap();
    let cone = BoredRestrictor::tapered(30e-6, 8e-6, 0.1).unwrap();
    let widening = BoredRestrictor::tapered(8e-6, 30e-6, 0.1).unwrap();
    let stretches = vec![Stretch::straight(50e-6, 0.3), Stretch::straight(10e-6, 0.1)];
    let steps = BoredRestrictor::new(Bore::new(stretches).unwrap());
    for bored in [&cone, &widening, &steps] {
        let flow = bored.mass_flow_rate(&fluid, t, p, OUTSIDE).unwrap();
        let bores = bored
            .with_bores_times(1.3)
            .unwrap()
            .bore_factor_for(flow, &fluid, t, p, OUTSIDE)
            .unwrap();
        assert!(close(bores * 1.3, 1.0, 1e-9), "{bores}");
        let lengths = bored
            .length_factor_for(flow, &fluid, t, p, OUTSIDE)
            .unwrap();
        assert!(close(lengths, 1.0, 1e-9), "{lengths}");
        let pressure = bored.inlet_pressure_for(flow, &fluid, t, OUTSIDE).unwrap();
        assert!(close(pressure, p, 1e-9), "{pressure}");
    }
    let flow = linear.mass_flow_rate(&fluid, t, p, OUTSIDE).unwrap();
    assert!(close(
        linear.inlet_pressure_for(flow, &fluid, t, OUTSIDE).unwrap(),
        p,
        1e-9
    ));
    let adiabatic = heated(RestrictorHeating::Adiabatic);
    let flow = adiabatic.mass_flow_rate(&fluid, t, p, OUTSIDE).unwrap();
    assert!(close(
        adiabatic.length_for(flow, &fluid, t, p, OUTSIDE).unwrap(),
        0.2,
        1e-9
    ));
    let orifice = OrificeRestrictor::new(1e-6, 0.8).unwrap();
    let flow = orifice.mass_flow_rate(&fluid, t, p, OUTSIDE).unwrap();
    assert!(close(
        orifice.diameter_for(flow, &fluid, t, p, OUTSIDE).unwrap(),
        1e-6,
        1e-9
    ));
    assert!(close(
        orifice
            .inlet_pressure_for(flow, &fluid, t, OUTSIDE)
            .unwrap(),
        p,
        1e-9
    ));
    let frit = FritRestrictor::of_capillaries(100e-6, 20e-3, 0.5e-6, 0.4, 2.0).unwrap();
    let flow = frit.mass_flow_rate(&fluid, t, p, OUTSIDE).unwrap();
    assert!(close(
        frit.length_for(flow, &fluid, t, p, OUTSIDE).unwrap(),
        20e-3,
        1e-9
    ));
    assert!(close(
        frit.diameter_for(flow, &fluid, t, p, OUTSIDE).unwrap(),
        100e-6,
        1e-9
    ));
    assert!(close(
        frit.inlet_pressure_for(flow, &fluid, t, OUTSIDE).unwrap(),
        p,
        1e-9
    ));
}

/// A cone of one bore is a tube; a slow cone is the closed form; the flow through a cone lies between those of its ends.
#[test]
fn cones_and_tubes_agree() {
    let tube = passage(
        &BoredRestrictor::tapered(10e-6, 10e-6, 0.2).unwrap(),
        100.0,
        200.0,
    );
    // CoolProp 8.0.0 and scipy 1.17.1.
    assert!(close(tube.mass_flow_rate, 11.570333 * MILLIGRAM, 1e-5));
    assert!(close(tube.exit.pressure, 6.519373e5, 1e-4));
    let cone = BoredRestrictor::tapered(30e-6, 8e-6, 0.1).unwrap();
    let flow = passage(&cone, 100.0, 200.0);
    let integral = 1.58454e14;
    let viscous = integral / cone.bore().viscous_resistance();
    assert!(close(flow.viscous_mass_flow_rate.unwrap(), viscous, 1e-5));
    assert!(flow.mass_flow_rate < viscous);
    assert_eq!(cone.kind(), "tapered_restrictor");
}

#[test]
fn a_hole_chokes_where_an_independent_computation_says() {
    // Mass flux in kg/(m2 s) and pressure ratio: CoolProp 8.0.0.
    for (degc, bar, flux, ratio) in [
        (100.0, 200.0, 74405.1, 0.49599),
        (60.0, 150.0, 78130.5, 0.509624),
    ] {
        let orifice = OrificeRestrictor::new(1e-6, 1.0).unwrap();
        let flow = passage(&orifice, degc, bar);
        assert!(close(flow.mass_flow_rate / orifice.area(), flux, 1e-3));
        assert!(close(flow.exit.pressure / (bar * 1e5), ratio, 2e-3));
        assert_ne!(flow.choking, Choking::None);
    }
    let orifice = OrificeRestrictor::new(1e-6, 1.0).unwrap();
    let bore = orifice
        .diameter_for(1.5 * MILLIGRAM, &co2(), 373.15, 200e5, OUTSIDE)
        .unwrap();
    assert!(close(bore, 0.654069e-6, 1e-3));
    // Above the pressure of the throat the pressure outside counts.
    let gentle = orifice.passage(&co2(), 373.15, 200e5, 190e5).unwrap();
    assert_eq!(gentle.choking, Choking::None);
    assert!(gentle.exit.mach_number < 0.6 && gentle.exit.pressure == 190e5);
    // A crimp gives back what it was measured with.
    let crimp =
        OrificeRestrictor::crimped(2.0 * MILLIGRAM, &co2(), 373.15, 200e5, OUTSIDE).unwrap();
    let back = crimp
        .mass_flow_rate(&co2(), 373.15, 200e5, OUTSIDE)
        .unwrap();
    assert!(close(back, 2.0 * MILLIGRAM, 1e-12) && crimp.kind() == "crimped_restrictor");
}

#[test]
fn a_frit_is_parallel_capillaries_with_slip() {
    let (fluid, t) = (co2(), 373.15);
    // Without slip, with the share and length of the pores: that of one capillary times their number.
    let pores = FritRestrictor::of_capillaries(100e-6, 20e-3, 0.5e-6, 0.4, 1.0).unwrap();
    let plain = FritRestrictor::new(100e-6, 20e-3, 0.4 * 0.25e-12 / 32.0, 0.0).unwrap();
    let number = 0.4 * (100e-6f64 / 0.5e-6).powi(2);
    let one = LinearRestrictor::new(0.5e-6, 20e-3).unwrap();
    let viscous = one
        .viscous_mass_flow_rate(&fluid, t, 200e5, OUTSIDE)
        .unwrap();
    let found = plain.mass_flow_rate(&fluid, t, 200e5, OUTSIDE).unwrap();
    assert!(close(found, number * viscous, 1e-9));
    // Slip adds little to a dense fluid and much to a thin one.
    let ratio = |p1: f64, p2: f64| {
        pores.mass_flow_rate(&fluid, t, p1, p2).unwrap()
            / plain.mass_flow_rate(&fluid, t, p1, p2).unwrap()
    };
    let (dense, thin) = (ratio(200e5, 190e5), ratio(2e5, 1e5));
    assert!(
        dense > 1.0 && dense < 1.01 && thin > 1.3 && thin < 3.0,
        "{dense} {thin}"
    );
    // A perfect gas at low pressure: 1 + b/p at the mean pressure, with b = 8 eta sqrt(pi R T/(2 M))/d_p.
    let eta = State::from_tp(&fluid, t, 1.5e5)
        .unwrap()
        .dynamic_viscosity()
        .unwrap();
    let b = 8.0 * eta * (0.5 * std::f64::consts::PI * fluid.specific_gas_constant() * t).sqrt()
        / 0.5e-6;
    assert!(close(thin, 1.0 + b / 1.5e5, 1e-3));
    // The fluid stays as long as in one of the capillaries, and in a dense fluid for volume over volume flow rate.
    let known = plain.with_porosity(0.4).unwrap();
    let time = |frit: &FritRestrictor, p1: f64, p2: f64| {
        frit.passage(&fluid, t, p1, p2).unwrap().hold_up_time
    };
    let alone = one.passage(&fluid, t, 200e5, OUTSIDE).unwrap();
    assert!(close(
        time(&known, 200e5, OUTSIDE),
        alone.hold_up_time,
        1e-4
    ));
    let flow = pores.mass_flow_rate(&fluid, t, 200e5, 199.9e5).unwrap();
    let density = State::from_tp(&fluid, t, 199.95e5).unwrap().density();
    let volume = 0.4 * 0.25 * std::f64::consts::PI * 100e-6 * 100e-6 * 20e-3;
    assert!(close(
        time(&pores, 200e5, 199.9e5),
        density * volume / flow,
        1e-5
    ));
    // Twice the flow by calibration is half the time.
    let measured = pores.with_calibration_factor(2.0).unwrap();
    assert!(close(
        time(&pores, 200e5, OUTSIDE) / time(&measured, 200e5, OUTSIDE),
        2.0,
        1e-12
    ));
    // Coarse pores are too fast for the law.
    let coarse = FritRestrictor::of_capillaries(100e-6, 1e-3, 20e-6, 0.4, 2.0).unwrap();
    assert_eq!(
        coarse
            .mass_flow_rate(&fluid, t, 200e5, OUTSIDE)
            .unwrap_err()
            .code(),
        102
    );
}

/// What is prepared of carbon dioxide, and the panels of its quadrature, against the equation itself by the trapezoid over many steps
/// of the density: the viscous integral from close to the critical temperature on.
#[test]
fn prepared_isotherms_have_the_integral_of_the_equation() {
    let fluid = co2();
    for (degc, bar) in [
        (31.5, 100.0),
        (33.0, 80.0),
        (40.0, 100.0),
        (60.0, 200.0),
        (150.0, 400.0),
    ] {
        let temperature = degc + 273.15;
        let found = bored::isotherm(&fluid, temperature, [bar * 1e5, OUTSIDE], 0.2).unwrap();
        let (low, high) = (found.outlet_density(), found.inlet_density());
        let steps = 20_000;
        let mut expected = 0.0;
        for step in 0..=steps {
            let density = low + (high - low) * f64::from(step) / f64::from(steps);
            let state = State::from_t_rho(&fluid, temperature, density.clamp(low, high)).unwrap();
            let end = if step == 0 || step == steps { 0.5 } else { 1.0 };
            expected +=
                end * density * state.dp_drho_t().unwrap() / state.dynamic_viscosity().unwrap();
        }
        expected *= (high - low) / f64::from(steps);
        assert!(
            close(found.viscous_integral(), expected, 2e-8),
            "{degc} {bar}: {} {expected}",
            found.viscous_integral()
        );
    }
}

/// What is not stated of a frit is not made up: no time without porosity, no Reynolds number of pores without pores.
#[test]
fn a_frit_tells_what_it_does_not_know() {
    let fluid = co2();
    let frit = FritRestrictor::new(100e-6, 20e-3, 1e-15, 0.0).unwrap();
    let flow = frit.passage(&fluid, 373.15, 200e5, OUTSIDE).unwrap();
    assert!(flow.hold_up_time.is_nan());
    assert!(flow.inlet.reynolds_number.is_nan() && flow.exit.reynolds_number.is_nan());
    let stream = stream_at(100.0, 200.0, flow.mass_flow_rate);
    let outlet = frit.pass(&stream, &SURROUNDINGS).unwrap();
    let unknown = |outlet: &Outlet| {
        let mut notices = outlet.notices.iter();
        notices.any(|notice| {
            notice.code == NoticeCode::Unknown && notice.quantity == Some(Quantity::HoldUpTime)
        })
    };
    assert!(outlet.hold_up_time.is_nan() && unknown(&outlet));
    let known = frit.with_porosity(0.4).unwrap();
    let outlet = known.pass(&stream, &SURROUNDINGS).unwrap();
    assert!(outlet.hold_up_time > 0.0 && !unknown(&outlet));
}

/// A plug with a small drop of pressure is a bed at one velocity: `2 K L/u^3`, with grains by Kozeny and Carman, `(1 - eps)
/// sqrt(180 B_0/eps^3)`. Where the gas thins out, the slow dense part counts most.
#[test]
fn a_frit_of_known_porosity_spreads_the_band_as_a_bed() {
    let (fluid, solute) = (co2(), naphthalene());
    let frit = FritRestrictor::new(100e-6, 20e-3, 1e-15, 0.0).unwrap();
    let bed = frit.with_porosity(0.4).unwrap();
    let share = |frit: &FritRestrictor, room_pressure: f64| {
        let flow = frit
            .mass_flow_rate(&fluid, 373.15, 200e5, room_pressure)
            .unwrap();
        let around = Surroundings {
            room_pressure,
            solute: Some(&solute),
            ..SURROUNDINGS
        };
        frit.pass(&stream_at(100.0, 200.0, flow), &around)
            .unwrap()
            .band
    };
    assert_eq!(share(&frit, 199e5), None);
    let slow = share(&bed, 199e5).unwrap();
    let grain = 0.6 * (180.0 * 1e-15 / f64::powi(0.4, 3)).sqrt();
    let state = State::from_tp(&fluid, 373.15, 200e5).unwrap();
    let (diffusion, u) = (
        solute.diffusion.diffusion_coefficient(&state).unwrap(),
        20e-3 / slow.time,
    );
    let mixed = 0.5 * u * grain / (1.0 + 9.7 * diffusion / (u * grain));
    let expected = 2.0 * (0.73 * diffusion + mixed) * 20e-3 / u.powi(3);
    assert!(
        close(slow.time_variance, expected, 0.01),
        "{slow:?} {expected}"
    );
    let within = |share: &BandShare| {
        let (low, high) = share.bracket.unwrap();
        assert!(low <= share.time_variance && share.time_variance <= high);
    };
    let fast = share(&bed, OUTSIDE).unwrap();
    within(&slow);
    within(&fast);
    // Nearly all in the part that is as dense as the inlet: more than that of the mean velocity.
    let u = 20e-3 / fast.time;
    assert!(fast.time_variance > 2.0 * 0.73 * diffusion * 20e-3 / u.powi(3));
    // Twice the measured flow halves the time, and diffusion then has an eighth of the variance.
    let doubled = bed.with_calibration_factor(2.0).unwrap();
    let doubled = share(&doubled, 199e5).unwrap();
    assert!(close(doubled.time, 0.5 * slow.time, 1e-9));
    assert!(doubled.time_variance < 0.25 * slow.time_variance);
    assert!(doubled.time_variance > 0.12 * slow.time_variance);
}

/// S. Ergun, Chem. Eng. Prog. 48, 89 (1952): `dp/dz = 150 (1 - eps)^2/eps^3 eta v/d^2 + 1.75 (1 - eps)/eps^3 rho v^2/d` of grains of a
/// diameter d (from memory). The inertia is 10 % of the friction where the frit without pores is refused.
#[test]
fn a_frit_without_pores_is_refused_where_inertia_counts() {
    let (fluid, t, eps, grain) = (co2(), 373.15, 0.4_f64, 5e-6);
    let permeability = grain * grain * eps.powi(3) / (150.0 * (1.0 - eps).powi(2));
    let frit = FritRestrictor::new(100e-6, 20e-3, permeability, 0.0).unwrap();
    let viscosity = State::from_tp(&fluid, t, 200e5)
        .unwrap()
        .dynamic_viscosity()
        .unwrap();
    let area = 0.25 * std::f64::consts::PI * 100e-6 * 100e-6;
    // Inertia over friction is 1.75/150 G d/(eta (1 - eps)).
    let with_inertia = |share: f64| {
        let flux = share * 150.0 / 1.75 * viscosity * (1.0 - eps) / grain;
        frit.length_for(flux * area, &fluid, t, 200e5, 199.99e5)
    };
    assert!(with_inertia(0.09).is_ok());
    let refused = with_inertia(0.115).unwrap_err();
    assert_eq!(refused.code(), 102);
    let text = refused.to_string();
    assert!(
        text.contains("permeability") && !text.contains("0.181818 1"),
        "{text}"
    );
}

/// A part alone passes what its pressures drive, whatever is said to come.
#[test]
fn a_flow_that_is_not_the_one_that_passes_is_told() {
    let fluid = co2();
    let told = |outlet: Outlet| {
        let mut notices = outlet.notices.into_iter();
        notices
            .find(|notice| notice.code == NoticeCode::Unsteady)
            .map(|notice| notice.text)
    };
    let linear = LinearRestrictor::new(10e-6, 0.2).unwrap();
    let frit = FritRestrictor::of_capillaries(100e-6, 20e-3, 0.5e-6, 0.4, 2.0).unwrap();
    let hole = OrificeRestrictor::new(1e-6, 0.8).unwrap();
    let of = |flow: Result<RestrictorFlow>| {
        let flow = flow.unwrap();
        (flow.mass_flow_rate, flow.uncertainty)
    };
    let room = SURROUNDINGS.room_pressure;
    let flows = [
        of(linear.passage(&fluid, 373.15, 200e5, room)),
        of(frit.passage(&fluid, 373.15, 200e5, room)),
        of(hole.passage(&fluid, 373.15, 200e5, room)),
    ];
    let elements: [&dyn Element; 3] = [&linear, &frit, &hole];
    for (element, (passes, uncertainty)) in elements.into_iter().zip(flows) {
        let of = |factor: f64| {
            told(
                element
                    .pass(&stream_at(100.0, 200.0, factor * passes), &SURROUNDINGS)
                    .unwrap(),
            )
        };
        let bound = uncertainty.max(0.01);
        assert_eq!(of(1.0), None);
        assert_eq!((of(1.0 + 0.9 * bound), of(1.0 - 0.9 * bound)), (None, None));
        let more = of(1.0 + 1.1 * bound).unwrap();
        let milligrams = |flow: f64| fluid::error::significant(flow / MILLIGRAM);
        assert!(
            more.contains(&milligrams(passes)) && more.contains("rises"),
            "{more}"
        );
        assert!(
            more.contains(&milligrams((1.0 + 1.1 * bound) * passes)),
            "{more}"
        );
        assert!(of(0.5).is_some_and(|text| text.contains("falls")));
    }
}

/// 10 um x 2.061 m at 100 degC drives a column of 50 um with 1.72598 cm/s at 150 bar by the viscous integral (CoolProp 8.0.0, scipy
/// 1.17.1); the full balance asks a little more pressure.
#[test]
fn the_pressure_for_a_velocity_is_found() {
    let (fluid, restrictor) = (co2(), LinearRestrictor::new(10e-6, 2.061).unwrap());
    let area = 0.25 * std::f64::consts::PI * 50e-6 * 50e-6;
    let wanted = 1.72598e-2 * area;
    let found = restrictor
        .inlet_pressure_for_volume_flow(wanted, &fluid, 373.15, OUTSIDE)
        .unwrap();
    assert!(close(found, 150e5, 2e-3), "{found}");
    let flow = restrictor
        .mass_flow_rate(&fluid, 373.15, found, OUTSIDE)
        .unwrap();
    let density = fluid::State::from_tp(&fluid, 373.15, found)
        .unwrap()
        .density();
    assert!(close(flow / density, wanted, 1e-9));
    let fast = restrictor.inlet_pressure_for_volume_flow(1.0, &fluid, 373.15, OUTSIDE);
    assert_eq!(fast.unwrap_err().code(), 402);
}

/// 10 um x 2.061 m at 100 degC drives a column of 50 um: velocity in cm/s by the viscous integral (CoolProp 8.0.0, scipy 1.17.1);
/// the full law takes away less than 1 % of it.
#[test]
fn flows_drift_and_answer_to_the_bore() {
    let fluid = co2();
    let restrictor = LinearRestrictor::new(10e-6, 2.061).unwrap();
    let program = [(373.15, 150e5), (373.15, 300e5), (373.15, 400e5)];
    let drift = restrictor.drift(&fluid, &program, OUTSIDE).unwrap();
    let area = crate::flow::circular_area(50e-6).unwrap();
    for (point, expected) in drift.iter().zip([1.72598, 2.61883, 3.23223]) {
        let velocity = 100.0 * point.volume_flow_rate / area;
        assert!(
            velocity < expected && velocity > 0.99 * expected,
            "{velocity}"
        );
    }
    // 5 % more bore: 21.55 % more flow where it is slow, less where it is fast.
    let slow = restrictor
        .bore_sensitivity(0.05, &fluid, 373.15, 200e5, OUTSIDE)
        .unwrap();
    let flow = restrictor
        .mass_flow_rate(&fluid, 373.15, 200e5, OUTSIDE)
        .unwrap();
    assert!(
        close(slow.highest / flow, 1.05f64.powi(4), 2e-3) && (slow.exponent - 4.0).abs() < 0.01
    );
    let wide = LinearRestrictor::new(50e-6, 0.3).unwrap();
    let fast = wide
        .bore_sensitivity(0.05, &fluid, 333.15, 150e5, OUTSIDE)
        .unwrap();
    assert!(
        fast.exponent < 2.8 && fast.exponent > 2.2,
        "{}",
        fast.exponent
    );
    let hole = OrificeRestrictor::new(1e-6, 0.8).unwrap();
    let hole = hole
        .bore_sensitivity(0.05, &fluid, 373.15, 200e5, OUTSIDE)
        .unwrap();
    assert!(close(hole.exponent, 2.0, 1e-6));
    // Of a frit the pores scale, with whose square the permeability goes; the plug stays.
    let frit = FritRestrictor::new(100e-6, 20e-3, 1e-15, 0.0).unwrap();
    let wider = FritRestrictor::new(100e-6, 20e-3, 4e-15, 0.0).unwrap();
    assert_eq!(frit.with_bores_times(2.0).unwrap(), wider);
    // One measured flow calibrates.
    let measured = restrictor
        .clone()
        .calibrated(1.2 * flow, &fluid, 373.15, 200e5, OUTSIDE)
        .unwrap();
    assert!(close(measured.calibration_factor(), 1.2, 1e-12));
}

#[test]
fn the_bracket_of_the_regimes_holds_the_flow() {
    let flow = passage(&LinearRestrictor::new(10e-6, 0.2).unwrap(), 100.0, 400.0);
    let (low, high) = flow.bracket.unwrap();
    assert!(close(low, flow.mass_flow_rate, 1e-12) && high > 1.005 * low && high < 1.1 * low);
    assert!(
        passage(&LinearRestrictor::new(10e-6, 0.2).unwrap(), 100.0, 100.0)
            .bracket
            .is_none()
    );
}

#[test]
fn two_phases_of_mixtures_and_boiling_at_a_held_temperature_are_refused_by_name() {
    let fluid = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)]).unwrap();
    let cold = heated(RestrictorHeating::Adiabatic);
    let error = cold
        .mass_flow_rate(&fluid, 313.15, 150e5, OUTSIDE)
        .unwrap_err();
    assert_eq!(error.code(), 502, "{error}");
    let wall = heated(RestrictorHeating::Wall(
        Profile::new(vec![(0.0, 293.15), (0.2, 294.0)]).unwrap(),
    ));
    let error = wall
        .mass_flow_rate(&co2(), 293.15, 150e5, OUTSIDE)
        .unwrap_err();
    assert_eq!(error.code(), 502, "{error}");
}

#[test]
fn as_a_part_it_tells_what_boils_and_what_plugs() {
    // Long and narrow, the fluid comes to its triple point at the very outlet, which holds the flow whatever rounding does.
    let long = heated(RestrictorHeating::Adiabatic);
    let flows = (0..12).map(|step| {
        let pressure = 150e5 * (1.0 + 1e-4 * f64::from(step));
        let found = long.passage(&co2(), 333.15, pressure, OUTSIDE).unwrap();
        assert_eq!(found.choking, Choking::TwoPhase);
        found.mass_flow_rate
    });
    let flows: Vec<f64> = flows.collect();
    assert!(flows.windows(2).all(|two| two[0] < two[1]), "{flows:?}");
    let cold = LinearRestrictor::new(50e-6, 0.05)
        .and_then(|short| short.with_heating(RestrictorHeating::Adiabatic))
        .unwrap();
    let flow = passage(&cold, 60.0, 150.0);
    let outlet = cold
        .pass(&stream_at(60.0, 150.0, flow.mass_flow_rate), &SURROUNDINGS)
        .unwrap();
    let codes: Vec<_> = outlet.notices.iter().map(|notice| notice.code).collect();
    for code in [
        NoticeCode::Choked,
        NoticeCode::TwoPhases,
        NoticeCode::SolidForms,
    ] {
        assert!(codes.contains(&code), "{code:?} {codes:?}");
    }
    assert!(outlet.heat_flow_rate.abs() < 1e-6 * flow.mass_flow_rate * 1e5);
    assert!(close(
        fact(&outlet, "mass flow rate it passes"),
        flow.mass_flow_rate,
        1e-9
    ));
    // At rest the fluid has what it brought, with the kinetic energy at the inlet of the bore.
    let inlet = State::from_tp(&co2(), 333.15, 150e5).unwrap();
    let brought = inlet.specific_enthalpy() + 0.5 * flow.inlet.velocity.powi(2);
    let frozen = State::from_ph(&co2(), SURROUNDINGS.room_pressure, brought).unwrap();
    assert!(close(
        outlet.stream.state.solid_fraction(),
        frozen.solid_fraction(),
        1e-6
    ));
    let plugged = tip_notices(263.15, Some(("naphthalene", 353.4)));
    assert_eq!(plugged.len(), 2);
    assert!(
        plugged
            .iter()
            .all(|notice| notice.code == NoticeCode::Plugging)
    );
    assert!(tip_notices(373.15, Some(("naphthalene", 353.4))).is_empty());
}

#[test]
fn impossible_restrictors_are_errors() {
    assert_eq!(OrificeRestrictor::new(0.0, 0.8).unwrap_err().code(), 101);
    assert_eq!(OrificeRestrictor::new(1e-6, 1.2).unwrap_err().code(), 102);
    assert_eq!(
        FritRestrictor::of_capillaries(1e-4, 1e-3, 1e-6, 1.5, 2.0)
            .unwrap_err()
            .code(),
        102
    );
    assert_eq!(
        BoredRestrictor::tapered(1e-5, 1e-3, 1e-3)
            .unwrap_err()
            .code(),
        102
    );
    let linear = LinearRestrictor::new(1e-5, 0.2).unwrap();
    let code = |result: Result<f64>| result.unwrap_err().code();
    assert_eq!(
        code(linear.inlet_pressure_for(1.0, &co2(), 373.15, OUTSIDE)),
        402
    );
    assert_eq!(
        code(linear.inlet_pressure_for(-1.0, &co2(), 373.15, OUTSIDE)),
        101
    );
    let outer = Jacket::new(5e-6, 1.4, 10.0, Profile::constant(373.15).unwrap()).unwrap();
    assert_eq!(
        code(heated(RestrictorHeating::Jacket(outer)).mass_flow_rate(
            &co2(),
            373.15,
            200e5,
            OUTSIDE
        )),
        101
    );
}

/// The throat is found by the speed of sound; the mass fluxes of a sampled expansion, none of which is larger, are another way to it, also
/// through states of three phases of two substances, which have a speed of sound too.
#[test]
fn no_flux_of_a_sampled_expansion_is_larger_than_that_of_the_throat() {
    let mixture = |other, x| Fluid::mixture(&[("carbon dioxide", 1.0 - x), (other, x)]).unwrap();
    for (fluid, temperature, pressure, phases) in [
        (co2(), 373.15, 200e5, 1),
        (co2(), 298.15, 150e5, 2),
        // Two humps: the one of two phases is the greater, then the one at their border.
        (co2(), 317.9, 96.327e5, 2),
        (co2(), 317.9, 97.5e5, 2),
        (mixture("methanol", 0.1), 330.0, 150e5, 2),
        (mixture("water", 0.1), 300.0, 80e5, 3),
    ] {
        let inlet = State::from_tp(&fluid, temperature, pressure).unwrap();
        let found = throat(&inlet, 0.3 * pressure).unwrap();
        let choking = found.state.pressure();
        assert!(found.is_choked && choking > 0.3 * pressure);
        let whole = (1..10).map(|step| pressure * (1.0 - 0.07 * f64::from(step)));
        let near = (-4..=4).map(|step| choking * (1.0 + 0.01 * f64::from(step)));
        let mut most_phases = 0;
        for place in whole.chain(near) {
            // Below the triple point of water nothing is known of the wet fluid.
            let Ok(state) = State::from_ps(&fluid, place, inlet.specific_entropy()) else {
                continue;
            };
            most_phases = most_phases.max(state.fluid_phases().len());
            let drop = inlet.specific_enthalpy() - state.specific_enthalpy();
            let flux = state.density() * (2.0 * drop.max(0.0)).sqrt();
            let told = format!("{} at {place}: {flux} {}", fluid.name(), found.mass_flux);
            assert!(flux <= found.mass_flux * (1.0 + 1e-7), "{told}");
        }
        assert_eq!(most_phases, phases, "{}", fluid.name());
    }
}

/// From a pinhole to a wide tube: continued beyond its outlet, a flow through it met no end, and the search for one had none either.
#[test]
fn a_bore_that_widens_a_thousandfold_has_an_end() {
    let (narrow, wide) = (2.9247565615913347e-6, 0.0092780738019025838);
    let cone = BoredRestrictor::tapered(narrow, wide, 9.153601504957642).unwrap();
    let flow = cone.mass_flow_rate(
        &co2(),
        259.65457792548278,
        322685.85051276989,
        24219.980200976366,
    );
    let hole = OrificeRestrictor::new(narrow, 1.0).unwrap();
    let free = hole.mass_flow_rate(
        &co2(),
        259.65457792548278,
        322685.85051276989,
        24219.980200976366,
    );
    // Friction lets less through than a hole without it.
    let (flow, free) = (flow.unwrap(), free.unwrap());
    assert!(flow > 0.0 && flow < free, "{flow} {free}");
}

/// Sound all but stands still at the critical point; flow in equilibrium passes it none the less, and more with more pressure.
#[test]
fn flow_rises_with_pressure_past_the_critical_point() {
    let hole = OrificeRestrictor::new(0.5e-6, 0.8).unwrap();
    let cone = BoredRestrictor::tapered(38.8e-6, 31.5e-6, 0.495).unwrap();
    let cone = cone.with_heating(RestrictorHeating::Adiabatic).unwrap();
    let flows = |part: &dyn Fn(f64) -> f64, pressures: [f64; 2], steps: u32| {
        let [low, high] = pressures;
        let at = |step| part(low + (high - low) * f64::from(step) / f64::from(steps));
        (0..=steps).map(at).collect::<Vec<_>>()
    };
    let of_hole = |inlet: f64| hole.mass_flow_rate(&co2(), 317.9, inlet, OUTSIDE).unwrap();
    let found = flows(&of_hole, [95e5, 98e5], 60);
    assert!(found.windows(2).all(|two| two[1] > two[0] * (1.0 + 5e-4)));
    let of_cone = |inlet: f64| cone.mass_flow_rate(&co2(), 344.4, inlet, OUTSIDE).unwrap();
    let found = flows(&of_cone, [29.87e6, 30.07e6], 20);
    let rises: Vec<_> = found.windows(2).map(|two| two[1] - two[0]).collect();
    // Past that point as before it.
    assert!(
        rises.windows(2).all(|two| close(two[1], two[0], 1e-3)),
        "{rises:?}"
    );
}

/// Liquid and vapour that come to their triple point choke there, however near to the end of the bore they would: in equilibrium of three
/// phases sound stands still. The exit has its pressure, and the pressure outside no influence.
#[test]
fn a_flow_chokes_where_it_freezes() {
    let cone = BoredRestrictor::tapered(16.4e-6, 30.5e-6, 0.273).unwrap();
    let cone = cone.with_heating(RestrictorHeating::Adiabatic).unwrap();
    let triple = co2()
        .saturation_at_temperature(co2().triple_temperature().unwrap())
        .unwrap();
    let mut last = 0.0;
    for factor in [0.82, 0.96, 0.98, 1.0, 1.13, 1.25] {
        let scaled = cone.with_bores_times(factor).unwrap();
        let of = |outside: f64| scaled.passage(&co2(), 328.0, 15.37e6, outside).unwrap();
        let (found, lower) = (of(OUTSIDE), of(0.5 * OUTSIDE));
        assert_eq!(found.choking, Choking::TwoPhase);
        assert!(
            close(found.exit.pressure, triple.pressure, 1e-6),
            "{factor}"
        );
        assert!(close(lower.mass_flow_rate, found.mass_flow_rate, 1e-9));
        assert!(found.mass_flow_rate > last);
        last = found.mass_flow_rate;
    }
    // One that widens regains pressure behind the place where it would freeze.
    let wide = BoredRestrictor::tapered(17.4998e-6, 36.4388e-6, 0.485477).unwrap();
    let wide = wide.with_heating(RestrictorHeating::Adiabatic).unwrap();
    let of = |outside: f64| wide.passage(&co2(), 315.881, 27.5096e6, outside).unwrap();
    let (found, lower) = (of(OUTSIDE), of(0.9 * OUTSIDE));
    assert!(found.exit.pressure > triple.pressure && found.choking != Choking::None);
    assert!(close(lower.mass_flow_rate, found.mass_flow_rate, 1e-8));
}

/// The inlet of a wide tube 3 K above the critical temperature is far from its flux of sound, beside which every length is short.
#[test]
fn a_wide_tube_near_the_critical_temperature_is_long() {
    let (temperature, inlet) = (307.223, 85.608e5);
    let tube = LinearRestrictor::new(95.141e-6, 0.189497).unwrap();
    let flow = tube
        .mass_flow_rate(&co2(), temperature, inlet, OUTSIDE)
        .unwrap();
    assert!(flow < 5e-5, "{flow}");
    let length = tube
        .length_for(flow, &co2(), temperature, inlet, OUTSIDE)
        .unwrap();
    assert!(close(length, tube.length(), 1e-10), "{length}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// A hole and a frit pass more with more pressure before them, are found back from their flow, and what chokes does not feel the
    /// pressure outside.
    #[test]
    fn laws_of_holes_and_frits(
        temperature in 315.0..420.0f64,
        pressure in 90e5..300e5f64,
        more in 1.02..1.5f64,
        size in 0.5..3.0f64,
    ) {
        let fluid = co2();
        let hole = OrificeRestrictor::new(1e-6 * size, 0.8).unwrap();
        let frit = FritRestrictor::of_capillaries(100e-6, 20e-3, 0.1e-6 * size, 0.4, 2.0).unwrap();
        let of_hole = |inlet: f64, outlet: f64| hole.mass_flow_rate(&fluid, temperature, inlet, outlet).unwrap();
        let of_frit = |inlet: f64, outlet: f64| frit.mass_flow_rate(&fluid, temperature, inlet, outlet).unwrap();
        prop_assert!(of_hole(more * pressure, OUTSIDE) > of_hole(pressure, OUTSIDE));
        prop_assert!(of_frit(more * pressure, OUTSIDE) > of_frit(pressure, OUTSIDE));
        prop_assert!(close(of_hole(pressure, 5e4), of_hole(pressure, OUTSIDE), 1e-12));
        for outlet in [0.95 * pressure, 0.9 * pressure] {
            prop_assert!(of_hole(pressure, outlet) < of_hole(pressure, OUTSIDE) * (1.0 + 1e-9));
        }
        let back = hole.inlet_pressure_for(of_hole(pressure, OUTSIDE), &fluid, temperature, OUTSIDE).unwrap();
        prop_assert!(close(back, pressure, 1e-9), "{back}");
        let back = frit.inlet_pressure_for(of_frit(pressure, OUTSIDE), &fluid, temperature, OUTSIDE).unwrap();
        prop_assert!(close(back, pressure, 1e-9), "{back}");
        let bore = hole.diameter_for(of_hole(pressure, OUTSIDE), &fluid, temperature, pressure, OUTSIDE).unwrap();
        prop_assert!(close(bore, 1e-6 * size, 1e-9), "{bore}");
        let length = frit.length_for(of_frit(pressure, OUTSIDE), &fluid, temperature, pressure, OUTSIDE).unwrap();
        prop_assert!(close(length, 20e-3, 1e-9), "{length}");
    }

    /// So do tubes at one temperature, from a hundredth of a kelvin above the critical temperature on, laminar and turbulent.
    #[test]
    fn laws_of_tubes(
        above in -2.0..2.2f64, pressure in 80e5..400e5f64, more in 1.02..1.5f64, bore in 3e-6..150e-6f64, length in 0.05..2.0f64,
        share in 0.0..0.95f64,
    ) {
        let fluid = co2();
        let temperature = fluid.critical_point().unwrap().temperature + 10f64.powf(above);
        let tube = LinearRestrictor::new(bore, length).unwrap();
        let outlet = OUTSIDE + share * share * (pressure - OUTSIDE);
        let of = |inlet: f64, outlet: f64| tube.flow(&fluid, temperature, inlet, outlet);
        // Near the critical temperature wide bores choke on the way, for which no law is here.
        let (Ok(found), Ok(higher)) = (of(pressure, outlet), of(more * pressure, outlet)) else {
            return Ok(());
        };
        let flow = found.mass_flow_rate;
        prop_assert!(higher.mass_flow_rate > flow);
        if found.is_choked {
            // Where more might pass again at a lower pressure, choking is on the way.
            match of(pressure, 0.9 * outlet) {
                Ok(lower) => prop_assert!(close(lower.mass_flow_rate, flow, 1e-9)),
                Err(error) => prop_assert!(matches!(error, Error::Choked { .. }), "{error}"),
            }
        } else {
            prop_assert!(of(pressure, 0.9 * outlet).map_or(true, |lower| lower.mass_flow_rate >= flow));
        }
        let back = tube.length_for(flow, &fluid, temperature, pressure, outlet).unwrap();
        prop_assert!(close(back, length, 1e-9), "{back}");
        let back = tube.diameter_for(flow, &fluid, temperature, pressure, outlet).unwrap();
        prop_assert!(close(back, bore, 1e-9), "{back}");
        let back = tube.inlet_pressure_for(flow, &fluid, temperature, outlet).unwrap();
        prop_assert!(close(back, pressure, 1e-9), "{back}");
    }

    /// And cones, with and without heat: friction makes entropy on the way, through boiling too.
    #[test]
    fn laws_of_cones(
        temperature in 310.0..420.0f64, pressure in 90e5..300e5f64, more in 1.05..1.5f64, bore in 6e-6..40e-6f64, cone in 0.4..2.5f64,
        length in 0.05..0.5f64, adiabatic in any::<bool>(),
    ) {
        let fluid = co2();
        let part = BoredRestrictor::tapered(bore, bore * cone, length).unwrap();
        let part = if adiabatic { part.with_heating(RestrictorHeating::Adiabatic).unwrap() } else { part };
        let Ok(found) = part.passage(&fluid, temperature, pressure, OUTSIDE) else {
            // Dry ice, or choking inside.
            return Ok(());
        };
        let flow = found.mass_flow_rate;
        if let Ok(higher) = part.mass_flow_rate(&fluid, temperature, more * pressure, OUTSIDE) {
            prop_assert!(higher > flow);
        }
        if found.choking == Choking::None {
            // Near the speed of sound the pressure at the exit goes with the square root of the flow.
            prop_assert!(close(found.exit.pressure, OUTSIDE, 1e-3), "{}", found.exit.pressure);
        } else {
            let lower = part.mass_flow_rate(&fluid, temperature, pressure, 0.9 * OUTSIDE).unwrap();
            prop_assert!(close(lower, flow, 1e-8));
        }
        let lengths = part.length_factor_for(flow, &fluid, temperature, pressure, OUTSIDE).unwrap();
        prop_assert!(close(lengths, 1.0, 1e-9), "{lengths}");
        let wider = part.with_bores_times(1.2).unwrap();
        let bores = wider.bore_factor_for(flow, &fluid, temperature, pressure, OUTSIDE).unwrap();
        prop_assert!(close(1.2 * bores, 1.0, 1e-9), "{bores}");
        if adiabatic {
            let entropy = |point: &crate::hardware::ProfilePoint| {
                State::from_t_rho(&fluid, point.temperature, point.density).unwrap().specific_entropy()
            };
            for pair in found.profile.windows(2) {
                prop_assert!(entropy(&pair[1]) >= entropy(&pair[0]) - 1e-4);
            }
        }
    }
}

proptest! {
    // A search for a pressure takes some twenty marches.
    #![proptest_config(ProptestConfig::with_cases(4))]

    /// Cones are found back by their pressure too, where a little more or less of it makes dry ice as well.
    #[test]
    fn pressures_of_cones_are_found_back(
        temperature in 310.0..420.0f64, pressure in 90e5..300e5f64, bore in 6e-6..40e-6f64, cone in 0.4..2.5f64, length in 0.05..0.5f64,
        adiabatic in any::<bool>(),
    ) {
        let fluid = co2();
        let part = BoredRestrictor::tapered(bore, bore * cone, length).unwrap();
        let part = if adiabatic { part.with_heating(RestrictorHeating::Adiabatic).unwrap() } else { part };
        let Ok(flow) = part.mass_flow_rate(&fluid, temperature, pressure, OUTSIDE) else {
            return Ok(());
        };
        let back = part.inlet_pressure_for(flow, &fluid, temperature, OUTSIDE).unwrap();
        prop_assert!(close(back, pressure, 1e-9), "{back}");
    }
}
