"""Names: each stands for one thing, looks like no other, and what is referred to exists."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain

from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build, Point, Valve
from benchtui.buildfile.problems import Finding, Path, place, shown, suggestion

_LOOK_ALIKE = str.maketrans("OolI", "0011")
_SECTION_LETTERS = "abcd"


def check(build: Build) -> Iterator[Finding]:
    """Findings about names and references."""
    yield from _unique(build)
    yield from _parts_refer(build)
    yield from _adjustments_refer(build)
    yield from _stages_refer(build)
    yield from _points_refer(build)
    yield from _salvaged_refers(build)
    yield from _unused(build)


def section_names(key: str, valve: Valve) -> tuple[str, ...]:
    """Names that a section of the valve may be called by: its own, or those given by default."""
    return valve.sections or (key, *(key + letter for letter in _SECTION_LETTERS))


def _named(build: Build) -> Iterator[tuple[str, Path]]:
    """Every name that a screen or report may show, with its place."""
    for key in build.transformer:
        yield key, ("transformer", key)
    for listed in parts(build):
        yield listed.id, listed.path
    for key, valve in build.valve.items():
        for number, section in enumerate(valve.sections or ()):
            if section != key:
                yield section, ("valve", key, "sections", number)
    for key in build.point:
        yield key, ("point", key)


def _unique(build: Build) -> Iterator[Finding]:
    seen: dict[str, Path] = {}
    for name, path in _named(build):
        forms = (name, "any case " + name.casefold(), "look " + name.translate(_LOOK_ALIKE))
        clash = next((form for form in forms if form in seen), None)
        if clash is not None:
            wrong = "has the name of" if clash == name else "can be taken for"
            yield Finding(path, f"{wrong} {place(seen[clash])}", "a name of its own is wanted", other=seen[clash])
        for form in forms:
            seen.setdefault(form, path)


def _known(path: Path, name: str, what: str, known: Mapping[str, object] | set[str]) -> Iterator[Finding]:
    if name not in known:
        yield Finding(path, f"is no {what} of this build", suggestion(name, known), shown(name))


def _parts_refer(build: Build) -> Iterator[Finding]:
    for key, heater in build.heater.items():
        yield from _known(("heater", key, "valve"), heater.valve, "valve", build.valve)
    for table, entries in (("valve", build.valve), ("diode", build.diode)):
        for key, entry in entries.items():
            if entry.model is not None:
                yield from _known((table, key, "model"), entry.model, "[model]", build.model)


def _adjustments_refer(build: Build) -> Iterator[Finding]:
    sections = set(chain.from_iterable(section_names(key, valve) for key, valve in build.valve.items()))
    for key, adjustment in build.adjust.items():
        path = ("adjust", key)
        yield from _known((*path, "pot"), adjustment.pot, "pot", build.pot)
        yield from _known((*path, "point"), adjustment.point, "point", build.point)
        if adjustment.valve is not None:
            yield from _known((*path, "valve"), adjustment.valve, "valve section", sections)
        point = build.point.get(adjustment.point)
        for number, stage in enumerate(adjustment.stages):
            if point is not None:
                yield from _read_at((*path, "stages", number), adjustment.point, point, stage)


def _stages_refer(build: Build) -> Iterator[Finding]:
    for key, stage in build.stage.items():
        path = ("stage", key)
        for number, valve in enumerate(stage.valves_out):
            yield from _known((*path, "valves_out", number), valve, "valve", build.valve)
        for number, fuse in enumerate(stage.fuses_out):
            yield from _known((*path, "fuses_out", number), fuse, "fuse", build.fuse)
        if stage.watch is not None:
            yield from _known((*path, "watch"), stage.watch, "point", build.point)
            if stage.watch in build.point:
                yield from _read_at((*path, "watch"), stage.watch, build.point[stage.watch], key)


def _read_at(path: Path, name: str, point: Point, stage: str) -> Iterator[Finding]:
    if stage not in point.stages:
        wrong = f"needs a reading of {name} in stage {stage}"
        yield Finding(path, wrong, f"add {stage} to the stages of that point", other=("point", name, "stages"))


def _points_refer(build: Build) -> Iterator[Finding]:
    mains = build.mains
    if mains.read_point is not None:
        yield from _known(("mains", "read_point"), mains.read_point, "point", build.point)
    if (mains.read_point is None) == (mains.read_at == "heater winding"):
        right = 'with read_at = "heater winding" a read_point is needed, otherwise there is none'
        yield Finding(("mains", "read_at"), "does not fit read_point", right, shown(mains.read_at))
    for key, point in build.point.items():
        if point.socket is not None:
            yield from _socket(("point", key, "socket"), point, point.socket, build)


def _salvaged_refers(build: Build) -> Iterator[Finding]:
    known = {*build.transformer, *(listed.id for listed in parts(build))}
    for key in build.salvaged:
        if key not in known:
            yield Finding(("salvaged", key), "is no part of this build", suggestion(key, sorted(known)))


def _socket(path: Path, point: Point, socket: str, build: Build) -> Iterator[Finding]:
    name, _, pin = socket.rpartition(".")
    if name not in build.valve:
        yield Finding(path, "names no valve of this build", "valve and pin are wanted, such as V2.8", shown(socket))
    elif pin not in build.valve[name].pins:
        known = build.valve[name].pins
        yield Finding(path, f"is a pin that {name} does not list", suggestion(pin, known), shown(socket))
    elif build.valve[name].pins[pin] not in (point.red, point.black):
        node = build.valve[name].pins[pin]
        right = f"the pin of node {point.red} is wanted"
        yield Finding(path, f"is on node {node}, where no probe goes", right, shown(socket), other=("valve", name))


def _unused(build: Build) -> Iterator[Finding]:
    models = {entry.model for entry in (*build.valve.values(), *build.diode.values())}
    models |= {diode.type for diode in build.diode.values()}
    for key in build.model.keys() - models:
        yield Finding(("model", key), "is used by nothing", "a valve or diode names it by model", odd=True)
    types = {entry.type for entry in (*build.valve.values(), *build.diode.values())}
    for key in build.limits.keys() - types:
        yield Finding(("limits", key), "is no type in this build", suggestion(key, sorted(types)), odd=True)
    matched = [valve.matched for valve in build.valve.values()]
    for key, valve in build.valve.items():
        if valve.matched is not None and matched.count(valve.matched) == 1:
            path = ("valve", key, "matched")
            right = "the other valves of the set name it too"
            yield Finding(path, "is a matched set of one", right, shown(valve.matched), odd=True)
