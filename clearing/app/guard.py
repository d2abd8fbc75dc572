"""Let only this computer's own page in: Host, Origin, a key that moves into a cookie, bounds."""

import json
import secrets
from typing import Any
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

COOKIE = "clearing"  # with the port: two places may be open at once
LARGEST_BODY = 4_000_000  # bytes of one request; own choice
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:;"
    " connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
# the finished map keeps the policy that stands in it: its scripts are named by their sha256
OWN_POLICY = ("/out/",)
HEADERS = {
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "x-frame-options": "DENY",
}


class Keys:
    """The one-time keys of addresses and the cookie that they are changed for.

    A key opens the page once; another one is then ready for a further window.
    """

    def __init__(self) -> None:
        self.cookie = secrets.token_urlsafe(32)
        self.key = secrets.token_urlsafe(24)

    def spend(self, key: str) -> bool:
        """Return whether this key opens the page, and make a new one when it did."""
        if not secrets.compare_digest(key.encode(), self.key.encode()):
            return False
        self.key = secrets.token_urlsafe(24)
        return True

    def known(self, cookie: str | None) -> bool:
        """Return whether this is the page's cookie."""
        return cookie is not None and secrets.compare_digest(cookie.encode(), self.cookie.encode())


class Guard:
    """Stand before every route: refuse what does not come from the page itself.

    Parameters
    ----------
    app : ASGI application
        What stands behind.
    port : int
        The port that is listened on.
    keys : Keys
        Key and cookie.
    """

    def __init__(self, app: ASGIApp, port: int, keys: Keys) -> None:
        self.app, self.keys = app, keys
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self.cookie = f"{COOKIE}-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        refusal = self._refusal(scope)

        async def closed(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                headers.setdefault("cache-control", "no-store")
                if not scope["path"].startswith(OWN_POLICY):
                    headers["content-security-policy"] = POLICY
            await send(message)

        await (refusal or self.app)(scope, receive, closed)

    def _refusal(self, scope: Scope) -> Response | None:
        """Return the answer to a request that is not let in; none for one that is."""
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if host not in self.hosts:
            return PlainTextResponse("This page is for this computer alone.", 421)
        origin = headers.get("origin")
        own = {f"http://{name}" for name in self.hosts}
        changes = scope["method"] not in ("GET", "HEAD")
        if origin not in own if changes else origin is not None and origin not in own:
            return PlainTextResponse("This asks from another page; it is not answered.", 403)
        if scope["path"] == "/" and scope["method"] == "GET":  # a mere look spends no key
            key = parse_qs(scope["query_string"].decode("latin-1")).get("key")
            if key and self.keys.spend(key[0]):
                moved = RedirectResponse("/", 303)
                moved.set_cookie(self.cookie, self.keys.cookie, httponly=True, samesite="strict")
                return moved
        if not self.keys.known(Request(scope).cookies.get(self.cookie)):
            return PlainTextResponse(
                "This address was used already, or is an old one. Open the one that stands in the "
                "window where 'clearing draw' runs.", 403,
            )  # fmt: skip
        if changes and headers.get("content-type", "").partition(";")[0] != "application/json":
            return PlainTextResponse("Only JSON is taken here.", 415)
        return None


async def body_of(request: Request) -> dict[str, Any]:
    """Return the JSON object of a request.

    Raises
    ------
    NotTaken
        It is larger than is taken, no JSON, or no object.

    References
    ----------
    own reasoning
    """
    taken = bytearray()
    async for piece in request.stream():
        taken += piece
        if len(taken) > LARGEST_BODY:
            raise TooLarge(f"a stroke of more than {LARGEST_BODY // 10**6} MB is not taken")
    try:
        found = json.loads(taken)
        if b"\\ud" in taken.lower():  # half a sign cannot be kept in any file
            json.dumps(found, ensure_ascii=False).encode("utf-8")
    except (ValueError, RecursionError) as cause:
        raise NotTaken("this is no JSON") from cause
    if not isinstance(found, dict):
        raise NotTaken("a JSON object is needed")
    return found


class NotTaken(ValueError):
    """A request that is no question and no stroke."""


class TooLarge(NotTaken):
    """A request that is larger than is taken."""
