"""The commands people type: arguments in, words out, no formulas."""

from __future__ import annotations

import atexit
import gc
import os

gc.set_threshold(100_000)  # imports make many objects and little garbage
atexit.register(gc.freeze)  # looking through them all on leaving takes a second (measured)
# Looking through everything installed for plug-ins of pydantic takes a tenth of a start.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
