//! The wall of a heated restrictor: heat from outside through the wall and the film into the fluid.

use fluid::Quantity;
use fluid::Result;
use fluid::error::{Error, positive};

use crate::flow::passage::{Heating, Profile};
use crate::fluid;
use std::f64::consts::PI;

/// A wall with what lies outside it.
///
/// Three resistances in series at every place: outside film, wall, film of the fluid, whose heat transfer is that of
/// [`crate::flow::heat::nusselt_number`]. Conduction along the wall is left out: it evens out the temperatures of the wall over
/// [`Jacket::smoothing_length`], about a millimetre of fused silica.
#[derive(Debug, Clone, PartialEq)]
pub struct Jacket {
    outer_diameter: f64,
    thermal_conductivity: f64,
    outside_coefficient: f64,
    outside: Profile,
}

impl Jacket {
    /// A wall of an outer diameter in m and a thermal conductivity in W/(m K), in surroundings of temperatures in K along it that
    /// give it heat with a coefficient in W/(m2 K).
    ///
    /// Fused silica 1.4 W/(m K), steel 16 W/(m K); still air about 10 W/(m2 K), a fan oven 50, a metal block that clasps the tube
    /// 1000 and more (common practice, no source). Error 101 for a value not above zero.
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
        })
    }

    /// Temperatures of the surroundings.
    pub fn outside(&self) -> &Profile {
        &self.outside
    }

    /// Conductance per length in W/(m K) from the surroundings to the face of a bore in m: outer film `pi d_o alpha` and wall
    /// `2 pi lambda/ln(d_o/d)` in series.
    ///
    /// *Source*: conduction of heat through a cylinder. Error 101 for a bore not below the outer diameter.
    pub fn conductance(&self, bore: f64) -> Result<f64> {
        positive(Quantity::Diameter, bore)?;
        if self.outer_diameter <= bore {
            return Err(Error::Domain {
                quantity: Quantity::Diameter,
                value: self.outer_diameter,
                rule: "above the bore",
            });
        }
        let film = PI * self.outer_diameter * self.outside_coefficient;
        let wall = 2.0 * PI * self.thermal_conductivity / (self.outer_diameter / bore).ln();
        Ok(1.0 / (1.0 / film + 1.0 / wall))
    }

    /// Length in m over which conduction along the wall evens out its temperatures, `sqrt(lambda A/(g_i + g_o))`, with the
    /// conductances per length in W/(m K) to the fluid and to the surroundings.
    pub fn smoothing_length(&self, bore: f64, film_conductance: f64) -> Result<f64> {
        let area = 0.25 * PI * (self.outer_diameter * self.outer_diameter - bore * bore);
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
}

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
