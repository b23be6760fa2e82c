"""What goes through a panel, held against the parts library: kinds and threads that it knows."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from benchtui.buildfile.models import Build
from benchtui.buildfile.problems import Finding, suggestion
from benchtui.parts.mountings import mountings
from benchtui.parts.screws import threads


def openings_found(build: Build) -> Iterator[Finding]:
    """Kinds and threads of openings that the library does not know."""
    for key, panel in build.panel.items():
        for table, name, opening in chain(
            (("holes", *item) for item in panel.holes.items()), (("rows", *item) for item in panel.rows.items())
        ):
            path = ("panel", key, table, name)
            if opening.kind not in mountings():
                right = suggestion(opening.kind, mountings())
                yield Finding((*path, "kind"), "is nothing that the library can mount", right, f'"{opening.kind}"')
            if opening.thread is not None and opening.thread not in threads():
                right = suggestion(opening.thread, threads())
                yield Finding((*path, "thread"), "is no thread in the library", right, f'"{opening.thread}"')
