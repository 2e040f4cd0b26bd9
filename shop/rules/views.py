"""Pages of interval rules: list, one rule, and its form, which shows what the rule brings before it is kept."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet.models.base import ChangedMeanwhile
from shop.acts import AlreadyDone
from shop.changes.rows import meanwhile_words
from shop.editing import record_page
from shop.lists import PER_PAGE
from shop.models import IntervalRule, ServiceTask
from shop.refusals import Refused
from shop.roles import may
from shop.rules import actions
from shop.rules.forms import RuleForm
from shop.rules.preview import brought_by
from shop.rules.rows import every_words, reached_by, rules_listed, unit_tags

FORM = "shop/rules/rule_form.html"


def address(rule: IntervalRule) -> str:
    return reverse("rule", args=[rule.pk])


@may("read the book")
@require_safe
def rules(request):
    """Rules in force, by task; or those retired."""
    which = "retired" if request.GET.get("show") == "retired" else "in force"
    task = request.GET.get("task", "")
    page = Paginator(rules_listed(which, task), PER_PAGE).get_page(request.GET.get("page"))
    for rule in page:
        rule.words = every_words(rule)
    tasks = ServiceTask.objects.filter(is_retired=False)
    return render(request, "shop/rules/rules.html", {"page": page, "which": which, "tasks": tasks, "task": task})


@may("read the book")
@require_safe
def rule(request, pk):
    """One rule, and what it brings on machines it reaches."""
    found = get_object_or_404(rules_listed("in force") | rules_listed("retired"), pk=pk)
    found.words = every_words(found)
    return render(request, "shop/rules/rule.html", {"rule": found, "machines": reached_by(found)})


@may("keep rules")
@require_http_methods(["GET", "POST"])
def add_interval_rule(request):
    return _rule_page(request, IntervalRule(), "Add a rule", "Rule added", reverse("rules"))


@may("keep rules")
@require_http_methods(["GET", "POST"])
def edit_interval_rule(request, pk):
    found = get_object_or_404(IntervalRule.objects.select_related("task"), pk=pk, is_retired=False)
    return _rule_page(request, found, f"Change the rule: {found}", "Rule changed", address(found))


def _rule_page(request, record, title: str, words: str, back: str):
    """Show the form; "show what it brings" only shows, "keep" keeps."""
    context = {"title": title, "template": FORM, "back": back, "record": record}
    if request.method == "POST" and "show" in request.POST:
        form = RuleForm(request.POST, by=request.user, instance=record)
        brought = _brought(form) if form.is_valid() else None
        status = 200 if brought is not None else 422
        return render(request, FORM, context | {"form": form, "brought": brought}, status=status)
    return record_page(request, RuleForm, words=words, address=address, **context)


def _brought(form: RuleForm):
    machines = reached_by(form.instance)
    return brought_by(form.instance, machines, unit_tags(machines), timezone.localdate())


@may("keep rules")
@require_POST
def retire_interval_rule(request, pk):
    found = get_object_or_404(IntervalRule, pk=pk)
    version = request.POST.get("version", "")
    try:
        actions.retire_rule(by=request.user, rule=found, version=int(version) if version.isdecimal() else -1)
        messages.success(request, f"Retired: {found}. A wider rule holds now, if there is one.")
    except AlreadyDone:
        pass
    except Refused as refusal:
        messages.error(request, str(refusal))
    except ChangedMeanwhile as meanwhile:
        messages.error(request, meanwhile_words(meanwhile.record))
    return redirect(address(found))
