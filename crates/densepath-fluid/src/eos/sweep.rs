//! Many densities of one isotherm at once.

use super::helmholtz::{Isotherm, PointDerivatives};
use super::mixture::DensityDerivatives;
use crate::num::lanes::{Kind, Task, run};
use crate::num::number::Number;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// Newton steps within which the densities must settle from a near start.
const STEPS: u32 = 8;
/// Relative step after which the next one would be below the last digit.
const SETTLED: f64 = 1e-10;

/// How a sweep went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Swept {
    /// Greatest first step relative to the density: how far the start was off.
    pub(crate) first_step: f64,
}

impl Isotherm<'_> {
    /// Newton's method for the densities in kg/m3 at several pressures in Pa, from near starts and side by side.
    ///
    /// Nothing where a density does not settle on a branch on which the pressure rises.
    pub(crate) fn sweep(&self, pressures: &[f64], densities: &mut [f64]) -> Option<Swept> {
        run(Sweep {
            isotherm: self,
            pressures,
            densities,
        })
    }
}

impl Isotherm<'_> {
    /// The residual part with all its derivatives at several densities in kg/m3, side by side.
    pub(crate) fn residuals(&self, densities: &[f64]) -> Vec<PointDerivatives> {
        run(Residuals {
            isotherm: self,
            densities,
        })
    }
}

impl Isotherm<'_> {
    /// The residual part with its derivatives in density alone at several densities in kg/m3, side by side.
    pub(crate) fn density_derivatives(&self, densities: &[f64]) -> Vec<DensityDerivatives> {
        let deltas: Vec<f64> = densities.iter().map(|rho| self.delta(*rho)).collect();
        let mut found = vec![DensityDerivatives::default(); deltas.len()];
        self.add_density_derivatives(&deltas, &mut found);
        found
    }
}

struct Residuals<'a> {
    isotherm: &'a Isotherm<'a>,
    densities: &'a [f64],
}

impl Task for Residuals<'_> {
    type Output = Vec<PointDerivatives>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Vec<PointDerivatives> {
        let (residual, coefficients) = self.isotherm.residual_in_lanes(kind);
        let per_density = 1.0 / self.isotherm.density_reducing();
        let mut points = Vec::with_capacity(self.densities.len());
        for densities in self.densities.chunks(K::LANES) {
            let all = residual.all(&coefficients, kind.load(densities).times(per_density));
            let sums = all.density;
            let mut lanes = [[0.0; 8]; 6];
            let rows = [sums.a, sums.a_d, sums.a_dd, all.a_t, all.a_tt, all.a_dt];
            for (row, lanes) in rows.into_iter().zip(&mut lanes) {
                kind.store(row, lanes);
            }
            let [a, a_d, a_dd, a_t, a_tt, a_dt] = lanes;
            for lane in 0..densities.len().min(8) {
                points.push(PointDerivatives {
                    a: a[lane],
                    a_d: a_d[lane],
                    a_dd: a_dd[lane],
                    a_t: a_t[lane],
                    a_tt: a_tt[lane],
                    a_dt: a_dt[lane],
                });
            }
        }
        points
    }
}

struct Sweep<'a> {
    isotherm: &'a Isotherm<'a>,
    pressures: &'a [f64],
    densities: &'a mut [f64],
}

impl Task for Sweep<'_> {
    type Output = Option<Swept>;

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) -> Option<Swept> {
        let (residual, coefficients) = self.isotherm.residual_in_lanes(kind);
        let per_density = 1.0 / self.isotherm.density_reducing();
        let rt = kind.splat(self.isotherm.thermal_energy());
        let mut first_step = 0.0_f64;
        let pressures = self.pressures.chunks(K::LANES);
        for (pressures, densities) in pressures.zip(self.densities.chunks_mut(K::LANES)) {
            let (pressure, mut density) = (kind.load(pressures), kind.load(densities));
            let mut settled = false;
            for step in 0..STEPS {
                let at = residual.density(&coefficients, density.times(per_density));
                let slope = rt * (at.a_d.times(2.0) + at.a_dd).plus(1.0);
                let missing = pressure - density * rt * at.a_d.plus(1.0);
                let change = missing * slope.recip();
                density = density + change;
                let greatest = greatest_step(kind, change * density.recip(), slope)?;
                if step == 0 {
                    first_step = first_step.max(greatest);
                }
                settled = greatest < SETTLED;
                if settled {
                    break;
                }
            }
            if !settled {
                return None;
            }
            kind.store(density, densities);
        }
        Some(Swept { first_step })
    }
}

/// The greatest relative step of the lanes; nothing where a slope is not positive or a step no number.
#[inline(always)]
fn greatest_step<K: Kind>(kind: K, step: K::Number, slope: K::Number) -> Option<f64> {
    let (mut steps, mut slopes) = ([0.0; 8], [1.0; 8]);
    kind.store(step, &mut steps);
    kind.store(slope, &mut slopes);
    let mut greatest = 0.0_f64;
    for (step, slope) in steps.into_iter().zip(slopes) {
        if step.is_nan() || slope.is_nan() || slope <= 0.0 {
            return None;
        }
        greatest = greatest.max(step.abs());
    }
    Some(greatest)
}
