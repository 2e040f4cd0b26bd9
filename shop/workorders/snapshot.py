"""An order as words and figures, ready to print: kept as it stands when the order is released, so that it prints the same ever after."""

from django.conf import settings

from fleet.judged_hours import life_h_at
from fleet.models import FluidFill, HourReading
from fleet.unit_hours import hours_now
from shop.cautions import cautions_of
from shop.models import Deferral, OrderLine
from shop.workorders.intake import answers_of
from shop.workorders.line_words import line_rows, quote_rows
from shop.workorders.totals import hours_by_kind, order_cents, spoken_money
from shop.workorders.words import hours_words, moment, named

EDITION = 1
Kind, State = OrderLine.Kind, OrderLine.State


def snapshot_of(order, test_rows=None, next_due=()) -> dict:
    """Everything the sheets of an order say, as plain rows."""
    life_h = life_h_at(order.machine)
    lines = list(order.lines.select_related("task", "part", "unit", "waived_by", "finding").prefetch_related("stock_moves"))
    return {
        "edition": EDITION,
        "number": order.number,
        "state": order.get_state_display(),
        "shop": settings.SHOP_NAME,
        "customer": customer_rows(order),
        "machine": machine_rows(order),
        "units": unit_rows(order, life_h),
        "intake": intake_rows(order),
        "complaint": order.complaint,
        "cause": order.cause,
        "correction": order.correction,
        "failure": failure_rows(order),
        **line_rows(lines),
        **quote_rows(lines),
        "labour": labour_rows(order),
        "cautions": caution_rows(caution_codes(lines, test_rows)),
        "fluid": fluid_rows(order),
        "tests": test_rows or {},
        "findings": finding_rows(order, lines),
        "deferred": deferral_rows(order),
        "approvals": approval_rows(order),
        "release": release_rows(order),
        "warranty": warranty_rows(order),
        "next_due": [list(row) for row in next_due],
        "released_h": released_words(order, life_h),
        "total": spoken_money(order_cents(lines)),
        "supersedes": f"{order.supersedes.number}: {order.supersede_reason}" if order.supersedes_id else "",
    }


def released_words(order, life_h) -> str:
    return hours_words(life_h) if order.released_at else ""


def customer_rows(order) -> list:
    customer, site = order.customer, order.machine.site
    approvers = [contact for contact in customer.contacts.all() if contact.may_approve and not contact.is_retired]
    return [
        ["Customer", f"{customer.name} ({customer.number})"],
        ["Reach", " · ".join(part for part in (order.caller, customer.phone) if part) or "–"],
        ["Site", " · ".join(part for part in (site.name, site.address, site.gate_notes) if part) if site else "–"],
        [
            "May approve",
            "; ".join(
                f"{c.name} up to {spoken_money(c.approval_limit_cents) if c.approval_limit_cents is not None else 'no set sum'}"
                for c in approvers
            )
            or "nobody on record",
        ],
    ]


def machine_rows(order) -> list:
    machine = order.machine
    on_now = {"meter__machine": machine, "meter__ended_on": None, "meter__kind": "engine"}
    last = HourReading.objects.accepted().filter(**on_now).latest_first().first()
    return [
        ["Machine", f"{machine.number} {machine.get_kind_display()} {machine.maker} {machine.model}"],
        ["Serial", f"{machine.serial}{f', {machine.year}' if machine.year else ''}"],
        ["Tyres", f"{machine.tyre or '–'}{f', rolling radius {machine.rolling_radius_m:g} m' if machine.rolling_radius_m else ''}"],
        [
            "Hours",
            f"{hours_words(order.life_h)} life at intake; meter {hours_words(last.meter_h)} read {moment(last.read_at)}"
            if last
            else hours_words(order.life_h),
        ],
        ["Taken in", f"{moment(order.taken_in_at)}, promised {order.promised_on or '–'}"],
    ]


def unit_rows(order, life_h) -> list:
    """The units in the machine; `life_h` are its life hours now."""
    rows = []
    for stay in order.machine.installations.running().select_related("unit__drive_model").prefetch_related("unit__installations"):
        unit = stay.unit
        warranty = " / ".join(
            part for part in (str(unit.warranty_to or ""), hours_words(unit.warranty_to_h) if unit.warranty_to_h else "") if part
        )
        rows.append(
            [
                stay.get_position_display(),
                unit.tag,
                unit.serial,
                str(unit.drive_model),
                unit.get_birth_display(),
                hours_words(hours_now(unit, unit.installations.all(), {order.machine_id: life_h})),
                warranty or "none",
            ]
        )
    return rows


def intake_rows(order) -> list:
    return [[question, answer] for question, answer in answers_of(order.intake)]


def failure_rows(order) -> list:
    failure = order.failure
    if not failure:
        return []
    return [
        ["Seen", failure.get_mode_display()],
        ["Inside", failure.mechanism],
        ["Why", failure.cause],
        ["Found by", failure.detected_by],
        ["Weight", f"{failure.get_severity_display()}; {failure.get_evidence_display().lower()}"],
        ["Debris", "found" if failure.has_debris else "none found"],
    ]


def labour_rows(order) -> dict:
    entries = list(order.labour.select_related("technician"))
    names = dict(entries[0].Kind.choices) if entries else {}
    rows = [
        [
            moment(e.started_at),
            moment(e.ended_at) if e.ended_at else "running",
            e.technician.name,
            e.get_kind_display(),
            f"{e.work_h:.2f} h" if e.work_h is not None else "",
            e.note,
        ]
        for e in entries
    ]
    return {"rows": rows, "sums": [[names[kind], f"{hours} h"] for kind, hours in hours_by_kind(entries).items()]}


def caution_codes(lines, test_rows) -> list[str]:
    codes = {code for line in lines if line.task_id for code in line.task.cautions}
    codes |= set((test_rows or {}).get("cautions", ()))
    if any(line.is_forced for line in lines):
        codes |= {"C2", "C3", "C4", "C5"}
    if any(line.kind == Kind.TASK and not line.task_id for line in lines):
        codes |= {"C2", "C3"}
    return sorted(codes)


def caution_rows(codes) -> list:
    return [[c.word, c.code, c.title, c.words, c.source] for c in cautions_of(codes)]


def fluid_rows(order) -> list:
    fills = FluidFill.objects.standing().of(order.machine).select_related("product").order_by("-filled_at")[:4]
    return [
        [
            moment(f.filled_at)[:10],
            f.get_kind_display(),
            f"{f.product} {f.product.viscosity_grade}" if f.product else "not known",
            f"{f.fill_l:f}",
            f"{f.drained_l:f}",
            f.batch,
        ]
        for f in fills
    ]


def finding_rows(order, lines) -> list:
    rows = [[line.finding.words, line.evidence] for line in lines if line.finding_id]
    rows += [[f"Paper: {paper.name}", f"{paper.caption} {paper.sha256[:16]}".strip()] for paper in order.papers.all()]
    return rows


def deferral_rows(order) -> list:
    open_ones = Deferral.objects.filter(machine=order.machine, ended_at=None).select_related("task")
    return [[str(d.task), f"{hours_words(d.until_h)} or {d.until_on}", d.get_reason_display(), d.risk] for d in open_ones]


def approval_rows(order) -> list:
    return [
        [moment(a.given_at), a.contact.name, a.get_channel_display(), spoken_money(a.limit_cents), a.words]
        for a in order.approvals.select_related("contact")
    ]


def release_rows(order) -> list:
    if not order.released_at:
        return []
    rows = [["Safe to work", order.get_fitness_display()], ["Released by", f"{named(order.released_by)}, {moment(order.released_at)}"]]
    if order.test_waiver:
        rows.append(["No final test, because", f"{order.test_waiver} ({named(order.waived_by)})"])
    rows.append(["Cautions read by", f"{named(order.cautions_seen_by)}, {moment(order.cautions_seen_at)}"])
    return rows


def warranty_rows(order) -> list:
    unit = order.unit
    if not unit:
        return []
    return [
        ["Payer", unit.warranty_payer or "–"],
        ["Until", f"{unit.warranty_to or '–'} / {hours_words(unit.warranty_to_h)}"],
        ["Claimed on this order", "yes" if order.is_warranty else "no"],
    ]
