//! The least-squares problem of a pair: measurements and conditions as residuals over their uncertainties.

use std::cell::RefCell;

use densepath_fluid::eos::mixture::MixtureModel;
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

use super::phases::{self, Boundary, Critical};

/// An equation of a pair as a function of its parameters.
pub trait Family {
    /// The equation at given parameters.
    fn model(&self, parameters: &[f64]) -> Box<dyn MixtureModel>;

    /// Molar masses in kg/mol of the amounts that the equation counts.
    fn molar_masses(&self) -> [f64; 2];
}

/// What a residual compares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// Density in kg/m3 at pressure in Pa.
    Density { pressure: f64, value: f64 },
    /// Pressure of a boundary in Pa.
    Boundary { pressure: f64 },
    /// Amount fraction of the second substance in the vapour beside a liquid; the pressure in Pa starts the search.
    Vapour { pressure: f64, value: f64 },
    /// Pressure of the critical line in Pa.
    CriticalPressure { pressure: f64 },
    /// Composition of the critical line; the pressure in Pa starts the search.
    CriticalFraction { pressure: f64 },
    /// A lower bound of the pressure of the critical line in Pa.
    CriticalBound { pressure: f64 },
    /// Molar density of the critical line in mol/m3; the pressure in Pa starts the search.
    CriticalDensity { pressure: f64, value: f64 },
    /// A pressure in Pa at which the liquid must mix: the thermodynamic factor is at least `least`.
    Mixing { pressure: f64, least: f64 },
    /// A molar density in mol/m3 at which the mixture must be stable against small changes of density and composition: the
    /// smallest eigenvalue of the stability is at least `least`.
    Dense { molar_density: f64, least: f64 },
    /// Second virial coefficient of the unlike pair in m3/mol, as a mixture of this composition tells it.
    CrossVirial { value: f64 },
    /// A parameter, by its index, with the value it is drawn to.
    Prior { index: usize, value: f64 },
}

/// One residual.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// What is compared.
    pub kind: Kind,
    /// Temperature in K.
    pub temperature: f64,
    /// Amount fraction of the first substance.
    pub fraction: f64,
    /// Relative standard uncertainty, by which the residual is divided.
    pub uncertainty: f64,
    /// Index of the measurement, where it is one.
    pub row: Option<usize>,
}

/// Where the solution of a term was found last.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Start {
    Boundary(Boundary),
    Critical(Critical),
    Density(f64),
}

/// Relative uncertainty of the pressure at which a density was measured; it counts where the fluid is compressible.
const PRESSURE_UNCERTAINTY: f64 = 0.004;
/// Residual in the logarithm of pressure where there is no boundary near the measured one, at least.
const NO_BOUNDARY: f64 = 0.05;
/// Distance from the measured pressure, in its logarithm, up to which a boundary is followed from parameters to parameters,
/// and up to which a boundary counts as the one measured.
const FOLLOWED: f64 = 0.1;
const FARTHEST: f64 = 1.0;
/// Residual of a critical point that is not found.
const NO_CRITICAL_POINT: f64 = 0.1;

/// The residual of a term before division by its uncertainty, and where its solution lies.
fn residual(
    model: &dyn MixtureModel,
    masses: [f64; 2],
    parameters: &[f64],
    term: &Term,
    start: Option<Start>,
) -> (f64, Option<Start>) {
    let (temperature, x) = (term.temperature, term.fraction);
    match term.kind {
        Kind::Density { pressure, value } => {
            let molar = x * masses[0] + (1.0 - x) * masses[1];
            let isotherm = model.at(temperature, &[x, 1.0 - x]);
            let rho = value / molar;
            // The pressure at the measured density, as a difference of density, and both uncertainties together.
            let slope = rho * isotherm.dp_drho(rho).max(0.02 * isotherm.thermal_energy());
            let share = PRESSURE_UNCERTAINTY * pressure / (slope * term.uncertainty);
            let change = (pressure - isotherm.pressure(rho)) / slope;
            (change / (1.0 + share * share).sqrt(), None)
        }
        Kind::Boundary { pressure } => match found_boundary(model, term, pressure, start) {
            Ok(boundary) => (
                (boundary.pressure / pressure).ln(),
                Some(Start::Boundary(boundary)),
            ),
            Err(ln_sum) => (-NO_BOUNDARY - 0.3 * ln_sum.abs().min(0.5), None),
        },
        Kind::Vapour { pressure, value } => match found_boundary(model, term, pressure, start) {
            Ok(boundary) => {
                let second = 1.0 - boundary.other_fraction();
                ((second / value).ln(), Some(Start::Boundary(boundary)))
            }
            Err(_) => (1.0, None),
        },
        Kind::CriticalPressure { pressure } | Kind::CriticalBound { pressure } => {
            let Some(critical) = found_critical(model, term, pressure, start) else {
                return (NO_CRITICAL_POINT, None);
            };
            let excess = (critical.pressure / pressure).ln();
            let one_sided = matches!(term.kind, Kind::CriticalBound { .. });
            let residual = if one_sided { excess.min(0.0) } else { excess };
            (residual, Some(Start::Critical(critical)))
        }
        Kind::CriticalFraction { pressure } => match found_critical(model, term, pressure, start) {
            Some(critical) => (critical.fraction - x, Some(Start::Critical(critical))),
            None => (NO_CRITICAL_POINT, None),
        },
        Kind::CriticalDensity { pressure, value } => {
            let Some(critical) = found_critical(model, term, pressure, start) else {
                return (NO_CRITICAL_POINT, None);
            };
            let excess = critical.ln_density - value.ln();
            (excess, Some(Start::Critical(critical)))
        }
        Kind::Mixing { pressure, least } => {
            let isotherm = model.at(temperature, &[x, 1.0 - x]);
            let near = match start {
                Some(Start::Density(density)) => {
                    phases::density(isotherm.as_ref(), pressure, density)
                }
                _ => None,
            };
            let density = near.or_else(|| isotherm.densities(pressure).ok().map(|d| d.liquid));
            let Some(density) = density else {
                return (1.0, None);
            };
            let factor = phases::mixing_factor(isotherm.as_ref(), density);
            (
                (least - factor).clamp(0.0, 1.0),
                Some(Start::Density(density)),
            )
        }
        Kind::Dense {
            molar_density,
            least,
        } => {
            let isotherm = model.at(temperature, &[x, 1.0 - x]);
            let (eigenvalue, _) = isotherm.softest(molar_density);
            ((least - eigenvalue).clamp(0.0, 1.0), None)
        }
        Kind::CrossVirial { value } => {
            let found = phases::cross_virial(model, temperature, x);
            (found / value - 1.0, None)
        }
        Kind::Prior { index, value } => {
            let parameter = parameters.get(index).copied().unwrap_or(value);
            (parameter - value, None)
        }
    }
}

/// The boundary near a measured pressure; else the logarithm of the sum of the trial amounts.
fn found_boundary(
    model: &dyn MixtureModel,
    term: &Term,
    pressure: f64,
    start: Option<Start>,
) -> Result<Boundary, f64> {
    let solve = |start| phases::boundary(model, term.temperature, term.fraction, start);
    let distance = |found: &Boundary| (found.pressure / pressure).ln().abs();
    let followed = match start {
        Some(Start::Boundary(start)) => solve(start),
        _ => None,
    };
    if let Some(found) = followed.filter(|found| distance(found) < FOLLOWED) {
        return Ok(found);
    }
    let trials = [1.0, 0.9, 1.05, 0.75].into_iter().filter_map(|factor| {
        let trial = phases::trial(model, term.temperature, factor * pressure, term.fraction);
        solve(trial?.start)
    });
    let nearest = trials
        .chain(followed)
        .min_by(|a, b| distance(a).total_cmp(&distance(b)));
    nearest
        .filter(|found| distance(found) < FARTHEST)
        .ok_or_else(|| {
            let trial = phases::trial(model, term.temperature, pressure, term.fraction);
            trial.map_or(1.0, |trial| trial.ln_sum)
        })
}

fn found_critical(
    model: &dyn MixtureModel,
    term: &Term,
    pressure: f64,
    start: Option<Start>,
) -> Option<Critical> {
    let plausible = |found: &Critical| (found.pressure / pressure).ln().abs() < 0.7;
    let solve = |start| phases::critical(model, term.temperature, start).filter(plausible);
    if let Some(Start::Critical(start)) = start
        && let Some(found) = solve(start)
    {
        return Some(found);
    }
    [0.0, 0.03, -0.03, 0.08, -0.08, 0.15, -0.15]
        .iter()
        .find_map(|shift| {
            let fraction = (term.fraction + shift).clamp(0.02, 0.995);
            let isotherm = model.at(term.temperature, &[fraction, 1.0 - fraction]);
            let density = isotherm.densities(pressure).ok()?.vapour;
            solve(Critical {
                fraction,
                ln_density: density.ln(),
                pressure,
            })
        })
}

/// The problem at one set of parameters.
pub struct Problem<'a> {
    family: &'a dyn Family,
    terms: &'a [Term],
    parameters: DVector<f64>,
    residuals: DVector<f64>,
    /// Where the solutions were found at the last parameters that were kept: those of a step that was turned down would lead
    /// astray.
    starts: RefCell<Vec<Option<Start>>>,
    /// Where the solutions lie at these parameters.
    found: Vec<Option<Start>>,
}

/// Change of a parameter for a difference.
const DIFFERENCE: f64 = 2e-6;

impl<'a> Problem<'a> {
    /// The problem at its first parameters.
    pub fn new(family: &'a dyn Family, terms: &'a [Term], parameters: &[f64]) -> Self {
        let mut problem = Self {
            family,
            terms,
            parameters: DVector::zeros(0),
            residuals: DVector::zeros(0),
            starts: RefCell::new(vec![None; terms.len()]),
            found: vec![None; terms.len()],
        };
        problem.set_params(&DVector::from_column_slice(parameters));
        problem
    }

    /// The residuals at the parameters, and where the solutions lie.
    fn evaluate(&self, parameters: &DVector<f64>) -> (DVector<f64>, Vec<Option<Start>>) {
        let model = self.family.model(parameters.as_slice());
        let masses = self.family.molar_masses();
        let starts = self.starts.borrow();
        let terms = self.terms.iter().zip(starts.iter());
        let (values, found): (Vec<f64>, Vec<Option<Start>>) = terms
            .map(|(term, start)| {
                let (value, found) =
                    residual(model.as_ref(), masses, parameters.as_slice(), term, *start);
                (value / term.uncertainty, found)
            })
            .unzip();
        (DVector::from_vec(values), found)
    }

    /// The change of the residuals to the parameters. Where a solution is found at one of both places only, there is none.
    fn change(&self, parameters: &DVector<f64>) -> DVector<f64> {
        let (values, found) = self.evaluate(parameters);
        let both = found.iter().zip(&self.found);
        let changes = both.enumerate().map(|(index, (there, here))| {
            if there.is_some() == here.is_some() {
                values[index] - self.residuals[index]
            } else {
                0.0
            }
        });
        DVector::from_iterator(self.terms.len(), changes)
    }

    /// The residuals over their uncertainties, in the order of the terms.
    pub fn values(&self) -> &DVector<f64> {
        &self.residuals
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, parameters: &DVector<f64>) {
        let (residuals, found) = self.evaluate(parameters);
        (self.residuals, self.found) = (residuals, found);
        self.parameters = parameters.clone();
    }

    fn params(&self) -> DVector<f64> {
        self.parameters.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(self.residuals.clone())
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        for (start, found) in self.starts.borrow_mut().iter_mut().zip(&self.found) {
            *start = found.or(*start);
        }
        let columns: Vec<DVector<f64>> = (0..self.parameters.len())
            .map(|column| {
                let mut changed = self.parameters.clone();
                let step = DIFFERENCE * (1.0 + changed[column].abs());
                changed[column] += step;
                self.change(&changed) / step
            })
            .collect();
        Some(DMatrix::from_columns(&columns))
    }
}

/// Calls of the residuals at most, over the number of parameters.
const PATIENCE: usize = 12;

/// The parameters of the least sum of squares from a start, and the residuals there.
pub fn minimize(family: &dyn Family, terms: &[Term], start: &[f64]) -> (Vec<f64>, Vec<f64>) {
    let problem = Problem::new(family, terms, start);
    let (problem, _) = LevenbergMarquardt::new()
        .with_ftol(1e-6)
        .with_xtol(1e-12)
        .with_patience(PATIENCE)
        .with_stepbound(0.5)
        .minimize(problem);
    (
        problem.params().as_slice().to_vec(),
        problem.values().as_slice().to_vec(),
    )
}
