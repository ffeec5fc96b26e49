"""Putting the firmware on a board, over MicroPython's prompt, so that a pulled cable never leaves a half-working heater."""
