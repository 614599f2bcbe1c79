//! Everything in which two substances part at one temperature: the lines of two phases over composition and pressure, with their
//! critical points, azeotropes and lines of three phases.
//!
//! Unknowns are the logarithms of the ratios of the amounts in both phases and ln p; the equations are those of equal fugacity
//! of both substances. A line begins at the boiling of a nearly pure substance, at the highest pressure or at a line of three
//! phases, and is followed by arc length ([`super::continuation`]), so that neither an azeotrope nor a greatest pressure is an
//! obstacle. It ends at a critical point, which the conditions of Heidemann and Khalil then give exactly, at a bound, or where a
//! third phase appears; from there the lines of the other pairs of phases go on.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use nalgebra::{DMatrix, DVector};

use super::approach::{ByDensities, approach};
use super::continuation::{Ahead, Curve, Pace, Place};
use super::critical::MixtureCriticalPoint;
use super::flash::flash;
use super::locus::critical_point_at;
use super::own_phases::own_saturation;
use super::phase::{Phase, near};
use super::stability::{Trial, stability};
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::mixture::{Branch, MixtureModel};
use crate::error::Result;
use crate::num::Amounts;
use crate::num::root::secant;
use crate::num::root::{Tolerance, bracketed};

/// Two phases in equilibrium.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TieLine {
    /// Pressure in Pa.
    pub pressure: f64,
    /// Amount fraction of the second substance in both phases.
    pub fractions: [f64; 2],
    /// Molar densities of both phases in mol/m3.
    pub molar_densities: [f64; 2],
}

/// Where a line of two phases begins or ends.
///
/// ```
/// use densepath_fluid::{ModelChoice, isothermal_phase_diagram, phase::TieLineEnd};
/// let diagram = isothermal_phase_diagram("carbon dioxide", "methanol", 313.15, ModelChoice::Best)?;
/// // Liquid and vapour: from the boiling of methanol to a critical point.
/// assert!(diagram.regions.iter().any(|region| region.ends == (TieLineEnd::Second, TieLineEnd::Critical)));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum TieLineEnd {
    /// The boiling of the first substance.
    First,
    /// The boiling of the second substance.
    Second,
    /// A critical point.
    Critical,
    /// A line of three phases.
    ThreePhases,
    /// The lowest pressure asked.
    LowPressure,
    /// The highest pressure asked: both phases go on beyond.
    HighPressure,
    /// The line could not be followed further.
    Lost,
}

impl TieLineEnd {
    /// The words used in reports.
    ///
    /// ```
    /// use densepath_fluid::phase::TieLineEnd;
    /// assert_eq!(TieLineEnd::Critical.name(), "critical point");
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            TieLineEnd::First => "first substance",
            TieLineEnd::Second => "second substance",
            TieLineEnd::Critical => "critical point",
            TieLineEnd::ThreePhases => "three phases",
            TieLineEnd::LowPressure => "lowest pressure",
            TieLineEnd::HighPressure => "highest pressure",
            TieLineEnd::Lost => "lost",
        }
    }
}

/// The states of two phases in stable equilibrium, in order.
#[derive(Debug, Clone, PartialEq)]
pub struct TwoPhaseLine {
    /// Where it begins and ends.
    pub ends: (TieLineEnd, TieLineEnd),
    /// Its tie lines; each phase keeps its place along the line.
    pub points: Vec<TieLine>,
}

/// Three phases in equilibrium.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThreePhases {
    /// Pressure in Pa.
    pub pressure: f64,
    /// Amount fractions of the second substance, rising.
    pub fractions: [f64; 3],
    /// Molar densities of the same phases in mol/m3.
    pub molar_densities: [f64; 3],
}

/// Two substances at one temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct IsothermalPhases {
    /// Temperature in K.
    pub temperature: f64,
    /// The lines of two phases.
    pub lines: Vec<TwoPhaseLine>,
    /// The lines of three phases.
    pub three_phases: Vec<ThreePhases>,
    /// States in which both phases have one composition.
    pub azeotropes: Vec<TieLine>,
    /// The critical points at which lines end, each with its amount fraction of the second substance.
    pub critical_points: Vec<(f64, MixtureCriticalPoint)>,
}

/// Amount fraction of a substance at which its partner counts as pure, and those at which a line is begun: the first at which
/// no second liquid parts.
const TRACE: f64 = 1e-6;
const TRACES: [f64; 4] = [TRACE, 1e-8, 1e-10, 1e-12];
/// Distance of the tangent plane that a first pair may show: it is exact without the trace alone.
const BEYOND_TRACE: f64 = -1e-5;
/// Longest and first step along a line, in the logarithms of ratios and of the pressure.
const LONGEST: f64 = 0.3;
const FIRST: f64 = 0.02;
/// Points of a line at most.
const POINTS: u32 = 2000;
/// Lines at most.
const LINES: usize = 24;
/// Distance of both phases, in the logarithms of their ratios and densities, at which a line is at its critical point.
const NEARLY_ONE: f64 = 0.06;
/// Share of that distance that a step may take.
const APPROACH: f64 = 0.25;
/// Share of that distance to which no step of this length brings both phases.
const COLLAPSED: f64 = 0.1;
/// Distance of both phases below which they are one.
const ONE: f64 = 1e-4;
/// Distance of the tangent plane that a state on a line may show by rounding.
const ON_LINE: f64 = -1e-9;
/// Halvings of a step towards a line of three phases at most.
const HALVINGS: u32 = 20;
/// Difference of ln p or of the logarithm of a ratio at which two ends are one.
const SAME_END: f64 = 1e-4;
/// Compositions at which the highest pressure is looked at.
const SECTIONS: u32 = 24;
/// Step in ln p beside a line of three phases at which is seen on which side a pair of phases is stable.
const BESIDE: f64 = 1e-3;

/// All phases of two substances in equilibrium at a temperature in K, between two pressures in Pa.
pub fn isothermal_phases(
    model: &dyn MixtureModel,
    temperature: f64,
    pressures: (f64, f64),
) -> Result<IsothermalPhases> {
    let mut tracer = Tracer {
        isotherm: Isotherm { model, temperature },
        pressures,
        found: IsothermalPhases {
            temperature,
            lines: Vec::new(),
            three_phases: Vec::new(),
            azeotropes: Vec::new(),
            critical_points: Vec::new(),
        },
        waiting: Vec::new(),
        ends: Vec::new(),
    };
    tracer.begun_at_boiling(TieLineEnd::First)?;
    tracer.begun_at_boiling(TieLineEnd::Second)?;
    tracer.begun_at_highest_pressure()?;
    Ok(tracer.found)
}

/// The equations of a pair of phases.
#[derive(Debug, Clone, Copy)]
struct Isotherm<'a> {
    model: &'a dyn MixtureModel,
    temperature: f64,
}

/// Amount fractions by the logarithm of the ratio of the second amount to the first.
pub(super) fn fractions_of(ratio: f64) -> [f64; 2] {
    [1.0 / (1.0 + ratio.exp()), 1.0 / (1.0 + (-ratio).exp())]
}

fn ratio_of(fractions: &[f64]) -> f64 {
    (entry(fractions, 1) / entry(fractions, 0)).ln()
}

pub(super) fn entry(values: &[f64], index: usize) -> f64 {
    values.get(index).copied().unwrap_or(f64::NAN)
}

/// `ln x_i + ln phi_i` with its derivatives in the logarithm of the ratio.
struct Potential {
    value: f64,
    slope: f64,
    d_ln_pressure: f64,
}

impl Isotherm<'_> {
    fn phase(&self, ratio: f64, pressure: f64, guess: f64) -> Option<Phase> {
        let isotherm = self.model.at(self.temperature, &fractions_of(ratio));
        near(isotherm.as_ref(), pressure, guess, 0.0).1
    }

    fn potentials(&self, found: &Phase, ratio: f64, pressure: f64) -> [Potential; 2] {
        let x = fractions_of(ratio);
        let product = x[0] * x[1];
        let z = pressure / (found.molar_density * MOLAR_GAS_CONSTANT * self.temperature);
        [0, 1].map(|i| {
            let row = |j: usize| entry(&found.d_amounts, 2 * i + j);
            let own = if i == 0 { -x[1] } else { x[0] };
            Potential {
                value: x[i].ln() + entry(&found.ln_coefficients, i),
                slope: own + product * (row(1) - row(0)),
                d_ln_pressure: z * entry(&found.volumes, i) - 1.0,
            }
        })
    }

    /// Residuals and their derivatives for phases of given ratios, the first against each of the others, with the densities.
    fn equations<const N: usize>(
        &self,
        unknowns: &DVector<f64>,
        guesses: [f64; N],
    ) -> Option<(DVector<f64>, DMatrix<f64>, [f64; N])> {
        let pressure = unknowns[N].exp();
        let mut densities = guesses;
        let mut potentials = Vec::with_capacity(N);
        for (place, density) in densities.iter_mut().enumerate() {
            let found = self.phase(unknowns[place], pressure, *density)?;
            *density = found.molar_density;
            potentials.push(self.potentials(&found, unknowns[place], pressure));
        }
        let rows = 2 * (N - 1);
        let mut residuals = DVector::zeros(rows);
        let mut jacobian = DMatrix::zeros(rows, N + 1);
        let (first, others) = potentials.split_first()?;
        for (place, other) in others.iter().enumerate() {
            for (i, (one, two)) in first.iter().zip(other).enumerate() {
                let row = 2 * place + i;
                residuals[row] = one.value - two.value;
                jacobian[(row, 0)] = one.slope;
                jacobian[(row, place + 1)] = -two.slope;
                jacobian[(row, N)] = one.d_ln_pressure - two.d_ln_pressure;
            }
        }
        Some((residuals, jacobian, densities))
    }

    /// Three phases near a pair and the phase that makes it unstable.
    fn three(&self, pair: &Phases<2>, trial: &Trial) -> Option<Phases<3>> {
        let third = ratio_of(&trial.fractions);
        let ([one, other], [a, b]) = (pair.ratios, pair.densities);
        self.three_near(&Phases {
            ratios: [one, other, third],
            ln_pressure: pair.ln_pressure,
            densities: [a, b, trial.molar_density],
        })
    }

    /// Three phases in equilibrium near three that are not.
    fn three_near(&self, start: &Phases<3>) -> Option<Phases<3>> {
        let [one, other, third] = start.ratios;
        let mut unknowns = DVector::from_vec(vec![one, other, third, start.ln_pressure]);
        let mut densities = start.densities;
        let mut least = f64::INFINITY;
        for _ in 0..NEWTON_STEPS {
            let (residuals, jacobian, found) = self.equations::<3>(&unknowns, densities)?;
            densities = found;
            let size = residuals.amax();
            if size < SOLVED || (size < ALMOST && size > 0.5 * least) {
                return ordered(&unknowns, densities);
            }
            least = least.min(size);
            let step = jacobian.lu().solve(&-residuals)?;
            let share = (0.5 / step.amax()).min(1.0);
            unknowns += share * step;
            if unknowns.iter().any(|value| !value.is_finite()) {
                return None;
            }
        }
        None
    }
}

/// Three phases of two substances that are nearly in equilibrium.
pub(crate) struct ThreeNear<'a> {
    pub model: &'a dyn MixtureModel,
    /// For each the logarithm of the ratio of the second amount to the first and the molar density in mol/m3.
    pub phases: [(f64, f64); 3],
}

/// Rough change of the logarithm of the pressure of three phases with that of the temperature, and the step of the temperature in K
/// below which the next would be rounding.
const RISE: f64 = 8.0;
const SETTLED: f64 = 1e-9;
/// Shares of the temperatures between which it lies from which it is sought.
const STARTS: [f64; 5] = [1.0, 0.0, 0.75, 0.5, 0.25];

impl ThreeNear<'_> {
    fn phases(&self, pressure: f64) -> Phases<3> {
        Phases {
            ratios: self.phases.map(|(ratio, _)| ratio),
            ln_pressure: pressure.ln(),
            densities: self.phases.map(|(_, density)| density),
        }
    }

    /// The logarithm of the pressure in Pa of their equilibrium at a temperature in K, near a pressure.
    pub(crate) fn ln_pressure(&self, temperature: f64, near: f64) -> Option<f64> {
        let isotherm = Isotherm {
            model: self.model,
            temperature,
        };
        Some(isotherm.three_near(&self.phases(near))?.ln_pressure)
    }

    /// The temperature in K of their equilibrium at a pressure in Pa, between two temperatures.
    pub(crate) fn temperature(&self, pressure: f64, between: (f64, f64)) -> Option<f64> {
        // Far from where it lies one of them is none at that pressure.
        let ln_pressure = pressure.ln();
        let at = |share: f64| between.0 + share * (between.1 - between.0);
        STARTS.map(at).into_iter().find_map(|start| {
            let mut phases = self.phases(pressure);
            secant((start, RISE / start), between, SETTLED, |temperature| {
                let isotherm = Isotherm {
                    model: self.model,
                    temperature,
                };
                // At that pressure all three are found, or nearly so, once the temperature is near.
                phases.ln_pressure = ln_pressure;
                phases = isotherm.three_near(&phases)?;
                Some(phases.ln_pressure - ln_pressure)
            })
        })
    }
}

/// Steps of Newton's method at most, and residuals at which the equations are solved, the second where rounding rules.
const NEWTON_STEPS: u32 = 40;
const SOLVED: f64 = 1e-11;
const ALMOST: f64 = 1e-8;

/// Three phases by rising fraction of the second substance; nothing if two of them are one.
fn ordered(unknowns: &DVector<f64>, densities: [f64; 3]) -> Option<Phases<3>> {
    let mut phases = [0, 1, 2].map(|place| (unknowns[place], densities[place]));
    phases.sort_by(|a, b| a.0.total_cmp(&b.0));
    let apart = phases.windows(2).all(|pair| match pair {
        [a, b] => (b.0 - a.0).hypot((b.1 / a.1).ln()) > ONE,
        _ => true,
    });
    apart.then(|| Phases {
        ratios: phases.map(|(ratio, _)| ratio),
        ln_pressure: unknowns[3],
        densities: phases.map(|(_, density)| density),
    })
}

/// Phases at one pressure by the logarithms of their ratios, which tell what is less than the rounding of a fraction.
#[derive(Debug, Clone, Copy)]
struct Phases<const N: usize> {
    ratios: [f64; N],
    ln_pressure: f64,
    /// Molar densities in mol/m3.
    densities: [f64; N],
}

impl Phases<2> {
    fn of(place: &Place) -> Self {
        Self {
            ratios: [place.unknowns[0], place.unknowns[1]],
            ln_pressure: place.unknowns[2],
            densities: [place.densities.0, place.densities.1],
        }
    }

    fn unknowns(&self) -> DVector<f64> {
        let [one, other] = self.ratios;
        DVector::from_vec(vec![one, other, self.ln_pressure])
    }

    fn place(&self, isotherm: &Isotherm) -> Option<Place> {
        let [one, other] = self.densities;
        isotherm.at(self.unknowns(), (one, other))
    }

    fn turned(&self) -> Self {
        let ([a, b], [c, d]) = (self.ratios, self.densities);
        Self {
            ratios: [b, a],
            densities: [d, c],
            ..*self
        }
    }

    /// Distance of the compositions from those of another pair, phase by phase.
    fn off(&self, other: &Self) -> f64 {
        let pairs = self.ratios.iter().zip(&other.ratios);
        pairs.map(|(a, b)| (a - b).abs()).sum()
    }

    fn is_same(&self, other: &Self) -> bool {
        let off = self.off(other).min(self.off(&other.turned()));
        off < SAME_END && (self.ln_pressure - other.ln_pressure).abs() < SAME_END
    }

    fn tie_line(&self) -> TieLine {
        TieLine {
            pressure: self.ln_pressure.exp(),
            fractions: self.ratios.map(|ratio| fractions_of(ratio)[1]),
            molar_densities: self.densities,
        }
    }
}

impl Phases<3> {
    /// The pairs of two of the phases.
    fn pairs(&self) -> [Phases<2>; 3] {
        [(0, 1), (1, 2), (0, 2)].map(|(a, b)| Phases {
            ratios: [self.ratios[a], self.ratios[b]],
            ln_pressure: self.ln_pressure,
            densities: [self.densities[a], self.densities[b]],
        })
    }

    fn told(&self) -> ThreePhases {
        ThreePhases {
            pressure: self.ln_pressure.exp(),
            fractions: self.ratios.map(|ratio| fractions_of(ratio)[1]),
            molar_densities: self.densities,
        }
    }
}

impl Curve for Isotherm<'_> {
    fn at(&self, unknowns: DVector<f64>, densities: (f64, f64)) -> Option<Place> {
        let guesses = [densities.0, densities.1];
        let (residuals, jacobian, [one, other]) = self.equations::<2>(&unknowns, guesses)?;
        Some(Place {
            unknowns,
            residuals,
            jacobian,
            densities: (one, other),
        })
    }
}

/// Distance of both phases of a place in the logarithms of their ratios and densities.
pub(super) fn apart(place: &Place) -> f64 {
    let densities = (place.densities.0 / place.densities.1).ln();
    (place.unknowns[0] - place.unknowns[1]).hypot(densities)
}

/// The end of a line, with its last pair where there is one.
type End = (TieLineEnd, Option<Phases<2>>);

struct Tracer<'a> {
    isotherm: Isotherm<'a>,
    pressures: (f64, f64),
    found: IsothermalPhases,
    /// Pairs of phases on lines of three from which lines are still to be followed.
    waiting: Vec<Phases<2>>,
    /// First and last pair of the lines found.
    ends: Vec<(TieLineEnd, Phases<2>)>,
}

impl Tracer<'_> {
    /// Follows the line that begins where a nearly pure substance boils, and those that it leads to.
    fn begun_at_boiling(&mut self, end: TieLineEnd) -> Result<()> {
        if self.ends.iter().any(|(known, _)| *known == end) {
            return Ok(());
        }
        let (host, guest, side) = match end {
            TieLineEnd::First => (0, 1, 1.0),
            _ => (1, 0, -1.0),
        };
        let mut begun = None;
        for trace in TRACES {
            begun = self.boiling(host, guest, trace)?;
            let Some(start) = &begun else {
                return Ok(());
            };
            if self
                .unstable(start)?
                .is_none_or(|t| t.distance > BEYOND_TRACE)
            {
                break;
            }
        }
        let Some(start) = begun else {
            return Ok(());
        };
        let (low, high) = self.pressures;
        if !(low..=high).contains(&start.ln_pressure.exp()) {
            return Ok(());
        }
        let towards = DVector::from_vec(vec![side, 0.0, 0.0]);
        self.follow(&start, end, &towards)?;
        self.follow_waiting()
    }

    /// Liquid and vapour of a substance with a trace of the other, which spreads as their fugacity coefficients in the pure
    /// substance tell; nothing above its critical temperature.
    fn boiling(&self, host: usize, guest: usize, trace: f64) -> Result<Option<Phases<2>>> {
        let mut pure = [0.0; 2];
        pure[host] = 1.0;
        let isotherm = self.isotherm.model.at(self.isotherm.temperature, &pure);
        let Some((pressure, found)) = own_saturation(isotherm.as_ref())? else {
            return Ok(None);
        };
        let coefficient = |density: f64| {
            let all = isotherm.ln_fugacity_coefficients(density, pressure);
            entry(&all, guest)
        };
        let ratio = coefficient(found.liquid) - coefficient(found.vapour);
        // The trace in one phase may be less than the rounding of the other fraction: its logarithm tells it.
        let ratios = [-ratio.max(0.0), ratio.min(0.0)].map(|ln_share| {
            let ln_trace = trace.ln() + ln_share;
            let ln_ratio = ln_trace - (-ln_trace.exp()).ln_1p();
            if guest == 1 { ln_ratio } else { -ln_ratio }
        });
        Ok(Some(Phases {
            ratios,
            ln_pressure: pressure.ln(),
            densities: [found.liquid, found.vapour],
        }))
    }

    /// Follows the lines that come down from the highest pressure.
    fn begun_at_highest_pressure(&mut self) -> Result<()> {
        let Isotherm { model, temperature } = self.isotherm;
        let pressure = self.pressures.1;
        for section in 1..SECTIONS {
            let x = f64::from(section) / f64::from(SECTIONS);
            let phases = flash(model, temperature, pressure, &[1.0 - x, x])?.phases;
            let [one, other] = phases.as_slice() else {
                continue;
            };
            let start = Phases {
                ratios: [ratio_of(&one.fractions), ratio_of(&other.fractions)],
                ln_pressure: pressure.ln(),
                densities: [one.molar_density, other.molar_density],
            };
            if !self.is_end(TieLineEnd::HighPressure, &start) {
                let towards = DVector::from_vec(vec![0.0, 0.0, -1.0]);
                self.follow(&start, TieLineEnd::HighPressure, &towards)?;
                self.follow_waiting()?;
            }
        }
        Ok(())
    }

    /// Whether a line found begins or ends in a way with a pair.
    fn is_end(&self, end: TieLineEnd, pair: &Phases<2>) -> bool {
        let mut ends = self.ends.iter();
        ends.any(|(known, at)| *known == end && at.is_same(pair))
    }

    /// Follows the lines that begin on lines of three phases, each on the side on which its phases are stable.
    fn follow_waiting(&mut self) -> Result<()> {
        while let Some(start) = self.waiting.pop() {
            let known = self.is_end(TieLineEnd::ThreePhases, &start);
            if known || self.found.lines.len() >= LINES {
                continue;
            }
            for side in [1.0, -1.0] {
                let towards = DVector::from_vec(vec![0.0, 0.0, side]);
                let begun = start.place(&self.isotherm);
                let beside = begun
                    .and_then(|place| Ahead::near(&self.isotherm, place, &towards))
                    .and_then(|here| here.moved(&self.isotherm, BESIDE));
                let Some((beside, _)) = beside else {
                    continue;
                };
                if self.unstable(&Phases::of(&beside.place))?.is_none() {
                    self.follow(&start, TieLineEnd::ThreePhases, &towards)?;
                    break;
                }
            }
        }
        Ok(())
    }

    /// A phase that makes a pair of phases unstable: one of another composition, or another density of one of both.
    fn unstable(&self, pair: &Phases<2>) -> Result<Option<Trial>> {
        let Isotherm { model, temperature } = self.isotherm;
        let pressure = pair.ln_pressure.exp();
        let phases = pair.ratios.map(fractions_of);
        for (fractions, density) in phases.iter().zip(pair.densities) {
            let isotherm = model.at(temperature, fractions);
            let stable = isotherm.molar_density(pressure, Branch::Stable)?;
            let energy = |density| isotherm.residual_gibbs_energy(density, pressure);
            let distance = energy(stable) - energy(density);
            if distance < ON_LINE {
                return Ok(Some(Trial {
                    fractions: Amounts::from_slice(fractions),
                    molar_density: stable,
                    distance,
                }));
            }
        }
        // Both phases have one tangent plane, but what lies below it may be seen from one of them only.
        for fractions in &phases {
            let test = stability(model, temperature, pressure, fractions)?;
            let below = test.trial.filter(|trial| trial.distance < ON_LINE);
            if below.is_some() {
                return Ok(below);
            }
        }
        Ok(None)
    }

    /// Follows a line from a tie line to its end.
    fn follow(&mut self, start: &Phases<2>, end: TieLineEnd, towards: &DVector<f64>) -> Result<()> {
        let isotherm = self.isotherm;
        let begun = start.place(&isotherm);
        let Some(mut here) = begun.and_then(|place| Ahead::near(&isotherm, place, towards)) else {
            return Ok(());
        };
        let mut last = (TieLineEnd::Lost, None);
        let mut pairs = vec![Phases::of(&here.place)];
        let mut pace = Pace {
            length: FIRST,
            longest: LONGEST,
        };
        for _ in 0..POINTS {
            let closest = APPROACH * apart(&here.place);
            let next = pace.next(&isotherm, &here, |length| length.min(closest));
            // Where compositions are nearer to each other than densities a step may pass the critical point unseen: beyond it
            // both phases are one.
            let together = COLLAPSED * apart(&here.place);
            let Some(next) = next.filter(|next| apart(&next.place) > together) else {
                last = self.approached(&Phases::of(&here.place), &mut pairs)?;
                break;
            };
            self.azeotrope(&here, &next);
            if let Some(end) = self.end(&here, &next)? {
                last = end;
                break;
            }
            pairs.push(Phases::of(&next.place));
            here = next;
        }
        pairs.extend(last.1);
        let first = pairs.first().map(|pair| (end, *pair));
        self.ends.extend(first);
        self.ends.extend(pairs.last().map(|pair| (last.0, *pair)));
        self.found.lines.push(TwoPhaseLine {
            ends: (end, last.0),
            points: pairs.iter().map(Phases::tie_line).collect(),
        });
        Ok(())
    }

    /// Whether a line ends between two points of it, and its last point.
    fn end(&mut self, here: &Ahead, next: &Ahead) -> Result<Option<End>> {
        let mut pair = Phases::of(&next.place);
        let bounds = [
            (self.pressures.0, -1.0, TieLineEnd::LowPressure),
            (self.pressures.1, 1.0, TieLineEnd::HighPressure),
        ];
        let bound = bounds
            .into_iter()
            .find(|(bound, side, _)| side * (pair.ln_pressure - bound.ln()) > SAME_END);
        if let Some((bound, _, end)) = bound {
            let Some(last) = self.between(here, next, |place| place.unknowns[2] - bound.ln())
            else {
                return Ok(Some((end, None)));
            };
            pair = Phases::of(&last);
        }
        if self.unstable(&pair)?.is_some() {
            return self.end_at_three(here, &pair).map(Some);
        }
        if let Some((_, _, end)) = bound {
            return Ok(Some((end, Some(pair))));
        }
        let before = Phases::of(&here.place);
        let greatest = |pair: &Phases<2>| pair.ratios[0].max(pair.ratios[1]);
        let least = |pair: &Phases<2>| pair.ratios[0].min(pair.ratios[1]);
        if greatest(&pair) < TRACE.ln() && greatest(&pair) < greatest(&before) {
            return Ok(Some((TieLineEnd::First, Some(pair))));
        }
        if least(&pair) > -TRACE.ln() && least(&pair) > least(&before) {
            return Ok(Some((TieLineEnd::Second, Some(pair))));
        }
        Ok(self.critical_point(&next.place))
    }

    /// The end of a line between a point of it and an unstable pair ahead. What makes a pair unstable is near the third phase
    /// where the pair just begins to be so.
    fn end_at_three(&mut self, here: &Ahead, pair: &Phases<2>) -> Result<End> {
        let ahead = pair.unknowns() - &here.place.unknowns;
        let mut lengths = (0.0, ahead.dot(&here.tangent));
        let mut unstable = self.unstable(pair)?.map(|trial| (*pair, trial));
        for _ in 0..HALVINGS {
            let Some((pair, trial)) = &unstable else {
                break;
            };
            if let Some(three) = self.isotherm.three(pair, trial) {
                return Ok((TieLineEnd::ThreePhases, self.three_phases(&three, pair)));
            }
            let mut nearer = None;
            while nearer.is_none() && lengths.1 - lengths.0 > f64::EPSILON {
                let middle = 0.5 * (lengths.0 + lengths.1);
                let Some((between, _)) = here.moved(&self.isotherm, middle) else {
                    return Ok((TieLineEnd::Lost, None));
                };
                let pair = Phases::of(&between.place);
                nearer = self.unstable(&pair)?.map(|trial| (pair, trial));
                match nearer {
                    Some(_) => lengths.1 = middle,
                    None => lengths.0 = middle,
                }
            }
            unstable = nearer;
        }
        Ok((TieLineEnd::Lost, None))
    }

    /// Notes three phases and the pairs that begin there; the one of them that a pair has come to.
    fn three_phases(&mut self, three: &Phases<3>, pair: &Phases<2>) -> Option<Phases<2>> {
        let told = three.told();
        let same = |known: &ThreePhases| (known.pressure / told.pressure).ln().abs() < SAME_END;
        let pairs = three.pairs();
        let off = |line: &Phases<2>| line.off(pair).min(line.turned().off(pair));
        let nearest = (0..pairs.len()).min_by(|a, b| off(&pairs[*a]).total_cmp(&off(&pairs[*b])));
        if !self.found.three_phases.iter().any(same) {
            self.found.three_phases.push(told);
            let others = pairs.iter().enumerate();
            let others = others.filter(|(index, _)| Some(*index) != nearest);
            self.waiting.extend(others.map(|(_, pair)| *pair));
        }
        let own = pairs.get(nearest?)?;
        Some(if own.off(pair) <= own.turned().off(pair) {
            *own
        } else {
            own.turned()
        })
    }

    /// The critical point that a line has come near to.
    fn critical_point(&mut self, place: &Place) -> Option<End> {
        let distance = apart(place);
        if distance > NEARLY_ONE {
            return None;
        }
        let Isotherm { model, temperature } = self.isotherm;
        let fraction = fractions_of(0.5 * (place.unknowns[0] + place.unknowns[1]))[1];
        let density = (place.densities.0 * place.densities.1).sqrt();
        let Some((x, point)) = critical_point_at(model, temperature, fraction, density) else {
            return (distance < ONE).then_some((TieLineEnd::Lost, None));
        };
        let last = Phases {
            ratios: [ratio_of(&[1.0 - x, x]); 2],
            ln_pressure: point.pressure.ln(),
            densities: [point.molar_density; 2],
        };
        let [told, _] = last.tie_line().fractions;
        self.found.critical_points.push((told, point));
        Some((TieLineEnd::Critical, Some(last)))
    }

    /// The end of a line that cannot be followed in the pressure, at a critical point to which the densities lead; the pairs on
    /// the way are added.
    fn approached(&mut self, pair: &Phases<2>, pairs: &mut Vec<Phases<2>>) -> Result<End> {
        let lost = Ok((TieLineEnd::Lost, None));
        let Isotherm { model, temperature } = self.isotherm;
        let curve = ByDensities { model, temperature };
        let Some(places) = approach(&curve, pair.ratios, pair.densities, NEARLY_ONE) else {
            return lost;
        };
        let order = pair.ratios[0] < pair.ratios[1];
        let mut ahead = Vec::with_capacity(places.len());
        for place in &places {
            let pair = Phases {
                ratios: [place.unknowns[0], place.unknowns[1]],
                ln_pressure: curve.ln_pressure(place),
                densities: [place.densities.0, place.densities.1],
            };
            let turned = order != (pair.ratios[0] < pair.ratios[1]);
            let (low, high) = self.pressures;
            let inside = (low.ln()..=high.ln()).contains(&pair.ln_pressure);
            if turned || !inside || self.unstable(&pair)?.is_some() {
                return lost;
            }
            ahead.push(pair);
        }
        let Some(end) = places.last().and_then(|place| self.critical_point(place)) else {
            return lost;
        };
        pairs.extend(ahead);
        Ok(end)
    }

    /// Notes the state between two points of a line at which both phases have one composition.
    fn azeotrope(&mut self, here: &Ahead, next: &Ahead) {
        let apart = |place: &Place| place.unknowns[0] - place.unknowns[1];
        if (apart(&here.place) < 0.0) != (apart(&next.place) < 0.0) {
            let found = self.between(here, next, apart);
            let told = found.map(|place| Phases::of(&place).tie_line());
            self.found.azeotropes.extend(told);
        }
    }

    /// The place between two points at which a function of the places is zero.
    fn between(&self, here: &Ahead, next: &Ahead, of: impl Fn(&Place) -> f64) -> Option<Place> {
        let change = &next.place.unknowns - &here.place.unknowns;
        let reach = change.dot(&here.tangent);
        let ahead = |length: f64| {
            if length == 0.0 {
                return Some(here.place.clone());
            }
            let moved = here.moved(&self.isotherm, length);
            moved.map(|(found, _)| found.place)
        };
        let value = |length: f64| Ok(ahead(length).map_or(f64::NAN, |place| of(&place)));
        let rough = Tolerance {
            relative: 1e-12,
            iterations: 100,
        };
        let length = bracketed("place on a line", 0.0, reach, rough, value).ok()?;
        ahead(length)
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::eos::equilibrium::samples::{
        CARBON_DIOXIDE, HEXANE, METHANOL, WATER, binary, peng_robinson,
    };
    use crate::eos::equilibrium::{LocusBounds, critical_locus};
    use crate::eos::multifluid::MultiFluid;
    use crate::fluids::binary::ReducingRecord;
    use crate::fluids::{find, record};
    use proptest::prelude::*;

    const PRESSURES: (f64, f64) = (1e3, 1e8);

    /// Both phases of every tie line are those of the search for the least Gibbs energy in its middle; only beside a
    /// critical point, where rounding parts no phases, may it find one.
    fn tie_lines_are_equilibria(model: &dyn MixtureModel, found: &IsothermalPhases) {
        for line in &found.lines {
            for pair in &line.points {
                let [a, b] = pair.fractions;
                let middle = 0.5 * (a + b);
                let apart = (a - b).abs();
                if apart < 1e-3 {
                    continue;
                }
                let phases = flash(
                    model,
                    found.temperature,
                    pair.pressure,
                    &[1.0 - middle, middle],
                )
                .unwrap()
                .phases;
                let [one, other] = phases.as_slice() else {
                    // On a line of three phases any two of them may be found with a trace of the third.
                    let is_three =
                        |three: &ThreePhases| (three.pressure / pair.pressure).ln().abs() < 1e-9;
                    assert!(
                        found.three_phases.iter().any(is_three),
                        "{pair:?} {phases:?}"
                    );
                    continue;
                };
                // Rounding of the fugacities moves the phases with the inverse square of their distance.
                let same = |x: &[f64], y: f64| (x[1] - y).abs() < (2e-9 / apart.powi(2)).max(1e-8);
                assert!(
                    (same(&one.fractions, a) && same(&other.fractions, b))
                        || (same(&one.fractions, b) && same(&other.fractions, a))
                        || found
                            .three_phases
                            .iter()
                            .any(|three| (three.pressure / pair.pressure).ln().abs() < 1e-9),
                    "{pair:?} {phases:?}"
                );
            }
        }
    }

    fn lost(found: &IsothermalPhases) -> usize {
        let ends = found
            .lines
            .iter()
            .flat_map(|line| [line.ends.0, line.ends.1]);
        ends.filter(|end| *end == TieLineEnd::Lost).count()
    }

    #[test]
    fn a_region_ends_at_the_critical_line() {
        let model = peng_robinson(&[CARBON_DIOXIDE, METHANOL], &[0.0583]);
        let bounds = LocusBounds {
            temperature_min: 180.0,
            temperature_max: 700.0,
            pressure_max: 1e8,
        };
        let locus = critical_locus(&model, &bounds).unwrap();
        for temperature in [310.0, 323.15, 353.15, 450.0] {
            let found = isothermal_phases(&model, temperature, PRESSURES).unwrap();
            let [line] = found.lines.as_slice() else {
                panic!("{found:?}")
            };
            assert_eq!(line.ends, (TieLineEnd::Second, TieLineEnd::Critical));
            let [(x, point)] = found.critical_points[..] else {
                panic!("{found:?}")
            };
            let on_line = locus.at_temperature(&model, temperature);
            assert!(
                on_line.iter().any(|c| (c.amount_fraction - x).abs() < 1e-7
                    && (c.point.pressure / point.pressure - 1.0).abs() < 1e-7),
                "{on_line:?} {point:?}"
            );
            tie_lines_are_equilibria(&model, &found);
        }
    }

    /// Water and carbon dioxide: liquid, liquid and vapour below the end of the line of three phases, about 304.6 K (from
    /// memory); liquid and a fluid up to the highest pressure above it.
    #[test]
    fn three_phases_join_three_regions() {
        let model = peng_robinson(&[CARBON_DIOXIDE, WATER], &[0.0952]);
        let cold = isothermal_phases(&model, 293.15, PRESSURES).unwrap();
        let [three] = cold.three_phases[..] else {
            panic!("{cold:?}")
        };
        let potentials: Vec<[f64; 2]> = three
            .fractions
            .iter()
            .zip(three.molar_densities)
            .map(|(x, density)| {
                let isotherm = model.at(293.15, &[1.0 - x, *x]);
                let all = isotherm.ln_fugacity_coefficients(density, three.pressure);
                [(1.0 - x).ln() + all[0], x.ln() + all[1]]
            })
            .collect();
        for phase in &potentials[1..] {
            assert!((phase[0] - potentials[0][0]).abs() < 1e-8);
            assert!((phase[1] - potentials[0][1]).abs() < 1e-8);
        }
        let at_three = |line: &TwoPhaseLine| {
            usize::from(line.ends.0 == TieLineEnd::ThreePhases)
                + usize::from(line.ends.1 == TieLineEnd::ThreePhases)
        };
        assert_eq!(cold.lines.iter().map(at_three).sum::<usize>(), 3);
        assert_eq!(lost(&cold), 0);
        tie_lines_are_equilibria(&model, &cold);
        let warm = isothermal_phases(&model, 330.0, PRESSURES).unwrap();
        assert!(warm.three_phases.is_empty());
        assert_eq!(
            warm.lines[0].ends,
            (TieLineEnd::Second, TieLineEnd::HighPressure)
        );
    }

    /// Carbon dioxide and ethane boil together at one composition (near 0.3 of ethane, from memory: Ohgaki and Katayama,
    /// Fluid Phase Equilib. 1, 27 (1977)); parameters of Kunz and Wagner 2012, without a departure.
    #[test]
    fn an_azeotrope_is_met() {
        let equations = ["carbon dioxide", "ethane"].map(|name| {
            let record = record(find(name).unwrap()).unwrap();
            record.equation_of_state.as_ref().unwrap()
        });
        let reducing = ReducingRecord {
            beta_temperature: 1.013871147,
            gamma_temperature: 0.90094953,
            beta_volume: 1.002525718,
            gamma_volume: 1.032876701,
        };
        let model = MultiFluid::new("pair", &equations, false, |_, _| (reducing, &[]));
        let found = isothermal_phases(&model, 263.15, PRESSURES).unwrap();
        let [azeotrope] = found.azeotropes[..] else {
            panic!("{:?}", found.azeotropes)
        };
        let [a, b] = azeotrope.fractions;
        assert!(
            (a - b).abs() < 1e-9 && (0.2..0.4).contains(&a),
            "{azeotrope:?}"
        );
        let greatest = found.lines[0]
            .points
            .iter()
            .map(|pair| pair.pressure)
            .fold(0.0, f64::max);
        assert!(
            greatest < azeotrope.pressure * (1.0 + 1e-9),
            "{greatest} {azeotrope:?}"
        );
        tie_lines_are_equilibria(&model, &found);
    }

    /// Where carbon dioxide and hexane part into two liquids the region lies apart from that of the vapour.
    #[test]
    fn the_boiling_of_both_is_joined_below_both_critical_temperatures() {
        let model = peng_robinson(&[CARBON_DIOXIDE, HEXANE], &[0.11]);
        let found = isothermal_phases(&model, 290.0, PRESSURES).unwrap();
        let ends: Vec<_> = found.lines.iter().map(|line| line.ends).collect();
        assert_eq!(ends, [(TieLineEnd::First, TieLineEnd::Second)]);
        tie_lines_are_equilibria(&model, &found);
    }

    /// The lines of two substances at a temperature in K are equilibria, and none is lost.
    pub(in crate::eos::equilibrium) fn lines_are_equilibria(
        model: &dyn MixtureModel,
        temperature: f64,
    ) {
        let found = isothermal_phases(model, temperature, PRESSURES).unwrap();
        tie_lines_are_equilibria(model, &found);
        let ends: Vec<_> = found.lines.iter().map(|line| line.ends).collect();
        assert_eq!(lost(&found), 0, "{ends:?}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(12))]

        #[test]
        fn lines_of_invented_pairs_are_equilibria(model in binary(), temperature in 250.0..450.0f64) {
            lines_are_equilibria(&model, temperature);
        }
    }
}
