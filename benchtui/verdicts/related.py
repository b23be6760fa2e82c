"""A reading that is held against an earlier one of the same amplifier: what both share widens no window then."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from benchtui.quantities.show import show
from benchtui.verdicts.expectation import Expectation, Limit


@dataclass(frozen=True)
class Related:
    """`point` of a sound build reads `low` to `high` times what `other` read, `nominal` times by the book.

    `stop` is what beyond so many times stops the work, and why.
    """

    point: str
    other: str
    low: float
    nominal: float
    high: float
    stop: Limit | None = None


def related(of: Expectation, relations: Iterable[Related], read: Mapping[str, float]) -> Expectation:
    """The expectation by what was `read` before, limits of its own kept where they are narrower."""
    for each in relations:
        if each.point != of.point or each.other not in read:
            continue
        was = read[each.other]
        times = f"{each.low:.3g} to {each.high:.3g} times"
        why = f"Held against {show(was, of.unit, 3)}, which was read before: sound builds read {times} that."
        stop = of.stop_high
        if each.stop is not None and (stop is None or each.stop.value * was < stop.value):
            stop = Limit(each.stop.value * was, each.stop.reason)
        of = replace(
            of, low=each.low * was, nominal=each.nominal * was, high=each.high * was, stop_high=stop, why=(why, *of.why)
        )
    return of
