"""Acts on drive models: figures with their sources in one step; rules added and retired, never edited."""

from fleet.assess import assess_all
from fleet.models import AcceptanceRule, DriveModel, FigureSource, Reading
from shop.acts import act
from shop.advice.review import review_drives


def keep_model(*, record: DriveModel, form, words: str, by, token: str = "") -> DriveModel:
    """Save a drive model together with where each of its figures stands."""
    with act(words, by=by, token=token) as frame:
        if record.pk:
            record.save_over(form.cleaned_data["version"])
        else:
            record.save()
        _keep_sources(record, form.sources())
        frame.made = record
    return record


def _keep_sources(model: DriveModel, sources: dict) -> None:
    for kept in model.sources.all():
        document, page = sources.pop(kept.figure, (None, ""))
        if document is None:
            kept.delete()
        elif (kept.document_id, kept.page) != (document.pk, page):
            kept.document, kept.page = document, page
            kept.save()
    for figure, (document, page) in sources.items():
        FigureSource.objects.create(drive_model=model, figure=figure, document=document, page=page)


def retire_rule(*, rule: AcceptanceRule, by) -> AcceptanceRule:
    """Take a rule out of force; what it decided stays as it was decided."""
    with act("Acceptance rule retired", by=by) as frame:
        rule.is_retired = True
        rule.save()
        frame.made = rule
    return rule


def judge_again(*, model: DriveModel, by) -> int:
    """Judge every standing reading of a model again; return how many verdicts are new."""
    with act("Readings judged again", by=by, reason=f"figures or rules of {model} changed"):
        new = assess_all(Reading.objects.standing().filter(drive_test__unit__drive_model=model))
        review_drives(model.units.order_by("pk"))
    return new
