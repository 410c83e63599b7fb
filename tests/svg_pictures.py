"""Reads an SVG sheet as a viewer would, and draws it: written from the SVG 1.1 recommendation for the few elements that
a sheet uses, anything else being an error. Knows nothing of plangen.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

from PIL import Image, ImageChops, ImageDraw, ImageFont

SVG = "{http://www.w3.org/2000/svg}"
OVER = 3
"""Dots each way in a dot of the picture."""


def drawn_picture(data: bytes, typefaces: dict[str, bytes], folder: Path, dots: float) -> Image.Image:
    """The sheet in greys, ``dots`` to an inch; ``typefaces`` are the files that it names."""
    for name, font in typefaces.items():
        (folder / name).write_bytes(font)
    picture = _Picture(ElementTree.fromstring(data), folder, dots * OVER / 25.4)
    return picture.image.reduce(OVER)


class _Picture:
    def __init__(self, root: ElementTree.Element, folder: Path, scale: float) -> None:
        assert root.tag == f"{SVG}svg"
        x, y, width, height = map(float, root.attrib["viewBox"].split())
        assert (x, y) == (0, 0)
        assert root.attrib["width"] == f"{root.attrib['viewBox'].split()[2]}mm"
        assert root.attrib["height"] == f"{root.attrib['viewBox'].split()[3]}mm"
        self.scale = scale
        self.image = Image.new(
            "L", (round(width * scale / OVER) * OVER, round(height * scale / OVER) * OVER), 255
        )
        self.style = self._read_style(root.findtext(f"{SVG}style") or "", folder)
        self._children(root, None)

    def _read_style(self, text: str, folder: Path) -> dict[str, dict[str, str]]:
        found: dict[str, dict[str, str]] = {}
        self.fonts: dict[str, Path] = {}
        for selector, body in re.findall(r"([^{}]+)\{([^{}]*)\}", text):
            rules = dict(rule.split(":", 1) for rule in body.split(";"))
            if selector.strip() == "@font-face":
                source = re.fullmatch(r'url\("([^"/]+)"\)', rules["src"])
                assert source is not None
                self.fonts[rules["font-weight"]] = folder / source[1]
            else:
                found[selector.strip()] = rules
        return found

    def _children(self, parent: ElementTree.Element, turn: tuple[float, float, float] | None) -> None:
        for element in parent:
            kind = element.tag.removeprefix(SVG)
            match kind:
                case "title" | "desc" | "style":
                    pass
                case "g":
                    turned = element.get("transform")
                    numbers = None if turned is None else re.fullmatch(r"rotate\((\S+) (\S+) (\S+)\)", turned)
                    assert turned is None or (numbers is not None and turn is None)
                    self._children(element, turn if numbers is None else _three(numbers))
                case "a":
                    assert element.attrib["href"].endswith(".svg")
                case "path":
                    self._path(element)
                case "rect":
                    if element.get("class") != "paper":
                        self._rectangle(element, turn)
                case "text":
                    self._text(element, turn)
                case _:
                    raise AssertionError(kind)

    def _path(self, element: ElementTree.Element) -> None:
        draw = ImageDraw.Draw(self.image)
        parts = [
            [(x * self.scale, y * self.scale) for x, y in part] for part in path_points(element.attrib["d"])
        ]
        if "style" in element.attrib:
            grey = _grey(dict(r.split(":") for r in element.attrib["style"].split(";"))["fill"])
            if len(parts) == 1:
                draw.polygon(parts[0], fill=grey)
                return
            inside = Image.new("1", self.image.size)
            for part in parts:
                one = Image.new("1", self.image.size)
                ImageDraw.Draw(one).polygon(part, fill=1)
                inside = ImageChops.logical_xor(inside, one)
            self.image.paste(grey, (0, 0), inside)
            return
        style = self.style[f"path.{element.attrib['class']}"]
        width = float(style["stroke-width"]) * self.scale
        dashes = [float(d) * self.scale for d in style.get("stroke-dasharray", "").split(",") if d]
        grey = _grey(style["stroke"])
        for part in parts:
            for piece in _dashed(part, dashes) if dashes else [part]:
                draw.line(piece, fill=grey, width=round(width), joint="curve")
                if style.get("stroke-linecap") == "round":
                    for x, y in (piece[0], piece[-1]):
                        draw.ellipse((x - width / 2, y - width / 2, x + width / 2, y + width / 2), fill=grey)

    def _rectangle(self, element: ElementTree.Element, turn: tuple[float, float, float] | None) -> None:
        x, y, w, h = (float(element.attrib[k]) * self.scale for k in ("x", "y", "width", "height"))
        layer = self._layer(turn)
        ImageDraw.Draw(layer).rectangle((x, y, x + w - 1, y + h - 1), fill=0)
        self._lay(layer, turn)

    def _text(self, element: ElementTree.Element, turn: tuple[float, float, float] | None) -> None:
        layer = self._layer(turn)
        for span in element:
            if span.get("class") == "slash":
                assert self.style[".slash"] == {"fill": "none"}
                continue
            size = float(span.attrib["font-size"])
            font = ImageFont.truetype(self.fonts[element.get("class", "normal")], 1000)
            words = span.text or ""
            length = math.fsum(font.getlength(c) for c in words) * size / 1000
            assert abs(length - float(span.attrib["textLength"])) < 0.02, words
            pen, y = float(span.attrib["x"]), float(span.attrib["y"])
            sized = ImageFont.truetype(self.fonts[element.get("class", "normal")], size * self.scale)
            for sign in words:
                ImageDraw.Draw(layer).text((pen * self.scale, y * self.scale), sign, 0, sized, "ls")
                pen += font.getlength(sign) * size / 1000
        self._lay(layer, turn)

    def _layer(self, turn: tuple[float, float, float] | None) -> Image.Image:
        """What is turned is drawn upright on paper of its own."""
        return self.image if turn is None else Image.new("L", self.image.size, 255)

    def _lay(self, layer: Image.Image, turn: tuple[float, float, float] | None) -> None:
        """Turned clockwise, as SVG turns, and laid on the picture."""
        if turn is not None:
            angle, x, y = turn
            middle = (x * self.scale, y * self.scale)
            layer = layer.rotate(-angle, Image.Resampling.BILINEAR, center=middle, fillcolor=255)
            self.image = ImageChops.darker(self.image, layer)


def path_points(data: str) -> Iterator[list[tuple[float, float]]]:
    """The parts of a path as chains of points, curves by 24 chords."""
    part: list[tuple[float, float]] = []
    for letter, body in re.findall(r"([MLCZ])([^MLCZ]*)", data):
        numbers = [float(n) for n in re.split(r"[ ,]+", body.strip()) if n]
        points = list(zip(numbers[::2], numbers[1::2], strict=True))
        if letter == "M":
            if part:
                yield part
            part = list(points)
        elif letter == "L":
            part += points
        elif letter == "C":
            a, (b, c, d) = part[-1], points
            part += [_on_cubic(a, b, c, d, i / 24) for i in range(1, 25)]
        else:
            part.append(part[0])
    if part:
        yield part


def _on_cubic(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float], s: float
) -> tuple[float, float]:
    r = 1 - s
    x, y = (
        r**3 * p + 3 * r * r * s * q + 3 * r * s * s * u + s**3 * v
        for p, q, u, v in zip(a, b, c, d, strict=True)
    )
    return (x, y)


def _dashed(points: list[tuple[float, float]], dashes: list[float]) -> Iterator[list[tuple[float, float]]]:
    """The parts of a chain that the pen is down on."""
    index, left, down = 0, dashes[0], [points[0]]
    for a, b in itertools.pairwise(points):
        done, whole = 0.0, math.dist(a, b)
        while whole - done > left:
            done += left
            at = (a[0] + (b[0] - a[0]) * done / whole, a[1] + (b[1] - a[1]) * done / whole)
            if index % 2 == 0:
                yield [*down, at]
            index = (index + 1) % len(dashes)
            left, down = dashes[index], [at]
        left -= whole - done
        down.append(b)
    if index % 2 == 0 and len(down) > 1:
        yield down


def _grey(colour: str) -> int:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    assert red == green == blue
    return red


def _three(found: re.Match[str]) -> tuple[float, float, float]:
    return (float(found[1]), float(found[2]), float(found[3]))
