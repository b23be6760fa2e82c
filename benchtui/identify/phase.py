"""Twin windings: equal ones, and which of their ends begin alike, by a test in series at low volts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from benchtui.identify.leads import Pair, pair
from benchtui.identify.ratios import Feed, Ratios, ratio
from benchtui.identify.spans import Span
from benchtui.identify.told import Finding


@dataclass(frozen=True)
class Sense:
    """Two windings, each from its beginning to its end: current that enters both beginnings magnetises alike."""

    one: Pair
    other: Pair


def sense(one: Pair, other: Pair, feeds: Sequence[Feed], known: Ratios) -> Sense | None:
    """How two windings lie to each other, by any feed with one lead of each joined; None where no feed tells."""
    for feed in feeds:
        found = _told(one, other, feed, known)
        if found is not None:
            return found
    return None


def misfits(groups: Mapping[str, Pair], feeds: Sequence[Feed], known: Ratios) -> Iterator[Finding]:
    """Tests in series that read neither the sum nor the difference. `groups` has the whole winding of each lead."""
    for feed in feeds:
        if len(feed.joined) != 1:
            continue
        one, other = (groups.get(lead) for lead in feed.joined[0])
        if one is None or other is None or one == other or not {one, other, feed.into} <= set(known.of):
            continue
        for leads, reads in feed.reads.items():
            if leads != _across(one, other, feed.joined[0]):
                continue
            total, rest = _sum_and_difference(one, other, feed, known)
            told = ratio(reads, feed.applied)
            if not (told.meets(total) or told.meets(rest)):
                volts = feed.applied.value
                text = (
                    f"in series these two windings must read {total.value * volts:.3g} V or {rest.value * volts:.3g} "
                    "V, "
                    f"not {reads.value:.3g} V: a joint that does not touch, another lead, or a slip in the reading"
                )
                yield Finding("stop", text, feed.where(leads))


def _told(one: Pair, other: Pair, feed: Feed, known: Ratios) -> Sense | None:
    if len(feed.joined) != 1 or not {one, other, feed.into} <= set(known.of):
        return None
    a, b = feed.joined[0]
    if {a, b} & set(one) == set() or {a, b} & set(other) == set():
        return None
    joint = (a, b) if a in one else (b, a)
    across = _across(one, other, joint)
    if across not in feed.reads:
        return None
    told = ratio(feed.reads[across], feed.applied)
    total, rest = _sum_and_difference(one, other, feed, known)
    if told.meets(total) == told.meets(rest):
        return None
    first = (_far(one, joint[0]), joint[0])
    second = (joint[1], _far(other, joint[1]))
    return Sense(first, second if told.meets(total) else second[::-1])


def _sum_and_difference(one: Pair, other: Pair, feed: Feed, known: Ratios) -> tuple[Span, Span]:
    """Volts of both in series, the one way round and the other, for one volt in the fed winding."""
    first, second = (known.of[each].over(known.of[feed.into]) for each in (one, other))
    low, high = first.low - second.high, first.high - second.low
    least = 0.0 if low <= 0 <= high else min(abs(low), abs(high))
    return first.plus(second), Span(least, abs(first.value - second.value), max(abs(low), abs(high)))


def _across(one: Pair, other: Pair, joint: Pair) -> Pair:
    ends = {_far(each, lead) for each in (one, other) for lead in joint if lead in each}
    a, b = sorted(ends) if len(ends) == 2 else (joint[0], joint[1])
    return pair(a, b)


def _far(winding: Pair, lead: str) -> str:
    return winding[1] if winding[0] == lead else winding[0]
