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
const HALVINGS: u32 = 7;
/// First rectangles to the critical temperature.
const COLUMNS_TO_CRITICAL: f64 = 40.0;
const COLUMNS_MAX: usize = 1000;
/// Bits of the mantissa of a pressure that number the first rectangles of an octave.
const ROW_BITS: u32 = 2;
/// Highest temperature and pressure over the critical ones.
const REACH: [f64; 2] = [1.6, 16.0];

/// The rectangles of a fluid.
#[derive(Debug)]
pub(crate) struct Cells {
    temperature_min: f64,
    column_width: f64,
    columns_per_kelvin: f64,
    columns: usize,
    row_min: u64,
    rows: usize,
    basis: Basis,
    /// Column after column, each divided at once as far as its error asks for.
    roots: Box<[OnceLock<Split>]>,
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

/// What is known of the density at a temperature and a pressure.
#[derive(Debug, Clone, Copy)]
enum Found<'a> {
    /// A polynomial that answers.
    Cell(&'a Cell),
    /// A polynomial from which Newton's method starts.
    Near(&'a Cell),
    /// Nothing.
    Open,
}

/// A rectangle divided into smaller ones.
#[derive(Debug)]
struct Split {
    area: Area,
    /// Halvings of the first rectangle down to the parts.
    halvings: u32,
    /// Parts in each direction.
    side: usize,
    /// A place in the last of them.
    last: f64,
    /// Parts per kelvin and per pascal.
    density: [f64; 2],
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
        let (row_min, row_max) = (row(PRESSURE_MIN) + 1, row(range.pressure_max));
        let rows = usize::try_from(row_max.checked_sub(row_min)?).ok()?;
        Some(Self {
            temperature_min,
            column_width,
            columns_per_kelvin: 1.0 / column_width,
            columns,
            row_min,
            rows,
            basis: Basis::new(),
            roots: (0..columns * rows).map(|_| OnceLock::new()).collect(),
        })
    }

    /// What is known at a temperature in K and a pressure in Pa.
    #[inline(always)]
    fn find<S: Surface>(&self, fluid: S, temperature: f64, pressure: f64) -> Found<'_> {
        let Some(mut split) = self.root(fluid, temperature, pressure) else {
            return Found::Open;
        };
        loop {
            match split.part(self, fluid, temperature, pressure) {
                Some(Node::Cell(cell)) => return Found::Cell(cell),
                Some(Node::Near(cell)) => return Found::Near(cell),
                Some(Node::Open) | None => return Found::Open,
                Some(Node::Split(parts)) => split = parts,
            }
        }
    }

    /// The polynomial that answers at a temperature in K and a pressure in Pa if it has been filled: at most [`HALVINGS`] steps, and
    /// nothing is made.
    fn filled(&self, temperature: f64, pressure: f64) -> Option<&Cell> {
        let (root, ..) = self.place(temperature, pressure)?;
        let mut split = root.get()?;
        for _ in 0..=HALVINGS {
            match split.place(temperature, pressure)?.0.get()? {
                Node::Cell(cell) => return Some(cell),
                Node::Split(parts) => split = parts,
                Node::Near(_) | Node::Open => return None,
            }
        }
        None
    }

    /// Fills all rectangles that touch a rectangle.
    fn fill<S: Surface>(&self, fluid: S, area: &Area) {
        let first = |x: f64| (x - self.temperature_min) * self.columns_per_kelvin;
        for column in 0..self.columns {
            let left = column as f64;
            if first(area.temperature[1]) < left || first(area.temperature[0]) > left + 1.0 {
                continue;
            }
            for row in 0..self.rows {
                let [low, high] = self.row_pressures(row);
                if area.pressure[1] < low || area.pressure[0] > high {
                    continue;
                }
                if let Some(root) = self.roots.get(column * self.rows + row) {
                    let split = root.get_or_init(|| self.first(fluid, column, row));
                    split.fill(self, fluid, area);
                }
            }
        }
    }

    #[inline(always)]
    fn root<S: Surface>(&self, fluid: S, temperature: f64, pressure: f64) -> Option<&Split> {
        let (root, column, row) = self.place(temperature, pressure)?;
        Some(match root.get() {
            Some(split) => split,
            None => root.get_or_init(|| self.first(fluid, column, row)),
        })
    }

    /// The first rectangle with its column and row.
    #[inline(always)]
    fn place(&self, temperature: f64, pressure: f64) -> Option<(&OnceLock<Split>, usize, usize)> {
        let place = (temperature - self.temperature_min) * self.columns_per_kelvin;
        let column = whole(place, self.columns)?;
        let row = usize::try_from(row(pressure).checked_sub(self.row_min)?).ok()?;
        if row >= self.rows {
            return None;
        }
        let root = self.roots.get(column * self.rows + row)?;
        Some((root, column, row))
    }

    fn row_pressures(&self, row: usize) -> [f64; 2] {
        [row, row + 1].map(|row| f64::from_bits((self.row_min + row as u64) << (52 - ROW_BITS)))
    }

    #[cold]
    #[inline(never)]
    fn first<S: Surface>(&self, fluid: S, column: usize, row: usize) -> Split {
        let at = |column: usize| self.temperature_min + column as f64 * self.column_width;
        let area = Area {
            temperature: [at(column), at(column + 1)],
            pressure: self.row_pressures(row),
        };
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

/// Which of so many intervals of one a number lies in; nothing outside of them. A number between two counts to either.
#[allow(clippy::cast_possible_truncation, reason = "the last bits are wanted")]
#[inline(always)]
fn whole(x: f64, count: usize) -> Option<usize> {
    // Adding 1.5 2^52 rounds to a whole number, which then stands in the last bits.
    const ROUND: f64 = 6_755_399_441_055_744.0;
    (x >= 0.0 && x < count as f64).then(|| (x - 0.5 + ROUND).to_bits() as u32 as usize)
}

/// Number of the row of a positive pressure: the bits of its exponent and the first ones of its mantissa.
#[inline(always)]
fn row(pressure: f64) -> u64 {
    pressure.to_bits() >> (52 - ROW_BITS)
}

impl Split {
    fn new(area: Area, needed: u32, halvings: u32) -> Self {
        let side = 1_usize << needed;
        let density = |[low, high]: [f64; 2]| side as f64 / (high - low);
        Self {
            area,
            halvings,
            side,
            last: side as f64 - 0.25,
            density: [density(area.temperature), density(area.pressure)],
            parts: (0..side * side).map(|_| OnceLock::new()).collect(),
        }
    }

    /// A rectangle that is not divided.
    fn of_one(area: Area, whole: Node) -> Self {
        let mut split = Self::new(area, 0, 0);
        split.parts = Box::new([OnceLock::from(whole)]);
        split
    }

    #[inline(always)]
    fn part<S: Surface>(
        &self,
        cells: &Cells,
        fluid: S,
        temperature: f64,
        pressure: f64,
    ) -> Option<&Node> {
        let (part, i, j) = self.place(temperature, pressure)?;
        Some(match part.get() {
            Some(node) => node,
            None => part.get_or_init(|| self.grow(cells, fluid, i, j)),
        })
    }

    /// A part with its place along the temperature and the pressure.
    #[inline(always)]
    fn place(&self, temperature: f64, pressure: f64) -> Option<(&OnceLock<Node>, usize, usize)> {
        // Rounding may put a number at an end just outside.
        let place = |x: f64, low: f64, density: f64| {
            let last = self.last;
            whole(((x - low) * density).max(0.0).min(last), self.side)
        };
        let i = place(temperature, self.area.temperature[0], self.density[0])?;
        let j = place(pressure, self.area.pressure[0], self.density[1])?;
        Some((self.parts.get(j * self.side + i)?, i, j))
    }

    /// Fills the parts that touch a rectangle.
    fn fill<S: Surface>(&self, cells: &Cells, fluid: S, area: &Area) {
        for (index, part) in self.parts.iter().enumerate() {
            let (i, j) = (index % self.side, index / self.side);
            if !self.area_of(i, j).touches(area) {
                continue;
            }
            if let Node::Split(parts) = part.get_or_init(|| self.grow(cells, fluid, i, j)) {
                parts.fill(cells, fluid, area);
            }
        }
    }

    #[cold]
    #[inline(never)]
    fn grow<S: Surface>(&self, cells: &Cells, fluid: S, i: usize, j: usize) -> Node {
        cells.grow(fluid, self.area_of(i, j), self.halvings)
    }

    fn area_of(&self, i: usize, j: usize) -> Area {
        let ends = |[low, high]: [f64; 2], index: usize| {
            let at = |index: usize| low + (high - low) * (index as f64 / self.side as f64);
            [at(index), at(index + 1)]
        };
        Area {
            temperature: ends(self.area.temperature, i),
            pressure: ends(self.area.pressure, j),
        }
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
        let temperatures = self.temperatures.chunks(AHEAD);
        let points = temperatures.zip(self.pressures.chunks(AHEAD));
        for ((temperatures, pressures), out) in points.zip(self.out.chunks_mut(AHEAD)) {
            let mut found = [Found::Open; AHEAD];
            for ((found, t), p) in found.iter_mut().zip(temperatures).zip(pressures) {
                *found = self.cells.find(self.fluid, *t, *p);
            }
            let points = temperatures.iter().zip(pressures);
            for ((out, found), (t, p)) in out.iter_mut().zip(found).zip(points) {
                *out = match found {
                    Found::Cell(cell) => cell.density(kind, *t, *p),
                    Found::Near(cell) => polished(cell, self.fluid, *t, *p),
                    Found::Open => f64::NAN,
                };
            }
        }
    }
}

#[cold]
#[inline(never)]
fn polished<S: Surface>(cell: &Cell, fluid: S, temperature: f64, pressure: f64) -> f64 {
    cell.polished(fluid, temperature, pressure)
        .unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests;
