# %% [markdown]
# # Starting up a packed method
#
# What the supply, the pump, the regulator and the room have to say before the first injection. The instrument and its method are
# invented. The cautions are the usual ones: local codes and licensed practice decide.

# %%
from pathlib import Path

import matplotlib.pyplot as plt

import densepath as dp
from densepath.units import BAR, GRAM_PER_MINUTE, from_celsius, to_celsius

here = next(folder for folder in (Path.cwd(), *Path.cwd().parents) if (folder / "tests" / "methods").is_dir())
path = here / "tests" / "methods" / "packed.toml"
assert len(dp.check_method(path)) == 0
solution = dp.solve(path)
co2 = dp.Fluid("carbon dioxide")

# %% [markdown]
# ## Is there liquid, and for how long?
#
# The gauge does not show the content as long as there is liquid: it shows the temperature.

# %%
for degc in (15.0, 20.0, 25.0):
    content = dp.Cylinder(volume=0.040, mass=28.0).content(co2, from_celsius(degc))
    print(f"{degc:.0f} degC: {content.state.pressure / BAR:.1f} bar, {content.liquid_mass:.1f} kg liquid, {content.usable_mass:.1f} kg of it usable")
print(f"at this flow the cylinder lasts {solution.running_time / 3600:.0f} h")

# %% [markdown]
# ## Does the pump get liquid?
#
# The suction line takes pressure away, and the head must be cold enough for what is left. How warm may the head be?

# %%
for name in ("suction line", "pump"):
    station = solution.station(name)
    print(f"{name:13} {to_celsius(station.state.temperature):5.1f} degC {station.state.pressure / BAR:6.1f} bar  {station.phase}")
pump = dp.ReciprocatingPump(head_temperature=from_celsius(5.0), volume_flow_rate=3e-6 / 60, counted_at="delivery", clearance_ratio=0.2)
suction = solution.station("suction line").state
stroke = pump.stroke(suction, solution.delivery_pressure)
print(f"compression takes {100 * stroke.expected.stroke_fraction:.1f} % of each stroke")

# %% [markdown]
# ## What leaves
#
# Behind the regulator the fluid would freeze: how much heat keeps it from that? And what does the gas do to the room, if the vent is led
# into it?

# %%
for row in solution.duties:
    print(f"{row['part']:13} {row['purpose']:20} {row['heat_flow_rate']:6.1f} W")
room = dp.room_exposure(60.0, 0.5 / 3600, gas_volume_flow_rate=solution.gas_volume_flow_rate, mass=28.0)
print(f"into a room of 60 m3 with half a change of air an hour: {1e6 * room.steady_fraction:.0f} ppm in the end")
print(f"all of the cylinder at once: {100 * room.fraction_after_release:.0f} %")

# %% [markdown]
# ## What can be shut in
#
# Cold liquid between two closed valves warms, and nothing holds it.

# %%
shut = dp.blocked_in(solution.station("pump").state, from_celsius(22.0), rating=400 * BAR)
print(f"shut in at the pump and warmed to 22 degC: {shut.warmed.pressure / BAR:.0f} bar")
for notice in (*shut.notices, *room.notices):
    print(f"{notice.severity}: {notice.text}")

# %%
axes = dp.plot.pressure_enthalpy(solution)
axes.set_title("the path of the invented method", fontsize=9)
