//! The least value of a function that has no slope everywhere: Nelder, Mead, Comput. J. 7 (1965) 308, doi 10.1093/comjnl/7.4.308.

use argmin::core::{CostFunction, Error, Executor, State};
use argmin::solver::neldermead::NelderMead;

/// Lengths of the edges of the simplexes that start one after another, each where the last ended.
const EDGES: [f64; 4] = [0.02, 0.01, 0.005, 0.0025];
/// Steps of a simplex at most, and deviation of its values from each other at which it has ended.
const STEPS: u64 = 200;
const ENDED: f64 = 1e-10;

/// A function of several numbers.
struct Cost<'a, F>(&'a F);

impl<F: Fn(&[f64]) -> f64> CostFunction for Cost<'_, F> {
    type Param = Vec<f64>;
    type Output = f64;

    fn cost(&self, arguments: &Vec<f64>) -> Result<f64, Error> {
        Ok(self.0(arguments))
    }
}

/// The arguments of the least value near a start.
pub fn least(function: impl Fn(&[f64]) -> f64, start: &[f64]) -> Result<Vec<f64>, String> {
    search(&function, start).map_err(|error| error.to_string())
}

fn search(function: &impl Fn(&[f64]) -> f64, start: &[f64]) -> Result<Vec<f64>, Error> {
    let mut best = start.to_vec();
    for edge in EDGES {
        let mut corners = vec![best.clone(); best.len() + 1];
        for (index, corner) in corners.iter_mut().skip(1).enumerate() {
            corner[index] += edge;
        }
        let solver = NelderMead::new(corners).with_sd_tolerance(ENDED)?;
        let found = Executor::new(Cost(function), solver)
            .configure(|state| state.max_iters(STEPS))
            .run()?;
        if let Some(found) = found.state.get_best_param() {
            best.clone_from(found);
        }
    }
    Ok(best)
}

#[cfg(test)]
mod tests {
    use super::least;

    /// The middle one of three lines' heights is where the sum of the distances is least, and beyond a wall nothing is found.
    #[test]
    fn sums_of_sizes_have_their_least_value_at_the_median() {
        let sum = |place: &[f64]| {
            let heights = [0.01, 0.03, 0.2].map(|height| (place[0] - height).abs());
            let wall = if place[1] < -0.02 { 1.0 } else { 0.0 };
            heights.iter().sum::<f64>() + wall + (place[1] + 0.05).abs()
        };
        let found = least(sum, &[0.0, 0.0]).unwrap();
        assert!((found[0] - 0.03).abs() < 1e-5, "{found:?}");
        assert!((-0.02..-0.0199).contains(&found[1]), "{found:?}");
    }
}
