"""Links that sign in a device: each works once, for ten minutes. The link is shown once, when it is made."""

from datetime import datetime, timedelta
from typing import NamedTuple
from uuid import UUID

from pydantic import Field, model_validator

from service.domain.errors import NotThere
from service.domain.messages import message
from service.jobs.household.access.devices import SIGNED_IN, Device
from service.jobs.household.access.secrets import has_form_of_secret
from service.jobs.requests.fields import ONE_LINE, Asked, KeptId, conflict
from service.jobs.word_lists import DeviceRights
from service.store.access.devices import create_device
from service.store.access.households import all_households
from service.store.access.sign_in_links import create_link, link_works, use_link
from service.store.database import Store
from service.store.household.kinds import CHILD
from service.store.household.records import Connection, get, now

WORKS_FOR = timedelta(minutes=10)
"""How long a link works (ours)."""
THIS_COMPUTER = "this computer"
SIGN_IN_PATH = "/sign-in"
"""Where the pages take a link."""


class NewLink(Asked):
    """A link to make: what the device that it signs in is called, and what it may do."""

    name: str = Field("", max_length=60, pattern=ONE_LINE, description="Name of the device, e.g. kitchen tablet.")
    rights: DeviceRights = Field(description="What the device may do.")
    child: KeptId | None = Field(None, description="Id of the child whose taking the device shows; only with 'take'.")

    @model_validator(mode="after")
    def _one_child(self) -> "NewLink":
        if self.rights == "take" and self.child is None:
            raise conflict(message("fault.take-without-child"))
        if self.rights != "take" and self.child is not None:
            raise conflict(message("fault.child-without-take"))
        return self


class MadeLink(NamedTuple):
    """A link just made. ``secret``: stored nowhere; ``path``: the link's address without the host."""

    secret: str
    ends_at: datetime

    @property
    def path(self) -> str:
        """The address of the link, without scheme and host."""
        return f"{SIGN_IN_PATH}?link={self.secret}"


class SignedIn(NamedTuple):
    """A device just signed in. ``secret``: what it sends from now on; stored nowhere."""

    device: Device
    secret: str


def make_link(connection: Connection, household: UUID, asked: NewLink, moment: datetime | None = None) -> MadeLink:
    """Make a link; ``NotThere`` for a child that this household does not have. ``moment``: when; left out: now."""
    moment = moment or now()
    child = None if asked.child is None else get(connection, CHILD, household, UUID(asked.child), "share").id
    link, secret = create_link(connection, household, asked.name, asked.rights, child, moment, moment + WORKS_FOR)
    return MadeLink(secret, link.ends_at)


def link_of_this_computer(store: Store, household: UUID | None = None, moment: datetime | None = None) -> MadeLink:
    """Make a link for whoever starts the service, with all rights. ``household``: left out, the first of the store.

    ``NotThere`` where the store has no household yet.
    """
    with store.writing() as connection:
        if household is None:
            known = all_households(connection)
            if not known:
                raise NotThere(
                    pointer="--household",
                    value=0,
                    problem=message("fault.no-household-yet"),
                )
            household = known[0][0]
        return make_link(connection, household, NewLink(name=THIS_COMPUTER, rights="keep"), moment)


def redeem(store: Store, secret: str, moment: datetime | None = None) -> SignedIn | None:
    """Sign in the device that brings a link; None if the link is unknown, was used, or is older than ten minutes.

    The link is used up and the device made in one transaction: of two that bring it at once, one is signed in.
    """
    if not has_form_of_secret(secret):
        return None
    moment = moment or now()
    with store.reading() as connection:  # a wrong one waits for nobody who writes, and nobody waits for it
        if not link_works(connection, secret, moment):
            return None
    with store.writing() as connection:
        link = use_link(connection, secret, moment)
        if link is None:
            return None
        made = create_device(
            connection, link.household_id, link.name, link.rights, link.child_id, moment, moment + SIGNED_IN
        )
    return SignedIn(*made)
