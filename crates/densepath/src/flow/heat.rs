//! Heat transfer between a stream and the wall of its tube.

use super::friction::{REYNOLDS_LAMINAR_LIMIT, REYNOLDS_TURBULENT_LIMIT, Regime};
use crate::fluid::error::{Error, Result, finite, positive, within};
use crate::fluid::quantity::Quantity;
use std::f64::consts::PI;

/// Nusselt number of developed laminar flow in a tube of constant wall temperature (R. K. Shah and A. L. London, Laminar
/// Flow Forced Convection in Ducts, Academic Press, 1978; from memory).
pub const NUSSELT_LAMINAR: f64 = 3.66;

/// Largest Reynolds number of the law of Gnielinski (from memory).
const LARGEST_REYNOLDS: f64 = 5e6;

/// Nusselt number Nu of developed flow in a smooth tube at a Reynolds number Re and a Prandtl number Pr.
///
/// Laminar 3.66; turbulent `Nu = (f/8)(Re - 1000) Pr/[1 + 12.7 sqrt(f/8) (Pr^(2/3) - 1)]` with
/// `f = (0.79 ln Re - 1.64)^-2`; between Re = 2300 and 4000 linear between the two.
///
/// *Valid*: Re up to 5e6, Pr from 0.5 to 2000, properties that vary little over the cross-section; near the critical point
/// they do not, and the real value can be half or twice. *Uncertainty*: 10 % (from memory). *Source*: V. Gnielinski, Forsch.
/// Ing.-Wes. 41, 8 (1975), doi 10.1007/BF02559682; between the regimes V. Gnielinski, Int. J. Heat Mass Transfer 63, 134
/// (2013), doi 10.1016/j.ijheatmasstransfer.2013.04.015 (both from memory); f after B. S. Petukhov, Adv. Heat Transfer 6,
/// 503 (1970), doi 10.1016/S0065-2717(08)70153-9 (from memory).
///
/// Errors: 101 for an argument not above zero; 102 outside the range.
///
/// ```
/// use densepath::flow::heat::nusselt_number;
/// // Developed laminar flow before a wall of one temperature: 3.66.
/// assert!((nusselt_number(500.0, 2.0)? - 3.66).abs() < 0.01);
/// assert!(nusselt_number(2e4, 2.0)? > 50.0);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn nusselt_number(reynolds_number: f64, prandtl_number: f64) -> Result<f64> {
    positive(Quantity::ReynoldsNumber, reynolds_number)?;
    positive(Quantity::Ratio, prandtl_number)?;
    within(
        Quantity::ReynoldsNumber,
        reynolds_number,
        0.0,
        LARGEST_REYNOLDS,
        "heat transfer in tubes (Gnielinski 1975)",
    )?;
    match Regime::of(reynolds_number) {
        Regime::Laminar => Ok(NUSSELT_LAMINAR),
        Regime::Transitional => {
            let turbulent = gnielinski(REYNOLDS_TURBULENT_LIMIT, prandtl_number)?;
            let share = (reynolds_number - REYNOLDS_LAMINAR_LIMIT)
                / (REYNOLDS_TURBULENT_LIMIT - REYNOLDS_LAMINAR_LIMIT);
            Ok((1.0 - share) * NUSSELT_LAMINAR + share * turbulent)
        }
        Regime::Turbulent => gnielinski(reynolds_number, prandtl_number),
    }
}

fn gnielinski(reynolds_number: f64, prandtl_number: f64) -> Result<f64> {
    within(
        Quantity::Ratio,
        prandtl_number,
        0.5,
        2000.0,
        "the Prandtl number of turbulent heat transfer (Gnielinski 1975)",
    )?;
    let eighth = (0.79 * reynolds_number.ln() - 1.64).powi(-2) / 8.0;
    let below = 1.0 + 12.7 * eighth.sqrt() * (prandtl_number.powf(2.0 / 3.0) - 1.0);
    Ok(eighth * (reynolds_number - 1000.0) * prandtl_number / below)
}

/// Heat conductance of the wall film per length of tube, `pi Nu lambda` in W/(m K), of a thermal conductivity lambda in
/// W/(m K); the bore cancels.
///
/// Errors: 101 for an argument not above zero.
///
/// ```
/// use densepath::flow::heat::film_conductance;
/// assert!((film_conductance(0.08, 3.66)? - std::f64::consts::PI * 3.66 * 0.08).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn film_conductance(thermal_conductivity: f64, nusselt_number: f64) -> Result<f64> {
    positive(Quantity::ThermalConductivity, thermal_conductivity)?;
    positive(Quantity::Ratio, nusselt_number)?;
    Ok(PI * nusselt_number * thermal_conductivity)
}

/// Length of tube in m along which a stream of the mass flow rate `q_m` in kg/s and heat capacity `c_p` in J/(kg K) comes
/// from one distance to the wall temperature, in K, down to another: `L = q_m c_p/(pi Nu lambda) ln(dT_1/dT_2)`.
///
/// Takes the conductance `pi Nu lambda` in W/(m K) of [`film_conductance`]. Where the heat capacity varies, near the
/// pseudo-critical line above all, take the mean `c_p = Delta h/Delta T`, or march in pieces.
///
/// *Source*: balance of a stream at constant wall temperature.
///
/// Errors: 101 for an argument not above zero, or distances to the wall that do not have the same sign or do not shrink.
///
/// ```
/// use densepath::flow::heat::{heat_up_length, remaining_difference};
/// // From 18 K below the wall to 0.5 K below it.
/// let length = heat_up_length(18.0, 0.5, 5e-5, 3000.0, 0.9)?;
/// assert!((remaining_difference(length, 5e-5, 3000.0, 0.9)? - 0.5 / 18.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn heat_up_length(
    inlet_difference: f64,
    outlet_difference: f64,
    mass_flow_rate: f64,
    specific_isobaric_heat_capacity: f64,
    conductance: f64,
) -> Result<f64> {
    capacity(mass_flow_rate, specific_isobaric_heat_capacity, conductance)?;
    let ratio = finite(Quantity::Temperature, inlet_difference)?
        / finite(Quantity::Temperature, outlet_difference)?;
    if !ratio.is_finite() || ratio < 1.0 {
        return Err(Error::Domain {
            quantity: Quantity::Temperature,
            value: outlet_difference,
            rule: "a distance to the wall on the side of the inlet's and no larger",
        });
    }
    Ok(mass_flow_rate * specific_isobaric_heat_capacity / conductance * ratio.ln())
}

/// Share of its distance to the wall temperature that a stream still has after a length L in m of tube:
/// `exp(-pi Nu lambda L/(q_m c_p))`.
///
/// Source and errors as for [`heat_up_length`].
///
/// ```
/// use densepath::flow::heat::remaining_difference;
/// // exp(-U L/(q_m c_p))
/// assert!((remaining_difference(1.0, 5e-5, 3000.0, 0.15)? - (-1.0_f64).exp()).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn remaining_difference(
    length: f64,
    mass_flow_rate: f64,
    specific_isobaric_heat_capacity: f64,
    conductance: f64,
) -> Result<f64> {
    positive(Quantity::Length, length)?;
    let stream = capacity(mass_flow_rate, specific_isobaric_heat_capacity, conductance)?;
    Ok((-conductance * length / stream).exp())
}

fn capacity(mass_flow_rate: f64, heat_capacity: f64, conductance: f64) -> Result<f64> {
    positive(Quantity::MassFlowRate, mass_flow_rate)?;
    positive(Quantity::SpecificIsobaricHeatCapacity, heat_capacity)?;
    positive(Quantity::ThermalConductivity, conductance)?;
    Ok(mass_flow_rate * heat_capacity)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::friction::reynolds_number;
    use crate::flow::testing::{close, units};
    use proptest::prelude::*;

    #[test]
    fn heating_of_dense_carbon_dioxide_agrees_with_an_independent_computation() {
        // 3 mL/min counted at 278.15 K and 15 MPa, from there to 312.65 K with the wall at 313.15 K: 3.96053 W to the
        // wall temperature. Viscosity and conductivity at the mean temperature from CoolProp 8.0.0.
        let (q_m, viscosity, conductivity) = (977.3816e-6 / 20.0, 9.032194e-5, 0.10279517);
        let c_p = 3.96053 / (q_m * 35.0);
        for (d, reynolds, length) in [(0.17e-3, 4052.3, 0.0721413), (0.5e-3, 1377.78, 0.40674)] {
            let re = reynolds_number(viscosity, d, q_m).unwrap();
            assert!(close(re, reynolds, 1e-5));
            let nusselt = nusselt_number(re, viscosity * c_p / conductivity).unwrap();
            let conductance = film_conductance(conductivity, nusselt).unwrap();
            let ours = heat_up_length(35.0, 0.5, q_m, c_p, conductance).unwrap();
            assert!(close(ours, length, 1e-3), "{ours} against {length}");
        }
    }

    #[test]
    fn the_regimes_join() {
        for pr in [0.7, 2.0, 10.0] {
            let edge = |re: f64| nusselt_number(re, pr).unwrap();
            assert!(close(edge(2300.0), edge(2300.0001), 1e-6));
            assert!(close(edge(3999.9999), edge(4000.0), 1e-6));
        }
    }

    #[test]
    fn a_length_and_what_it_leaves_belong_together() {
        let conductance = film_conductance(0.09, 20.0).unwrap();
        let length = heat_up_length(35.0, 0.5, 5e-5, 2300.0, conductance).unwrap();
        let left = remaining_difference(length, 5e-5, 2300.0, conductance).unwrap();
        assert!(close(left, 0.5 / 35.0, 1e-13));
        assert_eq!(
            heat_up_length(-35.0, -0.5, 5e-5, 2300.0, conductance),
            Ok(length)
        );
        for end in [0.0, -0.5, 40.0, f64::NAN] {
            assert!(heat_up_length(35.0, end, 5e-5, 2300.0, conductance).is_err());
        }
        assert_eq!(nusselt_number(1e7, 1.0).unwrap_err().code(), 102);
        assert_eq!(nusselt_number(1e5, 0.01).unwrap_err().code(), 102);
    }

    proptest! {
        #[test]
        fn dimensions_are_right(units in units(), q_m in 1e-6..1e-3f64, nusselt in 3.66..100.0f64) {
            let conductivity = 0.09;
            let factor = units.factor(1, 1, -3) / units.temperature;
            let a = film_conductance(conductivity, nusselt).unwrap();
            let b = film_conductance(conductivity * factor, nusselt).unwrap();
            let length = heat_up_length(35.0, 0.5, q_m, 2300.0, a).unwrap();
            let other = heat_up_length(
                35.0 * units.temperature, 0.5 * units.temperature, q_m * units.mass_flow(),
                2300.0 * units.heat_capacity(), b,
            ).unwrap();
            prop_assert!(close(length * units.length, other, 1e-12));
        }
    }
}
