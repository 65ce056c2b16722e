"""Numbers typed as options of the commands, and folders that no result can be put in."""

from __future__ import annotations

from pathlib import Path

import pytest

from flatodds.cli.app import main
from flatodds.cli.numbers import number, whole
from flatodds.errors import Problem, UsageError

Capture = pytest.CaptureFixture[str]


def test_numbers_are_read_and_others_refused_with_what_to_type() -> None:
    assert whole("--seed", "1")("12") == 12
    assert number("--odds", "5")("2.5") == 2.5
    with pytest.raises(UsageError, match=r"^--seed takes a whole number, not 1\.5\.\n  Write: --s"):
        whole("--seed", "1")("1.5")
    with pytest.raises(UsageError, match=r"^--charge takes a number alone, not 62%\.\n  Write: --"):
        number("--charge", "62")("62%")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (("run", "my.toml", "--seed", "x"), "--seed takes a whole number, not x.\n"),
        (("run", "my.toml", "--threads", "two"), "--threads takes a whole number, not two.\n"),
        (("upgrades", "my.toml", "--budget", "lots"), "--budget takes a number alone, not lots.\n"),
        (("arrivals", "my.toml", "--nights", "1.5"), "--nights takes a whole number, not 1.5.\n"),
        (("days-left", "my.toml", "--charge", "62%"), "--charge takes a number alone, not 62%.\n"),
        (("sweep", "my.toml", "--odds", "5%"), "--odds takes a number alone, not 5%.\n"),
        (("compare", "my.toml", "--members", "auto"), "--members takes a whole number, not auto."),
    ],
)
def test_commands_say_it_in_words_that_people_use(
    typed: tuple[str, ...], said: str, capsys: Capture
) -> None:
    assert main(typed) == 2
    assert capsys.readouterr().err.startswith(said)


def test_a_file_in_place_of_the_folder_is_refused_before_any_work(
    tmp_path: Path, capsys: Capture
) -> None:
    (tmp_path / "my.toml").write_text(
        'bank.chemistry = "agm"\nbank.volts = 12\nbank.amp_hours = 220\narray.watts = 400\n'
        'household.pattern = "light"\n[[stay]]\nplace = "36.10, -79.95"\nfirst_day = "1 Jun"\n'
        "nights = 2\n",
        encoding="utf-8",
    )
    taken = tmp_path / "taken"
    taken.write_text("mine", encoding="utf-8")
    for command in ("run", "upgrades"):
        for out in (taken, taken / "below"):
            assert main([command, str(tmp_path / "my.toml"), "--out", str(out)]) == 2
            told = capsys.readouterr()
            assert " ".join(told.err.split()).startswith(f"{taken} is a file, not a folder.")
            assert told.out == ""


def test_what_is_said_of_a_thing_takes_no_colon() -> None:
    assert str(Problem("a.toml", "is empty.", "Fill it.")) == "a.toml is empty.\n  Fill it."
    assert str(Problem("a.toml line 2", "bank.volt is no word.")).startswith("a.toml line 2: bank")
