"""Stages: known, in an order that can be walked, and safe to walk in that order."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build, Stage
from benchtui.buildfile.problems import Finding, Path, shown, suggestion
from benchtui.buildfile.stages import named, order, stages, standard


def check(build: Build) -> Iterator[Finding]:
    """Findings about stages."""
    yield from _references(build)
    yield from _entries(build)
    yield from _soaks(build)
    yield from _sequence(build)
    yield from _fitting(build)
    yield from _empty(build)


def _references(build: Build) -> Iterator[Finding]:
    reached = order(build)
    known = {*reached, *build.stage}
    for name, path in _named_at(build):
        if name not in known:
            yield Finding(path, "is no stage", suggestion(name, reached), shown(name))
        elif name in build.stage and build.stage[name].skip:
            skip = ("stage", name, "skip")
            yield Finding(path, "is a stage that is left out", "name another, or take skip away", shown(name), skip)


def _named_at(build: Build) -> Iterator[tuple[str, Path]]:
    for listed in parts(build):
        yield listed.part.stage, (*listed.path, "stage")
    for key, switch in build.switch.items():
        yield from ((name, ("switch", key, "open_in", number)) for number, name in enumerate(switch.open_in))
    for table, entries in (("point", build.point), ("adjust", build.adjust)):
        for key, entry in entries.items():
            yield from ((name, (table, key, "stages", number)) for number, name in enumerate(entry.stages))


def _entries(build: Build) -> Iterator[Finding]:
    standards = {stage.id for stage in standard()}
    reached = order(build)
    for key, entry in build.stage.items():
        yield from _standard_entry(key, entry) if key in standards else _own_entry(key, entry, build, reached)
    for table, entries in (("point", build.point), ("adjust", build.adjust)):
        for key, entry in entries.items():
            if not entry.stages:
                yield Finding((table, key, "stages"), "names no stage", "at least one is wanted")
            elif len(set(entry.stages)) < len(entry.stages):
                yield Finding((table, key, "stages"), "names a stage twice", "once is enough")


#: How long a soak may be, in seconds: own decision.
_SOAK_S = (600.0, 86400.0)


def _soaks(build: Build) -> Iterator[Finding]:
    """A soak is the sign-off's, last, of a length that says something, all in, and nothing inside is read or turned."""
    for key, entry in build.stage.items():
        path = ("stage", key, "soak")
        if entry.soak is None:
            continue
        if key != "signoff":
            yield Finding(path, "is the sign-off's alone", "leave it out", key)
        elif not _SOAK_S[0] <= entry.soak <= _SOAK_S[1]:
            yield Finding(path, "is no length for a soak", "10 min to 24 h, such as 2 h", f"{entry.soak:g} s")
        last = stages(build)[-1].id
        if key == "signoff" and last != key:
            yield Finding(path, "is not the last of all", f"let no stage come after it: {last} does", key)
        for field in ("valves_out", "fuses_out"):
            if getattr(entry, field):
                yield Finding(
                    ("stage", key, field), "has something out in a soak", "leave it out: all is in", key, path
                )
        for name, adjustment in build.adjust.items():
            if key in adjustment.stages:
                right = "take the stage away: pots stay as they were trimmed before"
                yield Finding(("adjust", name, "stages"), "is trimmed in a soak", right, name, path)
        for name, point in build.point.items():
            if key in point.stages and point.quantity != "resistance" and not point.outside:
                right = "outside = true if it is reached with the cover screwed on; else take the stage away"
                yield Finding(("point", name, "stages"), "is read in a soak and not from outside", right, name, path)


def _standard_entry(key: str, entry: Stage) -> Iterator[Finding]:
    for field in ("kind", "after"):
        if getattr(entry, field) is not None:
            path = ("stage", key, field)
            right = "leave it out, or use a name of your own"
            yield Finding(path, f"can't be set: {key} is a standard stage", right, shown(getattr(entry, field)))


def _own_entry(key: str, entry: Stage, build: Build, reached: tuple[str, ...]) -> Iterator[Finding]:
    for field in ("title", "kind", "after"):
        if not getattr(entry, field):
            yield Finding(("stage", key, field), "is missing", f"{key} is a stage of your own and needs it")
    if entry.after is None:
        return
    path = ("stage", key, "after")
    if entry.after not in {*reached, *build.stage}:
        yield Finding(path, "is no stage", suggestion(entry.after, reached), shown(entry.after))
    elif key not in reached:
        right = "the chain of after must begin at a standard stage"
        yield Finding(path, "can't be reached", right, shown(entry.after))


def _sequence(build: Build) -> Iterator[Finding]:
    """No stage is powered before its cold checks."""
    walked = stages(build)
    ids = [stage.id for stage in walked]
    powered = [stage for stage in walked if stage.kind == "power"]
    if powered and "cold" not in ids:
        yield Finding(("stage", "cold", "skip"), "leaves out the cold checks", "no stage is powered before them")
        return
    for stage in powered:
        if ids.index(stage.id) < ids.index("cold"):
            path = ("stage", stage.id, "after")
            right = "it must come after cold"
            yield Finding(path, "puts a powered stage before the cold checks", right, shown(stage.entry.after))


def _fitting(build: Build) -> Iterator[Finding]:
    """No valve stage before its supply; no reading or trimming of what is not there yet."""
    place = {key: number for number, key in enumerate(order(build))}
    if "supply" in named(build):
        for key, valve in build.valve.items():
            if place.get(valve.stage, place["supply"]) < place["supply"]:
                right = "its electrodes are wired in supply or later; its heater follows its winding"
                yield Finding(("valve", key, "stage"), "comes before the supply", right, shown(valve.stage))
    for key, adjustment in build.adjust.items():
        pot = build.pot.get(adjustment.pot)
        for number, stage in enumerate(adjustment.stages):
            if pot is not None and place.get(stage, 0) < place.get(pot.stage, 0):
                path = ("adjust", key, "stages", number)
                right = f"{adjustment.pot} is fitted in {pot.stage}"
                yield Finding(path, "comes before its pot is fitted", right, shown(stage), ("pot", adjustment.pot))


def _empty(build: Build) -> Iterator[Finding]:
    read = {stage for point in build.point.values() for stage in point.stages}
    for stage in stages(build):
        if stage.kind == "power" and stage.id not in read:
            path = ("stage", stage.id) if stage.id in build.stage else ("point",)
            right = "name a point to read there"
            yield Finding(path, f"leaves nothing to be read in the powered stage {stage.id}", right, odd=True)
    for key, adjustment in build.adjust.items():
        if adjustment.reach == "inside":
            right = "bring it to the outside, or trim with an insulated tool and one hand"
            yield Finding(("adjust", key, "reach"), "is trimmed live inside the chassis", right, odd=True)
