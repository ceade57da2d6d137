"""Combinations of codes: what is the same for many rows is decided once."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numpy as np
import numpy.typing as npt
import pandas as pd

Place = npt.NDArray[np.intp]
Floats = npt.NDArray[np.float64]

Found = TypeVar("Found")


def joint_codes(*codes: Place) -> tuple[Place, Place]:
    """Number the different combinations of codes: the number of each row, and the last row that has each."""
    which, count = np.zeros(len(codes[0]), np.intp), min(len(codes[0]), 1)
    for code in codes:
        least, most = (int(code.min()), int(code.max())) if len(code) else (0, 0)
        if least < most:  # what is the same throughout tells nothing apart
            key = code if count == 1 else which * (most - least + 1) + (code - least)
            which, found = pd.factorize(key)
            count = len(found)
    row = np.zeros(count, np.intp)
    row[which] = np.arange(len(which))
    return which, row


def each_once(make: Callable[[int], Found | None], *codes: Place) -> tuple[Place, list[Found]]:
    """What each different combination of codes stands for: (rows,) places in what was made, -1 for nothing.

    ``make``: given a row that has the combination.
    """
    which, example = joint_codes(*codes)
    made = [make(row) for row in example.tolist()]
    has = np.array([one is not None for one in made], np.bool_)
    place = np.where(has, np.cumsum(has) - 1, -1)
    return place[which], [one for one in made if one is not None]
