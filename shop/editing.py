"""Adding and changing one record: the same frame for every room. Two people who change the same record both see what the other wrote."""

from django import forms
from django.contrib import messages
from django.db import IntegrityError
from django.shortcuts import redirect, render

from fleet.models.base import ChangedMeanwhile
from shop.acts import AlreadyDone, act, done_before
from shop.changes.rows import last_change, meanwhile_words
from shop.forms_base import ActForm
from shop.measures import Measure
from shop.refusals import Refused

NOT_FACTS = ("token", "hours_are_right")  # what only the form needs


class RecordForm(ActForm, forms.ModelForm):
    """A form of one record's own fields; measured figures are kept in the house unit."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["version"].initial = getattr(self.instance, "version", None)

    def _post_clean(self):
        for name, value in self.cleaned_data.items():
            if isinstance(value, Measure):
                self.cleaned_data[name] = value.value
        super()._post_clean()


class DayInput(forms.DateInput):
    """A day, picked or typed."""

    input_type = "date"

    def __init__(self, **kwargs):
        super().__init__(format="%Y-%m-%d", **kwargs)


def keep_record(*, record, words: str, by, token: str = "", version: int | None = None):
    """Save a new record, or an old one over the version that was opened."""
    with act(words, by=by, token=token) as frame:
        if record.pk and hasattr(record, "save_over"):
            record.save_over(version)
        else:
            record.save()
        frame.made = record
    return record


def record_page(request, form_class, *, words: str, title: str, address, record=None, keep=keep_record, **context):
    """Show the form of a record, keep what was sent, and go to `address(record)`; nothing typed is lost on the way."""
    if before := done_before(request.POST.get("token", "")):
        return redirect(address(before.record or record))
    more = {"instance": record} if issubclass(form_class, forms.ModelForm) else {}
    form = form_class(request.POST or None, by=request.user, initial=context.pop("initial", None), **more)
    status, both, last = 200, [], None
    if request.method == "POST":
        if form.is_valid():
            try:
                return _kept(request, form, words, address, keep)
            except AlreadyDone as before:
                return redirect(address(before.record or record))
            except IntegrityError:
                form.add_error(
                    None, "Somebody kept the same number or name a moment ago: nothing was written. Look it up, or write another one."
                )
            except Refused as refusal:
                add_sentences(form, refusal)
            except ChangedMeanwhile as meanwhile:
                status, both, last = 409, _side_by_side(form, meanwhile.record), last_change(meanwhile.record)
        status = 422 if status == 200 else status
    return render(
        request,
        context.pop("template", "shop/_record_page.html"),
        {"form": form, "title": title, "both": both, "last": last, **context},
        status=status,
    )


def add_sentences(form, refusal: Refused) -> None:
    """Put every sentence of a refusal at the head of a form."""
    for sentence in refusal.sentences:
        form.add_error(None, sentence)


def _kept(request, form, words, address, keep):
    given = {"version": form.cleaned_data.get("version")} if keep is keep_record else {"form": form}
    made = keep(record=form.instance, words=words, by=request.user, token=form.cleaned_data["token"], **given)
    messages.success(request, f"{words}: {made}.")
    return redirect(address(made))


def _side_by_side(form, record):
    """Return what was typed beside what somebody else saved, and let the next sending go over that."""
    saved = type(record)._base_manager.get(pk=record.pk)
    before = type(form)(instance=saved)
    form.data = form.data.copy()
    form.data[form.add_prefix("version")] = saved.version
    rows = []
    for name, field in before.fields.items():
        if name in ("token", "version"):
            continue
        theirs, mine = before.get_initial_for_field(field, name), form.cleaned_data.get(name)
        theirs_shown, mine_shown = _as_words(form, name, theirs), _as_words(form, name, mine)
        if theirs_shown != mine_shown:
            rows.append({"label": field.label or name, "saved": theirs_shown, "typed": mine_shown})
    return rows


def _as_words(form, name, value) -> str:
    if value is None or value == "":
        return "–"
    field = form.fields[name]
    if isinstance(field, forms.ModelChoiceField):
        return str(value if hasattr(value, "pk") else field.queryset.filter(pk=value).first() or "–")
    if isinstance(field, forms.ChoiceField):
        return str(dict(field.choices).get(value, value))
    return {True: "yes", False: "no"}.get(value, str(value)) if isinstance(value, bool) else str(value)


def act_page(request, form_class, do, given, *, title: str, address, said: str, **context):
    """Show the form of an act, do it, and go to `address(made)`. `do` takes the cleaned fields, `by` and `token`."""
    if before := done_before(request.POST.get("token", "")):
        return redirect(address(before.record))
    initial = context.pop("initial", None)
    form = form_class(request.POST or None, by=request.user, initial=initial, **given)
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            fields = {name: value for name, value in form.cleaned_data.items() if name not in NOT_FACTS}
            try:
                made = do(fields, by=request.user, token=form.cleaned_data["token"])
                messages.success(request, said)
                return redirect(address(made))
            except AlreadyDone as before:
                return redirect(address(before.record))
            except Refused as refusal:
                add_sentences(form, refusal)
            except ChangedMeanwhile as meanwhile:
                status = 409
                form.add_error(None, meanwhile_words(meanwhile.record))
            except IntegrityError:
                status = 409
                form.add_error(
                    None,
                    "Somebody else wrote about the same thing a moment ago, so nothing was written. Open this page anew and look first.",
                )
    return render(request, context.pop("template", "shop/_record_page.html"), {"form": form, "title": title, **context}, status=status)
