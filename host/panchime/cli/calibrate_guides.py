"""What to do at the pot, for each kind of calibration."""

from panchime.terminal.output import note

ICE_GUIDE = """\
Ice water: fill a tall cup with crushed ice, then with cold water to the brim; ice must reach the bottom.
Put the tip into the middle, at least ten of its own widths deep, touching neither wall nor a piece of ice. Stir slowly.
Keep the board and the amplifier dry."""
BOIL_GUIDE = """\
Boiling water: a deep pot at a full, rolling boil. Steam and water scald: keep your hand out of the steam, clamp the probe.
Put the tip into the middle, at least ten of its own widths deep, touching neither wall nor bottom.
Keep the board and the amplifier dry, and away from the burner."""
LAG_GUIDE = """\
Have a pot at a full, rolling boil beside ice water or room air. Steam and water scald: keep your hand out of the steam.
Hold the probe still in the cold first. When told, plunge its tip into the boiling water in one go, deep, and hold it there."""


def note_lines(text: str) -> None:
    """A guide, line by line, for the person."""
    for line in text.splitlines():
        note(line)
