"""A reading beside the same one of another channel: a sound pair differs far less than builds do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from benchtui.quantities.show import show
from benchtui.verdicts.expectation import Expectation

#: A window that is not under this share of what it was stays what it is.
_NARROWER = 0.95


@dataclass(frozen=True)
class Beside:
    """`point` of a sound build reads from `low` to `high` V more than `other`, the same point of another channel."""

    point: str
    other: str
    low: float
    high: float


def narrowed(of: Expectation, pairs: Iterable[Beside], sound: Mapping[str, float]) -> Expectation:
    """The expectation with its window narrowed by what `sound` readings of other channels were, and why."""
    for pair in pairs:
        if pair.point != of.point or pair.other not in sound:
            continue
        low, high = max(sound[pair.other] + pair.low, of.low), min(sound[pair.other] + pair.high, of.high)
        if low < high < low + _NARROWER * (of.high - of.low):
            shown = [show(value, of.unit, 3) for value in (sound[pair.other], low, high)]
            why = (
                "The other channel read {}: of a sound pair this one reads {} to {}. If it does not, one of both is "
                "off, or mains has moved: read the other once more."
            ).format(*shown)
            nominal = min(max(of.nominal, low), high)
            of = replace(of, low=low, high=high, nominal=nominal, by_file=of.plain, why=(why, *of.why))
    return of
