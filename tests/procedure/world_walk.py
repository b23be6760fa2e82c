"""Procedure and world together: every answer, every way of nature, every moment at which a fault may strike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from math import inf, nan
from typing import Generic, TypeVar

from benchtui.procedure import events as e
from benchtui.procedure.ask import Ask, ask
from benchtui.procedure.plan import Link, Ohms, Phase, Plan, Point, Rail, Reservoir
from benchtui.procedure.state import Mode, State
from tests.procedure import world as w
from tests.procedure.explore import take
from tests.procedure.seen import TICK
from tests.procedure.small import CLIP, FIT, SETTINGS
from tests.procedure.world import Bench, World
from tests.procedure.world_builder import answers, besides

T = TypeVar("T")

Node = tuple[int, int]
"""Two numbers: of a state of the procedure and of a world, or of a world and of what is typed."""


@dataclass
class Walked:
    """What was found: states, transitions, modes met, faults that struck, and by faults what hands met at worst."""

    states: int = 0
    transitions: int = 0
    modes: set[Mode] = field(default_factory=set)
    struck: int = 0
    danger: dict[frozenset[str], str] = field(default_factory=dict)
    stories: dict[frozenset[str], tuple[str, ...]] = field(default_factory=dict)

    def least(self) -> dict[frozenset[str], str]:
        """What hands met, without what fewer of the same faults do as well."""
        return {
            faults: met
            for faults, met in self.danger.items()
            if not any(less < faults and w.as_bad(self.danger[less], met) for less in self.danger)
        }


class Numbered(Generic[T]):
    """Things by number, each once: pairs of small numbers are compared much faster."""

    def __init__(self) -> None:
        self.all: list[T] = []
        self._numbers: dict[T, int] = {}

    def __call__(self, thing: T) -> int:
        n = self._numbers.setdefault(thing, len(self.all))
        if n == len(self.all):
            self.all.append(thing)
        return n


class Together:
    """The real procedure and a bench; each step of either is worked out once, though many meet it."""

    def __init__(self, bench: Bench, plan: Plan) -> None:
        self.bench, self.plan = bench, plan
        self.states: Numbered[State] = Numbered()
        self.worlds: Numbered[World] = Numbered()
        self.given: Numbered[object] = Numbered()
        self._prompts: Numbered[tuple[Ask, Mode, int]] = Numbered()
        self._prompt: dict[int, int] = {}
        self._steps: dict[Node, int] = {}
        self._nature: dict[int, tuple[tuple[int, ...], tuple[int, ...]]] = {}
        self._ways: dict[Node, tuple[Node, ...]] = {}

    def step(self, n: int, given: int) -> int:
        """The state after what was typed in state `n`."""
        to = self._steps.get((n, given))
        if to is None:
            to = self._steps[n, given] = self.states(take(self.plan, self.states.all[n], self.given.all[given]))
        return to

    def nature(self, m: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """The worlds after something failed in world `m`, and those after a stretch of time."""
        found = self._nature.get(m)
        if found is None:
            world = self.worlds.all[m]
            failed = tuple(self.worlds(each) for each in w.strikes(self.bench, world))
            found = self._nature[m] = failed, tuple(self.worlds(each) for each in w.tick(self.bench, world))
        return found

    def prompt(self, n: int) -> tuple[Ask, Mode, int]:
        """What is asked in state `n`, in which mode and phase. Many states ask the same."""
        return self._prompts.all[self._asked(n)]

    def _asked(self, n: int) -> int:
        number = self._prompt.get(n)
        if number is None:
            state = self.states.all[n]
            asked = replace(ask(self.plan, state), k=0, n=0, wait_s=None)
            number = self._prompt[n] = self._prompts((asked, state.mode, state.phase))
        return number

    def ways(self, n: int, m: int) -> tuple[Node, ...]:
        """What the builder may do and type: the world then, and what is typed."""
        prompt = self._asked(n)
        ways = self._ways.get((m, prompt))
        if ways is None:
            state, world, asked = self.states.all[n], self.worlds.all[m], self._prompts.all[prompt][0]
            found = (*answers(self.bench, self.plan, state, asked, world), *besides(state, world))
            ways = tuple((self.worlds(after), self.given(given)) for after, given in found if given != TICK)
            self._ways[m, prompt] = ways
        return ways

    def after(self, n: int, m: int) -> Iterator[Node]:
        """Everything that may come next to state `n` and world `m`."""
        failed, later = self.nature(m)
        for each in failed:
            yield n, each
        tick = self.step(n, self.given(TICK))
        for each in later:
            yield tick, each
        powered = self.states.all[n].mode is Mode.POWERED
        for each, given in self.ways(n, m):
            to = self.step(n, given)
            if powered and self._ends(to, given):
                each = self.worlds(self.worlds.all[each]._replace(switch=False))
            yield to, each

    def _ends(self, to: int, given: int) -> bool:
        """Has power ended, so that the builder switches off as he is told? A killed program tells nothing."""
        return self.states.all[to].mode is Mode.OFF_GATE and type(self.given.all[given]) is not e.Restarted


#: HT+ to chassis by the bleeder of the first reservoir: the window before the cover goes on.
_OHMS = {"quick": (40e3, 50e3, 60e3), "slow": (8e5, 1e6, 1.2e6), "none": (22e3, nan, inf)}

#: Ticks until a bleeder has brought its reservoir under the threshold, valves cold.
_SLOWEST = {"quick": 2.0, "slow": 9.0, "none": inf}


def bringup(bench: Bench, kinds: tuple[str, ...]) -> Plan:
    """The plan of a bench: phases of `kinds`, of which the first fits a capacitor; HT is read in each with power."""
    listed = bench.bleeders[:1] if bench.joined else bench.bleeders
    reservoirs = tuple(
        Reservoir(f"C{n}", f"C{n}", "plus", "chassis", 0.0, 300.0, 2.0, _SLOWEST[by], by != "none")
        for n, by in enumerate(listed, 1)
    )
    ht = Point("ht", "HT", "dc", "V", "HT+", "chassis")
    links = tuple(Link(f"C{n}", "plus", "chassis", clipped=n == 1) for n, _ in enumerate(bench.full, 1))
    hands = Phase("hands", "", "hands", reservoirs, CLIP, links)
    power = replace(
        hands, kind="power", points=(ht,), rails=tuple(Rail(r.id, r.name, r.red, r.black) for r in reservoirs),
        ohms=Ohms("HT+", "chassis", *_OHMS[bench.bleeders[0]]), ht=ht, watch="ht", limited=("ht",),
    )  # fmt: skip
    phases = [replace(power if kind == "power" else hands, id=f"{kind} {n}", stage=f"stage {(n + 1) // 2}")
              for n, kind in enumerate(kinds)]  # fmt: skip
    phases[0] = replace(phases[0], steps=(FIT,))
    return Plan(replace(SETTINGS, look_s=2.0), tuple(phases), (207.0, 253.0), "captive lead", trim_marks_s=())


def walk(bench: Bench, kinds: tuple[str, ...] = ("hands", "power")) -> Walked:
    """Breadth first through a whole bring-up, from a chassis that is live and charged (`never`: from one that met no
    mains, and holds what salvaged capacitors brought). It goes no further where hands are in danger.
    """
    both, found = Together(bench, bringup(bench, kinds)), Walked()
    begin = both.states(take(both.plan, State(), e.SaidNever() if bench.never else e.SaidMet()))
    first = w.start(bench)
    starts = [first, *([w.struck(first, w.DEAD)] if w.may(bench, first, w.DEAD) else [])]
    queue: list[Node] = [(begin, both.worlds(each)) for each in starts]
    before: dict[Node, Node | None] = dict.fromkeys(queue)
    lost: list[int] = []
    for node in queue:
        state, world = both.states.all[node[0]], both.worlds.all[node[1]]
        if any(not bits & ~world.struck for bits in lost):
            continue
        found.modes.add(state.mode)
        found.struck |= world.struck
        met = w.danger(bench, world) if state.mode is Mode.HANDS else ""
        if met:
            faults = w.names(world.struck)
            if not w.as_bad(found.danger.get(faults, ""), met):
                found.danger[faults], found.stories[faults] = met, _story(both, before, node)
                lost += [world.struck] if w.as_bad(met, w.WORST) else []
            continue
        for to in both.after(*node):
            found.transitions += 1
            if to not in before:
                before[to] = node
                queue.append(to)
    found.states = len(before)
    return found


def _story(both: Together, before: dict[Node, Node | None], node: Node) -> tuple[str, ...]:
    """How it came to this: at each step the question and how it stood."""
    lines: list[str] = []
    at: Node | None = node
    while at is not None:
        lines.append(f"{both.prompt(at[0])[0].kind} in {both.states.all[at[0]].mode}, {both.worlds.all[at[1]]}")
        at = before[at]
    return tuple(reversed(lines))
