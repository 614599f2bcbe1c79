//! The way to the pump: suction line, gas made liquid or boosted, purging and priming.

use densepath::hardware::{
    Boosted, Condensed, Priming, Suction, SuctionLine, boost as boosted, condense as condensed,
    priming as primed, purge_volume as purged,
};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::part;
use crate::error::{Outcome, argument, enter};
use crate::record::{Notices, record};
use crate::state::PyState;

part! {
    "The line from a cylinder to a pump."
    "Valid for a line that takes up no heat on the way; what it takes up the head has to remove."
    from "line = dp.SuctionLine(pressure_drop=1e5, height=1.5)"
        shows r#"supply = dp.Cylinder(volume=40e-3, mass=20.0).supply(dp.Fluid("carbon dioxide"), 293.15)"#
            r#"print(f"{line.feed(supply, 278.15).lift_pressure_drop / 1e5:.2f} bar")"# = "0.11 bar"
        keeps line.height = "1.5"
    PySuctionLine "SuctionLine": SuctionLine {
        pressure_drop: f64, "float" "Pressure drop in Pa of tube and inlet valve together.";
        filter_pressure_drop: f64 = 0.0, "float" "Pressure drop in Pa of a filter.";
        purifier_pressure_drop: f64 = 0.0, "float" "Pressure drop in Pa of a purifier.";
        height: f64 = 0.0, "float" "Height in m of the pump above the outlet of the cylinder, negative below.";
        accelerated_length: Option<f64> = None, "float or None" "Length in m of the line in which the liquid follows the piston.";
        acceleration: Option<f64> = None, "float or None" "Largest acceleration of that liquid in m/s2.";
    }
    make |pressure_drop, filter_pressure_drop, purifier_pressure_drop, height, accelerated_length, acceleration| {
        let line = SuctionLine::new(*pressure_drop)?
            .with_filter(*filter_pressure_drop)?
            .with_purifier(*purifier_pressure_drop)?
            .with_height(*height)?;
        match (accelerated_length, acceleration) {
            (None, None) => Ok(line),
            (Some(length), Some(acceleration)) => Ok(line.with_acceleration(*length, *acceleration)?),
            _ => Err(argument("accelerated_length and acceleration", "both or none", "one of them")),
        }
    };
}

#[pymethods]
impl PySuctionLine {
    /// The feed at a pump head, from the fluid that the cylinder supplies.
    ///
    /// Parameters
    /// ----------
    /// supply : State
    ///     The fluid as supplied.
    /// head_temperature : float
    ///     Temperature in K of the head.
    ///
    /// Returns
    /// -------
    /// Suction
    ///     The feed, what the line took, and how far it is from boiling.
    ///
    /// Raises
    /// ------
    /// FlowError
    ///     If the fluid at the head is not liquid.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> supply = dp.Cylinder(volume=40e-3, mass=20.0).supply(dp.Fluid("carbon dioxide"), 293.15)
    /// >>> feed = dp.SuctionLine(pressure_drop=1e5, filter_pressure_drop=0.5e5).feed(supply, 278.15)
    /// >>> print(f"{feed.temperature_margin:.2f} K, {feed.pressure_margin / 1e5:.2f} bar")
    /// 13.87 K, 16.10 bar
    fn feed(&self, py: Python<'_>, supply: &PyState, head_temperature: f64) -> Outcome<PySuction> {
        Ok(enter(py, || self.part.feed(&supply.state, head_temperature))?.into())
    }
}

record! {
    /// The feed at a pump head; immutable. Made by `SuctionLine.feed`.
    PySuction "Suction"
    from r#"supply = dp.Cylinder(volume=40e-3, mass=20.0).supply(dp.Fluid("carbon dioxide"), 293.15)"#
        "feed = dp.SuctionLine(pressure_drop=1e5).feed(supply, 278.15)"
        shows feed.temperature_margin as ".2f" = "14.25"
    {
        /// State: The feed at the temperature of the head.
        state: PyState [""],
        /// float: What the line took from the pressure in Pa, all together.
        pressure_drop: f64 ["Pa"],
        /// float: Of it tube and inlet valve, in Pa.
        flow_pressure_drop: f64 ["Pa"],
        /// float: Of it the filter, in Pa.
        filter_pressure_drop: f64 ["Pa"],
        /// float: Of it the purifier, in Pa.
        purifier_pressure_drop: f64 ["Pa"],
        /// float: Of it the lift, in Pa; negative where the pump stands below the cylinder.
        lift_pressure_drop: f64 ["Pa"],
        /// float: Of it the acceleration at the beginning of the suction stroke, in Pa.
        acceleration_pressure_drop: f64 ["Pa"],
        /// float: Pressure in Pa above boiling at the temperature of the head.
        pressure_margin: f64 ["Pa"],
        /// float: Temperature in K below boiling.
        temperature_margin: f64 ["K"],
        /// float: Mass fraction of vapour if the head did not cool.
        vapour_fraction_uncooled: f64 ["1"],
        /// float: Volume fraction of vapour if the head did not cool.
        void_fraction_uncooled: f64 ["1"],
        /// tuple of Notice: What to know.
        notices: Notices [""],
    }
}

impl From<Suction> for PySuction {
    fn from(found: Suction) -> Self {
        let losses = found.losses;
        Self {
            state: found.state.into(),
            pressure_drop: losses.total(),
            flow_pressure_drop: losses.flow,
            filter_pressure_drop: losses.filter,
            purifier_pressure_drop: losses.purifier,
            lift_pressure_drop: losses.lift,
            acceleration_pressure_drop: losses.acceleration,
            pressure_margin: found.pressure_margin,
            temperature_margin: found.temperature_margin,
            vapour_fraction_uncooled: found.vapour_fraction_uncooled,
            void_fraction_uncooled: found.void_fraction_uncooled,
            notices: found.notices.as_slice().into(),
        }
    }
}

record! {
    /// A gas made liquid at its pressure; immutable. Made by `condense`.
    PyCondensed "Condensed"
    from r#"vapour = dp.Fluid("carbon dioxide").saturation(temperature=293.15).vapour"#
        "condensed = dp.condense(vapour, 278.15, 5e-5)"
        shows condensed.subcooling as ".2f" = "15.00"
    {
        /// State: The liquid.
        liquid: PyState [""],
        /// float: Heat flow rate in W to be taken out.
        heat_flow_rate: f64 ["W"],
        /// float: How far in K the liquid lies below its boiling temperature.
        subcooling: f64 ["K"],
    }
}

impl From<Condensed> for PyCondensed {
    fn from(found: Condensed) -> Self {
        Self {
            liquid: found.liquid.into(),
            heat_flow_rate: found.heat_flow_rate,
            subcooling: found.subcooling,
        }
    }
}

/// A gas cooled at its pressure until it is liquid: what a condenser behind a supply of gas takes out.
///
/// Parameters
/// ----------
/// gas : State
///     The gas supplied.
/// temperature : float
///     Temperature in K of the condenser.
/// mass_flow_rate : float
///     Mass flow rate in kg/s.
///
/// Returns
/// -------
/// Condensed
///     The liquid, the heat, and how far it is from boiling.
///
/// Raises
/// ------
/// DomainError
///     For a flow not above zero.
/// ConvergenceError
///     If the condenser is too warm for this pressure.
///
/// Notes
/// -----
/// Valid without pressure drop. Source: energy balance.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> vapour = dp.Cylinder(volume=40e-3, mass=20.0, withdrawal="vapour").supply(dp.Fluid("carbon dioxide"), 293.15)
/// >>> print(f"{dp.condense(vapour, 278.15, 5e-5).heat_flow_rate:.2f} W")
/// 9.89 W
#[pyfunction]
pub fn condense(
    py: Python<'_>,
    gas: &PyState,
    temperature: f64,
    mass_flow_rate: f64,
) -> Outcome<PyCondensed> {
    Ok(enter(py, || condensed(&gas.state, temperature, mass_flow_rate))?.into())
}

record! {
    /// A gas brought to a higher pressure; immutable. Made by `boost`.
    PyBoosted "Boosted"
    from r#"gas = dp.Fluid("carbon dioxide").state(temperature=293.15, pressure=20e5)"#
        "boosted = dp.boost(gas, 50e5, 0.6, 5e-5)"
        shows boosted.power as ".2f" = "4.13"
    {
        /// State: What leaves the booster.
        outlet: PyState [""],
        /// float: Power in W put into the fluid.
        power: f64 ["W"],
    }
}

impl From<Boosted> for PyBoosted {
    fn from(found: Boosted) -> Self {
        Self {
            outlet: found.outlet.into(),
            power: found.power,
        }
    }
}

/// A gas compressed to a pressure, as by a booster before a pump.
///
/// Parameters
/// ----------
/// gas : State
///     The gas supplied.
/// pressure : float
///     Pressure in Pa behind the booster.
/// isentropic_efficiency : float
///     From above 0 to 1; 0.5 to 0.8 for small gas-driven boosters (common practice, no source).
/// mass_flow_rate : float
///     Mass flow rate in kg/s.
///
/// Returns
/// -------
/// Boosted
///     What leaves, and the power.
///
/// Raises
/// ------
/// DomainError
///     For a flow not above zero, or an efficiency that is none.
/// FlowError
///     If the pressure is not above that of the gas.
///
/// Notes
/// -----
/// Valid for one stage without cooling. Source: definition of the isentropic efficiency.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> gas = dp.Fluid("carbon dioxide").state(temperature=293.15, pressure=20e5)
/// >>> print(f"{dp.boost(gas, 50e5, 0.6, 5e-5).outlet.temperature:.1f} K")
/// 393.3 K
#[pyfunction]
pub fn boost(
    py: Python<'_>,
    gas: &PyState,
    pressure: f64,
    isentropic_efficiency: f64,
    mass_flow_rate: f64,
) -> Outcome<PyBoosted> {
    let call = || boosted(&gas.state, pressure, isentropic_efficiency, mass_flow_rate);
    Ok(enter(py, call)?.into())
}

/// Volume to let through a line until a share of what was in it remains.
///
/// Parameters
/// ----------
/// plug_volume : float
///     Volume in m3 of tubes that are swept like a plug.
/// mixed_volume : float
///     Volume in m3 of mixer, dampener and pump heads.
/// remaining_share : float
///     Share left, between 0 and 1.
///
/// Returns
/// -------
/// float
///     Volume in m3.
///
/// Raises
/// ------
/// DomainError
///     For a negative volume, or a share outside.
///
/// Notes
/// -----
/// Valid for fluids that mix; dead ends hold back what no purge reaches. Source: washout of a mixed volume.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> print(f"{dp.purge_volume(1e-6, 2e-6, 0.01) * 1e6:.2f} mL")
/// 10.21 mL
#[pyfunction]
pub fn purge_volume(plug_volume: f64, mixed_volume: f64, remaining_share: f64) -> Outcome<f64> {
    Ok(purged(plug_volume, mixed_volume, remaining_share)?)
}

record! {
    /// What a pump can do with gas in its head; immutable. Made by `priming`.
    PyPriming "Priming"
    from r#"vapour = dp.Fluid("carbon dioxide").saturation(temperature=278.15).vapour"#
        "priming = dp.priming(vapour, 1.0, 150e5)"
        shows priming.primes = "False"
    {
        /// float: Highest pressure in Pa that a stroke of this gas opens the outlet valve against.
        highest_pressure: f64 ["Pa"],
        /// bool: Whether that is above the pressure behind the valve.
        primes: bool [""],
        /// float: Strokes that replace the gas by liquid once the head is vented.
        strokes: f64 ["1"],
    }
}

impl From<Priming> for PyPriming {
    fn from(found: Priming) -> Self {
        Self {
            highest_pressure: found.highest_pressure,
            primes: found.primes,
            strokes: found.strokes,
        }
    }
}

/// Whether a pump with gas in its head primes against a pressure, and the strokes after venting.
///
/// Parameters
/// ----------
/// suction : State
///     The gas on the suction side.
/// clearance_ratio : float
///     Volume never swept over volume swept.
/// pressure_behind : float
///     Pressure in Pa behind the outlet valve.
/// remaining_share : float, keyword-only, optional
///     Share of the gas left when it counts as primed; 0.01 if not given.
///
/// Returns
/// -------
/// Priming
///     The highest pressure, whether it primes, and the strokes.
///
/// Raises
/// ------
/// DomainError
///     For a clearance or a pressure not above zero, or a share not between 0 and 1.
///
/// Notes
/// -----
/// Valid for a fast stroke, which is isentropic and the hardest. Source: the swept and the clearance volume end in the clearance.
///
/// Examples
/// --------
/// >>> import densepath as dp
/// >>> vapour = dp.Fluid("carbon dioxide").saturation(temperature=278.15).vapour
/// >>> dp.priming(vapour, 1.0, 150e5).primes
/// False
#[pyfunction]
#[pyo3(signature = (suction, clearance_ratio, pressure_behind, *, remaining_share = 0.01))]
pub fn priming(
    py: Python<'_>,
    suction: &PyState,
    clearance_ratio: f64,
    pressure_behind: f64,
    remaining_share: f64,
) -> Outcome<PyPriming> {
    let call = || {
        primed(
            &suction.state,
            clearance_ratio,
            pressure_behind,
            remaining_share,
        )
    };
    Ok(enter(py, call)?.into())
}
