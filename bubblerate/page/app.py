"""The page as a WSGI application: its addresses, checks and errors.

No answer may be shown to others or stored; no script, style or picture comes from elsewhere; an
error is one sentence.
"""

from __future__ import annotations

import secrets
import sys
import traceback
from http import HTTPStatus
from typing import TYPE_CHECKING, Final

from flask import Flask, Response, jsonify, redirect, render_template, request
from werkzeug.exceptions import HTTPException

from ..diary.tapping import ENOUGH_BUBBLES, ENOUGH_SECONDS
from ..errors import BubbleRateError
from ..text import printable
from .offers import DONE, SEEN
from .pages import Pages, jar_url, wants_json

if TYPE_CHECKING:
    from collections.abc import Callable

    from flask.typing import ResponseReturnValue
    from werkzeug.wrappers import Response as AnyResponse

    from .door import Door

__all__ = ["make_app"]

_LARGEST_FORM: Final = 64 << 10
_HEADERS: Final = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'self'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'",
    "Referrer-Policy": "same-origin",  # no referrer at all would blank the Origin of a form too
    "X-Content-Type-Options": "nosniff",
}
_PICTURE_POLICY: Final = "default-src 'self'; style-src 'unsafe-inline'"  # of the drawing library
_SENTENCES: Final = {
    HTTPStatus.NOT_FOUND: "There is no such page.",
    HTTPStatus.METHOD_NOT_ALLOWED: "This page cannot be used in this way.",
    HTTPStatus.REQUEST_ENTITY_TOO_LARGE: "That is more than this page can take at once.",
    HTTPStatus.UNSUPPORTED_MEDIA_TYPE: "Send this as application/json.",
    HTTPStatus.BAD_REQUEST: "This cannot be read.",
}
_FAULT: Final = (
    "Something went wrong in the program itself. What was written stays written. The terminal on "
    "the computer says more."
)


def make_app(pages: Pages) -> Flask:
    """Make the page of a shelf.

    Parameters
    ----------
    pages : Pages
        Answers for its addresses, and the door.

    Returns
    -------
    Flask
    """
    app = Flask("bubblerate.page")
    app.config["MAX_CONTENT_LENGTH"] = _LARGEST_FORM
    app.jinja_options = {"trim_blocks": True, "lstrip_blocks": True}
    app.jinja_env.filters["jar_url"] = jar_url
    app.jinja_env.globals.update(
        new_key=lambda: secrets.token_urlsafe(16),
        enough={"bubbles": ENOUGH_BUBBLES, "seconds": ENOUGH_SECONDS},
        done=DONE,
        zip=zip,
        seen=SEEN,
    )
    _lead(app, pages)
    app.before_request(lambda: _checked(pages.door))
    app.after_request(_sealed)
    app.register_error_handler(
        BubbleRateError, lambda err: _error(HTTPStatus.BAD_REQUEST, str(err))
    )
    app.register_error_handler(HTTPException, _refused)
    app.register_error_handler(Exception, _failed)
    return app


def _lead(app: Flask, pages: Pages) -> None:
    """Connect addresses with answers."""
    looking: dict[str, Callable[..., ResponseReturnValue]] = {
        "/k/<key>": pages.enter,
        "/": pages.shelf,
        "/jar/<jar>": pages.jar,
        "/jar/<jar>/picture.svg": pages.picture,
        "/evening": pages.evening,
        "/cellar": pages.cellar,
        "/calendar.ics": pages.calendar,
    }
    for rule, view in looking.items():
        app.add_url_rule(rule, view.__name__, view, methods=["GET"])
    entering = "any(tally, gravity, event, strike, split, join, 'top-up', about)"
    app.add_url_rule(f"/jar/<jar>/<{entering}:what>", "write", pages.write, methods=["POST"])
    app.add_url_rule("/jar/<jar>/listen", "listen", pages.listen, methods=["POST"])
    app.add_url_rule("/jar/<jar>/rows", "rows", pages.rows, methods=["POST"])
    # a refused form's address, if the phone loads it again
    again = f"{entering[:-1]}, listen)"
    app.add_url_rule(f"/jar/<jar>/<{again}:what>", "again", _jar_again, methods=["GET"])
    app.add_url_rule("/begin", "begin", pages.begin, methods=["POST"])
    app.add_url_rule("/begin", "begin_again", lambda: redirect("/"), methods=["GET"])


def _jar_again(jar: str, what: str) -> AnyResponse:  # noqa: ARG001 - the address has both
    return redirect(jar_url(jar))


def _checked(door: Door) -> ResponseReturnValue | None:
    """Refuse requests that may not come in."""
    host = request.headers.get("Host")
    if request.endpoint == "enter":
        refused = door.foreign(host)
    else:
        refused = door.refusal(
            host=host,
            cookie=request.cookies.get(door.cookie),
            origin=request.headers.get("Origin"),
            writes=request.method not in ("GET", "HEAD"),
            calendar_key=request.args.get("key") if request.endpoint == "calendar" else None,
        )
    return None if refused is None else _error(refused.status, refused.text, bare=True)


def _sealed(answer: Response) -> Response:
    answer.headers.update(_HEADERS)
    if answer.mimetype == "image/svg+xml":
        answer.headers["Content-Security-Policy"] = _PICTURE_POLICY
    return answer


def _refused(err: HTTPException) -> ResponseReturnValue:
    if err.response is not None or err.code is None or err.code < HTTPStatus.BAD_REQUEST:
        return err.get_response()  # a redirect, unchanged
    ours = err.code in (HTTPStatus.FORBIDDEN, HTTPStatus.NOT_FOUND) and err.description
    usual = type(err).description
    text = ours if ours and ours != usual else _SENTENCES.get(HTTPStatus(err.code), "No answer.")
    return _error(err.code, str(text), bare=err.code == HTTPStatus.FORBIDDEN)


def _failed(err: Exception) -> ResponseReturnValue:
    """Report a fault of ours: one line in the terminal, one sentence on the phone."""
    at = traceback.extract_tb(err.__traceback__)[-1]
    told = f"{type(err).__name__}: {printable(str(err))}, at {at.filename}:{at.lineno}"
    print(f"bubblerate: a fault in the program: {told}", file=sys.stderr)
    return _error(HTTPStatus.INTERNAL_SERVER_ERROR, _FAULT)


def _error(status: int, text: str, *, bare: bool = False) -> ResponseReturnValue:
    """Answer with one sentence; `bare` if even the style of the page is not allowed."""
    if wants_json():
        answer = jsonify(error=text)
        answer.status_code = status
        return answer
    return render_template("bare.html" if bare else "note.html", text=text), status
