//! A program of one input that holds an output while other settings change.

use fluid::{Error, Result};

use super::find::{Answer, Question, find};
use crate::fluid;
use crate::method::Method;

/// A program that holds an output.
///
/// ```
/// # use densepath::study::{Output, Question, hold};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let denser = method.with_program(&method.input("regulator", "pressure")?, &[(0.0, 150e5), (300.0, 200e5)])?;
/// let (input, output) = (method.input("pump", "volume_flow_rate")?, Output::new("column", "velocity"));
/// let question = Question { input, output, target: 4e-3, low: 1e-8, high: 1e-7, samples: 4 };
/// let held = hold(&denser, &question)?;
/// // The document that comes back programs the pump as well.
/// assert_eq!((denser.programs.len(), held.method.programs.len()), (1, 2));
/// assert!(held.answers.iter().all(|answer| (answer.output / 4e-3 - 1.0).abs() < 1e-6));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Held {
    /// The method with the program of the input beside its own.
    pub method: Method,
    /// Times t in s after the injection.
    pub times: Vec<f64>,
    /// The input at each, with the output that it leads to in steady flow.
    pub answers: Vec<Answer>,
}

/// The program of an input that holds an output of a method with programs at a value: the flow for a constant velocity while a pressure
/// rises, the pressure for a constant flow while a temperature does.
///
/// At each point of the programs, and at those between at which a run is solved, the question is asked as by [`find`]; of several answers
/// the one nearest to that of the time before counts, at first to what the document states. Between these times the input is straight.
///
/// *Valid*: as for the run in steady flows, whose [`notices`](crate::path::ProgrammedRun::notices) judge it. *Uncertainty*: `1e-8` of the
/// output at the times told; between them that of a chord. *Source*: none is needed.
///
/// Errors: 104 for an input that is programmed already; 605 for one that is none of a part; 606 for a method without program; those of
/// [`find`], with the time (591).
///
/// ```
/// # use densepath::study::{Output, Question, hold};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let (input, output) = (method.input("pump", "volume_flow_rate")?, Output::new("column", "velocity"));
/// let question = Question { input, output, target: 4e-3, low: 1e-8, high: 1e-7, samples: 4 };
/// // Nothing changes in time: there is nothing to hold against.
/// assert_eq!(hold(&method, &question).unwrap_err().code(), 606);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn hold(method: &Method, question: &Question) -> Result<Held> {
    require_free(method, question)?;
    let times = method.program_times();
    let mut near = question.input.value;
    let mut answers: Vec<Answer> = Vec::with_capacity(times.len());
    for time in &times {
        let answer = held_at(method, question, *time, near).map_err(|error| Error::InProgram {
            time: *time,
            source: Box::new(error),
        })?;
        near = Some(answer.input);
        answers.push(answer);
    }
    let inputs = answers.iter().map(|answer| answer.input);
    let points: Vec<(f64, f64)> = times.iter().copied().zip(inputs).collect();
    Ok(Held {
        method: method.with_program(&question.input, &points)?,
        times,
        answers,
    })
}

/// The answer at one time: of several the one nearest to another value of the input.
fn held_at(method: &Method, question: &Question, time: f64, near: Option<f64>) -> Result<Answer> {
    let found = find(&method.setting(time)?, question)?;
    let away = |answer: &Answer| near.map_or(0.0, |near| (answer.input - near).abs());
    let nearest = found.answers.into_iter();
    nearest
        .min_by(|one, other| away(one).total_cmp(&away(other)))
        .ok_or(Error::Internal {
            place: "study::hold, an answer without answers",
        })
}

/// Refuses an input that cannot have a program beside those of the method.
fn require_free(method: &Method, question: &Question) -> Result<()> {
    let input = &question.input;
    if method.programs.is_empty() {
        return Err(Error::Layout {
            line: None,
            key: "program".to_owned(),
            rule: "is missing: nothing changes in time, so that `find` tells the one value that leads to the target".to_owned(),
        });
    }
    let mut programs = method.programs.iter();
    if programs.any(|one| (&one.part, &one.key) == (&input.of, &input.key)) {
        return Err(Error::Argument {
            argument: "input".to_owned(),
            expected: "for a key that no program of the method changes",
            got: format!("{}: {}", input.of, input.key),
        });
    }
    // What has no programs is refused before the work.
    let stated = input
        .value
        .map(|value| method.with_program(input, &[(0.0, value)]));
    stated.transpose().map(|_| ())
}
