"""Which leads belong together, by ohms, in few readings.

One probe stays on a lead, the other touches each lead that is not settled yet; what reads is noted, and one entry
`1-rest` says that all others read open. So a transformer takes as many entries as it has leads, instead of one for
each of the n(n-1)/2 pairs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from math import inf

from benchtui.identify.rules import rule, source
from benchtui.identify.spans import Span
from benchtui.identify.told import Finding

Pair = tuple[str, str]
REST = "rest"


def pair(a: str, b: str) -> Pair:
    """Two leads in the order of their names, so that 2-1 is 1-2."""
    return (a, b) if a <= b else (b, a)


@dataclass(frozen=True)
class Ohms:
    """Readings between leads, by pair: `joined` are ohms of windings, `open` pairs read open or far above a winding.

    `rest` are the leads from which every lead that is not named with them read open. `again` are second readings,
    with the probes exchanged: where a winding has two leads nothing else would show a slip. `key` is how each was
    written.
    """

    joined: Mapping[Pair, Span]
    open: frozenset[Pair] = frozenset()
    rest: frozenset[str] = frozenset()
    leaks: Mapping[Pair, float] = field(default_factory=dict)
    again: Mapping[Pair, Span] = field(default_factory=dict)
    key: Mapping[Pair, str] = field(default_factory=dict)


def sorted_out(readings: Mapping[Pair, float], span: Mapping[Pair, Span], keys: Mapping[Pair, str]) -> Ohms:
    """Readings as noted (infinite for open, `rest` as second lead) told apart by what they mean."""
    most = rule("leads.winding_most")
    rest = frozenset(a for a, b in readings if b == REST)
    first: dict[Pair, Pair] = {}
    second: dict[Pair, Pair] = {}
    for each in readings:
        if each[1] != REST:
            (second if pair(*each) in first else first)[pair(*each)] = each
    joined = {key: span[each] for key, each in first.items() if readings[each] <= most}
    apart = frozenset(key for key, each in first.items() if not readings[each] <= most)
    leaks = {key: readings[each] for key, each in first.items() if most < readings[each] < inf}
    again = {key: span[each] if readings[each] <= most else _OPEN for key, each in second.items()}
    return Ohms(joined, apart, rest, leaks, again, {key: keys[each] for key, each in first.items()})


_OPEN = Span(inf, inf, inf)


def groups(leads: tuple[str, ...], ohms: Ohms) -> tuple[tuple[str, ...], ...]:
    """Leads that have a winding between them, in the order of `leads`; a lead by itself is a group of one."""
    of = {lead: lead for lead in leads}

    def root(lead: str) -> str:
        while of[lead] != lead:
            lead = of[lead]
        return lead

    for a, b in ohms.joined:
        of[root(b)] = root(a)
    found: dict[str, list[str]] = {}
    for lead in leads:
        found.setdefault(root(lead), []).append(lead)
    return tuple(tuple(group) for group in found.values())


def is_open(a: str, b: str, ohms: Ohms) -> bool:
    """Was it noted that there is nothing between these two leads?"""
    if pair(a, b) in ohms.joined:
        return False
    return pair(a, b) in ohms.open or a in ohms.rest or b in ohms.rest


def apart(one: tuple[str, ...], other: tuple[str, ...], ohms: Ohms) -> bool:
    """Was any lead of the one group read open to any of the other?"""
    return any(is_open(a, b, ohms) for a in one for b in other)


def unsettled(found: tuple[tuple[str, ...], ...], ohms: Ohms) -> Iterator[tuple[str, tuple[str, ...]]]:
    """A lead of each group that may still have more to it, with one lead of each group to touch for that."""
    for number, group in enumerate(found):
        touch = tuple(other[0] for other in found[number + 1 :] if not apart(group, other, ohms))
        if touch:
            yield group[0], touch


def settled(lead: str, found: tuple[tuple[str, ...], ...], ohms: Ohms) -> bool:
    """Is a lead by itself known to be open to every other one?"""
    return all(apart((lead,), group, ohms) for group in found if lead not in group)


def contradictions(found: tuple[tuple[str, ...], ...], ohms: Ohms) -> Iterator[Finding]:
    """Open pairs within a winding: one of the readings around them is wrong."""
    for group in found:
        for number, a in enumerate(group):
            for b in group[number + 1 :]:
                if is_open(a, b, ohms):
                    key = ohms.key.get(pair(a, b)) or f"{a if a in ohms.rest else b}-{REST}"
                    text = (
                        f"{a} to {b} reads open here, but other readings join them: {', '.join(group)}. Read it again"
                    )
                    yield Finding("stop", text, ("ohms", key))


def leaks(ohms: Ohms) -> Iterator[Finding]:
    """Pairs that read something, and too much for a winding."""
    for (a, b), value in ohms.leaks.items():
        text = (
            f"{a} to {b} reads {value / 1e3:.0f} kohm: no winding, but not open either. Fingers on the probes, or "
            "damp insulation; read it again without touching metal"
        )
        yield Finding("warn", text, ("ohms", ohms.key[(a, b)]), source("leads.winding_most"))


def unlike(ohms: Ohms) -> Iterator[Finding]:
    """Pairs read twice that do not agree."""
    for each, second in ohms.again.items():
        first = ohms.joined.get(each, _OPEN)
        if first != second and not first.meets(second):
            text = (
                f"{'-'.join(each)} reads {first.value:.3g} ohm once and {second.value:.3g} ohm the other time: a slip "
                "of the "
                "decimal point or range, or a probe that did not touch. Read both again"
            )
            yield Finding("stop", text, ("ohms", ohms.key[each]))
