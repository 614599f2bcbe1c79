use super::*;
use crate::fluid::units::BAR;
use crate::fluid::{Error, Quantity};
use crate::method::{Input, Method, read_method};
use crate::path::Watch;
use crate::report::{to_json, to_text};

const PACKED: &str = include_str!("../../../../tests/methods/packed.toml");
const CAPILLARY: &str = include_str!("../../../../tests/methods/capillary.toml");

fn method() -> Method {
    read_method(PACKED).unwrap()
}

fn question(method: &Method, input: (&str, &str), output: (&str, &str)) -> Question {
    let input = method.input(input.0, input.1).unwrap();
    let estimate = input.value.unwrap();
    Question {
        low: 0.5 * estimate,
        high: 2.0 * estimate,
        input,
        output: Output::new(output.0, output.1),
        target: 0.0,
        samples: 7,
    }
}

fn forward(method: &Method, question: &Question, input: f64) -> f64 {
    let changed = method.with(&[(&question.input, input)]).unwrap();
    let told = question.output.value(&changed.solve().unwrap()).unwrap();
    told.value
}

/// The input that the document states is found again from the output that it leads to.
fn returns(document: &str, input: (&str, &str), output: (&str, &str)) {
    let method = read_method(document).unwrap();
    let mut question = question(&method, input, output);
    let stated = question.input.value.unwrap();
    question.target = forward(&method, &question, stated);
    let found = find(&method, &question).unwrap();
    assert!(found.unresolved.is_empty(), "{:?}", found.unresolved);
    let nearest = found
        .answers
        .iter()
        .map(|answer| (answer.input / stated - 1.0).abs())
        .fold(f64::INFINITY, f64::min);
    assert!(nearest < 1e-6, "{input:?} {output:?}: {nearest}");
    for answer in &found.answers {
        let again = forward(&method, &question, answer.input);
        assert!((again / question.target - 1.0).abs() < 1e-6, "{answer:?}");
    }
}

#[test]
fn the_outlet_pressure_for_a_mean_density() {
    returns(
        PACKED,
        ("regulator", "pressure"),
        ("column", "mean_density"),
    );
}

#[test]
fn the_flow_for_a_delivery_pressure() {
    returns(
        PACKED,
        ("pump", "volume_flow_rate"),
        ("method", "delivery_pressure"),
    );
}

#[test]
fn the_bore_of_a_tube_for_the_plates_that_are_left() {
    returns(
        PACKED,
        ("cell tube", "diameter"),
        ("invented aromatic", "apparent_plate_number"),
    );
}

#[test]
fn the_oven_temperature_for_a_hold_up_time() {
    returns(
        PACKED,
        ("preheater", "wall_temperature"),
        ("column", "hold_up_time"),
    );
}

#[test]
fn the_restrictor_for_a_velocity() {
    returns(CAPILLARY, ("restrictor", "length"), ("column", "velocity"));
}

#[test]
fn two_flows_give_the_same_plates_on_both_sides_of_the_optimum() {
    let method = method();
    let mut question = question(
        &method,
        ("pump", "volume_flow_rate"),
        ("invented aromatic", "column_plate_number"),
    );
    question.low = 0.1 * question.input.value.unwrap();
    question.target = 0.97 * {
        let plates = |flow| forward(&method, &question, flow);
        (1..20)
            .map(|step| plates(question.low * f64::from(step)))
            .fold(0.0, f64::max)
    };
    // Few samples: both sides of the optimum may lie between three of them.
    question.samples = 4;
    let found = find(&method, &question).unwrap();
    assert_eq!(found.answers.len(), 2, "{:?}", found.answers);
}

#[test]
fn what_cannot_be_had_is_refused_with_the_range_that_can() {
    let method = method();
    let mut question = question(
        &method,
        ("regulator", "pressure"),
        ("column", "mean_density"),
    );
    question.target = 1500.0;
    let error = find(&method, &question).unwrap_err();
    let Error::NoAnswer { min, max, .. } = &error else {
        panic!("{error}");
    };
    assert!(*max < 1500.0 && min < max);
    assert!((max / forward(&method, &question, question.high) - 1.0).abs() < 1e-12);
    assert!(
        error
            .to_string()
            .contains("`column.mean_density` does not come to 1500 kg/m3")
    );
    assert_eq!(error.quantity(), Some(Quantity::Density));
}

#[test]
fn questions_without_sense_are_refused() {
    let method = method();
    let good = question(
        &method,
        ("regulator", "pressure"),
        ("column", "mean_density"),
    );
    let code = |change: &dyn Fn(&mut Question)| {
        let mut question = good.clone();
        change(&mut question);
        find(&method, &question).unwrap_err().code()
    };
    assert_eq!(code(&|question| question.high = question.low), 101);
    assert_eq!(code(&|question| question.high = f64::INFINITY), 101);
    assert_eq!(code(&|question| question.low = f64::NAN), 101);
    assert_eq!(code(&|question| question.target = f64::NAN), 101);
    assert_eq!(code(&|question| question.samples = 1), 101);
    assert_eq!(
        code(&|question| question.output.name = "mean_densty".to_owned()),
        602
    );
    assert_eq!(
        code(&|question| question.output.of = "colum".to_owned()),
        602
    );
    // Where every value is refused, the refusal is the answer.
    let all_refused = code(&|question| (question.low, question.high) = (1.0, 2.0));
    assert!(![101, 405].contains(&all_refused), "{all_refused}");
}

#[test]
fn the_border_between_answers_and_refusals_is_approached() {
    let method = method();
    let mut question = question(
        &method,
        ("pump", "volume_flow_rate"),
        ("method", "delivery_pressure"),
    );
    question.high = 10.0 * question.input.value.unwrap();
    // Just below the limit of the pump, beyond which every flow is refused.
    let limit = method
        .input("pump", "pressure_limit")
        .unwrap()
        .value
        .unwrap();
    question.target = limit - 0.01 * BAR;
    question.samples = 3;
    let found = find(&method, &question).unwrap();
    assert!(found.scan.iter().any(|(_, output)| output.is_err()));
    assert!((found.answers[0].output / question.target - 1.0).abs() < 1e-8);
}

fn uncertain(method: &Method, of: &str, key: &str, u: f64) -> UncertainInput {
    UncertainInput {
        input: method.input(of, key).unwrap(),
        standard_uncertainty: u,
    }
}

fn doubts(method: &Method) -> Vec<UncertainInput> {
    vec![
        uncertain(method, "regulator", "pressure", 0.5 * BAR),
        uncertain(method, "preheater", "wall_temperature", 0.3),
        uncertain(method, "pump", "volume_flow_rate", 0.005 * 3e-6 / 60.0),
        uncertain(method, "column", "length", 1e-4),
    ]
}

#[test]
fn propagation_and_draws_agree_where_the_method_is_nearly_straight() {
    let method = method();
    let inputs = doubts(&method);
    let outputs = [
        Output::new("invented aromatic", "retention_time"),
        Output::new("method", "delivery_pressure"),
    ];
    let budgets = budget(&method, &inputs, &outputs).unwrap();
    let count = 300;
    let drawn = trials(&method, &inputs, &outputs, count, 7).unwrap();
    assert!(drawn.refusals.is_empty());
    for (place, budget) in budgets.iter().enumerate() {
        assert!(budget.contributions.iter().all(|one| one.curvature < 0.05));
        let shares: f64 = budget.contributions.iter().map(|one| one.share).sum();
        assert!((shares - 1.0).abs() < 1e-12);
        let u = budget.standard_uncertainty;
        // Sampling errors of a standard deviation and of a mean from n draws: u/sqrt(2 n) and u/sqrt(n); four of them.
        let n = count as f64;
        let off = drawn.standard_deviation(place) - u;
        assert!(off.abs() < 4.0 * u / (2.0 * n).sqrt(), "{off} of {u}");
        let off = drawn.mean(place) - budget.estimate.value;
        assert!(off.abs() < 4.0 * u / n.sqrt(), "{off} of {u}");
        // Its ends lie at the places 7.475 and 291.525 of the sorted draws, so that eight are cut off on either side. Of a normal
        // distribution it is 3.92 u wide; the sampling error of each end is 2.67 u/sqrt(n), four of them together 0.22 of the width.
        let (low, high) = drawn.coverage_interval(place, 0.95).unwrap();
        let inside = drawn.values[place]
            .iter()
            .filter(|value| (low..=high).contains(*value));
        assert_eq!(inside.count(), 284);
        assert!(((high - low) / (3.92 * u) - 1.0).abs() < 0.22);
    }
}

#[test]
fn a_product_has_the_uncertainty_of_the_textbook() {
    // At constant density the flow rate counts once in the mass flow rate: relative uncertainties are the same.
    let method = method();
    let inputs = [uncertain(
        &method,
        "pump",
        "volume_flow_rate",
        0.01 * 3e-6 / 60.0,
    )];
    let output = [Output::new("mixer", "mass_flow_rate")];
    let budget = &budget(&method, &inputs, &output).unwrap()[0];
    let relative = budget.standard_uncertainty / budget.estimate.value;
    // Counted at delivery: the density at the pump rises a little with the pressure that a larger flow needs.
    assert!(relative > 0.01 && relative < 0.0105, "{relative}");
}

/// How sure a correlation is counts like a setting: half the change of the plates between 85 and 115 % of the estimate.
#[test]
fn the_uncertainty_of_a_correlation_is_propagated() {
    let at = |factor: f64| {
        let law = "diffusion = \"wilke_chang\"";
        let text = PACKED.replacen(law, &format!("{law}\ndiffusion_factor = {factor:?}"), 1);
        read_method(&text).unwrap()
    };
    let output = Output::new("invented aromatic", "apparent_plate_number");
    let plates = |factor: f64| output.value(&at(factor).solve().unwrap()).unwrap().value;
    let method = at(1.0);
    assert_eq!(
        plates(1.0),
        output
            .value(&read_method(PACKED).unwrap().solve().unwrap())
            .unwrap()
            .value
    );
    let inputs = [
        uncertain(&method, "invented aromatic", "diffusion_factor", 0.15),
        uncertain(&method, "regulator", "pressure", 0.5e5),
    ];
    let budget = &budget(&method, &inputs, std::slice::from_ref(&output)).unwrap()[0];
    let first = &budget.contributions[0];
    assert_eq!(first.input.key, "diffusion_factor");
    let expected = 0.5 * (plates(1.15) - plates(0.85)).abs();
    assert!((first.contribution.abs() / expected - 1.0).abs() < 1e-9 && expected > 10.0);
}

/// A factor of 1 changes nothing but what it says: the results stay, and the density of the blend in the column moves by the share that its
/// model states.
#[test]
fn the_models_tell_their_uncertainty_as_inputs() {
    for text in [
        PACKED,
        include_str!("../../../../tests/methods/packed_modifier.toml"),
    ] {
        let method = read_method(text).unwrap();
        let models = model_uncertainties(&method).unwrap();
        let plain = method.solve().unwrap();
        let same = models.method.solve().unwrap();
        assert!((same.delivery_pressure / plain.delivery_pressure - 1.0).abs() < 1e-9);
        let density = &models.inputs[0];
        assert_eq!(density.input.key, "density_factor");
        let moved = models
            .method
            .with(&[(&density.input, 1.0 + density.standard_uncertainty)])
            .unwrap();
        let inlet = &plain.columns[0].inlet;
        let (t, p) = (inlet.temperature(), inlet.pressure());
        let blend = moved.solve().unwrap().columns[0].inlet.fluid().clone();
        let ratio = blend.density(t, p).unwrap() / inlet.fluid().density(t, p).unwrap();
        let stated = inlet.uncertainty(Quantity::Density).unwrap();
        // To first order, and the blend of another density at the pumps is another one.
        assert!(
            ((ratio - 1.0) / stated - 1.0).abs() < 0.05,
            "{ratio} {stated}"
        );
    }
}

/// What a document states is not doubted here, and what no model states is told as unknown.
#[test]
fn a_measured_factor_is_not_doubted_and_an_unknown_doubt_is_told() {
    let text = format!("viscosity_factor = 1.02\n{PACKED}");
    let models = model_uncertainties(&read_method(&text).unwrap()).unwrap();
    let keys: Vec<_> = models.inputs.iter().map(|one| &one.input.key).collect();
    assert_eq!(keys, ["density_factor", "diffusion_factor"]);
    let near = PACKED
        .replace("pressure = \"150 bar\"", "pressure = \"74.5 bar\"")
        .replace("\"40 degC\"", "\"31.5 degC\"")
        .replace("\"3.0 mL/min\"", "\"0.1 mL/min\"");
    let models = model_uncertainties(&read_method(&near).unwrap()).unwrap();
    let unknown: Vec<_> = models
        .unknown
        .iter()
        .map(|(quantity, why)| (*quantity, why.code()))
        .collect();
    assert_eq!(unknown, [(Quantity::Density, 202)]);
}

/// The drop of a packed bed in laminar flow is in proportion to the viscosity of all that flows through it, the modifier that is mixed in
/// on the way included; that of the density, which moves with the pressure, makes the little difference.
#[test]
fn the_uncertainty_of_the_viscosity_is_propagated() {
    for text in [
        PACKED,
        include_str!("../../../../tests/methods/packed_modifier.toml"),
    ] {
        let text = format!("viscosity_factor = 1.0\n{text}");
        let method = read_method(&text).unwrap();
        let inputs = [
            uncertain(&method, "document", "viscosity_factor", 0.02),
            uncertain(&method, "regulator", "pressure", 0.01e5),
        ];
        let output = Output::new("column", "pressure_drop");
        let budget = &budget(&method, &inputs, std::slice::from_ref(&output)).unwrap()[0];
        let first = &budget.contributions[0];
        assert_eq!(first.input.key, "viscosity_factor");
        let relative = first.contribution / budget.estimate.value;
        assert!((relative / 0.02 - 1.0).abs() < 0.05, "{relative}");
        let corrected = text.replacen("= 1.0", "= 1.02", 1);
        let solved = read_method(&corrected).unwrap().solve().unwrap();
        assert!(solved.model.contains("dynamic viscosity times 1.02"));
        let higher = output.value(&solved).unwrap().value;
        assert!(((higher - budget.estimate.value) / first.contribution - 1.0).abs() < 0.02);
    }
    let wrong = format!("viscosity_factor = 20.0\n{PACKED}");
    assert_eq!(read_method(&wrong).unwrap_err().code(), 604);
}

/// A density that is 1 % higher all along the dense path delivers 1 % more mass at the same volume flow, and fills the column with 1 % more.
#[test]
fn the_uncertainty_of_the_density_is_propagated() {
    for text in [
        PACKED,
        include_str!("../../../../tests/methods/packed_modifier.toml"),
    ] {
        let state = "density_temperature = \"40 degC\"\ndensity_pressure = \"160 bar\"";
        let text = format!("density_factor = 1.0\n{state}\n{text}");
        let method = read_method(&text).unwrap();
        let inputs = [
            uncertain(&method, "document", "density_factor", 0.01),
            uncertain(&method, "regulator", "pressure", 0.01e5),
        ];
        let output = Output::new("column", "mean_density");
        let found = &budget(&method, &inputs, std::slice::from_ref(&output)).unwrap()[0];
        let first = &found.contributions[0];
        assert_eq!(first.input.key, "density_factor");
        let relative = first.contribution / found.estimate.value;
        assert!((relative / 0.01 - 1.0).abs() < 0.1, "{relative}");
        let drawn = trials(&method, &inputs, std::slice::from_ref(&output), 60, 7).unwrap();
        assert!(drawn.refusals.is_empty());
        assert!((drawn.standard_deviation(0) / found.standard_uncertainty - 1.0).abs() < 0.3);
        let corrected = text.replacen("= 1.0", "= 1.01", 1);
        let [plain, solved] =
            [&text, &corrected].map(|text| read_method(text).unwrap().solve().unwrap());
        assert!(
            solved.model.contains("specific volume plus -"),
            "{}",
            solved.model
        );
        assert!(!plain.model.contains("specific volume"));
        // No factor and one of 1 are the same to the last bit.
        let without = text
            .replacen("density_factor = 1.0\n", "", 1)
            .replacen(state, "", 1);
        let without = read_method(&without).unwrap().solve().unwrap();
        assert_eq!(without.delivery_pressure, plain.delivery_pressure);
        assert_eq!(without.mass_flow_rate, plain.mass_flow_rate);
    }
    for wrong in [
        "density_factor = 2.0\ndensity_temperature = \"40 degC\"\ndensity_pressure = \"150 bar\"\n",
        "density_factor = 1.01\ndensity_temperature = \"5 degC\"\n",
    ] {
        assert!(read_method(&format!("{wrong}{PACKED}")).is_err());
    }
}

#[test]
fn draws_depend_on_the_seed_and_their_number_alone() {
    let method = method();
    let inputs = doubts(&method);
    let outputs = [Output::new("column", "pressure_drop")];
    let few = trials(&method, &inputs, &outputs, 3, 1).unwrap();
    let more = trials(&method, &inputs, &outputs, 6, 1).unwrap();
    let other = trials(&method, &inputs, &outputs, 3, 2).unwrap();
    assert_eq!(few.values[0], more.values[0][..3]);
    assert_ne!(few.values, other.values);
}

#[test]
fn doubts_without_sense_are_refused() {
    let method = method();
    let outputs = [Output::new("column", "pressure_drop")];
    let code = |inputs: &[UncertainInput]| budget(&method, inputs, &outputs).unwrap_err().code();
    for u in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(code(&[uncertain(&method, "regulator", "pressure", u)]), 101);
    }
    let unstated: Input = method.input("document", "ambient_pressure").unwrap();
    assert_eq!(unstated.value, None);
    assert_eq!(
        code(&[UncertainInput {
            input: unstated,
            standard_uncertainty: 1.0
        }]),
        603
    );
}

#[test]
fn the_same_solutions_do_not_differ() {
    let solution = method().solve().unwrap();
    assert_eq!(compare(&solution, &solution), []);
    let method = method();
    let held = method.input("regulator", "pressure").unwrap();
    let other = method
        .with(&[(&held, 200.0 * BAR)])
        .unwrap()
        .solve()
        .unwrap();
    let differences = compare(&solution, &other);
    let relative: Vec<f64> = differences.iter().map(Difference::relative).collect();
    assert!(relative.is_sorted_by(|one, other| one >= other));
    let delivered = differences
        .iter()
        .find(|one| one.output == Output::new(METHOD, "delivery_pressure"))
        .unwrap();
    assert_eq!(delivered.first, Some(solution.delivery_pressure));
    assert_eq!(delivered.second, Some(other.delivery_pressure));
}

#[test]
fn every_listed_result_is_found_by_its_name() {
    for document in [PACKED, CAPILLARY] {
        let solution = read_method(document).unwrap().solve().unwrap();
        let listed = outputs(&solution);
        assert!(listed.len() > 100);
        for told in &listed {
            assert_eq!(told.output.value(&solution).as_ref(), Ok(told));
        }
        let other = Output::new("column", "speed_of_sound")
            .value(&solution)
            .unwrap();
        let station = solution.station("column").unwrap();
        assert_eq!(other.value, station.state.speed_of_sound().unwrap());
    }
}

#[test]
fn a_map_holds_what_single_methods_tell() {
    let method = method();
    let axis = |of: &str, key: &str, values: &[f64]| Axis {
        input: method.input(of, key).unwrap(),
        values: values.to_vec(),
    };
    let across = axis(
        "regulator",
        "pressure",
        &[100.0 * BAR, 150.0 * BAR, 1.0 * BAR],
    );
    let down = axis("preheater", "wall_temperature", &[308.15, 318.15]);
    let outputs = vec![
        Output::new("column", "mean_density"),
        Output::new(METHOD, "delivery_pressure"),
    ];
    let map = map(&method, across.clone(), down.clone(), outputs).unwrap();
    let changed = method
        .with(&[(&across.input, 150.0 * BAR), (&down.input, 318.15)])
        .unwrap();
    let solution = changed.solve().unwrap();
    assert_eq!(map.values[1][4], solution.delivery_pressure);
    assert_eq!(map.values[0].len(), 6);
    let refused: Vec<_> = map
        .refusals
        .iter()
        .map(|(column, row, _)| (*column, *row))
        .collect();
    assert_eq!(refused, [(2, 0), (2, 1)]);
    assert!(map.values[0][2].is_nan() && map.values[0][5].is_nan());
}

/// A count of 10^14 once ended the process, as no memory holds so many results.
#[test]
fn more_solutions_than_memory_holds_are_refused() {
    let method = method();
    let inputs = [uncertain(&method, "regulator", "pressure", BAR)];
    let outputs = [Output::new("column", "pressure_drop")];
    let mut question = question(
        &method,
        ("regulator", "pressure"),
        ("column", "mean_density"),
    );
    for count in [MOST_SOLUTIONS + 1, 100_000_000_000_000, usize::MAX] {
        let refused = trials(&method, &inputs, &outputs, count, 1).unwrap_err();
        assert_eq!(refused.code(), 104);
        question.samples = count;
        assert_eq!(find(&method, &question).unwrap_err().code(), 104);
    }
    let axis = Axis {
        input: method.input("regulator", "pressure").unwrap(),
        values: vec![150.0 * BAR; 1001],
    };
    let refused = map(&method, axis.clone(), axis, outputs.to_vec());
    assert_eq!(refused.unwrap_err().code(), 104);
}

#[test]
fn what_is_stopped_is_no_refusal() {
    let mut method = method();
    method.path.watch = Watch::new();
    let question = question(
        &method,
        ("regulator", "pressure"),
        ("column", "mean_density"),
    );
    let axis = || Axis {
        input: question.input.clone(),
        values: vec![150.0 * BAR],
    };
    let uncertain = [UncertainInput {
        input: question.input.clone(),
        standard_uncertainty: 0.5 * BAR,
    }];
    let outputs = [question.output.clone()];
    method.path.watch.stop();
    let stopped = [
        map(&method, axis(), axis(), outputs.to_vec()).unwrap_err(),
        trials(&method, &uncertain, &outputs, 3, 0).unwrap_err(),
        budget(&method, &uncertain, &outputs).unwrap_err(),
        find(&method, &question).unwrap_err(),
    ];
    for error in stopped {
        assert_eq!(error.code(), 406, "{error}");
    }
}

/// The band at a detector on a branch is told by name, in text and in JSON; that of a band in gas without a number for its width.
#[test]
fn the_band_at_a_detector_on_a_branch_is_told() {
    let part = |keys: &str| format!("[[part]]\nbranch_of = \"cell tube\"\n{keys}\n");
    let bleed = part(
        "kind = \"linear_restrictor\"\nname = \"bleed\"\ndiameter = \"20 um\"\nlength = \"50 cm\"\ntemperature = \"100 degC\"",
    );
    let tube = part("kind = \"tube\"\nname = \"tube\"\ndiameter = \"0.5 mm\"\nlength = \"5 cm\"");
    let flame = part("kind = \"gas_detector\"\nname = \"flame\"");
    let solved = |parts: &[&str]| {
        let text = format!("{PACKED}\n{}", parts.concat());
        read_method(&text).unwrap().solve().unwrap()
    };
    let solution = solved(&[&bleed, &flame]);
    let detection = solution.detection("flame").unwrap();
    let band = &detection.bands_of_solutes[0];
    let name = format!("{} at flame", band.solute);
    let told = Output::new(&name, "time_variance")
        .value(&solution)
        .unwrap();
    assert_eq!(told.value, band.time_variance);
    assert!(outputs(&solution).contains(&told));
    assert!(to_text(&solution).contains(&format!("Band of {name}")));
    let json = &to_json(&solution)["detections"][1];
    assert_eq!(json["injected_share"], detection.injected_share);
    assert_eq!(json["bands_of_solutes"][0]["time / s"], band.time);
    let in_gas = solved(&[&bleed, &tube, &flame]);
    assert!(to_text(&in_gas).contains("with all parts -"));
    assert!(
        to_json(&in_gas)["detections"][1]["bands_of_solutes"][0]["time_variance / s2"].is_null()
    );
}

/// The velocity in the column stays while the pressure rises and the fluid becomes denser: the flow that does it rises too, and the run of
/// the document that comes back has that velocity at every point, solved anew.
#[test]
fn a_program_holds_the_velocity() {
    let plain = method();
    let pressure = plain.input("regulator", "pressure").unwrap();
    let denser = plain
        .with_program(&pressure, &[(0.0, 120e5), (600.0, 200e5)])
        .unwrap();
    let question = Question {
        input: plain.input("pump", "volume_flow_rate").unwrap(),
        output: Output::new("column", "velocity"),
        target: 4.5e-3,
        low: 1e-6 / 60.0,
        high: 6e-6 / 60.0,
        samples: 4,
    };
    let held = hold(&denser, &question).unwrap();
    assert_eq!((held.times.len(), held.times[16]), (17, 600.0));
    let rises = held
        .answers
        .windows(2)
        .all(|two| two[0].input < two[1].input);
    assert!(rises, "{:?}", held.answers);
    let run = held.method.programmed_run().unwrap();
    let mut met = 0;
    for (time, solution) in run.solutions() {
        let velocity = question.output.value(solution).unwrap().value;
        let is_told = held.times.contains(&time);
        // Between the times told the flow is a chord of a gentle curve.
        let within = if is_told { 1e-6 } else { 2e-4 };
        let off = velocity / question.target - 1.0;
        assert!(off.abs() < within, "{time}: {velocity}");
        met += usize::from(is_told);
    }
    assert_eq!(met, 17);
    // What is programmed already cannot be sought, nor can what no program changes.
    let again = hold(&held.method, &question).unwrap_err();
    assert_eq!(again.code(), 104, "{again}");
    let room = Question {
        input: plain.input("room", "temperature").unwrap(),
        ..question.clone()
    };
    assert_eq!(hold(&denser, &room).unwrap_err().class(), "DocumentError");
    let unreachable = Question {
        target: 1.0,
        ..question
    };
    let error = hold(&denser, &unreachable).unwrap_err();
    assert_eq!((error.code(), error.root().code()), (591, 405), "{error}");
}
