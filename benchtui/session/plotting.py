"""The page of ratings and plots: what can be looked at, and the one that is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from benchtui.assemble.valves import sections
from benchtui.forecast.signal_path import signal_paths
from benchtui.quantities.clean import clean
from benchtui.session.bench import Bench
from benchtui.session.forecasts import Key
from benchtui.session.pictures import corners_hz, node_volts
from benchtui.session.shutting import SIGN_OFF
from benchtui.session.tables import table
from benchtui.session.view import Figure, PlotPage


def sheets(bench: Bench) -> tuple[tuple[str, Key], ...]:
    """(Title, what it is kept under) of each figure, the ratings first."""
    return tuple(_sheets(bench))


def _sheets(bench: Bench) -> Iterator[tuple[str, Key]]:
    words, build = table("words")["plots"], bench.build
    yield words["ratings"], ratings_key(bench)
    volts = tuple((stage, tuple(sorted(_volts(bench, stage).items()))) for stage in bench.notebook.stages)
    for section in sections(build):
        if section.kind in ("triode", "pentode"):
            title = words["load"].format(section=section.id, type=section.type)
            yield title, ("figure", "load", section.id, volts)
    for path in signal_paths(build):
        channel = build.channels.get(path.channel, "")
        title = words["response"].format(channel=f", {channel}" if channel else "")
        yield title, ("figure", "response", path, corners_hz(path, bench.notebook.values))
    yield words["emptying"], ("figure", "emptying")


def _volts(bench: Bench, stage: str) -> dict[str, float]:
    judged = ((id, e.read.value) for id, e in bench.notebook.stages[stage].items() if e.verdict in ("pass", "warn"))
    return node_volts(bench.build, judged)


def ratings_key(bench: Bench) -> Key:
    return ("figure", "ratings", bench.notebook.mains_v)


def plot_page(bench: Bench, chosen: int) -> PlotPage:
    """The figure number `chosen`, counted round; what is missing where it is not computed yet."""
    words, found = table("words")["plots"], sheets(bench)
    number = chosen % len(found)
    title, key = found[number]
    if bench.diagnoses.failure(key):
        figure = Figure((words["failed"],))
    else:
        figure = bench.diagnoses.figure(key) or Figure((words["computing"],))
    return PlotPage(clean(title), number + 1, len(found), _cleaned(figure))


def _cleaned(figure: Figure) -> Figure:
    rows = (replace(row, part=clean(row.part), source=clean(row.source)) for row in figure.rows)
    return replace(figure, lines=tuple(map(clean, figure.lines)), rows=tuple(rows))


def keys(bench: Bench, looked_at: int | None) -> list[Key]:
    """What is to be computed for this page: the figure that is looked at, and at the sign-off the ratings."""
    due = [] if looked_at is None else [sheets(bench)[looked_at % len(sheets(bench))][1]]
    return [*due, ratings_key(bench)] if bench.phase.stage == SIGN_OFF else due


def ratings_told(bench: Bench) -> str:
    """Where the ratings are to be seen, and the least margin once that is known."""
    words, figure = table("words")["plots"], bench.diagnoses.figure(ratings_key(bench))
    least = clean(figure.least) if figure else ""
    return " ".join(filter(None, (least, words["seen"])))
