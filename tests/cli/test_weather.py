"""The commands `weather get`, `list`, `clear` and `show` as people type them."""

from __future__ import annotations

import json
import socket
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from flatodds.cli.app import main
from flatodds.weather import daily as looked_at
from flatodds.weather import fetch as fetching
from flatodds.weather.cache import cached_sets
from flatodds.weather.fetch_services import SERVICES
from flatodds.weather.fetch_tries import Patience

if TYPE_CHECKING:
    from tests.conftest import Loopback

pytestmark = pytest.mark.end

Capture = pytest.CaptureFixture[str]
AT = ("--at", "40.0,-105.0")
STAYS = """title = "Two places"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 100
array.watts = 200
household.pattern = "light"

[[stay]]
place = "40.0, -105.0"
first_day = "20 Nov"
nights = 9
{first}
[[stay]]
place = "40.0, -105.0"
first_day = "1 Dec"
nights = 9
{second}
"""


@pytest.fixture
def here(loopback: Loopback, monkeypatch: pytest.MonkeyPatch) -> Loopback:
    """The services' addresses lead to the loopback service."""
    moved = {name: replace(one, url=loopback.url(name)) for name, one in SERVICES.items()}
    monkeypatch.setattr(fetching, "SERVICES", moved)
    monkeypatch.setattr(fetching, "PATIENCE", Patience(waits_s=(0.0, 0.0), pause_s=0.0))
    return loopback


def words(capture: Capture) -> tuple[str, str]:
    out, err = capture.readouterr()
    assert "Traceback" not in err
    return " ".join(out.split()), " ".join(err.split())


def test_get_list_show_and_clear(here: Loopback, capsys: Capture, tmp_path: Path) -> None:
    assert main(["weather", "get", *AT, "--years", "2015-2016"]) == 0
    out, err = words(capsys)
    [kept] = cached_sets()[0]
    assert f"40.000, -105.000: pvgis 2015-2016, PVGIS-INVENTED, MADE-UP {kept.path}" in out
    assert "Asking PVGIS for 2015-2016" in err
    assert 'write in the stay: weather = "fetched"' in err
    assert main(["weather", "list"]) == 0
    out, err = words(capsys)
    assert "40.000 -105.000 pvgis 2015-2016" in out
    assert " MB" in out
    scenario = tmp_path / "my.toml"
    scenario.write_text(STAYS.format(first='weather = "fetched"', second='weather = "fetched"'))
    assert main(["weather", "show", str(scenario), "--picture", str(tmp_path / "sun.svg")]) == 0
    shown = capsys.readouterr().out
    assert shown.count("Weather: ") == 1
    assert "2 real years, 2015 to 2016, as they were" in shown
    assert "Typical error of the dullest season: +-5 %" in " ".join(shown.split())
    assert f"sha256): {kept.sha256[:16]}" in shown
    assert max(map(len, shown.split("\n"))) <= 80 or str(tmp_path) in shown
    assert shown.isascii()
    assert (tmp_path / "sun.svg").read_text().startswith("<?xml")
    assert main(["weather", "show", str(kept.path), "--picture", str(tmp_path / "sun.svg")]) == 2
    assert "add --force" in words(capsys)[1]
    assert main(["weather", "clear"]) == 2
    assert "weather clear --yes" in words(capsys)[1]
    assert main(["weather", "clear", "--yes"]) == 0
    assert "Deleted 2 files" in words(capsys)[0]
    assert main(["weather", "list"]) == 0
    assert "No weather has been fetched yet" in words(capsys)[0]


def test_get_for_a_scenario_asks_once_for_each_place(
    here: Loopback, capsys: Capture, tmp_path: Path
) -> None:
    scenario = tmp_path / "my.toml"
    scenario.write_text(STAYS.format(first="", second='weather = "fetched"'))
    more = ("--service", "power", "--years", "2015", "-q")
    assert main(["weather", "get", str(scenario), *more]) == 0
    assert len(here.asked) == 1
    out, err = words(capsys)
    assert "power 2015-2015, NASA POWER INVENTED" in out
    assert "Asking" not in err


def run(folder: Path, text: str, capture: Capture, *more: str) -> tuple[int, str]:
    """Exit code of a short run, and what it printed."""
    scenario = folder / "asked.toml"
    scenario.write_text(text)
    words = ("run", str(scenario), "--out", str(folder), "--members", "64", "-q", *more)
    return main(words), " ".join(capture.readouterr())


def test_a_fetched_typical_year_is_run(here: Loopback, capsys: Capture, tmp_path: Path) -> None:
    """From the service's answer to the odds: many years made of it, its error told, a range."""
    assert main(["weather", "get", *AT, "--service", "pvgis-tmy", "-q"]) == 0
    assert 'weather = "fetched typical"' in words(capsys)[1]
    typical = 'weather = "fetched typical"\n'
    text = STAYS.format(first=typical, second=typical)
    code, said = run(tmp_path, text, capsys, "--json")
    assert code == 0
    found = json.loads(said)
    assert found["theta_points"] == 25
    for basis in found["weather"]:
        assert (basis["basis"], basis["typical_error_frac"]) == ("one typical year", 0.08)
    odds = found["trip"]["odds_flat"]
    assert 0.0 <= odds["low"] <= odds["estimate"] <= odds["high"] <= 1.0
    assert found["stays"][0]["interval_basis"] == "monte_carlo"
    code, said = run(tmp_path, text.replace(typical, typical + 'years = "shuffled"\n'), capsys)
    assert code == 4
    assert "no bad weeks but its own" in " ".join(said.split())


COAST = """bank = { chemistry = "lithium", volts = 12, amp_hours = 100 }
array.watts = 200
household = { pattern = "light", heat = "none" }
stay = { place = "5.37, -4.13", first_day = "1 Jul", nights = 5 }
"""


def test_where_the_estimate_fails_every_output_says_so(capsys: Capture, tmp_path: Path) -> None:
    """The monsoon coast in the answer on screen, in the summary, in the report, before any rig."""
    code, said = run(tmp_path, COAST, capsys)
    assert code == 0
    assert "Warning: at 5.37, -4.13 sun may be 25 to 50 % overstated: a monsoon coast." in said
    assert "global reanalysis estimate, corrected; typical error 12 %." in " ".join(said.split())
    [report] = tmp_path.glob("*/report.html")
    assert "where the worldwide estimate has been so much too sunny" in report.read_text()
    assert main(["weather", "show", "5.37,-4.13"]) == 0
    assert "overstated: a monsoon coast" in words(capsys)[0]


def test_the_estimates_doubt_is_on_and_never_left_out(capsys: Capture, tmp_path: Path) -> None:
    """Twenty-five points of sun and use without being asked; narrowed, the screen warns."""
    code, said = run(tmp_path, COAST, capsys, "--json")
    assert code == 0
    found = json.loads(said)
    assert found["theta_points"] == 25
    assert found["weather"][0]["typical_error_frac"] == 0.12
    code, said = run(tmp_path, COAST + "uncertain.sun_frac = 0.05\n", capsys)
    assert code == 0
    assert "Warning: this range leaves out doubt of the sun: sun_frac 0.05 instead of 0.12." in said
    exact = tmp_path / "exact.toml"
    exact.write_text(COAST + "uncertain.sun_frac = 0\n")
    known = tmp_path / "known.toml"
    months = ", ".join(["5.1"] * 12)
    known.write_text(
        exact.read_text().replace("nights = 5", f"nights = 5, monthly_sun_kwh_m2 = [{months}]")
    )
    for command in (["check"], ["run", "-q", "--members", "64", "--out", str(tmp_path)]):
        assert main([*command, str(exact)]) == 3
        told = " ".join(words(capsys)[1].split())
        assert "exact.toml: uncertain.sun_frac = 0 takes the worldwide estimate" in told
        assert "Leave sun_frac out, or give that stay its own weather or monthly_sun" in told
        assert main([*command, str(known)]) == 0


def test_offline(
    here: Loopback, capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def no_socket(*args: object, **named: object) -> None:
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket, "socket", no_socket)
    assert main(["weather", "get", *AT, "--offline"]) == 4
    assert "Without --offline: flatodds weather get --at 40.000,-105.000" in words(capsys)[1]
    scenario = tmp_path / "my.toml"
    scenario.write_text(STAYS.format(first='weather = "fetched"', second=""))
    assert main(["weather", "show", str(scenario), "--offline"]) == 4
    assert "flatodds weather get --at 40.000,-105.000" in words(capsys)[1]


def test_a_dead_service_is_exit_4(here: Loopback, capsys: Capture) -> None:
    here.faults.extend(["500"] * 3)
    assert main(["weather", "get", *AT, "--years", "2015"]) == 4
    err = words(capsys)[1]
    assert "PVGIS, 40.000, -105.000, 2015: It refused" in err
    assert "Trying again" in err
    assert "--service power" in err
    assert cached_sets() == ([], [])


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("get",), "Give a scenario, or a place with --at"),
        (("get", "my.toml", *AT), "Give a scenario, or a place with --at"),
        (("get", "--at", "nowhere"), "is not in the list of towns"),
        (("get", *AT, "--years", "last"), "is not a span of years"),
        (("get", *AT, "--service", "crystal"), "There is no service"),
        (("show", "none.csv"), "There is no file none.csv"),
        (("show", "my cabin"), "The place my cabin is not in the list of towns"),
        (("show", "0,-30"), "is at sea"),
        (("show", "40.0,-105.0", "--pictur", "x.svg"), ""),
    ],
)
def test_usage(capsys: Capture, arguments: tuple[str, ...], said: str) -> None:
    assert main(["weather", *arguments]) == 2
    assert said in words(capsys)[1]


def test_negative_places_and_generated_years(
    capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A place that begins with a minus is no option; its years are said to be generated."""
    asked: list[tuple[int, int]] = []

    def some_days(tables: object, pairs: int, days: int, seed: int) -> tuple[object, object]:
        asked.append((pairs, days))
        rng = np.random.default_rng(seed)
        return rng.uniform(500.0, 6000.0, (20, days)), np.zeros((20, days))

    monkeypatch.setattr("flatodds.weather.preview.generate_days", some_days)
    png = tmp_path / "sun.png"
    assert main(["weather", "show", "-33.9,18.6", "--picture", str(png)]) == 0
    out = words(capsys)[0]
    assert "Weather: 33.90 S 18.60 E" in out
    assert "These are 2,000 generated years, not measured ones." in out
    assert "Typical error of the dullest season: +-12 %" in out
    assert asked == [(looked_at.PAIRS, 730)]
    assert png.read_bytes().startswith(b"\x89PNG")


def test_generated_from_a_file_of_one_year(capsys: Capture) -> None:
    """The generator itself, on a measured typical year that comes with pvlib."""
    import pvlib

    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    assert main(["weather", "show", str(path)]) == 0
    lines = capsys.readouterr().out.split("\n")
    sun = next(line for line in lines if line.startswith("sun  ")).split()[1:]
    own = np.zeros(12)
    for row in path.read_text().splitlines()[2:]:
        cells = row.split(",")
        own[int(cells[0][:2]) - 1] += float(cells[4]) / 1000.0
    own /= np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    np.testing.assert_allclose([float(value) for value in sun], own, rtol=0.05)
    assert any("generated years, not measured ones" in line for line in lines)


def test_help_tells_the_way_to_better_weather(capsys: Capture) -> None:
    for arguments in (["weather"], ["weather", "--help"]):
        assert main(arguments) == 0
        out = capsys.readouterr().out
        assert max(map(len, out.split("\n"))) <= 80
        for said in ('weather = "fetched"', "flatodds weather get my.toml", "FLATODDS_NSRDB_KEY"):
            assert said in out


def test_help_imports_nothing_heavy(run_code: Callable[[str], str]) -> None:
    code = (
        "import sys\nfrom flatodds.cli.app import main\nmain(['weather', '--help'])\n"
        "print([n for n in ('numpy', 'pandas', 'pvlib', 'requests', 'matplotlib')"
        " if n in sys.modules])"
    )
    assert run_code(code).strip().endswith("[]")


@pytest.fixture
def run_code() -> Callable[[str], str]:
    def run(code: str) -> str:
        return subprocess.run(  # noqa: S603
            [sys.executable, "-c", code], capture_output=True, text=True, check=True
        ).stdout

    return run
