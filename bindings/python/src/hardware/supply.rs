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
    from "cylinder = dp.Cylinder(volume=40e-3, mass=28.0)"
        shows r#"content = cylinder.content(dp.Fluid("carbon dioxide"), 293.15)"#
            r#"print(f"full of liquid from {content.liquid_full_temperature:.1f} K on")"# = "full of liquid from 298.8 K on"
        keeps cylinder.mass = "28.0"
    PyCylinder "Cylinder": Cylinder {
        volume: f64, "float" "Volume in m3.";
        mass: f64, "float" "Mass of the fluid in kg.";
        withdrawal: Option<String> = None, "str or None" "\"liquid\", by a dip tube, or \"vapour\"; None for liquid.";
        helium_padded: bool = false, "bool" "Whether helium presses the liquid out: a caution comes with the content, nothing is computed from it.";
        allow_liquid_full: bool = false, "bool" "Whether it is known and meant that the content leaves no vapour space at its temperature: otherwise such a cylinder feeds no pump. The cautions stay.";
    }
    make |volume, mass, withdrawal, helium_padded, allow_liquid_full| {
        let withdrawal = match withdrawal.as_deref() {
            None | Some("liquid") => Withdrawal::Liquid,
            Some("vapour") => Withdrawal::Vapour,
            Some(other) => return Err(argument("withdrawal", "\"liquid\" or \"vapour\"", format!("\"{other}\""))),
        };
        let cylinder = Cylinder::new(*volume, *mass, withdrawal)?;
        let cylinder = if *helium_padded { cylinder.with_helium_pad() } else { cylinder };
        Ok(if *allow_liquid_full { cylinder.allowing_liquid_full() } else { cylinder })
    };
}

#[pymethods]
impl PyCylinder {
    /// What the cylinder holds at a temperature, in equilibrium.
    ///
    /// A content without vapour space is computed and told as a caution; it is `supply` that refuses it.
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
    ///
    /// Raises
    /// ------
    /// FlowError
    ///     If the content leaves no vapour space and that was not allowed.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> cylinder = dp.Cylinder(volume=40e-3, mass=28.0, withdrawal="liquid")
    /// >>> supply = cylinder.supply(dp.Fluid("carbon dioxide"), 293.15)
    /// >>> print(f"{supply.pressure / 1e5:.1f} bar, {supply.density:.0f} kg/m3")
    /// 57.3 bar, 773 kg/m3
    fn supply(&self, py: Python<'_>, fluid: &PyFluid, temperature: f64) -> Outcome<PyState> {
        Ok(enter(py, || self.part.supply(&fluid.fluid, temperature))?.into())
    }
}

record! {
    /// The content of a cylinder at one temperature; immutable. Made by `Cylinder.content`.
    PyCylinderContent "CylinderContent"
    from r#"content = dp.Cylinder(volume=40e-3, mass=28.0).content(dp.Fluid("carbon dioxide"), 293.15)"#
        shows content.liquid_full_temperature as ".1f" = "298.8"
    {
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
        /// float or None: Mass in kg of the liquid that fills it at this temperature: more leaves no vapour space.
        liquid_full_mass: Option<f64> ["kg"],
        /// bool: Whether the content has no vapour space to swell into.
        is_liquid_full: bool [""],
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
            liquid_full_mass: content.liquid_full_mass,
            is_liquid_full: content.is_liquid_full,
            notices: content.notices.as_slice().into(),
        }
    }
}

part! {
    "A reciprocating pump with a chilled head."
    "Give a mass flow rate, or a volume flow rate together with where the volume is counted."
    from "pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5, clearance_ratio=0.2)"
        shows r#"feed = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=55e5)"#
            r#"print(f"{pump.stroke(feed, 200e5).expected.volumetric_efficiency:.3f}")"# = "0.981"
        keeps pump.clearance_ratio = "0.2"
    PyReciprocatingPump "ReciprocatingPump": ReciprocatingPump {
        head_temperature: f64, "float" "Temperature of the head in K.";
        mass_flow_rate: Option<f64> = None, "float or None" "Set mass flow rate in kg/s.";
        volume_flow_rate: Option<f64> = None, "float or None" "Set volume flow rate in m3/s.";
        counted_at: Option<String> = None, "str or None" "Where the volume is counted: \"suction\", \"delivery\", \"oven\" or \"normal\".";
        clearance_ratio: f64 = 0.0, "float" "Volume left at the end of the stroke over the swept volume, 1 at most.";
        isothermal_share: Option<f64> = None, "float or None" "Share of the isothermal in the expected stroke, 0 to 1; None for that of the library.";
        leak_fraction: f64 = 0.0, "float" "Share of the flow that leaks.";
        pressure_limit: Option<f64> = None, "float or None" "Highest pressure in Pa.";
        heads: Option<u32> = None, "int or None" "Number of heads that deliver one after the other; with swept_volume.";
        swept_volume: Option<f64> = None, "float or None" "Volume in m3 that each head sweeps in one stroke; with heads.";
        clearance_volume: Option<f64> = None, "float or None" "Volume in m3 that the piston never sweeps, in place of clearance_ratio; with heads.";
        relaxation_time: Option<f64> = None, "float or None" "Time constant in s in which the fluid takes on the temperature of the head, in place of isothermal_share; with heads.";
        mechanical_efficiency: f64 = 1.0, "float" "Work on the fluid over that of the piston; the rest is friction that heats the head.";
    }
    make |head_temperature, mass_flow_rate, volume_flow_rate, counted_at, clearance_ratio, isothermal_share, leak_fraction, pressure_limit,
          heads, swept_volume, clearance_volume, relaxation_time, mechanical_efficiency| {
        let set_flow = set_flow(*mass_flow_rate, *volume_flow_rate, counted_at.as_deref())?;
        let mut pump = ReciprocatingPump::new(*head_temperature, set_flow)?
            .with_clearance_ratio(*clearance_ratio)?
            .with_leak_fraction(*leak_fraction)?
            .with_mechanical_efficiency(*mechanical_efficiency)?;
        pump = match (heads, swept_volume) {
            (Some(heads), Some(volume)) => pump.with_heads(*heads, *volume)?,
            (None, None) => pump,
            _ => return Err(argument("heads and swept_volume", "both or none", "one of them")),
        };
        if let Some(volume) = clearance_volume {
            if *clearance_ratio != 0.0 {
                return Err(argument("clearance_volume", "in place of clearance_ratio", "beside it"));
            }
            pump = pump.with_clearance_volume(*volume)?;
        }
        if let Some(share) = isothermal_share {
            pump = pump.with_isothermal_share(*share)?;
        }
        if let Some(time) = relaxation_time {
            if isothermal_share.is_some() {
                return Err(argument("relaxation_time", "in place of isothermal_share", "beside it"));
            }
            pump = pump.with_relaxation_time(*time)?;
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
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> pump = dp.ReciprocatingPump(head_temperature=278.15, volume_flow_rate=2e-6 / 60, counted_at="suction")
    /// >>> feed = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=55e5)
    /// >>> print(f"{pump.delivered_mass_flow_rate(feed, 200e5, 313.15, 200e5) * 60e3:.2f} g/min")
    /// 1.82 g/min
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

    /// Frequency of the strokes of one head.
    ///
    /// Parameters
    /// ----------
    /// suction : State
    ///     The fluid at the suction of the head.
    /// compression : Compression
    ///     One way through the stroke, as `stroke(...).expected`.
    /// mass_flow_rate : float
    ///     Mass flow rate in kg/s that leaves the pump.
    ///
    /// Returns
    /// -------
    /// float
    ///     Frequency in Hz.
    ///
    /// Raises
    /// ------
    /// ArgumentError
    ///     For a pump whose heads are not known.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5, heads=2, swept_volume=50e-9, clearance_volume=10e-9)
    /// >>> feed = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=55e5)
    /// >>> print(f"{pump.stroke_frequency(feed, pump.stroke(feed, 150e5).expected, 5e-5):.3f} Hz")
    /// 0.556 Hz
    fn stroke_frequency(
        &self,
        suction: &PyState,
        compression: &PyCompression,
        mass_flow_rate: f64,
    ) -> Outcome<f64> {
        let compression = Compression::from(compression);
        Ok(self
            .part
            .stroke_frequency(&suction.state, &compression, mass_flow_rate)?)
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
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5)
    /// >>> supply = dp.Cylinder(volume=40e-3, mass=20.0).supply(dp.Fluid("carbon dioxide"), 293.15)
    /// >>> feed = dp.SuctionLine(pressure_drop=1e5).feed(supply, 278.15).state
    /// >>> print(f"{pump.head_duty(supply, feed, 200e5, 5e-5).total:.2f} W")
    /// 3.37 W
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
    PyCompression "Compression"
    from "pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5)"
        r#"feed = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=55e5)"#
        "compression = pump.stroke(feed, 200e5).isentropic"
        shows compression.temperature as ".1f" = "289.3"
    {
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
    PyStroke "Stroke"
    from "pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5)"
        r#"feed = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=55e5)"#
        "stroke = pump.stroke(feed, 200e5)"
        shows stroke.expected.volume_fraction as ".4f" = "0.0882"
    {
        /// Compression: With a head that keeps its temperature.
        isothermal: PyCompression [""],
        /// Compression: Without heat exchange.
        isentropic: PyCompression [""],
        /// Compression: What is expected between the two.
        expected: PyCompression [""],
        /// float: The isothermal share: that of the pump, or what its relaxation time makes of the duration of the stroke.
        isothermal_share: f64 ["1"],
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
            isothermal_share: stroke.isothermal_share,
            bookkeeping_error: stroke.bookkeeping_error,
            notices: stroke.notices.as_slice().into(),
        }
    }
}

record! {
    /// Heat flow rates of the head of a pump; immutable. Made by `ReciprocatingPump.head_duty`.
    PyHeadDuty "HeadDuty"
    from "pump = dp.ReciprocatingPump(head_temperature=278.15, mass_flow_rate=5e-5)"
        r#"supply = dp.Cylinder(volume=40e-3, mass=20.0).supply(dp.Fluid("carbon dioxide"), 293.15)"#
        "feed = dp.SuctionLine(pressure_drop=1e5).feed(supply, 278.15).state"
        "duty = pump.head_duty(supply, feed, 200e5, 5e-5)"
        shows duty.compression_cooling as ".3f" = "1.088"
    {
        /// float: Heat flow rate in W to cool the feed.
        feed_cooling: f64 ["W"],
        /// float: Heat flow rate in W to carry away the heat of compression.
        compression_cooling: f64 ["W"],
        /// float: Power in W of an isentropic stroke.
        isentropic_power: f64 ["W"],
        /// float: Heat in W of friction, all of it taken to reach the head.
        friction: f64 ["W"],
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
            friction: duty.friction,
            total: duty.total(),
        }
    }
}

part! {
    "A pump with one barrel that is filled before the run and then holds a pressure at whatever flow the path takes."
    "Valid for a barrel of uniform temperature."
    from "pump = dp.SyringePump(barrel_volume=150e-6, barrel_temperature=278.15, set_pressure=200e5)"
        shows r#"full = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=200e5)"#
            r#"print(f"{pump.run_time(full, 4e-6) / 3600:.1f} h")"# = "10.4 h"
        keeps pump.barrel_volume = "0.00015"
    PySyringePump "SyringePump": SyringePump {
        barrel_volume: f64, "float" "Volume of the barrel in m3.";
        barrel_temperature: f64, "float" "Temperature of the barrel in K.";
        set_pressure: f64, "float" "Pressure in Pa that it holds.";
        reserve_fraction: f64 = 0.0, "float" "Share of the barrel that is never emptied.";
        pressure_limit: Option<f64> = None, "float or None" "Highest pressure in Pa.";
        largest_displacement: Option<f64> = None, "float or None" "Largest volume flow rate in m3/s that the piston displaces.";
    }
    make |barrel_volume, barrel_temperature, set_pressure, reserve_fraction, pressure_limit, largest_displacement| {
        let mut pump = SyringePump::new(*barrel_volume, *barrel_temperature, *set_pressure)?
            .with_reserve_fraction(*reserve_fraction)?;
        if let Some(rate) = largest_displacement {
            pump = pump.with_largest_displacement(*rate)?;
        }
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
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> pump = dp.SyringePump(barrel_volume=150e-6, barrel_temperature=278.15, set_pressure=200e5, reserve_fraction=0.1)
    /// >>> filled = pump.fill(dp.Fluid("carbon dioxide"), 57.3e5)
    /// >>> filled.phase
    /// 'liquid'
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
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> pump = dp.SyringePump(barrel_volume=150e-6, barrel_temperature=278.15, set_pressure=200e5, reserve_fraction=0.1)
    /// >>> filled = pump.fill(dp.Fluid("carbon dioxide"), 57.3e5)
    /// >>> found = pump.precompress(filled)
    /// >>> print(f"{found.displaced_volume * 1e6:.1f} mL, {found.temperature_rise:.1f} K")
    /// 12.9 mL, 10.9 K
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
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> pump = dp.SyringePump(barrel_volume=150e-6, barrel_temperature=278.15, set_pressure=200e5, reserve_fraction=0.1)
    /// >>> full = dp.Fluid("carbon dioxide").state(temperature=278.15, pressure=200e5)
    /// >>> print(f"{pump.run_time(full, 4e-6) / 3600:.1f} h")
    /// 9.4 h
    fn run_time(&self, full: &PyState, mass_flow_rate: f64) -> Outcome<f64> {
        Ok(self.part.run_time(&full.state, mass_flow_rate)?)
    }

    /// Time that it takes to draw the barrel full, from what a run leaves in it.
    ///
    /// Parameters
    /// ----------
    /// refill_flow_rate : float
    ///     Volume flow rate of the refill in m3/s.
    ///
    /// Returns
    /// -------
    /// float
    ///     Time in s; a refill faster than the line allows flashes, see `SuctionLine`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> pump = dp.SyringePump(barrel_volume=150e-6, barrel_temperature=278.15, set_pressure=200e5, reserve_fraction=0.1)
    /// >>> print(f"{pump.refill_time(10e-6 / 60):.0f} s")
    /// 810 s
    fn refill_time(&self, refill_flow_rate: f64) -> Outcome<f64> {
        Ok(self.part.refill_time(refill_flow_rate)?)
    }

    /// Volume flow rate that the piston displaces while the pressure changes and the column takes its flow.
    ///
    /// Parameters
    /// ----------
    /// barrel : State
    ///     The fluid in the barrel.
    /// volume : float
    ///     Volume in m3 left in it.
    /// pressure_rate : float
    ///     Rate in Pa/s of the pressure program.
    /// mass_flow_rate : float
    ///     Mass flow rate in kg/s that leaves.
    ///
    /// Returns
    /// -------
    /// float
    ///     Volume flow rate in m3/s; during a program this is not the flow of the column.
    ///
    /// Raises
    /// ------
    /// FlowError
    ///     Beyond the largest displacement of the pump; code 505, with the rate and the limit.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> pump = dp.SyringePump(barrel_volume=250e-6, barrel_temperature=293.15, set_pressure=100e5)
    /// >>> barrel = dp.Fluid("carbon dioxide").state(temperature=293.15, pressure=100e5)
    /// >>> print(f"{pump.displacement_rate(barrel, 250e-6, 5e5 / 60, 0.0) * 60e9:.1f} uL/min")
    /// 1785.8 uL/min
    fn displacement_rate(
        &self,
        py: Python<'_>,
        barrel: &PyState,
        volume: f64,
        pressure_rate: f64,
        mass_flow_rate: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part
                .require_displacement(&barrel.state, volume, pressure_rate, mass_flow_rate)
        })
    }
}

record! {
    /// The barrel of a syringe pump on its way from filling to the pressure of the run; immutable.
    PyPrecompression "Precompression"
    from "pump = dp.SyringePump(barrel_volume=150e-6, barrel_temperature=278.15, set_pressure=200e5, reserve_fraction=0.1)"
        r#"found = pump.precompress(pump.fill(dp.Fluid("carbon dioxide"), 57.3e5))"#
        shows found.temperature_rise as ".1f" = "10.9"
    {
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

#[pymethods]
impl PyPrecompression {
    /// Volume flow rate by which the barrel falls short of what its piston displaces, while it cools after the compression.
    ///
    /// Parameters
    /// ----------
    /// volume : float
    ///     Volume in m3 left in it.
    /// time_constant : float
    ///     Time constant in s in which it cools, measured; some minutes for steel (common practice, no source).
    /// time : float
    ///     Time in s after the compression.
    ///
    /// Returns
    /// -------
    /// float
    ///     Volume flow rate in m3/s.
    ///
    /// Raises
    /// ------
    /// DomainError
    ///     For a volume or a time constant not above zero, or a negative time.
    ///
    /// Notes
    /// -----
    /// Valid at constant pressure, for a barrel that cools like one body. Source: mass balance, `V alpha_V dT/dt`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> pump = dp.SyringePump(barrel_volume=150e-6, barrel_temperature=278.15, set_pressure=200e5, reserve_fraction=0.1)
    /// >>> found = pump.precompress(pump.fill(dp.Fluid("carbon dioxide"), 57.3e5))
    /// >>> print(f"{found.thermal_drift(120e-6, 300.0, 600.0) * 60e9:.1f} uL/min")
    /// 144.6 uL/min
    fn thermal_drift(
        &self,
        py: Python<'_>,
        volume: f64,
        time_constant: f64,
        time: f64,
    ) -> Outcome<f64> {
        let barrel = Precompression::from(self);
        enter(py, || {
            SyringePump::thermal_drift(&barrel, volume, time_constant, time)
        })
    }
}

impl From<&PyPrecompression> for Precompression {
    fn from(found: &PyPrecompression) -> Self {
        Self {
            mass: found.mass,
            filled: found.filled.state.clone(),
            settled: found.settled.state.clone(),
            fresh: found.fresh.state.clone(),
            displaced_volume: found.displaced_volume,
            temperature_rise: found.temperature_rise,
            density_deficit: found.density_deficit,
            usable_mass: found.usable_mass,
            notices: Vec::new(),
        }
    }
}
