"""The plan of a bring-up: what the session makes from build and forecast, in plain data that never changes.

A design stage becomes one or two phases: a bench or cold stage is one `hands` phase, a powered stage a
`hands` phase (wire and inspect) and a `power` phase (first power to power down). The gate knows phases only.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import Literal, NamedTuple

from benchtui.procedure.settings import Settings


@dataclass(frozen=True, slots=True)
class Step:
    """Something to do or to look at; `says` is the word that states it is so.

    `capacitors` are fitted by it and may arrive charged: each is read on the bench first, under the threshold.
    `check`: something to look at, which is looked at again after an alarm. `makes`: a wire or a hole, which stays made
    through STOP and from stage to stage, until it is told to be undone; its id begins with that word. `printed`: `says`
    is printed on it and not shown, so that it is read there.
    """

    id: str
    text: str
    says: str
    capacitors: tuple[Reservoir, ...] = ()
    check: bool = False
    makes: Literal["", "wire", "hole"] = ""
    printed: bool = False


@dataclass(frozen=True, slots=True)
class Point:
    """A reading of a phase. A warn at a guarded one is never accepted.

    `lacks` is the instrument that would prove it and that is not owned: a good reading is then no pass. `computed`: the
    build file does not list it, it was found to be needed. `test`: what kind of signal test it is.
    """

    id: str
    name: str
    quantity: str
    unit: str
    red: str
    black: str
    guards: str | None = None
    lacks: str = ""
    computed: bool = False
    test: str = ""


@dataclass(frozen=True, slots=True)
class Bleed:
    """How long a reservoir is drained through the clip's resistor, and (`says`) what else that drains."""

    seconds: float
    says: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Reservoir:
    """A charge that may be held: one reading in each round.

    `fastest_s` is the fall to the threshold with hot valves after the phase just powered (0: not known, no
    reading is too soon), `slowest_s` with cold ones (inf without a bleeder).
    `presumed`: none is fitted, and this one is read where it will be, so that no gate is empty. `parts`: the
    capacitors of a group, each of which is read, since a path between them may be open; the largest is typed.
    """

    id: str
    name: str
    red: str
    black: str
    farad: float = 0.0
    highest_v: float = inf
    fastest_s: float = 0.0
    slowest_s: float = inf
    bled: bool = False
    bleed: Bleed | None = None
    presumed: bool = False
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Link:
    """A bleed link: the clip's resistor with two clips, across capacitor `id` while hands are in.

    `clipped`: the bleed clip is across this one, so it needs a link only where there is no clip. `new`: a step of this
    very phase fits the capacitor, so it may not be in yet.
    """

    id: str
    red: str
    black: str
    clipped: bool = False
    new: bool = False


@dataclass(frozen=True, slots=True)
class Rail:
    """A place that is read with probes only before the cover goes on."""

    id: str
    name: str
    red: str
    black: str


@dataclass(frozen=True, slots=True)
class Ohms:
    """HT+ to chassis before the cover goes on: the window, and what the clip itself makes it read."""

    red: str
    black: str
    low: float
    nominal: float
    high: float


@dataclass(frozen=True, slots=True)
class Clip:
    """The bleed clip: its resistor, what HT+ to chassis reads with it on, and where it is clipped.

    `part` is the capacitor there where it may not be fitted yet.
    """

    ohm: float
    reads_ohm: float
    at: str
    part: str = ""


@dataclass(frozen=True, slots=True)
class Trim:
    """A pot that is trimmed in a power phase to the reading at `point`."""

    id: str
    pot: str
    point: str
    inside: bool


#: The point under which the temperature of the mains winding is told.
WINDING = "winding temperature"


@dataclass(frozen=True, slots=True)
class Winding:
    """The mains winding, read in ohms at the inlet's pins: cold before the soak, and again as it cools.

    `count` readings are due then, over `span_s` at least; after `latest_s` they tell nothing any more.
    """

    red: str
    black: str
    count: int
    span_s: float
    latest_s: float


@dataclass(frozen=True, slots=True)
class Soak:
    """A phase with power that runs with its cover screwed on, so that nothing inside is read.

    `outside` is read in its closing, after the last screw. `marks_s`: seconds of full mains at which each point of the
    phase is read, the last being the end.
    """

    marks_s: tuple[float, ...]
    outside: tuple[Point, ...] = ()
    winding: Winding | None = None


@dataclass(frozen=True, slots=True)
class Phase:
    """One stretch of the work, in which either hands or power may be in the chassis, never both.

    `reservoirs` are those of a gate opened in this phase, `links` one for each pair of ends there that may hold a
    charge; `rails`, `ohms` and `loose` belong to a closing
    that ends in this phase's power. `ht` is the point that stays on the meter at power-down, `watch` the id of
    the one that is read while it settles, `limited` those that are read under the limiter, in order.
    `mains_before`: mains is read at an outlet before power, so that the meter need not leave the watch point while
    cathodes warm.
    """

    id: str
    stage: str
    kind: Literal["hands", "power"]
    reservoirs: tuple[Reservoir, ...]
    clip: Clip
    links: tuple[Link, ...] = ()
    bare: bool = False
    steps: tuple[Step, ...] = ()
    points: tuple[Point, ...] = ()
    rails: tuple[Rail, ...] = ()
    ohms: Ohms | None = None
    loose: tuple[str, ...] = ()
    load: str = ""
    ht: Point | None = None
    watch: str = ""
    limited: tuple[str, ...] = ()
    mains_before: bool = False
    settle_s: float = 0.0
    trims: tuple[Trim, ...] = ()
    soak: Soak | None = None
    wires: frozenset[str] = field(init=False, repr=False, compare=False)
    """Ids of the steps that put a wire on: looked at for every picture, so found once."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "wires", frozenset(step.id for step in self.steps if step.makes == "wire"))

    @property
    def readings(self) -> tuple[Point, ...]:
        """Its points, and what is read from outside before a soak."""
        return (*self.points, *(self.soak.outside if self.soak else ()))


class Work(NamedTuple):
    """Steps and points that are due."""

    steps: tuple[Step, ...] = ()
    points: tuple[Point, ...] = ()

    @property
    def ids(self) -> frozenset[str]:
        """Of all of them."""
        return frozenset(step.id for step in self.steps) | frozenset(point.id for point in self.points)


class Whole(NamedTuple):
    """The finished amplifier as it is read in a repair: the last phase with power, and its checks before without.

    `before`: what of these a check-up makes, of an amplifier that works and that nobody has wired at.
    """

    power: Phase
    checks: Work
    before: Work = Work()


@dataclass(frozen=True, slots=True)
class Plan:
    """The whole bring-up. Every phase names at least one reservoir: there is no empty gate.

    `meter_v` is the most that the meter can show. `objections` speak against power at all: before a phase has it for
    the first time each must be overruled. `look_over` is what is looked at and read, hands in, before a chassis that
    nobody watched has power again. `whole` is the finished amplifier in a repair or a check-up, None where nothing has
    power, and `story` what is asked at the beginning of a repair.
    """

    settings: Settings
    phases: tuple[Phase, ...]
    mains_v: tuple[float, float]
    inlet: str
    meter_v: float = inf
    trim_marks_s: tuple[float, ...] = (120.0, 600.0, 1800.0)
    objections: tuple[str, ...] = ()
    look_over: Work = Work()
    whole: Whole | None = None
    story: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.phases:
            raise ValueError("a plan without a phase leads nowhere")
        for phase in self.phases:
            if not phase.reservoirs:
                raise ValueError(f"phase {phase.id} lists no reservoir; a gate must read at least one")


def made_steps(phases: tuple[Phase, ...]) -> dict[str, Step]:
    """Every step of `phases` that makes something, by its id."""
    return {step.id: step for phase in phases for step in phase.steps if step.makes}


def always_read(phase: Phase) -> frozenset[str]:
    """The points of `phase` that are never left out, whatever else is: those that guard something, watch or limit."""
    guarded = frozenset(point.id for point in phase.points if point.guards is not None)
    return guarded | {phase.watch, *phase.limited}


def checks(plan: Plan, phase: Phase) -> Work:
    """Looks and readings of the work without power in the stage of `phase`: what is due again after an alarm."""
    same = [each for each in plan.phases if each.stage == phase.stage and each.kind == "hands"]
    steps = tuple(step for each in same for step in each.steps if step.check)
    return Work(steps, tuple(point for each in same for point in each.points))


def links_due(phase: Phase, *, never: bool) -> tuple[Link, ...]:
    """The links that stand across a charge while hands are in: all that the clip does not drain, and, in a chassis that
    `never` met mains, which has no clip, all.
    """
    return phase.links if never else tuple(link for link in phase.links if not link.clipped)


def wait_s(plan: Plan, phase: Phase) -> float:
    """Seconds between the two rounds: short only if every reservoir has a bleeder that is quick enough."""
    quick = all(r.bled and r.slowest_s <= plan.settings.wait_s for r in phase.reservoirs)
    return plan.settings.wait_s if quick else plan.settings.wait_unbled_s


def clip_s(plan: Plan, phase: Phase) -> float:
    """Seconds that the clip must be on: some time constants of its resistor and the largest reservoir."""
    largest = max(reservoir.farad for reservoir in phase.reservoirs)
    return max(plan.settings.clip_s, plan.settings.clip_constants * phase.clip.ohm * largest)
