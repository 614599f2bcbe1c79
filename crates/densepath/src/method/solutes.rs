//! From the tables of the solutes to the solutes.

use densepath_fluid::Quantity;
use densepath_fluid::error::{Result, not_negative, positive};
use densepath_fluid::transport::diffusion::{Diffusing, DiffusionModel};
use densepath_fluid::transport::gas_diffusion::GasMolecule;

use super::reader::{Reader, Section};
use super::{schema, sound};
use crate::flow::retention::{FittedBox, ModifierBasis, RetentionLaw, Span, Term};
use crate::hardware::{Diffusion, Retention, Solute};

/// The solutes of their tables.
pub fn read(sections: Vec<Section<'_>>, ambient: Option<f64>) -> Result<Vec<Solute>> {
    let read = |section| solute(section, ambient);
    sections.into_iter().map(read).collect()
}

fn solute(section: Section<'_>, ambient: Option<f64>) -> Result<Solute> {
    let table = section.open(&[schema::SOLUTE.fields], ambient)?;
    let solute = Solute {
        name: table.text("name")?.to_owned(),
        retention: retention(&table)?,
        diffusion: diffusion(&table)?,
        melting_temperature: table.optional_number("melting_temperature")?,
        in_gas: in_gas(&table)?,
    };
    table.finish()?;
    Ok(solute)
}

fn retention(table: &Reader<'_>) -> Result<Retention> {
    match table.word("retention")? {
        "constant" => {
            let factor = table.number("retention_factor")?;
            let checked = not_negative(Quantity::RetentionFactor, factor);
            Ok(Retention::Constant {
                retention_factor: sound(table, "retention_factor", checked)?,
            })
        }
        "log_linear_in_density" => {
            let density_min = table.number("density_min")?;
            let checked = not_negative(Quantity::Density, density_min);
            sound(table, "density_min", checked)?;
            let density = sides(table, ["density_min", "density_max"])?;
            Retention::log_linear_in_density(
                table.number("intercept")?,
                table.number("slope")?,
                density,
            )
        }
        _ => law(table).map(Retention::Law),
    }
}

/// Keys of the coefficients of a law in named terms.
const COEFFICIENTS: [(&str, Term); 9] = [
    ("intercept", Term::Constant),
    ("density_coefficient", Term::Density),
    ("density_squared_coefficient", Term::DensitySquared),
    (
        "reciprocal_temperature_coefficient",
        Term::ReciprocalTemperature,
    ),
    ("modifier_coefficient", Term::Modifier),
    ("modifier_squared_coefficient", Term::ModifierSquared),
    ("log_modifier_exponent", Term::LogModifier),
    ("gradient_slope", Term::GradientSlope),
    ("gradient_curvature", Term::GradientCurvature),
];

fn law(table: &Reader<'_>) -> Result<RetentionLaw> {
    let mut terms = Vec::new();
    for (key, term) in COEFFICIENTS {
        terms.extend(
            table
                .optional_number(key)?
                .map(|coefficient| (term, coefficient)),
        );
    }
    let word = table.optional_word("modifier_basis")?;
    let basis = word
        .and_then(|word| word.parse().ok())
        .unwrap_or(ModifierBasis::AmountFraction);
    let fitted = FittedBox {
        temperature: sides(table, ["temperature_min", "temperature_max"])?,
        density: sides(table, ["density_min", "density_max"])?,
        modifier_fraction: sides(table, ["modifier_min", "modifier_max"])?,
    };
    RetentionLaw::new(&terms, basis, fitted)
        .map_err(|error| table.rule(Some("retention"), error.to_string()))
}

/// Two sides of a box; without limit where a key is missing.
fn sides(table: &Reader<'_>, keys: [&str; 2]) -> Result<Span> {
    let [low, high] = keys;
    let span = Span {
        min: table.optional_number(low)?.unwrap_or(f64::NEG_INFINITY),
        max: table.optional_number(high)?.unwrap_or(f64::INFINITY),
    };
    if span.max <= span.min {
        return Err(table.rule(Some(high), format!("must be above `{low}`")));
    }
    Ok(span)
}

fn diffusion(table: &Reader<'_>) -> Result<Diffusion> {
    let word = table.word("diffusion")?;
    let Ok(model) = word.parse::<DiffusionModel>() else {
        let coefficient = table.number("diffusion_coefficient")?;
        let checked = positive(Quantity::DiffusionCoefficient, coefficient);
        return Ok(Diffusion::Constant {
            diffusion_coefficient: sound(table, "diffusion_coefficient", checked)?,
        });
    };
    let checked = positive(Quantity::MolarVolume, table.number("molar_volume")?);
    let molar_volume = sound(table, "molar_volume", checked)?;
    let molar_mass = if model.asks_for_molar_mass() {
        let checked = positive(Quantity::MolarMass, table.number("molar_mass")?);
        Some(sound(table, "molar_mass", checked)?)
    } else {
        None
    };
    let solute = Diffusing {
        molar_volume,
        molar_mass,
    };
    let factor = table.optional_number("diffusion_factor")?.unwrap_or(1.0);
    let checked = positive(Quantity::Ratio, factor);
    Ok(Diffusion::Estimated {
        model,
        solute,
        factor: sound(table, "diffusion_factor", checked)?,
    })
}

/// What the law of diffusion in gas asks for, where the document states it.
fn in_gas(table: &Reader<'_>) -> Result<Option<GasMolecule>> {
    let Some(volume) = table.optional_number("diffusion_volume")? else {
        return Ok(None);
    };
    let checked = positive(Quantity::MolarVolume, volume);
    let diffusion_volume = sound(table, "diffusion_volume", checked)?;
    let checked = positive(Quantity::MolarMass, table.number("molar_mass")?);
    Ok(Some(GasMolecule {
        molar_mass: sound(table, "molar_mass", checked)?,
        diffusion_volume,
    }))
}
