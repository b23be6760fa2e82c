"""A bring-up small enough to be walked in every way: phases hands, power, power, hands, power, short waits."""

from __future__ import annotations

from dataclasses import replace
from math import nan

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.plan import (
    WINDING,
    Clip,
    Link,
    Ohms,
    Phase,
    Plan,
    Point,
    Rail,
    Reservoir,
    Soak,
    Step,
    Trim,
    Whole,
    Winding,
    Work,
    checks,
)
from benchtui.procedure.settings import Settings
from benchtui.verdicts.expectation import Expectation, Limit
from tests.procedure.seen import TICK

SETTINGS = Settings(
    threshold_v=10.0, wait_s=2.0, wait_unbled_s=2.0, clip_s=1.0, clip_constants=5.0, look_s=1.0, early_share=0.5,
    proof_low_v=1.0, proof_high_v=60.0, live_thresholds=3.0, fallen_share=0.5, clip_near=1.3,
)  # fmt: skip

KINDS = ("hands", "power", "power", "hands", "power")
CLIP = Clip(2200.0, 2100.0, "C1")


#: A step that fits a capacitor, which may arrive charged.
FIT = Step("fit", "fit C9", "fitted", (Reservoir("C9", "C9", "plus end of C9", "minus end"),))


#: A wire that the first phase puts on.
WIRE = Step("wire a to b", "a to b", "on", makes="wire")


#: What is read again in a chassis that nobody watched.
OVER = Point("bond", "bond", "resistance", "ohm", "earth", "chassis", "bond")


#: What is read from outside before a soak.
TOUCH = Point("touch", "touch", "resistance", "ohm", "earth", "knob", "bond")

#: Two rounds of readings, two seconds apart, and a winding that is read twice within three.
SOAK = Soak((0.0, 2.0), (TOUCH,), Winding("L", "N", 2, 1.0, 3.0))

#: The same, and nobody can read a winding.
NO_WINDING = Soak(SOAK.marks_s, SOAK.outside)


def expected(point: str, guards: str | None = None) -> Expectation:
    """A window of 90 V to 110 V, stop above 150 V."""
    return Expectation(point, "dc", "V", 100.0, 90.0, 110.0, None, Limit(150.0, "too much for C1"), (), guards)


def plan(reservoirs: int, *, kinds: tuple[str, ...] = KINDS, bare: bool = True, guarded: bool = False,
         lacking: bool = False, fits: bool = False, objections: tuple[str, ...] = (),
         mains_before: bool = False, look_over: bool = False, repair: bool = False, checkup: bool = False,
         wired: bool = False, soak: Soak | bool = False) -> Plan:  # fmt: skip
    """The small plan. With no reservoir listed one stands in all the same.

    `lacking`: the instrument that proves the points of hands phases is not owned. `fits`: the first phase fits a
    capacitor, so it is not bare. `wired`: the first phase has a wire. `repair`: once it is finished it may
    stop working, `checkup`: it may be brought back though it works. `soak`: the last
    phase runs with its cover screwed on.
    """
    listed = tuple(
        Reservoir(f"C{n}", f"C{n}", "plus", "chassis", 0.0, 300.0, 2.0 if n == 1 else 0.0, 2.0, True)
        for n in range(1, reservoirs + 1)
    ) or (Reservoir("HT", "HT", "HT+", "chassis", presumed=True),)
    bare = bare and not fits
    phases = tuple(_phase(n, kind, listed, bare and n == 0, guarded) for n, kind in enumerate(kinds))
    if fits:
        phases = (replace(phases[0], steps=(FIT,)), *phases[1:])
    if wired:
        phases = (replace(phases[0], steps=(*phases[0].steps, WIRE)), *phases[1:])
    if mains_before:
        phases = tuple(replace(phase, mains_before=phase.kind == "power") for phase in phases)
    if lacking:
        phases = tuple(_lacking(phase) if phase.kind == "hands" else phase for phase in phases)
    if soak:
        phases = (*phases[:-1], replace(phases[-1], soak=SOAK if soak is True else soak))
    over = Work(points=(OVER,)) if look_over or repair or checkup else Work()
    made = Plan(
        SETTINGS, phases, (207.0, 253.0), "appliance inlet", trim_marks_s=(), objections=objections, look_over=over,
    )  # fmt: skip
    return repairable(made, ("fuse",) if repair else ()) if repair or checkup else made


def repairable(made: Plan, story: tuple[str, ...]) -> Plan:
    """The same plan, which finished has its last phase with power read as ever, but for its limited points."""
    last = next(phase for phase in reversed(made.phases) if phase.kind == "power")
    work = checks(made, last)
    return replace(made, whole=Whole(replace(last, limited=(), watch=""), work, work), story=story)


def _phase(n: int, kind: str, reservoirs: tuple[Reservoir, ...], bare: bool, guarded: bool) -> Phase:
    point = Point(f"p{n}", f"point {n}", "dc", "V", "red", "black", "grid bias" if guarded else None)
    stage = f"stage {n - 1}" if n in (1, 4) and kind == "power" else f"stage {n}"
    links = tuple(Link(r.id, r.red, r.black, clipped=r.id == "C1") for r in reservoirs if not r.presumed)
    phase = Phase(f"phase {n}", stage, kind, reservoirs, CLIP, links, bare, points=(point,))  # type: ignore[arg-type]
    if kind == "hands" or n == 4:
        return phase
    rails = (Rail("r1", "rail", "HT+", "chassis"),)
    ohms = Ohms("HT+", "chassis", 40e3, 50e3, 60e3)
    return replace(phase, rails=rails, ohms=ohms, ht=point, watch=point.id, limited=(point.id,))


def _lacking(phase: Phase) -> Phase:
    return replace(phase, points=(replace(phase.points[0], lacks="tester"),))


def read(point: str, value: float, guards: str | None = None) -> c.ReadPoint:
    return c.ReadPoint(point, f"{value:g}", value, expected(point, guards))


def judged(celsius: float, lacks: str = "") -> c.JudgeWinding:
    return c.JudgeWinding("noted", celsius, expected(WINDING), lacks)


def inputs(of: Plan) -> tuple[object, ...]:
    """Everything that can be typed, told or happen, good and bad."""
    ids = [reservoir.id for reservoir in of.phases[0].reservoirs]
    counts = range(1, len(of.phases[0].links) + 1)
    typed: list[object] = [
        e.Stopped(), e.Restarted(), e.Disturbed("sleep"), e.RecordFailed(), e.OtherHolds(), e.LeadAttached(),
        e.SaidNever(), e.SaidMet(), e.SaidBare(), e.SaidFitted(), e.PlugOut(), e.NoLead(),
        c.ProveMeter("dc", 9.0), c.ProveMeter("ac", 12.0), c.ProveMeter("dc", 0.2), c.ProveMeter("ac", nan),
        c.ReadFallen(5.0), c.ReadFallen(300.0), c.ReadMainsSide(0.3), c.ReadMainsSide(230.0),
        *(c.ReadReservoir(id, value) for id in ids for value in (-0.5, -80.0)),
        *(e.Bled(id) for id in ids), c.ReadClip(2100.0), c.ReadClip(50e3), e.ClipOff(),
        *(count(n) for n in counts for count in (c.CountLinks, c.CountLinksOff)),
        c.GoIn(), e.Looked(), e.LookFailed(), e.HandsOut(), e.BackToPower(), e.Slipped(), e.CauseFound("C2 shorted"),
        e.CauseFound(" "), e.FurtherRead("output", "R1", "220", 220.0), e.Clear(), c.SeeClip(),
        c.ReadRail("r1", 0.2), c.ReadRail("r1", 200.0), c.ReadOhms(50e3), c.ReadOhms(100.0), c.ReadOhms(2150.0),
        e.Covered("cover on"), e.PowerOn("60 W lamp"), e.PowerOn("", "known good"),
        c.SeeLimiter("dim", False, False), c.SeeLimiter("bright", True, False), c.SeeLimiter("dark", False, True),
        e.FullMains(), c.ReadMains("230", 230.0),
        c.ReadHt(300.0), c.GoOn(), e.PoweredDown(), e.Finished(),
    ]  # fmt: skip
    if any(step.capacitors for phase in of.phases for step in phase.steps):
        typed += [c.ReadCapacitor("C9", -0.2), c.ReadCapacitor("C9", 80.0), e.StepDone("fit", "fitted")]
    if of.look_over.points:
        typed += [e.Unwatched("moved"), *(read(OVER.id, value, OVER.guards) for value in (100.0, 80.0))]
    if any(phase.mains_before for phase in of.phases):
        typed += [c.ReadMains("200", 200.0), c.ReadHt(5.0), e.PowerOn("", " ")]
    if of.whole and not of.story:
        typed += [e.BroughtBack()]
    if of.story:
        typed += [e.BrokeDown(), e.CauseOpen(), e.CauseFound("C2 shorted", ("C2",))]
        typed += [e.Told("fuse", "F1", (), ("fuse",))]
        typed += [e.Retest(("C2",), again, spared) for again in ((), _cold(of)) for spared in ((), _hot(of))]
    if any(phase.soak for phase in of.phases):
        typed += [e.Covered("last screw"), e.FinishedShut(), e.WindingLeft("no time"), c.ReadRoom(20.0)]
        typed += [c.ReadWinding("10", 10.0), e.Accepted(WINDING, "known"), e.Accepted(WINDING, " ")]
        typed += [judged(value) for value in (100.0, 80.0, 200.0)] + [judged(100.0, "a finer meter")]
        typed += [read(TOUCH.id, value, TOUCH.guards) for value in (100.0, 80.0, 200.0)]
    if of.objections:
        typed += [c.Overrule("measured"), c.Overrule(" ")]
    return (*typed, TICK)


#: What is typed where something is exchanged to find a fault; in plans of their own, since any state may be in it.
EXCHANGES = (e.Exchanged("V2 and V3 exchanged", "p1"), e.PutBack())


#: What is typed of a wire, where there is one.
WIRES = (e.Made((WIRE.id,), "on"), e.Undone((WIRE.id,)))


def _cold(of: Plan) -> tuple[str, ...]:
    """The points that a repair reads without power, by id."""
    return tuple(point.id for point in of.whole.checks.points) if of.whole else ()


def _hot(of: Plan) -> tuple[str, ...]:
    """Those that it reads with power."""
    return tuple(point.id for point in of.whole.power.points) if of.whole else ()


def readings(of: Plan, phase: int) -> tuple[object, ...]:
    """Readings of the phase's point that pass, warn and stop, the warn accepted with and without a reason, and a
    reading of the next phase's point."""
    here, there = of.phases[phase].points[0], of.phases[(phase + 1) % len(of.phases)].points[0]
    own = tuple(read(here.id, value, here.guards) for value in (100.0, 80.0, 200.0))
    checks = [each for each in of.phases[:phase] if each.stage == of.phases[phase].stage]
    own += tuple(read(each.points[0].id, value) for each in checks for value in (100.0, 200.0))
    return (*own, e.Accepted(here.id, "measured"), e.Accepted(here.id, " "), read(there.id, 100.0, there.guards))


#: A plan with everything in it, for tests of single things.
def full_plan() -> Plan:
    """Hands with steps and points, then power with trims, settling and a watch point."""
    base = plan(2, kinds=("hands", "power"), bare=False)
    hands = replace(base.phases[0], steps=(Step("s1", "fit R1", "fitted"), Step("s2", "look", "seen")))
    trims = (Trim("t1", "R40", "b1", False), Trim("t2", "R41", "b2", True))
    bias = tuple(Point(f"b{n}", f"bias {n}", "dc", "V", "red", "black") for n in (1, 2))
    power = replace(base.phases[1], trims=trims, points=(*base.phases[1].points, *bias), settle_s=60.0)
    return replace(base, phases=(hands, power), trim_marks_s=(120.0, 600.0, 1800.0))
