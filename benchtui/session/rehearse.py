"""Open the rehearsal of a build: begin its record, or go on with it."""

from __future__ import annotations

import os
from functools import partial
from pathlib import Path
from secrets import randbelow

from benchtui.quantities.clean import clean
from benchtui.record import held_elsewhere
from benchtui.session.apart import Apart
from benchtui.session.clock import Clock
from benchtui.session.errors import PlaceWrong
from benchtui.session.forecaster import Forecaster, Simulator
from benchtui.session.opening import open_session
from benchtui.session.rehearsed import SUFFIX, Rehearsed
from benchtui.session.rehearsing import RehearsalSession
from benchtui.session.session import Session

#: Seeds that are drawn where none is named: short enough to be told and typed.
_SEEDS = 10_000


def open_rehearsal(
    build_path: Path,
    *,
    record_folder: Path | None = None,
    seed: int | None = None,
    fault: str | None = None,
    new: bool = False,
    clock: Clock | None = None,
    forecaster: Forecaster | None = None,
    simulator: Simulator | None = None,
) -> Session:
    """The rehearsal of the build file at `build_path`; its record lies beside it or in `record_folder`.

    A new one takes `seed`, or one that is drawn, and `fault`, "random" (by default) or "none"; `new` sets an older one
    aside. Raises BuildWrong or PlaceWrong, as `open_session` does.
    """
    path = rehearsal_of(build_path, record_folder)
    if new:
        _set_aside(path)
    header = {"seed": randbelow(_SEEDS) if seed is None else seed, "fault": fault or "random"}
    make = partial(RehearsalSession, simulator=simulator or Apart())
    rehearsed = Rehearsed(path, header, make, seed, fault)
    return open_session(build_path, clock=clock, forecaster=forecaster, rehearsed=rehearsed)


def rehearsal_of(build_path: Path, record_folder: Path | None = None) -> Path:
    """Where the record of that build file's rehearsal lies."""
    return (record_folder or build_path.parent) / f"{build_path.stem}{SUFFIX}"


def _set_aside(path: Path) -> None:
    """The record of an older rehearsal gets the next free number to its name, its head as well."""
    if not path.exists():
        return
    if held_elsewhere(path):
        raise PlaceWrong(clean(f"{path}: another program has this rehearsal open, so it is not set aside"))
    number = next(n for n in range(1, 10_000) if not Path(f"{path}.{n}").exists())
    try:
        os.rename(path, f"{path}.{number}")
        head = Path(f"{path}.head")
        if head.exists():
            os.rename(head, f"{path}.{number}.head")
    except OSError as error:
        raise PlaceWrong(clean(f"{path}: cannot be set aside, {error.strerror}")) from error
