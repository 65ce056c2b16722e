from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from flatodds.engine.results import Results
from flatodds.outcomes import Outcomes
from flatodds.report.page import page_html, shown_stays
from flatodds.report.words import clean, tied

Fabricate = Callable[..., Results]

VOID = {"meta", "br", "wbr", "path", "use", "rect"}
HOSTILE = (
    "<script>alert(1)</script>",
    "</title></style><img src=x onerror=alert(1)>",
    "{{ 7*7 }}{% raw %}",
    '" onload="alert(1)',
    "\u202egpj.exe\x1b[31m\x00\n../../x",
    "$\\frac{1}{",
)


class Page(HTMLParser):
    """Reads a page, checks that tags nest, and keeps the text of chosen elements."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.texts: list[tuple[tuple[str, ...], str]] = []
        self.names: list[tuple[str, ...]] = []
        self.ids: list[str] = []
        self.feed(text)
        self.close()
        assert not self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        found = {key: value or "" for key, value in attrs}
        assert len(found) == len(attrs)
        self.attributes += [(tag, key, value) for key, value in found.items()]
        if "id" in found:
            self.ids.append(found["id"])
        if tag not in VOID:
            self.open.append(tag)
            self.names.append((found.get("class", ""), found.get("id", "")))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open
        assert self.open.pop() == tag
        self.names.pop()

    def handle_data(self, data: str) -> None:
        names = (f".{name}" for pair in self.names for name in pair if name)
        where = (*self.open, *names)
        self.texts.append((where, data))

    def text(self, *inside: str, outside: tuple[str, ...] = ("svg", "style")) -> str:
        kept = (
            data
            for where, data in self.texts
            if set(inside) <= set(where) and not set(outside) & set(where)
        )
        return " ".join(" ".join(kept).replace("\u00a0", " ").split())


def numbers(text: str) -> list[str]:
    return re.findall(r"\d[\d,]*(?:\.\d+)?", text)


def two_figures(amount: float) -> str:
    return f"{amount:,.0f}" if amount >= 9.95 else f"{amount:.{2 if amount < 0.995 else 1}f}"


def with_ah(kwh: float) -> list[str]:
    return [two_figures(kwh), f"{kwh * 1000 / 12.8:,.0f}"]


def of_hundred(chance: float, up: float = 0.5) -> str:
    return str(int(chance * 100 + up))


def headline(summary: dict[str, Any], dawn: float) -> list[str]:
    stay = summary["stays"][0]
    odds, band = stay["odds_flat"]["estimate"], stay["odds_flat_range"]
    a_day = {key: stay[f"{key}_kwh"]["mean"] / 60 for key in ("array", "spilled", "demand")}
    return [
        *(of_hundred(odds), "100"),
        *(of_hundred(band["low"], 0.0), of_hundred(band["high"], 1.0), "100"),
        str(round(stay["hours_flat"]["mean"] / odds)),
        str(round(stay["nights_flat"]["mean"] / odds)),
        f"{dawn * 100:.0f}",
        *(of_hundred(stay["odds_reserve"]["estimate"]), "100", "15"),
        two_figures(a_day["array"] + a_day["spilled"]),
        *with_ah(a_day["demand"]),
    ]


def test_every_number_in_the_answer_is_in_the_summary(one_stay: Outcomes) -> None:
    page = Page(page_html(one_stay))
    summary = one_stay.summary()
    expected = headline(summary, one_stay.dawn_charge()[0]["p50"])
    assert numbers(page.text(".answer")) == expected


def test_every_number_in_the_findings_is_in_the_result(one_stay: Outcomes) -> None:
    summary, facts = one_stay.summary(), one_stay.facts
    stay = summary["stays"][0]
    dawn = one_stay.dataset["daily_dawn_charge_frac"].to_numpy()
    low = np.sort(dawn, axis=0)[99]
    day = int(np.argmin(low))
    middle = np.sort(dawn[:, day])[499]
    months = [
        {key: m[f"{key}_kwh"]["mean"] / 30 for key in ("array", "spilled", "demand")}
        for m in stay["months"]
    ]
    tight = min(months, key=lambda m: (m["array"] + m["spilled"]) / m["demand"])
    offered = stay["array_kwh"]["mean"] + stay["spilled_kwh"]["mean"]
    loss = one_stay.dataset["bank_loss_wh"].to_numpy().sum(axis=2).mean(axis=1) / 1000
    lost = float(np.dot(loss, [case.weight for case in facts.cases]))
    wanted = [use["wanted_kwh"]["mean"] / 60 for use in stay["appliances"]]
    gone = [use["gone_without_kwh"]["mean"] for use in stay["appliances"]]
    lacking = stay["appliances"][int(np.argmax(gone))]["wanted_kwh"]["mean"]
    worst = max(m["odds_flat"]["estimate"] for m in stay["months"])
    guesses = stay["odds_flat_if"].items()
    cases = {name: of_hundred(part["estimate"]) for name, part in guesses if part}
    expected = [
        *(of_hundred(stay["odds_flat"]["estimate"]), "100"),
        str(1 + day if day < 31 else day - 30),  # the stay begins on 1 December
        *(f"{middle * 100:.0f}", "1", "10", f"{low[day] * 100:.0f}"),
        *(of_hundred(worst), "100"),
        *with_ah(tight["array"] + tight["spilled"]),
        *with_ah(tight["demand"]),
        two_figures(offered),
        *(f"{stay['spilled_kwh']['mean'] / offered * 100:.0f}", f"{lost / offered * 100:.0f}"),
        *with_ah(0.75 * max(wanted)),  # three quarters of it was served
        f"{max(wanted) / sum(wanted) * 100:.0f}",
        *with_ah(max(wanted)),
        *(cases["as_estimated"], "100", cases["both_bad"], "100"),
        *(two_figures(sum(gone)), two_figures(max(gone)), two_figures(lacking)),
    ]
    assert numbers(Page(page_html(one_stay)).text(".finding")) == expected


def test_every_number_about_doubt_and_origin_is_in_the_summary(one_stay: Outcomes) -> None:
    page, summary = Page(page_html(one_stay, scenario_file="a b.toml")), one_stay.summary()
    stay = summary["stays"][0]
    odds, band = stay["odds_flat"], stay["odds_flat_range"]
    assert numbers(page.text(".sure")) == [
        *(f"{summary['members']:,}", of_hundred(odds["estimate"]), "100"),
        *(of_hundred(odds["low"], 0.0), of_hundred(odds["high"], 1.0), "100", "95"),
        *(str(summary["theta_points"]), "5", "5", "8", "10"),
        *(of_hundred(band["low"], 0.0), of_hundred(band["high"], 1.0), "100"),
        "12",  # the weather's own sentence
    ]
    origin = page.text(".origin")
    assert f"simulated years {summary['members']:,} seed {summary['seed']}" in origin
    for known in (summary["scenario"]["sha256"], summary["weather"][0]["sha256"]):
        assert known in origin
    assert "flatodds run 'a b.toml' --members 1000 --seed 7" in page.text("pre")
    assert numbers(page.text("header")) == [
        "1",  # the stay's name
        *("60", "1", "33.66", "114.23", "5.2", "400", "12", "800"),
    ]


def test_the_page_follows_the_result(fabricate: Fabricate) -> None:
    quiet = Page(page_html(Outcomes.from_results(fabricate())))
    always = Page(page_html(Outcomes.from_results(fabricate(np.ones((1, 40, 2))))))
    assert "none of 40 simulated stays; we cannot rule out" in quiet.text(".answer")
    assert "all of 40 simulated stays" in always.text(".answer")
    assert "If we are wrong" not in quiet.text("main")  # only one guess was run
    for page in (quiet, always):
        text = page.text("main")
        assert not re.search(r"\b(0|100) % (of|chance)", text)
        assert not re.search(r"\bsafe\b", text)


def test_real_years_are_counted_in_years(fabricate: Fabricate) -> None:
    text = Page(page_html(Outcomes.from_results(fabricate(record_years=20)))).text(".sure")
    assert "Counting None of 20 real years. From counting alone" in text


def test_tables_hold_the_numbers_of_the_figures(one_stay: Outcomes) -> None:
    page, summary = Page(page_html(one_stay)), one_stay.summary()
    text = page.text(".s1-months", "tbody", outside=("svg",))
    rows = one_stay.odds("month")
    for _, row in rows.iterrows():
        name = {12: "Dec", 1: "Jan"}[int(row["month"])]
        said = of_hundred(row["estimate"]) if row["estimate"] else "none"
        assert f"{name} {said} " in text
    text = page.text(".s1-sun", "tbody", outside=("svg",))
    for month in summary["stays"][0]["months"]:
        for key in ("array_kwh", "spilled_kwh", "demand_kwh"):
            assert " ".join(with_ah(month[key]["mean"] / 30)) in " ".join(numbers(text))


def test_safety_is_at_the_top_and_whole_below(one_stay: Outcomes) -> None:
    page = Page(page_html(one_stay))
    assert "a flat battery stops the furnace" in page.text(".answer", ".caution")
    assert "carbon monoxide" in page.text("main")
    assert "not a promise" in page.text("main")
    assert "charging below freezing" in page.text("main")
    assert "null" not in page.text("main")


def test_it_is_one_whole_page_without_script_or_request(three_stays: Outcomes) -> None:
    text = page_html(three_stays)
    page = Page(text)
    assert text.startswith("<!DOCTYPE html>")
    assert {"script", "img", "link", "iframe", "object", "form"}.isdisjoint(page.tags)
    requests = {"src", "href", "srcset", "action", "data", "xlink:href", "poster"}
    for tag, key, value in page.attributes:
        assert not key.startswith("on"), (tag, key)
        if key in requests:
            assert value.startswith("#"), (tag, value)
        assert "http" not in value.replace("http-equiv", "") or key == "content"
    assert not re.search(r"@import|url\((?!#)", text)
    assert "default-src 'none'" in text
    assert len(page.ids) == len(set(page.ids))
    referred = {value[1:] for _, key, value in page.attributes if key == "href"}
    labelled = {
        name
        for _, key, value in page.attributes
        if key == "aria-labelledby"
        for name in value.split()
    }
    assert referred | labelled <= set(page.ids)
    assert page.tags.count("h1") == 1
    assert page.tags.count("svg") == page.tags.count("figure") == 21
    assert page.tags.count("desc") == 21
    assert len(text.encode()) < 600_000


def test_several_stays_have_a_row_and_a_section_each(three_stays: Outcomes) -> None:
    page = Page(page_html(three_stays))
    assert "Will the power go out on the whole trip?" in page.text(".answer")
    for name in ("stay 1", "stay 2", "stay 3"):
        assert f"Will the power go out at {name}?" in page.text(".answer")
    assert "Expect some trouble." in page.text(".answer", ".verdict")
    rows = page.text(".stays", "tbody")
    assert re.findall(r"stay \d \d+ \w+ 60", rows) == [
        "stay 1 1 Dec 60",
        "stay 2 30 Jan 60",
        "stay 3 31 Mar 60",
    ]


def test_many_stays_keep_the_page_small(fabricate: Fabricate) -> None:
    flat = np.zeros((1, 20, 80))
    flat[:, :5, 60:] = 1.0
    outcomes = Outcomes.from_results(fabricate(flat, members=20, stays=40, nights=8))
    assert shown_stays(outcomes) == [30, 31, 32, 33, 34, 35]
    text = page_html(outcomes)
    assert len(text.encode()) < 1_500_000
    assert "the stays likeliest to run flat" in text
    assert Page(text).text(".stays stacked", "tbody").count("stay ") == 40


def test_a_year_long_stay_stays_small(fabricate: Fabricate) -> None:
    outcomes = Outcomes.from_results(fabricate(members=50, nights=364))
    assert len(page_html(outcomes).encode()) < 600_000


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_texts_stay_texts(fabricate: Fabricate, text: str) -> None:
    outcomes = hostile_outcomes(fabricate, text)
    html = page_html(outcomes, scenario_file=text)
    page = Page(html)
    assert clean(text, 120) in " ".join(page.text("h1", outside=()).split())
    assert {"script", "img"}.isdisjoint(page.tags)
    assert not any(key.startswith("on") for _, key, _ in page.attributes)
    assert "\u202e" not in html
    assert "\x1b" not in html
    assert "\x00" not in html


def hostile_outcomes(fabricate: Fabricate, text: str) -> Outcomes:
    stay = SimpleNamespace(name=text, place=text, first_doy=3, nights=4)
    results = fabricate(
        members=4,
        nights=4,
        title=text,
        scenario={
            "appliances": (SimpleNamespace(name=text, medical=True),),
            "assumed": (SimpleNamespace(key=text, value=text, why=text),),
            "cautions": (SimpleNamespace(found=text, hint=text),),
        },
        basis={"sentence": text, "sources": (text,), "cautions": (text,)},
    )
    results.scenario.stays = (stay,)  # type: ignore[misc, assignment]
    object.__setattr__(results, "appliances", (text, "lamp"))
    return Outcomes.from_results(results)


def test_very_long_texts_are_cut(fabricate: Fabricate) -> None:
    html = page_html(hostile_outcomes(fabricate, "x" * 10_000))
    assert len(html.encode()) < 600_000
    assert "x" * 1001 not in html


def test_a_number_keeps_its_unit() -> None:
    assert tied("0.52 kWh (41 Ah) a day, 33 % of 7 Watts") == (
        "0.52\u00a0kWh (41\u00a0Ah) a day, 33\u00a0% of 7 Watts"
    )


def browser() -> str | None:
    return shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.mark.skipif(browser() is None, reason="no chromium to look with")
def test_a_browser_runs_nothing(fabricate: Fabricate, tmp_path: Path) -> None:
    """Even a script put into the page by hand must not run, since its policy forbids it."""
    probe = "<script>document.title = 'script ran'</script>"
    html = page_html(hostile_outcomes(fabricate, HOSTILE[1])).replace("</body>", f"{probe}</body>")
    path = tmp_path / "report.html"
    path.write_text(html, encoding="utf-8")
    command = [
        str(browser()),
        *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
        *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
        f"--user-data-dir={tmp_path / 'profile'}",
        *("--dump-dom", path.as_uri()),
    ]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=True)  # noqa: S603
    title = re.search(r"<title>(.*?)</title>", done.stdout, flags=re.S)
    assert title is not None
    assert "script ran" not in title.group(1)
    assert "<img" not in done.stdout
