"""What a step may promise, in words, and what follows from several promises."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from functools import lru_cache


class Promise(Enum):
    """What a step can promise about its result, compared with its input."""

    SOUNDING_PITCHES = "sounding-pitches"
    PITCH_CLASSES = "pitch-classes"
    SHIFTED_PITCH_CLASSES = "shifted-pitch-classes"
    PITCH_CLASS_SUBSET = "pitch-class-subset"
    PITCH_CLASS_ORDER = "pitch-class-order"
    PITCH_CLASS_SUBSEQUENCE = "pitch-class-subsequence"
    TOP_LINE = "top-line"
    ROOTS = "roots"
    ONSETS = "onsets"
    MAIN_ONSETS = "main-onsets"
    ONSET_SUBSET = "onset-subset"
    DURATIONS = "durations"
    SOURCE_NOTES = "source-notes"
    MEASURE_LENGTHS = "measure-lengths"
    CHORD_TONES = "chord-tones"

    @property
    def meaning(self) -> str:
        """The promise in plain words."""
        return _MEANINGS[self]


_MEANINGS = {
    Promise.SOUNDING_PITCHES: "the same sounding pitches at each onset",
    Promise.PITCH_CLASSES: "the same pitch classes at each onset",
    Promise.SHIFTED_PITCH_CLASSES: "the same pitch classes, all moved by one interval",
    Promise.PITCH_CLASS_SUBSET: "no new pitch class at any onset",
    Promise.PITCH_CLASS_ORDER: "the same pitch classes in the same order",
    Promise.PITCH_CLASS_SUBSEQUENCE: "some of the pitch classes, in their order",
    Promise.TOP_LINE: "the pitch class of the highest note at each onset",
    Promise.ROOTS: "the root of each chord",
    Promise.ONSETS: "the same onsets",
    Promise.MAIN_ONSETS: "the same onsets, grace notes aside",
    Promise.ONSET_SUBSET: "no new onset",
    Promise.DURATIONS: "how long each note sounds",
    Promise.SOURCE_NOTES: "every note of the source, with others added",
    Promise.MEASURE_LENGTHS: "the length of every measure",
    Promise.CHORD_TONES: (
        "the chord symbols, and under each no new notes but its own, root or bass in every chord"
    ),
}


# What a step promises that leaves all times as they are.
TIMES = frozenset({Promise.ONSETS, Promise.DURATIONS, Promise.MEASURE_LENGTHS})

# A promise about single onsets is broken by an onset that the source does not have.
_ONSETWISE = frozenset(
    {
        Promise.SOUNDING_PITCHES,
        Promise.PITCH_CLASSES,
        Promise.SHIFTED_PITCH_CLASSES,
        Promise.PITCH_CLASS_SUBSET,
        Promise.TOP_LINE,
        Promise.ROOTS,
        Promise.ONSETS,
        Promise.MAIN_ONSETS,
        Promise.DURATIONS,
    }
)


def implied(promises: Iterable[Promise]) -> frozenset[Promise]:
    """Return the promises with all that follow from them.

    >>> sorted(p.value for p in implied({Promise.TOP_LINE}))
    ['onset-subset', 'top-line']
    """
    return _implied(frozenset(promises))


@lru_cache(maxsize=1024)
def _implied(given: frozenset[Promise]) -> frozenset[Promise]:
    known = set(given)
    if Promise.SOUNDING_PITCHES in known:
        known |= {Promise.PITCH_CLASSES, Promise.TOP_LINE}
    if Promise.PITCH_CLASSES in known:
        # A shift by a unison; the root is one of the classes, so it is kept with them.
        known |= {Promise.SHIFTED_PITCH_CLASSES, Promise.PITCH_CLASS_SUBSET, Promise.ROOTS}
        known.add(Promise.PITCH_CLASS_SUBSEQUENCE)
        if Promise.ONSETS in known:
            known.add(Promise.PITCH_CLASS_ORDER)
    if known >= {Promise.SOUNDING_PITCHES, Promise.ONSETS, Promise.DURATIONS}:
        known.add(Promise.SOURCE_NOTES)
    if Promise.ONSETS in known:
        known.add(Promise.MAIN_ONSETS)
    if Promise.PITCH_CLASS_ORDER in known:
        known.add(Promise.PITCH_CLASS_SUBSEQUENCE)
    if known & _ONSETWISE:
        known.add(Promise.ONSET_SUBSET)
    return frozenset(known)


def strongest(promises: Iterable[Promise]) -> frozenset[Promise]:
    """Return the promises without those that follow from the others.

    >>> sorted(p.value for p in strongest(implied({Promise.PITCH_CLASSES, Promise.ONSETS})))
    ['onsets', 'pitch-classes']
    """
    return _strongest(frozenset(promises))


@lru_cache(maxsize=1024)
def _strongest(given: frozenset[Promise]) -> frozenset[Promise]:
    return frozenset(p for p in given if p not in implied(given - {p}))


def composed(first: Iterable[Promise], then: Iterable[Promise]) -> frozenset[Promise]:
    """Return what two steps in a row promise together, all that follows included.

    Every promise but one is a transitive relation, so it holds if both keep it. Roots are
    told from the notes that a step is given, so they survive only where the first step leaves
    every pitch alone or the second every pitch class.
    """
    one, two = implied(first), implied(then)
    both = set(one & two)
    both.discard(Promise.ROOTS)
    if (Promise.SOUNDING_PITCHES in one and Promise.ROOTS in two) or (
        Promise.ROOTS in one and Promise.PITCH_CLASSES in two
    ):
        both.add(Promise.ROOTS)
    return implied(both)
