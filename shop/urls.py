"""Every address of the site; the only place that imports views. One block for each room."""

from django.urls import path

from shop.people import views as people
from shop.today import views as today

urlpatterns = [
    # today
    path("", today.today, name="today"),
    path("find/", today.find, name="find"),
    path("health/", today.health, name="health"),
    # people
    path("sign-in/", people.sign_in, name="sign_in"),
    path("sign-out/", people.sign_out, name="sign_out"),
    path("account/", people.account, name="account"),
    path("account/password/", people.change_password, name="change_password"),
]
