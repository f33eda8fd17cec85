"""The proofreader: finds what a careful reader of notation and tab finds."""

from variants.proof.engine import ProofReport, ProofSettings, proofread, proofread_bytes
from variants.proof.finding import Finding, Severity
from variants.proof.registry import Rule, chosen, list_rules

__all__ = [
    "Finding",
    "ProofReport",
    "ProofSettings",
    "Rule",
    "Severity",
    "chosen",
    "list_rules",
    "proofread",
    "proofread_bytes",
]
