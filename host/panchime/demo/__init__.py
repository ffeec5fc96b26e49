"""The demonstration: a whole roast on the virtual board, with an invented plan and invented beans."""
