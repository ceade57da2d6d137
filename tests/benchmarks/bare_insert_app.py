"""The yardstick: a bare FastAPI route that inserts a lunch's row as it is sent, in a transaction of its own."""

import os
from datetime import date
from typing import Annotated, Any
from uuid import UUID

import orjson
from fastapi import Body, FastAPI, Response

from service.store.household.kinds import LUNCH
from service.store.household.records import create
from service.store.migrate import open_store

app = FastAPI()
STORE = open_store(os.environ["PACKED_LUNCH_DATABASE_URL"])
HOUSEHOLD = UUID(os.environ["BENCHMARK_HOUSEHOLD"])


@app.post("/v1/lunches")
def insert_row(row: Annotated[dict[str, Any], Body()]) -> Response:
    """Insert the row, tell its id."""
    columns = {"child_id": UUID(row["child"]), "day": date.fromisoformat(row["date"]), "kind": row["kind"]}
    with STORE.writing() as connection:
        record = create(connection, LUNCH, HOUSEHOLD, row, columns)
    return Response(orjson.dumps({"id": str(record.id)}), 201, media_type="application/json")
