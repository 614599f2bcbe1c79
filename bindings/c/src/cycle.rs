//! What the runs of a method take and use up.

use std::ffi::{CString, c_char};

use densepath_core::Error;
use densepath_core::path::{Cycle, CyclePlan};

use crate::argument::{output, value};
use crate::dp_status;
use crate::guard::guard;
use crate::handle::{c_text, dp_cycle, dp_solution, free, owned};
use crate::lookup::quantity_number;
use crate::rows::at;

/// A cycle, with its texts as C reads them.
pub struct NamedCycle {
    cycle: Cycle,
    names: Vec<CString>,
}

/// What runs of a `run_time` in s from injection to end take and use up when they follow each other, by the program of the method where it
/// has one; between runs the settings of the start count. `handling_time` in s goes by between runs, and the mobile phase of the columns is
/// replaced `equilibration_volumes` times before the next injection: 5 to 10 (common practice, no source), 0 where nothing has changed.
///
/// The caller frees the result with `dp_cycle_free`. A method with a program is solved at each point of it. Errors: 606 for a method
/// without column, 101 for a time not above zero or values that are negative.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_solution_cycle(
    solution: *const dp_solution,
    run_time: f64,
    handling_time: f64,
    equilibration_volumes: f64,
    out: *mut *mut dp_cycle,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (solution, out) = unsafe { (value(solution, "solution")?, output(out, "out")?) };
        let cycle = solution.method().cycle(&CyclePlan {
            run_time,
            handling_time,
            equilibration_volumes,
        })?;
        let names = cycle.uses.iter().map(|used| c_text(&used.what)).collect();
        out.write(owned(NamedCycle { cycle, names }));
        Ok(())
    })
}

/// What of a cycle is asked.
unsafe fn ask<T>(
    cycle: *const dp_cycle,
    out: *mut T,
    what: impl FnOnce(&NamedCycle) -> Result<T, Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (cycle, out) = unsafe { (value(cycle, "cycle")?, output(out, "out")?) };
        out.write(what(cycle)?);
        Ok(())
    })
}

/// The times of a cycle.
#[repr(C)]
pub struct dp_cycle_times {
    /// Time in s in which the mobile phase passes from where its last change is made through all parts that are no columns to the last
    /// column; of several ways to columns the one that takes longest counts.
    pub dwell_time: f64,
    /// Time in s in which it passes the columns on that way, their hold-up time.
    pub column_time: f64,
    /// Time in s to bring the columns back to their start.
    pub equilibration_time: f64,
    /// Time in s from one injection to the next.
    pub cycle_time: f64,
    /// Runs in a day.
    pub runs_per_day: f64,
}

/// Writes the times of a cycle.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_cycle_times_of(
    cycle: *const dp_cycle,
    out: *mut dp_cycle_times,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        ask(cycle, out, |named| {
            Ok(dp_cycle_times {
                dwell_time: named.cycle.dwell_time,
                column_time: named.cycle.column_time,
                equilibration_time: named.cycle.equilibration_time,
                cycle_time: named.cycle.cycle_time,
                runs_per_day: named.cycle.runs_per_day,
            })
        })
    }
}

/// What a run and a day use up of one thing.
#[repr(C)]
pub struct dp_use {
    /// The name of a substance, "gas let out (20 degC, 1 atm)", or the part with what its heat is for. It belongs to the cycle.
    pub name: *const c_char,
    /// Its quantity, one of `dp_quantity`: mass in kg, volume in m3 or energy in J.
    pub quantity: i32,
    /// Of one run with what follows it; heat is negative where it is taken from the fluid.
    pub per_run: f64,
    /// Of as many runs as a day holds.
    pub per_day: f64,
}

/// Count of the things that a cycle uses up.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_cycle_use_count(cycle: *const dp_cycle, out: *mut usize) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { ask(cycle, out, |named| Ok(named.cycle.uses.len())) }
}

/// The thing at `index`, from 0, that a cycle uses up. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_cycle_use_at(
    cycle: *const dp_cycle,
    index: usize,
    out: *mut dp_use,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        ask(cycle, out, |named| {
            let used = at(&named.cycle.uses, "index", index)?;
            Ok(dp_use {
                name: at(&named.names, "index", index)?.as_ptr(),
                quantity: quantity_number(used.quantity),
                per_run: used.per_run,
                per_day: used.per_day,
            })
        })
    }
}

/// Frees a cycle; `NULL` is left alone.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_cycle_free(cycle: *mut dp_cycle) {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { free(cycle) }
}
