"""The command `run` as people type it: what it writes, and what it says when it cannot."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from flatodds.cli.app import main
from flatodds.outcomes import summary_schema
from flatodds.scenario.templates import starter

pytestmark = pytest.mark.end

Capture = pytest.CaptureFixture[str]

SCENARIO = """title = "Short stay"
bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 100
array.watts = 200
household.pattern = "none"
household.heat = "none"

[[appliance]]
name = "lamp"
watts = 30
side = "dc"
minutes = 300
times_a_day = 1
window = ["17-24"]

[[stay]]
place = "36.10, -79.95"
first_day = "20 Nov"
nights = 9
"""
HEADER = """# latitude: 36.10
# longitude: -79.95
# elevation_m: 273
# utc_offset_h: -5
"""


def written(folder: Path, text: str = SCENARIO) -> Path:
    file = folder / "my.toml"
    file.write_text(text, encoding="utf-8")
    return file


def tree(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else b""
        for path in folder.rglob("*")
    }


def run(file: Path, *more: str) -> int:
    return main(["run", str(file), "--out", str(file.parent), "--members", "64", "-q", *more])


def refused(file: Path, code: int, capsys: Capture, *more: str) -> str:
    """Run, expect this exit code, nothing on disk and nothing printed; give the message."""
    before = tree(file.parent)
    assert run(file, *more) == code
    out, err = capsys.readouterr()
    assert tree(file.parent) == before
    assert out == ""
    assert "Traceback" not in err
    assert max(len(line) for line in err.split("\n")) <= 80 or str(file.parent) in err
    return " ".join(err.split())


def test_json_is_the_summary_and_keeps_its_contract(tmp_path: Path, capsys: Capture) -> None:
    assert run(written(tmp_path), "--json") == 0
    out, err = capsys.readouterr()
    assert err == ""
    summary = json.loads(out)
    Draft202012Validator(summary_schema()).validate(summary)
    folder = tmp_path / "short-stay-result"
    assert (folder / "summary.json").read_text(encoding="utf-8") == out
    assert summary["members"] == 64
    assert summary["stays"][0]["nights"] == 9
    assert sorted(path.name for path in tmp_path.iterdir()) == ["my.toml", folder.name]


def test_run_twice_replaces_its_own_result(tmp_path: Path, capsys: Capture) -> None:
    file = written(tmp_path)
    assert run(file, "--seed", "1") == 0
    first = tree(tmp_path)
    assert run(file, "--seed", "2") == 0
    second = tree(tmp_path)
    assert second.keys() == first.keys()
    summary = "short-stay-result/summary.json"
    assert json.loads(second[summary])["seed"] == 2
    assert json.loads(first[summary])["seed"] == 1
    assert run(file, "--seed", "1") == 0
    assert tree(tmp_path)[summary] == first[summary]
    assert "flat" in capsys.readouterr().out


def test_a_folder_of_something_else_is_left_alone(tmp_path: Path, capsys: Capture) -> None:
    folder = tmp_path / "short-stay-result"
    folder.mkdir()
    (folder / "letter.txt").write_text("mine")
    message = refused(written(tmp_path), 2, capsys)
    assert "short-stay-result" in message
    assert "is not a flatodds result" in message


def test_the_starter_runs(tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    written(tmp_path, starter())
    assert main(["run", "my.toml", "--members", "64", "-q"]) == 0
    out, err = capsys.readouterr()
    assert (tmp_path / "lakeshore-autumn-result" / "summary.json").is_file()
    assert err == ""
    assert "lakeshore-autumn-result" in out
    assert out.isascii()


WRONG = [
    ("amp_hours = 100", "amphours = 100", 4, "bank.amphours"),
    ('"36.10, -79.95"', '"36.10, -59.95"', 18, "stay.place"),
    ("watts = 200", "watts = nan", 5, "array.watts"),
    ("amp_hours = 100", "amp_hours = -100", 4, "bank.amp_hours"),
    ('window = ["17-24"]\n', "", 9, "appliance.window"),
    ("nights = 9", "nights = 0", 20, "stay.nights"),
]


@pytest.mark.parametrize(
    ("right", "wrong", "line", "key"),
    WRONG,
    ids=["unknown key", "at sea", "nan", "negative", "no window", "no nights"],
)
def test_a_wrong_scenario_gives_three(
    right: str, wrong: str, line: int, key: str, tmp_path: Path, capsys: Capture
) -> None:
    assert SCENARIO.count(right) == 1
    message = refused(written(tmp_path, SCENARIO.replace(right, wrong)), 3, capsys)
    assert message.startswith(f"my.toml line {line}: {key} ")
    assert message.count("my.toml line") == 1
    if key == "stay.place":
        assert "at sea" in message


def test_no_such_scenario_gives_three(tmp_path: Path, capsys: Capture) -> None:
    assert "There is no file none.toml" in refused(tmp_path / "none.toml", 3, capsys)


def with_weather(folder: Path, name: str) -> Path:
    return written(folder, SCENARIO + f'weather = "{name}"\n')


def plain_table(hours: int) -> str:
    rows = ["time,ghi,temp_air,wind_speed"]
    rows += [f"2001-01-{1 + h // 24:02d}T{h % 24:02d}:00,0,5,1" for h in range(hours)]
    return HEADER + "\n".join(rows) + "\n"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("none.csv", None),
        ("noise.csv", bytes(range(256)) * 8),
        ("letter.csv", b"Dear reader,\nthis is no weather.\n"),
        ("empty.csv", b""),
        ("short.csv", plain_table(48).encode()),
    ],
)
def test_unusable_weather_gives_four(
    name: str, content: bytes | None, tmp_path: Path, capsys: Capture
) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    message = refused(with_weather(tmp_path, name), 4, capsys)
    assert name in message
    assert message.count(name) <= 2


def test_a_cut_file_gives_four_and_names_what_is_missing(tmp_path: Path, capsys: Capture) -> None:
    import pvlib

    whole = (Path(pvlib.__file__).parent / "data" / "723170TYA.CSV").read_bytes()
    lines = whole.splitlines(keepends=True)
    (tmp_path / "cut.csv").write_bytes(b"".join(lines[:5000]))
    message = refused(with_weather(tmp_path, "cut.csv"), 4, capsys)
    assert "cut.csv" in message
    assert "3762" in message or "4998" in message or "line" in message


@pytest.mark.parametrize(
    "arguments",
    [["--members", "0"], ["--members", "2000000"], ["--seed", "-1"], ["--threads", "0"]],
)
def test_numbers_out_of_range_give_two(
    arguments: list[str], tmp_path: Path, capsys: Capture
) -> None:
    file = written(tmp_path)
    before = tree(tmp_path)
    assert main(["run", str(file), "--out", str(tmp_path), "-q", *arguments]) == 2
    assert arguments[0].lstrip("-") in capsys.readouterr().err
    assert tree(tmp_path) == before


@pytest.mark.parametrize("arguments", [[], ["a.toml", "b.toml"], ["a.toml", "--membres", "9"]])
def test_wrong_usage_gives_two(arguments: list[str], capsys: Capture) -> None:
    assert main(["run", *arguments]) == 2
    assert "Usage: flatodds run" in capsys.readouterr().err


def test_a_place_nobody_can_write_to_gives_two(tmp_path: Path, capsys: Capture) -> None:
    file = written(tmp_path)
    before = tree(tmp_path)
    assert main(["run", str(file), "--out", str(file / "x"), "--members", "64", "-q"]) == 2
    assert "my.toml" in capsys.readouterr().err
    assert tree(tmp_path) == before


@pytest.mark.parametrize(("nights", "flat"), [(3, 0.0), (9, 1.0)])
def test_a_bank_alone_lasts_as_long_as_its_energy(
    nights: int, flat: float, tmp_path: Path, capsys: Capture
) -> None:
    """About 1.3 kWh, 80 % full, carry a lamp of 0.15 kWh a day through six nights or so."""
    alone = SCENARIO.replace("array.watts = 200", "array.watts = 0")
    assert run(written(tmp_path, alone.replace("nights = 9", f"nights = {nights}"))) == 0
    assert "no panels" in capsys.readouterr().out
    summary = json.loads((tmp_path / "short-stay-result/summary.json").read_text())
    stay = summary["stays"][0]
    assert stay["array_kwh"]["mean"] == stay["spilled_kwh"]["mean"] == 0.0
    assert stay["odds_flat"]["estimate"] == pytest.approx(flat, abs=0.1)
