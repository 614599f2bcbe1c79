//! Equations of pure substances.

mod ancillary;
mod cubic;
mod equation;
pub mod file;
mod ideal;
pub mod least_squares;
mod measurement;
mod substance;

use densepath_fluid::{Fluid, substances};

use cubic::Reference;
use file::Target;

/// Substances with an equation of this project.
const FITTED: [&str; 2] = ["propan-2-ol", "acetonitrile"];

/// Fits the substances named, or all; with `--check` compares the result with the stored files instead of writing them.
pub fn run(arguments: &[String]) -> Result<(), String> {
    let (target, names) = Target::and_names(arguments)?;
    for name in FITTED {
        if names.is_empty() || names.iter().any(|wanted| *wanted == name) {
            let fitted = substance::fit(name)?;
            file::start(&fitted.definition.names)?;
            file::put_block(name, "equation_of_state", &fitted.block()?, target)?;
            let report = measurement::path(&format!("{name}_deviations.csv"));
            file::put(&report, &fitted.report(), target)?;
            println!("{name}");
        }
    }
    for substance in measurement::correlated()? {
        let name = &substance.names.name;
        if names.is_empty() || names.contains(&name) {
            let reference = Reference::of_correlations(&substance);
            let fitted = cubic::fit(&reference)?;
            file::start(&substance.names)?;
            file::put_block(name, "ideal_gas", &substance.ideal_gas_block()?, target)?;
            file::put_block(name, "cubic", &fitted.to_json(&reference), target)?;
            println!("{fitted}");
        }
    }
    for fluid in chosen(&names)? {
        let reference = Reference::of_equation(&fluid).map_err(|error| error.to_string())?;
        let fitted = cubic::fit(&reference)?;
        file::put_block(fluid.name(), "cubic", &fitted.to_json(&reference), target)?;
        println!("{fitted}");
    }
    Ok(())
}

/// The substances with a reference equation that the names call, or all; never a mixture that an equation takes for one
/// substance.
fn chosen(names: &[&String]) -> Result<Vec<Fluid>, String> {
    let all = substances().map_err(|error| error.to_string())?;
    let wanted = |fluid: &&Fluid| {
        let named = names.is_empty() || names.iter().any(|name| *name == fluid.name());
        let record = fluid.record();
        let equation = record.is_ok_and(|record| record.equation_of_state.is_some());
        named && equation && !fluid.is_pseudo_pure()
    };
    Ok(all.iter().filter(wanted).cloned().collect())
}
