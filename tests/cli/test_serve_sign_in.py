"""Promise: at a terminal each start of ``packed-lunch serve`` prints a sign-in link, elsewhere how to get one; TLS and the demo
family are one option away.
"""

import http.client
import json
import re
import ssl
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from service.cli.serve import Tls, check_tls
from service.cli.terminal.addresses import base_address
from service.domain.errors import BadInput, NotThere
from service.jobs.household.access.households import make_household
from service.jobs.household.access.sign_in_links import link_of_this_computer, redeem
from service.store.migrate import open_store
from tests.api.clients import settings_of
from tests.cli.commands import command
from tests.refused import refused
from tests.served import GENEROUS, ROOT, free_port, served, served_at_terminal

LINK = re.compile(r"^ {4}(http://[^ ]+)/sign-in\?link=([A-Za-z0-9_-]{43})$", re.MULTILINE)
SECRET = re.compile(r"^ {4}([A-Za-z0-9_-]{43})$", re.MULTILINE)


def test_each_start_prints_a_link_that_works_once(store_url: str) -> None:
    """For the first household, to do everything, named for this computer; the first start shows its key as before."""
    links = []
    for number in range(2):
        with served_at_terminal(PACKED_LUNCH_DATABASE_URL=store_url) as server:
            pass
        ((base, secret),) = LINK.findall(server.output)
        assert base == f"http://127.0.0.1:{server.port}"
        assert len(SECRET.findall(server.output)) == (number == 0)
        links.append(secret)
    assert len(set(links)) == 2
    store = open_store(store_url)
    made = redeem(store, links[1])
    assert made is not None
    assert (made.device.name, made.device.rights, made.device.child_id) == ("this computer", "keep", None)
    assert redeem(store, links[1]) is None
    store.close()


def test_what_the_readme_says_of_the_first_use_is_true_at_a_terminal() -> None:
    """It prints a link; the browser that opens it and presses the button is signed in; once; each start prints a new one."""
    readme = " ".join((ROOT / "README.md").read_text("utf-8").split())
    assert (
        "It prints a link. Open it in a browser on the same computer within ten minutes and choose **Use this device**"
        in readme
    )
    assert "The link works once; each start prints a new one." in readme
    assert "(The first start also prints an access key, for other programs; the pages need none.)" in readme
    with served_at_terminal("--demo") as server:
        pass
    assert len(LINK.findall(server.output)) == 1
    with served_at_terminal() as server:
        pass
    lines = server.output.splitlines()
    assert lines[0] == "This store is new: a household was made. Its access key, shown this once; write it down:"
    assert SECRET.fullmatch(lines[1])
    assert lines[2] == "To begin, open this in a browser on this computer, once, within ten minutes:"
    assert LINK.fullmatch(lines[3])


def test_a_log_gets_no_secret_but_the_commands_that_print_them(store_url: str) -> None:
    """Two starts into a file; then the commands of its line, of which the link and the key work."""
    for number in range(2):
        with served(PACKED_LUNCH_DATABASE_URL=store_url, PACKED_LUNCH_LOG_LEVEL="info") as server:
            made = command(store_url, "devices", "add", "--at", f"http://127.0.0.1:{server.port}")
            key = command(store_url, "keys", "make", "home automation", "--rights", "keep")["key"]
            base, secret = re.findall(r"^(.*)/sign-in\?link=(.*)$", made["link"])[0]
            assert base == f"http://127.0.0.1:{server.port}"
            assert server.ask("GET", "/v1/children", headers={"Authorization": f"Bearer {key}"})[0] == 200
            form = {"Content-Type": "application/x-www-form-urlencoded", "Sec-Fetch-Site": "same-origin"}
            assert server.ask("POST", "/sign-in", f"link={secret}".encode(), form)[0] == 303
        assert re.search(r"[A-Za-z0-9_-]{43}", server.output) is None
        assert "/sign-in?link=" not in server.output
        assert f"packed-lunch devices add --at http://127.0.0.1:{server.port}" in server.output
        assert "packed-lunch keys make NAME --rights keep" in server.output
        assert ("a household was made" in server.output) == (number == 0)


def test_the_household_can_be_named(store_url: str) -> None:
    """The first, unless another is; one that is not there ends the start with 2."""
    store = open_store(store_url)
    with refused(NotThere, match="household make"):
        link_of_this_computer(store)
    first, second = (make_household(store, name, 13)[0] for name in ("Hazel", "Aspen"))
    for given, meant in ((None, first), (second, second)):
        moment = datetime(2026, 11, 26, tzinfo=UTC)
        made = redeem(store, link_of_this_computer(store, given, moment).secret, moment)
        assert made is not None
        assert made.device.household_id == meant
    store.close()
    done = subprocess.run(
        [sys.executable, "-m", "service", "serve", "--household", "aspen"],
        cwd=ROOT, env={"PACKED_LUNCH_DATABASE_URL": store_url}, capture_output=True, text=True, check=False, timeout=GENEROUS,
    )  # fmt: skip
    assert done.returncode == 2
    assert "is not a household here" in done.stderr


def test_the_demo_has_a_store_of_its_own(tmp_path: Path) -> None:
    """Nearly four weeks of three children, behind a device's sign-in; the usual store is not touched, and nothing is left."""
    usual = tmp_path / "usual.sqlite3"
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    with served("--demo", PACKED_LUNCH_DATABASE_URL=f"sqlite:///{usual}", TMPDIR=str(temporary)) as server:
        assert server.ask("GET", "/v1/children")[0] == 401
        (file,) = temporary.glob("*/demo.sqlite3")
        store = open_store(f"sqlite:///{file}")
        made = redeem(store, link_of_this_computer(store).secret)
        store.close()
        assert made is not None
        cookie = {"Cookie": f"packed_lunch_device={made.secret}"}
        status, body = server.ask("GET", "/v1/lunches?limit=200", headers=cookie)
        assert status == 200
        assert (
            3 * 15 < len(json.loads(body)["items"]) <= 3 * 20
        )  # three whole weeks, and this one as far as it has come
        assert len(json.loads(server.ask("GET", "/v1/school-days?limit=200", headers=cookie)[1])["items"]) == 25
    assert not usual.exists()
    assert list(temporary.glob("*/demo.sqlite3")) == []
    assert LINK.findall(server.output) == SECRET.findall(server.output) == []
    assert f"PACKED_LUNCH_DATABASE_URL=sqlite:///{file} packed-lunch devices add" in server.output


def test_a_server_with_tls(certificate: Tls, tmp_path: Path) -> None:
    """A client that trusts the certificate is answered, and the link begins with https."""
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-m", "service", "serve", "--port", str(port), "--tls-cert", str(certificate.cert), "--tls-key", str(certificate.key)],
        cwd=ROOT, env={"PACKED_LUNCH_DATABASE_URL": f"sqlite:///{tmp_path / 'store.sqlite3'}"}, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        context = ssl.create_default_context(cafile=str(certificate.cert))
        until = time.monotonic() + GENEROUS
        while True:
            try:
                connection = http.client.HTTPSConnection("127.0.0.1", port, context=context, timeout=GENEROUS)
                connection.request("GET", "/v1/health")
                assert connection.getresponse().status == 200
                connection.close()
                break
            except (TimeoutError, ConnectionRefusedError):
                assert process.poll() is None
                assert time.monotonic() < until
                time.sleep(0.05)
    finally:
        process.terminate()
        printed, _ = process.communicate(timeout=GENEROUS)
    assert "/sign-in?link=" not in printed
    assert f"packed-lunch devices add --at https://127.0.0.1:{port}" in printed


def test_both_files_of_tls_or_neither(certificate: Tls, tmp_path: Path) -> None:
    """Each fault names the option and what to do."""
    check_tls(Tls())
    check_tls(certificate)
    other = tmp_path / "letter.txt"
    other.write_text("no certificate")
    for wrong, option, words in (
        (Tls(certificate.cert, None), "--tls-key", "Give both, or neither"),
        (Tls(None, certificate.key), "--tls-cert", "Give both, or neither"),
        (Tls(tmp_path / "none.pem", certificate.key), "--tls-cert", "cannot be read"),
        (Tls(certificate.cert, tmp_path), "--tls-key", "is a folder"),
        (Tls(other, certificate.key), "--tls-cert", "are not a certificate and its own key"),
        (Tls(certificate.key, certificate.cert), "--tls-cert", "are not a certificate and its own key"),
    ):
        with refused(BadInput, match=words) as told:
            check_tls(wrong)
        assert told.value.pointer == option


@pytest.mark.parametrize(("host", "shown"), [
    ("127.0.0.1", "127.0.0.1"), ("0.0.0.0", "127.0.0.1"), ("", "127.0.0.1"), ("::", "[::1]"), ("::1", "[::1]"),  # noqa: S104 - only shown
    ("kitchen.local", "kitchen.local"),
])  # fmt: skip
def test_the_address_to_open_is_one_of_this_machine(host: str, shown: str) -> None:
    """All addresses are shown as loopback; IPv6 in brackets (RFC 3986 section 3.2.2)."""
    assert base_address(settings_of(host=host)) == f"http://{shown}:8087"
    assert base_address(settings_of(host=host), tls=True) == f"https://{shown}:8087"
