"""Pages of customers."""

from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet.models import Contact, Customer, Site
from fleet.models.base import ChangedMeanwhile
from shop.changes.rows import meanwhile_words
from shop.customers import actions
from shop.customers.forms import ContactForm, CustomerFilter, CustomerForm, SiteForm
from shop.customers.rows import customer_page, customers_listed
from shop.customers.tables import CustomerTable
from shop.editing import record_page
from shop.lists import in_pages
from shop.roles import may


def address(customer: Customer) -> str:
    return reverse("customer", args=[customer.pk])


def home(part) -> str:
    """Return the page of the customer that a site or contact belongs to."""
    return reverse("customer", args=[part.customer_id])


@may("read the book")
@require_safe
def customers(request):
    filters = CustomerFilter(request.GET)
    table = in_pages(CustomerTable(customers_listed(filters.wanted())), request)
    return render(request, "shop/customers/customers.html", {"table": table, "filters": filters})


@may("read the book")
@require_safe
def customer(request, pk):
    return render(request, "shop/customers/customer.html", customer_page(get_object_or_404(Customer, pk=pk)))


@may("keep customers")
@require_http_methods(["GET", "HEAD", "POST"])
def add_customer(request):
    return record_page(
        request,
        CustomerForm,
        words="Customer added",
        title="Add a customer",
        address=address,
        keep=actions.add_customer,
        back=reverse("customers"),
    )


@may("keep customers")
@require_http_methods(["GET", "HEAD", "POST"])
def edit_customer(request, pk):
    found = get_object_or_404(Customer, pk=pk)
    return record_page(
        request, CustomerForm, record=found, words="Customer changed", title=f"Change {found}", address=address, back=address(found)
    )


@may("keep customers")
@require_POST
def retire_customer(request, pk):
    found = get_object_or_404(Customer, pk=pk)
    version = request.POST.get("version", "")
    try:
        actions.retire_customer(
            customer=found,
            is_retired=not found.is_retired,
            version=int(version) if version.isdecimal() and len(version) < 9 else 0,
            by=request.user,
        )
    except ChangedMeanwhile as meanwhile:
        words = meanwhile_words(meanwhile.record)
        return render(
            request, "shop/customers/customer.html", customer_page(Customer.objects.get(pk=pk)) | {"meanwhile": words}, status=409
        )
    return redirect(address(found))


@may("keep customers")
@require_http_methods(["GET", "HEAD", "POST"])
def add_site(request, pk):
    found = get_object_or_404(Customer, pk=pk)
    return record_page(
        request,
        SiteForm,
        record=Site(customer=found),
        words="Site added",
        title=f"Add a site of {found}",
        address=home,
        back=address(found),
    )


@may("keep customers")
@require_http_methods(["GET", "HEAD", "POST"])
def edit_site(request, pk):
    found = get_object_or_404(Site.objects.select_related("customer"), pk=pk)
    return record_page(request, SiteForm, record=found, words="Site changed", title=f"Change {found}", address=home, back=home(found))


@may("keep customers")
@require_http_methods(["GET", "HEAD", "POST"])
def add_contact(request, pk):
    found = get_object_or_404(Customer, pk=pk)
    return record_page(
        request,
        ContactForm,
        record=Contact(customer=found),
        words="Contact added",
        title=f"Add a contact of {found}",
        address=home,
        back=address(found),
    )


@may("keep customers")
@require_http_methods(["GET", "HEAD", "POST"])
def edit_contact(request, pk):
    found = get_object_or_404(Contact.objects.select_related("customer"), pk=pk)
    return record_page(request, ContactForm, record=found, words="Contact changed", title=f"Change {found}", address=home, back=home(found))
