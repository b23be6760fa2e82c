"""Bench notes as the commands take them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from benchtui.cli.answer import Exit, Refusal

if TYPE_CHECKING:
    from benchtui.buildfile.notes_load import LoadedNotes


def load_notes_file(path: str) -> LoadedNotes:
    """The notes in the file at `path`. Raises Refusal with every problem, one a line."""
    from benchtui.buildfile.notes_load import load_notes
    from benchtui.buildfile.problems import BuildFileError

    try:
        return load_notes(path)
    except BuildFileError as error:
        raise Refusal(Exit.INPUT_WRONG, str(error)) from error
