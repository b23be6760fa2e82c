"""What follows of a heater that gets too few volts."""

from __future__ import annotations

import numpy as np
import pytest

from benchtui.diagnosis.heating import emission_of
from benchtui.diagnosis.table import fault_table
from tests.reference import amplifiers

BUILD = amplifiers.build("a").build


@pytest.mark.parametrize(("share", "wanted"), [(0.0, 0.0), (0.5, 0.02), (0.8, 1.0), (1.0, 1.0), (1.3, 1.0)])
def test_emission_falls_with_the_volts_of_the_heater(share: float, wanted: float) -> None:
    assert emission_of(np.array([share])) == pytest.approx([wanted])


def mean(kind: str, part: str) -> dict[str, float]:
    """What the first size of a fault reads in the supply stage on an average build."""
    table = fault_table(BUILD, "supply")
    number = next(k for k, fault in enumerate(table.faults) if (fault.kind, fault.part) == (kind, part))
    row = table.spread.mean[(table.of == number).argmax()]
    return {name: float(value) for (_, name), value in zip(table.points, row, strict=True)}


@pytest.mark.parametrize(
    ("kind", "part"), [("winding-open", "W_H5"), ("wire-open", "LK_V4_h1"), ("heater-open", "H_V4")]
)
def test_a_rectifier_valve_whose_heater_gets_nothing_gives_no_ht(kind: str, part: str) -> None:
    read = mean(kind, part)
    assert abs(read["bp1"]) < 1.0 and read["ht_half1"] > 200.0


def test_a_heater_that_keeps_its_volts_leaves_its_valve_as_it_was() -> None:
    assert mean("wire-open", "LK_V2_h1")["bp1"] == pytest.approx(mean("capacitor-open", "C3")["bp1"], rel=0.01)
