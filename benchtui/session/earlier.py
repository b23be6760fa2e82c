"""What this build has read that later forecasts may go by: a fold of saved events, beside the procedure's state."""

from __future__ import annotations

from dataclasses import dataclass, field

from benchtui.procedure import events as e
from benchtui.procedure.state import Mode, State

_STAGE_ENDS = (e.NextPowered, e.NextGate, e.LastComplete)
_ASKED_AGAIN = (e.PointDoubted, e.PointNothing)

#: A meter that does not show what it should casts doubt on all that it read, and so does what has happened since.
_ALL_DOUBTED = (e.MeterBad, e.NotFallen, e.BuildChanged, e.BrokeDown, e.BroughtBack)


@dataclass(frozen=True, slots=True)
class StageRead:
    """What a completed stage read that passed: (point, volts), in the order read, and its mains."""

    stage: str
    mains_v: float
    readings: tuple[tuple[str, float], ...]


@dataclass
class Earlier:
    """Passes of completed stages, as long as nothing tells that the build is no longer what was read.

    Hands that go in while something read badly, and a bad cold reading that is a pass later, mean that something was
    mended, and nobody knows in which of the readings it was: all of them are dropped. A stage's own readings count
    from the last pot that was turned and the last mains that was read.
    """

    _done: dict[str, StageRead] = field(default_factory=dict)
    _now: dict[str, float] = field(default_factory=dict)
    _bad: dict[str, type[e.Event]] = field(default_factory=dict)
    """What read badly and was neither read well since nor accepted."""

    def before(self, stage: str) -> tuple[StageRead, ...]:
        """What the forecast of `stage` may go by: every other stage that was completed."""
        return tuple(read for id, read in self._done.items() if id != stage)

    def take(self, event: e.Event, state: State, stage: str) -> None:
        """Enter an event that was saved in `state` and `stage`, as they were before it."""
        match event:
            case e.PointRead():
                self._read(event, state)
            case e.LimiterBad() | e.OhmsBad():
                self._bad[type(event).__name__] = type(event)
            case e.OhmsGood():
                self._bad.pop(e.OhmsBad.__name__, None)
            case e.Accepted(point=point):
                self._bad.pop(point, None)
            case e.Slipped():
                self._bad = {id: kind for id, kind in self._bad.items() if kind is not e.PointStopped}
            case e.HandsIn() if self._bad:
                self._forget()
            case _ if isinstance(event, _ALL_DOUBTED):
                self._forget()
            case e.PowerOn() | e.MainsRead() | e.TrimOutside():
                self._now.clear()
            case _ if isinstance(event, _STAGE_ENDS):
                self._complete(state, stage)

    def _read(self, event: e.PointRead, state: State) -> None:
        """A doubted reading is asked again at once: only power that ends before leaves it in doubt."""
        powered, point = state.mode is Mode.POWERED, event.point
        self._now.pop(point, None)
        if isinstance(event, e.PointWarned | e.PointStopped) or (powered and isinstance(event, _ASKED_AGAIN)):
            self._bad[point] = type(event)
        elif not isinstance(event, _ASKED_AGAIN):
            if self._bad.pop(point, None) and not powered:
                self._forget()
            if powered and isinstance(event, e.PointPassed):
                self._now[point] = event.value

    def _complete(self, state: State, stage: str) -> None:
        read = tuple((point, value) for point, value in self._now.items() if point in state.read)
        if state.mode is Mode.POWERED and state.mains_v is not None and read:
            self._done[stage] = StageRead(stage, state.mains_v, read)
        self._now.clear()

    def _forget(self) -> None:
        self._done.clear()
        self._now.clear()
        self._bad.clear()
