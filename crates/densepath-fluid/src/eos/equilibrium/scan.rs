//! The search along a line of given temperature or pressure for every boundary of a mixture, or for the next one.
//!
//! A scan of the test of stability brackets the boundaries; Newton's method of [`super::boundary`] finds each.

use super::boundary::{Boundary, BoundaryKind, Given, Search};
use super::own_phases::{own_boiling, own_saturation};
use super::stability::Stability;
use crate::eos::mixture::MixtureModel;
use crate::error::{Error, Result};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// States of a scan.
const SCAN: u32 = 48;
/// Steps of the search between states of a scan; each leaves two thirds.
const THIRDS: u32 = 8;
/// Distance of the states of a scan from an estimated boundary, in the logarithm of the variable sought.
const BESIDE: f64 = 1e-3;
/// Halvings of a bracket before each trial of Newton's method.
const HALVINGS: u32 = 8;

/// All boundaries of a mixture of given amount fractions at a temperature or a pressure, by rising pressure or temperature.
///
/// `range` bounds the pressure in Pa or temperature in K that is sought. A region of two phases narrower than the steps of the
/// scan is found too if liquid and vapour of the composition itself coexist in it, as they do around the boiling of a nearly
/// pure substance, if estimates lead to its borders, or if the distance of the tangent plane falls towards it.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// let found = boundaries(&model, Given::Temperature(320.0), &[0.5, 0.5], (1e4, 1e8))?;
/// assert!(found[0].pressure < found[1].pressure);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn boundaries(
    model: &dyn MixtureModel,
    given: Given,
    fractions: &[f64],
    range: (f64, f64),
) -> Result<Vec<Boundary>> {
    let scan = BoundaryScan::new(model, given, fractions, range)?;
    let mut tests = Vec::new();
    for sought in &scan.places {
        tests.push((*sought, scan.search.test(*sought)?));
    }
    scan.search.look_between(&mut tests)?;
    let mut found = Vec::new();
    for window in tests.windows(2) {
        found.extend(scan.search.in_window(window)?);
    }
    Ok(found)
}

/// The boundaries of a mixture of given amount fractions at a temperature or a pressure, one by one.
///
/// ```
/// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
/// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
/// # let substance = |name: &str| {
/// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
/// # };
/// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
/// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
/// use densepath_fluid::eos::equilibrium::BoundaryScan;
/// // Beyond the bubble point there is no other boundary.
/// let scan = BoundaryScan::new(&model, Given::Temperature(320.0), &[0.5, 0.5], (1e4, 1e8))?;
/// assert!(scan.next(90e5, 1e8)?.is_none());
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub struct BoundaryScan<'a> {
    search: Search<'a>,
    /// Logarithms of the variable sought at the states to test, rising.
    places: Vec<f64>,
}

impl<'a> BoundaryScan<'a> {
    /// A scan of a range of pressures in Pa or temperatures in K.
    ///
    /// ```
    /// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// use densepath_fluid::eos::equilibrium::BoundaryScan;
    /// assert!(BoundaryScan::new(&model, Given::Temperature(320.0), &[0.5, 0.5], (1e4, 1e8)).is_ok());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn new(
        model: &'a dyn MixtureModel,
        given: Given,
        fractions: &'a [f64],
        range: (f64, f64),
    ) -> Result<Self> {
        let search = Search {
            model,
            given,
            fractions,
        };
        let places = search.places(range.0.ln(), range.1.ln())?;
        Ok(Self { search, places })
    }

    /// The first boundary that is met from a pressure in Pa or temperature in K on, towards a last one and no further than the
    /// first state tested beyond it; found with the states that [`boundaries`] tests, but no more of them than lie before it.
    ///
    /// ```
    /// # use densepath_fluid::eos::equilibrium::{BoundaryKind, Given, boundaries, critical_points, flash, stability};
    /// # use densepath_fluid::{eos::{cubic::{Cubic, CubicSubstance, Interaction}, mixture::{MixtureIsotherm, MixtureModel}}, fluids};
    /// # let substance = |name: &str| {
    /// #     Ok::<_, densepath_fluid::Error>(fluids::record(fluids::find(name)?)?.cubic.as_ref().map(|record| CubicSubstance::new(name, record)))
    /// # };
    /// # let substances: Vec<_> = [substance("carbon dioxide")?, substance("n-butane")?].into_iter().flatten().collect();
    /// let model = Cubic::new("Peng-Robinson", substances, |_, _| Interaction { k_0: 0.13, k_1: 0.0, l: 0.0 });
    /// use densepath_fluid::eos::equilibrium::BoundaryScan;
    /// let scan = BoundaryScan::new(&model, Given::Temperature(320.0), &[0.5, 0.5], (1e4, 1e8))?;
    /// let first = scan.next(1e4, 1e8)?;
    /// assert!(first.is_some_and(|boundary| boundary.kind == BoundaryKind::Dew));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn next(&self, from: f64, last: f64) -> Result<Option<Boundary>> {
        let (from, last) = (from.ln(), last.ln());
        let upwards = last > from;
        let beyond = |place: f64, limit: f64| {
            if upwards {
                place > limit
            } else {
                place < limit
            }
        };
        let mut ahead: Vec<f64> = self.places.clone();
        ahead.retain(|place| beyond(*place, from));
        if !upwards {
            ahead.reverse();
        }
        let mut tests = vec![(from, self.search.test(from)?)];
        for place in ahead {
            if tests
                .last()
                .is_some_and(|(tested, _)| beyond(*tested, last))
            {
                return Ok(None);
            }
            tests.push((place, self.search.test(place)?));
            let met = tests.windows(2).next_back();
            if let Some(found) = met
                .map(|window| self.search.in_window(window))
                .transpose()?
                .flatten()
            {
                return Ok(Some(found));
            }
            let mut nearest = tests.split_off(tests.len().saturating_sub(3));
            self.search.look_between(&mut nearest)?;
            if !upwards {
                nearest.reverse();
            }
            for window in nearest.windows(2) {
                if let Some(found) = self.search.in_window(window)? {
                    return Ok(Some(found));
                }
            }
            // The first and the last of what was looked at, and the last but one, are enough to go on.
            nearest.retain(|(place, _)| tested(*place, &self.places, from));
            tests = nearest;
        }
        Ok(None)
    }
}

/// Whether a place belongs to the scan itself.
fn tested(place: f64, places: &[f64], from: f64) -> bool {
    place == from || places.contains(&place)
}

impl Search<'_> {
    /// The boundary between two tested states, if there is one.
    fn in_window(&self, window: &[(f64, Stability)]) -> Result<Option<Boundary>> {
        let [(earlier, last), (sought, test)] = window else {
            return Ok(None);
        };
        Ok(match (last.is_stable(), test.is_stable()) {
            (true, false) => Some(self.between((*sought, test.clone()), *earlier)?),
            (false, true) => Some(self.between((*earlier, last.clone()), *sought)?),
            _ => None,
        })
    }

    /// The states of a scan: even steps, a state between liquid and vapour of the composition itself, and both sides of the
    /// boundaries that estimates lead to.
    fn places(&self, low: f64, high: f64) -> Result<Vec<f64>> {
        let mut places: Vec<f64> = (0..=SCAN)
            .map(|step| low + (high - low) * f64::from(step) / f64::from(SCAN))
            .collect();
        places.extend(self.between_own_phases(low, high)?);
        for kind in [BoundaryKind::Bubble, BoundaryKind::Dew] {
            if let Some(found) = self.estimate(kind).and_then(|start| self.newton(start)) {
                let place = self.place(&found);
                places.extend([place - BESIDE, place + BESIDE]);
            }
        }
        places.retain(|place| (low..=high).contains(place));
        places.sort_by(f64::total_cmp);
        Ok(places)
    }

    /// Where the distance of the tangent plane has a smallest positive value among the states of a scan, a search between
    /// them for a region of two phases that fell through.
    fn look_between(&self, tests: &mut Vec<(f64, Stability)>) -> Result<()> {
        let distance = |test: &Stability| {
            let trial = test.trial.as_ref();
            trial.map_or(f64::INFINITY, |trial| trial.distance)
        };
        let lowest: Vec<(f64, f64)> = tests
            .windows(3)
            .filter_map(|window| {
                let [(low, a), (_, b), (high, c)] = window else {
                    return None;
                };
                let is_lowest = distance(b) <= distance(a) && distance(b) < distance(c);
                let is_open = [a, b, c].iter().all(|test| test.is_stable());
                (is_lowest && is_open).then_some((*low, *high))
            })
            .collect();
        for (mut low, mut high) in lowest {
            for _ in 0..THIRDS {
                let places = [low + (high - low) / 3.0, high - (high - low) / 3.0];
                let [left, right] = [self.test(places[0])?, self.test(places[1])?];
                let falls = distance(&left) < distance(&right);
                let unstable = !left.is_stable() || !right.is_stable();
                tests.extend([(places[0], left), (places[1], right)]);
                if unstable {
                    break;
                }
                if falls {
                    high = places[1];
                } else {
                    low = places[0];
                }
            }
        }
        tests.sort_by(|a, b| a.0.total_cmp(&b.0));
        Ok(())
    }

    /// The boundary between an unstable state and a stable one, told by the logarithms of the variable sought.
    fn between(&self, unstable: (f64, Stability), stable: f64) -> Result<Boundary> {
        let (mut inside, mut test) = unstable;
        let mut outside = stable;
        let mut halvings = 0;
        loop {
            for _ in 0..halvings {
                let middle = 0.5 * (inside + outside);
                let found = self.test(middle)?;
                if found.is_stable() {
                    outside = middle;
                } else {
                    (inside, test) = (middle, found);
                }
            }
            if let Some(found) = self.after_test(inside, &test) {
                let solved = self.place(&found);
                // No more than rounding beyond the bracket: the other end of a narrow region may lie just behind it.
                let slack = 1e-12;
                let (low, high) = (inside.min(outside) - slack, inside.max(outside) + slack);
                let is_narrow = halvings > 0;
                if (low..high).contains(&solved)
                    && (is_narrow || self.parts_between(inside, solved, outside)?)
                {
                    return Ok(found);
                }
            }
            if (inside - outside).abs() < 1e-13 {
                return Ok(self.at_last(inside, &test));
            }
            halvings = HALVINGS;
        }
    }

    /// Whether states beside a boundary in a wide bracket are stable on one side of it and unstable on the other, and one on the
    /// way to it is stable.
    fn parts_between(&self, inside: f64, solved: f64, outside: f64) -> Result<bool> {
        let is_stable = |place: f64| Ok::<_, Error>(self.test(place)?.is_stable());
        let aside = BESIDE * BESIDE * (outside - inside).signum();
        Ok(is_stable(solved + aside)?
            && !is_stable(solved - aside)?
            && is_stable(0.5 * (solved + outside))?)
    }

    /// Where liquid and vapour of the composition itself have one Gibbs energy: inside the region of two phases, however
    /// narrow. The logarithm of the variable sought, if there is such a state in the range.
    fn between_own_phases(&self, low: f64, high: f64) -> Result<Option<f64>> {
        let sought = match self.given {
            Given::Temperature(temperature) => {
                let isotherm = self.model.at(temperature, self.fractions);
                own_saturation(isotherm.as_ref())?.map(|(pressure, _)| pressure.ln())
            }
            Given::Pressure(pressure) => {
                own_boiling(self.model, self.fractions, pressure, (low, high))?
            }
        };
        Ok(sought.filter(|s| (low..=high).contains(s)))
    }
}
