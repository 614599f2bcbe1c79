//! The parts that the dense fluid passes through: loop, tube, columns, cell.

use densepath::flow::injection::LoopFilling;
use densepath::flow::packed_bed::PackedBed;
use densepath::flow::plate_height::PackedPlateHeight;
use densepath::hardware::{
    DetectorCell, OpenTubularColumn, PackedColumn, SampleLoop, Stream, Tube,
};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::{part, passes, thermal, wall};
use crate::error::{Outcome, argument, enter};
use crate::record::record;
use crate::state::PyState;

part! {
    "A tube, straight or wound to a coil."
    "Turbulent friction by the law of Colebrook. Roughness of drawn steel capillaries 0.5 to 2 um (common practice, no source)."
    from "tube = dp.Tube(diameter=120e-6, length=1.0)"
        shows r#"print(f"{tube.volume * 1e9:.2f} uL")"# = "11.31 uL"
        keeps tube.diameter = "0.00012"
    PyTube "Tube": Tube {
        diameter: f64, "float" "Bore d in m.";
        length: f64, "float" "Length L in m.";
        roughness: f64 = 0.0, "float" "Roughness of the wall in m.";
        loss_coefficient: f64 = 0.0, "float" "Sum of the loss coefficients K of its fittings.";
        wall_temperature: Option<f64> = None, "float or None" "Temperature of the wall in K; None for a tube without heat exchange.";
        wall_conductance: Option<f64> = None, "float or None" "Heat conductance of the wall per length in W/(m K); None for a fluid that takes on the temperature of the wall at once.";
        coil_diameter: Option<f64> = None, "float or None" "Diameter of the coils it is wound to in m; None for a straight tube.";
        volume_variance: Option<f64> = None, "float or None" "Volume variance in m6 as measured, which replaces every estimate; None for an estimate.";
    }
    make |diameter, length, roughness, loss_coefficient, wall_temperature, wall_conductance, coil_diameter, volume_variance| {
        let mut tube = Tube::new(*diameter, *length, *roughness)?.with_loss_coefficient(*loss_coefficient)?;
        if let Some(coil) = coil_diameter {
            tube = tube.with_coil_diameter(*coil)?;
        }
        if let Some(variance) = volume_variance {
            tube = tube.with_volume_variance(*variance)?;
        }
        Ok(tube.with_thermal(wall(*wall_temperature, *wall_conductance)?)?)
    };
}

#[pymethods]
impl PyTube {
    /// float: Volume in m3.
    #[getter]
    fn volume(&self) -> f64 {
        self.part.volume()
    }
}

part! {
    "A column packed with particles."
    "Pressure drop by the law of Ergun with a viscous constant of 180, or a measured permeability. Plate height by the law of Knox \
     with A = 1, B = 2 and C = 0.05 (a well-packed column; common practice, no source) unless another is asked for."
    from "column = dp.PackedColumn(\n...     diameter=4.6e-3, length=0.25, particle_diameter=5e-6, interparticle_porosity=0.4, total_porosity=0.65\n... )"
        shows r#"print(f"{column.hold_up_volume * 1e6:.2f} mL, {column.permeability:.3g} m2")"# = "2.70 mL, 2.47e-14 m2"
        keeps column.particle_diameter = "5e-06"
    PyPackedColumn "PackedColumn": PackedColumn {
        diameter: f64, "float" "Bore d in m.";
        length: f64, "float" "Length L in m.";
        particle_diameter: f64, "float" "Diameter of the particles d_p in m.";
        interparticle_porosity: f64, "float" "Interparticle porosity.";
        total_porosity: f64, "float" "Total porosity.";
        wall_temperature: Option<f64> = None, "float or None" "Temperature of the wall in K; None for a column without heat exchange.";
        wall_conductance: Option<f64> = None, "float or None" "Heat conductance of the wall per length in W/(m K); None for a fluid that takes on the temperature of the wall at once.";
        measured_permeability: Option<f64> = None, "float or None" "Measured permeability B_0 in m2; None for the law of Ergun.";
        plate_height: Option<String> = None, "str or None" "Law of the plate height: \"knox\", \"van_deemter\" (A in m, B in m2/s, C in s), \"power\" or \"coupled\"; None for \"knox\".";
        eddy: f64 = 1.0, "float" "A of the law.";
        longitudinal: f64 = 2.0, "float" "B of the law.";
        transfer: f64 = 0.05, "float" "C of the law.";
        extra: f64 = 0.0, "float" "Exponent n of \"power\", or reduced velocity E of \"coupled\".";
    }
    make |diameter, length, particle_diameter, interparticle_porosity, total_porosity, wall_temperature, wall_conductance, measured_permeability, plate_height, eddy, longitudinal, transfer, extra| {
        let mut column =
            PackedColumn::new(*diameter, *length, *particle_diameter, *interparticle_porosity, *total_porosity)?;
        if let Some(permeability) = measured_permeability {
            column = column.with_bed(PackedBed::from_permeability(*permeability, 0.0)?);
        }
        let law = plate_height_law(plate_height.as_deref().unwrap_or("knox"), [*eddy, *longitudinal, *transfer, *extra])?;
        Ok(column.with_plate_height(law)?.with_thermal(wall(*wall_temperature, *wall_conductance)?)?)
    };
}

/// The law of a word with its coefficients.
fn plate_height_law(word: &str, coefficients: [f64; 4]) -> Outcome<PackedPlateHeight> {
    let [eddy, longitudinal, transfer, extra] = coefficients;
    Ok(match word {
        "knox" => PackedPlateHeight::Knox {
            eddy,
            longitudinal,
            transfer,
        },
        "van_deemter" => PackedPlateHeight::VanDeemter {
            eddy,
            longitudinal,
            transfer,
        },
        "power" => PackedPlateHeight::Power {
            eddy,
            exponent: extra,
            longitudinal,
            transfer,
        },
        "coupled" => PackedPlateHeight::Coupled {
            eddy,
            coupling: extra,
            longitudinal,
            transfer,
        },
        other => {
            let expected = "\"knox\", \"van_deemter\", \"power\" or \"coupled\"";
            return Err(argument("plate_height", expected, format!("\"{other}\"")));
        }
    })
}

impl PyPackedColumn {
    /// The column itself.
    pub fn core(&self) -> &PackedColumn {
        &self.part
    }
}

#[pymethods]
impl PyPackedColumn {
    /// float: Hold-up volume V_0 in m3.
    #[getter]
    fn hold_up_volume(&self) -> f64 {
        self.part.hold_up_volume()
    }

    /// float: Permeability B_0 of the bed in m2.
    #[getter]
    fn permeability(&self) -> f64 {
        self.part.bed().permeability()
    }

    /// The velocity of the smallest plate height.
    ///
    /// Parameters
    /// ----------
    /// diffusion_coefficient : float
    ///     Diffusion coefficient D of the solute in the mobile phase in m2/s.
    ///
    /// Returns
    /// -------
    /// tuple of float
    ///     Velocity u in m/s and plate height H in m there.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> column = dp.PackedColumn(
    /// ...     diameter=4.6e-3, length=0.25, particle_diameter=5e-6, interparticle_porosity=0.4, total_porosity=0.65
    /// ... )
    /// >>> velocity, plate_height = column.optimum(1e-8)
    /// >>> print(f"{velocity * 1e3:.2f} mm/s, {plate_height * 1e6:.2f} um")
    /// 6.23 mm/s, 11.29 um
    fn optimum(&self, diffusion_coefficient: f64) -> Outcome<(f64, f64)> {
        let law = self.part.plate_height();
        let best = law.optimum(diffusion_coefficient, self.part.particle_diameter())?;
        Ok((best.velocity, best.plate_height))
    }
}

part! {
    "An open tubular column with a film on its wall."
    "Plate height by the law of Golay."
    from "column = dp.OpenTubularColumn(diameter=50e-6, length=10.0, film_thickness=0.25e-6, film_diffusion_coefficient=1e-11)"
        shows r#"print(f"{column.hold_up_volume * 1e9:.1f} uL, phase ratio {column.phase_ratio:.1f}")"# = "19.6 uL, phase ratio 49.3"
        keeps column.film_thickness = "2.5e-07"
    PyOpenTubularColumn "OpenTubularColumn": OpenTubularColumn {
        diameter: f64, "float" "Bore d in m.";
        length: f64, "float" "Length L in m.";
        film_thickness: f64, "float" "Thickness d_f of the film in m.";
        film_diffusion_coefficient: f64, "float" "Diffusion coefficient of the solute in the film in m2/s.";
        wall_temperature: Option<f64> = None, "float or None" "Temperature of the wall in K; None for a column without heat exchange.";
    }
    make |diameter, length, film_thickness, film_diffusion_coefficient, wall_temperature| {
        let column = OpenTubularColumn::new(*diameter, *length, *film_thickness, *film_diffusion_coefficient)?;
        Ok(column.with_thermal(thermal(*wall_temperature))?)
    };
}

#[pymethods]
impl PyOpenTubularColumn {
    /// float: Hold-up volume V_0 in m3.
    #[getter]
    fn hold_up_volume(&self) -> f64 {
        self.part.hold_up_volume()
    }

    /// float: Volume of the mobile phase over that of the film; infinite without a film.
    #[getter]
    fn phase_ratio(&self) -> f64 {
        self.part.phase_ratio()
    }

    /// Local plate height by the law of Golay with the film.
    ///
    /// Parameters
    /// ----------
    /// diffusion_coefficient : float
    ///     Diffusion coefficient D of the solute in the mobile phase in m2/s.
    /// velocity : float
    ///     Velocity u in m/s.
    /// retention_factor : float
    ///     Retention factor k.
    ///
    /// Returns
    /// -------
    /// float
    ///     Plate height H in m.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> column = dp.OpenTubularColumn(diameter=50e-6, length=10.0, film_thickness=0.25e-6, film_diffusion_coefficient=1e-11)
    /// >>> print(f"{column.plate_height(2e-8, 0.02, 3.0) * 1e6:.1f} um")
    /// 209.7 um
    fn plate_height(
        &self,
        diffusion_coefficient: f64,
        velocity: f64,
        retention_factor: f64,
    ) -> Outcome<f64> {
        let golay = self.part.golay();
        Ok(golay.plate_height(diffusion_coefficient, velocity, retention_factor)?)
    }

    /// The velocity of the smallest plate height.
    ///
    /// Parameters
    /// ----------
    /// diffusion_coefficient : float
    ///     Diffusion coefficient D of the solute in the mobile phase in m2/s.
    /// retention_factor : float
    ///     Retention factor k.
    ///
    /// Returns
    /// -------
    /// tuple of float
    ///     Velocity u in m/s and plate height H in m there.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> column = dp.OpenTubularColumn(diameter=50e-6, length=10.0, film_thickness=0.25e-6, film_diffusion_coefficient=1e-11)
    /// >>> velocity, plate_height = column.optimum(2e-8, 3.0)
    /// >>> print(f"{velocity * 1e3:.2f} mm/s, {plate_height * 1e6:.1f} um")
    /// 1.96 mm/s, 40.8 um
    fn optimum(&self, diffusion_coefficient: f64, retention_factor: f64) -> Outcome<(f64, f64)> {
        let best = self
            .part
            .golay()
            .optimum(diffusion_coefficient, retention_factor)?;
        Ok((best.velocity, best.plate_height))
    }
}

part! {
    "A flow cell with the time constant of its detector."
    "The variance of its volume V is V^2 / K: K = 12 for a plug, 1 for a mixed volume."
    from "cell = dp.DetectorCell(volume=8e-9, time_constant=0.1, pressure_limit=400e5)"
        shows r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
            r#"print(f"{cell.outlet(inlet, 5e-5).hold_up_time:.3f} s")"# = "0.125 s"
        keeps cell.time_constant = "0.1"
    PyDetectorCell "DetectorCell": DetectorCell {
        volume: f64, "float" "Volume in m3.";
        divisor: f64 = 12.0, "float" "Divisor K of its variance, from 1 to 12.";
        time_constant: f64 = 0.0, "float" "Time constant of the detector in s.";
        pressure_limit: Option<f64> = None, "float or None" "Pressure rating in Pa, absolute.";
        detector: Option<String> = None, "str or None" "Name of the detector, of those of `rank_detectors` that look at the dense side; of one that works with light the ultraviolet cut-off of the mobile phase is among the facts.";
        wavelength: Option<f64> = None, "float or None" "Wavelength in m that it looks at.";
    }
    make |volume, divisor, time_constant, pressure_limit, detector, wavelength| {
        let mut cell = DetectorCell::new(*volume)?.with_divisor(*divisor)?.with_time_constant(*time_constant)?;
        if let Some(limit) = pressure_limit {
            cell = cell.with_pressure_limit(*limit)?;
        }
        if let Some(name) = detector {
            cell = cell.with_detector(name)?;
        }
        Ok(match wavelength {
            Some(wavelength) => cell.with_wavelength(*wavelength)?,
            None => cell,
        })
    };
}

part! {
    "A sample loop and the volume of sample drawn into it."
    "The practice of the trade counts all that was drawn as injected, but no more than the loop holds (common practice, no \
     source); the laminar law stands beside it."
    from "sample_loop = dp.SampleLoop(volume=20e-9, drawn_volume=10e-9)"
        shows "sample_loop.filling().injected_volume" = "1e-08"
        keeps sample_loop.drawn_volume = "1e-08"
    PySampleLoop "SampleLoop": SampleLoop {
        volume: f64, "float" "Volume of the loop in m3.";
        drawn_volume: f64, "float" "Volume of sample drawn in m3.";
        variance_divisor: f64 = 12.0, "float" "Divisor K of the variance of the injection: 12 for a plug, 1 for an exponential decay.";
        open_time: Option<f64> = None, "float or None" "Time in s after which the valve turns back, a timed split; None for all that is in the loop.";
        split_ratio: f64 = 0.0, "float" "Flow to the vent over flow to the column behind the valve.";
    }
    make |volume, drawn_volume, variance_divisor, open_time, split_ratio| {
        let mut part = SampleLoop::new(*volume, *drawn_volume)?.with_variance_divisor(*variance_divisor)?;
        if let Some(time) = open_time {
            part = part.with_open_time(*time)?;
        }
        Ok(part.with_split_ratio(*split_ratio)?)
    };
}

#[pymethods]
impl PySampleLoop {
    /// Where the sample drawn went.
    ///
    /// Returns
    /// -------
    /// LoopFilling
    ///     Volumes injected, in excess and by the laminar law.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> sample_loop = dp.SampleLoop(volume=20e-9, drawn_volume=25e-9)
    /// >>> sample_loop.filling().injected_volume
    /// 2e-08
    fn filling(&self) -> Outcome<PyLoopFilling> {
        Ok(self.part.filling()?.into())
    }
}

#[pymethods]
impl PySampleLoop {
    /// Length of a smooth restrictor that passes the vent's part of the split to the room.
    ///
    /// Parameters
    /// ----------
    /// inlet : State
    ///     The mobile phase at the valve.
    /// mass_flow_rate : float
    ///     Mass flow rate through the valve in kg/s.
    /// diameter : float
    ///     Bore of the restrictor in m.
    /// room_pressure : float, keyword-only
    ///     Pressure of the room in Pa.
    ///
    /// Returns
    /// -------
    /// float
    ///     The length in m.
    ///
    /// Raises
    /// ------
    /// DomainError
    ///     Without a split.
    ///
    /// Examples
    /// --------
    /// >>> import densepath as dp
    /// >>> sample_loop = dp.SampleLoop(volume=200e-9, drawn_volume=400e-9, split_ratio=20.0)
    /// >>> inlet = dp.Fluid("carbon dioxide").state(temperature=333.15, pressure=150e5)
    /// >>> print(f"{sample_loop.vent_restrictor_length(inlet, 4e-6, 25e-6) * 1e3:.0f} mm")
    /// 77 mm
    #[pyo3(signature = (inlet, mass_flow_rate, diameter, *, room_pressure = 101_325.0))]
    fn vent_restrictor_length(
        &self,
        py: Python<'_>,
        inlet: &PyState,
        mass_flow_rate: f64,
        diameter: f64,
        room_pressure: f64,
    ) -> Outcome<f64> {
        let stream = Stream {
            state: inlet.state.clone(),
            mass_flow_rate,
        };
        enter(py, || {
            self.part
                .vent_restrictor_length(&stream, diameter, room_pressure)
        })
    }
}

passes! {
    PyTube
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
        "tube = dp.Tube(diameter=120e-6, length=1.0)"
        "outlet = tube.outlet(inlet, 5e-5)"
        r#"print(f"{(inlet.pressure - outlet.state.pressure) / 1e5:.2f} bar, {outlet.hold_up_time:.3f} s")"# = "34.90 bar, 0.173 s";
    PyPackedColumn
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
        "column = dp.PackedColumn(\n...     diameter=4.6e-3, length=0.25, particle_diameter=5e-6, interparticle_porosity=0.4, total_porosity=0.65\n... )"
        "outlet = column.outlet(inlet, 5e-5)"
        r#"print(f"{outlet.state.pressure / 1e5:.1f} bar, {outlet.state.temperature:.2f} K, {outlet.hold_up_time:.1f} s")"# = "123.6 bar, 310.37 K, 41.5 s";
    PyOpenTubularColumn
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=373.15, pressure=200e5)"#
        "column = dp.OpenTubularColumn(diameter=50e-6, length=10.0, film_thickness=0.25e-6, film_diffusion_coefficient=1e-11)"
        "outlet = column.outlet(inlet, 2e-8, retention_factor=3.0, diffusion_coefficient=2e-8)"
        r#"print(f"{outlet.solute_time:.0f} s, {outlet.solute_time**2 / outlet.time_variance:.0f} plates")"# = "1884 s, 44978 plates";
    PyDetectorCell
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
        "cell = dp.DetectorCell(volume=8e-9, time_constant=0.1)"
        "outlet = cell.outlet(inlet, 5e-5, retention_factor=0.0, diffusion_coefficient=1e-8)"
        r#"print(f"{outlet.time_variance:.4f} s2")"# = "0.0113 s2";
    PySampleLoop
        r#"inlet = dp.Fluid("carbon dioxide").state(temperature=313.15, pressure=150e5)"#
        "sample_loop = dp.SampleLoop(volume=20e-9, drawn_volume=20e-9)"
        "outlet = sample_loop.outlet(inlet, 5e-5)"
        r#"print(f"{outlet.hold_up_time * 1e3:.0f} ms")"# = "312 ms";
}

record! {
    /// Where the sample drawn into a loop went; immutable. Made by `SampleLoop.filling`.
    PyLoopFilling "LoopFilling"
    from "filling = dp.SampleLoop(volume=20e-9, drawn_volume=25e-9).filling()"
        shows filling.laminar_volume as ".4g" = "1.6e-08"
    {
        /// float: Volume drawn in m3.
        drawn_volume: f64 ["m3"],
        /// float: Volume of the loop in m3.
        loop_volume: f64 ["m3"],
        /// float: What counts as injected in m3 (common practice, no source).
        injected_volume: f64 ["m3"],
        /// float: What counts as excess and goes to drain in m3.
        excess_volume: f64 ["m3"],
        /// float: Sample in the loop in m3 by the laminar law.
        laminar_volume: f64 ["m3"],
        /// float: Sample in m3 that the laminar law lets go to drain.
        laminar_loss: f64 ["m3"],
    }
}

impl From<LoopFilling> for PyLoopFilling {
    fn from(filling: LoopFilling) -> Self {
        Self {
            drawn_volume: filling.drawn_volume,
            loop_volume: filling.loop_volume,
            injected_volume: filling.injected_volume,
            excess_volume: filling.excess_volume,
            laminar_volume: filling.laminar_volume,
            laminar_loss: filling.laminar_loss,
        }
    }
}
