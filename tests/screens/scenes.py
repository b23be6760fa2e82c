"""Views as a session would give them, for looking at screens and for testing them. All values are made up."""

from __future__ import annotations

from dataclasses import replace
from math import exp
from pathlib import Path

from benchtui.buildfile.load import load
from benchtui.metalwork.layout import plates
from benchtui.session.drilling import PanelDrawn
from benchtui.session.view import (
    Banner,
    Course,
    Danger,
    ItemMark,
    Probes,
    Prompt,
    Scale,
    Socket,
    StageMark,
    View,
)

STAGES = (
    StageMark("cold", "cold checks", "passed", 14, 14),
    StageMark("mains", "first mains", "passed", 4, 4),
    StageMark("heaters", "heaters", "passed", 5, 5),
    StageMark("supply", "HT off load", "passed with warns", 4, 4),
    StageMark("output", "output valves, no signal", "now", 2, 9),
    StageMark("driver", "small valves, no signal", "open", 0, 8),
    StageMark("signal", "signal", "open", 0, 6),
    StageMark("signoff", "sign-off", "open", 0, 5),
)

SOCKET_6V6 = Socket(
    "V2", "6V6GT", "octal 8-pin (K8A)",
    (("1", "base shell"), ("2", "heater"), ("3", "anode"), ("4", "screen grid"), ("5", "control grid"),
     ("7", "heater"), ("8", "cathode, beam plates")), "8",
)  # fmt: skip

READING = Prompt(
    number=12,
    title="Cathode of V2",
    place="2 of 9",
    lines=("Read the volts across the cathode resistor R11.", "Probe from above, at the end of R11 next to V2."),
    entry="number",
    unit="V",
    hint="type what the meter shows",
    probes=Probes(
        "top of R11, the end at V2", "chassis, clipped before power", "DC volts, 60 V or more", "one hand only"
    ),
    scale=Scale(
        "V", "dc", 18.9, 17.4, 20.5, None, 24.1, "should read 18.9 V   healthy builds: 17.4 to 20.5   stop above 24.1"
    ),
    socket=SOCKET_6V6,
    items=(ItemMark("HT at C4", "done", "299 V"), ItemMark("cathode of V2", "now"), ItemMark("cathode of V3", "open"),
           ItemMark("anode of V2", "open"), ItemMark("anode of V3", "open"), ItemMark("screen of V2", "open"),
           ItemMark("screen of V3", "open"), ItemMark("heaters", "open"), ItemMark("ripple at C4", "open")),
)  # fmt: skip

READ = View(
    build="Push-pull 6V6GT, ten watts",
    stage="output valves, no signal",
    step="read",
    danger=Danger("LIVE", "danger", "since 14:32, HT read 299 V at 14:33"),
    prompt=READING,
    banner=Banner("pass", "299 V at C4", ("8.4 W of 12 W on the anode of V2, V2 and V3 within 4 %",)),
    stages=STAGES,
    why=("R11 is 270 ohm +-5 %, V2 draws 70 mA at 299 V.", "The valve's spread gives most of the window."),
    help=(
        "Clip the black lead to the chassis before power. Touch the point with the red probe, one hand in the pocket.",
    ),
    saved=128,
    loose=("feedback lead: off and insulated",),
    unmeasured=("no bond tester: Earth pin to chassis",),
    accepted=(),
    findings=(),
    caution="An aid and no authority: your meter, local codes and licensed practice go first.",
    forecast="ready",
)  # fmt: skip

GATE = replace(
    READ,
    step="gate",
    danger=Danger("ASSUME LIVE", "danger", "plug typed out at 14:51; reservoirs not yet read"),
    banner=Banner("info", "Round 1 has begun.", ()),
    prompt=Prompt(
        number=30,
        title="Reservoir C4",
        place="5 of 12",
        lines=("Read the volts on C4, round 1.", "Under 10 V it counts. At or over 10 V it is bled first."),
        entry="number",
        unit="V",
        hint="type what the meter shows",
        probes=Probes("C4 plus, tag 3", "chassis, clipped", "DC volts, 600 V", "one hand only"),
        items=(
            ItemMark("plug out, in sight", "done", "14:51"), ItemMark("meter proved", "done", "299 V fell to 4 V"),
            ItemMark("mains side dead", "done", "0.2 V AC"), ItemMark("round 1: C4", "now"),
            ItemMark("round 1: C7", "open"), ItemMark("round 1: C12 bias", "open"), ItemMark("wait 60 s", "open"),
            ItemMark("round 2: C4", "open"), ItemMark("round 2: C7", "open"), ItemMark("round 2: C12 bias", "open"),
            ItemMark("clip on", "open"), ItemMark("clip time", "open"), ItemMark("meter proved again", "open"),
        ),
    ),
)  # fmt: skip

WORDS = replace(
    GATE,
    danger=Danger("ASSUME LIVE", "danger", "resumed; nothing is known since the last start"),
    banner=None,
    prompt=replace(
        GATE.prompt, number=28, title="Pull the plug", place="1 of 12",
        lines=("Pull the mains plug out of the wall and lay it where you see it.", "Switched off is not enough."),
        entry="words", unit="", words=("plug out", "switched off"), hint="", probes=None,
        items=tuple(replace(m, state="now" if n == 0 else "open", detail="") for n, m in enumerate(GATE.prompt.items)),
    ),
)  # fmt: skip

_TIMES = tuple(float(t) for t in range(0, 61))

SETTLE = replace(
    READ,
    step="settle",
    danger=Danger("LIVE", "danger", "since 14:31"),
    banner=None,
    prompt=Prompt(
        number=9,
        title="Watch HT at C4",
        place="settling",
        lines=("Watch the HT for the first minute. Over the line: F8 and mains off.",),
        entry="nothing",
        hint="wait until the minute is over",
        probes=Probes("C4 plus, clipped before power", "chassis, clipped", "DC volts, 600 V", "hands off"),
        course=Course("HT at C4 as computed, cathodes cold at 0 s", "V", _TIMES,
                      tuple(420 * (1 - exp(-t / 3)) - 120 / (1 + exp(-(t - 18) / 3)) for t in _TIMES), 14.0, 470.0),
        wait_s=46.0,
    ),
)  # fmt: skip

WARN = replace(
    READ,
    prompt=replace(READING, number=13, entry="text", unit="", title="Cathode of V2 reads high",
                   lines=("Type the reason to go on, or read again.",), hint="a reason of your own words"),
    banner=Banner("warn", "21.8 V: above the window of 17.4 to 20.5, under the limit of 24.1",
                  ("likely: V2 strong in emission 41 %, R11 high 22 %, mains high 9 %",
                   "next: cathode of V3; equal there means mains, lower means V2 or R11")),
)  # fmt: skip

UNPROVED = replace(
    READ,
    danger=Danger("DEAD AS MEASURED", "calm", "C4 0.3 V, C7 0.1 V at 15:02, meter proved before and after, clip on"),
    stages=(replace(STAGES[0], state="not all measured"), *STAGES[1:]),
    prompt=replace(READING, number=15, title="Earth pin to chassis", unit="ohm", socket=None,
                   lines=("Read Earth pin to chassis.", "No bond tester here."),
                   scale=Scale("ohm", "resistance", 0.22, 0.0, 0.32, None, 0.5,
                               "should read 220 mohm   nothing found: 0 to 320 mohm   stop above 500 mohm", False),
                   items=(ItemMark("Live to chassis", "not measured"), ItemMark("Earth pin to chassis", "now"))),
    banner=Banner("not measured", "no insulation tester; open (OL) at Live to chassis",
                  ("The hand meter found nothing wrong: no pass.",)),
    unmeasured=("no insulation tester: Live to chassis",),
)  # fmt: skip

POWER_OFF = replace(
    READ,
    danger=Danger("LIVE", "danger", "26.3 V read at the cathode of V2, stop above 24.1"),
    banner=Banner("stop", "26.3 V is above the limit of 24.1 V", ()),
    prompt=replace(READING, number=14, title="Power off", lines=("Hand off, mains off, pull the plug.",), entry="words",
                   unit="", words=("plug out",), hint="", probes=None, scale=None, socket=None, items=()),
    power_off=("Hand off. Mains off. Pull the plug.",
               "26.3 V at the cathode of V2 is above the limit of 24.1 V: the anode of V2 takes 15 W of 12 W.",
               "The reservoirs stay charged: touch nothing until the gate is through."),
)  # fmt: skip

HALT = replace(
    POWER_OFF,
    danger=Danger("NOT RECORDING", "danger", "the disk is full"),
    power_off=("Not saved: switch off, pull the plug.", "The last saved event is #128."),
)

SOCKET_ECC83 = Socket(
    "V1", "ECC83", "noval 9-pin (B9A)", tuple((str(n), e) for n, e in enumerate(
        ("anode b", "grid b", "cathode b", "heater", "heater", "anode a", "grid a", "cathode a", "heater tap"), 1,
    )), "3",
)  # fmt: skip

DRIVER = replace(
    READ,
    danger=Danger("DEAD AS MEASURED", "calm", "C4 0.3 V, C7 0.1 V at 15:02, meter proved before and after, clip on"),
    prompt=replace(READING, number=40, title="Grid leak of V1b", unit="ohm", socket=SOCKET_ECC83,
                   lines=("Read the ohms from pin 3 to chassis.",),
                   scale=Scale("ohm", "resistance", 1.0e6, 0.94e6, 1.06e6, None, None,
                               "should read 1 Mohm   healthy builds: 940k to 1.06M")),
)  # fmt: skip

WIRE = replace(
    READ,
    stage="heaters",
    step="wire",
    danger=DRIVER.danger,
    banner=None,
    prompt=Prompt(
        number=50, title="Wire: heaters", place="3 of 20",
        lines=(
            "T1 lead 1 of heaters to V2 pin 2 (heater).",
            "brown, AWG 20 or 0.5 mm2, insulation 300 V, about 28 cm. It is the part's own lead: sleeve it.",
            "Type 'on' once it is soldered and holds a pull; 'on 3-5' for several of the list.",
        ),
        entry="words", words=("on",), hint="on, or on 3-5 for several",
        items=tuple(
            ItemMark(f"{n:>2}  V{n} pin 2 (heater) to V{n + 1} pin 2 (heater)",
                     "done" if n < 3 else "now" if n == 3 else "open")
            for n in range(1, 21)
        ),
    ),
)  # fmt: skip

_TOP = plates(load(Path(__file__).parents[2] / "builds" / "pp-6v6.toml").build)[0]

HOLE = replace(
    WIRE,
    stage="metalwork",
    danger=Danger("BARE", "calm", "no lead and no charged part fitted, as typed"),
    prompt=Prompt(
        number=51, title="Hole: punch 19 mm", place="88 of 117",
        lines=(
            "Top plate, v1 (V1, noval socket, 19 mm): 50.0 mm from the left, 62.0 mm up.",
            "'done' for this one (1 of 1 with this tool), 'done all' for all of these.",
        ),
        entry="words", words=("done",), hint="done, done all, or done 3-5", panel=PanelDrawn(_TOP, "v1"),
        items=tuple(ItemMark(f"{n:>3}  pilot 3 mm: v{n}", "done" if n < 88 else "now" if n == 88 else "open")
                    for n in range(1, 118)),
    ),
)  # fmt: skip

ALL = {
    "read": READ, "gate": GATE, "words": WORDS, "settle": SETTLE, "warn": WARN, "unproved": UNPROVED,
    "power off": POWER_OFF, "halt": HALT, "driver": DRIVER, "wire": WIRE,
    "hole": HOLE,
}  # fmt: skip
