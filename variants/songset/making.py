"""Makes the units of one song; what several of them share is done once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, cast

from variants.errors import NeckwiseError, Refusal
from variants.family import has_family, make_family
from variants.limits import LIMITS, FileLimits
from variants.musicxml import read_raw
from variants.pins import Pin
from variants.recipes import Recipe
from variants.score import Change, Score
from variants.songset.digest import canonical
from variants.songset.facts import facts_of
from variants.songset.manifest import UNCHANGED
from variants.songset.resolved import REVIEW, WHOLE_NAMES
from variants.songset.result import MadePiece, Result
from variants.variant import Variant, Wishes, make_variant, written

if TYPE_CHECKING:
    from variants.levels import Fitter
    from variants.sheets import Version
    from variants.steps import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeVariant:
    """A variant with what its files need.

    Args:
        member: Its name in its family; empty without one.
        title: What people call it.
        level: Its level; empty if it was fitted to none.
        recipe: How it was made.
        variant: The variant.
    """

    member: str
    title: str
    level: str
    recipe: Recipe
    variant: Variant


@dataclass(slots=True)
class Maker:
    """Makes units of one song.

    Args:
        source: The bytes of its file.
        limits: What it may cost.
    """

    source: bytes = field(repr=False)
    limits: FileLimits = LIMITS
    _raw: Score | None = None
    _scores: dict[str, Score] = field(default_factory=dict)
    _fitters: dict[str, Fitter] = field(default_factory=dict)
    _variants: dict[str, tuple[MadeVariant, ...]] = field(default_factory=dict)

    def made(self, spec: Mapping[str, Any]) -> Result:
        """Return the result of one unit.

        Raises:
            NeckwiseError: It cannot be made of this song.
        """
        if spec["kinds"][0] in WHOLE_NAMES:
            return Result(pieces=(self._whole(spec),))
        found = self._made(spec, spec["variants"][0])
        pieces = (self._piece(spec, one, with_picture=not i) for i, one in enumerate(found))
        return Result(pieces=tuple(pieces))

    # -- variants ---------------------------------------------------------------------------------

    def _made(self, spec: Mapping[str, Any], wanted: Mapping[str, Any]) -> tuple[MadeVariant, ...]:
        """Return the variants of a recipe or level; a handout and a file share them."""
        base = {name: spec[name] for name in ("part", "reading", "front")}
        key = canonical([base, {k: v for k, v in wanted.items() if k != "title"}])
        if key not in self._variants:
            self._variants[key] = tuple(self._vary(spec, wanted))
        return tuple(
            replace(one, title=wanted["title"] or one.title) if not one.member else one
            for one in self._variants[key]
        )

    def _vary(self, spec: Mapping[str, Any], wanted: Mapping[str, Any]) -> Iterator[MadeVariant]:
        score = self._score(spec["front"])
        recipe = Recipe.model_validate(wanted["recipe"])
        if "level" in wanted:
            yield self._fitted(spec, wanted, score, recipe)
            return
        wishes = _wishes(spec, wanted, recipe)
        items = recipe.items
        if has_family(items):
            for member, variant in make_family(score, items, wishes):
                yield MadeVariant(
                    member=member.name,
                    title=member.title,
                    level="",
                    recipe=recipe,
                    variant=variant,
                )
            return
        # Without a family among them, all items are steps.
        variant = make_variant(score, cast("tuple[Step, ...]", items), wishes)
        if variant.is_unchanged and _is_steps_alone(recipe):
            said = next((one.message for one in reversed(variant.changes) if one.step), "")
            raise Unchanged(f"{UNCHANGED}: {said}" if said else UNCHANGED)
        yield MadeVariant(member="", title="", level="", recipe=recipe, variant=variant)

    def _fitted(
        self, spec: Mapping[str, Any], wanted: Mapping[str, Any], score: Score, recipe: Recipe
    ) -> MadeVariant:
        from variants.levels import Fitter, Level, NoFit

        level = Level.model_validate(wanted["level"])
        pinned = [wanted.get("version", ""), *wanted.get("pins", ())]
        key = canonical([spec["part"], spec["reading"], spec["front"], wanted["recipe"], pinned])
        if key not in self._fitters:
            wishes = _wishes(spec, wanted, recipe)
            self._fitters[key] = Fitter(score, wishes)
        found = self._fitters[key].fits(level)
        if isinstance(found, NoFit):
            raise Refusal(found.sentence())
        return MadeVariant(
            member="", title="", level=level.name, recipe=recipe, variant=found[0].variant
        )

    def _score(self, front: Mapping[str, str]) -> Score:
        """Return the song as read, with what the set says of it."""
        key = canonical(front)
        if key not in self._scores:
            if self._raw is None:
                self._raw = read_raw(self.source, limits=self.limits)
            self._scores[key] = dressed(self._raw, front)
        return self._scores[key]

    # -- files ------------------------------------------------------------------------------------

    def _piece(
        self, spec: Mapping[str, Any], made: MadeVariant, *, with_picture: bool
    ) -> MadePiece:
        from variants.songset import drawing

        files: dict[str, bytes] = {}
        recipe, score = made.recipe, made.variant.score
        for kind in spec["kinds"]:
            if kind in ("musicxml", "mxl"):
                files[kind] = written(
                    score, staves=recipe.staves, places=recipe.places, mxl=kind == "mxl"
                )
            else:
                files[kind] = drawing.drawn(kind, _version(made), recipe.staves, spec["look"])
        if spec["picture"] and with_picture:
            files["picture"] = drawing.first_line(score, recipe.staves)
        facts = facts_of(made.variant, hand=spec["hand"], level=made.level, title=made.title)
        return MadePiece(member=made.member, files=files, facts=facts)

    def _whole(self, spec: Mapping[str, Any]) -> MadePiece:
        """Return all variants in one file; those that cannot be made are left out, and named."""
        from variants.songset import drawing

        versions: list[tuple[Version, str]] = []
        left_out: list[str] = []
        for wanted in spec["variants"]:
            try:
                found = self._made(spec, wanted)
            except NeckwiseError as error:
                if spec["all"] and not isinstance(error, Unchanged):
                    raise error.at(wanted["title"]) from None
                left_out.append(f"{wanted['title']}: {error}")
                continue
            versions += [(_version(one), one.recipe.staves) for one in found]
        if not versions:
            raise Refusal("none of its variants can be made", way_out="see why in the report")
        kind = spec["kinds"][0]
        if kind == REVIEW:
            data, pages = drawing.review_of(versions, spec["look"]), 0
        else:
            made = drawing.handout_of(versions, spec["look"])
            data, pages = made.pdf, made.pages
        return MadePiece(files={kind: data}, facts={"pages": pages, "left-out": left_out})


class Unchanged(Refusal):
    """A recipe that changes nothing of a song: it is skipped, not printed again."""


def _is_steps_alone(recipe: Recipe) -> bool:
    """Whether a recipe asks for its steps and for nothing else, such as other marks."""
    return recipe.model_copy(update={"steps": (), "title": ""}) == Recipe()


def _wishes(spec: Mapping[str, Any], wanted: Mapping[str, Any], recipe: Recipe) -> Wishes:
    """Return how a variant is made, with the pins that are of it."""
    wishes = recipe.wishes(part=spec["part"], reading=spec["reading"])
    pins = tuple(Pin.model_validate(pin) for pin in wanted.get("pins", ()))
    return replace(wishes, pins=pins, version=wanted.get("version", ""))


def _version(made: MadeVariant) -> Version:
    from variants.levels.headlines import headlines
    from variants.sheets import ChangeReport, Version
    from variants.sheets.changes import merged

    changes = [
        {"measure": one.measure, "step": one.step, "message": one.message}
        for one in made.variant.changes
    ]
    report = ChangeReport(changes=tuple(merged(changes)), level=made.level)
    return Version(
        score=made.variant.score,
        name=made.title,
        report=report,
        level=made.level,
        practises=headlines(made.variant.score),
    )


def dressed(score: Score, front: Mapping[str, str]) -> Score:
    """Return a score with the title, the people and the rights that a set gives it.

    >>> from variants.score import Score
    >>> dressed(Score(ticks=1, parts=()), {"title": "Song"}).title
    'Song'
    """
    changes: list[Change] = []
    if front.get("title") and front["title"] != score.title:
        score = replace(score, work_title=front["title"], movement_title="")
        changes.append(Change("the title is that of the song set", "read"))
    for kind in ("composer", "arranger"):
        if front.get(kind):
            others = tuple(one for one in score.creators if one[0] != kind)
            score = replace(score, creators=(*others, (kind, front[kind])))
            changes.append(Change(f"the {kind} is that of the song set", "read"))
    has_rights = any(text.strip() for _, text in score.rights)
    rights = front.get("rights") or ("" if has_rights else front.get("rights-if-none", ""))
    if rights:
        score = replace(score, rights=(("", rights),))
        changes.append(Change("the rights line is that of the song set", "read"))
    return replace(score, changes=(*score.changes, *changes)) if changes else score
