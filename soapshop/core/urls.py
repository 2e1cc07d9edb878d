"""Addresses of the workshop's own pages."""

from django.urls import path

from soapshop.core.views import account, connect, people, pwa, setup, site, workshop

app_name = "core"

urlpatterns = [
    path("sign-in/", account.sign_in, name="sign_in"),
    path("sign-out/", account.sign_out, name="sign_out"),
    path("setup/", setup.setup, name="setup"),
    path("account/", account.account, name="account"),
    path("settings/", workshop.settings, name="settings"),
    path("settings/calendar/", workshop.calendar_renew, name="calendar_renew"),
    path("people/", people.people, name="people"),
    path("people/new/", people.person_add, name="person_add"),
    path("people/<int:pk>/", people.person_edit, name="person_edit"),
    path("people/<int:pk>/password/", people.person_password, name="person_password"),
    path("theme/", site.theme, name="theme"),
    path("photos/<uuid:pk>/<str:size>/", site.photo, name="photo"),
    path("documents/<uuid:pk>/", site.document, name="document"),
    path("health", site.health, name="health"),
    path("connect/", connect.connect, name="connect"),
    path("connect/authority.crt", connect.authority, name="authority"),
    path("manifest.webmanifest", pwa.manifest, name="manifest"),
    path("service-worker.js", pwa.service_worker, name="service_worker"),
    path("offline/", pwa.offline, name="offline"),
]
