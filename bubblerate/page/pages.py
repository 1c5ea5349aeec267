"""Answers each address of the page, after the checks at the door.

Nothing is worked out here: rows go through `Shelf`, answers come from `judge`, words from `show`.
The heavy libraries are loaded inside functions, so that writing a count does without them.
"""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass
from datetime import timedelta
from http import HTTPStatus
from typing import TYPE_CHECKING, Final, TypeAlias
from urllib.parse import quote, urlencode

from flask import Response, abort, jsonify, redirect, render_template, request
from werkzeug.wrappers import Response as BareResponse

from ..diary.folder import Unread
from ..diary.kin import kin
from ..diary.shelf import shelf_at
from ..errors import BubbleRateError, ConfigError, InputError
from ..show.calendar import as_ics, entries
from .entries import Entries
from .forms import Form
from .judgements import Judgements
from .pouring import BEGIN
from .sensor import rows_of, write_rows
from .sound import listened

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from ..diary.shelf import Shelf
    from .door import Door

__all__ = ["LARGEST_SOUND", "Pages", "jar_url", "wants_json"]

Answer: TypeAlias = BareResponse | str | tuple[BareResponse | str, int]

LARGEST_SOUND: Final = 32 << 20  # a quarter of an hour of sound, as the page sends it
_LARGEST_ROWS: Final = 1 << 20
_A_YEAR: Final = timedelta(days=365)
_EVENING: Final = "evening"  # the walk from jar to jar in one evening


@dataclass(frozen=True, slots=True, kw_only=True)
class Pages:
    """The pages of one shelf.

    Attributes
    ----------
    folder : Path
        The shelf.
    door : Door
    clock : callable
        Gives the present moment, aware.
    entries : Entries
    judgements : Judgements
    """

    folder: Path
    door: Door
    clock: Callable[[], datetime]
    entries: Entries
    judgements: Judgements

    @classmethod
    def of(cls, folder: Path, *, door: Door, clock: Callable[[], datetime]) -> Pages:
        """Make the pages of a shelf, with nothing judged yet."""
        return cls(
            folder=folder,
            door=door,
            clock=clock,
            entries=Entries(folder),
            judgements=Judgements(),
        )

    def prepare(self) -> None:
        """Judge every jar once, so that the first page is fast."""
        self.judgements.all(shelf_at(self.folder), at=self.clock())

    # --- looking -------------------------------------------------------------------------------

    def enter(self, key: str) -> Answer:
        """Let in a phone that has the key; from then on it has a cookie."""
        if not self.door.opened_by(key):
            abort(HTTPStatus.FORBIDDEN, "This key is not for this shelf. Scan the code again.")
        answer = redirect("/", HTTPStatus.SEE_OTHER)
        answer.set_cookie(
            self.door.cookie, self.door.pass_, max_age=_A_YEAR, httponly=True, samesite="Strict"
        )
        return answer

    def shelf(self) -> Answer:
        """The shelf, most urgent first."""
        return self._shelf_page(shelf_at(self.folder))

    def jar(self, jar: str) -> Answer:
        """One jar: its verdict, and the forms."""
        return self._jar_page(self._shelf_with(jar), jar)

    def picture(self, jar: str) -> Answer:
        """Picture of a jar."""
        drawn = self.judgements.picture(self._shelf_with(jar), jar, at=self.clock())
        if drawn is None:
            abort(HTTPStatus.NOT_FOUND, "There is no picture, as the diary cannot be read.")
        return Response(drawn, mimetype="image/svg+xml")

    def evening(self) -> Answer:
        """One jar after another."""
        return self._evening_page(shelf_at(self.folder), request.args.get("jar", ""))

    def cellar(self) -> Answer:
        """The wines in bottles, what to drink first on top."""
        from ..shelf.cellar import lots
        from ..show.cellar_text import HEAD, cellar_rows, stop_texts

        shelf = shelf_at(self.folder)
        of = kin(self.folder)
        found = lots(shelf.diaries(), at=self.clock(), settings=shelf.settings, of=of)
        return render_template(
            "cellar.html", head=HEAD, rows=cellar_rows(found), stops=stop_texts(found)
        )

    def calendar(self) -> Answer:
        """The steps of all jars, for a calendar program to fetch."""
        shelf, now = shelf_at(self.folder), self.clock()
        judged = (j for j in self.judgements.all(shelf, at=now) if not isinstance(j, Unread))
        text = as_ics([entry for one in judged for entry in entries(one)], written_at=now)
        return Response(text, mimetype="text/calendar")

    # --- entering ------------------------------------------------------------------------------

    def write(self, jar: str, what: str) -> Answer:
        """Write down what a form holds, and confirm it."""
        return self._entered(self._shelf_with(jar), jar, what)

    def begin(self) -> Answer:
        """Start the diary of a jar."""
        return self._entered(shelf_at(self.folder), request.form.get("jar", "").strip(), BEGIN)

    def _entered(self, shelf: Shelf, jar: str, what: str) -> Answer:
        tidy = {name: value.strip() for name, value in request.form.items()}
        form = Form(jar=jar, what=what, fields={k: v for k, v in tidy.items() if v})
        try:
            said = self.entries.take(form, shelf, now=self.clock())
        except BubbleRateError as err:
            return self._refused(shelf, form, str(err))
        see = self._after(shelf, form, said.jar)
        if wants_json():
            return jsonify(said=[said.text, *said.beside], line=said.line, see=see)
        return redirect(see, HTTPStatus.SEE_OTHER)

    def listen(self, jar: str) -> Answer:
        """Count the bubbles in a sound file; nothing is written yet."""
        self._shelf_with(jar)
        request.max_content_length = LARGEST_SOUND
        file = request.files.get("sound")
        if file is None or not file.filename:
            raise InputError("choose a sound file first")
        ended = self.clock()
        with closing(file):  # it may be on the disk already
            heard = listened(file.stream, file.filename)
        began = ended - timedelta(seconds=round(heard.seconds))
        return render_template("heard.html", jar=jar, heard=heard, when=began.isoformat())

    def rows(self, jar: str) -> Answer:
        """Write the counts from a sensor."""
        shelf = self._shelf_with(jar)
        request.max_content_length = _LARGEST_ROWS
        visits = rows_of(request.get_json(), now=self.clock())
        written = write_rows(shelf, jar, visits)
        return jsonify(written=written, there_already=len(visits) - written)

    # --- parts of these ------------------------------------------------------------------------

    def _shelf_with(self, jar: str) -> Shelf:
        """The shelf, if it has a jar of this name; no name leads anywhere else."""
        shelf = shelf_at(self.folder)
        if jar not in shelf.names():
            abort(HTTPStatus.NOT_FOUND, "There is no jar with this name on the shelf.")
        return shelf

    def _shelf_page(self, shelf: Shelf, form: Form | None = None, refusal: str = "") -> str:
        from .views import Line, ShelfView, shelf_view

        if isinstance(shelf.said, ConfigError):
            seen = ShelfView(lines=tuple(Line(jar=jar) for jar in shelf.names()))
            fault = str(shelf.said)
        else:
            now = self.clock()
            seen, fault = shelf_view(self.judgements.all(shelf, at=now), at=now), ""
        return render_template(
            "shelf.html",
            view=seen,
            fault=fault,
            copies=[notice.text for notice in shelf.told()],
            calendar=f"{self.door.address}/calendar.ics?key={self.door.calendar_key}",
            said=self._said(),
            form=form,
            refusal=refusal,
        )

    def _jar_page(self, shelf: Shelf, jar: str, form: Form | None = None, fault: str = "") -> str:
        view = self.judgements.view(shelf, jar, at=self.clock())
        return render_template(
            "jar.html",
            view=view,
            form=form,
            refusal=fault,
            said=self._said(),
            go="",
            others=[name for name in shelf.names() if name != jar],
        )

    def _evening_page(
        self, shelf: Shelf, jar: str, form: Form | None = None, fault: str = ""
    ) -> str:
        jars = _walked(shelf)
        if not jars:
            return render_template("evening.html", view=None, said=self._said())
        jar = jar if jar in jars else jars[0]
        return render_template(
            "evening.html",
            view=self.judgements.view(shelf, jar, at=self.clock()),
            number=jars.index(jar) + 1,
            jars=len(jars),
            following=_next_evening(jars, jar),
            form=form,
            refusal=fault,
            said=self._said(),
            go=_EVENING,
        )

    def _refused(self, shelf: Shelf, form: Form, fault: str) -> Answer:
        """The page again, with what was typed and why it was not written."""
        if wants_json():
            answer = jsonify(error=fault)
            answer.status_code = HTTPStatus.BAD_REQUEST
            return answer
        if form.what == BEGIN:
            return self._shelf_page(shelf, form, fault), HTTPStatus.BAD_REQUEST
        page = self._evening_page if form.fields.get("go") == _EVENING else self._jar_page
        return page(shelf, form.jar, form, fault), HTTPStatus.BAD_REQUEST

    def _after(self, shelf: Shelf, form: Form, jar: str) -> str:
        """Address of the page that follows an entry."""
        page = jar_url(jar)
        if form.fields.get("go") == _EVENING:
            jars = _walked(shelf)
            page = f"/evening?{urlencode({'jar': form.jar})}"
            if form.what != "strike":
                page = _next_evening(jars, form.jar)
        return f"{page}{'&' if '?' in page else '?'}{urlencode({'said': form.mark})}"

    def _said(self) -> object:
        return self.entries.said(request.args.get("said", ""))


def jar_url(jar: str) -> str:
    """Address of the page of a jar."""
    return f"/jar/{quote(jar, safe='')}"


def wants_json() -> bool:
    """Whether a program asks, not a person."""
    kinds = ["text/html", "application/json"]
    return request.is_json or request.accept_mimetypes.best_match(kinds) == kinds[1]


def _walked(shelf: Shelf) -> list[str]:
    """Jars of the walk by name, without those whose name cannot be shown."""
    names = shelf.names()
    return [one.vessel for one in shelf.unbottled() if one.vessel in names]


def _next_evening(jars: list[str], jar: str) -> str:
    """Where the walk goes after a jar; to the shelf after the last."""
    following = jars[jars.index(jar) + 1 :] if jar in jars else []
    return f"/evening?{urlencode({'jar': following[0]})}" if following else "/"
