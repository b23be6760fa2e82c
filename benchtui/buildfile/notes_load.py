"""A file of bench notes loaded and checked: the notes, or every problem at once, each with its line."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from pydantic import ValidationError

from benchtui.buildfile import source
from benchtui.buildfile.lines import outline
from benchtui.buildfile.notes import Fed, NotedMainsTransformer, NotedTransformer, Notes
from benchtui.buildfile.parsed import parsed
from benchtui.buildfile.problems import BuildFileError, Finding, Path, Problem, place, shown, suggestion
from benchtui.buildfile.refusals import refusals

_OTHERS = ("rest", "core")
_WHAT = "a file of bench notes"


@dataclass(frozen=True)
class LoadedNotes:
    """Sound notes, with the line of every key in their file."""

    notes: Notes
    file: str
    lines: dict[Path, int]

    def line(self, path: Path) -> int:
        """The line of `path`, or of the nearest entry around it; 0 if there is none."""
        return _line(self.lines, path)


def load_notes(path: str | os.PathLike[str]) -> LoadedNotes:
    """The notes in the file at `path`, which is read once. Raises BuildFileError with every problem found."""
    file = source.read(path, _WHAT)
    found = outline(file.text)
    data = parsed(file, found, _WHAT)
    try:
        notes = Notes.model_validate(data)
    except ValidationError as error:
        raise BuildFileError(_problems(file.name, found.lines, refusals(error, Notes))) from error
    problems = _problems(file.name, found.lines, _structure(notes))
    if problems:
        raise BuildFileError(problems)
    return LoadedNotes(notes, file.name, found.lines)


def _problems(name: str, lines: dict[Path, int], findings: Iterable[Finding]) -> list[Problem]:
    return [
        Problem(name, _line(lines, each.path), place(each.path), each.found, each.wrong, each.right)
        for each in findings
    ]


def _line(lines: dict[Path, int], path: Path) -> int:
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 0)


def _structure(notes: Notes) -> Iterator[Finding]:
    """Leads that are in no list, and leads that are listed twice."""
    for table, parts in (("transformer", notes.transformer), ("output_transformer", notes.output_transformer)):
        for key, part in parts.items():
            path = (table, key)
            for number, lead in enumerate(part.leads):
                if part.leads.index(lead) != number:
                    yield Finding(
                        (*path, "leads", number), "is listed twice", "each lead has a name of its own", shown(lead)
                    )
            for where, text in _named(part):
                yield from _known((*path, *where), text, part.leads)


def _named(part: NotedTransformer) -> Iterator[tuple[Path, str]]:
    """Every lead and pair of leads that is named, with its place."""
    for table in ("ohms", "fine", "nodes", "names"):
        yield from (((table, key), key) for key in getattr(part, table, {}))
    for number, feed in enumerate(part.volts):
        yield from _fed(("volts", number), feed)
    yield from ((("screens", number), lead) for number, lead in enumerate(part.screens))
    if isinstance(part, NotedMainsTransformer):
        if part.primary is not None:
            yield ("primary", "ends"), part.primary.ends
            yield from ((("primary", "joined", n), text) for n, text in enumerate(part.primary.joined))
        if part.insulation is not None:
            yield from ((("insulation", "reads", key), key) for key in part.insulation.reads)
        if part.mains is not None:
            yield from ((("mains", "reads", key), key) for key in part.mains.reads)
    secondary = getattr(part, "secondary", None)
    if secondary is not None:
        yield ("secondary",), secondary


def _fed(path: Path, feed: Fed) -> Iterator[tuple[Path, str]]:
    yield (*path, "into"), feed.into
    yield from (((*path, "joined", number), text) for number, text in enumerate(feed.joined))
    yield from (((*path, "reads", key), key) for key in feed.reads)


def _known(path: Path, text: str, leads: tuple[str, ...]) -> Iterator[Finding]:
    first, *second = text.split("-")
    allowed = (
        {"ohms": ("rest",), "reads": _OTHERS}.get(str(path[-2]), ()) if "insulation" in path or "ohms" in path else ()
    )
    for lead in (first, *second):
        if lead not in leads and not (second and lead == second[0] and lead in allowed):
            yield Finding(path, f"names lead {lead}, which is not in `leads`", suggestion(lead, leads), shown(text))
