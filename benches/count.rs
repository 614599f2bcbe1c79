//! One kernel a number of times, for a program that counts instructions: `densepath-count KERNEL ROUNDS`.
//!
//! Without arguments it prints the kernels, each with the number of points of a round. Two runs differ by the rounds alone, so that
//! their difference leaves out what a run prepares.

use std::hint::black_box;

use densepath::{Fluid, ModelChoice, Result, State};
use densepath_benches::{EIGHT, dense_points};

/// Name, points of a round, and the round, which returns a number so that nothing of it is left out.
type Kernel = (&'static str, u32, fn(&Points) -> Result<f64>);

const KERNELS: &[Kernel] = &[
    ("densities, list", 200, densities),
    ("density, one", 200, density),
    ("eight properties, list", 200, eight_properties),
    ("state from temperature and pressure", 200, state),
    ("saturation", 20, saturation),
    ("state of a mixture, cubic", 20, cubic),
    ("state of a mixture, multi-fluid", 20, multi_fluid),
];

struct Points {
    substance: Fluid,
    cubic: Fluid,
    multi_fluid: Fluid,
    temperatures: Vec<f64>,
    pressures: Vec<f64>,
}

impl Points {
    fn new(count: u32) -> Result<Self> {
        let (temperatures, pressures) = dense_points(count).into_iter().unzip();
        let mixture = |model| {
            let substances = [("carbon dioxide", 0.9), ("methanol", 0.1)];
            Fluid::mixture_with_model(&substances, model)
        };
        Ok(Self {
            substance: Fluid::new("carbon dioxide")?,
            cubic: mixture(ModelChoice::Cubic)?,
            multi_fluid: mixture(ModelChoice::MultiFluid)?,
            temperatures,
            pressures,
        })
    }

    fn sum(&self, of: impl Fn(f64, f64) -> Result<f64>) -> Result<f64> {
        let points = self.temperatures.iter().zip(&self.pressures);
        points.map(|(t, p)| of(*t, *p)).sum()
    }

    fn sum_of_states(&self, fluid: &Fluid) -> Result<f64> {
        self.sum(|t, p| Ok(State::from_tp(fluid, t, p)?.density()))
    }
}

fn densities(points: &Points) -> Result<f64> {
    let mut out = vec![0.0; points.temperatures.len()];
    let (t, p) = (&points.temperatures, &points.pressures);
    let done = points.substance.density_into(t, p, &mut out);
    done.map_err(|failed| failed.error)?;
    Ok(out.iter().sum())
}

fn density(points: &Points) -> Result<f64> {
    points.sum(|t, p| points.substance.density(t, p))
}

fn eight_properties(points: &Points) -> Result<f64> {
    let mut out = vec![0.0; EIGHT.len() * points.temperatures.len()];
    let (t, p) = (&points.temperatures, &points.pressures);
    let done = points.substance.properties_into(&EIGHT, t, p, &mut out);
    done.map_err(|failed| failed.error)?;
    Ok(out.iter().sum())
}

fn state(points: &Points) -> Result<f64> {
    points.sum_of_states(&points.substance)
}

fn saturation(points: &Points) -> Result<f64> {
    points.sum(|t, _| {
        let temperature = 220.0 + 0.7 * (t - 270.0);
        Ok(points
            .substance
            .coexistence_at_temperature(temperature)?
            .pressure)
    })
}

fn cubic(points: &Points) -> Result<f64> {
    points.sum_of_states(&points.cubic)
}

fn multi_fluid(points: &Points) -> Result<f64> {
    points.sum_of_states(&points.multi_fluid)
}

fn main() -> std::result::Result<(), String> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [name, rounds] = arguments.as_slice() else {
        for (name, count, _) in KERNELS {
            println!("{count} {name}");
        }
        return Ok(());
    };
    let rounds: u32 = rounds.parse().map_err(|_| "rounds is a number")?;
    let found = KERNELS.iter().find(|(known, ..)| known == name);
    let (_, count, round) = found.ok_or("no such kernel")?;
    let points = Points::new(*count).map_err(|error| error.to_string())?;
    for _ in 0..rounds {
        let sum = round(black_box(&points)).map_err(|error| error.to_string())?;
        black_box(sum);
    }
    Ok(())
}
