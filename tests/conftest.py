"""Property tests run on the same examples every time, so that a red run means a change.

SCALLOPKIT_EXPLORE=1 in the environment looks for new ones.
"""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("explore", deadline=None, print_blob=True)
settings.load_profile("explore" if os.environ.get("SCALLOPKIT_EXPLORE") else "same")
