"""Promise: what a proxy says of a caller is believed of the proxies that are named, and of nobody else.

X-Forwarded-For is read from the right: each proxy adds the address that it was asked from (RFC 7239 section 5.2 has the same order).
"""

import pytest
from starlette.testclient import TestClient

from service.api.app import create_app
from tests.api.clients import settings_of

KEY = {"Authorization": "Bearer wrong-key"}
PROXY, OUTER_PROXY = "10.0.0.5", "10.0.0.6"
HOME, OTHER = "192.0.2.7", "192.0.2.8"  # RFC 5737
SETTINGS = {"trusted_proxies": f"{PROXY}, 10.0.0.6/31", "metrics_key": "metrics-door-0123456789"}


def shut_out(app: object, peer: str, forwarded: str | list[str]) -> bool:
    """Whether a wrong key of a caller is told to wait by now."""
    return asked(app, peer, forwarded) == 429


def asked(app: object, peer: str, forwarded: str | list[str], headers: dict[str, str] = KEY) -> int:
    """The status of a request that came from a peer with these lines of X-Forwarded-For."""
    lines = [forwarded] if isinstance(forwarded, str) else forwarded
    named = [*headers.items(), *(("X-Forwarded-For", line) for line in lines)]
    client = TestClient(app, client=(peer, 50_000))  # type: ignore[arg-type]
    return client.get("/v1/foods/apple", headers=named).status_code


def test_callers_behind_a_named_proxy_are_told_apart() -> None:
    """Eleven wrong keys of one home; the other is not told to wait, nor the proxy's own address."""
    app = create_app(settings_of(**SETTINGS))
    for _ in range(11):
        last = asked(app, PROXY, HOME)
    assert last == 429
    assert not shut_out(app, PROXY, OTHER)
    assert asked(app, PROXY, []) == 401


@pytest.mark.parametrize("chain", [
    f"{OTHER}, {HOME}", f"127.0.0.1, {HOME}", f"x, , {HOME}", f"{HOME}, {OUTER_PROXY}", f"{OTHER}, {HOME}, {OUTER_PROXY}, {OUTER_PROXY}",
    [OTHER, HOME], [f"{OTHER}, {HOME}", OUTER_PROXY], f"{HOME}:4711",
])  # fmt: skip
def test_of_a_chain_the_right_most_that_is_no_proxy_counts(chain: str | list[str]) -> None:
    """Whatever a caller wrote into the header itself stands left of that."""
    app = create_app(settings_of(**SETTINGS))
    for _ in range(10):
        assert asked(app, PROXY, HOME) == 401
    assert shut_out(app, PROXY, chain)
    assert not shut_out(app, PROXY, OTHER)


@pytest.mark.parametrize("peer", ["127.0.0.1", "::1", "192.0.2.99", "10.0.0.8"])
def test_whoever_is_no_named_proxy_cannot_choose_its_address(peer: str) -> None:
    """Eleven wrong keys with eleven addresses in the header are eleven of one caller; so they are without any proxy named."""
    for settings in ({}, {"trusted_proxies": PROXY}):
        app = create_app(settings_of(**settings))
        assert [asked(app, peer, f"192.0.2.{number}") for number in range(11)] == [401] * 10 + [429]


def test_who_came_through_a_proxy_is_never_from_this_machine() -> None:
    """With a proxy that is named, and with one that is not: a key is needed, though the peer is this machine."""
    for settings in ({}, {"behind_proxy": True}, {"trusted_proxies": "127.0.0.1"}):
        app = create_app(settings_of(**settings))
        for forwarded in (HOME, "127.0.0.1", "::1", "unknown", ""):
            assert asked(app, "127.0.0.1", forwarded, {}) == 401, (settings, forwarded)
    assert asked(create_app(settings_of()), "127.0.0.1", [], {}) == 200
    assert asked(create_app(settings_of(behind_proxy=True)), "127.0.0.1", [], {}) == 401


def test_behind_proxy_is_every_address_of_this_machine() -> None:
    """As before: the setting says that the proxy is on this machine."""
    chosen = settings_of(behind_proxy=True, trusted_proxies="10.0.0.0/24")
    assert chosen.proxies() == ["127.0.0.0/8", "::1/128", "10.0.0.0/24"]
    app = create_app(chosen)
    for _ in range(10):
        asked(app, "127.0.0.1", HOME)
    assert shut_out(app, "10.0.0.77", HOME)


@pytest.mark.parametrize("proxies", ["*", "proxy.example", "10.0.0.5/8", "10.0.0", "127.0.0.1;::1"])
def test_what_is_no_address_is_refused(proxies: str) -> None:
    """Names can be made to lead elsewhere, and everybody is no proxy."""
    with pytest.raises(ValueError, match="give addresses or networks"):
        settings_of(trusted_proxies=proxies)


def test_a_proxy_may_name_the_request() -> None:
    """Only a named one, once, in a plain form; otherwise it is named here."""
    app = create_app(settings_of(**SETTINGS))

    def called(peer: str, *given: bytes) -> str:
        client = TestClient(app, client=(peer, 50_000))
        answer = client.get("/v1/health", headers=[(b"X-Request-ID", one) for one in given])
        return str(answer.headers["x-request-id"])

    assert called(PROXY, b"7d1f0c9a-20ab") == "7d1f0c9a-20ab"
    for given in (
        b"short",
        b"x" * 65,
        b"with a blank",
        b"caf\xc3\xa9-0123",
        b"<script>alert(1)",
        b"",
        b"line\x0bbreak",
    ):
        assert called(PROXY, given).isalnum()
        assert called(PROXY, given) != given.decode()
    assert called(PROXY, b"7d1f0c9a-20ab", b"another-one") not in ("7d1f0c9a-20ab", "another-one")
    for peer in ("127.0.0.1", HOME):
        assert called(peer, b"7d1f0c9a-20ab") != "7d1f0c9a-20ab"
    assert len({called(PROXY) for _ in range(100)}) == 100
