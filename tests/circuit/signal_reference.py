"""What ngspice says of the reference amplifiers under a sine, with the whole mains' side: signal_ngspice.json.

    python -m tests.circuit.signal_reference

writes it anew; a run takes half a minute, and there are sixteen. Each begins at our mean volts and goes on for a second
and a half, in which what is off by a volt comes to rest.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from benchtui.circuit.driven import Drive
from tests.circuit import playing, signal_deck
from tests.circuit.playing import SOURCE

FILE = Path(__file__).with_name("signal_ngspice.json")

CLIPS_AT = {("a", False): 0.273, ("a", True): 0.392, ("c", False): 0.0167, ("c", True): 0.0452}
"""Volts rms of EMF near those at which each begins to clip, with feedback open and closed."""

SHARES = (0.68, 0.97, 1.0, 1.03)
"""Of these: half power, and around clipping."""

RUN_S = 1.5


def derived(name: str, closed: bool, share: float) -> dict[str, Any]:
    """One run: EMF, output in volts rms, THD and harmonics 2 to 5 as shares, mean HT."""
    emf_v = share * CLIPS_AT[name, closed]
    operating = playing.solved(name, closed=closed)
    begin = signal_deck.node_volts(operating, Drive(operating, SOURCE).at(emf_v).mean_v)
    found = signal_deck.sine(operating, SOURCE, emf_v, ["spk", "bp2"], begin=begin, run_s=RUN_S, supply="whole")
    size = np.abs(found.phasors("spk"))
    figures = {"emf_v": emf_v, "output_v": found.rms("spk"), "thd": found.thd("spk"), "ht_v": found.mean("bp2")}
    shares = [float(f"{share:.4g}") for share in size[1:5] / size[0]]
    return {key: float(f"{value:.6g}") for key, value in figures.items()} | {"harmonics": shares}


def stored(name: str, closed: bool) -> list[dict[str, Any]]:
    """The runs of one amplifier, one for each of SHARES."""
    return json.loads(FILE.read_text("utf-8"))["runs"][_key(name, closed)]


def _key(name: str, closed: bool) -> str:
    return f"{name} {'closed' if closed else 'open'}"


def main() -> None:
    """Write the file, from ngspice alone but for where each run begins."""
    runs = {_key(*case): [derived(*case, share) for share in SHARES] for case in CLIPS_AT}
    lines = [f' "{key}": [\n  ' + ",\n  ".join(json.dumps(run) for run in rows) + "]" for key, rows in runs.items()]
    source = (
        "ngspice 39 on the two reference amplifiers with a sine of 1 kHz, by signal_reference.py; a model, no real one."
    )
    FILE.write_text(f'{{"source": "{source}", "runs": {{\n' + ",\n".join(lines) + "\n}}\n", "utf-8")


if __name__ == "__main__":
    main()
