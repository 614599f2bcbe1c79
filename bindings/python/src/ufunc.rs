//! The functions of a fluid as true ufuncs of numpy, with the fluid's identity as first input.

use std::ffi::{CString, c_char, c_int, c_void};
use std::hint::black_box;
use std::panic::{AssertUnwindSafe, catch_unwind};

use densepath::{Error, Fluid, PROPERTIES, Result};
use numpy::npyffi::{NPY_TYPES, PY_UFUNC_API, PyUFuncGenericFunction, npy_intp};
use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::function::{FUNCTIONS, Function};
use crate::registry;

/// Inputs of every ufunc: the identity of the fluid and two variables.
const INPUTS: c_int = 3;
/// Inputs and the output.
const OPERANDS: usize = 4;
/// numpy's word for a ufunc whose reduction has no start value.
const NO_IDENTITY: c_int = -1;

/// Every ufunc by name: the value of each function, its error code under the name with `_status`, and the uncertainty of each
/// property under the name with `_uncertainty`.
pub fn all(py: Python<'_>) -> PyResult<Bound<'_, PyDict>> {
    let dict = PyDict::new(py);
    for function in FUNCTIONS {
        add_value(&dict, function)?;
        let name = format!("{}_status", function.name);
        let [x, y] = function.example.0;
        let text = format!(
            "Error code of `{}`, 0 where it succeeds.{EXAMPLES}>>> ufuncs.{name}(co2.identity, [{x}, 40.0], {y}).tolist()\n[0, 102]",
            function.name
        );
        let status = create(py, &name, &text, codes, NPY_TYPES::NPY_INT, function)?;
        dict.set_item(name, status)?;
    }
    for property in PROPERTIES {
        add_value(&dict, Box::leak(Box::new(Function::uncertainty(*property))))?;
    }
    Ok(dict)
}

fn add_value(dict: &Bound<'_, PyDict>, function: &'static Function) -> PyResult<()> {
    let (name, ([x, y], shown)) = (&function.name, function.example);
    let call = format!("print(f\"{{ufuncs.{name}(co2.identity, {x}, {y}):.6g}}\")");
    // numpy warns of what is not a number.
    let lines = if shown == "nan" {
        format!(">>> import numpy as np\n>>> with np.errstate(invalid=\"ignore\"):\n...     {call}")
    } else {
        format!(">>> {call}")
    };
    let text = format!(
        "{} Not a number where it fails.{EXAMPLES}{lines}\n{shown}",
        function.summary
    );
    let double = NPY_TYPES::NPY_DOUBLE;
    let value = create(dict.py(), &function.name, &text, values, double, function)?;
    dict.set_item(&function.name, value)
}

/// How the examples of all begin.
const EXAMPLES: &str = "\n\nExamples\n--------\n>>> import densepath as dp\n>>> from densepath import ufuncs\n\
                        >>> co2 = dp.Fluid(\"carbon dioxide\")\n";

type Loop = unsafe extern "C" fn(*mut *mut c_char, *mut npy_intp, *mut npy_intp, *mut c_void);

fn create<'py>(
    py: Python<'py>,
    name: &str,
    text: &str,
    of: Loop,
    output: NPY_TYPES,
    function: &'static Function,
) -> PyResult<Bound<'py, PyAny>> {
    let [first, second] = function.arguments;
    let text = format!("(identity, {first}, {second})\n\n{text}");
    let text_of =
        |text: &str| CString::new(text).map_err(|error| PyValueError::new_err(error.to_string()));
    let (name, text) = (text_of(name)?, text_of(&text)?);
    let double = NPY_TYPES::NPY_DOUBLE;
    #[allow(
        clippy::cast_possible_truncation,
        reason = "numpy keeps the numbers of its types in one byte each"
    )]
    let types = [NPY_TYPES::NPY_LONGLONG, double, double, output].map(|kind| kind as c_char);
    // numpy keeps the pointers for as long as the ufunc lives, which is until the process ends.
    let types = Box::leak(Box::new(types));
    let loops: &mut [PyUFuncGenericFunction; 1] = Box::leak(Box::new([Some(of)]));
    let data = Box::leak(Box::new([std::ptr::from_ref(function)
        .cast_mut()
        .cast::<c_void>()]));
    // SAFETY: all pointers stay valid for the life of the process, one loop with one datum and OPERANDS types is told, and
    // the result is a new reference or null with an exception set.
    unsafe {
        let object = PY_UFUNC_API.PyUFunc_FromFuncAndData(
            py,
            loops.as_mut_ptr(),
            data.as_mut_ptr(),
            types.as_mut_ptr(),
            1,
            INPUTS,
            1,
            NO_IDENTITY,
            name.into_raw(),
            text.into_raw(),
            0,
        );
        Bound::from_owned_ptr_or_err(py, object)
    }
}

/// Loop of numpy over the values of a function.
///
/// # Safety
///
/// As numpy calls it: three inputs (int64, double, double), one output (double), and a [`Function`] as data.
unsafe extern "C" fn values(
    arguments: *mut *mut c_char,
    dimensions: *mut npy_intp,
    steps: *mut npy_intp,
    data: *mut c_void,
) {
    // SAFETY: passed on from numpy.
    unsafe {
        if !sweep(arguments, dimensions, steps, data) {
            run(arguments, dimensions, steps, data, f64::NAN, |result| {
                result.unwrap_or_else(|_| not_a_number())
            });
        }
    }
}

/// Elements that are handed to the library at a time.
const SWEEP: usize = 1 << 16;

/// Fills the output of one loop by the call of the library that takes lists, which uses all cores; says whether it could.
///
/// It can where one fluid is asked for a property. Inputs that lie one after the other are read in place; the results go through a
/// buffer, since numpy lets an output be an input too.
///
/// # Safety
///
/// As of [`run`], with an output of doubles.
unsafe fn sweep(
    arguments: *mut *mut c_char,
    dimensions: *mut npy_intp,
    steps: *mut npy_intp,
    data: *mut c_void,
) -> bool {
    // SAFETY: the contract above.
    let (function, operands, steps, count) = unsafe {
        (
            &*data.cast::<Function>(),
            *arguments.cast::<[*mut c_char; OPERANDS]>(),
            *steps.cast::<[npy_intp; OPERANDS]>(),
            usize::try_from(*dimensions).unwrap_or(0),
        )
    };
    let [identity, first, second, output] = operands;
    let [step_identity, step_first, step_second, step_output] = steps;
    let Some(quantity) = function
        .quantity()
        .filter(|_| step_identity == 0 && count > 1)
    else {
        return false;
    };
    let whole = catch_unwind(AssertUnwindSafe(|| {
        // SAFETY: numpy's operands hold `count` elements at their steps.
        let Ok(fluid) = registry::find(unsafe { identity.cast::<i64>().read_unaligned() }) else {
            return false;
        };
        let (mut x, mut y, mut out) = (Vec::new(), Vec::new(), vec![0.0; count.min(SWEEP)]);
        let mut failed = false;
        for start in (0..count).step_by(SWEEP) {
            let length = SWEEP.min(count - start);
            // SAFETY: as above, from `start` on.
            let (x, y) = unsafe {
                (
                    list(first, step_first, start, length, &mut x),
                    list(second, step_second, start, length, &mut y),
                )
            };
            let out = &mut out[..length];
            failed |= fluid.property_into(quantity, x, y, out, None).is_err();
            for (index, value) in out.iter().enumerate() {
                // SAFETY: as above.
                unsafe { write(output, step_output, start + index, *value) };
            }
        }
        if failed {
            black_box(not_a_number());
        }
        true
    }));
    whole.unwrap_or(false)
}

/// Elements of an operand as a list: in place where they lie one after the other, else copied to a buffer.
///
/// # Safety
///
/// The operand holds that many doubles at its steps, which nobody writes while the list is used.
#[allow(
    clippy::cast_ptr_alignment,
    reason = "checked before a reference is made, and unaligned reads else"
)]
unsafe fn list(
    operand: *mut c_char,
    step: npy_intp,
    start: usize,
    length: usize,
    buffer: &mut Vec<f64>,
) -> &[f64] {
    let offset = |index: usize| step * npy_intp::try_from(index).unwrap_or(0);
    // SAFETY: the contract above.
    unsafe {
        let begin = operand.offset(offset(start)).cast::<f64>();
        if usize::try_from(step) == Ok(size_of::<f64>()) && begin.is_aligned() {
            return std::slice::from_raw_parts(begin, length);
        }
        let at = |index: usize| begin.byte_offset(offset(index)).read_unaligned();
        buffer.clear();
        buffer.extend((0..length).map(at));
    }
    buffer
}

/// Writes one element of an operand.
///
/// # Safety
///
/// The operand has room for it.
unsafe fn write(operand: *mut c_char, step: npy_intp, index: usize, value: f64) {
    let offset = step * npy_intp::try_from(index).unwrap_or(0);
    // SAFETY: the contract above.
    unsafe { operand.offset(offset).cast::<f64>().write_unaligned(value) };
}

/// Loop of numpy over the error codes of a function.
///
/// # Safety
///
/// As numpy calls it: three inputs (int64, double, double), one output (int32), and a [`Function`] as data.
unsafe extern "C" fn codes(
    arguments: *mut *mut c_char,
    dimensions: *mut npy_intp,
    steps: *mut npy_intp,
    data: *mut c_void,
) {
    let internal = Error::Internal { place: "" }.code();
    // SAFETY: passed on from numpy.
    unsafe {
        run(arguments, dimensions, steps, data, internal, |result| {
            result.map_or_else(|error| error.code(), |_| 0)
        });
    }
}

/// Not a number from a division that the processor notes as invalid, so that `numpy.errstate` sees it.
fn not_a_number() -> f64 {
    black_box(0.0) / black_box(0.0)
}

/// Fills the output of one loop; after a panic, what is left of it with `fallback`.
///
/// # Safety
///
/// `arguments` and `steps` hold [`OPERANDS`] entries, `dimensions` one, and `data` points to a [`Function`]; the output's
/// elements are of type `T`.
unsafe fn run<T: Copy>(
    arguments: *mut *mut c_char,
    dimensions: *mut npy_intp,
    steps: *mut npy_intp,
    data: *mut c_void,
    fallback: T,
    settle: impl Fn(Result<f64>) -> T,
) {
    // SAFETY: the contract above.
    unsafe {
        let function = &*data.cast::<Function>();
        let [identity, first, second, output] = *arguments.cast::<[*mut c_char; OPERANDS]>();
        let [step_identity, step_first, step_second, step_output] =
            *steps.cast::<[npy_intp; OPERANDS]>();
        let count = *dimensions;
        let mut done = 0;
        let whole = catch_unwind(AssertUnwindSafe(|| {
            let mut last: Option<(i64, Result<Fluid>)> = None;
            while done < count {
                let wanted = identity
                    .offset(done * step_identity)
                    .cast::<i64>()
                    .read_unaligned();
                if last.as_ref().is_none_or(|(known, _)| *known != wanted) {
                    last = Some((wanted, registry::find(wanted)));
                }
                let (a, b) = (
                    first
                        .offset(done * step_first)
                        .cast::<f64>()
                        .read_unaligned(),
                    second
                        .offset(done * step_second)
                        .cast::<f64>()
                        .read_unaligned(),
                );
                let result = match &last {
                    Some((_, Ok(fluid))) => function.at(fluid, a, b),
                    Some((_, Err(error))) => Err(error.clone()),
                    None => Err(Error::Internal {
                        place: "a loop of numpy",
                    }),
                };
                output
                    .offset(done * step_output)
                    .cast::<T>()
                    .write_unaligned(settle(result));
                done += 1;
            }
        }));
        if whole.is_err() {
            for index in done..count {
                output
                    .offset(index * step_output)
                    .cast::<T>()
                    .write_unaligned(fallback);
            }
        }
    }
}
