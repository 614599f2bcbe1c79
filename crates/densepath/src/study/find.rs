//! The values of an input for which an output has a wanted value.

use fluid::error::{significant, unit_behind};
use fluid::num::root::{Tolerance, bracketed};
use fluid::{Error, Result};

use super::output::{Output, Told};
use crate::fluid;
use crate::method::{Input, Method};

/// Ratio of the bounds from which on the samples lie evenly in the logarithm.
const WIDE: f64 = 20.0;
/// Halvings by which the border between answers and refusals is approached.
const HALVINGS: u32 = 20;
/// Steps of the golden section towards a value nearest to the target.
const SECTIONS: u32 = 30;
/// Distance from the target, relative to it, within which an answer must come.
const CLOSE: f64 = 1e-8;
/// Tolerance of the input.
const SOUGHT: Tolerance = Tolerance {
    relative: 1e-13,
    iterations: 100,
};

/// What is asked: the values of an input between two bounds for which an output has a value.
///
/// ```
/// use densepath::study::{Output, Question, find};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let (input, output) = (method.input("regulator", "pressure")?, Output::new("column", "mean_density"));
/// let question = Question { input, output, target: 800.0, low: 100e5, high: 250e5, samples: 8 };
/// let found = find(&method, &question)?;
/// assert!(found.answers.iter().all(|answer| question.low <= answer.input && answer.input <= question.high));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// What may be changed.
    pub input: Input,
    /// What is wanted.
    pub output: Output,
    /// Its wanted value in SI.
    pub target: f64,
    /// Lowest value of the input tried, in SI.
    pub low: f64,
    /// Highest value of the input tried, in SI.
    pub high: f64,
    /// Number of values from low to high solved to see where the output passes the target: two answers nearer to each other than
    /// two of these may be missed, unless the output turns between them.
    pub samples: usize,
}

/// One answer.
///
/// ```
/// use densepath::study::{Output, Question, find};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let (input, output) = (method.input("regulator", "pressure")?, Output::new("column", "mean_density"));
/// let question = Question { input, output, target: 800.0, low: 100e5, high: 250e5, samples: 8 };
/// let found = find(&method, &question)?;
/// // The answer leads to what was wanted.
/// assert!((found.answers[0].output - 800.0).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Answer {
    /// Value of the input in SI.
    pub input: f64,
    /// Value of the output in SI that it leads to.
    pub output: f64,
}

/// Two values of the input between which the output passes the target without an answer that could be told.
///
/// ```
/// use densepath::study::{Output, Question, find};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let (input, output) = (method.input("regulator", "pressure")?, Output::new("column", "mean_density"));
/// let question = Question { input, output, target: 800.0, low: 100e5, high: 250e5, samples: 8 };
/// let found = find(&method, &question)?;
/// // A smooth question leaves nothing open.
/// assert!(found.unresolved.is_empty());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Unresolved {
    /// The lower one, in SI.
    pub low: f64,
    /// The upper one, in SI.
    pub high: f64,
    /// Why: error 401 where the output jumps over the target, else the refusal of a value between.
    pub why: Error,
}

/// What was found.
///
/// ```
/// use densepath::study::{Output, Question, find};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let (input, output) = (method.input("regulator", "pressure")?, Output::new("column", "mean_density"));
/// let question = Question { input, output, target: 800.0, low: 100e5, high: 250e5, samples: 8 };
/// let found = find(&method, &question)?;
/// assert_eq!((found.answers.len(), found.scan.len()), (1, 8));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// All answers, by rising input; never empty.
    pub answers: Vec<Answer>,
    /// Where the target is passed without an answer.
    pub unresolved: Vec<Unresolved>,
    /// The values of the input that were solved first, with the output or why there is none.
    pub scan: Vec<(f64, Result<f64>)>,
}

/// All values of an input between two bounds for which an output has the wanted value.
///
/// The range is scanned; where the output passes the target between two samples, a bracket closes on it; the border between answers
/// and refusals is approached, and so is a turn of the output. A jump over the target is no answer.
///
/// Errors: 101 for bounds that do not rise or fewer than two samples; 104 for more than a million; 602 for an output that no solution tells; 405 if no value within
/// the bounds leads to the target: with the range that the output has there, and why the first refused value was refused; 406 if the
/// watch of the method stops it.
///
/// ```
/// use densepath::study::{Output, Question, find};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let question = Question {
///     input: method.input("regulator", "pressure")?,
///     output: Output::new("column", "mean_density"),
///     target: 800.0,
///     low: 100e5,
///     high: 250e5,
///     samples: 8,
/// };
/// let found = find(&method, &question)?;
/// assert!((found.answers[0].output - 800.0).abs() < 1e-5);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn find(method: &Method, question: &Question) -> Result<Found> {
    let search = Search { method, question };
    let values = question.values()?;
    let scan: Vec<(f64, Result<f64>)> = values
        .into_iter()
        .map(|value| (value, search.output(value)))
        .collect();
    if let Some(error) = scan.iter().find_map(|(_, result)| unnamed(result)) {
        return Err(error);
    }
    method.path.watch.check()?;
    let scale =
        outputs_of(&scan).fold(question.target.abs(), |most, output| most.max(output.abs()));
    let (mut answers, mut unresolved) = (Vec::new(), Vec::new());
    for bracket @ (low, high) in search.brackets(&scan) {
        match search.close(bracket, CLOSE * scale) {
            Ok(answer) => answers.push(answer),
            Err(why) => unresolved.push(Unresolved { low, high, why }),
        }
    }
    method.path.watch.check()?;
    if answers.is_empty() {
        return Err(search.nowhere(&scan, unresolved));
    }
    answers.sort_by(|one, other| one.input.total_cmp(&other.input));
    answers.dedup_by(|one, other| one.input == other.input);
    Ok(Found {
        answers,
        unresolved,
        scan,
    })
}

/// The finite outputs of a scan.
fn outputs_of(scan: &[(f64, Result<f64>)]) -> impl Iterator<Item = f64> {
    let told = scan.iter().filter_map(|(_, result)| result.as_ref().ok());
    told.copied().filter(|output| output.is_finite())
}

/// The error of a name that no solution tells, which no other value of the input can cure.
fn unnamed(result: &Result<f64>) -> Option<Error> {
    let error = result.as_ref().err()?;
    matches!(error, Error::UnknownKey { .. }).then(|| error.clone())
}

impl Question {
    /// The values of the scan.
    fn values(&self) -> Result<Vec<f64>> {
        let domain = |value, rule| Error::Domain {
            quantity: self.input.quantity,
            value,
            rule,
        };
        let rises = self.low < self.high && (self.high - self.low).is_finite();
        if !rises {
            return Err(domain(self.high, "above the lower bound, both finite"));
        }
        if !self.target.is_finite() {
            return Err(domain(self.target, "a finite target"));
        }
        if self.samples < 2 {
            return Err(domain(self.samples as f64, "two samples at least"));
        }
        super::check_solutions("samples", Some(self.samples))?;
        let last = (self.samples - 1) as f64;
        let even = |i: usize| i as f64 / last;
        let wide = self.low > 0.0 && self.high / self.low > WIDE;
        let inner = |i: usize| {
            if wide {
                self.low * (self.high / self.low).powf(even(i))
            } else {
                self.low + (self.high - self.low) * even(i)
            }
        };
        // The ends are met exactly.
        let ends = [self.low, self.high];
        Ok((0..self.samples)
            .map(|i| match i {
                0 => ends[0],
                i if i + 1 == self.samples => ends[1],
                i => inner(i),
            })
            .collect())
    }
}

/// A value of the input, and the output above the target there.
type Point = (f64, f64);

struct Search<'a> {
    method: &'a Method,
    question: &'a Question,
}

impl Search<'_> {
    fn told(&self, input: f64) -> Result<Told> {
        let method = self.method.with(&[(&self.question.input, input)])?;
        self.question.output.value(&method.solve()?)
    }

    fn output(&self, input: f64) -> Result<f64> {
        self.told(input).map(|told| told.value)
    }

    fn excess(&self, input: f64) -> Result<f64> {
        self.output(input).map(|output| self.above(output))
    }

    /// The output above the target; an infinite one, such as the margin of a fluid that never splits, is far above.
    fn above(&self, output: f64) -> f64 {
        (output - self.question.target).clamp(-f64::MAX, f64::MAX)
    }

    /// Values of the input between which the output passes the target.
    fn brackets(&self, scan: &[(f64, Result<f64>)]) -> Vec<(f64, f64)> {
        let mut brackets = Vec::new();
        for run in self.runs(scan) {
            let crossings = run.windows(2).filter_map(crossing);
            let turns = run.windows(3).filter_map(|three| self.turn(three));
            brackets.extend(crossings.chain(turns.flatten()));
        }
        brackets
    }

    /// Neighbours that are all accepted, with the borders to the refused ones beside them.
    fn runs(&self, scan: &[(f64, Result<f64>)]) -> Vec<Vec<Point>> {
        let (mut runs, mut run) = (Vec::new(), Vec::<Point>::new());
        let mut refused = None;
        for (value, output) in scan {
            if let Ok(output) = output {
                let point = (*value, self.above(*output));
                if run.is_empty() {
                    run.extend(refused.and_then(|refused| self.border(point, refused)));
                }
                run.push(point);
            } else {
                refused = Some(*value);
                if let Some(last) = run.last() {
                    run.extend(self.border(*last, *value));
                    runs.push(std::mem::take(&mut run));
                }
            }
        }
        runs.push(run);
        runs
    }

    /// The accepted point nearest to a refused value, if it lies nearer than the one known.
    fn border(&self, accepted: Point, refused: f64) -> Option<Point> {
        let (mut inside, mut outside) = (accepted, refused);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (inside.0 + outside);
            match self.excess(middle) {
                Ok(excess) => inside = (middle, excess),
                Err(_) => outside = middle,
            }
        }
        (inside != accepted).then_some(inside)
    }

    /// Two brackets where the output turns beyond the target between three points that lie on one side of it.
    fn turn(&self, three: &[Point]) -> Option<[(f64, f64); 2]> {
        let [(low, first), (middle, nearest), (high, last)] = *three else {
            return None;
        };
        let side = nearest.signum();
        let nears = side * nearest < (side * first).min(side * last);
        if !nears || first.signum() != side || last.signum() != side {
            return None;
        }
        let golden = 0.5 * (3.0 - 5_f64.sqrt());
        let (mut a, mut x, mut b) = (low, middle, high);
        let mut at_x = side * nearest;
        for _ in 0..SECTIONS {
            let wider_above = b - x > x - a;
            let trial = x + golden * if wider_above { b - x } else { a - x };
            let at_trial = side * self.excess(trial).ok()?;
            if at_trial < 0.0 {
                return Some([(low, trial), (trial, high)]);
            }
            let (inner, outer) = if at_trial < at_x {
                at_x = at_trial;
                (trial, x)
            } else {
                (x, trial)
            };
            x = inner;
            if outer > x {
                b = outer;
            } else {
                a = outer;
            }
        }
        None
    }

    /// The answer in a bracket. Error 401 for a jump, with what is left.
    fn close(&self, (low, high): (f64, f64), tolerance: f64) -> Result<Answer> {
        let solver = "the question about the method";
        let input = bracketed(solver, low, high, SOUGHT, |input| self.excess(input))?;
        let output = self.output(input)?;
        let residual = output - self.question.target;
        if residual.abs() <= tolerance {
            return Ok(Answer { input, output });
        }
        Err(Error::NoConvergence {
            solver,
            iterations: SOUGHT.iterations,
            residual,
            tolerance,
        })
    }

    /// Why there is no answer: error 401 for a jump over the target, the refusal where all is refused, 405 else.
    fn nowhere(&self, scan: &[(f64, Result<f64>)], unresolved: Vec<Unresolved>) -> Error {
        if let Some(first) = unresolved.into_iter().next() {
            return first.why;
        }
        let refusal = scan
            .iter()
            .find_map(|(value, result)| Some((*value, result.as_ref().err()?)));
        let accepted = scan.iter().find(|(_, result)| result.is_ok());
        let told = accepted.map_or(Ok(None), |(value, _)| self.told(*value).map(Some));
        match (told, refusal) {
            (Ok(Some(told)), refusal) => self.no_answer(&told, scan, refusal),
            (Err(error), _) => error,
            (Ok(None), Some((_, refusal))) => refusal.clone(),
            (Ok(None), None) => Error::Internal {
                place: "study::find, a scan without values",
            },
        }
    }

    fn no_answer(
        &self,
        told: &Told,
        scan: &[(f64, Result<f64>)],
        refusal: Option<(f64, &Error)>,
    ) -> Error {
        let Question {
            input,
            output,
            low,
            high,
            ..
        } = self.question;
        let unit = unit_behind(input.quantity);
        let refused = refusal.map_or(String::new(), |(value, error)| {
            format!("; {}{unit} is refused: {error}", significant(value))
        });
        let outputs = || scan.iter().filter_map(|(_, result)| result.as_ref().ok());
        Error::NoAnswer {
            quantity: told.quantity,
            output: format!("{}.{}", output.of, output.name),
            target: self.question.target,
            min: outputs().copied().fold(f64::INFINITY, f64::min),
            max: outputs().copied().fold(f64::NEG_INFINITY, f64::max),
            reason: format!(
                "`{}.{}` was tried from {} to {}{unit}{refused}",
                input.of,
                input.key,
                significant(*low),
                significant(*high),
            ),
        }
    }
}

/// The values of two neighbours of which one reaches the target from below and the other from above.
fn crossing(pair: &[Point]) -> Option<(f64, f64)> {
    let [(low, below), (high, above)] = *pair else {
        return None;
    };
    ((below < 0.0) != (above < 0.0)).then_some((low, high))
}
