"""A fuse by what is printed on its cap: as makers print it, and every other fuse told apart.

Markings: common practice of makers of fuses by IEC 60127, from memory.
"""

from __future__ import annotations

import pytest

from benchtui.buildfile.models import Fuse
from benchtui.session.fuse_cap import differs, marking, read_cap

FUSE = Fuse.model_validate(
    {"nodes": ["a", "b"], "stage": "cold", "amps": "630 mA", "speed": "T", "volts": "250 V", "standard": "IEC 60127",
     "value": "0.35 ohm"}
)  # fmt: skip


@pytest.mark.parametrize("printed", [
    "T630mAL250V", "T 630 mA L 250 V",
    "T630mA/250V", "t 0,63 A 250 V~", "T0.63A H 250V", "630mAT 250V", "0.63A T L250V",
    "250V T630mA", "250V 630mA T", "T630mAE 300VAC", "T 630 mA 500 V",
])  # fmt: skip
def test_the_right_fuse_passes_as_makers_print_it(printed: str) -> None:
    cap = read_cap(printed)
    assert cap is not None and differs(cap, FUSE) == ""


@pytest.mark.parametrize(("printed", "wrong"), [
    ("F630mAL250V", "speed"), ("TT630mA 250V", "speed"), ("M630mA 250V", "speed"), ("FF 630 mA 250 V", "speed"),
    ("630mA F 250V", "speed"), ("T6.3A 250V", "amps"), ("T63mA 250V", "amps"), ("T 800 mA 250 V", "amps"),
    ("T500mA 250V", "amps"), ("T 630 A 250 V", "amps"), ("T0,063A 250V", "amps"), ("T630mA 125V", "volts"),
    ("T630mA", "unread"),
])  # fmt: skip
def test_no_other_fuse_passes(printed: str, wrong: str) -> None:
    cap = read_cap(printed)
    assert cap is not None and differs(cap, FUSE) == wrong


@pytest.mark.parametrize("typed", [
    "", "ok", "630 mA 250 V", "T 250 V", "T 630", "T1630mA6 250V", "T630mA T800mA", "T630mA 250V 2A", "T 6 30 mA",
    "S T630mA", "T -630 mA", "T630mA 25000V", "TF630mA",
])  # fmt: skip
def test_what_has_not_speed_and_amperes_or_has_more_is_not_understood(typed: str) -> None:
    assert read_cap(typed) is None


def test_without_volts_in_the_file_none_are_asked() -> None:
    cap = read_cap("T630mA")
    bare = FUSE.model_copy(update={"volts": None})
    assert cap is not None and differs(cap, bare) == "" and marking(bare) == "T 630 mA"
    assert marking(FUSE) == "T 630 mA 250 V"
