"""The report in a real browser with no network: quiet, alone, readable on a phone, inert.

Skips where the machine has no Chromium.
"""

from __future__ import annotations

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
PHONE, DESK = 390, 1024  # widths [px]
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
