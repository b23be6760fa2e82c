"""Compute what every test point should read, and what every part stands, stage by stage."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from benchtui.cli.answer import Answer, Exit, Refusal
from benchtui.cli.builds import add_build, load_build
from benchtui.cli.caution import CAUTION
from benchtui.cli.divided import divided
from benchtui.cli.expected_json import expected_document
from benchtui.cli.expected_text import stage_lines
from benchtui.cli.kept import kept
from benchtui.cli.record_text import record_text, refusal
from benchtui.cli.tables import hanging
from benchtui.quantities.clean import clean
from benchtui.quantities.errors import Question
from benchtui.quantities.reading import read
from benchtui.quantities.units import Unit

if TYPE_CHECKING:
    from benchtui.buildfile.models import Build
    from benchtui.forecast.given import Given
    from benchtui.forecast.results import StageForecast


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what `expect` takes."""
    add_build(parser)
    parser.add_argument("--stage", metavar="S", help="this stage alone")
    parser.add_argument("--mains", metavar="V", help="volts of the mains as measured (by default as rated)")
    parser.add_argument("--given", metavar="READINGS", type=Path, help="file with one record of readings (JSON)")
    parser.add_argument("--ideal-meter", action="store_true", help="a meter that draws nothing")
    parser.add_argument("--untrimmed", action="store_true", help="every pot where it starts")
    parser.add_argument("--chart", action="store_true", help="ohms without power: every pin, and what shows a slip")


def run(options: argparse.Namespace) -> Answer:
    """The forecast of one stage or of all. Raises Refusal for a wrong build file, option or record."""
    words = [f"{name}={value!r}" for name, value in sorted(vars(options).items())]
    return kept(words, [Path(name) for name in (options.build, options.given) if name], lambda: _computed(options))


def _computed(options: argparse.Namespace) -> Answer:
    build = load_build(options.build).build
    if options.chart:
        return _charted(options, build)
    given = _given(options.given, build, options.stage) if options.given else None
    mains_v = _mains(options.mains, build)
    if given is not None and given.mains_v is not None:
        if mains_v is not None and mains_v != given.mains_v:
            both = f"--mains {mains_v:g} and the record's mains_v {given.mains_v:g}"
            raise _wrong(f"{both} contradict each other, give one of them")
        mains_v = given.mains_v
    wanted = _wanted(options.stage, given, build)
    from benchtui.forecast.expect import expect_stage

    def forecast(stage: str) -> StageForecast:
        return expect_stage(
            build,
            stage,
            mains_v=mains_v,
            given=given,
            ideal_meter=options.ideal_meter,
            trimmed=not options.untrimmed,
        )

    last_first = wanted[::-1]  # the later a stage, the longer it takes
    forecasts = divided(forecast, last_first)[::-1]
    used_v = build.mains.volts if mains_v is None else mains_v
    left_out = [f"{each.stage}: {clean(text)}" for each in forecasts for text in each.left_out]
    out = expected_document(build.id, used_v, forecasts) if options.json else _text(build, used_v, forecasts)
    return Answer(Exit.FINE, out, "\n".join(left_out))


def _charted(options: argparse.Namespace, build: Build) -> Answer:
    """The resistance charts, which go by nothing that is measured under power."""
    powered = {"--mains": options.mains, "--given": options.given, "--ideal-meter": options.ideal_meter}
    if named := [name for name, value in (powered | {"--untrimmed": options.untrimmed}).items() if value]:
        raise _wrong(f"--chart is of ohms without power, which {', '.join(named)} has no part in")
    from benchtui.buildfile.stages import stages
    from benchtui.cli.chart_json import chart_document
    from benchtui.cli.chart_text import chart_lines
    from benchtui.forecast.chart import chart
    from benchtui.forecast.inspection import inspection

    charts = [(chart(build, stage), inspection(build, stage)) for stage in _wanted(options.stage, None, build)]
    if options.json:
        return Answer(Exit.FINE, chart_document(build.id, charts))
    titles, lines = {stage.id: stage.title for stage in stages(build)}, [clean(f"{build.name}, ohms without power")]
    for found, slips in charts:
        lines += ["", clean(f"{found.stage}: {titles[found.stage]}"), *map(clean, chart_lines(found, slips))]
    return Answer(Exit.FINE, "\n".join([*lines, "", *hanging(CAUTION, "")]))


def _wanted(option: str | None, given: Given | None, build: Build) -> list[str]:
    """The stages to compute: the one named, or all in which anything can be read."""
    from benchtui.buildfile.stages import stages

    named = given.stage if given is not None else None
    if option is not None and named is not None and option != named:
        raise _wrong(f"--stage {option} and the record's stage {named} contradict each other, give one of them")
    known = stages(build)
    wanted = option or named
    if wanted is None:
        return [stage.id for stage in known if stage.kind != "bench"]
    ids = [stage.id for stage in known]
    if wanted not in ids:
        raise _wrong(f"the build has no stage {wanted}, its stages are {', '.join(ids)}")
    return [wanted]


def _mains(text: str | None, build: Build) -> float | None:
    if text is None:
        return None
    from benchtui.forecast.given import mains_problem

    try:
        mains_v = read(text, Unit.VOLT).value
    except Question as question:
        raise _wrong(f"--mains {question.ask}") from question
    if problem := mains_problem(build, mains_v):
        raise _wrong(f"--mains: {problem}")
    return mains_v


def _given(path: Path, build: Build, stage: str | None) -> Given:
    from benchtui.forecast.given import GivenError, read_given

    try:
        return read_given(record_text(path, "expect"), build, stage=stage)
    except GivenError as error:
        raise _wrong(*(f"{path}: {problem}" for problem in error.problems)) from error


def _wrong(*problems: str) -> Refusal:
    return refusal("expect", *problems)


def _text(build: Build, mains_v: float, forecasts: Iterable[StageForecast]) -> str:
    from benchtui.buildfile.stages import stages

    titles = {stage.id: stage.title for stage in stages(build)}
    lines = [clean(f"{build.name}, mains {mains_v:g} V")]
    for forecast in forecasts:
        lines += ["", clean(f"{forecast.stage}: {titles[forecast.stage]}"), *stage_lines(forecast)]
    return "\n".join([*lines, "", *hanging(CAUTION, "")])
