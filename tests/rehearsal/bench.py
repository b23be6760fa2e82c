"""A rehearsal under test: a still clock, forecasts that are remembered, and someone who types what the meter shows."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from benchtui.buildfile.models import Build
from benchtui.rehearsal.answering import answer
from benchtui.rehearsal.asked import Asked, Plant, Planted
from benchtui.session.forecaster import Forecaster
from benchtui.session.rehearse import open_rehearsal
from benchtui.session.rehearsing import RehearsalSession
from benchtui.session.tables import table
from benchtui.session.view import View
from tests.walk.builder import LISTED, all_on
from tests.walk.clock import StillClock
from tests.walk.walking import pass_time

BUILDS = Path(__file__).parents[2] / "builds"

#: The reason that this builder gives where one is asked for.
REASON = "half a volt over a rating quoted from memory"

MOST_ANSWERS = 3000

#: How the lines begin that show a reading.
METER = ("Meter shows  ", *(text.partition("{")[0] for text in table("rehearsal")["signal"].values()))

#: The key, as what is typed.
STOP = "F8"


class Planting:
    """The simulated amplifier with a fault that the test chose, and the questions that it was asked."""

    def __init__(self, planted: Planted | None = None) -> None:
        self.planted = planted
        self.asked: list[Asked] = []

    def rehearsed(self, build: Build, asked: Asked) -> Any:
        self.asked.append(asked)
        return self.planted if isinstance(asked, Plant) else answer(build, asked)


@dataclass
class Rehearsal:
    """A rehearsal and the hands at it; `trail` has every view that was answered, with what was typed."""

    path: Path
    folder: Path
    forecaster: Forecaster
    simulator: Planting
    seed: int = 5
    fault: str | None = None
    new: bool = False
    clock: StillClock = field(default_factory=StillClock)
    trail: list[tuple[View, str, View]] = field(default_factory=list)
    session: RehearsalSession = field(init=False)

    def __post_init__(self) -> None:
        self.open(seed=self.seed, fault=self.fault, new=self.new)

    def open(self, **named: Any) -> View:
        session = open_rehearsal(
            self.path, record_folder=self.folder, clock=self.clock, forecaster=self.forecaster,
            simulator=self.simulator, **named,
        )  # fmt: skip
        assert isinstance(session, RehearsalSession)
        self.session = session
        return self.compute()

    def drop(self) -> None:
        """As if the program were killed: nothing is said, the lock goes."""
        self.session._journal.close()

    def compute(self) -> View:
        """All that is of use now, as the app's workers would; without what may be wrong, which takes long."""
        while True:
            forecast, amplifier = self.session.pending_forecast(), self.session.pending_amplifier()
            if forecast is not None:
                self.session.take_forecast(forecast())
            elif amplifier is not None:
                self.session.take_amplifier(amplifier())
            else:
                return self.session.view()

    def type(self, text: str) -> View:
        """Type a line at the present prompt, or strike STOP."""
        before = self.session.view()
        after = self.session.stop() if text == STOP else self.session.answer(before.prompt.number, text)
        self.trail.append((before, text, after))
        return self.compute()

    def go(self, until: Callable[[View], bool] = lambda view: False, act: Callable[[View], str] | None = None) -> View:
        """Type what is shown until the build is finished, or until `until` holds."""
        waits = 0
        for _ in range(MOST_ANSWERS):
            view = self.compute()
            if view.prompt.title == "Finished" or until(view):
                return view
            title = view.prompt.title
            cooling = title == "The mains winding as it cools" and view.prompt.wait_s
            waiting = view.prompt.entry == "nothing" or cooling or title.startswith(("Wait", "Watch", "Soak"))
            falling = view.prompt.entry == "number" and _charged(view)
            if waiting or (falling and waits < 60):
                waits += 1
                pass_time(self.session, self.clock, max(view.prompt.wait_s or 0.0, 2.0))
            else:
                waits = 0
                self.type((act or typed)(view))
            same = [(before.prompt.title, text) for before, text, _ in self.trail[-12:]]
            assert len(same) < 12 or len(set(same)) > 1, f"it leads nowhere: {self.told(view)}"
        raise AssertionError(f"no end: {self.told(self.session.view())}")

    def told(self, view: View) -> str:
        last = "\n".join(f"{before.prompt.title}: {text}" for before, text, _ in self.trail[-6:])
        return f"{last}\n{view.prompt}\n{view.seen}\n{view.banner}"

    def banners(self, *kinds: str) -> list[str]:
        """What was said in answers of these kinds."""
        return [f"{b.prompt.title}: {a.banner.text}" for b, _, a in self.trail if a.banner and a.banner.kind in kinds]


def shown(view: View) -> str:
    """What the meter shows, as it is typed."""
    line = next(line for line in view.seen if line.startswith(METER))
    value = line.rpartition("  ")[2]
    return value.removesuffix(" V").removesuffix("ohm").removesuffix(" %").removesuffix("Hz").replace(" ", "")


def _charged(view: View) -> bool:
    """A reading that falls is waited for."""
    waited = re.match(r"HT has fallen|Round|Rail|rail", view.prompt.title)
    return bool(waited) and abs(float(shown(view))) >= 9.0


def typed(view: View) -> str:
    """What someone types who does all that is asked and reads the meter line."""
    prompt = view.prompt
    if prompt.title.startswith("Trim "):
        return _trimmed(view)
    if prompt.title in _TYPED:
        return _TYPED[prompt.title](view)
    if prompt.entry in ("number", "text"):
        return shown(view)
    return all_on(view) if prompt.title.startswith(LISTED) else prompt.words[0]


def _trimmed(view: View) -> str:
    """The pot is turned until the meter shows what is wanted."""
    told = re.search(r"'turn' and .*: (turn \S+)$", " ".join(view.seen))
    scale, now = view.prompt.scale, float(shown(view))
    assert scale is not None
    return shown(view) if told is None or scale.low <= now <= scale.high else told[1]


def _limiter(view: View) -> str:
    said = " ".join(view.seen)
    return next((word for word in ("bright", "dim", "dark", "loud", "quiet") if word in said), "bright")


def _listed(view: View) -> str:
    line = next(line for line in view.prompt.lines if line.startswith("Type one: "))
    return line.removeprefix("Type one: ").rstrip(".").split(", ")[0]


def _read(view: View) -> str:
    """What is read without a meter, as it is typed."""
    return view.seen[0].rpartition("  ")[2].removesuffix(" degrees Celsius")


_TYPED: dict[str, Callable[[View], str]] = {
    "What the fuse says": _read,
    "How warm is the room?": _read,
    "Did this chassis ever meet mains?": lambda view: "never",
    "Links on": lambda view: str(len(re.findall(r"\(.+? to .+?\)(?:; |\.)", view.prompt.lines[0]))),
    "Clip and links off": lambda view: re.findall(r"put on: (\d+)", " ".join(view.prompt.lines))[0],
    "First power": _listed,
    "What does the limiter show?": _limiter,
    "The ratings review objects": lambda view: f"go on: {REASON}",
}
