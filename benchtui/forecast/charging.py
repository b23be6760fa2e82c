"""Which ohms climb while capacitors charge from the meter, and which way round it must be put for their sake."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from typing import Literal

import numpy as np

from benchtui.circuit.elements import Capacitor, Circuit
from benchtui.circuit.resistance import Unpowered

CLIMBS_S = 0.5
"""A reading that needs longer than this to settle is seen to climb (own decision)."""

METER_OHM = 1e7
"""What an open reading charges a capacitor through: a usual hand meter on its highest range of ohms; from memory."""

_SHARE = 0.02
"""A capacitor with less of the meter's volts across it than this share does not mind which way round they are."""


@dataclass(frozen=True)
class Charging:
    """`seconds` in which a reading settles, and the capacitors that make it last.

    `plus` is where red goes for the sake of an electrolytic among them: "red", as meant, "black", the other way round,
    or "" where none is.
    """

    seconds: float
    parts: tuple[str, ...] = ()
    plus: Literal["red", "black", ""] = ""

    @property
    def climbs(self) -> bool:
        """Whether the reading is seen to climb before it rests."""
        return self.seconds >= CLIMBS_S

    @property
    def says(self) -> tuple[str, ...]:
        """What the reader must know of it, as at most one sentence."""
        if not self.climbs:
            return ()
        who = "the capacitor charges" if len(self.parts) == 1 else "the capacitors charge"
        named = ", ".join(self.parts)
        return (f"it climbs while {who} from the meter ({named}): wait until it rests{_ENDS[self.plus]}",)


_ENDS = {
    "red": ", red on the positive end",
    "black": ", and the other way round: red on the positive end, which is where black is named",
    "": "",
}


def charging(circuit: Circuit, unpowered: Unpowered, red: str, black: str, polarised: Container[str] = ()) -> Charging:
    """How the nominal reading between two nodes comes about; `polarised` are the names of electrolytics.

    The time is the delay of the node that is driven (W. C. Elmore, Journal of Applied Physics 19(1), 1948, from
    memory): of each capacitor its volts squared by its farads, over the volts of the reading.
    """
    capacitors = [each for each in circuit.elements if isinstance(each, Capacitor)]
    if unpowered.joined(red, black):
        ohm = float(unpowered.between(red, black)[0])
        volts = {each: float(unpowered.volts(red, black, each.a, each.b)[0]) for each in capacitors}
        taken = {each: v for each, v in volts.items() if np.isfinite(v) and abs(v) > _SHARE * ohm}
        delays = {each: float(each.farad) * v**2 / ohm for each, v in taken.items()}
    else:
        taken = {each: sign for each in capacitors if (sign := _bridges(unpowered, each, red, black))}
        delays = {each: float(each.farad) * METER_OHM for each in taken}
    longest = max(delays.values(), default=0.0)
    named = tuple(each.name for each, s in delays.items() if s > 0.1 * longest)
    pull = sum(float(np.sign(taken[each])) * s for each, s in delays.items() if each.name in polarised)
    return Charging(sum(delays.values()), named, "red" if pull > 0.0 else "black" if pull < 0.0 else "")


def _bridges(unpowered: Unpowered, capacitor: Capacitor, red: str, black: str) -> float:
    """1 where the capacitor joins red's side by its positive end to black's, -1 the other way round, else 0."""
    if unpowered.joined(capacitor.a, red) and unpowered.joined(capacitor.b, black):
        return 1.0
    return -1.0 if unpowered.joined(capacitor.b, red) and unpowered.joined(capacitor.a, black) else 0.0
