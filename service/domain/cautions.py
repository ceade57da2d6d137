"""The cautions that go with every answer."""

from collections.abc import Sequence

from service.domain.messages import Message, Value, message

CAUTIONS: tuple[Message, ...] = (
    message("caution.read-labels"),
    message("caution.not-declared-is-not-absent"),
    message("caution.not-medical-advice"),
    message("caution.follow-the-school"),
)


def status_cautions(from_memory: Sequence[Value], estimated: Sequence[Value]) -> list[Message]:
    """Say which figures used were given from memory, and which were estimated."""
    said = []
    if from_memory:
        said.append(message("caution.from-memory", names=from_memory))
    if estimated:
        said.append(message("caution.estimated", names=estimated))
    return said
