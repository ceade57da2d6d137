"""Promise: no text of a label takes the reader long, however it is made: its expressions do not go back over what they read.

Twice the text may take about twice the time; a reader that goes back takes four times as long or more, and at the longest text
that a request may hold it would take minutes.
"""

import time

import pytest

from service.jobs.requests.fields import MOST_TEXT
from tests.domain.labels.label_reading import reading

PIECES = {
    "one letter": "a",
    "spaces": " ",
    "brackets that open": "(",
    "brackets of all kinds": "([{)]}",
    "letters apart": "m i l k ",
    "points": "E.2.2.3.",
    "dashes": "milk-",
    "denials": "not free from no ",
    "warnings": "may contain traces of ",
    "commas": ",,;:",
    "percent": "12.5 % ",
    "marks": "*†",
    "other letters": "ミルク",
}


@pytest.mark.parametrize("piece", PIECES.values(), ids=PIECES)
def test_the_longest_text_of_one_thing_is_read_in_time_by_its_length(piece: str) -> None:
    def seconds(length: int) -> float:
        text = (piece * length)[:length]
        began = time.process_time()
        reading(text)
        return time.process_time() - began

    seconds(1_000)  # the words are read from their files
    half = min(seconds(MOST_TEXT // 4) for _ in range(3))
    whole = min(seconds(MOST_TEXT) for _ in range(2))
    assert whole < 4 * 2.5 * half + 0.2
