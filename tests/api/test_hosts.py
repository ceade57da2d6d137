"""Promise: only hosts that are known are answered, so that no site can have its name lead here (DNS rebinding).

Host: RFC 9110 section 7.2; 421: section 15.5.20.
"""

import pytest

from tests.api.clients import LUNCH, client
from tests.api.problems_seen import problem_of

KEY = "kitchen-door-0123456789"
GOOD = [
    "localhost",
    "localhost:8087",
    "LOCALHOST",
    "localhost.",
    "127.0.0.1",
    "127.0.0.1:8087",
    "127.8.9.1",
    "[::1]",
    "[::1]:8087",
]
WRONG = [
    "kitchen.example", "127.0.0.1.kitchen.example", "localhost.kitchen.example", "192.0.2.7", "192.0.2.7:8087", "[2001:db8::7]",
    "localhost@kitchen.example", "localhost:8087:80", "[::1", "[::1]x", "", "localhost:port", "local host", "\xff",
]  # fmt: skip


@pytest.mark.parametrize("host", GOOD)
def test_this_machine_is_always_known(host: str) -> None:
    """By name and address, whatever the port."""
    assert client().get("/v1/foods/apple", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize("host", WRONG)
def test_any_other_host_is_421(host: str) -> None:
    """On every address, with the right key too; what was sent is not carried out."""
    for path in ("/v1/foods/apple", "/v1/health", "/docs", "/problems/not-found", "/nowhere"):
        answer = client(access_key=KEY).get(
            path, headers={"Host": host.encode("latin-1"), "Authorization": f"Bearer {KEY}"}
        )
        problem_of(answer, 421, "host-not-known", path)
    refused = client().post("/v1/lunch-checks", json=LUNCH, headers={"Host": host.encode("latin-1")})
    problem_of(refused, 421, "host-not-known")


def test_hosts_of_the_settings_and_the_one_listened_on_are_known() -> None:
    """Each name as it stands, nothing below or beside it."""
    service = client(allowed_hosts="kitchen.local, Packed.Example", host="192.0.2.7")
    for host, status in (
        ("kitchen.local:443", 200), ("packed.example", 200), ("192.0.2.7:8087", 200), ("192.0.2.8", 421), ("x.kitchen.local", 421),
        ("kitchen", 421), ("testserver", 421),
    ):  # fmt: skip
        assert service.get("/v1/foods/apple", headers={"Host": host}).status_code == status, host


@pytest.mark.parametrize("listened_on", ["0.0.0.0", "::"])  # noqa: S104 - never bound: asked in this process
def test_who_listens_everywhere_is_asked_by_any_address(listened_on: str) -> None:
    """An address cannot be made to lead here, a name can."""
    service = client(host=listened_on)
    for host, status in (("192.0.2.7:8087", 200), ("[2001:db8::7]:8087", 200), ("kitchen.example", 421), ("", 421)):
        assert service.get("/v1/foods/apple", headers={"Host": host}).status_code == status, host


@pytest.mark.parametrize("hosts", ["*", "*.kitchen.example", "https://kitchen.example"])
def test_what_is_no_name_is_refused(hosts: str) -> None:
    """Every host is named."""
    with pytest.raises(ValueError, match="give names only"):
        client(allowed_hosts=hosts)
