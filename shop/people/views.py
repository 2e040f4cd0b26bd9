"""The door: signing in and out, the own account, and the answer to too many wrong passwords."""

from axes.models import AccessAttempt
from django.contrib import messages
from django.contrib.auth import get_user_model, update_session_auth_hash
from django.contrib.auth import views as auth_views
from django.contrib.auth.forms import PasswordChangeForm
from django.db import IntegrityError
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.acts import AlreadyDone, act, done_before
from shop.demo.people import PASSWORD as DEMO_PASSWORD
from shop.demo.people import people_at_the_door
from shop.models import Person
from shop.people import actions
from shop.people.forms import AccountForm, NewPasswordForm, NewPersonForm, PersonForm, ReasonForm, RolesForm, SignInForm
from shop.roles import may, open_to_all, roles_of


class SignIn(auth_views.LoginView):
    """The sign-in page; in a demo shop it names the invented people and their password, in an empty one how the first account is made."""

    template_name = "shop/people/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def get_context_data(self, **kwargs):
        more = {"demo_people": people_at_the_door(), "demo_password": DEMO_PASSWORD}
        return super().get_context_data(**kwargs) | more | {"nobody_yet": not get_user_model().objects.exists()}


sign_in = open_to_all(SignIn.as_view())
sign_out = open_to_all(auth_views.LogoutView.as_view())


def locked_out(request, credentials=None, *args, **kwargs):
    """Too many wrong passwords for one name."""
    return render(request, "shop/people/locked_out.html", status=429)


@may("keep own account")
@require_http_methods(["GET", "POST"])
def account(request):
    person, _ = Person.objects.get_or_create(user=request.user)
    form = PersonForm(request.POST or None, instance=person)
    if request.method == "POST" and form.is_valid():
        with act("change own preferences", by=request.user):
            form.save()
        messages.success(request, "Your preferences are kept.")
        return redirect("account")
    return render(request, "shop/people/account.html", {"form": form, "password_form": PasswordChangeForm(request.user)})


@may("keep own account")
@require_http_methods(["POST"])
def change_password(request):
    form = PasswordChangeForm(request.user, request.POST)
    if form.is_valid():
        with act("change own password", by=request.user):
            form.save()
        update_session_auth_hash(request, form.user)
        messages.success(request, "Your password is changed. Other places where you were signed in are signed out.")
        return redirect("account")
    person, _ = Person.objects.get_or_create(user=request.user)
    return render(request, "shop/people/account.html", {"form": PersonForm(instance=person), "password_form": form})


@may("keep people")
@require_safe
def people(request):
    """Everybody with an account, their roles, and whose sign-in was refused lately."""
    accounts = get_user_model().objects.prefetch_related("groups").order_by("-is_active", "username")
    refused = AccessAttempt.objects.order_by("-attempt_time")[:20]
    return render(request, "shop/people/people.html", {"accounts": accounts, "refused": refused})


@may("keep people")
@require_http_methods(["GET", "POST"])
def new_person(request):
    if done_before(request.POST.get("token", "")):
        return redirect("people")
    form = NewPersonForm(request.POST or None, by=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            actions.add_person(by=request.user, **form.cleaned_data)
            return redirect("people")
        except AlreadyDone:
            return redirect("people")
        except IntegrityError:
            form.add_error("username", "Somebody took this sign-in name a moment ago. Choose another one.")
    return render(request, "shop/people/new_person.html", {"form": form}, status=422 if form.is_bound else 200)


@may("keep people")
@require_http_methods(["GET", "POST"])
def person(request, pk):
    """One account: its roles, a new password, closing and opening it."""
    user = get_object_or_404(get_user_model(), pk=pk)
    limit = getattr(getattr(user, "person", None), "approval_limit_cents", None)
    start = {"roles": sorted(roles_of(user)), "approval_limit": limit / 100 if limit is not None else None}
    form = RolesForm(request.POST or None, by=request.user, initial=start)
    if request.method == "POST" and form.is_valid():
        amount = form.cleaned_data["approval_limit"]
        cents = int(amount * 100) if amount is not None else None
        return _acted(
            request,
            actions.change_roles,
            user=user,
            roles=form.cleaned_data["roles"],
            approval_limit_cents=cents,
            reason=form.cleaned_data["reason"],
        )
    more = {
        "locked_until": actions.locked_until(user.username),
        "unlock_form": ReasonForm(by=request.user, auto_id="unlock_%s"),
        "password_form": NewPasswordForm(by=request.user, user=user, auto_id="password_%s"),
        "close_form": AccountForm(by=request.user, auto_id="close_%s", initial={"wanted": "closed" if user.is_active else "open"}),
    }
    return render(request, "shop/people/person.html", {"form": form, "account": user, **more}, status=422 if form.is_bound else 200)


@may("keep people")
@require_POST
def set_password(request, pk):
    user = get_object_or_404(get_user_model(), pk=pk)
    form = NewPasswordForm(request.POST, by=request.user, user=user)
    if not form.is_valid():
        messages.error(request, " ".join(form.sentences()))
        return redirect("person", pk=pk)
    return _acted(request, actions.set_password, user=user, password=form.cleaned_data["password"], reason=form.cleaned_data["reason"])


@may("keep people")
@require_POST
def unlock_person(request, pk):
    """Let somebody try again before the quarter of an hour is over."""
    user = get_object_or_404(get_user_model(), pk=pk)
    form = ReasonForm(request.POST, by=request.user)
    if not form.is_valid():
        messages.error(request, " ".join(form.sentences()))
        return redirect("person", pk=pk)
    return _acted(request, actions.lift_lock, user=user, reason=form.cleaned_data["reason"])


@may("keep people")
@require_POST
def open_or_close_account(request, pk):
    user = get_object_or_404(get_user_model(), pk=pk)
    form = AccountForm(request.POST, by=request.user)
    if not form.is_valid():
        messages.error(request, " ".join(form.sentences()))
        return redirect("person", pk=pk)
    is_wanted_open = form.cleaned_data["wanted"] == "open"
    if user.is_active == is_wanted_open:
        messages.success(request, f"The account of {user.username} is {form.cleaned_data['wanted']}.")
        return redirect("person", pk=pk)
    deed = actions.open_account if is_wanted_open else actions.close_account
    return _acted(request, deed, user=user, reason=form.cleaned_data["reason"])


def _acted(request, deed, **given):
    try:
        deed(by=request.user, **given)
        messages.success(request, f"Kept for {given['user'].username}.")
    except actions.LastManager as refusal:
        messages.error(request, str(refusal))
    return redirect("person", pk=given["user"].pk)
