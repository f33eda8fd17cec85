"""What the fingering engine answers: places, fingers, positions, barres, costs, and why."""

from __future__ import annotations

from dataclasses import dataclass

from variants.errors import Unplayable

_ROMAN = ((10, "X"), (9, "IX"), (5, "V"), (4, "IV"), (1, "I"))


class UnplayableOnset(Unplayable):
    """No hand can play the notes that begin at one onset.

    Args:
        cause: What is wrong.
        place: Measure and beat.
        way_out: What would help.
        onset: Onset in ticks.
        measure: Index of the measure.
        notes: Indices of the note heads in the passage.
    """

    def __init__(
        self,
        cause: str,
        *,
        place: str = "",
        way_out: str = "",
        onset: int = 0,
        measure: int = 0,
        notes: tuple[int, ...] = (),
    ) -> None:
        super().__init__(cause, place=place, way_out=way_out)
        self.onset = onset
        self.measure = measure
        self.notes = notes


@dataclass(frozen=True, slots=True)
class FingeredNote:
    """Where a note is played.

    Args:
        string: String, 1 is printed highest.
        fret: Fret as tab counts it, from the capo; 0 open.
        finger: 1 to 4, 0 for an open string, 5 for the thumb.
    """

    string: int
    fret: int
    finger: int


@dataclass(frozen=True, slots=True)
class Barre:
    """One finger over several strings.

    Args:
        fret: Fret, from the capo.
        from_string: The string nearest the bass side that it holds.
        to_string: The string nearest the treble side.
        finger: The finger.
    """

    fret: int
    from_string: int
    to_string: int
    finger: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HandAt:
    """The hand at one onset, with what the choice cost.

    Args:
        onset: Ticks.
        notes: Indices of the note heads that begin here.
        position: Fret of the first finger, from the capo, whether it is down or not.
        barre: The barre that is held, if any; the widest one.
        stretch_mm: Widest distance between two fingers, along the neck.
        travel_mm: How far the position moved since the onset before.
        seconds: Time since the onset before.
        open_strings: Open strings that begin here.
        let_go: Note heads let go before their written end.
        grip_cost: Cost of the grip itself; lower is better.
        context_cost: Cost of standing here among the notes around.
        move_cost: Cost of coming here from the onset before.
    """

    onset: int
    notes: tuple[int, ...]
    position: int
    barre: Barre | None
    stretch_mm: float
    travel_mm: float
    seconds: float
    open_strings: int
    let_go: tuple[int, ...]
    grip_cost: float
    context_cost: float
    move_cost: float

    @property
    def cost(self) -> float:
        """The cost of this onset; lower is better. Costs are differences, so some are negative."""
        return self.grip_cost + self.context_cost + self.move_cost

    def sentence(self) -> str:
        """Return one sentence with the numbers behind the choice.

        >>> HandAt(onset=0, notes=(0,), position=5, barre=None, stretch_mm=77.5, travel_mm=0.0,
        ...        seconds=1.0, open_strings=0, let_go=(), grip_cost=0.5, context_cost=0.25,
        ...        move_cost=0.0).sentence()
        'position V, stretch 78 mm, the hand stays, no open string, cost 0.75'
        """
        parts = [f"position {roman(self.position)}"]
        parts.append(f"stretch {self.stretch_mm:.0f} mm" if self.stretch_mm else "no stretch")
        if self.travel_mm:
            parts.append(f"the hand travels {self.travel_mm:.0f} mm in {self.seconds:.2f} s")
        else:
            parts.append("the hand stays")
        if self.barre is not None:
            held = self.barre
            parts.append(
                f"barre at fret {held.fret} over strings {held.from_string} to {held.to_string}"
            )
        count = self.open_strings
        parts.append(f"{count or 'no'} open string{'s' if count > 1 else ''}")
        if self.let_go:
            parts.append(f"{len(self.let_go)} held let go early")
        return ", ".join(parts) + f", cost {self.cost:.2f}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fingered:
    """A fingering of a passage.

    Args:
        notes: The place and finger of each note of the passage, in its order.
        hands: The hand at each onset, in time.
        cost: Total cost under the model; lower is better, comparable within one passage only.
    """

    notes: tuple[FingeredNote, ...]
    hands: tuple[HandAt, ...]
    cost: float


def roman(number: int) -> str:
    """Return a Roman numeral.

    >>> roman(4), roman(9), roman(14)
    ('IV', 'IX', 'XIV')
    """
    text = ""
    for value, sign in _ROMAN:
        while number >= value:
            text += sign
            number -= value
    return text
