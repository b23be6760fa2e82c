"""What a circuit is made of: parts between named nodes, in SI units.

A value is a float, or an array of shape (samples,) when the circuit stands for an ensemble of builds. Node "0" is
chassis. Elements are data: what they do to an equation is the solver's business.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

CHASSIS = "0"

Value = float | np.ndarray


@dataclass(frozen=True, eq=False)
class Resistor:
    """A resistance `ohm` between nodes `a` and `b`; fuses, links, heaters, loads and meters are resistors too."""

    name: str
    a: str
    b: str
    ohm: Value


@dataclass(frozen=True, eq=False)
class Pot:
    """A track of `ohm` from `end_1` to `end_2`; `position` (0 to 1) is the share of it between `end_1` and `wiper`."""

    name: str
    end_1: str
    wiper: str
    end_2: str
    ohm: Value
    position: Value


@dataclass(frozen=True, eq=False)
class Capacitor:
    """A capacitance `farad`, positive end at `a`."""

    name: str
    a: str
    b: str
    farad: Value


@dataclass(frozen=True, eq=False)
class Choke:
    """An inductance `henry` with its winding resistance `ohm` in series."""

    name: str
    a: str
    b: str
    henry: Value
    ohm: Value


@dataclass(frozen=True, eq=False)
class Winding:
    """One secondary of a mains transformer: off-load volts are `ratio` times the volts at the primary.

    Current leaves node `a` while the sine is positive; all windings of one transformer are in phase.
    """

    name: str
    a: str
    b: str
    ratio: Value
    ohm: Value


@dataclass(frozen=True, eq=False)
class MainsTransformer:
    """Windings that share one primary: `mains_v` rms behind `primary_ohm` (primary, lamp limiter and all in series)."""

    name: str
    mains_v: Value
    primary_ohm: Value
    windings: tuple[Winding, ...]


@dataclass(frozen=True, eq=False)
class OutputTransformer:
    """Primary from `anode_a` over `ht` to `anode_b` (None: single-ended), secondary from `hot` to `cold`.

    `ratio` is whole primary turns to secondary turns. `primary_henry` is the whole primary's. `half_ohm` holds the
    resistance of each primary half (one entry when single-ended); `winding_farad` and `core_loss_ohm` lie across each
    half. The secondary's `hot` end is in phase with `anode_a`. `screen_taps` are (node a, node b or None, share
    of the half's turns counted from `ht`) of an ultra-linear connection.
    """

    name: str
    anode_a: str
    ht: str
    anode_b: str | None
    hot: str
    cold: str
    ratio: Value
    half_ohm: tuple[Value, ...]
    secondary_ohm: Value
    primary_henry: Value
    leakage_henry: Value
    winding_farad: Value = 0.0
    core_loss_ohm: Value = np.inf
    screen_taps: tuple[str, str | None, float] | None = None


@dataclass(frozen=True, eq=False)
class Law:
    """A device law by the name of its equation `form` and its constants (see devices.py)."""

    form: str
    constants: Mapping[str, Value]


@dataclass(frozen=True, eq=False)
class Diode:
    """A rectifier: valve half (`vacuum_perveance`) or `silicon`. `emission` scales a valve's current (0 is cold)."""

    name: str
    anode: str
    cathode: str
    law: Law
    emission: Value = 1.0


@dataclass(frozen=True, eq=False)
class Valve:
    """A triode (`screen` None) or pentode section. `emission` scales its currents: 1 is new and hot, 0 is cold.

    The capacitance between its electrodes counts for signals alone: at the mains' frequency it is megohms.
    """

    name: str
    anode: str
    grid: str
    cathode: str
    law: Law
    screen: str | None = None
    emission: Value = 1.0
    anode_grid_farad: Value = 0.0
    grid_cathode_farad: Value = 0.0
    anode_cathode_farad: Value = 0.0


@dataclass(frozen=True, eq=False)
class Regulator:
    """A `zener` diode or `gas_regulator` valve (see regulators.py): what holds the volts between its ends steady."""

    name: str
    anode: str
    cathode: str
    law: Law


@dataclass(frozen=True, eq=False)
class Transistor:
    """A `bipolar` transistor or `depletion_fet` (its drain, gate, source stand for collector, base, emitter)."""

    name: str
    collector: str
    base: str
    emitter: str
    law: Law


Device = Valve | Regulator | Transistor
"""What stands in three branches."""

Element = Resistor | Pot | Capacitor | Choke | MainsTransformer | OutputTransformer | Diode | Device


@dataclass(frozen=True, eq=False)
class Circuit:
    """Elements with unique names, and the mains frequency in hertz."""

    elements: tuple[Element, ...]
    mains_hz: float = 50.0
