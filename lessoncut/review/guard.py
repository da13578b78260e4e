"""Lets nobody in but the teacher's own browser.

The server listens on the loopback address only, but other pages in the same browser, and other users of the same
machine, can reach that, too. So every request must name this very address (no foreign name that was made to lead
here), and carry a cookie that only the link printed in the terminal gives. Whatever changes something must come from
the page itself.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-cache",
}
SAFE = ("GET", "HEAD")
LOST = "This page is open only through the link that `lessoncut review` prints. Run it again to get the link."


@dataclass(frozen=True)
class Keys:
    """``token`` stands in the link, ``cookie`` in the browser; both are made anew for every run."""

    token: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    cookie: str = field(default_factory=lambda: secrets.token_urlsafe(32))


class Guard:
    """Wraps the app. ``port`` is the one the server listens on."""

    def __init__(self, app: ASGIApp, port: int, keys: Keys) -> None:
        self.app = app
        self.host = f"127.0.0.1:{port}"
        self.keys = keys
        self.cookie_name = f"lessoncut-{port}"  # browsers do not keep cookies of different ports apart

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return

        async def fenced(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        await (self.refusal(scope) or self.app)(scope, receive, fenced)

    def refusal(self, scope: Scope) -> Response | None:
        """The answer to a request that is not let in; also the one that lets a browser in. None lets it pass."""
        headers = Headers(scope=scope)
        if headers.getlist("host") != [self.host]:
            return PlainTextResponse("This server answers to its own address only.", 421)
        if scope["method"] in SAFE and scope["path"] == "/" and scope["query_string"]:
            return self.welcome(scope)
        cookies = cookie_parser(headers.get("cookie", ""))
        if not _same(cookies.get(self.cookie_name, ""), self.keys.cookie):
            return PlainTextResponse(LOST, 403)
        if scope["method"] not in SAFE:
            site = headers.get("sec-fetch-site", "same-origin")
            if headers.get("origin") != f"http://{self.host}" or site != "same-origin":
                return PlainTextResponse("Changes come from the page itself only.", 403)
        return None

    def welcome(self, scope: Scope) -> Response:
        """Exchanges the link's token for the cookie, and takes it out of the address."""
        token = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
        if not _same(token, self.keys.token):
            return PlainTextResponse(LOST, 403)
        response = RedirectResponse("/", 303)
        response.set_cookie(self.cookie_name, self.keys.cookie, path="/", httponly=True, samesite="strict")
        return response


def _same(given: str, kept: str) -> bool:
    return secrets.compare_digest(given.encode("utf-8", "replace"), kept.encode())
