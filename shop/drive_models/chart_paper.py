"""The chart of a drive model on paper: one page, in grey."""

from django.utils import timezone
from reportlab.graphics.shapes import Drawing, Group

from calcs.thousands import grouped
from shop.drive_models.chart import Chart
from shop.printing.letters import PLAIN
from shop.printing.paper import MARGIN, SIZES, Head, make_pdf, text
from shop.printing.picture import drawing
from shop.printing.ruled import Column, Look, Ruled

GAP = 12.0


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
    """Return the two drawings side by side on one strip."""
    drawn = [drawing(shapes, (width - GAP) / 2, PLAIN) for shapes in (chart.small_over_control, chart.small_over_speed) if shapes]
    if not drawn:
        return []
    strip = Drawing(width, max(each.height for each in drawn))
    for place, each in enumerate(drawn):
        beside = Group(*each.contents)
        beside.translate(place * (each.width + GAP), 0)
        strip.add(beside)
    return [strip]


def table_of(chart: Chart) -> Ruled:
    """Return the figures under the pictures."""
    if chart.curve is None:
        return text("")
    speed, force = chart.curve.speed_unit, chart.curve.force_unit
    heads = ("Control", f"Speed, {speed}", f"Relief, {force}", f"Engine, {force}", f"Grip, {force}", f"Pull, {force}")
    columns = [*(Column(1.3, head, "right") for head in heads), Column(1.6, "Bound by")]
    names = ("relief", "power", "grip", "pull")
    rows = [[f"{row['command']:.2f}", f"{row['speed']:.1f}", *(figure(row[name]) for name in names), row["bound_by"]] for row in chart.rows]
    return Ruled(columns, rows, title="Figures", look=Look(size=8.5))


def figure(value: float | None) -> str:
    return "–" if value is None else grouped(value, 1, fixed=True)
