"""The caution that stands under every text the command line prints for people."""

CAUTION = (
    "Valve amplifiers hold lethal voltages, also when unplugged: measure before you touch. This is computed, "
    "an aid and no authority; local codes and licensed practice come first."
)

#: Before anything is joined to a sound card's input.
SOUND_CAUTION = (
    "A sound card's input stands a volt or two. Never join it to an amplifier without a divider that brings the "
    "largest swing below that, never to an anode, a grid or HT, and never across a bridged or floating output: its "
    "earth goes through the computer, and belongs on the side of the output that is joined to the chassis. Load on "
    "before power; local codes and licensed practice come first."
)
