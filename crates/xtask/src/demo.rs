//! `cargo xtask demo`: sets everything up, solves the example methods, and leaves tables, figures and reports.

use crate::c;
use crate::python;
use crate::shell::{self, Workspace};
use std::path::PathBuf;
use std::time::Instant;

const METHODS: &str = "tests/methods";
const C_EXAMPLE: &str = "bindings/c/examples/stations.c";
const STEPS: usize = 4;

/// The command `demo`.
pub fn run(workspace: &Workspace, arguments: &[String]) -> Result<(), String> {
    if !arguments.is_empty() {
        return Err("`demo` takes no argument".to_owned());
    }
    let begin = Instant::now();
    let methods = methods(workspace)?;
    let first = methods.first().cloned().ok_or("there is no method")?;
    let folder = workspace.target.join("demo");
    let python = step(1, "the Python module, in an environment of its own", || {
        python::install(workspace)
    })?;
    let example = step(2, "the C library and an example program", || {
        c::example(workspace, C_EXAMPLE.as_ref())
    })?;
    step(3, "the first method, solved from the C program", || {
        shell::run(workspace.command(example).arg(first))
    })?;
    step(4, "the methods, their tables, figures and reports", || {
        let mut command = workspace.command(&python);
        command
            .env("MPLBACKEND", "agg")
            .env("MPLCONFIGDIR", workspace.target.join("matplotlib"))
            .args(["-m", "densepath.demo"])
            .args(&methods)
            .arg("--folder")
            .arg(&folder);
        shell::run(&mut command)
    })?;
    println!(
        "\ndone after {:.0} s; tables, figures and reports: {}",
        begin.elapsed().as_secs_f64(),
        folder.display()
    );
    Ok(())
}

/// Does one step and says how long it took.
fn step<T>(
    number: usize,
    purpose: &str,
    action: impl FnOnce() -> Result<T, String>,
) -> Result<T, String> {
    println!("\n[{number}/{STEPS}] {purpose}");
    let start = Instant::now();
    let result = action()?;
    let seconds = start.elapsed().as_secs_f64();
    println!("[{number}/{STEPS}] done after {seconds:.1} s");
    Ok(result)
}

/// The example methods, the packed column first, which has more parts to show.
fn methods(workspace: &Workspace) -> Result<Vec<PathBuf>, String> {
    let entries = std::fs::read_dir(workspace.root.join(METHODS))
        .map_err(|error| format!("{METHODS}: {error}"))?;
    let mut methods: Vec<PathBuf> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| {
            path.extension()
                .is_some_and(|extension| extension == "toml")
        })
        .filter_map(|path| Some(PathBuf::from(METHODS).join(path.file_name()?)))
        .collect();
    methods.sort_by(|a, b| b.cmp(a));
    Ok(methods)
}
