//! The Helmholtz energy at many temperatures and densities, several side by side.

use super::helmholtz::{Helmholtz, PointDerivatives, TauDerivatives};
use super::kernel::{All, Density, Scaled};
use super::residual::Coefficients;
use crate::num::lanes::{Kind, Task, run_widest};
use crate::num::number::Number;
/// Both parts of the reduced Helmholtz energy at one temperature and density.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct EnergyPoint {
    /// The part of the ideal gas, its dependence on density included.
    pub(crate) ideal: TauDerivatives,
    pub(crate) residual: PointDerivatives,
}

impl Helmholtz {
    /// The energy at each temperature in K and density in kg/m3, written to `out`.
    pub(crate) fn points(&self, temperatures: &[f64], densities: &[f64], out: &mut [EnergyPoint]) {
        run_widest(Points {
            helmholtz: self,
            temperatures,
            densities,
            out,
        });
    }
}

struct Points<'a> {
    helmholtz: &'a Helmholtz,
    temperatures: &'a [f64],
    densities: &'a [f64],
    out: &'a mut [EnergyPoint],
}

impl Task for Points<'_> {
    type Output = ();

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) {
        let helmholtz = self.helmholtz;
        let mut coefficients = Coefficients::new(kind.splat(1.0));
        let temperatures = self.temperatures.chunks(K::LANES);
        let points = temperatures.zip(self.densities.chunks(K::LANES));
        for ((temperatures, densities), out) in points.zip(self.out.chunks_mut(K::LANES)) {
            let tau = kind.load(temperatures).recip();
            coefficients.tau = tau.times(helmholtz.temperature_reducing);
            let delta = kind.load(densities).times(1.0 / helmholtz.density_reducing);
            helmholtz.residual.fill_coefficients(&mut coefficients);
            let residual = helmholtz.residual.all(&coefficients, delta);
            let mut ideal = helmholtz.ideal.of(coefficients.tau);
            ideal.value = ideal.value + delta.ln();
            scatter(kind, &ideal, &residual, out);
        }
    }
}

/// Writes each lane to its point.
#[inline(always)]
fn scatter<K: Kind>(
    kind: K,
    ideal: &Scaled<K::Number>,
    residual: &All<K::Number>,
    out: &mut [EnergyPoint],
) {
    let Density { a, a_d, a_dd } = residual.density;
    let numbers = [
        ideal.value,
        ideal.first,
        ideal.second,
        a,
        a_d,
        a_dd,
        residual.a_t,
        residual.a_tt,
        residual.a_dt,
    ];
    let mut lanes = [[0.0; MOST_LANES]; 9];
    for (number, lanes) in numbers.into_iter().zip(&mut lanes) {
        kind.store(number, lanes);
    }
    for (lane, point) in out.iter_mut().enumerate().take(MOST_LANES) {
        let [value, first, second, a, a_d, a_dd, a_t, a_tt, a_dt] = lanes.map(|of| of[lane]);
        *point = EnergyPoint {
            ideal: TauDerivatives {
                value,
                first,
                second,
            },
            residual: PointDerivatives {
                a,
                a_d,
                a_dd,
                a_t,
                a_tt,
                a_dt,
            },
        };
    }
}

/// No kind of number has more lanes.
const MOST_LANES: usize = 8;
