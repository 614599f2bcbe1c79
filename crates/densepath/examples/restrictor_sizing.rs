//! Lengths of open capillaries that let a mass flow of carbon dioxide at 120 degC and 150 bar out to the room: a table of bores and flows.
//!
//! A restrictor sprays cold gas and dry ice and may plug; it is at full pressure until its end. Follow local codes.

use densepath::hardware::LinearRestrictor;
use densepath::units::{BAR, from_celsius};
use densepath::{Fluid, Result};

const BORES_UM: [f64; 5] = [5.0, 7.0, 10.0, 12.0, 15.0];
const FLOWS_MG_PER_MIN: [f64; 4] = [2.0, 5.0, 10.0, 20.0];

fn main() -> Result<()> {
    let fluid = Fluid::new("carbon dioxide")?;
    print!("length in cm, for mg/min of\n    um");
    for flow in FLOWS_MG_PER_MIN {
        print!(" {flow:9.0}");
    }
    println!();
    for bore in BORES_UM {
        print!("{bore:6.0}");
        // The length given here plays no part: it is asked for.
        let capillary = LinearRestrictor::new(bore * 1e-6, 1.0)?;
        for flow in FLOWS_MG_PER_MIN {
            let flow = flow * 1e-6 / 60.0;
            let inlet = (from_celsius(120.0), 150.0 * BAR);
            match capillary.length_for(flow, &fluid, inlet.0, inlet.1, 101_325.0) {
                Ok(length) => print!(" {:9.3}", length * 100.0),
                Err(_) => print!(" {:>9}", "-"),
            }
        }
        println!();
    }
    Ok(())
}
