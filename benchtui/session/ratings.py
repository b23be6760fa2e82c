"""The table of ratings with their margins in words, for the app and for the papers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import floor, isfinite
from typing import TYPE_CHECKING

from benchtui.forecast.run import highest_mains
from benchtui.session import figures
from benchtui.session.tables import table
from benchtui.session.view import RatingRow

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build
    from benchtui.forecast.margins import Margin

_STANDINGS = ("past", "unknown", "close", "within")


def rows(found: Sequence[Margin]) -> tuple[RatingRow, ...]:
    """The same ratings in words, in the same order; margins are rounded down."""
    return tuple(_row(each) for each in found)


def _row(of: Margin) -> RatingRow:
    limit = figures.shown(of.limit, of.unit)
    if of.allowed:
        limit = f"{limit} +-{100.0 * of.allowed:.0f} %"
    elif of.ceiling != of.limit:
        limit = f"{limit} *"
    margin = f"{floor(100.0 * of.share)} %" if isfinite(of.share) else "-"
    here, high = (figures.shown(each, of.unit) if isfinite(each) else "-" for each in (of.here, of.high))
    return RatingRow(of.standing, of.part, of.quantity, here, high, limit, margin, of.source)


def heads(build: Build, mains_v: float) -> tuple[str, str]:
    """What stands over the columns of measured and highest mains."""
    return f"{mains_v:g} V", f"{highest_mains(build):g} V"


def sentences(build: Build, found: Sequence[Margin], mains_v: float, *, measured: bool) -> tuple[str, ...]:
    """What the table is, and how many stand how; `measured`: the mains was read."""
    words = table("words")["ratings"]
    if not found:
        return (words["nothing"],)
    counts = Counter(each.standing for each in found)
    told = ", ".join(f"{counts[each]} {each}" for each in _STANDINGS if counts[each])
    how = words["read" if measured else "rated"]
    what = words["what"].format(mains=f"{mains_v:g}", how=how, highest=f"{highest_mains(build):g}")
    return what, words["counts"].format(n=len(found), told=told)


def notes(found: Sequence[Margin]) -> tuple[str, ...]:
    """What the words and marks of the table mean, each that is in it."""
    words = table("words")["ratings"]
    ceilings = any(each.ceiling != each.limit for each in found)
    return (words["close"], words["cold"], *([words["ceiling"]] if ceilings else [])) if found else ()


def least(found: Sequence[Margin]) -> str:
    """The rating with the least margin, in a sentence; "" where there is none."""
    words = table("words")["ratings"]
    if not found:
        return ""
    row = _row(found[0])
    return words["least"].format(standing=row.standing, part=row.part, what=row.what, margin=row.margin)
