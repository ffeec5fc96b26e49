"""Reads the TOML of this folder: chips, boards, amplifiers, circuits, parts."""

import tomllib
from pathlib import Path
from typing import Any

ROOM = Path(__file__).parent.parent
ROOT = ROOM.parent
DRAWINGS = ROOM / "drawings"
SPICE = ROOM / "spice"

BOARDS = ("pico", "pico-w", "pico-2", "pico-2-w", "esp32-s3", "esp32-c3", "esp32")
AMPLIFIERS = ("max31855", "max31856", "max6675", "mcp9600")
DRIVES = ("level", "moving")

Table = dict[str, Any]


def read(folder: str, name: str) -> Table:
    """One file of a folder. Raises FileNotFoundError for a name that is not there."""
    return tomllib.loads((ROOM / folder / f"{name}.toml").read_text(encoding="utf-8"))


def chip(name: str) -> Table:
    return read("chips", name)


def board(name: str) -> Table:
    return read("boards", name)


def amplifier(name: str) -> Table:
    return read("amplifiers", name)


def circuit(name: str) -> Table:
    return read("circuit", name)


def stock() -> Table:
    """What to ask a shop for, by the parts' `stock` names."""
    return read(".", "parts")
