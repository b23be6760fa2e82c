"""Pages of figures, made in the process that computes: the table of ratings, load lines, responses, the fall."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchtui.buildfile.models import Build
from benchtui.plots.model import Plot
from benchtui.session import ratings
from benchtui.session.pictures import emptying_plot, load_plot, response_plot
from benchtui.session.tables import table
from benchtui.session.view import Figure

if TYPE_CHECKING:
    from benchtui.forecast.signal_path import SignalPath

Volts = tuple[tuple[str, tuple[tuple[str, float], ...]], ...]
"""Stage = node = direct volts to chassis as read there."""


@dataclass(frozen=True)
class Drawn:
    """A plot, drawn to any size."""

    plot: Plot

    def lines(self, columns: int, rows: int, *, plain: bool) -> list[list[tuple[str, str]]]:
        """The plot with its field as high as `rows` allow, legend and notes below; always in ASCII."""
        from benchtui.plots.text import plot_rows

        return plot_rows(self.plot, columns, rows)


def figured(build: Build, what: str, *arguments: object) -> Figure:
    """The figure `what`: "ratings", "load", "response" or "emptying"; why there is none, where there is none."""
    try:
        return {"ratings": _ratings, "load": _load, "response": _response, "emptying": _emptying}[what](
            build, *arguments
        )
    except ValueError as error:
        return Figure((f"{error}.",))


def _ratings(build: Build, mains_v: float | None) -> Figure:
    from benchtui.forecast.margins import margins

    here_v = build.mains.volts if mains_v is None else mains_v
    found = margins(build, here_v)
    said = ratings.sentences(build, found, here_v, measured=mains_v is not None)
    heads, least = ratings.heads(build, here_v), ratings.least(found)
    return Figure(said, heads, ratings.rows(found), ratings.notes(found), least=least)


def _load(build: Build, section: str, volts: Volts) -> Figure:
    from benchtui.forecast.loadline import stage_of

    stage = stage_of(build, section)
    if stage is None:
        return Figure((table("words")["plots"]["no_current"].format(section=section),))
    return Figure(drawing=Drawn(load_plot(build, stage, section, dict(dict(volts).get(stage, ())))))


def _response(build: Build, path: SignalPath, corners_hz: tuple[float, ...]) -> Figure:
    return Figure(drawing=Drawn(response_plot(build, path, corners_hz)))


def _emptying(build: Build) -> Figure:
    from benchtui.forecast.gate import gate_forecast
    from benchtui.forecast.settled import whole_stage

    stage = whole_stage(build)
    plot = emptying_plot(build, gate_forecast(build, stage)) if stage is not None else None
    return Figure((table("words")["plots"]["no_charge"],)) if plot is None else Figure(drawing=Drawn(plot))
