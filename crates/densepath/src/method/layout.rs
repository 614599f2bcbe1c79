//! From the parts of a document to a path: the order they must stand in.

use densepath_fluid::Fluid;
use densepath_fluid::error::{Error, Result};

use super::pieces::Piece;
use crate::hardware::{Cylinder, Role, Solute, SuctionLine, safety};
use crate::path::{Named, Part, Path, Pump, Room, Source, Watch};

/// How many branches may lie between a part and the main line: what the pressures cost to find multiplies with each.
const DEEPEST: usize = 2;

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
    /// Name of the part at whose outlet the branch begins that it stands in; nothing on the main line.
    pub branch_of: Option<String>,
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
    let (main, rest): (Vec<_>, Vec<_>) = parts.into_iter().partition(|p| p.branch_of.is_none());
    let mut main = main.into_iter();
    let source = source(&mut main)?;
    let mut branches = Branches(rest);
    let mut order = Order::default();
    let parts = branches.line(main, &mut order, 0)?;
    if let Some(lost) = branches.0.first() {
        return Err(lost.rule(format!(
            "`branch_of` names \"{}\", and no such part stands on the main line or on a branch of it before the part that holds the \
             pressure",
            lost.branch_of.as_deref().unwrap_or_default()
        )));
    }
    order.finish(!frame.solutes.is_empty())?;
    if order.gas.by_a_vent && frame.air.is_none() {
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
        parts,
        solutes: frame.solutes,
        room: Room {
            temperature: frame.room_temperature,
            pressure: frame.room_pressure,
            air: frame.air.filter(|_| order.ends_in_room()),
        },
        watch: Watch::default(),
    })
}

/// The parts that stand in branches and are not yet at their place.
struct Branches(Vec<Placed>);

impl Branches {
    /// The parts of a line, each with the branch that begins at its outlet.
    fn line(
        &mut self,
        parts: impl Iterator<Item = Placed>,
        order: &mut Order,
        depth: usize,
    ) -> Result<Vec<Part>> {
        let mut line = Vec::new();
        for placed in parts {
            order.admit(&placed)?;
            let branch = if order.holder.is_none() {
                self.branch(&placed.name, order, depth)?
            } else {
                Vec::new()
            };
            let (name, element) = (placed.name, placed.piece.into_element()?);
            line.push(Part {
                name,
                element,
                branch,
            });
        }
        Ok(line)
    }

    /// The parts of the branch at the outlet of a part; none if there is no branch.
    fn branch(&mut self, tee: &str, order: &mut Order, depth: usize) -> Result<Vec<Part>> {
        let is_here = |placed: &mut Placed| placed.branch_of.as_deref() == Some(tee);
        let own: Vec<Placed> = self.0.extract_if(.., is_here).collect();
        let Some(first) = own.first() else {
            return Ok(Vec::new());
        };
        let rule = |rule: String| Err(first.rule(rule));
        if depth == DEEPEST {
            return rule(format!(
                "stands {DEEPEST} branches away from the main line already, and no branch can begin there"
            ));
        }
        let unclosed = rule(format!(
            "the branch of \"{tee}\" has no part that holds the pressure: end it with a restrictor or a back_pressure_regulator"
        ));
        let mut along = Order {
            is_branch: true,
            injector: order.injector.clone(),
            make_up: order.make_up.clone(),
            ..Order::default()
        };
        let parts = self.line(own.into_iter(), &mut along, depth + 1)?;
        if along.holder.is_none() {
            return unclosed;
        }
        order.take_in(tee, &along);
        Ok(parts)
    }
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

/// What has been passed on the way along the parts behind the pump, or behind a tee: names of parts.
#[derive(Debug, Default)]
struct Order {
    is_branch: bool,
    injector: Option<String>,
    column: Option<String>,
    /// Whether a column, here or in a branch, stands behind the injector.
    retains: bool,
    mixer: Option<String>,
    tee: Option<String>,
    make_up: Option<String>,
    holder: Option<String>,
    vent: Option<String>,
    gas: Gas,
}

/// Where gas may get into the room, here or in a branch.
#[derive(Debug, Default)]
struct Gas {
    by_a_vent: bool,
    from_an_open_branch: bool,
}

impl Order {
    /// Whether gas may get into the room: by a vent, or from a line that has none.
    fn ends_in_room(&self) -> bool {
        self.gas.by_a_vent || self.gas.from_an_open_branch || self.vent.is_none()
    }

    /// What a branch at the outlet of a part has in it.
    fn take_in(&mut self, tee: &str, branch: &Order) {
        self.tee = Some(tee.to_owned());
        self.gas.by_a_vent |= branch.gas.by_a_vent;
        self.gas.from_an_open_branch |= branch.gas.from_an_open_branch || branch.vent.is_none();
        self.retains |= branch.retains;
    }

    /// Error 606 if a part cannot stand where it does.
    fn admit(&mut self, placed: &Placed) -> Result<()> {
        if self.vent.is_some() {
            return Err(placed.rule("nothing can follow the vent"));
        }
        if placed.kind == "modifier_pump" {
            self.admit_feed(placed)?;
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
            Piece::Vent(vent) => {
                self.vent = Some(placed.name.clone());
                self.gas.by_a_vent |= vent.ends_in_room();
            }
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

    /// A pump that joins the stream: of a modifier before the column, of a make-up behind it or on a branch.
    fn admit_feed(&mut self, placed: &Placed) -> Result<()> {
        if self.is_branch || self.column.is_some() {
            self.make_up = Some(placed.name.clone());
            return Ok(());
        }
        if self.mixer.is_some() || self.injector.is_some() || self.tee.is_some() {
            return Err(placed.rule(
                "a modifier_pump must stand before mixer, injector, column and branches, which need the streams joined; or behind the \
                 last column, as the pump of a make-up",
            ));
        }
        Ok(())
    }

    fn admit_role(&mut self, placed: &Placed, role: Role) -> Result<()> {
        match role {
            Role::Injection if self.is_branch => Err(placed.rule(format!(
                "a {} cannot stand in a branch: the injector stands on the main line",
                placed.kind
            ))),
            Role::Injection if self.injector.is_some() => {
                Err(placed.rule("a path has one injector"))
            }
            Role::Injection if self.column.is_some() => {
                Err(placed.rule("the injector must stand before the column"))
            }
            Role::Injection => {
                self.injector = Some(placed.name.clone());
                Ok(())
            }
            Role::Column if self.make_up.is_some() => Err(placed
                .rule("a column cannot stand behind a make-up: put the modifier_pump behind it")),
            Role::Column => {
                self.column = Some(placed.name.clone());
                self.retains |= self.injector.is_some();
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
        if has_solute && (self.injector.is_none() || !self.retains) {
            return layout(
                "solute",
                "a band needs an injector and a column behind it: add them, or take the solute away",
            );
        }
        Ok(())
    }
}
