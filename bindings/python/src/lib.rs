//! The private module `densepath._core`: the library's calls as Python objects. It translates and never computes.
#![allow(
    clippy::doc_link_with_quotes,
    reason = "the documentation is that of the Python module, with Python in its examples"
)]
#![allow(
    unsafe_code,
    reason = "the interpreter hands over pointers; each use says why it is sound"
)]

mod arguments;
mod bands;
mod blend;
mod document;
mod equilibria;
mod error;
mod fluid;
mod function;
mod hardware;
mod history;
mod isothermal;
mod lists;
mod mixture;
mod notice;
mod pickle;
mod property_table;
mod record;
mod registry;
mod separation;
mod solution;
mod state;
mod study;
mod table;
mod ufunc;
mod watched;

use pyo3::prelude::*;

/// The compiled part of densepath; use the package `densepath`.
#[pymodule(gil_used = false)]
mod _core {
    #[pymodule_export]
    use super::bands::{
        PyChromatogram, PyDilution, PyMethodTransfer, PyRefractiveIndexNoise, PyRetentionFit,
        PyRetentionLaw, PyVanTHoff, convective_profile, dilution_of, fit_retention, flooded_length,
        laminar_time_variance, peak_density, plug_phases_of, rank_detectors,
        refractive_index_noise_of, transfer_method, travel_of, ultraviolet_cut_offs, van_t_hoff,
    };
    #[pymodule_export]
    use super::blend::{PyBlend, PyFractionBudget, blend, blend_for, restore_blend};
    #[pymodule_export]
    use super::document::{check_method, method_schema};
    #[pymodule_export]
    use super::fluid::{PyCriticalPoint, PyFluid, restore_fluid, substances};
    #[pymodule_export]
    use super::function::properties_of_lists;
    #[pymodule_export]
    use super::hardware::{
        PyBackPressureRegulator, PyBathCooling, PyBlockedIn, PyBoosted, PyCapillaryFlow,
        PyCompression, PyCondensed, PyCrimpedRestrictor, PyCylinder, PyCylinderContent,
        PyDensityError, PyDensitySchedule, PyDetectorCell, PyDetectorGas, PyExpansion,
        PyFritRestrictor, PyGasDetector, PyHeadDuty, PyHeatedShutIn, PyLetDown, PyLinearRestrictor,
        PyLoopFilling, PyOpenTubularColumn, PyOrificeRestrictor, PyOutlet, PyPackedColumn,
        PyPrecompression, PyPressureHammer, PyPriming, PyPulse, PyReciprocatingPump,
        PyRestrictorEnd, PyRestrictorFlow, PyRoomExposure, PySampleLoop, PySegmentedRestrictor,
        PyStackedInjections, PyStageResult, PyStoredEnergy, PyStroke, PySuction, PySuctionLine,
        PySyringePump, PyTaperedRestrictor, PyThermoelectricCooling, PyTube, PyTubeRating,
        PyValveSize, PyVapourInVent, PyWaste, PyWaveform, bath_cooling, blocked_in, boost,
        collect_modifier, collection_delay, condense, cycle_time, decompress, delayed_ramp,
        density_error, density_schedule, fastest_pressure_rise, flammable_substances,
        gas_detectors, heated_shut_in, leak_mass_flow_rate, let_down, mass_flow_from_gas_meter,
        piston_mass_flow_rate, pressure_hammer, priming, pump_pulse, pump_waveform, purge_volume,
        py_make_up_flow, require_pressure_rise, restore_part, ripple_attenuation, ripple_suspect,
        room_exposure, stacked_injections, storage_mass_flow_rate, stored_energy, stroke_frequency,
        thermoelectric_cooling, tip_notices_of, tube_rating, vapour_in_vent, waste,
    };
    #[pymodule_export]
    use super::history::PyCycle;
    #[pymodule_export]
    use super::isothermal::{PyIsothermalDiagram, PyTwoPhaseRegion, isothermal_phase_diagram};
    #[pymodule_export]
    use super::lists::{laboratory, list_errors, list_notices, list_quantities};
    #[pymodule_export]
    use super::mixture::{
        PyCriticalBranch, PyCriticalLocus, PyFlash, PyFlashPhase, PyPhaseBoundary, critical_locus,
    };
    #[pymodule_export]
    use super::notice::PyNotice;
    #[pymodule_export]
    use super::property_table::{PyPropertyTable, restore_property_table, table_values_of_lists};
    #[pymodule_export]
    use super::separation::{
        expected_resolution, film_fraction, isocratic_peak_capacity, peak_fraction_behind_mixer,
        plates_for_resolution,
    };
    #[pymodule_export]
    use super::solution::{
        PyBandBudget, PyColumn, PyDetection, PySolution, PyStation, restore_solution, solve,
        solve_many,
    };
    #[pymodule_export]
    use super::state::{PySaturation, PySolid, PyState, restore_state};
    #[pymodule_export]
    use super::study::{
        PyFoundInput, PyMethodMap, PyTrials, PyUncertaintyBudget, compare_methods, draw_trials,
        find_input, hold_output, map_method, method_inputs, method_outputs, model_uncertainties,
        uncertainty_budget,
    };
    #[pymodule_export]
    use super::table::PyTable;

    use super::{PyModule, PyModuleMethods, PyResult, lists, ufunc};

    /// Version of the library.
    #[pymodule_export]
    const VERSION: &str = env!("CARGO_PKG_VERSION");

    #[pymodule_init]
    fn init(module: &pyo3::Bound<'_, PyModule>) -> PyResult<()> {
        module.add("UNITS", lists::units(module.py())?)?;
        module.add("UFUNCS", ufunc::all(module.py())?)
    }
}
