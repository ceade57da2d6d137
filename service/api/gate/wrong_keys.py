"""How often unknown keys came from an address: after some of them it is told to wait.

A key is compared before anything is counted, so that no number of wrong keys keeps a right one out. What is slowed down is
the answer to wrong ones: they are told to wait, and keys from such an address are looked up two at a time.
"""

import logging
import math
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from ipaddress import IPv4Address, ip_address, ip_network

import anyio

from service.api.problems import ApiProblem
from service.domain.messages import message

log = logging.getLogger("packed_lunch")
WINDOW_S = 60.0
MOST_OF_A_KEY = 10
"""Wrong keys that begin alike, from one address in a minute, that are answered 401; each one more is answered 429."""
MOST_OF_AN_ADDRESS = 30
"""Wrong keys of any kind from one address in a minute."""
MOST_COUNTERS = 4096
"""Counters kept at a time; the one that was not used for longest makes room."""
PREFIX_BYTES = 6
"""What two keys have in common that are counted as tries of the same."""
LOOKED_UP_AT_ONCE = 2
IPV6_HOME = 64
"""Bits of an IPv6 address that one home has for itself (RFC 6177): whoever has one address there has all of them."""

Place = tuple[str, bytes]


class WrongKeys:
    """Counts wrong keys by address and beginning, in bounded memory; several threads may ask at once.

    ``slow_lane``: through it go look-ups for addresses from which too many wrong keys came, so that they do not take the
    threads of all others. ``clock``: seconds; its zero does not matter.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._counted: OrderedDict[Place, tuple[float, int]] = OrderedDict()
        self.slow_lane = anyio.CapacityLimiter(LOOKED_UP_AT_ONCE)

    def wrong(self, peer: str, key: bytes, what: str = "access key") -> None:
        """One more wrong key from an address; ``ApiProblem`` (429) with the seconds to wait if these are too many.

        ``what``: kind of key, for the log, which never has the key itself.
        """
        home = home_of(peer)
        with self._lock:
            waits = [
                self._count((home, key[:PREFIX_BYTES]), MOST_OF_A_KEY),
                self._count((home, b""), MOST_OF_AN_ADDRESS),
            ]
        wait = max(waits)
        if not wait:
            log.warning("an unknown %s was refused", what, extra={"peer": home})
            return
        raise ApiProblem(
            "too-many-failures", message("fault.too-many-unknown-keys", seconds=wait), {"Retry-After": str(wait)}
        )

    def slowed(self, peer: str) -> bool:
        """Whether too many wrong keys came from an address in this minute."""
        if not self._counted:
            return False
        with self._lock:
            ends, number = self._counted.get((home_of(peer), b""), (0.0, 0))
        return number > MOST_OF_AN_ADDRESS and ends > self._clock()

    def __len__(self) -> int:
        """How many counters there are."""
        return len(self._counted)

    def _count(self, place: Place, most: int) -> int:
        """The seconds to wait after one more; 0: none yet."""
        now = self._clock()
        ends, number = self._counted.pop(place, (0.0, 0))
        if ends <= now:
            ends, number = now + WINDOW_S, 0
        self._counted[place] = (ends, number + 1)
        if len(self._counted) > MOST_COUNTERS:
            self._counted.popitem(last=False)
        if number + 1 == most + 1:
            log.warning("too many unknown keys: more of them are answered 429 for a while", extra={"peer": place[0]})
        return max(1, math.ceil(ends - now)) if number >= most else 0


def home_of(peer: str) -> str:
    """The address that is counted: of IPv6 the network that one home has; of a text that is no address one for all.

    >>> home_of("192.0.2.7"), home_of("2001:db8::7"), home_of("::ffff:192.0.2.7"), home_of("unknown")
    ('192.0.2.7', '2001:db8::/64', '192.0.2.7', '')
    """
    try:
        address = ip_address(peer.partition("%")[0])
    except ValueError:
        return ""
    if isinstance(address, IPv4Address):
        return str(address)
    if address.ipv4_mapped is not None:
        return str(address.ipv4_mapped)
    return str(ip_network((address, IPV6_HOME), strict=False))
