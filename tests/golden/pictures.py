"""A few measures as text: names, six lines of tab, note values; for golden files and the docs."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from variants.music import NoteValue
from variants.score import (
    Direction,
    Event,
    Measure,
    Note,
    Part,
    Place,
    Score,
    map_events,
    measures,
    with_notes,
)

_VALUES = {
    "breve": "b",
    "whole": "w",
    "half": "h",
    "quarter": "q",
    "eighth": "e",
    "16th": "s",
    "32nd": "t",
}


@dataclass
class _Column:
    """What stands above and below each other at one moment, or a barline."""

    cells: dict[str, str] = field(default_factory=dict)
    is_bar: bool = False

    def width(self) -> int:
        """Return the letters that it needs."""
        return max(map(len, self.cells.values()), default=0)


def picture(score: Score) -> str:
    """Return the first part of a score as text, in open position where no places are set."""
    part = _placed(score.parts[0])
    strings = part.instrument.strings if part.instrument is not None else 0
    rows = ["number", "chord", "name", *map(str, range(1, strings + 1)), "value", "sign"]
    columns = [column for measure in part.measures for column in _columns(measure)]
    columns.append(_Column({"number": "", **_bars(part.measures[-1], strings, "right")}, True))
    lines = []
    for row in rows:
        if row in {"number", "chord", "sign"} and not any(c.cells.get(row) for c in columns):
            continue
        fill = "-" if row.isdecimal() else " "
        text = "".join(_cell(column, row, fill) for column in columns)
        head = f"{row} " if row.isdecimal() else "  "
        lines.append((head + text).rstrip())
    return "\n".join([_head(part), *lines])


def _placed(part: Part) -> Part:
    """Return the part with a place for each note: the one set, else the lowest fret that is free.

    Not what the fingering engine would choose: a picture of a step must not change with it.
    """
    held: dict[int, Place] = {}

    def of_event(event: Event) -> Event:
        taken = {note.place.string for note in event.notes if note.place is not None}
        notes = list(event.notes)
        for index in sorted(range(len(notes)), key=lambda one: -_height(notes[one])):
            place = notes[index].place or _free(part, notes[index], taken, held)
            if place is not None:
                taken.add(place.string)
                held[_height(notes[index])] = place
            notes[index] = replace(notes[index], place=place)
        return with_notes(event, tuple(notes))

    return map_events(part, of_event)


def _free(part: Part, note: Note, taken: set[int], held: dict[int, Place]) -> Place | None:
    if part.instrument is None or note.pitch is None:
        return None
    if note.tie_stop and note.pitch.midi in held:
        return held[note.pitch.midi]
    free = [one for one in part.instrument.places(note.pitch.midi) if one.string not in taken]
    return min(free, key=lambda one: one.fret, default=None)


def _height(note: Note) -> int:
    return note.pitch.midi if note.pitch is not None else 0


def _cell(column: _Column, row: str, fill: str) -> str:
    text = column.cells.get(row, "")
    if column.is_bar:
        return text.ljust(column.width(), fill)
    return fill + text.ljust(column.width() + 1, fill)


def _head(part: Part) -> str:
    view = next(iter(measures(part, 1)))
    sign = any(one.keys for one in view.measure.attributes)
    words = [str(view.metre), str(view.key) if sign else "no key signature"]
    tempo = next((one for one in view.measure.directions if one.quarters_per_minute), None)
    if tempo is not None:
        words.append(f"quarter = {float(tempo.quarters_per_minute or 0):g}")
    if part.instrument is not None:
        words.append(part.instrument.tuning or "own tuning")
        if part.instrument.capo:
            words.append(f"capo {part.instrument.capo}")
    return ", ".join(words)


def _bars(measure: Measure, strings: int, side: str) -> dict[str, str]:
    """Return a barline as cells; repeats with their dots."""
    signs = [one for one in measure.barlines if one.location == side]
    text = "|"
    for one in signs:
        text = {"forward": "|:", "backward": ":|"}.get(one.repeat, text)
    return {str(string): text for string in range(1, strings + 1)}


def _columns(measure: Measure) -> list[_Column]:
    strings = 6
    endings = [one.ending for one in measure.barlines if one.ending]
    bracket = [f" [{number}." for number, kind, _ in endings if kind == "start"]
    number = "".join([measure.number, *bracket])
    bar = _Column({"number": number, **_bars(measure, strings, "left")}, True)
    found = [bar]
    moments: dict[tuple[int, bool, int], list[Event]] = {}
    for voice in measure.voices:
        for place, event in enumerate(voice.events):
            grace = event.grace is not None
            moments.setdefault((event.onset, not grace, place if grace else 0), []).append(event)
    chords = {one.onset: one for one in measure.harmonies}
    for (onset, is_main, _), events in sorted(moments.items()):
        cells = _event_cells(events, is_main=is_main)
        symbol = chords.pop(onset, None) if is_main else None
        if symbol is not None and symbol.root is not None:
            sign = {-1: "b", 0: "", 1: "#"}[symbol.root[1]]
            cells["chord"] = symbol.root[0] + sign
        words = [_words(one) for one in measure.directions if one.onset == onset and is_main]
        cells["sign"] = " ".join([*filter(None, [cells["sign"], *words])])
        found.append(_Column(cells))
    if any(one.repeat == "backward" for one in measure.barlines):
        found.append(_Column(_bars(measure, strings, "right"), True))
    return found


def _words(direction: Direction) -> str:
    return direction.words if not direction.quarters_per_minute else ""


def _event_cells(events: list[Event], *, is_main: bool) -> dict[str, str]:
    notes = [note for event in events for note in event.notes]
    names = "+".join(
        f"{note.pitch}{'~' if note.tie_start else ''}"
        for note in sorted(notes, key=lambda one: one.pitch.semitones if one.pitch else 0)
    )
    cells = {"name": names or "rest"}
    for note in notes:
        if note.place is not None:
            fret = str(note.place.fret)
            cells[str(note.place.string)] = f"({fret})" if note.tie_stop else fret
    cells["value"] = " ".join(dict.fromkeys(_value(event.value) for event in events))
    marks = [mark for event in events for mark in event.marks]
    marks += [mark for note in notes for mark in note.marks]
    shown = [mark.name for mark in marks if mark.name != "tuplet" and mark.role != "stop"]
    cells["sign"] = " ".join([*([] if is_main else ["grace"]), *shown])
    return cells


def _value(value: NoteValue) -> str:
    ratio = f"{value.actual}" if value.is_tuplet else ""
    return _VALUES.get(value.type, "?") + "." * value.dots + ratio
