"""Every address of the site; the only place that imports views. One block for each room."""

from django.urls import path

from shop.changes import views as changes
from shop.customers import views as customers
from shop.drive_models import views as drive_models
from shop.drives import views as drives
from shop.machines import views as machines
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
    # machines
    path("machines/", machines.machines, name="machines"),
    path("machines/add/", machines.add_machine, name="add_machine"),
    path("machines/<int:pk>/", machines.machine, name="machine"),
    path("machines/<int:pk>/edit/", machines.edit_machine, name="edit_machine"),
    path("machines/<int:pk>/sell/", machines.sell_machine, name="sell_machine"),
    path("machines/<int:pk>/meter/", machines.replace_meter, name="replace_meter"),
    path("machines/<int:pk>/fit/", machines.fit_drive, name="fit_drive"),
    path("drives/<int:pk>/take-out/", machines.remove_drive, name="remove_drive"),
    path("drives/<int:pk>/move/", machines.move_drive, name="move_drive"),
    # drives
    path("drives/", drives.drives, name="drives"),
    path("drives/add/", drives.add_drive, name="add_drive"),
    path("drives/<int:pk>/", drives.drive, name="drive"),
    path("drives/<int:pk>/edit/", drives.edit_drive, name="edit_drive"),
    path("drives/<int:pk>/event/", drives.record_event, name="record_event"),
    path("readings/<int:pk>/working/", drives.working, name="working"),
    # drive models
    path("drive-models/", drive_models.drive_models, name="drive_models"),
    path("drive-models/add/", drive_models.add_drive_model, name="add_drive_model"),
    path("drive-models/paper/add/", drive_models.add_document, name="add_document"),
    path("drive-models/<int:pk>/", drive_models.drive_model, name="drive_model"),
    path("drive-models/<int:pk>/edit/", drive_models.edit_drive_model, name="edit_drive_model"),
    path("drive-models/<int:pk>/chart/", drive_models.drive_chart, name="drive_chart"),
    path("drive-models/<int:pk>/chart.pdf", drive_models.drive_chart_paper, name="drive_chart_paper"),
    path("drive-models/<int:pk>/port/add/", drive_models.add_port, name="add_port"),
    path("drive-models/<int:pk>/rule/add/", drive_models.add_rule, name="add_rule"),
    path("drive-models/<int:pk>/judge/", drive_models.judge_again, name="judge_again"),
    path("drive-models/port/<int:pk>/edit/", drive_models.edit_port, name="edit_port"),
    path("drive-models/rule/<int:pk>/retire/", drive_models.retire_rule, name="retire_rule"),
    # customers
    path("customers/", customers.customers, name="customers"),
    path("customers/add/", customers.add_customer, name="add_customer"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/<int:pk>/edit/", customers.edit_customer, name="edit_customer"),
    path("customers/<int:pk>/retire/", customers.retire_customer, name="retire_customer"),
    path("customers/<int:pk>/site/add/", customers.add_site, name="add_site"),
    path("customers/<int:pk>/contact/add/", customers.add_contact, name="add_contact"),
    path("customers/site/<int:pk>/edit/", customers.edit_site, name="edit_site"),
    path("customers/contact/<int:pk>/edit/", customers.edit_contact, name="edit_contact"),
]
