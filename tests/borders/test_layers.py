"""Who may import whom: read from the source of every module, imports inside functions included."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2] / "benchtui"


@dataclass(frozen=True)
class Layer:
    """`rank`, the packages of ours and the packages from outside that a package may import."""

    rank: int
    ours: frozenset[str] = field(default_factory=frozenset)
    outside: frozenset[str] = field(default_factory=frozenset)


def layer(rank: int, ours: str = "", outside: str = "") -> Layer:
    return Layer(rank, frozenset(ours.split()), frozenset(outside.split()))


_BELOW_SESSION = "quantities verdicts buildfile parts metalwork plots circuit assemble procedure record forecast"

#: The table of DEVELOPERS.md, which copies it.
LAYERS = {
    "quantities": layer(0),
    "record": layer(0),
    "verdicts": layer(1, "quantities"),
    "buildfile": layer(1, "quantities", "pydantic pydantic_core pint"),
    "parts": layer(1, "quantities", "pydantic"),
    "circuit": layer(1, "quantities", "numpy"),
    "plots": layer(1, "quantities", "reportlab"),
    "identify": layer(2, "quantities parts"),
    "sound": layer(1, "quantities", "numpy soundfile sounddevice"),
    "assemble": layer(2, "quantities buildfile parts circuit", "numpy"),
    "metalwork": layer(2, "quantities buildfile parts", "reportlab drawsvg ezdxf"),
    "procedure": layer(2, "quantities verdicts"),
    "forecast": layer(3, "quantities verdicts buildfile parts circuit assemble", "numpy"),
    "diagnosis": layer(4, "quantities verdicts buildfile parts circuit assemble forecast", "numpy"),
    "wiring": layer(4, "quantities buildfile parts metalwork assemble forecast"),
    "rehearsal": layer(5, "quantities buildfile parts circuit assemble forecast diagnosis", "numpy"),
    "session": layer(6, f"{_BELOW_SESSION} sound diagnosis wiring rehearsal".replace(" circuit", "")),
    "papers": layer(7, "quantities buildfile assemble plots verdicts procedure record forecast session", "reportlab"),
    "tui": layer(7, "quantities verdicts procedure session", "textual rich"),
    "cli": layer(8, f"{_BELOW_SESSION} identify sound diagnosis wiring rehearsal session papers tui"),
}


@dataclass(frozen=True)
class Import:
    line: int
    name: str

    @property
    def package(self) -> str:
        """Of ours: the name below `benchtui`; from outside: the topmost name."""
        parts = self.name.split(".")
        return parts[1] if self.ours and len(parts) > 1 else parts[0]

    @property
    def ours(self) -> bool:
        return self.name.split(".")[0] == "benchtui"


def imports(source: str) -> Iterator[Import]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (Import(node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = "benchtui.?" if node.level else (node.module or "")
            if base == "benchtui":
                yield from (Import(node.lineno, f"benchtui.{alias.name}") for alias in node.names)
            else:
                yield Import(node.lineno, base)


def trespasses(package: str, source: str) -> list[str]:
    """What a module of `package` imports against the table."""
    allowed = LAYERS[package]
    found = []
    for item in imports(source):
        if item.ours:
            fine = item.package == package or (
                item.package in allowed.ours and LAYERS[item.package].rank < allowed.rank
            )
        else:
            fine = item.package in sys.stdlib_module_names or item.package in allowed.outside
        if not fine:
            found.append(f"line {item.line}: {package} may not import {item.name}")
    return found


def modules() -> list[Path]:
    return sorted(ROOT.glob("*/**/*.py"))


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_module_imports_only_what_its_layer_may(path: Path) -> None:
    package = path.relative_to(ROOT).parts[0]
    assert package in LAYERS, f"{package} has no place in the table of layers"
    assert trespasses(package, path.read_text("utf-8")) == []


def test_every_package_of_the_table_is_there() -> None:
    assert {path.parent.name for path in ROOT.glob("*/__init__.py")} == set(LAYERS)


def test_table_lets_imports_point_downwards_only() -> None:
    upwards = [
        (name, other)
        for name, entry in LAYERS.items()
        for other in entry.ours
        if LAYERS[other].rank >= entry.rank
    ]
    assert upwards == []


@pytest.mark.parametrize(
    ("package", "source"),
    [
        ("circuit", "from benchtui.buildfile.models import Build"),
        ("circuit", "def late():\n    import benchtui.buildfile"),
        ("procedure", "from benchtui import record"),
        ("session", "import textual.app"),
        ("buildfile", "from ..circuit import elements"),
        ("record", "if TYPE_CHECKING:\n    from benchtui.quantities.units import Unit"),
        ("verdicts", "import numpy as np"),
    ],
)
def test_a_trespass_is_seen(package: str, source: str) -> None:
    assert trespasses(package, source) != []


def test_what_the_table_allows_is_let_through() -> None:
    source = "import json\nimport numpy.linalg\nfrom benchtui.circuit.dc import solve"
    assert trespasses("forecast", source) == []
