"""The stages of a build in their order, and what is fitted at each."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Literal

from benchtui.buildfile.inventory import parts
from benchtui.buildfile.models import Build, Stage

Kind = Literal["bench", "cold", "power"]

FEEDBACK, SIGNAL = "feedback", "signal"
"""The stage that tries a feedback lead, and the one that measures what the amplifier does with a signal."""


@dataclass(frozen=True)
class StageInfo:
    """A stage that a build passes through; `entry` is what the file says of it."""

    id: str
    title: str
    kind: Kind
    entry: Stage


@dataclass(frozen=True)
class Standard:
    """A standard stage, and which builds have it: each, one that names it, or one with a feedback lead to be tried."""

    id: str
    title: str
    kind: Kind
    used: Literal["always", "named", "feedback lead"]


@cache
def standard() -> tuple[Standard, ...]:
    """The standard stages in order, from stages.toml."""
    data = tomllib.loads(files(__package__).joinpath("stages.toml").read_text("utf-8"))
    return tuple(Standard(**stage) for stage in data["stage"])


def named(build: Build) -> frozenset[str]:
    """Stages that a part, a point, an adjustment or a `[stage]` entry of the build names."""
    found = {listed.part.stage for listed in parts(build)} | set(build.stage)
    for switch in build.switch.values():
        found.update(switch.open_in)
    for reader in (*build.point.values(), *build.adjust.values()):
        found.update(reader.stages)
    return frozenset(found)


def order(build: Build) -> tuple[str, ...]:
    """Every standard stage, used or not, and the build's own ones behind the stage that each comes `after`.

    Own stages with the same `after` keep the file's order; one in a loop or after nothing known is left out.
    """
    ids = {stage.id for stage in standard()}
    followers: dict[str, list[str]] = {}
    for key, entry in build.stage.items():
        if key not in ids and entry.after is not None:
            followers.setdefault(entry.after, []).append(key)
    found: list[str] = []
    for stage in standard():
        waiting = [stage.id]
        while waiting:
            now = waiting.pop()
            found.append(now)
            waiting.extend(reversed(followers.get(now, ())))
    return tuple(found)


@lru_cache(maxsize=16)
def stages(build: Build) -> tuple[StageInfo, ...]:
    """The stages that the build passes through, in order; skipped ones are left out."""
    used = named(build)
    return tuple(info for key in order(build) if (info := _info(build, key, used)) is not None)


@lru_cache(maxsize=256)
def fitted(build: Build, stage_id: str) -> frozenset[str]:
    """References of the parts whose stage is `stage_id` or before it.

    A valve counts from the stage that wires its electrodes. Raises KeyError for an unknown stage.
    """
    place = {key: number for number, key in enumerate(order(build))}
    last = place[stage_id]
    return frozenset(
        listed.id for listed in parts(build) if listed.part.stage in place and place[listed.part.stage] <= last
    )


def feedback_leads(build: Build) -> tuple[str, ...]:
    """Leads that close a feedback loop in the signal stage, and are tried in a power-up of their own before it."""
    return tuple(name for name, link in build.link.items() if link.feedback and link.stage == SIGNAL)


def trimmed_as(build: Build, stage_id: str) -> str:
    """The stage as which pots stand in `stage_id`: while the feedback is tried that of the signal, in a soak the last
    with power before it.
    """
    if stage_id == FEEDBACK:
        return SIGNAL
    entry = build.stage.get(stage_id)
    if entry is None or entry.soak is None:
        return stage_id
    powered = [info.id for info in stages(build) if info.kind == "power"]
    before = powered[: powered.index(stage_id)] if stage_id in powered else []
    return trimmed_as(build, before[-1]) if before else stage_id


def _info(build: Build, key: str, used: frozenset[str]) -> StageInfo | None:
    entry = build.stage.get(key, Stage())
    known = next((stage for stage in standard() if stage.id == key), None)
    if entry.skip or not (key in used or (known is not None and _has(build, known))):
        return None
    if known is not None:
        return StageInfo(key, entry.title or known.title, "power" if entry.soak else known.kind, entry)
    return StageInfo(key, entry.title or key, entry.kind or "power", entry)


def _has(build: Build, stage: Standard) -> bool:
    return stage.used == "always" or (stage.used == "feedback lead" and bool(feedback_leads(build)))
