"""What the signal tests read: each with the level it was read at and what it amounts to, responses, captures."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import FEEDBACK, SIGNAL
from benchtui.forecast.signal import settings
from benchtui.forecast.signal_bench import tone_hz
from benchtui.forecast.signal_path import SignalPath, signal_paths
from benchtui.forecast.signal_points import SignalPoint, point_id, signal_points
from benchtui.forecast.signal_values import Setting
from benchtui.papers import said
from benchtui.papers.amplifier import as_read
from benchtui.papers.blocks import Block, Heading, Paragraph, Picture, Table
from benchtui.papers.history import History, Reading
from benchtui.papers.source import Source
from benchtui.plots.model import Plot
from benchtui.procedure import events as e
from benchtui.session import figures
from benchtui.session.capture_words import told
from benchtui.session.pictures import corners_hz, response_plot
from benchtui.session.signal import amounts
from benchtui.session.spectra import responses, spectrum_plot


def signal_table(source: Source, *, brief: bool = False) -> Iterator[Block]:
    """The last readings of the signal tests; nothing where none was read. `brief`: without what only tried the lead."""
    build = source.build
    listed = [point for stage in (FEEDBACK, SIGNAL) for point in signal_points(build, stage)]
    tests = {point.id: point for point in listed if not (brief and point.what == "tried")}
    read = {r.point: r for r in source.history.counting() if r.point in tests and r.verdict in ("pass", "warn")}
    if not read:
        return
    at = {id: setting for stage in (FEEDBACK, SIGNAL) for id, setting in _settings(source, stage).items()}
    values = {id: r.value for id, r in read.items()}
    rows = tuple(_row(build, tests[id], r, at, values) for id, r in read.items())
    yield Heading("Signal", 2)
    head = ("Entry", "What", "Input", "Computed", "Healthy", "Measured", "Amounts to")
    yield Table(head, rows, frozenset({3, 4, 5}))
    yield Paragraph(
        "Input is the level that the program asked for, set with the same meter. Computed and Healthy are for the "
        "mains of that moment. What a reading amounts to is reckoned from it.",
        "small",
    )


def _settings(source: Source, stage: str) -> dict[str, Setting]:
    """How the bench was set in a stage, by the mains read last in it."""
    read = [entry.event.value_v for entry in source.history.of(e.MainsRead) if entry.stage == stage]
    return settings(source.build, stage, read[-1]) if read else {}


def _row(
    build: Build, of: SignalPoint, r: Reading, at: dict[str, Setting], values: dict[str, float]
) -> tuple[str, ...]:
    setting = at.get(of.id)
    level = said.NONE
    if setting is not None:
        tone = f" at {figures.shown(setting.hz, 'Hz')}" if of.unit != "Hz" else ""
        level = f"{said.value(setting.input_v, 'V')}{tone}" if setting.input_v else "shorted"
    before = at.get(point_id("open", of.path))
    levels = setting.input_v / before.input_v if setting and before and before.input_v else 1.0
    more = amounts(build, of, r.value, setting.input_v if setting else 0.0, values, levels) or said.NONE
    window = said.window(r.low, r.high, r.unit)
    return f"#{r.entry.n}", r.name, level, said.value(r.nominal, r.unit), window, as_read(r), more


def signal_pictures(source: Source) -> Iterator[Block]:
    """The response of each channel with what was measured of it, and every capture as a spectrum."""
    measured, captured = measured_response(source.build, source.history), spectra(source.history)
    if not measured and not captured:
        return
    yield Heading("Responses and captured signals")
    for path, corners, levels in measured:
        try:
            yield Picture(response_plot(source.build, path, corners, levels))
        except ValueError as error:
            yield Paragraph(f"{error}.")
    if not captured:
        yield Paragraph("No signal was captured, so no spectrum was measured.")
    for words, plot in captured:
        yield Picture(plot) if plot is not None else Paragraph(words)


Levels = tuple[tuple[float, float], ...]
"""(Hz, dB against the test tone) of captures."""


def measured_response(build: Build, of: History | None) -> list[tuple[SignalPath, tuple[float, ...], Levels]]:
    """Each channel with its corners as read and the levels that captures tell."""
    values = {r.point: r.value for r in of.counting() if r.verdict in ("pass", "warn")} if of else {}
    captures = [entry.event for entry in of.of(e.Captured)] if of else []
    found = []
    for path in signal_paths(build):
        ids = {point_id(what, path) for what in ("low corner", "high corner")}
        levels = responses((event for event in captures if event.point in ids), tone_hz(build))
        found.append((path, corners_hz(path, values), levels))
    return found


def spectra(of: History) -> list[tuple[str, Plot | None]]:
    """Every capture in words, and as a plot where it holds lines."""
    found = []
    for entry in of.of(e.Captured):
        name = of.names.get(entry.event.point, entry.event.point)
        title = f"#{entry.n}, {figures.day(entry.wall)}: {name}, captured"
        said = told(entry.event)
        found.append((f"{title}. {' '.join(said)}", spectrum_plot(entry.event, title, said)))
    return found
