"""One list of shapes, drawn on the screen as SVG and on paper as a reportlab drawing: the same picture in both places.

Colours live in the stylesheet for the screen and in `INKS` for paper; a shape carries only its role. Coordinates run from the upper left corner.
"""

from dataclasses import dataclass, field
from html import escape

Point = tuple[float, float]


@dataclass(frozen=True)
class Line:
    points: tuple[Point, ...]
    role: str = "line"


@dataclass(frozen=True)
class Area:
    points: tuple[Point, ...]
    role: str = "band"


@dataclass(frozen=True)
class Dot:
    at: Point
    role: str = "dot"
    says: str = ""
    radius: float = 4.5


@dataclass(frozen=True)
class Words:
    at: Point
    words: str
    role: str = "label"
    anchor: str = "start"


@dataclass
class Picture:
    """Shapes in drawing order on a sheet of `width` x `height` points."""

    width: float
    height: float
    shapes: list = field(default_factory=list)

    def line(self, points, role="line"):
        self.shapes.append(Line(tuple(points), role))

    def area(self, points, role="band"):
        self.shapes.append(Area(tuple(points), role))

    def dot(self, x, y, role="dot", says="", radius=4.5):
        self.shapes.append(Dot((x, y), role, says, radius))

    def text(self, x, y, words, role="label", anchor="start"):
        self.shapes.append(Words((x, y), words, role, anchor))


def _n(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")


def _path(points) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in points)


def _svg_shape(shape) -> str:
    match shape:
        case Line(points, role):
            return f'<polyline class="{role}" points="{_path(points)}"/>'
        case Area(points, role):
            return f'<polygon class="{role}" points="{_path(points)}"/>'
        case Dot((x, y), role, says, radius):
            spoken = f' data-says="{escape(says)}"' if says else ""
            title = f"<title>{escape(says)}</title>" if says else ""
            return f'<circle class="{role}" cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}"{spoken}>{title}</circle>'
        case Words((x, y), words, role, anchor):
            return f'<text class="{role}" x="{_n(x)}" y="{_n(y)}" text-anchor="{anchor}">{escape(words)}</text>'
    raise TypeError(f"no such shape: {shape!r}")


def svg(picture: Picture, title: str, description: str = "", size: str = "") -> str:
    """Return the picture for the page. Every text in it is escaped; arrow keys walk its dots."""
    body = "".join(_svg_shape(shape) for shape in picture.shapes)
    return (
        f'<svg class="chart {escape(size)}" viewBox="0 0 {_n(picture.width)} {_n(picture.height)}" role="img" tabindex="0" '
        f'aria-label="{escape(title)}" xmlns="http://www.w3.org/2000/svg"><title>{escape(title)}</title>'
        f"<desc>{escape(description)}</desc>{body}</svg>"
    )


# role: stroke grey, width, dash, fill grey (None: none). Grey only, so that any printer shows the same.
INKS = {
    "line": (0.0, 1.4, None, None),
    "limit": (0.0, 1.1, (6, 3), None),
    "expected": (0.35, 1.1, None, None),
    "axis": (0.3, 0.7, None, None),
    "grid": (0.75, 0.4, (1, 3), None),
    "event": (0.35, 0.6, (3, 3), None),
    "bar": (0.0, 0.6, None, None),
    "band": (None, 0, None, 0.86),
    "fan": (None, 0, None, 0.9),
    "healthy": (None, 0, None, 0.93),
    "dot": (1.0, 0.5, None, 0.0),
    "dot open": (0.0, 0.9, None, 1.0),
}


def drawing(picture: Picture, width: float, font: str):
    """Return the picture as a reportlab drawing, `width` points wide, lettered in `font`."""
    from reportlab.graphics.shapes import Drawing, Group

    scale = width / picture.width
    sheet = Drawing(width, picture.height * scale)
    leaf = Group(*[_paper_shape(shape, picture.height, font) for shape in picture.shapes])
    leaf.scale(scale, scale)
    sheet.add(leaf)
    return sheet


def _paper_shape(shape, height: float, font: str):
    from reportlab.graphics.shapes import Circle, Polygon, PolyLine, String

    match shape:
        case Line(points, role):
            return PolyLine([v for x, y in points for v in (x, height - y)], **_ink(role))
        case Area(points, role):
            return Polygon([v for x, y in points for v in (x, height - y)], **_ink(role))
        case Dot((x, y), role, _, radius):
            return Circle(x, height - y, radius * 0.75, **_ink(role))
        case Words((x, y), words, _, anchor):
            return String(x, height - y, words, fontName=font, fontSize=11, textAnchor=anchor)
    raise TypeError(f"no such shape: {shape!r}")


def _ink(role: str) -> dict:
    from reportlab.lib.colors import Color

    def grey(level):
        return Color(level, level, level) if level is not None else None

    stroke, width, dash, fill = INKS.get(role, INKS["line"])
    ink = {"strokeColor": grey(stroke), "strokeWidth": width, "strokeDashArray": dash}
    return ink if fill is None else ink | {"fillColor": grey(fill)}
