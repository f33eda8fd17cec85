"""The one order of playing: repeats, endings and jumps of a score, all parts together.

The step that writes repeats out, the sound, the page and the proofreader all ask it. Where the
signs leave a doubt, it says in one line what was taken.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from variants.errors import Refusal
from variants.score.model import Score
from variants.score.signs import Barline, Direction

# Words of directions that are no longer than a sign: remarks may speak of a fine tone.
_LONGEST_SIGN = 40
_WORDS = {
    # "D.C.", "D. C." and "DC", but not the chords of "G D C".
    "dacapo": re.compile(r"\bd(?:\.\s*)?c\b|\bda\s+capo\b", re.IGNORECASE),
    "dalsegno": re.compile(r"\bd(?:\.\s*)?s\b|\bdal\s+segno\b", re.IGNORECASE),
    "tocoda": re.compile(r"\bto\s+coda\b", re.IGNORECASE),
    "fine": re.compile(r"(?<!\bal )\bfine\b", re.IGNORECASE),
    "coda": re.compile(r"^\W*coda\b", re.IGNORECASE),
}
_SOUND = re.compile(r"\b(dacapo|dalsegno|tocoda|fine|segno|coda)=[\"']([^\"']*)[\"']")
_PICTURES = {
    "segno": re.compile(r"<segno\b"),
    "coda": re.compile(r"<coda\b"),
}
JUMPS = frozenset({"dacapo", "dalsegno", "tocoda", "fine"})
_ASKED = re.compile(r"\bal(?:la)?\s+(fine|coda)\b", re.IGNORECASE)
_SPAN = re.compile(r"(\d{1,4})(?:\s*-\s*(\d{1,4}))?")
_MOST_PASSES = 99
# A longer piece is a mistake in its signs, or nothing to print.
MOST_MEASURES = 10_000


@dataclass(frozen=True, slots=True)
class Ending:
    """An ending bracket: its first and last measure, and the passes that it is for."""

    first: int
    last: int
    passes: frozenset[int]


@dataclass(slots=True)
class Signs:
    """All signs of a score; measures are counted from 0.

    Args:
        length: Number of measures.
        forward: Measures that begin with a repeat sign.
        backward: Measures that end with one, with its number of times (0: not said).
        endings: Ending brackets in order.
        jumps: For each jump sign the measures that have it, with what it points to.
        targets: For ``segno`` and ``coda`` the measures that have it, with its label.
        al_fine: Measures whose jump says that it goes to the fine.
    """

    length: int
    forward: set[int] = field(default_factory=set)
    backward: dict[int, int] = field(default_factory=dict)
    endings: list[Ending] = field(default_factory=list)
    jumps: dict[str, dict[int, str]] = field(default_factory=dict)
    targets: dict[str, dict[int, str]] = field(default_factory=dict)
    al_fine: set[int] = field(default_factory=set)

    @property
    def is_empty(self) -> bool:
        """Whether the score is played from first to last measure as it is printed."""
        return not (self.forward or self.backward or self.endings or self.jumps or self.targets)


def signs_of(score: Score) -> Signs:
    """Return the signs of a score; one that any part has holds for all."""
    length = max((len(part.measures) for part in score.parts), default=0)
    found = Signs(length)
    for part in score.parts:
        opened: tuple[int, str] | None = None
        for index, measure in enumerate(part.measures):
            for barline in _in_order(measure.barlines):
                if barline.repeat == "forward":
                    found.forward.add(index)
                elif barline.repeat == "backward":
                    found.backward[index] = max(barline.times, found.backward.get(index, 0))
                opened = _ending(found, index, barline, opened)
                for extra in barline.carried:
                    if extra.name in _PICTURES:
                        found.targets.setdefault(extra.name, {}).setdefault(index, "")
            for direction in measure.directions:
                _read_direction(found, index, direction)
    _settle_codas(found)
    found.endings.sort(key=lambda one: one.first)
    return found


def _in_order(barlines: Iterable[Barline]) -> list[Barline]:
    order = {"left": 0, "middle": 1, "right": 2}
    return sorted(barlines, key=lambda one: order.get(one.location, 1))


def _ending(
    found: Signs, index: int, barline: Barline, opened: tuple[int, str] | None
) -> tuple[int, str] | None:
    """Read the ending of a barline; return the bracket that is open after it."""
    if barline.ending is None:
        return opened
    number, kind, _ = barline.ending
    if kind == "start":
        return index, number
    if opened is not None:
        ending = Ending(opened[0], index, frozenset(passes(opened[1])))
        if ending not in found.endings:
            found.endings.append(ending)
    return None


def passes(text: str) -> Iterator[int]:
    """Yield the passes that an ending is for: ``1, 2`` and ``1-3`` name several."""
    for first, last in _SPAN.findall(text):
        yield from range(int(first), min(int(last or first), _MOST_PASSES) + 1)


def signs_in(direction: Direction) -> dict[str, str]:
    """Return the jump signs of a direction with what each points to.

    >>> signs_in(Direction(0, "<direction-type><words>D.C. al Fine</words></direction-type>",
    ...     words="D.C. al Fine"))
    {'dacapo': ''}
    """
    pictures = [name for name, pattern in _PICTURES.items() if pattern.search(direction.xml)]
    return named_signs(direction.words, dict(_SOUND.findall(direction.sound)), pictures)


def named_signs(words: str, sound: Mapping[str, str], pictures: Iterable[str]) -> dict[str, str]:
    """Return the jump signs of a direction with what each points to.

    Args:
        words: What is printed.
        sound: Attributes of its ``sound`` element that speak of jumps.
        pictures: Which of ``segno`` and ``coda`` are drawn.
    """
    found = dict(sound)
    if words and len(words) < _LONGEST_SIGN:
        found |= {
            name: "" for name, text in _WORDS.items() if name not in found and text.search(words)
        }
    for name in pictures:
        # A coda sign beside "To Coda" shows the way to it.
        if not (name == "coda" and "tocoda" in found):
            found.setdefault(name, "")
    return found


def asked_for(words: str) -> frozenset[str]:
    """Return which of ``fine`` and ``coda`` a jump in words goes on to.

    >>> sorted(asked_for("D.S. al Coda")), sorted(asked_for("a fine, warm tone"))
    (['coda'], [])
    """
    return frozenset(map(str.lower, _ASKED.findall(words if len(words) < _LONGEST_SIGN else "")))


def _read_direction(found: Signs, index: int, direction: Direction) -> None:
    if "fine" in asked_for(direction.words):
        found.al_fine.add(index)
    for name, label in signs_in(direction).items():
        shelf = found.jumps if name in JUMPS else found.targets
        shelf.setdefault(name, {}).setdefault(index, label)


def _settle_codas(found: Signs) -> None:
    """Take the first of two coda signs for the way to the second where no words say so."""
    codas = found.targets.get("coda", {})
    if len(codas) > 1 and "tocoda" not in found.jumps:
        first = min(codas)
        found.jumps["tocoda"] = {first: codas.pop(first)}


@dataclass(frozen=True, slots=True)
class Playing:
    """How a score is played.

    Args:
        order: The index of each measure, as it is played.
        doubts: What was taken where the signs do not say it, one line each.
        lost: Why the signs cannot be followed to the letter; ``None`` where they can.
    """

    order: tuple[int, ...]
    doubts: tuple[str, ...] = ()
    lost: Refusal | None = None


def playing(score: Score) -> Playing:
    """Return how a score is played.

    Common practice: a section is played twice unless its sign says how often; endings by their
    numbers; after da capo or dal segno repeats are not taken, the last ending is, and the way to
    the coda and the fine hold. A jump that leads nowhere is not taken.
    """
    return score.kept(_played)


def _played(score: Score) -> Playing:
    signs = signs_of(score)
    longest = max(score.parts, key=lambda part: len(part.measures), default=None)
    names = tuple(measure.number for measure in longest.measures) if longest else ()
    return _Player(signs, names).played()


@dataclass(slots=True)
class _Player:
    """Where playing stands."""

    signs: Signs
    names: tuple[str, ...]
    at: int = 0
    section: int = 0
    round: int = 1
    jumped: bool = False
    asks_for_fine: bool = False
    taken: set[tuple[str, int]] = field(default_factory=set)
    order: list[int] = field(default_factory=list)
    doubts: dict[str, None] = field(default_factory=dict)
    lost: Refusal | None = None

    def played(self) -> Playing:
        while self.at < self.signs.length:
            if len(self.order) >= MOST_MEASURES:
                self.lost = Refusal(
                    f"the repeats come to more than {MOST_MEASURES} measures",
                    way_out="check the numbers of its repeats and endings",
                )
                self.doubts = {f"{self.lost.cause}: it is played once through": None}
                self.order = list(range(self.signs.length))
                break
            if self.at in self.signs.forward and self.at != self.section:
                self.section, self.round = self.at, 1
            ending = self._ending()
            if ending is not None and not self._is_for_now(ending):
                self.at = ending.last + 1
                continue
            self.order.append(self.at)
            if self._ends_here():
                break
            self.at = self._next(ending)
        if self.jumped and self.asks_for_fine and self.at >= self.signs.length:
            self._doubt("it says al Fine, and there is no Fine: it is played to the end")
        return Playing(tuple(self.order), tuple(self.doubts), self.lost)

    def _doubt(self, text: str) -> None:
        self.doubts.setdefault(text)

    def _ending(self) -> Ending | None:
        """Return the bracket over this measure."""
        return next((one for one in self.signs.endings if one.first <= self.at <= one.last), None)

    def _group(self, ending: Ending) -> list[Ending]:
        """Return the brackets that stand side by side with one, itself included."""
        group = [ending]
        for one in self.signs.endings:
            if one.first == group[-1].last + 1:
                group.append(one)
        for one in reversed(self.signs.endings):
            if one.last == group[0].first - 1:
                group.insert(0, one)
        return group

    def _is_for_now(self, ending: Ending) -> bool:
        if self.at != ending.first or not ending.passes:
            return True
        if self.jumped:
            return ending == self._group(ending)[-1]
        return self.round in ending.passes

    def _total(self, ending: Ending | None) -> int:
        """Return how often the section is played."""
        if ending is None:
            return self.signs.backward[self.at] or 2
        numbers = [number for one in self._group(ending) for number in one.passes]
        return max([*numbers, 2])

    def _ends_here(self) -> bool:
        return self.jumped and self.at in self.signs.jumps.get("fine", {})

    def _next(self, ending: Ending | None) -> int:
        """Return the measure that follows."""
        here = self.at
        if here in self.signs.backward and self.jumped:
            self._doubt("after the jump back repeats are not taken again")
        if here in self.signs.backward and not self.jumped:
            if self.round < self._total(ending):
                if self.section and self.section not in self.signs.forward:
                    self._doubt(
                        f"no sign says where the repeat at the end of measure {self.names[here]}"
                        f" begins: it goes back to measure {self.names[self.section]}"
                    )
                self.round += 1
                return self.section
            self.section, self.round = here + 1, 1
        elif ending is not None and here == ending.last and not self.jumped:
            self.section, self.round = here + 1, 1
        jump = self._jump(here)
        return here + 1 if jump is None else jump

    def _jump(self, here: int) -> int | None:
        """Return where a jump at the end of a measure leads, if it is taken now."""
        for name, where in (("dalsegno", "segno"), ("dacapo", ""), ("tocoda", "coda")):
            signs = self.signs.jumps.get(name, {})
            if here not in signs or (name, here) in self.taken:
                continue
            if (name == "tocoda") != self.jumped:
                continue
            self.taken.add((name, here))
            target = self._target(where, signs[here], here) if where else 0
            if target is None:
                continue
            self.jumped = name != "tocoda"
            self.asks_for_fine = self.jumped and here in self.signs.al_fine
            if name == "tocoda":
                # Behind the coda sign repeats are taken again.
                self.section, self.round = target, 1
            return target
        return None

    def _target(self, name: str, label: str, here: int) -> int | None:
        found = self.signs.targets.get(name, {})
        named = [index for index, own in found.items() if label and own == label]
        places = named or sorted(found)
        if name == "coda":
            places = [index for index in places if index > here] or places
        if not places:
            cause = f"a jump leads to a {name}, and there is none"
            self.lost = self.lost or Refusal(
                cause, way_out=f"set the {name} sign in the score, or take the jump out"
            )
            self._doubt(f"{cause}: it is not taken")
            return None
        if len(places) > 1:
            at = self.names[places[0]]
            self._doubt(f"there are {len(places)} {name} signs: the one at measure {at} is taken")
        return places[0]
