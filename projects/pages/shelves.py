"""The studio's lists: clients, woods, adhesives, finishes, standing rates, carriage."""

from django.db.models.functions import Lower
from django.urls import URLPattern

from projects.models import Adhesive, CarriageRate, Client, Finish, StandingRate, Wood
from projects.pages import forms
from projects.pages.adhesive_form import AdhesiveForm
from projects.pages.shelf import Shelf, addresses
from projects.services import shop, studios

CLIENTS = Shelf(
    model=Client,
    noun="client",
    plural="clients",
    section="jobs",
    form=forms.ClientForm,
    create=studios.client_create,
    update=studios.client_update,
    delete=studios.client_delete,
    template="shelf/clients.html",
)
WOODS = Shelf(
    model=Wood,
    noun="wood",
    plural="woods",
    section="rack",
    form=forms.WoodForm,
    create=shop.wood_create,
    update=shop.wood_update,
    delete=shop.wood_delete,
    template="shelf/woods.html",
    order=("-active", Lower("name"), "pk"),
)
ADHESIVES = Shelf(
    model=Adhesive,
    noun="adhesive",
    plural="adhesives",
    section="shop",
    form=AdhesiveForm,
    form_template="shelf/adhesive.html",
    create=shop.adhesive_create,
    update=shop.adhesive_update,
    delete=shop.adhesive_delete,
    template="shelf/adhesives.html",
)
FINISHES = Shelf(
    model=Finish,
    noun="finish",
    plural="finishes",
    section="shop",
    form=forms.FinishForm,
    create=shop.finish_create,
    update=shop.finish_update,
    delete=shop.finish_delete,
    template="shelf/finishes.html",
)
RATES = Shelf(
    model=StandingRate,
    noun="rate",
    plural="rates",
    section="shop",
    form=forms.RateForm,
    new_form=forms.NewRateForm,
    create=shop.rate_create,
    update=shop.rate_update,
    delete=None,
    template="shelf/rates.html",
)
CARRIAGE = Shelf(
    model=CarriageRate,
    noun="carriage",
    plural="steps of carriage",
    new_title="New step of carriage",
    section="shop",
    form=forms.CarriageForm,
    create=shop.carriage_create,
    update=shop.carriage_update,
    delete=shop.carriage_delete,
    template="shelf/carriage.html",
)

urlpatterns: list[URLPattern] = [
    *addresses(CLIENTS, "clients/"),
    *addresses(WOODS, "rack/woods/"),
    *addresses(ADHESIVES, "shop/adhesives/"),
    *addresses(FINISHES, "shop/finishes/"),
    *addresses(RATES, "shop/rates/"),
    *addresses(CARRIAGE, "shop/prices/carriage/"),
]
