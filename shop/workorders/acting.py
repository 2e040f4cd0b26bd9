"""Short acts from the order's page: done, said, and back to the order; a refusal says why and changes nothing."""

from django.contrib import messages
from django.db import IntegrityError
from django.shortcuts import redirect, render
from django.urls import reverse

from fleet.models.base import ChangedMeanwhile
from shop.acts import AlreadyDone
from shop.changes.rows import meanwhile_words
from shop.editing import add_sentences
from shop.refusals import Refused


def act_on(request, order, do, said: str = ""):
    """Do one act and go back to the order."""
    try:
        do()
        if said:
            messages.success(request, said)
    except AlreadyDone:
        pass
    except Refused as refusal:
        for sentence in refusal.sentences:
            messages.error(request, sentence)
    except (ChangedMeanwhile, IntegrityError) as meanwhile:
        words = meanwhile_words(getattr(meanwhile, "record", order))
        return render(request, "shop/workorders/meanwhile.html", {"order": order, "words": words}, status=409)
    return redirect("order", pk=order.pk)


def form_page(request, form, do, *, order=None, title: str, said: str, template: str = "shop/_record_page.html", **context):
    """Show a form; when it is sent and right, do the act and go to the order. What was typed stays in the form until it is kept."""
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                made = do(form)
                messages.success(request, said)
                return redirect("order", pk=order.pk if order else made.pk)
            except AlreadyDone as before:
                return redirect("order", pk=order.pk if order else before.record.pk)
            except Refused as refusal:
                add_sentences(form, refusal)
            except (ChangedMeanwhile, IntegrityError) as meanwhile:
                status = 409
                form.add_error(None, meanwhile_words(getattr(meanwhile, "record", order)))
    back = reverse("order", args=[order.pk]) if order else None
    return render(request, template, {"form": form, "title": title, "order": order, "back": back, **context}, status=status)
