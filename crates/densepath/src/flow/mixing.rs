//! What a well-mixed volume makes of a composition that changes in time.

use crate::fluid::error::{Result, positive};
use crate::fluid::quantity::Quantity;

/// The outflow of a well-mixed volume at the times of its inflow: `dy/dt = (u - y)/tau`, in balance before the first time.
///
/// Times in s and inflow in any unit are knots with straight lines between them; `time_constants` in s hold from each time to the
/// next. *Uncertainty*: exact at the knots. *Source*: mass balance of a stirred volume, solved for a straight inflow,
/// `y = u - s tau + (y_0 - u_0 + s tau) exp(-t/tau)` with its slope s.
///
/// Error 101 for a time constant not above zero, and for times that do not rise. The shortest of the three lists counts.
///
/// ```
/// use densepath::flow::mixing::mixed;
/// // A step within 1 ms into 2 s of volume: two seconds later 1 - 1/e of it has come through.
/// let made = mixed(&[0.0, 0.001, 2.0005], &[0.0, 1.0, 1.0], &[2.0, 2.0, 2.0])?;
/// assert!((made[2] - (1.0 - (-1.0f64).exp())).abs() < 1e-6);
/// # Ok::<(), densepath::Error>(())
/// ```
pub fn mixed(times: &[f64], inflow: &[f64], time_constants: &[f64]) -> Result<Vec<f64>> {
    let mut knots = times.iter().zip(inflow).zip(time_constants);
    let Some(((time, value), constant)) = knots.next() else {
        return Ok(Vec::new());
    };
    let (mut time, mut before, mut constant) = (*time, *value, *constant);
    let mut outflow = vec![before];
    let mut held = before;
    for ((next, value), next_constant) in knots {
        let step = positive(Quantity::Time, next - time)?;
        let lag = (value - before) / step * positive(Quantity::Time, constant)?;
        held = value - lag + (held - before + lag) * (-step / constant).exp();
        outflow.push(held);
        (time, before, constant) = (*next, *value, *next_constant);
    }
    Ok(outflow)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ramp_leaves_late_by_the_time_constant() {
        let times: Vec<f64> = (0..200).map(f64::from).collect();
        let made = mixed(&times, &times, &[3.0; 200]).unwrap();
        for (time, value) in times.iter().zip(&made).skip(120) {
            assert!((value - (time - 3.0)).abs() < 1e-12);
        }
        assert!(made.windows(2).all(|pair| pair[1] > pair[0]));
    }

    #[test]
    fn the_response_does_not_depend_on_the_knots() {
        let (coarse, fine) = ([0.0, 4.0, 10.0], [0.0, 1.0, 2.5, 4.0, 7.0, 10.0]);
        let ramp = |time: f64| (time / 4.0).min(1.0);
        let values = |times: &[f64]| -> Vec<f64> { times.iter().map(|t| ramp(*t)).collect() };
        let one = mixed(&coarse, &values(&coarse), &[1.7; 3]).unwrap();
        let other = mixed(&fine, &values(&fine), &[1.7; 6]).unwrap();
        assert!((one[1] - other[3]).abs() < 1e-15 && (one[2] - other[5]).abs() < 1e-15);
    }

    #[test]
    fn impossible_volumes_and_times_are_refused() {
        for (times, constant) in [([0.0, 1.0], 0.0), ([0.0, 1.0], f64::NAN), ([1.0, 1.0], 1.0)] {
            let made = mixed(&times, &[0.0, 1.0], &[constant; 2]);
            assert_eq!(made.unwrap_err().code(), 101);
        }
        assert!(mixed(&[], &[], &[]).unwrap().is_empty());
    }
}
