"""SVG and DXF read back by readers that know nothing of ours: places, sizes, units, layers."""

from __future__ import annotations

import re
from io import StringIO
from xml.etree import ElementTree

import ezdxf
import pytest
from ezdxf import units

from benchtui.metalwork.as_dxf import dxf, layer
from benchtui.metalwork.as_svg import svg
from benchtui.metalwork.drawing import CUT, Drawing, Role
from benchtui.metalwork.layout import plates
from benchtui.metalwork.sheets import one_sheet
from benchtui.metalwork.template import template
from tests.metalwork import panels
from tests.metalwork.written import openings

SVG = "{http://www.w3.org/2000/svg}"


def drawn(panel: str = "top", *, mirrored: bool = False, chassis: str = panels.CHASSIS) -> Drawing:
    every = plates(panels.build(chassis))
    return template(next(each for each in every if each.name == panel), every, "from a test", mirrored=mirrored)


def read_back(text: str) -> ezdxf.document.Drawing:
    document = ezdxf.read(StringIO(text))
    audit = document.audit()
    assert not audit.has_errors and not audit.has_fixes
    return document


@pytest.mark.parametrize("panel", ["top", "rear", "side"])
def test_dxf_has_a_circle_of_the_files_size_at_every_round_opening(panel: str) -> None:
    space = read_back(dxf(drawn(panel))).modelspace()
    circles = sorted((each.dxf.center.x, each.dxf.center.y, 2 * each.dxf.radius) for each in space.query("CIRCLE"))
    assert circles == [pytest.approx(each) for each in openings(panels.text(), panel) if each[2] is not None]


def test_dxf_is_in_millimetres_with_closed_outlines_and_words_on_no_layer_that_is_cut() -> None:
    document = read_back(dxf(drawn("side")))
    assert document.units == units.MM and document.header["$MEASUREMENT"] == 1
    (outline,) = document.modelspace().query(f'LWPOLYLINE[layer=="{layer(Role.OUTLINE)}"]')
    assert outline.closed and {tuple(point[:2]) for point in outline} == {(0, 0), (80, 0), (80, 60), (0, 60)}
    assert {text.dxf.layer for text in document.modelspace().query("TEXT")} == {"TEXT"}
    assert "TEXT" not in map(layer, CUT)


def test_a_cut_out_is_a_closed_line_of_its_size_turned_as_the_file_says() -> None:
    space = read_back(dxf(drawn())).modelspace()
    (window,) = space.query(f'LWPOLYLINE[layer=="{layer(Role.CUT_OUT)}"]')
    assert window.closed
    a, b, c, d = (complex(*point[:2]) for point in window)
    assert (abs(b - a), abs(c - b), abs(d - c)) == pytest.approx((62, 77, 62))
    assert (a + b + c + d) / 4 == pytest.approx(265 + 105j)
    turned = 0.9781476 + 0.2079117j  # cosine and sine of 12 degrees
    assert [(b - a) / 62, (c - b) / 77] == [pytest.approx(turned), pytest.approx(turned * 1j)]


def test_a_guide_is_on_no_layer_that_is_cut() -> None:
    space = read_back(dxf(drawn())).modelspace()
    at_noval = [each for each in space.query("CIRCLE") if abs(each.dxf.center.y - 130) < 0.1]
    assert len(at_noval) == 3  # the socket, whose size nobody measured, and its screws
    assert {each.dxf.layer for each in at_noval} == {layer(Role.GUIDE)}
    assert Role.GUIDE not in CUT


def test_a_bent_panel_has_no_closed_outline_that_could_be_cut_as_a_blank() -> None:
    space = read_back(dxf(drawn())).modelspace()
    assert not space.query(f'LWPOLYLINE[layer=="{layer(Role.OUTLINE)}"]')
    edges = {(line.dxf.layer, *line.dxf.start.vec2, *line.dxf.end.vec2) for line in space.query("LINE")}
    assert {("FOLD", 0, 0, 330, 0), ("FOLD", 330, 0, 330, 215)} <= edges
    assert {("OUTLINE", 0, 215, 330, 215), ("OUTLINE", 0, 0, 0, 215)} <= edges
    told = " ".join(text.dxf.text for text in space.query("TEXT"))
    assert "no flat blank" in told


def test_the_flat_begins_where_the_bend_ends_and_the_plate_that_meets_is_drawn_as_thick_as_it_is() -> None:
    space = read_back(dxf(drawn())).modelspace()
    lines = space.query(f'LINE[layer=="{layer(Role.BEHIND)}"]')
    inside = {(*line.dxf.start.vec2, *line.dxf.end.vec2) for line in lines}
    # bend: sheet 1.5 mm and an inside radius of as much; the side is of 2 mm
    assert inside == {(0, 3, 330, 3), (327, 0, 327, 215), (2, 0, 2, 215)}


def test_files_are_the_same_each_time_and_mirrored_they_are_turned_over() -> None:
    assert dxf(drawn()) == dxf(drawn()) and svg(one_sheet(drawn())) == svg(one_sheet(drawn()))
    space = read_back(dxf(drawn(mirrored=True))).modelspace()
    circles = sorted((330 - each.dxf.center.x, each.dxf.center.y) for each in space.query("CIRCLE"))
    assert circles == [pytest.approx(each[:2]) for each in openings(panels.text(), "top") if each[2] is not None]
    assert any("INSIDE" in text.dxf.text for text in space.query("TEXT"))
    assert ezdxf.options.write_fixed_meta_data_for_testing is False


@pytest.mark.parametrize("panel", ["top", "rear", "side"])
def test_svg_counts_in_millimetres_and_has_every_opening_of_the_file(panel: str) -> None:
    root = ElementTree.fromstring(svg(one_sheet(drawn(panel))).encode())
    width, height = (root.get(side, "") for side in ("width", "height"))
    assert root.get("viewBox") == f"0 0 {width.removesuffix('mm')} {height.removesuffix('mm')}"
    assert width.endswith("mm") and height.endswith("mm")
    circles = [each for each in root.iter(f"{SVG}circle")]
    x0, y0 = _datum(root)
    found = sorted((float(c.get("cx")) - x0, y0 - float(c.get("cy")), 2 * float(c.get("r"))) for c in circles)
    expected = [each for each in openings(panels.text(), panel) if each[2] is not None]
    assert found == [pytest.approx(each, abs=0.001) for each in expected]


def _datum(root: ElementTree.Element) -> tuple[float, float]:
    """The panel's corner in the drawing: the leftmost and lowest of its edges."""
    paths = [each.get("d", "") for each in root.iter(f"{SVG}path") if each.get("class") in ("outline", "fold")]
    numbers = [[float(word) for word in re.findall(r"-?[0-9.]+", path)] for path in paths]
    return min(x for each in numbers for x in each[::2]), max(y for each in numbers for y in each[1::2])


def test_words_of_the_builder_are_no_markup() -> None:
    chassis = panels.CHASSIS.replace('"Top plate"', '"<script>&]]>%%d\u202e"')
    text = svg(one_sheet(drawn(chassis=chassis)))
    words = " ".join(each.text or "" for each in ElementTree.fromstring(text.encode()).iter(f"{SVG}text"))
    assert "<script>&]]>%%d<U+202E>" in words
    lines = [each.dxf.text for each in read_back(dxf(drawn(chassis=chassis))).modelspace().query("TEXT")]
    assert any("<script>&]]>% %d<U+202E>" in line for line in lines)
