//! Properties over a region as a table, for loops that control an instrument.

use std::ffi::{CString, c_char};

use densepath_core::PropertyTable;

use crate::argument::{array, output, refused, value};
use crate::dp_status;
use crate::guard::guard;
use crate::handle::{c_text, dp_fluid, dp_table, free, owned};
use crate::lookup::{quantity, quantity_number};

/// A table, with its texts as C reads them.
pub struct NamedTable {
    table: PropertyTable,
    fluid: CString,
    model: CString,
}

impl NamedTable {
    fn new(table: PropertyTable) -> Self {
        Self {
            fluid: c_text(table.fluid()),
            model: c_text(table.model()),
            table,
        }
    }
}

/// The table of `n` properties, numbers of `dp_quantity`, of a fluid between two temperatures in K and two pressures in Pa, with a
/// largest relative error `tolerance` from 1e-10 to 0.1.
///
/// The caller owns the result and frees it with `dp_table_free`. It takes from milliseconds to a minute, and memory. Errors: 101 for
/// limits that are not positive or in rising order; 104 for no property, more than 32, one named twice or one that is no property of a
/// state; those of `dp_property` where a state has none; 301 where a state has several phases; 407 where a border of the phases, a
/// critical point or the size of a table stands in the way.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_table_new(
    fluid: *const dp_fluid,
    properties: *const i32,
    n: usize,
    temperature_min: f64,
    temperature_max: f64,
    pressure_min: f64,
    pressure_max: f64,
    tolerance: f64,
    out: *mut *mut dp_table,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (fluid, properties, out) = unsafe {
            (
                value(fluid, "fluid")?,
                array(properties, n, "properties")?,
                output(out, "out")?,
            )
        };
        let quantities: Result<Vec<_>, _> = properties.iter().map(|of| quantity(*of)).collect();
        let table = PropertyTable::new(
            &fluid.fluid,
            &quantities?,
            [temperature_min, temperature_max],
            [pressure_min, pressure_max],
            tolerance,
        )?;
        out.write(owned(NamedTable::new(table)));
        Ok(())
    })
}

/// Frees a table; `NULL` is left alone.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_table_free(table: *mut dp_table) {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { free(table) }
}

/// The property with an `index`, from 0, of a table at `temperature` in K and `pressure` in Pa, in its SI unit.
///
/// For loops that control an instrument: the worst case is 14 steps down a tree and one polynomial of 48 coefficients, fewer than 1000
/// instructions on x86-64, which a test counts. It does not iterate, wait, ask for memory or call the system, and gives the same bits on every processor; neither does error 105, outside of the
/// table, unless another error came before on this thread. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_table_value(
    table: *const dp_table,
    index: usize,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (table, out) = unsafe { (value(table, "table")?, output(out, "out")?) };
        out.write(table.table.value(index, temperature, pressure)?);
        Ok(())
    })
}

/// Writes what a table tells.
unsafe fn tell<T>(
    table: *const dp_table,
    out: *mut T,
    what: impl FnOnce(&NamedTable) -> Result<T, densepath_core::Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (table, out) = unsafe { (value(table, "table")?, output(out, "out")?) };
        out.write(what(table)?);
        Ok(())
    })
}

/// Name of the fluid of a table; the text belongs to the table and is valid as long as it.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_table_fluid(
    table: *const dp_table,
    out: *mut *const c_char,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(table, out, |table| Ok(table.fluid.as_ptr())) }
}

/// Name of the equation of state that a table stands for; the text belongs to the table and is valid as long as it.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_table_model(
    table: *const dp_table,
    out: *mut *const c_char,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(table, out, |table| Ok(table.model.as_ptr())) }
}

/// Number of the properties of a table.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_table_property_count(
    table: *const dp_table,
    out: *mut usize,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(table, out, |table| Ok(table.table.quantities().len())) }
}

/// Number of `dp_quantity` of the property with an `index`, from 0, of a table. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_table_property(
    table: *const dp_table,
    index: usize,
    out: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(table, out, |table| {
            let found = table.table.quantities().nth(index).map(quantity_number);
            found.ok_or_else(|| refused("index", "below the number of properties", &index))
        })
    }
}

/// Largest relative error of the property with an `index`, from 0, of a table against its equation: twice the largest found at 25 places
/// of each of its rectangles; of a property that can be zero relative to the span of its values where that is larger. Error 104 for an
/// index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_table_largest_error(
    table: *const dp_table,
    index: usize,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(table, out, |table| table.table.largest_error(index)) }
}

/// Limits of a table: temperatures in K, pressures in Pa.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_table_range(
    table: *const dp_table,
    temperature_min: *mut f64,
    temperature_max: *mut f64,
    pressure_min: *mut f64,
    pressure_max: *mut f64,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (table, places) = unsafe {
            (
                value(table, "table")?,
                [
                    output(temperature_min, "temperature_min")?,
                    output(temperature_max, "temperature_max")?,
                    output(pressure_min, "pressure_min")?,
                    output(pressure_max, "pressure_max")?,
                ],
            )
        };
        let [cold, hot] = table.table.temperature();
        let [low, high] = table.table.pressure();
        for (place, limit) in places.into_iter().zip([cold, hot, low, high]) {
            place.write(limit);
        }
        Ok(())
    })
}

/// Writes a table as bytes, for `dp_table_read` on this or another machine.
///
/// `needed` receives the number of bytes. They are written to `buffer` if its `capacity` is as large; otherwise nothing is written to
/// it. `buffer` may be `NULL` if `capacity` is 0.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_table_write(
    table: *const dp_table,
    buffer: *mut u8,
    capacity: usize,
    needed: *mut usize,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (table, needed) = unsafe { (value(table, "table")?, output(needed, "needed")?) };
        if buffer.is_null() && capacity > 0 {
            return Err(refused("buffer", "not NULL", &"NULL").into());
        }
        let bytes = table.table.to_bytes();
        if bytes.len() <= capacity {
            // SAFETY: `buffer` is not null and, by the rules of the header, holds `capacity` bytes; the source is our own.
            unsafe { buffer.copy_from_nonoverlapping(bytes.as_ptr(), bytes.len()) };
        }
        needed.write(bytes.len());
        Ok(())
    })
}

/// The table that `dp_table_write` wrote as `n` bytes.
///
/// The caller owns the result and frees it with `dp_table_free`. Every number is checked: bytes that were damaged or made up lead to error
/// 611, or to a table that answers at a fixed cost, never to anything else.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_table_read(
    bytes: *const u8,
    n: usize,
    out: *mut *mut dp_table,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (bytes, out) = unsafe { (array(bytes, n, "bytes")?, output(out, "out")?) };
        let table = PropertyTable::from_bytes(bytes)?;
        out.write(owned(NamedTable::new(table)));
        Ok(())
    })
}
