"""What of a reference amplifier becomes what in a build file: tables of fields, and the entries."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from benchtui.buildfile.stages import standard
from tests.reference import toml_text
from tests.reference.toml_text import farads, percent, tolerance, with_unit

Field = tuple[str, Callable[[Any], Any]]
Part = Mapping[str, Any]

OHM, VOLT, AMP, WATT, HENRY = (with_unit(unit) for unit in ("ohm", "V", "A", "W", "H"))

#: How a sentence about something unknown ends.
UNKNOWN = " that this converter doesn't know"

#: Order of the tables in the file that hold one entry a line.
TABLES = (
    "fuse",
    "link",
    "heater",
    "valve",
    "diode",
    "output_transformer",
    "load",
    "capacitor",
    "choke",
    "resistor",
    "thermistor",
    "pot",
    "model",
    "limits",
    "adjust",
    "point",
    "stage",
)

#: Said of every part by other means than a field of its own.
COMMON = frozenset({"id", "kind", "nodes", "stage", "role"})

_TOLERANCE: dict[str, Field] = {"tolerance_pct": ("tolerance", tolerance)}
_RESISTANCE: dict[str, Field] = {"value": ("value", OHM), **_TOLERANCE}

#: Kinds that become one entry each: reference field -> (field, how it is written).
SIMPLE: dict[str, dict[str, Field]] = {
    "resistor": {**_RESISTANCE, "rating_w": ("watts", WATT), "rating_v": ("volts", VOLT)},
    "thermistor": {**_RESISTANCE, "cold_value": ("cold", OHM), "rating_a": ("amps", AMP)},
    "link": {"value": ("value", OHM)},
    "load": {**_RESISTANCE, "rating_w": ("watts", WATT)},
    "fuse": {**_RESISTANCE, "rating_a": ("amps", AMP), "rating_v": ("volts", VOLT), "type": ("speed", str)},
    "capacitor": {
        "value": ("value", farads),
        **_TOLERANCE,
        "rating_v": ("volts", VOLT),
        "surge_v": ("surge", VOLT),
        "type": ("make", str),
    },
    "choke": {
        "value": ("value", HENRY),
        **_TOLERANCE,
        "resistance": ("resistance", OHM),
        "rating_a": ("amps", AMP),
    },
    "pot": {**_RESISTANCE, "position": ("position", percent), "rating_w": ("watts", WATT)},
    "diode": {"model": ("type", str)},
}

#: Fields that are left out on purpose; the reasons stand in convert.py.
OMITTED: dict[str, frozenset[str]] = {
    "thermistor": frozenset({"rating_w"}),
    "choke": frozenset({"resistance_tolerance_pct"}),
    "diode": frozenset({"rating_v", "rating_a"}),
    "output_transformer": frozenset({"push_pull"}),
    "winding": frozenset({"resistance", "resistance_tolerance_pct", "other_taps_emf", "rated_mains_v"}),
}

WINDING: dict[str, Field] = {
    "emf": ("emf", VOLT),
    **_TOLERANCE,
    "rating_a": ("amps", AMP),
    "source_resistance": ("resistance", OHM),
}

OUTPUT_TRANSFORMER: dict[str, Field] = {
    "primary_impedance": ("impedance", OHM),
    "load_impedance": ("load", OHM),
    "secondary_resistance": ("secondary_resistance", OHM),
    "primary_inductance": ("inductance", HENRY),
    "leakage_inductance": ("leakage", HENRY),
    "winding_capacitance": ("capacitance", farads),
    "core_loss_resistance": ("core_loss", OHM),
    **_TOLERANCE,
    "rating_w": ("watts", WATT),
    "rating_a": ("amps", AMP),
}

#: Kinds made into entries by valves.py.
VALVE_KINDS = frozenset({"vacuum_diode", "triode", "pentode", "heater"})

#: Keys of the amplifier as a whole that this converter reads or omits on purpose.
HEAD = frozenset(
    {
        "id",
        "title",
        "mains_v",
        "mains_hz",
        "primary_resistance",
        "primary_taps_v",
        "mains_fuse_a",
        "mains_fuse_type",
        "parts",
        "test_points",
        "bias_adjust",
        "smoothed_nodes",
        "models",
        "valve_ratings",
        "transformers",
        "stages",
    }
)

QUANTITIES = {"dc_v": "dc", "ac_v_rms": "ac", "ripple_ac_rms": "ripple"}

TRIMMED_STAGES = ("output", "driver")


@dataclass
class Notes:
    """Sentences gathered on the way: `faults` refuse the input, `left_out` are told beside the result."""

    faults: list[str] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)


def check_head(amplifier: Mapping[str, Any], notes: Notes) -> None:
    """Notes keys of the amplifier that are missing or not known."""
    for name in ("id", "mains_v", "mains_hz", "parts", "test_points"):
        if amplifier.get(name) is None:
            notes.faults.append(f"the amplifier has no {name!r}, which a build file can't do without")
    for name in amplifier.keys() - HEAD:
        notes.left_out.append(f"the amplifier's {name!r}, a key{UNKNOWN}")


def fields_of(part: Part, known: Mapping[str, Field], notes: Notes, *, kind: str = "") -> dict[str, Any]:
    """The entry's fields that `part` states, each as text; unknown ones are noted."""
    kind = kind or part["kind"]
    entry: dict[str, Any] = {}
    for name, stated in part.items():
        if name in known and stated is not None:
            target, write = known[name]
            entry[target] = write(stated)
        elif name not in known and name not in COMMON and name not in OMITTED.get(kind, ()):
            notes.left_out.append(f"{part['id']}: field {name!r} of a {kind}{UNKNOWN}")
    return entry


def placed(part: Part, count: int, notes: Notes) -> dict[str, Any]:
    """Nodes, stage and role of `part`, whose kind has `count` nodes."""
    nodes = part.get("nodes") or []
    if len(nodes) != count:
        notes.faults.append(f"{part['id']}: a {part['kind']} has {count} nodes, this one {len(nodes)}")
    if not part.get("stage"):
        notes.faults.append(f"{part['id']}: no stage is said to fit it")
    entry = {"nodes": nodes, "stage": part.get("stage", "")}
    return entry | ({"role": part["role"]} if part.get("role") else {})


def simple_parts(parts: list[Part], notes: Notes) -> dict[str, dict[str, Any]]:
    """Table name -> entries, of all parts whose kind becomes one entry each."""
    tables: dict[str, dict[str, Any]] = {}
    for part in parts:
        kind = "thermistor" if part["kind"] == "resistor" and "cold_value" in part else part["kind"]
        if kind in SIMPLE:
            stated = fields_of(part, SIMPLE[kind], notes, kind=kind)
            entry = placed(part, 3 if kind == "pot" else 2, notes) | stated
            tables.setdefault(kind, {})[part["id"]] = _completed(kind, part, entry, notes)
        elif kind not in VALVE_KINDS | {"winding", "output_transformer"}:
            notes.faults.append(f"{part['id']}: {kind!r} is a kind of part{UNKNOWN}")
    return tables


def _completed(kind: str, part: Part, entry: dict[str, Any], notes: Notes) -> dict[str, Any]:
    """`entry` with what a build file demands and the reference may leave unsaid."""
    if kind == "fuse":
        entry = entry | {"standard": "IEC 60127", "speed": entry.get("speed", "T")}
    if kind == "capacitor":
        entry.setdefault("make", "electrolytic" if part["value"] >= 1e-6 else "film")
        if "volts" not in entry:
            notes.left_out.append(f"{part['id']}: no rating_v is stated; written as 10 kV, so nothing judges it")
            entry["volts"] = "10 kV"
    if kind == "diode":
        entry["model"] = entry.get("type", "")
    return entry


def output_transformers(amplifier: Mapping[str, Any], notes: Notes) -> dict[str, Any]:
    """Entries of the output transformers."""
    listed = {t["id"]: t.get("primary_resistance") for t in amplifier.get("transformers") or []}
    entries = {}
    for part in amplifier.get("parts") or []:
        if part["kind"] != "output_transformer":
            continue
        nodes = part.get("nodes") or []
        if len(nodes) not in (4, 5):
            notes.faults.append(f"{part['id']}: an output transformer has 4 nodes or 5, this one {len(nodes)}")
            continue
        place = placed(part, len(nodes), notes)
        anodes = [nodes[0], nodes[2]] if len(nodes) == 5 else [nodes[0]]
        halves = {"half_resistance": ("resistance", _ohms), "primary_resistance": ("resistance", _ohms)}
        entry = fields_of(part, OUTPUT_TRANSFORMER | halves, notes)
        if "resistance" not in entry and listed.get(part["id"]) is not None:
            entry["resistance"] = _ohms(listed[part["id"]])
        entries[part["id"]] = {
            "anodes": anodes,
            "ht": nodes[1],
            "secondary": list(nodes[-2:]),
            **{k: v for k, v in place.items() if k != "nodes"},
            **entry,
        }
    return entries


def _ohms(stated: float | list[float]) -> list[str]:
    return [OHM(ohm) for ohm in (stated if isinstance(stated, list) else [stated])]


def mains_transformers(amplifier: Mapping[str, Any], notes: Notes) -> dict[str, Any]:
    """Entries of the mains transformers with their windings."""
    windings = {p["id"]: p for p in amplifier.get("parts") or [] if p["kind"] == "winding"}
    listed = [t for t in amplifier.get("transformers") or [] if t["kind"] == "mains"]
    owned = {name for transformer in listed for name in transformer.get("windings", ())}
    stray = [name for name in windings if name not in owned]
    if stray:
        first = listed[0] if listed else {"id": "T1", "kind": "mains"}
        listed = [{**first, "windings": [*first.get("windings", ()), *stray]}, *listed[1:]]
    entries = {}
    for transformer in listed:
        missing = [name for name in transformer.get("windings", ()) if name not in windings]
        notes.faults += [f"{transformer['id']}: its winding {name!r} is no part" for name in missing]
        mine = [windings[name] for name in transformer.get("windings", ()) if name in windings]
        entries[transformer["id"]] = _mains_transformer(amplifier, transformer, mine, notes)
    return entries


def _mains_transformer(
    amplifier: Mapping[str, Any], transformer: Mapping[str, Any], windings: list[Part], notes: Notes
) -> dict[str, Any]:
    ohm = transformer.get("primary_resistance", amplifier.get("primary_resistance"))
    volts = transformer.get("tap_used") or amplifier["mains_v"]
    taps = [tap for tap in transformer.get("taps") or amplifier.get("primary_taps_v") or [] if tap != volts]
    label = ["the reference keeps the windings apart"]
    if ohm is not None:
        label.append(f"primary {OHM(ohm)}, held in the windings' resistances")
    label += [
        f"{w['id']} has other taps at {', '.join(VOLT(tap) for tap in w['other_taps_emf'])}"
        for w in windings
        if w.get("other_taps_emf")
    ]
    return {
        "label": "; ".join(label),
        "primary": {"volts": VOLT(volts), "taps": [VOLT(tap) for tap in taps]},
        "windings": {w["id"]: _winding(w, ohm, volts, notes) for w in windings},
    }


def _winding(part: Part, primary_ohm: float | None, volts: float, notes: Notes) -> dict[str, Any]:
    entry = placed(part, 2, notes) | fields_of(part, WINDING, notes)
    at = part.get("rated_mains_v", volts)
    if "resistance" not in entry and part.get("resistance") is None:
        notes.faults.append(f"{part['id']}: the winding has neither source_resistance nor resistance")
    elif "resistance" not in entry:
        entry["resistance"] = OHM(part["resistance"] + (primary_ohm or 0.0) * (part["emf"] / at) ** 2)
    return entry | ({"at": VOLT(at)} if at != volts else {})


def points(amplifier: Mapping[str, Any], notes: Notes) -> dict[str, Any]:
    """Entries of the test points."""
    entries = {}
    for point in amplifier.get("test_points") or []:
        quantity = QUANTITIES.get(point.get("quantity"))
        if quantity is None:
            notes.faults.append(f"{point['id']}: {point.get('quantity')!r} is a quantity{UNKNOWN}")
            continue
        for name in point.keys() - {"id", "pos", "neg", "quantity", "stages", "meter_ohm", "role"}:
            notes.left_out.append(f"{point['id']}: field {name!r} of a test point{UNKNOWN}")
        entries[point["id"]] = {
            "name": point.get("role") or point["id"].replace("_", " "),
            "red": point["pos"],
            "black": point["neg"],
            "quantity": quantity,
            "stages": point["stages"],
        }
    return entries


def adjustments(amplifier: Mapping[str, Any], notes: Notes) -> dict[str, Any]:
    """Entries of the trimmed pots."""
    stages = [stage for stage in TRIMMED_STAGES if stage in amplifier.get("stages", TRIMMED_STAGES)]
    entries = {}
    for trim in amplifier.get("bias_adjust") or []:
        for name in trim.keys() - {"pot", "test_point", "target_v"}:
            notes.left_out.append(f"{trim.get('pot')}: field {name!r} of bias_adjust{UNKNOWN}")
        if trim.keys() >= {"pot", "test_point", "target_v"}:
            entries[trim["pot"]] = {
                "pot": trim["pot"],
                "point": trim["test_point"],
                "target": VOLT(trim["target_v"]),
                "stages": stages,
                "reach": "inside",
            }
        else:
            notes.faults.append(f"{trim.get('pot')}: bias_adjust needs pot, test_point and target_v")
    return entries


def compare_stages(amplifier: Mapping[str, Any], notes: Notes) -> None:
    """Notes parts whose own `stage` is not the first one in whose list they stand."""
    lists = amplifier.get("stages") or {}
    for part in amplifier.get("parts") or []:
        first = next((stage for stage, ids in lists.items() if part["id"] in ids), None)
        if lists and first != part.get("stage"):
            notes.faults.append(
                f"{part['id']}: it names the stage {part.get('stage')!r}, "
                f"the lists of stages have it first in {first!r}"
            )


def own_stages(amplifier: Mapping[str, Any]) -> dict[str, Any]:
    """Entries of stages that are no standard ones, each after the stage before it in the reference's lists."""
    names = list(amplifier.get("stages") or {})
    known = {stage.id for stage in standard()}
    return {
        name: {"title": name.replace("_", " "), "kind": "power", "after": before}
        for before, name in zip(["cold", *names], names, strict=False)
        if name not in known
    }


def head(amplifier: Mapping[str, Any]) -> dict[str, Any]:
    """The first lines of the file."""
    told = ["A reference amplifier of our own design, described for a circuit simulator and never built."]
    if amplifier.get("mains_fuse_a") is not None:
        speed = amplifier.get("mains_fuse_type", "")
        told.append(f"Mains fuse {speed}{toml_text.number(amplifier['mains_fuse_a'])} A, stated and not modelled.")
    name = amplifier.get("title") or amplifier["id"]
    return {"format": 1, "id": str(amplifier["id"]), "name": name, "notes": " ".join(told)}


def surroundings(amplifier: Mapping[str, Any], notes: Notes) -> dict[str, dict[str, Any]]:
    """Mains, meter and bench: fixed but for what the reference says of them."""
    inputs = sorted({point.get("meter_ohm", 1e7) for point in amplifier["test_points"]})
    if len(inputs) > 1:
        notes.left_out.append(f"meter_ohm differs between points ({inputs}); all get a meter of {OHM(inputs[-1])}")
    return {
        "mains": {
            "volts": VOLT(amplifier["mains_v"]),
            "frequency": f"{toml_text.number(amplifier['mains_hz'])} Hz",
            "inlet": "appliance inlet",
        },
        "meter": {
            "input": OHM(inputs[-1] if inputs else 1e7),
            "counts": 6000,
            "dc": "0.8 % + 2",
            "ac": "0.8 % + 2",
            "ohms": "0.8 % + 2",
            "true_rms": True,
            "ac_lowest": "20 Hz",
            "ac_blocks": "1000 V",
            "largest": "1000 V",
        },
        "bench": {"dc_proof": "9 V block battery", "ac_proof": "isolated 12 V AC source"},
    }
