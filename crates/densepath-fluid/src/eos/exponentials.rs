//! The exponentials in density of an equation, each evaluated once.

use super::powers::PowersAt;
use crate::fluids::record::ResidualRecord;
use crate::num::number::Number;
#[cfg(not(feature = "std"))]
use crate::prelude::*;

/// Greatest multiple of a common width up to which exponentials of bells are made from each other.
const MULTIPLE_MAX: f64 = 32.0;

/// How the exponentials in density follow from each other. A place is an index into their list, given when it was planned, so that
/// indexing by it cannot fail.
#[derive(Debug, Clone)]
pub(super) struct Exponentials {
    /// Centres of bells with the width of which all others at this centre are multiples.
    widths: Vec<(f64, f64)>,
    steps: Vec<Exponential>,
}

/// How an exponential is made.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Exponential {
    /// `exp(-g delta^l)` with the place of the power.
    Power { g: f64, power: usize },
    /// `exp(-eta (delta - epsilon)^2)`.
    Bell { eta: f64, epsilon: f64 },
    /// Product of the exponentials at two places.
    Product(usize, usize),
}

impl Exponentials {
    /// None yet; the widths of the bells of an equation are compared.
    pub(super) fn new(record: &ResidualRecord) -> Self {
        let bells: Vec<(f64, f64)> = (record.gaussian.iter().map(|b| (b.epsilon, b.eta)))
            .chain(record.inverse_bell.iter().map(|b| (b.epsilon, b.eta)))
            .chain(record.non_analytic.iter().map(|b| (1.0, b.big_c)))
            .collect();
        let mut widths = Vec::new();
        for (centre, _) in &bells {
            if widths.iter().any(|(known, _)| known == centre) {
                continue;
            }
            let at_centre = bells.iter().filter(|(other, _)| other == centre);
            let etas: Vec<f64> = at_centre.map(|(_, eta)| *eta).collect();
            if let Some(width) = common_width(&etas) {
                widths.push((*centre, width));
            }
        }
        Self {
            widths,
            steps: Vec::new(),
        }
    }

    /// The place of `exp(-g delta^l)` for the place of `delta^l`.
    pub(super) fn power(&mut self, g: f64, power: usize) -> usize {
        self.place(Exponential::Power { g, power })
    }

    /// The place of `exp(-eta (delta - epsilon)^2)`.
    pub(super) fn bell(&mut self, eta: f64, epsilon: f64) -> usize {
        match self.widths.iter().find(|(centre, _)| *centre == epsilon) {
            Some(&(_, width)) => self.multiple((eta / width).round(), width, epsilon),
            None => self.place(Exponential::Bell { eta, epsilon }),
        }
    }

    fn multiple(&mut self, times: f64, width: f64, epsilon: f64) -> usize {
        if times <= 1.0 {
            let eta = width;
            return self.place(Exponential::Bell { eta, epsilon });
        }
        let half = (0.5 * times).floor();
        let one = self.multiple(half, width, epsilon);
        let other = self.multiple(times - half, width, epsilon);
        self.place(Exponential::Product(one, other))
    }

    fn place(&mut self, step: Exponential) -> usize {
        let known = self.steps.iter().position(|known| *known == step);
        known.unwrap_or_else(|| {
            self.steps.push(step);
            self.steps.len() - 1
        })
    }

    /// All of them at a reduced density with its powers, written to an empty list.
    #[inline(always)]
    pub(super) fn fill<N: Number>(&self, delta: N, powers: &[N], all: &mut PowersAt<N>) {
        for step in &self.steps {
            let exponential = match *step {
                Exponential::Power { g, power } => powers[power].times(-g).exp(),
                Exponential::Bell { eta, epsilon } => {
                    let x = delta.plus(-epsilon);
                    (x * x).times(-eta).exp()
                }
                Exponential::Product(one, other) => all[one] * all[other],
            };
            all.push(exponential);
        }
    }
}

/// A width of which several others are small whole multiples.
fn common_width(etas: &[f64]) -> Option<f64> {
    let smallest = etas.iter().copied().fold(f64::INFINITY, f64::min);
    let whole = |width: f64| {
        etas.iter().all(|eta| {
            let times = eta / width;
            times.round() * width == *eta && (1.0..=MULTIPLE_MAX).contains(&times)
        })
    };
    (1..=8)
        .map(|part| smallest / f64::from(part))
        .find(|width| etas.len() > 1 && whole(*width))
}
