"""Addresses of the pages."""

from django.urls import path

from goldroom.web import session, today

urlpatterns = [
    path("", today.today, name="today"),
    path("sign-in/", session.sign_in, name="sign_in"),
    path("sign-out/", session.sign_out, name="sign_out"),
    path("stay/", session.stay, name="stay"),
]
