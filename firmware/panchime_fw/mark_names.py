"""The marks whose names mean something to the board and to the host."""

BEANS_IN = "beans in"
FIRST_CRACK = "first crack"
BEANS_OUT = "beans out"

DEFAULT_MARKS = (BEANS_IN, "yellow", FIRST_CRACK, "second crack", BEANS_OUT)
