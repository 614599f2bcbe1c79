//! The parts of an instrument: each takes the inlet as a value and returns the outlet as a value.

mod blend;
mod channel;
pub mod cycle;
mod cylinder;
pub mod decompression;
mod detector_cell;
mod detector_choice;
pub mod diagnosis;
mod gas_detector;
mod gas_supply;
pub mod head_cooling;
mod mixer;
mod modifier_pump;
mod open_tubular_column;
mod packed_column;
mod pump_pulse;
mod pump_waveform;
mod reciprocating_pump;
pub mod regulator;
pub mod restrictor;
pub mod safety;
mod sample_loop;
mod sample_plug;
pub mod schedule;
mod set_flow;
mod solute;
mod starting;
mod stroke;
mod suction_line;
mod syringe_pump;
#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
mod tests_of_conservation;
mod transfer;
mod tube;
pub mod vent;

use fluid::{Fluid, Notice, Quantity, Result, State};

use crate::flow::peak::Tail;
use crate::flow::travel::SoluteMotion;
use crate::fluid;

pub use blend::{
    Additive, AdditiveFlow, Blend, BlendBasis, BlendSensitivity, Feed, FractionBudget, Head,
    PumpShare, PumpUncertainty, WholeFlow, blend, feeds_for,
};
pub use cylinder::{Cylinder, CylinderContent, Filling, Withdrawal};
pub use detector_cell::DetectorCell;
pub use detector_choice::{
    CutOff, CutOffReading, Detector, DetectorQuestion, Modifier, RankedDetector,
    RefractiveIndexNoise, Side, Tolerance, Verdict, Volatility, cut_off_of, cut_offs, detectors,
    rank_detectors, refractive_index_noise,
};
pub use gas_detector::{DetectorGas, DetectorRecord, GasDetector, detector_records};
pub use gas_supply::{Boosted, Condensed, boost, condense};
pub use mixer::Mixer;
pub use modifier_pump::ModifierPump;
pub use open_tubular_column::OpenTubularColumn;
pub use packed_column::PackedColumn;
pub use pump_pulse::{Cushion, Drive, Pulse};
pub use pump_waveform::{PistonMotion, Waveform};
pub use reciprocating_pump::{HeadDuty, Heads, ReciprocatingPump};
pub use regulator::{BackPressureRegulator, Expansion};
pub use restrictor::{
    BoredRestrictor, FritRestrictor, LinearRestrictor, OrificeRestrictor, Restrictor,
};
pub use sample_loop::SampleLoop;
pub use sample_plug::{PlugPhase, plug_phases};
pub use set_flow::{CountedAt, CountingConditions, SetFlow};
pub use solute::{Diffusion, Retention, Solute};
pub use starting::{Priming, priming, purge_volume};
pub use stroke::{Chamber, Compression, Stroke};
pub use suction_line::{Suction, SuctionLine, SuctionLosses};
pub use syringe_pump::{Precompression, SyringePump};
pub use transfer::{ColumnEnds, MethodTransfer, ends_for_mean_density, transfer};
pub use tube::Tube;
pub use vent::Vent;

/// What flows from one part to the next.
///
/// ```
/// use densepath::{Fluid, State, hardware::Stream};
/// let state = State::from_tp(&Fluid::new("carbon dioxide")?, 313.15, 150e5)?;
/// let stream = Stream { state, mass_flow_rate: 3.0e-3 / 60.0 };
/// assert!((stream.mass_flow_rate - 5e-5).abs() < 1e-15);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Stream {
    /// State of the fluid.
    pub state: State,
    /// Mass flow rate q_m in kg/s.
    pub mass_flow_rate: f64,
}

impl Stream {
    /// Volume flow rate q_V in m3/s at the local density.
    ///
    /// ```
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
    /// // 3 g/min at 40 degC and 150 bar, 780 kg/m3, are 3.85 mL/min.
    /// assert!((stream.volume_flow_rate() * stream.state.density() - 5e-5).abs() < 1e-15);
    /// assert!((stream.volume_flow_rate() * 60e6 - 3.85).abs() < 0.01);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn volume_flow_rate(&self) -> f64 {
        self.mass_flow_rate / self.state.density()
    }
}

/// What a part must know beyond its inlet.
///
/// ```
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
/// // What a part needs of the room: a regulator that is heated to nothing leaves the fluid to it.
/// assert!(room.solute.is_none() && room.room_pressure < room.delivery_pressure);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Surroundings<'a> {
    /// Pressure in Pa that the pump delivers at.
    pub delivery_pressure: f64,
    /// Temperature of the room in K.
    pub room_temperature: f64,
    /// Pressure of the room in Pa.
    pub room_pressure: f64,
    /// The solute whose band is followed, if any.
    pub solute: Option<&'a Solute>,
    /// Name of the substance that most of the supply consists of; all else in the stream is modifier.
    pub carrier: &'a str,
    /// Names of what is dissolved in the stream and left out of its composition.
    pub additives: &'a [&'a str],
}

/// What a pump brings into the stream that it joins.
///
/// ```
/// use densepath::hardware::Tube;
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
/// // A tube brings nothing into the stream; the pump of a modifier does.
/// assert!(Tube::new(0.25e-3, 1.0, 0.0)?.joins(&stream, &room)?.is_none());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Joining {
    /// Its fluid and flow.
    pub feed: Feed,
    /// Whether a volume is set, so that the temperature and the pressure where it is counted change the mass.
    pub is_by_volume: bool,
}

/// Shares of the substances other than one.
///
/// ```
/// use densepath::{Fluid, hardware::share_beside};
/// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
/// let share = share_beside(&blend, "carbon dioxide");
/// // Methanol is the lighter molecule: its share of the mass is the smaller.
/// assert!(share.mass_fraction < share.amount_fraction);
/// assert!((share.amount_fraction - 0.1).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModifierShare {
    /// Amount fraction x, dimensionless.
    pub amount_fraction: f64,
    /// Mass fraction w, dimensionless.
    pub mass_fraction: f64,
}

/// Name of the substance that most of a fluid consists of.
///
/// ```
/// use densepath::{Fluid, hardware::carrier_of};
/// let blend = Fluid::mixture(&[("methanol", 0.1), ("carbon dioxide", 0.9)])?;
/// assert_eq!(carrier_of(&blend), "carbon dioxide");
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn carrier_of(fluid: &Fluid) -> &'static str {
    let pairs = fluid.substances().into_iter().zip(fluid.amount_fractions());
    let most = pairs.max_by(|one, other| one.1.total_cmp(other.1));
    most.map_or("", |(name, _)| name)
}

/// Shares of all substances of a fluid beside the one of a name.
///
/// ```
/// use densepath::{Fluid, hardware::share_beside};
/// let blend = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
/// let share = share_beside(&blend, "carbon dioxide");
/// // 0.1 M / (0.1 M + 0.9 M') with M = 32.042 and M' = 44.010 g/mol.
/// assert!((share.mass_fraction - 3.2042 / (3.2042 + 39.609)).abs() < 1e-4);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn share_beside(fluid: &Fluid, carrier: &str) -> ModifierShare {
    let names = fluid.substances();
    let others = |fractions: &[f64]| {
        let pairs = names.iter().zip(fractions);
        let others = pairs.filter(|(name, _)| **name != carrier);
        others.fold(0.0, |sum, (_, fraction)| sum + fraction)
    };
    ModifierShare {
        amount_fraction: others(fluid.amount_fractions()),
        mass_fraction: others(fluid.mass_fractions()),
    }
}

/// A part with an inlet and an outlet.
///
/// ```
/// use densepath::hardware::{Role, Tube};
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
/// let tube = Tube::new(0.25e-3, 1.0, 0.0)?;
/// let outlet = tube.pass(&stream, &room)?;
/// assert_eq!((tube.kind(), tube.role()), ("tube", Role::Conduit));
/// // Friction takes pressure, and all that enters leaves.
/// assert!(outlet.stream.state.pressure() < stream.state.pressure());
/// assert_eq!(outlet.stream.mass_flow_rate, stream.mass_flow_rate);
/// # Ok::<(), densepath::Error>(())
/// ```
pub trait Element: std::fmt::Debug + Send + Sync {
    /// The word for this sort of part.
    ///
    /// ```
    /// use densepath::hardware::{Element, Vent};
    /// assert_eq!(Vent::new().kind(), "vent");
    /// ```
    fn kind(&self) -> &'static str;

    /// What the part is to the band.
    ///
    /// ```
    /// use densepath::hardware::{Element, Role, SampleLoop, Vent};
    /// assert_eq!(Vent::new().role(), Role::Conduit);
    /// ```
    fn role(&self) -> Role {
        Role::Conduit
    }

    /// Whether the part holds the pressure of all that lies before it: a regulator, a restrictor.
    ///
    /// ```
    /// use densepath::hardware::{BackPressureRegulator, Element, Tube};
    /// assert!(BackPressureRegulator::new(150e5)?.holds_pressure());
    /// assert!(!Tube::new(0.25e-3, 1.0, 0.0)?.holds_pressure());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn holds_pressure(&self) -> bool {
        false
    }

    /// The pressure in Pa that the part holds before it at any flow; nothing where it depends on the flow, and for all other
    /// parts.
    ///
    /// ```
    /// use densepath::hardware::{BackPressureRegulator, Element, Tube};
    /// assert_eq!(BackPressureRegulator::new(150e5)?.set_pressure(), Some(150e5));
    /// assert_eq!(Tube::new(0.25e-3, 1.0, 0.0)?.set_pressure(), None);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn set_pressure(&self) -> Option<f64> {
        None
    }

    /// How far an inlet is from the steady flow of a part that holds the pressure: positive if the inlet pressure is too
    /// high for the mass flow, negative if it is too low, rising with the inlet pressure; zero for all other parts.
    ///
    /// ```
    /// use densepath::hardware::BackPressureRegulator;
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
    /// // The stream has 150 bar: too much for a regulator set to 140 bar, too little for one set to 160 bar.
    /// assert!(BackPressureRegulator::new(140e5)?.excess(&stream, &room)? > 0.0);
    /// assert!(BackPressureRegulator::new(160e5)?.excess(&stream, &room)? < 0.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn excess(&self, _inlet: &Stream, _surroundings: &Surroundings<'_>) -> Result<f64> {
        Ok(0.0)
    }

    /// Name of what the part dissolves in the stream without being counted in its composition, if there is anything.
    ///
    /// ```
    /// use densepath::hardware::{Element, Vent};
    /// assert!(Vent::new().additive().is_none());
    /// ```
    fn additive(&self) -> Option<&str> {
        None
    }

    /// The solvent of the sample that the part injects, if it is known.
    ///
    /// ```
    /// use densepath::hardware::{Element, Vent};
    /// assert!(Vent::new().sample_solvent().is_none());
    /// ```
    fn sample_solvent(&self) -> Option<&Fluid> {
        None
    }

    /// What the part brings into the stream from a reservoir of its own; nothing for all parts that let pass what comes.
    ///
    /// ```
    /// use densepath::hardware::Vent;
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
    /// assert!(Vent::new().joins(&stream, &room)?.is_none());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn joins(&self, _inlet: &Stream, _surroundings: &Surroundings<'_>) -> Result<Option<Joining>> {
        Ok(None)
    }

    /// What a solute does at one place of the part, in a state of the mobile phase with a share of modifier, at a mass flow rate
    /// in kg/s. Only columns retain.
    ///
    /// Error 202 for a part that is no column; 102 where a law of the solute leaves its range.
    ///
    /// ```
    /// use densepath::hardware::{Diffusion, ModifierShare, PackedColumn, Retention, Solute, Tube};
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
    /// let solute = Solute {
    ///     name: "caffeine".to_owned(),
    ///     retention: Retention::Constant { retention_factor: 3.0 },
    ///     diffusion: Diffusion::Constant { diffusion_coefficient: 1e-8 },
    ///     melting_temperature: None,
    ///     in_gas: None,
    /// };
    /// let none = ModifierShare { amount_fraction: 0.0, mass_fraction: 0.0 };
    /// let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
    /// assert_eq!(column.solute_motion(&stream.state, 5e-5, &solute, none)?.retention_factor, 3.0);
    /// // Only columns retain.
    /// let tube = Tube::new(0.25e-3, 1.0, 0.0)?;
    /// assert_eq!(tube.solute_motion(&stream.state, 5e-5, &solute, none).unwrap_err().code(), 202);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn solute_motion(
        &self,
        state: &State,
        _mass_flow_rate: f64,
        _solute: &Solute,
        _modifier: ModifierShare,
    ) -> Result<SoluteMotion> {
        Err(fluid::Error::MissingModel {
            property: Quantity::RetentionFactor,
            fluid: state.fluid().name().to_owned(),
            need: "the part is no column",
        })
    }

    /// The stream at the outlet alone, without what only a report needs: what the trials of a solve ask for.
    ///
    /// Errors as [`Element::pass`], with whose stream it agrees.
    ///
    /// ```
    /// use densepath::hardware::Tube;
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
    /// let tube = Tube::new(0.25e-3, 1.0, 0.0)?;
    /// let (alone, told) = (tube.outlet(&stream, &room)?, tube.pass(&stream, &room)?);
    /// assert_eq!(alone.state.pressure(), told.stream.state.pressure());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn outlet(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Stream> {
        self.pass(inlet, surroundings).map(|outlet| outlet.stream)
    }

    /// The outlet that belongs to an inlet.
    ///
    /// Error 502 if the fluid does not stay one dense phase where the part needs it.
    ///
    /// ```
    /// use densepath::hardware::Tube;
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
    /// let tube = Tube::new(0.25e-3, 1.0, 0.0)?;
    /// // The hold-up is the volume over the volume flow, which changes little over so small a pressure drop.
    /// let expected = tube.volume() / stream.volume_flow_rate();
    /// assert!((tube.pass(&stream, &room)?.hold_up_time / expected - 1.0).abs() < 1e-2);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    fn pass(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Outlet>;
}

/// What a part is to the band of the solute.
///
/// ```
/// use densepath::hardware::{Element, Mixer, Role, Thermal};
/// assert_eq!(Mixer::new(1e-7, 0.0, Thermal::Adiabatic)?.role(), Role::Mixing);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The band, where there is one, passes through.
    Conduit,
    /// The band begins here.
    Injection,
    /// The stream is mixed here, so that a change of its composition comes out spread over time.
    Mixing,
    /// The solute is retained here.
    Column,
    /// The band is recorded here, and ends.
    Detection,
}

/// What leaves a part, and what happened inside.
///
/// ```
/// use densepath::hardware::Outlet;
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
/// let outlet = Outlet::of(stream);
/// assert_eq!((outlet.hold_up_time, outlet.heat_flow_rate), (0.0, 0.0));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Outlet {
    /// The stream at the outlet.
    pub stream: Stream,
    /// Points along the part, inlet to outlet; empty for a part without length.
    pub profile: Vec<ProfilePoint>,
    /// Hold-up time of the fluid in s; not a number where it is not known, which a notice tells then.
    pub hold_up_time: f64,
    /// What the part does to the band that leaves it, if it does anything.
    pub band: Option<BandShare>,
    /// What it does to the band that it records, where it is a detector and that is not the same.
    pub recorded: Option<BandShare>,
    /// Heat flow rate into the fluid in W.
    pub heat_flow_rate: f64,
    /// Mean velocity in m/s and Reynolds number at the outlet, where the part is a conduit.
    pub motion: Option<Motion>,
    /// Results that only this sort of part has.
    pub facts: Vec<Fact>,
    /// Doubts and cautions.
    pub notices: Vec<Notice>,
}

impl Outlet {
    /// An outlet at which nothing but the stream is to be told.
    ///
    /// ```
    /// use densepath::hardware::Outlet;
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
    /// let outlet = Outlet::of(stream.clone());
    /// assert_eq!(outlet.stream.state.pressure(), stream.state.pressure());
    /// assert!(outlet.profile.is_empty() && outlet.band.is_none());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn of(stream: Stream) -> Self {
        Self {
            stream,
            profile: Vec::new(),
            hold_up_time: 0.0,
            band: None,
            recorded: None,
            heat_flow_rate: 0.0,
            motion: None,
            facts: Vec::new(),
            notices: Vec::new(),
        }
    }

    /// What the part does to the band that it records, if it is a detector; else to the band that leaves it.
    ///
    /// ```
    /// use densepath::hardware::DetectorCell;
    /// # use densepath::hardware::{Diffusion, Retention, Solute};
    /// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
    /// # let solute = Solute {
    /// #     name: "caffeine".to_owned(),
    /// #     retention: Retention::Constant { retention_factor: 3.0 },
    /// #     diffusion: Diffusion::Constant { diffusion_coefficient: 1e-8 },
    /// #     melting_temperature: None,
    /// #     in_gas: None,
    /// # };
    /// # let room = Surroundings {
    /// #     delivery_pressure: 200e5,
    /// #     room_temperature: 293.15,
    /// #     room_pressure: 101_325.0,
    /// #     solute: Some(&solute),
    /// #     carrier: "carbon dioxide",
    /// #     additives: &[],
    /// # };
    /// let outlet = DetectorCell::new(8e-9)?.with_time_constant(0.1)?.pass(&stream, &room)?;
    /// // The electronics smear what is recorded, and nothing of the stream.
    /// let variance = |band: Option<&densepath::hardware::BandShare>| band.map_or(0.0, |band| band.time_variance);
    /// assert!(variance(outlet.recorded_band()) > 0.01 && variance(outlet.band.as_ref()) == 0.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn recorded_band(&self) -> Option<&BandShare> {
        self.recorded.as_ref().or(self.band.as_ref())
    }
}

/// Motion of the fluid at one place.
///
/// ```
/// use densepath::hardware::Tube;
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
/// let motion = Tube::new(0.25e-3, 1.0, 0.0)?.pass(&stream, &room)?.motion.ok_or(densepath::Error::Internal { place: "a tube is a conduit" })?;
/// // Re = 4 q_m / (pi d eta), with the viscosity of the dense fluid.
/// let eta = stream.state.dynamic_viscosity()?;
/// let expected = 4.0 * 5e-5 / (std::f64::consts::PI * 0.25e-3 * eta);
/// assert!((motion.reynolds_number / expected - 1.0).abs() < 0.01);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion {
    /// Mean velocity u in m/s.
    pub velocity: f64,
    /// Reynolds number Re.
    pub reynolds_number: f64,
}

/// One point along a part.
///
/// ```
/// use densepath::hardware::Tube;
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
/// let profile = Tube::new(0.25e-3, 1.0, 0.0)?.pass(&stream, &room)?.profile;
/// // The pressure falls all along, and the same mass passes everywhere.
/// assert!(profile.windows(2).all(|two| two[1].pressure < two[0].pressure));
/// let flux = |point: &densepath::hardware::ProfilePoint| point.density * point.velocity;
/// assert!(profile.iter().all(|point| (flux(point) / flux(&profile[0]) - 1.0).abs() < 1e-9));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProfilePoint {
    /// Distance from the inlet of the part in m.
    pub position: f64,
    /// Temperature T in K.
    pub temperature: f64,
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Mean velocity u in m/s.
    pub velocity: f64,
    /// Retention factor k of the solute; 0 outside columns.
    pub retention_factor: f64,
    /// Local plate height H in m; 0 outside columns.
    pub plate_height: f64,
}

/// What a part does to the band of the solute.
///
/// ```
/// use densepath::hardware::{Mixer, Thermal};
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
/// let share = Mixer::new(1e-7, 0.0, Thermal::Adiabatic)?.pass(&stream, &room)?.band;
/// // A mixed volume decays: its variance is the square of its time.
/// assert!(share.is_some_and(|share| (share.time_variance / share.time.powi(2) - 1.0).abs() < 1e-9));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct BandShare {
    /// Time the solute spends in the part, in s.
    pub time: f64,
    /// Variance added to the band in time, sigma_t^2, in s2.
    pub time_variance: f64,
    /// Smallest and largest variance in s2 where the law leaves a bracket.
    pub bracket: Option<(f64, f64)>,
    /// Plugs and decays in it; all else is Gaussian.
    pub tails: Vec<Tail>,
}

impl From<Tail> for BandShare {
    /// A plug with a decay and nothing else.
    fn from(tail: Tail) -> Self {
        Self {
            time: tail.mean(),
            time_variance: tail.variance(),
            bracket: None,
            tails: vec![tail],
        }
    }
}

/// One result with its quantity.
///
/// ```
/// use densepath::{Quantity, hardware::Fact};
/// let fact = Fact::new("plate number", Quantity::PlateNumber, 12_000.0);
/// assert_eq!((fact.name, fact.value), ("plate number", 12_000.0));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// What it is, in words.
    pub name: &'static str,
    /// Its quantity, which gives the unit.
    pub quantity: Quantity,
    /// Its value in SI.
    pub value: f64,
}

impl Fact {
    /// A result with its quantity.
    ///
    /// ```
    /// use densepath::{Quantity, hardware::Fact};
    /// assert_eq!(Fact::new("set pressure", Quantity::Pressure, 150e5).quantity, Quantity::Pressure);
    /// ```
    pub fn new(name: &'static str, quantity: Quantity, value: f64) -> Self {
        Self {
            name,
            quantity,
            value,
        }
    }
}

/// How a part exchanges heat.
///
/// ```
/// use densepath::hardware::{Thermal, Tube};
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
/// let oven = Thermal::Isothermal { temperature: 333.15 };
/// let outlet = Tube::new(0.25e-3, 1.0, 0.0)?.with_thermal(oven)?.pass(&stream, &room)?;
/// // Heated from 40 degC to 60 degC: the stream takes up heat.
/// assert!((outlet.stream.state.temperature() - 333.15).abs() < 1e-6 && outlet.heat_flow_rate > 0.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Thermal {
    /// The fluid is at the temperature of the wall, in K, from inlet to outlet: the bound of perfect exchange.
    Isothermal {
        /// Wall temperature in K.
        temperature: f64,
    },
    /// No heat is exchanged: the bound of perfect insulation.
    Adiabatic,
    /// Between the two: heat passes a wall of one temperature, with a conductance per length of the part.
    Wall {
        /// Temperature outside the wall in K.
        temperature: f64,
        /// Heat conductance per length in W/(m K).
        conductance: f64,
    },
}
