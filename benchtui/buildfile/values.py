"""Field types of the build file: text as a builder writes it in, SI floats and plain names out."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Strict

from benchtui.buildfile import texts

_ABOVE_ZERO = AfterValidator(texts.above_zero)
_NOT_NEGATIVE = AfterValidator(texts.not_negative)

Ohms = Annotated[float, BeforeValidator(texts.quantity("ohm")), _ABOVE_ZERO]
OhmsOrNone = Annotated[float, BeforeValidator(texts.quantity("ohm")), _NOT_NEGATIVE]
"""Ohms where a plain wire is allowed: zero or more."""

Farads = Annotated[float, BeforeValidator(texts.quantity("F")), _ABOVE_ZERO]
Henries = Annotated[float, BeforeValidator(texts.quantity("H")), _ABOVE_ZERO]
Volts = Annotated[float, BeforeValidator(texts.quantity("V")), _ABOVE_ZERO]
VoltsEitherWay = Annotated[float, BeforeValidator(texts.quantity("V"))]
"""A reading in volts, which may be negative."""

Amps = Annotated[float, BeforeValidator(texts.quantity("A")), _ABOVE_ZERO]
Watts = Annotated[float, BeforeValidator(texts.quantity("W")), _ABOVE_ZERO]
Seconds = Annotated[float, BeforeValidator(texts.quantity("s")), _ABOVE_ZERO]
Metres = Annotated[float, BeforeValidator(texts.quantity("m")), _ABOVE_ZERO]
MetresEitherWay = Annotated[float, BeforeValidator(texts.quantity("m"))]
"""A place along a line, which may be negative."""

Hertz = Annotated[float, BeforeValidator(texts.quantity("Hz")), _ABOVE_ZERO]
Share = Annotated[float, BeforeValidator(texts.share)]
"""A share written in percent: "43 %" gives 0.43."""

Tolerance = Annotated[tuple[float, float], BeforeValidator(texts.tolerance)]
"""(low, high) as shares of the value: "5 %" gives (-0.05, 0.05), "-20/+50 %" gives (-0.2, 0.5)."""

Accuracy = Annotated[tuple[float, float], BeforeValidator(texts.accuracy)]
"""(share of the reading, digits): "0.5 % + 3" gives (0.005, 3.0)."""

Id = Annotated[str, AfterValidator(texts.identifier)]
"""A reference such as R11 or v2_cathode: letters, digits, dot, dash, underscore; at most 40 characters."""

Node = Annotated[str, AfterValidator(texts.node)]
"""A named joint of the circuit; "0" and "chassis" are the chassis."""

Text = Annotated[str, AfterValidator(texts.note)]
"""Free text for the screen."""

TypeName = Annotated[str, AfterValidator(texts.type_name)]
"""A valve or diode type such as 6V6GT or ECC82/12AU7."""

PinName = Annotated[str, AfterValidator(texts.pin_name)]
"""A pin number, or the name of an electrode."""

Number = Annotated[float, BeforeValidator(texts.number)]
"""A bare number, finite: a constant that has no unit of its own."""

Factor = Annotated[float, BeforeValidator(texts.number), _ABOVE_ZERO]
"""A bare number above zero, such as a gain."""

Count = Annotated[int, Strict()]
Flag = Annotated[bool, Strict()]

ReadingLimit = Annotated[float, BeforeValidator(texts.reading_limit)]
"""A limit of a point's reading, in ohms where its `quantity` is resistance, in volts otherwise."""

OhmsOrOpen = Annotated[float, BeforeValidator(texts.ohms_or_open), _NOT_NEGATIVE]
"""Ohms as a meter shows them; "OL" gives infinity."""

VoltsOrNone = Annotated[float, BeforeValidator(texts.quantity("V")), _NOT_NEGATIVE]
"""A magnitude in volts, which may be nothing."""

Celsius = Annotated[float, BeforeValidator(texts.quantity("degC"))]

Lead = Annotated[str, AfterValidator(texts.lead)]
"""A lead of a transformer: its number, or its colour."""

LeadPair = Annotated[str, AfterValidator(texts.lead_pair)]
"""Two leads such as 1-2, or 1-rest for a lead and all others."""
