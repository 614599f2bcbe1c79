//! One isotherm of a fluid between two densities, as polynomials of the density.
//!
//! In density every property of a fluid is smooth, near the critical point too, where the density is a steep function of
//! pressure; and an equation of state gives the pressure of a density without a solve. So the flow along an isotherm is
//! integrated in density, and the equation of state is asked a few dozen times only, whatever is solved for.

use crate::fluid::error::{Error, Result, positive, within};
use crate::fluid::num::quad::samples;
use crate::fluid::num::root::{Tolerance, bracketed, newton_bisect};
use crate::fluid::quantity::Quantity;

/// Properties at one density of an isotherm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IsothermPoint {
    /// Pressure p in Pa.
    pub pressure: f64,
    /// Derivative of the pressure with density at constant temperature in J/kg, the square of the isothermal speed of
    /// sound.
    pub dp_drho_t: f64,
    /// Dynamic viscosity eta in Pa s.
    pub dynamic_viscosity: f64,
}

/// Degree of a polynomial, and half of it, which is tried first.
const DEGREE: usize = 16;
const HALF: usize = DEGREE / 2;
/// Number of its coefficients.
const COUNT: usize = DEGREE + 1;

/// cos(pi j/16) for j = 0 to 8: the Chebyshev points, which those of half the degree are among.
const COSINES: [f64; HALF + 1] = [
    1.0,
    0.980_785_280_403_230_4,
    0.923_879_532_511_286_7,
    0.831_469_612_302_545_2,
    std::f64::consts::FRAC_1_SQRT_2,
    0.555_570_233_019_602_2,
    0.382_683_432_365_089_8,
    0.195_090_322_016_128_27,
    0.0,
];

/// cos(pi j/16) for j = 0 to 31.
const CIRCLE: [f64; 2 * DEGREE] = {
    let mut circle = [0.0; 2 * DEGREE];
    let mut j = 0;
    while j <= HALF {
        circle[j] = COSINES[j];
        circle[DEGREE - j] = -COSINES[j];
        circle[(DEGREE + j) % (2 * DEGREE)] = -COSINES[j];
        circle[(2 * DEGREE - j) % (2 * DEGREE)] = COSINES[j];
        j += 1;
    }
    circle
};

/// cos(pi j/16) for any j.
fn cosine(j: usize) -> f64 {
    CIRCLE[j % CIRCLE.len()]
}

/// Last coefficients of a polynomial, relative to the property, at which it has converged: about its error.
const TOLERANCE: f64 = 1e-8;
/// How many coefficients count as the last.
const TAIL: usize = 3;

/// Number of halvings after which a property is taken as discontinuous.
const DEEPEST: u32 = 20;

/// Widest panel of the quadrature in ln density.
const WIDEST: f64 = 1.5;

/// Pressure over density, wave speed squared and viscosity.
type Values = [f64; 3];

/// The properties between two densities as Chebyshev series of the density.
#[derive(Debug, Clone, PartialEq)]
struct Piece {
    /// Densities in kg/m3.
    from: f64,
    to: f64,
    /// Number of coefficients that count.
    count: usize,
    coefficients: [Values; COUNT],
}

impl Piece {
    /// The series through the properties at every point, or at every other one, from the densest on; with its last
    /// coefficients relative to the properties.
    fn through(from: f64, to: f64, values: &[Values; COUNT], stride: usize) -> (Self, f64) {
        let degree = DEGREE / stride;
        let mut coefficients = [[0.0; 3]; COUNT];
        for (k, sum) in coefficients.iter_mut().take(degree + 1).enumerate() {
            // C. W. Clenshaw and A. R. Curtis, Numer. Math. 2, 197 (1960), doi 10.1007/BF01386223: the sum over the points with
            // both ends halved, and the first and the last coefficient halved again.
            for (j, values) in values.iter().step_by(stride).enumerate() {
                let halved = if j == 0 || j == degree { 0.5 } else { 1.0 };
                let weight = halved * cosine(j * k * stride) * 2.0 / degree as f64;
                for (sum, value) in sum.iter_mut().zip(values) {
                    *sum += weight * value;
                }
            }
            if k == 0 || k == degree {
                *sum = sum.map(|value| 0.5 * value);
            }
        }
        let mut tail = 0.0_f64;
        for property in 0..3 {
            let smallest = values.iter().step_by(stride).map(|values| values[property]);
            let smallest = smallest.fold(f64::INFINITY, f64::min);
            let last = coefficients.iter().take(degree + 1).rev().take(TAIL);
            let last = last.map(|c| c[property].abs()).fold(0.0, f64::max);
            tail = tail.max(last / smallest);
        }
        let piece = Self {
            from,
            to,
            count: degree + 1,
            coefficients,
        };
        (piece, tail)
    }

    /// The properties at a density, by the recurrence of C. W. Clenshaw, Math. Tables Aids Comput. 9, 118 (1955).
    fn values(&self, density: f64) -> Values {
        let t = ((density - self.from) - (self.to - density)) / (self.to - self.from);
        let (mut one, mut two) = ([0.0; 3], [0.0; 3]);
        for coefficients in self.coefficients[1..self.count].iter().rev() {
            let next: [f64; 3] =
                std::array::from_fn(|i| 2.0 * t * one[i] - two[i] + coefficients[i]);
            (two, one) = (one, next);
        }
        std::array::from_fn(|i| t * one[i] - two[i] + self.coefficients[0][i])
    }

    fn point(&self, density: f64) -> IsothermPoint {
        point_of(density, self.values(density))
    }
}

/// A stretch of an isotherm with the points of the quadrature in it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Panel {
    /// Its piece.
    piece: usize,
    /// ln density at both ends.
    from: f64,
    to: f64,
    /// Properties at both ends.
    ends: [IsothermPoint; 2],
    /// Smallest and largest viscosity met in it.
    viscosities: (f64, f64),
    /// Smallest density times speed of sound met in it: the flux that chokes somewhere.
    least_sonic_flux: f64,
    samples: [Sample; 10],
}

/// One point of the quadrature.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Sample {
    /// Weight in an integral over ln density.
    weight: f64,
    density: f64,
    point: IsothermPoint,
}

impl Panel {
    fn new(pieces: &[Piece], piece: usize, from: f64, to: f64) -> Option<Self> {
        let polynomials = pieces.get(piece)?;
        let at = |x: f64| polynomials.point(x.exp());
        let ends = [at(from), at(to)];
        let samples = samples(from, to).map(|(x, weight)| {
            let density = x.exp();
            let point = polynomials.point(density);
            Sample {
                weight,
                density,
                point,
            }
        });
        let mut panel = Self {
            piece,
            from,
            to,
            ends,
            viscosities: (f64::INFINITY, 0.0),
            least_sonic_flux: f64::INFINITY,
            samples,
        };
        for (density, point) in panel.points() {
            let (low, high) = panel.viscosities;
            let viscosity = point.dynamic_viscosity;
            panel.viscosities = (low.min(viscosity), high.max(viscosity));
            panel.least_sonic_flux = panel.least_sonic_flux.min(sonic_flux(density, point));
        }
        Some(panel)
    }

    /// Densities and properties at the ends and the points of the quadrature, in no order.
    fn points(&self) -> [(f64, IsothermPoint); 12] {
        let [from, to] = self.ends;
        let mut points = [(self.from.exp(), from); 12];
        points[1] = (self.to.exp(), to);
        for (place, sample) in points.iter_mut().skip(2).zip(&self.samples) {
            *place = (sample.density, sample.point);
        }
        points
    }
}

/// Mass flux in kg/(m2 s) at the isothermal speed of sound.
fn sonic_flux(density: f64, point: IsothermPoint) -> f64 {
    density * point.dp_drho_t.sqrt()
}

/// An isotherm between the density of an outlet and that of an inlet.
#[derive(Debug, Clone, PartialEq)]
pub struct Isotherm {
    pieces: Vec<Piece>,
    panels: Vec<Panel>,
    outlet: IsothermPoint,
    inlet: IsothermPoint,
}

impl Isotherm {
    /// Isotherm from the density at the outlet to that at the inlet, both in kg/m3, of the properties as functions of
    /// density.
    ///
    /// The polynomials are refined until their error no longer shows in an integral, to 1e-8.
    ///
    /// Errors: 101 for a density not above zero or a property that is none of one stable fluid; 503 if the outlet is not
    /// the less dense; 401 if a property jumps, as it does where the phase changes; those of the closure.
    pub fn new<F>(outlet_density: f64, inlet_density: f64, mut properties: F) -> Result<Self>
    where
        F: FnMut(f64) -> Result<IsothermPoint>,
    {
        Self::sampled(outlet_density, inlet_density, None, |densities| {
            densities.iter().map(|rho| properties(*rho)).collect()
        })
    }

    /// As [`Isotherm::new`], of properties that are asked for at several densities at once.
    ///
    /// `corner` is a density in kg/m3 at which a high derivative of the properties jumps, as at the critical density of equations
    /// with terms that are not analytic there: polynomials that end at it converge fast on both sides.
    pub fn sampled<F>(
        outlet_density: f64,
        inlet_density: f64,
        corner: Option<f64>,
        mut properties: F,
    ) -> Result<Self>
    where
        F: FnMut(&[f64]) -> Result<Vec<IsothermPoint>>,
    {
        positive(Quantity::Density, outlet_density)?;
        positive(Quantity::Density, inlet_density)?;
        let (from, to) = (outlet_density, inlet_density);
        let inner = |corner: &f64| *corner > from * BESIDE_CORNER && *corner * BESIDE_CORNER < to;
        let corner = corner.filter(inner).filter(|_| from < to);
        let mut sampler = Sampler {
            properties: &mut properties,
            pieces: Vec::new(),
        };
        if from >= to {
            let [outlet, inlet] = [sampler.one(from)?, sampler.one(to)?];
            return Err(Error::FlowReversed {
                inlet: inlet[0] * to,
                outlet: outlet[0] * from,
            });
        }
        let cuts = [from, corner.unwrap_or(to), to];
        for pair in cuts.windows(2).filter(|pair| pair[0] < pair[1]) {
            sampler.refine(pair[0], pair[1], 0)?;
        }
        let pieces = sampler.pieces;
        let panels = panels(&pieces);
        let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else {
            return Err(NO_PIECES);
        };
        Ok(Self {
            outlet: first.point(from),
            inlet: last.point(to),
            pieces,
            panels,
        })
    }

    /// Properties at the outlet.
    pub fn outlet(&self) -> IsothermPoint {
        self.outlet
    }

    /// Properties at the inlet.
    pub fn inlet(&self) -> IsothermPoint {
        self.inlet
    }

    /// Density at the outlet in kg/m3.
    pub fn outlet_density(&self) -> f64 {
        self.pieces.first().map_or(f64::NAN, |piece| piece.from)
    }

    /// Density at the inlet in kg/m3.
    pub fn inlet_density(&self) -> f64 {
        self.panels.last().map_or(f64::NAN, |panel| panel.to.exp())
    }

    /// Properties at a density in kg/m3; outside the isotherm those of its nearer end.
    pub fn at(&self, density: f64) -> IsothermPoint {
        let x = density.ln();
        let (first, last) = (self.panels.first(), self.panels.last());
        let inside = first.is_none_or(|panel| x >= panel.from);
        let panel = self.panels.get(self.place(x)).filter(|_| inside);
        match panel.and_then(|panel| self.pieces.get(panel.piece)) {
            Some(piece) => piece.point(density),
            None if last.is_some_and(|panel| x > panel.to) => self.inlet,
            None => self.outlet,
        }
    }

    /// Place of the panel of a logarithm of density.
    fn place(&self, x: f64) -> usize {
        self.panels.partition_point(|panel| panel.to < x)
    }

    /// The same isotherm with a lower inlet pressure in Pa, without asking the equation of state again.
    ///
    /// Errors: 503 for a pressure that is not above that of the outlet; 102 for one above that of the inlet.
    pub fn below(&self, inlet_pressure: f64) -> Result<Self> {
        if inlet_pressure <= self.outlet.pressure {
            return Err(Error::FlowReversed {
                inlet: inlet_pressure,
                outlet: self.outlet.pressure,
            });
        }
        let highest = self.inlet.pressure;
        within(
            Quantity::Pressure,
            inlet_pressure,
            0.0,
            highest,
            "the isotherm at hand",
        )?;
        if inlet_pressure == highest {
            return Ok(self.clone());
        }
        let lower = |panel: &Panel| panel.ends[1].pressure < inlet_pressure;
        let place = self.panels.partition_point(lower);
        let Some(panel) = self.panels.get(place) else {
            return Ok(self.clone());
        };
        let Some(piece) = self.pieces.get(panel.piece) else {
            return Err(NO_PIECES);
        };
        let (low, high) = (panel.from.exp(), panel.to.exp());
        // Linear between the ends of the panel to start with.
        let [before, behind] = panel.ends.map(|point| point.pressure);
        let start = low + (high - low) * (inlet_pressure - before) / (behind - before);
        let density = newton_bisect("isotherm", low, high, start, FINE, |density| {
            let point = piece.point(density);
            Ok((point.pressure - inlet_pressure, point.dp_drho_t))
        })?;
        let mut panels: Vec<Panel> = self.panels.iter().take(place).copied().collect();
        if density > low {
            panels.extend(Panel::new(
                &self.pieces,
                panel.piece,
                panel.from,
                density.ln(),
            ));
        }
        Ok(Self {
            pieces: self.pieces.iter().take(panel.piece + 1).cloned().collect(),
            panels,
            outlet: self.outlet,
            inlet: piece.point(density),
        })
    }

    /// Integral over ln density from `from` to the inlet of a function of density and properties, cut at the densities
    /// where the viscosity takes one of the values `kinks`.
    pub(crate) fn integrate<F>(&self, from: f64, kinks: &[f64], mut f: F) -> Result<f64>
    where
        F: FnMut(f64, IsothermPoint) -> f64,
    {
        let mut sum = 0.0;
        for panel in self.panels.iter().filter(|panel| panel.to > from) {
            let start = panel.from.max(from);
            let mut cuts = Vec::new();
            for viscosity in kinks {
                self.push_crossings(panel, *viscosity, &mut cuts)?;
            }
            if cuts.is_empty() && start == panel.from {
                let samples = panel.samples.iter();
                sum += samples
                    .map(|sample| sample.weight * f(sample.density, sample.point))
                    .sum::<f64>();
                continue;
            }
            cuts.sort_by(f64::total_cmp);
            let Some(piece) = self.pieces.get(panel.piece) else {
                return Err(NO_PIECES);
            };
            let mut start = start;
            let inner = cuts.into_iter().filter(|cut| *cut > from);
            for end in inner.chain([panel.to]) {
                for (x, weight) in samples(start, end) {
                    let density = x.exp();
                    sum += weight * f(density, piece.point(density));
                }
                start = end;
            }
        }
        Ok(sum)
    }

    /// Logarithms of the densities inside a panel at which the viscosity crosses a value.
    fn push_crossings(&self, panel: &Panel, viscosity: f64, found: &mut Vec<f64>) -> Result<()> {
        let (least, most) = panel.viscosities;
        if viscosity <= least || viscosity >= most {
            return Ok(());
        }
        let Some(piece) = self.pieces.get(panel.piece) else {
            return Err(NO_PIECES);
        };
        let excess = |x: f64| piece.values(x.exp())[2] - viscosity;
        let [start, end] = panel.ends.map(|point| point.dynamic_viscosity - viscosity);
        let (mut low, mut at_low) = (panel.from, start);
        for step in 1..=CROSSINGS {
            let share = f64::from(step) / f64::from(CROSSINGS);
            let high = panel.from + share * (panel.to - panel.from);
            let at_high = if step == CROSSINGS { end } else { excess(high) };
            if at_low * at_high < 0.0 {
                found.push(root(low, high, excess)?);
            }
            (low, at_low) = (high, at_high);
        }
        Ok(())
    }

    /// Logarithm of the density at which a mass flux G first reaches the isothermal speed of sound on the way from the
    /// inlet; none if it does not before the outlet, and the inlet itself if it does there.
    pub(crate) fn choking_point(&self, mass_flux: f64) -> Result<Option<f64>> {
        for panel in self.panels.iter().rev() {
            if panel.least_sonic_flux > mass_flux {
                continue;
            }
            let points = panel.points();
            let is_slow = |(density, point): &&(f64, IsothermPoint)| {
                sonic_flux(*density, *point) <= mass_flux
            };
            // The densest point that the flux outruns, and the next one above it.
            let below = points.iter().filter(is_slow);
            let below = below
                .map(|(density, _)| density.ln())
                .fold(panel.from, f64::max);
            if below >= panel.to {
                return Ok(Some(panel.to));
            }
            let above = points.iter().map(|(density, _)| density.ln());
            let above = above.filter(|x| *x > below).fold(panel.to, f64::min);
            let Some(piece) = self.pieces.get(panel.piece) else {
                return Err(NO_PIECES);
            };
            let margin = |x: f64| {
                let density = x.exp();
                sonic_flux(density, piece.point(density)) - mass_flux
            };
            return root(below, above, margin).map(Some);
        }
        Ok(None)
    }

    /// Whether a mass flux stays below the speed of sound again somewhere between a point at which it choked and the outlet.
    pub(crate) fn reopens(&self, choked: f64, mass_flux: f64) -> bool {
        let below = self.panels.iter().filter(|panel| panel.from < choked);
        let mut points = below.flat_map(Panel::points);
        let choked = choked.exp() * (1.0 - BESIDE_CHOKING);
        points.any(|(density, point)| density < choked && sonic_flux(density, point) > mass_flux)
    }
}

/// Distance of a density from one that chokes, relative, within which it is that one.
const BESIDE_CHOKING: f64 = 1e-12;
/// Ratio of densities from which a corner is told from an end.
const BESIDE_CORNER: f64 = 1.0 + 1e-9;
/// Stretches of a panel in which a viscosity is crossed once at most.
const CROSSINGS: u32 = 8;
/// Last digits.
const FINE: Tolerance = Tolerance {
    relative: 1e-14,
    iterations: 200,
};
const NO_PIECES: Error = Error::Internal {
    place: "flow::isotherm, an isotherm without pieces",
};

/// Panels of all pieces by rising density, each of a width that the quadrature knows.
fn panels(pieces: &[Piece]) -> Vec<Panel> {
    let mut panels = Vec::new();
    for (index, piece) in pieces.iter().enumerate() {
        let (from, to) = (piece.from.ln(), piece.to.ln());
        let count = ((to - from) / WIDEST).ceil().max(1.0);
        let mut start = from;
        let mut number = 1.0;
        while start < to {
            let end = if number < count {
                from + (to - from) * number / count
            } else {
                to
            };
            panels.extend(Panel::new(pieces, index, start, end));
            (start, number) = (end, number + 1.0);
        }
    }
    panels
}

/// Fills polynomials with the properties of a fluid.
struct Sampler<'a, F> {
    properties: &'a mut F,
    pieces: Vec<Piece>,
}

impl<F> Sampler<'_, F>
where
    F: FnMut(&[f64]) -> Result<Vec<IsothermPoint>>,
{
    fn many(&mut self, densities: &[f64]) -> Result<Vec<Values>> {
        let points = (self.properties)(densities)?;
        let pairs = densities.iter().zip(points);
        pairs.map(|(rho, point)| values_of(*rho, point)).collect()
    }

    fn one(&mut self, density: f64) -> Result<Values> {
        self.many(&[density])?.first().copied().ok_or(NO_PIECES)
    }

    /// Pieces between two densities: one of half the degree if that does, one of the whole, or two of half the width.
    fn refine(&mut self, from: f64, to: f64, depth: u32) -> Result<()> {
        let node = |j: usize| match j {
            // The ends are exact, so that neighbouring pieces meet.
            0 => to,
            DEGREE => from,
            _ => 0.5 * (from + to) + 0.5 * (to - from) * cosine(j),
        };
        let mut values = [[0.0; 3]; COUNT];
        let mut tail = f64::INFINITY;
        for (first, stride) in [(0, 2), (1, 1)] {
            let places: Vec<usize> = (first..COUNT).step_by(2).collect();
            let densities: Vec<f64> = places.iter().map(|j| node(*j)).collect();
            for (j, found) in places.into_iter().zip(self.many(&densities)?) {
                values[j] = found;
            }
            let piece;
            (piece, tail) = Piece::through(from, to, &values, stride);
            if tail <= TOLERANCE {
                self.pieces.push(piece);
                return Ok(());
            }
        }
        if depth == DEEPEST {
            return Err(Error::NoConvergence {
                solver: "isotherm of one phase",
                iterations: depth,
                residual: tail,
                tolerance: TOLERANCE,
            });
        }
        let middle = 0.5 * (from + to);
        self.refine(from, middle, depth + 1)?;
        self.refine(middle, to, depth + 1)
    }
}

fn root<F: FnMut(f64) -> f64>(low: f64, high: f64, mut f: F) -> Result<f64> {
    if low == high {
        return Ok(low);
    }
    bracketed("isotherm", low, high, FINE, |x| Ok(f(x)))
}

fn values_of(density: f64, point: IsothermPoint) -> Result<Values> {
    positive(Quantity::Pressure, point.pressure)?;
    positive(Quantity::DynamicViscosity, point.dynamic_viscosity)?;
    if point.dp_drho_t.is_nan() || point.dp_drho_t <= 0.0 {
        return Err(Error::Domain {
            quantity: Quantity::IsothermalCompressibility,
            value: 1.0 / (density * point.dp_drho_t),
            rule: "that of one stable fluid, above zero",
        });
    }
    Ok([
        point.pressure / density,
        point.dp_drho_t,
        point.dynamic_viscosity,
    ])
}

fn point_of(density: f64, values: Values) -> IsothermPoint {
    IsothermPoint {
        pressure: values[0] * density,
        dp_drho_t: values[1],
        dynamic_viscosity: values[2],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;

    /// A van der Waals fluid in reduced form at a reduced temperature, with a viscosity that rises with density.
    fn van_der_waals(temperature: f64, density: f64) -> IsothermPoint {
        IsothermPoint {
            pressure: 8.0 * temperature * density / (3.0 - density) - 3.0 * density * density,
            dp_drho_t: 24.0 * temperature / (3.0 - density).powi(2) - 6.0 * density,
            dynamic_viscosity: 1.0 + density + density * density,
        }
    }

    #[test]
    fn a_nearly_critical_isotherm_is_met_with_few_evaluations() {
        let mut calls = 0;
        let isotherm = Isotherm::new(1e-3, 2.0, |rho| {
            calls += 1;
            Ok(van_der_waals(1.02, rho))
        })
        .unwrap();
        assert!(calls < 400, "{calls}");
        for i in 0..=1000 {
            let rho = 1e-3 * 2000f64.powf(f64::from(i) / 1000.0);
            let (ours, exact) = (isotherm.at(rho), van_der_waals(1.02, rho));
            assert!(close(ours.dp_drho_t, exact.dp_drho_t, 1e-7), "{rho}");
            assert!(close(ours.pressure, exact.pressure, 1e-8));
            assert!(close(ours.dynamic_viscosity, exact.dynamic_viscosity, 1e-8));
        }
    }

    #[test]
    fn integrals_are_exact_up_to_the_tolerance_with_and_without_cuts() {
        let isotherm = Isotherm::new(0.01, 1.5, |rho| Ok(van_der_waals(1.3, rho))).unwrap();
        // Of rho dp/drho over ln rho: the difference of pressures.
        let from = 0.1f64;
        let difference = van_der_waals(1.3, 1.5).pressure - van_der_waals(1.3, from).pressure;
        for kink in [&[][..], &[2.0], &[1.05, 2.0], &[50.0]] {
            let integral = isotherm
                .integrate(from.ln(), kink, |rho, point| rho * point.dp_drho_t)
                .unwrap();
            assert!(close(integral, difference, 1e-9));
        }
        // A step in the integrand at the cut.
        let step = isotherm
            .integrate(0.01f64.ln(), &[2.0], |_, point| {
                f64::from(u8::from(point.dynamic_viscosity < 2.0))
            })
            .unwrap();
        let edge = (5f64.sqrt() - 1.0) / 2.0;
        assert!(close(step, (edge / 0.01).ln(), 1e-9));
    }

    #[test]
    fn a_lower_inlet_needs_no_new_evaluations() {
        let whole = Isotherm::new(1e-3, 2.0, |rho| Ok(van_der_waals(1.3, rho))).unwrap();
        for rho in [1.9, 1.0, 0.3, 2e-3] {
            let pressure = van_der_waals(1.3, rho).pressure;
            let part = whole.below(pressure).unwrap();
            assert!(close(part.inlet_density(), rho, 1e-7));
            let own = Isotherm::new(1e-3, rho, |rho| Ok(van_der_waals(1.3, rho))).unwrap();
            let (one, other) = (
                part.viscous_integral().unwrap(),
                own.viscous_integral().unwrap(),
            );
            assert!(close(one, other, 1e-7), "{one} {other}");
        }
        assert_eq!(whole.below(1e-9).unwrap_err().code(), 503);
        assert_eq!(whole.below(1e9).unwrap_err().code(), 102);
    }

    #[test]
    fn a_jump_and_an_unstable_fluid_are_refused() {
        let jump = |rho: f64| {
            Ok(IsothermPoint {
                pressure: rho,
                dp_drho_t: 1.0,
                dynamic_viscosity: if rho > 0.3 { 2.0 } else { 1.0 },
            })
        };
        assert_eq!(Isotherm::new(0.1, 1.0, jump).unwrap_err().code(), 401);
        let unstable = Isotherm::new(0.01, 2.0, |rho| Ok(van_der_waals(0.9, rho)));
        assert_eq!(unstable.unwrap_err().code(), 101);
        let backwards = Isotherm::new(1.0, 0.5, |rho| Ok(van_der_waals(1.3, rho)));
        assert_eq!(backwards.unwrap_err().code(), 503);
    }
}
