//! Bands along branches, what they carry of the injected amount, and what branches store while settings change.

use std::f64::consts::FRAC_PI_4;

use super::march::{Pass, all_passes};
use super::tests::{DENSITIES, close, line, naphthalene, packed};
use super::{BandBudget, Detection, Part, Path, ProgrammedRun, Setting, Solution};
use crate::flow::recording::moments;
use crate::fluid;
use crate::fluid::units::{BAR, MILLILITRE_PER_MINUTE, from_celsius};
use crate::fluid::{Fluid, NoticeCode};
use crate::hardware::*;

const ROOM: Thermal = Thermal::Isothermal {
    temperature: 295.15,
};

/// A heated restrictor of a bore in um.
fn bleed(name: &str, micrometres: f64) -> Part {
    let restrictor = LinearRestrictor::new(micrometres * 1e-6, 0.4)
        .and_then(|restrictor| restrictor.with_temperature(from_celsius(100.0)));
    Part::new(name, restrictor.unwrap())
}

fn cell(name: &str) -> Part {
    let cell = DetectorCell::new(4e-9)
        .and_then(|cell| cell.with_divisor(3.0))
        .and_then(|cell| cell.with_time_constant(0.05));
    Part::new(name, cell.unwrap())
}

fn regulator(name: &str, bar: f64) -> Part {
    let regulator = BackPressureRegulator::new(bar * BAR)
        .and_then(|regulator| regulator.with_outlet_temperature(from_celsius(10.0)));
    Part::new(name, regulator.unwrap())
}

/// Two solutes, and a branch at the outlet of a part.
fn branched(tee: &str, branch: &[Part]) -> Path {
    let mut path = packed(CountedAt::Delivery);
    let retained = Retention::log_linear_in_density(5.5, 7e-3, DENSITIES).unwrap();
    path.solutes.push(Solute {
        name: "early".to_owned(),
        ..naphthalene(retained)
    });
    for part in &mut path.parts {
        if part.name == tee {
            part.branch = branch.to_vec();
        }
    }
    path
}

/// The parts of a line behind a splitter: a tube, a cell, what holds the pressure.
fn to_a_cell(name: &str, end: Part) -> Vec<Part> {
    let tube = line(&format!("tube to {name}"), 0.1e-3, 0.6, ROOM);
    vec![tube, cell(name), end]
}

fn same(one: &BandBudget, other: &BandBudget, relative: f64) {
    assert_eq!(one.rows.len(), other.rows.len());
    for (one, other) in one.rows.iter().zip(&other.rows) {
        assert_eq!(one.part, other.part);
        close(one.time, other.time, relative);
        close(one.time_variance, other.time_variance, relative);
    }
    close(one.time_variance, other.time_variance, relative);
    close(one.retention_time, other.retention_time, relative);
}

/// Whichever of two lines behind a splitter is called the branch, each has the same flow, and the same band at its detector.
#[test]
fn a_branch_does_to_the_band_what_its_parts_do_on_the_main_line() {
    let side = || to_a_cell("side cell", bleed("bleed", 25.0));
    let whole = || to_a_cell("main cell", regulator("regulator", 150.0));
    let split = |main: Vec<Part>, branch: Vec<Part>| {
        let mut path = branched("line to the cell", &branch);
        path.parts.truncate(6);
        path.parts.extend(main);
        path.solve().unwrap()
    };
    let (one, other) = (split(whole(), side()), split(side(), whole()));
    for name in ["main cell", "side cell"] {
        let (at_one, at_other) = (one.detection(name).unwrap(), other.detection(name).unwrap());
        assert_ne!(at_one.branch_of, at_other.branch_of);
        close(at_one.injected_share, at_other.injected_share, 1e-9);
        close(at_one.volume_flow_rate, at_other.volume_flow_rate, 1e-9);
        assert_eq!(at_one.bands_of_solutes.len(), 2);
        for (one, other) in at_one
            .bands_of_solutes
            .iter()
            .zip(&at_other.bands_of_solutes)
        {
            same(one, other, 1e-9);
        }
    }
    let passes = |solution: &Solution| {
        let mut all: Vec<_> = all_passes(&solution.passes).into_iter().cloned().collect();
        all.sort_by(|one, other| one.name.cmp(&other.name));
        all
    };
    for (one, other) in passes(&one).iter().zip(&passes(&other)) {
        assert!(
            (one.outlet.hold_up_time - other.outlet.hold_up_time).abs()
                <= 1e-9 * one.outlet.hold_up_time
        );
    }
    // Both see the band of the column, and each widens it by its own flow.
    let variance = |name: &str, part: &str| {
        let bands = &one.detection(name).unwrap().bands_of_solutes[0];
        bands
            .rows
            .iter()
            .find(|row| row.part == part)
            .map(|row| row.time_variance)
    };
    assert_eq!(
        variance("main cell", "column"),
        variance("side cell", "column")
    );
    assert!(variance("side cell", "side cell") > variance("main cell", "main cell"));
    assert_eq!(variance("side cell", "main cell"), None);
}

/// The second solute is followed along a branch as if it were the first, and from the inlets that the first found.
#[test]
fn every_solute_has_the_budget_along_a_branch_that_it_has_alone() {
    let path = branched("cell", &to_a_cell("side cell", bleed("bleed", 25.0)));
    let mut alone = path.clone();
    alone.solutes.remove(0);
    let (both, alone) = (path.solve().unwrap(), alone.solve().unwrap());
    for name in ["cell", "side cell"] {
        let (both, alone) = (
            both.detection(name).unwrap(),
            alone.detection(name).unwrap(),
        );
        assert_eq!(both.bands_of_solutes[1], alone.bands_of_solutes[0]);
    }
}

/// A splitter behind a cell: the band passes the cell's whole volume, and neither the window nor the electronics of its detector.
#[test]
fn a_band_passes_a_detector_on_its_way_to_the_next() {
    let solution = branched("cell", &to_a_cell("side cell", bleed("bleed", 25.0)))
        .solve()
        .unwrap();
    let row = |name: &str| {
        let bands = &solution.detection(name).unwrap().bands_of_solutes[0];
        bands
            .rows
            .iter()
            .find(|row| row.part == "cell")
            .unwrap()
            .clone()
    };
    let (recorded, passed) = (row("cell"), row("side cell"));
    let time = 8e-9 / solution.detection("cell").unwrap().volume_flow_rate;
    close(recorded.time, 0.5 * time + 0.1, 1e-12);
    close(recorded.time_variance, time * time / 12.0 + 0.01, 1e-12);
    close(passed.time, time, 1e-12);
    assert_eq!(passed.time_variance, 0.0);
    assert_eq!(
        solution.bands_of_solutes,
        solution.detection("cell").unwrap().bands_of_solutes
    );
}

/// What of the injected amount leaves at the end of each line.
fn ends(solution: &Solution) -> Vec<f64> {
    let lines = solution.branches.iter().map(|branch| &branch.stations);
    let last = std::iter::once(&solution.stations).chain(lines);
    last.map(|stations| stations.last().unwrap().injected_share.unwrap())
        .collect()
}

/// A split vent before the column, a branch with a branch behind it: all that was injected leaves at some end.
#[test]
fn what_is_injected_leaves_at_the_ends() {
    let mut first = to_a_cell("first cell", bleed("first bleed", 20.0));
    first[0] = first[0]
        .clone()
        .with_branch(to_a_cell("second cell", bleed("second bleed", 15.0)));
    let mut path = branched("line to the cell", &first);
    path.parts[2] = path.parts[2]
        .clone()
        .with_branch(vec![bleed("split vent", 30.0)]);
    path.parts[0] = path.parts[0]
        .clone()
        .with_branch(vec![bleed("purge", 15.0)]);
    let solution = path.solve().unwrap();
    let purge = solution
        .branches
        .iter()
        .position(|branch| branch.tee == "mixer")
        .unwrap();
    // Nothing of the sample goes where the stream parts before the injector.
    assert_eq!(solution.branches[purge].stations[0].injected_share, None);
    let mut with_sample = solution.clone();
    with_sample.branches.remove(purge);
    let shares = ends(&with_sample);
    assert_eq!(shares.len(), 4);
    assert!(
        (shares.iter().sum::<f64>() - 1.0).abs() < 1e-12,
        "{shares:?}"
    );
    assert!(shares.iter().all(|share| *share > 0.0));
    let names: Vec<_> = solution
        .detections
        .iter()
        .map(|one| one.part.as_str())
        .collect();
    assert_eq!(names, ["cell", "split vent", "first cell", "second cell"]);
    // The band that leaves before the column has no retention to tell, and makes no chromatogram.
    let vent = solution.detection("split vent").unwrap();
    assert!(vent.bands_of_solutes.is_empty());
    assert_eq!(
        vent.chromatogram([], 0.0, 10.0, 10.0).unwrap_err().code(),
        104
    );
    // What the records hold of each solute is what was injected, less what left by the vent.
    let recorded = |at: &Detection| {
        let record = at
            .chromatogram([at.injected_share, 0.0], 0.0, 400.0, 50.0)
            .unwrap();
        moments(&record.signal, &record.sampling).unwrap().area
    };
    let cells = solution
        .detections
        .iter()
        .filter(|at| !at.bands_of_solutes.is_empty());
    close(cells.map(recorded).sum(), 1.0 - vent.injected_share, 1e-9);
}

/// Concentration, as the area under it of an injected amount: a splitter leaves it, a make-up dilutes it by the flow that it adds.
#[test]
fn a_splitter_leaves_the_concentration_and_a_make_up_dilutes_it() {
    let area = |at: &Detection, solution: &Solution| {
        let density = solution.station(&at.part).unwrap().state.density();
        at.injected_share / (at.volume_flow_rate * density)
    };
    let plain = branched(
        "line to the cell",
        &to_a_cell("side cell", bleed("bleed", 25.0)),
    );
    let solution = plain.solve().unwrap();
    let areas: Vec<f64> = solution
        .detections
        .iter()
        .map(|at| area(at, &solution))
        .collect();
    close(areas[0], areas[1], 1e-12);
    let flow = SetFlow::Volume(0.02 * MILLILITRE_PER_MINUTE, CountedAt::Delivery);
    let pump = ReciprocatingPump::new(from_celsius(20.0), flow).unwrap();
    let make_up = ModifierPump::new(Fluid::new("acetone").unwrap(), pump).unwrap();
    let mut branch = to_a_cell("side cell", regulator("side regulator", 145.0));
    branch.insert(0, line("narrow tube", 0.1e-3, 0.3, ROOM));
    branch.insert(1, Part::new("make-up pump", make_up));
    let solution = branched("line to the cell", &branch).solve().unwrap();
    let areas: Vec<f64> = solution
        .detections
        .iter()
        .map(|at| area(at, &solution))
        .collect();
    let flow = |name: &str| solution.station(name).unwrap().mass_flow_rate;
    let diluted = flow("narrow tube") / flow("make-up pump");
    assert!(diluted < 0.99);
    close(areas[1] / areas[0], diluted, 1e-12);
    let bands = &solution.detection("side cell").unwrap().bands_of_solutes[0];
    assert!(!bands.rows.iter().any(|row| row.part == "make-up pump"));
}

fn run(settings: [(f64, Path); 2]) -> fluid::Result<ProgrammedRun> {
    let settings = settings
        .into_iter()
        .map(|(time, path)| Setting { time, path });
    ProgrammedRun::new(settings.collect())
}

#[test]
fn a_program_that_changes_nothing_has_the_steady_band_on_a_branch() {
    let path = branched("cell", &to_a_cell("side cell", bleed("bleed", 25.0)));
    let steady = path.solve().unwrap();
    let run = run([(0.0, path.clone()), (60.0, path)]).unwrap();
    for (band, budget) in run
        .bands_at("side cell")
        .unwrap()
        .iter()
        .zip(&steady.detection("side cell").unwrap().bands_of_solutes)
    {
        close(band.recorded.time, budget.time, 1e-6);
        close(band.recorded.time_variance, budget.time_variance, 1e-5);
    }
    let record = run
        .chromatogram_at("side cell", [2.0, 3.0], 0.0, 300.0, 20.0)
        .unwrap();
    close(
        moments(&record.signal, &record.sampling).unwrap().area,
        5.0,
        1e-9,
    );
    assert_eq!(run.bands_at("side").unwrap_err().code(), 104);
}

/// A regulator at a pressure, and a wide tube before a restrictor on a branch.
fn with_a_wide_branch(bar: f64) -> Path {
    let wide = line("wide tube", 4e-3, 1.0, ROOM);
    let mut path = branched("line to the cell", &[wide, bleed("bleed", 10.0)]);
    path.parts[8] = regulator("regulator", bar);
    path
}

/// Mass in kg in a passage: that along its bore by the trapezoids of its profile, or that of a volume at its outlet.
fn filled(pass: &Pass, area: f64, volume: f64) -> f64 {
    let along = pass.outlet.profile.windows(2).map(|two| {
        let length = two[1].position - two[0].position;
        0.5 * (two[0].density + two[1].density) * length * area
    });
    along.sum::<f64>() + volume * pass.outlet.stream.state.density()
}

/// The open area in m2 and the volume without length in m3 of a part of the path above.
fn geometry(name: &str) -> (f64, f64) {
    let bore = |diameter: f64| (FRAC_PI_4 * diameter * diameter, 0.0);
    match name {
        "mixer" => (0.0, 200e-9),
        "loop" => (0.0, 10e-9),
        "cell" => (0.0, 8e-9),
        "column" => (0.7 * FRAC_PI_4 * 4.6e-3 * 4.6e-3, 0.0),
        "line to the regulator" => bore(0.25e-3),
        "wide tube" => bore(4e-3),
        "regulator" | "bleed" => (0.0, 0.0),
        _ => bore(0.17e-3),
    }
}

/// The mass that the instrument takes up from 120 to 180 bar is the integral of the density over all volumes on the dense side.
#[test]
fn what_a_branch_stores_is_counted() {
    let run = run([
        (0.0, with_a_wide_branch(120.0)),
        (600.0, with_a_wide_branch(180.0)),
    ])
    .unwrap();
    let balance: Vec<f64> = run
        .solutions()
        .map(|(_, solution)| {
            let passes = all_passes(&solution.passes).into_iter();
            let before =
                passes.filter(|pass| !["regulator", "bleed"].contains(&pass.name.as_str()));
            before
                .map(|pass| {
                    let (area, volume) = geometry(&pass.name);
                    filled(pass, area, if area > 0.0 { 0.0 } else { volume })
                })
                .sum()
        })
        .collect();
    let points = run.history().unwrap();
    for (point, balance) in points.iter().zip(&balance) {
        close(point.stored_mass, *balance, 1e-6);
    }
    let gained = points[1].stored_mass - points[0].stored_mass;
    close(gained, balance[1] - balance[0], 1e-5);
    close(points[1].storage_mass_flow_rate * 600.0, gained, 1e-12);
    // Most of it lies in the branch.
    let wide = FRAC_PI_4 * 4e-3 * 4e-3;
    assert!(wide * 1.0 * 850.0 > 0.7 * points[0].stored_mass);
}

#[test]
fn a_branch_that_takes_up_what_the_pump_delivers_is_told_and_refused() {
    let in_time = |seconds| {
        run([
            (0.0, with_a_wide_branch(120.0)),
            (seconds, with_a_wide_branch(180.0)),
        ])
    };
    let notices = in_time(60.0).unwrap().notices();
    assert_eq!(notices[0].code, NoticeCode::Unsteady);
    assert_eq!(in_time(5.0).unwrap_err().code(), 505);
    // A regulator on the branch is set as that of the main line is.
    let held = |bar: f64| {
        let narrow = line("narrow tube", 0.05e-3, 1.0, ROOM);
        let wide = line("wide tube", 4e-3, 1.0, ROOM);
        branched(
            "line to the cell",
            &[narrow, wide, regulator("side regulator", bar)],
        )
    };
    assert_eq!(
        run([(0.0, held(100.0)), (5.0, held(140.0))])
            .unwrap_err()
            .code(),
        505
    );
    assert!(
        run([(0.0, held(100.0)), (600.0, held(140.0))])
            .unwrap()
            .notices()
            .is_empty()
    );
}

#[test]
fn a_program_with_another_branch_at_its_points_is_refused() {
    let plain = branched("line to the cell", &[]);
    let split = branched("line to the cell", &[bleed("bleed", 10.0)]);
    let renamed = branched("line to the cell", &[bleed("vent", 10.0)]);
    for (one, other) in [(plain, split.clone()), (split, renamed)] {
        assert_eq!(run([(0.0, one), (60.0, other)]).unwrap_err().code(), 606);
    }
}
