"""Who may ask, how often, and from which pages: tokens, rates, origins; who may keep replies."""

from __future__ import annotations

import hmac
import ipaddress
import logging
import os
import socket
import threading
import time
from collections.abc import Callable, Iterable
from hashlib import sha256
from pathlib import Path
from typing import Final

from flask import Flask, Response, request
from flask_cors import CORS
from flask_limiter import Limiter
from werkzeug.middleware.proxy_fix import ProxyFix

from api.admission import CALLER
from api.problems import TYPES, Refused
from api.question import FRESH
from api.settings import BadSetting, Settings, text_of, tokens_of

# Seconds between two looks at the file of tokens: how long a revoked token may live on.
LOOK_AGAIN: Final = 1.0
# What is told to everybody: documents without a computed answer, and health for a balancer.
_GUARDED: Final = ("/v1/", "/metrics")
_NEVER_COUNTED: Final = frozenset({"/livez", "/readyz", "/metrics"})

# Only these are asked again later (RFC 9110, section 10.2.3; RFC 6585, section 4).
_COME_BACK: Final = (429, 503)
_log = logging.getLogger("stillwood")


class Tokens:
    """The tokens that may ask: those set for good, and those of a file as it is now.

    A file that has gone or cannot be read lets nobody in, so that removing it revokes all.
    """

    def __init__(
        self,
        fixed: tuple[str, ...],
        file: Path | None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._fixed = [_digest(token) for token in fixed]
        self._file = file
        self._clock = clock
        self._lock = threading.Lock()
        self._looked = -LOOK_AGAIN
        self._seen: tuple[int, int, int] | None = None
        self._known = self._fixed

    def __bool__(self) -> bool:
        """Whether a token is needed at all."""
        return bool(self._fixed) or self._file is not None

    def holder(self, given: str) -> str | None:
        """A name for the holder of a token that may ask, None for any other.

        Every known token is compared, each in constant time.
        """
        digest = _digest(given)
        found = False
        for known in self._now():
            found |= hmac.compare_digest(known, digest)
        return digest.hex()[:16] if found else None

    def _now(self) -> list[bytes]:
        if self._file is None or self._clock() - self._looked < LOOK_AGAIN:
            return self._known
        with self._lock:
            self._looked = self._clock()
            try:
                about = os.stat(self._file)
                seen = (about.st_mtime_ns, about.st_size, about.st_ino)
                if seen != self._seen:
                    listed = tokens_of(text_of(self._file))
                    self._known = self._fixed + [_digest(token) for token in listed]
                    self._seen = seen
            except (OSError, ValueError) as error:
                if self._seen is not None or self._known is not self._fixed:
                    _log.error("the file of tokens cannot be used; its tokens are off: %s", error)
                self._known, self._seen = self._fixed, None
        return self._known


def _digest(token: str) -> bytes:
    return sha256(token.encode("utf-8", "surrogateescape")).digest()


def is_public(bind: str) -> bool:
    """Whether others than this machine can reach an address.

    >>> is_public("127.0.0.1:8321"), is_public("[::1]:8321"), is_public("unix:/run/stillwood")
    (False, False, False)
    >>> is_public("0.0.0.0:8321"), is_public("shop:8321"), is_public(":8321")
    (True, True, True)

    What cannot be read counts as public; of a socket that is handed over (`fd://`) the name tells
    nothing, and `refuse_public` looks at it.
    """
    if bind.startswith(("unix:", "fd://")):
        return False
    host = bind.rpartition(":")[0].strip("[]") if ":" in bind else bind
    return host != "localhost" and not _is_loopback(host)


def _is_loopback(host: str) -> bool:
    try:
        address = ipaddress.ip_address(host)
    except ValueError:  # a name: who knows where it leads
        return False
    # A socket for both versions of IP tells an IPv4 address in IPv6's notation.
    return (getattr(address, "ipv4_mapped", None) or address).is_loopback


def refuse_public(listeners: Iterable[socket.socket], chosen: Settings) -> None:
    """Raise BadSetting when others can reach one of these sockets and nobody meant them to.

    The settings name addresses before they exist; the sockets are the truth, also where a command
    line, GUNICORN_CMD_ARGS or systemd named other ones.
    """
    if chosen.tokens or chosen.tokens_file is not None or chosen.open:
        return
    for listener in listeners:
        if listener.family in (socket.AF_INET, socket.AF_INET6):
            host, port = listener.getsockname()[:2]
            if not _is_loopback(host):
                raise BadSetting(_unguarded(f"listening at {host} port {port}"))


def _unguarded(where: str) -> str:
    return (
        f"{where}: others can reach this address and no token is set; set STILLWOOD_TOKENS or "
        "STILLWOOD_TOKENS_FILE, or STILLWOOD_OPEN=yes to let everybody ask"
    )


def install(app: Flask, chosen: Settings) -> None:
    """Guard an application; raises BadSetting for a public one that nobody meant to be open."""
    tokens = Tokens(chosen.tokens, chosen.tokens_file)
    public = [bind for bind in chosen.bind if is_public(bind)]
    if public and not tokens and not chosen.open:
        raise BadSetting(_unguarded(f"STILLWOOD_BIND={public[0]}"))
    if chosen.proxies:
        app.wsgi_app = ProxyFix(  # type: ignore[method-assign]
            app.wsgi_app, x_for=chosen.proxies, x_proto=chosen.proxies
        )
    caller = _callers(tokens)
    app.extensions[CALLER] = caller
    if chosen.rate is not None:
        _limit(app, chosen.rate, caller)
    if tokens:
        _guard(app, tokens)
    if chosen.origins:
        CORS(
            app,
            origins=list(chosen.origins),
            methods=["GET", "HEAD", "POST"],
            allow_headers=[
                "Authorization",
                "Content-Type",
                "If-None-Match",
                "X-Request-ID",
                "traceparent",
            ],
            expose_headers=["ETag", "Retry-After", "X-Request-ID"],
            send_wildcard=True,  # `*` is told as such and never as the caller's own origin
            max_age=86_400,
        )

    @app.after_request
    def keep(response: Response) -> Response:
        if chosen.origins and "*" not in chosen.origins:
            # Also without an allowed origin: a cache must not hand such a reply to a page that is.
            response.vary.add("Origin")
        return _cacheable(response)


def _cacheable(response: Response) -> Response:
    """Say how long a reply keeps where its maker did not.

    Documents and catalogues keep as long as answers and get their tag from their bytes.  With
    tokens no shared cache keeps an answer: its request has an Authorization header (RFC 9111,
    section 3.5).
    """
    if "Cache-Control" in response.headers:
        return response
    document = response.status_code == 200 and request.method in ("GET", "HEAD")
    if document and request.path not in _NEVER_COUNTED and not response.is_streamed:
        response.headers["Cache-Control"] = f"max-age={FRESH}"
        response.add_etag(weak=True)
        return response.make_conditional(request)  # type: ignore[return-value]
    response.headers["Cache-Control"] = "no-store"
    return response


def _given_token() -> str | None:
    given = request.authorization
    return given.token if given is not None and given.type == "bearer" else None


def _callers(tokens: Tokens) -> Callable[[], str]:
    """A function that tells who asks: the holder of a token, else an address."""

    def caller() -> str:
        given = _given_token()
        holder = tokens.holder(given) if given is not None and tokens else None
        return holder or _neighbourhood(request.remote_addr)

    return caller


def _limit(app: Flask, rate: str, caller: Callable[[], str]) -> None:
    """Count requests by token, else by address; before tokens are asked, so guesses count too.

    The memory of each worker counts for itself: N workers let up to N times the rate pass.  A
    batch counts as one request; its own limits bound it.
    """

    # Registered before the limiter's, so called after it.
    @app.after_request
    def come_back(response: Response) -> Response:
        if response.status_code not in _COME_BACK:
            response.headers.pop("Retry-After", None)  # the limiter adds it to every reply
        return response

    Limiter(
        caller,
        app=app,
        application_limits=[rate],
        application_limits_exempt_when=lambda: (
            request.path in _NEVER_COUNTED or request.method == "OPTIONS"
        ),
        # Else paths that lead nowhere would not count, and be free to guess tokens with.
        request_identifier=lambda: request.endpoint or "none",
        storage_uri="memory://",
        # Two counts a caller, gone with their window: a flood from many addresses fills no memory.
        strategy="sliding-window-counter",
        headers_enabled=True,
        retry_after="delta-seconds",
    )


def _neighbourhood(address: str | None) -> str:
    """The caller's address; of IPv6 its network of 64 bits, which one household has to itself.

    >>> _neighbourhood("10.0.0.7"), _neighbourhood("2001:db8::1:2:3:4"), _neighbourhood("a b")
    ('10.0.0.7', '2001:db8::/64', 'unknown')
    """
    try:
        given = ipaddress.ip_address(address or "")
    except ValueError:  # a unix socket has none; a proxy may tell anything
        return "unknown"
    if isinstance(given, ipaddress.IPv4Address):
        return str(given)
    if given.ipv4_mapped is not None:
        return str(given.ipv4_mapped)
    return str(ipaddress.ip_network((int(given) >> 64 << 64, 64)))


def _guard(app: Flask, tokens: Tokens) -> None:
    @app.before_request
    def known_token() -> None:
        if not request.path.startswith(_GUARDED) or request.method == "OPTIONS":
            return
        given = _given_token()
        if given is None:
            challenge = 'Bearer realm="stillwood"'
        elif tokens.holder(given) is None:
            challenge = 'Bearer realm="stillwood", error="invalid_token"'
        else:
            return
        kind = TYPES["not-authorised"]
        raise Refused(kind.name, kind.remedy, headers={"WWW-Authenticate": challenge})
