//! Which detector suits a method, and why: the table of detectors and that of the ultraviolet cut-offs as data.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use densepath_fluid::error::{Error, Result, not_negative, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::{Quantity, State};
use serde::Deserialize;

/// Where a detector looks.
///
/// ```
/// use densepath::hardware::{Side, detectors};
/// assert!(detectors()?.iter().any(|detector| detector.side == Side::Dense));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// At the dense mobile phase, before the pressure is let go.
    Dense,
    /// At the gas.
    Gas,
    /// At a spray at the pressure of the room.
    Spray,
    /// At an aerosol from which the mobile phase evaporates.
    Aerosol,
    /// In a vacuum.
    Vacuum,
}

/// What a detector does with an organic modifier.
///
/// ```
/// use densepath::hardware::{Modifier, detectors};
/// // Some need a modifier that lets their light through, some one that evaporates.
/// let what = |modifier| detectors().map(|known| known.iter().any(|detector| detector.organic_modifier == modifier));
/// assert!(what(Modifier::Transparent)? && what(Modifier::Volatile)?);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Modifier {
    /// Stands any.
    Any,
    /// Stands one that lets its light through.
    Transparent,
    /// Stands one that evaporates.
    Volatile,
    /// Stands traces.
    Traces,
    /// Stands none.
    None,
    /// Does not work without.
    Needed,
}

/// What a change in time does to a baseline.
///
/// ```
/// use densepath::hardware::{Tolerance, detectors};
/// // A refractive index follows the density: a gradient spoils it.
/// let index = detectors()?.iter().find(|detector| detector.name == "refractive index");
/// assert!(index.is_some_and(|detector| detector.gradient == Tolerance::Spoiled));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Tolerance {
    /// Little.
    Tolerated,
    /// The baseline drifts.
    Drifts,
    /// The detector is of no use.
    Spoiled,
}

/// How volatile a solute must be.
///
/// ```
/// use densepath::hardware::{Volatility, detectors};
/// assert!(detectors()?.iter().any(|detector| detector.needs_volatility == Volatility::Involatile));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Volatility {
    /// No matter.
    None,
    /// It must evaporate.
    Volatile,
    /// It must not.
    Involatile,
}

/// One detector of the table.
///
/// ```
/// use densepath::hardware::{Side, detectors};
/// // What looks at the dense side takes no gas.
/// assert!(detectors()?.iter().all(|detector| detector.side != Side::Dense || detector.largest_gas_flow.is_none()));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(clippy::struct_excessive_bools, reason = "columns of a table")]
pub struct Detector {
    /// Its name.
    pub name: String,
    /// What it sees.
    pub sees: String,
    /// Where it looks.
    pub side: Side,
    /// Where the restrictor or the regulator goes.
    pub regulator: String,
    /// What it does with an organic modifier.
    pub organic_modifier: Modifier,
    /// What a gradient of composition or density does to it.
    pub gradient: Tolerance,
    /// What pulsation does to it.
    pub pulsation: Tolerance,
    /// Whether the solute must absorb light.
    pub needs_chromophore: bool,
    /// How volatile the solute must be.
    pub needs_volatility: Volatility,
    /// Largest flow of gas in m3/s at 20 degC and 101325 Pa; none for those that look at the dense side.
    #[serde(rename = "largest_gas_flow / (m3/s)")]
    pub largest_gas_flow: Option<f64>,
    /// Whether the solute is lost.
    pub is_destructive: bool,
    /// Whether it works at a wavelength.
    pub needs_wavelength: bool,
    /// What else to know.
    pub note: String,
}

#[derive(Deserialize)]
struct DetectorTable {
    detectors: Vec<Detector>,
}

/// The ultraviolet cut-off of a solvent or an additive.
///
/// ```
/// use densepath::hardware::cut_offs;
/// // The longest reading counts.
/// assert!(cut_offs()?.iter().all(|known| known.readings.iter().all(|reading| reading.wavelength <= known.wavelength)));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CutOff {
    /// Its name.
    pub name: String,
    /// Wavelength in m below which 10 mm of it absorb more than nine tenths of the light: the longest of the readings.
    pub wavelength: f64,
    /// What the sources say, each with the source in words.
    pub readings: Vec<CutOffReading>,
    /// Whether it is an additive, counted at its usual concentration in a modifier.
    pub is_additive: bool,
}

/// What one source says of a cut-off.
///
/// ```
/// use densepath::hardware::cut_offs;
/// assert!(cut_offs()?.iter().flat_map(|known| &known.readings).all(|reading| !reading.source.is_empty()));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CutOffReading {
    /// Wavelength in m.
    pub wavelength: f64,
    /// The source in words.
    pub source: String,
}

impl CutOff {
    fn new(entry: CutOffEntry, sources: &BTreeMap<String, String>) -> Option<Self> {
        let readings = entry.readings.into_iter().map(|reading| {
            Some(CutOffReading {
                wavelength: reading.wavelength,
                source: sources.get(&reading.source)?.clone(),
            })
        });
        let readings: Vec<CutOffReading> = readings.collect::<Option<_>>()?;
        let longest = readings.iter().map(|reading| reading.wavelength);
        Some(Self {
            name: entry.name,
            wavelength: longest.reduce(f64::max)?,
            readings,
            is_additive: entry.is_additive,
        })
    }

    /// Difference in m between the longest and the shortest reading.
    ///
    /// ```
    /// use densepath::hardware::cut_offs;
    /// assert!(cut_offs()?.iter().all(|known| known.spread() >= 0.0 && known.spread() < known.wavelength));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn spread(&self) -> f64 {
        let shortest = self.readings.iter().map(|reading| reading.wavelength);
        self.wavelength - shortest.fold(self.wavelength, f64::min)
    }

    /// How sure the wavelength is, in words.
    ///
    /// ```
    /// use densepath::hardware::cut_off_of;
    /// // How sure it is, in words.
    /// assert!(cut_off_of(["methanol"])?.is_some_and(|known| !known.standing().is_empty()));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn standing(&self) -> String {
        if self.spread() > 0.0 {
            let shortest = (self.wavelength - self.spread()) * 1e9;
            return format!("another source says {} nm", rounded(shortest));
        }
        match self.readings.len() {
            1 => "by one source".to_owned(),
            sources => format!("{sources} sources agree"),
        }
    }
}

#[derive(Deserialize)]
struct CutOffEntry {
    name: String,
    readings: Vec<ReadingEntry>,
    #[serde(default)]
    is_additive: bool,
}

#[derive(Deserialize)]
struct ReadingEntry {
    #[serde(rename = "cut_off / m")]
    wavelength: f64,
    source: String,
}

#[derive(Deserialize)]
struct CutOffTable {
    sources: BTreeMap<String, String>,
    solvents: Vec<CutOffEntry>,
}

fn table<T: serde::de::DeserializeOwned>(text: &str) -> Result<T> {
    serde_json::from_str(text).map_err(|_| Error::Internal {
        place: "a table of detectors",
    })
}

/// The table of detectors: common practice, no source. Error 901 if its file is damaged.
///
/// ```
/// use densepath::hardware::detectors;
/// assert!(detectors()?.iter().any(|detector| detector.name == "diode array"));
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn detectors() -> Result<&'static [Detector]> {
    static TABLE: OnceLock<Result<DetectorTable>> = OnceLock::new();
    let known = TABLE.get_or_init(|| table(include_str!("../../data/detectors.json")));
    known
        .as_ref()
        .map(|table| table.detectors.as_slice())
        .map_err(Clone::clone)
}

/// The table of ultraviolet cut-offs, each with what its sources say.
///
/// *Uncertainty*: 5 nm, by purity and by how the edge is read (common practice, no source); more where the sources differ.
///
/// Errors: 901 if the file is damaged.
///
/// ```
/// use densepath::hardware::cut_offs;
/// // Wavelengths in m, all in the ultraviolet.
/// assert!(cut_offs()?.iter().all(|known| known.wavelength > 150e-9 && known.wavelength < 400e-9));
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn cut_offs() -> Result<&'static [CutOff]> {
    static TABLE: OnceLock<Result<Vec<CutOff>>> = OnceLock::new();
    let known = TABLE.get_or_init(|| {
        let table: CutOffTable = table(include_str!("../../data/uv_cut_off.json"))?;
        let entries = table.solvents.into_iter();
        let known = entries.map(|entry| CutOff::new(entry, &table.sources));
        known.collect::<Option<_>>().ok_or(Error::Internal {
            place: "a source of the ultraviolet cut-offs",
        })
    });
    known.as_deref().map_err(Clone::clone)
}

/// The longest cut-off among substances, with the name of the one it belongs to: the mobile phase is opaque below. Error 202 for a
/// substance that is not in the table.
///
/// ```
/// use densepath::hardware::cut_off_of;
/// // Toluene is opaque far above methanol.
/// let found = cut_off_of(["methanol", "toluene"])?;
/// assert!(found.is_some_and(|known| known.name == "toluene" && known.wavelength > 280e-9));
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn cut_off_of<'a>(names: impl IntoIterator<Item = &'a str>) -> Result<Option<&'static CutOff>> {
    let table = cut_offs()?;
    let mut longest: Option<&CutOff> = None;
    for name in names {
        let own = table
            .iter()
            .find(|entry| entry.name == name)
            .ok_or_else(|| Error::MissingModel {
                property: Quantity::Wavelength,
                fluid: name.to_owned(),
                need: "its ultraviolet cut-off is not in the table",
            })?;
        if longest.is_none_or(|known| own.wavelength > known.wavelength) {
            longest = Some(own);
        }
    }
    Ok(longest)
}

/// What is asked of a detector. What is not known is left out, and is then a condition in the answer.
///
/// ```
/// # use densepath::hardware::{DetectorQuestion, Verdict, rank_detectors};
/// let question = DetectorQuestion {
///     modifiers: vec!["methanol".to_owned()],
///     modifier_fraction: 0.1,
///     gas_flow: 2.7e-5,
///     is_programmed: false,
///     pressure_ripple: 1e-4,
///     has_chromophore: Some(true),
///     is_volatile: None,
///     wavelength: Some(254e-9),
///     is_collected: false,
/// };
/// let seen = rank_detectors(&DetectorQuestion { has_chromophore: Some(true), ..question.clone() })?;
/// let dark = rank_detectors(&DetectorQuestion { has_chromophore: Some(false), ..question })?;
/// // A solute that absorbs no light is no matter for a lamp.
/// let verdict = |ranked: &[densepath::hardware::RankedDetector]| ranked.iter().find(|one| one.detector.needs_chromophore).map(|one| one.verdict);
/// assert!(verdict(&seen) != Some(Verdict::Unsuited) && verdict(&dark) == Some(Verdict::Unsuited));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DetectorQuestion {
    /// Names of all that flows beside the carrier: modifiers and additives.
    pub modifiers: Vec<String>,
    /// Largest volume fraction of the modifiers.
    pub modifier_fraction: f64,
    /// Flow of gas in m3/s at 20 degC and 101325 Pa, after decompression.
    pub gas_flow: f64,
    /// Whether composition or density change during the run.
    pub is_programmed: bool,
    /// Ripple of the pressure at the detector over the pressure.
    pub pressure_ripple: f64,
    /// Whether the solute absorbs light.
    pub has_chromophore: Option<bool>,
    /// Whether the solute evaporates below some 300 degC.
    pub is_volatile: Option<bool>,
    /// Wavelength in m to look at.
    pub wavelength: Option<f64>,
    /// Whether the solute is to be collected.
    pub is_collected: bool,
}

/// How well a detector suits.
///
/// ```
/// # use densepath::hardware::{DetectorQuestion, Verdict, rank_detectors};
/// let question = DetectorQuestion {
///     modifiers: vec!["methanol".to_owned()],
///     modifier_fraction: 0.1,
///     gas_flow: 2.7e-5,
///     is_programmed: false,
///     pressure_ripple: 1e-4,
///     has_chromophore: Some(true),
///     is_volatile: None,
///     wavelength: Some(254e-9),
///     is_collected: false,
/// };
/// // The best suited come first.
/// assert_ne!(rank_detectors(&question)?[0].verdict, Verdict::Unsuited);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Nothing speaks against it.
    Suits,
    /// It works under the conditions told.
    Conditions,
    /// Something rules it out.
    Unsuited,
}

/// A detector with what speaks for or against it.
///
/// ```
/// # use densepath::hardware::{DetectorQuestion, Verdict, rank_detectors};
/// let question = DetectorQuestion {
///     modifiers: vec!["methanol".to_owned()],
///     modifier_fraction: 0.1,
///     gas_flow: 2.7e-5,
///     is_programmed: false,
///     pressure_ripple: 1e-4,
///     has_chromophore: Some(true),
///     is_volatile: None,
///     wavelength: Some(254e-9),
///     is_collected: false,
/// };
/// // What is not suited tells why.
/// assert!(rank_detectors(&question)?.iter().all(|one| one.verdict == Verdict::Suits || !one.reasons.is_empty()));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct RankedDetector {
    /// The detector.
    pub detector: &'static Detector,
    /// How well it suits.
    pub verdict: Verdict,
    /// Conditions and obstacles, in words.
    pub reasons: Vec<String>,
}

/// Ripple of the pressure over the pressure from which a detector of the refractive index or the like is of no use (common practice,
/// no source).
const RIPPLE: f64 = 1e-3;
/// Volume fraction of modifier that counts as traces (common practice, no source).
const TRACES: f64 = 0.005;
/// How far in m above a cut-off a wavelength is only just safe: the 5 nm that purity and reading make of it (common practice, no
/// source), less the rounding of a difference.
pub(super) const ONLY_JUST: f64 = 5e-9 - 1e-15;
/// Modifiers that do not burn in a flame.
const NOT_BURNING: [&str; 2] = ["water", "formic acid"];

/// All detectors of the table, the best suited first, with the reasons.
///
/// *Valid*: as a first choice; the table is common practice, no source.
///
/// Errors: 101 for a negative flow, fraction or ripple, or a wavelength not above zero; 202 for a modifier whose cut-off is not
/// known, where a wavelength is asked.
///
/// ```
/// # use densepath::hardware::{DetectorQuestion, Verdict, rank_detectors};
/// let question = DetectorQuestion {
///     modifiers: vec!["methanol".to_owned()],
///     modifier_fraction: 0.1,
///     gas_flow: 2.7e-5,
///     is_programmed: false,
///     pressure_ripple: 1e-4,
///     has_chromophore: Some(true),
///     is_volatile: None,
///     wavelength: Some(254e-9),
///     is_collected: false,
/// };
/// assert_eq!(rank_detectors(&question)?.len(), densepath::hardware::detectors()?.len());
/// assert_eq!(rank_detectors(&DetectorQuestion { gas_flow: -1.0, ..question }).unwrap_err().code(), 101);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn rank_detectors(question: &DetectorQuestion) -> Result<Vec<RankedDetector>> {
    not_negative(Quantity::VolumeFraction, question.modifier_fraction)?;
    not_negative(Quantity::VolumeFlowRate, question.gas_flow)?;
    not_negative(Quantity::Ratio, question.pressure_ripple)?;
    let cut_off = match question.wavelength {
        Some(wavelength) => {
            positive(Quantity::Wavelength, wavelength)?;
            cut_off_of(question.modifiers.iter().map(String::as_str))?
        }
        None => None,
    };
    let mut ranked: Vec<RankedDetector> = detectors()?
        .iter()
        .map(|detector| judge(detector, question, cut_off))
        .collect();
    ranked.sort_by_key(|ranked| (ranked.verdict, ranked.reasons.len()));
    Ok(ranked)
}

fn judge(
    detector: &'static Detector,
    question: &DetectorQuestion,
    cut_off: Option<&CutOff>,
) -> RankedDetector {
    let mut opinion = Opinion::default();
    opinion.on_modifier(detector, question);
    opinion.on_light(detector, question, cut_off);
    opinion.on_change(detector, question);
    opinion.on_solute(detector, question);
    opinion.on_flow(detector, question);
    RankedDetector {
        detector,
        verdict: opinion.verdict(),
        reasons: opinion.reasons,
    }
}

#[derive(Default)]
struct Opinion {
    reasons: Vec<String>,
    is_out: bool,
}

impl Opinion {
    fn verdict(&self) -> Verdict {
        match (self.is_out, self.reasons.is_empty()) {
            (true, _) => Verdict::Unsuited,
            (false, true) => Verdict::Suits,
            (false, false) => Verdict::Conditions,
        }
    }

    fn rule_out(&mut self, reason: impl Into<String>) {
        self.is_out = true;
        self.reasons.push(reason.into());
    }

    fn on_condition(&mut self, reason: impl Into<String>) {
        self.reasons.push(reason.into());
    }

    fn on_modifier(&mut self, detector: &Detector, question: &DetectorQuestion) {
        let burning = || {
            question
                .modifiers
                .iter()
                .filter(|name| !NOT_BURNING.contains(&name.as_str()))
        };
        let is_neat = question.modifiers.is_empty() || question.modifier_fraction == 0.0;
        let named = question.modifiers.join(", ");
        match detector.organic_modifier {
            Modifier::Needed if is_neat => {
                self.rule_out("the mobile phase conducts only with a polar modifier");
            }
            Modifier::None if !is_neat && burning().next().is_some() => {
                self.rule_out(format!(
                    "the modifier ({named}) burns in the flame and drowns every signal"
                ));
            }
            Modifier::None if !is_neat => {
                self.on_condition("only traces of water or formic acid pass");
            }
            Modifier::Traces if !is_neat && question.modifier_fraction > TRACES => {
                self.rule_out(format!(
                    "it stands traces of modifier only, and there are {} %",
                    rounded(100.0 * question.modifier_fraction)
                ));
            }
            Modifier::Volatile if !is_neat => self.on_condition(format!(
                "all that is in the mobile phase ({named}) must evaporate"
            )),
            _ => {}
        }
    }

    fn on_light(
        &mut self,
        detector: &Detector,
        question: &DetectorQuestion,
        cut_off: Option<&CutOff>,
    ) {
        if !detector.needs_wavelength {
            return;
        }
        if let (Some(cut_off), Some(wavelength)) = (cut_off, question.wavelength) {
            let said = format!(
                "{} absorbs below {} nm ({})",
                cut_off.name,
                rounded(cut_off.wavelength * 1e9),
                cut_off.standing()
            );
            if wavelength < cut_off.wavelength {
                self.rule_out(said);
            } else if wavelength - cut_off.wavelength < ONLY_JUST {
                self.on_condition(said);
            }
        }
        if question.wavelength.is_none() && !question.modifiers.is_empty() {
            self.on_condition(
                "the wavelength must lie above the cut-off of the modifier and its additives",
            );
        }
    }

    fn on_change(&mut self, detector: &Detector, question: &DetectorQuestion) {
        match detector.gradient {
            Tolerance::Spoiled if question.is_programmed => {
                self.rule_out("a program of composition or density carries its baseline away");
            }
            Tolerance::Drifts if question.is_programmed => {
                self.on_condition("its baseline drifts with the program");
            }
            _ => {}
        }
        if detector.pulsation == Tolerance::Spoiled && question.pressure_ripple > RIPPLE {
            self.rule_out(format!(
                "a ripple of {} % of the pressure is more than the {} % it stands",
                rounded(100.0 * question.pressure_ripple),
                rounded(100.0 * RIPPLE)
            ));
        }
    }

    fn on_solute(&mut self, detector: &Detector, question: &DetectorQuestion) {
        if detector.needs_chromophore {
            match question.has_chromophore {
                Some(false) => self.rule_out("the solute does not absorb light"),
                Some(true) => {}
                None => self.on_condition("the solute must absorb light"),
            }
        }
        match (detector.needs_volatility, question.is_volatile) {
            (Volatility::Volatile, Some(false)) => self.rule_out("the solute does not evaporate"),
            (Volatility::Involatile, Some(true)) => {
                self.rule_out("the solute evaporates with the mobile phase");
            }
            (Volatility::Volatile, None) => self.on_condition("the solute must evaporate"),
            (Volatility::Involatile, None) => self.on_condition("the solute must not evaporate"),
            _ => {}
        }
        if detector.is_destructive && question.is_collected {
            self.on_condition("it destroys the solute: only a split of the stream may reach it");
        }
    }

    fn on_flow(&mut self, detector: &Detector, question: &DetectorQuestion) {
        let Some(largest) = detector.largest_gas_flow else {
            return;
        };
        let ratio = question.gas_flow / largest;
        if ratio > 1.0 {
            self.on_condition(format!(
                "{} mL/min of gas are {} times what it stands: split the stream",
                rounded(question.gas_flow * 6e7),
                rounded(ratio)
            ));
        }
    }
}

/// What ripple and drift do to the refractive index at a detector.
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
/// let noise = densepath::hardware::refractive_index_noise(&stream.state, 1e5, 0.0)?;
/// // Density and refractive index go together.
/// assert!(noise.by_pressure > 0.0 && noise.density_by_pressure > 0.0 && noise.by_temperature == 0.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RefractiveIndexNoise {
    /// Change of the refractive index with the ripple of the pressure.
    pub by_pressure: f64,
    /// Change of the refractive index with that of the temperature.
    pub by_temperature: f64,
    /// Relative change of the density with the ripple of the pressure.
    pub density_by_pressure: f64,
    /// Relative change of the density with that of the temperature.
    pub density_by_temperature: f64,
}

/// Noise of the refractive index in a state, for a ripple of the pressure in Pa and of the temperature in K, by the library's own
/// refractive index one ripple aside.
///
/// Errors: 101 for a negative ripple; those of the states; 202 for a fluid without a refractive index.
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
/// let noise = densepath::hardware::refractive_index_noise(&stream.state, 1e5, 0.1)?;
/// // kappa_T dp.
/// let expected = stream.state.isothermal_compressibility()? * 1e5;
/// assert!((noise.density_by_pressure / expected - 1.0).abs() < 0.05);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn refractive_index_noise(
    state: &State,
    pressure_ripple: f64,
    temperature_ripple: f64,
) -> Result<RefractiveIndexNoise> {
    not_negative(Quantity::Pressure, pressure_ripple)?;
    not_negative(Quantity::Temperature, temperature_ripple)?;
    let (t, p) = (state.temperature(), state.pressure());
    let at = |temperature: f64, pressure: f64| State::from_tp(state.fluid(), temperature, pressure);
    // Symmetric about the state, so that only the odd part of the change counts.
    let (up, down) = (
        at(t, p + 0.5 * pressure_ripple)?,
        at(t, p - 0.5 * pressure_ripple)?,
    );
    let (warm, cold) = (
        at(t + 0.5 * temperature_ripple, p)?,
        at(t - 0.5 * temperature_ripple, p)?,
    );
    Ok(RefractiveIndexNoise {
        by_pressure: up.refractive_index()? - down.refractive_index()?,
        by_temperature: warm.refractive_index()? - cold.refractive_index()?,
        density_by_pressure: (up.density() - down.density()) / state.density(),
        density_by_temperature: (warm.density() - cold.density()) / state.density(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, stream_at};

    fn question() -> DetectorQuestion {
        DetectorQuestion {
            gas_flow: 1e-8,
            ..DetectorQuestion::default()
        }
    }

    fn of<'a>(ranked: &'a [RankedDetector], name: &str) -> &'a RankedDetector {
        ranked
            .iter()
            .find(|ranked| ranked.detector.name == name)
            .unwrap()
    }

    #[test]
    fn a_neat_capillary_has_its_flame_and_loses_it_to_a_modifier() {
        let ranked = rank_detectors(&question()).unwrap();
        assert_eq!(of(&ranked, "flame ionisation").verdict, Verdict::Suits);
        assert_eq!(of(&ranked, "conductivity").verdict, Verdict::Unsuited);
        let modified = DetectorQuestion {
            modifiers: vec!["methanol".to_owned()],
            modifier_fraction: 0.05,
            wavelength: Some(220e-9),
            has_chromophore: Some(true),
            ..question()
        };
        let ranked = rank_detectors(&modified).unwrap();
        let flame = of(&ranked, "flame ionisation");
        assert_eq!(flame.verdict, Verdict::Unsuited);
        assert!(flame.reasons[0].contains("methanol"));
        assert_eq!(of(&ranked, "diode array").verdict, Verdict::Suits);
        assert!(ranked.is_sorted_by_key(|ranked| ranked.verdict));
        let short = DetectorQuestion {
            wavelength: Some(200e-9),
            ..modified
        };
        let ranked = rank_detectors(&short).unwrap();
        let opaque = of(&ranked, "diode array");
        assert_eq!(opaque.verdict, Verdict::Unsuited);
        assert_eq!(
            opaque.reasons[0],
            "methanol absorbs below 205 nm (2 sources agree)"
        );
        let traces = DetectorQuestion {
            modifiers: vec!["water".to_owned()],
            modifier_fraction: 0.001,
            ..question()
        };
        assert_eq!(
            of(&rank_detectors(&traces).unwrap(), "flame ionisation").verdict,
            Verdict::Conditions
        );
    }

    #[test]
    fn programs_pulsation_and_flow_count() {
        let hard = DetectorQuestion {
            is_programmed: true,
            pressure_ripple: 0.01,
            gas_flow: 2.66e-5,
            is_collected: true,
            ..question()
        };
        let ranked = rank_detectors(&hard).unwrap();
        assert_eq!(of(&ranked, "refractive index").verdict, Verdict::Unsuited);
        assert_eq!(of(&ranked, "refractive index").reasons.len(), 2);
        let flame = of(&ranked, "flame ionisation");
        assert_eq!(flame.verdict, Verdict::Conditions);
        // 1594 mL/min against 50: 32 times.
        assert!(
            flame.reasons.iter().any(|reason| reason.contains("32")),
            "{:?}",
            flame.reasons
        );
    }

    #[test]
    fn the_tables_are_whole() {
        assert_eq!(detectors().unwrap().len(), 14);
        let longest = cut_off_of(["carbon dioxide", "methanol", "acetic acid"])
            .unwrap()
            .unwrap();
        assert_eq!(
            (longest.name.as_str(), longest.wavelength),
            ("acetic acid", 230e-9)
        );
        assert_eq!(cut_off_of(["unobtainium"]).unwrap_err().code(), 202);
        assert_eq!(cut_off_of([]), Ok(None));
    }

    #[test]
    fn a_cut_off_says_where_it_comes_from() {
        let of = |name: &str| cut_off_of([name]).unwrap().unwrap();
        assert_eq!(of("methanol").standing(), "2 sources agree");
        assert_eq!(of("n-heptane").standing(), "by one source");
        // Every reading has been read somewhere: of what was found nowhere, such as diethylamine, nothing is told.
        let mut readings = cut_offs().unwrap().iter().flat_map(|entry| &entry.readings);
        assert!(readings.all(|reading| reading.source.len() > 30));
        assert_eq!(cut_off_of(["diethylamine"]).unwrap_err().code(), 202);
        let ethyl_acetate = of("ethyl acetate");
        assert!(close(ethyl_acetate.spread(), 4e-9, 1e-9));
        assert_eq!(ethyl_acetate.standing(), "another source says 256 nm");
        assert!(ethyl_acetate.readings[1].source.contains("Sadek"));
        for (wavelength, verdict) in [
            (204e-9, Verdict::Unsuited),
            (207e-9, Verdict::Conditions),
            (215e-9, Verdict::Suits),
        ] {
            let asked = DetectorQuestion {
                modifiers: vec!["methanol".to_owned()],
                modifier_fraction: 0.1,
                wavelength: Some(wavelength),
                has_chromophore: Some(true),
                ..question()
            };
            let ranked = rank_detectors(&asked).unwrap();
            let found = ranked
                .iter()
                .find(|ranked| ranked.detector.name == "diode array");
            assert_eq!(found.unwrap().verdict, verdict, "{wavelength}");
        }
    }

    /// Relative change of the density per bar and per 0.1 K at 40 degC: CoolProp 8.0.0.
    #[test]
    fn a_ripple_near_the_critical_point_is_seen() {
        for (bar, by_pressure, by_temperature) in
            [(100.0, 1.17e-2, -3.6e-3), (150.0, 2.0e-3, -9.6e-4)]
        {
            let state = stream_at(40.0, bar, 1e-5).state;
            let noise = refractive_index_noise(&state, 1e5, 0.1).unwrap();
            assert!(
                close(noise.density_by_pressure, by_pressure, 0.05),
                "{noise:?}"
            );
            assert!(
                close(noise.density_by_temperature, by_temperature, 0.1),
                "{noise:?}"
            );
            // n - 1 is nearly proportional to the density.
            let n = state.refractive_index().unwrap();
            assert!(close(
                noise.by_pressure / (n - 1.0),
                noise.density_by_pressure,
                0.05
            ));
            assert!(noise.by_temperature < 0.0);
        }
        assert!(refractive_index_noise(&stream_at(40.0, 150.0, 1e-5).state, -1.0, 0.0).is_err());
    }
}
