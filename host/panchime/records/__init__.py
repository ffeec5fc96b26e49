"""The person's own records, beside what the board recorded: green lots, weights, notes, tastings, corrections, costs."""
