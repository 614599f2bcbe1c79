//! Polynomials of degree seven in two variables through values in the zeros of the Chebyshev polynomial.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use core::f64::consts::{FRAC_1_SQRT_2, PI};

use super::lanes::Coefficients;

/// Coefficients in each variable: one more than the degree.
pub(crate) const NODES: usize = 8;
const HALF: usize = NODES / 2;
/// Places in each variable at which a polynomial is compared with what it stands for: the ends and points between the nodes, where the
/// error of interpolation is greatest.
pub(crate) const CHECKS: [f64; 5] = [-1.0, -FRAC_1_SQRT_2, 0.0, FRAC_1_SQRT_2, 1.0];

/// Numbers by two indices.
pub(crate) type Square = [[f64; NODES]; NODES];

/// Interpolation in the zeros of the Chebyshev polynomial of the first kind (textbook knowledge).
#[derive(Debug)]
pub(crate) struct Basis {
    /// Where the values are asked for, between -1 and 1.
    pub(crate) nodes: [f64; NODES],
    /// For each Chebyshev polynomial the weights of the values at the nodes.
    weights: Square,
    /// For each power its coefficient in each Chebyshev polynomial.
    powers: Square,
}

impl Basis {
    pub(crate) fn new() -> Self {
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
            nodes: core::array::from_fn(|node| angle(node).cos()),
            weights: core::array::from_fn(|order| core::array::from_fn(|node| weight(order, node))),
            powers: transposed(&polynomials),
        }
    }

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

fn transposed(square: &Square) -> Square {
    core::array::from_fn(|i| square.map(|row| row[i]))
}
