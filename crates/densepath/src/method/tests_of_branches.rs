//! Tests of streams that divide: what a branch takes, what goes on, and what no branch can be.

use super::tests::{CAPILLARY, PACKED, changed, close};
use super::*;
use crate::fluid::{Notice, NoticeCode};
use crate::hardware::LinearRestrictor;
use crate::hardware::vent::gas_volume_flow_rate;
use crate::path::{Detection, Solution};

/// A heated restrictor of a bore as the branch of a part.
fn bleed(tee: &str, name: &str, bore: &str) -> String {
    format!(
        "[[part]]\nkind = \"linear_restrictor\"\nname = \"{name}\"\nbranch_of = \"{tee}\"\ndiameter = \"{bore}\"\nlength = \"49.5 cm\"\n\
         temperature = \"100 degC\"\n"
    )
}

/// A pump of a make-up of methanol, with a key that says where it stands.
fn make_up(place: &str) -> String {
    format!(
        "[[part]]\nkind = \"modifier_pump\"\nname = \"make-up pump\"\n{place}fluid = \"methanol\"\nhead_temperature = \"20 degC\"\n\
         volume_flow_rate = \"0.1 mL/min\"\ncounted_at = \"delivery\"\n"
    )
}

fn solved(text: &str) -> Solution {
    read_method(text).unwrap().solve().unwrap()
}

fn flow(solution: &Solution, name: &str) -> f64 {
    solution.station(name).unwrap().mass_flow_rate
}

#[test]
fn a_branch_takes_what_its_restrictor_passes_from_the_pressure_at_the_tee() {
    let text = format!("{PACKED}\n{}", bleed("cell tube", "bleed", "30 um"));
    let solution = solved(&text);
    let tee = solution.station("cell tube").unwrap();
    let alone = LinearRestrictor::new(30e-6, 0.495)
        .unwrap()
        .with_temperature(373.15)
        .unwrap()
        .mass_flow_rate(tee.state.fluid(), 373.15, tee.state.pressure(), 101_325.0)
        .unwrap();
    assert!(close(flow(&solution, "bleed"), alone, 1e-9), "{alone}");
    // Nothing is lost: what enters the tee leaves it, and all ends together let out what the pump delivers.
    let column = flow(&solution, "column");
    assert!(close(tee.mass_flow_rate + alone, column, 1e-9));
    let ends = flow(&solution, "vent") + flow(&solution, "bleed");
    assert!(close(ends, flow(&solution, "pump"), 1e-12));
    assert!(close(solution.mass_flow_rate, ends, 1e-12));
    let told = solution.fact("cell tube", "share of the stream that the branch takes");
    assert!(close(told.unwrap(), alone / column, 1e-9));
    // Both ends are gas, and what leaves counts both.
    let gas = gas_volume_flow_rate(tee.state.fluid(), ends).unwrap();
    assert!(close(solution.consumption.gas_volume_flow_rate, gas, 1e-9));
    // The regulator still holds its pressure, and the rest of the path its order.
    let held = solution.station("regulator tube").unwrap();
    assert!(close(held.state.pressure(), 150e5, 1e-9));
    assert_eq!(solution.outlet().unwrap().name, "vent");
    assert_eq!(solution.branches.len(), 1);
}

/// Two ways that are alike share the stream alike, whatever the law of the restrictor.
#[test]
fn twins_share_the_stream() {
    let twin = bleed("column", "twin", "7 um");
    let solution = solved(&format!("{CAPILLARY}\n{twin}"));
    let alone = solved(CAPILLARY);
    let share = solution.fact("column", "share of the stream that the branch takes");
    assert!(close(share.unwrap(), 0.5, 1e-9), "{share:?}");
    // The column passes the flow of both, and loses more pressure for it.
    assert!(close(
        flow(&solution, "column"),
        flow(&solution, "twin"),
        1e-9
    ));
    let end = |solution: &Solution| solution.station("column").unwrap().state.pressure();
    assert!(end(&solution) < end(&alone));
}

/// A pump that holds its pressure drives the column alike with a vent before it and without, but for the drop to the tee.
#[test]
fn a_vent_before_the_column_leaves_it_its_flow() {
    let vent = bleed("transfer tube", "split vent", "15 um");
    let shorter = changed(CAPILLARY, "length = \"10 cm\"", "length = \"1e-6 cm\"");
    let (with, without) = (solved(&format!("{shorter}\n{vent}")), solved(&shorter));
    assert!(flow(&with, "split vent") > 5.0 * flow(&with, "column"));
    assert!(close(flow(&with, "column"), flow(&without, "column"), 1e-6));
    assert!(close(
        with.bands.unwrap().apparent_plate_number,
        without.bands.unwrap().apparent_plate_number,
        1e-6
    ));
}

/// A branch on a branch; every tee keeps its mass.
#[test]
fn a_branch_may_begin_on_a_branch() {
    let line = "[[part]]\nkind = \"tube\"\nname = \"transfer line\"\nbranch_of = \"cell tube\"\ndiameter = \"0.1 mm\"\nlength = \"0.5 m\"\n";
    let text = format!(
        "{PACKED}\n{}{line}{}",
        bleed("transfer line", "second", "20 um"),
        bleed("cell tube", "first", "30 um"),
    );
    let solution = solved(&text);
    let tees: Vec<_> = solution
        .branches
        .iter()
        .map(|branch| branch.tee.as_str())
        .collect();
    assert_eq!(tees, ["cell tube", "transfer line"]);
    assert!(close(
        flow(&solution, "transfer line"),
        flow(&solution, "first"),
        1e-12
    ));
    let ends: f64 = ["vent", "first", "second"]
        .iter()
        .map(|end| flow(&solution, end))
        .sum();
    assert!(close(ends, flow(&solution, "pump"), 1e-12));
}

/// A make-up joins behind the column, on the main line or on a branch: masses and enthalpies add up, and the column sees none of it.
#[test]
fn a_make_up_adds_its_mass_and_its_enthalpy() {
    let before = "[[part]]\nkind = \"tube\"\nname = \"regulator tube\"";
    let text = changed(PACKED, before, &format!("{}\n{before}", make_up("")));
    let solution = solved(&text);
    let added = solution
        .fact("make-up pump", "mass flow rate of this pump")
        .unwrap();
    let pumped = flow(&solution, "pump");
    assert!(close(flow(&solution, "vent"), pumped + added, 1e-12));
    assert_eq!(flow(&solution, "column"), pumped);
    assert_eq!(
        solution.station("column").unwrap().state.fluid().name(),
        "carbon dioxide"
    );
    let share = solution
        .station("vent")
        .unwrap()
        .modifier
        .unwrap()
        .mass_fraction;
    assert!(close(share, added / (pumped + added), 1e-9));
    let branch = format!(
        "{PACKED}\n{}{}",
        make_up("branch_of = \"cell tube\"\n"),
        regulator()
    );
    let solution = solved(&branch);
    let added = solution
        .fact("make-up pump", "mass flow rate of this pump")
        .unwrap();
    let into = solution
        .fact("cell tube", "mass flow rate into the branch")
        .unwrap();
    assert!(close(
        flow(&solution, "second regulator"),
        into + added,
        1e-9
    ));
    let ends = flow(&solution, "second regulator") + flow(&solution, "vent");
    assert!(close(ends, flow(&solution, "pump") + added, 1e-9));
}

/// A tube and a regulator that follow a make-up on a branch.
fn regulator() -> String {
    "[[part]]\nkind = \"tube\"\nname = \"narrow tube\"\nbranch_of = \"cell tube\"\ndiameter = \"0.1 mm\"\nlength = \"0.5 m\"\n\
     [[part]]\nkind = \"back_pressure_regulator\"\nname = \"second regulator\"\nbranch_of = \"cell tube\"\npressure = \"140 bar\"\n\
     outlet_temperature = \"60 degC\"\n"
        .to_owned()
}

#[test]
fn what_is_no_branch_is_refused() {
    let packed = |parts: &str| format!("{PACKED}\n{parts}");
    let tube = "[[part]]\nkind = \"tube\"\nname = \"lost\"\nbranch_of = \"cell tube\"\ndiameter = \"0.1 mm\"\nlength = \"1 m\"\n";
    let cell = "[[part]]\nkind = \"injector\"\nname = \"lost\"\nbranch_of = \"cell tube\"\nloop_volume = \"1 uL\"\ndrawn_volume = \"3 uL\"\n";
    for (text, word) in [
        (packed(tube), "has no part that holds the pressure"),
        (
            packed(&bleed("nowhere", "bleed", "30 um")),
            "names \"nowhere\"",
        ),
        // Behind the regulator there is no pressure to drive a branch, and no loop may close.
        (packed(&bleed("vent", "bleed", "30 um")), "names \"vent\""),
        (packed(&bleed("bleed", "bleed", "30 um")), "names \"bleed\""),
        (packed(cell), "cannot stand in a branch"),
        (
            changed(
                &packed(&bleed("pump", "bleed", "30 um")),
                "name = \"mixer\"",
                "name = \"joint\"",
            ),
            "names \"pump\"",
        ),
    ] {
        let error = read_method(&text).unwrap_err();
        assert_eq!(error.code(), 606, "{error}");
        assert!(error.to_string().contains(word), "{error}");
    }
    let deep = [
        bleed("cell tube", "one", "10 um"),
        bleed("injector tube", "two", "10 um"),
    ];
    assert!(read_method(&packed(&deep.concat())).is_ok());
    let tubes = [("cell tube", "a"), ("a", "b"), ("b", "c")].map(|(tee, name)| {
        let tube = tube.replace("lost", name);
        format!(
            "{}{}",
            tube.replace("cell tube", tee),
            bleed(tee, &format!("end of {name}"), "10 um")
        )
    });
    let error = read_method(&packed(&tubes.concat())).unwrap_err();
    assert!(
        error.to_string().contains("no branch can begin there"),
        "{error}"
    );
    let column = "[[part]]\nkind = \"packed_column\"";
    let late = changed(PACKED, column, &format!("{}\n{column}", make_up("")));
    assert_eq!(read_method(&late).unwrap_err().code(), 606);
    // A bore that would let all through that arrives.
    let wide = read_method(&packed(&bleed("cell tube", "bleed", "300 um"))).unwrap();
    let error = wide.solve().unwrap_err();
    assert_eq!((error.code(), error.root().code()), (590, 402), "{error}");
    assert!(error.to_string().contains("cell tube"), "{error}");
}

/// A document may put a column on a branch; what has none behind the injector, or a make-up before it, is refused.
#[test]
fn a_column_may_stand_on_a_branch() {
    let column = "[[part]]\nkind = \"packed_column\"\nname = \"second column\"\nbranch_of = \"cell tube\"\nlength = \"5 cm\"\n\
                  diameter = \"4.6 mm\"\nparticle_diameter = \"5 um\"\ninterparticle_porosity = 0.4\ntotal_porosity = 0.7\n";
    let text = format!("{PACKED}\n{column}{}", bleed("cell tube", "bleed", "20 um"));
    let solution = solved(&text);
    let names: Vec<_> = solution
        .columns
        .iter()
        .map(|one| one.name.as_str())
        .collect();
    assert_eq!(names, ["column", "second column"]);
    let [first, second] =
        ["UV cell", "bleed"].map(|at| &solution.detection(at).unwrap().bands_of_solutes[0]);
    assert!(second.retention_time > first.retention_time);
    let diluted = format!(
        "{PACKED}\n{}{column}{}",
        make_up("branch_of = \"cell tube\"\n"),
        bleed("cell tube", "bleed", "20 um")
    );
    let error = read_method(&diluted).unwrap_err();
    assert!(
        error.to_string().contains("cannot stand behind a make-up"),
        "{error}"
    );
}

/// The parts behind "bleed" on a branch at the tube to the cell.
fn behind(kind: &str, keys: &str) -> String {
    format!("[[part]]\nkind = \"{kind}\"\nname = \"{kind}\"\nbranch_of = \"cell tube\"\n{keys}\n")
}

/// A flame at the end of a branch records a chromatogram of its own.
#[test]
fn a_detector_on_a_branch_has_a_chromatogram_of_its_own() {
    let text = format!(
        "{PACKED}\n{}{}",
        bleed("cell tube", "bleed", "30 um"),
        behind("gas_detector", "detector = \"flame_ionisation\""),
    );
    let method = read_method(&text).unwrap();
    let solution = method.solve().unwrap();
    let flame = solution.detection("gas_detector").unwrap();
    let cell = solution.detection("UV cell").unwrap();
    let share = solution.fact("cell tube", "share of the stream that the branch takes");
    assert!(close(flame.injected_share, share.unwrap(), 1e-12));
    assert!(close(
        flame.injected_share + cell.injected_share,
        1.0,
        1e-12
    ));
    let last = |at: &Detection| at.bands_of_solutes[0].rows.last().unwrap().part.clone();
    assert_eq!(
        (last(flame).as_str(), last(cell).as_str()),
        ("bleed", "UV cell")
    );
    let record = |method: &Method, at: &str| method.chromatogram_at(at, [], 0.0, 300.0, 10.0);
    let mean = |method: &Method| record(method, "gas_detector").unwrap().peaks[0].peak.mean();
    assert_eq!(mean(&method), flame.bands_of_solutes[0].time);
    assert_eq!(record(&method, "vent").unwrap_err().code(), 104);
    let program = "[[program]]\npart = \"regulator\"\nkey = \"pressure\"\ntime = [\"0 s\", \"300 s\"]\nvalue = [\"150 bar\", \"160 bar\"]\n";
    let programmed = read_method(&format!("{text}\n{program}")).unwrap();
    assert!(mean(&programmed) < mean(&method));
}

/// A tube in gas before a flame, at the end of a branch.
fn in_gas() -> String {
    format!(
        "{PACKED}\n{}{}{}",
        bleed("cell tube", "bleed", "30 um"),
        behind("tube", "diameter = \"0.5 mm\"\nlength = \"5 cm\""),
        behind("gas_detector", "detector = \"flame_ionisation\""),
    )
}

/// The law of Wilke and Chang ends in gas: the time of the band in a tube there is told, its width is not.
#[test]
fn a_band_in_gas_has_a_time_and_no_width() {
    let solution = solved(&in_gas());
    let flame = solution.detection("gas_detector").unwrap();
    let row = flame.bands_of_solutes[0].rows.last().unwrap();
    // The gas thins out along the tube.
    let volume = 0.05 * std::f64::consts::PI * 0.25 * 0.5e-3 * 0.5e-3;
    let time = |name: &str| {
        let station = solution.station(name).unwrap();
        volume * station.state.density() / station.mass_flow_rate
    };
    assert!(time("tube") < row.time && row.time < time("bleed"));
    assert!(row.time_variance.is_nan() && flame.bands_of_solutes[0].time.is_finite());
    assert_eq!(
        flame.chromatogram([], 0.0, 300.0, 10.0).unwrap_err().code(),
        101
    );
    let told = |notice: &Notice| notice.code == NoticeCode::Unknown && notice.station == "tube";
    assert!(solution.notices.iter().any(told));
    let cell = solution.detection("UV cell").unwrap();
    assert!(cell.bands_of_solutes[0].time_variance > 0.0);
}

/// With its mass and diffusion volume the solute spreads in gas as Taylor and Aris say, by the law of Fuller.
#[test]
fn a_solute_known_as_a_gas_has_a_width_there() {
    let known = "[solute]\nmolar_mass = \"128.17 g/mol\"\ndiffusion_volume = \"140.88 cm3/mol\"";
    let text = changed(&in_gas(), "[solute]", known);
    let method = read_method(&text).unwrap();
    let solution = method.solve().unwrap();
    let flame = solution.detection("gas_detector").unwrap();
    let bands = &flame.bands_of_solutes[0];
    let row = bands.rows.iter().find(|row| row.part == "tube").unwrap();
    let (state, u) = {
        let station = solution.station("tube").unwrap();
        (station.state.clone(), 0.05 / row.time)
    };
    let molecule = method.path.solutes[0].in_gas.unwrap();
    let d = state.gas_diffusion_coefficient(molecule).unwrap();
    let shear = 0.5e-3 * u;
    let dispersion = d + shear * shear / (192.0 * d);
    let expected = 2.0 * dispersion * 0.05 / u.powi(3);
    // The velocity is that of the mean density, the coefficient that of the end; entry and end shorten it a little.
    assert!(
        close(row.time_variance, expected, 0.1),
        "{} {expected}",
        row.time_variance
    );
    assert!(bands.time_variance.is_finite());
    assert!(flame.chromatogram([], 0.0, 300.0, 10.0).is_ok());
    let unknown = |notice: &Notice| notice.code == NoticeCode::Unknown && notice.station == "tube";
    assert!(!solution.notices.iter().any(unknown));
    // The other detector, before the gas, sees what it saw.
    let before = solved(&in_gas());
    let cell =
        |solution: &Solution| solution.detection("UV cell").unwrap().bands_of_solutes[0].clone();
    assert_eq!(cell(&before), cell(&solution));
    let lacking = changed(
        &in_gas(),
        "[solute]",
        "[solute]\ndiffusion_volume = \"140.88 cm3/mol\"",
    );
    assert!(
        read_method(&lacking)
            .unwrap_err()
            .to_string()
            .contains("molar_mass")
    );
}
