"""What the review of a layout finds, and how it says lengths and names."""

from __future__ import annotations

from dataclasses import dataclass

from benchtui.metalwork.layout import Mounted, Plate

PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Finding:
    """One finding. `severity` is "note", "warn" or "stop"; `value_mm` and `limit_mm` are None where there is none.

    `hole` is what is mounted, as the file calls it, or "" for a whole panel.
    """

    severity: str
    panel: str
    hole: str
    rule: str
    text: str
    value_mm: float | None = None
    limit_mm: float | None = None
    source: str = PRACTICE
    about: tuple[tuple[str, ...], ...] = ()
    """Paths of what it is about; of findings of one rule about the same, the worst is told."""


def called(mounted: Mounted, plate: Plate | None = None) -> str:
    """What is mounted, as a builder calls it: the name in the file, the part, and the panel if it is given."""
    part = f" ({mounted.part})" if mounted.part and mounted.part != mounted.name else ""
    return f"{mounted.name}{part}" + (f" on {plate.name}" if plate is not None else "")


def mm(length: float) -> str:
    """A length in tenths of a millimetre."""
    return f"{round(length, 1) + 0.0:g} mm"


def found(
    severity: str, rule: str, plate: Plate, mounted: Mounted | None, text: str, value_mm: float | None = None,
    limit_mm: float | None = None, *, source: str = PRACTICE, other: Mounted | None = None,
) -> Finding:  # fmt: skip
    """A finding about a panel, or what is mounted on it and perhaps one `other`."""
    paths = tuple(sorted(each.path for each in (mounted, other) if each is not None))
    about = paths or (("panel", plate.name),)
    hole = "" if mounted is None else mounted.name
    return Finding(severity, plate.name, hole, rule, text, value_mm, limit_mm, source, about)
