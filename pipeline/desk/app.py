"""What is at which address. Every picture and every page is of a set the desk knows by name."""

from __future__ import annotations

import contextlib
import datetime as dt
import functools
import json
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any

import fontpkg
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from PIL import Image
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import (
    FileResponse,
    HTMLResponse,
    JSONResponse,
    PlainTextResponse,
    Response,
    StreamingResponse,
)
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.desk.desk import ChangedMeanwhileError, Desk, Edition, Look
from pipeline.desk.guard import Guard, Key
from pipeline.desk.news import News
from pipeline.desk.told import about_season, about_set, about_sheets, heading
from pipeline.plan.model import Side
from pipeline.plan.words import Words, words_for
from pipeline.proof.approval.fingerprints import PRINT_DPI, pages_of, printed
from pipeline.proof.approval.passed import difference
from pipeline.proof.pictures.compare import difference_picture
from pipeline.proof.pictures.datestrip import DateCut, cut_picture, date_cuts
from pipeline.proof.pictures.pictures import SetPictures
from pipeline.proof.read.contents import SheetSide

HERE = Path(__file__).parent
DPIS = (110, 192, 240)
"""Resolutions a spread can be asked for: to see it whole, at its true size, enlarged."""
MOST_BYTES = 100_000
MOST_NAME = 80
"""Characters of the name of whoever decides."""
"""More than any decision with its note takes."""
_FOREVER = {"Cache-Control": "private, max-age=31536000, immutable"}
_SET = "{period}/{set}/{edition}"

Answer = Callable[[Request], Response]


class Pages:
    """The answers to all requests, each named after what is asked for."""

    def __init__(self, desk: Desk, key: Key, news: News | None) -> None:
        self.desk = desk
        self.key = key
        self.news = news
        self._templates = Environment(
            loader=FileSystemLoader(HERE / "pages"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self._templates.globals["watching"] = news is not None

    def html(self, template: str, status: int = 200, **values: Any) -> Response:
        """A page from its template; everything put into it is escaped."""
        return HTMLResponse(self._templates.get_template(template).render(values), status)

    def entrance(self) -> Response:
        """The page that lets one in who has the token; it shows nothing of the season."""
        return self.html("enter.html", 401)

    async def enter(self, request: Request) -> Response:
        """Gives the cookie to whoever knows the token."""
        given = await _body(request)
        token = given.get("token") if given else None
        if not isinstance(token, str) or not self.key.fits(token):
            return PlainTextResponse("That is not this desk's token.", 401)
        answer = Response(status_code=204)
        answer.set_cookie(self.key.cookie, token, httponly=True, samesite="strict", path="/")
        return answer

    def season(self, request: Request) -> Response:
        """The overview."""
        return self.html("season.html", title=self.desk.title)

    def season_state(self, request: Request) -> Response:
        """What the overview shows."""
        return JSONResponse(about_season(self.desk))

    async def listen(self, request: Request) -> Response:
        """News as it happens, for as long as the page is open."""
        if self.news is None:
            return _nothing()
        reports = self.news.listen()
        return StreamingResponse(
            (report.as_event() async for report in reports), media_type="text/event-stream"
        )

    def waiting(self, request: Request, problem: UserError) -> Response:
        """A set that is being made for the first time."""
        if self.news is None:
            raise problem
        name = _name(request)
        self.desk.look_first(name)
        return self.html("waiting.html", name=name, season=self.desk.title)

    def spreads(self, request: Request) -> Response:
        """A set as it lies in the rings."""
        try:
            edition = self._edition(request)
        except UserError as problem:
            return self.waiting(request, problem)
        self.desk.look_first(edition.name)
        return self.html("spreads.html", **self._frame(edition, "spreads"))

    def sheets(self, request: Request) -> Response:
        """A set as it is printed, and the light table."""
        edition = self._edition(request)
        return self.html(
            "sheets.html",
            sheets=about_sheets(edition),
            files=edition.files,
            **self._frame(edition, "sheets"),
        )

    def dates(self, request: Request) -> Response:
        """All dates of a set."""
        edition = self._edition(request)
        return self.html("dates.html", files=edition.files, **self._frame(edition, "dates"))

    def _frame(self, edition: Edition, view: str) -> dict[str, Any]:
        return {
            "season": self.desk.title,
            "name": edition.name,
            "view": view,
            "language": edition.contents.language,
            "about": heading(edition.contents),
        }

    def set_state(self, request: Request) -> Response:
        """What the spreads' page shows."""
        return JSONResponse(about_set(self.desk, self._edition(request)))

    def versions(self, request: Request) -> Response:
        """What a page asks again and again to see whether it must ask for more.

        It tells what it shows, so that this is made ready first when it changes.
        """
        edition = self._edition(request)
        asked = request.query_params
        if "at" in asked:
            index, dpi = int(asked["at"]), int(asked.get("dpi", ""))
            flaps = ("open", "shut") if asked.get("flaps") == "shut" else ("open",)
            if dpi not in DPIS:
                return _nothing()
            self.desk.look_at(Look(edition.name, index, flaps, dpi))
        known = self.desk.known(edition)
        record = self.desk.record
        stamp = record.stat().st_mtime_ns if record.is_file() else 0
        found = f"{known.prints is not None}-{known.findings is not None}"
        return JSONResponse({"version": f"{edition.files[:16]}-{stamp}-{found}"})

    async def decide(self, request: Request) -> Response:
        """Passes pages or sends them back."""
        given = await _body(request)
        if given is None:
            return PlainTextResponse("This is no decision.", 400)
        return await run_in_threadpool(self._decide, request, given)

    def _decide(self, request: Request, given: dict[str, Any]) -> Response:
        edition = self._edition(request)
        keys, files = given.get("pages", []), given.get("files", "")
        note, verdict = given.get("note", ""), given.get("verdict")
        who = given.get("who", "")
        known = {key for key, _, _ in pages_of(edition.contents)}
        sane = (
            isinstance(keys, list)
            and all(isinstance(key, str) and key in known for key in keys)
            and isinstance(files, str)
            and isinstance(note, str)
            and isinstance(who, str)
            and len(who) <= MOST_NAME
            and verdict in ("pass", "send back")
            and (bool(keys) or given.get("whole") is True)
        )
        if not sane:
            return PlainTextResponse("This is no decision.", 400)
        who = " ".join(who.split())
        if not who:
            return PlainTextResponse("Say who decides.", 400)
        try:
            if verdict == "pass":
                self.desk.pass_pages(edition.name, files, keys, who)
            elif note.strip():
                self.desk.send_back(edition.name, files, keys, who, note.strip())
            else:
                return PlainTextResponse("Say in a note what is wrong.", 400)
        except ChangedMeanwhileError:
            return PlainTextResponse("The set was built anew meanwhile; look once more.", 409)
        return JSONResponse(about_set(self.desk, self.desk.edition(edition.name)))

    # Pictures

    def view_picture(self, request: Request) -> Response:
        """A spread in the rings."""
        index, dpi = request.path_params["index"], request.path_params["dpi"]
        flaps = request.path_params["flaps"]
        if dpi not in DPIS or flaps not in ("open", "shut"):
            return _nothing()
        edition = self._edition(request)
        path = self.desk.view_picture(edition, index, flaps, dpi)
        return self._kept(request, path, self.desk.view_versions(edition)[index])

    def sheet_picture(self, request: Request) -> Response:
        """A side of a sheet, edge to edge."""
        index, side = request.path_params["index"], request.path_params["side"]
        sides: dict[int, SheetSide] = {1: 1, 2: 2}
        if side not in sides or index >= len(self._edition(request).contents.sheets):
            return _nothing()
        name = f"sheet-{index}-{side}.png"
        return self._picture(request, name, lambda pictures: pictures.side(index, sides[side]))

    def page_picture(self, request: Request) -> Response:
        """A page as it is now, flat."""
        key, leaf, face = self._page(request)

        def draw(pictures: SetPictures) -> Image.Image:
            return pictures.at(PRINT_DPI).face(leaf, face)

        return self._picture(request, f"{key}.png", draw)

    def passed_picture(self, request: Request) -> Response:
        """A page as it was last passed, if its picture was kept."""
        edition, key = self._edition(request), request.path_params["key"]
        page = self.desk.passes().of(edition.name).pages.get(key)
        path = self.desk.kept.picture_path(page.passed.picture) if page and page.passed else None
        return FileResponse(path) if path is not None and path.is_file() else _nothing()

    def difference_picture(self, request: Request) -> Response:
        """Where a page differs from what was passed."""
        edition, (key, leaf, face) = self._edition(request), self._page(request)
        page = self.desk.passes().of(edition.name).pages.get(key)
        passed = self.desk.kept.picture(page.passed.picture) if page and page.passed else None
        if passed is None or page is None or page.passed is None:
            return _nothing()

        def draw(pictures: SetPictures) -> Image.Image:
            return difference_picture(passed, pictures.at(PRINT_DPI).face(leaf, face))

        return self._picture(request, f"{key}-from-{page.passed.picture[:32]}.png", draw)

    def difference_words(self, request: Request) -> Response:
        """What is different on a page, in words."""
        edition, (key, leaf, face) = self._edition(request), self._page(request)
        page = self.desk.passes().of(edition.name).pages.get(key)
        if page is None or page.passed is None:
            return JSONResponse({"passed": False, "kept": False})
        with self.desk.renders.opened(edition.folder) as pictures:
            found = difference(page.passed, printed(pictures, leaf, face), self.desk.kept)
        return JSONResponse(
            {
                "passed": True,
                "kept": found.kept,
                "alike": found.alike,
                "pixels": found.picture.differing if found.picture else 0,
                "reason": found.picture.reason if found.picture else "",
                "lost": found.words_lost,
                "added": found.words_added,
            }
        )

    def date_list(self, request: Request) -> Response:
        """The dates of a set, spread by spread, as they were read back."""
        edition = self._edition(request)
        path = self.desk.renders.path(edition.files, "dates.json")
        if path.is_file():
            return JSONResponse(json.loads(path.read_bytes()))
        words = words_for(edition.contents.language)
        views = []
        with self.desk.renders.opened(edition.folder) as pictures:
            for index in range(len(pictures.views)):
                views.append([_told_date(cut, words) for cut in _cuts(pictures, index)])
        write_whole(path, json.dumps(views, ensure_ascii=False).encode())
        return JSONResponse(views)

    def date_picture(self, request: Request) -> Response:
        """A date cut out of its page."""
        index, day = request.path_params["index"], request.path_params["day"]
        dt.date.fromisoformat(day)

        def draw(pictures: SetPictures) -> Image.Image:
            for cut in _cuts(pictures, index):
                if cut.date.isoformat() == day:
                    picture = cut_picture(pictures, cut)
                    if picture is not None:
                        return picture
            raise KeyError(day)

        return self._picture(request, f"date-{index}-{day}.png", draw)

    def _picture(
        self, request: Request, name: str, draw: Callable[[SetPictures], Image.Image]
    ) -> Response:
        edition = self._edition(request)
        path = self.desk.renders.picture(edition.folder, edition.files, name, draw)
        return self._kept(request, path, edition.files)

    def _kept(self, request: Request, path: Path, version: str) -> Response:
        # An address that names the version it shows is good for ever.
        asked_for = request.query_params.get("v", "")
        good = bool(asked_for) and version.startswith(asked_for)
        return FileResponse(path, headers=_FOREVER if good else None)

    def _edition(self, request: Request) -> Edition:
        return self.desk.edition(_name(request))

    def _page(self, request: Request) -> tuple[str, int, Side]:
        wanted = request.path_params["key"]
        for key, leaf, face in pages_of(self._edition(request).contents):
            if key == wanted:
                return key, leaf, face
        raise KeyError(wanted)


def _name(request: Request) -> str:
    parts = request.path_params
    return f"{parts['period']}/{parts['set']}/{parts['edition']}"


def _cuts(pictures: SetPictures, index: int) -> tuple[DateCut, ...]:
    view = pictures.views[index]
    faces = [
        (leaf, face)
        for leaf, face in zip(view, (Side.VERSO, Side.RECTO), strict=True)
        if leaf is not None
    ]
    return date_cuts(pictures, faces, words_for(pictures.contents.language))


def _told_date(cut: DateCut, words: Words) -> dict[str, Any]:
    return {
        "date": cut.date.isoformat(),
        "expected": f"{words.day_name(cut.date)[0]} {words.number(cut.date.day)}",
        "month": words.month_name(cut.date)[0],
        "found": cut.text,
        "figure": cut.figure is not None,
        "width_mm": round(cut.width_mm, 2),
    }


async def _body(request: Request) -> dict[str, Any] | None:
    """The JSON object a request carries; None for anything else or too much of it."""
    if request.headers.get("content-type", "").partition(";")[0] != "application/json":
        return None
    data = b""
    async for part in request.stream():
        data += part
        if len(data) > MOST_BYTES:
            return None
    try:
        given = json.loads(data)
    except ValueError:
        return None
    return given if isinstance(given, dict) else None


def _nothing() -> Response:
    return PlainTextResponse("There is nothing here.", 404)


def _known_only(answer: Answer) -> Answer:
    """Answers with "not found" for sets and pages the desk does not know."""

    @functools.wraps(answer)
    def answered(request: Request) -> Response:
        try:
            return answer(request)
        except (KeyError, IndexError, ValueError):
            return _nothing()
        except ChangedMeanwhileError:
            return PlainTextResponse("It was made anew at this moment.", 409)

    return answered


async def _cannot(request: Request, problem: Exception) -> Response:
    return PlainTextResponse(str(problem), 503)


async def _unknown(request: Request, problem: Exception) -> Response:
    return _nothing()


def font(request: Request) -> Response:
    """The desk's own face, from its package."""
    return FileResponse(str(fontpkg.path("Source Sans 3")), media_type="font/ttf", headers=_FOREVER)


def desk_app(
    desk: Desk,
    key: Key,
    opened: Callable[[], object] = lambda: None,
    news: News | None = None,
) -> ASGIApp:
    """The desk as an ASGI application; ``opened`` is called once it is ready.

    With ``news`` its pages listen to them.
    """
    pages = Pages(desk, key, news)

    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        desk.open()
        opened()
        try:
            yield
        finally:
            await run_in_threadpool(desk.close)

    def get(path: str, answer: Answer) -> Route:
        return Route(path, _known_only(answer))

    routes = [
        get("/", pages.season),
        Route("/enter", pages.enter, methods=["POST"]),
        get("/api/season", pages.season_state),
        Route("/api/news", pages.listen),
        get(f"/set/{_SET}", pages.spreads),
        get(f"/set/{_SET}/sheets", pages.sheets),
        get(f"/set/{_SET}/dates", pages.dates),
        get(f"/api/set/{_SET}", pages.set_state),
        get(f"/api/set/{_SET}/version", pages.versions),
        get(f"/api/set/{_SET}/dates", pages.date_list),
        get(f"/api/set/{_SET}/difference/{{key}}", pages.difference_words),
        Route(f"/api/set/{_SET}/decide", pages.decide, methods=["POST"]),
        get(f"/picture/{_SET}/view/{{index:int}}/{{flaps}}/{{dpi:int}}", pages.view_picture),
        get(f"/picture/{_SET}/sheet/{{index:int}}/{{side:int}}", pages.sheet_picture),
        get(f"/picture/{_SET}/date/{{index:int}}/{{day}}", pages.date_picture),
        get(f"/picture/{_SET}/page/{{key}}", pages.page_picture),
        get(f"/picture/{_SET}/passed/{{key}}", pages.passed_picture),
        get(f"/picture/{_SET}/difference/{{key}}", pages.difference_picture),
        Route("/static/source-sans-3.ttf", font),
        Mount("/static", StaticFiles(directory=HERE / "static")),
    ]
    app = Starlette(
        routes=routes,
        lifespan=lifespan,
        exception_handlers={UserError: _cannot, KeyError: _unknown},
    )
    return Guard(app, key, pages.entrance())
