//! Gauss-Legendre quadrature.

/// Nodes and weights of the ten-point rule on [-1, 1] (Abramowitz and Stegun 1964, table 25.4); the rule is symmetric.
const GAUSS_10: [(f64, f64); 5] = [
    (0.148_874_338_981_631_21, 0.295_524_224_714_752_87),
    (0.433_395_394_129_247_19, 0.269_266_719_309_996_36),
    (0.679_409_568_299_024_41, 0.219_086_362_515_982_04),
    (0.865_063_366_688_984_51, 0.149_451_349_150_580_59),
    (0.973_906_528_517_171_72, 0.066_671_344_308_688_14),
];

/// Integral of a fallible function over `[from, to]` by the ten-point rule on `panels` equal panels.
///
/// ```
/// use densepath_fluid::{Error, num::quad::integrate};
/// let area = integrate(0.0, 1.0, 1, |x: f64| Ok::<f64, Error>(x.exp()))?;
/// assert!((area - (1.0_f64.exp() - 1.0)).abs() < 1e-14);
/// # Ok::<(), Error>(())
/// ```
pub fn integrate<E, F>(from: f64, to: f64, panels: u32, mut f: F) -> Result<f64, E>
where
    F: FnMut(f64) -> Result<f64, E>,
{
    let half = 0.5 * (to - from) / f64::from(panels);
    let mut sum = 0.0;
    for panel in 0..panels {
        let middle = from + half * (2.0 * f64::from(panel) + 1.0);
        for (node, weight) in GAUSS_10 {
            sum += weight * (f(middle - half * node)? + f(middle + half * node)?);
        }
    }
    Ok(half * sum)
}

/// Points and weights of the ten-point rule on `[from, to]`, from the first on, for integrands that are sampled once and weighed often.
///
/// ```
/// use densepath_fluid::num::quad::samples;
/// let mean: f64 = samples(0.0, 2.0).iter().map(|(x, weight)| weight * x * x).sum();
/// assert!((mean - 8.0 / 3.0).abs() < 1e-14);
/// ```
pub fn samples(from: f64, to: f64) -> [(f64, f64); 10] {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    let mut samples = [(middle, 0.0); 10];
    let (before, behind) = samples.split_at_mut(GAUSS_10.len());
    let sides = before.iter_mut().rev().zip(behind);
    for ((below, above), (node, weight)) in sides.zip(GAUSS_10) {
        *below = (middle - half * node, half * weight);
        *above = (middle + half * node, half * weight);
    }
    samples
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn integrates_a_polynomial_of_degree_19_exactly() {
        let integral = integrate::<(), _>(0.0, 1.0, 1, |x| Ok(20.0 * x.powi(19))).unwrap();
        assert!((integral - 1.0).abs() < 1e-14);
        let sum: f64 = samples(0.0, 1.0)
            .iter()
            .map(|(x, weight)| weight * 20.0 * x.powi(19))
            .sum();
        assert!((sum - 1.0).abs() < 1e-14);
        assert!(samples(0.0, 1.0).is_sorted_by(|one, other| one.0 < other.0));
    }
}
