//! The solution of a method document, and what it tells as a whole.

use std::ffi::{CString, c_char};
use std::sync::OnceLock;

use densepath_core::path::{BandBudget, Chromatogram, Solution, Watch};
use densepath_core::{Error, Method, Quantity, method, report};

use crate::argument::{array_out, output, text, value};
use crate::detections::DetectionTexts;
use crate::dp_status;
use crate::guard::guard;
use crate::handle::{c_text, dp_solution, free, owned};
use crate::rows::RowTexts;

/// A solution with its texts as C reads them.
pub struct Solved {
    /// The solution.
    pub solution: Solution,
    method: Method,
    /// Texts of its rows.
    pub texts: RowTexts,
    /// Texts of its detections.
    pub detections: DetectionTexts,
    title: CString,
    solute: CString,
    report: OnceLock<CString>,
    json: OnceLock<CString>,
}

impl Solved {
    /// The method, solved; what is asked of it afterwards has no limit of time.
    pub fn new(mut method: Method) -> Result<Self, Error> {
        let solution = method.solve()?;
        method.path.watch = Watch::default();
        let solute = solution.bands.as_ref().map_or("", |bands| &bands.solute);
        Ok(Self {
            title: c_text(&solution.title),
            solute: c_text(solute),
            texts: RowTexts::new(&solution),
            detections: DetectionTexts::new(&solution),
            report: OnceLock::new(),
            json: OnceLock::new(),
            solution,
            method,
        })
    }

    /// The method.
    pub fn method(&self) -> &Method {
        &self.method
    }

    /// An error for something that the method does not have.
    pub fn lacks(&self, property: Quantity, need: &'static str) -> Error {
        Error::MissingModel {
            property,
            fluid: self.solution.fluid.clone(),
            need,
        }
    }
}

/// Solves the method document in `text`, TOML in UTF-8: everything that follows from it in steady flow.
///
/// The caller owns the result and frees it with `dp_solution_free`. It may take seconds.
/// Errors: 601 to 606 for a document that cannot be read (the message tells line, key and what to write), 590 for an error in
/// one part, 402 if no setting within the limits of the pump closes the balance.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solve_toml(
    text: *const c_char,
    out: *mut *mut dp_solution,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (text, out) = unsafe { (self::text(text, "text")?, output(out, "out")?) };
        out.write(owned(Solved::new(method::read_method(text)?)?));
        Ok(())
    })
}

/// Solves the method document in `text`, TOML in UTF-8, within `time_limit` in s; see `dp_solve_toml`.
///
/// The caller owns the result and frees it with `dp_solution_free`. The time is looked at before each march along the path: the call
/// ends within one march after it, a fraction of a second. Error 406 if the time is over, 101 for one that is negative or no number.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solve_toml_within(
    text: *const c_char,
    time_limit: f64,
    out: *mut *mut dp_solution,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (text, out) = unsafe { (self::text(text, "text")?, output(out, "out")?) };
        let mut method = method::read_method(text)?;
        method.path.watch = Watch::within(time_limit)?;
        out.write(owned(Solved::new(method)?));
        Ok(())
    })
}

/// Solves the method document in `text`, JSON in UTF-8 with the same keys and values as in TOML; see `dp_solve_toml`.
///
/// The caller owns the result and frees it with `dp_solution_free`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solve_json(
    text: *const c_char,
    out: *mut *mut dp_solution,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (text, out) = unsafe { (self::text(text, "text")?, output(out, "out")?) };
        out.write(owned(Solved::new(method::read_method_json(text)?)?));
        Ok(())
    })
}

/// Solves the method document in the file at `path`, TOML, its name in UTF-8; see `dp_solve_toml`.
///
/// The caller owns the result and frees it with `dp_solution_free`. Error 610 if the file cannot be read.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solve_file(
    path: *const c_char,
    out: *mut *mut dp_solution,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (path, out) = unsafe { (text(path, "path")?, output(out, "out")?) };
        out.write(owned(Solved::new(method::read_method_file(path)?)?));
        Ok(())
    })
}

/// Frees a solution with all texts that it gave out; `NULL` is left alone.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_free(solution: *mut dp_solution) {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { free(solution) };
}

/// Writes what a solution tells.
pub unsafe fn tell<T>(
    solution: *const dp_solution,
    out: *mut T,
    what: impl FnOnce(&Solved) -> Result<T, Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (solution, out) = unsafe { (value(solution, "solution")?, output(out, "out")?) };
        out.write(what(solution)?);
        Ok(())
    })
}

/// Title of the method. The text belongs to the solution and is valid as long as it.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_title(
    solution: *const dp_solution,
    out: *mut *const c_char,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(solved.title.as_ptr())) }
}

/// The whole solution as text for people, in the units of the laboratory, at most 100 columns wide unless a title
/// or a single word takes more.
/// The text belongs to the solution and is valid as long as it.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_report(
    solution: *const dp_solution,
    out: *mut *const c_char,
) -> dp_status {
    let report = |solved: &Solved| c_text(&report::to_text(&solved.solution));
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            Ok(solved.report.get_or_init(|| report(solved)).as_ptr())
        })
    }
}

/// The whole solution as JSON for programs, in SI units. The text belongs to the solution and is valid as long as it.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_json(
    solution: *const dp_solution,
    out: *mut *const c_char,
) -> dp_status {
    let json = |solved: &Solved| c_text(&format!("{:#}", report::to_json(&solved.solution)));
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            Ok(solved.json.get_or_init(|| json(solved)).as_ptr())
        })
    }
}

/// Pressure p in Pa (absolute) at which the pump delivers.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_delivery_pressure(
    solution: *const dp_solution,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            Ok(solved.solution.delivery_pressure)
        })
    }
}

/// Mass flow rate q_m in kg/s, the same along the whole path.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_mass_flow_rate(
    solution: *const dp_solution,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(solved.solution.mass_flow_rate)) }
}

/// What a method uses up.
#[repr(C)]
pub struct dp_consumption {
    /// Mass flow rate q_m in kg/s.
    pub mass_flow_rate: f64,
    /// Volume flow rate q_V of the gas let out in m3/s, at 20 degC and 101325 Pa.
    pub gas_volume_flow_rate: f64,
    /// Time t in s for which the liquid in the supply lasts.
    pub running_time: f64,
}

/// What the method uses up.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_consumption(
    solution: *const dp_solution,
    out: *mut dp_consumption,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            let consumption = solved.solution.consumption;
            Ok(dp_consumption {
                mass_flow_rate: consumption.mass_flow_rate,
                gas_volume_flow_rate: consumption.gas_volume_flow_rate,
                running_time: consumption.running_time,
            })
        })
    }
}

/// What all parts together do to the band of the solute.
#[repr(C)]
pub struct dp_band_budget {
    /// Sum of the variances in time, sigma_t^2, in s2.
    pub time_variance: f64,
    /// Time t from injection to detection in s.
    pub time: f64,
    /// Retention time t_R on the columns in s.
    pub retention_time: f64,
    /// Hold-up time t_M of the columns in s.
    pub hold_up_time: f64,
    /// Retention factor k over the columns.
    pub retention_factor: f64,
    /// Plate number N of the columns alone.
    pub column_plate_number: f64,
    /// Apparent plate number N with the variance of all parts.
    pub apparent_plate_number: f64,
}

/// The budget of the bands, if there is one.
pub fn bands(solved: &Solved) -> Result<&BandBudget, Error> {
    solved.solution.bands.as_ref().ok_or_else(|| {
        solved.lacks(
            Quantity::TimeVariance,
            "a band needs an injection, a column and a solute in the method",
        )
    })
}

/// What all parts together do to the band of the solute.
/// Error 202 if the method has no injection, no column or no solute.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_bands(
    solution: *const dp_solution,
    out: *mut dp_band_budget,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(solution, out, |solved| Ok(budget(bands(solved)?))) }
}

/// A budget of the bands as C reads it.
pub fn budget(bands: &BandBudget) -> dp_band_budget {
    dp_band_budget {
        time_variance: bands.time_variance,
        time: bands.time,
        retention_time: bands.retention_time,
        hold_up_time: bands.hold_up_time,
        retention_factor: bands.retention_factor,
        column_plate_number: bands.column_plate_number,
        apparent_plate_number: bands.apparent_plate_number,
    }
}

/// Fills an array with the samples of a record from a start in s on, which is made up to an end.
pub fn fill_record(
    out: &mut [f64],
    start: f64,
    data_rate: f64,
    record: impl FnOnce(f64) -> Result<Chromatogram, Error>,
) -> Result<(), Error> {
    let end = start + out.len() as f64 / data_rate;
    for (place, sample) in out.iter_mut().zip(record(end)?.signal) {
        *place = sample;
    }
    Ok(())
}

/// Writes what the detector records of an injection at time zero, without noise, with the area 1 for the peak of each solute: `n` samples
/// in 1/s from `start` in s on, `data_rate` of them in a second; programmed if the document has programs.
/// Error 101 for a rate not above zero, 102 where a law of a solute leaves its range on the way.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_chromatogram(
    solution: *const dp_solution,
    start: f64,
    data_rate: f64,
    n: usize,
    out: *mut f64,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (solved, out) = unsafe { (value(solution, "solution")?, array_out(out, n, &[])?) };
        fill_record(out, start, data_rate, |end| {
            if solved.method.programs.is_empty() {
                solved.solution.chromatogram([], start, end, data_rate)
            } else {
                solved.method.chromatogram([], start, end, data_rate)
            }
        })?;
        Ok(())
    })
}

/// Name of the solute whose band is followed. The text belongs to the solution and is valid as long as it.
/// Error 202 if the method has no injection, no column or no solute.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_solute(
    solution: *const dp_solution,
    out: *mut *const c_char,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(solution, out, |solved| {
            bands(solved)?;
            Ok(solved.solute.as_ptr())
        })
    }
}
