"""Notes as a builder writes them, from a made-up transformer and a noisy meter."""

from __future__ import annotations

from math import inf
from random import Random

from tests.identify.made_up import PLAIN, Coil, Hand, Made, every_pair, noted

HEAD = """format = 1
[meter]
name = "made-up meter"
input = "10M"
counts = 6000
dc = "0.5 % + 3"
ac = "1 % + 3"
ohms = "0.8 % + 3"
lead_ohm = "0.2 ohm"
true_rms = true
ac_lowest = "40 Hz"
ac_blocks = "1000 V"
largest = "1000 V"
[mains]
volts = "230 V"
frequency = "50 Hz"
"""


def ohms(value: float) -> str:
    return '"OL"' if value == inf else f'"{value:.1f} ohm"'


def plain(seed: int, *, stage: int) -> str:
    """Notes on the plain transformer after so many steps: 1 ohms, 2 low volts, 3 primary and core, 4 mains and all."""
    hand = Hand(PLAIN, Random(seed))
    lines = ["[transformer.T1]", 'found = "a scrapped receiver"', 'when = "2026-11-28"', 'label = "none"']
    lines.append(f"leads = {list(PLAIN.leads)}")
    if stage >= 3:
        lines += [
            'primary = { ends = "1-4", volts = "230 V" }',
            'core = { tongue = "32 mm", stack = "40 mm" }',
            'nodes = { 1 = "pri_l", 4 = "pri_n", 2 = "ht_a", 5 = "ht_ct", 9 = "ht_b", 3 = "h6a", 8 = "h6b", '
            '6 = "fil_a", 7 = "res" }',
            'names = { 2-5 = "W_HT1", 5-9 = "W_HT2", 3-8 = "W_H6", 6-7 = "W_H5" }',
            'fine = { 3-8 = { amps = "1 A", volts = "0.110 V" }, 6-7 = { amps = "1 A", volts = "90.1 mV" } }',
        ]
    if stage >= 4:
        lines += [
            'insulation = { test = "500 V", reads = { 1-rest = "400M", 2-rest = "OL" } }',
            'warm = { cold = "121.2 ohm", hot = "127.0 ohm", cold_c = "20 degC", ambient = "21 degC" }',
            "[transformer.T1.mains]", 'lamp = "dark"', 'amps = "45 mA"', f'applied = "{hand.volts(231.0):.1f} V"',
            f'reads = {{ 2-9 = "{hand.volts(536 * 231 / 230):.1f} V", 3-8 = "{hand.volts(6.75 * 231 / 230):.3f} V" }}',
        ]  # fmt: skip
    lines.append("[transformer.T1.ohms]")
    lines += [f"{a}-{b} = {ohms(value)}" for (a, b), value in noted(hand).items()]
    for into in (("2", "9"), ("1", "4")) if stage >= 2 else ():
        turns = abs(PLAIN.turns(*into))
        across = [each for each in every_pair(PLAIN) if each != into]
        reads = {each: hand.volts(abs(PLAIN.turns(*each)) / turns * 6.0) for each in across}
        lines += ["[[transformer.T1.volts]]", f'into = "{"-".join(into)}"', f'supply = "{hand.volts(6.1):.3f} V"']
        lines.append(f'applied = "{hand.volts(6.03):.3f} V"')
        read = ", ".join(f'{a}-{b} = "{volts:.4f} V"' for (a, b), volts in reads.items())
        lines.append(f"reads = {{ {read} }}")
    return HEAD + "\n".join(lines) + "\n"


#: 8 kohm anode to anode into 8 ohm.
OUTPUT = Made((Coil(("1", "2", "3"), (2500.0, 2500.0), (140.0, 155.0)), Coil(("4", "5"), (158.1,), (0.45,))))


def output_transformer(seed: int) -> str:
    """Whole notes on an output transformer."""
    hand = Hand(OUTPUT, Random(seed))
    lines = ["[output_transformer.T2]", 'label = "8k"', 'leads = ["1", "2", "3", "4", "5"]', 'loads = ["8 ohm"]']
    lines += [
        'secondary = "4-5"', 'sheets = "turn about"', 'fine = { 4-5 = { amps = "1 A", volts = "0.45 V" } }',
        'nodes = { 1 = "v2_a", 2 = "ht", 3 = "v3_a", 4 = "spk", 5 = "spk_cold" }',
        'inductance = { resistor = "47k", across_resistor = "9.0 V", across_winding = "3.6 V" }',
        "[output_transformer.T2.ohms]", *(f"{a}-{b} = {ohms(value)}" for (a, b), value in noted(hand).items()),
    ]  # fmt: skip
    for into, others in (("1-3", ("1-2", "2-3", "4-5")), ("2-3", ("1-3", "4-5"))):
        volts = 11.8 / abs(OUTPUT.turns(*into.split("-")))
        reads = {each: hand.volts(abs(OUTPUT.turns(*each.split("-"))) * volts) for each in others}
        read = ", ".join(f'{each} = "{value:.4f} V"' for each, value in reads.items())
        lines += ["[[output_transformer.T2.volts]]", f'into = "{into}"', f'applied = "{hand.volts(11.8):.3f} V"']
        lines.append(f"reads = {{ {read} }}")
    return HEAD + "\n".join(lines) + "\n"
