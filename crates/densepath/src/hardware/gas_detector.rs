//! A detector that looks at the gas behind the restrictor.

use std::sync::OnceLock;

use densepath_fluid::error::{Error, Result, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::num::text::nearest;
use densepath_fluid::units::MILLILITRE_PER_MINUTE;
use densepath_fluid::{Fluid, Notice, NoticeCode, Quantity};
use serde::Deserialize;

use super::vent::gas_volume_flow_rate;
use super::{Element, Fact, Outlet, Role, Stream, Surroundings, share_beside};

/// What is known of one sort of detector: common practice, no source.
///
/// ```
/// use densepath::hardware::detector_records;
/// assert!(detector_records()?.iter().all(|record| record.flow_max_millilitre_per_minute > 0.0));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct DetectorRecord {
    /// The word for it.
    pub word: String,
    /// Its name in plain words.
    pub name: String,
    /// Largest flow of gas in mL/min at 20 degC and 101325 Pa that it usually takes.
    #[serde(rename = "flow_max / (mL/min)")]
    pub flow_max_millilitre_per_minute: f64,
    /// Whether it burns hydrogen.
    pub is_flame: bool,
    /// Where the restrictor ends.
    pub restrictor: String,
    /// Whether it works with an organic modifier.
    pub takes_organic_modifier: bool,
    /// What a modifier does to it.
    pub modifier: String,
}

#[derive(Deserialize)]
struct Records {
    detectors: Vec<DetectorRecord>,
}

/// The sorts of detectors for gas. Error 901 if the table of the library cannot be read.
///
/// ```
/// use densepath::hardware::detector_records;
/// assert!(detector_records()?.iter().any(|record| record.is_flame));
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn detector_records() -> Result<&'static [DetectorRecord]> {
    static RECORDS: OnceLock<Option<Vec<DetectorRecord>>> = OnceLock::new();
    let read = || {
        let text = include_str!("../../data/gas_detectors.json");
        serde_json::from_str::<Records>(text)
            .ok()
            .map(|records| records.detectors)
    };
    RECORDS.get_or_init(read).as_deref().ok_or(Error::Internal {
        place: "hardware::gas_detector, the table of detectors",
    })
}

/// A detector for gas: flame ionisation, mass spectrometry, thermal conductivity and the like.
///
/// ```
/// use densepath::{Fluid, hardware::GasDetector};
/// let gas = GasDetector::new().gas(&Fluid::new("carbon dioxide")?, 1e-6)?;
/// // Without a stated limit there is no ratio to it.
/// assert!(gas.flow_ratio.is_none());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GasDetector {
    record: Option<&'static DetectorRecord>,
    flow_limit: Option<f64>,
    is_flame: bool,
}

/// The gas at the detector.
///
/// ```
/// use densepath::{Fluid, hardware::GasDetector};
/// // Twice what the detector takes: as much has to go to the vent.
/// let fluid = Fluid::new("carbon dioxide")?;
/// let flow = GasDetector::new().gas(&fluid, 1e-6)?.gas_volume_flow_rate;
/// let gas = GasDetector::new().with_flow_limit(flow / 2.0)?.gas(&fluid, 1e-6)?;
/// assert!(gas.flow_ratio.is_some_and(|ratio| (ratio - 2.0).abs() < 1e-9));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct DetectorGas {
    /// Volume flow rate of the gas in m3/s at 20 degC and 101325 Pa.
    pub gas_volume_flow_rate: f64,
    /// The flow over the largest that the detector takes, if that is stated. Above 1 the flow has to be split, vent to
    /// detector at least as this number less one is to one.
    pub flow_ratio: Option<f64>,
    /// What to know.
    pub notices: Vec<Notice>,
}

impl GasDetector {
    /// A detector without a stated limit.
    ///
    /// ```
    /// assert!(densepath::hardware::GasDetector::new().record().is_none());
    /// ```
    pub fn new() -> Self {
        Self {
            record: None,
            flow_limit: None,
            is_flame: false,
        }
    }

    /// A detector of one of the sorts of [`detector_records`], with the flow that these usually take.
    ///
    /// Error 104 for a word that is none of theirs.
    ///
    /// ```
    /// use densepath::hardware::{GasDetector, detector_records};
    /// for record in detector_records()? {
    ///     assert!(GasDetector::of_sort(&record.word).is_ok());
    /// }
    /// assert_eq!(GasDetector::of_sort("crystal ball").unwrap_err().code(), 104);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn of_sort(word: &str) -> Result<Self> {
        let records = detector_records()?;
        let found = records.iter().find(|record| record.word == word);
        let record = found.ok_or_else(|| {
            let words = records.iter().map(|record| record.word.as_str());
            let hint = nearest(word, words)
                .map_or(String::new(), |word| format!("; did you mean {word}?"));
            Error::Argument {
                argument: "detector".to_owned(),
                expected: "the word for a sort of detector for gas",
                got: format!("\"{word}\"{hint}"),
            }
        })?;
        Ok(Self {
            record: Some(record),
            flow_limit: Some(record.flow_max_millilitre_per_minute * MILLILITRE_PER_MINUTE),
            is_flame: record.is_flame,
        })
    }

    /// What is known of its sort, if that is stated.
    ///
    /// ```
    /// use densepath::hardware::{GasDetector, detector_records};
    /// let word = &detector_records()?[0].word;
    /// assert!(GasDetector::of_sort(word)?.record().is_some_and(|record| record.word == *word));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn record(&self) -> Option<&'static DetectorRecord> {
        self.record
    }

    /// The detector with the largest gas flow it takes, in m3/s at 20 degC and 101325 Pa.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::GasDetector::new().with_flow_limit(0.0).unwrap_err().code(), 101);
    /// ```
    pub fn with_flow_limit(self, flow_limit: f64) -> Result<Self> {
        Ok(Self {
            flow_limit: Some(positive(Quantity::VolumeFlowRate, flow_limit)?),
            ..self
        })
    }

    /// The detector with a hydrogen flame.
    ///
    /// ```
    /// use densepath::hardware::GasDetector;
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
    /// let notices = |detector: GasDetector| detector.gas(&fluid, 1e-6).map(|gas| gas.notices.len());
    /// // Hydrogen is something to know.
    /// assert!(notices(GasDetector::new().with_flame())? > notices(GasDetector::new())?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    #[must_use]
    pub fn with_flame(self) -> Self {
        Self {
            is_flame: true,
            ..self
        }
    }

    /// The gas of a mass flow rate in kg/s.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{GasDetector, vent::gas_volume_flow_rate}};
    /// let fluid = Fluid::new("carbon dioxide")?;
    /// assert_eq!(GasDetector::new().gas(&fluid, 1e-6)?.gas_volume_flow_rate, gas_volume_flow_rate(&fluid, 1e-6)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn gas(&self, fluid: &Fluid, mass_flow_rate: f64) -> Result<DetectorGas> {
        let flow = gas_volume_flow_rate(fluid, mass_flow_rate)?;
        let flow_ratio = self.flow_limit.map(|limit| flow / limit);
        Ok(DetectorGas {
            gas_volume_flow_rate: flow,
            flow_ratio,
            notices: self.judge(flow, flow_ratio),
        })
    }

    fn judge(&self, flow: f64, flow_ratio: Option<f64>) -> Vec<Notice> {
        let mut notices = Vec::new();
        if let Some(ratio) = flow_ratio.filter(|ratio| *ratio > 1.0) {
            notices.push(
                Notice::new(
                    NoticeCode::DetectorUnsuited,
                    format!(
                        "{} mL/min of gas (20 degC, 1 atm) is more than the detector takes: split {} : 1, vent to detector",
                        rounded(flow / MILLILITRE_PER_MINUTE),
                        rounded(ratio - 1.0)
                    ),
                )
                .about(Quantity::VolumeFlowRate),
            );
        }
        if self.is_flame {
            notices.push(Notice::new(
                NoticeCode::Flammable,
                "the detector burns hydrogen: test its gas lines for leaks, watch for flame-out by surges of the mobile \
                 phase, and keep to local codes for flammable gas",
            ));
            notices.push(Notice::new(
                NoticeCode::HotSurface,
                "restrictor tip and detector are hot: let them cool before touching",
            ));
        }
        notices
    }
}

impl GasDetector {
    fn judge_modifier(&self, mass_fraction: f64) -> Option<Notice> {
        match self.record {
            Some(record) if !record.takes_organic_modifier => {
                let text = format!(
                    "{} % of the mass that reaches the detector ({}) is modifier: {}",
                    rounded(100.0 * mass_fraction),
                    record.name,
                    record.modifier
                );
                Some(Notice::new(NoticeCode::DetectorUnsuited, text).about(Quantity::MassFraction))
            }
            None if self.is_flame => Some(burning_modifier(mass_fraction)),
            _ => None,
        }
    }
}

impl Element for GasDetector {
    fn kind(&self) -> &'static str {
        "gas_detector"
    }

    fn role(&self) -> Role {
        Role::Detection
    }

    fn pass(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Outlet> {
        let gas = self.gas(inlet.state.fluid(), inlet.mass_flow_rate)?;
        let mut outlet = Outlet::of(inlet.clone());
        outlet.facts.push(Fact::new(
            "gas at the detector (20 degC, 1 atm)",
            Quantity::VolumeFlowRate,
            gas.gas_volume_flow_rate,
        ));
        if let Some(ratio) = gas.flow_ratio {
            outlet.facts.push(Fact::new(
                "flow over the largest that the detector takes",
                Quantity::Ratio,
                ratio,
            ));
        }
        outlet.notices = gas.notices;
        let share = share_beside(inlet.state.fluid(), surroundings.carrier);
        if share.mass_fraction > 0.0 {
            outlet.facts.push(Fact::new(
                "modifier that comes with the gas",
                Quantity::MassFlowRate,
                share.mass_fraction * inlet.mass_flow_rate,
            ));
            outlet
                .notices
                .extend(self.judge_modifier(share.mass_fraction));
        }
        Ok(outlet)
    }
}

fn burning_modifier(mass_fraction: f64) -> Notice {
    let text = format!(
        "{} % of the mass that reaches the flame is modifier: an organic one burns there and covers the signal, and any cools \
         the flame. Use a detector that does not burn, or no modifier",
        rounded(100.0 * mass_fraction)
    );
    Notice::new(NoticeCode::DetectorUnsuited, text).about(Quantity::MassFraction)
}

impl Default for GasDetector {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{SURROUNDINGS, close, co2, stream};
    use densepath_fluid::units::{GRAM_PER_MINUTE, MILLIGRAM_PER_MINUTE};

    /// mL/min at 20 degC and 1 atm: independent computation with CoolProp 8.0.0.
    #[test]
    fn gas_of_a_capillary_and_of_a_packed_column() {
        let detector = GasDetector::new()
            .with_flow_limit(20.0 * MILLILITRE_PER_MINUTE)
            .unwrap()
            .with_flame();
        let capillary = detector.gas(&co2(), 1.29 * MILLIGRAM_PER_MINUTE).unwrap();
        let flow = capillary.gas_volume_flow_rate / MILLILITRE_PER_MINUTE;
        assert!(close(flow, 0.701337, 1e-5), "{flow}");
        assert!(capillary.flow_ratio.unwrap() < 1.0);
        assert!(
            capillary
                .notices
                .iter()
                .all(|n| n.code != NoticeCode::DetectorUnsuited)
        );
        let packed = detector.gas(&co2(), 2.932 * GRAM_PER_MINUTE).unwrap();
        let flow = packed.gas_volume_flow_rate / MILLILITRE_PER_MINUTE;
        assert!(close(flow, 1594.05, 1e-5), "{flow}");
        assert!(close(packed.flow_ratio.unwrap(), 79.7023, 1e-5));
        assert_eq!(packed.notices[0].code, NoticeCode::DetectorUnsuited);
    }

    #[test]
    fn as_a_part_it_ends_the_band_and_tells_its_gas() {
        let state = densepath_fluid::State::from_tp(&co2(), 293.15, 101_325.0).unwrap();
        let inlet = stream(state, 1.29 * MILLIGRAM_PER_MINUTE);
        let detector = GasDetector::new()
            .with_flow_limit(20.0 * MILLILITRE_PER_MINUTE)
            .unwrap();
        assert_eq!(
            (detector.kind(), detector.role()),
            ("gas_detector", Role::Detection)
        );
        let outlet = detector.pass(&inlet, &SURROUNDINGS).unwrap();
        assert_eq!(outlet.stream.mass_flow_rate, inlet.mass_flow_rate);
        let flow = outlet.facts[0].value / MILLILITRE_PER_MINUTE;
        assert!(close(flow, 0.701337, 1e-5));
        assert!(close(outlet.facts[1].value, 0.701337 / 20.0, 1e-5));
    }

    #[test]
    fn sorts_of_detectors_bring_what_is_known_of_them() {
        let words: Vec<_> = detector_records()
            .unwrap()
            .iter()
            .map(|record| &record.word)
            .collect();
        assert!(words.len() >= 12);
        let flame = GasDetector::of_sort("flame_ionisation").unwrap();
        let gas = flame.gas(&co2(), 2.932 * GRAM_PER_MINUTE).unwrap();
        assert!(close(gas.flow_ratio.unwrap(), 79.7023, 1e-5));
        let fluid = Fluid::mixture(&[("carbon dioxide", 0.98), ("methanol", 0.02)]).unwrap();
        let state = densepath_fluid::State::from_tp(&fluid, 323.15, 101_325.0).unwrap();
        let outlet = |word: &str| {
            let detector = GasDetector::of_sort(word).unwrap();
            detector
                .pass(
                    &stream(state.clone(), 1.29 * MILLIGRAM_PER_MINUTE),
                    &SURROUNDINGS,
                )
                .unwrap()
        };
        let unsuited = |word: &str| {
            let unsuited = |notice: &&Notice| notice.code == NoticeCode::DetectorUnsuited;
            outlet(word).notices.iter().filter(unsuited).count()
        };
        assert_eq!(unsuited("flame_ionisation"), 1);
        assert_eq!(unsuited("evaporative_light_scattering"), 0);
        let error = GasDetector::of_sort("flame_ionization").unwrap_err();
        assert!(error.code() == 104 && error.to_string().contains("flame_ionisation"));
    }

    #[test]
    fn impossible_flows_are_errors() {
        let detector = GasDetector::default();
        assert_eq!(detector.gas(&co2(), 0.0).unwrap_err().code(), 101);
        assert_eq!(detector.with_flow_limit(f64::NAN).unwrap_err().code(), 101);
    }
}
