"""Wires from spot to spot: at each node a tree, grown in the order of the stages, so that every stage is whole."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from benchtui.buildfile.models import Build
from benchtui.wiring.ends import CHASSIS, HEATERS, End, ends, place_of_stage
from benchtui.wiring.spots import BOLT, STAR, Spot, spots


@dataclass(frozen=True)
class Join:
    """One wire at `node` from `start` to `finish`, as said at the bench; or a `lead` of a part.

    `keys` name both ends by references alone; `beyond` are the ends that hang on the far side; `link` is the build
    file's own name for it.
    """

    keys: tuple[str, str]
    node: str
    stage: str
    start: str
    finish: str
    homes: tuple[str, str]
    lead: bool = False
    link: str = ""
    beyond: tuple[End, ...] = ()

    @property
    def id(self) -> str:
        """The same as long as its ends are, whatever they are called: what a record knows it by."""
        return f"wire {self.keys[0]} to {self.keys[1]}"


def joins(build: Build) -> Iterator[Join]:
    """Every wire of the build, node by node."""
    links = tuple(_links(build))
    nodes = dict.fromkeys(end.node for end in ends(build))
    for node in nodes:
        yield from _to_star(build, links) if node == CHASSIS else _at(build, node)
    yield from links


def _at(build: Build, node: str) -> Iterator[Join]:
    known = spots(build, node)
    if not known:
        return
    place = place_of_stage(build)
    leads = [end for end in ends(build) if end.node == node and end.kind == "lead"]
    for end in leads:
        yield _lead(end, _nearest(end, known), place)
    for number, spot in enumerate(known[1:], 1):
        yield _between(_before(build, known[:number], rail=bool(leads)), spot)


def _before(build: Build, known: tuple[Spot, ...], *, rail: bool) -> Spot:
    """The spot that the next one is wired from.

    Heaters go from socket to socket. A `rail` begins where it is made, at a winding or choke; any other node runs from
    a valve, since what hangs on its grid or anode is to be short.
    """
    if known[0].tag and known[0].tag.role in HEATERS:
        return known[-1]
    return known[0] if rail else next((spot for spot in known if spot.home in build.valve), known[0])


def _nearest(end: End, known: tuple[Spot, ...]) -> Spot:
    """The spot beside the lead's own part, else where the node begins."""
    return next((spot for spot in known if spot.home == end.part), known[0])


def _between(start: Spot, finish: Spot) -> Join:
    keys, homes = (start.key, finish.key), (start.home, finish.home)
    return Join(keys, finish.node, finish.stage, start.says, finish.says, homes, beyond=_soldered(finish))


def _lead(end: End, spot: Spot, place: Mapping[str, int]) -> Join:
    stage = max(end.stage, spot.stage, key=lambda id: place.get(id, 0))
    homes = (end.part, spot.home)
    return Join((end.key, spot.key), end.node, stage, end.says, spot.says, homes, lead=True, beyond=(end,))


def _to_star(build: Build, links: tuple[Join, ...]) -> Iterator[Join]:
    """A wire of its own from every earth tag to the star point, and one from there to the chassis, with the first."""
    known = spots(build, CHASSIS)
    returns = [
        Join((spot.key, STAR), CHASSIS, spot.stage, spot.says, STAR, (spot.home, STAR), beyond=_soldered(spot))
        for spot in known
    ]
    returns += [
        Join((end.key, STAR), CHASSIS, end.stage, end.says, STAR, (end.part, STAR), lead=True, beyond=(end,))
        for end in ends(build)
        if end.node == CHASSIS and end.kind == "lead"
    ]
    there = [*returns, *(link for link in links if STAR in link.homes)]
    if there:
        place = place_of_stage(build)
        first = min((each.stage for each in there), key=lambda id: place.get(id, 0))
        yield Join((STAR, "chassis"), CHASSIS, first, STAR, "chassis, at one place", (STAR, "chassis"))
    yield from returns


def _soldered(spot: Spot) -> tuple[End, ...]:
    """The ends at a spot: its tag, and the loose ones that it takes."""
    return tuple(end for end in (spot.tag, *spot.takes) if end is not None)


def _links(build: Build) -> Iterator[Join]:
    """Wires that the build file names itself, such as the earth bond and the feedback lead."""
    for id, link in build.link.items():
        first, second = link.nodes
        start_key, start, start_home = _reached(build, first, second)
        finish_key, finish, finish_home = _reached(build, second, first)
        node = next((node for node in link.nodes if node != CHASSIS), CHASSIS)
        keys, homes = (start_key, finish_key), (start_home, finish_home)
        yield Join(keys, node, link.stage, start, finish, homes, link=id)


def _reached(build: Build, node: str, other: str) -> tuple[str, str, str]:
    """Where a link's end is soldered, by key, as said, and its home: protective earth on a bolt of its own, all else of
    the chassis at the star.
    """
    if node == CHASSIS:
        end = BOLT if other == build.mains.earth else STAR
        return end, end, end
    known = spots(build, node)
    if known:
        return known[0].key, known[0].says, known[0].home
    lead = next((end for end in ends(build) if end.node == node), None)
    return (lead.key, lead.says, lead.part) if lead else (node, f"node {node}", node)
