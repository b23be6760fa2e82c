"""What bench notes come to, part by part: as plain text for people, and as a dict for other programs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from pathlib import Path as FilePath

from benchtui.buildfile.notes import NotedCapacitor, NotedResistor, Notes
from benchtui.buildfile.notes_load import LoadedNotes
from benchtui.buildfile.problems import Path
from benchtui.cli import bench_notes
from benchtui.cli.forming_dialogue import place_of, result_of
from benchtui.cli.tables import hanging
from benchtui.identify import forming, output, output_section, resistors, section, turning
from benchtui.identify.told import Finding, Step, Told
from benchtui.identify.transformer import told
from benchtui.quantities.clean import clean
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit
from benchtui.record import Journal, NotFound, RecordError
from benchtui.session.figures import day


@dataclass(frozen=True)
class Part:
    """What is told of one part; `path` is where its notes stand."""

    name: str
    kind: str
    path: Path
    told: Told


def parts(loaded: LoadedNotes) -> tuple[Part, ...]:
    """Every part of the notes, mains transformers first."""
    notes = loaded.notes
    return tuple(
        chain(
            (Part(id, "mains transformer", ("transformer", id), _mains(id, notes)) for id in notes.transformer),
            (
                Part(id, "output transformer", ("output_transformer", id), _out(id, notes))
                for id in notes.output_transformer
            ),
            _turning(notes),
            (Part(id, "capacitor", ("capacitor", id), _capacitor(id, loaded)) for id in notes.capacitor),
            _resistors(notes),
        )
    )


def _mains(id: str, notes: Notes) -> Told:
    return told(bench_notes.transformer(id, notes))


def _out(id: str, notes: Notes) -> Told:
    noted = bench_notes.output(id, notes)
    findings = output.findings(noted)
    if any(each.severity == "stop" for each in findings):
        return Told(findings, output.following(noted))
    return Told(findings, output.following(noted), output_section.section(noted), output_section.slip(noted))


def _turning(notes: Notes) -> Iterator[Part]:
    if notes.turning:
        read = bench_notes.turned(notes.turning, bench_notes.meter(notes.meter))
        yield Part(
            "turning",
            "place of the output transformer",
            ("turning",),
            Told(tuple(turning.findings(read)), turning.following(read)),
        )


def _capacitor(id: str, loaded: LoadedNotes) -> Told:
    noted = loaded.notes.capacitor[id]
    plan = bench_notes.forming_plan(noted, loaded.notes)
    formed, measured = list(_formed(id, loaded)), _farads(noted)
    found = [*forming.findings(plan), *formed, *(Finding("note", text) for text in forming.words(plan))]
    step = Step("form it", (f"Its own gate leads through it: benchtui form {loaded.file} {id}",), (_HT,))
    measured += [each.text for each in formed if each.severity == "note"]
    section = "\n".join(_salvaged(id, noted, loaded.notes, measured))
    return Told(tuple(found), None if formed else step, section)


def _formed(id: str, loaded: LoadedNotes) -> Iterator[Finding]:
    """What the record of its forming says, where there is one."""
    try:
        journal = Journal.open(place_of(FilePath(loaded.file), id), write=False)
    except NotFound:
        return
    except RecordError as error:
        yield Finding("warn", str(error))
        return
    with journal:
        state, at = result_of(journal.events)
    if state.given_up:
        yield Finding("stop", "it was given up while it was formed: not usable")
    elif state.result is not None and at is not None:
        yield Finding("note", f"formed on {day(at)}: {state.result.text}")


_HT = "Forming is HT work: hundreds of volts with charge behind them, on the bench, for hours. You stay with it."


def _farads(noted: NotedCapacitor) -> list[str]:
    if noted.measured is None:
        return []
    return [f"{show(noted.measured, Unit.FARAD, 3, ascii=True)} (marked {show(noted.value, Unit.FARAD, ascii=True)})"]


def _salvaged(id: str, noted: NotedCapacitor | NotedResistor, notes: Notes, measured: list[str]) -> Iterator[str]:
    if measured:
        meter = bench_notes.meter_words(notes.meter)
        yield from section.salvaged(id, noted.found, noted.label, measured, (), noted.when, meter)


def _resistors(notes: Notes) -> Iterator[Part]:
    if not notes.resistor:
        return
    measured = bench_notes.resistors(notes.resistor, bench_notes.meter(notes.meter))
    found = [*resistors.findings(measured), *_matched(notes, measured)]
    lines = ["# into the entry of each resistor under [resistor]:"]
    lines += [
        f"#   {key}: measured = {section.quoted(show(each.read.value, Unit.OHM, 4, ascii=True))}"
        for key, each in measured.items()
    ]
    for key, noted in notes.resistor.items():
        read = measured[key].read
        value, low, high = (show(each, Unit.OHM, 4, ascii=True) for each in (read.value, read.low, read.high))
        text = f"{value} ({low} to {high}), marked {show(noted.value, Unit.OHM, ascii=True)}"
        if noted.found or noted.label:
            lines += ["", *_salvaged(key, noted, notes, [text])]
    yield Part("resistors", "measured resistors", ("resistor",), Told(tuple(found), None, "\n".join(lines)))


def _matched(notes: Notes, measured: dict[str, resistors.Measured]) -> Iterator[Finding]:
    """The best pairs of each set that is to be matched."""
    sets: dict[str, list[str]] = {}
    for key, noted in notes.resistor.items():
        if noted.match:
            sets.setdefault(noted.match, []).append(key)
    for name, keys in sets.items():
        if len(keys) > resistors.MOST_TO_MATCH:
            text = f"{name}: at most {resistors.MOST_TO_MATCH} are paired, here are {len(keys)}"
            yield Finding("warn", text, (keys[-1], "match"))
            continue
        for one, other, apart in resistors.pairs(keys, measured):
            yield Finding("note", f"{name}: {one} goes with {other}, {apart:.2%} apart by the same meter")


def placed(loaded: LoadedNotes, part: Part, finding: Finding) -> str:
    """`notes.toml:23: ` where the finding has a place of its own in the file."""
    if not finding.where:
        return ""
    line = loaded.line((*part.path, *finding.where))
    return f"{loaded.file}:{line}: " if line else ""


def plain(loaded: LoadedNotes, part: Part) -> dict[str, object]:
    """A part for other programs."""
    findings = [
        {
            "severity": each.severity,
            "text": each.text,
            "line": loaded.line((*part.path, *each.where)) if each.where else None,
            "source": each.source,
        }
        for each in part.told.findings
    ]
    step = part.told.next
    following = step and {"name": step.name, "how": list(step.how), "cautions": list(step.cautions)}
    known = {"section": part.told.section or None, "slip": part.told.slip or None}
    return {"part": part.name, "kind": part.kind, "findings": findings, "next": following, **known}


def text(loaded: LoadedNotes, part: Part) -> Iterator[str]:
    """A part in lines for people: what is known, what is next with its cautions first, the section, the slip."""
    yield f"{clean(part.name)}, {part.kind}"
    for each in part.told.findings:
        source = f" [{each.source}]" if each.source and each.severity != "note" else ""
        yield from hanging(clean(f"{placed(loaded, part, each)}{each.text}{source}"), f"  {each.severity:<6}")
    step = part.told.next
    if step is not None:
        yield ""
        yield f"  NEXT: {clean(step.name)}"
        for line in step.cautions:
            yield from hanging(clean(line), "    ! ")
        for number, line in enumerate(step.how, 1):
            yield from hanging(clean(line), f"    {number}. ")
    for title, body in (("FOR THE BUILD FILE", part.told.section), ("SLIP TO GLUE INSIDE", part.told.slip)):
        if body:
            yield ""
            yield f"  ---- {title} ----"
            yield from body.split("\n")


def only(found: tuple[Part, ...], name: str) -> tuple[Part, ...]:
    """The part called `name`, empty where there is none."""
    return tuple(part for part in found if part.name == name)
