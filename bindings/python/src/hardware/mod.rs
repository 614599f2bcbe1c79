//! The parts of an instrument as frozen objects: made from SI values by keyword, each takes the inlet as a value and returns the
//! outlet as a value.

mod decompression;
mod dense;
mod expansion;
mod feed;
mod operation;
mod pumping;
mod restrictor;
mod safety;
mod supply;

use densepath::hardware::{
    Diffusion, Element, Outlet, Retention, Solute, Stream, Surroundings, Thermal, carrier_of,
};
use densepath::path::Room;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::error::{Outcome, argument, enter};
use crate::record::{Notices, finite, record};
use crate::solution::{facts_of, profile};
use crate::state::PyState;
use crate::table::PyTable;

pub use decompression::{
    PyDetectorGas, PyGasDetector, PyStageResult, PyWaste, collect_modifier, collection_delay,
    decompress, gas_detectors, py_make_up_flow, tip_notices_of, waste,
};
pub use dense::{
    PyDetectorCell, PyLoopFilling, PyOpenTubularColumn, PyPackedColumn, PySampleLoop, PyTube,
};
pub use expansion::{PyBackPressureRegulator, PyExpansion, PyValveSize};
pub use feed::{
    PyBoosted, PyCondensed, PyPriming, PySuction, PySuctionLine, boost, condense, priming,
    purge_volume,
};
pub use operation::{
    PyDensityError, PyDensitySchedule, PyPulse, PyStackedInjections, cycle_time, delayed_ramp,
    density_error, density_schedule, fastest_pressure_rise, leak_mass_flow_rate,
    mass_flow_from_gas_meter, piston_mass_flow_rate, pump_pulse, ripple_suspect,
    stacked_injections, storage_mass_flow_rate, stroke_frequency,
};
pub use pumping::{
    PyBathCooling, PyThermoelectricCooling, PyWaveform, bath_cooling, pump_waveform,
    require_pressure_rise, ripple_attenuation, thermoelectric_cooling,
};
pub use restrictor::{
    PyCapillaryFlow, PyCrimpedRestrictor, PyFritRestrictor, PyLinearRestrictor,
    PyOrificeRestrictor, PyRestrictorEnd, PyRestrictorFlow, PySegmentedRestrictor,
    PyTaperedRestrictor,
};
pub use safety::{
    PyBlockedIn, PyHeatedShutIn, PyLetDown, PyPressureHammer, PyRoomExposure, PyStoredEnergy,
    PyTubeRating, PyVapourInVent, blocked_in, flammable_substances, heated_shut_in, let_down,
    pressure_hammer, room_exposure, stored_energy, tube_rating, vapour_in_vent,
};
pub use supply::{
    PyCompression, PyCylinder, PyCylinderContent, PyHeadDuty, PyPrecompression,
    PyReciprocatingPump, PyStroke, PySyringePump,
};

/// The part of a pickle, made again from its keywords.
#[pyfunction]
pub fn restore_part<'py>(
    py: Python<'py>,
    name: &str,
    keywords: &Bound<'py, PyDict>,
) -> PyResult<Bound<'py, PyAny>> {
    py.import("densepath._core")?
        .getattr(name)?
        .call((), Some(keywords))
}

/// A frozen class of a part: the keywords with their meanings make the constructor, the getters, the documentation, the line of
/// text and the pickle.
///
/// The examples begin with the line of Python that makes the part: that of the class shows what the part does, that of `to_dict`
/// one of the keywords.
macro_rules! part {
    (
        $summary:literal $notes:literal
        from $made:literal
            shows $($line:literal)+ = $shown:literal
            keeps $part:ident.$keyword:ident = $kept:literal
        $type:ident $name:literal: $core:ty {
            $($field:ident: $kind:ty $(= $default:tt)?, $told:literal $meaning:literal;)*
        }
        make $make:expr;
    ) => {
        #[doc = concat!(
            $summary, "\n\nParameters\n----------\n",
            $(stringify!($field), " : ", $told, ", keyword-only\n    ", $meaning, "\n",)*
            "\nRaises\n------\nDomainError, RangeError\n    If a value is impossible for the part.\n\nNotes\n-----\n", $notes
        )]
        #[doc = $crate::record::example!([$made $(, $line)+] = $shown)]
        #[pyclass(frozen, eq, module = "densepath", name = $name)]
        #[derive(Debug, Clone, PartialEq)]
        pub struct $type {
            part: $core,
            $(#[doc = concat!($told, ": ", $meaning)] #[pyo3(get)] $field: $kind,)*
        }

        #[pymethods]
        impl $type {
            #[new]
            #[allow(clippy::too_many_arguments, clippy::needless_pass_by_value, reason = "the keywords of the part")]
            #[pyo3(signature = (*, $($field $(= $default)?),*))]
            fn new($($field: $kind),*) -> Outcome<Self> {
                let make: fn($(&$kind),*) -> Outcome<$core> = $make;
                Ok(Self { part: make($(&$field),*)?, $($field),* })
            }

            /// The keywords that the part was made from.
            #[doc = $crate::record::example!(
                [$made] [stringify!($part), ".to_dict()[\"", stringify!($keyword), "\"]"] = $kept
            )]
            fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
                let dict = PyDict::new(py);
                $(dict.set_item(stringify!($field), self.$field.clone())?;)*
                Ok(dict)
            }

            fn __repr__(&self) -> String {
                let told: Vec<String> = [
                    $((stringify!($field), $crate::record::Field::told(&self.$field, "")),)*
                ]
                .into_iter()
                .filter_map(|(name, told)| Some(format!("{name}={}", told?)))
                .collect();
                format!("{}({})", $name, told.join(", "))
            }

            fn __reduce__<'py>(
                &self,
                py: Python<'py>,
            ) -> $crate::pickle::Reduced<'py, (&'static str, Bound<'py, PyDict>)> {
                $crate::pickle::reduced(py, "restore_part", ($name, self.to_dict(py)?))
            }
        }
    };
}

/// The method `outlet` of a part that a stream passes through, with the lines of Python of its example and what the last shows.
macro_rules! passes {
    ($($type:ident $($line:literal)+ = $shown:literal;)*) => {
        $(#[pymethods]
        impl $type {
            /// The outlet that belongs to an inlet.
            ///
            /// Parameters
            /// ----------
            /// inlet : State
            ///     The fluid at the inlet.
            /// mass_flow_rate : float
            ///     Mass flow rate q_m in kg/s.
            /// delivery_pressure : float, keyword-only
            ///     Pressure in Pa that the pump delivers at; that of the inlet by default.
            /// room_pressure : float, keyword-only
            ///     Pressure of the room in Pa; 101325 Pa by default.
            /// retention_factor, diffusion_coefficient : float, keyword-only
            ///     Retention factor k and diffusion coefficient D in m2/s of a solute whose band is followed; both or none.
            ///
            /// Returns
            /// -------
            /// Outlet
            ///     The fluid at the outlet, and what happened inside.
            ///
            /// Raises
            /// ------
            /// FlowError
            ///     If the fluid does not stay one dense phase where the part needs it, or the flow is reversed or choked.
            #[doc = $crate::record::example!([$($line),+] = $shown)]
            #[pyo3(signature = (inlet, mass_flow_rate, *, delivery_pressure = None, room_pressure = None, retention_factor = None, diffusion_coefficient = None))]
            #[allow(clippy::too_many_arguments, reason = "keywords of Python")]
            fn outlet(
                &self,
                py: Python<'_>,
                inlet: &PyState,
                mass_flow_rate: f64,
                delivery_pressure: Option<f64>,
                room_pressure: Option<f64>,
                retention_factor: Option<f64>,
                diffusion_coefficient: Option<f64>,
            ) -> Outcome<$crate::hardware::PyOutlet> {
                let solute = $crate::hardware::solute(retention_factor, diffusion_coefficient)?;
                let passage = $crate::hardware::Passage { inlet, mass_flow_rate, delivery_pressure, room_pressure, solute };
                passage.through(py, &self.part)
            }
        })*
    };
}

pub(crate) use {part, passes};

/// A way to exchange heat: with a wall of this temperature, or not at all.
fn thermal(wall_temperature: Option<f64>) -> Thermal {
    wall_temperature.map_or(Thermal::Adiabatic, |temperature| Thermal::Isothermal {
        temperature,
    })
}

/// A way to exchange heat through a wall that may resist, by its conductance per length.
fn wall(wall_temperature: Option<f64>, wall_conductance: Option<f64>) -> Outcome<Thermal> {
    match (wall_temperature, wall_conductance) {
        (Some(temperature), Some(conductance)) => Ok(Thermal::Wall {
            temperature,
            conductance,
        }),
        (None, Some(_)) => Err(argument(
            "wall_conductance",
            "given together with wall_temperature",
            "alone",
        )),
        (temperature, None) => Ok(thermal(temperature)),
    }
}

/// The solute of a retention factor and a diffusion coefficient in m2/s.
fn solute(
    retention_factor: Option<f64>,
    diffusion_coefficient: Option<f64>,
) -> Outcome<Option<Solute>> {
    match (retention_factor, diffusion_coefficient) {
        (None, None) => Ok(None),
        (Some(retention_factor), Some(diffusion_coefficient)) => Ok(Some(Solute {
            name: "solute".to_owned(),
            retention: Retention::Constant { retention_factor },
            diffusion: Diffusion::Constant {
                diffusion_coefficient,
            },
            melting_temperature: None,
            in_gas: None,
        })),
        _ => Err(argument(
            "retention_factor and diffusion_coefficient",
            "both or none",
            "one of them",
        )),
    }
}

/// A stream on its way through a part.
struct Passage<'a> {
    inlet: &'a PyState,
    mass_flow_rate: f64,
    delivery_pressure: Option<f64>,
    room_pressure: Option<f64>,
    solute: Option<Solute>,
}

impl Passage<'_> {
    fn through(&self, py: Python<'_>, part: &dyn Element) -> Outcome<PyOutlet> {
        let room = Room::default();
        let inlet = Stream {
            state: self.inlet.state.clone(),
            mass_flow_rate: self.mass_flow_rate,
        };
        let surroundings = Surroundings {
            delivery_pressure: self.delivery_pressure.unwrap_or(inlet.state.pressure()),
            room_temperature: room.temperature,
            room_pressure: self.room_pressure.unwrap_or(room.pressure),
            solute: self.solute.as_ref(),
            carrier: carrier_of(self.inlet.state.fluid()),
            additives: &[],
        };
        let outlet = enter(py, || part.pass(&inlet, &surroundings))?;
        Ok(PyOutlet::of(part.kind(), outlet))
    }
}

record! {
    /// What leaves a part, and what happened inside; immutable. Made by the method `outlet` of a part.
    PyOutlet "Outlet"
    from r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
        "outlet = dp.Tube(diameter=120e-6, length=1.0).outlet(inlet, 5e-5)"
        shows outlet.state.pressure as ".4g" = "1.151e+07"
    {
        /// State: The fluid at the outlet.
        state: PyState [""],
        /// float: Mass flow rate q_m in kg/s.
        mass_flow_rate: f64 ["kg/s"],
        /// float or None: Hold-up time of the fluid in s; None where it is not known, which a notice tells.
        hold_up_time: Option<f64> ["s"],
        /// float: Heat flow rate into the fluid in W.
        heat_flow_rate: f64 ["W"],
        /// float or None: Mean velocity u in m/s at the outlet, where the part is a conduit.
        velocity: Option<f64> ["m/s"],
        /// float or None: Reynolds number Re at the outlet, where the part is a conduit.
        reynolds_number: Option<f64> ["1"],
        /// float or None: Time in s that the solute spends in the part.
        solute_time: Option<f64> ["s"],
        /// float or None: Variance in s2 that the part adds to the band; of a detector to the one that it records.
        time_variance: Option<f64> ["s2"],
        /// Table: Points along the part, inlet to outlet; empty for a part without length.
        profile: PyTable [""],
        /// Table: Results that only this sort of part has.
        facts: PyTable [""],
        /// tuple of Notice: Doubts and cautions.
        notices: Notices [""],
    }
}

impl PyOutlet {
    fn of(kind: &str, outlet: Outlet) -> Self {
        let band = outlet.recorded_band();
        let band = band.map(|band| (band.time, band.time_variance));
        Self {
            mass_flow_rate: outlet.stream.mass_flow_rate,
            state: outlet.stream.state.into(),
            hold_up_time: finite(outlet.hold_up_time),
            heat_flow_rate: outlet.heat_flow_rate,
            velocity: outlet.motion.map(|motion| motion.velocity),
            reynolds_number: outlet
                .motion
                .and_then(|motion| finite(motion.reynolds_number)),
            solute_time: band.map(|(time, _)| time),
            time_variance: band.map(|(_, time_variance)| time_variance),
            profile: profile(kind, &[(kind, &outlet.profile)]),
            facts: facts_of(outlet.facts.iter().map(|fact| (kind, fact))),
            notices: outlet.notices.as_slice().into(),
        }
    }
}
