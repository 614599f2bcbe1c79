//! What feeds the path: a cylinder, a suction line and a pump.

use fluid::units::to_celsius;
use fluid::{Error, Fluid, Notice, Quantity, Result, State};

use super::solution::{Duty, PartFact};
use crate::fluid;
use crate::hardware::{
    Cylinder, CylinderContent, Fact, Filling, ReciprocatingPump, Suction, SuctionLine, SyringePump,
};

/// Places of the cylinder and the pump among the stations; the suction line stands between them.
const CYLINDER: usize = 0;
const PUMP: usize = 2;
/// Place of the first part of the path among the stations.
pub(super) const FIRST_PART: usize = PUMP + 1;

/// A part before the path with the name given by the user.
///
/// ```
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// assert_eq!(method.path.source.pump.name, "pump");
/// assert_eq!(method.path.source.cylinder.part.mass(), 28.0);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Named<T> {
    /// Name given by the user.
    pub name: String,
    /// The part.
    pub part: T,
}

impl<T> Named<T> {
    /// A part with a name.
    ///
    /// ```
    /// use densepath::{hardware::Vent, path::Named};
    /// let named = Named::new("chimney", Vent::new());
    /// assert_eq!(named.name, "chimney");
    /// assert!(!named.part.ends_in_room());
    /// ```
    pub fn new(name: impl Into<String>, part: T) -> Self {
        Self {
            name: name.into(),
            part,
        }
    }

    /// An error told with the part it was found in and its place among the stations.
    fn locate(&self, index: usize, error: Error) -> Error {
        Error::InElement {
            element: self.name.clone(),
            index,
            source: Box::new(error),
        }
    }
}

/// The pump that drives the path.
///
/// ```
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// assert_eq!(method.path.source.pump.part.kind(), "reciprocating_pump");
/// assert_eq!(method.path.source.pump.part.temperature(), 278.15);
/// assert_eq!(method.path.source.pump.part.pressure_limit(), Some(400e5));
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub enum Pump {
    /// Delivers a set flow against any pressure up to its limit.
    Reciprocating(ReciprocatingPump),
    /// Holds a set pressure at any flow its barrel allows.
    Syringe(SyringePump),
}

impl Pump {
    /// The word for this sort of part.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// assert_eq!(method.path.source.pump.part.kind(), "reciprocating_pump");
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn kind(&self) -> &'static str {
        match self {
            Pump::Reciprocating(_) => "reciprocating_pump",
            Pump::Syringe(_) => "syringe_pump",
        }
    }

    /// Temperature in K of the fluid that leaves the pump.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// // The head is chilled to 5 degC.
    /// assert!((method.path.source.pump.part.temperature() - 278.15).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn temperature(&self) -> f64 {
        match self {
            Pump::Reciprocating(pump) => pump.head_temperature(),
            Pump::Syringe(pump) => pump.barrel_temperature(),
        }
    }

    /// Highest pressure in Pa, if one is stated.
    ///
    /// ```
    /// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
    /// assert_eq!(method.path.source.pump.part.pressure_limit(), Some(400e5));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn pressure_limit(&self) -> Option<f64> {
        match self {
            Pump::Reciprocating(pump) => pump.pressure_limit(),
            Pump::Syringe(pump) => pump.pressure_limit(),
        }
    }
}

/// What feeds the path.
///
/// ```
/// let method = densepath::read_method_file("../../tests/methods/packed.toml")?;
/// let source = &method.path.source;
/// // The cylinder stands at 20 degC, warmer than the head of the pump.
/// assert!(source.cylinder_temperature > source.pump.part.temperature());
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Source {
    /// The cylinder.
    pub cylinder: Named<Cylinder>,
    /// Temperature of the cylinder in K.
    pub cylinder_temperature: f64,
    /// The line from the cylinder to the pump.
    pub suction_line: Named<SuctionLine>,
    /// The pump.
    pub pump: Named<Pump>,
}

/// The feed as it reaches the pump; it does not depend on what the pump does.
#[derive(Debug, Clone)]
pub(super) struct Feed {
    pub content: CylinderContent,
    pub supplied: State,
    pub suction: Suction,
}

/// What the parts before the path have to tell.
#[derive(Debug, Default)]
pub(super) struct SourceReport {
    pub facts: Vec<PartFact>,
    pub duties: Vec<Duty>,
    pub notices: Vec<Notice>,
}

impl Source {
    /// The feed of the pump. Error 504 if it is not liquid.
    pub(super) fn feed(&self, fluid: &Fluid) -> Result<Feed> {
        let cylinder = &self.cylinder;
        let temperature = self.cylinder_temperature;
        let content = cylinder
            .part
            .content(fluid, temperature)
            .map_err(|error| cylinder.locate(CYLINDER, error))?;
        let supplied = cylinder
            .part
            .supply(fluid, temperature)
            .map_err(|error| cylinder.locate(CYLINDER, error))?;
        let line = &self.suction_line;
        let suction = line
            .part
            .feed(&supplied, self.pump.part.temperature())
            .map_err(|error| self.pump.locate(PUMP, error))?;
        Ok(Feed {
            content,
            supplied,
            suction,
        })
    }

    /// Facts, duties and notices at a delivery pressure and a mass flow rate.
    pub(super) fn report(
        &self,
        feed: &Feed,
        delivery_pressure: f64,
        mass_flow_rate: f64,
    ) -> Result<SourceReport> {
        let mut report = SourceReport::default();
        self.report_cylinder(feed, mass_flow_rate, &mut report)?;
        self.report_suction(feed, &mut report);
        let pump = &self.pump;
        match &pump.part {
            Pump::Reciprocating(part) => {
                self.report_strokes(part, feed, delivery_pressure, mass_flow_rate, &mut report)
            }
            Pump::Syringe(part) => self.report_barrel(part, feed, mass_flow_rate, &mut report),
        }
        .map_err(|error| pump.locate(PUMP, error))?;
        Ok(report)
    }

    fn report_cylinder(
        &self,
        feed: &Feed,
        mass_flow_rate: f64,
        report: &mut SourceReport,
    ) -> Result<()> {
        let content = &feed.content;
        let mut facts = vec![
            Fact::new("mass of liquid", Quantity::Mass, content.liquid_mass),
            Fact::new(
                "share of the volume that is liquid",
                Quantity::Ratio,
                content.liquid_level,
            ),
            Fact::new(
                "mass left behind when the liquid is gone",
                Quantity::Mass,
                content.heel,
            ),
        ];
        if content.filling != Filling::VapourOnly {
            let time = Cylinder::running_time(content, mass_flow_rate)?;
            facts.push(Fact::new("running time at this flow", Quantity::Time, time));
        }
        if let Some(temperature) = content.liquid_full_temperature {
            facts.push(Fact::new(
                "temperature at which liquid fills it",
                Quantity::Temperature,
                temperature,
            ));
        }
        report.add(&self.cylinder.name, facts, &content.notices);
        Ok(())
    }

    fn report_suction(&self, feed: &Feed, report: &mut SourceReport) {
        let suction = &feed.suction;
        let facts = vec![
            Fact::new(
                "losses of the line",
                Quantity::PressureDrop,
                suction.losses.total(),
            ),
            Fact::new(
                "pressure above boiling at the head",
                Quantity::PressureDrop,
                suction.pressure_margin,
            ),
            Fact::new(
                "temperature below boiling at the head",
                Quantity::TemperatureDifference,
                suction.temperature_margin,
            ),
            Fact::new(
                "vapour by mass if the head were not chilled",
                Quantity::VapourFraction,
                suction.vapour_fraction_uncooled,
            ),
        ];
        report.add(&self.suction_line.name, facts, &suction.notices);
    }

    fn report_strokes(
        &self,
        pump: &ReciprocatingPump,
        feed: &Feed,
        delivery_pressure: f64,
        mass_flow_rate: f64,
        report: &mut SourceReport,
    ) -> Result<()> {
        let suction = &feed.suction.state;
        let stroke = pump.stroke_at_flow(suction, delivery_pressure, mass_flow_rate)?;
        let duty = pump.head_duty(&feed.supplied, suction, delivery_pressure, mass_flow_rate)?;
        let mut facts = vec![
            Fact::new(
                "volumetric efficiency by mass",
                Quantity::Ratio,
                stroke.expected.volumetric_efficiency,
            ),
            Fact::new(
                "stroke before the outlet valve opens, isothermal",
                Quantity::Ratio,
                stroke.isothermal.stroke_fraction,
            ),
            Fact::new(
                "stroke before the outlet valve opens, isentropic",
                Quantity::Ratio,
                stroke.isentropic.stroke_fraction,
            ),
            Fact::new(
                "temperature after an isentropic stroke",
                Quantity::Temperature,
                stroke.isentropic.temperature,
            ),
            Fact::new(
                "power of an isentropic stroke",
                Quantity::HeatFlowRate,
                duty.isentropic_power,
            ),
        ];
        if pump.heads().is_some() {
            facts.push(Fact::new(
                "strokes of each head",
                Quantity::Frequency,
                pump.stroke_frequency(suction, &stroke.expected, mass_flow_rate)?,
            ));
            facts.push(Fact::new(
                "isothermal share of the stroke",
                Quantity::Ratio,
                stroke.isothermal_share,
            ));
        }
        if duty.friction > 0.0 {
            facts.push(Fact::new(
                "heat of friction in the head",
                Quantity::HeatFlowRate,
                duty.friction,
            ));
        }
        report.add(&self.pump.name, facts, &stroke.notices);
        report.duties.push(Duty {
            part: self.pump.name.clone(),
            purpose: format!(
                "chilling the head to {:.1} degC",
                to_celsius(pump.head_temperature())
            ),
            heat_flow_rate: -duty.total(),
        });
        Ok(())
    }

    fn report_barrel(
        &self,
        pump: &SyringePump,
        feed: &Feed,
        mass_flow_rate: f64,
        report: &mut SourceReport,
    ) -> Result<()> {
        let barrel = pump.precompress(feed.suction.state.clone())?;
        let facts = vec![
            Fact::new("mass of a filling", Quantity::Mass, barrel.mass),
            Fact::new(
                "volume displaced before the pressure is reached",
                Quantity::Volume,
                barrel.displaced_volume,
            ),
            Fact::new(
                "temperature rise of a fast compression",
                Quantity::TemperatureDifference,
                barrel.temperature_rise,
            ),
            Fact::new(
                "running time of a filling",
                Quantity::Time,
                barrel.usable_mass / mass_flow_rate,
            ),
        ];
        report.add(&self.pump.name, facts, &barrel.notices);
        Ok(())
    }
}

impl SourceReport {
    pub(super) fn add(&mut self, part: &str, facts: Vec<Fact>, notices: &[Notice]) {
        self.facts.extend(facts.into_iter().map(|fact| PartFact {
            part: part.to_owned(),
            fact,
        }));
        self.notices
            .extend(notices.iter().map(|notice| notice.clone().at(part)));
    }
}
