//! Nanoseconds of the calls that `calls.c` makes through the C library, without it: one line for each, with the sum of what they gave.

use std::hint::black_box;
use std::time::Instant;

use densepath::hardware::Chamber;
use densepath::{Fluid, PropertyTable, Quantity, Result};

const POINTS: u32 = 256;
const ROUNDS: u32 = 8000;

fn time(name: &str, call: impl Fn(f64, f64, f64) -> Result<f64>) -> Result<()> {
    let point = |i: u32| {
        let (share, index) = (f64::from(i) / f64::from(POINTS), f64::from(i));
        let turn = (index * 0.618_033_988_749_894_8) % 1.0;
        (280.0 + 40.0 * share, 15e6 + 15e6 * turn, index)
    };
    let points: Vec<_> = (0..POINTS).map(point).collect();
    let mut sum = 0.0;
    let start = Instant::now();
    for _ in 0..ROUNDS {
        for (temperature, pressure, index) in black_box(&points) {
            sum += call(*temperature, *pressure, *index)?;
        }
    }
    let each = start.elapsed().as_secs_f64() * 1e9 / f64::from(ROUNDS * POINTS);
    println!("{name},{each:.3},{sum}");
    Ok(())
}

fn main() -> Result<()> {
    let fluid = Fluid::new("carbon dioxide")?;
    let (temperatures, pressures) = ([275.0, 325.0], [14e6, 31e6]);
    fluid.prepare_densities(temperatures, pressures)?;
    let table = PropertyTable::new(&fluid, &[Quantity::Density], temperatures, pressures, 1e-6)?;
    time("density from a table", |t, p, _| table.value(0, t, p))?;
    time("density from prepared polynomials", |t, p, _| {
        fluid.prepared_density(t, p)
    })?;
    time("mass flow rate of a piston", |_, _, index| {
        let (suction, delivery) = (800.0 + 0.1 * index, 900.0 + 0.1 * index);
        Chamber::new(black_box(0.1))?.mass_flow_rate(5e-8, suction, delivery)
    })
}
