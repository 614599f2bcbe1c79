//! The least value of a function that has no slope everywhere: Nelder, Mead, Comput. J. 7 (1965) 308, doi 10.1093/comjnl/7.4.308.

/// Lengths of the edges of the simplexes that start one after another, each where the last ended.
const EDGES: [f64; 4] = [0.02, 0.01, 0.005, 0.0025];
/// Steps of a simplex at most, and difference of its best and worst value at which it has ended.
const STEPS: u32 = 200;
const ENDED: f64 = 1e-7;

/// A corner with its value.
type Corner = (f64, Vec<f64>);

/// The arguments of the least value near a start.
pub fn least(function: impl Fn(&[f64]) -> f64, start: &[f64]) -> Vec<f64> {
    let corner = |place: Vec<f64>| (function(&place), place);
    let mut best = start.to_vec();
    for edge in EDGES {
        let moved = (0..best.len()).map(|index| {
            let mut place = best.clone();
            place[index] += edge;
            corner(place)
        });
        let mut corners: Vec<Corner> = moved.chain([corner(best.clone())]).collect();
        for _ in 0..STEPS {
            corners.sort_by(|a, b| a.0.total_cmp(&b.0));
            if corners[corners.len() - 1].0 - corners[0].0 < ENDED {
                break;
            }
            step(&mut corners, corner);
        }
        corners.sort_by(|a, b| a.0.total_cmp(&b.0));
        best.clone_from(&corners[0].1);
    }
    best
}

/// Moves the last of the corners, which are in order, through the middle of the others; where nothing there is better, draws all
/// towards the first.
fn step(corners: &mut [Corner], corner: impl Fn(Vec<f64>) -> Corner) {
    let last = corners.len() - 1;
    let between = |a: &[f64], b: &[f64], share: f64| -> Vec<f64> {
        a.iter().zip(b).map(|(a, b)| a + share * (b - a)).collect()
    };
    let middle: Vec<f64> = (0..last)
        .map(|index| corners[..last].iter().map(|c| c.1[index]).sum::<f64>() / last as f64)
        .collect();
    let along = |share: f64| corner(between(&middle, &corners[last].1, share));
    let reflected = along(-1.0);
    let moved = if reflected.0 < corners[0].0 {
        let farther = along(-2.0);
        Some(if farther.0 < reflected.0 {
            farther
        } else {
            reflected
        })
    } else if reflected.0 < corners[last - 1].0 {
        Some(reflected)
    } else {
        Some(along(0.5)).filter(|nearer| nearer.0 < corners[last].0)
    };
    if let Some(moved) = moved {
        corners[last] = moved;
        return;
    }
    let first = corners[0].1.clone();
    for other in &mut corners[1..] {
        *other = corner(between(&first, &other.1, 0.5));
    }
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
        let found = least(sum, &[0.0, 0.0]);
        assert!((found[0] - 0.03).abs() < 1e-5, "{found:?}");
        assert!((-0.02..-0.0199).contains(&found[1]), "{found:?}");
    }
}
