"""At the end: what is stored is what was acknowledged, and nothing else."""

import re
import sqlite3
from collections import Counter
from collections.abc import Sequence
from contextlib import closing
from uuid import UUID

from sqlalchemy import func, make_url, select

from service.store.migrate import open_store
from service.store.tables import METADATA
from tests.chaos.findings import Notes
from tests.chaos.others import Taker
from tests.chaos.records import Known, holds
from tests.chaos.writers import RecordWriter

TABLES = ("lunches", "stock", "packets", "offers", "prices", "recipes", "foods", "school_days", "children")
EXPECTED_IN_LOG = ("not purged:", "the store does not answer:")
GRAVE = ("ERROR", "CRITICAL")
LINE = re.compile(r"\d\S+Z (?P<level>[A-Z]+) \S+ (?P<said>.*)")
"""A line of the log: time, how grave, logger, what happened."""
DIFFERS = re.compile(
    r"[0-9a-f]{8}-[0-9a-f-]{27}|\d{4}-\d\d-\d\d|(?<= )\d+(?= )| (?:request_id|method|peer|raised)\w*=.*"
)
"""What differs between two lines of one kind."""
PLACE = re.compile(r"/(service/[^: ]+):(\d+)")


def check_store(
    url: str,
    household: UUID,
    writers: Sequence[RecordWriter | Taker],
    racing: str,
    shared: dict[int, str],
    notes: Notes,
) -> None:
    """Compare the whole store with what every writer knows."""
    known = {one.id: one for writer in writers for one in writer.known.values()}
    unsure = [one for writer in writers for one in writer.unsure]
    with closing(open_store(url)) as store, store.reading() as connection:
        for name in TABLES:
            table = METADATA.tables[name]
            rows = {
                str(row.id): row for row in connection.execute(select(table).where(table.c.household_id == household))
            }
            ours = {one.id: one for one in known.values() if one.collection.replace("-", "_") == name}
            for record in ours.keys() - rows.keys():
                _lost(ours[record], unsure, notes)
            for record in ours.keys() & rows.keys():
                _same(ours[record], rows[record].version, rows[record].body, unsure, notes)
            for record in rows.keys() - ours.keys() - {racing}:
                if not any(
                    one.collection.replace("-", "_") == name and holds(one.sent, rows[record].body) for one in unsure
                ):
                    notes.found(
                        f"a row of {name} that nobody was told of, or that was removed",
                        f"{record} {str(rows[record].body)[:500]}",
                    )
            notes.count("rows compared", len(rows))
        replies = METADATA.tables["kept_replies"]
        half = connection.execute(select(func.count()).select_from(replies).where(replies.c.status == 0)).scalar_one()
        if half:
            notes.found("replies that are kept half", str(half))
        removed = connection.execute(select(func.count()).select_from(METADATA.tables["removed_records"])).scalar_one()
        if removed:
            notes.found(
                "records were removed for their age, though none is as old by a clock that is right", str(removed)
            )
        table = METADATA.tables["recipes"]
        raced = connection.execute(select(table.c.version, table.c.body).where(table.c.id == UUID(racing))).one()
        if shared and (
            raced.version < max(shared) or shared.get(raced.version, raced.body["name"]) != raced.body["name"]
        ):
            notes.found("the record that was raced for is not as acknowledged", f"{raced} {max(shared.items())}")


def _lost(one: Known, unsure: list[Known], notes: Notes) -> None:
    if one.tag and one.id not in {other.id for other in unsure}:
        notes.found(f"an acknowledged record of {one.collection} is lost", f"{one.id} {one.tag} {str(one.sent)[:500]}")


def _same(one: Known, version: int, body: object, unsure: list[Known], notes: Notes) -> None:
    may_be = [one, *(other for other in unsure if other.id == one.id)]
    if not any(holds(other.sent, body) and (not other.tag or other.version == version) for other in may_be):
        notes.found(
            f"a record of {one.collection} is not as acknowledged", f"{one} \n-> version {version} {str(body)[:500]}"
        )


def check_file(url: str, notes: Notes) -> None:
    """SQLite's own checks of the file."""
    if make_url(url).get_backend_name() != "sqlite":
        return
    try:
        with closing(sqlite3.connect(str(make_url(url).database), timeout=5)) as connection:
            whole = connection.execute("PRAGMA integrity_check").fetchall()
            keys = connection.execute("PRAGMA foreign_key_check").fetchall()
    except sqlite3.OperationalError as fault:
        notes.count(f"checks of the file put off ({fault})")
        return
    notes.count("checks of the file")
    if whole != [("ok",)] or keys:
        notes.found("the file of the store is damaged", f"{whole[:5]} {keys[:5]}")


def check_log(log: str, secrets: Sequence[str], notes: Notes) -> None:
    """Nothing unexpected in the log, and nothing of what was written."""
    for secret in (*secrets, "oat bar", "crumble", "pasta bake", "mornings", "child 0", "box "):
        if secret in log:
            notes.found("the log has what was written, or a secret", repr(log[max(0, log.index(secret) - 300) :][:600]))
    told: Counter[str] = Counter()
    for line in filter(None, log.splitlines()):
        found = LINE.match(line)
        said = DIFFERS.sub("...", found["said"] if found else line)[:160]
        told[said] += 1
        if found is None and not line.startswith(EXPECTED_IN_LOG):
            notes.found("the log has a line that is not of its form", line[:1_000])
        elif found is not None and found["level"] in GRAVE and not said.startswith(EXPECTED_IN_LOG):
            notes.found(f"log: {said[:120]} in {':'.join((PLACE.findall(line) or [('?', '')])[0])}", line[:3_000])
    for said, count in told.most_common(12):
        notes.count(f"log: {said}", count)
