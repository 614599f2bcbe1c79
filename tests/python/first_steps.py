"""What a user does first, in an environment with nothing but densepath and numpy; the argument is a method document."""

import importlib.metadata
import sys

import numpy as np

import densepath as dp

installed = {distribution.name.lower() for distribution in importlib.metadata.distributions()}
assert installed <= {"densepath", "numpy", "pip", "setuptools", "wheel"}, installed
assert {"densepath", "numpy"} <= installed

# Span and Wagner, J. Phys. Chem. Ref. Data 25, 1509 (1996), doi 10.1063/1.555991, table 35: two densities as printed.
densities = dp.Fluid("carbon dioxide").density(np.array([290.0, 1100.0]), np.array([5e6, 100e6]))
assert np.all(np.abs(densities - [148.41, 371.36]) <= 0.005), densities

solution = dp.solve(sys.argv[1])
assert solution.delivery_pressure > 100e5
assert "bar" in str(solution)

# What asks for a library that is not there names it.
try:
    solution.to_pandas()
except ImportError as missing:
    assert missing.name == "pandas", missing
else:
    raise AssertionError("pandas is there")
print(f"densepath {dp.__version__} with numpy {np.__version__} alone: {solution.delivery_pressure / 1e5:.1f} bar at the pump")
