"""A sheet of paper in millimetres, drawn in ink and greys, and its picture as PNG bytes.

One style for every drawing: black ink, three greys, three weights, one typeface at 7 points and more. The picture is
grey, holds no words about its making, and is the same for the same strokes.
"""

from __future__ import annotations

import struct
import warnings
from collections.abc import Sequence
from dataclasses import dataclass, field
from io import BytesIO
from itertools import pairwise
from math import ceil, hypot
from pathlib import Path
from typing import Any
from unicodedata import category

Pair = tuple[float, float]
Box = tuple[float, float, float, float]  # left, low, right, high [mm]

DPI = 180
INCH = 25.4
POINT = INCH / 72  # mm
INK, SOFT, PALE, FILL = "0.0", "0.35", "0.62", "0.90"
THICK, FIRM, FINE = 1.5, 0.8, 0.45  # points
SMALL, PLAIN, LARGE = 7.0, 7.5, 9.5  # points
DASHES: dict[str, Any] = {"": "-", "dashed": (0, (5, 3)), "dotted": (0, (1, 2.5)), "chain": (0, (9, 2.5, 1.5, 2.5))}


@dataclass
class Paper:
    """What has been drawn so far. boxes: where no label may lie; dots: points of lines a label had better not hide."""

    width: float
    high: float
    strokes: list[Any] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)
    dots: list[Pair] = field(default_factory=list)

    def line(
        self,
        points: Sequence[Pair],
        weight: float = FINE,
        ink: str = INK,
        dash: str = "",
        *,
        level: int = 3,
        kept: bool = True,
    ) -> None:
        """A line through points [mm]. level: what is drawn later lies on top; kept: labels try not to hide it."""
        from matplotlib.lines import Line2D

        xs, ys = [p[0] for p in points], [p[1] for p in points]
        ends: dict[str, Any] = {"solid_capstyle": "round", "dash_capstyle": "butt", "solid_joinstyle": "round"}
        made = Line2D(xs, ys, linewidth=weight, color=ink, linestyle=DASHES[dash], marker="", **ends)
        self._add(made, level)
        if kept:
            for (ax, ay), (bx, by) in pairwise(points):
                steps = max(ceil(hypot(bx - ax, by - ay) / 1.2), 1)
                self.dots += [(ax + (bx - ax) * n / steps, ay + (by - ay) * n / steps) for n in range(steps + 1)]

    def area(self, points: Sequence[Pair], fill: str, *, edge: str = "", weight: float = FINE, level: int = 1) -> None:
        """A filled outline [mm]."""
        from matplotlib.patches import Polygon

        line = {"edgecolor": edge or "none", "linewidth": weight if edge else 0.0}
        self._add(Polygon(list(points), closed=True, facecolor=fill, **line), level)

    def ring(
        self,
        at: Pair,
        radius: float,
        *,
        fill: str = "",
        weight: float = FINE,
        ink: str = INK,
        dash: str = "",
        level: int = 4,
    ) -> None:
        """A circle [mm]."""
        from matplotlib.patches import Circle

        made = Circle(at, radius, facecolor=fill or "none", edgecolor=ink, linewidth=weight, linestyle=DASHES[dash])
        self._add(made, level)
        self.boxes.append((at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius))

    def text(
        self,
        at: Pair,
        words: str,
        size: float = PLAIN,
        *,
        bold: bool = False,
        ink: str = INK,
        angle: float = 0.0,
        align: str = "center",
        kept: bool = True,
    ) -> None:
        """Words whose middle height is at a point [mm]; a thin white edge keeps lines off the letters."""
        from matplotlib.patheffects import withStroke
        from matplotlib.text import Text

        words = drawn(words)
        made = Text(
            at[0],
            at[1],
            words,
            fontproperties=_font(size, bold),
            color=ink,
            rotation=angle,
            rotation_mode="anchor",
            ha=align,
            va="center_baseline",
            parse_math=False,
            usetex=False,
        )
        made.set_path_effects([withStroke(linewidth=2.2, foreground="1.0")])
        self._add(made, 9)
        if kept and not angle:
            wide, high = text_size(words, size, bold)
            left = at[0] - {"center": wide / 2, "left": 0.0, "right": wide}[align]
            self.boxes.append((left, at[1] - high / 2, left + wide, at[1] + high / 2))

    def _add(self, made: Any, level: int) -> None:
        made.set_zorder(level)
        self.strokes.append(made)

    def png(self) -> bytes:
        """The picture: grey, at its printed size, nothing in it but the strokes and that size."""
        from matplotlib import rc_context
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure
        from matplotlib.transforms import Affine2D
        from PIL import Image

        settled: dict[Any, Any] = {"text.hinting": "force_autohint", "text.antialiased": True}
        settled |= {"path.simplify": False, "lines.scale_dashes": True, "path.snap": True, "patch.antialiased": True}
        with rc_context(settled), warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a letter the typeface lacks is drawn as a box
            figure = Figure(figsize=(self.width / INCH, self.high / INCH), dpi=DPI, facecolor="white", edgecolor="none")
            canvas: Any = FigureCanvasAgg(figure)
            at = Affine2D().scale(1 / INCH) + figure.dpi_scale_trans
            for made in self.strokes:
                made.set_transform(at)
                figure.add_artist(made)
            canvas.draw()
            size = canvas.get_width_height()
            picture = Image.frombytes("RGBA", size, bytes(canvas.buffer_rgba())).convert("L")
        out = BytesIO()
        picture.save(out, format="PNG", dpi=(DPI, DPI), compress_level=9)
        return out.getvalue()


def size_of(png: bytes) -> Pair:
    """Width and height at which a picture made here is printed [mm].

    >>> [round(x) for x in size_of(Paper(50.8, 25.4).png())]
    [51, 25]
    """
    wide, high = struct.unpack(">II", png[16:24])
    return wide / DPI * INCH, high / DPI * INCH


def drawn(words: str) -> str:
    """The words without marks that no typeface has a shape for: controls, and those that turn the order of letters.

    >>> drawn("a\\x9b\\u202eb\\u00a0c")
    'ab c'
    """
    if words.isprintable():
        return words
    return "".join(c if c.isprintable() else " " for c in words if c.isprintable() or category(c).startswith("Z"))


def text_size(words: str, size: float, bold: bool = False) -> Pair:
    """Width and height of a line of text [mm].

    >>> wide, high = text_size("3.100", 7.5)
    >>> 6 < wide < 9, 2 < high < 4
    (True, True)
    """
    face = _face(bold)
    wide = 0.0
    for letter in drawn(words):
        if letter not in _ADVANCES.setdefault(bold, {}):
            face.set_size(100, 72)
            _ADVANCES[bold][letter] = face.load_char(ord(letter)).linearHoriAdvance / 65536 / 100
        wide += _ADVANCES[bold][letter]
    return wide * size * POINT, size * POINT * 1.12


_ADVANCES: dict[bool, dict[str, float]] = {}
_FACES: dict[bool, Any] = {}


def font_file(bold: bool) -> Path:
    """The file of the one typeface, which comes with the drawing library."""
    import matplotlib

    return Path(matplotlib.get_data_path(), "fonts", "ttf", "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf")


def _face(bold: bool) -> Any:
    if bold not in _FACES:
        from matplotlib.ft2font import FT2Font

        _FACES[bold] = FT2Font(str(font_file(bold)))
    return _FACES[bold]


def _font(size: float, bold: bool) -> Any:
    """The typeface that comes with the drawing library, by its file: what else is installed makes no difference."""
    from matplotlib.font_manager import FontProperties

    return FontProperties(fname=str(font_file(bold)), size=size)
