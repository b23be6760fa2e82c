"""Draw in characters: load lines, responses, how charges fall, and what the record holds, readings and spectra."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from math import isfinite
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
    from benchtui.papers.source import Source
    from benchtui.plots.model import Plot, Strips

KINDS = ("load", "response", "fall", "readings", "spectrum")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `plot` takes."""
    add_build(parser)
    parser.add_argument("--valve", metavar="V", help="a valve or one section of it, such as V2 or V1a (by default all)")
    parser.add_argument("--stage", metavar="S", help="this stage (by default the one that reads most at the valve)")
    parser.add_argument(
        "--kind", choices=KINDS, default="load",
        help="load lines (default); the response; the fall of the charges; readings in their windows; spectra captured",
    )  # fmt: skip


def run(options: argparse.Namespace) -> Answer:
    """The plots. Raises Refusal for a wrong build file, valve or stage, and where nothing is to be drawn."""
    build = load_build(options.build).build
    source = _record(Path(options.build), build)
    if options.valve is not None and options.kind != "load":
        raise refusal("plot", f"--valve is for load lines, of {options.kind} there is one for the whole amplifier")
    if options.stage is not None and options.kind not in ("load", "readings"):
        raise refusal("plot", f"--stage is for load lines and readings, {options.kind} has none")
    try:
        plots = _MADE[options.kind](options, build, source)
    except ValueError as error:
        raise refusal("plot", str(error)) from error
    if options.json:
        return Answer(Exit.FINE, json_text.document({"build": build.id, "plots": [_plain(plot) for plot in plots]}))
    lines = [line for plot in plots for line in (*_lines(plot), "")]
    return Answer(Exit.FINE, "\n".join([clean(build.name), "", *lines, *hanging(CAUTION, "")]))


def _load(options: argparse.Namespace, build: Build, source: Source | None) -> list[Plot]:
    from benchtui.papers.computed import volts_in
    from benchtui.session.pictures import load_plot

    wanted = _wanted(options, build)
    return [load_plot(build, stage, id, volts_in(source, stage) if source else None) for id, stage in wanted]


def _response(options: argparse.Namespace, build: Build, source: Source | None) -> list[Plot]:
    from benchtui.papers.signalled import measured_response
    from benchtui.session.pictures import response_plot

    found = measured_response(build, source.history if source else None)
    if not found:
        raise ValueError("no signal finds its way from an input to a load in this build")
    return [response_plot(build, path, corners, levels) for path, corners, levels in found]


def _fall(options: argparse.Namespace, build: Build, source: Source | None) -> list[Plot]:
    from benchtui.forecast.settled import whole_stage
    from benchtui.papers.amplifier import gate_of
    from benchtui.session.pictures import emptying_plot

    gate = gate_of(build, whole_stage(build))
    plot = emptying_plot(build, gate) if gate is not None else None
    if plot is None:
        raise ValueError("no capacitor is computed to hold a charge that hurts; read them all the same")
    return [plot]


def _readings(options: argparse.Namespace, build: Build, source: Source | None) -> list[Strips]:
    from benchtui.buildfile.stages import stages
    from benchtui.papers.stages import stage_strips

    known = {info.id: info.title for info in stages(build)}
    if options.stage not in (None, *known):
        raise ValueError(f"the build has no stage {options.stage}, those it has are {', '.join(known)}")
    found = [
        strips
        for id, title in known.items()
        if options.stage in (None, id) and source and (strips := stage_strips(source, id, f"{title}: "))
    ]
    if not found:
        raise ValueError("no reading with power is in the record beside the build file")
    return found


def _spectrum(options: argparse.Namespace, build: Build, source: Source | None) -> list[Plot]:
    from benchtui.papers.signalled import spectra

    found = [plot for _, plot in spectra(source.history) if plot is not None] if source else []
    if not found:
        raise ValueError("no captured signal is in the record beside the build file; 'benchtui sound' tells of a file")
    return found


_MADE: dict[str, Callable[[argparse.Namespace, Build, Source | None], list[Plot] | list[Strips]]] = {
    "load": _load, "response": _response, "fall": _fall, "readings": _readings, "spectrum": _spectrum,
}  # fmt: skip


def _wanted(options: argparse.Namespace, build: Build) -> list[tuple[str, str]]:
    """(Section, stage) of each load line."""
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


def _record(path: Path, build: Build) -> Source | None:
    """The record beside the build file; None where none can be read, or it belongs to another build."""
    from benchtui.buildfile.problems import BuildFileError
    from benchtui.papers.source import source
    from benchtui.procedure.codec import UnknownEvent
    from benchtui.record import RecordError
    from benchtui.session.opening import record_of

    try:
        found = source(record_of(path))
    except (RecordError, BuildFileError, UnknownEvent):
        return None
    return None if found.build.id != build.id or found.damage else found


def _lines(plot: Plot | Strips) -> list[str]:
    from benchtui.plots.model import Plot
    from benchtui.plots.text import plot_lines, strip_lines

    return plot_lines(plot) if isinstance(plot, Plot) else strip_lines(plot)


def _number(value: float) -> float | None:
    """A number that is not finite is null."""
    return value if isfinite(value) else None


def _plain(plot: Plot | Strips) -> dict[str, object]:
    from benchtui.plots.model import Plot

    if not isinstance(plot, Plot):
        rows = [
            {"name": r.name, "measured": _number(r.value), "nominal": _number(r.nominal), "low": _number(r.low),
             "high": _number(r.high), "verdict": r.verdict or "pass"}
            for r in plot.rows
        ]  # fmt: skip
        return {"title": plot.title, "readings": rows, "notes": plot.notes}
    axes = {name: {"name": axis.name, "unit": axis.unit} for name, axis in (("x", plot.x), ("y", plot.y))}
    return {
        "title": plot.title, **axes,
        "series": [{"name": s.name, "told": s.told, "label": s.label, "points": s.points} for s in plot.series],
        "marks": [{"name": m.name, "told": m.told, "at": (m.x, m.y)} for m in plot.marks],
        "notes": plot.notes,
    }  # fmt: skip
