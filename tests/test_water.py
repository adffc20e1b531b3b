"""Fresh water against the international formulation."""

import numpy as np
import pytest
from iapws import IAPWS95

from towscope.errors import InputError
from towscope.water import density, fresh_water, viscosity

TEMPERATURES = np.arange(0.5, 35.1, 2.5)


@pytest.mark.parametrize("t", TEMPERATURES)
def test_density_is_iapws_95(t: float) -> None:
    # Source: IAPWS-95 at 101.325 kPa, by the reference library iapws.
    reference = IAPWS95(T=t + 273.15, P=0.101325)
    assert density(t) == pytest.approx(reference.rho, rel=1e-4)


@pytest.mark.parametrize("t", TEMPERATURES)
def test_viscosity_is_iapws_r12_08(t: float) -> None:
    # Source: IAPWS R12-08, by the reference library iapws.
    reference = IAPWS95(T=t + 273.15, P=0.101325)
    assert viscosity(t) == pytest.approx(reference.mu, rel=1e-2)


def test_water_is_densest_near_4_degrees() -> None:
    # Handbook value: maximum density of water near 3.98 degC (CRC Handbook; from memory).
    grid = np.arange(0.0, 10.0, 0.01)
    assert grid[np.argmax([density(float(t)) for t in grid])] == pytest.approx(3.98, abs=0.02)


@pytest.mark.parametrize("t", [-0.1, 35.1, float("nan"), float("inf")])
def test_water_that_is_not_liquid_lake_water_is_refused(t: float) -> None:
    with pytest.raises(InputError, match="expected 0 to 35"):
        fresh_water(t)
