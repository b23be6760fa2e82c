"""A random walk over the keys of the app, through starts, kills and resumes of one record after the other."""

from __future__ import annotations

from pathlib import Path
from random import Random

from benchtui.procedure import events as e
from benchtui.procedure.decide import fold
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Gate, Mode, State
from benchtui.record import Journal
from benchtui.session.forecaster import Forecaster
from benchtui.session.opening import open_session
from benchtui.session.session import Session
from benchtui.session.view import View
from benchtui.tui.app import BenchApp
from tests.builds import recorded
from tests.keys.mishaps import WEIGHTS, Kind, Mishaps
from tests.keys.places import Place
from tests.keys.typist import NOT_TAKING
from tests.keys.watcher import Violation
from tests.walk import readings
from tests.walk.builder import Builder, Wait
from tests.walk.rig import Rig

#: A window in which the work goes on.
_ROOMY = (80, 24)

#: The same prompt so often without an event that moves on, and the builder begins anew.
_STUCK = 25


class Walk(Mishaps):
    """A walk on the demo build `name` in `folder`, drawn by `seed`, from one of the places that it `begins` at."""

    def __init__(
        self, name: str, folder: Path, forecaster: Forecaster, seed: int, begins: list[Place], kind: Kind | None = None
    ) -> None:
        super().__init__()
        self.name, self.seed, self.path = name, seed, folder / f"{name}.toml"
        self.rng = Random(f"{name} {seed}")
        self.kind = kind or Kind()
        wild = self.rng.choice((0.2, 0.6, 2.0))
        self.wild = wild if self.kind.wild is None else self.kind.wild
        self.starts = 0
        self.reached: set[str] = set()
        self._forecaster, self._begins = forecaster, begins
        self._begin()

    def _begin(self) -> None:
        """Lay the record of one of the places beside the build file, with the amplifier as it was there."""
        place = self.rng.choice(self._begins)
        self.log.append(f"from {place.where}")
        self.path.write_bytes((recorded.BUILDS / self.path.name).read_bytes())
        record = self.path.with_suffix(".bench")
        record.write_bytes(place.record)
        record.with_suffix(".bench.head").write_bytes(place.head)
        self.clock.pass_(place.passed_s + 3600.0)
        rig = Rig(recorded.build(self.name).build, readings.whole_volts(self.name), self.clock)
        rig.pots = dict(place.pots)
        self.builder = Builder(rig, reason="the part was measured and is as it is")
        self._before: tuple[Plan, State] | None = None
        self._same = ("", 0)
        self.over = self._finished = False

    @property
    def struck(self) -> int:
        """Keys struck by hands and held keys, without what was poured in."""
        return self.keys["hand"] + self.keys["held"]

    async def go(self, most: int) -> None:
        """Walk for `most` keys; a rule that is broken ends it with the last keys in the message."""
        try:
            with self.by_hand_alone():
                while self.struck < most:
                    await self._run(most)
                self._end()
        except Exception as error:
            last = "\n".join(self.log)
            told = f"walk {self.name} {self.seed}, after {self.struck} keys, of which the last:\n{last}"
            raise Violation(f"{error}\n{told}") from error

    # -- from start to end of the program

    async def _run(self, most: int) -> None:
        """One run of the program on the record, until it is left or killed."""
        if self._finished:
            self.watcher.forget()
            self._begin()
        if self.rng.random() < 0.04:
            self.path.write_text(self.path.read_text("utf-8") + "\n# looked at\n", "utf-8")
        other = Journal.open(self.path.with_suffix(".bench")) if self.rng.random() < 0.04 else None
        session = open_session(self.path, clock=self.clock, forecaster=self._forecaster)
        self.log.append("the program starts" + " beside another" * (other is not None))
        self.starts += 1
        self._replayed(session)
        app = BenchApp(lambda: session, clock=self.hands.clock)
        async with app.run_test(size=self.size, message_hook=self.count) as pilot:
            self.hands.app, self.hands.pilot = app, pilot
            await self._opened(session)
            until = most if other is None else min(most, self.struck + 60)
            while self.struck < until and not self.gone and not self.over:
                await self._act()
        self.over = False
        self.jobs.clear()
        state = session._ledger.state
        recording = state.mode not in (Mode.HALT, Mode.READONLY)
        self._before = (session._ledger.plan, state) if recording else None
        session.leave()
        if other is not None:
            other.close()

    def _end(self) -> None:
        """The record is opened once more, to see that it gives what was so."""
        session = open_session(self.path, clock=self.clock, forecaster=self._forecaster)
        self._replayed(session)
        session.leave()

    async def _opened(self, session: Session) -> None:
        """The session opens after the first paint, and sometimes after STOP."""
        await self.dealt_with()
        events = session._journal.events
        stopped = self.rng.random() < 0.1
        if stopped:
            self.post("f8", "hand", 0.1)
            await self.dealt_with()
        self.watcher.opened(session, events)
        await self.deliver()
        view = self.app._shown.view
        assert view is not None
        self.watcher.look(session, view, stop=stopped)

    def _replayed(self, session: Session) -> None:
        """What the record gives is what was so when the program ended."""
        now, before = session._ledger.state, self._before
        if before is None or now.mode is Mode.READONLY or session._journal.events[-1].kind != "restarted":
            return
        plan, state = before
        due = fold(plan, state, e.Restarted())._replace(gate=Gate(), hands_s=0.0, full_s=0.0)
        found = now._replace(gate=Gate(), hands_s=0.0, full_s=0.0)
        self.must(found == due, f"the record gives {found}\nlive it was {due}")

    # -- one thing after the other

    async def _act(self) -> None:
        if self.jobs and self.rng.random() < 0.8:
            await self.deliver()
        view = self.view()
        self.reached.add(f"{view.stage}: {view.danger.word}")
        if view.prompt.title == "Finished" and self.rng.random() < 0.1:
            self.over = self._finished = True
            return
        weights = [weight if name == "useful" else weight * self.wild for name, weight in WEIGHTS.items()]
        name = self.rng.choices(list(WEIGHTS), weights)[0]
        await getattr(self, name)()

    async def useful(self) -> None:
        if self.app._bench.tiny or (self.size != _ROOMY and self.rng.random() < 0.3):
            await self.resize(*_ROOMY)
        view = self.view()
        if self.app._shown.pane != "bench" and not view.power_off:
            await self.strike("escape", gap_s=0.6)
        if self.jobs:
            await self.deliver()
        if view.prompt.title == "Computing" or self.gone:
            return
        if self._turns_in_circles(view):
            self.over = True
            return
        right = self.right()
        if isinstance(right, Wait):
            await self.wait(right.seconds)
        else:
            await self.line(right, careful=True)

    def _turns_in_circles(self, view: View) -> bool:
        """Was the same asked too often? Then the program is left."""
        title, times = self._same
        self._same = (view.prompt.title, times + 1 if title == view.prompt.title else 0)
        if self._same[1] > _STUCK or view.danger.word in NOT_TAKING:
            self._same = ("", 0)
            return True
        return False
