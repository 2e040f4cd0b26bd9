"""Pages of drive models: figures with their sources, rules, ports, and the chart with its sliders."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet.models import AcceptanceRule, Document, DriveModel, Port
from shop.drive_models import actions
from shop.drive_models.chart import chart_of
from shop.drive_models.chart_form import ChartForm
from shop.drive_models.chart_paper import chart_pdf
from shop.drive_models.forms import DocumentForm, DriveModelForm, PortForm, RuleForm
from shop.drive_models.rows import model_page, models_listed
from shop.drive_models.tables import DriveModelTable
from shop.editing import record_page
from shop.lists import in_pages
from shop.measures import units_of
from shop.printing.paper import paper_of
from shop.roles import may

FORM = "shop/drive_models/model_form.html"


def address(model: DriveModel) -> str:
    return reverse("drive_model", args=[model.pk])


def home(part) -> str:
    return reverse("drive_model", args=[part.drive_model_id])


@may("read the book")
@require_safe
def drive_models(request):
    table = in_pages(DriveModelTable(models_listed()), request)
    return render(request, "shop/drive_models/drive_models.html", {"table": table, "papers": Document.objects.all()})


@may("read the book")
@require_safe
def drive_model(request, pk):
    model = get_object_or_404(DriveModel, pk=pk)
    units = units_of(request.user)
    return render(request, "shop/drive_models/drive_model.html", model_page(model, units) | charted(model, request))


@may("read the book")
@require_safe
def drive_chart(request, pk):
    """Show the chart on a page of its own, or only the part of it that a moved slider changes."""
    model = get_object_or_404(DriveModel, pk=pk)
    page = "_chart.html" if request.GET.get("part") == "1" else "drive_chart.html"
    return render(request, f"shop/drive_models/{page}", {"model": model} | charted(model, request))


@may("read the book")
@require_safe
def drive_chart_paper(request, pk):
    model = get_object_or_404(DriveModel, pk=pk)
    found = charted(model, request)
    if not found["chart"]:
        return redirect("drive_chart", pk=pk)
    paper = paper_of(request.user, request.GET.get("paper", ""))
    pdf = chart_pdf(model, found["sliders"].in_machine, found["sliders"].with_oil, found["chart"], paper)
    return HttpResponse(
        pdf, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="drive-chart-{model.pk}.pdf"'}
    )


def charted(model: DriveModel, request) -> dict:
    """Return the sliders and the chart as they ask for it; no chart without a machine and an oil whose figures are known."""
    sliders = ChartForm(request.GET, model=model)
    if not (sliders.in_machine and sliders.with_oil):
        return {"sliders": sliders, "chart": None}
    asked = request.GET.copy()
    asked.pop("part", None)
    chart = chart_of(model, sliders.in_machine, sliders.with_oil, sliders.sliders, units_of(request.user))
    return {"sliders": sliders, "chart": chart, "asked": asked.urlencode()}


@may("keep drive models")
@require_http_methods(["GET", "HEAD", "POST"])
def add_drive_model(request):
    return record_page(
        request,
        DriveModelForm,
        words="Drive model added",
        title="Add a drive model",
        address=address,
        keep=actions.keep_model,
        template=FORM,
        back=reverse("drive_models"),
    )


@may("keep drive models")
@require_http_methods(["GET", "HEAD", "POST"])
def edit_drive_model(request, pk):
    found = get_object_or_404(DriveModel, pk=pk)
    return record_page(
        request,
        DriveModelForm,
        record=found,
        words="Drive model changed",
        title=f"Change {found}",
        address=address,
        keep=actions.keep_model,
        template=FORM,
        back=address(found),
    )


@may("keep drive models")
@require_http_methods(["GET", "HEAD", "POST"])
def add_document(request):
    return record_page(
        request,
        DocumentForm,
        words="Paper added",
        title="Add a paper that figures stand in",
        address=lambda made: reverse("drive_models"),
        back=reverse("drive_models"),
    )


@may("keep drive models")
@require_http_methods(["GET", "HEAD", "POST"])
def add_port(request, pk):
    found = get_object_or_404(DriveModel, pk=pk)
    return record_page(
        request,
        PortForm,
        record=Port(drive_model=found),
        words="Port added",
        title=f"Add a port of {found}",
        address=home,
        back=address(found),
    )


@may("keep drive models")
@require_http_methods(["GET", "HEAD", "POST"])
def edit_port(request, pk):
    found = get_object_or_404(Port.objects.select_related("drive_model"), pk=pk)
    return record_page(request, PortForm, record=found, words="Port changed", title=f"Change port {found}", address=home, back=home(found))


@may("keep drive models")
@require_http_methods(["GET", "HEAD", "POST"])
def add_rule(request, pk):
    found = get_object_or_404(DriveModel, pk=pk)
    return record_page(
        request,
        RuleForm,
        record=AcceptanceRule(drive_model=found),
        words="Rule added",
        title=f"Add an acceptance rule of {found}",
        under="Figures in the house unit of what is read: bar, L/min, km/h, rpm.",
        address=home,
        back=address(found),
    )


@may("keep drive models")
@require_POST
def retire_rule(request, pk):
    rule = get_object_or_404(AcceptanceRule.objects.select_related("drive_model"), pk=pk)
    actions.retire_rule(rule=rule, by=request.user)
    messages.success(request, "The rule is out of force. Judge the readings again to see what changes.")
    return redirect(home(rule))


@may("keep drive models")
@require_POST
def judge_again(request, pk):
    """Judge every standing reading of a model by the rules and figures now in force."""
    found = get_object_or_404(DriveModel, pk=pk)
    changed = actions.judge_again(model=found, by=request.user)
    messages.success(request, f"Judged again: {changed} verdicts changed. Earlier verdicts are kept.")
    return redirect(address(found))
