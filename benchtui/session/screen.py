"""The picture of a session for the screens, put together from a moment of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Literal

from benchtui.buildfile.stages import stages
from benchtui.procedure.ask import gate_items
from benchtui.procedure.plan import WINDING, Phase
from benchtui.procedure.state import Mode
from benchtui.quantities.clean import clean
from benchtui.session import figures
from benchtui.session.bench import Bench
from benchtui.session.capture_words import told
from benchtui.session.checkup import at_sign_off, compared
from benchtui.session.making import of_stage, off_now
from benchtui.session.notebook import Entry
from benchtui.session.prompts import spoken
from benchtui.session.tables import table
from benchtui.session.view import Danger, StageMark

_DANGER = {
    Mode.BARE: ("BARE", "calm"),
    Mode.OFF_GATE: ("ASSUME LIVE", "danger"),
    Mode.HANDS: ("DEAD AS MEASURED", "calm"),
    Mode.CLOSING: ("CLOSING", "caution"),
    Mode.POWERED: ("LIVE", "danger"),
    Mode.HALT: ("NOT RECORDING", "danger"),
    Mode.READONLY: ("READ ONLY", "caution"),
    Mode.DONE: ("DEAD AS MEASURED", "calm"),
}

_STEPS = {
    "hands out": "close", "found": "inspect", "retest": "inspect", "limiter": "first power",
    "limited point": "first power", "full mains": "full mains", "mains": "full mains", "settle": "settle",
    "ht live": "power down", "switch off": "power down", "exchange read": "power down",
}  # fmt: skip


def danger(bench: Bench, saved: int) -> Danger:
    """The state of danger, always in sight."""
    mode, book = bench.state.mode, bench.notebook
    word, level = _DANGER[mode]
    if mode is Mode.POWERED and bench.state.limited:
        word = "LIVE, LIMITED"
    words = table("words")["danger"]
    if mode is Mode.DONE and book.reopened:
        (word, level), words = _DANGER[Mode.OFF_GATE], table("words")["reopened"]
    elif mode is Mode.DONE and book.shut:
        (word, level), words = _DANGER[Mode.OFF_GATE], table("words")["shut"]
    since, when = figures.clock(book.power_s or 0.0), figures.clock(book.hands_s or 0.0)
    finished = figures.day(book.finished_s or 0.0)
    secured = table("words")["secured_briefly"][bench.secured]
    read = _read_dead(bench) if mode is Mode.HANDS else ""
    detail = words[mode.value].format(
        since=since, saved=saved, secured=secured, read=read, when=when, finished=finished
    )
    if mode is Mode.OFF_GATE and bench.state.gate.plug:
        items, plug = gate_items(bench.plan, bench.state), book.items.get("plug_out", (0.0, 0.0))[1]
        done = sum(item.done for item in items)
        said = "no lead" if bench.state.mains == "never" else "plug out"
        detail = table("words")["gate_begun"].format(plug=said, when=figures.clock(plug), n=done, of=len(items))
    if mode is Mode.POWERED and book.ht is not None:
        detail += f", HT {figures.volts(book.ht[0])} at {figures.clock(book.ht[1])}"
    return Danger(word, level, detail)  # type: ignore[arg-type]


def _read_dead(bench: Bench) -> str:
    """What the reservoirs read before hands went in, each that was read."""
    items = bench.notebook.items
    read = [(each.id, *items.get(f"reservoir {each.id}", (0.0, 0.0))) for each in bench.phase.reservoirs]
    listed = ", ".join(f"{id} {figures.volts(value)}" for id, value, wall in read if wall)
    return f"{listed}; " if listed else ""


def step(bench: Bench) -> str:
    """Where in the stage's loop the work stands."""
    mode, kind = bench.state.mode, bench.ask.kind
    if mode is Mode.OFF_GATE:
        return "gate"
    if mode is Mode.CLOSING:
        return "first power" if kind in ("power on", "mains") else "close"
    if mode is Mode.POWERED:
        return _STEPS.get(kind, "read")
    return _STEPS.get(kind, "inspect" if kind in ("point", "warned") else "wire")


def stage_title(bench: Bench, id: str = "") -> str:
    """What the screen calls a stage, the present one by default."""
    id = id or bench.phase.stage
    return next((clean(info.title) for info in stages(bench.build) if info.id == id), clean(id))


def stage_shown(bench: Bench) -> str:
    """The present stage's title, with the number of the repair or check-up where it is in one."""
    title, book = stage_title(bench), bench.notebook
    if bench.state.checkup:
        return table("compared")["stage"].format(stage=title, number=book.signed.checkups)
    return table("repair")["words"]["stage"].format(stage=title, number=book.repairs) if bench.state.repair else title


def stage_marks(bench: Bench) -> tuple[StageMark, ...]:
    """Every stage of the build with how far it is."""
    now, of = bench.state.phase, defaultdict[str, list[tuple[int, Phase]]](list)
    for n, phase in enumerate(bench.plan.phases):
        of[phase.stage].append((n, bench.phase if n == now else phase))
    marks = [_mark(bench, info.id, info.title, of[info.id]) for info in stages(bench.build)]
    skipped = {id: entry for id, entry in bench.build.stage.items() if entry.skip}
    return (*marks, *(StageMark(id, entry.title or id, "left out", 0, 0) for id, entry in skipped.items()))


def _mark(bench: Bench, stage: str, title: str, phases: Sequence[tuple[int, Phase]]) -> StageMark:
    """How far a stage is, by its numbered phases."""
    now = bench.state.phase
    over = bench.state.mode is Mode.DONE or bench.state.last_complete
    total = sum(_size(phase, computed=n == now and not over) for n, phase in phases)
    done = sum(_size(phase) for n, phase in phases if n < now or over)
    if any(n == now for n, _ in phases) and not over:
        here = {each.id for each in (*bench.phase.steps, *bench.phase.readings)}
        so_far = here & (bench.state.read | bench.state.spared | bench.state.made)
        soak = bench.phase.soak if bench.state.mode is Mode.POWERED else None
        outside = len(soak.outside) if soak else 0  # all of them are read before there is power
        return StageMark(stage, title, "now", done + len(so_far) + outside, total)
    if not all(n < now or over for n, _ in phases):
        return StageMark(stage, title, "open", done, total)
    return StageMark(stage, title, _passed(bench, stage), done, total)


def _passed(bench: Bench, stage: str) -> Literal["passed", "passed with warns", "not all measured"]:
    """How a stage that is done was passed: what was not measured is told before warns that were accepted."""
    phases = [phase for phase in bench.plan.phases if phase.stage == stage]
    points = {point.id for phase in phases for point in phase.readings}
    points |= {WINDING for phase in phases if phase.soak}
    if points & bench.state.unproved:
        return "not all measured"
    return "passed with warns" if bench.notebook.accepted(stage) else "passed"


def _size(phase: Phase, *, computed: bool = False) -> int:
    """Steps and points of a phase; those that are `computed` count while they are asked for, and are known then."""
    points = len(phase.readings) if computed else sum(not point.computed for point in phase.readings)
    return len(phase.steps) + points


def explain(bench: Bench, stage: str) -> tuple[str, ...]:
    """The points of a stage with what they read and how they were judged."""
    entries = bench.notebook.stages.get(stage, {})
    phases = [phase for phase in bench.plan.phases if phase.stage == stage]
    points = {each.id: each for phase in phases for each in phase.readings}
    if bench.plan.whole and bench.plan.whole.power.stage == stage:  # of what a repair reads, what it has read
        later = (*bench.plan.whole.checks.points, *bench.plan.whole.power.points)
        points |= {each.id: each for each in later if each.id in entries}
    lines = [
        f"{each.name}: {_told(entries[id], each.unit)}{compared(bench, stage, id)}"
        if id in entries
        else f"{each.name}: not read yet"
        for id, each in points.items()
    ]
    # read, and computed: after a restart the plan knows them again only once they are computed
    others = {id: entry for id, entry in entries.items() if id not in points}
    lines += [f"{id}: {_told(entry, 'ohm')}{compared(bench, stage, id)}" for id, entry in others.items()]
    return (*(lines or ("No readings in this stage.",)), *of_stage(bench, stage))


def _told(entry: Entry, unit: str) -> str:
    reason = f", went on: {entry.reason}" if entry.reason else ""
    return f"{figures.shown(entry.read.value, unit, 4)}, {entry.verdict}{reason}"


def why(bench: Bench) -> tuple[str, ...]:
    """The reasons behind the present question's numbers."""
    expectation, target = bench.expectation(), bench.target()
    window = "healthy builds" if bench.proves else "nothing found"
    found: list[str] = []
    if expectation is not None and target is None:  # a pot has its one target, and no other window beside it
        found = [spoken(expectation, window), *expectation.why]
    unit = expectation.unit if expectation else "V"
    for limit in (expectation.stop_low, expectation.stop_high) if expectation else ():
        if limit is not None:
            found.append(f"Stop at {figures.shown(limit.value, unit)}: {limit.reason}")
    if target is not None:
        found.append(target.why)
    if bench.chosen is not None:
        found.append(table("words")["computed"]["why"].format(slips="; ".join(bench.chosen.adds)))
    found += at_sign_off(bench)
    if bench.facts is not None:
        found += bench.facts.left_out
    if bench.notebook.captured is not None:
        found += told(bench.notebook.captured)  # for the last reading, which may have led on to another point
    return tuple(found)


def loose(bench: Bench) -> tuple[str, ...]:
    """Live loose ends of this stage, and who is in and out of the chassis."""
    listed = list(bench.phase.loose)
    after = bench.plan.phases[bench.state.phase + 1 : bench.state.phase + 2]
    if bench.phase.kind == "hands" and after:
        listed += after[0].loose
    listed += off_now(bench.plan, bench.state)
    exchange = [table("words")["further"]["is"].format(exchange=bench.state.exchange)] if bench.state.exchange else []
    return tuple(dict.fromkeys((*exchange, *listed, *bench.fitted_since)))
