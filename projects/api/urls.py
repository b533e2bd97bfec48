"""Addresses of API v1, below /api/v1/."""

from django.urls import include, path
from drf_spectacular.views import SpectacularJSONAPIView
from rest_framework.permissions import AllowAny
from rest_framework.routers import SimpleRouter

from projects.api import sawing, views

app_name = "api"

router = SimpleRouter()
router.register("woods", views.WoodViewSet, basename="wood")
router.register("boards", views.BoardViewSet, basename="board")
router.register("adhesives", views.AdhesiveViewSet, basename="adhesive")
router.register("finishes", views.FinishViewSet, basename="finish")
router.register("clients", views.ClientViewSet, basename="client")
router.register("designs", views.DesignViewSet, basename="design")
router.register("commissions", views.CommissionViewSet, basename="commission")
router.register("sawing-plans", sawing.SawingPlanViewSet, basename="sawing_plan")
router.register("quotes", views.QuoteViewSet, basename="quote")

urlpatterns = [
    path("token/", views.TokenView.as_view(), name="token"),
    path("estimate/", views.EstimateView.as_view(), name="estimate"),
    path("schema/", SpectacularJSONAPIView.as_view(permission_classes=[AllowAny]), name="schema"),
    path("", include(router.urls)),
]
