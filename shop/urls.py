"""Every address of the site; the only place that imports views. One block for each room."""

from django.urls import path

from shop.changes import views as changes
from shop.people import views as people
from shop.today import views as today
from shop.workorders import views as workorders

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
    path("people/", people.people, name="people"),
    path("people/new/", people.new_person, name="new_person"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/<int:pk>/password/", people.set_password, name="set_password"),
    path("people/<int:pk>/account/", people.open_or_close_account, name="open_or_close_account"),
    # changes
    path("changes/", changes.changes, name="changes"),
    path("changes/<str:table>/<int:pk>/", changes.changes_of, name="changes_of"),
    # workorders
    path("orders/", workorders.orders, name="orders"),
    path("orders/<int:pk>/", workorders.order, name="order"),
    path("orders/<int:pk>/order.pdf", workorders.print_order, name="print_order"),
]
