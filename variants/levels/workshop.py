"""Results of chains of steps, each made once and shared by all plans, levels and ladders."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from variants.errors import ContractBroken, Refusal
from variants.fingering import Settings
from variants.levels.areas import AreaChoice
from variants.levels.level import Level
from variants.levels.loss import WEIGHTS, KeptNotes, Totals, kept, totals
from variants.levels.place import Failed, Placed, place
from variants.levels.profile import Profile, profile
from variants.score import Score
from variants.steps import parse_step
from variants.tune.kept import KeptTune
from variants.tune.kept import kept as compared
from variants.tune.line import Tune, line_like, tune_of
from variants.tune.phrases import PhraseStarts, phrase_starts, phrases_of

Chain = tuple[str, ...]
# Below it a listener no longer hears the tune but pieces of it (our judgement, unvalidated).
FLOOR = 0.85


@dataclass(frozen=True, slots=True)
class Node:
    """What a chain of steps makes of the source.

    Args:
        chain: The steps, written.
        score: The result.
        profile: Its profile.
        keeps: What each measure keeps of the source.
        stage: Stage of the last step; see `variants.levels.menu`.
    """

    chain: Chain
    score: Score
    profile: Profile
    keeps: tuple[KeptNotes, ...]
    stage: int


@dataclass(slots=True)
class Workshop:
    """A source and all that was made of it.

    Args:
        source: The score, of one part with an instrument.
        hand: The pupil's hand.
        wishes: What the player likes: open strings, a position.
        weights: What each kind of loss weighs.
        floor: The least share of what a version plays that must be the tune, 0 to 1.
        tune: Which line the tune is, as `variants.tune.line.tune_of` takes it.
        phrases: Printed numbers of the measures in which phrases begin; none: they are found.
    """

    source: Score
    hand: str | float = "medium"
    wishes: Settings = field(default_factory=Settings)
    weights: Mapping[str, float] = field(default_factory=lambda: dict(WEIGHTS))
    floor: float = FLOOR
    tune: str = "auto"
    phrases: tuple[str, ...] = ()
    root: Node = field(init=False)
    line: Tune = field(init=False)
    is_low: bool = field(init=False)
    starts: PhraseStarts = field(init=False)
    totals: Totals = field(init=False)
    _nodes: dict[Chain, Node | None] = field(init=False, default_factory=dict)
    _scores: dict[Chain, Score | str] = field(init=False, default_factory=dict)
    _profiles: dict[Chain, Profile] = field(init=False, default_factory=dict)
    _placed: dict[tuple[object, ...], Placed | Failed] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        found = profile(self.source, self.source.parts[0])
        self.line = tune_of(self.source.parts[0], wish=self.tune)
        self.is_low = self.line.kind in {"roots", "bottom"}
        keeps = kept(found, found, is_low=self.is_low)
        self.root = Node((), self.source, found, keeps, -1)
        self.totals = totals(keeps)
        self.starts = phrase_starts(self.source, self.line, said=self.phrases)
        self._nodes[()] = self.root
        self._scores[()] = self.source
        self._profiles[()] = found

    def node(self, chain: Chain, stage: int) -> Node | None:
        """Return what a chain makes; ``None`` if it is refused or changes no measure's music."""
        if chain not in self._nodes:
            self._nodes[chain] = self._made(chain, stage)
        return self._nodes[chain]

    def _made(self, chain: Chain, stage: int) -> Node | None:
        before = self._nodes.get(chain[:-1])
        score = self.score(chain)
        if isinstance(score, str) or before is None:
            return None
        found = self.profile(chain)
        if len(found.measures) != len(self.root.profile.measures):
            return None
        if found == before.profile:
            return None
        return Node(chain, score, found, kept(self.root.profile, found, is_low=self.is_low), stage)

    def score(self, chain: Chain) -> Score | str:
        """Return the result of a chain, or why it is refused."""
        if chain not in self._scores:
            before = self.score(chain[:-1])
            self._scores[chain] = before if isinstance(before, str) else _run(before, chain[-1])
        return self._scores[chain]

    def profile(self, chain: Chain) -> Profile:
        """Return the profile of a chain's result; the chain must not be refused."""
        if chain not in self._profiles:
            score = self.score(chain)
            if isinstance(score, str):
                raise Refusal(score)
            self._profiles[chain] = profile(score, score.parts[0])
        return self._profiles[chain]

    def kept(self, score: Score) -> KeptTune:
        """Return how much of the tune a version keeps."""
        version = line_like(self.line, score.parts[0])
        return compared(self.line.heights, version.heights)

    def tune_lost(self, chain: Chain) -> str:
        """Return what a chain loses of the tune, in words; empty for what may be lost.

        Too few of its notes are the tune, or an octave changes within a phrase.
        """
        score = self.score(chain)
        if isinstance(score, str):
            return score
        share = self.kept(score).is_tune
        if share < self.floor:
            return f"{share:.0%} of what it plays is the tune, and {self.floor:.0%} is asked for"
        folds = [at for at, text in enumerate(chain) if text.startswith("fold-octaves")]
        before = self.score(chain[: folds[0]]) if folds else None
        if isinstance(before, Score) and not self._folds_phrases(before, score):
            return "an octave would change within a phrase"
        return ""

    def _folds_phrases(self, before: Score, after: Score) -> bool:
        """Whether all notes of each phrase of the tune moved by the same number of octaves.

        Where the whole tune did, it has but another key, which is a plan of its own.
        """
        line, moved = (line_like(self.line, one.parts[0]) for one in (before, after))
        if len(line.notes) != len(moved.notes):
            return False
        ways = [b - a for a, b in zip(line.heights, moved.heights, strict=True)]
        return len(set(ways)) > 1 and all(
            len(set(ways[phrase.first : phrase.last + 1])) == 1
            for phrase in phrases_of(before, before.parts[0], line)
        )

    def place(
        self, chain: Chain, level: Level, choices: tuple[AreaChoice, ...], *, rank: int = 0
    ) -> Placed | Failed:
        """Return the result of a chain, fingered within a level."""
        limits = level.limits
        hand = (limits.stretch, limits.shift, limits.barres, limits.fingers, level.practice_tempo)
        # Chains that come to the same notes and rhythm come to the same fingering.
        key = (self.profile(chain), choices, rank, *hand)
        if key not in self._placed:
            score = self.score(chain)
            if isinstance(score, str):
                return Failed("steps", score)
            self._placed[key] = place(
                score, level, choices, hand=self.hand, wishes=self.wishes, rank=rank
            )
        return self._placed[key]


def _run(score: Score, text: str) -> Score | str:
    """Return what a step makes of a score, or why it is refused."""
    try:
        return parse_step(text)(score)
    except (Refusal, ContractBroken) as error:
        return str(error)
