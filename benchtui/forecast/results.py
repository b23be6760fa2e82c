"""What a forecast tells: plain data in SI units for the session, the reports and the command line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from benchtui.verdicts.beside import Beside
from benchtui.verdicts.expectation import Expectation


@dataclass(frozen=True)
class Stress:
    """What a part stands in one state. `limit` is its rating, None where none is known."""

    part: str
    quantity: str
    unit: str
    nominal: float
    low: float
    high: float
    limit: float | None = None


@dataclass(frozen=True)
class StageForecast:
    """Everything computed for one powered or cold stage at `mains_v` (rated where none was measured)."""

    stage: str
    mains_v: float
    expectations: tuple[Expectation, ...]
    stresses: tuple[Stress, ...]
    left_out: tuple[str, ...] = ()
    """Sentences about points that float in this stage or could not be solved."""

    beside: tuple[Beside, ...] = ()
    """Points beside the same one of another channel."""


@dataclass(frozen=True)
class Finding:
    """One finding of the ratings review. `severity` is "note", "warn" or "stop"; value and limit in SI units."""

    severity: str
    stage: str
    part: str
    rule: str
    text: str
    value: float | None
    limit: float | None
    source: str


@dataclass(frozen=True)
class BleedAdvice:
    """How to drain a reservoir through the clip's resistor: what flows at first, how long, and what else it drains."""

    ohm: float
    first_a: float
    first_w: float
    seconds: float
    drains: tuple[str, ...]
    through: tuple[str, ...]
    """Sentences: which reservoir drains through which parts, and which do not."""


@dataclass(frozen=True)
class Reservoir:
    """A capacitor (or a group joined by under 100 kohm, one reading) that can hold more than the threshold and 1 mJ.

    `slowest_s` is the computed fall to the threshold with cold valves (inf without a bleeder), `fastest_s` with hot
    ones in the phase just powered (0 where it is not worked out); `highest_v` is what it can hold at the highest mains.
    """

    id: str
    parts: tuple[str, ...]
    red: str
    black: str
    farad: float
    highest_v: float
    slowest_s: float
    fastest_s: float
    bled: bool
    bleed: BleedAdvice


@dataclass(frozen=True)
class GateForecast:
    """What the gate before and the closing after hands-in work of a stage need to know.

    `ohms_low` to `ohms_high` is the window of HT+ to chassis, `ohms_node` its red node (None while no HT is fitted);
    `clip_ohms` is what the same reading shows with the clip on.
    """

    stage: str
    reservoirs: tuple[Reservoir, ...]
    rails: tuple[tuple[str, str], ...]
    """(name, node) of each rail that is read before closing."""

    ohms_node: str | None
    ohms_low: float
    ohms_nominal: float
    ohms_high: float
    clip_ohms: float
    loose: tuple[str, ...]
    """Live loose ends with their volts, as sentences."""


@dataclass(frozen=True)
class Course:
    """The computed first minute of the point to watch: `times_s` and `volts` alike in length, warming from cold."""

    point: str
    times_s: tuple[float, ...]
    volts: tuple[float, ...]
    highest_v: float
    switch_off_v: float
    """Hand on the switch: off above this reading, whatever the time. `highest_v` has the sign of what is read."""

    reason: str


@dataclass(frozen=True)
class TrimTarget:
    """What a pot is to be trimmed to, recomputed from the HT read now. `low` to `high` counts as reached."""

    pot: str
    point: str
    target_v: float
    low: float
    high: float
    turn: str
    """Which way raises the reading."""

    why: str


@dataclass(frozen=True)
class Loads:
    """What the wires carry at the highest mains, over all stages: `volts` is node = mean volts to chassis, the largest
    in size; `peak_v` node = the largest volts to chassis at any instant; `amps` (part, node) = rms amperes there.
    """

    volts: Mapping[str, float] = field(default_factory=dict)
    peak_v: Mapping[str, float] = field(default_factory=dict)
    amps: Mapping[tuple[str, str], float] = field(default_factory=dict)
