//! The sum of what all parts do to the band.

use fluid::Result;

use crate::flow::bands::largest_plug;
use crate::flow::peak::{Peak, Tail};
use crate::fluid;
use crate::hardware::{BandShare, Role};

/// One line of the budget.
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let rows = solution.bands.map(|bands| bands.rows).unwrap_or_default();
/// // Most of the variance should come from the column.
/// let most = rows.iter().max_by(|one, other| one.share.total_cmp(&other.share));
/// assert_eq!(most.map(|row| row.part.as_str()), Some("column"));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct BandRow {
    /// Name of the part.
    pub part: String,
    /// Time the solute spends in it, in s.
    pub time: f64,
    /// Variance it adds, sigma_t^2, in s2; not a number where no law tells it, which a notice says then.
    pub time_variance: f64,
    /// Share of the sum of all variances.
    pub share: f64,
    /// Smallest and largest variance in s2 where the law leaves a bracket.
    pub bracket: Option<(f64, f64)>,
    /// Plugs and decays of the part; all else is taken as Gaussian.
    pub tails: Vec<Tail>,
}

/// Variances in time from the injection to the detector. They add because the parts act independently one after the
/// other in a steady flow (Sternberg, Adv. Chromatogr. 2, 205 (1966), from memory).
///
/// ```
/// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
/// let bands = solution.bands.as_ref();
/// // The shares of the parts make up the whole.
/// assert!(bands.is_some_and(|bands| (bands.rows.iter().map(|row| row.share).sum::<f64>() - 1.0).abs() < 1e-9));
/// // The band is never narrower than the column alone makes it.
/// assert!(bands.is_some_and(|bands| bands.apparent_plate_number <= bands.column_plate_number));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct BandBudget {
    /// Name of the solute.
    pub solute: String,
    /// One row a part.
    pub rows: Vec<BandRow>,
    /// Sum of the variances in s2; not a number, as all that follows from it, where one of them is not.
    pub time_variance: f64,
    /// Time from injection to detection in s.
    pub time: f64,
    /// Retention time t_R on the columns in s.
    pub retention_time: f64,
    /// Hold-up time t_M of the columns in s.
    pub hold_up_time: f64,
    /// Retention factor k = (t_R - t_M) / t_M over the columns.
    pub retention_factor: f64,
    /// Plate number of the columns alone, `t_R^2 / sigma_t^2` with the variance that the columns add.
    pub column_plate_number: f64,
    /// Apparent plate number, `t_R^2 / sigma_t^2` with the variance of all parts.
    pub apparent_plate_number: f64,
}

impl BandBudget {
    /// The recorded peak of unit area, with the mean `time` and the variance `time_variance`.
    ///
    /// Error 101 if the plugs and decays alone exceed the variance, which a budget with a column never shows.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// let bands = solution.bands.as_ref();
    /// let peak = bands.map(|bands| bands.peak()).transpose()?;
    /// assert_eq!(peak.map(|peak| peak.mean()), bands.map(|bands| bands.time));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn peak(&self) -> Result<Peak> {
        let tails: Vec<Tail> = self
            .rows
            .iter()
            .flat_map(|row| &row.tails)
            .copied()
            .collect();
        Peak::of_tails(self.time, self.time_variance, &tails)
    }

    /// Width in s of the largest plug that costs no more than a share of the plates that the columns have; times the flow rate
    /// at the injector it is the largest volume to inject.
    ///
    /// Error 101 for a share outside ]0, 1[.
    ///
    /// ```
    /// let solution = densepath::read_method_file("../../tests/methods/packed.toml")?.solve()?;
    /// let plug = |share| solution.bands.as_ref().map(|bands| bands.largest_plug(share)).transpose();
    /// assert!(plug(0.01)? < plug(0.05)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn largest_plug(&self, share: f64) -> Result<f64> {
        largest_plug(self.retention_time, self.column_plate_number, share)
    }
}

/// What one part does to the band of a solute on its way.
#[derive(Clone)]
pub(super) struct Share {
    pub part: String,
    pub role: Role,
    pub hold_up_time: f64,
    pub band: BandShare,
}

impl BandBudget {
    /// The budget of a band that has passed some parts; nothing without a column that the fluid needs time for.
    pub(super) fn of(solute: &str, shares: &[Share]) -> Option<Self> {
        let on_columns = || shares.iter().filter(|share| share.role == Role::Column);
        let time_variance: f64 = shares.iter().map(|share| share.band.time_variance).sum();
        let column_variance: f64 = on_columns().map(|share| share.band.time_variance).sum();
        let retention_time: f64 = on_columns().map(|share| share.band.time).sum();
        let hold_up_time: f64 = on_columns().map(|share| share.hold_up_time).sum();
        if hold_up_time <= 0.0 {
            return None;
        }
        let rows = shares.iter().map(|Share { part, band, .. }| BandRow {
            part: part.clone(),
            time: band.time,
            time_variance: band.time_variance,
            share: band.time_variance / time_variance,
            bracket: band.bracket,
            tails: band.tails.clone(),
        });
        Some(Self {
            solute: solute.to_owned(),
            rows: rows.collect(),
            time_variance,
            time: shares.iter().map(|share| share.band.time).sum(),
            retention_time,
            hold_up_time,
            retention_factor: retention_time / hold_up_time - 1.0,
            column_plate_number: retention_time * retention_time / column_variance,
            apparent_plate_number: retention_time * retention_time / time_variance,
        })
    }
}
