//! The chilled reciprocating pump: mass flow, compression in the stroke, cooling of the head.

use densepath_fluid::error::{Error, Result, fraction, not_negative, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::units::BAR;
use densepath_fluid::{Notice, NoticeCode, Quantity, State};

use super::set_flow::{CountingConditions, SetFlow};
use super::suction_line::require_liquid;

/// Share of the stroke spent on compression above which flow and pressure pulsate: common practice, no source.
const LARGEST_STROKE_FRACTION: f64 = 0.3;
/// Volumetric efficiency below which a pump is called poor: common practice, no source.
const SMALLEST_VOLUMETRIC_EFFICIENCY: f64 = 0.8;
/// Relative difference of the delivered mass between an isothermal and an isentropic stroke worth a remark.
const SMALL_DIFFERENCE: f64 = 0.01;

/// A piston pump with a head of known temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReciprocatingPump {
    set_flow: SetFlow,
    head_temperature: f64,
    clearance_ratio: f64,
    isothermal_share: f64,
    leak_fraction: f64,
    pressure_limit: Option<f64>,
}

/// One way through the stroke, from the suction state to the delivery pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compression {
    /// Temperature in K of the fluid when the outlet valve opens.
    pub temperature: f64,
    /// Density in kg/m3 of the fluid when the outlet valve opens.
    pub density: f64,
    /// Share of its volume that the fluid loses, `1 - rho_1/rho_2`.
    pub volume_fraction: f64,
    /// Mass delivered over the mass that the swept volume holds at suction, `1 - c (rho_2/rho_1 - 1)`.
    pub volumetric_efficiency: f64,
    /// Share of the stroke before the outlet valve opens, `(1 + c) (1 - rho_1/rho_2)`.
    pub stroke_fraction: f64,
}

/// The stroke between its two limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// With a head that keeps its temperature.
    pub isothermal: Compression,
    /// Without heat exchange.
    pub isentropic: Compression,
    /// Between the two by the isothermal share of the pump, interpolated in specific volume and temperature.
    pub expected: Compression,
    /// Relative error of the mass flow if it is counted at the density of an isothermal stroke and the stroke is
    /// isentropic, `rho_2s/rho_2T - 1`.
    pub bookkeeping_error: f64,
    /// What to know.
    pub notices: Vec<Notice>,
}

/// Heat flow rates of the head in W.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeadDuty {
    /// To bring the feed from the state supplied to the temperature of the head.
    pub feed_cooling: f64,
    /// To keep the temperature during compression.
    pub compression_cooling: f64,
    /// Power that an isentropic compression takes from the drive.
    pub isentropic_power: f64,
}

impl HeadDuty {
    /// All that the chiller takes from the fluid, in W; friction and the heat of the room come on top.
    pub fn total(&self) -> f64 {
        self.feed_cooling + self.compression_cooling
    }
}

impl ReciprocatingPump {
    /// A pump with a head of a temperature T in K, set to a flow, without clearance, leak and limit, with an isothermal
    /// stroke. Error 101 for values that are not above zero.
    pub fn new(head_temperature: f64, set_flow: SetFlow) -> Result<Self> {
        Ok(Self {
            head_temperature: positive(Quantity::Temperature, head_temperature)?,
            set_flow: set_flow.checked()?,
            clearance_ratio: 0.0,
            isothermal_share: 1.0,
            leak_fraction: 0.0,
            pressure_limit: None,
        })
    }

    /// The pump with a clearance ratio c: the volume that the piston never sweeps over the volume it does.
    pub fn with_clearance_ratio(self, clearance_ratio: f64) -> Result<Self> {
        Ok(Self {
            clearance_ratio: not_negative(Quantity::ClearanceRatio, clearance_ratio)?,
            ..self
        })
    }

    /// The pump with a stroke between isothermal (1) and isentropic (0).
    pub fn with_isothermal_share(self, isothermal_share: f64) -> Result<Self> {
        Ok(Self {
            isothermal_share: fraction(Quantity::Ratio, isothermal_share)?,
            ..self
        })
    }

    /// The pump with a share of the mass flow lost at seals and valves.
    pub fn with_leak_fraction(self, leak_fraction: f64) -> Result<Self> {
        Ok(Self {
            leak_fraction: fraction(Quantity::MassFraction, leak_fraction)?,
            ..self
        })
    }

    /// The pump with a highest pressure in Pa.
    pub fn with_pressure_limit(self, pressure_limit: f64) -> Result<Self> {
        Ok(Self {
            pressure_limit: Some(positive(Quantity::Pressure, pressure_limit)?),
            ..self
        })
    }

    /// Temperature of the head in K.
    pub fn head_temperature(&self) -> f64 {
        self.head_temperature
    }

    /// Share of the mass flow lost at seals and valves.
    pub fn leak_fraction(&self) -> f64 {
        self.leak_fraction
    }

    /// The flow it is set to.
    pub fn set_flow(&self) -> SetFlow {
        self.set_flow
    }

    /// Highest pressure in Pa, if one is stated.
    pub fn pressure_limit(&self) -> Option<f64> {
        self.pressure_limit
    }

    /// Mass flow rate `q_m` in kg/s that leaves the pump.
    ///
    /// *Uncertainty*: how well the pump corrects for compression is not in it; see [`Stroke::bookkeeping_error`].
    pub fn mass_flow_rate(
        &self,
        suction: &State,
        delivery_pressure: f64,
        oven_temperature: f64,
        oven_pressure: f64,
    ) -> Result<f64> {
        require_liquid(suction)?;
        let conditions = CountingConditions {
            head_temperature: self.head_temperature,
            suction_pressure: suction.pressure(),
            delivery_pressure,
            oven_temperature,
            oven_pressure,
        };
        let set = self.set_flow.mass_flow_rate(suction.fluid(), &conditions)?;
        Ok(set * (1.0 - self.leak_fraction))
    }

    /// The stroke from a suction state to a delivery pressure in Pa.
    ///
    /// *Valid* for a stroke slow against the speed of sound. *Source*: mass balance of the cylinder at the ends of the
    /// stroke; the isothermal and the isentropic path bound the real one.
    ///
    /// Error 504 if the feed is not liquid, 503 if the delivery pressure is not above the feed, 101 if the clearance takes
    /// the whole stroke.
    pub fn stroke(&self, suction: &State, delivery_pressure: f64) -> Result<Stroke> {
        require_liquid(suction)?;
        if delivery_pressure <= suction.pressure() {
            return Err(Error::FlowReversed {
                inlet: delivery_pressure,
                outlet: suction.pressure(),
            });
        }
        let fluid = suction.fluid();
        let cold = State::from_tp(fluid, suction.temperature(), delivery_pressure)?;
        let hot = State::from_ps(fluid, delivery_pressure, suction.specific_entropy())?;
        let share = self.isothermal_share;
        let volume = share / cold.density() + (1.0 - share) / hot.density();
        let temperature = share * cold.temperature() + (1.0 - share) * hot.temperature();
        let mut stroke = Stroke {
            isothermal: self.compression(suction, cold.temperature(), cold.density())?,
            isentropic: self.compression(suction, hot.temperature(), hot.density())?,
            expected: self.compression(suction, temperature, 1.0 / volume)?,
            bookkeeping_error: hot.density() / cold.density() - 1.0,
            notices: Vec::new(),
        };
        stroke.notices = self.judge(&stroke, delivery_pressure);
        Ok(stroke)
    }

    fn compression(&self, suction: &State, temperature: f64, density: f64) -> Result<Compression> {
        let ratio = suction.density() / density;
        let volumetric_efficiency = 1.0 - self.clearance_ratio * (1.0 / ratio - 1.0);
        if volumetric_efficiency <= 0.0 {
            return Err(Error::Domain {
                quantity: Quantity::ClearanceRatio,
                value: self.clearance_ratio,
                rule: "smaller: at this delivery pressure the whole stroke is compression and nothing is delivered",
            });
        }
        Ok(Compression {
            temperature,
            density,
            volume_fraction: 1.0 - ratio,
            volumetric_efficiency,
            stroke_fraction: (1.0 + self.clearance_ratio) * (1.0 - ratio),
        })
    }

    fn judge(&self, stroke: &Stroke, delivery_pressure: f64) -> Vec<Notice> {
        let mut notices = Vec::new();
        let expected = &stroke.expected;
        if expected.stroke_fraction > LARGEST_STROKE_FRACTION
            || expected.volumetric_efficiency < SMALLEST_VOLUMETRIC_EFFICIENCY
        {
            notices.push(Notice::new(
                NoticeCode::Pulsation,
                format!(
                    "{} % of the stroke is compression and the volumetric efficiency is {}: flow and pressure pulsate, and \
                     so does the baseline. Chill the head, or take a pump with less clearance",
                    rounded(100.0 * expected.stroke_fraction),
                    rounded(expected.volumetric_efficiency),
                ),
            ));
        }
        if stroke.bookkeeping_error.abs() > SMALL_DIFFERENCE {
            notices.push(
                Notice::new(
                    NoticeCode::Estimated,
                    format!(
                        "an isentropic stroke delivers {} % less mass than an isothermal one; the real stroke lies between: \
                         measure the mass flow at the vent",
                        rounded(-100.0 * stroke.bookkeeping_error)
                    ),
                )
                .about(Quantity::MassFlowRate),
            );
        }
        if let Some(limit) = self
            .pressure_limit
            .filter(|limit| delivery_pressure > *limit)
        {
            notices.push(
                Notice::new(
                    NoticeCode::Overpressure,
                    format!(
                        "the pump would have to deliver {} bar(a), above its limit of {} bar(a)",
                        rounded(delivery_pressure / BAR),
                        rounded(limit / BAR)
                    ),
                )
                .about(Quantity::Pressure),
            );
        }
        notices
    }

    /// Heat flow rates of the head at a mass flow rate in kg/s, from the state supplied and the feed at the head.
    ///
    /// *Valid* for a steady flow; a vapour supplied is condensed. *Source*: first law; the heat of an isothermal
    /// compression is `q_m T (s_1 - s_2)`.
    pub fn head_duty(
        &self,
        supply: &State,
        suction: &State,
        delivery_pressure: f64,
        mass_flow_rate: f64,
    ) -> Result<HeadDuty> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let fluid = suction.fluid();
        let cold = State::from_tp(fluid, suction.temperature(), delivery_pressure)?;
        let hot = State::from_ps(fluid, delivery_pressure, suction.specific_entropy())?;
        let heat = suction.temperature() * (suction.specific_entropy() - cold.specific_entropy());
        Ok(HeadDuty {
            feed_cooling: mass_flow_rate
                * (supply.specific_enthalpy() - suction.specific_enthalpy()),
            compression_cooling: mass_flow_rate * heat,
            isentropic_power: mass_flow_rate
                * (hot.specific_enthalpy() - suction.specific_enthalpy()),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::set_flow::CountedAt;
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::{MILLILITRE_PER_MINUTE, from_celsius, to_celsius};
    use proptest::prelude::*;

    const THREE: SetFlow = SetFlow::Volume(3.0 * MILLILITRE_PER_MINUTE, CountedAt::Delivery);

    fn pump(clearance_ratio: f64) -> ReciprocatingPump {
        ReciprocatingPump::new(from_celsius(5.0), THREE)
            .and_then(|pump| pump.with_clearance_ratio(clearance_ratio))
            .unwrap()
    }

    fn suction() -> State {
        State::from_tp(&co2(), from_celsius(5.0), 57.3 * BAR).unwrap()
    }

    fn stroke(clearance_ratio: f64, bar: f64) -> Stroke {
        pump(clearance_ratio).stroke(&suction(), bar * BAR).unwrap()
    }

    /// Suction 5 degC, 57.3 bar: independent computation with CoolProp 8.0.0.
    #[test]
    fn compression_fractions_and_temperatures() {
        for (bar, isothermal, isentropic, degc) in [
            (150.0, 0.0641922, 0.029722, 12.3934),
            (300.0, 0.118319, 0.0637192, 22.162),
            (600.0, 0.1770, 0.108956, 37.5513),
        ] {
            let stroke = stroke(0.0, bar);
            let tolerance = if bar == 600.0 { 3e-4 } else { 1e-5 };
            assert!(close(
                stroke.isothermal.volume_fraction,
                isothermal,
                tolerance
            ));
            assert!(close(stroke.isentropic.volume_fraction, isentropic, 1e-5));
            assert!(close(to_celsius(stroke.isentropic.temperature), degc, 1e-5));
            assert_eq!(stroke.isothermal.volumetric_efficiency, 1.0);
        }
    }

    /// Efficiency of the isothermal stroke, then stroke fractions, isothermal and isentropic: independent computation with
    /// CoolProp 8.0.0.
    #[test]
    fn clearance_costs_efficiency_and_stroke() {
        for (clearance, bar, efficiency, isothermal, isentropic) in [
            (0.2, 150.0, 0.986281, 0.0770307, 0.0356664),
            (1.0, 150.0, 0.931404, 0.128384, 0.059444),
            (0.2, 300.0, 0.97316, 0.141983, 0.076463),
            (1.0, 300.0, 0.865802, 0.236639, 0.127438),
            (1.0, 600.0, 0.784953, 0.353973, 0.217911),
        ] {
            let stroke = stroke(clearance, bar);
            assert!(close(
                stroke.isothermal.volumetric_efficiency,
                efficiency,
                1e-5
            ));
            assert!(close(stroke.isothermal.stroke_fraction, isothermal, 1e-5));
            assert!(close(stroke.isentropic.stroke_fraction, isentropic, 1e-5));
        }
        let narrow = stroke(0.2, 600.0);
        assert!(close(narrow.isothermal.stroke_fraction, 0.212384, 1e-5));
        assert!(close(narrow.isentropic.stroke_fraction, 0.130747, 1e-5));
    }

    /// Percent at 300 bar: independent computation with CoolProp 8.0.0.
    #[test]
    fn isothermal_bookkeeping_of_an_isentropic_stroke() {
        let stroke = stroke(0.0, 300.0);
        assert!(close(100.0 * stroke.bookkeeping_error, -5.83161, 1e-4));
        assert_eq!(stroke.notices[0].code, NoticeCode::Estimated);
    }

    /// W at 10 mL/min counted at 5 degC and 150 bar, feed 5 degC at the pressure of the cylinder: independent computation
    /// with CoolProp 8.0.0.
    #[test]
    fn heat_of_the_head() {
        let flow = SetFlow::Volume(10.0 * MILLILITRE_PER_MINUTE, CountedAt::Delivery);
        let pump = ReciprocatingPump::new(from_celsius(5.0), flow).unwrap();
        let duty = |degc: f64, vapour: bool| {
            let saturation = co2().saturation_at_temperature(from_celsius(degc)).unwrap();
            let supply = if vapour {
                saturation.vapour
            } else {
                saturation.liquid
            };
            let suction = State::from_tp(&co2(), from_celsius(5.0), supply.pressure()).unwrap();
            let rate = pump
                .mass_flow_rate(&suction, 150.0 * BAR, 313.15, 150.0 * BAR)
                .unwrap();
            pump.head_duty(&supply, &suction, 150.0 * BAR, rate)
                .unwrap()
        };
        let at_20 = duty(20.0, false);
        assert!(close(at_20.feed_cooling, 7.44892, 1e-5));
        assert!(close(at_20.compression_cooling, 2.52063, 1e-5));
        assert!(close(at_20.isentropic_power, 1.62522, 1e-5));
        assert!(close(at_20.total(), 7.44892 + 2.52063, 1e-5));
        let at_25 = duty(25.0, false);
        assert!(close(at_25.feed_cooling, 10.6535, 1e-5));
        assert!(close(at_25.compression_cooling, 2.27225, 1e-5));
        assert!(close(at_25.isentropic_power, 1.49379, 1e-5));
        assert!(close(duty(20.0, true).feed_cooling, 32.2087, 1e-5));
    }

    #[test]
    fn a_leak_takes_its_share_and_a_limit_is_watched() {
        let tight = pump(0.0);
        let leaking = tight
            .with_leak_fraction(0.02)
            .and_then(|pump| pump.with_pressure_limit(140.0 * BAR))
            .unwrap();
        let rate = |pump: ReciprocatingPump| {
            pump.mass_flow_rate(&suction(), 150.0 * BAR, 313.15, 150.0 * BAR)
                .unwrap()
        };
        assert!(close(rate(leaking), 0.98 * rate(tight), 1e-12));
        let notices = leaking.stroke(&suction(), 150.0 * BAR).unwrap().notices;
        assert!(notices.iter().any(|n| n.code == NoticeCode::Overpressure));
    }

    #[test]
    fn a_stroke_that_is_mostly_compression_pulsates() {
        let codes: Vec<_> = stroke(1.0, 600.0).notices.iter().map(|n| n.code).collect();
        assert_eq!(codes, [NoticeCode::Pulsation, NoticeCode::Estimated]);
    }

    #[test]
    fn what_cannot_be_pumped_is_an_error() {
        let pump = pump(0.0);
        let vapour = State::from_tp(&co2(), from_celsius(20.0), 50.0 * BAR).unwrap();
        assert_eq!(pump.stroke(&vapour, 150e5).unwrap_err().code(), 504);
        let error = pump
            .mass_flow_rate(&vapour, 150e5, 313.15, 150e5)
            .unwrap_err();
        assert_eq!(error.code(), 504);
        assert_eq!(pump.stroke(&suction(), 57.3e5).unwrap_err().code(), 503);
        let wide = pump.with_clearance_ratio(8.0).unwrap();
        assert_eq!(wide.stroke(&suction(), 300e5).unwrap_err().code(), 101);
        for bad in [-0.1, f64::NAN] {
            assert_eq!(pump.with_clearance_ratio(bad).unwrap_err().code(), 101);
            assert_eq!(pump.with_isothermal_share(bad).unwrap_err().code(), 101);
            assert_eq!(pump.with_leak_fraction(bad).unwrap_err().code(), 101);
            assert_eq!(pump.with_pressure_limit(bad).unwrap_err().code(), 101);
            assert_eq!(ReciprocatingPump::new(bad, THREE).unwrap_err().code(), 101);
        }
    }

    proptest! {
        #[test]
        fn the_real_stroke_lies_between_its_bounds(
            share in 0.0f64..1.0, clearance in 0.0f64..1.0, bar in 60.0f64..600.0,
        ) {
            let stroke = pump(clearance)
                .with_isothermal_share(share)
                .and_then(|pump| pump.stroke(&suction(), bar * BAR))
                .unwrap();
            let (cold, hot, real) = (stroke.isothermal, stroke.isentropic, stroke.expected);
            prop_assert!(cold.density >= hot.density);
            prop_assert!(real.density <= cold.density * (1.0 + 1e-12));
            prop_assert!(real.density >= hot.density * (1.0 - 1e-12));
            prop_assert!(real.volumetric_efficiency > 0.0 && real.volumetric_efficiency <= 1.0);
            // What enters per stroke leaves it: efficiency and stroke fraction say the same.
            let delivered = (1.0 - real.stroke_fraction) * real.density / suction().density();
            prop_assert!(close(delivered, real.volumetric_efficiency, 1e-9));
        }
    }
}
