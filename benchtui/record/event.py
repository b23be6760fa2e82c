"""One event, and the line that holds it: compact ASCII JSON, chained by SHA-256.

The hash covers every byte of the line before `,"hash":`, and with `prev` the whole record up to there.
Being ASCII, a line shows no control or direction character to whoever prints it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

GENESIS = "0" * 64  # stands for the hash before the first event
SEAL_BYTES = len(f',"hash":"{GENESIS}"}}\n')


@dataclass(frozen=True, slots=True)
class Event:
    """A durable event: its number from 1, what it is, when (wall and steady seconds, boot), its links."""

    n: int
    kind: str
    data: Mapping[str, Any]
    t_wall: float
    t_steady: float
    boot: str
    prev: str
    hash: str


def encode(
    n: int, kind: str, data: Mapping[str, Any], *, t_wall: float, t_steady: float, boot: str, prev: str
) -> bytes:
    """The sealed line of an event, newline included.

    Raises ValueError (a number that is not finite, a loop) or TypeError (a value that JSON has no form for).
    """
    fields = {
        "n": n, "t_wall": t_wall, "t_steady": t_steady, "boot": boot,
        "kind": kind, "data": data, "prev": prev,
    }  # fmt: skip
    body = json.dumps(fields, allow_nan=False, separators=(",", ":")).encode("ascii")
    return body[:-1] + _seal(sha256(body).hexdigest())


def decode(line: bytes, n: int, prev: str) -> Event | None:
    """The event of a line that is sound as number `n` after the hash `prev`, else None."""
    body = line[:-SEAL_BYTES] + b"}"
    hash_ = sha256(body).hexdigest()
    if line[-SEAL_BYTES:] != _seal(hash_):
        return None
    try:
        fields = json.loads(body)
    except (ValueError, RecursionError):
        return None
    match fields:
        case {
            "n": int(number), "kind": str(kind), "data": dict(data), "boot": str(boot), "prev": str(before),
            "t_wall": int() | float() as t_wall, "t_steady": int() | float() as t_steady,
        } if number == n and before == prev:  # fmt: skip
            return Event(n, kind, data, t_wall, t_steady, boot, prev, hash_)
    return None


def _seal(hash_: str) -> bytes:
    return f',"hash":"{hash_}"}}\n'.encode("ascii")
