"""Promise: who keeps nothing pays little: no store is made and no heavy library loaded before a request needs one."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.api.clients import client
from tests.api.problems_seen import problem_of
from tests.served import GENEROUS, ROOT

SCRIPT = """
import json, sys
from starlette.testclient import TestClient
from service.api.app import create_app
from service.settings import Settings
from tests.api.clients import LUNCH
service = TestClient(create_app(Settings(database_url=sys.argv[1])), base_url="http://localhost")
statuses = [service.post("/v1/lunch-checks", json=LUNCH).status_code, service.get("/v1/foods/apple").status_code]
print(json.dumps([statuses, [name for name in sys.argv[2].split() if name in sys.modules]]))
"""
HEAVY = ("alembic", "pandas", "numpy", "matplotlib", "numba", "pyarrow")
KEY = {"Authorization": "Bearer " + "x" * 43}


def test_checks_load_no_heavy_library_and_make_no_store(tmp_path: Path) -> None:
    """Asked of a fresh process; no file is made either."""
    file = tmp_path / "folder" / "store.sqlite3"
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, f"sqlite:///{file}", " ".join(HEAVY)],
        cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, timeout=GENEROUS, check=True,
    )  # fmt: skip
    assert json.loads(done.stdout.splitlines()[-1]) == [[200, 200], []]
    assert not file.parent.exists()


def test_the_store_is_made_with_the_first_household_request(tmp_path: Path) -> None:
    """And opened again after it was closed."""
    file = tmp_path / "folder" / "store.sqlite3"
    for _ in range(2):
        with client(database_url=f"sqlite:///{file}") as service:
            assert service.get("/v1/children", headers=KEY).status_code == 401
        assert file.exists()


@pytest.mark.parametrize(
    "url", ["mysql://x", "nonsense", "sqlite:///:memory:", "sqlite:////proc/nowhere/store.sqlite3"]
)
def test_a_store_that_cannot_be_opened_is_503(url: str) -> None:
    """With the remedy, without the address; checks go on."""
    service: TestClient = client(database_url=url)
    told = problem_of(service.get("/v1/children", headers=KEY), 503, "store-fault", "/v1/children")
    assert url not in json.dumps(told)
    assert told["errors"][0]["remedy"]
    assert service.get("/v1/foods/apple").status_code == 200


def test_a_store_that_is_no_database_is_503(tmp_path: Path) -> None:
    """Another file stays as it was."""
    file = tmp_path / "store.sqlite3"
    file.write_bytes(b"no database, but a letter " * 100)
    problem_of(client(database_url=f"sqlite:///{file}").get("/v1/children", headers=KEY), 503, "store-fault")
    assert file.read_bytes() == b"no database, but a letter " * 100
