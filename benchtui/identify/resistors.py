"""Measured resistors: within their marked tolerance or not, and which two go together best."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from benchtui.identify.spans import Span
from benchtui.identify.told import Finding
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit

MOST_TO_MATCH = 12
"""More in one set are not paired: the ways to pair 12 are 10,395 already."""


@dataclass(frozen=True)
class Measured:
    """A resistor: marked value with its tolerance as shares, and what the meter says of it."""

    marked: float
    tolerance: tuple[float, float]
    read: Span

    @property
    def within(self) -> Literal["yes", "no", "the meter does not tell"]:
        """Does its value lie within the marked tolerance, whatever the meter's error?"""
        low, high = (self.marked * (1 + share) for share in self.tolerance)
        if low <= self.read.low and self.read.high <= high:
            return "yes"
        return "no" if self.read.high < low or self.read.low > high else "the meter does not tell"


def findings(resistors: Mapping[str, Measured]) -> Iterator[Finding]:
    """One line a resistor."""
    for name, each in resistors.items():
        low, high = (show(value, Unit.OHM, 4) for value in (each.read.low, each.read.high))
        words = (
            f"{name}: marked {show(each.marked, Unit.OHM)}, reads {show(each.read.value, Unit.OHM, 4)} ({low} to "
            f"{high})"
        )
        off = each.read.value / each.marked
        if each.within == "yes":
            yield Finding("note", f"{words}: within its tolerance", (name, "measured"))
        elif each.within == "the meter does not tell":
            text = f"{words}: at the edge of its tolerance, nearer than your meter tells"
            yield Finding("warn", text, (name, "measured"))
        elif off > 5 or off < 0.2:
            text = (
                f"{words}: nowhere near. A misread colour band, the wrong range, or fingers on both probes? Read it "
                "again"
            )
            yield Finding("warn", text, (name, "measured"))
        else:
            text = f"{words}: outside its tolerance. Old carbon ones drift up: not where its value matters"
            yield Finding("warn", text, (name, "measured"))


def pairs(names: Sequence[str], resistors: Mapping[str, Measured]) -> tuple[tuple[str, str, float], ...]:
    """The way to pair `names` in which the worst pair differs least; each with its difference as a share.

    Of an odd number one is left over. Raises ValueError for more than MOST_TO_MATCH.
    """
    if len(names) > MOST_TO_MATCH:
        raise ValueError(f"at most {MOST_TO_MATCH} resistors are paired, not {len(names)}")
    best = min(_ways(tuple(names)), key=lambda way: sorted((_apart(*pair, resistors) for pair in way), reverse=True))
    return tuple((a, b, _apart(a, b, resistors)) for a, b in sorted(best))


def _apart(a: str, b: str, resistors: Mapping[str, Measured]) -> float:
    one, other = resistors[a].read.value, resistors[b].read.value
    return abs(one - other) / ((one + other) / 2)


def _ways(names: tuple[str, ...]) -> Iterator[tuple[tuple[str, str], ...]]:
    """Every way to make pairs of `names`, one left out where their number is odd."""
    if len(names) < 2:
        yield ()
        return
    if len(names) % 2:
        for at in range(len(names)):
            yield from _ways(names[:at] + names[at + 1 :])
        return
    first, rest = names[0], names[1:]
    for at, other in enumerate(rest):
        for way in _ways(rest[:at] + rest[at + 1 :]):
            yield ((first, other), *way)
