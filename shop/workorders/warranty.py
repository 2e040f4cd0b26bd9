"""The warranty pack: the rule, the proof that services and fluid were kept, the readings as they were, the papers, all in one chain of hashes."""

from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from fleet.fluid_in_use import fills_of
from fleet.judged_hours import life_h_at
from fleet.models import Reading
from fleet.unit_hours import component_h
from shop.acts import act
from shop.models import Paper
from shop.papers.actions import keep_paper
from shop.papers.shelf import take_out
from shop.refusals import Refused
from shop.workorders.evidence import label_of, verdict_of
from shop.workorders.evidence_chain import as_text, chained, first_difference
from shop.workorders.upkeep import upkeep_of
from shop.workorders.words import hours_words, moment

CAPTION = "Evidence of the warranty claim, in a chain"


def pack_of(order) -> dict:
    """Everything the pack says: rule and whether it holds, upkeep, fluid, readings, papers, tags, and the chain over it all."""
    if order.unit is None:
        raise Refused("No drive is named on this order: a claim is for one drive.")
    stay = order.unit.installations.filter(machine=order.machine, from_date__lte=order.taken_in_at.date()).order_by("-from_date").first()
    if stay is None:
        raise Refused(f"{order.unit} was not fitted in {order.machine} when the order was taken in.")
    day, life_h = order.taken_in_at.date(), order.life_h if order.life_h is not None else life_h_at(order.machine, order.taken_in_at)
    upkeep = upkeep_of(order.unit, order.machine, stay, life_h, day)
    pack = {
        "number": order.number,
        "rule": rule_rows(order, life_h, day, upkeep),
        "upkeep": [[row.task, row.from_words, row.to_words, f"{row.ran_h} h", row.allowed, row.words] for row in upkeep],
        "fluid": fluid_rows(order),
        "readings": reading_rows(order.unit),
        "papers": paper_rows(order),
        "tags": [
            [held.tag, held.get_kind_display(), held.words, held.place or "–", held.settled_words or "open"]
            for held in order.held_parts.all()
        ],
        "story": [["Complaint", order.complaint], ["Cause", order.cause], ["Correction", order.correction]],
    }
    return pack | {
        "chain": chained([name, *row] for name in ("rule", "upkeep", "fluid", "readings", "papers", "tags", "story") for row in pack[name])
    }


def rule_rows(order, life_h, day, upkeep) -> list:
    unit = order.unit
    hours = component_h(unit, order.machine, life_h)
    in_time = unit.warranty_to is None or day <= unit.warranty_to
    in_hours = unit.warranty_to_h is None or hours <= unit.warranty_to_h
    missed = sorted({row.task for row in upkeep if not row.is_kept})
    has_terms = unit.warranty_to is not None or unit.warranty_to_h is not None
    terms = f"until {unit.warranty_to or 'no set day'} and {hours_words(unit.warranty_to_h)} own hours, services and fluid kept"
    return [
        ["Drive", f"{unit.tag}, serial {unit.serial}, {unit.drive_model}, {unit.get_birth_display().lower()} {unit.born_on or ''}".strip()],
        ["Payer", unit.warranty_payer or "not on record"],
        ["Terms", terms if has_terms else "no terms on record"],
        ["At the claim", f"{day}, {hours_words(hours)} own hours, {hours_words(life_h)} of the machine"],
        ["Date", yes_no(in_time, has_terms)],
        ["Hours", yes_no(in_hours, has_terms)],
        ["Services", "kept" if not missed else f"MISSED: {', '.join(missed)}"],
    ]  # fmt: skip


def yes_no(holds: bool, has_terms: bool) -> str:
    return ("holds" if holds else "DOES NOT HOLD") if has_terms else "cannot be said without terms"


def fluid_rows(order) -> list:
    return [
        [
            moment(fill.filled_at),
            fill.get_kind_display(),
            str(fill.product or "not known"),
            f"{fill.fill_l} L in",
            f"{fill.drained_l} L out",
            fill.batch or "–",
        ]
        for fill in fills_of(order.machine, order.taken_in_at)
    ]


def reading_rows(unit) -> list:
    rows = Reading.objects.standing().of(unit).with_verdicts().order_by("drive_test__tested_at", "pk")
    return [
        [
            f"{row.drive_test.number}", moment(row.drive_test.tested_at), hours_words(row.drive_test.component_h), label_of(row),
            f"{row.typed} {row.typed_unit}", f"{row.at_oil_temp_c:g} °C" if row.at_oil_temp_c is not None else "–",
            row.instrument.tag if row.instrument else "–",
            verdict_of(row).state if verdict_of(row) else "not judged",
        ]
        for row in rows
    ]  # fmt: skip


def papers_of(order):
    return (
        Paper.objects.filter(order=order).exclude(caption=CAPTION)
        | Paper.objects.filter(order_line__order=order)
        | Paper.objects.filter(visit__order=order)
    )


def paper_rows(order) -> list:
    return [
        [paper.name, paper.get_kind_display(), paper.caption or "–", moment(paper.recorded_at), paper.sha256]
        for paper in papers_of(order).order_by("pk").distinct()
    ]


def kept_chain(order) -> Paper | None:
    return Paper.objects.filter(order=order, caption=CAPTION).order_by("-pk").first()


def keep_chain(*, by, order, token: str = "") -> Paper:
    """Keep the evidence as it stands as a paper of the order, so that a later change shows."""
    with act("keep the evidence of a claim", by=by, token=token) as frame:
        words = as_text(pack_of(order)["chain"]).encode()
        upload = SimpleUploadedFile(f"{order.number}-evidence-{timezone.localdate()}.txt", words, "text/plain")
        frame.made = keep_paper(by=by, upload=upload, kind=Paper.Kind.OTHER, caption=CAPTION, order=order)
    return frame.made


def break_in_chain(order, pack) -> str | None:
    """What differs from the evidence as kept; empty where nothing does, None where none was kept yet."""
    kept = kept_chain(order)
    return None if kept is None else first_difference(take_out(kept).decode(), pack["chain"])
