//! A loop that holds the mass flow of a chilled pump while its pressure climbs and its head warms. The run is invented.
//!
//! The table of densities is made once, before the loop, and could have been read from a file; in the loop `PropertyTable::value` asks
//! for no memory, waits for nothing and costs the same every time.

use densepath::units::{BAR, from_celsius, to_celsius};
use densepath::{Fluid, PropertyTable, Quantity, Result};

const MASS_FLOW: f64 = 3e-3 / 60.0;
const TICKS: u32 = 10;

fn main() -> Result<()> {
    let fluid = Fluid::new("carbon dioxide")?;
    let table = PropertyTable::new(
        &fluid,
        &[Quantity::Density],
        [274.0, 284.0],
        [6e6, 40e6],
        1e-7,
    )?;
    println!("tick        T        p    density     piston  uncorrected");
    println!("         degC      bar      kg/m3     mL/min        g/min");
    let mut start = None;
    for tick in 0..TICKS {
        // What the sensors of an instrument would tell.
        let temperature = from_celsius(4.0) + 0.4 * f64::from(tick);
        let pressure = (100.0 + 15.0 * f64::from(tick)) * BAR;
        let density = table.value(0, temperature, pressure)?;
        let displaced = MASS_FLOW / density;
        let uncorrected = *start.get_or_insert(displaced) * density;
        println!(
            "{tick:4} {:8.2} {:8.1} {density:10.3} {:10.4} {:12.4}",
            to_celsius(temperature),
            pressure / BAR,
            displaced * 60e6,
            uncorrected * 60e3
        );
    }
    Ok(())
}
