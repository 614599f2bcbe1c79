"""What the tests share."""

import pytest

import densepath as dp


@pytest.fixture(scope="session")
def co2() -> dp.Fluid:
    """Carbon dioxide."""
    return dp.Fluid("carbon dioxide")
