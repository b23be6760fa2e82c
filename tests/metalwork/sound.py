"""Layouts that nobody should be warned of: other materials, thicknesses, units and ways to build a box."""

from __future__ import annotations

from pathlib import Path

from tests.metalwork.layouts import EXAMPLE, changed, demo

TWO, STEREO, EL34 = "two 6V6GT, one bent sheet", "stereo between wooden cheeks", "two EL34, closed by end plates"

_STEEL = 'thickness = "1 mm"\nmaterial = "steel"\npaint = "0.05 mm"'
_NO_MAINS = (
    ('earth = "earth"\n', ""),
    ('BOND = { nodes = ["earth", "chassis"]', 'BOND = { nodes = ["out", "chassis"]'),
    ('[point.earth_bond]\nname = "Earth pin to chassis"\nred = "earth"', '[point.earth_bond]\nname = "x"\nred = "out"'),
)


def with_panels(panels: str) -> str:
    """The beginner's example with these panels in place of its own."""
    mark = "# Where to measure"
    return EXAMPLE.split("# Panels:")[0] + panels + f"\n{mark}" + EXAMPLE.split(mark)[1]


def _panels(name: str) -> str:
    return (Path(__file__).parent / f"{name}.toml").read_text("utf-8")


SOUND = {
    TWO: demo("pp-6v6"),
    STEREO: demo("se-stereo"),
    EL34: demo("pp-el34"),
    "painted steel": changed(demo("pp-6v6"), ('thickness = "1.5 mm"\nmaterial = "aluminium"', _STEEL)),
    "brass": changed(demo("se-stereo"), ('material = "aluminium"', 'material = "brass"')),
    "inches": with_panels(_panels("inches")),
    "wood and plastic": with_panels(_panels("wood")),
    "two materials with a bond": with_panels(_panels("bonded")),
    "a front alone": changed(with_panels(_panels("front")), *_NO_MAINS),
    "the beginner's example": EXAMPLE,
    "no panels": with_panels(""),
    "a larger radius": changed(demo("pp-6v6"), ('{ fold = "rear" }', '{ fold = "rear", radius = "2 mm" }')),
    "another earth tag over a nut of its own": changed(
        demo("pp-6v6"), ('"nut", "lock nut"]', '"nut", "lock nut", "other tag", "nut"]')
    ),
}
