"""Starts real server processes fast: loads the service once, then forks one for every line on standard input.

Run as ``python -m tests.store.warm_server PORT URL``. For each line it prints the number of a new process that serves the
store at the URL, and waits until that process is gone. Whoever started it kills that process.
"""

import os
import sys
import tempfile
from pathlib import Path

import uvicorn
from starlette.testclient import TestClient

from service.api.app import create_app
from service.jobs.household.access.access_keys import make_first_key
from service.settings import Settings
from service.store.migrate import open_store


def warm_up() -> None:
    """Load what logging a lunch loads, with one logged in a store of no further use."""
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder) / 'warm.sqlite3'}"
        store = open_store(url)
        secret = make_first_key(store)
        store.close()
        with TestClient(
            create_app(Settings(database_url=url)),
            base_url="http://localhost",
            headers={"Authorization": f"Bearer {secret}"},
        ) as client:
            body = {"nickname": "one", "standard": "us-school-lunch", "birth_month": "2012-05"}
            child = client.post("/v1/children", json=body).json()["id"]
            lunch = {"child": child, "date": "2026-11-23", "kind": "packed", "items": [{"food": "apple"}]}
            answer = client.post("/v1/lunches", json=lunch, headers={"Idempotency-Key": "one"})
            assert answer.status_code == 201, answer.text


def main(port: int, url: str) -> None:
    """Fork a server for every line."""
    warm_up()
    print("ready", flush=True)
    for _ in sys.stdin:
        child = os.fork()
        if child == 0:
            uvicorn.run(create_app(Settings(database_url=url)), port=port, log_level="critical", access_log=False)
            os._exit(0)
        print(child, flush=True)
        os.waitpid(child, 0)


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2])
