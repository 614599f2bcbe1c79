//! The heat capacity of an ideal gas as a sum of oscillators.

use densepath_fluid::consts::MOLAR_GAS_CONSTANT;

use super::least_squares::minimize;
use super::measurement::IdealGas;

/// `c_p0/R` of a molecule that translates and rotates.
pub const RIGID: f64 = 4.0;

/// Pairs of a number of oscillators and their temperature in K.
pub fn fit(gas: &IdealGas) -> Result<Vec<[f64; 2]>, String> {
    let start: Vec<f64> = gas
        .start
        .iter()
        .flat_map(|theta| [3.0, (theta / 1000.0).ln()])
        .collect();
    let found = minimize(&start, |at| {
        let values = gas.values.iter();
        values
            .map(|[temperature, value]| {
                1e3 * (heat_capacity(&oscillators(at), *temperature) * MOLAR_GAS_CONSTANT / value
                    - 1.0)
            })
            .collect()
    })?;
    Ok(oscillators(&found)
        .into_iter()
        .map(|[n, theta]| [rounded(n, 5), rounded(theta, 2)])
        .collect())
}

fn oscillators(at: &[f64]) -> Vec<[f64; 2]> {
    at.chunks(2)
        .map(|pair| [pair[0], 1000.0 * pair[1].exp()])
        .collect()
}

fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (value * scale).round() / scale
}

/// `c_p0/R` (Einstein's function of each oscillator).
pub fn heat_capacity(oscillators: &[[f64; 2]], temperature: f64) -> f64 {
    let parts = oscillators.iter().map(|[n, theta]| {
        let x = theta / temperature;
        let half = (0.5 * x).sinh();
        n * x * x / (4.0 * half * half)
    });
    RIGID + parts.sum::<f64>()
}
