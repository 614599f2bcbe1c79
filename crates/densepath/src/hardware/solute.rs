//! The solute whose band is followed: how it is retained and how it diffuses.

use fluid::error::positive;
use fluid::transport::diffusion::{Diffusing, DiffusionModel};
use fluid::transport::gas_diffusion::GasMolecule;
use fluid::{Error, Quantity, Result, State};

use super::ModifierShare;
use crate::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
use crate::fluid;

/// A solute at infinite dilution.
///
/// ```
/// use densepath::hardware::{Diffusion, Retention, Solute};
/// let solute = Solute {
///     name: "caffeine".to_owned(),
///     retention: Retention::Constant { retention_factor: 3.0 },
///     diffusion: Diffusion::Constant { diffusion_coefficient: 1e-8 },
///     melting_temperature: Some(508.0),
///     in_gas: None,
/// };
/// assert_eq!(solute.retention, Retention::Constant { retention_factor: 3.0 });
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Solute {
    /// Name for the report.
    pub name: String,
    /// Retention on the column of the method.
    pub retention: Retention,
    /// Diffusion in the mobile phase.
    pub diffusion: Diffusion,
    /// Melting point in K, if it is known: what a restrictor's tip has to stay above.
    pub melting_temperature: Option<f64>,
    /// Its mass and size for diffusion in thin gas, if they are known.
    pub in_gas: Option<GasMolecule>,
}

impl Solute {
    /// Diffusion coefficient D in m2/s in a state of the mobile phase: in thin gas by the law of gases where mass and size are known,
    /// else as stated.
    ///
    /// *Valid*: up to a tenth of the critical density by [`State::gas_diffusion_coefficient`], above as [`Diffusion::diffusion_coefficient`].
    ///
    /// ```
    /// use densepath::fluid::transport::gas_diffusion::GasMolecule;
    /// use densepath::{Fluid, State, hardware::{Diffusion, Retention, Solute}};
    /// let solute = Solute {
    ///     name: "naphthalene".to_owned(),
    ///     retention: Retention::Constant { retention_factor: 3.0 },
    ///     diffusion: Diffusion::Constant { diffusion_coefficient: 1e-8 },
    ///     melting_temperature: Some(353.4),
    ///     in_gas: Some(GasMolecule::of_formula("C10H8", 2)?),
    /// };
    /// let at = |pressure| solute.diffusion_coefficient(&State::from_tp(&Fluid::new("CO2")?, 323.15, pressure)?);
    /// assert_eq!(at(150e5)?, 1e-8);
    /// // The gas behind a restrictor.
    /// assert!(at(1e5)? > 5e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn diffusion_coefficient(&self, state: &State) -> Result<f64> {
        let in_gas = self
            .in_gas
            .map(|molecule| state.gas_diffusion_coefficient(molecule));
        match in_gas {
            // Too dense for the law of gases.
            None | Some(Err(Error::OutOfRange { .. })) => {
                self.diffusion.diffusion_coefficient(state)
            }
            Some(found) => found,
        }
    }
}

/// Law of the retention factor k.
///
/// ```
/// use densepath::hardware::{ModifierShare, Retention};
/// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
/// # let room = Surroundings {
/// #     delivery_pressure: 200e5,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     solute: None,
/// #     carrier: "carbon dioxide",
/// #     additives: &[],
/// # };
/// let none = ModifierShare { amount_fraction: 0.0, mass_fraction: 0.0 };
/// let retention = Retention::Constant { retention_factor: 3.0 };
/// assert_eq!(retention.retention_factor(&stream.state, none)?, 3.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Retention {
    /// The same k everywhere; zero for a solute that is not retained.
    Constant {
        /// Retention factor k.
        retention_factor: f64,
    },
    /// A law of density, temperature and modifier, in the box of its fit.
    Law(RetentionLaw),
}

impl Retention {
    /// `ln k = intercept - slope rho` in a span of densities in kg/m3, at any temperature and composition: the slope in m3/kg.
    ///
    /// *Source*: see [`crate::flow::retention`].
    ///
    /// Errors: 101 for numbers that are not finite or a span in the wrong order.
    ///
    /// ```
    /// use densepath::{flow::retention::Span, hardware::{ModifierShare, Retention}};
    /// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
    /// # let room = Surroundings {
    /// #     delivery_pressure: 200e5,
    /// #     room_temperature: 293.15,
    /// #     room_pressure: 101_325.0,
    /// #     solute: None,
    /// #     carrier: "carbon dioxide",
    /// #     additives: &[],
    /// # };
    /// let law = Retention::log_linear_in_density(6.0, 0.006, Span { min: 600.0, max: 900.0 })?;
    /// let none = ModifierShare { amount_fraction: 0.0, mass_fraction: 0.0 };
    /// let k = law.retention_factor(&stream.state, none)?;
    /// assert!((k.ln() - (6.0 - 0.006 * stream.state.density())).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn log_linear_in_density(intercept: f64, slope: f64, density: Span) -> Result<Self> {
        let terms = [(Term::Constant, intercept), (Term::Density, -slope)];
        let fitted = FittedBox {
            density,
            ..FittedBox::UNLIMITED
        };
        RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted).map(Retention::Law)
    }

    /// Retention factor k in a state of the mobile phase with a share of modifier. Error 102 outside the box of the fit.
    ///
    /// ```
    /// use densepath::{flow::retention::Span, hardware::{ModifierShare, Retention}};
    /// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
    /// # let room = Surroundings {
    /// #     delivery_pressure: 200e5,
    /// #     room_temperature: 293.15,
    /// #     room_pressure: 101_325.0,
    /// #     solute: None,
    /// #     carrier: "carbon dioxide",
    /// #     additives: &[],
    /// # };
    /// // The box of the fit ends below the density of the stream.
    /// let law = Retention::log_linear_in_density(6.0, 0.006, Span { min: 300.0, max: 600.0 })?;
    /// let none = ModifierShare { amount_fraction: 0.0, mass_fraction: 0.0 };
    /// assert_eq!(law.retention_factor(&stream.state, none).unwrap_err().code(), 102);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn retention_factor(&self, state: &State, modifier: ModifierShare) -> Result<f64> {
        match self {
            Retention::Constant { retention_factor } => Ok(*retention_factor),
            Retention::Law(law) => law.retention_factor(&Conditions {
                temperature: state.temperature(),
                density: state.density(),
                modifier_fraction: match law.basis() {
                    ModifierBasis::AmountFraction => modifier.amount_fraction,
                    ModifierBasis::MassFraction => modifier.mass_fraction,
                },
            }),
        }
    }
}

/// Law of the diffusion coefficient D at infinite dilution.
///
/// ```
/// use densepath::hardware::Diffusion;
/// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
/// # let room = Surroundings {
/// #     delivery_pressure: 200e5,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     solute: None,
/// #     carrier: "carbon dioxide",
/// #     additives: &[],
/// # };
/// assert_eq!(Diffusion::Constant { diffusion_coefficient: 1e-8 }.diffusion_coefficient(&stream.state)?, 1e-8);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Diffusion {
    /// The same D everywhere.
    Constant {
        /// Diffusion coefficient D in m2/s.
        diffusion_coefficient: f64,
    },
    /// An estimate from the size of the solute.
    Estimated {
        /// The law.
        model: DiffusionModel,
        /// What it needs to know of the solute.
        solute: Diffusing,
        /// What the estimate is multiplied by: 1, or what a measurement says.
        factor: f64,
    },
}

impl Diffusion {
    /// Diffusion coefficient D in m2/s in a state of the mobile phase.
    ///
    /// Errors: 101 for a coefficient or a factor not above zero, 102 at densities below the range of the estimates.
    ///
    /// ```
    /// use densepath::hardware::Diffusion;
    /// use densepath::fluid::transport::diffusion::{Diffusing, DiffusionModel};
    /// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
    /// # let room = Surroundings {
    /// #     delivery_pressure: 200e5,
    /// #     room_temperature: 293.15,
    /// #     room_pressure: 101_325.0,
    /// #     solute: None,
    /// #     carrier: "carbon dioxide",
    /// #     additives: &[],
    /// # };
    /// let of = |molar_volume| Diffusion::Estimated { model: DiffusionModel::WilkeChang, solute: Diffusing { molar_volume, molar_mass: None }, factor: 1.0 };
    /// // A larger solute is slower.
    /// assert!(of(2e-4).diffusion_coefficient(&stream.state)? < of(1e-4).diffusion_coefficient(&stream.state)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn diffusion_coefficient(&self, state: &State) -> Result<f64> {
        match *self {
            Diffusion::Constant {
                diffusion_coefficient,
            } => positive(Quantity::DiffusionCoefficient, diffusion_coefficient),
            Diffusion::Estimated {
                model,
                solute,
                factor,
            } => {
                Ok(positive(Quantity::Ratio, factor)?
                    * state.diffusion_coefficient(model, solute)?)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fluid::Fluid;
    use crate::hardware::share_beside;
    use crate::hardware::testing::{close, co2};

    const NEAT: ModifierShare = ModifierShare {
        amount_fraction: 0.0,
        mass_fraction: 0.0,
    };

    #[test]
    fn retention_is_refused_outside_its_fit() {
        let span = Span {
            min: 500.0,
            max: 1000.0,
        };
        let law = Retention::log_linear_in_density(6.0, 7e-3, span).unwrap();
        let at = |density: f64| State::from_t_rho(&co2(), 313.15, density).unwrap();
        let k = law.retention_factor(&at(800.0), NEAT).unwrap();
        assert!(close(k, 0.4f64.exp(), 1e-12));
        let error = law.retention_factor(&at(450.0), NEAT).unwrap_err();
        assert_eq!(error.code(), 102);
    }

    /// Between the gas and the dense fluid neither law holds.
    #[test]
    fn each_law_of_diffusion_has_its_densities() {
        let solute = Solute {
            name: "naphthalene".to_owned(),
            retention: Retention::Constant {
                retention_factor: 1.0,
            },
            diffusion: Diffusion::Estimated {
                model: DiffusionModel::WilkeChang,
                solute: Diffusing {
                    molar_volume: 147.6e-6,
                    molar_mass: None,
                },
                factor: 2.0,
            },
            melting_temperature: None,
            in_gas: GasMolecule::of_formula("C10H8", 2).ok(),
        };
        let at = |density: f64| State::from_t_rho(&co2(), 373.15, density).unwrap();
        let found = |density: f64| solute.diffusion_coefficient(&at(density));
        let gas = at(20.0).gas_diffusion_coefficient(solute.in_gas.unwrap());
        assert_eq!(found(20.0).unwrap(), gas.unwrap());
        let dense = solute.diffusion.diffusion_coefficient(&at(700.0));
        assert_eq!(found(700.0).unwrap(), dense.unwrap());
        let error = found(100.0).unwrap_err();
        assert_eq!(
            (error.code(), error.quantity()),
            (102, Some(Quantity::Density))
        );
        let unknown = Solute {
            in_gas: None,
            ..solute.clone()
        };
        assert_eq!(
            unknown.diffusion_coefficient(&at(20.0)).unwrap_err().code(),
            102
        );
    }

    #[test]
    fn the_modifier_counts_as_the_law_says() {
        let fluid = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)]).unwrap();
        let state = State::from_tp(&fluid, 313.15, 15e6).unwrap();
        let share = share_beside(&fluid, "carbon dioxide");
        for (basis, fraction) in [
            (ModifierBasis::AmountFraction, 0.1),
            (ModifierBasis::MassFraction, share.mass_fraction),
        ] {
            let terms = [(Term::Constant, 2.0), (Term::Modifier, -8.0)];
            let law = RetentionLaw::new(&terms, basis, FittedBox::UNLIMITED).unwrap();
            let k = Retention::Law(law).retention_factor(&state, share).unwrap();
            assert!(close(k.ln(), 2.0 - 8.0 * fraction, 1e-12));
        }
    }
}
