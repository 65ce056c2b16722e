"""`run --explain`: what is printed, as text and as JSON, and with a mistake or nothing to drop."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from flatodds.cli.app import main
from flatodds.outcomes import summary_schema

pytestmark = pytest.mark.end

Capture = pytest.CaptureFixture[str]
EMPTY = """title = "Short stay"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 40
array.watts = 60
household.pattern = "none"
household.heat = "none"

[[stay]]
place = "36.10, -79.95"
first_day = "20 Nov"
nights = 5
"""
LAMP = """
[[appliance]]
name = "lamp"
watts = 30
side = "dc"
minutes = 300
times_a_day = 1
window = ["17-24"]
"""
KETTLE = """
[[appliance]]
name = "kettle of ours"
watts = 1500
side = "ac"
minutes = 10
times_a_day = 2
window = ["7-9"]
"""


def explained(folder: Path, text: str, *more: str) -> int:
    file = folder / "my.toml"
    file.write_text(text, encoding="utf-8")
    words = ["--out", str(folder), "--members", "64", "-q", "--explain", *more]
    return main(["run", str(file), *words])


def test_each_appliance_and_what_is_too_much(tmp_path: Path, capsys: Capture) -> None:
    text = EMPTY + "[inverter]\nwatts = 1000\n" + LAMP + KETTLE
    assert explained(tmp_path, text) == 0
    out, err = capsys.readouterr()
    assert err == ""
    after = out[out.index("What each appliance costs") :]
    assert after.index("lamp") < after.index("Too much for the inverter at once")
    assert after.index("Too much for the inverter") < after.index("Gone without, kWh in all")
    assert after.count("kettle of ours") == 3
    assert "64 stays" in " ".join(after.split())
    assert (
        max(len(line) for line in after.split("\n") if not line.startswith(("Open ", "Next: ")))
        <= 80
    )
    page = (tmp_path / "short-stay-result" / "report.html").read_text("utf-8")
    part = page[page.index('<section id="appliances">') : page.index('<section id="sure"')]
    assert part.count("<bdi>kettle of ours</bdi>") == 2
    assert part.count("<bdi>lamp</bdi>") == 1
    assert "Counted over 64 stays" in part.replace("\u00a0", " ")
    assert "Too much at once: in " in page.replace("\u00a0", " ")


def test_json_keeps_its_contract_and_the_file_stays_as_it_is(
    tmp_path: Path, capsys: Capture
) -> None:
    assert explained(tmp_path, EMPTY + LAMP, "--json") == 0
    printed = json.loads(capsys.readouterr().out)
    Draft202012Validator(summary_schema()).validate(printed)
    assert [row["name"] for row in printed["appliance_costs"]] == ["lamp"]
    assert printed["overloads"] == []
    written = json.loads((tmp_path / "short-stay-result" / "summary.json").read_text("utf-8"))
    assert written == {
        k: v for k, v in printed.items() if k not in ("appliance_costs", "overloads")
    }


def test_sentences_only(tmp_path: Path, capsys: Capture) -> None:
    assert explained(tmp_path, EMPTY + LAMP, "--plain") == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "lamp takes 0.15 kWh a day" in out
    assert "kWh a day of the battery" not in out


def test_an_empty_household(tmp_path: Path, capsys: Capture) -> None:
    assert explained(tmp_path, EMPTY) == 0
    assert "No appliance can be dropped." in capsys.readouterr().out
    page = (tmp_path / "short-stay-result" / "report.html").read_text("utf-8")
    assert "No appliance can be dropped." in page
    assert "Too much" not in page


def test_a_mistake_is_told_as_ever(tmp_path: Path, capsys: Capture) -> None:
    assert explained(tmp_path, EMPTY + LAMP.replace("minutes", "minuets")) != 0
    out, err = capsys.readouterr()
    assert out == ""
    assert "minuets" in err
    assert "Traceback" not in err
