//! The parts that supply the path: cylinder, reciprocating pump, syringe pump.

use densepath::hardware::{
    Compression, CountedAt, Cylinder, CylinderContent, Filling, HeadDuty, Precompression,
    ReciprocatingPump, SetFlow, Stroke, SyringePump, Withdrawal,
};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::part;
use crate::error::{Outcome, argument, enter};
use crate::fluid::PyFluid;
use crate::record::{Notices, nested, record};
use crate::state::PyState;

part! {
    "A cylinder of one substance."
    "The pressure of liquid under vapour does not show how much is left; a cylinder that liquid fills rises steeply in pressure \
     on warming."
    PyCylinder "Cylinder": Cylinder {
        volume: f64, "float" "Volume in m3.";
        mass: f64, "float" "Mass of the fluid in kg.";
        withdrawal: Option<String> = None, "str or None" "\"liquid\", by a dip tube, or \"vapour\"; None for liquid.";
    }
    make |volume, mass, withdrawal| {
        let withdrawal = match withdrawal.as_deref() {
            None | Some("liquid") => Withdrawal::Liquid,
            Some("vapour") => Withdrawal::Vapour,
            Some(other) => return Err(argument("withdrawal", "\"liquid\" or \"vapour\"", format!("\"{other}\""))),
        };
        Ok(Cylinder::new(*volume, *mass, withdrawal)?)
    };
}

#[pymethods]
impl PyCylinder {
    /// What the cylinder holds at a temperature, in equilibrium.
    ///
    /// Parameters
    /// ----------
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K.
    ///
    /// Returns
    /// -------
    /// CylinderContent
    ///     Masses, level, and the temperature at which liquid fills it.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> cylinder = dp.Cylinder(volume=40e-3, mass=28.0)
    /// >>> cylinder.content(dp.Fluid("carbon dioxide"), 293.15).filling
    /// 'liquid under vapour'
    fn content(
        &self,
        py: Python<'_>,
        fluid: &PyFluid,
        temperature: f64,
    ) -> Outcome<PyCylinderContent> {
        Ok(enter(py, || self.part.content(&fluid.fluid, temperature))?.into())
    }

    /// The fluid that leaves the cylinder at a temperature.
    ///
    /// Parameters
    /// ----------
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K.
    ///
    /// Returns
    /// -------
    /// State
    ///     Boiling liquid or dry vapour where both coexist, the content itself otherwise.
    fn supply(&self, py: Python<'_>, fluid: &PyFluid, temperature: f64) -> Outcome<PyState> {
        Ok(enter(py, || self.part.supply(&fluid.fluid, temperature))?.into())
    }
}

record! {
    /// The content of a cylinder at one temperature; immutable. Made by `Cylinder.content`.
    PyCylinderContent "CylinderContent" {
        /// str: "liquid under vapour", "liquid only", "vapour only" or "supercritical".
        filling: String [""],
        /// State: State of the whole content.
        state: PyState [""],
        /// float: Mass of liquid in kg.
        liquid_mass: f64 ["kg"],
        /// float: Mass of vapour in kg.
        vapour_mass: f64 ["kg"],
        /// float: Share of the volume that is liquid.
        liquid_level: f64 ["1"],
        /// float: Mass in kg left behind when the liquid is gone.
        heel: f64 ["kg"],
        /// float: Mass in kg that can be drawn as liquid.
        usable_mass: f64 ["kg"],
        /// float or None: Temperature in K at which liquid fills the whole volume.
        liquid_full_temperature: Option<f64> ["K"],
        /// tuple of Notice: Doubts and cautions.
        notices: Notices [""],
    }
}

impl From<CylinderContent> for PyCylinderContent {
    fn from(content: CylinderContent) -> Self {
        let filling = match content.filling {
            Filling::LiquidAndVapour => "liquid under vapour",
            Filling::LiquidFull => "liquid only",
            Filling::VapourOnly => "vapour only",
            Filling::Supercritical => "supercritical",
        };
        Self {
            filling: filling.to_owned(),
            state: content.state.into(),
            liquid_mass: content.liquid_mass,
            vapour_mass: content.vapour_mass,
            liquid_level: content.liquid_level,
            heel: content.heel,
            usable_mass: content.usable_mass,
            liquid_full_temperature: content.liquid_full_temperature,
            notices: content.notices.as_slice().into(),
        }
    }
}

part! {
    "A reciprocating pump with a chilled head."
    "Give a mass flow rate, or a volume flow rate together with where the volume is counted."
    PyReciprocatingPump "ReciprocatingPump": ReciprocatingPump {
        head_temperature: f64, "float" "Temperature of the head in K.";
        mass_flow_rate: Option<f64> = None, "float or None" "Set mass flow rate in kg/s.";
        volume_flow_rate: Option<f64> = None, "float or None" "Set volume flow rate in m3/s.";
        counted_at: Option<String> = None, "str or None" "Where the volume is counted: \"suction\", \"delivery\", \"oven\" or \"normal\".";
        clearance_ratio: f64 = 0.0, "float" "Volume left at the end of the stroke over the swept volume.";
        isothermal_share: Option<f64> = None, "float or None" "Share of the isothermal in the expected stroke, 0 to 1; None for that of the library.";
        leak_fraction: f64 = 0.0, "float" "Share of the flow that leaks.";
        pressure_limit: Option<f64> = None, "float or None" "Highest pressure in Pa.";
    }
    make |head_temperature, mass_flow_rate, volume_flow_rate, counted_at, clearance_ratio, isothermal_share, leak_fraction, pressure_limit| {
        let set_flow = set_flow(*mass_flow_rate, *volume_flow_rate, counted_at.as_deref())?;
        let mut pump = ReciprocatingPump::new(*head_temperature, set_flow)?
            .with_clearance_ratio(*clearance_ratio)?
            .with_leak_fraction(*leak_fraction)?;
        if let Some(share) = isothermal_share {
            pump = pump.with_isothermal_share(*share)?;
        }
        if let Some(limit) = pressure_limit {
            pump = pump.with_pressure_limit(*limit)?;
        }
        Ok(pump)
    };
}

/// The flow that a pump is set to.
fn set_flow(mass: Option<f64>, volume: Option<f64>, counted_at: Option<&str>) -> Outcome<SetFlow> {
    const EXPECTED: &str = "mass_flow_rate, or volume_flow_rate with counted_at = \"suction\", \"delivery\", \"oven\" or \"normal\"";
    let refuse = |got: &str| argument("flow", EXPECTED, got);
    match (mass, volume, counted_at) {
        (Some(mass), None, None) => Ok(SetFlow::Mass(mass)),
        (None, Some(volume), Some(word)) => CountedAt::ALL
            .into_iter()
            .find(|counted_at| counted_at.word() == word)
            .map(|counted_at| SetFlow::Volume(volume, counted_at))
            .ok_or_else(|| refuse(&format!("\"{word}\""))),
        (None, Some(_), None) => Err(refuse("a volume flow rate that is counted nowhere")),
        (None, None, _) => Err(refuse("no flow")),
        (Some(_), _, _) => Err(refuse("more than a mass flow rate")),
    }
}

#[pymethods]
impl PyReciprocatingPump {
    /// Mass flow rate that the pump delivers.
    ///
    /// Parameters
    /// ----------
    /// suction : State
    ///     The fluid at the suction of the head.
    /// delivery_pressure : float
    ///     Pressure in Pa that it delivers at.
    /// oven_temperature, oven_pressure : float
    ///     Temperature in K and pressure in Pa at the inlet of the column, for a volume counted there.
    ///
    /// Returns
    /// -------
    /// float
    ///     Mass flow rate q_m in kg/s.
    ///
    /// Raises
    /// ------
    /// FlowError
    ///     If the feed is not liquid.
    fn delivered_mass_flow_rate(
        &self,
        py: Python<'_>,
        suction: &PyState,
        delivery_pressure: f64,
        oven_temperature: f64,
        oven_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part.mass_flow_rate(
                &suction.state,
                delivery_pressure,
                oven_temperature,
                oven_pressure,
            )
        })
    }

    /// The stroke from a suction state to a delivery pressure, between its isothermal and its isentropic limit.
    ///
    /// Parameters
    /// ----------
    /// suction : State
    ///     The fluid at the suction of the head.
    /// delivery_pressure : float
    ///     Pressure in Pa that it delivers at.
    ///
    /// Returns
    /// -------
    /// Stroke
    ///     The two limits and what is expected between them.
    ///
    /// Raises
    /// ------
    /// FlowError
    ///     If the feed is not liquid, or the delivery pressure is not above it.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5)
    /// >>> feed = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=55e5)
    /// >>> pump.stroke(feed, 200e5).isentropic.temperature > 278.15
    /// True
    fn stroke(
        &self,
        py: Python<'_>,
        suction: &PyState,
        delivery_pressure: f64,
    ) -> Outcome<PyStroke> {
        Ok(enter(py, || self.part.stroke(&suction.state, delivery_pressure))?.into())
    }

    /// Heat flow rates of the head.
    ///
    /// Parameters
    /// ----------
    /// supply : State
    ///     The fluid as supplied.
    /// suction : State
    ///     The fluid at the suction of the head.
    /// delivery_pressure : float
    ///     Pressure in Pa that it delivers at.
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    ///
    /// Returns
    /// -------
    /// HeadDuty
    ///     Heat flow rates in W.
    fn head_duty(
        &self,
        py: Python<'_>,
        supply: &PyState,
        suction: &PyState,
        delivery_pressure: f64,
        mass_flow_rate: f64,
    ) -> Outcome<PyHeadDuty> {
        let duty = enter(py, || {
            self.part.head_duty(
                &supply.state,
                &suction.state,
                delivery_pressure,
                mass_flow_rate,
            )
        })?;
        Ok(duty.into())
    }
}

record! {
    /// One way through the stroke of a pump; immutable.
    PyCompression "Compression" {
        /// float: Temperature in K of the fluid when the outlet valve opens.
        temperature: f64 ["K"],
        /// float: Density in kg/m3 of the fluid when the outlet valve opens.
        density: f64 ["kg/m3"],
        /// float: Share of its volume that the fluid loses.
        volume_fraction: f64 ["1"],
        /// float: Mass delivered over the mass that the swept volume holds at suction.
        volumetric_efficiency: f64 ["1"],
        /// float: Share of the stroke before the outlet valve opens.
        stroke_fraction: f64 ["1"],
    }
}

nested!(PyCompression);

impl From<&PyCompression> for Compression {
    fn from(compression: &PyCompression) -> Self {
        Self {
            temperature: compression.temperature,
            density: compression.density,
            volume_fraction: compression.volume_fraction,
            volumetric_efficiency: compression.volumetric_efficiency,
            stroke_fraction: compression.stroke_fraction,
        }
    }
}

impl From<Compression> for PyCompression {
    fn from(compression: Compression) -> Self {
        Self {
            temperature: compression.temperature,
            density: compression.density,
            volume_fraction: compression.volume_fraction,
            volumetric_efficiency: compression.volumetric_efficiency,
            stroke_fraction: compression.stroke_fraction,
        }
    }
}

record! {
    /// The stroke of a pump between its two limits; immutable. Made by `ReciprocatingPump.stroke`.
    PyStroke "Stroke" {
        /// Compression: With a head that keeps its temperature.
        isothermal: PyCompression [""],
        /// Compression: Without heat exchange.
        isentropic: PyCompression [""],
        /// Compression: What is expected between the two.
        expected: PyCompression [""],
        /// float: Relative error of the mass flow if it is counted at the density of an isothermal stroke and the stroke is
        /// isentropic.
        bookkeeping_error: f64 ["1"],
        /// tuple of Notice: What to know.
        notices: Notices [""],
    }
}

impl From<Stroke> for PyStroke {
    fn from(stroke: Stroke) -> Self {
        Self {
            isothermal: stroke.isothermal.into(),
            isentropic: stroke.isentropic.into(),
            expected: stroke.expected.into(),
            bookkeeping_error: stroke.bookkeeping_error,
            notices: stroke.notices.as_slice().into(),
        }
    }
}

record! {
    /// Heat flow rates of the head of a pump; immutable. Made by `ReciprocatingPump.head_duty`.
    PyHeadDuty "HeadDuty" {
        /// float: Heat flow rate in W to cool the feed.
        feed_cooling: f64 ["W"],
        /// float: Heat flow rate in W to carry away the heat of compression.
        compression_cooling: f64 ["W"],
        /// float: Power in W of an isentropic stroke.
        isentropic_power: f64 ["W"],
        /// float: Heat flow rate in W that the chiller takes up.
        total: f64 ["W"],
    }
}

impl From<HeadDuty> for PyHeadDuty {
    fn from(duty: HeadDuty) -> Self {
        Self {
            feed_cooling: duty.feed_cooling,
            compression_cooling: duty.compression_cooling,
            isentropic_power: duty.isentropic_power,
            total: duty.total(),
        }
    }
}

part! {
    "A pump with one barrel that is filled before the run and then holds a pressure at whatever flow the path takes."
    "Valid for a barrel of uniform temperature."
    PySyringePump "SyringePump": SyringePump {
        barrel_volume: f64, "float" "Volume of the barrel in m3.";
        barrel_temperature: f64, "float" "Temperature of the barrel in K.";
        set_pressure: f64, "float" "Pressure in Pa that it holds.";
        reserve_fraction: f64 = 0.0, "float" "Share of the barrel that is never emptied.";
        pressure_limit: Option<f64> = None, "float or None" "Highest pressure in Pa.";
    }
    make |barrel_volume, barrel_temperature, set_pressure, reserve_fraction, pressure_limit| {
        let pump = SyringePump::new(*barrel_volume, *barrel_temperature, *set_pressure)?
            .with_reserve_fraction(*reserve_fraction)?;
        Ok(match pressure_limit {
            Some(limit) => pump.with_pressure_limit(*limit)?,
            None => pump,
        })
    };
}

#[pymethods]
impl PySyringePump {
    /// The liquid in a barrel filled at a pressure.
    ///
    /// Parameters
    /// ----------
    /// fluid : Fluid
    ///     The fluid.
    /// supply_pressure : float
    ///     Pressure in Pa of the supply.
    ///
    /// Returns
    /// -------
    /// State
    ///     The liquid.
    ///
    /// Raises
    /// ------
    /// FlowError
    ///     If it is not liquid: a barrel warmer than the cylinder fills with vapour.
    fn fill(&self, py: Python<'_>, fluid: &PyFluid, supply_pressure: f64) -> Outcome<PyState> {
        Ok(enter(py, || self.part.fill(&fluid.fluid, supply_pressure))?.into())
    }

    /// The barrel from its filling to the pressure it holds.
    ///
    /// Parameters
    /// ----------
    /// filled : State
    ///     The liquid as filled, at the temperature of the barrel.
    ///
    /// Returns
    /// -------
    /// Precompression
    ///     Mass, travel of the piston, and the rise of the temperature by fast compression.
    ///
    /// Raises
    /// ------
    /// FlowError
    ///     If the filling is not liquid, or the pressure is not above it.
    fn precompress(&self, py: Python<'_>, filled: &PyState) -> Outcome<PyPrecompression> {
        let filled = filled.state.clone();
        Ok(enter(py, || self.part.precompress(filled))?.into())
    }

    /// Time for which a full barrel can deliver a mass flow rate, down to the reserve.
    ///
    /// Parameters
    /// ----------
    /// full : State
    ///     The liquid in the full barrel.
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    ///
    /// Returns
    /// -------
    /// float
    ///     Time in s.
    fn run_time(&self, full: &PyState, mass_flow_rate: f64) -> Outcome<f64> {
        Ok(self.part.run_time(&full.state, mass_flow_rate)?)
    }
}

record! {
    /// The barrel of a syringe pump on its way from filling to the pressure of the run; immutable.
    PyPrecompression "Precompression" {
        /// float: Mass in kg that was filled in.
        mass: f64 ["kg"],
        /// State: The liquid as filled.
        filled: PyState [""],
        /// State: The liquid at the pressure of the run and the temperature of the barrel.
        settled: PyState [""],
        /// State: The liquid right after a fast compression, before it has cooled.
        fresh: PyState [""],
        /// float: Volume in m3 that the piston displaces before the pressure is reached.
        displaced_volume: f64 ["m3"],
        /// float: Rise of the temperature in K by a fast compression.
        temperature_rise: f64 ["K"],
        /// float: Relative difference of the density right after a fast compression from the settled one.
        density_deficit: f64 ["1"],
        /// float: Mass in kg that can leave the pump before the reserve is reached.
        usable_mass: f64 ["kg"],
        /// tuple of Notice: What to know.
        notices: Notices [""],
    }
}

impl From<Precompression> for PyPrecompression {
    fn from(found: Precompression) -> Self {
        Self {
            mass: found.mass,
            filled: found.filled.into(),
            settled: found.settled.into(),
            fresh: found.fresh.into(),
            displaced_volume: found.displaced_volume,
            temperature_rise: found.temperature_rise,
            density_deficit: found.density_deficit,
            usable_mass: found.usable_mass,
            notices: found.notices.as_slice().into(),
        }
    }
}
