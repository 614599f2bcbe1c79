//! Densities of a list from two threads that share one fluid, and the same bits as from one.

use densepath::{Error, Fluid};

const COUNT: u32 = 20_000;
const HALF: usize = COUNT as usize / 2;

fn main() -> Result<(), Error> {
    let fluid = Fluid::new("carbon dioxide")?;
    let share = |index: u32| f64::from(index) / f64::from(COUNT);
    let temperatures: Vec<f64> = (0..COUNT)
        .map(|index| 300.0 + 60.0 * share(index))
        .collect();
    let pressures: Vec<f64> = (0..COUNT)
        .map(|index| 8e6 + 22e6 * share(index * 7919 % COUNT))
        .collect();
    let mut together = vec![0.0; COUNT as usize];
    std::thread::scope(|scope| {
        let halves = together.chunks_mut(HALF);
        let points = temperatures.chunks(HALF).zip(pressures.chunks(HALF));
        let threads: Vec<_> = points
            .zip(halves)
            .map(|((t, p), out)| scope.spawn(|| fluid.density_into(t, p, out)))
            .collect();
        for thread in threads {
            // A thread that panics hands its panic on when the scope ends.
            if let Ok(done) = thread.join() {
                done.map_err(|failed| failed.error)?;
            }
        }
        Ok(())
    })?;
    let mut alone = vec![0.0; COUNT as usize];
    fluid
        .density_into(&temperatures, &pressures, &mut alone)
        .map_err(|failed| failed.error)?;
    let same = together
        .iter()
        .zip(&alone)
        .all(|(a, b)| a.to_bits() == b.to_bits());
    println!(
        "{COUNT} densities, the first {:.6} and the last {:.6} kg/m3: {}",
        together.first().copied().unwrap_or(f64::NAN),
        together.last().copied().unwrap_or(f64::NAN),
        if same {
            "the same bits from one thread"
        } else {
            "DIFFERENT from one thread"
        }
    );
    Ok(())
}
