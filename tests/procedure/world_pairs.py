"""What gets through, as listed in gets_through.toml: for the tests, and as the table in DEVELOPERS.md.

`python -m tests.procedure.world_pairs` prints the table.
"""

from __future__ import annotations

import tomllib
from itertools import product
from pathlib import Path

from tests.procedure.world import Bench

ROWS = tomllib.loads((Path(__file__).parent / "gets_through.toml").read_text("utf-8"))["row"]

#: What may stand on the bench. The clip is on the first reservoir alone; "group": both hang on one path.
BENCHES = {
    "quick": Bench(),
    "slow": Bench(bleeders=("slow",)),
    "none": Bench(bleeders=("none",)),
    "bias": Bench((300, 60), ("quick", "quick")),
    "second": Bench((300, 300), ("quick", "quick")),
    "group": Bench((300, 300), ("quick", "quick"), joined=True),
    "never": Bench(never=True),
}


def listed(name: str, most: int) -> dict[frozenset[str], str]:
    """What up to `most` faults bring hands to on the bench of that name."""
    found: dict[frozenset[str], str] = {}
    for row in ROWS:
        if name in row["benches"]:
            ways = product(row["first"], row["second"]) if "second" in row else ((one,) for one in row["first"])
            found |= {frozenset(faults): row["meets"] for faults in ways if len(faults) <= most}
    return found


def table() -> str:
    """The list as a table in Markdown."""
    lines = ["| one of | with one of | on | hands meet | why |", "|---|---|---|---|---|"]
    for row in ROWS:
        on = "all" if set(row["benches"]) == set(BENCHES) else ", ".join(row["benches"])
        second = "; ".join(row.get("second", ("alone",)))
        lines.append(f"| {'; '.join(row['first'])} | {second} | {on} | {row['meets']} | {row['why']} |")
    return "\n".join(lines)


if __name__ == "__main__":
    print(table())
