"""The mutation test in small: single faults in good files are found in the right measure.

``benchmarks/proof_mutations.py`` runs it over all good files with thousands of faults.
"""

from __future__ import annotations

import pytest

from tests.oracles.faults.fault import FAULTS
from tests.oracles.faults.mutations import mutate
from tests.oracles.faults.pieces import good_files
from tests.xsd import validate
from variants.proof import list_rules

CASES = 300


@pytest.mark.slow
def test_single_faults_are_found() -> None:
    """At least 99 of 100 faults are found where they are, and good files have no error."""
    files = good_files("[hl]a*")
    result = mutate(files, cases=CASES, seed=1)
    assert result.false_errors == []
    assert sum(result.found.values()) + sum(result.missed.values()) == CASES
    assert result.share >= 0.99, result.lost


def test_dressed_files_are_valid() -> None:
    """What is put on the good files is MusicXML, so that every fault is one of ours."""
    dressed = [data for name, data in good_files("[hl]a*").items() if "dressed" in name]
    assert len(dressed) > 5
    for data in dressed[:6]:
        assert validate(data) == []


def test_every_fault_names_rules_that_exist() -> None:
    """No fault waits for a rule that there is not, and no rule is without its fault."""
    rules = {rule.id for rule in list_rules()}
    named = set().union(*(fault.rules for fault in FAULTS.values()))
    assert named == rules
