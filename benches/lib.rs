//! What the benchmarks share: the points they work on, and what they ask there.

use densepath::Quantity;

/// Eight properties that a method asks at every station.
pub const EIGHT: [Quantity; 8] = [
    Quantity::Density,
    Quantity::SpecificEnthalpy,
    Quantity::SpecificEntropy,
    Quantity::SpecificIsobaricHeatCapacity,
    Quantity::SpecificIsochoricHeatCapacity,
    Quantity::SpeedOfSound,
    Quantity::IsothermalCompressibility,
    Quantity::IsobaricExpansivity,
];

/// Pairs of temperature (K) and pressure (Pa) over the dense states an instrument uses: 270 to 380 K, 5 to 40 MPa.
///
/// The pairs are those of a rank-1 lattice, so that neighbours in the list are far apart in the plane.
pub fn dense_points(count: u32) -> Vec<(f64, f64)> {
    let point = |index: u32| {
        let (x, y) = (
            f64::from(index) / f64::from(count),
            (f64::from(index) * 0.618_033_988_749_894_8).fract(),
        );
        (270.0 + 110.0 * x, 5e6 + 35e6 * y)
    };
    (0..count).map(point).collect()
}
