"""Best-first search for the plan that meets a level for the least loss.

Entries wait in a heap by a lower bound of their loss: chains of steps that change rhythm and
texture, ranges of measures of their results, and whole plans with key, folding, capo and tempo.
A step can only add to the loss of what it is given, so the first plan that comes out of the heap
with its true loss and meets the level is the best one. Limits that hang on notes and rhythm are
compared before anything is fingered; only what is left gets a place on the neck.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count, pairwise

from variants.levels.areas import AreaChoice, bits_of, choices
from variants.levels.level import Level
from variants.levels.loss import (
    KeptNotes,
    folding_losses,
    key_loss,
    register_loss,
    total,
    window_losses,
)
from variants.levels.menu import CAPOS, MOST_SEMITONES, TEMPI, Offer, known_steps, offers
from variants.levels.place import Failed
from variants.levels.plan import (
    FitPlan,
    Leaf,
    Window,
    chain_of,
    cut_of,
    least_way,
    nearest_fifths,
    nearness,
    octaves_into,
    slowed_rate,
)
from variants.levels.profile import MeasureProfile, Profile
from variants.levels.windows import windows
from variants.levels.workshop import Chain, Node, Workshop
from variants.music.key import printable

# A fingering is what costs time; a level that so many versions fail on the neck is refused.
TRIES = 40
# No piece of common length comes near; they bound the time of odd ones.
_MOST_MADE = 600
_MOST_ENTRIES = 60_000
_NEAR = 1e-9
# With less of a passage's tune there is a skeleton of it (our judgement, unvalidated).
_LEAST_LEFT = 1 / 3


@dataclass(frozen=True, slots=True)
class _Lazy:
    """A step that is not run yet."""

    node: Node
    offer: Offer


def _area_loss(fitting: Sequence[AreaChoice]) -> float:
    """Return 1 where only an easier level's areas hold a plan."""
    return float(bool(fitting) and not any(one.is_own for one in fitting))


_Entry = Node | _Lazy | tuple[Node, Window] | Leaf


class Search:
    """One search; iterate over `plans`, best first. ``nearest`` is kept for a level without fit.

    ``progress`` is told how many versions were fingered so far, before each of them.
    """

    def __init__(
        self,
        workshop: Workshop,
        level: Level,
        *,
        tries: int = TRIES,
        progress: Callable[[int], None] = lambda _: None,
    ) -> None:
        self.workshop, self.level, self.tries = workshop, level, tries
        self.progress = progress
        self.nearest: FitPlan | None = None
        self.fingered = 0
        self._made = 0
        self._heap: list[tuple[float, int, int, _Entry]] = []
        self._order = count()
        self._choices: dict[int, tuple[AreaChoice, ...]] = {}
        self._seen: set[Profile] = set()
        self._placed: set[tuple[Profile, int]] = set()

    def plans(self) -> Iterator[FitPlan]:
        """Yield every plan that meets the level, the least loss first."""
        self._push(0.0, 0, self.workshop.root)
        taken = 0
        while self._heap and taken < _MOST_ENTRIES and not self._is_tired:
            bound, _, _, entry = heapq.heappop(self._heap)
            taken += 1
            if isinstance(entry, Node):
                self._expand(entry)
            elif isinstance(entry, _Lazy):
                self._run(entry)
            elif isinstance(entry, Leaf):
                plan = self._try(entry, bound)
                if plan is not None:
                    yield plan
            else:
                self._moves(*entry)

    @property
    def _is_tired(self) -> bool:
        return self.fingered >= self.tries or self._made >= _MOST_MADE

    def note(self, plan: FitPlan) -> None:
        """Take note of a plan that failed after all."""
        self._keep_nearest(plan)

    def placed_again(self, plan: FitPlan) -> FitPlan | None:
        """Return a plan at its next place on the neck; ``None`` if there is no other."""
        if plan.placed is None:
            return None
        chain = plan.steps[: len(plan.steps) - len(plan.placed.steps)]
        capo = next((int(t.partition("=")[2]) for t in chain if t.startswith("capo:")), 0)
        fitting = self._fitting(self.workshop.profile(chain), capo)
        placed = self.workshop.place(chain, self.level, fitting, rank=plan.placed.rank + 1)
        if isinstance(placed, Failed):
            return None
        return replace(plan, steps=(*chain, *placed.steps), placed=placed)

    def areas_of_source(self) -> tuple[AreaChoice, ...]:
        """Return the choices that hold every note of the source as it is."""
        return self._fitting(self.workshop.root.profile, 0)

    def _push(self, bound: float, steps: int, entry: _Entry) -> None:
        heapq.heappush(self._heap, (bound, steps, next(self._order), entry))

    # --- rhythm and texture -----------------------------------------------------------------------

    def _bound(self, node: Node) -> float:
        # The best window of a node is all of it, as each measure that is left out is a loss.
        return total(self._window_losses(node, Window(0, len(node.keeps))), self.workshop.weights)

    def _window_losses(self, node: Node, window: Window) -> dict[str, float]:
        keeps: tuple[KeptNotes, ...] = node.keeps[window.measures]
        losses = window_losses(keeps, self.workshop.totals)
        losses["ending"] = window.ending
        losses["values"] = float(any(text.startswith("scale-values") for text in node.chain))
        return losses

    def _expand(self, node: Node) -> None:
        bound = self._bound(node)
        found = windows(node, self.workshop.starts, self.level)
        for window in found:
            whole = total(self._window_losses(node, window), self.workshop.weights)
            self._push(whole, len(node.chain), (node, window))
        if not found:
            self._note_blocks(node, bound)
        for offer in offers(node.profile, self.level, node.stage, self.workshop.line.kind):
            least = max(bound, self.workshop.weights["rhythm"] * offer.off)
            self._push(least, len(node.chain) + 1, _Lazy(node, offer))

    def _run(self, lazy: _Lazy) -> None:
        made = self.workshop.node((*lazy.node.chain, lazy.offer.text), lazy.offer.stage)
        if made is not None and made.profile not in self._seen:
            self._seen.add(made.profile)
            self._push(self._bound(made), len(made.chain), made)

    def _note_blocks(self, node: Node, bound: float) -> None:
        names: dict[str, str] = {}
        for measure in node.profile.measures:
            for name in measure.blocks(self.level):
                names.setdefault(name, f"measure {measure.number}: {name}")
        blocked = tuple(names.items()) or (("measures", "the piece is too long"),)
        self._keep_nearest(
            FitPlan(
                node.chain,
                self._window_losses(node, Window(0, len(node.keeps))),
                bound,
                None,
                blocked,
            )
        )

    def _keep_nearest(self, plan: FitPlan) -> None:
        best = self.nearest
        if best is None or nearness(plan) < nearness(best):
            self.nearest = plan

    # --- key, folding, capo, tempo ----------------------------------------------------------------

    def _moves(self, node: Node, window: Window) -> None:
        """Push every plan for a range of measures whose notes and signature meet the level."""
        part = node.profile.measures[window.measures]
        limits = self.level.limits
        altered = {name for one in part for name in one.altered}
        base = self._window_losses(node, window)
        if limits.altered is not None and len(altered) > limits.altered.value:
            text = f"{len(altered)} different notes outside the key"
            self._block_window(node, base, ("altered", text))
            return
        percent = self._tempo(part)
        if percent is None:
            self._block_window(node, base, ("speed", "too many notes in a second"))
            return
        first = Leaf(node, window, percent=percent)
        heights = window.heights(node.profile.measures)
        before = len(self._heap)
        for semitones in range(-MOST_SEMITONES, MOST_SEMITONES + 1):
            if not self._signature_fits(part, semitones):
                continue
            if semitones and "transpose" not in known_steps():
                continue
            self._ranges(replace(first, semitones=semitones), heights, base)
        if len(self._heap) == before:
            self._block_window(node, base, ("areas", "no key brings it within the areas"))

    def _block_window(self, node: Node, base: dict[str, float], cause: tuple[str, str]) -> None:
        loss = total(base, self.workshop.weights)
        self._keep_nearest(FitPlan(node.chain, base, loss, None, (cause,)))

    def _tempo(self, part: tuple[MeasureProfile, ...]) -> int | None:
        limit = self.level.limits.speed
        if limit is None:
            return 100
        practice = self.level.practice_tempo
        for percent in (100, *(TEMPI if "slow" in known_steps() else ())):
            rates = (slowed_rate(one, practice, percent) for one in part)
            if max(rates, default=0.0) <= limit.value:
                return int(percent)
        return None

    def _signature_fits(self, part: tuple[MeasureProfile, ...], semitones: int) -> bool:
        limit = self.level.limits.signature
        if limit is None:
            return True
        first = self.workshop.root.profile.measures[0].fifths
        moved = nearest_fifths(first, semitones) - first if semitones else 0
        return all(abs(printable(one + moved)) <= limit.value for one in {m.fifths for m in part})

    def _ranges(self, leaf: Leaf, heights: dict[int, int], base: dict[str, float]) -> None:
        """Push a plan as it is, with a capo, and folded into each range of the level."""
        moved = {midi + leaf.semitones: number for midi, number in heights.items()}
        bits = bits_of(moved)
        easier = False
        for capo in (0, *(CAPOS if leaf.semitones % 12 == 0 else ())):
            if capo and ("capo" not in known_steps() or self._capo):
                continue
            fitting = [one for one in self._areas(capo) if bits & ~one.midi == 0]
            area = _area_loss(fitting)
            if not fitting or (easier and area):
                continue
            self._push_leaf(replace(leaf, capo=capo), {**base, "area": area}, 0.0)
            easier = True
            if not area:
                if not capo:
                    return
                break
        self._folds(leaf, moved, base)

    def _folds(self, leaf: Leaf, moved: dict[int, int], base: dict[str, float]) -> None:
        if "fold-octaves" not in known_steps():
            return
        every = sum(moved.values())
        ranges: dict[tuple[int, int], list[AreaChoice]] = {}
        for one in self._areas(0):
            ranges.setdefault((one.lowest, one.highest), []).append(one)
        for (low, high), areas in ranges.items():
            if high - low < 11:
                continue
            out = sum(number for midi, number in moved.items() if not low <= midi <= high)
            if 0 < out < every:
                losses = {**base, "area": _area_loss(areas)}
                self._push_leaf(replace(leaf, fold=(low, high)), losses, out / every)

    def _push_leaf(self, leaf: Leaf, base: dict[str, float], out: float) -> None:
        losses = self._leaf_losses(leaf, base, out)
        steps = len(chain_of(leaf))
        self._push(total(losses, self.workshop.weights), steps, leaf)

    def _leaf_losses(self, leaf: Leaf, base: dict[str, float], out: float) -> dict[str, float]:
        return {
            **base,
            "key": key_loss(leaf.semitones),
            "register": register_loss(abs(leaf.semitones)) * (1 - out),
            "tempo": 1 - leaf.percent / 100,
            "capo": float(leaf.capo > 0),
            "area": base.get("area", 0.0),
        }

    @property
    def _capo(self) -> int:
        instrument = self.workshop.source.parts[0].instrument
        return instrument.capo if instrument else 0

    def _areas(self, capo: int) -> tuple[AreaChoice, ...]:
        instrument = self.workshop.source.parts[0].instrument
        if capo not in self._choices and instrument is not None:
            self._choices[capo] = choices(self.level, instrument, capo or instrument.capo)
        return self._choices.get(capo, ())

    # --- the whole plan ---------------------------------------------------------------------------

    def _try(self, leaf: Leaf, bound: float) -> FitPlan | None:
        chain = chain_of(leaf)
        if leaf.fold and leaf.bounded == 0:
            closer = total(self._folded_losses(leaf), self.workshop.weights)
            if closer > bound + _NEAR:
                self._push(closer, len(chain), replace(leaf, bounded=1))
                return None
        self._made += 1
        score = self.workshop.score(chain)
        if isinstance(score, str):
            return None
        losses = self._true_losses(leaf, chain)
        exact = total(losses, self.workshop.weights)
        if exact > bound + _NEAR and leaf.bounded < 2:
            self._push(exact, len(chain), replace(leaf, bounded=2))
            return None
        found = self.workshop.profile(chain)
        fitting = self._fitting(found, leaf.capo)
        if not fitting or not self._is_met(found):
            text = ("areas", "notes without a place in the areas")
            self._keep_nearest(FitPlan(chain, losses, exact, None, (text,)))
            return None
        loss_of_tune = self._too_thin(leaf) or self.workshop.tune_lost(chain)
        if loss_of_tune:
            self._keep_nearest(FitPlan(chain, losses, exact, None, (("tune", loss_of_tune),)))
            return None
        same = (found, leaf.capo)
        if same in self._placed:
            return None
        self._placed.add(same)
        self.progress(self.fingered)
        self.fingered += 1
        placed = self.workshop.place(chain, self.level, fitting)
        if isinstance(placed, Failed):
            self._failed(leaf, placed, FitPlan(chain, losses, exact))
            return None
        return FitPlan((*chain, *placed.steps), losses, exact, placed)

    def _too_thin(self, leaf: Leaf) -> str:
        """Return how little of the tune a passage keeps, in words; empty if it is enough."""
        part = leaf.window.measures
        of = sum(one.melody for one in self.workshop.root.keeps[part])
        left = sum(one.melody for one in leaf.node.keeps[part])
        if left >= _LEAST_LEFT * of:
            return ""
        return f"only {left} of {of} notes of the tune would be left"

    def _failed(self, leaf: Leaf, failed: Failed, plan: FitPlan) -> None:
        self._keep_nearest(replace(plan, blocked=((failed.limit, failed.message),)))
        if failed.limit != "shift" or "slow" not in known_steps():
            return
        now = 120.0 * leaf.percent / 100
        if leaf.percent == 100 and self.workshop.root.profile.measures[0].tempo is None:
            now = self.level.practice_tempo
        most = min(leaf.percent - 1, 100 * now * failed.rate / 120.0)
        if self.workshop.root.profile.measures[0].tempo is not None:
            most = min(leaf.percent - 1, leaf.percent * failed.rate)
        slower = [percent for percent in TEMPI if percent <= most]
        if slower:
            # The bound of the slower plan is its loss without what its folding costs.
            base = self._window_losses(leaf.node, leaf.window)
            self._push_leaf(replace(leaf, percent=slower[0], bounded=0), base, 1.0)

    def _folded_losses(self, leaf: Leaf) -> dict[str, float]:
        """Return the least losses of a folding: notes move no further than they must."""
        losses = self._leaf_losses(leaf, self._window_losses(leaf.node, leaf.window), 0.0)
        low, high = leaf.fold or (0, 127)
        tops: list[int] = []
        way = number = 0
        for measure in leaf.node.profile.measures[leaf.window.measures]:
            for moment in measure.moments:
                moves = [octaves_into(midi + leaf.semitones, low, high) for midi in moment.midi]
                tops.append(moves[-1])
                number += len(moves)
                way += sum(least_way(leaf.semitones, move) for move in moves)
        # Notes in range stay, so the line breaks wherever it leaves the range or comes back.
        broken = sum((a == 0) != (b == 0) for a, b in pairwise(tops)) / max(1, len(tops) - 1)
        losses["melody"] += (1 - losses["melody"]) * broken
        losses["register"] = register_loss(way / max(1, number))
        return losses

    def _true_losses(self, leaf: Leaf, chain: Chain) -> dict[str, float]:
        base = self._window_losses(leaf.node, leaf.window)
        losses = self._leaf_losses(leaf, base, 0.0)
        if leaf.fold:
            # Compared with the passage as it was cut, before it moved.
            before = self.workshop.profile((*leaf.node.chain, *cut_of(leaf)))
            after = self.workshop.profile(chain)
            if len(before.measures) == len(after.measures):
                broken, register = folding_losses(before, after, leaf.semitones)
                losses["melody"] += (1 - losses["melody"]) * broken
                losses["register"] = register
        losses["area"] = _area_loss(self._fitting(self.workshop.profile(chain), leaf.capo))
        return losses

    def _fitting(self, found: Profile, capo: int) -> tuple[AreaChoice, ...]:
        bits = bits_of(found.heights)
        return tuple(one for one in self._areas(capo) if bits & ~one.midi == 0)

    def _is_met(self, found: Profile) -> bool:
        limits = self.level.limits
        head = int(found.has_pickup)
        altered = {name for one in found.measures for name in one.altered}
        return (
            all(one.fits(self.level) for one in found.measures)
            and (limits.measures is None or len(found.measures) - head <= limits.measures.value)
            and (limits.altered is None or len(altered) <= limits.altered.value)
            and (
                limits.signature is None
                or all(abs(one.fifths) <= limits.signature.value for one in found.measures)
            )
            and (
                limits.speed is None
                or all(
                    one.rate(self.level.practice_tempo) <= limits.speed.value
                    for one in found.measures
                )
            )
        )
