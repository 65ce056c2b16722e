"""Real weather from the internet, kept for use without it.

This file, with `fetch_services`, `fetch_tries` and `fetch_hops`, is all of the package that opens
connections, and only `fetch` starts one. What comes back passes the same checks as any weather
file before it is kept.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urlsplit

import numpy as np

from flatodds.errors import Problem, UsageError, WeatherError
from flatodds.weather.cache import NEAR_DEG, cached_path, find, get_command, keep
from flatodds.weather.cache_note import CachedSet
from flatodds.weather.fetch_hops import encrypted
from flatodds.weather.fetch_services import SERVICES, Hours, Question, Service
from flatodds.weather.fetch_tries import Failure, Patience, ask_once, short_words
from flatodds.weather.hours import GAP_SHARE_FRAC, LONGEST_GAP_H, runs
from flatodds.weather.plain import plain_text
from flatodds.weather.readers import read_weather, read_years
from flatodds.weather.rows import Floats

__all__ = ["EMAIL", "KEY", "Patience", "cached_path", "fetch"]

KEY, EMAIL = "FLATODDS_NSRDB_KEY", "FLATODDS_NSRDB_EMAIL"
KEY_HINT = f"A key is free at https://developer.nlr.gov; then set {KEY} and {EMAIL}."
YEARS = (2005, 2020)  # offered by every service
SHOWN_PROBLEMS = 3  # own choice
PATIENCE = Patience()


def fetch(
    latitude: float,
    longitude: float,
    years: tuple[int, int] = YEARS,
    service: str = "pvgis",
    *,
    offline: bool = False,
    refresh: bool = False,
    url: str | None = None,
    patience: Patience | None = None,
    progress: Callable[[str], None] = lambda words: None,
) -> CachedSet:
    """Get hourly weather for a place, from what is kept or from a service.

    Parameters
    ----------
    latitude, longitude : float
        North and east [degree]; rounded to 0.001 degree before anyone is asked.
    years : tuple of int
        First and last; not looked at for "pvgis-tmy".
    service : str
        A key of `SERVICES`.
    offline : bool
        Open no connection.
    refresh : bool
        Ask again for what is kept already.
    url : str, optional
        Another address of the service; HTTPS, or this machine itself.
    patience : Patience, optional
        How long to wait; `PATIENCE` unless given.
    progress : callable
        Told what is going on.

    Raises
    ------
    UsageError
        The question makes no sense.
    WeatherError
        No usable answer; nothing is kept then.
    """
    if service not in SERVICES:
        raise UsageError(f"There is no service {service!r}; services: {', '.join(SERVICES)}.")
    offered, patience = SERVICES[service], patience or PATIENCE
    lat, lon = _checked_place(latitude, longitude)
    span = _checked_years(years, offered)
    kept = _kept(service, lat, lon, span, offline=offline, progress=progress)
    if kept is not None and not (refresh and not offline):
        return kept
    if offline:
        what = f"{offered.label} weather of {_span_text(span)} has not been fetched yet."
        hint = f"Without --offline: {_command(service, lat, lon, span)}"
        raise WeatherError(Problem(f"{lat:.3f}, {lon:.3f}", what, hint))
    question = Question(
        lat,
        lon,
        span,
        _checked_url(url or offered.url),
        (patience.connect_s, patience.read_s),
        *(_key(os.environ) if offered.keyed else ("", "")),
    )
    hours = _complete(_answers(question, offered, patience, progress))
    _check_place(hours, question, offered)
    return _keep(hours, question, service)


def _kept(
    service: str,
    lat: float,
    lon: float,
    span: tuple[int, ...],
    *,
    offline: bool,
    progress: Callable[[str], None],
) -> CachedSet | None:
    """Look up what is kept; a damaged file counts as nothing, unless it cannot be replaced."""
    try:
        return find(service, lat, lon, span)
    except WeatherError as error:
        if offline:
            raise
        progress(f"{error.problems[0].found} Fetching it again.")
        return None


def _checked_place(latitude: float, longitude: float) -> tuple[float, float]:
    if not (abs(latitude) <= 90.0 and abs(longitude) <= 180.0):  # also refuses NaN
        raise UsageError(f"{latitude:g}, {longitude:g} is not on the globe.")
    return round(latitude, 3) + 0.0, round(longitude, 3) + 0.0


def _checked_years(years: tuple[int, int], offered: Service) -> tuple[int, ...]:
    """All years asked for, none for a typical year."""
    if offered.first_year is None:
        return ()
    first, last = years
    latest = datetime.now(UTC).year - 1
    if not offered.first_year <= first <= last <= latest:
        raise UsageError(
            f"Years {first}-{last} cannot be had from {offered.label}.\n"
            f"  Whole years from {offered.first_year} to {latest}, the earlier one first; the "
            "latest may not be there yet."
        )
    return tuple(range(first, last + 1))


def _checked_url(url: str) -> str:
    """Refuse anything but HTTPS, except on this machine itself."""
    if encrypted(url):
        return url
    raise UsageError("Weather is fetched over HTTPS only.")


def _key(environ: Mapping[str, str]) -> tuple[str, str]:
    """Key and email of the user, from the environment."""
    found = environ.get(KEY, "").strip(), environ.get(EMAIL, "").strip()
    missing = [name for name, value in zip((KEY, EMAIL), found, strict=True) if not value]
    if missing:
        raise WeatherError(
            Problem("the NSRDB", f"{' and '.join(missing)} not set in the environment.", KEY_HINT)
        )
    return found


def _answers(
    question: Question,
    offered: Service,
    patience: Patience,
    progress: Callable[[str], None],
) -> list[Hours]:
    """Answers to all the questions that the service wants to be asked separately."""
    if not (offered.yearly and question.years):
        progress(f"Asking {offered.label} for {_span_text(question.years)} ...")
        return [_one_answer(question, offered, patience, progress)]
    answers = []
    for at, year in enumerate(question.years):
        if at:
            time.sleep(patience.pause_s)
        progress(f"Asking {offered.label} for {year} ({at + 1} of {len(question.years)}) ...")
        one = replace(question, years=(year,))
        answers.append(_one_answer(one, offered, patience, progress))
    return answers


def _one_answer(
    question: Question,
    offered: Service,
    patience: Patience,
    progress: Callable[[str], None],
) -> Hours:
    """One answer, asked for again while that may help."""
    whole_s = patience.whole_s or offered.whole_s
    tries = len(patience.waits_s) + 1
    for at in range(tries):
        try:
            return ask_once(question, offered, whole_s)
        except Failure as failure:
            if at + 1 == tries or not failure.again:
                count = f" ({at + 1} tries)" if at else ""
                raise _no_answer(question, offered, failure.why + count) from None
            progress(f"{failure.why} Trying again ...")
            time.sleep(patience.waits_s[at])
    raise AssertionError("unreachable")


def _no_answer(question: Question, offered: Service, why: str) -> WeatherError:
    others = [name for name in ("pvgis", "power") if SERVICES[name].label != offered.label]
    command = get_command(question.latitude, question.longitude)
    hint = f"Try again later, or another service: {command} --service {others[0]}"
    if offered.keyed:
        hint += f"\n  Is the key right? {KEY_HINT}"
    return WeatherError(Problem(_where(question, offered), why, hint))


def _where(question: Question, offered: Service) -> str:
    span = _span_text(question.years)
    return f"{offered.label}, {question.latitude:.3f}, {question.longitude:.3f}, {span}"


def _span_text(years: tuple[int, ...]) -> str:
    if not years:
        return "a typical year"
    return str(years[0]) if len(years) == 1 else f"{years[0]}-{years[-1]}"


def _command(service: str, lat: float, lon: float, span: tuple[int, ...]) -> str:
    years = f" --years {span[0]}-{span[-1]}" if span else ""
    return f"{get_command(lat, lon)} --service {service}{years}"


def _complete(answers: list[Hours]) -> Hours:
    """Join the answers; a part of the radiation with gaps is left to be estimated from ghi."""
    first = answers[0]
    for other in answers[1:]:
        if (other.site, other.radiation_minute) != (first.site, first.radiation_minute):
            what = "Years were answered for different places or clocks."
            raise WeatherError(Problem("", what))
    names = [name for name in first.values if all(name in one.values for one in answers)]
    values = {name: np.concatenate([one.values[name] for one in answers]) for name in names}
    for name in ("dni", "dhi"):
        if name in values:
            dark = np.isnan(values[name]) & (values["ghi"] <= 0.0)
            values[name] = np.where(dark, 0.0, values[name])
    if not all(name in values and _few_gaps(values[name]) for name in ("dni", "dhi")):
        values = {name: column for name, column in values.items() if name not in ("dni", "dhi")}
    start = np.concatenate([one.start for one in answers])
    return replace(first, start=start, values=values)


def _few_gaps(column: Floats) -> bool:
    """Whether the reader of the kept file would fill what is missing."""
    missing = np.isnan(column)
    longest = max((length for _, length in runs(missing)), default=0)
    return longest <= LONGEST_GAP_H and missing.sum() <= GAP_SHARE_FRAC * missing.size


def _check_place(hours: Hours, question: Question, offered: Service) -> None:
    """Refuse an answer for somewhere else."""
    north = hours.site.latitude - question.latitude
    east = (hours.site.longitude - question.longitude + 180.0) % 360.0 - 180.0
    if max(abs(north), abs(east)) <= NEAR_DEG:
        return
    found = f"The answer is for {hours.site.latitude:g}, {hours.site.longitude:g}."
    raise _no_answer(question, offered, found)


def _keep(hours: Hours, question: Question, service: str) -> CachedSet:
    """Write the hours in our layout and keep them if they pass as weather."""
    offered = SERVICES[service]
    address = urlsplit(question.url)
    one = CachedSet(
        service=service,
        latitude=question.latitude,
        longitude=question.longitude,
        years=question.years,
        file="",
        sha256="",
        fetched=datetime.now(UTC).date().isoformat(),
        url=f"{address.scheme}://{address.netloc.rpartition('@')[2]}{address.path}",
        origin=short_words(hours.origin, question),
    )
    remark = f"from {offered.label} ({one.origin}), kept by flatodds"
    text = plain_text(hours.site, hours.start, hours.values, hours.radiation_minute, (remark,))

    def check(path: Path) -> None:
        try:
            found = () if one.typical else read_years(path).years
            if one.typical:
                read_weather(path)
        except WeatherError as error:
            raise _unusable(error, question, offered) from None
        if found != question.years:
            what = f"The answer covers {_span_text(found)}."
            raise _no_answer(question, offered, what)

    return keep(one, text, check)


def _unusable(error: WeatherError, question: Question, offered: Service) -> WeatherError:
    """Say that an answer was no usable weather, with the first few problems."""
    lead = "The answer cannot be used as weather:"
    whys = [f"{lead} {problem.where}: {problem.found}" for problem in error.problems]
    one = [_no_answer(question, offered, why).problems[0] for why in whys[:SHOWN_PROBLEMS]]
    return WeatherError(one)
