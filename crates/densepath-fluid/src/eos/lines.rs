//! Auxiliary lines of the solid in the p,T plane: melting and sublimation pressures as explicit functions of temperature.
//!
//! They were fitted to measured pressures. The equality of Gibbs energies ([`super::solid`]) gives the same lines from the
//! equations of the phases. For carbon dioxide, Gibbs less auxiliary pressure is +0.003 % at the triple point, -0.06 % at
//! 210 K, +0.22 % at 194.7 K, +0.40 % at 180 K, +0.59 % at 160 K and +1.2 % at 150 K for sublimation; -0.81 % at 217 K,
//! +0.45 % at 240 K, -0.48 % at 280 K and -0.92 % at 290 K for melting. The tests of [`super::solid`] keep these figures.

use crate::error::{Error, Result, finite, within};
use crate::fluids::record::{BubbleDewRecord, SumRecord};
use crate::fluids::solid::LineRecord;
use crate::num::root::{Tolerance, bracketed, newton_bisect};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;

/// Which form a [`LineRecord`] has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    /// `p/p_t = 1 + sum n (T/T_t - 1)^t + sum n ((T/T_t)^t - 1)`.
    Melting,
    /// `ln(p/p_t) = T_t/T sum n (1 - T/T_t)^t`.
    Sublimation,
}

/// Melting or sublimation pressure of a substance.
///
/// ```
/// use densepath_fluid::{Fluid, eos::lines::Line};
/// let record = Fluid::new("carbon dioxide")?.record()?;
/// let melting = record.melting_line.as_ref().map(Line::melting);
/// // At -23 degC there is dry ice under more than a thousand bar only.
/// assert!(melting.is_some_and(|line| line.pressure(250.0).is_ok_and(|pressure| pressure > 100e6)));
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line<'a> {
    record: &'a LineRecord,
    form: Form,
}

impl<'a> Line<'a> {
    /// Melting line of a data record.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, eos::lines::Line};
    /// let record = Fluid::new("carbon dioxide")?.record()?;
    /// // Span and Wagner 1996: from the triple point of 0.518 MPa on.
    /// let start = record.melting_line.as_ref().map(|line| Line::melting(line).pressure(216.592));
    /// assert!(start.is_some_and(|pressure| pressure.is_ok_and(|pressure| (pressure / 0.51795e6 - 1.0).abs() < 1e-3)));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn melting(record: &'a LineRecord) -> Self {
        Self {
            record,
            form: Form::Melting,
        }
    }

    /// Sublimation line of a data record.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, eos::lines::Line};
    /// let record = Fluid::new("carbon dioxide")?.record()?;
    /// // 1 atm at 194.6855 K.
    /// let found = record.sublimation_line.as_ref().map(|line| Line::sublimation(line).pressure(194.6855));
    /// assert!(found.is_some_and(|pressure| pressure.is_ok_and(|pressure| (pressure / 101_325.0 - 1.0).abs() < 1e-4)));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn sublimation(record: &'a LineRecord) -> Self {
        Self {
            record,
            form: Form::Sublimation,
        }
    }

    /// Pressure p in Pa on the line at temperature T (K).
    ///
    /// *Valid* and *Uncertainty*: of the record; error 102 outside.
    /// *Source*: for carbon dioxide Span, Wagner, J. Phys. Chem. Ref. Data 25, 1509 (1996), doi 10.1063/1.555991, eqs. 3.10
    /// and 3.12.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, eos::lines::Line};
    /// let record = Fluid::new("carbon dioxide")?.record()?;
    /// // Above the triple point nothing sublimes.
    /// let found = record.sublimation_line.as_ref().map(|line| Line::sublimation(line).pressure(230.0).unwrap_err().code());
    /// assert_eq!(found, Some(102));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn pressure(&self, temperature: f64) -> Result<f64> {
        let valid = &self.record.valid;
        within(
            Quantity::Temperature,
            temperature,
            valid.temperature_min,
            valid.temperature_max,
            &self.record.name,
        )?;
        Ok(self.at(temperature).0)
    }

    /// Temperature T in K on the line at pressure p (Pa).
    ///
    /// *Valid* within the temperatures of the record; error 302 outside.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, eos::lines::Line};
    /// let record = Fluid::new("carbon dioxide")?.record()?;
    /// let found = record.sublimation_line.as_ref().map(|line| Line::sublimation(line).temperature(101_325.0));
    /// assert!(found.is_some_and(|temperature| temperature.is_ok_and(|temperature| (temperature - 194.6855).abs() < 1e-2)));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn temperature(&self, pressure: f64) -> Result<f64> {
        finite(Quantity::Pressure, pressure)?;
        let valid = &self.record.valid;
        let (low, high) = (valid.temperature_min, valid.temperature_max);
        let (min, max) = (self.at(low).0, self.at(high).0);
        if !(min..=max).contains(&pressure) {
            return Err(Error::NoCoexistence {
                quantity: Quantity::Pressure,
                value: pressure,
                min,
                max,
            });
        }
        let start = low + (high - low) * (pressure - min) / (max - min);
        newton_bisect(
            "temperature on a line of the solid",
            low,
            high,
            start,
            Tolerance::default(),
            |temperature| {
                let (p, slope) = self.at(temperature);
                Ok(((p / pressure).ln(), slope / p))
            },
        )
    }

    /// Whether each term of a melting line rises with the temperature, and so does the pressure.
    pub(crate) fn is_rising(&self) -> bool {
        let (terms, powers) = (&self.record.terms, &self.record.powers);
        let terms = terms.n.iter().zip(&terms.t);
        let mut all = terms.chain(powers.n.iter().zip(&powers.t));
        self.form == Form::Melting && all.all(|(n, t)| n * t > 0.0)
    }

    /// Pressure in Pa and its slope in Pa/K at a temperature in K.
    fn at(&self, temperature: f64) -> (f64, f64) {
        let t_t = self.record.temperature_triple;
        let p_t = self.record.pressure_triple;
        let terms = self.record.terms.n.iter().zip(&self.record.terms.t);
        match self.form {
            Form::Melting => {
                let x = temperature / t_t - 1.0;
                let start = terms.fold((1.0, 0.0), |(sum, slope), (n, t)| {
                    (sum + n * x.powf(*t), slope + n * t * x.powf(t - 1.0))
                });
                let powers = self.record.powers.n.iter().zip(&self.record.powers.t);
                let x = 1.0 + x;
                let (sum, slope) = powers.fold(start, |(sum, slope), (n, t)| {
                    (
                        sum + n * (x.powf(*t) - 1.0),
                        slope + n * t * x.powf(t - 1.0),
                    )
                });
                (p_t * sum, p_t * slope / t_t)
            }
            Form::Sublimation => {
                let x = 1.0 - temperature / t_t;
                let (sum, slope) = terms.fold((0.0, 0.0), |(sum, slope), (n, t)| {
                    (sum + n * x.powf(*t), slope + n * t * x.powf(t - 1.0))
                });
                let p = p_t * (t_t / temperature * sum).exp();
                (p, -p / temperature * (slope + t_t / temperature * sum))
            }
        }
    }
}

/// Bubble and dew pressures of a mixture whose equation takes it for one substance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct BubbleAndDew<'a> {
    record: &'a BubbleDewRecord,
}

impl<'a> BubbleAndDew<'a> {
    /// The lines of a data record.
    pub fn new(record: &'a BubbleDewRecord) -> Self {
        Self { record }
    }

    /// Pressures p in Pa of the bubble and the dew point at a temperature T (K); nothing where both lines have ended.
    pub fn pressures(self, temperature: f64) -> Option<(f64, f64)> {
        let top = self.record.temperature;
        (temperature < top).then(|| {
            (
                self.pressure(&self.record.bubble_pressure, temperature),
                self.pressure(&self.record.dew_pressure, temperature),
            )
        })
    }

    fn pressure(self, sum: &SumRecord, temperature: f64) -> f64 {
        let BubbleDewRecord {
            temperature: top,
            pressure,
            ..
        } = *self.record;
        pressure * (top / temperature * sum.at(1.0 - temperature / top)).exp()
    }

    /// Temperatures T in K of the bubble and the dew point at a pressure p (Pa) above the lowest temperature given; nothing
    /// above the pressures of the lines. A line that lies above the pressure even there is taken to end there.
    pub fn temperatures(self, lowest: f64, pressure: f64) -> Result<Option<(f64, f64)>> {
        let highest = self.record.temperature * (1.0 - f64::EPSILON);
        let on = |sum: &SumRecord| {
            let residual = |temperature| Ok((self.pressure(sum, temperature) / pressure).ln());
            if residual(lowest)? >= 0.0 {
                return Ok(lowest);
            }
            bracketed(
                "bubble or dew point at given pressure",
                lowest,
                highest,
                Tolerance::default(),
                residual,
            )
        };
        let ends = [&self.record.bubble_pressure, &self.record.dew_pressure];
        if ends
            .iter()
            .any(|sum| pressure >= self.pressure(sum, highest))
        {
            return Ok(None);
        }
        Ok(Some((
            on(&self.record.bubble_pressure)?,
            on(&self.record.dew_pressure)?,
        )))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fluids;

    fn lines() -> (Line<'static>, Line<'static>) {
        let co2 = fluids::record(fluids::find("carbon dioxide").unwrap()).unwrap();
        (
            Line::melting(co2.melting_line.as_ref().unwrap()),
            Line::sublimation(co2.sublimation_line.as_ref().unwrap()),
        )
    }

    /// Independent evaluation (melting line: CoolProp 8.0.0): T in K, p in Pa. The last row is the state at 800 MPa of Span
    /// and Wagner 1996, table 35, on the melting line at 327.673 K.
    #[test]
    fn melting_pressures_agree_with_an_independent_evaluation() {
        let (melting, _) = lines();
        for (temperature, expected) in [
            (216.592, 517950.0),
            (217.0, 2429700.1),
            (220.0, 16718710.0),
            (225.0, 41441488.0),
            (230.0, 67298968.0),
            (260.0, 246272590.0),
            (300.0, 548447420.0),
            (327.673, 799999000.0),
        ] {
            let p = melting.pressure(temperature).unwrap();
            assert!((p / expected - 1.0).abs() < 5e-8, "{temperature} {p}");
        }
        assert!((melting.temperature(8e8).unwrap() - 327.673).abs() < 5e-4);
    }

    /// Independent evaluation: T in K, p in Pa. Span and Wagner 1996 give the normal sublimation point as 194.686 K.
    #[test]
    fn sublimation_pressures_agree_with_an_independent_evaluation() {
        let (_, sublimation) = lines();
        for (temperature, expected) in [
            (160.0, 3147.548),
            (170.0, 9960.4211),
            (185.0, 43934.832),
            (194.686, 101329.47),
            (200.0, 155031.31),
            (210.0, 327089.32),
            (216.592, 517950.0),
        ] {
            let p = sublimation.pressure(temperature).unwrap();
            assert!((p / expected - 1.0).abs() < 5e-8, "{temperature} {p}");
        }
        assert!((sublimation.temperature(101325.0).unwrap() - 194.6855).abs() < 5e-5);
    }

    #[test]
    fn lines_invert_and_refuse() {
        let (melting, sublimation) = lines();
        for temperature in [216.592, 216.6, 219.0, 250.0, 327.0] {
            let p = melting.pressure(temperature).unwrap();
            assert!((melting.temperature(p).unwrap() / temperature - 1.0).abs() < 1e-13);
        }
        for temperature in [150.0, 180.0, 216.5, 216.592] {
            let p = sublimation.pressure(temperature).unwrap();
            assert!((sublimation.temperature(p).unwrap() / temperature - 1.0).abs() < 1e-13);
        }
        assert_eq!(melting.pressure(200.0).unwrap_err().code(), 102);
        assert_eq!(sublimation.pressure(220.0).unwrap_err().code(), 102);
        assert_eq!(melting.temperature(1e5).unwrap_err().code(), 302);
        assert_eq!(sublimation.temperature(f64::NAN).unwrap_err().code(), 101);
    }
}
