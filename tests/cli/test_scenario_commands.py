"""The commands new, check and schema as people type them."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from flatodds.cli.app import main
from flatodds.cli.plain import plain, wrapped
from flatodds.scenario.templates import demos, starter

Capture = pytest.CaptureFixture[str]


def one_line(text: str) -> str:
    return " ".join(text.split())


def test_alone_it_prints_three_lines(capsys: Capture) -> None:
    assert main([]) == 0
    out = capsys.readouterr().out
    lines = out.strip().split("\n")
    assert len(lines) == 3
    assert "flatodds new" in lines[0]
    assert "flatodds run" in lines[1]
    assert "report" in lines[2]


def test_new_says_where_it_understood_the_place_to_be(tmp_path: Path, capsys: Capture) -> None:
    assert main(["new", str(tmp_path / "a.toml"), "--place", "30 miles S of Moab, UT"]) == 0
    said = one_line(capsys.readouterr().out)
    assert "at 38.14 N 109.55 W, America/Denver" in said
    assert main(["new", str(tmp_path / "b.toml"), "--place", "33.66, 114.23"]) == 0
    assert 'If west was meant, write "33.66, -114.23"' in one_line(capsys.readouterr().err)


def test_new_writes_the_starter_and_never_over_a_file(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "my.toml"
    assert main(["new", str(file)]) == 0
    assert file.read_text() == starter()
    assert "flatodds run" in capsys.readouterr().out
    file.write_text("mine")
    assert main(["new", str(file)]) == 2
    assert "exists already" in one_line(capsys.readouterr().err)
    assert file.read_text() == "mine"
    assert main(["new", str(file), "--force"]) == 0
    assert file.read_text() == starter()
    assert [path.name for path in tmp_path.iterdir()] == ["my.toml"]


def test_new_where_nothing_can_be_written(tmp_path: Path, capsys: Capture) -> None:
    for more in ([], ["--force"]):
        assert main(["new", str(tmp_path / "no" / "my.toml"), *more]) == 2
        assert "cannot be written" in one_line(capsys.readouterr().err)


@pytest.mark.parametrize("name", sorted(demos()))
def test_every_demo_can_be_copied_and_checked(name: str, tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / f"{name}.toml"
    assert main(["new", str(file), "--demo", name]) == 0
    assert "nvented" in file.read_text() or "invented" in file.read_text()
    assert main(["check", str(file)]) == 0
    out, err = capsys.readouterr()
    assert "is valid" in out
    for line in (out + err).split("\n"):
        assert line.isascii()
        assert len(line) <= 80 or str(tmp_path) in line


def test_unknown_demo_and_list(tmp_path: Path, capsys: Capture) -> None:
    assert main(["new", str(tmp_path / "a.toml"), "--demo", "zzz"]) == 2
    assert "lakeshore-autumn" in capsys.readouterr().err
    assert main(["new", "--list", "zzz"]) == 2
    assert not (tmp_path / "a.toml").exists()


def test_lists(capsys: Capture) -> None:
    assert main(["new", "--list", "appliances"]) == 0
    out = capsys.readouterr().out
    assert "cpap_dry" in out
    assert max(map(len, out.split("\n"))) <= 80
    assert main(["new", "--list", "demos"]) == 0
    assert "lakeshore-autumn" in capsys.readouterr().out


def test_check_tells_every_assumption(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "my.toml"
    file.write_text(starter())
    assert main(["check", str(file)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    for key in ("bank.arrival_charge_frac", "array.shade_frac", "uncertain.use_frac"):
        assert key in out
    assert "5.2 kWh (400 Ah, 12 V, lithium)" in out
    assert "81 Ah at 12.8 V" in out
    assert "64 F" in out


def test_check_prints_cautions_and_still_succeeds(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "my.toml"
    file.write_text(starter().replace("= 400 ", "= 2000"))
    assert main(["check", str(file)]) == 0
    assert "Caution: my.toml line 7" in capsys.readouterr().err


def test_faults_go_to_stderr_with_exit_code_three(tmp_path: Path, capsys: Capture) -> None:
    file = tmp_path / "my.toml"
    file.write_text(starter().replace("amp_hours", "amphours").replace("20 Sep", "12-01"))
    assert main(["check", str(file)]) == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert err.index("my.toml line 7: bank.amphours") < err.index("my.toml line 14: stay.first_day")
    assert main(["check", str(tmp_path / "none.toml")]) == 3


@pytest.mark.parametrize("arguments", [["chekc"], ["check"], ["new", "--bogus"], ["--bogus"]])
def test_wrong_usage_gives_two(arguments: list[str], capsys: Capture) -> None:
    assert main(arguments) == 2
    assert capsys.readouterr().err


def test_interruption_gives_130(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("flatodds.scenario.load_scenario", interrupted)
    assert main(["check", "x.toml"]) == 130


def test_schema_is_json(capsys: Capture) -> None:
    assert main(["schema"]) == 0
    assert json.loads(capsys.readouterr().out)["title"] == "flatodds scenario"


def test_help_and_version(capsys: Capture) -> None:
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    assert all(word in out for word in ("new", "check", "schema"))
    assert out.isascii()
    assert "\x1b" not in out


@pytest.mark.end
def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys; from flatodds.cli.app import main; main(['--help']);"
        "heavy = {'numpy', 'pandas', 'xarray', 'numba', 'pvlib', 'matplotlib', 'tzfpy'};"
        "sys.exit(bool(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True)  # noqa: S603
    assert done.returncode == 0


def test_plain_spelling() -> None:
    assert plain("Été “au” lac 5 °C") == 'Ete "au" lac 5 C'
    assert plain("a\x1b[31m\x7f") == "a?[31m?"
    assert plain("湖") == "?"
    assert max(map(len, wrapped("word " * 60, "  ", "    ").split("\n"))) <= 80
