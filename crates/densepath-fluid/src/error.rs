//! The one table of errors: code, class name and fields, feeding Rust, C and Python alike.
//!
//! A message names the quantity, its value with unit, the limit and what to do. Codes are never reused.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;
use crate::units::{BAR, from_celsius, to_celsius};

/// Result of every fallible function of the library.
pub type Result<T> = core::result::Result<T, Error>;

macro_rules! errors {
    ($($(#[doc = $doc:literal])* $code:literal $variant:ident $class:literal {
        $($(#[doc = $field_doc:literal])* $field:ident: $type:ty),* $(,)?
    })*) => {
        /// What went wrong, with the numbers a program or a person needs to act.
        ///
        /// ```
        /// use densepath_fluid::{Error, Fluid, State};
        /// let refused = State::from_tp(&Fluid::new("CO2")?, 40.0, 15e6).unwrap_err();
        /// assert!(matches!(refused, Error::OutOfRange { value: 40.0, .. }));
        /// assert_eq!(refused.code(), 102);
        /// # Ok::<(), densepath_fluid::Error>(())
        /// ```
        #[derive(Debug, Clone, PartialEq)]
        #[non_exhaustive]
        pub enum Error {
            $($(#[doc = $doc])* $variant { $($(#[doc = $field_doc])* $field: $type,)* },)*
        }

        impl Error {
            /// Number of the error; stable across versions.
            ///
            /// ```
            /// assert_eq!(densepath_fluid::Fluid::new("carbon dioxid").unwrap_err().code(), 201);
            /// ```
            pub const fn code(&self) -> i32 {
                match self { $(Error::$variant { .. } => $code,)* }
            }

            /// Name of the Python exception class.
            ///
            /// ```
            /// assert_eq!(densepath_fluid::Fluid::new("carbon dioxid").unwrap_err().class(), "UnknownFluidError");
            /// ```
            pub const fn class(&self) -> &'static str {
                match self { $(Error::$variant { .. } => $class,)* }
            }
        }

        /// Every error of the table: code, variant, class name, meaning.
        pub const ERRORS: &[ErrorEntry] = &[
            $(ErrorEntry { code: $code, variant: stringify!($variant), class: $class, meaning: concat!($($doc),*) },)*
        ];
    };
}

/// One row of [`ERRORS`].
///
/// ```
/// use densepath_fluid::error::ERRORS;
/// let entry = ERRORS.iter().find(|entry| entry.code == 102);
/// assert_eq!(entry.map(|entry| entry.variant), Some("OutOfRange"));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ErrorEntry {
    /// Number of the error.
    pub code: i32,
    /// Name of the variant of [`Error`].
    pub variant: &'static str,
    /// Name of the Python exception class.
    pub class: &'static str,
    /// What it means.
    pub meaning: &'static str,
}

errors! {
    /// A value that no state or part can have: not finite, negative where it must be positive, and the like.
    101 Domain "DomainError" {
        /// Quantity refused.
        quantity: Quantity,
        /// Its value in SI.
        value: f64,
        /// The rule it breaks.
        rule: &'static str,
    }
    /// A value outside the range of the model asked.
    102 OutOfRange "RangeError" {
        /// Quantity refused.
        quantity: Quantity,
        /// Its value in SI.
        value: f64,
        /// Smallest value allowed.
        min: f64,
        /// Largest value allowed.
        max: f64,
        /// Model whose range it is, with its source.
        model: String,
    }
    /// Fractions that do not describe a mixture.
    103 Composition "CompositionError" {
        /// Sum of the fractions given.
        sum: f64,
        /// Index of the offending fraction.
        index: usize,
        /// Its value.
        value: f64,
    }
    /// An argument of the wrong kind: a null pointer, text that is not UTF-8, arrays that do not match.
    104 Argument "ArgumentError" {
        /// Name of the argument.
        argument: String,
        /// What is expected.
        expected: &'static str,
        /// What was given.
        got: String,
    }
    /// A temperature or a pressure outside the region of a table.
    105 OutsideTable "RangeError" {
        /// Quantity refused.
        quantity: Quantity,
        /// Its value in SI.
        value: f64,
        /// Lowest value of the table.
        min: f64,
        /// Highest value of the table.
        max: f64,
    }
    /// A substance that the library does not know.
    201 UnknownFluid "UnknownFluidError" {
        /// Name asked for.
        name: String,
        /// Nearest known name.
        nearest: Option<String>,
    }
    /// A property for which the fluid has no model.
    202 MissingModel "MissingModelError" {
        /// Property asked for.
        property: Quantity,
        /// Fluid asked.
        fluid: String,
        /// What would be needed.
        need: &'static str,
    }
    /// A property of one phase was asked of a state of two.
    301 TwoPhase "PhaseError" {
        /// Property asked for.
        property: Quantity,
        /// Temperature in K.
        temperature: f64,
        /// Pressure in Pa.
        pressure: f64,
        /// Mass fraction of vapour.
        vapour_fraction: f64,
    }
    /// No two phases coexist at the value given.
    302 NoCoexistence "PhaseError" {
        /// Quantity that was given.
        quantity: Quantity,
        /// Its value in SI.
        value: f64,
        /// Smallest value with two phases.
        min: f64,
        /// Largest value with two phases.
        max: f64,
    }
    /// The stable phase at the state given is solid, and the property asked belongs to a fluid.
    303 Solid "PhaseError" {
        /// Temperature in K.
        temperature: f64,
        /// Pressure in Pa.
        pressure: f64,
        /// Pressure in Pa at which the solid begins at this temperature.
        limit: f64,
    }
    /// An iteration that ended without meeting its tolerance.
    401 NoConvergence "ConvergenceError" {
        /// Solver that gave up.
        solver: &'static str,
        /// Iterations made.
        iterations: u32,
        /// Residual reached.
        residual: f64,
        /// Residual wanted.
        tolerance: f64,
    }
    /// A target that no value of the unknown reaches within its bounds.
    402 Unreachable "ConvergenceError" {
        /// Quantity sought.
        quantity: Quantity,
        /// Lower bound searched.
        min: f64,
        /// Upper bound searched.
        max: f64,
        /// Why it cannot be reached.
        reason: &'static str,
    }
    /// More than one state has the two values given.
    403 NotUnique "ConvergenceError" {
        /// One of the quantities given.
        quantity: Quantity,
        /// Its value in SI.
        value: f64,
        /// Number of states found.
        solutions: usize,
    }
    /// Measurements that do not determine every coefficient asked of them.
    404 Undetermined "ConvergenceError" {
        /// Coefficient that they do not tell apart from the others.
        coefficient: &'static str,
        /// Number of measurements.
        measurements: usize,
        /// Number of coefficients.
        coefficients: usize,
    }
    /// A wanted result that no value of the input tried leads to.
    405 NoAnswer "ConvergenceError" {
        /// Quantity of the result.
        quantity: Quantity,
        /// The result, by whose it is and its name.
        output: String,
        /// Its wanted value in SI.
        target: f64,
        /// Lowest value met in SI.
        min: f64,
        /// Highest value met in SI.
        max: f64,
        /// What was tried, and what was refused on the way.
        reason: String,
    }
    /// Work that its caller stopped, or that was not done within the time given for it.
    406 Stopped "StoppedError" {
        /// Number of paths solved or refused before.
        solved: usize,
    }
    /// A region in which no table of the size allowed comes as near to the model as was asked.
    407 NoTable "ConvergenceError" {
        /// Property that is farthest off.
        property: Quantity,
        /// Temperature in K in the middle of where it is.
        temperature: f64,
        /// Pressure in Pa there.
        pressure: f64,
        /// Relative error left there.
        error: f64,
        /// Relative error asked for.
        tolerance: f64,
    }
    /// The flow reaches the speed of sound before the end of the part.
    501 Choked "FlowError" {
        /// Distance from the inlet in m.
        position: f64,
        /// Pressure there in Pa.
        pressure: f64,
    }
    /// The fluid splits, freezes or leaves its model inside a part that needs one dense phase.
    502 PhaseChange "FlowError" {
        /// Distance from the inlet in m.
        position: f64,
        /// Temperature there in K.
        temperature: f64,
        /// Pressure there in Pa.
        pressure: f64,
    }
    /// The pressures given would drive the flow backwards.
    503 FlowReversed "FlowError" {
        /// Inlet pressure in Pa.
        inlet: f64,
        /// Outlet pressure in Pa.
        outlet: f64,
    }
    /// The feed of a pump is not liquid.
    504 FeedNotLiquid "FlowError" {
        /// Temperature of the feed in K.
        temperature: f64,
        /// Pressure of the feed in Pa.
        pressure: f64,
        /// Pressure in Pa above which it would be liquid; infinite above the critical temperature.
        limit: f64,
    }
    /// A setting changes faster than the instrument can follow.
    505 TooFast "FlowError" {
        /// Quantity of the rate.
        quantity: Quantity,
        /// The rate asked for in SI.
        value: f64,
        /// The fastest possible in SI.
        limit: f64,
        /// What sets the limit.
        because: &'static str,
    }
    /// A cylinder without vapour space at its temperature that was not said to be one.
    506 LiquidFull "FlowError" {
        /// Mass in kg that it holds.
        mass: f64,
        /// Largest mass in kg that leaves a vapour space at this temperature; above the critical temperature the largest that never fills
        /// it as liquid.
        limit: f64,
        /// Temperature in K that it stands at.
        temperature: f64,
        /// Temperature in K from which on it is full, where that is known.
        full_from: Option<f64>,
    }
    /// An error inside one part of a path.
    590 InElement "FlowError" {
        /// Name of the part.
        element: String,
        /// Its place in the path, from 0.
        index: usize,
        /// The error itself.
        source: Box<Error>,
    }
    /// An error at one point of a program.
    591 InProgram "FlowError" {
        /// Time in s after the injection.
        time: f64,
        /// The error itself.
        source: Box<Error>,
    }
    /// A document that is not TOML.
    601 Syntax "DocumentError" {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What the TOML reader expected.
        message: String,
    }
    /// A key that the document's schema does not know.
    602 UnknownKey "DocumentError" {
        /// Line of the document, from 1, where it is known.
        line: Option<usize>,
        /// Path of the key.
        key: String,
        /// Nearest known key.
        nearest: Option<String>,
        /// Keys known in that place.
        known: String,
    }
    /// A key that is required and missing.
    603 MissingKey "DocumentError" {
        /// Line of the document, from 1, where it is known.
        line: Option<usize>,
        /// Path of the key.
        key: String,
        /// What it must hold.
        expected: String,
    }
    /// A value that cannot be read: a wrong or missing unit, a word not in the list.
    604 BadValue "DocumentError" {
        /// Line of the document, from 1, where it is known.
        line: Option<usize>,
        /// Path of the key.
        key: String,
        /// The value as written.
        text: String,
        /// What is expected, with an example.
        expected: String,
    }
    /// A flow in volume per time without the state at which the volume is counted.
    605 CountingMissing "DocumentError" {
        /// Line of the document, from 1, where it is known.
        line: Option<usize>,
        /// Path of the key that would hold the convention.
        key: String,
    }
    /// A combination of parts that is no instrument.
    606 Layout "DocumentError" {
        /// Line of the document, from 1, where it is known.
        line: Option<usize>,
        /// Path of the part.
        key: String,
        /// What is wrong and what to do.
        rule: String,
    }
    /// A file that cannot be read.
    610 File "DocumentError" {
        /// Path of the file.
        path: String,
        /// What the system says.
        message: String,
    }
    /// Bytes that are no table, or not a whole and unchanged one.
    611 UnreadableTable "DocumentError" {
        /// Index of the byte at which reading ended.
        offset: usize,
        /// What was expected there.
        expected: &'static str,
    }
    /// A fault of the library itself.
    901 Internal "InternalError" {
        /// Where it was found.
        place: &'static str,
    }
    // last added: 407, 506, 611
}

impl Error {
    /// The error itself, without the parts that it was found in.
    ///
    /// ```
    /// use densepath_fluid::{Error, Fluid};
    /// let alone = Fluid::new("nothing").unwrap_err();
    /// let found = Error::InElement { element: "column".into(), index: 0, source: Box::new(alone.clone()) };
    /// assert_eq!(found.root(), &alone);
    /// ```
    pub fn root(&self) -> &Error {
        match self {
            Error::InElement { source, .. } | Error::InProgram { source, .. } => source.root(),
            other => other,
        }
    }

    /// The quantity concerned, where there is one.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, Quantity, State};
    /// let refused = State::from_tp(&Fluid::new("CO2")?, 40.0, 15e6).unwrap_err();
    /// assert_eq!(refused.quantity(), Some(Quantity::Temperature));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn quantity(&self) -> Option<Quantity> {
        match self.root() {
            Error::Domain { quantity, .. }
            | Error::OutOfRange { quantity, .. }
            | Error::OutsideTable { quantity, .. }
            | Error::NoCoexistence { quantity, .. }
            | Error::Unreachable { quantity, .. }
            | Error::NoAnswer { quantity, .. }
            | Error::NotUnique { quantity, .. }
            | Error::TooFast { quantity, .. } => Some(*quantity),
            Error::MissingModel { property, .. }
            | Error::TwoPhase { property, .. }
            | Error::NoTable { property, .. } => Some(*property),
            Error::Solid { .. }
            | Error::Choked { .. }
            | Error::FlowReversed { .. }
            | Error::FeedNotLiquid { .. } => Some(Quantity::Pressure),
            Error::PhaseChange { .. } => Some(Quantity::Temperature),
            Error::Composition { .. } => Some(Quantity::AmountFraction),
            Error::LiquidFull { .. } => Some(Quantity::Mass),
            _ => None,
        }
    }

    /// The offending value in SI, where there is one.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let refused = State::from_tp(&Fluid::new("CO2")?, 40.0, 15e6).unwrap_err();
    /// assert_eq!((refused.value(), refused.unit()), (Some(40.0), Some("K")));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn value(&self) -> Option<f64> {
        match self.root() {
            Error::Domain { value, .. }
            | Error::OutOfRange { value, .. }
            | Error::OutsideTable { value, .. }
            | Error::Composition { value, .. }
            | Error::NoCoexistence { value, .. }
            | Error::NotUnique { value, .. }
            | Error::TooFast { value, .. } => Some(*value),
            Error::Solid { pressure, .. }
            | Error::Choked { pressure, .. }
            | Error::FeedNotLiquid { pressure, .. } => Some(*pressure),
            Error::PhaseChange { temperature, .. } => Some(*temperature),
            Error::FlowReversed { outlet, .. } => Some(*outlet),
            Error::NoConvergence { residual, .. } => Some(*residual),
            Error::NoAnswer { target, .. } => Some(*target),
            Error::LiquidFull { mass, .. } => Some(*mass),
            _ => None,
        }
    }

    /// SI unit of [`Error::value`].
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let refused = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e9).unwrap_err();
    /// assert_eq!(refused.unit(), Some("Pa"));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn unit(&self) -> Option<&'static str> {
        self.value().and(self.quantity()).map(Quantity::unit)
    }

    /// Smallest value allowed, where there is one.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// let refused = State::from_tp(&Fluid::new("CO2")?, 40.0, 15e6).unwrap_err();
    /// assert!(refused.min().is_some_and(|limit| limit > 40.0));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn min(&self) -> Option<f64> {
        match self.root() {
            Error::OutOfRange { min, .. }
            | Error::OutsideTable { min, .. }
            | Error::NoCoexistence { min, .. }
            | Error::Unreachable { min, .. }
            | Error::NoAnswer { min, .. } => Some(*min),
            Error::FeedNotLiquid { limit, .. } => Some(*limit),
            _ => None,
        }
    }

    /// Largest value allowed, where there is one.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// // Span and Wagner 1996 go to 800 MPa.
    /// let refused = State::from_tp(&Fluid::new("CO2")?, 313.15, 15e9).unwrap_err();
    /// assert_eq!(refused.max(), Some(800e6));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn max(&self) -> Option<f64> {
        match self.root() {
            Error::OutOfRange { max, .. }
            | Error::OutsideTable { max, .. }
            | Error::NoCoexistence { max, .. }
            | Error::Unreachable { max, .. }
            | Error::NoAnswer { max, .. } => Some(*max),
            Error::Solid { limit, .. }
            | Error::TooFast { limit, .. }
            | Error::LiquidFull { limit, .. } => Some(*limit),
            Error::FlowReversed { inlet, .. } => Some(*inlet),
            _ => None,
        }
    }

    /// Name of the part the error was found in, where there is one.
    ///
    /// ```
    /// use densepath_fluid::{Error, Fluid};
    /// let source = Box::new(Fluid::new("nothing").unwrap_err());
    /// assert_eq!(source.element(), None);
    /// assert_eq!(Error::InElement { element: "column".into(), index: 0, source }.element(), Some("column"));
    /// ```
    pub fn element(&self) -> Option<&str> {
        match self {
            Error::InElement { element, .. } => Some(element),
            Error::InProgram { source, .. } => source.element(),
            _ => None,
        }
    }

    /// What to do about it.
    ///
    /// ```
    /// use densepath_fluid::{Fluid, State};
    /// // Degrees Celsius where kelvins are asked for.
    /// let refused = State::from_tp(&Fluid::new("CO2")?, 40.0, 15e6).unwrap_err();
    /// assert!(refused.hint().is_some_and(|hint| hint.contains("313.15")));
    /// # Ok::<(), densepath_fluid::Error>(())
    /// ```
    pub fn hint(&self) -> Option<String> {
        match self.root() {
            Error::Domain { quantity, value, .. } | Error::NoCoexistence { quantity, value, .. } => {
                unit_slip(*quantity, *value)
            }
            Error::OutOfRange { quantity, value, .. } => unit_slip(*quantity, *value)
                .or_else(|| Some("stay within the limits of the model".into())),
            Error::OutsideTable { quantity, value, .. } => unit_slip(*quantity, *value)
                .or_else(|| Some("ask the fluid itself, or make the table of a wider region".into())),
            Error::NoTable { .. } => Some(
                "keep the region clear of the borders of the phases and of the critical point, make it smaller, or allow a larger error"
                    .into(),
            ),
            Error::UnreadableTable { .. } => Some("write the table anew with this version of the library".into()),
            Error::Composition { .. } => Some("give amount fractions between 0 and 1 that sum to 1".into()),
            Error::UnknownFluid { nearest: Some(nearest), .. } => Some(format!("did you mean \"{nearest}\"?")),
            Error::UnknownKey { nearest: Some(nearest), .. } => Some(format!("did you mean `{nearest}`?")),
            Error::Undetermined { .. } => Some("vary what its term depends on, add measurements, or leave the term out".into()),
            Error::Stopped { .. } => Some("give it more time, or ask for less at once".into()),
            Error::NoAnswer { .. } => Some("widen the bounds, change another input as well, or want less".into()),
            Error::NotUnique { .. } => Some("give the pressure or the density with the temperature".into()),
            Error::TwoPhase { .. } => Some("ask the liquid or the vapour of the state, or move away from saturation".into()),
            Error::Solid { .. } => Some("warm the fluid or lower its pressure: a solid plugs every line".into()),
            Error::FeedNotLiquid { .. } => {
                Some("chill the pump head, warm the cylinder, or cut the losses of the suction line".into())
            }
            Error::LiquidFull { .. } => Some(
                "do not warm it, do not block its relief device, and have its filling checked by the supplier; to compute with it all \
                 the same, say so: `allow_liquid_full = true` of the cylinder, its cautions stay"
                    .into(),
            ),
            Error::PhaseChange { .. } => Some("raise the outlet pressure or the temperature, or heat the part".into()),
            Error::CountingMissing { .. } => Some(
                "say where the volume is counted: `counted_at = \"delivery\"` (pump pressure, head temperature), \
                 `\"suction\"` (feed pressure, head temperature), `\"oven\"` (column inlet) or `\"normal\"` (0 degC, 1 atm gas)"
                    .into(),
            ),
            Error::FlowReversed { .. } => Some("the inlet pressure must be above the outlet pressure".into()),
            Error::TooFast { .. } => Some("change the setting more slowly, or in a smaller volume".into()),
            Error::Internal { .. } => Some("this is a fault of the library: please report it with the input".into()),
            _ => None,
        }
    }
}

/// The slip of units that best explains a value far outside any instrument, in words.
fn unit_slip(quantity: Quantity, value: f64) -> Option<String> {
    match quantity {
        Quantity::Temperature
            if (-100.0..0.0).contains(&value) || (0.0..200.0).contains(&value) =>
        {
            Some(format!(
                "temperatures are in K: did you mean {} degC = {} K?",
                significant(value),
                significant(from_celsius(value))
            ))
        }
        Quantity::Temperature if value > 1000.0 => Some(format!(
            "temperatures are in K, {} K is {} degC",
            significant(value),
            significant(to_celsius(value))
        )),
        Quantity::Pressure if (1.0..2000.0).contains(&value) => Some(format!(
            "pressures are absolute and in Pa: did you mean {} bar = {} Pa?",
            significant(value),
            significant(value * BAR)
        )),
        Quantity::Diameter | Quantity::ParticleDiameter | Quantity::FilmThickness
            if value > 0.5 =>
        {
            Some("lengths are in m: did you give um or mm?".into())
        }
        Quantity::Density if value > 0.0 && value < 2.0 => Some(format!(
            "densities are in kg/m3: did you mean {} g/mL?",
            significant(value)
        )),
        _ => None,
    }
}

/// A number with six significant digits, plain where it is easy to read and with a power of ten elsewhere.
///
/// ```
/// use densepath_fluid::error::significant;
/// assert_eq!(significant(780.233_17), "780.233");
/// assert_eq!(significant(15_000_000.0), "1.5e7");
/// ```
pub fn significant(value: f64) -> String {
    let magnitude = value.abs();
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    if !(1e-3..1e6).contains(&magnitude) {
        let text = format!("{value:.5e}");
        let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
        return format!(
            "{}e{exponent}",
            mantissa.trim_end_matches('0').trim_end_matches('.')
        );
    }
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a magnitude between 1e-3 and 1e6 has 0 to 8 decimals"
    )]
    let decimals = (5.0 - magnitude.log10().floor()).max(0.0) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A value and its limit with as many digits as it takes to tell them apart, six at least.
///
/// ```
/// use densepath_fluid::error::told_apart;
/// assert_eq!(told_apart(150.0, 400.0), ("150".to_owned(), "400".to_owned()));
/// assert_eq!(told_apart(400.000_01, 400.0), ("400.00001".to_owned(), "400".to_owned()));
/// ```
pub fn told_apart(value: f64, limit: f64) -> (String, String) {
    let (told, told_limit) = (significant(value), significant(limit));
    if told == told_limit && value != limit && value.is_finite() && limit.is_finite() {
        // The shortest text that leads back to the number differs where the numbers do.
        return (value.to_string(), limit.to_string());
    }
    (told, told_limit)
}

/// `symbol = value unit` of a quantity.
fn named(quantity: Quantity, value: f64) -> String {
    named_as(quantity, &significant(value))
}

fn named_as(quantity: Quantity, value: &str) -> String {
    let unit = unit_behind(quantity);
    format!(
        "{} {} = {value}{unit}",
        quantity.name().replace('_', " "),
        quantity.symbol(),
    )
}

/// The SI unit of a quantity as it follows a number in a text: after a space, and nothing where it is 1.
///
/// ```
/// use densepath_fluid::{Quantity, error::unit_behind};
/// assert_eq!((unit_behind(Quantity::Pressure), unit_behind(Quantity::Ratio)), (" Pa".to_owned(), String::new()));
/// ```
pub fn unit_behind(quantity: Quantity) -> String {
    if quantity.unit() == "1" {
        String::new()
    } else {
        format!(" {}", quantity.unit())
    }
}

impl core::fmt::Display for Error {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        self.describe(f)?;
        match self {
            Error::InElement { .. } | Error::InProgram { .. } => Ok(()),
            _ => self
                .hint()
                .map_or(Ok(()), |hint| write!(f, "; hint: {hint}")),
        }
    }
}

impl Error {
    #[allow(clippy::too_many_lines, reason = "one arm for each error of the table")]
    fn describe(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let state = |t: f64, p: f64| format!("T = {} K, p = {} Pa", significant(t), significant(p));
        let at = |line: Option<usize>| line.map_or(String::new(), |line| format!("line {line}, "));
        match self {
            Error::Domain {
                quantity,
                value,
                rule,
            } => write!(f, "{} must be {rule}", named(*quantity, *value)),
            Error::OutOfRange {
                quantity,
                value,
                min,
                max,
                model,
            } => {
                let (side, limit) = if value < min {
                    ("below", min)
                } else {
                    ("above", max)
                };
                let (value, limit) = told_apart(*value, *limit);
                write!(
                    f,
                    "{} is {side} {limit}{}, the limit of {model}",
                    named_as(*quantity, &value),
                    unit_behind(*quantity)
                )
            }
            Error::OutsideTable {
                quantity,
                value,
                min,
                max,
            } => write!(
                f,
                "{} is outside of the table, which reaches from {} to {}{}",
                named(*quantity, *value),
                significant(*min),
                significant(*max),
                unit_behind(*quantity)
            ),
            Error::Composition { sum, index, value } => {
                write!(
                    f,
                    "fraction {index} is {}, and the fractions sum to {}",
                    significant(*value),
                    significant(*sum)
                )
            }
            Error::Argument {
                argument,
                expected,
                got,
            } => write!(f, "argument `{argument}` must be {expected}, not {got}"),
            Error::UnknownFluid { name, .. } => write!(f, "no substance is called \"{name}\""),
            Error::MissingModel {
                property,
                fluid,
                need,
            } => write!(f, "no model of {property} for {fluid}: {need}"),
            Error::TwoPhase {
                property,
                temperature,
                pressure,
                vapour_fraction,
            } => write!(
                f,
                "{property} belongs to one phase, and the state at {} has two (vapour mass fraction {})",
                state(*temperature, *pressure),
                significant(*vapour_fraction)
            ),
            Error::NoCoexistence {
                quantity,
                value,
                min,
                max,
            } => write!(
                f,
                "no two phases coexist at {}: they do from {} to {} {}",
                named(*quantity, *value),
                significant(*min),
                significant(*max),
                quantity.unit()
            ),
            Error::Solid {
                temperature,
                pressure,
                limit,
            } => write!(
                f,
                "the stable phase at {} is solid (it begins at {} Pa)",
                state(*temperature, *pressure),
                significant(*limit)
            ),
            Error::NoConvergence {
                solver,
                iterations,
                residual,
                tolerance,
            } => write!(
                f,
                "{solver} did not converge in {iterations} iterations: residual {}, tolerance {}",
                significant(*residual),
                significant(*tolerance)
            ),
            Error::Unreachable {
                quantity,
                min,
                max,
                reason,
            } => write!(
                f,
                "no {quantity} between {} and {}{} reaches the target: {reason}",
                significant(*min),
                significant(*max),
                unit_behind(*quantity)
            ),
            Error::NoAnswer {
                quantity,
                output,
                target,
                min,
                max,
                reason,
            } => write!(
                f,
                "`{output}` does not come to {}{unit}, only to values from {} to {}{unit}: {reason}",
                significant(*target),
                significant(*min),
                significant(*max),
                unit = unit_behind(*quantity),
            ),
            Error::Stopped { solved } => write!(
                f,
                "stopped by its caller, or out of the time given for it, with {solved} solved"
            ),
            Error::NoTable {
                property,
                temperature,
                pressure,
                error,
                tolerance,
            } => write!(
                f,
                "no table of {property} comes within {} of the model around {}: {} is left",
                significant(*tolerance),
                state(*temperature, *pressure),
                significant(*error)
            ),
            Error::Undetermined {
                coefficient,
                measurements,
                coefficients,
            } => write!(
                f,
                "{measurements} measurements do not determine {coefficients} coefficients: \"{coefficient}\" cannot be told \
                 apart from the others"
            ),
            Error::NotUnique {
                quantity,
                value,
                solutions,
            } => write!(
                f,
                "{solutions} states have {} and the other value given",
                named(*quantity, *value)
            ),
            Error::Choked { position, pressure } => write!(
                f,
                "the flow reaches the speed of sound {} m from the inlet, at p = {} Pa",
                significant(*position),
                significant(*pressure)
            ),
            Error::PhaseChange {
                position,
                temperature,
                pressure,
            } => write!(
                f,
                "the fluid does not stay one dense phase: {} m from the inlet it is at {}",
                significant(*position),
                state(*temperature, *pressure)
            ),
            Error::FlowReversed { inlet, outlet } => {
                let (outlet, inlet) = told_apart(*outlet, *inlet);
                write!(
                    f,
                    "the outlet pressure {outlet} Pa is not below the inlet pressure {inlet} Pa"
                )
            }
            Error::FeedNotLiquid {
                temperature,
                pressure,
                limit,
            } => {
                write!(
                    f,
                    "the feed of the pump at {} is not liquid: ",
                    state(*temperature, *pressure)
                )?;
                if limit.is_finite() {
                    write!(
                        f,
                        "at this temperature it is liquid above {} Pa",
                        significant(*limit)
                    )
                } else {
                    f.write_str("at this temperature no pressure makes it liquid")
                }
            }
            Error::TooFast {
                quantity,
                value,
                limit,
                because,
            } => {
                let (value, limit) = told_apart(*value, *limit);
                write!(
                    f,
                    "{} is more than {because} allows, which is {limit}{}",
                    named_as(*quantity, &value),
                    unit_behind(*quantity)
                )
            }
            Error::LiquidFull {
                mass,
                limit,
                temperature,
                full_from,
            } => {
                let (mass, limit) = told_apart(*mass, *limit);
                write!(
                    f,
                    "the cylinder holds {mass} kg and has no vapour space at {} degC, so that its pressure rises steeply and no pump is fed \
                     from it: it takes less than {limit} kg",
                    significant(to_celsius(*temperature))
                )?;
                full_from.map_or(Ok(()), |from| {
                    write!(
                        f,
                        ", or less than {} degC, the temperature from which on this content fills it as liquid",
                        significant(to_celsius(from))
                    )
                })
            }
            Error::InElement {
                element,
                index,
                source,
            } => write!(f, "in \"{element}\" (part {index}): {source}"),
            Error::InProgram { time, source } => {
                write!(f, "{} s after the injection: {source}", significant(*time))
            }
            Error::Syntax {
                line,
                column,
                message,
            } => write!(f, "line {line}, column {column}: {message}"),
            Error::UnknownKey {
                line, key, known, ..
            } => {
                write!(f, "{}unknown key `{key}`; known here: {known}", at(*line))
            }
            Error::MissingKey {
                line,
                key,
                expected,
            } => write!(f, "{}missing key `{key}`: {expected}", at(*line)),
            Error::BadValue {
                line,
                key,
                text,
                expected,
            } => write!(
                f,
                "{}`{key}` = {text} cannot be read: {expected}",
                at(*line)
            ),
            Error::CountingMissing { line, key } => {
                write!(
                    f,
                    "{}`{key}` is missing: a volume flow of a compressible fluid is no mass flow until it is said where it is counted",
                    at(*line)
                )
            }
            Error::Layout { line, key, rule } => write!(f, "{}`{key}`: {rule}", at(*line)),
            Error::File { path, message } => write!(f, "cannot read {path}: {message}"),
            Error::UnreadableTable { offset, expected } => {
                write!(f, "these bytes are no table: at byte {offset}, {expected}")
            }
            Error::Internal { place } => write!(f, "internal fault in {place}"),
        }
    }
}

impl core::error::Error for Error {
    fn source(&self) -> Option<&(dyn core::error::Error + 'static)> {
        match self {
            Error::InElement { source, .. } | Error::InProgram { source, .. } => {
                Some(source.as_ref())
            }
            _ => None,
        }
    }
}

/// Largest size of a number in SI that an instrument may have: beyond it products of a few numbers would no longer be numbers.
const LARGEST: f64 = 1e60;
/// Smallest number above zero in SI that an instrument may have.
///
/// ```
/// use densepath_fluid::{Quantity, error::{SMALLEST, positive}};
/// assert!(positive(Quantity::Diameter, SMALLEST).is_ok());
/// assert_eq!(positive(Quantity::Diameter, 0.1 * SMALLEST).unwrap_err().code(), 101);
/// ```
pub const SMALLEST: f64 = 1e-60;

/// The value if it keeps a rule and its size is usual; error 101 else.
fn sized(quantity: Quantity, value: f64, keeps: bool, rule: &'static str) -> Result<f64> {
    let size = value.abs();
    let rule = if !keeps {
        rule
    } else if size > LARGEST {
        "no larger than 1e60 in SI units"
    } else if size != 0.0 && size < SMALLEST {
        "no smaller than 1e-60 in SI units"
    } else {
        return Ok(value);
    };
    Err(Error::Domain {
        quantity,
        value,
        rule,
    })
}

/// The value, or error 101 if it is not a finite number of a size below 1e60.
///
/// ```
/// use densepath_fluid::{Quantity, error::finite};
/// assert_eq!(finite(Quantity::Pressure, 15e6), Ok(15e6));
/// assert_eq!(finite(Quantity::Pressure, f64::NAN).unwrap_err().code(), 101);
/// assert_eq!(finite(Quantity::Pressure, 1e300).unwrap_err().code(), 101);
/// ```
pub fn finite(quantity: Quantity, value: f64) -> Result<f64> {
    // A difference may well be next to nothing.
    if value.abs() < 1.0 {
        return Ok(value);
    }
    sized(quantity, value, value.is_finite(), "a finite number")
}

/// The value, or error 101 if it is not above zero and of a size from 1e-60 to 1e60.
///
/// ```
/// use densepath_fluid::{Quantity, error::positive};
/// assert_eq!(positive(Quantity::Diameter, 50e-6), Ok(50e-6));
/// assert_eq!(positive(Quantity::Diameter, 0.0).unwrap_err().code(), 101);
/// ```
pub fn positive(quantity: Quantity, value: f64) -> Result<f64> {
    let keeps = value.is_finite() && value > 0.0;
    sized(quantity, value, keeps, "finite and above zero")
}

/// The value, or error 101 if it is below zero, or not zero and of a size beyond 1e-60 to 1e60.
///
/// ```
/// use densepath_fluid::{Quantity, error::not_negative};
/// assert_eq!(not_negative(Quantity::MassFlowRate, 0.0), Ok(0.0));
/// assert_eq!(not_negative(Quantity::MassFlowRate, -1e-5).unwrap_err().code(), 101);
/// ```
pub fn not_negative(quantity: Quantity, value: f64) -> Result<f64> {
    let keeps = value.is_finite() && value >= 0.0;
    sized(quantity, value, keeps, "finite and not below zero")
}

/// The value, or error 101 if it is no share of a whole, from 0 to 1.
///
/// ```
/// use densepath_fluid::{Quantity, error::fraction};
/// assert_eq!(fraction(Quantity::AmountFraction, 0.1), Ok(0.1));
/// assert_eq!(fraction(Quantity::AmountFraction, 10.0).unwrap_err().code(), 101);
/// ```
pub fn fraction(quantity: Quantity, value: f64) -> Result<f64> {
    if (0.0..=1.0).contains(&value) {
        Ok(value)
    } else {
        Err(Error::Domain {
            quantity,
            value,
            rule: "between 0 and 1",
        })
    }
}

/// The value, or error 102 if it lies outside `min..=max`; error 101 if it is not finite.
///
/// ```
/// use densepath_fluid::{Quantity, error::within};
/// assert_eq!(within(Quantity::Temperature, 313.15, 216.592, 1100.0, "a model"), Ok(313.15));
/// let refused = within(Quantity::Temperature, 40.0, 216.592, 1100.0, "a model").unwrap_err();
/// assert_eq!((refused.code(), refused.min()), (102, Some(216.592)));
/// ```
pub fn within(quantity: Quantity, value: f64, min: f64, max: f64, model: &str) -> Result<f64> {
    finite(quantity, value)?;
    if (min..=max).contains(&value) {
        Ok(value)
    } else {
        Err(Error::OutOfRange {
            quantity,
            value,
            min,
            max,
            model: model.to_owned(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique_and_rise() {
        assert!(ERRORS.windows(2).all(|pair| pair[0].code < pair[1].code));
    }

    #[test]
    fn a_message_names_quantity_value_unit_limit_and_hint() {
        let error = within(
            Quantity::Temperature,
            40.0,
            216.592,
            1100.0,
            "the reference equation",
        )
        .unwrap_err();
        assert_eq!(
            error.to_string(),
            "temperature T = 40 K is below 216.592 K, the limit of the reference equation; \
             hint: temperatures are in K: did you mean 40 degC = 313.15 K?"
        );
        assert_eq!(
            (error.code(), error.unit(), error.min()),
            (102, Some("K"), Some(216.592))
        );
    }

    /// A Reynolds number was once told to be "above 1 1".
    #[test]
    fn a_number_without_unit_is_told_once() {
        let told = |error: Error| error.to_string();
        let (quantity, value, min, max) = (Quantity::ReynoldsNumber, 2.161, 0.0, 1.0);
        let model = "the law".to_owned();
        assert_eq!(
            told(Error::OutOfRange {
                quantity,
                value,
                min,
                max,
                model
            }),
            "reynolds number Re = 2.161 is above 1, the limit of the law; hint: stay within the limits of the model"
        );
        let reason = "so";
        let texts = [
            told(Error::Unreachable {
                quantity,
                min,
                max,
                reason,
            }),
            told(Error::OutsideTable {
                quantity,
                value,
                min,
                max,
            }),
            told(Error::NoAnswer {
                quantity,
                output: "Re".into(),
                target: value,
                min,
                max,
                reason: reason.into(),
            }),
            told(Error::TooFast {
                quantity,
                value,
                limit: max,
                because: "the pump",
            }),
        ];
        for text in texts {
            assert!(!text.contains("1 1") && !text.contains("  "), "{text}");
        }
    }

    #[test]
    fn a_feed_above_the_critical_temperature_has_no_limit() {
        let feed = |limit| Error::FeedNotLiquid {
            temperature: 310.0,
            pressure: 7e6,
            limit,
        };
        assert!(feed(f64::INFINITY).to_string().contains("no pressure"));
        assert!(feed(5e6).to_string().contains("above 5e6 Pa"));
    }

    #[test]
    fn a_share_lies_between_0_and_1() {
        for good in [0.0, 0.5, 1.0] {
            assert_eq!(fraction(Quantity::MassFraction, good), Ok(good));
        }
        for bad in [-1e-9, 1.0 + 1e-9, f64::NAN] {
            assert_eq!(
                fraction(Quantity::MassFraction, bad).unwrap_err().code(),
                101
            );
        }
    }

    /// 199.9999996 kg/m3 was once told to be below 200 as "200 is below 200".
    #[test]
    fn a_value_and_its_limit_are_told_apart() {
        let below = Error::OutOfRange {
            quantity: Quantity::Density,
            value: 199.999_999_6,
            min: 200.0,
            max: f64::INFINITY,
            model: "the law".into(),
        };
        assert!(
            below
                .to_string()
                .starts_with("density rho = 199.9999996 kg/m3 is below 200 kg/m3"),
            "{below}"
        );
        let next = 57.3e5_f64.next_up();
        let reversed = Error::FlowReversed {
            inlet: 57.3e5,
            outlet: next,
        };
        let text = reversed.to_string();
        assert!(text.contains(&format!("{next} Pa is not below")) && text.contains("5730000 Pa;"));
        assert_eq!(told_apart(1.0, 2.0), ("1".to_owned(), "2".to_owned()));
        assert_eq!(told_apart(1.0, 1.0), ("1".to_owned(), "1".to_owned()));
    }

    #[test]
    fn significant_digits_are_six() {
        for (value, text) in [
            (1.2e9, "1.2e9"),
            (40.0, "40"),
            (101_325.0, "101325"),
            (1.0 / 3.0, "0.333333"),
            (1e-5, "1e-5"),
            (-2.5, "-2.5"),
        ] {
            assert_eq!(significant(value), text);
        }
    }
}
