"""The short cautions of the evening round, whose screens are the command line's own.

What else a command prints comes with the answer of the use case. Local codes and licensed handlers decide.
"""

from __future__ import annotations

HANDS = "Gloves, mask, eye cover: traps can hold burs and sharp bits."
SINK = "Never rinse a trap, screen or filter at a sink."
BAG = "Not in a red bag, sharps box or rubbish."
DRY_FIRST = "Cleanse the line first, let the trap dry, change it before suction starts, or draw air up to 5 minutes."
CLEANER = (
    "No bleach, chlorine, iodine, peroxide or acid in suction or chair water lines. "
    "Stay in the pH limits that your authority sets."
)
LAST_WORD = "Local codes and licensed handlers decide."

ROUND = (HANDS, SINK, BAG)
