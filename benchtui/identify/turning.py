"""Turning the output transformer against the live mains transformer: where the least volts are induced in it.

A small coil in a field feels its part along the coil's axis, so the volts go as the cosine of the angle; a field that
turns in space leaves something at every angle: V^2 = a + b cos 2x + c sin 2x (two cosines in quadrature).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, radians, sin, sqrt

from benchtui.identify.cautions import cautions
from benchtui.identify.spans import Span
from benchtui.identify.told import Finding, Step


@dataclass(frozen=True)
class Turned:
    """Volts induced at one place and angle (degrees, any zero that stays the same)."""

    place: str
    angle: float
    read: Span


@dataclass(frozen=True)
class Fit:
    """The angle of least volts at one place, from 0 to 180 degrees, with those volts; and the most."""

    place: str
    angle: float
    least_v: float
    most_v: float


def fit(readings: Sequence[Turned]) -> Fit | None:
    """Least squares of the law above to the readings of one place; None for fewer than three angles.

    Angles that are 180 degrees apart are one.
    """
    if len({round(each.angle % 180, 3) for each in readings}) < 3:
        return None
    rows = [(1.0, cos(2 * radians(each.angle)), sin(2 * radians(each.angle))) for each in readings]
    squares = [each.read.value**2 for each in readings]
    solved = _solved(
        [[sum(row[i] * row[j] for row in rows) for j in range(3)] for i in range(3)],
        [sum(row[i] * square for row, square in zip(rows, squares, strict=True)) for i in range(3)],
    )
    if solved is None:
        return None
    mean, b, c = solved
    swing = hypot(b, c)
    angle = (degrees(atan2(c, b)) / 2 + 90) % 180
    return Fit(readings[0].place, angle, sqrt(max(mean - swing, 0.0)), sqrt(max(mean + swing, 0.0)))


def _solved(matrix: list[list[float]], right: list[float]) -> list[float] | None:
    """Three equations by Cramer's rule; None where the angles do not tell."""
    whole = _det(matrix)
    if abs(whole) < 1e-9:
        return None
    return [
        _det([[right[i] if j == at else matrix[i][j] for j in range(3)] for i in range(3)]) / whole for at in range(3)
    ]


def _det(m: list[list[float]]) -> float:
    return (
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
        - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
        + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    )


def findings(readings: Sequence[Turned]) -> Iterator[Finding]:
    """The best place and angle so far, and whether the meter tells it from the others."""
    if not readings:
        return
    best = min(readings, key=lambda each: each.read.value)
    worst = max(readings, key=lambda each: each.read.value)
    for place in dict.fromkeys(each.place for each in readings):
        found = fit([each for each in readings if each.place == place])
        if found is not None:
            text = f"{place}: least at {found.angle:.0f} degrees, about {_mv(found.least_v)}; most {_mv(found.most_v)}"
            yield Finding("note", text)
    if len(readings) < 2:
        yield Finding("note", f"one reading so far: {_where(best)}, {_mv(best.read.value)}")
        return
    if best.read.meets(worst.read):
        text = (
            "the meter does not tell these places apart: what is induced is about its own error everywhere. Take the "
            "place "
            "that suits the wiring, or go nearer to see where it rises; a winding of more turns shows more"
        )
        yield Finding("warn", text)
        return
    rivals = [each for each in readings if each is not best and each.read.meets(best.read)]
    also = f"; within the meter's error also {', '.join(_where(each) for each in rivals)}" if rivals else ""
    text = (
        f"least so far: {_where(best)}, {_mv(best.read.value)}, {worst.read.value / max(best.read.value, 1e-9):.1f} "
        "times less"
    )
    yield Finding("note", f"{text} than {_where(worst)}{also}")


def following(readings: Sequence[Turned]) -> Step | None:
    """What to read next; None once the fitted angle of the best place was read too."""
    how = [
        "Meter on AC millivolts across the winding with the most turns, its leads twisted; both transformers where "
        "they "
        "would stand, the steel of the chassis under them, since it leads the field.",
    ]
    if readings:
        best = min(readings, key=lambda each: each.read.value)
        here = [each for each in readings if each.place == best.place]
        found = fit(here)
        if found is None:
            how.append(f"At {best.place}: three angles at least, such as 0, 45 and 90 degrees.")
        elif all(abs((each.angle - found.angle + 90) % 180 - 90) > 10 for each in here):
            how.append(f"At {best.place} turn it to {found.angle:.0f} degrees and read once more.")
        else:
            return None
    else:
        how.append("Note place, angle and volts under [[turning]]: a few places, at each 0, 45 and 90 degrees.")
    return Step("where the output transformer picks up least", tuple(how), cautions("turning"))


def _where(each: Turned) -> str:
    return f"{each.place} at {each.angle:g} degrees"


def _mv(volts: float) -> str:
    return f"{volts * 1e3:.3g} mV"
