"""A shelf served to phones: the page with its door, and a phone that has been let in."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from functools import cache
from html import unescape
from typing import TYPE_CHECKING

from bubblerate.page.app import make_app
from bubblerate.page.door import Door, door_key
from bubblerate.page.pages import Pages

from scenes import written

if TYPE_CHECKING:
    from pathlib import Path
    from threading import Thread

    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

NOW = datetime(2026, 10, 20, 21, tzinfo=UTC)
HOST = "127.0.0.1:8530"
ORIGIN = f"http://{HOST}"
COUNTS = [{"day": day, "bubbles": 40 - 2 * day, "seconds": 60, "temp_c": 18} for day in (2, 3)]


def shelf_in(folder: Path, *names: str) -> Path:
    """A shelf of young jars, each with a few counts."""
    for name in names or ("fig", "old plum"):
        written(folder / f"{name}.csv", {"day": 0, "event": "pitched", "sg": 1.08}, *COUNTS)
    return folder


def pages_of(folder: Path, clock=lambda: NOW) -> Pages:
    door = Door(key=door_key(folder), names=("127.0.0.1", "localhost"), port=8530)
    return Pages.of(folder, door=door, clock=clock)


_app = cache(make_app)  # whose templates are read once


class Phone:
    """A phone that asks the page, and sends back the forms that it was shown."""

    def __init__(self, pages: Pages, *, let_in: bool = True):
        self.door = pages.door
        self.client: FlaskClient = _app(pages).test_client()
        if let_in:
            self.client.get(f"/k/{self.door.key}", base_url=ORIGIN)

    def get(self, path: str, **headers: str) -> TestResponse:
        return self.client.get(path, base_url=ORIGIN, headers=headers, buffered=True)

    def post(self, path: str, fields=None, *, headers=None, **more) -> TestResponse:
        headers = {"Origin": ORIGIN} if headers is None else headers
        return self.client.post(path, base_url=ORIGIN, data=fields, headers=headers, **more)

    def fills(self, path: str, what: str, **fields: str) -> dict[str, str]:
        """What a form on a page sends once it is filled in: its hidden fields and these."""
        return {**hidden(self.get(path).text, what), **fields}

    def enters(self, jar: str, what: str, **fields: str) -> TestResponse:
        """Fill in a form of a jar, and follow where the answer leads."""
        said = self.fills(f"/jar/{jar}", what, **fields)
        return self.post(f"/jar/{jar}/{what}", said, follow_redirects=True)


def hidden(page: str, what: str, *, nth: int = 0) -> dict[str, str]:
    """Hidden fields of the nth form of a page that leads to such an address."""
    forms = re.findall(rf'<form [^>]*action="[^"]*/{what}".*?</form>', page, re.DOTALL)
    tags = re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', forms[nth])
    return {name: unescape(value) for name, value in tags}


def shown(page: str) -> str:
    """What a page says, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def closed(server, running: Thread) -> None:
    """Stop a server that another thread runs: all it does to its sockets, it does there."""

    def close() -> None:
        for channel in [*server.active_channels.values()]:
            channel.handle_close()
        server.close()

    server.task_dispatcher.shutdown()
    server.trigger.pull_trigger(close)
    running.join(timeout=600)
    assert not running.is_alive()
