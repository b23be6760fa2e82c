"""Papers on their way to the disk: all are made before the first is written, and no foreign file is touched."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli.answer import Exit, Refusal
from benchtui.cli.program import program
from benchtui.cli.template_files import with_library, write
from benchtui.quantities.clean import clean

if TYPE_CHECKING:
    from benchtui.papers.blocks import Document
    from benchtui.papers.source import Source

MARK = "written by benchtui report"
"""What every file of ours has in it, so that none of anybody else's is overwritten."""

_SUFFIXES = {"html": (".html",), "pdf": (".pdf",), "lid": (".pdf", ".html", ".md")}
"""By option: so that no record or build file is ever taken for a place to write to."""


def written(options: argparse.Namespace, source: Source) -> list[Path]:
    """The files that the options ask for, written. Raises Refusal."""
    named = {name: path for name in _SUFFIXES if (path := getattr(options, name)) is not None}
    wrong = [
        f"--{name} {path} ends with none of {', '.join(_SUFFIXES[name])}, name a file that does"
        for name, path in named.items()
        if path.suffix.lower() not in _SUFFIXES[name]
    ]
    if len({path.absolute() for path in named.values()}) < len(named):
        wrong.append("two of the files have one name, each wants its own")
    if wrong:
        raise Refusal(Exit.INPUT_WRONG, "\n".join(clean(f"benchtui report: {each}") for each in wrong))
    files: dict[Path, bytes] = {}
    if options.html is not None or options.pdf is not None:
        from benchtui.papers.report import report

        document = report(source, program())
        for path, suffix in ((options.html, ".html"), (options.pdf, ".pdf")):
            if path is not None:
                files[path] = _made(document, suffix)
    if options.lid is not None:
        from benchtui.papers.lid import lid

        files[options.lid] = _made(lid(source), options.lid.suffix.lower())
    return write(files, MARK, "report") if files else []


def _made(document: Document, suffix: str) -> bytes:
    makers: dict[str, Callable[[Document], bytes]] = {".pdf": _pdf, ".html": _html, ".md": _markdown}
    return with_library(suffix[1:].upper(), "report", lambda: makers[suffix](document))


def _pdf(document: Document) -> bytes:
    from benchtui.papers.as_pdf import pdf

    return pdf(document, MARK)


def _html(document: Document) -> bytes:
    from benchtui.papers.as_html import html

    return html(document, MARK).encode("utf-8")


def _markdown(document: Document) -> bytes:
    from benchtui.papers.as_markdown import markdown

    return f"{markdown(document)}\n\n<!-- {MARK} -->\n".encode()
