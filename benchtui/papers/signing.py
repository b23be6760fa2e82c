"""The sign-off: bonds, insulation, fuses as printed, the soak, the winding's temperature, what is open, the result."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.buildfile.models import Build
from benchtui.papers import said
from benchtui.papers.blocks import Block, Bullets, Heading, Paragraph, Table
from benchtui.papers.history import Entry, Reading
from benchtui.papers.source import Source
from benchtui.procedure import events as e
from benchtui.procedure.plan import WINDING
from benchtui.session import figures, wording
from benchtui.session.drift import moved
from benchtui.session.fuse_cap import marking
from benchtui.session.shutting import SIGN_OFF
from benchtui.session.signal import not_measured

_FUSE = "fuse "
"""What the id of a step begins with that asks what is printed on a fuse."""


def sign_off(source: Source, result: str) -> Iterator[Block]:
    """What the sign-off read, what was gone on from and what was not measured; `result` is the whole in a sentence."""
    here = [entry for entry in source.history.entries if entry.stage == SIGN_OFF]
    yield Heading("The sign-off")
    yield Paragraph(result)
    if here:
        yield from _outside(source)
        yield from _fuses(source.build, here)
        yield from _soak(source, here)
        yield from _winding(source, here)
    elif SIGN_OFF in source.build.stage and source.build.stage[SIGN_OFF].skip:
        yield Paragraph(f"Left out by the build file: {source.build.stage[SIGN_OFF].skip}")
    else:
        yield Paragraph("Not reached: no bond, insulation, fuse or soak was signed off.")
    yield from open_ends(source)


def _outside(source: Source) -> Iterator[Block]:
    """Bonds and insulation, as read last."""
    guarding = {id for id, point in source.build.point.items() if point.guards in ("bond", "insulation")}
    ohms = [r for r in source.history.counting(SIGN_OFF) if r.point in guarding]
    if not ohms:
        return
    yield Heading("Earth bond and insulation", 2)
    rows = tuple(
        (f"#{r.entry.n}", r.name, _typed(r), said.window(r.low, r.high, r.unit), r.verdict) for r in ohms
    )  # fmt: skip
    yield Table(("Entry", "What", "Measured", "Window, computed", "Verdict"), rows, frozenset({2, 3}))


def _typed(r: Reading) -> str:
    return said.typed(r.text, r.value, r.unit)


def _fuses(build: Build, here: list[Entry]) -> Iterator[Block]:
    """What was read from each fuse's cap, the last time."""
    seen = {
        entry.event.step.removeprefix(_FUSE): entry
        for entry in here
        if isinstance(entry.event, e.StepDone) and entry.event.step.startswith(_FUSE)
    }
    rows = tuple(
        (f"#{entry.n}", id, build.fuse[id].role or said.NONE, marking(build.fuse[id]), entry.event.says)
        for id, entry in seen.items()
        if id in build.fuse
    )
    if rows:
        yield Heading("Fuses as printed", 2)
        yield Table(("Entry", "Fuse", "For", "By the build file", "Read from its cap"), rows)


def _soak(source: Source, here: list[Entry]) -> Iterator[Block]:
    """The first and the last reading of each point since the power came on last, and how far it moved."""
    on = max((entry.n for entry in here if isinstance(entry.event, e.PowerOn)), default=None)
    if on is None:
        return
    read: dict[str, list[Entry]] = {}
    for entry in here:
        if entry.n > on and isinstance(entry.event, e.PointPassed | e.PointWarned) and entry.event.point != WINDING:
            read.setdefault(entry.event.point, []).append(entry)
    if not read:
        return
    lasted = max(each[-1].wall - each[0].wall for each in read.values())
    yield Heading("The soak", 2)
    yield Paragraph(f"With its cover on at full mains, from the first reading to the last {figures.seconds(lasted)}.")
    head = ("Entries", "What", "Readings", "First", "Last", "Moved")
    rows = tuple(_drifted(source, id, entries) for id, entries in read.items())
    yield Table(head, rows, frozenset({2, 3, 4, 5}))
    yield Paragraph("Moved is from the first to the last, the mains reckoned out.", "small")


def _drifted(source: Source, id: str, entries: list[Entry]) -> tuple[str, ...]:
    names, unit = source.history.names, source.history.units.get(id, "")
    first, last = (said.typed(each.event.text, each.event.value, unit) for each in (entries[0], entries[-1]))
    begun, ended = entries[0].event, entries[-1].event
    far = f"{100 * moved(begun, ended):+.1f} %" if len(entries) > 1 and begun.value else said.NONE
    return f"#{entries[0].n} to #{entries[-1].n}", names.get(id, id), str(len(entries)), first, last, far


def _winding(source: Source, here: list[Entry]) -> Iterator[Block]:
    """The mains winding by its ohms, cold and as it cooled."""
    room = max((entry.n for entry in here if isinstance(entry.event, e.RoomRead)), default=None)
    left = [entry for entry in here if isinstance(entry.event, e.WindingLeft)]
    if room is None and not left:
        return
    yield Heading("The mains winding", 2)
    rows = []
    for entry in (each for each in here if room is not None and each.n >= room):
        match entry.event:
            case e.RoomRead(celsius=celsius):
                rows.append((f"#{entry.n}", "the room", f"{celsius:g} degC"))
            case e.WindingCold(text=text, ohm=ohm):
                rows.append((f"#{entry.n}", "cold", said.typed(text, ohm, "ohm")))
            case e.WindingHot(text=text, ohm=ohm, after_s=after):
                rows.append((f"#{entry.n}", f"{figures.seconds(after)} after the soak", said.typed(text, ohm, "ohm")))
    if rows:
        yield Table(("Entry", "When", "Measured"), tuple(rows), frozenset({2}))
    found = [r for r in source.history.counting(SIGN_OFF) if r.point == WINDING]
    if found:
        last = found[-1]
        told = f"{said.value(last.value, 'degC')} at switch-off, computed from these ohms"
        most = f"up to {said.value(last.high, 'degC')} passes in such a room"
        yield Paragraph(f"{told}; {most}. It counts as {last.verdict}.")
    elif left:
        yield Paragraph(f"Its temperature was not measured: {left[-1].event.why}.")


def open_ends(source: Source) -> Iterator[Block]:
    """Objections overruled, warns gone on from, and what was not measured."""
    history = source.history
    yield Heading("Gone on from", 2)
    told = [f"#{each.n}, {figures.day(each.wall)}: {each.says}" for each in history.of(e.Overruled)]
    told += [f"#{r.entry.n} {r.name}: {r.reason}" for r in history.counting() if r.reason]
    yield Bullets(tuple(told)) if told else Paragraph("No warn was gone on from, no objection overruled.")
    yield Heading("Not measured", 2)
    unproved = [r for r in history.counting() if r.verdict.startswith("not measured")]
    lacks = [(r.verdict.removeprefix("not measured: no "), r.name) for r in unproved]
    listed = wording.by_instrument(dict.fromkeys((*lacks, *not_measured(source.build))))
    yield Bullets(listed) if listed else Paragraph("Nothing was left out for want of an instrument.")
