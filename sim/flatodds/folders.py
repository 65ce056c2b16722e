"""The one folder in which what may be made again is kept: kernels, tables, fetched weather."""

from __future__ import annotations

import os
from pathlib import Path


def cache_folder() -> Path:
    """Folder of the user's cache; FLATODDS_CACHE_DIR moves it. It may not exist yet.

    Raises
    ------
    OSError, RuntimeError
        The user has no home folder.
    """
    base = os.environ.get("FLATODDS_CACHE_DIR")
    if not base:
        import platformdirs

        base = platformdirs.user_cache_dir("flatodds")
    return Path(base)
