//! Bands of several solutes, chromatograms, programmed runs.

use super::tests::{DENSITIES, close, modified, naphthalene, packed};
use super::{Chromatogram, Part, Path, ProgramPoint, ProgrammedRun, Setting, Solution};
use crate::flow::recording::moments;
use crate::flow::retention::{FittedBox, ModifierBasis, RetentionLaw, Term};
use crate::fluid::NoticeCode;
use crate::fluid::units::{BAR, MILLILITRE_PER_MINUTE};
use crate::hardware::{
    BackPressureRegulator, CountedAt, Mixer, ModifierPump, ReciprocatingPump, Retention, SetFlow,
    Solute, Thermal,
};
use fluid::Fluid;

use crate::fluid;

fn retained(name: &str, intercept: f64) -> Solute {
    Solute {
        name: name.to_owned(),
        ..naphthalene(Retention::log_linear_in_density(intercept, 7e-3, DENSITIES).unwrap())
    }
}

fn several() -> Path {
    let mut path = packed(CountedAt::Delivery);
    path.solutes = vec![
        retained("early", 5.0),
        Solute {
            name: "unretained".to_owned(),
            ..naphthalene(Retention::Constant {
                retention_factor: 0.0,
            })
        },
        retained("late", 6.0),
        retained("later", 6.05),
    ];
    path
}

#[test]
fn every_solute_has_the_budget_that_it_has_alone() {
    let solution = several().solve().unwrap();
    assert_eq!(solution.bands_of_solutes.len(), 4);
    assert_eq!(solution.bands.as_ref(), solution.bands_of_solutes.first());
    for (index, solute) in several().solutes.into_iter().enumerate() {
        let mut alone = several();
        alone.solutes = vec![solute];
        assert_eq!(
            alone.solve().unwrap().bands.unwrap(),
            solution.bands_of_solutes[index]
        );
    }
    let unretained = &solution.bands_of_solutes[1];
    assert_eq!(unretained.retention_time, unretained.hold_up_time);
}

#[test]
fn moments_of_the_chromatogram_are_the_sums_of_the_budget() {
    let solution = several().solve().unwrap();
    for (index, budget) in solution.bands_of_solutes.iter().enumerate() {
        let mut alone = solution.clone();
        alone.bands_of_solutes = vec![solution.bands_of_solutes[index].clone()];
        let chromatogram = alone.chromatogram([2.5], 0.0, 300.0, 50.0).unwrap();
        let found = moments(&chromatogram.signal, &chromatogram.sampling).unwrap();
        close(found.area, 2.5, 1e-9);
        close(found.mean, budget.time, 1e-9);
        // What the window leaves out of the second moment: 1e-10 of the area on either side, some seven deviations away.
        close(found.variance, budget.time_variance, 1e-7);
        assert!(found.skewness > 0.0);
    }
    let chromatogram = solution.chromatogram([], 0.0, 200.0, 20.0).unwrap();
    assert_eq!(chromatogram.peaks.len(), 4);
    let pair = chromatogram.critical_pair().unwrap().unwrap();
    assert_eq!((pair.first, pair.second), (2, 3));
    assert!(pair.resolution > 0.5 && pair.resolution < 2.0);
    assert!(chromatogram.peak_capacity().unwrap() > 10.0);
    assert!(chromatogram.notices.is_empty());
    let slow = solution.chromatogram([], 0.0, 200.0, 1.0).unwrap();
    assert_eq!(slow.notices[0].code, NoticeCode::DetectorUnsuited);
}

#[test]
fn the_largest_plug_costs_its_share() {
    let solution = packed(CountedAt::Delivery).solve().unwrap();
    let bands = solution.bands.unwrap();
    let width = bands.largest_plug(0.1).unwrap();
    let column = bands.retention_time.powi(2) / bands.column_plate_number;
    let plug = width * width / 12.0;
    close(plug / (column + plug), 0.1, 1e-12);
    assert!(bands.largest_plug(1.0).is_err());
}

fn setting(time: f64, path: Path) -> Setting {
    Setting { time, path }
}

fn held(bar: f64) -> Path {
    let mut path = several();
    let place = path.parts.len() - 1;
    path.parts[place] = Part::new("regulator", BackPressureRegulator::new(bar * BAR).unwrap());
    path
}

#[test]
fn a_program_that_changes_nothing_is_the_isocratic_run() {
    let run = ProgrammedRun::new(vec![setting(0.0, several()), setting(60.0, several())]).unwrap();
    let solution = several().solve().unwrap();
    for (band, budget) in run.bands().unwrap().iter().zip(&solution.bands_of_solutes) {
        // The column's points are joined by parabolas.
        close(band.recorded.time, budget.time, 1e-6);
        close(band.recorded.time_variance, budget.time_variance, 1e-5);
    }
    let programmed = run.chromatogram([], 0.0, 200.0, 10.0).unwrap();
    let isocratic: Chromatogram = solution.chromatogram([], 0.0, 200.0, 10.0).unwrap();
    let highest = isocratic.signal.iter().copied().fold(0.0, f64::max);
    for (one, other) in programmed.signal.iter().zip(&isocratic.signal) {
        assert!((one - other).abs() < 2e-2 * highest, "{one} {other}");
    }
}

#[test]
fn a_rising_pressure_brings_peaks_between_those_of_its_ends() {
    let settings = vec![
        setting(0.0, held(120.0)),
        setting(40.0, held(150.0)),
        setting(80.0, held(180.0)),
    ];
    let run = ProgrammedRun::new(settings).unwrap();
    let slow = held(120.0).solve().unwrap().bands_of_solutes;
    let fast = held(180.0).solve().unwrap().bands_of_solutes;
    let bands = run.bands().unwrap();
    for (index, band) in bands.iter().enumerate().filter(|(index, _)| *index != 1) {
        assert!(band.recorded.time < slow[index].time && band.recorded.time > fast[index].time);
    }
    // The late ones are sharper than without the program.
    assert!(bands[3].recorded.time_variance < slow[3].time_variance);
    assert_eq!(run.solutions().count(), 3);
}

#[test]
fn a_gradient_of_composition_reaches_the_column_with_the_mobile_phase() {
    let gradient = |millilitres: f64| {
        let mut path = modified(0.3);
        let flow = SetFlow::Volume(millilitres * MILLILITRE_PER_MINUTE, CountedAt::Delivery);
        let pump = ReciprocatingPump::new(295.15, flow).unwrap();
        let modifier = ModifierPump::new(Fluid::new("acetone").unwrap(), pump).unwrap();
        path.parts[0] = Part::new("modifier pump", modifier);
        let terms = [(Term::Constant, 2.0), (Term::Modifier, -12.0)];
        let law =
            RetentionLaw::new(&terms, ModifierBasis::AmountFraction, FittedBox::UNLIMITED).unwrap();
        path.solutes[0].retention = Retention::Law(law);
        path
    };
    let steady = gradient(0.15).solve().unwrap().bands.unwrap();
    // The low composition holds until the first point of the program.
    let jump = |time: f64| {
        let settings = vec![
            setting(time, gradient(0.15)),
            setting(time + 5.0, gradient(0.45)),
        ];
        let run = ProgrammedRun::new(settings).unwrap();
        run.bands().unwrap()[0].recorded
    };
    // The sooner the step, the sooner the band.
    let (middle, early) = (jump(60.0), jump(10.0));
    assert!(early.time < middle.time && middle.time < 0.98 * steady.time);
}

/// A step of the modifier within 0.1 s at 10 s, with a mixer of a volume in m3 between the pumps and the injector.
fn step_through(volume: f64) -> ProgrammedRun {
    let stepped = |time: f64, millilitres: f64| {
        let mut path = modified(millilitres);
        let room = Thermal::Isothermal {
            temperature: 295.15,
        };
        path.parts[1] = Part::new("mixer", Mixer::new(volume, 2.0 * BAR, room).unwrap());
        setting(time, path)
    };
    let settings = vec![
        stepped(0.0, 0.15),
        stepped(10.0, 0.15),
        stepped(10.1, 0.45),
        stepped(60.0, 0.45),
    ];
    ProgrammedRun::new(settings).unwrap()
}

#[test]
fn a_mixer_smooths_a_step_of_composition_by_its_time_constant() {
    let run = step_through(1e-6);
    let solutions: Vec<_> = run.solutions().map(|(_, solution)| solution).collect();
    let fraction =
        |solution: &Solution| solution.passes[1].inlet.state.fluid().amount_fractions()[1];
    let (low, high) = (fraction(solutions[0]), fraction(solutions[3]));
    let time_constant = solutions[3].passes[1].outlet.hold_up_time;
    let behind_mixer = solutions[3].passes.iter().skip(2);
    let delay: f64 = behind_mixer
        .take_while(|pass| pass.name != "column")
        .map(|pass| pass.outlet.hold_up_time)
        .sum();
    for elapsed in [0.5, 1.0, 2.0, 4.0] {
        // The middle of the short ramp, its answer after some time constants, and the plug flow of the other parts.
        let time = 10.05 + elapsed * time_constant + delay;
        let found = run.columns[0]
            .state(0.0, time)
            .unwrap()
            .fluid()
            .amount_fractions()[1];
        let share = (found - low) / (high - low);
        assert!(
            (share - (1.0 - (-elapsed).exp())).abs() < 2e-3,
            "{elapsed} {share}"
        );
    }
    let sharp = step_through(1e-10).history().unwrap();
    let smooth = run.history().unwrap();
    let leaving =
        |points: &[ProgramPoint]| points[2].columns[0].outlet.fluid().amount_fractions()[1];
    close(leaving(&sharp), low, 1e-6);
    close(leaving(&smooth), low, 1e-6);
}

#[test]
fn what_is_stored_is_the_mass_that_the_volumes_gain() {
    let run =
        ProgrammedRun::new(vec![setting(0.0, held(120.0)), setting(600.0, held(180.0))]).unwrap();
    let points = run.history().unwrap();
    let gained = points[1].stored_mass - points[0].stored_mass;
    close(points[1].storage_mass_flow_rate * 600.0, gained, 1e-12);
    // The volumes of the parts, filled at the densities at their ends and along the column.
    let cylinder =
        |diameter: f64, length: f64| std::f64::consts::FRAC_PI_4 * diameter * diameter * length;
    let volumes = [
        ("mixer", 200e-9),
        ("loop", 10e-9),
        ("injector line", cylinder(0.17e-3, 0.3)),
        ("preheater", cylinder(0.17e-3, 1.0)),
        ("line to the cell", cylinder(0.17e-3, 0.5)),
        ("cell", 8e-9),
        ("line to the regulator", cylinder(0.25e-3, 0.3)),
    ];
    let filled = |solution: &Solution| {
        let profile = &solution.columns[0].profile;
        let mean: f64 =
            profile.iter().map(|point| point.density).sum::<f64>() / profile.len() as f64;
        let conduits = volumes
            .iter()
            .map(|(name, volume)| volume * solution.station(name).unwrap().state.density());
        0.7 * cylinder(4.6e-3, 0.25) * mean + conduits.sum::<f64>()
    };
    let ends: Vec<f64> = run
        .solutions()
        .map(|(_, solution)| filled(solution))
        .collect();
    close(points[0].stored_mass, ends[0], 2e-3);
    close(gained, ends[1] - ends[0], 0.02);
    assert!(run.notices().is_empty());
    close(
        points[0].columns[0].inlet.pressure(),
        run.solutions().next().unwrap().1.columns[0]
            .inlet
            .pressure(),
        1e-12,
    );
    let fast =
        ProgrammedRun::new(vec![setting(0.0, held(120.0)), setting(6.0, held(180.0))]).unwrap();
    let notices = fast.notices();
    assert_eq!(notices.len(), 1);
    assert_eq!(notices[0].code, NoticeCode::Unsteady);
}

#[test]
fn a_mixer_behind_the_injector_takes_its_share_of_the_band() {
    let plain = packed(CountedAt::Delivery);
    let mut mixed = plain.clone();
    let room = Thermal::Isothermal {
        temperature: 295.15,
    };
    mixed.parts.insert(
        2,
        Part::new("dilution", Mixer::new(50e-9, 0.0, room).unwrap()),
    );
    let bands = mixed.solve().unwrap().bands.unwrap();
    let row = bands
        .rows
        .iter()
        .find(|row| row.part == "dilution")
        .unwrap();
    close(row.time_variance, row.time * row.time, 1e-12);
    let before = plain.solve().unwrap().bands.unwrap();
    close(
        bands.time_variance - before.time_variance,
        row.time_variance,
        1e-6,
    );
}

#[test]
fn programs_that_make_no_run_are_refused() {
    let code = |settings| ProgrammedRun::new(settings).unwrap_err().code();
    assert_eq!(code(vec![]), 606);
    assert_eq!(
        code(vec![setting(1.0, several()), setting(1.0, several())]),
        606
    );
    let mut shorter = several();
    shorter.parts.remove(0);
    assert_eq!(
        code(vec![setting(0.0, several()), setting(1.0, shorter)]),
        606
    );
    let mut empty = several();
    empty.solutes.clear();
    assert_eq!(code(vec![setting(0.0, empty)]), 606);
}
