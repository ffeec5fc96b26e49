"""Panchime's companion on a computer: link, journal, plans, virtual board."""

from panchime_fw import __version__

__all__ = ["__version__"]
