"""The build file as frozen models: what a builder may write, and nothing else.

Values are SI floats once loaded. Every field is documented by its `description`; the README's list of fields
is made from them. Channels are expanded by the loader before that, so a part here is one real part.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from benchtui.buildfile import texts
from benchtui.buildfile.entry import Entry
from benchtui.buildfile.panels import Panel
from benchtui.buildfile.salvaged import Salvaged
from benchtui.buildfile.surroundings import Bench, Gate, Mains, Meter
from benchtui.buildfile.values import (
    Amps,
    Count,
    Factor,
    Farads,
    Flag,
    Henries,
    Id,
    Node,
    Number,
    Ohms,
    OhmsOrNone,
    PinName,
    ReadingLimit,
    Seconds,
    Share,
    Text,
    Tolerance,
    TypeName,
    Volts,
    VoltsEitherWay,
    Watts,
)

Quantity = Literal["dc", "ac", "ripple", "resistance"]


class Part(Entry):
    """A part with its reference (the key it stands under) and the stage that fits it."""

    stage: Id = Field(description="the stage that fits this part")
    role: Text = Field("", description="what it is for, in the builder's words")


class TwoEnded(Part):
    """A part between two nodes."""

    nodes: tuple[Node, Node] = Field(description="the two nodes it joins; the first is the positive end")


class Resistor(TwoEnded):
    value: Ohms = Field(description="marked value, such as 4k7")
    measured: Ohms | None = Field(None, description="value measured before fitting; beats the marked one")
    tolerance: Tolerance = Field((-0.05, 0.05), description='such as "5 %"')
    watts: Watts | None = Field(None, description="power rating")
    volts: Volts | None = Field(None, description="voltage rating")


class Thermistor(TwoEnded):
    value: Ohms = Field(description="resistance when hot, in service")
    cold: Ohms = Field(description="resistance when cold")
    tolerance: Tolerance = Field((-0.2, 0.2), description="of the hot value")
    amps: Amps | None = Field(None, description="current rating")


class Link(TwoEnded):
    value: OhmsOrNone = Field(0.01, description="resistance of the wire or bond, zero is allowed here only")
    feedback: Flag = Field(False, description="true for the lead that closes the feedback loop")


class Load(TwoEnded):
    value: Ohms = Field(description="the dummy load or loudspeaker")
    tolerance: Tolerance = Field((-0.02, 0.02), description='such as "2 %"')
    watts: Watts | None = Field(None, description="power rating")


class Capacitor(TwoEnded):
    value: Farads = Field(description="marked value, such as 47u or 100n")
    measured: Farads | None = Field(None, description="value measured before fitting")
    tolerance: Tolerance | None = Field(None, description="by default from the guide values for its make")
    volts: Volts = Field(description="voltage rating")
    surge: Volts | None = Field(None, description="surge rating, where the maker prints one")
    make: Literal["electrolytic", "film", "ceramic", "mica"] = Field(description="what it is made of")


class Choke(TwoEnded):
    value: Henries = Field(description="inductance at its working current")
    resistance: Ohms = Field(description="winding resistance, measured if you can")
    tolerance: Tolerance | None = Field(None, description="of the inductance")
    amps: Amps | None = Field(None, description="current rating")


class Fuse(TwoEnded):
    amps: Amps = Field(description="rated current")
    standard: Literal["IEC 60127", "UL 248-14"] = Field(
        description="the standard it is marked by; they differ at the same amps"
    )
    speed: Literal["FF", "F", "M", "T", "TT"] = Field(description="speed letter (T is time-lag)")
    value: Ohms = Field(description="cold resistance")
    tolerance: Tolerance = Field((-0.2, 0.2), description="of the resistance")
    volts: Volts | None = Field(None, description="voltage rating")


class Diode(TwoEnded):
    """nodes: anode, cathode."""

    type: TypeName = Field(description="type in the parts library, such as 1N4007, or a name under [model]")
    series: Count = Field(1, ge=1, le=6, description="how many in series")
    model: Id | None = Field(None, description="own constants: a name under [model]")


class Zener(TwoEnded):
    nodes: tuple[Node, Node] = Field(
        description="anode, cathode; the cathode (the banded end) is the positive one while it holds its volts"
    )
    value: Volts = Field(description="marked volts")
    measured: Volts | None = Field(None, description="volts measured at the current `at`; beats the marked ones")
    at: Amps = Field(description="test current at which it is marked, from its data sheet")
    resistance: Ohms = Field(description="slope (dynamic) resistance at that current, from its data sheet")
    tolerance: Tolerance | None = Field(None, description="of the marked volts; by default from the guide values")
    watts: Watts | None = Field(None, description="power rating")


class Transistor(Part):
    """A bipolar transistor, such as the current source in a tail or an anode load."""

    nodes: tuple[Node, Node, Node] = Field(description="collector, base, emitter")
    polarity: Literal["npn", "pnp"] = Field(description="which way round it works")
    gain: Factor = Field(description="direct current gain at its working current, measured or from its data sheet")
    tolerance: Tolerance | None = Field(None, description="of the gain; by default from the guide values")
    early: Volts | None = Field(None, description="Early volts, where known; by default from the guide values")
    volts: Volts | None = Field(None, description="largest volts from collector to emitter")
    amps: Amps | None = Field(None, description="largest collector current")
    watts: Watts | None = Field(None, description="power rating, with the heatsink it has")


class Fet(Part):
    """A depletion field-effect transistor, junction or insulated gate, such as the current source in a tail."""

    nodes: tuple[Node, Node, Node] = Field(description="drain, gate, source")
    channel: Literal["n", "p"] = Field("n", description="kind of channel")
    idss: Amps = Field(description="drain current with the gate at the source, measured or from its data sheet")
    pinch_off: Volts = Field(description="gate-source cut-off volts, written without their sign")
    tolerance: Tolerance | None = Field(None, description="of both; by default from the guide values")
    modulation: Volts | None = Field(
        None, description="drain volts over which the current would double; by default from the guide values"
    )
    volts: Volts | None = Field(None, description="largest volts from drain to source")
    watts: Watts | None = Field(None, description="power rating, with the heatsink it has")


class Pot(Part):
    nodes: tuple[Node, Node, Node] = Field(description="end 1, wiper, end 2; a bias pot's end 1 is the most negative")
    value: Ohms = Field(description="whole track")
    tolerance: Tolerance = Field((-0.1, 0.1), description="of the track")
    position: Share = Field(0.0, description="where it starts: share of the track between end 1 and the wiper")
    watts: Watts | None = Field(None, description="power rating")


class Switch(TwoEnded):
    poles: Count = Field(1, ge=1, le=4, description="poles that open together")
    open_in: tuple[Id, ...] = Field((), description="stages in which it stands open, such as a standby switch")
    value: Ohms = Field(0.01, description="contact resistance")


class Input(TwoEnded):
    """Where a signal comes in, such as a jack; nothing is connected there in the stages without signal.

    nodes: hot, cold.
    """


class Heater(TwoEnded):
    """A heater written by hand, where the valve's pins don't tell it."""

    valve: Id = Field(description="the valve it heats")
    volts: Volts = Field(description="rated volts")
    amps: Amps = Field(description="rated current")


class Valve(Part):
    """A valve in its socket. `stage` wires its electrodes; its heater is wired with its winding."""

    type: TypeName = Field(description="type in the parts library, such as 6V6GT")
    pins: dict[PinName, Node] = Field(description="pin number (or electrode name) = node, read from below the socket")
    sections: tuple[Id, ...] | None = Field(None, description="references of its sections, by default V1a, V1b")
    model: Id | None = Field(None, description="own constants: a name under [model]")
    matched: Id | None = Field(None, description="name of the matched set it belongs to")
    grid_start: Volts | None = Field(
        None,
        description="how far below the cathode its grid begins to draw current: where 0.3 uA flow, about 0.6 V, never "
        "above 1.3 V; needed where a large leak alone biases the grid",
    )


class Winding(Part):
    nodes: tuple[Node, Node] = Field(description="its ends; current leaves the first while the sine is positive")
    emf: Volts | None = Field(None, description="measured volts off load, with the primary at `at`")
    at: Volts | None = Field(None, description="volts at the primary while `emf` was measured; by default rated volts")
    volts: Volts | None = Field(None, description="rated volts at rated current, where it was not measured")
    regulation: Share | None = Field(None, description='rise from rated load to no load, such as "8 %", with `volts`')
    amps: Amps | None = Field(None, description="rated rms current")
    estimated: Flag = Field(False, description="true where `amps` is only estimated: it then warns and never stops")
    resistance: Ohms = Field(description="measured, or from the maker")
    tolerance: Tolerance | None = Field(None, description="of the off-load volts")


class Primary(Entry):
    nodes: tuple[Node, Node] | None = Field(None, description="its ends behind fuse and switch, for the cold checks")
    volts: Volts = Field(description="rated volts of the tap in use")
    resistance: Ohms | None = Field(None, description="of the tap in use; left out where it is not known")
    taps: tuple[Volts, ...] = Field((), description="the other taps, for the day it is used again")


class MainsTransformer(Entry):
    """A mains transformer; its windings are parts of their own."""

    primary: Primary = Field(description="its mains winding")
    windings: dict[Id, Winding] = Field(description="winding reference = winding")
    label: Text = Field("", description="what the label says")


class ScreenTaps(Entry):
    nodes: tuple[Node, ...] = Field(description="tap of the first half, and of the second in push-pull")
    share: Share = Field(description='share of the half\'s turns counted from the HT end, such as "43 %"')


class OutputTransformer(Part):
    anodes: tuple[Node, ...] = Field(description="one anode node (single-ended) or two (push-pull)")
    ht: Node = Field(description="the end or centre tap that goes to HT")
    secondary: tuple[Node, Node] = Field(description="loudspeaker side: hot, cold")
    impedance: Ohms = Field(description="whole primary, anode to anode in push-pull, with the rated load")
    load: Ohms = Field(description="the load that gives this impedance")
    resistance: tuple[Ohms, ...] = Field(description="of each half of the primary, or of the whole if single-ended")
    secondary_resistance: Ohms = Field(description="of the secondary in use")
    inductance: Henries = Field(description="of the whole primary")
    leakage: Henries = Field(0.0, description="whole primary to secondary")
    capacitance: Farads = Field(0.0, description="across each half of the primary")
    core_loss: Ohms | None = Field(None, description="core loss as a resistance across each half of the primary")
    screen_taps: ScreenTaps | None = Field(None, description="ultra-linear taps")
    tolerance: Tolerance = Field((-0.1, 0.1), description="of its resistances")
    watts: Watts | None = Field(None, description="rated output")
    amps: Amps | None = Field(None, description="largest standing current in the primary")


class Model(Entry):
    """Own constants of a valve or diode. The form has no default: each reads the same numbers differently."""

    form: Literal[
        "triode_offset",
        "pentode_power_screen",
        "vacuum_perveance",
        "silicon",
        "triode_grid_ion",
        "pentode_shared_screen",
        "gas_regulator",
    ] = Field(description="form of its equation; it says how the constants are read")
    constants: dict[str, Number] = Field(description="constants of that form, as their source prints them")
    source: Text = Field(description="where they come from")


class Limits(Entry):
    """Own limits of a valve type, in place of the library's."""

    source: Text = Field(description="where they come from")
    system: Literal["design-centre", "design-maximum", "absolute"] | None = Field(
        None, description="rating system, if known"
    )
    confidence: Literal["high", "medium", "low"] = Field(description="low ones never stop a reading")
    anode_v: Volts | None = Field(None, description="anode volts to cathode")
    anode_w: Watts | None = Field(None, description="anode dissipation of one section")
    screen_v: Volts | None = Field(None, description="screen volts to cathode")
    screen_w: Watts | None = Field(None, description="screen dissipation of one section")
    cathode_a: Amps | None = Field(None, description="mean cathode current of one section")
    least_a: Amps | None = Field(None, description="gas regulator: least current at which it holds its volts")
    heater_cathode_v: Volts | None = Field(None, description="volts between heater and cathode")
    grid_leak_fixed_ohm: Ohms | None = Field(None, description="largest grid leak with fixed bias")
    grid_leak_cathode_ohm: Ohms | None = Field(None, description="largest grid leak with cathode bias")
    inverse_v: Volts | None = Field(None, description="rectifier: peak inverse volts")
    peak_a: Amps | None = Field(None, description="rectifier: repetitive peak current per anode")
    mean_a: Amps | None = Field(None, description="rectifier: direct current, both anodes")
    surge_a: Amps | None = Field(None, description="silicon rectifier: peak current of a single half cycle")
    first_capacitor_f: Farads | None = Field(None, description="rectifier: largest first capacitor")
    supply_ohm: Ohms | None = Field(None, description="rectifier: least supply resistance per anode")


class Adjustment(Entry):
    """A pot that is trimmed to a reading."""

    pot: Id = Field(description="the pot that is turned")
    point: Id = Field(description="the test point it is trimmed by")
    target: VoltsEitherWay | None = Field(None, description="the reading wanted")
    dissipation: Share | None = Field(
        None, description="or: anode dissipation wanted as a share of the limit, at the HT read now"
    )
    valve: Id | None = Field(None, description="the valve section whose dissipation is meant")
    stages: tuple[Id, ...] = Field(description="stages in which it is trimmed")
    reach: Literal["outside", "inside"] = Field(description="reached from outside the chassis, or only with hands in")
    raise_by: Text = Field("", description='which way raises the reading, such as "clockwise"')


class Point(Entry):
    """A place to measure."""

    name: Text = Field(description="what it is, as shown large on the screen")
    red: Node = Field(description="node of the red probe")
    black: Node = Field("0", description="node of the black probe")
    quantity: Quantity = Field(description="what is read: direct volts, alternating volts, ripple (rms), or ohms")
    stages: tuple[Id, ...] = Field(description="stages in which it is read")
    red_at: Text = Field(
        "", description="where the red probe goes: a tag or the end of a resistor, not a pin beside HT"
    )
    black_at: Text = Field("", description="where the black probe or clip goes")
    socket: Text | None = Field(None, description="valve and pin to show from below, such as V2.8")
    guards: Literal["bond", "insulation", "grid bias"] | None = Field(
        None, description="what a warn here must never be accepted for"
    )
    stop_low: ReadingLimit | None = Field(
        None, description="own lower limit, in volts or ohms, narrower than the computed one, with `reason`"
    )
    stop_high: ReadingLimit | None = Field(
        None, description="own upper limit, in volts or ohms, narrower than the computed one, with `reason`"
    )
    reason: Text = Field("", description="why the limit is narrower")
    outside: Flag = Field(False, description="true where it is read with the cover screwed on, as in a soak")


class Stage(Entry):
    """What is special about a stage. Standard stages need an entry only for what differs."""

    title: Text = Field("", description="what the screen calls it; needed for a stage of your own")
    kind: Literal["bench", "cold", "power"] | None = Field(None, description="needed for a stage of your own")
    after: Id | None = Field(None, description="needed for a stage of your own: the stage before it")
    skip: Text = Field("", description="why this build leaves the stage out")
    valves_out: tuple[Id, ...] = Field((), description="valves not in their sockets")
    fuses_out: tuple[Id, ...] = Field((), description="fuses not in their holders")
    steps: tuple[Text, ...] = Field((), description="what to do with hands in, power off, in order")
    live: tuple[Text, ...] = Field((), description="what to do with power on and hands out, in order")
    looks: tuple[Text, ...] = Field((), description="what to look at before the power")
    loose: tuple[Text, ...] = Field(
        (), description="ends that are live and loose in this stage, and where they are parked"
    )
    watch: Id | None = Field(None, description="the point to watch while it settles")
    settle: Seconds | None = Field(None, description="how long it takes to settle; by default from its valves")
    soak: Seconds | None = Field(
        None, description="of `signoff` alone: how long it runs with its cover screwed on, 10 min to 24 h"
    )


class Build(Entry):
    """A whole amplifier, loaded and checked. Keys are the file's own references.

    It never changes, so what was computed for it may be kept: it hashes by identity.
    """

    __hash__ = object.__hash__

    format: Annotated[Literal[1], BeforeValidator(texts.whole)] = Field(description="version of this format")
    id: Id = Field(description="short name of this one chassis; its record goes by it")
    name: Text = Field(description="what the screen calls the amplifier")
    notes: Text = Field("", description="anything worth knowing")
    channels: dict[Id, Text] = Field(default_factory=dict, description="channel letter = its name, in a stereo build")
    mains: Mains = Field(description="the mains that it runs on")
    meter: Meter = Field(description="the meter that it is read with")
    bench: Bench = Field(description="what else is on the bench")
    gate: Gate = Field(default_factory=Gate)
    transformer: dict[Id, MainsTransformer] = Field(default_factory=dict)
    output_transformer: dict[Id, OutputTransformer] = Field(default_factory=dict)
    resistor: dict[Id, Resistor] = Field(default_factory=dict)
    thermistor: dict[Id, Thermistor] = Field(default_factory=dict)
    link: dict[Id, Link] = Field(default_factory=dict)
    load: dict[Id, Load] = Field(default_factory=dict)
    capacitor: dict[Id, Capacitor] = Field(default_factory=dict)
    choke: dict[Id, Choke] = Field(default_factory=dict)
    fuse: dict[Id, Fuse] = Field(default_factory=dict)
    diode: dict[Id, Diode] = Field(default_factory=dict)
    zener: dict[Id, Zener] = Field(default_factory=dict)
    transistor: dict[Id, Transistor] = Field(default_factory=dict)
    fet: dict[Id, Fet] = Field(default_factory=dict)
    pot: dict[Id, Pot] = Field(default_factory=dict)
    switch: dict[Id, Switch] = Field(default_factory=dict)
    input: dict[Id, Input] = Field(default_factory=dict)
    heater: dict[Id, Heater] = Field(default_factory=dict)
    valve: dict[Id, Valve] = Field(default_factory=dict)
    model: dict[Id, Model] = Field(default_factory=dict)
    limits: dict[TypeName, Limits] = Field(default_factory=dict)
    adjust: dict[Id, Adjustment] = Field(default_factory=dict)
    panel: dict[Id, Panel] = Field(default_factory=dict)
    point: dict[Id, Point] = Field(description="where to measure")
    stage: dict[Id, Stage] = Field(default_factory=dict, max_length=60)
    salvaged: dict[Id, Salvaged] = Field(default_factory=dict)
