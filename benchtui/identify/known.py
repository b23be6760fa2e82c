"""What is known of a mains transformer, in words, and what speaks against it."""

from __future__ import annotations

from collections.abc import Iterator

from benchtui.identify.leads import Pair, pair
from benchtui.identify.leads import settled as is_settled
from benchtui.identify.noted import Transformer
from benchtui.identify.phase import Sense, sense
from benchtui.identify.rating import core_va, winding_amps
from benchtui.identify.roles import Primary, guess, heater, heaters_hit, role, taps_like
from benchtui.identify.rules import source
from benchtui.identify.spans import Span
from benchtui.identify.told import Finding
from benchtui.identify.windings import Sorted, Winding
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit

#: A primary's own winding with more volts than this is no mains tap (own decision).
_MOST_TAP_V = 300.0

#: No HT winding of a valve amplifier gives more, end to end (own decision).
_MOST_HT_V = 2000.0


def watts(notes: Transformer) -> Span:
    """Volt-amperes of the core, estimated. The core must be noted."""
    if notes.core is None:
        raise ValueError("the core has not been measured")
    return core_va(notes.core, notes.hertz)


def told(notes: Transformer, sorted_out: Sorted) -> Iterator[Finding]:
    """Each winding and single lead, and how sure that is."""
    yield from _single(notes, sorted_out)
    if len(sorted_out.windings) == 1 and not sorted_out.single:
        yield _one_winding(sorted_out.windings[0])
    primary = primary_ratio(notes, sorted_out)
    for winding in sorted_out.windings:
        yield Finding("note", _winding(notes, sorted_out, winding, primary))
    yield from _guessed(notes, sorted_out)
    if notes.primary is not None:
        yield from _primary(notes, notes.primary, sorted_out)
    if notes.core is not None:
        va = watts(notes)
        yield Finding(
            "note",
            f"core: about {va.value:.0f} VA, ESTIMATED, {va.low:.0f} to {va.high:.0f}",
            ("core",),
            source("core.area"),
        )


def primary_ratio(notes: Transformer, sorted_out: Sorted) -> Span | None:
    """Volts across the primary's ends for one at the reference; None while it is not known."""
    primary = notes.primary
    if primary is None:
        return None
    if not primary.joined:
        return sorted_out.volts(primary.ends)
    parts = joined_parts(primary, sorted_out)
    if not parts or any(sorted_out.volts(part) is None for part in parts):
        return None
    spans = [span for part in parts if (span := sorted_out.volts(part))]
    if len(primary.joined) == 2:  # both beginnings and both ends: in parallel
        return spans[0]
    return spans[0].plus(spans[1])


def joined_parts(primary: Primary, sorted_out: Sorted) -> tuple[Pair, ...]:
    """The windings, each by its two leads in use, that a joined primary is made of; none where it is no such thing."""
    leads = [*primary.ends, *(lead for joint in primary.joined for lead in joint)]
    found: dict[tuple[str, ...], list[str]] = {}
    for lead in dict.fromkeys(leads):
        winding = sorted_out.of(lead)
        if winding is not None:
            found.setdefault(winding.leads, []).append(lead)
    return tuple((a, b) for a, b in found.values()) if all(len(each) == 2 for each in found.values()) else ()


def _single(notes: Transformer, sorted_out: Sorted) -> Iterator[Finding]:
    groups = (*(winding.leads for winding in sorted_out.windings), *((lead,) for lead in sorted_out.single))
    settled = [lead for lead in sorted_out.single if is_settled(lead, groups, notes.bench.ohms)]
    for lead in settled:
        if lead in notes.screens:
            yield Finding("note", f"{lead}: no winding; a screen, as you noted. It goes to the earth bolt")
        elif len(settled) == 1:
            text = (
                f"{lead}: open to every other lead. A screen (it goes to earth), a lead that is broken off, or the "
                "rest of a "
                "winding that is open. If it is a screen, note it under `screens`"
            )
            yield Finding("warn", text, ("leads",))
    if len([lead for lead in settled if lead not in notes.screens]) > 1:
        yield _open_winding([lead for lead in settled if lead not in notes.screens])


def _open_winding(leads: list[str]) -> Finding:
    text = (
        f"{', '.join(leads)} are each open to every other lead: two of them may be the ends of a winding that is open. "
        "In a "
        "primary that is mostly a thermal fuse under the outer tape, which opens once when the transformer was too "
        "hot: look "
        "for a fuse of that kind or for what overheated it. Never bridge it; a new one of the same temperature, or "
        "another "
        "transformer"
    )
    return Finding("stop", text, ("leads",))


def _one_winding(winding: Winding) -> Finding:
    if len(winding.leads) > 2:
        text = (
            "all leads are on one winding: an auto-transformer or a tapped choke. Nothing in it isolates from the "
            "mains. It is "
            "never used as the mains transformer of an amplifier: every tap would be live"
        )
        return Finding("stop", text, ("leads",))
    text = (
        "one winding alone: a choke, or a current transformer whose primary is the conductor through its hole. A "
        "current "
        "transformer must never carry current with its winding open: hundreds of volts stand on it then. No mains "
        "transformer"
    )
    return Finding("stop", text, ("leads",))


def _winding(notes: Transformer, sorted_out: Sorted, winding: Winding, primary: Span | None) -> str:
    """One line on a winding: its leads in order, ohms, and volts or ratio."""
    if winding.whole is None:
        return f"{', '.join(winding.leads)}: one winding; the order of its leads is open ({len(winding.orders)} fit)"
    names = " - ".join(winding.orders[0].leads)
    ohms = " + ".join(ohm_text(piece.ohm) for piece in winding.pieces)
    if winding.whole.ratio is None:
        return f"{names}: one winding, {ohms}"
    at = notes.primary
    if at is not None and is_primary(winding, at, sorted_out):
        return f"{names}: the primary{', one of two' if at.joined else ''}, {ohms}"
    if at is None or primary is None:
        return (
            f"{names}: {ohms}; {' + '.join(_ratio(piece.ratio) for piece in winding.pieces)} of the first fed winding"
        )
    scale = at.volts
    each = [piece.ratio.over(primary).times(scale) for piece in winding.pieces if piece.ratio]
    whole = winding.whole.ratio.over(primary).times(scale)
    volts = " + ".join(volts_text(span) for span in each)
    return f"{names}: {role(winding, whole)}: {volts} off load at {scale:g} V, {ohms}"


def is_primary(winding: Winding, primary: Primary, sorted_out: Sorted) -> bool:
    """Do the primary's ends, or what is joined for it, lie on this winding?"""
    leads = {*primary.ends, *(lead for joint in primary.joined for lead in joint)}
    return bool(leads & set(winding.leads))


def _ratio(span: Span | None) -> str:
    return "?" if span is None else f"{span.value:.4g} ({span.low:.4g} to {span.high:.4g})"


def ohm_text(span: Span | None) -> str:
    """Ohms with what they may be off, or that they are not known."""
    return "? ohm" if span is None else f"{span.value:.3g} ohm ({span.low:.3g} to {span.high:.3g})"


def volts_text(span: Span) -> str:
    """Volts with what they may be off."""
    return f"{span.value:.4g} V ({span.low:.4g} to {span.high:.4g})"


def _guessed(notes: Transformer, sorted_out: Sorted) -> Iterator[Finding]:
    """The likely primary, while the builder has not said which it is."""
    found = guess(sorted_out)
    if notes.primary is not None or not found:
        return
    names = " and ".join(" - ".join(w.orders[0].leads) for w in found)
    fits = taps_like(found[0]) if len(found) == 1 else ()
    likes = " or ".join(" - ".join(f"{t:g}" for t in fit) for fit in fits)
    taps = f" Its taps stand like {likes} V: which of them, a label tells, or the heaters." if fits else ""
    top = max(fits[0]) if fits else notes.mains_v
    others = [f"{w.leads[0]}-{w.leads[-1]} to {v.value:.3g} V" for w, v in heaters_hit(sorted_out, found, top)]
    hits = [v for _, v in heaters_hit(sorted_out, found, top) if heater(v.value) is not None]
    sure = "likely" if hits else "perhaps (nothing comes to usual heater volts then: trust a label or another guess)"
    twin = ", two equal windings, in series" if len(found) > 1 else ""
    text = (
        f"{sure} the primary: {names}{twin}, with the least ohms for its turns.{taps} With {top:g} V on it the others "
        "come "
        f"off load {', '.join(others)}"
    )
    yield Finding("note", text)


def _primary(notes: Transformer, primary: Primary, sorted_out: Sorted) -> Iterator[Finding]:
    """What speaks against the primary as it was noted."""
    likely = {lead for winding in guess(sorted_out) for lead in winding.leads}
    where = ("primary", "ends")
    if likely and primary.ends[0] not in likely:
        text = (
            f"{'-'.join(primary.ends)} is noted as the primary, but {', '.join(sorted(likely))} has the most copper "
            "for its turns"
        )
        yield Finding("warn", f"{text}. A winding with too few turns burns at mains: be sure before any", where)
    scale = primary_ratio(notes, sorted_out)
    for winding in sorted_out.windings:
        if scale is not None and winding.whole is not None and winding.whole.ratio is not None:
            volts = winding.whole.ratio.value / scale.value * primary.volts
            own = is_primary(winding, primary, sorted_out) or winding.leads[0] in likely
            if volts > (_MOST_TAP_V if own else _MOST_HT_V):
                yield Finding("stop", _too_many(winding, volts, primary, own), where)
    yield from _wrongly_joined(notes, primary, sorted_out)


def _too_many(winding: Winding, volts: float, primary: Primary, own: bool) -> str:
    """What it means that a winding comes to so many volts with the primary as noted."""
    words = (
        f"with {primary.volts:g} V on {'-'.join(primary.ends)} leads {', '.join(winding.leads)} come to {volts:.0f} V"
    )
    if own:
        return (
            f"{words}, more than any mains tap: too few turns for so many volts, which burns at mains, or an auto-"
            "transformer, whose every lead is live and no supply"
        )
    return f"{words}: these leads are no primary, or these are not its volts. At mains it would burn"


def _wrongly_joined(notes: Transformer, primary: Primary, sorted_out: Sorted) -> Iterator[Finding]:
    parts = joined_parts(primary, sorted_out)
    if not primary.joined:
        return
    where = ("primary", "joined")
    if len(parts) != 2:
        yield Finding("stop", "the joints do not make one primary of two windings, two leads of each", where)
        return
    found = sense_of(notes, sorted_out, parts)
    if found is None:
        return
    joints = {frozenset(joint) for joint in primary.joined}
    series = [{frozenset((found.one[1], found.other[0]))}, {frozenset((found.one[0], found.other[1]))}]
    parallel = {frozenset((found.one[0], found.other[0])), frozenset((found.one[1], found.other[1]))}
    if joints not in (*series, parallel):
        text = (
            f"joined so the two windings work against each other and short the mains. Alike begin {found.one[0]} and "
            f"{found.other[0]}: in series join {found.one[1]}-{found.other[0]}"
        )
        yield Finding("stop", text, where)


def sense_of(notes: Transformer, sorted_out: Sorted, parts: tuple[Pair, ...]) -> Sense | None:
    """How two windings, each by the leads in use, lie to each other; None while no test in series was read."""
    wound = [sorted_out.of(part[0]) for part in parts]
    if len(parts) != 2 or any(winding is None or not winding.ends for winding in wound):
        return None
    ends = [pair(*winding.ends) for winding in wound if winding and winding.ends]
    found = sense(ends[0], ends[1], notes.bench.feeds, sorted_out.ratios)
    if found is None:
        return None
    along = [_along(part, w, way) for part, w, way in zip(parts, wound, (found.one, found.other), strict=True) if w]
    return Sense(along[0], along[1])


def _along(part: Pair, winding: Winding, way: Pair) -> Pair:
    """Two leads of a winding in the direction of `way`, which has its ends."""
    order = winding.orders[0].leads
    forward = part if order.index(part[0]) < order.index(part[1]) else (part[1], part[0])
    return forward if way[0] == order[0] else (forward[1], forward[0])


def amps(notes: Transformer, winding: Winding, volts: float, ohm: Span | None) -> Span | None:
    """Estimated current of a winding of these off-load volts; None where core or ohms are missing."""
    if notes.core is None or ohm is None:
        return None
    found = winding_amps(notes.core, notes.hertz, volts, ohm)
    if found is None:
        return None
    most = watts(notes).times(1 / volts)  # no winding gives more than the whole core
    return Span(min(found.low, most.low), min(found.value, most.value), min(found.high, most.high))


def amps_text(span: Span) -> str:
    return f"{show(span.value, Unit.AMPERE, 2)} ({show(span.low, Unit.AMPERE, 2)} to {show(span.high, Unit.AMPERE, 2)})"
