//! The supply cylinder: what is in it, at which pressure, and for how long it lasts.

use densepath_fluid::error::{Error, Result, positive};
use densepath_fluid::notice::rounded;
use densepath_fluid::num::root::{Tolerance, bracketed};
use densepath_fluid::units::{BAR, to_celsius};
use densepath_fluid::{Fluid, Notice, NoticeCode, Phase, Quantity, State};

/// From which end of the cylinder the fluid is drawn.
///
/// ```
/// use densepath::hardware::{Cylinder, Withdrawal};
/// let dip_tube = Cylinder::new(40e-3, 30.0, Withdrawal::Liquid)?;
/// assert_eq!(dip_tube.withdrawal(), Withdrawal::Liquid);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Withdrawal {
    /// Through a dip tube, from the bottom.
    Liquid,
    /// From the top.
    Vapour,
}

/// A closed vessel of liquefied gas.
///
/// ```
/// use densepath::{Fluid, hardware::{Cylinder, Withdrawal}};
/// let cylinder = Cylinder::new(40e-3, 30.0, Withdrawal::Liquid)?;
/// // Boiling liquid at 20 degC: 57.3 bar, however much is left (Span and Wagner 1996).
/// let supply = cylinder.supply(&Fluid::new("carbon dioxide")?, 293.15)?;
/// assert!((supply.pressure() / 1e5 - 57.29).abs() < 0.01);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cylinder {
    volume: f64,
    mass: f64,
    withdrawal: Withdrawal,
    is_helium_padded: bool,
    allows_liquid_full: bool,
}

/// What fills a cylinder.
///
/// ```
/// use densepath::{Fluid, hardware::{Cylinder, Filling, Withdrawal}};
/// let fluid = Fluid::new("carbon dioxide")?;
/// let cylinder = Cylinder::new(40e-3, 30.0, Withdrawal::Liquid)?;
/// assert_eq!(cylinder.content(&fluid, 293.15)?.filling, Filling::LiquidAndVapour);
/// // Above the critical temperature of 31 degC there is no level.
/// assert_eq!(cylinder.content(&fluid, 313.15)?.filling, Filling::Supercritical);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Filling {
    /// Liquid under vapour: the pressure is the vapour pressure and does not show how much is left.
    LiquidAndVapour,
    /// Liquid only, without room for expansion: the pressure rises steeply with temperature.
    LiquidFull,
    /// Vapour only: the liquid is used up.
    VapourOnly,
    /// Above the critical temperature: one dense fluid without level.
    Supercritical,
}

/// The content of a cylinder at one temperature.
///
/// ```
/// use densepath::{Fluid, hardware::{Cylinder, Withdrawal}};
/// let content = Cylinder::new(40e-3, 25.0, Withdrawal::Liquid)?.content(&Fluid::new("carbon dioxide")?, 293.15)?;
/// // Liquid and vapour make up the content; the heel of vapour stays behind.
/// assert!((content.liquid_mass + content.vapour_mass - 25.0).abs() < 1e-9);
/// assert!((content.heel + content.usable_mass - 25.0).abs() < 1e-9);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct CylinderContent {
    /// What fills it.
    pub filling: Filling,
    /// The content as a whole: temperature, pressure, mean density.
    pub state: State,
    /// Mass of liquid in kg.
    pub liquid_mass: f64,
    /// Mass of vapour, or of fluid that is no liquid, in kg.
    pub vapour_mass: f64,
    /// Share of the volume that is liquid.
    pub liquid_level: f64,
    /// Mass in kg that a liquid withdrawal leaves behind: the vapour that fills the vessel when the liquid is gone.
    pub heel: f64,
    /// Mass in kg that can be drawn as liquid at this temperature.
    pub usable_mass: f64,
    /// Temperature in K above which the vessel is full of liquid; none if the liquid vanishes first.
    pub liquid_full_temperature: Option<f64>,
    /// Mass in kg of the liquid that fills the vessel at this temperature: a larger content leaves no vapour space; none where no
    /// liquid boils.
    pub liquid_full_mass: Option<f64>,
    /// Whether the content has no vapour space to swell into: liquid only, or a fluid denser than at its critical point.
    pub is_liquid_full: bool,
    /// What to know.
    pub notices: Vec<Notice>,
}

impl Cylinder {
    /// A cylinder of a volume V in m3 that holds a mass m in kg. Error 101 for a value that is not above zero.
    ///
    /// ```
    /// use densepath::hardware::{Cylinder, Withdrawal};
    /// assert_eq!(Cylinder::new(40e-3, 0.0, Withdrawal::Liquid).unwrap_err().code(), 101);
    /// ```
    pub fn new(volume: f64, mass: f64, withdrawal: Withdrawal) -> Result<Self> {
        Ok(Self {
            volume: positive(Quantity::Volume, volume)?,
            mass: positive(Quantity::Mass, mass)?,
            withdrawal,
            is_helium_padded: false,
            allows_liquid_full: false,
        })
    }

    /// The cylinder under helium that presses its liquid out. Helium dissolves in it: what is computed for the pure liquid comes with a
    /// notice.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{Cylinder, Withdrawal}};
    /// let fluid = Fluid::new("carbon dioxide")?;
    /// let plain = Cylinder::new(40e-3, 25.0, Withdrawal::Liquid)?;
    /// let notices = |cylinder: &Cylinder| Ok::<usize, densepath::Error>(cylinder.content(&fluid, 293.15)?.notices.len());
    /// // Helium dissolved in the liquid is something to know.
    /// assert_eq!(notices(&plain.clone().with_helium_pad())?, notices(&plain)? + 1);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    #[must_use]
    pub fn with_helium_pad(self) -> Self {
        Self {
            is_helium_padded: true,
            ..self
        }
    }

    /// The cylinder of somebody who knows and means that it has no vapour space at its temperature. Without this word such a cylinder
    /// feeds no pump (error 506); with it the cautions stay.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{Cylinder, Withdrawal}};
    /// let fluid = Fluid::new("carbon dioxide")?;
    /// // 0.8 kg per litre is more than the liquid at 20 degC weighs.
    /// let full = Cylinder::new(10e-3, 8.0, Withdrawal::Liquid)?;
    /// assert_eq!(full.supply(&fluid, 293.15).unwrap_err().code(), 506);
    /// assert!(full.allowing_liquid_full().supply(&fluid, 293.15).is_ok());
    /// # Ok::<(), densepath::Error>(())
    /// ```
    #[must_use]
    pub fn allowing_liquid_full(self) -> Self {
        Self {
            allows_liquid_full: true,
            ..self
        }
    }

    /// Volume V in m3.
    ///
    /// ```
    /// use densepath::hardware::{Cylinder, Withdrawal};
    /// assert_eq!(Cylinder::new(40e-3, 30.0, Withdrawal::Liquid)?.volume(), 40e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn volume(&self) -> f64 {
        self.volume
    }

    /// Mass m in kg.
    ///
    /// ```
    /// use densepath::hardware::{Cylinder, Withdrawal};
    /// assert_eq!(Cylinder::new(40e-3, 30.0, Withdrawal::Liquid)?.mass(), 30.0);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn mass(&self) -> f64 {
        self.mass
    }

    /// From which end the fluid is drawn.
    ///
    /// ```
    /// use densepath::hardware::{Cylinder, Withdrawal};
    /// assert_eq!(Cylinder::new(40e-3, 30.0, Withdrawal::Vapour)?.withdrawal(), Withdrawal::Vapour);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn withdrawal(&self) -> Withdrawal {
        self.withdrawal
    }

    /// What the cylinder holds at a temperature T in K, in equilibrium.
    ///
    /// *Valid* for a rigid vessel; of a mixture at its first filling. *Source*: the lever rule on the mean density where liquid
    /// and vapour coexist, the equation of state at that density elsewhere.
    ///
    /// A content without vapour space is computed, and told as a caution: this is how its danger is learned. It is [`Cylinder::supply`]
    /// that refuses it.
    ///
    /// Error 102 for a filling denser than the equation of state allows, 303 where a part of it is solid.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{Cylinder, Withdrawal}};
    /// let content = Cylinder::new(40e-3, 25.0, Withdrawal::Liquid)?.content(&Fluid::new("carbon dioxide")?, 293.15)?;
    /// // The lever rule between 194.2 and 773.4 kg/m3 (Span and Wagner 1996): (625 - 194.2) / (773.4 - 194.2).
    /// assert!((content.liquid_level - 0.744).abs() < 1e-3);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn content(&self, fluid: &Fluid, temperature: f64) -> Result<CylinderContent> {
        let density = self.mass / self.volume;
        let state = State::from_t_rho(fluid, temperature, density)?;
        if state.solid_fraction() > 0.0 {
            let pressure = state.pressure();
            return Err(Error::Solid {
                temperature,
                pressure,
                limit: pressure,
            });
        }
        let liquid_full_temperature = self.liquid_full_temperature(fluid)?;
        let subcritical = if fluid.is_mixture() {
            state.phase() != Phase::Supercritical
        } else {
            temperature < fluid.critical_point()?.temperature
        };
        let (filling, liquid_mass) = match state.phase() {
            Phase::LiquidVapour => {
                let vapour = state.vapour_fraction().unwrap_or(0.0);
                (Filling::LiquidAndVapour, self.mass * (1.0 - vapour))
            }
            Phase::Liquid => (Filling::LiquidFull, self.mass),
            _ if subcritical => (Filling::VapourOnly, 0.0),
            _ => (Filling::Supercritical, 0.0),
        };
        let liquid = state.liquid().unwrap_or(&state);
        let liquid_density = liquid.density();
        let heel = match filling {
            Filling::LiquidAndVapour | Filling::LiquidFull => {
                let dry = liquid
                    .fluid()
                    .bubble_point_at_temperature(temperature)?
                    .vapour;
                (dry.density() * self.volume).min(self.mass)
            }
            Filling::VapourOnly | Filling::Supercritical => self.mass,
        };
        let is_liquid_full = has_no_vapour_space(&state)?;
        let mut notices = notices(filling, &state);
        if is_liquid_full {
            notices.push(no_vapour_space(&state, liquid_full_temperature));
        }
        if filling == Filling::LiquidAndVapour && fluid.is_mixture() {
            notices.push(drift());
        }
        if self.is_helium_padded {
            notices.push(helium());
        }
        Ok(CylinderContent {
            filling,
            liquid_mass,
            vapour_mass: self.mass - liquid_mass,
            liquid_level: liquid_mass / (liquid_density * self.volume),
            heel,
            usable_mass: self.mass - heel,
            liquid_full_temperature,
            liquid_full_mass: fluid
                .bubble_point_at_temperature(temperature)
                .ok()
                .map(|boiling| boiling.liquid.density() * self.volume),
            is_liquid_full,
            state,
            notices,
        })
    }

    /// The fluid that leaves the cylinder at a temperature T in K: boiling liquid or dry vapour where both coexist, the
    /// content itself otherwise.
    ///
    /// Errors as [`Cylinder::content`]; 506 for a content without vapour space that was not allowed
    /// ([`Cylinder::allowing_liquid_full`]), and, allowed or not, 101 for so much of it that it would burst any cylinder.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{Cylinder, Withdrawal}};
    /// let fluid = Fluid::new("carbon dioxide")?;
    /// let supply = |end| Cylinder::new(40e-3, 25.0, end)?.supply(&fluid, 293.15);
    /// // From the bottom liquid, from the top vapour of the same pressure.
    /// let (liquid, vapour) = (supply(Withdrawal::Liquid)?, supply(Withdrawal::Vapour)?);
    /// assert!(liquid.density() > 3.9 * vapour.density());
    /// assert!((liquid.pressure() / vapour.pressure() - 1.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn supply(&self, fluid: &Fluid, temperature: f64) -> Result<State> {
        let content = self.content(fluid, temperature)?;
        if content.is_liquid_full {
            self.require_leave_for_liquid_full(fluid, &content)?;
        }
        let content = content.state;
        let drawn = match self.withdrawal {
            Withdrawal::Liquid => content.liquid(),
            Withdrawal::Vapour => content.vapour(),
        };
        Ok(drawn.unwrap_or(&content).clone())
    }

    /// Error 101 for a full content beyond every test pressure, 506 for one that was not allowed.
    fn require_leave_for_liquid_full(
        &self,
        fluid: &Fluid,
        content: &CylinderContent,
    ) -> Result<()> {
        let pressure = content.state.pressure();
        if pressure > TEST_PRESSURE_MAX {
            return Err(Error::Domain {
                quantity: Quantity::Pressure,
                value: pressure,
                rule: "at most 25 MPa, the test pressure of the strongest cylinders for liquefied carbon dioxide: the mass given \
                       fills the volume given with liquid and would burst it",
            });
        }
        if self.allows_liquid_full {
            return Ok(());
        }
        let limit = match content.liquid_full_mass {
            Some(mass) => mass,
            // Above the critical temperature no content has a vapour space, but less than this never swells to the whole volume as liquid.
            None => fluid.critical_point()?.density * self.volume,
        };
        Err(Error::LiquidFull {
            mass: self.mass,
            limit,
            temperature: content.state.temperature(),
            full_from: content.liquid_full_temperature,
        })
    }

    /// Time in s for which a mass flow rate in kg/s can be drawn as liquid from a content.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{Cylinder, Withdrawal}};
    /// let content = Cylinder::new(40e-3, 25.0, Withdrawal::Liquid)?.content(&Fluid::new("carbon dioxide")?, 293.15)?;
    /// let time = Cylinder::running_time(&content, 3e-3 / 60.0)?;
    /// assert!((time * 3e-3 / 60.0 - content.usable_mass).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn running_time(content: &CylinderContent, mass_flow_rate: f64) -> Result<f64> {
        positive(Quantity::MassFlowRate, mass_flow_rate)?;
        Ok(content.usable_mass / mass_flow_rate)
    }

    /// Temperature in K at which the liquid has swollen to the whole volume; none if the content is so thin that the
    /// liquid boils away first, so dense that it is full from the triple point on, or a mixture.
    ///
    /// ```
    /// use densepath::{Fluid, hardware::{Cylinder, Withdrawal}};
    /// let fluid = Fluid::new("carbon dioxide")?;
    /// let cylinder = Cylinder::new(40e-3, 30.0, Withdrawal::Liquid)?;
    /// // 750 kg/m3 is the density of the boiling liquid at that temperature.
    /// let full = cylinder.liquid_full_temperature(&fluid)?;
    /// assert!(full.is_some_and(|temperature| fluid.saturation_at_temperature(temperature).is_ok_and(|both| (both.liquid.density() - 750.0).abs() < 1e-3)));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn liquid_full_temperature(&self, fluid: &Fluid) -> Result<Option<f64>> {
        if fluid.is_mixture() {
            return Ok(None);
        }
        let density = self.mass / self.volume;
        let critical = fluid.critical_point()?;
        let excess = |temperature: f64| -> Result<f64> {
            Ok(fluid
                .coexistence_at_temperature(temperature)?
                .liquid_density
                - density)
        };
        // Where no triple point is stated, the range of the equation begins at the coldest liquid.
        let coldest = fluid.triple_temperature();
        let low = coldest.unwrap_or(fluid.range().temperature_min);
        // The liquid is so near critical in the last 1e-9 of the temperature that the filling is called critical.
        let high = critical.temperature * (1.0 - 1e-9);
        if density <= critical.density || excess(low)? <= 0.0 || excess(high)? >= 0.0 {
            return Ok(None);
        }
        bracketed(
            "temperature at which a cylinder is full of liquid",
            low,
            high,
            Tolerance {
                relative: 1e-12,
                ..Tolerance::default()
            },
            excess,
        )
        .map(Some)
    }
}

/// Highest test pressure in Pa of cylinders for carbon dioxide: packing instruction P200 of the United Nations' recommendations on the
/// transport of dangerous goods, 250 bar (from memory).
const TEST_PRESSURE_MAX: f64 = 25e6;

/// The doubt about a liquid under helium.
fn helium() -> Notice {
    Notice::new(
        NoticeCode::Extrapolated,
        "the cylinder is padded with helium, which dissolves in the liquid: its density is lower and retention longer than computed \
         for the pure liquid, they drift as the cylinder empties, bubbles form where the pressure falls, and the pressure gauge \
         shows the helium. Do not use it where retention must be repeated",
    )
    .about(Quantity::Density)
}

/// The doubt about a mixture that is drawn from a cylinder.
fn drift() -> Notice {
    Notice::new(
        NoticeCode::CylinderLevel,
        "the cylinder holds a mixture: the liquid drawn from it is richer in what boils less than the whole, and becomes richer \
         as it empties. What is computed holds for the first filling",
    )
    .about(Quantity::AmountFraction)
}

/// Whether a content is liquid only, or denser than at its critical point: no vapour is left that gives way when it swells. Permanent gases
/// are kept at higher pressures, but not as dense as that; of a mixture only a liquid is called full.
fn has_no_vapour_space(content: &State) -> Result<bool> {
    let fluid = content.fluid();
    Ok(match content.phase() {
        Phase::Liquid => true,
        Phase::LiquidVapour => false,
        _ => !fluid.is_mixture() && content.density() > fluid.critical_point()?.density,
    })
}

/// The danger of a content without vapour space.
fn no_vapour_space(state: &State, full: Option<f64>) -> Notice {
    let rise = state.dp_dt_rho().map_or(String::new(), |slope| {
        format!(", rising by {} bar/K", rounded(slope / BAR))
    });
    let from = full.map_or(String::new(), |t| {
        format!(" It is so above {} degC.", rounded(to_celsius(t)))
    });
    Notice::new(
        NoticeCode::BlockedInLiquid,
        format!(
            "the cylinder has no vapour space at {} degC, {} bar(a){rise}: its content has swollen to the whole volume.{from} Keep it cool, do \
             not block its relief device, and have its filling checked by the supplier",
            rounded(to_celsius(state.temperature())),
            rounded(state.pressure() / BAR)
        ),
    )
    .about(Quantity::Pressure)
}

fn notices(filling: Filling, state: &State) -> Vec<Notice> {
    let degc = rounded(to_celsius(state.temperature()));
    let bar = rounded(state.pressure() / BAR);
    let level = match filling {
        Filling::LiquidAndVapour => return Vec::new(),
        Filling::LiquidFull => format!(
            "the cylinder holds liquid only at {degc} degC: its pressure is {bar} bar(a), above the vapour pressure"
        ),
        Filling::VapourOnly => format!(
            "no liquid is left in the cylinder at {degc} degC, {bar} bar(a): a pump for liquid cannot be fed from it"
        ),
        Filling::Supercritical => format!(
            "at {degc} degC the cylinder is above the critical temperature and holds no liquid ({bar} bar(a)): a pump for \
             liquid cannot be fed from it"
        ),
    };
    vec![Notice::new(NoticeCode::CylinderLevel, level).about(Quantity::Pressure)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hardware::testing::{close, co2};
    use densepath_fluid::units::{GRAM_PER_MINUTE, HOUR, from_celsius};
    use proptest::prelude::*;

    fn cylinder() -> Cylinder {
        Cylinder::new(0.04, 30.0, Withdrawal::Liquid).unwrap()
    }

    fn content(degc: f64) -> CylinderContent {
        cylinder().content(&co2(), from_celsius(degc)).unwrap()
    }

    /// Vapour pressure in bar and densities in kg/m3: independent computation with CoolProp 8.0.0.
    #[test]
    fn the_pressure_is_the_vapour_pressure() {
        for (degc, bar) in [
            (0.0, 34.8514),
            (5.0, 39.6947),
            (15.0, 50.8715),
            (20.0, 57.2905),
        ] {
            assert!(
                close(content(degc).state.pressure() / BAR, bar, 1e-5),
                "{degc}"
            );
        }
        let saturated = |degc: f64| co2().saturation_at_temperature(from_celsius(degc)).unwrap();
        assert!(close(saturated(0.0).vapour.density(), 97.6473, 1e-5));
        assert!(close(saturated(15.0).liquid.density(), 821.207, 1e-5));
        assert!(close(saturated(20.0).liquid.density(), 773.387, 1e-5));
        assert!(close(saturated(25.0).liquid.density(), 710.502, 1e-5));
        assert!(close(saturated(25.0).vapour.density(), 242.732, 1e-5));
        assert!(close(saturated(30.0).liquid.density(), 593.313, 1e-5));
        assert!(close(saturated(30.0).pressure / BAR, 72.1369, 1e-5));
    }

    /// 40 L with 30 kg: independent computation with CoolProp 8.0.0 and the lever rule.
    #[test]
    fn thirty_kilograms_in_forty_litres() {
        let at_20 = content(20.0);
        assert_eq!(at_20.filling, Filling::LiquidAndVapour);
        assert!(close(at_20.liquid_mass, 29.6863, 1e-5));
        assert!(close(at_20.heel, 7.76806, 1e-5));
        assert!(close(at_20.vapour_mass + at_20.liquid_mass, 30.0, 1e-15));
        assert!(close(content(25.0).heel, 9.7093, 1e-5));
        let full = to_celsius(at_20.liquid_full_temperature.unwrap());
        assert!(close(full, 22.06, 3e-4), "{full}");
    }

    /// Pressure in bar: independent computation with CoolProp 8.0.0. The lever rule alone would find 30.82 kg of liquid in
    /// 30 kg at 25 degC.
    #[test]
    fn above_that_temperature_it_holds_liquid_only() {
        let at_25 = content(25.0);
        assert_eq!(at_25.filling, Filling::LiquidFull);
        assert_eq!((at_25.liquid_mass, at_25.liquid_level), (30.0, 1.0));
        assert!(close(at_25.state.pressure() / BAR, 71.6846, 1e-5));
        let codes: Vec<_> = at_25.notices.iter().map(|notice| notice.code).collect();
        assert_eq!(
            codes,
            [NoticeCode::CylinderLevel, NoticeCode::BlockedInLiquid]
        );
        for (degc, bar) in [(40.0, 133.224), (50.0, 175.45)] {
            let hot = content(degc);
            assert_eq!(hot.filling, Filling::Supercritical);
            assert!(close(hot.state.pressure() / BAR, bar, 1e-5), "{degc}");
            assert_eq!((hot.liquid_mass, hot.usable_mass), (0.0, 0.0));
        }
    }

    #[test]
    fn without_liquid_nothing_can_be_drawn_as_liquid() {
        let cylinder = Cylinder::new(0.04, 6.0, Withdrawal::Liquid).unwrap();
        let content = cylinder.content(&co2(), from_celsius(20.0)).unwrap();
        assert_eq!(content.filling, Filling::VapourOnly);
        assert_eq!((content.liquid_mass, content.usable_mass), (0.0, 0.0));
        assert!(content.state.pressure() < 57.29 * BAR);
        assert_eq!(content.notices[0].code, NoticeCode::CylinderLevel);
        assert_eq!(cylinder.liquid_full_temperature(&co2()), Ok(None));
    }

    /// 3 mL/min counted at 5 degC and 150 bar is 1.40743 kg in 8 h: independent computation with CoolProp 8.0.0.
    #[test]
    fn a_cylinder_lasts_for_its_liquid_only() {
        let day = 8.0 * HOUR * 2.93214 * GRAM_PER_MINUTE;
        assert!(close(day, 1.40743, 1e-5));
        let time = Cylinder::running_time(&content(20.0), 2.93214 * GRAM_PER_MINUTE).unwrap();
        assert!(close(time / (8.0 * HOUR), 15.80, 1e-3));
    }

    /// Liquid of 710.502 kg/m3 at 25 degC fills 40 L with 28.42008 kg (CoolProp 8.0.0); 467.6 kg/m3 are critical (Span and Wagner, J. Phys.
    /// Chem. Ref. Data 25, 1509, 1996, doi 10.1063/1.555991).
    #[test]
    fn without_leave_a_cylinder_full_of_liquid_feeds_no_pump() {
        let refused = |cylinder: &Cylinder, degc: f64| {
            let error = cylinder.supply(&co2(), from_celsius(degc)).unwrap_err();
            assert_eq!(error.code(), 506, "{error}");
            let text = error.to_string();
            assert!(text.contains("allow_liquid_full") && text.contains("30 kg"));
            assert!(text.contains("22.06"), "{text}");
            (error.value().unwrap(), error.max().unwrap())
        };
        let (mass, limit) = refused(&cylinder(), 25.0);
        assert!((mass, limit) == (30.0, limit) && close(limit, 28.42008, 1e-6));
        assert!(close(refused(&cylinder(), 40.0).1, 0.04 * 467.6, 1e-4));
        let vapour = Cylinder::new(0.04, 30.0, Withdrawal::Vapour).unwrap();
        refused(&vapour, 25.0);
        // What is told as the largest content feeds, and a little more does not.
        for (share, feeds) in [(1.0 - 1e-6, true), (1.0 + 1e-6, false)] {
            let filled = Cylinder::new(0.04, limit * share, Withdrawal::Liquid).unwrap();
            let supply = filled.supply(&co2(), from_celsius(25.0));
            assert_eq!(supply.is_ok(), feeds);
        }
    }

    #[test]
    fn with_leave_a_full_cylinder_feeds_and_keeps_its_cautions() {
        let allowed = cylinder().allowing_liquid_full();
        let supply = allowed.supply(&co2(), from_celsius(25.0)).unwrap();
        assert!(close(supply.pressure() / BAR, 71.6846, 1e-5));
        for degc in [25.0, 40.0] {
            let told = allowed.content(&co2(), from_celsius(degc)).unwrap();
            assert!(told.is_liquid_full);
            let is_caution = |notice: &Notice| notice.code == NoticeCode::BlockedInLiquid;
            assert!(told.notices.iter().any(is_caution), "{degc}");
        }
        let crammed = Cylinder::new(0.04, 45.0, Withdrawal::Liquid).unwrap();
        let error = crammed.allowing_liquid_full().supply(&co2(), 298.15);
        assert_eq!(error.unwrap_err().code(), 101);
    }

    #[test]
    fn a_mixture_that_fills_its_cylinder_feeds_no_pump() {
        let fluid = Fluid::mixture(&[("carbon dioxide", 0.95), ("methanol", 0.05)]).unwrap();
        let boiling = fluid.bubble_point_at_temperature(293.15).unwrap().liquid;
        let filled = |share: f64| {
            let mass = boiling.density() * 0.04 * share;
            let cylinder = Cylinder::new(0.04, mass, Withdrawal::Liquid).unwrap();
            cylinder.supply(&fluid, 293.15)
        };
        assert!(filled(0.98).is_ok());
        let error = filled(1.02).unwrap_err();
        assert_eq!(error.code(), 506);
        assert!(close(error.max().unwrap(), boiling.density() * 0.04, 1e-9));
    }

    #[test]
    fn the_dip_tube_decides_what_is_supplied() {
        let temperature = from_celsius(20.0);
        let liquid = cylinder().supply(&co2(), temperature).unwrap();
        assert_eq!(liquid.phase(), Phase::Liquid);
        let without = Cylinder::new(0.04, 30.0, Withdrawal::Vapour).unwrap();
        let vapour = without.supply(&co2(), temperature).unwrap();
        assert_eq!(vapour.phase(), Phase::Vapour);
        assert_eq!(liquid.pressure(), vapour.pressure());
    }

    #[test]
    fn impossible_cylinders_are_errors() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            let error = Cylinder::new(bad, 30.0, Withdrawal::Liquid).unwrap_err();
            assert_eq!(error.code(), 101);
            let error = Cylinder::new(0.04, bad, Withdrawal::Liquid).unwrap_err();
            assert_eq!(error.code(), 101);
        }
        let crammed = Cylinder::new(0.04, 300.0, Withdrawal::Liquid).unwrap();
        let error = crammed.content(&co2(), 293.15).unwrap_err();
        assert_eq!(error.code(), 102);
    }

    proptest! {
        #[test]
        fn masses_add_up(mass in 0.5f64..35.0, degc in -40.0f64..60.0) {
            let cylinder = Cylinder::new(0.04, mass, Withdrawal::Liquid).unwrap();
            let content = cylinder.content(&co2(), from_celsius(degc)).unwrap();
            prop_assert!(close(content.liquid_mass + content.vapour_mass, mass, 1e-12));
            prop_assert!(content.liquid_mass >= 0.0 && content.vapour_mass >= 0.0);
            prop_assert!((0.0..=1.0 + 1e-12).contains(&content.liquid_level));
            prop_assert!(content.usable_mass >= 0.0 && content.heel <= mass);
        }
    }

    #[test]
    fn helium_above_the_liquid_is_told() {
        let told = |cylinder: Cylinder| {
            let content = cylinder.content(&co2(), 288.15).unwrap();
            let helium = |notice: &&Notice| notice.code == NoticeCode::Extrapolated;
            content.notices.iter().filter(helium).count()
        };
        assert_eq!(told(cylinder()), 0);
        assert_eq!(told(cylinder().with_helium_pad()), 1);
    }
}
