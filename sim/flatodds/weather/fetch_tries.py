"""One question to a weather service: time limits, and every way to fail told in our words."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TypeVar
from urllib.parse import quote, quote_plus

from flatodds.errors import WeatherError
from flatodds.weather.fetch_hops import PlainHop, encrypted_only
from flatodds.weather.fetch_services import Hours, Question, Service

BUSY = frozenset({408, 425, 429, 500, 502, 503, 504, 529})  # RFC 9110, RFC 6585; 529 is PVGIS's
BUSY_WORDS = ("limit", "overload", "busy", "too many", "try again", "unavailable", "timeout")
SHOWN = 160  # characters of a service's words that are repeated; judgement

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Patience:
    """How long services are waited for, and how often they are asked.

    Attributes
    ----------
    connect_s, read_s : float
        Time to connect, and between bytes of the answer, where pvlib lets us say so [s].
    whole_s : float or None
        Time for one whole answer; None leaves it to the service's own [s].
    waits_s : tuple of float
        Before the second try, the third, and so on [s].
    pause_s : float
        Between answered questions, so as not to crowd the service [s].
    """

    connect_s: float = 10.0
    read_s: float = 60.0
    whole_s: float | None = None
    waits_s: tuple[float, ...] = (2.0, 8.0)
    pause_s: float = 1.0


class Failure(Exception):  # noqa: N818  (`fetch` turns it into our error)
    """Why one try failed, in our words, and whether another may do better."""

    def __init__(self, why: str, *, again: bool) -> None:
        super().__init__(why)
        self.why = why
        self.again = again


def ask_once(question: Question, offered: Service, whole_s: float) -> Hours:
    """Ask once; everything that can go wrong comes out as a `Failure`.

    pvlib's functions fail on odd answers in many ways (key, index, type, value and decoding
    errors), so every exception of theirs counts as an unusable answer. Only its type is told:
    texts of network errors hold the whole address, and with it the user's key.
    """
    import requests

    def ask() -> Hours:
        with encrypted_only():
            return offered.ask(question)

    try:
        with _unlogged(question.key):
            return _within(whole_s, ask)
    except PlainHop:
        what = "It sends us on to an address without encryption."
        raise Failure(what, again=False) from None
    except (requests.Timeout, TimeoutError):
        raise Failure("It did not answer in time.", again=True) from None
    except requests.exceptions.SSLError:
        raise Failure("No secure connection could be made.", again=False) from None
    except requests.HTTPError as error:
        raise _refusal(error, question) from None
    except (requests.ConnectionError, requests.exceptions.ChunkedEncodingError):
        raise Failure("The connection failed or was cut.", again=True) from None
    except WeatherError as error:
        raise Failure(error.problems[0].found, again=False) from None
    except ImportError as error:  # the fault lies here, and asking again would not mend it
        what = f"This installation cannot read the answer ({error.name or error})."
        raise Failure(what, again=False) from None
    except Exception as error:
        what = f"The answer is not the service's usual data ({type(error).__name__})."
        raise Failure(what, again=True) from None


@contextmanager
def _unlogged(key: str) -> Iterator[None]:
    """Keep addresses that hold a key out of the debug log of the library below."""

    def has_no_key(record: logging.LogRecord) -> bool:
        return "api_key=" not in record.getMessage()

    logger = logging.getLogger("urllib3.connectionpool")
    if key:
        logger.addFilter(has_no_key)
    try:
        yield
    finally:
        logger.removeFilter(has_no_key)


def _within(seconds: float, call: Callable[[], T]) -> T:
    """Give the result of a call, or TimeoutError; pvlib gives some requests no time limit at all.

    The call goes on in its own thread, which ends with the program at the latest.
    """
    done: list[T] = []
    failed: list[BaseException] = []

    def work() -> None:
        try:
            done.append(call())
        except BaseException as error:  # handed on below
            failed.append(error)

    thread = threading.Thread(target=work, name="flatodds-fetch", daemon=True)
    thread.start()
    thread.join(seconds)
    if failed:
        raise failed[0]
    if not done:
        raise TimeoutError
    return done[0]


def _refusal(error: Exception, question: Question) -> Failure:
    """Tell what a refusal says; pvlib drops the status of some, then the words have to tell."""
    response = getattr(error, "response", None)
    words = short_words(str(error), question)
    if response is None:
        again = not words or any(word in words.lower() for word in BUSY_WORDS)
        return Failure(f"It refused: {words or 'no reason given'}.", again=again)
    status = int(response.status_code)
    said = f": {words}" if words else ""
    return Failure(f"It refused with status {status}{said}.", again=status in BUSY)


def short_words(text: str, question: Question) -> str:
    """Cut words of a service down: short, on one line, without markup, key, email or address."""
    for secret in (question.key, question.email):
        for form in {secret, quote(secret, safe=""), quote_plus(secret)} - {""}:
            text = text.replace(form, "***")
    text = " ".join(text.split())
    if "<" in text or "://" in text:
        return ""
    text = "".join(mark if mark.isprintable() else "?" for mark in text)
    return text[:SHOWN].rstrip(" .") + ("..." if len(text) > SHOWN else "")
