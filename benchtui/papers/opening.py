"""The beginning of the report: caution, what it is about, and how the work stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from benchtui.buildfile.stages import stages
from benchtui.papers import said
from benchtui.papers.blocks import Block, Bullets, Heading, Paragraph, Table
from benchtui.papers.source import Source
from benchtui.procedure import events as e
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.session import figures
from benchtui.session.signal import not_measured
from benchtui.session.tables import table

CAUTION = (
    "Valve amplifiers hold lethal voltages, also when switched off and unplugged. This paper says what was measured, "
    "when and with which meter, and what was computed; it is an aid and no authority. Whoever opens the amplifier "
    "pulls the plug, reads every reservoir with a meter that was proved before and after, and goes by local codes and "
    "licensed practice."
)


def marks(source: Source) -> tuple[str, ...]:
    """What must stand on every page."""
    found = []
    if source.rehearsal:
        found.append("REHEARSAL: there was no amplifier, and nothing in this paper was measured on one")
    if source.damage:
        found.append("DAMAGED RECORD: what came after its last sound entry is not known")
    return tuple(found)


def opening(source: Source, program: str) -> Iterator[Block]:
    """Caution, what the record is, and a summary of the result."""
    yield Paragraph(CAUTION, "caution")
    yield Heading("What this is")
    yield Table(("What", "Which"), tuple(_identity(source, program)))
    yield Heading("How it stands")
    yield Bullets(tuple(_standing(source)))


def result(source: Source) -> str:
    """How it stands in one sentence."""
    counting = source.history.counting()
    gone_on = sum(bool(reading.reason) for reading in counting)
    unproved = sum(reading.verdict.startswith("not measured") for reading in counting)
    return _result(source, gone_on, unproved)


def _identity(source: Source, program: str) -> Iterator[tuple[str, str]]:
    build, first, last = source.build, source.history.entries[0], source.history.entries[-1]
    yield "amplifier", build.name
    yield "build", build.id
    if build.notes:
        yield "notes of its file", build.notes
    yield "SHA-256 of its file", source.sha256 or said.NONE
    yield "record", source.record.name
    yield "first entry", f"#{first.n}, {figures.day(first.wall)}"
    yield "last entry", f"#{last.n}, {figures.day(last.wall)}"
    sound = "sound: every entry passes its check" if not source.damage else source.damage
    yield "its chain of hashes", sound
    if source.follows:
        yield "begun after", f"a damaged record, {source.follows}"
    if source.open_elsewhere:
        yield "while this was made", "the record was open in another program: more may have been added since"
    yield "meter", f"{build.meter.name or 'not named'} ({_meter(source)})"
    yield "mains by the file", f"{show(build.mains.volts, Unit.VOLT)}, {show(build.mains.frequency, Unit.HERTZ)}"
    yield "made by", program


def _meter(source: Source) -> str:
    meter = source.build.meter
    kind = "true rms" if meter.true_rms else "average responding"
    return f"{meter.counts} counts, {show(meter.input, Unit.OHM)} on volts, {kind}"


def _standing(source: Source) -> Iterator[str]:
    history, counting = source.history, source.history.counting()
    verdicts = Counter(reading.verdict for reading in counting)
    gone_on = sum(bool(reading.reason) for reading in counting)
    unproved = sum(count for verdict, count in verdicts.items() if verdict.startswith("not measured"))
    open_warns = verdicts["warn"] - gone_on
    yield _result(source, gone_on, unproved)
    yield (
        f"{len(history.readings)} readings at points, {len(counting)} of them the last of their point and stage: "
        f"{verdicts['pass']} pass, {gone_on} warn gone on from by a typed reason, {open_warns} warn left open, "
        f"{verdicts['stop']} stop, {unproved} not measured for want of an instrument."
    )
    counts = Counter(entry.kind for entry in history.entries)
    yield (
        f"Power was on {counts['power on']} times, hands were in {counts['hands in']} times; STOP was pressed "
        f"{counts['stop key']} times, {counts['reading stopped']} readings stopped the work."
    )
    yield (
        f"{counts['refused']} entries were not taken, {counts['reading doubted']} readings were asked again, "
        f"{counts['overruled']} objections overruled."
    )
    if loose := _loose(source):
        yield f"Left loose, as typed: {loose}"


def _result(source: Source, gone_on: int, unproved: int) -> str:
    history, ended = source.history, source.history.ended
    if ended is None:
        titles = {info.id: info.title for info in stages(source.build)}
        stage = history.entries[-1].stage
        stands = table("words")["standing"][history.state.mode.value]
        return f"Not finished: in stage {titles.get(stage, stage)}; {stands}."
    left_out = len(not_measured(source.build))
    but = [f"{gone_on} warns gone on from"] * bool(gone_on) + [f"{unproved} points not measured"] * bool(unproved)
    but += [f"{left_out} signal tests left out"] * bool(left_out)
    told = f"with {', '.join(but)}" if but else "every point a pass"
    how = ", its cover on" if isinstance(ended.event, e.FinishedShut) else ""
    return f"Finished {figures.day(ended.wall)}{how}, {told}."


def _loose(source: Source) -> str:
    """What was loose as the builder left last, unless hands were out of it since."""
    found = ""
    for entry in source.history.of(e.Left, e.HandsOut, e.NextClosing):
        found = entry.event.loose if isinstance(entry.event, e.Left) else ""
    return found
