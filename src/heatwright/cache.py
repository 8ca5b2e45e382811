"""Where this package keeps what it makes once: compiled code, tables, layouts, the demo study."""

from __future__ import annotations

import os
from pathlib import Path


def cache_home() -> Path:
    """Return the user's cache folder for this package (HEATWRIGHT_CACHE overrides it)."""
    if chosen := os.environ.get("HEATWRIGHT_CACHE"):
        return Path(chosen)
    return Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache")) / "heatwright"
