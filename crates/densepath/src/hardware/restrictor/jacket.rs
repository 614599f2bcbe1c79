//! The wall of a heated restrictor: heat from outside through the wall and the film into the fluid.

use fluid::Quantity;
use fluid::Result;
use fluid::error::{Error, positive};

use crate::flow::conjugate::{WallPlace, wall_temperatures};
use crate::flow::passage::{Heating, Medium, Passed, Place, Point, Profile};
use crate::fluid;
use std::f64::consts::PI;

/// A wall with what lies outside it.
///
/// Three resistances in series at every place: outside film, wall, film of the fluid, whose heat transfer is that of
/// [`crate::flow::heat::nusselt_number`]. Conduction along the wall evens out its temperatures over [`Jacket::smoothing_length`],
/// about a millimetre of fused silica; it counts where [`Jacket::with_conduction_along`] asks for it.
///
/// ```
/// use densepath::{flow::passage::Profile, hardware::restrictor::Jacket};
/// let oven = Jacket::new(375e-6, 1.4, 50.0, Profile::constant(373.15)?)?;
/// assert!(!oven.conducts_along());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Jacket {
    outer_diameter: f64,
    thermal_conductivity: f64,
    outside_coefficient: f64,
    outside: Profile,
    conducts_along: bool,
}

impl Jacket {
    /// A wall of an outer diameter in m and a thermal conductivity in W/(m K), in surroundings of temperatures in K along it that
    /// give it heat with a coefficient in W/(m2 K).
    ///
    /// Fused silica 1.4 W/(m K), steel 16 W/(m K); still air about 10 W/(m2 K), a fan oven 50, a metal block that clasps the tube
    /// 1000 and more (common practice, no source). Error 101 for a value not above zero.
    ///
    /// ```
    /// use densepath::{flow::passage::Profile, hardware::restrictor::Jacket};
    /// assert_eq!(Jacket::new(375e-6, 0.0, 50.0, Profile::constant(373.15)?).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn new(
        outer_diameter: f64,
        thermal_conductivity: f64,
        outside_coefficient: f64,
        outside: Profile,
    ) -> Result<Self> {
        Ok(Self {
            outer_diameter: positive(Quantity::Diameter, outer_diameter)?,
            thermal_conductivity: positive(Quantity::ThermalConductivity, thermal_conductivity)?,
            outside_coefficient: positive(Quantity::HeatTransferCoefficient, outside_coefficient)?,
            outside,
            conducts_along: false,
        })
    }

    /// The wall with conduction along it, insulated at both ends: wall and fluid are then solved together, march by march, which takes
    /// some five to ten times as long. Matters where the surroundings change within some millimetres, and at a tip that cools.
    ///
    /// ```
    /// use densepath::{flow::passage::Profile, hardware::restrictor::Jacket};
    /// assert!(Jacket::new(375e-6, 1.4, 50.0, Profile::constant(373.15)?)?.with_conduction_along().conducts_along());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    #[must_use]
    pub fn with_conduction_along(self) -> Self {
        Self {
            conducts_along: true,
            ..self
        }
    }

    /// Whether heat flows along the wall.
    ///
    /// ```
    /// use densepath::{flow::passage::Profile, hardware::restrictor::Jacket};
    /// assert!(!Jacket::new(375e-6, 1.4, 50.0, Profile::constant(373.15)?)?.conducts_along());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn conducts_along(&self) -> bool {
        self.conducts_along
    }

    /// Temperatures of the surroundings.
    ///
    /// ```
    /// use densepath::{flow::passage::Profile, hardware::restrictor::Jacket};
    /// let oven = Jacket::new(375e-6, 1.4, 50.0, Profile::constant(373.15)?)?;
    /// assert_eq!(oven.outside().at(0.05).0, 373.15);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn outside(&self) -> &Profile {
        &self.outside
    }

    /// Conductance per length in W/(m K) from the surroundings to the face of a bore in m: outer film `pi d_o alpha` and wall
    /// `2 pi lambda/ln(d_o/d)` in series.
    ///
    /// *Source*: conduction of heat through a cylinder. Error 101 for a bore not below the outer diameter.
    ///
    /// ```
    /// use densepath::{flow::passage::Profile, hardware::restrictor::Jacket};
    /// let oven = Jacket::new(375e-6, 1.4, 50.0, Profile::constant(373.15)?)?;
    /// // The air is what resists: pi 375 um 50 W/(m2 K) alone would be 0.0589 W/(m K).
    /// assert!((oven.conductance(10e-6)? - 1.0 / (1.0 / 0.0589 + 37.5f64.ln() / 8.796)).abs() < 1e-4);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn conductance(&self, bore: f64) -> Result<f64> {
        Ok(1.0 / (1.0 / self.outer_conductance() + 1.0 / self.wall_conductance(bore)?))
    }

    /// Conductance per length of the outer film in W/(m K).
    fn outer_conductance(&self) -> f64 {
        PI * self.outer_diameter * self.outside_coefficient
    }

    /// Conductance per length across the wall in W/(m K).
    fn wall_conductance(&self, bore: f64) -> Result<f64> {
        positive(Quantity::Diameter, bore)?;
        if self.outer_diameter <= bore {
            return Err(Error::Domain {
                quantity: Quantity::Diameter,
                value: self.outer_diameter,
                rule: "above the bore",
            });
        }
        Ok(2.0 * PI * self.thermal_conductivity / (self.outer_diameter / bore).ln())
    }

    /// Cross-section of the wall in m2.
    fn wall_area(&self, bore: f64) -> f64 {
        0.25 * PI * (self.outer_diameter * self.outer_diameter - bore * bore)
    }

    /// Length in m over which conduction along the wall evens out its temperatures, `sqrt(lambda A/(g_i + g_o))`, with the
    /// conductances per length in W/(m K) to the fluid and to the surroundings.
    ///
    /// ```
    /// use densepath::{flow::passage::Profile, hardware::restrictor::Jacket};
    /// let oven = Jacket::new(375e-6, 1.4, 50.0, Profile::constant(373.15)?)?;
    /// // About a millimetre of fused silica.
    /// let length = oven.smoothing_length(10e-6, 0.1)?;
    /// assert!(length > 0.5e-3 && length < 2e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn smoothing_length(&self, bore: f64, film_conductance: f64) -> Result<f64> {
        let area = self.wall_area(bore);
        let both =
            positive(Quantity::ThermalConductivity, film_conductance)? + self.conductance(bore)?;
        Ok((self.thermal_conductivity * area / both).sqrt())
    }

    /// The exchange that a bore sees.
    pub(super) fn heating(&self, bore: f64) -> Result<Heating> {
        Ok(Heating::Conductance {
            outside: self.outside.clone(),
            conductance: self.conductance(bore)?,
        })
    }

    /// The exchange that a bore sees from a wall of temperatures in K along it; all resistance across the wall counts to the fluid.
    fn heating_from(&self, wall: &[(f64, f64)], bore: f64) -> Result<Heating> {
        Ok(Heating::Conductance {
            outside: Profile::new(wall.to_vec())?,
            conductance: self.wall_conductance(bore)?,
        })
    }

    /// The flow through a bore in m of a medium beside this wall, with the temperatures in K of the wall at distances in m from the
    /// inlet.
    ///
    /// `march` is the flow for an exchange of heat. Errors: those of the march; 401 if fluid and wall do not settle.
    pub(super) fn flow<M: Medium>(
        &self,
        medium: &M,
        bore: f64,
        march: impl Fn(&Heating) -> Result<Passed>,
    ) -> Result<(Passed, Vec<(f64, f64)>)> {
        let mut passed = march(&self.heating(bore)?)?;
        let across = self.wall_conductance(bore)?;
        let outer = self.outer_conductance();
        let mut places = self.places(medium, &passed, across, |place, inner, outside| {
            (outer * outside + inner * place.temperature) / (outer + inner)
        })?;
        let mut change = f64::INFINITY;
        for _ in 0..ROUNDS {
            let along = if self.conducts_along {
                self.thermal_conductivity * self.wall_area(bore)
            } else {
                0.0
            };
            let found = wall_temperatures(&places, along);
            let changes = places.iter().zip(&found);
            let changes = changes.map(|(place, found)| (place.wall_temperature - found).abs());
            change = changes.fold(0.0, f64::max);
            let positions = places.iter().map(|place| place.position);
            let wall: Vec<(f64, f64)> = positions.zip(found).collect();
            if !self.conducts_along || change < SETTLED {
                return Ok((passed, wall));
            }
            let heating = self.heating_from(&wall, bore)?;
            let Heating::Conductance { outside, .. } = &heating else {
                break;
            };
            passed = march(&heating)?;
            places = self.places(medium, &passed, across, |place, _, _| {
                outside.at(place.position).0
            })?;
        }
        Err(Error::NoConvergence {
            solver: "wall and fluid of a restrictor",
            iterations: ROUNDS,
            residual: change,
            tolerance: SETTLED,
        })
    }

    /// The places of a march beside the wall, with the temperatures of the wall by the place, the conductance to the fluid and the
    /// temperature outside, and others between them where they lie far apart.
    fn places<M: Medium>(
        &self,
        medium: &M,
        passed: &Passed,
        across: f64,
        wall: impl Fn(&Place, f64, f64) -> f64,
    ) -> Result<Vec<WallPlace>> {
        let outer = self.outer_conductance();
        let longest = passed.exit().map_or(0.0, |exit| exit.position) / STRETCHES;
        let mut places: Vec<WallPlace> = Vec::new();
        for place in &passed.places {
            let film = medium.film_conductance(&place.point, place.reynolds_number)?;
            let inner = 1.0 / (1.0 / film + 1.0 / across);
            let outside = self.outside.at(place.position).0;
            let next = WallPlace {
                position: place.position,
                wall_temperature: wall(place, inner, outside),
                outside_temperature: outside,
                fluid_temperature: place.temperature,
                outside_conductance: outer,
                fluid_conductance: inner,
                heat_capacity_rate: passed.mass_flow_rate * isobaric_heat_capacity(&place.point),
            };
            let Some(before) = places.last().copied() else {
                places.push(next);
                continue;
            };
            let gap = next.position - before.position;
            if gap <= CLOSEST * longest {
                continue;
            }
            let parts = (gap / longest).ceil().max(1.0);
            let mut part = 1.0;
            while part < parts {
                let between = before.towards(&next, part / parts);
                places.push(WallPlace {
                    outside_temperature: self.outside.at(between.position).0,
                    ..between
                });
                part += 1.0;
            }
            places.push(next);
        }
        Ok(places)
    }
}

/// `c_p = c_v + T p_T^2/(rho^2 p_rho)` in J/(kg K); infinite for two phases.
fn isobaric_heat_capacity(point: &Point) -> f64 {
    let local = &point.local;
    let spring = local.dp_dt_rho / local.density;
    local.specific_isochoric_heat_capacity + local.temperature * spring * spring / local.dp_drho_t
}

/// Largest change in K of the wall between two marches at which both have settled: marches choose their places themselves, which alone
/// moves the wall by some millikelvins.
const SETTLED: f64 = 0.01;
/// Marches after which they should have.
const ROUNDS: u32 = 40;
/// Number of stretches of the wall at least.
const STRETCHES: f64 = 200.0;
/// Distance between places, over the longest stretch, below which they are one.
const CLOSEST: f64 = 1e-6;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::close;

    #[test]
    fn resistances_stand_in_series() {
        let outside = Profile::constant(400.0).unwrap();
        let jacket = Jacket::new(375e-6, 1.4, 1000.0, outside).unwrap();
        let film = PI * 375e-6 * 1000.0;
        let wall = 2.0 * PI * 1.4 / (375.0f64 / 50.0).ln();
        assert!(close(
            jacket.conductance(50e-6).unwrap(),
            film * wall / (film + wall),
            1e-12
        ));
        // Fused silica around a bore of 50 um: below a millimetre.
        let length = jacket.smoothing_length(50e-6, 0.3).unwrap();
        assert!(length > 1e-4 && length < 1e-3, "{length}");
        assert_eq!(jacket.conductance(400e-6).unwrap_err().code(), 101);
    }
}
