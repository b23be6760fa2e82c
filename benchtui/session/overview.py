"""The builds and records of a folder at a glance: where each stands, read without taking part in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from benchtui.assemble.checked import load_checked, load_text_checked
from benchtui.buildfile.models import Build
from benchtui.buildfile.problems import BuildFileError
from benchtui.procedure import codec
from benchtui.procedure.decide import fold
from benchtui.procedure.plan import Plan
from benchtui.procedure.state import State
from benchtui.quantities.clean import clean
from benchtui.record import Damaged, Journal, RecordError
from benchtui.session.filed import filed_text
from benchtui.session.notebook import Notebook
from benchtui.session.planning import plan
from benchtui.session.rehearsed import is_rehearsal
from benchtui.session.shutting import with_touchable
from benchtui.session.tables import table

RECORDS = ".bench"
BUILDS = ".toml"

#: A folder with more builds than this is none of a bench.
_MOST = 200


@dataclass(frozen=True)
class Standing:
    """One build: its file and its record, each "" where there is none, and how far the work is.

    `trouble` says why nothing more is known. `stands` is the state that the record ends in, in words; `loose` what was
    left loose; `last_s` the wall time of its last entry.
    """

    id: str
    name: str
    file: str = ""
    record: str = ""
    stage: str = ""
    stands: str = ""
    loose: str = ""
    last_s: float | None = None
    trouble: str = ""


def standings(folder: Path) -> tuple[Standing, ...]:
    """Every build of `folder`, by file name. Raises OSError where the folder cannot be read."""
    names = sorted(entry.name for entry in folder.iterdir() if entry.suffix in (RECORDS, BUILDS))
    stems = dict.fromkeys(Path(name).stem for name in names)
    return tuple(found for stem in list(stems)[:_MOST] for found in _standing(folder, stem, names))


def _standing(folder: Path, stem: str, names: list[str]) -> Iterator[Standing]:
    """The build called `stem`; nothing for a file that is no build's and has no record."""
    file = f"{stem}{BUILDS}" if f"{stem}{BUILDS}" in names else ""
    if f"{stem}{RECORDS}" in names:
        yield _of_record(folder / f"{stem}{RECORDS}", file)
        return
    try:
        build = load_checked(folder / file).build
    except BuildFileError:
        return
    yield Standing(build.id, build.name, file, stands=table("words")["standing"]["new"])


def _of_record(path: Path, file: str) -> Standing:
    try:
        with Journal.open(path, write=False) as journal:
            if isinstance(journal.trouble, Damaged):
                raise journal.trouble
            if is_rehearsal(journal):
                said = table("rehearsal")["refused"]["listed"]
                return Standing("", path.stem, file, path.name, trouble=said)
            build = with_touchable(load_text_checked(filed_text(journal), path.name).build)
            return _told(build, journal, file)
    except (RecordError, BuildFileError, codec.UnknownEvent) as error:
        return Standing("", path.stem, file, path.name, trouble=clean(str(error).splitlines()[0]))


def _told(build: Build, journal: Journal, file: str) -> Standing:
    of = plan(build, {})
    state, notebook = folded(of, journal)
    return Standing(
        build.id,
        build.name,
        file,
        journal.path.name,
        stage=state.at(of).stage,
        stands=table("words")["standing"][state.mode.value],
        loose=notebook.left,
        last_s=journal.events[-1].t_wall,
    )


def folded(of: Plan, journal: Journal) -> tuple[State, Notebook]:
    """State and notebook after every event. Raises UnknownEvent for one of another version."""
    state, notebook = State(), Notebook()
    for saved in journal.events:
        if saved.kind in codec.KINDS or "v" in saved.data:
            event = codec.decode(saved.kind, saved.data)
            notebook.take(event, state.at(of).stage, saved.t_wall)
            state = fold(of, state, event)
    return state, notebook


def records_of(id: str, folders: Iterable[Path]) -> Iterator[Path]:
    """The records of the build `id` in `folders`; what cannot be read, folder or file, is passed over."""
    for folder in dict.fromkeys(folders):
        try:
            paths = sorted(path for path in folder.iterdir() if path.suffix == RECORDS and path.is_file())
        except OSError:
            continue
        yield from (path for path in paths[:_MOST] if _id_of(path) == id)


def _id_of(path: Path) -> str:
    """The build that a record belongs to, "" where it does not say."""
    try:
        with Journal.open(path, write=False) as journal:
            return "" if is_rehearsal(journal) else str(journal.header.get("build", ""))
    except RecordError:
        return ""
