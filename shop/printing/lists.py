"""Lists on paper: what is due over the fleet, and the plan before the season. The rooms that know these hand the rows in."""

from shop.printing.paper import Head, NewPage, text
from shop.printing.ruled import Column, Look, Ruled


def due_list_paper(rows, *, title: str = "What is due", on: str = "", remarks=()) -> tuple[Head, list]:
    """Head and pieces of a due list. Each row: machine, drive, task, due hours, due day, state, why."""
    heads = (("Machine", 2.2), ("Drive", 1), ("Task", 2), ("Due at", 1.2), ("Due on", 1.5), ("State", 1.3), ("Why", 6))
    columns = [Column(share, head, "right" if head == "Due at" else "left") for head, share in heads]
    pieces = [NewPage(is_lying=True), *(text(remark, size=8, space=2) for remark in remarks)]
    body = list(rows) or [["", "", "nothing is due", "", "", "", ""]]
    return Head(title, note=f"{on}, {len(rows)} rows" if on else f"{len(rows)} rows"), [*pieces, Ruled(columns, body, look=Look(size=7.5))]


def season_plan_paper(weeks, unplaced=(), *, title: str = "Plan before the season", on: str = "", remarks=()) -> tuple[Head, list]:
    """Head and pieces of a plan. `weeks`: tuples of a week's words, hours planned, hours there are, and rows of day, machine, work, who, hours,
    why here. `unplaced`: rows of machine, work, hours, why it found no place."""
    pieces = [text(remark, size=8, space=2) for remark in remarks]
    for week, planned_h, capacity_h, rows in weeks:
        heads = (("Day", 1.2), ("Machine", 2.4), ("Work", 3), ("Who", 1.5), ("Hours", 0.8), ("Why here", 3))
        columns = [Column(share, head, "right" if head == "Hours" else "left") for head, share in heads]
        full = "" if float(planned_h) <= float(capacity_h) else ": MORE THAN THERE ARE"
        pieces.append(
            Ruled(
                columns,
                list(rows) or [["", "", "nothing planned", "", "", ""]],
                title=f"{week} · {planned_h} of {capacity_h} hours{full}",
                look=Look(size=8),
            )
        )
    if unplaced:
        columns = [Column(2.4, "Machine"), Column(3, "Work"), Column(0.8, "Hours", "right"), Column(4, "Why it found no place")]
        pieces.append(Ruled(columns, list(unplaced), title="Found no place", look=Look(size=8)))
    return Head(title, note=on), pieces or [text("Nothing is planned.")]
