"""The sums and the paths of the search, against brute force on small chains."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest

from variants.fingering import Passage, PassageNote, Settings, lattice
from variants.fingering.lattice import blocks_for
from variants.fingering.search import best_path, best_paths, marginals
from variants.fingering.solve import solve


def chain(seed: int) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """Return random scores of four slots of two to four states."""
    draw = np.random.default_rng(seed)
    sizes = draw.integers(2, 5, size=4)
    unaries = [draw.normal(size=size).astype(np.float32) for size in sizes]
    between = [draw.normal(size=(a, b)).astype(np.float32) for a, b in pairwise(sizes)]
    return unaries, between


def scored(unaries: list[np.ndarray], between: list[np.ndarray]) -> dict[tuple[int, ...], float]:
    """Return the score of every path."""
    return {
        path: float(
            sum(unary[state] for unary, state in zip(unaries, path, strict=True))
            + sum(move[path[i], path[i + 1]] for i, move in enumerate(between))
        )
        for path in product(*(range(len(unary)) for unary in unaries))
    }


@pytest.mark.parametrize("seed", range(5))
def test_the_best_path_is_the_best_of_all(seed: int) -> None:
    """Viterbi finds what trying every path finds."""
    unaries, between = chain(seed)
    every = scored(unaries, between)
    path, score = best_path(unaries, between)
    assert tuple(path) == max(every, key=lambda key: every[key])
    assert score == pytest.approx(max(every.values()), abs=1e-4)


@pytest.mark.parametrize("seed", range(5))
def test_the_k_best_paths_are_the_k_best_of_all(seed: int) -> None:
    """The list search returns the ten best, in order, without repeats."""
    unaries, between = chain(seed)
    every = scored(unaries, between)
    ranked = sorted(every, key=lambda key: -every[key])
    assert [tuple(path) for path in best_paths(unaries, between, 10)] == ranked[:10]


@pytest.mark.parametrize("seed", range(5))
def test_marginals_are_shares_of_all_paths(seed: int) -> None:
    """What is likely at a slot is the share of the paths through it."""
    unaries, between = chain(seed)
    every = scored(unaries, between)
    whole = sum(np.exp(score) for score in every.values())
    for slot, share in enumerate(marginals(unaries, between)):
        for state in range(len(unaries[slot])):
            through = sum(np.exp(score) for path, score in every.items() if path[slot] == state)
            assert share[state] == pytest.approx(through / whole, abs=1e-4)


def test_grips_are_remembered_from_piece_to_piece_without_a_trace(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Answers are the same with what earlier pieces left behind, and when it is forgotten."""
    pieces = [
        Passage(notes=tuple(PassageNote(onset=i, duration=2, midi=start + 3 * i) for i in range(6)))
        for start in (45, 50, 45)
    ]
    blocks_for.cache_clear()
    fresh = solve(pieces[2], Settings())
    assert solve(pieces[0], Settings()) == fresh
    monkeypatch.setattr(lattice, "_MOST_STATES", 0)
    other = solve(pieces[1], Settings())
    assert solve(pieces[2], Settings()) == fresh
    assert solve(pieces[1], Settings()) == other
