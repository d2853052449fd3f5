"""What is at which address. Every picture and every page is of a set the desk knows by name."""

from __future__ import annotations

import contextlib
import datetime as dt
import json
from collections.abc import AsyncIterator, Callable, Sequence
from pathlib import Path
from typing import Any, Literal, TypeVar

import fontpkg
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from PIL import Image
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import (
    FileResponse,
    HTMLResponse,
    JSONResponse,
    PlainTextResponse,
    Response,
    StreamingResponse,
)
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.desk.answers import (
    EDITIONS,
    about_edition,
    about_season,
    about_set,
    about_sheets,
    fault_of,
    has_edition,
    heading,
    how_to_have,
    with_covers,
)
from pipeline.desk.desk import BuiltSet, ChangedMeanwhileError, Desk, Look, tile_name
from pipeline.desk.guard import Guard, Key
from pipeline.plan.model import Side
from pipeline.plan.words import Words, words_for
from pipeline.proof.approval.fingerprints import PRINT_DPI, page_as_printed, pages_of
from pipeline.proof.approval.passed import Verdict, difference
from pipeline.proof.pictures.pictures import (
    DateCut,
    SetPictures,
    cut_picture,
    date_cuts,
    tile,
)
from pipeline.proof.read.raster import (
    difference_picture,
    opened,
    page_picture,
    pixels,
    places_that_differ,
)

HERE = Path(__file__).parent
DPIS = (
    *(40, 48, 52, 56, 60, 64, 68, 72, 77, 82, 88, 94, 100, 110, 118, 126, 136, 146, 157, 168),
    *(180, 192, 210, 230, 260, 288),
)
"""Resolutions a picture can be asked for: to know a set by, and to fill screens of any kind without
being shrunk or enlarged."""
TILE_DPIS = (96, 144, 192, 288, 384, 576, 768)
"""Those of its tiles: true size and four times that, on screens of one to two pixels a dot."""
MOST_BYTES = 100_000
"""More than any decision with its note takes."""
MOST_PICTURE_BYTES = 60_000_000
"""More than phones and scanners make of a sheet."""
FOREVER = {"Cache-Control": "private, max-age=31536000, immutable"}
"""For what is at an address that names its version."""
_SET = "{period}/{set}/{edition}"


class Given(BaseModel):
    """What a request carries, in JSON."""

    model_config = ConfigDict(strict=True)


class _Token(Given):
    token: str


class _Decision(Given):
    """On pages, or on the ``whole`` of a set whose digest is ``files``."""

    verdict: Literal["pass", "send back"]
    who: str = Field(default="", max_length=80)
    note: str = ""
    files: str = ""
    pages: list[str] = []
    whole: bool = False


class _Prints(Given):
    """Pictures of so many sides were sent; ``note`` writes the shift into the season."""

    sides: Literal[1, 2]
    note: bool = False


_AnyGiven = TypeVar("_AnyGiven", bound=Given)


class Pages:
    """The answers to all requests, each named after what is asked for.

    ``root`` is what the addresses of all of them begin with; ``rooms`` are pages of the season
    besides, each with its address after that and its name; ``shop`` is what has the season.
    """

    def __init__(
        self, desk: Desk, root: str = "", rooms: Sequence[tuple[str, str]] = (), shop: str = ""
    ) -> None:
        self.desk = desk
        self.html = page_maker(
            watching=desk.updates is not None, root=root, rooms=list(rooms), shop=shop
        )

    def season(self, request: Request) -> Response:
        """The overview."""
        return self.html("season.html", title=self.desk.title, room="/")

    def season_state(self, request: Request) -> Response:
        """What the overview shows."""
        return JSONResponse(with_covers(self.desk, about_season(self.desk)))

    async def listen(self, request: Request) -> Response:
        """Updates as it happens, for as long as the page is open."""
        if self.desk.updates is None:
            return nothing_here()
        reports = self.desk.updates.listen()
        return StreamingResponse(
            (report.as_event() async for report in reports), media_type="text/event-stream"
        )

    def spreads(self, request: Request) -> Response:
        """A set as it lies in the rings, or that it is being built for the first time."""
        name = _name(request)
        try:
            page = self._show(self.desk.built(name), "spreads")
        except UserError:
            if self.desk.updates is None:
                raise
            page = self.html("waiting.html", name=name, season=self.desk.title)
        self.desk.first = name
        return page

    def sheets(self, request: Request) -> Response:
        """A set as it is printed, and the light table."""
        built = self._built(request)
        return self._show(built, "sheets", sheets=about_sheets(built))

    def dates(self, request: Request) -> Response:
        """All dates of a set."""
        return self._show(self._built(request), "dates")

    def edition(self, request: Request) -> Response:
        """A set as it is for print shops or for screens, or how it is made for those."""
        built, kind = self._built(request), _kind(request)
        made, unmade = has_edition(built, kind), how_to_have(kind)
        return self._show(built, kind, "edition.html", made=made, unmade=unmade)

    def _show(self, built: BuiltSet, view: str, template: str = "", **values: Any) -> Response:
        return self.html(
            template or f"{view}.html",
            season=self.desk.title,
            name=built.name,
            view=view,
            files=built.files,
            language=built.contents.language,
            about=heading(built.contents),
            editions=[
                (one, words.tab) for one, words in EDITIONS.items() if has_edition(built, one)
            ],
            fault=fault_of(fault) if (fault := self.desk.fault(built.name)) else None,
            **values,
        )

    def set_state(self, request: Request) -> Response:
        """What the spreads' page shows, and the version that this is at least of."""
        built = self._built(request)
        version = self._version(built)
        return JSONResponse({**about_set(self.desk, built), "version": version})

    def versions(self, request: Request) -> Response:
        """What a page asks again and again to see whether it must ask for more.

        It says what it shows, so that this is drawn first when it changes.
        """
        built = self._built(request)
        asked = request.query_params
        if "at" in asked:
            index, dpi = int(asked["at"]), int(asked.get("dpi", ""))
            flaps = ("open", "shut") if asked.get("flaps") == "shut" else ("open",)
            if dpi not in DPIS:
                return nothing_here()
            self.desk.look_at(Look(built.name, index, flaps, dpi))
        return JSONResponse({"version": self._version(built)})

    def _version(self, built: BuiltSet) -> str:
        known, record = self.desk.known(built), self.desk.record
        stamp = record.stat().st_mtime_ns if record.is_file() else 0
        found = f"{known.prints is not None}-{known.findings is not None}"
        if fault := self.desk.fault(built.name):
            found += f"-{fault.message}"
        return f"{built.files[:16]}-{stamp}-{found}"

    async def decide(self, request: Request) -> Response:
        """Passes pages or sends them back."""
        given = await given_in(request, _Decision)
        if given is None:
            return PlainTextResponse("This isn't a valid decision.", 400)
        return await run_in_threadpool(self._decide, request, given)

    def _decide(self, request: Request, given: _Decision) -> Response:
        built = self._built(request)
        known = {key for key, _, _ in pages_of(built.contents)}
        if not known.issuperset(given.pages) or not (given.pages or given.whole):
            return PlainTextResponse("This isn't a valid decision.", 400)
        who, note = " ".join(given.who.split()), given.note.strip()
        if not who:
            return PlainTextResponse("Say who decides.", 400)
        if given.verdict == "send back" and not note:
            return PlainTextResponse("Say in a note what is wrong.", 400)
        reason = note if given.verdict == "send back" else None
        self.desk.decide(built.name, given.files, given.pages, who, reason)
        return JSONResponse(about_set(self.desk, self.desk.built(built.name)))

    # Prints

    def prints(self, request: Request) -> Response:
        """Where pictures of printed sheets are dropped."""
        return self.html("print.html", season=self.desk.title)

    async def take_print(self, request: Request) -> Response:
        """Takes the picture of a side, to be read."""
        side, kind = request.path_params["side"], request.headers.get("content-type", "")
        data = await _body(request, MOST_PICTURE_BYTES)
        if side not in (1, 2) or not kind.startswith("image/") or not data:
            return PlainTextResponse("This isn't a picture of up to 60 MB.", 400)
        await run_in_threadpool(write_whole, self.desk.print_file(side), data)
        return Response(status_code=204)

    async def read_prints(self, request: Request) -> Response:
        """Reads the pictures that were taken."""
        given = await given_in(request, _Prints)
        if given is None:
            return PlainTextResponse("This isn't a valid question.", 400)
        try:
            found = await run_in_threadpool(self.desk.read_prints, given.sides, note=given.note)
        except UserError as problem:
            return PlainTextResponse(str(problem), 422)
        return JSONResponse(
            {
                "lines": found.lines,
                "good": found.as_it_should_be,
                "shift": found.back_shift_mm,
                "pictures": len(found.pictures),
            }
        )

    def print_picture(self, request: Request) -> Response:
        """A print over its page, as it was read last."""
        path = self.desk.read_picture(request.path_params["side"])
        return FileResponse(path) if path.is_file() else nothing_here()

    # Pictures

    def view_picture(self, request: Request) -> Response:
        """A spread in the rings, or a tile of it."""
        index, flaps = request.path_params["index"], request.path_params["flaps"]
        dpi, at = _resolution(request)
        if flaps not in ("open", "shut"):
            return nothing_here()
        built = self._built(request)
        try:
            path = self.desk.view_picture(built, index, flaps, dpi, at)
        except ChangedMeanwhileError:  # what is there by now is as good: the page asks again
            built = self._built(request)
            path = self.desk.view_picture(built, index, flaps, dpi, at)
        return self._kept(request, path, built.versions[index])

    def first_ink(self, request: Request) -> Response:
        """Where on a spread what is printed begins, in mm of its picture."""
        index, flaps = request.path_params["index"], request.path_params["flaps"]
        if flaps not in ("open", "shut"):
            return nothing_here()
        return JSONResponse({"at": self.desk.first_ink(self._built(request), index, flaps)})

    def sheet_picture(self, request: Request) -> Response:
        """A side of a sheet, edge to edge."""
        index, side = request.path_params["index"], request.path_params["side"]
        if side not in (1, 2) or index >= len(self._built(request).contents.sheets):
            return nothing_here()
        name = f"sheet-{index}-{side}.png"
        return self._picture(request, name, lambda pictures: pictures.side(index, side))

    def flat_picture(self, request: Request) -> Response:
        """A page laid flat, or a tile of it: as it is now, as passed, or their difference."""
        kind, (key, leaf, face) = request.path_params["kind"], self._page(request)
        dpi, at = _resolution(request)
        if kind not in ("page", "passed", "difference"):
            return nothing_here()
        passed, built = self._passed(request), self._built(request)
        digest = passed.picture if passed else ""
        if kind != "page":
            self.desk.keep_what_stands(built, [digest])
            if not self.desk.kept.has(digest):
                return nothing_here()

        def draw(pictures: SetPictures) -> Image.Image:
            area = None
            if at is not None:
                flat = pictures.contents.shape(leaf, face).flat
                box = tile((pixels(flat.width, dpi), pixels(flat.height, dpi)), *at)
                left, top, right, bottom = (edge * MM_PER_INCH / dpi for edge in box)
                area = Rect(left, top, right - left, bottom - top)
            if kind == "page":
                return pictures.at(dpi).cut_out(leaf, face, area)
            before = self.desk.kept.picture(digest, dpi, area)
            if before is None:
                raise KeyError(digest)
            if kind == "passed":
                return before
            fine = pictures.at(dpi)
            now = fine.face_area(leaf, face, area) if area else fine.face(leaf, face)
            return difference_picture(before, now)

        held = "" if kind == "page" else f"-{digest[:32]}"
        return self._picture(request, f"{kind}-{key}-{dpi}{tile_name(at)}{held}.png", draw)

    def difference_words(self, request: Request) -> Response:
        """What is different on a page, in words."""
        passed, (_, leaf, face) = self._passed(request), self._page(request)
        if passed is None:
            return JSONResponse({"kept": False, "places": []})
        with self.desk.pictures.opened(self._built(request).folder) as pictures:
            now = page_as_printed(pictures, leaf, face)
            found = difference(passed, now, self.desk.kept)
            before = self.desk.kept.picture(passed.picture)
        places = places_that_differ(before, now.picture, PRINT_DPI) if before else []
        if places is None:
            width, height = (side * MM_PER_INCH / PRINT_DPI for side in now.picture.size)
            places = [Rect(0, 0, width, height)]
        return JSONResponse(
            {
                "kept": found.kept,
                "places": places,
                "pixels": found.picture.differing if found.picture else 0,
                "lost": found.words_lost,
                "added": found.words_added,
            }
        )

    def date_list(self, request: Request) -> Response:
        """The dates of a set, spread by spread, as they were read back."""
        built = self._built(request)
        path = self.desk.pictures.path(built.files, "days.json")
        if path.is_file():
            return JSONResponse(json.loads(path.read_bytes()))
        words = words_for(built.contents.language)
        views = []
        with self.desk.pictures.opened(built.folder) as pictures:
            for index in range(len(pictures.views)):
                views.append([_date(cut, words) for cut in _cuts(pictures, index)])
        write_whole(path, json.dumps(views, ensure_ascii=False).encode())
        return JSONResponse(views)

    def edition_state(self, request: Request) -> Response:
        """The pages of a set for print shops or for screens, as their file says."""
        built, kind = self._built(request), _kind(request)
        path = self.desk.pictures.path(built.files, f"{kind}.json")
        if not path.is_file():
            about = about_edition(built, kind)
            write_whole(path, json.dumps(about, ensure_ascii=False).encode())
        return JSONResponse(json.loads(path.read_bytes()))

    def edition_picture(self, request: Request) -> Response:
        """A page of a set for print shops or for screens."""
        kind, index = _kind(request), request.path_params["index"]
        (dpi, _), file = _resolution(request), self._built(request).folder / EDITIONS[kind].file

        def draw(pictures: SetPictures) -> Image.Image:
            with opened(file) as document:
                if index >= len(document):
                    raise KeyError(index)
                return page_picture(document[index], dpi)

        return self._picture(request, f"{kind}-{index}-{dpi}.png", draw)

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
        built = self._built(request)
        path = self.desk.pictures.picture(built.folder, built.files, name, draw)
        return self._kept(request, path, built.files)

    def _kept(self, request: Request, path: Path, version: str) -> Response:
        # An address that names the version it shows is good for ever.
        asked_for = request.query_params.get("v", "")
        good = bool(asked_for) and version.startswith(asked_for)
        return FileResponse(path, headers=FOREVER if good else None)

    def _built(self, request: Request) -> BuiltSet:
        return self.desk.built(_name(request))

    def _passed(self, request: Request) -> Verdict | None:
        page = self.desk.passes().of(_name(request)).pages.get(request.path_params["key"])
        return page.passed if page else None

    def _page(self, request: Request) -> tuple[str, int, Side]:
        wanted = request.path_params["key"]
        for key, leaf, face in pages_of(self._built(request).contents):
            if key == wanted:
                return key, leaf, face
        raise KeyError(wanted)


def _name(request: Request) -> str:
    parts = request.path_params
    return f"{parts['period']}/{parts['set']}/{parts['edition']}"


def _kind(request: Request) -> str:
    """Which edition is asked for. Raises ``KeyError`` for one that there isn't."""
    kind: str = request.path_params["kind"]
    if kind not in EDITIONS:
        raise KeyError(kind)
    return kind


def _resolution(request: Request) -> tuple[int, tuple[int, int] | None]:
    """How fine a picture is to be, and which tile of it. Raises ``KeyError`` for any other."""
    parts = request.path_params
    at = (parts["column"], parts["row"]) if "column" in parts else None
    if parts["dpi"] not in (TILE_DPIS if at else DPIS):
        raise KeyError(parts["dpi"])
    return parts["dpi"], at


def _in_tiles(path: str, answer: Callable[[Request], Response]) -> list[Route]:
    """The addresses of a picture and of its tiles, at a resolution."""
    whole = f"{path}/{{dpi:int}}"
    return [Route(whole, answer), Route(f"{whole}/{{column:int}}/{{row:int}}", answer)]


def _cuts(pictures: SetPictures, index: int) -> tuple[DateCut, ...]:
    return date_cuts(pictures, pictures.views[index], words_for(pictures.contents.language))


def _date(cut: DateCut, words: Words) -> dict[str, Any]:
    return {
        "date": cut.date.isoformat(),
        "expected": f"{words.day_name(cut.date)[0]} {words.number(cut.date.day)}",
        "month": words.month_name(cut.date)[0],
        "found": cut.text,
        "figure": cut.figure is not None,
        "right": cut.is_right(words),
        "width_mm": round(cut.width_mm, 2),
    }


async def given_in(request: Request, kind: type[_AnyGiven]) -> _AnyGiven | None:
    """What a request carries in JSON; None for anything else or too much of it."""
    if request.headers.get("content-type", "").partition(";")[0] != "application/json":
        return None
    data = await _body(request, MOST_BYTES)
    try:
        return None if data is None else kind.model_validate_json(data)
    except ValidationError:
        return None


async def _body(request: Request, most: int) -> bytes | None:
    """What a request carries; None for more than so many bytes, unread where it says so."""
    said = request.headers.get("content-length", "0")
    if not said.isascii() or not said.isdigit() or int(said) > most:
        return None
    data = bytearray()
    with contextlib.suppress(ClientDisconnect):
        async for part in request.stream():
            data += part
            if len(data) > most:
                return None
        return bytes(data)
    return None


def nothing_here() -> Response:
    """The answer where there is nothing."""
    return PlainTextResponse("Nothing here.", 404)


async def failed(request: Request, problem: Exception) -> Response:
    """Answers for what is not built, was built again, or is no set or page the desk knows."""
    if isinstance(problem, UserError):
        return PlainTextResponse(str(problem), 503)
    if isinstance(problem, ChangedMeanwhileError):
        return PlainTextResponse("The set was built again meanwhile; look once more.", 409)
    return nothing_here()


def font(request: Request) -> Response:
    """The desk's own face, from its package."""
    return FileResponse(str(fontpkg.path("Source Sans 3")), media_type="font/ttf", headers=FOREVER)


def page_maker(folder: Path | None = None, **known: Any) -> Callable[..., Response]:
    """What makes a page from its template, of those in ``folder`` or the desk's own.

    ``known`` is known to all of them; everything put into one is escaped.
    """
    templates = Environment(
        loader=FileSystemLoader([*([folder] if folder else []), HERE / "pages"]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    usual: dict[str, Any] = {"watching": False, "root": "", "rooms": (), "room": "", "shop": ""}
    templates.globals.update(usual | known)

    def page(template: str, status: int = 200, **values: Any) -> Response:
        return HTMLResponse(templates.get_template(template).render(values), status)

    return page


def season_app(
    desk: Desk,
    root: str = "",
    rooms: Sequence[tuple[str, str]] = (),
    shop: str = "",
    further: Sequence[BaseRoute] = (),
    lifespan: Any = None,
) -> Starlette:
    """The pages of a season; see ``Pages`` for ``root``, ``shop`` and ``rooms``, whose routes are
    ``further`` ones."""
    pages = Pages(desk, root, rooms, shop)
    routes = [
        Route("/", pages.season),
        Route("/api/season", pages.season_state),
        Route("/api/updates", pages.listen),
        Route(f"/set/{_SET}", pages.spreads),
        Route(f"/set/{_SET}/sheets", pages.sheets),
        Route(f"/set/{_SET}/dates", pages.dates),
        Route(f"/set/{_SET}/{{kind}}", pages.edition),
        Route(f"/api/set/{_SET}", pages.set_state),
        Route(f"/api/set/{_SET}/version", pages.versions),
        Route(f"/api/set/{_SET}/dates", pages.date_list),
        Route(f"/api/set/{_SET}/difference/{{key}}", pages.difference_words),
        Route(f"/api/set/{_SET}/decide", pages.decide, methods=["POST"]),
        Route(f"/api/set/{_SET}/{{kind}}", pages.edition_state),
        Route(f"/api/set/{_SET}/first-ink/{{index:int}}/{{flaps}}", pages.first_ink),
        *_in_tiles(f"/picture/{_SET}/view/{{index:int}}/{{flaps}}", pages.view_picture),
        *_in_tiles(f"/picture/{_SET}/flat/{{kind}}/{{key}}", pages.flat_picture),
        Route(f"/picture/{_SET}/sheet/{{index:int}}/{{side:int}}", pages.sheet_picture),
        Route(f"/picture/{_SET}/date/{{index:int}}/{{day}}", pages.date_picture),
        Route(f"/picture/{_SET}/{{kind}}/{{index:int}}/{{dpi:int}}", pages.edition_picture),
        Route("/print", pages.prints),
        Route("/api/print", pages.read_prints, methods=["POST"]),
        Route("/api/print/{side:int}", pages.take_print, methods=["POST"]),
        Route("/picture/print/{side:int}", pages.print_picture),
        *further,
    ]
    return Starlette(routes=routes, lifespan=lifespan, exception_handlers=ANSWERED)


ANSWERED: Any = dict.fromkeys((UserError, ChangedMeanwhileError, LookupError, ValueError), failed)
"""What pages raise that has an answer."""


def guarded(app: Starlette, key: Key, folders: Sequence[Path] = ()) -> ASGIApp:
    """The app with the way in, and what its pages are drawn with, ``folders`` besides the desk's;
    nobody else gets in."""

    async def enter(request: Request) -> Response:
        """Gives the cookie to whoever knows the token."""
        given = await given_in(request, _Token)
        if given is None or not key.fits(given.token):
            return PlainTextResponse("This isn't the token of this desk.", 401)
        answer = Response(status_code=204)
        answer.set_cookie(key.cookie, given.token, httponly=True, samesite="strict", path="/")
        return answer

    app.router.routes += [
        Route("/enter", enter, methods=["POST"]),
        Route("/static/source-sans-3.ttf", font),
        *(
            Mount(f"/static/{folder.parent.name}", StaticFiles(directory=folder))
            for folder in folders
        ),
        Mount("/static", StaticFiles(directory=HERE / "static")),
    ]
    # The entrance lets in whoever has the token, and shows nothing of the season.
    entrance = page_maker()("enter.html", 401)
    return Guard(app, key, entrance)


def desk_app(desk: Desk, key: Key, opened: Callable[[], object] = lambda: None) -> ASGIApp:
    """The desk of one season as an ASGI application; ``opened`` is called once it is ready."""

    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        desk.open()
        opened()
        try:
            yield
        finally:
            await run_in_threadpool(desk.close)

    return guarded(season_app(desk, lifespan=lifespan), key)
