"""What the templates of prompts are filled with, for the present question."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf, isfinite

from benchtui.forecast.instruments import proving
from benchtui.procedure.guards import due_links, holds
from benchtui.procedure.plan import Phase, Point, Reservoir, wait_s
from benchtui.procedure.state import Mode
from benchtui.session import figures
from benchtui.session.bench import Bench
from benchtui.session.checkup import checkup_fields
from benchtui.session.drilling import hole_fields
from benchtui.session.limiting import best, least, limiter_due, limiter_words, limiters
from benchtui.session.making import wire_fields
from benchtui.session.mending import repair_fields
from benchtui.session.places import NAME
from benchtui.session.shutting import outside, shut_fields
from benchtui.session.signal import test_fields
from benchtui.session.suspects import led
from benchtui.session.tables import table
from benchtui.session.wording import OTHER_WAY

_INLET = "Pull the connector out of the amplifier's inlet"
_CAPTIVE = "Pull the mains plug out of the wall"

_METER = {"dc": "DC volts", "ac": "AC volts", "ripple": "AC volts, on the DC rail", "resistance": "ohms"}
_SEEN = "oscilloscope or capture"


def fields(bench: Bench) -> Mapping[str, str]:
    """Every field that the present question's template may use; "" where it does not apply."""
    found = _always(bench)
    kind = bench.ask.kind
    of_bench = kind in ("capacitor", "capacitor charged")
    reservoir = (bench.capacitor if of_bench else bench.reservoir)(bench.ask.subject)
    rail = next((r for r in bench.phase.rails if r.id == bench.ask.subject), None) if kind == "rail" else None
    if rail is not None:
        found |= {"name": rail.name, "red": rail.red, "black": rail.black, "range": _range(bench)}
    elif reservoir is not None:
        found |= _of_reservoir(bench, reservoir)
    elif kind == "step":
        step = next(step for step in bench.due.steps if step.id == bench.ask.subject)
        found |= {"text": step.text.rstrip("."), "says": step.says, "k": str(bench.ask.k)}
    elif kind == "wire":
        found |= wire_fields(bench)
    elif kind == "hole":
        found |= hole_fields(bench)
    elif kind == "come off":
        found |= {"text": bench.ask.subject.removeprefix("wire ")}
    elif kind == "trim":
        found |= _of_trim(bench)
    else:
        found |= _of_point(bench)
    return found


def _always(bench: Bench) -> dict[str, str]:
    build, plan, phase, settings = bench.build, bench.plan, bench.phase, bench.plan.settings
    appliance = build.mains.inlet == "appliance inlet"
    words, line = limiter_words(bench)
    after = plan.phases[bench.state.phase + 1 :]
    closing = bench.state.mode is Mode.CLOSING
    return {
        "pull": _INLET if appliance else _CAPTIVE,
        "mains_red": "live pin of the inlet" if appliance else build.mains.dead_at or "live, as the build file says",
        "mains_black": "neutral pin of the inlet" if appliance else "neutral",
        "dc_proof": build.bench.dc_proof,
        "ac_proof": build.bench.ac_proof,
        "proof_low": figures.volts(settings.proof_low_v),
        "proof_high": figures.volts(settings.proof_high_v),
        "threshold": figures.volts(settings.threshold_v),
        "live": figures.volts(bench.state.pending_v or 0.0),
        "wait": figures.seconds(wait_s(plan, phase)),
        "wait_why": _wait_why(bench),
        "slow": _slow(bench),
        "clip_ohm": figures.ohms(phase.clip.ohm),
        "clip_at": phase.clip.at or "HT+ and chassis",
        "clip_reads": figures.ohms(phase.clip.reads_ohm),
        "ohms_red": phase.ohms.red if phase.ohms else phase.clip.at.split(" to ")[0] or "HT+",
        "ohms_black": phase.ohms.black if phase.ohms else "chassis",
        "clip_part": _clip_part(bench),
        "beside": table("words")["beside"][bench.secured],
        "links": "; ".join(f"{link.id} ({link.red} to {link.black})" for link in due_links(plan, bench.state)),
        "links_due": str(len(due_links(plan, bench.state))),
        "links_put": str(bench.state.links_on),
        "around": _links_on(bench) or outside(bench) or _move(bench),
        "secured": table("words")["secured"][bench.secured],
        "next": after[0].id if after else "the end",
        "loose": _loose(bench),
        "load": f"Load on: {_closing_phase(bench).load}." if _closing_phase(bench).load else "",
        "limiters": ", ".join(limiters(bench)) or "none is listed on this bench",
        "without": table("words")["without"]["back" if bench.state.closing.back else "plain"],
        "limiter_says": "|".join(words),
        "limiter_line": line,
        "limiter_due": limiter_due(bench),
        "least": least(bench),
        "no_short": table("words")["no_short"]["sure" if bench.shows_mains and not bench.state.exchange else "unsure"],
        "first_name": first.name if (first := _first_point(bench)) else "the first point",
        "best": best(bench),
        "stops": _stops(bench),
        "course_help": _course_help(bench),
        "switch_off": _switch_off(bench),
        "mains_line": _mains_line(bench),
        "mains_then": table("words")["mains"]["then"] if closing and _first_point(bench) else "",
        "mains_hand": table("words")["mains"]["hand"] if closing else "one hand",
        **_mains_probes(bench),
        "mains_low": figures.volts(plan.mains_v[0]),
        "mains_high": figures.volts(plan.mains_v[1]),
        "leave_meter": "Leave the meter on HT and see it fall." if bench.state.pending_v is not None else "",
        "trim_round": f"Round {bench.state.trim.round + 1} of {len(plan.trim_marks_s) + 1}.",
        "back": _back(bench),
        "step_help": _step_help(bench),
        "went_on": _went_on(bench),
        "objections": "; ".join(plan.objections),
        **repair_fields(bench),
        **shut_fields(bench),
        **checkup_fields(bench),
        "unmeasured": _unmeasured(bench),
        "lacks": "",
        "further": led(bench),
        "exchange": bench.state.exchange,
        "first_probes": _first_probes(bench),
        "move": _move(bench),
        "hand": "one hand" if phase.kind == "power" else table("words")["secured_briefly"][bench.secured],
        "point_help": "Type what the meter shows; m and k are taken, a decimal comma is asked about.",
    }  # fmt: skip


def _loose(bench: Bench) -> str:
    """Ends that are live once power is on, and what was fitted later and is to be out."""
    ends = "; ".join(_closing_phase(bench).loose)
    said = [f"Live and loose: {ends}."] * bool(ends) + [f"{each}." for each in bench.fitted_since]
    return " ".join(said)


def back_to_power(bench: Bench) -> bool:
    """May the builder go back to power without the gate?"""
    state = bench.state
    off = state.mode is Mode.OFF_GATE and state.clip_off and state.alarm != "short"
    return off and bench.phase.kind == "power" and not state.last_complete


def _first_probes(bench: Bench) -> str:
    """Where both probes are clipped before the power comes on."""
    point = _first_point(bench)
    if point is None:
        return ""
    return table("words")["probes"]["first"].format(black=point.black, red=point.red)


def _first_point(bench: Bench) -> Point | None:
    """What is read first once the power is on."""
    phase = _closing_phase(bench)
    return bench.point(phase.limited[0] if phase.limited else phase.watch)


def _stops(bench: Bench) -> str:
    """Beyond what the reading asked for now is a stop, and why: of two limits the one farther from zero."""
    by = bench.expectation()
    ends = [] if by is None else [(by.stop_low, True), (by.stop_high, False)]
    found = [(limit, low) for limit, low in ends if limit is not None]
    if not found:
        return ""
    limit, low = max(found, key=lambda end: abs(end[0].value))
    return f", {figures.stop(limit.value, low=low)}: {limit.reason}"


def _move(bench: Bench) -> str:
    """How the probes are moved with the power on: what is live at both ends takes both leads, clipped on dead."""
    point = bench.point(bench.ask.subject)
    if point is None or bench.state.mode is not Mode.POWERED:
        return ""
    charged = not all(reservoir.presumed for reservoir in bench.phase.reservoirs)
    return table("words")["probes"]["chassis" if point.black == NAME else "charged" if charged else "live"]


def _back(bench: Bench) -> str:
    if not back_to_power(bench):
        return ""
    key = "slip" if bench.state.alarm else "plain"
    return table("words")["back"][key]


def _step_help(bench: Bench) -> str:
    if bench.state.mode is Mode.POWERED:
        return "Power is on: hands out, knobs and leads from outside only. Inside means power down and the gate."
    if bench.state.mode is Mode.BARE:
        return "Nothing is fitted that could be live or charged; once something is, the gate begins."
    secured = table("words")["secured"][bench.secured]
    return f"{secured}. Hands out for a break means the gate again when you come back."


def _clip_part(bench: Bench) -> str:
    """Where the clip goes while nothing is there, and what comes off before it is read."""
    part = bench.phase.clip.part
    where = f"Where {part} is not fitted yet, the clip goes where its ends will be." if part else ""
    return " ".join((where, table("words")["links"]["first"] if bench.state.links_on else "")).strip()


def _links_on(bench: Bench) -> str:
    """What counts in a reading in ohms, where it is not the clip alone."""
    if bench.secured not in ("links", "both") or bench.state.mode is not Mode.HANDS:
        return ""
    ids = ", ".join(link.id for link in due_links(bench.plan, bench.state))
    said = table("words")["links"][bench.secured]
    return said.format(ohm=figures.ohms(bench.phase.clip.ohm), ids=ids, at=bench.phase.clip.at)


def _went_on(bench: Bench) -> str:
    """Where the builder went on from a warn, and against what the ratings review said, for the sign-off."""
    points = [line.split(": ")[0] for line in bench.accepted]
    against = sorted({objection for _, objection in bench.state.overruled})
    warned = f"You went on from a warn at: {'; '.join(points)}. " if points else ""
    return warned + (f"You went on although: {'; '.join(against)}." if against else "")


def _unmeasured(bench: Bench) -> str:
    """What stays open at the end for want of an instrument."""
    return f"Not measured, {'; '.join(bench.unmeasured)}." if bench.unmeasured else ""


def _closing_phase(bench: Bench) -> Phase:
    """The phase whose power a closing leads to."""
    after = bench.plan.phases[bench.state.phase : bench.state.phase + 2]
    return next((phase for phase in after if phase.kind == "power"), bench.phase)


def _of_reservoir(bench: Bench, reservoir: Reservoir) -> dict[str, str]:
    bleed, clip_ohm = reservoir.bleed, bench.phase.clip.ohm
    first_v = reservoir.highest_v
    if bench.ask.kind == "bleed":
        first_v = bench.notebook.charged.get(reservoir.id, first_v)
    not_before = ""
    if bench.state.powered and isfinite(reservoir.slowest_s):
        not_before = f"Not before {figures.seconds(reservoir.slowest_s)} after power-down, computed with cold valves."
    return {
        "id": reservoir.id, "name": reservoir.name, "red": reservoir.red, "black": reservoir.black,
        "highest": figures.volts(reservoir.highest_v), "range": figures.range_for(reservoir.highest_v),
        "not_before": not_before, "read": _read(reservoir),
        "seconds": figures.seconds(bleed.seconds) if bleed else "a minute",
        "first_a": figures.shown(first_v / clip_ohm, "A"), "first_w": figures.shown(first_v**2 / clip_ohm, "W"),
        "bleed_says": "; ".join((*_bled_where(reservoir), *(bleed.says if bleed else ()))),
    }  # fmt: skip


def _read(reservoir: Reservoir) -> str:
    """What to read; of a group every capacitor, since each keeps its charge where the path to the others is open."""
    if len(reservoir.parts) < 2:
        return f"Read {reservoir.name}."
    return f"Red at each of {', '.join(reservoir.parts)}; type the largest: a path between them may be open."


def _bled_where(reservoir: Reservoir) -> tuple[str, ...]:
    """Which of a group the bleed lead goes to."""
    return (f"on the one of {', '.join(reservoir.parts)} that read highest",) if len(reservoir.parts) > 1 else ()


def _of_point(bench: Bench) -> dict[str, str]:
    point = bench.point(bench.ask.subject)
    if point is None:
        name = bench.ask.subject or "HT"
        place = {"red": "HT+", "black": "chassis", "meter": "DC volts", "range": _range(bench)}
        return {"name": name, "unit": "V", **place}
    meter = _METER.get(point.quantity, _SEEN)
    if point.unit == "V":
        meter = f"{meter}, {_reading_range(bench)}"
    live = bench.state.mode is Mode.POWERED and point.black != NAME
    hand = {"hand": "hands off: both leads are clipped on"} if live else {}
    instrument = "" if point.computed else proving(bench.build.point[point.id])
    if instrument and not point.lacks:
        meter = instrument
    return {"name": point.name, "red": point.red, "black": point.black, "unit": point.unit, "meter": meter,
            "range": _range(bench), "lacks": _lacks(point) or _shows(bench) or _tester(bench, point),
            **(test_fields(bench) if point.test else {}), **hand}  # fmt: skip


def _shows(bench: Bench) -> str:
    """What a computed reading is for."""
    chosen = bench.chosen
    return table("words")["computed"]["line"].format(slip=chosen.adds[0]) if chosen else ""


def _reading_range(bench: Bench) -> str:
    """The range for what a point should read, or may read at most where nobody knows what it should."""
    by = bench.expectation()
    if by is None:
        return figures.range_for(inf)
    stops = [limit.value for limit in (by.stop_low, by.stop_high) if limit is not None]
    for values in ((by.nominal, by.low, by.high), stops) if isfinite(by.nominal) else (stops,):
        if top := max((abs(value) for value in values if isfinite(value)), default=0.0):
            return figures.range_for(top)
    return figures.range_for(inf)


def _lacks(point: Point) -> str:
    """What a hand meter can find where the instrument that proves the point is not owned."""
    if not point.lacks:
        return ""
    return table("words")["lacks"][point.guards].format(instrument=point.lacks)


def _tester(bench: Bench, point: Point) -> str:
    """How an insulation tester is proved, and what it does to whoever holds it."""
    volts = bench.build.bench.insulation_tester
    if point.guards != "insulation" or not volts:
        return ""
    return table("words")["tester"]["prove"].format(volts=figures.volts(volts))


def _of_trim(bench: Bench) -> dict[str, str]:
    trim = next(trim for trim in bench.phase.trims if trim.id == bench.ask.subject)
    point, target = bench.point(trim.point), bench.target()
    last = bench.notebook.trims.get(trim.id)
    found = {
        "pot": trim.pot, "name": point.name if point else trim.point, "meter": f"DC volts, {_reading_range(bench)}",
        "red": point.red if point else trim.point, "black": point.black if point else "chassis",
        "trim_line": "", "trim_distance": "", "trim_why": "",
        "trim_reach": table("words")["trim_reach"]["inside" if trim.inside else "outside"],
    }  # fmt: skip
    if target is not None:
        goal = figures.shown(target.target_v, "V")
        found |= {
            "trim_line": f"Read {found['name']}: {goal} wanted, {_span(target.low, target.high)} will do.",
            "trim_why": target.why,
            "trim_distance": f"To raise it: {target.turn}.",
        }
        if last is not None and not last.low <= last.value_v <= last.high:
            away = target.target_v - last.value_v
            turn = target.turn if away > 0.0 else OTHER_WAY.get(target.turn)
            off = "low" if away > 0.0 else "high"
            how = f"Turn {turn}" if turn else f"To raise it: {target.turn}"
            found["trim_distance"] = f"{how}: {figures.volts(abs(away))} too {off}."
    return found


def _span(low_v: float, high_v: float) -> str:
    return f"{figures.volts(low_v)} to {figures.volts(high_v)}"


def _range(bench: Bench) -> str:
    return figures.range_for(max(reservoir.highest_v for reservoir in bench.phase.reservoirs))


def _slow(bench: Bench) -> str:
    """Which reservoirs only the clip drains in time, and the wish for a better bleeder."""
    slow = [r.name for r in bench.phase.reservoirs if not (r.bled and r.slowest_s <= bench.plan.settings.wait_s)]
    if not slow:
        return ""
    only = "clip and links are the only path. Fit a better one before the next power."
    return f"No quick bleeder on {', '.join(slow)}: {only}"


def _wait_why(bench: Bench) -> str:
    if holds("wait_over", bench.plan, bench.state) or not _slow(bench):
        return "It is there for recovery; the bleeders do their work besides."
    return f"Five minutes, since a bleeder is missing, unknown or slow. {_slow(bench)}"


def _course_help(bench: Bench) -> str:
    course = bench.course
    if course is None:
        return "No course was computed: watch for smoke, smell, a red anode, a growing hum."
    top, off = figures.volts(course.highest_v), figures.volts(course.switch_off_v)
    return f"Computed: up to {top}. Off at {off}: {course.reason}."


def _switch_off(bench: Bench) -> str:
    if bench.course is None:
        return "Hand on the switch. Smell, smoke, a red anode, a hum that grows: STOP."
    off_v = bench.course.switch_off_v
    beyond = f"{'Less negative than' if off_v < 0.0 else 'Over'} {figures.volts(off_v)}"
    return f"{beyond}, smoke, smell or a red anode: STOP and switch off."


def _mains_probes(bench: Bench) -> dict[str, str]:
    point = bench.point(bench.build.mains.read_point or "") if bench.infers_mains else None
    if point is not None:
        return {"mains_red_at": point.red, "mains_black_at": point.black}
    return {"mains_red_at": f"live of {_mains_at(bench)}", "mains_black_at": "its neutral"}


def _mains_at(bench: Bench) -> str:
    if bench.build.mains.read_at == "variable transformer":
        return "the outlet of the variable transformer"
    return "a neighbouring outlet"


def _mains_line(bench: Bench) -> str:
    if bench.infers_mains:
        return "Read the earthed heater winding; the mains is worked out from it."
    first = "The meter from ohms to AC volts first. " if bench.state.mode is Mode.CLOSING else ""
    return f"{first}Read the mains at {_mains_at(bench)}, on AC."
