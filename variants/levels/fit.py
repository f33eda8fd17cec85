"""Fit a piece to a level: the version that gives up least, proven, fingered, and checked again."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from variants.errors import ContractBroken, Refusal, UsageError
from variants.levels.areas import choices
from variants.levels.check import Obstacle, meets
from variants.levels.ladders import comes_and_goes, is_same, kinds_of, musical, steadiest
from variants.levels.level import Level
from variants.levels.loss import WEIGHTS, total
from variants.levels.place import Failed, Placed
from variants.levels.plan import FitPlan
from variants.levels.search import TRIES, Search
from variants.levels.workshop import FLOOR, Workshop
from variants.marks import parse_marks
from variants.musicxml import Reading, Staves, read_raw, settle_octaves
from variants.score import Measure, Place, Score
from variants.steps import parse_step
from variants.tune.kept import KeptTune
from variants.variant import FingeringWish, Variant, Wishes, make_ready, make_variant, written

_HALF = 0.5
# A ladder looks at plans of other kinds that lose so much more than the best, and at so many.
_MORE_LOSS = 1.5
_MOST_KINDS = 4
# Level, versions fingered so far, the most that will be.
Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class Fit:
    """A version that meets a level.

    Args:
        level: The level.
        plan: The steps and what they give up.
        variant: The version, each step proven.
        wishes: What it was fingered with.
        kept: How much of the tune it keeps.
        same_as: Name of the easier level of a ladder whose version is the same; empty for none.
    """

    level: Level
    plan: FitPlan
    variant: Variant
    wishes: Wishes
    kept: KeptTune
    same_as: str = ""

    @property
    def remarks(self) -> tuple[str, ...]:
        """What a teacher should know of it before it is handed over."""
        found = []
        if self.plan.losses.get("tempo", 0.0) > _HALF:
            percent = round(100 * (1 - self.plan.losses["tempo"]))
            found.append(f"at {percent}% of its tempo the tune changes its character")
        if self.plan.losses.get("area", 0.0) and self.level.areas:
            own = self.level.areas[-1]
            found.append(
                f"it is played where an easier level plays; {own.words}, which {self.level.name}"
                " teaches, would need more given up"
            )
        return tuple(found)


@dataclass(frozen=True, slots=True)
class NoFit:
    """No plan meets the level.

    Args:
        level: The level.
        nearest: The plan that came nearest; ``None`` where nothing could be tried.
        tried: How many versions were fingered.
        next_level: Name of the nearest level whose version keeps the tune; empty for none.
    """

    level: Level
    nearest: FitPlan | None
    tried: int
    next_level: str = ""

    def sentence(self) -> str:
        """Return what blocks the level, in one sentence."""
        instead = f"; {self.next_level} keeps the tune" if self.next_level else ""
        if self.nearest is None:
            return f"no plan comes near {self.level.name}{instead}"
        causes = "; ".join(text for _, text in self.nearest.blocked) or "the fingering"
        steps = " -> ".join(self.nearest.steps) or "the piece as it is"
        nearest = f"nearest is {steps}, which is blocked: {causes}"
        return f"nothing meets {self.level.name}; {nearest}{instead}"


@dataclass(slots=True)
class Fitter:
    """Fits one piece to levels; what is found for one level is shared with the next.

    Args:
        score: As read.
        wishes: How versions are made.
        weights: What each kind of loss weighs.
        tries: Most versions that are fingered for a level.
        progress: Is told the level searched, the versions fingered so far, the most allowed.
        has_level_marks: Print what the level says beside the notes, not what the wishes say.
        floor: The least share of what a version plays that must be the tune, 0 to 1.
        tune: Which line the tune is: ``auto``, ``top``, ``bottom``, ``roots`` or ``voice N``.
        phrases: Printed numbers of the measures in which phrases begin; none: they are found.
    """

    score: Score
    wishes: Wishes
    weights: Mapping[str, float] = field(default_factory=lambda: dict(WEIGHTS))
    tries: int = TRIES
    progress: Progress = field(default=lambda *_: None)
    has_level_marks: bool = True
    floor: float = FLOOR
    tune: str = "auto"
    phrases: tuple[str, ...] = ()
    source: Score = field(init=False)
    workshop: Workshop = field(init=False)

    def __post_init__(self) -> None:
        self.source = fit_source(self.score, self.wishes)
        hand = self.wishes.settings.hand
        if not isinstance(hand, str | int | float):
            raise UsageError("a fit needs a hand by name or span", way_out="use --hand")
        self.workshop = Workshop(
            self.source,
            hand=hand,
            wishes=self.wishes.settings,
            weights=self.weights,
            floor=self.floor,
            tune=self.tune,
            phrases=self.phrases,
        )

    def fits(
        self, level: Level, *, most: int = 1, of_other_kinds: bool = False
    ) -> tuple[Fit, ...] | NoFit:
        """Return the best versions for a level, the least loss first, at most so many.

        Every version is checked by `variants.levels.check.meets` on its written file.

        Args:
            level: The level.
            most: Most versions.
            of_other_kinds: Each by other kinds of change, and none much worse than the best.
        """

        def tell(fingered: int) -> None:
            self.progress(level.name, fingered, self.tries)

        search = Search(self.workshop, level, tries=self.tries, progress=tell)
        tell(0)
        found: list[Fit] = []
        for plan in search.plans():
            if of_other_kinds and found:
                if plan.total > found[0].plan.total + _MORE_LOSS:
                    break
                if any(kinds_of(one.plan) == kinds_of(plan) for one in found):
                    continue
            fit = self._first_that_holds(level, plan, search)
            if isinstance(fit, Fit):
                found.append(fit)
                if len(found) == most:
                    break
            else:
                search.note(replace(plan, placed=None, blocked=fit))
        return tuple(found) if found else NoFit(level, search.nearest, search.fingered)

    def _first_that_holds(
        self, level: Level, plan: FitPlan, search: Search
    ) -> Fit | tuple[tuple[str, str], ...]:
        """Return the version of a plan at the first place on the neck that passes the check."""
        first = fit = self._made(level, plan)
        other: FitPlan | None = plan
        while not isinstance(fit, Fit) and other is not None:
            other = search.placed_again(other)
            if other is not None:
                fit = self._made(level, other)
        return fit if isinstance(fit, Fit) else first

    def _made(self, level: Level, plan: FitPlan) -> Fit | tuple[tuple[str, str], ...]:
        """Return the version of a plan, or the limits that it breaks once it is written."""
        if plan.placed is None:
            return (("areas", "it has no place on the neck"),)
        wishes = replace(self.wishes, settings=plan.placed.settings)
        if self.has_level_marks and level.print:
            wishes = replace(wishes, marks=parse_marks(level.print))
        if not plan.steps:
            return self._under(level, plan, replace(wishes, fingering="as-is"))
        fit = self._under(level, plan, wishes)
        if isinstance(fit, Fit) or wishes.fingering != "keep":
            return fit
        # What somebody decided may lie outside the level; the level goes first.
        return self._under(level, plan, replace(wishes, fingering="fill"))

    def _under(
        self, level: Level, plan: FitPlan, wishes: Wishes
    ) -> Fit | tuple[tuple[str, str], ...]:
        try:
            steps = [parse_step(text) for text in plan.steps]
            variant = make_variant(self.score, steps, wishes)
        except (Refusal, ContractBroken) as error:
            return (("steps", str(error)),)
        obstacles = check_written(variant.score, level, hand=self.workshop.hand)
        if obstacles:
            return tuple((one.limit, str(one)) for one in obstacles[:3])
        return Fit(level, plan, variant, wishes, self.workshop.kept(variant.score))

    def ladder(self, levels: Sequence[Level]) -> list[Fit | NoFit]:
        """Return a version for each level of a ladder, the easiest first.

        Each is no harder than the next: where an easier level's version loses less than what the
        search found for a level that allows it too, that version is taken. Kinds of change that an
        easier level does without are avoided. A version that is an easier level's again says so;
        a level without one names the next that has one.
        """
        every = [self.fits(level) for level in levels]
        best = [one[0] for one in every if not isinstance(one, NoFit)]
        if comes_and_goes([one.plan for one in best]):
            rows = [self._ways(one) for one in best]
            chosen = steadiest([[one.plan for one in row] for row in rows])
            best = [row[at] for row, at in zip(rows, chosen, strict=True)]
        left = iter(best)
        found: list[Fit | NoFit] = []
        for one in every:
            before = next((done for done in reversed(found) if isinstance(done, Fit)), None)
            now = one if isinstance(one, NoFit) else next(left)
            found.append(self._no_worse(now, before) if before is not None else now)
        return _named(found)

    def _ways(self, best: Fit) -> tuple[Fit, ...]:
        found = self.fits(best.level, most=_MOST_KINDS, of_other_kinds=True)
        return (best,) if isinstance(found, NoFit) else found

    def _no_worse(self, now: Fit | NoFit, before: Fit) -> Fit | NoFit:
        """Return an easier level's version where it loses less to a listener and is allowed."""
        is_better = isinstance(now, NoFit) or (
            musical(before.plan, self.weights) < musical(now.plan, self.weights)
        )
        same = self._again(now.level, before) if is_better else None
        return same if same is not None else now

    def next_level(self, level: Level, levels: Sequence[Level]) -> str:
        """Return the name of the nearest level after one whose version keeps the tune.

        Args:
            level: A level that has no version.
            levels: The levels of a ladder, the easiest first.
        """
        names = [one.name for one in levels]
        harder = levels[names.index(level.name) + 1 :] if level.name in names else levels
        return next((one.name for one in harder if not isinstance(self.fits(one), NoFit)), "")

    def placed_otherwise(self, fit: Fit) -> tuple[str, ...]:
        """Return the measures in which the same steps alone, as a recipe, are placed otherwise.

        The fingering of a fit stays within its level; a recipe knows the steps and no level.
        """
        steps = [parse_step(text) for text in fit.plan.steps]
        # A piece without a step keeps its places in a recipe too, which has no word for more.
        wishes = replace(self.wishes, fingering=_in_recipe(fit.wishes.fingering))
        free = make_variant(self.score, steps, wishes).score.parts[0].measures
        pairs = zip(free, fit.variant.score.parts[0].measures, strict=True)
        return tuple(one.number for one, other in pairs if _places(one) != _places(other))

    def _again(self, level: Level, fit: Fit) -> Fit | None:
        score = fit.variant.score
        if check_written(score, level, hand=self.workshop.hand):
            return None
        losses = {**fit.plan.losses, "area": _area_loss(score, level)}
        plan = replace(fit.plan, losses=losses, total=total(losses, self.weights))
        return replace(fit, level=level, plan=plan)


def _named(found: Sequence[Fit | NoFit]) -> list[Fit | NoFit]:
    """Name the easier level of each version that is the same, and the next one of each refusal."""
    done: list[Fit | NoFit] = []
    for at, one in enumerate(found):
        if isinstance(one, NoFit):
            fits = (two.level.name for two in found[at:] if isinstance(two, Fit))
            done.append(replace(one, next_level=next(fits, "")))
            continue
        easier = (two for two in found[:at] if isinstance(two, Fit))
        same = (two.level.name for two in easier if is_same(two.variant.score, one.variant.score))
        done.append(replace(one, same_as=next(same, "")))
    return done


def _area_loss(score: Score, level: Level) -> float:
    """Return 1 where a version is played outside what a level itself teaches."""
    part = score.parts[0]
    if part.instrument is None:
        return 0.0
    places = {place for measure in part.measures for place in _places(measure) if place is not None}
    own = [one for one in choices(level, part.instrument, part.instrument.capo) if one.is_own]
    return float(not any(all(one.holds(place) for place in places) for one in own))


def _in_recipe(fingering: FingeringWish) -> FingeringWish:
    return "keep" if fingering == "as-is" else fingering


def _places(measure: Measure) -> list[Place | None]:
    return [note.place for e in measure.events for note in e.notes]


def fit_source(score: Score, wishes: Wishes) -> Score:
    """Return the part that is fitted: chosen, strung, with the places that its file has.

    Raises:
        UsageError: There are several parts, or the part has no strings or nothing to play.
    """
    source = make_ready(score, replace(wishes, fingering="as-is"))
    if len(source.parts) != 1:
        raise UsageError(
            f"{len(source.parts)} parts cannot be fitted at once", way_out="choose one with --part"
        )
    if source.parts[0].instrument is None or not source.parts[0].measures:
        raise UsageError("the part has nothing to play on strings", way_out="choose another part")
    return source


def check_written(
    score: Score, level: Level, *, hand: str | float = "medium"
) -> tuple[Obstacle, ...]:
    """Return what keeps the written file of a score from a level, read back as a stranger would."""
    again = settle_octaves(read_raw(written(score, staves=Staves.BOTH)), Reading.AUTO)
    return meets(again, level, hand=hand)


def judged(score: Score, level: Level, wishes: Wishes) -> tuple[Obstacle, ...]:
    """Return what keeps a piece, as it is, from a level; without places they are chosen for it.

    Args:
        score: As read.
        level: The level.
        wishes: Part, tuning, hand.
    """
    source = fit_source(score, wishes)
    hand = wishes.settings.hand
    size = hand if isinstance(hand, str | int | float) else "medium"
    workshop = Workshop(source, hand=size, wishes=wishes.settings)
    return judged_in(workshop, level)


def judged_in(workshop: Workshop, level: Level) -> tuple[Obstacle, ...]:
    """Return what keeps the source of a workshop from a level; see `judged`."""
    source = workshop.source
    found = meets(source, level, hand=workshop.hand)
    search = Search(workshop, level)
    fitting = search.areas_of_source()
    if found and any(one.limit == "areas" for one in found) and not fitting:
        return found
    placed = workshop.place((), level, fitting)
    if isinstance(placed, Placed):
        return meets(placed.score, level, hand=workshop.hand)
    return found or (_from_failure(placed, level),)


def _from_failure(failed: Failed, level: Level) -> Obstacle:
    limit = getattr(level.limits, failed.limit, None)
    return Obstacle(failed.limit, failed.message, why=limit.why if limit is not None else "")
