"""Promise: nothing of the stock is lost or made up, whatever happens in whatever order (a law, with Hypothesis's state machine).

Two devices make (a dish of what there is), move, take, throw, count, remove, and log, change, undo and remove lunches, each from what it read last. A model next
to it keeps the sum of each food in milligrams by the plainest accounting; after every step it is what the stock adds up to, no
entry is below nothing, and each entry is the sum of its events. Common practice, no source: what a store room's book must show.
"""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test
from starlette.testclient import TestClient

from service.store.database import Store
from tests.api.household.homes import Home, child_body, lunch_body, new_home, stock_body, today

WHO = st.integers(0, 1)
DISH, INGREDIENT = "sandwich-peanut-butter", "bread-whole-wheat"
FOODS = st.sampled_from([DISH, "apple", INGREDIENT])
PLACES = st.sampled_from(["fridge", "freezer", "cupboard"])
QUARTERS = st.integers(1, 20).map(lambda number: number / 4)
PICK = st.integers(0, 30)


def milligrams(grams: float) -> int:
    """Whole milligrams."""
    return round(grams * 1000)


class Kitchen(RuleBasedStateMachine):
    """A household with a stock, two devices and two children."""

    def __init__(self, service: TestClient, store: Store) -> None:
        super().__init__()
        self.home: Home = new_home(service, store)
        self.total: dict[str, int] = {DISH: 0, "apple": 0, INGREDIENT: 0}
        self.read: list[dict[str, dict[str, Any]]] = [{}, {}]
        self.children = [self.home.kept("/v1/children", child_body(name, avoids=[])) for name in ("Wren", "Rowan")]
        self.taken: dict[str, dict[tuple[str, str], int]] = {}
        """What the lunch of a child took, by food and entry, and gives back: not what was counted since."""
        self.packed: dict[str, list[dict[str, Any]]] = {}
        self.used: dict[str, dict[str, int]] = {}
        """What was made into the dish of an entry, by entry of its ingredient, and can come back: not what was counted since."""

    def entries(self) -> list[dict[str, Any]]:
        """All entries as they are."""
        found: list[dict[str, Any]] = self.home.ask("GET", "/v1/stock?limit=200").json()["items"]
        return found

    @rule(who=WHO)
    def look(self, who: int) -> None:
        """A device reads the stock."""
        self.read[who] = {one["id"]: one for one in self.entries()}

    @rule(food=FOODS, place=PLACES, portions=QUARTERS)
    def add(self, food: str, place: str, portions: float) -> None:
        """A new entry."""
        made = {"made_on": today()} if food == DISH else {}
        answer = self.home.ask("POST", "/v1/stock", stock_body(food, portions, place=place, **made))
        assert answer.status_code == 201, answer.text
        self.total[food] += milligrams(answer.json()["grams"])

    def happen(self, who: int, pick: int, body: dict[str, Any]) -> tuple[dict[str, Any], Any] | None:
        """Something happens to an entry as a device read it; None where it was refused, which changes nothing."""
        if not self.read[who]:
            return None
        entry = list(self.read[who].values())[pick % len(self.read[who])]
        now = {one["id"]: one for one in self.entries()}.get(entry["id"])
        answer = self.home.ask("POST", f"/v1/stock/{entry['id']}/events", body, if_match=f'"{entry["version"]}"')
        if now is None:
            assert answer.status_code == 404, answer.text
            return None
        if now["version"] != entry["version"]:
            assert answer.status_code == 412, answer.text
            return None
        if answer.status_code == 422:
            return None
        assert answer.status_code == 201, answer.text
        self.read[who][entry["id"]] = answer.json()["stock"]
        return now, answer.json()

    @rule(who=WHO, pick=PICK, event=st.sampled_from(["taken", "thrown"]), portions=st.none() | QUARTERS)
    def away(self, who: int, pick: int, event: str, portions: float | None) -> None:
        """Some of an entry, or all of it, is gone; never more than there is."""
        done = self.happen(who, pick, {"event": event, "portions": portions})
        if done is not None:
            before, reply = done
            asked = before["grams"] if portions is None else min(portions * before["portion_grams"], before["grams"])
            assert abs(milligrams(-reply["event"]["grams"]) - milligrams(asked)) <= 3
            self.total[before["food"]] += milligrams(reply["event"]["grams"])

    @rule(who=WHO, pick=PICK, portions=QUARTERS)
    def more(self, who: int, pick: int, portions: float) -> None:
        """More is made."""
        done = self.happen(who, pick, {"event": "made", "portions": portions})
        if done is not None:
            before, reply = done
            self.total[before["food"]] += round(portions * milligrams(before["portion_grams"]))
            assert reply["used"] is None or before["food"] == DISH
            for row in [] if reply["used"] is None else reply["used"]["foods"]:
                assert row["food"] == INGREDIENT
                assert milligrams(row["taken_grams"]) == sum(milligrams(one["grams"]) for one in row["from"])
                self.total[INGREDIENT] -= milligrams(row["taken_grams"])
                used = self.used.setdefault(before["id"], {})
                for one in row["from"]:
                    used[one["id"]] = used.get(one["id"], 0) + milligrams(one["grams"])

    @rule(who=WHO, pick=PICK, portions=st.just(0.0) | QUARTERS)
    def count(self, who: int, pick: int, portions: float) -> None:
        """It is counted: so much is there."""
        done = self.happen(who, pick, {"event": "counted", "portions": portions})
        if done is not None:
            before, reply = done
            self.total[before["food"]] += milligrams(reply["stock"]["grams"]) - milligrams(before["grams"])
            for taken in self.taken.values():
                taken.pop((before["food"], before["id"]), None)
            for used in self.used.values():
                used.pop(before["id"], None)
            assert abs(reply["stock"]["grams"] - portions * before["portion_grams"]) < 0.004

    @rule(pick=PICK)
    def remove(self, pick: int) -> None:
        """An entry was a mistake: it is gone, and so much of what went into it is back as of it was left."""
        entries = self.entries()
        if entries:
            entry = entries[pick % len(entries)]
            events = self.home.ask("GET", f"/v1/stock/{entry['id']}/events").json()["items"]
            made = sum(milligrams(one["grams"]) for one in events if one["event"] == "made")
            assert self.home.ask("DELETE", f"/v1/stock/{entry['id']}", if_match="*").status_code == 204
            self.total[entry["food"]] -= milligrams(entry["grams"])
            share = min(1, Fraction(milligrams(entry["grams"]), made)) if made else Fraction(0)
            for amount in self.used.pop(entry["id"], {}).values():
                self.total[INGREDIENT] += round(amount * share)
            for taken in self.taken.values():
                taken.pop((entry["food"], entry["id"]), None)
            for used in self.used.values():
                used.pop(entry["id"], None)

    @rule(who=WHO, pick=PICK, to=PLACES, portions=st.none() | QUARTERS)
    def move(self, who: int, pick: int, to: str, portions: float | None) -> None:
        """It is moved, all or a part: nothing more and nothing less is there."""
        self.happen(who, pick, {"event": "moved", "to": to, "portions": portions})

    @rule(child=WHO, foods=st.lists(FOODS, min_size=1, max_size=2, unique=True), quantity=QUARTERS)
    def lunch(self, child: int, foods: list[str], quantity: float) -> None:
        """A lunch of today is logged, or put in the place of the one that is there: what it took before is given back."""
        name = self.children[child]
        items = [{"food": food, "quantity": quantity} for food in foods]
        same = self.packed.get(name) == items
        sent = lunch_body(name, today(), items=items)
        answer = self.home.ask("PUT", f"/v1/children/{name}/lunches/{today()}", sent, if_none_match='"none"')
        assert answer.status_code in (200, 201), answer.text
        if same:
            assert answer.json()["stock"] is None
            return
        self.give_back(name)
        said = answer.json()["stock"]
        for row in [] if said is None else said["foods"]:
            taken = milligrams(row["taken_grams"])
            assert taken == sum(milligrams(one["grams"]) for one in row["from"])
            assert bool(row["short_grams"]) == any(row["name"] in note for note in said["notes"])
            self.taken[name] |= {(row["food"], one["id"]): milligrams(one["grams"]) for one in row["from"]}
            self.total[row["food"]] -= taken
        self.packed[name] = items

    @rule(child=WHO)
    def undo(self, child: int) -> None:
        """The lunch is removed."""
        name = self.children[child]
        for one in self.home.ask("GET", f"/v1/lunches?child={name}").json()["items"]:
            assert self.home.ask("DELETE", f"/v1/lunches/{one['id']}", if_match="*").status_code == 204
        self.give_back(name)
        self.packed.pop(name, None)

    def give_back(self, child: str) -> None:
        """What the child's lunch took before is there again, but for what was counted since."""
        for (food, _entry), amount in self.taken.pop(child, {}).items():
            self.total[food] += amount
        self.taken[child] = {}

    @invariant()
    def adds_up(self) -> None:
        """The stock is what the model says, and each entry the sum of its events."""
        entries = self.entries()
        for food, total in self.total.items():
            assert sum(milligrams(one["grams"]) for one in entries if one["food"] == food) == total, food
        for one in entries:
            assert one["grams"] >= 0
            events = self.home.ask("GET", f"/v1/stock/{one['id']}/events").json()["items"]
            assert sum(milligrams(event["grams"]) for event in events) == milligrams(one["grams"])


@pytest.mark.property
def test_the_stock_is_conserved(kitchen: TestClient, store: Store) -> None:
    """On SQLite and on PostgreSQL."""
    run_state_machine_as_test(
        lambda: Kitchen(kitchen, store), settings=settings(max_examples=8, stateful_step_count=25, deadline=None)
    )
