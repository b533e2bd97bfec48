"""Every address of the site: the pages, the API, logging in and the admin."""

from django.contrib import admin
from django.contrib.auth import views as auth
from django.urls import include, path

urlpatterns = [
    path("account/log-in/", auth.LoginView.as_view(), name="login"),
    path("account/log-out/", auth.LogoutView.as_view(), name="logout"),
    path("account/password/", auth.PasswordChangeView.as_view(), name="password_change"),
    path("account/password/done/", auth.PasswordChangeDoneView.as_view(), name="password_change_done"),
    path("admin/", admin.site.urls),
    path("api/v1/", include("projects.api.urls")),
    path("", include("projects.pages.urls")),
]
