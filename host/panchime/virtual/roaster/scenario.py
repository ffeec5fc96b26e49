"""A scenario: the day, the roaster, the beans and what the person does. Read from TOML."""

import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from panchime.errors import PanchimeError
from panchime.planfile.toml_mistakes import explained
from panchime.terminal.near_words import did_you_mean
from panchime.virtual.roaster.beans import REACTION_HEAT_KJ_PER_KG
from panchime.virtual.roaster.person import DEEDS, PRESSES, Act
from panchime.virtual.roaster.vessel import VesselKind

FOLDER = Path(__file__).parent.parent / "scenarios"


@dataclass(frozen=True)
class Day:
    """The surroundings: air, wind as a multiplier of losses, and the share of its heat the source gives."""

    air_c: float
    wind: float = 1.0
    strength: float = 1.0
    cold_junction_rise_c: float = 6.0
    cold_junction_s: float = 600.0


@dataclass(frozen=True)
class Load:
    """The green beans."""

    dry_kg: float
    bean_c: float
    moisture: float = 0.12
    diameter_mm: float = 6.0
    reaction_total: float = REACTION_HEAT_KJ_PER_KG


@dataclass(frozen=True)
class Tip:
    """The probe's lag in the beans, its lag in air, and its noise."""

    lag_s: float
    lag_empty_s: float
    noise_c: float = 0.12


@dataclass(frozen=True)
class Scenario:
    """Everything that a virtual roast needs besides a seed."""

    name: str
    method: str
    day: Day
    vessel: VesselKind
    load: Load
    tip: Tip
    flame: float
    acts: tuple[Act, ...]


def scenario_names() -> list[str]:
    """The scenarios that come with the package."""
    return sorted(file.stem for file in FOLDER.glob("*.toml"))


def load_scenario(name: str) -> Scenario:
    """Reads a scenario by its name or from a file.

    Raises PanchimeError when there is none, or its contents are not a scenario.
    """
    file = Path(name)
    if not file.suffix:
        file = FOLDER / f"{name}.toml"
    try:
        text = file.read_text(encoding="utf-8")
        document = tomllib.loads(text)
    except FileNotFoundError:
        known = scenario_names()
        raise PanchimeError(
            f"there is no scenario {name!r}: give a file, or one of {', '.join(known)}{did_you_mean(file.stem, known)}"
        ) from None
    except (OSError, UnicodeDecodeError) as error:
        advice = "Give a text file, or one of the known names"
        raise PanchimeError(f"the scenario {file} cannot be read: {error}. {advice}") from error
    except tomllib.TOMLDecodeError as error:
        raise PanchimeError(explained(text, f"scenario {file}", error)) from error
    try:
        return _scenario(document)
    except (TypeError, KeyError, ValueError) as error:
        raise PanchimeError(f"scenario {file}: {error}; the scenarios in {FOLDER} show the form") from error


def _scenario(document: dict[str, Any]) -> Scenario:
    acts = tuple(_act(entry) for entry in document.get("act", []))
    return Scenario(
        name=document["name"],
        method=document["method"],
        day=_made(Day, document["day"], "day"),
        vessel=_made(VesselKind, document["vessel"], "vessel"),
        load=_made(Load, document["load"], "load"),
        tip=_made(Tip, document["probe"], "probe"),
        flame=float(document["flame"]),
        acts=acts,
    )


def _made(kind: Any, table: dict[str, Any], where: str) -> Any:
    known = {field.name for field in fields(kind)}
    unknown = sorted(set(table) - known)
    if unknown:
        guess = did_you_mean(unknown[0], known)
        raise ValueError(f"[{where}] does not know {', '.join(unknown)}: it has {', '.join(sorted(known))}{guess}")
    return kind(**table)


def _act(entry: dict[str, Any]) -> Act:
    act: Act = _made(Act, entry, "act")
    triggers = [act.at_s, act.after_s, act.probe_reaches, act.bean_reaches]
    if sum(trigger is not None for trigger in triggers) != 1:
        raise ValueError(f"act {act.name!r} needs one of at_s, after_s, probe_reaches, bean_reaches")
    if act.deed not in DEEDS:
        raise ValueError(f"act {act.name!r}: deed {act.deed!r} is none of {', '.join(DEEDS)}")
    if act.press not in PRESSES:
        raise ValueError(f"act {act.name!r}: press {act.press!r} is none of {', '.join(PRESSES)}")
    return act
