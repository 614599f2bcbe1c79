//! Restrictors of every shape.

use densepath::flow::bore::{Bore, Stretch};
use densepath::flow::capillary::CapillaryFlow;
use densepath::flow::passage::Profile;
use densepath::hardware::restrictor::{
    BoredRestrictor, FritRestrictor, Jacket, LinearRestrictor, OrificeRestrictor, Restrictor,
    RestrictorEnd, RestrictorFlow, RestrictorHeating,
};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::{part, passes};
use crate::error::{Outcome, argument, enter};
use crate::fluid::PyFluid;
use crate::record::{Several, example, finite, nested, record};
use crate::solution::profile_columns;
use crate::state::PyState;
use crate::table::{Column, PyTable};

/// The keywords of the exchange of heat.
struct Heat<'a> {
    word: &'a Option<String>,
    temperature: &'a Option<f64>,
    outlet_temperature: &'a Option<f64>,
    outer_diameter: &'a Option<f64>,
    wall_conductivity: &'a Option<f64>,
    outside_coefficient: &'a Option<f64>,
    conducts_along_wall: &'a bool,
}

impl Heat<'_> {
    /// A number that a way to exchange heat has no use for is refused, not forgotten.
    fn refuse_unneeded(&self, heating: &RestrictorHeating) -> Outcome<()> {
        let needed: &[&str] = match heating {
            RestrictorHeating::Isothermal(_) => &["temperature"],
            RestrictorHeating::Wall(_) => &["temperature", "outlet_temperature"],
            RestrictorHeating::Adiabatic => &[],
            RestrictorHeating::Jacket(_) => return Ok(()),
        };
        let given = [
            ("temperature", self.temperature),
            ("outlet_temperature", self.outlet_temperature),
            ("outer_diameter", self.outer_diameter),
            ("wall_conductivity", self.wall_conductivity),
            ("outside_coefficient", self.outside_coefficient),
        ];
        for (name, value) in given {
            if let Some(value) = value.filter(|_| !needed.contains(&name)) {
                let expected = "no value, for this way to exchange heat";
                return Err(argument(name, expected, value.to_string()));
            }
        }
        Ok(())
    }

    fn heating(&self, length: f64) -> Outcome<RestrictorHeating> {
        let needed = |value: &Option<f64>, name: &str| {
            value.ok_or_else(|| argument(name, "a number, for this way to exchange heat", "None"))
        };
        let along = || -> Outcome<Profile> {
            let inlet = needed(self.temperature, "temperature")?;
            Ok(match *self.outlet_temperature {
                Some(outlet) => Profile::new(vec![(0.0, inlet), (length, outlet)])?,
                None => Profile::constant(inlet)?,
            })
        };
        let heating = match self.word.as_deref() {
            None | Some("isothermal") => RestrictorHeating::Isothermal(*self.temperature),
            Some("adiabatic") => RestrictorHeating::Adiabatic,
            Some("wall") => RestrictorHeating::Wall(along()?),
            Some("jacket") => {
                let jacket = Jacket::new(
                    needed(self.outer_diameter, "outer_diameter")?,
                    needed(self.wall_conductivity, "wall_conductivity")?,
                    needed(self.outside_coefficient, "outside_coefficient")?,
                    along()?,
                )?;
                RestrictorHeating::Jacket(if *self.conducts_along_wall {
                    jacket.with_conduction_along()
                } else {
                    jacket
                })
            }
            Some(other) => {
                return Err(argument(
                    "heat",
                    "\"isothermal\", \"wall\", \"adiabatic\" or \"jacket\"",
                    other,
                ));
            }
        };
        self.refuse_unneeded(&heating)?;
        Ok(heating)
    }
}

part! {
    "A capillary of constant bore at one temperature, from the dense phase to the outlet pressure."
    "At one temperature the flow follows the isothermal balance of friction and kinetic energy, with choking at the isothermal speed \
     of sound; with other heat momentum and energy along the bore, one substance through boiling in equilibrium. \
     Uncertainty: 2 % below Re = 2300, 5 to 10 % above; in practice that of the bore, which counts with its fourth power."
    from "restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.2)"
        shows r#"co2 = dp.Fluid("carbon dioxide")"#
            r#"print(f"{restrictor.mass_flow_rate(co2, 373.15, 200e5, 101325.0) * 60e6:.2f} mg/min")"# = "11.57 mg/min"
        keeps restrictor.length = "0.2"
    PyLinearRestrictor "LinearRestrictor": LinearRestrictor {
        diameter: f64, "float" "Bore d in m.";
        length: f64, "float" "Length L in m, at least ten bores.";
        temperature: Option<f64> = None, "float or None" "Temperature in K of its own; None for that of the fluid that enters.";
        calibration_factor: f64 = 1.0, "float" "Measured over calculated mass flow rate.";
        roughness: f64 = 0.0, "float" "Roughness of the wall in m.";
        heat: Option<String> = None, "str or None" "\"isothermal\" (None means the same), \"wall\" (fluid at the temperatures of the wall), \"adiabatic\", or \"jacket\" (film and wall to surroundings of the temperatures).";
        outlet_temperature: Option<f64> = None, "float or None" "Temperature in K of wall or surroundings at the outlet, from `temperature` at the inlet on linear; None for the same.";
        outer_diameter: Option<f64> = None, "float or None" "Outer diameter of the tube in m, for \"jacket\".";
        wall_conductivity: Option<f64> = None, "float or None" "Thermal conductivity of the wall in W/(m K), for \"jacket\"; fused silica 1.4, steel 16.";
        outside_coefficient: Option<f64> = None, "float or None" "Heat transfer from the surroundings in W/(m2 K), for \"jacket\"; air 10, oven 50, metal block 1000.";
        conducts_along_wall: bool = false, "bool" "Whether heat flows along the wall too, for \"jacket\": wall and fluid are then solved together.";
    }
    make |diameter, length, temperature, calibration_factor, roughness, heat, outlet_temperature, outer_diameter, wall_conductivity, outside_coefficient, conducts_along_wall| {
        let heat = Heat { word: heat, temperature, outlet_temperature, outer_diameter, wall_conductivity, outside_coefficient, conducts_along_wall };
        Ok(LinearRestrictor::new(*diameter, *length)?
            .with_calibration_factor(*calibration_factor)?
            .with_roughness(*roughness)?
            .with_heating(heat.heating(*length)?)?)
    };
}

#[pymethods]
impl PyLinearRestrictor {
    /// Mass flow rate by the viscous law alone, without kinetic energy, choking and turbulence.
    ///
    /// Parameters
    /// ----------
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Mass flow rate q_m in kg/s: right within some percent up to bores of 10 um and useless above 20 um.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.2)
    /// >>> print(f"{restrictor.viscous_mass_flow_rate(co2, 373.15, 200e5, 101325.0) * 60e6:.2f} mg/min")
    /// 11.67 mg/min
    fn viscous_mass_flow_rate(
        &self,
        py: Python<'_>,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part.viscous_mass_flow_rate(
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }

    /// The flow as calculated, with its exit, without the calibration factor.
    ///
    /// Parameters
    /// ----------
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// CapillaryFlow
    ///     Mass flow rate, exit and regime.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.20)
    /// >>> flow = restrictor.flow(dp.Fluid("carbon dioxide"), 373.15, 200e5, 1.013e5)
    /// >>> print(f"{flow.mass_flow_rate * 60e6:.2f} mg/min")
    /// 11.57 mg/min
    fn flow(
        &self,
        py: Python<'_>,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<PyCapillaryFlow> {
        let flow = enter(py, || {
            self.part
                .flow(&fluid.fluid, temperature, inlet_pressure, outlet_pressure)
        })?;
        Ok(flow.into())
    }

    /// Length with which a restrictor of this bore passes a mass flow rate.
    ///
    /// Parameters
    /// ----------
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Length L in m.
    ///
    /// Raises
    /// ------
    /// ConvergenceError
    ///     If no length of this bore passes the flow.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.2)
    /// >>> print(f"{restrictor.length_for(1e-7, co2, 373.15, 200e5, 101325.0) * 1e3:.0f} mm")
    /// 388 mm
    fn length_for(
        &self,
        py: Python<'_>,
        mass_flow_rate: f64,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part.length_for(
                mass_flow_rate,
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }

    /// Bore with which a restrictor of this length passes a mass flow rate.
    ///
    /// Parameters
    /// ----------
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Bore d in m.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     If the bore would be above a tenth of the length.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.2)
    /// >>> print(f"{restrictor.diameter_for(1e-7, co2, 373.15, 200e5, 101325.0) * 1e6:.2f} um")
    /// 8.48 um
    fn diameter_for(
        &self,
        py: Python<'_>,
        mass_flow_rate: f64,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part.diameter_for(
                mass_flow_rate,
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }
}

part! {
    "A restrictor whose bore changes evenly from inlet to outlet: tapered, or diverging."
    "Momentum and energy along the bore with friction of any regime, kinetic energy and choking. Cones of at most 0.2 of bore per \
     length. Uncertainty: 2 % laminar, 10 % turbulent, 30 % where it boils; in practice that of the bores."
    from "restrictor = dp.TaperedRestrictor(inlet_diameter=30e-6, outlet_diameter=8e-6, length=0.1)"
        shows r#"co2 = dp.Fluid("carbon dioxide")"#
            r#"print(f"{restrictor.mass_flow_rate(co2, 373.15, 200e5, 101325.0) * 60e6:.2f} mg/min")"# = "38.27 mg/min"
        keeps restrictor.outlet_diameter = "8e-06"
    PyTaperedRestrictor "TaperedRestrictor": BoredRestrictor {
        inlet_diameter: f64, "float" "Bore at the inlet in m.";
        outlet_diameter: f64, "float" "Bore at the outlet in m.";
        length: f64, "float" "Length L in m, at least ten of the smaller bore.";
        temperature: Option<f64> = None, "float or None" "Temperature in K of its own; None for that of the fluid that enters.";
        calibration_factor: f64 = 1.0, "float" "Measured over calculated mass flow rate.";
        roughness: f64 = 0.0, "float" "Roughness of the wall in m.";
        heat: Option<String> = None, "str or None" "\"isothermal\" (None means the same), \"wall\" (fluid at the temperatures of the wall), \"adiabatic\", or \"jacket\" (film and wall to surroundings of the temperatures).";
        outlet_temperature: Option<f64> = None, "float or None" "Temperature in K of wall or surroundings at the outlet, from `temperature` at the inlet on linear; None for the same.";
        outer_diameter: Option<f64> = None, "float or None" "Outer diameter of the tube in m, for \"jacket\".";
        wall_conductivity: Option<f64> = None, "float or None" "Thermal conductivity of the wall in W/(m K), for \"jacket\"; fused silica 1.4, steel 16.";
        outside_coefficient: Option<f64> = None, "float or None" "Heat transfer from the surroundings in W/(m2 K), for \"jacket\"; air 10, oven 50, metal block 1000.";
        conducts_along_wall: bool = false, "bool" "Whether heat flows along the wall too, for \"jacket\": wall and fluid are then solved together.";
    }
    make |inlet_diameter, outlet_diameter, length, temperature, calibration_factor, roughness, heat, outlet_temperature, outer_diameter, wall_conductivity, outside_coefficient, conducts_along_wall| {
        let heat = Heat { word: heat, temperature, outlet_temperature, outer_diameter, wall_conductivity, outside_coefficient, conducts_along_wall };
        Ok(BoredRestrictor::tapered(*inlet_diameter, *outlet_diameter, *length)?
            .with_calibration_factor(*calibration_factor)?
            .with_roughness(*roughness)?
            .with_heating(heat.heating(*length)?)?)
    };
}

part! {
    "A restrictor of stretches one behind the other, each straight or conical, with steps between them."
    "Momentum and energy along the bore; steps lose what Borda and Carnot say. Uncertainty as for a tapered restrictor."
    from "restrictor = dp.SegmentedRestrictor(stretches=[(0.3, 50e-6, 50e-6), (0.05, 8e-6, 8e-6)])"
        shows r#"co2 = dp.Fluid("carbon dioxide")"#
            r#"print(f"{restrictor.mass_flow_rate(co2, 373.15, 200e5, 101325.0) * 60e6:.2f} mg/min")"# = "17.45 mg/min"
        keeps restrictor.stretches = "((0.3, 5e-05, 5e-05), (0.05, 8e-06, 8e-06))"
    PySegmentedRestrictor "SegmentedRestrictor": BoredRestrictor {
        stretches: Several<Several<f64>>, "sequence of (float, float, float)" "Length, bore at the inlet and bore at the outlet of each stretch in m.";
        temperature: Option<f64> = None, "float or None" "Temperature in K of its own; None for that of the fluid that enters.";
        calibration_factor: f64 = 1.0, "float" "Measured over calculated mass flow rate.";
        roughness: f64 = 0.0, "float" "Roughness of the wall in m.";
        heat: Option<String> = None, "str or None" "\"isothermal\" (None means the same), \"wall\" (fluid at the temperatures of the wall), \"adiabatic\", or \"jacket\" (film and wall to surroundings of the temperatures).";
        outlet_temperature: Option<f64> = None, "float or None" "Temperature in K of wall or surroundings at the outlet, from `temperature` at the inlet on linear; None for the same.";
        outer_diameter: Option<f64> = None, "float or None" "Outer diameter of the tube in m, for \"jacket\".";
        wall_conductivity: Option<f64> = None, "float or None" "Thermal conductivity of the wall in W/(m K), for \"jacket\"; fused silica 1.4, steel 16.";
        outside_coefficient: Option<f64> = None, "float or None" "Heat transfer from the surroundings in W/(m2 K), for \"jacket\"; air 10, oven 50, metal block 1000.";
        conducts_along_wall: bool = false, "bool" "Whether heat flows along the wall too, for \"jacket\": wall and fluid are then solved together.";
    }
    make |stretches, temperature, calibration_factor, roughness, heat, outlet_temperature, outer_diameter, wall_conductivity, outside_coefficient, conducts_along_wall| {
        let mut rows = Vec::new();
        for stretch in &stretches.0 {
            let &[length, inlet_diameter, outlet_diameter] = stretch.0.as_slice() else {
                return Err(argument("stretches", "three numbers each", stretch.0.len().to_string()));
            };
            rows.push(Stretch { length, inlet_diameter, outlet_diameter });
        }
        let bore = Bore::new(rows)?;
        let heat = Heat { word: heat, temperature, outlet_temperature, outer_diameter, wall_conductivity, outside_coefficient, conducts_along_wall };
        let heating = heat.heating(bore.length())?;
        Ok(BoredRestrictor::new(bore)
            .with_calibration_factor(*calibration_factor)?
            .with_roughness(*roughness)?
            .with_heating(heating)?)
    };
}

part! {
    "A short hole: the closed end of an integral restrictor, a pinhole, a nozzle."
    "Isentropic expansion, liquid and vapour in equilibrium, to its largest mass flux or to the pressure outside. A fluid that boils \
     late passes more. Uncertainty: 10 %, 30 % where it boils; calibrate."
    from "restrictor = dp.OrificeRestrictor(diameter=2.5e-6, discharge_coefficient=0.8)"
        shows r#"co2 = dp.Fluid("carbon dioxide")"#
            r#"print(f"{restrictor.mass_flow_rate(co2, 373.15, 200e5, 101325.0) * 60e6:.2f} mg/min")"# = "17.53 mg/min"
        keeps restrictor.discharge_coefficient = "0.8"
    PyOrificeRestrictor "OrificeRestrictor": OrificeRestrictor {
        diameter: f64, "float" "Diameter d in m.";
        discharge_coefficient: f64, "float" "Coefficient of discharge: about 0.6 for a dense fluid through a sharp edge, 0.8 for a choked one, 0.95 for a nozzle.";
        calibration_factor: f64 = 1.0, "float" "Measured over calculated mass flow rate.";
    }
    make |diameter, discharge_coefficient, calibration_factor| {
        Ok(OrificeRestrictor::new(*diameter, *discharge_coefficient)?.with_calibration_factor(*calibration_factor)?)
    };
}

part! {
    "A crimped tube, as the hole without loss that one measured flow is equivalent to."
    "Its area follows from one measured flow by `CrimpedRestrictor.equivalent_area_of`, and holds near the conditions of that."
    from "restrictor = dp.CrimpedRestrictor(equivalent_area=4e-12)"
        shows r#"co2 = dp.Fluid("carbon dioxide")"#
            r#"print(f"{restrictor.mass_flow_rate(co2, 373.15, 200e5, 101325.0) * 60e6:.2f} mg/min")"# = "17.86 mg/min"
        keeps restrictor.equivalent_area = "4e-12"
    PyCrimpedRestrictor "CrimpedRestrictor": OrificeRestrictor {
        equivalent_area: f64, "float" "Equivalent area in m2.";
        calibration_factor: f64 = 1.0, "float" "Measured over calculated mass flow rate.";
    }
    make |equivalent_area, calibration_factor| {
        Ok(OrificeRestrictor::of_area(*equivalent_area)?.with_calibration_factor(*calibration_factor)?)
    };
}

part! {
    "A plug of frit at one temperature."
    "Law of Darcy with slip at the walls of the pores after Klinkenberg. Slow flow only: Reynolds number of the pores below 1, that of \
     the square root of the permeability below 0.18. `bore_sensitivity` is that of the pores, in a plug that stays as wide. \
     Uncertainty: that of the permeability; calibrate."
    from "restrictor = dp.FritRestrictor(diameter=100e-6, length=0.02, pore_diameter=0.3e-6, porosity=0.4)"
        shows r#"co2 = dp.Fluid("carbon dioxide")"#
            r#"print(f"{restrictor.mass_flow_rate(co2, 373.15, 200e5, 101325.0) * 60e6:.2f} mg/min")"# = "2.14 mg/min"
        keeps restrictor.porosity = "0.4"
    PyFritRestrictor "FritRestrictor": FritRestrictor {
        diameter: f64, "float" "Diameter of the plug in m.";
        length: f64, "float" "Length of the plug in m.";
        permeability: Option<f64> = None, "float or None" "Permeability B_0 in m2; None for that of parallel capillaries of the pores.";
        pore_diameter: f64 = 0.0, "float" "Diameter of the pores in m, for the slip and their Reynolds number; 0 leaves both out.";
        porosity: Option<f64> = None, "float or None" "Open share of the volume, for parallel capillaries and for the hold-up time, which is None without it.";
        tortuosity: f64 = 2.0, "float" "Way in the pores over the length, squared, for parallel capillaries.";
        temperature: Option<f64> = None, "float or None" "Temperature in K of its own; None for that of the fluid that enters.";
        calibration_factor: f64 = 1.0, "float" "Measured over calculated mass flow rate.";
    }
    make |diameter, length, permeability, pore_diameter, porosity, tortuosity, temperature, calibration_factor| {
        let frit = match (permeability, porosity) {
            (Some(permeability), porosity) => {
                let frit = FritRestrictor::new(*diameter, *length, *permeability, *pore_diameter)?;
                match porosity {
                    Some(porosity) => frit.with_porosity(*porosity)?,
                    None => frit,
                }
            }
            (None, Some(porosity)) => {
                FritRestrictor::of_capillaries(*diameter, *length, *pore_diameter, *porosity, *tortuosity)?
            }
            (None, None) => return Err(argument("permeability and porosity", "one of the two at least", "none")),
        };
        let frit = frit.with_calibration_factor(*calibration_factor)?;
        Ok(match temperature {
            Some(temperature) => frit.with_temperature(*temperature)?,
            None => frit,
        })
    };
}

/// The section of examples of a method of a restrictor.
macro_rules! asked {
    ($made:literal [$($line:expr),*] = $value:literal) => {
        example!([r#"co2 = dp.Fluid("carbon dioxide")"#, concat!("restrictor = ", $made) $(, $line)*] = $value)
    };
}

/// What every restrictor can be asked for; the examples make one, and ask for a mass flow rate and a volume flow rate.
macro_rules! restricts {
    ($(
        $type:ident $made:literal $flow:literal $volume_flow:literal
        passage = $passage:literal,
        mass_flow_rate = $mass_flow_rate:literal,
        inlet_pressure_for = $inlet_pressure:literal,
        inlet_pressure_for_volume_flow = $inlet_pressure_volume:literal,
        calibration_factor_for = $calibration:literal,
        bore_sensitivity = $sensitivity:literal,
        drift = $drift:literal;
    )*) => {
        $(#[pymethods]
        impl $type {
            /// The steady flow with its ends, its profile, and how far the plain law is off.
            ///
            /// Parameters
            /// ----------
            /// fluid : Fluid
            ///     The fluid.
            /// temperature : float
            ///     Temperature T in K of the fluid that enters.
            /// inlet_pressure, outlet_pressure : float
            ///     Pressures in Pa, absolute.
            ///
            /// Returns
            /// -------
            /// RestrictorFlow
            ///     The flow.
            ///
            /// Raises
            /// ------
            /// FlowError
            ///     If the pressures drive no flow, or the fluid boils or freezes where the law does not hold for that.
            #[doc = asked!($made [
                "flow = restrictor.passage(co2, 373.15, 200e5, 101325.0)",
                r#"print(f"{flow.exit.pressure / 1e5:.2f} bar and {flow.exit.velocity:.0f} m/s at the exit, {flow.choking}")"#
            ] = $passage)]
            fn passage(
                &self,
                py: Python<'_>,
                fluid: &PyFluid,
                temperature: f64,
                inlet_pressure: f64,
                outlet_pressure: f64,
            ) -> Outcome<PyRestrictorFlow> {
                let flow = enter(py, || {
                    Restrictor::passage(&self.part, &fluid.fluid, temperature, inlet_pressure, outlet_pressure)
                })?;
                Ok(flow.into())
            }

            /// Mass flow rate of a fluid between two pressures.
            ///
            /// Parameters
            /// ----------
            /// fluid : Fluid
            ///     The fluid.
            /// temperature : float
            ///     Temperature T in K of the fluid that enters.
            /// inlet_pressure, outlet_pressure : float
            ///     Pressures in Pa, absolute.
            ///
            /// Returns
            /// -------
            /// float
            ///     Mass flow rate q_m in kg/s.
            ///
            /// Raises
            /// ------
            /// FlowError
            ///     As `passage`.
            #[doc = asked!($made [
                r#"print(f"{restrictor.mass_flow_rate(co2, 373.15, 200e5, 101325.0) * 60e6:.2f} mg/min")"#
            ] = $mass_flow_rate)]
            fn mass_flow_rate(
                &self,
                py: Python<'_>,
                fluid: &PyFluid,
                temperature: f64,
                inlet_pressure: f64,
                outlet_pressure: f64,
            ) -> Outcome<f64> {
                enter(py, || {
                    Restrictor::mass_flow_rate(&self.part, &fluid.fluid, temperature, inlet_pressure, outlet_pressure)
                })
            }

            /// Inlet pressure that drives a mass flow rate.
            ///
            /// Parameters
            /// ----------
            /// mass_flow_rate : float
            ///     Mass flow rate q_m in kg/s.
            /// fluid : Fluid
            ///     The fluid.
            /// temperature : float
            ///     Temperature T in K of the fluid that enters.
            /// outlet_pressure : float
            ///     Pressure in Pa, absolute.
            ///
            /// Returns
            /// -------
            /// float
            ///     Pressure in Pa.
            ///
            /// Raises
            /// ------
            /// ConvergenceError
            ///     If no pressure drives it.
            #[doc = asked!($made [
                concat!(r#"print(f"{restrictor.inlet_pressure_for("#, $flow, r#", co2, 373.15, 101325.0) / 1e5:.1f} bar")"#)
            ] = $inlet_pressure)]
            fn inlet_pressure_for(
                &self,
                py: Python<'_>,
                mass_flow_rate: f64,
                fluid: &PyFluid,
                temperature: f64,
                outlet_pressure: f64,
            ) -> Outcome<f64> {
                enter(py, || {
                    self.part.inlet_pressure_for(mass_flow_rate, &fluid.fluid, temperature, outlet_pressure)
                })
            }

            /// Inlet pressure at which a volume flow rate enters: that of a column's cross-section times the velocity in it.
            ///
            /// Parameters
            /// ----------
            /// volume_flow_rate : float
            ///     Volume flow rate in m3/s, counted before the restrictor.
            /// fluid : Fluid
            ///     The fluid.
            /// temperature : float
            ///     Temperature T in K of the fluid that enters.
            /// outlet_pressure : float
            ///     Pressure in Pa, absolute.
            ///
            /// Returns
            /// -------
            /// float
            ///     Pressure in Pa, the lowest where there are several.
            ///
            /// Raises
            /// ------
            /// ConvergenceError
            ///     If no pressure drives it.
            #[doc = asked!($made [
                concat!(r#"print(f"{restrictor.inlet_pressure_for_volume_flow("#, $volume_flow, r#", co2, 373.15, 101325.0) / 1e5:.1f} bar")"#)
            ] = $inlet_pressure_volume)]
            fn inlet_pressure_for_volume_flow(
                &self,
                py: Python<'_>,
                volume_flow_rate: f64,
                fluid: &PyFluid,
                temperature: f64,
                outlet_pressure: f64,
            ) -> Outcome<f64> {
                enter(py, || {
                    self.part.inlet_pressure_for_volume_flow(volume_flow_rate, &fluid.fluid, temperature, outlet_pressure)
                })
            }

            /// Calibration factor that one measured flow gives: measured over calculated.
            ///
            /// Parameters
            /// ----------
            /// mass_flow_rate : float
            ///     Measured mass flow rate in kg/s.
            /// fluid : Fluid
            ///     The fluid.
            /// temperature : float
            ///     Temperature T in K of the fluid that enters.
            /// inlet_pressure, outlet_pressure : float
            ///     Pressures in Pa, absolute.
            ///
            /// Returns
            /// -------
            /// float
            ///     The factor for the keyword `calibration_factor`: it stands for the bore that is not the one stated.
            #[doc = asked!($made [
                concat!(r#"print(f"{restrictor.calibration_factor_for("#, $flow, r#", co2, 373.15, 200e5, 101325.0):.3f}")"#)
            ] = $calibration)]
            fn calibration_factor_for(
                &self,
                py: Python<'_>,
                mass_flow_rate: f64,
                fluid: &PyFluid,
                temperature: f64,
                inlet_pressure: f64,
                outlet_pressure: f64,
            ) -> Outcome<f64> {
                enter(py, || {
                    let part = self.part.clone();
                    part.calibrated(mass_flow_rate, &fluid.fluid, temperature, inlet_pressure, outlet_pressure)
                        .map(|part| Restrictor::calibration_factor(&part))
                })
            }

            /// How the flow answers to the bore.
            ///
            /// Parameters
            /// ----------
            /// tolerance : float
            ///     Relative tolerance of the bore, such as 0.05; of a frit, of its pores in a plug that stays as wide.
            /// fluid : Fluid
            ///     The fluid.
            /// temperature : float
            ///     Temperature T in K of the fluid that enters.
            /// inlet_pressure, outlet_pressure : float
            ///     Pressures in Pa, absolute.
            ///
            /// Returns
            /// -------
            /// tuple of float
            ///     Exponent d ln q_m/d ln d, and mass flow rates in kg/s at the lower and the upper end of the tolerance.
            #[doc = asked!($made [
                "exponent, lowest, highest = restrictor.bore_sensitivity(0.05, co2, 373.15, 200e5, 101325.0)",
                r#"print(f"{exponent:.2f}: {lowest * 60e6:.2f} to {highest * 60e6:.2f} mg/min")"#
            ] = $sensitivity)]
            fn bore_sensitivity(
                &self,
                py: Python<'_>,
                tolerance: f64,
                fluid: &PyFluid,
                temperature: f64,
                inlet_pressure: f64,
                outlet_pressure: f64,
            ) -> Outcome<(f64, f64, f64)> {
                let found = enter(py, || {
                    self.part
                        .bore_sensitivity(tolerance, &fluid.fluid, temperature, inlet_pressure, outlet_pressure)
                })?;
                Ok((found.exponent, found.lowest, found.highest))
            }

            /// The flow along a program of temperatures and inlet pressures, steady at every point.
            ///
            /// Parameters
            /// ----------
            /// fluid : Fluid
            ///     The fluid.
            /// temperatures, inlet_pressures : sequence of float
            ///     Temperatures in K and pressures in Pa, of the same length.
            /// outlet_pressure : float
            ///     Pressure in Pa, absolute.
            ///
            /// Returns
            /// -------
            /// Table
            ///     Temperature, inlet pressure, inlet density, mass flow rate and volume flow rate before the restrictor.
            #[doc = asked!($made [
                "table = restrictor.drift(co2, [373.15, 373.15], [150e5, 200e5], 101325.0)",
                "print((table.mass_flow_rate * 60e6).round(2))"
            ] = $drift)]
            #[allow(clippy::needless_pass_by_value, reason = "lists of Python")]
            fn drift(
                &self,
                py: Python<'_>,
                fluid: &PyFluid,
                temperatures: Vec<f64>,
                inlet_pressures: Vec<f64>,
                outlet_pressure: f64,
            ) -> Outcome<PyTable> {
                if temperatures.len() != inlet_pressures.len() {
                    return Err(argument("inlet_pressures", "as many as temperatures", "another number"));
                }
                let program: Vec<_> = temperatures.into_iter().zip(inlet_pressures).collect();
                let points = enter(py, || self.part.drift(&fluid.fluid, &program, outlet_pressure))?;
                let columns = vec![
                    Column::named("temperature", "K", points.iter().map(|point| point.temperature)),
                    Column::named("inlet_pressure", "Pa", points.iter().map(|point| point.inlet_pressure)),
                    Column::named("inlet_density", "kg/m3", points.iter().map(|point| point.inlet_density)),
                    Column::named("mass_flow_rate", "kg/s", points.iter().map(|point| point.mass_flow_rate)),
                    Column::named("volume_flow_rate", "m3/s", points.iter().map(|point| point.volume_flow_rate)),
                ];
                Ok(PyTable::of("drift", columns))
            }
        })*
    };
}

restricts! {
    PyLinearRestrictor "dp.LinearRestrictor(diameter=10e-6, length=0.2)" "1.5e-7" "3e-10"
        passage = "6.52 bar and 261 m/s at the exit, choked at the isothermal speed of sound",
        mass_flow_rate = "11.57 mg/min",
        inlet_pressure_for = "172.8 bar",
        inlet_pressure_for_volume_flow = "115.2 bar",
        calibration_factor_for = "0.778",
        bore_sensitivity = "3.97: 9.44 to 14.04 mg/min",
        drift = "[ 6.93 11.57]";
    PyTaperedRestrictor "dp.TaperedRestrictor(inlet_diameter=30e-6, outlet_diameter=8e-6, length=0.1)" "5e-7" "1e-9"
        passage = "33.73 bar and 244 m/s at the exit, choked at the isothermal speed of sound",
        mass_flow_rate = "38.27 mg/min",
        inlet_pressure_for = "163.5 bar",
        inlet_pressure_for_volume_flow = "49.0 bar",
        calibration_factor_for = "0.784",
        bore_sensitivity = "2.55: 33.57 to 43.34 mg/min",
        drift = "[27.07 38.27]";
    PySegmentedRestrictor "dp.SegmentedRestrictor(stretches=[(0.3, 50e-6, 50e-6), (0.05, 8e-6, 8e-6)])" "1.5e-7" "5e-10"
        passage = "15.37 bar and 256 m/s at the exit, choked at the isothermal speed of sound",
        mass_flow_rate = "17.45 mg/min",
        inlet_pressure_for = "134.8 bar",
        inlet_pressure_for_volume_flow = "122.9 bar",
        calibration_factor_for = "0.516",
        bore_sensitivity = "2.65: 14.93 to 19.82 mg/min",
        drift = "[11.02 17.45]";
    PyOrificeRestrictor "dp.OrificeRestrictor(diameter=2.5e-6, discharge_coefficient=0.8)" "1.5e-7" "7.5e-10"
        passage = "99.16 bar and 221 m/s at the exit, choked at the speed of sound",
        mass_flow_rate = "17.53 mg/min",
        inlet_pressure_for = "124.2 bar",
        inlet_pressure_for_volume_flow = "310.9 bar",
        calibration_factor_for = "0.513",
        bore_sensitivity = "2.00: 15.82 to 19.33 mg/min",
        drift = "[11.63 17.53]";
    PyCrimpedRestrictor "dp.CrimpedRestrictor(equivalent_area=4e-12)" "1.5e-7" "7.5e-10"
        passage = "99.16 bar and 221 m/s at the exit, choked at the speed of sound",
        mass_flow_rate = "17.86 mg/min",
        inlet_pressure_for = "122.5 bar",
        inlet_pressure_for_volume_flow = "300.7 bar",
        calibration_factor_for = "0.504",
        bore_sensitivity = "2.00: 16.12 to 19.69 mg/min",
        drift = "[11.84 17.86]";
    PyFritRestrictor "dp.FritRestrictor(diameter=100e-6, length=0.02, pore_diameter=0.3e-6, porosity=0.4)" "5e-8" "1e-10"
        passage = "1.01 bar and 3 m/s at the exit, not choked",
        mass_flow_rate = "2.14 mg/min",
        inlet_pressure_for = "248.9 bar",
        inlet_pressure_for_volume_flow = "312.0 bar",
        calibration_factor_for = "1.399",
        bore_sensitivity = "1.98: 1.94 to 2.36 mg/min",
        drift = "[1.28 2.14]";
}
passes! {
    PyLinearRestrictor
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=373.15, pressure=200e5)"#
        "restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.2)"
        "flow = restrictor.mass_flow_rate(inlet.fluid, 373.15, 200e5, 101325.0)"
        "outlet = restrictor.outlet(inlet, flow)"
        r#"print(f"{outlet.state.temperature:.1f} K, {outlet.velocity:.0f} m/s at the exit")"# = "406.3 K, 261 m/s at the exit";
    PyTaperedRestrictor
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=373.15, pressure=200e5)"#
        "restrictor = dp.TaperedRestrictor(inlet_diameter=30e-6, outlet_diameter=8e-6, length=0.1)"
        "flow = restrictor.mass_flow_rate(inlet.fluid, 373.15, 200e5, 101325.0)"
        "outlet = restrictor.outlet(inlet, flow)"
        r#"print(f"{outlet.state.temperature:.1f} K, {outlet.velocity:.0f} m/s at the exit")"# = "383.8 K, 244 m/s at the exit";
    PySegmentedRestrictor
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=373.15, pressure=200e5)"#
        "restrictor = dp.SegmentedRestrictor(stretches=[(0.3, 50e-6, 50e-6), (0.05, 8e-6, 8e-6)])"
        "flow = restrictor.mass_flow_rate(inlet.fluid, 373.15, 200e5, 101325.0)"
        "outlet = restrictor.outlet(inlet, flow)"
        r#"print(f"{outlet.state.temperature:.1f} K, {outlet.velocity:.0f} m/s at the exit")"# = "399.2 K, 256 m/s at the exit";
    PyOrificeRestrictor
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=373.15, pressure=200e5)"#
        "restrictor = dp.OrificeRestrictor(diameter=2.5e-6, discharge_coefficient=0.8)"
        "flow = restrictor.mass_flow_rate(inlet.fluid, 373.15, 200e5, 101325.0)"
        "outlet = restrictor.outlet(inlet, flow)"
        r#"print(f"{outlet.state.temperature:.1f} K, {outlet.velocity:.0f} m/s at the exit")"# = "199.3 K, 221 m/s at the exit";
    PyCrimpedRestrictor
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=373.15, pressure=200e5)"#
        "restrictor = dp.CrimpedRestrictor(equivalent_area=4e-12)"
        "flow = restrictor.mass_flow_rate(inlet.fluid, 373.15, 200e5, 101325.0)"
        "outlet = restrictor.outlet(inlet, flow)"
        r#"print(f"{outlet.state.temperature:.1f} K, {outlet.velocity:.0f} m/s at the exit")"# = "199.3 K, 221 m/s at the exit";
    PyFritRestrictor
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=373.15, pressure=200e5)"#
        "restrictor = dp.FritRestrictor(diameter=100e-6, length=0.02, pore_diameter=0.3e-6, porosity=0.4)"
        "flow = restrictor.mass_flow_rate(inlet.fluid, 373.15, 200e5, 101325.0)"
        "outlet = restrictor.outlet(inlet, flow)"
        r#"print(f"{outlet.state.temperature:.1f} K, {outlet.velocity:.0f} m/s at the exit")"# = "373.2 K, 3 m/s at the exit";
}

#[pymethods]
impl PyTaperedRestrictor {
    /// Length with which it passes a mass flow rate, all else the same.
    ///
    /// Parameters
    /// ----------
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K of the fluid that enters.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Length L in m.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> restrictor = dp.TaperedRestrictor(inlet_diameter=30e-6, outlet_diameter=8e-6, length=0.1)
    /// >>> print(f"{restrictor.length_for(5e-7, co2, 373.15, 200e5, 101325.0) * 1e3:.0f} mm")
    /// 163 mm
    fn length_for(
        &self,
        py: Python<'_>,
        mass_flow_rate: f64,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part
                .length_factor_for(
                    mass_flow_rate,
                    &fluid.fluid,
                    temperature,
                    inlet_pressure,
                    outlet_pressure,
                )
                .map(|factor| factor * self.length)
        })
    }

    /// Outlet bore with which it passes a mass flow rate, the inlet bore in the same proportion.
    ///
    /// Parameters
    /// ----------
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K of the fluid that enters.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Bore at the outlet in m.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> restrictor = dp.TaperedRestrictor(inlet_diameter=30e-6, outlet_diameter=8e-6, length=0.1)
    /// >>> print(f"{restrictor.diameter_for(5e-7, co2, 373.15, 200e5, 101325.0) * 1e6:.2f} um")
    /// 7.27 um
    fn diameter_for(
        &self,
        py: Python<'_>,
        mass_flow_rate: f64,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part
                .bore_factor_for(
                    mass_flow_rate,
                    &fluid.fluid,
                    temperature,
                    inlet_pressure,
                    outlet_pressure,
                )
                .map(|factor| factor * self.outlet_diameter)
        })
    }
}

#[pymethods]
impl PyOrificeRestrictor {
    /// Diameter with which it passes a mass flow rate, all else the same.
    ///
    /// Parameters
    /// ----------
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K of the fluid that enters.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Diameter d in m.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> restrictor = dp.OrificeRestrictor(diameter=2.5e-6, discharge_coefficient=0.8)
    /// >>> print(f"{restrictor.diameter_for(5e-7, co2, 373.15, 200e5, 101325.0) * 1e6:.2f} um")
    /// 3.27 um
    fn diameter_for(
        &self,
        py: Python<'_>,
        mass_flow_rate: f64,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part.diameter_for(
                mass_flow_rate,
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }
}

#[pymethods]
impl PyFritRestrictor {
    /// Length with which it passes a mass flow rate, all else the same.
    ///
    /// Parameters
    /// ----------
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K of the fluid that enters.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Length L in m.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> restrictor = dp.FritRestrictor(diameter=100e-6, length=0.02, pore_diameter=0.3e-6, porosity=0.4)
    /// >>> print(f"{restrictor.length_for(5e-8, co2, 373.15, 200e5, 101325.0) * 1e3:.1f} mm")
    /// 14.3 mm
    fn length_for(
        &self,
        py: Python<'_>,
        mass_flow_rate: f64,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part.length_for(
                mass_flow_rate,
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }

    /// Diameter with which it passes a mass flow rate, all else the same.
    ///
    /// Parameters
    /// ----------
    /// mass_flow_rate : float
    ///     Mass flow rate q_m in kg/s.
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K of the fluid that enters.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Diameter d in m.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> restrictor = dp.FritRestrictor(diameter=100e-6, length=0.02, pore_diameter=0.3e-6, porosity=0.4)
    /// >>> print(f"{restrictor.diameter_for(5e-8, co2, 373.15, 200e5, 101325.0) * 1e6:.0f} um")
    /// 118 um
    fn diameter_for(
        &self,
        py: Python<'_>,
        mass_flow_rate: f64,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            self.part.diameter_for(
                mass_flow_rate,
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
        })
    }
}

#[pymethods]
impl PyCrimpedRestrictor {
    /// Area of the hole without loss that one measured flow is equivalent to.
    ///
    /// Parameters
    /// ----------
    /// mass_flow_rate : float
    ///     Measured mass flow rate in kg/s.
    /// fluid : Fluid
    ///     The fluid.
    /// temperature : float
    ///     Temperature T in K of the fluid that enters.
    /// inlet_pressure, outlet_pressure : float
    ///     Pressures in Pa, absolute.
    ///
    /// Returns
    /// -------
    /// float
    ///     Area in m2, for the keyword `equivalent_area`.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> co2 = dp.Fluid("carbon dioxide")
    /// >>> area = dp.CrimpedRestrictor.equivalent_area_of(3e-7, co2, 373.15, 200e5, 101325.0)
    /// >>> print(f"{area * 1e12:.2f} um2")
    /// 4.03 um2
    #[staticmethod]
    fn equivalent_area_of(
        py: Python<'_>,
        mass_flow_rate: f64,
        fluid: &PyFluid,
        temperature: f64,
        inlet_pressure: f64,
        outlet_pressure: f64,
    ) -> Outcome<f64> {
        enter(py, || {
            OrificeRestrictor::crimped(
                mass_flow_rate,
                &fluid.fluid,
                temperature,
                inlet_pressure,
                outlet_pressure,
            )
            .map(|crimp| crimp.area())
        })
    }
}

record! {
    /// A steady flow through a capillary; immutable. Made by `LinearRestrictor.flow`.
    PyCapillaryFlow "CapillaryFlow"
    from "restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.2)"
        r#"flow = restrictor.flow(dp.Fluid("carbon dioxide"), 373.15, 200e5, 101325.0)"#
        shows flow.exit_pressure as ".4g" = "6.519e+05"
    {
        /// float: Mass flow rate q_m in kg/s.
        mass_flow_rate: f64 ["kg/s"],
        /// float: Mass flux G in kg/(m2 s).
        mass_flux: f64 ["kg/(m2 s)"],
        /// float: Pressure in Pa inside the exit.
        exit_pressure: f64 ["Pa"],
        /// float: Velocity in m/s at the exit.
        exit_velocity: f64 ["m/s"],
        /// float: Reynolds number Re at the inlet.
        inlet_reynolds_number: f64 ["1"],
        /// float: Reynolds number Re at the exit.
        exit_reynolds_number: f64 ["1"],
        /// bool: Whether the exit runs at the isothermal speed of sound, so that the pressure outside has no influence.
        is_choked: bool [""],
        /// str: "laminar", "transitional" or "turbulent".
        regime: String [""],
    }
}

impl From<CapillaryFlow> for PyCapillaryFlow {
    fn from(flow: CapillaryFlow) -> Self {
        Self {
            mass_flow_rate: flow.mass_flow_rate,
            mass_flux: flow.mass_flux,
            exit_pressure: flow.exit.pressure,
            exit_velocity: flow.exit.velocity,
            inlet_reynolds_number: flow.inlet.reynolds_number,
            exit_reynolds_number: flow.exit.reynolds_number,
            is_choked: flow.is_choked,
            regime: flow.regime.name().to_owned(),
        }
    }
}

record! {
    /// State of the flow at one end of a restrictor, inside its bore; immutable. Made by the method `passage` of a restrictor.
    PyRestrictorEnd "RestrictorEnd"
    from "restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.2)"
        r#"end = restrictor.passage(dp.Fluid("carbon dioxide"), 373.15, 200e5, 101325.0).exit"#
        shows end.mach_number as ".3f" = "1.000"
    {
        /// float: Temperature T in K.
        temperature: f64 ["K"],
        /// float: Pressure p in Pa.
        pressure: f64 ["Pa"],
        /// float: Density rho in kg/m3.
        density: f64 ["kg/m3"],
        /// float: Velocity in m/s.
        velocity: f64 ["m/s"],
        /// float: Velocity over the speed of the waves that choke the flow.
        mach_number: f64 ["1"],
        /// float or None: Reynolds number Re; None for a hole.
        reynolds_number: Option<f64> ["1"],
        /// float or None: Mass fraction of vapour, where liquid and vapour are side by side.
        vapour_fraction: Option<f64> ["1"],
    }
}

nested!(PyRestrictorEnd);

impl From<RestrictorEnd> for PyRestrictorEnd {
    fn from(end: RestrictorEnd) -> Self {
        Self {
            temperature: end.temperature,
            pressure: end.pressure,
            density: end.density,
            velocity: end.velocity,
            mach_number: end.mach_number,
            reynolds_number: finite(end.reynolds_number),
            vapour_fraction: end.vapour_fraction,
        }
    }
}

record! {
    /// A steady flow through a restrictor; immutable. Made by the method `passage` of a restrictor.
    PyRestrictorFlow "RestrictorFlow"
    from "restrictor = dp.LinearRestrictor(diameter=10e-6, length=0.2)"
        r#"flow = restrictor.passage(dp.Fluid("carbon dioxide"), 373.15, 200e5, 101325.0)"#
        shows flow.choking = "'choked at the isothermal speed of sound'"
    {
        /// float: Mass flow rate q_m in kg/s, calibration included.
        mass_flow_rate: f64 ["kg/s"],
        /// float or None: Mass flow rate in kg/s by the integral of density over viscosity alone; None where that has no meaning.
        viscous_mass_flow_rate: Option<f64> ["kg/s"],
        /// float or None: Mass flow rate in kg/s if the flow stays laminar up to Re = 4000; None where no part lies between.
        highest_mass_flow_rate: Option<f64> ["kg/s"],
        /// RestrictorEnd: Inlet.
        inlet: PyRestrictorEnd [""],
        /// RestrictorEnd: Exit, inside the bore.
        exit: PyRestrictorEnd [""],
        /// str: What limits the flow.
        choking: String [""],
        /// str: "laminar", "transitional" or "turbulent".
        regime: String [""],
        /// float: Heat flow rate into the fluid in W.
        heat_flow_rate: f64 ["W"],
        /// float or None: Time in s of the fluid in the restrictor; None for a frit whose porosity is not stated.
        hold_up_time: Option<f64> ["s"],
        /// Table: Points from inlet to exit, with the temperature of the outer face of the wall where a jacket has one.
        profile: PyTable [""],
        /// str: The law in words.
        law: String [""],
        /// float: Relative standard uncertainty of the law, that of the bore not included.
        uncertainty: f64 ["1"],
    }
}

#[pymethods]
impl PyRestrictorFlow {
    /// float or None: How far the plain viscous law is off: its mass flow rate over the full one, less one.
    #[getter]
    fn viscous_deviation(&self) -> Option<f64> {
        self.viscous_mass_flow_rate
            .map(|viscous| viscous / self.mass_flow_rate - 1.0)
    }
}

/// The points along a restrictor, with the temperature of its wall.
fn along(flow: &RestrictorFlow) -> PyTable {
    let mut columns = profile_columns(&[("restrictor", &flow.profile)]);
    let wall = flow.profile.iter().map(|point| {
        let known = flow.wall_temperature_at(point.position);
        known.unwrap_or(f64::NAN)
    });
    columns.push(Column::named("wall_temperature", "K", wall));
    PyTable::of("profile", columns)
}

impl From<RestrictorFlow> for PyRestrictorFlow {
    fn from(flow: RestrictorFlow) -> Self {
        Self {
            mass_flow_rate: flow.mass_flow_rate,
            viscous_mass_flow_rate: flow.viscous_mass_flow_rate,
            highest_mass_flow_rate: flow.bracket.map(|(_, high)| high),
            inlet: flow.inlet.into(),
            exit: flow.exit.into(),
            choking: flow.choking.name().to_owned(),
            regime: flow.regime.name().to_owned(),
            heat_flow_rate: flow.heat_flow_rate,
            hold_up_time: finite(flow.hold_up_time),
            profile: along(&flow),
            law: flow.law.to_owned(),
            uncertainty: flow.uncertainty,
        }
    }
}
