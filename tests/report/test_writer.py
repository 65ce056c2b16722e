from __future__ import annotations

import json
import os
import re
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds.engine.results import Results
from flatodds.errors import UsageError
from flatodds.outcomes import Outcomes, open_result
from flatodds.report.writer import Content, slug, summary_json, write_folder, write_result

Fabricate = Callable[..., Results]

OURS: dict[str, Content] = {"summary.json": '{"flatodds": "1"}', "tables/a.csv": "a\n1\n"}


def names(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*"))


@pytest.fixture
def outcomes(fabricate: Fabricate) -> Outcomes:
    return Outcomes.from_results(fabricate(members=5))


def test_a_result_folder_holds_everything(outcomes: Outcomes, tmp_path: Path) -> None:
    written = write_result(outcomes, tmp_path / "new", {"report.html": b"<p>"})
    assert written.folder == tmp_path / "new" / "desert-winter-result"
    assert names(written.folder) == sorted([*written.files, "tables"])
    assert len(written.files) == 7
    text = (written.folder / "summary.json").read_text(encoding="utf-8")
    assert text == summary_json(outcomes.summary())
    assert json.loads(text) == outcomes.summary()
    assert open_result(written.folder).summary() == outcomes.summary()
    assert names(tmp_path / "new")[0] == "desert-winter-result"


def test_an_earlier_result_is_replaced_whole(outcomes: Outcomes, tmp_path: Path) -> None:
    folder = write_result(outcomes, tmp_path, {"report.html": "old"}).folder
    (folder / ".DS_Store").write_text("clutter")
    written = write_result(outcomes, tmp_path)
    assert "report.html" not in names(folder)
    assert ".DS_Store" not in names(folder)
    assert names(folder) == sorted([*written.files, "tables"])
    assert [path.name for path in tmp_path.iterdir()] == ["desert-winter-result"]


@pytest.mark.parametrize("content", [None, "{}", "[1]", "not json", '["flatodds"]', "[" * 100_000])
def test_a_folder_of_others_is_refused(
    outcomes: Outcomes, tmp_path: Path, content: str | None
) -> None:
    folder = tmp_path / "desert-winter-result"
    folder.mkdir()
    (folder / "letter.txt").write_text("dear")
    if content is not None:
        (folder / "summary.json").write_text(content)
    before = names(tmp_path)
    with pytest.raises(UsageError, match="not a flatodds result"):
        write_result(outcomes, tmp_path)
    assert names(tmp_path) == before


def test_a_file_or_link_in_the_way_is_refused(outcomes: Outcomes, tmp_path: Path) -> None:
    folder = tmp_path / "desert-winter-result"
    folder.write_text("a file")
    with pytest.raises(UsageError, match="not a flatodds result"):
        write_result(outcomes, tmp_path)
    folder.unlink()
    elsewhere = tmp_path / "elsewhere"
    write_folder(elsewhere, OURS)
    folder.symlink_to(elsewhere)
    with pytest.raises(UsageError, match="not a flatodds result"):
        write_result(outcomes, tmp_path)
    assert names(elsewhere) == ["summary.json", "tables", "tables/a.csv"]


def test_files_the_user_added_are_not_lost(outcomes: Outcomes, tmp_path: Path) -> None:
    folder = write_result(outcomes, tmp_path).folder
    (folder / "my notes.txt").write_text("keep")
    with pytest.raises(UsageError, match=r"my notes\.txt"):
        write_result(outcomes, tmp_path)
    assert (folder / "my notes.txt").read_text() == "keep"


def test_a_failure_leaves_what_was_there(tmp_path: Path) -> None:
    folder = tmp_path / "a-result"
    write_folder(folder, OURS)

    def fail(path: Path) -> None:
        path.write_text("half")
        raise OSError(28, "No space left on device")

    for target in (folder, tmp_path / "b-result"):
        with pytest.raises(UsageError, match="No space left"):
            write_folder(target, {**OURS, "result.nc": fail})
    assert names(tmp_path) == [
        "a-result",
        "a-result/summary.json",
        "a-result/tables",
        "a-result/tables/a.csv",
    ]


def test_a_programming_fault_leaves_no_half_folder_either(tmp_path: Path) -> None:
    def fail(_: Path) -> None:
        raise KeyError("fault")

    with pytest.raises(KeyError):
        write_folder(tmp_path / "a-result", {**OURS, "result.nc": fail})
    assert not names(tmp_path)


def test_the_earlier_result_comes_back_when_the_last_step_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "a-result"
    write_folder(folder, OURS)
    real = Path.rename

    def rename(self: Path, target: Path) -> Path:
        if self.name.endswith(".tmp"):
            raise OSError(5, "Input/output error")
        return real(self, target)

    monkeypatch.setattr(Path, "rename", rename)
    with pytest.raises(UsageError, match="Input/output"):
        write_folder(folder, {"summary.json": '{"flatodds": "2"}'})
    assert [path.name for path in tmp_path.iterdir()] == ["a-result"]
    assert (folder / "summary.json").read_text() == '{"flatodds": "1"}'


def test_a_killed_run_is_tidied_up_by_the_next(tmp_path: Path) -> None:
    folder = tmp_path / "a-result"
    write_folder(folder, OURS)
    folder.rename(tmp_path / ".a-result.old")  # killed between the two renames
    stale, fresh = tmp_path / ".a-result.0badcafe.tmp", tmp_path / ".a-result.12345678.tmp"
    stale.mkdir()
    fresh.mkdir()
    os.utime(stale, (time.time() - 7200, time.time() - 7200))
    (tmp_path / "b-result").mkdir()
    with pytest.raises(UsageError, match="cannot be written"):
        write_folder(folder, {"summary.json": refuse})
    assert (folder / "summary.json").read_text() == '{"flatodds": "1"}'
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a-result", "b-result"]


def refuse(_: Path) -> None:
    raise OSError(28, "No space left on device")


def test_a_place_that_cannot_be_written_says_so(outcomes: Outcomes, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(UsageError, match="cannot be written"):
        write_result(outcomes, tmp_path / "file")


@pytest.mark.parametrize("name", ["../out.txt", "/etc/out", "a/../../b", "a\\b", "a\0b"])
def test_no_file_leads_out_of_the_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match="inside the result folder"):
        write_folder(tmp_path / "a-result", {name: "x"})
    assert not names(tmp_path)


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Desert winter", "desert-winter"),
        ("  Été à 30 % ", "ete-a-30"),
        ("../../etc/passwd", "etc-passwd"),
        ("沙漠", "scenario"),
        ("", "scenario"),
        ("a" * 63 + " b", "a" * 63),
    ],
)
def test_slugs(title: str, name: str) -> None:
    assert slug(title) == name


@pytest.mark.law
@given(st.text())
def test_any_title_gives_a_plain_folder_name(title: str) -> None:
    assert re.fullmatch(r"[a-z0-9-]{1,64}", slug(title))


def test_a_summary_that_is_not_finite_is_never_written() -> None:
    with pytest.raises(ValueError, match="Out of range float"):
        summary_json({"members": float("nan")})
