"""Draw the load line of a valve in characters: characteristics, loads, operating point computed and measured."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli import json_text
from benchtui.cli.answer import Answer, Exit
from benchtui.cli.builds import add_build, load_build
from benchtui.cli.caution import CAUTION
from benchtui.cli.record_text import refusal
from benchtui.cli.tables import hanging
from benchtui.quantities.clean import clean

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build
    from benchtui.plots.model import Plot


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `plot` takes."""
    add_build(parser)
    parser.add_argument("--valve", metavar="V", help="a valve or one section of it, such as V2 or V1a (by default all)")
    parser.add_argument("--stage", metavar="S", help="this stage (by default the last one, feedback open)")


def run(options: argparse.Namespace) -> Answer:
    """The plots. Raises Refusal for a wrong build file, valve or stage."""
    build = load_build(options.build).build
    from benchtui.session.pictures import load_plot

    volts = _read_before(Path(options.build), build)
    try:
        plots = [load_plot(build, stage, id, volts.get(stage)) for id, stage in _wanted(options, build)]
    except ValueError as error:
        raise refusal("plot", str(error)) from error
    if options.json:
        return Answer(Exit.FINE, json_text.document({"build": build.id, "plots": [_plain(plot) for plot in plots]}))
    from benchtui.plots.text import plot_lines

    lines = [line for plot in plots for line in (*plot_lines(plot), "")]
    return Answer(Exit.FINE, "\n".join([clean(build.name), "", *lines, *hanging(CAUTION, "")]))


def _wanted(options: argparse.Namespace, build: Build) -> list[tuple[str, str]]:
    """(Section, stage) of each plot."""
    from benchtui.assemble.valves import sections
    from benchtui.buildfile.stages import stages
    from benchtui.forecast.loadline import drawable, stage_of

    known = [each for each in sections(build) if each.kind in ("triode", "pentode")]
    named = [each.id for each in known if options.valve in (None, each.id, each.valve)]
    if not named:
        there = ", ".join(dict.fromkeys(each.id for each in known)) or "none"
        raise refusal("plot", f"the build has no amplifying valve {options.valve or ''}, those it has are {there}")
    if options.stage is None:
        found = [(id, stage) for id in named if (stage := stage_of(build, id)) is not None]
        if not found:
            raise refusal("plot", f"{', '.join(named)} never carries current in a stage that can be solved")
        return found
    powered = [info.id for info in stages(build) if info.kind == "power"]
    if options.stage not in powered:
        raise refusal("plot", f"{options.stage} is no stage with power, those of this build are {', '.join(powered)}")
    here = {each.id for each in drawable(build, options.stage)}
    if not here & set(named):
        raise refusal("plot", f"{', '.join(named)} carries no current in stage {options.stage}, its socket is empty")
    return [(id, options.stage) for id in named if id in here]


def _read_before(path: Path, build: Build) -> dict[str, dict[str, float]]:
    """Stage = node = volts as read last, from the record beside the build file; nothing where none can be read."""
    from benchtui.buildfile.problems import BuildFileError
    from benchtui.papers.computed import volts_in
    from benchtui.papers.source import source
    from benchtui.procedure.codec import UnknownEvent
    from benchtui.record import RecordError
    from benchtui.session.opening import record_of

    try:
        found = source(record_of(path))
    except (RecordError, BuildFileError, UnknownEvent):
        return {}
    if found.build.id != build.id or found.damage:
        return {}
    return {stage: volts_in(found, stage) for stage in dict.fromkeys(r.entry.stage for r in found.history.readings)}


def _plain(plot: Plot) -> dict[str, object]:
    axes = {name: {"name": axis.name, "unit": axis.unit} for name, axis in (("x", plot.x), ("y", plot.y))}
    return {
        "title": plot.title, **axes,
        "series": [{"name": s.name, "told": s.told, "label": s.label, "points": s.points} for s in plot.series],
        "marks": [{"name": m.name, "told": m.told, "at": (m.x, m.y)} for m in plot.marks],
        "notes": plot.notes,
    }  # fmt: skip
