//! The pulse of a piston pump behind a volume that yields and a path that resists.

use crate::fluid::error::{Error, Result, fraction, not_negative, positive};
use crate::fluid::quantity::Quantity;

/// A flow that fails for a share of each period, before something that evens it out.
///
/// ```
/// use densepath::flow::pulsation::PulseTrain;
/// // Nothing evens it out: all of the swing.
/// let train = PulseTrain { period: 1.0, gap: 0.1, time_constant: 1e-6 };
/// assert!((train.swing()? - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PulseTrain {
    /// Period in s.
    pub period: f64,
    /// Share of the period in which the flow fails.
    pub gap: f64,
    /// Time constant in s of what evens it out.
    pub time_constant: f64,
}

impl PulseTrain {
    /// Swing from the lowest to the highest value behind the time constant, over the swing of the flow itself, once it repeats:
    /// `(1 - e^(-f P/tau)) (1 - e^(-(1 - f) P/tau))/(1 - e^(-P/tau))`.
    ///
    /// *Valid* for a first-order lag. *Source*: exact solution of `tau dy/dt + y = x` for a periodic rectangle.
    ///
    /// Errors: 101 for a period not above zero, a gap not between 0 and 1, a negative time constant.
    ///
    /// ```
    /// use densepath::flow::pulsation::PulseTrain;
    /// // A slow cushion leaves f (1 - f) P / tau.
    /// let train = PulseTrain { period: 1.0, gap: 0.1, time_constant: 100.0 };
    /// assert!((train.swing()? / (0.1 * 0.9 / 100.0) - 1.0).abs() < 1e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn swing(&self) -> Result<f64> {
        positive(Quantity::Time, self.period)?;
        fraction(Quantity::Ratio, self.gap)?;
        if not_negative(Quantity::Time, self.time_constant)? == 0.0 {
            return Ok(if self.gap > 0.0 && self.gap < 1.0 {
                1.0
            } else {
                0.0
            });
        }
        let lost = |share: f64| -(-share * self.period / self.time_constant).exp_m1();
        Ok(lost(self.gap) * lost(1.0 - self.gap) / lost(1.0))
    }
}

/// Amplitude of a sine behind a first-order lag over that before it: `1/sqrt(1 + (2 pi f tau)^2)`, of a frequency in Hz and a time
/// constant in s, such as the volume of a mixer over the flow through it.
///
/// *Source*: frequency response of a first-order lag. Errors: 101 for negative values.
///
/// ```
/// use densepath::flow::pulsation::attenuation;
/// // At the corner frequency 1/(2 pi tau) it is 1/sqrt(2).
/// assert!((attenuation(1.0 / std::f64::consts::TAU, 1.0)? - 0.5_f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn attenuation(frequency: f64, time_constant: f64) -> Result<f64> {
    let turn = std::f64::consts::TAU
        * not_negative(Quantity::Frequency, frequency)?
        * not_negative(Quantity::Time, time_constant)?;
    Ok(1.0 / 1.0_f64.hypot(turn))
}

/// A ramp that passes a delay and a mixing volume: what leaves at a time in s after it began, over the slope, in s:
/// `s - tau (1 - e^(-s/tau))` with `s` the time less the delay.
///
/// The value lags behind the ramp by the delay and, in the end, by tau. *Source*: exact solution of `tau dy/dt + y = t`. Errors: 101
/// for a negative delay or time constant.
///
/// ```
/// use densepath::flow::pulsation::ramp_behind;
/// // Nothing before the delay; long after it the ramp itself, late by delay and time constant.
/// assert_eq!(ramp_behind(5.0, 10.0, 2.0)?, 0.0);
/// assert!((ramp_behind(100.0, 10.0, 2.0)? - 88.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn ramp_behind(time: f64, delay: f64, time_constant: f64) -> Result<f64> {
    not_negative(Quantity::Time, delay)?;
    not_negative(Quantity::Time, time_constant)?;
    if !time.is_finite() {
        return Err(Error::Domain {
            quantity: Quantity::Time,
            value: time,
            rule: "a finite time",
        });
    }
    let since = (time - delay).max(0.0);
    if time_constant == 0.0 {
        return Ok(since);
    }
    Ok(since + time_constant * (-since / time_constant).exp_m1())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;

    /// The swing of a train of rectangles behind a lag, marched until it repeats.
    fn marched(train: &PulseTrain) -> f64 {
        let steps = 20_000;
        let dt = train.period / f64::from(steps);
        let (mut y, mut low, mut high) = (1.0, f64::INFINITY, f64::NEG_INFINITY);
        for turn in 0..60 {
            for step in 0..steps {
                let x = if f64::from(step) < train.gap * f64::from(steps) {
                    0.0
                } else {
                    1.0
                };
                y += (x - y) * -(-dt / train.time_constant).exp_m1();
                if turn == 59 {
                    (low, high) = (low.min(y), high.max(y));
                }
            }
        }
        high - low
    }

    #[test]
    fn the_swing_is_that_of_a_march() {
        for (gap, time_constant) in [(0.1, 0.05), (0.1, 2.0), (0.35, 0.7), (0.9, 0.3)] {
            let train = PulseTrain {
                period: 1.0,
                gap,
                time_constant,
            };
            assert!(
                close(train.swing().unwrap(), marched(&train), 2e-4),
                "{train:?}"
            );
        }
    }

    #[test]
    fn the_limits_of_the_swing() {
        let train = |gap, time_constant| {
            PulseTrain {
                period: 2.0,
                gap,
                time_constant,
            }
            .swing()
            .unwrap()
        };
        assert_eq!(train(0.2, 0.0), 1.0);
        assert_eq!(train(0.0, 0.0), 0.0);
        assert_eq!(train(0.0, 1.0), 0.0);
        // A large volume evens out: f (1 - f) P/tau.
        assert!(close(train(0.2, 1e4), 0.2 * 0.8 * 2.0 / 1e4, 1e-3));
        assert!(
            PulseTrain {
                period: 0.0,
                gap: 0.1,
                time_constant: 1.0
            }
            .swing()
            .is_err()
        );
    }

    #[test]
    fn a_ramp_lags_by_delay_and_time_constant() {
        // 35 % in 4 min behind 200 uL at 3 mL/min: independent arithmetic, 0.583333 % behind in the end.
        let (slope, tau) = (35.0 / 240.0, 200.0 / 3000.0 * 60.0);
        let lag = 240.0 - ramp_behind(240.0, 0.0, tau).unwrap();
        assert!(close(slope * lag, 0.583_333, 1e-6));
        assert_eq!(ramp_behind(5.0, 8.0, 4.0), Ok(0.0));
        assert_eq!(ramp_behind(10.0, 8.0, 0.0), Ok(2.0));
        assert!(ramp_behind(10.0, -1.0, 0.0).is_err());
        assert!(close(
            attenuation(0.5, 4.0).unwrap(),
            1.0 / (1.0 + 157.913_670_417_429_74_f64).sqrt(),
            1e-12
        ));
    }
}
