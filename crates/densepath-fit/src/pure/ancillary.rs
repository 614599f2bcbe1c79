//! From a fitted equation to its data file: zeros of enthalpy and entropy, top of the dome, start values of the
//! coexistence, highest density.

use densepath_fluid::eos::{Coexistence, Helmholtz};
use densepath_fluid::fluids::record::{DomeTopRecord, EquationOfState, GuessRecord, SumRecord};
use densepath_fluid::fluids::uncertainty::{EquationUncertainty, FluidPhase, UncertaintyRegion};
use nalgebra::{DMatrix, DVector};

use super::measurement::{Definition, Quantity};
use super::substance::{Fitted, coexistence};

/// Where enthalpy is 200 kJ/kg and entropy 1 kJ/(kg K): the boiling liquid at 273.15 K.
const REFERENCE: f64 = 273.15;

/// Where `(dp/drho)_T` and `(d2p/drho2)_T` are zero, sought from the critical point.
fn dome_top(helmholtz: &Helmholtz, record: &EquationOfState) -> DomeTopRecord {
    const STEP: f64 = 1e-4;
    let molar = record.molar_mass;
    let (mut temperature, mut density) = (
        record.critical_point.temperature,
        helmholtz.density_reducing,
    );
    for _ in 0..20 {
        let slope = |temperature: f64, density: f64| {
            let isotherm = helmholtz.isotherm(temperature);
            isotherm.pressure(density).dp_drho / isotherm.thermal_energy()
        };
        let middle = slope(temperature, density);
        let above = slope(temperature, density * (1.0 + STEP));
        let below = slope(temperature, density * (1.0 - STEP));
        let (first, second) = (
            (above - below) / (2.0 * STEP),
            (above - 2.0 * middle + below) / (STEP * STEP),
        );
        let move_density = -first / second;
        let hotter =
            slope(temperature * (1.0 + STEP), density) - slope(temperature * (1.0 - STEP), density);
        let move_temperature = -(middle + first * move_density) / (hotter / (2.0 * STEP));
        density *= 1.0 + move_density;
        temperature *= 1.0 + move_temperature;
    }
    DomeTopRecord {
        temperature,
        molar_density: density / molar,
    }
}

/// Coefficients of `y = sum n x^t` by least squares.
fn sum(points: &[(f64, f64)], exponents: &[f64]) -> Result<SumRecord, String> {
    let matrix = DMatrix::from_fn(points.len(), exponents.len(), |row, column| {
        points[row].0.powf(exponents[column])
    });
    let values = DVector::from_iterator(points.len(), points.iter().map(|(_, value)| *value));
    let found = matrix.svd(true, true).solve(&values, 1e-13)?;
    Ok(SumRecord {
        n: found.iter().map(|n| digits(*n, 12)).collect(),
        t: exponents.to_vec(),
    })
}

/// A number rounded to so many significant digits.
pub fn digits(value: f64, digits: usize) -> f64 {
    format!("{value:.*e}", digits - 1).parse().unwrap_or(value)
}

const PRESSURE: [f64; 11] = [0.0, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0, 9.0, 14.0, 22.0];
const LIQUID: [f64; 8] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.5, 6.0, 10.0];
const VAPOUR: [f64; 9] = [0.5, 1.0, 1.5, 2.0, 2.5, 3.5, 5.0, 8.0, 14.0];

/// Temperatures at which the coexistence is followed.
const COUNT: u32 = 120;
/// Closest distance to the top of the dome, relative.
const CLOSEST: f64 = 1e-9;

/// Start values of the coexistence: fitted to points found without them, then to those of the library, down to the closest
/// distance to the top of the dome.
fn guess(fitted: &Fitted, record: &mut EquationOfState, top: DomeTopRecord) -> Result<(), String> {
    let lowest = record.triple_point.temperature;
    let helmholtz = Helmholtz::new(record);
    let mut pressure = record.critical_point.pressure;
    let mut points = Vec::new();
    for step in 1..=COUNT {
        let share = f64::from(step) / f64::from(COUNT);
        let isotherm = helmholtz.isotherm(top.temperature - (top.temperature - lowest) * share);
        let found = coexistence(fitted.equation.densest(), &isotherm, 0.93 * pressure);
        pressure = found.map_or(pressure, |found| found.pressure);
        points.extend(found);
    }
    record.coexistence_guess = sums(record, top, &points)?;
    let share = 1.0 - lowest / top.temperature;
    let helmholtz = Helmholtz::new(record);
    let shares = (0..=COUNT).flat_map(|step| {
        let ratio = f64::from(step) / f64::from(COUNT);
        [share * (1.0 - ratio), share * (CLOSEST / share).powf(ratio)]
    });
    let fine = shares
        .filter(|share| *share >= CLOSEST)
        .map(|share| helmholtz.coexistence_at_temperature(top.temperature * (1.0 - share)));
    let fine: Vec<Coexistence> = fine
        .collect::<Result<_, _>>()
        .map_err(|error| error.to_string())?;
    record.coexistence_guess = sums(record, top, &fine)?;
    let guess = &record.coexistence_guess;
    let scale = top.molar_density * record.molar_mass;
    let error = fine.iter().fold(0.0, |error: f64, point| {
        let theta = 1.0 - point.temperature / top.temperature;
        let of =
            |sum: &SumRecord, density: f64| (scale * sum.at(theta).exp() / density - 1.0).abs();
        error
            .max(of(&guess.liquid_density, point.liquid_density))
            .max(of(&guess.vapour_density, point.vapour_density))
    });
    record.coexistence_guess.density_tolerance = (1.5 * error).max(0.01);
    Ok(())
}

fn sums(
    record: &EquationOfState,
    top: DomeTopRecord,
    points: &[Coexistence],
) -> Result<GuessRecord, String> {
    let scale = top.molar_density * record.molar_mass;
    let of = |y: &dyn Fn(&Coexistence) -> f64| -> Vec<(f64, f64)> {
        let theta = |point: &Coexistence| 1.0 - point.temperature / top.temperature;
        points
            .iter()
            .map(|point| (theta(point), y(point)))
            .collect()
    };
    let critical = record.critical_point.pressure;
    let pressure = of(&|p| p.temperature / top.temperature * (p.pressure / critical).ln());
    Ok(GuessRecord {
        note: "Start values only, fitted to the coexistence of this equation; every result is iterated on the equation of state.".to_owned(),
        density_tolerance: 0.05,
        pressure: sum(&pressure, &PRESSURE)?,
        liquid_density: sum(&of(&|p| (p.liquid_density / scale).ln()), &LIQUID)?,
        vapour_density: sum(&of(&|p| (p.vapour_density / scale).ln()), &VAPOUR)?,
    })
}

/// Constant and slope in tau that give the reference liquid its enthalpy and entropy.
fn lead(record: &EquationOfState) -> Result<[f64; 2], String> {
    let helmholtz = Helmholtz::new(record);
    let liquid = helmholtz
        .coexistence_at_temperature(REFERENCE)
        .map_err(|error| error.to_string())?
        .liquid_density;
    let isotherm = helmholtz.isotherm(REFERENCE);
    let (a, ideal) = (isotherm.residual(liquid), isotherm.ideal());
    let r = helmholtz.specific_gas_constant;
    let tau = helmholtz.temperature_reducing / REFERENCE;
    let enthalpy = 1.0 + ideal.first + a.a_t + a.a_d;
    let slope = (200e3 / (r * REFERENCE) - enthalpy) / tau;
    let entropy = ideal.first + a.a_t - ideal.value - isotherm.delta(liquid).ln() - a.a;
    // Entropy takes `first - value`, in which the slope cancels.
    Ok([entropy - 1000.0 / r, slope])
}

/// The smallest reduced density at which every isotherm of the range has passed its highest pressure by a fifth.
fn highest_density(helmholtz: &Helmholtz, definition: &Definition) -> Result<f64, String> {
    let (low, high) = (
        definition.triple_point.temperature,
        definition.temperature_max,
    );
    (50..100)
        .map(|step| 0.05 * f64::from(step))
        .find(|delta| {
            (0..=60).all(|step| {
                let isotherm = helmholtz.isotherm(low + (high - low) * f64::from(step) / 60.0);
                isotherm
                    .pressure(delta * helmholtz.density_reducing)
                    .pressure
                    > 1.2 * definition.pressure_max
            })
        })
        .ok_or_else(|| {
            format!(
                "{}: no density reaches the highest pressure",
                definition.names.name
            )
        })
}

fn list(values: &[f64]) -> String {
    let texts: Vec<String> = values.iter().map(|value| format!("{value:?}")).collect();
    format!("[{}]", texts.join(", "))
}

/// The block `equation_of_state` of the data file.
pub fn block(fitted: &Fitted) -> Result<String, String> {
    let definition = &fitted.definition;
    let mut record = fitted.equation.record();
    let helmholtz = Helmholtz::new(&record);
    let mut top = dome_top(&helmholtz, &record);
    (top.temperature, top.molar_density) =
        (digits(top.temperature, 13), digits(top.molar_density, 12));
    record.dome_top = Some(top);
    record.reduced_density_max = highest_density(&helmholtz, definition)?;
    guess(fitted, &mut record, top)?;
    record.ideal.lead = lead(&record)?.map(|value| digits(value, 13));
    let triple = Helmholtz::new(&record)
        .coexistence_at_temperature(definition.triple_point.temperature)
        .map_err(|error| error.to_string())?;
    record.triple_point.pressure = digits(triple.pressure, 7);
    Ok(text(fitted, &record, top))
}

/// The blocks `ideal` and `residual`.
fn energies(record: &EquationOfState) -> String {
    let oscillators = record.ideal.planck_einstein.iter();
    let oscillators: Vec<String> = oscillators.map(|pair| list(pair)).collect();
    let powers = record.residual.power.iter().map(|p| {
        format!(
            "        {{ \"n\": {:?}, \"t\": {:?}, \"d\": {}, \"l\": {} }}",
            p.n, p.t, p.d, p.l
        )
    });
    let bells = record.residual.gaussian.iter().map(|g| {
        format!(
            "        {{ \"n\": {:?}, \"t\": {:?}, \"d\": {}, \"eta\": {:?}, \"epsilon\": {:?}, \"beta\": {:?}, \"gamma\": {:?} }}",
            g.n, g.t, g.d, g.eta, g.epsilon, g.beta, g.gamma
        )
    });
    format!(
        r#""ideal": {{
      "lead": {},
      "log_tau": {:?},
      "planck_einstein": [{}]
    }},
    "residual": {{
      "power": [
{}
      ],
      "gaussian": [
{}
      ]
    }},"#,
        list(&record.ideal.lead),
        record.ideal.log_tau,
        oscillators.join(", "),
        powers.collect::<Vec<String>>().join(",\n"),
        bells.collect::<Vec<String>>().join(",\n"),
    )
}

/// The block `coexistence_guess`.
fn start_values(guess: &GuessRecord) -> String {
    let sum = |sum: &SumRecord| format!("{{ \"n\": {}, \"t\": {} }}", list(&sum.n), list(&sum.t));
    format!(
        r#""coexistence_guess": {{
      "note": "{}",
      "density_tolerance": {:.4},
      "pressure": {},
      "liquid_density": {},
      "vapour_density": {}
    }},"#,
        guess.note,
        guess.density_tolerance,
        sum(&guess.pressure),
        sum(&guess.liquid_density),
        sum(&guess.vapour_density),
    )
}

/// The block `uncertainty`.
fn uncertainty(stated: &EquationUncertainty) -> String {
    let regions = |regions: &[UncertaintyRegion]| {
        let lines: Vec<String> = regions.iter().map(region).collect();
        format!("[\n{}\n      ]", lines.join(",\n"))
    };
    let vapour_pressure: Vec<String> = stated
        .vapour_pressure
        .iter()
        .map(|region| {
            format!(
                r#"{{ "T_min / K": {:?}, "T_max / K": {:?}, "relative": {:?} }}"#,
                region.temperature_min, region.temperature_max, region.relative
            )
        })
        .collect();
    format!(
        r#""uncertainty": {{
      "note": "{}",
      "coverage_factor": {:?},
      "vapour_pressure": [{}],
      "density": {},
      "speed_of_sound": {},
      "specific_isobaric_heat_capacity": {}
    }}"#,
        stated.note,
        stated.coverage_factor,
        vapour_pressure.join(", "),
        regions(&stated.density),
        regions(&stated.speed_of_sound),
        regions(&stated.specific_isobaric_heat_capacity),
    )
}

fn text(fitted: &Fitted, record: &EquationOfState, top: DomeTopRecord) -> String {
    let definition = &fitted.definition;
    let critical = &definition.critical_point;
    format!(
        r#"{{
    "name": "equation of this project 2026",
    "source": {{
      "authors": "densepath project",
      "title": "Equation of {name}, fitted by this project to open measurements",
      "journal": "crates/densepath-fit/data/pure/{name}.csv and .json",
      "year": 2026,
      "note": "{note}"
    }},
    "valid": {{ "T_min / K": {triple:?}, "T_max / K": {t_max:?}, "p_max / Pa": {p_max:?} }},
    "gas_constant / (J/(mol K))": {r:?},
    "molar_mass / (kg/mol)": {m:?},
    "T_reducing / K": {tc:?},
    "rho_reducing / (mol/m3)": {rhoc:?},
    "critical_point": {{ "T / K": {tc:?}, "p / Pa": {pc:?}, "rho / (mol/m3)": {rhoc:?} }},
    "dome_top": {{ "T / K": {dt:?}, "rho / (mol/m3)": {dr:?} }},
    "triple_point": {{ "T / K": {triple:?}, "p / Pa": {pt:?} }},
    "reduced_density_max": {dmax:?},
    {energies}
    {start_values}
    {uncertainty}
  }}"#,
        name = definition.names.name,
        note = note(fitted),
        triple = record.triple_point.temperature,
        t_max = definition.temperature_max,
        p_max = definition.pressure_max,
        r = record.gas_constant,
        m = record.molar_mass,
        tc = critical.temperature,
        rhoc = critical.molar_density,
        pc = critical.pressure,
        dt = top.temperature,
        dr = top.molar_density,
        pt = record.triple_point.pressure,
        dmax = digits(record.reduced_density_max, 4),
        energies = energies(record),
        start_values = start_values(&record.coexistence_guess),
        uncertainty = uncertainty(&definition.uncertainty),
    )
}

fn region(region: &UncertaintyRegion) -> String {
    let phase = match region.phase {
        None => "",
        Some(FluidPhase::Liquid) => "\"phase\": \"liquid\", ",
        Some(FluidPhase::Vapour) => "\"phase\": \"vapour\", ",
        Some(FluidPhase::Supercritical) => "\"phase\": \"supercritical\", ",
    };
    format!(
        "        {{ {phase}\"T_min / K\": {:?}, \"T_max / K\": {:?}, \"p_max / Pa\": {:?}, \"relative\": {:?} }}",
        region.temperature_min, region.temperature_max, region.pressure_max, region.relative
    )
}

/// What a reader of the coefficients must know: terms, constants and what the equation was fitted to.
fn note(fitted: &Fitted) -> String {
    let definition = &fitted.definition;
    let papers = |quantity: Quantity| {
        let measured = fitted
            .measurements
            .iter()
            .filter(|m| m.quantity == quantity && m.excluded.is_none());
        let mut all: Vec<&str> = measured.map(|m| m.paper.as_str()).collect();
        let count = all.len();
        all.sort_unstable();
        all.dedup();
        (count, all.len())
    };
    let measured: Vec<String> = [Quantity::VapourPressure, Quantity::Density, Quantity::HeatCapacity, Quantity::SpeedOfSound]
        .into_iter()
        .map(|quantity| (quantity, papers(quantity), fitted.statistics(quantity)))
        .filter(|(_, (count, _), _)| *count > 0)
        .map(|(quantity, (count, papers), found)| {
            format!(
                "{} ({count} values of {papers} papers, mean absolute deviation {:.2} %, median {:.2} %)",
                quantity.name(),
                100.0 * found.mean,
                100.0 * found.median
            )
        })
        .collect();
    let recommended: Vec<String> = definition
        .recommended
        .iter()
        .map(|set| format!("{} of {}", set.quantity.name(), set.source.title))
        .collect();
    format!(
        "Fitted to {}, from the NIST ThermoML archive by a converted public copy; recommended values: {}; second virial coefficient: {}; heat capacity of the ideal gas: {}. Terms and start of the fit from {}: {}. {} {} Every paper with its deviations: crates/densepath-fit/data/pure/{}_deviations.csv.",
        measured.join(", "),
        recommended.join(", "),
        definition.second_virial.source.title,
        definition.ideal_gas.source.title,
        definition.relative,
        definition.relative_note,
        definition.critical_source,
        definition.triple_source,
        definition.names.name,
    )
}
