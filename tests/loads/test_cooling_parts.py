"""The air conditioner's curves and humidity against published values."""

from __future__ import annotations

import numpy as np
import pytest

from flatodds.loads.cooling import (
    PSYCHROMETER_PER_C,
    SEA_LEVEL_HPA,
    capacity_ratio,
    input_ratio,
    sensible_share,
    wet_bulb_c,
)

SEA_LEVEL = PSYCHROMETER_PER_C * SEA_LEVEL_HPA


@pytest.mark.parametrize(
    ("outdoor_c", "capacity", "efficiency"), [(25, 0.99, 1.14), (35, 0.91, 0.90), (45, 0.79, 0.69)]
)
def test_curves_at_a_wet_bulb_of_17(outdoor_c: float, capacity: float, efficiency: float) -> None:
    """Two digits of the NREL window-unit curves, worked out apart from this program."""
    assert capacity_ratio(17.0, float(outdoor_c)) == pytest.approx(capacity, abs=0.005)
    assert 1.0 / input_ratio(17.0, float(outdoor_c)) == pytest.approx(efficiency, abs=0.005)


def test_curves_are_one_at_the_rating_point() -> None:
    """19.4 C wet inside and 35 C outside is where the ratings hold."""
    assert capacity_ratio(19.4, 35.0) == pytest.approx(1.0, abs=0.01)
    assert input_ratio(19.4, 35.0) == pytest.approx(1.0, abs=0.01)


def test_a_dry_coil_knows_no_drier_air() -> None:
    assert capacity_ratio(8.0, 30.0) == capacity_ratio(15.0, 30.0)
    assert sensible_share(8.0) == 1.0
    assert sensible_share(26.0) == pytest.approx(0.55)


@pytest.mark.parametrize(
    ("dry_c", "humidity", "wet_c"), [(20.0, 0.5, 13.7), (30.0, 0.3, 18.4), (40.0, 0.1, 18.5)]
)
def test_wet_bulb_as_a_psychrometric_fit_has_it(
    dry_c: float, humidity: float, wet_c: float
) -> None:
    """Stull, Journal of Applied Meteorology and Climatology 50 (2011): within 0.5 K of it.

    His fit (coefficients from memory): 13.70, 18.37 and 18.51 C.
    """
    logarithm = np.log(humidity) + 17.62 * dry_c / (243.12 + dry_c)
    dew_c = 243.12 * logarithm / (17.62 - logarithm)
    assert wet_bulb_c(dry_c, float(dew_c), SEA_LEVEL) == pytest.approx(wet_c, abs=0.5)


def test_saturated_air_is_as_wet_as_warm() -> None:
    assert wet_bulb_c(22.0, 22.0, SEA_LEVEL) == pytest.approx(22.0, abs=1e-9)
