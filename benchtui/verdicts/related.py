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
    """The expectation by what was `read` before: its window only narrowed, limits of its own kept where narrower."""
    for each in relations:
        if each.point != of.point or each.other not in read:
            continue
        was = read[each.other]
        if each.stop is not None and (of.stop_high is None or each.stop.value * was < of.stop_high.value):
            of = replace(of, stop_high=Limit(each.stop.value * was, each.stop.reason))
        low, high = max(of.low, each.low * was), min(of.high, each.high * was)
        if low < high:
            times = f"{each.low:.3g} to {each.high:.3g} times"
            why = f"Held against {show(was, of.unit, 3)}, which was read before: sound builds read {times} that."
            nominal = min(max(each.nominal * was, low), high)
            of = replace(of, low=low, nominal=nominal, high=high, by_file=of.plain, why=(why, *of.why))
    return of
