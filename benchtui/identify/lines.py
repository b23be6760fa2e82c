"""The order of taps along a winding: readings between them must add up.

Every order of a winding's leads is held against all readings at once. A reading says how far apart two leads are, in
ohms or in volts, from `low` to `high`; an order holds if places along the winding can be found for which every reading
is so (difference constraints: R. Bellman 1958, "On a routing problem"; shortest paths by R. W. Floyd 1962).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import inf

from benchtui.identify.leads import Pair, pair
from benchtui.identify.spans import Span

Ruler = Mapping[Pair, Span]
"""Readings of one kind between leads of one winding."""

MOST_LEADS = 7
"""More on one winding are not put in order."""


@dataclass(frozen=True)
class Order:
    """Leads from one end of the winding to the other."""

    leads: tuple[str, ...]

    @property
    def neighbours(self) -> tuple[Pair, ...]:
        return tuple(zip(self.leads, self.leads[1:], strict=False))

    def between(self, a: str, b: str, ruler: Ruler) -> Span | None:
        """How far apart two leads are by all readings together; None where they say nothing. The order must hold."""
        i, j = sorted((self.leads.index(a), self.leads.index(b)))
        distances = _distances(self.leads, ruler)
        if distances is None or distances[i][j] == inf:
            return None
        low, high = max(0.0, -distances[j][i]) + 0.0, distances[i][j]
        read = ruler.get(pair(a, b))
        value = read.value if read is not None else _sum(self.leads[i : j + 1], ruler)
        return Span(low, min(max((low + high) / 2 if value is None else value, low), high), high)


def orders(leads: Sequence[str], rulers: Iterable[Ruler]) -> tuple[Order, ...]:
    """Every order of `leads` that all readings allow, each once (an order and its reverse are the same)."""
    rulers = list(rulers)
    found: list[tuple[str, ...]] = [tuple(leads[:1])]
    for lead in leads[1:]:
        longer = [(*order[:at], lead, *order[at:]) for order in found for at in range(len(order) + 1)]
        found = [order for order in longer if all(_distances(order, ruler) is not None for ruler in rulers)]
    once = {min(order, order[::-1]): None for order in found}
    return tuple(Order(order) for order in once)


def suspects(leads: Sequence[str], ruler: Ruler) -> tuple[Pair, ...]:
    """Readings of which any single one, left out, makes the others fit."""
    return tuple(each for each in ruler if orders(leads, [{key: span for key, span in ruler.items() if key != each}]))


def slips(leads: Sequence[str], ruler: Ruler, beside: Iterable[Ruler] = ()) -> dict[Pair, float]:
    """Readings that would fit ten times larger (10) or smaller (0.1): a slip of the decimal point or of the range.

    `beside` are readings of another kind that must fit too.
    """
    others = list(beside)
    return {
        each: factor
        for each, span in ruler.items()
        for factor in (10.0, 0.1)
        if orders(leads, [{**ruler, each: span.times(factor)}, *others])
    }


def telling(leads: Sequence[str], found: Sequence[Order], ruler: Ruler) -> Pair | None:
    """The pair not yet read whose ohms tell the most of the possible orders apart; None where none does."""
    best, most = None, 0
    for each in combinations(leads, 2):
        if pair(*each) in ruler:
            continue
        expected = [order.between(*each, ruler) for order in found]
        told = sum(
            1
            for one, other in combinations(expected, 2)
            if one is not None and other is not None and not one.meets(other)
        )
        if told > most:
            best, most = each, told
    return best


def _sum(leads: Sequence[str], ruler: Ruler) -> float | None:
    spans = [ruler.get(pair(*each)) for each in zip(leads, leads[1:], strict=False)]
    return None if None in spans else sum(span.value for span in spans if span)


def _distances(order: Sequence[str], ruler: Ruler) -> list[list[float]] | None:
    """[i][j]: the most that place j can be beyond place i; None if no places fit. Rounding has 1e-9 of room."""
    count = len(order)
    most = [[0.0 if j <= i else inf for j in range(count)] for i in range(count)]
    for i, j in combinations(range(count), 2):
        span = ruler.get(pair(order[i], order[j]))
        if span is not None:
            most[i][j], most[j][i] = span.high, -span.low
    for k in range(count):
        for i in range(count):
            for j in range(count):
                most[i][j] = min(most[i][j], most[i][k] + most[k][j])
    return None if any(most[i][i] < -1e-9 for i in range(count)) else most
