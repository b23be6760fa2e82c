"""Print the hole schedule of the chassis, and write templates at full size."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli import json_text
from benchtui.cli.answer import Answer, Exit, Refusal
from benchtui.cli.builds import add_build, load_build
from benchtui.cli.drill_text import care_lines, finding_lines, schedule_lines
from benchtui.cli.program import program
from benchtui.cli.template_files import made, write
from benchtui.quantities.clean import clean

if TYPE_CHECKING:
    from benchtui.buildfile.load import Loaded
    from benchtui.metalwork.drawing import Drawing
    from benchtui.metalwork.finding import Finding
    from benchtui.metalwork.layout import Plate
    from benchtui.metalwork.schedule import Step


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `drill` takes."""
    add_build(parser)
    parser.add_argument("--panel", metavar="ID", help="this panel alone")
    parser.add_argument("--pdf", metavar="FILE", type=Path, help="write the templates to print, all into one file")
    parser.add_argument("--svg", metavar="DIR", type=Path, help="write a template of each panel into this folder")
    parser.add_argument("--dxf", metavar="DIR", type=Path, help="the same for those who have the panels cut")
    parser.add_argument("--mirror", action="store_true", help="templates as seen from inside")
    parser.add_argument("--paper", choices=("a4", "letter"), help="paper of --pdf (by default a4)")


def run(options: argparse.Namespace) -> Answer:
    """The schedule, or the files written, with what the review of the layout finds. Raises Refusal."""
    _refuse_options(options)
    loaded = load_build(options.build)
    from benchtui.metalwork.layout import plates
    from benchtui.metalwork.review import layout_review

    every = plates(loaded.build)
    wanted = _wanted(options, every)
    findings = layout_review(loaded.build)
    files = _written(options, loaded, wanted, every, findings)
    worse = any(each.severity != "note" for each in findings)
    out = _json(loaded.build.id, wanted, findings, files) if options.json else _text(loaded.build.name, wanted, files)
    words = [line for each in findings for line in finding_lines(each)]
    return Answer(Exit.FINDINGS if worse else Exit.FINE, out, "" if options.json else "\n".join(words))


def _refuse_options(options: argparse.Namespace) -> None:
    if options.mirror and not (options.pdf or options.svg or options.dxf):
        raise _wrong("--mirror turns templates over, it goes with --pdf, --svg or --dxf")
    if options.paper and not options.pdf:
        raise _wrong("--paper is of printed templates, it goes with --pdf")


def _wanted(options: argparse.Namespace, every: tuple[Plate, ...]) -> tuple[Plate, ...]:
    """The panels asked for: one or all."""
    if not every:
        raise _wrong(f"{options.build} has no panel, a table such as [panel.top] is wanted")
    wanted = tuple(plate for plate in every if options.panel in (None, plate.name))
    if not wanted:
        raise _wrong(f"the build has no panel {options.panel}, its panels are {', '.join(each.name for each in every)}")
    return wanted


def _written(
    options: argparse.Namespace,
    loaded: Loaded,
    wanted: tuple[Plate, ...],
    every: tuple[Plate, ...],
    findings: Sequence[Finding],
) -> list[Path]:
    """The files that were asked for, once they are on the disk."""
    from benchtui.metalwork.drawing import MARK
    from benchtui.metalwork.template import template

    origin = clean(f"From {clean(Path(loaded.path).name, 60)}, sha256 {loaded.sha256[:12]}, {program()}")

    reviewed = _reviewed(findings)

    def drawn(plate: Plate) -> Drawing:
        return template(plate, every, origin, minded=reviewed, mirrored=options.mirror)

    return write(made([drawn(plate) for plate in wanted], options), MARK, "drill")


def _reviewed(findings: Sequence[Finding]) -> tuple[str, ...]:
    """What a sheet of paper says of the review, where it found anything."""
    all_of_them = [each.severity for each in findings]
    counts = [f"{n} {severity}" for severity in ("stop", "warn") if (n := all_of_them.count(severity))]
    if not counts:
        return ()
    return (f"The review of the layout found: {', '.join(counts)}. `benchtui drill` says what: before any hole.",)


def _text(name: str, wanted: tuple[Plate, ...], files: list[Path]) -> str:
    if files:
        return "\n".join(clean(str(path)) for path in files)
    return "\n".join(
        [clean(name), "", *care_lines(), *(line for plate in wanted for line in ("", *schedule_lines(plate)))]
    )


def _json(build: str, wanted: tuple[Plate, ...], findings: Sequence[Finding], files: list[Path]) -> str:
    return json_text.document({
        "build": build,
        "panels": [_panel(plate) for plate in wanted],
        "findings": [_finding(each) for each in findings],
        "files": [str(path) for path in files],
    })  # fmt: skip


def _panel(plate: Plate) -> dict[str, object]:
    from benchtui.metalwork.schedule import schedule

    return {
        "panel": plate.name, "name": plate.panel.name, "material": plate.panel.material,
        "width_mm": _mm(plate.width_mm), "height_mm": _mm(plate.height_mm), "thickness_mm": _mm(plate.thickness_mm),
        "steps": [_step(step) for step in schedule(plate)],
    }  # fmt: skip


def _step(step: Step) -> dict[str, object]:
    size = step.size_mm
    lengths = {key: _mm(getattr(step, key)) for key in ("x_mm", "y_mm", "diameter_mm", "tool_mm")}
    return asdict(step) | lengths | {"size_mm": None if size is None else [_mm(each) for each in size]}


def _finding(finding: Finding) -> dict[str, object]:
    keys = ("severity", "panel", "hole", "rule", "text", "value_mm", "limit_mm", "source")
    told = {key: getattr(finding, key) for key in keys}
    return told | {key: _mm(told[key]) for key in ("value_mm", "limit_mm")}


def _mm(length: float | None) -> float | None:
    """A length to a tenth of a micrometre: what is beyond that came from counting in metres."""
    number = json_text.number(length)
    return None if number is None else round(number, 4)


def _wrong(problem: str) -> Refusal:
    return Refusal(Exit.INPUT_WRONG, clean(f"benchtui drill: {problem}"))
