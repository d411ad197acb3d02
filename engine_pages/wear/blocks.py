"""Values that share nothing fall into blocks, and what takes the cube of their number is done block by block."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from engine_pages.wear.least_squares import Matrix

Rows = NDArray[np.intp]


def blocks_of(covariance: Matrix, columns: Matrix) -> list[Rows]:
    """The rows of each block, in order: n values with their n × n covariance and k columns of a design (n × k).

    Two values are of one block where they covary, where a column is not zero in both, or where a third links them.

    >>> [rows.tolist() for rows in blocks_of(np.eye(3), np.array([[1.0, 0.0], [0.0, 1.0], [1.0, 0.0]]))]
    [[0, 2], [1]]
    """
    values, columns_count = columns.shape
    row, other = np.nonzero(covariance)
    of_row, of_column = np.nonzero(columns)
    starts, ends = np.concatenate([row, of_row]), np.concatenate([other, values + of_column])
    size = values + columns_count
    graph = coo_array((np.ones(len(starts)), (starts, ends)), shape=(size, size))
    count, labels = connected_components(graph, directed=False)
    found = (np.flatnonzero(labels[:values] == label) for label in range(count))
    return [rows for rows in found if len(rows)]
