"""Many circuits of one structure as one circuit, side by side on the sample axis: what differs are values alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass

import numpy as np

from benchtui.circuit.elements import Circuit


def structure(circuit: Circuit) -> tuple:
    """All of a circuit but its values; circuits with the same one can be stacked."""
    return (circuit.mains_hz, *(_structure(element) for element in circuit.elements))


def stacked(circuits: Sequence[Circuit], samples: int) -> Circuit:
    """One circuit of `len(circuits)` times `samples` samples, those of the first circuit first.

    Every value is a float or of shape (samples,). Raises ValueError where the circuits differ in structure.
    """
    first = circuits[0]
    elements = list(zip(*(circuit.elements for circuit in circuits), strict=True))
    if any(_structure(a) != _structure(each[0]) for each in elements for a in each if a is not each[0]):
        raise ValueError("circuits of one structure are wanted")
    return Circuit(tuple(_stacked(each, samples) for each in elements), first.mains_hz)


def _structure(value: object) -> object:
    if is_dataclass(value) and not isinstance(value, type):
        return (type(value), *(_structure(getattr(value, field.name)) for field in fields(value)))
    if isinstance(value, Mapping):
        return tuple((key, _structure(each)) for key, each in value.items())
    if isinstance(value, tuple):
        return tuple(_structure(each) for each in value)
    return value if isinstance(value, str) or value is None else float


def _stacked(values: Sequence, samples: int):  # noqa: ANN202
    """Elements, parts of them or values of several circuits as one."""
    first, count = values[0], len(values)
    if isinstance(first, str) or first is None:
        return first
    if all(value is first for value in values):
        return _each(first, lambda value: np.tile(value, count))
    if is_dataclass(first):
        return type(first)(
            **{field.name: _stacked([getattr(v, field.name) for v in values], samples) for field in fields(first)}
        )
    if isinstance(first, Mapping):
        return {key: _stacked([value[key] for value in values], samples) for key in first}
    if isinstance(first, tuple):
        return tuple(_stacked(each, samples) for each in zip(*values, strict=True))
    if all(np.ndim(value) == 0 and value == first for value in values):
        return first
    return np.concatenate([np.broadcast_to(np.asarray(value, dtype=float), (samples,)) for value in values])


def picked(circuit: Circuit, which: np.ndarray) -> Circuit:
    """The circuit for some of its samples."""
    return Circuit(tuple(_each(element, lambda value: value[which]) for element in circuit.elements), circuit.mains_hz)


def _each(value, change: Callable[[np.ndarray], np.ndarray]):  # noqa: ANN001, ANN202
    """An element or a part of it with every array of samples changed."""
    if is_dataclass(value):
        return type(value)(**{field.name: _each(getattr(value, field.name), change) for field in fields(value)})
    if isinstance(value, Mapping):
        return {key: _each(each, change) for key, each in value.items()}
    if isinstance(value, tuple):
        return tuple(_each(each, change) for each in value)
    return change(value) if isinstance(value, np.ndarray) and value.ndim else value
