"""The report in a real browser with no network: quiet, alone, readable on a phone, inert.

Skips where the machine has no Chromium.
"""

from __future__ import annotations

import base64
import re
import shutil
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import pytest

from flatodds.outcomes import Outcomes
from flatodds.report.page import page_html

if TYPE_CHECKING:
    from tests.report.browser import Browser, found
else:
    from browser import Browser, found

Fabricate = Callable[..., Any]
LARGEST = 1_500_000  # bytes of a report
PHONE, DESK, PAPER = 390, 1024, 703  # widths [px]; Letter with margins of 15 mm at 96 dpi
HOSTILE = '"><img src=x onerror="document.title=1"><script>document.title=2</script>&amp;<b>'

pytestmark = pytest.mark.skipif(found() is None, reason="no Chromium on this machine")


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    profile = tmp_path_factory.mktemp("profile")
    with Browser(str(found()), profile) as page:
        yield page
    shutil.rmtree(profile, ignore_errors=True)


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("shelf")


@pytest.fixture
def trip(shelf: Path, request: pytest.FixtureRequest) -> Path:
    """The page of three stays, drawn once for all tests."""
    page = shelf / "report.html"
    return page if page.exists() else saved(request.getfixturevalue("three_stays"), shelf)


def saved(outcomes: Outcomes, folder: Path) -> Path:
    page = folder / "report.html"
    page.write_text(page_html(outcomes), encoding="utf-8")
    assert page.stat().st_size < LARGEST
    return page


def assert_quiet(browser: Browser, page: Path) -> None:
    """Nothing on the console, nothing asked for but the page itself."""
    noise = browser.happened(
        "Log.entryAdded", "Runtime.exceptionThrown", "Runtime.consoleAPICalled"
    )
    assert noise == []
    asked = [event["request"]["url"] for event in browser.happened("Network.requestWillBeSent")]
    assert set(asked) == {page.resolve().as_uri()}


@pytest.mark.parametrize(("width", "phone"), [(DESK, False), (PHONE, True)])
def test_it_opens_offline_without_a_word_or_a_request(
    browser: Browser, trip: Path, width: int, phone: bool
) -> None:
    browser.open(trip, width=width, phone=phone)
    assert_quiet(browser, trip)
    assert browser.value("document.querySelectorAll('figure svg').length") >= 9
    assert browser.value("document.documentElement.scrollWidth") <= width
    for fold in range(int(browser.value("document.querySelectorAll('details').length"))):
        browser.value(f"document.querySelectorAll('details')[{fold}].open = true")
    assert browser.value("document.documentElement.scrollWidth") <= width
    assert_quiet(browser, trip)


def test_a_hostile_title_is_text(browser: Browser, fabricate: Fabricate, tmp_path: Path) -> None:
    uses = (SimpleNamespace(name=HOSTILE, medical=True),)
    outcomes = Outcomes.from_results(fabricate(title=HOSTILE, scenario={"appliances": uses}))
    page = saved(outcomes, tmp_path)
    browser.open(page)
    assert_quiet(browser, page)
    assert browser.value("document.querySelector('h1').innerText.trim()") == HOSTILE
    assert browser.value("document.title").startswith(HOSTILE)
    assert browser.value("document.querySelectorAll('img, script, iframe, object').length") == 0


def test_every_label_lies_inside_its_drawing(browser: Browser, trip: Path) -> None:
    browser.open(trip, width=PHONE, phone=True)
    outside = browser.value(
        """[...document.querySelectorAll('figure svg')].flatMap(svg => {
             const box = svg.getBoundingClientRect();
             return [...svg.querySelectorAll('text')].filter(text => {
               const own = text.getBoundingClientRect();
               return own.left < box.left - 1 || own.right > box.right + 1
                   || own.top < box.top - 1 || own.bottom > box.bottom + 1;
             }).map(text => `${svg.parentElement.id}: ${text.textContent}`);
           })"""
    )
    assert outside == []


def test_letters_on_a_phone_are_large_enough(browser: Browser, trip: Path) -> None:
    browser.open(trip, width=PHONE, phone=True)
    least = browser.value(
        """Math.min(...[...document.querySelectorAll('figure svg text')].map(text =>
             Math.hypot(text.getScreenCTM().a, text.getScreenCTM().b)
             * parseFloat(getComputedStyle(text).fontSize)))"""
    )
    assert least >= 8.0, "pixels of a letter in a drawing"


def test_headings_go_down_by_steps_and_drawings_have_names(browser: Browser, trip: Path) -> None:
    browser.open(trip)
    levels = browser.value(
        "[...document.querySelectorAll('h1, h2, h3, h4')].map(h => Number(h.tagName[1]))"
    )
    assert levels[0] == 1
    assert levels.count(1) == 1
    steps = pairwise(levels)
    assert all(after - before <= 1 for before, after in steps)
    unnamed = browser.value(
        "[...document.querySelectorAll('figure svg')].filter(svg => !svg.querySelector('title')"
        " || svg.getAttribute('role') !== 'img').length"
    )
    assert unnamed == 0


CONTRAST = """[...document.querySelectorAll('body *')].filter(e => !e.closest('svg')
    && [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())).map(e => {
  const grey = colour => colour.match(/[\\d.]+/g).map(Number);
  const light = rgb => rgb.slice(0, 3).map(c => c / 255)
    .map(c => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
    .reduce((sum, c, k) => sum + c * [0.2126, 0.7152, 0.0722][k], 0);
  let behind = e, back = [255, 255, 255];
  while (behind) {
    const own = grey(getComputedStyle(behind).backgroundColor);
    if (own.length === 3 || own[3] > 0) { back = own; break; }
    behind = behind.parentElement;
  }
  const pair = [light(grey(getComputedStyle(e).color)), light(back)].sort((a, b) => b - a);
  return {text: e.textContent.trim().slice(0, 40), ratio: (pair[0] + 0.05) / (pair[1] + 0.05)};
}).filter(found => found.ratio < 4.5)"""


def test_text_stands_out_from_what_lies_behind(browser: Browser, trip: Path) -> None:
    """WCAG 2.2, success criterion 1.4.3; of the drawings the test of figures tells."""
    browser.open(trip)
    assert browser.value("document.querySelectorAll('.caution, .finding, td').length") > 20
    assert browser.value(CONTRAST) == []
    browser.value("document.querySelector('p').style.color = '#999999'")
    assert browser.value(CONTRAST) != [], "the measure itself"


def test_a_keyboard_reaches_all_that_scrolls_or_opens(browser: Browser, trip: Path) -> None:
    browser.open(trip)
    landmarks = "[...document.body.children].map(e => e.tagName).join(' ')"
    assert browser.value(landmarks) == "HEADER MAIN"
    assert browser.value("document.documentElement.lang") == "en"
    unreached = browser.value(
        "[...document.querySelectorAll('.scroll, pre, summary, a')].filter(e => e.tabIndex < 0)"
        ".length"
    )
    assert unreached == 0
    unnamed = "[...document.querySelectorAll('[role=region]')].filter(e => !e.ariaLabel).length"
    assert browser.value(unnamed) == 0
    lost = (
        "[...document.querySelectorAll('a[href^=\"#\"]')]"
        ".filter(a => !document.getElementById(a.hash.slice(1))).map(a => a.hash)"
    )
    assert browser.value(lost) == []
    headless = "[...document.querySelectorAll('table')].filter(t => !t.tHead || !t.querySelector("
    headless += "'tbody th[scope=row]')).length"
    assert browser.value(headless) == 0


def test_it_prints_whole(browser: Browser, trip: Path) -> None:
    """What is folded on the screen is open on paper, and nothing is wider than the sheet."""
    browser.open(trip, width=PAPER)
    browser.ask("Emulation.setEmulatedMedia", media="print")
    try:
        assert browser.value("document.documentElement.scrollWidth") <= PAPER
        opened = browser.value(
            "document.querySelector('#assumed table').getBoundingClientRect().height"
        )
        assert opened > 0.0, "what was assumed, with where it comes from"
        printed = browser.ask("Page.printToPDF", paperWidth=8.5, paperHeight=11.0)
    finally:
        browser.ask("Emulation.setEmulatedMedia", media="")
    pdf = base64.b64decode(printed["data"])
    assert pdf.startswith(b"%PDF")
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) >= 3
