"""Volts of cold strings and currents of panels, as a run or the command `check` tells them.

Limits are no physics of the hour: a run refuses the rig, or warns of it in its summary, and
`check` lists them beside the labels they are to be held against.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from flatodds import parse_scenario, simulate
from flatodds.cli.app import main
from flatodds.units import degrees_text

pytestmark = pytest.mark.validation

Capture = pytest.CaptureFixture[str]

RIG = """
home = "cabin"
bank = {{ chemistry = "lithium", volts = 12, amp_hours = 300 }}
household = {{ pattern = "none", heat = "none" }}
[array]
voc_v = {voc}
isc_a = 10.07
vmp_v = 31.0
imp_a = 9.5
voc_frac_per_c = {per_c}
in_series = {series}
in_parallel = {parallel}
[controller]
amps = 60
max_volts = {most_v}
max_input_amps = {most_a}
[[stay]]
place = "33.66, -114.23"
elevation_m = 300
first_day = "1 Dec"
nights = 1
{cold}
"""


def rig(
    cold: str,
    *,
    voc: float = 38.9,
    per_c: float = -0.0027,
    series: int = 1,
    parallel: int = 1,
    most_v: float = 150.0,
    most_a: float = 400.0,
) -> str:
    return RIG.format(
        cold=cold,
        voc=voc,
        per_c=per_c,
        series=series,
        parallel=parallel,
        most_v=most_v,
        most_a=most_a,
    )


def guessed(temp_c: float) -> str:
    """Months so warm that a coldest night of `temp_c` follows: a guess only warns."""
    return f"monthly_temp_c = {[temp_c + 20.0] * 12}"


def warned(text: str) -> str:
    """Cautions of a run, on one line."""
    result = simulate(parse_scenario(text, "check.toml"), members=64)
    return " ".join(result.summary()["cautions"])


def refused(text: str, folder: Path, capsys: Capture) -> str:
    """Run from the command line, that must refuse: its words on one line."""
    file = folder / "rig.toml"
    file.write_text(text)
    assert main(["run", str(file), "--out", str(folder), "--members", "64", "-q"]) != 0
    assert [path.name for path in folder.iterdir()] == ["rig.toml"]  # nothing was run
    return " ".join(capsys.readouterr().err.split())


TABLE = "1.02 1.04 1.06 1.08 1.10 1.12 1.14 1.16 1.18 1.20 1.21 1.23 1.25"


@pytest.mark.parametrize(("k", "factor"), list(enumerate(map(float, TABLE.split()))))
def test_the_codes_table_through_a_run(k: int, factor: float) -> None:
    """NEC table 690.7(A), silicon, from 24 to 20 C down in fives (some rows from memory): a
    string of 1,000 V at either end of each row is warned of a tenth of a volt below its volts,
    and not a tenth above. The data sheet's coefficient is so small that the table decides.
    """

    def told(temp_c: float, most_v: float) -> str:
        return warned(rig(guessed(temp_c), voc=100.0, per_c=-0.0001, series=10, most_v=most_v))

    volts = 1000.0 * factor
    for temp_c in (24 - 5 * k, 20 - 5 * k):
        cold = degrees_text(temp_c, us=True)
        reached = f"reach {volts:.1f} V open at {cold} by NEC table 690.7(A)"
        assert reached in told(temp_c, volts - 0.1)
        assert "690.7" not in told(temp_c, volts + 0.1)


def test_a_worked_string_through_a_run(tmp_path: Path, capsys: Capture) -> None:
    """Public course notes: 49.5 V, -0.27 % per kelvin, -10 C are 54.18 V (11 in series stay
    below 600 V), by the code's table 56.43 V (10 in series); 0.01 V, read at 10 in series.

    The greater rules, so 10 run without a word and 11 are refused.
    """
    found = warned(rig(guessed(-10.0), voc=49.5, series=10, most_v=560.0))
    assert "reach 564.3 V open at 14 F (-10 C)" in found
    assert "541.8 V by the data sheet" in found
    assert "At most 9 in series" in found
    cold = "coldest_c = -10"
    assert "690.7" not in warned(rig(cold, voc=49.5, series=10, most_v=600.0))
    said = refused(rig(cold, voc=49.5, series=11, most_v=600.0), tmp_path, capsys)
    assert "620.7 V open" in said
    assert "596.0 V by the data sheet" in said  # 11 x 54.18: by this alone it would pass
    assert "At most 10 in series" in said


def test_strings_on_150_volts_through_a_run(tmp_path: Path, capsys: Capture) -> None:
    """38.9 V each at -20 C: 91.8 V and, of three, 137.7 V run; four, 183.6 V, are refused."""
    cold = "coldest_c = -20"
    for series, most_v in ((2, 91.8), (3, 137.7)):
        assert "690.7" not in warned(rig(cold, series=series))
        tight = refused(rig(cold, series=series, most_v=most_v - 0.1), tmp_path, capsys)
        assert f"reach {most_v} V open" in tight
    said = refused(rig(cold, series=4), tmp_path, capsys)
    assert "reach 183.6 V open" in said
    assert "At most 3 in series" in said
    assert "licensed electrician" in said


def test_currents_by_the_code_through_a_run_and_check(tmp_path: Path, capsys: Capture) -> None:
    """NEC 690.8: 10.07 A x 3 strings x 1.25 = 37.76 A, a further 1.25 for conductors (public
    course notes, second-hand). Thirty strings show two more digits: 377.6 and 472.0 A.

    A run warns of the first. The second is a figure of wires, which no run has: `check` tells it.
    """
    cold = "coldest_c = -20"
    found = warned(rig(cold, parallel=3, most_a=37.7))
    assert "can give 37.8 A (1.25 times their short-circuit current, NEC 690.8)" in found
    assert "690.8" not in warned(rig(cold, parallel=3, most_a=37.8))
    assert "can give 377.6 A" in warned(rig(cold, parallel=30, most_a=370.0))
    file = tmp_path / "rig.toml"
    file.write_text(rig(cold, parallel=30))
    assert main(["check", str(file)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "panels up to 377.6 A; wires and fuses for 472.0 A" in said
    assert "Local codes rule; have a licensed electrician check it." in said
