"""An output transformer: ratio and impedance by low volts, ohms, balance of its halves, and whether it has a gap."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from math import pi

from benchtui.identify import next_step
from benchtui.identify.cautions import cautions
from benchtui.identify.known import ohm_text
from benchtui.identify.leads import Pair, pair
from benchtui.identify.noted import Transformer
from benchtui.identify.rules import rule, source
from benchtui.identify.spans import Span
from benchtui.identify.told import Finding, Step
from benchtui.identify.windings import Bench, Sorted, Winding, sort_out
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit

_MOST_HENRIES = 1000.0
"""No primary of a valve amplifier has more (from memory: 5 to 30 H single-ended, 30 to 500 H push-pull)."""


@dataclass(frozen=True)
class Through:
    """Volts across a known resistor and across the winding in series with it, at mains frequency from a low supply."""

    resistor_ohm: float
    across_resistor: Span
    across_winding: Span

    def henries(self, hertz: float) -> Span:
        """Inductance if all of the winding's impedance is inductive; loss makes it come out a little large."""
        amps = self.across_resistor.times(1 / self.resistor_ohm)
        return self.across_winding.over(amps).times(1 / (2 * pi * hertz))


@dataclass(frozen=True)
class Output:
    """All notes of one output transformer. `loads` are the loudspeakers thought of; `secondary` is the pair in use."""

    id: str
    bench: Bench
    hertz: float
    loads: tuple[float, ...] = ()
    secondary: Pair | None = None
    sheets: str = ""
    without_dc: Through | None = None
    with_dc: Through | None = None
    dc_a: float = 0.0
    nodes: Mapping[str, str] = field(default_factory=dict)
    stage: str = "output"
    label: str = ""
    found: str = ""
    when: str = ""
    meter: str = ""


@dataclass(frozen=True)
class Primary:
    """The primary's leads in order, its centre tap or None, and screen taps with their share of the half."""

    winding: Winding
    centre: str | None
    taps: tuple[tuple[str, Span], ...]


def impedance(turns: Span, load: float) -> Span:
    """Primary impedance of a turns ratio with this load: n^2 times it (handbooks; 25:1 and 8 ohm are 5 kohm)."""
    return turns.by(turns).times(load)


def primary(sorted_out: Sorted) -> Primary | None:
    """The winding with the most turns; None while ratios are missing."""
    known = [w for w in sorted_out.windings if w.whole and w.whole.ratio]
    if len(known) < 2 or len(known) < len(sorted_out.windings):
        return None
    winding = max(known, key=lambda w: w.whole.ratio.value if w.whole and w.whole.ratio else 0.0)
    order = winding.orders[0].leads
    centre = next((lead for lead in order[1:-1] if _in_the_middle(lead, order, sorted_out)), None)
    taps = tuple(
        (lead, share) for lead in order[1:-1] if lead != centre and (share := _share(lead, order, centre, sorted_out))
    )
    return Primary(winding, centre, taps)


def _in_the_middle(lead: str, order: tuple[str, ...], sorted_out: Sorted) -> bool:
    one, other = sorted_out.volts((order[0], lead)), sorted_out.volts((lead, order[-1]))
    return bool(one and other and one.wider(rule("volts.halves")).meets(other))


def _share(lead: str, order: tuple[str, ...], centre: str | None, sorted_out: Sorted) -> Span | None:
    """Share of the half's turns from its HT end to the tap."""
    ht = centre or order[-1]
    end = order[0] if centre is None or order.index(lead) < order.index(centre) else order[-1]
    part, half = sorted_out.volts((ht, lead)), sorted_out.volts((ht, end))
    return part.over(half) if part and half and half.low > 0 else None


def findings(notes: Output) -> tuple[Finding, ...]:
    """What the notes come to."""
    sorted_out = sort_out(notes.bench)
    return (*sorted_out.findings, *_told(notes, sorted_out), *_gap(notes))


def _told(notes: Output, sorted_out: Sorted) -> Iterator[Finding]:
    found = primary(sorted_out)
    if found is None or found.winding.whole is None or found.winding.whole.ratio is None:
        for winding in sorted_out.windings:
            yield Finding("note", f"{', '.join(winding.leads)}: one winding")
        return
    order = found.winding.orders[0].leads
    kind = f"push-pull, HT to {found.centre}" if found.centre else "single-ended, or a tap is missing"
    ohms = " + ".join(ohm_text(piece.ohm) for piece in found.winding.pieces)
    yield Finding("note", f"primary {' - '.join(order)}: {kind}; {ohms}")
    for lead, share in found.taps:
        yield Finding(
            "note", f"{lead}: screen tap at {share.value:.0%} ({share.low:.0%} to {share.high:.0%}) of its half"
        )
    yield from _balance(found, sorted_out)
    for leads, turns in _secondaries(found, sorted_out):
        yield Finding("note", f"{'-'.join(leads)}: {turns.value:.4g} to 1 ({turns.low:.4g} to {turns.high:.4g})")
        for load in notes.loads:
            z = impedance(turns, load)
            text = (
                f"{'-'.join(leads)} with {load:g} ohm: {_ohm(z.value)} on the whole primary ({_ohm(z.low)} to "
                f"{_ohm(z.high)})"
            )
            yield Finding("note", text)


def _ohm(value: float) -> str:
    return show(value, Unit.OHM, 3)


def _balance(found: Primary, sorted_out: Sorted) -> Iterator[Finding]:
    if found.centre is None:
        return
    order = found.winding.orders[0].leads
    one, other = (half_ohm(found, sorted_out, end) for end in (order[0], order[-1]))
    if (
        one is None
        or other is None
        or not one.wider(rule("output.halves") / 2).meets(other.wider(rule("output.halves") / 2))
    ):
        if one is not None and other is not None:
            text = f"halves read {one.value:.3g} and {other.value:.3g} ohm: more apart than layers make; shorted turns?"
            yield Finding("warn", text, ("ohms",), source("output.halves"))


def half_ohm(found: Primary, sorted_out: Sorted, end: str) -> Span | None:
    """Ohms from the centre tap to an end, its pieces added up."""
    order = found.winding.orders[0].leads
    middle = order.index(found.centre) if found.centre else 0
    pieces = found.winding.pieces[:middle] if end == order[0] else found.winding.pieces[middle:]
    total = Span(0.0, 0.0, 0.0)
    for piece in pieces:
        if piece.ohm is None:
            return None
        total = total.plus(piece.ohm)
    return total


def _secondaries(found: Primary, sorted_out: Sorted) -> Iterator[tuple[Pair, Span]]:
    """Every pair of leads of the other windings with its turns ratio, tapped ones from either end."""
    whole = found.winding.whole
    for winding in sorted_out.windings:
        if winding is found.winding or not winding.orders or whole is None or whole.ratio is None:
            continue
        order = winding.orders[0].leads
        for i, a in enumerate(order):
            for b in order[i + 1 :]:
                volts = sorted_out.volts((a, b))
                if volts is not None and volts.low > 0:
                    yield (a, b), whole.ratio.over(volts)


def turns(notes: Output, sorted_out: Sorted, leads: Pair) -> Span | None:
    """Turns ratio of the whole primary to this secondary."""
    found = primary(sorted_out)
    if found is None:
        return None
    return next((span for each, span in _secondaries(found, sorted_out) if pair(*each) == pair(*leads)), None)


def _gap(notes: Output) -> Iterator[Finding]:
    """Is the inductance one of an output transformer, and has the core a gap for the direct current of one valve?"""
    if notes.without_dc and not 1.0 <= notes.without_dc.henries(notes.hertz).value <= _MOST_HENRIES:
        henries = notes.without_dc.henries(notes.hertz).value
        text = f"{henries:.3g} H is no inductance of an output primary: resistor, volts, or which was across what?"
        yield Finding("warn", text, ("inductance",))
    if notes.sheets == "one way":
        yield Finding("note", "sheets all one way, E against I: a gap, as for single-ended use", ("sheets",))
    elif notes.sheets == "turn about":
        text = "sheets turn about: no gap, for push-pull only; one valve's direct current would saturate it"
        yield Finding("note", text, ("sheets",))
    if notes.without_dc and notes.with_dc:
        free, loaded = notes.without_dc.henries(notes.hertz), notes.with_dc.henries(notes.hertz)
        left = loaded.value / free.value
        words = f"{free.value:.3g} H, and {loaded.value:.3g} H with {notes.dc_a * 1e3:.0f} mA through it"
        if left > rule("output.gap_keeps"):
            yield Finding(
                "note",
                f"{words}: it stands direct current, so it has a gap",
                ("inductance",),
                source("output.gap_keeps"),
            )
        elif left < rule("output.gap_loses"):
            yield Finding("note", f"{words}: saturated, so it has no gap", ("inductance",), source("output.gap_loses"))
        else:
            yield Finding("warn", f"{words}: that does not tell whether it has a gap", ("inductance",))
        built = {"one way": left < rule("output.gap_loses"), "turn about": left > rule("output.gap_keeps")}
        if built.get(notes.sheets):
            yield Finding("warn", "sheets and inductance say the opposite of each other about the gap", ("sheets",))


def following(notes: Output) -> Step | None:
    """What to measure next."""
    found = findings(notes)
    if any(each.severity == "stop" for each in found):
        return next_step.again(found)
    sorted_out = sort_out(notes.bench)
    as_mains = Transformer(notes.id, notes.bench, 0.0, notes.hertz)
    step = next_step.unpowered(as_mains, sorted_out)
    if step is not None:
        return step
    if notes.secondary is None:
        return Step(
            "say which secondary is used",
            (
                'Note secondary = "5-6" and its loudspeaker first under `loads`: the impedance above should suit the '
                "valves.",
            ),
        )
    if notes.without_dc is None:
        how = (
            "The isolated low supply, about 12 V, through a resistor of 10 to 100 kohm into the whole primary.",
            "AC volts across the resistor and across the primary; note inductance = "
            '{ resistor = "47k", across_resistor = '
            '"...", across_winding = "..." }. At low volts iron shows less inductance than at work.',
        )
        return Step("inductance of the primary", how, cautions("volts"))
    if not notes.sheets and notes.with_dc is None:
        how = (
            'Look at the edge of the core. Sheets all one way with a paper between: sheets = "one way", a gap.',
            'E and I by turns: sheets = "turn about", no gap. Where it can\'t be seen: the inductance again with the '
            "valve's "
            "direct current through the primary, from a supply through a choke; note it as inductance_dc with dc.",
        )
        return Step("has the core a gap", how, cautions("gap"))
    return None
