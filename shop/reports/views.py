"""The page of reports and lists, and what the record does not know."""

from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from shop.reports.rows import gap_lists
from shop.roles import has_right, may

# Title, address, right, one sentence.
SHELVES = (
    (
        "Fleet",
        (
            ("Wear over the fleet", "wear", "read the book", "Drives by hours to their limit, as bands."),
            ("Suggestions", "advice", "read the book", "What the review of readings and oil samples calls for."),
            ("Drive models side by side", "wear_side_by_side", "read the book", "The same reading on every unit."),
            ("Done in time", "compliance", "read the book", "Tasks done inside their window, with numerator and denominator."),
            ("Put off", "deferrals", "read the book", "Who put off what, until when, and at which risk."),
            ("Before the season", "before_season", "read the book", "Work against hands, week by week."),
            ("What will be wanted", "demand", "read the book", "Litres, filters and hours to come."),
            ("What is not known", "not_known", "read the book", "Gaps in the record, and what closes them."),
        ),
    ),
    (
        "Reference",
        (
            ("Customers", "customers", "read the book", "Sites, contacts, who may approve."),
            ("Interval rules", "rules", "read the book", "What makes each task due, with document and page."),
            ("Season blocks", "seasons", "read the book", "Weeks in which planned work must not stop machines."),
            ("Drive models", "drive_models", "read the book", "Every figure with its document and page."),
            ("Fluids", "fluids", "read the book", "Products with their viscosities."),
            ("Instruments", "instruments", "read the book", "Register, calibrations, what is due."),
            ("Gauges against the fleet", "gauges_against_fleet", "read the book", "Which gauge reads apart from the others."),
            ("Tests", "tests", "read the book", "Tests in progress and done, procedure by procedure."),
            ("Test procedures", "procedures", "read the book", "What each test asks for, with its cautions."),
            ("Parts", "parts", "read the book", "Stock, kits, lead times."),
        ),
    ),
    (
        "Keeping",
        (
            ("Bring a file", "imports", "import files", "Readings, machine hours and laboratory results from sheets."),
            ("Samples without a machine", "unmatched_samples", "read the book", "Oil results whose label names no machine."),
            ("Take everything out", "take_out", "take everything out", "The whole book as plain files."),
            ("Change record", "changes", "see changes", "Who changed what, when and why."),
            ("People", "people", "keep people", "Accounts and roles."),
        ),
    ),
)


@may("read the book")
@require_safe
def reports(request):
    shelves = [
        (title, [(name, reverse(address), words) for name, address, right, words in rows if has_right(request.user, right)])
        for title, rows in SHELVES
    ]
    return render(request, "shop/reports/reports.html", {"shelves": shelves})


@may("read the book")
@require_safe
def not_known(request):
    return render(request, "shop/reports/not_known.html", {"lists": gap_lists()})
