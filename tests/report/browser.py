"""A headless Chromium, spoken to over its own debugging pipe: no driver, no port, no network."""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
import time
from pathlib import Path
from types import TracebackType
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
BASH = shutil.which("bash") or "/bin/bash"
PATIENCE_S = 60.0  # for one answer, on a busy machine: common practice, no source
TO_BROWSER, FROM_BROWSER = 3, 4  # the file numbers that Chromium's pipe is fixed to


def found() -> str | None:
    """Path of a browser on this machine, or None."""
    return next(filter(None, map(shutil.which, NAMES)), None)


class Browser:
    """One page of one browser; keeps every event that the page raised."""

    def __init__(self, program: str, profile: Path) -> None:
        read_end, self._write = os.pipe()
        self._read, write_end = os.pipe()
        options = [
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--disable-background-networking",
            "--no-first-run",
            "--remote-debugging-pipe",
            f"--user-data-dir={profile}",
            "about:blank",
        ]
        # A shell puts the two pipes where the browser expects them; "$@" is never parsed.
        line = f'exec "$@" {TO_BROWSER}<&{read_end} {FROM_BROWSER}>&{write_end}'
        self._process = subprocess.Popen(  # noqa: S603
            [BASH, "-c", line, "bash", program, *options],
            pass_fds=(read_end, write_end),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(read_end)
        os.close(write_end)
        os.set_blocking(self._read, False)
        self._held, self._count, self._session = b"", 0, ""
        self.events: list[dict[str, Any]] = []
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        attached = self.ask("Target.attachToTarget", targetId=target, flatten=True)
        self._session = attached["sessionId"]
        for room in ("Page", "Runtime", "Log", "Network"):
            self.ask(f"{room}.enable")

    def __enter__(self) -> Browser:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._process.terminate()
        self._process.wait(timeout=PATIENCE_S)
        os.close(self._write)
        os.close(self._read)

    def ask(self, method: str, **params: Any) -> dict[str, Any]:
        """Give one command and wait for its answer."""
        self._count += 1
        message: dict[str, Any] = {"id": self._count, "method": method, "params": params}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        while True:
            reply = self._next()
            if reply.get("id") == self._count:
                assert "error" not in reply, reply
                result: dict[str, Any] = reply["result"]
                return result
            self.events.append(reply)

    def open(self, page: Path, *, width: int = 1024, phone: bool = False) -> None:
        """Open a file with nothing but the disk to load from, and wait until it is shown."""
        self.ask(
            "Network.emulateNetworkConditions",
            offline=True,
            latency=0,
            downloadThroughput=0,
            uploadThroughput=0,
        )
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=900,
            deviceScaleFactor=1,
            mobile=phone,
        )
        self.events.clear()
        self.ask("Page.navigate", url=page.resolve().as_uri())
        while not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.events.append(self._next())
        self.value("document.fonts.ready.then(() => 1)")

    def value(self, expression: str) -> Any:
        """Work out an expression in the page."""
        answer = self.ask(
            "Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def happened(self, *methods: str) -> list[dict[str, Any]]:
        """Events of these kinds since the page was opened."""
        return [event["params"] for event in self.events if event.get("method") in methods]

    def picture(self, *, grey: bool = False, selector: str = "html") -> bytes:
        """Take a PNG of the page, or of its first element that a selector names."""
        self.ask("Emulation.setEmulatedVisionDeficiency", type="achromatopsia" if grey else "none")
        box = self.value(
            f"(({{x, y, width, height}}) => ({{x, y, width, height}}))"
            f"(document.querySelector({json.dumps(selector)}).getBoundingClientRect())"
        )
        taken = self.ask(
            "Page.captureScreenshot", captureBeyondViewport=True, clip={**box, "scale": 1}
        )
        return base64.b64decode(taken["data"])

    def _next(self) -> dict[str, Any]:
        """Read one message of the browser."""
        end = time.monotonic() + PATIENCE_S
        while b"\0" not in self._held:
            try:
                got = os.read(self._read, 1 << 20)
            except BlockingIOError:
                assert time.monotonic() < end, "the browser does not answer"
                time.sleep(0.01)
                continue
            assert got, "the browser has gone"
            self._held += got
        line, self._held = self._held.split(b"\0", 1)
        message: dict[str, Any] = json.loads(line)
        return message
