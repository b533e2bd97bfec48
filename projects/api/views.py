"""API v1, one class a kind of record: who, which row, which service."""

from typing import Any

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import mixins, status, viewsets
from rest_framework.authtoken.views import ObtainAuthToken
from rest_framework.decorators import action
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import ScopedRateThrottle
from rest_framework.views import APIView

from estimating.reading import read_json
from projects.access import member_of, studio_of
from projects.api.parsing import BoundedJSONParser, SheetParser
from projects.api.serializers import (
    AdhesiveSerializer,
    BoardSerializer,
    ClientSerializer,
    CommissionSerializer,
    DesignSerializer,
    FinishSerializer,
    IssuedQuoteSerializer,
    QuoteSerializer,
    RefusalSerializer,
    StageSerializer,
    WoodSerializer,
)
from projects.estimates import estimate_data, estimate_design, sheet_data
from projects.models import Adhesive, Board, Client, Commission, Design, Finish, Quote, Wood
from projects.services import commissions, designs, quotes, rack, shop, studios

REFUSED = OpenApiResponse(RefusalSerializer, description="What is wrong, each with its place.")
ANSWER = OpenApiResponse(OpenApiTypes.OBJECT, description="The estimate; mm, minutes, ml; money as text.")


class TokenView(ObtainAuthToken):
    """A token for a log-in, to be sent as `Authorization: Token ...`."""

    parser_classes = (BoundedJSONParser,)
    throttle_classes = (ScopedRateThrottle,)
    throttle_scope = "token"


class EstimateView(APIView):
    """Estimates a piece sheet with the caller's own woods, rates and settings."""

    whole_place = "sheet"
    parser_classes = (SheetParser,)

    @extend_schema(request=OpenApiTypes.OBJECT, responses={200: ANSWER, 400: REFUSED})
    def post(self, request: Request) -> Response:
        """Estimate the piece sheet that is the body."""
        # A request without a body is never parsed; the sheet is empty all the same.
        data = request.data if request.stream else read_json(b"")
        return Response(_answer(*estimate_data(data, studio=studio_of(request.user))))


def _answer(_sheet: Any, estimate: Any) -> dict[str, Any]:
    # Imported here so that listing addresses does not bring the arithmetic in.
    from estimating.answer import as_json

    return as_json(estimate)


class OwnViewSet(viewsets.GenericViewSet):
    """Records of the caller's own studio; anyone else's are not found."""

    lookup_value_regex = "[0-9]{1,18}"
    owned: Any

    def get_queryset(self) -> Any:
        """Only what the caller may see."""
        return self.owned.objects.for_member(self.request.user)


class WoodViewSet(OwnViewSet, viewsets.ModelViewSet):
    """The studio's woods."""

    owned = Wood
    serializer_class = WoodSerializer

    def perform_destroy(self, instance: Wood) -> None:
        """Take it off the list."""
        shop.wood_delete(wood=instance)


class BoardViewSet(OwnViewSet, viewsets.ModelViewSet):
    """The boards on the rack."""

    owned = Board
    serializer_class = BoardSerializer

    def get_queryset(self) -> Any:
        """Those that lie there, each with its wood."""
        return super().get_queryset().on_rack().select_related("wood")

    def perform_destroy(self, instance: Board) -> None:
        """Take them off the rack."""
        rack.board_delete(board=instance, member=member_of(self.request.user))


class AdhesiveViewSet(OwnViewSet, viewsets.ModelViewSet):
    """The adhesives on the shelf."""

    owned = Adhesive
    serializer_class = AdhesiveSerializer

    def perform_destroy(self, instance: Adhesive) -> None:
        """Take it off the shelf."""
        shop.adhesive_delete(adhesive=instance)


class FinishViewSet(OwnViewSet, viewsets.ModelViewSet):
    """The finishes on the shelf."""

    owned = Finish
    serializer_class = FinishSerializer

    def perform_destroy(self, instance: Finish) -> None:
        """Take it off the shelf."""
        shop.finish_delete(finish=instance)


class ClientViewSet(OwnViewSet, viewsets.ModelViewSet):
    """The studio's clients."""

    owned = Client
    serializer_class = ClientSerializer

    def perform_destroy(self, instance: Client) -> None:
        """Take them off the list."""
        studios.client_delete(client=instance)


class DesignViewSet(OwnViewSet, viewsets.ModelViewSet):
    """The studio's designs, saved whole."""

    owned = Design
    serializer_class = DesignSerializer
    # No PATCH: a design's parts, forms and bands only make sense together.
    http_method_names = ("get", "post", "put", "delete", "head", "options")

    def get_queryset(self) -> Any:
        """Each with its parts, their forms and bands."""
        return super().get_queryset().select_related("studio").prefetch_related("parts__form", "parts__bands")

    def perform_destroy(self, instance: Design) -> None:
        """Throw it away."""
        designs.design_delete(design=instance)

    @extend_schema(responses={200: OpenApiResponse(OpenApiTypes.OBJECT, description="A piece sheet, in mm.")})
    @action(detail=True)
    def sheet(self, request: Request, pk: str) -> Response:
        """The design as a piece sheet."""
        return Response(sheet_data(self.get_object()))

    @extend_schema(responses={200: ANSWER, 400: REFUSED})
    @action(detail=True)
    def estimate(self, request: Request, pk: str) -> Response:
        """The design's estimate."""
        return Response(_answer(*estimate_design(self.get_object())))


class CommissionViewSet(OwnViewSet, viewsets.ModelViewSet):
    """The studio's commissions, by promised date."""

    owned = Commission
    serializer_class = CommissionSerializer

    def get_queryset(self) -> Any:
        """As the job list has them."""
        return super().get_queryset().job_list()

    def perform_destroy(self, instance: Commission) -> None:
        """Throw it away."""
        commissions.commission_delete(commission=instance)

    @extend_schema(request=StageSerializer, responses={200: CommissionSerializer, 400: REFUSED})
    @action(detail=True, methods=["post"])
    def move(self, request: Request, pk: str) -> Response:
        """Move the commission to another stage."""
        wanted = StageSerializer(data=request.data)
        wanted.is_valid(raise_exception=True)
        moved = commissions.commission_move(commission=self.get_object(), to=wanted.validated_data["stage"])
        return Response(self.get_serializer(moved).data)


class QuoteViewSet(mixins.CreateModelMixin, mixins.RetrieveModelMixin, mixins.ListModelMixin, OwnViewSet):
    """The studio's quotes: draw one up, issue it, fetch its papers."""

    owned = Quote

    def get_queryset(self) -> Any:
        """Without the papers' bytes, which only `paper` sends."""
        return super().get_queryset().defer("trade_pdf", "client_pdf", "drawing")

    def get_serializer_class(self) -> Any:
        """All that is frozen, for one quote; the short form in lists."""
        return IssuedQuoteSerializer if self.action in {"retrieve", "issue"} else QuoteSerializer

    @extend_schema(request=None, responses={200: IssuedQuoteSerializer, 400: REFUSED, 409: REFUSED})
    @action(detail=True, methods=["post"])
    def issue(self, request: Request, pk: str) -> Response:
        """Number the draft, freeze it and print its papers."""
        issued = quotes.quote_issue(quote=self.get_object())
        return Response(self.get_serializer(issued).data, status.HTTP_200_OK)

    @extend_schema(
        parameters=[OpenApiParameter("copy", enum=["client", "trade"], description="Which paper.")],
        responses={(200, "application/pdf"): OpenApiTypes.BINARY, 404: REFUSED},
    )
    @action(detail=True)
    def paper(self, request: Request, pk: str) -> HttpResponse:
        """One of the two papers of an issued quote, as PDF."""
        copy = request.query_params.get("copy", "client")
        quote = self.get_object()
        if copy not in {"client", "trade"} or not quote.is_issued:
            raise NotFound("An issued quote has a client copy and a trade copy.")
        content = quote.trade_pdf if copy == "trade" else quote.client_pdf
        name = f"{quote.reference} {copy}.pdf".replace(" ", "-")
        headers = {"Content-Disposition": f'attachment; filename="{name}"'}
        return HttpResponse(bytes(content), content_type="application/pdf", headers=headers)
