"""What is seen at the simulated amplifier around its soak: what is printed on a fuse, the room, the mains winding."""

from __future__ import annotations

from math import exp

from benchtui.forecast.winding import COPPER
from benchtui.rehearsal.asked import Ohms
from benchtui.session.bench import Bench
from benchtui.session.forecasts import cold_stage
from benchtui.session.fuse_cap import marking
from benchtui.session.pretended import Pretended
from benchtui.session.tables import table

#: The room, how much warmer a sound transformer is after a soak, in kelvins, and how fast it cools. Own decision.
_ROOM_C, _RISE_K, _COOLING_S = 22.0, 42.0, 1800.0


def soaked(bench: Bench) -> tuple[str, ...]:
    """What is read without a meter at the present prompt; nothing where that is none of a soak."""
    words, kind = table("rehearsal")["seen"], bench.ask.kind
    if bench.prompt == "printed":
        fuse = bench.build.fuse[bench.ask.subject.removeprefix("fuse ")]
        return (words["fuse"].format(printed=marking(fuse)),)
    return (words["room"].format(celsius=f"{_ROOM_C:.0f}"),) if kind == "winding room" else ()


def winding_ohms(bench: Bench, on: Pretended) -> Ohms | None:
    """The mains winding at the inlet's pins; None where the build file does not name them."""
    ends = bench.build.mains.nodes
    if ends is None or bench.ask.kind not in ("winding cold", "winding hot"):
        return None
    return Ohms(on.amplifier, cold_stage(bench.plan, bench.state, ""), *ends, "mains winding", pots=on.pots)


def warmed(bench: Bench, ohm: float) -> float:
    """The winding's ohms as it cools, by its cold ones."""
    off_s = bench.state.winding.off_s
    if bench.ask.kind != "winding hot" or off_s is None:
        return ohm
    return ohm * (1.0 + _RISE_K * exp(-off_s / _COOLING_S) / (COPPER + _ROOM_C))
