"""Stands for the folder cli/ in an editable install, where it must be found as neckwise.

A wheel has the folder itself under that name. A path file can only name folders to look in, not
give one another name, so this module hands its name over to the real one.
"""

from __future__ import annotations

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

_FOLDER = Path(__file__).parents[2] / "cli"
_spec = spec_from_file_location(
    __name__, _FOLDER / "__init__.py", submodule_search_locations=[str(_FOLDER)]
)
if _spec is None or _spec.loader is None:
    raise ImportError(f"there is no {_FOLDER}; install neckwise again")
_module = module_from_spec(_spec)
sys.modules[__name__] = _module
_spec.loader.exec_module(_module)
