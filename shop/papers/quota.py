"""How much one person may put on the shelf within a day, papers and files to import together, so that nobody fills the disk by a slip."""

from datetime import timedelta

from django.conf import settings
from django.db.models import Sum
from django.utils import timezone

from shop.models import ImportFile, Paper
from shop.refusals import Refused

MB = 1024 * 1024


def refuse_over_quota(by, size_bytes: int) -> None:
    """Refuse a file with which somebody would have put away more than a day's share."""
    if by is None:
        return
    since, most = timezone.now() - timedelta(days=1), settings.UPLOAD_MB_A_DAY * MB
    kept = Paper.objects.filter(recorded_by=by, recorded_at__gte=since), ImportFile.objects.filter(brought_by=by, brought_at__gte=since)
    stored = sum(rows.aggregate(total=Sum("size_bytes"))["total"] or 0 for rows in kept)
    if stored + size_bytes > most:
        raise Refused(
            f"You put away {stored / MB:.0f} MB in the last 24 hours; with this file it would be more than the {settings.UPLOAD_MB_A_DAY} MB "
            "that one person may. Nothing was kept: go on tomorrow, or ask whoever looks after the server (SHOP_UPLOAD_MB_A_DAY)."
        )
