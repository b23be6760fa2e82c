"""What is printed on a fuse's cap, read apart and held against the fuse of the build file.

By IEC 60127-1 (from memory) speed letter and current stand side by side, then a letter for what it can break, then its
volts, such as T 630 mA L 250 V. Makers write them with and without blanks, in amperes or in milliamperes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from benchtui.buildfile.models import Fuse
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit

_SPEED = r"(?P<speed{n}>FF|F|M|TT|T)"
_AMPS = r"(?P<amps{n}>[0-9]+(?:[.][0-9]+)?)(?P<unit{n}>MA|A)"
_BREAKS, _VOLTS = "[LHE]?", r"(?P<volts{n}>[0-9]{{2,4}})V(?:AC)?"
_FORMS = (
    f"{_SPEED}{_AMPS}{_BREAKS}(?:{_VOLTS})?",
    f"{_AMPS}{_SPEED}{_BREAKS}(?:{_VOLTS})?",
    f"{_VOLTS}{_SPEED}{_AMPS}{_BREAKS}",
    f"{_VOLTS}{_AMPS}{_SPEED}{_BREAKS}",
)
_ANY = re.compile("|".join(form.format(n=n) for n, form in enumerate(_FORMS)))

#: Blanks and strokes that stand between, but not between two digits, which would become one number.
_BETWEEN = re.compile(r"(?<![0-9])[\s/~]+|[\s/~]+(?![\s/~0-9])")


@dataclass(frozen=True)
class Cap:
    """A cap's speed letter, amperes, and volts, None where they were not typed."""

    speed: str
    amps: float
    volts: float | None


def read_cap(text: str) -> Cap | None:
    """What `text` says as typed from a cap; None where speed and amperes are not both there, or there is more."""
    found = _ANY.fullmatch(_BETWEEN.sub("", text).upper().replace(",", "."))
    if found is None:
        return None
    got = {name.rstrip("0123"): value for name, value in found.groupdict().items() if value is not None}
    amps = float(got["amps"]) * (1e-3 if got["unit"] == "MA" else 1.0)
    return Cap(got["speed"], amps, float(got["volts"]) if "volts" in got else None)


def differs(cap: Cap, fuse: Fuse) -> str:
    """In what a cap is not that of `fuse`: "speed", "amps", "volts" (too few), "unread" (volts), or ""."""
    if cap.speed != fuse.speed:
        return "speed"
    if not abs(cap.amps - fuse.amps) <= 1e-3 * fuse.amps:
        return "amps"
    if fuse.volts is None:
        return ""
    if cap.volts is None:
        return "unread"
    return "" if cap.volts >= fuse.volts else "volts"


def marking(fuse: Fuse) -> str:
    """Speed, amperes and volts of a fuse, as they may be printed."""
    volts = f" {fuse.volts:.0f} V" if fuse.volts is not None else ""
    return f"{fuse.speed} {show(fuse.amps, Unit.AMPERE)}{volts}"
