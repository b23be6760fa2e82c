"""How readings move in a soak: how far from where they were once it was warm, and whether one runs away."""

from __future__ import annotations

from dataclasses import replace
from math import isfinite
from typing import TYPE_CHECKING

from benchtui.parts.guide import spread
from benchtui.procedure import events as e
from benchtui.session import figures
from benchtui.session.notebook import Soaked
from benchtui.session.tables import table
from benchtui.verdicts.expectation import Expectation, Limit

if TYPE_CHECKING:
    from benchtui.session.bench import Bench

#: Seconds of full mains after which valves have warmed through, so that what moves then is drift. Own decision.
_WARM_S = 540.0

#: Readings closer together tell no rate. Own decision.
_APART_S = 60.0


def drifting(bench: Bench, of: Expectation) -> Expectation:
    """The expectation of direct volts in a soak, where the point was read warm before: what has moved far warns."""
    begun = _warm(bench, of.point)
    if begun is None or of.quantity != "dc" or bench.phase.soak is None:
        return of
    most = spread("soak.drift")[1]
    at = begun.read.value * _mains(of, begun.read)
    words = table("words")["soak"]["drift"].format(
        minutes=f"{begun.after_s / 60.0:.0f}", value=figures.shown(at, of.unit), share=f"{100 * most:.0f}"
    )
    low, high = max(of.low, at - most * abs(at)), min(of.high, at + most * abs(at))
    if low > high:  # gone on from a warn: the window that it was outside of still holds
        low, high = of.low, of.high
    return replace(running_away(bench, of), low=low, high=high, why=(words, *of.why))


def running_away(bench: Bench, of: Expectation) -> Expectation:
    """The expectation with a stop where the reading is past its window and still rises too fast."""
    now_s = bench.state.full_s
    earlier = [each for each in bench.notebook.soaked.get(of.point, ()) if _WARM_S <= each.after_s <= now_s - _APART_S]
    if not earlier or of.quantity != "dc" or bench.phase.soak is None or not isfinite(of.high):
        return of
    before, minutes = earlier[-1].read, (now_s - earlier[-1].after_s) / 60.0
    if before.value <= 0.0:
        return of
    share = spread("soak.runaway")[1]
    top = max(before.value * _mains(of, before) * (1.0 + share * minutes), of.high)
    if of.stop_high is not None and of.stop_high.value <= top:
        return of
    return replace(of, stop_high=Limit(top, table("words")["soak"]["runaway"].format(share=f"{100 * share:.0f}")))


def moved_all(bench: Bench) -> str:
    """How far the points of the present soak have moved, each that was read warm and again."""
    named = ((bench.point(id), _moved(bench, id)) for id in bench.notebook.soaked)
    return "; ".join(f"{point.name}: {told}" for point, told in named if point and told)


def _moved(bench: Bench, point: str) -> str:
    """How far the last reading lies from the first warm one, in per cent, the mains reckoned out."""
    begun, last = _warm(bench, point), _judged(bench, point)[-1:]
    if begun is None or last == [begun] or not begun.read.value:
        return ""
    share = moved(begun.read, last[0].read)
    return table("words")["soak"]["moved"].format(share=f"{100 * share:+.1f}")


def moved(before: e.PointRead, now: e.PointRead) -> float:
    """How far `now` lies from `before`, which is not 0, as a share of that, the mains reckoned out."""
    return now.value / (before.value * _mains(now, before)) - 1.0


def _judged(bench: Bench, point: str) -> list[Soaked]:
    kinds = (e.PointPassed, e.PointWarned)
    return [each for each in bench.notebook.soaked.get(point, ()) if isinstance(each.read, kinds)]


def _warm(bench: Bench, point: str) -> Soaked | None:
    """The first reading at a mark once it was warm."""
    return next((each for each in _judged(bench, point) if each.after_s >= _WARM_S), None)


def _mains(now: Expectation | e.PointRead, before: e.PointRead) -> float:
    """What other mains makes of a reading; 1 where that is not known, or where next to nothing should be read."""
    known = isfinite(now.nominal) and isfinite(before.nominal) and abs(before.nominal) > 0.1 * abs(before.value)
    return now.nominal / before.nominal if known and now.nominal else 1.0
