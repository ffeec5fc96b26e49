"""How the board is wired: its pins and its relay drive. Both count from the next start on."""

import json

from .. import relay_drive
from . import errors
from .errors import ScpiError


def pins_query(device, parameters):
    board, pins = device.wiring()
    return board + "".join([",%s,%s" % (role, pins[role]) for role in sorted(pins) if role != "board"])


def own_pins(device, parameters):
    try:
        part = json.loads(parameters[0])
    except ValueError:
        part = None
    if not isinstance(part, dict):
        raise ScpiError(errors.ILLEGAL_VALUE, "a JSON object of roles and pins; an empty one for the board's own pins")
    part["board"] = device.wiring()[0]
    device.change_settings({"pins": part if len(part) > 1 else None})


def own_pins_query(device, parameters):
    part = device.chain.settings.document["pins"] or {}
    return ",".join(["%s,%s" % (role, part[role]) for role in sorted(part) if role != "board"])


def drive(device, parameters):
    for kind in relay_drive.KINDS:
        if parameters[0] in (kind.upper(), kind.upper()[:3]):
            device.change_settings({"relay_drive": kind})
            return
    raise ScpiError(errors.ILLEGAL_VALUE, "LEVel or MOVing")


def drive_query(device, parameters):
    return "MOV" if device.chain.settings.document["relay_drive"] == relay_drive.MOVING else "LEV"


TABLE = (
    ("SYSTem:PINS?", pins_query, "", "the board's name, then role and pin of each role, as they are in force"),
    ("SYSTem:PINS:OWN", own_pins, "s", "roles on other pins, as JSON, from the next start on; all of them at once"),
    ("SYSTem:PINS:OWN?", own_pins_query, "", "role and pin of the roles that were moved; an empty line when there are none"),
    ("OUTPut:DRIVe", drive, "w", "LEVel, or MOVing for the driver that needs movement; from the next start on"),
    ("OUTPut:DRIVe?", drive_query, "", "the kind of relay driver in the settings"),
)
