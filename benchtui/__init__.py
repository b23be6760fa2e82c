"""A bench companion for people who build valve amplifiers at home."""

import os

# The engine solves many small systems: threads of the linear algebra library only get in each other's way (a solve of
# 384 unknowns took 3 ms with one thread, 40 to 200 ms with two on a busy machine). numpy reads this when it is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
