//! Columns on branches: two of them side by side, or one behind a splitter behind another.

use super::tests::{DENSITIES, close, line, naphthalene, packed};
use super::{BandBudget, Part, Path, ProgrammedRun, Setting, Solution};
use crate::fluid::NoticeCode;
use crate::fluid::units::{BAR, from_celsius};
use crate::hardware::*;

const OVEN: Thermal = Thermal::Isothermal {
    temperature: 313.15,
};

/// A packed column of a length in m.
fn column(name: &str, length: f64) -> Part {
    let column = PackedColumn::new(4.6e-3, length, 5e-6, 0.4, 0.7)
        .and_then(|column| column.with_thermal(OVEN));
    Part::new(name, column.unwrap())
}

/// An open capillary of a length in m.
fn open(name: &str, length: f64) -> Part {
    let column = OpenTubularColumn::new(50e-6, length, 0.25e-6, 1e-10)
        .and_then(|column| column.with_thermal(OVEN));
    Part::new(name, column.unwrap())
}

fn cell(name: &str) -> Part {
    Part::new(name, DetectorCell::new(8e-9).unwrap())
}

fn regulator(name: &str, bar: f64) -> Part {
    let regulator = BackPressureRegulator::new(bar * BAR)
        .and_then(|regulator| regulator.with_outlet_temperature(from_celsius(10.0)));
    Part::new(name, regulator.unwrap())
}

fn restrictor(name: &str, micrometres: f64) -> Part {
    let restrictor = LinearRestrictor::new(micrometres * 1e-6, 0.4)
        .and_then(|restrictor| restrictor.with_temperature(from_celsius(100.0)));
    Part::new(name, restrictor.unwrap())
}

/// A main line and a branch behind the preheater, with two solutes.
fn split(main: Vec<Part>, branch: Vec<Part>) -> Path {
    let mut path = packed(CountedAt::Delivery);
    let retained = Retention::log_linear_in_density(5.5, 7e-3, DENSITIES).unwrap();
    path.solutes.push(Solute {
        name: "early".to_owned(),
        ..naphthalene(retained)
    });
    path.parts.truncate(4);
    let preheater = path.parts.pop().unwrap();
    path.parts.push(preheater.with_branch(branch));
    path.parts.extend(main);
    path
}

/// A column, a cell and what holds the pressure.
fn way(column: Part, end: Part) -> Vec<Part> {
    let name = format!("cell of {}", column.name);
    vec![column, cell(&name), end]
}

fn bands<'a>(solution: &'a Solution, place: &str) -> &'a [BandBudget] {
    &solution.detection(place).unwrap().bands_of_solutes
}

fn flow(solution: &Solution, name: &str) -> f64 {
    solution.station(name).unwrap().mass_flow_rate
}

/// Two that are alike share the flow and have the same bands, each that of one column with half the flow.
#[test]
fn twin_columns_share_the_stream_and_the_sample() {
    let solution = split(
        way(column("one", 0.1), restrictor("restrictor", 60.0)),
        way(column("other", 0.1), restrictor("twin", 60.0)),
    )
    .solve()
    .unwrap();
    let names: Vec<&str> = solution
        .columns
        .iter()
        .map(|one| one.name.as_str())
        .collect();
    assert_eq!(names, ["one", "other"]);
    let [one, other] = &solution.columns[..] else {
        panic!("two columns")
    };
    close(other.pressure_drop, one.pressure_drop, 1e-7);
    close(other.hold_up_time, one.hold_up_time, 1e-8);
    assert_eq!(other.profile.len(), one.profile.len());
    close(
        flow(&solution, "one") + flow(&solution, "other"),
        flow(&solution, "pump"),
        1e-12,
    );
    close(flow(&solution, "other"), flow(&solution, "one"), 1e-8);
    for (one, other) in bands(&solution, "cell of one")
        .iter()
        .zip(bands(&solution, "cell of other"))
    {
        close(other.retention_time, one.retention_time, 1e-8);
        close(other.time_variance, one.time_variance, 1e-8);
        assert!(other.rows.iter().any(|row| row.part == "other"));
        assert!(!other.rows.iter().any(|row| row.part == "one"));
    }
    let shares =
        ["cell of one", "cell of other"].map(|at| solution.detection(at).unwrap().injected_share);
    close(shares[0], 0.5, 1e-8);
    close(shares.iter().sum(), 1.0, 1e-12);
}

/// Whichever of two unlike columns is called the branch, each has the same flow, profile and bands.
#[test]
fn a_column_does_on_a_branch_what_it_does_on_the_main_line() {
    let packed = || way(column("packed", 0.15), regulator("regulator", 150.0));
    let capillary = || way(open("open", 5.0), restrictor("restrictor", 15.0));
    let one = split(packed(), capillary()).solve().unwrap();
    let other = split(capillary(), packed()).solve().unwrap();
    for name in ["packed", "open"] {
        let of = |solution: &Solution| {
            let found = solution.columns.iter().find(|column| column.name == name);
            found.unwrap().clone()
        };
        let (at_one, at_other) = (of(&one), of(&other));
        close(at_one.pressure_drop, at_other.pressure_drop, 1e-6);
        close(at_one.mean_density(), at_other.mean_density(), 1e-9);
        close(at_one.hold_up_time, at_other.hold_up_time, 1e-8);
        close(flow(&one, name), flow(&other, name), 1e-8);
        let place = format!("cell of {name}");
        assert_eq!(bands(&one, &place).len(), 2);
        for (one, other) in bands(&one, &place).iter().zip(bands(&other, &place)) {
            close(one.retention_time, other.retention_time, 1e-8);
            close(one.column_plate_number, other.column_plate_number, 1e-8);
            close(one.time_variance, other.time_variance, 1e-8);
        }
    }
    let ends = flow(&one, "regulator") + flow(&one, "restrictor");
    close(ends, flow(&one, "pump"), 1e-8);
}

/// A second column behind a splitter adds its retention to that of the first.
#[test]
fn a_column_behind_a_splitter_adds_to_the_one_before() {
    let mut path = packed(CountedAt::Delivery);
    let branch = way(column("second", 0.05), restrictor("bleed", 20.0));
    path.parts[5] = path.parts[5].clone().with_branch(branch);
    let solution = path.solve().unwrap();
    let (main, side) = (
        &bands(&solution, "cell")[0],
        &bands(&solution, "cell of second")[0],
    );
    let row = |name: &str| {
        side.rows
            .iter()
            .find(|row| row.part == name)
            .unwrap()
            .clone()
    };
    close(
        side.retention_time,
        main.retention_time + row("second").time,
        1e-12,
    );
    let holds: f64 = solution
        .columns
        .iter()
        .map(|column| column.hold_up_time)
        .sum();
    close(side.hold_up_time, holds, 1e-12);
    let variance = row("column").time_variance + row("second").time_variance;
    close(
        side.column_plate_number,
        side.retention_time.powi(2) / variance,
        1e-12,
    );
    assert!(row("second").time > solution.columns[1].hold_up_time);
}

/// What a column on a branch stores is counted, and the bands through both are followed while settings change.
#[test]
fn a_program_counts_the_column_on_a_branch() {
    let at = |bar: f64| {
        split(
            way(column("one", 0.1), regulator("regulator", bar)),
            way(column("other", 0.25), restrictor("restrictor", 15.0)),
        )
    };
    let settings = [(0.0, 130.0), (600.0, 160.0)].map(|(time, bar)| Setting {
        time,
        path: at(bar),
    });
    let run = ProgrammedRun::new(settings.to_vec()).unwrap();
    let points = run.history().unwrap();
    let solutions: Vec<&Solution> = run.solutions().map(|(_, solution)| solution).collect();
    for (point, solution) in points.iter().zip(&solutions) {
        let bed = |name: &str| {
            let pass = solution
                .columns
                .iter()
                .find(|column| column.name == name)
                .unwrap();
            flow(solution, name) * pass.hold_up_time
        };
        let columns = bed("one") + bed("other");
        assert!(point.stored_mass > columns && columns > 0.9 * point.stored_mass);
        assert!(bed("other") > 2.4 * bed("one"));
    }
    let gained = points[1].stored_mass - points[0].stored_mass;
    close(points[1].storage_mass_flow_rate * 600.0, gained, 1e-12);
    for name in ["one", "other"] {
        let place = format!("cell of {name}");
        let followed = run.bands_at(&place).unwrap();
        let (from, to) = (bands(solutions[0], &place), bands(solutions[1], &place));
        for (band, (from, to)) in followed.iter().zip(from.iter().zip(to)) {
            // The pressure rises all the while: the band is sooner than at that of the start, and later than at that of the end.
            let recorded = band.recorded.time;
            assert!(to.time < recorded && recorded < from.time);
            let [passage] = &band.columns[..] else {
                panic!("one column")
            };
            assert_eq!(passage.column, name);
        }
    }
    assert!(
        run.notices()
            .iter()
            .all(|notice| notice.code != NoticeCode::Unsteady)
    );
}

#[test]
fn what_needs_a_column_on_the_main_line_says_so() {
    let tube = line("by-pass", 0.1e-3, 1.0, OVEN);
    let main = vec![tube, restrictor("restrictor", 15.0)];
    let side = || way(column("other", 0.1), regulator("regulator", 140.0));
    let path = split(main, side());
    let solution = path.solve().unwrap();
    assert!(solution.bands.is_none());
    assert_eq!(solution.columns[0].name, "other");
    assert!(bands(&solution, "cell of other")[0].retention_time > 0.0);
    // What a run takes is asked for any column.
    let cycle = solution.cycle(&super::CyclePlan::of(600.0)).unwrap();
    close(cycle.column_time, solution.columns[0].hold_up_time, 1e-12);
    let mut counted = path.clone();
    counted.source.pump = packed(CountedAt::Oven).source.pump;
    assert_eq!(counted.solve().unwrap_err().code(), 606);
}
