//! The bore of a passage: stretches of tube, straight or conical, one behind the other.

use super::circular_area;
use crate::fluid::error::{Error, Result, positive};
use crate::fluid::quantity::Quantity;
use std::f64::consts::PI;

/// Steepest cone, as change of the diameter over length, along which the friction is that of a tube of the local bore (chosen
/// here: an opening angle of about 12 degrees, up to which streams follow a widening wall; common practice, no source).
pub const STEEPEST: f64 = 0.2;

/// Loss coefficient of a sharp contraction from a wide vessel, referred to the velocity in the narrow bore (common practice, no
/// source).
const SHARP_CONTRACTION: f64 = 0.5;

/// A stretch of tube whose bore changes evenly.
///
/// ```
/// use densepath::flow::bore::{Bore, Stretch};
/// let taper = Stretch { inlet_diameter: 50e-6, outlet_diameter: 10e-6, length: 0.02 };
/// // Halfway along, halfway between the bores.
/// assert!((Bore::new(vec![taper])?.diameter_at(0.01) - 30e-6).abs() < 1e-15);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Length in m.
    pub length: f64,
    /// Bore at its inlet in m.
    pub inlet_diameter: f64,
    /// Bore at its outlet in m.
    pub outlet_diameter: f64,
}

impl Stretch {
    /// A stretch of one bore d and a length L in m.
    ///
    /// ```
    /// use densepath::flow::bore::Stretch;
    /// let stretch = Stretch::straight(50e-6, 0.1);
    /// assert_eq!(stretch.inlet_diameter, stretch.outlet_diameter);
    /// ```
    pub const fn straight(diameter: f64, length: f64) -> Self {
        Self {
            length,
            inlet_diameter: diameter,
            outlet_diameter: diameter,
        }
    }

    /// Slope of the bore along the stretch.
    fn slope(&self) -> f64 {
        (self.outlet_diameter - self.inlet_diameter) / self.length
    }

    /// Integral of `1/d^4` over the length, in 1/m3: `L (d1^2 + d1 d2 + d2^2)/(3 d1^3 d2^3)` of a cone.
    fn narrowness(&self) -> f64 {
        let (d1, d2) = (self.inlet_diameter, self.outlet_diameter);
        self.length * (d1 * d1 + d1 * d2 + d2 * d2) / (3.0 * (d1 * d2).powi(3))
    }
}

/// What one place of a bore is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Place {
    /// Diameter in m.
    pub diameter: f64,
    /// Widening d ln A/dz in 1/m, or for a joint per share of its change of bore.
    pub widening: f64,
}

/// One piece of the way: a stretch, or the step between two bores.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Piece {
    /// Tube with a wall.
    Tube(Stretch),
    /// A step of the bore, with a coordinate from 0 to 1 and no length.
    Joint {
        inlet_diameter: f64,
        outlet_diameter: f64,
    },
}

impl Piece {
    /// End of the coordinate along the piece: its length in m, or 1.
    pub fn span(&self) -> f64 {
        match self {
            Piece::Tube(stretch) => stretch.length,
            Piece::Joint { .. } => 1.0,
        }
    }

    /// Whether its bore grows along it.
    pub fn widens(&self) -> bool {
        self.place(0.0).widening > 0.0
    }

    /// Length in m that the piece adds to the way.
    pub fn length(&self) -> f64 {
        match self {
            Piece::Tube(stretch) => stretch.length,
            Piece::Joint { .. } => 0.0,
        }
    }

    /// The bore at a coordinate.
    pub fn place(&self, coordinate: f64) -> Place {
        let (inlet, slope) = match self {
            Piece::Tube(stretch) => (stretch.inlet_diameter, stretch.slope()),
            Piece::Joint {
                inlet_diameter,
                outlet_diameter,
            } => (*inlet_diameter, outlet_diameter - inlet_diameter),
        };
        let diameter = inlet + slope * coordinate;
        Place {
            diameter,
            widening: 2.0 * slope / diameter,
        }
    }

    /// Friction F in Pa per unit of the coordinate of a joint, of a density rho in kg/m3 and a velocity v in m/s.
    ///
    /// Of a widening that of Borda and Carnot: the fluid loses `(v1 - v2)^2/2`, so `F = rho (v1 - v) v dlnA`. Of a
    /// narrowing `K (1 - A2/A1) v2^2/2` with K = 0.5, spread as the kinetic energy grows.
    ///
    /// *Source*: J.-C. de Borda, Mem. Acad. Sci. Paris 1766, 579, for the widening (from memory); K common practice, no source.
    pub fn joint_friction(&self, place: Place, density: f64, velocity: f64) -> f64 {
        let Piece::Joint {
            inlet_diameter,
            outlet_diameter,
        } = self
        else {
            return 0.0;
        };
        let area_ratio = (outlet_diameter / inlet_diameter).powi(2);
        if area_ratio > 1.0 {
            // The velocity at the inlet of the step, of a density that changes little over it.
            let entering = velocity * (place.diameter / inlet_diameter).powi(2);
            density * (entering - velocity) * velocity * place.widening
        } else {
            let coefficient = SHARP_CONTRACTION / (1.0 + area_ratio);
            -coefficient * density * velocity * velocity * place.widening
        }
    }
}

/// A passage from inlet to outlet.
///
/// ```
/// use densepath::flow::bore::{Bore, Stretch};
/// // A tapered restrictor: 25 cm of 50 um, then a taper down to 10 um over 2 cm.
/// let taper = Stretch { inlet_diameter: 50e-6, outlet_diameter: 10e-6, length: 0.02 };
/// let bore = Bore::new(vec![Stretch::straight(50e-6, 0.25), taper])?;
/// assert_eq!((bore.narrowest(), bore.outlet_diameter()), (10e-6, 10e-6));
/// assert!((bore.length() - 0.27).abs() < 1e-15);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Bore {
    stretches: Vec<Stretch>,
}

impl Bore {
    /// A passage of stretches, with steps where their bores differ.
    ///
    /// Errors: 101 for a length or bore not above zero; 102 for no stretch, a stretch under ten bores, or a cone steeper than
    /// 0.2, for which the friction of a developed flow is no law.
    ///
    /// ```
    /// use densepath::flow::bore::{Bore, Stretch};
    /// assert_eq!(Bore::new(vec![Stretch::straight(0.0, 0.1)]).unwrap_err().code(), 101);
    /// ```
    pub fn new(stretches: Vec<Stretch>) -> Result<Self> {
        if stretches.is_empty() {
            return Err(too_short(0.0, f64::MIN_POSITIVE));
        }
        for stretch in &stretches {
            positive(Quantity::Length, stretch.length)?;
            positive(Quantity::Diameter, stretch.inlet_diameter)?;
            positive(Quantity::Diameter, stretch.outlet_diameter)?;
            let shortest = 10.0 * stretch.inlet_diameter.min(stretch.outlet_diameter);
            if stretch.length < shortest {
                return Err(too_short(stretch.length, shortest));
            }
            if stretch.slope().abs() > STEEPEST {
                return Err(Error::OutOfRange {
                    quantity: Quantity::Ratio,
                    value: stretch.slope().abs(),
                    min: 0.0,
                    max: STEEPEST,
                    model: "friction along a cone, by the change of its bore over its length"
                        .to_owned(),
                });
            }
        }
        Ok(Self { stretches })
    }

    /// The stretches.
    ///
    /// ```
    /// use densepath::flow::bore::{Bore, Stretch};
    /// assert_eq!(Bore::new(vec![Stretch::straight(50e-6, 0.1)])?.stretches().len(), 1);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn stretches(&self) -> &[Stretch] {
        &self.stretches
    }

    /// Length L in m.
    ///
    /// ```
    /// use densepath::flow::bore::{Bore, Stretch};
    /// let bore = Bore::new(vec![Stretch::straight(50e-6, 0.1), Stretch::straight(10e-6, 0.02)])?;
    /// assert!((bore.length() - 0.12).abs() < 1e-15);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn length(&self) -> f64 {
        self.stretches.iter().map(|stretch| stretch.length).sum()
    }

    /// Volume in m3.
    ///
    /// ```
    /// use densepath::flow::{bore::{Bore, Stretch}, circular_area};
    /// let bore = Bore::new(vec![Stretch::straight(50e-6, 0.1)])?;
    /// assert!((bore.volume() / (0.1 * circular_area(50e-6)?) - 1.0).abs() < 1e-12);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn volume(&self) -> f64 {
        let volume = |stretch: &Stretch| {
            let (d1, d2) = (stretch.inlet_diameter, stretch.outlet_diameter);
            PI / 12.0 * stretch.length * (d1 * d1 + d1 * d2 + d2 * d2)
        };
        self.stretches.iter().map(volume).sum()
    }

    /// Smallest bore in m.
    ///
    /// ```
    /// use densepath::flow::bore::{Bore, Stretch};
    /// let bore = Bore::new(vec![Stretch::straight(50e-6, 0.1), Stretch::straight(10e-6, 0.02)])?;
    /// assert_eq!(bore.narrowest(), 10e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn narrowest(&self) -> f64 {
        let ends = |stretch: &Stretch| stretch.inlet_diameter.min(stretch.outlet_diameter);
        self.stretches
            .iter()
            .map(ends)
            .fold(f64::INFINITY, f64::min)
    }

    /// Bore in m at the inlet.
    ///
    /// ```
    /// use densepath::flow::bore::{Bore, Stretch};
    /// let bore = Bore::new(vec![Stretch::straight(50e-6, 0.1), Stretch::straight(10e-6, 0.02)])?;
    /// assert_eq!(bore.inlet_diameter(), 50e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn inlet_diameter(&self) -> f64 {
        self.stretches
            .first()
            .map_or(f64::NAN, |first| first.inlet_diameter)
    }

    /// Bore in m at the outlet.
    ///
    /// ```
    /// use densepath::flow::bore::{Bore, Stretch};
    /// let bore = Bore::new(vec![Stretch::straight(50e-6, 0.1), Stretch::straight(10e-6, 0.02)])?;
    /// assert_eq!(bore.outlet_diameter(), 10e-6);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn outlet_diameter(&self) -> f64 {
        self.stretches
            .last()
            .map_or(f64::NAN, |last| last.outlet_diameter)
    }

    /// Bore in m at a distance in m from the inlet; beyond the outlet that of the outlet.
    ///
    /// ```
    /// use densepath::flow::bore::{Bore, Stretch};
    /// let bore = Bore::new(vec![Stretch::straight(50e-6, 0.1), Stretch::straight(10e-6, 0.02)])?;
    /// assert_eq!((bore.diameter_at(0.05), bore.diameter_at(0.11), bore.diameter_at(1.0)), (50e-6, 10e-6, 10e-6));
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn diameter_at(&self, distance: f64) -> f64 {
        let mut left = distance;
        for stretch in &self.stretches {
            if left <= stretch.length {
                return stretch.inlet_diameter + stretch.slope() * left.max(0.0);
            }
            left -= stretch.length;
        }
        self.outlet_diameter()
    }

    /// Resistance to slow laminar flow, integral of `128/(pi d^4)` over the length, in 1/m3.
    ///
    /// `q_m` times it is the integral of density over viscosity over the pressure. *Source*: law of Hagen and Poiseuille.
    ///
    /// ```
    /// use densepath::flow::bore::{Bore, Stretch};
    /// // Half the bore, sixteen times the resistance: Hagen and Poiseuille.
    /// let resistance = |d| Ok::<_, densepath::Error>(Bore::new(vec![Stretch::straight(d, 0.1)])?.viscous_resistance());
    /// assert!((resistance(25e-6)? / resistance(50e-6)? - 16.0).abs() < 1e-9);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn viscous_resistance(&self) -> f64 {
        128.0 / PI * self.stretches.iter().map(Stretch::narrowness).sum::<f64>()
    }

    /// Cross-section in m2 of the narrowest bore.
    ///
    /// ```
    /// use densepath::flow::{bore::{Bore, Stretch}, circular_area};
    /// let bore = Bore::new(vec![Stretch::straight(50e-6, 0.1), Stretch::straight(10e-6, 0.02)])?;
    /// assert_eq!(bore.narrowest_area()?, circular_area(10e-6)?);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn narrowest_area(&self) -> Result<f64> {
        circular_area(self.narrowest())
    }

    /// The same passage with all bores times one factor and all lengths times another. Errors as [`Bore::new`].
    ///
    /// ```
    /// use densepath::flow::bore::{Bore, Stretch};
    /// let bore = Bore::new(vec![Stretch::straight(50e-6, 0.1)])?.scaled(0.5, 2.0)?;
    /// assert!((bore.narrowest() - 25e-6).abs() < 1e-18 && (bore.length() - 0.2).abs() < 1e-15);
    /// # Ok::<(), densepath::Error>(())
    /// ```
    pub fn scaled(&self, bores: f64, lengths: f64) -> Result<Self> {
        let scale = |stretch: &Stretch| Stretch {
            length: stretch.length * lengths,
            inlet_diameter: stretch.inlet_diameter * bores,
            outlet_diameter: stretch.outlet_diameter * bores,
        };
        Self::new(self.stretches.iter().map(scale).collect())
    }

    /// The pieces from inlet to outlet, steps between them.
    pub(crate) fn pieces(&self) -> Vec<Piece> {
        let mut pieces = Vec::new();
        let mut before: Option<f64> = None;
        for stretch in &self.stretches {
            if let Some(inlet_diameter) = before.filter(|bore| *bore != stretch.inlet_diameter) {
                pieces.push(Piece::Joint {
                    inlet_diameter,
                    outlet_diameter: stretch.inlet_diameter,
                });
            }
            pieces.push(Piece::Tube(*stretch));
            before = Some(stretch.outlet_diameter);
        }
        pieces
    }
}

fn too_short(length: f64, shortest: f64) -> Error {
    Error::OutOfRange {
        quantity: Quantity::Length,
        value: length,
        min: shortest,
        max: f64::INFINITY,
        model: "developed friction in a tube (ten diameters)".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;

    #[test]
    fn a_cone_is_the_sum_of_its_slices() {
        let cone = Stretch {
            length: 0.1,
            inlet_diameter: 20e-6,
            outlet_diameter: 5e-6,
        };
        let bore = Bore::new(vec![cone]).unwrap();
        let slices = 20_000;
        let (mut resistance, mut volume) = (0.0, 0.0);
        for slice in 0..slices {
            let dz = 0.1 / f64::from(slices);
            let d = bore.diameter_at((f64::from(slice) + 0.5) * dz);
            resistance += 128.0 / (PI * d.powi(4)) * dz;
            volume += 0.25 * PI * d * d * dz;
        }
        assert!(close(bore.viscous_resistance(), resistance, 1e-7));
        assert!(close(bore.volume(), volume, 1e-7));
        // (1/d1^3 - 1/d2^3) L/(3 (d2 - d1)) times 128/pi.
        let closed = 128.0 / PI * 0.1 * (20e-6f64.powi(-3) - 5e-6f64.powi(-3)) / (3.0 * -15e-6);
        assert!(close(bore.viscous_resistance(), closed, 1e-12));
    }

    #[test]
    fn joints_stand_between_unequal_bores_only() {
        let same = Bore::new(vec![
            Stretch::straight(1e-5, 0.1),
            Stretch::straight(1e-5, 0.2),
        ])
        .unwrap();
        assert_eq!(same.pieces().len(), 2);
        let other = Bore::new(vec![
            Stretch::straight(5e-5, 0.1),
            Stretch::straight(1e-5, 0.2),
        ])
        .unwrap();
        assert_eq!(other.pieces().len(), 3);
        assert!(close(
            other.pieces().iter().map(Piece::length).sum(),
            0.3,
            1e-15
        ));
        assert_eq!((other.narrowest(), other.diameter_at(1.0)), (1e-5, 1e-5));
    }

    #[test]
    fn impossible_passages_are_refused() {
        let code = |stretches| Bore::new(stretches).unwrap_err().code();
        assert_eq!(code(vec![]), 102);
        assert_eq!(code(vec![Stretch::straight(1e-5, 0.0)]), 101);
        assert_eq!(code(vec![Stretch::straight(f64::NAN, 0.1)]), 101);
        assert_eq!(code(vec![Stretch::straight(1e-3, 5e-3)]), 102);
        let steep = Stretch {
            length: 1e-3,
            inlet_diameter: 1e-5,
            outlet_diameter: 1e-3,
        };
        assert_eq!(code(vec![steep]), 102);
    }
}
