"""What is read with a signal: computed for every build, so that no build file lists it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import FEEDBACK, SIGNAL
from benchtui.circuit.elements import CHASSIS
from benchtui.forecast.grids import grid_nodes
from benchtui.forecast.signal_path import SignalPath, signal_paths

SCOPE, CARD = "oscilloscope", "sound card"


@dataclass(frozen=True)
class SignalPoint:
    """A reading with a signal, between nodes `red` and `black` of a channel.

    `what` is its kind: "open", "tried", "closed", "at" (behind or before a valve), "hum", "second load", "low corner",
    "high corner", "overshoot", "crosstalk", "clip", "symmetry", "clip input", "distortion". Volts are AC volts
    rms. `instruments` are those of which one is needed, none where the meter will do.
    """

    id: str
    what: str
    unit: str
    red: str
    black: str
    path: SignalPath
    section: str = ""
    electrode: str = ""
    instruments: tuple[str, ...] = ()

    @property
    def quantity(self) -> str:
        """What is read: "ac" volts, a "frequency" or a "share"."""
        return {"V": "ac", "Hz": "frequency", "%": "share"}[self.unit]


def signal_points(build: Build, stage: str) -> tuple[SignalPoint, ...]:
    """What is read with a signal in `stage` with the instruments that are owned, in order."""
    return tuple(point for point in _all(build, stage) if not lacking_for(build, point))


def unmeasured(build: Build) -> tuple[tuple[str, SignalPoint], ...]:
    """What is left out for want of an instrument, or since none may be earthed there: (what is lacking, point)."""
    found = ((lacking_for(build, point), point) for stage in (FEEDBACK, SIGNAL) for point in _all(build, stage))
    return tuple((lacks, point) for lacks, point in found if lacks)


def lacking_for(build: Build, point: SignalPoint) -> str:
    """What keeps a point from being read; "" where nothing does."""
    bench = build.bench
    if point.what == "second load" and bench.second_load is None:
        return "second load resistor"
    if not point.instruments:
        return ""
    if not point.path.earthed:
        return "instrument that may be joined to a floating output"
    owned = {SCOPE: bench.oscilloscope, CARD: bench.sound_card}
    if not any(owned[each] for each in point.instruments):
        return " or ".join(point.instruments)
    found = bench.generator or bench.sound_card  # a player's few tones find no corner on a screen
    return "sine generator" if point.unit == "Hz" and not found else ""


def _all(build: Build, stage: str) -> Iterator[SignalPoint]:
    paths = signal_paths(build)
    for path in paths:
        if stage == FEEDBACK and path.feedback:
            yield _at_load(build, path, "open")
            yield _at_load(build, path, "tried")
        if stage == SIGNAL:
            yield from _of_signal(build, path, [other for other in paths if other is not path])


def _of_signal(build: Build, path: SignalPath, others: list[SignalPath]) -> Iterator[SignalPoint]:
    """From the least to the most power, so that a fault shows before it can do harm."""
    if path not in (across_load(build, id) for id in build.point):
        yield _at_load(build, path, "hum")
    yield _at_load(build, path, "closed")
    yield from _through_the_valves(build, path)
    yield _at_load(build, path, "second load")
    yield _at_load(build, path, "low corner", "Hz", (SCOPE, CARD))
    yield _at_load(build, path, "high corner", "Hz", (SCOPE, CARD))
    yield _at_load(build, path, "overshoot", "%", (SCOPE, CARD))
    for other in others[:1]:
        yield SignalPoint(point_id("crosstalk", path), "crosstalk", "V", *_load_ends(build, other), path)
    yield _at_load(build, path, "clip")
    yield _at_load(build, path, "symmetry", "%", (SCOPE, CARD))
    hot, cold = build.input[path.input].nodes
    yield SignalPoint(point_id("clip input", path), "clip input", "V", hot, cold, path)
    yield _at_load(build, path, "distortion", "%", (CARD,))


def across_load(build: Build, id: str) -> SignalPath | None:
    """The channel across whose load the build file's own point `id` reads AC with a signal; None where it doesn't."""
    point = build.point.get(id)
    if point is None or SIGNAL not in point.stages or point.quantity != "ac":
        return None
    ends = {point.red, point.black}
    return next((path for path in signal_paths(build) if ends <= {*build.load[path.load].nodes, CHASSIS}), None)


def _at_load(
    build: Build, path: SignalPath, what: str, unit: str = "V", instruments: tuple[str, ...] = ()
) -> SignalPoint:
    return SignalPoint(point_id(what, path), what, unit, *_load_ends(build, path), path, instruments=instruments)


def _load_ends(build: Build, path: SignalPath) -> tuple[str, str]:
    """Where the volts across a load are read: the black lead on the chassis, where the load is joined to it."""
    hot, cold = build.output_transformer[path.transformer].secondary
    return hot, CHASSIS if path.earthed else cold


def _through_the_valves(build: Build, path: SignalPath) -> Iterator[SignalPoint]:
    """Behind each small valve and at the grid of each output valve: never at an output anode."""
    for section, electrode in path.small:
        node = section.nodes[electrode]
        yield SignalPoint(f"signal at {section.id}", "at", "V", node, CHASSIS, path, section.id, electrode)
    for section in path.output:
        node = _beside_the_pin(build, section.nodes["grid"], grid_nodes(build, section))
        yield SignalPoint(f"signal at {section.id}", "at", "V", node, CHASSIS, path, section.id, "grid")


def _beside_the_pin(build: Build, pin: str, nodes: frozenset[str]) -> str:
    """Where a grid is read: where a test point reads its volts, else at the far end of its stopper, else at its pin."""
    named = [p.red for p in build.point.values() if p.red in nodes and p.quantity != "resistance"]
    return (*named, *sorted(nodes - {pin}), pin)[0]


def point_id(what: str, path: SignalPath) -> str:
    """The id of the point `what` of a channel; its blank keeps it apart from every id of a build file."""
    return f"signal {what} {path.channel}".strip()
