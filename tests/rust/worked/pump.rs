use super::{assert_examples, at, density, unknown};
use densepath::hardware::{
    Compression, CountedAt, CountingConditions, Cylinder, ReciprocatingPump, SetFlow, Stroke,
    Suction, SuctionLine, SyringePump, Withdrawal,
};
use densepath::{Fluid, State};
use densepath_tests::Example;

/// A cylinder that holds liquid and vapour at every temperature of the examples.
fn supply(fluid: &Fluid, temperature: f64, withdrawal: Withdrawal) -> State {
    let cylinder = Cylinder::new(0.04, 24.0, withdrawal).unwrap();
    cylinder.supply(fluid, temperature).unwrap()
}

fn suction(fluid: &Fluid, example: &Example) -> Suction {
    let supply = supply(
        fluid,
        example.input("supply temperature / K"),
        Withdrawal::Liquid,
    );
    let line = SuctionLine::new(example.input("pressure loss / Pa")).unwrap();
    let head = example.inputs.get("head temperature / K").copied();
    line.feed(&supply, head.unwrap_or(supply.temperature() - 10.0))
        .unwrap()
}

fn stroke(fluid: &Fluid, example: &Example) -> Stroke {
    let head = example.input("suction temperature / K");
    let clearance = example.inputs.get("clearance ratio / 1").copied();
    let pump = ReciprocatingPump::new(head, SetFlow::Mass(1e-5))
        .and_then(|pump| pump.with_clearance_ratio(clearance.unwrap_or(0.0)))
        .unwrap();
    let suction = at(fluid, head, example.input("suction pressure / Pa"));
    pump.stroke(&suction, example.input("delivery pressure / Pa"))
        .unwrap()
}

fn compression(stroke: &Stroke, output: &str) -> f64 {
    let isothermal: Compression = stroke.isothermal;
    let isentropic: Compression = stroke.isentropic;
    match output {
        "isothermal compression fraction" => isothermal.volume_fraction,
        "isentropic compression fraction" => isentropic.volume_fraction,
        "isentropic temperature" => isentropic.temperature,
        "isothermal volumetric efficiency" => isothermal.volumetric_efficiency,
        "isothermal compression share of the stroke" => isothermal.stroke_fraction,
        "isentropic compression share of the stroke" => isentropic.stroke_fraction,
        _ => stroke.bookkeeping_error,
    }
}

/// Mass flow rate of a flow counted at the temperature of the head and the pressure delivered.
fn counted(fluid: &Fluid, flow: f64, temperature: f64, pressure: f64) -> f64 {
    let conditions = CountingConditions {
        head_temperature: temperature,
        suction_pressure: pressure,
        delivery_pressure: pressure,
        oven_temperature: temperature,
        oven_pressure: pressure,
    };
    let rates = CountedAt::ALL.map(|counted_at| SetFlow::Volume(flow, counted_at));
    rates[1].mass_flow_rate(fluid, &conditions).unwrap()
}

fn head_duty(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let supplied = example.input("supply temperature / K");
    let head = example.input("head temperature / K");
    let delivery = example.input("delivery pressure / Pa");
    let withdrawal = match example.choice("supply phase") {
        "vapour" => Withdrawal::Vapour,
        _ => Withdrawal::Liquid,
    };
    let supply = supply(fluid, supplied, withdrawal);
    let flow = example.input("volume_flow_rate / (m3/s)") * density(fluid, head, delivery);
    let pump = ReciprocatingPump::new(head, SetFlow::Mass(flow)).unwrap();
    let feed = at(fluid, head, supply.pressure());
    let duty = pump.head_duty(&supply, &feed, delivery, flow).unwrap();
    match output {
        "subcooling duty" => duty.feed_cooling,
        "isentropic power" => duty.isentropic_power,
        _ => duty.compression_cooling,
    }
}

fn syringe(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    let fill = example.input("fill temperature / K");
    let supply = supply(
        fluid,
        example.input("supply temperature / K"),
        Withdrawal::Liquid,
    );
    let volume = example.inputs.get("volume / m3").copied().unwrap_or(50e-6);
    let pump = SyringePump::new(volume, fill, example.input("target pressure / Pa")).unwrap();
    // At the temperature of the supply, temperature and pressure leave the phase open.
    let filled = if (fill - supply.temperature()).abs() < 1e-9 {
        supply
    } else {
        pump.fill(fluid, supply.pressure()).unwrap()
    };
    let ready = pump.precompress(filled).unwrap();
    match output {
        "mass" => ready.mass,
        "precompression volume" => ready.displaced_volume,
        "isentropic temperature rise" => ready.temperature_rise,
        _ => ready.density_deficit,
    }
}

/// Mass flow rate through an open tube at a velocity.
fn tube_flow(fluid: &Fluid, diameter: f64, velocity: f64, temperature: f64, pressure: f64) -> f64 {
    let area = densepath::flow::circular_area(diameter).unwrap();
    area * velocity * density(fluid, temperature, pressure)
}

fn syringe_run_time(fluid: &Fluid, example: &Example) -> f64 {
    let barrel = example.input("fill temperature / K");
    let pressure = example.input("pressure / Pa");
    let column = tube_flow(
        fluid,
        example.input("column diameter / m"),
        example.input("velocity / (m/s)"),
        example.input("column temperature / K"),
        pressure,
    );
    let pump = SyringePump::new(example.input("volume / m3"), barrel, pressure)
        .and_then(|pump| pump.with_reserve_fraction(example.input("reserve / 1")))
        .unwrap();
    let flow = column * (1.0 + example.input("split ratio / 1"));
    pump.run_time(&at(fluid, barrel, pressure), flow).unwrap()
}

fn computed(fluid: &Fluid, example: &Example, output: &str) -> f64 {
    match (example.case.as_str(), output) {
        ("suction", "temperature margin") => suction(fluid, example).temperature_margin,
        ("suction", "vapour_fraction") => suction(fluid, example).vapour_fraction_uncooled,
        ("suction", "vapour volume fraction") => suction(fluid, example).void_fraction_uncooled,
        ("compression", output) => compression(&stroke(fluid, example), output),
        ("counting", "mass_flow_rate") => counted(
            fluid,
            example.input("volume_flow_rate / (m3/s)"),
            example.input("counting temperature / K"),
            example.input("counting pressure / Pa"),
        ),
        ("counting_error", "relative mass flow change") => {
            let at = |which: &str| {
                let temperature = example.input(&format!("{which} temperature / K"));
                let pressure = example.input(&format!("{which} pressure / Pa"));
                counted(fluid, 1e-8, temperature, pressure)
            };
            at("other") / at("counting") - 1.0
        }
        ("head_duty", output) => head_duty(fluid, example, output),
        ("syringe", output) => syringe(fluid, example, output),
        ("syringe_flow", "mass_flow_rate") => tube_flow(
            fluid,
            example.input("diameter / m"),
            example.input("velocity / (m/s)"),
            example.input("temperature / K"),
            example.input("pressure / Pa"),
        ),
        ("syringe_ramp", "volume_flow_rate") => {
            let barrel = at(
                fluid,
                example.input("temperature / K"),
                example.input("pressure / Pa"),
            );
            let (volume, ramp) = (example.input("volume / m3"), example.input("ramp / (Pa/s)"));
            SyringePump::displacement_rate(&barrel, volume, ramp, 0.0).unwrap()
        }
        ("syringe_run_time", "run time") => syringe_run_time(fluid, example),
        _ => unknown(example, output),
    }
}

#[test]
fn pumps() {
    assert_examples("worked_pump", computed);
}
