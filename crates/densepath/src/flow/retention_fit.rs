//! Fit of a law of retention to a table of measured runs.

use super::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
use crate::fluid::consts::MOLAR_GAS_CONSTANT;
use crate::fluid::error::{Error, Result, positive};
use crate::fluid::num::least_squares::{Dependent, LeastSquares, linear};
use crate::fluid::quantity::Quantity;

/// One measured run of one solute.
///
/// ```
/// # use densepath::flow::{retention::{Conditions, ModifierBasis, Term}, retention_fit::{Run, fit}};
/// let at = |density: f64| Conditions { temperature: 313.15, density, modifier_fraction: 0.0 };
/// let run = |density: f64| Run { retention_factor: (5.0 - 0.004 * density).exp(), conditions: at(density), relative_uncertainty: 1.0 };
/// let found = fit(&[run(600.0), run(700.0), run(800.0), run(900.0)], &[Term::Constant, Term::Density], ModifierBasis::AmountFraction)?;
/// // Runs that follow the law leave no residuals.
/// assert!(found.residuals.iter().all(|residual| residual.abs() < 1e-9));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Retention factor k.
    pub retention_factor: f64,
    /// Where it was measured: means over the column.
    pub conditions: Conditions,
    /// Relative standard uncertainty of k, as a weight among the runs: only ratios matter.
    pub relative_uncertainty: f64,
}

/// A law fitted to runs, with what the fit says of itself.
///
/// *Source*: least squares of ln k; covariance by the residual variance with `runs - terms` degrees of freedom.
///
/// ```
/// # use densepath::flow::{retention::{Conditions, ModifierBasis, Term}, retention_fit::{Run, fit}};
/// let at = |density: f64| Conditions { temperature: 313.15, density, modifier_fraction: 0.0 };
/// let run = |density: f64| Run { retention_factor: (5.0 - 0.004 * density).exp(), conditions: at(density), relative_uncertainty: 1.0 };
/// let found = fit(&[run(600.0), run(700.0), run(800.0), run(900.0)], &[Term::Constant, Term::Density], ModifierBasis::AmountFraction)?;
/// assert!((found.coefficients[1] + 0.004).abs() < 1e-9 && found.degrees_of_freedom == 2);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct RetentionFit {
    /// The law, in the box of the runs.
    pub law: RetentionLaw,
    /// Terms fitted.
    pub terms: Vec<Term>,
    /// Their coefficients in SI.
    pub coefficients: Vec<f64>,
    /// Standard errors of the coefficients.
    pub standard_errors: Vec<f64>,
    /// Covariance of the coefficients, one row a term.
    pub covariance: Vec<Vec<f64>>,
    /// Residuals of ln k, measured less fitted, one a run.
    pub residuals: Vec<f64>,
    /// Leverage of each run on its own fit, between 0 and 1.
    pub leverages: Vec<f64>,
    /// Standard deviation of the residuals of ln k, for a run of relative uncertainty 1 as weight.
    pub residual_standard_deviation: f64,
    /// Runs less terms.
    pub degrees_of_freedom: usize,
}

impl RetentionFit {
    /// Standard uncertainty of ln k that the fit's coefficients leave, which is the relative one of k.
    ///
    /// Errors: 102 outside the box of the runs.
    ///
    /// ```
    /// # use densepath::flow::{retention::{Conditions, ModifierBasis, Term}, retention_fit::{Run, fit}};
    /// let at = |density: f64| Conditions { temperature: 313.15, density, modifier_fraction: 0.0 };
    /// let run = |density: f64| Run { retention_factor: (5.0 - 0.004 * density).exp(), conditions: at(density), relative_uncertainty: 1.0 };
    /// let found = fit(&[run(600.0), run(700.0), run(800.0), run(900.0)], &[Term::Constant, Term::Density], ModifierBasis::AmountFraction)?;
    /// assert!(found.standard_uncertainty(&at(700.0))? < 1e-9);
    /// // A fit knows nothing outside of its runs.
    /// assert_eq!(found.standard_uncertainty(&at(300.0)).unwrap_err().code(), 102);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn standard_uncertainty(&self, at: &Conditions) -> Result<f64> {
        self.law.log_retention_factor(at)?;
        let slopes: Vec<f64> = self
            .terms
            .iter()
            .map(|term| slope(&self.law, *term, at))
            .collect();
        let rows = self.covariance.iter().zip(&slopes);
        let variance: f64 = rows
            .map(|(row, own)| {
                own * row
                    .iter()
                    .zip(&slopes)
                    .map(|(c, other)| c * other)
                    .sum::<f64>()
            })
            .sum();
        Ok(variance.max(0.0).sqrt())
    }
}

/// Derivative of ln k with a coefficient.
fn slope(law: &RetentionLaw, term: Term, at: &Conditions) -> f64 {
    let x = at.modifier_fraction;
    let (s_1, s_2) = (
        law.coefficient(Term::GradientSlope),
        law.coefficient(Term::GradientCurvature),
    );
    let opened = 1.0 + s_2 * x;
    match term {
        Term::GradientSlope => -x / opened,
        Term::GradientCurvature => 2.0 * x / opened + s_1 * x * x / (opened * opened),
        linear => linear.factor(at),
    }
}

/// The law of the terms asked that fits the runs best.
///
/// Terms in which ln k is linear are found by linear least squares. The form of Neue and Kuss, asked by `gradient_slope`
/// together with `gradient_curvature`, is fitted by the method of Gauss and Newton from the best of a row of curvatures.
///
/// Errors: 101 for runs with a retention factor, density, temperature or uncertainty not above zero, or ln x of a run
/// without modifier; 404 with the name of the term if the runs are no more than the terms or do not tell the terms apart;
/// 401 if the form of Neue and Kuss does not converge.
///
/// ```
/// # use densepath::flow::{retention::{Conditions, ModifierBasis, Term}, retention_fit::{Run, fit}};
/// let at = |density: f64| Conditions { temperature: 313.15, density, modifier_fraction: 0.0 };
/// let run = |density: f64| Run { retention_factor: (5.0 - 0.004 * density).exp(), conditions: at(density), relative_uncertainty: 1.0 };
/// let found = fit(&[run(600.0), run(700.0), run(800.0), run(900.0)], &[Term::Constant, Term::Density], ModifierBasis::AmountFraction)?;
/// assert!((found.law.retention_factor(&at(750.0))?.ln() - (5.0 - 0.004 * 750.0)).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn fit(runs: &[Run], terms: &[Term], basis: ModifierBasis) -> Result<RetentionFit> {
    check(runs, terms, basis)?;
    let table = Table { runs, terms };
    if terms.contains(&Term::GradientCurvature) {
        return table.fit_gradient(basis);
    }
    let columns: Vec<Vec<f64>> = terms
        .iter()
        .map(|term| table.column(|run| term.factor(&run.conditions)))
        .collect();
    let solved = table.solve(&columns, &table.column(|run| run.retention_factor.ln()))?;
    let coefficients = solved.parameters.clone();
    table.describe(&coefficients, &solved, basis)
}

fn check(runs: &[Run], terms: &[Term], basis: ModifierBasis) -> Result<()> {
    for run in runs {
        positive(Quantity::RetentionFactor, run.retention_factor)?;
        positive(Quantity::Temperature, run.conditions.temperature)?;
        positive(Quantity::Density, run.conditions.density)?;
        positive(Quantity::Ratio, run.relative_uncertainty)?;
        let x = run.conditions.modifier_fraction;
        if !(0.0..=1.0).contains(&x) {
            return Err(Error::Domain {
                quantity: basis.quantity(),
                value: x,
                rule: "between 0 and 1",
            });
        }
        if terms.contains(&Term::LogModifier) {
            positive(basis.quantity(), x)?;
        }
    }
    let last = terms.last().map_or("none", |term| term.name());
    let twice = terms
        .iter()
        .enumerate()
        .find(|(place, term)| terms.iter().skip(place + 1).any(|other| other == *term));
    let halves = terms.contains(&Term::GradientSlope) == terms.contains(&Term::GradientCurvature);
    let lone = if halves {
        None
    } else {
        Some(Term::GradientSlope.name())
    };
    let fault = twice.map(|(_, term)| term.name()).or(lone);
    if let Some(coefficient) =
        fault.or((runs.len() <= terms.len() || terms.is_empty()).then_some(last))
    {
        return Err(Error::Undetermined {
            coefficient,
            measurements: runs.len(),
            coefficients: terms.len(),
        });
    }
    Ok(())
}

/// Curvatures from which the best is taken to start with.
const CURVATURES: std::ops::RangeInclusive<i32> = -8..=12;
/// Steps of Gauss and Newton.
const STEPS: u32 = 200;
/// Relative change of the curvature at which it counts as found.
const FOUND: f64 = 1e-13;

struct Table<'a> {
    runs: &'a [Run],
    terms: &'a [Term],
}

impl Table<'_> {
    /// A value of each run over its uncertainty.
    fn column(&self, of: impl Fn(&Run) -> f64) -> Vec<f64> {
        self.runs
            .iter()
            .map(|run| of(run) / run.relative_uncertainty)
            .collect()
    }

    fn solve(&self, columns: &[Vec<f64>], values: &[f64]) -> Result<LeastSquares> {
        linear(columns, values).map_err(|Dependent(place)| Error::Undetermined {
            coefficient: self.terms.get(place).map_or("none", |term| term.name()),
            measurements: self.runs.len(),
            coefficients: self.terms.len(),
        })
    }

    /// A law of coefficients without a box.
    fn law(
        &self,
        coefficients: &[f64],
        basis: ModifierBasis,
        fitted: FittedBox,
    ) -> Result<RetentionLaw> {
        let pairs: Vec<_> = self
            .terms
            .iter()
            .copied()
            .zip(coefficients.iter().copied())
            .collect();
        RetentionLaw::new(&pairs, basis, fitted)
    }

    /// For one curvature, ln k is linear in all other coefficients: the best of them, and the sum of squares.
    fn at_curvature(&self, curvature: f64) -> Result<(Vec<f64>, f64)> {
        let others: Vec<Term> = self
            .terms
            .iter()
            .copied()
            .filter(|term| *term != Term::GradientCurvature)
            .collect();
        let columns: Vec<_> = others
            .iter()
            .map(|term| {
                self.column(|run| match term {
                    Term::GradientSlope => {
                        -run.conditions.modifier_fraction
                            / (1.0 + curvature * run.conditions.modifier_fraction)
                    }
                    term => term.factor(&run.conditions),
                })
            })
            .collect();
        let values = self.column(|run| {
            run.retention_factor.ln() - 2.0 * (curvature * run.conditions.modifier_fraction).ln_1p()
        });
        let solved = Table {
            runs: self.runs,
            terms: &others,
        }
        .solve(&columns, &values)?;
        let mut parameters = solved.parameters.iter();
        let all = self.terms.iter().map(|term| match term {
            Term::GradientCurvature => curvature,
            _ => parameters.next().copied().unwrap_or(0.0),
        });
        Ok((all.collect(), solved.sum_of_squares()))
    }

    fn fit_gradient(&self, basis: ModifierBasis) -> Result<RetentionFit> {
        let mut best: Option<(Vec<f64>, f64)> = None;
        for power in CURVATURES {
            let trial = self.at_curvature(f64::from(power).exp2())?;
            if best.as_ref().is_none_or(|(_, least)| trial.1 < *least) {
                best = Some(trial);
            }
        }
        let (mut coefficients, mut squares) = best.ok_or(Error::Internal {
            place: "retention fit without a start",
        })?;
        let place = self
            .terms
            .iter()
            .position(|term| *term == Term::GradientCurvature)
            .unwrap_or(0);
        for _ in 0..STEPS {
            let (step, _) = self.step(&coefficients, basis)?;
            let curvature = coefficients.get(place).copied().unwrap_or(0.0);
            let whole = step.parameters.get(place).copied().unwrap_or(0.0);
            if whole.abs() <= FOUND * curvature.abs() {
                return self.describe(&coefficients, &step, basis);
            }
            let mut share = 1.0;
            loop {
                // The other coefficients follow the curvature, in which alone the fit is not linear.
                let next = curvature + share * whole;
                let trial = if next > 0.0 {
                    self.at_curvature(next)?
                } else {
                    (Vec::new(), f64::INFINITY)
                };
                if trial.1 <= squares * (1.0 + 1e-14) + f64::MIN_POSITIVE {
                    (coefficients, squares) = trial;
                    break;
                }
                share *= 0.5;
                if share < 1e-6 {
                    return self.describe(&coefficients, &step, basis);
                }
            }
        }
        Err(Error::NoConvergence {
            solver: "fit of a retention law to gradients",
            iterations: STEPS,
            residual: squares,
            tolerance: FOUND,
        })
    }

    /// The step of Gauss and Newton, whose residuals are those left after it.
    fn step(
        &self,
        coefficients: &[f64],
        basis: ModifierBasis,
    ) -> Result<(LeastSquares, RetentionLaw)> {
        let law = self.law(coefficients, basis, FittedBox::ABOVE_ZERO)?;
        let columns: Vec<_> = self
            .terms
            .iter()
            .map(|term| self.column(|run| slope(&law, *term, &run.conditions)))
            .collect();
        let left = self.column(|run| run.retention_factor.ln() - law.evaluate(&run.conditions));
        Ok((self.solve(&columns, &left)?, law))
    }

    fn describe(
        &self,
        coefficients: &[f64],
        solved: &LeastSquares,
        basis: ModifierBasis,
    ) -> Result<RetentionFit> {
        let span =
            |of: fn(&Conditions) -> f64| Span::of(self.runs.iter().map(|run| of(&run.conditions)));
        let law = self.law(
            coefficients,
            basis,
            FittedBox {
                temperature: span(|at| at.temperature),
                density: span(|at| at.density),
                modifier_fraction: span(|at| at.modifier_fraction),
            },
        )?;
        let residuals: Vec<f64> = self
            .runs
            .iter()
            .map(|run| run.retention_factor.ln() - law.evaluate(&run.conditions))
            .collect();
        let weighted = self
            .runs
            .iter()
            .zip(&residuals)
            .map(|(run, r)| (r / run.relative_uncertainty).powi(2));
        let degrees_of_freedom = self.runs.len() - self.terms.len();
        let variance = weighted.sum::<f64>() / degrees_of_freedom as f64;
        let scaled = |row: &Vec<f64>| row.iter().map(|c| c * variance).collect::<Vec<f64>>();
        let covariance: Vec<Vec<f64>> = solved.covariance.iter().map(scaled).collect();
        let diagonal = covariance
            .iter()
            .enumerate()
            .filter_map(|(place, row)| row.get(place));
        Ok(RetentionFit {
            law,
            terms: self.terms.to_vec(),
            coefficients: coefficients.to_vec(),
            standard_errors: diagonal.map(|c| c.sqrt()).collect(),
            covariance,
            residuals,
            leverages: solved.leverages.clone(),
            residual_standard_deviation: variance.sqrt(),
            degrees_of_freedom,
        })
    }
}

/// The line of van't Hoff through runs at one density, or at one pressure: `ln k = intercept + slope/T`.
///
/// ```
/// use densepath::flow::retention_fit::van_t_hoff;
/// let k = |temperature: f64| (-3.0 + 1500.0 / temperature).exp();
/// let line = van_t_hoff(&[300.0, 320.0, 340.0, 360.0], &[k(300.0), k(320.0), k(340.0), k(360.0)])?;
/// assert!((line.intercept + 3.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VanTHoff {
    /// Molar enthalpy of the transfer to the stationary phase in J/mol, `-R slope`; apparent where the pressure was held.
    pub transfer_enthalpy: f64,
    /// Its standard error in J/mol.
    pub transfer_enthalpy_error: f64,
    /// Intercept of ln k: the molar entropy of the transfer over R, plus the logarithm of the phase ratio.
    pub intercept: f64,
    /// Standard error of the intercept.
    pub intercept_error: f64,
    /// Curvature `d2 ln k/d(1/T)2` in K2 over its standard error: beyond about 2 the line is no line, and the enthalpy changes
    /// with the temperature. Not a number with three runs.
    pub curvature_over_error: f64,
}

/// The line of van't Hoff through the temperatures in K and retention factors of runs at one density, or at one pressure.
///
/// Errors: 101 and 404 as for [`fit`].
///
/// ```
/// use densepath::flow::retention_fit::van_t_hoff;
/// let k = |temperature: f64| (-3.0 + 1500.0 / temperature).exp();
/// let line = van_t_hoff(&[300.0, 320.0, 340.0, 360.0], &[k(300.0), k(320.0), k(340.0), k(360.0)])?;
/// // -R times the slope.
/// assert!((line.transfer_enthalpy / 1e3 + 12.4717).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn van_t_hoff(temperatures: &[f64], retention_factors: &[f64]) -> Result<VanTHoff> {
    let conditions = |temperature| Conditions {
        temperature,
        density: 1.0,
        modifier_fraction: 0.0,
    };
    let pairs = temperatures.iter().zip(retention_factors);
    let runs: Vec<Run> = pairs
        .map(|(t, k)| Run {
            retention_factor: *k,
            conditions: conditions(*t),
            relative_uncertainty: 1.0,
        })
        .collect();
    let line = fit(
        &runs,
        &[Term::Constant, Term::ReciprocalTemperature],
        ModifierBasis::AmountFraction,
    )?;
    let [intercept, slope] = line.coefficients[..] else {
        return Err(Error::Internal {
            place: "van't Hoff line without two coefficients",
        });
    };
    let [intercept_error, slope_error] = line.standard_errors[..] else {
        return Err(Error::Internal {
            place: "van't Hoff line without two errors",
        });
    };
    Ok(VanTHoff {
        transfer_enthalpy: -MOLAR_GAS_CONSTANT * slope,
        transfer_enthalpy_error: MOLAR_GAS_CONSTANT * slope_error,
        intercept,
        intercept_error,
        curvature_over_error: curvature(&runs),
    })
}

/// Coefficient of the square of 1/T over its standard error, in a parabola through the runs.
fn curvature(runs: &[Run]) -> f64 {
    let mean = runs
        .iter()
        .map(|run| 1.0 / run.conditions.temperature)
        .sum::<f64>()
        / runs.len() as f64;
    let from_mean = |power: i32| {
        runs.iter()
            .map(|run| (1.0 / run.conditions.temperature - mean).powi(power))
            .collect::<Vec<f64>>()
    };
    let values: Vec<f64> = runs.iter().map(|run| run.retention_factor.ln()).collect();
    let Ok(parabola) = linear(&[from_mean(0), from_mean(1), from_mean(2)], &values) else {
        return f64::NAN;
    };
    let variance = parabola.sum_of_squares() / (runs.len() as f64 - 3.0);
    let own = parabola
        .covariance
        .get(2)
        .and_then(|row| row.get(2))
        .copied()
        .unwrap_or(f64::NAN);
    parabola.parameters.get(2).copied().unwrap_or(f64::NAN) / (own * variance).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;

    /// Runs of a law, with a wave on ln k of a given size that is none of its terms.
    fn runs(law: impl Fn(&Conditions) -> f64, wave: f64) -> Vec<Run> {
        let mut runs = Vec::new();
        for (i, temperature) in [308.0, 318.0, 333.0].into_iter().enumerate() {
            for (j, density) in [620.0, 700.0, 790.0, 860.0].into_iter().enumerate() {
                for (l, modifier_fraction) in [0.02, 0.07, 0.15, 0.3].into_iter().enumerate() {
                    let at = Conditions {
                        temperature,
                        density,
                        modifier_fraction,
                    };
                    let off = wave * ((7 * i + 3 * j + 5 * l) as f64).sin();
                    runs.push(Run {
                        retention_factor: (law(&at) + off).exp(),
                        conditions: at,
                        relative_uncertainty: 1.0,
                    });
                }
            }
        }
        runs
    }

    #[test]
    fn a_law_is_found_again() {
        let terms = [
            (Term::Constant, 3.0),
            (Term::Density, -8e-3),
            (Term::DensitySquared, 2e-6),
            (Term::ReciprocalTemperature, 1100.0),
            (Term::Modifier, -6.0),
            (Term::ModifierSquared, 5.0),
            (Term::LogModifier, 0.3),
        ];
        let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, FittedBox::ABOVE_ZERO)
            .unwrap();
        let names = terms.map(|(term, _)| term);
        let fit = fit(
            &runs(|at| law.evaluate(at), 0.0),
            &names,
            ModifierBasis::AmountFraction,
        )
        .unwrap();
        for ((_, expected), ours) in terms.iter().zip(&fit.coefficients) {
            assert!(close(*ours, *expected, 1e-9), "{ours} against {expected}");
        }
        assert!(fit.residual_standard_deviation < 1e-13);
        assert_eq!(fit.degrees_of_freedom, 41);
        assert!(close(fit.leverages.iter().sum(), 7.0, 1e-12));
        assert_eq!(
            fit.law.fitted().density,
            Span {
                min: 620.0,
                max: 860.0
            }
        );
        let outside = Conditions {
            temperature: 340.0,
            density: 700.0,
            modifier_fraction: 0.1,
        };
        assert_eq!(fit.standard_uncertainty(&outside).unwrap_err().code(), 102);
    }

    #[test]
    fn the_form_for_gradients_is_found_again() {
        let terms = [
            (Term::Constant, 5.0),
            (Term::Density, -4e-3),
            (Term::GradientSlope, 30.0),
            (Term::GradientCurvature, 2.5),
        ];
        let law =
            RetentionLaw::new(&terms, ModifierBasis::MassFraction, FittedBox::UNLIMITED).unwrap();
        let names = terms.map(|(term, _)| term);
        let exact = fit(
            &runs(|at| law.evaluate(at), 0.0),
            &names,
            ModifierBasis::MassFraction,
        )
        .unwrap();
        for ((_, expected), ours) in terms.iter().zip(&exact.coefficients) {
            assert!(close(*ours, *expected, 1e-8), "{ours} against {expected}");
        }
        let rough = fit(
            &runs(|at| law.evaluate(at), 0.02),
            &names,
            ModifierBasis::MassFraction,
        )
        .unwrap();
        // At the minimum the residuals are orthogonal to every slope.
        for term in names {
            let data = runs(|at| law.evaluate(at), 0.02);
            let dots = data
                .iter()
                .zip(&rough.residuals)
                .map(|(run, r)| r * slope(&rough.law, term, &run.conditions));
            let size: f64 = data
                .iter()
                .map(|run| slope(&rough.law, term, &run.conditions).abs())
                .sum();
            assert!(dots.sum::<f64>().abs() < 1e-9 * size, "{}", term.name());
        }
        for (ours, sigma) in rough.coefficients.iter().zip(&rough.standard_errors) {
            assert!(*sigma > 0.0 && sigma < &(0.5 * ours.abs()));
        }
    }

    #[test]
    fn tables_that_cannot_tell_are_refused_by_name() {
        let at = |temperature: f64, density: f64| Run {
            retention_factor: 2.0,
            conditions: Conditions {
                temperature,
                density,
                modifier_fraction: 0.1,
            },
            relative_uncertainty: 1.0,
        };
        let isotherm: Vec<Run> = (0..6)
            .map(|i| at(313.15, 600.0 + 40.0 * f64::from(i)))
            .collect();
        let name =
            |terms: &[Term], runs: &[Run]| match fit(runs, terms, ModifierBasis::AmountFraction) {
                Err(Error::Undetermined { coefficient, .. }) => coefficient,
                other => panic!("{other:?}"),
            };
        let all = [Term::Constant, Term::Density, Term::ReciprocalTemperature];
        assert_eq!(name(&all, &isotherm), "reciprocal_temperature");
        assert_eq!(
            name(&[Term::Constant, Term::Modifier], &isotherm),
            "modifier"
        );
        assert_eq!(
            name(&[Term::Constant, Term::Density], &isotherm[..2]),
            "density"
        );
        assert_eq!(
            name(&[Term::Constant, Term::Constant], &isotherm),
            "constant"
        );
        assert_eq!(
            name(&[Term::Constant, Term::GradientSlope], &isotherm),
            "gradient_slope"
        );
        let bad = Run {
            retention_factor: -1.0,
            ..isotherm[0]
        };
        assert_eq!(
            fit(&[bad], &all, ModifierBasis::AmountFraction)
                .unwrap_err()
                .code(),
            101
        );
    }

    #[test]
    fn a_run_of_little_weight_hardly_counts() {
        let law = |at: &Conditions| 6.0 - 7e-3 * at.density;
        let mut data = runs(law, 0.0);
        let Some(first) = data.first_mut() else {
            panic!()
        };
        first.retention_factor *= 2.0;
        first.relative_uncertainty = 1e9;
        let fit = fit(
            &data,
            &[Term::Constant, Term::Density],
            ModifierBasis::AmountFraction,
        )
        .unwrap();
        assert!(close(fit.coefficients[1], -7e-3, 1e-9));
        assert!(close(fit.residuals[0], 2f64.ln(), 1e-9));
        assert!(fit.leverages[0] < 1e-15);
    }

    #[test]
    fn the_line_of_van_t_hoff() {
        let temperatures = [303.15, 313.15, 323.15, 333.15];
        let k = temperatures.map(|t: f64| (-3.0 + 1500.0 / t).exp());
        let line = van_t_hoff(&temperatures, &k).unwrap();
        assert!(close(
            line.transfer_enthalpy,
            -1500.0 * MOLAR_GAS_CONSTANT,
            1e-10
        ));
        assert!(close(line.intercept, -3.0, 1e-10));
        assert!(line.transfer_enthalpy_error < 1e-6);
        let bent = temperatures.map(|t: f64| (-3.0 + 1500.0 / t + 3e5 / (t * t)).exp());
        assert!(
            van_t_hoff(&temperatures, &bent)
                .unwrap()
                .curvature_over_error
                .abs()
                > 2.0
        );
    }
}
