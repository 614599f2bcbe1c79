use densepath::{Fluid, State, read_method_file, units::{BAR, from_celsius}};

fn main() -> Result<(), densepath::Error> {
    let co2 = Fluid::new("carbon dioxide")?;
    let column = State::from_tp(&co2, from_celsius(40.0), 150.0 * BAR)?;
    println!("{:.1} kg/m3, {:.2} uPa s", column.density(), column.dynamic_viscosity()? * 1e6);
    println!("{:.1} % dry ice at 1 atm", 100.0 * column.expand_to(101_325.0)?.solid_fraction());
    let solution = read_method_file("tests/methods/packed.toml")?.solve()?;
    println!("pump at {:.1} bar(a)", solution.delivery_pressure / BAR);
    Ok(())
}
