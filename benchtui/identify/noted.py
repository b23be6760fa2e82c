"""All that is noted of one unknown mains transformer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from benchtui.identify.leads import Pair
from benchtui.identify.rating import Core
from benchtui.identify.roles import Primary
from benchtui.identify.spans import Span
from benchtui.identify.windings import Bench


@dataclass(frozen=True)
class AtMains:
    """With mains on the primary, through the lamp first: what the lamp did, then volts, off-load current."""

    lamp: str = ""
    applied: Span | None = None
    reads: Mapping[Pair, Span] = field(default_factory=dict)
    key: Mapping[Pair, str] = field(default_factory=dict)
    amps: Span | None = None


@dataclass(frozen=True)
class Warm:
    """Ohms of one winding cold and after half an hour of mains without load, with the temperatures around it."""

    cold: Span
    hot: Span
    cold_c: float
    ambient_c: float


@dataclass(frozen=True)
class Transformer:
    """All notes of one mains transformer. `names` and `nodes` are what the build file calls windings and leads."""

    id: str
    bench: Bench
    mains_v: float
    hertz: float
    primary: Primary | None = None
    insulation: Mapping[str, float] = field(default_factory=dict)
    test_v: float = 0.0
    mains: AtMains = field(default_factory=AtMains)
    warm: Warm | None = None
    core: Core | None = None
    screens: tuple[str, ...] = ()
    names: Mapping[Pair, str] = field(default_factory=dict)
    nodes: Mapping[str, str] = field(default_factory=dict)
    stage: str = "cold"
    label: str = ""
    found: str = ""
    when: str = ""
    meter: str = ""
