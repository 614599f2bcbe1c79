//! What a detector records: peaks summed at the instants of its samples, and the moments of a record.

use super::peak::Peak;
use crate::fluid::error::{Error, Result, finite, positive};
use crate::fluid::quantity::Quantity;

/// Share of a peak's area that is left out on either side of the window in which it is evaluated.
const LEFT_OUT: f64 = 1e-10;

/// Instants of samples: `start + i/rate`.
///
/// ```
/// use densepath::flow::recording::Sampling;
/// let sampling = Sampling::new(0.0, 10.0, 5.0)?;
/// assert_eq!((sampling.time(0), sampling.time(5)), (0.0, 1.0));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sampling {
    /// Instant of the first sample in s.
    pub start: f64,
    /// Time between two samples in s.
    pub step: f64,
    /// Number of samples.
    pub count: usize,
}

impl Sampling {
    /// Samples at a data rate in Hz from a start to an end in s.
    ///
    /// Errors: 101 for a rate not above zero, or an end before the start; or more than a hundred million samples.
    ///
    /// ```
    /// use densepath::flow::recording::Sampling;
    /// // 10 s at 20 Hz.
    /// let sampling = Sampling::new(0.0, 10.0, 20.0)?;
    /// assert!((sampling.step - 0.05).abs() < 1e-12 && sampling.count >= 200);
    /// assert_eq!(Sampling::new(10.0, 0.0, 20.0).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn new(start: f64, end: f64, data_rate: f64) -> Result<Self> {
        let rate = positive(Quantity::Frequency, data_rate)?;
        let span = finite(Quantity::Time, end)? - finite(Quantity::Time, start)?;
        let steps = span * rate;
        if !(0.0..1e8).contains(&steps) {
            return Err(Error::Domain {
                quantity: Quantity::Time,
                value: span,
                rule: "at least zero, and no more than a hundred million samples",
            });
        }
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "between 0 and 1e8"
        )]
        let count = steps.floor() as usize + 1;
        Ok(Self {
            start,
            step: 1.0 / rate,
            count,
        })
    }

    /// Instant of a sample in s.
    ///
    /// ```
    /// use densepath::flow::recording::Sampling;
    /// assert_eq!(Sampling::new(60.0, 120.0, 10.0)?.time(1), 60.1);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn time(&self, index: usize) -> f64 {
        self.start + index as f64 * self.step
    }

    /// Instants of all samples in s.
    ///
    /// ```
    /// use densepath::flow::recording::Sampling;
    /// let times = Sampling::new(0.0, 10.0, 5.0)?.times();
    /// assert!(times.windows(2).all(|pair| (pair[1] - pair[0] - 0.2).abs() < 1e-12));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn times(&self) -> Vec<f64> {
        (0..self.count).map(|index| self.time(index)).collect()
    }

    /// Indices of the samples between two times.
    fn between(&self, from: f64, to: f64) -> std::ops::Range<usize> {
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped to the number of samples"
        )]
        let index =
            |time: f64| ((time - self.start) / self.step).clamp(0.0, self.count as f64) as usize;
        index(from)..self.count.min(index(to).saturating_add(1))
    }
}

/// Sum of peaks, each with its area, at the instants of the samples: the record of a detector without noise. Each peak is
/// evaluated only where it holds more than about 1e-10 of its area.
///
/// Errors: none but those of the window, which do not occur.
///
/// ```
/// use densepath::flow::{peak::{Peak, Tail}, recording::{Sampling, record}};
/// let peak = Peak::new(180.0, 4.0, Tail { plug_width: 0.0, time_constant: 0.0 })?;
/// let sampling = Sampling::new(150.0, 210.0, 10.0)?;
/// // The area of the peak is the sum over the samples.
/// let area = record(&[(peak, 2.5)], &sampling)?.iter().sum::<f64>() * sampling.step;
/// assert!((area - 2.5).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn record(peaks: &[(Peak, f64)], sampling: &Sampling) -> Result<Vec<f64>> {
    let mut signal = vec![0.0; sampling.count];
    for (peak, area) in peaks {
        let (from, to) = peak.window(LEFT_OUT)?;
        let range = sampling.between(from, to);
        let first = range.start;
        for (offset, sample) in signal
            .get_mut(range)
            .unwrap_or_default()
            .iter_mut()
            .enumerate()
        {
            *sample += area * peak.density(sampling.time(first + offset));
        }
    }
    Ok(signal)
}

/// A sampled signal as a sampled response hands it on: the sum of the signal's past, weighed by the response, which is scaled to
/// the sum 1. For measured profiles of an injection or a cell, sampled at the step of the signal from their own time zero.
///
/// Errors: 101 for a response with a value that is not finite, or whose sum is not above zero.
///
/// ```
/// use densepath::flow::recording::convolve;
/// // What answers at once hands the signal on as it is.
/// assert_eq!(convolve(&[0.0, 1.0, 2.0], &[1.0])?, [0.0, 1.0, 2.0]);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn convolve(signal: &[f64], response: &[f64]) -> Result<Vec<f64>> {
    for value in response {
        finite(Quantity::Ratio, *value)?;
    }
    let sum = positive(Quantity::Ratio, response.iter().sum())?;
    let mut out = vec![0.0; signal.len()];
    for (delay, weight) in response
        .iter()
        .enumerate()
        .filter(|(_, weight)| **weight != 0.0)
    {
        let weight = weight / sum;
        for (later, now) in out.iter_mut().skip(delay).zip(signal) {
            *later += weight * now;
        }
    }
    Ok(out)
}

/// Area, mean and central moments of a record.
///
/// ```
/// use densepath::flow::{peak::{Peak, Tail}, recording::{Sampling, moments, record}};
/// let peak = Peak::new(180.0, 4.0, Tail { plug_width: 0.0, time_constant: 1.0 })?;
/// let sampling = Sampling::new(150.0, 230.0, 10.0)?;
/// let found = moments(&record(&[(peak, 1.0)], &sampling)?, &sampling)?;
/// // The decay makes the peak tail: 2 tau^3 / sigma^3.
/// assert!((found.skewness - 0.25).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// Area: signal times s.
    pub area: f64,
    /// Mean in s.
    pub mean: f64,
    /// Variance in s2.
    pub variance: f64,
    /// Third central moment over the cube of the standard deviation.
    pub skewness: f64,
}

/// Moments of a sampled record of one peak on a baseline of zero, as sums over the samples.
///
/// *Uncertainty*: for a smooth peak that begins and ends at zero the sums are exact far beyond the digits of a detector, from about
/// two samples per standard deviation on; noise and a baseline spoil the higher ones.
///
/// Errors: 101 if the area is not above zero.
///
/// ```
/// use densepath::flow::{peak::{Peak, Tail}, recording::{Sampling, moments, record}};
/// let peak = Peak::new(180.0, 4.0, Tail { plug_width: 0.0, time_constant: 1.0 })?;
/// let sampling = Sampling::new(150.0, 230.0, 10.0)?;
/// let found = moments(&record(&[(peak, 1.0)], &sampling)?, &sampling)?;
/// assert!((found.mean - 180.0).abs() < 1e-4 && (found.variance - 4.0).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn moments(signal: &[f64], sampling: &Sampling) -> Result<Moments> {
    let sum = |weight: &dyn Fn(f64) -> f64| -> f64 {
        signal
            .iter()
            .enumerate()
            .map(|(index, value)| value * weight(sampling.time(index)))
            .sum()
    };
    let total = positive(Quantity::Ratio, sum(&|_| 1.0))?;
    // From the middle of the record, so that late peaks lose no digits.
    let middle = sampling.time(sampling.count / 2);
    let mean = middle + sum(&|t| t - middle) / total;
    let variance = sum(&|t| (t - mean).powi(2)) / total;
    Ok(Moments {
        area: total * sampling.step,
        mean,
        variance,
        skewness: sum(&|t| (t - mean).powi(3)) / total / variance.powf(1.5),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::peak::Tail;
    use crate::flow::testing::close;

    fn peak(mean: f64, variance: f64) -> Peak {
        Peak::new(
            mean,
            variance,
            Tail {
                plug_width: 0.5,
                time_constant: 0.2,
            },
        )
        .unwrap()
    }

    #[test]
    fn a_record_has_the_moments_of_its_peak() {
        let sampling = Sampling::new(0.0, 120.0, 10.0).unwrap();
        let signal = record(&[(peak(60.0, 1.7), 3.0)], &sampling).unwrap();
        let found = moments(&signal, &sampling).unwrap();
        assert!(close(found.area, 3.0, 2e-10));
        assert!(close(found.mean, 60.0, 1e-10));
        assert!(close(found.variance, 1.7, 1e-8));
        assert!(close(found.skewness, peak(60.0, 1.7).skewness(), 1e-5));
    }

    #[test]
    fn a_record_is_the_sum_of_its_peaks_and_knows_its_ends() {
        let sampling = Sampling::new(50.0, 70.0, 4.0).unwrap();
        assert_eq!((sampling.count, sampling.time(80)), (81, 70.0));
        let one = record(&[(peak(55.0, 1.0), 1.0)], &sampling).unwrap();
        let other = record(&[(peak(71.0, 2.0), 0.5)], &sampling).unwrap();
        let both = record(&[(peak(55.0, 1.0), 1.0), (peak(71.0, 2.0), 0.5)], &sampling).unwrap();
        for ((a, b), sum) in one.iter().zip(&other).zip(&both) {
            assert_eq!(a + b, *sum);
        }
        assert!(other[80] > 0.0);
        let outside = record(
            &[(peak(500.0, 1.0), 1.0), (peak(-500.0, 1.0), 1.0)],
            &sampling,
        )
        .unwrap();
        assert!(outside.iter().all(|value| *value == 0.0));
    }

    #[test]
    fn a_sampled_plug_and_decay_stand_in_for_the_closed_form() {
        let sampling = Sampling::new(0.0, 40.0, 100.0).unwrap();
        let tail = Tail {
            plug_width: 2.0,
            time_constant: 0.0,
        };
        let narrow = Peak::new(15.0, 0.25, Tail::default()).unwrap();
        let plug = vec![1.0; 201];
        let sampled = convolve(&record(&[(narrow, 1.0)], &sampling).unwrap(), &plug).unwrap();
        let found = moments(&sampled, &sampling).unwrap();
        // A row of 201 samples of 10 ms has the variance (201^2 - 1)/12 of their square and the mean of 100 of them.
        assert!(close(found.mean, 16.0, 1e-10));
        assert!(close(found.variance, 0.25 + 1e-4 * 40_400.0 / 12.0, 1e-9));
        let closed = Peak::new(16.0, 0.25 + tail.variance(), tail).unwrap();
        for index in (0..4000).step_by(97) {
            assert!((sampled[index] - closed.density(sampling.time(index))).abs() < 2e-3);
        }
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(Sampling::new(0.0, -1.0, 10.0).is_err() && Sampling::new(0.0, 1.0, 0.0).is_err());
        assert!(
            Sampling::new(0.0, 1e9, 10.0).is_err() && Sampling::new(0.0, f64::NAN, 10.0).is_err()
        );
        assert!(convolve(&[1.0], &[0.0]).is_err() && convolve(&[1.0], &[f64::NAN]).is_err());
        let sampling = Sampling::new(0.0, 1.0, 1.0).unwrap();
        assert!(moments(&[0.0, 0.0], &sampling).is_err());
    }
}
