"""A walk through a session: the builder's answers go in, waits pass at once, and what was said is kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from benchtui.session.session import Session
from benchtui.session.view import View
from tests.walk.builder import Builder, Wait, told
from tests.walk.clock import StillClock

#: Under the gap between two ticks at which a session takes it that nobody watched.
STEP_S = 8.0

MOST_ANSWERS = 3000


@dataclass
class Trail:
    """The answers given, with the view before and after each."""

    taken: list[tuple[View, str, View]] = field(default_factory=list)

    def banners(self, *kinds: str) -> list[str]:
        """What was said in answers of these kinds."""
        banners = [after.banner for _, _, after in self.taken]
        return [f"{banner.kind}: {banner.text}" for banner in banners if banner and banner.kind in kinds]


def walk(
    session: Session, builder: Builder, clock: StillClock, *, until: Callable[[View], bool] = lambda view: False
) -> Trail:
    """Walk until the session is finished, or until `until` holds of a view that was just given."""
    trail = Trail()
    waits = 0
    while True:
        compute(session)
        view = session.view()
        if view.prompt.title == "Finished" or until(view):
            return trail
        act = builder.does(view)
        if isinstance(act, Wait):
            waits += 1
            pass_time(session, clock, act.seconds)
        else:
            waits = 0
            after = session.answer(view.prompt.number, act)
            trail.taken.append((view, act, after))
        same = trail.taken[-20:]
        stuck = len(same) == 20 and len({(before.prompt.title, typed) for before, typed, _ in same}) == 1
        if waits > 100 or stuck or len(trail.taken) > MOST_ANSWERS:
            last = "\n".join(f"{before.prompt.title}: {typed}" for before, typed, _ in trail.taken[-12:])
            raise AssertionError(f"the walk leads nowhere\n{last}\n{told(view)}")


def compute(session: Session) -> None:
    """Every forecast that is of use now, as the app's worker would."""
    while (job := session.pending_forecast()) is not None:
        session.take_forecast(job())


def pass_time(session: Session, clock: StillClock, seconds: float) -> None:
    """Let a wait pass in steps that the session takes for watched ones."""
    while seconds > 0:
        clock.pass_(min(seconds, STEP_S))
        session.tick()
        seconds -= STEP_S
