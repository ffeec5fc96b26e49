"""The virtual board: the unchanged firmware in the real interpreter, in a world of virtual time."""
