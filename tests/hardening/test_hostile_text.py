"""Names that try to be more than names do nothing: on paths, pages, terminals, in spreadsheets."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import pytest

from flatodds.cli.app import main
from flatodds.errors import ScenarioError
from flatodds.outcomes import Outcomes, open_result
from flatodds.report import page
from flatodds.report.tables import all_tables
from flatodds.report.words import clean
from flatodds.report.writer import write_result
from flatodds.scenario import parse_scenario

if TYPE_CHECKING:
    from tests.hardening.hostile import HOSTILE
else:
    from hostile import HOSTILE

Fabricate = Callable[..., Any]
Capture = pytest.CaptureFixture[str]
VOID = {"meta", "link", "img", "br", "hr", "input"}
MAY_BE = {"html", "head", "title", "body", "style", "svg", "meta", "a"}
ASIDE = 6  # texts on one page

RIG = """bank.chemistry = "lithium"
bank.volts = 12
bank.amp_hours = 100
array.watts = 200
household.pattern = "none"
household.heat = "none"
"""
STAY = '[[stay]]\nname = {name}\nplace = "36.10, -79.95"\nfirst_day = "{day}"\nnights = 2\n'
LAMP = '[[appliance]]\nname = {name}\nwatts = 3\nside = "dc"\nkind = "steady"\n'


def quoted(text: str) -> str:
    """Text as a TOML string; halves of pairs stay as they are, for the reader to refuse."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


class Page(HTMLParser):
    """Reads a page as a browser does; keeps its text, and whatever could run or load."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.said: list[str] = []
        self.bad: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in ("script", "iframe", "object", "embed", "img", "link", "base", "form", "input"):
            self.bad.append(tag)
        for name, value in attrs:
            words = (value or "").strip().lower()
            if name.startswith("on"):
                self.bad.append(f"{tag} {name}")
            if name in ("href", "src", "action") and not words.startswith("#"):
                self.bad.append(f"{tag} {name}={words[:40]}")
            if "javascript:" in words and name != "aria-label":
                self.bad.append(f"{tag} {name} script")

    def handle_data(self, data: str) -> None:
        self.said.append(data)

    def handle_comment(self, data: str) -> None:
        self.bad.append(f"comment {data[:40]}")

    @property
    def text(self) -> str:
        return " ".join("".join(self.said).split())


def safe_cells(text: str) -> Iterator[str]:
    """Every cell of a CSV text that a spreadsheet could take for a formula."""
    for row in csv.reader(text.splitlines()):
        for cell in row:
            if cell[:1] in ("=", "+", "-", "@", "\t", "\r") or cell.lstrip()[:1] in ("=", "@"):
                try:
                    float(cell)
                except ValueError:
                    yield cell


def ordinary(text: str) -> bool:
    """Whether a terminal shows a text as it is."""
    return text.isascii() and all(mark == "\n" or mark.isprintable() for mark in text)


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
@pytest.mark.parametrize("place", ["title", "stay", "appliance", "key", "use", "place", "weather"])
def test_toml_takes_it_as_text_or_refuses_it(name: str, place: str) -> None:
    text = RIG + STAY.format(name='"stay"', day="1 Dec")
    added = {
        "title": f"title = {quoted(name)}\n{text}",
        "stay": text.replace('"stay"', quoted(name)),
        "appliance": text + LAMP.format(name=quoted(name)),
        "key": f"{quoted(name)} = 1\n{text}",
        "use": f"{text}[[appliance]]\nuse = {quoted(name)}\n",
        "place": text.replace('"36.10, -79.95"', quoted(name)),
        "weather": f"{text}weather = {quoted(name)}\n",
    }
    try:
        scenario = parse_scenario(added[place], "x.toml")
    except ScenarioError as error:
        assert len(str(error)) < 2000
        assert all(line.isprintable() for line in str(error).split("\n"))
        return
    names = [scenario.title, scenario.stays[0].name, *(use.name for use in scenario.appliances)]
    assert name in names or place == "weather"
    assert name.isprintable()


def results_named(fabricate: Fabricate, title: str, names: list[str]) -> Any:
    """Invented results whose title, stays and appliances are called so."""
    stays = tuple(
        SimpleNamespace(name=name, place=name, first_doy=334 - 3 * at, nights=4)
        for at, name in enumerate(names)
    )
    made = fabricate(members=6, stays=len(names), nights=4, title=title)
    scenario = SimpleNamespace(**{**vars(made.scenario), "stays": stays})
    scenario.appliances = (SimpleNamespace(name=names[0], medical=True),)
    scenario.assumed = (SimpleNamespace(key=names[0], value=names[-1], why=title),)
    scenario.cautions = (SimpleNamespace(found=title, hint=names[0]),)
    return replace(made, scenario=scenario, appliances=(names[0], names[-1] + "."))


@pytest.mark.parametrize("first", range(0, len(HOSTILE), ASIDE))
def test_nothing_of_it_acts(
    first: int, fabricate: Fabricate, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Page, tables, summary and file of a result, even if the scenario had let it through."""
    monkeypatch.setattr(page, "_figures", lambda *_: ())
    unfit = str.maketrans("\ud800\x00", "??")  # neither can come out of a file
    names = [text.translate(unfit) for text in HOSTILE[first : first + ASIDE]]
    outside = sorted(tmp_path.parent.iterdir())
    for title, other in zip(names, [*names[1:], names[0]], strict=True):
        base = tmp_path / "results"
        stays = names if title == names[0] else [title, other]
        outcomes = Outcomes.from_results(results_named(fabricate, title, stays))
        html = page.page_html(outcomes, scenario_file=title)
        read = Page(html)
        assert not read.bad
        for name in [title, *stays]:
            assert " ".join(clean(name, 80).split()) in read.text
        for table in all_tables(outcomes).values():
            assert not list(safe_cells(table))
        if title == names[0]:
            folder = write_result(outcomes, base, {"report.html": html}).folder
            assert folder.parent == base
            summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
            assert [stay["name"] for stay in summary["stays"]] == names
            assert open_result(folder).facts == outcomes.facts
    assert [path.name for path in tmp_path.iterdir()] == ["results"]
    assert sorted(tmp_path.parent.iterdir()) == outside


@pytest.mark.end
def test_a_whole_run_of_it(tmp_path: Path, capsys: Capture) -> None:
    """Title, stays, appliances and the file itself carry such names; figures are drawn too."""
    names = [name for name in HOSTILE if name.isprintable() and len(name) <= 200]
    assert len(names) > 30
    lines = [f"title = {quoted('<script>alert(1)</script> {{7*7}} ../../x =1+1 $x^2$')}\n", RIG]
    days = ("1 Dec", "3 Dec", "5 Dec")
    risky = ("$\\frac{1}{0}$", "</title><script>alert(1)</script>", "=1+1")
    lines += [STAY.format(name=quoted(n), day=d) for n, d in zip(risky, days, strict=True)]
    lines += [LAMP.format(name=quoted(name)) for name in names]
    base = tmp_path / "inner"
    base.mkdir()
    file = base / "=1+1 $(id) <b>.toml"
    file.write_text("".join(lines), encoding="utf-8")
    assert main(["run", str(file), "--out", str(base), "--members", "64", "-q"]) == 0
    out, err = capsys.readouterr()
    assert ordinary(out)
    assert ordinary(err)
    (folder,) = (path for path in base.iterdir() if path.is_dir())
    assert sorted(path.name for path in tmp_path.rglob("*.toml")) == [file.name]
    assert [path.name for path in tmp_path.iterdir()] == ["inner"]
    read = Page((folder / "report.html").read_text(encoding="utf-8"))
    assert not read.bad
    assert "<script>alert(1)</script>" in read.text
    assert "49" not in read.text.partition("../../x")[0]
    for table in (folder / "tables").iterdir():
        assert not list(safe_cells(table.read_text(encoding="utf-8")))
    assert main(["check", str(file)]) == 0
    out, err = capsys.readouterr()
    assert ordinary(out)
    assert ordinary(err)


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
def test_files_of_such_names(
    name: str, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Missing or there, named as an argument or made by `new`: told in plain text."""
    inner = tmp_path / "inner"
    inner.mkdir()
    monkeypatch.chdir(inner)
    word = name.replace("/", "").replace("\\", "").lstrip("-")
    for words in (["check", word], ["run", word], ["new", word, "--demo", name]):
        code = main(words)
        out, err = capsys.readouterr()
        assert code in (0, 1, 2, 3)
        assert ordinary(out)
        assert ordinary(err)
        assert "Traceback" not in err
    if "\x00" not in name and "\ud800" not in name and len(word) < 200 and word.strip(". "):
        Path(word).write_text(RIG + STAY.format(name='"s"', day="1 Dec"), encoding="utf-8")
        assert main(["check", word]) == 0
        out, err = capsys.readouterr()
        assert ordinary(out)
        assert ordinary(err)
    assert [path.name for path in tmp_path.iterdir()] == ["inner"]
