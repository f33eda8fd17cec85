"""A song set ready to be planned: every name looked up, every default filled in.

These values come from the set file once it is checked, and are kept as JSON beside the outputs,
so that a build with nothing to do need not check it again. Standard library only.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

ENDINGS = {
    "musicxml": ".musicxml",
    "mxl": ".mxl",
    "pdf": ".pdf",
    "midi": ".mid",
    "svg": ".svg",
}
# What the engraver, the fonts or the typesetter have a hand in.
DRAWN = frozenset({"pdf", "svg"})
# All variants of a song in one file: after each other on paper, or side by side in a browser.
HANDOUT = "handout"
REVIEW = "html"
WHOLE_ENDINGS = {HANDOUT: ".pdf", REVIEW: ".html"}
# These stand in the place of the variant in names of files.
WHOLE_NAMES = {HANDOUT: "handout", REVIEW: "review"}
WHOLE_TITLES = {HANDOUT: "All variants on paper", REVIEW: "All variants side by side"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """One variant that is wanted of a song.

    Args:
        name: Its name, a part of the names of its files.
        title: What people call it.
        spec: How it is made, as JSON values: ``recipe``, and ``level`` where it is fitted to one.
    """

    name: str
    title: str
    spec: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class SongEntry:
    """One table of songs.

    Args:
        source: A file, or a pattern for several, from the folder of the set file.
        line: Where it stands in the set file.
        name: Name of its song; empty for that of its file.
        front: Title, composer, arranger and rights where they differ from the file's.
        part: Id or name of the part; empty for the only one for guitar.
        reading: How a plain treble clef sounds.
        outputs: What is written of each variant.
        variants: The variants, in order.
    """

    source: str
    line: int
    name: str
    front: Mapping[str, str]
    part: str
    reading: str
    outputs: tuple[str, ...]
    variants: tuple[Wanted, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SongSet:
    """A whole set.

    Args:
        front: Title, subtitle, rights and the like.
        folder: Where outputs go, from the folder of the set file.
        names: Pattern for the names of files, without their ending.
        index: Whether a page of all songs is made.
        pictures: Whether that page shows the first line of each song.
        level: The level that the songs are held against, as JSON values; empty for none.
        hand: Name of the hand for which difficulty is measured.
        look: How sheets are printed.
        entries: The tables of songs, in order.
        pins: The pins of the set file, as JSON values.
    """

    front: Mapping[str, str]
    folder: str
    names: str
    index: bool
    pictures: bool
    level: Mapping[str, Any]
    hand: str
    look: Mapping[str, Any]
    entries: tuple[SongEntry, ...]
    pins: tuple[Mapping[str, Any], ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the set as JSON values."""
        return asdict(self)

    @classmethod
    def from_json(cls, values: Mapping[str, Any]) -> SongSet:
        """Return the set that `as_json` gave."""
        entries = tuple(
            SongEntry(
                **{
                    **entry,
                    "outputs": tuple(entry["outputs"]),
                    "variants": tuple(Wanted(**one) for one in entry["variants"]),
                }
            )
            for entry in values["entries"]
        )
        return cls(**{**values, "entries": entries, "pins": tuple(values["pins"])})
