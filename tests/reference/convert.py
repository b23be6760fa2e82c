"""Turns the JSON description of a reference amplifier into the text of a build file.

    python tests/reference/convert.py IN.json OUT.toml

The reference amplifiers are descriptions made for a general circuit simulator: parts between nodes, model
constants, test points. Ids of parts, points, nodes and stages are kept letter by letter. Exit codes: 0 fine;
1 written, but something in the input was left out that this converter does not know (a sentence for each on
stderr, and as comments at the head of the file); 2 refused, nothing written.

What maps to what (the reference's word, then the build file's; `mapping.py` and `valves.py` hold it as data):

    id, title                 id, name
    mains_v, mains_hz         [mains] volts, frequency
    mains_fuse_a, ..._type    a sentence in notes: the reference states the mains fuse and does not model it
    primary_resistance        in the transformer's label; see windings
    primary_taps_v            [transformer] primary.taps
    parts, by kind            one entry under the table below; nodes, stage and role as they are
      resistor                [resistor] value, tolerance, watts, volts
      resistor, cold_value    [thermistor] value (hot), cold, tolerance; rating_w omitted: no such field
      link                    [link] value
      load                    [load] value, tolerance, watts
      fuse                    [fuse] value, tolerance, amps, speed (T where nothing is said), standard
                              always IEC 60127 (the reference names none)
      capacitor               [capacitor] value, tolerance, volts, make (from `type`; without one:
                              electrolytic from 1 uF, else film)
      choke                   [choke] value, tolerance, resistance, amps
      winding                 [transformer.T.windings] emf (at rated_mains_v), tolerance, amps, resistance =
                              source_resistance; other_taps_emf in the transformer's label
      heater                  [heater] valve, volts, amps
      diode                   [diode] type = model = the name of its constants
      vacuum_diode, triode,   [valve], all sections of one `valve` in one entry: type = model = the name of
      pentode                 their constants, sections = part ids, pins = electrode names: the library's
                              where it knows the type, else anode, grid, screen, cathode, with _1, _2 in the
                              order of the sections where there are two. Sections that differ in stage or
                              constants, or can't be those of one valve, get an entry each under their own
                              id; their heater then names the first of them. Without constants
                              of its own a type is the library's. A `suppressor` with a pin of its
                              own is at the cathode, as in all the reference's models
      pot                     [pot] value, tolerance, position, watts
      output_transformer      [output_transformer] anodes, ht, secondary, impedance, load, resistance (of
                              the halves, or of the whole primary if single-ended), secondary_resistance,
                              inductance, leakage, capacitance, core_loss, tolerance. 5 nodes are push-pull
                              (anode, ht, anode, hot, cold), 4 single-ended (anode, ht, hot, cold)
    models                    [model]: triode -> triode_grid_ion, pentode -> pentode_shared_screen,
                              vacuum_diode -> vacuum_perveance, silicon -> silicon
    valve_ratings             [limits], confidence medium (the reference quotes data sheets from memory)
    rating_v, _a of a diode   [limits] of its type: inverse_v, mean_a
    transformers              which windings belong together; taps
    test_points               [point]: pos, neg -> red, black; dc_v, ac_v_rms, ripple_ac_rms -> dc, ac, ripple
    meter_ohm                 [meter] input; one meter for all points
    bias_adjust               [adjust], named after the pot, in the stages output and driver

Windings: the reference keeps the windings of a transformer apart, each behind its own source resistance
(winding + primary resistance x turns ratio squared), so the primary gets no resistance and the windings get
that figure.

Omitted on purpose: resistance_tolerance_pct and a heater's tolerance_pct (the spreads of windings and heaters
are guide values of the program), valve_type of a heater (its valve says it), push_pull (the nodes say it),
smoothed_nodes (a hint for the simulator), `stages` (parts name the stage that fits them; both are compared).

Fixed, because the reference has no word for it: the meter that its readings are displayed on (6000 counts,
0.8 % + 2 digits, true rms), what is on the bench, an appliance inlet. A capacitor without a rating gets one
that nothing reaches, and a sentence says so.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

if __name__ == "__main__":  # run as a script, outside any package
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.reference import mapping, toml_text, valves  # noqa: E402

Tables = dict[str, dict[str, Any]]


class ConversionError(ValueError):
    """The input can't become a build file; `sentences` say why, one for each fault."""

    def __init__(self, sentences: tuple[str, ...]) -> None:
        super().__init__("\n".join(sentences))
        self.sentences = sentences


@dataclass(frozen=True)
class Converted:
    """The text of a build file, and a sentence for everything in the input that it leaves out."""

    text: str
    left_out: tuple[str, ...]


def convert(reference: Mapping[str, Any]) -> Converted:
    """The build file for a reference amplifier (its own JSON object, or one with it under `amplifier`).

    Raises:
        ConversionError: with all faults at once.
    """
    amplifier = reference.get("amplifier", reference)
    notes = mapping.Notes()
    tables = _tables(amplifier, notes)
    if notes.faults:
        raise ConversionError(tuple(notes.faults))
    return Converted(_text(amplifier, tables, notes), tuple(notes.left_out))


def _tables(amplifier: Mapping[str, Any], notes: mapping.Notes) -> Tables:
    mapping.check_head(amplifier, notes)
    parts = amplifier.get("parts") or []
    tables = mapping.simple_parts(parts, notes)
    tables["output_transformer"] = mapping.output_transformers(amplifier, notes)
    tables["transformer"] = mapping.mains_transformers(amplifier, notes)
    tables["valve"], entry_of = valves.entries(parts, notes)
    tables["heater"] = valves.heaters(parts, entry_of, notes)
    tables["model"] = valves.models(amplifier.get("models") or {}, notes)
    valves.own_constants(tables, notes)
    tables["stage"] = mapping.own_stages(amplifier)
    tables["limits"] = valves.limits(amplifier, notes)
    tables["point"] = mapping.points(amplifier, notes)
    tables["adjust"] = mapping.adjustments(amplifier, notes)
    mapping.compare_stages(amplifier, notes)
    return tables


def _text(amplifier: Mapping[str, Any], tables: Tables, notes: mapping.Notes) -> str:
    lines = [
        "# Made from the JSON description of a reference amplifier by tests/reference/convert.py.",
        "# Windings stand behind their own source resistance, as in the reference; the primary has none.",
        *(f"# Left out: {sentence}" for sentence in notes.left_out),
        *toml_text.lines_of(mapping.head(amplifier)),
    ]
    for name, entries in mapping.surroundings(amplifier, notes).items():
        lines += toml_text.table(name, entries)
    for name, transformer in tables["transformer"].items():
        header = f"transformer.{toml_text.key(name)}"
        lines += toml_text.table(header, {k: v for k, v in transformer.items() if k != "windings"})
        lines += toml_text.table(f"{header}.windings", transformer["windings"])
    for name in mapping.TABLES:
        lines += toml_text.table(name, tables.get(name, {}))
    return "\n".join(lines) + "\n"


def main(arguments: list[str]) -> int:
    """Converts one file; returns the exit code."""
    if len(arguments) != 2:
        print("usage: convert.py IN.json OUT.toml", file=sys.stderr)
        return 2
    try:
        converted = convert(json.loads(Path(arguments[0]).read_text(encoding="utf-8")))
        Path(arguments[1]).write_text(converted.text, encoding="utf-8")
    except (OSError, ValueError, AttributeError) as error:
        print(f"{arguments[0]}: {error}", file=sys.stderr)
        return 2
    for sentence in converted.left_out:
        print(f"{arguments[0]}: left out: {sentence}", file=sys.stderr)
    return 1 if converted.left_out else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
