"""Panels as tests need them, in the build file of the small example."""

from __future__ import annotations

import re
from pathlib import Path

from benchtui.buildfile.load import load_text
from benchtui.buildfile.models import Build
from benchtui.metalwork.layout import Plate, plates

AMPLIFIER = Path(__file__).parents[1] / "buildfile" / "example.toml"

#: A top plate larger than a sheet of paper, with a bit of everything, and the rear that it is bent on to.
CHASSIS = """
[panel.top]
name = "Top plate"
size = ["330 mm", "215 mm"]
thickness = "1.5 mm"
material = "aluminium"
[panel.top.edges]
bottom = { fold = "rear" }
left = { meets = "side" }
right = { lip = "12 mm" }
[panel.top.holes.X1]
kind = "octal socket"
at = ["70 mm", "62.5 mm"]
diameter = "28.6 mm"
screws = [["-19 mm", "0 mm"], ["19 mm", "0 mm"]]
turn = 30
[panel.top.holes.X2]
kind = "octal socket"
at = ["171.3 mm", "62.5 mm"]
diameter = "28.6 mm"
screws = [["-19 mm", "0 mm"], ["19 mm", "0 mm"]]
[panel.top.holes.X3]
kind = "noval socket"
at = ["171.3 mm", "130 mm"]
[panel.top.holes.window]
kind = "hole"
at = ["265 mm", "105 mm"]
size = ["62 mm", "77 mm"]
turn = 12
[panel.top.rows]
G = { kind = "hole", first = ["60 mm", "190 mm"], spacing = "31.75 mm", count = 5, diameter = "6.6 mm" }
[panel.top.keep_out]
strut = { at = ["20 mm", "110 mm"], size = ["100 mm", "15 mm"], reason = "strut inside" }

[panel.rear]
name = "Rear"
size = ["330 mm", "70 mm"]
thickness = "1.5 mm"
material = "aluminium"
[panel.rear.edges]
top = { fold = "top" }
[panel.rear.holes.inlet]
kind = "mains inlet"
at = ["40 mm", "35 mm"]
size = ["27.5 mm", "20.2 mm"]
screws = [["-20 mm", "0 mm"], ["20 mm", "0 mm"]]
thread = "M3"
[panel.rear.holes.PE]
kind = "earth bolt"
at = ["90 mm", "35 mm"]
thread = "M5"
bare = true

[panel.side]
name = "Side"
size = ["80 mm", "60 mm"]
thickness = "2 mm"
material = "steel"
edges = { top = { against = "top", begins = "20 mm" } }
[panel.side.holes]
jack = { kind = "hole", at = ["40 mm", "30 mm"], diameter = "9.5 mm" }
"""


def text(chassis: str = CHASSIS) -> str:
    """The small example with this chassis in place of its own."""
    tables = re.split(r"(?m)^(?=\[)", AMPLIFIER.read_text("utf-8"))
    return "".join(table for table in tables if not table.startswith("[panel")) + chassis


def build(chassis: str = CHASSIS) -> Build:
    return load_text(text(chassis), "chassis.toml").build


def plate(name: str = "top", chassis: str = CHASSIS) -> Plate:
    return next(each for each in plates(build(chassis)) if each.name == name)
