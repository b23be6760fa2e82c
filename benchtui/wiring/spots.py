"""Spots to solder to: at each node the tags of mounted parts, and the soldering tags that loose ends need."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from benchtui.assemble.valves import known_type
from benchtui.buildfile.models import Build
from benchtui.wiring.ends import CHASSIS, HEATERS, End, ends, place_of_stage
from benchtui.wiring.homes import homes

STAR, BOLT = "star point", "earth bolt"


@dataclass(frozen=True)
class Spot:
    """A place at `node` that takes solder: a part's own tag, or (`extra`) a soldering tag beside `home`.

    `takes` are the loose ends that are soldered there as well; `stage` is the first that connects anything there.
    """

    node: str
    home: str
    says: str
    stage: str
    extra: bool = False
    tag: End | None = None
    takes: tuple[End, ...] = field(default=())

    @property
    def key(self) -> str:
        """Its name by references alone."""
        return self.tag.key if self.tag else f"{self.node} at {self.home}"


def spots(build: Build, node: str) -> tuple[Spot, ...]:
    """The spots of a node, in the order of their stages; of the chassis without star point and earth bolt."""
    place = place_of_stage(build)
    here = [end for end in ends(build) if end.node == node]
    found = list(_tags(build, here, place)) + list(_extra(build, node, here, place))
    found += _parking(node, here, found, place)
    return tuple(sorted(found, key=lambda spot: (place.get(spot.stage, 0), -_heater_amps(build, spot))))


def _heater_amps(build: Build, spot: Spot) -> float:
    """Heaters are wired from the largest to the smallest current: the input valve comes last, farthest from hum."""
    if spot.tag is None or spot.tag.role not in HEATERS:
        return 0.0
    found = known_type(build.valve[spot.home].type)
    return found.heater.amps if found and found.heater else 0.0


def _tags(build: Build, here: list[End], place: Mapping[str, int]) -> Iterator[Spot]:
    """A spot for each tag; loose ends go to the first tag of the part beside which they sit, electrodes first."""
    taken: set[str] = set()
    for tag in sorted((end for end in here if end.kind == "tag"), key=lambda end: end.role in HEATERS):
        takes = () if tag.part in taken else tuple(_loose_at(build, here, tag.part))
        taken.add(tag.part)
        stage = min((end.stage for end in (tag, *takes)), key=lambda id: place.get(id, 0))
        yield Spot(tag.node, tag.part, tag.says, stage, tag=tag, takes=takes)


def _extra(build: Build, node: str, here: list[End], place: Mapping[str, int]) -> Iterator[Spot]:
    """Soldering tags for loose ends beside parts that have no tag of their own at this node."""
    with_tag = {end.part for end in here if end.kind == "tag"}
    linked = sum(node in link.nodes for link in build.link.values())
    for home in dict.fromkeys(homes(build)[end.part] for end in here if end.kind == "loose"):
        takes = tuple(_loose_at(build, here, home))
        if home in with_tag or (len(here) + linked == 1 and node != CHASSIS):
            continue
        stage = min((end.stage for end in takes), key=lambda id: place.get(id, 0))
        says = f"earth tag at {home}" if node == CHASSIS else f"tag {node} at {home}"
        yield Spot(node, home, says, stage, extra=True, takes=takes)


def _loose_at(build: Build, here: list[End], home: str) -> Iterator[End]:
    return (end for end in here if end.kind == "loose" and homes(build)[end.part] == home)


def _parking(node: str, here: list[End], found: list[Spot], place: Mapping[str, int]) -> list[Spot]:
    """A tag for leads that meet before anything else is there, or with nothing else at all."""
    leads = sorted((end for end in here if end.kind == "lead"), key=lambda end: place.get(end.stage, 0))
    first = min((place.get(spot.stage, 0) for spot in found), default=len(place))
    if node == CHASSIS or len(leads) < 2 or place.get(leads[1].stage, 0) >= first:
        return []
    return [Spot(node, leads[0].part, f"tag {node} at {leads[0].part}", leads[1].stage, extra=True)]


def extra_tags(build: Build) -> tuple[Spot, ...]:
    """Every soldering tag that the build needs beside the tags of its parts, in the order of the stages."""
    place = place_of_stage(build)
    nodes = dict.fromkeys(end.node for end in ends(build))
    found = [spot for node in nodes for spot in spots(build, node) if spot.extra]
    return tuple(sorted(found, key=lambda spot: place.get(spot.stage, 0)))
