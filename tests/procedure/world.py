"""A small physical world: one amplifier's plug, switch, reservoirs, clip and link, a hand meter, and what may fail.

Physics is as coarse as the procedure's own clock of a few ticks, and where nature may go either way all ways are given:
every function that moves the world gives each world that may come of it. A fault strikes when it first shows, so a
meter that falls asleep is struck at the reading that shows nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Literal, NamedTuple

THRESHOLD_V = 10
MAINS_V = 230
CREEP = 0.15
"""Share of its former volts to which a charge creeps back in a capacitor left open; CREEPS_MORE with the fault."""

CREEPS_MORE = 0.3

#: Every fault, by the words that the manual has for it; each is one bit of `World.struck`.
FAULTS = {
    name: 1 << n
    for n, name in enumerate(
        (
            "bleeder open",
            "HT fuse or standby switch open between reservoir and bleeder",
            "second reservoir's bleeder open",
            "path inside a group of reservoirs opens",
            "charge creeps back more than usual",
            "salvaged capacitor arrives charged",
            "wrong plug pulled",
            "meter dead from the start",
            "meter dies",
            "meter asleep now and then",
            "meter on the wrong kind of volts",
            "meter left on ohms",
            "meter leads swapped",
            "probe not touching at a reservoir",
            "probe not touching at the mains side",
            "one reservoir read in place of the other",
            "another tag taken for the reservoir's",
            "clip put on the wrong node",
            "clip does not conduct",
            "clip slips off later",
            "link put on the wrong node",
            "link does not conduct",
            "link slips off later",
        )
    )
}
(BLEEDER, FUSE, BLEEDER_2, PATH, CREEPS, SALVAGED, WRONG_PLUG, DEAD, DIES, ASLEEP, KNOB, OHMS, SWAPPED, UNTOUCHED,
 UNTOUCHED_MAINS, OTHER, TAG, ASTRAY, OPEN_CLIP, SLIPS, LINK_ASTRAY, OPEN_LINK,
 LINK_SLIPS) = FAULTS.values()  # fmt: skip

WORST = "a charge"
"""As bad as it may come for hands; "part of a charge" is what has crept back, or not yet gone."""

OFF, NOWHERE = -1, -2
"""Places of clip and link that are no capacitor: off, or forgotten, and on a node that drains none."""


@dataclass(frozen=True)
class Bench:
    """What is built: the volts of each capacitor at full mains and its bleeder.

    `joined`: the second hangs on the first by a direct path, so that one reading stands for both. `budget` is how many
    faults may strike, `able` the bits of those that may, `sweep`: in each round every capacitor of a group is read.
    """

    full: tuple[int, ...] = (300,)
    bleeders: tuple[Literal["quick", "slow", "none"], ...] = ("quick",)
    joined: bool = False
    never: bool = False
    sweep: bool = True
    budget: int = 2
    able: int = (1 << len(FAULTS)) - 1

    @property
    def linked(self) -> int:
        """The capacitor that the link goes on: the one without the clip, or, before any mains, the only one."""
        return 0 if self.never else 1 if len(self.full) > 1 else OFF


class World(NamedTuple):
    """How it stands. `knob` is where the meter's switch really is while it is not at what was `asked`.

    `clip` and `link` are the number of the capacitor that each is on, or OFF, or NOWHERE; `bench_v` the volts of a
    capacitor that is not fitted yet, `fitted` that it was fitted charged.
    """

    volts: tuple[int, ...]
    plug: bool = True
    switch: bool = True
    hot: bool = False
    clip: int = OFF
    conducts: bool = True
    link: int = OFF
    link_conducts: bool = True
    bench_v: int = 0
    fitted: bool = False
    asked: str = ""
    knob: str = ""
    struck: int = 0


def start(bench: Bench) -> World:
    """Live and charged, or with what salvaged capacitors brought."""
    if bench.never:
        return World(bench.full, plug=False, switch=False)
    return World(bench.full)


def danger(bench: Bench, world: World) -> str:
    """What hands that are in now would meet; "" for nothing.

    A capacitor that the clip drains holds a charge for a moment only.
    """
    if world.plug:
        return "mains"
    if world.fitted:
        return "a charge"
    shares = [v / full for v, full in zip(world.volts, bench.full, strict=True) if v >= THRESHOLD_V]
    if not shares:
        return ""
    return "a charge" if max(shares) > CREEPS_MORE else "part of a charge"


def as_bad(met: str, as_: str) -> bool:
    """Is what was `met` as bad as the other?"""
    return bool(met) and (met == as_ or met != "part of a charge")


def arrives(bench: Bench, world: World) -> Iterator[World]:
    """The capacitor on the bench as it came; a salvaged one may be charged."""
    yield world
    if not world.struck & SALVAGED and may(bench, world, SALVAGED):
        yield struck(world, SALVAGED, bench_v=80)


def may(bench: Bench, world: World, fault: int) -> bool:
    """May `fault` show now: it has struck before, or there is room for another one?"""
    if world.struck & fault:
        return True
    return bool(bench.able & fault) and world.struck.bit_count() < bench.budget


def struck(world: World, fault: int, **changes: object) -> World:
    return world._replace(struck=world.struck | fault, **changes)


# --- time ---


def tick(bench: Bench, world: World) -> Iterator[World]:
    """A stretch of time: long enough for the clip, half of what a quick bleeder needs."""
    if world.plug and world.switch:
        volts = _full(bench, world)
        yield world._replace(volts=volts)
        yield world._replace(volts=volts, hot=True)
        return
    whole = bench.joined and not world.struck & PATH
    for volts in product(*(_falls(bench, world, n) for n in range(1 if whole else len(bench.full)))):
        yield world._replace(volts=volts * 2 if whole else volts, hot=False)
    if may(bench, world, CREEPS):
        for n, full in enumerate(bench.full):
            crept = int(CREEPS_MORE * full)
            left_open = not drained(bench, world, n) and bleeder(bench, world, n) != "quick"
            if world.volts[n] < crept and left_open:
                yield struck(world, CREEPS, volts=_with(bench, world, n, crept), hot=False)


def power(bench: Bench, world: World) -> World:
    """Plug in and switch on."""
    return world._replace(plug=True, switch=True, volts=_full(bench, world))


def discharge(bench: Bench, world: World, n: int) -> World:
    """A resistor held across capacitor `n` for as long as it takes."""
    return world._replace(volts=_with(bench, world, n, 0))


def _full(bench: Bench, world: World) -> tuple[int, ...]:
    """The volts under power; nothing reaches what stands behind an open path."""
    return (bench.full[0], world.volts[1]) if bench.joined and world.struck & PATH else bench.full


def _with(bench: Bench, world: World, n: int, volts: int) -> tuple[int, ...]:
    """The volts with those of capacitor `n`, and of what a sound path joins to it."""
    if bench.joined and not world.struck & PATH:
        return (volts, volts)
    return (*world.volts[:n], volts, *world.volts[n + 1 :])


def _falls(bench: Bench, world: World, n: int) -> Iterator[int]:
    """The volts that capacitor `n` may have after a tick without power."""
    now, crept = world.volts[n], int(CREEP * bench.full[n])
    if drained(bench, world, n):
        yield 0
        return
    apart = bench.joined and n == 1 and world.struck & PATH
    if world.hot and not (n == 0 and world.struck & FUSE) and not apart:
        yield now // 100
        return
    match bleeder(bench, world, n):
        case "quick":
            yield now // 10
        case "slow":
            yield now
            yield now // 10
        case _:
            yield now
            if now < crept:
                yield crept


def bleeder(bench: Bench, world: World, n: int) -> str:
    """The bleeder that is really there for capacitor `n`."""
    if bench.joined and n == 1:
        return "none" if world.struck & PATH else bleeder(bench, world, 0)
    gone = BLEEDER | FUSE if n == 0 else BLEEDER_2
    return "none" if world.struck & gone else bench.bleeders[n]


def drained(bench: Bench, world: World, n: int) -> bool:
    """Does a clip or link drain capacitor `n`, by itself or through a sound path?"""
    whole = bench.joined and not world.struck & PATH
    on = (world.clip if world.conducts else OFF), (world.link if world.link_conducts else OFF)
    return n in on or (whole and max(on) >= 0)


def strikes(bench: Bench, world: World) -> Iterator[World]:
    """What may fail by itself at any moment."""
    for fault, here in (
        (BLEEDER, True), (FUSE, True), (BLEEDER_2, len(bench.full) > 1 and not bench.joined), (PATH, bench.joined),
    ):  # fmt: skip
        if here and not world.struck & fault and may(bench, world, fault):
            yield struck(world, fault)
    if world.clip >= 0 and may(bench, world, SLIPS):
        yield struck(world, SLIPS, clip=OFF)
    if world.clip >= 0 and world.conducts and may(bench, world, OPEN_CLIP):
        yield struck(world, OPEN_CLIP, conducts=False)
    if world.link >= 0 and may(bench, world, LINK_SLIPS):
        yield struck(world, LINK_SLIPS, link=OFF)
    if world.link >= 0 and world.link_conducts and may(bench, world, OPEN_LINK):
        yield struck(world, OPEN_LINK, link_conducts=False)


# --- the meter ---


def meter(
    bench: Bench, world: World, asks: str, true: float, place: str = "source"
) -> Iterator[tuple[World, float | None]]:
    """What the meter may show where `true` is to be read on "dc", "ac" or "ohm"; None: it shows that it is not set so.

    `place` is "source", "reservoir" or "mains".
    """
    if world.knob and world.asked != asks:
        world = world._replace(asked="", knob="")
    seen = _shows(world, asks, true)
    yield world, seen
    if world.knob == "ohm":
        yield world._replace(knob="", asked=""), None
    if seen == 0:
        return
    for fault, change, shown in (
        (ASLEEP, "", 0.0),
        (DIES, "", 0.0),
        (KNOB, "volts", 0.0),
        (OHMS, "ohm", 0.0),
        (SWAPPED, "", -seen),
        (UNTOUCHED, "", 0.0),
        (UNTOUCHED_MAINS, "", 0.0),
    ):
        if may(bench, world, fault) and _fits(world, fault, asks, place):
            yield (struck(world, fault, knob=change, asked=asks) if change else struck(world, fault)), shown


def _shows(world: World, asks: str, true: float) -> float:
    if world.struck & (DEAD | DIES) or world.knob:
        return 0.0
    return -true if world.struck & SWAPPED and asks == "dc" else true


def _fits(world: World, fault: int, asks: str, place: str) -> bool:
    """Can `fault` show in this reading? The knob is left wrong once; what was swapped stays so."""
    if fault in (KNOB, OHMS):
        return asks != "ohm" and not world.struck & fault
    if fault == SWAPPED:
        return asks == "dc" and not world.struck & fault
    if fault == UNTOUCHED:
        return place == "reservoir" and asks == "dc"
    return place == "mains" if fault == UNTOUCHED_MAINS else True


# --- names ---


def names(struck_: int) -> frozenset[str]:
    """The faults of a mask."""
    return frozenset(name for name, bit in FAULTS.items() if struck_ & bit)


def bits(names_: frozenset[str]) -> int:
    """The mask of faults."""
    return sum(FAULTS[name] for name in names_)
