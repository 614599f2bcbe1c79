//! A fluid as the march along a passage asks for it: one phase, or liquid and vapour of one substance in equilibrium.

use std::cell::OnceCell;

use fluid::num::series::{Sampler, Series};
use fluid::{Error, Fluid, Phase, Result, State};

use super::throat::NEARLY_CRITICAL;
use crate::flow::balance::Local;
use crate::flow::heat::{film_conductance, nusselt_number};
use crate::flow::passage::{Medium, Point};
use crate::fluid;

/// Share of the critical density above which a fluid may be nearly critical.
const DENSE: f64 = 0.3;

/// Share of the temperature above the triple point within which a march has come to it.
const FREEZING: f64 = 1e-6;

/// A real fluid.
#[derive(Debug)]
pub(super) struct RealFluid<'a> {
    fluid: &'a Fluid,
    /// Temperature in K and density in kg/m3 above which a substance is nearly critical; infinite for mixtures, whose two phases are
    /// no medium.
    nearly_critical: [f64; 2],
    /// Made when a march first comes to two phases: it will come back to them thousands of times.
    dome: OnceCell<Option<Dome>>,
}

impl<'a> RealFluid<'a> {
    pub(super) fn new(fluid: &'a Fluid) -> Self {
        // A search for that of a mixture would be in vain.
        let critical = (!fluid.is_mixture()).then(|| fluid.critical_point().ok());
        let nearly_critical = critical.flatten().map(|critical| {
            [
                NEARLY_CRITICAL * critical.temperature,
                DENSE * critical.density,
            ]
        });
        Self {
            fluid,
            nearly_critical: nearly_critical.unwrap_or([f64::INFINITY; 2]),
            dome: OnceCell::new(),
        }
    }

    fn state(&self, temperature: f64, density: f64) -> Result<State> {
        State::one_phase_from_t_rho(self.fluid, temperature, density)
    }
}

impl Medium for RealFluid<'_> {
    fn point(&self, temperature: f64, density: f64) -> Result<Point> {
        let dome = self.dome.get().and_then(Option::as_ref);
        if let Some(borders) = dome.and_then(|dome| dome.at(temperature))
            && let Some(point) = borders.point(temperature, density)
        {
            return Ok(point);
        }
        let state = self.state(temperature, density)?;
        if state.is_one_phase() {
            return one_phase(&state);
        }
        let splits = Error::PhaseChange {
            position: f64::NAN,
            temperature,
            pressure: state.pressure(),
        };
        match (state.phase(), state.liquid(), state.vapour()) {
            (Phase::LiquidVapour, Some(liquid), Some(vapour)) if !self.fluid.is_mixture() => {
                self.dome.get_or_init(|| Dome::new(self.fluid).ok());
                let borders = Borders::new(liquid, vapour)?;
                borders.point(temperature, density).ok_or(splits)
            }
            _ => Err(splits),
        }
    }

    fn is_nearly_critical(&self, point: &Point) -> bool {
        let [temperature, density] = self.nearly_critical;
        point.local.temperature > temperature && point.local.density > density
    }

    fn freezes(&self, point: &Point) -> bool {
        let warmest = |triple: f64| triple * (1.0 + FREEZING);
        let triple = self.fluid.triple_temperature();
        point.vapour_fraction.is_some()
            && triple.is_ok_and(|triple| point.local.temperature < warmest(triple))
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

/// Liquid and vapour at one temperature as one fluid: the pressure follows the vapour pressure, and the heat capacity at constant
/// volume counts what evaporates.
struct Borders {
    pressure: f64,
    /// Slope `p'` of the vapour pressure in Pa/K.
    slope: f64,
    /// Specific enthalpy of the liquid in J/kg.
    enthalpy: f64,
    /// Specific volumes in m3/kg of liquid and vapour.
    volumes: [f64; 2],
    /// Specific heat capacities in J/(kg K) of both phases at constant volume, where there is nothing but liquid or vapour.
    heat_capacities: [f64; 2],
    viscosities: [f64; 2],
}

impl Borders {
    /// With ' along the line of saturation, `p' = (s_v - s_l)/(v_v - v_l)` (Clapeyron), `rho' = (p' - p_T)/p_rho` and
    /// `s' = c_v/T - p_T rho'/rho^2` of each phase, and `q' = -(v_l' + q (v_v' - v_l'))/(v_v - v_l)` at constant volume:
    /// `c_v = T [s_l' + q (s_v' - s_l') + q' (s_v - s_l)]`, which is linear in the share q of vapour.
    fn new(liquid: &State, vapour: &State) -> Result<Self> {
        let phases = [liquid, vapour];
        let volumes = phases.map(|phase| 1.0 / phase.density());
        let entropy = vapour.specific_entropy() - liquid.specific_entropy();
        let slope = entropy / (volumes[1] - volumes[0]);
        let heat_capacity = |phase: &State| -> Result<f64> {
            let Local {
                temperature,
                density,
                dp_drho_t,
                dp_dt_rho,
                specific_isochoric_heat_capacity,
            } = local(phase)?;
            let (square, density_slope) = (density * density, (slope - dp_dt_rho) / dp_drho_t);
            let entropy_slope =
                specific_isochoric_heat_capacity / temperature - dp_dt_rho * density_slope / square;
            let volume_slope = -density_slope / square;
            Ok(temperature * (entropy_slope - slope * volume_slope))
        };
        Ok(Self {
            pressure: liquid.pressure(),
            slope,
            enthalpy: liquid.specific_enthalpy(),
            volumes,
            heat_capacities: [heat_capacity(liquid)?, heat_capacity(vapour)?],
            viscosities: [liquid.dynamic_viscosity()?, vapour.dynamic_viscosity()?],
        })
    }

    /// Both phases at a density; nothing outside the dome. Viscosity `1/eta = q/eta_v + (1 - q)/eta_l` (W. H. McAdams, W. K. Woods
    /// and L. C. Heroman, Trans. ASME 64, 193 (1942); from memory).
    fn point(&self, temperature: f64, density: f64) -> Option<Point> {
        let [wet, dry] = self.volumes;
        let q = (1.0 / density - wet) / (dry - wet);
        if !(0.0..=1.0).contains(&q) {
            return None;
        }
        let between = |[wet, dry]: [f64; 2]| (1.0 - q) * wet + q * dry;
        Some(Point {
            local: Local {
                temperature,
                density,
                dp_drho_t: 0.0,
                dp_dt_rho: self.slope,
                specific_isochoric_heat_capacity: between(self.heat_capacities),
            },
            pressure: self.pressure,
            dynamic_viscosity: 1.0 / between(self.viscosities.map(f64::recip)),
            specific_enthalpy: self.enthalpy + q * temperature * self.slope * (dry - wet),
            vapour_fraction: Some(q),
        })
    }
}

/// Share of the critical temperature above which the dome is left to the equation of state.
const TOP: f64 = 0.998;

/// The dome of one substance as series in the cube root of the distance from the critical temperature, in which both its sides are
/// smooth.
#[derive(Debug)]
struct Dome {
    critical_temperature: f64,
    /// Added to the enthalpy, as series need values above zero.
    enthalpy: f64,
    pieces: Vec<Series<9>>,
}

impl Dome {
    fn new(fluid: &Fluid) -> Result<Self> {
        let critical_temperature = fluid.critical_point()?.temperature;
        let coldest = fluid.triple_temperature()?;
        let wet = fluid.saturation_at_temperature(coldest)?.liquid;
        let enthalpy =
            critical_temperature * wet.specific_isobaric_heat_capacity()? - wet.specific_enthalpy();
        let at = |coordinate: &f64| {
            let temperature = (critical_temperature - coordinate.powi(3)).max(coldest);
            let found = fluid.saturation_at_temperature(temperature)?;
            let borders = Borders::new(&found.liquid, &found.vapour)?;
            let ([v_l, v_v], [c_l, c_v]) = (borders.volumes, borders.heat_capacities);
            let ([eta_l, eta_v], enthalpy) = (borders.viscosities, borders.enthalpy + enthalpy);
            Ok([
                borders.pressure,
                borders.slope,
                enthalpy,
                v_l,
                v_v,
                c_l,
                c_v,
                eta_l,
                eta_v,
            ])
        };
        let mut sampler = Sampler {
            properties: |coordinates: &[f64]| coordinates.iter().map(at).collect(),
        };
        let ends = [TOP * critical_temperature, coldest];
        let ends = ends.map(|temperature| (critical_temperature - temperature).cbrt());
        Ok(Self {
            critical_temperature,
            enthalpy,
            pieces: sampler.series(ends, None)?,
        })
    }

    /// Nothing at a temperature outside the series.
    fn at(&self, temperature: f64) -> Option<Borders> {
        let coordinate = (self.critical_temperature - temperature).cbrt();
        let holds = |piece: &&Series<9>| {
            let [low, high] = piece.ends();
            coordinate >= low && coordinate <= high
        };
        let [[pressure, slope, enthalpy, v_l, v_v, c_l, c_v, eta_l, eta_v]] =
            self.pieces.iter().find(holds)?.at([coordinate]);
        Some(Borders {
            pressure,
            slope,
            enthalpy: enthalpy - self.enthalpy,
            volumes: [v_l, v_v],
            heat_capacities: [c_l, c_v],
            viscosities: [eta_l, eta_v],
        })
    }
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
            let point = RealFluid::new(&fluid).point(temperature, density).unwrap();
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
            let point = RealFluid::new(&fluid).point(260.0, density).unwrap();
            let conductance = RealFluid::new(&fluid).film_conductance(&point, reynolds_number);
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

    /// Once a march has come to two phases, they are read from series.
    #[test]
    fn series_of_the_dome_meet_its_states() {
        for name in ["carbon dioxide", "water", "ethane"] {
            let fluid = Fluid::new(name).unwrap();
            let (coldest, critical) = (
                fluid.triple_temperature().unwrap(),
                fluid.critical_point().unwrap(),
            );
            let dome = Dome::new(&fluid).unwrap();
            for step in 0..=20 {
                let share = f64::from(step) / 20.0;
                let temperature = coldest + share * (TOP * critical.temperature - coldest);
                let found = fluid.saturation_at_temperature(temperature).unwrap();
                let exact = Borders::new(&found.liquid, &found.vapour).unwrap();
                let Some(borders) = dome.at(temperature) else {
                    assert!(step == 0 || step == 20, "{name} {temperature}");
                    continue;
                };
                for quality in [0.1, 0.5, 0.9] {
                    let [wet, dry] = exact.volumes;
                    let density = 1.0 / (wet + quality * (dry - wet));
                    let of = |borders: &Borders| {
                        let point = borders.point(temperature, density).unwrap();
                        let Local {
                            dp_dt_rho,
                            specific_isochoric_heat_capacity,
                            ..
                        } = point.local;
                        let wave = dp_dt_rho * dp_dt_rho / specific_isochoric_heat_capacity;
                        [point.pressure, wave, point.dynamic_viscosity]
                    };
                    for (found, exact) in of(&borders).into_iter().zip(of(&exact)) {
                        assert!(
                            close(found, exact, 1e-7),
                            "{name} {temperature} {found} {exact}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn solids_are_no_medium() {
        let fluid = co2();
        let error = RealFluid::new(&fluid).point(200.0, 100.0).unwrap_err();
        assert_eq!(error.code(), 502);
    }
}
