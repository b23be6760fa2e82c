"""What a document is made from: the record, the build file that it carries, and what its readings belong to."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from benchtui.assemble.checked import load_text_checked
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.forecast.inspection import inspection
from benchtui.papers.history import History, history
from benchtui.record import Damaged, Journal, NotARecord, held_elsewhere
from benchtui.session.filed import filed, filed_text
from benchtui.session.planning import plan
from benchtui.session.rehearsed import hurried, is_rehearsal
from benchtui.session.shutting import with_touchable

#: What the id of a reading ends with that the program asked for by itself.
_COMPUTED = " ohm"


@dataclass(frozen=True)
class Source:
    """`damage` says what is wrong with the record, "" where it is sound up to its end; `open_elsewhere`: a program
    was writing it meanwhile. `text` is the build file that the record goes by, `sha256` its hash."""

    record: Path
    build: Build
    text: str
    sha256: str
    history: History
    rehearsal: bool
    damage: str = ""
    open_elsewhere: bool = False
    follows: str = ""
    """The damaged record that this one was begun in the place of."""


def source(path: Path) -> Source:
    """Read the record at `path` without taking part in it.

    Raises RecordError where nothing can be read, BuildFileError and UnknownEvent where this program does not understand
    what it holds.
    """
    with Journal.open(path, write=False) as journal:
        if not journal.events:
            raise NotARecord(path, "no event of it is sound")
        text = filed_text(journal)
        build = load_text_checked(text, f"{path.name} (the build file in it)").build
        build = with_touchable(hurried(build) if is_rehearsal(journal) else build)
        asked = {str(event.data.get("point", "")) for event in journal.events}
        computed = any(id.endswith(_COMPUTED) for id in asked)
        inspections = {info.id: inspection(build, info.id) for info in stages(build)} if computed else {}
        found = history(journal, plan(build, {}, (), inspections))
        damage = str(journal.trouble) if isinstance(journal.trouble, Damaged) else ""
        quotes = journal.header.get("quotes")
        follows = f"{quotes['file']}, sound up to #{quotes['event']}" if quotes else ""
        sha256 = str(filed(journal).get("sha256", ""))
        return Source(path, build, text, sha256, found, is_rehearsal(journal), damage, held_elsewhere(path), follows)
