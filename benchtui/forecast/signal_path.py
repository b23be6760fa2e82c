"""The way of a signal through a build: from an input through the valves to the load, one way a channel."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from benchtui.assemble.valves import Section, sections
from benchtui.buildfile.joints import joined_by, passed_on
from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import feedback_leads
from benchtui.circuit.elements import CHASSIS

_DECOUPLED_F = 1e-6
"""From this capacitance to the chassis on, a node carries no signal: it is a supply, a cathode's bypass, a bias."""


@dataclass(frozen=True)
class SignalPath:
    """One channel: its letter ("" where there is one alone), input, load, output transformer and volume controls.

    `small` are the amplifying sections before the output valves as the signal meets them, each with the electrode that
    it leaves by; `output` are the sections that drive the transformer. `feedback` is the lead that closes its loop,
    with the resistor behind it in ohms, "" and 0 where there is none. `earthed` is whether the load's cold end is
    joined to the chassis: where it is not, nothing that is earthed may touch it.
    """

    channel: str
    input: str
    load: str
    transformer: str
    volumes: tuple[str, ...]
    small: tuple[tuple[Section, str], ...]
    output: tuple[Section, ...]
    feedback: str
    feedback_ohm: float
    earthed: bool


@lru_cache(maxsize=16)
def signal_paths(build: Build) -> tuple[SignalPath, ...]:
    """The signal's way in every channel; none where no input, load or output transformer joins up."""
    found = (_path(build, load) for load in build.load)
    return tuple(path for path in found if path is not None)


def _path(build: Build, load: str) -> SignalPath | None:
    across = set(build.load[load].nodes)
    transformer = next((n for n, t in build.output_transformer.items() if set(t.secondary) == across), None)
    channel = next((letter for letter in build.channels if load.endswith(letter)), "")
    source = next((name for name in build.input if name.endswith(channel)), None)
    if transformer is None or source is None:
        return None
    met = tuple(_met(build, build.input[source].nodes[0]))
    anodes = set(build.output_transformer[transformer].anodes)
    output = tuple(section for section in sections(build) if section in met and section.nodes["anode"] in anodes)
    small = tuple((section, by) for section in met if section not in output and (by := _leaves_by(build, section)))
    if not output:
        return None
    lead = next((name for name in feedback_leads(build) if across & set(build.link[name].nodes)), "")
    return SignalPath(
        channel, source, load, transformer, tuple(_volumes(build, source)), small, output,
        lead, _behind(build, lead, across), any(_earthed(build, node) for node in across),
    )  # fmt: skip


def _met(build: Build, start: str) -> Iterator[Section]:
    """Sections with a grid in the order in which a signal from `start` meets them."""
    quiet = _quiet(build)
    amplifying = [section for section in sections(build) if "grid" in section.nodes]
    todo, seen = [start], set(quiet)
    while todo:
        node = todo.pop(0)
        if node in seen:
            continue
        seen.add(node)
        todo += passed_on(build, node)
        for section in amplifying:
            if node == section.nodes["grid"]:
                yield section
                todo += [section.nodes["anode"], section.nodes["cathode"]]
            elif node == section.nodes["cathode"]:  # the other half of a pair that shares its cathodes
                if section.nodes["grid"] in quiet:
                    yield section
                todo.append(section.nodes["anode"])


def _quiet(build: Build) -> frozenset[str]:
    """Nodes that carry no signal: the chassis, what a large capacitor ties to it, and the loads."""
    tied = (
        part.nodes for part in build.capacitor.values() if part.value >= _DECOUPLED_F and CHASSIS in part.nodes
    )  # fmt: skip
    loads = (load.nodes for load in build.load.values())
    return frozenset({CHASSIS, *(node for nodes in (*tied, *loads) for node in nodes)})


def _leaves_by(build: Build, section: Section) -> str:
    """The electrode that a signal leaves a section by; "" where it has no place to go."""
    quiet = _quiet(build)
    return next((each for each in ("anode", "cathode") if section.nodes[each] not in quiet), "")


def _volumes(build: Build, source: str) -> Iterator[str]:
    """Controls with one end of their track at the input."""
    hot, trimmed = build.input[source].nodes[0], {each.pot for each in build.adjust.values()}
    return (name for name, pot in build.pot.items() if hot in (pot.nodes[0], pot.nodes[2]) and name not in trimmed)


def full_volume(build: Build, path: SignalPath) -> dict[str, float]:
    """Where the volume controls of a path stand when they are fully up: at the input's end of the track."""
    hot = build.input[path.input].nodes[0]
    return {name: 0.0 if build.pot[name].nodes[0] == hot else 1.0 for name in path.volumes}


def _behind(build: Build, lead: str, across: set[str]) -> float:
    """Ohms of the resistor behind a feedback lead; 0 where there is none."""
    inner = set(build.link[lead].nodes) - across if lead else set()
    return next((part.value for part in build.resistor.values() if inner & set(part.nodes)), 0.0)


def _earthed(build: Build, node: str) -> bool:
    """Is a node joined to the chassis by links?"""
    joints = joined_by(build, ("link",), apart=())
    return joints.root(node) == joints.root(CHASSIS)
