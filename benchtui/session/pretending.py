"""What is seen at the simulated amplifier at the present prompt: the meter's reading, the lamp, a blown fuse."""

from __future__ import annotations

import re
from collections.abc import Callable
from math import ceil, floor, inf, log10
from typing import Any

from benchtui.procedure import events as e
from benchtui.procedure.state import Mode
from benchtui.rehearsal.asked import (
    Asked,
    Course,
    Falls,
    Ohms,
    Outlet,
    Reads,
    Signal,
    Source,
    Warming,
)
from benchtui.session import figures
from benchtui.session.bench import Bench
from benchtui.session.forecasts import clip_stage, cold_stage, gate_stage, linked
from benchtui.session.places import CHASSIS
from benchtui.session.pretended import Pretended
from benchtui.session.soaked import soaked, warmed, winding_ohms
from benchtui.session.suspects import suspected
from benchtui.session.tables import table

Known = Callable[[Asked], Any]
"""The answer of the simulated amplifier; raises Pending while there is none."""

#: Volts of the known sources where the build file's words name none.
_SOURCES = {"dc": 9.0, "ac": 12.0}

#: What a fresh battery, and a small transformer without load, give above their name (common practice, no source).
_FRESH = {"dc": 1.03, "ac": 1.08}

#: Reservoirs and rails are read as plain volts, with this many decimals at most.
_PLAIN_DECIMALS = 2

#: Less than half of the last digit shows as nothing.
_NOTHING = 5e-5

_OF_GATE = ("round 1", "wait", "round 2", "rail")


class Pending(Exception):
    """The simulated amplifier has not answered yet."""

    def __init__(self, asked: Asked) -> None:
        super().__init__()
        self.asked = asked


class Failed(Exception):
    """It could not answer."""


class Unsteady(Exception):
    """There is no steady reading."""


def seen(bench: Bench, on: Pretended, wall_s: float, known: Known) -> tuple[str, ...]:
    """What is seen at the present prompt at wall time `wall_s`, a line each; nothing where nothing is to be seen.

    Raises Pending.
    """
    words, kind = table("rehearsal"), bench.ask.kind
    try:
        if kind == "limiter":
            return (_lamp(bench, on, known),)
        if kind in ("step", "found", "hands out") and bench.state.mode is Mode.HANDS:
            return (*soaked(bench), *_fuses(on, known), *_further(bench, on, known))
        if kind == "winding room":
            return soaked(bench)
        if bench.test and kind in ("point", "warned"):
            return _with_signal(bench, on, known)
        value = _value(bench, on, wall_s, known)
    except Unsteady:
        return (words["meter"]["unsteady"],)
    except Failed:
        return (words["meter"]["failed"],)
    if value is None:
        return ()
    shows = words["meter"]["shows"].format(value=_displayed(bench, *value))
    return (shows, *_turning(bench), *_further(bench, on, known))


def _with_signal(bench: Bench, on: Pretended, known: Known) -> tuple[str, ...]:
    """What meter and instruments show at a signal point, the bench set as the prompt says."""
    setting = bench.facts.settings.get(bench.ask.subject) if bench.facts else None
    powered = on.powered(bench.build, bench.plan)
    point = bench.point(bench.ask.subject)
    if bench.facts is None or point is None:
        return ()
    value = None
    if setting is not None and powered is not None:
        value = known(Signal(powered, bench.ask.subject, setting.input_v))
    if value is None:
        raise Unsteady
    words = table("rehearsal")
    if point.unit == "V":
        return (words["meter"]["shows"].format(value=_displayed(bench, value, "V")),)
    return (words["signal"][bench.test].format(value=figures.shown(value, point.unit)),)


def _further(bench: Bench, on: Pretended, known: Known) -> tuple[str, ...]:
    """What the meter shows where the diagnosis would have it next, without power."""
    further = suspected(bench).next
    if bench.state.mode is not Mode.HANDS or further is None or further.kind != "ohms":
        return ()
    asked = Ohms(
        on.amplifier, further.state, *further.nodes, further.says, clips=None, linked=linked(bench.state),
        after=gate_stage(bench.plan, bench.state), pots=on.pots,
    )  # fmt: skip
    value = _ohms(known(asked), bench.build.meter.counts)
    return (table("rehearsal")["seen"]["further"].format(red=further.red, black=further.black, value=value),)


def _turning(bench: Bench) -> tuple[str, ...]:
    """How a pot is turned here."""
    target = bench.target()
    if target is None or not to_be_turned(bench):
        return ()
    trim = next(trim for trim in bench.phase.trims if trim.id == bench.ask.subject)
    wanted = _number(target.target_v, bench.build.meter.counts)
    return (table("rehearsal")["seen"]["inside" if trim.inside else "turn"].format(wanted=wanted, pot=trim.pot),)


def to_be_turned(bench: Bench) -> bool:
    """Was a reading typed that is off its target, and the pot is to be turned now?

    The procedure must know of it: turning one pot moves the others' readings.
    """
    return bench.ask.kind == "trim" and isinstance(bench.notebook.trims.get(bench.ask.subject), e.TrimOutside)


def _value(bench: Bench, on: Pretended, wall_s: float, known: Known) -> tuple[float, str] | None:
    """The reading of the present prompt and its unit; None where nothing is read."""
    kind = bench.ask.kind
    if found := re.fullmatch(r"proof (dc|ac)( again)?", kind):
        return known(Source(on.seed, found[1], _source(bench, found[1]))), "V"
    if kind == "mains side" or kind in ("capacitor", "capacitor charged"):
        return 0.0, "V"
    if kind in (*_OF_GATE, "fallen"):
        return _charge(bench, on, wall_s, known), "V"
    if kind == "clip alone":
        return bench.phase.clip.ohm, "ohm"
    if kind in ("clip", "ohms"):
        return known(_chassis_ohms(bench, on)), "ohm"
    if kind == "mains" and not bench.infers_mains:
        return known(Outlet(on.seed)), "V"
    if kind in ("point", "warned") and bench.state.mode is not Mode.POWERED:
        asked = _point_ohms(bench, on)
        return None if asked is None else (known(asked), "ohm")
    if (winding := winding_ohms(bench, on)) is not None:
        return warmed(bench, known(winding)), "ohm"
    id = _live_point(bench)
    if id is None:
        return None
    if kind == "settle":
        return _warm(bench, on, id, known), "V"
    return _live(bench, on, id, known), "V"


def _source(bench: Bench, kind: str) -> float:
    """Volts of a known source, by the words that the build file has for it."""
    said = bench.build.bench.dc_proof if kind == "dc" else bench.build.bench.ac_proof
    named = re.search(r"(\d+(?:\.\d+)?) ?V\b", said)
    return (float(named[1]) if named else _SOURCES[kind]) * _FRESH[kind]


def _live_point(bench: Bench) -> str | None:
    """The point whose volts are read at the present prompt."""
    kind, subject = bench.ask.kind, bench.ask.subject
    if kind in ("trim ht", "ht live"):
        return bench.phase.ht.id if bench.phase.ht is not None else None
    if kind == "mains":
        return bench.build.mains.read_point
    if kind == "trim":
        return next(trim.point for trim in bench.phase.trims if trim.id == subject)
    return subject if kind in ("point", "warned", "limited point", "settle", "soak", "exchanged") and subject else None


def _reads(bench: Bench, on: Pretended, known: Known) -> Reads:
    powered = on.powered(bench.build, bench.plan)
    if powered is None:
        raise Unsteady
    found: Reads = known(powered)
    return found


def _live(bench: Bench, on: Pretended, id: str, known: Known) -> float:
    value = _reads(bench, on, known).at(id)
    if value is None:
        raise Unsteady
    return value


def _warm(bench: Bench, on: Pretended, id: str, known: Known) -> float:
    powered = on.powered(bench.build, bench.plan)
    if powered is None:
        raise Unsteady
    course: Course = known(Warming(powered, id))
    return course.at(floor(bench.state.full_s))


def _charge(bench: Bench, on: Pretended, wall_s: float, known: Known) -> float:
    """Volts of a reservoir, of its group the largest, or of HT where the meter was left."""
    if on.charged is None:
        return 0.0
    falls: Falls = known(on.charged)
    seconds = max(floor(wall_s - on.since_s), 0)
    if bench.ask.kind == "fallen" and falls.ht is not None:
        return falls.ht.at(seconds)
    reservoir = bench.reservoir(bench.ask.subject)
    if bench.ask.kind == "fallen":
        names = tuple(bench.build.capacitor)
    else:
        names = reservoir.parts if reservoir is not None and reservoir.parts else (bench.ask.subject,)
    return falls.across(names, seconds)


def _chassis_ohms(bench: Bench, on: Pretended) -> Ohms:
    """HT+ to chassis: with the clip alone while the gate is asked, without it before the cover goes on."""
    plan, state = bench.plan, bench.state
    clip = bench.ask.kind == "clip"
    stage = clip_stage(plan, state) if clip else bench.phase.stage
    facts = bench.forecasts.gates().get(stage or "")
    ends = facts.clip if facts is not None and facts.clip is not None else ("HT+", CHASSIS)
    node = facts.gate.ohms_node if facts is not None else None
    red, black = (node, CHASSIS) if node is not None and bench.phase.ohms is not None else ends
    fitted = (gate_stage(plan, state) or bench.phase.stage) if clip else bench.phase.stage
    return Ohms(on.amplifier, fitted, red, black, "HT to chassis", clips=(ends,) if clip else (), pots=on.pots)


def _point_ohms(bench: Bench, on: Pretended) -> Ohms | None:
    """The ohms of a point, or of a reading that is computed, with clip and links where they are."""
    plan, state, id = bench.plan, bench.state, bench.ask.subject
    point = bench.build.point.get(id)
    chosen = bench.chosen
    if point is not None and point.quantity == "resistance":
        red, black = point.red, point.black
    elif chosen is not None:
        red, black = chosen.reading.red.node, chosen.reading.black.node
    else:
        return None
    return Ohms(
        on.amplifier, cold_stage(plan, state, id), red, black, id, clips=None, linked=linked(state),
        after=gate_stage(plan, state), pots=on.pots,
    )  # fmt: skip


def _lamp(bench: Bench, on: Pretended, known: Known) -> str:
    words, reads = table("rehearsal")["lamp"], _reads(bench, on, known)
    if "lamp" not in bench.state.limiter:
        return words["loud" if reads.blown or not reads.solved else "quiet"]
    if not reads.solved:
        return words["unsteady"]
    return words["flashed" if reads.blown and reads.look == "dark" else reads.look]


def _fuses(on: Pretended, known: Known) -> tuple[str, ...]:
    """Fuses that blew in the last power, seen with hands in."""
    if on.last is None:
        return ()
    blown = known(on.last).blown
    return (table("rehearsal")["seen"]["blown"].format(fuses=", ".join(blown)),) if blown else ()


def _displayed(bench: Bench, value: float, unit: str) -> str:
    """A reading as the display of the meter shows it, to be typed so."""
    counts = bench.build.meter.counts
    if unit == "ohm":
        return _ohms(value, counts)
    if bench.state.mode in (Mode.OFF_GATE, Mode.CLOSING):
        return f"{round(value, _PLAIN_DECIMALS) + 0.0:.{min(_decimals(value, counts), _PLAIN_DECIMALS)}f} V"
    return f"{_number(value, counts)} V"


def _ohms(value: float, counts: int) -> str:
    if value == inf:
        return "OL"
    scale, prefix = next((s, p) for s, p in ((1.0, ""), (1e3, "k"), (1e6, "M")) if value < counts * s or p == "M")
    shown = value / scale
    return f"{shown:.{min(_decimals(shown, counts), 2 if prefix else 1)}f} {prefix}ohm"


def _number(value: float, counts: int) -> str:
    nothing = abs(value) < _NOTHING
    return "0.00" if nothing else f"{value:.{_decimals(value, counts)}f}"


def _decimals(value: float, counts: int) -> int:
    """Digits behind the point on the lowest range that holds the value, to a tenth of a millivolt at most."""
    size = max(abs(value), 1e-4 * counts / 10.0)
    return min(max(-ceil(log10(size / counts)), 0), 4)
