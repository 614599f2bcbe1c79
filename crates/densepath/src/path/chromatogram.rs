//! The chromatogram: the recorded peaks of all solutes.

use fluid::notice::rounded;
use fluid::{Notice, NoticeCode, Quantity, Result};

use super::band::BandBudget;
use super::solution::Solution;
use crate::flow::peak::Peak;
use crate::flow::recording::{Sampling, record};
use crate::flow::separation::{CriticalPair, PeakMoments, critical_pair, peak_capacity};
use crate::fluid;

/// Samples over four standard deviations of a peak below which its shape suffers: 20 to 40 are common practice, no source.
const FEWEST_SAMPLES: f64 = 20.0;

/// One peak of a chromatogram.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let peaks = solution.recorded_peaks([2.0])?;
/// assert_eq!((peaks[0].solute.as_str(), peaks[0].area), ("invented aromatic", 2.0));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct RecordedPeak {
    /// Name of the solute.
    pub solute: String,
    /// Area: signal times s.
    pub area: f64,
    /// Its profile, of unit area.
    pub peak: Peak,
}

impl RecordedPeak {
    /// The peaks of budgets, each of an area of its own, which is 1 where no other is given.
    pub(super) fn of_budgets(
        budgets: &[BandBudget],
        areas: impl IntoIterator<Item = f64>,
    ) -> Result<Vec<Self>> {
        let areas = areas.into_iter().chain(std::iter::repeat(1.0));
        let pairs = budgets.iter().zip(areas);
        pairs
            .map(|(budget, area)| {
                Ok(Self {
                    solute: budget.solute.clone(),
                    area,
                    peak: budget.peak()?,
                })
            })
            .collect()
    }

    /// Mean time and variance.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// let peak = &solution.recorded_peaks([1.0])?[0];
    /// assert_eq!((peak.moments().time, peak.moments().time_variance), (peak.peak.mean(), peak.peak.variance()));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn moments(&self) -> PeakMoments {
        PeakMoments {
            time: self.peak.mean(),
            time_variance: self.peak.variance(),
        }
    }
}

/// What the detector records of one injection, without noise and on a baseline of zero.
///
/// *Valid*: linear chromatography: peaks do not know of each other. *Uncertainty*: the moments are those of the budget; of the
/// shape, a plug and a decay are exact and all other contributions count as Gaussian.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let found = solution.chromatogram([1.0], 0.0, 600.0, 10.0)?;
/// // The highest sample lies near the mean of the peak.
/// let highest = (0..found.signal.len()).max_by(|i, j| found.signal[*i].total_cmp(&found.signal[*j])).unwrap_or(0);
/// let moments = found.peaks[0].moments();
/// assert!((found.sampling.time(highest) - moments.time).abs() < moments.standard_deviation());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Chromatogram {
    /// When the samples are taken; the injection is at time zero.
    pub sampling: Sampling,
    /// The signal at each sample.
    pub signal: Vec<f64>,
    /// The peaks, in the order of the solutes.
    pub peaks: Vec<RecordedPeak>,
    /// Doubts.
    pub notices: Vec<Notice>,
}

impl Chromatogram {
    /// The record of peaks between two times in s at a data rate in Hz.
    ///
    /// Error 101 for a rate not above zero or an end before the start.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// use densepath::path::Chromatogram;
    /// let record = Chromatogram::of(solution.recorded_peaks([1.0])?, 0.0, 600.0, 10.0)?;
    /// assert_eq!(record.signal.len(), record.sampling.count);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn of(peaks: Vec<RecordedPeak>, start: f64, end: f64, data_rate: f64) -> Result<Self> {
        let sampling = Sampling::new(start, end, data_rate)?;
        let pairs: Vec<(Peak, f64)> = peaks.iter().map(|peak| (peak.peak, peak.area)).collect();
        Ok(Self {
            signal: record(&pairs, &sampling)?,
            notices: peaks
                .iter()
                .filter_map(|peak| too_few(peak, data_rate))
                .collect(),
            sampling,
            peaks,
        })
    }

    /// The two neighbours that are least apart, by their places in `peaks`; nothing for fewer than two.
    ///
    /// Error 101 does not occur: every peak has a width.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// // One peak has no neighbour.
    /// assert!(solution.chromatogram([1.0], 0.0, 600.0, 10.0)?.critical_pair()?.is_none());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn critical_pair(&self) -> Result<Option<CriticalPair>> {
        critical_pair(&self.moments())
    }

    /// Number of peaks that fit side by side between the first and the last.
    ///
    /// Error 101 does not occur: every peak has a width.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// // From the first peak to the last, which are the same.
    /// assert!((solution.chromatogram([1.0], 0.0, 600.0, 10.0)?.peak_capacity()? - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn peak_capacity(&self) -> Result<f64> {
        peak_capacity(&self.moments())
    }

    fn moments(&self) -> Vec<PeakMoments> {
        self.peaks.iter().map(RecordedPeak::moments).collect()
    }
}

/// A doubt about a peak with too few samples.
fn too_few(peak: &RecordedPeak, data_rate: f64) -> Option<Notice> {
    let width = 4.0 * peak.moments().standard_deviation();
    let samples = width * data_rate;
    if samples >= FEWEST_SAMPLES {
        return None;
    }
    let text = format!(
        "{} samples fall on the {} s of the peak of {}: 20 to 40 are common practice, for which {} Hz are needed at least",
        rounded(samples),
        rounded(width),
        peak.solute,
        rounded(FEWEST_SAMPLES / width),
    );
    Some(Notice::new(NoticeCode::DetectorUnsuited, text).about(Quantity::Frequency))
}

impl Solution {
    /// The recorded peaks of all solutes, each of an area of its own.
    ///
    /// Error 101 if the plugs and decays of the parts alone exceed a variance.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// // The peak comes when the budget of the bands says.
    /// let peak = &solution.recorded_peaks([1.0])?[0];
    /// let retained = solution.columns[0].hold_up_time;
    /// assert!(peak.peak.mean() > retained);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn recorded_peaks(
        &self,
        areas: impl IntoIterator<Item = f64>,
    ) -> Result<Vec<RecordedPeak>> {
        RecordedPeak::of_budgets(&self.bands_of_solutes, areas)
    }

    /// The chromatogram of an injection at time zero, from a start to an end in s at a data rate in Hz; the areas of the peaks
    /// are 1 where no other is given.
    ///
    /// Error 101 for a rate not above zero or an end before the start.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// let peak = solution.recorded_peaks([1.0])?[0].peak.clone();
    /// let record = solution.chromatogram([1.0], 0.0, 2.0 * peak.mean(), 10.0)?;
    /// // The area under the record is that of the peak.
    /// assert!((record.signal.iter().sum::<f64>() * record.sampling.step - 1.0).abs() < 1e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn chromatogram(
        &self,
        areas: impl IntoIterator<Item = f64>,
        start: f64,
        end: f64,
        data_rate: f64,
    ) -> Result<Chromatogram> {
        Chromatogram::of(self.recorded_peaks(areas)?, start, end, data_rate)
    }
}
