"""Who may ask, how often, and from which pages: tokens, rates, origins and security headers."""

from __future__ import annotations

import hmac
import ipaddress
import logging
import os
import threading
import time
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Final

from flask import Flask, Response, request
from flask_cors import CORS
from flask_limiter import Limiter
from werkzeug.middleware.proxy_fix import ProxyFix

from api.problems import TYPES, Refused
from api.question import FRESH
from api.settings import BadSetting, Settings, tokens_of

# Seconds between two looks at the file of tokens: how long a revoked token may live on.
LOOK_AGAIN: Final = 1.0
# What is told to everybody: documents without a computed answer, and health for a balancer.
_GUARDED: Final = ("/v1/", "/metrics")
_NEVER_COUNTED: Final = frozenset({"/livez", "/readyz", "/metrics"})

# Charts style themselves inside; a page that needs more says so in its own reply.
_HEADERS: Final = (
    ("X-Content-Type-Options", "nosniff"),
    (
        "Content-Security-Policy",
        "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'",
    ),
    ("Referrer-Policy", "no-referrer"),
    ("X-Frame-Options", "DENY"),
)
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
                    listed = tokens_of(self._file.read_text("utf-8"))
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
    """
    if bind.startswith(("unix:", "fd://")):
        return False
    host = bind.rpartition(":")[0].strip("[]") if ":" in bind else bind
    if host == "localhost":
        return False
    try:
        return not ipaddress.ip_address(host).is_loopback
    except ValueError:
        return True


def install(app: Flask, chosen: Settings) -> None:
    """Guard an application; raises BadSetting for a public one that nobody meant to be open."""
    tokens = Tokens(chosen.tokens, chosen.tokens_file)
    public = [bind for bind in chosen.bind if is_public(bind)]
    if public and not tokens and not chosen.open:
        raise BadSetting(
            f"STILLWOOD_BIND={public[0]}: others can reach this address and no token is set; "
            "set STILLWOOD_TOKENS or STILLWOOD_TOKENS_FILE, or STILLWOOD_OPEN=yes to let "
            "everybody ask"
        )
    if chosen.proxies:
        app.wsgi_app = ProxyFix(  # type: ignore[method-assign]
            app.wsgi_app, x_for=chosen.proxies, x_proto=chosen.proxies
        )
    if chosen.rate is not None:
        _limit(app, chosen.rate, tokens)
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
            max_age=86_400,
        )

    @app.after_request
    def harden(response: Response) -> Response:
        for name, value in _HEADERS:
            response.headers.setdefault(name, value)
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


def _limit(app: Flask, rate: str, tokens: Tokens) -> None:
    """Count requests by token, else by address; before tokens are asked, so guesses count too.

    The memory of each worker counts for itself: N workers let up to N times the rate pass.  A
    batch counts as one request; its own limits bound it.
    """

    def caller() -> str:
        given = _given_token()
        holder = tokens.holder(given) if given is not None and tokens else None
        return holder or request.remote_addr or "unknown"

    Limiter(
        caller,
        app=app,
        application_limits=[rate],
        application_limits_exempt_when=lambda: (
            request.path in _NEVER_COUNTED or request.method == "OPTIONS"
        ),
        storage_uri="memory://",
        strategy="moving-window",
        headers_enabled=True,
        retry_after="delta-seconds",
    )


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
