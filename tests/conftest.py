"""Property tests run on the same examples every time, so that a red run means a change.

SCALLOPKIT_EXPLORE=1 in the environment looks for new ones.
"""

from __future__ import annotations

import os
import sys

from hypothesis import settings

EXPLORE = bool(os.environ.get("SCALLOPKIT_EXPLORE"))


def leave_our_numbers_out() -> None:
    """Keep numbers that stand in the package's source out of the examples.

    Hypothesis mixes in those of the modules loaded so far where the package lies in the working tree. Examples would
    change with any edit, with where it lies, and with what a worker has run before; no setting turns that off.
    """
    # Private to the library: where a later version has it elsewhere, the examples are its own again.
    providers = sys.modules.get("hypothesis.internal.conjecture.providers")
    if hasattr(providers, "_get_local_constants") and hasattr(providers, "_local_constants"):
        setattr(providers, "_get_local_constants", lambda: getattr(providers, "_local_constants"))  # noqa: B009, B010  # untyped


settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("explore", deadline=None, print_blob=True)
settings.load_profile("explore" if EXPLORE else "same")
if not EXPLORE:
    leave_our_numbers_out()
