"""The record of a rehearsal: a file of another name, whose header says what it is, so that it never passes for a real
build's record, nor a real one for it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchtui.buildfile.models import Build
from benchtui.quantities.clean import clean
from benchtui.record import Journal
from benchtui.session.errors import BuildWrong
from benchtui.session.shutting import SIGN_OFF
from benchtui.session.tables import table

if TYPE_CHECKING:
    from benchtui.session.session import Session

#: What the name of a rehearsal's record ends with.
SUFFIX = ".rehearsal"

#: What a record's header has of it.
KEY = "rehearsal"


#: Seconds that a soak takes there: what is learnt in it is the way, not patience. Own decision.
_SOAK_S = 600.0


@dataclass(frozen=True)
class Rehearsed:
    """A rehearsal as it is asked for: its record, what a new one's header says of it, and who makes the session.

    `seed` and `fault` are what the builder named, None where nothing: a record has its own.
    """

    record: Path
    header: Mapping[str, Any]
    session: Callable[..., Session]
    seed: int | None = None
    fault: str | None = None


def is_rehearsal(journal: Journal) -> bool:
    """Is this the record of a rehearsal?"""
    return KEY in journal.header


def hurried(build: Build) -> Build:
    """`build` as a rehearsal has it: with a short soak where it has one."""
    stage = build.stage.get(SIGN_OFF)
    if stage is None or stage.soak is None:
        return build
    short = stage.model_copy(update={"soak": min(stage.soak, _SOAK_S)})
    return build.model_copy(update={"stage": {**build.stage, SIGN_OFF: short}})


def refuse_other_kind(path: Path, journal: Journal | None, rehearsed: Rehearsed | None) -> None:
    """A record goes on as what it was begun as, with the seed and fault that it has. Raises BuildWrong."""
    if journal is None or not journal.header:
        return
    words = table("rehearsal")["refused"]
    if is_rehearsal(journal) != (rehearsed is not None):
        journal.close()
        raise BuildWrong(clean(words["real" if rehearsed else "rehearsal"].format(path=path, suffix=f"*{SUFFIX}")))
    if rehearsed is None:
        return
    has = journal.header[KEY]
    if rehearsed.seed not in (None, has["seed"]) or rehearsed.fault not in (None, has["fault"]):
        journal.close()
        raise BuildWrong(clean(words["other"].format(path=path, **has)))
