//! Both conditions of criticality of two substances along a line, with their slopes in ln T, ln rho and the fraction of the second
//! substance: in closed form for a cubic equation, else by differences.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use nalgebra::{Matrix2x3, Vector2, Vector3};

use super::critical::conditions;
use crate::eos::cubic::conditions::{Composed, Conditions, Packed, PairConditions};
use crate::eos::mixture::MixtureModel;
use crate::num::lanes::{Kind, Task, run};
use crate::num::number;
use crate::num::slopes::{Slopes, side_by_side};

/// A place: ln T, ln rho, fraction of the second substance.
pub(super) type Place = Vector3<f64>;
/// The softest direction.
pub(super) type Direction = [f64; 2];

/// Step of the differences that give the slopes; they only direct the iteration. Where a line passes the point at which the
/// terms of a reference equation that make its critical point sharp have derivatives without bound, it bends within 1e-5 of ln T.
const DIFFERENCE: f64 = 1e-7;
/// Residual at which a point lies on the line.
const ON_LINE: f64 = 1e-10;
/// Step below which that of Newton's method with slopes in closed form leads to a point on the line.
const SHORT: f64 = 1e-6;
/// Steps at most, and how far the residual has to fall in one of them before the slopes are taken anew.
const STEPS: u32 = 12;
const FALLS: f64 = 0.2;

/// The conditions of a pair.
pub(super) struct LineConditions<'a> {
    pub(super) model: &'a dyn MixtureModel,
    pub(super) pair: Option<PairConditions>,
}

/// A place near a line with the slopes of both conditions there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sloped {
    pub(super) place: Place,
    pub(super) direction: Direction,
    /// The smallest eigenvalue, or in closed form the determinant, and C.
    pub(super) residual: Vector2<f64>,
    pub(super) slopes: Matrix2x3<f64>,
    /// `p/(RT)` in mol/m3, where the closed form tells it.
    pub(super) scaled_pressure: Option<Slopes<3>>,
}

impl Sloped {
    /// Unit tangent of the line, towards the side of a vector.
    pub(super) fn tangent(&self, towards: &Place) -> Option<Place> {
        let rows = (
            self.slopes.row(0).transpose(),
            self.slopes.row(1).transpose(),
        );
        let tangent = rows.0.cross(&rows.1).try_normalize(0.0)?;
        let is_ahead = tangent.dot(towards) >= 0.0;
        Some(if is_ahead { tangent } else { -tangent })
    }

    /// The same at the end of a step within which the slopes hardly change.
    fn moved(mut self, step: &Place) -> Self {
        self.place += step;
        if let Some(pressure) = &mut self.scaled_pressure {
            let [by_t, by_density, by_fraction] = pressure.slopes;
            pressure.value += by_t * step.x + by_density * step.y + by_fraction * step.z;
        }
        self
    }

    /// The shortest step at whose end both conditions vanish, as far as the slopes tell.
    fn step(&self) -> Option<Place> {
        let square = self.slopes * self.slopes.transpose();
        Some(self.slopes.transpose() * (square.try_inverse()? * -self.residual))
    }
}

pub(super) fn fractions_of(place: &Place) -> [f64; 2] {
    [1.0 - place.z, place.z]
}

/// The conditions in closed form.
#[inline(always)]
fn closed<const N: usize, T: number::Number>(
    pair: &PairConditions,
    [ln_temperature, ln_density, fraction]: [Slopes<N, T>; 3],
) -> Conditions<N, T> {
    let composed = Composed::new(pair, fraction);
    // Without translation the volume is greater by c.
    let volume = (-ln_density).exp() + pair.translation(fraction);
    let filled = composed.covolume / volume;
    let place = Packed::new(composed, filled);
    place.conditions(pair.attractions(ln_temperature))
}

/// The conditions in closed form with all slopes side by side.
struct ClosedSlopes<'a> {
    pair: &'a PairConditions,
    place: &'a Place,
}

impl Task for ClosedSlopes<'_> {
    type Output = Conditions<3>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Conditions<3> {
        let place = self.place;
        let mut found = Conditions::unknown();
        for from in (0..3).step_by(K::LANES) {
            let variables = [
                side_by_side(kind, place.x, 0, from),
                side_by_side(kind, place.y, 1, from),
                side_by_side(kind, place.z, 2, from),
            ];
            closed(self.pair, variables).store(kind, from, &mut found);
        }
        found
    }
}

impl<'a> LineConditions<'a> {
    pub(super) fn new(model: &'a dyn MixtureModel) -> Self {
        Self {
            model,
            pair: model.pair_conditions(),
        }
    }

    /// Both conditions at a place, with the sign of C told by a direction nearby.
    pub(super) fn residual(
        &self,
        place: &Place,
        reference: Direction,
    ) -> (Vector2<f64>, Direction) {
        if let Some(pair) = &self.pair {
            let variables = [place.x, place.y, place.z].map(Slopes::<0>::constant);
            let found = closed(pair, variables).towards(reference);
            let residual = Vector2::new(found.determinant.value, found.cubic.value);
            return (residual, found.direction);
        }
        let (eigenvalue, cubic, direction) = conditions(
            self.model,
            place.x.exp(),
            &fractions_of(place),
            place.y.exp(),
        );
        let [u, v] = direction[..] else {
            return (Vector2::from_element(f64::NAN), reference);
        };
        let side = if u * reference[0] + v * reference[1] < 0.0 {
            -1.0
        } else {
            1.0
        };
        (Vector2::new(eigenvalue, side * cubic), [side * u, side * v])
    }

    /// The conditions with their slopes.
    pub(super) fn sloped(&self, place: &Place, reference: Direction) -> Sloped {
        if let Some(pair) = &self.pair {
            let found = run(ClosedSlopes { pair, place }).towards(reference);
            let rows = [found.determinant, found.cubic];
            return Sloped {
                place: *place,
                direction: found.direction,
                residual: Vector2::from(rows.map(|row| row.value)),
                slopes: Matrix2x3::from_fn(|i, k| rows[i].slopes[k]),
                scaled_pressure: Some(found.pressure),
            };
        }
        let (residual, direction) = self.residual(place, reference);
        Sloped {
            place: *place,
            direction,
            residual,
            slopes: self.differences(place, direction),
            scaled_pressure: None,
        }
    }

    fn differences(&self, place: &Place, reference: Direction) -> Matrix2x3<f64> {
        let mut columns = Matrix2x3::zeros();
        for k in 0..3 {
            let room = if k == 2 {
                0.5 * place.z.min(1.0 - place.z)
            } else {
                1.0
            };
            let step = DIFFERENCE.min(room);
            let mut moved = [*place, *place];
            moved[0][k] += step;
            moved[1][k] -= step;
            let [ahead, behind] = moved.map(|place| self.residual(&place, reference).0);
            columns.set_column(k, &((ahead - behind) / (2.0 * step)));
        }
        columns
    }

    /// The place on the line nearest to a place, by the shortest steps, with the steps taken; nothing if it strays. Known slopes
    /// nearby serve for the first step.
    pub(super) fn corrected(
        &self,
        start: &Place,
        reference: Direction,
        reach: f64,
        slopes: Option<Matrix2x3<f64>>,
    ) -> Option<(Sloped, u32)> {
        let mut here = match slopes.filter(|_| self.pair.is_none()) {
            Some(slopes) => {
                let (residual, direction) = self.residual(start, reference);
                Sloped {
                    place: *start,
                    direction,
                    residual,
                    slopes,
                    scaled_pressure: None,
                }
            }
            None => self.sloped(start, reference),
        };
        for iteration in 0..STEPS {
            if here.residual.amax() < ON_LINE {
                return Some((self.settled(here), iteration));
            }
            let step = here.step()?;
            let place = here.place + step;
            let distance = (place - start).norm();
            if distance.is_nan() || distance > reach || place.z <= 0.0 || place.z >= 1.0 {
                return None;
            }
            if self.pair.is_some() && step.amax() < SHORT {
                return Some((here.moved(&step), iteration));
            }
            here = self.next(&here, &step);
        }
        None
    }

    /// The conditions at the end of a step: in general with slopes that fit what the step changed (Broyden, Math. Comput. 19, 577
    /// (1965), from memory), or taken anew where these lead on slowly.
    fn next(&self, here: &Sloped, step: &Place) -> Sloped {
        let place = here.place + step;
        if self.pair.is_some() {
            return self.sloped(&place, here.direction);
        }
        let (residual, direction) = self.residual(&place, here.direction);
        let slopes = if residual.amax() > FALLS * here.residual.amax() {
            self.differences(&place, direction)
        } else {
            here.slopes + residual * step.transpose() / step.norm_squared()
        };
        Sloped {
            place,
            direction,
            residual,
            slopes,
            scaled_pressure: None,
        }
    }

    /// A place on the line with the slopes there.
    fn settled(&self, here: Sloped) -> Sloped {
        let slopes = if self.pair.is_some() {
            here.slopes
        } else {
            self.differences(&here.place, here.direction)
        };
        Sloped { slopes, ..here }
    }
}
