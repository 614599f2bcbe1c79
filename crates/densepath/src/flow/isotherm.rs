//! One isotherm of a fluid between two densities, as piecewise polynomials of the logarithm of density.
//!
//! In density every property of a fluid is smooth, near the critical point too, where the density is a steep function of
//! pressure; and an equation of state gives the pressure of a density without a solve. So the flow along an isotherm is
//! integrated in density, and the equation of state is asked a few dozen times only, whatever is solved for.

use crate::fluid::error::{Error, Result, positive, within};
use crate::fluid::num::quad::samples;
use crate::fluid::num::root::{Tolerance, bracketed};
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

/// Number of nodes of one polynomial.
const NODES: usize = 13;

/// Chebyshev points of the second kind on [-1, 1], cos(pi j/12), rising.
const POINTS: [f64; NODES] = [
    -1.0,
    -0.965_925_826_289_068_3,
    -0.866_025_403_784_438_6,
    -std::f64::consts::FRAC_1_SQRT_2,
    -0.5,
    -0.258_819_045_102_520_74,
    0.0,
    0.258_819_045_102_520_74,
    0.5,
    std::f64::consts::FRAC_1_SQRT_2,
    0.866_025_403_784_438_6,
    0.965_925_826_289_068_3,
    1.0,
];

/// Points between the nodes at which a polynomial is compared with the property.
const PROBES: [f64; 2] = [-0.923_879_532_511_286_8, 0.130_526_192_220_051_6];

/// Error allowed of a piece, times its width in ln density: about its share in an integral over the isotherm.
const TOLERANCE: f64 = 1e-8;

/// Number of halvings after which a property is taken as discontinuous.
const DEEPEST: u32 = 20;

/// Widest piece in ln density.
const WIDEST: f64 = 2.0;

/// Pressure over density, wave speed squared and viscosity.
type Values = [f64; 3];

#[derive(Debug, Clone, PartialEq)]
struct Piece {
    from: f64,
    to: f64,
    values: [Values; NODES],
    /// Weight in an integral over ln density, density and properties, at the points of the quadrature.
    samples: [(f64, f64, IsothermPoint); 10],
}

impl Piece {
    /// A piece whose inner nodes are still to be filled.
    fn between(from: f64, to: f64, ends: [Values; 2]) -> Self {
        let mut values = [ends[0]; NODES];
        values[NODES - 1] = ends[1];
        Self {
            from,
            to,
            values,
            samples: [(0.0, 1.0, point_of(1.0, ends[0])); 10],
        }
    }

    /// Samples the finished polynomials, so that integrals over the whole piece need not interpolate.
    fn sampled(mut self) -> Self {
        for (index, (x, weight)) in samples(self.from, self.to).into_iter().enumerate() {
            let density = x.exp();
            self.samples[index] = (weight, density, point_of(density, self.values(x)));
        }
        self
    }

    /// The part of the piece below a point, by its own polynomials.
    fn up_to(&self, to: f64) -> Self {
        let mut part = Self::between(self.from, to, [self.values(self.from), self.values(to)]);
        for index in 1..NODES - 1 {
            part.values[index] = self.values(part.node(index));
        }
        part.sampled()
    }

    /// Inner points at which the viscosity crosses a value, rising.
    fn crossings(&self, viscosity: f64) -> Result<Vec<f64>> {
        let excess = |values: &Values| values[2] - viscosity;
        let mut found = Vec::new();
        for index in 0..NODES - 1 {
            if excess(&self.values[index]) * excess(&self.values[index + 1]) < 0.0 {
                let (low, high) = (self.node(index), self.node(index + 1));
                found.push(root(low, high, |x| excess(&self.values(x)))?);
            }
        }
        Ok(found)
    }

    /// Integral of a function over a part of the piece.
    fn integrate<F>(&self, from: f64, to: f64, f: &mut F) -> f64
    where
        F: FnMut(f64, IsothermPoint) -> f64,
    {
        if from == self.from && to == self.to {
            let sample =
                |(weight, density, point): &(f64, f64, IsothermPoint)| weight * f(*density, *point);
            return self.samples.iter().map(sample).sum();
        }
        let sample = |(x, weight): (f64, f64)| {
            let density = x.exp();
            weight * f(density, point_of(density, self.values(x)))
        };
        samples(from, to).into_iter().map(sample).sum()
    }

    fn node(&self, index: usize) -> f64 {
        // The ends are exact, so that neighbouring pieces meet.
        match index {
            0 => self.from,
            12 => self.to,
            _ => 0.5 * (self.from + self.to) + 0.5 * (self.to - self.from) * POINTS[index],
        }
    }

    /// Barycentric interpolation (J.-P. Berrut and L. N. Trefethen, SIAM Rev. 46, 501 (2004),
    /// doi 10.1137/S0036144502417715, eq. 5.4).
    fn values(&self, x: f64) -> Values {
        let (mut above, mut below) = ([0.0; 3], 0.0);
        for (index, values) in self.values.iter().enumerate() {
            let distance = x - self.node(index);
            if distance == 0.0 {
                return *values;
            }
            let end = index == 0 || index == NODES - 1;
            let sign = if index % 2 == 0 { 1.0 } else { -1.0 };
            let weight = if end { 0.5 * sign } else { sign } / distance;
            below += weight;
            for (sum, value) in above.iter_mut().zip(values) {
                *sum += weight * value;
            }
        }
        above.map(|sum| sum / below)
    }
}

/// An isotherm between the density of an outlet and that of an inlet.
#[derive(Debug, Clone, PartialEq)]
pub struct Isotherm {
    pieces: Vec<Piece>,
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
        positive(Quantity::Density, outlet_density)?;
        positive(Quantity::Density, inlet_density)?;
        let (outlet, inlet) = (properties(outlet_density)?, properties(inlet_density)?);
        if outlet_density >= inlet_density {
            return Err(Error::FlowReversed {
                inlet: inlet.pressure,
                outlet: outlet.pressure,
            });
        }
        let (from, to) = (outlet_density.ln(), inlet_density.ln());
        let mut isotherm = Self {
            pieces: Vec::new(),
            outlet,
            inlet,
        };
        let ends = [
            values_of(outlet_density, outlet)?,
            values_of(inlet_density, inlet)?,
        ];
        isotherm.refine(from, to, ends, 0, &mut |x| {
            let density = x.exp();
            values_of(density, properties(density)?)
        })?;
        Ok(isotherm)
    }

    fn refine<F>(
        &mut self,
        from: f64,
        to: f64,
        ends: [Values; 2],
        depth: u32,
        f: &mut F,
    ) -> Result<()>
    where
        F: FnMut(f64) -> Result<Values>,
    {
        let width = to - from;
        let mut piece = Piece::between(from, to, ends);
        let mut error = f64::INFINITY;
        if width <= WIDEST {
            for index in 1..NODES - 1 {
                piece.values[index] = f(piece.node(index))?;
            }
            error = 0.0;
            for probe in PROBES {
                let x = 0.5 * (from + to) + 0.5 * width * probe;
                for (guess, value) in piece.values(x).iter().zip(f(x)?) {
                    error = f64::max(error, (guess / value - 1.0).abs());
                }
            }
        }
        if error * width <= TOLERANCE {
            self.pieces.push(piece.sampled());
            return Ok(());
        }
        if depth == DEEPEST {
            return Err(Error::NoConvergence {
                solver: "isotherm of one phase",
                iterations: depth,
                residual: error,
                tolerance: TOLERANCE,
            });
        }
        let middle = 0.5 * (from + to);
        let between = f(middle)?;
        self.refine(from, middle, [ends[0], between], depth + 1, f)?;
        self.refine(middle, to, [between, ends[1]], depth + 1, f)
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
        self.pieces
            .first()
            .map_or(f64::NAN, |piece| piece.from.exp())
    }

    /// Density at the inlet in kg/m3.
    pub fn inlet_density(&self) -> f64 {
        self.pieces.last().map_or(f64::NAN, |piece| piece.to.exp())
    }

    /// Properties at a density in kg/m3; outside the isotherm those of its nearer end.
    pub fn at(&self, density: f64) -> IsothermPoint {
        let x = density.ln();
        let piece = self
            .pieces
            .iter()
            .find(|piece| x <= piece.to)
            .or(self.pieces.last());
        match piece {
            Some(piece) => point_of(density, piece.values(x.clamp(piece.from, piece.to))),
            None => self.outlet,
        }
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
        let mut pieces = Vec::with_capacity(self.pieces.len());
        for piece in &self.pieces {
            let pressure = |x: f64| x.exp() * piece.values(x)[0] - inlet_pressure;
            if pressure(piece.to) <= 0.0 {
                pieces.push(piece.clone());
                continue;
            }
            let top = root(piece.from, piece.to, pressure)?;
            if top > piece.from {
                pieces.push(piece.up_to(top));
            }
            let inlet = point_of(top.exp(), piece.values(top));
            return Ok(Self {
                pieces,
                outlet: self.outlet,
                inlet,
            });
        }
        Ok(self.clone())
    }

    /// Integral over ln density from `from` to the inlet of a function of density and properties, cut at the densities
    /// where the viscosity takes one of the values `kinks`.
    pub(crate) fn integrate<F>(&self, from: f64, kinks: &[f64], mut f: F) -> Result<f64>
    where
        F: FnMut(f64, IsothermPoint) -> f64,
    {
        let mut sum = 0.0;
        for piece in self.pieces.iter().filter(|piece| piece.to > from) {
            let mut start = piece.from.max(from);
            let mut cuts = Vec::new();
            for viscosity in kinks {
                cuts.extend(piece.crossings(*viscosity)?);
            }
            cuts.sort_by(f64::total_cmp);
            for end in cuts.into_iter().filter(|cut| *cut > from).chain([piece.to]) {
                sum += piece.integrate(start, end, &mut f);
                start = end;
            }
        }
        Ok(sum)
    }

    /// Logarithm of the density at which a mass flux G first reaches the isothermal speed of sound on the way from the
    /// inlet; none if it does not before the outlet, and the inlet itself if it does there.
    pub(crate) fn choking_point(&self, mass_flux: f64) -> Result<Option<f64>> {
        let margin = |x: f64, values: &Values| x.exp() * values[1].sqrt() - mass_flux;
        let mut above = f64::NAN;
        for piece in self.pieces.iter().rev() {
            for index in (0..NODES).rev() {
                let x = piece.node(index);
                if margin(x, &piece.values[index]) <= 0.0 {
                    return if above.is_nan() {
                        Ok(Some(x))
                    } else {
                        root(x, above, |x| margin(x, &piece.values(x))).map(Some)
                    };
                }
                above = x;
            }
        }
        Ok(None)
    }

    /// Whether a mass flux stays below the speed of sound again somewhere between a point at which it choked and the outlet.
    pub(crate) fn reopens(&self, choked: f64, mass_flux: f64) -> bool {
        self.pieces
            .iter()
            .flat_map(|piece| (0..NODES).map(|index| (piece.node(index), &piece.values[index])))
            .take_while(|(x, _)| *x < choked)
            .any(|(x, values)| x.exp() * values[1].sqrt() > mass_flux)
    }
}

fn root<F: FnMut(f64) -> f64>(low: f64, high: f64, mut f: F) -> Result<f64> {
    if low == high {
        return Ok(low);
    }
    let tolerance = Tolerance {
        relative: 1e-14,
        ..Tolerance::default()
    };
    bracketed("isotherm", low, high, tolerance, |x| Ok(f(x)))
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
