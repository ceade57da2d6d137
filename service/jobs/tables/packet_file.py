"""Packets in a file for a table of lunches; apart from the request, so that only the command that reads one makes the model."""

from typing import Annotated

from pydantic import Field, RootModel

from service.jobs.requests.foods import MOST_PACKETS, Packet


class PacketFile(RootModel[Annotated[list[Packet], Field(max_length=MOST_PACKETS)]]):
    """Packets in a file for a table of lunches: a list, as ``packets`` of a lunch check."""
