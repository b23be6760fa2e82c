"""A build's metalwork laid out, with what rules ask of it: plates, where they stand, and what each thing is for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from benchtui.buildfile.models import Build
from benchtui.metalwork.layout import Mounted, Plate, plates
from benchtui.metalwork.roles import Roles, roles
from benchtui.metalwork.solids import Body, behind, front
from benchtui.metalwork.space import Frame, Vector, frames


@dataclass(frozen=True)
class Workshop:
    """The plates of a build, in groups that hang together in space, and the roles of its parts."""

    build: Build
    plates: tuple[Plate, ...]
    groups: tuple[dict[str, Frame], ...]
    roles: Roles

    def plate(self, name: str) -> Plate:
        """The plate called `name`."""
        return self._by_name[name]

    def mounted(self) -> Iterator[tuple[Plate, Mounted]]:
        """Everything that is mounted, with its plate."""
        for plate in self.plates:
            for each in plate.mounted:
                yield plate, each

    def together(self, *names: str) -> bool:
        """Whether panels hang together, so that their places in space are known."""
        return any(all(name in group for name in names) for group in self.groups)

    def place(self, plate: Plate, mounted: Mounted) -> Vector:
        """Where something is mounted, on the outside of its panel, in the space of the panel's group."""
        return self.frame(plate).point(mounted.x_mm, mounted.y_mm)

    def frame(self, plate: Plate) -> Frame:
        """Where a plate stands in the space of its group."""
        return next(group[plate.name] for group in self.groups if plate.name in group)

    def fronts(self, group: dict[str, Frame]) -> list[Body]:
        """Bodies in front of the plates of a group."""
        return [body for name, frame in group.items() for body in front(self.plate(name), frame)]

    def behinds(self, group: dict[str, Frame]) -> list[Body]:
        """Bodies and nuts behind the plates of a group."""
        return [body for name, frame in group.items() for body in behind(self.plate(name), frame)]

    def bodies(self, group: dict[str, Frame]) -> list[Body]:
        """Bodies on both sides of the plates of a group, without nuts."""
        return self.fronts(group) + [body for body in self.behinds(group) if not body.nut]

    @cached_property
    def _by_name(self) -> dict[str, Plate]:
        return {plate.name: plate for plate in self.plates}


def workshop(build: Build) -> Workshop:
    """The metalwork of a build."""
    found = plates(build)
    return Workshop(build, found, frames(found), roles(build))
