"""Plan files: reading, checking by the board's own code, starters, the form they travel in."""
