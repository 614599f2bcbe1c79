//! Friction in straight round tubes and at fittings.

use crate::fluid::error::{Result, not_negative, positive, within};
use crate::fluid::num::logarithms::logarithms;
use crate::fluid::quantity::Quantity;
use std::f64::consts::PI;

/// Reynolds number at which a laminar stream in a round tube can lose its stability (common practice, no source: 2000 to
/// 2300).
pub const REYNOLDS_LAMINAR_LIMIT: f64 = 2300.0;

/// Reynolds number above which the flow in a round tube is taken as turbulent (common practice, no source).
pub const REYNOLDS_TURBULENT_LIMIT: f64 = 4000.0;

/// Share of a limit of the regimes over which the friction factor passes from one law to the next on either side of it, so that
/// it has no jump (chosen here: narrow beside the doubt of the limits themselves).
pub const BRIDGE: f64 = 0.005;

/// Largest relative roughness of the turbulent laws, the end of the data of L. F. Moody, Trans. ASME 66, 671 (1944)
/// (from memory).
pub const LARGEST_RELATIVE_ROUGHNESS: f64 = 0.05;

/// Regime of the flow in a round tube.
///
/// ```
/// use densepath::flow::friction::Regime;
/// assert_eq!((Regime::of(500.0), Regime::of(1e5)), (Regime::Laminar, Regime::Turbulent));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Regime {
    /// Reynolds number up to 2300.
    Laminar,
    /// Reynolds number between 2300 and 4000: the flow may be either, or alternate.
    Transitional,
    /// Reynolds number of 4000 and more.
    Turbulent,
}

impl Regime {
    /// Regime at a Reynolds number Re.
    ///
    /// ```
    /// use densepath::flow::friction::Regime;
    /// assert_eq!(Regime::of(3000.0), Regime::Transitional);
    /// ```
    pub fn of(reynolds_number: f64) -> Self {
        if reynolds_number <= REYNOLDS_LAMINAR_LIMIT {
            Regime::Laminar
        } else if reynolds_number < REYNOLDS_TURBULENT_LIMIT {
            Regime::Transitional
        } else {
            Regime::Turbulent
        }
    }

    /// The word used in reports.
    ///
    /// ```
    /// assert_eq!(densepath::flow::friction::Regime::Laminar.name(), "laminar");
    /// ```
    pub const fn name(self) -> &'static str {
        match self {
            Regime::Laminar => "laminar",
            Regime::Transitional => "transitional",
            Regime::Turbulent => "turbulent",
        }
    }
}

/// Law of the friction factor of turbulent flow.
///
/// ```
/// use densepath::flow::friction::{TurbulentLaw, Wall};
/// let with = |law| Wall { law, ..Wall::SMOOTH }.friction_factor(1e5, 1e-3).map(|f| f.value);
/// // Colebrook of a smooth wall at Re = 1e5 is 0.0180; Haaland is within 2 % of it.
/// assert!((with(TurbulentLaw::Colebrook)? - 0.0180).abs() < 1e-4);
/// assert!((with(TurbulentLaw::Haaland)? / with(TurbulentLaw::Colebrook)? - 1.0).abs() < 0.02);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum TurbulentLaw {
    /// Implicit law of C. F. Colebrook, J. Inst. Civ. Eng. 11, 133 (1939), doi 10.1680/ijoti.1939.13150.
    #[default]
    Colebrook,
    /// Explicit law of S. E. Haaland, J. Fluids Eng. 105, 89 (1983), doi 10.1115/1.3240948; within 2 % of Colebrook's.
    Haaland,
}

/// Where a flow that may be laminar or turbulent counts as turbulent: the two ends of the bracket of the transitional regime.
///
/// ```
/// use densepath::flow::friction::Transition;
/// assert!(Transition::Early.reynolds_number() < Transition::Late.reynolds_number());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Transition {
    /// From Re = 2300: the end that asks more pressure.
    #[default]
    Early,
    /// From Re = 4000: the end that asks less.
    Late,
}

impl Transition {
    /// Reynolds number of the transition.
    ///
    /// ```
    /// use densepath::flow::friction::Transition;
    /// assert_eq!((Transition::Early.reynolds_number(), Transition::Late.reynolds_number()), (2300.0, 4000.0));
    /// ```
    pub const fn reynolds_number(self) -> f64 {
        match self {
            Transition::Early => REYNOLDS_LAMINAR_LIMIT,
            Transition::Late => REYNOLDS_TURBULENT_LIMIT,
        }
    }
}

/// Wall of a tube as its friction sees it.
///
/// ```
/// use densepath::flow::friction::Wall;
/// let rough = Wall { roughness: 1e-6, ..Wall::SMOOTH };
/// assert!(rough.friction_factor(1e5, 0.25e-3)?.value > Wall::SMOOTH.friction_factor(1e5, 0.25e-3)?.value);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Wall {
    /// Roughness `k_s` in m; zero for a smooth wall such as drawn fused silica.
    pub roughness: f64,
    /// Law of turbulent flow.
    pub law: TurbulentLaw,
    /// Where the flow becomes turbulent.
    pub transition: Transition,
}

/// Darcy friction factor f with the bracket of the regime.
///
/// ```
/// use densepath::flow::friction::{Regime, Wall};
/// let doubt = Wall::SMOOTH.friction_factor(3000.0, 0.25e-3)?;
/// // Between the regimes the laminar factor is the lower end.
/// assert_eq!(doubt.regime, Regime::Transitional);
/// assert!((doubt.lowest - 64.0 / 3000.0).abs() < 1e-9 && doubt.value > doubt.lowest);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrictionFactor {
    /// Reynolds number Re.
    pub reynolds_number: f64,
    /// Regime at that Reynolds number.
    pub regime: Regime,
    /// Darcy friction factor f. In the transitional regime that of turbulent flow, the one that asks more pressure.
    pub value: f64,
    /// Smallest friction factor that the regime allows: that of laminar flow in the transitional regime. Both ends of the
    /// bracket are continuous in the Reynolds number, and meet outside the regime.
    pub lowest: f64,
}

/// Reynolds number Re = `4 q_m/(pi d eta)`, of a mass flow rate `q_m` in kg/s in a tube of diameter d in m with a fluid of
/// dynamic viscosity eta in Pa s.
///
/// Errors: 101 for an argument that is not above zero.
///
/// ```
/// use densepath::flow::friction::reynolds_number;
/// // 3 g/min of carbon dioxide of 70 uPa s in a tube of 0.17 mm.
/// let expected = 4.0 * (3e-3 / 60.0) / (std::f64::consts::PI * 0.17e-3 * 70e-6);
/// assert!((reynolds_number(70e-6, 0.17e-3, 3e-3 / 60.0)? / expected - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn reynolds_number(dynamic_viscosity: f64, diameter: f64, mass_flow_rate: f64) -> Result<f64> {
    positive(Quantity::DynamicViscosity, dynamic_viscosity)?;
    positive(Quantity::Diameter, diameter)?;
    positive(Quantity::MassFlowRate, mass_flow_rate)?;
    Ok(4.0 * mass_flow_rate / (PI * diameter * dynamic_viscosity))
}

impl Wall {
    /// A smooth wall with the explicit law of turbulent flow, as in drawn capillaries.
    pub const SMOOTH: Wall = Wall {
        roughness: 0.0,
        law: TurbulentLaw::Haaland,
        transition: Transition::Early,
    };

    /// Relative roughness `k_s/d` in a tube of diameter d in m.
    ///
    /// Errors: 101 for a negative roughness or a diameter that is not above zero; 102 above 0.05.
    ///
    /// ```
    /// use densepath::flow::friction::Wall;
    /// assert!((Wall { roughness: 1e-6, ..Wall::SMOOTH }.relative_roughness(0.25e-3)? - 0.004).abs() < 1e-12);
    /// assert_eq!(Wall { roughness: 1e-4, ..Wall::SMOOTH }.relative_roughness(0.25e-3).unwrap_err().code(), 102);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn relative_roughness(&self, diameter: f64) -> Result<f64> {
        positive(Quantity::Diameter, diameter)?;
        not_negative(Quantity::Roughness, self.roughness)?;
        let largest = LARGEST_RELATIVE_ROUGHNESS * diameter;
        within(
            Quantity::Roughness,
            self.roughness,
            0.0,
            largest,
            "the turbulent friction laws (5 % of the diameter, Moody 1944)",
        )?;
        Ok(self.roughness / diameter)
    }

    /// Darcy friction factor f at a Reynolds number Re in a tube of diameter d in m.
    ///
    /// Laminar f = 64/Re (Hagen-Poiseuille); above Re = 2300 the turbulent law of the wall. Between 2300 and 4000 the
    /// result carries the laminar factor as the lower end of its bracket. Within 0.5 % of these limits the factor passes from
    /// one law to the other, so that neither end of the bracket jumps.
    ///
    /// *Valid*: fully developed flow in a straight tube. *Uncertainty*: laminar exact; turbulent about 5 % and more than
    /// that below Re = 10000 (common practice, no source).
    ///
    /// Errors: 101 for a Reynolds number not above zero; those of [`Wall::relative_roughness`].
    ///
    /// ```
    /// use densepath::flow::friction::Wall;
    /// // Hagen and Poiseuille: 64 / Re.
    /// assert!((Wall::SMOOTH.friction_factor(640.0, 0.25e-3)?.value - 0.1).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn friction_factor(&self, reynolds_number: f64, diameter: f64) -> Result<FrictionFactor> {
        positive(Quantity::ReynoldsNumber, reynolds_number)?;
        let relative_roughness = self.relative_roughness(diameter)?;
        let regime = Regime::of(reynolds_number);
        let late = Wall {
            transition: Transition::Late,
            ..*self
        };
        let value = darcy(*self, reynolds_number, relative_roughness);
        let lowest = darcy(late, reynolds_number, relative_roughness);
        Ok(FrictionFactor {
            reynolds_number,
            regime,
            value,
            lowest,
        })
    }
}

/// Darcy friction factor, of checked arguments.
pub(crate) fn darcy(wall: Wall, reynolds_number: f64, relative_roughness: f64) -> f64 {
    let [(f, _)] = darcy_with_exponents(wall, [reynolds_number], relative_roughness);
    f
}

/// As [`darcy`] at several Reynolds numbers side by side, with its exponents `d ln f/d ln Re`.
pub(crate) fn darcy_with_exponents<const N: usize>(
    wall: Wall,
    reynolds_numbers: [f64; N],
    relative_roughness: f64,
) -> [(f64, f64); N] {
    let Conductances { inverse, exponents } =
        conductances(wall, reynolds_numbers, relative_roughness);
    std::array::from_fn(|k| (1.0 / inverse[k], exponents[k]))
}

/// What counts along a tube at several Reynolds numbers.
pub(crate) struct Conductances<const N: usize> {
    /// Reciprocals of the friction factors, 1/f.
    pub inverse: [f64; N],
    /// Exponents `d ln f/d ln Re`.
    pub exponents: [f64; N],
}

/// Reciprocals of the friction factors at several Reynolds numbers side by side, with the exponents.
///
/// Where all are of one law no bridge is asked for: whole arrays without a branch are what the processor does several at a time.
pub(crate) fn conductances<const N: usize>(
    wall: Wall,
    reynolds_numbers: [f64; N],
    relative_roughness: f64,
) -> Conductances<N> {
    let [first, last] = kinks(wall);
    if reynolds_numbers.iter().all(|re| *re <= first) {
        return Conductances {
            inverse: reynolds_numbers.map(|re| re / 64.0),
            exponents: [-1.0; N],
        };
    }
    let mut found = turbulent(wall.law, reynolds_numbers, relative_roughness);
    if reynolds_numbers.iter().all(|re| *re >= last) {
        return found;
    }
    for (k, re) in reynolds_numbers.into_iter().enumerate() {
        let turbulent = (found.inverse[k], found.exponents[k]);
        (found.inverse[k], found.exponents[k]) = bridged(wall, re, turbulent);
    }
    found
}

/// The reciprocal of the friction factor with its exponent, given those of turbulent flow.
fn bridged(wall: Wall, reynolds_number: f64, (turbulent, exponent): (f64, f64)) -> (f64, f64) {
    let laminar = reynolds_number / 64.0;
    let ratio = reynolds_number / wall.transition.reynolds_number();
    let distance = (ratio - 1.0) / BRIDGE;
    if distance <= -1.0 {
        return (laminar, -1.0);
    }
    if distance >= 1.0 {
        return (turbulent, exponent);
    }
    // What counts along a tube is 1/f: linear in it, the two sides of the limit cancel.
    let share = 0.5 * (1.0 + distance);
    let (below, above) = ((1.0 - share) * laminar, share * turbulent);
    let shift = 0.5 * ratio / BRIDGE * (turbulent - laminar);
    let inverse = below + above;
    (inverse, -(below - above * exponent + shift) / inverse)
}

/// Reynolds numbers at which the slope of the friction factor jumps.
pub(crate) fn kinks(wall: Wall) -> [f64; 2] {
    [1.0 - BRIDGE, 1.0 + BRIDGE].map(|share| share * wall.transition.reynolds_number())
}

/// Those of turbulent flow.
fn turbulent<const N: usize>(
    law: TurbulentLaw,
    reynolds_numbers: [f64; N],
    relative_roughness: f64,
) -> Conductances<N> {
    let [roots, exponents] = match law {
        TurbulentLaw::Haaland => haaland_roots(reynolds_numbers, relative_roughness),
        TurbulentLaw::Colebrook => colebrook_roots(reynolds_numbers, relative_roughness),
    };
    Conductances {
        inverse: roots.map(|root| root * root),
        exponents: exponents.map(|exponent| -2.0 * exponent),
    }
}

/// `1/sqrt(f) = -1.8 log10((k/3.7)^1.11 + 6.9/Re)`, Haaland 1983, eq. 5, and its exponent of Re.
fn haaland_roots<const N: usize>(
    reynolds_numbers: [f64; N],
    relative_roughness: f64,
) -> [[f64; N]; 2] {
    let rough = if relative_roughness > 0.0 {
        (relative_roughness / 3.7).powf(1.11)
    } else {
        0.0
    };
    let scale = -1.8 / std::f64::consts::LN_10;
    let smooth = reynolds_numbers.map(|re| 6.9 / re);
    let logarithms = logarithms(smooth.map(|smooth| rough + smooth));
    let roots = logarithms.map(|logarithm| scale * logarithm);
    let exponents = std::array::from_fn(|k| -scale * smooth[k] / ((rough + smooth[k]) * roots[k]));
    [roots, exponents]
}

/// A root 1/sqrt(f) in the middle of those that turbulent flow has, 4.5 to 13.
const MIDDLE_ROOT: f64 = 7.0;

/// x = 1/sqrt(f) of `x = -2 log10(u)`, `u = k/3.7 + 2.51 x/Re`, Colebrook 1939, and its exponent of Re.
///
/// With `w = u/(2.51/Re)/(2/ln 10)` the equation reads `w + ln w = const.`, which a step of fourth order solves to 1e-6 from what the
/// equation itself makes of any root (F. N. Fritsch, R. E. Shafer, W. P. Crowley, Commun. ACM 16, 123 (1973), algorithm 443, from
/// memory), and one of Newton to the last bits.
fn colebrook_roots<const N: usize>(
    reynolds_numbers: [f64; N],
    relative_roughness: f64,
) -> [[f64; N]; 2] {
    let scale = 2.0 / std::f64::consts::LN_10;
    let rough = relative_roughness / 3.7;
    let smooth = reynolds_numbers.map(|re| 2.51 / re);
    let starts = logarithms(smooth.map(|smooth| rough + smooth * MIDDLE_ROOT));
    let inner: [f64; N] = std::array::from_fn(|k| rough - smooth[k] * scale * starts[k]);
    let logs = logarithms(inner);
    let w: [f64; N] =
        std::array::from_fn(|k| inner[k] * reynolds_numbers[k] * (1.0 / (2.51 * scale)));
    let missing: [f64; N] = std::array::from_fn(|k| starts[k] - logs[k]);
    let steps: [f64; N] = std::array::from_fn(|k| {
        let (more, missing) = (1.0 + w[k], missing[k]);
        let twice = 2.0 * more * (more + 2.0 / 3.0 * missing);
        missing * (twice - missing) / (more * (twice - 2.0 * missing))
    });
    let grown = logarithms(steps.map(|step| 1.0 + step));
    let exponents: [f64; N] = std::array::from_fn(|k| 1.0 / (1.0 + w[k] * (1.0 + steps[k])));
    let roots = std::array::from_fn(|k| {
        let rest = (missing[k] - w[k] * steps[k] - grown[k]) * exponents[k];
        -scale * (logs[k] + grown[k] + rest)
    });
    [roots, exponents]
}

/// Pressure gradient of friction -dp/dz = `f G^2/(2 d rho)` in Pa/m, of a density rho in kg/m3, a diameter d in m, a mass
/// flux G in kg/(m2 s) and a Darcy friction factor f.
///
/// *Source*: definition of the Darcy friction factor.
///
/// Errors: 101 for an argument that is not above zero.
///
/// ```
/// use densepath::flow::{circular_area, friction::{pressure_gradient, reynolds_number}};
/// // With f = 64/Re it is the law of Hagen and Poiseuille, 128 eta q_V/(pi d^4).
/// let (eta, rho, d, q) = (70e-6, 800.0, 0.17e-3, 1e-6);
/// let found = pressure_gradient(rho, d, q / circular_area(d)?, 64.0 / reynolds_number(eta, d, q)?)?;
/// let expected = 128.0 * eta * (q / rho) / (std::f64::consts::PI * d.powi(4));
/// assert!((found / expected - 1.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn pressure_gradient(
    density: f64,
    diameter: f64,
    mass_flux: f64,
    friction_factor: f64,
) -> Result<f64> {
    positive(Quantity::Density, density)?;
    positive(Quantity::Diameter, diameter)?;
    positive(Quantity::MassFlux, mass_flux)?;
    positive(Quantity::FrictionFactor, friction_factor)?;
    Ok(friction_factor * mass_flux * mass_flux / (2.0 * diameter * density))
}

/// Pressure drop of fittings Delta p = `K G^2/(2 rho)` in Pa, of a density rho in kg/m3, a mass flux G in kg/(m2 s) in the
/// bore to which the sum K of the loss coefficients refers.
///
/// *Source*: definition of the loss coefficient. K itself is a matter of the fitting.
///
/// Errors: 101 for a density or flux not above zero or a negative loss coefficient.
///
/// ```
/// use densepath::flow::friction::fitting_pressure_drop;
/// // One velocity head: G^2/(2 rho).
/// assert_eq!(fitting_pressure_drop(800.0, 400.0, 1.0)?, 100.0);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn fitting_pressure_drop(density: f64, mass_flux: f64, loss_coefficient: f64) -> Result<f64> {
    positive(Quantity::Density, density)?;
    positive(Quantity::MassFlux, mass_flux)?;
    not_negative(Quantity::Ratio, loss_coefficient)?;
    Ok(0.5 * loss_coefficient * mass_flux * mass_flux / density)
}

/// Pressure drop in Pa from rest before the sharp edge of a tube to developed flow in it, beyond the friction of developed flow:
/// `(1 + K) G^2/(2 rho)`, of a density rho in kg/m3 and a mass flux G in kg/(m2 s) at a Reynolds number Re.
///
/// Laminar `K = 1.20 + 38/Re`: R. K. Shah and A. L. London, Laminar Flow Forced Convection in Ducts, Academic Press, 1978 (from
/// memory); a solution of the equations of the boundary layer in an entrance, in the Python tests, comes to 1.24 at high Re, and
/// R. K. Shah, J. Fluids Eng. 100, 177 (1978), doi 10.1115/1.3448626, to 1.25 (from memory). Turbulent `K = 0.5`: I. E. Idelchik, Handbook of Hydraulic Resistance, 1994, diagram 3-1 (as quoted in the
/// documentation of an open library of models). *Valid*: Re above about 50, tubes longer than their entrance; a fluid that keeps its
/// density over it. *Uncertainty*: 10 % laminar, 50 % turbulent, where the edge counts.
///
/// Errors: 101 for an argument not above zero.
///
/// ```
/// use densepath::flow::friction::{entrance_pressure_drop, fitting_pressure_drop};
/// // More than the one velocity head that the flow needs to get going.
/// assert!(entrance_pressure_drop(800.0, 400.0, 500.0)? > fitting_pressure_drop(800.0, 400.0, 1.0)?);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn entrance_pressure_drop(density: f64, mass_flux: f64, reynolds_number: f64) -> Result<f64> {
    positive(Quantity::Density, density)?;
    positive(Quantity::MassFlux, mass_flux)?;
    positive(Quantity::ReynoldsNumber, reynolds_number)?;
    let loss = match Regime::of(reynolds_number) {
        Regime::Laminar => 1.2 + 38.0 / reynolds_number,
        Regime::Transitional | Regime::Turbulent => 0.5,
    };
    Ok(0.5 * (1.0 + loss) * mass_flux * mass_flux / density)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::circular_area;
    use crate::flow::testing::{close, units};
    use proptest::prelude::*;

    // Carbon dioxide at 313.15 K and 15 MPa, and 1 mL/min of it counted at 278.15 K and 15 MPa: CoolProp 8.0.0.
    const DENSITY: f64 = 780.233;
    const VISCOSITY: f64 = 68.4617e-6;
    const FLOW: f64 = 977.3816e-6 / 60.0;
    const ABSENT: f64 = f64::NAN;

    // Set flow in mL/min and bore in mm, then Re, velocity in m/s and gradient in bar/m of an independent computation
    // with CoolProp 8.0.0 and, above Re = 2300, the Colebrook law of fluids 1.3.1 at a roughness of 1 um.
    const ROWS: [[f64; 5]; 8] = [
        [1.0, 0.12, ABSENT, 1.84602, ABSENT],
        [1.0, 0.17, 1782.08, 0.919816, 0.69727],
        [3.0, 0.12, 7573.82, ABSENT, 42.766],
        [3.0, 0.17, ABSENT, 2.75945, 7.49754],
        [3.0, 0.25, ABSENT, 1.27597, 1.13824],
        [5.0, 0.12, 12623.0, 9.2301, 111.753],
        [5.0, 0.17, ABSENT, ABSENT, 19.0875],
        [5.0, 0.25, 6059.06, 2.12661, 2.82011],
    ];

    #[test]
    fn dense_carbon_dioxide_in_steel_lines_agrees_with_an_independent_computation() {
        let wall = Wall {
            roughness: 1e-6,
            ..Wall::default()
        };
        for [millilitres, millimetres, reynolds, velocity, gradient] in ROWS {
            let (q_m, d) = (millilitres * FLOW, millimetres * 1e-3);
            let flux = q_m / circular_area(d).unwrap();
            let re = reynolds_number(VISCOSITY, d, q_m).unwrap();
            let f = wall.friction_factor(re, d).unwrap();
            let slope = pressure_gradient(DENSITY, d, flux, f.value).unwrap() / 1e5;
            for (ours, theirs) in [
                (re, reynolds),
                (flux / DENSITY, velocity),
                (slope, gradient),
            ] {
                assert!(
                    theirs.is_nan() || close(ours, theirs, 1e-5),
                    "{millilitres} mL/min, {millimetres} mm: {ours} against {theirs}"
                );
            }
        }
    }

    #[test]
    fn a_transitional_flow_carries_its_bracket() {
        let f = Wall::SMOOTH.friction_factor(3000.0, 1e-4).unwrap();
        assert_eq!(f.regime, Regime::Transitional);
        assert_eq!(f.lowest, 64.0 / 3000.0);
        assert!(f.value > 1.9 * f.lowest);
        let f = Wall::SMOOTH.friction_factor(2288.0, 1e-4).unwrap();
        assert_eq!((f.regime, f.value), (Regime::Laminar, 64.0 / 2288.0));
        assert_eq!(f.lowest, f.value);
        let f = Wall::SMOOTH.friction_factor(4021.0, 1e-4).unwrap();
        assert_eq!((f.regime, f.lowest), (Regime::Turbulent, f.value));
    }

    #[test]
    fn neither_end_of_the_bracket_jumps() {
        let at = |re: f64| Wall::SMOOTH.friction_factor(re, 1e-4).unwrap();
        let mut re: f64 = 2000.0;
        while re < 4500.0 {
            let (here, next) = (at(re), at(re + 0.01));
            assert!(close(here.value, next.value, 5e-4), "{re}");
            assert!(close(here.lowest, next.lowest, 5e-4), "{re}");
            assert!(here.lowest <= here.value);
            re += 0.01;
        }
    }

    /// By differences, in every regime, on the bridge between them, of both laws, smooth and rough.
    #[test]
    fn the_exponent_is_the_slope_of_the_logarithms() {
        for law in [TurbulentLaw::Haaland, TurbulentLaw::Colebrook] {
            for roughness in [0.0, 1e-4, 0.03] {
                for re in [10.0, 2280.0, 2294.0, 2300.0, 2307.0, 5e3, 1e6] {
                    let wall = Wall {
                        law,
                        ..Wall::SMOOTH
                    };
                    let at = |re: f64| darcy(wall, re, roughness).ln();
                    let step = 1e-6_f64;
                    let slope = (at(re * step.exp()) - at(re * (-step).exp())) / (2.0 * step);
                    let [(_, exponent)] = darcy_with_exponents(wall, [re], roughness);
                    assert!(
                        (exponent - slope).abs() < 1e-6 * slope.abs().max(1.0),
                        "{re} {slope}"
                    );
                }
            }
        }
    }

    #[test]
    fn factors_side_by_side_are_those_of_each_alone() {
        let regimes = [
            [10.0, 2000.0, 2285.0],
            [2289.0, 2300.0, 2311.0],
            [2312.0, 4000.0, 1e6],
            [100.0, 2305.0, 1e5],
        ];
        for law in [TurbulentLaw::Haaland, TurbulentLaw::Colebrook] {
            let wall = Wall {
                law,
                ..Wall::SMOOTH
            };
            for numbers in regimes {
                let together = darcy_with_exponents(wall, numbers, 1e-3);
                for (re, (f, exponent)) in numbers.into_iter().zip(together) {
                    let [(alone, of_alone)] = darcy_with_exponents(wall, [re], 1e-3);
                    assert!(close(f, alone, 1e-14) && close(exponent, of_alone, 1e-13));
                }
            }
        }
    }

    #[test]
    fn a_wall_rougher_than_the_law_and_a_flow_of_nothing_are_refused() {
        let rough = Wall {
            roughness: 6e-6,
            ..Wall::default()
        };
        assert_eq!(rough.friction_factor(1e4, 1e-4).unwrap_err().code(), 102);
        for re in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(
                Wall::SMOOTH.friction_factor(re, 1e-4).unwrap_err().code(),
                101
            );
        }
    }

    proptest! {
        #[test]
        fn colebrook_meets_its_equation_and_haaland_is_near(
            exponent in 3.4..8.0f64, roughness in 0.0..0.05f64,
        ) {
            let re = 10f64.powf(exponent);
            let of = |law| darcy(Wall { law, ..Wall::SMOOTH }, re, roughness);
            let f = of(TurbulentLaw::Colebrook);
            let right = -2.0 * (roughness / 3.7 + 2.51 / (re * f.sqrt())).log10();
            prop_assert!(close(1.0 / f.sqrt(), right, 1e-14));
            prop_assert!(close(f, of(TurbulentLaw::Haaland), 0.04));
        }

        #[test]
        fn dimensions_are_right(units in units(), d in 1e-5..1e-3f64, q_m in 1e-8..1e-4f64, rho in 1.0..1e3f64) {
            let eta = 5e-5;
            let re = reynolds_number(eta, d, q_m).unwrap();
            let scaled = reynolds_number(
                eta * units.viscosity(), d * units.length, q_m * units.mass_flow(),
            ).unwrap();
            prop_assert!(close(re, scaled, 1e-12));
            let (rough, rough_scaled) = (
                Wall { roughness: 1e-7, ..Wall::default() },
                Wall { roughness: 1e-7 * units.length, ..Wall::default() },
            );
            let f = rough.friction_factor(re, d).unwrap().value;
            prop_assert!(close(f, rough_scaled.friction_factor(re, d * units.length).unwrap().value, 1e-12));
            let flux = q_m / circular_area(d).unwrap();
            let slope = pressure_gradient(rho, d, flux, f).unwrap();
            let drop = fitting_pressure_drop(rho, flux, 1.5).unwrap();
            let (rho, d, flux) = (rho * units.density(), d * units.length, flux * units.mass_flux());
            prop_assert!(close(
                slope * units.pressure() / units.length, pressure_gradient(rho, d, flux, f).unwrap(), 1e-12,
            ));
            prop_assert!(close(
                drop * units.pressure(), fitting_pressure_drop(rho, flux, 1.5).unwrap(), 1e-12,
            ));
        }
    }

    #[test]
    fn an_entrance_costs_what_the_correction_of_viscometers_says() {
        // Correction of the kinetic energy of capillary viscometers, 1.12 rho v^2 (M. J. Boussinesq 1891, from memory).
        let (rho, v) = (800.0, 2.0);
        let drop = entrance_pressure_drop(rho, rho * v, 1000.0).unwrap();
        assert!((drop / (1.12 * rho * v * v) - 1.0).abs() < 0.02);
        let turbulent = entrance_pressure_drop(rho, rho * v, 1e4).unwrap();
        assert!((turbulent / (0.75 * rho * v * v) - 1.0).abs() < 1e-12);
        assert!(entrance_pressure_drop(rho, 0.0, 1e4).is_err());
    }
}
