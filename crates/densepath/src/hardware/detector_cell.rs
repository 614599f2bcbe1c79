//! The cell of a detector that looks at the dense mobile phase.

use fluid::error::{Error, not_negative, positive, significant};
use fluid::notice::rounded;
use fluid::num::text::nearest;
use fluid::units::BAR;
use fluid::{Fluid, Notice, NoticeCode, Quantity, Result};

use super::channel::one_phase;
use super::detector_choice::{CutOff, Detector, ONLY_JUST, Side, cut_off_of, detectors};
use super::{BandShare, Element, Fact, Outlet, Role, Stream, Surroundings};
use crate::flow::bands::{MIXED, PLUG, variance};
use crate::flow::peak::Tail;
use crate::fluid;

/// Nanometres in a metre.
const NANOMETRE: f64 = 1e9;
/// Share of its rating from which the pressure in a cell is worth a caution (common practice, no source).
const NEAR_RATING: f64 = 0.9;

/// A flow cell with the time constant of its detector.
///
/// ```
/// use densepath::hardware::{DetectorCell, Element, Role};
/// assert_eq!(DetectorCell::new(10e-9)?.role(), Role::Detection);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DetectorCell {
    volume: f64,
    divisor: f64,
    time_constant: f64,
    pressure_limit: Option<f64>,
    detector: Option<&'static Detector>,
    wavelength: Option<f64>,
}

impl DetectorCell {
    /// A cell of a volume V in m3 that the band crosses as a plug, with a prompt detector and no rating.
    ///
    /// Errors: 101 for a volume not above zero.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::DetectorCell::new(0.0).unwrap_err().code(), 101);
    /// ```
    pub fn new(volume: f64) -> Result<Self> {
        Ok(Self {
            volume: positive(Quantity::Volume, volume)?,
            divisor: PLUG,
            time_constant: 0.0,
            pressure_limit: None,
            detector: None,
            wavelength: None,
        })
    }

    /// The cell with another divisor K of its variance `V^2/K`: from 12 of a plug to 1 of a mixed volume.
    ///
    /// Errors: 101 outside 1 to 12.
    ///
    /// ```
    /// use densepath::hardware::DetectorCell;
    /// assert!(DetectorCell::new(10e-9)?.with_divisor(1.0).is_ok());
    /// assert_eq!(DetectorCell::new(10e-9)?.with_divisor(13.0).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_divisor(self, divisor: f64) -> Result<Self> {
        if !(MIXED..=PLUG).contains(&divisor) {
            return Err(Error::Domain {
                quantity: Quantity::Ratio,
                value: divisor,
                rule: "from 1 of a mixed volume to 12 of a plug",
            });
        }
        Ok(Self { divisor, ..self })
    }

    /// The cell with a detector of a time constant tau in s, whose variance is `tau^2`. Error 101 if negative.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::DetectorCell::new(10e-9)?.with_time_constant(-0.1).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_time_constant(self, time_constant: f64) -> Result<Self> {
        Ok(Self {
            time_constant: not_negative(Quantity::Time, time_constant)?,
            ..self
        })
    }

    /// The cell with a pressure rating in Pa, absolute. Error 101 if it is not above zero.
    ///
    /// ```
    /// use densepath::hardware::DetectorCell;
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
    /// // At 150 bar a cell for 100 bar has something to tell.
    /// let notices = |limit| DetectorCell::new(10e-9)?.with_pressure_limit(limit)?.pass(&stream, &room).map(|outlet| outlet.notices.len());
    /// assert!(notices(100e5)? > notices(400e5)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_pressure_limit(self, pressure_limit: f64) -> Result<Self> {
        Ok(Self {
            pressure_limit: Some(positive(Quantity::Pressure, pressure_limit)?),
            ..self
        })
    }

    /// The cell of one of [`detectors`] that looks at the dense side; of one that works with light the mobile phase's ultraviolet cut-off
    /// is told.
    ///
    /// Errors: 104 for a name that is none of theirs.
    ///
    /// ```
    /// use densepath::hardware::{DetectorCell, Side, detectors};
    /// // Only what looks at the dense side has such a cell.
    /// for detector in detectors()? {
    ///     let fits = DetectorCell::new(10e-9)?.with_detector(&detector.name).is_ok();
    ///     assert_eq!(fits, detector.side == Side::Dense);
    /// }
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_detector(self, name: &str) -> Result<Self> {
        let dense = || {
            detectors().map(|known| known.iter().filter(|detector| detector.side == Side::Dense))
        };
        let found = dense()?.find(|detector| detector.name == name);
        let Some(detector) = found else {
            let hint = nearest(name, dense()?.map(|detector| detector.name.as_str()))
                .map_or(String::new(), |near| format!("; did you mean \"{near}\"?"));
            return Err(Error::Argument {
                argument: "detector".to_owned(),
                expected: "the name of a detector that looks at the dense mobile phase",
                got: format!("\"{name}\"{hint}"),
            });
        };
        Ok(Self {
            detector: Some(detector),
            ..self
        })
    }

    /// The cell with the wavelength in m that its detector looks at. Error 101 if it is not above zero.
    ///
    /// ```
    /// use densepath::hardware::DetectorCell;
    /// assert!(DetectorCell::new(10e-9)?.with_wavelength(220e-9).is_ok());
    /// assert_eq!(DetectorCell::new(10e-9)?.with_wavelength(0.0).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_wavelength(self, wavelength: f64) -> Result<Self> {
        Ok(Self {
            wavelength: Some(positive(Quantity::Wavelength, wavelength)?),
            ..self
        })
    }

    /// Whether the detector works with light.
    fn needs_light(&self) -> bool {
        self.wavelength.is_some()
            || self
                .detector
                .is_some_and(|detector| detector.needs_wavelength)
    }

    /// The ultraviolet cut-off of the mobile phase, the longest among its substances, and what to know of it.
    ///
    /// Additives are no part of the fluid, and are looked at beside it.
    fn light(&self, fluid: &Fluid, additives: &[&str]) -> Result<(Option<Fact>, Vec<Notice>)> {
        if !self.needs_light() {
            return Ok((None, Vec::new()));
        }
        let mut names = fluid.substances();
        names.extend(additives);
        let (known, unknown): (Vec<&str>, Vec<&str>) = names
            .into_iter()
            .partition(|name| cut_off_of([*name]).is_ok());
        let mut notices = Vec::new();
        if !unknown.is_empty() {
            let text = format!(
                "the ultraviolet cut-off of {} is not known here: the mobile phase may be opaque at a longer wavelength than is told",
                unknown.join(" and ")
            );
            notices.push(Notice::new(NoticeCode::DetectorUnsuited, text));
        }
        let longest = cut_off_of(known)?;
        notices.extend(longest.and_then(|cut_off| self.judge_light(cut_off)));
        let fact = longest.map(|cut_off| {
            Fact::new(
                "ultraviolet cut-off",
                Quantity::Wavelength,
                cut_off.wavelength,
            )
        });
        let notices = notices.into_iter();
        Ok((
            fact,
            notices
                .map(|notice| notice.about(Quantity::Wavelength))
                .collect(),
        ))
    }

    /// Whether the wavelength lies below a cut-off or close above.
    fn judge_light(&self, cut_off: &CutOff) -> Option<Notice> {
        let (name, standing) = (&cut_off.name, cut_off.standing());
        let wavelength = self.wavelength?;
        if wavelength - cut_off.wavelength >= ONLY_JUST {
            return None;
        }
        let does = if wavelength < cut_off.wavelength {
            "absorbs there"
        } else {
            "may absorb there, by its purity"
        };
        let text = format!(
            "the detector looks at {} nm and {name}, whose cut-off is {} nm ({standing}), {does}: the baseline rises with it",
            rounded(wavelength * NANOMETRE),
            rounded(cut_off.wavelength * NANOMETRE),
        );
        Some(Notice::new(NoticeCode::DetectorUnsuited, text))
    }

    /// What the cell, passed in a time in s, does to a band that it records: variances of the volume and of the time constant, with
    /// the bracket from plug to mixed volume.
    ///
    /// *Source*: second moments of the rectangle and of the exponential.
    fn recorded(&self, time: f64) -> Result<BandShare> {
        let electronics = self.time_constant * self.time_constant;
        let cell = Tail::of_volume(time, self.divisor)?;
        let detector = Tail {
            plug_width: 0.0,
            time_constant: self.time_constant,
        };
        Ok(BandShare {
            time: cell.mean() + detector.mean(),
            time_variance: variance(time, self.divisor)? + electronics,
            bracket: Some((
                variance(time, PLUG)? + electronics,
                variance(time, MIXED)? + electronics,
            )),
            tails: vec![cell, detector],
        })
    }

    /// What the cell, passed in a time in s, does to the band that goes on: it widens by what of the volume mixes. That a detector sees the
    /// whole of it at once, and answers late, does nothing to the stream.
    ///
    /// *Source*: as of [`DetectorCell::recorded`]; the bracket from plug to mixed volume.
    fn passed(&self, time: f64) -> Result<BandShare> {
        let mixed = Tail {
            plug_width: 0.0,
            ..Tail::of_volume(time, self.divisor)?
        };
        Ok(BandShare {
            time,
            time_variance: mixed.variance(),
            bracket: Some((0.0, variance(time, MIXED)?)),
            tails: vec![mixed],
        })
    }

    /// A caution if the cell, or the pump when the outlet shuts, comes near or above the rating.
    fn judge(&self, pressure: f64, delivery_pressure: f64) -> Option<Notice> {
        let limit = self.pressure_limit?;
        let worst = pressure.max(delivery_pressure);
        if worst <= NEAR_RATING * limit {
            return None;
        }
        let text = if pressure > NEAR_RATING * limit {
            format!(
                "the cell stands at {} bar(a) and is rated for {} bar(a): a window that bursts throws glass and cold fluid",
                significant(pressure / BAR),
                significant(limit / BAR)
            )
        } else {
            format!(
                "if what follows the cell shuts, the pump's {} bar(a) reach it; it is rated for {} bar(a). Set the pump's \
                 pressure limit or a relief device below that",
                significant(delivery_pressure / BAR),
                significant(limit / BAR)
            )
        };
        Some(Notice::new(NoticeCode::Overpressure, text).about(Quantity::Pressure))
    }
}

impl Element for DetectorCell {
    fn kind(&self) -> &'static str {
        "detector_cell"
    }

    fn role(&self) -> Role {
        Role::Detection
    }

    fn pass(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Outlet> {
        one_phase(&inlet.state, 0.0)?;
        let flow = positive(Quantity::VolumeFlowRate, inlet.volume_flow_rate())?;
        let time = self.volume / flow;
        let (cut_off, mut notices) = self.light(inlet.state.fluid(), surroundings.additives)?;
        notices.extend(self.judge(inlet.state.pressure(), surroundings.delivery_pressure));
        let solute = surroundings.solute;
        let volume = Fact::new("volume", Quantity::Volume, self.volume);
        Ok(Outlet {
            hold_up_time: time,
            band: solute.map(|_| self.passed(time)).transpose()?,
            recorded: solute.map(|_| self.recorded(time)).transpose()?,
            facts: [volume].into_iter().chain(cut_off).collect(),
            notices,
            ..Outlet::of(inlet.clone())
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::bands::plate_loss;
    use crate::hardware::testing::{close, naphthalene, stream_at, surroundings};

    fn cell(microlitres: f64) -> DetectorCell {
        DetectorCell::new(microlitres * 1e-9).unwrap()
    }

    /// Variance in uL2 of a cell, seen by a stream.
    fn volume_variance(cell: &DetectorCell) -> f64 {
        let inlet = stream_at(40.0, 150.0, 5e-5);
        let solute = naphthalene();
        let outlet = cell.pass(&inlet, &surroundings(Some(&solute))).unwrap();
        outlet.recorded.unwrap().time_variance * (inlet.volume_flow_rate() * 1e9).powi(2)
    }

    /// Peak variance of a column in uL2, cell in uL, divisor, loss of plates in %: independent arithmetic.
    #[test]
    fn the_plates_that_cells_cost_agree_with_independent_arithmetic() {
        for (peak, microlitres, divisor, percent) in [
            (3806.27, 8.0, PLUG, 0.139924),
            (3806.27, 8.0, MIXED, 1.65363),
            (165.259, 8.0, PLUG, 3.12636),
            (26.4524, 8.0, PLUG, 16.779),
            (26.4524, 13.0, MIXED, 86.4661),
        ] {
            let cell = cell(microlitres).with_divisor(divisor).unwrap();
            let loss = plate_loss(peak, volume_variance(&cell)).unwrap();
            assert!(close(100.0 * loss, percent, 1e-5));
        }
    }

    #[test]
    fn a_time_constant_adds_its_square() {
        let slow = cell(8.0).with_time_constant(0.1).unwrap();
        let inlet = stream_at(40.0, 150.0, 5e-5);
        let added = volume_variance(&slow) - volume_variance(&cell(8.0));
        assert!(close(
            added,
            (0.1 * inlet.volume_flow_rate() * 1e9).powi(2),
            1e-9
        ));
    }

    /// The band that goes on has passed the whole volume, and only what mixes has widened it: nothing of a plug, all of a mixed volume.
    #[test]
    fn what_goes_on_is_not_what_is_recorded() {
        let inlet = stream_at(40.0, 150.0, 5e-5);
        let solute = naphthalene();
        let time = 8e-9 / inlet.volume_flow_rate();
        for (divisor, expected) in [(PLUG, 0.0), (4.0, 2.0 / 11.0), (MIXED, 1.0)] {
            let cell = cell(8.0).with_divisor(divisor).unwrap();
            let slow = cell.with_time_constant(0.1).unwrap();
            let outlet = slow.pass(&inlet, &surroundings(Some(&solute))).unwrap();
            let passed = outlet.band.unwrap();
            assert!(close(passed.time, time, 1e-12));
            assert!((passed.time_variance / (time * time) - expected).abs() < 1e-12);
            assert!(close(passed.bracket.unwrap().1, time * time, 1e-12));
        }
    }

    #[test]
    fn a_cell_near_its_rating_and_a_pump_above_it_are_cautions() {
        let inlet = stream_at(40.0, 150.0, 5e-5);
        let notices = |limit: f64, delivery_pressure: f64| {
            let surroundings = Surroundings {
                delivery_pressure,
                ..surroundings(None)
            };
            cell(8.0)
                .with_pressure_limit(limit)
                .unwrap()
                .pass(&inlet, &surroundings)
                .unwrap()
                .notices
        };
        assert!(notices(400e5, 200e5).is_empty());
        for (limit, delivery) in [(160e5, 155e5), (200e5, 300e5)] {
            assert_eq!(notices(limit, delivery)[0].code, NoticeCode::Overpressure);
        }
        assert!(
            notices(160e5, 155e5)[0]
                .text
                .contains("stands at 150 bar(a)")
        );
        assert!(
            notices(200e5, 300e5)[0]
                .text
                .contains("300 bar(a) reach it")
        );
    }

    /// Cut-offs: methanol 205 nm (Snyder et al. 1997), propan-1-ol 210 nm (Sadek 2004), see the data file.
    #[test]
    fn a_cell_that_needs_light_tells_the_cut_off_of_its_mobile_phase() {
        let told = |cell: DetectorCell, modifier: &str| {
            let mixture = Fluid::mixture(&[("carbon dioxide", 0.9), (modifier, 0.1)]).unwrap();
            let state = fluid::State::from_tp(&mixture, 313.15, 200e5).unwrap();
            let inlet = Stream {
                state,
                mass_flow_rate: 5e-5,
            };
            let outlet = cell.pass(&inlet, &surroundings(None)).unwrap();
            let cut_off = outlet
                .facts
                .iter()
                .find(|fact| fact.quantity == Quantity::Wavelength);
            let codes: Vec<_> = outlet.notices.iter().map(|notice| notice.code).collect();
            (cut_off.map(|fact| fact.value), codes)
        };
        assert_eq!(told(cell(8.0), "methanol"), (None, vec![]));
        let blind = cell(8.0).with_detector("refractive index").unwrap();
        assert_eq!(told(blind, "methanol"), (None, vec![]));
        let array = cell(8.0).with_detector("diode array").unwrap();
        assert_eq!(told(array, "methanol"), (Some(205e-9), vec![]));
        assert_eq!(told(array, "propan-1-ol"), (Some(210e-9), vec![]));
        for (nanometres, codes) in [
            (200.0, vec![NoticeCode::DetectorUnsuited]),
            (207.0, vec![NoticeCode::DetectorUnsuited]),
            (254.0, vec![]),
        ] {
            let at = cell(8.0).with_wavelength(nanometres * 1e-9).unwrap();
            assert_eq!(told(at, "methanol"), (Some(205e-9), codes));
        }
        // Of nitrogen no cut-off is held.
        let gap = told(array, "nitrogen");
        assert_eq!(gap, (Some(188e-9), vec![NoticeCode::DetectorUnsuited]));
        let wrong = cell(8.0).with_detector("flame ionisation").unwrap_err();
        assert_eq!(wrong.code(), 104);
    }

    #[test]
    fn impossible_cells_are_refused() {
        assert_eq!(DetectorCell::new(0.0).unwrap_err().code(), 101);
        assert_eq!(cell(1.0).with_divisor(13.0).unwrap_err().code(), 101);
        assert_eq!(cell(1.0).with_time_constant(-1.0).unwrap_err().code(), 101);
        assert_eq!(cell(1.0).with_pressure_limit(0.0).unwrap_err().code(), 101);
        assert_eq!(cell(1.0).with_wavelength(0.0).unwrap_err().code(), 101);
    }
}
