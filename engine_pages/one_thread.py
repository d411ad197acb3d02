"""One thread to a process: ours work in as many processes as there are cores, on matrices that are small."""

import os
from typing import Final

VARIABLE: Final = "OPENBLAS_NUM_THREADS"  # read once, when the library of matrices is loaded (OpenBLAS, user manual)


def count_with_one_thread() -> None:
    """To be called before numpy is there; who has set a number keeps it.

    Threads of two processes on two cores wait for each other: a fit of 72 increments took 93 ms with two threads in
    each of two processes, 12 ms with two threads and nothing beside it, and takes 5 ms with one.
    """
    os.environ.setdefault(VARIABLE, "1")
