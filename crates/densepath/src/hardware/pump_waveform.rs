//! The flow of a pump with several heads in the course of a turn, and what a dampener leaves of it.

use fluid::error::{Error, Result, not_negative, positive};
use fluid::{Quantity, State};

use super::pump_pulse::Drive;
use super::stroke::Compression;
use crate::fluid;

/// How the pistons move.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
/// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
/// let swing = |motion| drive.waveform(motion, &compression, 360).map(|wave| wave.swing());
/// // Sines of two heads fall to nothing between the strokes, cams do not but for the compression.
/// assert!(swing(PistonMotion::Crank)? > swing(PistonMotion::Cam)?);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PistonMotion {
    /// At constant speed, each head delivering in its own share of the turn: a cam.
    Cam,
    /// As a sine, each head delivering for half of a turn: a crank.
    Crank,
}

/// The flow in the course of one turn of a pump.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
/// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
/// let wave = drive.waveform(PistonMotion::Crank, &compression, 360)?;
/// let mean = wave.flow.iter().sum::<f64>() / 360.0;
/// assert!((mean - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Waveform {
    /// Part of the turn, from 0 to 1, at the beginning of each step.
    pub turn: Vec<f64>,
    /// Flow over its mean there.
    pub flow: Vec<f64>,
}

impl Drive {
    /// The flow in a number of even steps of one turn, of heads spread evenly over it and strokes that compress as told.
    ///
    /// A head delivers from where its piston has made good the compression that is not compensated. *Valid* for valves that open and
    /// close at once and a compensation that is not too high. *Source*: kinematics of the pistons, a displacement of
    /// `V_s (1 - cos(2 pi t))/2` of a crank; mass balance of the stroke.
    ///
    /// Errors: 101 for no heads, no steps, or a compensation above the compression.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
    /// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
    /// assert_eq!(drive.waveform(PistonMotion::Cam, &compression, 360)?.turn.len(), 360);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn waveform(
        &self,
        motion: PistonMotion,
        compression: &Compression,
        steps: u32,
    ) -> Result<Waveform> {
        positive(Quantity::Ratio, f64::from(self.heads))?;
        positive(Quantity::Ratio, f64::from(steps))?;
        let compensated = self.compensated_volume_fraction / compression.volume_fraction;
        if !(0.0..=1.0).contains(&compensated) {
            return Err(Error::Domain {
                quantity: Quantity::VolumeFraction,
                value: self.compensated_volume_fraction,
                rule: "a compensation from none to the share of the volume that is lost on compression",
            });
        }
        let closed = compression.stroke_fraction * (1.0 - compensated);
        let heads = f64::from(self.heads);
        let turn: Vec<f64> = (0..steps)
            .map(|step| f64::from(step) / f64::from(steps))
            .collect();
        let flow: Vec<f64> = turn
            .iter()
            .map(|turn| {
                let of_head = |head: u32| {
                    let own = (turn - f64::from(head) / heads).rem_euclid(1.0);
                    motion.speed(own, heads, closed)
                };
                (0..self.heads).map(of_head).sum()
            })
            .collect();
        let mean = flow.iter().sum::<f64>() / f64::from(steps);
        Ok(Waveform {
            flow: flow.into_iter().map(|flow| flow / mean).collect(),
            turn,
        })
    }
}

impl PistonMotion {
    /// What one head delivers at a part of its own turn, in swept volumes per turn, with a share of the stroke during which its valve is
    /// closed.
    fn speed(self, own: f64, heads: f64, closed: f64) -> f64 {
        let (displaced, speed) = match self {
            PistonMotion::Cam if own * heads < 1.0 => (own * heads, heads),
            PistonMotion::Crank if own < 0.5 => {
                let angle = std::f64::consts::TAU * own;
                (
                    0.5 * (1.0 - angle.cos()),
                    std::f64::consts::PI * angle.sin(),
                )
            }
            _ => return 0.0,
        };
        if displaced < closed { 0.0 } else { speed }
    }
}

impl Waveform {
    /// Swing of the flow from its lowest to its highest over its mean.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
    /// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
    /// // A crank with two heads of the best fluid would swing by pi / 2.
    /// assert!(drive.waveform(PistonMotion::Crank, &compression, 360)?.swing() > std::f64::consts::FRAC_PI_2);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn swing(&self) -> f64 {
        swing(&self.flow)
    }

    /// The waveform behind a first-order lag, such as a dampener and the resistance behind it, of a time constant in s, for turns of a
    /// period in s, once it repeats.
    ///
    /// *Source*: exact solution of `tau dy/dt + y = x` for a flow constant in each step. Errors: 101 for a period not above zero or a
    /// negative time constant.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
    /// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
    /// let wave = drive.waveform(PistonMotion::Crank, &compression, 360)?;
    /// // The slower the dampener, the smoother the flow.
    /// assert!(wave.behind(1.0, 10.0)?.swing() < wave.behind(1.0, 1.0)?.swing());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn behind(&self, period: f64, time_constant: f64) -> Result<Waveform> {
        positive(Quantity::Time, period)?;
        if not_negative(Quantity::Time, time_constant)? == 0.0 {
            return Ok(self.clone());
        }
        #[allow(clippy::cast_precision_loss, reason = "steps of a turn")]
        let steps = self.flow.len() as f64;
        let gain = -(-period / (steps * time_constant)).exp_m1();
        let pass = |start: f64| {
            self.flow.iter().scan(start, move |level, flow| {
                *level += gain * (flow - *level);
                Some(*level)
            })
        };
        // From rest a turn ends at `end`; what it began with is then worth `e^(-P/tau)`.
        let end = pass(0.0).last().unwrap_or(0.0);
        let start = end / -(-period / time_constant).exp_m1();
        Ok(Waveform {
            turn: self.turn.clone(),
            flow: pass(start).collect(),
        })
    }

    /// Swing of the density over the density at a state, at constant temperature, behind a dampener of a volume in m3 and a resistance in
    /// Pa s/kg at a mass flow rate in kg/s and turns of a period in s.
    ///
    /// *Source*: `tau = V rho kappa_T R`, `Delta rho/rho = kappa_T R q_m` times the swing of the flow behind it. Errors: 101 for values
    /// not above zero; 301 for two phases.
    ///
    /// ```
    /// # use densepath::{Fluid, State, hardware::{Chamber, Cushion, Drive, PistonMotion}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
    /// # let compression = Chamber::new(0.0)?.stroke(&suction, 150e5, 1.0)?.expected;
    /// # let drive = Drive { heads: 2, swept_volume: 50e-9, compensated_volume_fraction: 0.0 };
    /// let wave = drive.waveform(PistonMotion::Crank, &compression, 360)?;
    /// let state = State::from_tp(&fluid, 298.15, 150e5)?;
    /// let swing = |volume| wave.density_swing(&state, volume, 1e11, 5e-5, 1.0);
    /// assert!(swing(20e-6)? < swing(10e-6)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn density_swing(
        &self,
        state: &State,
        volume: f64,
        resistance: f64,
        mass_flow_rate: f64,
        period: f64,
    ) -> Result<f64> {
        positive(Quantity::Volume, volume)?;
        positive(Quantity::PressureDrop, resistance)?;
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let yielding = state.isothermal_compressibility()?;
        let behind = self.behind(period, volume * state.density() * yielding * resistance)?;
        Ok(yielding * resistance * mass_flow_rate * behind.swing())
    }
}

fn swing(flow: &[f64]) -> f64 {
    let highest = flow.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    highest - flow.iter().copied().fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::pulsation::PulseTrain;
    use crate::hardware::testing::{close, co2};
    use proptest::prelude::*;

    fn drive(heads: u32, compensated_volume_fraction: f64) -> Drive {
        Drive {
            heads,
            swept_volume: 50e-9,
            compensated_volume_fraction,
        }
    }

    fn compression(stroke_fraction: f64) -> Compression {
        Compression {
            temperature: 280.0,
            density: 950.0,
            volume_fraction: 0.06,
            volumetric_efficiency: 0.95,
            stroke_fraction,
        }
    }

    /// Pistons on a crank that lose nothing: three sines of half a turn add to between 0.866 and 1, in the mean 3/pi: a swing of 14.0 %.
    #[test]
    fn cranks_of_one_two_three_and_five_heads() {
        let nothing = compression(0.0);
        // Steps that meet every kink and every crest.
        let steps = 60_000;
        let agrees = |heads, expected: f64| {
            let made = drive(heads, 0.0).waveform(PistonMotion::Crank, &nothing, steps);
            close(made.unwrap().swing(), expected, 1e-6)
        };
        let pi = std::f64::consts::PI;
        assert!(agrees(1, pi));
        assert!(agrees(2, pi / 2.0));
        // n sines of half a turn: the mean is n/pi, the highest 1/(2 sin(pi/2n)), the lowest cot(pi/2n)/2, of n odd.
        for heads in [3_u32, 5] {
            let n = f64::from(heads);
            let half = pi / (2.0 * n);
            let expected = pi / n * 0.5 * (1.0 / half.sin() - 1.0 / half.tan());
            assert!(agrees(heads, expected), "{heads}");
        }
        assert!(agrees(3, 0.140_298));
    }

    /// A cam behind a dampener is the rectangle of [`PulseTrain`], for which there is a closed form.
    #[test]
    fn a_cam_behind_a_dampener_is_the_pulse_train() {
        let (closed, heads) = (0.08, 2);
        let made = drive(heads, 0.0)
            .waveform(PistonMotion::Cam, &compression(closed), 20_000)
            .unwrap();
        for time_constant in [0.01, 0.3, 10.0] {
            let train = PulseTrain {
                period: 0.5,
                gap: closed,
                time_constant,
            };
            // The train swings between 0 and 1, the waveform between 0 and 1/(1 - gap).
            let expected = train.swing().unwrap() / (1.0 - closed);
            let found = made.behind(1.0, time_constant).unwrap().swing();
            assert!(close(found, expected, 1e-3), "{found} {expected}");
        }
        let still = drive(heads, 0.06).waveform(PistonMotion::Cam, &compression(closed), 400);
        assert!(still.unwrap().swing() < 1e-12);
    }

    #[test]
    fn a_larger_dampener_swings_the_density_less() {
        let state = State::from_tp(&co2(), 313.15, 150e5).unwrap();
        let made = drive(3, 0.0)
            .waveform(PistonMotion::Crank, &compression(0.1), 3000)
            .unwrap();
        let swing = |volume| {
            made.density_swing(&state, volume, 40e5 / 5e-5, 5e-5, 2.0)
                .unwrap()
        };
        assert!(swing(1e-6) > swing(1e-5) && swing(1e-5) > swing(1e-4));
        assert!(made.behind(0.0, 1.0).is_err() && made.behind(1.0, -1.0).is_err());
        assert!(
            drive(0, 0.0)
                .waveform(PistonMotion::Cam, &compression(0.1), 9)
                .is_err()
        );
        assert!(
            drive(2, 0.07)
                .waveform(PistonMotion::Cam, &compression(0.1), 9)
                .is_err()
        );
    }

    proptest! {
        /// What goes in comes out: the mean is kept, and no lag swings more than what enters it.
        #[test]
        fn the_mean_is_kept(heads in 1_u32..5, closed in 0.0..0.6, period in 0.05..5.0, tau in 0.001..20.0) {
            for motion in [PistonMotion::Cam, PistonMotion::Crank] {
                let made = drive(heads, 0.0).waveform(motion, &compression(closed), 600).unwrap();
                let behind = made.behind(period, tau).unwrap();
                let mean = |wave: &Waveform| wave.flow.iter().sum::<f64>() / 600.0;
                prop_assert!((mean(&made) - 1.0).abs() < 1e-12);
                prop_assert!((mean(&behind) - 1.0).abs() < 1e-9);
                prop_assert!(behind.swing() <= made.swing() + 1e-12);
            }
        }
    }
}
