"""Questions about a method: inverse questions, uncertainty, differences, maps."""

import pickle
from pathlib import Path

import numpy as np
import pytest

import densepath as dp


METHODS = Path(__file__).parent.parent / "methods"
PACKED = METHODS / "packed.toml"
REGULATOR = ("regulator", "pressure")
OVEN = ("preheater", "wall_temperature")
DENSITY = ("column", "mean_density")


def test_the_inputs_and_results_of_a_method_have_names():
    inputs = dp.method_inputs(PACKED)
    row = next(row for row in inputs if (row["of"], row["key"]) == REGULATOR)
    assert row["value"] == 150e5 and row["unit"] == "Pa"
    outputs = dp.method_outputs(PACKED)
    told = {(row["of"], row["name"]): row["value"] for row in outputs}
    solution = dp.solve(PACKED)
    assert told["method", "delivery_pressure"] == solution.delivery_pressure
    assert told["column", "pressure_drop"] == solution.column.pressure_drop
    assert told["invented aromatic", "retention_time"] == solution.bands.retention_time


def test_an_answer_put_back_leads_to_the_target():
    found = dp.find_input(PACKED, input=REGULATOR, output=DENSITY, target=800.0, bounds=(100e5, 250e5), samples=8)
    assert found.answers.output == pytest.approx([800.0], rel=1e-8)
    text = PACKED.read_text().replace('pressure = "150 bar"', f'pressure = "{float(found.answers.input[0])!r} Pa"')
    column = dp.solve(text).column
    assert 0.5 * (column.inlet.density + column.outlet.density) == pytest.approx(800.0, rel=1e-6)
    assert len(found.scan) == 8 and len(found.unresolved) == 0
    assert pickle.loads(pickle.dumps(found)) == found


def test_what_cannot_be_had_is_refused_with_its_range():
    with pytest.raises(dp.ConvergenceError, match="does not come to 1500 kg/m3") as caught:
        dp.find_input(PACKED, input=REGULATOR, output=DENSITY, target=1500.0, bounds=(100e5, 250e5), samples=3)
    error = caught.value
    assert error.code == 405 and error.quantity == "density" and error.value == 1500.0
    assert error.min < error.max < 1500.0
    with pytest.raises(dp.DocumentError, match="regulater") as caught:
        dp.find_input(PACKED, input=("regulater", "pressure"), output=DENSITY, target=800.0, bounds=(1e7, 2e7))
    assert caught.value.hint == "did you mean `regulator`?"


def test_the_budget_is_the_sum_of_its_contributions():
    (budget,) = dp.uncertainty_budget(PACKED, {REGULATOR: 0.5e5, OVEN: 0.3}, [DENSITY])
    rows = budget.contributions
    assert budget.unit == "kg/m3"
    assert budget.standard_uncertainty == pytest.approx(np.hypot(*rows.contribution), rel=1e-14)
    assert rows.share.sum() == pytest.approx(1.0, abs=1e-14)
    # By hand, from two solutions.
    sides = [
        dp.solve(PACKED.read_text().replace('pressure = "150 bar"', f'pressure = "{bar} bar"')).column for bar in (149.5, 150.5)
    ]
    low, high = (0.5 * (side.inlet.density + side.outlet.density) for side in sides)
    regulator = rows.of.index("regulator")
    assert rows.contribution[regulator] == pytest.approx(0.5 * (high - low), rel=1e-9)
    with pytest.raises(dp.ArgumentError):
        dp.uncertainty_budget(PACKED, {"regulator": 1.0}, [DENSITY])


def test_draws_are_those_of_their_seed():
    ask = lambda count, seed: dp.draw_trials(PACKED, {REGULATOR: 0.5e5}, [DENSITY], count=count, seed=seed)
    few, more = ask(10, 3), ask(20, 3)
    name = "column: mean_density"
    assert np.array_equal(few.draws[name], more.draws[name][:10])
    assert not np.array_equal(few.draws[name], ask(10, 4).draws[name])
    row = more.summary[0]
    assert row["mean"] == pytest.approx(more.draws[name].mean(), rel=1e-14)
    assert row["standard_deviation"] == pytest.approx(more.draws[name].std(ddof=1), rel=1e-10)
    low, high = np.quantile(more.draws[name], [0.025, 0.975])
    assert (row["low"], row["high"]) == pytest.approx((low, high), rel=1e-14)
    assert len(more.refusals) == 0


def test_two_methods_differ_by_what_was_changed():
    text = PACKED.read_text()
    changed = text.replace('pressure = "150 bar"', 'pressure = "160 bar"')
    rows = dp.compare_methods(PACKED, changed)
    assert np.all(np.diff(rows.relative) <= 0.0)
    row = next(row for row in rows if (row["of"], row["name"]) == ("method", "delivery_pressure"))
    assert row["first"] == dp.solve(PACKED).delivery_pressure
    assert row["second"] == dp.solve(changed).delivery_pressure
    assert len(dp.compare_methods(text, text)) == 0


def test_a_map_is_made_of_single_methods():
    plane = dp.map_method(
        PACKED, across=(REGULATOR, np.array([120e5, 150e5, 1e5])), down=(OVEN, [310.0, 320.0]), outputs=[DENSITY, ("method", "delivery_pressure")]
    )
    assert plane.points["regulator: pressure"].tolist() == [120e5, 150e5, 1e5] * 2
    refused = np.isnan(plane.points["column: mean_density"])
    assert refused.tolist() == [False, False, True] * 2
    assert len(plane.refusals) == 2 and all(plane.refusals.why)
    single = dp.find_input(
        PACKED, input=OVEN, output=("method", "delivery_pressure"), target=plane.points["method: delivery_pressure"][4], bounds=(315.0, 325.0), samples=3
    )
    assert single.answers.input == pytest.approx([320.0], abs=1e-6)


def test_the_models_state_their_doubts():
    document, models, unknown = dp.model_uncertainties(PACKED)
    inlet = dp.solve(PACKED).column.inlet
    assert models["document", "viscosity_factor"] == inlet.uncertainty("dynamic_viscosity")
    assert unknown == {}
    (plain,) = dp.uncertainty_budget(PACKED, {REGULATOR: 0.5e5}, [DENSITY])
    (budget,) = dp.uncertainty_budget(document, {REGULATOR: 0.5e5, **models}, [DENSITY])
    assert abs(budget.value / plain.value - 1.0) < 1e-9
    assert budget.standard_uncertainty > plain.standard_uncertainty
    # The density moves with its factor: the share of its own uncertainty, at the inlet, is nearly that at the mean.
    (row,) = [row for row in budget.contributions if row["key"] == "density_factor"]
    assert abs(row["contribution"] / (budget.value * models["document", "density_factor"]) - 1.0) < 0.1


def test_a_program_holds_a_result():
    program = '[[program]]\npart = "regulator"\nkey = "pressure"\ntime = ["0 min", "5 min"]\nvalue = ["150 bar", "200 bar"]\n'
    text = PACKED.read_text(encoding="utf-8") + program
    asked = {"input": ("pump", "volume_flow_rate"), "output": ("column", "velocity"), "target": 4e-3}
    document, points = dp.hold_output(text, bounds=(1e-8, 1e-7), **asked)
    assert list(points.time[[0, -1]]) == [0.0, 300.0]
    assert max(abs(points.output / 4e-3 - 1.0)) < 1e-6
    # More flow in proportion to the mass in the column: the velocity stays while the density rises.
    history = dp.solve(document).program_history()
    mass = history.mass_flow_rate / history.outlet_density
    assert max(abs(mass / mass[0] - 1.0)) < 1e-3
    with pytest.raises(dp.ArgumentError, match="no program of the method changes"):
        dp.hold_output(document, bounds=(1e-8, 1e-7), **asked)
    with pytest.raises(dp.DocumentError, match="nothing changes in time"):
        dp.hold_output(PACKED, bounds=(1e-8, 1e-7), **asked)
