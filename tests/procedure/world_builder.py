"""An honest but hasty builder beside the procedure: does what is asked, types what the meter shows, waits no longer.

Each function gives every way in which one prompt may be answered: the world after his acts, and what is told to the
procedure (NOTHING, since the meter shows that it is set wrong).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import inf, nan

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.ask import Ask
from benchtui.procedure.guards import due_links
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode, State
from benchtui.verdicts.expectation import Expectation, Limit
from tests.procedure import world as w
from tests.procedure.seen import TICK
from tests.procedure.world import Bench, World

NOTHING = e.Noted("")
"""Typed where nothing can be: the procedure takes a note, which changes nothing."""

BLEEDER_OHM = {"quick": 50e3, "slow": 1e6, "none": inf}
CLIP_OHM = 2100.0

Ways = Iterator[tuple[World, object]]
Answer = Callable[[Bench, Plan, State, Ask, World], Ways]


def answers(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    """Every answer to what is asked."""
    answer = _ANSWERS.get(asked.kind)
    if answer is not None:
        yield from answer(bench, plan, state, asked, world)


def besides(state: State, world: World) -> Ways:
    """What may come at any moment: time, STOP, a killed program, a touched lead, and leaving the power early."""
    off = world._replace(switch=False)
    yield off, e.Stopped()
    for at in dict.fromkeys((world, off)):
        yield at, e.Restarted()
    if state.mode in (Mode.OFF_GATE, Mode.HANDS, Mode.CLOSING):
        yield world, e.Disturbed("lead")
    if state.mode is Mode.OFF_GATE:
        yield world, e.BackToPower()
        yield world, e.Slipped()
    if state.mode is Mode.POWERED:
        yield off, e.PoweredDown()


# --- acts ---


def _pulls(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    yield world._replace(plug=False), e.PlugOut()
    if world.plug and w.may(bench, world, w.WRONG_PLUG):
        yield w.struck(world, w.WRONG_PLUG), e.PlugOut()


def _bleeds(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    """Through the bleed lead, which may then be left where it is; of a group the one that read highest."""
    n = _number(plan, state, asked)
    highest = 1 if bench.joined and bench.sweep and world.volts[1] > world.volts[0] else n
    for at in _clips_on(bench, world, highest):
        drains = at.conducts and at.clip >= 0
        after = w.discharge(bench, at, at.clip) if drains else at
        yield after, e.Bled(asked.subject)
        yield after._replace(clip=w.OFF), e.Bled(asked.subject)


def _clips_on(bench: Bench, world: World, n: int) -> Iterator[World]:
    """The bleed lead from chassis to reservoir `n`, or to what is taken for it."""
    if world.struck & w.TAG:
        yield world._replace(clip=w.NOWHERE)
        return
    sound = not world.struck & w.OPEN_CLIP
    yield world._replace(clip=n, conducts=sound)
    if world.clip == n:
        return
    if w.may(bench, world, w.OPEN_CLIP):
        yield w.struck(world, w.OPEN_CLIP, clip=n, conducts=False)
    if w.may(bench, world, w.ASTRAY):
        yield w.struck(world, w.ASTRAY, clip=w.NOWHERE)
    if w.may(bench, world, w.TAG):
        yield w.struck(world, w.TAG, clip=w.NOWHERE)


def _clips(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    """A link that is still on from before comes off first: the ohms are the clip's alone."""
    for at in _clips_on(bench, world._replace(link=w.OFF), 0):
        for after, ohm in w.meter(bench, at, "ohm", _ohm(bench, at)):
            yield after, c.ReadClip(ohm)


def _links(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    for at in _links_on(bench, world, bench.linked):
        yield at, c.CountLinks(len(due_links(plan, state)))


def _links_on(bench: Bench, world: World, n: int) -> Iterator[World]:
    """The link across reservoir `n`: onto the capacitor's own ends, whatever tag was read for it.

    One that was forgotten drains as little as one astray, and neither shows in a look.
    """
    yield world._replace(link=n, link_conducts=not world.struck & w.OPEN_LINK)
    if world.link == n:
        return
    if w.may(bench, world, w.OPEN_LINK):
        yield w.struck(world, w.OPEN_LINK, link=n, link_conducts=False)
    if w.may(bench, world, w.LINK_ASTRAY):
        yield w.struck(world, w.LINK_ASTRAY, link=w.NOWHERE)


def _takes_clip_off(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    yield world._replace(clip=w.OFF, link=w.OFF), c.CountLinksOff(state.links_on) if state.links_on else e.ClipOff()


def _looks_in(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    yield world, e.Clear() if world.clip == world.link == w.OFF else c.SeeClip()


def _looks(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    """A clip that has fallen off is seen; one that does not conduct is not, nor whose plug it is that lies there."""
    there = (bench.never or world.clip != w.OFF) and (bench.linked == w.OFF or world.link != w.OFF)
    yield world, e.Looked() if there else e.LookFailed()


def _powers(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    yield w.power(bench, world), e.PowerOn("60 W lamp")


def _switches_off(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    yield world._replace(switch=False), c.GoOn()


def _fits(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    yield world._replace(fitted=world.bench_v >= w.THRESHOLD_V, bench_v=0), e.StepDone(asked.subject, "fitted")


# --- readings ---


def _number(plan: Plan, state: State, asked: Ask) -> int:
    return [reservoir.id for reservoir in state.at(plan).reservoirs].index(asked.subject)


def _volts(bench: Bench, world: World, n: int) -> Iterator[tuple[World, float | None]]:
    """DC volts at reservoir `n`, or at what is taken for it."""
    tag = world.struck & w.TAG
    yield from w.meter(bench, world, "dc", 0 if tag else world.volts[n], "reservoir")
    if not tag and world.volts[n] and w.may(bench, world, w.TAG):
        yield from w.meter(bench, w.struck(world, w.TAG), "dc", 0, "reservoir")
    if n and not bench.joined and w.may(bench, world, w.OTHER):
        yield from w.meter(bench, w.struck(world, w.OTHER), "dc", world.volts[0], "reservoir")


def _swept(bench: Bench, world: World, n: int) -> Iterator[tuple[World, float | None]]:
    """The largest of a group, each read by itself."""
    for between, one in _volts(bench, world, n):
        for after, other in _volts(bench, between, 1):
            yield after, None if one is None or other is None else max(one, other, key=abs)


def _ohm(bench: Bench, world: World) -> float:
    """HT+ to chassis, or what is taken for HT+."""
    if world.struck & w.TAG:
        return CLIP_OHM if world.clip == w.NOWHERE and world.conducts else inf
    if world.clip == 0 and world.conducts:
        return CLIP_OHM
    return BLEEDER_OHM[w.bleeder(bench, world, 0)]


def _reads(make: Callable[[Ask, float], object], asks: str, true: float, place: str = "source") -> Answer:
    """An answer that is a reading of something known."""

    def answer(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
        for after, shown in w.meter(bench, world, asks, true, place):
            yield after, NOTHING if shown is None else make(asked, shown)

    return answer


def _reads_volts(make: Callable[[Ask, float], object], first: bool = False, *, sweeps: bool = False) -> Answer:
    """An answer that is DC volts: of the reservoir asked for, or of the `first`, where HT is read."""

    def answer(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
        n = 0 if first else _number(plan, state, asked)
        read = _swept if sweeps and bench.sweep and bench.joined else _volts
        for after, shown in read(bench, world, n):
            yield after, NOTHING if shown is None else make(asked, shown)

    return answer


def _reads_mains_side(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    for after, shown in w.meter(bench, world, "ac", w.MAINS_V if world.plug else 0, "mains"):
        yield after, NOTHING if shown is None else c.ReadMainsSide(shown)


def _reads_ohms(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    for after, ohm in w.meter(bench, world, "ohm", _ohm(bench, world)):
        yield after, c.ReadOhms(ohm)


def _reads_loose(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    """The capacitor on the bench: a resistor lead goes across it, stays there until it is fitted, and it is read."""
    for at in w.arrives(bench, world):
        for joined in _joined(bench, at):
            for after, shown in w.meter(bench, joined, "dc", joined.bench_v, "reservoir"):
                yield after, NOTHING if shown is None else c.ReadCapacitor(asked.subject, shown)


def _joined(bench: Bench, world: World) -> Iterator[World]:
    """The capacitor on the bench with the lead across it; it may be the one that does not conduct."""
    if not world.struck & w.OPEN_CLIP:
        yield world._replace(bench_v=0)
    if world.bench_v and w.may(bench, world, w.OPEN_CLIP):
        yield w.struck(world, w.OPEN_CLIP)


def _point(asked: Ask, value: float) -> c.ReadPoint:
    """HT at a powered point: 300 V due, limited by its own limits alone."""
    limited = asked.kind == "limited point"
    low, high = (12.0, inf) if limited else (270.0, 330.0)
    by = Expectation(asked.subject, "dc", "V", nan if limited else 300.0, low, high, None, Limit(400.0, "too much"))
    return c.ReadPoint(asked.subject, f"{value:g}", value, by)


def _says(command: object) -> Answer:
    def answer(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
        yield world, command

    return answer


def _hands_out(bench: Bench, plan: Plan, state: State, asked: Ask, world: World) -> Ways:
    yield world, e.HandsOut() if state.at(plan).kind == "power" else c.GoOn()


_BATTERY = _reads(lambda asked, v: c.ProveMeter("dc", v), "dc", 9.0)
_LOW_AC = _reads(lambda asked, v: c.ProveMeter("ac", v), "ac", 12.0)
_RESERVOIR = _reads_volts(lambda asked, v: c.ReadReservoir(asked.subject, v), sweeps=True)
_POINT = _reads_volts(_point, first=True)

_FALLEN = _reads_volts(lambda asked, v: c.ReadFallen(v), first=True)
_RAIL = _reads_volts(lambda asked, v: c.ReadRail(asked.subject, v))
_HT_LIVE = _reads_volts(lambda asked, v: c.ReadHt(v), first=True)
_OUTLET = _reads(lambda asked, v: c.ReadMains(f"{v:g}", v), "ac", float(w.MAINS_V))

_ANSWERS: dict[str, Answer] = {
    "plug": _pulls, "no lead": _says(e.NoLead()), "proof dc": _BATTERY, "proof dc again": _BATTERY,
    "proof ac": _LOW_AC, "proof ac again": _LOW_AC, "fallen": _FALLEN, "mains side": _reads_mains_side,
    "round 1": _RESERVOIR, "round 2": _RESERVOIR, "wait": _says(TICK),
    "clip time": _says(TICK), "settle": _says(TICK), "bleed": _bleeds, "clip": _clips, "links": _links,
    "hands in": _says(c.GoIn()), "finish": _says(e.Finished()), "go on": _says(c.GoOn()), "look": _looks,
    "step": _fits, "capacitor": _reads_loose, "capacitor charged": _reads_loose, "hands out": _hands_out,
    "found": _says(e.CauseFound("a whisker")), "clip off": _takes_clip_off,
    "links off": _takes_clip_off, "clear": _looks_in, "rail": _RAIL,
    "ohms": _reads_ohms, "cover": _says(e.Covered("cover on")), "power on": _powers,
    "limiter": _says(c.SeeLimiter("dim", False, False)), "limited point": _POINT, "full mains": _says(e.FullMains()),
    "mains": _OUTLET, "point": _POINT, "warned": _POINT, "ht live": _HT_LIVE, "switch off": _switches_off,
}  # fmt: skip
