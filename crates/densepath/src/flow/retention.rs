//! One law of the retention factor in named terms, with the box of conditions in which it holds.
//!
//! `ln k = a + b rho + c rho^2 + e/T + s x + q x^2 - n ln x + 2 ln(1 + S_2 x) - S_1 x/(1 + S_2 x)`,
//! any subset of the terms, with the density rho, the temperature T and the fraction x of the modifier in the mobile phase,
//! an amount fraction or a mass fraction as the law says.
//!
//! *Sources*: linear and quadratic in density, with 1/T: D. E. Martire and R. E. Boehm, J. Phys. Chem. 91, 2433 (1987),
//! doi 10.1021/j100293a048; K. D. Bartle et al., J. Chem. Soc. Faraday Trans. 86, 855 (1990), doi 10.1039/FT9908600855.
//! Log-linear and quadratic in the modifier: P. J. Schoenmakers et al., J. Chromatogr. 149, 519 (1978),
//! doi 10.1016/S0021-9673(00)81008-0. Log-log: L. R. Snyder and H. Poppe, J. Chromatogr. 184, 363 (1980),
//! doi 10.1016/S0021-9673(00)93872-X. The last two terms, for gradients: U. D. Neue and H.-J. Kuss, J. Chromatogr. A 1217,
//! 3794 (2010), doi 10.1016/j.chroma.2010.04.023. All from memory.

use crate::fluid::consts::MOLAR_GAS_CONSTANT;
use crate::fluid::error::{Error, Result, SMALLEST, finite, not_negative, positive, within};
use crate::fluid::quantity::Quantity;

/// Relative allowance for the rounding of the sides of a box.
const ROUNDING: f64 = 1e-9;

/// How the modifier's fraction x is counted.
///
/// ```
/// use densepath::flow::retention::ModifierBasis;
/// assert_eq!("mass_fraction".parse(), Ok(ModifierBasis::MassFraction));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ModifierBasis {
    /// Amount fraction (mole fraction).
    AmountFraction,
    /// Mass fraction.
    MassFraction,
}

impl ModifierBasis {
    /// Every way to count.
    pub const ALL: &[Self] = &[Self::AmountFraction, Self::MassFraction];

    /// The word for it in all interfaces: that of its quantity.
    ///
    /// ```
    /// use densepath::flow::retention::ModifierBasis;
    /// assert_eq!(ModifierBasis::AmountFraction.name(), "amount_fraction");
    /// ```
    pub const fn name(self) -> &'static str {
        self.quantity().name()
    }

    /// Its quantity.
    ///
    /// ```
    /// use densepath::{Quantity, flow::retention::ModifierBasis};
    /// assert_eq!(ModifierBasis::AmountFraction.quantity(), Quantity::AmountFraction);
    /// ```
    pub const fn quantity(self) -> Quantity {
        match self {
            Self::AmountFraction => Quantity::AmountFraction,
            Self::MassFraction => Quantity::MassFraction,
        }
    }
}

impl std::str::FromStr for ModifierBasis {
    type Err = ();

    fn from_str(name: &str) -> std::result::Result<Self, ()> {
        let found = Self::ALL.iter().copied().find(|basis| basis.name() == name);
        found.ok_or(())
    }
}

/// What retention depends on at one place.
///
/// ```
/// use densepath::flow::retention::{Conditions, RetentionLaw};
/// let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
/// assert!((RetentionLaw::constant(3.0)?.retention_factor(&at)? - 3.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Temperature T in K.
    pub temperature: f64,
    /// Density rho in kg/m3.
    pub density: f64,
    /// Fraction x of the modifier, from 0 to 1, as the law counts it.
    pub modifier_fraction: f64,
}

macro_rules! terms {
    ($($(#[doc = $doc:literal])* $variant:ident $name:literal $unit:literal;)*) => {
        /// One term of the law, by its coefficient.
        ///
        /// ```
        /// use densepath::flow::retention::Term;
        /// assert_eq!("log_modifier".parse(), Ok(Term::LogModifier));
        /// ```
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Term {
            $($(#[doc = $doc])* $variant,)*
        }

        impl Term {
            /// Every term.
            pub const ALL: &[Term] = &[$(Term::$variant,)*];

            /// Name of the coefficient in words.
            ///
            /// ```
            /// use densepath::flow::retention::Term;
            /// assert!(Term::ALL.iter().all(|term| term.name().parse() == Ok(*term)));
            /// ```
            pub const fn name(self) -> &'static str {
                match self { $(Term::$variant => $name,)* }
            }

            /// SI unit of the coefficient.
            ///
            /// ```
            /// use densepath::flow::retention::Term;
            /// assert_eq!((Term::Density.unit(), Term::ReciprocalTemperature.unit()), ("m3/kg", "K"));
            /// ```
            pub const fn unit(self) -> &'static str {
                match self { $(Term::$variant => $unit,)* }
            }
        }
    };
}

terms! {
    /// a.
    Constant "constant" "1";
    /// b, of rho.
    Density "density" "m3/kg";
    /// c, of rho^2.
    DensitySquared "density_squared" "m6/kg2";
    /// e, of 1/T.
    ReciprocalTemperature "reciprocal_temperature" "K";
    /// s, of x.
    Modifier "modifier" "1";
    /// q, of x^2.
    ModifierSquared "modifier_squared" "1";
    /// n, of -ln x: the exponent of the fall with the modifier.
    LogModifier "log_modifier" "1";
    /// `S_1` of the gradient form of Neue and Kuss.
    GradientSlope "gradient_slope" "1";
    /// `S_2` of the gradient form of Neue and Kuss.
    GradientCurvature "gradient_curvature" "1";
}

impl std::str::FromStr for Term {
    type Err = ();

    fn from_str(name: &str) -> std::result::Result<Self, ()> {
        Self::ALL
            .iter()
            .copied()
            .find(|term| term.name() == name)
            .ok_or(())
    }
}

impl Term {
    /// Whether ln k is linear in the coefficient whatever the others are.
    ///
    /// ```
    /// use densepath::flow::retention::Term;
    /// assert!(Term::Density.is_linear() && !Term::GradientCurvature.is_linear());
    /// ```
    pub const fn is_linear(self) -> bool {
        !matches!(self, Term::GradientSlope | Term::GradientCurvature)
    }

    /// Derivative of ln k with the coefficient, where that is linear.
    pub(super) fn factor(self, at: &Conditions) -> f64 {
        let (rho, x) = (at.density, at.modifier_fraction);
        match self {
            Term::Constant => 1.0,
            Term::Density => rho,
            Term::DensitySquared => rho * rho,
            Term::ReciprocalTemperature => 1.0 / at.temperature,
            Term::Modifier => x,
            Term::ModifierSquared => x * x,
            Term::LogModifier => -x.ln(),
            Term::GradientSlope | Term::GradientCurvature => f64::NAN,
        }
    }
}

/// Values from the smallest to the largest.
///
/// ```
/// use densepath::flow::retention::Span;
/// let densities = Span { min: 600.0, max: 900.0 };
/// assert_eq!(densities, Span::of([700.0, 600.0, 900.0].into_iter()));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Smallest.
    pub min: f64,
    /// Largest.
    pub max: f64,
}

impl Span {
    /// No limit.
    pub const UNLIMITED: Self = Self {
        min: f64::NEG_INFINITY,
        max: f64::INFINITY,
    };

    /// The smallest span that holds the values.
    ///
    /// ```
    /// use densepath::flow::retention::Span;
    /// assert_eq!(Span::of([0.1, 0.02, 0.2].into_iter()), Span { min: 0.02, max: 0.2 });
    /// ```
    pub fn of(values: impl Iterator<Item = f64>) -> Self {
        values.fold(
            Self {
                min: f64::INFINITY,
                max: f64::NEG_INFINITY,
            },
            |span, value| Self {
                min: span.min.min(value),
                max: span.max.max(value),
            },
        )
    }

    fn admit(&self, quantity: Quantity, value: f64) -> Result<f64> {
        let (low, high) = (
            self.min - ROUNDING * self.min.abs(),
            self.max + ROUNDING * self.max.abs(),
        );
        if value >= low && value <= high {
            return Ok(value);
        }
        within(
            quantity,
            value,
            self.min,
            self.max,
            "the retention law of the solute",
        )
    }

    fn check(&self, quantity: Quantity) -> Result<()> {
        if self.min <= self.max {
            return Ok(());
        }
        Err(Error::Domain {
            quantity,
            value: self.max,
            rule: "no less than the smallest value of the box",
        })
    }
}

/// The box of conditions in which a law was fitted, and outside which it refuses to answer.
///
/// ```
/// # use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
/// # let span = |min, max| Span { min, max };
/// # let fitted = FittedBox { temperature: span(300.0, 360.0), density: span(600.0, 900.0), modifier_fraction: span(0.0, 0.2) };
/// # let terms = [(Term::Constant, 1.0), (Term::Density, -0.004), (Term::ReciprocalTemperature, 1500.0)];
/// # let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted)?;
/// # let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
/// // Outside of its box a law gives no answer.
/// let thin = Conditions { density: 300.0, ..at };
/// assert_eq!(law.retention_factor(&thin).unwrap_err().code(), 102);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedBox {
    /// Temperatures T in K.
    pub temperature: Span,
    /// Densities rho in kg/m3.
    pub density: Span,
    /// Fractions x of the modifier.
    pub modifier_fraction: Span,
}

impl FittedBox {
    /// No limits: for a law that holds everywhere by assumption.
    pub const UNLIMITED: Self = Self {
        temperature: Span::UNLIMITED,
        density: Span::UNLIMITED,
        modifier_fraction: Span::UNLIMITED,
    };

    /// No limits but x above zero, as ln x needs.
    pub(super) const ABOVE_ZERO: Self = Self {
        modifier_fraction: Span {
            min: SMALLEST,
            max: f64::INFINITY,
        },
        ..Self::UNLIMITED
    };
}

/// A law of the retention factor k.
///
/// *Valid*: inside its box, for a solute so dilute that it does not change the phases. *Uncertainty*: that of its fit, see
/// [`super::retention_fit::RetentionFit`].
///
/// ```
/// # use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
/// # let span = |min, max| Span { min, max };
/// # let fitted = FittedBox { temperature: span(300.0, 360.0), density: span(600.0, 900.0), modifier_fraction: span(0.0, 0.2) };
/// # let terms = [(Term::Constant, 1.0), (Term::Density, -0.004), (Term::ReciprocalTemperature, 1500.0)];
/// # let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted)?;
/// # let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
/// // ln k = a + b rho + e / T.
/// let expected = 1.0 - 0.004 * 780.0 + 1500.0 / 313.15;
/// assert!((law.log_retention_factor(&at)? - expected).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RetentionLaw {
    /// Coefficients in the order of [`Term::ALL`], zero where a term is absent.
    coefficients: [f64; 9],
    basis: ModifierBasis,
    fitted: FittedBox,
}

impl RetentionLaw {
    /// The law of the terms with their coefficients in SI, in the box of its fit.
    ///
    /// Errors: 101 for a coefficient that is not finite, for `S_2` below zero, a box whose sides are in the wrong order, or
    /// one that reaches down to x = 0 although ln x is asked for.
    ///
    /// ```
    /// # use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
    /// # let span = |min, max| Span { min, max };
    /// # let fitted = FittedBox { temperature: span(300.0, 360.0), density: span(600.0, 900.0), modifier_fraction: span(0.0, 0.2) };
    /// # let terms = [(Term::Constant, 1.0), (Term::Density, -0.004), (Term::ReciprocalTemperature, 1500.0)];
    /// # let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted)?;
    /// # let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
    /// // Without a box nothing is held: ln x at x = 0 has no value.
    /// assert_eq!(RetentionLaw::new(&[(Term::LogModifier, 1.0)], ModifierBasis::AmountFraction, fitted).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn new(terms: &[(Term, f64)], basis: ModifierBasis, fitted: FittedBox) -> Result<Self> {
        let mut law = Self {
            coefficients: [0.0; 9],
            basis,
            fitted,
        };
        for &(term, coefficient) in terms {
            if let Some(place) = law.coefficients.get_mut(term as usize) {
                *place = finite(Quantity::Ratio, coefficient)?;
            }
        }
        not_negative(Quantity::Ratio, law.coefficient(Term::GradientCurvature))?;
        fitted.temperature.check(Quantity::Temperature)?;
        fitted.density.check(Quantity::Density)?;
        fitted.modifier_fraction.check(basis.quantity())?;
        if law.coefficient(Term::LogModifier) != 0.0 {
            positive(basis.quantity(), fitted.modifier_fraction.min)?;
        }
        Ok(law)
    }

    /// The law `ln k = a`, everywhere.
    ///
    /// Errors: 101 for a retention factor not above zero.
    ///
    /// ```
    /// use densepath::flow::retention::{Conditions, RetentionLaw};
    /// let at = |density| Conditions { temperature: 313.15, density, modifier_fraction: 0.0 };
    /// let law = RetentionLaw::constant(2.0)?;
    /// assert_eq!(law.retention_factor(&at(100.0))?, law.retention_factor(&at(900.0))?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn constant(retention_factor: f64) -> Result<Self> {
        let a = positive(Quantity::RetentionFactor, retention_factor)?.ln();
        Self::new(
            &[(Term::Constant, a)],
            ModifierBasis::AmountFraction,
            FittedBox::UNLIMITED,
        )
    }

    /// Coefficient of a term; zero where the term is absent.
    ///
    /// ```
    /// # use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
    /// # let span = |min, max| Span { min, max };
    /// # let fitted = FittedBox { temperature: span(300.0, 360.0), density: span(600.0, 900.0), modifier_fraction: span(0.0, 0.2) };
    /// # let terms = [(Term::Constant, 1.0), (Term::Density, -0.004), (Term::ReciprocalTemperature, 1500.0)];
    /// # let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted)?;
    /// # let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
    /// assert_eq!((law.coefficient(Term::Density), law.coefficient(Term::Modifier)), (-0.004, 0.0));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn coefficient(&self, term: Term) -> f64 {
        self.coefficients.get(term as usize).copied().unwrap_or(0.0)
    }

    /// How the modifier is counted.
    ///
    /// ```
    /// # use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
    /// # let span = |min, max| Span { min, max };
    /// # let fitted = FittedBox { temperature: span(300.0, 360.0), density: span(600.0, 900.0), modifier_fraction: span(0.0, 0.2) };
    /// # let terms = [(Term::Constant, 1.0), (Term::Density, -0.004), (Term::ReciprocalTemperature, 1500.0)];
    /// # let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted)?;
    /// # let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
    /// assert_eq!(law.basis(), ModifierBasis::AmountFraction);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn basis(&self) -> ModifierBasis {
        self.basis
    }

    /// The box of the fit.
    ///
    /// ```
    /// # use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
    /// # let span = |min, max| Span { min, max };
    /// # let fitted = FittedBox { temperature: span(300.0, 360.0), density: span(600.0, 900.0), modifier_fraction: span(0.0, 0.2) };
    /// # let terms = [(Term::Constant, 1.0), (Term::Density, -0.004), (Term::ReciprocalTemperature, 1500.0)];
    /// # let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted)?;
    /// # let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
    /// assert_eq!(law.fitted().density, Span { min: 600.0, max: 900.0 });
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn fitted(&self) -> &FittedBox {
        &self.fitted
    }

    /// Natural logarithm of the retention factor k.
    ///
    /// Errors: 102 outside the box of the fit.
    ///
    /// ```
    /// # use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
    /// # let span = |min, max| Span { min, max };
    /// # let fitted = FittedBox { temperature: span(300.0, 360.0), density: span(600.0, 900.0), modifier_fraction: span(0.0, 0.2) };
    /// # let terms = [(Term::Constant, 1.0), (Term::Density, -0.004), (Term::ReciprocalTemperature, 1500.0)];
    /// # let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted)?;
    /// # let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
    /// assert!((law.log_retention_factor(&at)?.exp() / law.retention_factor(&at)? - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn log_retention_factor(&self, at: &Conditions) -> Result<f64> {
        self.fitted
            .temperature
            .admit(Quantity::Temperature, at.temperature)?;
        self.fitted.density.admit(Quantity::Density, at.density)?;
        self.fitted
            .modifier_fraction
            .admit(self.basis.quantity(), at.modifier_fraction)?;
        Ok(self.evaluate(at))
    }

    /// Retention factor k.
    ///
    /// Errors: 102 outside the box of the fit.
    ///
    /// ```
    /// # use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
    /// # let span = |min, max| Span { min, max };
    /// # let fitted = FittedBox { temperature: span(300.0, 360.0), density: span(600.0, 900.0), modifier_fraction: span(0.0, 0.2) };
    /// # let terms = [(Term::Constant, 1.0), (Term::Density, -0.004), (Term::ReciprocalTemperature, 1500.0)];
    /// # let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted)?;
    /// # let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
    /// // Denser fluid elutes sooner.
    /// assert!(law.retention_factor(&Conditions { density: 850.0, ..at })? < law.retention_factor(&at)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn retention_factor(&self, at: &Conditions) -> Result<f64> {
        self.log_retention_factor(at).map(f64::exp)
    }

    /// ln k without a look at the box.
    pub(super) fn evaluate(&self, at: &Conditions) -> f64 {
        let [a, b, c, e, s, q, n, s_1, s_2] = self.coefficients;
        let (rho, x) = (at.density, at.modifier_fraction);
        let mut ln_k = a + rho * (b + c * rho) + e / at.temperature + x * (s + q * x);
        if n != 0.0 {
            ln_k -= n * x.ln();
        }
        if s_1 != 0.0 || s_2 != 0.0 {
            ln_k += 2.0 * (s_2 * x).ln_1p() - s_1 * x / (1.0 + s_2 * x);
        }
        ln_k
    }

    /// Derivatives of ln k: with the temperature in 1/K, the density in m3/kg and the modifier's fraction, each with the
    /// other two held.
    ///
    /// Errors: 102 outside the box of the fit.
    ///
    /// ```
    /// # use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
    /// # let span = |min, max| Span { min, max };
    /// # let fitted = FittedBox { temperature: span(300.0, 360.0), density: span(600.0, 900.0), modifier_fraction: span(0.0, 0.2) };
    /// # let terms = [(Term::Constant, 1.0), (Term::Density, -0.004), (Term::ReciprocalTemperature, 1500.0)];
    /// # let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted)?;
    /// # let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
    /// let slopes = law.slopes(&at)?;
    /// assert!((slopes.density + 0.004).abs() < 1e-12);
    /// assert!((slopes.temperature + 1500.0 / 313.15f64.powi(2)).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn slopes(&self, at: &Conditions) -> Result<Conditions> {
        self.log_retention_factor(at)?;
        let [_, b, c, e, s, q, n, s_1, s_2] = self.coefficients;
        let x = at.modifier_fraction;
        let opened = 1.0 + s_2 * x;
        let log = if n == 0.0 { 0.0 } else { n / x };
        Ok(Conditions {
            temperature: -e / (at.temperature * at.temperature),
            density: b + 2.0 * c * at.density,
            modifier_fraction: s + 2.0 * q * x - log + 2.0 * s_2 / opened - s_1 / (opened * opened),
        })
    }

    /// Molar enthalpy in J/mol of the transfer from the mobile to the stationary phase at constant density,
    /// `-R dln k/d(1/T)`: van't Hoff's law.
    ///
    /// ```
    /// # use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
    /// # let span = |min, max| Span { min, max };
    /// # let fitted = FittedBox { temperature: span(300.0, 360.0), density: span(600.0, 900.0), modifier_fraction: span(0.0, 0.2) };
    /// # let terms = [(Term::Constant, 1.0), (Term::Density, -0.004), (Term::ReciprocalTemperature, 1500.0)];
    /// # let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted)?;
    /// # let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
    /// // -R e: 1500 K are -12.47 kJ/mol.
    /// assert!((law.transfer_enthalpy_at_density() / 1e3 + 12.47).abs() < 0.01);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn transfer_enthalpy_at_density(&self) -> f64 {
        -MOLAR_GAS_CONSTANT * self.coefficient(Term::ReciprocalTemperature)
    }

    /// Molar enthalpy in J/mol of the apparent transfer at constant pressure: warming at constant pressure also thins the
    /// mobile phase, by its isobaric expansivity `alpha_V` in 1/K.
    ///
    /// `-R [e + (b + 2 c rho) rho alpha_V T^2]`. *Source*: chain rule on the law.
    ///
    /// Errors: 102 outside the box of the fit.
    ///
    /// ```
    /// # use densepath::flow::retention::{Conditions, FittedBox, ModifierBasis, RetentionLaw, Span, Term};
    /// # let span = |min, max| Span { min, max };
    /// # let fitted = FittedBox { temperature: span(300.0, 360.0), density: span(600.0, 900.0), modifier_fraction: span(0.0, 0.2) };
    /// # let terms = [(Term::Constant, 1.0), (Term::Density, -0.004), (Term::ReciprocalTemperature, 1500.0)];
    /// # let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, fitted)?;
    /// # let at = Conditions { temperature: 313.15, density: 780.0, modifier_fraction: 0.1 };
    /// // A fluid that did not swell would show the same at constant pressure.
    /// assert!((law.transfer_enthalpy_at_pressure(&at, 0.0)? - law.transfer_enthalpy_at_density()).abs() < 1e-9);
    /// // Carbon dioxide swells so much that retention rises with temperature.
    /// assert!(law.transfer_enthalpy_at_pressure(&at, 8e-3)? > 0.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn transfer_enthalpy_at_pressure(
        &self,
        at: &Conditions,
        isobaric_expansivity: f64,
    ) -> Result<f64> {
        let slopes = self.slopes(at)?;
        let t = at.temperature;
        let by_density = slopes.density * at.density * isobaric_expansivity * t * t;
        Ok(self.transfer_enthalpy_at_density() - MOLAR_GAS_CONSTANT * by_density)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;

    const AT: Conditions = Conditions {
        temperature: 320.0,
        density: 750.0,
        modifier_fraction: 0.08,
    };

    fn law(terms: &[(Term, f64)]) -> RetentionLaw {
        let fitted = FittedBox {
            temperature: Span {
                min: 300.0,
                max: 350.0,
            },
            density: Span {
                min: 500.0,
                max: 900.0,
            },
            modifier_fraction: Span {
                min: 0.02,
                max: 0.3,
            },
        };
        RetentionLaw::new(terms, ModifierBasis::AmountFraction, fitted).unwrap()
    }

    fn full() -> RetentionLaw {
        law(&[
            (Term::Constant, 2.0),
            (Term::Density, -6e-3),
            (Term::DensitySquared, 1.5e-6),
            (Term::ReciprocalTemperature, 1200.0),
            (Term::Modifier, -9.0),
            (Term::ModifierSquared, 7.0),
            (Term::LogModifier, 0.4),
            (Term::GradientSlope, 5.0),
            (Term::GradientCurvature, 1.5),
        ])
    }

    #[test]
    fn the_law_is_the_sum_of_its_terms() {
        // By hand, term by term.
        let expected = 2.0 - 4.5 + 0.843_75 + 3.75 - 0.72 + 0.0448 - 0.4 * 0.08f64.ln()
            + 2.0 * 1.12f64.ln()
            - 0.4 / 1.12;
        assert!(close(
            full().log_retention_factor(&AT).unwrap(),
            expected,
            1e-14
        ));
        let constant = RetentionLaw::constant(2.5).unwrap();
        assert!(close(constant.retention_factor(&AT).unwrap(), 2.5, 1e-15));
    }

    #[test]
    fn slopes_are_those_of_the_law() {
        let law = full();
        let slopes = law.slopes(&AT).unwrap();
        let f = |t: f64, rho: f64, x: f64| {
            law.log_retention_factor(&Conditions {
                temperature: t,
                density: rho,
                modifier_fraction: x,
            })
            .unwrap()
        };
        let (t, rho, x) = (AT.temperature, AT.density, AT.modifier_fraction);
        assert!(close(
            slopes.temperature,
            (f(t + 0.01, rho, x) - f(t - 0.01, rho, x)) / 0.02,
            1e-6
        ));
        assert!(close(
            slopes.density,
            (f(t, rho + 0.01, x) - f(t, rho - 0.01, x)) / 0.02,
            1e-6
        ));
        assert!(close(
            slopes.modifier_fraction,
            (f(t, rho, x + 1e-6) - f(t, rho, x - 1e-6)) / 2e-6,
            1e-6
        ));
    }

    #[test]
    fn no_answer_outside_the_box() {
        for (outside, quantity) in [
            (
                Conditions {
                    temperature: 299.0,
                    ..AT
                },
                Quantity::Temperature,
            ),
            (
                Conditions {
                    density: 901.0,
                    ..AT
                },
                Quantity::Density,
            ),
            (
                Conditions {
                    modifier_fraction: 0.31,
                    ..AT
                },
                Quantity::AmountFraction,
            ),
            (
                Conditions {
                    density: f64::NAN,
                    ..AT
                },
                Quantity::Density,
            ),
        ] {
            let error = full().retention_factor(&outside).unwrap_err();
            assert_eq!(error.quantity(), Some(quantity));
            assert!(error.code() == 102 || error.code() == 101);
        }
        let edge = Conditions {
            density: 900.0 * (1.0 + 1e-12),
            ..AT
        };
        assert!(full().retention_factor(&edge).is_ok());
    }

    #[test]
    fn laws_that_say_nothing_are_refused() {
        let new = |terms: &[(Term, f64)], fitted| {
            RetentionLaw::new(terms, ModifierBasis::MassFraction, fitted)
        };
        assert!(new(&[(Term::Density, f64::NAN)], FittedBox::UNLIMITED).is_err());
        assert!(new(&[(Term::GradientCurvature, -1.0)], FittedBox::UNLIMITED).is_err());
        let wrong = FittedBox {
            density: Span { min: 2.0, max: 1.0 },
            ..FittedBox::UNLIMITED
        };
        assert_eq!(
            new(&[], wrong).unwrap_err().quantity(),
            Some(Quantity::Density)
        );
        let zero = FittedBox {
            modifier_fraction: Span { min: 0.0, max: 0.5 },
            ..FittedBox::UNLIMITED
        };
        assert_eq!(
            new(&[(Term::LogModifier, 1.0)], zero)
                .unwrap_err()
                .quantity(),
            Some(Quantity::MassFraction)
        );
    }

    #[test]
    fn the_enthalpy_at_pressure_counts_the_thinning() {
        let law = law(&[
            (Term::Constant, 1.0),
            (Term::Density, -7e-3),
            (Term::ReciprocalTemperature, 900.0),
        ]);
        assert!(close(
            law.transfer_enthalpy_at_density(),
            -900.0 * MOLAR_GAS_CONSTANT,
            1e-15
        ));
        // A fluid whose density falls as rho = rho_0 exp(-alpha (T - T_0)): slope of ln k with 1/T at constant pressure.
        let alpha = 0.01;
        let ln_k = |t: f64| {
            let density = AT.density * (-alpha * (t - AT.temperature)).exp();
            law.log_retention_factor(&Conditions {
                temperature: t,
                density,
                ..AT
            })
            .unwrap()
        };
        let t = AT.temperature;
        let slope = (ln_k(t + 0.01) - ln_k(t - 0.01)) / (1.0 / (t + 0.01) - 1.0 / (t - 0.01));
        let ours = law.transfer_enthalpy_at_pressure(&AT, alpha).unwrap();
        assert!(close(ours, -MOLAR_GAS_CONSTANT * slope, 1e-6));
    }
}
