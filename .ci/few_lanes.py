"""A pytest plugin: so many members abreast (FLATODDS_LANES), for runs with compilation off.

A block of 64 members takes 64 times as long without the compiler as one of 1, and no line or
branch knows how many there are. Loaded with `-p few_lanes` before anything else of flatodds.
"""

from __future__ import annotations

import os

from flatodds import lanes

lanes.LANES = int(os.environ["FLATODDS_LANES"])
