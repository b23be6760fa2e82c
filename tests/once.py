"""What is the same in every test of a process, and is computed once in it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from unittest.mock import patch

from benchtui.buildfile import load
from benchtui.buildfile.load import Loaded
from benchtui.buildfile.source import Source

#: Files kept: more than the demo builds, the reference amplifiers and what one test makes of them.
_MOST = 32


@contextmanager
def each_file_loaded_once() -> Iterator[None]:
    """In here a sound build file with the same bytes is parsed and checked once, wherever it lies.

    A build never changes and its bytes are all that it is made of, so this differs from loading it again in time alone.
    """
    known: dict[str, Loaded] = {}
    really = load._load

    def loaded(file: Source) -> Loaded:
        if file.sha256 not in known:
            while len(known) >= _MOST:
                del known[next(iter(known))]
            known[file.sha256] = really(file)
        found = known[file.sha256]
        if found.path == file.name:
            return found
        odd = tuple(replace(problem, file=file.name) for problem in found.warnings)
        return replace(found, path=file.name, lines=replace(found.lines, file=file.name), warnings=odd)

    with patch.object(load, "_load", loaded):
        yield
