"""A track to practise with: slower, counted in, with a click, a passage again and again, faster."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from variants.errors import UsageError
from variants.performance.mix import Click
from variants.performance.performing import Performance

_LOOP = re.compile(r"\s*([^\s-]+)\s*-\s*([^\sx]+)\s*(?:x\s*(\d{1,2}))?\s*")
_MOST_ROUNDS = 40
_MOST_SECONDS = 20 * 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """What a practice track is like.

    Args:
        speed: Percent of the written tempo.
        has_click: A click on every beat.
        has_count_in: The beats of one measure before it begins.
        loop: Measures to repeat and how often, ``5-8x4``; empty for all of the piece once.
        faster: Percent of the written tempo that each round of a loop adds to the one before.
    """

    speed: float = 100
    has_click: bool = False
    has_count_in: bool = False
    loop: str = ""
    faster: float = 0


def practised(played: Performance, practice: Practice) -> Performance:
    """Return a performance as a practice track.

    Raises:
        UsageError: A loop that is not in the piece, a speed that nobody plays, a track of more than
            twenty minutes.

    >>> from variants.performance.mix import StringStroke
    >>> bars = (0.0, 2.0, 4.0)
    >>> one = Performance((StringStroke(2.0, 1.0, 60, 59),), (), bars, ("1", "2"), ())
    >>> practised(one, Practice(loop="2-2x2", speed=50)).bars
    (0.0, 4.0, 8.0)
    """
    first, last, rounds = _loop(practice.loop)
    passage = played.between(first, last) if first else played
    track: Performance | None = None
    for number in range(rounds):
        once = passage.at_speed(practice.speed + number * practice.faster)
        track = once if track is None else once.after(track)
        if track.bars[-1] > _MOST_SECONDS:
            raise UsageError(
                "the practice track would last more than twenty minutes",
                way_out="repeat it less often, or play it faster",
            )
    done = track if track is not None else passage
    if practice.has_count_in:
        done = _counted_in(done)
    return done if practice.has_click else _counted_only(done, practice)


def _loop(text: str) -> tuple[str, str, int]:
    if not text:
        return "", "", 1
    found = _LOOP.fullmatch(text)
    rounds = int(found.group(3) or 1) if found else 0
    if found is None or not 1 <= rounds <= _MOST_ROUNDS:
        raise UsageError(
            f"--loop {text}: no passage and number of times",
            way_out=f"give measures and how often, as in 5-8x4, at most {_MOST_ROUNDS} times",
        )
    return found.group(1), found.group(2), rounds


def _counted_in(played: Performance) -> Performance:
    """Return the performance after the beats of its first full measure, one click each."""
    bars = played.bars
    full = max(range(len(bars) - 1), key=lambda n: (bars[n + 1] - bars[n], -n))
    length = bars[full + 1] - bars[full]
    beats = [
        replace(one, start=one.start - bars[full])
        for one in played.clicks
        if bars[full] <= one.start < bars[full + 1]
    ] or [Click(0.0, is_first=True)]
    # A pick-up is counted up to: its time is part of the measure that is counted.
    lead = length - (bars[1] - bars[0] if bars[1] - bars[0] < length else 0.0) if full else length
    counted = [one for one in beats if one.start < lead] or beats[:1]
    return replace(
        played,
        strokes=tuple(replace(one, start=one.start + lead) for one in played.strokes),
        clicks=(*counted, *(replace(one, start=one.start + lead) for one in played.clicks)),
        bars=(0.0, *(one + lead for one in bars)),
        numbers=("", *played.numbers),
    )


def _counted_only(played: Performance, practice: Practice) -> Performance:
    """Return the performance without clicks but those that count it in."""
    until = played.bars[1] if practice.has_count_in else 0.0
    return replace(played, clicks=tuple(one for one in played.clicks if one.start < until - 1e-9))
