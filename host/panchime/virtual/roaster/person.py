"""The person beside the roaster, acting from a list: when something is seen, do this and press that."""

from dataclasses import dataclass, field

DEEDS = ("load", "unload", "nothing")
PRESSES = ("none", "short", "double", "long")
# From seeing to pressing; common practice, no source. More than the world's longest stride, so that a press is never late.
REACTION_MS = 400


@dataclass(frozen=True)
class Act:
    """One thing the person does. Exactly one of the triggers is set; `or_after_s` (since the act before) ends the waiting.

    at_s: seconds since power-up.  after_s: seconds since the act before.  The rest: a temperature is reached from below.
    """

    name: str
    at_s: float | None = None
    after_s: float | None = None
    probe_reaches: float | None = None
    bean_reaches: float | None = None
    or_after_s: float | None = None
    deed: str = "nothing"
    press: str = "none"
    flame: float | None = None


@dataclass
class Person:
    """Works through the acts in order."""

    acts: tuple[Act, ...]
    done: list[tuple[str, float]] = field(default_factory=list)

    def watch(self, t_s: float, probe_c: float, bean_c: float | None) -> list[Act]:
        """The acts whose moment has come, at most one a look."""
        if len(self.done) == len(self.acts):
            return []
        act = self.acts[len(self.done)]
        before_s = self.done[-1][1] if self.done else 0.0
        due = (
            (act.at_s is not None and t_s >= act.at_s)
            or (act.after_s is not None and t_s >= before_s + act.after_s)
            or (act.probe_reaches is not None and probe_c >= act.probe_reaches)
            or (act.bean_reaches is not None and bean_c is not None and bean_c >= act.bean_reaches)
            or (act.or_after_s is not None and t_s >= before_s + act.or_after_s)
        )
        if not due:
            return []
        self.done.append((act.name, t_s))
        return [act]
