//! What takes the heat out of a pump head: a bath that circulates, or a thermoelectric cooler.

use fluid::Quantity;
use fluid::error::{Error, Result, not_negative, positive};

use crate::fluid;

/// A bath whose liquid circulates through the head.
///
/// ```
/// use densepath::hardware::head_cooling::bath;
/// // What the bath takes up warms it: 20 W on 100 W/K are 0.2 K.
/// let cooling = bath(20.0, 278.15, 10.0, 100.0)?;
/// assert!((cooling.return_temperature - cooling.supply_temperature - 0.2).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BathCooling {
    /// Temperature in K at which the bath must be supplied.
    pub supply_temperature: f64,
    /// Temperature in K at which it comes back.
    pub return_temperature: f64,
}

/// The bath that takes a heat flow rate in W out of a head of a temperature T in K, through a heat conductance in W/K, with a liquid of a
/// heat capacity rate (mass flow rate times specific heat capacity) in W/K.
///
/// *Valid*: a head of one temperature, steady, without heat from the room on the way. *Source*: effectiveness of a stream beside a body of
/// one temperature, `1 - e^(-UA/C)`. *Uncertainty*: the conductance, which is measured.
///
/// Errors: 101 for a negative heat or values not above zero, or a bath that would have to be below 0 K.
///
/// ```
/// use densepath::hardware::head_cooling::bath;
/// // A poorer contact asks for a colder bath.
/// assert!(bath(20.0, 278.15, 5.0, 100.0)?.supply_temperature < bath(20.0, 278.15, 10.0, 100.0)?.supply_temperature);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn bath(
    heat_flow_rate: f64,
    head_temperature: f64,
    conductance: f64,
    heat_capacity_rate: f64,
) -> Result<BathCooling> {
    not_negative(Quantity::HeatFlowRate, heat_flow_rate)?;
    positive(Quantity::Temperature, head_temperature)?;
    positive(Quantity::HeatFlowRate, conductance)?;
    positive(Quantity::HeatFlowRate, heat_capacity_rate)?;
    let effectiveness = -(-conductance / heat_capacity_rate).exp_m1();
    let supply = head_temperature - heat_flow_rate / (effectiveness * heat_capacity_rate);
    Ok(BathCooling {
        supply_temperature: positive(Quantity::Temperature, supply)?,
        return_temperature: supply + heat_flow_rate / heat_capacity_rate,
    })
}

/// A thermoelectric cooler at a head.
///
/// ```
/// use densepath::hardware::head_cooling::thermoelectric;
/// let cooler = thermoelectric(20.0, 278.15, 308.15, 0.5)?;
/// // First law: the room gets the heat and the power.
/// assert!((cooler.rejected - 20.0 - cooler.power).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThermoelectricCooling {
    /// Electric power in W that it takes.
    pub power: f64,
    /// Heat flow rate in W that it gives to the room.
    pub rejected: f64,
    /// Its coefficient of performance over that of a perfect refrigerator between the two temperatures.
    pub second_law_efficiency: f64,
}

/// The cooler that takes a heat flow rate in W out of a head of a temperature in K and gives it to a sink of a temperature in K, with a
/// coefficient of performance: heat over power.
///
/// *Valid*: steady. *Source*: first law; the second for the limit `T_c/(T_h - T_c)`. *Uncertainty*: the coefficient of performance, about 1
/// at 15 K and 0.4 at 40 K (common practice, no source).
///
/// Errors: 101 for a negative heat, values not above zero, a sink not above the head, or a coefficient that the second law forbids.
///
/// ```
/// use densepath::hardware::head_cooling::thermoelectric;
/// let cooler = thermoelectric(20.0, 278.15, 308.15, 0.5)?;
/// assert!((cooler.power - 40.0).abs() < 1e-9);
/// // Carnot allows 278.15 / 30.
/// assert!((cooler.second_law_efficiency - 0.5 * 30.0 / 278.15).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn thermoelectric(
    heat_flow_rate: f64,
    head_temperature: f64,
    sink_temperature: f64,
    coefficient_of_performance: f64,
) -> Result<ThermoelectricCooling> {
    not_negative(Quantity::HeatFlowRate, heat_flow_rate)?;
    positive(Quantity::Temperature, head_temperature)?;
    positive(Quantity::Ratio, coefficient_of_performance)?;
    let lift = sink_temperature - head_temperature;
    if lift.is_nan() || lift <= 0.0 {
        return Err(Error::Domain {
            quantity: Quantity::Temperature,
            value: sink_temperature,
            rule: "a sink warmer than the head",
        });
    }
    let share = coefficient_of_performance * lift / head_temperature;
    if share > 1.0 {
        return Err(Error::Domain {
            quantity: Quantity::Ratio,
            value: coefficient_of_performance,
            rule: "a coefficient of performance below that of a perfect refrigerator, T_c/(T_h - T_c)",
        });
    }
    let power = heat_flow_rate / coefficient_of_performance;
    Ok(ThermoelectricCooling {
        power,
        rejected: heat_flow_rate + power,
        second_law_efficiency: share,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::close;

    /// Closed form of the exchange, and its limits: a large flow stays at one temperature, a small one leaves at that of the head.
    #[test]
    fn a_bath_gives_what_it_takes() {
        let found = bath(10.0, 278.15, 5.0, 20.0).unwrap();
        assert!(close(
            20.0 * (found.return_temperature - found.supply_temperature),
            10.0,
            1e-9
        ));
        // Logarithmic mean of the differences times the conductance.
        let (a, b) = (
            278.15 - found.supply_temperature,
            278.15 - found.return_temperature,
        );
        assert!(close(5.0 * (a - b) / (a / b).ln(), 10.0, 1e-9));
        let large = bath(10.0, 278.15, 5.0, 1e7).unwrap();
        assert!(close(large.supply_temperature, 278.15 - 2.0, 1e-6));
        let small = bath(10.0, 278.15, 500.0, 1.0).unwrap();
        assert!(close(small.return_temperature, 278.15, 1e-9));
        for (heat, conductance, rate) in [(-1.0, 5.0, 20.0), (10.0, 0.0, 20.0), (1e6, 5.0, 20.0)] {
            assert_eq!(
                bath(heat, 278.15, conductance, rate).unwrap_err().code(),
                101
            );
        }
    }

    #[test]
    fn a_cooler_obeys_both_laws() {
        let found = thermoelectric(10.0, 278.15, 303.15, 0.8).unwrap();
        assert!(close(found.rejected, 10.0 + found.power, 1e-15));
        assert!(close(found.power, 12.5, 1e-15));
        // The entropy of the world does not fall.
        assert!(found.rejected / 303.15 >= 10.0 / 278.15);
        let best = 278.15 / 25.0;
        let perfect = thermoelectric(10.0, 278.15, 303.15, best * (1.0 - 1e-12)).unwrap();
        assert!(close(perfect.rejected / 303.15, 10.0 / 278.15, 1e-9));
        for (sink, coefficient) in [(303.15, 1.01 * best), (270.0, 0.8), (303.15, 0.0)] {
            let refused = thermoelectric(10.0, 278.15, sink, coefficient).unwrap_err();
            assert_eq!(refused.code(), 101);
        }
    }
}
