"""One look-up in the live source: the questions it takes, and what became of them.

A code takes a search for its versions and a question for the newest of them; a second search where no version has the code
as it is usually written, and a third question where only an older version has values.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

from requests import RequestException, Response
from requests_cache import CachedSession
from requests_cache.models.response import CachedResponse

from service.domain.foods.branded import BrandedFood
from service.domain.messages import Message, message
from service.lookup.branded.codes import MOST_DIGITS, PacketCode
from service.lookup.live.asking import Asking, NoAnswer
from service.lookup.live.replies import Version, food_of, found_in, version_in

SEARCH = "/v1/foods/search"
ENTRY = "/v1/food/"
ON_A_PAGE = 50
"""Foods of one search; a code has about five versions."""
LENGTHS = (8, 12, 13, MOST_DIGITS)
"""Digits that a code is written in (GS1 General Specifications: GTIN-8, -12, -13 and -14)."""

AHEAD = timedelta(minutes=10)
"""An answer that was kept later than this moment by more was kept by a clock that was set back since: it is asked for anew, or
it would count as fresh for years."""


@dataclass(frozen=True)
class LiveAnswer:
    """What the live source knows. ``foods``: those found, one at the most for a code.

    ``read``: the day on which the oldest part of the answer was read from the network; None where there is no answer.
    ``kept``: some of it was read before, and kept. ``stale``: some was kept for more than thirty days.
    ``problem``: why the network first gave no answer, a message of the group ``live``; None: it did, or was not needed.
    """

    foods: tuple[BrandedFood, ...] = ()
    read: date | None = None
    kept: bool = False
    stale: bool = False
    problem: Message | None = None


class Look:
    """A look-up in a session that was opened for it; ``asking`` sends its questions."""

    def __init__(self, base_url: str, session: CachedSession, asking: Asking) -> None:
        self._base, self._session, self._asking = base_url, session, asking
        self._days: list[date] = []
        self._kept = self._stale = False
        self._problem: Message | None = None

    def by_code(self, code: PacketCode) -> LiveAnswer:
        """The newest version of a code, with the values of the newest that has any."""
        usual, *others = _spellings(code.number)
        versions = self._versions(usual, code) or ([] if self._problem else self._versions(" ".join(others), code))
        if not versions:
            return self._answer(())
        newest = versions[0]
        entry = self._entry(newest)
        values_from = None
        if not entry.amounts():
            older = next((one for one in versions[1:] if one.amounts()), None)
            values_from = None if older is None else self._entry(older)
        return self._answer((food_of(entry, self._day(), values_from),))

    def by_words(self, words: str, limit: int) -> LiveAnswer:
        """The newest version of each code that the search finds, in its order."""
        newest: dict[int, Version] = {}
        for one in self._search(words):
            code = one.code()
            if code is not None and (code not in newest or one.newest() > newest[code].newest()):
                newest[code] = one
        return self._answer(tuple(food_of(one, self._day()) for one in list(newest.values())[:limit]))

    def _answer(self, foods: tuple[BrandedFood, ...]) -> LiveAnswer:
        read = self._day() if self._days else None
        return LiveAnswer(foods, read, kept=self._kept, stale=self._stale, problem=self._problem)

    def _day(self) -> date:
        return min(self._days)

    def _versions(self, query: str, code: PacketCode) -> list[Version]:
        """The versions of a code, the newest first: a search also finds others."""
        same = [one for one in self._search(query) if one.code() == code.number]
        return sorted(same, key=Version.newest, reverse=True)

    def _search(self, query: str) -> list[Version]:
        response = self._get(SEARCH, {"query": query, "dataType": "Branded", "pageSize": str(ON_A_PAGE)})
        found = None if response is None else found_in(response)
        return [] if found is None else found.foods

    def _entry(self, found: Version) -> Version:
        """The whole entry of a version; what the search said of it where the entry is not to be had."""
        response = self._get(f"{ENTRY}{found.fdc_id}", {})
        entry = None if response is None else version_in(response)
        if entry is None or entry.fdc_id != found.fdc_id:
            return found
        return entry.model_copy(update={"gtin_upc": found.gtin_upc})

    def _get(self, path: str, parameters: dict[str, str]) -> Response | None:
        """The answer, from what was kept or from the network; None where there is none, and then it is noted why.

        A redirection is not followed: it would take the key to another host.
        """
        self._asking.refused = None
        response = self._reply(path, parameters, anew=False)
        if isinstance(response, CachedResponse) and response.created_at > datetime.now(UTC) + AHEAD:
            again = self._reply(path, parameters, anew=True)
            self._stale = self._stale or again is None
            response = again or response
        if response is None:
            return None
        if self._asking.refused is not None:
            self._problem, self._stale = self._problem or self._asking.refused, True
        self._kept = self._kept or isinstance(response, CachedResponse)
        read = response.created_at if isinstance(response, CachedResponse) else datetime.now(UTC)
        self._days.append(read.date())
        return response

    def _reply(self, path: str, parameters: dict[str, str], *, anew: bool) -> Response | None:
        """The answer, or None; ``anew``: not the one that was kept."""
        try:
            return self._session.get(self._base + path, params=parameters, allow_redirects=False, force_refresh=anew)
        except NoAnswer as none:
            self._problem = self._problem or none.why
        except RequestException:
            self._problem = self._problem or message("live.not-reached")
        return None


def _spellings(number: int) -> list[str]:
    """How a code can be written, the usual way first: in 12 digits, or in as many as it needs."""
    written = [f"{number:0{length}}" for length in LENGTHS if number < 10**length]
    usual = written[0] if number < 10 ** LENGTHS[0] and len(str(number)) == LENGTHS[0] else f"{number:012}"
    return list(dict.fromkeys((usual, *written, str(number))))


def expected(response: Response) -> bool:
    """Whether an answer has the shape that its address has."""
    if urlsplit(response.url).path.endswith(SEARCH):
        return found_in(response) is not None
    return version_in(response) is not None


def worth_keeping(response: Response) -> bool:
    """Whether an answer is kept: one that has the shape, and of a search one that found something.

    A code that is not there today may be there tomorrow.
    """
    address = urlsplit(response.url)
    if not address.path.endswith(SEARCH):
        return version_in(response) is not None
    found = found_in(response)
    words = parse_qs(address.query).get("query", [""])[0].split()
    if found is None or not all(word.isdecimal() for word in words):
        return found is not None and bool(found.foods)
    codes = {int(word) for word in words}
    return any(one.code() in codes for one in found.foods)
