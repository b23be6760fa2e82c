"""The review of a layout: every rule over the whole metalwork of a build, worst findings first.

A rule takes the workshop and gives findings; it asks for no sizes that the file or the library does not have.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace

from benchtui.buildfile.models import Build
from benchtui.metalwork import (
    rules_earth,
    rules_heat,
    rules_holes,
    rules_mains,
    rules_parts,
    rules_rooms,
    rules_sizes,
)
from benchtui.metalwork.finding import Finding
from benchtui.metalwork.workshop import Workshop, workshop
from benchtui.quantities.severity import gravity

RULES: tuple[Callable[[Workshop], Iterator[Finding]], ...] = (
    rules_earth.earth_there,
    rules_earth.bolts,
    rules_earth.loose_metal,
    rules_mains.mains_and_inputs,
    rules_mains.mains_together,
    rules_holes.outside,
    rules_holes.holes,
    rules_holes.margins,
    rules_holes.kept_free,
    rules_rooms.behind,
    rules_rooms.against_walls,
    rules_rooms.too_deep,
    rules_rooms.in_front,
    rules_rooms.posts,
    rules_rooms.corners,
    rules_heat.valves,
    rules_heat.transformers,
    rules_heat.electrolytics,
    rules_heat.field_at_inputs,
    rules_heat.field_at_output,
    rules_parts.fitting,
    rules_parts.unplaced,
    rules_parts.unnamed,
    rules_sizes.guides,
    rules_sizes.unmeasured,
    rules_sizes.odd_sizes,
    rules_sizes.bought_tools,
    rules_sizes.cut_outs,
    rules_sizes.clamped,
)
"""Every rule of the layout."""


def layout_review(build: Build) -> tuple[Finding, ...]:
    """All findings about the panels of a build, worst first; none where it has no panels.

    What one rule says several times of the same things (openings of a row, say) is told once, where it is worst.
    Raises PartError where a thread is not in the library, which a loaded and checked build has none of.
    """
    if not build.panel:
        return ()
    shop = workshop(build)
    alike: dict[tuple[object, ...], list[Finding]] = {}
    for rule in RULES:
        for finding in rule(shop):
            alike.setdefault((finding.rule, finding.panel, finding.about), []).append(finding)
    told = [_worst(group) for group in alike.values()]
    return tuple(sorted(told, key=lambda finding: gravity(finding.severity)))


def _worst(group: list[Finding]) -> Finding:
    worst = min(group, key=lambda finding: (gravity(finding.severity), -_badness(finding)))
    others = len(group) - Counter(finding.text for finding in group)[worst.text]
    more = f" (and at {others} more {'places' if others > 1 else 'place'} there)" if others else ""
    return replace(worst, text=worst.text + more)


def _badness(finding: Finding) -> float:
    if finding.value_mm is None or finding.limit_mm is None:
        return 0.0
    return abs(finding.value_mm - finding.limit_mm)
