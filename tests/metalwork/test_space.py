"""Boxes in space: whether they are in each other, and where panels stand; each found out in a second way."""

from __future__ import annotations

from itertools import product
from math import cos, hypot, radians, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtui.buildfile.models import Build
from benchtui.metalwork.layout import Cut, Plate
from benchtui.metalwork.outlines import web
from benchtui.metalwork.review import layout_review
from benchtui.metalwork.space import Box, Vector, between, from_box, overlap
from benchtui.metalwork.workshop import workshop
from tests.metalwork.layouts import built, changed
from tests.metalwork.planted import PLANTED
from tests.metalwork.sound import EL34, SOUND, STEREO, TWO, with_panels
from tests.metalwork.turned import mirrored, turned

_LENGTH = st.floats(2.0, 40.0)
_ANGLE = st.floats(0.0, 360.0)
_PLACE = st.floats(-40.0, 40.0)


def turn(point: Vector, axis: int, degrees: float) -> Vector:
    """A point turned about one of the three axes."""
    c, s = cos(radians(degrees)), sin(radians(degrees))
    first, second = (axis + 1) % 3, (axis + 2) % 3
    new = list(point)
    new[first] = c * point[first] - s * point[second]
    new[second] = s * point[first] + c * point[second]
    return new[0], new[1], new[2]


@st.composite
def boxes(draw: st.DrawFn) -> Box:
    unit: tuple[Vector, Vector, Vector] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    for axis in range(3):
        degrees = draw(_ANGLE)
        unit = tuple(turn(each, axis, degrees) for each in unit)  # type: ignore[assignment]
    return Box((draw(_PLACE), draw(_PLACE), draw(_PLACE)), unit, (draw(_LENGTH), draw(_LENGTH), draw(_LENGTH)))


def nearest(box: Box, point: Vector) -> Vector:
    """The place of the box that is nearest to a point."""
    found = box.middle
    for axis, half in zip(box.axes, box.half, strict=True):
        way = sum((p - m) * a for p, m, a in zip(point, box.middle, axis, strict=True))
        way = max(-half, min(half, way))
        found = tuple(f + way * a for f, a in zip(found, axis, strict=True))  # type: ignore[assignment]
    return found


def gap(a: Box, b: Box) -> float:
    """Distance of two boxes, by going to the nearest place of the one and of the other in turn."""
    p = a.middle
    for _ in range(300):
        q = nearest(b, p)
        p = nearest(a, q)
    return sum((u - v) ** 2 for u, v in zip(p, q, strict=True)) ** 0.5


@given(boxes(), boxes())
@settings(max_examples=80, deadline=None)
def test_two_boxes_overlap_just_where_no_way_leads_between_them(a: Box, b: Box) -> None:
    into, between = overlap(a, b), gap(a, b)
    if into > 0.5:
        assert between < 0.3
    elif into < 0:
        assert between >= -into - 1e-6, "what separates them is never wider than they are apart"
        assert between > 0


@given(boxes(), boxes())
@settings(max_examples=40, deadline=None)
def test_distance_of_boxes_is_at_least_that_of_their_nearest_places(a: Box, b: Box) -> None:
    told, least = between(a, b), gap(a, b)
    assert told == pytest.approx(between(b, a))
    assert told >= least - 0.3 and (told > 0 or overlap(a, b) >= 0)


@given(boxes(), boxes(), _ANGLE)
@settings(max_examples=40, deadline=None)
def test_distance_of_boxes_on_one_panel_is_that_of_their_nearest_places(a: Box, b: Box, degrees: float) -> None:
    def standing(box: Box, turned: float) -> Box:
        c, s = cos(radians(turned)), sin(radians(turned))
        middle = (box.middle[0], box.middle[1], box.half[2])
        return Box(middle, ((c, s, 0.0), (-s, c, 0.0), (0.0, 0.0, 1.0)), box.half)

    p, q = standing(a, 0.0), standing(b, degrees)
    assert between(p, q) == pytest.approx(gap(p, q), abs=0.3)


@given(boxes(), boxes(), _ANGLE, st.sampled_from([0, 1, 2]))
@settings(max_examples=60, deadline=None)
def test_overlap_does_not_depend_on_who_looks(a: Box, b: Box, degrees: float, axis: int) -> None:
    def moved(box: Box) -> Box:
        return Box(
            turn(box.middle, axis, degrees), tuple(turn(each, axis, degrees) for each in box.axes), box.half  # type: ignore[arg-type]
        )  # fmt: skip

    assert overlap(b, a) == pytest.approx(overlap(a, b), abs=1e-6)
    assert overlap(moved(a), moved(b)) == pytest.approx(overlap(a, b), abs=1e-6)


@given(boxes(), st.tuples(_PLACE, _PLACE, _PLACE))
@settings(max_examples=60, deadline=None)
def test_distance_to_a_box_is_that_to_its_nearest_place(box: Box, point: Vector) -> None:
    there = nearest(box, point)
    assert from_box(box, point) == pytest.approx(sum((p - q) ** 2 for p, q in zip(point, there, strict=True)) ** 0.5)


@st.composite
def cuts(draw: st.DrawFn) -> Cut:
    x, y = draw(_PLACE), draw(_PLACE)
    if draw(st.booleans()):
        return Cut("round", x, y, draw(_LENGTH), None, 0.0, False)
    return Cut("square", x, y, None, (draw(_LENGTH), draw(_LENGTH)), draw(_ANGLE), False)


def rim(cut: Cut) -> list[tuple[float, float]]:
    """Places on the edge of an opening, near enough to each other to hold it against another's."""
    steps = 120
    if cut.diameter_mm is not None:
        r = cut.diameter_mm / 2
        angles = [radians(360 * n / steps) for n in range(steps)]
        return [(cut.x_mm + r * cos(a), cut.y_mm + r * sin(a)) for a in angles]
    w, h = cut.size_mm[0] / 2, cut.size_mm[1] / 2  # type: ignore[index]
    shares = [n / 30 * 2 - 1 for n in range(30)]
    flat = [(w * s, -h) for s in shares] + [(w, h * s) for s in shares]
    flat += [(-w * s, h) for s in shares] + [(-w, -h * s) for s in shares]
    c, s_ = cos(radians(cut.turn_deg)), sin(radians(cut.turn_deg))
    return [(cut.x_mm + c * u - s_ * v, cut.y_mm + s_ * u + c * v) for u, v in flat]


@given(cuts(), cuts())
@settings(max_examples=40, deadline=None)
def test_the_web_between_openings_is_the_least_way_between_their_rims(a: Cut, b: Cut) -> None:
    left = web(a, b)
    least = min(hypot(p[0] - q[0], p[1] - q[1]) for p, q in product(rim(a), rim(b)))
    if left > 0:
        assert left == pytest.approx(least, abs=2.5) and left <= least + 1e-6
    assert web(b, a) == pytest.approx(left, abs=1e-6)


def found(build: Build) -> list[tuple[str, str, float | None]]:
    return sorted(
        (finding.rule, finding.severity, None if finding.value_mm is None else round(finding.value_mm, 3))
        for finding in layout_review(build)
    )  # fmt: skip


#: Sound ones with a change that several rules answer to, in all panels.
_CROWDED = {
    TWO: (('["183 mm", "138 mm"]', '["200 mm", "150 mm"]'), ('["110 mm", "105 mm"]', '["110 mm", "85 mm"]')),
    STEREO: (('["180 mm", "75 mm"]', '["165 mm", "80 mm"]'), ('["85 mm", "30 mm"]', '["45 mm", "15 mm"]')),
    EL34: (('["45 mm", "78 mm"]', '["15 mm", "78 mm"]'), ('["228 mm", "180 mm"]', '["228 mm", "140 mm"]')),
}


@pytest.mark.parametrize("name", _CROWDED)
def test_a_chassis_and_its_mirror_image_have_the_same_findings(name: str) -> None:
    build = built(changed(SOUND[name], *_CROWDED[name]))
    assert len(found(build)) >= 3
    assert found(mirrored(build)) == found(build)


@pytest.mark.parametrize("panel", ["top", "front", "rear"])
@pytest.mark.parametrize("name", [TWO, STEREO])
def test_which_side_of_a_panel_is_called_its_top_changes_no_finding(name: str, panel: str) -> None:
    build = built(changed(SOUND[name], *_CROWDED[name]))
    assert found(turned(build, panel)) == found(build)


def in_corner(places: tuple[float, float, float, float], kind: str) -> tuple[bool, float]:
    """Whether a body behind the top and one behind the front share a place, tried place by place, and how deep.

    Seen in the space of the chassis: right, to the rear, up; the front's outside at 0 to the rear, the top's at 0 up.
    """
    top_x, top_y, front_x, front_y = places
    up_from = 0.0 if kind == "fold" else -2.0  # a front that stands under the top begins a sheet lower
    a = ((top_x - 15, top_x + 15), (top_y - 10, top_y + 10), (-2.0 - 30.0, -2.0))
    b = ((front_x - 12, front_x + 12), (2.0, 2.0 + 25.0), (up_from - 60 + front_y - 8, up_from - 60 + front_y + 8))
    tried = [[low + (high - low) * (n + 0.5) / 24 for n in range(24)] for low, high in b]
    inside = [sum(low < each < high for each in line) for line, (low, high) in zip(tried, a, strict=True)]
    deep = min(min(p[1] - q[0], q[1] - p[0]) for p, q in zip(a, b, strict=True))
    return all(inside), deep


@pytest.mark.parametrize("kind", ["fold", "meets"])
def test_bodies_in_a_corner_clash_just_where_a_place_is_in_both(kind: str) -> None:
    clashes = 0
    for top_x, top_y, front_x, front_y in product((60,), (12, 30, 45), (60, 86, 110), (15, 40)):
        build = built(corner(kind, top_x, top_y, front_x, front_y))
        shop = workshop(build)
        (a, b) = shop.behinds(shop.groups[0])
        common, deep = in_corner((top_x, top_y, front_x, front_y), kind)
        into = overlap(a.box, b.box)
        assert (into > 0) == common
        assert into == pytest.approx(deep, abs=1e-9) if common else into <= 0
        clashes += common
    assert clashes > 3


_CORNER = """
[panel.top]
name = "Top"
size = ["150 mm", "100 mm"]
thickness = "2 mm"
material = "steel"
edges = {{ bottom = {{ {over} = "front" }} }}

[panel.top.holes.a]
kind = "hole"
at = ["{0} mm", "{1} mm"]
diameter = "5 mm"
behind = ["30 mm", "20 mm", "30 mm"]

[panel.front]
name = "Front"
size = ["150 mm", "60 mm"]
thickness = "2 mm"
material = "steel"
edges = {{ top = {{ {under} = "top" }} }}

[panel.front.holes.b]
kind = "hole"
at = ["{2} mm", "{3} mm"]
diameter = "5 mm"
behind = ["24 mm", "16 mm", "25 mm"]
"""


def corner(kind: str, *places: float) -> str:
    over, under = ("fold", "fold") if kind == "fold" else ("meets", "against")
    return with_panels(_CORNER.format(*places, over=over, under=under))


def test_the_rear_seen_from_behind_has_the_left_of_the_top_at_its_right() -> None:
    shop = workshop(built(SOUND[TWO]))
    rear, top = shop.plate("rear"), shop.plate("top")
    frame = shop.groups[0]["rear"]
    assert frame.point(0, rear.height_mm) == pytest.approx((top.width_mm, top.height_mm, 0))
    assert frame.point(rear.width_mm, 0) == pytest.approx((0, top.height_mm, -rear.height_mm))
    assert frame.z == pytest.approx((0, 1, 0))


def test_an_end_plate_inside_the_sheet_lies_flush_with_its_edge() -> None:
    shop = workshop(built(SOUND[EL34]))
    plate: Plate = shop.plate("end_l")
    frame = shop.groups[0]["end_l"]
    assert frame.z == pytest.approx((-1, 0, 0))
    assert frame.point(0, plate.height_mm) == pytest.approx((0, 248, -2)), "at the rear, a sheet under the top"
    assert frame.point(plate.width_mm, 0) == pytest.approx((0, 2, -75)), "at the front, down to its lower edge"


def test_planted_mistakes_are_told_in_the_mirror_too() -> None:
    for name in ("a switch against a socket round the corner", "a hole at the edge"):
        build = built(PLANTED[name].text)
        assert found(mirrored(build)) == found(build)


@pytest.mark.parametrize(
    ("top_edge", "rear_edge", "from_left"),
    [
        # the rear is 20 mm shorter; seen from above its right end lies at the left of the top plate
        ('meets = "rear", begins = "5 mm"', 'against = "top"', 5),
        ('meets = "rear"', 'against = "top", begins = "-5 mm"', 15),
        ('fold = "rear", begins = "5 mm"', 'fold = "top"', 5),
    ],
)
def test_begins_is_counted_from_the_left_end_of_the_edge_that_says_it(
    top_edge: str, rear_edge: str, from_left: float
) -> None:
    sheet = 'thickness = "2 mm"\nmaterial = "steel"\n'
    text = with_panels(
        f'[panel.top]\nname = "Top"\nsize = ["300 mm", "200 mm"]\n{sheet}edges = {{ top = {{ {top_edge} }} }}\n'
        f'[panel.rear]\nname = "Rear"\nsize = ["280 mm", "60 mm"]\n{sheet}edges = {{ top = {{ {rear_edge} }} }}\n'
    )
    shop = workshop(built(text))
    frame = shop.groups[0]["rear"]
    assert frame.point(280, 60)[0] == pytest.approx(from_left)
    assert frame.point(0, 60)[0] == pytest.approx(from_left + 280)
    assert frame.point(0, 60)[2] == pytest.approx(0 if "fold" in top_edge else -2)
