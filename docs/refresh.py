"""Runs what the documents show, and writes what it prints back into them: python docs/refresh.py.

In README.md a comment `<!-- prints: flatodds ... -->` stands above a block of text: what that
command prints. In docs/*.md every block of Python is run, in order, in one session per
document; a block of text right after it is what it prints. Everything runs in a throwaway
folder that holds a copy of scenarios/. A test does the same and compares.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
PICTURE = "docs/piedmont-winter.svg"
FIGURE = "s1-dawn"  # the figure of that report that the README shows
COMMAND = re.compile(r"<!-- prints: flatodds (.*?) -->\n```text\n(.*?)```", flags=re.S)
PYTHON = re.compile(r"```python\n(.*?)```(?:\n\n```text\n(.*?)```)?", flags=re.S)


def documents() -> list[Path]:
    """List the documents that hold commands or Python."""
    return [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]


@contextlib.contextmanager
def workshop() -> Iterator[Path]:
    """Work in a throwaway folder with a copy of the scenarios."""
    before = Path.cwd()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copytree(ROOT / "scenarios", folder / "scenarios")
        os.chdir(folder)
        try:
            yield folder
        finally:
            os.chdir(before)


def command_prints(line: str) -> str:
    """Run the program as typed and give what it writes to standard output."""
    from flatodds.cli.app import main

    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(io.StringIO()):
        code = main(line.split())
    if code:
        raise SystemExit(f"flatodds {line} gave {code}")
    return said.getvalue()


def refreshed_commands(text: str) -> str:
    """Put what the commands print under them."""

    def again(match: re.Match[str]) -> str:
        prints = command_prints(match[1])
        return f"<!-- prints: flatodds {match[1]} -->\n```text\n{prints}```"

    return COMMAND.sub(again, text)


def refreshed_python(text: str) -> str:
    """Run every block of Python in one session, and put what it prints under it."""
    session: dict[str, Any] = {"__name__": "__document__"}

    def again(match: re.Match[str]) -> str:
        said = io.StringIO()
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(io.StringIO()):
            exec(compile(match[1], "document", "exec"), session)  # noqa: S102
        shown = f"```python\n{match[1]}```"
        prints = said.getvalue()
        if bool(prints) != (match[2] is not None):
            raise SystemExit(f"A block of text must follow just what prints:\n{match[1]}")
        return f"{shown}\n\n```text\n{prints}```" if prints else shown

    return PYTHON.sub(again, text)


def refreshed(text: str) -> str:
    """Run all of a document in the folder we are in."""
    return refreshed_python(refreshed_commands(text))


def picture(page: str) -> str:
    """Take the README's picture out of a report, as a file of its own on white."""
    figure = page.split(f'<figure id="{FIGURE}">', 1)[1].split("</figure>", 1)[0]
    drawn = re.search(r"<svg\b.*?</svg>", figure, flags=re.S)
    if drawn is None:
        raise SystemExit("The report has no such figure.")
    svg = drawn[0]
    head = svg[: svg.index(">") + 1]
    if "xmlns=" not in head:
        svg = svg.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"', 1)
    style = 'style="background:#fff;font-family:Helvetica,Arial,sans-serif"'
    return svg.replace("<svg", f"<svg {style}", 1) + "\n"


def finding(page: str) -> str:
    """Say what that figure states in words."""
    figure = page.split(f'<figure id="{FIGURE}">', 1)[1]
    found = re.search(r'<p class="finding">(.*?)</p>', figure, flags=re.S)
    return "" if found is None else found[1].replace("\u00a0", " ")


def main() -> None:
    """Write all documents and the picture anew."""
    for path in documents():
        with workshop() as folder:
            text = refreshed(path.read_text(encoding="utf-8"))
            pages = list(folder.glob("piedmont-winter-result/report.html"))
            if path.name == "README.md" and pages:
                page = pages[0].read_text(encoding="utf-8")
                (ROOT / PICTURE).write_text(picture(page), encoding="utf-8")
                text = re.sub(rf"!\[.*?\]\({PICTURE}\)", f"![{finding(page)}]({PICTURE})", text)
        path.write_text(text, encoding="utf-8")
        sys.stdout.write(f"{path.relative_to(ROOT)}\n")


if __name__ == "__main__":
    main()
