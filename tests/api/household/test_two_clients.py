"""Promise: of two people's edits in any order none is lost (a law, with Hypothesis's state machine).

Each of two clients reads, and edits from what it read last. A model next to it keeps every edit that was answered with 200;
an edit made from an old version is answered with 412 and changes nothing.
"""

import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, invariant, rule

from service.store.migrate import open_store
from tests.api.clients import client
from tests.api.household.homes import Home, food_body, new_home

CLIENTS = st.integers(0, 1)
FIELDS = st.sampled_from(["energy_kcal", "protein_g", "sodium_mg"])
FIGURES = st.integers(0, 20).map(float)
"""Such as a bar of 40 g can hold, of each and of all together."""


class TwoClients(RuleBasedStateMachine):
    """A household's foods, edited by two clients."""

    foods = Bundle("foods")

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        url = f"sqlite:///{Path(self.folder.name) / 'store.sqlite3'}"
        self.store = open_store(url)
        self.service = client(database_url=url)
        self.service.__enter__()
        self.home: Home = new_home(self.service, self.store)
        self.model: dict[str, tuple[int, dict[str, Any]]] = {}
        self.read: list[dict[str, tuple[int, dict[str, Any]]]] = [{}, {}]
        self.made = 0

    def teardown(self) -> None:
        """Close and take away."""
        self.service.__exit__(None, None, None)
        self.store.close()
        self.folder.cleanup()

    @rule(target=foods, who=CLIENTS)
    def keep(self, who: int) -> str:
        """A new food."""
        self.made += 1
        food = self.home.kept("/v1/foods", food_body(f"food {self.made}"))
        self.look(who, food)
        self.model[food] = self.read[who][food]
        assert self.model[food][0] == 1
        return food

    @rule(who=CLIENTS, food=foods)
    def look(self, who: int, food: str) -> None:
        """Read a food, to edit it later."""
        answer = self.home.ask("GET", f"/v1/foods/{food}")
        if answer.status_code == 404:
            assert food not in self.model
            return
        self.read[who][food] = (int(answer.headers["etag"].strip('"')), answer.json()["kept"]["facts"])

    def was(self, who: int, food: str) -> int:
        """The version that a client read last."""
        return self.read[who].get(food, (0, {}))[0]

    def outcome(self, food: str, version: int, good: int) -> int:
        """The status that an edit from a version has to have."""
        if food not in self.model:
            return 404
        return good if self.model[food][0] == version else 412

    @rule(who=CLIENTS, food=foods, field=FIELDS, figure=FIGURES)
    def edit(self, who: int, food: str, field: str, figure: float) -> None:
        """One field, from the version read last."""
        version = self.was(who, food)
        answer = self.home.ask("PATCH", f"/v1/foods/{food}", {"facts": {field: figure}}, if_match=f'"{version}"')
        assert answer.status_code == self.outcome(food, version, 200)
        if answer.status_code == 200:
            self.model[food] = (version + 1, {**self.model[food][1], field: figure})

    @rule(who=CLIENTS, food=foods, figure=FIGURES)
    def replace(self, who: int, food: str, figure: float) -> None:
        """The whole, as it was read last but for one field."""
        version, facts = self.read[who].get(food, (0, {}))
        body = food_body(f"food {list(self.model).index(food) + 1}x" if food in self.model else "gone")
        body["facts"] = {**facts, "fat_g": figure}
        answer = self.home.ask("PUT", f"/v1/foods/{food}", body, if_match=f'"{version}"')
        expected = self.outcome(food, version, 200)
        assert answer.status_code == expected or (answer.status_code, expected) == (409, 200)
        if answer.status_code == 200:
            self.model[food] = (version + 1, {**self.model[food][1], "fat_g": figure})

    @rule(who=CLIENTS, food=foods)
    def remove(self, who: int, food: str) -> None:
        """Remove it, from the version read last."""
        version = self.was(who, food)
        answer = self.home.ask("DELETE", f"/v1/foods/{food}", if_match=f'"{version}"')
        assert answer.status_code == self.outcome(food, version, 204)
        if answer.status_code == 204:
            del self.model[food]

    @invariant()
    def everything_is_as_the_answers_said(self) -> None:
        """Each food holds all edits that were answered with 200, and no other."""
        told = self.home.ask("GET", "/v1/export").json()["foods"]
        assert {one["id"]: (one["version"], one["body"]["facts"]) for one in told} == self.model


TwoClients.TestCase.settings = settings(max_examples=15, stateful_step_count=25, deadline=None)
test_no_edit_is_lost = pytest.mark.property(TwoClients.TestCase)
