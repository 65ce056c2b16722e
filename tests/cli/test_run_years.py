"""The command `run` on several real years, end to end from files on disk."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from flatodds.cli.app import main
from flatodds.sun import sun_table
from flatodds.weather.tables import clear_sky

pytestmark = pytest.mark.end

Capture = pytest.CaptureFixture[str]
HEAD = "# latitude: 36\n# longitude: -80\n# elevation_m: 270\n# utc_offset_h: -5\n"
SCENARIO = """title = "Some years"
bank = { chemistry = "lithium", volts = 12, amp_hours = 60 }
array = { watts = 100 }
household = { pattern = "light", heat = "none" }

[[stay]]
place = "36.0, -80.0"
first_day = "20 Dec"
nights = 20
weather = ["one.csv", "two.csv"]
"""


def written_years(folder: Path, name: str, years: range) -> None:
    """Plain table of invented years, mild, with a dullness for each day."""
    clear = clear_sky(36.0, -80.0, 270.0, sun_table(36.0, -80.0, 270.0, -5))
    lines = [HEAD + "time,ghi,dni,dhi,temp_air,wind_speed"]
    for year in years:
        rng = np.random.default_rng(year)
        start, end = np.datetime64(f"{year}-01-01"), np.datetime64(f"{year + 1}-01-01")
        days = [str(day) for day in np.arange(start, end)]
        for k, day in enumerate(day for day in days if not day.endswith("02-29")):
            dull = rng.uniform(0.1, 1.0)
            for h in range(24):
                ghi = clear[k, h] * dull
                lines.append(f"{day}T{h:02d}:00,{ghi:.0f},0,{ghi:.0f},12,3")
    (folder / name).write_text("\n".join(lines) + "\n")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("run-years")
    written_years(made, "one.csv", range(2001, 2004))
    written_years(made, "two.csv", range(2004, 2006))
    return made


def summary(folder: Path, more: str, capsys: Capture) -> dict[str, object]:
    file = folder / "my.toml"
    file.write_text(SCENARIO + more)
    assert main(["run", str(file), "--out", str(folder), "--members", "64", "-q", "--json"]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


@pytest.mark.parametrize(
    ("more", "members", "basis", "counts", "error"),
    [
        ("", 64, "resampled", "record", 0.06),
        ('years = "as they were"\n', 65, "real years", "record", 0.05),
        ('years = "invented"\n', 64, "fitted years", "monte_carlo", 0.09),
    ],
)
def test_three_ways_to_live_five_years(
    folder: Path,
    capsys: Capture,
    more: str,
    members: int,
    basis: str,
    counts: str,
    error: float,
) -> None:
    found = summary(folder, more, capsys)
    assert found["members"] == members
    assert found["weather"][0]["basis"] == basis  # type: ignore[index]
    assert found["weather"][0]["typical_error_frac"] == error  # type: ignore[index]
    assert found["theta_points"] == 25
    stay = found["stays"][0]  # type: ignore[index]
    assert stay["interval_basis"] == counts
    wide = stay["odds_flat"]["high"] - stay["odds_flat"]["low"]
    assert (wide > 0.35) == (counts == "record")  # five years are five years


def test_a_typical_year_is_not_shuffled(folder: Path, capsys: Capture) -> None:
    file = folder / "typical.toml"
    text = SCENARIO.replace('["one.csv", "two.csv"]', '"sample:greensboro"')
    file.write_text(text + 'years = "shuffled"\n')
    assert main(["run", str(file), "--out", str(folder), "-q"]) == 4
    out, err = capsys.readouterr()
    assert out == ""
    assert "no bad weeks but its own" in " ".join(err.split())
