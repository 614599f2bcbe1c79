//! Least squares with few unknowns: Levenberg and Marquardt, derivatives by central differences.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt, TerminationReason};
use nalgebra::{DMatrix, DVector, Dyn, Owned};

/// Step of the differences, relative to the unknown or to 1.
const STEP: f64 = 1e-6;
/// Stands for a residual that cannot be computed, so that a step to such a place is turned down.
const REFUSED: f64 = 1e6;

struct Problem<F> {
    residuals: F,
    at: DVector<f64>,
}

impl<F: Fn(&[f64]) -> Vec<f64>> Problem<F> {
    fn residuals_at(&self, at: &DVector<f64>) -> DVector<f64> {
        let residuals = (self.residuals)(at.as_slice());
        let known = |residual: f64| {
            if residual.is_finite() {
                residual
            } else {
                REFUSED
            }
        };
        DVector::from_iterator(residuals.len(), residuals.into_iter().map(known))
    }
}

impl<F: Fn(&[f64]) -> Vec<f64>> LeastSquaresProblem<f64, Dyn, Dyn> for Problem<F> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, at: &DVector<f64>) {
        self.at.copy_from(at);
    }

    fn params(&self) -> DVector<f64> {
        self.at.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(self.residuals_at(&self.at))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let columns: Vec<DVector<f64>> = (0..self.at.len())
            .map(|index| {
                let step = STEP * self.at[index].abs().max(1.0);
                let shifted = |step: f64| {
                    let mut at = self.at.clone();
                    at[index] += step;
                    self.residuals_at(&at)
                };
                (shifted(step) - shifted(-step)) / (2.0 * step)
            })
            .collect();
        Some(DMatrix::from_columns(&columns))
    }
}

/// The unknowns at which the sum of the squares of the residuals is smallest, sought from a start.
pub fn minimize(start: &[f64], residuals: impl Fn(&[f64]) -> Vec<f64>) -> Result<Vec<f64>, String> {
    let problem = Problem {
        residuals,
        at: DVector::from_column_slice(start),
    };
    let (found, report) = LevenbergMarquardt::new()
        .with_patience(200)
        .minimize(problem);
    // Without patience the last steps were still small gains along a valley: the place is as good.
    let stopped = report.termination == TerminationReason::LostPatience;
    if stopped || report.termination.was_successful() {
        Ok(found.at.as_slice().to_vec())
    } else {
        Err(format!("least squares: {:?}", report.termination))
    }
}
