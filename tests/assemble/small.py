"""Small builds out of the tables that a test is about, with everything else of them left out."""

from __future__ import annotations

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State
from benchtui.buildfile.inventory import TABLES
from benchtui.buildfile.models import Build, MainsTransformer
from benchtui.circuit.elements import Circuit
from tests.reference.amplifiers import build


def small(*, windings: dict[str, dict[str, object]], primary_ohm: str = "6R", **tables: dict[str, object]) -> Build:
    """A build on one 230 V mains transformer of the given windings; `tables` hold its other parts."""
    made = {key: {"stage": "mains", **winding} for key, winding in windings.items()}
    core = MainsTransformer(primary={"volts": "230 V", "resistance": primary_ohm}, windings=made)
    emptied = {table: {} for table in (*TABLES, "model", "limits", "adjust")}
    parts = {
        table: {key: _model(table)(**{"stage": "mains", **part}) for key, part in entries.items()}
        for table, entries in tables.items()
    }
    return build("a").build.model_copy(update={**emptied, "transformer": {"T1": core}, **parts})


def whole(made: Build) -> Circuit:
    """The circuit of all its parts, hot, on 230 V."""
    fitted = {key for table in TABLES for key in getattr(made, table)}
    fitted |= {key for core in made.transformer.values() for key in core.windings}
    return assemble(made, State(frozenset(fitted), 230.0))


def _model(table: str) -> type:
    return Build.model_fields[table].annotation.__args__[1]
