//! The loop of an injection valve: what is filled in, what is injected, what runs to drain, what it costs the band.

use densepath_fluid::error::{Error, Result, not_negative, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::units::{MICROLITRE, MILLILITRE};
use densepath_fluid::{Fluid, Notice, NoticeCode, Quantity, State};

use super::vent::specific_gas_volume;
use super::{Element, Fact, LinearRestrictor, Outlet, Role, Stream, Surroundings};
use crate::flow::bands::{self, MIXED, PLUG};
use crate::flow::injection::{LoopFilling, fill_loop, plug_time};
use crate::flow::peak::Tail;

/// Loop volumes drawn from which on a loop counts as full: common practice, no source.
const FULL_LOOP: f64 = 3.0;
/// Share of the loop up to which a partial filling loses nothing, since the fastest fluid is twice as fast as the mean.
const PARTIAL_LOOP: f64 = 0.5;

/// Relative allowance for the rounding of volumes.
const ROUNDING: f64 = 1e-9;
/// Volume of gas in m3 let out on turning to load that needs no caution (common practice, no source).
const SMALL_PUFF: f64 = MILLILITRE;

/// A loop and the volume of sample drawn into it.
///
/// ```
/// let loop_ = densepath::hardware::SampleLoop::new(5e-9, 20e-9)?;
/// assert_eq!((loop_.volume(), loop_.drawn_volume()), (5e-9, 20e-9));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct SampleLoop {
    volume: f64,
    drawn_volume: f64,
    variance_divisor: f64,
    open_time: Option<f64>,
    split_ratio: f64,
    solvent: Option<Fluid>,
}

impl SampleLoop {
    /// A loop of a volume in m3 into which a volume of sample in m3 is drawn, injected as a plug.
    /// Error 101 for values that are not above zero.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::SampleLoop::new(5e-9, 0.0).unwrap_err().code(), 101);
    /// ```
    pub fn new(volume: f64, drawn_volume: f64) -> Result<Self> {
        Ok(Self {
            volume: positive(Quantity::Volume, volume)?,
            drawn_volume: positive(Quantity::Volume, drawn_volume)?,
            variance_divisor: PLUG,
            open_time: None,
            split_ratio: 0.0,
            solvent: None,
        })
    }

    /// The loop with the divisor K of the variance `V^2/K` of its injection: 12 for a plug, 1 for an exponential decay, and
    /// between for real ones.
    ///
    /// ```
    /// use densepath::hardware::SampleLoop;
    /// let plug = SampleLoop::new(5e-9, 20e-9)?;
    /// // A decay spreads twelve times as much as a plug.
    /// let decay = plug.clone().with_variance_divisor(1.0)?;
    /// assert!((decay.volume_variance()? / plug.volume_variance()? - 12.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_variance_divisor(self, variance_divisor: f64) -> Result<Self> {
        if !(MIXED..=PLUG).contains(&variance_divisor) {
            return Err(Error::Domain {
                quantity: Quantity::Ratio,
                value: variance_divisor,
                rule: "between 1 (exponential) and 12 (plug)",
            });
        }
        Ok(Self {
            variance_divisor,
            ..self
        })
    }

    /// The groove of a rotor that takes the place of a loop, always full; see [`crate::flow::injection::ROTOR_VOLUMES`].
    /// Error 101 for a volume not above zero.
    ///
    /// ```
    /// let rotor = densepath::hardware::SampleLoop::rotor(60e-12)?;
    /// // Always full: what is injected is the groove.
    /// assert_eq!(rotor.filling()?.injected_volume, 60e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn rotor(volume: f64) -> Result<Self> {
        Self::new(volume, FULL_LOOP * volume)
    }

    /// The loop turned back after an open time in s, so that only what has left by then is injected: a timed split. Error 101 if it
    /// is not above zero.
    ///
    /// ```
    /// use densepath::hardware::SampleLoop;
    /// let timed = SampleLoop::new(5e-9, 20e-9)?.with_open_time(0.01)?;
    /// // 10 ms of 50 nL/s let half a nanolitre out.
    /// assert!((timed.released_volume(50e-9)? - 0.5e-9).abs() < 1e-15);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_open_time(self, open_time: f64) -> Result<Self> {
        Ok(Self {
            open_time: Some(positive(Quantity::Time, open_time)?),
            ..self
        })
    }

    /// The loop with a split behind it, by the ratio of the flow to the vent to that of the column. Error 101 if it is negative.
    ///
    /// ```
    /// use densepath::hardware::SampleLoop;
    /// assert!(SampleLoop::new(5e-9, 20e-9)?.with_split_ratio(20.0).is_ok());
    /// assert_eq!(SampleLoop::new(5e-9, 20e-9)?.with_split_ratio(-1.0).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_split_ratio(self, split_ratio: f64) -> Result<Self> {
        Ok(Self {
            split_ratio: not_negative(Quantity::Ratio, split_ratio)?,
            ..self
        })
    }

    /// The loop with the solvent of its sample, whose phase is then followed to the column.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{Element, SampleLoop}};
    /// let loop_ = SampleLoop::new(5e-9, 20e-9)?.with_solvent(Fluid::new("methanol")?);
    /// assert!(loop_.sample_solvent().is_some_and(|solvent| solvent.name() == "methanol"));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    #[must_use]
    pub fn with_solvent(self, solvent: Fluid) -> Self {
        Self {
            solvent: Some(solvent),
            ..self
        }
    }

    /// Volume in m3 that leaves the valve at a volume flow rate in m3/s through it: what was filled, or less with a timed split.
    ///
    /// ```
    /// // Without a timed split all that was filled leaves.
    /// assert_eq!(densepath::hardware::SampleLoop::new(5e-9, 20e-9)?.released_volume(50e-9)?, 5e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn released_volume(&self, volume_flow_rate: f64) -> Result<f64> {
        let filled = self.filling()?.injected_volume;
        Ok(match self.open_time {
            Some(time) => filled.min(positive(Quantity::VolumeFlowRate, volume_flow_rate)? * time),
            None => filled,
        })
    }

    /// Length in m of a smooth restrictor of a bore in m that passes the vent's part of the split to the room, from the state at the
    /// valve, at the temperature of the stream.
    ///
    /// Errors: 101 without a split; those of [`LinearRestrictor::length_for`].
    ///
    /// ```
    /// use densepath::hardware::SampleLoop;
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
    /// let split = |ratio| SampleLoop::new(5e-9, 20e-9).and_then(|part| part.with_split_ratio(ratio));
    /// let length = |ratio| split(ratio)?.vent_restrictor_length(&stream, 25e-6, 101_325.0);
    /// // More to the vent asks for a shorter restrictor.
    /// assert!(length(20.0)? < length(10.0)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn vent_restrictor_length(
        &self,
        inlet: &Stream,
        diameter: f64,
        room_pressure: f64,
    ) -> Result<f64> {
        positive(Quantity::Ratio, self.split_ratio)?;
        let vent = inlet.mass_flow_rate * self.split_ratio / (1.0 + self.split_ratio);
        let state = &inlet.state;
        // The length is what is sought: the one given to the constructor does not matter.
        LinearRestrictor::new(diameter, 1.0)?.length_for(
            vent,
            state.fluid(),
            state.temperature(),
            state.pressure(),
            room_pressure,
        )
    }

    /// Volume of the loop in m3.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::SampleLoop::new(5e-9, 20e-9)?.volume(), 5e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn volume(&self) -> f64 {
        self.volume
    }

    /// Volume of sample drawn in m3.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::SampleLoop::new(5e-9, 20e-9)?.drawn_volume(), 20e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn drawn_volume(&self) -> f64 {
        self.drawn_volume
    }

    /// Where the sample drawn went: at most the loop is injected.
    ///
    /// ```
    /// let filling = densepath::hardware::SampleLoop::new(5e-9, 20e-9)?.filling()?;
    /// // 20 uL into 5 uL: the loop is injected, the rest runs to drain.
    /// assert!((filling.injected_volume - 5e-9).abs() < 1e-20 && (filling.excess_volume - 15e-9).abs() < 1e-20);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn filling(&self) -> Result<LoopFilling> {
        fill_loop(self.drawn_volume, self.volume)
    }

    /// Variance in volume of the injection in m6, at the density it is injected with.
    ///
    /// ```
    /// // V^2 / 12 of a plug.
    /// let variance = densepath::hardware::SampleLoop::new(5e-9, 20e-9)?.volume_variance()?;
    /// assert!((variance / (25e-18 / 12.0) - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn volume_variance(&self) -> Result<f64> {
        bands::variance(self.filling()?.injected_volume, self.variance_divisor)
    }

    /// Volume in m3 of gas, at 20 degC and 101325 Pa, that the loop full of mobile phase sets free when it is turned to load.
    ///
    /// ```
    /// use densepath::hardware::{SampleLoop, vent::specific_gas_volume};
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
    /// // 5 uL of 780 kg/m3 set 2.1 mL of gas free.
    /// let gas = SampleLoop::new(5e-9, 20e-9)?.vented_gas(&stream.state)?;
    /// assert!((gas / (5e-9 * stream.state.density() * specific_gas_volume(&fluid)?) - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn vented_gas(&self, mobile_phase: &State) -> Result<f64> {
        Ok(self.volume * mobile_phase.density() * specific_gas_volume(mobile_phase.fluid())?)
    }

    fn judge(&self, filling: &LoopFilling, gas: f64) -> Vec<Notice> {
        let mut notices = Vec::new();
        let loop_microlitres = rounded(self.volume / MICROLITRE);
        let ratio = self.drawn_volume / self.volume;
        // Three loop volumes stay three however the two numbers were rounded.
        if ratio > PARTIAL_LOOP * (1.0 + ROUNDING) && ratio < FULL_LOOP * (1.0 - ROUNDING) {
            let text = format!(
                "{} uL drawn into a loop of {loop_microlitres} uL count as {} uL injected, but by the laminar law the loop holds \
                 {} uL of sample and {} uL ran to drain: draw at most half the loop, or at least three times the loop (common \
                 practice)",
                rounded(self.drawn_volume / MICROLITRE),
                rounded(filling.injected_volume / MICROLITRE),
                rounded(filling.laminar_volume / MICROLITRE),
                rounded(filling.laminar_loss / MICROLITRE),
            );
            notices.push(Notice::new(NoticeCode::LoopFilling, text).about(Quantity::Volume));
        }
        if gas > SMALL_PUFF {
            let text = format!(
                "turned to load, the loop of {loop_microlitres} uL lets {} mL of cold gas (20 degC, 1 atm) out at the drain and \
                 into the needle: vent it to drain first, and keep face and hands away",
                rounded(gas / MILLILITRE)
            );
            notices.push(Notice::new(NoticeCode::ColdBurn, text).about(Quantity::Volume));
        }
        notices
    }
}

impl Element for SampleLoop {
    fn kind(&self) -> &'static str {
        "injector"
    }

    fn role(&self) -> Role {
        Role::Injection
    }

    fn sample_solvent(&self) -> Option<&Fluid> {
        self.solvent.as_ref()
    }

    fn outlet(&self, inlet: &Stream, _surroundings: &Surroundings<'_>) -> Result<Stream> {
        Ok(Stream {
            mass_flow_rate: inlet.mass_flow_rate / (1.0 + self.split_ratio),
            ..inlet.clone()
        })
    }

    fn pass(&self, inlet: &Stream, _surroundings: &Surroundings<'_>) -> Result<Outlet> {
        let filling = self.filling()?;
        let gas = self.vented_gas(&inlet.state)?;
        let flow = inlet.volume_flow_rate();
        let released = self.released_volume(flow)?;
        let tail = Tail::of_volume(plug_time(released, flow)?, self.variance_divisor)?;
        let column_share = 1.0 / (1.0 + self.split_ratio);
        let mut outlet = Outlet::of(Stream {
            mass_flow_rate: inlet.mass_flow_rate * column_share,
            ..inlet.clone()
        });
        outlet.hold_up_time = self.volume / flow;
        // The middle of a plug leaves the loop when half of it has left.
        outlet.band = Some(tail.into());
        outlet.facts = vec![
            Fact::new("volume injected", Quantity::Volume, released * column_share),
            Fact::new(
                "volume drawn beyond the loop",
                Quantity::Volume,
                filling.excess_volume,
            ),
            Fact::new(
                "sample in the loop by the laminar law",
                Quantity::Volume,
                filling.laminar_volume,
            ),
            Fact::new(
                "gas let out on turning to load (20 degC, 1 atm)",
                Quantity::Volume,
                gas,
            ),
        ];
        if self.split_ratio > 0.0 {
            let vent = inlet.mass_flow_rate * (1.0 - column_share);
            outlet.facts.extend([
                Fact::new(
                    "mass flow rate to the vent of the split",
                    Quantity::MassFlowRate,
                    vent,
                ),
                Fact::new(
                    "volume to the vent of the split",
                    Quantity::Volume,
                    released * (1.0 - column_share),
                ),
            ]);
        }
        outlet.notices = self.judge(&filling, gas);
        Ok(outlet)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{
        SURROUNDINGS, close, co2, fact, stream, stream_at, surroundings,
    };
    use densepath_fluid::units::{BAR, GRAM_PER_MINUTE, from_celsius};

    fn sample_loop(microlitres: f64, drawn: f64) -> SampleLoop {
        SampleLoop::new(microlitres * MICROLITRE, drawn * MICROLITRE).unwrap()
    }

    fn mobile_phase() -> State {
        State::from_tp(&co2(), from_celsius(40.0), 150.0 * BAR).unwrap()
    }

    /// mL at 20 degC and 1 atm from 40 degC and 150 bar: independent computation with CoolProp 8.0.0.
    #[test]
    fn gas_of_a_loop_turned_to_load() {
        for (microlitres, expected) in [(5.0, 2.12095), (20.0, 8.48381), (200.0, 84.8381)] {
            let gas = sample_loop(microlitres, 1.0)
                .vented_gas(&mobile_phase())
                .unwrap();
            assert!(close(gas / MILLILITRE, expected, 1e-5));
        }
    }

    #[test]
    fn an_overfilled_loop_injects_its_volume() {
        let filling = sample_loop(20.0, 25.0).filling().unwrap();
        assert!(close(filling.injected_volume, 20.0 * MICROLITRE, 1e-12));
        assert!(close(filling.excess_volume, 5.0 * MICROLITRE, 1e-12));
        let threefold = sample_loop(5.0, 15.0).filling().unwrap();
        assert!(close(threefold.laminar_loss / MICROLITRE, 10.416_667, 1e-7));
    }

    #[test]
    fn as_a_part_it_begins_the_band() {
        let inlet = stream(mobile_phase(), 2.93214 * GRAM_PER_MINUTE);
        let part = sample_loop(10.0, 10.0);
        assert_eq!((part.kind(), part.role()), ("injector", Role::Injection));
        let outlet = part.pass(&inlet, &SURROUNDINGS).unwrap();
        let flow = inlet.volume_flow_rate();
        let band = outlet.band.unwrap();
        assert!(close(
            band.time_variance,
            (1e-8 / flow).powi(2) / 12.0,
            1e-12
        ));
        assert!(close(outlet.hold_up_time, 1e-8 / flow, 1e-12));
        assert!(close(band.time, 0.5e-8 / flow, 1e-12));
        let codes: Vec<_> = outlet.notices.iter().map(|n| n.code).collect();
        assert_eq!(codes, [NoticeCode::LoopFilling, NoticeCode::ColdBurn]);
        for good in [5.0, 30.0] {
            let outlet = sample_loop(10.0, good).pass(&inlet, &SURROUNDINGS).unwrap();
            assert_eq!(outlet.notices.len(), 1);
        }
        let rotor = sample_loop(0.06, 0.3).pass(&inlet, &SURROUNDINGS).unwrap();
        assert!(rotor.notices.is_empty());
        let mixed = part.clone().with_variance_divisor(3.0).unwrap();
        assert!(close(mixed.volume_variance().unwrap(), 1e-16 / 3.0, 1e-12));
    }

    #[test]
    fn impossible_loops_are_errors() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(SampleLoop::new(bad, 1e-9).unwrap_err().code(), 101);
            assert_eq!(SampleLoop::new(1e-9, bad).unwrap_err().code(), 101);
            let part = sample_loop(1.0, 1.0);
            assert_eq!(part.with_variance_divisor(bad).unwrap_err().code(), 101);
        }
    }

    #[test]
    fn a_timed_split_injects_what_has_left_by_then() {
        // 2.36 uL/min: 60 nL leave a rotor of 200 nL in 1.53 s.
        let state = stream_at(100.0, 200.0, 1.0).state;
        let flow = 2.356_194e-6 / 60.0 * 1e-3;
        let inlet = Stream {
            mass_flow_rate: flow * state.density(),
            state,
        };
        let timed = SampleLoop::rotor(200e-12)
            .and_then(|part| part.with_open_time(1.52789))
            .unwrap();
        assert!(close(timed.released_volume(flow).unwrap(), 60e-12, 1e-4));
        let outlet = timed.pass(&inlet, &surroundings(None)).unwrap();
        let band = outlet.band.unwrap();
        assert!(close(band.time_variance, 1.52789f64.powi(2) / 12.0, 1e-9));
        let late = SampleLoop::rotor(200e-12)
            .and_then(|part| part.with_open_time(100.0))
            .unwrap();
        assert_eq!(late.released_volume(flow).unwrap(), 200e-12);
    }

    #[test]
    fn a_flow_split_halves_flow_and_sample_and_keeps_the_mass() {
        let inlet = stream_at(40.0, 150.0, 5e-5);
        let part = SampleLoop::rotor(500e-12)
            .and_then(|part| part.with_split_ratio(22.0 / 3.0))
            .unwrap();
        let outlet = part.pass(&inlet, &surroundings(None)).unwrap();
        assert!(close(fact(&outlet, "volume injected"), 60e-12, 1e-12));
        let vent = fact(&outlet, "mass flow rate to the vent of the split");
        assert!(close(vent + outlet.stream.mass_flow_rate, 5e-5, 1e-12));
        // The plug passes in the time that it takes through the valve.
        let time = 500e-12 / inlet.volume_flow_rate();
        assert!(close(
            outlet.band.unwrap().time_variance,
            time * time / 12.0,
            1e-12
        ));
        assert!(
            SampleLoop::rotor(500e-12)
                .unwrap()
                .with_split_ratio(-1.0)
                .is_err()
        );
        // The restrictor of that length passes the vent's part.
        let hot = stream_at(100.0, 200.0, 1e-7);
        let length = part.vent_restrictor_length(&hot, 10e-6, 101_325.0).unwrap();
        let passed = LinearRestrictor::new(10e-6, length)
            .unwrap()
            .mass_flow_rate(
                hot.state.fluid(),
                hot.state.temperature(),
                hot.state.pressure(),
                101_325.0,
            )
            .unwrap();
        assert!(close(passed, 1e-7 * 22.0 / 25.0, 1e-8));
        let rotor = SampleLoop::rotor(5e-10).unwrap();
        assert!(rotor.vent_restrictor_length(&hot, 1e-5, 1e5).is_err());
    }
}
