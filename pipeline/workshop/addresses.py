"""What is at which address of a workspace: the shelf, and the rooms of each of its seasons.

Whatever writes files takes only names from what was listed: seasons, sizes, templates.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import re
from collections.abc import AsyncIterator, Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Annotated, Any, Literal
from urllib.parse import quote

from pydantic import Field
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.types import ASGIApp, Receive, Scope, Send

from pipeline.app.build import season_title
from pipeline.app.buildrecord import RELEASE
from pipeline.app.following import AlreadyThereError, next_season
from pipeline.app.orderform import forms_in
from pipeline.app.orders import KeptOrder, forget_order, form_for, kept_orders
from pipeline.app.packs import SHEET, packs_of, write_bench_sheet
from pipeline.app.release import directions_for
from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.desk.answers import first_spread
from pipeline.desk.desk import ChangedMeanwhileError
from pipeline.desk.guard import Key
from pipeline.desk.routes import (
    ANSWERED,
    FOREVER,
    Given,
    given_in,
    guarded,
    nothing_here,
    page_maker,
    season_app,
)
from pipeline.drawings.checks import AskedLabel
from pipeline.drawings.starters.starter import KINDS, UNREAD
from pipeline.impose import BOTH
from pipeline.plan.calendar import WEEKDAYS, later, months_of
from pipeline.plan.languages import language_name
from pipeline.plan.model import Binder, Paper, Side
from pipeline.plan.season import LENGTHS, Weekday, load_season
from pipeline.plan.sizes import load_sizes
from pipeline.plan.words import words_for
from pipeline.proof.read.raster import opened, page_picture, png_of
from pipeline.publish.releasepage import PAGE
from pipeline.workshop.drawn import (
    LARGE_DPI,
    SMALL_DPI,
    Drawings,
    show_in_files,
    version_of,
)
from pipeline.workshop.openseason import OpenSeason, Workshop
from pipeline.workshop.overview import (
    USUAL_LANGUAGES,
    USUAL_PAPERS,
    about_bench,
    about_orders,
    about_plan,
    about_release,
    about_sets,
    about_shelf,
    bench_of,
    packs_at_bench,
)
from pipeline.workshop.releasing import terms_in
from pipeline.workshop.seasonfile import Change
from pipeline.workshop.workspace import Workspace, begin, coming_month, folder_for

HERE = Path(__file__).parent
ROOMS = (
    ("/", "Proofs"),
    ("/plan", "Plan"),
    ("/drawings", "Drawings"),
    ("/release", "Release"),
    ("/bench", "Bench"),
)
"""The pages of a season, each by what comes after its address."""
USUAL_SIZES = ("a5", "personal", "a6", "half-letter", "pocket", "a4")
"""Binder sizes that are offered first (by eye)."""
MONTHS_TO_BEGIN = 18
"""Of how many months ahead a shop may begin with one (by eye)."""
PRICES = (
    ("ream_price", "A ream of paper costs"),
    ("ream_sheets", "Sheets in a ream"),
    ("cartridge_price", "A cartridge costs"),
    ("cartridge_pages", "Pages it prints at 5 % ink"),
    ("hour_price", "An hour of your work"),
    ("envelope_price", "An envelope costs"),
    ("envelope_g", "It weighs, g"),
    ("spare_percent", "Sheets over, %"),
    ("pages_a_minute", "Pages printed a minute"),
    ("stroke_s", "Seconds for a cut"),
    ("fold_s", "Seconds for a fold"),
    ("pick_s", "Seconds to put a pack together"),
)
"""What can be said of a bench, each by its field under ``[bench]``."""
STATIC = "/static/workshop"
COVER_DPI = 40
"""To know a set by."""
WORDS_DPI = 80
"""Words can be read."""
SETS_AT_ONCE = 40
"""Of how many it is told at a time how they stand: files are read for that."""


class _Begun(Given):
    title: str = Field(min_length=1, max_length=60)
    season: str = Field(default="", max_length=60)
    sizes: list[str] = Field(min_length=1, max_length=20)
    papers: list[str] = Field(min_length=1, max_length=20)
    languages: list[str] = Field(min_length=1, max_length=20)
    first_weekday: Weekday | Literal[""] = ""
    first: str = Field(default="", pattern=r"^(\d{4}-\d{2})?$")
    """The month to begin with; the coming one if not given."""

    months: int = Field(default=1, ge=1, le=12)


class _Chosen(Given):
    name: str


class _Changed(Given):
    """A change to the file of a ``version``; None takes back the last one."""

    version: str
    change: Change | None


class _Asked(Given):
    """A release, of the sets of these names or of all that are passed."""

    pictures: bool = True
    only: list[str] | None = Field(default=None, min_length=1, max_length=5000)


class _Terms(Given):
    """Terms for buyers in a language, in the place of those of a ``version``."""

    language: str
    version: str
    text: str = Field(min_length=1, max_length=20_000)


class _OrderForm(Given):
    form: str


class _Order(Given):
    order: str


class _Packs(Given):
    packs: dict[str, Annotated[int, Field(ge=1, le=100_000)]] = Field(min_length=1, max_length=500)
    trimmer: str = Field(default="", max_length=64)
    sheet: bool = False


class _Drawing(Given):
    size: str
    name: str


class _Label(_Drawing):
    """What a label of a page is to say, by language."""

    label: str
    words: dict[str, Annotated[str, Field(max_length=200, pattern=r"\S")]] = Field(
        min_length=1, max_length=50
    )


class _NewPage(Given):
    kind: str
    size: str
    name: str = Field(pattern=r"^[a-z0-9][a-z0-9-]{0,50}$")
    side: Literal["recto", "verso"]
    flap_mm: float = Field(default=0, ge=0, le=400)


class _Resized(Given):
    size: str
    names: list[str] = Field(min_length=1, max_length=200)
    to: str


class SeasonRooms:
    """The rooms of one season besides its proofs."""

    def __init__(self, one: OpenSeason) -> None:
        self.one = one
        self.drawings = Drawings(one)
        self.root = f"/season/{one.name}"
        self.html = page_maker(
            HERE / "pages",
            watching=True,
            root=self.root,
            rooms=list(ROOMS),
            shop=one.shop,
            static=STATIC,
        )

    def _title(self) -> str:
        return self.one.desk.title

    # Plan

    def plan(self, request: Request) -> Response:
        """The season as a form."""
        return self.html("plan.html", title=self._title(), room="/plan", lengths=LENGTHS)

    def plan_state(self, request: Request) -> Response:
        """What the form shows."""
        try:
            return JSONResponse(about_plan(self.one))
        except UserError as problem:
            return PlainTextResponse(str(problem), 422)

    def live(self, request: Request) -> Response:
        """The views of a set as it is built, each by its version; none before that."""
        parts = request.path_params
        name = f"{parts['period']}/{parts['set']}/{parts['edition']}"
        try:
            built = self.one.desk.built(name)
        except (KeyError, UserError):  # it may have been asked for a moment ago
            return JSONResponse({"name": name, "views": [], "first": 0})
        first = first_spread(built.contents)
        return JSONResponse({"name": name, "views": built.versions, "first": first})

    async def change_plan(self, request: Request) -> Response:
        """Writes a change into the season file."""
        given = await given_in(request, _Changed)
        if given is None:
            return PlainTextResponse("This isn't a valid change.", 400)

        def change() -> Response:
            try:
                if given.change is None:
                    self.one.file.undo(given.version)
                else:
                    self.one.file.change(given.version, given.change)
            except UserError as problem:
                return PlainTextResponse(str(problem), 422)
            except ChangedMeanwhileError:
                return PlainTextResponse("The file was changed by hand meanwhile.", 409)
            return self.plan_state(request)

        return await run_in_threadpool(change)

    async def begin_next(self, request: Request) -> Response:
        """Writes the season that follows this one."""

        def write() -> Response:
            try:
                made = next_season(self.one.path)
            except AlreadyThereError as problem:
                return JSONResponse({**_begun(problem.path), "lines": [], "there": True})
            except UserError as problem:
                return PlainTextResponse(str(problem), 422)
            return JSONResponse({**_begun(made.path), "lines": made.said, "there": False})

        return await run_in_threadpool(write)

    # Building

    async def stop_building(self, request: Request) -> Response:
        """Stops what is being built."""
        await run_in_threadpool(self.one.stop_building)
        return JSONResponse({})

    async def go_on_building(self, request: Request) -> Response:
        """Goes on with it."""
        await run_in_threadpool(self.one.go_on_building)
        return JSONResponse({})

    # Drawings

    def drawing_list(self, request: Request) -> Response:
        """All pages of the collection, in every size."""
        by_name: dict[str, dict[str, str]] = {}
        for (size, name), file in self.drawings.files.items():
            by_name.setdefault(name, {})[size] = version_of(file)
        sizes = load_sizes(None).binders
        titles = {
            size: sizes[size].title if size in sizes else size
            for held in by_name.values()
            for size in held
        }
        plan = self.one.plan()
        known = {name: one.title for name, one in plan.sizes.binders.items()}
        return self.html(
            "drawings.html",
            title=self._title(),
            room="/drawings",
            drawings=by_name,
            titles=titles,
            used=sorted({size for held in by_name.values() for size in held}),
            known=known,
            kinds=KINDS,
            collection=plan.collection.title,
        )  # fmt: skip

    def drawing(self, request: Request) -> Response:
        """One page of the collection, large, with what is to be said of it."""
        size, name = self._drawing(request)
        known = {key: one.title for key, one in self.one.plan().sizes.binders.items()}
        held = [other for other, own in self.drawings.files if own == name]
        return self.html(
            "drawing.html",
            title=self._title(),
            room="/drawings",
            size=size,
            size_title=known.get(size, size),
            name=name,
            version=version_of(self.drawings.files[size, name]),
            others={key: text for key, text in known.items() if key not in held},
        )

    def drawing_picture(self, request: Request) -> Response:
        """A page with its samples."""
        size, name = self._drawing(request)
        dpi = request.path_params["dpi"]
        if dpi not in (SMALL_DPI, LARGE_DPI):
            return nothing_here()
        try:
            picture = self.drawings.picture(size, name, dpi)
        except UserError as problem:  # which the check says too
            return PlainTextResponse(str(problem), 422)
        kept = FOREVER if request.query_params.get("v") else None
        return Response(picture, media_type="image/png", headers=kept)

    def drawing_findings(self, request: Request) -> Response:
        """What is to be said of a page."""
        file = self.drawings.files[self._drawing(request)]
        found = self.one.reader.findings(file)
        return JSONResponse(
            {
                "version": version_of(file),
                "findings": [
                    {
                        "severity": one.word,
                        "element": one.element,
                        "line": one.line,
                        "words": one.message,
                        "remedy": one.what_to_do,
                        "mendable": one.mendable,
                        "place": list(one.place) if one.place else None,
                        "label": one.label and _asked_label(one.label),
                    }
                    for one in found
                ],
            }
        )

    def drawing_keys(self, request: Request) -> Response:
        """Where the keys of a page are."""
        places, labels = self.drawings.keys(*self._drawing(request))
        keys = [{"key": key, "place": place} for key, place in places]
        return JSONResponse({"keys": keys, "labels": [_asked_label(one) for one in labels]})

    def trial(self, request: Request) -> Response:
        """What there is to say of a page as it would be, mended or in another size."""
        try:
            _, lines = self.drawings.trial(*self._drawing(request), request.path_params["to"])
        except UserError as problem:
            return PlainTextResponse(str(problem), 422)
        return JSONResponse({"lines": lines})

    def trial_picture(self, request: Request) -> Response:
        """A page as it would be."""
        size, name = self._drawing(request)
        picture = self.drawings.trial_picture(size, name, request.path_params["to"])
        return Response(picture, media_type="image/png")

    async def mend_drawing(self, request: Request) -> Response:
        """Mends a page where that is mechanical."""
        given = await given_in(request, _Drawing)
        if given is None:
            return PlainTextResponse("This isn't a page.", 400)
        file = self.drawings.files[given.size, given.name]
        return JSONResponse({"mended": await run_in_threadpool(self.one.reader.mend, file)})

    async def say_label(self, request: Request) -> Response:
        """Writes a label of a page into the collection's files."""
        given = await given_in(request, _Label)
        if given is None:
            return PlainTextResponse("Write a word for each language, of up to 200 letters.", 400)
        words = {language: word.strip() for language, word in given.words.items()}
        return await self._lines(self.drawings.say, given.size, given.name, given.label, words)

    async def new_page(self, request: Request) -> Response:
        """Writes a page to begin from."""
        given = await given_in(request, _NewPage)
        if given is None:
            return PlainTextResponse("Names of pages have small letters, figures and hyphens.", 400)
        return await self._lines(
            self.drawings.begin, given.kind, given.size, given.name, given.side, given.flap_mm
        )

    async def resize_page(self, request: Request) -> Response:
        """Redraws pages for another size."""
        given = await given_in(request, _Resized)
        if given is None:
            return PlainTextResponse("This isn't a page.", 400)
        return await self._lines(self.drawings.resize, given.size, given.names, given.to)

    async def _lines(self, do: Callable[..., list[str]], *given: object) -> Response:
        try:
            lines = await run_in_threadpool(do, *given)
        except UserError as problem:
            return PlainTextResponse(str(problem), 422)
        return JSONResponse({"lines": lines})

    async def show_drawing(self, request: Request) -> Response:
        """Shows a page's file in the system's file manager."""
        given = await given_in(request, _Drawing)
        if given is None:
            return PlainTextResponse("This isn't a page.", 400)
        return _shown(show_in_files, self.drawings.files[given.size, given.name])

    def _drawing(self, request: Request) -> tuple[str, str]:
        parts = request.path_params
        found = parts["size"], parts["name"]
        if found not in self.drawings.files:
            raise KeyError(found)
        return found

    # Release

    def release(self, request: Request) -> Response:
        """What is out, and what could go out."""
        return self.html("release-room.html", title=self._title(), room="/release")

    def release_state(self, request: Request) -> Response:
        """What that page shows."""
        return JSONResponse(about_release(self.one))

    async def make_release(self, request: Request) -> Response:
        """Begins a release."""
        given = await given_in(request, _Asked)
        if given is None or not self.one.desk.folders.keys() >= set(given.only or ()):
            return PlainTextResponse("This isn't a valid question.", 400)
        begin = partial(self.one.releasing.begin, pictures=given.pictures, only=given.only)
        await run_in_threadpool(begin, self.one.now())
        return JSONResponse(self.one.releasing.state())

    async def stop_release(self, request: Request) -> Response:
        """Stops it."""
        await run_in_threadpool(self.one.releasing.stop)
        return JSONResponse(self.one.releasing.state())

    async def show_release(self, request: Request) -> Response:
        """Shows the folder of the release in the system's file manager."""
        page = self.one.out / self.one.plan().season.name / RELEASE / PAGE
        if not page.is_file():
            return nothing_here()
        return _shown(show_in_files, page)

    async def write_terms(self, request: Request) -> Response:
        """Writes what buyers may do, in a language of the season."""
        given = await given_in(request, _Terms)
        if given is None or given.language not in load_season(self.one.path).language:
            return PlainTextResponse("These aren't terms in a language of the season.", 400)

        def write() -> Response:
            terms = terms_in(self.one.collection.folder, given.language)
            if terms.version != given.version:
                return PlainTextResponse("The file was changed by hand meanwhile.", 409)
            lines = [line for line in given.text.strip().splitlines() if line != UNREAD]
            text = re.sub(r"\n{3,}", "\n\n", "\n".join([*lines, ""]))
            try:
                write_whole(terms.file, text.encode())
            except UserError as problem:
                return PlainTextResponse(str(problem), 422)
            return self.release_state(request)

        return await run_in_threadpool(write)

    def count_directions(self, request: Request) -> Response:
        """How many pages the directions in a language have; none before a set in it is built."""
        try:
            data = self._directions(request.path_params["language"])
        except UserError:
            return JSONResponse({"pages": 0})
        return JSONResponse({"pages": self._pages_in(data)})

    def _directions(self, language: str) -> bytes:
        one = self.one
        if language not in load_season(one.path).language:
            raise KeyError(language)
        return directions_for(one.path, one.out, language)

    def _pages_in(self, pdf: Path | bytes) -> int:
        with self.one.desk.pictures.alone(), opened(pdf) as document:
            return len(document)

    def directions(self, request: Request) -> Response:
        """A page of the directions in a language, as buyers get them."""
        parts = request.path_params
        return self._page_of(self._directions(parts["language"]), parts["page"])

    def released(self, request: Request) -> Response:
        """A file of the release: its page to upload from, and all that this shows and links to; of
        a folder, what is in it.

        Only what is found in the release's folder is given out, by the name it has there.
        """
        folder = self.one.out / self.one.plan().season.name / RELEASE
        found = {file.relative_to(folder).as_posix(): file for file in folder.rglob("*")}
        file = found.get(request.path_params["name"].removesuffix("/"))
        if file is None or file.is_symlink() or file.name.startswith("."):
            return nothing_here()
        return self._folder(file, folder) if file.is_dir() else FileResponse(file)

    def _folder(self, folder: Path, release: Path) -> Response:
        """The files of a folder of the release, each with its size."""
        files = [file for file in sorted(folder.rglob("*")) if file.is_file()]
        named = [
            (
                file.relative_to(folder).as_posix(),
                quote(file.relative_to(release).as_posix()),
                f"{max(1, round(file.stat().st_size / 1000)):,} kB",
            )
            for file in files
            if not file.is_symlink() and not file.name.startswith(".")
        ]
        called = folder.relative_to(release).parts[0]
        return self.html(
            "folder.html", title=self._title(), room="/release", folder=called, files=named
        )

    # Orders

    def order_state(self, request: Request) -> Response:
        """The orders of the season, those that wait with the reason why."""
        return JSONResponse(about_orders(self.one))

    async def make_orders(self, request: Request) -> Response:
        """Has the orders of a form made."""
        given = await given_in(request, _OrderForm)
        form = forms_in(self.one.folder).get(given.form) if given else None
        if form is None:
            return PlainTextResponse("There is no such order form any more.", 404)
        await run_in_threadpool(self.one.ordering.begin, form, self.one.now())
        return JSONResponse(self.one.ordering.state())

    async def write_form(self, request: Request) -> Response:
        """Writes an order form for the season into the workspace's folder."""
        one = self.one
        file = one.folder / f"{one.name}-orders.csv"

        def write() -> Response:
            try:
                form_for(one.path, file, one.out)
            except UserError as problem:
                return PlainTextResponse(str(problem), 422)
            return JSONResponse({"file": file.name})

        return await run_in_threadpool(write)

    async def stop_orders(self, request: Request) -> Response:
        """Stops it."""
        await run_in_threadpool(self.one.ordering.stop)
        return JSONResponse(self.one.ordering.state())

    async def forget_order(self, request: Request) -> Response:
        """Takes away all that was made for an order."""
        order = self._order(await given_in(request, _Order))

        def forget() -> Response:
            if self.one.ordering.under_way:
                return PlainTextResponse("Orders are being made; stop that first.", 409)
            try:
                forget_order(order.name, self.one.out)
            except UserError as problem:
                return PlainTextResponse(str(problem), 422)
            return self.order_state(request)

        return await run_in_threadpool(forget)

    async def show_order(self, request: Request) -> Response:
        """Shows an order's folder in the system's file manager."""
        return _shown(show_in_files, self._order(await given_in(request, _Order)).folder)

    def order_sheets(self, request: Request) -> Response:
        """The sheets of a set of an order that waits."""
        parts = request.path_params
        order = self._order(_Order(order=parts["order"]))
        file = order.sheets[f"{parts['period']}/{parts['set']}/{parts['edition']}"] / BOTH
        return FileResponse(file) if file.is_file() else nothing_here()

    def order_picture(self, request: Request) -> Response:
        """The page that something is to be mended on."""
        order = self._order(_Order(order=request.path_params["order"]))
        number = request.path_params["number"]
        one = order.found[number] if number < len(order.found) else {}
        if not one.get("face"):
            return nothing_here()
        with self.one.desk.pictures.opened(order.sheets[one["set"]]) as pictures:
            drawn = png_of(pictures.at(WORDS_DPI).face(one["leaf"], Side(one["face"])))
        return Response(drawn, media_type="image/png")

    def _order(self, given: _Order | None) -> KeptOrder:
        """One of the season's orders. Raises KeyError for what is none."""
        kept = kept_orders(load_season(self.one.path).name, self.one.out)
        return {one.name: one for one in kept}[given.order if given else ""]

    # Bench

    def bench(self, request: Request) -> Response:
        """What sets take that are printed at home to be sold."""
        season = load_season(self.one.path)
        return self.html(
            "bench.html",
            title=self._title(),
            room="/bench",
            sets=about_bench(self.one),
            bench=season.bench,
            held=json.dumps(bench_of(season)),
            version=self.one.file.version,
            prices=PRICES,
        )

    async def reckon_packs(self, request: Request) -> Response:
        """What so many packs take; with the bench sheet written where that is asked for."""
        given = await given_in(request, _Packs)
        if given is None:
            return PlainTextResponse("Give whole numbers of packs.", 400)

        def reckon() -> Response:
            one = self.one
            try:
                plan, packs, sheets = packs_of(one.path, one.out, given.packs, given.trimmer)
                if given.sheet:
                    write_bench_sheet(plan, packs, sheets, one.out)
            except UserError as problem:
                return PlainTextResponse(str(problem), 422)
            pages = self._pages_in(self._bench_sheet) if given.sheet else 0
            return JSONResponse({**packs_at_bench(packs), "pages": pages})

        return await run_in_threadpool(reckon)

    def bench_sheet(self, request: Request) -> Response:
        """The bench sheet that was written last."""
        file = self._bench_sheet
        return FileResponse(file) if file.is_file() else nothing_here()

    @property
    def _bench_sheet(self) -> Path:
        return self.one.out / load_season(self.one.path).name / SHEET

    def bench_picture(self, request: Request) -> Response:
        """A page of it."""
        if not self._bench_sheet.is_file():
            return nothing_here()
        return self._page_of(self._bench_sheet, request.path_params["page"])

    def _page_of(self, pdf: Path | bytes, number: int) -> Response:
        """The picture of a page of a PDF, as large as its words can be read."""
        with self.one.desk.pictures.alone(), opened(pdf) as document:
            if number >= len(document):
                return nothing_here()
            drawn = png_of(page_picture(document[number], WORDS_DPI))
        return Response(drawn, media_type="image/png")

    async def show_set(self, request: Request) -> Response:
        """Shows the files of a set in the system's file manager."""
        given = await given_in(request, _Chosen)
        self.one.look()
        folder = self.one.desk.folders.get(given.name) if given else None
        if folder is None or not folder.is_dir():
            return nothing_here()
        return _shown(show_in_files, folder)

    # The shelf's part

    def sets(self, request: Request) -> Response:
        """How some sets of the season stand, from a number on."""
        first = int(request.query_params.get("from", "0"))
        about = about_sets(self.one, slice(first, first + SETS_AT_ONCE))
        return JSONResponse({**about, "all": len(self.one.desk.folders)})

    def cover(self, request: Request) -> Response:
        """The first spread of a set that is built."""
        self.one.look()
        parts = request.path_params
        built = self.one.desk.built(f"{parts['period']}/{parts['set']}/{parts['edition']}")
        path = self.one.desk.view_picture(built, first_spread(built.contents), "open", COVER_DPI)
        return FileResponse(path, headers=FOREVER)

    def drawn(self, request: Request) -> Response:
        """Templates beside one another."""
        parts = request.path_params
        colours = request.query_params.get("colours", "")
        picture = self.drawings.facing(parts["size"], parts["names"].split("+"), colours)
        return Response(picture, media_type="image/png", headers=FOREVER)

    @property
    def routes(self) -> list[BaseRoute]:
        """Where all of it is."""
        return [
            Route("/plan", self.plan),
            Route("/api/plan", self.plan_state),
            Route("/api/plan", self.change_plan, methods=["POST"]),
            Route("/api/live/{period}/{set}/{edition}", self.live),
            Route("/api/next", self.begin_next, methods=["POST"]),
            Route("/api/building/stop", self.stop_building, methods=["POST"]),
            Route("/api/building/go-on", self.go_on_building, methods=["POST"]),
            Route("/drawings", self.drawing_list),
            Route("/drawing/{size}/{name}", self.drawing),
            Route("/picture/drawing/{size}/{name}/{dpi:int}", self.drawing_picture),
            Route("/api/drawing/{size}/{name}", self.drawing_findings),
            Route("/api/drawing/{size}/{name}/keys", self.drawing_keys),
            Route("/api/drawing/{size}/{name}/as/{to}", self.trial),
            Route("/picture/drawing/{size}/{name}/as/{to}", self.trial_picture),
            Route("/api/mend", self.mend_drawing, methods=["POST"]),
            Route("/api/label", self.say_label, methods=["POST"]),
            Route("/api/new-page", self.new_page, methods=["POST"]),
            Route("/api/resize", self.resize_page, methods=["POST"]),
            Route("/api/show-drawing", self.show_drawing, methods=["POST"]),
            Route("/release", self.release),
            Route("/api/release", self.release_state),
            Route("/api/release", self.make_release, methods=["POST"]),
            Route("/api/release/stop", self.stop_release, methods=["POST"]),
            Route("/api/release/show", self.show_release, methods=["POST"]),
            Route("/api/orders", self.order_state),
            Route("/api/orders", self.make_orders, methods=["POST"]),
            Route("/api/orders/form", self.write_form, methods=["POST"]),
            Route("/api/orders/stop", self.stop_orders, methods=["POST"]),
            Route("/api/orders/forget", self.forget_order, methods=["POST"]),
            Route("/api/orders/show", self.show_order, methods=["POST"]),
            Route("/order/{order}/{period}/{set}/{edition}", self.order_sheets),
            Route("/picture/order/{order}/{number:int}", self.order_picture),
            Route("/api/terms", self.write_terms, methods=["POST"]),
            Route("/api/directions/{language}", self.count_directions),
            Route("/picture/directions/{language}/{page:int}", self.directions),
            Route("/released/{name:path}", self.released),
            Route("/bench", self.bench),
            Route("/api/bench", self.reckon_packs, methods=["POST"]),
            Route("/bench-sheet.pdf", self.bench_sheet),
            Route("/picture/bench-sheet/{page:int}", self.bench_picture),
            Route("/api/show-set", self.show_set, methods=["POST"]),
            Route("/api/sets", self.sets),
            Route("/picture/cover/{period}/{set}/{edition}", self.cover),
            Route("/picture/drawn/{size}/{names}", self.drawn),
        ]


class WorkshopPages:
    """The pages above the seasons, and the way to each season's."""

    def __init__(self, workshop: Workshop) -> None:
        self.workshop = workshop
        self.html = page_maker(HERE / "pages", static=STATIC)
        self._apps: dict[str, tuple[OpenSeason, ASGIApp]] = {}

    def shelf(self, request: Request) -> Response:
        """All seasons; where there is no workspace, how to begin one."""
        workshop = self.workshop
        if workshop.workspace is not None:
            others = len(workshop.choice) > 1
            return self.html("shelf.html", title=workshop.workspace.title, others=others)
        return self.shops(request) if workshop.choice else self.beginning(request)

    def shops(self, request: Request) -> Response:
        """All workspaces, one of which may be open."""
        names = [(one.folder.name, one.title) for one in self.workshop.choice]
        return self.html("choose.html", names=names)

    def beginning(self, request: Request) -> Response:
        """The form that begins a workspace."""
        sizes = load_sizes(None)
        coming = coming_month(self.workshop.today)
        months = months_of(coming, later(coming, MONTHS_TO_BEGIN - 1))
        return self.html(
            "begin.html",
            place=self.workshop.shelf.name,
            sizes=[_outlined(name, one, USUAL_SIZES) for name, one in sizes.binders.items()],
            papers=[_outlined(name, one, USUAL_PAPERS) for name, one in sizes.papers.items()],
            languages=[(one, language_name(one)) for one in USUAL_LANGUAGES],
            weekdays=WEEKDAYS,
            months=[(f"{one:%Y-%m}", _month_in_words(one)) for one in months],
            season=_month_in_words(coming),
            back=bool(self.workshop.choice),
        )

    async def begin(self, request: Request) -> Response:
        """Makes a workspace and opens it."""
        given = await given_in(request, _Begun)
        if given is None:
            return PlainTextResponse("Give a name, a size, a paper and a language.", 400)

        def make() -> Response:
            workshop = self.workshop
            try:
                first = dt.date.fromisoformat(f"{given.first}-01") if given.first else None
            except ValueError:
                return PlainTextResponse("There is no such month.", 400)
            try:
                made = Workspace(folder_for(workshop.shelf, given.title))
                begin(
                    made.folder,
                    given.title,
                    given.sizes,
                    given.papers,
                    given.languages,
                    given.first_weekday or None,
                    workshop.today,
                    given.season,
                    first,
                    given.months,
                )
            except UserError as problem:
                return PlainTextResponse(str(problem), 422)
            workshop.choose(made)
            return JSONResponse({"season": next(iter(made.seasons))})

        return await run_in_threadpool(make)

    async def choose(self, request: Request) -> Response:
        """Opens a workspace of those that there are."""
        given = await given_in(request, _Chosen)
        found = [one for one in self.workshop.choice if given and one.folder.name == given.name]
        if not found:
            return nothing_here()
        await run_in_threadpool(self.workshop.choose, found[0])
        return JSONResponse({})

    def shelf_state(self, request: Request) -> Response:
        """What the shelf shows."""
        if self.workshop.workspace is None:
            return nothing_here()
        return JSONResponse(about_shelf(self.workshop))

    async def season(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hands a request to its season; whoever sees one of its pages has it built."""
        name = scope["path_params"]["season"]
        request = Request(scope)
        accepted = " ".join(request.headers.getlist("accept"))
        is_seen = "text/html" in accepted or "text/event-stream" in accepted
        look_up = self.workshop.open if is_seen else self.workshop.season
        try:
            one = await run_in_threadpool(look_up, name)
        except KeyError:
            await nothing_here()(scope, receive, send)
            return
        except UserError as problem:
            await PlainTextResponse(str(problem), 503)(scope, receive, send)
            return
        await self._app(one)(scope, receive, send)

    def _app(self, one: OpenSeason) -> ASGIApp:
        known = self._apps.get(one.name)
        if known is None or known[0] is not one:
            rooms = SeasonRooms(one)
            app = season_app(one.desk, rooms.root, ROOMS, one.shop, rooms.routes)
            known = self._apps[one.name] = one, app
        return known[1]


def _begun(path: Path) -> dict[str, str]:
    """A season that follows, by the name of its file and by its title."""
    return {"season": path.stem, "title": season_title(load_season(path))}


def _asked_label(one: AskedLabel) -> dict[str, Any]:
    words = [{"tag": tag, "title": language_name(tag), "said": said} for tag, said in one.words]
    return {"key": one.key, "drawn": one.drawn, "words": words}


def _month_in_words(month: dt.date) -> str:
    return words_for("en-GB").interval(month, month, "yMMMM")


def _outlined(name: str, one: Binder | Paper, usual: Sequence[str]) -> dict[str, Any]:
    """A size to choose, with how large it is (mm)."""
    return {
        "name": name,
        "title": one.title,
        "width": one.width_mm,
        "height": one.height_mm,
        "usual": name in usual,
    }


def _shown(show: Callable[[Path], None], path: Path) -> Response:
    try:
        show(path)
    except UserError as problem:
        return PlainTextResponse(str(problem), 422)
    return JSONResponse({"folder": str((path if path.is_dir() else path.parent).resolve())})


def workshop_app(
    workshop: Workshop, key: Key, opened: Callable[[], object] = lambda: None
) -> ASGIApp:
    """The workshop as an ASGI application; ``opened`` is called once it is ready."""
    pages = WorkshopPages(workshop)

    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        opened()
        await run_in_threadpool(workshop.go_on)
        try:
            yield
        finally:
            await run_in_threadpool(workshop.close)

    routes = [
        Route("/", pages.shelf),
        Route("/begin", pages.beginning),
        Route("/shops", pages.shops),
        Route("/api/begin", pages.begin, methods=["POST"]),
        Route("/api/choose", pages.choose, methods=["POST"]),
        Route("/api/shelf", pages.shelf_state),
        Mount("/season/{season}", app=pages.season),
    ]
    app = Starlette(routes=routes, lifespan=lifespan, exception_handlers=ANSWERED)
    return guarded(app, key, [HERE / "static"])
