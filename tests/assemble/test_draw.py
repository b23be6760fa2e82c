"""The factors of an ensemble: seeded, the same in every stage, spread over the whole tolerance."""

from __future__ import annotations

import numpy as np

from benchtui.assemble.draw import Draw


def test_the_nominal_build_has_factors_of_one() -> None:
    assert Draw().factor("R1", "value", (-0.05, 0.05)) == 1.0


def test_the_same_part_and_parameter_gets_the_same_factors_in_another_draw() -> None:
    first = Draw(50).factor("R1", "value", (-0.05, 0.05))
    assert np.array_equal(first, Draw(50).factor("R1", "value", (-0.05, 0.05)))
    assert not np.array_equal(first, Draw(50).factor("R2", "value", (-0.05, 0.05)))


def test_each_strip_of_the_tolerance_holds_one_sample() -> None:
    factors = Draw(101).factor("C1", "value", (-0.2, 0.5))
    strips = np.floor((factors[1:] - 0.8) / 0.7 * 100).astype(int)
    assert factors[0] == 1.0
    assert sorted(strips) == list(range(100))


def test_drawn_names_what_was_drawn() -> None:
    draw = Draw(10)
    draw.factor("V1", "mu", (-0.08, 0.08))
    assert list(draw.drawn) == [("V1", "mu")]
