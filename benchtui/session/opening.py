"""Open a build: load it, open or begin its record, and fold what happened so far."""

from __future__ import annotations

import difflib
import os
from functools import partial
from pathlib import Path
from typing import Any

from benchtui.assemble.checked import load_checked, load_text_checked
from benchtui.buildfile.load import Loaded
from benchtui.buildfile.models import Build
from benchtui.buildfile.problems import BuildFileError
from benchtui.buildfile.stages import stages
from benchtui.procedure import codec
from benchtui.procedure.events import BuildChanged
from benchtui.quantities.clean import clean
from benchtui.record import CannotWrite, Damaged, Journal, Locked, NotFound, RecordError
from benchtui.session.apart import Apart
from benchtui.session.changing import touched
from benchtui.session.clock import Clock
from benchtui.session.ending import ending
from benchtui.session.errors import BuildWrong, PlaceWrong
from benchtui.session.filed import filed, filed_text
from benchtui.session.forecaster import Forecaster, Listener
from benchtui.session.overview import records_of
from benchtui.session.rehearsed import Rehearsed, hurried, refuse_other_kind
from benchtui.session.session import Session
from benchtui.session.shutting import with_touchable

#: Changed lines of a build file that are shown; the record keeps the whole file.
_MOST_CHANGES = 6

#: Folders beside a build file that are looked through for its record.
_MOST_FOLDERS = 50


def open_session(
    build_path: Path,
    *,
    record_folder: Path | None = None,
    clock: Clock | None = None,
    forecaster: Forecaster | None = None,
    listener: Listener | None = None,
    rehearsed: Rehearsed | None = None,
) -> Session:
    """The session of the build file at `build_path`; its record lies beside it or in `record_folder`.

    Where the build file is gone, the copy in its record stands in. Raises BuildWrong (a line for each problem) or
    PlaceWrong (folder, lock or record). A record that another program holds, or that is damaged, opens read only; in
    the place of a damaged one the session can begin a new one. `rehearsed`: not a real amplifier but that one, whose
    record is another file.
    """
    clock = clock or Clock()
    path = record_of(build_path, record_folder) if rehearsed is None else rehearsed.record
    journal = _existing(path, clock)
    try:
        refuse_other_kind(path, journal, rehearsed)
        loaded = _loaded(build_path, journal)
        _refuse_another(build_path, path, loaded.build, journal)
        if journal is None and rehearsed is None:
            _refuse_second(build_path, path, loaded.build)
        own = {} if rehearsed is None else {"rehearsal": rehearsed.header}
        journal = journal or _begin(path, loaded, clock, own)
        change = _change(journal, loaded, build_path)
        renew = (
            partial(_renew, path, loaded, clock, own, journal.trouble) if isinstance(journal.trouble, Damaged) else None
        )
        gone = not os.path.lexists(build_path)
        odd = tuple(str(warning) for warning in loaded.warnings)
        one, other = forecaster or Apart(), forecaster or Apart()
        make = Session if rehearsed is None else rehearsed.session
        build = with_touchable(loaded.build if rehearsed is None else hurried(loaded.build))
        session = make(build, journal, clock, one, change, renew, copied=gone, odd=odd, diagnoser=other,
                       listener=listener or Apart())  # fmt: skip
    except BuildFileError as error:
        _close(journal)
        raise BuildWrong("\n".join((str(error), *_trouble(journal)))) from error
    except codec.UnknownEvent as error:
        _close(journal)
        raise PlaceWrong(clean(f"{path}: {error}; it was written by another version of this program")) from error
    except RecordError as error:
        _close(journal)
        raise PlaceWrong(str(error)) from error
    return session


def record_of(build_path: Path, record_folder: Path | None = None) -> Path:
    """Where the record of that build file lies: under its stem, beside it or in `record_folder`."""
    return (record_folder or build_path.parent) / f"{build_path.stem}.bench"


def _existing(path: Path, clock: Clock) -> Journal | None:
    try:
        journal = Journal.open(path, clock=clock)
    except NotFound:
        return None
    except RecordError as error:
        raise PlaceWrong(str(error)) from error
    if journal.trouble is not None and not isinstance(journal.trouble, Locked | Damaged):
        raise PlaceWrong(str(journal.trouble))
    return journal


def _trouble(journal: Journal | None) -> tuple[str, ...]:
    """What is wrong with the record as well."""
    troubled = journal is not None and isinstance(journal.trouble, Locked | Damaged)
    return (str(journal.trouble),) if troubled else ()


def _loaded(build_path: Path, journal: Journal | None) -> Loaded:
    if journal is not None and journal.header and not os.path.lexists(build_path):
        return load_text_checked(filed_text(journal), f"{build_path} (copy in its record)")
    return load_checked(build_path)


def _refuse_another(build_path: Path, path: Path, build: Build, journal: Journal | None) -> None:
    """A record belongs to one build for good; its passes say nothing of another. Raises BuildWrong."""
    known = journal.header.get("build", build.id) if journal is not None else build.id
    if known != build.id:
        _close(journal)
        words = f"{build_path}: its id is {build.id!r}, but {path} is the record of {known!r}; give that build's file, "
        raise BuildWrong(clean(f"{words}or another folder for the record with --records"))


def _refuse_second(build_path: Path, path: Path, build: Build) -> None:
    """No second record of one build: it would not know what the first one knows of the chassis. Raises BuildWrong.

    Looked for beside the new record, beside the build file, and in the folders there.
    """
    beside = build_path.parent
    found = next(records_of(build.id, (path.parent, beside, *_folders_in(beside))), None)
    if found is None:
        return
    steps = [f"rename it to {path.name} and its {found.name}.head to {path.name}.head"] * (found.name != path.name)
    steps += [_place(found.parent, beside)] * (found.parent != path.parent)
    words = (
        f"{build_path}: {found} is a record of its id {build.id!r} already. To go on with that one, "
        f"{' and '.join(steps)}; for another chassis, give the build file another id"
    )
    raise BuildWrong("\n".join(clean(line) for line in (words, ending(found)) if line))


def _place(folder: Path, beside: Path) -> str:
    """How to have the record looked for in `folder`."""
    return "leave out --records" if folder == beside else f"open it with --records {folder}"


def _folders_in(folder: Path) -> list[Path]:
    try:
        inside = sorted(path for path in folder.iterdir() if path.is_dir() and not path.name.startswith("."))
    except OSError:
        return []
    return inside[:_MOST_FOLDERS]


def _begin(path: Path, loaded: Loaded, clock: Clock, own: dict[str, Any]) -> Journal:
    """A new record; `own` is what its header has besides."""
    if not path.parent.is_dir():
        raise CannotWrite(path, "its folder does not exist")
    header = {"build": loaded.build.id, "sha256": loaded.sha256, "source": loaded.text}
    return Journal.create(path, header | own, clock=clock)


def _renew(path: Path, loaded: Loaded, clock: Clock, own: dict[str, Any], damage: Damaged) -> Journal:
    """A new record in the place of the damaged one, which is kept beside it and quoted up to its last sound event."""
    kept = Journal.set_aside(path, clock=clock)
    quotes = {"file": kept.name, "event": damage.event, "hash": damage.hash}
    return _begin(path, loaded, clock, own | {"quotes": quotes})


def _change(journal: Journal, loaded: Loaded, build_path: Path) -> BuildChanged | None:
    known = filed(journal)
    if not known or known.get("sha256") == loaded.sha256 or journal.trouble is not None:
        return None
    lines = difflib.unified_diff(filed_text(journal).splitlines(), loaded.text.splitlines(), lineterm="", n=0)
    changed = [clean(line, 78) for line in lines if line[:1] in "+-" and line[:3] not in ("+++", "---")]
    more = len(changed) - _MOST_CHANGES
    shown = (*changed[:_MOST_CHANGES], *((f"and {more} more lines",) if more > 0 else ()))
    touches = _touched(journal, loaded.build, build_path)
    return BuildChanged(False, touches, shown or ("only line ends",), loaded.sha256, loaded.text)


def _touched(journal: Journal, build: Build, build_path: Path) -> tuple[str, ...]:
    """Stages that the change touches: all of them where the old file is none any more for this program."""
    try:
        before = load_text_checked(filed_text(journal), f"{build_path} (copy in its record)").build
    except BuildFileError:
        return tuple(info.id for info in stages(build))
    return touched(before, build)


def _close(journal: Journal | None) -> None:
    if journal is not None:
        journal.close()
