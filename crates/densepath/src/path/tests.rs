//! Both instruments solved end to end, against an independent computation.

use fluid::transport::diffusion::{Diffusing, DiffusionModel};
use fluid::units::{
    BAR, GRAM_PER_MINUTE, MILLIGRAM_PER_MINUTE, MILLILITRE_PER_MINUTE, from_celsius,
};
use fluid::{Fluid, Quantity};

use super::*;
use crate::flow::plate_height::PackedPlateHeight;
use crate::flow::retention::Span;
use crate::fluid;
use crate::hardware::*;

pub(super) fn close(ours: f64, expected: f64, relative: f64) {
    assert!(
        (ours / expected - 1.0).abs() < relative,
        "{ours} against {expected}"
    );
}

pub(super) const DENSITIES: Span = Span {
    min: 300.0,
    max: 1000.0,
};

fn cylinder() -> Named<Cylinder> {
    Named::new(
        "cylinder",
        Cylinder::new(0.04, 30.0, Withdrawal::Liquid).unwrap(),
    )
}

fn source(pump: Pump) -> Source {
    Source {
        cylinder: cylinder(),
        cylinder_temperature: from_celsius(20.0),
        suction_line: Named::new("suction line", SuctionLine::new(0.0).unwrap()),
        pump: Named::new("pump", pump),
    }
}

pub(super) fn naphthalene(retention: Retention) -> Solute {
    Solute {
        name: "naphthalene".to_owned(),
        retention,
        diffusion: Diffusion::Estimated {
            model: DiffusionModel::WilkeChang,
            solute: Diffusing {
                molar_volume: 147.6e-6,
                molar_mass: None,
            },
            factor: 1.0,
        },
        melting_temperature: None,
        in_gas: None,
    }
}

pub(super) fn line(name: &str, diameter: f64, length: f64, thermal: Thermal) -> Part {
    Part::new(
        name,
        Tube::new(diameter, length, 1e-6)
            .and_then(|tube| tube.with_thermal(thermal))
            .unwrap(),
    )
}

/// 250 mm x 4.6 mm, 5 um, 3 mL/min counted at the head (5 degC) and the delivery pressure, 150 bar held.
pub(super) fn packed(counted_at: CountedAt) -> Path {
    let room = Thermal::Isothermal {
        temperature: from_celsius(22.0),
    };
    let oven = Thermal::Isothermal {
        temperature: from_celsius(40.0),
    };
    let flow = SetFlow::Volume(3.0 * MILLILITRE_PER_MINUTE, counted_at);
    let pump = ReciprocatingPump::new(from_celsius(5.0), flow).unwrap();
    let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)
        .and_then(|column| {
            column.with_plate_height(PackedPlateHeight::Knox {
                eddy: 1.0,
                longitudinal: 2.0,
                transfer: 0.06,
            })
        })
        .unwrap();
    let cell = DetectorCell::new(8e-9)
        .and_then(|cell| cell.with_time_constant(0.1))
        .unwrap();
    let regulator = BackPressureRegulator::new(150.0 * BAR)
        .and_then(|regulator| regulator.with_outlet_temperature(from_celsius(10.0)))
        .unwrap();
    Path {
        title: "packed".to_owned(),
        fluid: Fluid::new("carbon dioxide").unwrap(),
        source: source(Pump::Reciprocating(pump)),
        parts: vec![
            Part::new("mixer", Mixer::new(200e-9, 2.0 * BAR, room).unwrap()),
            Part::new("loop", SampleLoop::new(10e-9, 30e-9).unwrap()),
            line("injector line", 0.17e-3, 0.3, room),
            line("preheater", 0.17e-3, 1.0, oven),
            Part::new("column", column),
            line("line to the cell", 0.17e-3, 0.5, Thermal::Adiabatic),
            Part::new("cell", cell),
            line("line to the regulator", 0.25e-3, 0.3, Thermal::Adiabatic),
            Part::new("regulator", regulator),
        ],
        solutes: vec![naphthalene(
            Retention::log_linear_in_density(6.0, 7e-3, DENSITIES).unwrap(),
        )],
        room: Room::default(),
        watch: Watch::default(),
    }
}

/// 10 m x 50 um at 100 degC behind a syringe pump at 200 bar, a linear restrictor of 7 um x 49.5 cm.
fn capillary() -> Path {
    let oven = Thermal::Isothermal {
        temperature: from_celsius(100.0),
    };
    let pump = SyringePump::new(250e-6, from_celsius(5.0), 200.0 * BAR).unwrap();
    let column = OpenTubularColumn::new(50e-6, 10.0, 0.25e-6, 1e-10)
        .and_then(|column| column.with_thermal(oven))
        .unwrap();
    let restrictor = LinearRestrictor::new(7e-6, 0.495)
        .and_then(|restrictor| restrictor.with_temperature(from_celsius(100.0)))
        .unwrap();
    Path {
        title: "capillary".to_owned(),
        fluid: Fluid::new("carbon dioxide").unwrap(),
        source: source(Pump::Syringe(pump)),
        parts: vec![
            Part::new("loop", SampleLoop::new(60e-12, 200e-12).unwrap()),
            Part::new("column", column),
            Part::new("restrictor", restrictor),
            Part::new("detector", GasDetector::new().with_flame()),
        ],
        solutes: vec![naphthalene(Retention::Constant {
            retention_factor: 3.0,
        })],
        room: Room::default(),
        watch: Watch::default(),
    }
}

/// Pump pressure in bar, mass flow rate in g/min, losses in bar, outlet temperature in degC, times in s, plates, variances in
/// s2, duty in W: independent computation with CoolProp 8.0.0, scipy 1.17.1 and fluids 1.3.1. It held the lines at one
/// temperature each, counted the time constant of the detector as 0.01 s2, and froze 571.1 kJ/kg.
#[test]
fn the_packed_instrument_agrees_with_an_independent_computation() {
    let solution = packed(CountedAt::Delivery).solve().unwrap();
    close(solution.delivery_pressure / BAR, 193.643, 5e-4);
    close(solution.mass_flow_rate / GRAM_PER_MINUTE, 2.99381, 5e-5);
    let drop = |part: &str| solution.fact(part, "pressure drop").unwrap() / BAR;
    close(drop("injector line") + drop("preheater"), 9.66968, 3e-3);
    close(drop("column"), 27.77, 5e-4);
    close(drop("line to the cell"), 3.85, 5e-3);
    close(
        solution.columns[0].outlet.temperature(),
        from_celsius(38.0336),
        1e-5,
    );
    let bands = solution.bands.as_ref().unwrap();
    close(bands.retention_time, 112.56, 5e-4);
    close(bands.column_plate_number, 21699.3, 5e-4);
    close(bands.apparent_plate_number, 21183.0, 5e-4);
    let variance = |part: &str| {
        bands
            .rows
            .iter()
            .find(|row| row.part == part)
            .unwrap()
            .time_variance
    };
    close(variance("column"), 0.583885, 5e-4);
    close(variance("loop"), 0.00285072, 2e-3);
    close(variance("cell"), 0.00135329 + 0.01, 2e-3);
    let regulator = solution
        .duties
        .iter()
        .find(|duty| duty.part == "regulator")
        .unwrap();
    close(regulator.heat_flow_rate, 10.6233, 5e-3);
}

/// Mass flow rate in mg/min, pressure drop in bar, velocity at the column inlet in m/s, plates, gas in mL/min: independent
/// computation with CoolProp 8.0.0 and scipy 1.17.1, which took the velocity of the inlet for the whole column; the march
/// knows that it rises by 0.4 %.
#[test]
fn the_capillary_instrument_agrees_with_an_independent_computation() {
    let solution = capillary().solve().unwrap();
    close(
        solution.mass_flow_rate / MILLIGRAM_PER_MINUTE,
        1.12312,
        1e-3,
    );
    close(
        solution.fact("column", "pressure drop").unwrap() / BAR,
        0.932229,
        1e-3,
    );
    close(solution.columns[0].profile[0].velocity, 1.98392e-2, 1e-3);
    let bands = solution.bands.as_ref().unwrap();
    close(bands.retention_time, 2016.21, 2.5e-3);
    close(bands.column_plate_number, 63726.0, 1e-3);
    let gas = solution.consumption.gas_volume_flow_rate / MILLILITRE_PER_MINUTE;
    close(gas, 0.610606, 1e-3);
}

#[test]
fn energy_and_mass_balance_over_the_whole_path() {
    let corrected = |path: Path| Path {
        fluid: path
            .fluid
            .with_density_factor(1.02, from_celsius(40.0), 150.0 * BAR)
            .unwrap(),
        ..path
    };
    let paths = [packed(CountedAt::Delivery), capillary()];
    for path in paths.clone().into_iter().chain(paths.map(corrected)) {
        let solution = path.solve().unwrap();
        // The kinetic energy that the joints drop, some J/kg of 200 kJ/kg, is the whole difference.
        let first = solution.stations[2].state.specific_enthalpy();
        let last = solution.outlet().unwrap().state.specific_enthalpy();
        let heat: f64 = solution
            .passes
            .iter()
            .map(|pass| pass.outlet.heat_flow_rate)
            .sum();
        let gained = solution.mass_flow_rate * (last - first);
        assert!(
            (gained - heat).abs() < 1e-4 * heat.abs(),
            "{gained} W against {heat} W"
        );
        assert!(
            solution
                .stations
                .iter()
                .all(|station| station.mass_flow_rate == solution.mass_flow_rate)
        );
    }
}

#[test]
fn a_flow_counted_elsewhere_is_another_mass_flow() {
    let flow = |counted_at| packed(counted_at).solve().unwrap().mass_flow_rate / GRAM_PER_MINUTE;
    // 2.74392 g/min at the suction state: independent computation with CoolProp 8.0.0.
    close(flow(CountedAt::Suction), 2.74392, 1e-5);
    let oven = packed(CountedAt::Oven).solve().unwrap();
    let inlet = &oven.columns[0].inlet;
    close(
        oven.mass_flow_rate,
        3.0 * MILLILITRE_PER_MINUTE * inlet.density(),
        1e-10,
    );
}

#[test]
fn a_longer_or_narrower_restrictor_passes_less() {
    let flow = |diameter: f64, length: f64| {
        let mut path = capillary();
        let restrictor = LinearRestrictor::new(diameter, length)
            .and_then(|restrictor| restrictor.with_temperature(from_celsius(100.0)))
            .unwrap();
        path.parts[2] = Part::new("restrictor", restrictor);
        path.solve().unwrap().mass_flow_rate
    };
    let reference = flow(7e-6, 0.495);
    assert!(flow(7e-6, 0.99) < 0.51 * reference && flow(3.5e-6, 0.495) < 0.07 * reference);
}

#[test]
fn what_cannot_be_is_refused_by_name() {
    // A regulator at 60 bar with a warm cell: the fluid is no longer one dense phase before it.
    let mut path = packed(CountedAt::Delivery);
    path.parts.truncate(8);
    assert_eq!(path.solve().unwrap_err().code(), 606);
    // A pump that cannot reach the pressure.
    let mut path = packed(CountedAt::Delivery);
    let flow = SetFlow::Volume(3.0 * MILLILITRE_PER_MINUTE, CountedAt::Delivery);
    let weak = ReciprocatingPump::new(from_celsius(5.0), flow)
        .and_then(|pump| pump.with_pressure_limit(180.0 * BAR));
    path.source.pump.part = Pump::Reciprocating(weak.unwrap());
    assert_eq!(path.solve().unwrap_err().code(), 402);
    // A warm pump head: the feed boils.
    let mut path = packed(CountedAt::Delivery);
    path.source.pump.part =
        Pump::Reciprocating(ReciprocatingPump::new(from_celsius(25.0), flow).unwrap());
    let error = path.solve().unwrap_err();
    assert_eq!((error.root().code(), error.element()), (504, Some("pump")));
}

/// The packed instrument with acetone from a second pump, a volume in mL/min counted at the pressure of the stream.
pub(super) fn modified(millilitres: f64) -> Path {
    let mut path = packed(CountedAt::Delivery);
    let flow = SetFlow::Volume(millilitres * MILLILITRE_PER_MINUTE, CountedAt::Delivery);
    let pump = ReciprocatingPump::new(from_celsius(22.0), flow).unwrap();
    let modifier = ModifierPump::new(Fluid::new("acetone").unwrap(), pump).unwrap();
    path.parts.insert(0, Part::new("modifier pump", modifier));
    path.solutes = vec![Solute {
        name: "any".to_owned(),
        retention: Retention::Constant {
            retention_factor: 2.0,
        },
        diffusion: Diffusion::Constant {
            diffusion_coefficient: 1e-8,
        },
        melting_temperature: None,
        in_gas: None,
    }];
    path
}

/// A density of the mobile phase that is corrected is so behind the pump of the modifier too, and the streams join with the same heat: `h + c p`
/// of both is that of their mixture.
#[test]
fn a_corrected_density_is_that_of_the_mixture_too() {
    let plain = modified(0.3);
    let mut denser = modified(0.3);
    denser.fluid = denser
        .fluid
        .with_density_factor(1.02, from_celsius(40.0), 150.0 * BAR)
        .unwrap();
    let shift = denser.fluid.volume_shift();
    let [plain, denser] = [plain, denser].map(|path| path.solve().unwrap());
    for station in &denser.stations {
        assert_eq!(station.state.fluid().volume_shift(), shift);
    }
    let joint = |solution: &Solution| {
        let state = &solution.station("modifier pump").unwrap().state;
        let before = &solution.stations[2].state;
        state.temperature() - before.temperature()
    };
    // The shares of the streams move by the 2 %, and the heat of mixing with them.
    assert!((joint(&denser) - joint(&plain)).abs() < 0.1);
    let supplied = denser.stations[2].mass_flow_rate / plain.stations[2].mass_flow_rate;
    assert!((supplied - 1.02).abs() < 0.01, "{supplied}");
    let last = denser.outlet().unwrap();
    let first = denser.station("modifier pump").unwrap();
    let behind = denser.passes.iter().skip(1);
    let heat: f64 = behind.map(|pass| pass.outlet.heat_flow_rate).sum();
    let gained = last.state.specific_enthalpy() - first.state.specific_enthalpy();
    let gained = denser.mass_flow_rate * gained;
    assert!((gained - heat).abs() < 1e-4 * heat.abs(), "{gained} {heat}");
}

#[test]
fn masses_and_enthalpies_balance_over_a_path_with_a_modifier() {
    let solution = modified(0.3).solve().unwrap();
    let supplied = &solution.stations[2];
    let fed = solution
        .fact("modifier pump", "mass flow rate of this pump")
        .unwrap();
    let whole = supplied.mass_flow_rate + fed;
    close(solution.mass_flow_rate, whole, 1e-13);
    let behind = &solution.stations[3..];
    for station in behind {
        let fluid = station.state.fluid();
        close(station.mass_flow_rate, whole, 1e-13);
        close(fluid.amount_fractions().iter().sum(), 1.0, 1e-15);
        close(
            station.get(Quantity::MassFraction).unwrap(),
            fed / whole,
            1e-9,
        );
        let x = fluid.amount_fractions()[1];
        close(station.get(Quantity::AmountFraction).unwrap(), x, 1e-15);
    }
    let modifier_of = |station: &Station| station.modifier.unwrap().amount_fraction;
    assert!(
        solution.stations[..3]
            .iter()
            .all(|station| modifier_of(station) == 0.0)
    );
    let acetone = fluid::State::from_tp(
        &Fluid::new("acetone").unwrap(),
        from_celsius(22.0),
        solution.delivery_pressure,
    );
    let brought = supplied.mass_flow_rate * supplied.state.specific_enthalpy()
        + fed * acetone.unwrap().specific_enthalpy();
    let last = solution.outlet().unwrap();
    let passes = solution.passes.iter();
    let heat: f64 = passes.map(|pass| pass.outlet.heat_flow_rate).sum();
    let gained = whole * last.state.specific_enthalpy() - brought;
    // As in the neat path: the kinetic energy that the joints drop.
    assert!(
        (gained - heat).abs() < 1e-4 * heat.abs(),
        "{gained} W against {heat} W"
    );
}

#[test]
fn a_vanishing_modifier_leaves_the_neat_path() {
    let with = modified(1e-12).solve().unwrap();
    let mut neat = modified(1.0);
    neat.parts.remove(0);
    let without = neat.solve().unwrap();
    close(with.delivery_pressure, without.delivery_pressure, 1e-9);
    close(with.mass_flow_rate, without.mass_flow_rate, 1e-9);
    for station in &without.stations {
        let same = with.station(&station.name).unwrap();
        close(same.state.temperature(), station.state.temperature(), 1e-9);
        close(same.state.density(), station.state.density(), 1e-8);
    }
}

#[test]
fn the_sensitivities_of_the_composition_are_those_of_the_pumps() {
    let at = |head_degc: f64| {
        let mut path = modified(0.3);
        let flow = SetFlow::Volume(3.0 * MILLILITRE_PER_MINUTE, CountedAt::Delivery);
        let pump = ReciprocatingPump::new(from_celsius(head_degc), flow).unwrap();
        path.source.pump.part = Pump::Reciprocating(pump);
        path.solve().unwrap()
    };
    let fraction = |solution: &Solution| {
        let column = solution.station("column").unwrap();
        column.get(Quantity::AmountFraction).unwrap()
    };
    let (colder, warmer) = (at(4.9), at(5.1));
    let told = at(5.0);
    let words = "change of the modifier's amount fraction, counted 1 K warmer";
    let change = told.fact("pump", words).unwrap();
    assert!(change > 0.0);
    // The delivery pressure moves a little with the flow, which the partial derivative leaves out.
    close((fraction(&warmer) - fraction(&colder)) / 0.2, change, 2e-2);
    let own = told.fact("modifier pump", words).unwrap();
    assert!(own < 0.0 && own.abs() < change);
}

#[test]
fn a_stream_of_two_phases_before_the_column_is_refused() {
    // At 80 degC acetone and carbon dioxide are one phase only above some 110 bar.
    let mut path = modified(0.3);
    let hot = Thermal::Isothermal {
        temperature: from_celsius(110.0),
    };
    let preheater = path
        .parts
        .iter()
        .position(|part| part.name == "preheater")
        .unwrap();
    path.parts[preheater] = line("preheater", 0.5e-3, 1.0, hot);
    let column = PackedColumn::new(20e-3, 0.05, 20e-6, 0.4, 0.7).unwrap();
    path.parts[preheater + 1] = Part::new("column", column);
    let holder = path.parts.len() - 1;
    let regulator = BackPressureRegulator::new(80.0 * BAR).unwrap();
    path.parts[holder] = Part::new("regulator", regulator);
    let error = path.solve().unwrap_err();
    assert_eq!(error.root().code(), 502, "{error}");
    assert!(error.element().is_some());
}

/// Within a fraction of a kelvin of the critical temperature the isothermal speed of sound all but vanishes on the way out: the
/// path is refused for that, not for a lack of pressure.
#[test]
fn a_restrictor_that_chokes_on_the_way_is_told_as_such() {
    let restrictor = LinearRestrictor::new(100e-6, 0.3)
        .and_then(|restrictor| restrictor.with_temperature(304.3))
        .unwrap();
    let mut path = capillary();
    path.solutes = Vec::new();
    path.parts = vec![Part::new("restrictor", restrictor)];
    let error = path.solve().unwrap_err();
    assert_eq!(error.root().code(), 501, "{error}");
}
