//! The mixer: a well-mixed volume and a resistance. Before the injector it smooths what the pumps make, behind it the band decays
//! through it as through any mixed volume.

use fluid::error::{Error, not_negative, positive};
use fluid::{Quantity, Result, State};

use super::{Element, Fact, Outlet, Role, Stream, Surroundings, Thermal};
use crate::flow::bands::MIXED;
use crate::flow::peak::Tail;
use crate::fluid;

/// A mixer with a pressure drop known from its data or measured.
///
/// ```
/// use densepath::hardware::{Element, Mixer, Role, Thermal};
/// assert_eq!(Mixer::new(0.5e-6, 1e5, Thermal::Adiabatic)?.role(), Role::Mixing);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mixer {
    volume: f64,
    pressure_drop: f64,
    thermal: Thermal,
}

impl Mixer {
    /// A mixer of a volume in m3 that costs a pressure drop in Pa. Error 101 for a volume not above
    /// zero, a negative drop, or a conductance, which belongs to parts with a length.
    ///
    /// ```
    /// use densepath::hardware::{Mixer, Thermal};
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
    /// // It costs the pressure that was told.
    /// let outlet = Mixer::new(0.5e-6, 1e5, Thermal::Adiabatic)?.outlet(&stream, &room)?;
    /// assert!((stream.state.pressure() - outlet.state.pressure() - 1e5).abs() < 1e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn new(volume: f64, pressure_drop: f64, thermal: Thermal) -> Result<Self> {
        if let Thermal::Wall { conductance, .. } = thermal {
            return Err(Error::Domain {
                quantity: Quantity::ThermalConductivity,
                value: conductance,
                rule: "not stated for a mixer, which has no length",
            });
        }
        Ok(Self {
            volume: positive(Quantity::Volume, volume)?,
            pressure_drop: not_negative(Quantity::PressureDrop, pressure_drop)?,
            thermal,
        })
    }
}

impl Element for Mixer {
    fn kind(&self) -> &'static str {
        "mixer"
    }

    fn role(&self) -> Role {
        Role::Mixing
    }

    fn pass(&self, inlet: &Stream, _surroundings: &Surroundings<'_>) -> Result<Outlet> {
        let before = &inlet.state;
        let pressure = positive(Quantity::Pressure, before.pressure() - self.pressure_drop)?;
        let state = match self.thermal {
            Thermal::Isothermal { temperature } => {
                State::from_tp(before.fluid(), temperature, pressure)?
            }
            Thermal::Adiabatic | Thermal::Wall { .. } => before.expand_to(pressure)?,
        };
        let heat = inlet.mass_flow_rate * (state.specific_enthalpy() - before.specific_enthalpy());
        let stream = Stream {
            state,
            mass_flow_rate: inlet.mass_flow_rate,
        };
        let time = self.volume / stream.volume_flow_rate();
        let mut outlet = Outlet::of(stream);
        outlet.hold_up_time = time;
        outlet.band = Some(Tail::of_volume(time, MIXED)?.into());
        outlet.heat_flow_rate = if self.thermal == Thermal::Adiabatic {
            0.0
        } else {
            heat
        };
        outlet.facts.push(Fact::new(
            "time constant of a well-mixed volume",
            Quantity::Time,
            time,
        ));
        Ok(outlet)
    }
}
