//! The shape of the record of a substance in a translated cubic equation of state.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use serde::Deserialize;

use super::record::{Range, Source};
use super::uncertainty::{FluidPhase, StatedUncertainty};

/// Constants of a substance in the equation of Peng and Robinson with translated volume.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let Some(cubic) = &Fluid::new("carbon dioxide")?.record()?.cubic else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// assert!((cubic.critical_temperature - 304.13).abs() < 0.01 && (cubic.acentric_factor - 0.224).abs() < 0.002);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CubicRecord {
    /// Name with authors and year.
    pub name: String,
    /// Where the equation was published, and to what the constants were fitted.
    pub source: Source,
    /// Range of the values to which the constants were fitted.
    pub valid: Range,
    /// Critical temperature `T_c` in K.
    #[serde(rename = "T_critical / K")]
    pub critical_temperature: f64,
    /// Critical pressure `p_c` in Pa.
    #[serde(rename = "p_critical / Pa")]
    pub critical_pressure: f64,
    /// Acentric factor, dimensionless.
    pub acentric_factor: f64,
    /// Fall of the attraction with temperature.
    pub alpha: AlphaRecord,
    /// Translation of the volume c in m3/mol: the volume is that of the untranslated equation less c.
    #[serde(rename = "translation / (m3/mol)")]
    pub translation: f64,
    /// Deviation of the vapour pressure.
    pub vapour_pressure: DeviationRecord,
    /// Deviation of the density of the boiling liquid.
    pub liquid_density: DeviationRecord,
}

/// The function `alpha(T_r)` with its constants.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let Some(cubic) = &Fluid::new("carbon dioxide")?.record()?.cubic else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// use densepath_fluid::fluids::cubic::AlphaRecord;
/// assert!(matches!(cubic.alpha, AlphaRecord::Soave { .. } | AlphaRecord::Twu { .. }));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(tag = "form", deny_unknown_fields)]
pub enum AlphaRecord {
    /// `alpha^(1/2) = 1 + m (1 - T_r^(1/2))` (Soave, Chem. Eng. Sci. 27, 1197 (1972)).
    #[serde(rename = "Soave 1972")]
    Soave {
        /// Slope m.
        m: f64,
    },
    /// `alpha = T_r^(N (M - 1)) exp(L (1 - T_r^(N M)))` (Twu, Bluck, Cunningham and Coon, Fluid Phase Equilib. 69, 33
    /// (1991)).
    #[serde(rename = "Twu 1991")]
    Twu {
        /// Constant L.
        #[serde(rename = "L")]
        l: f64,
        /// Constant M.
        #[serde(rename = "M")]
        m: f64,
        /// Constant N.
        #[serde(rename = "N")]
        n: f64,
    },
}

/// How far a model lies from what it was fitted to, relative.
///
/// ```
/// # use densepath_fluid::Fluid;
/// let Some(cubic) = &Fluid::new("carbon dioxide")?.record()?.cubic else {
///     return Err(densepath_fluid::Error::Internal { place: "the record is known" });
/// };
/// // The mean of the deviations of the vapour pressure is below one in a hundred.
/// assert!(cubic.vapour_pressure.mean < 0.01 && cubic.vapour_pressure.mean <= cubic.vapour_pressure.greatest);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviationRecord {
    /// What the model is compared with.
    pub against: String,
    /// Lowest temperature of the comparison in K.
    #[serde(rename = "T_min / K")]
    pub temperature_min: f64,
    /// Highest temperature of the comparison in K.
    #[serde(rename = "T_max / K")]
    pub temperature_max: f64,
    /// Mean absolute deviation, relative.
    pub mean: f64,
    /// Greatest absolute deviation, relative.
    pub greatest: f64,
}

impl DeviationRecord {
    /// The uncertainty that the greatest deviation bounds, of a quantity on the saturation line at a temperature in K.
    pub(crate) fn on_saturation_line(&self, temperature: f64) -> Option<StatedUncertainty<'_>> {
        (self.temperature_min..=self.temperature_max)
            .contains(&temperature)
            .then(|| StatedUncertainty::from_comparison(self.greatest, &self.against))
    }

    /// The same of a liquid at a temperature in K and a pressure in Pa.
    pub(crate) fn of_liquid(
        &self,
        temperature: f64,
        pressure: f64,
        phase: FluidPhase,
    ) -> Option<StatedUncertainty<'_>> {
        let span = (self.temperature_min, self.temperature_max);
        StatedUncertainty::speaks_for(span, temperature, pressure, phase)
            .then(|| StatedUncertainty::from_comparison(self.greatest, &self.against))
    }
}
