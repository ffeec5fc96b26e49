"""The journal: every roast that was ever pulled, with its raw bytes."""
