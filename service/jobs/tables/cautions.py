"""What is said of the foods of a table: part by part as frames, since parts may be checked elsewhere, and then together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import pandas as pd

from service.domain.messages import Message
from service.jobs.foods.salted_water import asked_once


def cautions_frame(said: Sequence[Message]) -> pd.DataFrame:
    """One row a message, in the column ``message``."""
    return pd.DataFrame({"message": list(said)}, dtype=object)


def said_in(frames: Iterable[pd.DataFrame]) -> list[Message]:
    """What is said of all parts of a table, each once."""
    found: list[Message] = []
    for one in (one for frame in frames for one in frame["message"]):
        if one not in found:
            found.append(one)
    return asked_once(found)
