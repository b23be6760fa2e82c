"""Field types of the build file: text as a builder writes it in, SI floats and plain names out."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field

from benchtui.buildfile import texts

Ohms = Annotated[float, BeforeValidator(texts.quantity("ohm"))]
Farads = Annotated[float, BeforeValidator(texts.quantity("F"))]
Henries = Annotated[float, BeforeValidator(texts.quantity("H"))]
Volts = Annotated[float, BeforeValidator(texts.quantity("V"))]
Amps = Annotated[float, BeforeValidator(texts.quantity("A"))]
Watts = Annotated[float, BeforeValidator(texts.quantity("W"))]
Seconds = Annotated[float, BeforeValidator(texts.quantity("s"))]
Hertz = Annotated[float, BeforeValidator(texts.quantity("Hz"))]
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

Text = Annotated[str, AfterValidator(texts.note), Field(max_length=400)]
"""Free text for the screen."""
