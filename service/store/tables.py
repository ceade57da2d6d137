"""The tables of the household store.

A *record* (child, food, packet, recipe, price, offer, lunch, school day, stock entry and its events, plan) has an id, its household, a version that every edit raises, the
times it was made and changed, and its ``body``: the validated request as JSON, in the order it was given. Beside the
body stand only the columns that are searched, sorted, or kept unique. Every name of a constraint is given, so that a
migration can find it.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    Column,
    Date,
    DateTime,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    TypeDecorator,
    UniqueConstraint,
    Uuid,
)
from sqlalchemy.engine import Dialect

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class Moment(TypeDecorator[datetime]):
    """A moment in UTC; both databases keep it without a zone."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """As the database keeps it: in UTC, without a zone."""
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """As the program uses it: in UTC, with the zone."""
        return None if value is None else value.replace(tzinfo=UTC)


Body = dict[str, Any]


class KeptBody(TypeDecorator[Body]):
    """The body of a record, as JSON. It is read whole: with the fields that were added after it was kept, see ``MADE_WHOLE``."""

    impl = JSON
    cache_ok = True

    def __init__(self, table: str) -> None:
        super().__init__()
        self.table = table

    def process_result_value(self, value: Body | None, dialect: Dialect) -> Body | None:
        """As the program uses it: whole."""
        return value if value is None or self.table not in MADE_WHOLE else MADE_WHOLE[self.table](value)

    def coerce_compared_value(self, op: Any, value: Any) -> Any:
        """What it is compared with, and what is asked of its fields, are as JSON has them."""
        return self.impl_instance.coerce_compared_value(op, value)


MADE_WHOLE: dict[str, Callable[[Body], Body]] = {}
"""What makes the bodies of a table whole. The jobs put it here, which know the fields (``service/jobs/household/kinds.py``)."""


def _of_household() -> Column[Any]:
    return Column("household_id", Uuid, ForeignKey("households.id", ondelete="CASCADE"), nullable=False)


def _of_child() -> Column[Any]:
    """The one child that a device or a link is for, if it is for one."""
    return Column("child_id", Uuid, ForeignKey("children.id", ondelete="CASCADE"))


def _record_columns(table: str) -> list[Column[Any]]:
    return [
        Column("id", Uuid, primary_key=True),
        _of_household(),
        Column("version", Integer, nullable=False),
        Column("created_at", Moment, nullable=False),
        Column("updated_at", Moment, nullable=False),
        Column("body", KeptBody(table), nullable=False),
    ]


def _named_records(name: str, *, may_lack_one: bool = False) -> Table:
    """Records of which no two of a household have the same name; ``may_lack_one``: any number may have none."""
    return Table(
        name,
        METADATA,
        *_record_columns(name),
        Column("name", String(120), nullable=may_lack_one),
        UniqueConstraint("household_id", "name"),
    )


def _way_in(name: str, *more: Column[Any], of_child: bool) -> Table:
    """What lets somebody in to a household by a secret of which only the hash is stored; ``of_child``: to one child's part."""
    return Table(
        name,
        METADATA,
        Column("id", Uuid, primary_key=True),
        _of_household(),
        Column("name", String(60), nullable=False),
        Column("rights", String(10), nullable=False),
        *([_of_child()] if of_child else []),
        Column("secret_hash", String(64), nullable=False, unique=True),
        Column("created_at", Moment, nullable=False),
        *more,
        Index(f"ix_{name}_household_id", "household_id"),
    )


households = Table(
    "households",
    METADATA,
    Column("id", Uuid, primary_key=True),
    Column("version", Integer, nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("updated_at", Moment, nullable=False),
    Column("body", JSON, nullable=False),
)

access_keys = _way_in(
    "access_keys",
    Column("revoked_at", Moment),
    Column("ends_at", Moment),
    Column("last_used_at", Moment),
    of_child=False,
)
children = _named_records("children")
foods = _named_records("foods")
recipes = _named_records("recipes")
offers = _named_records("offers")
packets = Table(
    "packets",
    METADATA,
    *_record_columns("packets"),
    Column("food", String(120), nullable=False),
    Column("read_on", Date, nullable=False),
    UniqueConstraint("household_id", "food", "read_on"),
)
prices = Table(
    "prices",
    METADATA,
    *_record_columns("prices"),
    Column("what", String(160), nullable=False),
    Column("from_day", Date, nullable=False),
    UniqueConstraint("household_id", "what", "from_day"),
)

packet_photos = Table(
    "packet_photos",
    METADATA,
    Column("packet_id", Uuid, ForeignKey("packets.id", ondelete="CASCADE"), primary_key=True),
    _of_household(),
    Column("media_type", String(40), nullable=False),
    Column("image", LargeBinary, nullable=False),
    Column("created_at", Moment, nullable=False),
    Index("ix_packet_photos_household_id", "household_id"),
)

school_days = Table(
    "school_days",
    METADATA,
    *_record_columns("school_days"),
    Column("day", Date, nullable=False),
    UniqueConstraint("household_id", "day"),
)

plans = _named_records("plans", may_lack_one=True)

lunches = Table(
    "lunches",
    METADATA,
    *_record_columns("lunches"),
    Column("child_id", Uuid, ForeignKey("children.id", ondelete="CASCADE"), nullable=False),
    Column("day", Date, nullable=False),
    Column("kind", String(10), nullable=False),
    UniqueConstraint("child_id", "day"),
    Index("ix_lunches_household_id_day", "household_id", "day"),
)

stock = Table(
    "stock",
    METADATA,
    *_record_columns("stock"),
    Column("food", String(120), nullable=False),
    Index("ix_stock_household_id_food", "household_id", "food"),
)

stock_events = Table(
    "stock_events",
    METADATA,
    *_record_columns("stock_events"),
    Column("stock_id", Uuid, ForeignKey("stock.id", ondelete="CASCADE"), nullable=False),
    Column("lunch_id", Uuid),
    Index("ix_stock_events_household_id_lunch_id", "household_id", "lunch_id"),
    Index("ix_stock_events_stock_id", "stock_id"),
)
"""What happened to each entry of the stock. ``lunch_id``: the lunch that took from it; it stays when that lunch is gone."""

sign_in_links = _way_in(
    "sign_in_links", Column("ends_at", Moment, nullable=False), Column("used_at", Moment), of_child=True
)
devices = _way_in(
    "devices",
    Column("last_used_at", Moment, nullable=False),
    Column("ends_at", Moment, nullable=False),
    Column("signed_out_at", Moment),
    of_child=True,
)

calendar_feeds = _way_in(
    "calendar_feeds",
    Column("language", String(10), nullable=False),
    Column("last_used_at", Moment),
    of_child=False,
)
"""Addresses of calendars that other programs read. ``rights``: what the calendar shows; one that is revoked is removed."""

live_source_keys = Table(
    "live_source_keys",
    METADATA,
    Column("household_id", Uuid, ForeignKey("households.id", ondelete="CASCADE"), primary_key=True),
    Column("api_key", String(200), nullable=False),
    Column("created_at", Moment, nullable=False),
)
"""The key of each household that has switched the live source of branded foods on. It is sent to that source as it is, so it is
stored so; no reply and no export has it."""

kept_replies = Table(
    "kept_replies",
    METADATA,
    Column("household_id", Uuid, ForeignKey("households.id", ondelete="CASCADE"), primary_key=True),
    Column("idempotency_key", String(255), primary_key=True),
    Column("request_hash", String(64), nullable=False),
    Column("status", Integer, nullable=False),
    Column("headers", JSON, nullable=False),
    Column("reply", LargeBinary, nullable=False),
    Column("created_at", Moment, nullable=False),
    Column("old_since", Moment),
    Index("ix_kept_replies_created_at", "created_at"),
)
"""``old_since``: when it was first seen that a reply is older than it has to be kept; None: not yet."""

retention_runs = Table(
    "retention_runs",
    METADATA,
    Column("household_id", Uuid, ForeignKey("households.id", ondelete="CASCADE"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("ran_at", Moment, nullable=False),
    Column("believed", Date, nullable=False),
    Column("removed", JSON, nullable=False),
    Column("held", JSON, nullable=False),
)
"""Each time that old records of a household were looked for. ``number`` counts them, whatever the clock says; ``ran_at``: what it
said; ``believed``: the last day that is believed to have come; ``removed`` and ``held``: how many records of each kind."""

removed_records = Table(
    "removed_records",
    METADATA,
    Column("id", Uuid, primary_key=True),
    _of_household(),
    _of_child(),
    Column("kind", String(20), nullable=False),
    Column("record_id", Uuid, nullable=False),
    Column("day", Date, nullable=False),
    Column("removed_on", Date, nullable=False),
    Column("row", JSON, nullable=False),
    Index("ix_removed_records_household_id", "household_id"),
    Index("ix_removed_records_child_id", "child_id"),
)
"""What was removed because it was old, for as long as it can be put back. ``day``: of the record; ``row``: all its columns."""
