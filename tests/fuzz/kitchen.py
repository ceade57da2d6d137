"""The invented family that made-up requests are sent to: put back now and then, so that removing does not empty it."""

import hashlib
import hmac
import shutil
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple
from uuid import UUID

from fastapi import FastAPI
from sqlalchemy import select

from service.api.gate.device_cookie import COOKIE
from service.jobs.household.access.households import today
from service.jobs.household.demo import keep_demo_household
from service.store.access.devices import DeviceRights, create_device
from service.store.household.records import now
from service.store.migrate import open_store
from service.store.tables import METADATA
from service.web.app import create_app
from service.web.viewer import TOKEN_FOR
from tests.api.clients import settings_of
from tests.branded_foods import invented_index

LONG = timedelta(days=90)


class SignedIn(NamedTuple):
    """A device: its cookie, and what its forms carry."""

    secret: str
    token: str

    @property
    def cookie(self) -> bytes:
        """The header."""
        return f"{COOKIE}={self.secret}".encode()


@dataclass
class Family:
    """The family's store and who gets in. ``ids``: table -> ids, as it is when it was put back; ``on``: its day."""

    app: FastAPI
    template: Path
    file: Path
    keys: list[str]
    devices: Mapping[str, SignedIn]
    ids: dict[str, list[str]]
    on: date

    def put_back(self) -> None:
        """The store as it was in the beginning."""
        self.app.state.households.close()
        for ending in ("-wal", "-shm"):
            self.file.with_name(self.file.name + ending).unlink(missing_ok=True)
        shutil.copyfile(self.template, self.file)


def _device(connection: object, household: UUID, rights: DeviceRights, child: UUID | None) -> SignedIn:
    _made, secret = create_device(
        connection, household, f"device that may {rights}", rights, child, now(), now() + LONG
    )  # type: ignore[arg-type]
    return SignedIn(secret, hmac.new(secret.encode(), TOKEN_FOR, hashlib.sha256).hexdigest())


def new_family(folder: Path) -> Family:
    """Keep the family in a folder, and an application that serves it."""
    template, file = folder / "template.sqlite3", folder / "store.sqlite3"
    on = today()
    with closing(open_store(f"sqlite:///{template}")) as store:
        demo = keep_demo_household(store, on)
        child = next(iter(demo.children.values()))
        with store.writing() as connection:
            devices = {
                "keep": _device(connection, demo.household, "keep", None),
                "pack": _device(connection, demo.household, "pack", None),
                "take": _device(connection, demo.household, "take", child),
            }
        with store.reading() as connection:
            tables = [table for table in METADATA.sorted_tables if "id" in table.c]
            ids = {
                table.name: [str(one) for one in connection.execute(select(table.c.id)).scalars()] for table in tables
            }
    settings = settings_of(
        database_url=f"sqlite:///{file}",
        branded_foods_file=str(invented_index()),
        food_data_cache=str(folder / "cache.sqlite3"),
        log_level="critical",
    )
    family = Family(create_app(settings), template, file, [demo.key, demo.reading_key], devices, ids, on)
    family.put_back()
    return family
