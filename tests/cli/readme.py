"""The parts of README.md that are made from the program: `python -m tests.cli.readme` writes them anew."""

from __future__ import annotations

import re
from pathlib import Path

from benchtui.buildfile.fields import field_reference
from benchtui.buildfile.notes import Notes
from benchtui.diagnosis.kinds import kinds

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
EXAMPLE = ROOT / "tests" / "buildfile" / "example.toml"


def text() -> str:
    return README.read_text("utf-8")


def made() -> dict[str, str]:
    """What stands between the marks of each made part."""
    example = f"```toml\n{EXAMPLE.read_text('utf-8')}```\n"
    return {"example": example, "fields": field_reference(), "notes": field_reference(Notes), "kinds": _kinds()}


def _kinds() -> str:
    """The published list of faults as a table."""
    rows = "".join(f"| `{kind.id}` | {kind.says.format(part='the part', pin='named')} |\n" for kind in kinds().values())
    return f"\n| `fault` | what it means |\n|---|---|\n{rows}\n"


def part(name: str) -> str:
    """What README.md has there now."""
    return re.search(_pattern(name), text(), re.DOTALL)[2]  # type: ignore[index]


def renewed(readme: str) -> str:
    for name, new in made().items():
        readme = re.sub(_pattern(name), lambda found, new=new: found[1] + new + found[3], readme, flags=re.DOTALL)
    return readme


def _pattern(name: str) -> str:
    return rf"(<!-- {name}: [^\n]*-->\n)(.*?)(<!-- end of {name} -->\n)"


if __name__ == "__main__":
    README.write_text(renewed(text()), "utf-8")
