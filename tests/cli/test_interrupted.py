"""Ctrl-C while years are being lived: nothing more is lived, exit code 130."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

# Says on its standard output whenever a block has been lived, on two threads.
PROGRAM = """
import signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)  # a background job ignores it
from flatodds.engine import run
lived = run.run_block
def run_block(*args, **kwargs):
    block = lived(*args, **kwargs)
    print("lived", flush=True)
    time.sleep(0.1)  # or a busy machine could be done before the signal comes
    return block
run.run_block = run_block
from flatodds.cli.app import main
sys.exit(main(["run", sys.argv[1], "--out", sys.argv[2], "--members", "5000",
               "--threads", "2"]))
"""
IN_FLIGHT = 2  # of 79 blocks: those that may be all but lived as the signal comes


@pytest.mark.skipif(os.name == "nt", reason="sends a signal as terminals of other systems do")
def test_an_interrupted_run_lives_nothing_more(long_stay: str, tmp_path: Path) -> None:
    """Blocks that are being lived are left where they are, whatever the machine is busy with.

    How long that takes is measured, not tested: it would say how busy the machine is.
    """
    file = tmp_path / "long.toml"
    file.write_text(long_stay, encoding="utf-8")
    child = subprocess.Popen(  # noqa: S603  (our own words)
        [sys.executable, "-c", PROGRAM, str(file), str(tmp_path / "out")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "lived\n"
    time.sleep(0.2)
    child.send_signal(signal.SIGINT)
    lived, told = child.communicate(timeout=60)
    assert child.returncode == 130
    assert told.endswith("Stopped.\n")
    assert "Traceback" not in told
    assert not (tmp_path / "out").exists()
    assert lived.count("lived") <= IN_FLIGHT
