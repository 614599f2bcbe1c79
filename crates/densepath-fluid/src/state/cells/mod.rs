//! Densities at given temperature and pressure from polynomials that were verified before they answer.
//!
//! The plane of temperature and pressure is divided into rectangles, each of which is filled when it is first asked for. A
//! rectangle in which a polynomial agrees with the equation to [`TOLERANCE`] answers by it; another is divided further, as far
//! as [`HALVINGS`]. What is left, beside the borders of the phases, around the critical point and beside the solid, is left to the
//! solver. What a rectangle holds depends on nothing but the fluid, so that an answer never depends on what was asked before.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

mod cell;
mod surface;

use crate::num::once::OnceLock;

use self::cell::{Area, Cell};
pub(super) use self::surface::Surface;
use super::pure::{Pure, Substance};
use super::solve::PRESSURE_MIN;
use crate::fluids::record::Range;
use crate::num::chebyshev::Basis;
use crate::num::lanes::{Kind, Task, run};

/// Greatest relative error found in a rectangle that answers. Between the points of comparison it may be a few times as large;
/// the tests hold all densities to 1e-11.
const TOLERANCE: f64 = 4e-12;
/// Greatest relative error of a polynomial from which Newton's method starts.
const NEAR: f64 = 1e-6;
/// Number of halvings of a first rectangle in each direction.
const HALVINGS: u32 = 8;
/// Smallest rectangles along a first one.
const SIDE: u32 = 1 << HALVINGS;
/// First rectangles to the critical temperature.
const COLUMNS_TO_CRITICAL: f64 = 40.0;
const COLUMNS_MAX: usize = 1000;
/// Bits of the mantissa of a pressure that number the first rectangles of an octave.
const ROW_BITS: u32 = 2;
/// Highest temperature and pressure over the critical ones.
const REACH: [f64; 2] = [1.6, 16.0];

/// The rectangles of a fluid.
///
/// Column after column; the first rectangle of each, and all of the first column, hold nothing: whatever lies outside of the
/// plane, or is no number, is sent there.
#[derive(Debug)]
pub(crate) struct Cells {
    temperature_min: f64,
    column_width: f64,
    columns: usize,
    rows: usize,
    /// Smallest rectangles per kelvin, and in all columns.
    finest_per_kelvin: f64,
    finest_columns: f64,
    finest_rows: u32,
    basis: Basis,
    /// Each divided at once as far as its error asks for.
    roots: Box<[OnceLock<Split>]>,
}

/// Where a state lies: the first rectangle, and in it the smallest one that could be, the row in front of the bits of the column.
#[derive(Debug, Clone, Copy)]
struct Place {
    root: u32,
    inner: u32,
}

/// The places of a batch, each part of them in a list so that several are found side by side.
#[derive(Debug)]
struct Places {
    roots: [u32; AHEAD],
    inner: [u32; AHEAD],
}

/// What a rectangle holds.
#[derive(Debug)]
enum Node {
    Cell(Box<Cell>),
    /// A polynomial from which Newton's method starts.
    Near(Box<Cell>),
    Split(Box<Split>),
    /// Left to the solver.
    Open,
}

/// A rectangle divided into smaller ones.
#[derive(Debug)]
struct Split {
    area: Area,
    /// Halvings of a part that are left, and those that made the parts: of the column and of the row of the smallest rectangle, as
    /// many bits as the second number a part, above as many as the first.
    left: u32,
    made: u32,
    /// Row after row of equal pressure.
    parts: Box<[OnceLock<Node>]>,
}

impl Cells {
    /// The rectangles of a substance, all of them empty; nothing for a mixture taken for one substance.
    pub(super) fn new(substance: &Substance) -> Option<Self> {
        if substance.is_pseudo_pure() {
            return None;
        }
        let (range, critical) = (
            substance.range(),
            substance.helmholtz().dome_top.temperature,
        );
        let range = Range {
            temperature_min: range.temperature_min.max(substance.triple_temperature()),
            temperature_max: range.temperature_max.min(REACH[0] * critical),
            pressure_max: range
                .pressure_max
                .min(REACH[1] * substance.critical_pressure()),
        };
        Self::within(range, critical / COLUMNS_TO_CRITICAL)
    }

    /// The rectangles of a range, so many kelvins wide, all of them empty.
    pub(super) fn within(range: Range, column_width: f64) -> Option<Self> {
        let temperature_min = range.temperature_min;
        let columns = whole(
            (range.temperature_max - temperature_min) / column_width,
            COLUMNS_MAX,
        )?;
        let rows = row(range.pressure_max).checked_sub(row(PRESSURE_MIN) + 1)?;
        let finest_rows = u32::try_from(rows + 1).ok()? << HALVINGS;
        let rows = usize::try_from(rows).ok()?;
        Some(Self {
            temperature_min,
            column_width,
            columns,
            rows,
            finest_per_kelvin: f64::from(SIDE) / column_width,
            finest_columns: f64::from(SIDE) * columns as f64,
            finest_rows,
            basis: Basis::new(),
            roots: (0..(columns + 1) * (rows + 1))
                .map(|_| OnceLock::new())
                .collect(),
        })
    }

    /// The polynomial that answers at a place, nearly always of a part of a first rectangle.
    #[inline(always)]
    fn answering<S: Surface>(&self, fluid: S, place: Place) -> Option<&Cell> {
        let split = self.root(fluid, place.root as usize)?;
        match split.part(self, fluid, place.inner)? {
            Node::Cell(cell) => Some(cell),
            _ => self.answering_deeper(fluid, place),
        }
    }

    /// As [`Cells::answering`] where parts are divided, which is rare: kept out of the loop over a list.
    #[inline(never)]
    fn answering_deeper<S: Surface>(&self, fluid: S, place: Place) -> Option<&Cell> {
        match self.find(fluid, place) {
            Node::Cell(cell) => Some(cell),
            _ => None,
        }
    }

    /// What the rectangle of a place holds, which is no division.
    fn find<S: Surface>(&self, fluid: S, place: Place) -> &Node {
        match self.root(fluid, place.root as usize) {
            Some(split) => split.find(self, fluid, place.inner),
            None => &Node::Open,
        }
    }

    /// The polynomial that answers at a temperature in K and a pressure in Pa if it has been filled: at most [`HALVINGS`] steps, and
    /// nothing is made.
    fn filled(&self, temperature: f64, pressure: f64) -> Option<&Cell> {
        let place = self.place(temperature, pressure);
        let mut split = self.roots.get(place.root as usize)?.get()?;
        for _ in 0..=HALVINGS {
            match split.parts.get(split.index(place.inner))?.get()? {
                Node::Cell(cell) => return Some(cell),
                Node::Split(parts) => split = parts,
                Node::Near(_) | Node::Open => return None,
            }
        }
        None
    }

    /// Fills all rectangles that touch a rectangle.
    fn fill<S: Surface>(&self, fluid: S, area: &Area) {
        for column in 1..=self.columns {
            for row in 1..=self.rows {
                if self.area_of(column, row).touches(area)
                    && let Some(split) = self.root(fluid, column * (self.rows + 1) + row)
                {
                    split.fill(self, fluid, area);
                }
            }
        }
    }

    #[inline(always)]
    fn root<S: Surface>(&self, fluid: S, index: usize) -> Option<&Split> {
        match self.roots.get(index)?.get() {
            Some(split) => Some(split),
            None => self.make(fluid, index),
        }
    }

    #[cold]
    #[inline(never)]
    fn make<S: Surface>(&self, fluid: S, index: usize) -> Option<&Split> {
        let root = self.roots.get(index)?;
        Some(root.get_or_init(|| self.first(fluid, index)))
    }

    /// Where a temperature in K and a pressure in Pa lie.
    ///
    /// The bits of positive numbers stand in the order of the numbers, those of negative ones and of what is no number outside of
    /// them; a comparison of numbers would raise the flag of an invalid operation for the latter.
    #[inline(always)]
    #[allow(clippy::cast_possible_truncation, reason = "the last bits are wanted")]
    fn place(&self, temperature: f64, pressure: f64) -> Place {
        let x = (temperature - self.temperature_min) * self.finest_per_kelvin;
        let is_inside = x.to_bits() < self.finest_columns.to_bits();
        let column = if is_inside { floor(x) + SIDE } else { 0 };
        let row = finest_row(pressure).wrapping_sub(FINEST_ROW_MIN);
        let row = if row < self.finest_rows { row } else { 0 };
        Place {
            root: (column >> HALVINGS) * (self.rows as u32 + 1) + (row >> HALVINGS),
            inner: ((row % SIDE) << HALVINGS) | (column % SIDE),
        }
    }

    fn area_of(&self, column: usize, row: usize) -> Area {
        let at = |column: usize| self.temperature_min + (column as f64 - 1.0) * self.column_width;
        Area {
            temperature: [at(column), at(column + 1)],
            pressure: row_pressures(row),
        }
    }

    fn first<S: Surface>(&self, fluid: S, index: usize) -> Split {
        let (column, row) = (index / (self.rows + 1), index % (self.rows + 1));
        let area = self.area_of(column, row);
        if column == 0 || row == 0 {
            return Split::of_one(area, Node::Open);
        }
        match self.grow(fluid, area, HALVINGS) {
            Node::Split(split) => *split,
            whole => Split::of_one(area, whole),
        }
    }

    /// What a rectangle holds that may be halved so many times.
    fn grow<S: Surface>(&self, fluid: S, area: Area, halvings: u32) -> Node {
        let mut needed = 2;
        let mut near = Node::Open;
        if fluid.is_one_phase(&area) {
            match Cell::fit(fluid, &area, &self.basis) {
                Some((cell, error)) if error <= TOLERANCE => return Node::Cell(Box::new(cell)),
                Some((cell, error)) => {
                    needed = halvings_for(error);
                    if error <= NEAR {
                        near = Node::Near(Box::new(cell));
                    }
                }
                None => {}
            }
        }
        match needed.min(halvings) {
            0 => near,
            needed => Node::Split(Box::new(Split::new(area, needed, halvings - needed))),
        }
    }
}

/// Halvings after which an error is expected to be below the tolerance: it falls with the eighth power of the width.
fn halvings_for(error: f64) -> u32 {
    match error / TOLERANCE {
        ratio if ratio < 200.0 => 1,
        ratio if ratio < 4e4 => 2,
        _ => 3,
    }
}

/// Which of so many intervals of one a number lies in; nothing outside of them.
fn whole(x: f64, count: usize) -> Option<usize> {
    (x >= 0.0 && x < count as f64).then(|| floor(x) as usize)
}

/// The whole part of a small positive number; of a whole number that itself or the one below.
#[allow(clippy::cast_possible_truncation, reason = "the last bits are wanted")]
#[inline(always)]
fn floor(x: f64) -> u32 {
    // Adding 1.5 2^52 rounds to a whole number, which then stands in the last bits.
    const ROUND: f64 = 6_755_399_441_055_744.0;
    (x - 0.5 + ROUND).to_bits() as u32
}

/// Number of the row of a positive pressure: the bits of its exponent and the first ones of its mantissa.
const fn row(pressure: f64) -> u64 {
    pressure.to_bits() >> (52 - ROW_BITS)
}

/// First row of smallest rectangles.
#[allow(
    clippy::cast_possible_truncation,
    reason = "twelve bits and those of a row"
)]
const FINEST_ROW_MIN: u32 = (row(PRESSURE_MIN) << HALVINGS) as u32;

/// Number of the row of smallest rectangles of a positive pressure.
#[allow(clippy::cast_possible_truncation, reason = "the last bits are wanted")]
#[inline(always)]
fn finest_row(pressure: f64) -> u32 {
    (pressure.to_bits() >> (52 - ROW_BITS - HALVINGS)) as u32
}

/// The pressures between which a row of first rectangles lies.
fn row_pressures(number: usize) -> [f64; 2] {
    [number, number + 1]
        .map(|number| f64::from_bits((row(PRESSURE_MIN) + number as u64) << (52 - ROW_BITS)))
}

impl Split {
    fn new(area: Area, made: u32, left: u32) -> Self {
        Self {
            area,
            left,
            made,
            parts: (0..1_usize << (2 * made))
                .map(|_| OnceLock::new())
                .collect(),
        }
    }

    /// A rectangle that is not divided.
    fn of_one(area: Area, whole: Node) -> Self {
        let mut split = Self::new(area, 0, HALVINGS);
        split.parts = Box::new([OnceLock::from(whole)]);
        split
    }

    /// The part that a smallest rectangle lies in.
    #[inline(always)]
    fn part<S: Surface>(&self, cells: &Cells, fluid: S, inner: u32) -> Option<&Node> {
        let index = self.index(inner);
        match self.parts.get(index)?.get() {
            Some(node) => Some(node),
            None => self.make(cells, fluid, index),
        }
    }

    #[cold]
    #[inline(never)]
    fn make<S: Surface>(&self, cells: &Cells, fluid: S, index: usize) -> Option<&Node> {
        let part = self.parts.get(index)?;
        Some(part.get_or_init(|| self.grow(cells, fluid, index)))
    }

    /// What holds a smallest rectangle, which is no division.
    fn find<S: Surface>(&self, cells: &Cells, fluid: S, inner: u32) -> &Node {
        let mut split = self;
        loop {
            match split.part(cells, fluid, inner) {
                Some(Node::Split(parts)) => split = parts,
                Some(whole) => return whole,
                None => return &Node::Open,
            }
        }
    }

    #[inline(always)]
    fn index(&self, inner: u32) -> usize {
        let (last, above) = (!(u32::MAX << self.made), inner >> self.left);
        let (i, j) = (above & last, (above >> HALVINGS) & last);
        ((j << self.made) | i) as usize
    }

    /// Fills the parts that touch a rectangle.
    fn fill<S: Surface>(&self, cells: &Cells, fluid: S, area: &Area) {
        for (index, part) in self.parts.iter().enumerate() {
            if !self.area_of(index).touches(area) {
                continue;
            }
            if let Node::Split(parts) = part.get_or_init(|| self.grow(cells, fluid, index)) {
                parts.fill(cells, fluid, area);
            }
        }
    }

    fn grow<S: Surface>(&self, cells: &Cells, fluid: S, index: usize) -> Node {
        cells.grow(fluid, self.area_of(index), self.left)
    }

    fn area_of(&self, index: usize) -> Area {
        let side = 1_usize << self.made;
        let ends = |[low, high]: [f64; 2], index: usize| {
            let at = |index: usize| low + (high - low) * (index as f64 / side as f64);
            [at(index), at(index + 1)]
        };
        Area {
            temperature: ends(self.area.temperature, index % side),
            pressure: ends(self.area.pressure, index / side),
        }
    }
}

impl Places {
    const NONE: Self = Self {
        roots: [0; AHEAD],
        inner: [0; AHEAD],
    };

    /// Sets the places of a batch, in a loop without branches that the compiler does several at a time.
    #[inline(always)]
    fn set(&mut self, cells: &Cells, temperatures: &[f64], pressures: &[f64]) {
        let points = temperatures.iter().zip(pressures);
        let places = self.roots.iter_mut().zip(&mut self.inner);
        for ((root, inner), (t, p)) in places.zip(points) {
            Place {
                root: *root,
                inner: *inner,
            } = cells.place(*t, *p);
        }
    }

    #[inline(always)]
    fn iter(&self) -> impl Iterator<Item = Place> + '_ {
        let places = self.roots.iter().zip(&self.inner);
        places.map(|(root, inner)| Place {
            root: *root,
            inner: *inner,
        })
    }
}

/// Points whose cells are looked up before the first of them is asked, so that the processor waits for many at a time.
const AHEAD: usize = 32;

/// Densities in kg/m3 of a list of temperatures in K and pressures in Pa; not a number where the solver must be asked.
pub(super) fn densities<S: Surface>(
    fluid: S,
    temperatures: &[f64],
    pressures: &[f64],
    out: &mut [f64],
) {
    match fluid.cells() {
        Some(cells) => run(Densities {
            cells,
            fluid,
            temperatures,
            pressures,
            out,
        }),
        None => out.fill(f64::NAN),
    }
}

/// The density in kg/m3 of a polynomial that is there already, see [`Cells::filled`].
pub(super) fn filled_density(fluid: Pure<'_>, temperature: f64, pressure: f64) -> Option<f64> {
    let cell = fluid.filled_cells()?.filled(temperature, pressure)?;
    let mut density = f64::NAN;
    run(One {
        cell,
        temperature,
        pressure,
        out: &mut density,
    });
    Some(density)
}

/// Fills what answers between two temperatures in K and two pressures in Pa.
pub(super) fn fill(fluid: Pure<'_>, temperature: [f64; 2], pressure: [f64; 2]) {
    if let Some(cells) = fluid.cells() {
        let area = Area {
            temperature,
            pressure,
        };
        cells.fill(fluid, &area);
    }
}

struct One<'a> {
    cell: &'a Cell,
    temperature: f64,
    pressure: f64,
    out: &'a mut f64,
}

impl Task for One<'_> {
    type Output = ();

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) {
        *self.out = self.cell.density(kind, self.temperature, self.pressure);
    }
}

struct Densities<'a, S> {
    cells: &'a Cells,
    fluid: S,
    temperatures: &'a [f64],
    pressures: &'a [f64],
    out: &'a mut [f64],
}

impl<S: Surface> Task for Densities<'_, S> {
    type Output = ();

    #[inline(always)]
    fn with<K: Kind>(self, kind: K) {
        let mut places = Places::NONE;
        let mut found = [None; AHEAD];
        let temperatures = self.temperatures.chunks(AHEAD);
        let points = temperatures.zip(self.pressures.chunks(AHEAD));
        for ((temperatures, pressures), out) in points.zip(self.out.chunks_mut(AHEAD)) {
            places.set(self.cells, temperatures, pressures);
            for (found, place) in found.iter_mut().zip(places.iter()).take(temperatures.len()) {
                *found = self.cells.answering(self.fluid, place);
            }
            let points = temperatures.iter().zip(pressures);
            for ((out, found), (t, p)) in out.iter_mut().zip(&found).zip(points) {
                *out = match found {
                    Some(cell) => cell.density(kind, *t, *p),
                    None => near(self.cells, self.fluid, *t, *p),
                };
            }
        }
    }
}

/// The density in kg/m3 by Newton's method from a polynomial that is near, where there is one.
#[cold]
#[inline(never)]
fn near<S: Surface>(cells: &Cells, fluid: S, temperature: f64, pressure: f64) -> f64 {
    match cells.find(fluid, cells.place(temperature, pressure)) {
        Node::Near(cell) => cell.polished(fluid, temperature, pressure),
        _ => None,
    }
    .unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests;
