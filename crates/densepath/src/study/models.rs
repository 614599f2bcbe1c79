//! How sure the models of a method are, told as inputs of a budget.

use fluid::transport::diffusion::RELATIVE_UNCERTAINTY;
use fluid::{Error, Quantity, Result, State};

use super::uncertainty::UncertainInput;
use crate::fluid;
use crate::hardware::Diffusion;
use crate::method::{Input, Method};

/// Keys of a document that correct its models.
const VISCOSITY: &str = "viscosity_factor";
const DENSITY: [&str; 3] = ["density_factor", "density_temperature", "density_pressure"];
const DIFFUSION: &str = "diffusion_factor";
/// Whose keys those of the mobile phase are.
const DOCUMENT: &str = "document";

/// A method whose document states the factors of its models, each with the uncertainty of the model.
///
/// ```
/// use densepath::study::{Output, budget, model_uncertainties};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let models = model_uncertainties(&method)?;
/// let found = &budget(&models.method, &models.inputs, &[Output::new("column", "pressure_drop")])?[0];
/// // What the column resists goes with the viscosity.
/// assert_eq!(found.contributions[0].input.key, "viscosity_factor");
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct ModelUncertainties {
    /// The method with a factor of 1 for each model that is in doubt; its results are those without.
    pub method: Method,
    /// The factors with the relative standard uncertainties of the models.
    pub inputs: Vec<UncertainInput>,
    /// Properties whose uncertainty is not known at the inlet of the column, and why.
    pub unknown: Vec<(Quantity, Error)>,
}

/// The uncertainties that the models of density, viscosity and diffusion state at the inlet of the first column, or where a path has
/// none at its first station, ready for [`budget`](super::budget) and [`trials`](super::trials) beside those of the settings.
///
/// A factor that the document states is a measured one, and its doubt is for those who measured it: it is left out. The density of a blend
/// is moved by the shift of the specific volume of the fluid that the document names first, which all compositions share.
///
/// *Valid*: one factor for all states of a method, which errors of one model at neighbouring states nearly are. *Uncertainty*: it is what
/// [`State::uncertainty`] states, or judges; of plate heights and retention no model states one. *Source*: of each figure that of its
/// model; JCGM 100:2008 (GUM), 4.3.
///
/// Errors: those of [`Method::solve`].
///
/// ```
/// use densepath::{Quantity, study::model_uncertainties};
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let models = model_uncertainties(&method)?;
/// let keys: Vec<_> = models.inputs.iter().map(|one| one.input.key.as_str()).collect();
/// assert_eq!(keys, ["density_factor", "viscosity_factor", "diffusion_factor"]);
/// let inlet = &method.solve()?.columns[0].inlet;
/// assert_eq!(models.inputs[1].standard_uncertainty, inlet.uncertainty(Quantity::DynamicViscosity)?);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn model_uncertainties(method: &Method) -> Result<ModelUncertainties> {
    let state = state_of_interest(method)?;
    let mut found = Factors {
        method,
        set: Vec::new(),
        inputs: Vec::new(),
        unknown: Vec::new(),
    };
    found.density(&state)?;
    found.viscosity(&state)?;
    found.diffusion()?;
    found.stated()
}

/// The state at the inlet of the first column, or at the first station.
fn state_of_interest(method: &Method) -> Result<State> {
    let solution = method.solve()?;
    let column = solution.columns.first().map(|column| &column.inlet);
    let first = solution.stations.first().map(|station| &station.state);
    column.or(first).cloned().ok_or(Error::Internal {
        place: "study::models, a path without stations",
    })
}

/// Factors to state in a document.
struct Factors<'a> {
    method: &'a Method,
    /// Inputs with the values to set.
    set: Vec<(Input, f64)>,
    /// The factors among them, stated as 1, with their standard uncertainties.
    inputs: Vec<UncertainInput>,
    unknown: Vec<(Quantity, Error)>,
}

impl Factors<'_> {
    fn density(&mut self, state: &State) -> Result<()> {
        let [factor, temperature, pressure] = DENSITY;
        let (t, p) = (state.temperature(), state.pressure());
        // The shift that is a share of the blend's volume, as a share of that of the fluid whose factor the document states.
        let relative = || {
            let own = State::from_tp(&self.method.path.fluid, t, p)?.density();
            Ok(state.uncertainty(Quantity::Density)? * own / state.density())
        };
        let known = relative();
        if self.factor(DOCUMENT, factor, Quantity::Density, known)? {
            self.set(DOCUMENT, temperature, t)?;
            self.set(DOCUMENT, pressure, p)?;
        }
        Ok(())
    }

    fn viscosity(&mut self, state: &State) -> Result<()> {
        let known = state.uncertainty(Quantity::DynamicViscosity);
        self.factor(DOCUMENT, VISCOSITY, Quantity::DynamicViscosity, known)?;
        Ok(())
    }

    /// Of each solute whose diffusion coefficient a law estimates.
    fn diffusion(&mut self) -> Result<()> {
        for solute in &self.method.path.solutes {
            if matches!(solute.diffusion, Diffusion::Estimated { .. }) {
                let known = Ok(RELATIVE_UNCERTAINTY);
                let quantity = Quantity::DiffusionCoefficient;
                self.factor(&solute.name, DIFFUSION, quantity, known)?;
            }
        }
        Ok(())
    }

    /// States a factor of 1 in doubt, unless the document has one, or notes that its doubt is not known. Whether it was stated here.
    fn factor(
        &mut self,
        of: &str,
        key: &str,
        quantity: Quantity,
        relative: Result<f64>,
    ) -> Result<bool> {
        if self.method.input(of, key)?.value.is_some() {
            return Ok(false);
        }
        match relative {
            Err(why) => {
                self.unknown.push((quantity, why));
                Ok(false)
            }
            Ok(relative) => {
                let input = Input {
                    value: Some(1.0),
                    ..self.set(of, key, 1.0)?
                };
                self.inputs.push(UncertainInput {
                    input,
                    standard_uncertainty: relative,
                });
                Ok(true)
            }
        }
    }

    /// Has the document state a value.
    fn set(&mut self, of: &str, key: &str, value: f64) -> Result<Input> {
        let input = self.method.input(of, key)?;
        self.set.push((input.clone(), value));
        Ok(input)
    }

    /// The method that states them.
    fn stated(self) -> Result<ModelUncertainties> {
        let changes: Vec<_> = self
            .set
            .iter()
            .map(|(input, value)| (input, *value))
            .collect();
        Ok(ModelUncertainties {
            method: self.method.with(&changes)?,
            inputs: self.inputs,
            unknown: self.unknown,
        })
    }
}
