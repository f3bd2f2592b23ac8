"""The user's folder for files that can be made again, and may be lost."""

from __future__ import annotations

import os
import sys
from pathlib import Path


def cache_folder() -> Path:
    """Where this system wants such files of this program; it may not be there yet."""
    if os.name == "nt":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "rearlog"
