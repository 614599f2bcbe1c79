//! Vapours that burn: limits of modifiers and mobile phases in air, and what a vent carries of them.

use std::sync::OnceLock;

use densepath_fluid::error::{Error, Result, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::units::to_celsius;
use densepath_fluid::{Fluid, Notice, NoticeCode, Quantity};
use serde::Deserialize;

/// What to do about vapours that burn.
const KEEP_AWAY: &str = "Keep flames, heaters and sparks away from vent, waste and collection, lead the gas into a working exhaust, and \
                         keep to local codes";

/// What is known of a substance whose vapour burns.
///
/// *Source*: IEC 60079-20-1:2010, annex B, by way of an open library, see the data file. *Valid* in air at room conditions.
///
/// ```
/// use densepath::hardware::safety::flammable_records;
/// // Nothing burns below its lower limit, which lies below the upper one.
/// let ordered = |low: Option<f64>, high: Option<f64>| low.zip(high).is_none_or(|(low, high)| low < high);
/// assert!(flammable_records()?.iter().all(|known| ordered(known.lower_flammable_limit, known.upper_flammable_limit)));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct FlammableRecord {
    /// Its name in the library.
    pub name: String,
    /// Volume fraction in air below which the vapour does not burn.
    pub lower_flammable_limit: Option<f64>,
    /// Volume fraction in air above which the vapour does not burn.
    pub upper_flammable_limit: Option<f64>,
    /// Flash point in K.
    pub flash_point: Option<f64>,
    /// Temperature in K at which the vapour lights by itself.
    pub autoignition_temperature: Option<f64>,
}

#[derive(Deserialize)]
struct Records {
    substances: Vec<FlammableRecord>,
}

/// Every flammable substance that is known. Error 901 if the data file is damaged.
///
/// ```
/// use densepath::hardware::safety::flammable_records;
/// // Methanol burns from 6 % on (IEC 60079-20-1:2010).
/// let methanol = flammable_records()?.iter().find(|known| known.name == "methanol");
/// assert!(methanol.and_then(|known| known.lower_flammable_limit).is_some_and(|low| (low - 0.06).abs() < 0.002));
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn flammable_records() -> Result<&'static [FlammableRecord]> {
    static TABLE: OnceLock<Result<Records>> = OnceLock::new();
    let read = || {
        serde_json::from_str(include_str!("../../../data/flammable.json")).map_err(|_| {
            Error::Internal {
                place: "the table of flammable substances",
            }
        })
    };
    let table = TABLE.get_or_init(read).as_ref();
    table
        .map(|table| table.substances.as_slice())
        .map_err(Clone::clone)
}

/// What gas saturated with the vapour of a modifier carries.
///
/// ```
/// use densepath::{Fluid, hardware::safety::vapour_in_vent};
/// let vent = vapour_in_vent(&Fluid::new("methanol")?, 293.15, 101_325.0)?;
/// assert!(vent.lower_flammable_limit.is_some_and(|low| vent.volume_fraction > low) && !vent.notices.is_empty());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct VapourInVent {
    /// Volume fraction of the vapour in the gas.
    pub volume_fraction: f64,
    /// Lower flammable limit of the vapour in air, as volume fraction, if it is known.
    pub lower_flammable_limit: Option<f64>,
    /// What to know.
    pub notices: Vec<Notice>,
}

/// The vapour that a gas takes along at a temperature in K and a pressure in Pa beside a liquid modifier, at most, and whether it can
/// burn once air comes to it.
///
/// Carbon dioxide keeps the vapour from burning as long as it is not diluted, and condensate and mist burn in any case: every modifier
/// that burns is told of, and so is one of carbon and hydrogen whose limits are not known here. *Valid* for a low pressure, where an ideal
/// gas above a pure liquid stands for the mixture. *Source*: law of Dalton, `y = p_v/p`. Errors: 101 for a pressure not above zero; 302
/// above the critical temperature of the modifier.
///
/// ```
/// use densepath::{Fluid, hardware::safety::vapour_in_vent};
/// // Methanol has 13.0 kPa at 20 degC.
/// let vent = vapour_in_vent(&Fluid::new("methanol")?, 293.15, 101_325.0)?;
/// assert!((vent.volume_fraction - 0.128).abs() < 0.002);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn vapour_in_vent(modifier: &Fluid, temperature: f64, pressure: f64) -> Result<VapourInVent> {
    positive(Quantity::Pressure, pressure)?;
    let saturation = modifier.saturation_at_temperature(temperature)?;
    let volume_fraction = (saturation.pressure / pressure).min(1.0);
    let limit = limit_of(modifier.name())?;
    let at = rounded(to_celsius(temperature));
    let share = rounded(100.0 * volume_fraction);
    let text = match limit {
        Some(limit) => {
            let (side, burns) = if volume_fraction >= limit {
                (
                    "above",
                    "where it is diluted, where it condenses and where it sprays it can burn",
                )
            } else {
                ("below", "what condenses and what sprays burns all the same")
            };
            Some(format!(
                "gas saturated with {} at {at} degC carries {share} % of its vapour, {side} the {} % that burns in air (IEC 60079-20-1): \
                 {burns}. {KEEP_AWAY}",
                modifier.name(),
                rounded(100.0 * limit),
            ))
        }
        None if may_burn(modifier)? => Some(format!(
            "gas saturated with {} at {at} degC carries {share} % of its vapour, whose limits in air are not known here: take it for \
             flammable. {KEEP_AWAY}",
            modifier.name(),
        )),
        None => None,
    };
    let notices =
        text.map(|text| Notice::new(NoticeCode::Flammable, text).about(Quantity::VolumeFraction));
    Ok(VapourInVent {
        volume_fraction,
        lower_flammable_limit: limit,
        notices: notices.into_iter().collect(),
    })
}

/// A caution of a stream that holds substances whose vapours burn, however little of them.
///
/// Errors: 901 if the data file is damaged.
///
/// ```
/// use densepath::{Fluid, hardware::safety::judge_stream};
/// assert!(judge_stream(&Fluid::new("carbon dioxide")?)?.is_none());
/// assert!(judge_stream(&Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?)?.is_some());
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn judge_stream(stream: &Fluid) -> Result<Option<Notice>> {
    let mut burning = Vec::new();
    for name in stream.substances() {
        let limit = limit_of(name)?;
        if let Some(limit) = limit {
            burning.push(format!("{name} (from {} % in air)", rounded(100.0 * limit)));
        } else if may_burn(&Fluid::new(name)?)? {
            burning.push(format!("{name} (limits not known here)"));
        }
    }
    let text = (!burning.is_empty()).then(|| {
        format!(
            "what leaves holds {}, whose vapour burns: carbon dioxide keeps it from that only until air dilutes it, and what condenses and \
             sprays burns all the same. {KEEP_AWAY}",
            burning.join(" and ")
        )
    });
    Ok(text.map(|text| Notice::new(NoticeCode::Flammable, text)))
}

/// Lower flammable limit of a substance in air, as volume fraction, if it is known.
fn limit_of(name: &str) -> Result<Option<f64>> {
    let record = flammable_records()?
        .iter()
        .find(|record| record.name == name);
    Ok(record.and_then(|record| record.lower_flammable_limit))
}

/// Whether a substance of which no limit is known is to be taken for flammable: it holds carbon and hydrogen.
fn may_burn(substance: &Fluid) -> Result<bool> {
    let formula = &substance.record()?.formula;
    let carbon = formula.matches('C').count() > formula.matches("Cl").count();
    Ok(carbon && formula.contains('H'))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::close;

    /// Carbon dioxide saturated with methanol at 20 degC and 1 atm: independent computation with CoolProp 8.0.0.
    #[test]
    fn methanol_in_the_vent_can_burn() {
        let methanol = Fluid::new("methanol").unwrap();
        let vent = vapour_in_vent(&methanol, 293.15, 101_325.0).unwrap();
        assert!(close(vent.volume_fraction, 0.128_613, 1e-5));
        assert_eq!(vent.lower_flammable_limit, Some(0.06));
        assert_eq!(vent.notices[0].code, NoticeCode::Flammable);
        let cold = vapour_in_vent(&methanol, 253.15, 101_325.0).unwrap();
        assert!(cold.notices[0].text.contains("below the 6 %") && cold.volume_fraction < 0.06);
        let water = Fluid::new("water").unwrap();
        let vent = vapour_in_vent(&water, 293.15, 101_325.0).unwrap();
        assert!(vent.lower_flammable_limit.is_none() && vent.notices.is_empty());
        let unknown = Fluid::new("dimethyl sulfoxide").unwrap();
        let vent = vapour_in_vent(&unknown, 293.15, 101_325.0).unwrap();
        assert!(vent.lower_flammable_limit.is_none());
        assert!(vent.notices[0].text.contains("take it for flammable"));
    }

    #[test]
    fn every_record_is_of_a_known_substance_and_in_order() {
        for record in flammable_records().unwrap() {
            assert_eq!(Fluid::new(&record.name).unwrap().name(), record.name);
            let (Some(lower), Some(upper)) =
                (record.lower_flammable_limit, record.upper_flammable_limit)
            else {
                panic!("{}", record.name);
            };
            assert!(0.0 < lower && lower < upper && upper < 1.0);
        }
    }

    /// IEC 60079-20-1 tells temperatures in whole degrees Celsius.
    #[test]
    fn temperatures_are_whole_degrees() {
        for record in flammable_records().unwrap() {
            let told = [record.flash_point, record.autoignition_temperature];
            for temperature in told.into_iter().flatten() {
                let degrees = temperature - 273.15;
                let name = &record.name;
                assert!(
                    (degrees - degrees.round()).abs() < 1e-9,
                    "{name}: {degrees}"
                );
            }
        }
    }
}
