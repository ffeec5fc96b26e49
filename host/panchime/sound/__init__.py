"""The board's sounds on a computer: rendered from the board's own player, played or written as a WAV file."""
