"""Treadgate: reads a stock car's tire temperatures and plans the next change."""

import os

__version__ = "0.1.0"

# The matrices here are small: with several threads numpy only waits for itself, most of all on a
# busy machine, and starts later. Must be said before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
