"""The functions of a fluid as true ufuncs of numpy: `density(identity, temperature, pressure)` and so on.

The first input is `Fluid.identity`, a hash of all that the numbers of the fluid depend on, so that arrays of several fluids
broadcast too and a lazy graph means the same fluid in every process. Every substance is known everywhere by its identity; a
mixture is known to a process that has made it or read it from a pickle, elsewhere it gives error 201. An element that fails becomes NaN and obeys `numpy.errstate(invalid=...)`; the ufunc
with `_status` added to its name gives the code of the error, 0 where there is none.

>>> import densepath as dp
>>> from densepath import ufuncs
>>> co2 = dp.Fluid("carbon dioxide")
>>> ufuncs.density_status(co2.identity, [313.15, 40.0], 150e5)
array([  0, 102], dtype=int32)
"""

from __future__ import annotations

import numpy as np

from ._core import UFUNCS

__all__ = sorted(UFUNCS)  # pyright: ignore[reportUnsupportedDunderAll]

# numpy pickles a ufunc by its name, so each must be an attribute of a module.
globals().update(UFUNCS)


def __getattr__(name: str) -> np.ufunc:
    raise AttributeError(f"no function of a fluid is called {name!r}; there are {', '.join(__all__)}")
