//! The tables of quantities, properties, phases and errors, by number.

use std::ffi::{CStr, c_char};

use densepath_core::{Error, NoticeCode, PROPERTIES, Phase, Quantity, Severity};

use crate::argument::{output, refused, text};
use crate::dp_status;
use crate::guard::guard;
use crate::tables::{ERRORS, NOTICES, PHASES, QUANTITIES, SEVERITIES};

/// One row of the table of quantities.
pub struct QuantityRow {
    /// Number in C.
    pub number: i32,
    /// The quantity.
    pub quantity: Quantity,
    /// Name in words.
    pub name: &'static CStr,
    /// Symbol of the standard.
    pub symbol: &'static CStr,
    /// SI unit.
    pub unit: &'static CStr,
}

/// One row of the table of phases.
pub struct PhaseRow {
    /// Number in C.
    pub number: i32,
    /// The phase.
    pub phase: Phase,
    /// The word used in reports.
    pub name: &'static CStr,
}

/// One row of the table of notices.
pub struct NoticeRow {
    /// Number in C.
    pub number: i32,
    /// What a notice is about.
    pub code: NoticeCode,
    /// Its name.
    pub name: &'static CStr,
}

/// One row of the table of severities.
pub struct SeverityRow {
    /// Number in C.
    pub number: i32,
    /// The severity.
    pub severity: Severity,
    /// The word used in reports.
    pub name: &'static CStr,
}

/// One row of the table of errors.
pub struct ErrorRow {
    /// Number.
    pub number: i32,
    /// Name of its constant.
    pub name: &'static CStr,
    /// What it means.
    pub meaning: &'static CStr,
}

/// Number of a quantity in C.
pub fn quantity_number(quantity: Quantity) -> i32 {
    // A test sees to it that every quantity has its row.
    QUANTITIES
        .iter()
        .find(|row| row.quantity == quantity)
        .map_or(0, |row| row.number)
}

/// The row of a quantity by its number in C; error 104 if there is none.
pub fn quantity_row(number: i32) -> Result<&'static QuantityRow, Error> {
    let row = QUANTITIES.iter().find(|row| row.number == number);
    row.ok_or_else(|| refused("quantity", "a number of dp_quantity", &number))
}

/// The quantity by its number in C; error 104 if there is none.
pub fn quantity(number: i32) -> Result<Quantity, Error> {
    Ok(quantity_row(number)?.quantity)
}

/// Number of a phase in C; error 901 if it has none, which a test excludes.
pub fn phase_number(phase: Phase) -> Result<i32, Error> {
    let row = PHASES.iter().find(|row| row.phase == phase);
    row.map(|row| row.number).ok_or(Error::Internal {
        place: "the table of phases",
    })
}

/// Number in C of what a notice is about; error 901 if it has none, which a test excludes.
pub fn notice_number(code: NoticeCode) -> Result<i32, Error> {
    let row = NOTICES.iter().find(|row| row.code == code);
    row.map(|row| row.number).ok_or(Error::Internal {
        place: "the table of notices",
    })
}

/// Number of a severity in C; error 901 if it has none, which a test excludes.
pub fn severity_number(severity: Severity) -> Result<i32, Error> {
    let row = SEVERITIES.iter().find(|row| row.severity == severity);
    row.map(|row| row.number).ok_or(Error::Internal {
        place: "the table of severities",
    })
}

/// Writes a text that lives as long as the program.
unsafe fn write_text(
    out: *mut *const c_char,
    text: impl FnOnce() -> Result<&'static CStr, Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let out = unsafe { output(out, "out")? };
        out.write(text()?.as_ptr());
        Ok(())
    })
}

unsafe fn write_number<T>(out: *mut T, number: impl FnOnce() -> Result<T, Error>) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let out = unsafe { output(out, "out")? };
        out.write(number()?);
        Ok(())
    })
}

/// Number of quantities known; their numbers are those of `dp_quantity`, from 1 to this one.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_quantity_count(out: *mut usize) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { write_number(out, || Ok(QUANTITIES.len())) }
}

/// Name of a quantity, such as "specific_enthalpy"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_quantity`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_quantity_name(quantity: i32, out: *mut *const c_char) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { write_text(out, || Ok(quantity_row(quantity)?.name)) }
}

/// Symbol of a quantity, such as "h"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_quantity`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_quantity_symbol(quantity: i32, out: *mut *const c_char) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { write_text(out, || Ok(quantity_row(quantity)?.symbol)) }
}

/// SI unit of a quantity, such as "J/kg"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_quantity`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_quantity_unit(quantity: i32, out: *mut *const c_char) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { write_text(out, || Ok(quantity_row(quantity)?.unit)) }
}

/// Number of the quantity called `name`, one of `dp_quantity`. Error 104 if there is none of that name.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_quantity_find(name: *const c_char, out: *mut i32) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (name, out) = unsafe { (text(name, "name")?, output(out, "out")?) };
        let found = name
            .parse()
            .map_err(|()| refused("name", "the name of a quantity", &name))?;
        out.write(quantity_number(found));
        Ok(())
    })
}

/// Number of the properties that a temperature and a pressure determine.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_property_count(out: *mut usize) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { write_number(out, || Ok(PROPERTIES.len())) }
}

/// Quantity, one of `dp_quantity`, of the property at `index`, from 0. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_property_at(index: usize, out: *mut i32) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        write_number(out, || {
            let property = PROPERTIES.get(index);
            property
                .map(|&property| quantity_number(property))
                .ok_or_else(|| refused("index", "below the number of properties", &index))
        })
    }
}

/// Name of a phase, such as "liquid + vapour"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_phase`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_phase_name(phase: i32, out: *mut *const c_char) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        write_text(out, || {
            let row = PHASES.iter().find(|row| row.number == phase);
            row.map(|row| row.name)
                .ok_or_else(|| refused("phase", "a number of dp_phase", &phase))
        })
    }
}

/// Name of what a notice is about, such as "solid_forms"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_notice_code`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_notice_name(code: i32, out: *mut *const c_char) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        write_text(out, || {
            let row = NOTICES.iter().find(|row| row.number == code);
            row.map(|row| row.name)
                .ok_or_else(|| refused("code", "a number of dp_notice_code", &code))
        })
    }
}

/// The word for a severity, such as "caution"; the text stays valid, do not free it.
/// Error 104 for a number that is not in `dp_severity`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_severity_name(severity: i32, out: *mut *const c_char) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        write_text(out, || {
            let row = SEVERITIES.iter().find(|row| row.number == severity);
            row.map(|row| row.name)
                .ok_or_else(|| refused("severity", "a number of dp_severity", &severity))
        })
    }
}

/// Number of errors in the table.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_error_count(out: *mut usize) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { write_number(out, || Ok(ERRORS.len())) }
}

/// Number of the error at `index` of the table, from 0; one of `dp_error`. Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_error_at(index: usize, out: *mut dp_status) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        write_number(out, || {
            let row = ERRORS.get(index);
            row.map(|row| row.number)
                .ok_or_else(|| refused("index", "below the number of errors", &index))
        })
    }
}

fn error_row(number: dp_status) -> Result<&'static ErrorRow, Error> {
    let row = ERRORS.iter().find(|row| row.number == number);
    row.ok_or_else(|| refused("code", "a number of dp_error", &number))
}

/// Name of the constant of an error, such as "DP_ERROR_DOMAIN"; the text stays valid, do not free it.
/// Error 104 for a number that is not in the table.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_error_name(code: dp_status, out: *mut *const c_char) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { write_text(out, || Ok(error_row(code)?.name)) }
}

/// What an error means, in a sentence; the text stays valid, do not free it.
/// Error 104 for a number that is not in the table.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_error_meaning(code: dp_status, out: *mut *const c_char) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { write_text(out, || Ok(error_row(code)?.meaning)) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use densepath_core::fluid::error;

    #[test]
    fn every_row_of_the_library_has_its_number() {
        for (index, row) in QUANTITIES.iter().enumerate() {
            assert_eq!(usize::try_from(row.number), Ok(index + 1));
        }
        assert_eq!(QUANTITIES.len(), Quantity::ALL.len());
        for &quantity in Quantity::ALL {
            let row = quantity_row(quantity_number(quantity)).unwrap();
            let texts = [row.name, row.symbol, row.unit].map(|text| text.to_str().unwrap());
            assert_eq!(texts, [quantity.name(), quantity.symbol(), quantity.unit()]);
        }
        for &phase in Phase::ALL {
            assert!(phase_number(phase).is_ok());
        }
        for &code in NoticeCode::ALL {
            assert!(notice_number(code).is_ok() && severity_number(code.severity()).is_ok());
        }
        let numbers: Vec<i32> = ERRORS.iter().map(|row| row.number).collect();
        let expected: Vec<i32> = error::ERRORS.iter().map(|entry| entry.code).collect();
        assert_eq!(numbers, expected);
    }
}
