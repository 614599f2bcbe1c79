//! Curves over the residual entropy, which carry the transport properties of a substance into mixtures: fitted to the published
//! correlations of the substance, or to a handbook where it has none.

mod handbook;

use densepath_fluid::fluids::FluidRecord;
use densepath_fluid::fluids::transport::{ThermalConductivityRecord, ViscosityRecord};
use densepath_fluid::transport::{Dense, Point};
use densepath_fluid::{Fluid, State, substances};

use crate::pure::file::{Target, put_inner_block};
use crate::pure::least_squares::minimize;

/// States of each fit.
const STATES: u32 = 600;
/// Highest temperature over the critical one, and highest pressure in Pa.
const HIGHEST: (f64, f64) = (2.2, 1e8);
/// Lowest pressure in Pa.
const LOWEST_PRESSURE: f64 = 1e4;
/// Distance from the critical point, relative in temperature and density, within which states are left out.
const CRITICAL: (f64, f64) = (0.03, 0.3);
/// Exponents of the residual entropy.
const EXPONENTS: [f64; 4] = [1.0, 1.5, 2.0, 2.5];
/// What the record says of it.
const NOTE: &str = "Fitted here to this correlation at 600 states spread evenly over its range up to 2.2 times the critical temperature and 100 MPa, without the neighbourhood of the critical point.";

/// One state: what the scaling sees of it, the limit of zero density and the property itself without critical enhancement.
struct Sample {
    dense: Dense,
    dilute: f64,
    value: f64,
}

/// The limit of zero density and the value of a property at a point.
type Correlation = fn(&FluidRecord, &Point) -> Option<(f64, f64)>;

/// The residual part of a property from the logarithm that the curve gives.
type Residual = fn(&Dense, f64) -> f64;

/// Fits the substances named, or all that have a correlation; with `--check` compares the result with the stored curves.
pub fn run(arguments: &[String]) -> Result<(), String> {
    let (target, names) = Target::and_names(arguments)?;
    for fluid in substances().map_err(|error| error.to_string())? {
        if !names.is_empty() && !names.iter().any(|name| *name == fluid.name()) {
            continue;
        }
        let record = fluid.record().map_err(|error| error.to_string())?;
        let viscosity = record.viscosity.as_ref();
        let conductivity = record.thermal_conductivity.as_ref();
        for (block, is_known, of, residual) in [
            (
                "viscosity",
                viscosity.is_some_and(ViscosityRecord::has_dense_correlation),
                viscosity_of as Correlation,
                Dense::residual_viscosity as Residual,
            ),
            (
                "thermal_conductivity",
                conductivity.is_some_and(ThermalConductivityRecord::has_dense_correlation),
                conductivity_of,
                Dense::residual_conductivity,
            ),
        ] {
            if is_known {
                let found = samples(fluid, record, of);
                store(fluid, block, &found, residual, target)?;
            }
        }
    }
    handbook::run(target, &names)
}

/// `ln(1 + X)` of coefficients with their exponents at a residual entropy.
fn curve(coefficients: &[f64], exponents: &[f64], s: f64) -> f64 {
    let terms = coefficients.iter().zip(exponents);
    terms.map(|(c, t)| c * s.powf(*t)).sum()
}

/// States spread over the range by the sequences of Halton in bases 2 and 3.
fn samples(fluid: &Fluid, record: &FluidRecord, of: Correlation) -> Vec<Sample> {
    let place = |index| sample(fluid, record, (halton(index, 2), halton(index, 3)), of);
    (1..=4 * STATES)
        .filter_map(place)
        .take(STATES as usize)
        .collect()
}

fn sample(
    fluid: &Fluid,
    record: &FluidRecord,
    (warmth, push): (f64, f64),
    of: Correlation,
) -> Option<Sample> {
    let valid = &record.viscosity.as_ref()?.valid;
    let critical = fluid.critical_point().ok()?;
    let range = fluid.range();
    let low = valid.temperature_min.max(range.temperature_min);
    let high = valid
        .temperature_max
        .min(range.temperature_max)
        .min(HIGHEST.0 * critical.temperature);
    let temperature = low + (high - low) * warmth;
    let highest = valid.pressure_max.min(range.pressure_max).min(HIGHEST.1);
    let pressure = LOWEST_PRESSURE * (highest / LOWEST_PRESSURE).powf(push);
    let state = State::from_tp(fluid, temperature, pressure).ok()?;
    let near = (temperature / critical.temperature - 1.0).abs() < CRITICAL.0
        && (state.density() / critical.density - 1.0).abs() < CRITICAL.1;
    state.dynamic_viscosity().ok().filter(|_| !near)?;
    let conductivity = record.thermal_conductivity.as_ref();
    let reference = conductivity
        .and_then(ThermalConductivityRecord::reference_temperature)
        .unwrap_or(1.5 * critical.temperature);
    let helmholtz = fluid.helmholtz().ok()?;
    let point = Point::on(
        helmholtz,
        fluid.molar_mass(),
        temperature,
        state.density(),
        reference,
    );
    let (dilute, value) = of(record, &point)?;
    (point.dense.residual_entropy > 0.0).then_some(Sample {
        dense: point.dense,
        dilute,
        value,
    })
}

fn viscosity_of(record: &FluidRecord, point: &Point) -> Option<(f64, f64)> {
    let viscosity = record.viscosity.as_ref()?;
    Some((
        viscosity.zero_density(point.temperature),
        viscosity.dynamic_viscosity(point),
    ))
}

fn conductivity_of(record: &FluidRecord, point: &Point) -> Option<(f64, f64)> {
    let conductivity = record.thermal_conductivity.as_ref()?;
    let dilute = record.viscosity.as_ref()?.zero_density(point.temperature);
    let heat_capacity = point.ideal_isochoric_heat_capacity;
    let limit = conductivity.zero_density(point.temperature, heat_capacity, dilute);
    Some((limit, conductivity.background(point, dilute)))
}

/// The part of a number in a base that lies behind the point when its digits are mirrored there.
fn halton(mut index: u32, base: u32) -> f64 {
    let (mut value, mut digit) = (0.0, 1.0);
    while index > 0 {
        digit /= f64::from(base);
        value += digit * f64::from(index % base);
        index /= base;
    }
    value
}

/// Fits the curve and writes it with its deviations.
fn store(
    fluid: &Fluid,
    block: &str,
    samples: &[Sample],
    residual: Residual,
    target: Target,
) -> Result<(), String> {
    let missed = |coefficients: &[f64]| -> Vec<f64> {
        let model = |sample: &Sample| {
            let logarithm = curve(coefficients, &EXPONENTS, sample.dense.residual_entropy);
            sample.dilute + residual(&sample.dense, logarithm)
        };
        samples
            .iter()
            .map(|sample| model(sample) / sample.value - 1.0)
            .collect()
    };
    let place = |error| format!("{} of {}: {error}", block, fluid.name());
    let found = minimize(&[0.0, 0.5, -0.15, 0.02], missed).map_err(place)?;
    let rounded: Vec<f64> = found.iter().map(|c| digits(*c, 7)).collect();
    let mut deviations: Vec<f64> = missed(&rounded).iter().map(|miss| miss.abs()).collect();
    deviations.sort_by(f64::total_cmp);
    let count = deviations.len();
    let mean = deviations.iter().sum::<f64>() / count as f64;
    let high = deviations
        .get(count * 95 / 100)
        .copied()
        .unwrap_or(f64::NAN);
    let terms: Vec<String> = rounded
        .iter()
        .zip(EXPONENTS)
        .map(|(c, t)| format!("[{c}, {t}]"))
        .collect();
    let text = format!(
        "{{\n      \"note\": \"{NOTE}\",\n      \"mean_deviation\": {},\n      \"deviation_95\": {},\n      \"terms\": [{}]\n    }}",
        digits(mean, 1),
        digits(high, 1),
        terms.join(", ")
    );
    println!(
        "{} {block}: {count} states, mean {mean:.3}, 95 of 100 below {high:.3}",
        fluid.name()
    );
    put_inner_block(fluid.name(), block, "entropy_scaling", &text, target)
}

/// A number rounded to as many digits behind its first.
fn digits(value: f64, behind: usize) -> f64 {
    format!("{value:.behind$e}").parse().unwrap_or(value)
}
