"""Documents say what the program says: their commands and Python run, and print what is shown.

Words must be the same; numbers may differ by a unit in the last place or two hundredths, since
another processor may round a draw otherwise. `python docs/refresh.py` writes them anew.
"""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.end

ROOT = Path(__file__).parents[2]
NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?")
SLACK = 0.02


def loaded() -> Any:
    spec = importlib.util.spec_from_file_location("refresh", ROOT / "docs" / "refresh.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


REFRESH = loaded()


def alike(shown: str, printed: str) -> bool:
    """Whether two texts have the same words, and numbers that mean the same."""
    if words(shown) != words(printed):
        return False
    pairs = zip(NUMBER.findall(shown), NUMBER.findall(printed), strict=True)
    return all(near(a, b) for a, b in pairs)


def words(text: str) -> list[str]:
    return NUMBER.sub("0", re.sub(r"#+", "#", text)).split()


def near(a: str, b: str) -> bool:
    last = 10.0 ** -len(a.partition(".")[2])
    first, second = (float(token.replace(",", "")) for token in (a, b))
    return abs(first - second) <= max(1.01 * last, SLACK * abs(first))


def test_what_is_alike() -> None:
    assert alike("about 57 of 100", "about 58 of 100")
    assert not alike("about 57 of 100", "about 63 of 100")
    assert not alike("about 57 of 100", "about 57 in 100")
    assert alike("0.90 kWh", "0.91 kWh")
    assert not alike("0.90 kWh", "0.95 kWh")


@pytest.mark.parametrize("path", REFRESH.documents(), ids=lambda path: path.name)
def test_documents_print_what_they_show(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    with REFRESH.workshop() as folder:
        again = REFRESH.refreshed(text)
        pages = [page.read_text("utf-8") for page in folder.glob("piedmont*-result/report.html")]
    assert alike(text, again), again
    if path.name == "README.md":
        shown = re.search(rf"!\[(.*?)\]\({REFRESH.PICTURE}\)", text)
        assert shown is not None
        assert alike(shown[1], REFRESH.finding(pages[0]))
        drawn = (ROOT / REFRESH.PICTURE).read_text(encoding="utf-8")
        told = re.search(r"<desc[^>]*>(.*?)</desc>", drawn, flags=re.S)
        assert told is not None
        assert alike(told[1], REFRESH.finding(pages[0]))


def test_every_command_is_in_the_readme() -> None:
    from flatodds.cli.app import app

    text = (ROOT / "README.md").read_text(encoding="utf-8")
    names = [command.name for command in app.registered_commands]
    assert len(names) >= 9
    assert [name for name in names if f"flatodds {name}" not in text] == []


def test_the_readme_has_its_parts() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for part in ("Start", "Safety", "How far to trust it", "What it does not do"):
        assert f"\n## {part}" in text
    start = text.split("\n## Start\n", 1)[1].split("\n## ", 1)[0]
    blocks = re.findall(r"```sh\n(.*?)\n```", start, flags=re.S)
    assert len(blocks) == 2
    assert not any("\n" in block for block in blocks)
    for link in re.findall(r"\]\((?!http)([^)#]+)\)", text):
        assert (ROOT / link).exists(), link
