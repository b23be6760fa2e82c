"""Valves of a reference amplifier as entries of a build file: sections, heaters, constants and limits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from benchtui.parts import sections as layout
from benchtui.parts import valves as library
from benchtui.parts.errors import PartError
from tests.reference.mapping import (
    AMP,
    COMMON,
    OHM,
    UNKNOWN,
    VOLT,
    WATT,
    Field,
    Notes,
    Part,
    fields_of,
    placed,
)
from tests.reference.toml_text import farads

#: Kind of section -> its electrodes in the order of the reference's nodes.
ELECTRODES = {
    "vacuum_diode": ("anode", "cathode"),
    "triode": ("anode", "grid", "cathode"),
    "pentode": ("anode", "grid", "screen", "cathode"),
}

FORMS = {
    "triode": "triode_grid_ion",
    "pentode": "pentode_shared_screen",
    "vacuum_diode": "vacuum_perveance",
    "silicon": "silicon",
}

LIMITS: dict[str, Field] = {
    "plate_v": ("anode_v", VOLT),
    "plate_w": ("anode_w", WATT),
    "screen_v": ("screen_v", VOLT),
    "screen_w": ("screen_w", WATT),
    "cathode_a": ("cathode_a", AMP),
    "heater_cathode_v": ("heater_cathode_v", VOLT),
    "grid_leak_fixed_ohm": ("grid_leak_fixed_ohm", OHM),
    "grid_leak_cathode_ohm": ("grid_leak_cathode_ohm", OHM),
    "peak_inverse_v": ("inverse_v", VOLT),
    "peak_a": ("peak_a", AMP),
    "mean_a": ("mean_a", AMP),
    "first_capacitor_f": ("first_capacitor_f", farads),
    "supply_ohm": ("supply_ohm", OHM),
}

HEATER: dict[str, Field] = {"volts": ("volts", VOLT), "amps": ("amps", AMP)}

SOURCE = "the reference amplifier's own file"


def entries(parts: list[Part], notes: Notes) -> tuple[dict[str, Any], dict[str, str]]:
    """Entries of the valves, and for each valve of the reference the entry that its heater names."""
    sections: dict[str, list[Part]] = {}
    for part in parts:
        if part["kind"] in ELECTRODES:
            _check(part, notes)
            sections.setdefault(part.get("valve", part["id"]), []).append(part)
    valves: dict[str, Any] = {}
    entry_of: dict[str, str] = {}
    for valve, mine in sections.items():
        groups = {valve: mine} if _one_entry(mine) else {part["id"]: [part] for part in mine}
        valves |= {name: _valve(group) for name, group in groups.items()}
        entry_of[valve] = next(iter(groups))
    return valves, entry_of


def _one_entry(sections: list[Part]) -> bool:
    """Whether the sections fit one entry: one stage, one set of constants, no electrode at two nodes."""
    if len({(part.get("stage"), part.get("model")) for part in sections}) > 1:
        return False
    named = _names(sections)
    return named is not None and len(_pins(sections, named)) == len(dict(_pins(sections, named)))


def _pins(sections: list[Part], named: list[dict[str, str]]) -> set[tuple[str, str]]:
    """(electrode, node) of all sections; the suppressor that has a pin of its own is at the cathode."""
    pins = set()
    for part, names in zip(sections, named, strict=True):
        nodes = dict(zip(ELECTRODES[part["kind"]], part.get("nodes") or [], strict=False))
        pins |= {(names[name], node) for name, node in nodes.items()}
        if "suppressor" in part and "cathode" in nodes:
            pins.add(("suppressor", nodes["cathode"]))
    return pins


def _names(sections: list[Part]) -> list[dict[str, str]] | None:
    """For each section, electrode = its name in the build file; None if they can't be of one valve.

    The library's names where it knows the type; else anode, grid, screen, cathode, with _1, _2 for two.
    """
    try:
        plans = layout.sections(library.find(sections[0].get("model", "")))
    except PartError:
        plans = ()
    if not plans:
        ends = [""] if len(sections) == 1 else ["_1", "_2"]
        kinds = [part["kind"] for part in sections]
        named = [{name: name + end for name in ELECTRODES[kind]} for kind, end in zip(kinds, ends, strict=False)]
        return named if len(named) == len(sections) else None
    if len(sections) > len(plans):
        return None
    return [_planned(part["kind"], plan, sections) for part, plan in zip(sections, plans, strict=False)]


def _planned(kind: str, plan: layout.Section, sections: list[Part]) -> dict[str, str]:
    """Names of one section of a known type. A filament's or a shared cathode is plainly `cathode`."""
    own = {
        "anode": plan.anode,
        "grid": plan.grid or "grid",
        "screen": plan.screen or "screen",
        "cathode": plan.cathode,
    }
    if plan.cathode == "filament" and len({part["nodes"][-1] for part in sections if part.get("nodes")}) == 1:
        own["cathode"] = "cathode"
    return {name: own[name] for name in ELECTRODES[kind]}


def _check(part: Part, notes: Notes) -> None:
    placed(part, len(ELECTRODES[part["kind"]]), notes)
    if not part.get("model"):
        notes.faults.append(f"{part['id']}: the section names no model constants")
    for name in part.keys() - COMMON - {"valve", "model", "suppressor"}:
        notes.left_out.append(f"{part['id']}: field {name!r} of a {part['kind']}{UNKNOWN}")


def _valve(sections: list[Part]) -> dict[str, Any]:
    first = sections[0]
    role = "; ".join(part["role"] for part in sections if part.get("role"))
    return {
        "type": first.get("model"),
        "model": first.get("model"),
        "sections": [part["id"] for part in sections],
        "pins": dict(sorted(_pins(sections, _names(sections) or []))),
        "stage": first.get("stage"),
        **({"role": role} if role else {}),
    }


def heaters(parts: list[Part], entry_of: Mapping[str, str], notes: Notes) -> dict[str, Any]:
    """Entries of the heaters."""
    made = {}
    for part in parts:
        if part["kind"] != "heater":
            continue
        valve = part.get("valve", "")
        known = {name: field for name, field in part.items() if name not in ("valve", "valve_type", "tolerance_pct")}
        if valve not in entry_of:
            notes.faults.append(f"{part['id']}: it heats {valve!r}, which has no section among the parts")
        made[part["id"]] = (
            placed(part, 2, notes) | {"valve": entry_of.get(valve, valve)} | fields_of(known, HEATER, notes)
        )
    return made


def models(constants: Mapping[str, Mapping[str, Any]], notes: Notes) -> dict[str, Any]:
    """Entries of the model constants."""
    made = {}
    for name, model in constants.items():
        form = FORMS.get(model.get("kind", ""))
        if form is None:
            notes.faults.append(f"model {name}: {model.get('kind')!r} is a kind of model{UNKNOWN}")
            continue
        numbers = {key: float(number) for key, number in model.items() if key != "kind"}
        made[name] = {"form": form, "constants": numbers, "source": SOURCE}
    return made


def own_constants(tables: Mapping[str, dict[str, Any]], notes: Notes) -> None:
    """Takes the name of constants off valves and diodes for which the reference has none; the library's do then."""
    for reference, entry in [*tables.get("valve", {}).items(), *tables.get("diode", {}).items()]:
        if entry["model"] in tables["model"]:
            continue
        own = entry.pop("model")
        if not _in_library(own):
            notes.faults.append(f"{reference}: there are no constants of {own}, neither here nor in the library")


def _in_library(type_name: str) -> bool:
    try:
        library.find(type_name)
    except PartError:
        return False
    return True


def limits(amplifier: Mapping[str, Any], notes: Notes) -> dict[str, Any]:
    """Entries of the limits by type: `valve_ratings`, and the ratings that silicon diodes carry as parts."""
    ratings = {name: dict(stated) for name, stated in (amplifier.get("valve_ratings") or {}).items()}
    for part in amplifier.get("parts") or []:
        if part["kind"] == "diode" and {"rating_v", "rating_a"} & part.keys():
            own = {"peak_inverse_v": part.get("rating_v"), "mean_a": part.get("rating_a")}
            own = {key: number for key, number in own.items() if number is not None}
            if ratings.setdefault(part["model"], own) != own:
                notes.faults.append(f"{part['id']}: diodes of the type {part['model']} are rated differently")
    made = {}
    for name, stated in ratings.items():
        entry = fields_of({"id": f"valve_ratings of {name}", "kind": "rating", **stated}, LIMITS, notes)
        source = f"{SOURCE}, quoted from memory there"
        made[name] = {"source": source, "confidence": "medium", **entry}
    return made
