"""Bands, laws of retention and chromatograms against scipy."""

from __future__ import annotations

import copy
import pickle
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from numpy.typing import NDArray
from scipy.integrate import quad, solve_ivp
from scipy.interpolate import CubicSpline, RectBivariateSpline
from scipy.linalg import expm, solve_banded
from scipy.optimize import curve_fit
from scipy.signal import fftconvolve

import densepath as dp

METHODS = Path(__file__).parent.parent / "methods"
Array = NDArray[np.float64]


def table() -> tuple[Array, Array, Array]:
    """Temperature, density and modifier fraction of 60 runs."""
    draw = np.random.default_rng(7)
    return draw.uniform(303, 343, 60), draw.uniform(600, 900, 60), draw.uniform(0.02, 0.3, 60)


def noisy(ln_k: Array) -> Array:
    return np.asarray(np.exp(ln_k + np.random.default_rng(8).normal(0, 0.01, ln_k.size)))


def compare(fit: dp.RetentionFit, parameters: Array, covariance: Array) -> None:
    assert fit.coefficients.coefficient == pytest.approx(parameters, rel=1e-8)
    assert fit.coefficients.standard_error == pytest.approx(np.sqrt(np.diag(covariance)), rel=1e-6)
    ours = np.array([fit.covariance[term] for term in fit.coefficients.term])
    assert ours == pytest.approx(covariance, rel=1e-5, abs=1e-9 * np.abs(covariance).max())


LINEAR = {
    "constant": lambda t, rho, x: np.ones_like(t),
    "density": lambda t, rho, x: rho,
    "density_squared": lambda t, rho, x: rho**2,
    "reciprocal_temperature": lambda t, rho, x: 1 / t,
    "modifier": lambda t, rho, x: x,
    "modifier_squared": lambda t, rho, x: x**2,
    "log_modifier": lambda t, rho, x: -np.log(x),
}


@pytest.mark.parametrize("weighted", [False, True])
@pytest.mark.parametrize(
    "terms",
    [
        ["constant", "density"],
        ["constant", "density", "density_squared", "reciprocal_temperature"],
        ["constant", "density", "reciprocal_temperature", "modifier", "modifier_squared"],
        ["constant", "density", "log_modifier"],
    ],
)
def test_a_linear_fit_agrees_with_scipy(terms: list[str], weighted: bool) -> None:
    t, rho, x = table()
    k = noisy(4 - 9e-3 * rho + 2e-6 * rho**2 + 800 / t - 5 * x + 4 * x**2 - 0.2 * np.log(x))
    sigma = np.linspace(0.5, 2.0, t.size) if weighted else np.ones(t.size)
    fit = dp.fit_retention(k, t, rho, terms, modifier_fraction=x, relative_uncertainty=sigma)
    design = np.stack([LINEAR[term](t, rho, x) for term in terms], axis=1)
    # Columns of one size, so that scipy's own tolerance does not matter.
    size = np.abs(design).max(axis=0)

    def model(_: object, *p: float) -> Array:
        return np.asarray(design / size @ np.array(p))

    def jacobian(_: object, *p: float) -> Array:
        return np.asarray(design / size)

    start = np.ones(len(terms))
    found, covariance = curve_fit(model, t, np.log(k), p0=start, sigma=sigma, jac=jacobian, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    compare(fit, found / size, covariance / np.outer(size, size))
    residuals = np.log(k) - model(None, *found)
    assert fit.runs.residual == pytest.approx(residuals, abs=1e-9)
    weighed = design / sigma[:, None]
    factor, _ = np.linalg.qr(weighed / size)
    assert fit.runs.leverage == pytest.approx((factor**2).sum(axis=1), rel=1e-9)
    assert fit.degrees_of_freedom == t.size - len(terms)


def test_the_fit_for_gradients_agrees_with_scipy() -> None:
    t, rho, x = table()
    truth = (5.0, -4e-3, 25.0, 2.0)

    def model(_: object, a: float, b: float, s_1: float, s_2: float) -> Array:
        return np.asarray(a + b * rho + 2 * np.log(1 + s_2 * x) - s_1 * x / (1 + s_2 * x))

    k = noisy(model(None, *truth))
    terms = ["constant", "density", "gradient_slope", "gradient_curvature"]
    fit = dp.fit_retention(k, t, rho, terms, modifier_fraction=x)

    def jacobian(_: object, a: float, b: float, s_1: float, s_2: float) -> Array:
        opened = 1 + s_2 * x
        return np.stack([np.ones_like(x), rho, -x / opened, 2 * x / opened + s_1 * x**2 / opened**2], axis=1)

    found, covariance = curve_fit(
        model, t, np.log(k), p0=truth, jac=jacobian, method="trf", x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    compare(fit, found, covariance)


def test_a_table_that_does_not_tell_is_refused_by_name() -> None:
    t, rho, _ = table()
    with pytest.raises(dp.ConvergenceError, match="reciprocal_temperature") as caught:
        dp.fit_retention(np.exp(5 - 6e-3 * rho), [313.15] * 60, rho, ["constant", "density", "reciprocal_temperature"])
    assert caught.value.code == 404
    fit = dp.fit_retention(np.exp(5 - 6e-3 * rho), t, rho, ["constant", "density"])
    with pytest.raises(dp.RangeError):
        fit.law.retention_factor(313.15, 950.0)
    with pytest.raises(dp.ArgumentError):
        dp.fit_retention([1.0], [313.15], [800.0], ["colour"])
    with pytest.raises(dp.ArgumentError):
        dp.fit_retention([1.0], [313.15], [800.0, 900.0], ["constant"])


def test_laws_are_values(co2: dp.Fluid) -> None:
    law = dp.RetentionLaw({"constant": 6.0, "density": -7e-3, "reciprocal_temperature": 500.0}, density=(300.0, 1000.0))
    for twin in (pickle.loads(pickle.dumps(law)), copy.deepcopy(law), dp.RetentionLaw(**law.to_dict())):
        assert twin == law
    state = co2.state(temperature=313.15, pressure=150e5)
    k = [law.retention_factor(t, co2.density(t, 150e5)) for t in (313.14, 313.16)]
    slope = np.log(k[1] / k[0]) / (1 / 313.16 - 1 / 313.14)
    ours = law.transfer_enthalpy_at_pressure(313.15, state.density, state.isobaric_expansivity)
    assert ours == pytest.approx(-8.31446261815324 * slope, rel=1e-5)
    line = dp.van_t_hoff([303.15, 313.15, 323.15], np.exp(-2 + 900 / np.array([303.15, 313.15, 323.15])))
    assert line.transfer_enthalpy == pytest.approx(-900 * 8.31446261815324, rel=1e-9)
    assert pickle.loads(pickle.dumps(line)) == line


def moving(z: float, t: float) -> tuple[float, float, float]:
    """A column whose density falls along it, with a gradient of composition that moves with the mobile phase."""
    u = 4e-3 * (1 + 1.5 * z)
    x = np.clip((t - z / 4e-3) / 240, 0, 1)
    return u, float(np.exp(2.2 + 2 * z - 4 * x)), 2e-5 * (1 + z)


def test_a_band_in_a_gradient_agrees_with_fine_steps_of_scipy() -> None:
    def slopes(t: float, y: Array) -> list[float]:
        z, variance = y
        u, k, h = moving(z, t)
        step = 1e-6
        velocity = [moving(at, t)[0] / (1 + moving(at, t)[1]) for at in (z + step, z - step)]
        v = u / (1 + k)
        return [v, (velocity[0] - velocity[1]) / step * variance + h * v]

    def end(t: float, y: Array) -> float:
        return float(y[0] - 0.25)

    end.terminal = True  # type: ignore[attr-defined]
    start = [0.0, 0.0]
    result = solve_ivp(slopes, (0, 2000), start, events=end, rtol=1e-10, atol=1e-14, max_step=0.1)
    time, (_, along) = result.t_events[0][0], result.y_events[0][0]
    u, k, _ = moving(0.25, time)
    ours = dp.travel(0.25, moving)
    assert ours[0] == pytest.approx(time, rel=1e-7)
    assert ours[1] == pytest.approx(along * ((1 + k) / u) ** 2, rel=1e-5)


def test_a_band_agrees_with_finite_volumes_of_convection_and_diffusion() -> None:
    """Zone velocity v and dispersion H v/2 on a fixed grid, central in place and time; mean and variance of what leaves."""
    length, cells, dt = 0.25, 1000, 0.2
    dz = length / cells
    faces = np.arange(cells + 1) * dz

    def field(at: Array, t: float) -> tuple[Array, Array]:
        u = 4e-3 * (1 + 1.5 * at)
        x = np.clip((t - at / 4e-3) / 240, 0, 1)
        return u / (1 + np.exp(2.2 + 2 * at - 4 * x)), 2e-4 * (1 + at)

    centre, width = 60.0, 4.0
    amount = np.zeros(cells)
    middles = np.arange(0.5 * dt, 420, dt)
    leaving = np.zeros(middles.size)
    for step, t in enumerate(middles):
        v, h = field(faces, t)
        spread = 0.5 * h * v / dz
        onward = np.append(0.5 * v[1:-1] + spread[1:-1], v[-1])
        back = 0.5 * v[1:-1] - spread[1:-1]
        diagonal = -onward
        diagonal[1:] += back
        rate = diagonal * amount
        rate[1:] += onward[:-1] * amount[:-1]
        rate[:-1] -= back * amount[1:]
        half = 0.5 * dt / dz
        right = amount + half * rate
        right[0] += dt / dz * np.exp(-0.5 * ((t - centre) / width) ** 2) / (width * np.sqrt(2 * np.pi))
        bands = np.zeros((3, cells))
        bands[0, 1:] = half * back
        bands[1] = 1 - half * diagonal
        bands[2, :-1] = -half * onward[:-1]
        new = solve_banded((1, 1), bands, right)
        leaving[step] = v[-1] * 0.5 * (amount[-1] + new[-1])
        amount = new
    assert leaving.sum() * dt == pytest.approx(1.0, rel=1e-9)
    mean = (leaving * middles).sum() / leaving.sum()
    variance = (leaving * (middles - mean) ** 2).sum() / leaving.sum()

    def motion(at: float, t: float) -> tuple[float, float, float]:
        v, h = field(np.array([at]), t)
        return float(v[0]), 0.0, float(h[0])

    ours = dp.travel(length, motion, time=centre, time_variance=width**2)
    # What is left is of second order in the width of the band; a band of half the width comes to within 1e-4 of both.
    assert ours[0] == pytest.approx(mean, rel=2e-4)
    assert ours[1] == pytest.approx(variance, rel=1e-3)


def test_an_error_in_a_motion_comes_through() -> None:
    def motion(z: float, t: float) -> tuple[float, float, float]:
        raise ZeroDivisionError("mine")

    with pytest.raises(ZeroDivisionError, match="mine"):
        dp.travel(0.25, motion)
    with pytest.raises(dp.DomainError):
        dp.travel(0.25, lambda z, t: (-1.0, 0.0, 0.0))


def test_a_plug_through_a_laminar_tube_agrees_with_finite_volumes() -> None:
    """Temporal moments of the convection-diffusion equation on 120 rings of the cross-section, carried along the tube by scipy."""
    rings = 120
    edge = np.linspace(0, 1, rings + 1)
    area = np.diff(edge**2)
    middle = 0.5 * (edge[1:] ** 2 + edge[:-1] ** 2)
    speed = 2 * (1 - middle)
    # Fluxes between rings over the radial diffusion time.
    exchange = np.diag(2 * edge[1:-1] / np.diff(np.sqrt(middle)))
    difference = np.diff(np.eye(rings), axis=0)
    spread = -(difference.T @ exchange @ difference) / area[:, None]
    # Moments of order 1 and 2, and the constant 1 that feeds them.
    system = np.zeros((2 * rings + 1, 2 * rings + 1))
    system[:rings, :rings] = system[rings:-1, rings:-1] = spread / speed[:, None]
    system[rings:-1, :rings] = np.diag(2 / speed)
    system[:rings, -1] = 1 / speed

    diffusion, diameter, velocity = 1.2e-8, 0.17e-3, 0.919816
    radial = diameter**2 / 4 / diffusion
    for ratio in (0.1, 0.9, 3.0):
        moments = expm(system * ratio)[:-1, -1]
        weight = speed * area
        variance = (weight @ moments[rings:] - (weight @ moments[:rings]) ** 2) * radial**2
        length = ratio * radial * velocity
        axial = 2 * diffusion * length / velocity**3
        ours = dp.laminar_time_variance(diffusion, diameter, length, velocity) - axial
        assert ours == pytest.approx(variance, rel=2e-4)


def test_peaks_agree_with_a_sampled_convolution() -> None:
    step = 1e-3
    t = np.arange(-40, 80, step)
    sigma, w, tau = 0.8, 2.0, 1.5
    gauss = np.exp(-0.5 * (t / sigma) ** 2) / (sigma * np.sqrt(2 * np.pi))
    plug = np.ones(int(w / step)) / int(w / step)
    decay = np.exp(-np.arange(0, 60, step) / tau)
    decay /= decay.sum()
    expected = fftconvolve(fftconvolve(gauss, plug)[: t.size], decay)[: t.size]
    variance = sigma**2 + w**2 / 12 + tau**2
    mean = w / 2 + tau
    ours = dp.peak_density(t, mean=mean, time_variance=variance, plug_width=w, time_constant=tau)
    assert np.abs(ours - expected).max() < 2e-3 * expected.max()
    assert (ours.sum() * step, (ours * t).sum() * step) == pytest.approx((1, mean), rel=1e-9)
    assert (ours * (t - mean) ** 2).sum() * step == pytest.approx(variance, rel=1e-9)


def test_a_chromatogram_has_the_moments_of_its_budget() -> None:
    solution = dp.solve(METHODS / "packed.toml")
    bands = solution.bands
    assert bands is not None
    assert solution.bands_of_solutes == (bands,)
    chromatogram = solution.chromatogram(0.0, 3 * bands.time, 40.0, areas=[2.0])
    t, signal = chromatogram.record.time, chromatogram.record.signal
    area = signal.sum() / 40
    mean = (signal * t).sum() / signal.sum()
    assert area == pytest.approx(2.0, rel=1e-9)
    assert mean == pytest.approx(bands.time, rel=1e-9)
    assert (signal * (t - mean) ** 2).sum() / signal.sum() == pytest.approx(bands.time_variance, rel=1e-7)
    assert pickle.loads(pickle.dumps(chromatogram)) == chromatogram
    with pytest.raises(dp.DomainError):
        solution.chromatogram(0.0, 100.0, 0.0)


PROGRAM = """
[[solute]]
name = "late"
retention = "law"
intercept = 6.3
density_coefficient = "-7 mL/g"
reciprocal_temperature_coefficient = "20 K"
density_min = "300 kg/m3"
density_max = "1000 kg/m3"
diffusion = "constant"
diffusion_coefficient = "1.1e-8 m2/s"

[[program]]
part = "regulator"
key = "pressure"
time = ["0 min", "1 min"]
value = ["150 bar", "200 bar"]
"""


def test_a_document_with_solutes_and_a_program() -> None:
    text = (METHODS / "packed.toml").read_text(encoding="utf-8")
    text = text.replace("[solute]", "[[solute]]")
    steady = dp.solve(text + PROGRAM.split("[[program]]")[0])
    programmed = dp.solve(text + PROGRAM)
    assert [bands.solute for bands in steady.bands_of_solutes][1] == "late"
    peaks = [solution.chromatogram(0.0, 300.0, 10.0).peaks for solution in (steady, programmed)]
    assert (peaks[1].time < peaks[0].time).all()
    assert peaks[1].time_variance[1] < peaks[0].time_variance[1]
    history = programmed.program_history()
    pressure, stored = history["outlet_pressure"], history["stored_mass"]
    assert history["time"][[0, -1]].tolist() == [0.0, 60.0] and (np.diff(pressure) > 0.0).all()
    rise = history["storage_mass_flow_rate"]
    assert rise[0] == 0.0
    np.testing.assert_allclose(rise[1:] * np.diff(history["time"]), np.diff(stored), rtol=1e-9)
    # The mass of the column at its mean density is nearly all that is stored, and the first point is the steady flow.
    column = steady.column
    assert column is not None
    np.testing.assert_allclose(history["inlet_pressure"][0], column.inlet.pressure, rtol=1e-9)
    assert history["inlet_modifier"].tolist() == [0.0] * len(stored)
    # 50 bar in a minute take more than the flow can spare: the record says so.
    share = rise / history["mass_flow_rate"]
    codes = [notice.code for notice in programmed.chromatogram(0.0, 300.0, 10.0).notices]
    assert ("unsteady" in codes) == bool((share > 0.05).any())
    with pytest.raises(dp.DocumentError, match="program"):
        steady.program_history()
    with pytest.raises(dp.DocumentError, match="name of one of the parts"):
        dp.solve(text + PROGRAM.replace('part = "regulator"', 'part = "nobody"'))
    with pytest.raises(dp.DocumentError, match="must rise"):
        dp.solve(text + PROGRAM.replace('"1 min"', '"0 min"'))


def test_a_method_is_carried_to_another_column(co2: dp.Fluid) -> None:
    def column(length: float, diameter: float, particle: float) -> dp.PackedColumn:
        return dp.PackedColumn(
            diameter=diameter,
            length=length,
            particle_diameter=particle,
            interparticle_porosity=0.4,
            total_porosity=0.7,
            wall_temperature=313.15,
        )

    inlet = co2.state(temperature=313.15, pressure=177e5)
    moved = dp.transfer_method(column(0.25, 4.6e-3, 5e-6), column(0.15, 3e-3, 1.8e-6), inlet, 4.9e-5, pressure_limit=200e5)
    assert moved.outlet_pressure < 150e5 < 200e5 < moved.inlet_pressure
    assert any(notice.code == "overpressure" for notice in moved.notices)
    assert pickle.loads(pickle.dumps(moved)) == moved


def test_detectors_are_ranked_with_reasons() -> None:
    neat = dp.rank_detectors(gas_flow=1e-8)
    assert neat.row("flame ionisation")["verdict"] == "suits"
    modified = dp.rank_detectors(modifiers=["methanol"], modifier_fraction=0.1, gas_flow=1e-8, wavelength=200e-9)
    assert "burns" in modified.row("flame ionisation")["reasons"]
    assert "205 nm" in modified.row("diode array")["reasons"]
    cut_offs = dp.ultraviolet_cut_offs()
    assert cut_offs.row("acetone")["wavelength"] == 330e-9
    assert "Snyder" in cut_offs.row("acetone")["sources"]
    assert "Sadek" in cut_offs.row("propan-1-ol")["sources"]
    assert "memory" not in cut_offs.row("n-pentane")["sources"]
    assert cut_offs.row("carbon dioxide")["wavelength"] == 188e-9
    assert "Heays" in cut_offs.row("carbon dioxide")["sources"]
    close = dp.rank_detectors(modifiers=["propan-1-ol"], modifier_fraction=0.1, wavelength=212e-9, has_chromophore=True)
    assert "2 sources agree" in close.row("diode array")["reasons"]
    with pytest.raises(dp.MissingModelError):
        dp.rank_detectors(modifiers=["unobtainium"], wavelength=220e-9)


def test_fluid_without_diffusion_leaves_by_its_streamlines() -> None:
    """Parabolic flow of scipy's quadrature: of a tube of unit radius the part within r leaves by t_m/(2 (1 - r^2))."""
    mean = 3.0
    times = np.linspace(1.0, 60.0, 60_000)
    density = dp.convective_profile(times, mean)
    assert (density[times < 1.5] == 0.0).all()
    for late in (2.0, 10.0, 60.0):
        radius = np.sqrt(1.0 - mean / (2.0 * late))
        share, _ = quad(lambda r: 4.0 * r * (1.0 - r * r), 0.0, radius)
        here = times <= late
        assert np.trapezoid(density[here], times[here]) == pytest.approx(share, abs=2e-3)
    with pytest.raises(dp.DomainError):
        dp.convective_profile([0.0], 1.0)


def test_a_method_tells_the_cut_off_of_its_mobile_phase() -> None:
    """Carbon dioxide 188 nm (Heays et al. 2017), methanol 205 nm (Snyder et al. 1997), propan-1-ol 210 nm (Sadek 2004)."""
    plain = dp.solve("tests/methods/packed.toml")
    assert plain.fact("UV cell", "ultraviolet cut-off") == pytest.approx(188e-9)
    assert "ultraviolet cut-off" in plain.to_text() and "ultraviolet cut-off" in plain.to_json()
    text = Path("tests/methods/packed_modifier.toml").read_text(encoding="utf-8")
    told: dict[str, Any] = {}
    for wavelength in ("254 nm", "207 nm", "200 nm"):
        solution = dp.solve(text.replace("254 nm", wavelength))
        words = [(notice.code, notice.text) for notice in solution.notices if notice.station == "UV cell"]
        told[wavelength] = solution.fact("UV cell", "ultraviolet cut-off"), words
    assert told["254 nm"] == (205e-9, [])
    assert told["207 nm"][1][0][0] == "detector_unsuited" and "may absorb" in told["207 nm"][1][0][1]
    assert "absorbs there" in told["200 nm"][1][0][1]
    state = dp.Fluid({"carbon dioxide": 0.9, "propan-1-ol": 0.1}).state(temperature=313.15, pressure=200e5)
    outlet = dp.DetectorCell(volume=8e-9, detector="diode array").outlet(state, 5e-5)
    assert dict(zip(outlet.facts["name"], outlet.facts["value"], strict=True))["ultraviolet cut-off"] == pytest.approx(210e-9)
    assert not outlet.notices
    dosed = text.replace('fluid = "methanol"', 'fluid = "methanol"\nadditive = "diethylamine"\nadditive_concentration = "10 mmol/L"')
    unknown = [notice.text for notice in dp.solve(dosed).notices if notice.station == "UV cell"]
    assert len(unknown) == 1 and "diethylamine" in unknown[0]


def test_ways_to_inject(co2: dp.Fluid) -> None:
    mixed = dp.dilution(100e-9, 4.5e-8, 0.5e-8, "mixed_stream")
    column = dp.dilution(100e-9, 4.5e-8, 0.5e-8, "at_column", sample_flow=1e-8)
    assert (mixed.time, column.time) == pytest.approx((2.0, 10.0))
    assert pickle.loads(pickle.dumps(column)) == column
    with pytest.raises(dp.ArgumentError):
        dp.dilution(100e-9, 4.5e-8, 0.5e-8, "anywhere")
    assert dp.flooded_length(60e-12, 50e-6) == pytest.approx(0.3134, rel=1e-3)
    inlet = co2.state(temperature=373.15, pressure=200e5)
    rotor = dp.SampleLoop(volume=500e-12, drawn_volume=2e-9, split_ratio=22 / 3)
    length = rotor.vent_restrictor_length(inlet, 1e-7, 10e-6)
    vent = dp.LinearRestrictor(diameter=10e-6, length=length).mass_flow_rate(co2, 373.15, 200e5, 101325.0)
    assert vent == pytest.approx(1e-7 * 22 / 25, rel=1e-7)
    assert rotor.outlet(inlet, 1e-7).mass_flow_rate == pytest.approx(1e-7 * 3 / 25)


def test_laws_of_columns_and_peaks() -> None:
    # Golay without a film at k = 0: u = sqrt(192) D/d, H = d/sqrt(12).
    tube = {"diameter": 50e-6, "length": 10.0, "film_diffusion_coefficient": 1e-11}
    bare = dp.OpenTubularColumn(film_thickness=0.0, **tube)
    velocity, height = bare.optimum(1e-8, 0.0)
    assert velocity == pytest.approx(np.sqrt(192.0) * 1e-8 / 50e-6, rel=1e-12)
    assert height == pytest.approx(50e-6 / np.sqrt(12.0), rel=1e-12)
    assert bare.plate_height(1e-8, velocity, 0.0) == pytest.approx(height, rel=1e-12)
    assert np.isinf(bare.phase_ratio)
    coated = dp.OpenTubularColumn(film_thickness=0.25e-6, **tube)
    assert coated.phase_ratio == pytest.approx(24.75**2 / (25.0**2 - 24.75**2), rel=1e-12)
    # Knox with A = 1, B = 2, C = 0.05: h = 2.2582521650567 at 3.1133415997951 (arithmetic of thirty digits).
    packed = dp.PackedColumn(
        diameter=4.6e-3, length=0.25, particle_diameter=5e-6, interparticle_porosity=0.4, total_porosity=0.7,
        plate_height="knox", eddy=1.0, longitudinal=2.0, transfer=0.05,
    )
    velocity, height = packed.optimum(1e-8)
    assert velocity * 5e-6 / 1e-8 == pytest.approx(3.1133415997951, rel=1e-7)
    assert height / 5e-6 == pytest.approx(2.2582521650567, rel=1e-12)
    needed = dp.plates_for_resolution(1.5, 1.1, 2.0)
    assert dp.expected_resolution(needed, 1.1, 2.0) == pytest.approx(1.5, rel=1e-14)
    assert dp.isocratic_peak_capacity(1e4, 60.0, 60.0) == 1.0
    # A plug of five microlitres in five per cent of solvent, through twenty microlitres.
    assert dp.peak_fraction_behind_mixer(0.05, 5e-9, 20e-9) == pytest.approx(1 - 0.95 * np.exp(-0.25), rel=1e-14)
    capillary_number = 5e-4 * 0.02 / 5e-3
    power = capillary_number ** (2 / 3)
    assert dp.film_fraction(5e-4, 0.02, 5e-3) == pytest.approx(1.34 * power / (1 + 3.35 * power), rel=1e-12)
    with pytest.raises(dp.DomainError):
        dp.expected_resolution(1e4, 0.9, 2.0)


def test_a_plug_of_methanol_stays_one_phase_when_dense(co2: dp.Fluid) -> None:
    dense = co2.state(temperature=313.15, pressure=150e5)
    plug = dp.plug_phases(dense, dp.Fluid("methanol"), steps=3)
    assert list(plug.solvent_fraction) == [0.25, 0.5, 0.75]
    assert (plug.single_phase_margin > 0).all()


def test_ripple_shows_in_the_refractive_index(co2: dp.Fluid) -> None:
    soft, stiff = (dp.refractive_index_noise(co2.state(temperature=313.15, pressure=p), 1e5, 0.1) for p in (100e5, 150e5))
    assert soft.by_pressure > 3 * stiff.by_pressure > 0 > stiff.by_temperature > soft.by_temperature
    assert soft.density_by_pressure == pytest.approx(co2.isothermal_compressibility(313.15, 100e5) * 1e5, rel=1e-3)


def test_the_largest_plug_costs_its_share() -> None:
    bands = dp.solve(METHODS / "packed.toml").bands
    assert bands is not None
    plug = bands.largest_plug(0.1) ** 2 / 12
    assert plug / (plug + bands.retention_time**2 / bands.column_plate_number) == pytest.approx(0.1)
    with pytest.raises(dp.DomainError):
        bands.largest_plug(0.0)


RAMP = """
document = 1
title = "A ramp of pressure"
scenario = "Invented: a column in an oven between injector, cell and regulator"
fluid = "carbon dioxide"

[[solute]]
name = "early"
retention = "log_linear_in_density"
intercept = 5.0
slope = "7 mL/g"
density_min = "0.3 g/mL"
density_max = "1.0 g/mL"
diffusion = "constant"
diffusion_coefficient = "1.1e-8 m2/s"

[[solute]]
name = "late"
retention = "log_linear_in_density"
intercept = 6.5
slope = "7 mL/g"
density_min = "0.3 g/mL"
density_max = "1.0 g/mL"
diffusion = "constant"
diffusion_coefficient = "1.1e-8 m2/s"

[[part]]
kind = "cylinder"
name = "cylinder"
volume = "40 L"
mass = "28 kg"
temperature = "20 degC"

[[part]]
kind = "suction_line"
name = "suction line"
pressure_drop = "1.5 bar"

[[part]]
kind = "reciprocating_pump"
name = "pump"
head_temperature = "5 degC"
mass_flow_rate = "3.0 g/min"

[[part]]
kind = "injector"
name = "loop"
loop_volume = "10 uL"
drawn_volume = "30 uL"

[[part]]
kind = "packed_column"
name = "column"
diameter = "4.6 mm"
length = "250 mm"
particle_diameter = "5 um"
interparticle_porosity = 0.40
total_porosity = 0.70
transfer = 0.06
wall_temperature = "40 degC"

[[part]]
kind = "detector_cell"
name = "cell"
volume = "8 uL"
time_constant = "0.1 s"

[[part]]
kind = "back_pressure_regulator"
name = "regulator"
pressure = "{held}"
"""


Bed = tuple[float, float]
"""Length of a column and diameter of its particles, in m."""


def ramp_of_scipy(intercept: float, entering: tuple[float, float], beds: list[Bed]) -> tuple[float, float]:
    """Time and variance of a band at the end of columns in series in the place of that of `RAMP` while the regulator goes from 120 to
    200 bar in two minutes: pressure along the beds by the law of Ergun with densities and viscosities of CoolProp, the band by fine
    steps of scipy."""
    temperature, flow = 313.15, 3e-3 / 60
    p = np.linspace(100e5, 300e5, 4001)
    density = CubicSpline(p, PropsSI("D", "T", temperature, "P", p, "CO2"))
    viscosity = CubicSpline(p, PropsSI("V", "T", temperature, "P", p, "CO2"))
    inner, total = 0.4, 0.7
    flux = flow / (np.pi * 4.6e-3**2 / 4)
    held = np.linspace(119e5, 201e5, 165)
    outlet = held
    profiles: list[RectBivariateSpline] = []
    # From the outlet backwards, for every pressure held.
    for length, particle in reversed(beds):
        permeability = particle**2 * inner**3 / (180 * (1 - inner) ** 2)
        inertia = 1.75 * (1 - inner) / (inner**3 * particle)

        def rise(_: float, pressure: Array, permeability: float = permeability, inertia: float = inertia) -> Array:
            return (viscosity(pressure) * flux / permeability + inertia * flux**2) / density(pressure)

        z = np.linspace(0, length, 201)
        along = solve_ivp(rise, (0, length), outlet, t_eval=z, rtol=1e-10).y.T[::-1]
        profiles.insert(0, RectBivariateSpline(z, held, density(along)))
        outlet = along[0]

    band = np.array(entering)
    for (length, particle), profile in zip(beds, profiles, strict=True):

        def velocity(at: float, t: float, profile: RectBivariateSpline = profile) -> tuple[float, float]:
            rho = profile(at, 120e5 + 80e5 * np.clip(t / 120, 0, 1))[0, 0]
            u = flux / (total * rho)
            return u, u / (1 + np.exp(intercept - 7e-3 * rho))

        def slopes(at: float, y: Array, particle: float = particle) -> list[float]:
            (u, v), step = velocity(at, y[0]), 1e-4
            change = (velocity(at, y[0] + step)[1] - velocity(at, y[0] - step)[1]) / (2 * step)
            nu = u * particle / 1.1e-8
            height = particle * (nu ** (1 / 3) + 2 / nu + 0.06 * nu)
            return [1 / v, height / v**2 - 2 * y[1] * change / v**2]

        band = solve_ivp(slopes, (0, length), band, rtol=1e-9, atol=1e-12, max_step=length / 400).y[:, -1]
    return float(band[0]), float(band[1])


COLUMN = RAMP[RAMP.index('[[part]]\nkind = "packed_column"') : RAMP.index('[[part]]\nkind = "detector_cell"')]
SECOND = COLUMN.replace('"column"', '"second"').replace('"250 mm"', '"100 mm"').replace('"5 um"', '"4 um"')


@pytest.mark.parametrize("beds", [[(0.25, 5e-6)], [(0.25, 5e-6), (0.1, 4e-6)]], ids=["one column", "two columns"])
def test_a_programmed_chromatogram_agrees_with_fine_steps_of_scipy(beds: list[Bed]) -> None:
    """The whole composition: injector, columns under a ramp of pressure, cell. The library takes profiles as linear in time between
    sixteen steady flows, which shows in the fifth digit."""
    program = '\n[[program]]\npart = "regulator"\nkey = "pressure"\ntime = ["0 s", "120 s"]\nvalue = ["120 bar", "200 bar"]\n'
    method = RAMP if len(beds) == 1 else RAMP.replace(COLUMN, COLUMN + SECOND)
    programmed = dp.solve(method.format(held="120 bar") + program)
    rate = 20.0
    for index, intercept in enumerate((5.0, 6.5)):
        record = programmed.chromatogram(0.0, 400.0, rate, areas=[float(index == 0), float(index == 1)]).record
        signal, t = record.signal, record.time
        mean = (signal * t).sum() / signal.sum()
        variance = (signal * (t - mean) ** 2).sum() / signal.sum()

        def beside_column(held: float) -> dict[str, tuple[float, float]]:
            rows = dp.solve(method.format(held=f"{held} Pa")).bands_of_solutes[index].rows
            return dict(zip(rows.part, zip(rows.time, rows.time_variance, strict=True), strict=True))

        left = ramp_of_scipy(intercept, beside_column(120e5)["loop"], beds)
        cell = beside_column(120e5 + 80e5 * min(left[0] / 120, 1.0))["cell"]
        assert mean == pytest.approx(left[0] + cell[0], rel=1.5e-4)
        assert variance == pytest.approx(left[1] + cell[1], rel=1e-4)
        assert signal.sum() / rate == pytest.approx(1.0, rel=1e-8)
