"""Settings that hold for every test."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

# A shared machine stalls now and then, which says nothing about the code: no deadline, and no
# complaint about slow drawing. The daily run draws the same examples each time, so that a failure
# is the change's and not the day's; `thorough` draws new and more ones.
settings.register_profile(
    "daily",
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "thorough",
    deadline=None,
    max_examples=1000,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "daily"))
