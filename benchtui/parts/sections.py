"""The sections of a valve: which electrodes belong together, and which model and limits are theirs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from benchtui.parts.errors import PartError
from benchtui.parts.valves import Limit, Model, SectionKind, ValveType, pins_of


@dataclass(frozen=True)
class Section:
    """One section: what follows the valve's reference (`a` of V1a), and its electrodes by their own names.

    A directly heated valve has `filament` as its cathode: the model's cathode is the middle of the filament.
    """

    suffix: str
    kind: SectionKind
    anode: str
    cathode: str
    grid: str | None = None
    screen: str | None = None
    suppressor: str | None = None
    limits_prefix: str = ""


# kind of valve -> (suffix, kind of section, before and after its electrodes' names, prefix of its limits)
_LAYOUTS: dict[str, tuple[tuple[str, SectionKind, str, str, str], ...]] = {
    "triode": (("", "triode", "", "", ""),),
    "directly heated triode": (("", "triode", "", "", ""),),
    "dual triode": (("a", "triode", "", "_1", ""), ("b", "triode", "", "_2", "")),
    "pentode": (("", "pentode", "", "", ""),),
    "beam tetrode": (("", "pentode", "", "", ""),),
    "triode pentode": (("a", "triode", "triode_", "", "triode_"), ("b", "pentode", "pentode_", "", "")),
    "full-wave rectifier": (("a", "diode", "", "_1", ""), ("b", "diode", "", "_2", "")),
    "half-wave rectifier": (("", "diode", "", "", ""),),
    "silicon rectifier": (("", "diode", "", "", ""),),
    "gas regulator": (("", "regulator", "", "", ""),),
}


def sections(valve: ValveType) -> tuple[Section, ...]:
    """The sections of `valve` in the order of their suffixes; a single section has an empty suffix."""
    return tuple(_section(valve, *layout) for layout in _LAYOUTS[valve.kind])


def recommended(valve: ValveType, section: Section) -> Model:
    """The model to use for `section`; raises PartError where the library has none."""
    for model in valve.models:
        if model.section in (None, section.kind):
            return model
    raise PartError(valve.type, f"has no model of its {section.kind} in the library", "give own constants")


def section_limits(valve: ValveType, section: Section) -> Mapping[str, Limit]:
    """Limits of `section` by their names without prefix; limits of the whole bottle are among them.

    Only the heater-cathode limit of a triode pentode is shared; its other limits belong to one section each.
    """
    return _of_section(valve, section, valve.limits)


def section_capacitance(valve: ValveType, section: Section) -> Mapping[str, Limit]:
    """Capacitance between electrodes of `section`: anode_grid_f, grid_cathode_f, anode_cathode_f, as known."""
    return _of_section(valve, section, valve.capacitance)


def _of_section(valve: ValveType, section: Section, figures: Mapping[str, Limit]) -> Mapping[str, Limit]:
    others = {layout[4] for layout in _LAYOUTS[valve.kind]} - {section.limits_prefix, ""}
    found = {}
    for name, limit in figures.items():
        if any(name.startswith(prefix) for prefix in others):
            continue
        if name.startswith(section.limits_prefix):
            found[name.removeprefix(section.limits_prefix)] = limit
        elif name == "heater_cathode_v":
            found.setdefault(name, limit)
    return MappingProxyType(found)


def _section(valve: ValveType, suffix: str, kind: SectionKind, before: str, after: str, limits_prefix: str) -> Section:
    def present(name: str) -> str | None:
        own = f"{before}{name}{after}"
        return own if pins_of(valve, own) else None

    shared = "filament" if valve.heating == "direct" else "cathode"
    return Section(
        suffix,
        kind,
        anode=f"{before}anode{after}",
        cathode=present("cathode") or shared,
        grid=present("grid"),
        screen=present("screen"),
        suppressor=present("suppressor"),
        limits_prefix=limits_prefix,
    )
