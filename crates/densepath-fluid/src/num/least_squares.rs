//! Linear least squares, with what a fit must tell of itself: covariance, residuals, leverages.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use nalgebra::{DMatrix, DVector};

/// Share of a column's length that must not be made up by the columns before it.
const INDEPENDENT: f64 = 1e-9;

/// A column of the design that the columns before it make up, by its index.
///
/// ```
/// use densepath_fluid::num::least_squares::{Dependent, linear};
/// // Twice the same column: the temperatures of all runs were equal.
/// assert_eq!(linear(&[vec![1.0; 3], vec![2.0; 3]], &[1.0, 2.0, 3.0]), Err(Dependent(1)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dependent(pub usize);

/// The parameters that make the sum of the squared residuals smallest.
///
/// ```
/// use densepath_fluid::num::least_squares::linear;
/// let line = linear(&[vec![1.0; 3], vec![0.0, 1.0, 2.0]], &[1.0, 3.0, 5.0]).map_err(|found| found.0);
/// // 1 + 2 x; the leverages sum to the number of parameters.
/// assert!(line.as_ref().is_ok_and(|line| (line.parameters[1] - 2.0).abs() < 1e-12));
/// assert!(line.is_ok_and(|line| (line.leverages.iter().sum::<f64>() - 2.0).abs() < 1e-12));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LeastSquares {
    /// One parameter a column.
    pub parameters: Vec<f64>,
    /// Covariance of the parameters for measurements of variance 1, one row a parameter.
    pub covariance: Vec<Vec<f64>>,
    /// Values less the fit.
    pub residuals: Vec<f64>,
    /// Leverage of each value on its own fit, between 0 and 1; they sum to the number of parameters.
    pub leverages: Vec<f64>,
}

impl LeastSquares {
    /// Sum of the squared residuals.
    ///
    /// ```
    /// use densepath_fluid::num::least_squares::linear;
    /// // The mean of 1 and 3 leaves 1 and 1.
    /// let mean = linear(&[vec![1.0; 2]], &[1.0, 3.0]);
    /// assert!(mean.is_ok_and(|mean| (mean.sum_of_squares() - 2.0).abs() < 1e-12));
    /// ```
    pub fn sum_of_squares(&self) -> f64 {
        self.residuals.iter().map(|r| r * r).sum()
    }
}

/// Parameters p of the columns `a_j` that bring `sum over j of p_j a_j` nearest to the values.
///
/// By the factors Q and R of the columns scaled to length 1. The first column that the ones before it make up, or that is
/// zero or longer than the rows allow, is named as dependent.
///
/// *Source*: G. H. Golub and C. F. Van Loan, Matrix Computations, 3rd ed., Johns Hopkins 1996, ch. 5 (from memory).
///
/// ```
/// use densepath_fluid::num::least_squares::linear;
/// // ln k of three runs against 1/T: a van't Hoff line.
/// let inverse = [1.0 / 303.15, 1.0 / 313.15, 1.0 / 323.15];
/// let log_k = inverse.map(|x| -4.0 + 1500.0 * x);
/// let line = linear(&[vec![1.0; 3], inverse.to_vec()], &log_k);
/// assert!(line.is_ok_and(|line| (line.parameters[1] - 1500.0).abs() < 1e-6));
/// ```
pub fn linear(columns: &[Vec<f64>], values: &[f64]) -> Result<LeastSquares, Dependent> {
    let (rows, count) = (values.len(), columns.len());
    if count > rows {
        return Err(Dependent(rows));
    }
    let lengths: Vec<f64> = columns.iter().map(|column| length(column)).collect();
    let design = DMatrix::from_fn(rows, count, |i, j| {
        columns[j].get(i).copied().unwrap_or(0.0) / lengths[j]
    });
    let factors = design.clone().qr();
    let (q, r) = (factors.q(), factors.r());
    for j in 0..count {
        let alone = r[(j, j)].abs();
        if alone.is_nan() || alone < INDEPENDENT {
            return Err(Dependent(j));
        }
    }
    let target = DVector::from_column_slice(values);
    let last = Dependent(count.saturating_sub(1));
    let scaled = r.solve_upper_triangular(&q.tr_mul(&target)).ok_or(last)?;
    let inverse = r
        .solve_upper_triangular(&DMatrix::identity(count, count))
        .ok_or(last)?;
    let spread = &inverse * inverse.transpose();
    let residuals = target - &design * &scaled;
    Ok(LeastSquares {
        parameters: (0..count).map(|j| scaled[j] / lengths[j]).collect(),
        covariance: (0..count)
            .map(|i| {
                (0..count)
                    .map(|j| spread[(i, j)] / (lengths[i] * lengths[j]))
                    .collect()
            })
            .collect(),
        residuals: residuals.iter().copied().collect(),
        leverages: q.row_iter().map(|row| row.norm_squared()).collect(),
    })
}

/// Length of a column; that of a zero column is not a number, so that it is found to be dependent.
fn length(column: &[f64]) -> f64 {
    let length = column.iter().map(|a| a * a).sum::<f64>().sqrt();
    if length > 0.0 { length } else { f64::NAN }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_has_its_textbook_parameters() {
        // Mean and slope by hand: x = 0..4, y = 1, 3, 2, 5, 4; slope 0.8, intercept 1.4, s^2 = 3.6/3.
        let x: Vec<f64> = (0..5).map(f64::from).collect();
        let fit = linear(&[vec![1.0; 5], x.clone()], &[1.0, 3.0, 2.0, 5.0, 4.0]).unwrap();
        assert!((fit.parameters[0] - 1.4).abs() < 1e-14);
        assert!((fit.parameters[1] - 0.8).abs() < 1e-14);
        assert!((fit.sum_of_squares() - 3.6).abs() < 1e-13);
        // Variance of the slope 1/sum (x - mean)^2, of the intercept 1/n + mean^2/sum.
        assert!((fit.covariance[1][1] - 0.1).abs() < 1e-15);
        assert!((fit.covariance[0][0] - 0.6).abs() < 1e-14);
        assert!((fit.covariance[0][1] + 0.2).abs() < 1e-14);
        let leverages = [0.6, 0.3, 0.2, 0.3, 0.6];
        for (ours, expected) in fit.leverages.iter().zip(leverages) {
            assert!((ours - expected).abs() < 1e-14);
        }
    }

    #[test]
    fn a_column_that_the_others_make_up_is_named() {
        let ones = vec![1.0; 4];
        let x = vec![1.0, 2.0, 3.0, 4.0];
        let sum: Vec<f64> = x.iter().map(|x| 2.0 + 3.0 * x).collect();
        let y = [1.0, 2.0, 2.0, 3.0];
        assert_eq!(
            linear(&[ones.clone(), x.clone(), sum], &y),
            Err(Dependent(2))
        );
        assert_eq!(linear(&[ones.clone(), vec![0.0; 4]], &y), Err(Dependent(1)));
        assert_eq!(linear(&[ones.clone(), ones], &y[..1]), Err(Dependent(1)));
    }
}
