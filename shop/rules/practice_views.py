"""Pages of tasks, severity factors, season blocks and figures of practice."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from calcs.calendar_sums import day_words
from fleet.models.base import ChangedMeanwhile
from shop.acts import AlreadyDone
from shop.changes.rows import meanwhile_words
from shop.due.fleet_due import fleet_due
from shop.due.rows import due_rows, moved_by_season
from shop.due.shop_figures import FIGURES, shop_figures
from shop.editing import act_page, record_page
from shop.models import SeasonBlock, ServiceTask, SeverityFactor
from shop.roles import may
from shop.rules import actions
from shop.rules.forms import FiguresForm, SeasonForm, SeverityForm, TaskForm

FIRST_MOVED, MOST_MOVED = 10, 200  # shown at first, and when somebody asks for all


def practice_address(*_made) -> str:
    return reverse("practice")


@may("read the book")
@require_safe
def practice(request):
    """Tasks, severity factors and figures that the shop has set."""
    now = shop_figures()
    figures = [(figure, now[code]) for code, figure in FIGURES.items()]
    tasks = ServiceTask.objects.select_related("skill").order_by("is_retired", "name")
    return render(request, "shop/rules/practice.html", {"tasks": tasks, "severity": SeverityFactor.objects.all(), "figures": figures})


@may("keep rules")
@require_http_methods(["GET", "POST"])
def add_task(request):
    return record_page(
        request, TaskForm, words="Task added", title="Add a task", address=practice_address, record=ServiceTask(), back=practice_address()
    )


@may("keep rules")
@require_http_methods(["GET", "POST"])
def edit_task(request, pk):
    found = get_object_or_404(ServiceTask, pk=pk)
    return record_page(
        request, TaskForm, words="Task changed", title=f"Change {found}", address=practice_address, record=found, back=practice_address()
    )


@may("keep rules")
@require_http_methods(["GET", "POST"])
def add_severity(request):
    return record_page(
        request, SeverityForm, words="Severity factor added", title="Add a severity factor", address=practice_address, record=SeverityFactor(),
        back=practice_address(),
    )  # fmt: skip


@may("keep rules")
@require_http_methods(["GET", "POST"])
def edit_severity(request, pk):
    found = get_object_or_404(SeverityFactor, pk=pk)
    return record_page(
        request, SeverityForm, words="Severity factor changed", title=f"Change {found.name}", address=practice_address, record=found,
        back=practice_address(),
    )  # fmt: skip


@may("keep rules")
@require_http_methods(["GET", "POST"])
def set_figures(request):
    def do(fields, by, token):
        return actions.set_figures(by=by, values=fields, token=token)

    return act_page(
        request,
        FiguresForm,
        do,
        {},
        title="Figures of practice",
        address=practice_address,
        said="Kept.",
        button="Keep",
        back=practice_address(),
    )


@may("read the book")
@require_safe
def seasons(request):
    """Season blocks, and the tasks that are moved by one, with the reason in words."""
    fleet = fleet_due()
    moved = moved_by_season(fleet)
    blocks = SeasonBlock.objects.select_related("customer").order_by("is_retired", "from_date")
    for block in blocks:
        block.days = (
            f"{day_words(block.from_date)} to {day_words(block.to_date)}"
            if block.repeats_yearly
            else f"{block.from_date} to {block.to_date}"
        )
    shown = MOST_MOVED if request.GET.get("all") else FIRST_MOVED
    context = {"blocks": blocks, "rows": due_rows(fleet, moved[:shown]), "moved": len(moved), "most": MOST_MOVED}
    return render(request, "shop/rules/seasons.html", context)


def season_address(*_made) -> str:
    return reverse("seasons")


@may("plan weeks")
@require_http_methods(["GET", "POST"])
def add_season(request):
    return record_page(
        request, SeasonForm, words="Season block added", title="Add a season block", address=season_address, record=SeasonBlock(),
        back=season_address(),
    )  # fmt: skip


@may("plan weeks")
@require_http_methods(["GET", "POST"])
def edit_season(request, pk):
    found = get_object_or_404(SeasonBlock, pk=pk)
    return record_page(
        request,
        SeasonForm,
        words="Season block changed",
        title=f"Change {found}",
        address=season_address,
        record=found,
        back=season_address(),
    )


@may("plan weeks")
@require_POST
def retire_season(request, pk):
    found = get_object_or_404(SeasonBlock, pk=pk)
    version = request.POST.get("version", "")
    try:
        actions.retire_season(by=request.user, block=found, version=int(version) if version.isdecimal() else -1)
    except AlreadyDone:
        pass
    except ChangedMeanwhile as meanwhile:
        messages.error(request, meanwhile_words(meanwhile.record))
    return redirect("seasons")
