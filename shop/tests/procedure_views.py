"""Pages of procedures: the list, one in any of its versions, and writing the next version."""

from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from shop.editing import act_page
from shop.lists import in_pages
from shop.roles import may
from shop.tests import actions
from shop.tests.forms import ProcedureForm
from shop.tests.procedures import in_force
from shop.tests.rows import procedure_page
from shop.tests.tables import ProcedureTable


@may("read the book")
@require_safe
def procedures(request):
    table = in_pages(ProcedureTable(in_force()), request)
    return render(request, "shop/tests/procedures.html", {"table": table})


@may("read the book")
@require_safe
def procedure(request, code):
    return render(request, "shop/tests/procedure.html", procedure_page(code, None))


@may("read the book")
@require_safe
def procedure_version(request, code, version):
    return render(request, "shop/tests/procedure.html", procedure_page(code, version))


@may("keep rules")
@require_http_methods(["GET", "HEAD", "POST"])
def new_procedure_version(request, code):
    latest = get_object_or_404(in_force(), code=code)

    def add(given, **frame):
        return actions.add_version(code=code, **given, **frame)

    return act_page(
        request,
        ProcedureForm,
        add,
        {"procedure": latest},
        title=f"{latest.code} {latest.title}: version {latest.version + 1}",
        under="Tests done so far keep the version they were done by; the next test takes this one.",
        address=lambda made: reverse("procedure", args=[made.code]),
        said="The new version is in force.",
        button="Put in force",
        back=reverse("procedure", args=[latest.code]),
    )
