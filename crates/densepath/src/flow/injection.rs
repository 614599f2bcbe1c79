//! Filling of a sample loop, splitting of an injection, and the plug behind a mixer.

use crate::fluid::error::{Error, Result, not_negative, positive};
use crate::fluid::quantity::Quantity;

/// Amounts of sample, as volumes of sample liquid in m3, when a volume is pushed through a loop full of another liquid.
///
/// ```
/// use densepath::flow::injection::fill_loop;
/// // 25 uL drawn into a loop of 20 uL: all it holds counts, and 5 uL go to drain.
/// let filling = fill_loop(25e-9, 20e-9)?;
/// assert!((filling.injected_volume - 20e-9).abs() < 1e-20 && (filling.excess_volume - 5e-9).abs() < 1e-20);
/// // The laminar law lets more of it escape.
/// assert!(filling.laminar_volume < filling.injected_volume);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopFilling {
    /// Volume drawn in.
    pub drawn_volume: f64,
    /// Volume of the loop.
    pub loop_volume: f64,
    /// What counts as injected: all that was drawn, but no more than the loop holds (common practice, no source).
    pub injected_volume: f64,
    /// What of that counts as excess and goes to drain: drawn less injected.
    pub excess_volume: f64,
    /// Sample in the loop by the laminar law, which lets the fast core of the stream reach the drain early.
    pub laminar_volume: f64,
    /// Sample that the laminar law lets go to drain.
    pub laminar_loss: f64,
}

/// Filling of a loop of the volume `V_L` in m3 by a drawn volume V in m3.
///
/// Two answers, both given: the practice of the trade, which counts a loop as full once its volume was drawn (25 uL drawn
/// into a 20 uL loop inject 20 uL); and the laminar law without diffusion, by which the fraction filled is f = `V/V_L` up to
/// one half and 1 - 1/(4f) beyond, so that 3 to 5 volumes fill the loop to 92 to 95 %.
///
/// *Valid*: the laminar law for slow filling with a liquid that hardly diffuses; diffusion and coiling bring the fill nearer
/// to that of the practice. *Source*: laminar law derived from the parabolic profile.
///
/// Errors: 101 for a loop volume not above zero or a negative drawn volume.
///
/// ```
/// use densepath::flow::injection::fill_loop;
/// let full = fill_loop(25e-9, 20e-9)?;
/// // 25 uL into 20 uL: 20 uL count; by the laminar law 1 - 20/(4 * 25) of the loop is sample.
/// assert_eq!(full.injected_volume, 20e-9);
/// assert!((full.laminar_volume - 16e-9).abs() < 1e-18);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn fill_loop(drawn_volume: f64, loop_volume: f64) -> Result<LoopFilling> {
    not_negative(Quantity::Volume, drawn_volume)?;
    positive(Quantity::Volume, loop_volume)?;
    let laminar_volume = loop_volume * laminar_fill(drawn_volume / loop_volume);
    let injected_volume = drawn_volume.min(loop_volume);
    Ok(LoopFilling {
        drawn_volume,
        loop_volume,
        injected_volume,
        excess_volume: drawn_volume - injected_volume,
        laminar_volume,
        laminar_loss: drawn_volume - laminar_volume,
    })
}

/// Fraction of a tube that a laminar stream fills when f times its volume has entered, without diffusion.
fn laminar_fill(drawn: f64) -> f64 {
    if drawn <= 0.5 {
        drawn
    } else {
        1.0 - 0.25 / drawn
    }
}

/// Ratio of vent to column flow that brings a target volume out of a rotor's volume onto the column: `V_rotor/V - 1`.
///
/// Errors: 101 for volumes not above zero or a target above the rotor's volume.
///
/// ```
/// use densepath::flow::injection::split_ratio;
/// // A tenth of a rotor of 60 nL onto the column: nine parts to the vent.
/// assert!((split_ratio(60e-9, 6e-9)? - 9.0).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn split_ratio(rotor_volume: f64, target_volume: f64) -> Result<f64> {
    positive(Quantity::Volume, rotor_volume)?;
    positive(Quantity::Volume, target_volume)?;
    if target_volume > rotor_volume {
        return Err(Error::Domain {
            quantity: Quantity::Volume,
            value: target_volume,
            rule: "no more than the volume of the rotor",
        });
    }
    Ok(rotor_volume / target_volume - 1.0)
}

/// Time in s for which a volume V in m3 flows at a volume flow rate in m3/s: the open time of a timed split, or the length of
/// an unmixed plug.
///
/// Errors: 101 for a negative volume or a flow not above zero.
///
/// ```
/// use densepath::flow::injection::plug_time;
/// // 5 uL at 3 mL/min pass in 0.1 s.
/// assert!((plug_time(5e-9, 3e-6 / 60.0)? - 0.1).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn plug_time(volume: f64, volume_flow_rate: f64) -> Result<f64> {
    not_negative(Quantity::Volume, volume)?;
    positive(Quantity::VolumeFlowRate, volume_flow_rate)?;
    Ok(volume / volume_flow_rate)
}

/// Largest fraction of the plug's solvent behind a mixer of the volume `V_m` in m3, when a plug V in m3 of pure solvent enters
/// a stream that holds the fraction b of it already: `b + (1 - b) [1 - exp(-V/V_m)]`.
///
/// *Source*: washout of a mixed volume.
///
/// Errors: 101 for a negative plug, a mixer volume not above zero or a fraction outside [0, 1].
///
/// ```
/// use densepath::flow::injection::peak_fraction_behind_mixer;
/// // A large plug of methanol gets through, a small one drowns.
/// assert!((peak_fraction_behind_mixer(0.05, 1e-3, 100e-9)? - 1.0).abs() < 1e-9);
/// assert!(peak_fraction_behind_mixer(0.05, 1e-12, 100e-9)? < 0.051);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn peak_fraction_behind_mixer(
    base_fraction: f64,
    plug_volume: f64,
    mixer_volume: f64,
) -> Result<f64> {
    not_negative(Quantity::Volume, plug_volume)?;
    positive(Quantity::Volume, mixer_volume)?;
    if !(0.0..=1.0).contains(&base_fraction) {
        return Err(Error::Domain {
            quantity: Quantity::Ratio,
            value: base_fraction,
            rule: "between 0 and 1",
        });
    }
    Ok(base_fraction - (1.0 - base_fraction) * (-plug_volume / mixer_volume).exp_m1())
}

/// Volumes in m3 of the grooves of rotors that inject without a loop, 60 to 500 nL (common practice, no source).
pub const ROTOR_VOLUMES: [f64; 4] = [60e-12, 100e-12, 200e-12, 500e-12];

/// Where the sample joins the mobile phase.
///
/// ```
/// use densepath::flow::injection::{SampleEntry, dilution};
/// // Into the stream of the modifier: the composition stays.
/// let found = dilution(10e-9, 45e-9, 5e-9, 0.0, SampleEntry::ModifierStream)?;
/// assert!((found.solvent_fraction - 0.1).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SampleEntry {
    /// Into the mixed stream, which it displaces while it passes.
    MixedStream,
    /// Into the stream of the modifier before the streams meet: the composition stays what the pumps set.
    ModifierStream,
    /// By a pump of its own, straight to the head of the column, into the mixed stream.
    AtColumn,
}

/// What reaches the column while a sample passes.
///
/// ```
/// use densepath::flow::injection::{SampleEntry, dilution};
/// let found = dilution(10e-9, 45e-9, 5e-9, 0.0, SampleEntry::ModifierStream)?;
/// assert!((found.plug_volume - 10e-9 * found.dilution_factor).abs() < 1e-20);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dilution {
    /// Volume over that of the sample in it: 1 for a sample that nothing dilutes.
    pub dilution_factor: f64,
    /// Time in s for which it passes.
    pub time: f64,
    /// Volume of the plug on the column in m3, at the densities of the flow rates given.
    pub plug_volume: f64,
    /// Volume fraction of liquid solvent, sample and modifier, while it passes.
    pub solvent_fraction: f64,
}

/// What a sample of a volume V in m3 makes of a mobile phase of the volume flow rates `q_0` of the carrier and `q_m` of the modifier,
/// in m3/s; `q_s` is that of a sample pump of its own, which only the entry at the column has. Volumes count as additive.
///
/// Mixed stream: the plug passes undiluted in `V/(q_0 + q_m)`. Modifier stream: it passes in `V/q_m`, diluted
/// `(q_0 + q_m)/q_m` times, at the set composition. At the column: in `V/q_s`, diluted `(q_0 + q_m + q_s)/q_s` times.
///
/// *Source*: balances of volume.
///
/// Errors: 101 for a volume or a flow that is needed and not above zero, or a negative one.
///
/// ```
/// use densepath::flow::injection::{SampleEntry, dilution};
/// // 10 uL into a mixed stream of 50 uL/s pass undiluted in 0.2 s.
/// let found = dilution(10e-9, 45e-9, 5e-9, 0.0, SampleEntry::MixedStream)?;
/// assert_eq!((found.dilution_factor, found.solvent_fraction), (1.0, 1.0));
/// assert!((found.time - 0.2).abs() < 1e-12);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn dilution(
    sample_volume: f64,
    carrier_flow: f64,
    modifier_flow: f64,
    sample_flow: f64,
    entry: SampleEntry,
) -> Result<Dilution> {
    positive(Quantity::Volume, sample_volume)?;
    positive(Quantity::VolumeFlowRate, carrier_flow)?;
    not_negative(Quantity::VolumeFlowRate, modifier_flow)?;
    let stream = carrier_flow + modifier_flow;
    let (own, all, solvent) = match entry {
        SampleEntry::MixedStream => (stream, stream, stream),
        SampleEntry::ModifierStream => {
            let own = positive(Quantity::VolumeFlowRate, modifier_flow)?;
            (own, stream, own)
        }
        SampleEntry::AtColumn => {
            let own = positive(Quantity::VolumeFlowRate, sample_flow)?;
            (own, stream + own, modifier_flow + own)
        }
    };
    let time = sample_volume / own;
    Ok(Dilution {
        dilution_factor: all / own,
        time,
        plug_volume: time * all,
        solvent_fraction: solvent / all,
    })
}

/// Fraction of the radius that a film takes up which a slug of liquid leaves on the wall of a tube behind it:
/// `1.34 Ca^(2/3)/(1 + 3.35 Ca^(2/3))` with the capillary number `Ca = eta u/gamma` of a dynamic viscosity in Pa s, a velocity
/// in m/s and a surface tension in N/m.
///
/// *Valid*: Ca up to 2, slow flow, a liquid that wets. *Source*: P. Aussillous and D. Quere, Phys. Fluids 12, 2367 (2000),
/// doi 10.1063/1.1289396, after F. P. Bretherton, J. Fluid Mech. 10, 166 (1961), doi 10.1017/S0022112061000160 (both from
/// memory).
///
/// Errors: 101 for an argument not above zero.
///
/// ```
/// use densepath::flow::injection::film_fraction;
/// // Bretherton's limit of slow slugs: 1.34 Ca^(2/3).
/// let ca = 1e-3 * 1e-3 / 20e-3;
/// assert!((film_fraction(1e-3, 1e-3, 20e-3)? / (1.34 * f64::powf(ca, 2.0 / 3.0)) - 1.0).abs() < 0.01);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn film_fraction(dynamic_viscosity: f64, velocity: f64, surface_tension: f64) -> Result<f64> {
    positive(Quantity::DynamicViscosity, dynamic_viscosity)?;
    positive(Quantity::Velocity, velocity)?;
    positive(Quantity::SurfaceTension, surface_tension)?;
    let power = (dynamic_viscosity * velocity / surface_tension).powf(2.0 / 3.0);
    Ok(1.34 * power / (1.0 + 2.5 * 1.34 * power))
}

/// Length in m of open tube that a plug of liquid wets.
///
/// ```
/// use densepath::flow::injection::flooding;
/// let wet = flooding(1e-9, 0.32e-3, 0.05)?;
/// assert!((wet.plug_length * densepath::flow::circular_area(0.32e-3)? - 1e-9).abs() < 1e-18);
/// # Ok::<(), densepath::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flooding {
    /// Length of the plug itself, `V/(pi d^2/4)`.
    pub plug_length: f64,
    /// Length over which it is spread out as a film.
    pub flooded_length: f64,
}

/// Length of a tube of the bore d in m that a volume V in m3 of liquid floods, where the slug leaves a film of a fraction f of the
/// radius behind: the plug itself, and `V/[A (1 - (1 - f)^2)]` of film. With f = 5 % the film is ten times as long as the plug
/// (common practice, no source).
///
/// *Valid*: a liquid that stays a liquid: where the mobile phase dissolves it the film is shorter. *Source*: balance of volume.
///
/// Errors: 101 for a volume or bore not above zero or a fraction outside ]0, 1].
///
/// ```
/// use densepath::flow::injection::flooding;
/// // A film of 5 % of the radius is ten times as long as the plug.
/// let wet = flooding(1e-9, 0.32e-3, 0.05)?;
/// assert!((wet.flooded_length / wet.plug_length - 10.26).abs() < 0.01);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn flooding(plug_volume: f64, diameter: f64, film_fraction: f64) -> Result<Flooding> {
    let plug_length = positive(Quantity::Volume, plug_volume)? / super::circular_area(diameter)?;
    if !(film_fraction > 0.0 && film_fraction <= 1.0) {
        return Err(Error::Domain {
            quantity: Quantity::Ratio,
            value: film_fraction,
            rule: "above 0 and at most 1",
        });
    }
    Ok(Flooding {
        plug_length,
        flooded_length: plug_length / (film_fraction * (2.0 - film_fraction)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::testing::close;
    use crate::fluid::num::quad;
    use proptest::prelude::*;

    #[test]
    fn an_overfilled_loop_injects_its_volume_by_the_practice_of_the_trade() {
        let filling = fill_loop(25e-9, 20e-9).unwrap();
        assert_eq!(filling.injected_volume, 20e-9);
        assert!(close(filling.excess_volume, 5e-9, 1e-12));
        assert!(close(filling.laminar_volume, 16e-9, 1e-12));
        assert!(close(filling.laminar_loss, 9e-9, 1e-12));
        // Three volumes into 5 uL: 10.4167 uL to drain by the laminar law.
        assert!(close(
            fill_loop(15e-9, 5e-9).unwrap().laminar_loss,
            10.4167e-9,
            1e-5
        ));
        let partial = fill_loop(8e-9, 20e-9).unwrap();
        assert_eq!((partial.injected_volume, partial.laminar_loss), (8e-9, 0.0));
    }

    #[test]
    fn the_laminar_law_is_the_parabola() {
        for (drawn, filled) in [
            (0.5, 0.5),
            (1.0, 0.75),
            (2.0, 0.875),
            (5.0, 0.95),
            (10.0, 0.975),
        ] {
            assert!(close(laminar_fill(drawn), filled, 1e-15));
        }
    }

    #[test]
    fn the_modifier_stream_dilutes_and_keeps_the_composition() {
        let (v, q_0, q_m) = (100e-9, 4.5e-8, 0.5e-8);
        let at = |entry| dilution(v, q_0, q_m, 1e-8, entry).unwrap();
        let mixed = at(SampleEntry::MixedStream);
        assert!(close(mixed.time, 2.0, 1e-14) && close(mixed.plug_volume, v, 1e-14));
        assert_eq!((mixed.dilution_factor, mixed.solvent_fraction), (1.0, 1.0));
        let modifier = at(SampleEntry::ModifierStream);
        assert!(close(modifier.time, 20.0, 1e-14) && close(modifier.dilution_factor, 10.0, 1e-14));
        assert!(close(modifier.solvent_fraction, 0.1, 1e-14));
        let column = at(SampleEntry::AtColumn);
        assert!(close(column.time, 10.0, 1e-14) && close(column.dilution_factor, 6.0, 1e-14));
        assert!(close(column.solvent_fraction, 0.25, 1e-14));
        // The sample is all there, whichever way it goes.
        for dilution in [mixed, modifier, column] {
            assert!(close(
                dilution.plug_volume / dilution.dilution_factor,
                v,
                1e-14
            ));
        }
        assert!(dilution(v, q_0, 0.0, 0.0, SampleEntry::ModifierStream).is_err());
    }

    #[test]
    fn a_film_floods_many_times_the_plug() {
        // 60 nL in 50 um: 31 mm of plug.
        let flooded = flooding(60e-12, 50e-6, 0.05).unwrap();
        assert!(close(flooded.plug_length, 30.56e-3, 1e-3));
        assert!(close(
            flooded.flooded_length / flooded.plug_length,
            10.256,
            1e-3
        ));
        // Slow: the film of Bretherton, 1.34 Ca^(2/3); fast: no more than 0.4 of the radius.
        let slow = film_fraction(5e-4, 1e-4, 0.02).unwrap();
        assert!(close(slow, 1.34 * 2.5e-6f64.powf(2.0 / 3.0), 1e-3));
        assert!(film_fraction(1.0, 10.0, 0.001).unwrap() < 0.4);
        assert!(flooding(60e-12, 50e-6, 0.0).is_err() && flooding(0.0, 50e-6, 0.1).is_err());
    }

    #[test]
    fn splits_and_plugs() {
        assert!(close(
            split_ratio(500e-12, 60e-12).unwrap(),
            22.0 / 3.0,
            1e-12
        ));
        assert!(close(
            split_ratio(200e-12, 60e-12).unwrap(),
            7.0 / 3.0,
            1e-12
        ));
        assert_eq!(split_ratio(10e-12, 60e-12).unwrap_err().code(), 101);
        assert!(close(plug_time(5e-9, 3e-6 / 60.0).unwrap(), 0.1, 1e-12));
        // 5 uL through 20 uL over 5 %: 0.05 + 0.95 (1 - exp(-1/4)).
        assert!(close(
            peak_fraction_behind_mixer(0.05, 5e-9, 20e-9).unwrap(),
            0.260_139,
            1e-6
        ));
    }

    proptest! {
        #[test]
        fn no_more_is_injected_than_was_drawn_or_fits(drawn in 0.0..10.0f64, volume in 0.01..10.0f64) {
            let f = fill_loop(drawn, volume).unwrap();
            prop_assert!(f.injected_volume <= volume && f.injected_volume <= drawn);
            prop_assert!(f.laminar_volume <= f.injected_volume * (1.0 + 1e-15));
            prop_assert!(close(f.injected_volume + f.excess_volume, drawn, 1e-12));
            // The parabola, slice by slice: a slice at r^2 = s has filled min(1, 2 f (1 - s)) of its length.
            let ratio = drawn / volume;
            let edge = (1.0 - 0.5 / ratio.max(0.5)).max(0.0);
            let slices = |s: f64| Ok::<f64, ()>(f64::min(1.0, 2.0 * ratio * (1.0 - s)));
            let sum = quad::integrate(0.0, edge, 1, slices).unwrap() + quad::integrate(edge, 1.0, 1, slices).unwrap();
            prop_assert!((sum * volume - f.laminar_volume).abs() <= 1e-12 * volume);
        }
    }
}
