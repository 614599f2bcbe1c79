//! A short Helmholtz equation, fitted to all that is known of a substance at once.
//!
//! The terms are those of a relative with a reference equation, at the critical point of the substance. Their coefficients
//! are found by least squares in the way of Setzmann and Wagner (Int. J. Thermophys. 10, 1103 (1989), doi
//! 10.1007/bf00500566, from memory) with what Lemmon and Jacobsen (J. Phys. Chem. Ref. Data 34, 69 (2005), doi 10.1063/1.1797813, from memory) add
//! to it: measurements of every kind together, and constraints that keep the equation in shape where there are none. The
//! coefficients of the relative are the start, and a weak pull to them decides what no measurement decides.
//!
//! Every value and every derivative in a coefficient is computed by the library: an equation is linear in its terms, so the
//! library evaluates each term as an equation of its own.

use densepath_fluid::consts::MOLAR_GAS_CONSTANT;
use densepath_fluid::eos::{Helmholtz, Isotherm, PointDerivatives};
use densepath_fluid::fluids::record::{EquationOfState, IdealRecord, ResidualRecord};
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt, TerminationReason};
use nalgebra::{DMatrix, DVector, Dyn, Owned};

use super::ancillary::digits;
use super::ideal;
use super::measurement::{Definition, Quantity};

/// A value to which the equation is fitted.
#[derive(Debug, Clone, Copy)]
pub struct Target {
    pub kind: Kind,
    pub temperature: f64,
    /// Pa; not used by a vapour pressure and a virial coefficient.
    pub pressure: f64,
    pub value: f64,
    /// Relative standard deviation.
    pub deviation: f64,
}

/// What a target is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Measured(Quantity),
    /// `B` in m3/mol.
    SecondVirial,
}

/// An equation with the terms of a relative and free coefficients.
#[derive(Debug, Clone)]
pub struct Equation {
    record: EquationOfState,
    terms: Vec<ResidualRecord>,
    coefficients: Vec<f64>,
    exponents: Vec<f64>,
    /// Reduced density from which every liquid is sought.
    dense: f64,
}

/// The terms of a residual part one by one, with coefficient 1, and their coefficients.
fn separated(residual: &ResidualRecord) -> (Vec<ResidualRecord>, Vec<f64>) {
    let mut terms = Vec::new();
    let mut coefficients = Vec::new();
    macro_rules! separate {
        ($kind:ident) => {
            for term in &residual.$kind {
                coefficients.push(term.n);
                let mut single = ResidualRecord::default();
                let mut term = term.clone();
                term.n = 1.0;
                single.$kind.push(term);
                terms.push(single);
            }
        };
    }
    separate!(power);
    separate!(exponential);
    separate!(gaussian);
    (terms, coefficients)
}

/// The exponent of tau of a single term.
fn exponent(term: &ResidualRecord) -> f64 {
    let powers = term.power.iter().map(|term| term.t);
    let exponentials = term.exponential.iter().map(|term| term.t);
    let bells = term.gaussian.iter().map(|term| term.t);
    powers.chain(exponentials).chain(bells).sum()
}

/// A single term with another coefficient and exponent of tau.
fn with(term: &ResidualRecord, n: f64, t: f64) -> ResidualRecord {
    let mut term = term.clone();
    for power in &mut term.power {
        (power.n, power.t) = (n, t);
    }
    for exponential in &mut term.exponential {
        (exponential.n, exponential.t) = (n, t);
    }
    for bell in &mut term.gaussian {
        (bell.n, bell.t) = (n, t);
    }
    term
}

impl Equation {
    /// The equation of a relative at the critical point of a substance.
    pub fn conformal(
        definition: &Definition,
        relative: &EquationOfState,
        oscillators: &[[f64; 2]],
    ) -> Self {
        let critical = &definition.critical_point;
        let (terms, coefficients) = separated(&relative.residual);
        let mut record = relative.clone();
        record.gas_constant = MOLAR_GAS_CONSTANT;
        record.molar_mass = definition.molar_mass;
        record.temperature_reducing = critical.temperature;
        record.molar_density_reducing = critical.molar_density;
        record.critical_point = critical.clone();
        record.dome_top = None;
        record.triple_point = definition.triple_point.clone();
        record.ideal = IdealRecord {
            lead: [0.0, 0.0],
            log_tau: ideal::RIGID - 1.0,
            planck_einstein: oscillators
                .iter()
                .map(|[n, theta]| [*n, theta / critical.temperature])
                .collect(),
            power: Vec::new(),
            sinh: Vec::new(),
            cosh: Vec::new(),
            logistic: Vec::new(),
        };
        let exponents = terms.iter().map(exponent).collect();
        Self {
            exponents,
            dense: densest(relative),
            record,
            terms,
            coefficients,
        }
    }

    /// The data record with the present coefficients.
    pub fn record(&self) -> EquationOfState {
        let mut residual = ResidualRecord::default();
        let unknowns = self.coefficients.iter().zip(&self.exponents);
        for (term, (n, t)) in self.terms.iter().zip(unknowns) {
            let term = with(term, *n, *t);
            residual.power.extend(term.power);
            residual.exponential.extend(term.exponential);
            residual.gaussian.extend(term.gaussian);
        }
        self.with_residual(residual)
    }

    /// The data record with another residual part.
    fn with_residual(&self, residual: ResidualRecord) -> EquationOfState {
        let mut record = self.record.clone();
        record.residual = residual;
        record
    }

    /// The equation of the library with the present coefficients.
    pub fn helmholtz(&self) -> Helmholtz {
        Helmholtz::new(&self.record())
    }

    /// Every term as an equation: with coefficient 1, and with its own coefficient at two exponents a step apart.
    fn basis(&self) -> Basis {
        let of = |residual| Helmholtz::new(&self.with_residual(residual));
        let unknowns = self.coefficients.iter().zip(&self.exponents);
        let terms = self.terms.iter().zip(unknowns);
        let at = |n: Option<f64>, shift: f64| {
            let terms = terms.clone();
            terms
                .map(|(term, (own, t))| {
                    of(with(
                        term,
                        n.unwrap_or(*own / (2.0 * EXPONENT_STEP)),
                        t + shift,
                    ))
                })
                .collect()
        };
        Basis {
            single: at(Some(1.0), 0.0),
            raised: at(None, EXPONENT_STEP),
            lowered: at(None, -EXPONENT_STEP),
        }
    }

    /// Density in kg/m3 of the densest liquid.
    pub fn densest(&self) -> f64 {
        self.dense * self.record.molar_density_reducing * self.record.molar_mass
    }
}

/// Reduced density of the densest liquid, at which a search begins.
pub fn densest(record: &EquationOfState) -> f64 {
    record.reduced_density_max.min(3.6)
}

/// Scale of a change of an exponent.
const EXPONENT_SCALE: f64 = 0.3;

/// Step of the differences in an exponent.
const EXPONENT_STEP: f64 = 1e-4;

/// The derivatives of an equation in its unknowns, as equations.
struct Basis {
    single: Vec<Helmholtz>,
    raised: Vec<Helmholtz>,
    lowered: Vec<Helmholtz>,
}

impl Basis {
    fn len(&self) -> usize {
        2 * self.single.len()
    }
}

/// Steps of a search for a density.
const STEPS: u32 = 100;

/// Density in kg/m3 at which an isotherm has a pressure, by Newton's method from a start on the side on which it converges
/// without passing the root: above the density of a liquid, below that of a vapour.
pub fn density(isotherm: &Isotherm<'_>, pressure: f64, start: f64) -> Option<f64> {
    let mut density = start;
    for _ in 0..STEPS {
        let point = isotherm.pressure(density);
        if point.dp_drho.is_nan() || point.dp_drho <= 0.0 {
            return None;
        }
        let step = (pressure - point.pressure) / point.dp_drho;
        density += step;
        if step.abs() < 1e-13 * density {
            return Some(density);
        }
    }
    None
}

/// A residual over its standard deviation, with its derivatives in the coefficients.
type Row = (f64, Vec<f64>);

/// Stands for a residual that cannot be computed.
const REFUSED: f64 = 1e5;

/// What a fit is to reach.
#[derive(Debug, Clone, Copy)]
pub struct Stage {
    /// Pull of the coefficients to those of the relative.
    pub adherence: f64,
    /// Pull of the exponents to those of the relative, against that of the coefficients.
    pub exponents: f64,
    /// Standard deviation of the critical conditions.
    pub critical: f64,
    /// Weight of the shape inside the dome.
    pub shape: f64,
}

/// The critical isotherm rises at least as `FLATNESS (delta - 1)^2`, where the equation of van der Waals has 27/16.
const FLATNESS: f64 = 0.2;
const FLATNESS_DEVIATION: f64 = 0.05;

struct Fit<'a> {
    equation: Equation,
    start: Vec<f64>,
    scales: Vec<f64>,
    start_exponents: Vec<f64>,
    basis: Basis,
    targets: &'a [Target],
    stage: Stage,
    rows: Vec<Row>,
}

/// Fits the coefficients to the targets.
pub fn fit(
    equation: &Equation,
    start: (&[f64], &[f64]),
    targets: &[Target],
    stage: Stage,
) -> Result<Equation, String> {
    let scales = start.0.iter().map(|n| n.abs() + 0.02).collect();
    let mut problem = Fit {
        basis: equation.basis(),
        equation: equation.clone(),
        start: start.0.to_vec(),
        start_exponents: start.1.to_vec(),
        scales,
        targets,
        stage,
        rows: Vec::new(),
    };
    problem.evaluate();
    let (found, report) = LevenbergMarquardt::new()
        .with_patience(100)
        .minimize(problem);
    match report.termination {
        TerminationReason::LostPatience => Ok(found.equation),
        termination if termination.was_successful() => Ok(found.equation),
        termination => Err(format!("{termination:?}")),
    }
}

impl Equation {
    /// Coefficients of the terms.
    pub fn coefficients(&self) -> &[f64] {
        &self.coefficients
    }

    /// Exponents of tau of the terms.
    pub fn exponents(&self) -> &[f64] {
        &self.exponents
    }

    /// Rounds the unknowns to the digits that a data file carries.
    pub fn round(&mut self) {
        for number in self.coefficients.iter_mut().chain(&mut self.exponents) {
            *number = digits(*number, 12);
        }
    }
}

impl Fit<'_> {
    fn evaluate(&mut self) {
        let helmholtz = self.equation.helmholtz();
        let mut rows = Vec::with_capacity(self.targets.len() + 300);
        for target in self.targets {
            rows.push(
                self.row(&helmholtz, target)
                    .unwrap_or_else(|| (REFUSED, vec![0.0; self.basis.len()])),
            );
        }
        self.critical_rows(&helmholtz, &mut rows);
        self.shape_rows(&helmholtz, &mut rows);
        self.loop_rows(&helmholtz, &mut rows);
        let count = self.scales.len();
        let mut pull = |index: usize, distance: f64, scale: f64, weight: f64| {
            let mut slopes = vec![0.0; self.basis.len()];
            slopes[index] = self.stage.adherence * weight / scale;
            rows.push((distance * slopes[index], slopes));
        };
        for (index, coefficient) in self.equation.coefficients.iter().enumerate() {
            pull(
                index,
                coefficient - self.start[index],
                self.scales[index],
                1.0,
            );
        }
        for (index, exponent) in self.equation.exponents.iter().enumerate() {
            pull(
                count + index,
                exponent - self.start_exponents[index],
                EXPONENT_SCALE,
                self.stage.exponents,
            );
        }
        self.rows = rows;
    }

    /// Every term at a point.
    fn terms(&self, temperature: f64, density: f64) -> Vec<PointDerivatives> {
        let at = |term: &Helmholtz| term.isotherm(temperature).residual(density);
        let pairs = self.basis.raised.iter().zip(&self.basis.lowered);
        let exponents = pairs.map(|(raised, lowered)| at(raised) + at(lowered) * -1.0);
        self.basis.single.iter().map(at).chain(exponents).collect()
    }

    /// A target over its standard deviation; nothing where the equation has no such state.
    fn row(&self, helmholtz: &Helmholtz, target: &Target) -> Option<Row> {
        let isotherm = helmholtz.isotherm(target.temperature);
        let (residual, slopes) = match target.kind {
            Kind::SecondVirial => self.second_virial(helmholtz, &isotherm, target),
            Kind::Measured(Quantity::Density) => self.density(&isotherm, target),
            Kind::Measured(Quantity::VapourPressure) => self.vapour_pressure(&isotherm, target)?,
            Kind::Measured(Quantity::HeatCapacity) => self.heat_capacity(&isotherm, target)?,
            Kind::Measured(Quantity::SpeedOfSound) => self.speed_of_sound(&isotherm, target)?,
        };
        let over = |number: f64| number / target.deviation;
        let row = (over(residual), slopes.into_iter().map(over).collect());
        residual.is_finite().then_some(row)
    }

    /// `B = lim alpha^r_delta / rho`.
    fn second_virial(
        &self,
        helmholtz: &Helmholtz,
        isotherm: &Isotherm<'_>,
        target: &Target,
    ) -> Row {
        let thin = 1e-7 * helmholtz.density_reducing;
        let molar = self.equation.record.molar_mass / thin;
        let scale = target.value.abs();
        let terms = self.terms(target.temperature, thin);
        (
            (isotherm.residual(thin).a_d * molar - target.value) / scale,
            terms.iter().map(|term| term.a_d * molar / scale).collect(),
        )
    }

    /// The error of the pressure at the measured density, as an error of the density.
    fn density(&self, isotherm: &Isotherm<'_>, target: &Target) -> Row {
        let (density, rt) = (target.value, isotherm.thermal_energy());
        let point = isotherm.pressure(density);
        let stiffness = density * point.dp_drho.max(0.05 * rt);
        let terms = self.terms(target.temperature, density);
        let slopes = terms
            .iter()
            .map(|term| -density * rt * term.a_d / stiffness);
        (
            (target.pressure - point.pressure) / stiffness,
            slopes.collect(),
        )
    }

    /// Both branches at the measured pressure; the difference of their Gibbs energies is the error of the pressure times that
    /// of their compression factors.
    fn vapour_pressure(&self, isotherm: &Isotherm<'_>, target: &Target) -> Option<Row> {
        let (pressure, rt) = (target.value, isotherm.thermal_energy());
        let liquid = density(isotherm, pressure, self.equation.densest())?;
        let vapour = density(isotherm, pressure, pressure / rt)?;
        let gap = pressure / rt * (1.0 / vapour - 1.0 / liquid);
        let [at_liquid, at_vapour] =
            [liquid, vapour].map(|density| isotherm.pressure(density).potential);
        let [terms, others] =
            [liquid, vapour].map(|density| self.terms(target.temperature, density));
        let slopes = terms.iter().zip(&others).map(|(l, v)| (l.a - v.a) / gap);
        Some(((at_liquid - at_vapour) / gap, slopes.collect()))
    }

    fn heat_capacity(&self, isotherm: &Isotherm<'_>, target: &Target) -> Option<Row> {
        let liquid = density(isotherm, target.pressure, self.equation.densest())?;
        let a = isotherm.residual(liquid);
        let (top, bottom) = (1.0 + a.a_d - a.a_dt, 1.0 + 2.0 * a.a_d + a.a_dd);
        let found = -(isotherm.ideal().second + a.a_tt) + top * top / bottom;
        let wanted = target.value / MOLAR_GAS_CONSTANT;
        let slope = |t: &PointDerivatives| {
            let ratio = top / bottom;
            let change = 2.0 * ratio * (t.a_d - t.a_dt) - ratio * ratio * (2.0 * t.a_d + t.a_dd);
            (change - t.a_tt) / wanted
        };
        let terms = self.terms(target.temperature, liquid);
        Some((found / wanted - 1.0, terms.iter().map(slope).collect()))
    }

    fn speed_of_sound(&self, isotherm: &Isotherm<'_>, target: &Target) -> Option<Row> {
        let liquid = density(isotherm, target.pressure, self.equation.densest())?;
        let a = isotherm.residual(liquid);
        let isochoric = isotherm.ideal().second + a.a_tt;
        let (top, bottom) = (1.0 + a.a_d - a.a_dt, 1.0 + 2.0 * a.a_d + a.a_dd);
        let found = bottom - top * top / isochoric;
        let wanted = target.value * target.value / isotherm.thermal_energy();
        let slope = |t: &PointDerivatives| {
            let ratio = top / isochoric;
            let change = ratio * ratio * t.a_tt - 2.0 * ratio * (t.a_d - t.a_dt);
            0.5 * (2.0 * t.a_d + t.a_dd + change) / wanted
        };
        let terms = self.terms(target.temperature, liquid);
        Some((
            0.5 * (found / wanted - 1.0),
            terms.iter().map(slope).collect(),
        ))
    }

    /// The critical point: its pressure, `(dp/drho)_T = 0` and `(d2p/drho2)_T = 0`.
    fn critical_rows(&self, helmholtz: &Helmholtz, rows: &mut Vec<Row>) {
        /// Step of the difference in density.
        const STEP: f64 = 1e-3;
        let deviation = self.stage.critical;
        let record = &self.equation.record;
        let (temperature, centre) = (
            record.critical_point.temperature,
            helmholtz.density_reducing,
        );
        let isotherm = helmholtz.isotherm(temperature);
        let slope = |a: &PointDerivatives| 2.0 * a.a_d + a.a_dd;
        let over = |residual: f64, slopes: Vec<f64>| -> Row {
            (
                residual / deviation,
                slopes.into_iter().map(|slope| slope / deviation).collect(),
            )
        };
        let at = |factor: f64| {
            (
                isotherm.residual(factor * centre),
                self.terms(temperature, factor * centre),
            )
        };
        let (middle, terms) = at(1.0);
        let compression = record.critical_point.pressure / (centre * isotherm.thermal_energy());
        let first = terms.iter().map(|t| t.a_d).collect();
        rows.push(over(1.0 + middle.a_d - compression, first));
        let second = terms.iter().map(slope).collect();
        rows.push(over(1.0 + slope(&middle), second));
        for distance in [-0.3, -0.2, -0.1, -0.05, 0.05, 0.1, 0.2, 0.3] {
            let (here, terms) = at(1.0 + distance);
            let scale = FLATNESS_DEVIATION / self.stage.shape * distance * distance;
            let breach = FLATNESS * distance * distance - 1.0 - slope(&here);
            rows.push(if breach > 0.0 {
                (
                    breach / scale,
                    terms.iter().map(|t| -slope(t) / scale).collect(),
                )
            } else {
                (0.0, vec![0.0; self.basis.len()])
            });
        }
        let ((above, terms), (below, others)) = (at(1.0 + STEP), at(1.0 - STEP));
        let bend = |above: f64, below: f64| (above - below) / (2.0 * STEP);
        let pairs = terms.iter().zip(&others);
        let third = pairs.map(|(a, b)| bend(slope(a), slope(b))).collect();
        rows.push(over(bend(slope(&above), slope(&below)), third));
    }

    /// From the critical temperature on the pressure rises with density, on the critical isotherm by a share of what the
    /// equation of van der Waals has there, `27/16 (delta - 1)^2`.
    fn shape_rows(&self, helmholtz: &Helmholtz, rows: &mut Vec<Row>) {
        let deviation = 0.005 / self.stage.shape;
        let critical = self.equation.record.critical_point.temperature;
        for reduced in [1.0, 1.005, 1.01, 1.02, 1.05, 1.1, 1.2, 1.4, 1.7, 2.2, 3.0] {
            let temperature = reduced * critical;
            let isotherm = helmholtz.isotherm(temperature);
            for step in 1..=34 {
                let delta = 0.1 * f64::from(step);
                let density = delta * helmholtz.density_reducing;
                let rise = isotherm.pressure(density).dp_drho / isotherm.thermal_energy();
                let least = 0.25 * (reduced - 1.0).min(1.0) + 0.2 * (delta - 1.0).powi(2).min(0.1);
                if rise < least {
                    let terms = self.terms(temperature, density);
                    rows.push((
                        (rise - least) / deviation,
                        terms
                            .iter()
                            .map(|t| (2.0 * t.a_d + t.a_dd) / deviation)
                            .collect(),
                    ));
                } else {
                    rows.push((0.0, vec![0.0; self.basis.len()]));
                }
            }
        }
    }
}

impl Fit<'_> {
    /// Below the critical temperature each isotherm has one loop: from the vapour to the middle of the dome the slope of
    /// the pressure falls, there it is negative, and from the middle to the liquid it rises.
    fn loop_rows(&self, helmholtz: &Helmholtz, rows: &mut Vec<Row>) {
        const STEP: f64 = 0.1;
        /// Half width of the middle over the square root of the distance from the critical temperature.
        const WIDTH: f64 = 1.1;
        let deviation = 0.05 / self.stage.shape;
        let critical = self.equation.record.critical_point.temperature;
        let slope = |a: &PointDerivatives| 2.0 * a.a_d + a.a_dd;
        for reduced in [
            0.36, 0.42, 0.48, 0.54, 0.6, 0.66, 0.72, 0.78, 0.84, 0.9, 0.95, 0.98,
        ] {
            let half = WIDTH * f64::sqrt(1.0 - reduced);
            let isotherm = helmholtz.isotherm(reduced * critical);
            let at = |delta: f64| {
                let density = delta * helmholtz.density_reducing;
                (
                    slope(&isotherm.residual(density)),
                    self.terms(reduced * critical, density)
                        .iter()
                        .map(slope)
                        .collect::<Vec<f64>>(),
                )
            };
            let mut before = at(0.5 * STEP);
            for step in 1..=34 {
                let delta = STEP * (f64::from(step) + 0.5);
                let here = at(delta);
                let distance = delta - 1.0;
                // The rise that must not be positive.
                let (breach, slopes): Row = if distance.abs() < half {
                    (1.0 + here.0 + 0.05 * (1.0 - reduced), here.1.clone())
                } else {
                    let sign = -distance.signum();
                    (
                        sign * (here.0 - before.0),
                        here.1
                            .iter()
                            .zip(&before.1)
                            .map(|(h, b)| sign * (h - b))
                            .collect(),
                    )
                };
                let scale = deviation * (1.0 + here.0.abs());
                rows.push(if breach > 0.0 {
                    (
                        breach / scale,
                        slopes.into_iter().map(|s| s / scale).collect(),
                    )
                } else {
                    (0.0, vec![0.0; self.basis.len()])
                });
                before = here;
            }
        }
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Fit<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, at: &DVector<f64>) {
        let count = self.scales.len();
        for (index, scale) in self.scales.iter().enumerate() {
            self.equation.coefficients[index] = at[index] * scale;
            self.equation.exponents[index] = at[count + index] * EXPONENT_SCALE;
        }
        self.basis = self.equation.basis();
        self.evaluate();
    }

    fn params(&self) -> DVector<f64> {
        let coefficients = self
            .equation
            .coefficients
            .iter()
            .zip(&self.scales)
            .map(|(n, scale)| n / scale);
        let exponents = self.equation.exponents.iter().map(|t| t / EXPONENT_SCALE);
        let all: Vec<f64> = coefficients.chain(exponents).collect();
        DVector::from_vec(all)
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(DVector::from_iterator(
            self.rows.len(),
            self.rows.iter().map(|(residual, _)| *residual),
        ))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        Some(DMatrix::from_fn(
            self.rows.len(),
            self.basis.len(),
            |row, column| {
                self.rows[row].1[column] * self.scales.get(column).unwrap_or(&EXPONENT_SCALE)
            },
        ))
    }
}
