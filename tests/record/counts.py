"""How often the long tests repeat: a small number on every run, the full figure with BENCHTUI_LONG set."""

from __future__ import annotations

import os
from typing import TypeVar

T = TypeVar("T")


def count(*, short: T, full: T) -> T:
    """`full` if the environment sets BENCHTUI_LONG to anything but "" or "0", else `short`."""
    return full if os.environ.get("BENCHTUI_LONG", "0") not in ("", "0") else short
