//! What a mixture is made of: fractions by amount and by mass, checked and prepared once.

use crate::error::{Error, Result};
use crate::num::Amounts;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// How far fractions may sum from 1 before they are refused; within it they are scaled to sum to 1.
const SUM_TOLERANCE: f64 = 1e-9;

/// The composition of a mixture of given substances.
///
/// ```
/// use densepath_fluid::fluids::Composition;
/// // 10 % of methanol by amount in carbon dioxide is 7.5 % by mass.
/// let blend = Composition::from_amount_fractions(&[0.9, 0.1], &[44.0098e-3, 32.0422e-3])?;
/// assert!((blend.mass_fractions()[1] - 3.20422 / (3.20422 + 39.60882)).abs() < 1e-12);
/// # Ok::<(), densepath_fluid::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Composition {
    amount_fractions: Amounts,
    mass_fractions: Amounts,
    molar_masses: Amounts,
    molar_mass: f64,
}

impl Composition {
    /// From amount fractions x and the molar masses M in kg/mol of the substances, in one order.
    ///
    /// Error 103 if a fraction is negative, above 1 or not a number, or if they do not sum to 1 within 1e-9; error 104 if
    /// there are not as many of one as of the other, or none.
    ///
    /// ```
    /// # use densepath_fluid::fluids::Composition;
    /// let refused = Composition::from_amount_fractions(&[0.9, 0.2], &[44.0098e-3, 32.0422e-3]);
    /// assert_eq!(refused.unwrap_err().code(), 103);
    /// ```
    pub fn from_amount_fractions(amount_fractions: &[f64], molar_masses: &[f64]) -> Result<Self> {
        same_length(amount_fractions, molar_masses)?;
        let amount_fractions = checked(amount_fractions)?;
        Ok(Self::prepared(amount_fractions, molar_masses))
    }

    /// One substance alone, of molar mass M in kg/mol.
    pub(crate) fn of_one(molar_mass: f64) -> Self {
        Self::prepared(Amounts::from_slice(&[1.0]), &[molar_mass])
    }

    /// From mass fractions w and the molar masses M in kg/mol of the substances; errors as
    /// [`Composition::from_amount_fractions`].
    ///
    /// ```
    /// # use densepath_fluid::fluids::Composition;
    /// let masses = [44.0098e-3, 32.0422e-3];
    /// let blend = Composition::from_mass_fractions(&[0.9, 0.1], &masses)?;
    /// let back = Composition::from_amount_fractions(blend.amount_fractions(), &masses)?;
    /// assert!((back.mass_fractions()[1] - 0.1).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn from_mass_fractions(mass_fractions: &[f64], molar_masses: &[f64]) -> Result<Self> {
        same_length(mass_fractions, molar_masses)?;
        let mass_fractions = checked(mass_fractions)?;
        let amounts = mass_fractions.iter().zip(molar_masses).map(|(w, m)| w / m);
        let sum: f64 = amounts.clone().sum();
        Ok(Self::prepared(
            amounts.map(|amount| amount / sum).collect(),
            molar_masses,
        ))
    }

    /// The same substances in other amounts; errors as [`Composition::from_amount_fractions`].
    ///
    /// ```
    /// # use densepath_fluid::fluids::Composition;
    /// let blend = Composition::from_amount_fractions(&[0.9, 0.1], &[44.0098e-3, 32.0422e-3])?;
    /// assert!(blend.with_amount_fractions(&[0.8, 0.2])?.molar_mass() < blend.molar_mass());
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn with_amount_fractions(&self, amount_fractions: &[f64]) -> Result<Self> {
        Self::from_amount_fractions(amount_fractions, &self.molar_masses)
    }

    fn prepared(amount_fractions: Amounts, molar_masses: &[f64]) -> Self {
        let mut mass_fractions = Amounts::from_slice(&amount_fractions);
        let mut molar_mass = 0.0;
        for (mass, m) in mass_fractions.iter_mut().zip(molar_masses) {
            *mass *= m;
            molar_mass += *mass;
        }
        for mass in &mut mass_fractions {
            *mass /= molar_mass;
        }
        Self {
            mass_fractions,
            amount_fractions,
            molar_masses: Amounts::from_slice(molar_masses),
            molar_mass,
        }
    }

    /// Number of substances, those of amount zero included.
    ///
    /// ```
    /// # use densepath_fluid::fluids::Composition;
    /// assert_eq!(Composition::from_amount_fractions(&[1.0, 0.0], &[44.0098e-3, 32.0422e-3])?.len(), 2);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn len(&self) -> usize {
        self.amount_fractions.len()
    }

    /// Whether there is no substance; never so for a composition that passed its checks.
    ///
    /// ```
    /// # use densepath_fluid::fluids::Composition;
    /// assert!(!Composition::from_amount_fractions(&[1.0], &[44.0098e-3])?.is_empty());
    /// assert_eq!(Composition::from_amount_fractions(&[], &[]).unwrap_err().code(), 104);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn is_empty(&self) -> bool {
        self.amount_fractions.is_empty()
    }

    /// Amount fractions x.
    ///
    /// ```
    /// # use densepath_fluid::fluids::Composition;
    /// let blend = Composition::from_mass_fractions(&[0.5, 0.5], &[44.0098e-3, 32.0422e-3])?;
    /// // The lighter substance has the greater amount.
    /// assert!(blend.amount_fractions()[1] > 0.5);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn amount_fractions(&self) -> &[f64] {
        &self.amount_fractions
    }

    /// Mass fractions w.
    ///
    /// ```
    /// # use densepath_fluid::fluids::Composition;
    /// let blend = Composition::from_amount_fractions(&[0.5, 0.5], &[44.0098e-3, 32.0422e-3])?;
    /// assert!((blend.mass_fractions()[0] - 44.0098 / 76.052).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn mass_fractions(&self) -> &[f64] {
        &self.mass_fractions
    }

    /// Molar masses M of the substances in kg/mol.
    ///
    /// ```
    /// # use densepath_fluid::fluids::Composition;
    /// let blend = Composition::from_amount_fractions(&[0.5, 0.5], &[44.0098e-3, 32.0422e-3])?;
    /// assert_eq!(blend.molar_masses(), [44.0098e-3, 32.0422e-3]);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn molar_masses(&self) -> &[f64] {
        &self.molar_masses
    }

    /// Molar mass M of the mixture in kg/mol.
    ///
    /// ```
    /// # use densepath_fluid::fluids::Composition;
    /// let blend = Composition::from_amount_fractions(&[0.5, 0.5], &[44.0098e-3, 32.0422e-3])?;
    /// assert!((blend.molar_mass() - 38.026e-3).abs() < 1e-12);
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn molar_mass(&self) -> f64 {
        self.molar_mass
    }
}

fn same_length(fractions: &[f64], molar_masses: &[f64]) -> Result<()> {
    if fractions.len() == molar_masses.len() && !fractions.is_empty() {
        return Ok(());
    }
    Err(Error::Argument {
        argument: "fractions".to_owned(),
        expected: "one for each substance, and at least one",
        got: format!("{} for {} substances", fractions.len(), molar_masses.len()),
    })
}

/// The fractions scaled to sum to 1, error 103 if they are no fractions.
fn checked(fractions: &[f64]) -> Result<Amounts> {
    let sum: f64 = fractions.iter().sum();
    let outside = fractions.iter().position(|x| !(0.0..=1.0).contains(x));
    let refuse = |index: usize| Error::Composition {
        sum,
        index,
        value: fractions.get(index).copied().unwrap_or(f64::NAN),
    };
    if let Some(index) = outside {
        return Err(refuse(index));
    }
    if (sum - 1.0).abs() > SUM_TOLERANCE {
        return Err(refuse(fractions.len() - 1));
    }
    // Fractions that have been scaled already keep their last bits.
    let rounding = fractions.len() as f64 * f64::EPSILON;
    let divisor = if (sum - 1.0).abs() <= rounding {
        1.0
    } else {
        sum
    };
    let mut checked = Amounts::from_slice(fractions);
    for x in &mut checked {
        *x /= divisor;
    }
    Ok(checked)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const MASSES: [f64; 3] = [0.0440098, 0.03204216, 0.01801527];

    #[test]
    fn fractions_that_are_none_are_refused() {
        for (fractions, index, value) in [
            ([0.5, -0.1, 0.6], 1, -0.1),
            ([1.2, -0.2, 0.0], 0, 1.2),
            ([0.5, 0.3, 0.1], 2, 0.1),
        ] {
            let error = Composition::from_amount_fractions(&fractions, &MASSES).unwrap_err();
            let expected = Error::Composition {
                sum: fractions.iter().sum(),
                index,
                value,
            };
            assert_eq!((error.code(), &error), (103, &expected));
        }
        let nan = Composition::from_amount_fractions(&[0.5, f64::NAN, 0.5], &MASSES);
        assert_eq!(nan.unwrap_err().code(), 103);
        let short = Composition::from_mass_fractions(&[1.0], &MASSES);
        assert_eq!(short.unwrap_err().code(), 104);
        assert_eq!(
            Composition::from_amount_fractions(&[], &[])
                .unwrap_err()
                .code(),
            104
        );
    }

    proptest! {
        #[test]
        fn mass_fractions_lead_back_to_amount_fractions(a in 0.0..1.0f64, b in 0.0..1.0f64) {
            let fractions = [a * b, a * (1.0 - b), 1.0 - a];
            let first = Composition::from_amount_fractions(&fractions, &MASSES).unwrap();
            let back = Composition::from_mass_fractions(first.mass_fractions(), &MASSES).unwrap();
            for (x, y) in back.amount_fractions().iter().zip(fractions) {
                prop_assert!((x - y).abs() < 1e-15);
            }
            prop_assert!((back.molar_mass() / first.molar_mass() - 1.0).abs() < 1e-14);
        }
    }
}
