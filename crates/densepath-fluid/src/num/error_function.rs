//! The complementary error function, plain and scaled.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// Coefficients of the rational approximations by W. J. Cody, Math. Comp. 23, 631 (1969),
/// doi 10.1090/S0025-5718-1969-0247736-4: numerator, highest power first.
const NEAR: [f64; 5] = [
    1.857_777_061_846_031_53e-1,
    3.161_123_743_870_565_60,
    1.138_641_541_510_501_56e2,
    3.774_852_376_853_020_21e2,
    3.209_377_589_138_469_47e3,
];
const NEAR_BELOW: [f64; 5] = [
    1.0,
    2.360_129_095_234_412_09e1,
    2.440_246_379_344_441_73e2,
    1.282_616_526_077_372_28e3,
    2.844_236_833_439_170_62e3,
];
const MIDDLE: [f64; 9] = [
    2.153_115_354_744_038_46e-8,
    5.641_884_969_886_700_89e-1,
    8.883_149_794_388_375_94,
    6.611_919_063_714_162_95e1,
    2.986_351_381_974_001_31e2,
    8.819_522_212_417_690_90e2,
    1.712_047_612_634_070_58e3,
    2.051_078_377_826_071_47e3,
    1.230_339_354_797_997_25e3,
];
const MIDDLE_BELOW: [f64; 9] = [
    1.0,
    1.574_492_611_070_983_47e1,
    1.176_939_508_913_124_99e2,
    5.371_811_018_620_098_58e2,
    1.621_389_574_566_690_19e3,
    3.290_799_235_733_459_63e3,
    4.362_619_090_143_247_16e3,
    3.439_367_674_143_721_64e3,
    1.230_339_354_803_749_42e3,
];
const FAR: [f64; 6] = [
    1.631_538_713_730_209_78e-2,
    3.053_266_349_612_323_44e-1,
    3.603_448_999_498_044_39e-1,
    1.257_817_261_112_292_46e-1,
    1.608_378_514_874_227_66e-2,
    6.587_491_615_298_378_03e-4,
];
const FAR_BELOW: [f64; 6] = [
    1.0,
    2.568_520_192_289_822_42,
    1.872_952_849_923_467_25,
    5.279_051_029_514_284_12e-1,
    6.051_834_131_244_131_91e-2,
    2.335_204_976_268_691_85e-3,
];
const ONE_OVER_ROOT_PI: f64 = 5.641_895_835_477_562_869e-1;

fn polynomial<const N: usize>(coefficients: &[f64; N], x: f64) -> f64 {
    coefficients.iter().fold(0.0, |sum, c| sum * x + c)
}

/// Scaled complementary error function `exp(x^2) erfc(x)` of x at least 0; it falls from 1 as `1/(x sqrt(pi))` and never
/// overflows. Relative error below 1e-14.
///
/// ```
/// use densepath_fluid::num::error_function::{erfc, scaled_erfc};
/// assert!((scaled_erfc(1.0) * (-1.0_f64).exp() / erfc(1.0) - 1.0).abs() < 1e-14);
/// ```
pub fn scaled_erfc(x: f64) -> f64 {
    if x < 0.46875 {
        let square = x * x;
        return square.exp() * (1.0 - erf_near(x));
    }
    if x <= 4.0 {
        return polynomial(&MIDDLE, x) / polynomial(&MIDDLE_BELOW, x);
    }
    let square = 1.0 / (x * x);
    let ratio = square * polynomial(&FAR, square) / polynomial(&FAR_BELOW, square);
    (ONE_OVER_ROOT_PI - ratio) / x
}

/// Complementary error function erfc(x) of any x.
///
/// ```
/// use densepath_fluid::num::error_function::erfc;
/// // NIST Digital Library of Mathematical Functions, 7.2: erfc(0) = 1 and erfc(-x) = 2 - erfc(x).
/// assert_eq!(erfc(0.0), 1.0);
/// assert!((erfc(-0.5) + erfc(0.5) - 2.0).abs() < 1e-15);
/// ```
pub fn erfc(x: f64) -> f64 {
    let magnitude = x.abs();
    if magnitude < 0.46875 {
        return 1.0 - erf_near(x);
    }
    let upper = (-x * x).exp() * scaled_erfc(magnitude);
    if x < 0.0 { 2.0 - upper } else { upper }
}

/// erf(x) for |x| below 0.46875.
fn erf_near(x: f64) -> f64 {
    let square = x * x;
    x * polynomial(&NEAR, square) / polynomial(&NEAR_BELOW, square)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// x, erfc(x) and exp(x^2) erfc(x): scipy 1.17.1, `special.erfc` and `special.erfcx`.
    const VALUES: [(f64, f64, f64); 9] = [
        (-2.5, 1.999593047982555, 1035.8148429726227),
        (-0.3, 1.3286267594591274, 1.4537492328427655),
        (0.0, 1.0, 1.0),
        (0.2, 0.7772974107895215, 0.8090195199015808),
        (0.7, 0.3221988061625817, 0.525930337349441),
        (2.0, 0.004677734981047266, 0.2553956763105058),
        (3.9, 3.479224859723178e-08, 0.14031418160068973),
        (6.5, 3.842148327120647e-20, 0.0858056701048946),
        (40.0, 0.0, 0.014100335983377815),
    ];

    #[test]
    fn both_functions_agree_with_an_independent_library() {
        for (x, plain, scaled) in VALUES {
            let agrees = |ours: f64, other: f64| (ours / other - 1.0).abs() < 2e-14;
            if x >= 0.0 {
                assert!(agrees(scaled_erfc(x), scaled), "{x}: {}", scaled_erfc(x));
            }
            if plain > 1e-300 {
                assert!((erfc(x) / plain - 1.0).abs() < 2e-13, "{x}: {}", erfc(x));
            }
        }
    }

    #[test]
    fn the_pieces_join() {
        for edge in [0.46875, 4.0] {
            let (below, above) = (
                scaled_erfc(edge * (1.0 - 1e-15)),
                scaled_erfc(edge * (1.0 + 1e-15)),
            );
            assert!((below / above - 1.0).abs() < 1e-14);
        }
        assert_eq!(scaled_erfc(0.0), 1.0);
        assert!((erfc(-7.0) - 2.0).abs() < 1e-15);
    }
}
