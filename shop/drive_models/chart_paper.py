"""The chart of a drive model on paper: one page, in grey."""

from django.utils import timezone

from shop.drive_models.chart import Chart
from shop.printing.letters import PLAIN
from shop.printing.paper import MARGIN, SIZES, Head, make_pdf, text
from shop.printing.picture import drawing
from shop.printing.ruled import Column, Look, Ruled

COLUMNS = [
    Column(1, "Control", "right"),
    Column(1.2, "Speed, km/h", "right"),
    Column(1.3, "Relief, kN", "right"),
    Column(1.3, "Engine, kN", "right"),
    Column(1.3, "Grip, kN", "right"),
    Column(1.3, "Pull, kN", "right"),
    Column(1.6, "Bound by"),
]


def chart_pdf(model, machine, oil, chart: Chart, paper: str) -> bytes:
    """Return the chart as a PDF."""
    width = SIZES[paper][0] - 2 * MARGIN
    setting = chart.setting
    under = (
        f"{model.maker} {model} in {machine}, oil {oil}. Engine {setting.engine_speed_rpm:.0f} rpm, "
        f"control {setting.command:g}, load {setting.load_bar:g} bar, "
        f"oil {setting.oil_temp_c:g} °C, leakage {setting.wear_times:g} times new, grip {setting.traction_coefficient:g}."
    )
    pieces = [text(under, size=9.5), *pictures(chart, width), *[text(sentence) for sentence in chart.sentences], table_of(chart)]
    if chart.refusal:
        pieces.append(text(chart.refusal, bold=True))
    head = Head("Drive chart", number=model.code, note=f"Worked out on {timezone.localdate():%-d %B %Y}; no maker's figure")
    return make_pdf([(head, pieces)], paper, f"Drive chart {model.code}")


def pictures(chart: Chart, width: float) -> list:
    """Return the two drawings, one under the other."""
    drawn = [shapes for shapes in (chart.over_control, chart.over_speed) if shapes]
    return [drawing(shapes, width * 0.72, PLAIN) for shapes in drawn]


def table_of(chart: Chart) -> Ruled:
    rows = [
        [
            f"{row['command']:.2f}",
            f"{row['speed_kmh']:.1f}",
            *(kilo(row[name]) for name in ("relief_kn", "power_kn", "traction_kn", "pull_kn")),
            row["bound_by"],
        ]
        for row in chart.rows
    ]
    return Ruled(COLUMNS, rows, title="Figures", look=Look(size=8.5))


def kilo(value) -> str:
    return "–" if value is None else f"{value:.1f}"
