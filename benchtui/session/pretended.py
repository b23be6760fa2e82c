"""What is so on the bench of a rehearsal, as its record tells it: power, charge, pots, what was renewed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from benchtui.assemble.valves import sections
from benchtui.buildfile.models import Build
from benchtui.procedure import codec
from benchtui.procedure import events as e
from benchtui.procedure.decide import fold
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import Mode, State
from benchtui.record import Event
from benchtui.rehearsal.asked import Amplifier, Falling, Planted, Pots, Powered
from benchtui.rehearsal.phase import turns
from benchtui.session.bench import lamp_name

#: Kinds of entries that only the record of a rehearsal has.
PLANTED, TURNED, RENEWED, SHOWN = "rehearsal planted", "rehearsal turned", "rehearsal renewed", "rehearsal shown"
EXCHANGED = "rehearsal exchanged"

#: What is counted as a reading, and of those what tells that something is off.
_READINGS = (e.PointRead, e.OhmsGood, e.OhmsBad, e.LimiterGood, e.LimiterBad, e.LimiterDark)
_OFF = (e.PointWarned, e.PointStopped, e.PointDoubted, e.PointNothing, e.OhmsBad, e.LimiterBad, e.LimiterDark)


@dataclass(frozen=True)
class Pretended:
    """The bench of the rehearsal of `seed`. `planted` is None while nothing is chosen yet, or where nothing is.

    `charged` is the power that left a charge, with what was bled since, and `since_s` the wall time that its fall
    counts from; None where nothing is charged. `readings` counts those since the first that was off, which counts
    itself; None before there was one.
    """

    seed: int
    chosen: bool
    planted: Planted | None = None
    state: State = State()
    pots: Pots = ()
    last: Powered | None = None
    charged: Falling | None = None
    since_s: float = 0.0
    readings: int | None = None
    renewed: bool = False
    exchanged: tuple[tuple[str, str], ...] = ()
    needless: tuple[str, ...] = ()
    shown: bool = False

    @property
    def amplifier(self) -> Amplifier:
        """The amplifier as it is now."""
        return Amplifier(self.seed, None if self.renewed else self.planted, self.exchanged)

    def powered(self, build: Build, plan: Plan) -> Powered | None:
        """What the amplifier is doing, None with the power off."""
        if self.state.mode is not Mode.POWERED:
            return None
        lamp = next((watts for watts in build.bench.lamps if lamp_name(watts) == self.state.limiter), None)
        return Powered(self.amplifier, self.state.at(plan).stage, lamp, self.pots, self.state.exchange)


def begun(header: Mapping[str, Any]) -> Pretended:
    """The bench as the record's header has it."""
    said = header["rehearsal"]
    return Pretended(seed=int(said["seed"]), chosen=said["fault"] == "none")


def after(bench: Pretended, build: Build, plan: Plan, saved: Event) -> Pretended:
    """The bench after an event of the record."""
    match saved.kind:
        case "rehearsal planted":
            found = saved.data["fault"]
            return replace(bench, chosen=True, planted=Planted(**found) if found else None)
        case "rehearsal turned":
            pots = {**dict(bench.pots), str(saved.data["pot"]): float(saved.data["position"])}
            return replace(bench, pots=tuple(pots.items()))
        case "rehearsal renewed":
            return _renewed(bench, build, str(saved.data["part"]))
        case "rehearsal exchanged":
            return _exchanged(bench, build, str(saved.data["part"]), str(saved.data["leads"]))
        case "rehearsal shown":
            return replace(bench, shown=True)
    if saved.kind not in codec.KINDS and "v" not in saved.data:
        return bench
    return _moved_on(bench, build, plan, codec.decode(saved.kind, saved.data), saved.t_wall)


def _renewed(bench: Pretended, build: Build, part: str) -> Pretended:
    """Where its leads were exchanged they are back where they belong, too."""
    left = tuple(each for each in bench.exchanged if each[0] != part)
    was_exchanged, bench = left != bench.exchanged, replace(bench, exchanged=left)
    if is_it(build, bench.amplifier.planted, part):
        return replace(bench, renewed=True)
    if was_exchanged:
        return bench
    return replace(bench, needless=(*bench.needless, part))


def _exchanged(bench: Pretended, build: Build, part: str, leads: str) -> Pretended:
    """What was the wrong way round is cured by either exchange; what was not is the wrong way round from now on."""
    planted = bench.amplifier.planted
    if planted is not None and planted.part == part and turns(build, planted):
        return replace(bench, renewed=True)
    this = (part, leads)
    had = tuple(each for each in bench.exchanged if each != this)
    return replace(bench, exchanged=had if this in bench.exchanged else (*had, this))


def is_it(build: Build, planted: Planted | None, part: str) -> bool:
    """Is the fault mended where `part` is renewed? A valve has all its sections in it, a transformer its windings.

    Of leads that were exchanged either part will do: whatever the fault's own words name.
    """
    if planted is None:
        return False
    of = {section.id: section.valve for section in sections(build)}
    of |= {winding: name for name, each in build.transformer.items() for winding in each.windings}
    return part in (planted.part, of.get(planted.part), *re.findall(r"\w+", planted.says))


def _moved_on(bench: Pretended, build: Build, plan: Plan, event: e.Event, wall_s: float) -> Pretended:
    before = bench.powered(build, plan)
    now = replace(bench, state=fold(plan, bench.state, event), readings=_counted(bench, event))
    power = now.powered(build, plan)
    if power is not None:
        return replace(now, last=power, charged=None)
    if before is not None:
        return replace(now, charged=Falling(before), since_s=wall_s)
    if isinstance(event, e.HandsIn):  # clip and links have been on for their time, and stay
        return replace(now, charged=None)
    if isinstance(event, e.Bled) and now.charged is not None:
        reservoir = next((r for r in bench.state.at(plan).reservoirs if r.id == event.id), None)
        parts = reservoir.parts if reservoir is not None and reservoir.parts else (event.id,)
        act = (max(wall_s - bench.since_s, 0.0), parts)
        return replace(now, charged=replace(now.charged, bled=(*now.charged.bled, act)), since_s=wall_s)
    return now


def _counted(bench: Pretended, event: e.Event) -> int | None:
    if bench.renewed or bench.shown or not isinstance(event, _READINGS):
        return bench.readings
    if bench.readings is None:
        return 1 if isinstance(event, _OFF) else None
    return bench.readings + 1
