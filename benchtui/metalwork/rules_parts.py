"""Rules of a layout for parts: each fits what it is mounted in, and none of its kind is forgotten."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.metalwork.finding import Finding, called, found
from benchtui.metalwork.layout import Mounted
from benchtui.metalwork.workshop import Workshop
from benchtui.parts.bases import base

_FILE = "the file's own parts"

#: Table of the build = the groups of what its parts are mounted in.
_GROUPS = {
    "valve": ("valve",),
    "input": ("input", "control"),
    "transformer": ("transformer",),
    "output_transformer": ("transformer",),
    "choke": ("choke", "transformer"),
    "pot": ("control",),
    "switch": ("control", "mains"),
    "fuse": ("fuse", "mains"),
}
_SWITCHES = ("toggle switch", "rocker switch")
_OFTEN_OUTSIDE = ("valve", "input", "transformer", "output_transformer", "choke")


def fitting(shop: Workshop) -> Iterator[Finding]:
    """A valve sits in a socket of its base, every other part in something of its kind."""
    for plate, mounted in shop.mounted():
        table = _table(shop, mounted)
        groups = _GROUPS.get(table or "")
        if groups is not None and mounted.mounting.group not in groups:
            what = (table or "").replace("_", " ")
            text = f"{called(mounted)} is mounted as {mounted.mounting.name}, which is nothing for a {what}"
            yield found("warn", "panel-wrong-part", plate, mounted, text, source=_FILE)
        wanted = shop.roles.bases.get(mounted.part or "")
        if table == "valve" and wanted is not None and mounted.mounting.base not in (None, wanted):
            valve = shop.build.valve[str(mounted.part)]
            fits = f"a {valve.type} does not fit a {mounted.mounting.name}, its base is {base(wanted).name}"
            text = f"{called(mounted)}: {fits}"
            yield found("warn", "panel-wrong-socket", plate, mounted, text, source="the library's bases")


def unplaced(shop: Workshop) -> Iterator[Finding]:
    """Where some parts of a kind are on a panel, the others are missed."""
    placed = {mounted.part for _, mounted in shop.mounted()}
    for table in _OFTEN_OUTSIDE:
        names = list(getattr(shop.build, table))
        missing = [name for name in names if name not in placed]
        if missing and len(missing) < len(names):
            text = f"{', '.join(missing)}: on no panel, while other parts of the kind are on one"
            yield Finding(
                "note", shop.plates[0].name, "", "panel-unplaced", text, None, None, _FILE, (("table", table),)
            )


def unnamed(shop: Workshop) -> Iterator[Finding]:
    """What is judged by its part names it."""
    names = [called(each) for _, each in shop.mounted() if each.part is None and _judged_by_part(each)]
    if names:
        text = f"{', '.join(names)}: name the part; without it heat, stray fields and mains there are not looked at"
        yield Finding("note", shop.plates[0].name, "", "panel-unnamed", text, source=_FILE, about=(("unnamed",),))


def _judged_by_part(mounted: Mounted) -> bool:
    return mounted.mounting.group in ("valve", "transformer") or mounted.mounting.name in _SWITCHES


def _table(shop: Workshop, mounted: Mounted) -> str | None:
    return next((table for table in _GROUPS if mounted.part in getattr(shop.build, table)), None)
