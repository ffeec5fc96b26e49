"""The reference functions as whole nanovolts, one module a type: only the chosen type is in the memory of the board."""
