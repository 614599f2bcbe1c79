//! Where two substances mix in all proportions: temperatures and pressures at which no composition parts.
//!
//! At a temperature and a pressure the substances mix in all proportions where every composition has one density and is stable
//! against small changes: the Gibbs energy of mixing is then convex from one pure substance to the other, and no tangent lies above
//! it (Michelsen and Mollerup, Thermodynamic Models, 2nd ed. 2007, chapter 9). There every state is one phase, and the search for a
//! lower tangent plane can find nothing. The plane of temperature and pressure is divided into rectangles; one whose corners are
//! well inside such a region is taken to lie in it, and the larger it is, the further inside they must lie. Corners are looked at
//! when they are first asked for, and hold for all compositions.

use crate::num::once::OnceLock;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::phase::{Phase, near};
use crate::eos::cubic::CubicPair;
use crate::eos::cubic::conditions::PairConditions;
use crate::eos::mixture::{CriticalConstants, MixtureIsotherm, MixtureModel};

/// Width of the smallest rectangles in K, the lowest pressure in Pa, and the ratio of one pressure to the next.
const WIDTH: f64 = 6.0;
const LOWEST: f64 = 500.0;
const RATIO: f64 = 1.14;
/// Corners along the temperature and along the pressure.
const CORNERS: (usize, usize) = (180, 98);
/// The rectangles tried, each so many of the smallest wide and high: the smallest clearness of a corner, and the greatest ratio of
/// the corners beyond which they say little of what lies between them. Liquids soft to a change of composition are so over wide
/// ranges, and corners that are alike tell of it.
const SIZES: [(usize, f64, f64); 4] = [
    (4, 0.35, 2.5),
    (1, 0.1, 3.0),
    (1, 0.06, 1.6),
    (1, 0.04, 1.3),
];
/// Compositions looked at, denser towards the pure substances, and among how many of them one is searched for a second density.
const COMPOSITIONS: u32 = 32;
const SEARCHED: u32 = 8;
/// Imbalance that the search for a density of a corner may leave: it settles the density to a hundred-thousandth.
const ROUGH: f64 = 1.0;

/// How far inside one phase the corners of rectangles of temperature and pressure lie, as far as it has been asked.
#[derive(Debug)]
struct Clearness {
    /// The smallest eigenvalue of the stability of all compositions, zero at corners in doubt; for each temperature those of all
    /// pressures.
    corners: Box<[OnceLock<f64>]>,
}

impl Clearness {
    /// Nothing is known yet.
    fn new() -> Self {
        let count = CORNERS.0 * CORNERS.1;
        Self {
            corners: (0..count).map(|_| OnceLock::new()).collect(),
        }
    }

    /// Whether a rectangle around a temperature in K and a pressure in Pa lies in one phase, by the clearness of its corners.
    fn covers(&self, model: &dyn MixtureModel, temperature: f64, pressure: f64) -> bool {
        let column = place(temperature / WIDTH);
        let row = place((pressure / LOWEST).ln() / RATIO.ln());
        let (Some(column), Some(row)) = (column, row) else {
            return false;
        };
        SIZES.iter().any(|(size, least, uneven)| {
            let (first, low) = (column - column % size, row - row % size);
            let mut range = (f64::INFINITY, 0.0_f64);
            for (i, j) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                let found = self.corner(model, first + i * size, low + j * size);
                range = (range.0.min(found), range.1.max(found));
                if range.0 < *least {
                    return false;
                }
            }
            range.1 < uneven * range.0
        })
    }

    /// The clearness of a corner.
    fn corner(&self, model: &dyn MixtureModel, column: usize, row: usize) -> f64 {
        let known = self.corners.get(column * CORNERS.1 + row);
        let is_inside = column > 0 && (1..CORNERS.1).contains(&row);
        let Some(known) = known.filter(|_| is_inside) else {
            return 0.0;
        };
        *known.get_or_init(|| {
            let exponent = i32::try_from(row).unwrap_or(0);
            let (temperature, pressure) = (column as f64 * WIDTH, LOWEST * RATIO.powi(exponent));
            softest_of_all(model, temperature, pressure).unwrap_or(0.0)
        })
    }
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a small positive number"
)]
fn place(x: f64) -> Option<usize> {
    (1.0..1e6).contains(&x).then_some(x as usize)
}

/// The smallest eigenvalue of the stability of all compositions at a temperature in K and a pressure in Pa; nothing where one has
/// two densities.
fn softest_of_all(model: &dyn MixtureModel, temperature: f64, pressure: f64) -> Option<f64> {
    let mut isotherm = model.at(temperature, &[1.0, 0.0]);
    let mut least = f64::INFINITY;
    let mut last: Option<Phase> = None;
    for step in 0..=COMPOSITIONS {
        let turn = core::f64::consts::FRAC_PI_2 * f64::from(step) / f64::from(COMPOSITIONS);
        let fractions = [turn.cos().powi(2), turn.sin().powi(2)];
        isotherm.recompose(&fractions);
        let is_searched = step % SEARCHED == 0;
        let guess = if let Some(last) = last.filter(|_| !is_searched) {
            last.density_at(&fractions)
        } else {
            let found = isotherm.densities(pressure).ok()?;
            (found.vapour == found.liquid).then_some(found.vapour)?
        };
        let phase = near(isotherm.as_ref(), pressure, guess, ROUGH).1?;
        let (eigenvalue, _) = isotherm.softest(phase.molar_density);
        if eigenvalue.is_nan() || eigenvalue <= 0.0 {
            return None;
        }
        least = least.min(eigenvalue);
        last = Some(phase);
    }
    Some(least)
}

/// A model that remembers where its substances mix in all proportions.
#[derive(Debug)]
pub(crate) struct Remembering<M> {
    model: M,
    miscibility: OnceLock<Clearness>,
}

impl<M> Remembering<M> {
    /// The model, of which nothing is known yet.
    pub(crate) fn new(model: M) -> Self {
        Self {
            model,
            miscibility: OnceLock::new(),
        }
    }
}

impl<M: MixtureModel> MixtureModel for Remembering<M> {
    fn len(&self) -> usize {
        self.model.len()
    }

    fn name(&self) -> &str {
        self.model.name()
    }

    fn at<'a>(
        &'a self,
        temperature: f64,
        amount_fractions: &[f64],
    ) -> Box<dyn MixtureIsotherm + 'a> {
        self.model.at(temperature, amount_fractions)
    }

    fn pair_conditions(&self) -> Option<PairConditions> {
        self.model.pair_conditions()
    }

    fn critical_constants(&self, index: usize) -> CriticalConstants {
        self.model.critical_constants(index)
    }

    fn cubic_pair(&self, temperature: f64) -> Option<CubicPair> {
        self.model.cubic_pair(temperature)
    }

    fn mixes(&self, temperature: f64, pressure: f64) -> bool {
        let known = || self.miscibility.get_or_init(Clearness::new);
        self.len() == 2 && known().covers(&self.model, temperature, pressure)
    }
}
