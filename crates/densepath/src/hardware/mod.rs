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
mod testing;
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
#[derive(Debug, Clone)]
pub struct Stream {
    /// State of the fluid.
    pub state: State,
    /// Mass flow rate q_m in kg/s.
    pub mass_flow_rate: f64,
}

impl Stream {
    /// Volume flow rate q_V in m3/s at the local density.
    pub fn volume_flow_rate(&self) -> f64 {
        self.mass_flow_rate / self.state.density()
    }
}

/// What a part must know beyond its inlet.
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
}

/// What a pump brings into the stream that it joins.
#[derive(Debug, Clone)]
pub struct Joining {
    /// Its fluid and flow.
    pub feed: Feed,
    /// Whether a volume is set, so that the temperature and the pressure where it is counted change the mass.
    pub is_by_volume: bool,
}

/// Shares of the substances other than one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModifierShare {
    /// Amount fraction x, dimensionless.
    pub amount_fraction: f64,
    /// Mass fraction w, dimensionless.
    pub mass_fraction: f64,
}

/// Name of the substance that most of a fluid consists of.
pub fn carrier_of(fluid: &Fluid) -> &'static str {
    let pairs = fluid.substances().into_iter().zip(fluid.amount_fractions());
    let most = pairs.max_by(|one, other| one.1.total_cmp(other.1));
    most.map_or("", |(name, _)| name)
}

/// Shares of all substances of a fluid beside the one of a name.
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
pub trait Element: std::fmt::Debug + Send + Sync {
    /// The word for this sort of part.
    fn kind(&self) -> &'static str;

    /// What the part is to the band.
    fn role(&self) -> Role {
        Role::Conduit
    }

    /// Whether the part holds the pressure of all that lies before it: a regulator, a restrictor.
    fn holds_pressure(&self) -> bool {
        false
    }

    /// The pressure in Pa that the part holds before it at any flow; nothing where it depends on the flow, and for all other
    /// parts.
    fn set_pressure(&self) -> Option<f64> {
        None
    }

    /// How far an inlet is from the steady flow of a part that holds the pressure: positive if the inlet pressure is too
    /// high for the mass flow, negative if it is too low, rising with the inlet pressure; zero for all other parts.
    fn excess(&self, _inlet: &Stream, _surroundings: &Surroundings<'_>) -> Result<f64> {
        Ok(0.0)
    }

    /// The solvent of the sample that the part injects, if it is known.
    fn sample_solvent(&self) -> Option<&Fluid> {
        None
    }

    /// What the part brings into the stream from a reservoir of its own; nothing for all parts that let pass what comes.
    fn joins(&self, _inlet: &Stream, _surroundings: &Surroundings<'_>) -> Result<Option<Joining>> {
        Ok(None)
    }

    /// What a solute does at one place of the part, in a state of the mobile phase with a share of modifier, at a mass flow rate
    /// in kg/s. Only columns retain.
    ///
    /// Error 202 for a part that is no column; 102 where a law of the solute leaves its range.
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
    fn outlet(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Stream> {
        self.pass(inlet, surroundings).map(|outlet| outlet.stream)
    }

    /// The outlet that belongs to an inlet.
    ///
    /// Error 502 if the fluid does not stay one dense phase where the part needs it.
    fn pass(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Outlet>;
}

/// What a part is to the band of the solute.
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
#[derive(Debug, Clone)]
pub struct Outlet {
    /// The stream at the outlet.
    pub stream: Stream,
    /// Points along the part, inlet to outlet; empty for a part without length.
    pub profile: Vec<ProfilePoint>,
    /// Hold-up time of the fluid in s.
    pub hold_up_time: f64,
    /// What the part does to the band, if it does anything.
    pub band: Option<BandShare>,
    /// Plugs and decays among what the part does to the band; all else is Gaussian.
    pub tails: Vec<Tail>,
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
    pub fn of(stream: Stream) -> Self {
        Self {
            stream,
            profile: Vec::new(),
            hold_up_time: 0.0,
            band: None,
            tails: Vec::new(),
            heat_flow_rate: 0.0,
            motion: None,
            facts: Vec::new(),
            notices: Vec::new(),
        }
    }
}

/// Motion of the fluid at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion {
    /// Mean velocity u in m/s.
    pub velocity: f64,
    /// Reynolds number Re.
    pub reynolds_number: f64,
}

/// One point along a part.
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
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandShare {
    /// Time the solute spends in the part, in s.
    pub time: f64,
    /// Variance added to the band in time, sigma_t^2, in s2.
    pub time_variance: f64,
    /// Smallest and largest variance in s2 where the law leaves a bracket.
    pub bracket: Option<(f64, f64)>,
}

/// One result with its quantity.
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
    pub fn new(name: &'static str, quantity: Quantity, value: f64) -> Self {
        Self {
            name,
            quantity,
            value,
        }
    }
}

/// How a part exchanges heat.
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
