"""Three made-up transformers, and a meter that is off within its accuracy. It knows nothing of how leads are sorted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from math import ceil, inf, log10
from random import Random

from benchtui.identify.leads import Pair, pair, sorted_out, unsettled
from benchtui.identify.leads import groups as grouped
from benchtui.identify.lines import orders, telling
from benchtui.identify.meter import Meter
from benchtui.identify.noted import Transformer
from benchtui.identify.ratios import Feed
from benchtui.identify.windings import Bench
from benchtui.quantities.tolerance import Accuracy

#: 6000 counts, 0.8 % + 3 on ohms, 1 % + 3 on AC: a usual hand meter. Its leads have 0.2 ohm.
METER = Meter(6000, Accuracy(0.008, 3), Accuracy(0.01, 3), Accuracy(0.005, 3), 0.2)


@dataclass(frozen=True)
class Coil:
    """A winding: its leads from one end to the other, turns and ohms between neighbours."""

    leads: tuple[str, ...]
    turns: tuple[float, ...]
    ohms: tuple[float, ...]

    def at(self, lead: str, of: tuple[float, ...]) -> float:
        return sum(of[: self.leads.index(lead)])


@dataclass(frozen=True)
class Made:
    """A transformer as it really is. `drop`: share that a fed winding loses. `sag`: what a low supply falls by."""

    coils: tuple[Coil, ...]
    screens: tuple[str, ...] = ()
    drop: float = 0.005
    sag: float = 0.02

    @property
    def leads(self) -> tuple[str, ...]:
        return tuple(sorted((*(lead for coil in self.coils for lead in coil.leads), *self.screens), key=int))

    def coil(self, lead: str) -> Coil | None:
        return next((coil for coil in self.coils if lead in coil.leads), None)

    def ohm(self, a: str, b: str) -> float:
        coil = self.coil(a)
        if coil is None or b not in coil.leads:
            return inf
        return abs(coil.at(a, coil.ohms) - coil.at(b, coil.ohms))

    def turns(self, a: str, b: str, joined: Iterable[Pair] = ()) -> float:
        """Turns from a to b with their sign, through the first joint if they are on two windings."""
        coil = self.coil(a)
        assert coil is not None
        if b in coil.leads:
            return coil.at(b, coil.turns) - coil.at(a, coil.turns)
        for one, other in joined:
            for out, into in ((one, other), (other, one)):
                if out in coil.leads and b in getattr(self.coil(into), "leads", ()):
                    return self.turns(a, out) + self.turns(into, b)
        raise ValueError(f"{a} and {b} are not joined")


@dataclass
class Hand:
    """Someone with a meter: its gain is off by a share that stays, its last digits by what changes."""

    made: Made
    random: Random
    meter: Meter = METER
    gain: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for kind in ("ohms", "ac"):
            share = getattr(self.meter, kind).share
            self.gain[kind] = 1 + self.random.uniform(-share, share) * 0.95

    def shown(self, true: float, kind: str, finest: float) -> float:
        accuracy = getattr(self.meter, kind)
        step = max(10.0 ** ceil(log10(max(true, finest) / self.meter.counts)), finest)
        digits = self.random.uniform(-accuracy.digits + 0.6, accuracy.digits - 0.6)
        return max(round((true * self.gain[kind] + digits * step) / step) * step, 0.0)

    def ohms(self, a: str, b: str) -> float:
        true = self.made.ohm(a, b)
        return inf if true == inf else self.shown(true + self.meter.lead_ohm, "ohms", 0.1)

    def volts(self, true: float) -> float:
        return self.shown(true * self.random.uniform(0.999, 1.001), "ac", 1e-4)


def noted(hand: Hand) -> dict[Pair, float]:
    """Ohms as someone notes them who does what is asked: grouping first, then what puts taps in order."""
    found: dict[Pair, float] = {}
    leads = hand.made.leads

    def ohms() -> object:
        return read_as(found)

    while asked := next(unsettled(grouped(leads, ohms()), ohms()), None):  # type: ignore[arg-type]
        lead, touch = asked
        for other in touch:
            value = hand.ohms(lead, other)
            if value != inf:
                found[(lead, other)] = value
        found[(lead, "rest")] = inf
    for group in grouped(leads, ohms()):  # type: ignore[arg-type]
        while True:
            ruler = {each: span for each, span in ohms().joined.items() if set(each) <= set(group)}  # type: ignore[attr-defined]
            ask = telling(group, orders(group, [ruler]), ruler) if len(group) > 2 else None
            if ask is None:
                break
            found[ask] = hand.ohms(*ask)
        if len(group) == 2:
            a, b = next(each for each in found if set(each) == set(group))
            found[(b, a)] = hand.ohms(b, a)
    return found


def read_as(found: Mapping[Pair, float]) -> object:
    spans = {each: METER.resistance(value) for each, value in found.items() if value != inf}
    return sorted_out(found, spans, {each: "-".join(each) for each in found})


def fed(
    hand: Hand, number: int, into: Pair, volts: float, across: Iterable[Pair], joined: tuple[Pair, ...] = ()
) -> Feed:
    """A feed as it is noted."""
    made = hand.made
    applied = volts * (1 - made.sag)
    inside = applied * (1 - made.drop) / abs(made.turns(*into))
    reads = {pair(*each): hand.volts(abs(made.turns(*each, joined)) * inside) for each in across}
    spans = {each: METER.ac_volts(value) for each, value in reads.items()}
    keys = {each: "-".join(each) for each in reads}
    supply = METER.ac_volts(hand.volts(volts))
    return Feed(number, pair(*into), METER.ac_volts(hand.volts(applied)), spans, joined, supply, keys)


def every_pair(made: Made) -> list[Pair]:
    """Pairs of leads within each winding."""
    return [(a, b) for coil in made.coils for i, a in enumerate(coil.leads) for b in coil.leads[i + 1 :]]


def bench(made: Made, seed: int) -> tuple[Bench, Hand]:
    """All that is read without mains: ohms, a feed into the winding with the most ohms, and one into the primary."""
    hand = Hand(made, Random(seed))
    ohms = read_as(noted(hand))
    whole = [(coil.leads[0], coil.leads[-1]) for coil in made.coils]
    most = max(whole, key=lambda each: made.ohm(*each))
    second = next(each for each in whole if each != most)
    feeds = tuple(
        fed(hand, number, into, 6.0, [each for each in every_pair(made) if each != into])
        for number, into in enumerate((most, second))
    )
    return Bench(made.leads, ohms, feeds), hand  # type: ignore[arg-type]


def transformer(made: Made, seed: int) -> Transformer:
    return Transformer("T1", bench(made, seed)[0], 230.0, 50.0)


#: 230 V; 250-0-250 V, 6.3 V, 5 V. The outer half of the HT is longer, as it is in life.
PLAIN = Made((
    Coil(("1", "4"), (230.0,), (9.5,)),
    Coil(("2", "5", "9"), (268.0, 268.0), (58.0, 63.0)),
    Coil(("3", "8"), (6.75,), (0.11,)),
    Coil(("6", "7"), (5.35,), (0.09,)),
))  # fmt: skip

#: Two primaries of 115 V with a tap at 100 V each, a screen, an HT without tap, a heater with centre tap, bias.
TWIN = Made((
    Coil(("1", "2", "3"), (100.0, 15.0), (5.2, 0.8)),
    Coil(("6", "5", "4"), (100.0, 15.0), (5.4, 0.85)),
    Coil(("8", "9"), (305.0,), (88.0,)),
    Coil(("10", "11", "12"), (3.4, 3.4), (0.06, 0.06)),
    Coil(("13", "14"), (52.0,), (31.0,)),
), screens=("7",))  # fmt: skip

#: 0-110-220-240 V on one winding, HT without centre tap, three low windings; the thermal fuse is in series and whole.
ODD = Made((
    Coil(("1", "2", "3", "4"), (110.0, 110.0, 20.0), (5.6, 6.9, 1.4)),
    Coil(("5", "6"), (250.0,), (72.0,)),
    Coil(("7", "8"), (6.7,), (0.12,)),
    Coil(("9", "10"), (6.7,), (0.14,)),
    Coil(("11", "12"), (13.4,), (0.9,)),
))  # fmt: skip


def without(made: Made, lead: str) -> Made:
    """The winding of `lead` broken inside, such as by an open thermal fuse: its leads have nothing between them."""
    kept = tuple(coil for coil in made.coils if lead not in coil.leads)
    lost = next(coil for coil in made.coils if lead in coil.leads)
    return replace(made, coils=kept, screens=(*made.screens, *lost.leads))
