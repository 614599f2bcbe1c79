//! Connecting tubes: pressure drop in any regime, heat from the wall, and what they do to the band.

use fluid::error::{finite, not_negative, positive, significant};
use fluid::units::{BAR, to_celsius};
use fluid::{Notice, NoticeCode, Quantity, Result, State};

use super::channel::{Channel, Laws, March, checked};
use super::{BandShare, Element, Fact, Motion, Outlet, Solute, Stream, Surroundings, Thermal};
use crate::flow::circular_area;
use crate::flow::coil;
use crate::flow::dispersion::{DEVELOPED_RATIO, TubeDispersion};
use crate::flow::friction::{
    self, FrictionFactor, Regime, Wall, fitting_pressure_drop, kinks, pressure_gradient,
};
use crate::flow::heat::{film_conductance, heat_up_length, nusselt_number, remaining_difference};
use crate::fluid;

/// Distance in K from the wall temperature at which a stream counts as arrived (common practice, no source).
const ARRIVED: f64 = 0.5;

/// A tube, straight or wound to a coil.
///
/// ```
/// use densepath::hardware::Tube;
/// // A metre of 0.25 mm holds 49 uL.
/// assert!((Tube::new(0.25e-3, 1.0, 0.0)?.volume() * 1e9 - 49.09).abs() < 0.01);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tube {
    diameter: f64,
    length: f64,
    wall: Wall,
    loss_coefficient: f64,
    thermal: Thermal,
    coil_diameter: Option<f64>,
    volume_variance: Option<f64>,
}

impl Tube {
    /// A tube of a bore d, a length L and a wall of the roughness `k_s`, all in m, without fittings and heat exchange.
    ///
    /// Turbulent friction by the law of Colebrook. Roughness of drawn steel capillaries 0.5 to 2 um (common practice, no
    /// source).
    ///
    /// Errors: 101 for a bore or length not above zero or a negative roughness; 102 for a wall too rough for the law.
    ///
    /// ```
    /// use densepath::hardware::Tube;
    /// let tube = Tube::new(0.25e-3, 1.0, 1e-6)?;
    /// assert_eq!((tube.diameter(), tube.length()), (0.25e-3, 1.0));
    /// assert_eq!(Tube::new(0.0, 1.0, 0.0).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn new(diameter: f64, length: f64, roughness: f64) -> Result<Self> {
        let wall = Wall {
            roughness,
            ..Wall::default()
        };
        wall.relative_roughness(diameter)?;
        Ok(Self {
            diameter,
            length: positive(Quantity::Length, length)?,
            wall,
            loss_coefficient: 0.0,
            thermal: Thermal::Adiabatic,
            coil_diameter: None,
            volume_variance: None,
        })
    }

    /// The tube with fittings of a summed loss coefficient K, spread evenly over its length. Error 101 if negative.
    ///
    /// ```
    /// use densepath::hardware::Tube;
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
    /// let smooth = Tube::new(0.12e-3, 0.1, 0.0)?;
    /// let drop = |tube: &Tube| Ok::<f64, densepath::Error>(stream.state.pressure() - tube.outlet(&stream, &room)?.state.pressure());
    /// // Fittings of K = 5 take 5 rho u^2 / 2 more.
    /// let velocity = stream.volume_flow_rate() / densepath::flow::circular_area(0.12e-3)?;
    /// let expected = 2.5 * stream.state.density() * velocity.powi(2);
    /// let more = drop(&smooth.clone().with_loss_coefficient(5.0)?)? - drop(&smooth)?;
    /// assert!((more / expected - 1.0).abs() < 0.05);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_loss_coefficient(self, loss_coefficient: f64) -> Result<Self> {
        Ok(Self {
            loss_coefficient: not_negative(Quantity::Ratio, loss_coefficient)?,
            ..self
        })
    }

    /// The tube with a way to exchange heat. Error 101 for a wall temperature not above zero.
    ///
    /// ```
    /// use densepath::hardware::{Thermal, Tube};
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
    /// let tube = Tube::new(0.25e-3, 1.0, 0.0)?.with_thermal(Thermal::Adiabatic)?;
    /// assert_eq!(tube.pass(&stream, &room)?.heat_flow_rate, 0.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_thermal(self, thermal: Thermal) -> Result<Self> {
        Ok(Self {
            thermal: checked(thermal)?,
            ..self
        })
    }

    /// The tube wound to coils of a diameter in m: laminar flow resists more, disperses less, and lasts up to a higher Reynolds
    /// number, see [`coil`]. Error 101 for a coil narrower than twice the bore.
    ///
    /// ```
    /// use densepath::hardware::Tube;
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
    /// let straight = Tube::new(0.25e-3, 1.0, 0.0)?;
    /// let coiled = straight.clone().with_coil_diameter(20e-3)?;
    /// // Dean's vortices resist the flow.
    /// assert!(coiled.outlet(&stream, &room)?.state.pressure() < straight.outlet(&stream, &room)?.state.pressure());
    /// assert_eq!(straight.with_coil_diameter(0.3e-3).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_coil_diameter(self, coil_diameter: f64) -> Result<Self> {
        coil::laminar_limit(self.diameter, coil_diameter)?;
        Ok(Self {
            coil_diameter: Some(coil_diameter),
            ..self
        })
    }

    /// The tube with its fittings as measured: a volume variance in m6, which replaces every estimate. Error 101 if it is negative.
    ///
    /// ```
    /// use densepath::hardware::Tube;
    /// assert!(Tube::new(0.25e-3, 1.0, 0.0)?.with_volume_variance(4e-18).is_ok());
    /// assert_eq!(Tube::new(0.25e-3, 1.0, 0.0)?.with_volume_variance(-1e-18).unwrap_err().code(), 101);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_volume_variance(self, volume_variance: f64) -> Result<Self> {
        Ok(Self {
            volume_variance: Some(not_negative(Quantity::VolumeVariance, volume_variance)?),
            ..self
        })
    }

    /// Bore d in m.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::Tube::new(0.25e-3, 1.0, 0.0)?.diameter(), 0.25e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn diameter(&self) -> f64 {
        self.diameter
    }

    /// Length L in m.
    ///
    /// ```
    /// assert_eq!(densepath::hardware::Tube::new(0.25e-3, 1.0, 0.0)?.length(), 1.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Volume in m3.
    ///
    /// ```
    /// // 0.3 m of 0.12 mm between injector and column are 3.4 uL.
    /// let tube = densepath::hardware::Tube::new(0.12e-3, 0.3, 0.0)?;
    /// assert!((tube.volume() * 1e9 - 3.393).abs() < 1e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn volume(&self) -> f64 {
        0.25 * std::f64::consts::PI * self.diameter * self.diameter * self.length
    }

    /// Length of this tube in m that a stream needs to come within a distance in K of the temperature T of the wall in K;
    /// zero if it is there already.
    ///
    /// *Valid* and *Source*: see [`nusselt_number`]; properties at the mean temperature, heat capacity the mean over the
    /// enthalpy, as the pseudo-critical line asks. *Uncertainty*: 20 %.
    ///
    /// Errors: 101 for arguments that make no sense; those of the properties and of the Nusselt number.
    ///
    /// ```
    /// use densepath::hardware::Tube;
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
    /// let tube = Tube::new(0.25e-3, 1.0, 0.0)?;
    /// // The nearer to the temperature of the wall, the longer; where it is there already, nothing is needed.
    /// let (near, far) = (tube.heat_up_length(333.15, &stream, 0.1)?, tube.heat_up_length(333.15, &stream, 1.0)?);
    /// assert!(near > far && far > 0.0);
    /// assert_eq!(tube.heat_up_length(313.15, &stream, 0.1)?, 0.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn heat_up_length(
        &self,
        wall_temperature: f64,
        inlet: &Stream,
        distance: f64,
    ) -> Result<f64> {
        positive(Quantity::Temperature, distance)?;
        let film = self.film(wall_temperature, inlet)?;
        let difference = wall_temperature - inlet.state.temperature();
        if difference.abs() <= distance {
            return Ok(0.0);
        }
        heat_up_length(
            difference,
            distance.copysign(difference),
            inlet.mass_flow_rate,
            film.heat_capacity,
            film.conductance,
        )
    }

    fn film(&self, wall_temperature: f64, inlet: &Stream) -> Result<Film> {
        let state = &inlet.state;
        finite(Quantity::Temperature, wall_temperature)?;
        let at = |t: f64| State::from_tp(state.fluid(), t, state.pressure());
        let (wall, mean) = (
            at(wall_temperature)?,
            at(0.5 * (wall_temperature + state.temperature()))?,
        );
        let difference = wall_temperature - state.temperature();
        let heat_capacity = if difference.abs() < 1e-6 {
            mean.specific_isobaric_heat_capacity()?
        } else {
            (wall.specific_enthalpy() - state.specific_enthalpy()) / difference
        };
        let (viscosity, conductivity) = (mean.dynamic_viscosity()?, mean.thermal_conductivity()?);
        let re = friction::reynolds_number(viscosity, self.diameter, inlet.mass_flow_rate)?;
        let nusselt = nusselt_number(re, viscosity * heat_capacity / conductivity)?;
        Ok(Film {
            heat_capacity,
            conductance: film_conductance(conductivity, nusselt)?,
        })
    }

    /// Friction factor of one state.
    fn friction_factor(&self, state: &State, flux: f64) -> Result<FrictionFactor> {
        let re = flux * self.diameter / state.dynamic_viscosity()?;
        let Some(coil) = self.coil_diameter else {
            return self.wall.friction_factor(re, self.diameter);
        };
        if re >= coil::laminar_limit(self.diameter, coil)? {
            return self.wall.friction_factor(re, self.diameter);
        }
        // Laminar up to the limit of the coil, whatever a straight tube would do.
        let ratio = coil::friction_ratio(coil::dean_number(re, self.diameter, coil)?)?;
        let value = ratio * 64.0 / re;
        Ok(FrictionFactor {
            value,
            lowest: value,
            regime: Regime::Laminar,
            reynolds_number: re,
        })
    }

    /// The channel at a mass flow rate, and the flux in it.
    fn channel(&self, mass_flow_rate: f64) -> Result<(Channel, f64)> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        let open_area = circular_area(self.diameter)?;
        let channel = Channel {
            length: self.length,
            open_area,
            mass_flow_rate,
            thermal: self.thermal,
            kinks: self.kinks()?,
            intervals: 4,
        };
        Ok((channel, mass_flow_rate / open_area))
    }

    /// Reynolds numbers at which the friction bends, or jumps as at the limit of a coil.
    fn kinks(&self) -> Result<[f64; 2]> {
        let Some(coil) = self.coil_diameter else {
            return Ok(kinks(self.wall));
        };
        Ok([coil::laminar_limit(self.diameter, coil)?, f64::INFINITY])
    }

    fn laws(&self, state: &State, flux: f64) -> Result<Laws> {
        let f = self.friction_factor(state, flux)?;
        let rho = state.density();
        let wall = pressure_gradient(rho, self.diameter, flux, f.value)?;
        let fittings = fitting_pressure_drop(rho, flux, self.loss_coefficient)? / self.length;
        Ok(Laws {
            friction: wall + fittings,
            reynolds_number: f.reynolds_number,
            retention_factor: 0.0,
            plate_height: 0.0,
        })
    }

    /// Dispersion of the band, at the mean velocity and the state midway.
    fn dispersion(&self, solute: &Solute, march: &March, flux: f64) -> Result<TubeDispersion> {
        let velocity = self.length / march.hold_up_time;
        let first = march
            .profile
            .first()
            .map_or(march.outlet.temperature(), |point| point.temperature);
        let temperature = 0.5 * (first + march.outlet.temperature());
        let state = State::from_t_rho(march.outlet.fluid(), temperature, flux / velocity)?;
        let diffusion = solute.diffusion_coefficient(&state)?;
        let f = self.friction_factor(&state, flux)?;
        let straight = TubeDispersion::new(diffusion, self.diameter, self.length, velocity, &f)?;
        if let Some(volume_variance) = self.volume_variance {
            let flow = velocity * circular_area(self.diameter)?;
            return Ok(straight.measured(volume_variance / (flow * flow)));
        }
        let Some(coil) = self.coil_diameter else {
            return Ok(straight);
        };
        let schmidt = state.dynamic_viscosity()? / (state.density() * diffusion);
        let dean = coil::dean_number(f.reynolds_number, self.diameter, coil)?;
        Ok(straight.in_coil(coil::dispersion_ratio(dean, schmidt)?))
    }

    /// The length that brings the stream to the temperature of the wall, and whether this tube is as long.
    fn heating(&self, inlet: &Stream) -> Result<(Option<Fact>, Option<Notice>)> {
        let Thermal::Isothermal { temperature } = self.thermal else {
            return Ok((None, None));
        };
        let difference = temperature - inlet.state.temperature();
        if difference.abs() <= ARRIVED {
            return Ok((None, None));
        }
        let film = self.film(temperature, inlet)?;
        let length = heat_up_length(
            difference,
            ARRIVED.copysign(difference),
            inlet.mass_flow_rate,
            film.heat_capacity,
            film.conductance,
        )?;
        let fact = Fact::new(
            "length to within 0.5 K of the wall",
            Quantity::Length,
            length,
        );
        let left = remaining_difference(
            self.length,
            inlet.mass_flow_rate,
            film.heat_capacity,
            film.conductance,
        )? * difference.abs();
        if left <= ARRIVED {
            return Ok((Some(fact), None));
        }
        let text = format!(
            "the stream leaves about {} K from the wall's {} degC, which it is taken to reach: {} m of this tube would \
             bring it within {ARRIVED} K",
            significant((left * 10.0).round() / 10.0),
            significant(to_celsius(temperature)),
            significant(length),
        );
        let notice = Notice::new(NoticeCode::WallNotReached, text).about(Quantity::Temperature);
        Ok((Some(fact), Some(notice)))
    }
}

/// Heat transfer between the stream and the wall.
struct Film {
    /// Mean heat capacity between inlet and wall in J/(kg K).
    heat_capacity: f64,
    /// Conductance per length in W/(m K).
    conductance: f64,
}

impl Element for Tube {
    fn kind(&self) -> &'static str {
        "tube"
    }

    fn outlet(&self, inlet: &Stream, _surroundings: &Surroundings<'_>) -> Result<Stream> {
        let (channel, flux) = self.channel(inlet.mass_flow_rate)?;
        let state = channel.outlet(&inlet.state, |state, _| self.laws(state, flux))?;
        Ok(Stream { state, ..*inlet })
    }

    fn pass(&self, inlet: &Stream, surroundings: &Surroundings<'_>) -> Result<Outlet> {
        let (channel, flux) = self.channel(inlet.mass_flow_rate)?;
        let march = channel.march(&inlet.state, |state, _| self.laws(state, flux))?;
        let f = self.friction_factor(&march.outlet, flux)?;
        let mut notices = Vec::new();
        let (heat_up, not_reached) = self.heating(inlet)?;
        notices.extend(not_reached);
        let drop = inlet.state.pressure() - march.outlet.pressure();
        notices.extend(judge_regime(&f, drop));
        let mut facts = vec![
            Fact::new("pressure drop", Quantity::PressureDrop, drop),
            Fact::new("volume", Quantity::Volume, self.volume()),
        ];
        facts.extend(heat_up);
        if let Some(coil) = self.coil_diameter {
            let dean = coil::dean_number(f.reynolds_number, self.diameter, coil)?;
            facts.push(Fact::new("Dean number", Quantity::Ratio, dean));
        }
        let mut band = None;
        if let Some(solute) = surroundings.solute {
            let dispersion = self.dispersion(solute, &march, flux)?;
            facts.push(Fact::new(
                "time over that of diffusion across the bore",
                Quantity::Ratio,
                dispersion.development_ratio,
            ));
            notices.extend(judge_dispersion(&dispersion));
            band = Some(BandShare {
                time: march.hold_up_time,
                time_variance: dispersion.time_variance,
                bracket: Some((dispersion.lowest, dispersion.highest)),
                tails: Vec::new(),
            });
        }
        Ok(Outlet {
            profile: march.profile,
            hold_up_time: march.hold_up_time,
            band,
            heat_flow_rate: march.heat_flow_rate,
            motion: Some(Motion {
                velocity: flux / march.outlet.density(),
                reynolds_number: f.reynolds_number,
            }),
            facts,
            notices,
            ..Outlet::of(Stream {
                state: march.outlet,
                mass_flow_rate: inlet.mass_flow_rate,
            })
        })
    }
}

/// A doubt about the pressure drop between the regimes.
pub(super) fn judge_regime(f: &FrictionFactor, drop: f64) -> Option<Notice> {
    if f.regime != Regime::Transitional {
        return None;
    }
    let text = format!(
        "Reynolds number {}: the flow may be laminar or turbulent. The drop of {} bar counts as turbulent; if laminar it is \
         about {} bar",
        significant(f.reynolds_number.round()),
        significant(drop / BAR),
        significant(drop / BAR * f.lowest / f.value),
    );
    Some(Notice::new(NoticeCode::TransitionalFlow, text).about(Quantity::ReynoldsNumber))
}

/// A doubt about the dispersion where no single law holds. That of turbulent flow below Re = 20000 is left to the bracket of
/// the band: both its ends are small.
fn judge_dispersion(dispersion: &TubeDispersion) -> Option<Notice> {
    let why = match dispersion.regime {
        Regime::Laminar if dispersion.development_ratio < DEVELOPED_RATIO => format!(
            "the band stays for only {} of the time of diffusion across the bore, so that it is not yet Gaussian",
            significant(dispersion.development_ratio)
        ),
        Regime::Transitional => "the flow is between laminar and turbulent".to_owned(),
        Regime::Laminar | Regime::Turbulent => return None,
    };
    let text = format!(
        "{why}: the variance lies between {} and {} s2",
        significant(dispersion.lowest),
        significant(dispersion.highest)
    );
    Some(Notice::new(NoticeCode::DispersionUndeveloped, text).about(Quantity::TimeVariance))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fluid::Error;
    use crate::hardware::Diffusion;
    use crate::hardware::testing::{close, fact, naphthalene, stream_at, surroundings};

    /// 1 mL/min counted at 278.15 K and 15 MPa, in kg/s (CoolProp 8.0.0).
    const FLOW: f64 = 977.3816e-6 / 60.0;
    const OVEN: Thermal = Thermal::Isothermal {
        temperature: 313.15,
    };

    fn tube(millimetres: f64, length: f64, thermal: Thermal) -> Tube {
        Tube::new(millimetres * 1e-3, length, 1e-6)
            .and_then(|tube| tube.with_thermal(thermal))
            .unwrap()
    }

    fn pass(tube: &Tube, inlet: &Stream) -> Outlet {
        tube.pass(inlet, &surroundings(None)).unwrap()
    }

    /// Short pieces at 40 degC and 150 bar: bore in mm, set flow in mL/min, gradient in bar/m, Re and velocity in m/s of an
    /// independent computation with CoolProp 8.0.0 and the Colebrook law of fluids 1.3.1; NaN where it was not printed.
    #[test]
    fn gradients_at_one_state_agree_with_an_independent_computation() {
        for [millimetres, flow, gradient, re, velocity] in [
            [0.12, 3.0, 42.766, 7573.82, f64::NAN],
            [0.17, 1.0, 0.69727, 1782.08, 0.919816],
            [0.17, 3.0, 7.49754, f64::NAN, 2.75945],
            [0.25, 3.0, 1.13824, f64::NAN, 1.27597],
            [0.12, 5.0, 111.753, 12623.0, 9.2301],
        ] {
            let outlet = pass(
                &tube(millimetres, 1e-4, OVEN),
                &stream_at(40.0, 150.0, flow * FLOW),
            );
            let motion = outlet.motion.unwrap();
            // Less the pressure that acceleration takes, which the independent gradient leaves out.
            let compliance = outlet.stream.state.dp_drho_t().unwrap();
            let friction = 1.0 - motion.velocity * motion.velocity / compliance;
            let drop = fact(&outlet, "pressure drop") / 1e-4 / 1e5 * friction;
            for (ours, expected) in [
                (drop, gradient),
                (motion.reynolds_number, re),
                (motion.velocity, velocity),
            ] {
                assert!(
                    expected.is_nan() || close(ours, expected, 2e-4),
                    "{millimetres} mm, {flow} mL/min: {ours} against {expected}"
                );
            }
        }
    }

    /// 2.99381 g/min at 40 degC into 0.17 mm from 191.643 bar: drop over 1.3 m, time in s and variance in s2 of an unretained
    /// band over 1 m (CoolProp 8.0.0, fluids 1.3.1, scipy 1.17.1).
    #[test]
    fn a_long_line_agrees_with_an_independent_computation() {
        let inlet = stream_at(40.0, 191.643, 2.99381e-3 / 60.0);
        let outlet = pass(&tube(0.17, 1.3, OVEN), &inlet);
        // The independent gradient leaves out acceleration, 1e-4 of it.
        assert!(close(fact(&outlet, "pressure drop"), 9.767653e5, 2e-4));
        let solute = naphthalene();
        let outlet = tube(0.17, 1.0, OVEN)
            .pass(&inlet, &surroundings(Some(&solute)))
            .unwrap();
        let band = outlet.band.unwrap();
        assert!(close(band.time, 0.37661878, 1e-5));
        assert!(close(band.time_variance, 1.80061303e-5, 2e-4));
        let (low, high) = band.bracket.unwrap();
        assert!(low <= band.time_variance && band.time_variance < high);
        assert!(outlet.notices.is_empty());
    }

    /// An unheated capillary of 10 um at 11.570 mg/min from 100 degC and 200 bar flashes after 24.3185 cm, at 41.53224 bar
    /// and 6.77852 degC, on the dew line: independent march with constant h + v^2/2 (CoolProp 8.0.0, scipy 1.17.1).
    #[test]
    fn an_unheated_capillary_flashes_where_an_independent_march_ends() {
        let inlet = stream_at(100.0, 200.0, 11.570333e-6 / 60.0);
        let line = Tube::new(10e-6, 0.30, 0.0).unwrap();
        let error = line.pass(&inlet, &surroundings(None)).unwrap_err();
        let Error::PhaseChange {
            position,
            temperature,
            pressure,
        } = error
        else {
            panic!("{error}");
        };
        assert!(close(position, 0.2431849, 1e-5), "{position}");
        assert!(close(pressure, 41.53224e5, 1e-4), "{pressure}");
        assert!((to_celsius(temperature) - 6.77852).abs() < 5e-3);
    }

    #[test]
    fn a_laminar_band_is_that_of_taylor() {
        // 1 mL/min through 0.5 m of 0.17 mm with D = 1.2e-8 m2/s: 5.94418 uL2, independent arithmetic.
        let solute = Solute {
            diffusion: Diffusion::Constant {
                diffusion_coefficient: 1.2e-8,
            },
            ..naphthalene()
        };
        let inlet = stream_at(40.0, 150.0, FLOW);
        let outlet = tube(0.17, 0.5, OVEN)
            .pass(&inlet, &surroundings(Some(&solute)))
            .unwrap();
        let variance = outlet.band.unwrap().time_variance * inlet.volume_flow_rate().powi(2);
        assert!(close(variance * 1e18, 5.94418, 1e-3));
        assert!(outlet.notices.is_empty());
    }

    #[test]
    fn pieces_add_up() {
        for thermal in [OVEN, Thermal::Adiabatic] {
            let inlet = stream_at(40.0, 200.0, 3.0 * FLOW);
            let whole = pass(&tube(0.12, 1.0, thermal), &inlet);
            let first = pass(&tube(0.12, 0.4, thermal), &inlet);
            let second = pass(&tube(0.12, 0.6, thermal), &first.stream);
            let state = |outlet: &Outlet| outlet.stream.state.clone();
            let (a, b) = (state(&whole), state(&second));
            assert!(close(a.pressure(), b.pressure(), 1e-8));
            assert!(close(a.temperature(), b.temperature(), 1e-7));
            let time = first.hold_up_time + second.hold_up_time;
            assert!(close(whole.hold_up_time, time, 1e-7));
        }
    }

    #[test]
    fn doubt_between_the_regimes_and_an_undeveloped_band_are_told() {
        let (doubt, undeveloped) = (
            NoticeCode::TransitionalFlow,
            NoticeCode::DispersionUndeveloped,
        );
        let solute = naphthalene();
        let codes = |millimetres, length, flow| -> Vec<_> {
            tube(millimetres, length, OVEN)
                .pass(&stream_at(40.0, 150.0, flow), &surroundings(Some(&solute)))
                .unwrap()
                .notices
                .iter()
                .map(|notice| notice.code)
                .collect()
        };
        assert_eq!(codes(0.25, 0.3, 3.0 * FLOW), [doubt, undeveloped]);
        assert_eq!(codes(0.5, 0.3, 3.0 * FLOW), [undeveloped]);
        assert_eq!(codes(0.17, 2.0, FLOW), []);
    }

    #[test]
    fn fittings_take_pressure_of_their_own() {
        let inlet = stream_at(40.0, 150.0, 3.0 * FLOW);
        let bare = tube(0.17, 0.1, OVEN);
        let fitted = bare.with_loss_coefficient(1.5).unwrap();
        let drop = |tube: &Tube| fact(&pass(tube, &inlet), "pressure drop");
        let velocity = pass(&bare, &inlet).motion.unwrap().velocity;
        let expected = 1.5 * 0.5 * inlet.state.density() * velocity * velocity;
        assert!(close(drop(&fitted) - drop(&bare), expected, 5e-3));
    }

    /// 3 mL/min from 5 degC to a wall of 40 degC: lengths in m to 39.5 degC (CoolProp 8.0.0, law of Gnielinski).
    #[test]
    fn the_length_to_warm_up_agrees_with_an_independent_computation() {
        let inlet = stream_at(5.0, 150.0, 3.0 * FLOW);
        for (millimetres, length) in [(0.17, 0.0721413), (0.5, 0.40674)] {
            let line = tube(millimetres, 1.0, OVEN);
            assert!(close(
                line.heat_up_length(313.15, &inlet, 0.5).unwrap(),
                length,
                1e-3
            ));
            let told = fact(&pass(&line, &inlet), "length to within 0.5 K of the wall");
            assert!(close(told, length, 1e-3));
        }
        let long = pass(&tube(0.5, 1.0, OVEN), &inlet);
        assert!(close(long.heat_flow_rate, 3.96053, 1e-3));
        assert!(long.notices.is_empty());
        let short = pass(&tube(0.5, 0.2, OVEN), &inlet);
        assert_eq!(short.notices[0].code, NoticeCode::WallNotReached);
        let cooled = pass(&tube(0.5, 0.2, OVEN), &stream_at(75.0, 150.0, 3.0 * FLOW));
        assert_eq!(cooled.notices[0].code, NoticeCode::WallNotReached);
        let same = stream_at(40.0, 150.0, FLOW);
        assert_eq!(
            tube(0.5, 0.2, OVEN).heat_up_length(313.15, &same, 0.5),
            Ok(0.0)
        );
    }

    #[test]
    fn a_liquid_that_boils_in_the_line_is_an_error() {
        let inlet = stream_at(22.0, 62.0, 5.0 * FLOW);
        let room = Thermal::Isothermal {
            temperature: 295.15,
        };
        for thermal in [room, Thermal::Adiabatic] {
            let error = tube(0.12, 1.0, thermal)
                .pass(&inlet, &surroundings(None))
                .unwrap_err();
            let Error::PhaseChange {
                position, pressure, ..
            } = error
            else {
                panic!("{error}");
            };
            // Vapour pressure at 22 degC 60.03 bar (CoolProp 8.0.0).
            assert!(position > 0.0 && position < 0.1);
            assert!(pressure < 60.04e5 && pressure > 55e5);
        }
        // Warmed through its boiling point by the wall.
        let error = tube(0.5, 1.0, OVEN)
            .pass(&inlet, &surroundings(None))
            .unwrap_err();
        assert_eq!(error.code(), 502);
    }

    #[test]
    fn impossible_tubes_are_refused() {
        for (d, l, k, code) in [
            (0.0, 1.0, 0.0, 101),
            (1e-4, -1.0, 0.0, 101),
            (1e-4, 1.0, -1e-6, 101),
            (1e-4, 1.0, 1e-5, 102),
            (f64::NAN, 1.0, 0.0, 101),
        ] {
            assert_eq!(Tube::new(d, l, k).unwrap_err().code(), code);
        }
        let line = tube(0.17, 1.0, OVEN);
        let inlet = stream_at(40.0, 150.0, 0.0);
        assert_eq!(
            line.pass(&inlet, &surroundings(None)).unwrap_err().code(),
            101
        );
        assert!(line.with_loss_coefficient(-1.0).is_err());
    }

    #[test]
    fn a_coil_disperses_less_and_a_measured_variance_replaces_all() {
        let inlet = stream_at(40.0, 150.0, 977.3816e-6 / 60.0);
        let solute = naphthalene();
        let straight = Tube::new(0.17e-3, 0.5, 1e-6).unwrap();
        let pass = |tube: Tube| tube.pass(&inlet, &surroundings(Some(&solute))).unwrap();
        let plain = pass(straight);
        let coiled = pass(straight.with_coil_diameter(0.03).unwrap());
        // De = Re sqrt(d/D), and the time against a^2/D: independent arithmetic on the motion.
        let re = coiled.motion.unwrap().reynolds_number;
        let dean = re * (0.17e-3_f64 / 0.03).sqrt();
        assert!(close(fact(&coiled, "Dean number"), dean, 1e-12));
        let ratio = fact(&plain, "time over that of diffusion across the bore");
        let diffusion = solute
            .diffusion
            .diffusion_coefficient(&inlet.state)
            .unwrap();
        let expected = plain.hold_up_time * diffusion / (0.085e-3_f64).powi(2);
        assert!(close(ratio, expected, 2e-2), "{ratio} {expected}");
        let (one, other) = (plain.band.as_ref().unwrap(), coiled.band.as_ref().unwrap());
        assert!(other.time_variance < 0.3 * one.time_variance);
        assert!(close(
            other.bracket.unwrap().1,
            one.bracket.unwrap().1,
            1e-3
        ));
        assert!(fact(&coiled, "pressure drop") > 1.5 * fact(&plain, "pressure drop"));
        let measured = pass(straight.with_volume_variance(5e-18).unwrap())
            .band
            .unwrap();
        let flow = inlet.volume_flow_rate();
        assert!(close(measured.time_variance, 5e-18 / (flow * flow), 1e-2));
        assert_eq!(
            measured.bracket,
            Some((measured.time_variance, measured.time_variance))
        );
        assert!(
            straight.with_coil_diameter(1e-4).is_err()
                && straight.with_volume_variance(-1.0).is_err()
        );
    }
}
