"""Addresses of the pages."""

from django.urls import path

from goldroom.web import say, session, sign, today

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
]
