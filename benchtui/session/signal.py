"""The signal tests at the bench: their points, how the bench is set for each, and what a reading amounts to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import log10, sqrt
from typing import TYPE_CHECKING

from benchtui.buildfile.models import Build
from benchtui.forecast.signal_bench import tone_hz, tried_ohm
from benchtui.forecast.signal_points import SCOPE, SignalPoint, point_id, signal_points, unmeasured
from benchtui.parts.guide import value as guide
from benchtui.procedure.events import PointRead
from benchtui.procedure.plan import Point
from benchtui.session import figures
from benchtui.session.places import place
from benchtui.session.tables import table

if TYPE_CHECKING:
    from benchtui.session.bench import Bench


def signal_point(build: Build, of: SignalPoint) -> Point:
    """A signal point as the procedure knows it."""
    red, black = place(build, of.red, of.black), place(build, of.black, of.red)
    if of.what == "clip input":
        red = f"hot contact of {of.path.input}"
    return Point(of.id, name(build, of), of.quantity, of.unit, red, black, computed=True, test=of.what)


def name(build: Build, of: SignalPoint) -> str:
    """What a signal point is called, with its channel where there are several."""
    told = table("signal")[of.what]["name"].format(electrode=of.electrode, section=of.section)
    channel = build.channels.get(of.path.channel, "")
    return f"{told}, {channel}" if channel and of.what != "at" else told


def not_measured(build: Build) -> tuple[tuple[str, str], ...]:
    """(instrument, name) of every signal test that is left out for want of one."""
    return tuple((lacks, name(build, of)) for lacks, of in unmeasured(build))


def lead_out(build: Build, stage: str) -> Iterator[tuple[str, str]]:
    """Where the feedback lead is tried: its end led out, so that nobody reaches into a live chassis for it."""
    for of in signal_points(build, stage):
        if of.what == "tried":
            lead, ohm = of.path.feedback, figures.ohms(tried_ohm(of.path))
            words = table("signal")["tried"]
            yield words["out"].format(lead=lead, transformer=of.path.transformer), "led out"
            yield words["hand"].format(tried=ohm), "at hand"


def test_fields(bench: Bench) -> dict[str, str]:
    """What the words of the present signal test are filled with."""
    of, words = _asked(bench), table("signal")[bench.test]
    build, path = bench.build, of.path
    setting = bench.facts.settings.get(of.id) if bench.facts else None
    clip_v = _read(bench, "clip", of)
    filled = {
        "level": f"{figures.volts(setting.input_v)} at {figures.shown(setting.hz, 'Hz')}" if setting else "a low level",
        "where": path.input,
        "tried": figures.ohms(tried_ohm(path)),
        "second": figures.ohms(build.bench.second_load or 0.0),
        "tone": figures.shown(tone_hz(build), "Hz"),
        "seconds": figures.seconds(guide("signal.full_power")),
        "fall": _fall(bench, of),
        "clip": figures.volts(clip_v) if clip_v else "the volts just before clipping",
        "half": figures.volts(clip_v / sqrt(2.0)) if clip_v else "0.707 of the volts just before clipping",
        "scope": "" if path.earthed else f"This output floats: no earthed {SCOPE} or computer may be joined to it.",
    }  # fmt: skip
    return {
        "set": words["set"].format_map(filled),
        "test_help": words["help"].format_map(filled),
    }


def amounts_to(bench: Bench, value: float) -> tuple[str, ...]:
    """What a typed reading of the present signal test amounts to, computed from it, in sentences."""
    if not bench.test:
        return ()
    of = _asked(bench)
    setting = bench.facts.settings.get(of.id) if bench.facts else None
    input_v, read = setting.input_v if setting else 0.0, bench.notebook.values
    told = amounts(bench.build, of, value, input_v, read, _levels(bench, of))
    return (told,) if told else ()


def amounts(
    build: Build, of: SignalPoint, value: float, input_v: float, read: Mapping[str, float], levels: float
) -> str:
    """What a reading amounts to: watts, gain, feedback, damping; "" where it is no volts at a load.

    `input_v` is the level at the input, 0 where that is not known; `read` what points read last; `levels` by how much
    `input_v` is above the level without the lead.
    """
    if of.unit != "V" or of.what in ("at", "clip input") or not value > 0.0:
        return ""
    load_ohm = build.load[of.path.load].value
    said = [f"{figures.shown(value**2 / load_ohm, 'W')} in {figures.ohms(load_ohm)}, {_db(value)} dB from 1 V"]
    if input_v and of.what in ("open", "closed", "tried"):
        said.append(f"gain {value / input_v:.3g}, {_db(value / input_v)} dB")
    before = read.get(point_id("open", of.path))
    if before and of.what in ("tried", "closed"):
        fall = levels * before / value
        said.append(f"{_db(max(fall, 1.0 / fall))} dB {'more' if fall < 1.0 else 'less'} gain than without the lead")
    if of.what == "second load" and (source := _source_ohm(build, of, value, read)):
        said.append(f"output impedance {figures.ohms(source)}, damping {load_ohm / source:.3g}")
    return "; ".join(said)


def off(test: str, event: PointRead) -> str:
    """What a reading of a signal test that is off is most often."""
    return table("signal")[test]["low" if event.value < event.low else "high"]


def _asked(bench: Bench) -> SignalPoint:
    return next(of for of in signal_points(bench.build, bench.phase.stage) if of.id == bench.ask.subject)


def _read(bench: Bench, what: str, of: SignalPoint) -> float | None:
    """What the test `what` of the same channel read last."""
    return bench.notebook.values.get(point_id(what, of.path))


def _fall(bench: Bench, of: SignalPoint) -> str:
    """How far feedback is to lower the output, in words; "" where that is not known."""
    relations = bench.facts.related if bench.facts else ()
    found = next((each for each in relations if each.point == of.id), None)
    if found is None or of.what not in ("tried", "closed"):
        return ""
    fall = f"by {_db(_levels(bench, of) / found.nominal)} dB"
    return fall if of.what == "tried" else f"The lead is to lower the gain {fall}."


def _levels(bench: Bench, of: SignalPoint) -> float:
    """By how much the level at the input is above that of the reading without the lead."""
    stops = [each.stop for each in bench.facts.related if each.point == of.id] if bench.facts else []
    return stops[0].value / guide("signal.rise") if stops and stops[0] is not None else 1.0


def _source_ohm(build: Build, of: SignalPoint, value: float, read: Mapping[str, float]) -> float | None:
    """Ohms behind the output, from the fall that a second load brings: both readings divide between load and these."""
    before, ohm, second = read.get(point_id("closed", of.path)), build.load[of.path.load].value, build.bench.second_load
    if before is None or second is None or not value < before:
        return None
    both = ohm * second / (ohm + second)
    below = ohm * value - both * before
    return ohm * both * (before - value) / below if below > 0.0 else None


def _db(ratio: float) -> str:
    return f"{round(20.0 * log10(ratio), 1) + 0.0:.1f}"
