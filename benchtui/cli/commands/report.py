"""Print what a build's record holds: the report of the bring-up, and the sheet for the lid."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli import json_text
from benchtui.cli.answer import Answer, Exit, Refusal
from benchtui.cli.paper_files import written
from benchtui.cli.program import program
from benchtui.quantities.clean import clean

if TYPE_CHECKING:
    from benchtui.papers.source import Source


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `report` takes."""
    parser.add_argument("build", metavar="BUILD", type=Path, help="the build file; its record lies beside it")
    parser.add_argument("--json", action="store_true", help="print the readings as JSON for other programs")
    parser.add_argument("--html", metavar="FILE", type=Path, help="write the report as one HTML file")
    parser.add_argument("--pdf", metavar="FILE", type=Path, help="write the report as PDF")
    parser.add_argument("--lid", metavar="FILE", type=Path, help="write the sheet for the lid: .pdf, .html or .md")
    parser.add_argument("--records", metavar="DIR", type=Path, help="folder of the record, where it is not beside")
    parser.add_argument("--rehearsal", action="store_true", help="of a rehearsal, marked as one")


def run(options: argparse.Namespace) -> Answer:
    """The report as Markdown, or the files written. Raises Refusal where there is no record that can be read."""
    source = _source(options)
    words = [f"benchtui report: {source.damage}"] if source.damage else []
    code = Exit.PLACE_WRONG if source.damage else Exit.FINE
    files = written(options, source)
    if options.json:
        from benchtui.papers.as_json import data

        return Answer(code, json_text.document(data(source)), "\n".join(words))
    if files:
        return Answer(code, "\n".join(clean(str(path)) for path in files), "\n".join(words))
    from benchtui.papers.as_markdown import markdown
    from benchtui.papers.report import report

    return Answer(code, markdown(report(source, program())), "\n".join(words))


def _source(options: argparse.Namespace) -> Source:
    from benchtui.buildfile.problems import BuildFileError
    from benchtui.papers.source import source
    from benchtui.procedure.codec import UnknownEvent
    from benchtui.record import NotFound, RecordError
    from benchtui.session.opening import record_of
    from benchtui.session.rehearsed import SUFFIX

    path = record_of(options.build, options.records)
    path = path.with_suffix(SUFFIX) if options.rehearsal else path
    try:
        found = source(path)
    except NotFound as error:
        how = "'benchtui rehearse' begins one" if options.rehearsal else f"'benchtui {options.build}' begins one"
        raise _refused(f"{error}; {how}") from error
    except RecordError as error:
        raise _refused(str(error)) from error
    except BuildFileError as error:
        raise Refusal(Exit.INPUT_WRONG, str(error)) from error
    except UnknownEvent as error:
        raise _refused(f"{path}: {error}; it was written by another version of this program") from error
    if found.rehearsal != options.rehearsal:
        raise _refused(f"{path}: {'is' if found.rehearsal else 'is not'} the record of a rehearsal")
    return found


def _refused(words: str) -> Refusal:
    return Refusal(Exit.PLACE_WRONG, clean(f"benchtui report: {words}"))
