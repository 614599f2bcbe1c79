//! The handle of a fluid that all its states share.

use crate::num::once::OnceLock;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use alloc::sync::Arc;

use super::Saturation;
use super::mixture::{Component, Constituent, Mixed, Mixture, ModelChoice, System};
use super::pure::{Pure, Substance};
use crate::eos::solid::Solid;
use crate::eos::{Coexistence, Helmholtz};
use crate::error::{Error, Result, within};
use crate::fluids::record::Range;
use crate::fluids::{self, Composition, FluidRecord};
use crate::quantity::Quantity;

/// A substance or a mixture with its equation of state; cheap to copy and safe to share between threads.
///
/// ```
/// use densepath_fluid::{Fluid, State};
/// let co2 = Fluid::new("carbon dioxide")?;
/// assert_eq!((co2.name(), co2.substances()), ("carbon dioxide", vec!["carbon dioxide"]));
/// // Span and Wagner 1996: 304.1282 K and 7.3773 MPa.
/// let critical = co2.critical_point()?;
/// assert!((critical.temperature - 304.1282).abs() < 1e-3 && (critical.pressure - 7.3773e6).abs() < 1e3);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Fluid {
    model: Model,
    /// Whether models may be asked beyond their ranges.
    extrapolating: bool,
    /// What the viscosity of the model is multiplied by.
    viscosity_factor: f64,
    /// What is added to the specific volume of the model, in m3/kg.
    volume_shift: f64,
}

/// How far beyond its highest temperature a model may be asked by a fluid that extrapolates: a choice of this library.
const TEMPERATURE_BEYOND: f64 = 1.5;
/// How far beyond its highest pressure.
const PRESSURE_BEYOND: f64 = 10.0;
/// Factors that may correct a viscosity: a choice of this library.
const VISCOSITY_FACTORS: (f64, f64) = (0.1, 10.0);

/// What the states of a fluid are computed from.
#[derive(Debug, Clone)]
enum Model {
    /// The reference equation of one substance.
    Reference(Arc<Substance>),
    /// The model of a mixture in one composition.
    Mixture(Arc<Mixture>),
}

/// A critical point.
///
/// ```
/// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
/// // Above the critical temperature no pressure makes a liquid; the density there is 467.6 kg/m3 (Span and Wagner 1996).
/// let critical = fluid.critical_point()?;
/// assert!(critical.is_stable && (critical.density - 467.6).abs() < 0.1);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CriticalPoint {
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Whether no other phase is more stable there.
    pub is_stable: bool,
}

/// Every substance of the library.
///
/// Error 901 if a data file of the library cannot be read, which the tests exclude.
///
/// ```
/// use densepath_fluid::substances;
/// let names: Vec<_> = substances()?.iter().map(|fluid| fluid.name()).collect();
/// assert!(names.contains(&"carbon dioxide") && names.contains(&"methanol"));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
pub fn substances() -> Result<&'static [Fluid]> {
    static SUBSTANCES: OnceLock<Result<Vec<Fluid>>> = OnceLock::new();
    let known = SUBSTANCES.get_or_init(|| {
        (0..fluids::count())
            .map(|index| Fluid::at(index, ModelChoice::Best))
            .collect()
    });
    known.as_deref().map_err(Clone::clone)
}

impl Fluid {
    /// The substance called `name`: its name in words, a trade name or its formula, in any case.
    ///
    /// It follows its reference equation, or the cubic equation if it has no other. Error 201 names the nearest known
    /// substance.
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// assert_eq!(Fluid::new("CO2")?.name(), "carbon dioxide");
    /// assert_eq!(Fluid::new("carbon dioxid").unwrap_err().code(), 201);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn new(name: &str) -> Result<Self> {
        Self::new_with_model(name, ModelChoice::Best)
    }

    /// As [`Fluid::new`], with the model wanted; error 202 if the substance has none of this kind.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, ModelChoice};
    /// let (reference, cubic) = (Fluid::new("carbon dioxide")?, Fluid::new_with_model("carbon dioxide", ModelChoice::Cubic)?);
    /// // The cubic equation is some percent off.
    /// let ratio = cubic.density(313.15, 150e5)? / reference.density(313.15, 150e5)?;
    /// assert!(ratio != 1.0 && (ratio - 1.0).abs() < 0.1);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn new_with_model(name: &str, choice: ModelChoice) -> Result<Self> {
        Self::at(fluids::find(name)?, choice)
    }

    /// A mixture of substances told by their names, with their amount fractions.
    ///
    /// The fractions must sum to 1 within 1e-9, error 103; a fraction may be zero, and where one substance is alone the fluid
    /// is that substance. The model is the multi-fluid equation where every pair has parameters from measurements, else the
    /// cubic equation, which a notice of every state then tells; error 202 names a pair without any parameters.
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// let gas = Fluid::mixture(&[("nitrogen", 0.1), ("CO2", 0.9)])?;
    /// assert_eq!(gas.name(), "nitrogen + carbon dioxide");
    /// assert_eq!(Fluid::mixture(&[("nitrogen", 0.1), ("CO2", 0.8)]).unwrap_err().code(), 103);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn mixture(substances: &[(&str, f64)]) -> Result<Self> {
        Self::mixture_with_model(substances, ModelChoice::Best)
    }

    /// As [`Fluid::mixture`], with the model wanted; error 202 names the substance or the pair that lacks it.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, ModelChoice};
    /// let blend = Fluid::mixture_with_model(&[("carbon dioxide", 0.9), ("methanol", 0.1)], ModelChoice::Cubic)?;
    /// assert_eq!(blend.choice(), ModelChoice::Cubic);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn mixture_with_model(substances: &[(&str, f64)], choice: ModelChoice) -> Result<Self> {
        if let [(name, fraction)] = substances {
            return Self::new_with_model(name, choice)?.with_amount_fractions(&[*fraction]);
        }
        let components: Vec<Component> = substances
            .iter()
            .map(|(name, _)| component(fluids::find(name)?))
            .collect::<Result<_>>()?;
        let fractions: Vec<f64> = substances.iter().map(|(_, fraction)| *fraction).collect();
        let molar_masses: Vec<f64> = components.iter().map(Component::molar_mass).collect();
        let composition = Composition::from_amount_fractions(&fractions, &molar_masses)?;
        Self::of_system(Arc::new(System::new(components, choice)?), composition)
    }

    fn of_system(system: Arc<System>, composition: Composition) -> Result<Self> {
        let mixture = Mixture::new(system, composition)?;
        Ok(Self {
            model: Model::Mixture(Arc::new(mixture)),
            extrapolating: false,
            viscosity_factor: 1.0,
            volume_shift: 0.0,
        })
    }

    /// The substance of a record.
    fn at(index: usize, choice: ModelChoice) -> Result<Self> {
        let record = fluids::record(index)?;
        let has_reference = record.equation_of_state.is_some();
        if choice == ModelChoice::MultiFluid || (choice == ModelChoice::Best && has_reference) {
            return Ok(Self {
                model: Model::Reference(substance(index)?),
                extrapolating: false,
                viscosity_factor: 1.0,
                volume_shift: 0.0,
            });
        }
        Self::of_one(component(index)?)
    }

    /// A substance in the cubic equation.
    pub(super) fn of_one(component: Component) -> Result<Self> {
        let composition = Composition::from_amount_fractions(&[1.0], &[component.molar_mass()])?;
        let system = System::new(vec![component], ModelChoice::Cubic)?;
        Self::of_system(Arc::new(system), composition)
    }

    /// The same substances with the same model in other amount fractions; cheap.
    ///
    /// Error 103 for fractions that do not sum to 1, 104 for another number of them than of substances.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// let weaker = blend.with_amount_fractions(&[0.95, 0.05])?;
    /// assert_eq!(weaker.amount_fractions(), [0.95, 0.05]);
    /// assert_eq!(blend.with_amount_fractions(&[0.5, 0.4]).unwrap_err().code(), 103);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn with_amount_fractions(&self, amount_fractions: &[f64]) -> Result<Self> {
        match &self.model {
            Model::Reference(substance) => {
                substance
                    .composition()
                    .with_amount_fractions(amount_fractions)?;
                Ok(self.clone())
            }
            Model::Mixture(mixture) => Ok(Self {
                model: Model::Mixture(Arc::new(mixture.with(amount_fractions)?)),
                ..self.clone()
            }),
        }
    }

    /// The reference equation, where the states follow that of one substance.
    pub(crate) fn pure(&self) -> Option<Pure<'_>> {
        let substance = match &self.model {
            Model::Reference(substance) => substance,
            Model::Mixture(mixture) => mixture.sole()?,
        };
        Some(Pure {
            handle: self,
            substance,
        })
    }

    /// The model of the mixture, where the states do not follow the reference equation of one substance.
    pub(crate) fn mixed(&self) -> Option<Mixed<'_>> {
        match &self.model {
            Model::Mixture(mixture) if mixture.sole().is_none() => Some(Mixed {
                handle: self,
                mixture,
            }),
            _ => None,
        }
    }

    /// The substances present, where the states do not follow the reference equation of one substance.
    pub(crate) fn constituents(&self) -> Option<Vec<Constituent<'_>>> {
        match &self.model {
            Model::Mixture(mixture) if mixture.sole().is_none() => {
                Some(mixture.constituents().collect())
            }
            _ => None,
        }
    }

    /// As [`Fluid::pure`]; error 202 that names what is needed where there is none.
    pub(crate) fn pure_for(&self, property: Quantity, need: &'static str) -> Result<Pure<'_>> {
        self.pure().ok_or_else(|| Error::MissingModel {
            property,
            fluid: self.name().to_owned(),
            need,
        })
    }

    /// As [`Fluid::pure`]; error 202 where there is none.
    pub(super) fn reference(&self) -> Result<Pure<'_>> {
        let need = "the reference equation of one substance";
        self.pure_for(Quantity::Density, need)
    }

    /// The same fluid, whose models may be asked beyond their ranges: up to one and a half times the highest temperature and ten
    /// times the highest pressure of each. What they say there is told by a notice of the state and has no uncertainty.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, NoticeCode, State};
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// assert_eq!(State::from_tp(&co2, 1200.0, 1e6).unwrap_err().code(), 102);
    /// let hot = State::from_tp(&co2.extrapolating(), 1200.0, 1e6)?;
    /// assert_eq!(hot.notices()[0].code, NoticeCode::Extrapolated);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    #[must_use]
    pub fn extrapolating(&self) -> Self {
        Self {
            extrapolating: true,
            ..self.clone()
        }
    }

    /// The same fluid with a dynamic viscosity that is `factor` times that of its model: a measured ratio, or the model's uncertainty
    /// put into a budget.
    ///
    /// All that follows from the viscosity follows: Reynolds numbers, friction, estimates of diffusion; the thermal conductivity does not.
    /// Error 102 for a factor below 0.1 or above 10, which corrects no model.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let co2 = Fluid::new("carbon dioxide")?;
    /// let viscosity = |fluid: &Fluid| State::from_tp(fluid, 313.15, 15e6)?.dynamic_viscosity();
    /// assert!((viscosity(&co2.with_viscosity_factor(1.02)?)? / viscosity(&co2)? - 1.02).abs() < 1e-15);
    /// assert_eq!(co2.with_viscosity_factor(20.0).unwrap_err().code(), 102);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn with_viscosity_factor(&self, factor: f64) -> Result<Self> {
        let (low, high) = VISCOSITY_FACTORS;
        let what = "a factor that corrects a model";
        Ok(Self {
            viscosity_factor: within(Quantity::Ratio, factor, low, high, what)?,
            ..self.clone()
        })
    }

    /// What the viscosity of its model is multiplied by: 1 unless stated.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert_eq!((fluid.viscosity_factor(), fluid.with_viscosity_factor(0.98)?.viscosity_factor()), (1.0, 0.98));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn viscosity_factor(&self) -> f64 {
        self.viscosity_factor
    }

    /// What is added to the specific volume of its model, in m3/kg: 0 unless stated.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert_eq!((fluid.volume_shift(), fluid.with_volume_shift(1e-5)?.volume_shift()), (0.0, 1e-5));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn volume_shift(&self) -> f64 {
        self.volume_shift
    }

    /// The same fluid with another shift in m3/kg of its specific volume.
    pub(super) fn shifted_by(&self, volume_shift: f64) -> Self {
        Self {
            volume_shift,
            ..self.clone()
        }
    }

    /// The same fluid with what corrects the models of another one, as for the mixture that a corrected stream becomes part of.
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// let thick = Fluid::new("carbon dioxide")?.with_viscosity_factor(1.02)?.with_volume_shift(1e-5)?;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?.with_corrections_of(&thick);
    /// assert_eq!((blend.viscosity_factor(), blend.volume_shift()), (1.02, 1e-5));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    #[must_use]
    pub fn with_corrections_of(&self, other: &Self) -> Self {
        Self {
            viscosity_factor: other.viscosity_factor,
            volume_shift: other.volume_shift,
            ..self.clone()
        }
    }

    /// Whether its models may be asked beyond their ranges.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert!(fluid.extrapolating().is_extrapolating() && !fluid.is_extrapolating());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn is_extrapolating(&self) -> bool {
        self.extrapolating
    }

    /// The range in which a model may be asked: that which its authors state, or a wider one for a fluid that extrapolates.
    pub(crate) fn admitted(&self, stated: Range) -> Range {
        if !self.extrapolating {
            return stated;
        }
        Range {
            temperature_max: TEMPERATURE_BEYOND * stated.temperature_max,
            pressure_max: PRESSURE_BEYOND * stated.pressure_max,
            ..stated
        }
    }

    /// Name in words; of a mixture the names of its substances.
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// // A formula finds the substance too.
    /// assert_eq!(Fluid::new("CO2")?.name(), "carbon dioxide");
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn name(&self) -> &str {
        match &self.model {
            Model::Reference(substance) => &substance.record().name,
            Model::Mixture(mixture) => mixture.name(),
        }
    }

    /// Name of the equation of state, with author and year; of a mixture with the parameters of each pair.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert!(fluid.model().contains("Span"));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn model(&self) -> &str {
        match &self.model {
            Model::Reference(substance) => substance.model(),
            Model::Mixture(mixture) => mixture.model_name(),
        }
    }

    /// The model with what corrects it, for results that stand without their fluid.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert_eq!(fluid.corrected_model(), fluid.model());
    /// assert!(fluid.with_viscosity_factor(1.02)?.corrected_model().ends_with("dynamic viscosity times 1.02"));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn corrected_model(&self) -> String {
        let mut model = self.model().to_owned();
        for correction in self.corrections() {
            model.push_str("; ");
            model.push_str(&correction);
        }
        model
    }

    /// What corrects the models, in words; empty unless stated.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert!(fluid.corrections().is_empty());
    /// assert_eq!(fluid.with_volume_shift(2e-5)?.corrections(), ["specific volume plus 2e-5 m3/kg"]);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn corrections(&self) -> Vec<String> {
        let (factor, shift) = (self.viscosity_factor, self.volume_shift);
        let viscosity = (factor != 1.0).then(|| format!("dynamic viscosity times {factor}"));
        let volume = (shift != 0.0).then(|| format!("specific volume plus {shift:e} m3/kg"));
        viscosity.into_iter().chain(volume).collect()
    }

    /// The choice of model that leads from the substances to this fluid again.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, ModelChoice};
    /// assert_eq!(Fluid::new_with_model("carbon dioxide", ModelChoice::Cubic)?.choice(), ModelChoice::Cubic);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn choice(&self) -> ModelChoice {
        match &self.model {
            Model::Reference(_) => ModelChoice::Best,
            Model::Mixture(mixture) => mixture.choice(),
        }
    }

    /// Where the equation of state was published; of a mixture also the parameters of each pair.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert!(fluid.source().contains("10.1063/1.555991"));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn source(&self) -> String {
        match &self.model {
            Model::Reference(substance) => substance.equation().source.to_string(),
            Model::Mixture(mixture) => mixture.sources(),
        }
    }

    /// A text with everything that the numbers of the fluid depend on: another one as soon as a coefficient differs.
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// let of = |name| Fluid::new(name).map(|fluid| fluid.fingerprint());
    /// assert!(of("CO2")? == of("carbon dioxide")? && of("CO2")? != of("nitrous oxide")?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn fingerprint(&self) -> String {
        let model = match &self.model {
            Model::Reference(substance) => format!("{:?}", substance.record()),
            Model::Mixture(mixture) => mixture.fingerprint(),
        };
        let (factor, shift) = (self.viscosity_factor, self.volume_shift);
        format!("{} {factor} {shift} {model}", self.extrapolating)
    }

    /// Names of the substances, in the order of the fractions.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// assert_eq!(blend.substances(), ["carbon dioxide", "methanol"]);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn substances(&self) -> Vec<&'static str> {
        match &self.model {
            Model::Reference(substance) => vec![substance.record().name.as_str()],
            Model::Mixture(mixture) => mixture.substances(),
        }
    }

    /// What the fluid is made of.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// assert_eq!(blend.composition().amount_fractions(), blend.amount_fractions());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn composition(&self) -> &Composition {
        match &self.model {
            Model::Reference(substance) => substance.composition(),
            Model::Mixture(mixture) => mixture.composition(),
        }
    }

    /// Amount fractions x of the substances.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// assert!((blend.amount_fractions().iter().sum::<f64>() - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn amount_fractions(&self) -> &[f64] {
        self.composition().amount_fractions()
    }

    /// Mass fractions w of the substances.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// // 0.1 M / (0.1 M + 0.9 M') with M = 32.042 and M' = 44.010 g/mol.
    /// assert!((blend.mass_fractions()[1] - 3.2042 / (3.2042 + 39.609)).abs() < 1e-4);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn mass_fractions(&self) -> &[f64] {
        self.composition().mass_fractions()
    }

    /// Whether more than one substance is present.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// // A mixture in which one substance is alone is that substance.
    /// assert!(blend.is_mixture() && !blend.with_amount_fractions(&[1.0, 0.0])?.is_mixture());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn is_mixture(&self) -> bool {
        let present = self.amount_fractions().iter().filter(|x| **x > 0.0);
        present.count() > 1
    }

    /// The data record of the substance, with the source of every coefficient; error 202 for a mixture.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert_eq!(fluid.record()?.cas_number, "124-38-9");
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn record(&self) -> Result<&'static FluidRecord> {
        let found = match &self.model {
            Model::Reference(substance) => Some(substance.record()),
            Model::Mixture(mixture) => mixture.record(),
        };
        found.ok_or_else(|| Error::MissingModel {
            property: Quantity::AmountFraction,
            fluid: self.name().to_owned(),
            need: "a mixture has no record of its own: ask its substances",
        })
    }

    /// The reference equation of the substance on plain numbers, without what corrects it; error 202 where the states follow none.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// use densepath_fluid::State;
    /// // The same pressure from plain numbers as from a state.
    /// let density = State::from_tp(&fluid, 313.15, 150e5)?.density();
    /// let pressure = fluid.helmholtz()?.isotherm(313.15).pressure(density).pressure;
    /// assert!((pressure / 150e5 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn helmholtz(&self) -> Result<&Helmholtz> {
        Ok(self.reference()?.substance.helmholtz())
    }

    /// The solid, where its equation is known.
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// // Dry ice is known.
    /// assert!(Fluid::new("carbon dioxide")?.solid().is_some());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn solid(&self) -> Option<&Solid> {
        self.pure()?.substance.solid()
    }

    /// Pressure in Pa above which the solid is stable at a temperature in K: that of melting, or of sublimation below the triple
    /// point; infinite where neither line is known.
    ///
    /// That of melting is never below the triple point of the equation of state, which lies a few pascals above that of the line, so that the
    /// boiling liquid of the triple point is a fluid.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // Below the triple point dry ice sublimes: 1 atm at 194.69 K.
    /// assert!((fluid.melting_pressure(194.69) / 101_325.0 - 1.0).abs() < 0.005);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn melting_pressure(&self, temperature: f64) -> f64 {
        self.pure().map_or(f64::INFINITY, |pure| {
            pure.substance.melting_pressure(temperature)
        })
    }

    /// Whether the equation takes a mixture for one substance: right in one phase, without meaning where there are two.
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// assert!(Fluid::new("air")?.is_pseudo_pure() && !Fluid::new("nitrogen")?.is_pseudo_pure());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn is_pseudo_pure(&self) -> bool {
        self.pure().is_some_and(|pure| pure.is_pseudo_pure())
    }

    /// Pressures in Pa of the bubble and the dew point at a temperature in K of a mixture that its equation takes for one
    /// substance; nothing for a substance, and above the temperature where both lines end.
    ///
    /// *Source*: of the record; for air Lemmon et al., J. Phys. Chem. Ref. Data 29, 331 (2000), doi 10.1063/1.1285884.
    ///
    /// ```
    /// use densepath_fluid::Fluid;
    /// // Air boils at a higher pressure than that at which it condenses.
    /// let both = Fluid::new("air")?.bubble_and_dew_pressure(100.0);
    /// assert!(both.is_some_and(|(bubble, dew)| bubble > dew));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn bubble_and_dew_pressure(&self, temperature: f64) -> Option<(f64, f64)> {
        self.pure()?.bubble_and_dew_pressure(temperature)
    }

    /// Molar mass M in kg/mol.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert!((fluid.molar_mass() - 44.0098e-3).abs() < 1e-6);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn molar_mass(&self) -> f64 {
        self.composition().molar_mass()
    }

    /// Specific gas constant R/M in J/(kg K) of the equation of state.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // R / M.
    /// assert!((fluid.specific_gas_constant() * fluid.molar_mass() - 8.3145).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn specific_gas_constant(&self) -> f64 {
        match &self.model {
            Model::Reference(substance) => substance.helmholtz().specific_gas_constant,
            Model::Mixture(mixture) => mixture.sole().map_or_else(
                || mixture.specific_gas_constant(),
                |substance| substance.helmholtz().specific_gas_constant,
            ),
        }
    }

    /// Critical point of the equation of state; of a mixture the stable one of liquid and vapour.
    ///
    /// That of a mixture is sought once for each composition. Error 402 where it has none, as mixtures of very unlike
    /// substances.
    ///
    /// ```
    /// # use densepath_fluid::Fluid;
    /// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    /// // A modifier raises the critical temperature.
    /// assert!(blend.critical_point()?.temperature > 304.2);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn critical_point(&self) -> Result<CriticalPoint> {
        let found = self.critical_point_of_model()?;
        Ok(self.critical_point_from_model(found))
    }

    fn critical_point_from_model(&self, found: CriticalPoint) -> CriticalPoint {
        CriticalPoint {
            density: self.density_from_model(found.density),
            ..found
        }
    }

    fn critical_point_of_model(&self) -> Result<CriticalPoint> {
        if let Some(mixed) = self.mixed() {
            return mixed.critical_point();
        }
        let equation = self.reference()?.substance.equation();
        let point = &equation.critical_point;
        Ok(CriticalPoint {
            temperature: point.temperature,
            pressure: point.pressure,
            density: point.molar_density * equation.molar_mass,
            is_stable: true,
        })
    }

    /// Every critical point of the composition up to the highest pressure of the range, by falling temperature, the
    /// metastable ones too.
    ///
    /// *Source*: conditions of Heidemann and Khalil, AIChE J. 26, 769 (1980), doi 10.1002/aic.690260510.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert_eq!(fluid.critical_points()?.len(), 1);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn critical_points(&self) -> Result<Vec<CriticalPoint>> {
        match self.mixed() {
            Some(mixed) => {
                let found = mixed.critical_points()?.iter();
                Ok(found
                    .map(|point| self.critical_point_from_model(*point))
                    .collect())
            }
            None => Ok(vec![self.critical_point()?]),
        }
    }

    /// Temperature of the triple point in K; error 202 for a mixture.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // Span and Wagner 1996.
    /// assert!((fluid.triple_temperature()? - 216.592).abs() < 1e-3);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn triple_temperature(&self) -> Result<f64> {
        let need = "a mixture has no triple point, nor is one stated for the cubic equation";
        let pure = self.pure_for(Quantity::Temperature, need)?;
        Ok(pure.triple_temperature())
    }

    /// Lowest temperature in K at which liquid and vapour coexist: the triple point or, of a substance that only the cubic
    /// equation knows, the lowest temperature of its range; error 202 for a mixture.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert_eq!(fluid.saturation_temperature_min()?, fluid.triple_temperature()?);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn saturation_temperature_min(&self) -> Result<f64> {
        if let Some(mixed) = self.mixed() {
            mixed.critical_of_one()?;
            return Ok(self.range().temperature_min);
        }
        self.triple_temperature()
    }

    /// Highest temperature in K at which liquid and vapour coexist: the top of the dome of the equation, which lies in the
    /// last digits beside the critical point stated; error 202 for a mixture.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert!((fluid.saturation_temperature_max()? - fluid.critical_point()?.temperature).abs() < 1e-2);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn saturation_temperature_max(&self) -> Result<f64> {
        if let Some(mixed) = self.mixed() {
            return Ok(mixed.critical_of_one()?.0);
        }
        Ok(self.helmholtz()?.dome_top.temperature)
    }

    /// Range of the equation of state stated by its authors; of a mixture from the highest of the lowest temperatures of its
    /// substances to the lowest of their highest temperatures and pressures. Carbon dioxide, whose solid is known and refused or
    /// given where it forms, counts down to 173 K.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// // To 1100 K and 800 MPa.
    /// assert!(fluid.range().contains(313.15, 150e5) && !fluid.range().contains(1200.0, 150e5));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn range(&self) -> Range {
        match &self.model {
            Model::Reference(substance) => substance.range(),
            Model::Mixture(mixture) => mixture.range(),
        }
    }

    /// Liquid and vapour in equilibrium at a temperature T in K.
    ///
    /// *Valid* from the triple point to the critical point; error 302 outside. Error 202 for a mixture: ask for its bubble or
    /// its dew point.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let both = fluid.saturation_at_temperature(293.15)?;
    /// // 57.29 bar, 773.4 and 194.2 kg/m3 (Span and Wagner 1996).
    /// assert!((both.liquid.density() - 773.4).abs() < 0.1 && (both.vapour.density() - 194.2).abs() < 0.1);
    /// assert!((both.liquid.pressure() / 1e5 - 57.29).abs() < 0.01);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn saturation_at_temperature(&self, temperature: f64) -> Result<Saturation> {
        if let Some((of_model, shift)) = self.unshifted() {
            return of_model
                .saturation_at_temperature(temperature)?
                .shifted(shift);
        }
        if let Some(mixed) = self.mixed() {
            return Ok(mixed.saturation(&mixed.coexistence_at_temperature(temperature)?));
        }
        let pure = self.reference()?;
        Ok(pure.saturation(&pure.coexistence_at_temperature(temperature)?))
    }

    /// Liquid and vapour in equilibrium at a pressure p in Pa.
    ///
    /// *Valid* from the triple point to the critical point; error 302 outside. Error 202 for a mixture: ask for its bubble or
    /// its dew point.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let both = fluid.saturation_at_pressure(5e6)?;
    /// assert!((fluid.saturation_at_temperature(both.liquid.temperature())?.liquid.pressure() / 5e6 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn saturation_at_pressure(&self, pressure: f64) -> Result<Saturation> {
        if let Some((of_model, shift)) = self.unshifted() {
            return of_model.saturation_at_pressure(pressure)?.shifted(shift);
        }
        if let Some(mixed) = self.mixed() {
            return Ok(mixed.saturation(&mixed.coexistence_at_pressure(pressure)?));
        }
        let pure = self.reference()?;
        Ok(pure.saturation(&pure.coexistence_at_pressure(pressure)?))
    }

    /// Densities and pressure of liquid and vapour in equilibrium at a temperature in K.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// let (numbers, states) = (fluid.coexistence_at_temperature(293.15)?, fluid.saturation_at_temperature(293.15)?);
    /// assert!((numbers.pressure / states.liquid.pressure() - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn coexistence_at_temperature(&self, temperature: f64) -> Result<Coexistence> {
        let found = match self.mixed() {
            Some(mixed) => mixed.coexistence_at_temperature(temperature),
            None => self.reference()?.coexistence_at_temperature(temperature),
        }?;
        Ok(self.coexistence_from_model(found))
    }

    /// Densities and temperature of liquid and vapour in equilibrium at a pressure in Pa.
    ///
    /// ```
    /// # let fluid = densepath_fluid::Fluid::new("carbon dioxide")?;
    /// assert!((fluid.coexistence_at_pressure(5e6)?.pressure / 5e6 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn coexistence_at_pressure(&self, pressure: f64) -> Result<Coexistence> {
        let found = match self.mixed() {
            Some(mixed) => mixed.coexistence_at_pressure(pressure),
            None => self.reference()?.coexistence_at_pressure(pressure),
        }?;
        Ok(self.coexistence_from_model(found))
    }
}

/// The substance of a record; every call with the same index shares one model. Error 202 for one without reference equation.
fn substance(index: usize) -> Result<Arc<Substance>> {
    static SUBSTANCES: [OnceLock<Arc<Substance>>; fluids::count()] =
        [const { OnceLock::new() }; fluids::count()];
    let record = fluids::record(index)?;
    let equation = record.reference_equation()?;
    let place = SUBSTANCES.get(index).ok_or(Error::Internal {
        place: "the index of the substances",
    })?;
    Ok(place
        .get_or_init(|| Arc::new(Substance::new(record, equation)))
        .clone())
}

/// A substance of a record as part of a mixture.
fn component(index: usize) -> Result<Component> {
    let record = fluids::record(index)?;
    let has_reference = record.equation_of_state.is_some();
    let substance = has_reference.then(|| substance(index)).transpose()?;
    Component::new(record, substance)
}

impl PartialEq for Fluid {
    fn eq(&self, other: &Self) -> bool {
        if self.extrapolating != other.extrapolating
            || self.viscosity_factor != other.viscosity_factor
            || self.volume_shift != other.volume_shift
        {
            return false;
        }
        match (&self.model, &other.model) {
            (Model::Reference(one), Model::Reference(other)) => {
                Arc::ptr_eq(one, other) || one.record() == other.record()
            }
            (Model::Mixture(one), Model::Mixture(other)) => {
                Arc::ptr_eq(one, other) || one.is_same(other)
            }
            _ => false,
        }
    }
}
