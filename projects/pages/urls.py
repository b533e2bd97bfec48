"""Addresses of the pages."""

from django.urls import path

from projects.pages import (
    chart_image,
    designs,
    door,
    estimate,
    fullsize,
    jobs,
    laminate_swatches,
    profile,
    quotes,
    redraw,
    shelves,
    shop,
    solid,
    solid_draft,
)

urlpatterns = [
    path("", jobs.job_list, name="job_list"),
    path("account/first/", door.first_account, name="first_account"),
    path("account/studio/", door.set_up, name="set_up"),
    path("jobs/new/", jobs.job_new, name="job_new"),
    path("jobs/<int:pk>/", jobs.job, name="job"),
    path("jobs/<int:pk>/change/", jobs.job_edit, name="job_edit"),
    path("jobs/<int:pk>/agreed/", jobs.job_terms, name="job_terms"),
    path("jobs/<int:pk>/move/", jobs.job_move, name="job_move"),
    path("jobs/<int:pk>/choose-design/", jobs.job_design, name="job_design"),
    path("jobs/<int:pk>/take-away/", jobs.job_delete, name="job_delete"),
    path("jobs/<int:pk>/hours/", jobs.hours_add, name="hours_add"),
    path("hours/<int:pk>/take-out/", jobs.hours_take_out, name="hours_take_out"),
    path("jobs/<int:pk>/drawing/", designs.job_drawing, name="job_drawing"),
    path("jobs/<int:pk>/estimate/", estimate.job_estimate, name="job_estimate"),
    path("jobs/<int:pk>/quote/", quotes.job_quote, name="job_quote"),
    path("quotes/<int:pk>/<slug:copy>/", quotes.quote_pdf, name="quote_pdf"),
    path("designs/", designs.design_list, name="design_list"),
    path("designs/new/", designs.design_new, name="design_new"),
    path("designs/<int:pk>/", designs.design, name="design"),
    path("designs/<int:pk>/estimate/", estimate.design_estimate, name="design_estimate"),
    path("designs/<int:pk>/full-size/", fullsize.design_full_size, name="design_full_size"),
    path(
        "designs/<int:pk>/parts/<int:part>/profile.<slug:kind>", profile.design_profile, name="design_profile"
    ),
    path("designs/<int:pk>/take-away/", designs.design_take_away, name="design_take_away"),
    *solid.urlpatterns,
    *solid_draft.urlpatterns,
    *redraw.urlpatterns,
    *chart_image.urlpatterns,
    *laminate_swatches.urlpatterns,
    *shelves.urlpatterns,
    path("shop/", shop.overview, name="shop"),
    path("shop/settings/", shop.settings, name="shop_settings"),
    path("shop/prices/", shop.pricing, name="shop_pricing"),
    path("studio/", shop.studio, name="studio"),
    path("studio/people/new/", shop.member_new, name="member_new"),
]
