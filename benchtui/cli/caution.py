"""The caution that stands under every text the command line prints for people."""

CAUTION = (
    "Valve amplifiers hold lethal voltages, also when unplugged: measure before you touch. This is computed, "
    "an aid and no authority; local codes and licensed practice come first."
)
