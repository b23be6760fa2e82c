"""Places of a whole bring-up at which a random walk begins: the record as it lay when the program was killed there."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from benchtui.session.view import View
from tests.keys.forecasts import AsWalked
from tests.record.counts import count
from tests.walk.benches import bench
from tests.walk.readings import whole_volts
from tests.walk.walking import walk

#: Answers from one place to the next.
_EVERY = 4


@dataclass(frozen=True)
class Place:
    """Record and head as bytes, the pots as they were turned, the time that had passed, and where in the work it is."""

    record: bytes
    head: bytes
    pots: dict[str, float]
    passed_s: float
    where: str


def places(name: str, folder: Path, forecasts: AsWalked) -> list[Place]:
    """Places from the first prompt to the end of the demo build `name`, walked once through the session; of the long
    tests also those of a repair after that."""
    made = bench(name, folder, forecasts, whole_volts(name))
    session = made.session()
    found: list[Place] = []
    seen = 0

    def kept(view: View) -> bool:
        nonlocal seen
        seen += 1
        if seen % _EVERY == 1:
            head = made.record.with_suffix(".bench.head").read_bytes()
            where = f"{view.stage}, {view.step}, {view.prompt.title}"
            pots = dict(made.builder.rig.pots)
            found.append(Place(made.record.read_bytes(), head, pots, made.clock.passed_s, where))
        return False

    with forecasts.learns():
        walk(session, made.builder, made.clock, until=kept)
        if count(short=False, full=True):
            made.builder.cause = f"{next(iter(made.builder.rig.build.capacitor))} was it"
            session.answer(session.view().prompt.number, "stopped")
            walk(session, made.builder, made.clock, until=kept)
    session.leave()
    return found
