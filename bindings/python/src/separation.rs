//! Laws of separation and of injection on plain numbers.

use densepath::flow::injection::{
    film_fraction as film_fraction_of, peak_fraction_behind_mixer as peak_fraction_of,
};
use densepath::flow::separation::{
    expected_resolution as expected_resolution_of,
    isocratic_peak_capacity as isocratic_peak_capacity_of,
    plates_for_resolution as plates_for_resolution_of,
};
use pyo3::prelude::*;

use crate::error::Outcome;

/// Resolution expected of a column, R_s = sqrt(N)/4 (alpha - 1)/alpha k/(1 + k).
///
/// Parameters
/// ----------
/// plate_number : float
///     Plate number N.
/// selectivity : float
///     Separation factor alpha of the two peaks, 1 or more.
/// retention_factor : float
///     Retention factor k of the later peak.
///
/// Returns
/// -------
/// float
///     Resolution R_s, for peaks of the same width (J. H. Purnell, J. Chem. Soc. 1960, 1268, doi 10.1039/JR9600001268).
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> round(dp.expected_resolution(10000, 1.1, 2.0), 4)
/// 1.5152
#[pyfunction]
pub fn expected_resolution(
    plate_number: f64,
    selectivity: f64,
    retention_factor: f64,
) -> Outcome<f64> {
    Ok(expected_resolution_of(
        plate_number,
        selectivity,
        retention_factor,
    )?)
}

/// Plate number that a resolution needs.
///
/// Parameters
/// ----------
/// resolution : float
///     Resolution R_s.
/// selectivity : float
///     Separation factor alpha, above 1.
/// retention_factor : float
///     Retention factor k of the later peak.
///
/// Returns
/// -------
/// float
///     Plate number N, by the law of `expected_resolution` turned round.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> round(dp.plates_for_resolution(1.5, 1.1, 2.0))
/// 9801
#[pyfunction]
pub fn plates_for_resolution(
    resolution: f64,
    selectivity: f64,
    retention_factor: f64,
) -> Outcome<f64> {
    Ok(plates_for_resolution_of(
        resolution,
        selectivity,
        retention_factor,
    )?)
}

/// Number of peaks that fit side by side up to a time, at a constant plate number.
///
/// Parameters
/// ----------
/// plate_number : float
///     Plate number N.
/// hold_up_time, last_time : float
///     Times in s of an unretained peak and of the last one.
///
/// Returns
/// -------
/// float
///     1 + sqrt(N)/4 ln(t/t_M), peaks four standard deviations wide (J. C. Giddings 1967, from memory).
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> round(dp.isocratic_peak_capacity(10000, 60.0, 600.0), 2)
/// 58.56
#[pyfunction]
pub fn isocratic_peak_capacity(
    plate_number: f64,
    hold_up_time: f64,
    last_time: f64,
) -> Outcome<f64> {
    Ok(isocratic_peak_capacity_of(
        plate_number,
        hold_up_time,
        last_time,
    )?)
}

/// Largest fraction of a plug's solvent behind a mixer.
///
/// Parameters
/// ----------
/// base_fraction : float
///     Fraction of that solvent in the stream before, 0 to 1.
/// plug_volume, mixer_volume : float
///     Volumes of the plug and of the mixer in m3.
///
/// Returns
/// -------
/// float
///     b + (1 - b) (1 - exp(-V/V_m)), the washout of a mixed volume.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> round(dp.peak_fraction_behind_mixer(0.05, 5e-9, 20e-9), 3)
/// 0.26
#[pyfunction]
pub fn peak_fraction_behind_mixer(
    base_fraction: f64,
    plug_volume: f64,
    mixer_volume: f64,
) -> Outcome<f64> {
    Ok(peak_fraction_of(base_fraction, plug_volume, mixer_volume)?)
}

/// Film that a slug of liquid leaves on the wall of a tube, over the radius.
///
/// Parameters
/// ----------
/// dynamic_viscosity : float
///     Dynamic viscosity of the liquid in Pa s.
/// velocity : float
///     Velocity in m/s.
/// surface_tension : float
///     Surface tension in N/m.
///
/// Returns
/// -------
/// float
///     Fraction of the radius, for a wetting liquid and a capillary number up to 2 (P. Aussillous and D. Quere, Phys. Fluids 12,
///     2367 (2000), doi 10.1063/1.1289396, from memory).
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> round(dp.film_fraction(5e-4, 0.02, 5e-3), 3)
/// 0.02
#[pyfunction]
pub fn film_fraction(dynamic_viscosity: f64, velocity: f64, surface_tension: f64) -> Outcome<f64> {
    Ok(film_fraction_of(
        dynamic_viscosity,
        velocity,
        surface_tension,
    )?)
}
