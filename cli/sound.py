"""What `neckwise sheet` may be asked of a sound file, and how it is made."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from variants.score import Score

Speed = Annotated[
    float,
    typer.Option("--speed", metavar="PERCENT", help="With sound: percent of the written tempo."),
]
CountIn = Annotated[
    bool, typer.Option("--count-in", help="With sound: the beats of a measure before it begins.")
]
Click = Annotated[bool, typer.Option("--click", help="With sound: a click on every beat.")]
Loop = Annotated[
    str,
    typer.Option(
        "--loop", metavar="5-8x4", help="With sound: these measures alone, so many times."
    ),
]
Faster = Annotated[
    float,
    typer.Option(
        "--faster",
        metavar="PERCENT",
        help="With sound: how much of the written tempo each round of a loop adds.",
    ),
]
Plays = Annotated[
    list[str] | None,
    typer.Option("--plays", metavar="PART", help="With sound: only this part; again for others."),
]
Without = Annotated[
    list[str] | None,
    typer.Option("--without", metavar="PART", help="With sound: all but this part, to play along."),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundWishes:
    """How a sound file is made."""

    speed: Speed = 100
    count_in: CountIn = False
    click: Click = False
    loop: Loop = ""
    faster: Faster = 0
    plays: Plays = None
    without: Without = None


def audio(score: Score, wishes: SoundWishes, ending: str) -> tuple[bytes, str, tuple[str, ...]]:
    """Return a sound file, what is said of it, and what is not played.

    Raises:
        UsageError: No such part or passage, or no library that writes the format.
    """
    from variants.performance.files import audio_bytes
    from variants.performance.mix import mixed
    from variants.performance.performing import performed
    from variants.performance.practice import Practice, practised

    played = performed(score, only=wishes.plays or (), without=wishes.without or ())
    track = practised(
        played,
        Practice(
            speed=wishes.speed,
            has_click=wishes.click,
            has_count_in=wishes.count_in,
            loop=wishes.loop,
            faster=wishes.faster,
        ),
    )
    data = audio_bytes(mixed(track.strokes, track.clicks), ending, title=score.title)
    minutes, seconds = divmod(round(track.bars[-1]), 60)
    return data, f"{minutes}:{seconds:02d} minutes of sound", played.told
