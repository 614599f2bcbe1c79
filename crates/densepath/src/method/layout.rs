//! From the parts of a document to a path: the order they must stand in.

use densepath_fluid::Fluid;
use densepath_fluid::error::{Error, Result};

use super::pieces::Piece;
use crate::hardware::{Cylinder, Role, Solute, SuctionLine, safety};
use crate::path::{Named, Part, Path, Pump, Room, Source, Watch};

/// A part with what the document says about its place.
#[derive(Debug)]
pub struct Placed {
    /// Name given by the user.
    pub name: String,
    /// The word for the sort of part.
    pub kind: &'static str,
    /// Path of its table in the document.
    pub key: String,
    /// Line of its table.
    pub line: Option<usize>,
    /// The part.
    pub piece: Piece,
}

impl Placed {
    fn rule(&self, rule: impl Into<String>) -> Error {
        Error::Layout {
            line: self.line,
            key: self.key.clone(),
            rule: rule.into(),
        }
    }
}

/// What else a document states.
#[derive(Debug)]
pub struct Frame {
    pub title: String,
    pub fluid: Fluid,
    pub solutes: Vec<Solute>,
    pub room_temperature: f64,
    pub room_pressure: f64,
    pub air: Option<safety::Room>,
}

/// The path that the parts make up in their order. Error 606 for a combination that is no instrument.
pub fn path(frame: Frame, parts: Vec<Placed>) -> Result<Path> {
    names_are_unique(&parts)?;
    let mut rest = parts.into_iter();
    let source = source(&mut rest)?;
    let mut ends_in_room = true;
    let mut path = Vec::new();
    let mut order = Order::default();
    for placed in rest {
        order.admit(&placed)?;
        path.push(match placed.piece {
            Piece::Element(element) => Part {
                name: placed.name,
                element,
            },
            Piece::Vent(vent) => {
                ends_in_room = vent.ends_in_room();
                Part::new(placed.name, vent)
            }
            Piece::Cylinder(..) | Piece::SuctionLine(_) | Piece::Pump(_) => {
                return Err(Error::Internal {
                    place: "method::layout, a part of the source behind the pump",
                });
            }
        });
    }
    order.finish(!frame.solutes.is_empty())?;
    let vents_into_room = ends_in_room && order.vented;
    if vents_into_room && frame.air.is_none() {
        return Err(Error::MissingKey {
            line: None,
            key: "room.volume".to_owned(),
            expected: "a vent that leads to the room needs its `volume` and `air_change_rate`, so that the air can be judged"
                .to_owned(),
        });
    }
    Ok(Path {
        title: frame.title,
        fluid: frame.fluid,
        source,
        parts: path,
        solutes: frame.solutes,
        room: Room {
            temperature: frame.room_temperature,
            pressure: frame.room_pressure,
            air: frame.air.filter(|_| ends_in_room),
        },
        watch: Watch::default(),
    })
}

fn names_are_unique(parts: &[Placed]) -> Result<()> {
    for (index, part) in parts.iter().enumerate() {
        if parts
            .iter()
            .take(index)
            .any(|other| other.name == part.name)
        {
            return Err(part.rule(format!(
                "the name \"{}\" is taken: give each part its own",
                part.name
            )));
        }
    }
    Ok(())
}

fn source(parts: &mut impl Iterator<Item = Placed>) -> Result<Source> {
    let (cylinder, cylinder_temperature) = cylinder(parts.next())?;
    Ok(Source {
        cylinder,
        cylinder_temperature,
        suction_line: suction_line(parts.next())?,
        pump: pump(parts.next())?,
    })
}

/// Error 606 for a part that is not the one its place asks for.
fn misplaced(placed: Option<Placed>, wanted: &str) -> Error {
    match placed {
        Some(placed) => placed.rule(format!(
            "is a {}, and here a {wanted} must stand",
            placed.kind
        )),
        None => Error::Layout {
            line: None,
            key: "part".to_owned(),
            rule: format!("the list ends where a {wanted} must stand"),
        },
    }
}

fn cylinder(placed: Option<Placed>) -> Result<(Named<Cylinder>, f64)> {
    match placed {
        Some(Placed {
            name,
            piece: Piece::Cylinder(part, temperature),
            ..
        }) => Ok((Named { name, part }, temperature)),
        other => Err(misplaced(other, "cylinder")),
    }
}

fn suction_line(placed: Option<Placed>) -> Result<Named<SuctionLine>> {
    match placed {
        Some(Placed {
            name,
            piece: Piece::SuctionLine(part),
            ..
        }) => Ok(Named { name, part }),
        other => Err(misplaced(other, "suction_line")),
    }
}

fn pump(placed: Option<Placed>) -> Result<Named<Pump>> {
    match placed {
        Some(Placed {
            name,
            piece: Piece::Pump(part),
            ..
        }) => Ok(Named { name, part }),
        other => Err(misplaced(other, "reciprocating_pump or syringe_pump")),
    }
}

/// What has been passed on the way along the parts behind the pump.
#[derive(Debug, Default)]
struct Order {
    injected: bool,
    column: bool,
    mixer: Option<String>,
    holder: Option<String>,
    vented: bool,
}

impl Order {
    /// Error 606 if a part cannot stand where it does.
    fn admit(&mut self, placed: &Placed) -> Result<()> {
        if self.vented {
            return Err(placed.rule("nothing can follow the vent"));
        }
        let is_late = self.mixer.is_some() || self.injected || self.column;
        if placed.kind == "modifier_pump" && is_late {
            return Err(placed.rule(
                "a modifier_pump must stand before mixer, injector and column, which need the streams joined",
            ));
        }
        if placed.kind == "mixer" {
            self.mixer = Some(placed.name.clone());
        }
        let gas = matches!(placed.kind, "gas_detector" | "vent");
        let anywhere = placed.kind == "tube";
        match &self.holder {
            None if gas => {
                return Err(placed.rule(format!(
                    "a {} looks at gas: put it behind the regulator or restrictor",
                    placed.kind
                )));
            }
            Some(holder) if !gas && !anywhere => {
                return Err(placed.rule(format!(
                    "a {} cannot stand behind \"{holder}\", which lets the pressure go: put it before",
                    placed.kind
                )));
            }
            _ => {}
        }
        match &placed.piece {
            Piece::Vent(_) => self.vented = true,
            Piece::Element(element) => {
                if element.holds_pressure() {
                    self.holder = Some(placed.name.clone());
                }
                self.admit_role(placed, element.role())?;
            }
            Piece::Cylinder(..) | Piece::SuctionLine(_) | Piece::Pump(_) => {
                return Err(placed.rule(format!(
                    "a {} stands only at the beginning: cylinder, suction_line, pump",
                    placed.kind
                )));
            }
        }
        Ok(())
    }

    fn admit_role(&mut self, placed: &Placed, role: Role) -> Result<()> {
        match role {
            Role::Injection if self.injected => Err(placed.rule("a path has one injector")),
            Role::Injection if self.column => {
                Err(placed.rule("the injector must stand before the column"))
            }
            Role::Injection => {
                self.injected = true;
                Ok(())
            }
            Role::Column => {
                self.column = true;
                Ok(())
            }
            Role::Conduit | Role::Mixing | Role::Detection => Ok(()),
        }
    }

    fn finish(&self, has_solute: bool) -> Result<()> {
        let layout = |key: &str, rule: &str| {
            Err(Error::Layout {
                line: None,
                key: key.to_owned(),
                rule: rule.to_owned(),
            })
        };
        if self.holder.is_none() {
            return layout(
                "part",
                "no part holds the pressure: end the dense path with a back_pressure_regulator or a linear_restrictor",
            );
        }
        if has_solute && !(self.injected && self.column) {
            return layout(
                "solute",
                "a band needs an injector and a column: add them, or take the solute away",
            );
        }
        Ok(())
    }
}
