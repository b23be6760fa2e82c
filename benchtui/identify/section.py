"""The section of a build file that a part's notes come to, and the slip of text that is glued inside the lid."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from benchtui.identify import known
from benchtui.identify.leads import Pair, pair
from benchtui.identify.noted import Transformer
from benchtui.identify.output import Output
from benchtui.identify.roles import role
from benchtui.identify.spans import Span
from benchtui.identify.windings import Piece, Sorted, Winding
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit

_LONGEST = 390
"""A text of the build file is cut at 400 characters."""

_BOOK = "rule of Reference Data for Radio Engineers, 2nd ed. 1946, second hand"


def quoted(text: str) -> str:
    """A TOML string on one line."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else " " for c in escaped) + '"'


def key(text: str) -> str:
    """A TOML key: bare where it may be, in quotes where it has a dot."""
    return text if re.fullmatch(r"[A-Za-z0-9_-]+", text) else quoted(text)


def toml_ohm(value: float) -> str:
    return quoted(show(value, Unit.OHM, 3, ascii=True))


def toml_volts(value: float) -> str:
    return quoted(show(value, Unit.VOLT, 4, ascii=True))


def texts(each: Iterable[str]) -> str:
    """A TOML list of strings, a line each."""
    return "[\n" + "".join(f"    {quoted(text[:_LONGEST])},\n" for text in each) + "]"


def transformer(notes: Transformer, sorted_out: Sorted) -> str:
    """`[transformer.T1]` and `[salvaged.T1]`, ready to paste; empty while the primary's ratio is not known."""
    scale = known.primary_ratio(notes, sorted_out)
    if scale is None or notes.primary is None or any(w.whole is None or not w.whole.ratio for w in sorted_out.windings):
        return ""
    lines = [
        f"# Identified at the bench{_when(notes)}. Ratios and ohms are within the meter's error "
        f"({notes.meter or 'not named'}).",
        "# Volts are off load, from the ratios. Currents are ESTIMATED from core and copper, never measured: load it "
        "little by",
        "# little, and feel how warm it gets.",
        *_open_points(notes),
        f"[transformer.{key(notes.id)}]",
        *([f"label = {quoted(notes.label)}"] if notes.label else []),
        _primary_line(notes, sorted_out),
        "",
        f"[transformer.{key(notes.id)}.windings]",
        *_winding_lines(notes, sorted_out, scale),
        "",
        *salvaged(
            notes.id,
            notes.found,
            notes.label,
            _measured(notes, sorted_out),
            _estimated(notes, sorted_out, scale),
            notes.when,
            notes.meter,
        ),
    ]
    return "\n".join(lines)


def salvaged(
    id: str, found: str, label: str, measured: Iterable[str], estimated: Iterable[str], when: str, meter: str
) -> Iterator[str]:
    """Lines of `[salvaged.ID]`; what is not known is left out."""
    yield f"[salvaged.{key(id)}]"
    for field, text in (("found", found), ("label", label), ("when", when), ("meter", meter)):
        if text:
            yield f"{field} = {quoted(text[:_LONGEST])}"
    yield f"measured = {texts(measured)}"
    guesses = list(estimated)
    if guesses:
        yield f"estimated = {texts(guesses)}"


def slip(notes: Transformer, sorted_out: Sorted) -> str:
    """What is glued inside, for whoever salvages the part again."""
    scale = known.primary_ratio(notes, sorted_out)
    if scale is None:
        return ""
    return paper(
        notes.id,
        notes.label,
        _measured(notes, sorted_out),
        _estimated(notes, sorted_out, scale),
        notes.when,
        notes.meter,
    )


def paper(id: str, label: str, measured: Iterable[str], estimated: Iterable[str], when: str, meter: str) -> str:
    """A slip of text: reference, label, measured, estimated, when, and by which meter."""
    lines = [f"{id}: {label or 'no label'}", *(f"measured: {text}" for text in measured)]
    lines += [f"ESTIMATED: {text}" for text in estimated]
    return "\n".join([*lines, f"{when or 'no date'}, meter: {meter or 'not named'}", "Glue this inside the lid."])


def _when(notes: Transformer) -> str:
    return f", {notes.when}" if notes.when else ""


def _open_points(notes: Transformer) -> Iterator[str]:
    """What has not been measured, said in the file too."""
    named = (
        ("insulation", not notes.insulation or notes.test_v < 250),
        ("volts and current at mains", notes.mains.applied is None or notes.mains.amps is None),
        ("warmth after 30 minutes", notes.warm is None),
    )
    missing = [name for name, lacks in named if lacks]
    if missing:
        yield f"# NOT MEASURED: {', '.join(missing)}."


def node_of(notes: Transformer | Output, lead: str) -> str:
    """What the build file calls the node of a lead, in quotes: as noted, else by part and lead."""
    return quoted(notes.nodes.get(lead) or re.sub(r"[^A-Za-z0-9_.+-]", "_", f"{notes.id}_{lead}"))


def _nodes(notes: Transformer, leads: Pair) -> str:
    return "[" + ", ".join(node_of(notes, lead) for lead in leads) + "]"


def primary_ohm(notes: Transformer, sorted_out: Sorted) -> Span | None:
    """Ohms between the primary's ends as it is joined; None where they are not known."""
    primary = notes.primary
    if primary is None:
        return None
    parts = known.joined_parts(primary, sorted_out) if primary.joined else (primary.ends,)
    spans = [span for each in parts if (span := _ohm(notes, sorted_out, each)) is not None]
    if len(spans) != len(parts) or not spans:
        return None
    if len(primary.joined) == 2:
        return spans[0].times(0.5)
    return spans[0] if len(spans) == 1 else spans[0].plus(spans[1])


def _ohm(notes: Transformer, sorted_out: Sorted, leads: Pair) -> Span | None:
    winding = sorted_out.of(leads[0])
    if winding is None or len(winding.orders) != 1 or leads[1] not in winding.leads:
        return None
    ruler = notes.bench.finest
    return winding.orders[0].between(*leads, {each: s for each, s in ruler.items() if set(each) <= set(winding.leads)})


def _primary_line(notes: Transformer, sorted_out: Sorted) -> str:
    primary = notes.primary
    if primary is None:
        return ""
    ohm = primary_ohm(notes, sorted_out)
    fields = [f"nodes = {_nodes(notes, primary.ends)}", f"volts = {toml_volts(primary.volts)}"]
    fields += [f"resistance = {toml_ohm(ohm.value)}"] if ohm is not None and ohm.value > 0 else []
    taps = _taps(notes, sorted_out)
    fields += [f"taps = [{', '.join(quoted(f'{volts:.0f} V') for volts in taps)}]"] if taps else []
    joined = f"   # joined: {', '.join('-'.join(each) for each in primary.joined)}" if primary.joined else ""
    return f"primary = {{ {', '.join(fields)} }}{joined}"


def _taps(notes: Transformer, sorted_out: Sorted) -> list[float]:
    """Volts of the other taps, from the primary's own first end, by their ratio to the tap in use."""
    primary, scale = notes.primary, known.primary_ratio(notes, sorted_out)
    winding = sorted_out.of(primary.ends[0]) if primary else None
    if primary is None or scale is None or winding is None or primary.joined or not winding.ends:
        return []
    start = primary.ends[0] if primary.ends[0] in winding.ends else primary.ends[1]
    spans = {lead: sorted_out.volts((start, lead)) for lead in winding.leads if lead not in primary.ends}
    return sorted(span.value / scale.value * primary.volts for span in spans.values() if span is not None)


def _pieces(notes: Transformer, sorted_out: Sorted) -> Iterator[tuple[Winding, Piece, str]]:
    """Every piece of every winding but the primary's, with its name in the build file."""
    number = 0
    for winding in sorted_out.windings:
        if notes.primary is None or known.is_primary(winding, notes.primary, sorted_out):
            continue
        for piece in winding.pieces:
            number += 1
            yield winding, piece, notes.names.get(pair(*piece.leads)) or f"{notes.id}_W{number}"


def _winding_lines(notes: Transformer, sorted_out: Sorted, scale: Span) -> Iterator[str]:
    volts = notes.primary.volts if notes.primary else 0.0
    for winding, piece, name in _pieces(notes, sorted_out):
        if piece.ratio is None or winding.whole is None or winding.whole.ratio is None:
            continue
        emf = piece.ratio.over(scale).times(volts)
        use = role(winding, winding.whole.ratio.over(scale).times(volts))
        ohm = piece.ohm or Span(0.0, 0.0, 0.2)
        amps = known.amps(notes, winding, emf.value, piece.ohm)
        yield f"# leads {'-'.join(piece.leads)}: {known.volts_text(emf)}, {known.ohm_text(piece.ohm)}"
        if amps is not None:
            yield f"# amps ESTIMATED: {known.amps_text(amps)}"
        told = ohm.value if ohm.low > 0 else (ohm.low + ohm.high) / 2
        if not ohm.low > 0:
            yield "# resistance is too little for this meter: a guess; measure it by four wires (`fine`)"
        fields = [
            f"nodes = {_nodes(notes, piece.leads)}",
            f"stage = {quoted(notes.stage)}",
            f"emf = {toml_volts(emf.value)}",
            f"at = {toml_volts(volts)}",
            f"resistance = {toml_ohm(max(told, 0.01))}",
            *([f"amps = {quoted(show(amps.value, Unit.AMPERE, 2, ascii=True))}", "estimated = true"] if amps else []),
            f'tolerance = "{max(emf.off, 0.005):.1%}"',
            f"role = {quoted(use)}",
        ]
        yield f"{key(name)} = {{ {', '.join(fields)} }}"


def _measured(notes: Transformer, sorted_out: Sorted) -> Iterator[str]:
    primary = notes.primary
    if primary is None:
        return
    ohm = primary_ohm(notes, sorted_out)
    joined = f", joined {', '.join('-'.join(each) for each in primary.joined)}" if primary.joined else ""
    yield f"primary {'-'.join(primary.ends)}{joined}: {primary.volts:g} V, {known.ohm_text(ohm)}"
    scale = known.primary_ratio(notes, sorted_out)
    for winding, piece, _ in _pieces(notes, sorted_out):
        if piece.ratio is not None and scale is not None and winding.whole and winding.whole.ratio:
            emf = piece.ratio.over(scale).times(primary.volts)
            use = role(winding, winding.whole.ratio.over(scale).times(primary.volts))
            yield f"{'-'.join(piece.leads)}: {known.volts_text(emf)} off load, {known.ohm_text(piece.ohm)}, {use}"
    for between, value in notes.insulation.items():
        shown = "over range" if value == float("inf") else show(value, Unit.OHM, 3, ascii=True)
        yield f"insulation {between}: {shown} at {notes.test_v:g} V"
    if notes.mains.amps is not None:
        yield f"off-load current {show(notes.mains.amps.value, Unit.AMPERE, 2, ascii=True)}"


def _estimated(notes: Transformer, sorted_out: Sorted, scale: Span) -> Iterator[str]:
    if notes.core is None or notes.primary is None:
        return
    va = known.watts(notes)
    yield f"core about {va.value:.0f} VA ({va.low:.0f} to {va.high:.0f}), by its section ({_BOOK})"
    for winding, piece, _ in _pieces(notes, sorted_out):
        if piece.ratio is None:
            continue
        volts = piece.ratio.over(scale).value * notes.primary.volts
        amps = known.amps(notes, winding, volts, piece.ohm)
        if amps is not None:
            yield f"{'-'.join(piece.leads)}: {known.amps_text(amps)} by its copper"
