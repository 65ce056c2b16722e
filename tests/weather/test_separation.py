"""Diffuse fraction against pvlib's own formula."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pvlib import irradiance

from flatodds.lanes import kernel
from flatodds.weather.separation import erbs_driesse


@kernel
def fractions(k, out) -> None:  # type: ignore[no-untyped-def]
    for i in range(k.size):
        out[i] = erbs_driesse(k[i])


@pytest.mark.validation
def test_fraction_is_pvlibs() -> None:
    k = np.linspace(0.0, 1.0, 20001)
    mine = np.empty_like(k)
    fractions(k, mine)
    theirs = irradiance.erbs_driesse(1000.0 * k, 0.0, dni_extra=1000.0)
    lit = k > 0.0
    np.testing.assert_allclose(mine[lit], theirs["dhi"][lit] / (1000.0 * k[lit]), atol=1e-9)


def test_single_precision_stays_single_and_close() -> None:
    k = np.linspace(0.0, 1.0, 2001)
    double, single = np.empty_like(k), np.empty(k.size, np.float32)
    fractions(k, double)
    fractions(k.astype(np.float32), single)
    np.testing.assert_allclose(single, double, atol=3e-6)
    plain: Any = getattr(erbs_driesse, "py_func", erbs_driesse)
    assert type(plain(np.float32(0.5))) is np.float32


def test_fraction_has_no_jumps() -> None:
    k = np.linspace(0.0, 1.0, 100001)
    out = np.empty_like(k)
    fractions(k, out)
    assert np.abs(np.diff(out)).max() < 4e-5
    assert out.min() > 0.16
    assert out.max() == 1.0
