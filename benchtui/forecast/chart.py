"""The resistance chart of a stage: every wired pin to chassis, the rails, the windings."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from benchtui.buildfile.models import Build
from benchtui.circuit.elements import CHASSIS
from benchtui.forecast.charging import Charging
from benchtui.forecast.clip import Ends
from benchtui.forecast.ohms import OhmsBench, expect_between, ohms_bench
from benchtui.forecast.pins import Pin, electrode_of, wired_pins
from benchtui.forecast.probing import (
    CHASSIS_PROBE,
    Reading,
    at_pin,
    computed_id,
    pin_readings,
    rail_readings,
    winding_readings,
)
from benchtui.forecast.windows import FLOOR_SHARE
from benchtui.verdicts.expectation import Expectation


@dataclass(frozen=True)
class Row:
    """One place: what it is, where the probes go, what it should read.

    `bare_ohm` is the nominal reading without clip and links where that differs, None where they make no difference.
    """

    group: str
    name: str
    reading: Reading
    expectation: Expectation
    charging: Charging
    bare_ohm: float | None


@dataclass(frozen=True)
class Chart:
    """All rows of `stage`, sockets first, and where clip and links are meant to be while they are read."""

    stage: str
    rows: tuple[Row, ...]
    clips: tuple[tuple[str, str], ...]


@lru_cache(maxsize=32)
def chart(build: Build, stage: str, clips: tuple[Ends, ...] | None = None) -> Chart:
    """The chart of `stage`, read with hands in and `clips` as for `expect_ohms`; red where electrolytics want it."""
    bench = ohms_bench(build, stage, clips=clips)
    listed = [*_pins(build, stage, bench), *_others(build, bench)]
    bench.touch(probe.node for _, _, reading in listed for probe in (reading.red, reading.black))
    return Chart(stage, tuple(_row(bench, *each) for each in listed), bench.state.clips)


def _pins(build: Build, stage: str, bench: OhmsBench) -> list[tuple[str, str, Reading]]:
    pins = wired_pins(build, stage, bench.nominal.nodes)
    order = sorted(pins, key=lambda pin: (list(build.valve).index(pin.valve), _number(pin)))
    readings = {reading.red.pin: reading for reading in pin_readings(pins)}
    at_chassis = {pin: Reading(computed_id(str(pin)), str(pin), at_pin(pin, CHASSIS), CHASSIS_PROBE) for pin in pins}
    return [
        (f"{pin.valve} {build.valve[pin.valve].type}", _named(build, pin), readings.get(pin, at_chassis[pin]))
        for pin in order
    ]


def _others(build: Build, bench: OhmsBench) -> list[tuple[str, str, Reading]]:
    rails = [("rails to chassis", reading.name.split()[0], reading) for reading in rail_readings(build, bench)]
    windings = [("windings", reading.id.removesuffix(" ohm"), reading) for reading in winding_readings(bench)]
    return rails + windings


def _named(build: Build, pin: Pin) -> str:
    electrode = electrode_of(build, pin).replace("_", " ")
    return electrode if electrode == pin.name else f"{pin.name} {electrode}"


def _number(pin: Pin) -> tuple[int, str]:
    return (int(pin.name), "") if pin.name.isdigit() else (99, pin.name)


def _row(bench: OhmsBench, group: str, name: str, reading: Reading) -> Row:
    charges = bench.charging(reading.red.node, reading.black.node)
    if charges.plus == "black":
        reading = reading.turned
        charges = bench.charging(reading.red.node, reading.black.node)
    ends = reading.red.node, reading.black.node
    expectation = expect_between(bench, reading.id, *ends)
    bare = float(bench.bare.between(*ends)[0])
    differs = abs(bare - expectation.nominal) > FLOOR_SHARE * expectation.nominal
    return Row(group, name, reading, expectation, charges, bare if differs else None)
