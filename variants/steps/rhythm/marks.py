"""What happens to slurs, syllables and lengths when `simplify-rhythm` drops a note."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, replace

from variants.score import Lyric, Mark
from variants.steps.rhythm.lines import Group, Lines
from variants.steps.wording.words import sign_words

_EXTEND = re.compile(r"<extend\b[^>]*/>|<extend\b.*?</extend>", re.DOTALL)
# Syllables joined by elisions, and nothing else.
_SYLLABLES = re.compile(
    r"\s*(?:(?:<elision\b[^>]*(?:/>|>[^<]*</elision>)\s*)?"
    r"(?:<syllabic>\w+</syllabic>\s*)?<text\b[^>]*>[^<]*</text>\s*)+\Z"
)


@dataclass(frozen=True, slots=True)
class Loss:
    """Something that went with a dropped note, for the change log."""

    group: Group
    message: str


def drop(lines: Lines, gone: set[int], slots: list[int]) -> list[Loss]:
    """Take the groups that are struck at dropped times out of their voices.

    The note before lasts on through a dropped one that it touched, or nearly touched. Syllables go
    to the note before, in whose time they are now sung. A slur's end moves to the next note that
    is left, inward; a slur or slide that has no two notes left goes.

    Args:
        lines: The voices; changed in place, they are drafts.
        gone: Times of dropped strokes.
        slots: Times of the grid; a silence on none of them before a dropped note is not kept.
    """
    losses = _mend_spans(lines, gone)
    for line in lines.voices.values():
        kept: list[Group] = []
        orphans: list[Group] = []
        for place, group in enumerate(line):
            if not _goes(group, gone):
                kept.append(group)
                if orphans and not kept[:-1]:
                    for orphan in orphans:
                        losses += _give_syllables(orphan, group, first=True)
                    orphans = []
                continue
            if kept:
                after = next((one.time for one in line[place:] if not _goes(one, gone)), None)
                _stretch(kept[-1], group, after, slots)
                losses += _give_syllables(group, kept[-1], first=False)
            else:
                orphans.append(group)
        losses += [loss for orphan in orphans for loss in _lost_syllables(orphan)]
        line[:] = kept
    return losses


def _goes(group: Group, gone: set[int]) -> bool:
    return group.is_stroke and group.time in gone


def _stretch(before: Group, dropped: Group, after: int | None, slots: list[int]) -> None:
    """Let notes last on through a dropped one, but not into the next that stays."""
    until = dropped.end if after is None else min(dropped.end, after)
    for chain in before.chains:
        is_held = bisect_left(slots, chain.end) == bisect_left(slots, dropped.time)
        if chain.end < until and is_held:
            chain.end = until


# --- syllables ------------------------------------------------------------------------------------


def _give_syllables(source: Group, target: Group, *, first: bool) -> list[Loss]:
    losses: list[Loss] = []
    if source.lyrics and not target.chains:
        return _lost_syllables(source)
    for lyric in source.lyrics:
        mine = next((one for one in target.lyrics if _verse(one) == _verse(lyric)), None)
        if mine is None:
            target.lyrics.append(lyric)
            if lyric.text:
                where = "after" if first else "before"
                losses.append(Loss(source, f"{lyric.text!r} is sung on the note {where} it"))
            continue
        pair = (lyric, mine) if first else (mine, lyric)
        both = joined(*pair)
        if both is None:
            losses.append(Loss(source, f"the syllable {lyric.text!r} goes with its note"))
        else:
            target.lyrics[target.lyrics.index(mine)] = both
            losses.append(Loss(source, f"{both.text!r} is sung on one note"))
    return losses


def _lost_syllables(group: Group) -> list[Loss]:
    return [
        Loss(group, f"the syllable {lyric.text!r} goes with its note")
        for lyric in group.lyrics
        if lyric.text
    ]


def _verse(lyric: Lyric) -> tuple[str, str]:
    return lyric.number, lyric.name


def joined(first: Lyric, second: Lyric) -> Lyric | None:
    """Return two syllables to be sung on one note, or ``None`` where they cannot be joined.

    They are joined by an elision, as singers know it.
    """
    if not first.text:
        return second
    if not second.text:
        return first
    start = _EXTEND.sub("", first.xml)
    extend = _EXTEND.search(second.xml)
    end = _EXTEND.sub("", second.xml)
    if not (_SYLLABLES.match(start) and _SYLLABLES.match(end)):
        return None
    begins = first.syllabic in {"begin", "single", ""}
    ends = second.syllabic in {"end", "single", ""}
    syllabic = {
        (True, True): "single",
        (True, False): "begin",
        (False, True): "end",
        (False, False): "middle",
    }[begins, ends]
    between = "" if first.syllabic in {"begin", "middle"} else " "
    xml = f"{start}<elision>‿</elision>{end}{extend.group(0) if extend else ''}"
    return replace(first, syllabic=syllabic, text=f"{first.text}{between}{second.text}", xml=xml)


# --- marks that span notes ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _End:
    """One end of a slur, slide or the like: where it stands in its voice."""

    voice: str
    place: int
    shelf: str
    index: int
    mark: Mark

    @property
    def is_movable(self) -> bool:
        """Whether it belongs to all notes of the event, as slurs do."""
        return self.shelf in {"marks", "tail"}


def _ends(lines: Lines) -> Iterator[_End]:
    for voice, line in lines.voices.items():
        for place, group in enumerate(line):
            for index, grace in enumerate(group.graces):
                for mark in grace.marks:
                    yield _End(voice, place, "grace", index, mark)
            for index, chain in enumerate(group.chains):
                for mark in (*chain.note.marks, *chain.tail_marks):
                    yield _End(voice, place, "note", index, mark)
            for mark in group.marks:
                yield _End(voice, place, "marks", 0, mark)
            for mark in group.tail_marks:
                yield _End(voice, place, "tail", 0, mark)


def _pairs(lines: Lines) -> Iterator[tuple[_End, _End]]:
    """Yield the two ends of each span: matched in one voice, else across the part."""
    left: list[_End] = []
    opened: dict[tuple[str, str, str, str], _End] = {}
    for end in _ends(lines):
        mark = end.mark
        key = (end.voice, mark.family, mark.name, mark.number)
        if mark.role == "start":
            opened[key] = end
        elif mark.role == "stop" and key in opened:
            yield opened.pop(key), end
        elif mark.role == "stop":
            left.append(end)
    for end in left:
        wanted = (end.mark.family, end.mark.name, end.mark.number)
        found = next((key for key in opened if key[1:] == wanted), None)
        if found is not None:
            yield opened.pop(found), end


def _mend_spans(lines: Lines, gone: set[int]) -> list[Loss]:
    losses: list[Loss] = []
    changes: list[tuple[_End, int | None]] = []
    for start, stop in _pairs(lines):
        lost = [end for end in (start, stop) if _is_gone(lines, end, gone)]
        if not lost:
            continue
        places = _moved(lines, (start, stop), gone)
        if places is None:
            changes += [(start, None), (stop, None)]
            group = lines.voices[lost[0].voice][lost[0].place]
            name = sign_words(start.mark.name)
            loss = Loss(group, f"{name} dropped: a note at one end is gone")
            # A slur over a pull-off of the same notes, say, is told once.
            losses += [loss] if loss not in losses else []
        else:
            changes += list(zip((start, stop), places, strict=True))
    for end, place in changes:
        _apply(lines, end, place)
    return losses


def _is_gone(lines: Lines, end: _End, gone: set[int]) -> bool:
    return _goes(lines.voices[end.voice][end.place], gone)


def _moved(lines: Lines, span: tuple[_End, _End], gone: set[int]) -> tuple[int, int] | None:
    """Return where in the voice the ends go; ``None`` if there are no two notes left."""
    start, stop = span
    if start.voice != stop.voice:
        return None
    if not all(end.is_movable or not _is_gone(lines, end, gone) for end in span):
        return None
    line = lines.voices[start.voice]
    left = [
        place
        for place in range(start.place, stop.place + 1)
        if line[place].chains and not _goes(line[place], gone)
    ]
    return (left[0], left[-1]) if len(left) > 1 else None


def _apply(lines: Lines, end: _End, place: int | None) -> None:
    if place == end.place:
        return
    line = lines.voices[end.voice]
    group = line[end.place]
    if end.shelf == "grace":
        grace = group.graces[end.index]
        left = tuple(mark for mark in grace.marks if mark != end.mark)
        group.graces[end.index] = replace(grace, marks=left)
    elif end.shelf == "note":
        chain = group.chains[end.index]
        left = tuple(mark for mark in chain.note.marks if mark != end.mark)
        chain.note = replace(chain.note, marks=left)
        chain.tail_marks = [mark for mark in chain.tail_marks if mark != end.mark]
    else:
        shelf = group.marks if end.shelf == "marks" else group.tail_marks
        if end.mark in shelf:
            shelf.remove(end.mark)
    if place is not None:
        target = line[place]
        (target.marks if end.mark.role == "start" else target.tail_marks).append(end.mark)
