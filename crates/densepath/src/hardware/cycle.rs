//! One run after the other: how long a cycle takes, how near injections may follow each other, what a day uses up.

use densepath_fluid::error::{Error, Result, not_negative, positive};
use densepath_fluid::{Notice, NoticeCode, Quantity};

use crate::flow::separation::PeakMoments;

/// Standard deviations on either side of a peak that hold practically all of it: 99.99 % of a Gaussian.
const WIDTH: f64 = 4.0;
/// Volumes of the system that bring a column back to its start: 5 to 10, common practice, no source.
pub const USUAL_EQUILIBRATION_VOLUMES: f64 = 10.0;
/// Seconds in a day.
const DAY: f64 = 86_400.0;

/// Time in s from one injection to the next: that of the run, of what goes on between runs, and of a volume in m3 that brings the
/// system back to its start at a volume flow rate in m3/s.
///
/// After a program the volume is that between pumps and column once, and that of the mobile phase in the column
/// [`USUAL_EQUILIBRATION_VOLUMES`] times. *Source*: definition. Errors: 101 for negative values or a flow not above zero.
///
/// ```
/// use densepath::hardware::cycle::cycle_time;
/// // A run of 5 min, 0.5 min of handling, and 6 mL at 3 mL/min: 7.5 min.
/// assert!((cycle_time(300.0, 30.0, 6e-6, 50e-9)? - 450.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn cycle_time(
    run_time: f64,
    handling_time: f64,
    equilibration_volume: f64,
    volume_flow_rate: f64,
) -> Result<f64> {
    let equilibration = not_negative(Quantity::Volume, equilibration_volume)?
        / positive(Quantity::VolumeFlowRate, volume_flow_rate)?;
    Ok(positive(Quantity::Time, run_time)?
        + not_negative(Quantity::Time, handling_time)?
        + equilibration)
}

/// Injections that follow each other so closely that the peaks of one pass while the next is on its way.
///
/// ```
/// use densepath::{flow::separation::PeakMoments, hardware::cycle::stacked_injections};
/// let peak = |mean| PeakMoments { time: mean, time_variance: 4.0 };
/// let stacked = stacked_injections(&[peak(200.0), peak(230.0)], 10.0)?;
/// assert!((stacked.injections_per_day * stacked.interval / 86_400.0 - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct StackedInjections {
    /// Time in s from the start of the first peak to the end of the last.
    pub window: f64,
    /// Shortest time in s between two injections.
    pub interval: f64,
    /// Injections in a day.
    pub injections_per_day: f64,
    /// Injections on their way at the same time, rounded up.
    pub on_the_way: u32,
    /// What to know.
    pub notices: Vec<Notice>,
}

/// The shortest interval of injections whose peaks, given by their moments, do not meet those of the next, with a gap in s between them.
///
/// Each peak counts four standard deviations to either side. *Valid* for runs without program. Whatever else leaves the column, the
/// solvent of the sample and what is not retained first of all, must be among the peaks. *Source*: definition. Errors: 101 for no peak,
/// a variance not above zero or a negative gap.
///
/// ```
/// use densepath::{flow::separation::PeakMoments, hardware::cycle::stacked_injections};
/// let peak = |mean| PeakMoments { time: mean, time_variance: 4.0 };
/// let stacked = stacked_injections(&[peak(200.0), peak(230.0)], 10.0)?;
/// // From 200 - 4 * 2 to 230 + 4 * 2 s, then the gap.
/// assert!((stacked.window - 46.0).abs() < 1e-9 && (stacked.interval - 56.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn stacked_injections(peaks: &[PeakMoments], gap: f64) -> Result<StackedInjections> {
    not_negative(Quantity::Time, gap)?;
    let (mut start, mut end) = (f64::INFINITY, f64::NEG_INFINITY);
    for peak in peaks {
        positive(Quantity::TimeVariance, peak.time_variance)?;
        let half = WIDTH * peak.standard_deviation();
        (start, end) = (start.min(peak.time - half), end.max(peak.time + half));
    }
    let window = end - start;
    if !window.is_finite() {
        return Err(Error::Domain {
            quantity: Quantity::Time,
            value: window,
            rule: "one peak at least, with a finite time",
        });
    }
    let interval = window + gap;
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the last peak ends after its own width"
    )]
    let on_the_way = (end / interval).ceil() as u32;
    let text = "peaks of the sample that are not in the list, its solvent first of all, may come with those of another injection: look at a \
                single run to its end before";
    Ok(StackedInjections {
        window,
        interval,
        injections_per_day: DAY / interval,
        on_the_way,
        notices: vec![Notice::new(NoticeCode::Estimated, text.to_owned()).about(Quantity::Time)],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::close;

    fn peak(time: f64, sigma: f64) -> PeakMoments {
        PeakMoments {
            time,
            time_variance: sigma * sigma,
        }
    }

    #[test]
    fn a_cycle_is_the_sum_of_its_parts() {
        // 5 mL at 3 mL/min take 100 s.
        let time = cycle_time(300.0, 60.0, 5e-6, 3e-6 / 60.0).unwrap();
        assert!(close(time, 460.0, 1e-12));
        assert!(
            cycle_time(300.0, -1.0, 0.0, 1e-8).is_err()
                && cycle_time(300.0, 0.0, 1e-6, 0.0).is_err()
        );
    }

    #[test]
    fn stacked_peaks_never_meet() {
        let peaks = [peak(100.0, 1.0), peak(180.0, 2.5), peak(120.0, 1.2)];
        let stacked = stacked_injections(&peaks, 2.0).unwrap();
        assert!(close(stacked.window, 190.0 - 96.0, 1e-12));
        assert_eq!(stacked.on_the_way, 2);
        for turn in 1..5 {
            let shift = stacked.interval * f64::from(turn);
            for (one, other) in peaks
                .iter()
                .flat_map(|one| peaks.iter().map(move |other| (one, other)))
            {
                let apart = (other.time + shift - one.time).abs();
                let widths = WIDTH * (one.standard_deviation() + other.standard_deviation());
                assert!(apart >= widths + 2.0 - 1e-9);
            }
        }
        assert!(stacked_injections(&[], 0.0).is_err());
        assert!(stacked_injections(&[peak(1.0, 0.0)], 0.0).is_err());
        assert!(stacked_injections(&peaks, -1.0).is_err());
    }
}
