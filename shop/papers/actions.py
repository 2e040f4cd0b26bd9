"""Photos and papers are kept, and never changed."""

from shop.acts import act
from shop.models import Paper
from shop.papers.checks import checked
from shop.papers.quota import refuse_over_quota
from shop.papers.shelf import put_away, throw_away

PLACES = ("customer", "machine", "unit", "drive_test", "reading", "sample", "instrument", "visit", "order", "order_line")


def keep_paper(*, by, upload, kind: str = "photo", caption: str = "", token: str = "", **places) -> Paper:
    """Keep an uploaded file beside a visit, an order, a reading or whatever else `places` names: customer, machine, unit, drive_test, reading,
    sample, instrument, visit, order, order_line."""
    unknown = set(places) - set(PLACES)
    if unknown:
        raise ValueError(f"places must be among {', '.join(PLACES)}, got {', '.join(sorted(unknown))}")
    file = checked(upload)
    refuse_over_quota(by, len(file.body))
    stored_name, sha256 = put_away(file.body, file.ending)
    try:
        with act("keep a paper", by=by, token=token) as frame:
            frame.made = Paper.objects.create(
                kind=kind,
                name=file.name,
                stored_name=stored_name,
                media_type=file.media_type,
                size_bytes=len(file.body),
                sha256=sha256,
                taken_at=file.taken_at,
                caption=caption[:200],
                recorded_by=by,
                **{name: record for name, record in places.items() if record is not None},
            )
    except BaseException:
        throw_away(stored_name)
        raise
    return frame.made


def keep_papers(*, by, uploads, token: str = "", **given) -> list[Paper]:
    """Keep several files at once: all of them, or none."""
    kept = []
    try:
        with act("keep papers", by=by, token=token) as frame:
            for upload in uploads:
                kept.append(keep_paper(by=by, upload=upload, **given))  # one by one, so that a refused one finds the others to throw away
            frame.made = kept[0] if kept else None
    except BaseException:
        for paper in kept:
            throw_away(paper.stored_name)
        raise
    return kept
