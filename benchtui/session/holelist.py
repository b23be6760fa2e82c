"""The hole schedule of a build as steps of its metalwork."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from benchtui.buildfile.models import Build
from benchtui.metalwork.layout import Plate, plates
from benchtui.metalwork.schedule import Step, heading, schedule


@dataclass(frozen=True, eq=False)
class Work:
    """One step of the schedule at a plate: at one opening, or at all of the plate."""

    plate: Plate
    step: Step

    @property
    def says(self) -> str:
        """What is done, in a few words for one opening, in full for a whole plate."""
        said = heading(self.step, self.plate.panel.material)
        if not self.step.hole:
            return said
        return "mark" if self.step.kind == "mark" else said.partition(",")[0]

    @property
    def id(self) -> str:
        """Of the step at an opening: another one once that has moved or changed its size. "" for a whole plate."""
        step = self.step
        if not step.hole:
            return ""
        done = step.kind.replace("_", " ") + (f" {step.tool_mm:g} mm" if step.tool_mm else "")
        return f"hole {self.plate.name}: {done}, {step.hole} at {step.x_mm:.1f}, {step.y_mm:.1f}{_line(step)}"

    @property
    def text(self) -> str:
        """As the list has it."""
        return f"{self.says}: {self.step.hole}" if self.step.hole else f"{self.plate.panel.name}: {self.says}"

    @property
    def tool(self) -> tuple[str, str, float | None]:
        """All steps that share it are done in one go."""
        return self.plate.name, self.step.kind, self.step.tool_mm


def _line(step: Step) -> str:
    """The line that is worked to beside the place: all of a cut-out, of a round hole what no tool's size tells."""
    if step.size_mm is not None:
        width, height = step.size_mm
        return f", {width:.1f} x {height:.1f}, turned {step.turn_deg:g}"
    return "" if step.diameter_mm is None or step.tool_mm or step.kind == "mark" else f", {step.diameter_mm:.1f}"


@lru_cache(maxsize=4)
def hole_list(build: Build) -> tuple[Work, ...]:
    """Every step at the panels of the build, panel by panel, in the order of work."""
    return tuple(Work(plate, step) for plate in plates(build) for step in schedule(plate))
