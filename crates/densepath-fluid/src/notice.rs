//! Doubt and caution as data: notices travel with results and are never printed by the library.

use crate::error::{significant, told_apart};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;

/// How much a notice matters; the first in order comes first in every list.
///
/// ```
/// use densepath_fluid::{NoticeCode, Severity};
/// assert!(Severity::Caution < Severity::Warning && Severity::Warning < Severity::Remark);
/// assert_eq!(NoticeCode::SolidForms.severity(), Severity::Warning);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Somebody or something can be hurt.
    Caution,
    /// The result is doubtful or the method will not work as meant.
    Warning,
    /// Worth knowing.
    Remark,
}

impl Severity {
    /// The word used in reports.
    ///
    /// ```
    /// assert_eq!(densepath_fluid::Severity::Caution.name(), "caution");
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            Severity::Caution => "caution",
            Severity::Warning => "warning",
            Severity::Remark => "remark",
        }
    }
}

macro_rules! notices {
    ($($(#[doc = $doc:literal])* $variant:ident $name:literal $severity:ident;)*) => {
        /// What a notice is about.
        ///
        /// ```
        /// use densepath_fluid::{Fluid, NoticeCode, State};
        /// let near = State::from_tp(&Fluid::new("CO2")?, 305.0, 7.5e6)?;
        /// assert_eq!(near.notices()[0].code, NoticeCode::NearCritical);
        /// # Ok::<(), densepath_fluid::Error>(())
        /// ```
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[non_exhaustive]
        pub enum NoticeCode {
            $($(#[doc = $doc])* $variant,)*
        }

        impl NoticeCode {
            /// Every code of the table.
            pub const ALL: &[NoticeCode] = &[$(NoticeCode::$variant,)*];

            /// Name of the code, snake case.
            ///
            /// ```
            /// assert_eq!(densepath_fluid::NoticeCode::SolidForms.name(), "solid_forms");
            /// ```
            pub const fn name(self) -> &'static str {
                match self { $(NoticeCode::$variant => $name,)* }
            }

            /// How much it matters.
            ///
            /// ```
            /// use densepath_fluid::{NoticeCode, Severity};
            /// assert_eq!(NoticeCode::StoredEnergy.severity(), Severity::Caution);
            /// ```
            pub const fn severity(self) -> Severity {
                match self { $(NoticeCode::$variant => Severity::$severity,)* }
            }
        }
    };
}

notices! {
    /// Solid forms where the fluid expands.
    SolidForms "solid_forms" Warning;
    /// A shut-in liquid would exceed the rating of its part on warming.
    BlockedInLiquid "blocked_in_liquid" Caution;
    /// A pressure comes near or above the rating of a part.
    Overpressure "overpressure" Caution;
    /// The gas let out can displace or poison the air of a room.
    Asphyxiation "asphyxiation" Caution;
    /// Cold surfaces or jets burn the skin.
    ColdBurn "cold_burn" Caution;
    /// A hot part.
    HotSurface "hot_surface" Caution;
    /// The vapour of the mobile phase burns.
    Flammable "flammable" Caution;
    /// The feed of a pump comes near its boiling point.
    SuctionMargin "suction_margin" Warning;
    /// Two phases occur where one is needed.
    TwoPhases "two_phases" Warning;
    /// The state lies near the critical point or the pseudo-critical line, where small errors become large.
    NearCritical "near_critical" Warning;
    /// A model was used beyond its range.
    Extrapolated "extrapolated" Warning;
    /// The flow is choked: the outlet pressure has no influence.
    Choked "choked" Remark;
    /// Reynolds number between laminar and turbulent flow.
    TransitionalFlow "transitional_flow" Warning;
    /// Dispersion was computed where its law does not fully hold.
    DispersionUndeveloped "dispersion_undeveloped" Warning;
    /// A one-dimensional column model hides the loss that radial gradients bring.
    RadialGradients "radial_gradients" Warning;
    /// The injected plug costs more than the usual share of the plates.
    InjectionWide "injection_wide" Warning;
    /// A loop was filled so that part of the sample is lost or the amount is uncertain.
    LoopFilling "loop_filling" Remark;
    /// The heater of a part cannot hold its set temperature, or is not needed.
    HeaterDuty "heater_duty" Remark;
    /// A container holds liquid only, or no liquid at all.
    CylinderLevel "cylinder_level" Warning;
    /// An estimated value stands in for a measured one.
    Estimated "estimated" Remark;
    /// The detector and the mobile phase or the flow do not suit each other.
    DetectorUnsuited "detector_unsuited" Warning;
    /// The pump's stroke is mostly compression, so that flow and pressure pulsate.
    Pulsation "pulsation" Warning;
    /// The stream leaves a part before it has come to the temperature of the wall.
    WallNotReached "wall_not_reached" Warning;
    /// The cubic equation stands in for a better model that the mixture lacks.
    CubicStandsIn "cubic_stands_in" Remark;
    /// A second phase is nearer than it should be.
    ThinMargin "thin_margin" Warning;
    /// The velocity in a column lies far above that of the smallest plate height.
    AboveOptimum "above_optimum" Warning;
    /// A restrictor can plug: its fluid comes below the freezing point of water or the melting point of the solute.
    Plugging "plugging" Warning;
    /// Collected liquid leaves with the gas as a mist.
    Aerosol "aerosol" Warning;
    /// A valve works where it cannot hold its pressure well.
    Controllability "controllability" Warning;
    /// Settings change faster than the flow follows: part of it is stored or given back.
    Unsteady "unsteady" Warning;
    /// A fluid under pressure can do work when its part bursts or comes apart.
    StoredEnergy "stored_energy" Caution;
    /// A number of the result is not known: what is stated does not determine it.
    Unknown "unknown" Remark;
}

/// One notice with the place it belongs to.
///
/// ```
/// use densepath_fluid::{Fluid, Quantity, State};
/// let near = State::from_tp(&Fluid::new("CO2")?, 305.0, 7.5e6)?;
/// let notice = &near.notices()[0];
/// assert_eq!(notice.quantity, Some(Quantity::Density));
/// assert!(notice.text.contains("pseudo-critical"));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// What it is about.
    pub code: NoticeCode,
    /// Quantity concerned, where there is one.
    pub quantity: Option<Quantity>,
    /// Name of the station or part, empty where the notice concerns the whole.
    pub station: String,
    /// What to know and to do, in words with numbers and units.
    pub text: String,
}

impl Notice {
    /// A notice about the whole of a result.
    ///
    /// ```
    /// use densepath_fluid::{Notice, NoticeCode};
    /// let notice = Notice::new(NoticeCode::SolidForms, "dry ice behind the regulator");
    /// assert_eq!((notice.quantity, notice.station.as_str()), (None, ""));
    /// ```
    pub fn new(code: NoticeCode, text: impl Into<String>) -> Self {
        Self {
            code,
            quantity: None,
            station: String::new(),
            text: text.into(),
        }
    }

    /// The same notice, about a quantity.
    ///
    /// ```
    /// use densepath_fluid::{Notice, NoticeCode, Quantity};
    /// let notice = Notice::new(NoticeCode::NearCritical, "soft").about(Quantity::Density);
    /// assert_eq!(notice.quantity, Some(Quantity::Density));
    /// ```
    #[must_use]
    pub fn about(mut self, quantity: Quantity) -> Self {
        self.quantity = Some(quantity);
        self
    }

    /// The same notice, at a station.
    ///
    /// ```
    /// use densepath_fluid::{Notice, NoticeCode};
    /// assert_eq!(Notice::new(NoticeCode::SolidForms, "dry ice").at("regulator").station, "regulator");
    /// ```
    #[must_use]
    pub fn at(mut self, station: &str) -> Self {
        station.clone_into(&mut self.station);
        self
    }
}

/// A number with three significant digits, as the text of a notice states it.
///
/// ```
/// assert_eq!(densepath_fluid::notice::rounded(780.233), "780");
/// ```
pub fn rounded(value: f64) -> String {
    significant(format!("{value:.2e}").parse().unwrap_or(value))
}

/// A value and its limit with three significant digits, or with as many as it takes to tell them apart.
///
/// ```
/// use densepath_fluid::notice::rounded_apart;
/// // Three digits would tell nothing of what exceeds what.
/// assert_eq!(rounded_apart(400.2, 400.0), ("400.2".to_owned(), "400".to_owned()));
/// ```
pub fn rounded_apart(value: f64, limit: f64) -> (String, String) {
    let told = (rounded(value), rounded(limit));
    if told.0 == told.1 {
        return told_apart(value, limit);
    }
    told
}

/// Sorts notices: cautions first, then by code, keeping the order along the path.
///
/// ```
/// use densepath_fluid::{Notice, NoticeCode, notice::sort};
/// let mut notices = [
///     Notice::new(NoticeCode::SolidForms, "dry ice behind the regulator"),
///     Notice::new(NoticeCode::StoredEnergy, "a full cylinder"),
/// ];
/// sort(&mut notices);
/// assert_eq!(notices[0].code, NoticeCode::StoredEnergy);
/// ```
pub fn sort(notices: &mut [Notice]) {
    notices.sort_by_key(|notice| (notice.code.severity(), notice.code));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_to_three_digits() {
        for (value, text) in [
            (27.0157, "27"),
            (-78.4918, "-78.5"),
            (1627.62, "1630"),
            (0.0156742, "0.0157"),
            (0.0, "0"),
            (f64::INFINITY, "inf"),
        ] {
            assert_eq!(rounded(value), text);
        }
    }

    #[test]
    fn a_value_and_its_limit_are_told_apart() {
        let told = |value, limit| {
            let (value, limit) = rounded_apart(value, limit);
            format!("{value} {limit}")
        };
        assert_eq!(told(412.3, 400.0), "412 400");
        assert_eq!(told(400.2, 400.0), "400.2 400");
        assert_eq!(told(400.000_000_1, 400.0), "400.0000001 400");
        assert_eq!(told(400.0, 400.0), "400 400");
    }
}
