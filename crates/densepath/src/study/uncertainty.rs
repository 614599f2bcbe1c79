//! How sure the results of a method are, from how sure its inputs are.
//!
//! Only doubts of inputs are propagated. Those of density, viscosity and diffusion are inputs too, the factors that a document may state;
//! [`model_uncertainties`](super::model_uncertainties) states them. Those of other models (plate height laws) are not in these figures.

use fluid::{Error, Quantity, Result};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

use super::output::{Output, Told};
use crate::fluid;
use crate::method::{Input, Method};
use crate::path::unless_stopped;

/// An input that is not known exactly.
///
/// ```
/// # use densepath::study::{Output, UncertainInput, budget, trials};
/// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let inputs = [UncertainInput { input: method.input("regulator", "pressure")?, standard_uncertainty: 1e5 }];
/// assert!((inputs[0].input.stated()? / 1e5 - 150.0).abs() < 20.0);
/// let none = UncertainInput { standard_uncertainty: -1.0, ..inputs[0].clone() };
/// assert_eq!(trials(&method, &[none], &[Output::new("column", "mean_density")], 5, 1).unwrap_err().code(), 101);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct UncertainInput {
    /// The input; its stated value is the best estimate.
    pub input: Input,
    /// Its standard uncertainty u in SI. Half a tolerance that says "never outside" counts as `a/sqrt(3)` (JCGM 100:2008, 4.3.7).
    pub standard_uncertainty: f64,
}

impl UncertainInput {
    /// Error 101 for an uncertainty that is not finite and above zero.
    fn checked(&self) -> Result<f64> {
        let u = self.standard_uncertainty;
        if u > 0.0 && u.is_finite() {
            return Ok(u);
        }
        Err(Error::Domain {
            quantity: self.input.quantity,
            value: u,
            rule: "a standard uncertainty above zero",
        })
    }
}

/// What one input adds to the uncertainty of a result.
///
/// ```
/// # use densepath::study::{Output, UncertainInput, budget, trials};
/// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let inputs = [UncertainInput { input: method.input("regulator", "pressure")?, standard_uncertainty: 1e5 }];
/// let found = &budget(&method, &inputs, &[Output::new("column", "mean_density")])?[0];
/// let part = &found.contributions[0];
/// // The only input makes all of the variance; more pressure, more density.
/// assert!((part.share - 1.0).abs() < 1e-12 && part.sensitivity > 0.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// The input.
    pub input: Input,
    /// Its standard uncertainty u in SI.
    pub standard_uncertainty: f64,
    /// Change of the result for a change of the input by u, over u, in SI.
    pub sensitivity: f64,
    /// What it adds to the standard uncertainty of the result, in SI: half the change between input - u and input + u.
    pub contribution: f64,
    /// Share of the variance of the result.
    pub share: f64,
    /// Departure of the result from a straight line within input - u to input + u, over the contribution: the propagation is good
    /// where this is far below 1.
    pub curvature: f64,
}

/// The uncertainty of a result.
///
/// ```
/// # use densepath::study::{Output, UncertainInput, budget, trials};
/// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let inputs = [UncertainInput { input: method.input("regulator", "pressure")?, standard_uncertainty: 1e5 }];
/// let found = &budget(&method, &inputs, &[Output::new("column", "mean_density")])?[0];
/// assert!((found.standard_uncertainty / found.contributions[0].contribution.abs() - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// The result at the best estimates.
    pub estimate: Told,
    /// Its standard uncertainty in SI.
    pub standard_uncertainty: f64,
    /// What each input adds, the largest first.
    pub contributions: Vec<Contribution>,
}

/// The uncertainty of results by the law of propagation for independent inputs, with the contribution of each taken from the method
/// solved at input - u and input + u.
///
/// *Source*: JCGM 100:2008 (GUM), eq. 10 with the contributions of 5.1.3, note 2. *Valid*: results that are nearly straight within one
/// standard uncertainty, see [`Contribution::curvature`]; [`trials`] needs no such thing.
///
/// Errors: 101 for an uncertainty not above zero; 603 for an input without stated value; 602 for an output that the solution does not
/// tell; those of the method at the changed inputs.
///
/// ```
/// use densepath::study::{Output, UncertainInput, budget};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let uncertain = |of, key, u| Ok::<_, densepath::Error>(UncertainInput { input: method.input(of, key)?, standard_uncertainty: u });
/// let inputs = [uncertain("regulator", "pressure", 1e5)?, uncertain("pump", "head_temperature", 0.5)?];
/// let found = budget(&method, &inputs, &[Output::new("column", "mean_density")])?;
/// let shares: f64 = found[0].contributions.iter().map(|part| part.share).sum();
/// assert!((shares - 1.0).abs() < 1e-9 && found[0].standard_uncertainty > 0.0);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn budget(
    method: &Method,
    inputs: &[UncertainInput],
    outputs: &[Output],
) -> Result<Vec<Budget>> {
    let mut points = vec![method.clone()];
    for uncertain in inputs {
        let (estimate, u) = (uncertain.input.stated()?, uncertain.checked()?);
        for value in [estimate - u, estimate + u] {
            points.push(method.with(&[(&uncertain.input, value)])?);
        }
    }
    let solved: Vec<Vec<Told>> = points
        .par_iter()
        .map(|point| told(point, outputs))
        .collect::<Result<_>>()?;
    let (best, sides) = solved.split_first().ok_or(Error::Internal {
        place: "study::uncertainty, no point solved",
    })?;
    Ok(best
        .iter()
        .enumerate()
        .map(|(place, estimate)| {
            let at = |point: &[Told]| point.get(place).map_or(f64::NAN, |told| told.value);
            let pairs = sides.chunks(2).filter_map(|pair| {
                let [below, above] = pair else { return None };
                Some((at(below), at(above)))
            });
            sum(estimate.clone(), inputs, pairs)
        })
        .collect())
}

/// The outputs of a method, solved.
fn told(method: &Method, outputs: &[Output]) -> Result<Vec<Told>> {
    let solution = method.solve()?;
    outputs
        .iter()
        .map(|output| output.value(&solution))
        .collect()
}

/// The budget of a result from its values below and above each input.
fn sum(
    estimate: Told,
    inputs: &[UncertainInput],
    sides: impl Iterator<Item = (f64, f64)>,
) -> Budget {
    let mut contributions: Vec<Contribution> = inputs
        .iter()
        .zip(sides)
        .map(|(uncertain, (below, above))| {
            let contribution = 0.5 * (above - below);
            let bend = 0.5 * (above + below) - estimate.value;
            Contribution {
                input: uncertain.input.clone(),
                standard_uncertainty: uncertain.standard_uncertainty,
                sensitivity: contribution / uncertain.standard_uncertainty,
                contribution: contribution.abs(),
                share: 0.0,
                curvature: if bend == 0.0 {
                    0.0
                } else {
                    (bend / contribution).abs()
                },
            }
        })
        .collect();
    let variance: f64 = contributions
        .iter()
        .map(|one| one.contribution.powi(2))
        .sum();
    for one in &mut contributions {
        one.share = if variance > 0.0 {
            one.contribution.powi(2) / variance
        } else {
            0.0
        };
    }
    contributions.sort_by(|one, other| other.contribution.total_cmp(&one.contribution));
    Budget {
        estimate,
        standard_uncertainty: variance.sqrt(),
        contributions,
    }
}

/// Results of many methods whose inputs are drawn at random.
///
/// ```
/// # use densepath::study::{Output, UncertainInput, budget, trials};
/// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let inputs = [UncertainInput { input: method.input("regulator", "pressure")?, standard_uncertainty: 1e5 }];
/// let found = trials(&method, &inputs, &[Output::new("column", "mean_density")], 20, 1)?;
/// assert!(found.refusals.is_empty() && found.values[0].len() == 20);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Trials {
    /// The outputs asked.
    pub outputs: Vec<Output>,
    /// Their quantities.
    pub quantities: Vec<Quantity>,
    /// The values of each output in SI, in the order of the draws; NaN where the method refused the draw.
    pub values: Vec<Vec<f64>>,
    /// The refused draws, by their number, and why.
    pub refusals: Vec<(usize, Error)>,
}

impl Trials {
    /// The values of one output that came out.
    fn accepted(&self, place: usize) -> Vec<f64> {
        let values = self.values.get(place).map_or(&[][..], Vec::as_slice);
        values
            .iter()
            .copied()
            .filter(|value| !value.is_nan())
            .collect()
    }

    /// Mean of an output, by its place, in SI.
    ///
    /// ```
    /// # use densepath::study::{Output, UncertainInput, budget, trials};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let inputs = [UncertainInput { input: method.input("regulator", "pressure")?, standard_uncertainty: 1e5 }];
    /// let found = trials(&method, &inputs, &[Output::new("column", "mean_density")], 20, 1)?;
    /// assert!((found.mean(0) - found.values[0].iter().sum::<f64>() / 20.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn mean(&self, place: usize) -> f64 {
        let accepted = self.accepted(place);
        accepted.iter().sum::<f64>() / accepted.len() as f64
    }

    /// Standard deviation of an output, by its place, in SI: its standard uncertainty.
    ///
    /// ```
    /// # use densepath::study::{Output, UncertainInput, budget, trials};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let inputs = [UncertainInput { input: method.input("regulator", "pressure")?, standard_uncertainty: 1e5 }];
    /// let output = [Output::new("column", "mean_density")];
    /// let (drawn, propagated) = (trials(&method, &inputs, &output, 200, 1)?, budget(&method, &inputs, &output)?);
    /// // 200 draws know the deviation to some 5 %.
    /// assert!((drawn.standard_deviation(0) / propagated[0].standard_uncertainty - 1.0).abs() < 0.2);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn standard_deviation(&self, place: usize) -> f64 {
        let accepted = self.accepted(place);
        let mean = self.mean(place);
        let squares: f64 = accepted.iter().map(|value| (value - mean).powi(2)).sum();
        (squares / (accepted.len() as f64 - 1.0)).sqrt()
    }

    /// The interval in SI that holds a share of the values of an output, by its place, with as many below as above
    /// (JCGM 101:2008, 7.7). Error 101 for a share not between 0 and 1.
    ///
    /// ```
    /// # use densepath::study::{Output, UncertainInput, budget, trials};
    /// # let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// let inputs = [UncertainInput { input: method.input("regulator", "pressure")?, standard_uncertainty: 1e5 }];
    /// let found = trials(&method, &inputs, &[Output::new("column", "mean_density")], 40, 1)?;
    /// let (low, high) = found.coverage_interval(0, 0.5)?;
    /// let inside = found.values[0].iter().filter(|value| low <= **value && **value <= high).count();
    /// assert!((18..=22).contains(&inside));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn coverage_interval(&self, place: usize, share: f64) -> Result<(f64, f64)> {
        if !(share > 0.0 && share < 1.0) {
            return Err(Error::Domain {
                quantity: Quantity::Ratio,
                value: share,
                rule: "between 0 and 1",
            });
        }
        let mut accepted = self.accepted(place);
        accepted.sort_by(f64::total_cmp);
        let tail = 0.5 * (1.0 - share);
        Ok((quantile(&accepted, tail), quantile(&accepted, 1.0 - tail)))
    }
}

/// Quantile of sorted values, linear between them.
fn quantile(sorted: &[f64], probability: f64) -> f64 {
    let place = probability * (sorted.len() as f64 - 1.0);
    let (below, above) = (place.floor(), place.ceil());
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "places of a list, from 0 to its length"
    )]
    let at = |place: f64| sorted.get(place as usize).copied().unwrap_or(f64::NAN);
    at(below) + (place - below) * (at(above) - at(below))
}

/// Results of a method whose inputs are drawn from normal distributions, independent of each other, on all cores.
///
/// Draw `i` depends on the seed and `i` alone, not on the number of draws or of cores. *Source*: JCGM 101:2008.
///
/// Errors: 101 for an uncertainty not above zero; 104 for more than a million draws; 602 for an output that no solution tells; 603 for an
/// input without stated value; the refusal of the first draw if all are refused; 406 if the watch of the method stops it.
///
/// ```
/// use densepath::study::{Output, UncertainInput, trials};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let inputs = [UncertainInput { input: method.input("regulator", "pressure")?, standard_uncertainty: 1e5 }];
/// let found = trials(&method, &inputs, &[Output::new("column", "mean_density")], 20, 1)?;
/// let (low, high) = found.coverage_interval(0, 0.95)?;
/// assert!(low < found.mean(0) && found.mean(0) < high && found.standard_deviation(0) > 0.0);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn trials(
    method: &Method,
    inputs: &[UncertainInput],
    outputs: &[Output],
    count: usize,
    seed: u64,
) -> Result<Trials> {
    super::check_solutions("count", Some(count))?;
    let centres = inputs
        .iter()
        .map(|uncertain| Ok((uncertain.input.stated()?, uncertain.checked()?)))
        .collect::<Result<Vec<_>>>()?;
    let draws: Vec<Result<Vec<Told>>> = (0..count)
        .into_par_iter()
        .map(|draw| {
            let mut random = ChaCha8Rng::seed_from_u64(seed);
            random.set_stream(draw as u64);
            let changes: Vec<(&Input, f64)> = inputs
                .iter()
                .zip(&centres)
                .map(|(uncertain, (estimate, u))| {
                    let normal: f64 = StandardNormal.sample(&mut random);
                    (&uncertain.input, estimate + u * normal)
                })
                .collect();
            told(&method.with(&changes)?, outputs)
        })
        .collect();
    collect(outputs, unless_stopped(draws)?)
}

/// The draws as lists by output.
fn collect(outputs: &[Output], draws: Vec<Result<Vec<Told>>>) -> Result<Trials> {
    let mut trials = Trials {
        outputs: outputs.to_vec(),
        quantities: Vec::new(),
        values: vec![Vec::with_capacity(draws.len()); outputs.len()],
        refusals: Vec::new(),
    };
    for (number, draw) in draws.into_iter().enumerate() {
        let values: Vec<f64> = match draw {
            Ok(told) => {
                if trials.quantities.is_empty() {
                    trials.quantities = told.iter().map(|told| told.quantity).collect();
                }
                told.into_iter().map(|told| told.value).collect()
            }
            Err(error @ Error::UnknownKey { .. }) => return Err(error),
            Err(error) => {
                trials.refusals.push((number, error));
                vec![f64::NAN; outputs.len()]
            }
        };
        for (list, value) in trials.values.iter_mut().zip(values) {
            list.push(value);
        }
    }
    match trials.refusals.first() {
        Some((_, error)) if trials.quantities.is_empty() => Err(error.clone()),
        _ => Ok(trials),
    }
}
