"""Long random work on a larger plan, the watcher beside it, and the record's own form of every event in between."""

from __future__ import annotations

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.ask import ask, gate_items
from benchtui.procedure.codec import decode, encode
from benchtui.procedure.decide import Refusal, decide, fold, tick
from benchtui.procedure.guards import due_links
from benchtui.procedure.state import Mode, State
from tests.procedure.explore import take
from tests.procedure.monitor import Monitor
from tests.procedure.seen import TICK, Move, Seen
from tests.procedure.small import inputs, plan, read, readings
from tests.record.counts import count

PLAN = plan(4, kinds=("hands", "power", "hands", "power", "power", "hands", "power"), fits=True, lacking=True)

#: By phase.
ANYTHING = [st.sampled_from((*inputs(PLAN), *readings(PLAN, n))) for n in range(len(PLAN.phases))]


class Bringup(RuleBasedStateMachine):
    """Anything at all, and beside it the next useful thing, or deep states are hardly met."""

    def __init__(self) -> None:
        super().__init__()
        self.state, self.replayed, self.seen = State(), State(), Seen()
        self.monitor = Monitor(PLAN)

    @initialize()
    def met(self) -> None:
        self.take(e.SaidFitted())
        self.take(e.SaidMet())

    def take(self, given: object) -> None:
        before = self.state
        self.state = take(PLAN, before, given)
        self._replay(before, given)
        move = Move(self.seen, before.mode, before.phase, given, self.state.mode, self.state.phase)
        self.seen, broken, asked = self.monitor.watch(move)
        broken += self.monitor.shown(asked, self.state) + self.monitor.standing(self.state, self.seen)
        assert not broken, [str(rule) for rule in broken]

    def _replay(self, before: State, given: object) -> None:
        """The same through the record's form of each event; time, which no record holds, is let run on."""
        if given is TICK:
            self.replayed = tick(PLAN, self.replayed, 1.0)
            return
        events = decide(PLAN, before, given)  # type: ignore[arg-type]
        for event in () if isinstance(events, Refusal) else events:
            unrecorded = isinstance(event, e.OtherHolds | e.RecordFailed)
            self.replayed = fold(PLAN, self.replayed, event if unrecorded else decode(*encode(event)))

    @rule(data=st.data())
    def anything(self, data: st.DataObject) -> None:
        self.take(data.draw(ANYTHING[self.state.phase]))

    @rule(times=st.integers(1, 12))
    def what_is_asked(self, times: int) -> None:
        for _ in range(times):
            self.take(_answer(self.state))

    @invariant()
    def a_replay_gives_the_same_state(self) -> None:
        assert self.replayed == self.state

    @invariant()
    def with_hands_in_every_item_was_done(self) -> None:
        if self.state.mode is Mode.HANDS:
            assert all(item.done for item in gate_items(PLAN, self.state))


def _answer(state: State) -> object:
    """What a builder with sound parts answers to the present question."""
    now = ask(PLAN, state)
    point = next((each.id for each in state.due(PLAN).points), "")
    answers: dict[str, object] = {
        "bare": e.SaidFitted(), "met mains": e.SaidMet(), "plug": e.PlugOut(), "no lead": e.NoLead(),
        "proof dc": c.ProveMeter("dc", 9.0), "proof dc again": c.ProveMeter("dc", 9.0),
        "proof ac": c.ProveMeter("ac", 12.0), "proof ac again": c.ProveMeter("ac", 12.0),
        "fallen": c.ReadFallen(5.0), "mains side": c.ReadMainsSide(0.1), "bleed": e.Bled(now.subject),
        "round 1": c.ReadReservoir(now.subject, 0.2), "round 2": c.ReadReservoir(now.subject, 0.2),
        "look": e.Looked(), "clip": c.ReadClip(2100.0), "links": c.CountLinks(len(due_links(PLAN, state))),
        "links off": c.CountLinksOff(state.links_on),
        "hands in": c.GoIn(), "finish": e.Finished(), "go on": c.GoOn(),
        "hands out": c.GoOn() if state.at(PLAN).kind == "hands" else e.HandsOut(), "clip off": e.ClipOff(),
        "clear": e.Clear(), "found": e.CauseFound("a whisker"),
        "rail": c.ReadRail(now.subject, 0.1), "ohms": c.ReadOhms(50e3),
        "cover": e.Covered("cover on"), "power on": e.PowerOn("60 W lamp"),
        "limiter": c.SeeLimiter("dim", False, False),
        "full mains": e.FullMains(), "mains": c.ReadMains("230", 230.0), "ht live": c.ReadHt(300.0),
        "switch off": c.GoOn(), "point": read(point, 100.0), "warned": e.Accepted(point, "measured"),
        "capacitor": c.ReadCapacitor(now.subject, 0.2), "capacitor charged": c.ReadCapacitor(now.subject, 0.2),
        "step": e.StepDone(now.subject, "fitted"), "limited point": read(point, 100.0), "halt": e.Restarted(),
        "readonly": e.Restarted(),
    }  # fmt: skip
    return answers.get(now.kind, TICK)


Bringup.TestCase.settings = settings(max_examples=count(short=100, full=2000), stateful_step_count=60)
TestBringup = Bringup.TestCase
