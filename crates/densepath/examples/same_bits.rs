//! Numbers to their last bits: a program in C and one in Python print the same. The instrument is invented.

use densepath::hardware::LinearRestrictor;
use densepath::{Fluid, Quantity, Result, State, read_method};

const METHOD: &str = include_str!("../../../tests/methods/packed.toml");
const QUANTITIES: [Quantity; 5] = [
    Quantity::Density,
    Quantity::SpecificEnthalpy,
    Quantity::SpeedOfSound,
    Quantity::DynamicViscosity,
    Quantity::ThermalConductivity,
];
/// Longer than a block, so that threads share it.
const LIST: u32 = 5000;

fn show(name: &str, value: f64) {
    println!("{name} {:016x}", value.to_bits());
}

fn main() -> Result<()> {
    let co2 = Fluid::new("carbon dioxide")?;
    let mixture = Fluid::mixture(&[("carbon dioxide", 0.9), ("methanol", 0.1)])?;
    for step in 0..12 {
        let (t, p) = (300.0 + 5.0 * f64::from(step), 8e6 + 2e6 * f64::from(step));
        for quantity in QUANTITIES {
            show("carbon dioxide", co2.property(quantity, t, p)?);
        }
        show("mixture", mixture.property(Quantity::Density, t, p + 8e6)?);
    }
    for step in 0..5 {
        let saturation = co2.saturation_at_temperature(220.0 + 20.0 * f64::from(step))?;
        show("saturation", saturation.pressure);
    }
    let state = State::from_tp(&co2, 313.15, 15e6)?;
    show("expanded", state.expand_to(1e5)?.temperature());
    let restrictor = LinearRestrictor::new(25e-6, 0.2)?;
    let flow = restrictor.mass_flow_rate(&co2, 373.15, 15e6, 1e5)?;
    show("restrictor", flow);
    let t: Vec<f64> = (0..LIST).map(|i| 290.0 + 0.02 * f64::from(i)).collect();
    let p: Vec<f64> = (0..LIST).map(|i| 7e6 + 4e3 * f64::from(i)).collect();
    let mut densities = vec![0.0; t.len()];
    co2.properties_into(&[Quantity::Density], &t, &p, &mut densities)
        .map_err(|failed| failed.error)?;
    // FNV-1a over the bits of all.
    let sum = densities
        .iter()
        .flat_map(|density| density.to_le_bytes())
        .fold(0xcbf2_9ce4_8422_2325_u64, |sum, byte| {
            (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        });
    println!("list {sum:016x}");
    let solution = read_method(METHOD)?.solve()?;
    show("delivery", solution.delivery_pressure);
    show("mass flow", solution.mass_flow_rate);
    Ok(())
}
