"""The field reference: every field of every table is in it, with words for what it means."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args, get_origin, get_type_hints

import pytest
from pydantic import BaseModel

from benchtui.buildfile.channels import NODE_FIELDS, REFERENCE_FIELDS, TABLES
from benchtui.buildfile.fields import describe, field_reference, known_keys
from benchtui.buildfile.models import Build
from benchtui.buildfile.texts import identifier, node


def models(model: type[BaseModel] = Build) -> Iterator[type[BaseModel]]:
    yield model
    for field in model.model_fields.values():
        for inner in (field.annotation, *get_args(field.annotation)):
            if isinstance(inner, type) and issubclass(inner, BaseModel):
                yield from models(inner)


def test_every_field_has_a_line_with_its_meaning() -> None:
    text = field_reference()
    tables = {"transformer.NAME.primary", "transformer.NAME.windings.NAME", "output_transformer.NAME.screen_taps"}
    assert all(f"### [{table}]" in text for table in tables)
    for model in models():
        for name, field in model.model_fields.items():
            if not any(inner in list(models())[1:] for inner in (field.annotation, *get_args(field.annotation))):
                assert field.description, f"{model.__name__}.{name}"
                assert f"| `{name}` | " in text and field.description.replace("|", "\\|") in text


@pytest.mark.parametrize(
    ("line"),
    [
        "| `value` | ohms | **needed** | marked value, such as 4k7 |",
        '| `tolerance` | tolerance | ±5% | such as "5 %" |',
        "| `clip` | ohms | 2200 | resistor in the bleed clip lead, and in each link |",
        "| `poles` | whole number | 1 | poles that open together |",
    ],
)
def test_a_line_tells_unit_default_and_meaning(line: str) -> None:
    assert line in field_reference().splitlines()


def test_keys_are_known_at_every_depth() -> None:
    assert "windings" in known_keys(("transformer", "T1"))
    assert "emf" in known_keys(("transformer", "T1", "windings", "W1"))
    assert "volts" in known_keys(("transformer", "T1", "primary"))
    assert known_keys(("transformer",)) == []
    assert known_keys(("nonsense", "x")) == []
    assert "marked value" in describe(("resistor", "R1", "value"))


def _holding(model: type[BaseModel], validator: object) -> set[str]:
    """Fields of `model` whose values, not keys, are checked by `validator`."""
    hints = get_type_hints(model, include_extras=True)
    found = set()
    for name in model.model_fields:
        hint = get_args(hints[name])[1] if get_origin(hints[name]) is dict else hints[name]
        if f"function {validator.__name__} " in repr(hint):
            found.add(name)
    return found


def test_the_channel_rule_knows_all_fields_that_hold_nodes_and_references() -> None:
    """What may stand inside [each...]: the fields by name in channels.py against the models' own types."""
    nodes: set[str] = set()
    references: set[str] = set()
    for table in TABLES:
        entry = get_args(Build.model_fields[table].annotation)[1]
        for model in models(entry):
            nodes |= _holding(model, node)
            references |= _holding(model, identifier)
    assert nodes == NODE_FIELDS
    assert references | {"socket"} == REFERENCE_FIELDS | {"sections"}
