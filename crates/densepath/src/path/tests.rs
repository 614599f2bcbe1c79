//! Both instruments solved end to end, against an independent computation.

use fluid::Fluid;
use fluid::transport::diffusion::{Diffusing, DiffusionModel};
use fluid::units::{
    BAR, GRAM_PER_MINUTE, MILLIGRAM_PER_MINUTE, MILLILITRE_PER_MINUTE, from_celsius,
};

use super::*;
use crate::flow::plate_height::PackedPlateHeight;
use crate::fluid;
use crate::hardware::*;

fn close(ours: f64, expected: f64, relative: f64) {
    assert!(
        (ours / expected - 1.0).abs() < relative,
        "{ours} against {expected}"
    );
}

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

fn naphthalene(retention: Retention) -> Solute {
    Solute {
        name: "naphthalene".to_owned(),
        retention,
        diffusion: Diffusion::Estimated {
            model: DiffusionModel::WilkeChang,
            solute: Diffusing {
                molar_volume: 147.6e-6,
                molar_mass: None,
            },
        },
    }
}

fn line(name: &str, diameter: f64, length: f64, thermal: Thermal) -> Part {
    Part::new(
        name,
        Tube::new(diameter, length, 1e-6)
            .and_then(|tube| tube.with_thermal(thermal))
            .unwrap(),
    )
}

/// 250 mm x 4.6 mm, 5 um, 3 mL/min counted at the head (5 degC) and the delivery pressure, 150 bar held.
fn packed(counted_at: CountedAt) -> Path {
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
        solute: Some(naphthalene(Retention::LogLinearInDensity {
            intercept: 6.0,
            slope: 7e-3,
            density_min: 300.0,
            density_max: 1000.0,
        })),
        room: Room::default(),
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
        solute: Some(naphthalene(Retention::Constant {
            retention_factor: 3.0,
        })),
        room: Room::default(),
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
    for path in [packed(CountedAt::Delivery), capillary()] {
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
