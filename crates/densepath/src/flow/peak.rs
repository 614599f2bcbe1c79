//! Peaks as profiles in time: the exact convolution of a rectangle, a Gaussian and an exponential decay.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

use super::bands::{MIXED, PLUG};
use crate::fluid::error::{Error, Result, finite, not_negative, positive};
use crate::fluid::num::error_function::scaled_erfc;
use crate::fluid::quantity::Quantity;

/// Width of the plug over the standard deviation below which the rectangle is left to its variance: it changes the density by
/// less than 1e-13 of the largest then.
const THIN: f64 = 1e-6;

/// The part of a band that is not Gaussian: a plug, then a first-order decay.
///
/// ```
/// use densepath::flow::peak::Tail;
/// // A mixed volume passed in 0.1 s delays by 0.1 s and adds 0.1^2 s2.
/// let cell = Tail::of_volume(0.1, 1.0)?;
/// assert!((cell.mean() - 0.1).abs() < 1e-12 && (cell.variance() - 0.01).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tail {
    /// Width w of the rectangle in s.
    pub plug_width: f64,
    /// Time constant tau of the exponential in s.
    pub time_constant: f64,
}

impl Tail {
    /// The plug and the decay of a volume whose passage takes a time t in s and whose variance is `t^2/K`: a rectangle of
    /// K = 12, an exponential of K = 1, and both one after the other between, in shares that are linear in the variance:
    /// `tau^2 = t^2 (12/K - 1)/11`, `w^2 = t^2 (12/11)(1 - 1/K)`.
    ///
    /// *Source*: second moments; the split between the two bounds is chosen here.
    ///
    /// Errors: 101 for a negative time or K outside 1 to 12.
    ///
    /// ```
    /// use densepath::flow::peak::Tail;
    /// // A plug: t^2/12.
    /// assert!((Tail::of_volume(0.6, 12.0)?.variance() - 0.03).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn of_volume(time: f64, divisor: f64) -> Result<Self> {
        not_negative(Quantity::Time, time)?;
        if !(MIXED..=PLUG).contains(&divisor) {
            return Err(Error::Domain {
                quantity: Quantity::Ratio,
                value: divisor,
                rule: "from 1 of a mixed volume to 12 of a plug",
            });
        }
        Ok(Self {
            plug_width: time * (12.0 / 11.0 * (1.0 - 1.0 / divisor)).sqrt(),
            time_constant: time * ((12.0 / divisor - 1.0) / 11.0).sqrt(),
        })
    }

    /// Delay of the mean in s: half the plug, and the time constant.
    ///
    /// ```
    /// use densepath::flow::peak::Tail;
    /// assert!((Tail::of_volume(0.6, 12.0)?.mean() - 0.3).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn mean(&self) -> f64 {
        0.5 * self.plug_width + self.time_constant
    }

    /// Variance in s2.
    ///
    /// ```
    /// use densepath::flow::peak::Tail;
    /// assert!((Tail::of_volume(0.2, 1.0)?.variance() - 0.04).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn variance(&self) -> f64 {
        self.plug_width * self.plug_width / PLUG + self.time_constant * self.time_constant
    }
}

/// A recorded peak of unit area.
///
/// *Source*: convolution of the three densities, written with the scaled complementary error function so that nothing
/// overflows; without the plug the exponentially modified Gaussian of E. Grushka, Anal. Chem. 44, 1733 (1972),
/// doi 10.1021/ac60319a011 (from memory).
///
/// ```
/// use densepath::flow::peak::{Peak, Tail};
/// let peak = Peak::new(180.0, 4.0, Tail::of_volume(0.0, 1.0)?)?;
/// // Gaussian: 1/(sigma sqrt(2 pi)) at the top.
/// assert!((peak.density(180.0) - 1.0 / (2.0 * std::f64::consts::TAU.sqrt())).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    mean: f64,
    sigma: f64,
    tail: Tail,
}

impl Peak {
    /// A peak with the mean t in s and the variance in s2, of which the tail is a part; the rest is Gaussian.
    ///
    /// Errors: 101 for a mean that is not finite, a negative tail, or a variance that the tail alone exceeds.
    ///
    /// ```
    /// use densepath::flow::peak::{Peak, Tail};
    /// let tail = Tail { plug_width: 0.0, time_constant: 3.0 };
    /// // A decay of 3 s alone has a variance of 9 s2.
    /// assert!(Peak::new(180.0, 10.0, tail).is_ok());
    /// assert_eq!(Peak::new(180.0, 8.0, tail).unwrap_err().code(), 101);
    /// ```
    pub fn new(mean: f64, variance: f64, tail: Tail) -> Result<Self> {
        finite(Quantity::Time, mean)?;
        not_negative(Quantity::Time, tail.plug_width)?;
        not_negative(Quantity::Time, tail.time_constant)?;
        let gaussian = positive(Quantity::TimeVariance, variance - tail.variance())?;
        Ok(Self {
            mean,
            sigma: gaussian.sqrt(),
            tail,
        })
    }

    /// A peak of several tails, of which the widest plug and the slowest decay keep their shape, and the others count as
    /// Gaussian with their variance. Mean and variance are exact.
    ///
    /// Errors: those of [`Peak::new`].
    ///
    /// ```
    /// use densepath::flow::peak::{Peak, Tail};
    /// let tails = [Tail::of_volume(0.5, 1.0)?, Tail::of_volume(0.2, 12.0)?];
    /// let peak = Peak::of_tails(180.0, 4.0, &tails)?;
    /// assert!((peak.mean() - 180.0).abs() < 1e-9 && (peak.variance() - 4.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn of_tails(mean: f64, variance: f64, tails: &[Tail]) -> Result<Self> {
        let widest = |of: fn(&Tail) -> f64| tails.iter().map(of).fold(0.0, f64::max);
        let tail = Tail {
            plug_width: widest(|tail| tail.plug_width),
            time_constant: widest(|tail| tail.time_constant),
        };
        Self::new(mean, variance, tail)
    }

    /// Mean in s.
    ///
    /// ```
    /// use densepath::flow::peak::{Peak, Tail};
    /// assert_eq!(Peak::new(180.0, 4.0, Tail { plug_width: 0.0, time_constant: 1.0 })?.mean(), 180.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn mean(&self) -> f64 {
        self.mean
    }

    /// Variance in s2.
    ///
    /// ```
    /// use densepath::flow::peak::{Peak, Tail};
    /// assert!((Peak::new(180.0, 4.0, Tail { plug_width: 0.0, time_constant: 1.0 })?.variance() - 4.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn variance(&self) -> f64 {
        self.sigma * self.sigma + self.tail.variance()
    }

    /// Third central moment over the cube of the standard deviation; that of the exponential alone.
    ///
    /// ```
    /// use densepath::flow::peak::{Peak, Tail};
    /// // 2 (tau/sigma)^3 of an exponential in a Gaussian.
    /// let peak = Peak::new(180.0, 4.0, Tail::of_volume(1.0, 1.0)?)?;
    /// assert!((peak.skewness() - 2.0 * 0.5_f64.powi(3)).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn skewness(&self) -> f64 {
        2.0 * self.tail.time_constant.powi(3) / self.variance().powf(1.5)
    }

    /// Times in s between which all but about a share of the area lies on either side.
    ///
    /// Errors: 101 for a share outside ]0, 0.5[.
    ///
    /// ```
    /// use densepath::flow::peak::{Peak, Tail};
    /// let (from, to) = Peak::new(180.0, 4.0, Tail::of_volume(0.0, 1.0)?)?.window(1e-6)?;
    /// assert!(from < 180.0 - 4.0 && to > 180.0 + 4.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn window(&self, share: f64) -> Result<(f64, f64)> {
        if !(share > 0.0 && share < 0.5) {
            return Err(Error::Domain {
                quantity: Quantity::Ratio,
                value: share,
                rule: "between 0 and 0.5",
            });
        }
        // Beyond z standard deviations a Gaussian leaves less than exp(-z^2/2)/2.
        let sides = self.sigma * (-2.0 * (2.0 * share).ln()).sqrt();
        let centre = self.mean - self.tail.time_constant;
        let half = 0.5 * self.tail.plug_width;
        let decay = -self.tail.time_constant * share.ln();
        Ok((centre - half - sides, centre + half + sides + decay))
    }

    /// Density at a time t in s, in 1/s.
    ///
    /// ```
    /// use densepath::flow::peak::{Peak, Tail};
    /// let peak = Peak::new(180.0, 4.0, Tail::of_volume(1.0, 1.0)?)?;
    /// // Its area is one.
    /// let area: f64 = (0..4000).map(|i| peak.density(160.0 + 0.01 * f64::from(i)) * 0.01).sum();
    /// assert!((area - 1.0).abs() < 1e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn density(&self, time: f64) -> f64 {
        let from_centre = time - (self.mean - self.tail.time_constant);
        let w = self.tail.plug_width;
        if w < THIN * self.sigma {
            return self.edge(from_centre).1;
        }
        // From the side of the nearer end, so that two numbers near 1 are not subtracted.
        let (late, early) = (
            self.edge(from_centre + 0.5 * w),
            self.edge(from_centre - 0.5 * w),
        );
        if from_centre > 0.0 {
            (early.2 - late.2) / w
        } else {
            (late.0 - early.0) / w
        }
    }

    /// Area before, density, and area after a distance in s from the centre, of the peak without its plug.
    fn edge(&self, distance: f64) -> (f64, f64, f64) {
        let z = distance / self.sigma;
        let bell = (-0.5 * z * z).exp();
        // One side of the Gaussian: erfc(|z|/sqrt 2)/2.
        let outer = 0.5 * bell * scaled_erfc(z.abs() * FRAC_1_SQRT_2);
        let (before, after) = if z < 0.0 {
            (outer, 1.0 - outer)
        } else {
            (1.0 - outer, outer)
        };
        let tau = self.tail.time_constant;
        if tau == 0.0 {
            return (before, bell / (self.sigma * (2.0 * PI).sqrt()), after);
        }
        // Grushka 1972: tau f = exp(sigma^2/(2 tau^2) - t/tau) erfc[(sigma/tau - z)/sqrt 2]/2.
        let ratio = self.sigma / tau;
        let argument = (ratio - z) * FRAC_1_SQRT_2;
        let rest = 0.5 * bell * scaled_erfc(argument.abs());
        let scaled = if argument < 0.0 {
            (0.5 * ratio * ratio - z * ratio).exp() - rest
        } else {
            rest
        };
        // The area before is that of the Gaussian less what the decay still holds, tau f.
        (before - scaled, scaled / tau, after + scaled)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;
    use crate::fluid::num::quad;

    /// Density by quadrature of the definition: a Gaussian smeared over the plug and the decay.
    fn by_quadrature(peak: &Peak, time: f64) -> f64 {
        let Tail {
            plug_width: w,
            time_constant: tau,
        } = peak.tail;
        let bell =
            |t: f64| (-0.5 * (t / peak.sigma).powi(2)).exp() / (peak.sigma * (2.0 * PI).sqrt());
        let smeared = |t: f64| {
            quad::integrate::<(), _>(-0.5 * w, 0.5 * w, 8, |s| Ok(bell(t - s) / w)).unwrap()
        };
        let centre = peak.mean - tau;
        quad::integrate::<(), _>(0.0, 40.0 * tau, 60, |s| {
            Ok((-s / tau).exp() / tau * smeared(time - centre - s))
        })
        .unwrap()
    }

    #[test]
    fn the_closed_form_is_the_convolution() {
        for (sigma, w, tau) in [
            (1.0, 2.0, 0.5),
            (1.0, 0.3, 3.0),
            (0.7, 5.0, 0.2),
            (1.0, 1.0, 1.0),
        ] {
            let tail = Tail {
                plug_width: w,
                time_constant: tau,
            };
            let peak = Peak::new(20.0, sigma * sigma + tail.variance(), tail).unwrap();
            for time in [15.0, 18.0, 19.0, 20.0, 21.5, 24.0, 30.0] {
                let (ours, expected) = (peak.density(time), by_quadrature(&peak, time));
                assert!(
                    (ours - expected).abs() < 2e-11,
                    "{sigma} {w} {tau} {time}: {ours} against {expected}"
                );
            }
        }
    }

    #[test]
    fn limits_are_the_simpler_forms() {
        let gauss =
            |sigma: f64, t: f64| (-0.5 * (t / sigma).powi(2)).exp() / (sigma * (2.0 * PI).sqrt());
        let plain = Peak::new(5.0, 4.0, Tail::default()).unwrap();
        assert!(close(plain.density(6.3), gauss(2.0, 1.3), 1e-14));
        // A decay far quicker than the peak only shifts it, one far slower is the exponential alone.
        let quick = Tail {
            plug_width: 0.0,
            time_constant: 1e-7,
        };
        let peak = Peak::new(5.0, 4.0 + quick.variance(), quick).unwrap();
        assert!(close(peak.density(6.3), gauss(2.0, 1.3), 1e-6));
        let slow = Tail {
            plug_width: 0.0,
            time_constant: 1e4,
        };
        let peak = Peak::new(1e4, 4.0 + slow.variance(), slow).unwrap();
        assert!(close(peak.density(3e4), (-3.0f64).exp() / 1e4, 1e-6));
        assert_eq!(peak.density(-1e5), 0.0);
        // A plug much wider than its edges has the height 1/w in its middle.
        let wide = Tail {
            plug_width: 100.0,
            time_constant: 0.0,
        };
        let peak = Peak::new(0.0, 1.0 + wide.variance(), wide).unwrap();
        assert!(close(peak.density(10.0), 0.01, 1e-12) && peak.density(80.0) < 1e-100);
        // And a thin one passes over into none without a step.
        let variance = |w: f64| 1.0 + w * w / 12.0;
        let at = |w: f64| {
            Peak::new(
                0.0,
                variance(w),
                Tail {
                    plug_width: w,
                    time_constant: 0.3,
                }
                .scaled(),
            )
            .map(|p| p.density(0.4))
        };
        let (thin, thick) = (at(0.99e-6).unwrap(), at(1.01e-6).unwrap());
        assert!(close(thin, thick, 1e-9), "{thin} {thick}");
    }

    impl Tail {
        /// The same tail, whatever the variance given beside it, for a test near a threshold.
        fn scaled(self) -> Self {
            Self {
                time_constant: 0.0,
                ..self
            }
        }
    }

    #[test]
    fn moments_of_the_profile_are_those_asked_for() {
        let tail = Tail {
            plug_width: 3.0,
            time_constant: 0.8,
        };
        let peak = Peak::new(50.0, 2.5, tail).unwrap();
        let (from, to) = peak.window(1e-13).unwrap();
        let moment = |power: i32| {
            quad::integrate::<(), _>(from, to, 200, |t| {
                Ok((t - 50.0).powi(power) * peak.density(t))
            })
            .unwrap()
        };
        assert!(close(moment(0), 1.0, 1e-11));
        assert!(moment(1).abs() < 1e-10);
        assert!(close(moment(2), 2.5, 1e-9));
        assert!(close(moment(3) / 2.5f64.powf(1.5), peak.skewness(), 1e-8));
        assert!(close(peak.variance(), 2.5, 1e-15));
    }

    #[test]
    fn volumes_lie_between_plug_and_mixture() {
        for divisor in [1.0, 2.0, 3.0, 6.0, 12.0] {
            let tail = Tail::of_volume(4.0, divisor).unwrap();
            assert!(close(tail.variance(), 16.0 / divisor, 1e-14));
        }
        let plug = Tail::of_volume(4.0, 12.0).unwrap();
        assert!(close(plug.mean(), 2.0, 1e-14) && plug.time_constant < 1e-7);
        let mixed = Tail::of_volume(4.0, 1.0).unwrap();
        assert_eq!((mixed.plug_width, mixed.time_constant), (0.0, 4.0));
        assert!(Tail::of_volume(4.0, 0.9).is_err() && Tail::of_volume(-1.0, 3.0).is_err());
    }

    #[test]
    fn a_tail_wider_than_the_peak_is_refused() {
        let tail = Tail {
            plug_width: 10.0,
            time_constant: 0.0,
        };
        assert_eq!(Peak::new(0.0, 5.0, tail).unwrap_err().code(), 101);
        let several = [
            tail,
            Tail {
                plug_width: 2.0,
                time_constant: 1.0,
            },
        ];
        let peak = Peak::of_tails(0.0, 20.0, &several).unwrap();
        assert_eq!(
            peak.tail,
            Tail {
                plug_width: 10.0,
                time_constant: 1.0
            }
        );
        assert!(
            Peak::new(0.0, 1.0, Tail::default())
                .unwrap()
                .window(0.7)
                .is_err()
        );
    }
}
