//! The bands at every detector, and at the end of every line where nothing detects.

use std::ffi::{CString, c_char};

use densepath_core::path::{BandBudget, Detection, Solution};
use densepath_core::{Error, Quantity};

use crate::argument::{array_out, output, refused, text, value};
use crate::dp_status;
use crate::guard::guard;
use crate::handle::{c_text, dp_solution};
use crate::rows::{at, band_row, dp_band};
use crate::solution::{Solved, budget, dp_band_budget, fill_record, tell};

/// Texts of the detections of a solution, in their order.
pub struct DetectionTexts(Vec<OfOne>);

struct OfOne {
    part: CString,
    branch_of: CString,
    rows: Vec<CString>,
}

impl DetectionTexts {
    /// The texts of a solution.
    pub fn new(solution: &Solution) -> Self {
        let detections = solution.detections.iter();
        let of_one = detections.map(|detection| {
            let rows = detection.bands_of_solutes.first().map(|bands| &bands.rows);
            OfOne {
                part: c_text(&detection.part),
                branch_of: c_text(detection.branch_of.as_deref().unwrap_or_default()),
                rows: rows
                    .into_iter()
                    .flatten()
                    .map(|row| c_text(&row.part))
                    .collect(),
            }
        });
        Self(of_one.collect())
    }
}

/// Where bands arrive: a detector, or the last part of a line where nothing detects.
///
/// Of an injected amount n the concentration there is n w f(t) / q_V, with the injected share w, the profile f of unit area that the
/// chromatogram of a solute has, and the volume flow rate q_V.
#[repr(C)]
pub struct dp_detection {
    /// Name of the part; it belongs to the solution and is valid as long as it.
    pub part: *const c_char,
    /// Name of the part at whose outlet its branch begins, empty on the main line; it belongs to the solution and is valid as long as it.
    pub branch_of: *const c_char,
    /// Share of the injected amount of every solute that arrives.
    pub injected_share: f64,
    /// Volume flow rate q_V in m3/s that arrives.
    pub volume_flow_rate: f64,
}

fn detection(solved: &Solved, index: usize) -> Result<&Detection, Error> {
    at(&solved.solution.detections, "index", index)
}

/// The bands of the first solute at a detection, if a column lies before.
fn bands(solved: &Solved, index: usize) -> Result<&BandBudget, Error> {
    let found = detection(solved, index)?.bands_of_solutes.first();
    let need = "a band needs a solute in the method, and an injector and a column before this part";
    found.ok_or_else(|| solved.lacks(Quantity::TimeVariance, need))
}

/// Number of the places where bands arrive: the detectors and the ends of lines where nothing detects, those of the main line first; 0
/// without an injector. What `dp_solution_bands` tells is that of the first.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_detection_count(
    solution: *const dp_solution,
    out: *mut usize,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(solved.solution.detections.len())) }
}

/// Where bands arrive, by an index from 0. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_detection_at(
    solution: *const dp_solution,
    index: usize,
    out: *mut dp_detection,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            let texts = at(&solved.detections.0, "index", index)?;
            let detection = detection(solved, index)?;
            Ok(dp_detection {
                part: texts.part.as_ptr(),
                branch_of: texts.branch_of.as_ptr(),
                injected_share: detection.injected_share,
                volume_flow_rate: detection.volume_flow_rate,
            })
        })
    }
}

/// Index, from 0, of the detector called `part`, or of the last part of a line where nothing detects. Error 104 if there is none of that
/// name.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_detection_find(
    solution: *const dp_solution,
    part: *const c_char,
    out: *mut usize,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (solved, part, out) = unsafe {
            let solved = value(solution, "solution")?;
            (solved, text(part, "part")?, output(out, "out")?)
        };
        let mut all = solved.solution.detections.iter();
        let expected = "the name of a detector behind the injector, or of the last part of a line where nothing detects";
        let found = all.position(|one| one.part == part);
        out.write(found.ok_or_else(|| refused("part", expected, &part))?);
        Ok(())
    })
}

/// What all parts on the way to the detection at `index`, from 0, do to the band of the solute.
/// Error 104 for an index beyond the last, 202 where no band of a solute arrives that passed a column.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_detection_bands(
    solution: *const dp_solution,
    index: usize,
    out: *mut dp_band_budget,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(budget(bands(solved, index)?))) }
}

/// Number of the parts that add to the band of the solute on its way to the detection at `index`, from 0.
/// Errors as of `dp_detection_bands`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_detection_band_count(
    solution: *const dp_solution,
    index: usize,
    out: *mut usize,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(bands(solved, index)?.rows.len())) }
}

/// What the part at `row`, from 0, does to the band of the solute on its way to the detection at `index`, from 0.
/// Error 104 for a number beyond the last, 202 where no band of a solute arrives that passed a column.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_detection_band_at(
    solution: *const dp_solution,
    index: usize,
    row: usize,
    out: *mut dp_band,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            let told = at(&bands(solved, index)?.rows, "row", row)?;
            let texts = at(&solved.detections.0, "index", index)?;
            Ok(band_row(told, at(&texts.rows, "row", row)?))
        })
    }
}

/// Writes what the detection at `index`, from 0, records of an injection at time zero, without noise, with the area 1 for the peak of each
/// solute: `n` samples in 1/s from `start` in s on, `data_rate` of them in a second; programmed if the document has programs.
/// Error 101 for a rate not above zero, 102 where a law of a solute leaves its range on the way, 104 for an index beyond the last, and
/// where no band arrives that passed a column.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_detection_chromatogram(
    solution: *const dp_solution,
    index: usize,
    start: f64,
    data_rate: f64,
    n: usize,
    out: *mut f64,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (solved, out) = unsafe { (value(solution, "solution")?, array_out(out, n, &[])?) };
        let detection = detection(solved, index)?;
        fill_record(out, start, data_rate, |end| {
            if solved.method().programs.is_empty() {
                detection.chromatogram([], start, end, data_rate)
            } else {
                let method = solved.method();
                method.chromatogram_at(&detection.part, [], start, end, data_rate)
            }
        })?;
        Ok(())
    })
}
