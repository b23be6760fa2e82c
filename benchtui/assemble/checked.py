"""A build file loaded and held against the parts library: types, pins, heaters and constants of its valves."""

from __future__ import annotations

import os
from collections.abc import Iterator
from math import inf

from benchtui.assemble.openings import openings_found
from benchtui.assemble.valves import electrode_nodes, known_type, wired_count, wired_kinds
from benchtui.buildfile.load import Loaded, load, load_text
from benchtui.buildfile.models import Build, Valve
from benchtui.buildfile.problems import BuildFileError, Finding, Path, suggestion
from benchtui.parts import sections as layout
from benchtui.parts import valves as library
from benchtui.parts.guide import Guide, guide
from benchtui.quantities.show import show

_CONSTANTS: dict[str, tuple[tuple[str, ...], ...]] = {
    "triode_offset": (("mu",), ("ex",), ("kg1",), ("kp",), ("kvb",)),
    "triode_grid_ion": (("mu",), ("ex",), ("kg1",), ("kp",), ("kvb",)),
    "pentode_power_screen": (("mu",), ("ex",), ("kg1",), ("kg2",), ("kp",), ("kvb",)),
    "pentode_shared_screen": (("mu",), ("ex",), ("kg1",), ("kg2",), ("kp",), ("kvb",)),
    "vacuum_perveance": (("perveance_a_v15", "kd"),),
    "silicon": (("is_a", "is"), ("n",), ("rs_ohm", "rs")),
    "gas_regulator": (("burning_v",), ("at_a",), ("slope_ohm",), ("knee_v",), ("strike_v",)),
}
"""What each form needs; several spellings of one constant stand together."""

_AMPLIFYING = ("triode_offset", "triode_grid_ion", "pentode_power_screen", "pentode_shared_screen")
FORMS_OF = {
    "triode": _AMPLIFYING,
    "pentode": _AMPLIFYING,
    "diode": ("vacuum_perveance", "silicon"),
    "regulator": ("gas_regulator",),
}
"""The forms that can be the law of each kind of section."""

_GATE = {
    "threshold": "gate.threshold",
    "wait": "gate.wait",
    "clip_time": "gate.clip_time",
    "clip": "gate.clip_resistor",
}
"""Fields of [gate] and the guide values that bound them."""

_NO_JOINT = ("free", "internal_connection", "absent")


def load_checked(path: str | os.PathLike[str]) -> Loaded:
    """The build in the file at `path`. Raises BuildFileError with every problem, those with its valves included."""
    return _checked(load(path))


def load_text_checked(text: str, name: str) -> Loaded:
    """The same for text that a record carries."""
    return _checked(load_text(text, name))


def _checked(loaded: Loaded) -> Loaded:
    problems = tuple(loaded.lines.problem(finding) for finding in library_findings(loaded.build))
    if problems:
        raise BuildFileError(problems)
    return loaded


def library_findings(build: Build) -> Iterator[Finding]:
    """What the parts library says against the build."""
    for field, name in _GATE.items():
        yield from _gate(field, getattr(build.gate, field), guide(name))
    for ref, valve in build.valve.items():
        yield from _valve(build, ref, valve)
        for kind in dict.fromkeys(wired_kinds(build, ref)):
            yield from _form(build, ("valve", ref, "model"), valve.model, kind)
    for ref, diode in build.diode.items():
        yield from _form(build, ("diode", ref, "model"), diode.model, "diode")
        if diode.model is None and known_type(diode.type) is None:
            right = f"{suggestion(diode.type, library.names())}; or give own constants under [model]"
            yield Finding(("diode", ref, "type"), "is not in the parts library", right, diode.type)
    yield from openings_found(build)
    for name, model in build.model.items():
        for spellings in _CONSTANTS[model.form]:
            if not set(spellings) & model.constants.keys():
                right = f"the form {model.form} needs {', '.join('/'.join(s) for s in _CONSTANTS[model.form])}"
                yield Finding(("model", name, "constants"), f"lacks {' or '.join(spellings)}", right)


def _form(build: Build, path: Path, name: str | None, kind: str) -> Iterator[Finding]:
    """Own constants are of a form that fits what they are the law of."""
    own = build.model.get(name) if name else None
    if own is not None and own.form not in FORMS_OF[kind]:
        right = f"for a {kind} a form such as {' or '.join(FORMS_OF[kind])} is wanted"
        yield Finding(path, f"is no law of a {kind} (form {own.form})", right, name)


def _gate(field: str, own: float | None, bounds: Guide) -> Iterator[Finding]:
    """The gate may be made stricter than the guide values, never laxer than their floor and ceiling."""
    low, high = bounds.floor or 0.0, inf if bounds.ceiling is None else bounds.ceiling
    if own is not None and not low <= own <= high:
        unit = str(bounds.unit)
        most = "or more" if high == inf else f"to {show(high, unit)}"
        right = f"{show(low, unit)} {most} is allowed ({bounds.source})"
        yield Finding(("gate", field), "is outside what the gate allows", right, show(own, unit))


def _valve(build: Build, ref: str, valve: Valve) -> Iterator[Finding]:
    found = known_type(valve.type)
    if found is None:
        if valve.model is None:
            near = suggestion(valve.type, library.names())
            right = f"{near}; or give own constants under [model]"
            yield Finding(("valve", ref, "type"), "is not in the valve library", right, valve.type)
        return
    yield from _pins(ref, valve, found)
    wired = electrode_nodes(valve)
    if valve.sections is not None and len(valve.sections) != wired_count(valve):
        right = f"its pins wire {wired_count(valve)}"
        yield Finding(("valve", ref, "sections"), f"names {len(valve.sections)} sections", right)
    for plan in layout.sections(found):
        yield from _section(ref, found, plan, wired)
    ends = [
        pin for pin in (*library.pins_of(found, "heater"), *library.pins_of(found, "filament")) if pin in valve.pins
    ]
    if len(ends) == 1:
        yield Finding(("valve", ref, "pins"), f"wires one end of the heater only (pin {ends[0]})", "wire both ends")


def _pins(ref: str, valve: Valve, found: library.ValveType) -> Iterator[Finding]:
    names = {electrode for label in found.pins.values() for electrode in library.electrodes(label)} | {"cathode"}
    for pin, node in valve.pins.items():
        label = found.pins.get(pin)
        if label is None and pin not in names:
            known = ", ".join(f"{number} {what}" for number, what in found.pins.items())
            yield Finding(("valve", ref, "pins", pin), f"is no pin of a {found.type}", f"its pins are {known}", pin)
        elif label is not None and any(word in label for word in _NO_JOINT):
            right = "leave it unwired, it may be joined to something inside"
            yield Finding(("valve", ref, "pins", pin), f"is {label.replace('_', ' ')} in a {found.type}", right, node)


def _section(
    ref: str, found: library.ValveType, plan: layout.Section, wired: dict[str, list[str]]
) -> Iterator[Finding]:
    named = [plan.anode, plan.grid, plan.screen, plan.cathode]
    electrodes = [name for name in named if name is not None]
    have = [name for name in electrodes if name in wired or (name == plan.cathode and "cathode" in wired)]
    amplifying = [name for name in have if name not in ("filament", "cathode")]
    if amplifying and len(have) < len(electrodes):
        missing = ", ".join(name for name in electrodes if name not in have)
        right = f"wire {missing} too, or leave the section out"
        yield Finding(("valve", ref, "pins"), f"wires a section of the {found.type} in part only", right)
