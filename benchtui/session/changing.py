"""What a changed build file touches: the stages whose parts, readings or work are not what they were."""

from __future__ import annotations

from typing import Any

from benchtui.assemble.valves import heater_ends
from benchtui.buildfile.entry import Entry
from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import StageInfo, fitted, stages
from benchtui.procedure.events import BuildChanged
from benchtui.session import screen
from benchtui.session.bench import Bench
from benchtui.session.tables import table

#: Fields that are words for people or for another day: no reading and no work hangs on them.
_WORDS = {"name", "notes", "role", "label", "title", "source", "reason", "red_at", "black_at", "raise_by", "taps"}

#: Fields that say in which stages a thing counts: what counts in a stage is listed anyway.
_WHEN = {"stage", "stages", "open_in"}


def touched(before: Build, after: Build) -> tuple[str, ...]:
    """Stages of `after` that are not what they were in `before`, in order.

    A stage is touched by a part fitted in it or before it, a reading, an adjustment or a step of its own, and by mains
    or meter. A stage behind one that is new or gone has a way to it that nobody has walked.
    """
    old, new = list(stages(before)), list(stages(after))
    found = []
    for number, info in enumerate(new):
        known = next((each for each in old if each.id == info.id), None)
        moved = [each.id for each in old[:number]] != [each.id for each in new[:number]]
        if known is None or moved or _facts(before, known) != _facts(after, info):
            found.append(info.id)
    return tuple(found)


def changes(change: BuildChanged | None, bench: Bench) -> dict[str, str]:
    """What changed in the build file, and what of the work that is done it touches, as fields of the prompts."""
    if change is None:
        return {"changes": "", "touches": ""}
    first = next((n for n, phase in enumerate(bench.plan.phases) if phase.stage in change.touched), None)
    words = table("words")["changed"]
    done = first is not None and first <= bench.state.phase
    stage = screen.stage_title(bench, bench.plan.phases[first].stage) if first is not None and done else ""
    return {
        "changes": "; ".join(change.changes),
        "touches": words["touches" if done else "touches nothing"].format(stage=stage),
    }


def _facts(build: Build, info: StageInfo) -> dict[str, Any]:
    """All that the readings and the work of a stage hang on."""
    here = fitted(build, info.id)
    listed = [each for each in parts(build) if each.id in here]
    nodes = {node for each in listed for node in getattr(each.part, "nodes", ())}
    warmed = {heater.valve for heater in heater_ends(build) if {heater.a, heater.b} <= nodes}
    models = {getattr(each.part, "model", None) for each in listed}
    types = {getattr(each.part, "type", None) for each in listed} | {build.valve[valve].type for valve in warmed}
    primaries = {name: t.primary for name, t in build.transformer.items() if here & t.windings.keys()}
    return {
        "around": [_plain(build.mains), _plain(build.meter)],
        "kind": info.kind,
        "stage": _plain(info.entry),
        "parts": {each.path: _plain(each.part) for each in listed},
        "primaries": {name: _plain(primary) for name, primary in primaries.items()},
        "types": types,
        "models": {name: _plain(model) for name, model in build.model.items() if name in models},
        "limits": {name: _plain(limits) for name, limits in build.limits.items() if name in types},
        "points": {name: _plain(point) for name, point in build.point.items() if info.id in point.stages},
        "adjust": {name: _plain(adjust) for name, adjust in build.adjust.items() if info.id in adjust.stages},
        "open": {name for name, switch in build.switch.items() if info.id in switch.open_in},
    }


def _plain(entry: Entry) -> dict[str, Any]:
    return entry.model_dump(exclude=_WORDS | _WHEN)
