//! How the composition answers to the pumps that make it.

use fluid::{Quantity, Result, State};

use super::Path;
use super::march::{Part, Pass};
use super::solution::PartFact;
use super::source::{Feed as Supply, Pump};
use crate::fluid;
use crate::fluid::units::BAR;
use crate::hardware::{CountedAt, Fact, Feed, Joining, Role, SetFlow, Stream, Surroundings, blend};

/// Changes of the modifier's fractions for one kelvin and one bar more at each pump whose volume is counted there.
///
/// Nothing where no pump joins the stream before the column.
pub(super) fn sensitivities(
    path: &Path,
    surroundings: &Surroundings<'_>,
    delivered: &Stream,
    supply: &Supply,
    passes: &[Pass],
) -> Result<Vec<PartFact>> {
    let mut pumps = vec![(
        path.source.pump.name.as_str(),
        main_feed(path, surroundings, delivered, supply)?,
    )];
    for (part, pass) in path.parts.iter().zip(passes).take(before_last_column(path)) {
        let joining = part.element.joins(&pass.inlet, surroundings)?;
        pumps.extend(joining.map(|joining| (part.name.as_str(), joining)));
    }
    if pumps.len() == 1 {
        return Ok(Vec::new());
    }
    let feeds: Vec<Feed> = pumps
        .iter()
        .map(|(_, joining)| joining.feed.clone())
        .collect();
    let made = blend(&feeds)?;
    let others = |changes: &[f64]| -> f64 {
        let pairs = made.substances.iter().zip(changes);
        let others = pairs.filter(|(name, _)| **name != surroundings.carrier);
        others.map(|(_, change)| change).sum()
    };
    let mut facts = Vec::new();
    for ((name, joining), answer) in pumps.iter().zip(made.sensitivities()?) {
        if !joining.is_by_volume {
            continue;
        }
        let (x, w) = (Quantity::AmountFraction, Quantity::MassFraction);
        facts.extend(
            [
                (
                    "change of the modifier's amount fraction, counted 1 K warmer",
                    x,
                    others(&answer.amount_fractions_by_temperature),
                ),
                (
                    "change of the modifier's amount fraction, counted at 1 bar more",
                    x,
                    BAR * others(&answer.amount_fractions_by_pressure),
                ),
                (
                    "change of the modifier's mass fraction, counted 1 K warmer",
                    w,
                    others(&answer.mass_fractions_by_temperature),
                ),
                (
                    "change of the modifier's mass fraction, counted at 1 bar more",
                    w,
                    BAR * others(&answer.mass_fractions_by_pressure),
                ),
            ]
            .map(|(words, quantity, value)| PartFact {
                part: (*name).to_owned(),
                fact: Fact::new(words, quantity, value),
            }),
        );
    }
    Ok(facts)
}

/// How many parts stand before the last column, or in all where there is none: what joins behind it is no modifier but a make-up.
fn before_last_column(path: &Path) -> usize {
    let is_column = |part: &Part| part.element.role() == Role::Column;
    let last = path.parts.iter().rposition(is_column);
    last.unwrap_or(path.parts.len())
}

/// What the pump of the supply brings, where its volume is counted.
fn main_feed(
    path: &Path,
    surroundings: &Surroundings<'_>,
    delivered: &Stream,
    supply: &Supply,
) -> Result<Joining> {
    let pump = &path.source.pump.part;
    let counted = match pump {
        Pump::Reciprocating(pump) => match pump.set_flow() {
            SetFlow::Volume(_, CountedAt::Suction) => Some(supply.suction.state.pressure()),
            SetFlow::Volume(_, CountedAt::Delivery) => Some(surroundings.delivery_pressure),
            _ => None,
        },
        Pump::Syringe(_) => None,
    };
    let (temperature, pressure) = (
        pump.temperature(),
        counted.unwrap_or(surroundings.delivery_pressure),
    );
    let fluid = delivered.state.fluid();
    let density = State::from_tp(fluid, temperature, pressure)?.density();
    Ok(Joining {
        feed: Feed {
            fluid: fluid.clone(),
            volume_flow_rate: delivered.mass_flow_rate / density,
            temperature,
            pressure,
        },
        is_by_volume: counted.is_some(),
    })
}
