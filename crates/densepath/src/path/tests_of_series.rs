//! Programmed runs through several columns: one behind the other, behind pumps that join between them, and behind tees.

use super::tests::{DENSITIES, close, line, modified, naphthalene, packed};
use super::{BandRow, CyclePlan, Part, Path, ProgrammedBand, ProgrammedRun, Setting, Solution};
use crate::flow::retention::{FittedBox, ModifierBasis, RetentionLaw, Term};
use crate::fluid::units::{BAR, MILLILITRE_PER_MINUTE, from_celsius};
use crate::fluid::{Fluid, State};
use crate::hardware::*;

const ROOM: Thermal = Thermal::Isothermal {
    temperature: 295.15,
};

/// A column of a length in m and particles in um, in an oven at a temperature in degC.
fn column(name: &str, length: f64, micrometres: f64, celsius: f64) -> Part {
    let oven = Thermal::Isothermal {
        temperature: from_celsius(celsius),
    };
    let column = PackedColumn::new(4.6e-3, length, micrometres * 1e-6, 0.4, 0.7)
        .and_then(|column| column.with_thermal(oven));
    Part::new(name, column.unwrap())
}

/// A pump of acetone, a volume in mL/min counted at the pressure of the stream.
fn acetone(name: &str, millilitres: f64) -> Part {
    let flow = SetFlow::Volume(millilitres * MILLILITRE_PER_MINUTE, CountedAt::Delivery);
    let pump = ReciprocatingPump::new(from_celsius(22.0), flow).unwrap();
    let modifier = ModifierPump::new(Fluid::new("acetone").unwrap(), pump).unwrap();
    Part::new(name, modifier)
}

/// A heated restrictor on a branch.
fn bleed() -> Part {
    let restrictor = LinearRestrictor::new(20e-6, 0.4)
        .and_then(|restrictor| restrictor.with_temperature(from_celsius(100.0)));
    Part::new("bleed", restrictor.unwrap())
}

/// A path with other parts in place of its column.
fn with(mut path: Path, parts: Vec<Part>) -> Path {
    let place = path.parts.iter().position(|part| part.name == "column");
    let place = place.unwrap();
    path.parts.splice(place..=place, parts);
    path
}

/// The packed instrument with two solutes at a pressure in bar.
fn held(bar: f64, parts: Vec<Part>) -> Path {
    let mut path = with(packed(CountedAt::Delivery), parts);
    let early = Retention::log_linear_in_density(5.0, 7e-3, DENSITIES).unwrap();
    path.solutes.push(Solute {
        name: "early".to_owned(),
        ..naphthalene(early)
    });
    let last = path.parts.len() - 1;
    path.parts[last] = Part::new("regulator", BackPressureRegulator::new(bar * BAR).unwrap());
    path
}

/// The instrument with a modifier, whose solute it hastens: `ln k = 2 - 12 x`.
fn eluted(millilitres: f64, parts: Vec<Part>) -> Path {
    let mut path = with(modified(millilitres), parts);
    let terms = [(Term::Constant, 2.0), (Term::Modifier, -12.0)];
    let law = RetentionLaw::new(&terms, ModifierBasis::AmountFraction, FittedBox::UNLIMITED);
    path.solutes[0].retention = Retention::Law(law.unwrap());
    path
}

fn run(times: &[f64], path: impl Fn(f64) -> Path) -> ProgrammedRun {
    let settings = times.iter().map(|time| Setting {
        time: *time,
        path: path(*time),
    });
    ProgrammedRun::new(settings.collect()).unwrap()
}

/// Acetone in mL/min that rises from 0.15 to 0.45 in a minute, twenty seconds after the injection.
fn ramp(time: f64) -> f64 {
    0.15 + 0.3 * ((time - 20.0) / 60.0).clamp(0.0, 1.0)
}

const RAMP: [f64; 9] = [0.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 140.0];

fn same(one: &[ProgrammedBand], other: &[ProgrammedBand], times: f64, variances: f64) {
    assert_eq!(one.len(), other.len());
    for (one, other) in one.iter().zip(other) {
        close(one.recorded.time, other.recorded.time, times);
        close(
            one.recorded.time_variance,
            other.recorded.time_variance,
            variances,
        );
    }
}

#[test]
fn a_column_in_two_pieces_is_the_whole_one_while_the_pressure_rises() {
    let rising = |parts: fn() -> Vec<Part>| {
        run(&[0.0, 20.0, 40.0, 60.0, 80.0], |time| {
            held(120.0 + 0.75 * time, parts())
        })
    };
    let whole = rising(|| vec![column("column", 0.25, 5.0, 40.0)])
        .bands()
        .unwrap();
    let pieces = rising(|| {
        vec![
            column("first", 0.1, 5.0, 40.0),
            column("second", 0.15, 5.0, 40.0),
        ]
    });
    let pieces = pieces.bands().unwrap();
    same(&pieces, &whole, 1e-7, 1e-6);
    for band in &pieces {
        let [first, second] = &band.columns[..] else {
            panic!("two columns")
        };
        assert_eq!(
            (first.column.as_str(), second.column.as_str()),
            ("first", "second")
        );
        assert_eq!(first.leaving, second.entering);
    }
}

#[test]
fn a_column_in_two_pieces_is_the_whole_one_in_a_gradient() {
    let whole = run(&RAMP, |time| {
        eluted(ramp(time), vec![column("column", 0.25, 5.0, 40.0)])
    });
    let pieces = run(&RAMP, |time| {
        let (first, second) = (
            column("first", 0.1, 5.0, 40.0),
            column("second", 0.15, 5.0, 40.0),
        );
        eluted(ramp(time), vec![first, second])
    });
    // The variances differ by 3e-6; what makes it, beside a front that is steep in time, was not isolated.
    same(
        &pieces.bands().unwrap(),
        &whole.bands().unwrap(),
        1e-7,
        1e-5,
    );
    // It is a gradient that counts.
    let steady = eluted(0.15, vec![column("column", 0.25, 5.0, 40.0)])
        .solve()
        .unwrap();
    assert!(whole.bands().unwrap()[0].recorded.time < 0.95 * steady.bands.unwrap().time);
}

/// A cycle counts the pieces as the whole, and the longest of several ways.
#[test]
fn a_cycle_waits_for_all_columns() {
    let plan = CyclePlan::of(300.0);
    let cycle = |parts| held(150.0, parts).solve().unwrap().cycle(&plan).unwrap();
    let whole = cycle(vec![column("column", 0.25, 5.0, 40.0)]);
    let (first, second) = (
        column("first", 0.1, 5.0, 40.0),
        column("second", 0.15, 5.0, 40.0),
    );
    let pieces = cycle(vec![first, second]);
    close(pieces.column_time, whole.column_time, 1e-7);
    close(pieces.dwell_time, whole.dwell_time, 1e-7);
    let solution = tree().solve().unwrap();
    let [first, second, third] = &solution.columns[..] else {
        panic!("three columns")
    };
    let longest = second.hold_up_time.max(third.hold_up_time);
    let cycle = solution.cycle(&plan).unwrap();
    close(cycle.column_time, first.hold_up_time + longest, 1e-12);
}

/// Different beds at different temperatures, a tube between, and a third column on a branch behind the first.
fn tree() -> Path {
    let branch = vec![
        line("side tube", 0.1e-3, 0.3, ROOM),
        column("third", 0.05, 3.0, 50.0),
        Part::new("side cell", DetectorCell::new(4e-9).unwrap()),
        bleed(),
    ];
    let between = line("between", 0.12e-3, 0.4, ROOM).with_branch(branch);
    held(
        150.0,
        vec![
            column("first", 0.1, 5.0, 40.0),
            between,
            column("second", 0.15, 4.0, 60.0),
        ],
    )
}

#[test]
fn a_program_that_changes_nothing_has_the_steady_bands_of_all_columns() {
    let steady = tree().solve().unwrap();
    let run = run(&[0.0, 60.0], |_| tree());
    for (place, passed) in [
        ("cell", ["first", "second"]),
        ("side cell", ["first", "third"]),
    ] {
        let bands = run.bands_at(place).unwrap();
        let budgets = &steady.detection(place).unwrap().bands_of_solutes;
        for (band, budget) in bands.iter().zip(budgets) {
            close(band.recorded.time, budget.time, 1e-6);
            close(band.recorded.time_variance, budget.time_variance, 1e-5);
            let names: Vec<&str> = band.columns.iter().map(|one| one.column.as_str()).collect();
            assert_eq!(names, passed);
            for passage in &band.columns {
                let row = budget.rows.iter().find(|row| row.part == passage.column);
                let time = passage.leaving.time - passage.entering.time;
                close(time, row.unwrap().time, 1e-6);
            }
        }
    }
    let points = run.history().unwrap();
    let names: Vec<&str> = points[0]
        .columns
        .iter()
        .map(|ends| ends.column.as_str())
        .collect();
    assert_eq!(names, ["first", "second", "third"]);
    for (ends, column) in points[0].columns.iter().zip(&steady.columns) {
        close(ends.inlet.pressure(), column.inlet.pressure(), 1e-10);
        close(ends.outlet.density(), column.outlet.density(), 1e-8);
    }
}

fn hold_up_times<'a>(solution: &'a Solution, from: &'a str, to: &'a str) -> f64 {
    let passes = solution.passes.iter();
    let passes = passes.skip_while(|pass| pass.name != from).skip(1);
    passes
        .take_while(|pass| pass.name != to)
        .map(|pass| pass.outlet.hold_up_time)
        .sum()
}

fn modifier(state: &State) -> f64 {
    state.fluid().amount_fractions()[1]
}

fn flow(solution: &Solution, name: &str) -> f64 {
    solution.station(name).unwrap().mass_flow_rate
}

fn without_mixer(mut path: Path) -> Path {
    path.parts.retain(|part| part.name != "mixer");
    path
}

/// Behind the pump of the modifier.
fn made(solution: &Solution) -> &State {
    &solution.station("modifier pump").unwrap().state
}

/// A value at a time, straight between the points of a program.
fn straight(run: &ProgrammedRun, time: f64, of: &dyn Fn(&Solution) -> f64) -> f64 {
    let nodes: Vec<(f64, &Solution)> = run.solutions().collect();
    let next = nodes.partition_point(|(own, _)| *own <= time);
    let next = next.clamp(1, nodes.len() - 1);
    let ((from, one), (to, other)) = (nodes[next - 1], nodes[next]);
    let share = ((time - from) / (to - from)).clamp(0.0, 1.0);
    of(one) + share * (of(other) - of(one))
}

/// A step of the modifier at 10 s, with two columns and a tube between.
fn stepped() -> ProgrammedRun {
    run(&[0.0, 10.0, 10.01, 60.0], |time| {
        let parts = vec![
            column("first", 0.1, 5.0, 40.0),
            line("between", 0.17e-3, 0.4, ROOM),
            column("second", 0.15, 5.0, 60.0),
        ];
        without_mixer(eluted(if time > 10.0 { 0.45 } else { 0.15 }, parts))
    })
}

#[test]
fn a_front_reaches_the_second_column_after_all_hold_up_times() {
    let run = stepped();
    let solutions: Vec<&Solution> = run.solutions().map(|(_, solution)| solution).collect();
    let (low, high) = (modifier(made(solutions[0])), modifier(made(solutions[3])));
    for column in &run.columns {
        let dwell = hold_up_times(solutions[3], "modifier pump", &column.name);
        let passed = |after: f64| {
            let found = modifier(&column.state(0.0, 10.0 + dwell + after).unwrap());
            (found - low) / (high - low)
        };
        // The step of 0.01 s comes through as it was made.
        close(passed(0.005), 0.5, 1e-6);
        assert!(passed(-1e-6).abs() < 1e-12 && (passed(0.010001) - 1.0).abs() < 1e-12);
    }
    let dwell = |name: &str| hold_up_times(solutions[3], "modifier pump", name);
    let first = solutions[3].columns[0].hold_up_time;
    let between = hold_up_times(solutions[3], "first", "second");
    close(dwell("second"), dwell("first") + first + between, 1e-12);
    // At the end of the first column it is as far as before the tube behind it.
    let outlet = run.columns[0]
        .state(0.1, 10.005 + dwell("second") - between)
        .unwrap();
    close((modifier(&outlet) - low) / (high - low), 0.5, 1e-3);
}

/// A mixer between the columns smooths what reaches the second alone.
#[test]
fn a_mixer_between_columns_counts_for_the_later_one() {
    let volume = 500e-9;
    let run = run(&[0.0, 10.0, 10.01, 60.0], |time| {
        let mixer = Part::new("dilution", Mixer::new(volume, 0.0, ROOM).unwrap());
        let parts = vec![
            column("first", 0.1, 5.0, 40.0),
            mixer,
            column("second", 0.15, 5.0, 60.0),
        ];
        without_mixer(eluted(if time > 10.0 { 0.45 } else { 0.15 }, parts))
    });
    let solutions: Vec<&Solution> = run.solutions().map(|(_, solution)| solution).collect();
    let (low, high) = (modifier(made(solutions[0])), modifier(made(solutions[3])));
    let share = |column: usize, time: f64| {
        (modifier(&run.columns[column].state(0.0, time).unwrap()) - low) / (high - low)
    };
    let end = solutions[3];
    let dwell = hold_up_times(end, "modifier pump", "first");
    close(share(0, 10.005 + dwell), 0.5, 1e-6);
    let passed = |pass: &&super::Pass| pass.name == "dilution";
    let time_constant = end.passes.iter().find(passed).unwrap().outlet.hold_up_time;
    let dwell = dwell + end.columns[0].hold_up_time;
    for elapsed in [0.5, 1.0, 2.0, 4.0] {
        let found = share(1, 10.005 + dwell + elapsed * time_constant);
        assert!(
            (found - (1.0 - (-elapsed).exp())).abs() < 1e-3,
            "{elapsed} {found}"
        );
    }
}

/// What joins between the columns meets the composition that has come as far: masses balance at the joint at every time.
#[test]
fn a_pump_between_columns_adds_to_what_arrives_there() {
    let run = run(&RAMP, |time| {
        let parts = vec![
            column("first", 0.1, 5.0, 40.0),
            line("between", 0.17e-3, 0.4, ROOM),
            acetone("second pump", 0.3 - 0.1 * ramp(time)),
            line("behind", 0.17e-3, 0.4, ROOM),
            column("second", 0.15, 5.0, 60.0),
        ];
        without_mixer(eluted(ramp(time), parts))
    });
    let at = |time: f64, of: &dyn Fn(&Solution) -> f64| straight(&run, time, of);
    let dwell = |time: f64, from: &str, to: &str| at(time, &|one| hold_up_times(one, from, to));
    let start = &run.nodes[0].solution;
    let mut largest: f64 = 0.0;
    for time in [35.0, 40.0, 50.0, 55.0, 70.0, 80.0, 95.0, 130.0] {
        let joined = time - dwell(time, "second pump", "second");
        let left = joined - dwell(joined, "modifier pump", "second pump");
        let x = at(left, &|solution| modifier(made(solution)));
        let comes = made(start).fluid().with_amount_fractions(&[1.0 - x, x]);
        let comes = comes.unwrap().mass_fractions()[1];
        let before = at(joined, &|solution| flow(solution, "between"));
        let after = at(joined, &|one| flow(one, "second pump"));
        let balance = (before * comes + after - before) / after;
        let found = run.columns[1].state(0.0, time).unwrap();
        // The amount fractions are straight between the points of the program.
        close(found.fluid().mass_fractions()[1], balance, 1e-4);
        let steady = at(time, &|one| {
            one.columns[1].inlet.fluid().mass_fractions()[1]
        });
        largest = largest.max((steady / balance - 1.0).abs());
    }
    // The delay counts, and the first column sees nothing of the second pump.
    assert!(largest > 0.05, "{largest}");
    let found = modifier(&run.columns[0].state(0.0, 0.0).unwrap());
    close(found, modifier(made(start)), 1e-12);
}

#[test]
fn a_make_up_behind_the_last_column_reaches_no_column() {
    let parts = |make_up: f64| {
        vec![
            column("first", 0.1, 5.0, 40.0),
            column("second", 0.15, 5.0, 60.0),
            acetone("make-up pump", make_up),
        ]
    };
    // While the make-up changes alone, the composition in the columns does not.
    let flows = run(&[0.0, 60.0], |time| held(150.0, parts(0.02 + 1e-3 * time)));
    assert!(!flows.changes_composition());
    for point in flows.history().unwrap() {
        for ends in &point.columns {
            assert_eq!(ends.outlet.fluid().amount_fractions(), [1.0]);
        }
    }
    let steady = held(150.0, parts(0.02)).solve().unwrap();
    let held = run(&[0.0, 60.0], |_| held(150.0, parts(0.02)));
    for (band, budget) in held.bands().unwrap().iter().zip(&steady.bands_of_solutes) {
        close(band.recorded.time, budget.time, 1e-6);
        close(band.recorded.time_variance, budget.time_variance, 1e-5);
    }
}

/// A bed that is followed by small steps: name, place among the columns, length and particles in m.
struct Bed<'a> {
    run: &'a ProgrammedRun,
    name: &'static str,
    index: usize,
    length: f64,
    particle: f64,
}

impl Bed<'_> {
    fn at(&self, time: f64, of: &dyn Fn(&Solution) -> f64) -> f64 {
        straight(self.run, time, of)
    }

    /// A value at a distance from the inlet, straight between the points of the profile.
    fn along(&self, time: f64, z: f64, of: &dyn Fn(&[ProfilePoint]) -> Vec<f64>) -> f64 {
        self.at(time, &|solution| {
            let points = &solution.columns[self.index].profile;
            let next = points.partition_point(|point| point.position <= z);
            let next = next.clamp(1, points.len() - 1);
            let (from, to) = (points[next - 1].position, points[next].position);
            let values = of(points);
            values[next - 1] + (z - from) / (to - from) * (values[next] - values[next - 1])
        })
    }

    /// Velocity of the solute in m/s and its plate height in m: `ln k = 2 - 12 x`, and the law of Knox at the reduced velocity.
    fn motion(&self, z: f64, time: f64) -> (f64, f64) {
        let elapsed = self.along(time, z, &|points| {
            let mut sum = 0.0;
            let steps = points.windows(2).map(|two| {
                let slowness = 0.5 * (1.0 / two[0].velocity + 1.0 / two[1].velocity);
                sum += (two[1].position - two[0].position) * slowness;
                sum
            });
            std::iter::once(0.0).chain(steps).collect()
        });
        let dwell = self.at(time, &|solution| {
            hold_up_times(solution, "modifier pump", self.name)
        });
        let x = self.at(time - dwell - elapsed, &|solution| modifier(made(solution)));
        let fluid = made(&self.run.nodes[0].solution).fluid();
        let fluid = fluid.with_amount_fractions(&[1.0 - x, x]).unwrap();
        let of = |of: fn(&ProfilePoint) -> f64| {
            self.along(time, z, &|points| points.iter().map(of).collect())
        };
        let (temperature, pressure) = (of(|point| point.temperature), of(|point| point.pressure));
        let density = State::from_tp(&fluid, temperature, pressure)
            .unwrap()
            .density();
        let flow = self.at(time, &|solution| flow(solution, self.name));
        let u = flow / (0.7 * std::f64::consts::FRAC_PI_4 * 4.6e-3 * 4.6e-3 * density);
        let nu = u * self.particle / 1e-8;
        let height = self.particle * (nu.cbrt() + 2.0 / nu + 0.05 * nu);
        (u / (1.0 + (2.0 - 12.0 * x).exp()), height)
    }

    /// Time and variance of a band at the outlet, by the midpoint rule.
    fn pass(&self, (mut t, mut variance): (f64, f64)) -> (f64, f64) {
        let slopes = |z: f64, time: f64, variance: f64| {
            let (v, height) = self.motion(z, time);
            let change = (self.motion(z, time + 1e-3).0 - self.motion(z, time - 1e-3).0) / 2e-3;
            (1.0 / v, (height - 2.0 * variance * change) / (v * v))
        };
        let dz = self.length / 400.0;
        for step in 0..400 {
            let z = dz * f64::from(step);
            let (dt, dv) = slopes(z, t, variance);
            let (dt, dv) = slopes(z + 0.5 * dz, t + 0.5 * dz * dt, variance + 0.5 * dz * dv);
            (t, variance) = (t + dz * dt, variance + dz * dv);
        }
        (t, variance)
    }
}

/// A gradient through two unlike columns, followed by small steps through profiles between the steady flows.
#[test]
fn a_gradient_through_two_columns_agrees_with_small_steps() {
    let beds = [("first", 0.1, 5e-6, 40.0), ("second", 0.12, 4e-6, 50.0)];
    // A course with one bend, which the small steps pass over.
    let course = |time: f64| 0.15 + 0.001 * (time + 60.0) + 0.001 * (time - 90.0).max(0.0);
    let run = run(&[-60.0, 90.0, 240.0], |time| {
        let [one, other] =
            beds.map(|(name, length, particle, oven)| column(name, length, 1e6 * particle, oven));
        let between = line("between", 0.17e-3, 0.4, ROOM);
        without_mixer(eluted(course(time), vec![one, between, other]))
    });
    let beside = |time: f64, names: &[&str], of: fn(&BandRow) -> f64| {
        straight(&run, time, &|solution| {
            let rows = solution.bands.iter().flat_map(|bands| &bands.rows);
            let rows = rows.filter(|row| names.contains(&row.part.as_str()));
            rows.map(of).sum()
        })
    };
    let band = &run.bands().unwrap()[0];
    let (mut t, mut variance) = (0.0, 0.0);
    let before: [&[&str]; 2] = [&["loop", "injector line", "preheater"], &["between"]];
    for (index, (name, length, particle, _)) in beds.into_iter().enumerate() {
        let entering = (
            t + beside(t, before[index], |row| row.time),
            variance + beside(t, before[index], |row| row.time_variance),
        );
        let run = &run;
        let bed = Bed {
            run,
            name,
            index,
            length,
            particle,
        };
        (t, variance) = bed.pass(entering);
        close(band.columns[index].leaving.time, t, 1e-6);
        close(band.columns[index].leaving.time_variance, variance, 1e-4);
    }
    let end = t + beside(t, &["line to the cell", "cell"], |row| row.time);
    close(band.recorded.time, end, 1e-6);
}

#[test]
fn runs_without_a_column_on_the_way_are_refused() {
    let code = |path: Path| {
        let settings = [0.0, 60.0].map(|time| Setting {
            time,
            path: path.clone(),
        });
        ProgrammedRun::new(settings.to_vec())
    };
    // No column at all, and two parts of one name.
    let bare = held(150.0, vec![line("tube", 0.17e-3, 0.4, ROOM)]);
    assert_eq!(code(bare).unwrap_err().code(), 606);
    let twins = [0.1, 0.15].map(|length| column("twin", length, 5.0, 40.0));
    assert_eq!(code(held(150.0, twins.to_vec())).unwrap_err().code(), 606);
    // A column on a branch behind the detector of the main line.
    let side = vec![
        column("side column", 0.05, 5.0, 40.0),
        Part::new("side cell", DetectorCell::new(4e-9).unwrap()),
        bleed(),
    ];
    let tee = line("tee", 0.17e-3, 0.4, ROOM).with_branch(side);
    let run = code(held(150.0, vec![tee])).unwrap();
    for refused in [run.bands(), run.bands_at("cell")] {
        assert_eq!(refused.unwrap_err().code(), 104);
    }
    let band = &run.bands_at("side cell").unwrap()[0];
    assert_eq!(band.columns.len(), 1);
}

/// Flows find their balance at a tee whose branch is tried, on the way, with more than a thousand bar along a narrow tube in which the flow
/// turns turbulent: there a march that steps over the turn errs by more than the balance allows.
#[test]
fn a_branch_behind_a_pump_between_columns_takes_its_share_at_flows_that_turn_turbulent() {
    for time in [36.0, 38.0, 42.0, 44.0, 47.0, 54.0, 58.0, 61.0, 77.0] {
        let flow = ramp(time);
        let regulator = BackPressureRegulator::new(145.0 * BAR).unwrap();
        let side = vec![
            line("side tube", 0.05e-3, 2.0, ROOM),
            Part::new("side regulator", regulator),
        ];
        let parts = vec![
            column("first", 0.1, 5.0, 40.0),
            line("between", 0.17e-3, 0.4, ROOM),
            acetone("second pump", 0.3 - 0.1 * flow).with_branch(side),
            line("behind", 0.17e-3, 0.4, ROOM),
            column("second", 0.15, 5.0, 60.0),
        ];
        let solution = without_mixer(eluted(flow, parts)).solve().unwrap();
        let tee = solution
            .passes
            .iter()
            .find(|pass| pass.name == "second pump")
            .unwrap();
        let [_, held] = &tee.branch[..] else {
            panic!("a tube and a regulator")
        };
        close(held.inlet.state.pressure(), 145.0 * BAR, 1e-6);
    }
}
