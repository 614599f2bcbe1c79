//! From the table of a restrictor to the restrictor.

use densepath_fluid::error::Result;

use super::pieces::with;
use super::reader::Reader;
use super::schema::parts::STRETCH;
use crate::flow::bore::{Bore, Stretch};
use crate::flow::passage::Profile;
use crate::hardware::restrictor::{
    BoredRestrictor, FritRestrictor, Jacket, LinearRestrictor, OrificeRestrictor, Restrictor,
    RestrictorHeating,
};

/// Tortuosity of a frit where none is stated: common practice, no source.
const TORTUOSITY: f64 = 2.0;

/// How a restrictor of a length in m exchanges heat.
fn heating(table: &Reader<'_>, length: f64) -> Result<RestrictorHeating> {
    let along = || -> Result<Profile> {
        let inlet = table.number("temperature")?;
        match table.optional_number("outlet_temperature")? {
            Some(outlet) => Profile::new(vec![(0.0, inlet), (length, outlet)]),
            None => Profile::constant(inlet),
        }
    };
    Ok(match table.optional_word("heat")? {
        Some("adiabatic") => RestrictorHeating::Adiabatic,
        Some("wall") => RestrictorHeating::Wall(along()?),
        Some("jacket") => {
            let jacket = Jacket::new(
                table.number("outer_diameter")?,
                table.number("wall_conductivity")?,
                table.number("outside_coefficient")?,
                along()?,
            )?;
            let conducts = table.optional_boolean("conducts_along_wall")?;
            RestrictorHeating::Jacket(match conducts {
                Some(true) => jacket.with_conduction_along(),
                _ => jacket,
            })
        }
        _ => RestrictorHeating::Isothermal(table.optional_number("temperature")?),
    })
}

fn calibrated<R: Restrictor>(restrictor: R, table: &Reader<'_>) -> Result<R> {
    let factor = table.optional_number("calibration_factor")?;
    with(restrictor, factor, R::with_calibration_factor)
}

/// The restrictor of one bore.
pub fn linear(table: &Reader<'_>) -> Result<LinearRestrictor> {
    type R = LinearRestrictor;
    let length = table.number("length")?;
    let restrictor =
        R::new(table.number("diameter")?, length)?.with_heating(heating(table, length)?)?;
    let roughness = table.optional_number("roughness")?;
    calibrated(with(restrictor, roughness, R::with_roughness)?, table)
}

fn bored(bore: Bore, table: &Reader<'_>) -> Result<BoredRestrictor> {
    type R = BoredRestrictor;
    let heating = heating(table, bore.length())?;
    let restrictor = R::new(bore).with_heating(heating)?;
    let roughness = table.optional_number("roughness")?;
    calibrated(with(restrictor, roughness, R::with_roughness)?, table)
}

/// The conical restrictor.
pub fn tapered(table: &Reader<'_>) -> Result<BoredRestrictor> {
    let cone = Stretch {
        length: table.number("length")?,
        inlet_diameter: table.number("inlet_diameter")?,
        outlet_diameter: table.number("outlet_diameter")?,
    };
    bored(Bore::new(vec![cone])?, table)
}

/// The restrictor of stretches.
pub fn segmented(table: &Reader<'_>) -> Result<BoredRestrictor> {
    let mut stretches = Vec::new();
    for section in table.tables("stretch")? {
        let stretch = section.open(&[STRETCH], None)?;
        let inlet_diameter = stretch.number("inlet_diameter")?;
        stretches.push(Stretch {
            length: stretch.number("length")?,
            inlet_diameter,
            outlet_diameter: stretch
                .optional_number("outlet_diameter")?
                .unwrap_or(inlet_diameter),
        });
        stretch.finish()?;
    }
    bored(Bore::new(stretches)?, table)
}

/// The hole.
pub fn orifice(table: &Reader<'_>) -> Result<OrificeRestrictor> {
    let hole = OrificeRestrictor::new(
        table.number("diameter")?,
        table.number("discharge_coefficient")?,
    )?;
    calibrated(hole, table)
}

/// The crimp.
pub fn crimped(table: &Reader<'_>) -> Result<OrificeRestrictor> {
    calibrated(
        OrificeRestrictor::of_area(table.number("equivalent_area")?)?,
        table,
    )
}

/// The frit.
pub fn frit(table: &Reader<'_>) -> Result<FritRestrictor> {
    type R = FritRestrictor;
    let (diameter, length) = (table.number("diameter")?, table.number("length")?);
    let pores = table.optional_number("pore_diameter")?;
    let frit = match table.optional_number("permeability")? {
        Some(permeability) => with(
            R::new(diameter, length, permeability, pores.unwrap_or(0.0))?,
            table.optional_number("porosity")?,
            R::with_porosity,
        )?,
        None => R::of_capillaries(
            diameter,
            length,
            pores.ok_or_else(|| table.missing("pore_diameter"))?,
            table.number("porosity")?,
            table.optional_number("tortuosity")?.unwrap_or(TORTUOSITY),
        )?,
    };
    let frit = with(
        frit,
        table.optional_number("temperature")?,
        R::with_temperature,
    )?;
    calibrated(frit, table)
}
