//! Phases of two substances near states that are known roughly: Newton's methods that start from a measurement.
//!
//! The equations of equilibrium are solved in the logarithms of amounts per volume, in which a fit changes little from one
//! set of parameters to the next.

use densepath_fluid::consts::MOLAR_GAS_CONSTANT;
use densepath_fluid::eos::mixture::{MixtureIsotherm, MixtureModel};
use nalgebra::{Matrix3, Vector3};

/// Steps of Newton's method at most.
const STEPS: u32 = 40;
/// Largest step in the logarithm of an amount per volume.
const LARGEST_STEP: f64 = 0.25;
/// Residual at which equations count as solved.
const SOLVED: f64 = 1e-10;
/// Difference of both phases, in the logarithm of an amount per volume, below which they count as one.
const SAME: f64 = 1e-3;

/// One phase: pressure over RT, potentials over RT with the ideal part, and the derivatives of both in the logarithms of the
/// amounts per volume.
struct Phase {
    reduced_pressure: f64,
    pressure_slopes: [f64; 2],
    potentials: [f64; 2],
    /// `d mu_i / d ln rho_j`.
    slopes: [[f64; 2]; 2],
}

impl Phase {
    fn new(model: &dyn MixtureModel, temperature: f64, amounts: [f64; 2]) -> Option<Self> {
        let [first, second] = amounts;
        let density = first + second;
        let fraction = first / density;
        let isotherm = model.at(temperature, &[fraction, 1.0 - fraction]);
        if density.is_nan() || density >= isotherm.molar_density_max() {
            return None;
        }
        let derivatives = isotherm.potential_derivatives(density);
        let [psi_1, psi_2] = pair(&derivatives.potentials)?;
        let [c_11, c_12, _, c_22] = *derivatives.curvatures.first_chunk::<4>()?;
        let slopes = [
            [1.0 + first * c_11, second * c_12],
            [first * c_12, 1.0 + second * c_22],
        ];
        // The equation of Gibbs and Duhem: d(p/RT) = sum rho_i dmu_i.
        let slope = |j: usize| first * slopes[0][j] + second * slopes[1][j];
        Some(Self {
            reduced_pressure: density * (1.0 + isotherm.density_derivatives(density).a_d),
            pressure_slopes: [slope(0), slope(1)],
            potentials: [first.ln() + psi_1, second.ln() + psi_2],
            slopes,
        })
    }
}

fn pair(values: &[f64]) -> Option<[f64; 2]> {
    values.first_chunk::<2>().copied()
}

/// The thermodynamic factor `1 + x_1 (d ln phi_1/dx_1)_T,p` at a molar density in mol/m3: 1 where fugacities are in proportion
/// to the amounts, zero where the mixture is about to part.
pub fn mixing_factor(isotherm: &dyn MixtureIsotherm, density: f64) -> f64 {
    let fraction = isotherm
        .amount_fractions()
        .first()
        .copied()
        .unwrap_or(f64::NAN);
    let [like, unlike] = pair(&isotherm.fugacity(density).d_amounts).unwrap_or([f64::NAN; 2]);
    1.0 + fraction * (like - unlike)
}

/// Molar density in mol/m3 of a gas so thin that `(Z - 1) / rho` is the second virial coefficient to ten digits.
const THIN: f64 = 1e-6;

/// The second virial coefficient of the unlike pair in m3/mol as a mixture tells it:
/// `B = x_1^2 B_11 + 2 x_1 x_2 B_12 + x_2^2 B_22`, where of a gas `B_12` does not depend on composition.
pub fn cross_virial(model: &dyn MixtureModel, temperature: f64, fraction: f64) -> f64 {
    let of = |x: f64| {
        let isotherm = model.at(temperature, &[x, 1.0 - x]);
        isotherm.density_derivatives(THIN).a_d / THIN
    };
    let (x, y) = (fraction, 1.0 - fraction);
    (of(x) - x * x * of(1.0) - y * y * of(0.0)) / (2.0 * x * y)
}

/// Where a mixture of given composition is in equilibrium with a first trace of another phase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Boundary {
    /// Pressure in Pa.
    pub pressure: f64,
    /// Logarithm of the molar density of the mixture in mol/m3.
    pub ln_density: f64,
    /// Logarithms of the amounts per volume in the other phase.
    pub ln_other: [f64; 2],
}

impl Boundary {
    /// Amount fraction of the first substance in the other phase.
    pub fn other_fraction(&self) -> f64 {
        1.0 / (1.0 + (self.ln_other[1] - self.ln_other[0]).exp())
    }
}

/// The boundary of a mixture at a temperature in K from a start.
pub fn boundary(
    model: &dyn MixtureModel,
    temperature: f64,
    fraction: f64,
    start: Boundary,
) -> Option<Boundary> {
    let mut unknown = Vector3::new(start.ln_density, start.ln_other[0], start.ln_other[1]);
    for _ in 0..STEPS {
        let density = unknown[0].exp();
        let mixture = Phase::new(
            model,
            temperature,
            [density * fraction, density * (1.0 - fraction)],
        )?;
        let other = Phase::new(model, temperature, [unknown[1].exp(), unknown[2].exp()])?;
        let scale = mixture.reduced_pressure.abs().max(1e-3 * density);
        let residual = Vector3::new(
            mixture.potentials[0] - other.potentials[0],
            mixture.potentials[1] - other.potentials[1],
            (mixture.reduced_pressure - other.reduced_pressure) / scale,
        );
        if residual.amax() < SOLVED {
            let apart = (start_difference(&unknown, fraction)).abs();
            let pressure = other.reduced_pressure * MOLAR_GAS_CONSTANT * temperature;
            return (apart > SAME && pressure > 0.0).then_some(Boundary {
                pressure,
                ln_density: unknown[0],
                ln_other: [unknown[1], unknown[2]],
            });
        }
        let along = |phase: &Phase, i: usize| phase.slopes[i][0] + phase.slopes[i][1];
        let jacobian = Matrix3::new(
            along(&mixture, 0),
            -other.slopes[0][0],
            -other.slopes[0][1],
            along(&mixture, 1),
            -other.slopes[1][0],
            -other.slopes[1][1],
            (mixture.pressure_slopes[0] + mixture.pressure_slopes[1]) / scale,
            -other.pressure_slopes[0] / scale,
            -other.pressure_slopes[1] / scale,
        );
        let step = jacobian.lu().solve(&-residual)?;
        let size = step.amax();
        if !size.is_finite() {
            return None;
        }
        unknown += step * (LARGEST_STEP / size).min(1.0);
    }
    None
}

/// The larger difference of the logarithms of the amounts per volume between both phases.
fn start_difference(unknown: &Vector3<f64>, fraction: f64) -> f64 {
    let first = unknown[0] + fraction.ln() - unknown[1];
    let second = unknown[0] + (1.0 - fraction).ln() - unknown[2];
    if first.abs() > second.abs() {
        first
    } else {
        second
    }
}

/// A trial of the phase that a mixture would boil into at a measured pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// A start for [`boundary`].
    pub start: Boundary,
    /// Logarithm of the sum of the trial's amounts: near the logarithm of the bubble pressure over the pressure, away from
    /// the critical line.
    pub ln_sum: f64,
}

/// Substitutions of the trial.
const SUBSTITUTIONS: u32 = 12;

/// The trial of a vapour at a temperature in K and a pressure in Pa.
pub fn trial(
    model: &dyn MixtureModel,
    temperature: f64,
    pressure: f64,
    fraction: f64,
) -> Option<Trial> {
    let mixture = model.at(temperature, &[fraction, 1.0 - fraction]);
    let density = mixture.densities(pressure).ok()?.liquid;
    let [phi_1, phi_2] = pair(&mixture.ln_fugacity_coefficients(density, pressure))?;
    let (f_1, f_2) = (fraction.ln() + phi_1, (1.0 - fraction).ln() + phi_2);
    let mut y = 0.98;
    let mut sum = 1.0;
    let mut vapour = 0.0;
    for _ in 0..SUBSTITUTIONS {
        let isotherm = model.at(temperature, &[y, 1.0 - y]);
        vapour = isotherm.densities(pressure).ok()?.vapour;
        let [psi_1, psi_2] = pair(&isotherm.ln_fugacity_coefficients(vapour, pressure))?;
        let (w_1, w_2) = ((f_1 - psi_1).exp(), (f_2 - psi_2).exp());
        sum = w_1 + w_2;
        y = (w_1 / sum).clamp(1e-9, 1.0 - 1e-12);
    }
    let ln_other = [(vapour * y).ln(), (vapour * (1.0 - y)).ln()];
    let start = Boundary {
        pressure,
        ln_density: density.ln(),
        ln_other,
    };
    (sum.is_finite()).then_some(Trial {
        start,
        ln_sum: sum.ln(),
    })
}

/// A point of the critical line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Critical {
    /// Amount fraction of the first substance.
    pub fraction: f64,
    /// Logarithm of the molar density in mol/m3.
    pub ln_density: f64,
    /// Pressure in Pa.
    pub pressure: f64,
}

/// The smallest eigenvalue of the stability and the cubic form along its direction, turned towards the first substance.
fn criticality(model: &dyn MixtureModel, temperature: f64, at: [f64; 2]) -> Option<[f64; 2]> {
    let [fraction, ln_density] = at;
    let fractions = [fraction, 1.0 - fraction];
    let isotherm = model.at(temperature, &fractions);
    let density = ln_density.exp();
    if density.is_nan() || density >= isotherm.molar_density_max() {
        return None;
    }
    let (eigenvalue, direction) = isotherm.softest(density);
    let [u, v] = pair(&direction)?;
    let [u, v] = if u < 0.0 { [-u, -v] } else { [u, v] };
    let change = [fraction.sqrt() * u, (1.0 - fraction).sqrt() * v];
    let ideal = u.powi(3) / fraction.sqrt() + v.powi(3) / (1.0 - fraction).sqrt();
    let residual = isotherm.third_derivative(density, &change);
    Some([eigenvalue, density * density * residual - ideal])
}

/// The critical point at a temperature in K near a composition and a density.
pub fn critical(model: &dyn MixtureModel, temperature: f64, start: Critical) -> Option<Critical> {
    let mut at = [start.fraction, start.ln_density];
    for _ in 0..STEPS {
        let [f, g] = criticality(model, temperature, at)?;
        if f.abs() < 1e-9 && g.abs() < 1e-7 {
            let isotherm = model.at(temperature, &[at[0], 1.0 - at[0]]);
            return Some(Critical {
                fraction: at[0],
                ln_density: at[1],
                pressure: isotherm.pressure(at[1].exp()),
            });
        }
        let step = 1e-6;
        let [f_x, g_x] = criticality(model, temperature, [at[0] + step, at[1]])?;
        let [f_d, g_d] = criticality(model, temperature, [at[0], at[1] + step])?;
        let slopes = [
            (f_x - f) / step,
            (f_d - f) / step,
            (g_x - g) / step,
            (g_d - g) / step,
        ];
        let determinant = slopes[0] * slopes[3] - slopes[1] * slopes[2];
        let d_x = (slopes[1] * g - slopes[3] * f) / determinant;
        let d_d = (slopes[2] * f - slopes[0] * g) / determinant;
        if !d_x.is_finite() || !d_d.is_finite() {
            return None;
        }
        let room = (0.5 * at[0].min(1.0 - at[0])).min(0.05);
        let damping = (room / d_x.abs()).min(0.1 / d_d.abs()).min(1.0);
        at = [at[0] + damping * d_x, at[1] + damping * d_d];
    }
    None
}

/// The molar density in mol/m3 at a pressure in Pa by Newton's method from a start, with the slope of pressure.
pub fn density(isotherm: &dyn MixtureIsotherm, pressure: f64, start: f64) -> Option<f64> {
    let highest = isotherm.molar_density_max();
    let mut density = start;
    for _ in 0..STEPS {
        if !(density > 0.0 && density < highest) {
            return None;
        }
        let slope = isotherm.dp_drho(density);
        if slope <= 0.0 {
            return None;
        }
        let step = (pressure - isotherm.pressure(density)) / slope;
        let bounded = step.clamp(-0.1 * density, 0.1 * density);
        density += bounded;
        if step.abs() < 1e-11 * density {
            return Some(density);
        }
    }
    None
}

/// Step in K by which the critical line is followed.
const LINE_STEP: f64 = 2.0;

/// The critical line from the first substance on, at rising temperatures in K, as far as it can be followed.
pub fn line(model: &dyn MixtureModel, temperatures: &[f64]) -> Vec<(f64, Critical)> {
    let alone = model.critical_constants(0);
    let Some(mut point) = critical_start(model, alone.temperature) else {
        return Vec::new();
    };
    let mut at = alone.temperature + LINE_STEP;
    let mut found = Vec::new();
    for wanted in temperatures {
        while at + LINE_STEP < *wanted {
            at += LINE_STEP;
            let Some(next) = critical(model, at, point) else {
                return found;
            };
            point = next;
        }
        let Some(next) = critical(model, *wanted, point) else {
            return found;
        };
        found.push((*wanted, next));
    }
    found
}

/// The critical point just above the critical temperature of the first substance.
fn critical_start(model: &dyn MixtureModel, temperature: f64) -> Option<Critical> {
    let alone = model.critical_constants(0);
    let isotherm = model.at(temperature * 1.0005, &[1.0, 0.0]);
    let density = isotherm.densities(alone.pressure * 1.01).ok()?.liquid;
    [0.995, 0.99, 0.985, 0.98, 0.97, 0.96]
        .iter()
        .find_map(|fraction| {
            let start = Critical {
                fraction: *fraction,
                ln_density: density.ln(),
                pressure: alone.pressure,
            };
            critical(model, temperature + LINE_STEP, start).filter(|found| found.fraction > 0.9)
        })
}
