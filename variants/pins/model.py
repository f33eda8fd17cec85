"""What a pin may say, checked by pydantic."""

from __future__ import annotations

import re
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from variants.errors import NeckwiseError
from variants.fingering import HandPin
from variants.music import Pitch

_PLACE = re.compile(r"(\d{1,2})/(\d{1,2})")
_MOST_FRETS, _MOST_STRINGS = 36, 12
THUMB = 5


def _kebab(name: str) -> str:
    return name.replace("_", "-")


def _are_notes(text: str) -> str:
    try:
        for name in re.split(r"[ +]", text) if text else ():
            Pitch.parse(name)
    except NeckwiseError as error:
        # pydantic collects ValueErrors; ours say cause and way out in one line.
        raise ValueError(str(error)) from None
    return text


def _are_places(texts: tuple[str, ...]) -> tuple[str, ...]:
    for text in texts:
        if not _PLACE.fullmatch(text):
            raise ValueError(f"{text!r} is no place; write string and fret, as in 3/7")
    return texts


_Notes = Annotated[str, AfterValidator(_are_notes)]
_Places = Annotated[tuple[str, ...], AfterValidator(_are_places)]


class Pin(BaseModel):
    """Something settled for a note, a moment or a passage; notes are named as they sound."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=_kebab, populate_by_name=True
    )

    piece: str = Field(default="", description="Name of the song, in a set file.")
    version: str = Field(default="all", description="Name of the variant; all for every one.")
    measure: str = Field(min_length=1, description="Number of the measure, as printed.")
    until: str = Field(default="", description="Number of the last measure of a passage.")
    beat: str = Field(
        default="", description="Beat as the reports name it (2.5); empty for all of the measure."
    )
    note: _Notes = Field(
        default="", description="The note as it sounds, as in F#4; empty for all that begin there."
    )
    string: int | None = Field(default=None, ge=1, le=_MOST_STRINGS, description="Its string.")
    fret: int | None = Field(default=None, ge=0, le=_MOST_FRETS, description="Its fret.")
    finger: Literal[0, 1, 2, 3, 4, "T"] | None = Field(
        default=None, description="Its finger: 1 to 4, 0 for open, T for the thumb."
    )
    position: int | None = Field(
        default=None, ge=1, le=_MOST_FRETS, description="Position of the hand there."
    )
    barre: int | None = Field(
        default=None, ge=0, le=_MOST_FRETS, description="Fret of a barre there; 0 for no barre."
    )
    not_here: _Places = Field(
        default=(), description="Places where it must not be, each as string/fret: 2/5."
    )
    alike: bool = Field(
        default=False,
        description="Whether it holds for the same figure elsewhere: the same notes, with the same "
        "before and after.",
    )
    notes: _Notes = Field(
        default="", description="All notes of the measure; chords are joined by +. Finds it again."
    )
    before: _Notes = Field(default="", description="What is struck before it.")
    after: _Notes = Field(default="", description="What is struck after it.")

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if not self.hand.kinds:
            raise ValueError(
                "pins nothing; name a string, fret, finger, position, barre or not-here"
            )
        return self

    @property
    def hand(self) -> HandPin:
        """What it asks of the hand."""
        places = [match.groups() for text in self.not_here if (match := _PLACE.fullmatch(text))]
        return HandPin(
            string=self.string,
            fret=self.fret,
            finger=THUMB if self.finger == "T" else self.finger,
            position=self.position,
            barre=self.barre,
            not_at=tuple((int(string), int(fret)) for string, fret in places),
        )

    @property
    def where(self) -> tuple[str, str, str, str, str, str]:
        """What it is about: two pins of one place speak of the same."""
        return (self.piece, self.version, self.measure, self.until, self.beat, self.note)

    def words(self) -> str:
        """Return it for people: ``E4: string 3, fret 9, finger 2``."""
        said = [
            f"{_kebab(name).replace('-', ' ')} {value}"
            for name in ("string", "fret", "finger", "position", "barre")
            if (value := getattr(self, name)) is not None
        ]
        said += [f"not on {text}" for text in self.not_here]
        return f"{self.note}: {', '.join(said)}" if self.note else ", ".join(said)


class PinFile(BaseModel):
    """A file of pins: a table ``[[pins]]`` for each."""

    model_config = ConfigDict(frozen=True, extra="forbid", title="neckwise pins")

    pins: tuple[Pin, ...] = Field(default=(), description="The pins.")
