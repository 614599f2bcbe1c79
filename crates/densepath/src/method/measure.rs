//! Text such as `150 bar` or `3.0 mL/min` to a number in SI, for the quantity that is expected.
//!
//! A value has a number with a decimal point, and a unit of the quantity. Only dimensionless quantities go without a unit.
//!
//! - **Pressure** is absolute unless its unit is marked: `149 bar(g)`, `barg` and `psig` count from the ambient pressure,
//!   `150 bar(a)`, `bara` and `psia` say what `150 bar` means as well. A pressure drop is a difference and takes no mark.
//! - **Temperature** is in `degC` or `K`; a difference of temperatures only in `K`.
//! - `µ` may stand for `u`, `°C` for `degC`, `l` for `L`, and `%` for one hundredth.

use densepath_fluid::quantity::Quantity;
use densepath_fluid::units::{PSI, from_celsius};

/// Units of one dimension: a number is multiplied by the first factor and divided by the second. One of them is 1 and the
/// other exact wherever the unit allows, so that the conversion rounds once.
struct Dimension {
    si: &'static str,
    units: &'static [(&'static str, f64, f64)],
}

const DIMENSIONS: &[Dimension] = &[
    Dimension {
        si: "1",
        units: &[("%", 1.0, 1e2), ("ppm", 1.0, 1e6)],
    },
    Dimension {
        si: "K",
        units: &[("K", 1.0, 1.0)],
    },
    Dimension {
        si: "Pa",
        units: &[
            ("bar", 1e5, 1.0),
            ("mbar", 1e2, 1.0),
            ("MPa", 1e6, 1.0),
            ("kPa", 1e3, 1.0),
            ("Pa", 1.0, 1.0),
            ("psi", PSI, 1.0),
            ("atm", 101_325.0, 1.0),
        ],
    },
    Dimension {
        si: "m",
        units: &[
            ("m", 1.0, 1.0),
            ("cm", 1.0, 1e2),
            ("mm", 1.0, 1e3),
            ("um", 1.0, 1e6),
            ("nm", 1.0, 1e9),
            ("in", 0.0254, 1.0),
        ],
    },
    Dimension {
        si: "m2",
        units: &[
            ("m2", 1.0, 1.0),
            ("cm2", 1.0, 1e4),
            ("mm2", 1.0, 1e6),
            ("um2", 1.0, 1e12),
        ],
    },
    Dimension {
        si: "m3",
        units: &[
            ("m3", 1.0, 1.0),
            ("L", 1.0, 1e3),
            ("mL", 1.0, 1e6),
            ("uL", 1.0, 1e9),
            ("nL", 1.0, 1e12),
            ("cm3", 1.0, 1e6),
            ("mm3", 1.0, 1e9),
        ],
    },
    Dimension {
        si: "kg",
        units: &[
            ("kg", 1.0, 1.0),
            ("g", 1.0, 1e3),
            ("mg", 1.0, 1e6),
            ("ug", 1.0, 1e9),
        ],
    },
    Dimension {
        si: "s",
        units: &[
            ("s", 1.0, 1.0),
            ("ms", 1.0, 1e3),
            ("min", 60.0, 1.0),
            ("h", 3600.0, 1.0),
            ("d", 86_400.0, 1.0),
        ],
    },
    Dimension {
        si: "Hz",
        units: &[
            ("Hz", 1.0, 1.0),
            ("1/s", 1.0, 1.0),
            ("1/min", 1.0, 60.0),
            ("1/h", 1.0, 3600.0),
        ],
    },
    Dimension {
        si: "m3/s",
        units: &[
            ("mL/min", 1.0, 6e7),
            ("uL/min", 1.0, 6e10),
            ("nL/min", 1.0, 6e13),
            ("L/min", 1.0, 6e4),
            ("L/h", 1.0, 3.6e6),
            ("m3/h", 1.0, 3600.0),
            ("m3/s", 1.0, 1.0),
        ],
    },
    Dimension {
        si: "kg/s",
        units: &[
            ("g/min", 1.0, 6e4),
            ("mg/min", 1.0, 6e7),
            ("ug/min", 1.0, 6e10),
            ("kg/min", 1.0, 60.0),
            ("kg/h", 1.0, 3600.0),
            ("g/s", 1.0, 1e3),
            ("kg/s", 1.0, 1.0),
        ],
    },
    Dimension {
        si: "m/s",
        units: &[("m/s", 1.0, 1.0), ("cm/s", 1.0, 1e2), ("mm/s", 1.0, 1e3)],
    },
    Dimension {
        si: "kg/m3",
        units: &[
            ("kg/m3", 1.0, 1.0),
            ("g/mL", 1e3, 1.0),
            ("g/cm3", 1e3, 1.0),
            ("g/L", 1.0, 1.0),
        ],
    },
    Dimension {
        si: "m3/kg",
        units: &[
            ("m3/kg", 1.0, 1.0),
            ("mL/g", 1.0, 1e3),
            ("cm3/g", 1.0, 1e3),
            ("L/kg", 1.0, 1e3),
        ],
    },
    Dimension {
        si: "m6/kg2",
        units: &[("m6/kg2", 1.0, 1.0), ("mL2/g2", 1.0, 1e6)],
    },
    Dimension {
        si: "m6",
        units: &[("m6", 1.0, 1.0), ("uL2", 1.0, 1e18), ("nL2", 1.0, 1e24)],
    },
    Dimension {
        si: "mol/m3",
        units: &[
            ("mol/m3", 1.0, 1.0),
            ("mmol/L", 1.0, 1.0),
            ("mol/L", 1e3, 1.0),
        ],
    },
    Dimension {
        si: "m3/mol",
        units: &[
            ("cm3/mol", 1.0, 1e6),
            ("mL/mol", 1.0, 1e6),
            ("L/mol", 1.0, 1e3),
            ("m3/mol", 1.0, 1.0),
        ],
    },
    Dimension {
        si: "kg/mol",
        units: &[("g/mol", 1.0, 1e3), ("kg/mol", 1.0, 1.0)],
    },
    Dimension {
        si: "m2/s",
        units: &[("m2/s", 1.0, 1.0), ("cm2/s", 1.0, 1e4), ("mm2/s", 1.0, 1e6)],
    },
    Dimension {
        si: "Pa s",
        units: &[("Pa s", 1.0, 1.0), ("mPa s", 1.0, 1e3), ("uPa s", 1.0, 1e6)],
    },
    Dimension {
        si: "Pa/s",
        units: &[
            ("bar/min", 1e5, 60.0),
            ("bar/s", 1e5, 1.0),
            ("MPa/min", 1e6, 60.0),
            ("Pa/s", 1.0, 1.0),
        ],
    },
    Dimension {
        si: "m/s2",
        units: &[("m/s2", 1.0, 1.0)],
    },
    Dimension {
        si: "W",
        units: &[("W", 1.0, 1.0), ("mW", 1.0, 1e3), ("kW", 1e3, 1.0)],
    },
];

/// Value in SI of a text that should hold the quantity; `ambient_pressure` in Pa is what gauge pressures count from, none
/// where they have no meaning.
///
/// The value is a finite number but not further judged: that is the work of the part that uses it.
///
/// # Errors
///
/// What is wrong and what to write instead, in words.
///
/// ```
/// use densepath::method::measure::read;
/// use densepath::fluid::quantity::Quantity;
/// assert_eq!(read("150 bar", Quantity::Pressure, Some(101_325.0)), Ok(1.5e7));
/// assert_eq!(read("149 bar(g)", Quantity::Pressure, Some(101_325.0)), Ok(1.5001325e7));
/// assert_eq!(read("40 degC", Quantity::Temperature, Some(101_325.0)), Ok(313.15));
/// assert!(read("3 bar", Quantity::VolumeFlowRate, None).unwrap_err().contains("mL/min"));
/// ```
pub fn read(text: &str, quantity: Quantity, ambient_pressure: Option<f64>) -> Result<f64, String> {
    let text = text.trim();
    let end = text
        .find(|c: char| !matches!(c, '0'..='9' | '+' | '-' | '.' | 'e' | 'E'))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let number: f64 = number
        .parse()
        .map_err(|_| expected(quantity, "there is no number with a decimal point in front"))?;
    let value = convert(number, &plain(unit), quantity, ambient_pressure)
        .map_err(|reason| expected(quantity, &reason))?;
    if value.is_finite() {
        Ok(value)
    } else {
        Err(expected(quantity, "the number is too large"))
    }
}

/// The value in SI of a number with a unit in plain spelling, or why there is none.
fn convert(
    number: f64,
    unit: &str,
    quantity: Quantity,
    ambient_pressure: Option<f64>,
) -> Result<f64, String> {
    if unit.is_empty() {
        return if quantity.unit() == "1" {
            Ok(number)
        } else {
            Err("the unit is missing".to_owned())
        };
    }
    if unit == "degC" && quantity == Quantity::Temperature {
        return Ok(from_celsius(number));
    }
    let (bare, mark) = pressure_mark(unit);
    if mark.is_some() && quantity != Quantity::Pressure {
        return Err(if quantity.unit() == "Pa" {
            format!("a difference of pressures is neither gauge nor absolute: write `{bare}`")
        } else {
            unfit(unit)
        });
    }
    let value = factors(bare, quantity.unit())
        .map(|(multiply, divide)| number * multiply / divide)
        .ok_or_else(|| unfit(unit))?;
    match mark {
        Some(Mark::Gauge) => ambient_pressure
            .map(|ambient| value + ambient)
            .ok_or_else(|| {
                format!("this pressure is what others count from: write `{bare}`, absolute")
            }),
        _ => Ok(value),
    }
}

/// What a pressure counts from.
#[derive(Clone, Copy, PartialEq)]
enum Mark {
    Absolute,
    Gauge,
}

/// The unit without the mark of gauge or absolute pressure, and the mark.
fn pressure_mark(unit: &str) -> (&str, Option<Mark>) {
    match unit {
        "bara" => return ("bar", Some(Mark::Absolute)),
        "barg" => return ("bar", Some(Mark::Gauge)),
        "psia" => return ("psi", Some(Mark::Absolute)),
        "psig" => return ("psi", Some(Mark::Gauge)),
        _ => {}
    }
    for (ending, mark) in [("(a)", Mark::Absolute), ("(g)", Mark::Gauge)] {
        if let Some(bare) = unit.strip_suffix(ending) {
            return (bare.trim_end(), Some(mark));
        }
    }
    (unit, None)
}

/// Factors of a unit to the SI unit given, if it is one of its units.
fn factors(unit: &str, si: &str) -> Option<(f64, f64)> {
    let listed = dimension(si).and_then(|dimension| {
        dimension
            .units
            .iter()
            .find(|(symbol, ..)| *symbol == unit)
            .map(|&(_, multiply, divide)| (multiply, divide))
    });
    listed.or((unit == si).then_some((1.0, 1.0)))
}

fn dimension(si: &str) -> Option<&'static Dimension> {
    DIMENSIONS.iter().find(|dimension| dimension.si == si)
}

/// One spelling for each unit.
fn plain(unit: &str) -> String {
    let unit = unit
        .trim()
        .replace(['µ', 'μ'], "u")
        .replace("°C", "degC")
        .replace('²', "2")
        .replace('³', "3")
        .replace('·', " ");
    let over = |part: &str| match part.trim() {
        "l" => "L".to_owned(),
        "ml" => "mL".to_owned(),
        "ul" => "uL".to_owned(),
        "nl" => "nL".to_owned(),
        other => other.split_whitespace().collect::<Vec<_>>().join(" "),
    };
    unit.split('/').map(over).collect::<Vec<_>>().join("/")
}

/// Why a unit does not fit: it is unknown, or belongs to something else.
fn unfit(unit: &str) -> String {
    if unit == "degC" {
        return "`degC` is the unit of a temperature, not of a difference".to_owned();
    }
    let owner = DIMENSIONS
        .iter()
        .find(|dimension| factors(pressure_mark(unit).0, dimension.si).is_some());
    match owner.and_then(|dimension| Quantity::ALL.iter().find(|q| q.unit() == dimension.si)) {
        Some(_) if unit == "%" || unit == "ppm" => {
            format!("`{unit}` belongs to a number without dimension")
        }
        Some(other) => format!("`{unit}` is a unit of {}", words(*other)),
        None => format!("the unit `{unit}` is unknown"),
    }
}

/// The reason, and how a value of the quantity is written.
pub(crate) fn expected(quantity: Quantity, reason: &str) -> String {
    format!("{reason}; expected: {}", description(quantity))
}

/// How a value of the quantity is written: the quantity, an example, the units.
///
/// ```
/// use densepath::method::measure::description;
/// use densepath::fluid::quantity::Quantity;
/// assert_eq!(
///     description(Quantity::Temperature),
///     "temperature such as \"40 degC\" (units: degC, K)"
/// );
/// ```
pub fn description(quantity: Quantity) -> String {
    let (name, example) = (words(quantity), example(quantity));
    match quantity {
        Quantity::Temperature => return format!("{name} such as \"{example}\" (units: degC, K)"),
        _ if quantity.unit() == "1" => {
            return format!("{name} such as {example}, or with the unit % or ppm");
        }
        _ => {}
    }
    let units = dimension(quantity.unit()).map_or(quantity.unit().to_owned(), |dimension| {
        let symbols: Vec<_> = dimension.units.iter().map(|(symbol, ..)| *symbol).collect();
        symbols.join(", ")
    });
    let marks = if quantity == Quantity::Pressure {
        ", absolute, or gauge with the mark (g) as in \"149 bar(g)\""
    } else {
        ""
    };
    format!("{name} such as \"{example}\" (units: {units}{marks})")
}

/// The spellings of a value of the quantity as a regular expression (ECMA 262), for schemas.
pub(super) fn pattern(quantity: Quantity) -> String {
    let listed = dimension(quantity.unit()).map_or(&[][..], |dimension| dimension.units);
    let symbols = listed.iter().map(|(symbol, ..)| spellings(symbol));
    let own: Vec<_> = symbols.collect();
    let units = match quantity {
        Quantity::Temperature => "(?:degC|°C|K)".to_owned(),
        _ if own.is_empty() => spellings(quantity.unit()),
        _ => format!("(?:{})", own.join("|")),
    };
    let unit = if quantity == Quantity::Pressure {
        format!("[ ]*(?:{units}(?:[ ]*\\([ag]\\))?|(?:bar|psi)[ag])")
    } else {
        format!("[ ]*{units}")
    };
    let number = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?";
    if quantity.unit() == "1" {
        format!("^[ ]*{number}(?:{unit})?[ ]*$")
    } else {
        format!("^[ ]*{number}{unit}[ ]*$")
    }
}

/// A unit with the other spellings that [`read`] knows.
fn spellings(symbol: &str) -> String {
    let others = |letter: char| match letter {
        'u' => "[uµμ]".to_owned(),
        'L' => "[Ll]".to_owned(),
        '2' => "[2²]".to_owned(),
        '3' => "[3³]".to_owned(),
        ' ' => "[ ·]+".to_owned(),
        '(' | ')' | '.' | '^' => format!("\\{letter}"),
        other => other.to_string(),
    };
    symbol.chars().map(others).collect()
}

/// A value in SI as a document writes it: with its unit, or bare where there is none.
pub(super) fn written(value: f64, quantity: Quantity) -> toml::Value {
    match quantity.unit() {
        "1" => toml::Value::Float(value),
        unit => toml::Value::String(format!("{value:e} {unit}")),
    }
}

/// The name of a quantity in plain words.
fn words(quantity: Quantity) -> String {
    quantity.name().replace('_', " ")
}

/// A value as it may stand in a document.
fn example(quantity: Quantity) -> String {
    let example = match quantity {
        Quantity::Temperature => "40 degC",
        Quantity::TemperatureDifference => "2 K",
        Quantity::Pressure => "150 bar",
        Quantity::PressureDrop => "2 bar",
        Quantity::Diameter => "0.25 mm",
        Quantity::ParticleDiameter => "5 um",
        Quantity::FilmThickness => "0.25 um",
        Quantity::Roughness => "1 um",
        Quantity::Volume => "10 uL",
        Quantity::VolumeFlowRate => "3.0 mL/min",
        Quantity::MassFlowRate => "2.9 g/min",
        Quantity::Time => "0.1 s",
        Quantity::Mass => "30 kg",
        Quantity::HeatFlowRate => "10 W",
        Quantity::Frequency => "6 1/h",
        Quantity::DiffusionCoefficient => "1.2e-8 m2/s",
        Quantity::SpecificVolume => "7 mL/g",
        Quantity::SquaredSpecificVolume => "1.5 mL2/g2",
        Quantity::VolumeVariance => "5 uL2",
        Quantity::Wavelength => "220 nm",
        Quantity::MolarVolume => "147.6 cm3/mol",
        Quantity::Permeability => "2.5e-14 m2",
        Quantity::Density => "0.8 g/mL",
        Quantity::PressureRate => "5 bar/min",
        _ if quantity.unit() == "1" => "0.4",
        _ => return format!("1 {}", quantity.unit()),
    };
    example.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use densepath_fluid::units;
    use proptest::prelude::*;

    const AMBIENT: f64 = 101_325.0;

    fn value(text: &str, quantity: Quantity) -> f64 {
        read(text, quantity, Some(AMBIENT)).unwrap()
    }

    fn refusal(text: &str, quantity: Quantity) -> String {
        read(text, quantity, Some(AMBIENT)).unwrap_err()
    }

    #[test]
    fn values_of_a_document_become_the_si_number_a_program_would_write() {
        for (text, quantity, si) in [
            ("150 bar", Quantity::Pressure, 150e5),
            ("150bar", Quantity::Pressure, 150e5),
            ("150 bar(a)", Quantity::Pressure, 150e5),
            ("150 bar (a)", Quantity::Pressure, 150e5),
            ("15 MPa", Quantity::Pressure, 15e6),
            ("2 bar", Quantity::PressureDrop, 2e5),
            ("-78.5 °C", Quantity::Temperature, -78.5 + 273.15),
            ("313.15 K", Quantity::Temperature, 313.15),
            ("2 K", Quantity::TemperatureDifference, 2.0),
            ("3.0 mL/min", Quantity::VolumeFlowRate, 5e-8),
            ("3.0 ml/min", Quantity::VolumeFlowRate, 5e-8),
            ("1.2 uL/min", Quantity::VolumeFlowRate, 2e-11),
            ("5 um", Quantity::ParticleDiameter, 5e-6),
            ("5 µm", Quantity::ParticleDiameter, 5e-6),
            ("0.25 mm", Quantity::Diameter, 0.25e-3),
            ("10 uL", Quantity::Volume, 10e-9),
            ("60 nL", Quantity::Volume, 60e-12),
            ("40 L", Quantity::Volume, 0.04),
            ("2.9 g/min", Quantity::MassFlowRate, 2.9 / 6e4),
            ("0.1 s", Quantity::Time, 0.1),
            ("30 kg", Quantity::Mass, 30.0),
            ("10 W", Quantity::HeatFlowRate, 10.0),
            ("12 %", Quantity::MassFraction, 0.12),
            ("0.4", Quantity::InterparticlePorosity, 0.4),
            ("1.2e-8 m2/s", Quantity::DiffusionCoefficient, 1.2e-8),
            ("1.2e-4 cm²/s", Quantity::DiffusionCoefficient, 1.2e-8),
            ("6 1/h", Quantity::Frequency, 6.0 / 3600.0),
            ("68.462 uPa s", Quantity::DynamicViscosity, 68.462 / 1e6),
            ("68.462 µPa·s", Quantity::DynamicViscosity, 68.462 / 1e6),
            ("7 ml/g", Quantity::SpecificVolume, 0.007),
            ("2000 J/kg", Quantity::SpecificEnthalpy, 2000.0),
        ] {
            assert_eq!(value(text, quantity), si, "{text}");
        }
    }

    #[test]
    fn gauge_counts_from_the_ambient_pressure() {
        assert_eq!(value("149 bar(g)", Quantity::Pressure), 149e5 + AMBIENT);
        assert_eq!(value("149 barg", Quantity::Pressure), 149e5 + AMBIENT);
        assert_eq!(
            value("2000 psig", Quantity::Pressure),
            2000.0 * units::PSI + AMBIENT
        );
        assert_eq!(value("2000 psia", Quantity::Pressure), 2000.0 * units::PSI);
        assert!(read("0 bar(g)", Quantity::Pressure, None).is_err());
        assert_eq!(
            read("0 Pa(g)", Quantity::Pressure, Some(84_500.0)),
            Ok(84_500.0)
        );
    }

    #[test]
    fn a_refusal_says_why_and_shows_how() {
        for (text, quantity, reason) in [
            ("150", Quantity::Pressure, "the unit is missing"),
            ("40", Quantity::Temperature, "\"40 degC\""),
            (
                "40 degC",
                Quantity::TemperatureDifference,
                "not of a difference",
            ),
            (
                "2 bar(g)",
                Quantity::PressureDrop,
                "neither gauge nor absolute",
            ),
            (
                "3 g/min",
                Quantity::VolumeFlowRate,
                "`g/min` is a unit of mass flow rate",
            ),
            (
                "3 mL/min",
                Quantity::MassFlowRate,
                "`mL/min` is a unit of volume flow rate",
            ),
            (
                "3,0 mL/min",
                Quantity::VolumeFlowRate,
                "the unit `,0 mL/min` is unknown",
            ),
            ("150 Bar", Quantity::Pressure, "the unit `Bar` is unknown"),
            ("5 bar(g)", Quantity::Length, "is a unit of pressure"),
            ("5 %", Quantity::Length, "number without dimension"),
            ("bar", Quantity::Pressure, "no number"),
            ("", Quantity::Pressure, "no number"),
            ("nan bar", Quantity::Pressure, "no number"),
            ("inf bar", Quantity::Pressure, "no number"),
            ("1e400 bar", Quantity::Pressure, "too large"),
            ("1e308 bar", Quantity::Pressure, "too large"),
            ("1e bar", Quantity::Pressure, "no number"),
            (
                "0.4 m",
                Quantity::InterparticlePorosity,
                "is a unit of length",
            ),
        ] {
            let text_of_refusal = refusal(text, quantity);
            assert!(
                text_of_refusal.contains(reason),
                "{text}: {text_of_refusal}"
            );
        }
    }

    #[test]
    fn factors_agree_with_the_table_of_units() {
        for (unit, quantity, factor) in [
            ("bar", Quantity::Pressure, units::BAR),
            ("MPa", Quantity::Pressure, units::MEGAPASCAL),
            ("min", Quantity::Time, units::MINUTE),
            ("h", Quantity::Time, units::HOUR),
            ("mL", Quantity::Volume, units::MILLILITRE),
            ("nL", Quantity::Volume, units::NANOLITRE),
            (
                "mL/min",
                Quantity::VolumeFlowRate,
                units::MILLILITRE_PER_MINUTE,
            ),
            ("g/min", Quantity::MassFlowRate, units::GRAM_PER_MINUTE),
            (
                "mg/min",
                Quantity::MassFlowRate,
                units::MILLIGRAM_PER_MINUTE,
            ),
            ("g/mL", Quantity::Density, units::GRAM_PER_MILLILITRE),
        ] {
            let here = value(&format!("1 {unit}"), quantity);
            assert!((here / factor - 1.0).abs() < 1e-15, "{unit}");
        }
    }

    #[test]
    fn every_example_of_a_description_can_be_read() {
        for &quantity in Quantity::ALL {
            assert!(
                read(&example(quantity), quantity, None).is_ok(),
                "{quantity}"
            );
        }
    }

    #[test]
    fn symbols_are_unique_within_and_across_dimensions() {
        let mut symbols: Vec<_> = DIMENSIONS
            .iter()
            .flat_map(|dimension| dimension.units.iter().map(|(symbol, ..)| *symbol))
            .collect();
        let count = symbols.len();
        symbols.sort_unstable();
        symbols.dedup();
        assert_eq!(symbols.len(), count);
    }

    proptest! {
        #[test]
        fn a_written_value_reads_back(
            number in -1e12f64..1e12,
            dimension in 0..DIMENSIONS.len(),
            unit in 0usize..16,
        ) {
            let dimension = &DIMENSIONS[dimension];
            let (symbol, multiply, divide) = dimension.units[unit % dimension.units.len()];
            let quantity = *Quantity::ALL.iter().find(|q| q.unit() == dimension.si).unwrap();
            let exact = number * multiply / divide;
            prop_assert_eq!(value(&format!("{number} {symbol}"), quantity), exact);
            if !symbol.starts_with('1') {
                prop_assert_eq!(value(&format!("{number:e}{symbol}"), quantity), exact);
            }
        }

        #[test]
        fn any_text_gives_a_finite_value_or_a_refusal(text in "\\PC*", quantity in 0..Quantity::ALL.len()) {
            if let Ok(value) = read(&text, Quantity::ALL[quantity], Some(AMBIENT)) {
                prop_assert!(value.is_finite());
            }
        }

        #[test]
        fn text_that_looks_like_a_value_gives_a_finite_value_or_a_refusal(
            text in "[-+0-9.eE]{0,6} ?[a-zA-Zµ°/()² ]{0,8}",
            quantity in 0..Quantity::ALL.len(),
        ) {
            if let Ok(value) = read(&text, Quantity::ALL[quantity], Some(AMBIENT)) {
                prop_assert!(value.is_finite());
            }
        }
    }
}
