"""What a recipe may say, checked by pydantic."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from variants.errors import NeckwiseError
from variants.fingering import Settings, parse_fingers
from variants.fingering.passage import Convention, Dyads, HoldChords, OpenStrings
from variants.finish import MARKS
from variants.guitar import parse_hand, parse_tuning
from variants.marks import parse_marks
from variants.prepare import Strings, parse_scale_length
from variants.steps import Family, Step, parse_item
from variants.variant import Wishes

NAME_PATTERN = r"^[a-z0-9]+(-[a-z0-9]+)*$"
_MOST_CAPO, _MOST_FRETS, _MOST_POSITION = 24, 36, 24


def _kebab(name: str) -> str:
    return name.replace("_", "-")


def _checked(error: NeckwiseError) -> ValueError:
    # pydantic collects ValueErrors; ours say cause and way out in one line.
    return ValueError(str(error))


def _is_step(text: str) -> str:
    try:
        parse_item(text)
    except NeckwiseError as error:
        raise _checked(error) from None
    return text


def _are_marks(texts: tuple[str, ...]) -> tuple[str, ...]:
    try:
        parse_marks(texts)
    except NeckwiseError as error:
        raise _checked(error) from None
    return texts


def _read_by(read: Callable[[str], object]) -> AfterValidator:
    """Return the check that a text which is not empty can be read."""

    def check(text: str) -> str:
        try:
            if text:
                read(text)
        except NeckwiseError as error:
            raise _checked(error) from None
        return text

    return AfterValidator(check)


def _text(value: object) -> object:
    """Return a number of millimetres as a text."""
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return f"{value:g}" if is_number else value


HandText = Annotated[str, BeforeValidator(_text), _read_by(parse_hand)]
_StepText = Annotated[str, AfterValidator(_is_step)]
_Marks = Annotated[tuple[str, ...], AfterValidator(_are_marks)]


class Recipe(BaseModel):
    """How to make one variant, or one family of variants, of any piece.

    All members mean what the options of the same names mean on the command line.
    """

    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=_kebab, populate_by_name=True
    )

    title: str = Field(default="", description="What to call the variant, for people.")
    steps: tuple[_StepText, ...] = Field(
        default=(),
        description="Steps as on the command line, in order: transpose:interval=m3. "
        "`neckwise list steps` shows them.",
    )
    staves: Literal["notation", "tab", "both"] = Field(
        default="both", description="Staves of a part that is for guitar."
    )
    marks: _Marks = Field(
        default=MARKS,
        description="What is printed beside the notes; none for nothing. `neckwise list marks` "
        "shows them.",
    )
    places: bool = Field(
        default=False,
        description="Write string and fret on a notation staff that stands alone.",
    )
    tuning: Annotated[str, _read_by(parse_tuning)] = Field(
        default="", description="The tuning the piece is in: a name or notes."
    )
    capo: int | None = Field(
        default=None, ge=0, le=_MOST_CAPO, description="Fret of the capo; the sound stays."
    )
    frets: int | None = Field(default=None, ge=1, le=_MOST_FRETS, description="Number of frets.")
    scale: Annotated[str, _read_by(parse_scale_length)] = Field(
        default="", description="Length of the open string in mm, or a size such as 3/4."
    )
    fingering: Literal["keep", "fill", "new"] = Field(
        default="keep",
        description="Strings, frets and fingers of the file: keep all that are possible, fill in "
        "all but what is pinned, or all new.",
    )
    hand: HandText = Field(
        default="medium",
        description="Size of the fretting hand: small, medium, large, or its reach from first to "
        "fourth finger at fret 1 in mm.",
    )
    fingers: Annotated[str, _read_by(parse_fingers)] = Field(
        default="1,2,3,4", description="The fretting fingers of the hand; no other is used."
    )
    thumb: bool = Field(default=False, description="Let the thumb stop the lowest string.")
    open_strings: OpenStrings = Field(default="usual", description="Liking for open strings.")
    convention: Convention = Field(
        default="own-fret", description="Which finger takes fret 3 in the first position."
    )
    dyads: Dyads = Field(
        default="either",
        description="How two notes at one fret of neighbouring strings are held.",
    )
    hold_chords: HoldChords = Field(
        default="usual",
        description="Whether broken chords are held as grips while the harmony stands.",
    )
    position: int | None = Field(
        default=None,
        ge=1,
        le=_MOST_POSITION,
        description="Fret where the first finger should stand, where it can.",
    )

    @property
    def items(self) -> tuple[Step | Family, ...]:
        """The steps, and families of variants among them."""
        return tuple(parse_item(text) for text in self.steps)

    def wishes(self, *, part: str = "", reading: str = "auto") -> Wishes:
        """Return how the variant is made, its steps aside.

        Args:
            part: Id or name of the part; see `Wishes`.
            reading: How a plain treble clef sounds.
        """
        return Wishes(
            part=part,
            reading=reading,
            strings=Strings(
                tuning=self.tuning,
                capo=self.capo,
                frets=self.frets,
                scale_length_mm=parse_scale_length(self.scale) if self.scale else None,
            ),
            fingering=self.fingering,
            marks=parse_marks(self.marks),
            has_tab=self.staves != "notation",
            places=self.places,
            settings=Settings(
                hand=parse_hand(self.hand),
                fingers=parse_fingers(self.fingers),
                thumb=self.thumb,
                open_strings=self.open_strings,
                convention=self.convention,
                dyads=self.dyads,
                hold_chords=self.hold_chords,
                position=self.position,
            ),
        )

    def said(self) -> Iterable[tuple[str, object]]:
        """Yield the members that differ from what is usual, by their written names."""
        for name, known in type(self).model_fields.items():
            value = getattr(self, name)
            if value != known.default:
                yield _kebab(name), value


class RecipeFile(BaseModel):
    """A file of recipes: a table ``[variants.NAME]`` for each."""

    model_config = ConfigDict(frozen=True, extra="forbid", title="neckwise recipes")

    variants: dict[Annotated[str, Field(pattern=NAME_PATTERN)], Recipe] = Field(
        description="The variants by name; the name is that of the file that is written.",
        min_length=1,
    )
