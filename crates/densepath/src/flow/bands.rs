//! Variances of bands and what they cost: plugs, mixed volumes, time constants, and the share of the plates they take.
//!
//! Variances of parts in series add (law of moments; J. C. Sternberg, Adv. Chromatogr. 2, 205 (1966), from memory). The
//! functions hold for volumes and volume variances as they do for times and time variances.

use crate::fluid::error::{Error, Result, not_negative, positive};
use crate::fluid::quantity::Quantity;

/// Divisor K of the variance `V^2/K` of a rectangular plug.
pub const PLUG: f64 = 12.0;

/// Divisor K of the variance `V^2/K` of a volume that is mixed at once, or of an exponential time constant.
pub const MIXED: f64 = 1.0;

/// Variance of a volume V in m3 (or a time in s): `V^2/K`, with K = 12 for a plug, 1 for a mixed volume and between for
/// real ones.
///
/// *Source*: second moments of the rectangle and of the exponential.
///
/// Errors: 101 for a negative volume or a divisor not above zero.
///
/// ```
/// use densepath::flow::bands::variance;
/// // A plug of 5 uL: V^2/12.
/// assert!((variance(5e-9, 12.0)? - 25e-18 / 12.0).abs() < 1e-30);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn variance(volume: f64, divisor: f64) -> Result<f64> {
    not_negative(Quantity::Volume, volume)?;
    positive(Quantity::Ratio, divisor)?;
    Ok(volume * volume / divisor)
}

/// Volume variance in m6 of a peak at the end of a column: `[V_0 (1 + k)]^2/N`, of a hold-up volume `V_0` in m3, a retention
/// factor k and a plate number N.
///
/// *Source*: definition of the plate number, IUPAC, Pure Appl. Chem. 65, 819 (1993), doi 10.1351/pac199365040819.
///
/// Errors: 101 for a volume or plate number not above zero or a negative retention factor.
///
/// ```
/// use densepath::flow::bands::peak_variance;
/// // 1 mL of hold-up, 10000 plates, k = 2: a standard deviation of 30 uL.
/// assert!((peak_variance(1e-6, 1e4, 2.0)?.sqrt() - 30e-9).abs() < 1e-20);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn peak_variance(hold_up_volume: f64, plate_number: f64, retention_factor: f64) -> Result<f64> {
    positive(Quantity::Volume, hold_up_volume)?;
    positive(Quantity::PlateNumber, plate_number)?;
    not_negative(Quantity::RetentionFactor, retention_factor)?;
    let volume = hold_up_volume * (1.0 + retention_factor);
    Ok(volume * volume / plate_number)
}

/// Share of the plates lost to a variance outside the column: `s_ec/(s_column + s_ec)`.
///
/// Errors: 101 for a column variance not above zero or a negative extra-column variance.
///
/// ```
/// use densepath::flow::bands::plate_loss;
/// // A tenth of the column's variance outside of it costs a tenth over 1.1 of the plates.
/// assert!((plate_loss(1.0e-15, 1.0e-16)? - 0.1 / 1.1).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn plate_loss(column_variance: f64, extra_column_variance: f64) -> Result<f64> {
    positive(Quantity::VolumeVariance, column_variance)?;
    not_negative(Quantity::VolumeVariance, extra_column_variance)?;
    Ok(extra_column_variance / (column_variance + extra_column_variance))
}

/// Largest variance outside the column that costs no more than a share theta of the plates:
/// `s_column theta/(1 - theta)`.
///
/// Errors: 101 for a variance not above zero or a share outside ]0, 1[.
///
/// ```
/// use densepath::flow::bands::{allowed_variance, plate_loss};
/// let allowed = allowed_variance(9e-16, 0.1)?;
/// assert!((plate_loss(9e-16, allowed)? - 0.1).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn allowed_variance(column_variance: f64, share: f64) -> Result<f64> {
    positive(Quantity::VolumeVariance, column_variance)?;
    if share > 0.0 && share < 1.0 {
        Ok(column_variance * share / (1.0 - share))
    } else {
        Err(Error::Domain {
            quantity: Quantity::Ratio,
            value: share,
            rule: "between 0 and 1",
        })
    }
}

/// Largest volume in m3 whose variance `V^2/K` costs no more than a share theta of the plates:
/// `sqrt(K s_column theta/(1 - theta))`, with K = 12 the largest plug to inject.
///
/// Errors: those of [`allowed_variance`], and 101 for a divisor not above zero.
///
/// ```
/// use densepath::flow::bands::{allowed_variance, largest_volume, variance};
/// let plug = largest_volume(9e-16, 0.05, 12.0)?;
/// assert!((variance(plug, 12.0)? / allowed_variance(9e-16, 0.05)? - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn largest_volume(column_variance: f64, share: f64, divisor: f64) -> Result<f64> {
    positive(Quantity::Ratio, divisor)?;
    Ok((divisor * allowed_variance(column_variance, share)?).sqrt())
}

/// Width in s of the largest plug that costs no more than a share theta of the plates N of a peak of the retention time `t_R` in s:
/// `sqrt(12 t_R^2/N theta/(1 - theta))`. Times the flow rate at the injector it is the largest volume to inject.
///
/// Errors: 101 for a time or plate number not above zero; those of [`allowed_variance`].
///
/// ```
/// use densepath::flow::bands::{allowed_variance, largest_plug, variance};
/// // A peak at 180 s with 10000 plates is 1.8 s wide.
/// let plug = largest_plug(180.0, 1e4, 0.05)?;
/// assert!((variance(plug, 12.0)? / allowed_variance(1.8 * 1.8, 0.05)? - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn largest_plug(retention_time: f64, plate_number: f64, share: f64) -> Result<f64> {
    positive(Quantity::RetentionTime, retention_time)?;
    positive(Quantity::PlateNumber, plate_number)?;
    largest_volume(retention_time * retention_time / plate_number, share, PLUG)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;
    use std::f64::consts::PI;

    /// Length, bore, total porosity, N and k, then in microlitres: hold-up volume, peak variance, largest plug for 5 %
    /// and 10 % of the plates, variance allowed for 10 %, largest mixed volume for 5 % (independent arithmetic).
    const COLUMNS: [([f64; 5], [f64; 6]); 3] = [
        (
            [0.25, 4.6e-3, 0.7, 20_000.0, 2.0],
            [2908.33, 3806.27, 49.0302, 71.2392, 422.919, 14.153_8],
        ),
        (
            [0.15, 3.0e-3, 0.7, 30_000.0, 2.0],
            [742.201, 165.259, 10.2164, 14.844, 18.362_1, 2.94921],
        ),
        (
            [0.10, 2.1e-3, 0.7, 20_000.0, 2.0],
            [242.452, 26.4524, 4.08739, 5.93885, 2.93916, 1.17993],
        ),
    ];

    #[test]
    fn the_budgets_of_three_columns_agree_with_independent_arithmetic() {
        let ul = 1e-9;
        for ([length, d, porosity, plates, k], expected) in COLUMNS {
            let hold_up = 0.25 * PI * d * d * length * porosity;
            let peak = peak_variance(hold_up, plates, k).unwrap();
            let ours = [
                hold_up / ul,
                peak / ul / ul,
                largest_volume(peak, 0.05, PLUG).unwrap() / ul,
                largest_volume(peak, 0.10, PLUG).unwrap() / ul,
                allowed_variance(peak, 0.10).unwrap() / ul / ul,
                largest_volume(peak, 0.05, MIXED).unwrap() / ul,
            ];
            for (ours, expected) in ours.iter().zip(expected) {
                assert!(close(*ours, expected, 1e-5), "{ours} against {expected}");
            }
        }
    }

    #[test]
    fn a_volume_of_the_allowed_variance_costs_the_share_it_was_asked_for() {
        let v = largest_volume(165e-18, 0.07, 5.0).unwrap();
        let loss = plate_loss(165e-18, variance(v, 5.0).unwrap()).unwrap();
        assert!(close(loss, 0.07, 1e-14));
        // An open tube of 50 um and 10 m with 40000 plates: 227 nL cost 10 % at k = 1, 113 nL at k = 0.
        let hold_up = 0.25 * PI * 25e-10 * 10.0;
        let peak = |k: f64| peak_variance(hold_up, 40_000.0, k).unwrap();
        assert!(close(peak(1.0).sqrt(), 196.35e-12, 1e-5));
        assert!(close(
            largest_volume(peak(1.0), 0.1, PLUG).unwrap(),
            226.725e-12,
            1e-5
        ));
        assert!(close(
            largest_volume(peak(0.0), 0.01, PLUG).unwrap(),
            34.1801e-12,
            1e-5
        ));
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(variance(-1.0, 12.0).is_err() && variance(1.0, 0.0).is_err());
        assert!(allowed_variance(1.0, 1.0).is_err() && allowed_variance(1.0, f64::NAN).is_err());
        assert!(peak_variance(1.0, 0.0, 1.0).is_err() && plate_loss(0.0, 1.0).is_err());
        assert_eq!(plate_loss(1.0, 0.0), Ok(0.0));
    }
}
