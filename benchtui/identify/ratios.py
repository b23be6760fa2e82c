"""Ratios of windings from a few isolated low volts into one of them.

All ratios are to one reference, the first winding that was fed. What several feeds say of the same pair of leads must
overlap within the meter's error; where it does not, one of the readings is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import sqrt

from benchtui.identify.leads import Pair
from benchtui.identify.rules import rule, source
from benchtui.identify.spans import ONE, Span
from benchtui.identify.told import Finding


@dataclass(frozen=True)
class Feed:
    """Low volts `applied` to the leads `into`, and what the others read. `number` counts from 0 in the notes.

    `joined` are leads that were joined for it; `supply` is what the low supply gave with nothing on it.
    """

    number: int
    into: Pair
    applied: Span
    reads: Mapping[Pair, Span]
    joined: tuple[Pair, ...] = ()
    supply: Span | None = None
    key: Mapping[Pair, str] = field(default_factory=dict)
    at_mains: bool = False

    @property
    def table(self) -> tuple[str | int, ...]:
        return ("mains",) if self.at_mains else ("volts", self.number)

    def where(self, leads: Pair) -> tuple[str | int, ...]:
        return (*self.table, "reads", self.key.get(leads, "-".join(leads)))


@dataclass(frozen=True)
class Ratios:
    """Volts of each pair of leads for one volt at the reference; `times` counts the feeds that say so."""

    of: Mapping[Pair, Span] = field(default_factory=dict)
    times: Mapping[Pair, int] = field(default_factory=dict)
    clashes: tuple[Finding, ...] = ()


def ratio(reads: Span, applied: Span, drop: str = "volts.fed_drop") -> Span:
    """Volts read for one volt in the winding that is fed; `drop` names the rule for its own drop.

    Error: that of both readings, drift of the supply, and the fed winding's own drop, for which it has a little less
    inside than at its leads, so the ratio may be that much more.
    """
    inside = Span(applied.low * (1 - rule(drop)), applied.value, applied.high)
    return reads.over(inside).wider(rule("volts.drift"))


def ratios(feeds: Sequence[Feed], to: Pair | None = None) -> Ratios:
    """All ratios that the feeds give, and where they contradict each other. Feeds with leads joined count apart.

    They are to the pair `to` where any feed has it, since what is read beside it directly has the least error.
    """
    plain = [feed for feed in feeds if not feed.joined and feed.applied.low > 0]
    if not plain:
        return Ratios()
    known_pairs = {each for feed in plain for each in (feed.into, *feed.reads)}
    reference = to if to in known_pairs else plain[0].into
    known: dict[Pair, Span] = {reference: ONE}
    times: dict[Pair, int] = {reference: 1}
    clashes: list[Finding] = []
    waiting = list(plain)
    while waiting:
        usable = next((feed for feed in waiting if _scale(feed, known) is not None), None)
        if usable is None:
            break  # nothing joins these feeds to the reference yet
        waiting.remove(usable)
        clashes += _taken(usable, known, times)
    return Ratios(known, times, tuple(clashes))


def _scale(feed: Feed, known: Mapping[Pair, Span]) -> Span | None:
    """What one volt in the fed winding is at the reference's scale; None where nothing joins them."""
    if feed.into in known:
        return known[feed.into]
    shared = [each for each, span in feed.reads.items() if each in known and span.low > 0]
    if not shared:
        return None
    finest = min(shared, key=lambda each: ratio(feed.reads[each], feed.applied).off + known[each].off)
    return known[finest].over(ratio(feed.reads[finest], feed.applied))


def _taken(feed: Feed, known: dict[Pair, Span], times: dict[Pair, int]) -> Iterator[Finding]:
    """Take a feed into what is known, readings that clash left out."""
    scale = _scale(feed, known)
    if scale is None:
        return
    if feed.into not in known:
        known[feed.into], times[feed.into] = scale, 1
    drop = "mains.fed_drop" if feed.at_mains else "volts.fed_drop"
    told = {
        leads: ratio(reads, feed.applied, drop).by(scale) for leads, reads in feed.reads.items() if leads != feed.into
    }
    before = {leads: known[leads] for leads in told if leads in known}
    clashing = [leads for leads, span in before.items() if not span.meets(told[leads])]
    if len(clashing) > 1 and len(clashing) == len(before):
        text = (
            "nothing that was read with these volts fits the other readings: the volts, the leads they were fed into, "
            "or "
            f"what {'-'.join(feed.into)} read before"
        )
        yield Finding("stop", text, (*feed.table, "applied"))
        return
    for leads, span in told.items():
        if leads in clashing:
            yield _clash(feed, leads, span, before[leads])
        else:
            known[leads] = before[leads].within(span) if leads in before else span
            times[leads] = times.get(leads, 0) + 1


def _clash(feed: Feed, leads: Pair, told: Span, before: Span) -> Finding:
    """Two feeds that cannot both be right, with the reading that this one should have given."""
    off = told.value / before.value if before.value else 0.0
    slip = next((f" It would fit {word}." for word, factor in _SLIPS if 0.8 < off * factor < 1.25), "")
    text = (
        f"{leads[0]} to {leads[1]} reads {feed.reads[leads].value:.4g} V here, but the other readings say about "
        f"{feed.reads[leads].value / off if off else 0:.4g} V.{slip} Read both again"
    )
    return Finding("stop", text, feed.where(leads))


_SLIPS = (("ten times larger: decimal point or range?", 10.0), ("ten times smaller: decimal point or range?", 0.1))


def sags(feeds: Sequence[Feed]) -> Iterator[Finding]:
    """Low supplies that a winding pulls down: what shorted turns do."""
    for feed in feeds:
        if feed.supply is None or feed.supply.value <= 0 or feed.at_mains:
            continue
        lost = 1 - feed.applied.value / feed.supply.value
        if lost > rule("volts.sag"):
            text = (
                f"the low supply falls from {feed.supply.value:.3g} V to {feed.applied.value:.3g} V as soon as "
                f"{'-'.join(feed.into)} is on it: shorted turns somewhere in this transformer, leads that touch, or "
                "too "
                "small a supply. A sound winding takes milliamperes from it. No mains on it before this is cleared up"
            )
            yield Finding("stop", text, (*feed.table, "applied"), source("volts.sag"))


def strangers(feeds: Sequence[Feed], group_of: Mapping[str, int]) -> Iterator[Finding]:
    """Readings between leads of different windings with nothing joined: they say nothing."""
    for feed in feeds:
        linked = _linked(feed.joined, group_of)
        for leads in (feed.into, *feed.reads):
            if linked[group_of[leads[0]]] != linked[group_of[leads[1]]]:
                key = (*feed.table, "into") if leads == feed.into else feed.where(leads)
                text = (
                    f"{leads[0]} and {leads[1]} are leads of different windings by their ohms: what a meter shows "
                    "between "
                    "them says nothing. Was a lead taken for another? Follow both by hand and read again"
                )
                yield Finding("stop", text, key)


def _linked(joined: Sequence[Pair], group_of: Mapping[str, int]) -> dict[int, int]:
    """Windings that leads joined for a test make one of, by number."""
    of = {number: number for number in group_of.values()}
    for a, b in joined:
        one, other = of[group_of[a]], of[group_of[b]]
        of = {number: one if root == other else root for number, root in of.items()}
    return of


def most_elsewhere(volts: float, fed_ohm: float, other_ohm: float) -> float:
    """The most that a winding of `other_ohm` may give while `volts` are fed into one of `fed_ohm`, by the ohms alone.

    Windings that share copper alike have ohms as the square of their turns (from memory); thick wire has fewer, so up
    to the spread of `volts.turns_unknown` more.
    """
    return volts * sqrt(other_ohm / fed_ohm) * rule("volts.turns_unknown")


def ratio_by_ohms_clash(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Do volts and ohms of two windings, each (ratio, ohm), contradict each other: by more than any wire makes?"""
    (one_v, one_ohm), (other_v, other_ohm) = one, other
    if min(one_v, other_v, one_ohm, other_ohm) <= 0:
        return False
    share = (one_ohm / one_v**2) / (other_ohm / other_v**2)
    return not 1 / _WIRE < share < _WIRE


_WIRE = 300.0
"""Ohms per volt squared of windings of one transformer differ at most so much (decision: 2 VA beside 200 VA)."""
