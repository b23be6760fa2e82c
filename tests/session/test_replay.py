"""A record read again is what happened: evenings with faults, STOPs, changes and breaks, from each event of theirs."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from benchtui.procedure import codec
from benchtui.procedure import events as e
from benchtui.procedure.decide import fold
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Gate, Mode, State
from tests.keys.clock import WalkClock
from tests.record.counts import count
from tests.session.made_up import BUILDS, Desk

#: What is typed beside what is asked, as it comes.
_ODD = (
    "touched", "meter changed", "moved", "clip off", "clip on", "lead on", "off", "slip", "back to power", "out", "in",
    "0.3", "12", "100", "88", "149", "151", "400", "-100", "0", "dark", "bright", "without: no lamp here", "nonsense",
    "somebody leant on it", "",
)  # fmt: skip

#: A resistor of each build, as written and as found in the drawer.
_SWAPPED = {"pp-6v6": ('"470R"', '"510R"'), "pp-el34": ('"6k8"', '"6k2"'), "se-stereo": ('"47k"', '"43k"')}


class Evening:
    """A session in which much goes wrong, and the live state after each of its events."""

    def __init__(self, build: str, seed: int, folder: Path) -> None:
        self.rng = Random(seed)
        self.path = folder / f"{build}.toml"
        self.path.write_text((BUILDS / f"{build}.toml").read_text(encoding="utf-8"), encoding="utf-8")
        self.swap = _SWAPPED[build]
        self.clock = WalkClock()
        self.desk = Desk(self.path, folder, clock=self.clock)
        self.live: dict[int, tuple[Plan, State]] = {}

    def lives(self, acts: int) -> None:
        """So many acts, most of them what is asked."""
        for _ in range(acts):
            self.desk.compute()
            act = self.rng.choices(
                (self.right, self.odd, self.stop, self.sleep, self.drop, self.leave, self.swap_part),
                (100, 6, 0.4, 0.3, 0.5, 0.3, 0.4),
            )[0]
            act()
            ledger = self.desk.session._ledger
            self.live[ledger.saved] = (ledger.plan, ledger.state)

    def right(self) -> None:
        view = self.desk.session.view()
        if view.prompt.title == "The build file has changed":
            self.desk.type(self.rng.choice(("keep", "again", "again")))
        elif view.prompt.title == "Finished":
            self.desk.type(self.rng.choice(("clip off", "checkup")))
        elif view.prompt.entry == "text":
            self.desk.type(self.rng.choice(("100", "it is so with this valve")))
        else:
            self.desk.once(view)

    def odd(self) -> None:
        self.desk.type(self.rng.choice(_ODD))

    def stop(self) -> None:
        self.desk.session.stop()

    def sleep(self) -> None:
        self.clock.sleep(self.rng.choice((5.0, 90000.0, 30 * 86400.0)))
        self.desk.session.tick()

    def drop(self) -> None:
        self.desk.drop()
        self.desk.open()

    def leave(self) -> None:
        self.desk.session.leaving("feedback lead")
        self.desk.session.leave()
        self.desk.open()

    def swap_part(self) -> None:
        self.desk.drop()
        text = self.path.read_text(encoding="utf-8")
        old, new = self.swap if self.swap[0] in text else self.swap[::-1]
        self.path.write_text(text.replace(old, new), encoding="utf-8")
        self.desk.open()


@pytest.fixture(scope="module", params=range(count(short=3, full=10)))
def evening(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Evening]:
    seed = request.param
    made = Evening(sorted(_SWAPPED)[seed % 3], seed, tmp_path_factory.mktemp("evening"))
    made.lives(acts=500)
    made.drop()
    yield made
    made.desk.drop()


def test_from_each_event_on_a_restart_finds_the_live_state_with_the_gate_emptied(evening: Evening) -> None:
    opened, replayed = evening.desk.session._ledger.plan, State()  # nothing is computed yet, as at every start
    met = set()
    for number, saved in enumerate(evening.desk.session._journal.events, start=1):
        met.add(saved.kind)
        if saved.kind in codec.KINDS:
            replayed = fold(opened, replayed, codec.decode(saved.kind, saved.data))
        if number in evening.live:
            plan, state = evening.live[number]
            again = fold(opened, replayed, e.Restarted())
            assert again == fold(plan, state, e.Restarted()), (number, saved)
            assert again.mode is Mode.DONE or (again.mode is Mode.OFF_GATE and again.gate == Gate()), (number, saved)
            assert not again.clip_off, (number, saved)
    assert len(evening.live) > 300
    assert len(met & {"stop key", "build changed", "disturbed", "reading stopped", "unwatched", "left"}) > 2


def test_a_copy_of_record_head_and_build_file_goes_on_where_the_original_is(evening: Evening, tmp_path: Path) -> None:
    other = tmp_path / "another machine"
    other.mkdir()
    for name in (evening.path.name, evening.desk.record.name, f"{evening.desk.record.name}.head"):
        shutil.copy(evening.path.with_name(name), other)
    copied = Desk(other / evening.path.name, other, clock=evening.clock)
    here, there = evening.desk.session.view(), copied.session.view()
    assert (there.stage, there.danger.word, there.stages) == (here.stage, here.danger.word, here.stages)
    assert there.saved == here.saved + 1  # that it was opened once more
    copied.drop()
