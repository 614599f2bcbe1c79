//! From a fitted equation to its data file: zeros of enthalpy and entropy, top of the dome, start values of the
//! coexistence, highest density.

use densepath_fluid::eos::Helmholtz;
use densepath_fluid::fluids::record::{DomeTopRecord, EquationOfState, GuessRecord, SumRecord};
use densepath_fluid::fluids::uncertainty::{FluidPhase, UncertaintyRegion};
use nalgebra::{DMatrix, DVector};

use super::measurement::{Definition, Quantity};
use super::substance::{Fitted, vapour_pressure};

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

/// Start values of the coexistence: fitted to points found without them, then to those of the library down to a distance of
/// 1e-9 from the top of the dome.
fn guess(fitted: &Fitted, record: &mut EquationOfState) -> Result<(), String> {
    let top = record.dome_top.unwrap_or(DomeTopRecord {
        temperature: record.critical_point.temperature,
        molar_density: record.critical_point.molar_density,
    });
    let lowest = record.triple_point.temperature;
    let helmholtz = Helmholtz::new(record);
    let mut pressure = record.critical_point.pressure;
    let mut points = Vec::new();
    const COUNT: u32 = 120;
    for step in 1..=COUNT {
        let temperature =
            top.temperature - (top.temperature - lowest) * f64::from(step) / f64::from(COUNT);
        let isotherm = helmholtz.isotherm(temperature);
        if let Some((found, liquid, vapour)) =
            vapour_pressure(&fitted.equation, &isotherm, 0.93 * pressure)
        {
            pressure = found;
            points.push((temperature, found, liquid, vapour));
        } else if step > 5 {
            return Err(format!(
                "{}: no coexistence at {temperature} K",
                fitted.definition.names.name
            ));
        }
    }
    record.coexistence_guess = sums(record, top, &points)?;
    let share = 1.0 - lowest / top.temperature;
    let found = |temperature: f64| Helmholtz::new(record).coexistence_at_temperature(temperature);
    let mut fine = Vec::new();
    for step in 0..=COUNT {
        let ratio = f64::from(step) / f64::from(COUNT);
        for share in [share * (1.0 - ratio), share * (1e-9 / share).powf(ratio)] {
            if share < 1e-9 {
                continue;
            }
            let point =
                found(top.temperature * (1.0 - share)).map_err(|error| error.to_string())?;
            fine.push((
                point.temperature,
                point.pressure,
                point.liquid_density,
                point.vapour_density,
            ));
        }
    }
    record.coexistence_guess = sums(record, top, &fine)?;
    let guess = &record.coexistence_guess;
    let error = fine
        .iter()
        .fold(0.0, |error: f64, (temperature, _, liquid, vapour)| {
            let theta = 1.0 - temperature / top.temperature;
            let scale = top.molar_density * record.molar_mass;
            let of =
                |sum: &SumRecord, density: f64| (scale * sum.at(theta).exp() / density - 1.0).abs();
            error
                .max(of(&guess.liquid_density, *liquid))
                .max(of(&guess.vapour_density, *vapour))
        });
    record.coexistence_guess.density_tolerance = (1.5 * error).max(0.01);
    Ok(())
}

fn sums(
    record: &EquationOfState,
    top: DomeTopRecord,
    points: &[(f64, f64, f64, f64)],
) -> Result<GuessRecord, String> {
    let scale = top.molar_density * record.molar_mass;
    let of = |y: &dyn Fn(&(f64, f64, f64, f64)) -> f64| -> Vec<(f64, f64)> {
        points
            .iter()
            .map(|point| (1.0 - point.0 / top.temperature, y(point)))
            .collect()
    };
    let critical = record.critical_point.pressure;
    Ok(GuessRecord {
        note: "Start values only, fitted to the coexistence of this equation; every result is iterated on the equation of state.".to_owned(),
        density_tolerance: 0.05,
        pressure: sum(&of(&|p| p.0 / top.temperature * (p.1 / critical).ln()), &PRESSURE)?,
        liquid_density: sum(&of(&|p| (p.2 / scale).ln()), &LIQUID)?,
        vapour_density: sum(&of(&|p| (p.3 / scale).ln()), &VAPOUR)?,
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
    guess(fitted, &mut record)?;
    record.ideal.lead = lead(&record)?.map(|value| digits(value, 13));
    let triple = Helmholtz::new(&record)
        .coexistence_at_temperature(definition.triple_point.temperature)
        .map_err(|error| error.to_string())?;
    Ok(text(fitted, &record, triple.pressure))
}

fn text(fitted: &Fitted, record: &EquationOfState, triple_pressure: f64) -> String {
    let definition = &fitted.definition;
    let powers = record.residual.power.iter().map(|p| {
        format!(
            "        {{ \"n\": {:?}, \"t\": {:?}, \"d\": {}, \"l\": {} }}",
            p.n, p.t, p.d, p.l
        )
    });
    let powers: Vec<String> = powers.collect();
    let bells = record.residual.gaussian.iter().map(|g| {
        format!(
            "        {{ \"n\": {:?}, \"t\": {:?}, \"d\": {}, \"eta\": {:?}, \"epsilon\": {:?}, \"beta\": {:?}, \"gamma\": {:?} }}",
            g.n, g.t, g.d, g.eta, g.epsilon, g.beta, g.gamma
        )
    });
    let bells: Vec<String> = bells.collect();
    let gaussian = if bells.is_empty() {
        String::new()
    } else {
        format!(",\n      \"gaussian\": [\n{}\n      ]", bells.join(",\n"))
    };
    let oscillators: Vec<String> = record
        .ideal
        .planck_einstein
        .iter()
        .map(|pair| list(pair))
        .collect();
    let guess = &record.coexistence_guess;
    let sum = |sum: &SumRecord| format!("{{ \"n\": {}, \"t\": {} }}", list(&sum.n), list(&sum.t));
    let top = record.dome_top.unwrap_or(DomeTopRecord {
        temperature: f64::NAN,
        molar_density: f64::NAN,
    });
    let critical = &definition.critical_point;
    let uncertainty = &definition.uncertainty;
    let regions = |regions: &[UncertaintyRegion]| {
        let lines: Vec<String> = regions.iter().map(region).collect();
        format!("[\n{}\n      ]", lines.join(",\n"))
    };
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
    "ideal": {{
      "lead": {lead},
      "log_tau": {log_tau:?},
      "planck_einstein": [{oscillators}]
    }},
    "residual": {{
      "power": [
{powers}
      ]{gaussian}
    }},
    "coexistence_guess": {{
      "note": "{guess_note}",
      "density_tolerance": {tolerance:.4},
      "pressure": {guess_p},
      "liquid_density": {guess_l},
      "vapour_density": {guess_v}
    }},
    "uncertainty": {{
      "note": "{u_note}",
      "coverage_factor": {coverage:?},
      "density": {u_d},
      "speed_of_sound": {u_w},
      "specific_isobaric_heat_capacity": {u_c}
    }}
  }}"#,
        name = definition.names.name,
        note = note(fitted),
        triple = definition.triple_point.temperature,
        t_max = definition.temperature_max,
        p_max = definition.pressure_max,
        r = record.gas_constant,
        m = record.molar_mass,
        tc = critical.temperature,
        rhoc = critical.molar_density,
        pc = critical.pressure,
        dt = top.temperature,
        dr = top.molar_density,
        pt = digits(triple_pressure, 7),
        dmax = digits(record.reduced_density_max, 4),
        lead = list(&record.ideal.lead),
        log_tau = record.ideal.log_tau,
        oscillators = oscillators.join(", "),
        powers = powers.join(",\n"),
        guess_note = guess.note,
        tolerance = guess.density_tolerance,
        guess_p = sum(&guess.pressure),
        guess_l = sum(&guess.liquid_density),
        guess_v = sum(&guess.vapour_density),
        u_note = uncertainty.note,
        coverage = uncertainty.coverage_factor,
        u_d = regions(&uncertainty.density),
        u_w = regions(&uncertainty.speed_of_sound),
        u_c = regions(&uncertainty.specific_isobaric_heat_capacity),
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
