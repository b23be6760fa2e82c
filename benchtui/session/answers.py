"""What a typed line means as an answer to the present question: a command, or a sentence back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import nan

from benchtui.diagnosis.candidates import exchange_in
from benchtui.procedure import commands as c
from benchtui.procedure import events as e
from benchtui.procedure.guards import GUARDS
from benchtui.procedure.state import Mode
from benchtui.quantities.errors import Question
from benchtui.quantities.reading import read
from benchtui.quantities.sentence import sentence
from benchtui.quantities.units import Unit
from benchtui.session import figures
from benchtui.session.bench import Bench
from benchtui.session.checkup import returns
from benchtui.session.fields import fields
from benchtui.session.forecasts import retest_key
from benchtui.session.fuse_cap import read_cap
from benchtui.session.limiting import limiter_words, limiters
from benchtui.session.making import said, undone
from benchtui.session.repairs import everything, named, parts_asked, retested, told
from benchtui.session.shut_answers import of_winding, other_fuse
from benchtui.session.signal import amounts_to
from benchtui.session.suspects import due_live, suspected
from benchtui.session.tables import table
from benchtui.session.wording import MADE_SAYS
from benchtui.verdicts.expectation import Expectation
from benchtui.verdicts.judge import judge

Meant = c.Command | e.Event


@dataclass(frozen=True)
class Said:
    """A line that is not taken: a question or a refusal, as one sentence."""

    kind: str
    text: str


@dataclass(frozen=True)
class Taken:
    """A line that is understood: the command, and notes on how it was understood."""

    command: Meant
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Aside:
    """Another point of the stage is to be read first."""

    point: str


#: Words that are plain facts, by question.
_WORDS: dict[str, dict[str, Meant]] = {
    "bare": {"bare": e.SaidBare(), "fitted": e.SaidFitted()},
    "met mains": {"never": e.SaidNever(), "met": e.SaidMet()},
    "plug": {"out": e.PlugOut()},
    "no lead": {"no lead": e.NoLead(), "lead on": e.LeadAttached()},
    "hands in": {"in": c.GoIn()},
    "finish": {"finished": e.Finished()},
    "finish shut": {"finished": e.FinishedShut()},
    "winding lost": {"not measured": e.WindingLeft("nobody knows how long the power was off")},
    "go on": {"complete": c.GoOn()},
    "look": {"in place": e.Looked(), "not in place": e.LookFailed()},
    "clip off": {"off": e.ClipOff()},
    "clear": {"clear": e.Clear()},
    "cover": {"cover on": e.Covered("cover on"), "one hand": e.Covered("one hand")},
    "last screw": {"last screw": e.Covered("last screw")},
    "full mains": {"full": e.FullMains()},
    "switch off": {"off": c.GoOn()},
    "exchange read": {"off": e.PoweredDown()},
    "put back": {"put back": e.PutBack()},
}

#: Words that may be typed at any prompt of a mode; words.toml says what they mean.
_ANYTIME: dict[str, Meant] = {
    "touched": e.Disturbed("plug or lead touched"),
    "meter changed": e.Disturbed("meter, range or lead changed"),
    "moved": e.Unwatched("moved, or in other hands"),
    "back to power": e.BackToPower(),
    "slip": e.Slipped(),
    "clip off": e.ClipOff(),
    "clip on": c.SeeClip(),
    "lead on": e.LeadAttached(),
    "off": e.PoweredDown(),
}

#: Numbers of gate and closing: plain volts or ohms, and what they are told as.
_PLAIN: dict[str, tuple[Unit, str | None, Callable[[str, float], Meant]]] = {
    "proof dc": (Unit.VOLT, "dc", lambda _, v: c.ProveMeter("dc", v)),
    "proof ac": (Unit.VOLT, "ac", lambda _, v: c.ProveMeter("ac", v)),
    "proof dc again": (Unit.VOLT, "dc", lambda _, v: c.ProveMeter("dc", v)),
    "proof ac again": (Unit.VOLT, "ac", lambda _, v: c.ProveMeter("ac", v)),
    "fallen": (Unit.VOLT, "dc", lambda _, v: c.ReadFallen(v)),
    "mains side": (Unit.VOLT, "ac", lambda _, v: c.ReadMainsSide(v)),
    "round 1": (Unit.VOLT, "dc", c.ReadReservoir),
    "wait": (Unit.VOLT, "dc", c.ReadReservoir),
    "round 2": (Unit.VOLT, "dc", c.ReadReservoir),
    "capacitor": (Unit.VOLT, "dc", c.ReadCapacitor),
    "capacitor charged": (Unit.VOLT, "dc", c.ReadCapacitor),
    "rail": (Unit.VOLT, "dc", c.ReadRail),
    "ht live": (Unit.VOLT, "dc", lambda _, v: c.ReadHt(v)),
}

#: What pasted text may answer, but at the gate and while closing: readings of a stage. All that moves on is typed.
_PASTED_TOO = ("point", "limited point", "settle", "soak", "trim", "trim ht", "mains")

#: What is no cause though it is typed for one.
_NO_CAUSE = ("", "unknown", "no", "none", "nothing", "skip", "dunno", "ok", "mended", "found")

_COUNTS: dict[str, Callable[[int], Meant]] = {"links": c.CountLinks, "links off": c.CountLinksOff}

_OHMS: dict[str, Callable[[float], Meant]] = {"clip": c.ReadClip, "clip alone": c.ReadClip, "ohms": c.ReadOhms}


def meaning(bench: Bench, text: str) -> Taken | Aside | Said:
    """What `text` says at the present question."""
    kind, entry = bench.ask.kind, " ".join(text.split()).casefold()
    if not entry:
        return Said("question", "Nothing was typed.")
    word = _word(bench, kind, entry)
    if word is not None:
        return word
    try:
        return _number(bench, kind, text) or Said("question", _expected(bench))
    except Question as question:
        return Said("question", question.ask)


def _word(bench: Bench, kind: str, entry: str) -> Taken | Aside | Said | None:
    command = _WORDS.get(bench.prompt, _WORDS.get(kind, {})).get(entry)
    if command is None and kind == "step" and entry == _says(bench) and not bench.printed:
        command = e.StepDone(bench.ask.subject, entry)
    if command is None and kind.startswith("winding"):
        command = of_winding(bench, entry)
    if command is None:
        command = said(bench, entry)
    if command is None and kind == "come off" and entry == "off":
        command = e.Undone((bench.ask.subject,))
    if command is None and bench.state.mode in (Mode.BARE, Mode.HANDS):
        command = undone(bench, entry)
    if command is None and kind == "bleed" and entry == "bled":
        command = e.Bled(bench.ask.subject)
    if command is None and kind == "hands out" and entry == "out":
        command = e.HandsOut() if bench.phase.kind == "power" else c.GoOn()
    if command is None and kind == "done":
        command = returns(bench, entry)
    if command is None and kind == "found" and entry == "not found yet":
        command = e.CauseOpen()
    if command is None and kind == "retest":
        command = _retest(bench, entry)
    if command is None and kind == "limiter":
        command = _limiter(bench, entry)
    if command is None and kind == "power on":
        command = _power_on(bench, entry)
    if command is None and kind == "objection":
        command = _overrule(entry)
    if command is None and entry in table("words")["anytime"].get(bench.state.mode.value, {}):
        command = _ANYTIME[entry]
    if command is None and kind in ("point", "warned") and entry == "next" and (point := due_live(bench)) is not None:
        return Aside(point)
    if command is None and bench.state.mode is Mode.HANDS and entry.partition(" ")[0] == "read":
        return _further(bench, entry.partition(" ")[2])
    if command is None and bench.state.mode is Mode.HANDS:
        command = _exchange(bench, entry)
    if command is not None:
        return Taken(command)
    no = table("prompts")[bench.prompt].get("no", {})
    return Said("refused", no[entry].format_map(fields(bench))) if entry in no else None


def _exchange(bench: Bench, entry: str) -> Meant | None:
    """That something was exchanged as asked for, or put back."""
    if entry == "put back":
        return e.PutBack()
    further = suspected(bench).next
    if entry != "exchanged" or further is None or further.kind != "exchange":
        return None
    return e.Exchanged(exchange_in(further.state), further.point)


def _further(bench: Bench, text: str) -> Taken | Said:
    """Ohms at the place that is asked for next to find a fault."""
    further = suspected(bench).next
    if further is None or further.kind != "ohms":
        return Said("refused", "No reading without power is asked for now; F7 says what may be wrong.")
    try:
        reading = read(text, Unit.OHM)
    except Question as question:
        return Said("question", question.ask)
    return Taken(e.FurtherRead(further.state, further.point, text.strip(), reading.value), reading.notes)


def _says(bench: Bench) -> str:
    return next(step.says for step in bench.due.steps if step.id == bench.ask.subject)


def _retest(bench: Bench, entry: str) -> Meant | None:
    """What is read again: as listed, where a list was computed, or everything."""
    parts = parts_asked(bench.state)
    listed = bench.forecasts.retest(retest_key(bench.state))
    if entry == "listed" and listed is not None:
        return retested(bench.plan, parts, listed.ohms, listed.spared)
    return everything(bench.plan, parts) if entry == "all" else None


def _limiter(bench: Bench, entry: str) -> Meant | None:
    words, _ = limiter_words(bench)
    if entry not in words:
        return None
    dark = entry == "dark" and bench.looks(bench.state.limiter) != "dark"
    return c.SeeLimiter(entry, short=entry == words[-1], dark=dark)


def _power_on(bench: Bench, entry: str) -> Meant | None:
    owned = {name.casefold().replace(" ", ""): name for name in limiters(bench)}
    limiter = owned.get(entry.replace(" ", ""))
    if limiter is not None:
        return e.PowerOn(limiter)
    word, colon, reason = entry.partition(":")
    return e.PowerOn("", reason.strip()) if word.strip() == "without" and colon and reason.strip() else None


def _overrule(entry: str) -> Meant | None:
    word, _, reason = entry.partition(":")
    return c.Overrule(reason.strip()) if word.strip() == "go on" and reason.strip() else None


def _number(bench: Bench, kind: str, text: str) -> Taken | Said | None:
    if kind in _PLAIN:
        unit, current, make = _PLAIN[kind]
        reading = read(text, unit, plain=True, current=current)  # type: ignore[arg-type]
        beyond = _beyond_ht(bench, text, reading.value) if kind == "ht live" else None
        return Taken(beyond or make(bench.ask.subject, reading.value))
    if kind in _OHMS:
        return Taken(_OHMS[kind](read(text, Unit.OHM).value))
    if kind == "step" and bench.printed and (cap := read_cap(text)) is not None:
        wrong = other_fuse(bench, cap)
        return Said("refused", wrong) if wrong else Taken(e.StepDone(bench.ask.subject, " ".join(text.split())))
    if kind == "winding room":
        return Taken(c.ReadRoom(read(text, Unit.CELSIUS).value))
    if kind in ("winding cold", "winding hot"):
        return Taken(c.ReadWinding(text.strip(), read(text, Unit.OHM).value))
    if kind in _COUNTS:
        return Taken(_COUNTS[kind](int(text))) if text.strip().isascii() and text.strip().isdigit() else None
    if kind == "mains":
        return _mains(bench, text)
    if kind == "trim ht":
        reading = read(text, Unit.VOLT, current="dc")
        return Taken(_beyond_ht(bench, text, reading.value) or e.TrimHt(reading.value), reading.notes)
    if kind in ("warned", "winding warned") and not _starts_a_number(text):
        if kind == "warned" and bench.forecasts.failure(bench.wanted):
            return Said("refused", "The forecast failed: nobody knows what is healthy here, and no reason helps.")
        return Taken(e.Accepted(bench.ask.subject, text.strip()))
    if kind == "point" and bench.ask.subject in bench.state.warned and not _starts_a_number(text):
        return Said("refused", sentence(GUARDS["not_guarded"].says))
    if kind == "found" and (_starts_a_number(text) or _nobody_knows(text)):
        return Said("question", "Type what was found and mended in words; or 'not found yet', if nobody knows.")
    if kind == "found":
        return Taken(e.CauseFound(text.strip(), named(bench.build, text)))
    if kind == "told":
        tells = told(bench.build, bench.ask.subject, text)
        return None if tells is None else Taken(tells)
    if kind in ("point", "warned", "limited point", "settle", "soak", "trim", "exchanged") and bench.ask.subject:
        return _reading(bench, text)
    return None


def _beyond_ht(bench: Bench, text: str, value_v: float) -> c.ReadPoint | None:
    """HT read on the way is judged by its limits like any reading: beyond one it is a stop."""
    ht = bench.phase.ht
    expectation = bench.facts.expectations.get(ht.id) if ht and bench.facts else None
    if expectation is None or judge(value_v, expectation).verdict != "stop":
        return None
    return c.ReadPoint(expectation.point, text.strip(), value_v, expectation)


def _starts_a_number(text: str) -> bool:
    start = text.strip().casefold()
    return start[:1].isdigit() or start[:1] in "+-.~<>" or start in ("ol", "open", "o.l", "0l")


def _nobody_knows(text: str) -> bool:
    """Is it no cause, but a way to say that there is none?"""
    said = text.strip().casefold().rstrip(".!?")
    return said in _NO_CAUSE or said.startswith(("not found", "don't know", "not known", "no idea"))


def _reading(bench: Bench, text: str) -> Taken | Said | None:
    expectation = bench.expectation()
    if expectation is None:
        return None
    unit = Unit(expectation.unit)
    current = {"dc": "dc", "ac": "ac", "ripple": "ac"}.get(expectation.quantity)
    reading = read(text, unit, current=current)  # type: ignore[arg-type]
    if current != "dc" and unit is not Unit.OHM and reading.value < 0.0:
        return Said("question", "An AC reading has no sign: type what the meter shows on its AC range.")
    if bench.ask.kind != "trim":
        return point_read(bench, expectation, text, reading.value, reading.notes)
    target = bench.target()
    goal = (target.target_v, target.low, target.high) if target else (nan, nan, nan)
    return Taken(c.ReadTrim(bench.ask.subject, text.strip(), reading.value, *goal, expectation), reading.notes)


def point_read(
    bench: Bench, expectation: Expectation, text: str, value: float, notes: tuple[str, ...], more: tuple[str, ...] = ()
) -> Taken:
    """A reading of the point asked for now, typed or by a capture, with `more` to say of it: judged in one way."""
    said = (*notes, *amounts_to(bench, value), *more)
    return Taken(c.ReadPoint(expectation.point, text.strip(), value, expectation), said)


def _mains(bench: Bench, text: str) -> Taken | Said:
    """Mains as typed, or worked out from the heater winding: it follows the mains in proportion."""
    reading = read(text, Unit.VOLT, current="ac")
    if not bench.infers_mains:
        return _too_high(bench, reading.value) or Taken(c.ReadMains(text.strip(), reading.value), reading.notes)
    facts = bench.forecasts.facts(bench.stage_key(None))
    expected = facts.expectations.get(bench.build.mains.read_point or "") if facts else None
    if expected is None or not expected.nominal > 0:
        return Said("refused", "The heater winding's volts could not be computed: mains can't be worked out from it.")
    mains_v = bench.build.mains.volts * reading.value / expected.nominal
    taken = Taken(c.ReadMains(text.strip(), round(mains_v, 1)), (f"mains works out at {mains_v:.1f} V",))
    return _too_high(bench, mains_v) or taken


def _too_high(bench: Bench, mains_v: float) -> Said | None:
    """What is said of mains above all that the build was computed for: the tap of its primary is the wrong one."""
    most_v = bench.plan.mains_v[1]
    primary = next((each.primary for each in bench.build.transformer.values()), None)
    if mains_v <= most_v or primary is None:
        return None
    words = table("words")["mains"]
    higher = ", ".join(figures.volts(tap) for tap in primary.taps if tap > primary.volts)
    taps = words["taps"].format(taps=higher) if higher else ""
    shown = {"mains": figures.volts(mains_v), "tap": figures.volts(primary.volts), "most": figures.volts(most_v)}
    return Said("refused", words["high"].format(taps=taps, **shown))


def _expected(bench: Bench) -> str:
    """What would be an answer, where the line was none."""
    kind = bench.ask.kind
    if kind == "power on":
        return "Name the limiter as listed, or type 'without', a colon and the reason."
    if kind == "objection":
        return "Type 'go on', a colon and the reason; or STOP, and mend it first."
    if kind == "step" and bench.printed:
        return table("words")["fuse"]["unread"]
    if kind == "step":
        return f"Type '{_says(bench)}' once it is so."
    if kind in MADE_SAYS:
        return f"Type '{MADE_SAYS[kind]}' once it is so, or '{MADE_SAYS[kind]} 3-5' for several of the list."
    if kind == "come off":
        return "Type 'off' once it is off."
    if kind in _COUNTS:
        return "Type how many links, as a plain number."
    if kind == "limiter":
        return f"Type one of: {', '.join(limiter_words(bench)[0])}."
    if "expected" in table("prompts")[bench.prompt]:
        return table("prompts")[bench.prompt]["expected"]
    if kind == "retest":
        return "Type 'listed', where a list is shown, or 'all'."
    if kind == "done":
        return "Type 'stopped' or 'checkup', as it is."
    words = {"bleed": ("bled",), "hands out": ("out",)}.get(kind) or tuple(
        _WORDS.get(bench.prompt, _WORDS.get(kind, ()))
    )
    if words:
        return f"Type {' or '.join(repr(word) for word in words)}, as it is."
    return "Nothing is asked now."


def strict(bench: Bench) -> bool:
    """Is the answer one that pasted text never gives: anything of gate or closing, and all but readings?"""
    return bench.state.mode in (Mode.OFF_GATE, Mode.CLOSING) or bench.ask.kind not in _PASTED_TOO
