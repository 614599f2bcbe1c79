//! Substances, their properties at a temperature and a pressure, and their lines of equilibrium.

use std::ffi::{CString, c_char};
use std::sync::OnceLock;

use densepath_core::{BatchError, Error, Fluid, Quantity, Saturation, substances};

use crate::argument::{Output, arrays, output, refused, text, value};
use crate::dp_status;
use crate::guard::{Failure, guard};
use crate::handle::{NamedFluid, c_text, dp_fluid, dp_state, free, owned};
use crate::lookup::quantity;

/// The substance called `name`: its name in words, a trade name or its formula, in any case; UTF-8.
///
/// The caller owns the result and frees it with `dp_fluid_free`.
/// Error 201 for an unknown name (the message suggests the nearest), 104 for `NULL` or text that is not UTF-8.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_new(name: *const c_char, out: *mut *mut dp_fluid) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (name, out) = unsafe { (text(name, "name")?, output(out, "out")?) };
        out.write(owned(NamedFluid::new(Fluid::new(name)?)));
        Ok(())
    })
}

/// Frees a fluid; `NULL` is left alone. States made of it stay valid.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_free(fluid: *mut dp_fluid) {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { free(fluid) };
}

/// Writes one value that a fluid tells.
pub unsafe fn tell<T>(
    fluid: *const dp_fluid,
    out: *mut T,
    what: impl FnOnce(&NamedFluid) -> Result<T, Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (fluid, out) = unsafe { (value(fluid, "fluid")?, output(out, "out")?) };
        out.write(what(fluid)?);
        Ok(())
    })
}

/// Name of the fluid in words; of a mixture the names of its substances. The text belongs to the fluid and is valid as long as it.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_name(
    fluid: *const dp_fluid,
    out: *mut *const c_char,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(fluid, out, |fluid| Ok(fluid.name.as_ptr())) }
}

/// Name of the equation of state, with author and year; of a mixture with the parameters of each pair. The text belongs to the fluid
/// and is valid as long as it.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_model(
    fluid: *const dp_fluid,
    out: *mut *const c_char,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(fluid, out, |fluid| Ok(fluid.model.as_ptr())) }
}

/// Molar mass M in kg/mol.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_molar_mass(fluid: *const dp_fluid, out: *mut f64) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(fluid, out, |fluid| Ok(fluid.fluid.molar_mass())) }
}

/// Temperature of the triple point in K. Error 202 for a mixture.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_triple_temperature(fluid: *const dp_fluid, out: *mut f64) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe { tell(fluid, out, |fluid| fluid.fluid.triple_temperature()) }
}

/// Writes three numbers that a fluid tells.
unsafe fn tell_three(
    fluid: *const dp_fluid,
    places: [(*mut f64, &str); 3],
    what: impl FnOnce(&Fluid) -> Result<[f64; 3], Error>,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (fluid, places) = unsafe {
            let [first, second, third] = places.map(|(place, name)| output(place, name));
            (value(fluid, "fluid")?, [first?, second?, third?])
        };
        for (place, number) in places.into_iter().zip(what(&fluid.fluid)?) {
            place.write(number);
        }
        Ok(())
    })
}

/// Range of the equation of state stated by its authors: temperatures in K, highest pressure in Pa.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_range(
    fluid: *const dp_fluid,
    temperature_min: *mut f64,
    temperature_max: *mut f64,
    pressure_max: *mut f64,
) -> dp_status {
    let places = [
        (temperature_min, "temperature_min"),
        (temperature_max, "temperature_max"),
        (pressure_max, "pressure_max"),
    ];
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell_three(fluid, places, |fluid| {
            let range = fluid.range();
            Ok([
                range.temperature_min,
                range.temperature_max,
                range.pressure_max,
            ])
        })
    }
}

/// Critical point of the equation of state: temperature in K, pressure in Pa, density in kg/m3; of a mixture the stable one of liquid
/// and vapour. Error 402 if a mixture has none.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_critical_point(
    fluid: *const dp_fluid,
    temperature: *mut f64,
    pressure: *mut f64,
    density: *mut f64,
) -> dp_status {
    let places = [
        (temperature, "temperature"),
        (pressure, "pressure"),
        (density, "density"),
    ];
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell_three(fluid, places, |fluid| {
            let point = fluid.critical_point()?;
            Ok([point.temperature, point.pressure, point.density])
        })
    }
}

/// Places of the two states of [`Saturation`].
struct Phases {
    liquid: Output<*mut dp_state>,
    vapour: Output<*mut dp_state>,
}

impl Phases {
    fn write(self, saturation: Saturation) {
        self.liquid.write(owned(saturation.liquid));
        self.vapour.write(owned(saturation.vapour));
    }
}

/// Liquid and vapour in equilibrium at a temperature in K: their pressure in Pa, and each as a state.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Valid from the triple point to the critical point; error 302 outside, 101 for a value that is not finite, 202 for a mixture: ask
/// for its bubble point or its dew point.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_saturation_at_temperature(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: *mut f64,
    liquid: *mut *mut dp_state,
    vapour: *mut *mut dp_state,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (fluid, pressure, phases) = unsafe {
            let liquid = output(liquid, "liquid")?;
            let vapour = output(vapour, "vapour")?;
            let pressure = output(pressure, "pressure")?;
            (value(fluid, "fluid")?, pressure, Phases { liquid, vapour })
        };
        let saturation = fluid.fluid.saturation_at_temperature(temperature)?;
        pressure.write(saturation.pressure);
        phases.write(saturation);
        Ok(())
    })
}

/// Liquid and vapour in equilibrium at a pressure in Pa: their temperature in K, and each as a state.
///
/// The caller owns both states and frees them with `dp_state_free`.
/// Valid from the triple point to the critical point; error 302 outside, 101 for a value that is not finite, 202 for a mixture: ask
/// for its bubble point or its dew point.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_saturation_at_pressure(
    fluid: *const dp_fluid,
    pressure: f64,
    temperature: *mut f64,
    liquid: *mut *mut dp_state,
    vapour: *mut *mut dp_state,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (fluid, temperature, phases) = unsafe {
            let liquid = output(liquid, "liquid")?;
            let vapour = output(vapour, "vapour")?;
            let temperature = output(temperature, "temperature")?;
            (
                value(fluid, "fluid")?,
                temperature,
                Phases { liquid, vapour },
            )
        };
        let saturation = fluid.fluid.saturation_at_pressure(pressure)?;
        temperature.write(saturation.temperature);
        phases.write(saturation);
        Ok(())
    })
}

/// Pressure p in Pa (absolute) at `temperature` in K and `density` in kg/m3; inside the dome the vapour pressure.
///
/// Errors: 101 for a value that is not finite or not above zero, 102 outside the range of the equation of state.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_pressure(
    fluid: *const dp_fluid,
    temperature: f64,
    density: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            fluid.fluid.pressure(temperature, density)
        })
    }
}

/// What fills a list from temperatures and densities.
type ByDensity =
    fn(&Fluid, &[f64], &[f64], &mut [f64], Option<&mut [i32]>) -> Result<(), BatchError>;

/// A list at pairs of temperature and density.
unsafe fn by_density(
    fill: ByDensity,
    fluid: *const dp_fluid,
    temperature: *const f64,
    density: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let (fluid, arrays) = unsafe {
            let inputs = [(temperature, "temperature"), (density, "density")];
            (value(fluid, "fluid")?, arrays(inputs, n, out, status)?)
        };
        let [temperature, density] = arrays.inputs;
        Ok(fill(
            &fluid.fluid,
            temperature,
            density,
            arrays.out,
            arrays.status,
        )?)
    })
}

/// Pressure p in Pa (absolute) at each of `n` pairs of `temperature` in K and `density` in kg/m3.
/// Arrays as `dp_property_array`, errors of each element as `dp_pressure`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_pressure_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    density: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        by_density(
            Fluid::pressure_into,
            fluid,
            temperature,
            density,
            n,
            out,
            status,
        )
    }
}

/// Pressure p in Pa (absolute) on an isopycnic, of one phase, at `temperature` in K and `density` in kg/m3.
///
/// Errors as `dp_pressure`; besides 301 where the density is that of several phases together, 303 of a solid.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_isopycnic(
    fluid: *const dp_fluid,
    temperature: f64,
    density: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            fluid.fluid.isopycnic(temperature, density)
        })
    }
}

/// Pressure p in Pa (absolute) on isopycnics at each of `n` pairs of `temperature` in K and `density` in kg/m3.
/// Arrays as `dp_property_array`, errors of each element as `dp_isopycnic`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_isopycnic_array(
    fluid: *const dp_fluid,
    temperature: *const f64,
    density: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        by_density(
            Fluid::isopycnic_into,
            fluid,
            temperature,
            density,
            n,
            out,
            status,
        )
    }
}

/// Pressure p in Pa (absolute) above which the solid is stable at `temperature` in K: that of melting, or of sublimation below
/// the triple point; infinite where the solid of the fluid is not known.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_melting_pressure(
    fluid: *const dp_fluid,
    temperature: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            Ok(fluid.fluid.melting_pressure(temperature))
        })
    }
}

/// Relative standard uncertainty of the vapour pressure at `temperature` in K that its source states.
///
/// Errors as `dp_saturation_at_temperature`; besides 202 where the source states none.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_vapour_pressure_uncertainty(
    fluid: *const dp_fluid,
    temperature: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            let saturation = fluid.fluid.saturation_at_temperature(temperature)?;
            saturation.uncertainty(Quantity::Pressure)
        })
    }
}

/// Relative standard uncertainty that the source of its model states for the property with the number `property` of
/// `dp_quantity`, at `temperature` in K and `pressure` in Pa (absolute); for the refractive index relative to n - 1.
///
/// Errors as `dp_property`; besides 102 beyond the range for which it is stated, 202 for a property without a stated uncertainty
/// and near the critical point.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_uncertainty(
    fluid: *const dp_fluid,
    property: i32,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            let property = quantity(property)?;
            fluid.fluid.uncertainty(property, temperature, pressure)
        })
    }
}

/// Pressure in Pa by which the state at `temperature` in K and `pressure` in Pa (absolute) lies above the pressure where a second
/// phase appears at its temperature.
///
/// Infinite where no second phase appears at any pressure of the range: of a substance at and above its critical temperature.
/// Negative in two phases, where it counts from the pressure that brings back one phase, and for a vapour.
/// Errors as `dp_state_from_tp`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_single_phase_margin(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            fluid.fluid.single_phase_margin(temperature, pressure)
        })
    }
}

/// The property with the number `property` of `dp_quantity`, in its SI unit, at `temperature` in K and `pressure` in Pa (absolute).
///
/// Errors: 101 for a value that is not finite or not above zero, 102 outside the range of the model, 104 for a number that is
/// not in `dp_quantity`, 202 for a quantity that is no property of the fluid, 303 where the stable phase is solid.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_property(
    fluid: *const dp_fluid,
    property: i32,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            fluid
                .fluid
                .property(quantity(property)?, temperature, pressure)
        })
    }
}

/// Prepares the densities of one substance between two temperatures in K and two pressures in Pa for `dp_density_prepared`.
///
/// It may take seconds where the region is wide, and asks for memory, which the substance keeps. Errors: 101 for a value that
/// is not finite or not above zero, 202 for a mixture, which has no prepared densities.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_fluid_prepare_densities(
    fluid: *const dp_fluid,
    temperature_min: f64,
    temperature_max: f64,
    pressure_min: f64,
    pressure_max: f64,
) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let fluid = unsafe { value(fluid, "fluid")? };
        let temperature = [temperature_min, temperature_max];
        let pressure = [pressure_min, pressure_max];
        Ok(fluid.fluid.prepare_densities(temperature, pressure)?)
    })
}

/// Density in kg/m3 at `temperature` in K and `pressure` in Pa as prepared by `dp_fluid_prepare_densities`, at a fixed cost, for loops
/// that control an instrument.
///
/// The worst case of a call that succeeds: nine steps down a tree and one polynomial of two variables with 48 coefficients, fewer than
/// 1000 instructions on x86-64, which a test counts. It does not iterate, wait for another thread, or ask for memory. The bits are those
/// of `dp_density`. Error 202 where nothing is prepared: outside of the region, and close to the vapour pressure, the critical point, the
/// critical isochore and the solid; `dp_density` answers there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_density_prepared(
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            fluid.fluid.prepared_density(temperature, pressure)
        })
    }
}

/// The property with the number `property` of `dp_quantity` at each of `n` pairs of `temperature` in K and `pressure` in Pa.
///
/// `out` receives `n` values, NaN where an element failed. `status` receives `n` numbers of `dp_error`, `DP_OK` where an element
/// succeeded; it may be `NULL`. Every element is computed. The result is `DP_OK` if all succeeded, else the status of the first that
/// failed, whose index `dp_last_error` tells. `out` and `status` may not overlap another array (error 104).
/// The pointers may be `NULL` if `n` is 0. Errors of each element as `dp_property`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_property_array(
    fluid: *const dp_fluid,
    property: i32,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    guard(|| {
        let property = quantity(property)?;
        // SAFETY: the caller keeps the rules of the header.
        unsafe { fill(property, fluid, temperature, pressure, n, out, status) }
    })
}

/// What `dp_<property>` does.
pub unsafe fn property(
    property: Quantity,
    fluid: *const dp_fluid,
    temperature: f64,
    pressure: f64,
    out: *mut f64,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    unsafe {
        tell(fluid, out, |fluid| {
            fluid.fluid.property(property, temperature, pressure)
        })
    }
}

/// What `dp_<property>_array` does.
pub unsafe fn property_array(
    property: Quantity,
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> dp_status {
    // SAFETY: the caller keeps the rules of the header.
    guard(|| unsafe { fill(property, fluid, temperature, pressure, n, out, status) })
}

unsafe fn fill(
    property: Quantity,
    fluid: *const dp_fluid,
    temperature: *const f64,
    pressure: *const f64,
    n: usize,
    out: *mut f64,
    status: *mut i32,
) -> Result<(), Failure> {
    // SAFETY: the caller keeps the rules of the header.
    let (fluid, arrays) = unsafe {
        let inputs = [(temperature, "temperature"), (pressure, "pressure")];
        (value(fluid, "fluid")?, arrays(inputs, n, out, status)?)
    };
    let [temperature, pressure] = arrays.inputs;
    let values =
        fluid
            .fluid
            .property_into(property, temperature, pressure, arrays.out, arrays.status);
    Ok(values?)
}

fn substance_names() -> Result<&'static [CString], Error> {
    static NAMES: OnceLock<Vec<CString>> = OnceLock::new();
    let known = substances()?;
    Ok(NAMES.get_or_init(|| known.iter().map(|fluid| c_text(fluid.name())).collect()))
}

/// Number of the substances that the library knows.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_substance_count(out: *mut usize) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let out = unsafe { output(out, "out")? };
        out.write(substance_names()?.len());
        Ok(())
    })
}

/// Name, as `dp_fluid_new` takes it, of the substance at `index`, from 0; the text stays valid, do not free it.
/// Error 104 for an index beyond the last.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn dp_substance_name(index: usize, out: *mut *const c_char) -> dp_status {
    guard(|| {
        // SAFETY: the caller keeps the rules of the header.
        let out = unsafe { output(out, "out")? };
        let name = substance_names()?.get(index);
        let beyond = || refused("index", "below the number of substances", &index);
        out.write(name.ok_or_else(beyond)?.as_ptr());
        Ok(())
    })
}
