"""HTTPS only, at every hop: a service that sends us on to a plain address is not followed."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from urllib.parse import urlsplit

LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
_here = threading.local()


class PlainHop(Exception):  # noqa: N818  (`fetch_tries` turns it into a failure)
    """A question, and with it a user's key, would have gone out without encryption."""


def encrypted(url: str) -> bool:
    """Whether an address is HTTPS, or this machine itself."""
    parts = urlsplit(url)
    return parts.scheme == "https" or (parts.scheme == "http" and parts.hostname in LOOPBACK)


@contextmanager
def encrypted_only() -> Iterator[None]:
    """Let this thread's requests reach encrypted addresses only, wherever they are sent on.

    pvlib asks by functions of requests and takes no session of ours, so the class itself is
    guarded, once; other threads, and this one afterwards, find it as it was.

    Raises
    ------
    PlainHop
        From within the request, before anything is sent.
    """
    from requests import Session

    if not hasattr(Session.get_adapter, "guarded"):
        Session.get_adapter = _guarded(Session.get_adapter)  # type: ignore[method-assign]
    _here.strict = True
    try:
        yield
    finally:
        _here.strict = False


def _guarded(chosen: Any) -> Any:
    """Wrap the choice of a connection, which requests makes anew for each hop."""

    def get_adapter(self: Any, url: Any) -> Any:
        if getattr(_here, "strict", False) and not encrypted(str(url)):
            raise PlainHop
        return chosen(self, url)

    get_adapter.guarded = True  # type: ignore[attr-defined]
    return get_adapter
