"""The section of a build file for an identified output transformer, and its slip."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.identify.known import ohm_text
from benchtui.identify.output import Output, Primary, half_ohm, impedance, primary, turns
from benchtui.identify.section import key, node_of, paper, quoted, salvaged, toml_ohm
from benchtui.identify.spans import Span
from benchtui.identify.windings import Sorted, sort_out
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit


def section(notes: Output) -> str:
    """`[output_transformer.T2]` and `[salvaged.T2]`; empty until secondary, load and inductance were noted."""
    sorted_out = sort_out(notes.bench)
    found = primary(sorted_out)
    if found is None or notes.secondary is None or not notes.loads or notes.without_dc is None:
        return ""
    ratio = turns(notes, sorted_out, notes.secondary)
    halves = _halves(found, sorted_out)
    second = _secondary_ohm(notes, sorted_out)
    if ratio is None or not halves or second is None:
        return ""
    z = impedance(ratio, notes.loads[0])
    henries = notes.without_dc.henries(notes.hertz)
    lines = [
        f"# Identified at the bench{f', {notes.when}' if notes.when else ''}, within the error of "
        f"{notes.meter or 'the meter'}.",
        f"# {ratio.value:.4g} to 1 ({ratio.low:.4g} to {ratio.high:.4g}); inductance at low volts, at work it is more.",
        "# NOT MEASURED: which end of the secondary swings with the first of anodes. A howl on feedback tells.",
        f"[output_transformer.{key(notes.id)}]",
        f"stage = {quoted(notes.stage)}",
        *_connections(notes, found),
        f"impedance = {toml_ohm(z.value)}   # {z.low:.0f} to {z.high:.0f} ohm",
        f"load = {toml_ohm(notes.loads[0])}",
        f"resistance = [{', '.join(toml_ohm(half.value) for half in halves)}]",
        f"secondary_resistance = {toml_ohm(max(second.value, (second.low + second.high) / 2, 0.01))}{_coarse(second)}",
        f"inductance = {quoted(show(henries.value, Unit.HENRY, 3, ascii=True))}",
        "",
        *salvaged(
            notes.id, notes.found, notes.label, tuple(_measured(notes, ratio, z, halves)), (), notes.when, notes.meter
        ),
    ]
    return "\n".join(lines)


def _coarse(ohm: Span) -> str:
    """What is said beside ohms that are not told to a fifth."""
    return "   # little for this meter; read it by four wires (`fine`)" if ohm.off > 0.2 else ""


def slip(notes: Output) -> str:
    """What is glued inside; empty until the section is known."""
    sorted_out = sort_out(notes.bench)
    found = primary(sorted_out)
    if found is None or not section(notes) or notes.secondary is None:
        return ""
    ratio = turns(notes, sorted_out, notes.secondary)
    if ratio is None:
        return ""
    told = tuple(_measured(notes, ratio, impedance(ratio, notes.loads[0]), _halves(found, sorted_out)))
    return paper(notes.id, notes.label, told, (), notes.when, notes.meter)


def _connections(notes: Output, found: Primary) -> Iterator[str]:
    order = found.winding.orders[0].leads
    ends = [order[0], order[-1]] if found.centre else [order[0]]
    yield f"anodes = [{', '.join(node_of(notes, lead) for lead in ends)}]"
    yield f"ht = {node_of(notes, found.centre or order[-1])}"
    a, b = notes.secondary or ("", "")
    yield f"secondary = [{node_of(notes, a)}, {node_of(notes, b)}]"
    if found.taps and len(found.taps) == len(ends):
        nodes = ", ".join(node_of(notes, lead) for lead, _ in found.taps)
        yield f'screen_taps = {{ nodes = [{nodes}], share = "{found.taps[0][1].value * 100:.0f} %" }}'


def _halves(found: Primary, sorted_out: Sorted) -> tuple[Span, ...]:
    """Ohms of each half, or of the whole where there is no centre tap; empty where they are not known."""
    order = found.winding.orders[0].leads
    if found.centre is None:
        whole = found.winding.whole
        return (whole.ohm,) if whole and whole.ohm and whole.ohm.value > 0 else ()
    halves = [half_ohm(found, sorted_out, end) for end in (order[0], order[-1])]
    return tuple(half for half in halves if half and half.value > 0) if all(halves) else ()


def _secondary_ohm(notes: Output, sorted_out: Sorted) -> Span | None:
    winding = sorted_out.of(notes.secondary[0]) if notes.secondary else None
    if winding is None or len(winding.orders) != 1 or notes.secondary is None:
        return None
    ruler = notes.bench.finest
    own = {each: span for each, span in ruler.items() if set(each) <= set(winding.leads)}
    return winding.orders[0].between(*notes.secondary, own)


def _measured(notes: Output, ratio: Span, z: Span, halves: tuple[Span, ...]) -> Iterator[str]:
    yield f"{ratio.value:.4g} to 1 ({ratio.low:.4g} to {ratio.high:.4g}) on {'-'.join(notes.secondary or ())}"
    yield f"{z.value:.0f} ohm ({z.low:.0f} to {z.high:.0f}) with {notes.loads[0]:g} ohm"
    yield f"primary {' + '.join(ohm_text(half) for half in halves)}"
    if notes.sheets:
        yield f"sheets {notes.sheets}"
