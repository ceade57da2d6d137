"""What a fault says to a person, in a test: its words are made where a reply is made."""

import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from service.domain.errors import AnyFault
from service.reference.fault_words import fault_sentence


@contextmanager
def refused(kind: type[AnyFault], match: str) -> Iterator[pytest.ExceptionInfo[AnyFault]]:
    """As ``pytest.raises``, but ``match`` is looked for in the sentence that a person reads."""
    with pytest.raises(kind) as told:
        yield told
    sentence = fault_sentence(told.value)
    assert re.search(match, sentence), f"{match!r} is not in {sentence!r}"
