"""Odds and differences of variants, by hand."""

from __future__ import annotations

from typing import Any, cast

import numpy as np
import pytest
import xarray as xr

from flatodds.engine.many import Lived
from flatodds.engine.results import Case
from flatodds.errors import UsageError
from flatodds.outcomes import lived as lv
from flatodds.outcomes.means import mean_of
from flatodds.outcomes.odds import paired_difference

CASES = (Case("as_estimated", 1.0, 1.0, 0.0), Case("a", 0.9, 1.0, 0.25), Case("b", 1.1, 1.2, 0.75))
MEMBERS = 8


def made(
    flat: Any = None,
    *,
    cases: tuple[Case, ...] = CASES,
    stays: int = 2,
    record_years: int | None = None,
    amounts: dict[str, Any] | None = None,
) -> Lived:
    shape = (len(cases), MEMBERS, stays)
    flags = np.zeros(shape, dtype=bool) if flat is None else np.asarray(flat, dtype=bool)
    return Lived(
        cases=cases,
        periods=(),
        bases=(),
        record_years=record_years,
        members=MEMBERS,
        seed=7,
        flat=flags,
        reserve=~flags,
        nights=np.zeros(shape, dtype=bool),
        amounts={} if amounts is None else amounts,
        dawn=np.zeros((MEMBERS, 0), dtype=np.float32),
        balance=0.0,
    )


def flags(*counts: int) -> Any:
    """(case, member, stay): so many members of each case flat, in the last of two stays."""
    found = np.zeros((len(counts), MEMBERS, 2), dtype=bool)
    for case, count in enumerate(counts):
        found[case, :count, 1] = True
    return found


def test_chance_is_weighed_over_the_cases() -> None:
    """(2 of 8) / 4 + 3 (6 of 8) / 4 = .625, whatever the named case of no weight says."""
    one = made(flags(8, 2, 6))
    assert lv.weights_of(one).tolist() == [0.0, 0.25, 0.75]
    assert lv.ever_flat(one).sum(axis=1).tolist() == [8, 2, 6]
    assert lv.ever_flat(one).shape == (3, MEMBERS)
    found = lv.chance(one, lv.ever_flat(one))
    assert found["estimate"] == pytest.approx(0.625)
    assert found["low"] < 0.625 < found["high"]
    wide = lv.chance_range(one, lv.ever_flat(one))
    assert wide["low"] < found["low"]
    assert wide["high"] >= found["high"]


def test_years_count_when_there_are_years() -> None:
    assert (lv.sample(made()).basis, lv.sample(made()).units) == ("monte_carlo", MEMBERS)
    years = lv.sample(made(record_years=4))
    assert (years.basis, years.units) == ("record", 4)


def test_a_difference_is_paired_by_member() -> None:
    first, second = made(flags(0, 2, 2)), made(flags(0, 4, 3))
    both = (lv.ever_flat(first), lv.ever_flat(second))
    found = lv.difference(first, second, both)
    assert found["estimate"] == pytest.approx(0.25 * 2 / 8 + 0.75 * 1 / 8)
    wanted = paired_difference(both[0][1:], both[1][1:], weights=[0.25, 0.75])
    assert found == wanted
    back = lv.difference(second, first, both[::-1])
    assert back["estimate"] == pytest.approx(-found["estimate"])


def test_a_difference_rests_on_the_fewest_years() -> None:
    first, second = made(flags(0, 2, 2), record_years=6), made(flags(0, 4, 3), record_years=3)
    both = (lv.ever_flat(first), lv.ever_flat(second))
    few = lv.difference(first, second, both)
    one_sided = lv.difference(first, made(flags(0, 4, 3)), both)
    many = lv.difference(made(flags(0, 2, 2)), made(flags(0, 4, 3)), both)
    widths = [found["high"] - found["low"] for found in (many, one_sided, few)]
    assert widths[0] < widths[1] < widths[2]
    wanted = paired_difference(both[0][1:], both[1][1:], years=3, weights=[0.25, 0.75])
    assert few == wanted


def test_variants_of_other_model_points_are_not_paired() -> None:
    sure = (Case("as_estimated", 1.0, 1.0, 1.0),)
    first, second = made(flags(1, 1, 1)), made(flags(1), cases=sure)
    with pytest.raises(UsageError, match="uncertain"):
        lv.difference(first, second, (lv.ever_flat(first), lv.ever_flat(second)))
    named = (*CASES, Case("use_low", 1.0, 0.8, 0.0))  # a case of no weight does not matter
    third = made(flags(1, 1, 1, 5), cases=named)
    both = (lv.ever_flat(first), lv.ever_flat(third))
    assert lv.difference(first, third, both)["estimate"] == 0.0


def test_means_and_their_intervals() -> None:
    """The mean of second less first, counting members or the fewest years; see the coverage."""
    values = np.arange(1.0, 9.0)
    found = lv.mean_difference(made(), made(), (np.zeros(8), values))
    assert found["mean"] == 4.5
    assert found == mean_of(values, 8)
    assert found["low"] < 4.5 < found["high"]
    years = lv.mean_difference(made(record_years=5), made(record_years=2), (values, np.zeros(8)))
    assert years["mean"] == -4.5
    assert years == mean_of(-values, 2)
    assert years["high"] - years["low"] > 2.0 * (found["high"] - found["low"])
    turned = mean_of(-values, 8)
    assert (turned["low"], turned["high"]) == pytest.approx((-found["high"], -found["low"]))
    wider = lv.mean_difference(made(), made(), (np.zeros(8), values), 20.0)
    assert wider == mean_of(values, 8, 20.0)
    assert wider["high"] > found["high"]


def test_a_lone_value_is_no_certainty() -> None:
    alone = mean_of(np.array([3.0]), 1)
    assert alone["mean"] == 3.0
    assert alone["low"] < 3.0 < alone["high"]
    assert mean_of(np.zeros(3), 3) == {"mean": 0.0, "low": 0.0, "high": 0.0}


def test_totals_over_stays() -> None:
    amounts = {"spilled_wh": np.arange(16.0).reshape(8, 2)}
    one = made(amounts=amounts)
    assert lv.total(one, "spilled_wh").tolist() == [4.0 * at + 1.0 for at in range(8)]
    assert lv.total(one, "generator_wh").tolist() == [0.0] * 8


def test_labelled_arrays_of_variants() -> None:
    """Stays that a variant has not are false and not a number; cases in the first's order."""
    first = made(flags(8, 2, 6), amounts={"spilled_wh": np.ones((8, 2))})
    swapped = (CASES[2], CASES[0], CASES[1], Case("no_generator", 1.0, 1.0, 0.0))
    flat = np.zeros((4, MEMBERS, 1), dtype=bool)
    flat[0, :5] = True  # case "b"
    second = made(flat, cases=swapped, stays=1, amounts={"spilled_wh": np.full((8, 1), 2.0)})
    found = lv.dataset_of_variants(["x", "y"], [first, second], {"title": "t"})
    assert isinstance(found, xr.Dataset)
    assert found["variant"].to_numpy().tolist() == ["x", "y"]
    assert found["case"].to_numpy().tolist() == ["as_estimated", "a", "b"]
    assert found["case_weight"].to_numpy().tolist() == [0.0, 0.25, 0.75]
    assert found["sun_factor"].to_numpy().tolist() == [1.0, 0.9, 1.1]
    assert found["use_factor"].to_numpy().tolist() == [1.0, 1.0, 1.2]
    assert found["flat"].dims == ("variant", "case", "member", "stay")
    assert found["flat"].sum("member").sel(variant="x").to_numpy().tolist() == [
        [0, 8], [0, 2], [0, 6],
    ]  # fmt: skip
    assert found["flat"].sum("member").sel(variant="y").to_numpy().tolist() == [
        [0, 0], [0, 0], [5, 0],
    ]  # fmt: skip
    reserve = found["below_reserve"].sum("member").sel(variant="y").to_numpy()
    assert reserve.tolist() == [[8, 0], [8, 0], [3, 0]]
    spilled = found["spilled_wh"]
    assert spilled.dims == ("variant", "member", "stay")
    assert spilled.sel(variant="x").to_numpy().tolist() == [[1.0, 1.0]] * 8
    assert np.isnan(spilled.sel(variant="y", stay=1).to_numpy()).all()
    assert (spilled.sel(variant="y", stay=0).to_numpy() == 2.0).all()
    assert spilled.attrs["cell_methods"] == "case: mean"
    assert found.attrs == {"seed": "7", "members": MEMBERS, "title": "t"}
    assert "reserve" in cast(str, found["below_reserve"].attrs["long_name"])
