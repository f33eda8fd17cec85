"""The laws of the test suite on their widest domain: a stride of the corpus, drawn and own scores.

    python -m benchmarks.laws [STRIDE] [DRAWN]

What is checked is written once, in the tests; here it meets more scores than a daily run has time
for. Writes ``benchmarks/laws.md``. Run by hand.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, settings

from tests.oracles.corpus_files import corpus_files, label
from tests.oracles.modelled import modelled_parts
from tests.oracles.sounding import heard_parts
from tests.own_scores import own_scores
from tests.property import test_never_harder as harder
from tests.property import test_symbols_and_notes as symbols
from tests.property.test_difficulty_counts import check_amounts
from tests.property.test_nothing_is_silent import TEXTS, silent
from tests.property.test_one_time import rooms_agree
from tests.property.test_steps_are_proofread import EXAMPLES, new_faults
from tests.strategies import STANDARD, scores
from tests.unit.sheets.test_figures import figured, wrong
from tests.xsd import validate
from variants.errors import NeckwiseError
from variants.musicxml import read_bytes, read_raw, to_bytes
from variants.prepare import Strings, prepare
from variants.score import Score, with_parts
from variants.steps import parse_step
from variants.variant import Wishes, make_variant

REPORT = Path(__file__).with_name("laws.md")
SAMPLES = sorted((Path(__file__).parents[1] / "samples").glob("*.musicxml"))
# Files that take minutes for every step are left to the sweeps.
_MOST_BYTES = 60_000
_SHOWN = 8


def _never_harder(score: Score, _: bytes) -> None:
    for step in harder.STEPS:
        harder.check_never_harder(step, score)


def _symbols(score: Score, _: bytes) -> None:
    for text in symbols.STEPS:
        if text.partition(":")[0] not in symbols.NEW:
            try:
                symbols.check_symbols(parse_step(text), score)
            except NeckwiseError:
                continue
            except AssertionError as error:
                raise AssertionError(f"{text}: {error}") from error


def _sounds(_: Score, data: bytes) -> None:
    for ours, theirs in zip(
        modelled_parts(read_raw(data, merge=False)), heard_parts(data), strict=True
    ):
        assert ours.measures == theirs.measures, "other sounds are read"
        assert ours.said == theirs.said, f"read otherwise: {ours.said - theirs.said}"


def _copies(score: Score, _: bytes) -> None:
    before = [[set(row) for row in part.measures] for part in modelled_parts(score)]
    for staves in ("source", "both"):
        data = to_bytes(score, staves=staves)
        assert validate(data) == [], f"{staves}: against the schema"
        heard = heard_parts(data)
        assert [[set(row) for row in part.measures] for part in heard] == before, staves


def _one_time(score: Score, _: bytes) -> None:
    rooms_agree(score)


def _figures(score: Score, _: bytes) -> None:
    first = prepare(with_parts(score, score.parts[:1]), "auto", Strings())
    found = wrong(figured(first), "notation")
    assert not found, found[0]


def _amounts(score: Score, _: bytes) -> None:
    first = with_parts(score, score.parts[:1])
    check_amounts(make_variant(first, (), Wishes()).score)


def _proofread(score: Score, _: bytes) -> None:
    first = prepare(with_parts(score, score.parts[:1]), "auto", Strings())
    for text in EXAMPLES:
        found = new_faults(text, first)
        assert not found, f"{text}: {found}"


def _silent(score: Score, _: bytes) -> None:
    for text in TEXTS:
        found = silent(text, score)
        assert not found, f"{text}: nothing is said of measures {found}"


LAWS: dict[str, Callable[[Score, bytes], None]] = {
    "simplify-rhythm makes nothing harder": _never_harder,
    "chord symbols go with their notes": _symbols,
    "the model is what the file sounds and says": _sounds,
    "copies sound alike and are valid": _copies,
    "one beat in every room": _one_time,
    "figures stand at their heads": _figures,
    "difficulty is what the file counts": _amounts,
    "steps make no new fault": _proofread,
    "no step is silent": _silent,
}


def broken_laws(data: bytes, laws: dict[str, int] | None = None) -> list[tuple[str, str]]:
    """Return the laws that a score breaks, and how.

    Args:
        data: A MusicXML file.
        laws: Counts how often each law was held, where it is given.
    """
    try:
        score = read_bytes(data)
    except NeckwiseError:
        return []
    found = []
    for name, law in LAWS.items():
        try:
            law(score, data)
        except NeckwiseError:
            continue
        except Exception as error:  # noqa: BLE001 - a benchmark tells every kind of fault
            lines = str(error).splitlines() or [""]
            found.append((name, f"{type(error).__name__} {lines[0]}"))
        if laws is not None:
            laws[name] += 1
    return found


def drawn(count: int) -> Iterator[tuple[str, bytes]]:
    """Yield drawn scores for one guitar, the same each time."""
    made: list[bytes] = []

    @settings(max_examples=count, phases=[Phase.generate], derandomize=True, database=None,
              deadline=None, suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(scores(parts=1, unpitched=False, microtones=False, instruments=(STANDARD,)))
    def draw(score: Score) -> None:
        made.append(to_bytes(score))

    draw()
    yield from ((f"drawn {number}", data) for number, data in enumerate(made))


def main(stride: int = 12, count: int = 200) -> int:
    """Hold the laws over all domains, print and write the table; return how many are broken."""
    paths = [path for path in corpus_files() if path.stat().st_size < _MOST_BYTES][::stride]
    domains: dict[str, Iterator[tuple[str, bytes]]] = {
        "samples": ((path.name, path.read_bytes()) for path in SAMPLES),
        "own": iter(own_scores().items()),
        "drawn": drawn(count),
        "corpus": ((label(path), path.read_bytes()) for path in paths),
    }
    held: dict[str, Counter[str]] = {name: Counter() for name in domains}
    broken: dict[str, Counter[str]] = {name: Counter() for name in domains}
    told: list[str] = []
    begun = time.perf_counter()
    for domain, sources in domains.items():
        for name, data in sources:
            for law, text in broken_laws(data, held[domain]):
                broken[domain][law] += 1
                print(f"{name}: {law}: {text}", flush=True)
                if broken[domain][law] <= _SHOWN:
                    told.append(f"- {domain}, {name}: {law}: {text[:160]}")
        print(domain, dict(held[domain]), f"{time.perf_counter() - begun:.0f} s", flush=True)
    REPORT.write_text(_report(held, broken, told, f"{stride} {count}"), encoding="utf-8")
    return sum(sum(one.values()) for one in broken.values())


def _report(
    held: dict[str, Counter[str]], broken: dict[str, Counter[str]], told: list[str], call: str
) -> str:
    lines = [
        "# Laws on their widest domain",
        "",
        f"`python -m benchmarks.laws {call}`: scores that a law met, and how many broke it.",
        "Refusals are not counted.",
        "",
        f"| law | {' | '.join(held)} |",
        "|---|" + "---:|" * len(held),
    ]
    for law in LAWS:
        cells = [f"{held[name][law]}, {broken[name][law]} broken" for name in held]
        lines.append(f"| {law} | {' | '.join(cells)} |")
    return "\n".join([*lines, "", *(["## Broken", "", *told, ""] if told else [])])


if __name__ == "__main__":
    sys.exit(min(1, main(*map(int, sys.argv[1:]))))
