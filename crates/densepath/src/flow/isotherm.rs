//! One isotherm of a fluid between two densities, as polynomials of the density.
//!
//! In density every property of a fluid is smooth, near the critical point too, where the density is a steep function of
//! pressure; and an equation of state gives the pressure of a density without a solve. So the flow along an isotherm is
//! integrated in density, and the equation of state is asked a few dozen times only, whatever is solved for.

use crate::fluid::error::{Error, Result, positive, within};
use crate::fluid::num::root::{Tolerance, bracketed, newton, newton_bisect, secant_with_slope};
use crate::fluid::num::series::{Sampler, Series};
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

/// Widest panel of the quadrature in ln density.
const WIDEST: f64 = 1.5;
/// Difference between the integral of `c_T^2` over the density of a panel and that of the pressures at its ends, relative to the
/// pressure, above which it is halved.
const INEXACT: f64 = 1e-9;
/// Ratio of densities below which they are the same.
const BESIDE: f64 = 1.0 + 1e-12;
/// Most parabolas by which a least value is sought, and the step relative to the density at which it is found: the value itself is off by
/// the square of that.
const PARABOLAS: u32 = 8;
const VERTEX: f64 = 1e-6;
/// What series must hold.
const SERIES: &str = "the series of the fluid at one temperature";
/// Number of halvings of a panel.
const HALVINGS: u32 = 12;

/// The numbers of the pieces that hold a stretch of an isotherm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Pieces {
    pressures: usize,
    viscosities: usize,
}

/// The properties along an isotherm.
///
/// The viscosity has series of its own: it is smooth where the pressure is not, near the critical point, and costs as much there.
#[derive(Debug, PartialEq)]
struct Properties {
    /// Pressure over density and wave speed squared.
    pressures: Vec<Series<2>>,
    viscosities: Vec<Series<1>>,
}

impl Properties {
    /// Properties at several densities of pieces.
    fn points<const LANES: usize>(
        &self,
        pieces: Pieces,
        densities: [f64; LANES],
    ) -> [IsothermPoint; LANES] {
        let pressures = self.pressures.get(pieces.pressures);
        let pressures = pressures.map_or([[f64::NAN; 2]; LANES], |piece| piece.at(densities));
        let viscosities = self.viscosities(pieces, densities);
        std::array::from_fn(|k| IsothermPoint {
            pressure: pressures[k][0] * densities[k],
            dp_drho_t: pressures[k][1],
            dynamic_viscosity: viscosities[k],
        })
    }

    /// The points of the quadrature between two densities.
    fn samples(&self, pieces: Pieces, ends: [f64; 2]) -> Samples {
        let pressures = self.pressures.get(pieces.pressures);
        let nothing = [(f64::NAN, 0.0, [f64::NAN; 2]); SAMPLES];
        let places = pressures.map_or(nothing, |piece| piece.samples(ends));
        let densities = places.map(|(density, ..)| density);
        Samples {
            weights: places.map(|(_, weight, _)| weight),
            densities,
            over_densities: places.map(|(.., [over_density, _])| over_density),
            dp_drho_t: places.map(|(.., [_, dp_drho_t])| dp_drho_t),
            viscosities: self.viscosities(pieces, densities),
        }
    }

    fn point(&self, pieces: Pieces, density: f64) -> IsothermPoint {
        let [point] = self.points(pieces, [density]);
        point
    }

    /// A panel of pieces, or several where one is not exact.
    fn push_panels(
        &self,
        pieces: Pieces,
        ends: [(f64, IsothermPoint); 2],
        halvings: u32,
        panels: &mut Vec<Panel>,
    ) {
        let Some(series) = self.pressures.get(pieces.pressures) else {
            return;
        };
        let panel = Panel::new(self, pieces, ends);
        if halvings == 0 || panel.is_exact() {
            panels.push(panel);
            return;
        }
        let middle = series.middle(panel.densities());
        let middle = (middle, self.point(pieces, middle));
        self.push_panels(pieces, [ends[0], middle], halvings - 1, panels);
        self.push_panels(pieces, [middle, ends[1]], halvings - 1, panels);
    }

    fn viscosities<const LANES: usize>(
        &self,
        pieces: Pieces,
        densities: [f64; LANES],
    ) -> [f64; LANES] {
        let piece = self.viscosities.get(pieces.viscosities);
        let found = piece.map_or([[f64::NAN]; LANES], |piece| piece.at(densities));
        found.map(|[viscosity]| viscosity)
    }

    /// The stretches between two densities that the pieces leave whole, by rising density.
    fn stretches(&self, [low, high]: [f64; 2]) -> impl Iterator<Item = (Pieces, [f64; 2])> {
        let pressures = self.pressures.iter().map(Series::ends).enumerate();
        let stretches = pressures.flat_map(move |(pressures, [from, to])| {
            let viscosities = self.viscosities.iter().map(Series::ends).enumerate();
            viscosities.map(move |(viscosities, [thin, dense])| {
                let pieces = Pieces {
                    pressures,
                    viscosities,
                };
                (pieces, [from.max(thin).max(low), to.min(dense).min(high)])
            })
        });
        stretches.filter(|(_, [from, to])| *to > from * BESIDE)
    }
}

/// A stretch of an isotherm with the points of the quadrature in it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Panel {
    pieces: Pieces,
    /// Densities and properties at both ends.
    ends: [(f64, IsothermPoint); 2],
    /// Smallest and largest viscosity met in it.
    viscosities: (f64, f64),
    /// Smallest and largest density times speed of sound met in it: the fluxes that choke somewhere.
    sonic_fluxes: (f64, f64),
    /// Where density times speed of sound is least between others that are greater, as near the critical point; else an end.
    slowest: (f64, IsothermPoint),
    /// Density times speed of sound at the ends and the points of the quadrature, by rising density.
    fluxes: [f64; ROW],
    /// Its share of [`Isotherm::laminar_integrals`].
    laminar: [f64; 2],
    samples: Samples,
}

/// One point of the quadrature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Sample {
    pub density: f64,
    pub point: IsothermPoint,
}

/// How many points the quadrature takes between two densities.
pub(crate) const SAMPLES: usize = 10;
/// How many places are known of a panel: those and its ends.
const ROW: usize = SAMPLES + 2;

/// Those points, every property in a list of its own: what is asked of all of them is computed for several at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Samples {
    /// Weights in an integral over ln density.
    weights: [f64; SAMPLES],
    pub densities: [f64; SAMPLES],
    /// Pressures over densities.
    over_densities: [f64; SAMPLES],
    dp_drho_t: [f64; SAMPLES],
    /// Dynamic viscosities in Pa s.
    pub viscosities: [f64; SAMPLES],
}

impl Samples {
    /// One point in all places, of no weight.
    fn alike(density: f64, point: IsothermPoint) -> Self {
        Self {
            weights: [0.0; SAMPLES],
            densities: [density; SAMPLES],
            over_densities: [point.pressure / density; SAMPLES],
            dp_drho_t: [point.dp_drho_t; SAMPLES],
            viscosities: [point.dynamic_viscosity; SAMPLES],
        }
    }

    fn at(&self, place: usize) -> Sample {
        let density = self.densities[place];
        Sample {
            density,
            point: IsothermPoint {
                pressure: self.over_densities[place] * density,
                dp_drho_t: self.dp_drho_t[place],
                dynamic_viscosity: self.viscosities[place],
            },
        }
    }

    /// A function at every point.
    pub(crate) fn map<R>(&self, f: impl Fn(Sample) -> R) -> [R; SAMPLES] {
        std::array::from_fn(|place| f(self.at(place)))
    }

    /// The integral over ln density of a function with these values.
    pub(crate) fn integral(&self, values: &[f64; SAMPLES]) -> f64 {
        let terms: [f64; SAMPLES] = std::array::from_fn(|k| self.weights[k] * values[k]);
        terms.iter().sum()
    }

    /// Squares of the mass flux at the isothermal speed of sound, `rho^2 c_T^2`.
    pub(crate) fn sonic_squares(&self) -> [f64; SAMPLES] {
        std::array::from_fn(|k| self.densities[k] * self.densities[k] * self.dp_drho_t[k])
    }

    /// Their share of [`Isotherm::laminar_integrals`].
    pub(crate) fn laminar(&self) -> [f64; 2] {
        let fluidities = self.viscosities.map(f64::recip);
        let squares = self.sonic_squares();
        let pushes = std::array::from_fn(|k| squares[k] * fluidities[k]);
        [self.integral(&pushes), self.integral(&fluidities)]
    }
}

impl Panel {
    fn new(properties: &Properties, pieces: Pieces, ends: [(f64, IsothermPoint); 2]) -> Self {
        let samples = properties.samples(pieces, ends.map(|(density, _)| density));
        let inner = std::array::from_fn(|k| samples.densities[k] * samples.dp_drho_t[k].sqrt());
        let mut panel = Self {
            pieces,
            ends,
            viscosities: (f64::INFINITY, 0.0),
            sonic_fluxes: (f64::INFINITY, 0.0),
            slowest: ends[0],
            fluxes: row(
                ends.map(|(density, point)| sonic_flux(density, point)),
                inner,
            ),
            laminar: samples.laminar(),
            samples,
        };
        panel.slowest = panel.slowest(properties);
        let (density, point) = panel.slowest;
        panel.viscosities = extremes(&panel.viscosity_row(), point.dynamic_viscosity);
        panel.sonic_fluxes = extremes(&panel.fluxes, sonic_flux(density, point));
        panel
    }

    /// Lowest and highest density.
    fn densities(&self) -> [f64; 2] {
        self.ends.map(|(density, _)| density)
    }

    /// Whether the panel is met from a density on as a whole, and the viscosity takes none of the values `kinks` in it.
    fn is_whole(&self, from: f64, kinks: &[f64]) -> bool {
        let (least, most) = self.viscosities;
        let bends = |viscosity: &f64| *viscosity > least && *viscosity < most;
        from <= self.ends[0].0 && !kinks.iter().any(bends)
    }

    /// Whether the quadrature meets what is known of it: the integral of the slope of the pressure.
    fn is_exact(&self) -> bool {
        let [(_, low), (_, high)] = self.ends;
        let samples = &self.samples;
        let slopes = std::array::from_fn(|k| samples.densities[k] * samples.dp_drho_t[k]);
        let difference = samples.integral(&slopes) - (high.pressure - low.pressure);
        difference.abs() <= INEXACT * high.pressure
    }

    /// One of the ends and the points of the quadrature, by rising density.
    fn place(&self, place: usize) -> (f64, IsothermPoint) {
        match place {
            0 => self.ends[0],
            1..=SAMPLES => {
                let Sample { density, point } = self.samples.at(place - 1);
                (density, point)
            }
            _ => self.ends[1],
        }
    }

    /// Densities at those places.
    fn density_row(&self) -> [f64; ROW] {
        row(self.densities(), self.samples.densities)
    }

    /// Viscosities there.
    fn viscosity_row(&self) -> [f64; ROW] {
        let ends = self.ends.map(|(_, point)| point.dynamic_viscosity);
        row(ends, self.samples.viscosities)
    }

    /// Pressures there.
    fn pressure_row(&self) -> [f64; ROW] {
        let Samples {
            densities,
            over_densities,
            ..
        } = &self.samples;
        let inner = std::array::from_fn(|k| densities[k] * over_densities[k]);
        row(self.ends.map(|(_, point)| point.pressure), inner)
    }

    /// The least product of density and speed of sound inside the panel, by parabolas through the three lowest points in a row; where
    /// it is least at an end, that.
    fn slowest(&self, properties: &Properties) -> (f64, IsothermPoint) {
        let flux = |(density, point): (f64, IsothermPoint)| sonic_flux(density, point);
        let lowest = (0..ROW).min_by(|i, j| self.fluxes[*i].total_cmp(&self.fluxes[*j]));
        let Some(lowest) = lowest.filter(|place| (1..=SAMPLES).contains(place)) else {
            return self.ends[0];
        };
        let [mut below, mut least, mut above] =
            [lowest - 1, lowest, lowest + 1].map(|place| self.place(place));
        for _ in 0..PARABOLAS {
            let ((a, fa), (b, fb), (c, fc)) = (
                (below.0, flux(below)),
                (least.0, flux(least)),
                (above.0, flux(above)),
            );
            let (left, right) = ((b - a) * (fb - fc), (b - c) * (fb - fa));
            let vertex = b - 0.5 * ((b - a) * left - (b - c) * right) / (left - right);
            if !(vertex > a && vertex < c) || (vertex - b).abs() < VERTEX * b {
                break;
            }
            let next = (vertex, properties.point(self.pieces, vertex));
            let outer = if flux(next) < fb {
                std::mem::replace(&mut least, next)
            } else {
                next
            };
            if outer.0 < least.0 {
                below = outer;
            } else {
                above = outer;
            }
        }
        least
    }

    /// The densest of the places known that a mass flux outruns, with the flux of sound there; none if it outruns none.
    fn densest_outrun(&self, mass_flux: f64) -> Option<(f64, f64)> {
        let outrun = |flux: &f64| *flux <= mass_flux;
        let sampled = self.fluxes.iter().rposition(outrun);
        let sampled = sampled.map(|place| (self.density_row()[place], self.fluxes[place]));
        let slowest = Some(self.slowest_flux()).filter(|(_, flux)| outrun(flux));
        let denser = |one: (f64, f64), other: (f64, f64)| if one.0 < other.0 { other } else { one };
        sampled.into_iter().chain(slowest).reduce(denser)
    }

    /// Density and flux of sound where that is least between others that are greater; else at an end.
    fn slowest_flux(&self) -> (f64, f64) {
        let (density, point) = self.slowest;
        (density, sonic_flux(density, point))
    }

    /// Neighbouring densities of which a mass flux outruns the lower alone, with a start between them and the slope of the flux of sound
    /// there; none where it outruns the whole panel.
    fn choking_bracket(&self, mass_flux: f64) -> Option<([f64; 2], (f64, f64))> {
        let densities = self.density_row();
        let lowest = (densities[0], self.fluxes[0]);
        let (below, at_below) = self.densest_outrun(mass_flux).unwrap_or(lowest);
        let place = densities.iter().position(|density| *density > below)?;
        let (slowest, at_slowest) = self.slowest_flux();
        let (above, at_above) = if slowest > below && slowest < densities[place] {
            (slowest, at_slowest)
        } else {
            (densities[place], self.fluxes[place])
        };
        let ends = [(below, at_below), (above, at_above)];
        Some((
            [below, above],
            estimate(&densities, &self.fluxes, place - 1, ends, mass_flux),
        ))
    }
}

/// A list with its first and last value around it.
fn row([first, last]: [f64; 2], inner: [f64; SAMPLES]) -> [f64; ROW] {
    let mut row = [first; ROW];
    row[1..=SAMPLES].copy_from_slice(&inner);
    row[ROW - 1] = last;
    row
}

/// Smallest and largest of a list and one more value.
fn extremes(row: &[f64; ROW], more: f64) -> (f64, f64) {
    row.iter().fold((more, more), |(low, high), value| {
        (
            if *value < low { *value } else { low },
            if *value > high { *value } else { high },
        )
    })
}

/// Where a property takes a value between two neighbours, the first of them at `place`, and its slope there: on the cubic of the density
/// in the property through four places in a row, or linear where that leaves them, as beside a turn of the property.
fn estimate(
    densities: &[f64; ROW],
    values: &[f64; ROW],
    place: usize,
    [(from, at_from), (to, at_to)]: [(f64, f64); 2],
    value: f64,
) -> (f64, f64) {
    let first = place.saturating_sub(1).min(ROW - 4);
    let x: [f64; 4] = std::array::from_fn(|k| values[first + k]);
    let mut divided: [f64; 4] = std::array::from_fn(|k| densities[first + k]);
    for order in 1..4 {
        for k in (order..4).rev() {
            divided[k] = (divided[k] - divided[k - 1]) / (x[k] - x[k - order]);
        }
    }
    let (mut density, mut stretch) = (divided[3], 0.0);
    for k in (0..3).rev() {
        stretch = density + (value - x[k]) * stretch;
        density = divided[k] + (value - x[k]) * density;
    }
    let slope = (at_to - at_from) / (to - from);
    if density > from && density < to && stretch * slope > 0.0 {
        return (density, stretch.recip());
    }
    (from + (value - at_from) / slope, slope)
}

/// Root by secant steps of which the last is taken, once it is below `settled`: what is left of it is as small as the error of the
/// slope. The bracket where they do not settle.
fn settle(
    start: (f64, f64),
    [low, high]: [f64; 2],
    settled: f64,
    f: impl Fn(f64) -> f64,
) -> Result<f64> {
    let mut value = 0.0;
    let steps = secant_with_slope(start, (low, high), settled * high, |x| {
        value = f(x);
        Some(value)
    });
    match steps {
        Some((x, slope)) => Ok((x - value / slope).clamp(low, high)),
        None => root(low, high, f),
    }
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
    properties: Properties,
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
        let ends = [outlet_density, inlet_density];
        positive(Quantity::Density, outlet_density)?;
        positive(Quantity::Density, inlet_density)?;
        let mut pressures = Sampler {
            properties: |densities: &[f64]| {
                let of = |rho: &f64| over_density(*rho, properties(*rho)?);
                densities.iter().map(of).collect()
            },
        };
        if outlet_density >= inlet_density {
            let found: Vec<[f64; 2]> = (pressures.properties)(&ends)?;
            let mut found = found.iter().zip(ends).map(|(of, density)| of[0] * density);
            return Err(Error::FlowReversed {
                outlet: found.next().unwrap_or(f64::NAN),
                inlet: found.next().unwrap_or(f64::NAN),
            });
        }
        let pressures = pressures.series(ends, None)?;
        let mut viscosities = Sampler {
            properties: |densities: &[f64]| {
                let of = |rho: &f64| {
                    let viscosity = properties(*rho)?.dynamic_viscosity;
                    Ok([positive(Quantity::DynamicViscosity, viscosity)?])
                };
                densities.iter().map(of).collect()
            },
        };
        let viscosities = viscosities.series(ends, None)?;
        Self::of_series(outlet_density, inlet_density, pressures, viscosities)
    }

    /// Isotherm between two densities in kg/m3 of a fluid known as series: pressure over density with its slope, and viscosity, of
    /// pieces by rising density that hold both.
    ///
    /// Errors: 101 for a density not above zero; 503 if the outlet is not the less dense; 102 if the series do not hold them.
    ///
    /// ```
    /// # use densepath::{Fluid, flow::capillary::Isotherm};
    /// # let fluid = Fluid::new("carbon dioxide")?;
    /// let series = fluid.isothermal(373.15)?.series([1.5, 481.0])?;
    /// let isotherm = Isotherm::of_series(1.5, 481.0, series.pressures, series.viscosities)?;
    /// assert!((isotherm.inlet().pressure / 200e5 - 1.0).abs() < 1e-2);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn of_series(
        outlet_density: f64,
        inlet_density: f64,
        pressures: Vec<Series<2>>,
        viscosities: Vec<Series<1>>,
    ) -> Result<Self> {
        let (from, to) = (outlet_density, inlet_density);
        positive(Quantity::Density, from)?;
        positive(Quantity::Density, to)?;
        let ends = |pieces: &[[f64; 2]]| Some((pieces.first()?[0], pieces.last()?[1]));
        let known: Vec<_> = pressures.iter().map(Series::ends).collect();
        let (low, high) = ends(&known).ok_or(NO_PIECES)?;
        within(Quantity::Density, from.min(to), low, high, SERIES)?;
        within(Quantity::Density, from.max(to), low, high, SERIES)?;
        let properties = Properties {
            pressures,
            viscosities,
        };
        let holding = |density: f64, all: &[[f64; 2]]| {
            let place = all.iter().position(|[_, dense]| density <= *dense);
            place.unwrap_or_default()
        };
        let thick: Vec<_> = properties.viscosities.iter().map(Series::ends).collect();
        let at = |density: f64| {
            let pieces = Pieces {
                pressures: holding(density, &known),
                viscosities: holding(density, &thick),
            };
            properties.point(pieces, density)
        };
        let (outlet, inlet) = (at(from), at(to));
        if from >= to {
            return Err(Error::FlowReversed {
                inlet: inlet.pressure,
                outlet: outlet.pressure,
            });
        }
        let panels = panels(&properties, [from, to]);
        Ok(Self {
            outlet,
            inlet,
            whole: panels.len(),
            top: None,
            known: Arc::new(Known { properties, panels }),
        })
    }

    /// The panels by rising density.
    fn panels(&self) -> impl DoubleEndedIterator<Item = &Panel> {
        let whole = self.known.panels.get(..self.whole).unwrap_or_default();
        whole.iter().chain(&self.top)
    }

    /// Points of the quadrature between two densities in a panel.
    fn samples(&self, panel: &Panel, ends: [f64; 2]) -> Samples {
        if ends == panel.densities() {
            return panel.samples;
        }
        self.known.properties.samples(panel.pieces, ends)
    }

    /// The piece of a panel.
    fn piece(&self, panel: &Panel) -> Result<&Series<2>> {
        let pieces = &self.known.properties.pressures;
        pieces.get(panel.pieces.pressures).ok_or(NO_PIECES)
    }

    /// Properties at a density in a panel.
    fn point(&self, panel: &Panel, density: f64) -> IsothermPoint {
        self.known.properties.point(panel.pieces, density)
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
        panel.map_or(self.inlet, |panel| self.point(panel, density))
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
        let density = self.density_at(panel, inlet_pressure)?;
        let inlet = self.point(panel, density);
        let ends = [panel.ends[0], (density, inlet)];
        let top =
            (density > ends[0].0).then(|| Panel::new(&self.known.properties, panel.pieces, ends));
        Ok(Self {
            known: Arc::clone(&self.known),
            whole: place,
            top,
            outlet: self.outlet,
            inlet,
        })
    }

    /// Density in a panel at a pressure in Pa.
    fn density_at(&self, panel: &Panel, pressure: f64) -> Result<f64> {
        let piece = self.piece(panel)?;
        let [low, high] = panel.densities();
        let pressures = panel.pressure_row();
        let above = pressures.iter().position(|known| *known >= pressure);
        let known = above.unwrap_or(ROW - 1).saturating_sub(1);
        let densities = panel.density_row();
        let ends = [known, known + 1].map(|place| (densities[place], pressures[place]));
        let (start, _) = estimate(&densities, &pressures, known, ends, pressure);
        // Shares of the pressure, over those of the greatest density.
        let excess = |share: f64| {
            let [[over_density, dp_drho_t]] = piece.at([share * high]);
            let excess = over_density * share * high / pressure - 1.0;
            (excess, dp_drho_t * high / pressure)
        };
        let near = |share: f64| Some(excess(share));
        let found = match newton(start / high, (low / high, 1.0), NEARLY, near) {
            Some(share) => share,
            None => newton_bisect("isotherm", low / high, 1.0, start / high, FINE, |share| {
                Ok(excess(share))
            })?,
        };
        Ok(found * high)
    }

    /// The integrals over ln density from the density `from` to the inlet of `rho^2 c_T^2/eta`, which is that of `rho/eta dp`, and
    /// of `1/eta`.
    pub(crate) fn laminar_integrals(&self, from: f64) -> [f64; 2] {
        let mut sum = [0.0; 2];
        for panel in self.panels().rev() {
            let [low, high] = panel.densities();
            if high <= from {
                break;
            }
            let share = if low >= from {
                panel.laminar
            } else {
                self.samples(panel, [from, high]).laminar()
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

    /// Hands the points of the quadrature from the density `from` to the inlet to a function, of stretches cut at the densities where
    /// the viscosity takes one of the values `kinks`.
    pub(crate) fn visit(&self, from: f64, kinks: &[f64], mut f: impl FnMut(&Samples)) {
        for panel in self.panels().filter(|panel| panel.ends[1].0 > from) {
            if panel.is_whole(from, kinks) {
                f(&panel.samples);
                continue;
            }
            for stretch in self.stretches(panel, from, kinks) {
                f(&self.samples(panel, stretch));
            }
        }
    }

    /// Integrals over ln density from the density `from` to the inlet of functions of density and properties, cut as
    /// [`Isotherm::visit`] does.
    pub(crate) fn integrate<const M: usize>(
        &self,
        from: f64,
        kinks: &[f64],
        f: impl Fn(&Samples) -> [[f64; M]; SAMPLES],
    ) -> [f64; M] {
        let mut sum = [0.0; M];
        self.visit(from, kinks, |samples| {
            for (weight, found) in samples.weights.iter().zip(f(samples)) {
                sum = std::array::from_fn(|i| sum[i] + weight * found[i]);
            }
        });
        sum
    }

    /// The density up to which the integral from the density `from` of a function above zero comes to a value, cut as
    /// [`Isotherm::integrate`] does; none if it does not before the inlet.
    pub(crate) fn density_where(
        &self,
        from: f64,
        kinks: &[f64],
        value: f64,
        f: impl Fn(&Samples) -> [f64; SAMPLES],
    ) -> Result<Option<f64>> {
        let mut left = value;
        for panel in self.panels().filter(|panel| panel.ends[1].0 > from) {
            for [low, high] in self.stretches(panel, from, kinks) {
                let to = |density: f64| -> f64 {
                    let samples = self.samples(panel, [low, density]);
                    samples.integral(&f(&samples))
                };
                let whole = to(high);
                if whole < left {
                    left -= whole;
                    continue;
                }
                // What is left, as a share of the whole, over ln density.
                let excess = |density: f64| {
                    // The function takes places side by side; here all are one.
                    let [slope, ..] = f(&Samples::alike(density, self.point(panel, density)));
                    ((to(density) - left) / value, slope / value)
                };
                let start = low + (high - low) * (left / whole);
                let near = |logarithm: f64| Some(excess(logarithm.exp()));
                let steps = newton(start.ln(), (low.ln(), high.ln()), NEARLY, near);
                let in_bracket = || {
                    newton_bisect("isotherm", low, high, start, FINE, |density| {
                        let (excess, slope) = excess(density);
                        Ok((excess, slope / density))
                    })
                };
                return steps
                    .map_or_else(in_bracket, |logarithm| Ok(logarithm.exp()))
                    .map(Some);
            }
        }
        Ok(None)
    }

    /// The stretches of a panel from the density `from` on, cut where the viscosity takes one of the values `kinks`.
    fn stretches(
        &self,
        panel: &Panel,
        from: f64,
        kinks: &[f64],
    ) -> impl Iterator<Item = [f64; 2]> + use<> {
        let [low, high] = panel.densities();
        let mut start = low.max(from);
        let mut cuts = Vec::new();
        for viscosity in kinks {
            self.push_crossings(panel, *viscosity, &mut cuts);
        }
        cuts.retain(|cut| *cut > start);
        cuts.sort_by(f64::total_cmp);
        let ends = cuts.into_iter().chain([high]);
        ends.map(move |end| [std::mem::replace(&mut start, end), end])
    }

    /// Densities inside a panel at which the viscosity crosses a value, by what is known of the panel.
    fn push_crossings(&self, panel: &Panel, viscosity: f64, found: &mut Vec<f64>) {
        let (least, most) = panel.viscosities;
        if viscosity <= least || viscosity >= most {
            return;
        }
        let excess = |density: f64| {
            let [at] = self.known.properties.viscosities(panel.pieces, [density]);
            at - viscosity
        };
        let (densities, viscosities) = (panel.density_row(), panel.viscosity_row());
        for place in 0..ROW - 1 {
            let ends = [place, place + 1].map(|place| (densities[place], viscosities[place]));
            let [(from, at_from), (to, at_to)] = ends;
            if (at_from - viscosity) * (at_to - viscosity) < 0.0 {
                let start = estimate(&densities, &viscosities, place, ends, viscosity);
                // A crossing that rounding leaves to one of the ends is near enough to it.
                let crossing = settle(start, [from, to], CUT, excess);
                found.push(crossing.unwrap_or(start.0));
            }
        }
    }

    /// Density at which a mass flux G first reaches the isothermal speed of sound on the way from the inlet; none if it does not
    /// before the outlet, and the inlet itself if it does there.
    pub(crate) fn choking_point(&self, mass_flux: f64) -> Result<Option<f64>> {
        self.choking_point_near(mass_flux, None)
    }

    /// As [`Isotherm::choking_point`], sought near a density.
    pub(crate) fn choking_point_near(
        &self,
        mass_flux: f64,
        near: Option<f64>,
    ) -> Result<Option<f64>> {
        self.choking_point_within(mass_flux, near, SETTLED)
    }

    /// As [`Isotherm::choking_point_near`], until a step relative to the density is the last.
    pub(crate) fn choking_point_within(
        &self,
        mass_flux: f64,
        near: Option<f64>,
        settled: f64,
    ) -> Result<Option<f64>> {
        let mut panels = self.panels().rev();
        let Some(panel) = panels.find(|panel| panel.sonic_fluxes.0 <= mass_flux) else {
            return Ok(None);
        };
        let Some(([low, high], (start, slope))) = panel.choking_bracket(mass_flux) else {
            return Ok(Some(panel.ends[1].0));
        };
        let piece = self.piece(panel)?;
        let margin = |density: f64| {
            let [[_, dp_drho_t]] = piece.at([density]);
            density * dp_drho_t.sqrt() - mass_flux
        };
        let start = near
            .filter(|near| *near > low && *near < high)
            .unwrap_or(start);
        settle((start, slope), [low, high], settled, margin).map(Some)
    }

    /// Whether a mass flux that outruns sound somewhere on the way from the inlet is below the speed of sound again nearer to the
    /// outlet.
    pub(crate) fn reopens(&self, mass_flux: f64) -> bool {
        let mut panels = self.panels().rev();
        let Some(panel) = panels.find(|panel| panel.sonic_fluxes.0 <= mass_flux) else {
            return false;
        };
        let outrun = panel.densest_outrun(mass_flux);
        let outrun = outrun.map_or(panel.ends[0].0, |(density, _)| density);
        let densities = panel.density_row();
        let sampled = densities.iter().zip(panel.fluxes);
        sampled
            .take_while(|(density, _)| **density < outrun)
            .any(|(_, flux)| flux > mass_flux)
            || panels.any(|panel| panel.sonic_fluxes.1 > mass_flux)
    }
}

/// Last step to a choking point, relative to its density.
const SETTLED: f64 = 1e-11;
/// Last step to a place where a stretch is cut, relative to its density: on either side of a kink the integral has no step, so that it
/// tells the square of what is left of this alone.
const CUT: f64 = 1e-6;
/// Newton step of the logarithm of a density, or of its share of another, that leaves a root known to its square.
const NEARLY: f64 = 1e-8;
/// Relative difference within which a pressure is that of the inlet.
const SAME_PRESSURE: f64 = 1e-12;

/// Last digits.
const FINE: Tolerance = Tolerance {
    relative: 1e-14,
    iterations: 200,
};
const NO_PIECES: Error = Error::Internal {
    place: "flow::isotherm, an isotherm without pieces",
};

/// Panels by rising density between two densities, each of a width that the quadrature knows.
fn panels(properties: &Properties, ends: [f64; 2]) -> Vec<Panel> {
    let mut panels = Vec::new();
    for (pieces, [from, to]) in properties.stretches(ends) {
        let count = ((to / from).ln() / WIDEST).ceil().max(1.0);
        let at = |density: f64| (density, properties.point(pieces, density));
        let mut start = at(from);
        let mut number = 1.0;
        while start.0 < to {
            let end = if number < count {
                at(from * (to / from).powf(number / count))
            } else {
                at(to)
            };
            properties.push_panels(pieces, [start, end], HALVINGS, &mut panels);
            (start, number) = (end, number + 1.0);
        }
    }
    panels
}

fn over_density(density: f64, point: IsothermPoint) -> Result<[f64; 2]> {
    positive(Quantity::Pressure, point.pressure)?;
    let compressibility = 1.0 / (density * point.dp_drho_t);
    positive(Quantity::IsothermalCompressibility, compressibility)?;
    Ok([point.pressure / density, point.dp_drho_t])
}

fn root<F: FnMut(f64) -> f64>(low: f64, high: f64, mut f: F) -> Result<f64> {
    if low == high {
        return Ok(low);
    }
    bracketed("isotherm", low, high, FINE, |x| Ok(f(x)))
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
            let [integral] = isotherm.integrate(from, kink, |samples| {
                samples.map(|at| [at.density * at.point.dp_drho_t])
            });
            assert!(close(integral, difference, 1e-9));
        }
        // A step in the integrand at the cut.
        let [step] = isotherm.integrate(0.01, &[2.0], |samples| {
            samples.map(|at| [f64::from(u8::from(at.point.dynamic_viscosity < 2.0))])
        });
        let edge = (5f64.sqrt() - 1.0) / 2.0;
        assert!(close(step, (edge / 0.01).ln(), 1e-9));
    }

    /// Where the flux of sound has a hump and a dip, and where it rises throughout.
    #[test]
    fn a_flux_chokes_at_the_same_place_wherever_it_is_sought_first() {
        for temperature in [1.02, 1.3] {
            let isotherm = Isotherm::new(1e-3, 2.0, |rho| Ok(van_der_waals(temperature, rho)));
            let isotherm = isotherm.unwrap();
            for step in 1..400 {
                let flux = 0.01 * f64::from(step);
                let found = isotherm.choking_point(flux).unwrap();
                for near in [1e-4, 0.02, 0.7, 1.1, 1.99, 3.0] {
                    let again = isotherm.choking_point_near(flux, Some(near)).unwrap();
                    match (found, again) {
                        (Some(one), Some(other)) => assert!(close(one, other, 1e-9), "{flux}"),
                        (one, other) => assert_eq!(one, other),
                    }
                }
                let met = found.map(|rho| sonic_flux(rho, isotherm.at(rho)) / flux - 1.0);
                let inside = found.is_some_and(|rho| rho < isotherm.inlet_density());
                assert!(
                    !inside || met.is_some_and(|met| met.abs() < 1e-11),
                    "{flux}"
                );
            }
        }
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
