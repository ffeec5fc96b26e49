"""The board's side of Panchime. The host imports the same modules."""

__version__ = "0.1.0"
