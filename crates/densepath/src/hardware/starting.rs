//! Before the first run: purging a line of what it held, and priming a pump that holds gas.

use fluid::error::{Error, positive};
use fluid::{Quantity, Result, State};

use crate::fluid;

/// Volume in m3 to let through until a share of what was in a line remains: `V_plug + V_mixed ln(1/x)`, of tubes that are swept like
/// a plug and of volumes that mix (a mixer, a dampener, a pump head), both in m3.
///
/// *Valid*: fluids that mix. *Source*: washout of a mixed volume. *Uncertainty*: dead ends hold back what no purge reaches.
///
/// Errors: 101 for a negative volume, or a share outside (0, 1).
///
/// ```
/// use densepath::hardware::purge_volume;
/// // A plug of 1 mL once, and 0.5 mL that mix: ln 100 of them until a hundredth is left.
/// assert!((purge_volume(1e-6, 0.5e-6, 0.01)? * 1e6 - 3.303).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn purge_volume(plug_volume: f64, mixed_volume: f64, remaining_share: f64) -> Result<f64> {
    fluid::error::not_negative(Quantity::Volume, plug_volume)?;
    fluid::error::not_negative(Quantity::Volume, mixed_volume)?;
    if !(remaining_share > 0.0 && remaining_share < 1.0) {
        return Err(Error::Domain {
            quantity: Quantity::Ratio,
            value: remaining_share,
            rule: "between 0 and 1",
        });
    }
    Ok(plug_volume - mixed_volume * remaining_share.ln())
}

/// What a pump can do with gas in its head.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
/// use densepath::hardware::priming;
/// let vapour = State::from_tp(&fluid, 278.15, 30e5)?;
/// let primed = priming(&vapour, 0.5, 150e5, 0.01)?;
/// assert_eq!(primed.primes, primed.highest_pressure > 150e5);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Priming {
    /// Highest pressure in Pa that a stroke of this gas opens the outlet valve against; infinite beyond the range of the equation of
    /// state.
    pub highest_pressure: f64,
    /// Whether that is above the pressure behind the valve: else the pump turns without delivering until it is vented.
    pub primes: bool,
    /// Strokes that replace the gas in the head by liquid once it is vented: one to empty what is swept, and those that wash out the
    /// clearance.
    pub strokes: f64,
}

/// Whether a pump with gas in its head, at its state on the suction side, primes against a pressure in Pa behind its outlet valve, with a
/// clearance over the swept volume; and the strokes after venting until a share of the gas is left.
///
/// *Valid*: a fast stroke, which is isentropic and the hardest; valves without cracking pressure. *Source*: the stroke ends when the
/// swept and clearance volume is in the clearance: `rho_2 = rho_1 (1 + c)/c` at the entropy of the suction.
///
/// Errors: 101 for a clearance not above zero or a share outside (0, 1); those of the state at the end of the stroke.
///
/// ```
/// # use densepath::{Fluid, State, hardware::{CountedAt, ReciprocatingPump, SetFlow}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let suction = State::from_tp(&fluid, 278.15, 60e5)?;
/// # let pump = ReciprocatingPump::new(278.15, SetFlow::Volume(50e-9, CountedAt::Suction))?;
/// use densepath::hardware::priming;
/// let vapour = State::from_tp(&fluid, 278.15, 30e5)?;
/// // A large clearance only squeezes the gas; a small one pushes it out.
/// let highest = |clearance| priming(&vapour, clearance, 150e5, 0.01).map(|primed| primed.highest_pressure);
/// assert!(highest(1.0)? < highest(0.3)?);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn priming(
    suction: &State,
    clearance_ratio: f64,
    pressure_behind: f64,
    remaining_share: f64,
) -> Result<Priming> {
    positive(Quantity::ClearanceRatio, clearance_ratio)?;
    positive(Quantity::Pressure, pressure_behind)?;
    let density = suction.density() * (1.0 + clearance_ratio) / clearance_ratio;
    let pressure = pressure_at(suction, density)?;
    // Each stroke brings in the swept volume beside the clearance and leaves the clearance mixed.
    let kept = clearance_ratio / (1.0 + clearance_ratio);
    let wash = purge_volume(0.0, 1.0, remaining_share)? / -kept.ln();
    Ok(Priming {
        highest_pressure: pressure,
        primes: pressure > pressure_behind,
        strokes: 1.0 + wash.ceil(),
    })
}

/// Pressure in Pa at a density in kg/m3 and the entropy of a state; infinite for a density beyond all.
fn pressure_at(suction: &State, density: f64) -> Result<f64> {
    let fluid = suction.fluid();
    match State::from_rho_s(fluid, density, suction.specific_entropy()) {
        Ok(end) => Ok(end.pressure()),
        // Denser than any fluid of the equation: more than any valve holds.
        Err(Error::OutOfRange { .. }) => Ok(f64::INFINITY),
        Err(error) => Err(error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};

    #[test]
    fn a_purge_is_a_plug_and_a_washout() {
        let volume = purge_volume(1e-6, 2e-6, 0.01).unwrap();
        assert!(close(volume, 1e-6 + 2e-6 * f64::ln(100.0), 1e-14));
        for (plug, mixed, share) in [
            (-1.0, 1.0, 0.1),
            (1.0, -1.0, 0.1),
            (1.0, 1.0, 0.0),
            (1.0, 1.0, 1.0),
        ] {
            assert_eq!(purge_volume(plug, mixed, share).unwrap_err().code(), 101);
        }
    }

    /// A dilute gas obeys `p v^k = const`: a stroke into half its volume, at a heat capacity ratio from the state itself.
    #[test]
    fn a_stroke_of_thin_gas_is_the_adiabat() {
        let gas = State::from_tp(&co2(), 293.15, 1e5).unwrap();
        let found = priming(&gas, 1.0, 1.5e5, 0.01).unwrap();
        let k = gas.specific_isobaric_heat_capacity().unwrap()
            / gas.specific_isochoric_heat_capacity().unwrap();
        assert!(close(found.highest_pressure, 1e5 * 2f64.powf(k), 0.02));
        assert!(found.primes);
        assert!(!priming(&gas, 1.0, 60e5, 0.01).unwrap().primes);
        // Half of the gas stays each time: seven strokes for a hundredth, and the first.
        assert!(close(found.strokes, 8.0, 1e-12));
        assert_eq!(priming(&gas, 0.0, 60e5, 0.01).unwrap_err().code(), 101);
    }

    /// Vapour in the head of a pump whose clearance is its swept volume: 98.915 bar at the end of the stroke, by CoolProp 8.0.0.
    #[test]
    fn vapour_locks_a_pump_with_a_large_clearance() {
        let vapour = co2().saturation_at_temperature(278.15).unwrap().vapour;
        let locked = priming(&vapour, 1.0, 150e5, 0.01).unwrap();
        assert!(!locked.primes);
        assert!(close(locked.highest_pressure, 9_891_530.4, 1e-6));
        assert!(priming(&vapour, 0.05, 150e5, 0.01).unwrap().primes);
    }
}
