"""What a record of readings gives a forecast: the stage, the mains, and what was read so far.

The record is one JSON object; its form is in README.md under "For other programs".
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from math import inf, isfinite
from typing import Any, NoReturn

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.quantities.clean import clean

SCHEMA = 1

#: Mains beyond this many times the rated volts is a slip or another country's; own decision.
HIGHEST_MAINS = 1.5

_KEYS = ("schema", "stage", "mains_v", "readings", "earlier", "fuses", "further", "symptoms")
_EARLIER_KEYS = ("mains_v", "readings")
_FURTHER_KEYS = ("kind", "state", "point", "value")
_FURTHER_KINDS = ("live", "again", "ohms", "exchange")
_UNSIGNED = ("ac", "ripple", "resistance")
_LONGEST_QUOTE = 40


@dataclass(frozen=True)
class StageReadings:
    """What one stage read: SI values by point, infinite for open (OL); `mains_v` is None if not noted."""

    mains_v: float | None
    readings: Mapping[str, float]


@dataclass(frozen=True)
class Further:
    """A reading that was made because a diagnosis asked for it: `kind`, `state` and `point` as it named them."""

    kind: str
    state: str
    point: str
    value: float


@dataclass(frozen=True)
class Given:
    """One record. `readings` belong to `stage`; `blown` are the fuses found blown, `further` come last,
    `symptoms` are what it does, by id.

    `worked`: the amplifier was finished and sound before, so that nothing in it was just wired.
    """

    stage: str | None = None
    mains_v: float | None = None
    readings: Mapping[str, float] = field(default_factory=dict)
    earlier: Mapping[str, StageReadings] = field(default_factory=dict)
    blown: frozenset[str] = frozenset()
    further: tuple[Further, ...] = ()
    symptoms: tuple[str, ...] = ()
    worked: bool = False


class GivenError(ValueError):
    """A record that is refused: `problems` are sentences, all that were found."""

    def __init__(self, problems: Iterable[str]) -> None:
        self.problems = tuple(clean(problem) for problem in problems)
        super().__init__("\n".join(self.problems))


def read_given(text: str, build: Build, *, stage: str | None = None, symptoms: Collection[str] | None = None) -> Given:
    """The record in `text`, checked against `build`; `stage` is meant where the record names none, `symptoms` are those
    that are known (None: nobody asks).

    Raises GivenError with every problem found.
    """
    data = _parsed(text)
    problems = list(_shape_problems(data, _KEYS, "the record"))
    if data.get("schema", SCHEMA) != SCHEMA or isinstance(data.get("schema"), bool):
        problems.append(f'"schema" is {_quote(data["schema"])}, {SCHEMA} is wanted')
    named = data.get("stage", stage)
    problems += _stage_problems(build, named)
    problems += _stage_readings_problems(build, named, data, "")
    if named is None and data.get("readings"):
        problems.append('the readings belong to no stage, "stage" is wanted')
    problems += _earlier_problems(build, named, data.get("earlier", {}))
    problems += _fuse_problems(build, data.get("fuses", {}))
    problems += _further_problems(data.get("further", []))
    problems += _symptom_problems(data.get("symptoms", []), symptoms)
    if problems:
        raise GivenError(problems)
    return Given(
        stage=named,
        mains_v=_volts(data.get("mains_v")),
        readings=_values(data["readings"]),
        earlier={
            key: StageReadings(_volts(entry.get("mains_v")), _values(entry["readings"]))
            for key, entry in data.get("earlier", {}).items()
        },
        blown=frozenset(data.get("fuses", {})),
        further=tuple(
            Further(each["kind"], each["state"], each["point"], _value(each["value"]))
            for each in data.get("further", [])
        ),
        symptoms=tuple(dict.fromkeys(data.get("symptoms", []))),
        worked=bool(data.get("symptoms")),
    )


def mains_problem(build: Build, mains_v: float) -> str | None:
    """What is wrong with `mains_v` as volts at the primary of `build`, or None."""
    highest = HIGHEST_MAINS * build.mains.volts
    if 0 < mains_v <= highest:
        return None
    return f"mains of {mains_v:g} V is no mains for this build, more than 0 and up to {highest:g} V is wanted"


def _parsed(text: str) -> dict[str, Any]:
    try:
        data = json.loads(text, parse_int=float, parse_constant=_no_constant, object_pairs_hook=_without_doubles)
    except json.JSONDecodeError as error:
        hint = "one record is wanted" if error.msg == "Extra data" else "one JSON object is wanted"
        wrong = f"line {error.lineno}: this is not one JSON record ({error.msg}), {hint}"
        raise GivenError([wrong]) from error
    except RecursionError as error:
        raise GivenError(["the record is nested too deep, one plain JSON object is wanted"]) from error
    if not isinstance(data, dict):
        raise GivenError([f"the record is {_quote(data)}, one JSON object is wanted"])
    return data


def _no_constant(text: str) -> NoReturn:
    raise GivenError([f'{text} is no reading, a number or "OL" is wanted'])


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        doubled = next(name for name in names if names.count(name) > 1)
        raise GivenError([f"{_quote(doubled)} is written twice, once is enough"])
    return found


def _shape_problems(data: Mapping[str, Any], keys: tuple[str, ...], what: str) -> Iterable[str]:
    for key in data:
        if key not in keys:
            yield f"{what} has the unknown key {_quote(key)}, the keys are {', '.join(keys)}"
    if "readings" not in data:
        yield f'{what} has no "readings", a table of point and value is wanted (it may be empty)'


def _stage_problems(build: Build, stage: object) -> Iterable[str]:
    if stage is None:
        return
    known = [info.id for info in stages(build)]
    if stage not in known:
        yield f"the build has no stage {_quote(stage)}, its stages are {', '.join(known)}"


def _stage_readings_problems(build: Build, stage: object, data: Mapping[str, Any], where: str) -> Iterable[str]:
    mains = data.get("mains_v")
    if mains is not None and not _is_number(mains):
        yield f'{where}"mains_v" is {_quote(mains)}, volts as a number are wanted'
    elif mains is not None and (wrong := mains_problem(build, mains)):
        yield f"{where}{wrong}"
    readings = data.get("readings", {})
    if not isinstance(readings, dict):
        yield f'{where}"readings" is {_quote(readings)}, a table of point and value is wanted'
        return
    for name, value in readings.items():
        if wrong := _reading_problem(build, stage, name, value):
            yield where + wrong


def _reading_problem(build: Build, stage: object, name: str, value: object) -> str | None:
    point = build.point.get(name)
    if point is None:
        return f"the build has no point {_quote(name)}, a name under [point] is wanted"
    if stage is not None and stage not in point.stages:
        return f"point {name} is not read in stage {_quote(stage)}, only in {', '.join(point.stages)}"
    if value == "OL":
        if point.quantity == "resistance":
            return None
        return f"point {name} is OL, which only a resistance can be: take a higher range and give the volts"
    if not _is_number(value):
        return f'point {name} is {_quote(value)}, a number in volts or ohms (or "OL") is wanted'
    if value < 0 and point.quantity in _UNSIGNED:
        return f"point {name} is {value:g}, below zero, which its quantity ({point.quantity}) cannot be"
    return None


def _earlier_problems(build: Build, stage: object, earlier: object) -> Iterable[str]:
    if not isinstance(earlier, dict):
        yield f'"earlier" is {_quote(earlier)}, a table of stage and its readings is wanted'
        return
    for name, entry in earlier.items():
        where = f"earlier {_quote(name)}: "
        if name == stage:
            yield f"{where}this is the record's own stage, an earlier one is wanted"
            continue
        yield from (where + wrong for wrong in _stage_problems(build, name))
        if not isinstance(entry, dict):
            yield f"{where}{_quote(entry)} is no table of mains_v and readings"
            continue
        yield from _shape_problems(entry, _EARLIER_KEYS, where.rstrip(": "))
        yield from _stage_readings_problems(build, name, entry, where)


def _fuse_problems(build: Build, fuses: object) -> Iterable[str]:
    if not isinstance(fuses, dict):
        yield f'"fuses" is {_quote(fuses)}, a table such as {{"F1": "blown"}} is wanted'
        return
    for name, value in fuses.items():
        if name not in build.fuse:
            yield f"the build has no fuse {_quote(name)}, its fuses are {', '.join(build.fuse) or 'none'}"
        if value != "blown":
            yield f'fuse {_quote(name)} is {_quote(value)}, "blown" is wanted (leave out a good one)'


def _further_problems(further: object) -> Iterable[str]:
    if not isinstance(further, list):
        yield f'"further" is {_quote(further)}, a list of readings is wanted'
        return
    for number, entry in enumerate(further, 1):
        where = f"further {number}: "
        if not isinstance(entry, dict) or set(entry) != set(_FURTHER_KEYS):
            yield f"{where}{_quote(entry)} is no table of {', '.join(_FURTHER_KEYS)}"
            continue
        if entry["kind"] not in _FURTHER_KINDS:
            yield f'{where}"kind" is {_quote(entry["kind"])}, one of {", ".join(_FURTHER_KINDS)} is wanted'
        if not isinstance(entry["state"], str) or not isinstance(entry["point"], str):
            yield f'{where}"state" and "point" are wanted as `diagnose` named them'
        value = entry["value"]
        if not _is_number(value) and not (value == "OL" and entry["kind"] == "ohms"):
            yield f'{where}"value" is {_quote(value)}, a number in volts or ohms is wanted (in ohms also "OL")'
        elif entry["kind"] == "ohms" and _is_number(value) and value < 0:
            yield f'{where}"value" is {value:g} ohms, which is below zero'


def _symptom_problems(told: object, known: Collection[str] | None) -> Iterable[str]:
    if not isinstance(told, list) or not all(isinstance(each, str) for each in told):
        yield f'"symptoms" is {_quote(told)}, a list such as ["hum"] is wanted'
        return
    for each in told:
        if known is not None and each not in known:
            yield f"{_quote(each)} is no symptom, those known are {', '.join(known)}"


def _is_number(value: object) -> bool:
    return isinstance(value, float) and isfinite(value)


def _volts(value: float | None) -> float | None:
    return None if value is None else float(value)


def _values(readings: Mapping[str, Any]) -> dict[str, float]:
    return {name: _value(value) for name, value in readings.items()}


def _value(value: Any) -> float:
    return inf if value == "OL" else value


def _quote(value: object) -> str:
    if isinstance(value, float):
        return f"{value:g}"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= _LONGEST_QUOTE else f"{text[: _LONGEST_QUOTE - 1]}…"
