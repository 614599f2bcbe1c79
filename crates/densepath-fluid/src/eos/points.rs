//! The Helmholtz energy at many temperatures and densities, several side by side.

use super::helmholtz::{Helmholtz, PointDerivatives, TauDerivatives};
use super::ideal_window::IdealWindow;
use super::kernel::{All, Density, Scaled};
use super::one_phase::OnePhase;
use super::residual::Coefficients;
use crate::num::lanes::{Kind, Task, run_widest};
use crate::num::number::Number;
use crate::quantity::Quantity;

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

    /// Quantities of one phase at each temperature in K and density in kg/m3, row after row, one row a point; those that
    /// [`OnePhase::knows`] not stay as they are.
    pub(crate) fn rows(
        &self,
        quantities: &[Quantity],
        temperatures: &[f64],
        densities: &[f64],
        out: &mut [f64],
    ) {
        run_widest(Rows {
            helmholtz: self,
            quantities,
            temperatures,
            densities,
            out,
        });
    }

    /// One phase in every lane.
    #[inline(always)]
    fn one_phase<K: Kind>(
        &self,
        kind: K,
        coefficients: &mut Coefficients<K::Number>,
        temperatures: &[f64],
        densities: &[f64],
    ) -> OnePhase<K::Number> {
        let (temperature, density) = (kind.load(temperatures), kind.load(densities));
        coefficients.tau = temperature.recip().times(self.temperature_reducing);
        let delta = density.times(1.0 / self.density_reducing);
        self.residual.fill_coefficients(coefficients);
        let residual = self.residual.all(coefficients, delta);
        let mut ideal = self.ideal_in_lanes(kind, coefficients.tau);
        ideal.value = ideal.value + delta.ln();
        OnePhase {
            gas_constant: self.specific_gas_constant,
            temperature,
            density,
            ideal,
            residual,
        }
    }

    /// The ideal part, by its polynomials in the lanes in which they hold, so that no lane depends on the others.
    #[inline(always)]
    fn ideal_in_lanes<K: Kind>(&self, kind: K, tau: K::Number) -> Scaled<K::Number> {
        let Some(window) = &self.ideal_window else {
            return self.ideal.of(tau);
        };
        let u = IdealWindow::distance(tau);
        let within = (-(u * u)).plus(1.0);
        if kind.all_positive(within) {
            return window.at_distance(u);
        }
        window
            .at_distance(u)
            .where_positive(within, self.ideal.of(tau))
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
        let mut coefficients = Coefficients::new(kind.splat(1.0));
        let temperatures = self.temperatures.chunks(K::LANES);
        let points = temperatures.zip(self.densities.chunks(K::LANES));
        for ((temperatures, densities), out) in points.zip(self.out.chunks_mut(K::LANES)) {
            let helmholtz = self.helmholtz;
            let phase = helmholtz.one_phase(kind, &mut coefficients, temperatures, densities);
            scatter(kind, &phase.ideal, &phase.residual, out);
        }
    }
}

struct Rows<'a> {
    helmholtz: &'a Helmholtz,
    quantities: &'a [Quantity],
    temperatures: &'a [f64],
    densities: &'a [f64],
    out: &'a mut [f64],
}

impl Task for Rows<'_> {
    type Output = ();

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) {
        let mut coefficients = Coefficients::new(kind.splat(1.0));
        let width = self.quantities.len();
        let temperatures = self.temperatures.chunks(K::LANES);
        let points = temperatures.zip(self.densities.chunks(K::LANES));
        for ((temperatures, densities), out) in points.zip(self.out.chunks_mut(K::LANES * width)) {
            let helmholtz = self.helmholtz;
            let phase = helmholtz.one_phase(kind, &mut coefficients, temperatures, densities);
            for (column, quantity) in self.quantities.iter().enumerate() {
                let Some(number) = phase.get(*quantity) else {
                    continue;
                };
                let mut lanes = [0.0; MOST_LANES];
                kind.store(number, &mut lanes);
                for (value, lane) in out.iter_mut().skip(column).step_by(width).zip(lanes) {
                    *value = lane;
                }
            }
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
const MOST_LANES: usize = 16;
