//! Filling of a sample loop, splitting of an injection, and the plug behind a mixer.

use crate::fluid::error::{Error, Result, not_negative, positive};
use crate::fluid::quantity::Quantity;

/// Amounts of sample, as volumes of sample liquid in m3, when a volume is pushed through a loop full of another liquid.
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
