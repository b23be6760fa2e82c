"""The prompt for the present question, from its table and the fields of the moment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import isfinite, isnan
from typing import Literal

from benchtui.procedure.ask import closing_items, gate_items
from benchtui.procedure.state import Mode
from benchtui.quantities.clean import clean
from benchtui.session import capturing, figures
from benchtui.session.bench import Bench
from benchtui.session.drilling import picture
from benchtui.session.fields import back_to_power
from benchtui.session.making import marks
from benchtui.session.notebook import Notebook
from benchtui.session.sockets import socket
from benchtui.session.tables import table
from benchtui.session.view import Course, ItemMark, Probes, Prompt, Scale
from benchtui.session.waiting import fall
from benchtui.session.wording import MADE_SAYS
from benchtui.verdicts.expectation import Expectation

_HINTS = {"number": "type what the meter shows"}

#: Share of a window's upper end under which a nominal reading counts as nothing.
_NOTHING = 1e-3

#: Gate items with a reading of their own to show beside them.
_VALUED = ("meter_proved", "mains_dead", "clip_on", "ohms_right")


def prompt(bench: Bench, number: int, filled: Mapping[str, str]) -> Prompt:
    """What is shown for the present question; `filled` is every field that its words may use."""
    words = _table(bench)
    kind = bench.ask.kind
    return Prompt(
        number=number,
        title=_fill(words["title"], filled),
        place=f"{bench.ask.k} of {bench.ask.n}" if bench.ask.n else "",
        lines=tuple(line for line in (_fill(line, filled) for line in words["lines"]) if line),
        entry=words["entry"],
        unit=_fill(words.get("unit", ""), filled),
        words=tuple(says for entry in words.get("says", ()) for says in _fill(entry, filled).split("|")),
        hint=_hint(bench, words),
        probes=_probes(words, filled),
        scale=_scale(bench),
        socket=socket(bench.build, bench.pin) if kind in ("point", "warned") else None,
        course=_course(bench),
        wait_s=bench.ask.wait_s,
        panel=picture(bench),
        items=_items(bench),
    )  # fmt: skip


def helps(bench: Bench, filled: Mapping[str, str]) -> tuple[str, ...]:
    """Help for the present question, with the words that may be typed at any time in this mode."""
    own = [line for line in (_fill(line, filled) for line in _table(bench).get("help", ())) if line]
    anytime = dict(table("words")["anytime"].get(bench.state.mode.value, {}))
    back = back_to_power(bench)
    if not back or bench.state.alarm:
        anytime.pop("back to power", None)
    if not back or not bench.state.alarm:
        anytime.pop("slip", None)
    return (*own, *capturing.helps(bench), *(f"'{word}' at any time: {what}" for word, what in anytime.items()))


def _hint(bench: Bench, words: dict) -> str:
    of_capture = capturing.hint(bench) if bench.ask.kind == "point" else ""
    return of_capture or words.get("hint", _HINTS.get(words["entry"], ""))


def _table(bench: Bench) -> dict:
    return table("prompts")[bench.prompt]


def _fill(template: str, filled: Mapping[str, str]) -> str:
    return clean(template.format_map(filled)).strip()


def _probes(words: dict, filled: Mapping[str, str]) -> Probes | None:
    if "meter" not in words:
        return None
    found = {key: _fill(words.get(key, ""), filled) for key in ("red", "black", "meter", "hand")}
    return Probes(**found)


def spoken(expectation: Expectation, window: str = "healthy builds") -> str:
    """What a point should read, as one line of words; `window` says whose range it is."""
    unit = expectation.unit
    if isnan(expectation.nominal):
        parts = ["no value computed"]
    else:
        parts = [f"should read {figures.shown(_shown_nominal(expectation), unit)}"]
        low, high = figures.shown(_least_shown(expectation), unit), figures.shown(expectation.high, unit)
        parts.append(f"{window}: {low} to {high}")
    if expectation.stop_low is not None:
        parts.append(figures.stop(expectation.stop_low.value, unit, low=True))
    if expectation.stop_high is not None:
        parts.append(figures.stop(expectation.stop_high.value, unit, low=False))
    return "   ".join(parts)


def _least_shown(of: Expectation) -> float:
    """The lower end of a window as a meter can show it: only direct volts have a sign."""
    return of.low if of.quantity == "dc" else max(of.low, 0.0)


def _shown_nominal(of: Expectation) -> float:
    """A nominal reading that is nothing beside its window is shown as nothing."""
    return 0.0 if isfinite(of.high) and abs(of.nominal) < _NOTHING * abs(of.high) else of.nominal


def _scale(bench: Bench) -> Scale | None:
    """The picture of a window and its limits; while a pot is trimmed the window is its target's."""
    expectation, target = bench.expectation(), bench.target()
    if expectation is None or isnan(expectation.nominal):
        return None
    words = spoken(expectation, "healthy builds" if bench.proves else "nothing found")
    if target is not None:
        expectation = replace(expectation, nominal=target.target_v, low=target.low, high=target.high)
        words = spoken(expectation, "will do")
    low, high = expectation.stop_low, expectation.stop_high
    return Scale(
        expectation.unit, expectation.quantity,
        _shown_nominal(expectation), _least_shown(expectation), expectation.high,
        low.value if low else None, high.value if high else None, words, bench.proves,
    )  # fmt: skip


def _course(bench: Bench) -> Course | None:
    if bench.ask.kind == "wait":
        return fall(bench)
    if bench.ask.kind not in ("settle", "full mains"):
        return None
    course, point = bench.course, bench.point(bench.phase.watch)
    if course is None or point is None:
        return None
    caption = f"{point.name} as computed, cathodes cold at 0 s"
    return Course(caption, "V", course.times_s, course.volts, bench.state.full_s, course.switch_off_v)


def _items(bench: Bench) -> tuple[ItemMark, ...]:
    mode = bench.state.mode
    if mode is Mode.OFF_GATE and bench.ask.n and bench.ask.kind != "told":
        return _marks(gate_items(bench.plan, bench.state), bench.notebook, never=bench.state.mains == "never")
    if mode is Mode.CLOSING:
        return _closing(bench)
    if bench.ask.kind in ("capacitor", "capacitor charged"):
        return _capacitors(bench)
    if bench.ask.kind in MADE_SAYS:
        return marks(bench)
    if bench.ask.kind in ("step", "point", "warned"):
        return _work(bench)
    return ()


def _closing(bench: Bench) -> tuple[ItemMark, ...]:
    """The items before power; before a soak the cover is screwed on."""
    listed = _marks(closing_items(bench.plan, bench.state), bench.notebook)
    if not bench.phase.soak:
        return listed
    words = table("words")
    covered, screwed = words["items"]["covered"], words["outside"]["covered"]
    return tuple(replace(each, text=screwed) if each.text == covered else each for each in listed)


def _marks(items: tuple, notebook: Notebook, *, never: bool = False) -> tuple[ItemMark, ...]:
    """The items in words; a chassis that `never` met mains has no plug to pull."""
    words = table("words")["items"] | (table("words")["items_never"] if never else {})
    now = next((item.name for item in items if not item.done), "")
    marks = []
    for item in items:
        value, wall = notebook.items.get(item.name, (float("nan"), 0.0))
        detail = ""
        if item.done and wall:
            unit = "ohm" if item.name in ("clip_on", "ohms_right") else "V"
            shown = f"{figures.shown(value, unit)} " if item.name in _VALUED and isfinite(value) else ""
            detail = f"{shown}{figures.clock(wall)}"
        state = "done" if item.done else "now" if item.name == now else "open"
        marks.append(ItemMark(words[item.name], state, detail))
    return tuple(marks)


def _capacitors(bench: Bench) -> tuple[ItemMark, ...]:
    """The capacitors of the step that waits for them."""
    now, low = bench.ask.subject, bench.state.bench_low
    step = next(step for step in bench.due.steps if now in {capacitor.id for capacitor in step.capacitors})
    return tuple(
        ItemMark(clean(each.name), "now" if each.id == now else "done" if each.id in low else "open")
        for each in step.capacitors
    )


def _work(bench: Bench) -> tuple[ItemMark, ...]:
    ask = bench.ask
    steps = tuple(step for step in bench.due.steps if not step.makes)
    listed = steps if ask.kind == "step" else bench.due.points
    return tuple(
        ItemMark(
            clean(getattr(each, "text", "") or getattr(each, "name", "")),
            "now" if each.id == ask.subject else _done(bench, each.id),
        )
        for each in listed
    )


def _done(bench: Bench, id: str) -> Literal["done", "warned", "not measured", "open"]:
    if id not in bench.state.read:
        return "open"
    if id in bench.state.unproved:
        return "not measured"
    entry = bench.notebook.stages.get(bench.phase.stage, {}).get(id)
    return "warned" if entry is not None and entry.reason else "done"
