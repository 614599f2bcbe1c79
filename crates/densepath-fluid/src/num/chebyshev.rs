//! Polynomials in one variable, and of degree seven in two, through values in the zeros of the Chebyshev polynomial.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use core::f64::consts::{FRAC_1_SQRT_2, PI};

use super::lanes::Coefficients;

/// Coefficients in each of two variables: one more than the degree.
pub(crate) const NODES: usize = 8;
const HALF: usize = NODES / 2;
/// Places in each variable at which a polynomial is compared with what it stands for: the ends and points between the nodes, where the
/// error of interpolation is greatest.
pub(crate) const CHECKS: [f64; 5] = [-1.0, -FRAC_1_SQRT_2, 0.0, FRAC_1_SQRT_2, 1.0];

/// Numbers by two indices.
pub(crate) type Square<const N: usize = NODES> = [[f64; N]; N];

/// Interpolation in the zeros of the Chebyshev polynomial of the first kind (textbook knowledge).
#[derive(Debug)]
pub(crate) struct Basis<const N: usize = NODES> {
    /// Where the values are asked for, between -1 and 1.
    pub(crate) nodes: [f64; N],
    /// For each Chebyshev polynomial the weights of the values at the nodes.
    weights: Square<N>,
    /// For each power its coefficient in each Chebyshev polynomial.
    powers: Square<N>,
}

impl<const N: usize> Basis<N> {
    pub(crate) fn new() -> Self {
        let count = N as f64;
        // The cosine of a multiple of a node's angle, less whole turns, which would cost digits.
        let cosine = |order: usize, node: usize| {
            (PI * (order * (2 * node + 1) % (4 * N)) as f64 / (2.0 * count)).cos()
        };
        let weight = |order: usize, node: usize| {
            let share = if order == 0 { 1.0 } else { 2.0 } / count;
            share * cosine(order, node)
        };
        // T_m = 2 x T_(m-1) - T_(m-2), from T_0 = 1 and T_(-1) = x.
        let mut polynomials = [[0.0; N]; N];
        let (mut before, mut current) = ([0.0; N], [0.0; N]);
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
            nodes: core::array::from_fn(|node| cosine(1, node)),
            weights: core::array::from_fn(|order| core::array::from_fn(|node| weight(order, node))),
            powers: transposed(&polynomials),
        }
    }

    /// The coefficients, by the power, of values by the node.
    pub(crate) fn line(&self, values: &[f64; N]) -> [f64; N] {
        let product = |matrix: &Square<N>, column: &[f64; N]| {
            let dot = |row: &[f64; N]| row.iter().zip(column).map(|(a, b)| a * b).sum();
            core::array::from_fn(|place| dot(&matrix[place]))
        };
        product(&self.powers, &product(&self.weights, values))
    }
}

impl Basis {
    /// The coefficients, by the power of pressure and that of temperature, of values by the node of temperature and of pressure.
    pub(crate) fn coefficients(&self, values: &Square) -> Coefficients {
        let mut chebyshev = turned(&self.weights, &turned(&self.weights, values));
        // Products of two polynomials of high order are as small as what the interpolation leaves out.
        for row in chebyshev.iter_mut().skip(HALF) {
            row[HALF..].fill(0.0);
        }
        Coefficients::from(&turned(
            &self.powers,
            &turned(&self.powers, &transposed(&chebyshev)),
        ))
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

fn transposed<const N: usize>(square: &Square<N>) -> Square<N> {
    core::array::from_fn(|i| square.map(|row| row[i]))
}
