//! The properties of a fluid for a program without the standard library: the allocator is that of C.

#![no_std]

use core::alloc::{GlobalAlloc, Layout};
use core::ffi::{CStr, c_char, c_void};
use core::panic::PanicInfo;

use densepath_fluid::{Fluid, Quantity, State};

unsafe extern "C" {
    fn aligned_alloc(alignment: usize, size: usize) -> *mut c_void;
    fn free(pointer: *mut c_void);
    fn abort() -> !;
}

struct Heap;

// SAFETY: `aligned_alloc` gives memory of the alignment and at least the size asked for, or null; `free` takes it back.
unsafe impl GlobalAlloc for Heap {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        let alignment = layout.align().max(size_of::<*const ()>());
        let size = layout.size().next_multiple_of(alignment);
        // SAFETY: the alignment is a power of two and at least that of a pointer, the size a multiple of it.
        unsafe { aligned_alloc(alignment, size) }.cast()
    }

    unsafe fn dealloc(&self, pointer: *mut u8, _: Layout) {
        // SAFETY: the pointer came from `aligned_alloc`.
        unsafe { free(pointer.cast()) }
    }
}

#[global_allocator]
static HEAP: Heap = Heap;

#[panic_handler]
fn panic(_: &PanicInfo<'_>) -> ! {
    // SAFETY: `abort` has no condition.
    unsafe { abort() }
}

/// Unwinding, which the compiled `alloc` of a host still mentions and a program that aborts never does.
#[unsafe(no_mangle)]
extern "C" fn rust_eh_personality() {}

#[unsafe(no_mangle)]
extern "C" fn _Unwind_Resume() -> ! {
    // SAFETY: `abort` has no condition.
    unsafe { abort() }
}

/// A property of a fluid at a temperature in K and a pressure in Pa, or not a number where there is none.
///
/// # Safety
///
/// `name` and `quantity` are strings of C.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn bare_property(
    name: *const c_char,
    quantity: *const c_char,
    temperature: f64,
    pressure: f64,
) -> f64 {
    // SAFETY: both are strings of C, as this function asks of its caller.
    let [name, quantity] = [name, quantity].map(|text| unsafe { CStr::from_ptr(text) });
    let (Ok(name), Ok(quantity)) = (name.to_str(), quantity.to_str()) else {
        return f64::NAN;
    };
    property(name, quantity, temperature, pressure).unwrap_or(f64::NAN)
}

fn property(name: &str, quantity: &str, t: f64, p: f64) -> Option<f64> {
    let quantity: Quantity = quantity.parse().ok()?;
    let fluid = Fluid::new(name).ok()?;
    State::from_tp(&fluid, t, p).ok()?.get(quantity).ok()
}
