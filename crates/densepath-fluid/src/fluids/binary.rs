//! Pairs of substances as data: how their equations combine, on what measurements that rests, and how well it does.
//!
//! A record is found by the names of both substances in either order. It is read when first asked for.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use alloc::borrow::Cow;

use serde::{Deserialize, Serialize};

use super::record::{ExponentialRecord, GaussianRecord, PowerRecord, ResidualRecord, Source};
use super::{Entry, find as find_fluid, record as fluid_record};
use crate::error::{Error, Result};

macro_rules! files {
    ($($name:literal),* $(,)?) => {
        &[$(include_str!(concat!("../../data/binary/", $name, ".json"))),*]
    };
}

/// The data files, one a pair.
const FILES: &[&str] = files![
    "carbon_dioxide+methanol",
    "carbon_dioxide+ethanol",
    "carbon_dioxide+propan-2-ol",
    "carbon_dioxide+acetonitrile",
    "carbon_dioxide+water",
    "carbon_dioxide+acetone",
    "carbon_dioxide+tetrahydrofuran",
    "carbon_dioxide+toluene",
    "carbon_dioxide+n-hexane",
    "carbon_dioxide+n-heptane",
    "carbon_dioxide+ethyl_acetate",
    "carbon_dioxide+propan-1-ol",
    "carbon_dioxide+butan-1-ol",
    "carbon_dioxide+dichloromethane",
    "carbon_dioxide+N,N-dimethylformamide",
    "carbon_dioxide+dimethyl_sulfoxide",
    "carbon_dioxide+cyclohexane",
    "carbon_dioxide+nitrogen",
    "carbon_dioxide+helium",
    "carbon_dioxide+argon",
    "carbon_dioxide+oxygen",
    "carbon_dioxide+ethane",
    "carbon_dioxide+propane",
    "carbon_dioxide+n-butane",
    "carbon_dioxide+n-pentane",
    "carbon_dioxide+dimethyl_ether",
    "carbon_dioxide+nitrous_oxide",
    "carbon_dioxide+trifluoromethane",
    "carbon_dioxide+1,1,1,2-tetrafluoroethane",
    "acetone+ethanol",
    "acetone+methanol",
    "acetone+water",
    "ethanol+methanol",
    "ethanol+water",
    "methanol+water",
];

/// What of each data file has been read.
static READ: [Entry<Names, BinaryRecord>; FILES.len()] = [const { Entry::unread() }; FILES.len()];

/// The names of a pair.
#[derive(Debug, Deserialize)]
struct Names {
    substances: [String; 2],
}

impl Names {
    /// Whether the pair is of these names; true for the order of the file.
    fn order(&self, first: &str, second: &str) -> Option<bool> {
        let [one, two] = &self.substances;
        if one == first && two == second {
            Some(true)
        } else if one == second && two == first {
            Some(false)
        } else {
            None
        }
    }
}

/// Number of the pairs of the library.
///
/// ```
/// use densepath_fluid::fluids::binary;
/// assert!((0..binary::count()).all(|index| binary::record(index).is_ok()));
/// ```
pub const fn count() -> usize {
    FILES.len()
}

/// The record of a pair at an index from 0 to [`count`].
///
/// Error 901 beyond, or if a data file of the library cannot be read, which the tests exclude.
///
/// ```
/// use densepath_fluid::fluids::binary;
/// assert_eq!(binary::record(binary::count()).unwrap_err().code(), 901);
/// ```
pub fn record(index: usize) -> Result<&'static BinaryRecord> {
    let found = READ.get(index).zip(FILES.get(index));
    let (entry, text) = found.ok_or(UNREADABLE)?;
    entry.record(text)
}

const UNREADABLE: Error = Error::Internal {
    place: "the data files of the pairs of substances",
};

/// The record of two substances told by their names or other names, turned so that `first` is its first substance; none
/// where the pair is not known.
///
/// Error 901 if a data file of the library cannot be read, which the tests exclude.
///
/// ```
/// use densepath_fluid::fluids::binary;
/// // Turned as it is asked.
/// let turned = binary::find("methanol", "CO2")?;
/// assert!(turned.is_some_and(|pair| pair.substances == ["methanol", "carbon dioxide"]));
/// assert!(binary::find("helium", "acetic acid")?.is_none());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn find(first: &str, second: &str) -> Result<Option<Cow<'static, BinaryRecord>>> {
    let (first, second) = (in_words(first), in_words(second));
    for (entry, text) in READ.iter().zip(FILES) {
        let Some(same_order) = entry.head(text)?.order(&first, &second) else {
            continue;
        };
        let record = entry.record(text)?;
        return Ok(Some(if same_order {
            Cow::Borrowed(record)
        } else {
            Cow::Owned(record.reversed())
        }));
    }
    Ok(None)
}

/// The name in words of a substance with a reference equation; any other name as it is.
fn in_words(name: &str) -> Cow<'_, str> {
    match find_fluid(name).and_then(fluid_record) {
        Ok(record) => Cow::Borrowed(&record.name),
        Err(_) => Cow::Owned(name.trim().to_lowercase()),
    }
}

/// Two substances.
///
/// ```
/// let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// assert!(pair.multi_fluid.is_some() && pair.cubic.is_some());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BinaryRecord {
    /// Names in words. Every amount fraction of the record is that of the first.
    pub substances: [String; 2],
    /// How their reference equations combine.
    pub multi_fluid: Option<MultiFluidRecord>,
    /// How they combine in the cubic equation.
    pub cubic: Option<CubicPairRecord>,
}

impl BinaryRecord {
    /// The same with the substances in the other order.
    ///
    /// ```
    /// let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
    ///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
    /// };
    /// // Twice turned is as it was.
    /// assert_eq!(pair.reversed().reversed().substances, pair.substances);
    /// assert_eq!(pair.reversed().substances[0], "methanol");
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    #[must_use]
    pub fn reversed(&self) -> Self {
        let [first, second] = self.substances.clone();
        Self {
            substances: [second, first],
            multi_fluid: self.multi_fluid.as_ref().map(MultiFluidRecord::reversed),
            cubic: self.cubic.as_ref().map(CubicPairRecord::reversed),
        }
    }
}

/// Parameters of a pair in the multi-fluid Helmholtz energy.
///
/// ```
/// let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// assert!(pair.multi_fluid.as_ref().is_some_and(|equation| !equation.source.authors.is_empty()));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MultiFluidRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where the parameters come from.
    pub source: Source,
    /// Whether smooth stand-ins take the common variables, see [`crate::eos::multifluid`].
    pub smooth: bool,
    /// The reducing functions.
    pub reducing: ReducingRecord,
    /// What is added to the equations of the substances.
    #[serde(default)]
    pub departures: Vec<DepartureRecord>,
    /// What is added from an excess Gibbs energy.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub excess: Option<ExcessRecord>,
    /// Lowest pressure in Pa at which dense mixtures were found unstable at some temperature though no parting is known; none
    /// up to 800 MPa where it is absent. Found with steps of a hundredth in density (`tests/dense_pairs.rs`), so that the limit
    /// itself may lie a fifth lower.
    #[serde(
        default,
        rename = "false_limit_of_stability / Pa",
        skip_serializing_if = "Option::is_none"
    )]
    pub false_limit: Option<f64>,
    /// The measurements behind it; none where none were compared.
    pub evidence: Option<EvidenceRecord>,
}

/// Share of the pressure of a false limit of stability up to which an equation is trusted that was compared with no measurement.
const SHORT_OF_LIMIT: f64 = 0.8;

impl MultiFluidRecord {
    /// Highest pressure in Pa at which the equation is trusted, if less than that of its substances. Where measurements were
    /// compared, their box tells it.
    ///
    /// ```
    /// let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
    ///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
    /// };
    /// // Trusted as far as any column is run.
    /// let highest = pair.multi_fluid.as_ref().and_then(|equation| equation.pressure_max());
    /// assert!(highest.is_none_or(|pressure| pressure > 40e6));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn pressure_max(&self) -> Option<f64> {
        let limit = self.false_limit.filter(|_| self.evidence.is_none())?;
        Some(SHORT_OF_LIMIT * limit)
    }

    fn reversed(&self) -> Self {
        Self {
            reducing: self.reducing.reversed(),
            departures: self
                .departures
                .iter()
                .map(DepartureRecord::reversed)
                .collect(),
            excess: self.excess.as_ref().map(ExcessRecord::reversed),
            evidence: self.evidence.as_ref().map(EvidenceRecord::reversed),
            ..self.clone()
        }
    }
}

/// Parameters of a pair in the translated cubic equation, see [`crate::eos::cubic`].
///
/// ```
/// let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// // Unlike molecules attract each other less than the mean of both.
/// assert!(pair.cubic.as_ref().is_some_and(|cubic| cubic.k_0 + cubic.k_1 / 313.15 > 0.0));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CubicPairRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where the parameters come from, and with which attractions of the pure substances.
    pub source: Source,
    /// Constant part of k_ij, dimensionless.
    pub k_0: f64,
    /// Part of k_ij inversely proportional to temperature, in K: `k_ij = k_0 + k_1/T`.
    #[serde(rename = "k_1 / K")]
    pub k_1: f64,
    /// `l_ij`, dimensionless.
    pub l: f64,
    /// The measurements behind it; none where none were compared.
    pub evidence: Option<EvidenceRecord>,
}

impl CubicPairRecord {
    fn reversed(&self) -> Self {
        Self {
            evidence: self.evidence.as_ref().map(EvidenceRecord::reversed),
            ..self.clone()
        }
    }
}

/// What stands behind the parameters of a pair.
///
/// ```
/// # let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
/// #     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// # };
/// let Some(evidence) = pair.multi_fluid.as_ref().and_then(|equation| equation.evidence.as_ref()) else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// assert!(!evidence.data.is_empty() && !evidence.deviations.is_empty());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EvidenceRecord {
    /// The box around the measurements.
    pub valid: PairRange,
    /// Series of measurements.
    pub data: Vec<SeriesRecord>,
    /// Deviations of all series together, region by region.
    pub deviations: Vec<DeviationRecord>,
    /// What to expect of the results.
    pub uncertainty: PairUncertainty,
}

impl EvidenceRecord {
    fn reversed(&self) -> Self {
        Self {
            valid: self.valid.reversed(),
            ..self.clone()
        }
    }
}

/// A box of temperature, pressure and composition.
///
/// ```
/// # let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
/// #     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// # };
/// let Some(evidence) = pair.multi_fluid.as_ref().and_then(|equation| equation.evidence.as_ref()) else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// assert!(evidence.valid.temperature_min < evidence.valid.temperature_max && evidence.valid.fraction_min < evidence.valid.fraction_max);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PairRange {
    /// Lowest temperature in K.
    #[serde(rename = "T_min / K")]
    pub temperature_min: f64,
    /// Highest temperature in K.
    #[serde(rename = "T_max / K")]
    pub temperature_max: f64,
    /// Highest pressure in Pa.
    #[serde(rename = "p_max / Pa")]
    pub pressure_max: f64,
    /// Least amount fraction of the first substance.
    #[serde(rename = "x_min")]
    pub fraction_min: f64,
    /// Greatest amount fraction of the first substance.
    #[serde(rename = "x_max")]
    pub fraction_max: f64,
}

impl PairRange {
    /// Whether a state lies in the box.
    ///
    /// ```
    /// # let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
    /// #     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
    /// # };
    /// let Some(evidence) = pair.multi_fluid.as_ref().and_then(|equation| equation.evidence.as_ref()) else {
    ///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
    /// };
    /// // The measurements reach to 120 bar and to four fifths of carbon dioxide.
    /// assert!(evidence.valid.contains(313.15, 100e5, 0.7) && !evidence.valid.contains(313.15, 150e5, 0.7));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn contains(&self, temperature: f64, pressure: f64, first_fraction: f64) -> bool {
        (self.temperature_min..=self.temperature_max).contains(&temperature)
            && pressure <= self.pressure_max
            && (self.fraction_min..=self.fraction_max).contains(&first_fraction)
    }

    fn reversed(self) -> Self {
        Self {
            fraction_min: 1.0 - self.fraction_max,
            fraction_max: 1.0 - self.fraction_min,
            ..self
        }
    }
}

/// What a series of measurements was used for.
///
/// ```
/// # let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
/// #     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// # };
/// let Some(evidence) = pair.multi_fluid.as_ref().and_then(|equation| equation.evidence.as_ref()) else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// use densepath_fluid::fluids::binary::Role;
/// // Some series were fitted, and the deviations are told of those kept apart too.
/// assert!(evidence.data.iter().any(|series| series.role == Role::Fitted));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// The parameters were fitted to it.
    Fitted,
    /// It was kept apart to judge the fit by.
    KeptApart,
    /// It disagrees with all others; shown, not used.
    LeftOut,
}

/// One series of measurements.
///
/// ```
/// # let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
/// #     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// # };
/// let Some(evidence) = pair.multi_fluid.as_ref().and_then(|equation| equation.evidence.as_ref()) else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// assert!(evidence.data.iter().all(|series| !series.source.is_empty()));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SeriesRecord {
    /// Quantity in words.
    pub quantity: String,
    /// Authors or the collection it was read in.
    pub source: String,
    /// Digital object identifier; empty where it is not known.
    #[serde(default)]
    pub doi: String,
    /// What it was used for.
    pub role: Role,
    /// Weight of the series in the fit, relative to the others of its quantity.
    pub weight: f64,
    /// How the equation deviates from it.
    pub deviation: Deviation,
}

/// Deviations in a region.
///
/// ```
/// # let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
/// #     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// # };
/// let Some(evidence) = pair.multi_fluid.as_ref().and_then(|equation| equation.evidence.as_ref()) else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// assert!(evidence.deviations.iter().all(|told| !told.quantity.is_empty() && !told.region.is_empty()));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviationRecord {
    /// Quantity in words.
    pub quantity: String,
    /// Region in words.
    pub region: String,
    /// How the equation deviates in it.
    pub deviation: Deviation,
}

/// Relative deviations of calculated from measured values.
///
/// ```
/// # let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
/// #     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// # };
/// let Some(evidence) = pair.multi_fluid.as_ref().and_then(|equation| equation.evidence.as_ref()) else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// // A bias is never larger than the mean of the sizes.
/// assert!(evidence.deviations.iter().all(|told| told.deviation.bias.abs() <= told.deviation.mean * (1.0 + 1e-9)));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Deviation {
    /// Number of values compared.
    pub rows: u32,
    /// Number of values for which the equation has none; not counted in the others.
    #[serde(default)]
    pub without_value: u32,
    /// Median of the sizes.
    pub median: f64,
    /// Mean of the sizes.
    pub mean: f64,
    /// Mean with signs, calculated less measured.
    pub bias: f64,
    /// Greatest of the sizes.
    pub greatest: f64,
}

/// Relative deviation to expect of a result, as a standard uncertainty.
///
/// ```
/// # let Some(pair) = densepath_fluid::fluids::binary::find("carbon dioxide", "methanol")? else {
/// #     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// # };
/// let Some(evidence) = pair.multi_fluid.as_ref().and_then(|equation| equation.evidence.as_ref()) else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// assert!(evidence.uncertainty.bubble_pressure.is_some_and(|relative| relative > 0.0 && relative < 0.1));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PairUncertainty {
    /// How the numbers were found.
    pub note: String,
    /// Density inside the box.
    pub density: Option<f64>,
    /// Density inside the box where `(d ln rho/d ln p)_T` exceeds 1.
    pub density_near_critical: Option<f64>,
    /// Density outside the box.
    pub density_outside: Option<f64>,
    /// Bubble pressure inside the box.
    pub bubble_pressure: Option<f64>,
    /// Bubble pressure outside the box.
    pub bubble_pressure_outside: Option<f64>,
}

/// Parameters of the reducing functions (Kunz and Wagner, J. Chem. Eng. Data 57, 3032 (2012), doi 10.1021/je300655b,
/// eqs. 16 and 17), of the first substance of the file against the second.
///
/// ```
/// use densepath_fluid::fluids::binary::ReducingRecord;
/// let reducing = ReducingRecord { beta_temperature: 1.02, gamma_temperature: 0.95, beta_volume: 1.01, gamma_volume: 1.1 };
/// assert!((reducing.reversed().beta_temperature * 1.02 - 1.0).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReducingRecord {
    /// `beta_T`.
    #[serde(rename = "beta_T")]
    pub beta_temperature: f64,
    /// `gamma_T`.
    #[serde(rename = "gamma_T")]
    pub gamma_temperature: f64,
    /// `beta_v`.
    #[serde(rename = "beta_v")]
    pub beta_volume: f64,
    /// `gamma_v`.
    #[serde(rename = "gamma_v")]
    pub gamma_volume: f64,
}

impl ReducingRecord {
    /// The same for the substances in the other order.
    ///
    /// ```
    /// use densepath_fluid::fluids::binary::ReducingRecord;
    /// let reducing = ReducingRecord { beta_temperature: 1.02, gamma_temperature: 0.95, beta_volume: 1.01, gamma_volume: 1.1 };
    /// // Only the betas know an order: they turn into their inverse.
    /// assert_eq!(reducing.reversed().gamma_volume, 1.1);
    /// assert!((reducing.reversed().reversed().beta_volume / 1.01 - 1.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn reversed(self) -> Self {
        Self {
            beta_temperature: 1.0 / self.beta_temperature,
            beta_volume: 1.0 / self.beta_volume,
            ..self
        }
    }
}

/// `n delta^d tau^t exp(-eta (delta - epsilon)^2 - beta (delta - gamma))`: the special form of Kunz and Wagner 2012, eq. 18.
///
/// ```
/// use densepath_fluid::fluids::binary;
/// // Carbon dioxide and nitrogen have terms of this form (Kunz and Wagner 2012).
/// let pair = binary::find("carbon dioxide", "nitrogen")?.and_then(|pair| pair.multi_fluid.clone());
/// assert!(pair.is_some_and(|pair| pair.departures[0].special.len() == 4));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the symbols of the equation above")]
pub struct SpecialRecord {
    pub n: f64,
    pub t: f64,
    pub d: i32,
    pub eta: f64,
    pub epsilon: f64,
    pub beta: f64,
    pub gamma: f64,
}

impl SpecialRecord {
    /// The term as a bell or, without its width, as an exponential: the exponent is completed to a square.
    fn add_to(self, residual: &mut ResidualRecord) {
        let Self {
            n,
            t,
            d,
            eta,
            epsilon,
            beta,
            gamma,
        } = self;
        if eta == 0.0 {
            residual.exponential.push(ExponentialRecord {
                n: n * (beta * gamma).exp(),
                t,
                d,
                g: beta,
                l: 1,
                h: 0.0,
                m: 0,
            });
        } else {
            let shift = 0.5 * beta / eta;
            residual.gaussian.push(GaussianRecord {
                n: n * (beta * (gamma - epsilon + 0.5 * shift)).exp(),
                t,
                d,
                eta,
                epsilon: epsilon - shift,
                beta: 0.0,
                gamma: 0.0,
            });
        }
    }
}

/// Terms of a departure that share one factor of composition, `x_1 x_2 (x_1 - x_2)^order`.
///
/// ```
/// use densepath_fluid::fluids::{binary::DepartureRecord, record::PowerRecord};
/// let departure = DepartureRecord { order: 1, power: vec![PowerRecord { n: 0.5, t: 1.0, d: 2, l: 1 }], special: Vec::new() };
/// assert_eq!((departure.order, departure.residual().power.len()), (1, 1));
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DepartureRecord {
    /// The order of the factor of composition; 0 gives the factor of Kunz and Wagner 2012, eq. 11.
    pub order: u8,
    /// Polynomial and exponential terms.
    #[serde(default)]
    pub power: Vec<PowerRecord>,
    /// Terms of the special form.
    #[serde(default)]
    pub special: Vec<SpecialRecord>,
}

impl DepartureRecord {
    /// The same for the substances in the other order: `x_1 - x_2` changes its sign.
    ///
    /// ```
    /// use densepath_fluid::fluids::{binary::DepartureRecord, record::PowerRecord};
    /// let departure = DepartureRecord { order: 1, power: vec![PowerRecord { n: 0.5, t: 1.0, d: 2, l: 1 }], special: Vec::new() };
    /// // x_1 - x_2 changes its sign.
    /// assert_eq!(departure.reversed().power[0].n, -0.5);
    /// ```
    #[must_use]
    pub fn reversed(&self) -> Self {
        let sign = if self.order.is_multiple_of(2) {
            1.0
        } else {
            -1.0
        };
        let mut turned = self.clone();
        for term in &mut turned.power {
            term.n *= sign;
        }
        for term in &mut turned.special {
            term.n *= sign;
        }
        turned
    }

    /// All terms in the forms of a pure equation.
    ///
    /// ```
    /// use densepath_fluid::fluids::{binary::DepartureRecord, record::PowerRecord};
    /// let departure = DepartureRecord { order: 1, power: vec![PowerRecord { n: 0.5, t: 1.0, d: 2, l: 1 }], special: Vec::new() };
    /// assert_eq!(departure.residual().power, departure.power);
    /// ```
    pub fn residual(&self) -> ResidualRecord {
        let mut residual = ResidualRecord {
            power: self.power.clone(),
            ..ResidualRecord::default()
        };
        for term in &self.special {
            term.add_to(&mut residual);
        }
        residual
    }
}

/// An excess Gibbs energy over RT at a reduced density, `x_1 x_2 sum n (T_0/T)^t (x_1 - x_2)^order`, and how it fades with
/// density, see `eos/multifluid/excess.rs`.
///
/// ```
/// use densepath_fluid::fluids::binary::{ExcessRecord, ExcessTermRecord};
/// let term = |order, n| ExcessTermRecord { order, t: 1.0, n };
/// let excess = ExcessRecord { temperature: 300.0, delta_0: 2.0, b: 1.0, terms: vec![term(0, 1.5), term(1, 0.2)] };
/// // The odd terms change their sign, the even ones do not.
/// assert_eq!(excess.reversed().terms.iter().map(|term| term.n).collect::<Vec<_>>(), [1.5, -0.2]);
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExcessRecord {
    /// The temperature T_0 in K.
    #[serde(rename = "T_0 / K")]
    pub temperature: f64,
    /// The reduced density at which the energy is that of the terms.
    pub delta_0: f64,
    /// The factor b of the reduced density.
    pub b: f64,
    /// The terms.
    pub terms: Vec<ExcessTermRecord>,
}

/// One term `n (T_0/T)^t x_1 x_2 (x_1 - x_2)^order`.
///
/// ```
/// use densepath_fluid::fluids::binary;
/// // The excess energy of carbon dioxide and acetone begins with a symmetric term.
/// let pair = binary::find("carbon dioxide", "acetone")?.and_then(|pair| pair.multi_fluid.clone());
/// assert!(pair.and_then(|pair| pair.excess).is_some_and(|excess| excess.terms.iter().any(|term| term.order == 0)));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs, reason = "the symbols of the equation above")]
pub struct ExcessTermRecord {
    pub order: u8,
    pub t: f64,
    pub n: f64,
}

impl ExcessRecord {
    /// The same for the substances in the other order: `x_1 - x_2` changes its sign.
    ///
    /// ```
    /// use densepath_fluid::fluids::binary::{ExcessRecord, ExcessTermRecord};
    /// let excess = ExcessRecord { temperature: 300.0, delta_0: 2.0, b: 1.0, terms: vec![ExcessTermRecord { order: 1, t: 1.0, n: 0.2 }] };
    /// assert_eq!(excess.reversed().reversed().terms[0].n, 0.2);
    /// ```
    #[must_use]
    pub fn reversed(&self) -> Self {
        let mut turned = self.clone();
        for term in turned.terms.iter_mut().filter(|term| term.order % 2 == 1) {
            term.n = -term.n;
        }
        turned
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn every_record_reads_and_is_found_in_either_order() {
        let mut seen = HashSet::new();
        for index in 0..count() {
            let known = record(index).unwrap();
            let [first, second] = &known.substances;
            assert!(
                seen.insert([first.clone(), second.clone()]),
                "{first} + {second}"
            );
            assert!(
                !seen.contains(&[second.clone(), first.clone()]),
                "{first} + {second}"
            );
            let (same, turned) = (find(first, second), find(second, first));
            assert_eq!(*same.unwrap().unwrap(), *known);
            assert_eq!(
                turned.unwrap().unwrap().substances,
                [second.clone(), first.clone()]
            );
        }
        assert_eq!(record(count()).unwrap_err().code(), 901);
    }

    #[test]
    fn other_names_are_known_and_unknown_pairs_are_none() {
        let found = find("H2O", "CO2").unwrap().unwrap();
        assert_eq!(found.substances, ["water", "carbon dioxide"]);
        assert_eq!(find("carbon dioxide", "nothing").unwrap(), None);
    }

    /// A paper, or a note that says why there is none.
    #[test]
    fn every_set_of_parameters_tells_its_source() {
        for index in 0..count() {
            let known = record(index).unwrap();
            let sources = [
                known.multi_fluid.as_ref().map(|block| &block.source),
                known.cubic.as_ref().map(|block| &block.source),
            ];
            for source in sources.into_iter().flatten() {
                let unidentified = source.doi.is_empty() && source.note.is_empty();
                assert!(!unidentified, "{:?}", known.substances);
            }
        }
    }

    #[test]
    fn turning_twice_changes_nothing_but_rounding() {
        let odd = DepartureRecord {
            order: 1,
            power: vec![PowerRecord {
                n: 0.5,
                t: 1.0,
                d: 1,
                l: 0,
            }],
            special: Vec::new(),
        };
        assert_eq!(odd.reversed().power[0].n, -0.5);
        assert_eq!(odd.reversed().reversed(), odd);
        let range = PairRange {
            temperature_min: 300.0,
            temperature_max: 400.0,
            pressure_max: 1e7,
            fraction_min: 0.25,
            fraction_max: 1.0,
        };
        assert!(range.contains(310.0, 1e6, 0.3) && !range.reversed().contains(310.0, 1e6, 0.8));
        assert_eq!(range.reversed().reversed(), range);
    }
}
