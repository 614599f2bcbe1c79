//! One cell: the density as a polynomial of temperature and pressure, with the error that it was found to have.

use super::surface::{Line, Surface};
use crate::num::chebyshev::{Basis, CHECKS, NODES};
use crate::num::lanes::{Coefficients, Kind, Plain};
/// A rectangle of temperatures in K and pressures in Pa.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::state) struct Area {
    pub(super) temperature: [f64; 2],
    pub(super) pressure: [f64; 2],
}

impl Area {
    fn temperature_at(&self, u: f64) -> f64 {
        between(self.temperature, u)
    }

    fn pressure_at(&self, v: f64) -> f64 {
        between(self.pressure, v)
    }

    pub(super) fn touches(&self, other: &Self) -> bool {
        let meet = |one: [f64; 2], other: [f64; 2]| one[0] <= other[1] && other[0] <= one[1];
        meet(self.temperature, other.temperature) && meet(self.pressure, other.pressure)
    }
}

fn between([low, high]: [f64; 2], place: f64) -> f64 {
    0.5 * ((low + high) + place * (high - low))
}

/// The density in a rectangle.
#[derive(Debug)]
#[repr(align(64))]
pub(super) struct Cell {
    /// Of the powers of the reduced pressure and, in each row, of the reduced temperature.
    coefficients: Coefficients,
    /// Middle of the temperatures and reciprocal of half their width.
    temperature: [f64; 2],
    pressure: [f64; 2],
}

impl Cell {
    /// The cell of a rectangle that holds one phase, with the greatest relative error that was found in it; nothing where the
    /// equation gives no smooth density.
    pub(super) fn fit<S: Surface>(fluid: S, area: &Area, basis: &Basis) -> Option<(Self, f64)> {
        let values = nodes(fluid, area, basis)?;
        let middle = |[low, high]: [f64; 2]| [0.5 * (low + high), 2.0 / (high - low)];
        let cell = Self {
            coefficients: basis.coefficients(&values),
            temperature: middle(area.temperature),
            pressure: middle(area.pressure),
        };
        let error = cell.error(fluid, area)?;
        Some((cell, error))
    }

    /// The density in kg/m3 by the equation itself, from that of the polynomial.
    pub(super) fn polished<S: Surface>(
        &self,
        fluid: S,
        temperature: f64,
        pressure: f64,
    ) -> Option<f64> {
        let isotherm = fluid.line(temperature);
        let mut density = self.density(Plain, temperature, pressure);
        isotherm.sweep(&[pressure], core::slice::from_mut(&mut density))?;
        Some(density)
    }

    /// Greatest relative difference from the equation at the places of comparison.
    fn error<S: Surface>(&self, fluid: S, area: &Area) -> Option<f64> {
        let pressures = CHECKS.map(|v| area.pressure_at(v));
        let mut greatest = 0.0_f64;
        for u in CHECKS {
            let temperature = area.temperature_at(u);
            let isotherm = fluid.line(temperature);
            let mut densities =
                pressures.map(|pressure| self.density(Plain, temperature, pressure));
            greatest = greatest.max(isotherm.sweep(&pressures, &mut densities)?);
        }
        Some(greatest)
    }

    /// Density in kg/m3 at a temperature in K and a pressure in Pa inside the rectangle.
    #[inline(always)]
    pub(super) fn density<K: Kind>(&self, kind: K, temperature: f64, pressure: f64) -> f64 {
        let u = (temperature - self.temperature[0]) * self.temperature[1];
        let v = (pressure - self.pressure[0]) * self.pressure[1];
        kind.polynomial(&self.coefficients, u, v)
    }
}

/// The densities at the nodes, for each temperature those of all pressures.
///
/// The first isotherm starts from its two ends, each further one from the one before. Its ends, and those of the last one, come
/// from the safe solver, which knows the stable phase: a sheet of densities that rises with pressure everywhere and meets the stable
/// phase at its corners is that phase.
fn nodes<S: Surface>(fluid: S, area: &Area, basis: &Basis) -> Option<[[f64; NODES]; NODES]> {
    let pressures = basis.nodes.map(|v| area.pressure_at(v));
    let [first, last] = [pressures[0], pressures[NODES - 1]];
    let mut before: Option<[f64; NODES]> = None;
    let mut values = [[0.0; NODES]; NODES];
    for (index, (row, u)) in values.iter_mut().zip(basis.nodes).enumerate() {
        let isotherm = fluid.line(area.temperature_at(u));
        let exact = |pressure| isotherm.exact(pressure);
        *row = if let Some(before) = before {
            before
        } else {
            let [one, other] = [exact(first)?, exact(last)?];
            pressures.map(|p| one + (other - one) * (p - first) / (last - first))
        };
        isotherm.sweep(&pressures, row)?;
        if index == NODES - 1 {
            let differs = |density: f64, exact: f64| (density / exact - 1.0).abs() > 1e-9;
            if differs(row[0], exact(first)?) || differs(row[NODES - 1], exact(last)?) {
                return None;
            }
        }
        before = Some(*row);
    }
    Some(values)
}
