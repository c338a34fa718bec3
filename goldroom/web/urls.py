"""Addresses of the pages."""

from django.urls import path

from goldroom.web import (
    entry,
    find,
    holdings,
    item,
    journal,
    papers,
    say,
    session,
    sign,
    steps,
    today,
)

urlpatterns = [
    path("", today.today, name="today"),
    path("sign-in/", session.sign_in, name="sign_in"),
    path("sign-out/", session.sign_out, name="sign_out"),
    path("stay/", session.stay, name="stay"),
    path("say/", say.say, name="say"),
    path("say/<str:kind>/", say.new, name="say_kind"),
    path("say/<str:kind>/<uuid:entry_id>/", say.form, name="say_form"),
    path("sign/<uuid:entry_id>/", sign.sign, name="sign"),
    path("sign/<uuid:entry_id>/back/", sign.take_back, name="take_back"),
    path("steps/", steps.steps, name="steps"),
    path("steps/<str:step>/", steps.step, name="step"),
    path("journal/", journal.journal, name="journal"),
    path("journal/<int:seq>/", entry.entry, name="entry"),
    path("journal/<int:seq>/bytes", entry.leaf, name="entry_bytes"),
    path("journal/<int:seq>/proof", entry.proof, name="entry_proof"),
    path("journal/<int:seq>/files/<str:sha256>", entry.cited, name="entry_file"),
    path("find/", find.find, name="find"),
    path("items/<str:item>/", item.item, name="item"),
    path("holdings/", holdings.holdings, name="holdings"),
    path("papers/month.pdf", papers.month, name="paper_month"),
    path("papers/month.xlsx", papers.workbook, name="paper_workbook"),
    path("papers/cleanup/<int:seq>.pdf", papers.cleanup, name="paper_cleanup"),
    path("papers/leach/<str:batch>.pdf", papers.leach, name="paper_leach"),
    path("papers/smelt/<str:charge>.pdf", papers.smelt, name="paper_smelt"),
    path("papers/packing/<str:shipment>.pdf", papers.packing, name="paper_packing"),
    path("papers/dispatch/<str:shipment>.pdf", papers.dispatch, name="paper_dispatch"),
]
