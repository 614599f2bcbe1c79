//! The packed column: pressure, temperature, retention and local plate height along the bed.

use fluid::error::{Error, positive, significant};
use fluid::units::BAR;
use fluid::{Notice, NoticeCode, Quantity, Result, State};

use super::channel::{Channel, Laws, March, NO_KINKS, checked};
use super::{
    BandShare, Element, Fact, ModifierShare, Motion, Outlet, Role, Solute, Stream, Surroundings,
    Thermal, share_beside,
};
use crate::flow::circular_area;
use crate::flow::packed_bed::{KOZENY_CARMAN_CONSTANT, PackedBed};
use crate::flow::plate_height::PackedPlateHeight;
use crate::flow::travel::SoluteMotion;
use crate::fluid;

/// Fall of temperature in K along the column above which radial gradients cost plates (common practice, no source).
const LARGEST_COOLING: f64 = 2.0;
/// Pressure drop over inlet pressure above which gradients cost plates (common practice, no source).
const LARGEST_DROP: f64 = 0.25;
/// Density in kg/m3 at the outlet below which small gradients grow large (common practice, no source).
const LOWEST_DENSITY: f64 = 600.0;

/// A column packed with particles.
///
/// ```
/// # use densepath::hardware::PackedColumn;
/// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
/// // 0.7 of the empty column is fluid: 2.9 mL.
/// assert!((column.hold_up_volume() * 1e6 - 2.908).abs() < 1e-3);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PackedColumn {
    diameter: f64,
    length: f64,
    particle_diameter: f64,
    total_porosity: f64,
    bed: PackedBed,
    plate_height: PackedPlateHeight,
    thermal: Thermal,
}

impl PackedColumn {
    /// A column of a bore d and a length L with particles of the diameter `d_p`, all in m, an interparticle porosity and a
    /// total porosity.
    ///
    /// The bed obeys the law of Ergun with a viscous constant of 180, its plate height that of Knox with A = 1, B = 2,
    /// C = 0.05 (a well-packed column; common practice, no source), and no heat is exchanged, until something else is
    /// said.
    ///
    /// Errors: 101 for a dimension not above zero, a porosity outside ]0, 1[, or a total porosity below the interparticle
    /// one.
    ///
    /// ```
    /// use densepath::hardware::PackedColumn;
    /// assert!(PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7).is_ok());
    /// // There is no more fluid between the particles than in all.
    /// assert!(PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.8, 0.7).is_err());
    /// ```
    pub fn new(
        diameter: f64,
        length: f64,
        particle_diameter: f64,
        interparticle_porosity: f64,
        total_porosity: f64,
    ) -> Result<Self> {
        let bed = PackedBed::ergun(
            particle_diameter,
            interparticle_porosity,
            KOZENY_CARMAN_CONSTANT,
        )?;
        if !(total_porosity >= interparticle_porosity && total_porosity < 1.0) {
            return Err(Error::Domain {
                quantity: Quantity::TotalPorosity,
                value: total_porosity,
                rule: "at least the interparticle porosity and below 1",
            });
        }
        Ok(Self {
            diameter: positive(Quantity::Diameter, diameter)?,
            length: positive(Quantity::Length, length)?,
            particle_diameter,
            total_porosity,
            bed,
            plate_height: PackedPlateHeight::Knox {
                eddy: 1.0,
                longitudinal: 2.0,
                transfer: 0.05,
            },
            thermal: Thermal::Adiabatic,
        })
    }

    /// The column with a bed of measured or otherwise known permeability.
    ///
    /// ```
    /// # use densepath::hardware::PackedColumn;
    /// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
    /// use densepath::flow::packed_bed::PackedBed;
    /// let measured = PackedBed::from_permeability(2e-14, 0.0)?;
    /// assert_eq!(column.with_bed(measured).bed().permeability(), 2e-14);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    #[must_use]
    pub fn with_bed(self, bed: PackedBed) -> Self {
        Self { bed, ..self }
    }

    /// The column with another law of the local plate height.
    ///
    /// Errors: 101 for coefficients that make no plate height.
    ///
    /// ```
    /// # use densepath::hardware::PackedColumn;
    /// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
    /// use densepath::flow::plate_height::PackedPlateHeight;
    /// let other = PackedPlateHeight::Knox { eddy: 0.8, longitudinal: 2.0, transfer: 0.1 };
    /// assert_eq!(column.with_plate_height(other)?.plate_height(), &other);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_plate_height(self, plate_height: PackedPlateHeight) -> Result<Self> {
        plate_height.plate_height(1e-8, self.particle_diameter, 1e-3)?;
        Ok(Self {
            plate_height,
            ..self
        })
    }

    /// The column with a way to exchange heat; reality lies between the two. Error 101 for a wall temperature not above
    /// zero.
    ///
    /// ```
    /// # use densepath::hardware::PackedColumn;
    /// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
    /// use densepath::hardware::Thermal;
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
    /// // In an oven the column stays warm; without heat it cools as the fluid expands.
    /// let outlet = |thermal| column.clone().with_thermal(thermal)?.outlet(&stream, &room);
    /// assert!(outlet(Thermal::Adiabatic)?.state.temperature() < 313.15);
    /// assert!((outlet(Thermal::Isothermal { temperature: 313.15 })?.state.temperature() - 313.15).abs() < 1e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn with_thermal(self, thermal: Thermal) -> Result<Self> {
        Ok(Self {
            thermal: checked(thermal)?,
            ..self
        })
    }

    /// Bore d in m.
    ///
    /// ```
    /// # use densepath::hardware::PackedColumn;
    /// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
    /// assert_eq!(column.diameter(), 4.6e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn diameter(&self) -> f64 {
        self.diameter
    }

    /// Length L in m.
    ///
    /// ```
    /// # use densepath::hardware::PackedColumn;
    /// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
    /// assert_eq!(column.length(), 0.25);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Diameter of the particles in m.
    ///
    /// ```
    /// # use densepath::hardware::PackedColumn;
    /// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
    /// assert_eq!(column.particle_diameter(), 5e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn particle_diameter(&self) -> f64 {
        self.particle_diameter
    }

    /// Law of the local plate height.
    ///
    /// ```
    /// # use densepath::hardware::PackedColumn;
    /// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
    /// use densepath::flow::plate_height::PackedPlateHeight;
    /// assert!(matches!(column.plate_height(), PackedPlateHeight::Knox { .. }));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn plate_height(&self) -> &PackedPlateHeight {
        &self.plate_height
    }

    /// Hold-up volume `V_0 = eps_t pi d^2 L/4` in m3.
    ///
    /// ```
    /// # use densepath::hardware::PackedColumn;
    /// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
    /// let whole = densepath::flow::circular_area(4.6e-3)? * 0.25;
    /// assert!((column.hold_up_volume() / whole - 0.7).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn hold_up_volume(&self) -> f64 {
        0.25 * std::f64::consts::PI
            * self.diameter
            * self.diameter
            * self.length
            * self.total_porosity
    }

    /// The bed.
    ///
    /// ```
    /// # use densepath::hardware::PackedColumn;
    /// # let column = PackedColumn::new(4.6e-3, 0.25, 5e-6, 0.4, 0.7)?;
    /// // 5 um by the law of Ergun with K = 180: d_p^2 eps^3 / (180 (1 - eps)^2).
    /// let expected = 25e-12 * 0.064 / (180.0 * 0.36);
    /// assert!((column.bed().permeability() / expected - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn bed(&self) -> &PackedBed {
        &self.bed
    }

    /// Mass flux in kg/(m2 s) over the whole cross-section.
    fn superficial_flux(&self, mass_flow_rate: f64) -> Result<f64> {
        Ok(positive(Quantity::MassFlowRate, mass_flow_rate)? / circular_area(self.diameter)?)
    }

    /// The channel at a mass flow rate, and the superficial flux in it.
    fn channel(&self, mass_flow_rate: f64) -> Result<(Channel, f64)> {
        let channel = Channel {
            length: self.length,
            open_area: self.total_porosity * circular_area(self.diameter)?,
            mass_flow_rate,
            thermal: self.thermal,
            kinks: NO_KINKS,
            intervals: 20,
        };
        Ok((channel, self.superficial_flux(mass_flow_rate)?))
    }

    fn laws(
        &self,
        state: &State,
        velocity: f64,
        flux: f64,
        solute: Option<(&Solute, ModifierShare)>,
    ) -> Result<Laws> {
        let (rho, eta) = (state.density(), state.dynamic_viscosity()?);
        let friction = self.bed.pressure_gradient(rho, eta, flux)?;
        let Some((solute, modifier)) = solute else {
            return Ok(Laws {
                friction,
                reynolds_number: 0.0,
                retention_factor: 0.0,
                plate_height: 0.0,
            });
        };
        let diffusion = solute.diffusion_coefficient(state)?;
        Ok(Laws {
            friction,
            reynolds_number: 0.0,
            retention_factor: solute.retention.retention_factor(state, modifier)?,
            plate_height: self.plate_height.plate_height(
                diffusion,
                self.particle_diameter,
                velocity,
            )?,
        })
    }

    fn judge(&self, inlet: &State, outlet: &State) -> Option<Notice> {
        let cooling = inlet.temperature() - outlet.temperature();
        let drop = inlet.pressure() - outlet.pressure();
        let is_held = matches!(self.thermal, Thermal::Isothermal { .. });
        let cooled = !is_held && cooling > LARGEST_COOLING;
        if !cooled && drop <= LARGEST_DROP * inlet.pressure() && outlet.density() >= LOWEST_DENSITY
        {
            return None;
        }
        let text = format!(
            "the column takes {} bar, cools by {} K and ends at {} kg/m3: gradients across the bed can cost plates that this \
             march along the axis does not see. Raise the outlet pressure, lower the flow or insulate the column",
            significant(drop / BAR),
            significant(cooling),
            significant(outlet.density()),
        );
        Some(Notice::new(NoticeCode::RadialGradients, text).about(Quantity::PlateNumber))
    }
}

impl Element for PackedColumn {
    fn kind(&self) -> &'static str {
        "packed_column"
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
        let flux = self.superficial_flux(mass_flow_rate)?;
        let velocity = flux / (self.total_porosity * state.density());
        let diffusion = solute.diffusion_coefficient(state)?;
        let plate_height =
            self.plate_height
                .plate_height(diffusion, self.particle_diameter, velocity)?;
        Ok(SoluteMotion {
            velocity,
            retention_factor: solute.retention.retention_factor(state, modifier)?,
            plate_height,
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
        let reynolds_number = flux * self.particle_diameter / march.outlet.dynamic_viscosity()?;
        let mut facts = column_facts(&inlet.state, &march, surroundings.solute);
        facts.push(Fact::new(
            "hold-up volume",
            Quantity::Volume,
            self.hold_up_volume(),
        ));
        Ok(Outlet {
            hold_up_time: march.hold_up_time,
            band: band(&march, surroundings.solute),
            heat_flow_rate: march.heat_flow_rate,
            motion: Some(Motion {
                velocity: flux / (self.total_porosity * march.outlet.density()),
                reynolds_number,
            }),
            facts,
            notices: self
                .judge(&inlet.state, &march.outlet)
                .into_iter()
                .collect(),
            profile: march.profile,
            ..Outlet::of(Stream {
                state: march.outlet,
                mass_flow_rate: inlet.mass_flow_rate,
            })
        })
    }
}

/// The solute that is followed, with the share of modifier around it, which does not change along a part.
pub(super) fn followed<'a>(
    inlet: &Stream,
    surroundings: &Surroundings<'a>,
) -> Option<(&'a Solute, ModifierShare)> {
    let solute = surroundings.solute?;
    let share = share_beside(inlet.state.fluid(), surroundings.carrier);
    Some((solute, share))
}

/// What a column does to the band, if there is one.
pub(super) fn band(march: &March, solute: Option<&Solute>) -> Option<BandShare> {
    solute.map(|_| BandShare {
        time: march.retention_time,
        time_variance: march.time_variance,
        bracket: None,
        tails: Vec::new(),
    })
}

/// Results that every column has; `t_R`, k and N only with a solute.
pub(super) fn column_facts(inlet: &State, march: &March, solute: Option<&Solute>) -> Vec<Fact> {
    let drop = inlet.pressure() - march.outlet.pressure();
    let mut facts = vec![
        Fact::new("pressure drop", Quantity::PressureDrop, drop),
        Fact::new("hold-up time", Quantity::HoldUpTime, march.hold_up_time),
    ];
    if solute.is_some() {
        let (time, variance) = (march.retention_time, march.time_variance);
        let k = time / march.hold_up_time - 1.0;
        facts.push(Fact::new("retention time", Quantity::RetentionTime, time));
        facts.push(Fact::new(
            "apparent retention factor",
            Quantity::RetentionFactor,
            k,
        ));
        facts.push(Fact::new(
            "apparent plate number of the column alone",
            Quantity::PlateNumber,
            time * time / variance,
        ));
    }
    facts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fluid::units::to_celsius;
    use crate::hardware::Retention;
    use crate::hardware::testing::{close, fact, naphthalene, pass_to, stream_at, surroundings};

    /// 1 mL/min counted at 278.15 K and 15 MPa, in kg/s (CoolProp 8.0.0).
    const FLOW: f64 = 977.3816e-6 / 60.0;
    const KNOX: PackedPlateHeight = PackedPlateHeight::Knox {
        eddy: 1.0,
        longitudinal: 2.0,
        transfer: 0.06,
    };
    const OVEN: Thermal = Thermal::Isothermal {
        temperature: 313.15,
    };

    fn column(geometry: (f64, f64, f64), thermal: Thermal) -> PackedColumn {
        let (length, diameter, particle) = geometry;
        PackedColumn::new(diameter * 1e-3, length * 1e-3, particle * 1e-6, 0.4, 0.7)
            .and_then(|column| column.with_plate_height(KNOX))
            .and_then(|column| column.with_thermal(thermal))
            .unwrap()
    }

    /// Length and bore in mm, particles in um, set flow in mL/min, outlet pressure in bar, whether in an oven; then pressure
    /// drop in bar, outlet temperature in degC, hold-up time in s, apparent k and N, densities at inlet and outlet in kg/m3:
    /// independent computation with CoolProp 8.0.0 and scipy 1.17.1. NaN where it was not printed.
    #[rustfmt::skip]
    const CASES: [([f64; 5], bool, [f64; 7]); 8] = {
        const X: f64 = f64::NAN;
        [
            ([250.0, 4.6, 5.0, 3.0, 150.0], true, [26.81, 40.0, 47.5441, 1.50597, 21612.9, 815.915, 780.233]),
            ([250.0, 4.6, 5.0, 3.0, 150.0], false, [27.013, 37.9821, 47.9437, 1.435, X, 816.151, 794.671]),
            ([250.0, 4.6, 5.0, 3.0, 90.0], true, [22.7026, 40.0, 37.0388, 5.39643, 19729.0, 694.06, 485.502]),
            ([250.0, 4.6, 5.0, 3.0, 90.0], false, [X, 35.1307, X, 3.48097, X, X, 659.251]),
            ([150.0, 3.0, 1.8, 2.0, 150.0], true, [215.807, 40.0, 19.9282, 0.914706, 32171.9, X, 780.233]),
            ([150.0, 3.0, 1.8, 2.0, 150.0], false, [219.8, 33.41, X, X, 32743.0, 943.584, 825.492]),
            ([100.0, 2.1, 1.7, 1.5, 150.0], true, [250.7, 40.0, 8.77329, 0.861793, 24820.5, X, 780.233]),
            ([100.0, 2.1, 1.7, 1.5, 150.0], false, [255.034, 33.2761, 8.90546, 0.772004, 25108.1, X, 826.37]),
        ]
    };

    #[test]
    fn columns_between_the_thermal_bounds_agree_with_an_independent_computation() {
        let solute = naphthalene();
        for ([length, bore, particle, millilitres, outlet_bar], oven, expected) in CASES {
            let geometry = (length, bore, particle);
            let thermal = if oven { OVEN } else { Thermal::Adiabatic };
            let column = column(geometry, thermal);
            let (bar, outlet) =
                pass_to(&column, 40.0, outlet_bar, millilitres * FLOW, Some(&solute));
            let state = &outlet.stream.state;
            let ours = [
                bar - outlet_bar,
                to_celsius(state.temperature()),
                outlet.hold_up_time,
                fact(&outlet, "apparent retention factor"),
                fact(&outlet, "apparent plate number of the column alone"),
                outlet.profile[0].density,
                state.density(),
            ];
            for (ours, expected) in ours.iter().zip(expected) {
                assert!(
                    expected.is_nan() || close(*ours, expected, 3e-4),
                    "{geometry:?} {thermal:?}: {ours} against {expected}"
                );
            }
        }
    }

    #[test]
    fn an_adiabatic_column_keeps_its_energy_and_an_oven_gives_what_is_missing() {
        let geometry = (250.0, 4.6, 5.0);
        let inlet = stream_at(40.0, 177.0, 3.0 * FLOW);
        let pass = |thermal| {
            column(geometry, thermal)
                .pass(&inlet, &surroundings(None))
                .unwrap()
        };
        let adiabatic = pass(Thermal::Adiabatic);
        let h = |state: &State| state.specific_enthalpy();
        let out = &adiabatic.stream.state;
        assert!((h(out) - h(&inlet.state)).abs() < 1e-2);
        assert!(out.specific_entropy() > inlet.state.specific_entropy());
        assert!(out.temperature() < inlet.state.temperature());
        let oven = pass(OVEN);
        let heat = 3.0 * FLOW * (h(&oven.stream.state) - h(&inlet.state));
        assert!(close(oven.heat_flow_rate, heat, 1e-6) && heat > 0.0);
        // Without a solute there is no band, and the mean velocity is that of the hold-up volume.
        assert!(oven.band.is_none());
        let unretained =
            column(geometry, OVEN).hold_up_volume() * oven.profile[0].density / (3.0 * FLOW);
        assert!(oven.hold_up_time < unretained && oven.hold_up_time > 0.9 * unretained);
    }

    #[test]
    fn an_unretained_solute_takes_the_hold_up_time() {
        let solute = Solute {
            retention: Retention::Constant {
                retention_factor: 0.0,
            },
            ..naphthalene()
        };
        let outlet = column((250.0, 4.6, 5.0), OVEN)
            .pass(
                &stream_at(40.0, 177.0, 3.0 * FLOW),
                &surroundings(Some(&solute)),
            )
            .unwrap();
        assert_eq!(outlet.band.unwrap().time, outlet.hold_up_time);
    }

    #[test]
    fn the_thermal_bounds_agree_where_the_joule_thomson_coefficient_vanishes() {
        // About 436 bar at 40 degC (CoolProp 8.0.0).
        let end = |thermal| {
            pass_to(
                &column((50.0, 4.6, 5.0), thermal),
                40.0,
                435.0,
                3.0 * FLOW,
                None,
            )
            .1
            .hold_up_time
        };
        assert!(close(end(OVEN), end(Thermal::Adiabatic), 1e-5));
    }

    #[test]
    fn a_wall_that_conducts_lies_between_the_bounds() {
        let geometry = (150.0, 3.0, 1.8);
        let inlet = stream_at(40.0, 370.0, 2.0 * FLOW);
        let end = |thermal| {
            let outlet = column(geometry, thermal)
                .pass(&inlet, &surroundings(None))
                .unwrap();
            (outlet.stream.state.temperature(), outlet.heat_flow_rate)
        };
        let wall = |conductance| {
            end(Thermal::Wall {
                temperature: 313.15,
                conductance,
            })
        };
        let (insulated, held) = (end(Thermal::Adiabatic), end(OVEN));
        assert!(close(wall(0.0).0, insulated.0, 1e-12));
        let (between, heat) = wall(0.5);
        assert!(between > insulated.0 + 0.5 && between < held.0 - 0.1);
        assert!(heat > 0.0 && heat < held.1);
        let nearly = wall(1e3);
        assert!(close(nearly.0, held.0, 1e-4) && close(nearly.1, held.1, 1e-2));
        let cold = Thermal::Wall {
            temperature: 313.15,
            conductance: -1.0,
        };
        assert!(column(geometry, OVEN).with_thermal(cold).is_err());
    }

    #[test]
    fn the_motion_at_one_place_is_that_of_the_march() {
        let solute = naphthalene();
        let column = column((250.0, 4.6, 5.0), OVEN);
        let inlet = stream_at(40.0, 177.0, 3.0 * FLOW);
        let outlet = column.pass(&inlet, &surroundings(Some(&solute))).unwrap();
        let share = share_beside(inlet.state.fluid(), "carbon dioxide");
        let motion = column
            .solute_motion(&outlet.stream.state, 3.0 * FLOW, &solute, share)
            .unwrap();
        let last = outlet.profile.last().unwrap();
        assert!(close(motion.velocity, last.velocity, 1e-12));
        assert!(close(motion.retention_factor, last.retention_factor, 1e-12));
        assert!(close(motion.plate_height, last.plate_height, 1e-12));
    }

    #[test]
    fn a_stream_that_splits_or_has_nowhere_to_expand_is_an_error() {
        let pass = |degc, bar, factor| {
            column((250.0, 4.6, 5.0), Thermal::Adiabatic)
                .pass(&stream_at(degc, bar, factor * FLOW), &surroundings(None))
                .unwrap_err()
        };
        // Cold liquid that boils on the way.
        let Error::PhaseChange {
            position, pressure, ..
        } = pass(25.0, 80.0, 3.0)
        else {
            panic!("not a phase change");
        };
        assert!(position > 0.0 && position < 0.25 && pressure < 80e5);
        // A hot gas that cannot be pushed through at this pressure.
        assert_eq!(pass(100.0, 10.0, 5.0).code(), 501);
        assert_eq!(pass(40.0, 150.0, 0.0).code(), 101);
        assert_eq!(pass(40.0, 150.0, -1.0).code(), 101);
    }

    #[test]
    fn steep_gradients_carry_a_warning_and_flat_ones_do_not() {
        let pass = |geometry, bar, factor| {
            column(geometry, Thermal::Adiabatic)
                .pass(&stream_at(40.0, bar, factor * FLOW), &surroundings(None))
                .unwrap()
                .notices
        };
        assert!(pass((250.0, 4.6, 5.0), 250.0, 2.0).is_empty());
        let notices = pass((150.0, 3.0, 1.8), 369.8, 2.0);
        assert_eq!(notices[0].code, NoticeCode::RadialGradients);
    }

    #[test]
    fn impossible_columns_are_refused() {
        let new = |d, l, p, e, t| {
            PackedColumn::new(d, l, p, e, t)
                .map(|_| ())
                .map_err(|e| e.code())
        };
        assert_eq!(new(4.6e-3, 0.25, 5e-6, 0.4, 0.7), Ok(()));
        for (d, l, p, e, t) in [
            (0.0, 0.25, 5e-6, 0.4, 0.7),
            (4.6e-3, f64::NAN, 5e-6, 0.4, 0.7),
            (4.6e-3, 0.25, -5e-6, 0.4, 0.7),
            (4.6e-3, 0.25, 5e-6, 0.4, 0.3),
            (4.6e-3, 0.25, 5e-6, 0.4, 1.0),
            (4.6e-3, 0.25, 5e-6, 40.0, 70.0),
        ] {
            assert_eq!(new(d, l, p, e, t), Err(101));
        }
        let column = column((250.0, 4.6, 5.0), Thermal::Adiabatic);
        let cold = Thermal::Isothermal { temperature: -40.0 };
        assert_eq!(column.with_thermal(cold).unwrap_err().code(), 101);
    }
}
