//! The plug of a sample in a strong solvent: its phase where it meets the mobile phase.

use fluid::error::{Error, positive};
use fluid::{Fluid, Quantity, Result, State};

use super::{Feed, blend};
use crate::fluid;

/// The plug at one degree of mixing.
///
/// ```
/// use densepath::hardware::plug_phases;
/// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
/// # let room = Surroundings {
/// #     delivery_pressure: 200e5,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     solute: None,
/// #     carrier: "carbon dioxide",
/// #     additives: &[],
/// # };
/// let phases = plug_phases(&stream.state, &Fluid::new("methanol")?, 4)?;
/// // Equal steps between the two.
/// let fractions: Vec<f64> = phases.iter().map(|phase| phase.solvent_fraction).collect();
/// assert_eq!(fractions, [0.2, 0.4, 0.6, 0.8]);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct PlugPhase {
    /// Volume fraction of the sample's solvent, counted before the two meet.
    pub solvent_fraction: f64,
    /// The state of what they make.
    pub state: State,
    /// Pressure in Pa above the one at which a second phase appears; nothing where there are two already.
    pub single_phase_margin: Option<f64>,
}

/// The phases of a plug between the mobile phase and its undiluted solvent, at a number of equal steps of volume fraction, at the
/// temperature and the pressure of the mobile phase; the two ends, a fluid each and no mixture of both, are left out.
///
/// The mixture follows the model of the mobile phase. Where a sample meets carbon dioxide through a mixer, every composition on this line occurs; two phases on it mean that the sample may
/// fall out, and that the plug does not move as one. The composition behind a mixer is that of
/// [`crate::flow::injection::peak_fraction_behind_mixer`].
///
/// *Uncertainty*: that of the equation of mixtures at its borders of phases, some bar.
///
/// Errors: 101 for no step; 202 if a pair of the substances has no parameters; those of the states.
///
/// ```
/// use densepath::hardware::plug_phases;
/// # use densepath::{Fluid, State, hardware::{Element, Stream, Surroundings}};
/// # let fluid = Fluid::new("carbon dioxide")?;
/// # let stream = Stream { state: State::from_tp(&fluid, 313.15, 150e5)?, mass_flow_rate: 5e-5 };
/// # let room = Surroundings {
/// #     delivery_pressure: 200e5,
/// #     room_temperature: 293.15,
/// #     room_pressure: 101_325.0,
/// #     solute: None,
/// #     carrier: "carbon dioxide",
/// #     additives: &[],
/// # };
/// // At 40 degC and 150 bar methanol and carbon dioxide mix in all proportions.
/// let phases = plug_phases(&stream.state, &Fluid::new("methanol")?, 4)?;
/// assert!(phases.iter().all(|phase| phase.state.is_one_phase()));
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn plug_phases(mobile_phase: &State, solvent: &Fluid, steps: u32) -> Result<Vec<PlugPhase>> {
    positive(Quantity::Ratio, f64::from(steps))?;
    let (temperature, pressure) = (mobile_phase.temperature(), mobile_phase.pressure());
    let feed = |fluid: &Fluid, volume_flow_rate: f64| Feed {
        fluid: fluid.clone(),
        volume_flow_rate,
        temperature,
        pressure,
    };
    let mut phases = Vec::new();
    for step in 1..=steps {
        // The ends are a fluid each and no mixture of the two.
        let solvent_fraction = f64::from(step) / f64::from(steps + 1);
        let feeds = [
            feed(mobile_phase.fluid(), 1.0 - solvent_fraction),
            feed(solvent, solvent_fraction),
        ];
        let state = State::from_tp(
            &blend(&feeds)?.fluid_with_model(mobile_phase.fluid().choice())?,
            temperature,
            pressure,
        )?;
        let margin = || match state.single_phase_margin() {
            Ok(margin) => Ok(Some(margin)),
            Err(Error::NoConvergence { .. }) => Ok(None),
            Err(error) => Err(error),
        };
        let single_phase_margin = if state.is_one_phase() {
            margin()?
        } else {
            None
        };
        phases.push(PlugPhase {
            solvent_fraction,
            state,
            single_phase_margin,
        });
    }
    Ok(phases)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::stream_at;

    #[test]
    fn methanol_meets_dense_carbon_dioxide_in_one_phase_and_warm_gas_in_two() {
        let methanol = Fluid::new("methanol").unwrap();
        let dense = plug_phases(&stream_at(40.0, 150.0, 1e-5).state, &methanol, 4).unwrap();
        assert_eq!(dense.len(), 4);
        // 40 degC and 150 bar lie above the critical line, which ends near 82 bar at 40 degC.
        for plug in &dense {
            assert!(
                plug.state.is_one_phase()
                    && plug.single_phase_margin.is_some_and(|margin| margin > 20e5)
            );
        }
        let thin = plug_phases(&stream_at(60.0, 60.0, 1e-5).state, &methanol, 4).unwrap();
        assert!(thin.iter().any(|plug| !plug.state.is_one_phase()));
        assert!(plug_phases(&stream_at(40.0, 150.0, 1e-5).state, &methanol, 0).is_err());
    }
}
