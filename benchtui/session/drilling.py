"""The page of the present hole: what is done there, and its panel drawn."""

from __future__ import annotations

from dataclasses import dataclass

from benchtui.metalwork.drawn import drawn
from benchtui.metalwork.layout import Plate
from benchtui.metalwork.schedule import cautions, remarks
from benchtui.session.bench import Bench
from benchtui.session.holelist import Work, hole_list
from benchtui.session.tables import table


def with_one_tool(bench: Bench) -> tuple[str, ...]:
    """The steps of the hole schedule that are done in one go with the present one."""
    tool = _hole(bench).tool
    return tuple(work.id for work in hole_list(bench.build) if work.id and work.tool == tool)


def _hole(bench: Bench) -> Work:
    return next(work for work in hole_list(bench.build) if work.id == bench.ask.subject)


def hole_fields(bench: Bench) -> dict[str, str]:
    """What the page of the present hole shows."""
    words, work = table("words")["holes"], _hole(bench)
    step, tools = work.step, with_one_tool(bench)
    size = f"{step.diameter_mm:.4g} mm" if step.diameter_mm else words["cut_out"].format(
        width=f"{(step.size_mm or (0, 0))[0]:.4g}", height=f"{(step.size_mm or (0, 0))[1]:.4g}"
    )  # fmt: skip
    return {
        "work": work.says, "panel": work.plate.panel.name, "hole": step.hole, "what": step.what, "size": size,
        "x": f"{step.x_mm:.1f}", "y": f"{step.y_mm:.1f}", "note": f"{step.note}." if step.note else "",
        "turn": words["turned"].format(degrees=f"{step.turn_deg:g}") if step.turn_deg else "",
        "speed": words["speed"].format(turns=step.turns_per_min) if step.turns_per_min else "",
        "here": str(tools.index(work.id) + 1), "tools": str(len(tools)),
        "care": " ".join(cautions()), "about": " ".join(remarks(work.plate)),
    }  # fmt: skip


@dataclass(frozen=True, eq=False)
class PanelDrawn:
    """A panel with its present opening, drawn to any size."""

    plate: Plate
    present: str

    def __eq__(self, other: object) -> bool:
        """The same picture: a plate is compared by identity, since a build never changes."""
        return isinstance(other, PanelDrawn) and (self.plate is other.plate) and self.present == other.present

    __hash__ = object.__hash__

    def lines(self, columns: int, rows: int, *, plain: bool) -> list[list[tuple[str, str]]]:
        """At most so many rows of (text, role), see metalwork/drawn.py."""
        return [list(row) for row in drawn(self.plate, self.present, columns, rows, plain=plain)]


def picture(bench: Bench) -> PanelDrawn | None:
    """The panel that is worked on, while a hole of it is asked for."""
    if bench.ask.kind != "hole":
        return None
    work = _hole(bench)
    return PanelDrawn(work.plate, work.step.hole)
