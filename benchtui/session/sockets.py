"""The valve socket of a test point, with its pins as the library or the build file names them."""

from __future__ import annotations

from collections.abc import Mapping

from benchtui.buildfile.models import Build
from benchtui.parts.bases import base
from benchtui.parts.errors import PartError
from benchtui.parts.valves import find
from benchtui.session.view import Socket


def socket(build: Build, named: str | None) -> Socket | None:
    """The socket of a pin that is `named`, such as V2.8; None where that is none, or none that is known."""
    if not named or "." not in named:
        return None
    name, pin = named.rsplit(".", 1)
    valve = build.valve.get(name)
    if valve is None:
        return None
    try:
        known = find(valve.type)
        return Socket(name, known.type, base(known.base).name, _in_order(known.pins), pin)
    except PartError:
        return Socket(name, valve.type, "", _in_order({pin: "" for pin in valve.pins}), pin)


def _in_order(pins: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    named = tuple((pin, electrode.replace("_", " ")) for pin, electrode in pins.items())
    return tuple(sorted(named, key=lambda item: int(item[0]) if item[0].isdigit() else 99))
