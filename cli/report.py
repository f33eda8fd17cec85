"""What is said of a variant, in words and as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from variants.cautions import STRETCH
from variants.contract import Promise
from variants.music import Interval
from variants.score import Change, Instrument, MeasureView, Part, key_at_start, measures
from variants.steps import describe_step, step_name
from variants.survey import positions_text
from variants.survey.pitches import pitch_facts
from variants.variant import Variant

from .text import count, fields, wrapped

# A short report shows so many different lines of a step, and so many places of one line.
_SHORT_LINES = 6
_SHORT_PLACES = 3
# Of a large score the first parts are summed up; the changes name all of them.
_SHORT_PARTS = 4
_HEADS = {"read": "while reading", "fingering": "fingering", "write": "while writing"}


def variant_json(
    variant: Variant, *, source: str, output: str, explains: bool = False
) -> dict[str, Any]:
    """Return the report of a variant as JSON values, with the hand at each moment if asked for."""
    hands = {"hands": list(_hands_json(variant))} if explains else {}
    part = _main_part(variant)
    facts = pitch_facts(part)
    return {
        "source": source,
        "output": output,
        "steps": [describe_step(step) for step in variant.steps],
        "part": part.id,
        "key": key_text(part) or None,
        "range": None
        if facts.lowest is None or facts.highest is None
        else {"lowest": str(facts.lowest), "highest": str(facts.highest)},
        "positions": hand_text(variant) or None,
        "interval": None if variant.interval is None else str(variant.interval),
        "kept": [promise.value for promise in _ordered(variant.kept)],
        "changes": [
            {
                "measure": change.measure,
                "beat": change.beat,
                "step": change.step,
                "message": change.message,
            }
            for change in variant.changes
        ],
        **hands,
    }


def variant_lines(
    variant: Variant, *, source: str, output: str, explains: bool = False
) -> list[str]:
    """Return the report of a variant for the terminal.

    Args:
        variant: The variant.
        source: Name of the source.
        output: Name of what was written.
        explains: Leave nothing out.
    """
    title = f"{variant.score.title}: " if variant.score.title else ""
    lines = wrapped(f"{title}{source} -> {output}", other="  ")
    rows = [("steps", " -> ".join(map(describe_step, variant.steps)) or "none")]
    parts = variant.score.parts
    if len(parts) > 1:
        rows.append(("parts", f"{len(parts)}, all moved together"))
    for index, part in enumerate(parts[:_SHORT_PARTS]):
        if len(parts) > 1:
            rows.append(("part", part.name or part.id))
        rows += _part_rows(part, _positions(variant, index))
    rows.append(("kept", "; ".join(promise.meaning for promise in _ordered(variant.kept))))
    lines += fields(rows, indent=2)
    if explains:
        lines += _promises(variant)
    lines += _changes(variant.changes, is_full=explains, many=len(variant.score.parts) > 1)
    if explains:
        lines += _hands(variant)
    return lines


def _part_rows(part: Part, positions: str) -> list[tuple[str, str]]:
    return [
        ("key", key_text(part) or "no signature"),
        ("range", range_text(part)),
        ("strings", strings_text(part.instrument)),
        ("positions", positions),
    ]


def _main_part(variant: Variant) -> Part:
    """Return the part that the summary is about: the first for guitar, else the first."""
    parts = variant.score.parts
    return next((part for part in parts if part.instrument is not None), parts[0])


def _ordered(kept: Iterable[Promise]) -> list[Promise]:
    return [promise for promise in Promise if promise in set(kept)]


def key_text(part: Part) -> str:
    """Return the key that a part begins in; empty without a signature."""
    key = key_at_start(part)
    return str(key) if key is not None else ""


def range_text(part: Part) -> str:
    """Return the range of a part in words: sounding, and written where that differs."""
    facts = pitch_facts(part)
    if facts.lowest is None or facts.highest is None:
        return "no pitches"
    sounding = f"sounds {facts.lowest} to {facts.highest}"
    if facts.written == Interval(0, 0):
        return f"{sounding}, as written"
    return f"{sounding}, written {facts.lowest + facts.written} to {facts.highest + facts.written}"


def strings_text(instrument: Instrument | None) -> str:
    """Return tuning and capo in words; empty without an instrument."""
    if instrument is None:
        return ""
    notes = "-".join(str(pitch) for pitch in reversed(instrument.open_strings))
    name = "" if instrument.tuning in ("", notes) else f"{instrument.tuning} "
    capo = f", capo at fret {instrument.capo}" if instrument.capo else ", no capo"
    return f"{name}{notes}{capo}"


def hand_text(variant: Variant) -> str:
    """Return the positions of the hand; empty if nothing was fingered."""
    texts = [_positions(variant, index) for index in sorted(variant.hands)]
    return "; ".join(text for text in texts if text)


def _positions(variant: Variant, index: int) -> str:
    return positions_text([place.hand for place in variant.hands.get(index, ())])


def _promises(variant: Variant) -> list[str]:
    if not variant.steps:
        return []
    lines = ["", "What each step keeps, proven on this score"]
    for step in variant.steps:
        meanings = "; ".join(promise.meaning for promise in _ordered(step.keeps))
        lines += wrapped(f"{step_name(step)}: {meanings}", first="  ", other="    ")
    return lines


def _changes(changes: Sequence[Change], *, is_full: bool, many: bool) -> list[str]:
    by_step: dict[str, dict[tuple[str, str], list[Change]]] = {}
    for change in changes:
        same = by_step.setdefault(change.step, {})
        same.setdefault((change.message, change.part), []).append(change)
    lines = ["", f"Changes ({len(changes)})" if changes else "No changes"]
    shortened = False
    # What reading assumed comes first, although parts are chosen before it.
    for step, messages in sorted(by_step.items(), key=lambda item: item[0] != "read"):
        lines.append(f"  {_HEADS.get(step, step)}")
        shown = list(messages.items())
        if not is_full:
            shown = shown[:_SHORT_LINES]
        for (message, part), found in shown:
            places, is_cut = _places(found, is_full=is_full)
            shortened = shortened or is_cut
            where = f"{places}: " if places else ""
            whose = f"{part}: " if many and part else ""
            lines += wrapped(f"{whose}{where}{message}", first="    ", other="      ")
        left = sum(map(len, messages.values())) - sum(len(found) for _, found in shown)
        if left:
            shortened = True
            lines.append(f"    and {left} more")
    return [*lines, "  (--explain lists them all)"] if shortened else lines


def _places(changes: Sequence[Change], *, is_full: bool) -> tuple[str, bool]:
    """Return where a message holds, and whether places were left out."""
    texts = [_place(change) for change in changes if change.measure]
    shown = texts if is_full or len(texts) <= _SHORT_PLACES + 1 else texts[:_SHORT_PLACES]
    left = len(texts) - len(shown)
    more = f" and {count(left, 'more place')}" if left else ""
    return "; ".join(shown) + more, bool(left)


def _place(change: Change) -> str:
    beat = f", beat {change.beat}" if change.beat else ""
    return f"measure {change.measure}{beat}"


def _hands(variant: Variant) -> list[str]:
    lines: list[str] = []
    for index, places in sorted(variant.hands.items()):
        part = variant.score.parts[index]
        views = measures(part, variant.score.ticks)
        lines += ["", f"The hand in {part.name or part.id} (a lower cost is better)"]
        for place in places:
            where = _moment(views[place.measure], place.tick)
            lines += wrapped(f"{where}: {place.hand.sentence()}", first="  ", other="    ")
    if lines:
        lines += ["", *wrapped(STRETCH[:1].upper() + STRETCH[1:] + ".")]
    return lines


def _moment(view: MeasureView, tick: int) -> str:
    return f"measure {view.measure.number}, beat {view.beat_text(tick)}"


def _hands_json(variant: Variant) -> Iterator[dict[str, Any]]:
    for index, places in sorted(variant.hands.items()):
        part = variant.score.parts[index]
        views = measures(part, variant.score.ticks)
        for place in places:
            view = views[place.measure]
            yield {
                "part": part.id,
                "measure": view.measure.number,
                "beat": view.beat_text(place.tick),
                "position": place.hand.position,
                "stretch_mm": place.hand.stretch_mm,
                "travel_mm": place.hand.travel_mm,
                "reason": place.hand.sentence(),
            }
