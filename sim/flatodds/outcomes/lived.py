"""Odds, differences and labelled arrays of the variants of a study."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from flatodds.engine.many import Lived
from flatodds.errors import UsageError
from flatodds.outcomes.labels import SUMS, attributes, label_of
from flatodds.outcomes.means import Mean, mean_of
from flatodds.outcomes.odds import (
    CONFIDENCE,
    Band,
    Proportion,
    mixture_proportion,
    mixture_range,
    paired_difference,
    sample_of,
)

if TYPE_CHECKING:
    import xarray as xr

    from flatodds.outcomes.odds import Sample

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


def weights_of(lived: Lived) -> Floats:
    """Share of each case in the mixture, (case,) [1]."""
    return np.array([case.weight for case in lived.cases], dtype=np.float64)


def sample(lived: Lived) -> Sample:
    """Say what the intervals of a variant count."""
    return sample_of(lived.members, lived.record_years)


def ever_flat(lived: Lived) -> Bools:
    """Whether any stay had a flat hour, (case, member)."""
    return ever(lived.flat)


def ever(flags: Bools) -> Bools:
    """Whether something was so in any stay: (case, member, stay) to (case, member)."""
    return np.asarray(flags.any(axis=2))


def chance(lived: Lived, flags: Bools) -> Proportion:
    """Mean over the model points with its sampling interval; flags (case, member)."""
    return mixture_proportion(flags, weights_of(lived), sample(lived))


def chance_range(lived: Lived, flags: Bools) -> Band:
    """Range over sampling and model together; flags (case, member)."""
    return mixture_range(flags, weights_of(lived), sample(lived))


def difference(
    first: Lived, second: Lived, flags: tuple[Bools, Bools], confidence: float = CONFIDENCE
) -> Proportion:
    """How much likelier something is in the second variant than in the first, paired by member.

    Raises
    ------
    UsageError
        The two were not lived through the same model points and members.
    """
    weighed = [[(c.name, c.weight) for c in one.cases if c.weight > 0.0] for one in (first, second)]
    if weighed[0] != weighed[1]:
        raise UsageError(
            "Variants can only be paired if [uncertain] is zero in all of them or in none."
        )
    years = [r for r in (first.record_years, second.record_years) if r is not None]
    one, two = (
        part[weights_of(lived) > 0.0] for part, lived in zip(flags, (first, second), strict=True)
    )
    weights = [weight for _, weight in weighed[0]]
    return paired_difference(
        one, two, years=min(years) if years else None, weights=weights, confidence=confidence
    )


def may_be_as_good(luckiest: Lived, other: Lived, flags: tuple[Bools, Bools], among: int) -> bool:
    """Whether a variant may run flat as seldom as the one that did so least of `among`.

    The one that did so least was picked for its luck, so it is held against each of the others
    with an interval widened by how many those are (Bonferroni). One that is truly as good as
    any is then left out in few studies only, however many there are.
    """
    level = 1.0 - (1.0 - CONFIDENCE) / max(among - 1, 1)
    return luckiest is other or difference(luckiest, other, flags, level)["low"] <= 0.0


def mean_difference(
    first: Lived, second: Lived, values: tuple[Floats, Floats], one_more: float = 0.0
) -> Mean:
    """Mean of the second variant's amount less the first's, paired by member; values (member,).

    Where the weather is real years, the interval counts years, not members. `one_more` is what
    one more of them might bring, unit of the values.
    """
    years = [r for r in (first.record_years, second.record_years) if r is not None]
    return mean_of(values[1] - values[0], min([*years, first.members]), one_more)


def total(lived: Lived, name: str) -> Floats:
    """Amount of all stays together, averaged over the model points, (member,)."""
    if name not in lived.amounts:
        return np.zeros(lived.members)
    return np.asarray(lived.amounts[name].sum(axis=1))


def dataset_of_variants(
    names: Sequence[str], found: Sequence[Lived], attrs: Mapping[str, Any]
) -> xr.Dataset:
    """Label the arrays of variants that were lived through the same stays.

    Returns
    -------
    xarray.Dataset
        flat, below_reserve (variant, case, member, stay) and the amounts (variant, member,
        stay), averaged over the cases. Cases are those that all variants have. Where
        stays differ in number, missing ones are false and not a number.
    """
    import xarray as xr

    stays = max(one.flat.shape[2] for one in found)

    def stacked(parts: Sequence[Any], empty: Any) -> Any:
        wide = [
            np.concatenate(
                [part, np.full((*part.shape[:-1], stays - part.shape[-1]), empty, part.dtype)],
                axis=-1,
            )
            for part in parts
        ]
        return np.stack(wide)

    first = found[0]
    shared = set.intersection(*({case.name for case in one.cases} for one in found))
    cases = [case for case in first.cases if case.name in shared]

    def picked(one: Lived, values: Bools) -> Bools:
        order = [case.name for case in one.cases]
        return values[[order.index(case.name) for case in cases]]

    flags = ("variant", "case", "member", "stay")
    variables: dict[str, Any] = {
        "flat": (
            flags,
            stacked([picked(one, one.flat) for one in found], False),
            {"long_name": "must-have demand was refused in some hour of the stay"},
        ),
        "below_reserve": (
            flags,
            stacked([picked(one, one.reserve) for one in found], False),
            {"long_name": "charge fell below the household's reserve"},
        ),
    }
    for name in found[0].amounts:
        label = attributes(label_of(SUMS, name))
        label["cell_methods"] = "case: mean"
        values = stacked([one.amounts[name] for one in found], np.nan)
        variables[name] = (("variant", "member", "stay"), values, label)
    coords: dict[str, Any] = {
        "variant": list(names),
        "case": [case.name for case in cases],
        "case_weight": ("case", [case.weight for case in cases]),
        "sun_factor": ("case", [case.sun_factor for case in cases]),
        "use_factor": ("case", [case.use_factor for case in cases]),
    }
    own = {"seed": str(first.seed), "members": first.members}
    return xr.Dataset(variables, coords, {**own, **attrs})
