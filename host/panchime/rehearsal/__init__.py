"""A plan tried out without a roast: the board's own engine over a kept log, or over a virtual roaster."""
