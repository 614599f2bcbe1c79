//! What becomes of the fluid behind the regulator, and the detectors for its gas.

use densepath::Quantity;
use densepath::fluid::error::positive;
use densepath::fluid::units::MILLILITRE_PER_MINUTE;
use densepath::hardware::decompression::{
    Collection, Stage, StageResult, delay, make_up_flow, saturated_gas, stages, waste as wasted,
};
use densepath::hardware::restrictor::tip_notices;
use densepath::hardware::{GasDetector, detector_records};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::{part, passes};
use crate::error::{Outcome, enter};
use crate::fluid::PyFluid;
use crate::record::{Notices, Several, record};
use crate::state::PyState;
use crate::table::{Column, PyTable};

/// Stages of a decompression, one behind the other.
///
/// Parameters
/// ----------
/// inlet : State
///     The fluid before the first stage.
/// mass_flow_rate : float
///     Mass flow rate q_m in kg/s.
/// pressures : sequence of float, keyword-only
///     Pressure in Pa of each stage.
/// temperatures : sequence of (float or None), keyword-only
///     Temperature in K that heat or cooling brings each stage to; None for no heat. None for no heat in any stage.
/// draws_liquid : sequence of bool, keyword-only
///     Whether liquid is drawn off, so that only gas goes on; False by default.
/// diameters : sequence of (float or None), keyword-only
///     Inner diameter in m of the tube in which each stage ends, for the velocity.
///
/// Returns
/// -------
/// tuple of StageResult
///     What each stage does.
///
/// Raises
/// ------
/// FlowError
///     If a pressure is not below the one before.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
/// >>> stages = dp.decompress(inlet, 5e-5, pressures=[20e5, 101325.0], temperatures=[None, 293.15])
/// >>> [(stage.state.phase, round(stage.heat_flow_rate, 1)) for stage in stages]
/// [('liquid + vapour', 0.0), ('vapour', 10.8)]
#[pyfunction]
#[pyo3(signature = (inlet, mass_flow_rate, *, pressures, temperatures = None, draws_liquid = None, diameters = None))]
#[allow(clippy::needless_pass_by_value, reason = "lists of Python")]
pub fn decompress(
    py: Python<'_>,
    inlet: &PyState,
    mass_flow_rate: f64,
    pressures: Vec<f64>,
    temperatures: Option<Vec<Option<f64>>>,
    draws_liquid: Option<Vec<bool>>,
    diameters: Option<Vec<Option<f64>>>,
) -> Outcome<Several<PyStageResult>> {
    let at = |list: &Option<Vec<Option<f64>>>, index: usize| {
        list.as_ref()?.get(index).copied().flatten()
    };
    let list: Vec<Stage> = pressures
        .iter()
        .enumerate()
        .map(|(index, pressure)| Stage {
            pressure: *pressure,
            temperature: at(&temperatures, index),
            draws_liquid: draws_liquid
                .as_ref()
                .and_then(|list| list.get(index))
                .is_some_and(|draws| *draws),
            diameter: at(&diameters, index),
        })
        .collect();
    let results = enter(py, || stages(&inlet.state, mass_flow_rate, &list))?;
    Ok(Several(
        results.into_iter().map(PyStageResult::from).collect(),
    ))
}

/// What a decompression sends to vent and waste in a time.
///
/// Parameters
/// ----------
/// stages : sequence of StageResult
///     The stages, as `decompress` makes them.
/// time : float
///     Time in s.
///
/// Returns
/// -------
/// Waste
///     Gas of the last stage, and the liquid of all.
///
/// Raises
/// ------
/// DomainError
///     For a negative time, or no stage.
/// RangeError
///     If the last stage holds solid.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)
/// >>> stages = dp.decompress(inlet, 5e-5, pressures=[101325.0], temperatures=[293.15])
/// >>> print(f"{dp.waste(stages, 3600.0).gas_volume * 1e3:.0f} L")
/// 98 L
#[pyfunction]
#[allow(clippy::needless_pass_by_value, reason = "a sequence of Python")]
pub fn waste(stages: Vec<Bound<'_, PyStageResult>>, time: f64) -> Outcome<PyWaste> {
    let results: Vec<StageResult> = stages.iter().map(|stage| stage.get().into()).collect();
    let found = wasted(&results, time)?;
    Ok(PyWaste {
        gas_volume: found.gas_volume,
        gas_mass: found.gas_mass,
        liquid_volume: found.liquid_volume,
        liquid_mass: found.liquid_mass,
    })
}

record! {
    /// What a decompression sends to vent and waste; immutable. Made by `waste`.
    PyWaste "Waste"
    from r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
        "stages = dp.decompress(inlet, 5e-5, pressures=[101325.0], temperatures=[293.15])"
        "waste = dp.waste(stages, 3600.0)"
        shows waste.gas_mass as ".3f" = "0.180"
    {
        /// float: Volume in m3 of gas at 20 degC and 101325 Pa.
        gas_volume: f64 ["m3"],
        /// float: Mass in kg of gas.
        gas_mass: f64 ["kg"],
        /// float: Volume in m3 of liquid.
        liquid_volume: f64 ["m3"],
        /// float: Mass in kg of liquid.
        liquid_mass: f64 ["kg"],
    }
}

impl From<&PyStageResult> for StageResult {
    fn from(result: &PyStageResult) -> Self {
        Self {
            adiabatic: result.adiabatic.state.clone(),
            state: result.state.state.clone(),
            heat_flow_rate: result.heat_flow_rate,
            liquid_mass_flow_rate: result.liquid_mass_flow_rate,
            liquid_volume_flow_rate: result.liquid_volume_flow_rate,
            modifier_in_liquid: result.modifier_in_liquid,
            modifier_in_gas: result.modifier_in_gas,
            gas_mass_flow_rate: result.gas_mass_flow_rate,
            gas_volume_flow_rate: result.gas_volume_flow_rate,
            velocity: result.velocity,
            notices: Vec::new(),
        }
    }
}

/// The plain answer to what is collected: an ideal gas saturated with the vapour of a pure modifier.
///
/// Parameters
/// ----------
/// temperature : float
///     Temperature T in K of the separator.
/// pressure : float
///     Pressure p in Pa of the separator.
/// gas, modifier : Fluid
///     The gas and the modifier.
/// gas_mass_flow_rate, modifier_mass_flow_rate : float, keyword-only
///     Mass flow rates in kg/s.
///
/// Returns
/// -------
/// tuple of float
///     Mass flow rates in kg/s of modifier lost with the gas and left as liquid, and the volume flow rate of that in m3/s.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> gas, modifier = dp.Fluid("carbon dioxide"), dp.Fluid("methanol")
/// >>> lost, left, _ = dp.collect_modifier(273.15, 3e5, gas, modifier, gas_mass_flow_rate=5e-5, modifier_mass_flow_rate=5e-6)
/// >>> print(f"{100 * lost / (lost + left):.1f} % of the modifier leaves with the gas")
/// 10.0 % of the modifier leaves with the gas
#[pyfunction]
#[pyo3(signature = (temperature, pressure, gas, modifier, *, gas_mass_flow_rate, modifier_mass_flow_rate))]
pub fn collect_modifier(
    py: Python<'_>,
    temperature: f64,
    pressure: f64,
    gas: &PyFluid,
    modifier: &PyFluid,
    gas_mass_flow_rate: f64,
    modifier_mass_flow_rate: f64,
) -> Outcome<(f64, f64, f64)> {
    let Collection {
        lost,
        collected,
        collected_volume,
    } = enter(py, || {
        saturated_gas(
            temperature,
            pressure,
            &gas.fluid,
            gas_mass_flow_rate,
            &modifier.fluid,
            modifier_mass_flow_rate,
        )
    })?;
    Ok((lost, collected, collected_volume))
}

/// Volume flow rate of liquid to add so that a solute stays dissolved.
///
/// Parameters
/// ----------
/// solute_mass_flow_rate : float
///     Mass flow rate of solute in kg/s.
/// solubility : float
///     Its solubility in the liquid in kg/m3.
/// liquid_volume_flow_rate : float
///     Volume flow rate in m3/s of liquid that is there already.
///
/// Returns
/// -------
/// float
///     Volume flow rate in m3/s; 0 if what is there is enough.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> print(f"{dp.make_up_flow(1e-8, 5.0, 1e-9) * 60e6:.3f} mL/min")
/// 0.060 mL/min
#[pyfunction]
#[pyo3(name = "make_up_flow", signature = (solute_mass_flow_rate, solubility, liquid_volume_flow_rate = 0.0))]
pub fn py_make_up_flow(
    solute_mass_flow_rate: f64,
    solubility: f64,
    liquid_volume_flow_rate: f64,
) -> Outcome<f64> {
    Ok(make_up_flow(
        solute_mass_flow_rate,
        solubility,
        liquid_volume_flow_rate,
    )?)
}

/// Time from the detector to the vial.
///
/// Parameters
/// ----------
/// mass_flow_rate : float
///     Mass flow rate q_m in kg/s.
/// volumes : sequence of float
///     Volumes in m3 on the way.
/// states : sequence of State
///     The fluid in each.
/// film_lag : float, keyword-only
///     Time in s that the film of liquid on the walls lags behind, the larger part in common tubes: measure it with a dye.
///
/// Returns
/// -------
/// float
///     Time in s.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> co2 = dp.Fluid("carbon dioxide")
/// >>> dense = co2.state(temperature=313.15, pressure=150e5)
/// >>> gas = co2.state(temperature=303.15, pressure=101325.0)
/// >>> print(f"{dp.collection_delay(5e-5, [50e-9, 1e-6], [dense, gas], film_lag=2.0):.2f} s")
/// 2.82 s
#[pyfunction]
#[pyo3(signature = (mass_flow_rate, volumes, states, *, film_lag = 0.0))]
#[allow(clippy::needless_pass_by_value, reason = "lists of Python")]
pub fn collection_delay(
    mass_flow_rate: f64,
    volumes: Vec<f64>,
    states: Vec<PyRef<'_, PyState>>,
    film_lag: f64,
) -> Outcome<f64> {
    let pairs: Vec<_> = volumes
        .iter()
        .zip(&states)
        .map(|(volume, state)| (*volume, &state.state))
        .collect();
    Ok(delay(mass_flow_rate, &pairs, film_lag)?)
}

/// Sorts of detectors for the decompressed gas: the largest flow that they usually take, and what a modifier does to each. Common
/// practice, no source.
///
/// Returns
/// -------
/// Table
///     Word, name, largest flow of gas in m3/s at 20 degC and 101325 Pa, place of the restrictor, effect of a modifier.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> [str(word) for word in dp.gas_detectors().word[:2]]
/// ['flame_ionisation', 'nitrogen_phosphorus']
#[pyfunction]
pub fn gas_detectors() -> Outcome<PyTable> {
    let records = detector_records()?;
    let columns = vec![
        Column::words("word", records.iter().map(|record| record.word.as_str())),
        Column::words("name", records.iter().map(|record| record.name.as_str())),
        Column::named(
            "flow_limit",
            "m3/s",
            records
                .iter()
                .map(|record| record.flow_max_millilitre_per_minute * MILLILITRE_PER_MINUTE),
        ),
        Column::words(
            "restrictor",
            records.iter().map(|record| record.restrictor.as_str()),
        ),
        Column::words(
            "modifier",
            records.iter().map(|record| record.modifier.as_str()),
        ),
    ];
    Ok(PyTable::of("gas detectors", columns))
}

part! {
    "A detector for the gas behind a restrictor or regulator."
    "Its usual flow and what a modifier does to it are common practice, no source: see `gas_detectors`."
    from r#"detector = dp.GasDetector(detector="flame_ionisation")"#
        shows r#"co2 = dp.Fluid("carbon dioxide")"#
            r#"print(f"{detector.gas(co2, 2e-7).flow_ratio:.2f}")"# = "0.33"
        keeps detector.detector = "'flame_ionisation'"
    PyGasDetector "GasDetector": GasDetector {
        detector: Option<String> = None, "str or None" "Word of its sort, of `gas_detectors`; None for a detector of which nothing but the limit is known.";
        flow_limit: Option<f64> = None, "float or None" "Largest gas flow that it takes, in m3/s at 20 degC and 101325 Pa; None for that of its sort.";
        flame: bool = false, "bool" "Whether it burns hydrogen; those sorts that do are known.";
    }
    make |detector, flow_limit, flame| {
        let mut made = match detector {
            Some(word) => GasDetector::of_sort(word)?,
            None => GasDetector::new(),
        };
        if let Some(limit) = flow_limit {
            made = made.with_flow_limit(*limit)?;
        }
        Ok(if *flame { made.with_flame() } else { made })
    };
}

passes! {
    PyGasDetector
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=373.15, pressure=101325.0)"#
        r#"detector = dp.GasDetector(detector="flame_ionisation")"#
        "outlet = detector.outlet(inlet, 2e-6)"
        "[notice.code for notice in outlet.notices]" = "['detector_unsuited', 'flammable', 'hot_surface']";
}

#[pymethods]
impl PyGasDetector {
    /// The gas of a mass flow rate at the detector, and the split it needs.
    ///
    /// Parameters
    /// ----------
    /// fluid : Fluid
    ///     The fluid.
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    ///
    /// Returns
    /// -------
    /// DetectorGas
    ///     Flow of gas, its ratio to the largest that the detector takes, and cautions.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> flame = dp.GasDetector(detector="flame_ionisation")
    /// >>> gas = flame.gas(dp.Fluid("carbon dioxide"), 2e-6)
    /// >>> gas.flow_ratio > 1
    /// True
    fn gas(&self, py: Python<'_>, fluid: &PyFluid, mass_flow_rate: f64) -> Outcome<PyDetectorGas> {
        let gas = enter(py, || self.part.gas(&fluid.fluid, mass_flow_rate))?;
        Ok(PyDetectorGas {
            gas_volume_flow_rate: gas.gas_volume_flow_rate,
            flow_ratio: gas.flow_ratio,
            notices: gas.notices.as_slice().into(),
        })
    }
}

record! {
    /// The gas at a detector; immutable. Made by the method `gas` of a detector.
    PyDetectorGas "DetectorGas"
    from r#"gas = dp.GasDetector(detector="flame_ionisation").gas(dp.Fluid("carbon dioxide"), 2e-6)"#
        shows gas.flow_ratio as ".3f" = "3.262"
    {
        /// float: Volume flow rate of the gas in m3/s at 20 degC and 101325 Pa.
        gas_volume_flow_rate: f64 ["m3/s"],
        /// float or None: The flow over the largest that the detector takes; above 1 split it, vent to detector as this less one.
        flow_ratio: Option<f64> ["1"],
        /// tuple of Notice: Doubts and cautions.
        notices: Notices [""],
    }
}

/// What can plug the tip of a restrictor: ice from the traces of water in every fluid, and a solute that comes out as a solid.
///
/// Parameters
/// ----------
/// coldest : float
///     Lowest temperature in K of the fluid in the restrictor.
/// solute : str, keyword-only
///     Name of a solute.
/// melting_temperature : float or None, keyword-only
///     Its melting point in K; None for no solute.
///
/// Returns
/// -------
/// tuple of Notice
///     Cautions; none for a tip that does not plug by these. What a decompressed gas cannot carry can still block a warm tip.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> [notice.code for notice in dp.tip_notices(263.15, solute="naphthalene", melting_temperature=353.4)]
/// ['plugging', 'plugging']
#[pyfunction]
#[pyo3(name = "tip_notices", signature = (coldest, *, solute = "the solute", melting_temperature = None))]
pub fn tip_notices_of(
    coldest: f64,
    solute: &str,
    melting_temperature: Option<f64>,
) -> Outcome<Notices> {
    positive(Quantity::Temperature, coldest)?;
    if let Some(melting) = melting_temperature {
        positive(Quantity::Temperature, melting)?;
    }
    let solute = melting_temperature.map(|melting| (solute, melting));
    Ok(tip_notices(coldest, solute).as_slice().into())
}

record! {
    /// What a stage of a decompression does; immutable. Made by `decompress`.
    PyStageResult "StageResult"
    from r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
        "stage = dp.decompress(inlet, 5e-5, pressures=[20e5])[0]"
        shows stage.state.temperature as ".1f" = "253.6"
    {
        /// State: The end of the expansion without heat.
        adiabatic: PyState [""],
        /// State: The fluid in the stage.
        state: PyState [""],
        /// float: Heat flow rate into the fluid in W.
        heat_flow_rate: f64 ["W"],
        /// float: Mass flow rate of liquid in kg/s.
        liquid_mass_flow_rate: f64 ["kg/s"],
        /// float: Volume flow rate of liquid in m3/s.
        liquid_volume_flow_rate: f64 ["m3/s"],
        /// float: Mass flow rate in kg/s of modifier in the liquid.
        modifier_in_liquid: f64 ["kg/s"],
        /// float: Mass flow rate in kg/s of modifier in the gas.
        modifier_in_gas: f64 ["kg/s"],
        /// float: Mass flow rate of gas in kg/s.
        gas_mass_flow_rate: f64 ["kg/s"],
        /// float: Volume flow rate in m3/s of gas at the state of the stage.
        gas_volume_flow_rate: f64 ["m3/s"],
        /// float or None: Mean velocity in m/s, where a diameter is stated.
        velocity: Option<f64> ["m/s"],
        /// tuple of Notice: Doubts and cautions.
        notices: Notices [""],
    }
}

impl From<StageResult> for PyStageResult {
    fn from(result: StageResult) -> Self {
        Self {
            adiabatic: result.adiabatic.into(),
            state: result.state.into(),
            heat_flow_rate: result.heat_flow_rate,
            liquid_mass_flow_rate: result.liquid_mass_flow_rate,
            liquid_volume_flow_rate: result.liquid_volume_flow_rate,
            modifier_in_liquid: result.modifier_in_liquid,
            modifier_in_gas: result.modifier_in_gas,
            gas_mass_flow_rate: result.gas_mass_flow_rate,
            gas_volume_flow_rate: result.gas_volume_flow_rate,
            velocity: result.velocity,
            notices: result.notices.as_slice().into(),
        }
    }
}
