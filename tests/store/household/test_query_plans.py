"""Promise: what a household reads does not hang on how many households there are: no query reads a whole table.

PostgreSQL is asked for its plans, in a store with enough households that it would read whole tables were it quicker.
"""

import pytest

from service.store.database import Store, connect
from service.store.household.kinds import KINDS
from service.store.household.records import page
from service.store.migrate import open_store
from tests.benchmarks.many_households import many_families, one_family, plans, week_of, whole_tables_read

pytestmark = pytest.mark.postgres


def test_no_query_of_a_household_reads_a_whole_table(postgres_url: str) -> None:
    """A week, and two pages of each kind, among 300 households."""
    store: Store = open_store(postgres_url)
    family = one_family(store, 4)
    many_families(store, 300)
    with plans(store) as found:
        week_of(store, family.household, family.children["Linden"], "2026-W47")
    assert len(found) >= 4
    assert whole_tables_read(found) == [], "\n\n".join(found)
    for name, kind in KINDS.items():
        with plans(store) as found, store.reading() as connection:
            first = page(connection, kind, family.household, None, 2)
            page(connection, kind, family.household, first[-1].id, 2)
        assert whole_tables_read(found) == [], f"{name}\n" + "\n\n".join(found)
    store.close()


def test_the_plans_would_tell(postgres_url: str) -> None:
    """A query without a condition does read a whole table, and is found out."""
    store = connect(postgres_url)
    one_family(store, 4)
    with plans(store) as found, store.reading() as connection:
        connection.exec_driver_sql("SELECT body FROM lunches")
    assert whole_tables_read(found) == ["lunches"]
    store.close()
