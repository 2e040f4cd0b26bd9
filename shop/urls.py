"""Every address of the site; the only place that imports views. One block for each room."""

from django.urls import path

from shop.advice import views as advice
from shop.changes import views as changes
from shop.customers import views as customers
from shop.diagnosis import views as diagnosis
from shop.drive_models import views as drive_models
from shop.drives import views as drives
from shop.due import views as due
from shop.exchange import views as exchange
from shop.fluids import views as fluids
from shop.instruments import views as instruments
from shop.machines import views as machines
from shop.papers import views as papers
from shop.parts import views as parts
from shop.people import views as people
from shop.plan import hands_views as hands
from shop.plan import paper_views as plan_papers
from shop.plan import views as plan
from shop.reports import sheet_views as sheets
from shop.reports import views as reports
from shop.rules import duty_views as duty
from shop.rules import practice_views as practice
from shop.rules import views as rules
from shop.tests import paper_views as test_papers
from shop.tests import procedure_views as procedures
from shop.tests import views as tests
from shop.today import views as today
from shop.trends import views as trends
from shop.visits import views as visits
from shop.workorders import bench_views as bench
from shop.workorders import desk_views as desk
from shop.workorders import paper_views as order_papers
from shop.workorders import views as workorders

handler500 = today.broken

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
    path("people/<int:pk>/unlock/", people.unlock_person, name="unlock_person"),
    path("people/<int:pk>/account/", people.open_or_close_account, name="open_or_close_account"),
    # changes
    path("changes/", changes.changes, name="changes"),
    path("changes/<str:table>/<int:pk>/", changes.changes_of, name="changes_of"),
    # due
    path("due/", due.due, name="due"),
    path("due/<int:machine>/<int:task>/<int:unit>/", due.due_task, name="due_task"),
    path("due/<int:machine>/<int:task>/<int:unit>/put-off/", due.put_off, name="put_off"),
    path("due/<int:machine>/<int:task>/<int:unit>/longer/", due.extend, name="extend"),
    path("due/put-off/", due.deferrals, name="deferrals"),
    path("due/put-off/<int:pk>/", due.deferral, name="deferral"),
    path("due/put-off/<int:pk>/end/", due.end_deferral, name="end_deferral"),
    path("due/in-time/", due.compliance, name="compliance"),
    # rules
    path("rules/", rules.rules, name="rules"),
    path("rules/add/", rules.add_interval_rule, name="add_interval_rule"),
    path("rules/<int:pk>/", rules.rule, name="rule"),
    path("rules/<int:pk>/edit/", rules.edit_interval_rule, name="edit_interval_rule"),
    path("rules/<int:pk>/retire/", rules.retire_interval_rule, name="retire_interval_rule"),
    path("rules/practice/", practice.practice, name="practice"),
    path("rules/practice/figures/", practice.set_figures, name="set_figures"),
    path("rules/tasks/add/", practice.add_task, name="add_task"),
    path("rules/tasks/<int:pk>/edit/", practice.edit_task, name="edit_task"),
    path("machines/<int:pk>/duty/", duty.duty, name="duty"),
    path("rules/severity/add/", practice.add_severity, name="add_severity"),
    path("rules/severity/<int:pk>/edit/", practice.edit_severity, name="edit_severity"),
    path("seasons/", practice.seasons, name="seasons"),
    path("seasons/add/", practice.add_season, name="add_season"),
    path("seasons/<int:pk>/edit/", practice.edit_season, name="edit_season"),
    path("seasons/<int:pk>/retire/", practice.retire_season, name="retire_season"),
    # plan
    path("plan/", plan.plan, name="plan"),
    path("plan/run/", plan.ask_plan, name="ask_plan"),
    path("plan/run/<int:pk>/", plan.plan_run, name="plan_run"),
    path("plan/run/<int:pk>/take/", plan.take_plan, name="take_plan"),
    path("plan/run/<int:pk>/cancel/", plan.cancel_plan, name="cancel_plan"),
    path("plan/book/", plan.book, name="book"),
    path("plan/booking/<int:pk>/", plan.booking, name="booking"),
    path("plan/booking/<int:pk>/move/", plan.move_booking, name="move_booking"),
    path("plan/booking/<int:pk>/pin/", plan.pin_booking, name="pin_booking"),
    path("plan/booking/<int:pk>/cancel/", plan.cancel_booking, name="cancel_booking"),
    path("plan/demand/", plan.demand, name="demand"),
    path("plan/before-season/", plan.before_season, name="before_season"),
    path("plan/before-season.pdf", plan_papers.print_before_season, name="print_before_season"),
    path("plan/hands/", hands.hands, name="hands"),
    path("plan/hands/technicians/add/", hands.add_technician, name="add_technician"),
    path("plan/hands/technicians/<int:pk>/edit/", hands.edit_technician, name="edit_technician"),
    path("plan/hands/technicians/<int:pk>/away/", hands.add_time_away, name="add_time_away"),
    path("plan/hands/away/<int:pk>/end/", hands.end_time_away, name="end_time_away"),
    path("plan/hands/skills/add/", hands.add_skill, name="add_skill"),
    path("plan/hands/bays/add/", hands.add_bay, name="add_bay"),
    path("plan/hands/bays/<int:pk>/edit/", hands.edit_bay, name="edit_bay"),
    path("plan/calendars/", hands.calendars, name="calendars"),
    path("plan/calendars/<int:pk>/revoke/", hands.revoke_calendar, name="revoke_calendar"),
    path("calendar/<str:secret>.ics", hands.calendar_feed, name="calendar_feed"),
    # reports
    path("reports/", reports.reports, name="reports"),
    path("reports/not-known/", reports.not_known, name="not_known"),
    # advice
    path("advice/", advice.advice, name="advice"),
    path("advice/<int:pk>/accept/", advice.accept, name="accept_advice"),
    path("advice/<int:pk>/dismiss/", advice.dismiss, name="dismiss_advice"),
    # trends
    path("wear/", trends.wear, name="wear"),
    path("wear/side-by-side/", trends.wear_side_by_side, name="wear_side_by_side"),
    # workorders
    path("orders/", workorders.orders, name="orders"),
    path("orders/<int:pk>/", workorders.order, name="order"),
    path("orders/new/", workorders.pick_machine, name="pick_machine"),
    path("orders/new/<int:pk>/", workorders.take_in, name="take_in"),
    path("orders/due/<int:pk>/", workorders.order_due_tasks, name="order_due_tasks"),
    path("orders/<int:pk>/story/", workorders.story, name="order_story"),
    path("orders/<int:pk>/move/", workorders.move, name="move_order"),
    path("orders/<int:pk>/put-right/", workorders.supersede, name="supersede_order"),
    path("orders/<int:pk>/line/", bench.new_line, name="new_line"),
    path("orders/line/<int:pk>/", bench.line, name="order_line"),
    path("orders/line/<int:pk>/done/", bench.line_done, name="line_done"),
    path("orders/line/<int:pk>/issue/", bench.issue, name="issue_part"),
    path("orders/line/<int:pk>/back/", bench.bring_back, name="return_part"),
    path("orders/line/<int:pk>/tag/", bench.hold, name="hold_part"),
    path("orders/tags/", bench.held_parts, name="held_parts"),
    path("orders/tag/<int:pk>/settle/", bench.settle, name="settle_part"),
    path("orders/<int:pk>/clock/", bench.start, name="start_clock"),
    path("orders/clock/<int:pk>/stop/", bench.stop, name="stop_clock"),
    path("orders/<int:pk>/hours/", bench.hours_of_work, name="hours_of_work"),
    path("orders/<int:pk>/failure/", bench.failure, name="order_failure"),
    path("orders/<int:pk>/quote/", desk.quote, name="quote"),
    path("orders/<int:pk>/approval/", desk.approve, name="approve"),
    path("orders/<int:pk>/release/", desk.release, name="release_order"),
    path("orders/<int:pk>/warranty/", order_papers.warranty, name="warranty"),
    path("orders/<int:pk>/warranty/keep/", order_papers.keep_warranty, name="keep_warranty"),
    path("orders/<int:pk>/order.pdf", order_papers.print_order, name="print_order"),
    path("orders/<int:pk>/quote.pdf", order_papers.print_quote, name="print_quote"),
    path("orders/<int:pk>/label.pdf", order_papers.print_label, name="print_label"),
    path("orders/<int:pk>/warranty.pdf", order_papers.print_warranty, name="print_warranty"),
    path("orders/tag/<int:pk>/tag.pdf", order_papers.print_tag, name="print_tag"),
    path("orders/orders.pdf", order_papers.print_orders, name="print_orders"),
    path("drives/<int:pk>/report.pdf", sheets.print_drive_report, name="print_drive_report"),
    path("due/due.pdf", sheets.print_due_list, name="print_due_list"),
    path("drives/<int:pk>/test-sheet.pdf", order_papers.print_test_sheet, name="print_test_sheet"),
    # parts
    path("parts/", parts.parts, name="parts"),
    path("parts/new/", parts.new_part, name="new_part"),
    path("parts/<int:pk>/", parts.part, name="part"),
    path("parts/<int:pk>/change/", parts.change_part, name="change_part"),
    path("parts/<int:pk>/kit/", parts.new_kit_item, name="new_kit_item"),
    path("parts/<int:pk>/receive/", parts.receive, name="receive_part"),
    path("parts/<int:pk>/count/", parts.count, name="count_part"),
    # papers
    path("papers/<int:pk>/", papers.paper, name="paper"),
    path("papers/<str:place>/<int:pk>/new/", papers.new_papers, name="new_papers"),
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
    # visits
    path("machines/<int:pk>/visit/", visits.log_visit, name="log_visit"),
    path("machines/<int:pk>/hours/", visits.record_hours, name="record_hours"),
    path("machines/<int:pk>/oil/", visits.record_fill, name="record_fill"),
    path("visits/<int:pk>/", visits.visit, name="visit"),
    path("visits/<int:pk>/order/", visits.order_from_visit, name="order_from_visit"),
    path("visits/reading/<int:pk>/correct/", visits.correct_reading, name="correct_reading"),
    path("visits/hours/<int:pk>/correct/", visits.correct_hours, name="correct_hours"),
    path("visits/fill/<int:pk>/correct/", visits.correct_fill, name="correct_fill"),
    path("visits/test/<int:pk>/correct/", visits.correct_test, name="correct_test"),
    # exchange
    path("imports/", exchange.imports, name="imports"),
    path("imports/<int:pk>/", exchange.import_file, name="import_file"),
    path("imports/<int:pk>/again/", exchange.look_again, name="look_again"),
    path("imports/<int:pk>/write/", exchange.write_import, name="write_import"),
    path("imports/<int:pk>/throw-away/", exchange.throw_import_away, name="throw_import_away"),
    path("imports/<int:pk>/refused.csv", exchange.refused_rows, name="refused_rows"),
    path("samples/without-machine/", exchange.unmatched_samples, name="unmatched_samples"),
    path("samples/<int:pk>/match/", exchange.match_sample, name="match_sample"),
    path("take-out/", exchange.take_out, name="take_out"),
    path("take-out/book.zip", exchange.take_out_book, name="take_out_book"),
    path("take-out/readings.csv", exchange.take_out_readings, name="take_out_readings"),
    # fluids
    path("fluids/", fluids.fluids, name="fluids"),
    path("fluids/add/", fluids.add_fluid, name="add_fluid"),
    path("fluids/<int:pk>/", fluids.fluid, name="fluid"),
    path("fluids/<int:pk>/edit/", fluids.edit_fluid, name="edit_fluid"),
    path("machines/<int:pk>/ledger/", fluids.fluid_ledger, name="fluid_ledger"),
    # tests
    path("tests/", tests.tests, name="tests"),
    path("tests/<int:pk>/", tests.open_test, name="open_test"),
    path("tests/<int:pk>/keep/", tests.keep_test, name="keep_test"),
    path("tests/<int:pk>/marks/", tests.mark_test, name="mark_test"),
    path("tests/<int:pk>/close/", tests.close_test, name="close_test"),
    path("tests/<int:pk>/give-up/", tests.give_up_test, name="give_up_test"),
    path("tests/<int:pk>/result/", tests.test_result, name="test_result"),
    path("tests/<int:pk>/sheet.pdf", test_papers.print_open_test, name="print_open_test"),
    path("drives/<int:pk>/test/", tests.start_test, name="start_test"),
    path("procedures/", procedures.procedures, name="procedures"),
    path("procedures/<slug:code>/", procedures.procedure, name="procedure"),
    path("procedures/<slug:code>/<int:version>/", procedures.procedure_version, name="procedure_version"),
    path("procedures/<slug:code>/new/", procedures.new_procedure_version, name="new_procedure_version"),
    # diagnosis
    path("drives/<int:pk>/diagnosis/", diagnosis.diagnosis, name="diagnosis"),
    # instruments
    path("instruments/against-the-fleet/", instruments.gauges_against_fleet, name="gauges_against_fleet"),
    path("instruments/", instruments.instruments, name="instruments"),
    path("instruments/add/", instruments.add_instrument, name="add_instrument"),
    path("instruments/<int:pk>/", instruments.instrument, name="instrument"),
    path("instruments/<int:pk>/edit/", instruments.edit_instrument, name="edit_instrument"),
    path("instruments/<int:pk>/calibration/", instruments.add_calibration, name="add_calibration"),
    path("calibrations/<int:pk>/", instruments.calibration, name="calibration"),
]
