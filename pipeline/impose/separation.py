"""Colour separation: a finished file's colours turned from red, green and blue into printing inks.

Colours of things go through the press's ICC profile (LittleCMS: relative colorimetric with black
point compensation, common practice). What is grey is printed in black alone, and so is what is as
good as grey and dark, or thin; thin lines and small letters take no more than two colours besides
black, for more would show every shift between the inks. A colour may have an ink of its own.

Content streams are read operator by operator (ISO 32000-1, 8.6.8): colours that are set are held
back until something is painted with them, because how it is printed depends on how thin it is.
"""

from __future__ import annotations

import functools
import io
import itertools
import math
import zlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms
from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    ContentStream,
    DictionaryObject,
    IndirectObject,
    NameObject,
    NumberObject,
    PdfObject,
    StreamObject,
)

from pipeline.base.errors import UserError
from pipeline.base.geometry import decimal, pt
from pipeline.draw.forms import added, pdf_numbers
from pipeline.plan.model import Press

THIN_PT = pt(0.25)
"""Lines and bars thinner than this are thin (common practice: 0.25 mm)."""
SMALL_PT = 9.0
"""Letters smaller than this have stems as thin (by eye)."""
NEAR_GREY = 4.0
"""CIELAB chroma below which a dark or thin thing counts as grey (by eye)."""
DARK_L = 40.0
"""CIELAB lightness below which it counts as dark (by eye)."""
_SAME = 2
"""Parts of 255 by which the channels of a grey may differ: what rounding does."""
_STEPS = 256
"""Samples that a gradient is described by."""
_SPOT = "/Ink{}"
_INLINE = "/Inline{}"
_GREY, _CMYK = NameObject("/DeviceGray"), NameObject("/DeviceCMYK")
_OVER = "/PrintsOver"

Rgb = tuple[int, int, int]
Inks = tuple[float, float, float, float]
"""Cyan, magenta, yellow and black, 0 to 1."""
Bytes = NDArray[np.uint8]


class Separator:
    """Turns sRGB colours into a press's inks."""

    def __init__(self, press: Press) -> None:
        srgb, lab = ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB")
        inks = ImageCms.ImageCmsProfile(io.BytesIO(press.profile))
        relative = ImageCms.Intent.RELATIVE_COLORIMETRIC
        black = ImageCms.Flags.BLACKPOINTCOMPENSATION

        def way(source: Any, target: Any, modes: tuple[str, str]) -> Callable[[Bytes], Bytes]:
            transform = ImageCms.buildTransform(source, target, *modes, relative, black)
            return functools.partial(_through, transform, *modes)

        self._limit = press.ink_percent / 100
        self._spots = {rgb: number for number, (_, rgb) in enumerate(press.spots)}
        self._to_inks = way(srgb, inks, ("RGB", "CMYK"))
        self._to_rgb = way(inks, srgb, ("CMYK", "RGB"))
        self._to_lab = way(srgb, lab, ("RGB", "LAB"))
        self._known: dict[tuple[Rgb, bool], Inks] = {}
        self._tints: dict[Rgb, tuple[int, float] | None] = {}
        self._blacks = self._black_of_greys()

    def pixels(self, rgb: Bytes) -> Bytes:
        """The inks, 0 to 255, of an array of sRGB pixels; the last axis has the channels."""
        return self._limited(self._to_inks(rgb))

    def greys(self, levels: Bytes) -> Bytes:
        """How much black, 0 to 255, prints greys of these levels."""
        found: Bytes = self._blacks[levels]
        return found

    def spot(self, rgb: Rgb) -> tuple[int, float] | None:
        """The place of the ink of its own that a colour has, and how much of it, 0 to 1.

        A colour mixed with white is a tint of its ink (common practice), but no grey is.
        """
        if rgb not in self._tints:
            own = self._spots.get(rgb)
            self._tints[rgb] = (own, 1.0) if own is not None else self._tint(rgb)
        return self._tints[rgb]

    def _tint(self, rgb: Rgb) -> tuple[int, float] | None:
        if max(rgb) - min(rgb) <= _SAME:
            return None
        for full, number in self._spots.items():
            most = min(full)
            part = (255 - rgb[full.index(most)]) / (255 - most) if most < 255 else 1.0
            mixed = (255 - part * (255 - one) for one in full)
            if part < 1 and all(abs(a - b) < 1 for a, b in zip(mixed, rgb, strict=True)):
                return number, part
        return None

    def tints(self, rgb: Bytes) -> tuple[int, NDArray[np.float64]] | None:
        """The one ink of its own that all of some colours are tints of, and how much each has.

        None where there is none; white has nothing of it.
        """
        red, green, blue = map(int, rgb[rgb.sum(axis=1).argmin()])
        if (found := self.spot((red, green, blue))) is None:
            return None
        full = np.array([list(self._spots)[found[0]]])
        strong = int(full.argmin())
        parts = (255.0 - rgb[:, strong]) / (255 - full[0, strong])
        off = np.abs(255 - parts[:, None] * (255 - full) - rgb)
        return (found[0], parts) if off.max() < _SAME else None

    def inks(self, rgb: Rgb, *, thin: bool = False) -> Inks:
        """The inks of one colour."""
        if (rgb, thin) not in self._known:
            self._known[rgb, thin] = self._inks(rgb, thin)
        return self._known[rgb, thin]

    def _inks(self, rgb: Rgb, thin: bool) -> Inks:
        lightness, *chroma = self._lab(np.array([rgb], np.uint8))[0]
        near = math.hypot(*chroma) < NEAR_GREY and (thin or lightness < DARK_L)
        if max(rgb) - min(rgb) <= _SAME or near:
            level = round(sum(rgb) / 3)
            return 0.0, 0.0, 0.0, float(self._blacks[level]) / 255
        (printed,) = self.pixels(np.array([rgb], np.uint8))
        if thin and min(printed[:3]) > 0 and np.count_nonzero(printed) > 2:
            printed = self._in_fewer(printed)
        cyan, magenta, yellow, black = (float(one) / 255 for one in printed)
        return cyan, magenta, yellow, black

    def _in_fewer(self, inks: Bytes) -> Bytes:
        """Nearly the same colour in black and the two strongest of the other inks."""
        wanted = self._lab(self._to_rgb(inks[None]))[0]
        strong = sorted(range(3), key=lambda one: -int(inks[one]))[:2]
        channels = [*strong, 3]
        best, step = inks.astype(float), 255.0
        for _ in range(4):
            steps = [np.linspace(best[one] - step, best[one] + step, 17) for one in channels]
            tried = np.zeros((17**3, 4))
            tried[:, channels] = np.stack(np.meshgrid(*steps, indexing="ij"), -1).reshape(-1, 3)
            whole = np.clip(np.rint(tried), 0, 255).astype(np.uint8)
            off = np.linalg.norm(self._lab(self._to_rgb(whole)) - wanted, axis=1)
            best, step = whole[int(off.argmin())].astype(float), step / 6
        found: Bytes = self._limited(best.astype(np.uint8)[None])[0]
        return found

    def _lab(self, rgb: Bytes) -> NDArray[np.float64]:
        read = self._to_lab(rgb).astype(float)
        signed = np.where(read[:, 1:] > 127, read[:, 1:] - 256, read[:, 1:])
        return np.column_stack([read[:, 0] / 2.55, signed])

    def _limited(self, inks: Bytes) -> Bytes:
        """No more ink altogether than the limit: less of the colours, as much black."""
        parts = inks.astype(float) / 255
        colours = parts[..., :3].sum(axis=-1)
        room = np.maximum(self._limit - parts[..., 3], 0)
        over = colours > room
        scale = np.where(over, room / np.where(over, colours, 1), 1.0)
        parts[..., :3] *= scale[..., None]
        reduced = np.floor(parts * 255 + 1e-6).astype(np.uint8)
        return np.where(over[..., None], reduced, inks)

    def _black_of_greys(self) -> Bytes:
        """How much black alone looks like each grey: as light, white as paper and all as full."""
        ramp = np.zeros((256, 4), np.uint8)
        ramp[:, 3] = np.arange(256)
        printed = self._lab(self._to_rgb(ramp))[:, 0]
        printed = np.minimum.accumulate(printed)
        level = np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
        wanted = self._lab(level)[:, 0]
        least = printed[-1]
        aims = least + (wanted - wanted[0]) * (100 - least) / (wanted[-1] - wanted[0])
        found = np.interp(-aims, -printed, np.arange(256))
        found[0], found[-1] = 255, 0
        blacks: Bytes = np.rint(found).astype(np.uint8)
        return blacks


def _through(transform: Any, source: str, target: str, values: Bytes) -> Bytes:
    """Values, their channels on the last axis, through a transform of LittleCMS."""
    many = values.size // values.shape[-1]
    picture = Image.frombytes(source, (many, 1), np.ascontiguousarray(values).tobytes())
    done = ImageCms.applyTransform(picture, transform)
    assert done is not None
    found = np.frombuffer(done.tobytes(), np.uint8)
    return found.reshape(*values.shape[:-1], len(target))


class _Colour(NamedTuple):
    """A colour as a content stream sets it, or the operands of a pattern."""

    rgb: Rgb | None = (0, 0, 0)
    inks: Inks | None = None
    pattern: tuple[PdfObject, ...] = ()


_BLACK = _Colour()
"""What is painted with before anything is said."""


@dataclass(frozen=True)
class _State:
    """What of the graphics state tells how something is painted (8.4)."""

    fill: _Colour = _BLACK
    stroke: _Colour = _BLACK
    fill_space: str = "/DeviceGray"
    stroke_space: str = "/DeviceGray"
    told: tuple[bytes, bytes] = (b"", b"")
    """The operators that fill and stroke were last set by."""
    width: float = 1.0
    scale: float = 1.0
    size: float = 0.0
    text_scale: float = 1.0
    mode: int = 0


_PATH = frozenset((b"m", b"l", b"c", b"v", b"y", b"h", b"re", b"W", b"W*"))
_FILLS = frozenset((b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*"))
_STROKES = frozenset((b"S", b"s", b"B", b"B*", b"b", b"b*"))
_SHOWS = frozenset((b"Tj", b"TJ", b"'", b'"'))
_DEVICE = {b"g": "/DeviceGray", b"rg": "/DeviceRGB", b"k": "/DeviceCMYK"}


@dataclass
class _Content:
    """A content stream as it is read; ``mask`` where only its lightness counts (11.5.3)."""

    separator: Separator
    spaces: Mapping[str, Any]
    mask: bool
    state: _State = field(default_factory=_State)
    kept: list[_State] = field(default_factory=list)
    path: list[bytes] = field(default_factory=list)
    points: list[tuple[float, float]] = field(default_factory=list)
    spots: set[int] = field(default_factory=set)
    inline: list[StreamObject] = field(default_factory=list)

    def written(self, stream: ContentStream) -> bytes:
        """All of it, separated."""
        return b"\n".join(
            itertools.chain.from_iterable(self._step(*one) for one in stream.operations)
        )

    def _step(self, operands: Any, operator: bytes) -> Iterator[bytes]:
        if operator == b"INLINE IMAGE":
            self.inline.append(_apart(operands))
            name = _INLINE.format(len(self.inline))
            operands, operator = [NameObject(name)], b"Do"
        if operator in _PATH:
            self._add(operands, operator)
            return
        if self._takes(operands, operator):
            return
        if operator in _FILLS or operator in _STROKES:
            thin = self._is_thin_shape()
            yield from self._tell(operator in _FILLS, operator in _STROKES, thin)
        elif operator in _SHOWS:
            modes = self.state.mode % 4
            state = self.state
            thin = state.size * state.text_scale * state.scale < SMALL_PT
            yield from self._tell(modes in (0, 2), modes in (1, 2), thin)
        elif operator == b"Do":
            yield from self._tell(True, False, False)  # a mask is painted in the colour of fills
        self._moves(operands, operator)
        yield from self.path
        self.path.clear()
        self.points.clear()
        yield _line(operands, operator)

    def _add(self, operands: Any, operator: bytes) -> None:
        self.path.append(_line(operands, operator))
        at = [float(one) for one in operands]
        if operator == b"re":
            self.points += [(at[0], at[1]), (at[0] + at[2], at[1] + at[3])]
        else:
            self.points += zip(at[::2], at[1::2], strict=True)

    def _is_thin_shape(self) -> bool:
        if not self.points:
            return False
        across, down = zip(*self.points, strict=True)
        least = min(max(across) - min(across), max(down) - min(down))
        return bool(least * self.state.scale < THIN_PT)

    def _takes(self, operands: Any, operator: bytes) -> bool:
        """Whether an operator sets a colour, which it then is known to be."""
        stroke, name = operator.isupper(), operator.lower()
        if name in _DEVICE:
            self._set(stroke, _DEVICE[name], _colour(_DEVICE[name], operands))
        elif name == b"cs":
            space = self._space(str(operands[0]))
            self._set(stroke, space, _Colour())
        elif name in (b"sc", b"scn"):
            space = self.state.stroke_space if stroke else self.state.fill_space
            self._set(stroke, space, _colour(space, operands))
        else:
            return False
        return True

    def _space(self, name: str) -> str:
        return _space_of(self.spaces.get(name, name))

    def _set(self, stroke: bool, space: str, colour: _Colour) -> None:
        if stroke:
            self.state = replace(self.state, stroke=colour, stroke_space=space)
        else:
            self.state = replace(self.state, fill=colour, fill_space=space)

    def _moves(self, operands: Any, operator: bytes) -> None:
        """Follows what else of the graphics state matters."""
        state = self.state
        if operator == b"q":
            self.kept.append(state)
        elif operator == b"Q" and self.kept:
            self.state = self.kept.pop()
        elif operator == b"cm":
            self.state = replace(state, scale=state.scale * _scale(operands))
        elif operator == b"w":
            self.state = replace(state, width=float(operands[0]))
        elif operator == b"BT":
            self.state = replace(state, text_scale=1.0)
        elif operator == b"Tf":
            self.state = replace(state, size=abs(float(operands[1])))
        elif operator == b"Tm":
            self.state = replace(state, text_scale=_scale(operands))
        elif operator == b"Tr":
            self.state = replace(state, mode=int(operands[0]))

    def _tell(self, fill: bool, stroke: bool, thin: bool) -> Iterator[bytes]:
        """Sets the colours that are painted with, where the last ones were others."""
        state = self.state
        fills, strokes = state.told
        if fill and (said := self._said(state.fill, thin, False)) != fills:
            yield said
            fills = said
        thin = state.width * state.scale < THIN_PT
        if stroke and (said := self._said(state.stroke, thin, True)) != strokes:
            yield said
            strokes = said
        self.state = replace(state, told=(fills, strokes))

    def _said(self, colour: _Colour, thin: bool, stroke: bool) -> bytes:
        if colour.pattern:
            return _in_case(b"/Pattern cs " + _line(colour.pattern, b"scn"), stroke)
        if colour.rgb is not None and self.mask:
            return _in_case(_numbers([_lightness(colour.rgb)]) + b" g", stroke)
        if colour.rgb is not None and (spot := self.separator.spot(colour.rgb)) is not None:
            ink, part = spot
            self.spots.add(ink)
            said = f"{_SPOT.format(ink)} cs {decimal(part, 4)} scn"
            return _in_case(said.encode(), stroke)
        inks = colour.inks
        if colour.rgb is not None:
            inks = self.separator.inks(colour.rgb, thin=thin)
        assert inks is not None
        return _in_case(_numbers(inks) + b" k", stroke)


def _in_case(said: bytes, stroke: bool) -> bytes:
    """Operators for fills, or the same for strokes, which are in capitals."""
    if not stroke:
        return said
    *names, last = said.split(b" ")
    names = [b"CS" if one == b"cs" else one for one in names]
    return b" ".join([*names, last.upper()])


def _colour(space: str, operands: Any) -> _Colour:
    if space == "/Pattern":
        if len(operands) != 1:
            raise _beyond("a pattern without colours of its own")
        return _Colour(None, None, tuple(operands))
    values = [min(max(float(one), 0.0), 1.0) for one in operands]
    if space == "/DeviceCMYK":
        cyan, magenta, yellow, black = values
        return _Colour(None, (cyan, magenta, yellow, black))
    red, green, blue = (round(255 * one) for one in (values if len(values) == 3 else values * 3))
    return _Colour((red, green, blue))


def _space_of(space: Any) -> str:
    """A colour space as one of the device's, or a pattern's (8.6)."""
    space = space.get_object() if hasattr(space, "get_object") else space
    if not isinstance(space, ArrayObject):
        name = str(space)
        known = ("/DeviceGray", "/DeviceRGB", "/DeviceCMYK", "/Pattern")
        if name in known:
            return name
        raise _beyond(f"the colour space {name}")
    family = str(space[0])
    if family == "/ICCBased":
        channels = int(space[1].get_object()["/N"])
        return {1: "/DeviceGray", 3: "/DeviceRGB", 4: "/DeviceCMYK"}[channels]
    if family in ("/CalRGB", "/CalGray"):
        return f"/Device{family[4:]}"
    if family == "/Pattern":
        return family
    raise _beyond(f"the colour space {family}")


def _beyond(what: str) -> UserError:
    return UserError(
        "press edition",
        f"a page has {what}, which isn't turned into printing inks",
        "draw it in another way, or save the page once more as a plain PDF with RGB colours",
    )


def _scale(matrix: Sequence[Any]) -> float:
    a, b, c, d = (float(one) for one in matrix[:4])
    return math.sqrt(abs(a * d - b * c))


def _lightness(rgb: Rgb) -> float:
    """The luminosity of a colour (11.3.5.3), 0 to 1."""
    return (0.3 * rgb[0] + 0.59 * rgb[1] + 0.11 * rgb[2]) / 255


def _numbers(values: Sequence[float]) -> bytes:
    return " ".join(decimal(value, 4) for value in values).encode()


def _line(operands: Any, operator: bytes) -> bytes:
    """An operator with its operands, as content streams have it."""
    if isinstance(operands, Mapping):
        operands = [operands]
    out = io.BytesIO()
    for one in operands:
        one.write_to_stream(out)
        out.write(b" ")
    return out.getvalue() + operator


class _File:
    """A file whose objects are made once more in inks; what they are made from is left behind."""

    def __init__(self, writer: PdfWriter, press: Press) -> None:
        self._writer = writer
        self._separator = separator_of(press)
        self._made: dict[tuple[int, bool], IndirectObject] = {}
        self._inks = [self._ink(name, rgb) for name, rgb in press.spots]

    def _ink(self, name: str, rgb: Rgb) -> ArrayObject:
        """An ink of its own: a colour space of which the inks of the profile are a likeness."""
        likeness = pdf_numbers(self._separator.inks(rgb))
        tint = _dictionary(
            FunctionType=NumberObject(2),
            Domain=pdf_numbers([0, 1]),
            C0=pdf_numbers([0, 0, 0, 0]),
            C1=likeness,
            N=NumberObject(1),
        )
        ink, inks = NameObject("/" + name), NameObject("/DeviceCMYK")
        return ArrayObject([NameObject("/Separation"), ink, inks, self._add(tint)])

    def _add(self, made: DictionaryObject) -> IndirectObject:
        return added(self._writer, made)

    def page(self, page: DictionaryObject) -> None:
        """A page, all that is on it too."""
        content = page.get("/Contents")
        if content is None:
            return
        read = ContentStream(content.get_object(), self._writer)
        resources = page.get("/Resources", DictionaryObject()).get_object()
        made, resources = self._content(read, resources, False)
        page[NameObject("/Contents")] = self._add(_stream(DictionaryObject(), made))
        page[NameObject("/Resources")] = resources
        if "/Group" in page:
            page[NameObject("/Group")] = self._group(page["/Group"], False)

    def print_over(self, page: Any) -> None:
        """Has all that is on a separated page print over what lies below it."""
        on = BooleanObject(True)
        state = _dictionary(Type=NameObject("/ExtGState"), OP=on, op=on, OPM=NumberObject(1))
        states = DictionaryObject(page["/Resources"].get("/ExtGState", {}))
        states[NameObject(_OVER)] = self._add(state)
        page["/Resources"][NameObject("/ExtGState")] = states
        content = f"{_OVER} gs\n".encode() + page["/Contents"].get_object().get_data()
        page[NameObject("/Contents")] = self._add(_stream(DictionaryObject(), content))

    def _content(
        self, read: ContentStream, resources: DictionaryObject, mask: bool
    ) -> tuple[bytes, DictionaryObject]:
        spaces = dict(_items(resources.get("/ColorSpace")))
        content = _Content(self._separator, spaces, mask)
        made = content.written(read)
        new = self._resources(resources, mask)
        if content.inline:
            pictures = DictionaryObject(dict(_items(new.get("/XObject"))))
            for number, one in enumerate(content.inline, 1):
                pictures[NameObject(_INLINE.format(number))] = self._add(self._image(one, mask))
            new[NameObject("/XObject")] = pictures
        if content.spots:
            new[NameObject("/ColorSpace")] = DictionaryObject(
                {NameObject(_SPOT.format(one)): self._inks[one] for one in sorted(content.spots)}
            )
        return made, new

    def _resources(self, resources: DictionaryObject, mask: bool) -> DictionaryObject:
        new = DictionaryObject(resources)
        new.pop("/ColorSpace", None)
        for kind, make in (
            ("/XObject", self._drawn),
            ("/Pattern", self._pattern),
            ("/Shading", self._shading),
            ("/ExtGState", self._graphics_state),
            ("/Font", self._font),
        ):
            if kind in resources:
                new[NameObject(kind)] = DictionaryObject(
                    {
                        NameObject(name): self._once(one, mask, make)
                        for name, one in _items(resources[kind])
                    }
                )
        return new

    def _once(
        self, given: PdfObject, mask: bool, make: Callable[[Any, bool], DictionaryObject]
    ) -> PdfObject:
        """What is made from an object, made once."""
        if not isinstance(given, IndirectObject):
            return make(given, mask)
        key = given.idnum, mask
        if key not in self._made:
            original = given.get_object()
            made = make(original, mask)
            self._made[key] = given if made is original else self._add(made)
        return self._made[key]

    def _drawn(self, given: StreamObject, mask: bool) -> DictionaryObject:
        if given.get("/Subtype") == "/Image":
            return self._image(given, mask)
        return self._form(given, mask)

    def _form(self, given: StreamObject, mask: bool) -> StreamObject:
        resources = given.get("/Resources", DictionaryObject()).get_object()
        made, resources = self._content(ContentStream(given, self._writer), resources, mask)
        head = _without_filter(given)
        head[NameObject("/Resources")] = resources
        if "/Group" in given:
            head[NameObject("/Group")] = self._group(given["/Group"], mask)
        return _stream(head, made)

    @staticmethod
    def _group(group: Any, mask: bool) -> DictionaryObject:
        new = DictionaryObject(group.get_object())
        if "/CS" in new:
            new[NameObject("/CS")] = NameObject("/DeviceGray" if mask else "/DeviceCMYK")
        return new

    def _pattern(self, given: Any, mask: bool) -> DictionaryObject:
        if given["/PatternType"] == 1:
            if given.get("/PaintType") != 1:
                raise _beyond("a pattern without colours of its own")
            return self._form(given, mask)
        new = DictionaryObject(given)
        new[NameObject("/Shading")] = self._once(given.raw_get("/Shading"), mask, self._shading)
        return new

    def _font(self, given: DictionaryObject, mask: bool) -> DictionaryObject:
        """Letters that are drawn by content streams may have colours of their own (9.6.5)."""
        if given.get("/Subtype") != "/Type3":
            return given
        new = DictionaryObject(given)
        letters = _items(given["/CharProcs"])
        drawn = {NameObject(name): self._once(one, mask, self._form) for name, one in letters}
        new[NameObject("/CharProcs")] = DictionaryObject(drawn)
        return new

    def _graphics_state(self, given: DictionaryObject, mask: bool) -> DictionaryObject:
        new = DictionaryObject(given)
        soft = given.get("/SMask")
        soft = soft.get_object() if soft is not None else None
        if isinstance(soft, DictionaryObject):
            by_light = soft.get("/S") == "/Luminosity"
            made = DictionaryObject(soft)
            made[NameObject("/G")] = self._once(soft.raw_get("/G"), by_light or mask, self._form)
            if "/BC" in soft:
                backdrop = _colour("/DeviceRGB", soft["/BC"]).rgb
                assert backdrop is not None
                made[NameObject("/BC")] = pdf_numbers([_lightness(backdrop)])
            new[NameObject("/SMask")] = made
        return new

    def _image(self, given: StreamObject, mask: bool) -> DictionaryObject:
        space = given.get("/ColorSpace")
        if given.get("/ImageMask") or space is None:
            return given
        rgb = _pixels(given)
        if rgb is None:
            return given
        grey = bool((rgb.max(axis=-1).astype(int) - rgb.min(axis=-1) <= _SAME).all())
        head = _without_filter(given)
        for name in ("/Decode", "/DecodeParms"):
            head.pop(name, None)
        if mask:
            weights = np.array([0.3, 0.59, 0.11])
            data, name = np.rint(rgb @ weights).astype(np.uint8), "/DeviceGray"
        elif grey:
            data, name = 255 - self._separator.greys(rgb[..., 1]), "/DeviceGray"
        else:
            data, name = self._separator.pixels(rgb), "/DeviceCMYK"
        head[NameObject("/ColorSpace")] = NameObject(name)
        head[NameObject("/BitsPerComponent")] = NumberObject(8)
        return _stream(head, data.tobytes())

    def _shading(self, given: DictionaryObject, mask: bool) -> DictionaryObject:
        """A gradient between points or circles, its colours taken along the way (8.7.4.5)."""
        if str(given["/ShadingType"]) not in ("2", "3"):
            raise _beyond("a gradient along a mesh")
        space = _space_of(given["/ColorSpace"])
        data: NDArray[Any]
        inks: PdfObject
        new = DictionaryObject(given)
        if space == "/DeviceCMYK":
            return new
        first, last = (float(one) for one in given.get("/Domain", (0, 1)))
        along = np.linspace(first, last, _STEPS)
        values = np.stack([_value(given["/Function"].get_object(), one) for one in along])
        rgb = np.rint(255 * np.clip(values, 0, 1)).astype(np.uint8)
        rgb = np.repeat(rgb, 3, axis=1) if rgb.shape[1] == 1 else rgb
        if mask:
            data, inks = np.rint(rgb @ np.array([0.3, 0.59, 0.11]))[:, None], _GREY
        elif (tints := self._separator.tints(rgb)) is not None:
            data, inks = np.rint(255 * tints[1])[:, None], self._inks[tints[0]]
        elif (rgb.max(axis=1).astype(int) - rgb.min(axis=1) <= _SAME).all():
            data, inks = np.zeros((_STEPS, 4)), _CMYK
            data[:, 3] = self._separator.greys(rgb[:, 1])
        else:
            data, inks = self._separator.pixels(rgb), _CMYK
        new[NameObject("/ColorSpace")] = inks
        new[NameObject("/Function")] = self._add(_sampled(data.astype(np.uint8), first, last))
        new.pop("/Background", None)
        return new


def _value(function: Any, at: float) -> NDArray[np.float64]:
    """What a function of one number gives (7.10): sampled, exponential, stitched, or several."""
    if isinstance(function, ArrayObject):
        return np.concatenate([_value(one.get_object(), at) for one in function])
    domain = [float(one) for one in function["/Domain"]]
    at = min(max(at, domain[0]), domain[1])
    kind = function["/FunctionType"]
    if kind == 2:
        start = np.array([float(one) for one in function.get("/C0", [0.0])])
        end = np.array([float(one) for one in function.get("/C1", [1.0])])
        along: NDArray[np.float64] = start + at ** float(function["/N"]) * (end - start)
        return along
    if kind == 3:
        bounds = [domain[0], *(float(one) for one in function["/Bounds"]), domain[1]]
        part = max(n for n in range(len(bounds) - 1) if n == 0 or at >= bounds[n])
        low, high = (float(one) for one in function["/Encode"][2 * part : 2 * part + 2])
        wide = bounds[part + 1] - bounds[part]
        inner = low + (at - bounds[part]) / wide * (high - low) if wide else low
        return _value(function["/Functions"][part].get_object(), inner)
    raise _beyond("a gradient whose colours are worked out by a program")


def _sampled(data: Bytes, first: float, last: float) -> StreamObject:
    """A sampled function (7.10.2) of what each sample has in its row."""
    channels = data.shape[1]
    head = _dictionary(
        FunctionType=NumberObject(0),
        Domain=pdf_numbers([first, last]),
        Range=pdf_numbers([0, 1] * channels),
        Size=ArrayObject([NumberObject(len(data))]),
        BitsPerSample=NumberObject(8),
    )
    return _stream(head, data.tobytes())


def _pixels(image: StreamObject) -> Bytes | None:
    """The sRGB pixels of a picture; None for one that is in printing inks already."""
    about: Mapping[str, Any] = image
    wide, high = int(about["/Width"]), int(about["/Height"])
    if about.get("/Filter") in ("/DCTDecode", ["/DCTDecode"]):
        picture = Image.open(io.BytesIO(_raw(image)))
        return None if picture.mode == "CMYK" else np.asarray(picture.convert("RGB"))
    space = about["/ColorSpace"].get_object()
    indexed = isinstance(space, ArrayObject) and space[0] == "/Indexed"
    kind = _space_of(space[1] if indexed else space)
    if kind == "/DeviceCMYK":
        return None
    bits = int(about.get("/BitsPerComponent", 8))
    if bits not in (1, 8) or isinstance(about.get("/Mask"), ArrayObject):
        raise _beyond(f"a picture of {bits} bits a channel, or one with a colour left out,")
    channels = 1 if indexed or kind == "/DeviceGray" else 3
    raw = np.frombuffer(image.get_data(), np.uint8)
    if bits == 1:
        rows = np.unpackbits(raw.reshape(high, -1), axis=1)[:, :wide]
        values = rows[..., None] * np.uint8(1 if indexed else 255)
    else:
        values = raw[: high * wide * channels].reshape(high, wide, channels)
    if indexed:
        values = _table(space, 1 if kind == "/DeviceGray" else 3)[values[..., 0]]
    decode = [float(one) for one in about.get("/Decode", ())]
    if decode and decode[0] > decode[1]:
        values = 255 - values
    return np.repeat(values, 3, axis=-1) if values.shape[-1] == 1 else values


_SHORT = {
    "/W": "/Width", "/H": "/Height", "/BPC": "/BitsPerComponent", "/CS": "/ColorSpace",
    "/F": "/Filter", "/DP": "/DecodeParms", "/IM": "/ImageMask", "/D": "/Decode",
    "/I": "/Interpolate", "/G": "/DeviceGray", "/RGB": "/DeviceRGB", "/CMYK": "/DeviceCMYK",
    "/AHx": "/ASCIIHexDecode", "/A85": "/ASCII85Decode", "/LZW": "/LZWDecode",
    "/Fl": "/FlateDecode", "/RL": "/RunLengthDecode", "/DCT": "/DCTDecode",
}  # fmt: skip
"""How pictures within content are said (8.9.7, Tables 93 and 94)."""


def _apart(picture: Any) -> StreamObject:
    """A picture within content as one of its own."""
    head = DictionaryObject()
    for key, value in picture["settings"].items():
        said = [_in_full(one) for one in value] if isinstance(value, ArrayObject) else None
        name = NameObject(_SHORT.get(str(key), str(key)))
        head[name] = _in_full(value) if said is None else ArrayObject(said)
    head[NameObject("/Type")], head[NameObject("/Subtype")] = map(
        NameObject, ("/XObject", "/Image")
    )
    return StreamObject.initialize_from_dictionary({**head, "__streamdata__": picture["data"]})


def _in_full(value: Any) -> Any:
    return (
        NameObject(_SHORT.get(str(value), str(value))) if isinstance(value, NameObject) else value
    )


def _table(space: ArrayObject, channels: int) -> Bytes:
    """The colours that an indexed picture has numbers for (8.6.6.3)."""
    table: Any = space[3].get_object()
    data = table.get_data() if isinstance(table, StreamObject) else table.original_bytes
    return np.frombuffer(data, np.uint8).reshape(-1, channels)


def _raw(stream: StreamObject) -> bytes:
    """A stream's bytes as they are, packed."""
    written = io.BytesIO()
    stream.write_to_stream(written)
    return written.getvalue().partition(b"\nstream\n")[2].removesuffix(b"\nendstream")


def _items(given: Any) -> Iterator[tuple[str, Any]]:
    """The entries of a dictionary, references as they are."""
    if given is None:
        return
    found = given.get_object()
    for name in found:
        yield str(name), found.raw_get(name)


def _dictionary(**values: PdfObject) -> DictionaryObject:
    return DictionaryObject({NameObject(f"/{name}"): value for name, value in values.items()})


def _without_filter(given: DictionaryObject) -> DictionaryObject:
    gone = ("/Filter", "/Length", "/DecodeParms")
    return DictionaryObject(
        {NameObject(name): given.raw_get(name) for name in given if name not in gone}
    )


def _stream(head: DictionaryObject, data: bytes) -> StreamObject:
    """A stream of these bytes, deflated."""
    return StreamObject.initialize_from_dictionary(
        {
            **head,
            "__streamdata__": zlib.compress(data, 6),
            NameObject("/Filter"): NameObject("/FlateDecode"),
        }
    )


@functools.lru_cache(maxsize=4)
def separator_of(press: Press) -> Separator:
    """The separator of a press, made once."""
    return Separator(press)


def separated(pdf: bytes, press: Press, *, over: bool = False) -> bytes:
    """A PDF of drawings with all its colours in a press's inks; to be placed, not to be sent.

    With ``over`` it prints over what lies below, of which no ink is left out (8.6.7). Raises
    UserError for what is drawn in a way that has no inks.
    """
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pdf)))
    file = _File(writer, press)
    for page in writer.pages:
        file.page(page)
        if over:
            file.print_over(page)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()
