"""The gate in front of every route: hosts, access keys, devices, the headers that replies carry (pages carry more),
HEAD, and the answer to a fault of our own.

Only hosts that are known here are answered. From this machine no key is needed unless the service was started with one.
Whoever comes from elsewhere needs the service's key, a household's, or a device that is signed in. A key that is sent
must be one of these in any case: a household's key that was cut short is not taken for no key. A device sends a cookie:
what it changes must come from a page of ours, and one that may only take sees nothing of the JSON API.

Plain ASGI, so that it costs next to nothing. Nothing of a request's content is logged.
"""

import hmac
import logging
import traceback
from collections.abc import Callable, Mapping

import anyio.to_thread
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.device_cookie import device_secret
from service.api.failures import Failures
from service.api.media import best_of
from service.api.problems import ApiProblem, internal_error, of_api_problem, of_lunch_error, waits_of
from service.api.senders import CHANGING, Headers, KnownHosts, from_elsewhere, from_our_page
from service.domain.errors import LunchError
from service.domain.messages import message
from service.jobs.household.access.opened import Caller, Households

log = logging.getLogger("packed_lunch")
RefusalPage = Callable[[Scope, str], Response]
"""Makes the page for a request that is not carried out: from the request and the slug of the problem."""
OPEN_PATHS = frozenset({"/v1/health"})

OPEN_PREFIX = "/problems/"
JSON_API = "/v1/"
HTML, JSON = "text/html", "application/json"
MOST_FAILURES = "10/minute"

HEADERS: tuple[tuple[bytes, bytes], ...] = ((b"x-content-type-options", b"nosniff"),)
NOT_STORED = (b"cache-control", b"no-store")
"""For every reply that does not say itself how long it may be used."""
PAGE_HEADERS: tuple[tuple[bytes, bytes], ...] = (
    *HEADERS,
    (b"referrer-policy", b"no-referrer"),
    (
        b"content-security-policy",
        b"default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
        b"connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    ),
)


class Gate:
    """Refuses callers without a key who need one, and adds the headers; HEAD is GET without the body.

    ``scope["household"]`` is the ``Caller`` of a request that carries a household's key or comes from a device that is
    signed in. ``behind_proxy``: a proxy on this machine hands requests on, so nobody counts as coming from this machine.
    ``open_prefixes``: addresses that begin so need no key. ``refusal_page``: answers a browser that asked for a page;
    everybody else gets the problem.
    """

    def __init__(
        self,
        app: ASGIApp,
        access_key: str,
        households: Households,
        hosts: KnownHosts,
        *,
        behind_proxy: bool = False,
        open_prefixes: tuple[str, ...] = (),
        refusal_page: RefusalPage | None = None,
    ) -> None:
        self.app = app
        self.expected = access_key.encode()
        self.households = households
        self.hosts = hosts
        self.all_need_a_key = bool(access_key) or behind_proxy
        self.open_prefixes = (OPEN_PREFIX, *open_prefixes)
        self.refusal_page = refusal_page
        self.failures = Failures(MOST_FAILURES)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the request through, or answer 401."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        begun = False
        bodiless = scope["method"] == "HEAD"

        async def send_with_headers(sent: Message) -> None:
            nonlocal begun
            if sent["type"] == "http.response.start":
                begun = True
                headers = sent["headers"]
                headers.extend(PAGE_HEADERS if scope["path"].startswith("/docs") else HEADERS)
                if not any(name == b"cache-control" for name, _value in headers):
                    headers.append(NOT_STORED)
            elif bodiless:
                sent = {**sent, "body": b""}
            await send(sent)

        headers = Headers(scope)
        try:
            await self._let_in(scope, headers)
        except ApiProblem as refused:
            reply = self._page(scope, refused.slug, refused.headers) or of_api_problem(refused, scope["path"])
            await reply(scope, receive, send_with_headers)
            return
        except LunchError as fault:  # the store cannot be read
            reply = self._page(scope, fault.slug, waits_of(fault)) or of_lunch_error(
                fault, scope["path"], bodiless=True
            )
            await reply(scope, receive, send_with_headers)
            return
        asked = {**scope, "method": "GET"} if bodiless else scope
        try:
            await self.app(asked, receive, send_with_headers)
        except Exception as fault:  # whatever it is, nothing of the inside or of the request may get out
            if begun:
                raise
            where = "".join(traceback.format_tb(fault.__traceback__))  # lines of code, no values
            log.error("unexpected %s at %s\n%s", type(fault).__name__, _route_of(asked), where)
            reply = self._page(scope, "internal-error") or internal_error(scope["path"])
            await reply(scope, receive, send_with_headers)

    async def _let_in(self, scope: Scope, headers: Headers) -> None:
        """Raise for a request that may not go on; remember whose it is."""
        if not self.hosts.has(headers.host):
            raise ApiProblem("host-not-known", message("fault.host-not-known"))
        path = scope["path"]
        key = bearer(headers.authorization)
        secret = device_secret(headers.cookie) if key is None and headers.cookie is not None else None
        if secret is not None and scope["method"] in CHANGING and not from_our_page(scope, headers):
            raise ApiProblem("cross-site-request", message("fault.not-from-our-page"))
        if path in OPEN_PATHS or path.startswith(self.open_prefixes):
            return
        if secret is not None and await self._signed_in(scope, secret):
            return
        if key is None:
            if self.all_need_a_key or from_elsewhere(scope, headers):
                raise ApiProblem(
                    "access-key-needed",
                    message("fault.no-access-key"),
                    {"WWW-Authenticate": "Bearer"},
                )
            return
        address = scope["client"][0] if scope.get("client") else ""
        if self.failures.too_many(address):
            raise self.failures.problem(address)
        if self.expected and hmac.compare_digest(key, self.expected):
            return
        scope["household"] = await self._caller(key, address)

    async def _signed_in(self, scope: Scope, secret: bytes) -> bool:
        """Whether a request comes from a device that is signed in; ``ApiProblem`` if it may not go on.

        A cookie that is not known counts as none, but the JSON API says so. It is not counted as a guess: nobody guesses
        256 random bits, and a device that was signed out should not keep others of its house out.
        """
        caller = await anyio.to_thread.run_sync(self.households.signed_in, secret)
        of_api = scope["path"].startswith(JSON_API)
        if caller is None:
            if of_api:
                raise ApiProblem(
                    "not-signed-in",
                    message("fault.device-not-signed-in"),
                    {"WWW-Authenticate": "Bearer"},
                )
            return False
        if of_api and caller.rights == "take":
            raise ApiProblem("forbidden-right", message("fault.device-only-takes"))
        scope["household"] = caller
        return True

    def _page(self, scope: Scope, slug: str, headers: Mapping[str, str] | None = None) -> Response | None:
        """The page for a browser that asked for a page or sent a form; None for everybody else."""
        if self.refusal_page is None or scope["path"].startswith(JSON_API):
            return None
        accept = next((value.decode("latin-1") for name, value in scope["headers"] if name == b"accept"), "")
        if HTML not in accept or best_of((JSON, HTML), accept) != HTML:
            return None
        page = self.refusal_page(scope, slug)
        page.headers.update(headers or {})
        return page

    async def _caller(self, key: bytes, address: str) -> Caller:
        """Whose key this is; ``ApiProblem`` if it is nobody's."""
        found = await anyio.to_thread.run_sync(self.households.caller, key)
        if found is None:
            self.failures.count(address)
            log.warning("an unknown access key was refused")
            raise ApiProblem(
                "access-key-refused",
                message("fault.access-key-not-known"),
                {"WWW-Authenticate": "Bearer"},
            )
        return found


def _route_of(scope: Scope) -> str:
    """The address with the names of its parts in the place of what was sent, so that no id and no key gets into the log."""
    if "path_params" not in scope:
        return "an address of no route"
    path = str(scope["path"])
    for name, value in scope["path_params"].items():
        path = path.replace(str(value), f"{{{name}}}")
    return path


def bearer(authorization: bytes | None) -> bytes | None:
    """The key in Authorization (RFC 6750 section 2.1), or None."""
    if authorization is None:
        return None
    scheme, _, key = authorization.partition(b" ")
    return key.strip() if scheme.lower() == b"bearer" else None
