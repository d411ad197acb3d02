"""How the whole suite is run: one thread to a process, for the processes are as many as the cores."""

import os

# Before numpy is there: with two threads in each of two processes, the matrices of `tests/wear` take fifteen times as
# long.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
