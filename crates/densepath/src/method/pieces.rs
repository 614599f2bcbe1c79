//! From the table of one part to the part.

use std::sync::Arc;

use densepath_fluid::error::{Error, Result};
use densepath_fluid::units::MICROMETRE;
use densepath_fluid::{Fluid, ModelChoice};

use super::reader::Reader;
use super::restrictors;
use crate::flow::packed_bed::{KOZENY_CARMAN_CONSTANT, PackedBed};
use crate::flow::plate_height::PackedPlateHeight;
use crate::hardware::{
    BackPressureRegulator, CountedAt, Cylinder, DetectorCell, Element, GasDetector, Mixer,
    ModifierPump, OpenTubularColumn, PackedColumn, ReciprocatingPump, SampleLoop, SetFlow,
    SuctionLine, SyringePump, Thermal, Tube, Vent, Withdrawal,
};
use crate::path::Pump;

/// Roughness in m of a tube where none is stated: that of drawn steel, common practice, no source.
const ROUGHNESS: f64 = MICROMETRE;

/// One part, by where it belongs in a path.
#[derive(Debug)]
pub enum Piece {
    /// The cylinder and its temperature in K.
    Cylinder(Cylinder, f64),
    /// The suction line.
    SuctionLine(SuctionLine),
    /// The pump.
    Pump(Pump),
    /// The vent.
    Vent(Vent),
    /// A part between pump and vent.
    Element(Arc<dyn Element>),
}

impl Piece {
    fn element(element: impl Element + 'static) -> Self {
        Piece::Element(Arc::new(element))
    }

    /// The part, as it stands behind the pump. Error 901 for a part of the source, which never stands there.
    pub fn into_element(self) -> Result<Arc<dyn Element>> {
        match self {
            Piece::Element(element) => Ok(element),
            Piece::Vent(vent) => Ok(Arc::new(vent)),
            Piece::Cylinder(..) | Piece::SuctionLine(_) | Piece::Pump(_) => Err(Error::Internal {
                place: "method::pieces, a part of the source behind the pump",
            }),
        }
    }
}

/// The part of a sort from its table, with the model of mixtures of the document.
pub fn piece(kind: &str, table: &Reader<'_>, model: ModelChoice) -> Result<Piece> {
    Ok(match kind {
        "cylinder" => Piece::Cylinder(cylinder(table)?, table.number("temperature")?),
        "suction_line" => Piece::SuctionLine(suction_line(table)?),
        "reciprocating_pump" => Piece::Pump(Pump::Reciprocating(reciprocating_pump(table)?)),
        "syringe_pump" => Piece::Pump(Pump::Syringe(syringe_pump(table)?)),
        "modifier_pump" => Piece::element(modifier_pump(table, model)?),
        "tube" => Piece::element(tube(table)?),
        "mixer" => Piece::element(mixer(table)?),
        "injector" => Piece::element(injector(table, model)?),
        "packed_column" => Piece::element(packed_column(table)?),
        "open_tubular_column" => Piece::element(open_tubular_column(table)?),
        "detector_cell" => Piece::element(detector_cell(table)?),
        "linear_restrictor" => Piece::element(restrictors::linear(table)?),
        "tapered_restrictor" => Piece::element(restrictors::tapered(table)?),
        "segmented_restrictor" => Piece::element(restrictors::segmented(table)?),
        "orifice_restrictor" => Piece::element(restrictors::orifice(table)?),
        "crimped_restrictor" => Piece::element(restrictors::crimped(table)?),
        "frit_restrictor" => Piece::element(restrictors::frit(table)?),
        "back_pressure_regulator" => Piece::element(regulator(table)?),
        "gas_detector" => Piece::element(gas_detector(table)?),
        "vent" => Piece::Vent(vent(table)?),
        _ => {
            return Err(Error::Internal {
                place: "method::pieces, a kind of part without reader",
            });
        }
    })
}

/// The part with an option, if its key is there.
pub(super) fn with<T>(
    part: T,
    value: Option<f64>,
    option: impl FnOnce(T, f64) -> Result<T>,
) -> Result<T> {
    match value {
        Some(value) => option(part, value),
        None => Ok(part),
    }
}

fn thermal(table: &Reader<'_>) -> Result<Thermal> {
    Ok(match table.optional_number("wall_temperature")? {
        Some(temperature) => Thermal::Isothermal { temperature },
        None => Thermal::Adiabatic,
    })
}

/// The way of a part with a length to exchange heat, through a wall that may resist.
fn wall(table: &Reader<'_>) -> Result<Thermal> {
    match (thermal(table)?, table.optional_number("wall_conductance")?) {
        (Thermal::Isothermal { temperature }, Some(conductance)) => Ok(Thermal::Wall {
            temperature,
            conductance,
        }),
        (_, Some(_)) => Err(table.missing("wall_temperature")),
        (thermal, None) => Ok(thermal),
    }
}

fn cylinder(table: &Reader<'_>) -> Result<Cylinder> {
    let withdrawal = match table.optional_word("withdrawal")? {
        Some("vapour") => Withdrawal::Vapour,
        _ => Withdrawal::Liquid,
    };
    let cylinder = Cylinder::new(table.number("volume")?, table.number("mass")?, withdrawal)?;
    let cylinder = match table.optional_boolean("helium_padded")? {
        Some(true) => cylinder.with_helium_pad(),
        _ => cylinder,
    };
    Ok(match table.optional_boolean("allow_liquid_full")? {
        Some(true) => cylinder.allowing_liquid_full(),
        _ => cylinder,
    })
}

fn suction_line(table: &Reader<'_>) -> Result<SuctionLine> {
    let line = SuctionLine::new(table.number("pressure_drop")?)?;
    let line = with(
        line,
        table.optional_number("height")?,
        SuctionLine::with_height,
    )?;
    let filter = table.optional_number("filter_pressure_drop")?;
    let line = with(line, filter, SuctionLine::with_filter)?;
    let purifier = table.optional_number("purifier_pressure_drop")?;
    let line = with(line, purifier, SuctionLine::with_purifier)?;
    match (
        table.optional_number("accelerated_length")?,
        table.optional_number("acceleration")?,
    ) {
        (None, None) => Ok(line),
        (Some(length), Some(acceleration)) => line.with_acceleration(length, acceleration),
        (Some(_), None) => Err(table.missing("acceleration")),
        (None, Some(_)) => Err(table.missing("accelerated_length")),
    }
}

fn set_flow(table: &Reader<'_>) -> Result<SetFlow> {
    let mass = table.optional_number("mass_flow_rate")?;
    let volume = table.optional_number("volume_flow_rate")?;
    match (mass, volume) {
        (Some(rate), None) => Ok(SetFlow::Mass(rate)),
        (None, Some(rate)) => Ok(SetFlow::Volume(rate, counted_at(table)?)),
        (Some(_), Some(_)) => Err(table.rule(
            Some("mass_flow_rate"),
            "stands beside `volume_flow_rate`: a pump is set to one of the two",
        )),
        (None, None) => Err(table.rule(
            None,
            "a piston pump needs a set flow: `volume_flow_rate` with `counted_at`, or `mass_flow_rate`",
        )),
    }
}

fn counted_at(table: &Reader<'_>) -> Result<CountedAt> {
    let Some(word) = table.optional_word("counted_at")? else {
        let (key, line) = table.place(Some("counted_at"));
        return Err(Error::CountingMissing { line, key });
    };
    CountedAt::ALL
        .into_iter()
        .find(|convention| convention.word() == word)
        .ok_or(Error::Internal {
            place: "method::pieces, a word of counting without convention",
        })
}

fn reciprocating_pump(table: &Reader<'_>) -> Result<ReciprocatingPump> {
    type P = ReciprocatingPump;
    let number = |key| table.optional_number(key);
    let one_of = |here: &'static str, other: &'static str| {
        let stated = |key: &str| table.optional_number(key).map(|number| number.is_some());
        if stated(here)? && stated(other)? {
            let rule = format!("stands beside `{other}`: state one of the two");
            return Err(table.rule(Some(here), &rule));
        }
        Ok(())
    };
    one_of("clearance_volume", "clearance_ratio")?;
    one_of("relaxation_time", "isothermal_share")?;
    let pump = P::new(table.number("head_temperature")?, set_flow(table)?)?;
    let pump = heads(table, pump)?;
    let pump = with(pump, number("clearance_ratio")?, P::with_clearance_ratio)?;
    let pump = with(pump, number("clearance_volume")?, P::with_clearance_volume)?;
    let pump = with(pump, number("isothermal_share")?, P::with_isothermal_share)?;
    let pump = with(pump, number("relaxation_time")?, P::with_relaxation_time)?;
    let friction = number("mechanical_efficiency")?;
    let pump = with(pump, friction, P::with_mechanical_efficiency)?;
    let pump = with(pump, number("leak_fraction")?, P::with_leak_fraction)?;
    with(pump, number("pressure_limit")?, P::with_pressure_limit)
}

/// The pump with its heads, where they are stated; what needs them must not stand alone.
fn heads(table: &Reader<'_>, pump: ReciprocatingPump) -> Result<ReciprocatingPump> {
    let swept = table.optional_number("swept_volume")?;
    let Some(count) = table.optional_whole("heads")? else {
        let needs = ["swept_volume", "clearance_volume", "relaxation_time"];
        for key in needs {
            if table.optional_number(key)?.is_some() {
                return Err(table.missing("heads"));
            }
        }
        return Ok(pump);
    };
    let swept = swept.ok_or_else(|| table.missing("swept_volume"))?;
    pump.with_heads(u32::try_from(count).unwrap_or(u32::MAX), swept)
}

fn modifier_pump(table: &Reader<'_>, model: ModelChoice) -> Result<ModifierPump> {
    let fluid = fluid(table, model)?;
    let pump = ModifierPump::new(fluid, reciprocating_pump(table)?)?.with_model(model);
    let concentration = table.optional_number("additive_concentration")?;
    let molar_mass = table.optional_number("additive_molar_mass")?;
    match (table.optional_text("additive")?, concentration) {
        (Some(name), Some(concentration)) => pump.with_additive(name, concentration, molar_mass),
        (Some(_), None) => Err(table.missing("additive_concentration")),
        (None, None) if molar_mass.is_none() => Ok(pump),
        (None, _) => Err(table.missing("additive")),
    }
}

/// The fluid of the key `fluid`. Errors as [`Fluid::mixture_with_model`].
pub fn fluid(table: &Reader<'_>, model: ModelChoice) -> Result<Fluid> {
    Fluid::mixture_with_model(&table.fluid("fluid")?, model)
}

fn syringe_pump(table: &Reader<'_>) -> Result<SyringePump> {
    type P = SyringePump;
    let pump = P::new(
        table.number("barrel_volume")?,
        table.number("barrel_temperature")?,
        table.number("pressure")?,
    )?;
    let reserve = table.optional_number("reserve_fraction")?;
    let pump = with(pump, reserve, P::with_reserve_fraction)?;
    let fastest = table.optional_number("largest_displacement")?;
    let pump = with(pump, fastest, P::with_largest_displacement)?;
    let limit = table.optional_number("pressure_limit")?;
    with(pump, limit, P::with_pressure_limit)
}

fn tube(table: &Reader<'_>) -> Result<Tube> {
    let tube = Tube::new(
        table.number("diameter")?,
        table.number("length")?,
        table.optional_number("roughness")?.unwrap_or(ROUGHNESS),
    )?;
    let losses = table.optional_number("loss_coefficient")?;
    let tube = with(tube, losses, Tube::with_loss_coefficient)?;
    let coil = table.optional_number("coil_diameter")?;
    let tube = with(tube, coil, Tube::with_coil_diameter)?;
    let variance = table.optional_number("volume_variance")?;
    with(tube, variance, Tube::with_volume_variance)?.with_thermal(wall(table)?)
}

fn mixer(table: &Reader<'_>) -> Result<Mixer> {
    Mixer::new(
        table.number("volume")?,
        table.number("pressure_drop")?,
        thermal(table)?,
    )
}

fn injector(table: &Reader<'_>, model: ModelChoice) -> Result<SampleLoop> {
    let part = SampleLoop::new(table.number("loop_volume")?, table.number("drawn_volume")?)?;
    let divisor = table.optional_number("variance_divisor")?;
    let part = with(part, divisor, SampleLoop::with_variance_divisor)?;
    let open_time = table.optional_number("open_time")?;
    let part = with(part, open_time, SampleLoop::with_open_time)?;
    let split = table.optional_number("split_ratio")?;
    let part = with(part, split, SampleLoop::with_split_ratio)?;
    Ok(match table.optional_fluid("solvent")? {
        Some(parts) => part.with_solvent(Fluid::mixture_with_model(&parts, model)?),
        None => part,
    })
}

fn packed_column(table: &Reader<'_>) -> Result<PackedColumn> {
    let particle_diameter = table.number("particle_diameter")?;
    let porosity = table.number("interparticle_porosity")?;
    PackedColumn::new(
        table.number("diameter")?,
        table.number("length")?,
        particle_diameter,
        porosity,
        table.number("total_porosity")?,
    )?
    .with_bed(bed(table, particle_diameter, porosity)?)
    .with_plate_height(plate_height(table)?)?
    .with_thermal(wall(table)?)
}

fn bed(table: &Reader<'_>, particle_diameter: f64, porosity: f64) -> Result<PackedBed> {
    let word = table.optional_word("bed")?;
    if word == Some("measured") {
        return PackedBed::from_permeability(table.number("permeability")?, 0.0);
    }
    let constant = table
        .optional_number("viscous_constant")?
        .unwrap_or(KOZENY_CARMAN_CONSTANT);
    if word == Some("kozeny_carman") {
        return PackedBed::kozeny_carman(particle_diameter, porosity, constant);
    }
    PackedBed::ergun(particle_diameter, porosity, constant)
}

fn plate_height(table: &Reader<'_>) -> Result<PackedPlateHeight> {
    if table.optional_word("plate_height")? == Some("van_deemter") {
        return Ok(PackedPlateHeight::VanDeemter {
            eddy: table.number("eddy_height")?,
            longitudinal: table.number("longitudinal_coefficient")?,
            transfer: table.number("transfer_time")?,
        });
    }
    let eddy = table.optional_number("eddy")?.unwrap_or(1.0);
    let longitudinal = table.optional_number("longitudinal")?.unwrap_or(2.0);
    let transfer = table.optional_number("transfer")?.unwrap_or(0.05);
    Ok(match table.optional_word("plate_height")? {
        Some("power") => PackedPlateHeight::Power {
            eddy,
            exponent: table.number("exponent")?,
            longitudinal,
            transfer,
        },
        Some("coupled") => PackedPlateHeight::Coupled {
            eddy,
            coupling: table.number("coupling")?,
            longitudinal,
            transfer,
        },
        _ => PackedPlateHeight::Knox {
            eddy,
            longitudinal,
            transfer,
        },
    })
}

fn open_tubular_column(table: &Reader<'_>) -> Result<OpenTubularColumn> {
    OpenTubularColumn::new(
        table.number("diameter")?,
        table.number("length")?,
        table.number("film_thickness")?,
        table.number("film_diffusion_coefficient")?,
    )?
    .with_thermal(thermal(table)?)
}

fn detector_cell(table: &Reader<'_>) -> Result<DetectorCell> {
    type C = DetectorCell;
    let number = |key| table.optional_number(key);
    let cell = C::new(table.number("volume")?)?;
    let cell = with(cell, number("variance_divisor")?, C::with_divisor)?;
    let cell = with(cell, number("time_constant")?, C::with_time_constant)?;
    let cell = with(cell, number("pressure_limit")?, C::with_pressure_limit)?;
    let cell = with(cell, number("wavelength")?, C::with_wavelength)?;
    match table.optional_word("detector")? {
        Some(name) => cell.with_detector(name),
        None => Ok(cell),
    }
}

fn regulator(table: &Reader<'_>) -> Result<BackPressureRegulator> {
    type R = BackPressureRegulator;
    let number = |key| table.optional_number(key);
    let regulator = R::new(table.number("pressure")?)?;
    let regulator = with(
        regulator,
        number("outlet_pressure")?,
        R::with_outlet_pressure,
    )?;
    let regulator = match table.optional_boolean("valve_size")? {
        Some(true) => regulator.sized(),
        _ => regulator,
    };
    let regulator = match number("pulse_frequency")? {
        Some(frequency) => regulator.with_pulses(
            frequency,
            table.number("open_share")?,
            table.number("volume")?,
        )?,
        None => regulator,
    };
    let Some(temperature) = number("outlet_temperature")? else {
        return Ok(regulator);
    };
    let regulator = regulator.with_outlet_temperature(temperature)?;
    with(regulator, number("heater_power")?, R::with_heater_power)
}

fn gas_detector(table: &Reader<'_>) -> Result<GasDetector> {
    let detector = match table.optional_word("detector")? {
        Some(word) => GasDetector::of_sort(word)?,
        None => GasDetector::new(),
    };
    let limit = table.optional_number("flow_limit")?;
    let detector = with(detector, limit, GasDetector::with_flow_limit)?;
    Ok(if table.optional_boolean("flame")? == Some(true) {
        detector.with_flame()
    } else {
        detector
    })
}

fn vent(table: &Reader<'_>) -> Result<Vent> {
    let diameter = table.optional_number("diameter")?;
    let vent = with(Vent::new(), diameter, Vent::with_diameter)?;
    Ok(if table.optional_word("leads_to")? == Some("room") {
        vent.into_room()
    } else {
        vent
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::detector_records;
    use crate::method::schema::parts;

    #[test]
    fn the_words_of_the_schema_are_those_read() {
        let conventions: Vec<_> = CountedAt::ALL.iter().map(|c| c.word()).collect();
        assert_eq!(parts::COUNTED_AT, conventions);
        let of_modifiers = [CountedAt::Suction, CountedAt::Delivery].map(CountedAt::word);
        assert_eq!(parts::MODIFIER_COUNTED_AT, of_modifiers);
        assert_eq!(parts::WITHDRAWAL, ["liquid", "vapour"]);
        assert_eq!(parts::BED, ["ergun", "kozeny_carman", "measured"]);
        assert_eq!(
            parts::PLATE_HEIGHT,
            ["knox", "van_deemter", "power", "coupled"]
        );
        assert_eq!(parts::LEADS_TO, ["outdoors", "room"]);
        assert_eq!(parts::HEAT, ["isothermal", "wall", "adiabatic", "jacket"]);
        let sorts: Vec<_> = detector_records()
            .unwrap()
            .iter()
            .map(|record| record.word.as_str())
            .collect();
        assert_eq!(parts::DETECTOR, sorts);
    }
}
