"""Writers over the JSON API: they keep, edit, remove and read records of their own, and know exactly what they were told."""

import json
import random
import threading
import traceback
from typing import Any

from tests.chaos.asking import Caller, Heard, NoAnswer
from tests.chaos.clock import Clock
from tests.chaos.findings import Notes
from tests.chaos.records import COLLECTIONS, Bodies, Known, holds

MOST = 250
"""Records of a writer; with more it removes as many as it keeps."""
LEAPS = 2
"""Moves of the clock after which a kept reply may be gone while a request is asked again; one move alone must never do it."""
JSON = {"Content-Type": "application/json"}
PATCH = {"Content-Type": "application/merge-patch+json"}


class Working(threading.Thread):
    """Somebody at work until told to stop; what goes wrong with the script itself is a finding too."""

    def __init__(self, name: str, notes: Notes, stop: threading.Event) -> None:
        super().__init__(name=name, daemon=True)
        self.notes, self.stop = notes, stop

    def run(self) -> None:
        """Step after step."""
        try:
            while not self.stop.is_set():
                self.step()
        except NoAnswer:
            self.notes.count("writes unanswered at the end")
        except Exception:  # a thread that ends without a word would look like success
            self.notes.found(f"this script: {self.name} broke", traceback.format_exc())

    def step(self) -> None:
        """Do one thing."""
        raise NotImplementedError


class RecordWriter(Working):
    """Writes records. ``known``: those that are there, by id; ``unsure``: bodies of which it was not told whether they are; ``gone``: addresses of those removed."""

    def __init__(
        self, caller: Caller, bodies: Bodies, clock: Clock, notes: Notes, stop: threading.Event, seed: int
    ) -> None:
        super().__init__(f"writer {bodies.number}", notes, stop)
        self.caller, self.bodies, self.clock = caller, bodies, clock
        self.draw = random.Random(f"{seed}/{bodies.number}")  # noqa: S311 - what is written is made up
        self.known: dict[str, Known] = {}
        self.unsure: list[Known] = []
        self.gone: set[str] = set()
        self.base: set[str] = set()

    def begin(self) -> None:
        """Keep what all others speak of, before anything goes wrong."""
        food, child = self.kept("foods", self.bodies.make("foods")), self.kept("children", self.bodies.new_child())
        self.bodies.food = food.id
        self.bodies.of_child(child.id)
        self.base = {food.id, child.id}

    def kept(self, collection: str, body: dict[str, Any] | None) -> Known:
        """Keep a record that others need, while nothing is wrong yet."""
        made = self._keep(collection, body)
        if made is None:
            raise RuntimeError(f"{collection} could not be kept: {[one.first for one in self.notes.findings.values()]}")
        return made

    def step(self) -> None:
        """Keep, edit, remove, or look at a record."""
        there = [one for one in self.known.values() if one.id not in self.base]
        chance = self.draw.random()
        if len(there) < 5 or chance < (0.45 if len(there) < MOST else 0.2):
            self._keep_any()
        elif chance < 0.7:
            self._edit(self.draw.choice(there))
        elif chance < 0.8:
            self._remove(self.draw.choice(there))
        else:
            self._see(self.draw.choice(there))

    def _keep_any(self) -> None:
        collection = self.draw.choice(COLLECTIONS)
        body = self.bodies.make(collection)
        if body is not None:
            self._keep(collection, body)
        elif collection == "lunches":
            child = self._keep("children", self.bodies.new_child())
            if child is not None:
                self.base.add(child.id)
                self.bodies.of_child(child.id)

    def _keep(self, collection: str, body: dict[str, Any] | None) -> Known | None:
        assert body is not None
        pending = Known(collection, "", "", body)
        self.unsure.append(pending)
        moved = self.clock.moved
        key = {"Idempotency-Key": f'"{self.name} {self.bodies.made}"'}
        heard = self.caller.until_answered("POST", f"/v1/{collection}", json.dumps(body).encode(), JSON | key)
        told = heard.json
        if heard.status == 201:
            record = (
                told if "id" in told else next(one for one in told.values() if isinstance(one, dict) and "id" in one)
            )
            known = Known(collection, record["id"], heard.tag, body)
            if not holds(body, record):
                self._found("the answer to a creation is not what was sent", body, heard)
        elif heard.status == 409 and heard.unsure and self.clock.moved >= moved + LEAPS and "location" in heard.headers:
            self.notes.count("creations found kept once their key was thrown out by a clock that leapt twice")
            known = Known(collection, heard.headers["location"].rpartition("/")[2], '"1"', body)
        elif self._of_other_clock(moved):
            self.unsure.remove(pending)
            return None
        else:
            self._found(f"POST /v1/{collection} answers {heard.status}", body, heard)
            return None
        self.unsure.remove(pending)
        self.notes.count("writes acknowledged")
        self.notes.count(f"  {collection} kept")
        self.known[known.id] = known
        return known

    def _edit(self, known: Known) -> None:
        body = self.bodies.changed(known, self.draw)
        before = Known(known.collection, known.id, known.tag, known.sent)
        moved = self.clock.moved
        self.known[known.id] = Known(known.collection, known.id, "", body)  # one or the other, until it is answered
        self.unsure += [before]
        patch = self.draw.random() < 0.5
        sent = {name: value for name, value in body.items() if known.sent.get(name) != value} if patch else body
        method, media = ("PATCH", PATCH) if patch else ("PUT", JSON)
        heard = self.caller.until_answered(
            method, known.path, json.dumps(sent).encode(), media | {"If-Match": known.tag}
        )
        self.unsure.remove(before)
        if heard.status == 200:
            self.known[known.id].tag = heard.tag
            if self.known[known.id].version != before.version + 1:
                self._found("an edit was made of another version", body, heard)
        elif heard.status == 412 and heard.unsure:
            self.known[known.id].tag = f'"{before.version + 1}"'  # it was carried out, and the answer lost
            self._see(self.known[known.id])
        else:
            self.known[known.id] = before
            if not self._of_other_clock(moved):
                self._found(f"{method} /v1/{known.collection} answers {heard.status}", body, heard)
            return
        self.notes.count("writes acknowledged")
        self.notes.count(f"  {known.collection} edited")

    def _remove(self, known: Known) -> None:
        del self.known[known.id]
        self.unsure.append(known)
        heard = self.caller.until_answered("DELETE", known.path, None, {"If-Match": known.tag})
        self.unsure.remove(known)
        if heard.status == 204 or (heard.status == 404 and heard.unsure):
            self.gone.add(known.path)
            self.notes.count("writes acknowledged")
            self.notes.count(f"  {known.collection} removed")
            return
        self.known[known.id] = known
        self._found(f"DELETE /v1/{known.collection} answers {heard.status}", known.sent, heard)

    def _see(self, known: Known) -> None:
        """What was acknowledged is there; what was removed is not."""
        heard = self.caller.until_answered("GET", known.path)
        self.notes.count("records read back")
        if heard.status != 200:
            self._found(f"an acknowledged record of {known.collection} is not there: {heard.status}", known.sent, heard)
            self.known.pop(known.id, None)
        elif not holds(known.sent, heard.json.get("kept", heard.json)) or heard.tag != known.tag:
            self._found(
                f"an acknowledged record of {known.collection} is another ({known.tag}, {heard.tag})", known.sent, heard
            )
        if self.gone and self.draw.random() < 0.2:
            gone = self.caller.until_answered("GET", self.draw.choice(sorted(self.gone)))
            if gone.status != 404:
                self._found("a removed record is there again", {}, gone)

    def _of_other_clock(self, moved: int) -> bool:
        """Whether a refusal may come of a clock that was moved: days of tomorrow are then in the past, and the other way round."""
        if self.clock.moved == moved and not self.clock.is_off:
            return False
        self.notes.count("writes refused under a moved clock")
        return True

    def _found(self, kind: str, body: Any, heard: Heard) -> None:
        self.notes.found(kind, f"{self.name} sent {json.dumps(body)[:600]}\n-> {heard.told()}")


class Racer(Working):
    """One of several that edit the same record: of each version, one alone is acknowledged. ``shared``: version -> whose it is."""

    def __init__(
        self, number: int, caller: Caller, path: str, shared: dict[int, str], notes: Notes, stop: threading.Event
    ) -> None:
        super().__init__(f"racer {number}", notes, stop)
        self.caller, self.path, self.shared, self.made = caller, path, shared, 0

    def step(self) -> None:
        """Read it, and edit it from the version read."""
        read = self.caller.until_answered("GET", self.path)
        if read.status != 200:
            self.notes.found(f"the record that is raced for answers {read.status}", read.told())
            return
        self.made += 1
        name = f"{self.name} {self.made}"
        heard = self.caller.until_answered(
            "PATCH", self.path, json.dumps({"name": name}).encode(), PATCH | {"If-Match": read.tag}
        )
        if heard.status == 412:
            return
        if heard.status != 200:
            self.notes.found(f"an edit in a race answers {heard.status}", heard.told())
            return
        version = int(heard.tag.strip('"'))
        other = self.shared.setdefault(version, name)
        self.notes.count("edits acknowledged in a race")
        if other != name or heard.json["name"] != name:
            self.notes.found("two edits became the same version", f"{version}: {other!r} and {name!r}")
        self.stop.wait(0.05)
