"""A finished amplifier on the bench again, as the bench tells it: what it read before, beside each reading."""

from __future__ import annotations

from dataclasses import replace

from benchtui.procedure import events as e
from benchtui.quantities.clean import clean
from benchtui.session import figures
from benchtui.session.bench import Bench
from benchtui.session.compared import far, move, row_of, rows, shown, summary, told
from benchtui.session.signed import Key
from benchtui.session.tables import table
from benchtui.session.view import Banner

#: What is typed at a finished build that works, however it is written.
WORDS = ("checkup", "check-up", "check up")


def returns(bench: Bench, entry: str) -> e.Event | None:
    """What a word at a finished build brings back to the bench, and as what."""
    if entry in WORDS:
        return e.BroughtBack(bench.notebook.signed.checkups + 1)
    return e.BrokeDown(bench.notebook.repairs + 1) if entry == "stopped" else None


def beside_sign_off(bench: Bench, banner: Banner | None) -> Banner | None:
    """What is said of the event just saved, with what it read at the last sign-off where it is a reading; what means
    something warns though it passes."""
    signed = bench.notebook.signed
    if banner is None or signed.entered is None or not bench.state.returned:
        return banner
    row = row_of(bench.build, bench.plan, signed, signed.entered)
    if row is None:
        return banner
    more = tuple(clean(line) for line in (told(row), row.hint) if line)
    if banner.kind in ("warn", "stop"):  # why it is out of its window comes first
        return replace(banner, more=(*banner.more, *more))
    banner = replace(banner, more=(*more, *banner.more))
    if row.verdict != "means" or row.moved is None:
        return banner
    words = table("compared")["pot_warns" if row.key[0] == "pot" else "passes"]
    return replace(banner, kind="warn", text=words.format(text=banner.text, far=far(row.slow or row.moved, row.unit)))


def _key(bench: Bench, point: str, stage: str = "") -> Key:
    """What a reading of a stage, the present one by default, is kept under: with a soak's power on it is the soak's."""
    soaks = {phase.stage: {each.id for each in phase.points} for phase in bench.plan.phases if phase.soak}
    return ("soak" if point in soaks.get(stage or bench.phase.stage, ()) else "point", point)


def compared(bench: Bench, stage: str, point: str) -> str:
    """What a list of a stage's readings says of a point beside it: its move, or that it is from before; else ""."""
    signed, words = bench.notebook.signed, table("compared")
    if signed.against is None:
        return ""
    key = _key(bench, point, stage)
    if key not in signed.since:
        return words["from before"] if bench.state.returned else ""
    row = row_of(bench.build, bench.plan, signed, key)
    if row is None or row.then is None:
        return ""
    return words["listed"].format(value=shown(row.then, row.unit), when=figures.date(row.then.wall), moved=move(row))


def at_sign_off(bench: Bench) -> tuple[str, ...]:
    """What the point asked for now read at the last sign-off, for the why key."""
    signed = bench.notebook.signed
    then = signed.against.reads.get(_key(bench, bench.ask.subject)) if signed.against and bench.state.returned else None
    point = bench.point(bench.ask.subject)
    if then is None or point is None:
        return ()
    mains = table("compared")["mains"].format(volts=figures.volts(then.mains_v)) if then.mains_v else ""
    return (table("compared")["why"].format(value=shown(then, point.unit), when=figures.date(then.wall), mains=mains),)


def checkup_fields(bench: Bench) -> dict[str, str]:
    """The field of prompts that tells what has moved: at the end of a check-up, till something else comes after."""
    signed = bench.notebook.signed
    if not signed.checked or bench.ask.kind not in ("finish", "finish shut", "done"):
        return {"compared": ""}
    found = summary(rows(bench.build, bench.plan, signed))
    return {"compared": clean(table("compared")["ended"].format(number=signed.checkups, found=found))}
