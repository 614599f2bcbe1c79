//! Constants that are exact by definition, each with its source.

/// Molar gas constant R in J/(mol K), exact since the 2019 revision of the SI (BIPM, SI Brochure, 9th ed., 2019).
///
/// Equations of state carry the value their authors used; this one serves where no equation prescribes another.
pub const MOLAR_GAS_CONSTANT: f64 = 8.314_462_618_153_24;

/// Boltzmann constant k in J/K, exact (BIPM, SI Brochure, 9th ed., 2019).
pub const BOLTZMANN_CONSTANT: f64 = 1.380_649e-23;

/// Avogadro constant in 1/mol, exact (BIPM, SI Brochure, 9th ed., 2019).
pub const AVOGADRO_CONSTANT: f64 = 6.022_140_76e23;

/// Standard atmosphere in Pa, exact (10th CGPM, 1954, Resolution 4).
pub const STANDARD_ATMOSPHERE: f64 = 101_325.0;

/// Standard acceleration of free fall in m/s2, exact (3rd CGPM, 1901).
pub const STANDARD_GRAVITY: f64 = 9.806_65;

/// The ice point, 0 degC, in K, exact.
pub const ICE_POINT: f64 = 273.15;
