//! What is to be doubted of a state of a mixture: how far it lies from the measurements behind the model.

use super::Mixed;
use super::system::StandsIn;
use crate::notice::{Notice, NoticeCode, rounded};
#[cfg(not(feature = "std"))]
use crate::prelude::*;

use crate::quantity::Quantity;
use crate::state::State;
use crate::units::{BAR, to_celsius};

/// A measured pair whose box a state has left, or that has none.
struct Outside {
    pair: String,
    /// The box in words; none where nothing was compared.
    bounds: Option<String>,
    density: Option<f64>,
}

impl Mixed<'_> {
    /// The doubts that the model brings to a state of one phase.
    pub(crate) fn notices(&self, state: &State) -> Vec<Notice> {
        let mut notices: Vec<Notice> = Vec::new();
        if let Some(reason) = self.system.stands_in {
            let reason = match reason {
                StandsIn::NoParameters => "has no parameters for every pair",
                StandsIn::PartsTooEarly => "shows a second liquid where practice knows one phase",
            };
            let text = format!(
                "the cubic equation stands in for {}: the multi-fluid equation {reason}, and densities of a cubic equation are \
                 good to a few per cent only",
                self.name()
            );
            notices.push(Notice::new(NoticeCode::CubicStandsIn, text).about(Quantity::Density));
        }
        let outside = self.outside(state).into_iter();
        notices.extend(outside.map(|outside| {
            let expected = outside.density.map_or_else(
                || "no deviation is known there".to_owned(),
                |deviation| format!("expect {} % in density there", rounded(100.0 * deviation)),
            );
            let text = match outside.bounds {
                Some(bounds) => format!(
                    "outside the measurements behind {}, {bounds}: {expected}",
                    outside.pair
                ),
                None => format!(
                    "the parameters of {} are published, but were not compared with measurements here: {expected}",
                    outside.pair
                ),
            };
            Notice::new(NoticeCode::Extrapolated, text).about(Quantity::Density)
        }));
        notices
    }

    /// Relative standard uncertainty of the density of a state of one phase: the greatest of its pairs; nothing where a pair
    /// states none.
    pub(crate) fn density_uncertainty(&self, state: &State) -> Option<f64> {
        let softness = state.pressure * state.isothermal_compressibility().ok()?;
        let mut greatest = 0.0f64;
        for (pair, share) in self.present_pairs() {
            let evidence = pair.evidence(self.system.kind)?;
            let stated = &evidence.uncertainty;
            let is_inside = evidence
                .valid
                .contains(state.temperature, state.pressure, share);
            let of_pair = match (is_inside, softness > 1.0) {
                (true, true) => stated.density_near_critical.or(stated.density),
                (true, false) => stated.density,
                (false, _) => stated.density_outside,
            };
            greatest = greatest.max(of_pair?);
        }
        (greatest > 0.0).then_some(greatest)
    }

    /// The pairs of which both substances are present, with the share of the first in both.
    fn present_pairs(&self) -> impl Iterator<Item = (&super::system::PairOf, f64)> {
        let fractions = self.fractions();
        self.system.pairs.iter().filter_map(move |pair| {
            let (first, second) = (fractions.get(pair.first)?, fractions.get(pair.second)?);
            (*first > 0.0 && *second > 0.0).then(|| (pair, first / (first + second)))
        })
    }

    fn outside(&self, state: &State) -> Vec<Outside> {
        let of_pair = |(pair, share): (&super::system::PairOf, f64)| {
            let Some(evidence) = pair.evidence(self.system.kind) else {
                return Some(Outside {
                    pair: pair.name(),
                    bounds: None,
                    density: None,
                });
            };
            let valid = &evidence.valid;
            if valid.contains(state.temperature, state.pressure, share) {
                return None;
            }
            let bounds = format!(
                "{} to {} degC, up to {} bar, amount fraction {} to {} of the first",
                rounded(to_celsius(valid.temperature_min)),
                rounded(to_celsius(valid.temperature_max)),
                rounded(valid.pressure_max / BAR),
                rounded(valid.fraction_min),
                rounded(valid.fraction_max)
            );
            Some(Outside {
                pair: pair.name(),
                bounds: Some(bounds),
                density: evidence.uncertainty.density_outside,
            })
        };
        self.present_pairs().filter_map(of_pair).collect()
    }
}
