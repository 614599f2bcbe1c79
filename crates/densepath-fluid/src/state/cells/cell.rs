//! One cell: the density as a polynomial of temperature and pressure, with the error that it was found to have.

use std::f64::consts::PI;

use super::surface::{Line, Surface};
use crate::num::lanes::{Coefficients, Kind, Plain};

/// Coefficients in each variable: one more than the degree.
const NODES: usize = 8;
const HALF: usize = NODES / 2;
/// Places in each variable at which a cell is compared with the equation: ends of a cell and points between its nodes, where the
/// error of interpolation is greatest.
const CHECKS: [f64; 5] = [
    -1.0,
    -std::f64::consts::FRAC_1_SQRT_2,
    0.0,
    std::f64::consts::FRAC_1_SQRT_2,
    1.0,
];

/// A rectangle of temperatures in K and pressures in Pa.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::state) struct Area {
    pub(super) temperature: [f64; 2],
    pub(super) pressure: [f64; 2],
}

impl Area {
    fn temperature_at(&self, u: f64) -> f64 {
        between(self.temperature, u)
    }

    fn pressure_at(&self, v: f64) -> f64 {
        between(self.pressure, v)
    }

    pub(super) fn touches(&self, other: &Self) -> bool {
        let meet = |one: [f64; 2], other: [f64; 2]| one[0] <= other[1] && other[0] <= one[1];
        meet(self.temperature, other.temperature) && meet(self.pressure, other.pressure)
    }
}

fn between([low, high]: [f64; 2], place: f64) -> f64 {
    0.5 * ((low + high) + place * (high - low))
}

/// Numbers by two indices.
type Square = [[f64; NODES]; NODES];

/// Interpolation in the zeros of the Chebyshev polynomial of the first kind (textbook knowledge).
#[derive(Debug)]
pub(super) struct Basis {
    nodes: [f64; NODES],
    /// For each Chebyshev polynomial the weights of the values at the nodes.
    weights: Square,
    /// For each power its coefficient in each Chebyshev polynomial.
    powers: Square,
}

impl Basis {
    pub(super) fn new() -> Self {
        let count = NODES as f64;
        let angle = |node: usize| PI * (node as f64 + 0.5) / count;
        let weight = |order: usize, node: usize| {
            let share = if order == 0 { 1.0 } else { 2.0 } / count;
            share * (order as f64 * angle(node)).cos()
        };
        // T_m = 2 x T_(m-1) - T_(m-2), from T_0 = 1 and T_(-1) = x.
        let mut polynomials = [[0.0; NODES]; NODES];
        let (mut before, mut current) = ([0.0; NODES], [0.0; NODES]);
        (before[1], current[0]) = (1.0, 1.0);
        for polynomial in &mut polynomials {
            *polynomial = current;
            let mut next = before.map(|c: f64| -c);
            for (higher, c) in next.iter_mut().skip(1).zip(&current) {
                *higher += 2.0 * c;
            }
            (before, current) = (current, next);
        }
        Self {
            nodes: std::array::from_fn(|node| angle(node).cos()),
            weights: std::array::from_fn(|order| std::array::from_fn(|node| weight(order, node))),
            powers: transposed(&polynomials),
        }
    }

    /// The coefficients, by the power of pressure and that of temperature, of values by the node of temperature and of pressure.
    fn coefficients(&self, values: &Square) -> Square {
        let mut chebyshev = turned(&self.weights, &turned(&self.weights, values));
        // Products of two polynomials of high order are as small as what the interpolation leaves out.
        for row in chebyshev.iter_mut().skip(HALF) {
            row[HALF..].fill(0.0);
        }
        turned(&self.powers, &turned(&self.powers, &transposed(&chebyshev)))
    }
}

/// The product of a matrix with a square, transposed.
fn turned(matrix: &Square, square: &Square) -> Square {
    let mut product = [[0.0; NODES]; NODES];
    for (sums, factors) in product.iter_mut().zip(matrix) {
        for (factor, row) in factors.iter().zip(square) {
            for (sum, value) in sums.iter_mut().zip(row) {
                *sum += factor * value;
            }
        }
    }
    transposed(&product)
}

fn transposed(square: &Square) -> Square {
    std::array::from_fn(|i| square.map(|row| row[i]))
}

/// The density in a rectangle.
#[derive(Debug)]
#[repr(align(64))]
pub(super) struct Cell {
    /// Of the powers of the reduced pressure and, in each row, of the reduced temperature.
    coefficients: Coefficients,
    /// Middle of the temperatures and reciprocal of half their width.
    temperature: [f64; 2],
    pressure: [f64; 2],
}

impl Cell {
    /// The cell of a rectangle that holds one phase, with the greatest relative error that was found in it; nothing where the
    /// equation gives no smooth density.
    pub(super) fn fit<S: Surface>(fluid: S, area: &Area, basis: &Basis) -> Option<(Self, f64)> {
        let values = nodes(fluid, area, basis)?;
        let middle = |[low, high]: [f64; 2]| [0.5 * (low + high), 2.0 / (high - low)];
        let cell = Self {
            coefficients: Coefficients::from(&basis.coefficients(&values)),
            temperature: middle(area.temperature),
            pressure: middle(area.pressure),
        };
        let error = cell.error(fluid, area)?;
        Some((cell, error))
    }

    /// The density in kg/m3 by the equation itself, from that of the polynomial.
    pub(super) fn polished<S: Surface>(
        &self,
        fluid: S,
        temperature: f64,
        pressure: f64,
    ) -> Option<f64> {
        let isotherm = fluid.line(temperature);
        let mut density = self.density(Plain, temperature, pressure);
        isotherm.sweep(&[pressure], std::slice::from_mut(&mut density))?;
        Some(density)
    }

    /// Greatest relative difference from the equation at the places of comparison.
    fn error<S: Surface>(&self, fluid: S, area: &Area) -> Option<f64> {
        let pressures = CHECKS.map(|v| area.pressure_at(v));
        let mut greatest = 0.0_f64;
        for u in CHECKS {
            let temperature = area.temperature_at(u);
            let isotherm = fluid.line(temperature);
            let mut densities =
                pressures.map(|pressure| self.density(Plain, temperature, pressure));
            greatest = greatest.max(isotherm.sweep(&pressures, &mut densities)?);
        }
        Some(greatest)
    }

    /// Density in kg/m3 at a temperature in K and a pressure in Pa inside the rectangle.
    #[inline(always)]
    pub(super) fn density<K: Kind>(&self, kind: K, temperature: f64, pressure: f64) -> f64 {
        let u = (temperature - self.temperature[0]) * self.temperature[1];
        let v = (pressure - self.pressure[0]) * self.pressure[1];
        kind.polynomial(&self.coefficients, u, v)
    }
}

/// The densities at the nodes, for each temperature those of all pressures.
///
/// The first isotherm starts from its two ends, each further one from the one before. Its ends, and those of the last one, come
/// from the safe solver, which knows the stable phase: a sheet of densities that rises with pressure everywhere and meets the stable
/// phase at its corners is that phase.
fn nodes<S: Surface>(fluid: S, area: &Area, basis: &Basis) -> Option<[[f64; NODES]; NODES]> {
    let pressures = basis.nodes.map(|v| area.pressure_at(v));
    let [first, last] = [pressures[0], pressures[NODES - 1]];
    let mut before: Option<[f64; NODES]> = None;
    let mut values = [[0.0; NODES]; NODES];
    for (index, (row, u)) in values.iter_mut().zip(basis.nodes).enumerate() {
        let isotherm = fluid.line(area.temperature_at(u));
        let exact = |pressure| isotherm.exact(pressure);
        *row = if let Some(before) = before {
            before
        } else {
            let [one, other] = [exact(first)?, exact(last)?];
            pressures.map(|p| one + (other - one) * (p - first) / (last - first))
        };
        isotherm.sweep(&pressures, row)?;
        if index == NODES - 1 {
            let differs = |density: f64, exact: f64| (density / exact - 1.0).abs() > 1e-9;
            if differs(row[0], exact(first)?) || differs(row[NODES - 1], exact(last)?) {
                return None;
            }
        }
        before = Some(*row);
    }
    Some(values)
}
