//! The critical line of two substances, followed by arc length from both pure critical points.
//!
//! Unknowns are ln T, ln rho and the fraction of the second substance; the two conditions of Heidemann and Khalil leave one
//! direction free. A step along the tangent is brought back to the line by Newton's method at right angles to it (Deuflhard,
//! Fiedler and Kunkel, SIAM J. Numer. Anal. 24, 912 (1987), doi 10.1137/0724059, from memory), so that the line may turn back in every
//! one of its variables.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::critical::{
    MixtureCriticalPoint, critical_points, critical_points_at_densities,
    critical_points_at_packing, critical_points_of, is_stable,
};
use super::line_conditions::{Direction, LineConditions, Place, Sloped, fractions_of};
use super::pair_points::pair_point;
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::mixture::MixtureModel;
use crate::error::Result;
use crate::num::root::{Tolerance, bracketed};

/// A point of a critical line.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{LocusBounds, LocusEnd, critical_locus};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let locus = critical_locus(&model, &LocusBounds { temperature_min: 220.0, temperature_max: 500.0, pressure_max: 100e6 })?;
/// let point = &locus.at_amount_fraction(&model, 0.5)[0];
/// assert!((point.amount_fraction - 0.5).abs() < 1e-6);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocusPoint {
    /// Amount fraction of the second substance.
    pub amount_fraction: f64,
    /// The critical point.
    pub point: MixtureCriticalPoint,
}

/// Where one piece of a critical line ends.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{LocusBounds, LocusEnd, critical_locus};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let locus = critical_locus(&model, &LocusBounds { temperature_min: 220.0, temperature_max: 500.0, pressure_max: 100e6 })?;
/// assert_eq!(locus.branches[0].ends, (LocusEnd::First, LocusEnd::Second));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum LocusEnd {
    /// The critical point of the first substance.
    First,
    /// The critical point of the second substance.
    Second,
    /// The highest pressure that is followed.
    HighPressure,
    /// Pressure zero.
    ZeroPressure,
    /// The lowest or highest temperature that is followed.
    Temperature,
    /// The place where it began: a loop.
    Closed,
    /// The steps ran out or the line could not be followed further.
    Lost,
}

impl LocusEnd {
    /// The words used in reports.
    ///
    /// ```
    /// use densepath_fluid::eos::equilibrium::LocusEnd;
    /// assert_ne!(LocusEnd::First.name(), LocusEnd::Second.name());
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            LocusEnd::First => "first substance",
            LocusEnd::Second => "second substance",
            LocusEnd::HighPressure => "highest pressure",
            LocusEnd::ZeroPressure => "zero pressure",
            LocusEnd::Temperature => "end of the temperatures",
            LocusEnd::Closed => "closed",
            LocusEnd::Lost => "lost",
        }
    }
}

/// One piece of a critical line.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{LocusBounds, LocusEnd, critical_locus};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let locus = critical_locus(&model, &LocusBounds { temperature_min: 220.0, temperature_max: 500.0, pressure_max: 100e6 })?;
/// assert!(locus.branches[0].points.windows(2).all(|two| two[0].amount_fraction < two[1].amount_fraction));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LocusBranch {
    /// Points in order. Of three in a row one is tested for stability, and of those between two that differ as many as tell where it
    /// changes; those between two that agree have their answer.
    pub points: Vec<LocusPoint>,
    /// Where it begins and where it ends.
    pub ends: (LocusEnd, LocusEnd),
}

/// How the critical lines of two substances hang together (van Konynenburg and Scott, Phil. Trans. R. Soc. A 298, 495
/// (1980), doi 10.1098/rsta.1980.0266, from memory). Solids are not asked for: a line of two liquids may lie where a substance has
/// frozen.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{LocusBounds, LocusEnd, critical_locus};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let locus = critical_locus(&model, &LocusBounds { temperature_min: 220.0, temperature_max: 500.0, pressure_max: 100e6 })?;
/// // Carbon dioxide and butane: one line, type I or II.
/// assert!(locus.kind.is_joined());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum LocusKind {
    /// One line joins both pure critical points: type I.
    Joined,
    /// One line joins both, and another is that of two liquids: type II.
    JoinedWithLiquids,
    /// One line joins both, but phases on a part within it are not stable: type V.
    Interrupted,
    /// The same, and another line is that of two liquids: type IV.
    InterruptedWithLiquids,
    /// No line joins both pure critical points: type III.
    Broken,
    /// A line of stable phases was lost, or left the temperatures that are followed, before it told whether it joins both.
    Unknown,
}

impl LocusKind {
    /// The words used in reports.
    ///
    /// ```
    /// use densepath_fluid::eos::equilibrium::LocusKind;
    /// assert_ne!(LocusKind::Joined.name(), LocusKind::Broken.name());
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            LocusKind::Joined => "joined",
            LocusKind::JoinedWithLiquids => "joined, with a line of two liquids",
            LocusKind::Interrupted => "interrupted",
            LocusKind::InterruptedWithLiquids => "interrupted, with a line of two liquids",
            LocusKind::Broken => "broken",
            LocusKind::Unknown => "not known",
        }
    }

    /// Whether one line of stable phases joins the critical points of both substances; false where that is not known.
    ///
    /// ```
    /// use densepath_fluid::eos::equilibrium::LocusKind;
    /// assert!(LocusKind::Joined.is_joined() && LocusKind::JoinedWithLiquids.is_joined());
    /// assert!(!LocusKind::Broken.is_joined() && !LocusKind::Unknown.is_joined());
    /// ```
    pub const fn is_joined(self) -> bool {
        matches!(self, LocusKind::Joined | LocusKind::JoinedWithLiquids)
    }
}

/// The critical lines of two substances.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{LocusBounds, LocusEnd, critical_locus};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let locus = critical_locus(&model, &LocusBounds { temperature_min: 220.0, temperature_max: 500.0, pressure_max: 100e6 })?;
/// assert!(!locus.branches.is_empty());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CriticalLocus {
    /// How the lines hang together.
    pub kind: LocusKind,
    /// The lines: first that from the first substance, then, if it does not end there, that from the second, then others.
    pub branches: Vec<LocusBranch>,
}

/// Bounds within which critical lines are followed.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{LocusBounds, LocusEnd, critical_locus};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let locus = critical_locus(&model, &LocusBounds { temperature_min: 220.0, temperature_max: 500.0, pressure_max: 100e6 })?;
/// assert!(locus.branches[0].points.iter().all(|point| point.point.temperature <= 500.0 && point.point.pressure <= 100e6));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocusBounds {
    /// Lowest temperature in K.
    pub temperature_min: f64,
    /// Highest temperature in K.
    pub temperature_max: f64,
    /// Highest pressure in Pa.
    pub pressure_max: f64,
}

/// Fraction of the other substance at which a line leaves or reaches a pure critical point.
const EDGE: f64 = 1e-4;
/// Shares of the critical temperature and density of a substance within which the lines that leave it pass there.
const BESIDE: (f64, f64) = (0.01, 0.06);
/// Difference of ln T there from the critical point of the substance.
const AT_PURE: f64 = 3e-3;
/// Longest step along the line; ln T, ln rho and the fraction each count as they are.
const LONGEST: f64 = 0.02;
const SHORTEST: f64 = 1e-7;
/// Smallest cosine between the tangents at both ends of a step, and between the softest directions there: where both eigenvalues
/// nearly meet, another line is near along the other direction.
const TURNED: f64 = 0.5;
/// Largest share of a step that each of its bends adds.
const BENT: f64 = 0.1;
const STEPS: u32 = 3000;
/// Steps within [`LONGEST`] of one place after which the line counts as wrinkled there, and how far over a wrinkle is leapt.
const CREEPING: u32 = 100;
const LEAPS: [f64; 3] = [0.01, 0.02, 0.03];
/// How far is hopped where Newton's method fails, the widths within which the line is sought there in shares of it, and the part
/// of C at their ends that counts as zero.
const HOPS: [f64; 3] = [0.001, 0.002, 0.005];
const WIDTHS: [f64; 4] = [0.03, 0.1, 0.3, 1.0];
const VANISHES: f64 = 1e-4;
/// Residual at which a point at a given temperature lies on the line.
const ON_LINE: f64 = 1e-10;
/// Fractions, and shares of the highest density, at which lines are sought that begin at neither pure substance. Along a line of
/// two liquids the composition may hardly change, but the density then grows with the pressure.
const CROSS_SECTIONS: [f64; 5] = [0.1, 0.3, 0.5, 0.7, 0.9];
const PACKINGS: [f64; 4] = [0.6, 0.7, 0.8, 0.9];
/// Distance from a line, in ln T, ln rho and the fraction, at which a critical point lies on it.
const PASSES: f64 = 0.5 * LONGEST;
/// Distance from its start, in the direction in which it left it, at which a line is closed.
const CLOSES: f64 = 0.1 * LONGEST;

/// All critical lines of a mixture of two substances.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{LocusBounds, LocusEnd, critical_locus};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let locus = critical_locus(&model, &LocusBounds { temperature_min: 220.0, temperature_max: 500.0, pressure_max: 100e6 })?;
/// let points = &locus.branches[0].points;
/// // From the critical point of carbon dioxide.
/// assert!((points[0].point.temperature - 304.1).abs() < 0.2);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn critical_locus(model: &dyn MixtureModel, bounds: &LocusBounds) -> Result<CriticalLocus> {
    let tracer = Tracer::new(model, bounds);
    let mut branches = tracer.begun_at_pure()?;
    let mut pure = branches.len();
    for (fraction, point) in across(model, (bounds.temperature_min, bounds.temperature_max))? {
        let place = place_of(fraction, &point);
        let known = branches.iter().any(|branch| branch.passes(&place));
        if !known && point.pressure < bounds.pressure_max {
            let found = tracer.both_ways(fraction, &point)?;
            // A point between the last one of a line and the bounds leads along that line.
            branches.extend(found.filter(|line| !branches.iter().any(|known| known.is_same(line))));
        }
    }
    // A line may lead from one pure substance to the other that was followed from neither.
    let whole = branches.iter().skip(pure).position(LocusBranch::is_whole);
    if let Some(whole) = whole {
        let line = branches.remove(pure + whole).forwards();
        branches.splice(..pure, [line]);
        pure = 1;
    }
    let kind = kind(&branches, pure);
    Ok(CriticalLocus { kind, branches })
}

/// How lines hang together, of which so many at the front begin at pure substances.
fn kind(branches: &[LocusBranch], pure: usize) -> LocusKind {
    let (begun, others) = branches.split_at(pure.min(branches.len()));
    let mut points = others.iter().flat_map(|branch| &branch.points);
    let liquids = points.any(|p| p.point.is_stable);
    let Some(line) = begun.iter().find(|branch| branch.joins()) else {
        let is_lost = branches.iter().any(LocusBranch::is_lost);
        let leads_away = begun.iter().any(LocusBranch::leads_away);
        let stop = begun.len() == 2 && begun.iter().all(LocusBranch::stops);
        return if !is_lost && (leads_away || stop) {
            LocusKind::Broken
        } else {
            LocusKind::Unknown
        };
    };
    match (line.is_interrupted(), liquids) {
        (false, false) => LocusKind::Joined,
        (false, true) => LocusKind::JoinedWithLiquids,
        (true, false) => LocusKind::Interrupted,
        (true, true) => LocusKind::InterruptedWithLiquids,
    }
}

/// Critical points in cross sections of all states, each with the amount fraction of the second substance.
fn across(
    model: &dyn MixtureModel,
    temperatures: (f64, f64),
) -> Result<Vec<(f64, MixtureCriticalPoint)>> {
    let mut found = Vec::new();
    for fraction in CROSS_SECTIONS {
        let points = critical_points_of(model, &[1.0 - fraction, fraction], temperatures, false)?;
        found.extend(points.into_iter().map(|point| (fraction, point)));
    }
    for packing in PACKINGS {
        found.extend(critical_points_at_packing(model, packing, temperatures)?);
    }
    Ok(found)
}

impl CriticalLocus {
    /// The critical points at a temperature in K, refined on each line, by rising pressure.
    ///
    /// ```
    /// # use densepath_fluid::eos::equilibrium::{LocusBounds, LocusEnd, critical_locus};
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let locus = critical_locus(&model, &LocusBounds { temperature_min: 220.0, temperature_max: 500.0, pressure_max: 100e6 })?;
    /// assert!((locus.at_temperature(&model, 360.0)[0].point.temperature - 360.0).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn at_temperature(&self, model: &dyn MixtureModel, temperature: f64) -> Vec<LocusPoint> {
        let of = |p: &LocusPoint| (p.point.temperature / temperature).ln();
        self.crossings(model, of)
    }

    /// The critical points at an amount fraction of the second substance, refined on each line, by rising pressure.
    ///
    /// ```
    /// # use densepath_fluid::eos::equilibrium::{LocusBounds, LocusEnd, critical_locus};
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// let locus = critical_locus(&model, &LocusBounds { temperature_min: 220.0, temperature_max: 500.0, pressure_max: 100e6 })?;
    /// // The same point as that of the composition asked alone.
    /// let alone = densepath_fluid::eos::equilibrium::critical_points(&model, &[0.5, 0.5], (250.0, 450.0))?[0];
    /// assert!((locus.at_amount_fraction(&model, 0.5)[0].point.temperature - alone.temperature).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn at_amount_fraction(&self, model: &dyn MixtureModel, fraction: f64) -> Vec<LocusPoint> {
        self.crossings(model, |p: &LocusPoint| p.amount_fraction - fraction)
    }

    /// The points at which a function of the points of the lines changes sign.
    fn crossings(
        &self,
        model: &dyn MixtureModel,
        of: impl Fn(&LocusPoint) -> f64,
    ) -> Vec<LocusPoint> {
        let bounds = LocusBounds {
            temperature_min: 0.0,
            temperature_max: f64::INFINITY,
            pressure_max: f64::INFINITY,
        };
        let tracer = Tracer::new(model, &bounds);
        let windows = self
            .branches
            .iter()
            .flat_map(|branch| branch.points.windows(2));
        let mut found: Vec<LocusPoint> = windows
            .filter_map(|window| {
                let [a, b] = window else { return None };
                ((of(a) < 0.0) != (of(b) < 0.0)).then(|| tracer.crossing(a, b, &of))?
            })
            .collect();
        found.sort_by(|a, b| a.point.pressure.total_cmp(&b.point.pressure));
        found
    }
}

/// The critical point at a temperature in K near an amount fraction of the second substance and a molar density in mol/m3, with
/// its own fraction; nothing where Newton's method does not lead to a stable one nearby.
pub(super) fn critical_point_at(
    model: &dyn MixtureModel,
    temperature: f64,
    fraction: f64,
    molar_density: f64,
) -> Option<(f64, MixtureCriticalPoint)> {
    let bounds = LocusBounds {
        temperature_min: 0.0,
        temperature_max: f64::INFINITY,
        pressure_max: f64::INFINITY,
    };
    let tracer = Tracer::new(model, &bounds);
    let mut place = Place::new(temperature.ln(), molar_density.ln(), fraction);
    let mut direction = tracer.direction(&place);
    let mut least = f64::INFINITY;
    for _ in 0..NEWTON_STEPS {
        let here = tracer.conditions.sloped(&place, direction);
        direction = here.direction;
        let size = here.residual.amax();
        // The last digits fall to rounding where the derivatives, which are differences, no longer lead on.
        if size < ON_LINE || (size < 1e3 * ON_LINE && size > 0.5 * least) {
            let found = tracer.tested(&place).ok()?;
            return found
                .point
                .is_stable
                .then_some((found.amount_fraction, found.point));
        }
        least = least.min(size);
        let step = here.slopes.fixed_columns::<2>(1).into_owned();
        let step = step.lu().solve(&here.residual)?;
        place.y -= step.x;
        place.z -= step.y;
        let strayed =
            (place.y - molar_density.ln()).abs() > 0.5 || (place.z - fraction).abs() > 0.2;
        if strayed || !(place.z > 0.0 && place.z < 1.0) {
            return None;
        }
    }
    None
}

/// Steps of Newton's method at a given temperature at most.
const NEWTON_STEPS: u32 = 30;
/// Points in a row that are not stable on an interrupted line, and how far they have to reach: fewer may be so by rounding, and
/// a shorter part by the wrinkles of an equation.
const INTERRUPTION: usize = 3;
const INTERRUPTED: f64 = 0.01;

impl LocusBranch {
    /// Whether a part of the line between stable ones is not stable.
    fn is_interrupted(&self) -> bool {
        let stable = |point: &LocusPoint| point.point.is_stable;
        let first = self.points.iter().position(stable);
        let last = self.points.iter().rposition(stable);
        let (Some(first), Some(last)) = (first, last) else {
            return false;
        };
        let within = self.points.get(first..=last).unwrap_or_default();
        let mut parts = within.split(stable);
        parts.any(|part| match part {
            [from, .., to] if part.len() >= INTERRUPTION => {
                (to.place() - from.place()).norm() > INTERRUPTED
            }
            _ => false,
        })
    }

    /// Whether the line is stable beside its beginning and beside its end: one of the last points there is so.
    fn stable_ends(&self) -> (bool, bool) {
        let stable = |point: &LocusPoint| point.point.is_stable;
        let count = self.points.len();
        let some = |part: Option<&[LocusPoint]>| part.unwrap_or_default().iter().any(stable);
        (
            some(self.points.get(..INTERRUPTION.min(count))),
            some(self.points.get(count.saturating_sub(INTERRUPTION)..)),
        )
    }

    /// Whether a stable part of the line goes on where it was lost.
    fn is_lost(&self) -> bool {
        let (first, last) = self.stable_ends();
        (first && self.ends.0 == LocusEnd::Lost) || (last && self.ends.1 == LocusEnd::Lost)
    }

    /// Whether the line from a pure substance leads to the highest pressure, and not to the other substance.
    fn leads_away(&self) -> bool {
        self.ends.1 == LocusEnd::HighPressure && self.stable_ends().1
    }

    /// Whether the line from a pure substance ceases to be stable, and was followed from there to an end.
    fn stops(&self) -> bool {
        self.leads_away() || (self.ends.1 != LocusEnd::Lost && !self.stable_ends().1)
    }

    /// How much less a line from a pure substance tells than one that joins both: beside the critical point of an equation that
    /// swings there, other lines leave it, lose themselves or come back.
    fn rank(&self) -> (u32, usize) {
        let rank = match self.ends {
            _ if self.is_whole() => u32::from(self.is_interrupted()),
            (begin, end) if begin == end => 4,
            (_, LocusEnd::Lost) => 3,
            _ => 2,
        };
        let stable = self.points.iter().filter(|p| p.point.is_stable).count();
        (rank, usize::MAX - stable)
    }

    /// Whether the line leads from one substance to the other, either way.
    fn is_whole(&self) -> bool {
        self.joins() || self.ends == (LocusEnd::Second, LocusEnd::First)
    }

    /// The same line, from the first substance to the second.
    fn forwards(self) -> Self {
        if self.joins() { self } else { self.turned() }
    }

    /// Whether the line leads from the critical point of the first substance to that of the second.
    fn joins(&self) -> bool {
        self.ends == (LocusEnd::First, LocusEnd::Second)
    }

    /// The same line from its end.
    fn turned(mut self) -> Self {
        self.points.reverse();
        self.ends = (self.ends.1, self.ends.0);
        self
    }

    /// Whether another line has its middle on this one.
    fn is_same(&self, other: &Self) -> bool {
        let middle = other.points.get(other.points.len() / 2);
        middle.is_some_and(|middle| self.passes(&middle.place()))
    }

    /// Whether the line passes through a place.
    fn passes(&self, place: &Place) -> bool {
        let passes = |from: &LocusPoint, to: &LocusPoint| {
            // Most of the line is farther off by its fraction alone.
            let [a, b] = [from, to].map(|end| end.amount_fraction - place.z);
            a.min(b) < PASSES
                && a.max(b) > -PASSES
                && distance(place, &from.place(), &to.place()) < PASSES
        };
        let mut ends = self.points.windows(2);
        ends.any(|ends| matches!(ends, [from, to] if passes(from, to)))
    }
}

/// The points of a line as far as it was followed.
struct Followed {
    points: Vec<LocusPoint>,
    /// The index of the last point of which it is known whether it is stable.
    tested: usize,
}

impl Followed {
    /// The index of the last stable point, its place, and the direction in which the line leads there.
    fn last_stable(&self) -> Option<(usize, Place, Place)> {
        let stable = self
            .points
            .iter()
            .rposition(|point| point.point.is_stable)?;
        let last = self.points.get(stable)?.place();
        let earlier = self.points.get(..stable)?.iter().rev();
        let mut earlier = earlier.map(LocusPoint::place);
        let along = (last - earlier.find(|place| (place - last).norm() > LONGEST)?).normalize();
        Some((stable, last, along))
    }
}

/// Distance of a place from the chord between two others.
fn distance(place: &Place, from: &Place, to: &Place) -> f64 {
    let along = to - from;
    let share = (place - from).dot(&along) / along.norm_squared().max(f64::MIN_POSITIVE);
    (place - from - share.clamp(0.0, 1.0) * along).norm()
}

/// A place on a line with the tangent there.
type Passed = (Place, Place);

/// The last places of a line, the later one first.
#[derive(Default)]
struct Bends {
    last: Option<Passed>,
    earlier: Option<Passed>,
}

/// The divided differences of a line over two places, each of which counts twice for its tangent: the first place twice, the second
/// twice, both twice.
struct Differences {
    first: Place,
    second: Place,
    both: Place,
}

impl Differences {
    /// Over a length from the first to the second.
    fn new((x, tangent): &Passed, (y, turned): &Passed, length: f64) -> Self {
        let slope = (y - x) / length;
        let (first, second) = ((slope - tangent) / length, (turned - slope) / length);
        Self {
            first,
            second,
            both: (second - first) / length,
        }
    }
}

/// The length of a line between two places, as that of an arc through both tangents.
fn length_between((from, tangent): &Passed, (to, turned): &Passed) -> f64 {
    let half = 0.5 * (turned - tangent).norm();
    (to - from).norm() * (1.0 + half * half / 6.0)
}

impl Bends {
    fn push(&mut self, passed: Option<Passed>) {
        self.earlier = self.last;
        self.last = passed;
    }

    /// The way ahead from a place: the polynomial in the length through the places known and their tangents (Hermite, by divided
    /// differences, as in Stoer and Bulirsch, Introduction to Numerical Analysis, 3rd ed. 2002, chapter 2.1.5, from memory).
    fn through_places(&self, here: &Passed, reach: f64) -> Place {
        let mut terms = [Place::zeros(); 4];
        if let Some(last) = self.last {
            let back = -length_between(&last, here);
            let near = Differences::new(here, &last, back);
            let (square, beyond) = (reach * reach, reach - back);
            let (cubic, quartic) = (square * beyond, square * beyond * beyond);
            terms[0] = square * near.first;
            terms[1] = cubic * near.both;
            if let Some(earlier) = self.earlier {
                let farther = back - length_between(&earlier, &last);
                let far = Differences::new(&last, &earlier, farther - back);
                let mixed = (far.first - near.second) / farther;
                let fourth = (mixed - near.both) / farther;
                let fifth = ((far.both - mixed) / farther - fourth) / farther;
                terms[2] = quartic * fourth;
                terms[3] = quartic * (reach - farther) * fifth;
            }
        }
        let little = terms.iter().take_while(|term| term.norm() < BENT * reach);
        reach * here.1 + little.sum::<Place>()
    }

    /// The way ahead from a place by the tangents alone: the integral of the polynomial in the length through them (Adams and
    /// Bashforth, as in Hairer, Norsett and Wanner, Solving Ordinary Differential Equations I, 2nd ed. 1993, chapter III.1, from
    /// memory).
    fn by_tangents(&self, (place, tangent): &Passed, reach: f64) -> Place {
        let line = reach * tangent;
        let Some((before, last)) = self.last else {
            return line;
        };
        // Over a wrinkle the tangents before tell nothing.
        let little = |term: Place| {
            if term.norm() < BENT * reach {
                term
            } else {
                Place::zeros()
            }
        };
        let apart = (place - before).norm();
        let bend = (tangent - last) / apart;
        let bent = line + little(0.5 * reach * reach * bend);
        let Some((first, earlier)) = self.earlier else {
            return bent;
        };
        let whole = (before - first).norm();
        let change = (bend - (last - earlier) / whole) / (apart + whole);
        bent + little(reach * reach * (reach / 3.0 + 0.5 * apart) * change)
    }
}

struct Tracer<'a> {
    model: &'a dyn MixtureModel,
    conditions: LineConditions<'a>,
    bounds: &'a LocusBounds,
}

impl LocusPoint {
    fn place(&self) -> Place {
        place_of(self.amount_fraction, &self.point)
    }
}

fn place_of(fraction: f64, point: &MixtureCriticalPoint) -> Place {
    Place::new(point.temperature.ln(), point.molar_density.ln(), fraction)
}

impl<'a> Tracer<'a> {
    fn new(model: &'a dyn MixtureModel, bounds: &'a LocusBounds) -> Self {
        let conditions = LineConditions::new(model);
        Self {
            model,
            conditions,
            bounds,
        }
    }

    /// The softest direction at a place.
    fn direction(&self, place: &Place) -> Direction {
        self.conditions.residual(place, [1.0, 0.0]).1
    }

    /// The point of a place, of which it is not known whether it is stable.
    fn point(&self, place: &Place) -> LocusPoint {
        let point = if let Some(pair) = &self.conditions.pair {
            pair_point(pair, pair.place(place.x, place.y, place.z), false)
        } else {
            let (temperature, molar_density) = (place.x.exp(), place.y.exp());
            let isotherm = self.model.at(temperature, &fractions_of(place));
            MixtureCriticalPoint {
                temperature,
                pressure: isotherm.pressure(molar_density),
                molar_density,
                is_stable: false,
            }
        };
        LocusPoint {
            amount_fraction: place.z,
            point,
        }
    }

    /// The point of a place near which its pressure is known, of which it is not known whether it is stable.
    fn point_of(&self, here: &Sloped) -> LocusPoint {
        let Some(scaled) = here.scaled_pressure else {
            return self.point(&here.place);
        };
        let temperature = here.place.x.exp();
        LocusPoint {
            amount_fraction: here.place.z,
            point: MixtureCriticalPoint {
                temperature,
                pressure: scaled.value * MOLAR_GAS_CONSTANT * temperature,
                molar_density: here.place.y.exp(),
                is_stable: false,
            },
        }
    }

    /// Whether no other phase is more stable than that of a point.
    fn is_stable(&self, found: &LocusPoint) -> Result<bool> {
        let place = found.place();
        if let Some(pair) = &self.conditions.pair {
            return Ok(pair_point(pair, pair.place(place.x, place.y, place.z), true).is_stable);
        }
        let MixtureCriticalPoint {
            temperature,
            pressure,
            molar_density,
            ..
        } = found.point;
        Ok(pressure > 0.0
            && is_stable(
                self.model,
                temperature,
                pressure,
                &fractions_of(&place),
                molar_density,
            )?)
    }

    fn tested(&self, place: &Place) -> Result<LocusPoint> {
        let mut found = self.point(place);
        found.point.is_stable = self.is_stable(&found)?;
        Ok(found)
    }

    /// Tells which points of a line are stable: of as many in a row as count as a part of it one is tested, and between two of
    /// which only one is stable the place of the change is sought.
    fn test(&self, line: &mut Followed) -> Result<()> {
        let points = &mut line.points;
        let mut last = line.tested;
        if last == 0 {
            self.test_at(points, 0)?;
        }
        while last + 1 < points.len() {
            let next = (last + INTERRUPTION).min(points.len() - 1);
            self.test_at(points, next)?;
            self.test_between(points.get_mut(last..=next).unwrap_or_default())?;
            last = next;
        }
        line.tested = last;
        Ok(())
    }

    fn test_at(&self, points: &mut [LocusPoint], index: usize) -> Result<()> {
        if let Some(found) = points.get_mut(index) {
            found.point.is_stable = self.is_stable(found)?;
        }
        Ok(())
    }

    /// Tells which points between the first and the last of some, which are tested, are stable.
    fn test_between(&self, points: &mut [LocusPoint]) -> Result<()> {
        let (first, last) = match points {
            [first, _, .., last] => (first.point.is_stable, last.point.is_stable),
            _ => return Ok(()),
        };
        if first == last {
            for found in points {
                found.point.is_stable = first;
            }
            return Ok(());
        }
        let middle = points.len() / 2;
        self.test_at(points, middle)?;
        self.test_between(points.get_mut(..=middle).unwrap_or_default())?;
        self.test_between(points.get_mut(middle..).unwrap_or_default())
    }

    /// The lines from the critical points of both substances: one where it joins them. The equation of the one substance may
    /// swing beside its critical point, where its line goes astray; then the line from the other tells.
    fn begun_at_pure(&self) -> Result<Vec<LocusBranch>> {
        let mut lines = Vec::new();
        for end in [LocusEnd::First, LocusEnd::Second] {
            let line = self.begun_at(end)?;
            if let Some(line) = line.as_ref().filter(|line| line.rank().0 == 0) {
                return Ok(vec![line.clone().forwards()]);
            }
            lines.extend(line);
        }
        match lines.iter().position(LocusBranch::is_whole) {
            Some(whole) => Ok(vec![lines.swap_remove(whole).forwards()]),
            None => Ok(lines),
        }
    }

    /// The line from the critical point of a pure substance, of several that which tells most.
    fn begun_at(&self, end: LocusEnd) -> Result<Option<LocusBranch>> {
        let (pure, edge) = match end {
            LocusEnd::First => (0.0, EDGE),
            _ => (1.0, 1.0 - EDGE),
        };
        let index = usize::from(end != LocusEnd::First);
        if let Some(pair) = &self.conditions.pair {
            let [ln_temperature, ln_density] = pair.pure_critical(index);
            let start = Place::new(ln_temperature, ln_density, pure);
            let inwards = Place::new(0.0, 0.0, 1.0 - 2.0 * pure);
            let (line, last) = self.follow(start, [1.0 - pure, pure], inwards, Vec::new())?;
            // It cannot lead to the point from which it comes.
            let last = if last == end { LocusEnd::Lost } else { last };
            return Ok(Some(LocusBranch {
                points: line,
                ends: (end, last),
            }));
        }
        let critical = self.model.critical_constants(index);
        let around = |share: f64| {
            (
                (1.0 - share) * critical.temperature,
                (1.0 + share) * critical.temperature,
            )
        };
        let distance = |p: &MixtureCriticalPoint| (p.temperature / critical.temperature).ln().abs();
        let nearest = |fraction: f64| -> Result<Option<MixtureCriticalPoint>> {
            let found = critical_points(self.model, &[1.0 - fraction, fraction], around(0.1))?;
            Ok(found
                .into_iter()
                .min_by(|a, b| distance(a).total_cmp(&distance(b))))
        };
        let Some(start) = nearest(pure)? else {
            return Ok(None);
        };
        let first = LocusPoint {
            amount_fraction: pure,
            point: start,
        };
        // Beside the critical point of a substance Newton's method may lead to that point itself, along which no line goes on;
        // a search at the composition of a trace does not.
        let Some(beside) = nearest(edge)? else {
            return Ok(None);
        };
        let mut best = self.begun_beside(first, end, edge, &beside)?;
        if best.rank().0 == 0 {
            return Ok(Some(best));
        }
        // An equation with terms that make its critical point sharp has several lines there.
        let density = |share: f64| (1.0 + share) * start.molar_density;
        let others = critical_points_at_densities(
            self.model,
            &[1.0 - edge, edge],
            around(BESIDE.0),
            (density(-BESIDE.1), density(BESIDE.1)),
        )?;
        let apart =
            |p: &&MixtureCriticalPoint| (p.molar_density / beside.molar_density - 1.0).abs() > 1e-6;
        for other in others.iter().filter(apart) {
            let line = self.begun_beside(first, end, edge, other)?;
            if line.rank() < best.rank() {
                best = line;
            }
        }
        // It cannot lead to the point from which it comes.
        if best.ends.1 == end {
            best.ends.1 = LocusEnd::Lost;
        }
        Ok(Some(best))
    }

    /// The line from the critical point of a pure substance by way of a critical point beside it.
    fn begun_beside(
        &self,
        first: LocusPoint,
        end: LocusEnd,
        edge: f64,
        beside: &MixtureCriticalPoint,
    ) -> Result<LocusBranch> {
        let place = place_of(edge, beside);
        let direction = self.direction(&place);
        let ahead = if edge < 0.5 { 1.0 } else { -1.0 };
        let inwards = Place::new(0.0, 0.0, ahead);
        let (points, last) = self.follow(place, direction, inwards, vec![first])?;
        Ok(LocusBranch {
            points,
            ends: (end, last),
        })
    }

    /// The line through a critical point, followed both ways.
    fn both_ways(
        &self,
        fraction: f64,
        point: &MixtureCriticalPoint,
    ) -> Result<Option<LocusBranch>> {
        let place = place_of(fraction, point);
        let direction = self.direction(&place);
        let Some((start, _)) = self.conditions.corrected(&place, direction, 0.05, None) else {
            return Ok(None);
        };
        let Sloped {
            place, direction, ..
        } = start;
        let side = Place::new(1.0, 0.0, 0.0);
        let (mut points, first) = self.follow(place, direction, -side, Vec::new())?;
        if first == LocusEnd::Closed {
            return Ok(Some(LocusBranch {
                points,
                ends: (first, first),
            }));
        }
        let (ahead, last) = self.follow(place, direction, side, Vec::new())?;
        points.reverse();
        points.extend(ahead.into_iter().skip(1));
        Ok(Some(LocusBranch {
            points,
            ends: (first, last),
        }))
    }

    /// Follows the line from a place on it until it ends, adding its points to those before.
    fn follow(
        &self,
        start: Place,
        direction: Direction,
        towards: Place,
        before: Vec<LocusPoint>,
    ) -> Result<(Vec<LocusPoint>, LocusEnd)> {
        let mut line = Followed {
            points: before,
            tested: 0,
        };
        let end = self.follow_to_end(start, direction, towards, &mut line)?;
        self.test(&mut line)?;
        Ok((line.points, end))
    }

    fn follow_to_end(
        &self,
        start: Place,
        direction: Direction,
        towards: Place,
        line: &mut Followed,
    ) -> Result<LocusEnd> {
        let mut here = self.conditions.sloped(&start, direction);
        let mut towards = towards;
        let mut length = 0.1 * LONGEST;
        let mut bends = Bends::default();
        // Where the line was a while ago, and the steps since.
        let (mut milestone, mut crept) = (start, 0);
        // How the line left its start, once it is out of reach.
        let mut departure: Option<Place> = None;
        line.points.push(self.point(&start));
        for _ in 0..STEPS {
            let place = here.place;
            let tangent = here.tangent(&towards);
            let next = match tangent.and_then(|t| self.stepped(&here, &t, &bends, length)) {
                Some((next, iterations)) if crept < CREEPING => {
                    let reach = (next.place - place).norm();
                    length = match iterations {
                        0..=3 => (1.5 * reach).min(LONGEST),
                        4..=6 => reach,
                        _ => 0.5 * reach,
                    };
                    bends.push(tangent.map(|tangent| (place, tangent)));
                    towards = next.place - place;
                    Some(next)
                }
                None if length > SHORTEST => {
                    length *= 0.5;
                    continue;
                }
                _ => {
                    let next = match self.leapt(line)? {
                        Some(next) => Some(next),
                        None => self.hopped(&place, here.direction, &towards),
                    };
                    if let Some((next, _)) = &next {
                        towards = line
                            .points
                            .last()
                            .map_or(towards, |last| next - last.place());
                        length = 0.1 * LONGEST;
                        (milestone, crept) = (*next, 0);
                    }
                    bends = Bends::default();
                    next.map(|(next, turned)| self.conditions.sloped(&next, turned))
                }
            };
            let Some(next) = next else {
                return Ok(LocusEnd::Lost);
            };
            let comes_back = departure.is_some_and(|first| {
                distance(&start, &place, &next.place) < CLOSES
                    && (next.place - place).dot(&first) > 0.0
            });
            if comes_back {
                line.points.push(self.point(&start));
                return Ok(LocusEnd::Closed);
            }
            here = next;
            let place = here.place;
            if departure.is_none() && (place - start).norm() > LONGEST {
                departure = Some(place - start);
            }
            crept += 1;
            if (place - milestone).norm() > LONGEST {
                (milestone, crept) = (place, 0);
            }
            let point = self.point_of(&here);
            if let Some(end) = self.end(&place, &point, &towards) {
                if matches!(end, LocusEnd::First | LocusEnd::Second) {
                    line.points.push(point);
                }
                return Ok(end);
            }
            line.points.push(point);
        }
        Ok(LocusEnd::Lost)
    }

    /// The next place on the line at about a distance along its tangent and its bend, with the steps that it took.
    fn stepped(
        &self,
        here: &Sloped,
        tangent: &Place,
        bends: &Bends,
        length: f64,
    ) -> Option<(Sloped, u32)> {
        let place = here.place;
        // A step may not lead past a pure substance.
        let room = if tangent.z < 0.0 {
            place.z
        } else {
            1.0 - place.z
        };
        let reach = length.min(0.5 * room / tangent.z.abs().max(1e-12));
        // An equation that swings is foretold by fewer of its places.
        let passed = (place, *tangent);
        let ahead = if self.conditions.pair.is_some() {
            bends.through_places(&passed, reach)
        } else {
            bends.by_tangents(&passed, reach)
        };
        let trial = place + ahead;
        if trial.z <= 0.0 || trial.z >= 1.0 {
            return None;
        }
        let next =
            self.conditions
                .corrected(&trial, here.direction, 0.5 * reach, Some(here.slopes));
        // The line must go on forwards, and turn little in one step unless the equation has wrinkles.
        next.filter(|(next, _)| {
            let step = next.place - place;
            let turned = next
                .tangent(&step)
                .map_or(-1.0, |turned| turned.dot(tangent));
            let (u, v) = (next.direction, here.direction);
            let aligned = u[0] * v[0] + u[1] * v[1];
            let is_smooth = self.conditions.pair.is_none() || turned.min(aligned) > TURNED;
            step.dot(tangent) > 0.5 * reach && is_smooth
        })
    }

    /// The line beyond a wrinkle too fine to be followed, in the direction that its last stable points tell; the unstable points
    /// on the wrinkle are taken away. The terms of a reference equation that make its critical point sharp have derivatives
    /// without bound at its critical density, and where the line of a mixture crosses that density it bends without bound.
    fn leapt(&self, line: &mut Followed) -> Result<Option<(Place, Direction)>> {
        self.test(line)?;
        let Some((stable, last, along)) = line.last_stable() else {
            return Ok(None);
        };
        let found = LEAPS.into_iter().find_map(|reach| {
            let trial = last + reach * along;
            if trial.z <= 0.0 || trial.z >= 1.0 {
                return None;
            }
            let start = self.direction(&trial);
            let (next, _) = self.conditions.corrected(&trial, start, reach, None)?;
            let is_ahead = (next.place - last).dot(&along) > 0.5 * reach;
            (is_ahead && self.tested(&next.place).ok()?.point.is_stable)
                .then_some((next.place, next.direction))
        });
        if found.is_some() {
            line.points.truncate(stable + 1);
            line.tested = stable;
        }
        Ok(found)
    }

    /// The next place in the direction of the last step, where Newton's method fails: where the third derivative of an equation
    /// changes as steeply as a cube root. The limit of stability is solved for the temperature, and C along it is bracketed.
    fn hopped(
        &self,
        place: &Place,
        direction: Direction,
        towards: &Place,
    ) -> Option<(Place, Direction)> {
        let along = towards.try_normalize(0.0)?;
        let room = if along.z < 0.0 {
            place.z
        } else {
            1.0 - place.z
        };
        let free = if along.z.abs() > along.y.abs() { 1 } else { 2 };
        let most = 0.5 * room / along.z.abs().max(1e-12);
        HOPS.into_iter().find_map(|hop| {
            let reach = hop.min(most);
            let trial = place + reach * along;
            WIDTHS.into_iter().find_map(|width| {
                self.bracketed_beside(&trial, free, (width * reach, reach), direction)
            })
        })
    }

    /// The place on the line beside a trial, within widths of the free coordinate and of ln T, if C changes sign there.
    fn bracketed_beside(
        &self,
        trial: &Place,
        free: usize,
        (width, reach): (f64, f64),
        reference: Direction,
    ) -> Option<(Place, Direction)> {
        let what = "point of a critical line";
        let limit = |moved: f64| -> Option<(Place, f64, Direction)> {
            let mut at = *trial;
            at[free] += moved;
            if at.z <= 0.0 || at.z >= 1.0 {
                return None;
            }
            let eigenvalue = |x: f64| {
                let there = Place::new(x, at.y, at.z);
                Ok(self.conditions.residual(&there, reference).0.x)
            };
            let (low, high) = (trial.x - reach, trial.x + reach);
            at.x = bracketed(what, low, high, Tolerance::default(), eigenvalue).ok()?;
            let (residual, direction) = self.conditions.residual(&at, reference);
            Some((at, residual.y, direction))
        };
        let (low, high) = (limit(-width)?.1, limit(width)?.1);
        if (low < 0.0) == (high < 0.0) {
            return None;
        }
        let cubic = |moved: f64| Ok(limit(moved).map_or(f64::NAN, |(_, cubic, _)| cubic));
        let moved = bracketed(what, -width, width, Tolerance::default(), cubic).ok()?;
        let (found, cubic, direction) = limit(moved)?;
        // A jump is no zero.
        (cubic.abs() < VANISHES * (low.abs() + high.abs())).then_some((found, direction))
    }

    fn end(&self, place: &Place, found: &LocusPoint, towards: &Place) -> Option<LocusEnd> {
        let point = &found.point;
        let bounds = self.bounds;
        if point.pressure <= 0.0 {
            Some(LocusEnd::ZeroPressure)
        } else if point.pressure > bounds.pressure_max {
            Some(LocusEnd::HighPressure)
        } else if !(bounds.temperature_min..=bounds.temperature_max).contains(&point.temperature) {
            Some(LocusEnd::Temperature)
        } else if place.z < EDGE && towards.z < 0.0 {
            Some(self.at_pure(0, LocusEnd::First, point))
        } else if place.z > 1.0 - EDGE && towards.z > 0.0 {
            Some(self.at_pure(1, LocusEnd::Second, point))
        } else {
            None
        }
    }

    /// The end of a line at a nearly pure substance. An equation that swings within its own region of two phases has critical
    /// points of traces there, which are not that of the substance.
    fn at_pure(&self, index: usize, end: LocusEnd, point: &MixtureCriticalPoint) -> LocusEnd {
        let critical = self.model.critical_constants(index);
        let off = (point.temperature / critical.temperature).ln().abs();
        if off < AT_PURE { end } else { LocusEnd::Lost }
    }

    /// The point between two points of a line at which a function of the points is zero.
    fn crossing(
        &self,
        a: &LocusPoint,
        b: &LocusPoint,
        of: &impl Fn(&LocusPoint) -> f64,
    ) -> Option<LocusPoint> {
        let (from, to) = (a.place(), b.place());
        let middle = 0.5 * (from + to);
        let reference = self.direction(&middle);
        let reach = (to - from).norm();
        let on_line = |share: f64| -> Option<LocusPoint> {
            // The ends themselves lie on the line; a pure substance has no neighbours on both sides.
            if share == 0.0 {
                return Some(*a);
            }
            if share == 1.0 {
                return Some(*b);
            }
            let trial = from + share * (to - from);
            let (found, _) = self.conditions.corrected(&trial, reference, reach, None)?;
            Some(self.point(&found.place))
        };
        let value = |share: f64| Ok(on_line(share).map_or(f64::NAN, |p| of(&p)));
        let share = bracketed(
            "crossing of a critical line",
            0.0,
            1.0,
            Tolerance::default(),
            value,
        );
        let mut found = share.ok().and_then(on_line)?;
        found.point.is_stable = self.is_stable(&found).ok()?;
        Some(found)
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::eos::equilibrium::samples::binary;
    use proptest::prelude::*;

    const BOUNDS: LocusBounds = LocusBounds {
        temperature_min: 150.0,
        temperature_max: 1200.0,
        pressure_max: 1e9,
    };

    /// Two ways to the critical points of a composition find the same stable ones.
    pub(in crate::eos::equilibrium) fn lines_pass_through_critical_points(
        model: &dyn MixtureModel,
        z: f64,
    ) {
        let locus = critical_locus(model, &BOUNDS).unwrap();
        let on_lines = locus.at_amount_fraction(model, z);
        let found = critical_points(model, &[1.0 - z, z], (150.0, 1200.0)).unwrap();
        for point in found.iter().filter(|p| p.is_stable && p.pressure < 1e8) {
            let same = |p: &LocusPoint| {
                (p.point.temperature / point.temperature - 1.0).abs() < 1e-8
                    && (p.point.pressure / point.pressure - 1.0).abs() < 1e-6
            };
            let ends: Vec<_> = locus.branches.iter().map(|b| b.ends).collect();
            assert!(
                on_lines.iter().any(same),
                "{point:?} {on_lines:?} {:?} {ends:?}",
                locus.kind
            );
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(6))]

        #[test]
        fn lines_pass_through_the_critical_points_of_a_composition(
            model in binary(), z in 0.05..0.95f64
        ) {
            lines_pass_through_critical_points(&model, z);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// The same at length.
        #[test]
        #[ignore = "takes a minute"]
        fn many_lines_pass_through_the_critical_points_of_a_composition(
            model in binary(), z in 0.05..0.95f64
        ) {
            lines_pass_through_critical_points(&model, z);
        }
    }
}
