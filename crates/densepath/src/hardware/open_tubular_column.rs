//! The open tubular column: a coated capillary with laminar flow.

use fluid::error::significant;
use fluid::{Notice, NoticeCode, Quantity, Result, State};

use super::channel::{Channel, Laws, March, checked};
use super::packed_column::{band, column_facts, followed};
use super::{
    Element, Fact, ModifierShare, Motion, Outlet, Role, Solute, Stream, Surroundings, Thermal,
};
use crate::flow::circular_area;
use crate::flow::friction::{Regime, Wall, kinks, pressure_gradient};
use crate::flow::plate_height::GolayColumn;
use crate::flow::travel::SoluteMotion;
use crate::fluid;
use crate::fluid::error::positive;

/// Multiple of the optimum velocity up to which open tubular columns are run (common practice, no source).
const FASTEST: f64 = 15.0;

/// A capillary column with a film of stationary phase.
///
/// ```
/// use densepath::hardware::OpenTubularColumn;
/// let column = OpenTubularColumn::new(50e-6, 10.0, 0.25e-6, 1e-11)?;
/// // 10 m of 50 um hold 20 uL.
/// assert!((column.hold_up_volume() * 1e9 - 19.63).abs() < 0.5);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OpenTubularColumn {
    length: f64,
    golay: GolayColumn,
    thermal: Thermal,
}

impl OpenTubularColumn {
    /// A column of a bore d, a length L and a film thickness `d_f`, all in m, and a diffusion coefficient `D_S` of the solute
    /// in the film in m2/s. No heat is exchanged until something else is said; the pressure drop is so small that the two
    /// ways hardly differ.
    ///
    /// Errors: 101 for a value that is not above zero or a negative film thickness.
    ///
    /// ```
    /// use densepath::hardware::OpenTubularColumn;
    /// assert_eq!(OpenTubularColumn::new(50e-6, 0.0, 0.25e-6, 1e-11).unwrap_err().code(), 101);
    /// ```
    pub fn new(
        diameter: f64,
        length: f64,
        film_thickness: f64,
        film_diffusion_coefficient: f64,
    ) -> Result<Self> {
        let golay = GolayColumn {
            diameter,
            film_thickness,
            film_diffusion_coefficient,
        };
        golay.plate_height(1e-8, 1e-2, 1.0)?;
        Ok(Self {
            length: positive(Quantity::Length, length)?,
            golay,
            thermal: Thermal::Adiabatic,
        })
    }

    /// The column with a way to exchange heat. Error 101 for a wall temperature not above zero.
    ///
    /// ```
    /// use densepath::hardware::{OpenTubularColumn, Thermal};
    /// let column = OpenTubularColumn::new(50e-6, 10.0, 0.25e-6, 1e-11)?;
    /// assert_eq!(column.with_thermal(Thermal::Isothermal { temperature: 0.0 }).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_thermal(self, thermal: Thermal) -> Result<Self> {
        Ok(Self {
            thermal: checked(thermal)?,
            ..self
        })
    }

    /// Phase ratio beta: volume of the mobile phase over that of the film, `(d/2 - d_f)^2/[(d/2)^2 - (d/2 - d_f)^2]`; infinite
    /// without a film. The bore d is that of the tube before it was coated.
    ///
    /// ```
    /// use densepath::hardware::OpenTubularColumn;
    /// // About d / (4 d_f) for a thin film.
    /// let ratio = OpenTubularColumn::new(50e-6, 10.0, 0.25e-6, 1e-11)?.phase_ratio();
    /// assert!((ratio / 50.0 - 1.0).abs() < 0.03);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn phase_ratio(&self) -> f64 {
        let (a, f) = (0.5 * self.golay.diameter, self.golay.film_thickness);
        let open = a - f;
        open * open / (f * (2.0 * a - f))
    }

    /// The law of its plate height.
    ///
    /// ```
    /// use densepath::hardware::OpenTubularColumn;
    /// let column = OpenTubularColumn::new(50e-6, 10.0, 0.25e-6, 1e-11)?;
    /// assert_eq!(column.golay(), OpenTubularColumn::new(50e-6, 5.0, 0.25e-6, 1e-11)?.golay());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn golay(&self) -> &GolayColumn {
        &self.golay
    }

    fn facts(&self, inlet: &State, march: &March, solute: Option<&Solute>) -> Vec<Fact> {
        let mut facts = column_facts(inlet, march, solute);
        let (volume, ratio) = (self.hold_up_volume(), self.phase_ratio());
        facts.push(Fact::new("hold-up volume", Quantity::Volume, volume));
        if ratio.is_finite() {
            facts.push(Fact::new("phase ratio", Quantity::Ratio, ratio));
        }
        facts
    }

    /// Hold-up volume `V_0 = pi d^2 L/4` in m3.
    ///
    /// ```
    /// use densepath::hardware::OpenTubularColumn;
    /// let of = |length| OpenTubularColumn::new(50e-6, length, 0.25e-6, 1e-11).map(|column| column.hold_up_volume());
    /// assert!((of(10.0)? / of(5.0)? - 2.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn hold_up_volume(&self) -> f64 {
        0.25 * std::f64::consts::PI * self.golay.diameter * self.golay.diameter * self.length
    }

    /// The channel at a mass flow rate, and the flux in it.
    fn channel(&self, mass_flow_rate: f64) -> Result<(Channel, f64)> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let open_area = circular_area(self.golay.diameter)?;
        let channel = Channel {
            length: self.length,
            open_area,
            mass_flow_rate,
            thermal: self.thermal,
            kinks: kinks(Wall::SMOOTH),
            intervals: 12,
        };
        Ok((channel, mass_flow_rate / open_area))
    }

    fn laws(
        &self,
        state: &State,
        velocity: f64,
        flux: f64,
        solute: Option<(&Solute, ModifierShare)>,
    ) -> Result<Laws> {
        let (rho, eta, d) = (
            state.density(),
            state.dynamic_viscosity()?,
            self.golay.diameter,
        );
        let f = Wall::SMOOTH.friction_factor(flux * d / eta, d)?;
        let friction = pressure_gradient(rho, d, flux, f.value)?;
        let (mut retention_factor, mut plate_height) = (0.0, 0.0);
        if let Some((solute, modifier)) = solute {
            retention_factor = solute.retention.retention_factor(state, modifier)?;
            plate_height =
                self.golay
                    .plate_height(diffusion(solute, state)?, velocity, retention_factor)?;
        }
        Ok(Laws {
            friction,
            reynolds_number: f.reynolds_number,
            retention_factor,
            plate_height,
        })
    }

    /// Doubts about the speed of the flow.
    fn judge(
        &self,
        state: &State,
        motion: Motion,
        solute: Option<(&Solute, ModifierShare)>,
    ) -> Result<Vec<Notice>> {
        let mut notices = Vec::new();
        if Regime::of(motion.reynolds_number) != Regime::Laminar {
            let text = format!(
                "Reynolds number {}: the plate height holds for laminar flow only",
                significant(motion.reynolds_number.round())
            );
            notices.push(
                Notice::new(NoticeCode::TransitionalFlow, text).about(Quantity::ReynoldsNumber),
            );
        }
        if let Some((solute, modifier)) = solute {
            let k = solute.retention.retention_factor(state, modifier)?;
            let best = self.golay.optimum(diffusion(solute, state)?, k)?.velocity;
            if motion.velocity > FASTEST * best {
                let text = format!(
                    "the velocity of {} m/s is {} times that of the smallest plate height; up to {FASTEST} times is common \
                     practice",
                    significant(motion.velocity),
                    significant((motion.velocity / best).round()),
                );
                notices.push(Notice::new(NoticeCode::AboveOptimum, text).about(Quantity::Velocity));
            }
        }
        Ok(notices)
    }
}

fn diffusion(solute: &Solute, state: &State) -> Result<f64> {
    solute.diffusion_coefficient(state)
}

impl Element for OpenTubularColumn {
    fn kind(&self) -> &'static str {
        "open_tubular_column"
    }

    fn role(&self) -> Role {
        Role::Column
    }

    fn solute_motion(
        &self,
        state: &State,
        mass_flow_rate: f64,
        solute: &Solute,
        modifier: ModifierShare,
    ) -> Result<SoluteMotion> {
        let area = circular_area(self.golay.diameter)?;
        let velocity = mass_flow_rate / (area * state.density());
        let retention_factor = solute.retention.retention_factor(state, modifier)?;
        let diffusion = diffusion(solute, state)?;
        Ok(SoluteMotion {
            velocity,
            retention_factor,
            plate_height: self
                .golay
                .plate_height(diffusion, velocity, retention_factor)?,
        })
    }

    fn outlet(&self, inlet: &Stream, _surroundings: &Surroundings<'_>) -> Result<Stream> {
        let (channel, flux) = self.channel(inlet.mass_flow_rate)?;
        let state = channel.outlet(&inlet.state, |state, velocity| {
            self.laws(state, velocity, flux, None)
        })?;
        Ok(Stream { state, ..*inlet })
    }

    fn pass(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Outlet> {
        let (channel, flux) = self.channel(inlet.mass_flow_rate)?;
        let solute = followed(inlet, surroundings);
        let march = channel.march(&inlet.state, |state, velocity| {
            self.laws(state, velocity, flux, solute)
        })?;
        let motion = Motion {
            velocity: flux / march.outlet.density(),
            reynolds_number: flux * self.golay.diameter / march.outlet.dynamic_viscosity()?,
        };
        Ok(Outlet {
            hold_up_time: march.hold_up_time,
            band: band(&march, surroundings.solute),
            heat_flow_rate: march.heat_flow_rate,
            motion: Some(motion),
            facts: self.facts(&inlet.state, &march, surroundings.solute),
            notices: self.judge(&march.outlet, motion, solute)?,
            profile: march.profile,
            ..Outlet::of(Stream {
                state: march.outlet,
                mass_flow_rate: inlet.mass_flow_rate,
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::Retention;
    use crate::hardware::testing::{close, fact, naphthalene, stream_at, surroundings};

    const OVEN: Thermal = Thermal::Isothermal {
        temperature: 373.15,
    };

    fn column() -> OpenTubularColumn {
        OpenTubularColumn::new(50e-6, 10.0, 0.25e-6, 1e-10)
            .and_then(|column| column.with_thermal(OVEN))
            .unwrap()
    }

    fn retained(retention_factor: f64) -> Solute {
        Solute {
            retention: Retention::Constant { retention_factor },
            ..naphthalene()
        }
    }

    fn pass(bar: f64, velocity: f64, solute: &Solute) -> Outlet {
        let mut inlet = stream_at(100.0, bar, 1.0);
        let area = circular_area(50e-6).unwrap();
        inlet.mass_flow_rate = velocity * area * inlet.state.density();
        column().pass(&inlet, &surroundings(Some(solute))).unwrap()
    }

    /// 50 um x 10 m at 100 degC and 2 cm/s: N of the local plate height, computed with CoolProp 8.0.0 at the inlet, bar k;
    /// and the pressure drop at 200 bar, 0.939785 bar (CoolProp 8.0.0, scipy 1.17.1).
    #[test]
    fn plates_and_pressure_agree_with_an_independent_computation() {
        for (bar, k, plates) in [
            (200.0, 1.0, 101_418.0),
            (200.0, 3.0, 63_229.9),
            (400.0, 1.0, 57_176.0),
        ] {
            let outlet = pass(bar, 0.02, &retained(k));
            let inlet = outlet.profile[0];
            assert!(close(10.0 / inlet.plate_height, plates, 1e-4));
            // The fluid expands by under 1 % along the column, so that the apparent plates are near those.
            let n = fact(&outlet, "apparent plate number of the column alone");
            assert!(close(n, plates, 1e-2));
            let apparent = fact(&outlet, "apparent retention factor");
            assert!(close(apparent, k, 1e-12));
        }
        let drop = fact(&pass(200.0, 0.02, &retained(3.0)), "pressure drop");
        assert!(close(drop, 0.939785e5, 1e-4), "{drop}");
    }

    #[test]
    fn a_fast_column_and_a_turbulent_one_carry_a_warning() {
        assert!(pass(200.0, 0.02, &retained(3.0)).notices.is_empty());
        let fast = pass(200.0, 0.2, &retained(3.0));
        assert_eq!(fast.notices[0].code, NoticeCode::AboveOptimum);
        let mut inlet = stream_at(100.0, 400.0, 1e-5);
        let wide = OpenTubularColumn::new(100e-6, 0.5, 0.0, 1e-10).unwrap();
        inlet.mass_flow_rate = 1.8e-5;
        let outlet = wide.pass(&inlet, &surroundings(None)).unwrap();
        assert_eq!(outlet.notices[0].code, NoticeCode::TransitionalFlow);
    }

    #[test]
    fn impossible_columns_are_refused() {
        for (d, l, f, s) in [
            (0.0, 10.0, 0.0, 1e-10),
            (5e-5, 0.0, 0.0, 1e-10),
            (5e-5, 10.0, -1e-7, 1e-10),
            (5e-5, 10.0, 1e-7, 0.0),
        ] {
            assert_eq!(OpenTubularColumn::new(d, l, f, s).unwrap_err().code(), 101);
        }
        assert!(close(column().hold_up_volume(), 19.635e-9, 1e-5));
    }
}
