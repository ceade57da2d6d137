"""One question to the source: sent within the time that is left, tried again after a fault of the connection, and refused
unless the answer is what was expected. What is refused never takes the place of an answer that was kept.
"""

from collections.abc import Callable
from time import monotonic
from typing import Any

from requests import PreparedRequest, RequestException, Response
from requests.adapters import HTTPAdapter
from requests.exceptions import ChunkedEncodingError, ConnectionError, ContentDecodingError, ReadTimeout
from urllib3.exceptions import DecodeError, HTTPError, ReadTimeoutError

from service.domain.messages import Message, message
from service.lookup.live.pace import FEWEST_LEFT, Pace

TRIES = 3
"""The first, and two more after a fault of the connection."""
LARGEST_ANSWER = 8_000_000
"""Bytes; a page of 50 foods has less than one million."""
AT_ONCE = 65_536


class NoAnswer(RequestException):
    """There is no answer that can be used. ``why``: a message of the group ``live``."""

    def __init__(self, why: Message) -> None:
        self.why = why
        super().__init__(why.code)


class Asking(HTTPAdapter):
    """Sends the questions of one look-up. ``refused``: why the last one that was sent has no answer; None: it has.

    ``until``: when the whole look-up must have ended, by ``time.monotonic``. ``expected``: whether an answer has the
    shape that is expected of it.
    """

    def __init__(self, pace: Pace, until: float, expected: Callable[[Response], bool]) -> None:
        super().__init__()
        self._pace, self._until, self._expected = pace, until, expected
        self.refused: Message | None = None

    def send(self, request: PreparedRequest, *args: Any, **more: Any) -> Response:
        """The answer; ``NoAnswer`` where there is none that can be used."""
        self.refused = None
        try:
            return self._send(request, **more)
        except NoAnswer as found:
            self.refused = found.why
            raise

    def _send(self, request: PreparedRequest, **more: Any) -> Response:
        if request.method != "GET":
            raise ValueError(f"{request.method}: the source is only read")
        if self._pace.at_floor():
            raise NoAnswer(message("live.near-limit", left=FEWEST_LEFT))
        for tried in range(1, TRIES + 1):
            try:
                response = self._once(request, more)
                break
            except ReadTimeout as fault:
                raise NoAnswer(message("live.too-slow")) from fault
            except ContentDecodingError as fault:
                raise NoAnswer(message("live.not-understood")) from fault
            except (ConnectionError, ChunkedEncodingError) as fault:
                if tried == TRIES:
                    raise NoAnswer(message("live.not-reached")) from fault
        self._pace.heard(response.status_code, response.headers)
        # What is known of a packet is the same whichever key asks. A Vary that names the key would keep it from being used.
        response.headers.pop("Vary", None)
        if response.status_code == 304:
            return response
        if response.status_code != 200:
            raise NoAnswer(_refusal(response.status_code))
        if not self._expected(response):
            raise NoAnswer(message("live.not-understood"))
        return response

    def _once(self, request: PreparedRequest, more: dict[str, Any]) -> Response:
        left = self._until - monotonic()
        if left <= 0:
            raise NoAnswer(message("live.too-slow"))
        response = super().send(request, **{**more, "stream": True, "timeout": left})
        body = bytearray()
        try:
            while part := response.raw.read1(AT_ONCE, decode_content=True):
                body += part
                if len(body) > LARGEST_ANSWER:
                    raise NoAnswer(message("live.not-understood"))
                if monotonic() > self._until:
                    raise NoAnswer(message("live.too-slow"))
        except ReadTimeoutError as fault:
            raise NoAnswer(message("live.too-slow")) from fault
        except DecodeError as fault:
            raise ContentDecodingError(fault) from fault
        except (HTTPError, OSError) as fault:
            raise ChunkedEncodingError(fault) from fault
        finally:
            response.raw.close()
        response._content = bytes(body)  # as requests itself keeps what it has read
        return response


def _refusal(status: int) -> Message:
    if status in (401, 403):
        return message("live.key-refused", status=status)
    if status == 404:
        return message("live.not-there")
    if status == 429:
        return message("live.too-many")
    if status >= 500:
        return message("live.fault-there", status=status)
    return message("live.not-understood")
