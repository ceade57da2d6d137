"""Promise: edits that arrive at the same time are all made or refused, none disappears (threads, both databases)."""

import json
import threading
from typing import Any

from service.jobs.household.kinds import LUNCHES
from service.jobs.household.records import keep_record
from service.store.database import Store
from tests.api.household.homes import Home, child_body, food_body, lunch_body


def test_edits_at_once_lose_none(home: Home) -> None:
    """Six threads each add one field's figure, reading again after a 412, until theirs is in."""
    food = "/v1/foods/" + home.kept("/v1/foods", food_body(facts={}))
    fields = ["energy_kcal", "protein_g", "fat_g", "sugars_g", "fibre_g", "sodium_mg"]
    refused: list[int] = []
    start = threading.Barrier(len(fields))

    def add(field: str, figure: int) -> None:
        start.wait()
        for _ in range(50):
            tag = home.ask("GET", food).headers["etag"]
            answer = home.ask("PATCH", food, {"facts": {field: figure}}, if_match=tag)
            if answer.status_code == 200:
                return
            assert answer.status_code == 412, answer.text
            refused.append(1)

    threads = [threading.Thread(target=add, args=(field, number + 1)) for number, field in enumerate(fields)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    answer = home.ask("GET", food)
    facts = answer.json()["kept"]["facts"]
    assert {field: facts[field] for field in fields} == {field: number + 1 for number, field in enumerate(fields)}
    assert answer.headers["etag"] == f'"{len(fields) + 1}"'


def test_one_version_is_edited_once(home: Home) -> None:
    """Six threads edit from the same version: one is 200, five are 412."""
    child = "/v1/children/" + home.kept("/v1/children", child_body())
    answers: list[Any] = []
    start = threading.Barrier(6)

    def edit(number: int) -> None:
        start.wait()
        answers.append(home.ask("PATCH", child, {"dislikes": [f"food {number}"]}, if_match='"1"'))

    threads = [threading.Thread(target=edit, args=(number,)) for number in range(6)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert sorted(one.status_code for one in answers) == [200, 412, 412, 412, 412, 412]
    (made,) = [one for one in answers if one.status_code == 200]
    assert home.ask("GET", child).json() == made.json()


def test_a_food_is_not_taken_out_while_a_lunch_with_it_is_logged(home: Home, store: Store) -> None:
    """Who deletes it waits for the lunch, and is told of it; the lunch never names what is gone."""
    child = home.kept("/v1/children", child_body())
    food = home.kept("/v1/foods", food_body())
    asked = LUNCHES.adapter.validate_json(json.dumps(lunch_body(child, "2026-12-01", food)))
    answers: list[Any] = []
    taker = threading.Thread(
        target=lambda: answers.append(home.ask("DELETE", f"/v1/foods/{food}", if_match="*").status_code)
    )
    with store.writing() as connection:
        keep_record(connection, LUNCHES, home.id, asked, None)
        taker.start()
        taker.join(0.5)
        assert answers == []  # it waits
    taker.join()
    assert answers == [409]
    assert home.ask("GET", f"/v1/foods/{food}").status_code == 200
