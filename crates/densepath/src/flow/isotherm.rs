//! One isotherm of a fluid between two densities, as polynomials of the density.
//!
//! In density every property of a fluid is smooth, near the critical point too, where the density is a steep function of
//! pressure; and an equation of state gives the pressure of a density without a solve. So the flow along an isotherm is
//! integrated in density, and the equation of state is asked a few dozen times only, whatever is solved for.

use crate::fluid::error::{Error, Result, positive, within};
use crate::fluid::num::quad::samples;
use crate::fluid::num::root::{Tolerance, bracketed, newton_bisect, secant};
use crate::fluid::quantity::Quantity;
use std::sync::Arc;

/// Properties at one density of an isotherm.
///
/// ```
/// # use densepath::flow::capillary::{Isotherm, IsothermPoint};
/// # // A thin gas of 50 kJ/kg: p = rho R T.
/// # let gas = |density: f64| Ok(IsothermPoint { pressure: 5e4 * density, dp_drho_t: 5e4, dynamic_viscosity: 1.5e-5 });
/// let point = Isotherm::new(1.0, 10.0, gas)?.at(4.0);
/// assert!((point.pressure / 2e5 - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
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

/// Highest degree of a polynomial; a half and a quarter of it are tried first.
const DEGREE: usize = 32;
/// Number of its coefficients.
const COUNT: usize = DEGREE + 1;

/// cos(pi j/32) for j = 0 to 16: the Chebyshev points, which those of lower degrees are among.
const COSINES: [f64; DEGREE / 2 + 1] = [
    1.0,
    0.995_184_726_672_196_9,
    0.980_785_280_403_230_4,
    0.956_940_335_732_208_8,
    0.923_879_532_511_286_7,
    0.881_921_264_348_355,
    0.831_469_612_302_545_2,
    0.773_010_453_362_737,
    std::f64::consts::FRAC_1_SQRT_2,
    0.634_393_284_163_645_5,
    0.555_570_233_019_602_2,
    0.471_396_736_825_997_8,
    0.382_683_432_365_089_8,
    0.290_284_677_254_462_3,
    0.195_090_322_016_128_27,
    0.098_017_140_329_560_6,
    0.0,
];

/// cos(pi j/32) for j = 0 to 63.
const CIRCLE: [f64; 2 * DEGREE] = {
    let mut circle = [0.0; 2 * DEGREE];
    let mut j = 0;
    while j <= DEGREE / 2 {
        circle[j] = COSINES[j];
        circle[DEGREE - j] = -COSINES[j];
        circle[(DEGREE + j) % (2 * DEGREE)] = -COSINES[j];
        circle[(2 * DEGREE - j) % (2 * DEGREE)] = COSINES[j];
        j += 1;
    }
    circle
};

/// cos(pi j/32) for any j.
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

/// The coordinate in which a polynomial runs.
///
/// Equations with terms that are not analytic at the critical density hold powers of the distance from it with exponents of 10/3 and
/// 7 (R. Span and W. Wagner, J. Phys. Chem. Ref. Data 25, 1509 (1996), doi 10.1063/1.555991, table 31); in the cube root of that
/// distance all of them are whole, and polynomials converge.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Scale {
    /// The density.
    Density,
    /// The cube root of the distance from a corner in kg/m3.
    FromCorner(f64),
}

impl Scale {
    /// Coordinate of a density.
    fn of(self, density: f64) -> f64 {
        match self {
            Scale::Density => density,
            Scale::FromCorner(corner) => (density - corner).cbrt(),
        }
    }

    /// Density at a coordinate.
    fn density(self, coordinate: f64) -> f64 {
        match self {
            Scale::Density => coordinate,
            Scale::FromCorner(corner) => corner + coordinate.powi(3),
        }
    }
}

/// The properties between two densities as Chebyshev series.
#[derive(Debug, Clone, PartialEq)]
struct Piece {
    scale: Scale,
    /// Coordinates.
    from: f64,
    to: f64,
    /// Number of coefficients that count.
    count: usize,
    coefficients: [Values; COUNT],
}

/// A coefficient of the series through the properties at every `stride`-th point, from the densest on.
///
/// C. W. Clenshaw and A. R. Curtis, Numer. Math. 2, 197 (1960), doi 10.1007/BF01386223: the sum over the points with both ends
/// halved, and the first and the last coefficient halved again.
fn coefficient(values: &[Values; COUNT], stride: usize, k: usize) -> Values {
    let degree = DEGREE / stride;
    let mut sum = [0.0; 3];
    for (j, values) in values.iter().step_by(stride).enumerate() {
        let halved = if j == 0 || j == degree { 0.5 } else { 1.0 };
        let weight = halved * cosine(j * k * stride);
        for (sum, value) in sum.iter_mut().zip(values) {
            *sum += weight * value;
        }
    }
    let end = if k == 0 || k == degree { 0.5 } else { 1.0 };
    sum.map(|value| end * 2.0 / degree as f64 * value)
}

/// The last coefficients of a series through every `stride`-th point, relative to the smallest of the properties.
fn tail(values: &[Values; COUNT], stride: usize) -> f64 {
    let degree = DEGREE / stride;
    let mut last = [0.0_f64; 3];
    for k in (degree + 1 - TAIL)..=degree {
        let found = coefficient(values, stride, k);
        last = std::array::from_fn(|i| last[i].max(found[i].abs()));
    }
    let mut smallest = [f64::INFINITY; 3];
    for values in values.iter().step_by(stride) {
        smallest = std::array::from_fn(|i| smallest[i].min(values[i]));
    }
    let relative = last.iter().zip(smallest).map(|(last, least)| last / least);
    relative.fold(0.0, f64::max)
}

impl Piece {
    /// The series through the properties at every `stride`-th point, from the densest on.
    fn through(
        scale: Scale,
        [from, to]: [f64; 2],
        values: &[Values; COUNT],
        stride: usize,
    ) -> Self {
        let count = DEGREE / stride + 1;
        let mut coefficients = [[0.0; 3]; COUNT];
        for (k, found) in coefficients.iter_mut().take(count).enumerate() {
            *found = coefficient(values, stride, k);
        }
        Self {
            scale,
            from,
            to,
            count,
            coefficients,
        }
    }

    /// Lowest and highest density in kg/m3.
    fn ends(&self) -> [f64; 2] {
        [self.from, self.to].map(|end| self.scale.density(end))
    }

    /// Argument of the Chebyshev polynomials at a density, -1 to 1.
    fn argument(&self, density: f64) -> f64 {
        let x = self.scale.of(density);
        ((x - self.from) - (self.to - x)) / (self.to - self.from)
    }

    /// The properties at a density, by the recurrence of C. W. Clenshaw, Math. Tables Aids Comput. 9, 118 (1955).
    ///
    /// The even and the odd terms each follow it with `x = 2 t^2 - 1`, since `T_(k+2) + T_(k-2) = 2 x T_k`: two short chains that the
    /// processor works at side by side.
    fn values(&self, density: f64) -> Values {
        let t = self.argument(density);
        let x = 2.0 * t * t - 1.0;
        let (mut even, mut odd) = ([[0.0; 3]; 2], [[0.0; 3]; 2]);
        let step = |[one, two]: [Values; 2], coefficients: &Values| {
            let next = std::array::from_fn(|i| 2.0 * x * one[i] - two[i] + coefficients[i]);
            [next, one]
        };
        for pair in self.coefficients[1..self.count].chunks_exact(2).rev() {
            (odd, even) = (step(odd, &pair[0]), step(even, &pair[1]));
        }
        // Each chain stops one short of its first term: T_0 = 1 and T_1 = T_(-1) = t.
        let first = &self.coefficients[0];
        std::array::from_fn(|i| {
            first[i] + x * even[0][i] - even[1][i] + t * (odd[0][i] - odd[1][i])
        })
    }

    /// The points at several densities; the same numbers but for their rounding, in a fraction of the time.
    fn points<const N: usize>(&self, densities: [f64; N]) -> [IsothermPoint; N] {
        let doubled = densities.map(|density| 2.0 * self.argument(density));
        let mut values = [[0.0; 3]; N];
        let (pairs, last) = doubled.as_chunks::<2>();
        let (found, left) = values.as_chunks_mut::<2>();
        for (found, doubled) in found.iter_mut().zip(pairs) {
            *found = self.chains(*doubled);
        }
        for (found, doubled) in left.iter_mut().zip(last) {
            [*found] = self.chains([*doubled]);
        }
        std::array::from_fn(|k| point_of(densities[k], values[k]))
    }

    /// The polynomials at several arguments, which are given doubled: their chains need not wait for each other, and a few fit into
    /// the registers.
    fn chains<const N: usize>(&self, doubled: [f64; N]) -> [Values; N] {
        let (mut one, mut two) = ([[0.0; N]; 3], [[0.0; N]; 3]);
        for coefficients in self.coefficients[1..self.count].iter().rev() {
            let next = std::array::from_fn(|i| {
                std::array::from_fn(|k| doubled[k] * one[i][k] - two[i][k] + coefficients[i])
            });
            (two, one) = (one, next);
        }
        let first = &self.coefficients[0];
        std::array::from_fn(|k| {
            std::array::from_fn(|i| 0.5 * doubled[k] * one[i][k] - two[i][k] + first[i])
        })
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
    /// Densities and properties at both ends.
    ends: [(f64, IsothermPoint); 2],
    /// Smallest and largest viscosity met in it.
    viscosities: (f64, f64),
    /// Smallest and largest density times speed of sound met in it: the fluxes that choke somewhere.
    sonic_fluxes: (f64, f64),
    /// Its share of [`Isotherm::laminar_integrals`].
    laminar: [f64; 2],
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
        let samples = polynomials.samples(from, to);
        let end = |x: f64| {
            let density = x.exp();
            (density, polynomials.point(density))
        };
        let mut panel = Self {
            piece,
            from,
            to,
            ends: [end(from), end(to)],
            viscosities: (f64::INFINITY, 0.0),
            sonic_fluxes: (f64::INFINITY, 0.0),
            laminar: laminar(&samples),
            samples,
        };
        for (density, point) in panel.points() {
            let widen = |(low, high): (f64, f64), value: f64| (low.min(value), high.max(value));
            panel.viscosities = widen(panel.viscosities, point.dynamic_viscosity);
            panel.sonic_fluxes = widen(panel.sonic_fluxes, sonic_flux(density, point));
        }
        Some(panel)
    }

    /// Densities and properties at the ends and the points of the quadrature, in no order.
    fn points(&self) -> [(f64, IsothermPoint); 12] {
        let [from, to] = self.ends;
        let mut points = [from; 12];
        points[1] = to;
        for (place, sample) in points.iter_mut().skip(2).zip(&self.samples) {
            *place = (sample.density, sample.point);
        }
        points
    }

    /// The densest density that a mass flux outruns; none if it outruns no point.
    fn densest_outrun(&self, mass_flux: f64) -> Option<f64> {
        let points = self.points().into_iter();
        let slow = points.filter(|(density, point)| sonic_flux(*density, *point) <= mass_flux);
        slow.map(|(density, _)| density).reduce(f64::max)
    }
}

impl Piece {
    /// The points of the quadrature between two logarithms of density.
    fn samples(&self, from: f64, to: f64) -> [Sample; 10] {
        let places = samples(from, to);
        let densities = places.map(|(x, _)| x.exp());
        let points = self.points(densities);
        std::array::from_fn(|k| Sample {
            weight: places[k].1,
            density: densities[k],
            point: points[k],
        })
    }
}

/// Share of points of the quadrature in [`Isotherm::laminar_integrals`].
fn laminar(samples: &[Sample]) -> [f64; 2] {
    let terms = samples.iter().map(|sample| {
        let IsothermPoint {
            dp_drho_t,
            dynamic_viscosity,
            ..
        } = sample.point;
        let fluidity = sample.weight / dynamic_viscosity;
        [
            sample.density * sample.density * dp_drho_t * fluidity,
            fluidity,
        ]
    });
    terms.fold([0.0; 2], |[a, b], [c, d]| [a + c, b + d])
}

/// Mass flux in kg/(m2 s) at the isothermal speed of sound.
fn sonic_flux(density: f64, point: IsothermPoint) -> f64 {
    density * point.dp_drho_t.sqrt()
}

/// An isotherm between the density of an outlet and that of an inlet.
///
/// ```
/// # use densepath::flow::capillary::{Isotherm, IsothermPoint};
/// # // A thin gas of 50 kJ/kg: p = rho R T.
/// # let gas = |density: f64| Ok(IsothermPoint { pressure: 5e4 * density, dp_drho_t: 5e4, dynamic_viscosity: 1.5e-5 });
/// let isotherm = Isotherm::new(1.0, 10.0, gas)?;
/// // Of an ideal gas the integral of rho/eta dp is (p_1^2 - p_2^2) / (2 R T eta).
/// let expected = (5e5f64.powi(2) - 5e4f64.powi(2)) / (2.0 * 5e4 * 1.5e-5);
/// assert!((isotherm.viscous_integral() / expected - 1.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Isotherm {
    known: Arc<Known>,
    /// Number of panels that lie below the inlet as a whole.
    whole: usize,
    /// The panel that ends at an inlet inside one of them.
    top: Option<Panel>,
    outlet: IsothermPoint,
    inlet: IsothermPoint,
}

/// What isotherms with the same outlet share.
#[derive(Debug, PartialEq)]
struct Known {
    pieces: Vec<Piece>,
    panels: Vec<Panel>,
}

impl Isotherm {
    /// Isotherm from the density at the outlet to that at the inlet, both in kg/m3, of the properties as functions of
    /// density.
    ///
    /// The polynomials are refined until their error no longer shows in an integral, to 1e-8.
    ///
    /// Errors: 101 for a density not above zero or a property that is none of one stable fluid; 503 if the outlet is not
    /// the less dense; 401 if a property jumps, as it does where the phase changes; those of the closure.
    ///
    /// ```
    /// # use densepath::flow::capillary::{Isotherm, IsothermPoint};
    /// # // A thin gas of 50 kJ/kg: p = rho R T.
    /// # let gas = |density: f64| Ok(IsothermPoint { pressure: 5e4 * density, dp_drho_t: 5e4, dynamic_viscosity: 1.5e-5 });
    /// assert!(Isotherm::new(1.0, 10.0, gas).is_ok());
    /// assert_eq!(Isotherm::new(0.0, 10.0, gas).unwrap_err().code(), 101);
    /// ```
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
    /// with terms that are not analytic there: polynomials in the cube root of the distance from it converge fast on both sides.
    ///
    /// ```
    /// # use densepath::flow::capillary::{Isotherm, IsothermPoint};
    /// # // A thin gas of 50 kJ/kg: p = rho R T.
    /// # let gas = |density: f64| Ok(IsothermPoint { pressure: 5e4 * density, dp_drho_t: 5e4, dynamic_viscosity: 1.5e-5 });
    /// let many = |densities: &[f64]| densities.iter().map(|density| gas(*density)).collect();
    /// let (one, all) = (Isotherm::new(1.0, 10.0, gas)?, Isotherm::sampled(1.0, 10.0, None, many)?);
    /// assert!((one.viscous_integral() / all.viscous_integral() - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
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
        match corner {
            Some(corner) => {
                let scale = Scale::FromCorner(corner);
                sampler.refine(scale, [scale.of(from), 0.0], [from, corner], 0)?;
                sampler.refine(scale, [0.0, scale.of(to)], [corner, to], 0)?;
            }
            None => sampler.refine(Scale::Density, [from, to], [from, to], 0)?,
        }
        let pieces = sampler.pieces;
        let panels = panels(&pieces);
        let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else {
            return Err(NO_PIECES);
        };
        Ok(Self {
            outlet: first.point(from),
            inlet: last.point(to),
            whole: panels.len(),
            top: None,
            known: Arc::new(Known { pieces, panels }),
        })
    }

    /// The panels by rising density.
    fn panels(&self) -> impl DoubleEndedIterator<Item = &Panel> {
        let whole = self.known.panels.get(..self.whole).unwrap_or_default();
        whole.iter().chain(&self.top)
    }

    fn piece(&self, panel: &Panel) -> Result<&Piece> {
        self.known.pieces.get(panel.piece).ok_or(NO_PIECES)
    }

    /// Properties at the outlet.
    ///
    /// ```
    /// # use densepath::flow::capillary::{Isotherm, IsothermPoint};
    /// # // A thin gas of 50 kJ/kg: p = rho R T.
    /// # let gas = |density: f64| Ok(IsothermPoint { pressure: 5e4 * density, dp_drho_t: 5e4, dynamic_viscosity: 1.5e-5 });
    /// assert!((Isotherm::new(1.0, 10.0, gas)?.outlet().pressure / 5e4 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn outlet(&self) -> IsothermPoint {
        self.outlet
    }

    /// Properties at the inlet.
    ///
    /// ```
    /// # use densepath::flow::capillary::{Isotherm, IsothermPoint};
    /// # // A thin gas of 50 kJ/kg: p = rho R T.
    /// # let gas = |density: f64| Ok(IsothermPoint { pressure: 5e4 * density, dp_drho_t: 5e4, dynamic_viscosity: 1.5e-5 });
    /// assert!((Isotherm::new(1.0, 10.0, gas)?.inlet().pressure / 5e5 - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn inlet(&self) -> IsothermPoint {
        self.inlet
    }

    /// Density at the outlet in kg/m3.
    ///
    /// ```
    /// # use densepath::flow::capillary::{Isotherm, IsothermPoint};
    /// # // A thin gas of 50 kJ/kg: p = rho R T.
    /// # let gas = |density: f64| Ok(IsothermPoint { pressure: 5e4 * density, dp_drho_t: 5e4, dynamic_viscosity: 1.5e-5 });
    /// assert!((Isotherm::new(1.0, 10.0, gas)?.outlet_density() - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn outlet_density(&self) -> f64 {
        self.panels()
            .next()
            .map_or(f64::NAN, |panel| panel.ends[0].0)
    }

    /// Density at the inlet in kg/m3.
    ///
    /// ```
    /// # use densepath::flow::capillary::{Isotherm, IsothermPoint};
    /// # // A thin gas of 50 kJ/kg: p = rho R T.
    /// # let gas = |density: f64| Ok(IsothermPoint { pressure: 5e4 * density, dp_drho_t: 5e4, dynamic_viscosity: 1.5e-5 });
    /// assert!((Isotherm::new(1.0, 10.0, gas)?.inlet_density() - 10.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn inlet_density(&self) -> f64 {
        self.panels()
            .next_back()
            .map_or(f64::NAN, |panel| panel.ends[1].0)
    }

    /// Properties at a density in kg/m3; outside the isotherm those of its nearer end.
    ///
    /// ```
    /// # use densepath::flow::capillary::{Isotherm, IsothermPoint};
    /// # // A thin gas of 50 kJ/kg: p = rho R T.
    /// # let gas = |density: f64| Ok(IsothermPoint { pressure: 5e4 * density, dp_drho_t: 5e4, dynamic_viscosity: 1.5e-5 });
    /// let isotherm = Isotherm::new(1.0, 10.0, gas)?;
    /// // Beyond its ends the isotherm knows no more than its ends.
    /// assert_eq!(isotherm.at(20.0), isotherm.inlet());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn at(&self, density: f64) -> IsothermPoint {
        if density >= self.inlet_density() {
            return self.inlet;
        }
        if density <= self.outlet_density() {
            return self.outlet;
        }
        let whole = self.known.panels.get(..self.whole).unwrap_or_default();
        let place = whole.partition_point(|panel| panel.ends[1].0 < density);
        let panel = whole.get(place).or(self.top.as_ref());
        let piece = panel.and_then(|panel| self.known.pieces.get(panel.piece));
        piece.map_or(self.inlet, |piece| piece.point(density))
    }

    /// The same isotherm with a lower inlet pressure in Pa, without asking the equation of state again.
    ///
    /// Errors: 503 for a pressure that is not above that of the outlet; 102 for one above that of the inlet.
    ///
    /// ```
    /// # use densepath::flow::capillary::{Isotherm, IsothermPoint};
    /// # // A thin gas of 50 kJ/kg: p = rho R T.
    /// # let gas = |density: f64| Ok(IsothermPoint { pressure: 5e4 * density, dp_drho_t: 5e4, dynamic_viscosity: 1.5e-5 });
    /// let whole = Isotherm::new(1.0, 10.0, gas)?;
    /// let lower = whole.below(3e5)?;
    /// assert!((lower.inlet_density() - 6.0).abs() < 1e-6);
    /// assert_eq!(whole.below(1e4).unwrap_err().code(), 503);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn below(&self, inlet_pressure: f64) -> Result<Self> {
        if inlet_pressure <= self.outlet.pressure {
            return Err(Error::FlowReversed {
                inlet: inlet_pressure,
                outlet: self.outlet.pressure,
            });
        }
        let highest = self.inlet.pressure;
        if (inlet_pressure / highest - 1.0).abs() <= SAME_PRESSURE {
            return Ok(self.clone());
        }
        within(
            Quantity::Pressure,
            inlet_pressure,
            0.0,
            highest,
            "the isotherm at hand",
        )?;
        let whole = self.known.panels.get(..self.whole).unwrap_or_default();
        let place = whole.partition_point(|panel| panel.ends[1].1.pressure < inlet_pressure);
        let Some(panel) = whole.get(place).or(self.top.as_ref()) else {
            return Ok(self.clone());
        };
        let piece = self.piece(panel)?;
        let [(low, before), (high, behind)] = panel.ends;
        // Linear between the ends of the panel to start with.
        let share = (inlet_pressure - before.pressure) / (behind.pressure - before.pressure);
        let start = low + (high - low) * share;
        let density = newton_bisect("isotherm", low, high, start, FINE, |density| {
            let point = piece.point(density);
            Ok((point.pressure - inlet_pressure, point.dp_drho_t))
        })?;
        let top = (density > low)
            .then(|| Panel::new(&self.known.pieces, panel.piece, panel.from, density.ln()));
        Ok(Self {
            known: Arc::clone(&self.known),
            whole: place,
            top: top.flatten(),
            outlet: self.outlet,
            inlet: piece.point(density),
        })
    }

    /// The integrals over ln density from `from` to the inlet of `rho^2 c_T^2/eta`, which is that of `rho/eta dp`, and of `1/eta`.
    pub(crate) fn laminar_integrals(&self, from: f64) -> [f64; 2] {
        let mut sum = [0.0; 2];
        for panel in self.panels().rev() {
            if panel.to <= from {
                break;
            }
            let share = if panel.from >= from {
                panel.laminar
            } else {
                let piece = self.known.pieces.get(panel.piece);
                piece.map_or([f64::NAN; 2], |piece| {
                    laminar(&piece.samples(from, panel.to))
                })
            };
            sum = [sum[0] + share[0], sum[1] + share[1]];
        }
        sum
    }

    /// Smallest viscosity met on the isotherm in Pa s.
    pub(crate) fn least_viscosity(&self) -> f64 {
        self.panels()
            .map(|panel| panel.viscosities.0)
            .fold(f64::INFINITY, f64::min)
    }

    /// Integral over ln density from `from` to the inlet of a function of density and properties, cut at the densities
    /// where the viscosity takes one of the values `kinks`.
    pub(crate) fn integrate<F>(&self, from: f64, kinks: &[f64], mut f: F) -> Result<f64>
    where
        F: FnMut(f64, IsothermPoint) -> f64,
    {
        let mut sum = 0.0;
        for panel in self.panels().filter(|panel| panel.to > from) {
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
            let piece = self.piece(panel)?;
            let mut start = start;
            let inner = cuts.into_iter().filter(|cut| *cut > from);
            for end in inner.chain([panel.to]) {
                let samples = piece.samples(start, end);
                sum += samples
                    .iter()
                    .map(|sample| sample.weight * f(sample.density, sample.point))
                    .sum::<f64>();
                start = end;
            }
        }
        Ok(sum)
    }

    /// Logarithms of the densities inside a panel at which the viscosity crosses a value, by what is known of the panel.
    fn push_crossings(&self, panel: &Panel, viscosity: f64, found: &mut Vec<f64>) -> Result<()> {
        let (least, most) = panel.viscosities;
        if viscosity <= least || viscosity >= most {
            return Ok(());
        }
        let piece = self.piece(panel)?;
        let excess = |x: f64| piece.values(x.exp())[2] - viscosity;
        let mut points = panel.points();
        points.sort_by(|(one, _), (other, _)| one.total_cmp(other));
        let mut low: Option<(f64, f64)> = None;
        for (density, point) in points {
            let high = (density, point.dynamic_viscosity - viscosity);
            if let Some(low) = low.replace(high)
                && low.1 * high.1 < 0.0
            {
                let [from, to] = [low.0.ln(), high.0.ln()];
                let slope = (high.1 - low.1) / (to - from);
                let start = from - low.1 / slope;
                let steps = secant((start, slope), (from, to), SETTLED, |x| Some(excess(x)));
                // A crossing that rounding leaves to one of the ends is near enough to it.
                let crossing = steps.or_else(|| root(from, to, excess).ok());
                found.push(crossing.unwrap_or(start));
            }
        }
        Ok(())
    }

    /// Logarithm of the density at which a mass flux G first reaches the isothermal speed of sound on the way from the
    /// inlet; none if it does not before the outlet, and the inlet itself if it does there.
    pub(crate) fn choking_point(&self, mass_flux: f64) -> Result<Option<f64>> {
        for panel in self.panels().rev() {
            if panel.sonic_fluxes.0 > mass_flux {
                continue;
            }
            let [(lowest, _), (highest, _)] = panel.ends;
            // The densest point that the flux outruns, and the next one above it.
            let below = panel.densest_outrun(mass_flux).unwrap_or(lowest);
            if below >= highest {
                return Ok(Some(panel.to));
            }
            let (mut from, mut to) = (panel.ends[0], panel.ends[1]);
            for (density, point) in panel.points() {
                if density == below {
                    from = (density, point);
                } else if density > below && density < to.0 {
                    to = (density, point);
                }
            }
            let (low, high) = (from.0.ln(), to.0.ln());
            let piece = self.piece(panel)?;
            let margin = |x: f64| {
                let density = x.exp();
                sonic_flux(density, piece.point(density)) - mass_flux
            };
            let slope = (sonic_flux(to.0, to.1) - sonic_flux(from.0, from.1)) / (high - low);
            let start = low + (mass_flux - sonic_flux(from.0, from.1)) / slope;
            let steps = secant((start, slope), (low, high), SETTLED, |x| Some(margin(x)));
            return match steps {
                Some(found) => Ok(Some(found)),
                None => root(low, high, margin).map(Some),
            };
        }
        Ok(None)
    }

    /// Whether a mass flux that outruns sound somewhere on the way from the inlet is below the speed of sound again nearer to the
    /// outlet.
    pub(crate) fn reopens(&self, mass_flux: f64) -> bool {
        let mut panels = self.panels().rev();
        let chokes = panels.find_map(|panel| Some((panel, panel.densest_outrun(mass_flux)?)));
        let Some((panel, outrun)) = chokes else {
            return false;
        };
        let mut points = panel.points().into_iter();
        points.any(|(density, point)| density < outrun && sonic_flux(density, point) > mass_flux)
            || panels.any(|panel| panel.sonic_fluxes.1 > mass_flux)
    }
}

/// Step of ln density below which a choking point is found.
const SETTLED: f64 = 1e-13;
/// Relative difference within which a pressure is that of the inlet.
const SAME_PRESSURE: f64 = 1e-12;
/// Ratio of densities from which a corner is told from an end.
const BESIDE_CORNER: f64 = 1.0 + 1e-9;

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
        let [from, to] = piece.ends().map(f64::ln);
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

    /// Pieces between two coordinates, with the densities there, which are exact: one of a quarter or half of the degree if that
    /// does, one of the whole, or two of half the width.
    fn refine(
        &mut self,
        scale: Scale,
        [from, to]: [f64; 2],
        [low, high]: [f64; 2],
        depth: u32,
    ) -> Result<()> {
        let node = |j: usize| match j {
            // The ends are exact, so that neighbouring pieces meet.
            0 => high,
            DEGREE => low,
            _ => scale.density(0.5 * (from + to) + 0.5 * (to - from) * cosine(j)),
        };
        let mut values = [[0.0; 3]; COUNT];
        let mut last = f64::INFINITY;
        for (first, step, stride) in [(0, 4, 4), (2, 4, 2), (1, 2, 1)] {
            let places: Vec<usize> = (first..COUNT).step_by(step).collect();
            let densities: Vec<f64> = places.iter().map(|j| node(*j)).collect();
            for (j, found) in places.into_iter().zip(self.many(&densities)?) {
                values[j] = found;
            }
            last = tail(&values, stride);
            if last <= TOLERANCE {
                self.pieces
                    .push(Piece::through(scale, [from, to], &values, stride));
                return Ok(());
            }
        }
        if depth == DEEPEST {
            return Err(Error::NoConvergence {
                solver: "isotherm of one phase",
                iterations: depth,
                residual: last,
                tolerance: TOLERANCE,
            });
        }
        let middle = 0.5 * (from + to);
        let density = scale.density(middle);
        self.refine(scale, [from, middle], [low, density], depth + 1)?;
        self.refine(scale, [middle, to], [density, high], depth + 1)
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
            let (one, other) = (part.viscous_integral(), own.viscous_integral());
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
