//! The critical lines of the pairs that were fitted here, and splits that none of them should have.
//!
//! A fit may reach every measurement and still break the critical line: fold it, so that one composition has several stable
//! critical points, or leave a gap where it has none. And it may part a liquid that mixes in all proportions. Both are looked
//! for here; neither shows in densities or bubble pressures.

mod fitted;

use densepath_fluid::Fluid;
use densepath_fluid::eos::equilibrium::{
    CriticalLocus, Equilibrium, LocusBounds, LocusBranch, LocusEnd, LocusKind, LocusPoint,
    MixtureCriticalPoint, critical_locus, critical_points, flash,
};
use densepath_fluid::eos::mixture::MixtureModel;
use densepath_fluid::eos::multifluid::{MultiFluid, PairTerms};
use densepath_fluid::fluids::binary::{
    self, ExcessRecord, ExcessTermRecord, MultiFluidRecord, ReducingRecord,
};
use densepath_fluid::fluids::{find, record};
use fitted::FITTED;

fn stored(name: &str) -> MultiFluidRecord {
    let pair = binary::find("carbon dioxide", name).unwrap().unwrap();
    pair.multi_fluid.clone().unwrap()
}

fn model(name: &str, block: &MultiFluidRecord) -> MultiFluid {
    let equations = ["carbon dioxide", name].map(|name| {
        let fluid = record(find(name).unwrap()).unwrap();
        fluid.reference_equation().unwrap()
    });
    MultiFluid::new("pair", &equations, block.smooth, |_, _| {
        PairTerms::from(block)
    })
}

const BOUNDS: LocusBounds = LocusBounds {
    temperature_min: 250.0,
    temperature_max: 700.0,
    pressure_max: 1e8,
};
/// Amount fractions of the second substance from and to which the line is asked. Nearer to carbon dioxide its reference equation
/// has terms whose derivatives have no bound.
const FROM: f64 = 0.002;
const TO: f64 = 0.4;
/// Points in a row that are not stable; fewer may be so by rounding.
const GAP: usize = 3;
/// Largest change of the step of ln T and of ln p from one hundredth of the fraction to the next: the steps themselves are about
/// 0.01 and 0.03, and a jump changes them by more than their size.
const BEND: [f64; 2] = [0.004, 0.013];
/// Fractions where a line is known to bend more, and where its critical point is not the most stable state. Where the density of
/// the critical line passes that of the reducing functions, the terms that make the critical point of carbon dioxide sharp
/// bend the line of propan-2-ol by 0.3 K; that of n-heptane has three phases near 0.05. Beside the line of methanol, 0.09 K above it,
/// the same terms leave a second critical point that is stable too.
const BENT: [(&str, f64, f64); 3] = [
    ("propan-2-ol", 0.015, 0.035),
    ("n-heptane", 0.035, 0.065),
    ("methanol", 0.0075, 0.0115),
];

fn is_told(name: &str, fraction: f64) -> bool {
    let mut told = BENT.iter();
    told.any(|(of, low, high)| *of == name && (*low..=*high).contains(&fraction))
}

/// What is wrong with the critical line from carbon dioxide to [`TO`]; at the fractions asked there has to be one stable critical
/// point, and it has to lie on the line. Returned with these points.
fn faults(
    name: &str,
    model: &dyn MixtureModel,
    fractions: &[f64],
) -> (Vec<String>, Vec<Option<LocusPoint>>) {
    let locus = critical_locus(model, &BOUNDS).unwrap();
    let mut faults = faults_along(name, &locus);
    let mut points: Vec<Option<LocusPoint>> = Vec::new();
    let mut last = 0.0;
    for &x in fractions {
        let found = critical_points(model, &[1.0 - x, x], (250.0, 700.0)).unwrap();
        let stable = found.iter().filter(|point| point.is_stable);
        let stable: Vec<_> = stable
            .filter(|p| p.pressure < BOUNDS.pressure_max)
            .collect();
        let warmest = stable.iter().map(|p| p.temperature).fold(0.0, f64::max);
        if warmest <= last && !(stable.is_empty() && is_told(name, x)) {
            faults.push(format!("{x}: {warmest} K after {last} K"));
        }
        last = warmest.max(last);
        let on_line = locus.at_amount_fraction(model, x);
        let same = on_line.into_iter().find(|p| {
            let [point] = stable[..] else { return false };
            (p.point.temperature / point.temperature - 1.0).abs() < 1e-6
        });
        if same.is_none() && !is_told(name, x) {
            faults.push(format!("{x}: stable critical points {stable:?}"));
        }
        points.push(same);
    }
    (faults, points)
}

/// Where the line as it was followed does not join both substances, ends early, turns back, or is not stable.
fn faults_along(name: &str, locus: &CriticalLocus) -> Vec<String> {
    let Some(line) = locus.branches.first() else {
        return vec!["no line".to_owned()];
    };
    let mut faults = Vec::new();
    if line.ends != (LocusEnd::First, LocusEnd::Second) {
        faults.push(format!("leads from {:?} to {:?}", line.ends.0, line.ends.1));
    }
    let of = |fraction: f64| {
        line.points
            .iter()
            .position(|p| p.amount_fraction > fraction)
    };
    let (Some(from), Some(to)) = (of(FROM), of(TO)) else {
        faults.push(format!("ends at {:?}", line.points.last()));
        return faults;
    };
    let points = &line.points[from.min(to)..to];
    for pair in points.windows(2) {
        let [a, b] = [&pair[0], &pair[1]];
        let rises =
            b.amount_fraction > a.amount_fraction && b.point.temperature > a.point.temperature;
        if !rises && !is_told(name, b.amount_fraction) {
            faults.push(format!("turns back at {b:?}"));
        }
    }
    for row in points.windows(GAP) {
        let stable = row.iter().any(|p| p.point.is_stable);
        if !stable && !is_told(name, row[0].amount_fraction) {
            faults.push(format!("not stable at {:?}", row[0]));
        }
    }
    faults
}

/// Where points in even steps of the fraction bend sharply.
fn bends(name: &str, points: &[Option<LocusPoint>]) -> Vec<String> {
    let mut faults = Vec::new();
    for row in points.windows(3) {
        let [Some(a), Some(b), Some(c)] = row else {
            continue;
        };
        if is_told(name, b.amount_fraction) {
            continue;
        }
        let of = |p: &LocusPoint| [p.point.temperature.ln(), p.point.pressure.ln()];
        let [a, middle, c] = [of(a), of(b), of(c)];
        let size = c[0] - a[0];
        for (k, most) in BEND.into_iter().enumerate() {
            let bend = a[k] - 2.0 * middle[k] + c[k];
            if bend.abs() > most || size <= 0.0 {
                faults.push(format!("{}: bends by {bend}", b.amount_fraction));
            }
        }
    }
    faults
}

#[test]
fn every_fitted_pair_has_one_critical_point_at_every_hundredth() {
    for name in FITTED {
        let model = model(name, &stored(name));
        let fractions: Vec<f64> = (1..=40).map(|step| 0.01 * f64::from(step)).collect();
        let (mut found, points) = faults(name, &model, &fractions);
        found.extend(bends(name, &points));
        assert!(found.is_empty(), "{name}: {found:#?}");
    }
}

/// Among the lines of acetone that are stable nowhere is a loop, which goes on for ever.
#[test]
fn a_loop_is_followed_once() {
    let locus = critical_locus(&model("acetone", &stored("acetone")), &BOUNDS).unwrap();
    let is_loop = |line: &&LocusBranch| line.ends == (LocusEnd::Closed, LocusEnd::Closed);
    let found = locus.branches.iter().find(is_loop).unwrap();
    let [first, .., last] = &found.points[..] else {
        panic!("{found:?}");
    };
    assert!((first.amount_fraction - last.amount_fraction).abs() < 1e-9);
    assert!((first.point.temperature / last.point.temperature - 1.0).abs() < 1e-9);
    let most = locus.branches.iter().map(|line| line.points.len()).max();
    assert!(most < Some(400), "{most:?}");
}

#[test]
fn a_broken_critical_line_is_seen() {
    let model = model("acetone", &broken_acetone());
    let (found, _) = faults("acetone", &model, &[0.08]);
    assert!(
        found.iter().any(|fault| fault.starts_with("turns back")),
        "{found:?}"
    );
}

/// Amount fraction of the second substance, temperature in K and pressure in bar of the critical points that CoolProp 8.0.0 finds
/// from the same equation (`all_critical_points`, an implementation of its own with another search).
type Peer = [(f64, f64, f64); 11];
const ETHANE: Peer = [
    (0.05, 301.3611, 71.6214),
    (0.1, 298.6982, 69.1985),
    (0.2, 294.1607, 64.4207),
    (0.3, 291.1774, 60.5646),
    (0.4, 290.2201, 58.2276),
    (0.5, 290.9831, 56.8969),
    (0.6, 292.997, 55.978),
    (0.7, 295.8289, 55.0162),
    (0.8, 299.096, 53.6775),
    (0.9, 302.4521, 51.7234),
    (0.95, 304.0244, 50.421),
];
const PROPANE: Peer = [
    (0.05, 304.3257, 70.976),
    (0.1, 305.4621, 69.0965),
    (0.2, 310.4452, 67.6453),
    (0.3, 318.2236, 68.0824),
    (0.4, 327.4622, 68.7511),
    (0.5, 337.2686, 68.2148),
    (0.6, 346.4892, 65.7094),
    (0.7, 354.5318, 61.3861),
    (0.8, 361.1933, 55.8694),
    (0.9, 366.5214, 49.6492),
    (0.95, 368.6001, 46.3),
];

/// Carbon dioxide mixes with both in all proportions, and one line joins the critical points; that with ethane has a lowest
/// temperature near 290 K and two fifths of ethane (from memory). It passes the point of the reducing functions at which the
/// equation of carbon dioxide has derivatives without bound, where it was once lost.
#[test]
fn the_lines_of_ethane_and_propane_are_joined() {
    let wide = LocusBounds {
        temperature_min: 173.0,
        ..BOUNDS
    };
    for (name, block, peer) in [
        ("ethane", stored("ethane"), ETHANE),
        ("propane", published_propane(), PROPANE),
    ] {
        let model = model(name, &block);
        let locus = critical_locus(&model, &wide).unwrap();
        assert!(locus.kind.is_joined(), "{name}: {:?}", locus.kind);
        let line = &locus.branches[0];
        assert_eq!(line.ends, (LocusEnd::First, LocusEnd::Second), "{name}");
        // Nowhere a leap.
        for pair in line.points.windows(2) {
            let step = pair[1].amount_fraction - pair[0].amount_fraction;
            assert!(step > 0.0 && step < 0.03, "{name}: {pair:?}");
        }
        for row in line.points.windows(GAP) {
            assert!(row.iter().any(|p| p.point.is_stable), "{name}: {row:?}");
        }
        for (x, temperature, pressure) in peer {
            let found = locus.at_amount_fraction(&model, x);
            let same = found.iter().any(|p| {
                p.point.is_stable
                    && (p.point.temperature - temperature).abs() < 2e-3
                    && (p.point.pressure / (1e5 * pressure) - 1.0).abs() < 1e-4
            });
            assert!(same, "{name} {x}: {found:?}");
        }
    }
}

/// The equation of carbon dioxide with propane of Kunz and Wagner, J. Chem. Eng. Data 57 (2012) 3032, doi 10.1021/je300655b, as
/// CoolProp 8.0.0 carries it; the stored one was fitted here.
fn published_propane() -> MultiFluidRecord {
    MultiFluidRecord {
        reducing: ReducingRecord {
            beta_temperature: 1.033_620_538,
            gamma_temperature: 0.908_772_477,
            beta_volume: 0.996_898_004,
            gamma_volume: 1.047_596_298,
        },
        departures: Vec::new(),
        ..stored("propane")
    }
}

/// One line joins both substances, stable from end to end and near that of the published equation, to which the fit drew it.
#[test]
fn the_fitted_line_of_propane_is_joined_to_both_ends() {
    let wide = LocusBounds {
        temperature_min: 173.0,
        ..BOUNDS
    };
    let model = model("propane", &stored("propane"));
    let locus = critical_locus(&model, &wide).unwrap();
    assert_eq!(locus.kind, LocusKind::Joined);
    let line = &locus.branches[0];
    assert_eq!(line.ends, (LocusEnd::First, LocusEnd::Second));
    for pair in line.points.windows(2) {
        let step = pair[1].amount_fraction - pair[0].amount_fraction;
        assert!(step > 0.0 && step < 0.03, "{pair:?}");
    }
    for point in &line.points {
        assert!(point.point.is_stable, "{point:?}");
    }
    for (x, temperature, pressure) in PROPANE {
        let found = locus.at_amount_fraction(&model, x);
        let near = found.iter().any(|p| {
            p.point.is_stable
                && (p.point.temperature - temperature).abs() < 2.0
                && (p.point.pressure / (1e5 * pressure) - 1.0).abs() < 0.015
        });
        assert!(near, "{x}: {found:?}");
    }
}

/// The critical points of a pair beside that of carbon dioxide, by rising density, and the stable one of its line.
fn beside_carbon_dioxide(name: &str, x: f64) -> (Vec<MixtureCriticalPoint>, MixtureCriticalPoint) {
    let model = model(name, &stored(name));
    let locus = critical_locus(&model, &BOUNDS).unwrap();
    let found = critical_points(&model, &[1.0 - x, x], (250.0, 700.0)).unwrap();
    assert!(found.iter().all(|p| p.pressure > 0.0), "{x}: {found:?}");
    let mut beside: Vec<_> = found
        .into_iter()
        .filter(|p| p.temperature > 304.0 && p.temperature < 310.0)
        .collect();
    beside.sort_by(|a, b| a.molar_density.total_cmp(&b.molar_density));
    let on_line = locus.at_amount_fraction(&model, x);
    let line = on_line.iter().find(|p| p.point.is_stable).unwrap().point;
    (beside, line)
}

/// With little propane the equation has three critical points beside that of carbon dioxide: one thinner, which is stable and lies on
/// the line that joins both substances, one denser, and one between. The latter two join and end between 0.005 and 0.006.
#[test]
fn three_critical_points_close_together_are_all_found() {
    for (x, count) in [
        (0.0002, 3),
        (0.0005, 3),
        (0.001, 3),
        (0.0015, 3),
        (0.002, 3),
        (0.003, 3),
        (0.004, 3),
        (0.005, 3),
        (0.006, 1),
        (0.008, 1),
    ] {
        let (found, line) = beside_carbon_dioxide("propane", x);
        assert_eq!(found.len(), count, "{x}: {found:?}");
        assert!(found[0].is_stable, "{x}: {found:?}");
        assert!(
            found.iter().skip(1).all(|p| !p.is_stable) || x < 0.0015,
            "{x}: {found:?}"
        );
        assert!(
            (line.temperature / found[0].temperature - 1.0).abs() < 1e-9,
            "{x}"
        );
        assert!(
            (line.molar_density / found[0].molar_density - 1.0).abs() < 1e-6,
            "{x}"
        );
    }
}

/// The line of methanol passes on the dense side; near 0.01 the thinner of the three points is stable as well.
#[test]
fn a_second_stable_point_beside_the_line_of_methanol_is_found() {
    for (x, thinner) in [(0.004, false), (0.01, true), (0.014, false)] {
        let (found, line) = beside_carbon_dioxide("methanol", x);
        let stable: Vec<bool> = found.iter().map(|p| p.is_stable).collect();
        assert_eq!(stable, [thinner, false, true], "{x}: {found:?}");
        assert!(
            (line.molar_density / found[2].molar_density - 1.0).abs() < 1e-6,
            "{x}"
        );
    }
    let (found, _) = beside_carbon_dioxide("methanol", 0.02);
    assert_eq!(found.len(), 1, "{found:?}");
}

/// Where a line leaves the temperatures that are followed before it tells where it leads, its kind is not known.
#[test]
fn a_line_that_leaves_its_temperatures_tells_no_kind() {
    for (name, temperature_min) in [("nitrogen", 173.0), ("argon", 173.0)] {
        let bounds = LocusBounds {
            temperature_min,
            pressure_max: 8e8,
            ..BOUNDS
        };
        let locus = critical_locus(&model(name, &stored(name)), &bounds).unwrap();
        assert_eq!(locus.kind, LocusKind::Unknown, "{name}");
    }
    let bounds = LocusBounds {
        temperature_max: 450.0,
        ..BOUNDS
    };
    let locus = critical_locus(&model("methanol", &stored("methanol")), &bounds).unwrap();
    assert_eq!(locus.kind, LocusKind::Unknown);
}

/// Beside its critical point the equation of carbon dioxide has three critical lines, two of which come back to it.
#[test]
fn a_line_does_not_come_back_to_its_substance() {
    for name in ["nitrogen", "argon", "helium", "n-butane"] {
        let bounds = LocusBounds {
            temperature_min: 173.0,
            pressure_max: 8e8,
            ..BOUNDS
        };
        let locus = critical_locus(&model(name, &stored(name)), &bounds).unwrap();
        let ends = locus.branches[0].ends;
        assert!(
            ends.0 == LocusEnd::First && !matches!(ends.1, LocusEnd::First | LocusEnd::Lost),
            "{name}: {ends:?}"
        );
    }
}

/// Fractions of the second substance at which states of a pair are looked at.
fn fractions(count: u32) -> impl Iterator<Item = f64> {
    (1..count).map(move |step| f64::from(step) / f64::from(count))
}

/// Splits of a pair at a temperature in K and a pressure in Pa that are not those of one vapour and one liquid: of liquids that
/// mix in all proportions, beside a vapour of nearly pure carbon dioxide, every split is the same pair of phases, and none lies
/// above `highest`, the vapour pressure or the critical pressure in Pa.
fn false_splits(
    model: &dyn MixtureModel,
    (temperature, pressure): (f64, f64),
    highest: f64,
    count: u32,
) -> Vec<String> {
    let mut faults = Vec::new();
    let mut first: Option<Equilibrium> = None;
    for x in fractions(count) {
        let found = flash(model, temperature, pressure, &[1.0 - x, x]).unwrap();
        let place = format!("{temperature} K, {pressure} Pa, {x}: {:?}", found.phases);
        if found.phases.len() == 1 {
            continue;
        }
        if found.phases.len() > 2 || pressure > highest {
            faults.push(place);
            continue;
        }
        let other = first.get_or_insert_with(|| found.clone());
        let pairs = found.phases.iter().zip(&other.phases);
        let off = pairs.map(|(a, b)| (a.fractions[1] - b.fractions[1]).abs());
        if off.fold(0.0, f64::max) > 1e-6 {
            faults.push(place);
        }
    }
    faults
}

/// The pressure in Pa above which no split may be: the vapour pressure of carbon dioxide, or the highest of the critical line.
fn highest_split(model: &dyn MixtureModel, locus: &CriticalLocus, temperature: f64) -> f64 {
    let carbon_dioxide = Fluid::new("carbon dioxide").unwrap();
    let vapour = carbon_dioxide.saturation_at_temperature(temperature);
    vapour.map_or_else(
        |_| {
            let points = locus.at_temperature(model, temperature).into_iter();
            let stable = points.filter(|p| p.point.is_stable && p.amount_fraction > FROM);
            stable.map(|p| p.point.pressure).fold(0.0, f64::max)
        },
        |pair| pair.liquid.pressure(),
    )
}

/// On a grid of temperature (250 to 400 K), pressure (1 to 60 MPa) and composition.
#[test]
fn no_fitted_pair_splits_where_it_should_not() {
    let pressures = [
        1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 60.0,
    ];
    for name in FITTED {
        let model = model(name, &stored(name));
        let locus = critical_locus(&model, &BOUNDS).unwrap();
        for temperature in (0..=15).map(|k| 250.0 + 10.0 * f64::from(k)) {
            // A hundredth for the point of the line, at which both phases are one.
            let highest = 1.01 * highest_split(&model, &locus, temperature);
            for pressure in pressures.map(|p| 1e6 * p) {
                let found = false_splits(&model, (temperature, pressure), highest, 20);
                assert!(found.is_empty(), "{name}: {found:#?}");
            }
        }
    }
}

/// A fit to the same measurements of carbon dioxide and acetone as the stored one, whose line is broken.
fn broken_acetone() -> MultiFluidRecord {
    let term = |order, t, n| ExcessTermRecord { order, t, n };
    MultiFluidRecord {
        reducing: ReducingRecord {
            beta_temperature: 1.018_037,
            gamma_temperature: 1.289_963,
            beta_volume: 0.947_576,
            gamma_volume: 1.015_546,
        },
        departures: Vec::new(),
        excess: Some(ExcessRecord {
            temperature: 300.0,
            delta_0: 2.6,
            b: 0.4,
            terms: vec![
                term(0, 0.0, -0.585_495_4),
                term(0, 1.0, 0.258_541_2),
                term(1, 0.0, -0.040_505_67),
                term(1, 1.0, 0.002_843_646),
            ],
        }),
        ..stored("acetone")
    }
}

/// Newton's method may lead a phase into the dome of a substance, where the reference equation swings and tells a low energy: with
/// these constants to nearly pure methanol, beside which carbon dioxide had a fugacity that is a five-millionth of that in the gas.
#[test]
fn no_phase_is_left_inside_a_dome() {
    let block: MultiFluidRecord =
        serde_json::from_str(include_str!("not_kept_methanol.json")).unwrap();
    let model = model("methanol", &block);
    for x in [0.15, 0.16] {
        let found = flash(&model, 320.0, 7e6, &[1.0 - x, x]).unwrap();
        let fugacities: Vec<[f64; 2]> = found
            .phases
            .iter()
            .map(|phase| {
                let isotherm = model.at(320.0, &phase.fractions);
                let of = isotherm.fugacity(phase.molar_density);
                [0, 1].map(|i| phase.fractions[i].ln() + of.ln_coefficients[i])
            })
            .collect();
        let [one, other] = fugacities[..] else {
            panic!("{x}: {} phases", fugacities.len());
        };
        assert!((one[0] - other[0]).abs() < 1e-9, "{x}: {fugacities:?}");
        assert!((one[1] - other[1]).abs() < 1e-9, "{x}: {fugacities:?}");
    }
}
