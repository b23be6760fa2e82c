"""A capture as a plot: a stick for each line that was kept, and the response that several of them tell."""

from __future__ import annotations

import pytest

from benchtui.session.captured import levels
from benchtui.session.spectra import responses, spectrum_plot
from tests.session.test_captured import ROWS, captured


def test_each_line_is_a_stick_at_its_frequency_as_high_as_it_is_against_the_tone() -> None:
    plot = spectrum_plot(captured(levels(ROWS)), "a title", ("a note",))
    assert plot is not None and plot.y.name == "against the tone" and plot.notes == ("a note",)
    tips = {(series.name, series.label): series.points[-1] for series in plot.series}
    assert tips["tone", ""] == (1000.0, 0.0)
    assert tips["harmonics", "2"] == (2000.0, -60.0)
    assert tips["lines of the mains", "1"] == (50.02, -74.0)
    assert {series.told for series in plot.series} == {"measured"}
    assert all(x == hz and low == plot.y.low for (x, low), (hz, _) in (series.points for series in plot.series))


def test_what_something_else_covers_is_told_as_at_most_so_much() -> None:
    plot = spectrum_plot(captured(levels(ROWS)), "")
    assert plot is not None
    (covered,) = [series for series in plot.series if series.sign == "?"]
    assert covered.name.startswith("at most so much") and covered.points[-1] == (3000.0, -104.0)
    assert not any(series.points[-1][0] == 150.06 for series in plot.series), "a hidden line has no level"


def test_without_a_tone_levels_are_against_a_volt_and_without_a_calibration_against_full_scale() -> None:
    hum = levels(row for row in ROWS if row[0].startswith("mains"))
    volts, bare = spectrum_plot(captured(hum), ""), spectrum_plot(captured(hum, full_scale_v=None), "")
    assert volts is not None and bare is not None
    assert (volts.y.name, volts.series[0].points[-1][1]) == ("against 1 V rms", pytest.approx(-60.0))
    assert (bare.y.title, bare.series[0].points[-1][1]) == ("level (dBFS)", -80.0)


def test_a_capture_without_lines_has_no_plot() -> None:
    assert spectrum_plot(captured(levels([("total", float("nan"), None, "")])), "") is None


def response(*rows: tuple[float, float]) -> object:
    return captured(levels((f"response {n}", hz, db, "") for n, (hz, db) in enumerate(rows, 1)))


def test_a_response_is_told_against_the_level_nearest_to_the_test_tone() -> None:
    told = responses([response((20.0, -12.0), (410.0, -9.0), (20e3, -10.5))], 400.0)  # type: ignore[list-item]
    assert told == ((20.0, -3.0), (410.0, 0.0), (20e3, -1.5))


def test_a_response_far_from_the_tone_is_against_nothing() -> None:
    assert responses([response((20.0, -12.0), (2000.0, -9.0))], 400.0) == ()  # type: ignore[list-item]
    assert responses([], 400.0) == ()
