"""Finds the line on which each key of a TOML text stands, for error messages.

It reads texts that `tomllib` has already accepted, so it need not judge them.
"""

from __future__ import annotations

import re
from bisect import bisect_right

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}\n#]*")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}(?!")|\'\'\'.*?\'{3,5}(?!\')|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'',
    re.DOTALL,
)
_ESCAPE = re.compile(r"\\(u[0-9a-fA-F]{4}|U[0-9a-fA-F]{8}|.)")
_SHORT = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}


class Lines:
    """Lines of the keys of one TOML text."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._rows = text.split("\n")
        self._breaks = [match.start() for match in re.finditer("\n", text)]
        self._at = 0
        self._found: dict[Path, int] = {}
        self._lists: dict[Path, int] = {}
        self._scan()

    def of(self, path: Path) -> int:
        """Line (from 1) of a key, or of the nearest table around it; 1 if none is written."""
        for length in range(len(path), 0, -1):
            line = self._found.get(path[:length])
            if line is not None:
                return line
        return 1

    def text(self, line: int) -> str:
        """Text of a line (from 1), without blanks around it."""
        return self._rows[line - 1].strip() if 0 < line <= len(self._rows) else ""

    def _line(self, at: int) -> int:
        return bisect_right(self._breaks, at - 1) + 1

    def _note(self, path: Path, at: int) -> None:
        for length in range(1, len(path) + 1):
            self._found.setdefault(path[:length], self._line(at))

    def _skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self._text, self._at)
        if match is None:
            return ""
        self._at = match.end()
        return match[0]

    def _scan(self) -> None:
        """Walk the whole text; stop quietly where it is not what was expected."""
        table: Path = ()
        self._skip(_BLANK)
        while self._at < len(self._text):  # either goes on by one mark at least
            if self._text[self._at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip(_BLANK)

    def _header(self) -> Path:
        """Read ``[a.b]`` or ``[[a.b]]`` and give the path it opens."""
        start = self._at
        several = self._text.startswith("[[", start)
        self._at += 2 if several else 1
        path: Path = ()
        for part in self._key():
            path = self._into(path)
            path = (*path, part)
        self._at += 2 if several else 1
        if several:
            self._lists[path] = self._lists.get(path, -1) + 1
            self._note(path, start)
        path = self._into(path)
        self._note(path, start)
        return path

    def _into(self, path: Path) -> Path:
        """Path of the latest element when the path is an array of tables."""
        return (*path, self._lists[path]) if path in self._lists else path

    def _pair(self, table: Path) -> None:
        """Read one ``key = value``."""
        start = self._at
        path = (*table, *self._key())
        self._note(path, start)
        self._found[path] = self._line(start)
        self._skip(_SPACE)
        self._at += 1  # the equals sign
        self._skip(_SPACE)
        self._value(path)

    def _key(self) -> list[str]:
        """Read a dotted key and leave the place behind it."""
        parts: list[str] = []
        while True:
            self._skip(_SPACE)
            quoted = self._text[self._at : self._at + 1]
            if quoted in ('"', "'"):
                raw = self._skip(_STRING)[1:-1]
                parts.append(raw if quoted == "'" else _unescaped(raw))
            else:
                parts.append(self._skip(_BARE))
            self._skip(_SPACE)
            if self._text[self._at : self._at + 1] != ".":
                return parts
            self._at += 1

    def _value(self, path: Path) -> None:
        """Read one value, noting keys and elements inside it."""
        mark = self._text[self._at : self._at + 1]
        if mark in ('"', "'") and mark:
            self._skip(_STRING)
        elif mark == "[":
            self._array(path)
        elif mark == "{":
            self._inline(path)
        else:
            self._skip(_SCALAR)

    def _array(self, path: Path) -> None:
        self._at += 1
        index = 0
        while self._at < len(self._text):
            before = self._at
            self._skip(_BLANK)
            mark = self._text[self._at : self._at + 1]
            if mark == "]":
                self._at += 1
                return
            if mark == ",":
                self._at += 1
                index += 1
                continue
            self._found[(*path, index)] = self._line(self._at)
            self._value((*path, index))
            if self._at == before:
                return

    def _inline(self, path: Path) -> None:
        self._at += 1
        while self._at < len(self._text):
            self._skip(_BLANK)
            mark = self._text[self._at : self._at + 1]
            if mark == "}":
                self._at += 1
                return
            if mark == ",":
                self._at += 1
                continue
            self._pair(path)  # goes on by one mark at least


def _unescaped(raw: str) -> str:
    def plain(match: re.Match[str]) -> str:
        code = match[1]
        return chr(int(code[1:], 16)) if code[0] in "uU" else _SHORT.get(code, code)

    return _ESCAPE.sub(plain, raw)
