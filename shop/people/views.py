"""The door: signing in and out, the own account, and the answer to too many wrong passwords."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash, views as auth_views
from django.contrib.auth.forms import PasswordChangeForm
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from shop.acts import act
from shop.models import Person
from shop.people.forms import PersonForm, SignInForm
from shop.roles import may, open_to_all

sign_in = open_to_all(auth_views.LoginView.as_view(template_name="shop/people/sign_in.html", authentication_form=SignInForm, redirect_authenticated_user=True))
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
