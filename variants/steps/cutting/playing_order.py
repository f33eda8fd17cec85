"""The order in which the measures of a score are played."""

from __future__ import annotations

from dataclasses import dataclass, field

from variants.errors import Refusal
from variants.steps.cutting.repeat_signs import Ending, Signs

# A longer piece is a mistake in its signs, or nothing to print.
MOST_MEASURES = 10_000


def playing_order(signs: Signs) -> tuple[int, ...]:
    """Return the indices of the measures in the order of playing.

    Common practice: a section is played twice unless its sign says how often; endings by their
    numbers; after da capo or dal segno repeats are not taken, the last ending is, and the way to
    the coda and the fine hold.

    Raises:
        Refusal: A jump leads nowhere, or the music would not come to an end.
    """
    return _Player(signs).played()


@dataclass(slots=True)
class _Player:
    """Where playing stands."""

    signs: Signs
    at: int = 0
    section: int = 0
    round: int = 1
    jumped: bool = False
    taken: set[tuple[str, int]] = field(default_factory=set)
    order: list[int] = field(default_factory=list)

    def played(self) -> tuple[int, ...]:
        while self.at < self.signs.length:
            if len(self.order) >= MOST_MEASURES:
                raise Refusal(
                    f"the repeats come to more than {MOST_MEASURES} measures",
                    way_out="check the numbers of its repeats and endings",
                )
            if self.at in self.signs.forward and self.at != self.section:
                self.section, self.round = self.at, 1
            ending = self._ending()
            if ending is not None and not self._is_for_now(ending):
                self.at = ending.last + 1
                continue
            self.order.append(self.at)
            if self._ends_here():
                break
            self.at = self._next(ending)
        return tuple(self.order)

    def _ending(self) -> Ending | None:
        """Return the bracket over this measure."""
        return next((one for one in self.signs.endings if one.first <= self.at <= one.last), None)

    def _group(self, ending: Ending) -> list[Ending]:
        """Return the brackets that stand side by side with one, itself included."""
        group = [ending]
        for one in self.signs.endings:
            if one.first == group[-1].last + 1:
                group.append(one)
        for one in reversed(self.signs.endings):
            if one.last == group[0].first - 1:
                group.insert(0, one)
        return group

    def _is_for_now(self, ending: Ending) -> bool:
        if self.at != ending.first or not ending.passes:
            return True
        if self.jumped:
            return ending == self._group(ending)[-1]
        return self.round in ending.passes

    def _total(self, ending: Ending | None) -> int:
        """Return how often the section is played."""
        if ending is None:
            return self.signs.backward[self.at] or 2
        numbers = [number for one in self._group(ending) for number in one.passes]
        return max([*numbers, 2])

    def _ends_here(self) -> bool:
        return self.jumped and self.at in self.signs.jumps.get("fine", {})

    def _next(self, ending: Ending | None) -> int:
        """Return the measure that follows."""
        here = self.at
        if here in self.signs.backward and not self.jumped:
            if self.round < self._total(ending):
                self.round += 1
                return self.section
            self.section, self.round = here + 1, 1
        elif ending is not None and here == ending.last and not self.jumped:
            self.section, self.round = here + 1, 1
        jump = self._jump(here)
        return here + 1 if jump is None else jump

    def _jump(self, here: int) -> int | None:
        """Return where a jump at the end of a measure leads, if it is taken now."""
        for name, where in (("dalsegno", "segno"), ("dacapo", ""), ("tocoda", "coda")):
            signs = self.signs.jumps.get(name, {})
            if here not in signs or (name, here) in self.taken:
                continue
            if (name == "tocoda") != self.jumped:
                continue
            self.taken.add((name, here))
            self.jumped = name != "tocoda"
            if name == "tocoda":
                # Behind the coda sign repeats are taken again.
                target = self._target(where, signs[here], here)
                self.section, self.round = target, 1
                return target
            return self._target(where, signs[here], here) if where else 0
        return None

    def _target(self, name: str, label: str, here: int) -> int:
        found = self.signs.targets.get(name, {})
        named = [index for index, own in found.items() if label and own == label]
        places = named or sorted(found)
        if name == "coda":
            places = [index for index in places if index > here] or places
        if not places:
            raise Refusal(
                f"a jump leads to a {name}, and there is none",
                way_out=f"set the {name} sign in the score, or take the jump out",
            )
        return places[0]
