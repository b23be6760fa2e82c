"""What each winding is for: told by its volts once the primary is known, guessed before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from benchtui.identify.leads import Pair
from benchtui.identify.rules import figures, rule
from benchtui.identify.spans import Span
from benchtui.identify.windings import Sorted, Winding

_LOW_V = 22.0
_HT_V = 100.0

_TAPS = (100.0, 110.0, 115.0, 117.0, 120.0, 127.0, 200.0, 208.0, 210.0, 220.0, 230.0, 240.0, 245.0, 250.0)
"""Mains volts that primaries are tapped for (common practice, no source)."""


@dataclass(frozen=True)
class Primary:
    """Where mains will go, as the builder says: its ends, rated volts there, and leads that are joined for it."""

    ends: Pair
    volts: float
    joined: tuple[Pair, ...] = ()


def heater(volts: float) -> float | None:
    """The rated heater volts that a winding of these off-load volts is for; None where it is for none."""
    fits = [rated for rated in figures("heater.volts") if rated <= volts <= rated * (1 + rule("heater.rise"))]
    return min(fits, key=lambda rated: abs(volts / rated - 1.07)) if fits else None


def role(winding: Winding, volts: Span) -> str:
    """In words what a winding of these whole off-load volts is for."""
    tapped = ", centre tap" if winding.centre_tapped else ", tapped" if len(winding.leads) > 2 else ""
    rated = heater(volts.value)
    if rated is not None:
        return f"{'rectifier heater' if rated == 5.0 else 'heater'} {rated:g} V{tapped}"
    if winding.centre_tapped and heater(volts.value / 2) is not None:
        return f"heater 2 x {heater(volts.value / 2):g} V, centre tap"
    if volts.value < _LOW_V:
        return f"low volts{tapped}"
    return f"HT{tapped}" if volts.value >= _HT_V else f"bias or other low supply{tapped}"


def guess(sorted_out: Sorted) -> tuple[Winding, ...]:
    """The winding that is likely the primary, or twins of it: the one with the least ohms for its turns squared.

    It carries the power of all others, so it has the most copper. Empty while ohms or ratios are missing.
    """
    weighed = [(_copper(winding), winding) for winding in sorted_out.windings]
    if len(weighed) < 2 or any(copper is None for copper, _ in weighed):
        return ()
    least = min(copper for copper, _ in weighed if copper is not None)
    best = next(winding for copper, winding in weighed if copper == least)
    return (best, *(w for copper, w in weighed if w is not best and copper is not None and _twin(w, best)))


def _twin(one: Winding, other: Winding) -> bool:
    """The same volts and, within a quarter, the same ohms."""
    a, b = one.whole, other.whole
    if not (a and b and a.ratio and b.ratio and a.ohm and b.ohm):
        return False
    alike = a.ratio.wider(rule("volts.halves")).meets(b.ratio)
    return alike and a.ohm.wider(0.25).meets(b.ohm)


def _copper(winding: Winding) -> float | None:
    whole = winding.whole
    if whole is None or whole.ratio is None or whole.ohm is None or not whole.ratio.value > 0:
        return None
    return max(whole.ohm.value, 0.05) / whole.ratio.value**2  # a reading of nothing is no proof of much copper


def heaters_hit(sorted_out: Sorted, primary: Sequence[Winding], volts: float) -> Iterator[tuple[Winding, Span]]:
    """Off-load volts of every other winding with `volts` on the whole of `primary` (twins: on both in series)."""
    total = sum(w.whole.ratio.value for w in primary if w.whole and w.whole.ratio)
    for winding in sorted_out.windings:
        if winding not in primary and winding.whole and winding.whole.ratio and total > 0:
            yield winding, winding.whole.ratio.times(volts / total)


def taps_like(winding: Winding) -> tuple[tuple[float, ...], ...]:
    """Mains volts that the taps of a primary stand like, in the order of its leads, the best fit first.

    Each within 1.5 %; at most three, none where none fits. Only proportions are known, so several may fit.
    """
    if len(winding.pieces) < 2 or any(piece.ratio is None for piece in winding.pieces):
        return ()
    found: dict[tuple[float, ...], float] = {}
    for backwards in (False, True):
        steps = [0.0]
        for piece in winding.pieces[::-1] if backwards else winding.pieces:
            steps.append(steps[-1] + (piece.ratio.value if piece.ratio else 0.0))
        for top in _TAPS:
            volts = [step / steps[-1] * top for step in steps[1:]]
            near = [min(_TAPS, key=lambda tap, v=v: abs(tap - v)) for v in volts]  # type: ignore[misc]
            off = max(abs(v / tap - 1) for v, tap in zip(volts, near, strict=True))
            if len(set(near)) == len(near) and off < 0.015:
                fit = (*near[::-1], 0.0) if backwards else (0.0, *near)
                found[fit] = min(off, found.get(fit, 1.0))
    return tuple(sorted(found, key=lambda fit: found[fit]))[:3]
