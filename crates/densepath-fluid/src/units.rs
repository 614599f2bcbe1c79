//! Factors from the units of the laboratory to SI. Inside the library every number is SI; these serve its edges.
//!
//! ```
//! use densepath_fluid::units::{BAR, from_celsius};
//! assert_eq!(150.0 * BAR, 1.5e7);
//! assert_eq!(from_celsius(40.0), 313.15);
//! ```

/// One bar in Pa.
pub const BAR: f64 = 1e5;
/// One megapascal in Pa.
pub const MEGAPASCAL: f64 = 1e6;
/// One pound-force per square inch in Pa (NIST SP 811, 2008, appendix B.8).
pub const PSI: f64 = 6_894.757_293_168_361;
/// One minute in s.
pub const MINUTE: f64 = 60.0;
/// One hour in s.
pub const HOUR: f64 = 3_600.0;
/// One millilitre in m3.
pub const MILLILITRE: f64 = 1e-6;
/// One microlitre in m3.
pub const MICROLITRE: f64 = 1e-9;
/// One nanolitre in m3.
pub const NANOLITRE: f64 = 1e-12;
/// One millilitre per minute in m3/s.
pub const MILLILITRE_PER_MINUTE: f64 = MILLILITRE / MINUTE;
/// One millimetre in m.
pub const MILLIMETRE: f64 = 1e-3;
/// One micrometre in m.
pub const MICROMETRE: f64 = 1e-6;
/// One gram in kg.
pub const GRAM: f64 = 1e-3;
/// One gram per minute in kg/s.
pub const GRAM_PER_MINUTE: f64 = GRAM / MINUTE;
/// One milligram per minute in kg/s.
pub const MILLIGRAM_PER_MINUTE: f64 = 1e-6 / MINUTE;
/// One gram per millilitre in kg/m3.
pub const GRAM_PER_MILLILITRE: f64 = 1e3;

/// Temperature in K from degrees Celsius.
///
/// ```
/// use densepath_fluid::units::from_celsius;
/// assert_eq!(from_celsius(0.0), 273.15);
/// assert_eq!(from_celsius(40.0), 313.15);
/// ```
pub fn from_celsius(temperature_degc: f64) -> f64 {
    temperature_degc + crate::consts::ICE_POINT
}

/// Degrees Celsius from a temperature in K.
///
/// ```
/// use densepath_fluid::units::{from_celsius, to_celsius};
/// assert!((to_celsius(from_celsius(40.0)) - 40.0).abs() < 1e-12);
/// ```
pub fn to_celsius(temperature: f64) -> f64 {
    temperature - crate::consts::ICE_POINT
}
