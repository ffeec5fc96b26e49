"""What a rehearsal found out."""

from dataclasses import dataclass

from panchime.rehearsal.bench import CUE, MARKED, TAKEN_BACK, TRIPPED, Bench, Happening
from panchime_fw.plan import BEANS_IN


@dataclass(frozen=True)
class Rehearsal:
    """Everything the board would have done, in order; ``over`` names what it was tried on.

    ``never`` are the labels of milestones that did not come due. ``foreign_marks`` are marks of the kept roast that the plan
    does not have or does not take at that moment. ``refused``: why the board would not have started, "" when it would.
    ``drives_heater``: whether the plan has a heater on the relay, which a trip cuts off.
    """

    over: str
    happenings: tuple[Happening, ...]
    never: tuple[str, ...]
    foreign_marks: tuple[str, ...] = ()
    refused: str = ""
    drives_heater: bool = False

    @property
    def zero_ms(self) -> int:
        """The moment from which times are counted: beans in as it was left, or the start."""
        found = 0
        for happening in self.happenings:
            if happening.words == BEANS_IN:
                found = happening.t_ms if happening.kind == MARKED else 0 if happening.kind == TAKEN_BACK else found
        return found

    @property
    def trips(self) -> tuple[Happening, ...]:
        """When and why the cutoff would have tripped."""
        return tuple(happening for happening in self.happenings if happening.kind == TRIPPED)


def rehearsal_of(bench: Bench, over: str, foreign_marks: tuple[str, ...] = (), refused: str = "") -> Rehearsal:
    """What a bench that has run found out."""
    came = {happening.words for happening in bench.happenings if happening.kind == CUE}
    never = tuple(milestone.label for milestone in bench.plan.milestones if milestone.label not in came)
    happenings = tuple(sorted(bench.happenings, key=lambda one: one.t_ms))
    return Rehearsal(over, happenings, never, foreign_marks, refused, bench.plan.heater_on_relay)
