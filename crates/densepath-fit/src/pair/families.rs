//! The equations that are fitted, as functions of their parameters.

use densepath_fluid::consts::MOLAR_GAS_CONSTANT;
use densepath_fluid::eos::cubic::{Cubic, CubicSubstance, Interaction};
use densepath_fluid::eos::mixture::MixtureModel;
use densepath_fluid::eos::multifluid::{MultiFluid, PairTerms};
use densepath_fluid::fluids::binary::{DepartureRecord, ExcessRecord, ReducingRecord};
use densepath_fluid::fluids::record::EquationOfState;

use super::problem::Family;

/// The reducing parameters, followed by the coefficients of the departure in the order of its terms.
pub struct MultiFluidFamily {
    /// The equations of both substances.
    pub equations: [&'static EquationOfState; 2],
    /// Whether smooth stand-ins take the common variables.
    pub smooth: bool,
    /// The departure, of which the coefficients are replaced.
    pub form: Vec<DepartureRecord>,
    /// More of it, each times twice the fraction of the second substance.
    pub steep: Vec<DepartureRecord>,
    /// The excess Gibbs energy, of which the coefficients are replaced.
    pub excess: Option<ExcessRecord>,
}

/// The first four parameters.
pub fn reducing(parameters: &[f64]) -> ReducingRecord {
    let of = |index: usize| parameters.get(index).copied().unwrap_or(f64::NAN);
    ReducingRecord {
        beta_temperature: of(0),
        gamma_temperature: of(1),
        beta_volume: of(2),
        gamma_volume: of(3),
    }
}

impl MultiFluidFamily {
    /// The parameters that start with the reducing ones and go on with the coefficients of the form.
    pub fn start(&self, reducing: [f64; 4]) -> Vec<f64> {
        let terms = self.form.iter().chain(&self.steep).flat_map(|departure| {
            let special = departure.special.iter().map(|term| term.n);
            departure.power.iter().map(|term| term.n).chain(special)
        });
        let excess = self.excess.iter().flat_map(|excess| &excess.terms);
        let excess = excess.map(|term| term.n);
        reducing.into_iter().chain(excess).chain(terms).collect()
    }

    /// The excess Gibbs energy with its coefficients.
    pub fn excess(&self, parameters: &[f64]) -> Option<ExcessRecord> {
        let mut excess = self.excess.clone()?;
        for (term, n) in excess.terms.iter_mut().zip(parameters.iter().skip(4)) {
            term.n = *n;
        }
        Some(excess)
    }

    /// The departure with its coefficients; `2 x_2 = 1 - (x_1 - x_2)` makes two orders of a steep one.
    pub fn departures(&self, parameters: &[f64]) -> Vec<DepartureRecord> {
        let before = self.excess.as_ref().map_or(0, |excess| excess.terms.len());
        let mut coefficients = parameters.iter().skip(4 + before);
        let mut next = |mut departure: DepartureRecord| {
            for n in coefficients_of(&mut departure) {
                *n = coefficients.next().copied().unwrap_or(f64::NAN);
            }
            departure
        };
        let mut departures: Vec<_> = self.form.iter().cloned().map(&mut next).collect();
        for departure in self.steep.iter().cloned().map(next) {
            let mut less = departure.clone();
            less.order += 1;
            coefficients_of(&mut less).for_each(|n| *n = -*n);
            departures.extend([departure, less]);
        }
        departures
    }
}

fn coefficients_of(departure: &mut DepartureRecord) -> impl Iterator<Item = &mut f64> {
    let special = departure.special.iter_mut().map(|term| &mut term.n);
    let power = departure.power.iter_mut().map(|term| &mut term.n);
    power.chain(special)
}

impl Family for MultiFluidFamily {
    fn model(&self, parameters: &[f64]) -> Box<dyn MixtureModel> {
        let departures = self.departures(parameters);
        let excess = self.excess(parameters);
        let pair = |_, _| PairTerms {
            reducing: reducing(parameters),
            departures: &departures,
            excess: excess.as_ref(),
        };
        Box::new(MultiFluid::new(
            "fitted",
            &self.equations,
            self.smooth,
            pair,
        ))
    }

    fn molar_masses(&self) -> [f64; 2] {
        // The amounts are counted so that R/M of the pure equations stays.
        self.equations
            .map(|equation| equation.molar_mass * MOLAR_GAS_CONSTANT / equation.gas_constant)
    }
}

/// k_0, k_1 in K and l of the cubic equation.
pub struct CubicFamily {
    /// Both substances.
    pub substances: [CubicSubstance; 2],
    /// Their molar masses in kg/mol.
    pub molar_masses: [f64; 2],
}

/// The interaction of three parameters; k_1 counts in hundreds of kelvins.
pub fn interaction(parameters: &[f64]) -> Interaction {
    let of = |index: usize| parameters.get(index).copied().unwrap_or(0.0);
    Interaction {
        k_0: of(0),
        k_1: 100.0 * of(1),
        l: of(2),
    }
}

impl Family for CubicFamily {
    fn model(&self, parameters: &[f64]) -> Box<dyn MixtureModel> {
        let pair = interaction(parameters);
        Box::new(Cubic::new("fitted", self.substances.to_vec(), |_, _| pair))
    }

    fn molar_masses(&self) -> [f64; 2] {
        self.molar_masses
    }
}
