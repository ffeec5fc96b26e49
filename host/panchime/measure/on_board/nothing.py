"""What a script costs that does nothing: the interpreter's own start."""
