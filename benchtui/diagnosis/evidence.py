"""What a record says, as it is weighed: readings in volts or decades, and where further readings were made."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import isfinite

import numpy as np

from benchtui.buildfile.models import Build
from benchtui.diagnosis.candidates import exchange_in, stage_in
from benchtui.diagnosis.cold import cold_table
from benchtui.diagnosis.exchanges import exchange_called, exchanges
from benchtui.diagnosis.unpowered import scaled
from benchtui.diagnosis.weigh import Evidence
from benchtui.forecast.given import Further, Given, GivenError, StageReadings
from benchtui.forecast.meter import resolution
from benchtui.parts.guide import spread

#: Names that are listed where one is wrong.
_MOST_NAMES = 12


def evidence_of(build: Build, given: Given) -> Evidence:
    """The record as evidence, what is known of fuses included. Raises GivenError for a further reading of nowhere."""
    wrong = tuple(_problems(build, given))
    if wrong:
        raise GivenError(wrong)
    stages = {**given.earlier, given.stage: StageReadings(given.mains_v, given.readings)}
    read = {
        (stage, name): _value(build, name, value)
        for stage, each in stages.items()
        for name, value in each.readings.items()
    }
    again = set()
    for each in _of(given, "live", "again"):
        key, value = (given.stage, each.point), _value(build, each.point, each.value)
        if key in read and _same(build, each.point, read[key], value):
            again.add(key)
        read[key] = value
    mains = {stage: each.mains_v for stage, each in stages.items() if each.mains_v is not None}
    asked = list(_of(given, "ohms"))
    places = _places(build, given.stage) if asked else {}
    ohms = {places[each.point]: float(scaled(each.value)) for each in asked}
    exchanged = {(exchange_in(each.state), each.point): each.value for each in _of(given, "exchange")}
    return Evidence(read, mains, given.blown, ohms, frozenset(again), exchanged)


def _of(given: Given, *kinds: str) -> Iterator[Further]:
    return (each for each in given.further if each.kind in kinds)


def _value(build: Build, point: str, value: float) -> float:
    return float(scaled(value)) if build.point[point].quantity == "resistance" else value


def _same(build: Build, point: str, before: float, now: float) -> bool:
    digit = float(resolution(build.meter, build.point[point].quantity, np.array(now)))
    return abs(now - before) <= spread("spread.again")[1] * abs(before) + 2.0 * digit


def _places(build: Build, stage: str) -> dict[str, tuple[str, str]]:
    """Every place in ohms = its two nodes."""
    return {each.point: (each.red, each.black) for each in cold_table(build, stage).candidates}


def _problems(build: Build, given: Given) -> Iterator[str]:
    """What of the further readings belongs to nothing in the build."""
    for number, each in enumerate(given.further, 1):
        where, stage = f"further {number}: ", given.stage
        if stage_in(each.state) != stage or (each.kind != "exchange" and each.state != stage):
            yield f"{where}state {each.state!r} is none of stage {stage}, a state as `diagnose` names it is wanted"
        elif each.kind == "exchange" and exchange_called(build, stage, exchange_in(each.state)) is None:
            known = _listed(e.id for e in exchanges(build, stage))
            yield f"{where}no exchange is called {exchange_in(each.state)!r}, {known}"
        elif each.kind == "ohms" and each.point not in (places := _places(build, stage)):
            yield f"{where}no place in ohms is called {each.point!r}, {_listed(places)}"
        elif each.kind != "ohms" and (each.point not in build.point or stage not in build.point[each.point].stages):
            yield f"{where}{each.point!r} is no point of stage {stage}, a point of the build file is wanted"
        elif each.kind != "ohms" and not isfinite(each.value):
            yield f"{where}{each.point} is OL, volts are wanted"


def _listed(names: Iterable[str]) -> str:
    found = list(names)
    more = ", …" if len(found) > _MOST_NAMES else ""
    return f"wanted is one of {', '.join(found[:_MOST_NAMES])}{more}" if found else "there is none in this stage"
