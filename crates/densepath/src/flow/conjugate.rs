//! Heat along the wall of a tube: conduction in the wall, exchange with the surroundings and with the fluid.
//!
//! The wall has one temperature across it, so that `d/dz(lambda A dT/dz) + g_o (T_o - T) + g_i (T_f - T) = 0` with insulated ends
//! (a fin; the conductances per length `g_o` to the surroundings and `g_i` to the fluid).
//!
//! *Source*: the balance of heat of a rod, H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., Oxford 1959,
//! ch. 4 (from memory).

/// One place of the wall, with the fluid that passes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallPlace {
    /// Distance from the inlet in m.
    pub position: f64,
    /// Temperature of the wall in K, as assumed for the fluid.
    pub wall_temperature: f64,
    /// Temperature of the surroundings in K.
    pub outside_temperature: f64,
    /// Temperature in K that the fluid takes on beside the wall assumed.
    pub fluid_temperature: f64,
    /// Conductance per length to the surroundings in W/(m K).
    pub outside_conductance: f64,
    /// Conductance per length to the fluid in W/(m K).
    pub fluid_conductance: f64,
    /// Heat capacity flow rate `q_m c_p` of the fluid in W/K; infinite where it boils.
    pub heat_capacity_rate: f64,
}

impl WallPlace {
    /// A place a share of the way to another, linear in all but the heat capacity, which is linear in its inverse.
    #[must_use]
    pub fn towards(&self, other: &Self, share: f64) -> Self {
        let between = |own: f64, others: f64| own + share * (others - own);
        Self {
            position: between(self.position, other.position),
            wall_temperature: between(self.wall_temperature, other.wall_temperature),
            outside_temperature: between(self.outside_temperature, other.outside_temperature),
            fluid_temperature: between(self.fluid_temperature, other.fluid_temperature),
            outside_conductance: between(self.outside_conductance, other.outside_conductance),
            fluid_conductance: between(self.fluid_conductance, other.fluid_conductance),
            heat_capacity_rate: 1.0
                / between(
                    1.0 / self.heat_capacity_rate,
                    1.0 / other.heat_capacity_rate,
                ),
        }
    }
}

/// Temperatures in K of the wall at its places by rising distance, with a conductance along it `lambda A` in W m/K.
///
/// The fluid answers: where the wall is warmer than assumed, so is the fluid behind it, by its heat capacity. So assumed and found
/// temperatures meet after a few marches of the fluid, whether it follows the wall closely or hardly.
pub fn wall_temperatures(places: &[WallPlace], along: f64) -> Vec<f64> {
    let count = places.len();
    let mut forward: Vec<Eliminated> = Vec::with_capacity(count);
    for (index, place) in places.iter().enumerate() {
        let before = index.checked_sub(1).and_then(|before| places.get(before));
        let behind = places.get(index + 1);
        let gap = |other: Option<&WallPlace>| {
            other.map_or(f64::INFINITY, |other| {
                (other.position - place.position).abs()
            })
        };
        let (left, right) = (gap(before), gap(behind));
        let half = |gap: f64| if gap.is_finite() { 0.5 * gap } else { 0.0 };
        let cell = half(left) + half(right);
        let (to_left, to_right) = (along / left, along / right);
        let (outer, inner) = (
            place.outside_conductance * cell,
            place.fluid_conductance * cell,
        );
        // Unknown: the changes w of the wall and f of the fluid from what was assumed.
        let flow = |other: Option<&WallPlace>, conductance: f64| {
            other.map_or(0.0, |other| {
                conductance * (other.wall_temperature - place.wall_temperature)
            })
        };
        let gained = flow(before, to_left)
            + flow(behind, to_right)
            + outer * (place.outside_temperature - place.wall_temperature)
            + inner * (place.fluid_temperature - place.wall_temperature);
        // Of the fluid, implicit in the distance: f - f_before = units (w - f).
        let units = match before {
            Some(before) => {
                place.fluid_conductance * (place.position - before.position)
                    / place.heat_capacity_rate
            }
            None => 0.0,
        };
        let previous = forward.last().copied().unwrap_or(Eliminated::NONE);
        // w_before = previous.wall w + previous.wall_rest; f_before = previous.fluid w + previous.fluid_rest.
        let fluid_by_wall = (units + previous.fluid) / (1.0 + units);
        let fluid_rest = previous.fluid_rest / (1.0 + units);
        let diagonal =
            to_left * (1.0 - previous.wall) + to_right + outer + inner * (1.0 - fluid_by_wall);
        let constant = gained + to_left * previous.wall_rest + inner * fluid_rest;
        // w = (to_right w_behind + constant)/diagonal.
        let (slope, rest) = (to_right / diagonal, constant / diagonal);
        forward.push(Eliminated {
            wall: slope,
            wall_rest: rest,
            fluid: fluid_by_wall * slope,
            fluid_rest: fluid_by_wall * rest + fluid_rest,
        });
    }
    let mut next = 0.0;
    let mut changes: Vec<f64> = forward
        .iter()
        .rev()
        .map(|known| {
            next = known.wall * next + known.wall_rest;
            next
        })
        .collect();
    changes.reverse();
    let assumed = places.iter().map(|place| place.wall_temperature);
    assumed
        .zip(changes)
        .map(|(wall, change)| wall + change)
        .collect()
}

/// The changes at one place as functions of that of the wall at the next: `w = wall w_next + wall_rest`, and so the fluid.
#[derive(Debug, Clone, Copy)]
struct Eliminated {
    wall: f64,
    wall_rest: f64,
    fluid: f64,
    fluid_rest: f64,
}

impl Eliminated {
    const NONE: Self = Self {
        wall: 0.0,
        wall_rest: 0.0,
        fluid: 0.0,
        fluid_rest: 0.0,
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;

    fn places(count: u32, length: f64, mut place: impl FnMut(f64) -> WallPlace) -> Vec<WallPlace> {
        (0..count)
            .map(|i| place(length * f64::from(i) / f64::from(count - 1)))
            .collect()
    }

    /// A fin whose surroundings step from one temperature to another in its middle, beside a fluid that keeps its temperature:
    /// both halves approach their own balance over `sqrt(lambda A/(g_o + g_i))`, and meet half way with equal slopes.
    #[test]
    fn a_step_of_the_surroundings_is_the_closed_form_of_a_fin() {
        let (outer, inner, along) = (0.02, 0.1, 3e-7);
        let outside = |z: f64| if z < 0.02 { 400.0 } else { 300.0 };
        let balance = |outside: f64| (outer * outside + inner * 350.0) / (outer + inner);
        let fin = places(8001, 0.04, |position| WallPlace {
            position,
            wall_temperature: 350.0,
            outside_temperature: if (position - 0.02).abs() < 1e-9 {
                350.0
            } else {
                outside(position)
            },
            fluid_temperature: 350.0,
            outside_conductance: outer,
            fluid_conductance: inner,
            heat_capacity_rate: f64::INFINITY,
        });
        let found = wall_temperatures(&fin, along);
        let decay = ((outer + inner) / along).sqrt();
        for (place, found) in fin.iter().zip(found).step_by(100) {
            let far = (place.position - 0.02).abs();
            let own = balance(outside(place.position));
            let expected = own + (350.0 - own) * (-decay * far).exp();
            assert!((found - expected).abs() < 2e-3, "{}", place.position);
        }
    }

    /// Without conduction along it and with a fluid that follows: an exchanger, whose fluid comes to the surroundings over
    /// `q_m c_p` over the conductances in series.
    #[test]
    fn without_conduction_a_fluid_comes_to_its_surroundings_like_in_an_exchanger() {
        let (outer, inner, rate) = (0.02, 0.1, 1e-4);
        let series = outer * inner / (outer + inner);
        let mut assumed = places(2001, 0.02, |position| WallPlace {
            position,
            wall_temperature: 400.0,
            outside_temperature: 400.0,
            fluid_temperature: 0.0,
            outside_conductance: outer,
            fluid_conductance: inner,
            heat_capacity_rate: rate,
        });
        for _ in 0..3 {
            // The fluid beside the wall assumed, implicit in the distance as the law is.
            let mut fluid = 300.0;
            let mut before = 0.0;
            for place in &mut assumed {
                let units = inner * (place.position - before) / rate;
                fluid = (fluid + units * place.wall_temperature) / (1.0 + units);
                before = place.position;
                place.fluid_temperature = fluid;
            }
            let found = wall_temperatures(&assumed, 1e-15);
            for (place, found) in assumed.iter_mut().zip(found) {
                place.wall_temperature = found;
            }
        }
        for place in assumed.iter().step_by(50) {
            let fluid = 400.0 - 100.0 * (-series * place.position / rate).exp();
            let wall = (outer * 400.0 + inner * fluid) / (outer + inner);
            assert!(
                (place.wall_temperature - wall).abs() < 0.1,
                "{}",
                place.position
            );
        }
        // A linear fluid is met in one step: the next changes nothing.
        let again = wall_temperatures(&assumed, 1e-15);
        for (place, again) in assumed.iter().zip(again) {
            assert!(close(place.wall_temperature, again, 1e-3));
        }
    }
}
