//! The making of a table: rectangles are divided, level after level, until a polynomial of each property fits everywhere.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use super::{Basis, CHECKS, COLUMNS, Column, DEPTH, LEAVES, Node, PropertyTable, TOLERANCES};
use crate::error::{Error, Result, finite, positive};
use crate::num::chebyshev::NODES;
use crate::num::lanes::{Coefficients, Kind, Plain};
use crate::num::share;
use crate::property::PROPERTIES;
use crate::quantity::Quantity;
use crate::state::{Fluid, Phase, State};

/// Share of the tolerance that a polynomial may be off at the places of comparison; between them it may be more.
const SHARE: f64 = 0.5;

/// A rectangle in shares of the region: its lower corner and its width.
#[derive(Debug, Clone, Copy)]
struct Area {
    corner: [f64; 2],
    width: f64,
}

impl Area {
    const WHOLE: Area = Area {
        corner: [0.0, 0.0],
        width: 1.0,
    };

    fn parts(self) -> [Area; 4] {
        let width = 0.5 * self.width;
        [(0.0, 0.0), (width, 0.0), (0.0, width), (width, width)].map(|(right, up)| Area {
            corner: [self.corner[0] + right, self.corner[1] + up],
            width,
        })
    }
}

/// What a table is made of.
struct Plan<'a> {
    fluid: &'a Fluid,
    quantities: &'a [Quantity],
    temperature: [f64; 2],
    pressure: [f64; 2],
    tolerance: f64,
    basis: Basis,
    /// For each property the smallest size that an error is taken relative to.
    scales: Vec<f64>,
}

/// The polynomials of a rectangle, one of each property.
struct Fit {
    polynomials: Vec<Coefficients>,
    errors: Vec<f64>,
    /// The phases at the corners.
    phases: [Phase; 4],
}

impl Fit {
    /// The property that is farthest off, by its index, and its error.
    fn worst(&self) -> (usize, f64) {
        let errors = self.errors.iter().copied().enumerate();
        errors.fold((0, 0.0), |worst, new| {
            if new.1 > worst.1 || new.1.is_nan() {
                new
            } else {
                worst
            }
        })
    }
}

pub(super) fn table(
    fluid: &Fluid,
    quantities: &[Quantity],
    temperature: [f64; 2],
    pressure: [f64; 2],
    tolerance: f64,
) -> Result<PropertyTable> {
    check_limits(Quantity::Temperature, temperature)?;
    check_limits(Quantity::Pressure, pressure)?;
    check_columns(quantities)?;
    check_tolerance(tolerance)?;
    let mut plan = Plan {
        fluid,
        quantities,
        temperature,
        pressure,
        tolerance,
        basis: Basis::new(),
        scales: Vec::new(),
    };
    plan.scales = plan.scales()?;
    plan.grow()
}

fn check_limits(quantity: Quantity, [min, max]: [f64; 2]) -> Result<()> {
    positive(quantity, min)?;
    if finite(quantity, max)? <= min {
        return Err(Error::Domain {
            quantity,
            value: max,
            rule: "above the lower limit of the table",
        });
    }
    Ok(())
}

fn check_columns(quantities: &[Quantity]) -> Result<()> {
    let refused = |expected, got| Error::Argument {
        argument: "quantities".to_owned(),
        expected,
        got,
    };
    if quantities.is_empty() || quantities.len() > COLUMNS {
        return Err(refused("1 to 32 properties", quantities.len().to_string()));
    }
    for (index, quantity) in quantities.iter().enumerate() {
        if !PROPERTIES.contains(quantity) {
            return Err(refused("properties of a state", quantity.to_string()));
        }
        if quantities.iter().take(index).any(|other| other == quantity) {
            return Err(refused(
                "properties that differ",
                format!("{quantity} twice"),
            ));
        }
    }
    Ok(())
}

fn check_tolerance(tolerance: f64) -> Result<()> {
    if (TOLERANCES[0]..=TOLERANCES[1]).contains(&tolerance) {
        return Ok(());
    }
    Err(Error::Argument {
        argument: "tolerance".to_owned(),
        expected: "a relative error from 1e-10 to 0.1",
        got: tolerance.to_string(),
    })
}

/// Whether a property can be zero, so that no error relative to it can be kept everywhere.
fn may_vanish(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::SpecificEnthalpy
            | Quantity::SpecificEntropy
            | Quantity::SpecificInternalEnergy
            | Quantity::SpecificGibbsEnergy
            | Quantity::SpecificHelmholtzEnergy
            | Quantity::JouleThomsonCoefficient
            | Quantity::IsobaricExpansivity
    )
}

/// An index as it is stored; the number of rectangles is far below what it can count.
fn index(index: usize) -> Result<u32> {
    u32::try_from(index).map_err(|_| super::BROKEN)
}

impl Plan<'_> {
    fn grow(&self) -> Result<PropertyTable> {
        let mut nodes = Vec::new();
        let mut polynomials = Vec::new();
        let mut errors = vec![0.0_f64; self.quantities.len()];
        let mut level = vec![Area::WHOLE];
        for depth in 0..=DEPTH {
            let fits = share::map(level.clone(), |area| self.fit(area));
            let first = nodes.len() + level.len();
            let mut next = Vec::new();
            let mut left = None;
            for (area, fit) in level.iter().zip(fits) {
                let fit = fit?;
                let (column, error) = fit.worst();
                let has_border = self.has_border(fit.phases);
                if error <= SHARE * self.tolerance {
                    nodes.push(Node::Leaf(index(
                        polynomials.len() / self.quantities.len(),
                    )?));
                    polynomials.extend(fit.polynomials);
                    for (largest, error) in errors.iter_mut().zip(fit.errors) {
                        *largest = largest.max(error);
                    }
                    continue;
                }
                nodes.push(Node::Parts(index(first + next.len())?));
                next.extend(area.parts());
                left.get_or_insert((*area, column, error));
                if has_border {
                    return Err(self.refusal(*area, column, error));
                }
            }
            let Some((area, column, error)) = left else {
                return Ok(self.finished(nodes, polynomials, &errors));
            };
            let leaves = polynomials.len() / self.quantities.len() + next.len();
            if depth == DEPTH || leaves > LEAVES {
                return Err(self.refusal(area, column, error));
            }
            level = next;
        }
        Err(super::BROKEN)
    }

    fn finished(
        &self,
        nodes: Vec<Node>,
        polynomials: Vec<Coefficients>,
        errors: &[f64],
    ) -> PropertyTable {
        let columns = self.quantities.iter().zip(errors);
        let columns = columns.map(|(quantity, error)| Column {
            quantity: *quantity,
            largest_error: error / SHARE,
        });
        PropertyTable {
            fluid: self.fluid.name().to_owned(),
            model: self.fluid.corrected_model(),
            temperature: self.temperature,
            pressure: self.pressure,
            columns: columns.collect(),
            nodes: nodes.into(),
            polynomials: polynomials.into(),
        }
    }

    fn refusal(&self, area: Area, column: usize, error: f64) -> Error {
        let (temperature, pressure) = self.point(area, [0.0, 0.0]);
        let property = self.quantities.get(column).copied();
        Error::NoTable {
            property: property.unwrap_or(Quantity::Density),
            temperature,
            pressure,
            error: error / SHARE,
            tolerance: self.tolerance,
        }
    }

    /// Temperature in K and pressure in Pa at a place of a rectangle, from -1 to 1 in both.
    fn point(&self, area: Area, place: [f64; 2]) -> (f64, f64) {
        let at = |[min, max]: [f64; 2], corner: f64, place: f64| {
            min + (max - min) * (corner + area.width * 0.5 * (1.0 + place))
        };
        (
            at(self.temperature, area.corner[0], place[0]),
            at(self.pressure, area.corner[1], place[1]),
        )
    }

    /// The properties at the crossings of places in a rectangle: for each temperature all pressures, for each state all properties.
    fn values(&self, area: Area, places: &[f64]) -> Result<Vec<f64>> {
        let points = places
            .iter()
            .flat_map(|u| places.iter().map(move |v| [*u, *v]));
        let points = points.map(|place| self.point(area, place));
        let (temperatures, pressures): (Vec<f64>, Vec<f64>) = points.unzip();
        let mut values = vec![f64::NAN; temperatures.len() * self.quantities.len()];
        self.fluid
            .properties_into(self.quantities, &temperatures, &pressures, &mut values)
            .map_err(|failed| failed.error)?;
        Ok(values)
    }

    /// For each property the smallest size that an error is taken relative to: none, or the span over the region of one that can be
    /// zero.
    fn scales(&self) -> Result<Vec<f64>> {
        let values = self.values(Area::WHOLE, &CHECKS)?;
        let scales = self.quantities.iter().enumerate().map(|(index, quantity)| {
            if !may_vanish(*quantity) {
                return 0.0;
            }
            let column = values.iter().skip(index).step_by(self.quantities.len());
            let ends = column.fold([f64::INFINITY, f64::NEG_INFINITY], |[min, max], value| {
                [min.min(*value), max.max(*value)]
            });
            ends[1] - ends[0]
        });
        Ok(scales.collect())
    }

    /// The polynomials of a rectangle with the errors that they are found to have. Error 301 where a corner has several phases.
    fn fit(&self, area: Area) -> Result<Fit> {
        let nodes = self.values(area, &self.basis.nodes)?;
        let checks = self.values(area, &CHECKS)?;
        let width = self.quantities.len();
        let mut fit = Fit {
            polynomials: Vec::with_capacity(width),
            errors: Vec::with_capacity(width),
            phases: self.corners(area)?,
        };
        for (index, scale) in self.scales.iter().enumerate() {
            let mut values = [[0.0; NODES]; NODES];
            let column = nodes.iter().skip(index).step_by(width);
            for (place, value) in values.iter_mut().flatten().zip(column) {
                *place = *value;
            }
            let polynomial = self.basis.coefficients(&values);
            let column = checks.iter().skip(index).step_by(width);
            let places = CHECKS
                .iter()
                .flat_map(|u| CHECKS.iter().map(move |v| (*u, *v)));
            let mut greatest = 0.0_f64;
            for ((u, v), value) in places.zip(column) {
                let off = (Plain.polynomial(&polynomial, u, v) - value).abs();
                let error = off / value.abs().max(*scale);
                // What is not a number must not pass for small.
                greatest = if error <= greatest { greatest } else { error };
            }
            fit.polynomials.push(polynomial);
            fit.errors.push(greatest);
        }
        Ok(fit)
    }

    /// The phases at the corners of a rectangle; error 301 where there are several, 303 where it is solid.
    fn corners(&self, area: Area) -> Result<[Phase; 4]> {
        let mut phases = [Phase::Supercritical; 4];
        let places = [[-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0], [1.0, 1.0]];
        for (phase, place) in phases.iter_mut().zip(places) {
            let (temperature, pressure) = self.point(area, place);
            let state = State::from_tp(self.fluid, temperature, pressure)?;
            if !state.is_one_phase() {
                return Err(state.not_one_fluid(Quantity::Density));
            }
            *phase = state.phase();
        }
        Ok(phases)
    }

    /// Whether the vapour pressure of one substance lies between corners, so that no division of the rectangle helps.
    fn has_border(&self, phases: [Phase; 4]) -> bool {
        !self.fluid.is_mixture()
            && phases.contains(&Phase::Liquid)
            && phases.contains(&Phase::Vapour)
    }
}
