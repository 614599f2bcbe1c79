"""Pictures and reports of the example methods."""

from __future__ import annotations

import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

import densepath as dp
from densepath import demo, plot, report

FOLDER = Path(__file__).parent.parent / "methods"
METHODS = ["packed", "capillary"]


@pytest.fixture(scope="module", params=METHODS)
def solution(request: pytest.FixtureRequest) -> dp.Solution:
    return dp.solve(FOLDER / f"{request.param}.toml")


def is_drawn(figure: Figure) -> bool:
    """Whether a figure renders to something that is not one colour."""
    figure.set_dpi(60)
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    pixels = np.asarray(canvas.buffer_rgba())
    return len(np.unique(pixels.reshape(-1, 4), axis=0)) > 10


@pytest.mark.parametrize("function", [plot.pressure_enthalpy, plot.pressure_density, plot.temperature_entropy])
def test_planes_take_axes_and_return_them(solution: dp.Solution, function: object) -> None:
    figure = Figure()
    axes = figure.subplots()
    assert callable(function)
    assert function(solution, axes=axes) is axes
    assert axes.get_ylabel() == ("temperature [degC]" if function is plot.temperature_entropy else "pressure [bar]")
    assert is_drawn(figure)
    text = " ".join(child.get_text() for child in axes.texts)
    assert all(name in text for name in solution.stations.name)
    assert "liquid + vapour" in text


def test_the_dome_ends_at_the_critical_point(co2: dp.Fluid) -> None:
    axes = plot.dome(co2, "density", lowest_pressure=6e5, axes=Figure().subplots())
    border = axes.lines[0].get_xydata()
    top = border[np.argmax(border[:, 1])]
    point = co2.critical_point()
    assert top == pytest.approx([point.density, point.pressure / 1e5], rel=1e-6)
    assert border[0, 1] == pytest.approx(border[-1, 1], rel=1e-12)


@pytest.mark.parametrize("fluid", dp.substances(), ids=[fluid.name for fluid in dp.substances()])
def test_every_substance_has_its_planes(fluid: dp.Fluid) -> None:
    for function in (plot.pressure_enthalpy, plot.pressure_density, plot.temperature_entropy, plot.isopycnics):
        axes = function(fluid, axes=Figure().subplots())
        assert axes.lines


def test_throttling_is_drawn_at_constant_enthalpy() -> None:
    solution = dp.solve(FOLDER / "packed.toml")
    axes = plot.pressure_enthalpy(solution, axes=Figure().subplots())
    dotted = [line for line in axes.lines if line.get_linestyle() == ":" or "1.2" in str(line._unscaled_dash_pattern)]
    [throttling] = [line for line in dotted if line.get_color() == plot.ACCENT]
    enthalpies = np.asarray(throttling.get_xdata())
    assert enthalpies == pytest.approx(np.full(enthalpies.size, enthalpies[0]), rel=1e-9)


def test_heating_behind_the_regulator_follows_an_isobar(co2: dp.Fluid) -> None:
    solution = dp.solve(FOLDER / "packed.toml")
    axes = plot.temperature_entropy(solution, units="SI", axes=Figure().subplots())
    path = [line for line in axes.lines if line.get_color() == plot.ACCENT]
    entropy, temperature = path[-2].get_xydata().T
    heated = solution.station("regulator").state
    assert (entropy[-1], temperature[-1]) == (heated.specific_entropy, heated.temperature)
    for s, t in path[-2].get_xydata()[1:-1:6]:
        assert co2.state(pressure=heated.pressure, specific_entropy=s).temperature == pytest.approx(t, rel=1e-7)


def test_isopycnics_keep_their_density(co2: dp.Fluid) -> None:
    axes = plot.isopycnics(co2, [400.0, 800.0], units="SI", axes=Figure().subplots())
    boiling = axes.lines[2].get_xydata()
    for line, density in zip(axes.lines, (400.0, 800.0), strict=False):
        temperature, pressure = line.get_xydata().T
        assert co2.density(temperature, pressure) == pytest.approx(np.full(temperature.size, density), rel=1e-9)
        # Nothing is drawn where the density belongs to two phases.
        assert temperature.min() > 280.0
    assert boiling[:, 1] == pytest.approx([co2.saturation(temperature=t).pressure for t in boiling[:, 0]], rel=1e-12)


def test_pseudo_critical_lines_are_those_of_the_fluid(co2: dp.Fluid) -> None:
    axes = plot.pseudo_critical_lines(co2, highest_temperature=340.0, units="SI", axes=Figure().subplots())
    for line, definition in zip(axes.lines, ("heat_capacity", "density_gradient", "expansivity"), strict=False):
        temperature, pressure = line.get_xydata()[-1]
        assert temperature == pytest.approx(340.0)
        assert co2.pseudo_critical(temperature, definition=definition).pressure == pressure  # type: ignore[arg-type]


def test_flows_of_restrictors_share_one_unit(co2: dp.Fluid) -> None:
    bores = {bore: dp.LinearRestrictor(diameter=bore * 1e-6, length=0.5) for bore in (5, 30)}
    pressures = [100e5, 200e5]
    axes = plot.restrictor_map({f"{bore} um": one for bore, one in bores.items()}, co2, 373.15, pressures, 101325.0, axes=Figure().subplots())
    assert axes.get_ylabel() == "mass flow rate [g/min]"
    for line, one in zip(axes.lines, bores.values(), strict=True):
        flows = [one.mass_flow_rate(co2, 373.15, p, 101325.0) * 6e4 for p in pressures]
        assert np.asarray(line.get_ydata()) == pytest.approx(flows, rel=1e-12)
    gaps = plot.restrictor_map({"7 um": bores[5]}, co2, 373.15, [-1.0, 100e5], 101325.0, units="SI", axes=Figure().subplots())
    assert np.isnan(np.asarray(gaps.lines[0].get_ydata())).tolist() == [True, False]


def test_a_map_of_small_flows_has_one_unit() -> None:
    flow = ("method", "mass_flow_rate")
    plane = dp.map_method(
        FOLDER / "capillary.toml", across=(("pump", "pressure"), [250e5, 280e5]), down=(("restrictor", "diameter"), [5e-6, 40e-6]), outputs=[flow]
    )
    axes = plot.method_map(plane, flow, axes=Figure().subplots())
    assert axes.get_title(loc="left") == "method: mass flow rate [g/min]"
    levels = axes.collections[0].levels
    assert levels[-1] == pytest.approx(plane.points["method: mass_flow_rate"].max() * 6e4, rel=0.5)


@pytest.mark.parametrize("function", [plot.profile, plot.path_profile, plot.pressure_density])
def test_axes_in_si_units(solution: dp.Solution, function: object) -> None:
    assert callable(function)
    drawn = function(solution, units="SI", **({"figure": Figure()} if function is plot.path_profile else {"axes": Figure().subplots()}))
    axes = drawn.axes[0] if function is plot.path_profile else drawn
    assert axes.get_ylabel() == "pressure [Pa]"


def test_profiles_pass_through_the_stations(solution: dp.Solution) -> None:
    axes = plot.profile(solution, "temperature", axes=Figure().subplots())
    marks = axes.lines[1].get_ydata()
    assert marks == pytest.approx(dp.units.to_celsius(solution.stations.temperature), rel=1e-12)
    figure = plot.path_profile(solution, figure=Figure())
    assert len(figure.axes) == 3
    assert is_drawn(figure)


def test_the_budget_names_every_part(solution: dp.Solution) -> None:
    assert solution.bands is not None
    axes = plot.band_budget(solution, axes=Figure().subplots())
    assert [label.get_text() for label in axes.get_yticklabels()] == list(solution.bands.rows.part)
    assert axes.get_xscale() == "log"


def test_a_solution_without_bands_has_no_budget() -> None:
    text = (FOLDER / "packed.toml").read_text(encoding="utf-8")
    without = dp.solve(re.sub(r"\[solute\].*?\n\n", "", text, flags=re.DOTALL))
    with pytest.raises(ValueError, match="no bands"):
        plot.band_budget(without, axes=Figure().subplots())
    assert "band_budget" not in report.figures(without)
    assert "no band is followed" in report.to_html(without)


def test_the_look_is_readable_in_grey() -> None:
    def lightness(colour: str) -> float:
        red, green, blue = (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
        return 0.299 * red + 0.587 * green + 0.114 * blue

    shades = sorted(lightness(colour) for colour in (plot.INK, plot.SHADE, plot.WASH, plot.FROST))
    assert all(second - first > 0.05 for first, second in zip(shades, shades[1:], strict=False))
    assert abs(lightness(plot.ACCENT) - lightness(plot.INK)) > 0.25


class Page(HTMLParser):
    """Counts tags and notes what a page asks for from outside."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.count: dict[str, int] = {}
        self.outside: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self.count[tag] = self.count.get(tag, 0) + 1
        if tag not in ("meta", "img", "br"):
            self.open.append(tag)
        self.outside += [value or "" for name, value in attributes if name in ("src", "href") and "data:" not in str(value)]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_a_report_is_one_whole_page(solution: dp.Solution, tmp_path: Path) -> None:
    file = report.write(solution, tmp_path / "report.html")
    text = file.read_text(encoding="utf-8")
    page = Page(text)
    assert page.open == []
    assert page.outside == []
    # All but that of a run in time.
    assert page.count["img"] == len(report.FIGURES) - 1
    assert page.count["table"] >= 4
    assert "licensed practice" in text
    assert text.count('<li class="caution">') == sum(notice.severity == "caution" for notice in solution.notices)
    assert text.index("Cautions") < text.index("<h2>Stations")
    for name in solution.stations.name:
        assert name in text


def test_a_report_tells_what_was_set_and_takes_the_colours_of_its_reader(solution: dp.Solution) -> None:
    text = report.to_html(solution, {})
    told = text[text.index("What was set") : text.index("Accuracy")]
    stated = [row for row in dp.method_inputs(solution.document) if row["value"] == row["value"]]
    assert told.count("<tr>") == 1 + len(stated)
    length = next(row["value"] for row in stated if (row["of"], row["key"]) == ("column", "length"))
    value, unit = report.told("length", length).split()
    assert f'<td class="word">column</td><td class="word">length</td><td>{value}</td><td class="word">{unit}</td>' in told
    assert "prefers-color-scheme: dark" in text and "@media print" in text


def test_a_report_in_markdown_says_the_same(solution: dp.Solution, tmp_path: Path) -> None:
    text = report.write(solution, tmp_path / "report.md").read_text(encoding="utf-8")
    assert text.index("**caution**") < text.index("## Stations")
    rows = [line.split("|") for line in text[text.index("## Stations") : text.index("## Band")].splitlines() if line.startswith("| ")]
    assert [cells[1].strip() for cells in rows[2:]] == list(solution.stations.name)
    assert len({len(cells) for cells in rows}) == 1
    assert all(f"| {row['of']} | {row['key'].replace('_', ' ')} |" in text for row in dp.method_inputs(solution.document) if row["value"] == row["value"])


BRANCH = """
[[part]]
kind = "packed_column"
name = "second column"
branch_of = "cell tube"
length = "5 cm"
diameter = "4.6 mm"
particle_diameter = "5 um"
interparticle_porosity = 0.4
total_porosity = 0.7

[[part]]
kind = "linear_restrictor"
name = "bleed"
branch_of = "cell tube"
diameter = "20 um"
length = "49.5 cm"
temperature = "100 degC"
"""

GRADIENT = """
[[program]]
part = "modifier pump"
key = "volume_flow_rate"
time = ["0 min", "5 min"]
value = ["0.05 mL/min", "0.6 mL/min"]
"""


def test_the_way_of_the_stream_shows_every_part_once_and_its_branches_aside() -> None:
    text = (FOLDER / "packed.toml").read_text(encoding="utf-8")
    solution = dp.solve(text + BRANCH)
    figure = Figure(figsize=(8.0, 5.0))
    axes = plot.flow_path(solution, axes=figure.subplots())
    assert is_drawn(figure)
    said = [child.get_text() for child in axes.texts]
    for name in (*solution.stations.name, *solution.branches.name):
        assert said.count(name) == 1
    # The branch stands below its tee and before what goes on.
    places = {child.get_text(): child.get_position()[1] for child in axes.texts}
    assert places["cell tube"] < places["second column"] < places["bleed"] < places["UV cell"]
    boxes = [child.get_window_extent() for child in axes.texts]
    assert not any(one.overlaps(other) for place, one in enumerate(boxes) for other in boxes[:place])
    # Behind the restrictor and the regulator the line is dashed.
    assert sum(line.get_linestyle() == "--" for line in axes.lines) == 1


def test_a_run_in_time_tells_where_it_comes_nearest_to_a_second_phase() -> None:
    text = (FOLDER / "packed_modifier.toml").read_text(encoding="utf-8")
    solution = dp.solve(text + GRADIENT)
    nearest = solution.nearest_split()
    assert nearest is not None
    time, station = nearest
    # Not at its ends, which have wider margins, but where little of the modifier is in: as a steady flow of that moment says.
    assert 0.0 < time < 300.0

    def margin(flow: float) -> float:
        steady = dp.solve(text.replace('"0.3 mL/min"', f'"{flow!r} mL/min"')).nearest_split()
        assert steady is not None
        assert (steady[0], steady[1].name) == (0.0, station.name)
        assert steady[1].single_phase_margin is not None
        return steady[1].single_phase_margin

    assert station.single_phase_margin is not None
    assert station.single_phase_margin < min(margin(0.05), margin(0.6))
    assert station.single_phase_margin == pytest.approx(margin(0.05 + 0.55 * time / 300.0), rel=1e-6)
    figure = report.figures(solution)["program_history"]
    assert [axes.get_ylabel() for axes in figure.axes] == ["pressure [bar]", "amount fraction", "density [kg/m3]"]
    assert is_drawn(figure)
    page = report.to_html(solution, {})
    assert f"In the run {station.name} comes nearest to a second phase, {time:.4g} s after the injection" in page


def test_a_run_in_time_shows_every_column() -> None:
    text = (FOLDER / "packed.toml").read_text(encoding="utf-8") + BRANCH
    program = '[[program]]\npart = "regulator"\nkey = "pressure"\ntime = ["0 min", "5 min"]\nvalue = ["150 bar", "200 bar"]\n'
    solution = dp.solve(text + program)
    first, second = (solution.program_history(column=name) for name in ("column", "second column"))
    assert first == solution.program_history()
    np.testing.assert_array_equal(first.delivery_pressure, second.delivery_pressure)
    # The second column begins behind the first one, and at the start has its steady flow.
    assert (second.inlet_pressure < first.outlet_pressure).all()
    np.testing.assert_allclose(second.outlet_density[0], solution.columns[1].outlet.density, rtol=1e-9)
    with pytest.raises(dp.ArgumentError, match="there are: column, second column"):
        solution.program_history(column="UV cell")
    figure = report.figures(solution)["program_history"]
    assert [axes.get_ylabel() for axes in figure.axes] == ["pressure [bar]", "", "density [kg/m3]", ""]
    assert [axes.get_title(loc="left") for axes in figure.axes] == ["column", "second column", "", ""]
    assert is_drawn(figure)


def test_a_run_too_near_to_a_second_phase_is_told() -> None:
    text = (FOLDER / "packed_modifier.toml").read_text(encoding="utf-8") + GRADIENT
    hot = text.replace('"40 degC"', '"60 degC"').replace('pressure = "150 bar"', 'pressure = "108 bar"')
    near = [notice for notice in dp.solve(hot).chromatogram(0.0, 600.0, 20.0).notices if notice.code == "thin_margin"]
    assert len(near) == 1
    assert "s after the injection" in near[0].text
    hotter = text.replace('"40 degC"', '"60 degC"').replace('pressure = "150 bar"', 'pressure = "100 bar"')
    with pytest.raises(dp.FlowError, match="s after the injection: in"):
        dp.solve(hotter.replace('"0.3 mL/min"', '"0.02 mL/min"')).chromatogram(0.0, 600.0, 20.0)


def test_words_of_a_document_are_no_markup() -> None:
    text = (FOLDER / "packed.toml").read_text(encoding="utf-8")
    solution = dp.solve(text.replace('"Purity check', '"<b>Purity</b> & check').replace('"UV cell"', '"<UV> cell"'))
    page = report.to_html(solution, {})
    assert "<b>Purity" not in page
    assert "&lt;UV&gt; cell" in page
    assert "<UV>" not in solution._repr_html_()


def test_the_demonstration_leaves_its_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    methods = [str(FOLDER / f"{name}.toml") for name in METHODS]
    assert demo.main([*methods, "--folder", str(tmp_path / "out")]) == 0
    files = {file.name for file in (tmp_path / "out").iterdir()}
    for name in METHODS:
        assert {f"{name}.html", f"{name}_solution.json"} <= files
        assert {f"{name}_{picture}.png" for picture in report.FIGURES if picture != "program_history"} <= files
    printed = capsys.readouterr().out
    assert "[2/2] solving" in printed
    assert max(len(line) for line in printed.split("written:")[0].splitlines() if "solving" not in line) <= 120


def test_the_demonstration_tells_what_fails(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert demo.main([str(tmp_path / "missing.toml"), "--folder", str(tmp_path)]) == 1
    assert "cannot read" in capsys.readouterr().err


def test_the_package_needs_no_matplotlib() -> None:
    program = "import sys; sys.modules['matplotlib'] = None; import densepath; print(densepath.Fluid('CO2').name)"
    result = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "carbon dioxide"


def test_the_critical_line_joins_the_critical_points(solution: dp.Solution) -> None:
    axes = plot.critical_locus("carbon dioxide", "acetone", solution=solution, axes=Figure().subplots())
    ends = [dp.Fluid(name).critical_point() for name in ("carbon dioxide", "acetone")]
    lines = [line.get_data() for line in axes.get_lines() if line.get_linewidth() == 1.4]
    places = [(float(x[place]), float(y[place])) for x, y in lines for place in (0, -1)]
    for end in ends:
        # The line begins and ends at a trace of the other substance.
        wanted = (dp.units.to_celsius(end.temperature), end.pressure / 1e5)
        assert any(x == pytest.approx(wanted[0], abs=0.2) and y == pytest.approx(wanted[1], rel=1e-2) for x, y in places)
    [path] = [line for line in axes.get_lines() if line.get_color() == plot.ACCENT]
    assert len(path.get_xdata()) == len(solution.stations)


def test_a_mixture_has_a_plane_without_a_dome() -> None:
    mixture = dp.Fluid({"carbon dioxide": 0.9, "acetone": 0.1})
    axes = plot.pressure_density(mixture, isotherms_degc=(40.0,), axes=Figure().subplots())
    assert len(axes.get_lines()) == 1


def test_a_chromatogram_is_drawn_with_its_names(solution: dp.Solution) -> None:
    assert solution.bands is not None
    record = solution.chromatogram(0.0, 1.5 * solution.bands.time, 2.0)
    figure = Figure()
    axes = plot.chromatogram(record, axes=figure.subplots())
    assert [text.get_text() for text in axes.texts] == list(record.peaks.solute)
    assert max(axes.lines[0].get_ydata()) == pytest.approx(1.0)
    assert is_drawn(figure)


def test_residuals_of_retention_are_drawn() -> None:
    density = np.linspace(600, 900, 12)
    k = np.exp(6 - 7e-3 * density + 0.02 * np.sin(density))
    fit = dp.fit_retention(k, np.full(12, 313.15), density, ["constant", "density"])
    figure = Figure()
    axes = plot.retention_residuals(fit, axes=figure.subplots())
    marks = np.asarray(axes.collections[0].get_offsets())
    assert marks[:, 1] == pytest.approx(fit.runs.residual)
    assert is_drawn(figure)


def test_regions_of_two_phases_reach_their_critical_point(solution: dp.Solution) -> None:
    axes = plot.pressure_composition("carbon dioxide", "acetone", [313.15], solution=solution, axes=Figure().subplots())
    diagram = dp.isothermal_phase_diagram("carbon dioxide", "acetone", 313.15)
    [dot] = [line for line in axes.get_lines() if line.get_marker() == "o" and line.get_markersize() == 4]
    assert dot.get_xdata() == pytest.approx(diagram.critical_points.amount_fraction)
    assert dot.get_ydata() == pytest.approx(diagram.critical_points.pressure / 1e5)
    [path] = [line for line in axes.get_lines() if line.get_color() == plot.ACCENT]
    assert list(path.get_xdata()) == [0.0] * len(solution.stations)


def test_a_map_of_a_method_is_drawn_with_its_refusals() -> None:
    methods = Path(__file__).parent.parent / "methods"
    margin = ("method", "delivery_pressure")
    pressures = np.linspace(80e5, 200e5, 5)
    plane = dp.map_method(
        methods / "packed.toml",
        across=(("regulator", "pressure"), [*pressures, 500e5]),
        down=(("preheater", "wall_temperature"), [308.15, 318.15, 328.15]),
        outputs=[margin],
    )
    figure = Figure()
    axes = plot.method_map(plane, margin, axes=figure.subplots())
    [crosses] = [line for line in axes.get_lines() if line.get_marker() == "x"]
    refused = np.isnan(plane.points["method: delivery_pressure"])
    assert refused.reshape(3, 6)[:, 5].all()
    assert crosses.get_xdata() == pytest.approx(plane.points["regulator: pressure"][refused] / 1e5)
    assert axes.get_xlabel() == "regulator: pressure [bar]"
    assert axes.get_ylabel() == "preheater: wall temperature [degC]"
    assert is_drawn(figure)
    with pytest.raises(KeyError):
        plot.method_map(plane, ("method", "no such thing"))
