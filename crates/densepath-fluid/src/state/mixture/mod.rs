//! Mixtures, and substances that only the cubic equation knows: one model of given substances in one composition.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

mod cross;
mod doubt;
mod edge;
mod freezing;
mod phases;
mod response;
mod solve;
mod system;

use crate::num::once::OnceLock;
use alloc::sync::Arc;

pub(super) use response::isentropic_yielding;
use system::Kind;
pub use system::ModelChoice;
pub(super) use system::{Component, System};

use super::cells::Cells;
use super::pure::Substance;
use super::{CriticalPoint, Fluid, Phase};
use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::Helmholtz;
use crate::eos::equilibrium::{PhaseShare, critical_points};
use crate::eos::mixture::{MixtureIsotherm, MixtureModel};
use crate::error::{Error, Result};
use crate::fluids::Composition;
use crate::fluids::record::{FluidRecord, Range};
use crate::num::Amounts;
use crate::quantity::Quantity;

/// A system in one composition, with what depends on both alone.
#[derive(Debug)]
pub(crate) struct Mixture {
    system: Arc<System>,
    composition: Composition,
    /// Molar mass in kg/mol at the one gas constant of mixtures.
    model_molar_mass: f64,
    /// Mean critical volume of the substances in m3/mol.
    critical_volume: f64,
    /// The only substance present, where it follows its reference equation.
    sole: Option<Arc<Substance>>,
    range: Range,
    critical_points: OnceLock<Result<Vec<CriticalPoint>>>,
    /// Polynomials of the density, kept apart: a composition is made for every phase that is found.
    cells: OnceLock<Option<Box<Cells>>>,
}

impl Mixture {
    pub(super) fn new(system: Arc<System>, composition: Composition) -> Result<Self> {
        let present = || {
            let pairs = system.components.iter().zip(composition.amount_fractions());
            pairs.filter(|(_, x)| **x > 0.0).map(|(c, _)| c)
        };
        let mut alone = present();
        let sole = match (alone.next(), alone.next(), system.kind) {
            (Some(component), None, Kind::MultiFluid) => component.substance.clone(),
            _ => None,
        };
        drop(alone);
        let ranges: Vec<Range> = present()
            .map(|component| range_of(component, system.kind))
            .collect::<Result<_>>()?;
        let bound = |of: fn(&Range) -> f64, pick: fn(f64, f64) -> f64, start| {
            ranges.iter().map(of).fold(start, pick)
        };
        let is_present = |index: usize| {
            let fractions = composition.amount_fractions();
            fractions.get(index).is_some_and(|x| *x > 0.0)
        };
        let pairs = system.pairs.iter();
        let trusted = pairs
            .filter(|pair| is_present(pair.first) && is_present(pair.second))
            .filter_map(|pair| pair.pressure_max(system.kind))
            .fold(f64::INFINITY, f64::min);
        let lowest = present().zip(&ranges);
        let range = Range {
            temperature_min: lowest
                .map(|(component, range)| component.lowest(range))
                .fold(0.0, f64::max),
            temperature_max: bound(|r| r.temperature_max, f64::min, f64::INFINITY),
            pressure_max: bound(|r| r.pressure_max, f64::min, trusted),
        };
        Ok(Self::composed(system, composition, sole, range))
    }

    /// A composition with what depends on which substances are present.
    fn composed(
        system: Arc<System>,
        composition: Composition,
        sole: Option<Arc<Substance>>,
        range: Range,
    ) -> Self {
        let pairs = || system.components.iter().zip(composition.amount_fractions());
        let mean = |of: fn(&Component) -> f64| pairs().map(|(c, x)| x * of(c)).sum();
        Self {
            model_molar_mass: mean(|c| c.model_molar_mass),
            critical_volume: mean(|c| c.critical_volume),
            sole,
            range,
            critical_points: OnceLock::new(),
            cells: OnceLock::new(),
            system,
            composition,
        }
    }

    pub(super) fn sole(&self) -> Option<&Substance> {
        self.sole.as_deref()
    }

    pub(super) fn name(&self) -> &str {
        &self.system.name
    }

    pub(super) fn model_name(&self) -> &str {
        &self.system.model_name
    }

    pub(super) fn choice(&self) -> ModelChoice {
        match (self.system.stands_in.is_some(), self.system.kind) {
            (true, _) => ModelChoice::Best,
            (false, Kind::MultiFluid) => ModelChoice::MultiFluid,
            (false, Kind::Cubic) => ModelChoice::Cubic,
        }
    }

    pub(super) fn sources(&self) -> String {
        self.system.sources()
    }

    pub(super) fn fingerprint(&self) -> String {
        let fractions = self.composition.amount_fractions();
        format!("{} {fractions:?}", self.system.fingerprint())
    }

    pub(super) fn is_same(&self, other: &Self) -> bool {
        let same_system = Arc::ptr_eq(&self.system, &other.system)
            || self.system.fingerprint() == other.system.fingerprint();
        same_system && self.composition == other.composition
    }

    pub(super) fn composition(&self) -> &Composition {
        &self.composition
    }

    pub(super) fn substances(&self) -> Vec<&'static str> {
        let components = self.system.components.iter();
        components.map(|c| c.record.name.as_str()).collect()
    }

    /// The substances present.
    pub(crate) fn constituents(&self) -> impl Iterator<Item = Constituent<'_>> {
        let pairs = self.system.components.iter().zip(self.fractions());
        pairs
            .filter(|(_, fraction)| **fraction > 0.0)
            .map(|(component, fraction)| Constituent {
                amount_fraction: *fraction,
                molar_mass: component.molar_mass,
                critical_volume: component.critical_volume,
                record: component.record,
                equation: component.substance.as_deref().map(Substance::helmholtz),
            })
    }

    /// The record of the only substance present.
    pub(super) fn record(&self) -> Option<&'static FluidRecord> {
        let pairs = self.system.components.iter().zip(self.fractions());
        let mut present = pairs.filter(|(_, x)| **x > 0.0);
        match (present.next(), present.next()) {
            (Some((component, _)), None) => Some(component.record),
            _ => None,
        }
    }

    /// The same system in another composition; error 103 for what is none.
    pub(super) fn with(&self, amount_fractions: &[f64]) -> Result<Self> {
        let composition = self.composition.with_amount_fractions(amount_fractions)?;
        let mut pairs = self.fractions().iter().zip(composition.amount_fractions());
        let system = self.system.clone();
        if pairs.all(|(x, y)| (*x > 0.0) == (*y > 0.0)) {
            return Ok(Self::composed(
                system,
                composition,
                self.sole.clone(),
                self.range,
            ));
        }
        Self::new(system, composition)
    }

    pub(super) fn range(&self) -> Range {
        self.range
    }

    /// Polynomials of the density, which are made when they are first asked for; nothing for other mixtures than of two
    /// substances, of which nobody knows where they mix in all proportions.
    pub(super) fn cells(&self) -> Option<&Cells> {
        let new = || Cells::within(self.range, COLUMN_WIDTH).map(Box::new);
        let cells = (self.model().len() == 2).then(|| self.cells.get_or_init(new));
        cells?.as_deref()
    }

    pub(super) fn specific_gas_constant(&self) -> f64 {
        MOLAR_GAS_CONSTANT / self.model_molar_mass
    }

    pub(super) fn fractions(&self) -> &[f64] {
        self.composition.amount_fractions()
    }

    /// Which of the substances there are any amounts of.
    pub(super) fn present(&self) -> Vec<usize> {
        let all = self.fractions().iter().enumerate();
        all.filter(|(_, x)| **x > 0.0)
            .map(|(index, _)| index)
            .collect()
    }

    pub(crate) fn model(&self) -> &dyn MixtureModel {
        self.system.model.as_ref()
    }

    pub(super) fn isotherm(&self, temperature: f64) -> Box<dyn MixtureIsotherm + '_> {
        self.model().at(temperature, self.fractions())
    }

    /// Density in kg/m3 of a molar density in mol/m3.
    pub(super) fn density(&self, molar_density: f64) -> f64 {
        molar_density * self.model_molar_mass
    }

    /// Density in kg/m3 of a molar density in mol/m3 in other amount fractions.
    pub(crate) fn density_in(&self, amount_fractions: &[f64], molar_density: f64) -> f64 {
        let pairs = self.system.components.iter().zip(amount_fractions);
        molar_density * pairs.map(|(c, x)| c.model_molar_mass * x).sum::<f64>()
    }

    /// Molar density in mol/m3 of a density in kg/m3.
    pub(super) fn molar_density(&self, density: f64) -> f64 {
        density / self.model_molar_mass
    }

    /// Shares of the whole by mass of phases told by amount.
    pub(super) fn mass_shares(&self, phases: &[PhaseShare]) -> Amounts {
        let mass_of = |phase: &PhaseShare| {
            let pairs = self.system.components.iter().zip(&phase.fractions);
            phase.fraction * pairs.map(|(c, x)| c.model_molar_mass * x).sum::<f64>()
        };
        let masses: Amounts = phases.iter().map(mass_of).collect();
        let sum: f64 = masses.iter().sum();
        masses.iter().map(|mass| mass / sum).collect()
    }

    /// Every critical point within the range, by falling temperature; sought once.
    pub(super) fn critical_points(&self) -> Result<&[CriticalPoint]> {
        let found = self.critical_points.get_or_init(|| {
            let range = (self.range.temperature_min, self.highest_critical());
            let found = critical_points(self.model(), self.fractions(), range)?;
            let inside = found
                .iter()
                .filter(|point| point.pressure <= self.range.pressure_max);
            Ok(inside
                .map(|point| CriticalPoint {
                    temperature: point.temperature,
                    pressure: point.pressure,
                    density: self.density(point.molar_density),
                    is_stable: point.is_stable,
                })
                .collect())
        });
        found.as_deref().map_err(Clone::clone)
    }

    /// A temperature in K above the critical points of all substances present; those of mixtures rarely lie higher.
    fn highest_critical(&self) -> f64 {
        let constants = (0..self.fractions().len()).map(|i| self.model().critical_constants(i));
        let pairs = constants.zip(self.fractions());
        let present = pairs.filter(|(_, x)| **x > 0.0);
        let highest = present.fold(0.0, |most: f64, (c, _)| most.max(c.temperature));
        ABOVE_CRITICAL * highest
    }

    /// The stable critical point of liquid and vapour: of the stable ones that of the least density.
    pub(super) fn critical_point(&self) -> Result<CriticalPoint> {
        let stable = self.critical_points()?.iter().filter(|p| p.is_stable);
        let thinnest = stable.min_by(|a, b| a.density.total_cmp(&b.density));
        thinnest.copied().ok_or(Error::Unreachable {
            quantity: Quantity::Temperature,
            min: self.range.temperature_min,
            max: self.highest_critical(),
            reason: "the mixture has no stable critical point of liquid and vapour between these temperatures",
        })
    }

    /// Whether a phase of a molar density in mol/m3 is denser than its substances at their critical points.
    pub(crate) fn is_dense(&self, molar_density: f64) -> bool {
        molar_density * self.critical_volume > 1.0
    }

    /// The word for one phase alone at a temperature in K, a pressure in Pa and a density in kg/m3.
    ///
    /// Around the stable critical point of liquid and vapour of the composition: supercritical at or above both its
    /// temperature and its pressure, else liquid if denser than it and colder, else vapour. On an isotherm below the critical
    /// temperature every state above the bubble point so is a liquid and every state below the dew point a vapour. Where the
    /// composition has no such critical point, the mean of the critical volumes of the substances parts liquid from vapour.
    pub(super) fn phase_alone(&self, temperature: f64, pressure: f64, density: f64) -> Phase {
        let Ok(critical) = self.critical_point() else {
            return if self.is_dense(self.molar_density(density)) {
                Phase::Liquid
            } else {
                Phase::Vapour
            };
        };
        if temperature >= critical.temperature && pressure >= critical.pressure {
            Phase::Supercritical
        } else if temperature < critical.temperature && density >= critical.density {
            Phase::Liquid
        } else {
            Phase::Vapour
        }
    }
}

/// Width in K of the first rectangles of polynomials.
const COLUMN_WIDTH: f64 = 8.0;
/// How far above the critical temperatures of the substances those of their mixture are sought.
const ABOVE_CRITICAL: f64 = 1.15;

/// The range of a substance in an equation.
fn range_of(component: &Component, kind: Kind) -> Result<Range> {
    match (kind, &component.record.cubic) {
        (Kind::Cubic, Some(cubic)) => Ok(cubic.valid),
        _ => Ok(component.record.reference_equation()?.valid),
    }
}

/// A substance present in a mixture, as the models of transport see it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Constituent<'a> {
    /// Amount fraction.
    pub amount_fraction: f64,
    /// Molar mass in kg/mol.
    pub molar_mass: f64,
    /// Critical molar volume in m3/mol.
    pub critical_volume: f64,
    /// Its record.
    pub record: &'static FluidRecord,
    /// Its reference equation, where it has one.
    pub equation: Option<&'a Helmholtz>,
}

/// A handle of a mixture, with what it is made of.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Mixed<'a> {
    pub(super) handle: &'a Fluid,
    pub(super) mixture: &'a Mixture,
}

impl Mixed<'_> {
    /// Range in which states are given: that of the substances, wider for a fluid that extrapolates.
    fn admitted_range(&self) -> Range {
        self.handle.admitted(self.range)
    }
}

impl core::ops::Deref for Mixed<'_> {
    type Target = Mixture;

    fn deref(&self) -> &Mixture {
        self.mixture
    }
}

#[cfg(test)]
mod mixing;
#[cfg(test)]
mod ternary;
#[cfg(test)]
mod tests;
