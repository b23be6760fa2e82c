"""Events in words: lines of the log, and what is said of the event that just happened."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isfinite, isinf
from typing import Any

from benchtui.procedure import codec
from benchtui.procedure import events as e
from benchtui.procedure.plan import WINDING, Plan
from benchtui.quantities.clean import clean
from benchtui.session import figures
from benchtui.session.capture_words import brief
from benchtui.session.tables import table
from benchtui.session.view import Banner

#: Which way a pot turns back.
OTHER_WAY = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}

#: What says that something of a kind is made, and what takes it back.
MADE_SAYS = {"wire": "on", "hole": "done"}
UNDONE_SAYS = {"wire": "loose", "hole": "not done"}

#: Where a reading's value counts as nothing at all, as a share of the nominal: the "zero" of causes.toml.
_ZERO = 0.05


def by_instrument(lacks: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """A line for each instrument that is not there, with what it would prove, from (instrument, name) pairs."""
    found: dict[str, list[str]] = {}
    for instrument, name in lacks:
        found.setdefault(instrument, []).append(name)
    return tuple(f"no {instrument}: {', '.join(names)}" for instrument, names in found.items())


class _Fields(dict[str, str]):
    """An event's fields for a template; one that an older event lacks shows as a question mark."""

    def __missing__(self, key: str) -> str:
        return "?"


def line(kind: str, data: Mapping[str, Any], names: Mapping[str, str]) -> str:
    """One event of the record as a line of words; a kind that has none is shown by its name."""
    template = table("log").get(kind)
    return clean(template.format_map(_fields(kind, data, names)) if template else kind)


def _fields(kind: str, data: Mapping[str, Any], names: Mapping[str, str]) -> _Fields:
    found = _Fields(
        {
            key: "; ".join(names.get(v, str(v)) for v in value) if isinstance(value, list) else str(value)
            for key, value in data.items()
        }
    )
    of = next((str(data[key]) for key in ("point", "trim", "step", "id") if key in data), "")
    found["name"] = names.get(of, of)
    if "ohm" in data and data["ohm"] is not None:
        found["value"] = figures.ohms(float(data["ohm"]))
    if "value_v" in data:
        found["value"] = figures.volts(float(data["value_v"]))
    if kind == "captured":
        event = codec.decode(kind, data)
        found["told"] = brief(event) if isinstance(event, e.Captured) else ""
    if "value" in data:
        found["value"] = f"{data['text']} as typed" if data["text"] else found["value"]
    if "live_v" in data:
        found["live"] = figures.volts(float(data["live_v"]))
    if "target_v" in data:
        found["target"] = figures.volts(float(data["target_v"]))
    if kind == "power on":
        found["limiter"] = f"through {data['limiter']}" if data.get("limiter") else "at full mains at once: "
    if kind == "build changed":
        found["kept"] = "earlier passes kept" if data.get("keep") else "what it touches is checked again"
    if kind == "told":
        found["about"] = table("repair")["about"].get(str(data.get("question")), "told")
        found["text"] = str(data.get("text")) or table("repair")["words"]["skipped"]
    if kind == "retest":
        spared = data.get("spared", [])
        found["count"] = str(len(spared)) if spared else "no"
        found["spared"] = f": {', '.join(names.get(id, id) for id in spared)}" if spared else ""
    if kind == "birth":
        header = data.get("header", {})
        found["build"] = str(header.get("build", "a build"))
        if "rehearsal" in header:
            found["build"] = table("rehearsal")["birth"].format(build=found["build"])
        if quotes := header.get("quotes"):
            found["build"] += f"; it follows {quotes['file']}, which is sound up to #{quotes['event']}"
    return found


def names(plan: Plan) -> dict[str, str]:
    """Words for the ids of points, steps, trims, reservoirs and rails."""
    found: dict[str, str] = {}
    for phase in plan.phases:
        found |= {r.id: r.name for r in phase.reservoirs} | {rail.id: rail.name for rail in phase.rails}
        found |= {c.id: c.name for step in phase.steps for c in step.capacitors}
        found |= {step.id: step.text for step in phase.steps} | {point.id: point.name for point in phase.readings}
        found |= {trim.id: trim.pot for trim in phase.trims}
    for work in (plan.whole.power, plan.whole.checks) if plan.whole else ():
        found |= {point.id: point.name for point in work.points}
    return found | {step.id: step.text for step in plan.look_over.steps}


def units(plan: Plan) -> dict[str, str]:
    """The unit of each point, and of the winding's temperature, which is no point of any phase."""
    whole = (*plan.whole.power.points, *plan.whole.checks.points) if plan.whole else ()
    found = {point.id: point.unit for points in (whole, *(p.readings for p in plan.phases)) for point in points}
    return found | {WINDING: "degC"}


def banner(event: e.Event, names: Mapping[str, str], unit: str, notes: tuple[str, ...]) -> Banner | None:
    """What is said of the event just saved; None where the next prompt says enough."""
    match event:
        case e.PointRead():
            return _of_reading(event, names.get(event.point, event.point), unit, notes)
        case e.TrimInside(value_v=value, target_v=target):
            return Banner("pass", f"{figures.volts(value)}, on its target of {figures.volts(target)}", notes)
        case e.TrimOutside(value_v=value, target_v=target):
            return Banner("info", f"{figures.volts(value)}; {figures.volts(target)} is wanted", notes)
        case e.ReservoirHigh(id=id, value_v=value):
            text = f"{figures.volts(value)} on {names.get(id, id)}: charged. Hands out."
            return Banner("stop", text, ("Both rounds start over. It is bled after plug, meter and mains side.",))
        case e.ReservoirSoon(value_v=value):
            text = f"{figures.volts(value)} so soon is too good to be true: is the probe touching, the meter awake?"
            return Banner("question", text, ("Prove the meter afresh, then read it again.",))
        case e.ReservoirLow(value_v=value, early=True):
            return Banner("info", f"{figures.volts(value)}, early again; the meter was proved, so it counts.", notes)
        case _:
            return _plain(event, notes)


def _plain(event: e.Event, notes: tuple[str, ...]) -> Banner | None:
    match event:
        case e.MeterBad(value_v=value):
            text = f"{figures.volts(value)} proves nothing: another source or meter. Readings so far don't count."
            return Banner("stop", text, notes)
        case e.ClipShunted(ohm=ohm):
            text = f"{figures.ohms(ohm)} is less than the clip: HT is shorted, probes are on one node, or links are on."
            return Banner("question", text, notes)
        case e.NotFallen(value_v=value):
            return Banner("stop", f"HT still reads {figures.volts(value)}: the wrong plug, or a stuck meter.", notes)
        case e.MainsLive(value_v=value):
            return Banner("stop", f"The mains side is live, {figures.volts(value)}: the wrong plug is out.", notes)
        case e.RailHigh(value_v=value):
            return Banner("stop", f"{figures.volts(value)}: still charged. Everything starts at the gate.", notes)
        case e.CapacitorHigh(id=id, value_v=value):
            more = "Discharge it through a resistor first, then read it again."
            return Banner("warn", f"{figures.volts(value)} on {id}: charged. It is not fitted yet.", (more, *notes))
        case e.OhmsBad(ohm=ohm):
            text = f"{figures.ohms(ohm)} is out of range. Wait until it stands; if it stays, STOP and find the path."
            return Banner("warn", text, notes)
        case e.ClipFound():
            return Banner("warn", "The clip or a link is still on: take it off, and begin with the clip again.", notes)
        case e.LookFailed() | e.ClipOff() | e.Disturbed() | e.LeadAttached():
            return Banner("info", "Hands out. What was proved before no longer counts.", notes)
        case e.HandsOut() | e.NextClosing() | e.BackToPower():
            return Banner("info", table("words")["caution"], notes)
        case e.LimiterDark():
            text = "Dark, where something should flow: are mains, fuse, switch and lead there?"
            return Banner("question", text, notes)
        case e.Overruled():
            return Banner("info", "On to power with your reason; it is listed at sign-off.", notes)
        case e.Accepted():
            return Banner("info", "Accepted with your reason; it is listed at sign-off.", notes)
    return Banner("info", notes[0], notes[1:]) if notes else None


def _of_reading(event: e.PointRead, name: str, unit: str, notes: tuple[str, ...]) -> Banner:
    said = f"{figures.shown(event.value, unit, 4)} at {name}"
    match event:
        case e.PointPassed():
            return Banner("pass", said, notes)
        case e.PointUnproved(instrument=instrument):
            return Banner("not measured", f"no {instrument}; {said}", (table("words")["unproved"], *notes))
        case e.PointDoubted():
            due = figures.shown(event.nominal, unit)
            text = f"{said} is far from {due}: range or decimal point? Look at the meter and type it again."
            return Banner("question", text, (*_swapped(event), *notes))
        case e.PointNothing(low=low, high=high):
            least = figures.shown(high if isinf(low) else low, unit)
            text = f"{said}: nothing there, {least} or more is due. Mains, fuse, switch or lead?"
            return Banner("question", text, notes)
        case e.PointExchanged():
            return Banner("info", f"{said}, noted for the search", notes)
        case e.PointWatched():
            return Banner("info", f"{said}, inside the limits", notes)
        case e.PointStopped():
            return Banner("stop", said, (*event.reasons, *_swapped(event), *notes))
    return Banner("warn", said, (*event.reasons, *notes))


def power_off(event: e.PointStopped, name: str, unit: str) -> str:
    """A reading that stops the work, with its unit and why; and the sign, where that alone may be wrong."""
    value = figures.shown(event.value, unit, 4)
    return "; ".join((f"{value} at {name}: {'; '.join(event.reasons)}", *_swapped(event)))


def _swapped(event: e.PointRead) -> tuple[str, ...]:
    """A question where the sign is not the one that is due; the window tells it where no nominal value is known."""
    due = event.nominal if isfinite(event.nominal) else next((v for v in (event.low, event.high) if isfinite(v)), 0.0)
    told = any("sign" in reason for reason in event.reasons)
    return (table("words")["swapped"]["due"].format(sign="negative" if due < 0.0 else "positive"),) * (
        event.value * due < 0.0 and not told
    )


def cause(event: e.PointRead, quantity: str) -> str:
    """What such a reading is most often, as a hint for the next look; "" where nothing is known."""
    rows = table("causes").get(quantity, {})
    if event.value == float("inf"):
        return rows.get("open", "")
    if abs(event.value) < _ZERO * abs(event.nominal) and "zero" in rows:
        return rows["zero"]
    below = abs(event.value) < abs(event.nominal)
    return rows.get("low" if below else "high", "")
