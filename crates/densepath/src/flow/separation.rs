//! How well peaks are apart: plate numbers, selectivity, resolution, peak capacity, the critical pair.

use crate::fluid::error::{Error, Result, not_negative, positive};
use crate::fluid::quantity::Quantity;

/// A recorded peak by its moments.
///
/// ```
/// use densepath::flow::separation::PeakMoments;
/// assert_eq!(PeakMoments { time: 180.0, time_variance: 4.0 }.standard_deviation(), 2.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PeakMoments {
    /// Mean time t in s.
    pub time: f64,
    /// Variance `sigma_t^2` in s2.
    pub time_variance: f64,
}

impl PeakMoments {
    /// Standard deviation in s.
    ///
    /// ```
    /// use densepath::flow::separation::PeakMoments;
    /// assert_eq!(PeakMoments { time: 180.0, time_variance: 9.0 }.standard_deviation(), 3.0);
    /// ```
    pub fn standard_deviation(&self) -> f64 {
        self.time_variance.sqrt()
    }
}

/// Fraction of the time that a solute of the retention factor k spends in the mobile phase: `R = 1/(1 + k)`.
///
/// *Source*: IUPAC, Pure Appl. Chem. 65, 819 (1993), doi 10.1351/pac199365040819.
///
/// Errors: 101 for a negative retention factor.
///
/// ```
/// use densepath::flow::separation::retardation_factor;
/// // A solute with k = 3 spends a quarter of its time in the mobile phase.
/// assert_eq!(retardation_factor(3.0)?, 0.25);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn retardation_factor(retention_factor: f64) -> Result<f64> {
    not_negative(Quantity::RetentionFactor, retention_factor).map(|k| 1.0 / (1.0 + k))
}

/// Plate number `N = 8 ln 2 (t_R/w_h)^2` of a Gaussian peak of the retention time `t_R` and the width `w_h` at half height,
/// both in s.
///
/// *Source*: IUPAC, Pure Appl. Chem. 65, 819 (1993), doi 10.1351/pac199365040819.
///
/// Errors: 101 for an argument not above zero.
///
/// ```
/// use densepath::flow::separation::plate_number_at_half_height;
/// // 8 ln 2 = 5.545
/// assert!((plate_number_at_half_height(100.0, 1.0)? / 55_450.0 - 1.0).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn plate_number_at_half_height(retention_time: f64, width: f64) -> Result<f64> {
    let ratio =
        positive(Quantity::RetentionTime, retention_time)? / positive(Quantity::Time, width)?;
    Ok(8.0 * std::f64::consts::LN_2 * ratio * ratio)
}

/// Compressibility correction `j = 3 (P^2 - 1)/[2 (P^3 - 1)]` of an ideal gas with the ratio P of inlet to outlet pressure:
/// mean over outlet velocity.
///
/// *Valid*: ideal gases only; the march knows better for dense fluids. *Source*: A. T. James and A. J. P. Martin, Biochem.
/// J. 50, 679 (1952), doi 10.1042/bj0500679.
///
/// Errors: 101 for a ratio below 1.
///
/// ```
/// use densepath::flow::separation::compressibility_correction;
/// // James and Martin: 3 (P^2 - 1)/(2 (P^3 - 1)), so 9/14 at P = 2.
/// assert!((compressibility_correction(2.0)? - 9.0 / 14.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn compressibility_correction(pressure_ratio: f64) -> Result<f64> {
    let p = pressure_ratio;
    if p.is_nan() || p < 1.0 {
        return Err(Error::Domain {
            quantity: Quantity::Ratio,
            value: p,
            rule: "at least 1",
        });
    }
    // (P - 1) divided out, so that equal pressures give 1.
    Ok(1.5 * (p + 1.0) / (p * p + p + 1.0))
}

/// Selectivity `alpha = k_2/k_1` of two retention factors, the larger over the smaller.
///
/// Errors: 101 for a retention factor not above zero.
///
/// ```
/// use densepath::flow::separation::selectivity;
/// assert_eq!(selectivity(2.0, 3.0)?, 1.5);
/// assert_eq!(selectivity(3.0, 2.0)?, 1.5);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn selectivity(one: f64, other: f64) -> Result<f64> {
    positive(Quantity::RetentionFactor, one)?;
    positive(Quantity::RetentionFactor, other)?;
    Ok(one.max(other) / one.min(other))
}

/// Resolution `R_s = (t_2 - t_1)/[2 (sigma_1 + sigma_2)]` of two peaks, of which the first elutes first.
///
/// *Source*: IUPAC, Pure Appl. Chem. 65, 819 (1993), doi 10.1351/pac199365040819, with base widths of four standard
/// deviations.
///
/// Errors: 101 for a variance not above zero.
///
/// ```
/// use densepath::flow::separation::{PeakMoments, resolution};
/// let peak = |time| PeakMoments { time, time_variance: 4.0 };
/// // Six standard deviations apart: baseline resolution, 1.5.
/// assert!((resolution(&peak(180.0), &peak(192.0))? - 1.5).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn resolution(first: &PeakMoments, second: &PeakMoments) -> Result<f64> {
    positive(Quantity::TimeVariance, first.time_variance)?;
    positive(Quantity::TimeVariance, second.time_variance)?;
    Ok((second.time - first.time)
        / (2.0 * (first.standard_deviation() + second.standard_deviation())))
}

/// Resolution expected of N plates at the selectivity alpha and the retention factor k of the later peak:
/// `R_s = sqrt(N)/4 (alpha - 1)/alpha k/(1 + k)`.
///
/// *Valid*: peaks of the same width. *Source*: J. H. Purnell, J. Chem. Soc. 1960, 1268, doi 10.1039/JR9600001268.
///
/// Errors: 101 for an argument not above zero or a selectivity below 1.
///
/// ```
/// use densepath::flow::separation::expected_resolution;
/// // Four times the plates, twice the resolution.
/// let (few, many) = (expected_resolution(1e4, 1.1, 3.0)?, expected_resolution(4e4, 1.1, 3.0)?);
/// assert!((many / few - 2.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn expected_resolution(
    plate_number: f64,
    selectivity: f64,
    retention_factor: f64,
) -> Result<f64> {
    positive(Quantity::PlateNumber, plate_number)?;
    Ok(plate_number.sqrt() * resolution_per_root(selectivity, retention_factor)?)
}

/// Plate number that a resolution needs: the law of [`expected_resolution`] turned round.
///
/// Errors: 101 for an argument not above zero or a selectivity not above 1.
///
/// ```
/// use densepath::flow::separation::{expected_resolution, plates_for_resolution};
/// let plates = plates_for_resolution(1.5, 1.1, 3.0)?;
/// assert!((expected_resolution(plates, 1.1, 3.0)? - 1.5).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn plates_for_resolution(
    resolution: f64,
    selectivity: f64,
    retention_factor: f64,
) -> Result<f64> {
    positive(Quantity::Ratio, resolution)?;
    let root = resolution_per_root(selectivity, retention_factor)?;
    positive(Quantity::Ratio, selectivity - 1.0)?;
    Ok((resolution / root).powi(2))
}

fn resolution_per_root(selectivity: f64, retention_factor: f64) -> Result<f64> {
    not_negative(Quantity::Ratio, selectivity - 1.0)?;
    let k = positive(Quantity::RetentionFactor, retention_factor)?;
    Ok(0.25 * (selectivity - 1.0) / selectivity * k / (1.0 + k))
}

/// Number of peaks that fit side by side, each four standard deviations wide, between the hold-up time `t_M` and the time t
/// of the last, both in s, at a constant plate number N: `1 + sqrt(N)/4 ln(t/t_M)`.
///
/// *Source*: J. C. Giddings, Anal. Chem. 39, 1027 (1967), doi 10.1021/ac60252a025 (from memory).
///
/// Errors: 101 for an argument not above zero or a last time before the first.
///
/// ```
/// use densepath::flow::separation::isocratic_peak_capacity;
/// assert!(isocratic_peak_capacity(1e4, 60.0, 600.0)? > isocratic_peak_capacity(1e4, 60.0, 300.0)?);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn isocratic_peak_capacity(
    plate_number: f64,
    hold_up_time: f64,
    last_time: f64,
) -> Result<f64> {
    positive(Quantity::PlateNumber, plate_number)?;
    positive(Quantity::HoldUpTime, hold_up_time)?;
    not_negative(Quantity::Time, last_time - hold_up_time)?;
    Ok(1.0 + 0.25 * plate_number.sqrt() * (last_time / hold_up_time).ln())
}

/// Number of peaks that fit side by side between the first and the last of the peaks given:
/// `1 + integral of dt/(4 sigma_t)`, with the width between two peaks linear in time. For programmed runs, where widths do
/// not grow with time.
///
/// *Source*: definition, as for [`isocratic_peak_capacity`].
///
/// Errors: 101 for a variance not above zero.
///
/// ```
/// use densepath::flow::separation::{PeakMoments, peak_capacity};
/// let peak = |time| PeakMoments { time, time_variance: 4.0 };
/// // A narrower spread of peaks holds fewer.
/// assert!(peak_capacity(&[peak(100.0), peak(300.0)])? > peak_capacity(&[peak(100.0), peak(200.0)])?);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn peak_capacity(peaks: &[PeakMoments]) -> Result<f64> {
    let mut sorted = peaks.to_vec();
    sorted.sort_by(|one, other| one.time.total_cmp(&other.time));
    let mut capacity = 1.0;
    for pair in sorted.windows(2) {
        let [first, second] = pair else { continue };
        let (a, b) = (
            positive(Quantity::TimeVariance, first.time_variance)?.sqrt(),
            positive(Quantity::TimeVariance, second.time_variance)?.sqrt(),
        );
        // Integral of dt/sigma with sigma linear from a to b: dt ln(b/a)/(b - a), which tends to dt/a.
        let bend = (b - a) / a;
        let mean = if bend.abs() < 1e-6 {
            (1.0 - 0.5 * bend) / a
        } else {
            bend.ln_1p() / (b - a)
        };
        capacity += 0.25 * (second.time - first.time) * mean;
    }
    Ok(capacity)
}

/// The two neighbours that are least apart.
///
/// ```
/// use densepath::flow::separation::{PeakMoments, critical_pair};
/// let peak = |time| PeakMoments { time, time_variance: 4.0 };
/// let worst = critical_pair(&[peak(100.0), peak(112.0), peak(180.0)])?;
/// assert!(worst.is_some_and(|pair| (pair.resolution - 1.5).abs() < 1e-12));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CriticalPair {
    /// Index of the earlier peak in the list given.
    pub first: usize,
    /// Index of the later peak.
    pub second: usize,
    /// Their resolution.
    pub resolution: f64,
}

/// The neighbours in time with the smallest resolution; nothing for fewer than two peaks.
///
/// Errors: 101 for a variance not above zero.
///
/// ```
/// use densepath::flow::separation::{PeakMoments, critical_pair};
/// assert_eq!(critical_pair(&[PeakMoments { time: 180.0, time_variance: 4.0 }])?, None);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn critical_pair(peaks: &[PeakMoments]) -> Result<Option<CriticalPair>> {
    let mut order: Vec<(usize, &PeakMoments)> = peaks.iter().enumerate().collect();
    order.sort_by(|(_, one), (_, other)| one.time.total_cmp(&other.time));
    let mut worst: Option<CriticalPair> = None;
    for pair in order.windows(2) {
        let [(first, a), (second, b)] = pair else {
            continue;
        };
        let pair = CriticalPair {
            first: *first,
            second: *second,
            resolution: resolution(a, b)?,
        };
        if worst.is_none_or(|known| pair.resolution < known.resolution) {
            worst = Some(pair);
        }
    }
    Ok(worst)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;

    fn peak(time: f64, plates: f64) -> PeakMoments {
        PeakMoments {
            time,
            time_variance: time * time / plates,
        }
    }

    #[test]
    fn laws_turned_round_agree_with_themselves() {
        assert_eq!(compressibility_correction(1.0), Ok(1.0));
        let plates = plates_for_resolution(1.5, 1.1, 2.0).unwrap();
        assert!(close(
            expected_resolution(plates, 1.1, 2.0).unwrap(),
            1.5,
            1e-14
        ));
    }

    #[test]
    fn peaks_of_one_width_have_the_expected_resolution() {
        // Two peaks of k = 2 and 2.01, so near that their widths agree: the law of Purnell to first order in the distance.
        let (n, t_m) = (10_000.0, 60.0);
        let ours = resolution(&peak(3.0 * t_m, n), &peak(3.01 * t_m, n)).unwrap();
        assert!(close(
            ours,
            expected_resolution(n, 1.005, 2.005).unwrap(),
            1e-2
        ));
    }

    #[test]
    fn capacity_of_constant_plates_is_the_logarithm_of_time() {
        let n = 12_000.0;
        let closed = isocratic_peak_capacity(n, 60.0, 600.0).unwrap();
        let peaks = [peak(600.0, n), peak(60.0, n)];
        assert!(close(peak_capacity(&peaks).unwrap(), closed, 1e-12));
        let even = [
            PeakMoments {
                time: 0.0,
                time_variance: 1.0,
            },
            PeakMoments {
                time: 40.0,
                time_variance: 1.0,
            },
        ];
        assert!(close(peak_capacity(&even).unwrap(), 11.0, 1e-12));
    }

    #[test]
    fn the_critical_pair_is_found_whatever_the_order() {
        let peaks = [
            peak(200.0, 1e4),
            peak(100.0, 1e4),
            peak(203.0, 1e4),
            peak(300.0, 1e4),
        ];
        let pair = critical_pair(&peaks).unwrap().unwrap();
        assert_eq!((pair.first, pair.second), (0, 2));
        assert!(close(pair.resolution, 3.0 / (2.0 * (2.0 + 2.03)), 1e-12));
        assert_eq!(critical_pair(&peaks[..1]), Ok(None));
        assert_eq!(selectivity(2.0, 3.0), selectivity(3.0, 2.0));
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(expected_resolution(1e4, 0.9, 2.0).is_err());
        assert!(plates_for_resolution(1.5, 1.0, 2.0).is_err());
        assert!(
            compressibility_correction(0.5).is_err()
                && compressibility_correction(f64::NAN).is_err()
        );
        assert!(isocratic_peak_capacity(1e4, 60.0, 50.0).is_err());
        let flat = PeakMoments {
            time: 1.0,
            time_variance: 0.0,
        };
        assert!(critical_pair(&[flat, flat]).is_err() && peak_capacity(&[flat, flat]).is_err());
    }
}
