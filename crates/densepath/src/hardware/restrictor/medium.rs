//! A fluid as the march along a passage asks for it: one phase, or liquid and vapour of one substance in equilibrium.

use fluid::{Error, Fluid, Phase, Result, State};

use crate::flow::balance::Local;
use crate::flow::heat::{film_conductance, nusselt_number};
use crate::flow::passage::{Medium, Point};
use crate::fluid;

/// A real fluid.
#[derive(Debug)]
pub(super) struct RealFluid<'a>(pub &'a Fluid);

impl RealFluid<'_> {
    fn state(&self, temperature: f64, density: f64) -> Result<State> {
        State::one_phase_from_t_rho(self.0, temperature, density)
    }
}

impl Medium for RealFluid<'_> {
    fn point(&self, temperature: f64, density: f64) -> Result<Point> {
        let state = self.state(temperature, density)?;
        if state.is_one_phase() {
            return one_phase(&state);
        }
        match (state.phase(), state.liquid(), state.vapour()) {
            (Phase::LiquidVapour, Some(liquid), Some(vapour)) if !self.0.is_mixture() => {
                in_equilibrium(&state, liquid, vapour)
            }
            _ => Err(Error::PhaseChange {
                position: f64::NAN,
                temperature,
                pressure: state.pressure(),
            }),
        }
    }

    /// Of one phase after [`nusselt_number`]; of two phases between those of the liquid and of the vapour by mass, each at the Reynolds
    /// number of the homogeneous mixture. That leaves out what boiling at the wall adds, and lets the wall dry out as the vapour takes
    /// over (common practice, no source); where it jumped at a border of phases, a flow could not leave that border.
    fn film_conductance(&self, point: &Point, reynolds_number: f64) -> Result<f64> {
        let state = self.state(point.local.temperature, point.local.density)?;
        let film = |phase: &State| film_of(phase, reynolds_number);
        match (state.liquid(), state.vapour(), point.vapour_fraction) {
            (Some(liquid), Some(vapour), Some(share)) => {
                Ok((1.0 - share) * film(liquid)? + share * film(vapour)?)
            }
            _ => film(&state),
        }
    }
}

fn film_of(phase: &State, reynolds_number: f64) -> Result<f64> {
    let conductivity = phase.thermal_conductivity()?;
    let heat_capacity = phase.specific_isobaric_heat_capacity()?;
    let prandtl = phase.dynamic_viscosity()? * heat_capacity / conductivity;
    film_conductance(conductivity, nusselt_number(reynolds_number, prandtl)?)
}

fn local(state: &State) -> Result<Local> {
    Ok(Local {
        temperature: state.temperature(),
        density: state.density(),
        dp_drho_t: state.dp_drho_t()?,
        dp_dt_rho: state.dp_dt_rho()?,
        specific_isochoric_heat_capacity: state.specific_isochoric_heat_capacity()?,
    })
}

fn one_phase(state: &State) -> Result<Point> {
    Ok(Point {
        local: local(state)?,
        pressure: state.pressure(),
        dynamic_viscosity: state.dynamic_viscosity()?,
        specific_enthalpy: state.specific_enthalpy(),
        vapour_fraction: None,
    })
}

/// Liquid and vapour as one fluid: the pressure follows the vapour pressure, and the heat capacity at constant volume counts
/// what evaporates.
///
/// With ' along the line of saturation, `p' = (s_v - s_l)/(v_v - v_l)` (Clapeyron), `rho' = (p' - p_T)/p_rho` and
/// `s' = c_v/T - p_T rho'/rho^2` of each phase, and `q' = -(v_l' + q (v_v' - v_l'))/(v_v - v_l)` at constant volume:
/// `c_v = T [s_l' + q (s_v' - s_l') + q' (s_v - s_l)]`. Viscosity `1/eta = q/eta_v + (1 - q)/eta_l` (W. H. McAdams, W. K. Woods
/// and L. C. Heroman, Trans. ASME 64, 193 (1942); from memory).
fn in_equilibrium(state: &State, liquid: &State, vapour: &State) -> Result<Point> {
    let [wet, dry] = [liquid, vapour];
    let volume = |phase: &State| 1.0 / phase.density();
    let swelling = volume(dry) - volume(wet);
    let entropy = dry.specific_entropy() - wet.specific_entropy();
    let slope = entropy / swelling;
    let along = |phase: &State| -> Result<(f64, f64)> {
        let Local {
            temperature,
            density,
            dp_drho_t,
            dp_dt_rho,
            specific_isochoric_heat_capacity,
        } = local(phase)?;
        let density_slope = (slope - dp_dt_rho) / dp_drho_t;
        let square = density * density;
        let entropy_slope =
            specific_isochoric_heat_capacity / temperature - dp_dt_rho * density_slope / square;
        Ok((-density_slope / square, entropy_slope))
    };
    let ((v_l, s_l), (v_v, s_v)) = (along(wet)?, along(dry)?);
    let q = (volume(state) - volume(wet)) / swelling;
    let q_slope = -(v_l + q * (v_v - v_l)) / swelling;
    let heat_capacity = state.temperature() * (s_l + q * (s_v - s_l) + q_slope * entropy);
    let fluidity = q / dry.dynamic_viscosity()? + (1.0 - q) / wet.dynamic_viscosity()?;
    Ok(Point {
        local: Local {
            temperature: state.temperature(),
            density: state.density(),
            dp_drho_t: 0.0,
            dp_dt_rho: slope,
            specific_isochoric_heat_capacity: heat_capacity,
        },
        pressure: state.pressure(),
        dynamic_viscosity: 1.0 / fluidity,
        specific_enthalpy: state.specific_enthalpy(),
        vapour_fraction: Some(q),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};

    /// The speed of sound of the mixture in equilibrium by differences along an isentrope.
    #[test]
    fn the_wave_of_two_phases_is_that_of_the_isentrope() {
        let fluid = co2();
        for (temperature, density) in [
            (280.0, 400.0),
            (250.0, 100.0),
            (300.0, 500.0),
            (230.0, 900.0),
        ] {
            let point = RealFluid(&fluid).point(temperature, density).unwrap();
            let state = State::from_t_rho(&fluid, temperature, density).unwrap();
            assert!(close(
                point.vapour_fraction.unwrap(),
                state.vapour_fraction().unwrap(),
                1e-9
            ));
            let Local {
                dp_dt_rho,
                specific_isochoric_heat_capacity,
                ..
            } = point.local;
            let wave = temperature * dp_dt_rho.powi(2)
                / (density.powi(2) * specific_isochoric_heat_capacity);
            let (p, s) = (state.pressure(), state.specific_entropy());
            let at = |p: f64| State::from_ps(&fluid, p, s).unwrap().density();
            let step = 1e-4 * p;
            let expected = 2.0 * step / (at(p + step) - at(p - step));
            assert!(
                close(wave, expected, 1e-5),
                "{temperature} {density}: {wave} {expected}"
            );
        }
    }

    /// A jump would hold a flow at the border: heat too little on its dry side, too much on its wet side.
    #[test]
    fn the_film_does_not_jump_where_phases_appear() {
        let fluid = co2();
        let film = |density: f64, reynolds_number: f64| {
            let point = RealFluid(&fluid).point(260.0, density).unwrap();
            let conductance = RealFluid(&fluid).film_conductance(&point, reynolds_number);
            (point.vapour_fraction, conductance.unwrap())
        };
        let found = fluid.saturation_at_temperature(260.0).unwrap();
        let [wet, dry] = [found.liquid.density(), found.vapour.density()];
        for reynolds_number in [500.0, 20_000.0] {
            for (border, outwards) in [(wet, 1.0), (dry, -1.0)] {
                let beside = |side: f64| film(border * (1.0 + 1e-7 * side), reynolds_number);
                let ((one, outside), (two, inside)) = (beside(outwards), beside(-outwards));
                assert!(one.is_none() && two.is_some());
                assert!(close(outside, inside, 1e-5), "{outside} {inside}");
            }
            assert!(
                film(wet * 1.001, reynolds_number).1 > 2.0 * film(dry * 0.999, reynolds_number).1
            );
        }
    }

    #[test]
    fn solids_are_no_medium() {
        let fluid = co2();
        let error = RealFluid(&fluid).point(200.0, 100.0).unwrap_err();
        assert_eq!(error.code(), 502);
    }
}
