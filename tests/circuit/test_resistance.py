"""Ohms between any two nodes: by hand, by series and parallel, and by laws that every network keeps."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from benchtui.circuit.elements import Capacitor, Diode, Element, Law, Pot, Resistor
from benchtui.circuit.resistance import Unpowered, paths

SILICON = Law("silicon", {"is_a": 1e-9, "n": 1.8, "rs_ohm": 0.05})


def ohms(*elements: Element) -> Unpowered:
    return Unpowered(paths(elements))


def cube() -> list[Resistor]:
    """Twelve edges of one ohm; corners are named by their three coordinates."""
    corners = [f"{x}{y}{z}" for x in "01" for y in "01" for z in "01"]
    edges = [(a, b) for a, b in combinations(corners, 2) if sum(p != q for p, q in zip(a, b, strict=True)) == 1]
    return [Resistor(f"{a}-{b}", a, b, 1.0) for a, b in edges]


def mesh(seed: int) -> list[Resistor]:
    """A random network of 8 nodes and chassis, each value drawn within 10 %, from 1 ohm to 1 Mohm."""
    rng = np.random.default_rng(seed)
    names = ["0", *"abcdefgh"]
    ends = [(names[rng.integers(n)], names[n]) for n in range(1, 9)]
    ends += [tuple(rng.choice(names, 2, replace=False)) for _ in range(8)]
    drawn = [10 ** rng.uniform(0, 6) * rng.uniform(0.9, 1.1, 20) for _ in ends]
    return [Resistor(f"R{n}", a, b, ohm) for n, ((a, b), ohm) in enumerate(zip(ends, drawn, strict=True))]


def test_the_cube_of_one_ohm_reads_as_textbooks_say() -> None:
    # an edge 7/12, a face's diagonal 3/4, through the middle 5/6: a standard exercise of network theory, from memory
    made = ohms(*cube())
    for other, ohm in (("100", 7 / 12), ("110", 3 / 4), ("111", 5 / 6)):
        assert made.between("000", other)[0] == pytest.approx(ohm, rel=1e-9)


def test_capacitors_and_diodes_are_open_and_an_island_has_ohms_of_its_own() -> None:
    made = ohms(
        Resistor("R1", "a", "0", 1e3), Capacitor("C1", "a", "b", 1e-6), Diode("D1", "a", "c", SILICON),
        Resistor("R2", "b", "c", 62.0),
    )  # fmt: skip
    assert made.between("a", "b")[0] == made.between("a", "c")[0] == made.between("c", "0")[0] == np.inf
    assert made.between("b", "c")[0] == pytest.approx(62.0, rel=1e-12)
    assert not made.joined("a", "b") and made.joined("b", "c") and np.isnan(made.volts("a", "b", "a", "0")[0])


def test_a_pot_reads_its_two_sides_and_what_a_current_leaves_across_them() -> None:
    made = ohms(Pot("P1", "0", "w", "top", 10e3, 0.3))
    assert [made.between("w", end)[0] for end in ("0", "top")] == pytest.approx([3e3, 7e3])
    assert made.volts("top", "0", "w", "0")[0] == pytest.approx(3e3)


@pytest.mark.parametrize("seed", range(5))
def test_reading_and_reading_back_the_same_and_no_shortcut_is_longer(seed: int) -> None:
    """Symmetry, and resistance as a distance: a to c is at most a to b and b to c together."""
    made = ohms(*mesh(seed))
    for a, b, c in combinations(sorted(made.nodes), 3):
        assert made.between(a, b) == pytest.approx(made.between(b, a), rel=1e-7)
        assert (made.between(a, c) <= (made.between(a, b) + made.between(b, c)) * (1 + 1e-7)).all()


@pytest.mark.parametrize("seed", range(5))
def test_the_extremes_enclose_every_build_between_them(seed: int) -> None:
    elements = mesh(seed)
    drawn, ends = ohms(*elements), Unpowered(paths(elements).extremes())
    for a, b in combinations(sorted(drawn.nodes), 2):
        least, most = ends.between(a, b)
        assert least * (1 - 1e-6) <= drawn.between(a, b).min() and drawn.between(a, b).max() <= most * (1 + 1e-6)


def test_an_unknown_node_is_named_with_those_that_there_are() -> None:
    with pytest.raises(KeyError, match="no node 'x'; it has 0, a"):
        ohms(Resistor("R1", "a", "0", 1.0)).between("x", "0")
