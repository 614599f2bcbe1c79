//! Curves of solutions, one equation fewer than unknowns, followed by pseudo-arclength: a step along the tangent, brought back
//! by Newton's method at right angles to it (Keller, in: Applications of Bifurcation Theory, Academic Press 1977, 359; from
//! memory), so that a curve may turn back in every unknown.

use nalgebra::{DMatrix, DVector};

/// Residual at which a point lies on the curve.
const ON_CURVE: f64 = 1e-12;
/// Residual at which it does though rounding keeps it from falling further.
const ALMOST: f64 = 1e-8;
/// Steps of Newton's method at most.
const NEWTON_STEPS: u32 = 12;
/// Shortest step before the curve is lost.
const SHORTEST: f64 = 1e-7;

/// Residuals of a pair of phases with their derivatives, and the densities of both in mol/m3.
#[derive(Debug, Clone)]
pub(super) struct Place {
    pub(super) unknowns: DVector<f64>,
    pub(super) residuals: DVector<f64>,
    pub(super) jacobian: DMatrix<f64>,
    pub(super) densities: (f64, f64),
}

/// A curve by its equations.
pub(super) trait Curve {
    /// The equations at given unknowns; the densities are start values.
    fn at(&self, unknowns: DVector<f64>, densities: (f64, f64)) -> Option<Place>;
}

/// A point of a curve with the unit tangent ahead.
#[derive(Debug, Clone)]
pub(super) struct Ahead {
    pub(super) place: Place,
    pub(super) tangent: DVector<f64>,
}

impl Ahead {
    /// A point of the curve near a start, with the tangent towards the side of a vector, which must not be normal to it.
    pub(super) fn near<C: Curve>(curve: &C, start: Place, towards: &DVector<f64>) -> Option<Self> {
        let (place, _) = corrected(curve, start, towards)?;
        let tangent = tangent(&place, towards)?;
        Some(Self { place, tangent })
    }

    /// The point a length ahead, and the steps of Newton's method it took.
    pub(super) fn moved<C: Curve>(&self, curve: &C, length: f64) -> Option<(Self, u32)> {
        let trial = &self.place.unknowns + length * &self.tangent;
        let start = curve.at(trial, self.place.densities)?;
        let (place, steps) = corrected(curve, start, &self.tangent)?;
        let change = &place.unknowns - &self.place.unknowns;
        let tangent = tangent(&place, &self.tangent)?;
        // The curve must go on forwards, near the step, and turn little in it.
        let goes_on = change.norm() < 1.5 * length.abs()
            && change.dot(&self.tangent) * length.signum() > 0.5 * length.abs()
            && tangent.dot(&self.tangent) > 0.8;
        goes_on.then_some((Self { place, tangent }, steps))
    }
}

/// The length of a step that adapts to the curve.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pace {
    pub(super) length: f64,
    pub(super) longest: f64,
}

impl Pace {
    /// The next point by a step of at most `limit`; nothing where the curve is lost.
    pub(super) fn next<C: Curve>(
        &mut self,
        curve: &C,
        here: &Ahead,
        limit: impl Fn(f64) -> f64,
    ) -> Option<Ahead> {
        loop {
            let length = limit(self.length);
            if let Some((next, steps)) = here.moved(curve, length) {
                self.length = if steps <= 4 {
                    (1.5 * length).min(self.longest)
                } else {
                    length
                };
                return Some(next);
            }
            self.length = 0.5 * length.min(self.length);
            if self.length < SHORTEST {
                return None;
            }
        }
    }
}

/// The equations with one more row: the step is normal to a vector.
fn bordered(place: &Place, row: &DVector<f64>) -> DMatrix<f64> {
    let count = place.unknowns.len();
    let mut square = DMatrix::zeros(count, count);
    square.rows_mut(0, count - 1).copy_from(&place.jacobian);
    square.row_mut(count - 1).copy_from(&row.transpose());
    square
}

fn corrected<C: Curve>(curve: &C, start: Place, normal: &DVector<f64>) -> Option<(Place, u32)> {
    let mut place = start;
    let mut least = f64::INFINITY;
    for step in 0..NEWTON_STEPS {
        let size = place.residuals.amax();
        if size < ON_CURVE || (size < ALMOST && size > 0.5 * least) {
            return Some((place, step));
        }
        least = least.min(size);
        let count = place.unknowns.len();
        let mut right = DVector::zeros(count);
        right.rows_mut(0, count - 1).copy_from(&-&place.residuals);
        let change = bordered(&place, normal).lu().solve(&right)?;
        if change.amax().is_nan() || change.amax() > 1.0 {
            return None;
        }
        place = curve.at(&place.unknowns + change, place.densities)?;
    }
    None
}

fn tangent(place: &Place, towards: &DVector<f64>) -> Option<DVector<f64>> {
    let count = place.unknowns.len();
    let mut right = DVector::zeros(count);
    right[count - 1] = 1.0;
    bordered(place, towards)
        .lu()
        .solve(&right)?
        .try_normalize(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A circle of radius 1, for which two steps of Newton's method are enough.
    struct Circle;

    impl Curve for Circle {
        fn at(&self, unknowns: DVector<f64>, densities: (f64, f64)) -> Option<Place> {
            let (x, y) = (unknowns[0], unknowns[1]);
            Some(Place {
                residuals: DVector::from_vec(vec![x * x + y * y - 1.0]),
                jacobian: DMatrix::from_row_slice(1, 2, &[2.0 * x, 2.0 * y]),
                unknowns,
                densities,
            })
        }
    }

    #[test]
    fn no_step_is_longer_than_the_longest() {
        let start = Circle.at(DVector::from_vec(vec![1.0, 0.0]), (1.0, 1.0));
        let towards = DVector::from_vec(vec![0.0, 1.0]);
        let mut here = Ahead::near(&Circle, start.unwrap(), &towards).unwrap();
        let mut pace = Pace {
            length: 0.05,
            longest: 0.1,
        };
        let mut widest = 0.0_f64;
        for _ in 0..20 {
            let next = pace.next(&Circle, &here, |length| length).unwrap();
            widest = widest.max((&next.place.unknowns - &here.place.unknowns).norm());
            here = next;
        }
        // A chord that is brought back at right angles to the step is a little longer.
        assert!(widest > 0.09 && widest < 0.1 * 1.01, "{widest}");
    }
}
