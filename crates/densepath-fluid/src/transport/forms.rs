//! The forms of published correlations on plain numbers.

#[cfg(not(feature = "std"))]
use crate::prelude::*;

use core::f64::consts::PI;

use super::Point;
use crate::fluids::forms::{
    BlendRecord, CurveRecord, DensityRecord, DensitySeriesRecord, Exponent, ExponentialPartRecord,
    FractionsRecord, FreeVolumeRecord, FrictionPressure, FrictionRecord, HardSpheresRecord,
    KineticRecord, PartRecord, PeaksRecord, ProductRecord, ReducingRecord, SurfaceRecord,
    SwitchedRecord, VirialRecord,
};

impl Exponent {
    /// `x` to this exponent.
    pub(super) fn of(self, x: f64) -> f64 {
        match self {
            Self::Whole(exponent) => x.powi(exponent),
            Self::SquareRoot => x.sqrt(),
            Self::CubeRoot => x.cbrt(),
            Self::Real(exponent) => x.powf(exponent),
        }
    }
}

impl CurveRecord {
    /// Value at x.
    pub fn at(&self, x: f64) -> f64 {
        let powers: f64 = self.powers.iter().map(|(n, t)| n * t.of(x)).sum();
        let decaying = self.decaying.iter();
        powers
            + decaying
                .map(|(n, t, g, l)| n * t.of(x) * (-g * l.of(x)).exp())
                .sum::<f64>()
    }
}

impl SurfaceRecord {
    /// Value at x and y.
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let powers: f64 = self
            .powers
            .iter()
            .map(|(n, t, d)| n * t.of(x) * d.of(y))
            .sum();
        let decaying = self.decaying.iter();
        powers
            + decaying
                .map(|(n, t, d, g, l)| n * t.of(x) * d.of(y) * (-g * l.of(y)).exp())
                .sum::<f64>()
    }
}

impl ProductRecord {
    /// Value at a temperature in K, in the unit of the property.
    pub fn at(&self, temperature: f64) -> f64 {
        let x = temperature / self.temperature_reducing;
        let value = |curve: &Option<CurveRecord>| curve.as_ref().map(|curve| curve.at(x));
        let denominator: f64 = self.denominators.iter().map(|curve| curve.at(x)).product();
        let log_exponent = self.log_exponent.as_ref();
        let exponent = value(&self.exponent).unwrap_or(0.0)
            + log_exponent.map_or(0.0, |curve| curve.at(x.ln()));
        self.factor
            * self.kinetic.map_or(1.0, |kinetic| kinetic.at(temperature))
            * value(&self.numerator).unwrap_or(1.0)
            / denominator
            * exponent.exp()
    }

    /// Value of the first of several functions whose range holds a temperature in K, or of the last.
    pub fn first(pieces: &[Self], temperature: f64) -> f64 {
        let holds = |piece: &&Self| piece.temperature_max.is_none_or(|max| temperature <= max);
        let piece = pieces.iter().find(holds).or(pieces.last());
        piece.map_or(0.0, |piece| piece.at(temperature))
    }
}

impl KineticRecord {
    /// Viscosity of a gas of hard spheres in Pa s at a temperature in K.
    fn at(self, temperature: f64) -> f64 {
        1e-6 * self.constant * (self.molar_mass * temperature).sqrt() / (self.sigma * self.sigma)
    }
}

impl VirialRecord {
    /// Second viscosity virial coefficient in m3/mol at a temperature in K.
    ///
    /// *Source*: Rainwater, Friend, Phys. Rev. A 36, 4062 (1987), doi 10.1103/PhysRevA.36.4062, in the form of Vogel et al.
    /// 1998, doi 10.1063/1.556025, eqs. 5 to 7.
    pub fn at(&self, temperature: f64) -> f64 {
        self.volume() * self.curve.at(temperature / self.epsilon_over_k)
    }

    /// `N_A sigma^3` in m3/mol.
    fn volume(&self) -> f64 {
        self.avogadro_constant * (1e-9 * self.sigma).powi(3)
    }
}

impl ReducingRecord {
    /// Reduced temperature and density of a point.
    fn reduce(&self, point: &Point) -> (f64, f64) {
        let density = self.of_density(point.density, point.molar_density);
        (point.temperature / self.temperature, density)
    }

    /// Reduced density from the density in kg/m3 and the molar density in mol/m3.
    pub(super) fn of_density(&self, density: f64, molar_density: f64) -> f64 {
        match self.density {
            DensityRecord::Mass(reducing) => density / reducing,
            DensityRecord::Amount(reducing) => molar_density / reducing,
        }
    }
}

impl PartRecord {
    /// Value at a point, where the limit of zero density of the same property is `dilute`.
    pub fn at(&self, point: &Point, dilute: f64) -> f64 {
        match self {
            Self::Fractions(part) => part.at(point),
            Self::FreeVolume(part) => part.at(point),
            Self::Friction(part) => part.at(point),
            Self::Exponential(part) => part.at(point, dilute),
            Self::DensitySeries(part) => part.at(point),
            Self::HardSpheres(part) => part.at(point, dilute),
            Self::Blend(part) => part.at(point, dilute),
            Self::Peaks(part) => part.at(point),
            Self::Switched(part) => part.at(point, dilute),
        }
    }
}

impl FractionsRecord {
    fn at(&self, point: &Point) -> f64 {
        let (x, y) = self.reducing.reduce(point);
        let (n, t, d) = self.prefactor;
        let sum: f64 = self
            .fractions
            .iter()
            .map(|fraction| {
                let denominator = fraction.denominator.as_ref();
                fraction.numerator.at(x, y) / denominator.map_or(1.0, |below| below.at(x, y))
            })
            .sum();
        let logarithm = if self.logarithm { y.ln() } else { 1.0 };
        n * t.of(x) * d.of(y) * logarithm * sum
    }
}

impl PeaksRecord {
    /// *Source*: Vogel, Span, Herrmann, J. Phys. Chem. Ref. Data 44, 043101 (2015), doi 10.1063/1.4930838, the term of the
    /// critical enhancement.
    fn at(&self, point: &Point) -> f64 {
        let (x, y) = self.reducing.reduce(point);
        let (inverse, excess) = (1.0 / x, y - 1.0);
        let peak = |[n, beta, epsilon]: &[f64; 3]| {
            n * (-beta * excess * excess - epsilon * (inverse - 1.0).abs()).exp()
        };
        inverse * y * self.terms.iter().map(peak).sum::<f64>()
    }
}

impl FreeVolumeRecord {
    /// The form of Vogel, Küchenmeister, Bich, Laesecke, J. Phys. Chem. Ref. Data 27, 947 (1998), doi 10.1063/1.556025,
    /// eqs. 8 and 9.
    fn at(&self, point: &Point) -> f64 {
        let (x, y) = self.reducing.reduce(point);
        let denominator = self.denominator.as_ref();
        let packed = self.numerator.at(x) / denominator.map_or(1.0, |curve| curve.at(x));
        self.factor.at(x, y) * (1.0 / (packed - y) - 1.0 / packed)
    }
}

impl FrictionRecord {
    /// *Source*: Quiñones-Cisneros, Deiters, J. Phys. Chem. B 110, 12820 (2006), doi 10.1021/jp0618577.
    fn at(&self, point: &Point) -> f64 {
        let tau = self.temperature_reducing / point.temperature;
        let psi = [tau.exp() - self.c[0], (tau * tau).exp() - self.c[1]];
        self.terms
            .iter()
            .map(|term| {
                let pressure = 1e-5 * point.share(term.pressure);
                let [a_0, a_1, a_2] = term.a;
                (a_0 + a_1 * psi[0] + a_2 * psi[1]) * tau.powi(term.n) * pressure.powi(term.m)
            })
            .sum()
    }
}

impl Point {
    /// A share of the pressure in Pa.
    fn share(&self, share: FrictionPressure) -> f64 {
        match share {
            FrictionPressure::Ideal => self.ideal_pressure,
            FrictionPressure::Repulsive => self.thermal_pressure,
            FrictionPressure::ResidualRepulsive => self.thermal_pressure - self.ideal_pressure,
            FrictionPressure::Attractive => self.pressure - self.thermal_pressure,
        }
    }
}

impl ExponentialPartRecord {
    fn at(&self, point: &Point, dilute: f64) -> f64 {
        let (x, y) = self.reducing.reduce(point);
        let (inverse, excess) = (1.0 / x - 1.0, y - 1.0);
        let terms = self.terms.iter();
        let sum: f64 = terms
            .map(|(n, i, j)| n * inverse.powi(*i) * excess.powi(*j))
            .sum();
        dilute * (y * sum).exp_m1()
    }
}

impl DensitySeriesRecord {
    fn at(&self, point: &Point) -> f64 {
        let (x, y) = self.reducing.reduce(point);
        let x = x
            .min(self.temperature_held / self.reducing.temperature)
            .ln();
        let sum = self
            .series
            .iter()
            .rev()
            .fold(0.0, |sum, curve| y * (curve.at(x) + sum));
        self.factor * self.level.at(x).exp() * sum.exp_m1()
    }
}

impl HardSpheresRecord {
    /// *Source*: Xiang, Laesecke, Huber, J. Phys. Chem. Ref. Data 35, 1597 (2006), doi 10.1063/1.2360605.
    fn at(&self, point: &Point, dilute: f64) -> f64 {
        let (x, y) = self.reducing.reduce(point);
        let rho = point.molar_density;
        let diameter = self.diameter_of_temperature.at(1.0 / x) + self.diameter_of_density.at(y);
        let diameter = 1e-9 * self.sigma * diameter;
        let b_rho = 2.0 / 3.0 * PI * self.avogadro_constant * diameter.powi(3) * rho;
        let zeta = b_rho / 4.0;
        let contact = (1.0 - 0.5 * zeta) / (1.0 - zeta).powi(3);
        let dense =
            1.0 / contact + self.enskog[0] * b_rho + self.enskog[1] * contact * b_rho * b_rho;
        let third = self.virial.volume().powi(2) * self.third_virial.at(point.temperature);
        let gas = 1.0 + self.virial.at(point.temperature) * rho + third * rho * rho;
        let share = 1.0 / (1.0 + (self.steepness * (y - 1.0)).exp());
        dilute * (share * gas + (1.0 - share) * dense - 1.0)
    }
}

impl SwitchedRecord {
    /// *Source*: Cui, Gao, Wu, J. Phys. Chem. Ref. Data 54, 033106 (2025), doi 10.1063/5.0280205, eqs. 9 to 16.
    fn at(&self, point: &Point, dilute: f64) -> f64 {
        let (_, y) = self.reducing.reduce(point);
        let thin = switch(point.density / self.thin_density);
        let gas = thin * self.thin_gas + (1.0 - thin) * self.gas.at(y);
        let virial = self.virial.at(point.temperature) * point.density / self.molar_mass;
        let liquid = dilute * virial + self.scale.at(point.temperature) * self.liquid.at(point);
        let share = switch(point.density / self.gas_density);
        share * gas + (1.0 - share) * liquid
    }
}

/// One below, zero above a density of which x is the share.
fn switch(x: f64) -> f64 {
    (-(x * (x - 1.0)).powi(3)).exp()
}

impl BlendRecord {
    /// *Source*: Shan, Penoncello, Jacobsen, ASHRAE Trans. 106, 757 (2000).
    fn at(&self, point: &Point, dilute: f64) -> f64 {
        let (t, rho) = (point.temperature, 1e-3 * point.molar_density);
        let free = self.liquid_density - rho;
        let y = rho / self.liquid_density;
        let activation = rho / free * self.activation_energy / (self.gas_constant * t);
        let liquid = self.c_2 * self.liquid_density.powi(2) / free * t.sqrt() * activation.exp();
        let (chi, tau) = (rho - self.critical_density, t - self.critical_temperature);
        let peak = self.peak / (chi.cosh() * tau.cosh());
        (1.0 - y).powf(self.c_1) * dilute + y.powf(self.c_1) * liquid + peak - dilute
    }
}
