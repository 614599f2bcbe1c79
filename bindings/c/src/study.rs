//! Questions about a solved method: any result by its name, other settings, what to set for a wanted result; and what is wrong with
//! a document.

use std::ffi::c_char;
use std::fmt::Write as _;

use densepath_core::method;
use densepath_core::study::{Output, Question, find};

use crate::argument::{array_out, output, text, value};
use crate::dp_status;
use crate::guard::{fill_text, guard};
use crate::handle::{dp_solution, owned};
use crate::solution::{Solved, tell};

/// A result of a solution by its name, in SI units: of a part ("column") any quantity of the fluid at its outlet ("density") and
/// the words of its facts, of a solute "retention_time" and the like, of "method" "delivery_pressure" and the like.
/// Error 602 for a name that the solution does not tell; the message lists those that it does.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_output(
    solution: *const dp_solution,
    of: *const c_char,
    name: *const c_char,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            let wanted = Output::new(text(of, "of")?, text(name, "name")?);
            wanted.value(&solved.solution).map(|told| told.value)
        })
    }
}

/// The value in SI units that the document of a solution states for a key of a part, of a solute, of "room" or of "document" (the keys
/// before the first heading).
/// Error 602 for a key that is not there, 603 for one that the document does not state.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_input(
    solution: *const dp_solution,
    of: *const c_char,
    key: *const c_char,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            solved
                .method()
                .input(text(of, "of")?, text(key, "key")?)?
                .stated()
        })
    }
}

/// Solves the method of a solution with another value in SI units for one key, see `dp_solution_input`; a pressure is absolute.
///
/// The caller owns the result and frees it with `dp_solution_free`. Errors as `dp_solve_toml`, and 602 for a key that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_with(
    solution: *const dp_solution,
    of: *const c_char,
    key: *const c_char,
    in_si: f64,
    out: *mut *mut dp_solution,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (solved, of, key, out) = unsafe {
            (
                value(solution, "solution")?,
                text(of, "of")?,
                text(key, "key")?,
                output(out, "out")?,
            )
        };
        let input = solved.method().input(of, key)?;
        out.write(owned(Solved::new(
            solved.method().with(&[(&input, in_si)])?,
        )?));
        Ok(())
    })
}

/// All values of one key between `low` and `high` for which a result comes to `target`, all in SI units, by rising value.
///
/// `of` and `key` name the input as in `dp_solution_input`, `output_of` and `output_name` the result as in `dp_solution_output`.
/// `samples` values are solved first, 2 at least, to see where the result passes the target. At most `capacity` answers are written to
/// `answers`, which may be `NULL` if it is 0; `count` receives how many there are. It may take seconds, all of them on the calling thread.
/// Errors: 101 for bounds that do not rise or too few samples, 602 for an unknown name, 405 if no value leads to the target:
/// `dp_last_error` tells the range that the result has between the bounds.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_find_input(
    solution: *const dp_solution,
    of: *const c_char,
    key: *const c_char,
    output_of: *const c_char,
    output_name: *const c_char,
    target: f64,
    low: f64,
    high: f64,
    samples: usize,
    answers: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (solved, of, key, answers, count) = unsafe {
            (
                value(solution, "solution")?,
                text(of, "of")?,
                text(key, "key")?,
                array_out(answers, capacity, &[])?,
                output(count, "count")?,
            )
        };
        // SAFETY: the caller keeps the rules of the header.
        let wanted = unsafe {
            Output::new(
                text(output_of, "output_of")?,
                text(output_name, "output_name")?,
            )
        };
        let question = Question {
            input: solved.method().input(of, key)?,
            output: wanted,
            target,
            low,
            high,
            samples,
        };
        let found = find(solved.method(), &question)?;
        for (place, answer) in answers.iter_mut().zip(&found.answers) {
            *place = answer.input;
        }
        count.write(found.answers.len());
        Ok(())
    })
}

/// Everything that is wrong with the method document in `text`, TOML in UTF-8, one problem a line in the order of the text:
/// `line:column: what is wrong`, with 0 for a place that is not known; empty for a document that can be read.
///
/// At most `capacity` bytes are written to `buffer`, the closing NUL included; `buffer` may be `NULL` if `capacity` is 0. `needed`,
/// unless it is `NULL`, receives the bytes of the whole text. `count` receives the number of problems.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_check_toml(
    text: *const c_char,
    buffer: *mut c_char,
    capacity: usize,
    needed: *mut usize,
    count: *mut usize,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (text, count) = unsafe { (self::text(text, "text")?, output(count, "count")?) };
        let problems = method::problems(text);
        let mut told = String::new();
        for problem in &problems {
            let (line, column) = (problem.line.unwrap_or(0), problem.column.unwrap_or(0));
            // Writing to a String cannot fail.
            let _ = writeln!(told, "{line}:{column}: {}", problem.error);
        }
        // SAFETY: the caller keeps the rules of the header.
        unsafe { fill_text(&told, buffer, capacity, needed)? };
        count.write(problems.len());
        Ok(())
    })
}
