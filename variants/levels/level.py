"""What a level is: limits, each with its value and its reason, as a level file states them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

# From the easiest to the hardest; a level allows its word and all words before it.
OFF_BEATS = ("none", "paired", "after-held", "any")
TIES = ("none", "held", "measure", "barline")
BARRES = ("none", "half", "full")
# Stands among the note values for every note of a quarter or longer that begins on a beat and
# lasts one or more of them: the dotted quarter of 6/8, counted in two.
WHOLE_BEATS = "beat"


def _dashed(name: str) -> str:
    return name.replace("_", "-")


class _Table(BaseModel):
    """A table of a level file: nothing in it that is not known, and it never changes."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, alias_generator=_dashed, populate_by_name=True
    )


class _Limit(_Table):
    """One limit; ``why`` is its reason or source."""

    why: str = Field(default="", description="the reason or the source of the limit")


class Whole(_Limit):
    """A limit that is a whole number, itself allowed."""

    value: Annotated[int, Field(ge=0, le=999)]


class Number(_Limit):
    """A limit that is a number, itself allowed."""

    value: Annotated[float, Field(gt=0, le=10000)]


class Values(_Limit):
    """The note values that are allowed, as in ``dotted quarter``.

    ``beat`` allows every note of a quarter or longer that lasts whole beats of its metre.
    """

    value: tuple[str, ...] = Field(strict=False)


class Ratios(_Limit):
    """The tuplets that are allowed, as in ``3:2``."""

    value: tuple[Annotated[str, Field(pattern=r"^\d+:\d+$")], ...] = Field(strict=False)


class Ornaments(_Limit):
    """The ornaments that are allowed."""

    value: tuple[
        Literal["grace", "bend", "slide", "trill", "tremolo", "mordent", "turn", "arpeggio"], ...
    ] = Field(strict=False)


class OffBeats(_Limit):
    """How far from the beat a note may begin.

    ``none``: on beats only; ``paired``: after a note on the beat; ``after-held``: also where the
    beat itself is held or silent; ``any``: also held over the next beat.
    """

    value: Literal["none", "paired", "after-held", "any"]


class Ties(_Limit):
    """Which ties there may be.

    ``none``; ``held``: a note held from one beat to another, over a barline too; ``measure``: also
    from or to a place off the beat, within a measure; ``barline``: all.
    """

    value: Literal["none", "held", "measure", "barline"]


class Barres(_Limit):
    """``none``, ``half`` (up to five strings) or ``full``."""

    value: Literal["none", "half", "full"]


class Fingers(_Limit):
    """The fretting fingers that are allowed."""

    value: tuple[Annotated[int, Field(ge=1, le=4)], ...] = Field(strict=False, min_length=1)


class Area(_Table):
    """A part of the neck. A piece meets a level when one of its areas holds all of its notes.

    Args:
        strings: The strings that may be used; 1 is printed highest.
        frets: Lowest and highest fret, counted from the capo.
        one_string: Whether all notes lie on one of the strings, the same for the whole piece.
        open: Whether open strings are allowed.
        why: The reason or the source.
    """

    strings: tuple[Annotated[int, Field(ge=1, le=12)], ...] = Field(strict=False, min_length=1)
    frets: tuple[Annotated[int, Field(ge=0, le=36)], Annotated[int, Field(ge=0, le=36)]] = Field(
        strict=False
    )
    one_string: bool = False
    open: bool = True
    why: str = Field(default="", description="the reason or the source of the area")

    @model_validator(mode="after")
    def _ordered(self) -> Area:
        if self.frets[0] > self.frets[1]:
            raise ValueError("frets are the lowest and the highest, in this order")
        return self

    @property
    def words(self) -> str:
        """The strings and frets in words."""
        first, last = min(self.strings), max(self.strings)
        strings = f"string {first}" if first == last else f"strings {first} to {last}"
        low, high = self.frets
        return f"{'one of ' if self.one_string else ''}{strings}, frets {low} to {high}"

    def holds(self, string: int, fret: int) -> bool:
        """Whether a place lies in the area; open strings need fret 0 among its frets."""
        if fret == 0:
            return self.open and self.frets[0] == 0 and string in self.strings
        return string in self.strings and self.frets[0] <= fret <= self.frets[1]

    def within(self, other: Area) -> bool:
        """Whether every piece that this area holds is held by the other one too."""
        if other.one_string and not (self.one_string or len(self.strings) == 1):
            return False
        low, high = max(1, self.frets[0]), self.frets[1]
        return (
            set(self.strings) <= set(other.strings)
            and (high < low or (other.frets[0] <= low and high <= other.frets[1]))
            and (other.open or not self.open)
        )

    def __str__(self) -> str:
        names = ", ".join(map(str, sorted(self.strings)))
        strings = f"one of strings {names}" if self.one_string else f"strings {names}"
        if len(self.strings) == 1:
            strings = f"string {names}"
        frets = f"frets {self.frets[0]} to {self.frets[1]}"
        return f"{strings}, {frets}" + ("" if self.open else ", no open strings")


class Limits(_Table):
    """The limits of a level; what is left out has none.

    Args:
        notes_at_once: Most notes that begin together.
        note_values: Values of notes, and of rests in a metre whose beat is not dotted.
        off_beats: Where notes may begin.
        ties: Which ties there may be.
        tuplets: Which tuplets.
        ornaments: Which ornaments.
        signature: Most sharps or flats of a key signature.
        altered: Most different notes outside the signature.
        speed: Most onsets in a second, on the mean of the densest measure.
        measures: Most measures.
        stretch: Share of the hand's own reach between two fingers (0 to 1).
        shift: Fastest travel of the hand along the neck, in mm in a second.
        barres: Which barres.
        fingers: Which fretting fingers.
    """

    notes_at_once: Whole | None = None
    note_values: Values | None = None
    off_beats: OffBeats | None = None
    ties: Ties | None = None
    tuplets: Ratios | None = None
    ornaments: Ornaments | None = None
    signature: Whole | None = None
    altered: Whole | None = None
    speed: Number | None = None
    measures: Whole | None = None
    stretch: Number | None = None
    shift: Number | None = None
    barres: Barres | None = None
    fingers: Fingers | None = None


class Level(_Table):
    """A level, read from its file with all that it extends.

    Args:
        name: Its name.
        title: What it is, in a few words.
        summary: One sentence for a teacher.
        extends: The level whose limits hold where it states none; its areas are added.
        practice_tempo: Quarters in a minute at which a piece without a tempo mark is measured.
        print: Marks that its versions carry, as ``--mark`` takes them.
        limits: Its limits.
        areas: The areas of the neck; none: all of it.
    """

    name: Annotated[str, Field(min_length=1, max_length=60)]
    title: str = ""
    summary: str = ""
    extends: str = ""
    practice_tempo: Annotated[float, Field(ge=20, le=300)] = 60.0
    print: tuple[str, ...] = Field(default=(), strict=False)
    limits: Limits = Limits()
    areas: tuple[Area, ...] = Field(default=(), strict=False)
