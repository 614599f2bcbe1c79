//! Pumps that feed one mobile phase: what their set volume flows make together, and the flows to set for what is wanted.

use fluid::error::{finite, fraction, positive};
use fluid::fluids::Composition;
use fluid::{Error, Fluid, ModelChoice, Quantity, Result, State};

use crate::fluid;

mod budget;

pub use budget::{FractionBudget, PumpShare, PumpUncertainty};

/// What one pump delivers: a volume flow, counted at the temperature and pressure of its head.
///
/// ```
/// use densepath::{Fluid, hardware::Feed};
/// let pump = Feed { fluid: Fluid::new("carbon dioxide")?, volume_flow_rate: 45e-9, temperature: 278.15, pressure: 150e5 };
/// assert!((pump.volume_flow_rate * 60e6 - 2.7).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Feed {
    /// The substance or the mixture that is pumped.
    pub fluid: Fluid,
    /// Volume flow rate q_V set, in m3/s.
    pub volume_flow_rate: f64,
    /// Temperature T in K at which the volume is counted.
    pub temperature: f64,
    /// Pressure p in Pa at which the volume is counted.
    pub pressure: f64,
}

/// What pumps deliver together.
///
/// *Valid* for pumps that lose nothing. *Source*: `q_m = sum q_V,i rho_i`, each density at the state where the volume of its
/// pump is counted. *Uncertainty*: that of the pure densities, and the losses of the pumps.
///
/// ```
/// # use densepath::{Fluid, hardware::{Feed, blend}};
/// # let feed = |name: &str, flow: f64| {
/// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
/// # };
/// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
/// let blend = blend(&feeds)?;
/// // The flows of the pumps make up the whole.
/// assert!((blend.feed_mass_flow_rates.iter().sum::<f64>() / blend.mass_flow_rate - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Blend {
    /// Names of the substances, in the order in which they are first fed.
    pub substances: Vec<&'static str>,
    /// Fractions of the substances.
    pub composition: Composition,
    /// Mass flow rate q_m of all pumps in kg/s.
    pub mass_flow_rate: f64,
    /// Mass flow rate of each pump in kg/s.
    pub feed_mass_flow_rates: Vec<f64>,
    feeds: Vec<Fed>,
}

/// One feed with its state and the place of its substances in the blend.
#[derive(Debug, Clone)]
struct Fed {
    state: State,
    mass_flow_rate: f64,
    places: Vec<usize>,
}

/// How the blend answers to one pump.
///
/// ```
/// # use densepath::{Fluid, hardware::{Feed, blend}};
/// # let feed = |name: &str, flow: f64| {
/// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
/// # };
/// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
/// // A warmer head of carbon dioxide feeds less of it, so the share of methanol rises.
/// let answer = &blend(&feeds)?.sensitivities()?[0];
/// assert!(answer.mass_fractions_by_temperature[1] > 0.0 && answer.mass_flow_rate_by_temperature < 0.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct BlendSensitivity {
    /// Change of each amount fraction with the temperature of the head in 1/K.
    pub amount_fractions_by_temperature: Vec<f64>,
    /// Change of each amount fraction with the pressure in the head in 1/Pa.
    pub amount_fractions_by_pressure: Vec<f64>,
    /// Change of each mass fraction with the temperature of the head in 1/K.
    pub mass_fractions_by_temperature: Vec<f64>,
    /// Change of each mass fraction with the pressure in the head in 1/Pa.
    pub mass_fractions_by_pressure: Vec<f64>,
    /// Change of the whole mass flow rate with the temperature of the head in kg/(s K).
    pub mass_flow_rate_by_temperature: f64,
    /// Change of the whole mass flow rate with the pressure in the head in kg/(s Pa).
    pub mass_flow_rate_by_pressure: f64,
}

/// The blend of some feeds. Error 104 without any, 101 for a flow not above zero, and the errors of their states.
///
/// ```
/// use densepath::hardware::{Feed, blend};
/// use densepath::Fluid;
/// let feed = |name: &str, volume_flow_rate, temperature| -> densepath::Result<Feed> {
///     Ok(Feed { fluid: Fluid::new(name)?, volume_flow_rate, temperature, pressure: 15e6 })
/// };
/// let made = blend(&[feed("carbon dioxide", 4e-8, 278.15)?, feed("methanol", 1e-8, 295.15)?])?;
/// assert!((made.composition.mass_fractions()[1] - 0.170321).abs() < 1e-5);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn blend(feeds: &[Feed]) -> Result<Blend> {
    let mut substances: Vec<&'static str> = Vec::new();
    let mut molar_masses = Vec::new();
    let mut fed = Vec::with_capacity(feeds.len());
    for feed in feeds {
        positive(Quantity::VolumeFlowRate, feed.volume_flow_rate)?;
        let state = State::from_tp(&feed.fluid, feed.temperature, feed.pressure)?;
        let own = feed.fluid.composition().molar_masses();
        let mut places = Vec::with_capacity(own.len());
        for (name, molar_mass) in feed.fluid.substances().into_iter().zip(own) {
            let known = substances.iter().position(|other| *other == name);
            places.push(known.unwrap_or_else(|| {
                substances.push(name);
                molar_masses.push(*molar_mass);
                substances.len() - 1
            }));
        }
        fed.push(Fed {
            mass_flow_rate: feed.volume_flow_rate * state.density(),
            state,
            places,
        });
    }
    let mut masses = vec![0.0; substances.len()];
    for feed in &fed {
        feed.add_to(&mut masses, Feed::mass_flows);
    }
    let mass_flow_rate: f64 = masses.iter().sum();
    let fractions: Vec<f64> = masses.iter().map(|mass| mass / mass_flow_rate).collect();
    Ok(Blend {
        composition: Composition::from_mass_fractions(&fractions, &molar_masses)?,
        substances,
        mass_flow_rate,
        feed_mass_flow_rates: fed.iter().map(|feed| feed.mass_flow_rate).collect(),
        feeds: fed,
    })
}

impl Feed {
    /// Mass flow rates in kg/s of the substances of a feed of one mass flow rate.
    fn mass_flows(state: &State, mass_flow_rate: f64) -> Vec<f64> {
        let fractions = state.fluid().mass_fractions().iter();
        fractions.map(|w| w * mass_flow_rate).collect()
    }

    /// Amount flow rates in mol/s of the substances.
    fn amount_flows(state: &State, mass_flow_rate: f64) -> Vec<f64> {
        let composition = state.fluid().composition();
        let amount = mass_flow_rate / composition.molar_mass();
        let fractions = composition.amount_fractions().iter();
        fractions.map(|x| x * amount).collect()
    }
}

impl Fed {
    fn add_to(&self, sums: &mut [f64], of: fn(&State, f64) -> Vec<f64>) {
        for (place, flow) in self.places.iter().zip(of(&self.state, self.mass_flow_rate)) {
            if let Some(sum) = sums.get_mut(*place) {
                *sum += flow;
            }
        }
    }
}

impl Blend {
    /// The mobile phase, with the best model of its mixture; error 202 names a pair without parameters.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{Feed, blend}};
    /// # let feed = |name: &str, flow: f64| {
    /// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
    /// # };
    /// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
    /// let blend = blend(&feeds)?;
    /// assert_eq!(blend.fluid()?.amount_fractions().len(), 2);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn fluid(&self) -> Result<Fluid> {
        self.fluid_with_model(ModelChoice::Best)
    }

    /// As [`Blend::fluid`], with the model wanted.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{Feed, blend}};
    /// # let feed = |name: &str, flow: f64| {
    /// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
    /// # };
    /// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
    /// use densepath::ModelChoice;
    /// assert_eq!(blend(&feeds)?.fluid_with_model(ModelChoice::Cubic)?.substances(), ["carbon dioxide", "methanol"]);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn fluid_with_model(&self, choice: ModelChoice) -> Result<Fluid> {
        let fractions = self.composition.amount_fractions().iter().copied();
        let parts: Vec<(&str, f64)> = self.substances.iter().copied().zip(fractions).collect();
        Fluid::mixture_with_model(&parts, choice)
    }

    /// Volume flow rate in m3/s at a temperature T in K and a pressure p in Pa if the volumes of the feeds were additive.
    ///
    /// *Uncertainty*: carbon dioxide and alcohols contract by several per cent where they mix; the density of the mixture
    /// itself tells by how much.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{Feed, blend}};
    /// # let feed = |name: &str, flow: f64| {
    /// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
    /// # };
    /// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
    /// // Counted where the pumps count, additive volumes are those that were set.
    /// let volume = blend(&feeds)?.additive_volume_flow_rate(278.15, 150e5)?;
    /// assert!((volume / 50e-9 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn additive_volume_flow_rate(&self, temperature: f64, pressure: f64) -> Result<f64> {
        self.feeds.iter().try_fold(0.0, |sum, feed| {
            let state = State::from_tp(feed.state.fluid(), temperature, pressure)?;
            Ok(sum + feed.mass_flow_rate / state.density())
        })
    }

    /// How the blend answers to the temperature and the pressure in the head of each pump, by `d ln rho/dT = -alpha_V` and
    /// `d ln rho/dp = kappa_T`.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{Feed, blend}};
    /// # let feed = |name: &str, flow: f64| {
    /// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
    /// # };
    /// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
    /// let answers = blend(&feeds)?.sensitivities()?;
    /// // What one fraction gains the other loses.
    /// for answer in &answers {
    ///     assert!(answer.mass_fractions_by_temperature.iter().sum::<f64>().abs() < 1e-12);
    /// }
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn sensitivities(&self) -> Result<Vec<BlendSensitivity>> {
        self.feeds
            .iter()
            .map(|feed| self.sensitivity(feed))
            .collect()
    }

    fn sensitivity(&self, feed: &Fed) -> Result<BlendSensitivity> {
        let by_temperature = -feed.state.isobaric_expansivity()?;
        let by_pressure = feed.state.isothermal_compressibility()?;
        // Changes of the fractions with the logarithm of the mass flow rate of the feed.
        let change = |fractions: &[f64], whole: f64, of: fn(&State, f64) -> Vec<f64>| {
            let mut own = vec![0.0; fractions.len()];
            feed.add_to(&mut own, of);
            let sum: f64 = own.iter().sum();
            let pairs = own.into_iter().zip(fractions);
            let changes = pairs.map(|(flow, x)| (flow - x * sum) / whole);
            changes.collect::<Vec<f64>>()
        };
        let composition = &self.composition;
        let amount_flow_rate = self.mass_flow_rate / composition.molar_mass();
        let amounts = change(
            composition.amount_fractions(),
            amount_flow_rate,
            Feed::amount_flows,
        );
        let masses = change(
            composition.mass_fractions(),
            self.mass_flow_rate,
            Feed::mass_flows,
        );
        let times = |changes: &[f64], slope: f64| changes.iter().map(|c| c * slope).collect();
        Ok(BlendSensitivity {
            amount_fractions_by_temperature: times(&amounts, by_temperature),
            amount_fractions_by_pressure: times(&amounts, by_pressure),
            mass_fractions_by_temperature: times(&masses, by_temperature),
            mass_fractions_by_pressure: times(&masses, by_pressure),
            mass_flow_rate_by_temperature: feed.mass_flow_rate * by_temperature,
            mass_flow_rate_by_pressure: feed.mass_flow_rate * by_pressure,
        })
    }

    /// The additive that one feed, counted from 0, carries.
    ///
    /// Its volume is taken as part of that of the feed, and it is left out of the composition. Error 104 for a feed that does
    /// not exist.
    ///
    /// ```
    /// # use densepath::{Fluid, hardware::{Feed, blend}};
    /// # let feed = |name: &str, flow: f64| {
    /// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
    /// # };
    /// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
    /// use densepath::hardware::Additive;
    /// // 20 mmol/L in the methanol, made up where it is pumped: 20 mol/m3 times 5e-9 m3/s.
    /// let buffer = Additive { concentration: 20.0, temperature: 278.15, pressure: 150e5 };
    /// assert!((blend(&feeds)?.additive(1, &buffer)?.flow_rate / 1e-7 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn additive(&self, feed: usize, additive: &Additive) -> Result<AdditiveFlow> {
        let carrier = self.feeds.get(feed).ok_or_else(|| Error::Argument {
            argument: "feed".to_owned(),
            expected: "the place of a feed, counted from 0",
            got: format!("{feed} of {} feeds", self.feeds.len()),
        })?;
        let concentration = positive(Quantity::Ratio, additive.concentration)?;
        let (temperature, pressure) = (additive.temperature, additive.pressure);
        let made_up = State::from_tp(carrier.state.fluid(), temperature, pressure)?;
        let volume_flow_rate = carrier.mass_flow_rate / made_up.density();
        let flow_rate = concentration * volume_flow_rate;
        Ok(AdditiveFlow {
            flow_rate,
            content: flow_rate / self.mass_flow_rate,
        })
    }
}

/// An additive dissolved in a feed.
///
/// ```
/// use densepath::hardware::Additive;
/// # use densepath::{Fluid, hardware::{Feed, blend}};
/// # let feed = |name: &str, flow: f64| {
/// #     Ok::<Feed, densepath::Error>(Feed { fluid: Fluid::new(name)?, volume_flow_rate: flow, temperature: 278.15, pressure: 150e5 })
/// # };
/// # let feeds = [feed("carbon dioxide", 45e-9)?, feed("methanol", 5e-9)?];
/// // 20 mmol/L made up on the bench are more where the cold head under pressure holds more of it in its volume.
/// let buffer = Additive { concentration: 20.0, temperature: 293.15, pressure: 101_325.0 };
/// assert!(blend(&feeds)?.additive(1, &buffer)?.flow_rate > 20.0 * 5e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Additive {
    /// Its concentration where the solution was made up, in mol/m3 or in kg/m3.
    pub concentration: f64,
    /// Temperature in K at which the solution was made up.
    pub temperature: f64,
    /// Pressure in Pa at which the solution was made up.
    pub pressure: f64,
}

impl Additive {
    /// Amount concentration in mol/m3 of a liquid additive told by its volume fraction in the solution, its own density in
    /// kg/m3 and its molar mass in kg/mol.
    ///
    /// ```
    /// use densepath::hardware::Additive;
    /// // 0.1 % by volume of trifluoroacetic acid, 1489 kg/m3 and 114.02 g/mol: 13 mmol/L.
    /// assert!((Additive::amount_concentration(1e-3, 1489.0, 0.11402)? - 13.06).abs() < 0.01);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn amount_concentration(
        volume_fraction: f64,
        density: f64,
        molar_mass: f64,
    ) -> Result<f64> {
        let share = fraction(Quantity::VolumeFraction, volume_fraction)?;
        let density = positive(Quantity::Density, density)?;
        Ok(share * density / positive(Quantity::MolarMass, molar_mass)?)
    }
}

/// What of an additive is in a blend: in mol where its concentration is given in mol/m3, in kg where in kg/m3.
///
/// ```
/// use densepath::hardware::AdditiveFlow;
/// let flow = AdditiveFlow { flow_rate: 1e-7, content: 2e-3 };
/// assert!((flow.residue(0.0631, 3600.0)? - 1e-7 * 3600.0 * 0.0631).abs() < 1e-15);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdditiveFlow {
    /// Flow rate in mol/s or kg/s.
    pub flow_rate: f64,
    /// Content of the blend in mol/kg or kg/kg.
    pub content: f64,
}

impl AdditiveFlow {
    /// Mass in kg that is left in a time in s when all else has evaporated, of an additive that does not evaporate; with its molar mass
    /// in kg/mol where its concentration is told in mol/m3, else 1.
    ///
    /// Errors: 101 for an argument not above zero.
    ///
    /// ```
    /// use densepath::hardware::AdditiveFlow;
    /// // 0.1 umol/s of a salt of 100 g/mol leave 36 mg in an hour.
    /// let flow = AdditiveFlow { flow_rate: 1e-7, content: 2e-3 };
    /// assert!((flow.residue(0.1, 3600.0)? - 36e-6).abs() < 1e-15);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn residue(&self, molar_mass: f64, time: f64) -> Result<f64> {
        positive(Quantity::MolarMass, molar_mass)?;
        Ok(self.flow_rate * molar_mass * positive(Quantity::Time, time)?)
    }
}

/// In what fractions of the feeds are told.
///
/// ```
/// use densepath::{Fluid, hardware::{BlendBasis, Head, WholeFlow, feeds_for}};
/// let head = |name| Ok::<Head, densepath::Error>(Head { fluid: Fluid::new(name)?, temperature: 278.15, pressure: 150e5 });
/// let feeds = feeds_for(&[head("carbon dioxide")?, head("methanol")?], &[0.9, 0.1], BlendBasis::Volume, WholeFlow::Volume(50e-9))?;
/// // By volume the set flows are the fractions themselves.
/// assert!((feeds[1].volume_flow_rate / 5e-9 - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum BlendBasis {
    /// Shares of the mass.
    Mass,
    /// Shares of the amount of substance.
    Amount,
    /// Shares of the set volumes, each counted at its own pump.
    Volume,
}

/// The whole flow wanted.
///
/// ```
/// use densepath::{Fluid, hardware::{BlendBasis, Head, WholeFlow, feeds_for}};
/// let head = |name| Ok::<Head, densepath::Error>(Head { fluid: Fluid::new(name)?, temperature: 278.15, pressure: 150e5 });
/// let feeds = feeds_for(&[head("carbon dioxide")?, head("methanol")?], &[0.9, 0.1], BlendBasis::Volume, WholeFlow::Volume(50e-9))?;
/// assert!((feeds.iter().map(|feed| feed.volume_flow_rate).sum::<f64>() / 50e-9 - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WholeFlow {
    /// A mass flow rate in kg/s.
    Mass(f64),
    /// The sum of the set volume flow rates in m3/s.
    Volume(f64),
}

/// A pump before its flow is known: what it feeds, and where its volume is counted.
///
/// ```
/// use densepath::{Fluid, hardware::Head};
/// use densepath::hardware::{BlendBasis, WholeFlow, feeds_for};
/// let head = Head { fluid: Fluid::new("methanol")?, temperature: 293.15, pressure: 150e5 };
/// // One pump alone delivers all.
/// let feeds = feeds_for(&[head], &[1.0], BlendBasis::Mass, WholeFlow::Volume(5e-9))?;
/// assert!((feeds[0].volume_flow_rate / 5e-9 - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Head {
    /// The substance or the mixture that is pumped.
    pub fluid: Fluid,
    /// Temperature T in K at which the volume is counted.
    pub temperature: f64,
    /// Pressure p in Pa at which the volume is counted.
    pub pressure: f64,
}

/// The feeds whose volume flows make a blend of wanted fractions and flow.
///
/// Fractions are those of the feeds, one for each head, above zero; they must sum to 1. Error 103 for fractions that do not,
/// 104 for another number of them than of heads.
///
/// ```
/// use densepath::{Fluid, hardware::{BlendBasis, Head, WholeFlow, blend, feeds_for}};
/// let head = |name| Ok::<Head, densepath::Error>(Head { fluid: Fluid::new(name)?, temperature: 278.15, pressure: 150e5 });
/// let feeds = feeds_for(&[head("carbon dioxide")?, head("methanol")?], &[0.9, 0.1], BlendBasis::Mass, WholeFlow::Mass(5e-5))?;
/// // What is set blends to what was wanted.
/// let found = blend(&feeds)?;
/// assert!((found.mass_flow_rate / 5e-5 - 1.0).abs() < 1e-12);
/// assert!((found.composition.mass_fractions()[1] - 0.1).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn feeds_for(
    heads: &[Head],
    fractions: &[f64],
    basis: BlendBasis,
    flow: WholeFlow,
) -> Result<Vec<Feed>> {
    let molar_masses: Vec<f64> = heads.iter().map(|head| head.fluid.molar_mass()).collect();
    let fractions = Composition::from_amount_fractions(fractions, &molar_masses)?;
    let mut masses = Vec::with_capacity(heads.len());
    for (head, share) in heads.iter().zip(fractions.amount_fractions()) {
        let density = State::from_tp(&head.fluid, head.temperature, head.pressure)?.density();
        let mass = match basis {
            BlendBasis::Mass => *share,
            BlendBasis::Amount => share * head.fluid.molar_mass(),
            BlendBasis::Volume => share * density,
        };
        masses.push((mass, density));
    }
    let (whole, unit): (f64, f64) = match flow {
        WholeFlow::Mass(rate) => (
            positive(Quantity::MassFlowRate, rate)?,
            masses.iter().map(|(mass, _)| mass).sum(),
        ),
        WholeFlow::Volume(rate) => (
            positive(Quantity::VolumeFlowRate, rate)?,
            masses.iter().map(|(mass, density)| mass / density).sum(),
        ),
    };
    let scale = finite(Quantity::Ratio, whole / unit)?;
    let pairs = heads.iter().zip(masses);
    Ok(pairs
        .map(|(head, (mass, density))| Feed {
            fluid: head.fluid.clone(),
            volume_flow_rate: scale * mass / density,
            temperature: head.temperature,
            pressure: head.pressure,
        })
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::close;

    fn head(name: &str, temperature: f64) -> Head {
        Head {
            fluid: Fluid::new(name).unwrap(),
            temperature,
            pressure: 15e6,
        }
    }

    fn heads() -> Vec<Head> {
        vec![head("carbon dioxide", 278.15), head("methanol", 295.15)]
    }

    #[test]
    fn the_flows_that_are_asked_for_give_what_was_wanted() {
        let wanted = [0.93, 0.07];
        for basis in [BlendBasis::Mass, BlendBasis::Amount, BlendBasis::Volume] {
            for flow in [WholeFlow::Mass(5e-5), WholeFlow::Volume(5e-8)] {
                let feeds = feeds_for(&heads(), &wanted, basis, flow).unwrap();
                let made = blend(&feeds).unwrap();
                let volume: f64 = feeds.iter().map(|feed| feed.volume_flow_rate).sum();
                let found = match basis {
                    BlendBasis::Mass => made.composition.mass_fractions()[1],
                    BlendBasis::Amount => made.composition.amount_fractions()[1],
                    BlendBasis::Volume => feeds[1].volume_flow_rate / volume,
                };
                assert!(close(found, wanted[1], 1e-13), "{basis:?}: {found}");
                match flow {
                    WholeFlow::Mass(rate) => assert!(close(made.mass_flow_rate, rate, 1e-13)),
                    WholeFlow::Volume(rate) => assert!(close(volume, rate, 1e-13)),
                }
            }
        }
    }

    #[test]
    fn sensitivities_are_those_of_differences() {
        let fractions = [0.9, 0.1];
        let volume = WholeFlow::Volume(5e-8);
        let feeds = feeds_for(&heads(), &fractions, BlendBasis::Volume, volume).unwrap();
        let made = blend(&feeds).unwrap();
        let sensitivities = made.sensitivities().unwrap();
        for (index, sensitivity) in sensitivities.iter().enumerate() {
            let changed = |temperature: f64, pressure: f64| {
                let mut feeds = feeds.clone();
                feeds[index].temperature += temperature;
                feeds[index].pressure += pressure;
                blend(&feeds).unwrap()
            };
            let pairs = [
                (
                    1e-3,
                    0.0,
                    &sensitivity.amount_fractions_by_temperature,
                    &sensitivity.mass_fractions_by_temperature,
                    sensitivity.mass_flow_rate_by_temperature,
                ),
                (
                    0.0,
                    1e3,
                    &sensitivity.amount_fractions_by_pressure,
                    &sensitivity.mass_fractions_by_pressure,
                    sensitivity.mass_flow_rate_by_pressure,
                ),
            ];
            for (kelvin, pascal, amounts, masses, rate) in pairs {
                let (up, down) = (changed(kelvin, pascal), changed(-kelvin, -pascal));
                let step = 2.0 * (kelvin + pascal);
                for place in 0..2 {
                    let slope = |of: fn(&Composition) -> &[f64]| {
                        (of(&up.composition)[place] - of(&down.composition)[place]) / step
                    };
                    assert!(close(
                        slope(Composition::amount_fractions),
                        amounts[place],
                        1e-6
                    ));
                    assert!(close(
                        slope(Composition::mass_fractions),
                        masses[place],
                        1e-6
                    ));
                }
                let slope = (up.mass_flow_rate - down.mass_flow_rate) / step;
                assert!(close(slope, rate, 1e-6), "{slope} {rate}");
            }
        }
    }

    /// One substance from two pumps is one substance.
    #[test]
    fn feeds_of_one_substance_add_up() {
        let feed = |temperature| Feed {
            fluid: Fluid::new("carbon dioxide").unwrap(),
            volume_flow_rate: 1e-8,
            temperature,
            pressure: 15e6,
        };
        let made = blend(&[feed(278.15), feed(288.15)]).unwrap();
        assert_eq!(made.substances, ["carbon dioxide"]);
        assert_eq!(made.composition.amount_fractions(), [1.0]);
        assert!(made.fluid().unwrap() == Fluid::new("CO2").unwrap());
    }

    /// 0.1 % by volume of an acid of 1489 kg/m3 and 114.02 g/mol: 13.0591 mol/m3, by hand.
    #[test]
    fn an_additive_follows_its_solvent() {
        let concentration = Additive::amount_concentration(0.001, 1489.0, 0.11402).unwrap();
        assert!(close(concentration, 13.0591, 1e-5));
        let feeds = feeds_for(
            &heads(),
            &[0.8, 0.2],
            BlendBasis::Volume,
            WholeFlow::Volume(5e-8),
        );
        let feeds = feeds.unwrap();
        let made = blend(&feeds).unwrap();
        let additive = Additive {
            concentration,
            temperature: feeds[1].temperature,
            pressure: feeds[1].pressure,
        };
        let flow = made.additive(1, &additive).unwrap();
        assert!(close(flow.flow_rate, concentration * 1e-8, 1e-12));
        assert!(close(
            flow.content * made.mass_flow_rate,
            flow.flow_rate,
            1e-12
        ));
        assert_eq!(made.additive(2, &additive).unwrap_err().code(), 104);
    }

    #[test]
    fn bad_feeds_are_refused() {
        assert_eq!(blend(&[]).unwrap_err().code(), 104);
        let volume = WholeFlow::Volume(5e-8);
        let refused = feeds_for(&heads(), &[0.8, 0.1], BlendBasis::Mass, volume);
        assert_eq!(refused.unwrap_err().code(), 103);
        let refused = feeds_for(&heads(), &[1.0], BlendBasis::Mass, volume);
        assert_eq!(refused.unwrap_err().code(), 104);
    }
}
