//! The pulse of a reciprocating pump: what compression that is not made good does to flow, pressure and density.

use densepath_fluid::error::{Error, Result, fraction, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::{Notice, NoticeCode, Quantity, State};

use super::schedule::storage_mass_flow_rate;
use super::stroke::Compression;
use crate::flow::pulsation::PulseTrain;

/// Relative swing of the density at the detector from which on a refractive index shows it: common practice, no source.
const SEEN: f64 = 1e-3;

/// How the heads of a pump are driven.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
/// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
/// let cushion = Cushion { state: State::from_tp(&fluid, 298.15, 150e5)?, volume: 10e-6, resistance: 1e11 };
/// // What is compensated rightly makes no pulse.
/// let right = Drive { compensated_volume_fraction: compression.volume_fraction, ..drive };
/// assert!(right.pulse(&compression, suction.density(), 5e-5, &cushion)?.pressure_swing.abs() < 1.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// Number of heads that deliver one after the other.
    pub heads: u32,
    /// Volume in m3 that each sweeps in one stroke.
    pub swept_volume: f64,
    /// Share of the volume that the pump takes the fluid to lose on compression and makes good by a faster start of each stroke; zero
    /// for a pump without compensation. The right value is [`Compression::volume_fraction`].
    pub compensated_volume_fraction: f64,
}

/// What stands between the pump and the part that holds the pressure.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
/// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
/// let swing = |volume| {
///     let cushion = Cushion { state: State::from_tp(&fluid, 298.15, 150e5)?, volume, resistance: 1e11 };
///     drive.pulse(&compression, suction.density(), 5e-5, &cushion).map(|pulse| pulse.pressure_swing)
/// };
/// // A larger cushion swings less.
/// assert!(swing(20e-6)? < swing(10e-6)?);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Cushion {
    /// The fluid in it.
    pub state: State,
    /// Volume in m3 of dampener, mixer and lines.
    pub volume: f64,
    /// Rise of the pressure in Pa for each kg/s of flow more: the pressure drop over the flow, for a laminar path.
    pub resistance: f64,
}

/// The pulse of a pump.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
/// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
/// let cushion = Cushion { state: State::from_tp(&fluid, 298.15, 150e5)?, volume: 10e-6, resistance: 1e11 };
/// let pulse = drive.pulse(&compression, suction.density(), 5e-5, &cushion)?;
/// // Without compensation part of every stroke delivers nothing.
/// assert!(pulse.gap > 0.0 && pulse.flow_error < 0.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Pulse {
    /// Frequency in Hz of the pulse: heads times strokes.
    pub frequency: f64,
    /// Change of the mean flow by what is not compensated, relative; negative where too little is.
    pub flow_error: f64,
    /// Share of each stroke in which flow fails, or comes twice where too much is compensated.
    pub gap: f64,
    /// Time constant in s of volume and resistance.
    pub time_constant: f64,
    /// Swing of the pressure in Pa from its lowest to its highest.
    pub pressure_swing: f64,
    /// Swing of the density behind the cushion, relative, at constant temperature.
    pub density_swing: f64,
    /// What to know.
    pub notices: Vec<Notice>,
}

impl Drive {
    /// The pulse at a mass flow rate in kg/s of strokes that compress as told, counted at suction of a density in kg/m3.
    ///
    /// Each stroke begins with a gap while its fluid is compressed; a compensation shortens the gap by its share of it, or, set too
    /// high, puts a pulse of surplus in its place. Cushion and resistance smooth the train to the pressure swing. *Valid* for heads that
    /// hand over without overlap and a swing small against the pressure. *Uncertainty*: half of the swing, since cams and check valves
    /// differ (common practice, no source). *Source*: mass balance of the stroke; first-order lag.
    ///
    /// Errors: 101 for values not above zero, no heads, or a compensation not between 0 and 1.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
    /// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
    /// let cushion = Cushion { state: State::from_tp(&fluid, 298.15, 150e5)?, volume: 10e-6, resistance: 1e11 };
    /// let pulse = drive.pulse(&compression, suction.density(), 5e-5, &cushion)?;
    /// // Two heads of 50 uL at 5e-5 kg/s: heads times strokes.
    /// assert!((pulse.frequency / (5e-5 / (suction.density() * 50e-9)) - 1.0).abs() < 0.1);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn pulse(
        &self,
        compression: &Compression,
        suction_density: f64,
        mass_flow_rate: f64,
        cushion: &Cushion,
    ) -> Result<Pulse> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        positive(Quantity::Density, suction_density)?;
        positive(Quantity::Volume, self.swept_volume)?;
        fraction(Quantity::VolumeFraction, self.compensated_volume_fraction)?;
        if self.heads == 0 {
            return Err(Error::Domain {
                quantity: Quantity::Ratio,
                value: 0.0,
                rule: "one head at least",
            });
        }
        let stroke = suction_density * self.swept_volume * compression.volumetric_efficiency;
        let frequency = mass_flow_rate / stroke;
        let compensated = self.compensated_volume_fraction / compression.volume_fraction;
        let flow_error = compression.stroke_fraction * (compensated - 1.0);
        let yielding = storage_mass_flow_rate(&cushion.state, cushion.volume, 1.0)?;
        let time_constant = yielding * positive(Quantity::PressureDrop, cushion.resistance)?;
        let train = PulseTrain {
            period: 1.0 / frequency,
            gap: flow_error.abs().min(1.0),
            time_constant,
        };
        let pressure_swing = cushion.resistance * mass_flow_rate * train.swing()?;
        let density_swing = cushion.state.isothermal_compressibility()? * pressure_swing;
        Ok(Pulse {
            frequency,
            flow_error,
            gap: train.gap,
            time_constant,
            pressure_swing,
            density_swing,
            notices: judge(frequency, flow_error, density_swing),
        })
    }
}

fn judge(frequency: f64, flow_error: f64, density_swing: f64) -> Vec<Notice> {
    if density_swing < SEEN {
        return Vec::new();
    }
    let cure = if flow_error < 0.0 {
        "chill the head, raise the compensation, or add a dampener"
    } else {
        "lower the compensation, or add a dampener"
    };
    let text = format!(
        "the strokes leave {} % of their flow to the pulse: the density behind the pump swings by {} % at {} Hz, and so does the \
         baseline; {cure}",
        rounded(100.0 * flow_error.abs()),
        rounded(100.0 * density_swing),
        rounded(frequency),
    );
    vec![Notice::new(NoticeCode::Pulsation, text).about(Quantity::Density)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::set_flow::{CountedAt, SetFlow};
    use crate::hardware::testing::{close, co2};
    use crate::hardware::{ReciprocatingPump, Stroke};
    use densepath_fluid::units::{BAR, GRAM_PER_MINUTE, MILLILITRE_PER_MINUTE, from_celsius};

    const FLOW: f64 = 2.93 * GRAM_PER_MINUTE;

    fn stroke() -> (State, Stroke) {
        let suction = State::from_tp(&co2(), from_celsius(5.0), 57.3 * BAR).unwrap();
        let set = SetFlow::Volume(3.0 * MILLILITRE_PER_MINUTE, CountedAt::Delivery);
        let pump = ReciprocatingPump::new(from_celsius(5.0), set)
            .and_then(|pump| pump.with_clearance_ratio(0.2))
            .unwrap();
        let stroke = pump.stroke(&suction, 150.0 * BAR).unwrap();
        (suction, stroke)
    }

    fn cushion(volume: f64) -> Cushion {
        Cushion {
            state: State::from_tp(&co2(), from_celsius(40.0), 150.0 * BAR).unwrap(),
            volume,
            resistance: 40.0 * BAR / FLOW,
        }
    }

    fn drive(compensated_volume_fraction: f64) -> Drive {
        Drive {
            heads: 2,
            swept_volume: 50e-9,
            compensated_volume_fraction,
        }
    }

    #[test]
    fn the_right_compensation_leaves_no_pulse_and_a_wrong_one_on_either_side_does() {
        let (suction, stroke) = stroke();
        let pulse = |share| {
            let right = stroke.isothermal.volume_fraction;
            let drive = drive(share * right);
            drive
                .pulse(&stroke.isothermal, suction.density(), FLOW, &cushion(1e-6))
                .unwrap()
        };
        let right = pulse(1.0);
        assert!(right.pressure_swing < 1e-6 * BAR && right.notices.is_empty());
        let (none, double) = (pulse(0.0), pulse(2.0));
        assert!(close(
            none.flow_error,
            -stroke.isothermal.stroke_fraction,
            1e-12
        ));
        assert!(close(
            double.flow_error,
            stroke.isothermal.stroke_fraction,
            1e-12
        ));
        assert!(close(none.pressure_swing, double.pressure_swing, 1e-12));
        assert_eq!(none.notices[0].code, NoticeCode::Pulsation);
        // Two heads of 50 uL at about 3.2 mL/min of suction volume: a pulse about once a second.
        assert!(close(
            none.frequency,
            FLOW / suction.density() / 50e-9 / stroke.isothermal.volumetric_efficiency,
            1e-12
        ));
    }

    #[test]
    fn a_larger_cushion_swings_less_and_none_swings_all_the_way() {
        let (suction, stroke) = stroke();
        let swing = |volume| {
            let pulse =
                drive(0.0).pulse(&stroke.expected, suction.density(), FLOW, &cushion(volume));
            pulse.unwrap().pressure_swing
        };
        assert!(swing(1e-5) < swing(1e-6) && swing(1e-6) < swing(1e-7));
        // Without cushion the flow stops in the gap, and with it all the pressure that it drives.
        assert!(close(swing(1e-12), 40.0 * BAR, 1e-6));
        // A large one: f (1 - f) P/tau of it.
        let pulse = drive(0.0)
            .pulse(&stroke.expected, suction.density(), FLOW, &cushion(1e-3))
            .unwrap();
        let expected =
            pulse.gap * (1.0 - pulse.gap) / pulse.frequency / pulse.time_constant * 40.0 * BAR;
        assert!(close(pulse.pressure_swing, expected, 1e-3));
    }

    #[test]
    fn a_drive_without_sense_is_refused() {
        let (suction, stroke) = stroke();
        let code = |drive: Drive, flow| {
            let pulse = drive.pulse(&stroke.expected, suction.density(), flow, &cushion(1e-6));
            pulse.unwrap_err().code()
        };
        assert_eq!(
            code(
                Drive {
                    heads: 0,
                    ..drive(0.0)
                },
                FLOW
            ),
            101
        );
        assert_eq!(code(drive(1.5), FLOW), 101);
        assert_eq!(code(drive(0.0), 0.0), 101);
        assert_eq!(
            code(
                Drive {
                    swept_volume: -1.0,
                    ..drive(0.0)
                },
                FLOW
            ),
            101
        );
    }
}
