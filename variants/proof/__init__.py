"""The proofreader: finds what a careful reader of notation and tab finds."""

from variants.proof.engine import Report, Settings, proofread, proofread_bytes
from variants.proof.finding import Finding, Severity
from variants.proof.registry import Rule, chosen, list_rules

__all__ = [
    "Finding",
    "Report",
    "Rule",
    "Settings",
    "Severity",
    "chosen",
    "list_rules",
    "proofread",
    "proofread_bytes",
]
