//! Pointers of C as references, slices and text of Rust, after all checks that are possible.

use std::ffi::{CStr, c_char};

use densepath_core::Error;

use crate::handle::Handle;

/// Error 104 for an argument.
pub fn refused(argument: &str, expected: &'static str, got: &dyn std::fmt::Display) -> Error {
    Error::Argument {
        argument: argument.to_owned(),
        expected,
        got: got.to_string(),
    }
}

fn not_null<T>(pointer: *const T, argument: &str) -> Result<(), Error> {
    if pointer.is_null() || !pointer.is_aligned() {
        return Err(no_place(pointer.is_null(), argument));
    }
    Ok(())
}

/// What is wrong with a pointer that leads nowhere.
#[cold]
fn no_place(is_null: bool, argument: &str) -> Error {
    if is_null {
        return refused(argument, "not NULL", &"NULL");
    }
    refused(argument, "aligned as its type", &"an unaligned address")
}

/// The value behind a handle.
///
/// # Safety
///
/// `handle` is null or a living handle.
pub unsafe fn value<'a, H: Handle>(
    handle: *const H,
    argument: &str,
) -> Result<&'a H::Value, Error> {
    let pointer = handle.cast::<H::Value>();
    not_null(pointer, argument)?;
    // SAFETY: not null, and by the contract of this function made from a box of this type; nobody changes what is in it.
    Ok(unsafe { &*pointer })
}

/// UTF-8 text that ends with a NUL.
///
/// # Safety
///
/// `text` is null or leads to bytes that end with a NUL and live through the call.
pub unsafe fn text<'a>(text: *const c_char, argument: &str) -> Result<&'a str, Error> {
    not_null(text, argument)?;
    // SAFETY: not null, and by the contract of this function closed by a NUL.
    let text = unsafe { CStr::from_ptr(text) };
    text.to_str().map_err(|error| {
        let place = format!("other bytes at offset {}", error.valid_up_to());
        refused(argument, "text in UTF-8", &place)
    })
}

/// Place of an output, written only when the call has succeeded.
pub struct Output<T>(*mut T);

impl<T> Output<T> {
    /// Writes the output.
    pub fn write(self, value: T) {
        // SAFETY: the maker of an `Output` has vouched for the pointer.
        unsafe { self.0.write(value) }
    }
}

/// The place of an output.
///
/// # Safety
///
/// `pointer` is null or leads to memory that one `T` can be written to.
pub unsafe fn output<T>(pointer: *mut T, argument: &str) -> Result<Output<T>, Error> {
    not_null(pointer, argument)?;
    Ok(Output(pointer))
}

/// Bytes that an array of `n` elements covers; error 104 if no memory can hold it.
fn extent<T>(pointer: *const T, n: usize, argument: &str) -> Result<std::ops::Range<usize>, Error> {
    not_null(pointer, argument)?;
    let bytes = n.checked_mul(size_of::<T>());
    let begin = pointer.addr();
    bytes
        .filter(|&bytes| isize::try_from(bytes).is_ok())
        .and_then(|bytes| begin.checked_add(bytes))
        .map(|end| begin..end)
        .ok_or_else(|| {
            refused(
                argument,
                "an array that memory can hold",
                &format!("{n} elements"),
            )
        })
}

fn apart(
    output: &std::ops::Range<usize>,
    other: &std::ops::Range<usize>,
    argument: &str,
) -> Result<(), Error> {
    if output.start < other.end && other.start < output.end {
        return Err(refused(
            argument,
            "apart from all other arrays",
            &"memory that overlaps another array",
        ));
    }
    Ok(())
}

/// An array that is read; it may be null if `n` is 0.
///
/// # Safety
///
/// `pointer` is null or leads to an array of `n` elements that lives through the call.
pub unsafe fn array<'a, T>(pointer: *const T, n: usize, argument: &str) -> Result<&'a [T], Error> {
    if n == 0 {
        return Ok(&[]);
    }
    extent(pointer, n, argument)?;
    // SAFETY: not null, aligned and within the address space as checked above; of length `n` by the contract of this function.
    Ok(unsafe { std::slice::from_raw_parts(pointer, n) })
}

/// An array that is written and overlaps no other; it may be null if `n` is 0.
///
/// # Safety
///
/// `pointer` is null or leads to an array of `n` elements that lives through the call and that nothing else uses.
pub unsafe fn array_out<'a>(
    pointer: *mut f64,
    n: usize,
    others: &[&[f64]],
) -> Result<&'a mut [f64], Error> {
    if n == 0 {
        return Ok(&mut []);
    }
    let own = extent(pointer, n, "out")?;
    for other in others {
        apart(&own, &extent(other.as_ptr(), other.len(), "input")?, "out")?;
    }
    // SAFETY: as in `array`, and apart from all other arrays.
    Ok(unsafe { std::slice::from_raw_parts_mut(pointer, n) })
}

/// The arrays of a call that works element by element.
pub struct Arrays<'a> {
    /// Inputs.
    pub inputs: [&'a [f64]; 2],
    /// Output.
    pub out: &'a mut [f64],
    /// Status of each element, if it is wanted.
    pub status: Option<&'a mut [i32]>,
}

/// The arrays of a call that works element by element; `status` may be null, and all of them if `n` is 0.
///
/// # Safety
///
/// Each pointer is null or leads to an array of `n` elements that lives through the call.
pub unsafe fn arrays<'a>(
    [(first, first_name), (second, second_name)]: [(*const f64, &str); 2],
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> Result<Arrays<'a>, Error> {
    if n == 0 {
        return Ok(Arrays {
            inputs: [&[], &[]],
            out: &mut [],
            status: None,
        });
    }
    let inputs = [
        extent(first, n, first_name)?,
        extent(second, n, second_name)?,
    ];
    let out_extent = extent(out, n, "out")?;
    for input in &inputs {
        apart(&out_extent, input, "out")?;
    }
    if !status.is_null() {
        let status_extent = extent(status, n, "status")?;
        for other in inputs.iter().chain([&out_extent]) {
            apart(&status_extent, other, "status")?;
        }
    }
    // SAFETY: not null, aligned and within the address space as checked above; of length `n` by the contract of this function.
    // The two that are written overlap no other.
    unsafe {
        Ok(Arrays {
            inputs: [first, second].map(|input| std::slice::from_raw_parts(input, n)),
            out: std::slice::from_raw_parts_mut(out, n),
            status: (!status.is_null()).then(|| std::slice::from_raw_parts_mut(status, n)),
        })
    }
}
