//! The pump that joins the stream with a modifier from a reservoir of its own.

use std::sync::OnceLock;

use densepath_fluid::error::{Error, Result, positive};
use densepath_fluid::units::HOUR;
use densepath_fluid::{Fluid, ModelChoice, Quantity, State};

use super::blend::{Additive, Blend, Feed, blend};
use super::channel::one_phase;
use super::set_flow::{CountedAt, SetFlow};
use super::suction_line::require_liquid;
use super::{Element, Fact, Joining, Outlet, ReciprocatingPump, Stream, Surroundings};

/// A reciprocating pump that draws a liquid at the temperature and the pressure of the room and delivers it into the stream.
///
/// Its volume is counted at the temperature of its head: at "delivery" at the pressure of the stream that it joins, at
/// "suction" at that of the room. At suction it is the volume that the piston sweeps, of which the clearance holds back what
/// the compression takes: `q_m = q_V rho_1 (1 - c (rho_2/rho_1 - 1))`.
///
/// ```
/// use densepath::{Fluid, hardware::{CountedAt, ModifierPump, ReciprocatingPump, SetFlow}};
/// let pump = ReciprocatingPump::new(293.15, SetFlow::Volume(5e-9, CountedAt::Delivery))?;
/// assert_eq!(ModifierPump::new(Fluid::new("methanol")?, pump)?.fluid().name(), "methanol");
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct ModifierPump {
    fluid: Fluid,
    pump: ReciprocatingPump,
    model: ModelChoice,
    additive: Option<Dissolved>,
    /// The first mixture made: all others of its substances share what its system has learned.
    mixture: OnceLock<Fluid>,
}

/// What is dissolved in the liquid and left out of its composition.
#[derive(Debug, Clone)]
struct Dissolved {
    name: String,
    concentration: f64,
    molar_mass: Option<f64>,
}

/// The two streams made one.
struct Union {
    blend: Blend,
    state: State,
}

impl Union {
    fn into_stream(self) -> Stream {
        Stream {
            mass_flow_rate: self.blend.mass_flow_rate,
            state: self.state,
        }
    }
}

impl ModifierPump {
    /// A pump for a liquid, whose mixture with the stream follows the best model.
    ///
    /// Error 104 for a flow counted in the oven or as a gas, which mean nothing for a modifier.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{CountedAt, ModifierPump, ReciprocatingPump, SetFlow}};
    /// // A liquid is not counted as a gas.
    /// let pump = ReciprocatingPump::new(293.15, SetFlow::Volume(5e-9, CountedAt::Normal))?;
    /// assert_eq!(ModifierPump::new(Fluid::new("methanol")?, pump).unwrap_err().code(), 104);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn new(fluid: Fluid, pump: ReciprocatingPump) -> Result<Self> {
        if let SetFlow::Volume(_, counted_at @ (CountedAt::Oven | CountedAt::Normal)) =
            pump.set_flow()
        {
            return Err(Error::Argument {
                argument: "counted_at".to_owned(),
                expected: "\"delivery\" or \"suction\" for a modifier",
                got: format!("\"{}\"", counted_at.word()),
            });
        }
        Ok(Self {
            fluid,
            pump,
            model: ModelChoice::Best,
            additive: None,
            mixture: OnceLock::new(),
        })
    }

    /// The pump with another model of the mixture that it makes.
    ///
    /// ```
    /// use densepath::{ModelChoice, hardware::{ModifierPump, ReciprocatingPump, SetFlow}};
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
    /// let pump = ModifierPump::new(Fluid::new("methanol")?, ReciprocatingPump::new(293.15, SetFlow::Mass(5e-6))?)?;
    /// let outlet = pump.with_model(ModelChoice::Cubic).outlet(&stream, &room)?;
    /// assert_eq!(outlet.state.fluid().choice(), ModelChoice::Cubic);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    #[must_use]
    pub fn with_model(self, model: ModelChoice) -> Self {
        Self {
            model,
            mixture: OnceLock::new(),
            ..self
        }
    }

    /// The pump with something dissolved in its liquid: a name, its concentration in mol/m3 where the liquid is drawn, and its molar
    /// mass in kg/mol if what it leaves behind is to be told.
    ///
    /// *Valid*: for buffers and acids of at most some 50 mol/m3 (common practice, no source); it is left out of composition and density.
    /// Detectors behind it that work with light count its cut-off.
    ///
    /// Error 101 for a concentration or a molar mass not above zero.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{Element, ModifierPump, ReciprocatingPump, SetFlow}};
    /// let pump = ModifierPump::new(Fluid::new("methanol")?, ReciprocatingPump::new(293.15, SetFlow::Mass(5e-6))?)?;
    /// assert_eq!(pump.with_additive("ammonium formate", 20.0, Some(0.06306))?.additive(), Some("ammonium formate"));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_additive(
        self,
        name: impl Into<String>,
        concentration: f64,
        molar_mass: Option<f64>,
    ) -> Result<Self> {
        let molar_mass = molar_mass.map(|mass| positive(Quantity::MolarMass, mass));
        let additive = Dissolved {
            name: name.into(),
            concentration: positive(Quantity::MolarDensity, concentration)?,
            molar_mass: molar_mass.transpose()?,
        };
        Ok(Self {
            additive: Some(additive),
            ..self
        })
    }

    /// What it pumps.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{ModifierPump, ReciprocatingPump, SetFlow}};
    /// let pump = ModifierPump::new(Fluid::new("ethanol")?, ReciprocatingPump::new(293.15, SetFlow::Mass(5e-6))?)?;
    /// assert_eq!(pump.fluid().name(), "ethanol");
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn fluid(&self) -> &Fluid {
        &self.fluid
    }

    /// The pump itself.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{ModifierPump, ReciprocatingPump, SetFlow}};
    /// let pump = ModifierPump::new(Fluid::new("ethanol")?, ReciprocatingPump::new(293.15, SetFlow::Mass(5e-6))?)?;
    /// assert_eq!(pump.pump().set_flow(), SetFlow::Mass(5e-6));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn pump(&self) -> &ReciprocatingPump {
        &self.pump
    }

    /// The liquid in the head as it is drawn, at the pressure of the room in Pa. Error 504 if it is none.
    fn drawn(&self, room_pressure: f64) -> Result<State> {
        let drawn = State::from_tp(&self.fluid, self.pump.head_temperature(), room_pressure)?;
        require_liquid(&drawn)?;
        Ok(drawn)
    }

    /// What the pump delivers into a stream of a pressure in Pa, in a room of a pressure in Pa.
    ///
    /// *Uncertainty*: that of the density of the liquid, 0.1 to 1 %, and of the pump itself.
    /// *Source*: `q_m = q_V rho` at the state where the volume is counted.
    ///
    /// Error 504 if the liquid boils in the head, 503 if the stream is not above the pressure of the room.
    ///
    /// ```
    /// use densepath::{Fluid, State, hardware::{CountedAt, ModifierPump, ReciprocatingPump, SetFlow, blend}};
    /// let methanol = Fluid::new("methanol")?;
    /// let pump = ModifierPump::new(methanol.clone(), ReciprocatingPump::new(293.15, SetFlow::Volume(5e-9, CountedAt::Delivery))?)?;
    /// // q_V rho at the temperature of the head and the pressure of the stream.
    /// let flow = blend(&[pump.feed(150e5, 101_325.0)?])?.mass_flow_rate;
    /// assert!((flow / (5e-9 * State::from_tp(&methanol, 293.15, 150e5)?.density()) - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn feed(&self, stream_pressure: f64, room_pressure: f64) -> Result<Feed> {
        let drawn = self.drawn(room_pressure)?;
        let stroke = self.pump.stroke(&drawn, stream_pressure)?;
        let temperature = drawn.temperature();
        let (volume_flow_rate, pressure) = match self.pump.set_flow() {
            SetFlow::Mass(rate) => (rate / stroke.isothermal.density, stream_pressure),
            SetFlow::Volume(rate, CountedAt::Suction) => (
                rate * stroke.expected.volumetric_efficiency,
                drawn.pressure(),
            ),
            SetFlow::Volume(rate, _) => (rate, stream_pressure),
        };
        Ok(Feed {
            fluid: self.fluid.clone(),
            volume_flow_rate: volume_flow_rate * (1.0 - self.pump.leak_fraction()),
            temperature,
            pressure,
        })
    }

    /// The mixture of a blend; of one system for all blends of the substances that this pump has mixed first.
    fn mixture_of(&self, blend: &Blend) -> Result<Fluid> {
        let first = match self.mixture.get() {
            Some(first) if first.substances() == blend.substances => first,
            Some(_) => &blend.fluid_with_model(self.model)?,
            None => {
                let made = blend.fluid_with_model(self.model)?;
                self.mixture.get_or_init(|| made)
            }
        };
        first.with_amount_fractions(blend.composition.amount_fractions())
    }

    /// The stream with the feed in it: masses add, and the enthalpy of both is that of their mixture.
    ///
    /// The heat of mixing is in it. The enthalpies of both streams before are those of the model of the mixture, which differ
    /// from those of the reference equations where the cubic equation stands in.
    fn unite(&self, inlet: &Stream, feed: Feed) -> Result<Union> {
        let before = &inlet.state;
        let temperature = feed.temperature;
        let blend = blend(&[
            Feed {
                fluid: before.fluid().clone(),
                volume_flow_rate: inlet.volume_flow_rate(),
                temperature: before.temperature(),
                pressure: before.pressure(),
            },
            feed,
        ])?;
        let whole = self.mixture_of(&blend)?.with_corrections_of(before.fluid());
        let pressure = before.pressure();
        let enthalpy = |part: &Fluid, temperature: f64| -> Result<f64> {
            let alone = State::from_tp(&within(&whole, part)?, temperature, pressure)?;
            Ok(alone.specific_enthalpy())
        };
        let shares = blend
            .feed_mass_flow_rates
            .iter()
            .map(|rate| rate / blend.mass_flow_rate);
        let enthalpies = [
            enthalpy(before.fluid(), before.temperature())?,
            enthalpy(&self.fluid, temperature)?,
        ];
        let mean = shares.zip(enthalpies).map(|(share, h)| share * h).sum();
        let state = State::from_ph(&whole, pressure, mean)?;
        one_phase(&state, 0.0)?;
        Ok(Union { blend, state })
    }
}

impl Dissolved {
    /// What is to be told of it in the stream behind the pump, whose liquid is drawn in a state.
    fn facts(&self, union: &Union, drawn: &State) -> Result<Vec<Fact>> {
        let additive = Additive {
            concentration: self.concentration,
            temperature: drawn.temperature(),
            pressure: drawn.pressure(),
        };
        let flow = union.blend.additive(1, &additive)?;
        let mut facts = vec![Fact::new(
            "concentration of the additive behind it",
            Quantity::MolarDensity,
            flow.content * union.state.density(),
        )];
        if let Some(molar_mass) = self.molar_mass {
            facts.push(Fact::new(
                "mass of the additive in an hour, left where all else evaporates",
                Quantity::Mass,
                flow.residue(molar_mass, HOUR)?,
            ));
        }
        Ok(facts)
    }
}

/// What is to be told of two streams made one.
fn facts(union: &Union, feed: &Feed, surroundings: &Surroundings<'_>) -> Vec<Fact> {
    let state = &union.state;
    let share = super::share_beside(state.fluid(), surroundings.carrier);
    let rates = &union.blend.feed_mass_flow_rates;
    let mut facts = vec![
        Fact::new(
            "mass flow rate of this pump",
            Quantity::MassFlowRate,
            rates.last().copied().unwrap_or_default(),
        ),
        Fact::new(
            "volume flow rate, counted as it is set",
            Quantity::VolumeFlowRate,
            feed.volume_flow_rate,
        ),
        Fact::new(
            "amount fraction of the modifier behind it",
            Quantity::AmountFraction,
            share.amount_fraction,
        ),
        Fact::new(
            "mass fraction of the modifier behind it",
            Quantity::MassFraction,
            share.mass_fraction,
        ),
    ];
    let (temperature, pressure) = (state.temperature(), state.pressure());
    let fluid = state.fluid();
    if let Ok(heat) = fluid.specific_enthalpy_of_mixing(temperature, pressure) {
        facts.push(Fact::new(
            "enthalpy of mixing, at the temperature behind it",
            Quantity::SpecificEnthalpy,
            heat,
        ));
    }
    if let Ok(apart) = union.blend.additive_volume_flow_rate(temperature, pressure) {
        let mixed = union.blend.mass_flow_rate / state.density();
        facts.push(Fact::new(
            "volume lost by mixing, at the temperature behind it",
            Quantity::VolumeFraction,
            1.0 - mixed / apart,
        ));
    }
    facts
}

/// A fluid as part of a system of more substances, with the model of that.
fn within(system: &Fluid, part: &Fluid) -> Result<Fluid> {
    let own = part.substances();
    let fractions: Vec<f64> = system
        .substances()
        .iter()
        .map(|name| {
            let place = own.iter().position(|other| other == name);
            let fraction = place.and_then(|place| part.amount_fractions().get(place));
            fraction.copied().unwrap_or(0.0)
        })
        .collect();
    system.with_amount_fractions(&fractions)
}

impl Element for ModifierPump {
    fn kind(&self) -> &'static str {
        "modifier_pump"
    }

    fn additive(&self) -> Option<&str> {
        self.additive
            .as_ref()
            .map(|additive| additive.name.as_str())
    }

    fn joins(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Option<Joining>> {
        Ok(Some(Joining {
            feed: self.feed(inlet.state.pressure(), surroundings.room_pressure)?,
            is_by_volume: matches!(self.pump.set_flow(), SetFlow::Volume(..)),
        }))
    }

    fn outlet(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Stream> {
        one_phase(&inlet.state, 0.0)?;
        let feed = self.feed(inlet.state.pressure(), surroundings.room_pressure)?;
        Ok(self.unite(inlet, feed)?.into_stream())
    }

    fn pass(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Outlet> {
        one_phase(&inlet.state, 0.0)?;
        let feed = self.feed(inlet.state.pressure(), surroundings.room_pressure)?;
        let union = self.unite(inlet, feed.clone())?;
        let drawn = self.drawn(surroundings.room_pressure)?;
        let stroke = self.pump.stroke(&drawn, inlet.state.pressure())?;
        let mut facts = facts(&union, &feed, surroundings);
        if let Some(additive) = &self.additive {
            facts.extend(additive.facts(&union, &drawn)?);
        }
        facts.push(Fact::new(
            "volumetric efficiency by mass",
            Quantity::Ratio,
            stroke.expected.volumetric_efficiency,
        ));
        let mut outlet = Outlet::of(union.into_stream());
        outlet.facts = facts;
        outlet.notices = stroke.notices;
        Ok(outlet)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{SURROUNDINGS, close, co2, fact, stream};
    use densepath_fluid::units::{BAR, GRAM_PER_MINUTE, MILLILITRE_PER_MINUTE, from_celsius};

    const ROOM: f64 = 101_325.0;

    fn pump(name: &str, millilitres: f64, counted_at: CountedAt) -> ModifierPump {
        let flow = SetFlow::Volume(millilitres * MILLILITRE_PER_MINUTE, counted_at);
        let pump = ReciprocatingPump::new(from_celsius(22.0), flow).unwrap();
        ModifierPump::new(Fluid::new(name).unwrap(), pump).unwrap()
    }

    /// Carbon dioxide counted at 5 degC and the pressure it is delivered at.
    fn neat(millilitres: f64, bar: f64) -> Stream {
        let state = State::from_tp(&co2(), from_celsius(5.0), bar * BAR).unwrap();
        let rate = millilitres * MILLILITRE_PER_MINUTE * state.density();
        stream(state, rate)
    }

    /// Set share of 3 mL/min by volume, pressure in bar; mass and amount fraction of methanol, and g/min of all where it was
    /// computed: independent computation with CoolProp 8.0.0.
    #[test]
    fn two_pumps_make_the_blend_of_an_independent_computation() {
        const X: f64 = f64::NAN;
        for [share, bar, w, x, grams] in [
            [0.05, 150.0, 0.041_427_7, X, 2.905_92],
            [0.10, 150.0, 0.083_609_8, 0.111_36, 2.8797],
            [0.20, 150.0, 0.170_321, 0.219_944, 2.827_26],
            [0.40, 150.0, 0.353_767, 0.429_189, 2.722_37],
            [0.20, 300.0, X, 0.212_318, X],
        ] {
            let part = pump("methanol", 3.0 * share, CountedAt::Delivery);
            let inlet = neat(3.0 * (1.0 - share), bar);
            let outlet = part.pass(&inlet, &SURROUNDINGS).unwrap();
            let made = outlet.stream.state.fluid();
            let ours = [
                made.mass_fractions()[1],
                made.amount_fractions()[1],
                outlet.stream.mass_flow_rate / GRAM_PER_MINUTE,
            ];
            for (ours, expected) in ours.into_iter().zip([w, x, grams]) {
                assert!(
                    expected.is_nan() || close(ours, expected, 2e-5),
                    "{share} {bar}: {ours} against {expected}"
                );
            }
            assert!(close(
                fact(&outlet, "amount fraction of the modifier behind it"),
                ours[1],
                1e-14
            ));
        }
    }

    #[test]
    fn masses_and_enthalpies_add_and_fractions_sum_to_one() {
        let part = pump("acetone", 0.3, CountedAt::Delivery);
        let inlet = neat(2.7, 150.0);
        let outlet = part.pass(&inlet, &SURROUNDINGS).unwrap();
        let own = part.feed(150.0 * BAR, ROOM).unwrap();
        let acetone = State::from_tp(part.fluid(), own.temperature, 150.0 * BAR).unwrap();
        let rate = own.volume_flow_rate * acetone.density();
        let whole = &outlet.stream;
        assert!(close(
            whole.mass_flow_rate,
            inlet.mass_flow_rate + rate,
            1e-14
        ));
        let before = inlet.mass_flow_rate * inlet.state.specific_enthalpy()
            + rate * acetone.specific_enthalpy();
        let behind = whole.mass_flow_rate * whole.state.specific_enthalpy();
        // The one gas constant of mixtures weighs the substances a hair other than their own do.
        assert!(close(before, behind, 1e-7), "{before} W and {behind} W");
        let fractions = whole.state.fluid().mass_fractions();
        assert!(close(fractions.iter().sum(), 1.0, 1e-15));
        assert!(close(fractions[1], rate / whole.mass_flow_rate, 1e-14));
        // Without the heat of mixing the stream would be where the heat capacities alone put it.
        let heat = fact(&outlet, "enthalpy of mixing, at the temperature behind it");
        assert!(heat.abs() > 100.0, "{heat} J/kg");
    }

    /// 20 mmol/L of ammonium formate, 63.06 g/mol, in a fifth of 3 mL/min: 0.757 mg/min by hand.
    #[test]
    fn an_additive_is_told_beside_the_composition() {
        let plain = pump("methanol", 0.6, CountedAt::Suction);
        let inlet = neat(2.4, 150.0);
        let with = plain
            .clone()
            .with_additive("ammonium formate", 20.0, Some(0.063_06))
            .unwrap();
        let outlet = with.pass(&inlet, &SURROUNDINGS).unwrap();
        let hour = fact(
            &outlet,
            "mass of the additive in an hour, left where all else evaporates",
        );
        assert!(close(hour / 60.0, 0.757e-6, 1e-3), "{hour} kg");
        let volume = outlet.stream.volume_flow_rate();
        let concentration = fact(&outlet, "concentration of the additive behind it");
        assert!(close(
            concentration * volume,
            20.0 * 0.6 * MILLILITRE_PER_MINUTE,
            1e-12
        ));
        let alone = plain.pass(&inlet, &SURROUNDINGS).unwrap().stream.state;
        assert_eq!(outlet.stream.state.density(), alone.density());
        for (concentration, molar_mass) in [(0.0, None), (20.0, Some(-1.0))] {
            let refused = plain
                .clone()
                .with_additive("salt", concentration, molar_mass);
            assert_eq!(refused.unwrap_err().code(), 101);
        }
    }

    #[test]
    fn a_vanishing_flow_leaves_the_stream_as_it_is() {
        let inlet = neat(3.0, 150.0);
        let part = pump("acetone", 1e-12, CountedAt::Delivery);
        let outlet = part.pass(&inlet, &SURROUNDINGS).unwrap();
        let (before, behind) = (&inlet.state, &outlet.stream.state);
        assert!(close(behind.temperature(), before.temperature(), 1e-9));
        assert!(close(behind.density(), before.density(), 1e-9));
        assert!(close(
            outlet.stream.mass_flow_rate,
            inlet.mass_flow_rate,
            1e-9
        ));
    }

    #[test]
    fn what_the_clearance_holds_back_is_not_delivered() {
        let flow = SetFlow::Volume(MILLILITRE_PER_MINUTE, CountedAt::Suction);
        let swept = ReciprocatingPump::new(from_celsius(22.0), flow)
            .and_then(|pump| pump.with_clearance_ratio(0.5))
            .and_then(|pump| pump.with_leak_fraction(0.01))
            .unwrap();
        let part = ModifierPump::new(Fluid::new("methanol").unwrap(), swept).unwrap();
        let density = |pressure| {
            let state = State::from_tp(part.fluid(), from_celsius(22.0), pressure);
            state.unwrap().density()
        };
        let feed = part.feed(300.0 * BAR, ROOM).unwrap();
        let held = 0.5 * (density(300.0 * BAR) / density(ROOM) - 1.0);
        assert!(held > 0.01);
        let expected = MILLILITRE_PER_MINUTE * (1.0 - held) * 0.99;
        assert!(close(feed.volume_flow_rate, expected, 1e-12));
        assert_eq!(feed.pressure, ROOM);
    }

    #[test]
    fn a_stream_that_parts_and_a_flow_counted_elsewhere_are_refused() {
        let warm = State::from_tp(&co2(), from_celsius(70.0), 80.0 * BAR).unwrap();
        let part = pump("methanol", 0.6, CountedAt::Delivery);
        let error = part.pass(&stream(warm, 4e-5), &SURROUNDINGS).unwrap_err();
        assert_eq!(error.code(), 502);
        for counted_at in [CountedAt::Oven, CountedAt::Normal] {
            let flow = SetFlow::Volume(1e-8, counted_at);
            let pump = ReciprocatingPump::new(295.15, flow).unwrap();
            let made = ModifierPump::new(Fluid::new("methanol").unwrap(), pump);
            assert_eq!(made.unwrap_err().code(), 104);
        }
        // A liquid that boils in its head.
        let boiling = ReciprocatingPump::new(345.0, SetFlow::Mass(1e-6)).unwrap();
        let boiling = ModifierPump::new(Fluid::new("methanol").unwrap(), boiling).unwrap();
        assert_eq!(boiling.feed(15e6, ROOM).unwrap_err().code(), 504);
    }
}
