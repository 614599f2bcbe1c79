//! The model of a set of substances, shared by all their compositions.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use alloc::sync::Arc;

use crate::consts::MOLAR_GAS_CONSTANT;
use crate::eos::cubic::{Cubic, CubicSubstance, Interaction};
use crate::eos::equilibrium::Remembering;
use crate::eos::mixture::MixtureModel;
use crate::eos::multifluid::{MultiFluid, PairTerms};
use crate::error::{Error, Result};
use crate::fluids::binary::{self, BinaryRecord, EvidenceRecord};
use crate::fluids::record::{EquationOfState, FluidRecord, Range};
use crate::quantity::Quantity;
use crate::state::ideal_gas::IdealGas;
use crate::state::pure::Substance;

/// Which model of a mixture is wanted.
///
/// ```
/// use densepath_fluid::{Fluid, ModelChoice};
/// let of = |choice| Fluid::mixture_with_model(&[("carbon dioxide", 0.9), ("methanol", 0.1)], choice);
/// // Two models of one blend differ; how far tells something of their uncertainty.
/// let ratio = of(ModelChoice::MultiFluid)?.density(313.15, 150e5)? / of(ModelChoice::Cubic)?.density(313.15, 150e5)?;
/// assert!(ratio != 1.0 && (ratio - 1.0).abs() < 0.1);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum ModelChoice {
    /// The multi-fluid equation where every pair has parameters from measurements, the cubic equation otherwise.
    #[default]
    Best,
    /// The reference equations of the substances at common reduced variables, see [`crate::eos::multifluid`].
    MultiFluid,
    /// The translated equation of Peng and Robinson, see [`crate::eos::cubic`].
    Cubic,
}

impl ModelChoice {
    /// Every choice.
    pub const ALL: &[Self] = &[Self::Best, Self::MultiFluid, Self::Cubic];

    /// The word for it.
    ///
    /// ```
    /// use densepath_fluid::ModelChoice;
    /// assert_eq!(ModelChoice::Cubic.name().parse(), Ok(ModelChoice::Cubic));
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            Self::Best => "best",
            Self::MultiFluid => "multi-fluid",
            Self::Cubic => "cubic",
        }
    }
}

impl core::str::FromStr for ModelChoice {
    type Err = Error;

    /// Error 104 for another word than those of [`ModelChoice::name`].
    fn from_str(word: &str) -> Result<Self> {
        let found = Self::ALL.iter().find(|choice| choice.name() == word);
        found.copied().ok_or_else(|| Error::Argument {
            argument: "model".to_owned(),
            expected: "\"best\", \"multi-fluid\" or \"cubic\"",
            got: format!("\"{word}\""),
        })
    }
}

/// Which equation a system follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    MultiFluid,
    Cubic,
}

/// One substance of a system.
#[derive(Debug)]
pub(crate) struct Component {
    pub(super) record: &'static FluidRecord,
    /// Its reference equation, where it has one.
    pub(super) substance: Option<Arc<Substance>>,
    /// Molar mass M in kg/mol.
    pub(super) molar_mass: f64,
    /// Molar mass times `MOLAR_GAS_CONSTANT / R`, by which R/M stays that of its reference equation, see
    /// [`crate::eos::mixture`].
    pub(super) model_molar_mass: f64,
    pub(super) ideal: IdealGas,
    /// Critical molar volume in m3/mol, at the one gas constant.
    pub(super) critical_volume: f64,
}

impl Component {
    pub(in crate::state) fn new(
        record: &'static FluidRecord,
        substance: Option<Arc<Substance>>,
    ) -> Result<Self> {
        if let Some(substance) = substance {
            if substance.is_pseudo_pure() {
                return Err(missing(
                    &record.name,
                    "its equation takes a mixture for one substance, and cannot be mixed further",
                ));
            }
            return Ok(Self::of_reference(record, substance));
        }
        let cubic = record
            .cubic
            .as_ref()
            .ok_or_else(|| missing(&record.name, "an equation of state"))?;
        let ideal_gas = record.ideal_gas.as_ref();
        let ideal_gas =
            ideal_gas.ok_or_else(|| missing(&record.name, "the heat capacity of its ideal gas"))?;
        Ok(Self {
            record,
            substance: None,
            molar_mass: ideal_gas.molar_mass,
            model_molar_mass: ideal_gas.molar_mass,
            ideal: IdealGas::of_cubic(ideal_gas, cubic),
            critical_volume: CRITICAL_FACTOR * MOLAR_GAS_CONSTANT * cubic.critical_temperature
                / cubic.critical_pressure
                - cubic.translation,
        })
    }

    /// Molar mass M in kg/mol.
    pub(in crate::state) fn molar_mass(&self) -> f64 {
        self.molar_mass
    }

    /// Temperature in K down to which the substance counts in mixtures: the lowest of its equation, or, where its solid is
    /// known and tells where it freezes out, a share of the triple temperature at which the vapour over it is thin.
    pub(super) fn lowest(&self, range: &Range) -> f64 {
        let solid = self
            .substance
            .as_ref()
            .and_then(|substance| substance.solid());
        let over_solid = solid.map(|solid| OVER_SOLID * solid.triple_point().temperature);
        over_solid
            .unwrap_or(range.temperature_min)
            .min(range.temperature_min)
    }

    fn of_reference(record: &'static FluidRecord, substance: Arc<Substance>) -> Self {
        let equation: &EquationOfState = substance.equation();
        let ratio = MOLAR_GAS_CONSTANT / equation.gas_constant;
        Self {
            record,
            molar_mass: equation.molar_mass,
            model_molar_mass: equation.molar_mass * ratio,
            ideal: IdealGas::of_reference(equation),
            critical_volume: ratio / equation.critical_point.molar_density,
            substance: Some(substance),
        }
    }
}

/// Share of the triple temperature down to which a substance whose solid is known takes part in mixtures.
const OVER_SOLID: f64 = 0.8;
/// Critical compression factor of the cubic equation of Peng and Robinson.
const CRITICAL_FACTOR: f64 = 0.307_401_308_698_703;

fn missing(fluid: &str, need: &'static str) -> Error {
    Error::MissingModel {
        property: Quantity::Density,
        fluid: fluid.to_owned(),
        need,
    }
}

/// Two substances of a system.
#[derive(Debug)]
pub(crate) struct PairOf {
    pub(super) first: usize,
    pub(super) second: usize,
    /// Turned so that its first substance is that of the smaller index.
    record: BinaryRecord,
}

impl PairOf {
    /// Name of the parameters that a kind of equation uses, and their source.
    fn parameters(&self, kind: Kind) -> Option<(&str, String)> {
        match kind {
            Kind::MultiFluid => {
                let record = self.record.multi_fluid.as_ref()?;
                Some((&record.name, record.source.to_string()))
            }
            Kind::Cubic => {
                let record = self.record.cubic.as_ref()?;
                Some((&record.name, record.source.to_string()))
            }
        }
    }

    pub(super) fn evidence(&self, kind: Kind) -> Option<&EvidenceRecord> {
        match kind {
            Kind::MultiFluid => self.record.multi_fluid.as_ref()?.evidence.as_ref(),
            Kind::Cubic => self.record.cubic.as_ref()?.evidence.as_ref(),
        }
    }

    /// Highest pressure in Pa at which the parameters of a kind of equation are trusted, where they say so.
    pub(super) fn pressure_max(&self, kind: Kind) -> Option<f64> {
        match kind {
            Kind::MultiFluid => self.record.multi_fluid.as_ref()?.pressure_max(),
            Kind::Cubic => None,
        }
    }

    pub(super) fn name(&self) -> String {
        let [first, second] = &self.record.substances;
        format!("{first} + {second}")
    }
}

/// A set of substances with the equation of their mixtures.
#[derive(Debug)]
pub(crate) struct System {
    pub(super) kind: Kind,
    /// Why the better model that was wanted is not the one that answers.
    pub(super) stands_in: Option<StandsIn>,
    pub(super) name: String,
    /// Name of the model with its pair parameters.
    pub(super) model_name: String,
    pub(super) components: Vec<Component>,
    pub(super) pairs: Vec<PairOf>,
    pub(super) model: Box<dyn MixtureModel>,
}

impl System {
    /// The model of some substances; error 202 that names the substance or the pair without parameters.
    pub(in crate::state) fn new(components: Vec<Component>, choice: ModelChoice) -> Result<Self> {
        let pairs = pairs_of(&components)?;
        let (kind, stands_in) = kind_of(&components, &pairs, choice)?;
        let names: Vec<&str> = components.iter().map(|c| c.record.name.as_str()).collect();
        let model_name = model_name(kind, &components, &pairs);
        let model: Box<dyn MixtureModel> = match kind {
            Kind::MultiFluid => Box::new(Remembering::new(multi_fluid(
                &model_name,
                &components,
                &pairs,
            )?)),
            Kind::Cubic => Box::new(Remembering::new(cubic(&model_name, &components, &pairs)?)),
        };
        Ok(Self {
            kind,
            stands_in,
            name: names.join(" + "),
            model_name,
            components,
            pairs,
            model,
        })
    }

    /// A text with everything that the numbers of the system depend on.
    pub(super) fn fingerprint(&self) -> String {
        let records: Vec<&FluidRecord> = self.components.iter().map(|c| c.record).collect();
        let pairs: Vec<&BinaryRecord> = self.pairs.iter().map(|pair| &pair.record).collect();
        format!("{:?} {records:?} {pairs:?}", self.kind)
    }

    /// Sources of the equations of the substances and of the parameters of the pairs, each after its name where there are
    /// several.
    pub(super) fn sources(&self) -> String {
        let substances = self.components.iter().filter_map(|component| {
            let record = component.record;
            let source = match self.kind {
                Kind::MultiFluid => &record.equation_of_state.as_ref()?.source,
                Kind::Cubic => &record.cubic.as_ref()?.source,
            };
            Some(if self.components.len() == 1 {
                source.to_string()
            } else {
                format!("{}: {source}", record.name)
            })
        });
        let pairs = self.pairs.iter().filter_map(|pair| {
            let (_, source) = pair.parameters(self.kind)?;
            Some(format!("{}: {source}", pair.name()))
        });
        let all: Vec<String> = substances.chain(pairs).collect();
        all.join("; ")
    }
}

fn pairs_of(components: &[Component]) -> Result<Vec<PairOf>> {
    let mut pairs = Vec::new();
    for (second, two) in components.iter().enumerate() {
        for (first, one) in components.iter().enumerate().take(second) {
            let names = (&one.record.name, &two.record.name);
            if names.0 == names.1 {
                return Err(Error::Argument {
                    argument: "substances".to_owned(),
                    expected: "each substance once",
                    got: format!("{} twice", names.0),
                });
            }
            let found = binary::find(names.0, names.1)?;
            let record = found.ok_or_else(|| {
                missing(
                    &format!("{} + {}", names.0, names.1),
                    "parameters of the pair from measurements, and none are known",
                )
            })?;
            pairs.push(PairOf {
                first,
                second,
                record: record.into_owned(),
            });
        }
    }
    Ok(pairs)
}

/// Why the cubic equation stands in for the multi-fluid one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum StandsIn {
    /// A substance or a pair has no parameters in the multi-fluid equation.
    NoParameters,
    /// The substances are among [`PARTS_TOO_EARLY`].
    PartsTooEarly,
}

/// Mixtures of which the multi-fluid equation, with all pairs fitted, shows a second liquid where the cubic equation and PC-SAFT with
/// pairs fitted to the same measurements, and the practice of the trade (no source), know one phase: at 40 degC and 15 MPa with 5 %
/// of water by volume in the alcohol.
const PARTS_TOO_EARLY: &[[&str; 3]] = &[
    ["carbon dioxide", "methanol", "water"],
    ["carbon dioxide", "ethanol", "water"],
];

fn parts_too_early(components: &[Component]) -> bool {
    let has = |name: &&str| components.iter().any(|one| one.record.name == **name);
    PARTS_TOO_EARLY.iter().any(|set| set.iter().all(has))
}

/// The equation to use, and why it stands in for a better one, if it does.
fn kind_of(
    components: &[Component],
    pairs: &[PairOf],
    choice: ModelChoice,
) -> Result<(Kind, Option<StandsIn>)> {
    let lacks = |kind: Kind| -> Option<Error> {
        let substance = components.iter().find(|component| match kind {
            Kind::MultiFluid => component.record.equation_of_state.is_none(),
            Kind::Cubic => component.record.cubic.is_none(),
        });
        if let Some(component) = substance {
            let need = match kind {
                Kind::MultiFluid => "a reference equation of state for the multi-fluid equation",
                Kind::Cubic => "constants in the cubic equation",
            };
            return Some(missing(&component.record.name, need));
        }
        let pair = pairs.iter().find(|pair| pair.parameters(kind).is_none())?;
        let need = match kind {
            Kind::MultiFluid => "parameters of the pair in the multi-fluid equation",
            Kind::Cubic => "parameters of the pair in the cubic equation",
        };
        Some(missing(&pair.name(), need))
    };
    match choice {
        ModelChoice::MultiFluid => {
            lacks(Kind::MultiFluid).map_or(Ok((Kind::MultiFluid, None)), Err)
        }
        ModelChoice::Cubic => lacks(Kind::Cubic).map_or(Ok((Kind::Cubic, None)), Err),
        ModelChoice::Best => match (lacks(Kind::MultiFluid), lacks(Kind::Cubic)) {
            (None, None) if parts_too_early(components) => {
                Ok((Kind::Cubic, Some(StandsIn::PartsTooEarly)))
            }
            (None, _) => Ok((Kind::MultiFluid, None)),
            (Some(_), None) => Ok((Kind::Cubic, Some(StandsIn::NoParameters))),
            (Some(_), Some(error)) => Err(error),
        },
    }
}

fn model_name(kind: Kind, components: &[Component], pairs: &[PairOf]) -> String {
    let equation = match kind {
        Kind::MultiFluid => "multi-fluid Helmholtz energy (Kunz and Wagner 2012)".to_owned(),
        Kind::Cubic => {
            let only = components.first().filter(|_| components.len() == 1);
            let name = only.and_then(|component| component.record.cubic.as_ref());
            name.map_or_else(
                || "translated cubic equation (Peng and Robinson 1976)".to_owned(),
                |record| record.name.clone(),
            )
        }
    };
    let parameters = pairs.iter().filter_map(|pair| {
        let (name, _) = pair.parameters(kind)?;
        Some(format!("; {}: {name}", pair.name()))
    });
    parameters.fold(equation, |text, pair| text + &pair)
}

const INCONSISTENT: Error = Error::Internal {
    place: "the model of a mixture",
};

/// The pair of two indices, the first the smaller.
fn pair(pairs: &[PairOf], first: usize, second: usize) -> Option<&PairOf> {
    pairs
        .iter()
        .find(|pair| pair.first == first && pair.second == second)
}

fn multi_fluid(name: &str, components: &[Component], pairs: &[PairOf]) -> Result<MultiFluid> {
    let equations: Vec<&EquationOfState> = components
        .iter()
        .map(|component| component.record.reference_equation())
        .collect::<Result<_>>()?;
    let records = pairs.iter().map(|pair| pair.record.multi_fluid.as_ref());
    let smooth = records.flatten().any(|record| record.smooth);
    let mut known = Vec::new();
    for second in 0..components.len() {
        for first in 0..second {
            let record = pair(pairs, first, second).and_then(|p| p.record.multi_fluid.as_ref());
            known.push((first, second, record.ok_or(INCONSISTENT)?));
        }
    }
    let Some((_, _, any)) = known.first() else {
        return Err(INCONSISTENT);
    };
    Ok(MultiFluid::new(
        name,
        &equations,
        smooth,
        |first, second| {
            let found = known.iter().find(|(i, j, _)| *i == first && *j == second);
            let record = found.map_or(any, |(_, _, record)| record);
            PairTerms::from(*record)
        },
    ))
}

fn cubic(name: &str, components: &[Component], pairs: &[PairOf]) -> Result<Cubic> {
    let substances = components
        .iter()
        .map(|component| {
            let record = component.record.cubic.as_ref().ok_or(INCONSISTENT)?;
            Ok(CubicSubstance::new(component.record.name.clone(), record))
        })
        .collect::<Result<_>>()?;
    Ok(Cubic::new(name, substances, |first, second| {
        let record = pair(pairs, first, second).and_then(|p| p.record.cubic.as_ref());
        record.map_or_else(Interaction::default, |record| Interaction {
            k_0: record.k_0,
            k_1: record.k_1,
            l: record.l,
        })
    }))
}
