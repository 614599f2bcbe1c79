//! Coiled tubes: the secondary flow across the bore, what it does to friction and to dispersion.

use super::friction::REYNOLDS_LAMINAR_LIMIT;
use crate::fluid::error::{Error, Result, positive};
use crate::fluid::quantity::Quantity;

/// Dean number `De = Re sqrt(d/D_c)` of a Reynolds number in a tube of the bore d wound to coils of the diameter `D_c`, in m.
///
/// *Source*: W. R. Dean, Phil. Mag. 5, 673 (1928), doi 10.1080/14786440408564513.
///
/// Errors: 101 for an argument not above zero or a coil narrower than twice the bore.
///
/// ```
/// use densepath::flow::coil::dean_number;
/// // De = Re sqrt(d/D): a tube of 0.25 mm in coils of 10 cm.
/// assert!((dean_number(1000.0, 0.25e-3, 0.1)? - 50.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn dean_number(reynolds_number: f64, diameter: f64, coil_diameter: f64) -> Result<f64> {
    positive(Quantity::ReynoldsNumber, reynolds_number)?;
    Ok(reynolds_number * curvature(diameter, coil_diameter)?.sqrt())
}

fn curvature(diameter: f64, coil_diameter: f64) -> Result<f64> {
    positive(Quantity::Diameter, diameter)?;
    if coil_diameter.is_nan() || coil_diameter < 2.0 * diameter {
        return Err(Error::Domain {
            quantity: Quantity::Diameter,
            value: coil_diameter,
            rule: "at least twice the bore for a coil",
        });
    }
    Ok(diameter / coil_diameter)
}

/// Reynolds number up to which the flow in a coil stays laminar: `2300 (1 + 12 sqrt(d/D_c))`.
///
/// *Valid*: d/D_c up to about 0.1. *Source*: after P. S. Srinivasan, S. S. Nandapurkar and F. A. Holland, Trans. Inst. Chem. Eng.
/// 48, T156 (1970), with 2100 there (from memory).
///
/// Errors: those of [`dean_number`].
///
/// ```
/// use densepath::flow::coil::laminar_limit;
/// // A coil keeps the flow laminar beyond the 2300 of a straight tube.
/// assert!((laminar_limit(0.25e-3, 0.1)? - 2300.0 * (1.0 + 12.0 * 0.05)).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn laminar_limit(diameter: f64, coil_diameter: f64) -> Result<f64> {
    Ok(REYNOLDS_LAMINAR_LIMIT * (1.0 + 12.0 * curvature(diameter, coil_diameter)?.sqrt()))
}

/// Factor by which a coil raises the friction of laminar flow: `1/(1 - [1 - (11.6/De)^0.45]^2.2)` above De = 11.6, 1 below.
///
/// *Valid*: De up to about 2000. *Source*: C. M. White, Proc. R. Soc. Lond. A 123, 645 (1929), doi 10.1098/rspa.1929.0089
/// (from memory).
///
/// Errors: 101 for a Dean number not above zero.
///
/// ```
/// use densepath::flow::coil::friction_ratio;
/// // None below a Dean number of 11.6, then rising.
/// assert_eq!(friction_ratio(5.0)?, 1.0);
/// assert!(1.0 < friction_ratio(50.0)? && friction_ratio(50.0)? < friction_ratio(200.0)?);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn friction_ratio(dean_number: f64) -> Result<f64> {
    let de = positive(Quantity::Ratio, dean_number)?;
    if de <= 11.6 {
        return Ok(1.0);
    }
    Ok(1.0 / (1.0 - (1.0 - (11.6 / de).powf(0.45)).powf(2.2)))
}

/// Logarithms to base 10 of `De^2 Sc`, and the ratio of the dispersion coefficients there.
const RATIOS: [(f64, f64); 12] = [
    (1.0, 0.99976),
    (1.477_121, 0.99789),
    (2.0, 0.97738),
    (2.301_030, 0.91832),
    (2.602_060, 0.763_89),
    (3.0, 0.483_61),
    (3.301_030, 0.355_69),
    (3.602_060, 0.291_46),
    (4.0, 0.248_41),
    (4.477_121, 0.2245),
    (5.0, 0.2143),
    (6.0, 0.2096),
];

/// Ratio of the dispersion coefficient of developed laminar flow in a coil to that of Taylor in a straight tube, of a Dean number
/// De and a Schmidt number Sc: near 1 up to De^2 Sc = 100, 0.48 at 1000, 0.21 from 100 000 on.
///
/// *Valid*: De below about 17, where the secondary flow is that of Dean's first order and the axial profile still a parabola; beyond,
/// the ratio falls further than told here. *Uncertainty*: 1 % of the solution, read from a table linear in the logarithm
/// of `De^2 Sc`. *Source*: computed here: the stream function `y (1 - r^2)^2 (4 - r^2)/288` of W. R. Dean, Phil. Mag. 4, 208 (1927),
/// doi 10.1080/14786440708564324, in the balance of a solute over the cross-section, solved by finite volumes along the radius
/// and a Fourier series around it; the form after M. E. Erdogan and P. C. Chatwin, J. Fluid Mech. 29, 465 (1967),
/// doi 10.1017/S0022112067000977 (from memory).
///
/// Errors: 101 for an argument not above zero.
///
/// ```
/// use densepath::flow::coil::dispersion_ratio;
/// // Secondary flow mixes across the tube: a coil broadens bands less.
/// assert!(dispersion_ratio(50.0, 10.0)? < dispersion_ratio(5.0, 10.0)? && dispersion_ratio(5.0, 10.0)? <= 1.0);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn dispersion_ratio(dean_number: f64, schmidt_number: f64) -> Result<f64> {
    let de = positive(Quantity::Ratio, dean_number)?;
    let mixing = (de * de * positive(Quantity::Ratio, schmidt_number)?).log10();
    for pair in RATIOS.windows(2) {
        let [(low, above), (high, below)] = *pair else {
            continue;
        };
        if mixing <= low {
            return Ok(if low == 1.0 { 1.0 } else { above });
        }
        if mixing <= high {
            return Ok(above + (below - above) * (mixing - low) / (high - low));
        }
    }
    Ok(RATIOS.last().map_or(1.0, |(_, ratio)| *ratio))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;

    #[test]
    fn a_wide_coil_is_a_straight_tube() {
        let de = dean_number(500.0, 1e-4, 10.0).unwrap();
        assert!(close(de, 500.0 * 1e-5f64.sqrt(), 1e-14));
        assert_eq!(friction_ratio(de), Ok(1.0));
        assert_eq!(dispersion_ratio(de, 1.0), Ok(1.0));
        assert!(close(laminar_limit(1e-4, 10.0).unwrap(), 2300.0, 0.04));
    }

    #[test]
    fn tight_coils_resist_more_and_disperse_less() {
        let mut last = (1.0, 1.0);
        for re in [200.0, 400.0, 800.0, 1600.0] {
            let de = dean_number(re, 1.7e-4, 0.02).unwrap();
            let now = (
                friction_ratio(de).unwrap(),
                dispersion_ratio(de, 8.0).unwrap(),
            );
            assert!(now.0 >= last.0 && now.1 < last.1);
            last = now;
        }
        assert!(last.0 > 1.5 && last.1 < 0.3);
        assert!(close(dispersion_ratio(10.0, 10.0).unwrap(), 0.48361, 1e-12));
        assert!(friction_ratio(11.600_001).unwrap() < 1.001);
    }

    #[test]
    fn impossible_coils_are_refused() {
        assert!(dean_number(100.0, 1e-3, 1.5e-3).is_err());
        assert!(dean_number(100.0, 1e-3, f64::NAN).is_err());
        assert!(dispersion_ratio(1.0, 0.0).is_err() && friction_ratio(0.0).is_err());
    }
}
