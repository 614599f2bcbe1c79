//! Constants of the translated equation of Peng and Robinson.
//!
//! The three constants of Twu's alpha are fitted to vapour pressures and, where an equation of state tells them, to
//! fugacity coefficients of the supercritical fluid at the critical pressure; the translation to densities of the boiling
//! liquid. Alpha is kept consistent: positive, falling and convex, with a negative third derivative, at every temperature
//! (Le Guennec, Privat and Jaubert, Fluid Phase Equilib. 429, 301 (2016), doi 10.1016/j.fluid.2016.09.003, from memory).

use std::fmt;

use densepath_fluid::consts::MOLAR_GAS_CONSTANT;
use densepath_fluid::eos::cubic::{Attraction, Cubic, CubicSubstance, Interaction};
use densepath_fluid::eos::mixture::{CriticalConstants, MixtureModel};
use densepath_fluid::fluids::record::{Range, Source};
use densepath_fluid::{Fluid, Result, State};
use serde::Deserialize;

use super::file::Names;
use super::ideal;
use super::least_squares::minimize;
use super::measurement::IdealGas;

/// Weights: a fit of this quality, relative.
const VAPOUR_PRESSURE: f64 = 0.005;
const FUGACITY_COEFFICIENT: f64 = 0.02;
/// Weight of a breach of consistency.
const CONSISTENCY: f64 = 1e-3;
/// Temperatures of the vapour pressures over the critical one.
const LOWEST: f64 = 0.45;
const HIGHEST: f64 = 0.99;
/// Highest temperature of a supercritical fluid over the critical one.
const SUPERCRITICAL: f64 = 3.0;
/// Temperatures of use in K, where the density of the liquid is to be right.
const USE: [f64; 2] = [250.0, 400.0];
/// Up to this share of the critical temperature a cubic equation has a liquid worth its name.
const LIQUID: f64 = 0.9;
/// Reduced temperature of the density where the liquid exists below or above the temperatures of use only (Jaubert,
/// Privat, Le Guennec and Coniglio, Fluid Phase Equilib. 419, 88 (2016), doi 10.1016/j.fluid.2016.03.012, from memory).
const REDUCED: f64 = 0.8;
const POINTS: u32 = 24;
/// Highest pressure in Pa at which the equation is asked.
const HIGHEST_PRESSURE: f64 = 1e8;

/// Liquid and vapour in equilibrium.
#[derive(Debug, Clone, Copy)]
pub struct SaturationPoint {
    temperature: f64,
    pressure: f64,
    /// Density of the liquid in mol/m3.
    liquid_density: f64,
}

/// A supercritical fluid at the critical pressure.
#[derive(Debug, Clone, Copy)]
struct FugacityPoint {
    temperature: f64,
    ln_coefficient: f64,
}

/// What the constants are fitted to.
#[derive(Debug)]
pub struct Reference {
    name: String,
    critical: CriticalConstants,
    valid: Range,
    saturation: Vec<SaturationPoint>,
    liquid: Vec<SaturationPoint>,
    supercritical: Vec<FugacityPoint>,
    /// Sources of vapour pressure and density in words.
    against: String,
    density_against: String,
    /// What else a reader of the constants must know.
    note: String,
}

/// `count` temperatures evenly from one to another.
fn evenly(from: f64, to: f64, count: u32) -> impl Iterator<Item = f64> {
    (0..count).map(move |step| from + (to - from) * f64::from(step) / f64::from(count - 1))
}

/// Temperatures at which the density of the liquid counts, between the lowest temperature of a liquid and its critical one.
fn liquid_temperatures(lowest: f64, critical: f64) -> Vec<f64> {
    let (from, to) = (USE[0].max(lowest), USE[1].min(LIQUID * critical));
    if from < to {
        evenly(from, to, POINTS).collect()
    } else {
        vec![(REDUCED * critical).max(lowest)]
    }
}

/// A substance without a reference equation: names, constants, and values of published correlations.
#[derive(Debug, Deserialize)]
pub struct Correlated {
    #[serde(flatten)]
    pub names: Names,
    #[serde(rename = "molar_mass / (kg/mol)")]
    pub molar_mass: f64,
    #[serde(rename = "T_critical / K")]
    critical_temperature: f64,
    #[serde(rename = "p_critical / Pa")]
    critical_pressure: f64,
    critical_source: String,
    acentric_factor: f64,
    vapour_pressure_source: Source,
    liquid_density_source: Source,
    pub ideal_gas: IdealGas,
    /// Triples over the range of both correlations.
    #[serde(rename = "saturation (T / K, p / Pa, rho / (mol/m3))")]
    saturation: Vec<[f64; 3]>,
    /// Triples at temperatures of use.
    #[serde(rename = "liquid (T / K, p / Pa, rho / (mol/m3))")]
    liquid: Vec<[f64; 3]>,
}

impl From<[f64; 3]> for SaturationPoint {
    fn from([temperature, pressure, liquid_density]: [f64; 3]) -> Self {
        Self {
            temperature,
            pressure,
            liquid_density,
        }
    }
}

impl Reference {
    /// The values of correlations.
    pub fn of_correlations(substance: &Correlated) -> Self {
        let points = |values: &[[f64; 3]]| values.iter().copied().map(Into::into).collect();
        let range = |index: usize| substance.saturation.iter().map(move |point| point[index]);
        let pressure = &substance.vapour_pressure_source;
        Self {
            name: substance.names.name.clone(),
            critical: CriticalConstants {
                temperature: substance.critical_temperature,
                pressure: substance.critical_pressure,
                acentric_factor: substance.acentric_factor,
            },
            valid: Range {
                temperature_min: range(0).fold(f64::INFINITY, f64::min),
                temperature_max: range(0).fold(0.0, f64::max),
                pressure_max: HIGHEST_PRESSURE,
            },
            saturation: points(&substance.saturation),
            liquid: points(&substance.liquid),
            supercritical: Vec::new(),
            against: format!("{} ({})", pressure.title, pressure.year),
            density_against: format!(
                "{} ({})",
                substance.liquid_density_source.title, substance.liquid_density_source.year
            ),
            note: format!(
                " {} {}",
                substance.vapour_pressure_source.note, substance.critical_source
            ),
        }
    }

    /// The values of an equation of state of the library.
    pub fn of_equation(fluid: &Fluid) -> Result<Self> {
        let eos = fluid.record()?.reference_equation()?;
        let molar = 1.0 / fluid.molar_mass();
        let saturation = |temperature: f64| -> Result<SaturationPoint> {
            let found = fluid.helmholtz()?.coexistence_at_temperature(temperature)?;
            Ok(SaturationPoint {
                temperature,
                pressure: found.pressure,
                liquid_density: found.liquid_density * molar,
            })
        };
        let (critical, triple) = (fluid.critical_point()?, fluid.triple_temperature()?);
        let top = fluid
            .helmholtz()?
            .dome_top
            .temperature
            .min(critical.temperature);
        let at = |temperatures: Vec<f64>| -> Result<Vec<SaturationPoint>> {
            temperatures.into_iter().map(saturation).collect()
        };
        let fugacity = |temperature: f64| -> Result<FugacityPoint> {
            let state = State::from_tp(fluid, temperature, critical.pressure)?;
            let isotherm = fluid.helmholtz()?.isotherm(temperature);
            let z = critical.pressure / (state.density() * isotherm.thermal_energy());
            Ok(FugacityPoint {
                temperature,
                ln_coefficient: isotherm.residual(state.density()).a + z - 1.0 - z.ln(),
            })
        };
        let highest = (SUPERCRITICAL * critical.temperature).min(eos.valid.temperature_max);
        let boiling = saturation(0.7 * critical.temperature)?;
        Ok(Self {
            name: fluid.name().to_owned(),
            critical: CriticalConstants {
                temperature: critical.temperature,
                pressure: critical.pressure,
                acentric_factor: -(boiling.pressure / critical.pressure).log10() - 1.0,
            },
            valid: eos.valid,
            saturation: at(evenly(triple.max(LOWEST * top), HIGHEST * top, POINTS).collect())?,
            liquid: at(liquid_temperatures(triple, top))?,
            supercritical: evenly(1.05 * top, highest, POINTS / 2)
                .map(fugacity)
                .collect::<Result<_>>()?,
            against: eos.name.clone(),
            density_against: eos.name.clone(),
            note: String::new(),
        })
    }
}

/// Constants of a substance with their deviations.
#[derive(Debug)]
pub struct Fitted {
    substance: CubicSubstance,
    vapour_pressure: Deviation,
    liquid_density: Deviation,
}

/// Mean and greatest absolute relative deviation.
#[derive(Debug, Clone, Copy)]
struct Deviation {
    temperatures: [f64; 2],
    mean: f64,
    greatest: f64,
}

impl Deviation {
    fn of(points: &[(f64, f64)]) -> Self {
        let temperatures = points.iter().map(|(temperature, _)| *temperature);
        let sizes = points.iter().map(|(_, deviation)| deviation.abs());
        Self {
            temperatures: [
                temperatures.clone().fold(f64::INFINITY, f64::min),
                temperatures.fold(0.0, f64::max),
            ],
            mean: sizes.clone().sum::<f64>() / points.len() as f64,
            greatest: sizes.fold(0.0, f64::max),
        }
    }
}

/// Steps of the search for an equilibrium.
const STEPS: u32 = 60;

/// Vapour pressure in Pa and density of the liquid in mol/m3 at a temperature, sought from a pressure.
fn coexistence(equation: &Cubic, temperature: f64, start: f64) -> Option<(f64, f64)> {
    let isotherm = equation.at(temperature, &[1.0]);
    let mut pressure = start;
    for _ in 0..STEPS {
        let found = isotherm.densities(pressure).ok()?;
        if found.liquid == found.vapour {
            // One phase only: towards the pressure at which the other appears.
            let dense = found.liquid > 0.5 * critical_density(equation);
            pressure *= if dense { 0.97 } else { 1.03 };
            continue;
        }
        let of = |density| isotherm.residual_gibbs_energy(density, pressure);
        let imbalance = of(found.liquid) - of(found.vapour);
        // d(g_l - g_v)/d ln p = z_l - z_v.
        let z = |density: f64| pressure / (density * isotherm.thermal_energy());
        let step = -imbalance / (z(found.liquid) - z(found.vapour));
        pressure *= step.clamp(-0.3, 0.3).exp();
        if step.abs() < 1e-12 {
            return Some((pressure, found.liquid));
        }
    }
    None
}

/// `Z_c` of the equation of Peng and Robinson.
const COMPRESSIBILITY: f64 = 0.3074;

fn critical_density(equation: &Cubic) -> f64 {
    let critical = equation.critical_constants(0);
    critical.pressure / (COMPRESSIBILITY * MOLAR_GAS_CONSTANT * critical.temperature)
}

fn equation(reference: &Reference, [l, m, n]: [f64; 3], translation: f64) -> Cubic {
    let substance = CubicSubstance {
        name: reference.name.clone(),
        critical: reference.critical,
        attraction: Attraction::Twu { l, m, n },
        translation,
    };
    Cubic::new("Peng-Robinson", vec![substance], |_, _| {
        Interaction::default()
    })
}

/// Deviations of the vapour pressure with their temperatures; not a number where there is none.
fn vapour_pressures(reference: &Reference, equation: &Cubic) -> Vec<(f64, f64)> {
    let points = reference.saturation.iter();
    points
        .map(|point| {
            let found = coexistence(equation, point.temperature, point.pressure);
            let deviation = found.map_or(f64::NAN, |(pressure, _)| pressure / point.pressure - 1.0);
            (point.temperature, deviation)
        })
        .collect()
}

/// Deviations of the density of the boiling liquid with their temperatures.
fn liquid_densities(reference: &Reference, equation: &Cubic) -> Vec<(f64, f64)> {
    let highest = LIQUID * reference.critical.temperature;
    let points = reference.saturation.iter().chain(&reference.liquid);
    points
        .filter(|point| point.temperature <= highest)
        .map(|point| {
            let found = coexistence(equation, point.temperature, point.pressure);
            let deviation = found.map_or(f64::NAN, |(_, density)| {
                density / point.liquid_density - 1.0
            });
            (point.temperature, deviation)
        })
        .collect()
}

fn fugacities<'a>(reference: &'a Reference, equation: &'a Cubic) -> impl Iterator<Item = f64> + 'a {
    let pressure = reference.critical.pressure;
    reference.supercritical.iter().map(move |point| {
        let isotherm = equation.at(point.temperature, &[1.0]);
        let found = isotherm.densities(pressure);
        let energy = found.map_or(f64::NAN, |found| {
            isotherm.residual_gibbs_energy(found.vapour, pressure)
        });
        energy - point.ln_coefficient
    })
}

/// Below this acentric factor the molecules of a gas are waves, for which alpha need not be consistent.
const QUANTUM: f64 = -0.1;

/// How far alpha is from falling, convex, with a falling curvature, at reduced temperatures from 0.3 to 10.
fn inconsistencies(attraction: Attraction) -> impl Iterator<Item = f64> {
    const STEP: f64 = 1e-3;
    evenly(0.3_f64.ln(), 10_f64.ln(), 30).flat_map(move |ln_reduced| {
        let reduced = ln_reduced.exp();
        let at = |shift: f64| attraction.alpha(reduced + shift * STEP);
        let (a, b, c, d) = (at(-1.5), at(-0.5), at(0.5), at(1.5));
        let first = (c - b) / STEP;
        let second = (d - c - b + a) / (2.0 * STEP * STEP);
        let third = (d - 3.0 * (c - b) - a) / STEP.powi(3);
        [first.max(0.0), (-second).max(0.0), third.max(0.0)]
    })
}

/// The constants that fit a reference best.
pub fn fit(reference: &Reference) -> std::result::Result<Fitted, String> {
    let residuals = |at: &[f64]| -> Vec<f64> {
        let constants = [at[0], at[1], at[2]];
        let equation = equation(reference, constants, 0.0);
        let [l, m, n] = constants;
        let pressures = vapour_pressures(reference, &equation);
        let pressures = pressures.into_iter().map(|(_, d)| d / VAPOUR_PRESSURE);
        let fugacities = fugacities(reference, &equation).map(|d| d / FUGACITY_COEFFICIENT);
        let classical = reference.critical.acentric_factor > QUANTUM;
        let breaches = inconsistencies(Attraction::Twu { l, m, n }).map(|d| d / CONSISTENCY);
        pressures
            .chain(fugacities)
            .chain(breaches.filter(|_| classical))
            .collect()
    };
    let found = minimize(&start(reference.critical.acentric_factor), residuals)
        .map_err(|error| format!("{}: {error}", reference.name))?;
    let constants = [found[0], found[1], found[2]].map(|constant| rounded(constant, 6));
    let raw = equation(reference, constants, 0.0);
    let volumes = reference.liquid.iter().map(|point| {
        let (_, density) = coexistence(&raw, point.temperature, point.pressure)
            .ok_or_else(|| format!("{}: no liquid", reference.name))?;
        Ok(1.0 / density - 1.0 / point.liquid_density)
    });
    let volumes = volumes.collect::<std::result::Result<Vec<f64>, String>>()?;
    let translation = rounded(volumes.iter().sum::<f64>() / volumes.len() as f64, 10);
    let equation = equation(reference, constants, translation);
    let pressures = vapour_pressures(reference, &equation);
    if pressures.iter().any(|(_, deviation)| deviation.is_nan()) {
        return Err(format!(
            "{}: no equilibrium at some temperature",
            reference.name
        ));
    }
    Ok(Fitted {
        vapour_pressure: Deviation::of(&pressures),
        liquid_density: Deviation::of(&liquid_densities(reference, &equation)),
        substance: equation.substances()[0].clone(),
    })
}

/// Start values by the acentric factor: with these m and n the constant l gives Soave's slope at the critical point.
fn start(acentric_factor: f64) -> [f64; 3] {
    // d ln(alpha)/d ln(T_r) at T_r = 1 is n (m - 1) - l n m; Soave's is -soave.
    let (m, n) = (0.85, 1.6);
    let soave = 0.37464 + acentric_factor * (1.54226 - acentric_factor * 0.26992);
    [(soave + n * (m - 1.0)) / (n * m), m, n]
}

/// A number with so many decimals.
fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (value * scale).round() / scale
}

/// Source of vapour pressure and density in words.
fn described(reference: &Reference) -> String {
    if reference.against == reference.density_against {
        format!("the {}", reference.against)
    } else {
        format!("{} and {}", reference.against, reference.density_against)
    }
}

impl Fitted {
    /// The block of the data file.
    pub fn to_json(&self, reference: &Reference) -> String {
        let substance = &self.substance;
        let Attraction::Twu { l, m, n } = substance.attraction else {
            unreachable!("the fit is of Twu's form")
        };
        let Range {
            temperature_min,
            temperature_max,
            ..
        } = reference.valid;
        let deviation = |deviation: &Deviation, against: &str| {
            format!(
                "{{ \"against\": \"{}\", \"T_min / K\": {:.2}, \"T_max / K\": {:.2}, \"mean\": {:.5}, \"greatest\": {:.5} }}",
                against,
                deviation.temperatures[0],
                deviation.temperatures[1],
                deviation.mean,
                deviation.greatest
            )
        };
        format!(
            r#"{{
    "name": "translated equation of Peng and Robinson 1976",
    "source": {{
      "authors": "Peng, D.-Y.; Robinson, D. B.",
      "title": "A new two-constant equation of state",
      "journal": "Ind. Eng. Chem. Fundam. 15, 59-64",
      "year": 1976,
      "doi": "10.1021/i160057a011",
      "note": "Constants of alpha and translation fitted by this project to {}.{}"
    }},
    "valid": {{ "T_min / K": {temperature_min:?}, "T_max / K": {temperature_max:?}, "p_max / Pa": {HIGHEST_PRESSURE:?} }},
    "T_critical / K": {:?},
    "p_critical / Pa": {:?},
    "acentric_factor": {:.5},
    "alpha": {{ "form": "Twu 1991", "L": {l:?}, "M": {m:?}, "N": {n:?} }},
    "translation / (m3/mol)": {:e},
    "vapour_pressure": {},
    "liquid_density": {}
  }}"#,
            described(reference),
            reference.note,
            substance.critical.temperature,
            substance.critical.pressure,
            substance.critical.acentric_factor,
            substance.translation,
            deviation(&self.vapour_pressure, &reference.against),
            deviation(&self.liquid_density, &reference.density_against),
        )
    }
}

impl fmt::Display for Fitted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{:<28} vapour pressure {:.2} % (greatest {:.2}), liquid density {:.2} % (greatest {:.2})",
            self.substance.name,
            100.0 * self.vapour_pressure.mean,
            100.0 * self.vapour_pressure.greatest,
            100.0 * self.liquid_density.mean,
            100.0 * self.liquid_density.greatest,
        )
    }
}

/// An oscillator of a temperature in K as low as this has all its energy at every temperature asked.
const CLASSICAL: f64 = 50.0;

impl Correlated {
    /// The block of the ideal gas.
    pub fn ideal_gas_block(&self) -> std::result::Result<String, String> {
        let oscillators = ideal::fit(&self.ideal_gas)?;
        let source = &self.ideal_gas.source;
        let values = || self.ideal_gas.values.iter();
        let temperatures = || values().map(|[temperature, _]| *temperature);
        let worst = values().fold(0.0_f64, |worst, [temperature, value]| {
            let found = ideal::heat_capacity(&oscillators, *temperature) * MOLAR_GAS_CONSTANT;
            worst.max((found / value - 1.0).abs())
        });
        let (slow, fast): (Vec<[f64; 2]>, Vec<[f64; 2]>) = oscillators
            .iter()
            .partition(|[_, theta]| *theta < CLASSICAL);
        let constant = ideal::RIGID + slow.iter().map(|[n, _]| n).sum::<f64>();
        let pairs: Vec<String> = fast
            .iter()
            .map(|[n, theta]| format!("[{n:?}, {theta:?}]"))
            .collect();
        Ok(format!(
            r#"{{
    "source": {{
      "authors": "{}",
      "title": "{}",
      "journal": "{}",
      "year": {},
      "note": "{} Refitted by this project within {:.2} %."
    }},
    "molar_mass / (kg/mol)": {:?},
    "T_range / K": [{:?}, {:?}],
    "constant": {:?},
    "planck_einstein (n, theta / K)": [{}],
    "uncertainty": {:?}
  }}"#,
            source.authors,
            source.title,
            source.journal,
            source.year,
            source.note,
            100.0 * worst,
            self.molar_mass,
            temperatures().fold(f64::INFINITY, f64::min),
            temperatures().fold(0.0, f64::max),
            rounded(constant, 5),
            pairs.join(", "),
            self.ideal_gas.uncertainty
        ))
    }
}
