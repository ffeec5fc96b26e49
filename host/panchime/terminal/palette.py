"""Colours of the terminal: Paul Tol's "bright" scheme, which people with any colour vision tell apart.

Nothing on a screen relies on colour alone: letters, words and line forms say the same.
"""

TEMPERATURE = "#ccbb44"
RATE = "#66ccee"
MARK = "bold"
MILESTONE = "#4477aa"
RELAY = "#228833"
TROUBLE = "bold #ee6677"
QUIET = "dim"
